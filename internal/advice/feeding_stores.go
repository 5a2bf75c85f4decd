package advice

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// StoreState is what is left of a food, and when it runs out at the use that the phases ask for.
type StoreState struct {
	Name  string       // as people say it
	Food  string       // as it was counted: id or name
	Kind  string       // of food: seed, sprouts (dry seed for sprouting), egg food, live, mineral; "" when the name tells nothing
	Count aviary.Store // the last count
	Run   feed.RunOut
	Today float64 // g that today's phases take of it
	Known bool    // the use is known, so Run holds
	Old   bool    // counted too long ago to say anything of today
	Why   string  // what the use rests on, or why there is none
	Notes []feed.Note
}

// OrderBy is the day by which to order; zero when it does not run out within the weeks looked at.
func (s StoreState) OrderBy() aviary.Date { return FeedDay(s.Run.OrderBy) }

// Last is the last day for which it is enough; zero when it does not run out within the weeks looked at.
func (s StoreState) Last() aviary.Date {
	if !s.Run.Out {
		return 0
	}
	return FeedDay(s.Run.Last)
}

// Pressing reports whether it is to be ordered, or counted, within some days from today.
func (s StoreState) Pressing(today aviary.Date, days int) bool {
	return s.Known && s.Run.Out && min(s.OrderBy(), s.Last()) <= today+aviary.Date(days)
}

const (
	// storeDays is how far ahead a store is looked at, in days: nests that are there now say nothing of what comes later.
	storeDays = 84
	// storeStep is the days between two looks at what the phases ask for.
	storeStep = 7
	// storeOld is the age of a count after which nothing follows from it, in days.
	storeOld = 180
)

// usage is what the phases ask for in a day: dry seed and egg food in g, sprouted seed in ml.
type usage struct{ seed, sprouts, egg float64 }

// allFed returns what every place with birds is fed, in walking order.
func (d *Desk) allFed() []*Feeding {
	if d.fedAll == nil {
		d.fedAll = []*Feeding{}
		for _, p := range d.Room.Places() {
			if f := d.Feeding(p); f != nil {
				d.fedAll = append(d.fedAll, f)
			}
		}
	}
	return d.fedAll
}

// usageOn is what all places ask for on a day by what is known today: the plan, the pairs' nests and their likely days. Each day is
// worked out once.
func (d *Desk) usageOn(day aviary.Date) usage {
	u, ok := d.usages[day]
	if ok {
		return u
	}
	t := feedData()
	unit := d.Room.Settings(d.Today).Volume
	for _, f := range d.allFed() {
		items := f.Items
		if day != d.Today {
			x := d.rationAt(f.Place)
			b := f.Birds
			b.Chicks, b.ChickAge = x.broodOn(day, d.Today)
			items = scooped(b.Portions(d.on(x, day).Phase, f.Guard, t.larder), f.Guard, b.Chicks > 0, unit)
		}
		for _, it := range items {
			switch it.Kind {
			case feed.DrySeed:
				u.seed += it.Grams
			case feed.SproutedSeed:
				u.sprouts += it.ML
			case feed.SoftEggFood:
				u.egg += it.Grams
			}
		}
	}
	d.usages[day] = u
	return u
}

// broodOn is how many young the nests of a place have on a day, and their mean age in days. Eggs that may hatch count as chicks
// from their likely hatch on.
func (x *ration) broodOn(day, today aviary.Date) (chicks int, age float64) {
	for _, n := range x.nests {
		k := x.feed[n]
		on := feedDay(day)
		if k.Hatched == 0 || k.Hatched > on || (k.Ended != 0 && k.Ended <= on) {
			continue
		}
		young := n.young()
		if k.Hatched > feedDay(today) {
			young = n.Eggs.Full + n.Eggs.NotCandled
		}
		chicks += young
		age += float64(young) * float64(on-k.Hatched)
	}
	if chicks == 0 {
		return 0, 0
	}
	return chicks, age / float64(chicks)
}

// Stores returns the foods that were counted, the first to run out first.
func (d *Desk) Stores() []StoreState {
	if d.stores != nil {
		return d.stores
	}
	w := d.Room.Whole()
	byFood := map[string]int{}
	out := []StoreState{}
	for _, s := range w.Stores {
		if s.Day > d.Today {
			continue
		}
		st := storeState(s)
		key := strings.ToLower(st.Name)
		if i, ok := byFood[key]; ok {
			if s.OrderDays == nil {
				st.Count.OrderDays = out[i].Count.OrderDays
			}
			if s.Price == nil {
				st.Count.Price = out[i].Count.Price
			}
			out[i] = st
			continue
		}
		byFood[key] = len(out)
		out = append(out, st)
	}
	d.stores = out
	if len(out) == 0 {
		return out
	}
	d.runOut(out)
	slices.SortStableFunc(out, func(a, b StoreState) int {
		rank := func(s StoreState) aviary.Date {
			if day := s.Last(); s.Known && day != 0 {
				return day
			}
			return forever
		}
		return cmp.Compare(rank(a), rank(b))
	})
	return out
}

// chitted is the food that is stored dry, for sprouting.
const chitted = "chitted-seed"

// storeState names a count and tells what sort of food it is.
func storeState(s aviary.Store) StoreState {
	out := StoreState{Name: capital(strings.TrimSpace(s.Food)), Food: s.Food, Count: s}
	if f, ok := feed.FindFood(feedData().foods, strings.TrimSpace(s.Food)); ok {
		out.Name, out.Kind = f.Name, f.Kind
	} else {
		out.Kind = kindByName(s.Food)
	}
	if s.Food == chitted {
		out.Name = "Seed for sprouting"
	}
	return out
}

// kindByName tells the sort of a food by the words of its name.
func kindByName(name string) string {
	name = strings.ToLower(name)
	for _, k := range []struct {
		kind  string
		words []string
	}{
		{feed.KindSprouts, []string{"sprout", "chit", "germinat"}},
		{feed.KindMineral, []string{"grit", "cuttle", "shell", "calcium"}},
		{feed.KindEggFood, []string{"egg"}},
		{feed.KindLive, []string{"worm", "live", "insect"}},
		{feed.KindSeed, []string{"seed", "millet", "panicum", "canary", "niger", "mix"}},
	} {
		if slices.ContainsFunc(k.words, func(w string) bool { return strings.Contains(name, w) }) {
			return k.kind
		}
	}
	return ""
}

// runOut works out when each store runs out.
func (d *Desk) runOut(stores []StoreState) {
	var dry *float64
	for _, s := range slices.Backward(d.Room.Whole().Sprouts) {
		if s.Day <= d.Today && !s.Stop {
			dry = s.DryML
			break
		}
	}
	per := 0.0
	if dry != nil {
		per = *dry
	}
	_, perML := feed.DrySeedFor(1, per)
	use := func(day aviary.Date) usage {
		weeks := math.Floor(float64(day-d.Today) / storeStep)
		u := d.usageOn(d.Today + aviary.Date(weeks*storeStep))
		u.sprouts *= perML // from here on the dry seed for it
		return u
	}
	// Stores of one sort share their use by weight, so that they run out together.
	total := map[string]float64{}
	for i := range stores {
		s := &stores[i]
		s.Old = s.Count.Day < d.Today-storeOld
		if !s.Old {
			total[s.Kind] += s.Count.Grams
		}
	}
	for i := range stores {
		s := &stores[i]
		share := 1.0
		if total[s.Kind] > 0 {
			share = s.Count.Grams / total[s.Kind]
		}
		of := func(u usage) float64 {
			switch s.Kind {
			case feed.KindSeed:
				if total[feed.KindSprouts] > 0 {
					return share * u.seed
				}
				return share * (u.seed + u.sprouts)
			case feed.KindSprouts:
				return share * u.sprouts
			}
			return share * u.egg
		}
		switch {
		case s.Old:
			s.Why = fmt.Sprintf("Counted on %s, too long ago. Count it again.", s.Count.Day.Long())
			continue
		case s.Kind != feed.KindSeed && s.Kind != feed.KindSprouts && s.Kind != feed.KindEggFood:
			s.Why = "What is given of it is not counted out here, so when it runs out is not known. Look at the bag."
			continue
		}
		s.Known, s.Today = true, of(use(d.Today))
		s.Why = "By today's portions, the plan, and the nests there are now with their likely days; clutches to come are not counted."
		if share < 1 {
			s.Why += fmt.Sprintf(" The stores of this sort are used side by side, %.0f in 100 of it from this one.", 100*share)
		}
		order := 0
		if s.Count.OrderDays != nil {
			order = *s.Count.OrderDays
		}
		store := feed.Store{Name: s.Name, Grams: s.Count.Grams, Counted: feedDay(s.Count.Day), OrderDays: order}
		s.Run = store.RunsOut(feedDay(d.Today), storeDays, func(day feed.Day) float64 { return of(use(FeedDay(day))) })
		s.Notes = s.Run.Notes
	}
}
