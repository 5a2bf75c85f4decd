package web

import (
	"bytes"
	"encoding/json"
	"mime/multipart"
	"net/http"
	"slices"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// file saves marks as a phone does.
func (m *testRoom) file(t *testing.T, marks ...tapped) string {
	t.Helper()
	f := marksFile{What: "broodlight marks", Version: 1, Room: m.s.roomMark}
	for _, x := range marks {
		l := markLine{Once: x.once.String(), Action: x.path, By: x.by, At: x.at.UTC().Format("2006-01-02T15:04:05.000Z"), Day: x.at.Format("2006-01-02"), Time: x.at.Format("15:04"), Words: "words of the phone", Plate: "A1"}
		for i := 0; i+1 < len(x.fields); i += 2 {
			l.Fields = append(l.Fields, [2]string{x.fields[i], x.fields[i+1]})
		}
		f.Marks = append(f.Marks, l)
	}
	b, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// upload sends a file as a browser does.
func (m *testRoom) upload(t *testing.T, text string) answer {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	part, err := w.CreateFormFile("marks", "round-2026-01-13.json")
	if err == nil {
		_, err = part.Write([]byte(text))
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	r := m.request("POST", "/phone/file", body.String())
	r.Header.Set("Content-Type", w.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return m.do(r)
}

// TestMarksFile_IsLookedAtThenReadIn shows what a file would write, writes nothing, and then writes what is right, once.
func TestMarksFile_IsLookedAtThenReadIn(t *testing.T) {
	m := roundRoom(t, Config{LAN: true})
	m.logIn("Nora", keeperPhrase)
	looks, notes := len(m.entries("nest_check")), len(m.entries("note"))
	check := m.tap(testNow.Add(-3600e9), "/cage/"+rA1.String()+"/check", "answer", "changed", "was_eggs", "5", "eggs", "4", "evened", "yes")
	note := m.tap(testNow.Add(-3000e9), "/cage/"+rA1.String()+"/note", "text", "hen uses the far perch")
	wrong := m.tap(testNow.Add(-2000e9), "/cage/"+rA1.String()+"/check", "answer", "changed", "eggs", "four")
	ring := m.tap(testNow.Add(-1000e9), "/cage/"+rA2.String()+"/ring", append(fields(t, m.get("/round").card("Ring 3 chicks"), "/cage/"+rA2.String()+"/ring"), "on", "0", "ring0", "FC 26-019")...)
	theme := m.tap(testNow, "/theme", "theme", "off")
	check.by, note.by, wrong.by, ring.by, theme.by = "Tom", "Nora", "Tom", "Tom", "Nora"
	text := m.file(t, check, note, wrong, ring, theme)
	page := m.upload(t, text).wants(200, "5 marks in the file: 2 new ones, 3 that cannot be taken and are left out.", "4 eggs", "hen uses the far perch", "not a whole number", "Only a keeper may do this", "no form of this room", "Read in 2 marks")
	page.sound()
	if len(m.entries("nest_check")) != looks || len(m.entries("note")) != notes {
		t.Fatal("looking at a file writes")
	}
	if to := m.post("/phone/file", "text", text).wants(303).to(); to != "/phone?read=2#file" {
		t.Errorf("it leads to %s", to)
	}
	list := m.entries("nest_check")
	i := slices.IndexFunc(list, func(e *aviary.Entry) bool { return e.ID == check.once })
	if len(list) != looks+1 || i < 0 || list[i].By != "Tom" || list[i].Time != aviary.ClockOf(5, 48) {
		t.Errorf("looks are %v", list)
	}
	m.get("/phone?read=2").wants(200, "2 marks were read in.").sound()

	// once more: nothing is doubled, and the phone that sends them after all is told that they are there
	m.upload(t, text).wants(200, "0 new ones, 2 in the books already").lacks("Read in")
	m.post("/phone/file", "text", text).wants(303)
	m.logIn("Tom", helperPhrase)
	m.later(check, sentSaved)
	if len(m.entries("nest_check")) != looks+1 || len(m.entries("note")) != notes+1 {
		t.Error("read in twice, it is written twice")
	}

	// a helper reads in what is his own
	other := m.tap(testNow, "/cage/"+rA1.String()+"/note", "text", "x")
	other.by = "Nora"
	m.upload(t, m.file(t, other)).wants(200, "only a keeper reads in what somebody else wrote")
	m.post("/phone/file", "text", m.file(t, other)).wants(303)
	if len(m.entries("note")) != notes+1 {
		t.Error("a helper wrote under the keeper's name")
	}
}

func TestMarksFile_Refusals(t *testing.T) {
	m := roundRoom(t, Config{})
	before := m.written()
	good := m.file(t, m.tap(testNow, "/cage/"+rA1.String()+"/note", "text", "x"))
	for name, c := range map[string][2]string{
		"no file of marks":        {"date;eggs\n", "no file of marks"},
		"another file":            {`{"what":"bill"}`, "no file of marks"},
		"a later version":         {strings.Replace(good, `"version":1`, `"version":2`, 1), "later version"},
		"another room":            {strings.Replace(good, m.s.roomMark, "0000000000000000", 1), "another room"},
		"none":                    {m.file(t), "holds no marks"},
		"an address of elsewhere": {strings.Replace(good, `"/cage/`, `"https://example.org/cage/`, 1), ""},
	} {
		t.Log(name)
		a := m.upload(t, c[0])
		if c[1] == "" {
			a.wants(200, "names no form of this room")
			continue
		}
		a.wants(422, c[1]).sound()
		m.post("/phone/file", "text", c[0]).wants(422, c[1])
	}
	m.post("/phone/file").wants(http.StatusUnprocessableEntity, "Choose the file")
	if m.written() != before {
		t.Error("something was written")
	}
}

func TestLabels(t *testing.T) {
	alone := roundRoom(t, Config{})
	alone.get("/labels").wants(200, "need an address that phones reach", "--lan").sound()
	m := roundRoom(t, Config{Addresses: []string{"http://192.168.1.20:8417", "http://room.local:8417"}})
	a := m.get("/labels").wants(200, "8 labels for your cages", ">A1<", "Bay 1, row 1, column 1", "Flight 1", "http://room.local:8417")
	a.sound()
	if n := strings.Count(a.Body.String(), `class="qr"`); n != 8 {
		t.Errorf("%d codes for 8 places", n)
	}
	m.get("/labels?bank=Bay+1&size=large&at=http://room.local:8417").wants(200, "7 labels").lacks(`<p class="plate">Flight 1`)
	m.get("/labels?at=http://example.org").wants(400, "not one of this room")
	m.get("/phone").wants(200, "http://192.168.1.20:8417/").sound()
	m.get("/phone/room.crt").wants(404)
}
