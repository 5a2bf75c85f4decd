package web

import (
	"net/http"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

func TestMore_ListsThePages(t *testing.T) {
	m := newRoom(t)
	m.get("/more").wants(http.StatusOK, `<h1>More of the room</h1>`, `href="/settings"`)
	m.get("/nowhere").wants(http.StatusNotFound, "There is no such page")
	if to := m.get("/").to(); to != "/setup" {
		t.Errorf("/ of an empty room leads to %q", to)
	}
	if to := newRoom(t, smallRoom()...).get("/").to(); to != "/round" {
		t.Errorf("/ leads to %q", to)
	}
}

func TestStrike_UndoesAndPutsBack(t *testing.T) {
	place := newID()
	added := &aviary.Entry{ID: newID(), Body: &aviary.PlaceAdded{Place: place, Name: "A1", Type: aviary.Cage}}
	m := newRoom(t, added)
	m.post("/strike", "id", added.ID.String(), "back", "/more").wants(http.StatusSeeOther)
	if n := len(m.entries("place_added")); n != 0 {
		t.Fatalf("%d places stand after the strike", n)
	}
	m.get("/more").wants(http.StatusOK, "Struck out: A1 added", "Put back")
	strikes := m.entries("strike")
	m.post("/strike", "id", strikes[0].ID.String()).wants(http.StatusSeeOther)
	if n := len(m.entries("place_added")); n != 1 {
		t.Fatalf("%d places stand after it was put back", n)
	}
	m.get("/more").wants(http.StatusOK, "Put back: A1 added", "<button>Undo</button>")
	m.post("/strike", "id", m.entries("strike")[0].ID.String(), "back", "//evil.example").wants(http.StatusSeeOther)
	m.get("/more").wants(http.StatusOK, "Struck out: A1 added", "<button>Put back</button>")
	if n := len(m.entries("place_added")); n != 0 {
		t.Fatalf("%d places stand after it was struck out again", n)
	}
}

func TestStrike_ListsWhatHangsOnIt(t *testing.T) {
	place := newID()
	added := &aviary.Entry{ID: newID(), Body: &aviary.PlaceAdded{Place: place, Name: "A1", Type: aviary.Cage}}
	hung := &aviary.Entry{ID: newID(), Body: &aviary.BoxHung{Box: newID(), Place: place}}
	m := newRoom(t, added, hung)
	page := m.post("/strike", "id", added.ID.String()).wants(http.StatusOK, "One other mark hangs on this one", "nest box hung")
	if strings.Contains(page.Body.String(), "has been struck") || len(m.entries("strike")) != 0 {
		t.Fatal("something was struck out before the keeper agreed")
	}
	m.post("/strike", "id", added.ID.String(), "all", "yes").wants(http.StatusSeeOther)
	if a, b := len(m.entries("place_added")), len(m.entries("box_hung")); a+b != 0 {
		t.Errorf("%d places and %d boxes stand", a, b)
	}
	m.get("/more").wants(http.StatusOK, "and 1 mark that hung on it")
}
