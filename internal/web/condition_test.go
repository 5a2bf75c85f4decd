package web

import (
	"net/http"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// Ids of the room of the tests of condition.
var rB1, rB2 = rid(921), rid(922)

// readyRoom is the round's room with a second bank: B1 has a pair on sprouted seed since 20 Dec 2025 with a box, B2 the same
// without one.
func readyRoom(t *testing.T, cfg Config, more ...*aviary.Entry) *testRoom {
	t.Helper()
	var list []*aviary.Entry
	add := func(day string, b aviary.Body) { list = append(list, on(day, b)) }
	add("2025-09-01", &aviary.FeedPlanned{Preparation: aviary.MustDate("2025-11-20"), Conditioning: aviary.MustDate("2025-12-20"), Banks: []string{"Bay 2"}})
	for i, place := range []aviary.ID{rB1, rB2} {
		cock, hen := rid(2400+i), rid(2500+i)
		add("2025-09-01", &aviary.PlaceAdded{Place: place, Name: []string{"B1", "B2"}[i], Type: aviary.Cage, Bank: "Bay 2", Row: 1, Col: i + 1})
		add("2025-09-02", &aviary.BirdAcquired{Bird: cock, Species: "zebra", Sex: aviary.Cock, Hatched: aviary.MustDate("2024-03-01"), Place: place})
		add("2025-09-02", &aviary.BirdAcquired{Bird: hen, Species: "zebra", Sex: aviary.Hen, Hatched: aviary.MustDate("2024-03-01"), Place: place})
		add("2025-12-20", &aviary.PairSet{Pair: rid(2600 + i), Place: place, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}})
		add("2025-12-20", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{place}})
	}
	add("2025-12-20", &aviary.BoxHung{Box: rid(2700), Place: rB1})
	return roundRoom(t, cfg, append(list, more...)...)
}

func TestCondition_BlockTellsThePair(t *testing.T) {
	m := readyRoom(t, Config{}, on("2026-01-02", &aviary.NestCheck{Place: rB1, Signs: []string{"singing"}}))
	a := m.get(cageOf(rB1)).wants(http.StatusOK, "Coming into condition", "Week 4 of sprouted seed, and signs do not suffice yet. It stays in its phase.", "<b>Singing</b> 2 Jan", "Full light", "Sprouted seed", "week 4, since 20 Dec",
		"first-time Zebra finch pairs: by the books neither bird had a clutch before", "cock 22 months, hen 22 months", "What this rests on", "Rests on 6 waits of this room", "5 ended with an egg; 1 was cut short or still goes on", "What would change it", `name="signs" value="building"`, `class="pic wait"`).sound()
	if n := strings.Count(a.Body.String(), `name="signs" value=`); n < len(aviary.Signs) {
		t.Errorf("%d sign buttons, want %d", n, len(aviary.Signs))
	}
	m.get(cageOf(rA1)).wants(http.StatusOK).lacks(`id="condition"`) // eggs
	m.get(cageOf(rA7)).wants(http.StatusOK).lacks(`id="condition"`) // nobody
	m.get(cageOf(rA6)).wants(http.StatusOK, `id="condition"`, "nothing noted").sound()
}

func TestCondition_SignToMaterialToBuilding(t *testing.T) {
	m := readyRoom(t, Config{})
	m.get("/round").wants(http.StatusOK).lacks("Give nest material")
	send := fields(t, m.get(cageOf(rB1)).Body.String(), cageOf(rB1)+"/signs")
	m.post(cageOf(rB1)+"/signs", with(send, "signs", "sleeping")...).wants(422, "is not one of").sound()
	m.post(cageOf(rB1)+"/signs", send...).wants(422, "Say which sign was seen").sound()
	if got := signsAt(m, rB1); got != "" {
		t.Fatalf("a refused sign was written: %q", got)
	}
	m.post(cageOf(rB1)+"/signs", with(send, "signs", "at the nest")...).wants(http.StatusSeeOther)
	m.post(cageOf(rB1)+"/signs", with(send, "signs", "at the nest")...).wants(http.StatusSeeOther) // a double tap
	if got := signsAt(m, rB1); got != "at the nest" {
		t.Fatalf("signs at B1: %q", got)
	}
	m.get(cageOf(rB1)).wants(http.StatusOK, "In condition", "At the nest</b> 13 Jan", "noted today", "Give nest material").sound()
	m.get("/condition").wants(http.StatusOK, "1 of 3 pairs is ready for nest material.", "Nest material due").sound()
	card := m.get("/round").card("Give nest material")
	if !strings.Contains(card, "B1") || strings.Contains(card, "No nest") {
		t.Fatalf("the card says %s", card)
	}
	given := fields(t, card, cageOf(rB1)+"/material")
	a := m.post(cageOf(rB1)+"/material", with(given, "what", "coconut fibre")...).wants(http.StatusSeeOther)
	if !strings.HasPrefix(a.to(), "/round?from=") {
		t.Errorf("the round goes on at %s", a.to())
	}
	m.post(cageOf(rB1)+"/material", with(given, "what", "coconut fibre")...).wants(http.StatusSeeOther)
	if n := len(m.entries("material_given")); n != 1 {
		t.Errorf("material is written %d times", n)
	}
	m.get("/round").wants(http.StatusOK, "Nest material given: coconut fibre").lacks("<h2>Give nest material")
	m.get(cageOf(rB1)).wants(http.StatusOK, "In condition, with nest material since 13 Jan.")
	m.post(cageOf(rB1)+"/signs", "signs", "building").wants(http.StatusSeeOther)
	m.get(cageOf(rB1)).wants(http.StatusOK, "B1: building, no egg yet.", "Building since 13 Jan.")
}

func signsAt(m *testRoom, place aviary.ID) string {
	var out []string
	m.book.View(func(r *aviary.Room) {
		for _, s := range r.Place(place).Signs {
			out = append(out, s.What)
		}
	})
	return strings.Join(out, ", ")
}

func TestCondition_BoxIsHungFromItsCard(t *testing.T) {
	m := readyRoom(t, Config{LAN: true})
	m.logIn("Tom", helperPhrase)
	m.get("/round").wants(http.StatusOK, "Hang the nest box", "Hanging a box is the keeper's")
	m.post(cageOf(rB2)+"/box", "act", "hang").wants(http.StatusForbidden)
	m.post(cageOf(rB2)+"/signs", "signs", "singing").wants(http.StatusSeeOther) // a helper may note what he sees
	m.logIn("Nora", keeperPhrase)
	card := m.get("/round").card("Hang the nest box")
	hang := fields(t, card, cageOf(rB2)+"/box")
	m.post(cageOf(rB2)+"/box", hang...).wants(http.StatusSeeOther)
	m.post(cageOf(rB2)+"/box", hang...).wants(http.StatusSeeOther)
	m.book.View(func(r *aviary.Room) {
		if n := len(r.Place(rB2).BoxesHung()); n != 1 {
			t.Errorf("%d boxes hang at B2, want 1", n)
		}
	})
	m.get("/round").wants(http.StatusOK).lacks("<h2>Hang the nest box")
}

func TestCondition_IllHenFirstWithTheVet(t *testing.T) {
	m := readyRoom(t, Config{})
	m.post("/settings/phones", "vet", "555 0101").wants(http.StatusSeeOther)
	m.post(cageOf(rB1)+"/odd", "what", "hen straining").wants(http.StatusSeeOther)
	body := m.get("/round").wants(http.StatusOK, "At once", "tel:555%200101").sound().Body.String()
	ill := strings.Index(body, "Hen straining: see to her now")
	if other := strings.Index(body, "Look for chicks"); ill < 0 || other < ill {
		t.Errorf("the ill hen stands at %d, another job at %d", ill, other)
	}
	card := m.get("/round").card("Hen straining: see to her now")
	for _, word := range []string{"ask an avian vet at once", "Give no medicine"} {
		if !strings.Contains(card, word) {
			t.Errorf("the card does not say %q", word)
		}
	}
	for _, word := range []string{"Put it off", "Mark it done"} {
		if strings.Contains(card, word) {
			t.Errorf("the card offers %q", word)
		}
	}
	m.get(cageOf(rB1)).wants(http.StatusOK, "ask an avian vet at once").sound()
	m.get("/condition").wants(http.StatusOK, "A hen looks ill: see to her now").sound()
	m.get("/wall").wants(http.StatusOK, "hen ill")
}

func TestCondition_ListIsSorted(t *testing.T) {
	m := readyRoom(t, Config{}, on("2026-01-12", &aviary.NestCheck{Place: rB2, Signs: []string{"singing", "beak dark"}}))
	m.get("/condition").wants(http.StatusOK, "1 of 3 pairs is ready for nest material.", "1 pair waits for a nest box first.", "Nest box due", `aria-sort="ascending"><a href="/condition?sort=stage&amp;desc=yes"`).sound()
	at := func(path, first, then string) {
		t.Helper()
		body := m.get(path).wants(http.StatusOK).sound().Body.String()
		body = body[strings.Index(body, "<tbody>"):]
		if i, j := strings.Index(body, first), strings.Index(body, then); i < 0 || j < i {
			t.Errorf("%s: %s at %d, %s at %d", path, first, i, then, j)
		}
	}
	plate := func(place aviary.ID) string { return cageOf(place) + "#condition" }
	at("/condition", plate(rB2), plate(rB1))
	at("/condition?sort=cage", plate(rA6), plate(rB1))
	at("/condition?sort=cage&desc=yes", plate(rB1), plate(rA6))
	at("/condition?sort=nonsense", plate(rB2), plate(rB1))
	for _, c := range conditionSorts {
		m.get("/condition?sort=" + c.name).wants(http.StatusOK).sound()
	}
	newRoom(t).get("/condition").wants(http.StatusOK, "No pair is set up yet.", "Set up a pair").sound()
}

func TestBird_WeightIsJudgedAgainstItself(t *testing.T) {
	hen := rid(2500)
	m := readyRoom(t, Config{},
		on("2025-10-01", &aviary.BirdWeighed{Bird: hen, Grams: 13}), on("2025-11-01", &aviary.BirdWeighed{Bird: hen, Grams: 13}), on("2025-12-01", &aviary.BirdWeighed{Bird: hen, Grams: 13}),
		on("2026-01-12", &aviary.BirdWeighed{Bird: hen, Grams: 11.4}))
	m.get("/bird/"+hen.String()).wants(http.StatusOK, "Thin: 11.4 g on 12 Jan, 12 in 100 below its own weight of 13 g", "A tenth of its own weight is lost or more", "ask an avian vet", "Means of studies, not limits").sound()
	m.post("/bird/"+hen.String()+"/weigh", "grams", "15.2").wants(http.StatusSeeOther)
	m.get("/bird/"+hen.String()).wants(http.StatusOK, "Fat: 15.2 g on 13 Jan")
	m.post(cageOf(rB1)+"/signs", "signs", "building").wants(http.StatusSeeOther)
	m.get("/bird/"+hen.String()).wants(http.StatusOK, "Fine: 15.2 g on 13 Jan", "she is not called fat").lacks("Fat:")
	m.get("/bird/"+rid(2400).String()).wants(http.StatusOK, "Not weighed yet")
}
