package nest

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// settle gives every bounded node its likely day: the best-known of first egg, sitting
// and hatch is set first, and the typical days lead from it to the others, each held
// inside what the days set before it allow. A node without bounds is NaN.
func (in *input) settle(n net) [nodes]float64 {
	var at [nodes]float64
	for i := range at {
		at[i] = math.NaN()
	}
	if !n.bounded(nodeHatch) && !n.bounded(nodeSitting) && !n.bounded(nodeFirst) {
		return at
	}
	typical := map[[2]int]float64{}
	for _, l := range in.links() {
		if l.days.Known {
			typical[[2]int{l.from, l.to}] = l.days.Typical
		}
	}
	fix := func(i int, want float64) {
		if !n.bounded(i) || !math.IsNaN(at[i]) {
			return
		}
		lo, hi := n.lo(i), n.hi(i)
		if math.IsNaN(want) {
			want = (lo + hi) / 2
		}
		at[i] = min(max(want, lo), hi)
		n.add(origin, i, at[i])
		n.add(i, origin, -at[i])
	}
	// lead sets node i from a node that is set, by the typical days between them.
	lead := func(i, from int) {
		want := math.NaN()
		if t, ok := typical[[2]int{from, i}]; ok {
			want = at[from] + t
		} else if t, ok := typical[[2]int{i, from}]; ok {
			want = at[from] - t
		} else if math.IsNaN(at[from]) {
			return
		}
		fix(i, want)
	}
	best := nodeFirst
	for _, i := range []int{nodeSitting, nodeHatch} {
		if n.bounded(i) && (!n.bounded(best) || n.width(i) < n.width(best)-slip) {
			best = i
		}
	}
	fix(best, in.guess(best))
	switch best {
	case nodeFirst:
		lead(nodeSitting, nodeFirst)
		lead(nodeHatch, nodeSitting)
	case nodeSitting:
		lead(nodeFirst, nodeSitting)
		lead(nodeHatch, nodeSitting)
	case nodeHatch:
		lead(nodeSitting, nodeHatch)
		lead(nodeFirst, nodeSitting)
	}
	lead(nodeComplete, nodeFirst)
	lead(nodeLast, nodeHatch)
	lead(nodeOut, nodeHatch)
	for i := range at {
		if i != origin {
			fix(i, math.NaN())
		}
	}
	return at
}

// guess returns the likely day of a node from the looks alone, or NaN.
func (in *input) guess(node int) float64 {
	switch node {
	case nodeFirst:
		// While the hen lays, the count dates the first egg.
		i, seen := in.p.LayingInterval, false
		if !i.Known || in.foster {
			return math.NaN()
		}
		guess := math.NaN()
		for j, f := range in.looks {
			if in.youngAt >= 0 && j >= in.youngAt {
				break
			}
			if f.own > 0 && (j == 0 || f.own > in.looks[j-1].own) {
				if j > 0 && in.noneBefore >= 0 || !math.IsNaN(guess) {
					seen = true
				}
				guess = in.rel(f.Day) - float64(f.own-1)*i.Typical
			}
		}
		if seen {
			return guess
		}
	case nodeHatch:
		guess, doubt := math.NaN(), mostCount+1
		for _, f := range in.looks {
			if f.AgeDays != nil {
				d := AgeDoubt
				if f.AgePlusMinus != nil {
					d = *f.AgePlusMinus
				}
				if d < doubt {
					guess, doubt = in.rel(f.Day)-float64(*f.AgeDays), d
				}
			}
			if w := f.EggsDue; w != nil && in.foster && math.IsNaN(guess) {
				guess = in.rel(w.Likely)
			}
		}
		return guess
	}
	return math.NaN()
}

func (in *input) day(x float64) Day { return in.zero + Day(math.Floor(x+0.5)) }

// span is a range of days in the making.
type span struct {
	early, likely, late float64
	known               bool
}

func (s span) plus(r Range, stretch float64) span {
	if !s.known || !r.Known {
		return span{}
	}
	return span{s.early + r.Low - stretch, s.likely + r.Typical, s.late + r.High + stretch, true}
}

func spanOf(n *net, at *[nodes]float64, node int) span {
	if !n.bounded(node) || math.IsNaN(at[node]) {
		return span{}
	}
	return span{n.lo(node), at[node], n.hi(node), true}
}

// whole returns the span in whole days: a bound inside a day takes in that day.
func (in *input) whole(s span) (early, likely, late Day) {
	early = in.zero + Day(math.Floor(s.early+slip))
	late = in.zero + Day(math.Ceil(s.late-slip))
	return early, min(max(in.day(s.likely), early), late), late
}

func (in *input) fill(c *Course, shape, now net) {
	was, at := in.settle(shape), in.settle(now)
	set := func(k Kind, s, sh span) *Event {
		e := &c.Events[k]
		if !s.known {
			return e
		}
		e.Known = true
		e.Early, e.Likely, e.Late = in.whole(s)
		e.From, e.To = e.Early, e.Late
		e.shapeEarly, e.shapeLikely, e.shapeLate = in.whole(sh)
		return e
	}
	over := in.over()
	for _, x := range []struct {
		kind Kind
		node int
	}{
		{FirstEgg, nodeFirst},
		{SittingFrom, nodeSitting},
		{ClutchComplete, nodeComplete},
		{Hatch, nodeHatch},
		{LastHatch, nodeLast},
		{Fledge, nodeOut},
	} {
		if in.foster && (x.kind == FirstEgg || x.kind == ClutchComplete) {
			continue
		}
		set(x.kind, spanOf(&now, &at, x.node), spanOf(&shape, &was, x.node))
	}
	sit, hatch := spanOf(&now, &at, nodeSitting), spanOf(&now, &at, nodeHatch)
	aim := func(k Kind, s span, r Range) {
		w := s.plus(r, 0)
		e := set(k, w, w)
		if e.Known {
			e.From = min(max(in.day(s.likely+r.Low), e.Early), e.Likely)
			e.To = max(min(in.day(s.likely+r.High), e.Late), e.Likely)
		}
	}
	aim(Candle, sit, in.p.CandlingAge)
	aim(Ring, hatch, in.p.RingAge)
	wean := hatch.plus(in.p.IndependenceAge, 0)
	set(Wean, wean, wean)
	if i := in.p.IndependenceAge; i.Known {
		late := hatch.plus(Range{i.High, i.High, i.High, true}, 0)
		set(Part, late, late)
	}
	in.seen(c)
	if over {
		for k := range c.Events {
			if e := &c.Events[k]; e.Known && !e.Happened {
				*e = Event{Kind: e.Kind, Basis: "This clutch is over, so it is not looked for."}
			}
		}
	}
	in.bases(c)
}

// act sets an event that the keeper does, on the days of the first and last such look.
func (in *input) act(e *Event, did func(f found) bool) {
	for _, f := range in.looks {
		if did(f) {
			d := f.Day
			kind := e.Kind
			*e = Event{
				Kind: kind, Early: d, Likely: d, Late: d, From: d, To: d,
				Seen: true, Happened: true, Known: true,
				shapeEarly: d, shapeLikely: d, shapeLate: d,
			}
			return
		}
	}
}

// seen marks what looks show to have happened, and what they show from both sides.
func (in *input) seen(c *Course) {
	mark := func(k Kind, happened, both bool) {
		e := &c.Events[k]
		e.Happened = happened
		e.Seen = happened && both && e.Known
	}
	young := in.youngAt >= 0
	var rise, sat, left, age, due bool
	for j, f := range in.looks {
		if in.youngAt < 0 || j < in.youngAt {
			rise = rise || j > 0 && in.looks[j-1].own > 0 && f.own > in.looks[j-1].own
			if f.Sitting != nil {
				sat = sat || *f.Sitting
				left = left || !*f.Sitting && !sat
			}
		}
		age = age || f.AgeDays != nil
		due = due || f.EggsDue != nil
	}
	mark(FirstEgg, in.eggsAt >= 0, in.noneBefore >= 0 && !in.foster)
	mark(ClutchComplete, young || in.closed, in.closed && (rise || in.noneBefore >= 0))
	mark(SittingFrom, young || sat, sat && left)
	mark(Hatch, young, young && (in.noYoungBefore >= 0 || age))
	mark(Fledge, in.outAt >= 0, in.noOutBefore >= 0)
	if f := in.last(); f != nil && young {
		done := f.exact && f.eggs == 0
		mark(LastHatch, done || in.outAt >= 0, false)
	}
	in.act(&c.Events[Candle], func(f found) bool { return f.Candled })
	in.act(&c.Events[Ring], func(f found) bool { return f.Ringed > 0 })
	in.act(&c.Events[Wean], func(f found) bool { return f.Weaned > 0 })
	in.act(&c.Events[Part], func(f found) bool { return f.Weaned > 0 })
}

func (in *input) last() *found {
	if len(in.looks) == 0 {
		return nil
	}
	return &in.looks[len(in.looks)-1]
}

// over says that nothing of the clutch is left to wait for: counts show neither eggs nor
// chicks where there were some, and no young are out.
func (in *input) over() bool {
	eggs, young := in.left()
	return in.eggsAt >= 0 && eggs == 0 && young == 0
}

// left returns the eggs and young that the latest counts leave in the nest and out of it;
// -1 where the looks do not say.
func (in *input) left() (eggs, young int) {
	if in.eggsAt < 0 {
		return -1, -1
	}
	eggs, young = -1, -1
	if in.youngAt < 0 {
		young = 0
	}
	chicks, out := -1, 0
	began := in.looks[in.eggsAt]
	for j, f := range in.looks {
		had := chicks + out
		if f.Chicks != nil {
			chicks = *f.Chicks
		} else if chicks >= 0 {
			chicks = max(0, chicks-val(f.DeadChicks))
		}
		if f.Out != nil {
			if f.Chicks == nil && chicks >= 0 {
				chicks = max(0, chicks-max(0, *f.Out-out))
			}
			out = *f.Out
		} else if f.Chicks != nil && j > 0 && had > *f.Chicks && in.grown(f.Day) {
			out = max(out, had-*f.Chicks-val(f.DeadChicks)) // they may have left the nest
		}
		if f.eggs >= 0 && (f.exact || f.eggs > 0) {
			eggs = f.eggs
			if in.youngAt < 0 {
				// Without a count of chicks, an empty place may be a hatch.
				mayHatch := f.Day-began.Day >= soonestHatch || began.Found || in.noneBefore < 0
				young = 0
				if eggs == 0 && f.Chicks == nil && mayHatch {
					young = -1
				}
			}
		}
		if eggs >= 0 {
			eggs = max(0, eggs-f.EggsRemoved-f.EggsMovedOut) + f.EggsMovedIn
		}
		if eggs < 0 && f.EggsMovedIn > 0 {
			eggs = f.EggsMovedIn
		}
		if f.ChicksMovedIn > 0 || f.ChicksMovedOut > 0 || f.Weaned > 0 {
			chicks = max(0, max(0, chicks)+f.ChicksMovedIn-f.ChicksMovedOut)
			rest := f.Weaned - out
			out = max(0, -rest)
			chicks = max(0, chicks-max(0, rest))
		}
		if chicks >= 0 {
			young = chicks + out
		} else if out > 0 {
			young = out
		}
	}
	return eggs, young
}

// grown says that young in this nest could have left it by the day: the youngest fledging
// age has passed since the first look that showed them, or since their estimated hatch.
func (in *input) grown(d Day) bool {
	if in.youngAt < 0 {
		return false
	}
	age := in.p.FledgeAge
	if !age.Known {
		return true
	}
	born := in.looks[in.youngAt].Day
	if in.noYoungBefore >= 0 {
		born = in.looks[in.noYoungBefore].Day
	} else {
		born -= Day(math.Ceil(age.High))
	}
	for _, f := range in.looks {
		if f.AgeDays != nil {
			born = min(born, f.Day-Day(*f.AgeDays+AgeDoubt))
		}
	}
	return float64(d-born) >= age.Low-mostStretch
}

func (in *input) overdue(c *Course, k Kind) bool {
	e := c.Events[k]
	if !e.Known || e.Happened || in.asked <= e.Late || in.asked < e.Likely+OverdueAfter {
		return false
	}
	switch k {
	case Hatch:
		good, candled := in.good()
		return in.eggsAt >= 0 && !(candled && good == 0) // clear eggs are not late
	case Fledge, Wean, Part:
		return in.youngAt >= 0
	case Candle:
		return in.eggsAt >= 0 && in.youngAt < 0
	case Ring:
		return in.youngAt >= 0 && in.outAt < 0
	}
	return false
}

// bases writes the sentence each range rests on.
func (in *input) bases(c *Course) {
	p := in.p
	start := in.startWords()
	for k := range c.Events {
		e := &c.Events[k]
		if e.Basis != "" {
			continue
		}
		var says string
		switch e.Kind {
		case FirstEgg:
			says = in.firstWords(e)
		case ClutchComplete:
			says = in.completeWords(e)
		case SittingFrom:
			says = in.sittingWords(e, start)
		case Candle:
			says = unless(e.Seen, "Candled at a look.", "Days of sitting", p.CandlingAge, "from the start of sitting")
		case Hatch:
			says = in.hatchWords(e, start)
		case LastHatch:
			says = "Later eggs hatch up to their days of laying after the first."
			if in.n.Known {
				says = fmt.Sprintf("A clutch of %s, %s; later eggs hatch up to their days of laying after the first.", eggs(in.n), start)
			}
		case Ring:
			says = unless(e.Seen, "Young were ringed at a look.", "Ring age", p.RingAge, "from the first hatch, which is day 0")
		case Fledge:
			says = unless(e.Seen, "Young out at one look and none at the look before.", "Fledging age", p.FledgeAge, "from the first hatch")
			if e.Happened && !e.Seen {
				says = "Young were seen out; " + lower(says)
			}
		case Wean:
			says = unless(e.Seen, "Young were parted at a look.", "Age of feeding themselves", p.IndependenceAge, "from the first hatch")
		case Part:
			says = unless(e.Seen, "Young were parted at a look.", "", Range{}, "")
			if !e.Seen && p.IndependenceAge.Known {
				says = fmt.Sprintf("The late age of feeding themselves, %s, from the first hatch.", days(p.IndependenceAge.High))
			}
		}
		if !e.Known && !strings.HasPrefix(says, "Not known") {
			says = "Not known: " + in.missing(e.Kind)
		}
		e.Basis = says
	}
}

// missing says what an unknown event lacks.
func (in *input) missing(k Kind) string {
	lacks := ""
	switch k {
	case Candle:
		lacks = unknown(in.p.CandlingAge, "the candling age")
	case Ring:
		lacks = unknown(in.p.RingAge, "the ring age")
	case Fledge:
		lacks = unknown(in.p.FledgeAge, "the fledging age")
	case Wean, Part:
		lacks = unknown(in.p.IndependenceAge, "the age of feeding themselves")
	}
	if lacks == "" && (k == FirstEgg || k == ClutchComplete) && in.foster {
		return "the eggs were laid in another nest."
	}
	if lacks == "" && in.eggsAt < 0 {
		return "no egg has been seen."
	}
	if lacks == "" && k != FirstEgg {
		lacks = unknown(in.p.Incubation, "the incubation")
		if lacks == "" || k == SittingFrom || k == ClutchComplete {
			if l := unknown(in.p.LayingInterval, "the days between eggs"); l != "" {
				lacks = l
			} else if l := unknown(in.p.IncubationStartsAtEgg, "the egg sitting starts at"); l != "" && k != ClutchComplete {
				lacks = l
			} else if l := unknown(in.p.ClutchSize, "the clutch size"); l != "" && k == ClutchComplete {
				lacks = l
			}
		}
	}
	if lacks == "" {
		return "the looks do not say when it all began."
	}
	return lacks + " of this species is not known."
}

func unknown(r Range, name string) string {
	if r.Known {
		return ""
	}
	return name
}

// unless returns seen when the look shows the event, otherwise the profile value.
func unless(isSeen bool, seen, name string, r Range, from string) string {
	if isSeen {
		return seen
	}
	return fmt.Sprintf("%s %s %s.", name, r.words(), from)
}

func (in *input) firstWords(e *Event) string {
	if !e.Known {
		return ""
	}
	var counts []string
	for j, f := range in.looks {
		if in.youngAt >= 0 && j >= in.youngAt {
			break
		}
		if f.exact && f.own > 0 && (j == 0 || f.own > in.looks[j-1].own) {
			counts = append(counts, strconv.Itoa(f.own))
		}
	}
	s := "Counted back from the chicks"
	if len(counts) > 0 {
		s = "Counts of " + strings.Join(counts, ", ") + " eggs"
		if counts[0] == "1" && len(counts) == 1 {
			s = "A count of 1 egg"
		}
	}
	if in.noneBefore >= 0 {
		s += " after a look with none"
	}
	if in.p.LayingInterval.Known {
		s += "; an egg every " + in.p.LayingInterval.words() + " " + plural(in.p.LayingInterval.High, "day")
	}
	return s + "."
}

func (in *input) completeWords(e *Event) string {
	switch {
	case !e.Known:
		return ""
	case in.closed:
		return fmt.Sprintf("No egg was added after the %s.", ordinal(in.laid))
	case in.n.Known && in.p.LayingInterval.Known:
		return fmt.Sprintf("A clutch of %s, an egg every %s days; %d seen so far.", eggs(in.n), in.p.LayingInterval.words(), in.laid)
	}
	return "Worked out from the days around it."
}

func (in *input) startWords() string {
	if !in.k.Known {
		return "the egg sitting starts at is not known"
	}
	return "sat on from egg " + in.k.words()
}

func (in *input) sittingWords(e *Event, start string) string {
	switch {
	case !e.Known:
		return ""
	case in.foster:
		return "Counted back from the hatch: the eggs were sat on elsewhere first."
	case e.Seen:
		return "A bird sat tight at one look and none at a look before."
	}
	return strings.ToUpper(start[:1]) + start[1:] + "."
}

func (in *input) hatchWords(e *Event, start string) string {
	if !e.Known {
		return ""
	}
	age := false
	for _, f := range in.looks {
		age = age || f.AgeDays != nil
	}
	inc := "incubation unknown"
	if in.p.Incubation.Known {
		inc = "incubation " + in.p.Incubation.words() + " days"
	}
	switch {
	case in.youngAt >= 0 && in.noYoungBefore >= 0:
		return "Chicks at one look and none at the look before; " + inc + "."
	case age:
		return "Counted back from the estimated age of the chicks."
	case in.foster:
		return "Eggs moved in; " + inc + ", less what they were sat on before."
	}
	return strings.ToUpper(start[:1]) + start[1:] + "; " + inc + "."
}

// words writes a range as a keeper reads it: "14.5 (13 to 16)".
func (r Range) words() string {
	if r.Low == r.High {
		return number(r.Typical)
	}
	return fmt.Sprintf("%s (%s to %s)", number(r.Typical), number(r.Low), number(r.High))
}

func eggs(r Range) string {
	if r.Low == r.High {
		return number(r.Low)
	}
	return number(r.Low) + " to " + number(r.High)
}

func number(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

func plural(x float64, noun string) string {
	if x == 1 {
		return noun
	}
	return noun + "s"
}

func days(x float64) string { return number(x) + " " + plural(x, "day") }

func ordinal(n int) string {
	switch {
	case n%10 == 1 && n%100 != 11:
		return strconv.Itoa(n) + "st"
	case n%10 == 2 && n%100 != 12:
		return strconv.Itoa(n) + "nd"
	case n%10 == 3 && n%100 != 13:
		return strconv.Itoa(n) + "rd"
	}
	return strconv.Itoa(n) + "th"
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
