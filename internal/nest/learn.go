package nest

import "math"

// stats is what one clutch tells of the species' values, as means under its posterior.
type stats struct {
	days, gaps float64   // days from first egg to last, and eggs after the first
	incubation []float64 // chances from incLo on
	incLo      int
	sit        []float64 // chances of the egg with which sitting began, given that it is told
	sitTold    float64   // chance that it is: the clutch went on past it
	clutch     []float64
	made       [3]float64 // eggs told of: that would hatch, dead, clear
	ages       []float64  // chances of the age at the first fledging, given that it is seen
}

func (s *stats) close(all float64, inc []float64, incLo int, sit, clutch []float64) {
	if all <= 0 {
		return
	}
	s.days /= all
	s.gaps /= all
	s.incubation, s.incLo = numbers(inc).P, incLo
	for _, x := range sit {
		s.sitTold += x / all
	}
	s.sit = numbers(sit).P
	s.clutch = numbers(clutch).P
}

// Move is how far finished clutches have moved one value of the species.
type Move struct {
	What   string
	Unit   string
	Before float64 // mean before
	After  float64 // mean after
	// Weight is the say that the clutches have against the value before: from 0, none, to
	// nearly 1.
	Weight float64
	// Clutches is how many clutches' worth was told. A clutch that leaves the value half open
	// counts as a half.
	Clutches float64
}

// Learned is a model moved by finished clutches.
type Learned struct {
	Model    *Model
	Moves    []Move
	Clutches int
}

// How many clutches, or eggs, the published value is worth against a room's own. They are
// judgements: published ranges hold whole species and many rooms, and a dozen clutches of a
// room should be heard about as loudly.
const (
	clutchWorth = 12.0 // clutches, for a distribution of days or eggs
	eggWorth    = 40.0 // eggs, for a share
	gapWorth    = 40.0 // mornings
	delayWorth  = 5.0  // clutches
	rounds      = 4    // of going over the clutches; the means stand still to a hundredth after it
)

// Learn moves the model by finished clutches of one room, or of one pair: each value is a
// distribution over whole numbers with a Dirichlet prior, or a share with a beta prior, whose
// centre is the value before. What a clutch leaves open is filled in by its posterior, over
// and over (the EM algorithm of Dempster, Laird and Rubin 1977, Journal of the Royal
// Statistical Society B 39, 1-38, for the most probable values under the prior). Learn from
// a room first and from a pair's own clutches after it, and a pair leans on its room and the
// room on the species. The model before is not changed: to start anew is to use it.
//
// Rates of loss and desertion stay as they are: a few clutches tell little of them.
func (m *Model) Learn(clutches []History) *Learned {
	out := &Learned{Model: m, Clutches: len(clutches)}
	if len(clutches) == 0 {
		return out
	}
	now := m
	var t *totals
	for range rounds {
		t = newTotals(m)
		for _, h := range clutches {
			last := Day(math.MinInt32)
			for _, l := range h.Looks {
				last = max(last, l.Day)
			}
			if len(h.Looks) > 0 {
				t.add(now, h, now.Posterior(h, last))
			}
		}
		now = t.model()
	}
	out.Model = now
	out.Moves = t.moves(now)
	return out
}

// totals is what all clutches tell.
type totals struct {
	m                         *Model
	clutch, sit, inc, fledge  tallyOf
	gaps, missed              float64
	eggs, full, embryos, dead float64
	delays, delaySum          float64
	fullKnown, gapNest        float64
}

// tallyOf is counts for one distribution.
type tallyOf struct {
	of    *chances
	count []float64
	n     float64 // clutches counted
	known float64 // of these, how much they tell
}

func newTally(c *chances) tallyOf { return tallyOf{of: c, count: make([]float64, len(c.p))} }

// add counts a distribution p, which starts at lo, as w clutches.
func (t *tallyOf) add(p []float64, lo int, w float64) {
	var mean, sq, in float64
	for i, x := range p {
		if k := lo + i - t.of.lo; k >= 0 && k < len(t.count) {
			t.count[k] += w * x
			in += x
		}
		mean += x * float64(i)
		sq += x * float64(i) * float64(i)
	}
	t.n += w * in
	if v := t.of.variance(); v > 0 {
		t.known += w * in * max(0, 1-(sq-mean*mean)/v)
	}
}

func (t *tallyOf) chances() chances {
	p := make([]float64, len(t.count))
	for i, x := range t.of.p {
		p[i] = clutchWorth*x + t.count[i]
	}
	return normalised(t.of.lo, p, 0)
}

func newTotals(m *Model) *totals {
	return &totals{m: m, clutch: newTally(&m.clutch), sit: newTally(&m.sit), inc: newTally(&m.incubation), fledge: newTally(&m.fledge)}
}

func (t *totals) add(now *Model, h History, p *Posterior) {
	if p.Fit > OneOff {
		return // too odd to learn from
	}
	s := &p.stats
	if p.Fit == Fits && s.clutch != nil {
		laid := p.Event(FirstEgg).Chance
		t.clutch.add(s.clutch, 0, laid)
		t.sit.add(s.sit, 0, laid*s.sitTold)
		t.inc.add(s.incubation, s.incLo, laid)
		t.gaps += laid * s.gaps
		t.missed += laid * max(0, s.days-s.gaps)
		t.gapNest += laid
		if h.Began != nil && laid > 0.99 {
			t.delays++
			t.delaySum += p.Event(FirstEgg).Mean() - float64(*h.Began)
		}
	}
	// Eggs of one clutch are alike, so that they count for less than as many of different ones.
	alike := func(share Share, n float64) float64 {
		if n <= 0 {
			return 0
		}
		return (share.Weight + 1) / (share.Weight + max(n, 1))
	}
	full, all := s.made[0]+s.made[1], s.made[0]+s.made[1]+s.made[2]
	w := alike(now.rates.Fertile, all)
	t.full += w * full
	t.eggs += w * all
	if all > 0 {
		var v float64
		for f, x := range p.Fertile.P {
			v += x * (float64(f) - p.Fertile.Mean()) * (float64(f) - p.Fertile.Mean())
		}
		e := min(int(all+0.5), mostEggs)
		c := chances{0, now.fert[e]}
		if v0 := c.variance(); v0 > 0 {
			t.fullKnown += max(0, 1-v/v0)
		}
	}
	w = alike(now.rates.EmbryoDies, full)
	t.dead += w * s.made[1]
	t.embryos += w * full
	if out := p.Event(Fledge); out.Chance > 0 && s.ages != nil {
		t.fledge.add(s.ages, now.fledge.lo, out.Chance)
	}
}

func (t *totals) model() *Model {
	m := *t.m
	m.clutch, m.sit, m.incubation, m.fledge = t.clutch.chances(), t.sit.chances(), t.inc.chances(), t.fledge.chances()
	r := &m.rates
	// A morning within a clutch brings an egg or is missed.
	missed := (gapWorth*t.m.missed() + t.missed) / (gapWorth + t.missed + t.gaps)
	m.gap = gaps(missed, Range{})
	r.Missed = missed
	r.Fertile.Mean = (eggWorth*r.Fertile.Mean + t.full) / (eggWorth + t.eggs)
	r.EmbryoDies.Mean = (eggWorth*r.EmbryoDies.Mean + t.dead) / (eggWorth + t.embryos)
	// The mean wait is longer than Delay: some pairs take their time.
	wait := (delayWorth*t.m.wait() + t.delaySum) / (delayWorth + t.delays)
	r.Delay = max(1, r.Delay*wait/t.m.wait())
	m.rates = r.clean()
	m.spread = m.spreadOf()
	m.finish()
	return &m
}

// wait is the mean of days from the start of a round to the first egg.
func (m *Model) wait() float64 { return chances{0, m.delay}.mean() }

// missed is the chance that a morning brings no egg, as the gaps have it.
func (m *Model) missed() float64 { return 1 - m.gap.at(1) }

func (t *totals) moves(now *Model) []Move {
	of := func(what, unit string, c *tallyOf, after chances) Move {
		return Move{what, unit, c.of.mean(), after.mean(), c.known / (c.known + clutchWorth), c.known}
	}
	b, a := &t.m.rates, &now.rates
	full := t.fullKnown / max(t.gapNest, 1)
	return []Move{
		of("clutch", "eggs", &t.clutch, now.clutch),
		of("sits from egg", "egg number", &t.sit, now.sit),
		of("sitting", "days", &t.inc, now.incubation),
		of("fledging age", "days", &t.fledge, now.fledge),
		{"mornings without an egg", "of 1", t.m.missed(), now.missed(), t.gaps / (t.gaps + gapWorth), t.gapNest},
		{"full eggs", "of 1", b.Fertile.Mean, a.Fertile.Mean, full * t.eggs / (t.eggs + eggWorth), t.fullKnown},
		{"full eggs that die", "of 1", b.EmbryoDies.Mean, a.EmbryoDies.Mean, full * t.embryos / (t.embryos + eggWorth), t.fullKnown},
		{"wait for the first egg", "days", t.m.wait(), now.wait(), t.delays / (t.delays + delayWorth), t.delays},
	}
}
