package nest

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

// nestling is one nest as it truly goes, day by day, drawn from the model itself.
type nestling struct {
	m                 *Model
	rng               *rand.Rand
	first, sit, done  int
	due, fledge       int
	n                 int
	days              []int // of each egg
	v, d, c, ch, full int
	hatched           int
	last, left, out   int // days of the last hatch, of failing, of the first young out; none: far
	failed            bool
	found             int
	lays              bool
	wentOut           bool
	young             int
}

const far = 1 << 20

func (c chances) draw(rng *rand.Rand) int {
	u := rng.Float64()
	for i, p := range c.p {
		if u -= p; u < 0 {
			return c.lo + i
		}
	}
	return c.hi()
}

// draw draws a clutch from the model; its round began on day 0.
func (m *Model) draw(rng *rand.Rand) *nestling {
	s := &nestling{m: m, rng: rng, first: far, sit: far, done: far, due: far, fledge: far, last: far, left: far, out: far}
	s.lays = rng.Float64() >= m.rates.Never
	if !s.lays {
		return s
	}
	for {
		s.n = m.clutch.draw(rng)
		k := min(m.sit.draw(rng), s.n)
		day := chances{0, m.delay}.draw(rng)
		s.days = nil
		for i := range s.n {
			if i > 0 {
				day += m.gap.draw(rng)
			}
			s.days = append(s.days, day)
		}
		s.first, s.done, s.sit = s.days[0], s.days[s.n-1], s.days[k-1]
		s.due = s.sit + m.incubation.draw(rng)
		if s.done < s.due {
			break
		}
	}
	s.fledge = s.due + m.fledge.draw(rng)
	share := func(of Share, n int) int {
		p := beta(rng, of.Mean*of.Weight, (1-of.Mean)*of.Weight)
		k := 0
		for range n {
			if rng.Float64() < p {
				k++
			}
		}
		return k
	}
	s.full = share(m.rates.Fertile, s.n)
	s.d = share(m.rates.EmbryoDies, s.full)
	s.v, s.c = s.full-s.d, s.n-s.full
	return s
}

// beta draws a beta number by way of two gamma numbers (Marsaglia and Tsang 2000, ACM
// Transactions on Mathematical Software 26, 363-372).
func beta(rng *rand.Rand, a, b float64) float64 {
	x, y := gamma(rng, a), gamma(rng, b)
	return x / (x + y)
}

func gamma(rng *rand.Rand, a float64) float64 {
	if a < 1 {
		return gamma(rng, a+1) * math.Pow(rng.Float64(), 1/a)
	}
	d := a - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := rng.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(rng.Float64()) < 0.5*x*x+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}

func (s *nestling) some(n int, p float64) int {
	k := 0
	for range n {
		if s.rng.Float64() < p {
			k++
		}
	}
	return k
}

// dawn plays a day up to the first hatching.
func (s *nestling) dawn(day int) {
	r := &s.m.rates
	if !s.lays || day <= s.done {
		return
	}
	if !s.failed && day < s.fledge {
		risk := r.Deserted
		if day > s.due {
			risk = 0
			if j := day - s.due; j < len(s.m.risk) {
				risk = s.m.risk[j]
			}
		}
		if s.rng.Float64() < risk {
			s.failed, s.left = true, day
			s.found += s.some(s.ch, r.DeadFound)
			s.ch = 0
			s.d += s.v
			s.v = 0
			if s.rng.Float64() < r.Emptied {
				s.d, s.c = 0, 0
			}
		}
	}
	if day == s.fledge && !s.failed {
		s.wentOut = true
	}
	dead := s.some(s.ch, s.m.dies(day-s.due))
	s.found += s.some(dead, r.DeadFound)
	s.ch -= dead
	if day == s.fledge && s.ch > 0 {
		s.out = day
		s.young = s.ch
	}
	bad := r.EggLost
	if day > s.due {
		bad = r.BadEggLost
	} else {
		s.v -= s.some(s.v, r.EggLost)
	}
	s.d -= s.some(s.d, bad)
	s.c -= s.some(s.c, bad)
}

// hatches plays the part of a day from one share of it to another.
func (s *nestling) hatches(day int, from, to float64) {
	if s.failed || !s.lays || day < s.due || s.v == 0 || day <= s.done {
		return
	}
	k := 0
	if s.hatched == 0 && day == s.due {
		if s.rng.Float64() < (to-from)/(1-from) {
			k = 1 + s.some(s.v-1, s.m.by(to))
		}
	} else if s.hatched > 0 {
		j := float64(day - s.due)
		if g := s.m.by(j + from); g < 1 {
			k = s.some(s.v, (s.m.by(j+to)-g)/(1-g))
		}
	}
	if k > 0 {
		s.v -= k
		s.ch += k
		s.hatched += k
		s.last = day
	}
}

// seen is what a keeper writes who looks in; he does not count everything.
func (s *nestling) seen(day, minute int) Look {
	rng := s.rng
	l := Look{Day: Day(day), Minute: minute}
	laid := 0
	for _, d := range s.days {
		if d <= day && (minute < 0 || minute >= dawn) || d < day {
			laid++
		}
	}
	complete := s.lays && laid == s.n
	eggs := laid
	if complete {
		eggs = s.v + s.d + s.c
	}
	candles := eggs > 0 && complete && rng.Float64() < 0.3
	bound := 1 + rng.IntN(3)
	switch u := rng.Float64(); {
	case u < 0.75 || candles:
		l.Eggs = &eggs
	case u < 0.85 && eggs >= bound:
		// Which bound is told must not tell of the count.
		l.EggsAtLeast = &bound
	case u < 0.85:
		l.Eggs = &eggs
	}
	if !complete {
		if rng.Float64() < 0.8 {
			l.Chicks = new(0)
		}
		if rng.Float64() < 0.2 {
			p := 0.03
			if laid > 0 {
				p = 0.25
				if day >= s.sit {
					p = 0.8
				}
			}
			l.Sitting = new(rng.Float64() < p)
		}
		s.found = 0
		return l
	}
	ch := s.ch
	switch {
	case s.wentOut:
		in := 0
		if ch > 0 {
			in = rng.IntN(ch)
		}
		out := ch - in
		told := out
		if out > 0 {
			switch u := rng.Float64(); {
			case u < outMissed:
				told = 0
			case u > outMissed+outTold && out > 1:
				told = 1 + rng.IntN(out-1)
			}
		}
		if rng.Float64() < 0.7 {
			l.Chicks = &in
		}
		if rng.Float64() < 0.7 {
			l.Out = &told
		}
	case rng.Float64() < 0.85:
		l.Chicks = &ch
	}
	if rng.Float64() < 0.5 {
		l.DeadChicks = new(s.found)
	}
	s.found = 0
	if !s.wentOut && rng.Float64() < 0.2 {
		p := 0.8
		if s.failed {
			p = 0.03
		}
		l.Sitting = new(rng.Float64() < p)
	}
	if ch > 0 && day-s.due >= 5 && rng.Float64() < 0.3 {
		pm := 1 + rng.IntN(2)
		age := day - s.due + int(math.Round(rng.NormFloat64()*max(0.5, float64(pm)/1.28)))
		l.AgeDays, l.AgePlusMinus = &age, &pm
	}
	if candles {
		lamp := candlingOn(day - s.due + s.m.incMid)
		n := 0
		for kind, k := range []int{s.v, s.d, s.c} {
			for range k {
				n++
				switch (chances{0, lamp[kind][:]}).draw(rng) {
				case 0:
					l.Fertile++
				case 1:
					l.Clear++
				default:
					l.EarlyDead++
				}
			}
		}
		l.Candled = true
		if l.Clear > 0 && rng.IntN(2) == 0 {
			l.EggsRemoved = l.Clear
		}
	}
	return l
}

// take takes eggs out as the model says a keeper does who has candled.
func (s *nestling) take(n int) {
	for _, k := range []*int{&s.c, &s.d, &s.v} {
		x := min(n, *k)
		*k -= x
		n -= x
	}
}

// play plays a nest to its end and writes down the looks of a keeper up to the last day.
func (m *Model) play(rng *rand.Rand, every float64, lastDay int) (*nestling, []Look) {
	s := m.draw(rng)
	var looks []Look
	next := 1 + int(rng.ExpFloat64()*every)
	end := 260
	for day := range end {
		s.dawn(day)
		from := 0.0
		if day == next && day <= lastDay {
			minute := -1
			part := 0.5
			if rng.IntN(2) == 0 {
				minute = 5*60 + rng.IntN(17*60)
				part = float64(minute) / (24 * 60)
			}
			s.hatches(day, 0, part)
			from = part
			l := s.seen(day, minute)
			looks = append(looks, l)
			s.take(l.EggsRemoved)
			next = day + 1 + int(rng.ExpFloat64()*every)
		}
		s.hatches(day, from, 1)
	}
	return s, looks
}

// pit collects randomised probability integral transforms: how much of the posterior lies
// below the truth. They are uniform when the posterior is honest (Smith 1985, Journal of
// Forecasting 4, 283-291; for whole numbers, Czado, Gneiting and Held 2009, Biometrics 65,
// 1254-1261).
type pit struct {
	u          []float64
	held, mass map[float64]float64
}

func (p *pit) add(rng *rand.Rand, w When, truth int) {
	day := Day(truth)
	below := w.By(day - 1)
	p.u = append(p.u, below+rng.Float64()*w.On(day))
	if p.held == nil {
		p.held, p.mass = map[float64]float64{}, map[float64]float64{}
	}
	for _, level := range []float64{0.5, 0.8, 0.9} {
		a, b, mass, _ := w.Window(level)
		p.mass[level] += mass
		if day >= a && day <= b {
			p.held[level]++
		}
	}
}

func (p *pit) count(rng *rand.Rand, n Numbers, truth int) {
	var days []Chance
	for i, x := range n.P {
		days = append(days, Chance{Day(i), x})
	}
	p.add(rng, When{1, days}, truth)
}

// uneven is the greatest difference from uniform, the distance of Kolmogorov.
func (p *pit) uneven() float64 {
	slices.Sort(p.u)
	var worst float64
	for i, u := range p.u {
		n := float64(len(p.u))
		worst = max(worst, u-float64(i)/n, float64(i+1)/n-u)
	}
	return worst
}

func (p *pit) String() string {
	n := float64(len(p.u))
	s := fmt.Sprintf("%5d nests, PIT off uniform by %4.1f points", len(p.u), 100*p.uneven())
	for _, level := range []float64{0.5, 0.8, 0.9} {
		s += fmt.Sprintf("; %.0f%% window holds %.1f%%, mass %.1f%%", 100*level, 100*p.held[level]/n, 100*p.mass[level]/n)
	}
	return s
}

func TestPosterior_IsHonestOnNestsOfTheModel(t *testing.T) {
	const nests = 3000
	rng := rand.New(rand.NewPCG(1979, 96))
	profiles := mustProfiles(t)
	var models []*Model
	for _, name := range []string{"Gouldian finch", "Zebra finch", "Java sparrow", "Star finch"} {
		models = append(models, NewModel(profiles[name], DefaultRates()))
	}
	events := map[string]*pit{}
	get := func(name string) *pit {
		if events[name] == nil {
			events[name] = &pit{}
		}
		return events[name]
	}
	var predicted, happened [3]float64
	var spent time.Duration
	misfits := 0
	for i := range nests {
		m := models[i%len(models)]
		last := 5 + rng.IntN(75)
		s, looks := m.play(rng, 1+float64(rng.IntN(6)), last)
		began := Day(0)
		t0 := time.Now()
		p := m.Posterior(History{looks, &began}, Day(last))
		spent += time.Since(t0)
		if p.Fit != Fits {
			misfits++
			if misfits < 4 {
				t.Errorf("nest %d: %v: %+v\n%+v", i, p.Fit, *s, looks)
			}
			continue
		}
		if s.lays {
			get(FirstEgg.String()).add(rng, p.Event(FirstEgg), s.first)
			get(ClutchComplete.String()).add(rng, p.Event(ClutchComplete), s.done)
			get(SittingFrom.String()).add(rng, p.Event(SittingFrom), s.sit)
		}
		if s.hatched > 0 {
			get(Hatch.String()).add(rng, p.Event(Hatch), s.due)
			get(LastHatch.String()).add(rng, p.Event(LastHatch), s.last)
		}
		if s.out != far {
			get(Fledge.String()).add(rng, p.Event(Fledge), s.out)
		}
		if s.lays {
			get("clutch").count(rng, p.Clutch, s.n)
			get("hatched").count(rng, p.Hatched, s.hatched)
		}
		for j, is := range []bool{s.left <= last, s.lays && s.hatched == 0, s.out != far} {
			predicted[j] += []float64{p.Deserted, p.NoneHatches, p.Event(Fledge).Chance}[j]
			if is {
				happened[j]++
			}
		}
	}
	if misfits > 0 {
		t.Errorf("%d nests of the model do not fit the model", misfits)
	}
	t.Logf("%d nests, %v a posterior", nests, spent/nests)
	for _, name := range []string{"first egg", "clutch complete", "sitting from", "hatch", "last hatch", "fledging", "clutch", "hatched"} {
		p := events[name]
		t.Logf("%-16s %v", name, p)
		if p.uneven() > 0.03 {
			t.Errorf("%s: PIT off by more than 3 points", name)
		}
		for level, held := range p.held {
			if n := float64(len(p.u)); math.Abs(held-p.mass[level])/n > 0.03 {
				t.Errorf("%s: the %v window holds %v of %v, its mass is %v", name, level, held, n, p.mass[level])
			}
		}
	}
	for j, name := range []string{"left", "none hatches", "some fledge"} {
		t.Logf("%-16s foretold %.1f%%, came %.1f%%", name, 100*predicted[j]/nests, 100*happened[j]/nests)
		if math.Abs(predicted[j]-happened[j]) > 0.03*nests {
			t.Errorf("%s: foretold %v, came %v", name, predicted[j], happened[j])
		}
	}
}
