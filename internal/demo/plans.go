package demo

import "broodlight/internal/aviary"

// Days of the feeding of a season, from its middle. Common practice, no source.
const (
	preparationOn  = pairFrom - 35
	conditioningOn = pairFrom - 21 // sprouted seed for three weeks before the first pairs are put up
	moultOn        = partBy + 10
	restOn         = partBy + 65
	lateBy         = 14 // the tropical species are begun later
)

// plans writes what the keeper planned for each season, and what the plans hang on: phases begun, appetite, stores,
// germination.
func (w *world) plans() {
	for n := 1; n <= seasons; n++ {
		off := (n - seasons) * yearDays
		day := max(off+rampFrom-7, firstDay)
		w.keep(day, deskTime+10, &aviary.LampPlanned{
			Rest: float64(restOff-lampsOn) / 60, Full: float64(fullOff-lampsOn) / 60,
			RampFrom: w.date(off + rampFrom), FullBy: w.date(off + rampFrom + lampSteps*7 - 7),
			TaperFrom: w.date(off + taperFrom), RestBy: w.date(off + taperFrom + lampSteps*7 - 7),
			On: clock(lampsOn), Step: lampStep, Every: 7, Moves: "evening", Dusk: new(30), Clocks: "wall", Windows: "none",
		})
		group := func(name string, later int, slugs ...string) {
			w.keep(day, deskTime+12, &aviary.FeedPlanned{
				Name: name, Species: slugs, Preparation: w.date(off + preparationOn + later), Conditioning: w.date(off + conditioningOn + later),
				Moult: w.date(off + moultOn), Rest: w.date(off + restOn),
			})
		}
		group("Zebras and Bengalese", 0, "zebra", "bengalese", "star", "cordon-bleu")
		group("Gouldians, blue-faced", lateBy, "gouldian", "blue-faced")
		w.keep(off+conditioningOn, feeding, &aviary.PhaseBegun{Phase: "conditioning"})
	}
	for _, p := range w.pairs {
		w.keep(p.from, p.at.minute+2, &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{p.at.id}})
	}
	w.appetite("A7", -1, 0.75, "more husk than seed in the dish")
	w.appetite("B5", -2, 0.6, "dish still half full in the evening")
	w.stores()
}

func (w *world) appetite(cage string, day int, share float64, text string) {
	at := w.cage(cage)
	w.keep(day, at.minute+40, &aviary.IntakeSeen{Places: []aviary.ID{at.id}, Share: share, Text: text})
}

// stores are what lies in the feed room, and whether its seed sprouts.
func (w *world) stores() {
	for _, s := range []struct {
		food         string
		grams, price float64
		order        int
	}{{"white-millet", 9000, 2.4, 6}, {"chitted-seed", 7500, 3.1, 6}, {"egg-food", 2500, 7.8, 4}, {"cuttlebone", 800, 14, 4}} {
		w.keep(-9, deskTime+20, &aviary.StoreCounted{Food: s.food, Grams: s.grams, OrderDays: &s.order, Price: &s.price})
	}
	w.keep(-118, deskTime+22, &aviary.GerminationTested{Food: "millet, old bag", Seeds: 50, Sprouted: 33})
	w.keep(-115, deskTime+22, &aviary.GerminationTested{Food: "millet, new bag", Seeds: 100, Sprouted: 93})
	w.keep(-20, deskTime+22, &aviary.GerminationTested{Food: "millet, new bag", Seeds: 100, Sprouted: 91})
	w.keep(conditioningOn-2, deskTime+25, &aviary.SproutsPlanned{ServeAt: clock(7 * 60), Celsius: 21, Every: 1, WakeFrom: clock(6 * 60), WakeTo: clock(22 * 60)})
}
