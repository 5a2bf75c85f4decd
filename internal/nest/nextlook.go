package nest

import (
	"math"
	"slices"
)

// Enough is the chance with which a planned look has to fall into the true window of what it
// is for.
const Enough = 0.95

// Need is something that a look has to catch: an event of a clutch and how many days after it
// a look still serves.
type Need struct {
	Kind   LookKind
	Lid    bool    // the lid of the nest box is lifted
	Chance float64 // chance that the event comes at all
	event  When
	lo, hi int // a look serves from lo to hi days after the event
}

// Serves returns the chance that a look on a day falls into the true window, given that the
// event comes.
func (n *Need) Serves(day Day) float64 {
	return n.event.Between(day-Day(n.hi), day-Day(n.lo))
}

// Window returns the days of the event.
func (n *Need) Window() (event When, from, to int) { return n.event, n.lo, n.hi }

// Windows in which a look serves, in days after the event. That of a ring is the species'
// own. The others are judgements: a count within two days of the first egg dates the clutch,
// a look within two days of the first chick dates the brood to a day or so.
const (
	firstEggWithin = 2
	countWithin    = 3
	chicksWithin   = 2
	outWithin      = 3
	candleSlack    = 2 // an egg may still be told full from clear so many days after the best
	needed         = 0.02
	sureDone       = 0.98
)

// Needs lists what is still to be caught of a clutch, in the order of its life. p is the
// posterior of the history. What a look has already shown, or what hardly ever comes, is not
// listed.
func (m *Model) Needs(h History, p *Posterior) []Need {
	var all []Need
	add := func(kind LookKind, lid bool, e When, lo, hi int) {
		if e.Chance >= needed && hi >= lo {
			all = append(all, Need{kind, lid, e.Chance, e, lo, hi})
		}
	}
	seen, _ := sights(h.Looks)
	var egg, candled, young, out bool
	ringed := 0
	for i := range seen {
		s := &seen[i]
		egg = egg || s.own > 0
		candled = candled || s.candle && s.full+s.clr+s.bad > 0
		young = young || s.young
		out = out || s.out > 0
	}
	for _, l := range h.Looks {
		ringed += l.Ringed
	}
	last := p.LastLook
	pr := &m.profile
	if first := p.Event(FirstEgg); !egg && first.Chance > 0 {
		add(LookFirstEgg, true, first, 0, firstEggWithin)
	}
	if done := p.Event(ClutchComplete); !young && done.By(last-1) < sureDone {
		add(LookCount, true, done, 1, countWithin)
	}
	if sit := p.Event(SittingFrom); !young && !candled {
		add(LookCandle, true, sit, int(math.Ceil(pr.CandlingAge.Low-slip)), int(math.Floor(pr.CandlingAge.High+slip))+candleSlack)
	}
	hatch := p.Event(Hatch)
	if !young {
		add(LookChicks, true, hatch, 0, chicksWithin)
	}
	if ringed == 0 && !out {
		add(LookRing, true, hatch, int(math.Ceil(pr.RingAge.Low-slip)), int(math.Floor(pr.RingAge.High+slip)))
	}
	if !out {
		add(LookCountOut, false, p.Event(Fledge), 1, outWithin)
	}
	if wean := p.Event(Wean); wean.Chance > 0 {
		add(LookWean, false, wean, 0, int(math.Ceil(pr.IndependenceAge.High-pr.IndependenceAge.Typical)))
	}
	return all
}

// Care is how much a pair minds a look.
type Care struct {
	Touchy    float64 // 1 for most species, 2 for those that leave eggs when looked at; 0 reads as 1
	FirstTime bool    // the pair has reared none yet
}

// LookValue is what looking on a day is worth.
type LookValue struct {
	Day   Day
	Gain  float64 // what it is worth, in caught rings: what it catches, tells and can mend
	Cost  float64 // what the disturbance costs, on the same scale
	Parts []LookPart
}

// Net is gain less cost.
func (v LookValue) Net() float64 { return v.Gain - v.Cost }

// LookPart is one reason of a look's worth.
type LookPart struct {
	Kind LookKind
	Gain float64
	Mend bool // not Kind, but eggs or chicks left alone that could still be moved
}

// Worths of what a look catches against that of a ring put on in time, and the cost of a
// look. All are judgements, set so that a day on which nothing is due is not worth a look,
// and any day that catches a need with fair chance is.
const (
	worthFirstEgg, worthCount, worthCandle, worthChicks, worthRing = 0.4, 0.3, 0.5, 0.4, 1.0
	worthBird                                                      = 0.25 // an egg or chick saved
	lookCost                                                       = 0.1
	tender                                                         = 1.5 // added to 1 about the first egg and about the hatch
	firstPair                                                      = 1.5
	mendDays                                                       = 1 // how long eggs or young that are left can be saved
)

// Values returns what a look on each of the days from a day on is worth. A look for chicks
// also counts by how much it raises the chance of the best day for rings.
func (m *Model) Values(h History, p *Posterior, from Day, days int, care Care) []LookValue {
	needs := m.Needs(h, p)
	if !(care.Touchy > 0) {
		care.Touchy = 1
	}
	out := make([]LookValue, max(days, 0))
	first, hatch := p.Event(FirstEgg), p.Event(Hatch)
	var ring *Need
	for i := range needs {
		if needs[i].Kind == LookRing {
			ring = &needs[i]
		}
	}
	for i := range out {
		v := &out[i]
		v.Day = from + Day(i)
		for j := range needs {
			n := &needs[j]
			worth := 0.0
			switch n.Kind {
			case LookFirstEgg:
				worth = worthFirstEgg
			case LookCount:
				worth = worthCount
			case LookCandle:
				worth = worthCandle
			case LookChicks:
				worth = worthChicks
			case LookRing:
				worth = worthRing
			}
			g := worth * n.Chance * n.Serves(v.Day)
			if n.Kind == LookChicks && ring != nil {
				g += worthRing * ring.Chance * m.ringGain(hatch, ring, v.Day)
			}
			if g > 0.001 {
				v.Parts = append(v.Parts, LookPart{Kind: n.Kind, Gain: g})
				v.Gain += g
			}
		}
		if g := worthBird * m.mendable(p, v.Day); g > 0.001 {
			v.Parts = append(v.Parts, LookPart{Mend: true, Gain: g})
			v.Gain += g
		}
		v.Cost = lookCost * care.Touchy *
			(1 + tender*first.Chance*first.Between(v.Day-1, v.Day+1) + tender*hatch.Chance*hatch.Between(v.Day-1, v.Day+2))
		if care.FirstTime {
			v.Cost *= firstPair
		}
	}
	return out
}

// ringGain is by how much the chance of the best ring day grows when a look on a day tells
// whether the first chick is there.
func (m *Model) ringGain(hatch When, ring *Need, day Day) float64 {
	best := func(a, b Day) float64 { // the best later day's mass of hatches from a to b
		var top float64
		for d := day + 1; d <= b+Day(ring.hi); d++ {
			top = max(top, hatch.Between(max(a, d-Day(ring.hi)), min(b, d-Day(ring.lo))))
		}
		return top
	}
	if len(hatch.Days) == 0 {
		return 0
	}
	a, b := hatch.Days[0].Day, hatch.Days[len(hatch.Days)-1].Day
	if day < a || day > b {
		return 0
	}
	return max(0, best(a, day)+best(day+1, b)-best(a, b))
}

// mendable is the mean number of eggs or chicks that a look on a day could save, since the
// nest was left within the days that they bear it.
func (m *Model) mendable(p *Posterior, day Day) float64 {
	left := 1 - p.Deserted
	alive := p.EggsAlive.Mean() + p.Chicks.Mean()
	if alive <= 0 || day <= p.LastLook {
		return 0
	}
	hatched := p.Event(Hatch)
	young := hatched.Chance * hatched.By(day)
	risk := (1-young)*m.rates.Deserted + young*m.rates.LostYoung
	if out := p.Event(Fledge); out.Chance > 0 {
		risk *= 1 - out.By(day)
	}
	return left * alive * risk * mendDays
}

// WallNest is one nest in the plan of a wall.
type WallNest struct {
	Needs []Need
}

// Stop is one look of a plan: a lid lifted, or a count from the aisle.
type Stop struct {
	Nest int // index of the nest
	Day  Day
	For  []Catch
}

// Catch is one need that a stop serves.
type Catch struct {
	Need  int // index among the nest's needs
	Kind  LookKind
	P     float64 // chance that the day lies in the true window, given that the event comes
	Short bool    // no day, and no two days, reach [Enough]: this is the best
	// Otherwise is the best chance of any other day that the keeper is there, and OtherDay
	// that day: missing this stop costs P less Otherwise.
	Otherwise float64
	OtherDay  Day
}

// Plan is the looks of a whole wall.
type Plan struct {
	Stops  []Stop // by day, then by nest
	Visits []Day  // days on which any lid is lifted
	Lids   int    // lids lifted
	// Daily is how many lids a keeper lifts who looks into each of these nests on every day
	// that he is there.
	Daily int
	// LeastLids and LeastVisits are proven lower bounds for the same needs, each on its own.
	// The plan's lids reach theirs always; its visits may not.
	LeastLids, LeastVisits int
	// Away lists needs for which the keeper is there on no useful day.
	Away []Missed
}

// Missed is a need that no look of the plan serves.
type Missed struct {
	Nest, Need int
	Kind       LookKind
}

// target is a run of the keeper's days, one of which a nest needs.
type target struct {
	need   int
	lo, hi int // indices among the days that the keeper is there
	short  bool
}

// PlanLooks plans the looks of a wall over the days from a day on; here says on which of them
// the keeper is there.
//
// Each need asks for one look on a day that lies in the true window with chance [Enough], or,
// where no day does, for two looks that do so together, or else for the best day there is.
// That makes runs of days, and the fewest looks that hit all runs of a nest are found by
// always taking the last day of the run that ends first, which is known to be the least
// (interval piercing; Hochbaum and Maass 1985, Journal of the ACM 32, 130-136, for its place
// among covers). Then days are dropped one by one, the least used first, as long as no lid
// more is needed, which gathers the looks into few visits. That is not always the least; the
// bound beside it says how far off it may be.
func PlanLooks(nests []WallNest, from Day, here []bool) Plan {
	var days []Day
	for i, is := range here {
		if is {
			days = append(days, from+Day(i))
		}
	}
	var plan Plan
	lid := make([][]target, len(nests))
	aisle := make([][]target, len(nests))
	var every []target
	for i := range nests {
		wanted := false
		for j := range nests[i].Needs {
			n := &nests[i].Needs[j]
			ts := n.targets(days, j, from+Day(len(here)))
			wanted = wanted || n.Lid
			if ts == nil {
				if a, _ := n.useful(); a < from+Day(len(here)) && n.late(from) {
					plan.Away = append(plan.Away, Missed{i, j, n.Kind})
				}
				continue
			}
			if n.Lid {
				lid[i] = append(lid[i], ts...)
				every = append(every, ts...)
			} else {
				aisle[i] = append(aisle[i], ts...)
			}
		}
		slices.SortFunc(lid[i], func(a, b target) int { return a.hi - b.hi })
		if wanted {
			plan.Daily += len(days)
		}
	}
	slices.SortFunc(every, func(a, b target) int { return a.hi - b.hi })
	open := make([]bool, len(days))
	for i := range open {
		open[i] = true
	}
	least := newOpenDays(open)
	plan.LeastVisits = least.pierce(every, nil)
	counts := make([]int, len(nests))
	for i := range nests {
		counts[i] = least.pierce(lid[i], nil)
		plan.LeastLids += counts[i]
	}
	gather(lid, counts, open)
	now := newOpenDays(open)
	visits := map[Day]bool{}
	for i := range nests {
		at := map[int]*Stop{}
		put := func(t target, d int) {
			s := at[d]
			if s == nil {
				s = &Stop{Nest: i, Day: days[d]}
				at[d] = s
			}
			s.For = append(s.For, nests[i].Needs[t.need].catch(t, days, d))
		}
		// The runs that one lid serves, and among the open days that all of them hold the best.
		var group []target
		settle := func() {
			if len(group) == 0 {
				return
			}
			lo, hi := 0, len(days)-1
			for _, t := range group {
				lo, hi = max(lo, t.lo), min(hi, t.hi)
			}
			best, top := -1, -1.0
			for d := lo; d <= hi; d++ {
				var sum float64
				for _, t := range group {
					sum += nests[i].Needs[t.need].Serves(days[d])
				}
				if now.before[d] == d && sum > top {
					best, top = d, sum
				}
			}
			for _, t := range group {
				put(t, best)
			}
			visits[days[best]] = true
			group = group[:0]
		}
		on := -1
		plan.Lids += now.pierce(lid[i], func(t target, d int) {
			if d != on {
				settle()
			}
			on = d
			group = append(group, t)
		})
		settle()
		// A count from the aisle goes with a visit where there is one.
		for _, t := range aisle[i] {
			d := now.last(t)
			if d < 0 {
				d = t.hi
			}
			put(t, d)
		}
		for _, s := range at {
			plan.Stops = append(plan.Stops, *s)
		}
	}
	slices.SortFunc(plan.Stops, func(a, b Stop) int {
		if a.Day != b.Day {
			return int(a.Day - b.Day)
		}
		return a.Nest - b.Nest
	})
	for d := range visits {
		plan.Visits = append(plan.Visits, d)
	}
	slices.Sort(plan.Visits)
	return plan
}

// useful returns the first and last day on which a look may serve.
func (n *Need) useful() (from, to Day) {
	if len(n.event.Days) == 0 {
		return 0, -1
	}
	return n.event.Days[0].Day + Day(n.lo), n.event.Days[len(n.event.Days)-1].Day + Day(n.hi)
}

// late says that the need may still be served on a day or after it.
func (n *Need) late(day Day) bool {
	_, to := n.useful()
	return to >= day
}

// targets turns the need into runs of the keeper's days. It is nil when none of them serves,
// or when the need can wait: the best day is after the end.
func (n *Need) targets(days []Day, at int, end Day) []target {
	p := make([]float64, len(days))
	top := -1
	for i, d := range days {
		p[i] = n.Serves(d)
		if p[i] > 0.01 && (top < 0 || p[i] > p[top]+1e-9) {
			top = i
		}
	}
	if top < 0 {
		return nil
	}
	// A better day after the end: it is planned when the time comes.
	if _, to := n.useful(); to >= end && p[top] < Enough {
		for d := end; d <= to; d++ {
			if n.Serves(d) > p[top] {
				return nil
			}
		}
	}
	run := func(ok func(i int) bool, from int) target {
		t := target{need: at, lo: from, hi: from}
		for t.lo > 0 && ok(t.lo-1) {
			t.lo--
		}
		for t.hi < len(days)-1 && ok(t.hi+1) {
			t.hi++
		}
		return t
	}
	if p[top] >= Enough {
		return []target{run(func(i int) bool { return p[i] >= Enough }, top)}
	}
	// Two looks, of which one falls into the window.
	best, a, b := p[top], -1, -1
	for i := range days {
		if p[i] <= 0 {
			continue
		}
		for j := i + 1; j < len(days); j++ {
			if p[j] <= 0 {
				continue
			}
			both := p[i] + p[j] - n.event.Between(max(days[i], days[j])-Day(n.hi), min(days[i], days[j])-Day(n.lo))
			if both > best+1e-9 {
				best, a, b = both, i, j
			}
		}
	}
	if best >= Enough && n.Kind != LookRing {
		return []target{{need: at, lo: a, hi: a}, {need: at, lo: b, hi: b}}
	}
	// The best there is. Rings are planned anew when the chicks are seen, so one look stands
	// for them until then.
	t := run(func(i int) bool { return p[i] >= p[top]-0.02 }, top)
	t.short = true
	return []target{t}
}

func (n *Need) catch(t target, days []Day, d int) Catch {
	c := Catch{Need: t.need, Kind: n.Kind, P: n.Serves(days[d]), Short: t.short}
	for i, day := range days {
		if p := n.Serves(day); i != d && p > c.Otherwise {
			c.Otherwise, c.OtherDay = p, day
		}
	}
	return c
}

// openDays are the days on which lids may be lifted.
type openDays struct {
	before []int // the last open day up to each; -1 when none
}

func newOpenDays(open []bool) *openDays {
	o := &openDays{make([]int, len(open))}
	last := -1
	for i, is := range open {
		if is {
			last = i
		}
		o.before[i] = last
	}
	return o
}

// last is the last open day of a run; -1 when there is none.
func (o *openDays) last(t target) int {
	if d := o.before[t.hi]; d >= t.lo {
		return d
	}
	return -1
}

// pierce returns the fewest open days that hit all runs, sorted by their ends, or -1 when a
// run has no open day; use is told each run and its day.
func (o *openDays) pierce(runs []target, use func(t target, day int)) int {
	n, at := 0, -1
	for _, t := range runs {
		if at < t.lo {
			if at = o.last(t); at < 0 {
				return -1
			}
			n++
		}
		if use != nil {
			use(t, at)
		}
	}
	return n
}

// gather closes days, the least used first, as long as every nest does with as few lids.
func gather(lid [][]target, counts []int, open []bool) {
	for range open {
		o := newOpenDays(open)
		used := make([]int, len(open))
		for _, runs := range lid {
			at := -1
			o.pierce(runs, func(_ target, d int) {
				if d != at {
					used[d]++
				}
				at = d
			})
		}
		order := make([]int, 0, len(open))
		for d := range open {
			if open[d] {
				order = append(order, d)
			}
		}
		slices.SortStableFunc(order, func(a, b int) int { return used[a] - used[b] })
		closed := false
		for _, d := range order {
			open[d] = false
			try := newOpenDays(open)
			ok := true
			for i, runs := range lid {
				if try.pierce(runs, nil) != counts[i] {
					ok = false
					break
				}
			}
			if ok {
				closed = true
				if used[d] > 0 {
					break // the looks have moved: count anew
				}
				continue
			}
			open[d] = true
		}
		if !closed {
			return
		}
	}
}
