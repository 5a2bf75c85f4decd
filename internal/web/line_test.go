package web

import (
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

func TestLines_Page(t *testing.T) {
	m := newRoom(t, smallRoom()...)
	m.get("/lines").wants(200, "Whom to keep for the line", "Founders", "Lacy (1989)").sound()
	m.get("/lines?species=zebra").wants(200, "founders, worth")
	m.get("/lines?species=phoenix").wants(404, "No bird of that species")
}

func TestLines_EmptyRoom(t *testing.T) {
	newRoom(t).get("/lines").wants(200, "No bird is in the books yet").sound()
}

// A line that is written after the page was shown is on it at once: what is kept is kept for one state of the books.
func TestLines_FollowTheBooks(t *testing.T) {
	m := newRoom(t, smallRoom()...)
	before := m.get("/lines?species=zebra")
	before.wants(200)
	bird := newID()
	if err := m.book.Write(t.Context(), journal.Writer{By: DefaultKeeper, Role: aviary.Keeper}, &aviary.Entry{Day: aviary.MustDate("2026-01-12"), Body: &aviary.BirdAcquired{Bird: bird, Species: "zebra", Name: "Pip"}}); err != nil {
		t.Fatal(err)
	}
	before.lacks("Pip")
	m.get("/lines?species=zebra").wants(200, "Pip")
}
