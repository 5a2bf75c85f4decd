package outcome

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Days is a number of whole days since the start of something.
type Days int

// Spell is one subject under watch, from day to day of its own clock, both ends included: had it happened on one of
// these days, it would have been seen. A subject whose start was not watched has a later From ("delayed entry": that it
// had not happened before is known, or it would not be here). Event says that it happened on day To; otherwise it had
// not happened by the end of To, and nobody knows what came after.
type Spell struct {
	From, To Days
	Event    bool
}

// Step is a day on which it happened to somebody.
type Step struct {
	Day            Days
	AtRisk, Events int
	Survival       float64 // share that is still waiting at the end of the day
	Greenwood      float64 // sum of d/(n(n−d)); the variance of Survival is Survival² times it. 0 once nobody is left.
}

// Curve is the product-limit estimate of how long it takes, from Start on.
type Curve struct {
	Start    Days   // the curve is of those to whom it had not happened before Start
	Steps    []Step // in order of days
	Subjects int    // spells that were watched on Start or later
	Events   int    // to how many of them it happened

	from, to []Days // sorted
	last     Days
}

// KaplanMeier returns the product-limit estimate of Kaplan and Meier (1958): over the days on which it happened to d of
// the n at risk, the product of (n−d)/n. Of events and ends of watching on one day the events come first, so that those
// whose watch ends on a day count as at risk on it. With delayed entry n counts those under watch alone (Tsai, Jewell
// and Wang 1987). Ties need no care. The order of the spells makes no difference. Time is O(n log n).
//
// It panics on a spell that ends before it begins.
func KaplanMeier(spells []Spell) *Curve {
	c := &Curve{Subjects: len(spells)}
	var events []Days
	for _, s := range spells {
		if s.To < s.From {
			panic(fmt.Sprintf("outcome: a spell from day %d to day %d", s.From, s.To))
		}
		c.from, c.to = append(c.from, s.From), append(c.to, s.To)
		if s.Event {
			events = append(events, s.To)
		}
	}
	slices.Sort(c.from)
	slices.Sort(c.to)
	slices.Sort(events)
	c.Events = len(events)
	if len(spells) > 0 {
		c.Start, c.last = c.from[0], c.to[len(c.to)-1]
	}
	for i := 0; i < len(events); {
		day, d := events[i], 0
		for ; i < len(events) && events[i] == day; i++ {
			d++
		}
		c.Steps = append(c.Steps, Step{Day: day, AtRisk: c.AtRisk(day), Events: d})
	}
	c.fill()
	return c
}

// fill works out the products and sums along the steps.
func (c *Curve) fill() {
	s, g := 1.0, 0.0
	for i := range c.Steps {
		x := &c.Steps[i]
		n, d := float64(x.AtRisk), float64(x.Events)
		if x.Events == x.AtRisk {
			s, g = 0, 0
		} else if s > 0 {
			s *= (n - d) / n
			g += d / (n * (n - d))
		}
		x.Survival, x.Greenwood = s, g
	}
}

// AtRisk returns how many are under watch on a day and had not seen it happen before that day.
func (c *Curve) AtRisk(day Days) int {
	return before(c.from, day+1) - before(c.to, day)
}

// before counts the days of a sorted list that lie before a day.
func before(list []Days, day Days) int {
	n, _ := slices.BinarySearch(list, day)
	return n
}

// Last returns the last day on which anybody was watched, and whether there was any. After it the curve says nothing,
// unless it has come down to 0.
func (c *Curve) Last() (Days, bool) { return c.last, len(c.to) > 0 && c.last >= c.Start }

// Given returns the curve of those to whom it had not happened by the end of a day: the product over later days alone,
// with all who are then under watch. It stands also where the whole curve has come down to 0 by a few early entries.
func (c *Curve) Given(day Days) *Curve {
	out := &Curve{Start: max(c.Start, day+1), from: c.from, to: c.to, last: c.last}
	for _, s := range c.Steps {
		if s.Day >= out.Start {
			out.Steps = append(out.Steps, s)
			out.Events += s.Events
		}
	}
	out.Subjects = len(c.to) - before(c.to, out.Start)
	out.fill()
	return out
}

// at returns the last step on or before a day.
func (c *Curve) at(day Days) (Step, bool) {
	i, found := slices.BinarySearchFunc(c.Steps, day, func(s Step, d Days) int { return int(s.Day - d) })
	if found {
		i++
	}
	if i == 0 {
		return Step{Survival: 1}, false
	}
	return c.Steps[i-1], true
}

// Survival returns the share that is still waiting at the end of a day: 1 before the first event. After Last it keeps
// its last value, which is then an upper bound only.
func (c *Curve) Survival(day Days) float64 {
	s, _ := c.at(day)
	return s.Survival
}

// Variance returns Greenwood's (1926) variance of Survival on a day; 0 where Survival is 0 or 1, of which the formula
// says nothing.
func (c *Curve) Variance(day Days) float64 {
	s, _ := c.at(day)
	return s.Survival * s.Survival * s.Greenwood
}

// LogLog returns the interval of Survival on a day by Greenwood's variance on the scale log(−log S), as Kalbfleisch and
// Prentice (1980) have it. ok is false where Survival is 0 or 1: the scale has no such point.
func (c *Curve) LogLog(day Days, level float64) (lo, hi float64, ok bool) {
	mustLevel(level)
	s, _ := c.at(day)
	if s.Survival <= 0 || s.Survival >= 1 {
		return 0, 1, false
	}
	z := distuv.UnitNormal.Quantile(1 - (1-level)/2)
	spread := z * math.Sqrt(s.Greenwood) / -math.Log(s.Survival)
	return math.Pow(s.Survival, math.Exp(spread)), math.Pow(s.Survival, math.Exp(-spread)), true
}

// Interval returns the interval of Survival on a day by the beta product of Fay, Brittain and Proschan (2013), fitted by
// its first two moments. Without censoring it is the exact interval of Clopper and Pearson; it stands for few subjects,
// and where Survival is 0 or 1. With delayed entry the numbers at risk are those of [KaplanMeier], which the paper does
// not treat.
func (c *Curve) Interval(day Days, level float64) (lo, hi float64) {
	mustLevel(level)
	m, q := 1.0, 1.0 // first and second moment of the product
	times := func(a, b float64) {
		m *= a / (a + b)
		q *= a * (a + 1) / ((a + b) * (a + b + 1))
	}
	for _, s := range c.Steps {
		if s.Day > day {
			break
		}
		times(float64(s.AtRisk-s.Events+1), float64(s.Events))
	}
	tail := (1 - level) / 2
	hi = betaQuantile(m, q, 1-tail)
	if n := c.AtRisk(max(day, c.Start-1) + 1); n > 0 {
		times(float64(n), 1)
		lo = betaQuantile(m, q, tail)
	}
	at := c.Survival(day)
	return min(lo, at), max(hi, at)
}

// betaQuantile is the quantile of the beta distribution with mean m and second moment q; m = 1 is the point 1.
func betaQuantile(m, q, p float64) float64 {
	v := q - m*m
	if m >= 1 || v <= 0 {
		return m
	}
	k := m*(1-m)/v - 1
	return mathext.InvRegIncBeta(m*k, (1-m)*k, p)
}

func mustLevel(level float64) {
	if !(level > 0 && level < 1) {
		panic(fmt.Sprintf("outcome: level %v is not between 0 and 1", level))
	}
}

// Bounds names a way to bound a curve.
type Bounds int

// The ways: log(−log) with Greenwood's variance, and the beta product.
const (
	ByLogLog Bounds = iota
	ByBetaProduct
)

// Quantile is the day by which it has happened to a share.
type Quantile struct {
	Day   Days
	Known bool // false when the curve ends before
	// Low and High are the ends of the interval, each known or open.
	Low, High           Days
	LowKnown, HighKnown bool
}

// sameShare is how near two shares count as one: products of the same fractions in another order differ by less.
const sameShare = 1e-9

// Quantile returns the first day by the end of which it has happened to a share p or more, with the interval of
// Brookmeyer and Crowley (1982): the days on which p cannot be told from the curve at the level, which are those between
// the crossings of the lower and the upper bound. It panics unless 0 < p < 1 and 0 < level < 1.
func (c *Curve) Quantile(p, level float64, by Bounds) Quantile {
	if !(p > 0 && p < 1) {
		panic(fmt.Sprintf("outcome: quantile %v is not between 0 and 1", p))
	}
	mustLevel(level)
	var out Quantile
	for _, s := range c.Steps {
		lo, hi, ok := 0.0, 1.0, true
		if by == ByBetaProduct {
			lo, hi = c.Interval(s.Day, level)
		} else {
			lo, hi, ok = c.LogLog(s.Day, level)
		}
		if !out.Known && s.Survival <= 1-p+sameShare {
			out.Day, out.Known = s.Day, true
		}
		if ok && !out.LowKnown && lo <= 1-p+sameShare {
			out.Low, out.LowKnown = s.Day, true
		}
		if ok && !out.HighKnown && hi <= 1-p+sameShare {
			out.High, out.HighKnown = s.Day, true
		}
	}
	if out.Known && !out.LowKnown {
		out.Low, out.LowKnown = out.Day, true // no lower bound lies above the curve, even where the scale has no point
	}
	return out
}

// Chance is a chance with its interval, and on how many it rests.
type Chance struct {
	Value, Low, High float64
	Known            bool // false when nobody was watched so late
	AtLeast          bool // on some of the days nobody was watched: the value, and Low, are lower bounds and High is 1
	AtRisk, Events   int  // waiting on the day after; events in the days asked for
}

// Within returns the chance that it happens in the k days after a day, for one to whom it had not happened by the end of
// that day.
func (c *Curve) Within(day, k Days, level float64) Chance {
	g := c.Given(day)
	out := Chance{AtRisk: c.AtRisk(g.Start)}
	end := day + k
	if out.AtRisk == 0 || end < g.Start {
		out.High = 1
		return out
	}
	for _, s := range g.Steps {
		if s.Day <= end {
			out.Events += s.Events
		}
	}
	lo, hi := g.Interval(end, level)
	out.Value, out.Low, out.High, out.Known = 1-g.Survival(end), 1-hi, 1-lo, true
	for d := g.Start; d <= end && out.Value < 1; d++ {
		if c.AtRisk(d) == 0 {
			out.AtLeast, out.High = true, 1
			break
		}
	}
	return out
}
