package advice

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
	"broodlight/internal/species"
)

// RationAsk is a ration that a keeper asks about: who eats, in which phase, and what they are given.
type RationAsk struct {
	Species        string // slug; "" takes the one of which most birds are here
	Phase          string // as feed.Phase writes it; "" is rest
	Adults, Chicks int
	Age            float64            // of the chicks, days
	Grams          float64            // of one adult; 0 takes the species' own
	ML             map[string]float64 // of foods by id, as given in a day; nil takes the portion of the program
	Free           []string           // ids of foods that are out at all times
}

// RationAnswer is a ration held against the need of its birds.
type RationAnswer struct {
	Species  *species.Profile
	Phase    feed.Phase
	Birds    feed.Birds
	MassWhy  string // what the mass of an adult rests on
	Given    []RationFood
	Own      bool // the amounts are the keeper's
	Analysis feed.Analysis
	Phases   []RationPhase // the program's portion of every phase, in the order of a season
	Days     []RationDay   // the nest's need by the chicks' age, from the hatch until they feed themselves
	// PeakFrom and PeakTo are the first and last day of the greatest need of the chicks that are fed by their parents.
	PeakFrom, PeakTo int
	Guard            feed.Guard
}

// RationFood is a food of the program and how much of it is in the ration.
type RationFood struct {
	feed.Food
	ML, Grams float64
	Free      bool
}

// RationPhase is what the program's portion of a phase offers.
type RationPhase struct {
	Phase    feed.Phase
	Chicks   int // counted in this phase
	Age      float64
	Items    []feed.Item
	Analysis feed.Analysis
}

// Line returns a figure of an analysis by its name; one that is not there is not known.
func (p RationPhase) Line(name string) feed.Line { return rationLine(p.Analysis, name) }

// Line returns a figure of the ration by its name.
func (a *RationAnswer) Line(name string) feed.Line { return rationLine(a.Analysis, name) }

func rationLine(a feed.Analysis, name string) feed.Line {
	for _, l := range a.Lines {
		if l.Name == name {
			return l
		}
	}
	return feed.Line{Name: name, Verdict: feed.Unknown}
}

// RationDay is what a nest needs on a day, kJ.
type RationDay struct {
	Age           int
	Adults, Young float64
}

// Bounds of what can be asked.
const (
	mostAdults, mostChicks = 1000, 1000
	oldestChick            = 120 // days
	leastGrams, mostGrams  = 3, 200
	mostML                 = 20000
	// usualChicks and usualAge stand in where the phases of a season are compared and no chicks are given: a brood at its greediest.
	// Common practice, no source.
	usualChicks, usualAge = 4, 12
)

// RationFoods are the foods of the program.
func RationFoods() []feed.Food { return feed.Foods() }

// FeedPhases are the phases of a season, in its order.
func FeedPhases() []feed.Phase { return feed.Phases() }

// FeedCautions are the cautions on feeding with these keys, in the order in which they are read; without keys all of them.
func FeedCautions(keys ...string) []feed.Caution {
	var out []feed.Caution
	for _, c := range feed.Cautions() {
		if len(keys) == 0 || slices.Contains(keys, c.Key) {
			out = append(out, c)
		}
	}
	return out
}

// KeptSpecies are the species of which birds are here, those with most birds first.
func (d *Desk) KeptSpecies() []*species.Profile {
	n := map[string]int{}
	for _, p := range d.Room.Places() {
		for _, b := range d.Room.In(p.ID) {
			n[b.Species]++
		}
		for _, g := range d.groupsIn(p.ID) {
			n[g.Species] += g.Count
		}
	}
	var out []*species.Profile
	for slug := range n {
		if p := d.Cat.BySlug(slug); p != nil {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b *species.Profile) int {
		return cmp.Or(cmp.Compare(n[b.Slug], n[a.Slug]), cmp.Compare(a.English, b.English))
	})
	return out
}

// Ration holds a ration against the need of its birds. An ask that cannot be answered is an *aviary.Error whose field is species,
// phase, adults, chicks, age, grams, or the id of a food.
func (d *Desk) Ration(ask RationAsk) (*RationAnswer, error) {
	a := &RationAnswer{}
	if err := d.rationBirds(a, ask); err != nil {
		return nil, err
	}
	t := feedData()
	a.Guard = feed.FindGuard(t.guards, a.Species.Slug)
	a.Own = ask.ML != nil
	ml, free := ask.ML, ask.Free
	if !a.Own {
		ml, free = map[string]float64{}, nil
		for _, it := range d.portions(a, a.Phase, a.Birds) {
			id, out := itemFood(it.Kind)
			if id != "" {
				ml[id] += it.ML
			}
			if out {
				free = append(free, freeFoods...)
			}
		}
	}
	for id, x := range ml {
		f, ok := feed.FindFood(t.foods, id)
		switch {
		case !ok:
			return nil, rationWrong(id, "There is no food called %q.", id)
		case !(x >= 0) || x > mostML:
			return nil, rationWrong(id, "%s: give an amount from 0 to %d ml.", f.Name, mostML)
		case x > 0 && !f.Teaspoon.Known:
			return nil, rationWrong(id, "%s: what a spoon of it weighs is not known. Tick it as out at all times.", f.Name)
		}
	}
	for _, id := range free {
		if _, ok := feed.FindFood(t.foods, id); !ok {
			return nil, rationWrong(id, "There is no food called %q.", id)
		}
	}
	var servings []feed.Serving
	for _, f := range t.foods {
		g := RationFood{Food: f, ML: ml[f.ID], Free: slices.Contains(free, f.ID)}
		g.Grams = g.ML / feed.Teaspoon * f.Teaspoon.Value
		a.Given = append(a.Given, g)
		if g.Free || g.ML > 0 {
			servings = append(servings, feed.Serving{Food: f, Grams: g.Grams, Free: g.Free})
		}
	}
	a.Analysis = feed.Analyse(a.Phase, a.Birds, servings)
	a.Phases = d.rationPhases(a, t.foods)
	a.days()
	return a, nil
}

func rationWrong(field, format string, args ...any) error {
	return &aviary.Error{Code: aviary.Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
}

// rationBirds fills in who eats.
func (d *Desk) rationBirds(a *RationAnswer, ask RationAsk) error {
	if ask.Species == "" {
		if kept := d.KeptSpecies(); len(kept) > 0 {
			a.Species = kept[0]
		} else {
			a.Species = d.Cat.All()[0]
		}
	} else if a.Species = d.Cat.BySlug(ask.Species); a.Species == nil {
		return rationWrong("species", "There is no species called %q; choose one from the list.", ask.Species)
	}
	if ask.Phase != "" {
		var err error
		if a.Phase, err = feed.ParsePhase(ask.Phase); err != nil {
			return rationWrong("phase", "%s", err)
		}
	}
	grams := ask.Grams
	a.MassWhy = "as you gave it"
	if grams == 0 {
		grams = typical(a.Species, species.AdultMass)
		a.MassWhy = "usual for the species"
	}
	switch {
	case grams == 0:
		return rationWrong("grams", "What an adult %s weighs is not known. Weigh one and give it here.", strings.ToLower(a.Species.English))
	case !(grams >= leastGrams) || grams > mostGrams:
		return rationWrong("grams", "An adult weighs %d to %d g.", leastGrams, mostGrams)
	case ask.Adults < 0 || ask.Adults > mostAdults:
		return rationWrong("adults", "Give the adults, from 0 to %d.", mostAdults)
	case ask.Chicks < 0 || ask.Chicks > mostChicks:
		return rationWrong("chicks", "Give the chicks, from 0 to %d.", mostChicks)
	case !(ask.Age >= 0) || ask.Age > oldestChick:
		return rationWrong("age", "Give the chicks' age in days, from 0 to %d.", oldestChick)
	case ask.Adults == 0 && ask.Chicks == 0:
		return rationWrong("adults", "Somebody must eat: give adults or chicks.")
	}
	a.Birds = feed.Birds{
		Adults: ask.Adults, MassGrams: grams, Chicks: ask.Chicks, ChickAge: ask.Age, Growth: growthOf(a.Species),
		EggGrams: typical(a.Species, species.FreshEggMass), EggDays: typical(a.Species, species.LayingInterval),
	}
	if ask.Chicks > 0 && !(a.Birds.Growth.FledgeDays > 0) {
		return rationWrong("chicks", "When chicks of this species leave the nest is not known, so their need cannot be worked out. Give the age under Settings, Species.")
	}
	a.Birds.Growth.AdultGrams = grams
	a.Birds.Growth.FledgeGrams = fledgeShare * grams
	return nil
}

// freeFoods are out at all times wherever the program makes a portion.
var freeFoods = []string{"cuttlebone", "oyster-shell"}

// itemFood is the food that stands for an item of a portion, and whether it is out at all times.
func itemFood(k feed.ItemKind) (id string, free bool) {
	switch k {
	case feed.DrySeed:
		return "white-millet", false
	case feed.SproutedSeed:
		return "chitted-seed", false
	case feed.SoftEggFood:
		return "egg-food", false
	case feed.Minerals:
		return "", true
	}
	return "", false
}

// portions are what the program gives these birds in a phase, in the steps of the morning's list.
func (d *Desk) portions(a *RationAnswer, p feed.Phase, b feed.Birds) []feed.Item {
	return scooped(b.Portions(p, a.Guard, feedData().larder), a.Guard, b.Chicks > 0, d.Room.Settings(d.Today).Volume)
}

// rationPhases analyses the program's portion of every phase for the same birds. Chicks are counted where there are some.
func (d *Desk) rationPhases(a *RationAnswer, foods []feed.Food) []RationPhase {
	var out []RationPhase
	for _, p := range feed.Phases() {
		b := a.Birds
		switch {
		case p != feed.Rearing && p != feed.Weaning:
			b.Chicks, b.ChickAge = 0, 0
		case b.Chicks == 0:
			b.Chicks, b.ChickAge = usualChicks, usualAge
		}
		if p == feed.Weaning {
			b.ChickAge = max(b.ChickAge, b.Growth.FledgeDays)
		}
		x := RationPhase{Phase: p, Chicks: b.Chicks, Age: b.ChickAge, Items: d.portions(a, p, b)}
		var servings []feed.Serving
		for _, it := range x.Items {
			id, free := itemFood(it.Kind)
			if f, ok := feed.FindFood(foods, id); ok && it.Grams > 0 {
				servings = append(servings, feed.Serving{Food: f, Grams: it.Grams})
			}
			if free {
				for _, id := range freeFoods {
					if f, ok := feed.FindFood(foods, id); ok {
						servings = append(servings, feed.Serving{Food: f, Free: true})
					}
				}
			}
		}
		x.Analysis = feed.Analyse(p, b, servings)
		out = append(out, x)
	}
	return out
}

// days fills in the nest's need by the chicks' age.
func (a *RationAnswer) days() {
	b := a.Birds
	if b.Chicks == 0 {
		b.Chicks = usualChicks
	}
	g := b.Growth
	if !(g.FledgeDays > 0) || !(g.FledgeGrams > 0) {
		return
	}
	a.PeakFrom, a.PeakTo = int(math.Ceil(g.PeakAge())), int(g.PeakUntil())
	last := int(math.Ceil(max(g.IndependentDays, g.FledgeDays)))
	for age := 0; age <= last; age++ {
		b.ChickAge = float64(age)
		n := b.Need(feed.Rearing)
		a.Days = append(a.Days, RationDay{Age: age, Adults: n.Adults, Young: n.Young})
	}
}

// DaysChicks is how many chicks the need by day is drawn for.
func (a *RationAnswer) DaysChicks() int {
	if a.Birds.Chicks == 0 {
		return usualChicks
	}
	return a.Birds.Chicks
}
