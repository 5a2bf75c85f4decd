package web

import (
	"math"
	"strings"
	"testing"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// feedRoom is two cages with a zebra pair each in one bank and a Gouldian pair in another, all on a plan that has sprouted seed from
// 1 January 2026.
func feedRoom() (entries []*aviary.Entry, a1, a2, b1, hen aviary.ID) {
	a1, a2, b1 = newID(), newID(), newID()
	text := func(s string) *string { return &s }
	day := aviary.MustDate
	add := func(on string, body aviary.Body) {
		entries = append(entries, &aviary.Entry{ID: newID(), Day: day(on), Body: body})
	}
	add("2025-10-01", &aviary.RoomSet{Name: text("Back room"), Zone: text("Europe/Dublin"), Volume: text("tsp")})
	for i, x := range []struct {
		id               aviary.ID
		name, bank, slug string
	}{{a1, "A1", "Left", "zebra"}, {a2, "A2", "Left", "zebra"}, {b1, "B1", "Right", "gouldian"}} {
		cock, mate := newID(), newID()
		if i == 0 {
			hen = mate
		}
		add("2025-10-01", &aviary.PlaceAdded{Place: x.id, Name: x.name, Type: aviary.Cage, Bank: x.bank, Row: 1, Col: i + 1})
		add("2025-10-02", &aviary.BirdAcquired{Bird: cock, Species: x.slug, Sex: aviary.Cock, Name: x.name + " cock", Place: x.id})
		add("2025-10-02", &aviary.BirdAcquired{Bird: mate, Species: x.slug, Sex: aviary.Hen, Name: x.name + " hen", Place: x.id})
		add("2025-12-20", &aviary.PairSet{Pair: newID(), Place: x.id, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{mate}})
	}
	add("2025-12-01", &aviary.FeedPlanned{Name: "Wall", Preparation: day("2025-12-10"), Conditioning: day("2026-01-01"), Moult: day("2026-07-01")})
	return entries, a1, a2, b1, hen
}

func TestMorning_GivenByBankAndUndone(t *testing.T) {
	entries, _, _, _, _ := feedRoom()
	m := newRoom(t, entries...)
	m.get("/morning").wants(200, "This morning: 3 cages to feed", "Left", "Right", "Says who?", "Cuttlebone and grit are out at all 3 places", "Dry seed, topped up", "about 3 teaspoons").sound()
	m.get("/round").wants(200, "This morning: 3 cages to feed")
	m.post("/morning/given", "bank", "Left", "back", "/morning").wants(303)
	given := m.entries("food_given")
	if len(given) == 0 {
		t.Fatal("nothing was written")
	}
	for _, e := range given {
		if b := e.Body.(*aviary.FoodGiven); len(b.Places) != 2 || b.Amount == nil || b.Unit != "ml" || e.Batch != given[0].ID && len(given) > 1 {
			t.Errorf("written: %+v in batch %s", b, e.Batch)
		}
	}
	m.get("/morning").wants(200, "This morning: 1 cage to feed", "2 of 3 places are fed", "Given 06:48")
	m.post("/morning/given", "bank", "Left").wants(303) // nothing is left to give there
	if n := len(m.entries("food_given")); n != len(given) {
		t.Errorf("%d entries after a second tap, want %d", n, len(given))
	}
	m.post("/morning/given", "all", "yes").wants(303)
	m.get("/morning").wants(200, "work is done: 3 places are fed", "All given.")
	m.get("/round").lacks("This morning:")
	undo := given[0].ID
	if given[0].Batch != (aviary.ID{}) {
		undo = given[0].Batch
	}
	m.post("/strike", "id", undo.String(), "back", "/morning").wants(303)
	m.get("/morning").wants(200, "This morning: 2 cages to feed")
}

func TestMorning_RefusesABankThatIsNotThere(t *testing.T) {
	entries, _, _, _, _ := feedRoom()
	m := newRoom(t, entries...)
	m.post("/morning/given", "bank", "Cellar").wants(422, "no bank called", "Cellar")
	m.post("/morning/given").wants(422, "no bank called")
	if n := len(m.entries("food_given")); n != 0 {
		t.Errorf("%d entries were written", n)
	}
}

// The totals on the page are the sums of the lines on it.
func TestMorning_PageAddsUp(t *testing.T) {
	entries, a1, a2, b1, _ := feedRoom()
	entries = append(entries, &aviary.Entry{ID: newID(), Day: aviary.MustDate("2026-01-01"), Body: &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1, a2, b1}}})
	m := newRoom(t, entries...)
	m.get("/morning").wants(200, "Sprouted seed", "3 teaspoons", "1 teaspoon")
	var sum, total float64
	m.s.Book.View(func(r *aviary.Room) {
		work := advice.At(r, aviary.MustDate("2026-01-13"), 0).Morning()
		for _, b := range work.Banks {
			for _, l := range b.Lines {
				sum += l.ML * float64(len(l.Places))
			}
		}
		for _, x := range work.Totals {
			total += x.ML
		}
	})
	if math.Abs(sum-total) > 1e-9 || total == 0 {
		t.Errorf("lines add up to %.3f ml, totals to %.3f", sum, total)
	}
}

func TestMorning_WhoAteLess(t *testing.T) {
	entries, a1, a2, _, _ := feedRoom()
	m := newRoom(t, entries...)
	m.post("/morning/ate", "share", "0.4").wants(422, "Say at which cage")
	m.post("/morning/ate", "places", a1.String()).wants(422, "Say whether they ate as always, less, or much less")
	m.post("/morning/ate", "places", a1.String(), "share", "9").wants(422, "outside 0 to 3")
	m.post("/morning/ate", "places", "no cage", "share", "0.4").wants(422, "not on it")
	if n := len(m.entries("intake_seen")); n != 0 {
		t.Fatalf("%d entries were written by refused forms", n)
	}
	m.post("/morning/ate", "places", a1.String(), "places", a2.String(), "share", "0.4", "text", "husks only").wants(303)
	if b := m.entries("intake_seen")[0].Body.(*aviary.IntakeSeen); len(b.Places) != 2 || b.Share != 0.4 {
		t.Errorf("written: %+v", b)
	}
	m.get("/morning").wants(200, "much less, about 4 in 10 of the usual, 13 Jan: husks only", "Look at today", "leave a quarter of their food")
}

// An ill hen stands on top of the page, and a low appetite does not explain her away.
func TestMorning_UrgentHenOnTop(t *testing.T) {
	entries, a1, _, _, hen := feedRoom()
	entries = append(entries, &aviary.Entry{ID: newID(), Body: &aviary.OddSeen{Place: a1, Bird: hen, What: "hen straining"}})
	m := newRoom(t, entries...)
	a := m.get("/morning").wants(200, "A1 cannot wait.", "straining is an emergency", "avian vet at once")
	if text := a.text(); strings.Index(text, "avian vet at once") > strings.Index(text, "Give") {
		t.Error("the hen stands under the food")
	}
	m.get("/food").wants(200, "straining is an emergency")
}

func TestFood_PhasesAndBegun(t *testing.T) {
	entries, a1, _, b1, _ := feedRoom()
	m := newRoom(t, entries...)
	m.get("/food").wants(200, "Sprouted seed is due at 3 places", "Sprouted seed begun at all 3", "Wall", "For the whole room", "Gouldian", "overeat egg food", "What a pair gets").sound()
	m.post("/food/begun", "phase", "conditioning").wants(422, "Tick the cages at which it began")
	m.post("/food/begun", "places", a1.String()).wants(422, "Say which phase began")
	m.post("/food/begun", "phase", "feasting", "places", a1.String()).wants(422, "not among the choices")
	m.post("/food/begun", "phase", "rest", "places", a1.String(), "whole", "yes").wants(422, "not both")
	m.post("/food/begun", "phase", "rest", "places", a1.String(), "day", "2027-01-01").wants(422)
	if n := len(m.entries("phase_begun")); n != 0 {
		t.Fatalf("%d entries were written by refused forms", n)
	}
	m.post("/food/begun", "phase", "conditioning", "places", b1.String()).wants(303)
	m.get("/food").wants(200, "Sprouted seed is due at 2 places", "week 1")
	m.post("/food/begun", "phase", "conditioning", "due", "yes").wants(303)
	list := m.entries("phase_begun")
	if b := list[len(list)-1].Body.(*aviary.PhaseBegun); len(b.Places) != 2 {
		t.Errorf("begun at %d places, want the two that were due", len(b.Places))
	}
	m.get("/food").wants(200, "Every place is fed for where it stands: 3 places", "sprouted seed and egg food from 27 Jan", "3 being brought into condition").lacks("is due at")
	m.post("/food/begun", "phase", "moult", "whole", "yes").wants(303)
	m.get("/food").wants(200, "3 in moult")
}

func TestFoodPlan_SavedChangedAndRefused(t *testing.T) {
	entries, a1, _, _, _ := feedRoom()
	m := newRoom(t, entries...)
	m.get("/food/plan").wants(200, "Plan the feeding of a group", "Zebra finch", "Wall").sound()
	m.post("/food/plan", "name", "Nothing").wants(422, "Give the first day of at least one phase")
	m.post("/food/plan", "preparation", "2026-05-01", "conditioning", "2026-04-01").wants(422, "put the days in order")
	m.post("/food/plan", "conditioning", "2026-05-01", "moult", "2026-04-01").wants(422, "does not come after the breeding food")
	m.post("/food/plan", "conditioning", "2026-05-01", "rest", "2028-04-01").wants(422, "a plan is for one season")
	m.post("/food/plan", "conditioning", "2026-05-01", "banks", "Cellar").wants(422, "no bank called", "Cellar")
	m.post("/food/plan", "conditioning", "2026-05-01", "species", "dodo").wants(422)
	m.post("/food/plan", "conditioning", "soon").wants(422, "is not a date")
	if n := len(m.entries("feed_planned")); n != 1 {
		t.Fatalf("%d plans, want the one that was there", n)
	}
	old := m.entries("feed_planned")[0]
	m.get("/food/plan?plan="+old.ID.String()).wants(200, `value="2026-01-01"`)
	m.get("/food/plan?next=yes&plan="+old.ID.String()).wants(200, `value="2027-01-01"`, `value="2026-12-10"`)
	m.get("/food/plan?plan="+newID().String()).wants(404, "no such feed plan")
	m.post("/food/plan", "name", "One cage", "places", a1.String(), "banks", "Left", "species", "zebra", "conditioning", "2026-01-10", "rest", "2026-08-01").wants(303)
	b := m.entries("feed_planned")[1].Body.(*aviary.FeedPlanned)
	if b.Name != "One cage" || len(b.Places) != 1 || b.Banks[0] != "Left" || b.Species[0] != "zebra" || b.Rest != aviary.MustDate("2026-08-01") {
		t.Errorf("written: %+v", b)
	}
	m.get("/food").wants(200, "One cage", "A1; Left; Zebra finch")
}

func TestStores_CountedAndRefused(t *testing.T) {
	entries, _, _, _, _ := feedRoom()
	m := newRoom(t, entries...)
	m.get("/food/stores").wants(200, "No store is counted yet").sound()
	m.post("/food/stores", "grams", "100").wants(422, "Say which food")
	m.post("/food/stores", "food", "White millet").wants(422, "Write how much is there")
	m.post("/food/stores", "food", "White millet", "grams", "many").wants(422, "is not a number")
	m.post("/food/stores", "food", "White millet", "grams", "-1").wants(422, "outside 0 to")
	m.post("/food/stores", "food", "White millet", "grams", "100", "order_days", "400").wants(422, "more than 365")
	if n := len(m.entries("store_counted")); n != 0 {
		t.Fatalf("%d entries were written by refused forms", n)
	}
	m.post("/food/stores", "food", "white millet", "grams", "200", "order_days", "3", "price_per_kg", "2,40").wants(303)
	b := m.entries("store_counted")[0].Body.(*aviary.StoreCounted)
	if b.Food != "white-millet" || b.Grams != 200 || *b.OrderDays != 3 || *b.Price != 2.4 {
		t.Errorf("written: %+v", b)
	}
	m.get("/food/stores").wants(200, "White millet", "200 g on 13 Jan", "2.4 a kg", "a week at today").sound()
	m.get("/morning").wants(200, "Runs out", "White millet")
	m.post("/food/stores", "food", "Seed for sprouting", "grams", "5000").wants(303)
	m.get("/food/stores").wants(200, "Seed for sprouting", "over 12 weeks")
}

// A helper gives, notes and counts; planning is the keeper's.
func TestFood_Roles(t *testing.T) {
	entries, a1, _, _, _ := feedRoom()
	m := roomWith(t, Config{LAN: true}, entries...)
	m.logIn("Tom", helperPhrase)
	m.post("/morning/given", "all", "yes").wants(303)
	m.post("/morning/ate", "places", a1.String(), "share", "1").wants(303)
	m.post("/food/stores", "food", "panicum", "grams", "900").wants(303)
	m.post("/food/begun", "phase", "conditioning", "places", a1.String()).wants(303)
	m.get("/food").wants(200).lacks("Plan a group")
	m.get("/food/plan").wants(403)
	m.post("/food/plan", "conditioning", "2026-05-01").wants(403)
}

// Thin and fat birds are listed with what they are judged against; a hen about to lay is never called fat.
func TestFood_Weights(t *testing.T) {
	entries, a1, _, _, hen := feedRoom()
	weigh := func(bird aviary.ID, days ...any) {
		for i := 0; i < len(days); i += 2 {
			entries = append(entries, &aviary.Entry{ID: newID(), Day: aviary.MustDate(days[i].(string)), Body: &aviary.BirdWeighed{Bird: bird, Grams: days[i+1].(float64)}})
		}
	}
	cock := entries[2].Body.(*aviary.BirdAcquired).Bird
	weigh(cock, "2025-10-10", 12.0, "2025-10-20", 12.2, "2025-11-01", 12.0, "2026-01-12", 10.5)
	weigh(hen, "2025-10-10", 12.0, "2025-10-20", 12.2, "2025-11-01", 12.0, "2026-01-12", 14.5)
	m := newRoom(t, entries...)
	m.get("/food").wants(200, "Thin or fat birds", "2 weighed, 4 never", "10.5 g on 12 Jan", "-12 in 100 of its own 12 g", "A tenth of its own weight is lost", "14.5 g on 12 Jan", "Much above its own weight")
	eggs := 1
	entries = append(entries, &aviary.Entry{ID: newID(), Day: aviary.MustDate("2026-01-12"), Body: &aviary.NestCheck{Place: a1, Look: "changed", Eggs: &eggs}})
	newRoom(t, entries...).get("/food").wants(200, "10.5 g on 12 Jan").lacks("14.5 g on 12 Jan", "Much above")
}
