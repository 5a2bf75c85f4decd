package web

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// The whole way from an empty folder to a room with a pair and a nest, by forms alone.
func TestSetup_FromNothingToAUsableRoom(t *testing.T) {
	m := newRoom(t)
	m.get("/setup").wants(200, "Set up your room", "Time zone").sound()
	m.post("/setup/room", "name", "Furrow Cottage", "zone", "Australia/Adelaide", "latitude", "-34", "longitude", "138,6").wants(303)
	m.get("/setup").wants(200, "Hang a bank of cages").sound()
	m.post("/setup/bank", "bank", "Bay 1", "rows", "2", "cols", "3", "naming", "letters", "boxes", "yes").wants(303)
	m.post("/setup/bank", "bank", "Bay 2", "rows", "2", "cols", "3", "naming", "letters", "first", "4").wants(303)
	m.post("/setup/place", "place_name", "Flight 1", "type", "flight", "capacity", "24").wants(303)
	m.post("/setup/place", "place_name", "Q1", "type", "quarantine").wants(303)
	m.post("/setup/species", "species_kept", "zebra", "species_kept", "gouldian").wants(303)
	m.get("/wall").wants(200, "Bay 1", "Bay 2", "A1", "B6", "Flight 1", "Kept apart")
	a := m.get("/setup/walk").wants(303)
	first := a.to()
	m.get(first).wants(200, "A1 as you find it", "0 of 13 cages walked").sound()
	a = m.post(first, "species", "zebra", "cock", "FC 24-031", "hen_unread", "yes", "nest", "chicks", "count", "3", "chick_age_days", "8", "chick_age_about", "1", "clutch_no", "2").wants(303)
	second := strings.Split(a.to(), "?")[0]
	m.get(a.to()).wants(200, "B1 as you find it", `value="zebra" selected`)
	m.post(second, "nobody", "yes").wants(303)
	m.get("/setup").wants(200, "2 of 13 cages walked")
	m.book.View(func(r *aviary.Room) {
		p := r.PlaceNamed("A1")
		if pair := r.PairNow(p.ID); pair == nil || !pair.Found || len(r.In(p.ID)) != 2 {
			t.Error("the pair of A1 is not in the books as found")
		}
		if len(p.Clutches) != 1 || !p.Clutches[0].Found || *p.Clutches[0].No != 2 {
			t.Errorf("the nest of A1 is not in the books as found: %+v", p.Clutches)
		}
		if len(p.BoxesHung()) != 1 {
			t.Errorf("%d boxes at A1, want the one that hung there", len(p.BoxesHung()))
		}
		if b := r.Birds(); len(b) != 2 || b[0].Hatched != 0 {
			t.Error("what came before is not known, and must stay so")
		}
	})
}

func TestSetup_BadInputChangesNothing(t *testing.T) {
	m := newRoom(t)
	m.post("/setup/room", "zone", "Mars/Olympus").wants(422, "no time zone called")
	m.post("/setup/room", "name", "x").wants(422, "Choose the time zone")
	m.post("/setup/room", "zone", "UTC", "latitude", "123").wants(422, "outside -90 to 90")
	m.post("/setup/bank", "bank", "Bay", "rows", "0", "cols", "3").wants(422, "1 to 26 rows")
	m.post("/setup/bank", "bank", "Bay", "rows", "26", "cols", "60").wants(422, "two banks")
	m.post("/setup/bank", "rows", "2", "cols", "x").wants(422, "is not a whole number", "Give the bank a name")
	m.post("/setup/place", "type", "flight").wants(422, "Give the place a name")
	m.post("/setup/place", "place_name", "F", "type", "barn").wants(422, "not a sort of place")
	m.post("/setup/species").wants(422, "Tick at least one")
	m.post("/setup/species", "species_kept", "dodo").wants(422, "not on it")
	if len(m.entries("place_added"))+len(m.entries("room_set")) != 0 {
		t.Error("a refused form wrote something")
	}
	m.post("/setup/bank", "bank", "Bay", "rows", "1", "cols", "2", "naming", "numbers").wants(303)
	m.post("/setup/bank", "bank", "Bay", "rows", "1", "cols", "2", "naming", "numbers").wants(422, "called 1 already")
	if n := len(m.entries("place_added")); n != 2 {
		t.Errorf("%d cages hang, want 2: a bank is hung whole or not at all", n)
	}
}

func TestWalk_BadInputChangesNothing(t *testing.T) {
	m := wallRoom(t)
	cage := "/setup/walk/" + wallA2.String()
	m.post(cage).wants(422, "nobody in it")
	m.post(cage, "cock", "FC 25-777").wants(422, "Say which species")
	m.post(cage, "species", "zebra", "cock", "FC 25-777", "nest", "eggs").wants(422, "How many", "one at the least")
	m.post(cage, "species", "zebra", "cock", "FC 24-001").wants(422, "end that pair first")
	m.post("/setup/walk/"+tid(99).String(), "nobody", "yes").wants(404)
	if n := len(m.entries("pair_set")); n != 1 {
		t.Errorf("%d pairs, want the one from before", n)
	}
	m.post(cage, "cock", "FC 24-003", "nest", "empty box").wants(303) // in the books already: it is moved, not added
	if n := len(m.entries("bird_acquired")); n != 3 {
		t.Errorf("%d birds in the books, want 3", n)
	}
}

func TestPlaceEdit_ChangesAndRetires(t *testing.T) {
	m := wallRoom(t)
	m.get("/setup/place/"+wallA2.String()).wants(200, "Change A2", `value="Bay 1"`).sound()
	m.post("/setup/place/"+wallA2.String(), "name", "A9", "bank", "Bay 1", "row", "1", "col", "9", "blocked_until", "2026-02-12").wants(303)
	m.get("/wall").wants(200, "A9").lacks(">A2<")
	m.post("/setup/place/"+wallA2.String(), "name", "A1").wants(422, "called A1 already")
	m.post("/setup/place/"+wallA1.String()+"/retire").wants(422, "still in it")
	m.post("/setup/place/"+wallA2.String()+"/retire", "reason", "rusty").wants(303)
	m.get("/setup/place/" + wallA2.String()).wants(404)
}
