package nest

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// wild is a nest played by rules that are not those of the model: time runs in hours, eggs
// come every 24 hours and a little, with pauses; sitting grows from egg to egg and may be
// broken off for a day or two; every egg has its own clock; a second hen may lay along; eggs
// vanish without a word; the keeper takes eggs out.
type wild struct {
	laid   []float64 // days and parts of a day
	hatch  []float64 // of each egg; infinite when it does not
	gone   []float64 // when the egg or its chick vanishes
	out    float64   // first young out of the nest
	fledge []float64
	sit    float64
	clear  []bool
	dies   []bool
}

func drawWild(rng *rand.Rand) *wild {
	w := &wild{out: math.Inf(1)}
	norm := func(mean, sd float64) float64 { return mean + sd*rng.NormFloat64() }
	hens := 1
	if rng.Float64() < 0.04 {
		hens = 2
	}
	start := 2 + rng.ExpFloat64()*9
	var first float64 = math.Inf(1)
	for range hens {
		// Dawn, give or take an hour.
		at := math.Floor(start+rng.Float64()*2) + 0.28 + 0.03*rng.NormFloat64()
		n := min(max(int(math.Round(norm(5.2, 1.3))), 2), 8)
		for range n {
			w.laid = append(w.laid, at)
			first = min(first, at)
			at += 1 + 0.015*rng.NormFloat64()
			if rng.Float64() < 0.12 {
				at++
				if rng.Float64() < 0.15 {
					at++
				}
			}
		}
	}
	slices.Sort(w.laid)
	n := len(w.laid)
	k := min(max(int(math.Round(norm(3.9, 0.8))), 1), n)
	w.sit = w.laid[k-1] + 0.2*rng.Float64()
	// Broken sitting.
	brk := 0.0
	if rng.Float64() < 0.1 {
		brk = 0.5 + 1.5*rng.Float64()
	}
	nest := norm(14.8, 0.55)                 // so that the first chick comes 14.5 whole days after sitting began, as published
	pair := min(max(norm(0.84, 0.22), 0), 1) // a pair's own fertility
	fails := math.Inf(1)
	if u := rng.Float64(); u < 0.12 {
		fails = w.sit + 14*rng.Float64()
	} else if u < 0.2 {
		fails = w.sit + 14 + 12*rng.Float64()
	}
	firstHatch := math.Inf(1)
	for i, laid := range w.laid {
		h := math.Inf(1)
		isClear := rng.Float64() > pair
		dies := !isClear && rng.Float64() < 0.22
		if !isClear && !dies {
			begin := w.sit
			if laid > w.sit {
				begin += (laid - w.sit) * (0.6 + 0.4*rng.Float64())
			} else {
				begin += 0.15 * float64(i) / float64(k)
			}
			h = begin + nest + brk + 0.35*rng.NormFloat64()
			if h > fails {
				h = math.Inf(1)
			}
		}
		gone := math.Inf(1)
		if rng.Float64() < 0.04 {
			gone = w.sit + 14*rng.Float64()
			if gone < h {
				h = math.Inf(1)
			}
		}
		if math.IsInf(h, 1) && !math.IsInf(fails, 1) && rng.Float64() < 0.3 {
			gone = min(gone, fails)
		}
		w.hatch = append(w.hatch, h)
		w.gone = append(w.gone, gone)
		w.clear = append(w.clear, isClear)
		w.dies = append(w.dies, dies)
		firstHatch = min(firstHatch, h)
	}
	age := norm(21.4, 1.2)
	for i, h := range w.hatch {
		f := math.Inf(1)
		if !math.IsInf(h, 1) {
			f = firstHatch + age + 0.6*(h-firstHatch) + 0.4*math.Abs(rng.NormFloat64())
			die := math.Inf(1)
			if rng.Float64() < 0.2 {
				die = h + 0.2 + rng.ExpFloat64()*4
			}
			die = min(die, fails)
			if die < f {
				w.gone[i] = die
				f = math.Inf(1)
			}
			w.out = min(w.out, math.Floor(f))
		} else if w.gone[i] > firstHatch && rng.Float64() < 0.5 {
			w.gone[i] = min(w.gone[i], firstHatch+rng.ExpFloat64()*10)
		}
		w.fledge = append(w.fledge, f)
	}
	return w
}

// looks are those of a keeper who counts with care, on days that do not hang on the nest.
func (w *wild) looks(rng *rand.Rand, last int) []Look {
	var looks []Look
	taken := make([]bool, len(w.laid))
	for day := rng.IntN(3); day <= last; day += 1 + rng.IntN(5) {
		minute := 7*60 + rng.IntN(12*60)
		at := float64(day) + float64(minute)/1440
		l := Look{Day: Day(day), Minute: minute}
		var eggs, chicks, out int
		var inNest []int
		for i := range w.laid {
			switch {
			case taken[i] || w.laid[i] > at || w.gone[i] <= at:
			case w.fledge[i] <= at:
				out++
			case w.hatch[i] <= at:
				chicks++
			default:
				eggs++
				inNest = append(inNest, i)
			}
		}
		l.Eggs, l.Chicks = &eggs, &chicks
		if out > 0 {
			l.Out = &out
		}
		if d := at - w.sit; d > 6 && d < 13 && chicks == 0 && rng.Float64() < 0.35 {
			l.Candled = true
			for _, i := range inNest {
				switch {
				case w.clear[i]:
					l.Clear++
				case w.dies[i] && rng.Float64() < 0.6:
					l.EarlyDead++
				default:
					l.Fertile++
				}
			}
			if l.Clear > 0 && rng.IntN(2) == 0 {
				l.EggsRemoved = l.Clear
				for _, i := range inNest {
					taken[i] = taken[i] || w.clear[i]
				}
			}
		}
		if rng.Float64() < 0.15 {
			l.Chicks = nil
		}
		looks = append(looks, l)
	}
	return looks
}

func TestPosterior_HoldsOnNestsOfOtherRules(t *testing.T) {
	const nests = 3000
	rng := rand.New(rand.NewPCG(2017, 34))
	m := NewModel(mustProfile(t, "Gouldian finch"), DefaultRates())
	events := map[Kind]*pit{FirstEgg: {}, ClutchComplete: {}, Hatch: {}, LastHatch: {}, Fledge: {}}
	var fits [SomeAside + 1]int
	for range nests {
		w := drawWild(rng)
		last := 5 + rng.IntN(60)
		looks := w.looks(rng, last)
		began := Day(0)
		p := m.Posterior(History{looks, &began}, Day(last))
		fits[p.Fit]++
		truth := func(k Kind, at float64) {
			if !math.IsInf(at, 1) && !math.IsInf(at, -1) && len(p.Event(k).Days) > 0 {
				events[k].add(rng, p.Event(k), int(math.Floor(at)))
			}
		}
		first, lastHatch := math.Inf(1), math.Inf(-1)
		for _, h := range w.hatch {
			if !math.IsInf(h, 1) {
				first, lastHatch = min(first, h), max(lastHatch, h)
			}
		}
		truth(FirstEgg, w.laid[0])
		truth(ClutchComplete, w.laid[len(w.laid)-1])
		truth(Hatch, first)
		truth(LastHatch, lastHatch)
		truth(Fledge, w.out)
	}
	t.Logf("%d nests; how the looks fit: %v", nests, fits)
	for _, k := range []Kind{FirstEgg, ClutchComplete, Hatch, LastHatch, Fledge} {
		p := events[k]
		t.Logf("%-16s %v", k, p)
		for level, held := range p.held {
			if n := float64(len(p.u)); (p.mass[level]-held)/n > 0.05 {
				t.Errorf("%v: the %v window holds %.3f, its mass is %.3f", k, level, held/n, p.mass[level]/n)
			}
		}
	}
}

// TestForecast_NextLookInOrderOfTime foretells each look of clutches of other rules from the
// looks before it, as with a real clutch, whose truth is known only to the next look.
func TestForecast_NextLookInOrderOfTime(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	m := NewModel(mustProfile(t, "Gouldian finch"), DefaultRates())
	began := Day(0)
	var eggs, chicks pit
	for range 60 {
		looks := drawWild(rng).looks(rng, 45)
		for i := range looks {
			if i == 0 || i%3 > 0 {
				continue
			}
			l := looks[i]
			e, c := m.Forecast(History{looks[:i], &began}, l.Day)
			eggs.count(rng, e, *l.Eggs)
			if l.Chicks != nil && l.Out == nil {
				chicks.count(rng, c, *l.Chicks)
			}
		}
	}
	for what, p := range map[string]*pit{"eggs": &eggs, "chicks": &chicks} {
		t.Logf("%-6s %v", what, p)
		for level, held := range p.held {
			if n := float64(len(p.u)); (p.mass[level]-held)/n > 0.05 {
				t.Errorf("%s: the %v window holds %.3f, its mass is %.3f", what, level, held/n, p.mass[level]/n)
			}
		}
	}
}
