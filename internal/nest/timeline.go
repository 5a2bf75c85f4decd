package nest

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

const (
	// OverdueAfter is how many days past the likely day an event may be called overdue,
	// and then only when its latest day is past too. Sitting may begin a day or two late
	// without showing, and in zebra finches 13 and 15 to 16 days happen where 14 are
	// looked for (Lockwood and Massey, Bird Scene 2017-2018); eggs called dead a day too
	// early are lost for nothing.
	OverdueAfter = 3

	// AgeDoubt is the doubt either way of a chick's age when the keeper gives none.
	// Common practice, no source.
	AgeDoubt = 2

	// missedDays is how many mornings without an egg one clutch is given at most. "A
	// missed day is not rare"; two in one clutch is a judgement. Common practice, no source.
	missedDays = 2

	// mostStretch is by how many days the ranges of a profile are widened to fit what
	// looks show. What is further off is a look to doubt, not a range. A judgement.
	mostStretch = 3

	// veinsShow is the days of sitting before an egg can be seen to be fertile: one that
	// dies within some 72 hours shows nothing (Marshall, via the ZSL blog).
	veinsShow = 3

	// Eggs laid after sitting has begun hatch later, but by less than the days between
	// their laying: the share of the lag that is left, least, likely and most. Light
	// sitting before the steady start can spread the hatch by a further day. The shares
	// are judgements; with them a clutch of five sat on from the third or fourth egg
	// hatches over two to four days, which is what is published of zebra finches (see
	// HatchSpread).
	lagLeast, lagLikely, lagMost = 0.5, 0.8, 1.0
	lightSitting                 = 1.0
)

// HatchSpread returns the days from the first hatch to the last in a clutch of so many
// eggs, sat on steadily from the egg of number start, when every egg hatches. The brood
// hatches over one calendar day more than that. It is unknown when the laying interval is.
func HatchSpread(p Profile, eggs, start int) Range {
	i := p.LayingInterval.clean(0.5)
	if !i.Known || eggs < 1 || start < 1 {
		return Range{}
	}
	return i.spread(float64(min(eggs, mostCount)), float64(start))
}

func (i Range) spread(eggs, start float64) Range {
	after := max(0, eggs-start) // eggs laid once sitting is steady
	light := min(lightSitting, max(0, min(start, eggs)-1))
	return Range{
		Low:     lagLeast * after * i.Low,
		Typical: lagLikely * after * i.Typical,
		High:    lagMost*i.slow(after) + light,
		Known:   true,
	}
}

// slow returns the longest that k further eggs take: the usual days, and missedDays gaps
// of the longest kind.
func (i Range) slow(k float64) float64 {
	return k*i.Typical + min(k, missedDays)*(i.High-i.Typical)
}

// input is what one clutch's timeline is worked out from.
type input struct {
	p     Profile
	looks []found
	zero  Day // the day that sums of days start from
	asked Day

	laid    int  // eggs of the clutch, at least
	lateAt  int  // index of the first look with an egg too late for the clutch; -1
	closed  bool // no further egg came where one was due, or the keeper says so
	foster  bool // all eggs or chicks came from other nests
	n, k    Range
	stretch float64
	notes   []string

	eggsAt, youngAt, outAt int // index of the first look that shows them; -1
	noneBefore             int // index of the last look without eggs before the first with; -1
	noYoungBefore          int
	noOutBefore            int
}

// clue is one bound that a look puts on one node.
type clue struct {
	node  int
	upper bool
	day   float64
	rank  int // lower is surer
	says  string
}

// Timeline works out the course of the latest clutch in a nest on the day asked, from the
// species profile and the looks up to that day. Looks may come in any order and later
// ones than asked are left aside, so an earlier day gives what was known then.
//
// It is the one door to the timeline. No input makes it panic. Time is linear in the
// number of looks.
func Timeline(p Profile, looks []Look, asked Day) Course {
	asked = min(max(asked, -farDay), farDay)
	known := make([]Look, 0, len(looks))
	for _, l := range looks {
		if l.Day <= asked {
			known = append(known, l)
		}
	}
	in := &input{p: p.clean(), asked: asked, zero: asked}
	if all := Clutches(known); len(all) > 0 {
		in.looks = reckon(all[len(all)-1])
		in.zero = in.looks[0].Day
	}
	return in.course()
}

func (in *input) rel(d Day) float64 { return float64(d - in.zero) }

func (in *input) course() Course {
	c := Course{Asked: in.asked, in: in}
	for k := range c.Events {
		c.Events[k].Kind = Kind(k)
	}
	in.scan()
	shape, now := in.solve()
	in.fill(&c, shape, now)
	c.Counts = in.counts()
	c.Questions = in.questions(&c)
	c.Stage = c.On(in.asked)
	for k := range c.Events {
		c.Events[k].Overdue = in.overdue(&c, Kind(k))
	}
	c.Next = in.next(&c)
	c.Notes = in.notes
	return c
}

func (in *input) note(format string, a ...any) {
	s := fmt.Sprintf(format, a...)
	if !slices.Contains(in.notes, s) {
		in.notes = append(in.notes, s)
	}
}

// scan finds what the looks show first and last, and the size of the clutch.
func (in *input) scan() {
	in.eggsAt, in.youngAt, in.outAt, in.lateAt = -1, -1, -1, -1
	in.noneBefore, in.noYoungBefore, in.noOutBefore = -1, -1, -1
	from, eggsShown := 0, false // zeros before look from do not bound the first egg
	for i, f := range in.looks {
		eggsShown = eggsShown || f.eggs > 0
		if f.Found || f.FirstEggUnknown {
			from = i
		}
		if in.eggsAt < 0 && (f.own > 0 || f.eggs > 0 || f.EggsMovedIn > 0 || f.young()) {
			in.eggsAt = i
		}
		if in.youngAt < 0 && f.young() {
			in.youngAt = i
		}
		if in.outAt < 0 && (val(f.Out) > 0 || f.Weaned > 0) {
			in.outAt = i
		}
		if in.youngAt < 0 && f.Chicks != nil && *f.Chicks == 0 {
			in.noYoungBefore = i
		}
	}
	for i, f := range in.looks {
		if in.eggsAt >= 0 && i >= in.eggsAt {
			break
		}
		// Where no look ever shows an egg, none may have meant that all had hatched,
		// unless the chicks were counted too.
		if i >= from && f.exact && f.eggs == 0 && (eggsShown || in.youngAt < 0 || f.Chicks != nil) {
			in.noneBefore = i
		}
	}
	in.count()
	in.closed = in.closedAt() >= 0
	for i, f := range in.looks {
		if in.youngAt >= 0 && i >= in.youngAt && (in.outAt < 0 || i < in.outAt) {
			in.noOut(i, f)
		}
	}
	if in.youngAt >= 0 && in.looks[in.youngAt].chicksIn > 0 {
		in.noYoungBefore = -1 // the chicks hatched in another nest
	}
	var moved int
	for _, f := range in.looks {
		moved += f.EggsMovedIn + f.ChicksMovedIn
	}
	in.foster = moved > 0 && in.laid == 0
	in.size()
}

// count sets the eggs of the clutch. An egg that comes when the count has stood for more
// than a week is not one of them.
func (in *input) count() {
	stood := -1 // the first look that shows all the eggs so far
	var until Day
	for i := range in.looks {
		f := &in.looks[i]
		if f.own > in.laid {
			if stood >= 0 && until-in.looks[stood].Day > lateEgg {
				in.lateAt = i
				return
			}
			in.laid, stood = f.own, -1
		}
		if f.own > 0 && in.countedAll(i) && f.total() >= in.laid {
			if stood < 0 {
				stood = i
			}
			until = f.Day
		}
	}
}

// noOut marks a look that shows all young still in the nest.
func (in *input) noOut(i int, f found) {
	gone := f.eggsTaken + f.eggsOut - f.eggsIn + f.eggs + f.dead + f.weaned + f.chicksOut - f.chicksIn
	all := in.closed && f.exact && f.Chicks != nil && *f.Chicks > 0 && *f.Chicks >= f.own-gone
	if f.Out != nil && *f.Out == 0 || f.Out == nil && all {
		in.noOutBefore = i
	}
}

// countedAll says that the look's count takes in every egg laid by then: the chicks were
// counted too, or it is too soon for any. Young out are seen without lifting a lid, so
// none noted is taken as none.
func (in *input) countedAll(i int) bool {
	f := &in.looks[i]
	if !f.exact {
		return false
	}
	if f.Chicks != nil {
		return true
	}
	j := in.noneBefore
	return j >= 0 && j < i && f.Day-in.looks[j].Day <= soonestHatch
}

// closedAt returns the index of the look by which the clutch was complete, or -1. A
// clutch is complete at the first of two looks with the same whole count between which
// another egg was due, or at a look where the keeper says so.
func (in *input) closedAt() int {
	gap := 2.0 // one missed morning, where the profile does not say
	if i := in.p.LayingInterval; i.Known {
		gap = max(1, i.High)
	}
	best := -1
	said := -1
	for i := range in.looks {
		f := &in.looks[i]
		if f.own != in.laid || f.own == 0 {
			continue
		}
		if in.lateAt >= 0 && i >= in.lateAt {
			break
		}
		if said < 0 && f.ClutchComplete != nil && *f.ClutchComplete {
			said = i
		}
		if best >= 0 || !in.countedAll(i) || f.total() < in.laid {
			continue
		}
		for j := i + 1; j < len(in.looks); j++ {
			if g := &in.looks[j]; in.countedAll(j) && g.total() >= in.laid && in.rel(g.Day)-in.rel(f.Day) >= gap {
				best = i
				break
			}
		}
	}
	if best < 0 || said >= 0 && said < best {
		return said
	}
	return best
}

// size sets the range of the clutch size and of the egg with which sitting starts.
func (in *input) size() {
	n := float64(max(in.laid, 1))
	if c := in.p.ClutchSize; c.Known {
		in.n = Range{max(c.Low, n), max(c.Typical, n), max(c.High, n), true}
		if float64(in.laid) > c.High {
			in.note("At least %d eggs were laid, more than the usual %s: two hens, or eggs laid elsewhere?", in.laid, eggs(c))
		}
	}
	if in.closed {
		if c := in.p.ClutchSize; c.Known && n < c.Low {
			in.note("Laying seems to have stopped at %d, fewer than the usual %s eggs.", in.laid, eggs(c))
		}
		in.n = Range{n, n, n, true}
	}
	if s := in.p.IncubationStartsAtEgg; s.Known {
		in.k = s
		if in.n.Known {
			in.k = Range{min(s.Low, in.n.Low), min(s.Typical, in.n.Typical), min(s.High, in.n.High), true}
		}
	}
}

// link is the days from one event to another.
type link struct {
	from, to int
	days     Range // High may be infinite
}

func (in *input) links() []link {
	inf := math.Inf(1)
	p := in.p
	ls := []link{
		{nodeFirst, nodeSitting, Range{Low: 0, High: inf}},
		{nodeFirst, nodeComplete, Range{Low: 0, High: inf}},
		{nodeSitting, nodeComplete, Range{Low: 0, High: inf}},
		{nodeHatch, nodeLast, Range{Low: 0, High: inf}},
		{nodeSitting, nodeHatch, Range{Low: 1, High: inf}},
		{nodeHatch, nodeOut, Range{Low: 1, High: inf}},
	}
	if i := p.LayingInterval; i.Known && !in.foster {
		if in.k.Known {
			ls = append(ls, link{nodeFirst, nodeSitting, Range{(in.k.Low - 1) * i.Low, (in.k.Typical - 1) * i.Typical, i.slow(in.k.High - 1), true}})
		}
		if in.n.Known {
			ls = append(ls, link{nodeFirst, nodeComplete, Range{(in.n.Low - 1) * i.Low, (in.n.Typical - 1) * i.Typical, i.slow(in.n.High - 1), true}})
		}
		if in.n.Known && in.k.Known {
			ls = append(ls,
				link{nodeSitting, nodeComplete, Range{0, 0, i.slow(in.n.High - in.k.Low), false}},
				link{nodeHatch, nodeLast, Range{0, i.spread(in.n.Typical, in.k.Typical).Typical, i.spread(in.n.High, in.k.Low).High, true}})
		}
	}
	if p.Incubation.Known {
		ls = append(ls, link{nodeSitting, nodeHatch, p.Incubation})
	}
	if p.FledgeAge.Known {
		ls = append(ls, link{nodeHatch, nodeOut, p.FledgeAge})
	}
	return ls
}

// clues gathers what the looks say, surest first.
func (in *input) clues() []clue {
	var cs []clue
	add := func(node int, upper bool, day float64, rank int, format string, a ...any) {
		cs = append(cs, clue{node, upper, day, rank, fmt.Sprintf(format, a...)})
	}
	day := func(i int) float64 { return in.rel(in.looks[i].Day) }
	if i := in.eggsAt; i >= 0 {
		add(nodeFirst, true, day(i), 0, "eggs were seen")
		if j := in.noneBefore; j >= 0 && !in.foster {
			add(nodeFirst, false, min(day(j)+1, day(i)), 1, "a look without eggs")
		}
	}
	if i := in.youngAt; i >= 0 {
		add(nodeHatch, true, day(i), 0, "young were seen")
		if j := in.noYoungBefore; j >= 0 {
			add(nodeHatch, false, day(j), 1, "a look without chicks")
		}
	}
	if i := in.outAt; i >= 0 {
		add(nodeOut, true, day(i), 0, "young were out")
		if j := in.noOutBefore; j >= 0 {
			add(nodeOut, false, day(j), 1, "a look with all young in the nest")
		}
	}
	if !in.foster {
		in.layingClues(add)
	}
	in.otherClues(add)
	slices.SortStableFunc(cs, func(a, b clue) int { return cmp.Compare(a.rank, b.rank) })
	return cs
}

type adder func(node int, upper bool, day float64, rank int, format string, a ...any)

// layingClues bounds the first and last egg by the counts while the hen lays.
func (in *input) layingClues(add adder) {
	i := in.p.LayingInterval
	if !i.Known {
		i = Range{Low: 1, Typical: 1, High: math.Inf(1)}
	}
	before := -1 // the last look with a whole count
	for j := range in.looks {
		f := &in.looks[j]
		if in.youngAt >= 0 && j >= in.youngAt || in.lateAt >= 0 && j >= in.lateAt {
			break
		}
		d := in.rel(f.Day)
		prev := 0
		if before >= 0 {
			prev = in.looks[before].own
		}
		if f.own > prev || before < 0 && f.own > 0 {
			if in.p.LayingInterval.Known {
				add(nodeFirst, true, d-float64(f.own-1)*i.Low, 2, "%d eggs", f.own)
				if k := in.k; k.Known && float64(f.own) >= k.High {
					add(nodeSitting, true, d-(float64(f.own)-k.High)*i.Low, 2, "%d eggs", f.own)
				}
			}
			if before >= 0 && prev > 0 {
				b := in.rel(in.looks[before].Day)
				if in.p.LayingInterval.Known {
					add(nodeFirst, false, min(b+1, d)-i.slow(float64(prev)), 2, "%d eggs and then %d", prev, f.own)
				}
				if k := in.k; k.Known && float64(prev) < k.Low {
					add(nodeSitting, false, min(b+(k.Low-float64(prev))*i.Low, d), 2, "%d eggs and then %d", prev, f.own)
				}
				add(nodeComplete, false, min(b+float64(f.own-prev)*i.Low, d), 2, "%d eggs and then %d", prev, f.own)
			}
		}
		if f.exact {
			before = j
		}
	}
	if j := in.closedAt(); j >= 0 {
		add(nodeComplete, true, in.rel(in.looks[j].Day), 2, "no egg after the %s", ordinal(in.laid))
	}
}

// otherClues bounds sitting and hatching by what else a look says.
func (in *input) otherClues(add adder) {
	sat := -1
	chicks, moved, chickDay := -1, 0, 0.0 // at the last look that counted chicks, and brought since
	for j := range in.looks {
		f := &in.looks[j]
		d := in.rel(f.Day)
		if sat < 0 && f.Sitting != nil && *f.Sitting && (in.youngAt < 0 || j < in.youngAt) {
			sat = j
			add(nodeSitting, true, d, 2, "a bird sat tight")
		}
		if f.Fertile > 0 && (in.youngAt < 0 || j < in.youngAt) && !in.foster {
			add(nodeSitting, true, d-veinsShow, 3, "fertile when candled")
		}
		if f.AgeDays != nil {
			doubt := float64(AgeDoubt)
			if f.AgePlusMinus != nil {
				doubt = float64(*f.AgePlusMinus)
			}
			add(nodeHatch, true, d-float64(*f.AgeDays)+doubt, 3, "chicks of about %d days", *f.AgeDays)
			add(nodeHatch, false, d-float64(*f.AgeDays)-doubt, 3, "chicks of about %d days", *f.AgeDays)
		}
		if in.foster && f.EggsMovedIn > 0 {
			if w := f.EggsDue; w != nil {
				add(nodeHatch, true, in.rel(w.Late), 3, "the days foretold where the eggs were laid")
				add(nodeHatch, false, in.rel(w.Early), 3, "the days foretold where the eggs were laid")
			} else if in.p.Incubation.Known {
				add(nodeHatch, true, d+in.p.Incubation.High, 3, "eggs moved in")
			}
			if in.youngAt < 0 || in.youngAt > j {
				add(nodeHatch, false, d, 3, "eggs moved in")
			}
		}
		if f.Chicks != nil {
			if chicks >= 0 && *f.Chicks > chicks+moved {
				add(nodeLast, false, chickDay, 3, "more chicks than before")
			}
			chicks, chickDay, moved = *f.Chicks, d, 0
		}
		moved += f.ChicksMovedIn
	}
	for j := sat - 1; j >= 0; j-- {
		if f := &in.looks[j]; f.Sitting != nil && !*f.Sitting {
			add(nodeSitting, false, in.rel(f.Day), 3, "no bird sat")
			break
		}
	}
}

// solve builds the net of the clutch: shape without the looks that found "not yet", now
// with them.
func (in *input) solve() (shape, now net) {
	links, clues := in.links(), in.clues()
	build := func(s float64) net {
		n := newNet()
		for _, l := range links {
			n.between(l.from, l.to, max(min(l.days.Low, 1), l.days.Low-s), l.days.High+s)
		}
		return n
	}
	fits := func(n *net) bool {
		for _, c := range clues {
			if !n.clue(c) {
				return false
			}
		}
		return true
	}
	ok := false
	for in.stretch = 0; in.stretch <= mostStretch; in.stretch++ {
		shape = build(in.stretch)
		if ok = fits(&shape); ok {
			break
		}
	}
	if ok && in.stretch > 0 {
		in.note("What was seen lies up to %s outside the usual ranges, so they are widened by as much.", days(in.stretch))
	}
	if !ok {
		in.stretch = mostStretch
		shape = build(in.stretch)
		var left []string
		for _, c := range clues {
			if shape.clue(c) {
				continue
			}
			if !slices.Contains(left, c.says) {
				left = append(left, c.says)
			}
			if c.rank == 1 { // the look does not bracket the event after all
				switch c.node {
				case nodeFirst:
					in.noneBefore = -1
				case nodeHatch:
					in.noYoungBefore = -1
				case nodeOut:
					in.noOutBefore = -1
				}
			}
		}
		in.note("The looks contradict each other or the usual ranges: %s does not fit and is left aside, and the ranges are widened by %s.",
			strings.Join(left, ", "), days(in.stretch))
	}
	now = shape
	in.notYet(&now)
	return shape, now
}

func (n *net) clue(c clue) bool {
	if c.upper {
		return n.add(origin, c.node, c.day)
	}
	return n.add(c.node, origin, -c.day)
}

// notYet cuts off the days that looks have shown to be too early for what no look has
// shown yet. A look past the latest day cuts off nothing: the event is late or will not
// come.
func (in *input) notYet(n *net) {
	// Of the looks without, the latest that fits: one past the latest day says nothing.
	for _, f := range slices.Backward(in.looks[:in.noYoungBefore+1]) {
		if in.eggsAt < 0 || in.youngAt >= 0 {
			break
		}
		if f.Chicks != nil && *f.Chicks == 0 && f.own > 0 && n.add(nodeHatch, origin, -in.rel(f.Day)) {
			break
		}
	}
	if in.youngAt >= 0 && in.outAt < 0 && in.noOutBefore >= 0 {
		n.add(nodeOut, origin, -in.rel(in.looks[in.noOutBefore].Day))
	}
	for _, f := range slices.Backward(in.looks) {
		if f.Sitting == nil {
			continue
		}
		if !*f.Sitting && f.eggs > 0 {
			n.add(nodeSitting, origin, -in.rel(f.Day))
		}
		break
	}
}
