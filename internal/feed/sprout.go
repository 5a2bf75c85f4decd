package feed

import (
	"fmt"
	"math"
	"time"
)

// Hours is a span of hours, least to most.
type Hours struct{ Least, Most float64 }

func (h Hours) middle() float64 { return (h.Least + h.Most) / 2 }

// Sprouting is how long seed takes at a room temperature.
type Sprouting struct {
	Soak, Sprout Hours // sprouting counts from the end of the soak to the chit
	// RinseEvery is the hours from rinse to rinse by day, and RinseMost the longest gap, over night.
	RinseEvery, RinseMost float64
	RemoveAfter           float64 // hours in the cage
	Warm                  bool    // spoils fast
	Basis                 Basis
	Source                string
}

// sproutTable is the guide of practice by temperature: 15, 20, 25 and 30 °C.
func sproutTable() []struct {
	c            float64
	soak, sprout Hours
} {
	return []struct {
		c            float64
		soak, sprout Hours
	}{
		{15, Hours{12, 16}, Hours{48, 72}},
		{20, Hours{8, 12}, Hours{30, 48}},
		{25, Hours{6, 8}, Hours{20, 30}},
		{30, Hours{4, 6}, Hours{14, 20}},
	}
}

// Temperatures between which the guide holds, °C.
const (
	ColdestRoom = 15
	WarmestRoom = 30
	warmRoom    = 25 // above it rinse every 6 h and take out sooner
)

// Batches keep for days in the fridge; sources say 4 to 7, the shorter is used.
const fridgeDays = 4

// minimum germination of a test, below which seed is not used for sprouting. Common practice.
const leastGermination = 0.80

const sproutSource = "from memory, an estimate by thermal time; that germination runs faster in a straight line with temperature is published for pearl millet (Garcia-Huidobro, Monteith and Squire 1982, Journal of Experimental Botany 33); soak of 8 to 12 h and the chit after 24 to 48 h are common practice"

// SproutingAt returns the times at a room temperature in °C, drawn straight between the lines
// of the guide. Outside 15 to 30 °C it is an [*Error]: seed rots before it chits, or spoils.
func SproutingAt(celsius float64) (Sprouting, error) {
	switch {
	case math.IsNaN(celsius):
		return Sprouting{}, &Error{Field: "temperature", Message: "the room temperature is missing."}
	case celsius < ColdestRoom:
		return Sprouting{}, &Error{Field: "temperature", Message: fmt.Sprintf("At %s °C seed chits too slowly and rots first. Sprout it where it is 15 to 25 °C.", round(celsius))}
	case celsius > WarmestRoom:
		return Sprouting{}, &Error{Field: "temperature", Message: fmt.Sprintf("At %s °C sprouting seed spoils. Move the jars to a cooler place, 15 to 25 °C.", round(celsius))}
	}
	rows := sproutTable()
	i := 0
	for i < len(rows)-2 && celsius > rows[i+1].c {
		i++
	}
	a, b := rows[i], rows[i+1]
	f := (celsius - a.c) / (b.c - a.c)
	between := func(x, y Hours) Hours {
		return Hours{x.Least + f*(y.Least-x.Least), x.Most + f*(y.Most-x.Most)}
	}
	s := Sprouting{
		Soak: between(a.soak, b.soak), Sprout: between(a.sprout, b.sprout),
		RinseEvery: 8, RinseMost: 12, RemoveAfter: 4, Basis: FromMemory, Source: sproutSource,
	}
	if celsius > warmRoom {
		s.Warm, s.RinseEvery, s.RinseMost, s.RemoveAfter = true, 6, 8, 2
	}
	return s, nil
}

// SproutPlan is what a keeper wants each day.
type SproutPlan struct {
	ServeML float64 // chitted seed a serving day
	Hour    int     // of serving, on the wall clock, with Minute
	Minute  int
	Celsius float64
	// Every is the days that one batch lasts: 1 for a batch a day, up to 4 with a fridge.
	Every int
	// WakeFrom and WakeTo are the hours in which the keeper does things; steps fall between
	// them where the times allow. Both 0 means at any hour.
	WakeFrom, WakeTo float64
	// DryML is the ml of dry seed that give one ml chitted; 0 takes the usual figure.
	DryML float64
}

// usualDry is the ml of dry millet that give one ml at the chit: 3.75 g and 3.5 g a teaspoon
// and 8.7 and 42 % of water. Derived from figures from memory: measure your own.
const usualDry = (3.75 * (1 - 0.42)) / (3.5 * (1 - 0.0867))

// DrySeedFor returns the dry seed, in ml and in g of white millet, behind an amount of chitted seed in ml. dryML is the ml of
// dry seed that give one ml chitted; 0 takes the usual figure.
func DrySeedFor(chittedML, dryML float64) (ml, grams float64) {
	if !(dryML > 0) {
		dryML = usualDry
	}
	millet, _ := FindFood(Foods(), "white-millet")
	ml = chittedML * dryML
	return ml, ml * millet.Teaspoon.Value / Teaspoon
}

// StepKind is a thing to do with a jar.
type StepKind int

// The steps of a jar, in order.
const (
	Soak StepKind = iota
	Drain
	Rinse
	Serve   // rinse until clear, smell, give
	TakeOut // out of the cages
	Discard // what is left in the jar or fridge
	stepKinds
)

// String writes the step as a list has it.
func (k StepKind) String() string {
	return [stepKinds]string{"soak", "drain and rinse", "rinse", "rinse, smell and serve", "take out of the cages", "throw away what is left"}[k]
}

// Step is one thing to do at one time.
type Step struct {
	At    time.Time
	Kind  StepKind
	Batch int // counted from 0
	Jar   int // counted from 1
	Night bool
	Text  string
}

// SproutSchedule is a plan laid out.
type SproutSchedule struct {
	Times   Sprouting
	Steps   []Step // in order of time
	Jars    int    // jars in turn, each washed before it is used again
	DryML   float64
	DryG    float64 // of white millet
	BatchML float64 // chitted
	Notes   []Note
}

// Schedule lays out the batches that serve from one civil day to another, both included, in a
// zone. A batch starts so that it chits at the serving hour; where the guide leaves room,
// soak and drain fall into waking hours. Elapsed hours are true hours, also when the
// clocks change. At most 400 days.
func (p SproutPlan) Schedule(from, to time.Time, zone *time.Location) (SproutSchedule, error) {
	times, err := SproutingAt(p.Celsius)
	if err != nil {
		return SproutSchedule{}, err
	}
	if p.Every == 0 {
		p.Every = 1
	}
	switch {
	case !(p.ServeML > 0) || p.ServeML > 1e5:
		return SproutSchedule{}, &Error{Field: "amount", Message: "Say how much chitted seed is served a day, in ml: more than 0 and at most 100000."}
	case p.Hour < 0 || p.Hour > 23 || p.Minute < 0 || p.Minute > 59:
		return SproutSchedule{}, &Error{Field: "hour", Message: "The hour of serving runs from 00:00 to 23:59."}
	case p.Every < 1 || p.Every > fridgeDays:
		return SproutSchedule{}, &Error{Field: "every", Message: fmt.Sprintf("A batch lasts 1 to %d days, and more than one only in the fridge.", fridgeDays)}
	case !(p.WakeFrom >= 0) || !(p.WakeTo <= 24) || p.WakeTo < p.WakeFrom:
		return SproutSchedule{}, &Error{Field: "hours", Message: "Your hours run from an earlier to a later hour of one day."}
	case !(p.DryML >= 0) || p.DryML > 1:
		return SproutSchedule{}, &Error{Field: "dry", Message: "Dry seed swells, so one ml of sprouts takes at most one ml of dry seed."}
	case to.Before(from) || to.Sub(from) > 400*24*time.Hour:
		return SproutSchedule{}, &Error{Field: "days", Message: "The last day is not before the first, and at most 400 days lie between."}
	}
	out := SproutSchedule{Times: times, BatchML: p.ServeML * float64(p.Every)}
	out.DryML, out.DryG = DrySeedFor(out.BatchML, p.DryML)
	y, m, d := from.In(zone).Date()
	last := to.In(zone)
	type span struct{ from, to time.Time }
	var spans []span
	night := false
	for batch := 0; ; batch++ {
		first := d + batch*p.Every
		serve := time.Date(y, m, first, p.Hour, p.Minute, 0, 0, zone)
		if day := time.Date(y, m, first, 0, 0, 0, 0, zone); day.After(last) {
			break
		}
		jar := p.steps(batch, serve, zone, times)
		for _, s := range jar {
			night = night || s.Night
		}
		spans = append(spans, span{jar[0].At, serve})
		out.Steps = append(out.Steps, jar...)
	}
	// A jar is free for the next batch once its own was served.
	var free []time.Time
	number := make([]int, len(spans))
	for i, s := range spans {
		at := -1
		for j, f := range free {
			if !f.After(s.from) {
				at = j
				break
			}
		}
		if at < 0 {
			at, free = len(free), append(free, time.Time{})
		}
		free[at], number[i] = s.to, at+1
	}
	out.Jars = len(free)
	for i := range out.Steps {
		out.Steps[i].Jar = number[out.Steps[i].Batch]
	}
	sortSteps(out.Steps)
	out.Notes = append(out.Notes, Note{Info, "The times are a guide. Serve at the chit, when the root just shows and is at most 3 mm long, and shift your start by what you see.", times.Source})
	if times.Warm {
		out.Notes = append(out.Notes, Note{Warn, "Above 25 °C sprouting seed spoils fast: rinse every 6 hours, take it out of the cages after 2, or move the jars to a cooler place.", sproutSource})
	}
	if p.Every > 1 {
		out.Notes = append(out.Notes, Note{Info, fmt.Sprintf("Drain well and move the rest to a clean box in the fridge, at most %d days. Rinse and smell it before each serving.", fridgeDays), "common practice; sources say 4 to 7 days"})
	}
	if night {
		out.Notes = append(out.Notes, Note{Info, "Some steps fall outside your hours: at this temperature there is no room to move them. Another serving hour or a cooler place may help.", sproutSource})
	}
	return out, nil
}

// steps returns the steps of one batch, the soak first.
func (p SproutPlan) steps(batch int, serve time.Time, zone *time.Location, t Sprouting) []Step {
	soak, drain := p.start(serve, zone, t)
	step := func(at time.Time, k StepKind, text string) Step {
		return Step{At: at, Kind: k, Batch: batch, Night: !p.awake(at, zone), Text: text}
	}
	out := []Step{
		step(soak, Soak, "Soak in plenty of clean cold water."),
		step(drain, Drain, "Pour off, rinse until the water is clear, drain well, leave the jar tilted and airy."),
	}
	for at := drain; ; {
		next := p.rinse(at, zone, t)
		// No rinse in the hour before serving: serving begins with one.
		if !next.Before(serve.Add(-time.Hour)) {
			break
		}
		out = append(out, step(next, Rinse, "Rinse, drain well, smell."))
		at = next
	}
	out = append(out, step(serve, Serve, "Rinse until the water is clear. Throw it away if it smells sour, is slimy or shows mould. Wash the empty jar with hot water and soap and let it dry."))
	for i := range p.Every {
		given := serve
		if i > 0 {
			y, m, d := serve.In(zone).Date()
			given = time.Date(y, m, d+i, p.Hour, p.Minute, 0, 0, zone)
			out = append(out, step(given, Serve, "From the fridge: rinse until the water is clear, smell, and throw it away if in doubt."))
		}
		out = append(out, step(given.Add(hours(t.RemoveAfter)), TakeOut, "Take out what is left and throw it away."))
		if i == p.Every-1 {
			text := "Throw away what was not given, too."
			if p.Every > 1 {
				text = "Throw away what is left of this batch in the fridge, and wash its box with hot water and soap."
			}
			out = append(out, step(given.Add(hours(t.RemoveAfter)), Discard, text))
		}
	}
	return out
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// awake says whether an instant falls into the keeper's hours.
func (p SproutPlan) awake(at time.Time, zone *time.Location) bool {
	if p.WakeFrom == 0 && p.WakeTo == 0 {
		return true
	}
	l := at.In(zone)
	h := float64(l.Hour()) + float64(l.Minute())/60
	return h >= p.WakeFrom && h <= p.WakeTo
}

// start returns when to soak and when to drain: by the middle of the guide, moved on a grid of
// quarter hours into waking hours where the guide leaves room for it.
func (p SproutPlan) start(serve time.Time, zone *time.Location, t Sprouting) (soak, drain time.Time) {
	// A step at night counts more than any shift of hours.
	const quarter, nightCost = 0.25, 1000
	mid, midSoak := t.Sprout.middle(), t.Soak.middle()
	best := math.Inf(1)
	for s := math.Ceil(t.Sprout.Least/quarter) * quarter; s <= t.Sprout.Most; s += quarter {
		d := serve.Add(-hours(s))
		night := 0.0
		if !p.awake(d, zone) {
			night = nightCost
		}
		for w := math.Ceil(t.Soak.Least/quarter) * quarter; w <= t.Soak.Most; w += quarter {
			b := d.Add(-hours(w))
			cost := math.Abs(s-mid) + math.Abs(w-midSoak) + night
			if cost >= best {
				continue
			}
			if !p.awake(b, zone) {
				cost += nightCost
			}
			if cost < best {
				best, soak, drain = cost, b, d
			}
		}
	}
	return soak, drain
}

// rinse returns when to rinse next after an instant: after the usual gap, or before bed, or on
// getting up where the longest gap allows.
func (p SproutPlan) rinse(after time.Time, zone *time.Location, t Sprouting) time.Time {
	usual := after.Add(hours(t.RinseEvery))
	if p.awake(usual, zone) {
		return usual
	}
	const quarter = 15 * time.Minute
	for at := usual; !at.After(after.Add(hours(t.RinseMost))); at = at.Add(quarter) {
		if p.awake(at, zone) {
			return at
		}
	}
	// Not sooner than half the gap, or rinses would follow each other all evening.
	for at := usual; !at.Before(after.Add(hours(t.RinseEvery / 2))); at = at.Add(-quarter) {
		if p.awake(at, zone) {
			return at
		}
	}
	return usual
}

// On returns the steps of a schedule within a civil day of a zone.
func (s SproutSchedule) On(day time.Time, zone *time.Location) []Step {
	y, m, d := day.In(zone).Date()
	var out []Step
	for _, st := range s.Steps {
		if yy, mm, dd := st.At.In(zone).Date(); yy == y && mm == m && dd == d {
			out = append(out, st)
		}
	}
	return out
}

// GermTest is a germination test: seeds laid out, and how many sprouted by the third day.
type GermTest struct {
	Day             Day
	Seeds, Sprouted int
}

// Germination is a test judged.
type Germination struct {
	Share, Low, High float64 // with its 8 in 10 interval (Wilson 1927)
	Use              bool
	Notes            []Note
}

// normal80 is the 0.9 quantile of the normal distribution, for an interval that holds 8 in 10.
const normal80 = 1.2815515655446004

// Judge returns the share that sprouted; seed under 80 in 100 is not used for sprouting.
func (g GermTest) Judge() (Germination, error) {
	if g.Seeds < 1 || g.Sprouted < 0 || g.Sprouted > g.Seeds {
		return Germination{}, &Error{Field: "seeds", Message: "Count at least one seed, and no more sprouted than were laid out."}
	}
	out := Germination{Share: float64(g.Sprouted) / float64(g.Seeds)}
	out.Low, out.High = wilson(g.Sprouted, g.Seeds, normal80)
	out.Use = out.Share >= leastGermination
	if !out.Use {
		out.Notes = append(out.Notes, Note{Warn, "Fewer than 80 in 100 sprouted. Dead seed rots among the live: do not sprout this lot. It may be old, or treated so that it cannot sprout.", practice})
	}
	if g.Seeds < 50 {
		out.Notes = append(out.Notes, Note{Info, "Few seeds were tested. Lay out 100 to be surer.", practice})
	}
	return out, nil
}

// wilson returns the score interval of k in n for a normal quantile z.
func wilson(k, n int, z float64) (low, high float64) {
	p, m := float64(k)/float64(n), float64(n)
	mid := (p + z*z/(2*m)) / (1 + z*z/m)
	half := z / (1 + z*z/m) * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	low, high = max(0, mid-half), min(1, mid+half)
	// Rounding must not keep the ends from being met.
	return min(low, p), max(high, p)
}

// UsualDry returns the ml of dry millet that give one ml at the chit, where nobody measured his own.
func UsualDry() float64 { return usualDry }
