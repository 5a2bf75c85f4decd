//go:build browser

package browser_test

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// TestMorning_SetGivenUndone takes a morning as it is meant to go: set the lamp, give a bank, take it back, give all, say who ate less.
func TestMorning_SetGivenUndone(t *testing.T) {
	t.Parallel()
	w := &wall{}
	w.furnish()
	w.on(190, 8, &aviary.LampPlanned{
		Rest: 10, Full: 14, RampFrom: demoDay - 180, FullBy: demoDay - 110, TaperFrom: demoDay, RestBy: demoDay + 70,
		On: aviary.ClockOf(6, 0), Step: 30, Every: 7, Moves: "evening", Clocks: "wall", Windows: "none",
	})
	w.on(60, 8, &aviary.FeedPlanned{Name: "Zebras", Species: []string{"zebra"}, Preparation: demoDay - 50, Conditioning: demoDay - 30, Moult: demoDay + 150})
	w.on(4, 9, &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{w.b2}})
	w.on(2, 9, &aviary.StoreCounted{Food: "white-millet", Grams: 400, OrderDays: new(4)})
	w.site = serve(t, web.Config{}, w.entries...)

	p := w.open(phone, "/round")
	p.find("link", "This morning: 1 lamp to set, …").follow()
	p.says("1 lamp to set", "6 places to feed", "Set the lamps to 06:00–19:30 today", "Runs out", "White millet")
	p.shot("journey-morning-1", false)

	p.find("button", "Set…").follow()
	p.says("Lamps set: 06:00–19:30", "This morning: 6 places to feed")
	if b := last[*aviary.LampSet](w.site, 2); b.Off != aviary.ClockOf(19, 30) {
		t.Errorf("written is %+v", b)
	}

	p.find("button", "Left given").follow()
	p.says("Left fed: 4 places", "This morning: 2 places to feed", "4 of 6 places are fed")
	given := len(w.standing("food_given"))
	if given == 0 {
		t.Fatal("nothing is written as given")
	}
	p.shot("journey-morning-2", false)

	p.in(".undo").follow("button", "Undo")
	p.says("This morning: 6 places to feed")
	if got := len(w.standing("food_given")); got != 0 {
		t.Errorf("after Undo %d entries stand", got)
	}

	p.find("button", "All given").follow()
	p.says("This morning’s work is done", "All given.")

	p.tap("DisclosureTriangle", "Write how much was eaten")
	p.find("checkbox", "B1").tap()
	p.find("button", "Much less").follow()
	p.says("much less, about 4 in 10 of the usual", "Look at today", "crops and at both parents today")
	if b := last[*aviary.IntakeSeen](w.site, 1); len(b.Places) != 1 || b.Places[0] != w.b1 {
		t.Errorf("written is %+v", b)
	}

	// without scripts it goes the same way
	q := w.open(desk, "/morning", noScript)
	if got := q.headline(); !strings.Contains(got, "done") {
		t.Errorf("without scripts the headline says %q", got)
	}
}
