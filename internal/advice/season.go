package advice

import (
	"slices"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// SeasonQuery says which season is asked for, and what of it.
type SeasonQuery struct {
	On      aviary.Date // a day of the season; zero for the one of today
	Month   aviary.Date // a day of the month that is drawn; zero for the whole season
	Circuit string      // whose lamps are drawn; "" for the whole room
	Species string      // slug; "" for all
	Bank    string      // name of a bank; Elsewhere for places in none; "" for all
	Sort    string      // of the lanes, one of SeasonSorts; walking order when empty
}

// Elsewhere asks for the places that hang in no bank: flights and aviaries, mostly.
const Elsewhere = "-"

// SeasonSorts are the orders in which lanes can stand: as the keeper walks, by how far the newest clutch is, by the day of
// the first egg.
var SeasonSorts = []string{"walk", "stage", "egg"}

// Season is the picture of a season.
type Season struct {
	Span  Span
	Today aviary.Date
	Until aviary.Date // day up to which it is counted: today while it runs
	Over  bool        // it is a season gone by, and counted whole
	Ahead bool        // it is a season to come, and only planned
	// Before is the season before, nil when the books do not reach back to it. BeforeUntil is the day as many days into it;
	// the last day of what is counted.
	Before      *Span
	BeforeUntil aviary.Date
	// Began is the day on which the books begin. Where that is later than the first day of a season, what came before is
	// not known.
	Began   aviary.Date
	All     []Span // the seasons that the books and the plans reach, newest first
	Rows    []SeasonRow
	Total   SeasonRow
	Lanes   []*SeasonLane
	Species []*species.Profile // that the season or the one before knows, for a choice
	Banks   []string           // in walking order
	Loose   bool               // there are places in no bank
	// From and To are the days that are drawn: a month, or the whole season with the eggs before it and the young after it.
	From, To aviary.Date
	Light    SeasonLight
	Feed     []FeedBand
}

// Season draws a season. past may be nil. ok is false when neither the books nor the plans reach to the season that is asked for.
func (d *Desk) Season(q SeasonQuery, past *Past) (out *Season, ok bool) {
	places := d.Room.EveryPlace()
	out = &Season{Began: d.began(places), Today: d.Today}
	out.All = d.seasons(out.Began)
	here := slices.IndexFunc(out.All, func(s Span) bool { return s.Contains(d.Today) })
	at := here
	reach := func(day aviary.Date) int {
		return slices.IndexFunc(out.All, func(s Span) bool { return s.Contains(day) })
	}
	switch {
	case q.On != 0:
		at = reach(q.On)
	case q.Month != 0: // of a month in which one season ends and the next begins, the next
		if at = reach(monthOf(q.Month, 1) - 1); at < 0 {
			at = reach(monthOf(q.Month, 0))
		}
	}
	if at < 0 {
		return nil, false
	}
	if s := out.All[at]; q.Month != 0 && (monthOf(q.Month, 1) <= s.From || monthOf(q.Month, 0) > s.To) {
		return nil, false
	}
	out.Span, out.Over, out.Ahead = out.All[at], at > here, at < here
	out.Until = max(min(d.Today, out.Span.To), out.Span.From)
	out.choose(places)
	if !out.Ahead {
		now := &season{d: d, past: past, span: out.Span, until: d.Today, query: q}
		rows := now.gather(places, &out.Lanes)
		var before map[string]SeasonCounts
		if at+1 < len(out.All) {
			b := out.All[at+1]
			out.Before = &b
			out.BeforeUntil = b.To
			until := d.Today
			if !out.Over {
				out.BeforeUntil = min(b.From+(out.Until-out.Span.From), b.To)
				until = out.BeforeUntil
			}
			then := &season{d: d, past: past, span: b, until: until, query: q}
			before = then.gather(places, nil)
		}
		out.rows(d, rows, before, q.Species)
		d.sortLanes(out.Lanes, q.Sort)
	}
	out.drawn(q.Month)
	out.Light = d.seasonLight(q.Circuit, out.From, out.To)
	out.Feed = d.seasonFeed(out.From, out.To)
	return out, true
}

// drawn sets which days are drawn.
func (out *Season) drawn(month aviary.Date) {
	if month != 0 {
		out.From, out.To = monthOf(month, 0), monthOf(month, 1)-1
		return
	}
	out.From, out.To = out.Span.From, out.Span.To
	for _, l := range out.Lanes {
		for _, c := range l.Clutches {
			out.From = min(out.From, c.First)
			for _, e := range c.Eggs {
				out.From = min(out.From, e.Day)
			}
			for _, e := range []SeasonEvent{c.Hatch, c.Fledge, c.Wean} {
				if e.Known && e.Likely > out.To-wordDays {
					out.To = e.Likely + wordDays
				}
			}
		}
	}
}

// wordDays is the room for the words after the last bar, in days.
const wordDays = 12

// Months are the months of a season, each by its first day.
func (s Span) Months() []aviary.Date {
	var out []aviary.Date
	for day := monthOf(s.From, 0); day <= s.To; day = monthOf(day, 1) {
		out = append(out, day)
	}
	return out
}

// monthOf is the first day of the month that lies so many months after a day's.
func monthOf(day aviary.Date, later int) aviary.Date {
	t := day.Time()
	return aviary.DateOf(t.Year(), t.Month()+time.Month(later), 1)
}

// began is the first day that the books know of a place, a pair or a clutch; today when they are empty.
func (d *Desk) began(places []*aviary.Place) aviary.Date {
	day := d.Today
	for _, p := range places {
		day = min(day, p.Added)
	}
	return day
}

// seasons lists the seasons from the last that is planned, or today's, back to the one in which the books begin, newest first.
// Where the keeper moved the start of his season, the earlier one ends the day before the later one begins.
func (d *Desk) seasons(began aviary.Date) []Span {
	const most = 300 // years: the books know dates from 1900 to 2199
	s := d.SeasonOn(d.Today)
	out := []Span{s}
	for planned := d.plannedUntil(); out[0].To < planned && len(out) < mostAhead; {
		out = slices.Insert(out, 0, d.SeasonOn(out[0].To+1))
	}
	for s.From > began && len(out) < most {
		b := d.SeasonBefore(s)
		if b.To >= s.From {
			b.To = s.From - 1
			b.Name = spanName(b.From, b.To)
		}
		s = b
		out = append(out, s)
	}
	return out
}

// mostAhead is how many seasons are listed from today's on.
const mostAhead = 4

// plannedUntil is the first day of the latest plan, of lamps or of food; 0 without one.
func (d *Desk) plannedUntil() aviary.Date {
	var last aviary.Date
	for _, p := range d.lampPlans() {
		last = max(last, p.RampFrom)
	}
	plans := d.feedPlans()
	for i := range plans {
		from, _ := planSpan(&plans[i])
		last = max(last, from)
	}
	return last
}

// choose lists the banks that can be chosen.
func (out *Season) choose(places []*aviary.Place) {
	for _, p := range places {
		if p.Bank == "" {
			out.Loose = true
		} else if !slices.Contains(out.Banks, p.Bank) {
			out.Banks = append(out.Banks, p.Bank)
		}
	}
}

// season gathers one season.
type season struct {
	d     *Desk
	past  *Past
	span  Span
	until aviary.Date
	query SeasonQuery
	seeds map[aviary.ID]seed
	known map[aviary.ID]int // eggs that were known to be full when they were moved, by the entry that moved them
}

// gather counts a season by species, and lists its lanes unless lanes is nil.
func (s *season) gather(places []*aviary.Place, lanes *[]*SeasonLane) map[string]SeasonCounts {
	s.seeds, s.known = map[aviary.ID]seed{}, map[aviary.ID]int{}
	rows := map[string]SeasonCounts{}
	byBirds := map[string]*SeasonLane{} // pairs by their birds
	byPair := map[aviary.ID]*SeasonLane{}
	byPlace := map[aviary.ID]*SeasonLane{} // clutches without a pair
	walk := map[aviary.ID]int{}
	var list []*SeasonLane
	if lanes != nil {
		for i, p := range s.d.Room.Places() {
			walk[p.ID] = i + 1
		}
	}
	lane := func(pair *aviary.Pair, p *aviary.Place) *SeasonLane {
		var l *SeasonLane
		if pair == nil {
			if l = byPlace[p.ID]; l == nil {
				l = &SeasonLane{Place: p}
				byPlace[p.ID] = l
				list = append(list, l)
			}
			return l
		}
		if l = byPair[pair.ID]; l != nil {
			return l
		}
		key := birdsKey(pair)
		if l = byBirds[key]; l == nil {
			l = &SeasonLane{}
			byBirds[key] = l
			list = append(list, l)
		}
		byPair[pair.ID] = l
		if l.Pair == nil || pair.From >= l.Pair.From { // a pair that moved stands where it went
			l.Pair, l.Place = pair, s.d.Room.Place(pair.Place)
		}
		if l.Place == nil {
			l.Place = p
		}
		return l
	}
	var all []*SeasonClutch
	for _, p := range places {
		if !s.asked(p) {
			continue
		}
		for _, pair := range s.d.Room.PairsAt(p.ID) {
			if pair.From <= min(s.until, s.span.To) && (pair.To == 0 || pair.To > s.span.From) {
				lane(pair, p)
			}
		}
		for _, c := range p.Clutches {
			if s.span.Contains(c.First) && c.First <= s.until {
				all = append(all, s.clutch(p, c))
			}
		}
	}
	for _, l := range list {
		if l.Pair != nil {
			l.Counts.Pairs = 1
			slug := slugOf(s.d.speciesOf(l.Pair))
			row := rows[slug]
			row.Pairs++
			rows[slug] = row
		}
	}
	for _, c := range all {
		for _, x := range c.bySpecies {
			rows[x.slug] = rows[x.slug].plus(x.counts)
		}
	}
	s.ringedLater(rows)
	if lanes == nil {
		return rows
	}
	for _, c := range all {
		home := lane(c.layers(s.d.Room), c.Place)
		home.Clutches = append(home.Clutches, c)
		eggs, young := home, lane(c.youngOf, c.Place)
		if c.eggsOf != nil && byPair[c.eggsOf.ID] != nil {
			eggs = byPair[c.eggsOf.ID]
		}
		mine := c.Counts
		mine.Full, mine.NotKnown, mine.FullOf = 0, 0, Share{}
		mine.Hatched, mine.Ringed, mine.Fledged, mine.Weaned, mine.HatchedOf, mine.FledgedOf, mine.WeanedOf = 0, 0, 0, 0, Share{}, Share{}, Share{}
		home.Counts = home.Counts.plus(mine)
		eggs.Counts = eggs.Counts.plus(SeasonCounts{Full: c.Counts.Full, NotKnown: c.Counts.NotKnown, FullOf: c.Counts.FullOf})
		young.Counts = young.Counts.plus(c.young)
	}
	for _, l := range list {
		s.finish(l, walk)
	}
	*lanes = list
	return rows
}

// asked reports whether a place is among those that the query asks for.
func (s *season) asked(p *aviary.Place) bool {
	switch s.query.Bank {
	case "":
		return true
	case Elsewhere:
		return p.Bank == ""
	}
	return p.Bank == s.query.Bank
}
