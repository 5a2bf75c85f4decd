package web

import (
	"fmt"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// Things of the room that the tests of the wall, pairs and moves share.
var (
	wallA1, wallA2, wallFlight, wallBox = tid(1), tid(2), tid(3), tid(4)
	wallCock, wallHen, wallCock2        = tid(11), tid(12), tid(13)
	wallPair                            = tid(21)
)

func tid(n int) aviary.ID {
	var id aviary.ID
	id[0], id[15] = 7, byte(n)
	return id
}

func on(day string, body aviary.Body) *aviary.Entry {
	return &aviary.Entry{Day: aviary.MustDate(day), Body: body}
}

func some[T any](v T) *T { return &v }

// wallRoom is two cages, a flight, three zebra finches, and a pair with four eggs in A1.
func wallRoom(t *testing.T, more ...*aviary.Entry) *testRoom {
	t.Helper()
	entries := []*aviary.Entry{
		on("2025-08-01", &aviary.RoomSet{Name: some("Furrow Cottage"), Zone: some("Europe/Dublin")}),
		on("2025-08-01", &aviary.PlaceAdded{Place: wallA1, Name: "A1", Type: aviary.Cage, Bank: "Bay 1", Row: 1, Col: 1}),
		on("2025-08-01", &aviary.PlaceAdded{Place: wallA2, Name: "A2", Type: aviary.Cage, Bank: "Bay 1", Row: 1, Col: 2}),
		on("2025-08-01", &aviary.PlaceAdded{Place: wallFlight, Name: "Flight 1", Type: aviary.Flight, Capacity: some(24)}),
	}
	for i, b := range []struct {
		id  aviary.ID
		sex aviary.Sex
	}{{wallCock, aviary.Cock}, {wallHen, aviary.Hen}, {wallCock2, aviary.Cock}} {
		entries = append(entries, on("2025-08-02", &aviary.BirdAcquired{Bird: b.id, Species: "zebra", Sex: b.sex, Hatched: aviary.MustDate("2024-03-01"), Ring: aviary.Ring{Issuer: "FC", Year: 2024, Number: fmt.Sprintf("%03d", i+1)}, Place: wallFlight}))
	}
	entries = append(entries,
		on("2025-12-10", &aviary.PairSet{Pair: wallPair, Place: wallA1, Cocks: []aviary.ID{wallCock}, Hens: []aviary.ID{wallHen}}),
		on("2025-12-10", &aviary.BoxHung{Box: wallBox, Place: wallA1}),
		on("2026-01-02", &aviary.NestCheck{Place: wallA1, Eggs: some(4), Chicks: some(0)}))
	return newRoom(t, append(entries, more...)...)
}

func TestWall_ShowsTheRoomAsItHangs(t *testing.T) {
	m := wallRoom(t)
	m.get("/wall").wants(200, "A1", "A2", "Flight 1", "24-001", "4 eggs", "cages wants", "Today", "hatch")
	m.get("/wall?only=eggs").wants(200, `class="cage today"`, " dim")
}

func TestWall_CarryAPairByHandOrByList(t *testing.T) {
	m := wallRoom(t)
	m.get("/wall").lacks("data-carry")
	m.get("/wall?move=yes").wants(200, "Carry a pair or a bird", `data-drop="`+wallA2.String(), `data-carry="pair:`+wallPair.String(), "A1, pair").sound()
	m.post("/move", "carry", "pair:"+wallPair.String(), "to", wallA2.String(), "back", "/wall?move=yes").wants(303)
	m.book.View(func(r *aviary.Room) {
		if r.PairNow(wallA2) == nil {
			t.Error("the pair is not in A2")
		}
	})
	m.post("/move", "carry", "nonsense", "to", wallA2.String()).wants(404)
}

func TestWall_EmptyRoomSaysWhatToDo(t *testing.T) {
	newRoom(t).get("/wall").wants(200, "No cage hangs here yet", "/setup")
}

func TestPair_SetUpWarnsAndAsksWhy(t *testing.T) {
	m := wallRoom(t, on("2025-12-20", &aviary.BirdAcquired{Bird: tid(14), Species: "zebra", Sex: aviary.Hen, Hatched: aviary.MustDate("2025-10-01"), Ring: aviary.Ring{Issuer: "FC", Year: 2025, Number: "009"}, Place: wallFlight}))
	m.get("/pair/new?place="+wallA2.String()).wants(200, "Set up a pair", "FC 24-003 · Flight 1")
	form := []string{"once", newID().String(), "place", wallA2.String(), "cock", "FC 24-003", "hen", "25-009"}
	m.post("/pair", form...).wants(422, "This is not usual", "3 months old", "Says who?", "Why it is right all the same")
	if n := len(m.entries("pair_set")); n != 1 {
		t.Fatalf("%d pairs in the books after a warning without a reason, want the one from before", n)
	}
	m.post("/pair", append(form, "why", "she is in full condition")...).wants(303)
	pairs := m.entries("pair_set")
	if len(pairs) != 2 || pairs[1].Why != "she is in full condition" {
		t.Errorf("the reason is not kept: %+v", pairs[len(pairs)-1])
	}
	m.post("/pair", append(form, "why", "she is in full condition")...).wants(303) // a double tap
	if n := len(m.entries("pair_set")); n != 2 {
		t.Errorf("a double tap wrote %d pairs", n)
	}
}

func TestPair_BadInputChangesNothing(t *testing.T) {
	for _, tt := range []struct {
		name string
		form []string
		want string
	}{
		{"no cage", []string{"cock", "FC 24-003"}, "Choose the cage"},
		{"nobody", []string{"place", wallA2.String()}, "Name at least one bird"},
		{"unknown ring", []string{"place", wallA2.String(), "cock", "XX 1"}, "no bird with the ring or name"},
		{"a hen as cock", []string{"place", wallA2.String(), "cock", "FC 24-002"}, "is a hen"},
		{"two places at once", []string{"place", wallA2.String(), "cock", "FC 24-001"}, "end that pair first"},
		{"a cage that is not there", []string{"place", tid(99).String(), "cock", "FC 24-003"}, "no such place"},
		{"not an id", []string{"place", "<b>", "cock", "FC 24-003"}, "choose from the list"},
		{"in the future", []string{"place", wallA2.String(), "cock", "FC 24-003", "day", "2030-01-01"}, "has not come yet"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			m := wallRoom(t)
			a := m.post("/pair", tt.form...)
			if a.Code != 422 || !strings.Contains(strings.ToLower(a.Body.String()), strings.ToLower(tt.want)) {
				t.Errorf("status %d; the page does not say %q", a.Code, tt.want)
			}
			if n := len(m.entries("pair_set")); n != 1 {
				t.Errorf("%d pairs in the books, want 1", n)
			}
		})
	}
}

func TestPair_EndMovesTheBirdsInOneStep(t *testing.T) {
	m := wallRoom(t)
	m.get("/pair/"+wallPair.String()+"/end").wants(200, "The nest goes on", "End the pair in A1")
	m.post("/pair/"+wallPair.String()+"/end", "cocks_to", wallFlight.String()).wants(422, "Say why")
	m.post("/pair/"+wallPair.String()+"/end", "reason", "resting", "cocks_to", wallFlight.String()).wants(303)
	m.book.View(func(r *aviary.Room) {
		if r.PairNow(wallA1) != nil || r.Bird(wallCock).Place() != wallFlight || r.Bird(wallHen).Place() != wallA1 {
			t.Error("the pair is not ended with the cock in the flight and the hen in A1")
		}
	})
	m.post("/pair/"+tid(77).String()+"/end", "reason", "resting").wants(404, "no such pair")
}

func TestMove_PairAndBird(t *testing.T) {
	m := wallRoom(t)
	m.get("/move?what=pair&id="+wallPair.String()).wants(200, "Move the pair from A1")
	m.post("/move", "what", "pair", "id", wallPair.String(), "to", wallA2.String()).wants(303)
	m.book.View(func(r *aviary.Room) {
		if p := r.PairNow(wallA2); p == nil || r.Bird(wallHen).Place() != wallA2 {
			t.Error("the pair is not in A2")
		}
	})
	m.post("/move", "what", "pair", "id", wallPair.String(), "to", wallA1.String()).wants(422, "ended on")
	m.post("/move", "what", "bird", "id", wallCock2.String(), "to", wallA2.String()).wants(422, "often fight")
	m.post("/move", "what", "bird", "id", wallCock2.String(), "to", wallA2.String(), "why", "for an hour").wants(303)
	m.post("/move", "what", "bird", "id", tid(99).String(), "to", wallA2.String()).wants(404)
	m.post("/move", "what", "bird", "id", wallCock.String()).wants(422, "Choose where to")
}

func TestBulk_ShowsThenDoesThenUndoes(t *testing.T) {
	m := wallRoom(t)
	form := []string{"once", newID().String(), "place", wallA1.String(), "reason", "season over", "boxes_out", "yes", "cocks_to", wallFlight.String(), "hens_to", wallFlight.String()}
	m.get("/bulk").wants(200, "A1", "A2")
	m.post("/bulk", form...).wants(200, "1 pair ended, 1 box taken out, 1 cock and 1 hen moved", "Nothing is written yet")
	if n := len(m.entries("pair_ended")); n != 0 {
		t.Fatal("the preview wrote something")
	}
	m.post("/bulk", append(form, "sure", "yes")...).wants(303)
	ended := m.entries("pair_ended")
	if len(ended) != 1 {
		t.Fatalf("%d pairs ended, want 1", len(ended))
	}
	m.post("/strike", "id", ended[0].Batch.String()).wants(303)
	m.book.View(func(r *aviary.Room) {
		if r.PairNow(wallA1) == nil || r.Bird(wallCock).Place() != wallA1 {
			t.Error("one strike did not undo the step")
		}
	})
	m.post("/bulk", "reason", "resting").wants(422, "Pick at least one cage")
	m.post("/bulk", "place", wallA1.String()).wants(422, "would change nothing")
}

func TestSort_ListsAndSettles(t *testing.T) {
	m := wallRoom(t, on("2026-01-12", &aviary.OddSeen{Place: wallA2, What: "poorly", Text: "<b>fluffed</b>"}))
	m.get("/sort").wants(200, "One thing to sort out", "Poorly", "avian vet", "&lt;b&gt;fluffed").lacks("<b>fluffed")
	odd := m.entries("odd_seen")[0]
	m.post("/sort/settle", "entry", odd.ID.String(), "how", "seen by the vet").wants(303)
	m.get("/sort").wants(200, "Nothing to sort out")
}

func TestAway_SheetForTheHelper(t *testing.T) {
	m := wallRoom(t)
	m.get("/away").wants(200, "Nobody is away")
	m.post("/away", "from", "2026-01-15", "to", "2026-01-10").wants(422, "the last not before the first")
	m.post("/away", "from", "2026-01-14", "to", "2026-01-20", "text", "key under the pot").wants(303)
	m.get("/away").wants(200, "Away 14–20 Jan", "key under the pot", "avian vet", "Flight 1", "Look for chicks")
}
