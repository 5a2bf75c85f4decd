package nest

import (
	"math"
	"slices"
)

// Share is a share of eggs that differs from clutch to clutch: a beta distribution of mean
// Mean whose spread is that of Weight eggs. A pair that lays clear eggs lays more of them,
// so eggs of one clutch are not independent; a small Weight says so.
type Share struct {
	Mean   float64 // from 0 to 1
	Weight float64 // eggs; more than 0
}

// Rates are the chances of a clutch that a [Profile] does not hold. Figures of captive
// estrildids outside the zebra finch are scarce, so a room's own clutches are let to move
// them (see [Learn]).
type Rates struct {
	Missed     float64 // chance that a morning brings no egg while the clutch is laid
	Fertile    Share   // full eggs of those laid
	EmbryoDies Share   // full eggs that die before they hatch, the nest being sat on

	EggLost    float64 // a day: an egg is lost from a nest before the hatch: broken, thrown out, eaten
	BadEggLost float64 // a day: an egg that will not hatch goes from the nest once others have hatched
	Deserted   float64 // a day from the last egg to the hatch: the whole clutch is left
	LostYoung  float64 // a day in the first fourteen after the hatch: the whole brood is left
	Emptied    float64 // of the nests that fail, those in which nothing is left lying

	// ChickDies is the chance a day that a chick dies while the brood lives: in the first
	// three days after the hatch, to the eighth, and later.
	ChickDies [3]float64
	DeadFound float64 // of the chicks that die, those that the keeper finds

	Delay, DelaySD float64 // days from the start of a round to the first egg
	Never          float64 // chance that a pair set up does not lay at all
}

// DefaultRates are the chances before a room has shown its own.
//
// Fertile and EmbryoDies are the shares of more than 23,000 captive zebra finch eggs, 17 in
// 100 without a sign of life and 24 in 100 of the rest dead before the hatch (Pei et al.
// 2020, The American Naturalist; from memory). That most chicks that die do so in the first
// 48 hours is of Ihle et al. (2015, PLoS Biology); the chances a day are set to lose about
// one chick in four, which is fewer than the 30 to 40 in 100 of large aviaries (Pei et al.;
// from memory). All other values are judgements from common practice, without a source.
func DefaultRates() Rates {
	return Rates{
		Missed:     0.1,
		Fertile:    Share{0.83, 4},
		EmbryoDies: Share{0.24, 6},
		EggLost:    0.003,
		BadEggLost: 0.04,
		Deserted:   0.008,
		LostYoung:  0.006,
		Emptied:    0.3,
		ChickDies:  [3]float64{0.05, 0.015, 0.005},
		DeadFound:  0.5,
		Delay:      12,
		DelaySD:    8,
		Never:      0.15,
	}
}

const (
	least = 1e-300 // below this a weight is nothing
	// broodRisk is how many days after the hatch a whole brood may still be left: by then
	// the young are feathered. Common practice, no source.
	broodRisk = 14
	// longestSpread is the most days between the first hatch of a clutch and another.
	longestSpread = 6
	// longestGap is the most days from one egg to the next of the same clutch.
	longestGap = 4
	// mostEggs is the largest clutch the model holds, foster eggs included. Two hens in one
	// box leave 10 to 12 (common practice).
	mostEggs = 16
)

// chances is a distribution over whole numbers: p[i] is the chance of lo+i.
type chances struct {
	lo int
	p  []float64
}

func (c chances) at(n int) float64 {
	if n -= c.lo; n < 0 || n >= len(c.p) {
		return 0
	}
	return c.p[n]
}

func (c chances) hi() int { return c.lo + len(c.p) - 1 }

func (c chances) mean() float64 {
	var s float64
	for i, p := range c.p {
		s += p * float64(c.lo+i)
	}
	return s
}

func (c chances) variance() float64 {
	m, s := c.mean(), 0.0
	for i, p := range c.p {
		s += p * (float64(c.lo+i) - m) * (float64(c.lo+i) - m)
	}
	return s
}

// above is the chance of more than n.
func (c chances) above(n int) float64 {
	var s float64
	for i, p := range c.p {
		if c.lo+i > n {
			s += p
		}
	}
	return s
}

func normalised(lo int, p []float64, cut float64) chances {
	var sum float64
	for _, x := range p {
		sum += x
	}
	for i := range p {
		p[i] /= sum
	}
	a, b := 0, len(p)
	for a < b-1 && p[a] < cut {
		a++
	}
	for b > a+1 && p[b-1] < cut {
		b--
	}
	p = slices.Clone(p[a:b])
	sum = 0
	for _, x := range p {
		sum += x
	}
	for i := range p {
		p[i] /= sum
	}
	return chances{lo + a, p}
}

// chances turns a range of a profile into chances of whole numbers. The mean is the typical
// value. Low to High is read as the middle 95 in 100, each side with its own width, so that
// the clutch of the Gouldian finch, 5.2 (3 to 8), has the published standard deviation of
// about 1.3 (Tidemann et al. 1999, Emu 99, 191-199).
func (r Range) chances(least int) chances {
	const sides, narrow, cut = 2.0, 0.4, 2e-4
	below, above := max((r.Typical-r.Low)/sides, narrow), max((r.High-r.Typical)/sides, narrow)
	lo, hi := max(least, int(math.Floor(r.Low-2*below-1))), int(math.Ceil(r.High+2*above+1))
	var got chances
	peak := r.Typical
	for range 40 {
		// The share of a two-sided normal below x.
		under := func(x float64) float64 {
			if x <= peak {
				return below * math.Erfc((peak-x)/(below*math.Sqrt2))
			}
			return below + above*math.Erf((x-peak)/(above*math.Sqrt2))
		}
		p := make([]float64, hi-lo+1)
		for i := range p {
			x := float64(lo + i)
			p[i] = under(x+0.5) - under(x-0.5)
		}
		got = normalised(lo, p, cut)
		off := r.Typical - got.mean()
		if math.Abs(off) < 1e-6 {
			break
		}
		peak = min(max(peak+off, float64(lo)), float64(hi))
	}
	return got
}

// Model is the day-by-day model of one clutch of a species in a room. It is not changed by
// use, so one model serves any number of nests, and several at once.
type Model struct {
	profile Profile
	rates   Rates
	// Notes say which values of the profile are unknown and what stands in for them.
	Notes []string

	clutch, sit, incubation, gap, fledge, independent chances
	spread                                            chances // days after the first hatch at which another egg hatches
	delay                                             []float64

	blank  *Posterior                 // nothing known but a first egg on day 0
	incMid int                        // the usual incubation in whole days
	cum    [longestSpread + 2]float64 // chance that another egg hatches by the start of that day after the first
	comp   [mostEggs + 1][]float64    // of e eggs: the chance of v that will hatch and d that die, see tri
	hatch  [mostEggs + 1][]float64    // of e eggs: the chance of v that will hatch
	fert   [mostEggs + 1][]float64    // of e eggs: the chance of f full
	risk   [broodRisk + 2]float64     // chance a day that the brood is left, by days after the first hatch
	total  [mostEggs + 1][]float64    // of v eggs alive on the day of the first hatch: the chance that k hatch in all
	last   [mostEggs + 1][]float64    // the same: the chance that the last hatches j days after the first
	out    [mostEggs + 1][]float64    // the same: the chance that the first leaves the nest at each age, from the least
	grown  [mostEggs + 1]float64      // the same: the mean number that leave the nest
}

// finches stands in for a range that a profile does not know: the whole range of the
// estrildid finches in this tool's species table.
var finches = Profile{
	LayingInterval:        Range{1, 1.1, 2, true},
	IncubationStartsAtEgg: Range{1, 3.5, 5, true},
	Incubation:            Range{11, 13.5, 16, true},
	ClutchSize:            Range{3, 4.8, 8, true},
	CandlingAge:           Range{6, 7, 8, true},
	RingAge:               Range{7, 8, 10, true},
	FledgeAge:             Range{17, 21, 27, true},
	IndependenceAge:       Range{33, 41, 49, true},
}

// NewModel returns the model of a species whose rates are r.
func NewModel(p Profile, r Rates) *Model {
	m := &Model{profile: p.clean(), rates: r.clean()}
	for _, f := range []struct {
		name string
		to   *Range
		from Range
	}{
		{"laying interval", &m.profile.LayingInterval, finches.LayingInterval},
		{"egg with which sitting starts", &m.profile.IncubationStartsAtEgg, finches.IncubationStartsAtEgg},
		{"incubation", &m.profile.Incubation, finches.Incubation},
		{"clutch size", &m.profile.ClutchSize, finches.ClutchSize},
		{"age for candling", &m.profile.CandlingAge, finches.CandlingAge},
		{"age for ringing", &m.profile.RingAge, finches.RingAge},
		{"fledging age", &m.profile.FledgeAge, finches.FledgeAge},
		{"age of independence", &m.profile.IndependenceAge, finches.IndependenceAge},
	} {
		if !f.to.Known {
			*f.to = f.from
			m.Notes = append(m.Notes, "The species' "+f.name+" is not known here; the range of all finches stands in.")
		}
	}
	p = m.profile
	m.clutch = p.ClutchSize.chances(1)
	m.sit = p.IncubationStartsAtEgg.chances(1)
	m.incubation = p.Incubation.chances(8)
	m.fledge = p.FledgeAge.chances(longestSpread + 3)
	m.independent = p.IndependenceAge.chances(m.fledge.lo + 1)
	m.gap = gaps(m.rates.Missed, p.LayingInterval)
	m.spread = m.spreadOf()
	m.finish()
	return m
}

func (r Rates) clean() Rates {
	d := DefaultRates()
	part := func(x *float64, or, most float64) {
		if !(*x >= 0 && *x <= 1) {
			*x = or
		}
		*x = min(*x, most)
	}
	part(&r.Missed, d.Missed, 0.9)
	for _, s := range []struct{ of, or *Share }{{&r.Fertile, &d.Fertile}, {&r.EmbryoDies, &d.EmbryoDies}} {
		if !(s.of.Mean >= 0 && s.of.Mean <= 1) || !(s.of.Weight > 0 && s.of.Weight < 1e6) {
			*s.of = *s.or
		}
		// A share of 0 or 1 would make a look that shows otherwise impossible.
		s.of.Mean = min(max(s.of.Mean, 0.001), 0.999)
	}
	part(&r.EggLost, d.EggLost, 0.5)
	part(&r.BadEggLost, d.BadEggLost, 0.5)
	part(&r.Deserted, d.Deserted, 0.5)
	part(&r.LostYoung, d.LostYoung, 0.5)
	part(&r.Emptied, d.Emptied, 1)
	for i := range r.ChickDies {
		part(&r.ChickDies[i], d.ChickDies[i], 0.9)
	}
	part(&r.DeadFound, d.DeadFound, 1)
	part(&r.Never, d.Never, 1)
	if !(r.Delay >= 1 && r.Delay < 100) || !(r.DelaySD > 0 && r.DelaySD < 100) {
		r.Delay, r.DelaySD = d.Delay, d.DelaySD
	}
	return r
}

// gaps are the days from one egg to the next: one, and one more for each morning missed.
// Where a species' usual interval is more than a day, the missed mornings make it so.
func gaps(missed float64, interval Range) chances {
	if interval.Typical > 1 {
		missed = max(missed, 1-1/interval.Typical)
	}
	p := make([]float64, longestGap)
	q := 1.0
	for i := range p {
		p[i] = q * (1 - missed)
		q *= missed
	}
	return normalised(1, p, 0)
}

// spreadOf is how many days after the first chick another egg hatches. Eggs laid before
// steady sitting hatch with the first or a day behind it, since they were warmed a little
// before; each egg laid later lags by its share of the days (see [HatchSpread]).
func (m *Model) spreadOf() chances {
	early := []float64{0.7, 0.25, 0.05} // a judgement: see lightSitting
	p := make([]float64, longestSpread+1)
	mean := m.gap.mean()
	for i, pn := range m.clutch.p {
		n := m.clutch.lo + i
		for j, pk := range m.sit.p {
			k := min(m.sit.lo+j, n)
			if n < 2 {
				continue
			}
			w := pn * pk / float64(n-1)
			for d, q := range early {
				p[d] += w * q * float64(k-1)
			}
			for late := 1; late <= n-k; late++ {
				at := lagLikely * mean * float64(late)
				for d, q := range early {
					x := min(at+float64(d), longestSpread)
					whole := math.Floor(x)
					p[int(whole)] += w * q * (1 - (x - whole))
					if x > whole {
						p[int(whole)+1] += w * q * (x - whole)
					}
				}
			}
		}
	}
	return normalised(0, p, 1e-3)
}

// tri is the place of (v, d) among the ways to part e eggs into v, d and the rest.
func tri(v, d, e int) int { return v*(e+1) - v*(v-1)/2 + d }

// finish works out the tables that follow from the distributions and rates.
func (m *Model) finish() {
	r := &m.rates
	m.incMid = int(math.Round(m.incubation.mean()))
	for j := range m.cum {
		m.cum[j] = 0
		for d := range j {
			m.cum[j] += m.spread.at(d)
		}
	}
	for j := range m.risk {
		m.risk[j] = 0
		if j >= 1 && j <= broodRisk && j < m.fledge.lo {
			m.risk[j] = r.LostYoung
		}
	}
	for e := range m.comp {
		m.comp[e] = make([]float64, (e+1)*(e+2)/2)
		m.fert[e], m.hatch[e] = make([]float64, e+1), make([]float64, e+1)
		for f := 0; f <= e; f++ {
			pf := betaBinomial(r.Fertile, e, f)
			m.fert[e][f] = pf
			for d := 0; d <= f; d++ {
				p := pf * betaBinomial(r.EmbryoDies, f, d)
				m.comp[e][tri(f-d, d, e)] = p
				m.hatch[e][f-d] += p
			}
		}
	}
	for v := 1; v <= mostEggs; v++ {
		m.total[v], m.last[v] = m.ahead(v-1, 0, 1)
		m.out[v], m.grown[v] = make([]float64, len(m.fledge.p)), 0
	}
	stay := 1.0
	for _, p := range m.risk {
		stay *= 1 - p
	}
	for i, pa := range m.fledge.p {
		age := m.fledge.lo + i
		first, other := m.lives(0, age), 0.0
		for y, p := range m.spread.p {
			other += p * m.lives(m.spread.lo+y, age)
		}
		for v := 1; v <= mostEggs; v++ {
			m.out[v][i] = stay * pa * (1 - (1-first)*power(1-other, v-1))
			m.grown[v] += stay * pa * (first + float64(v-1)*other)
		}
	}
	m.delay = m.delays()
	// A clutch of which nothing is known but that its first egg comes on day 0.
	m.blank = nil
	r0 := &reader{m: m, n: m.clutch.hi(), nHi: m.clutch.hi(), most: m.clutch.hi(), foster: -1, prior: []float64{1}, asked: -1}
	blank := &Posterior{Asked: -1}
	if r0.laid(blank) {
		m.blank = blank
	}
}

// ahead says what comes of v eggs that will hatch unless the brood is left, x days after the
// first hatch, when done have hatched before: total[k] is the chance that k hatch in all,
// and last[j] the chance that the last of these v hatches j days after the first; with done
// above 0, last[floor(x)] holds the chance that none of them does.
func (m *Model) ahead(v int, x float64, done int) (total, last []float64) {
	total = make([]float64, v+done+1)
	last = make([]float64, longestSpread+1)
	g1 := m.by(x)
	left := 1 - g1
	here := min(max(int(math.Floor(x)), 0), longestSpread)
	add := func(p, end float64) {
		if p <= 0 {
			return
		}
		// end is when the hatch is cut off.
		q, before := 0.0, 0.0
		if left > 0 {
			q = (m.by(end) - g1) / left
		}
		for k := 0; k <= v; k++ {
			total[done+k] += p * binomial(v, k, q)
		}
		for j := here; j <= longestSpread; j++ {
			tail := 0.0
			if to := float64(j + 1); left > 0 && to < end {
				tail = (m.by(end) - m.by(to)) / left
			}
			all := math.Pow(1-tail, float64(v))
			last[j] += p * (all - before)
			before = all
		}
	}
	alive := 1.0
	for r := max(1, int(math.Floor(x))+1); r <= broodRisk; r++ {
		add(alive*m.risk[r], float64(r))
		alive *= 1 - m.risk[r]
	}
	add(alive, longestSpread+1)
	return total, last
}

// by is the chance that an egg other than the first has hatched x days after the start of
// the day of the first hatch; within a day every hour is alike.
func (m *Model) by(x float64) float64 {
	if x <= 0 {
		return 0
	}
	d := int(x)
	if d > longestSpread {
		return 1
	}
	return m.cum[d] + (x-float64(d))*(m.cum[d+1]-m.cum[d])
}

// dies is the chance that a chick dies on the day j days after the first hatch.
func (m *Model) dies(j int) float64 {
	switch {
	case j < 1 || j > 8:
		return m.rates.ChickDies[2]
	case j <= 3:
		return m.rates.ChickDies[0]
	}
	return m.rates.ChickDies[1]
}

// delays is the chance of each number of days from the start of a round to the first egg: a
// gamma distribution in whole days, and one pair in seven that takes its time.
func (m *Model) delays() []float64 {
	const slow, longest, wait = 1.0 / 7, 90, 30.0
	mean, sd := m.rates.Delay, m.rates.DelaySD
	shape, scale := mean*mean/(sd*sd), sd*sd/mean
	soon, late := make([]float64, longest+1), make([]float64, longest+1)
	for d := 1; d <= longest; d++ {
		x := float64(d)
		soon[d] = math.Exp((shape-1)*math.Log(x/scale) - x/scale)
		late[d] = math.Exp(-x / wait)
	}
	soon, late = normalised(0, soon, 0).p, normalised(0, late, 0).p
	for d := range soon {
		soon[d] += slow * (late[d] - soon[d])
	}
	return soon
}

// betaBinomial is the chance of k in n when the share is drawn anew for every clutch.
func betaBinomial(s Share, n, k int) float64 {
	a, b := s.Mean*s.Weight, (1-s.Mean)*s.Weight
	p := 1.0
	// Polya's urn, one egg after another.
	for i := range k {
		p *= (a + float64(i)) / (a + b + float64(i)) * float64(n-i) / float64(k-i)
	}
	for i := range n - k {
		p *= (b + float64(i)) / (a + b + float64(k+i))
	}
	return p
}

var choose = func() (c [2*mostEggs + 1][2*mostEggs + 1]float64) {
	for n := range c {
		c[n][0] = 1
		for k := 1; k <= n; k++ {
			c[n][k] = c[n-1][k-1] + c[n-1][k]
		}
	}
	return c
}()

// power is x to the n-th for a small n, with 0 to the 0 as 1.
func power(x float64, n int) float64 {
	p := 1.0
	for ; n > 0; n-- {
		p *= x
	}
	return p
}

func binomial(n, k int, p float64) float64 {
	if k < 0 || k > n {
		return 0
	}
	return choose[n][k] * power(p, k) * power(1-p, n-k)
}

// Tables are the distributions of a model, for reading. Each slice but Delay and Spread is
// indexed by the number itself.
type Tables struct {
	Profile    Profile
	Rates      Rates
	Delay      []float64 // days from the start of the round to the first egg
	Clutch     []float64 // eggs
	SitEgg     []float64 // egg with which steady sitting starts, were the clutch large enough
	Gap        []float64 // days from one egg to the next
	Incubation []float64 // days from steady sitting to the first hatch
	Spread     []float64 // days from the first hatch to that of another egg
	Fledge     []float64 // days from the first hatch to the first young out of the nest
	Wean       []float64 // days from the first hatch to when the young feed themselves
	BroodRisk  []float64 // chance that the brood is left, by days after the first hatch
}

// Tables returns copies of the model's distributions.
func (m *Model) Tables() Tables {
	full := func(c chances) []float64 {
		p := make([]float64, c.hi()+1)
		copy(p[c.lo:], c.p)
		return p
	}
	return Tables{
		m.profile, m.rates, slices.Clone(m.delay),
		full(m.clutch), full(m.sit), full(m.gap), full(m.incubation), full(m.spread), full(m.fledge), full(m.independent),
		slices.Clone(m.risk[:]),
	}
}
