package web

import (
	"testing"

	"broodlight/internal/aviary"
)

func TestGroup_UnringedYoungCountedMovedAndRinged(t *testing.T) {
	m := wallRoom(t, on("2025-12-01", &aviary.RingsListed{Issuer: "FC", Year: 2026, From: 7, To: 9, Digits: 3, Size: 2.7}))
	m.get("/groups/new?place="+wallFlight.String()).wants(200, "Young without rings").sound()
	a := m.post("/groups/new", "species", "zebra", "count", "5", "place", wallFlight.String(), "hatched", "2025-11-20").wants(303)
	group := a.to()
	m.get(group).wants(200, "5 Zebra finch without rings in Flight 1", "FC 26-007").sound()
	m.post(group+"/ring", "ring", "FC 26-007", "sex", "hen").wants(303)
	m.get(group).wants(200, "4 Zebra finch without rings", "FC 26-008")
	m.post(group+"/count", "count", "3", "why_changed", "one flew out").wants(303)
	m.post(group+"/move", "to", wallA2.String()).wants(303)
	m.get(group).wants(200, "3 Zebra finch without rings in A2", "one flew out")
	m.book.View(func(r *aviary.Room) {
		b := r.Wearer(aviary.Ring{Issuer: "FC", Year: 2026, Number: "007"})
		if b == nil || b.Sex != aviary.Hen || b.Hatched != aviary.MustDate("2025-11-20") || b.Place() != wallFlight || *b.Rings[0].Size != 2.7 {
			t.Errorf("the ringed young is %+v", b)
		}
	})
	m.post(group+"/count").wants(422, "Say how many")
	m.post(group+"/count", "count", "-2").wants(422, "0 or more")
	m.post(group+"/move").wants(422, "Choose where to")
	m.post(group+"/ring", "ring", "FC 24-001").wants(422, "wears this ring")
	m.post("/groups/new", "species", "zebra", "count", "0", "place", wallFlight.String()).wants(422, "at least one")
	m.get("/group/" + tid(99).String()).wants(404)
	m.get("/cage/"+wallA2.String()).wants(200, group)
}

func TestOneDied_CandidatesUntilItIsKnown(t *testing.T) {
	m := wallRoom(t)
	page := "/died/one?place=" + wallA1.String()
	m.get(page).wants(200, "One of the birds in A1 died", "FC 24-001, cock", "FC 24-002, hen").sound()
	m.post("/died/one", "place", wallA1.String(), "birds", wallCock.String()).wants(422, "at least two", "write that it died")
	m.post("/died/one", "place", wallA1.String(), "birds", wallCock.String(), "birds", wallHen.String()).wants(303)
	m.get("/sort").wants(200, "One of these died", "FC 24-001", "FC 24-002")
}
