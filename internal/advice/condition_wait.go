package advice

import (
	"fmt"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/outcome"
)

// waitFrom names what a wait for the first egg is counted from.
type waitFrom int

const (
	fromSetUp  waitFrom = iota // the day on which pair and nest box were first together
	fromClutch                 // the end of the clutch before
)

// WaitLevel says whose waits an answer rests on.
type WaitLevel int

// From the closest to the loosest.
const (
	KindWaits     WaitLevel = iota // pairs of the species, first-time or not as this one
	SpeciesWaits                   // all pairs of the species
	RoomWaits                      // all pairs of the room
	PracticeWaits                  // what is common practice, because the room has too few
)

// leastLaid is how many first eggs a curve needs before it is shown: with fewer, its tenths hang on one pair.
const leastLaid = 5

// leastLeft is how many of them must have come after as long a wait as the pair's own.
const leastLeft = 3

// usualWait is how long it usually takes to the first egg, in days. Common practice, no source: pairs differ
// widely, and the room's own figures outrank it as soon as there are enough.
var usualWait = map[waitFrom]struct{ early, likely, late outcome.Days }{
	fromSetUp:  {6, 10, 21},
	fromClutch: {5, 9, 21},
}

// pastWait is how long a pair of the room waited for its first egg, or how long it had waited when watching ended.
type pastWait struct {
	pair  aviary.ID
	slug  string
	first bool
	from  waitFrom
	start aviary.Date
	spell outcome.Spell
}

// Wait is how long a pair has waited for its first egg, and how long it usually takes from here.
type Wait struct {
	From    waitFrom
	Start   aviary.Date
	Started bool // false while no box hangs: the days below then count from the day on which it will
	Waited  int  // days since Start

	Level             WaitLevel
	Kind              string // whose waits they are, in words
	Waits, Laid, Open int    // waits the answer rests on: all, those that ended with an egg, those that were cut short or go on
	As                int    // of them, those that lasted longer than Waited days

	// The days by which 1, 5 and 9 in 10 have laid, counted from Start, for a pair that has waited so long. LateKnown is false
	// when more than 1 in 10 had not laid by the end of watching.
	Early, Likely, Late                outcome.Days
	EarlyKnown, LikelyKnown, LateKnown bool
	Longer                             bool           // too few waited as long to tell, or it is longer than is usual
	Week                               outcome.Chance // that it lays within the next 7 days
}

// waits lists the waits of every pair that the books know from its start, up to today. A wait is cut short when the pair is
// parted, a bird of it is gone, its box is taken out, foreign eggs are put under it, or a moult or rest begins.
func (d *Desk) waits() []pastWait {
	if d.waited != nil {
		return d.waited
	}
	laid := d.firstClutches()
	d.waited = []pastWait{}
	for _, p := range d.Room.EveryPlace() {
		own := map[aviary.ID][]*aviary.Clutch{}
		for _, c := range p.Clutches {
			if pair := d.Room.LayingPair(c); pair != nil {
				own[pair.ID] = append(own[pair.ID], c)
			}
		}
		for _, pair := range d.Room.PairsAt(p.ID) {
			if pair.From <= d.Today {
				d.waited = append(d.waited, d.waitsOf(p, pair, own[pair.ID], laid)...)
			}
		}
	}
	return d.waited
}

// stretch is a run of days, both ends included.
type stretch struct{ from, to aviary.Date }

// boxed are the stretches of days on which a nest box hung beside a pair.
func (d *Desk) boxed(p *aviary.Place, from, to aviary.Date, nested bool) []stretch {
	if p.Type != aviary.Cage && len(p.Boxes) == 0 && nested {
		return []stretch{{from, to}} // an aviary with bushes: they nested without a box
	}
	var hung []stretch
	for _, b := range p.Boxes {
		s := stretch{max(b.Hung, from), to}
		if b.Taken != 0 {
			s.to = min(s.to, b.Taken-1)
		}
		if s.from <= s.to {
			hung = append(hung, s)
		}
	}
	slices.SortFunc(hung, func(a, b stretch) int { return int(a.from - b.from) })
	var out []stretch
	for _, s := range hung {
		if n := len(out); n > 0 && s.from <= out[n-1].to+1 {
			out[n-1].to = max(out[n-1].to, s.to)
		} else {
			out = append(out, s)
		}
	}
	return out
}

// together is the last day on which the birds of a pair were watched together.
func (d *Desk) together(p *aviary.Place, pair *aviary.Pair) aviary.Date {
	last := d.Today
	if pair.To != 0 {
		last = min(last, pair.To-1)
	}
	for _, b := range d.birds(pair.Birds()) {
		for _, gone := range []aviary.Date{b.Died, b.Left} {
			if gone != 0 && gone >= pair.From {
				last = min(last, gone-1)
			}
		}
		for _, s := range b.Stays {
			if s.Place == p.ID && s.From <= pair.From && s.To > pair.From {
				last = min(last, s.To-1)
			}
		}
	}
	return last
}

// rests are the days after a first one on which a moult or rest began at a place, as noted or as planned.
func (d *Desk) rests(p *aviary.Place, pair *aviary.Pair, last aviary.Date) []aviary.Date {
	var out []aviary.Date
	for _, m := range d.marksAt(p, pair.From, last) {
		if m.Phase == "moult" || m.Phase == "rest" {
			out = append(out, m.Day)
		}
	}
	slug := ""
	if s := d.speciesOf(pair); s != nil {
		slug = s.Slug
	}
	for _, plan := range d.feedPlansAt(p, slug) {
		for _, day := range []aviary.Date{plan.Moult, plan.Rest} {
			if day > pair.From && day <= last {
				out = append(out, day)
			}
		}
	}
	slices.Sort(out)
	return out
}

func (d *Desk) waitsOf(p *aviary.Place, pair *aviary.Pair, clutches []*aviary.Clutch, laid clutchDays) []pastWait {
	last := d.together(p, pair)
	stretches := d.boxed(p, pair.From, last, len(clutches) > 0)
	if len(stretches) == 0 {
		return nil
	}
	rests := d.rests(p, pair, last)
	slug := ""
	if s := d.speciesOf(pair); s != nil {
		slug = s.Slug
	}
	var out []pastWait
	// wait adds the wait that starts on a day, watched to the end of another, with the clutches that came after it.
	wait := func(from waitFrom, start, end aviary.Date, next []*aviary.Clutch) {
		w := pastWait{pair: pair.ID, slug: slug, from: from, start: start, first: true}
		for _, id := range pair.Birds() {
			if first, ok := laid[id]; ok && first < start {
				w.first = false
			}
		}
		for _, day := range rests {
			if day > start {
				end = min(end, day-1)
				break
			}
		}
		if len(next) > 0 && next[0].First <= d.Today {
			c := next[0]
			switch egg := laidAbout(c); {
			case fostered(c):
				end = min(end, c.First-1)
			case egg <= end || c.First <= end:
				w.spell.Event = true
				end = max(start, min(egg, end))
			}
		}
		if end < start {
			return
		}
		w.spell.To = outcome.Days(end - start)
		out = append(out, w)
	}
	for _, s := range stretches {
		var in []*aviary.Clutch
		seen := false
		for _, c := range clutches {
			if c.First >= s.from && c.First <= s.to {
				in = append(in, c)
			}
			seen = seen || c.First < s.from && (c.Ended == 0 || c.Ended > s.from)
		}
		// Where birds and box were together before the books began, the start is not known.
		found := pair.Found && s.from == pair.From
		if !found && !seen && (len(in) == 0 || !in[0].Found) {
			wait(fromSetUp, s.from, s.to, in)
		}
		for i, c := range in {
			if c.Ended == 0 || c.Ended > d.Today || c.Ended > s.to {
				continue
			}
			next := in[i+1:]
			if len(next) > 0 && next[0].First <= c.Ended {
				continue // the next one was begun before this one was over: nobody waited
			}
			wait(fromClutch, c.Ended, s.to, next)
		}
	}
	return out
}

// laidAbout is about when the first egg of a clutch was laid: the look that first shows it, less a day for each egg more than one,
// but after the last look that found the nest empty.
func laidAbout(c *aviary.Clutch) aviary.Date {
	day := c.First
	for _, e := range c.Entries() {
		if e.ID != c.Key {
			continue
		}
		if b, ok := e.Body.(*aviary.NestCheck); ok && b.Eggs != nil {
			day -= aviary.Date(max(*b.Eggs-1, 0))
		}
		break
	}
	if before := c.Before(); before != nil {
		day = max(day, min(before.Day+1, c.First))
	}
	return day
}

// Wait says how long the pair has waited for an egg, and how long it usually takes from here, by the room's own pairs of its
// kind; where these are too few, by those of its species, then by all of the room, then by common practice. Nil for a pair
// with eggs or young, and for one at rest.
func (d *Desk) Wait(c *Condition) *Wait {
	if c.Stage == PairNesting || c.Stage == PairResting {
		return nil
	}
	w := &Wait{}
	switch {
	case c.After:
		w.From, w.Start, w.Started = fromClutch, c.Since, true
	case c.Box != 0:
		w.Start, w.Started = c.Box, true
	case c.Place.Type != aviary.Cage:
		w.Start, w.Started = c.Since, true
	default:
		w.Start = d.Today
	}
	w.Waited = int(d.Today - w.Start)
	slug := ""
	if c.Species != nil {
		slug = c.Species.Slug
	}
	name := "pairs"
	if c.Species != nil {
		name = c.Species.English + " pairs"
	}
	levels := []struct {
		level WaitLevel
		words string
		fits  func(pastWait) bool
	}{
		{KindWaits, c.Kind(), func(x pastWait) bool { return x.slug == slug && x.first == c.FirstTime }},
		{SpeciesWaits, name + ", first-time and others together", func(x pastWait) bool { return x.slug == slug }},
		{RoomWaits, "pairs of all kinds", func(pastWait) bool { return true }},
	}
	var known bool // a level has eggs enough, though too few of those who waited so long
	for _, l := range levels {
		if l.level < RoomWaits && slug == "" {
			continue
		}
		curve := d.curve(func(x pastWait) bool {
			return x.from == w.From && !(x.pair == c.Pair.ID && x.start == w.Start && !x.spell.Event) && l.fits(x)
		})
		given := curve.Given(outcome.Days(w.Waited))
		if curve.Events < leastLaid || (given.Events < leastLeft && known) {
			continue
		}
		w.rest(l.level, l.words, curve)
		if given.Events >= leastLeft {
			w.tell(curve)
			return w
		}
		known = true
	}
	if known {
		w.Longer = true
		return w
	}
	w.Level, w.Kind = PracticeWaits, c.Kind()
	u := usualWait[w.From]
	from := outcome.Days(w.Waited + 1)
	if from > u.late {
		w.Longer = true
	}
	w.Early, w.Likely, w.Late = max(u.early, from), max(u.likely, from), u.late
	w.EarlyKnown, w.LikelyKnown, w.LateKnown = true, true, true
	return w
}

func (d *Desk) curve(fits func(pastWait) bool) *outcome.Curve {
	var spells []outcome.Spell
	for _, x := range d.waits() {
		if fits(x) {
			spells = append(spells, x.spell)
		}
	}
	return outcome.KaplanMeier(spells)
}

// rest writes down what the answer rests on.
func (w *Wait) rest(l WaitLevel, words string, curve *outcome.Curve) {
	w.Level, w.Kind = l, words
	w.Waits, w.Laid = curve.Subjects, curve.Events
	w.Open = w.Waits - w.Laid
	w.As = curve.AtRisk(outcome.Days(w.Waited) + 1)
}

// screenLevel is the level of intervals on pages: 8 in 10.
const screenLevel = 0.8

// tell reads the days off a curve, for a pair that has waited so long.
func (w *Wait) tell(curve *outcome.Curve) {
	given := curve.Given(outcome.Days(w.Waited))
	at := func(p float64) (outcome.Days, bool) {
		q := given.Quantile(p, screenLevel, outcome.ByBetaProduct)
		return q.Day, q.Known
	}
	w.Early, w.EarlyKnown = at(0.1)
	w.Likely, w.LikelyKnown = at(0.5)
	w.Late, w.LateKnown = at(0.9)
	w.Week = curve.Within(outcome.Days(w.Waited), 7, screenLevel)
}

// On turns a day of the wait into a date; it holds once the wait has started.
func (w *Wait) On(day outcome.Days) aviary.Date { return w.Start + aviary.Date(day) }

// Says is the answer in a sentence.
func (w *Wait) Says() string {
	switch {
	case w.Longer && w.Level == PracticeWaits:
		return fmt.Sprintf("It has waited %s, longer than is usual (%d to %d days).", count(w.Waited, "day", "days"), usualWait[w.From].early, w.Late)
	case w.Longer:
		return fmt.Sprintf("It has waited %s. Of %d waits here %s lasted longer, too few to tell by.", count(w.Waited, "day", "days"), w.Waits, wereMany(w.As))
	case !w.Started && w.LateKnown:
		return fmt.Sprintf("Once the box hangs, the first egg usually comes after %d to %d days (8 in 10).", w.Early, w.Late)
	case !w.Started:
		return fmt.Sprintf("Once the box hangs, 1 in 10 lay by day %d; more than 1 in 10 waited past what was watched.", w.Early)
	case w.LateKnown && w.Early == w.Late:
		return fmt.Sprintf("First egg about %s.", w.On(w.Late).Short())
	case w.LateKnown:
		return fmt.Sprintf("First egg %s (8 in 10), half by %s.", days(w.On(w.Early), w.On(w.Late)), w.On(w.Likely).Short())
	case w.LikelyKnown:
		return fmt.Sprintf("First egg from %s, half by %s; more than 1 in 10 wait longer than any was watched.", w.On(w.Early).Short(), w.On(w.Likely).Short())
	case w.EarlyKnown:
		return fmt.Sprintf("First egg from %s; half or more wait longer than any was watched.", w.On(w.Early).Short())
	}
	return "Nobody was watched so long here: not known."
}

func wereMany(n int) string {
	if n == 0 {
		return "none"
	}
	return fmt.Sprint(n)
}

// longerThanMost: a wait that fewer than one in so many outlasted is longer than most.
const longerThanMost = 5

// Short is the range for a list: "16–24 Jan", "6–14 days from the box", "longer than most".
func (w *Wait) Short() string {
	switch {
	case w.Longer && (w.Level == PracticeWaits || longerThanMost*w.As <= w.Waits):
		return "longer than most"
	case w.Longer:
		return "too few to tell"
	case !w.Started && w.LateKnown:
		return fmt.Sprintf("%d–%d days from the box", w.Early, w.Late)
	case !w.Started:
		return fmt.Sprintf("from day %d of the box", w.Early)
	case w.LateKnown:
		return days(w.On(w.Early), w.On(w.Late))
	case w.EarlyKnown:
		return "from " + w.On(w.Early).Short()
	}
	return "not known"
}

// Basis says what the answer rests on, and how many.
func (w *Wait) Basis() string {
	from := "from the day on which pair and nest box were together to the first egg"
	if w.From == fromClutch {
		from = "from the end of a clutch to the first egg of the next"
	}
	if w.Level == PracticeWaits {
		u := usualWait[w.From]
		return fmt.Sprintf("Common practice, no source: %d to %d days %s, most often about %d. This room has fewer than %d such waits that ended with an egg.", u.early, u.late, from, u.likely, leastLaid)
	}
	var parts []string
	parts = append(parts, fmt.Sprintf("Rests on %s of this room, %s, %s: %d ended with an egg", count(w.Waits, "wait", "waits"), from, w.Kind, w.Laid))
	switch {
	case w.Open == 1:
		parts = append(parts, "1 was cut short or still goes on, and counts for as long as it was watched")
	case w.Open > 1:
		parts = append(parts, fmt.Sprintf("%d were cut short or still go on, and count for as long as they were watched", w.Open))
	}
	s := strings.Join(parts, "; ") + "."
	if w.Level != KindWaits {
		s += " Of its own kind there are too few."
	}
	if !w.Longer && w.Waited > 0 {
		s += fmt.Sprintf(" %d lasted longer than the %s of this pair; the days are for those.", w.As, count(w.Waited, "day", "days"))
	}
	return s + " Product-limit estimate (Kaplan and Meier 1958)."
}

// WeekSays is the chance within the next seven days, with its range; "" when it is not known.
func (w *Wait) WeekSays() string {
	k := w.Week
	if !k.Known || w.Longer || !w.Started {
		return ""
	}
	value, low, high := tenths(k.Value), tenths(k.Low), tenths(k.High)
	s := "Within 7 days: "
	switch {
	case k.AtLeast:
		s += inTen(value) + " or more"
	case value == 10:
		s += "nearly all"
	case value == 0:
		s += "hardly any"
	default:
		s += inTen(value)
	}
	switch {
	case high == 10 && low == 0:
		return s + ", not well known."
	case high == 10:
		return s + fmt.Sprintf(" (%s or more).", inTen(low))
	case low == 0:
		return s + fmt.Sprintf(" (%s at most).", inTen(high))
	}
	return s + fmt.Sprintf(" (%d to %s).", low, inTen(high))
}

// tenths rounds a share to tenths.
func tenths(p float64) int { return int(p*10 + 0.5) }

// inTen writes a number of tenths.
func inTen(n int) string { return fmt.Sprintf("%d in 10", n) }
