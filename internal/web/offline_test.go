package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
)

// tapped is a form as a phone keeps it.
type tapped struct {
	path   string
	fields []string
	at     time.Time
	once   aviary.ID
	by     string
}

// tap keeps a form as a phone does that was out of reach at that moment.
func (m *testRoom) tap(at time.Time, path string, fields ...string) tapped {
	return tapped{path: path, fields: fields, at: at, once: newID()}
}

// sends sends a kept form to the room, and returns what the phone is told. how is "later" or "now".
func (m *testRoom) sends(x tapped, how string) (sentAnswer, int) {
	m.t.Helper()
	dublin, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		m.t.Fatal(err)
	}
	values := url.Values{}
	for i := 0; i+1 < len(x.fields); i += 2 {
		if x.fields[i] != "once" {
			values.Add(x.fields[i], x.fields[i+1])
		}
	}
	local := x.at.In(dublin)
	values.Set("once", x.once.String())
	values.Set("kept_by", x.by)
	values.Set("kept_at", x.at.UTC().Format(time.RFC3339Nano))
	values.Set("kept_day", local.Format("2006-01-02"))
	values.Set("kept_time", local.Format("15:04"))
	r := m.request("POST", x.path, values.Encode())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.Header.Set(keptHeader, how)
	a := m.do(r)
	var out sentAnswer
	if err := json.Unmarshal(a.Body.Bytes(), &out); err != nil {
		m.t.Fatalf("%s is answered with status %d and no answer for a script: %s", x.path, a.Code, a.text())
	}
	return out, a.Code
}

// later sends a kept form and demands a state.
func (m *testRoom) later(x tapped, state string) sentAnswer {
	m.t.Helper()
	a, status := m.sends(x, "later")
	if a.State != state {
		m.t.Fatalf("%s is answered with %+v (status %d), want %q", x.path, a, status, state)
	}
	return a
}

func TestOffline_TakesTheMomentOfTheTap(t *testing.T) {
	m := roundRoom(t, Config{})
	looks := len(m.entries("nest_check"))
	x := m.tap(testNow.Add(-9*time.Hour), "/cage/"+rA1.String()+"/check", "answer", "changed", "was_eggs", "5", "eggs", "4", "was_chicks", "0", "chicks", "1", "evened", "yes")
	m.later(x, sentSaved)
	list := m.entries("nest_check")
	if len(list) != looks+1 {
		t.Fatalf("%d looks stand, want %d", len(list), looks+1)
	}
	var e *aviary.Entry
	m.book.View(func(r *aviary.Room) { e = r.Entry(x.once) })
	if e == nil || e.Day != aviary.MustDate("2026-01-12") || e.Time != aviary.ClockOf(21, 48) || !e.Written.Equal(x.at) || e.By != DefaultKeeper {
		t.Fatalf("written is %+v", e)
	}
	if m.cookie[undoCookie] != "" {
		t.Error("the browser is offered to undo what another page wrote")
	}
	// the same once more, as when the answer was lost
	m.later(x, sentSaved)
	if got := len(m.entries("nest_check")); got != looks+1 {
		t.Errorf("sent twice, %d looks stand, want %d", got, looks+1)
	}
	// the same id with other figures is not taken for the same
	x.fields = []string{"answer", "changed", "was_eggs", "5", "eggs", "3", "evened", "yes"}
	a := m.later(x, sentWrong)
	if !strings.Contains(a.Said, "saved before") {
		t.Errorf("said is %q", a.Said)
	}
}

// TestOffline_JobsOfAnotherDay put off and done count from the day of the tap.
func TestOffline_JobsOfAnotherDay(t *testing.T) {
	m := roundRoom(t, Config{})
	x := m.tap(testNow.Add(-24*time.Hour), "/round/skip", "place", rA1.String(), "job", "look for chicks", "until", "3")
	m.later(x, sentSaved)
	b := m.entries("job_skipped")[0].Body.(*aviary.JobSkipped)
	if b.Until != aviary.MustDate("2026-01-15") {
		t.Errorf("put off on 12 Jan for 3 days it comes back on %s", b.Until)
	}
	// a clock that is ahead is put right
	y := m.tap(testNow.Add(48*time.Hour), "/round/done", "place", rA1.String(), "job", "look for chicks")
	m.later(y, sentSaved)
	if e := m.entries("job_done")[0]; e.Day != aviary.MustDate("2026-01-13") {
		t.Errorf("a tap of the day after tomorrow is written on %s", e.Day)
	}
}

// TestOffline_ClashesAreKept rings the same ring twice, from two phones: both are kept, one is set aside.
func TestOffline_ClashesAreKept(t *testing.T) {
	m := roundRoom(t, Config{})
	form := fields(t, m.get("/round").card("Ring 3 chicks"), "/cage/"+rA2.String()+"/ring")
	ring := append(slices.Clone(form), "on", "0", "ring0", "FC 26-019", "hatched", "2026-01-04")
	first, second := m.tap(testNow.Add(-time.Hour), "/cage/"+rA2.String()+"/ring", ring...), m.tap(testNow.Add(-30*time.Minute), "/cage/"+rA2.String()+"/ring", ring...)
	m.later(first, sentSaved)
	a := m.later(second, sentClash)
	if a.Said == "" {
		t.Error("it does not say what it clashes with")
	}
	if got := len(m.entries("chick_ringed")); got != 4 {
		t.Errorf("%d ringings stand, want both and the two of before", got)
	}
	m.get("/sort").wants(200, "Set aside")
	// as it is tapped with the room in reach, the same is refused beside its field
	third := m.tap(testNow, "/cage/"+rA2.String()+"/ring", ring...)
	now, status := m.sends(third, "now")
	if now.State != sentWrong || status != http.StatusUnprocessableEntity || len(now.Wrong) == 0 || now.Wrong[0].Field != "ring0" {
		t.Errorf("answered is %+v", now)
	}
	if got := len(m.entries("chick_ringed")); got != 4 {
		t.Error("what was refused is written")
	}
}

// TestOffline_TwoPeopleCount keeps both looks of one round and asks which is right.
func TestOffline_TwoPeopleCount(t *testing.T) {
	m := roundRoom(t, Config{LAN: true})
	path := "/cage/" + rA1.String() + "/check"
	m.logIn("Nora", keeperPhrase)
	nora := m.tap(testNow.Add(-20*time.Minute), path, "answer", "changed", "was_eggs", "5", "eggs", "4", "was_chicks", "0", "chicks", "1", "evened", "yes")
	nora.by = "Nora"
	m.later(nora, sentSaved)
	delete(m.cookie, sessionCookie)
	tom := m.tap(testNow.Add(-19*time.Minute), path, "answer", "changed", "was_eggs", "5", "eggs", "3", "was_chicks", "0", "chicks", "2", "evened", "yes")
	tom.by = "Tom"
	// logged out, and somebody else logged in: it stays on the phone
	if a, status := m.sends(tom, "later"); a.State != sentLogIn || status != http.StatusUnauthorized {
		t.Fatalf("logged out, answered is %+v", a)
	}
	m.logIn("Nora", keeperPhrase)
	if a := m.later(tom, sentOther); a.By != "Nora" {
		t.Errorf("answered is %+v", a)
	}
	m.logIn("Tom", helperPhrase)
	a := m.later(tom, sentClash)
	if !strings.Contains(a.Said, "Nora, 06:28") || !strings.Contains(a.Said, "Tom, 06:29") {
		t.Errorf("said is %q", a.Said)
	}
	page := m.get("/sort").wants(200, "Two people counted differently", "Nora, 06:28", "Tom, 06:29")
	page.sound()
	// settled, it is off the list
	m.logIn("Nora", keeperPhrase)
	m.post("/sort/settle", "entry", tom.once.String(), "how", "Tom had it right").wants(303)
	m.get("/sort").wants(200).lacks("Two people counted differently")
}

// TestOffline_WrongStaysOnThePhone refuses what cannot be read, with its sentence, and writes nothing.
func TestOffline_WrongStaysOnThePhone(t *testing.T) {
	m := roundRoom(t, Config{LAN: true})
	m.logIn("Tom", helperPhrase)
	before := len(m.entries("nest_check"))
	for _, c := range []struct {
		name   string
		x      tapped
		status int
		said   string
	}{
		{"a count that is none", m.tap(testNow, "/cage/"+rA1.String()+"/check", "answer", "changed", "eggs", "four"), 422, "not a whole number"},
		{"what a helper may not write", m.tap(testNow, "/cage/"+rA2.String()+"/ring", "on", "0", "ring0", "FC 26-019"), 403, "keeper"},
		{"a form that cannot wait", m.tap(testNow, "/theme", "theme", "off"), 400, "cannot wait"},
		{"a job without its name", m.tap(testNow, "/round/done", "place", rA1.String()), 422, "Say which job"},
	} {
		a, status := m.sends(c.x, "later")
		if a.State != sentWrong || status != c.status || !strings.Contains(a.Said, c.said) {
			t.Errorf("%s: answered is %+v with status %d, want %d and %q", c.name, a, status, c.status, c.said)
		}
	}
	if got := len(m.entries("nest_check")); got != before {
		t.Errorf("%d looks stand, want %d", got, before)
	}
	// what is about a cage that is not there is kept all the same, and set aside
	m.later(m.tap(testNow, "/cage/"+newID().String()+"/note", "text", "hello"), sentClash)
	m.later(m.tap(testNow, "/cage/"+newID().String()+"/odd", "what", "water out"), sentClash)
	r := m.request("POST", "/cage/"+rA1.String()+"/note", url.Values{"text": {"hello"}, "once": {newID().String()}, "kept_at": {"noon"}}.Encode())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.Header.Set(keptHeader, "later")
	m.do(r).wants(400, "does not say when it was tapped")
}

// TestOffline_Strikes takes in a strike that waited: what hangs on what it strikes is set aside, not asked about.
func TestOffline_Strikes(t *testing.T) {
	m := roundRoom(t, Config{})
	var box aviary.ID
	m.book.View(func(r *aviary.Room) {
		for _, e := range r.Entries() {
			if b, ok := e.Body.(*aviary.PlaceAdded); ok && b.Place == rA6 {
				box = e.ID
			}
		}
	})
	m.later(m.tap(testNow, "/strike", "id", box.String()), sentClash)
	m.get("/sort").wants(200, "Set aside")
	// a mark that may never have come in is made sure not to stand
	never := newID()
	before := len(m.entries("strike"))
	m.later(m.tap(testNow, "/strike", "id", never.String(), "if_there", "yes"), sentSaved)
	if got := len(m.entries("strike")); got != before {
		t.Error("nothing was there, and a strike was written")
	}
	x := m.tap(testNow, "/cage/"+rA1.String()+"/note", "text", "hello")
	m.later(x, sentSaved)
	m.later(m.tap(testNow, "/strike", "id", x.once.String(), "if_there", "yes"), sentSaved)
	if got := len(m.entries("note")); got != 0 {
		t.Errorf("%d notes stand after it was taken back", got)
	}
	// of a strike that has to be asked about first the browser itself is told
	place := newID()
	m.book.View(func(r *aviary.Room) {
		for _, e := range r.Entries() {
			if b, ok := e.Body.(*aviary.PlaceAdded); ok && b.Place == rA5 {
				place = e.ID
			}
		}
	})
	if a, _ := m.sends(m.tap(testNow, "/strike", "id", place.String()), "now"); a.State != sentAsk {
		t.Errorf("answered is %+v, want that the browser asks first", a)
	}
}

func TestOffline_TellsWhereItStands(t *testing.T) {
	m := roundRoom(t, Config{LAN: true})
	ask := func() (s standing) {
		t.Helper()
		if err := json.Unmarshal(m.get("/kept").wants(200).Body.Bytes(), &s); err != nil {
			t.Fatal(err)
		}
		return s
	}
	if s := ask(); s.By != "" || !s.LogIn || s.Zone != "Europe/Dublin" || s.Made != testNow.UnixMilli() || len(s.Room) != 16 {
		t.Errorf("standing is %+v", s)
	}
	if got := m.get("/login").wants(200).Header().Get("Kept-For"); got != "nobody" {
		t.Errorf("the log-in page is for %q", got)
	}
	m.logIn("Tom", helperPhrase)
	if s := ask(); s.By != "Tom" {
		t.Errorf("standing is %+v", s)
	}
	tom := m.get("/round").wants(200, `name="standing"`).Header().Get("Kept-For")
	m.logIn("Nora", keeperPhrase)
	nora := m.get("/round").Header().Get("Kept-For")
	if tom == nora || len(tom) != 12 || len(nora) != 12 {
		t.Errorf("pages are for %q and %q", tom, nora)
	}
	// the room bears its mark for good
	other := roundRoom(t, Config{})
	if again, err := newServer(m.s.Config); err != nil || again.roomMark != m.s.roomMark || other.s.roomMark == m.s.roomMark {
		t.Errorf("marks are %q, %q, another room's %q (%v)", m.s.roomMark, again.roomMark, other.s.roomMark, err)
	}
}

// TestOffline_WholeRound gives every card with its forms when it is asked for, with the same rings as the page of a few.
func TestOffline_WholeRound(t *testing.T) {
	m := newRoom(t, bigRound(40)...)
	part, whole := m.get("/round"), m.get("/round?all=yes")
	if part.Header().Get("Kept-Whole") != "" || whole.Header().Get("Kept-Whole") != "yes" {
		t.Error("what is the whole round is not told")
	}
	links := regexp.MustCompile(`<h2><a href="/round\?open=`)
	if n := len(links.FindAllString(part.Body.String(), -1)); n == 0 {
		t.Error("the page of a large round brings every form along")
	}
	if n := len(links.FindAllString(whole.Body.String(), -1)); n != 0 {
		t.Errorf("%d cards of the whole round bring no form along", n)
	}
	whole.sound()
}

// bigRound is a room of so many cages, at each of which something is due.
func bigRound(cages int) []*aviary.Entry {
	list := []*aviary.Entry{
		on("2025-08-01", &aviary.RoomSet{Name: some("Back room"), Zone: some("Europe/Dublin")}),
		on("2025-08-01", &aviary.RingsListed{Issuer: "FC", Year: 2026, From: 1, To: 400, Digits: 3, Size: 2.7, Species: []string{"zebra"}}),
	}
	for i := range cages {
		place, cock, hen := rid(3000+i), rid(4000+i), rid(5000+i)
		list = append(list,
			on("2025-08-01", &aviary.PlaceAdded{Place: place, Name: "C" + itoa(i+1), Type: aviary.Cage, Bank: "Bay", Row: 1 + i/10, Col: 1 + i%10}),
			on("2025-08-02", &aviary.BirdAcquired{Bird: cock, Species: "zebra", Sex: aviary.Cock, Ring: aviary.Ring{Issuer: "FC", Year: 2024, Number: itoa(100 + i)}, Place: place}),
			on("2025-08-02", &aviary.BirdAcquired{Bird: hen, Species: "zebra", Sex: aviary.Hen, Ring: aviary.Ring{Issuer: "FC", Year: 2024, Number: itoa(500 + i)}, Place: place}),
			on("2025-11-01", &aviary.PairSet{Pair: rid(6000 + i), Place: place, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}}),
			on("2025-11-01", &aviary.BoxHung{Box: rid(7000 + i), Place: place}),
			on("2025-12-15", &aviary.NestCheck{Place: place, Eggs: some(1), Chicks: some(0)}),
			on("2025-12-20", &aviary.NestCheck{Place: place, Eggs: some(4), Chicks: some(0)}),
			on("2026-01-05", &aviary.NestCheck{Place: place, Eggs: some(1), Chicks: some(3)}),
		)
	}
	return list
}

// TestOffline_ScriptCatchesWhatMayWait holds the script's list of forms to the server's.
func TestOffline_ScriptCatchesWhatMayWait(t *testing.T) {
	b, err := os.ReadFile("static/kept.js")
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(`const waits = /(.*)/;`).FindSubmatch(b)
	if m == nil {
		t.Fatal("the script has no list")
	}
	re := regexp.MustCompile(strings.ReplaceAll(string(m[1]), `\/`, "/"))
	s := newRoom(t).s
	for _, r := range s.routed.list {
		if r.Method != http.MethodPost {
			continue
		}
		address := regexp.MustCompile(`\{[^}]*\}`).ReplaceAllString(r.Path, newID().String())
		if got, want := re.MatchString(address), slices.Contains(waiting, "POST "+r.Path); got != want {
			t.Errorf("%s: the script catches it: %t, it may wait: %t", r.Path, got, want)
		}
	}
	for _, w := range waiting {
		if !slices.ContainsFunc(s.routed.list, func(r route) bool { return r.Method+" "+r.Path == w }) {
			t.Errorf("%s is no route", w)
		}
	}
}

func TestOffline_Worker(t *testing.T) {
	m := newRoom(t)
	a := m.get("/sw.js").wants(200, `const HASH = "/static/`, "tokens.css", `addEventListener("fetch"`)
	if ct := a.Header().Get("Content-Type"); !strings.HasPrefix(ct, "text/javascript") {
		t.Errorf("it is served as %s", ct)
	}
	list := regexp.MustCompile(`FILES = (\[.*\]);`).FindStringSubmatch(a.Body.String())
	var names []string
	if list == nil || json.Unmarshal([]byte(list[1]), &names) != nil || len(names) < 10 {
		t.Fatalf("the list of files is %v", list)
	}
	for _, name := range names {
		m.get(name).wants(200)
	}
	m.get("/kept/none").wants(200, "needs the room").sound()
}
