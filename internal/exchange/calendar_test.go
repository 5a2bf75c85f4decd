package exchange

import (
	"bytes"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	goical "github.com/emersion/go-ical"
	"github.com/google/uuid"
	"pgregory.net/rapid"

	"broodlight/internal/aviary"
)

var calendarRoom = uuid.MustParse("0198a000-0000-7000-8000-000000000001")

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// parse reads a feed by a second library, which knows nothing of ours.
func parse(t testing.TB, b []byte) []goical.Event {
	t.Helper()
	cal, err := goical.NewDecoder(bytes.NewReader(b)).Decode()
	if err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	if err := goical.NewEncoder(&bytes.Buffer{}).Encode(cal); err != nil && len(cal.Children) > 0 { // it checks what must be there once and what may
		t.Fatalf("%v\n%s", err, b)
	}
	return cal.Events()
}

func text(t testing.TB, e goical.Event, name string) string {
	t.Helper()
	s, err := e.Props.Text(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func write(t testing.TB, c Calendar) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteCalendar(&b, c); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// lines checks the form of a file: RFC 5545, 3.1: lines end with CRLF and have 75 octets at most without it, and a letter
// of several octets stays whole.
func lines(t testing.TB, b []byte) {
	t.Helper()
	rest, ok := strings.CutSuffix(string(b), "\r\n")
	if !ok {
		t.Fatal("the last line is not ended")
	}
	for _, line := range strings.Split(rest, "\r\n") {
		if len(line) > 75 || line == "" || strings.ContainsAny(line, "\r\n") || !utf8.ValidString(line) {
			t.Errorf("line of %d octets %q", len(line), line)
		}
	}
}

func TestWriteCalendar_IsReadBackByAnotherProgram(t *testing.T) {
	c := Calendar{
		Name: "Long wall; cages, nests", Room: calendarRoom, Zone: zone(t, "Europe/Dublin"), Stamp: time.Date(2026, 1, 13, 0, 0, 0, 0, time.UTC),
		Events: []Event{
			{
				Key: "hatch/a", From: aviary.MustDate("2026-02-27"), To: aviary.MustDate("2026-03-01"), Title: "A3: hatch, most likely 28 Feb",
				Text:     "27 Feb–1 Mar (8 in 10), most likely 28 Feb.\nBasis: 5 eggs; sat since 14 Feb, by “Nora” \\ Tom.",
				Category: "Hatch", Place: "A3", URL: "http://192.168.1.5:8417/cage/0198?a=1,2;3",
			},
			{Key: "sprouts/1", From: aviary.MustDate("2026-01-20"), Time: aviary.ClockOf(18, 30), Minutes: 15, Title: "Soak seed"},
			{Key: "sprouts/2", From: aviary.MustDate("2026-07-20"), Time: aviary.ClockOf(0, 0), Minutes: 15, Title: "Soak seed"}, // summer time, midnight
			{Key: "spring", From: aviary.MustDate("2026-03-29"), Time: aviary.ClockOf(1, 30), Minutes: 15, Title: "In the hour that is left out"},
		},
	}
	b := write(t, c)
	lines(t, b)
	if again := write(t, c); !bytes.Equal(b, again) {
		t.Error("the same calendar gives other bytes")
	}
	for _, want := range []string{
		"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n", "\r\nPRODID:-//Broodlight//Bird room//EN\r\n", "\r\nX-WR-TIMEZONE:Europe/Dublin\r\n",
		"\r\nREFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n", "\r\nDTSTAMP:20260113T000000Z\r\n", "\r\nTRANSP:TRANSPARENT\r\n",
		"\r\nDTSTART;VALUE=DATE:20260227\r\n", "\r\nDTEND;VALUE=DATE:20260302\r\n", // ends before the day after
		"\r\nDTSTART:20260120T183000Z\r\n", "\r\nDTEND:20260120T184500Z\r\n", "\r\nDTSTART:20260719T230000Z\r\n",
		"\r\nSUMMARY:A3: hatch\\, most likely 28 Feb\r\n", "\r\nX-WR-CALNAME:Long wall\\; cages\\, nests\r\n",
	} {
		if !bytes.Contains(b, []byte(want)) {
			t.Errorf("lacks %q:\n%s", want, b)
		}
	}
	events := parse(t, b)
	if len(events) != 4 {
		t.Fatalf("%d events", len(events))
	}
	hatch := events[1] // in order of days
	for name, want := range map[string]string{
		goical.PropSummary: c.Events[0].Title, goical.PropDescription: c.Events[0].Text, goical.PropCategories: "Hatch", goical.PropLocation: "A3",
		goical.PropUID: uuid.NewSHA1(calendarRoom, []byte("hatch/a")).String(),
	} {
		if got := text(t, hatch, name); got != want {
			t.Errorf("%s %q, want %q", name, got, want)
		}
	}
	if u, err := hatch.Props.URI(goical.PropURL); err != nil || u.String() != c.Events[0].URL {
		t.Errorf("url %v, %v", u, err)
	}
	if from, err := hatch.DateTimeStart(time.UTC); err != nil || !from.Equal(time.Date(2026, 2, 27, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("from %v, %v", from, err)
	}
	if to, err := hatch.DateTimeEnd(time.UTC); err != nil || !to.Equal(time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("to %v, %v", to, err)
	}
	if from, err := events[0].DateTimeStart(time.UTC); err != nil || !from.Equal(time.Date(2026, 1, 20, 18, 30, 0, 0, c.Zone)) {
		t.Errorf("from %v, %v", from, err)
	}
}

func TestWriteCalendar_ADateThatMovesKeepsItsUID(t *testing.T) {
	uid := func(room uuid.UUID, key, day string) string {
		d := aviary.MustDate(day)
		return text(t, parse(t, write(t, Calendar{Name: "x", Room: room, Events: []Event{{Key: key, From: d, To: d, Title: "t"}}}))[0], goical.PropUID)
	}
	first := uid(calendarRoom, "hatch/a", "2026-01-20")
	if moved := uid(calendarRoom, "hatch/a", "2026-01-23"); moved != first {
		t.Errorf("%s became %s", first, moved)
	}
	if other := uid(calendarRoom, "hatch/b", "2026-01-20"); other == first {
		t.Error("two clutches have one UID")
	}
	if other := uid(uuid.MustParse("0198a000-0000-7000-8000-000000000002"), "hatch/a", "2026-01-20"); other == first {
		t.Error("two rooms have one UID")
	}
}

func TestWriteCalendar_Refusals(t *testing.T) {
	day := aviary.MustDate("2026-01-20")
	good := Event{Key: "a", From: day, To: day, Title: "t"}
	for _, c := range []struct {
		name   string
		change func(e *Event)
		more   []Event
	}{
		{"no key", func(e *Event) { e.Key = "" }, nil},
		{"one key twice", func(*Event) {}, []Event{good}},
		{"no day", func(e *Event) { e.From = 0 }, nil},
		{"backwards", func(e *Event) { e.To = day - 1 }, nil},
		{"a time without a zone", func(e *Event) { e.Time, e.Minutes = aviary.ClockOf(7, 0), 15 }, nil},
		{"an address that is none", func(e *Event) { e.URL = "/cage/1" }, nil},
		{"an address with a line of its own", func(e *Event) { e.URL = "http://x/\r\nSUMMARY:y" }, nil},
	} {
		e := good
		c.change(&e)
		if err := WriteCalendar(&bytes.Buffer{}, Calendar{Name: "x", Room: calendarRoom, Events: append(c.more, e)}); err == nil {
			t.Errorf("%s: no error", c.name)
		}
	}
	if b := write(t, Calendar{Name: "x", Room: calendarRoom}); !bytes.Contains(b, []byte("END:VCALENDAR\r\n")) {
		t.Errorf("an empty one: %s", b)
	}
}

// Whatever a keeper writes comes back as he wrote it, but for letters that no calendar holds.
func TestWriteCalendar_AnyTextComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.StringOf(rapid.OneOf(rapid.Rune(), rapid.SampledFrom([]rune(" \n,;\\:\"<>ä–😀"))))
		day := aviary.MustDate("2026-01-20")
		e := Event{Key: rapid.StringN(1, 40, -1).Draw(t, "key"), From: day, To: day, Title: words.Draw(t, "title"), Text: words.Draw(t, "text")}
		var out bytes.Buffer
		if err := WriteCalendar(&out, Calendar{Name: words.Draw(t, "name"), Room: calendarRoom, Events: []Event{e}}); err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(strings.TrimSuffix(out.String(), "\r\n"), "\r\n") {
			if len(line) > 75 || strings.ContainsAny(line, "\r\n") || !utf8.ValidString(line) {
				t.Fatalf("line of %d octets %q", len(line), line)
			}
		}
		cal, err := goical.NewDecoder(&out).Decode()
		if err != nil {
			t.Fatal(err)
		}
		for name, want := range map[string]string{goical.PropSummary: plainText(e.Title), goical.PropDescription: plainText(e.Text)} {
			if got, err := cal.Events()[0].Props.Text(name); err != nil || got != want {
				t.Fatalf("%s %q, want %q (%v)", name, got, want, err)
			}
		}
	})
}
