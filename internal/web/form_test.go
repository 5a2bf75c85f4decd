package web

import (
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"

	"broodlight/internal/aviary"
)

func TestOnce_ADoublePostWritesOnce(t *testing.T) {
	m := newRoom(t)
	once := newID().String()
	send := func(pairs ...string) answer {
		t.Helper()
		return m.post("/settings/lamps", append([]string{"once", once, "off", "20:00"}, pairs...)...)
	}
	send("on", "06:00").wants(303)
	send("on", "06:00").wants(303)
	m.now = m.now.Add(3 * 60e9) // a reload three minutes on is the same form still
	send("on", "06:00").wants(303)
	if n := len(m.entries("lamp_set")); n != 1 {
		t.Fatalf("%d settings are in the books, want 1", n)
	}
	if id := m.entries("lamp_set")[0].ID.String(); id != once {
		t.Errorf("the entry has the id %s, the form's was %s", id, once)
	}
	// The page before, with other figures: it must not be passed over in silence, and saving again saves.
	send("on", "05:00").wants(422, "This form was saved before (lamps 06:00–20:00)", `value="05:00"`, `name="back" value="/settings/lamps"`).lacks(`name="once" value="` + once)
	m.post("/settings/lamps", "once", newID().String(), "on", "05:00", "off", "20:00").wants(303)
	if n := len(m.entries("lamp_set")); n != 2 {
		t.Errorf("%d settings are in the books, want 2", n)
	}
	// What is no id of ours is not taken for one.
	for _, bad := range []string{"", "x", "00000000-0000-0000-0000-000000000000", "f47ac10b-58cc-4372-a567-0e02b2c3d479"} {
		m.post("/settings/lamps", "once", bad, "circuit", "x"+bad, "on", "05:00", "off", "20:00").wants(303)
	}
	if n := len(m.entries("lamp_set")); n != 6 {
		t.Errorf("%d settings are in the books, want 6", n)
	}
}

func TestOnce_TwoAtTheSameMomentWriteOnce(t *testing.T) {
	m := newRoom(t)
	once := newID().String()
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			w := httptest.NewRecorder()
			m.h.ServeHTTP(w, m.request("POST", "/settings/lamps", "once="+once+"&on=06:00&off=20:00"))
			if w.Code != http.StatusSeeOther {
				t.Errorf("status %d: %s", w.Code, answer{w, t}.text())
			}
		})
	}
	all.Wait()
	if n := len(m.entries("lamp_set")); n != 1 {
		t.Errorf("%d settings are in the books, want 1", n)
	}
}

func TestVisit_IDsAreDrawnFromTheForm(t *testing.T) {
	once := newID()
	a, b := &visit{once: once}, &visit{once: once}
	seen := map[aviary.ID]bool{once: true}
	for range 1000 {
		x, y := a.id(), b.id()
		if x != y {
			t.Fatal("the same form names different things")
		}
		if seen[x] {
			t.Fatalf("the id %s came twice", x)
		}
		if x.Version() != 7 || x.Variant() != once.Variant() {
			t.Fatalf("%s is version %d, variant %s", x, x.Version(), x.Variant())
		}
		seen[x] = true
	}
	if other := (&visit{once: newID()}).id(); seen[other] {
		t.Error("another form names the same thing")
	}
}

func TestForm_ReadsWhatPeopleType(t *testing.T) {
	f := blank("n", " 5 ", "x", "2,7", "minus", "−3.5", "bad", "five", "inf", "Inf", "day", "2026-01-13", "noday", "2026-02-30", "time", "06:48", "notime", "6:48",
		"id", newID().String(), "noid", "A1", "word", "hen", "noword", "cocky", "species", "Gouldian finch", "nospecies", "gooldian", "letters", "\xff")
	if got := *f.intp("n"); got != 5 {
		t.Error(got)
	}
	if got := f.float("x"); got != 2.7 {
		t.Error(got)
	}
	if got := f.float("minus"); got != -3.5 {
		t.Error(got)
	}
	if f.date("day") != aviary.MustDate("2026-01-13") || f.clock("time") != aviary.ClockOf(6, 48) || f.id("id") == (aviary.ID{}) || f.one("word", "cock", "hen") != "hen" || f.species("species") != "gouldian" {
		t.Error("what is right was not read")
	}
	if f.intp("none") != nil || f.floatp("none") != nil || f.date("none") != 0 || f.textp("none") != nil || f.err() != nil {
		t.Error("an empty field is not empty, or something is wrong already")
	}
	f.intp("bad")
	f.float("inf")
	f.date("noday")
	f.clock("notime")
	f.id("noid")
	f.one("noword", "cock", "hen")
	f.species("nospecies")
	f.text("letters")
	for _, name := range []string{"bad", "inf", "noday", "notime", "noid", "noword", "nospecies", "letters"} {
		if f.Error(name) == "" {
			t.Errorf("%q passes for right", name)
		}
	}
	if f.err() == nil {
		t.Error("the form passes for right")
	}
}
