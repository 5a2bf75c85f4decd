package nest_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"broodlight/internal/nest"
	"broodlight/internal/nest/plain"
)

// small is a species whose every story can be told: clutches of one to three.
var small = nest.Profile{
	LayingInterval:        nest.Range{Low: 1, Typical: 1, High: 2, Known: true},
	IncubationStartsAtEgg: nest.Range{Low: 1, Typical: 1.5, High: 2, Known: true},
	Incubation:            nest.Range{Low: 9, Typical: 9, High: 9, Known: true},
	ClutchSize:            nest.Range{Low: 2, Typical: 2, High: 2, Known: true},
	CandlingAge:           nest.Range{Low: 6, Typical: 7, High: 8, Known: true},
	RingAge:               nest.Range{Low: 7, Typical: 8, High: 10, Known: true},
	FledgeAge:             nest.Range{Low: 11, Typical: 11.5, High: 12, Known: true},
	IndependenceAge:       nest.Range{Low: 20, Typical: 20, High: 21, Known: true},
}

func smallRates() nest.Rates {
	r := nest.DefaultRates()
	// Greater chances than true ones, so that every road is walked.
	r.EggLost, r.BadEggLost, r.Deserted, r.LostYoung = 0.02, 0.1, 0.03, 0.03
	r.Missed = 0.15
	r.Delay, r.DelaySD = 3, 1.5
	return r
}

// anyLooks draws a few looks at a made-up nest; what they show need not be possible.
func anyLooks(rng *rand.Rand) []nest.Look {
	var looks []nest.Look
	day := nest.Day(1 + rng.IntN(5))
	eggs, chicks := 0, 0
	for range 1 + rng.IntN(4) {
		l := nest.Look{Day: day, Minute: rng.IntN(24*60+1) - 1}
		switch {
		case eggs == 0 && chicks == 0 || rng.IntN(3) == 0 && day < 10:
			eggs += rng.IntN(3)
		case day > 12:
			k := rng.IntN(eggs + 1)
			eggs, chicks = eggs-k, chicks+k
			if chicks > 0 && rng.IntN(4) == 0 {
				chicks--
				l.DeadChicks = new(rng.IntN(2))
			}
		}
		if rng.IntN(5) > 0 {
			l.Eggs = new(eggs)
		} else if rng.IntN(2) == 0 {
			l.EggsAtLeast = new(min(eggs, 1))
		}
		if l.Eggs == nil || rng.IntN(3) > 0 {
			l.Chicks = new(chicks)
		}
		if rng.IntN(4) == 0 {
			l.Sitting = new(rng.IntN(2) == 0)
		}
		if rng.IntN(6) == 0 {
			l.ClutchComplete = new(rng.IntN(2) == 0)
		}
		if eggs > 0 && day > 7 && rng.IntN(2) == 0 {
			l.Candled = true
			l.Fertile = rng.IntN(eggs + 1)
			l.Clear = rng.IntN(eggs - l.Fertile + 1)
			l.EarlyDead = rng.IntN(eggs - l.Fertile - l.Clear + 1)
			if l.Clear > 0 && rng.IntN(2) == 0 {
				l.EggsRemoved = 1
				eggs--
			}
		}
		if chicks > 0 && rng.IntN(3) == 0 {
			l.AgeDays = new(rng.IntN(5))
		}
		if eggs > 1 && chicks == 0 && l.Eggs != nil && rng.IntN(4) == 0 {
			l.EggsMovedIn, l.EggsMovedOut = rng.IntN(2), rng.IntN(2)
			eggs += l.EggsMovedIn - l.EggsMovedOut
		}
		if day > 25 && chicks > 0 && l.Chicks != nil {
			k := rng.IntN(chicks + 1)
			l.Out, l.Chicks = &k, new(chicks-k)
		}
		looks = append(looks, l)
		day += nest.Day(1 + rng.IntN(9))
	}
	return looks
}

func TestPosterior_IsTheSumOfAllStories(t *testing.T) {
	m := nest.NewModel(small, smallRates())
	rng := rand.New(rand.NewPCG(5, 9))
	told, worst := 0, map[string]float64{}
	set := [][]nest.Look{
		{
			{Day: 2, Minute: -1, Eggs: new(0)},
			{Day: 5, Minute: 600, Eggs: new(2), Chicks: new(0)},
			{Day: 17, Minute: 900, Eggs: new(0), Chicks: new(2), DeadChicks: new(0), AgeDays: new(3)},
			{Day: 26, Minute: 700, Chicks: new(1), Out: new(1)},
		},
		{
			{Day: 2, Minute: -1, Eggs: new(0)},
			{Day: 6, Minute: 600, Eggs: new(2)},
			{Day: 16, Minute: 900, Eggs: new(1), Chicks: new(1)},
			{Day: 21, Minute: 600, Chicks: new(0), DeadChicks: new(1)},
		},
	}
	for told < 5 {
		looks := anyLooks(rng)
		if told < len(set) {
			looks = set[told]
		}
		want := plain.Posterior(m.Tables(), looks, 0)

		got := m.Posterior(nest.History{Looks: looks, Began: new(nest.Day(0))}, looks[len(looks)-1].Day)
		if want.Evidence < 1e-14 {
			if got.Fit == nest.Fits && got.Evidence > math.Log(1e-12) {
				t.Fatalf("%s: evidence %v of looks that cannot be", words(looks), got.Evidence)
			}
			continue
		}
		if got.Fit != nest.Fits {
			t.Fatalf("%s: %v, but the looks have chance %v", words(looks), got.Fit, want.Evidence)
		}
		told++
		check := func(what string, got, want, tol float64) {
			worst[what] = max(worst[what], math.Abs(got-want))
			if math.Abs(got-want) > tol {
				t.Fatalf("%s of %s: got %v, want %v", what, words(looks), got, want)
			}
		}
		check("evidence", got.Evidence, math.Log(want.Evidence), 1e-5)
		days := func(what string, w nest.When, by map[nest.Day]float64, tol float64) {
			for d := nest.Day(-5); d < 120; d++ {
				check(what, w.Chance*w.On(d), by[d]/want.Evidence, tol)
			}
		}
		days("first egg", got.Event(nest.FirstEgg), want.First, 1e-5)
		days("complete", got.Event(nest.ClutchComplete), want.Complete, 1e-5)
		days("sitting", got.Event(nest.SittingFrom), want.Sit, 1e-5)
		days("due", got.HatchDue(), want.Due, 1e-5)
		days("hatch", got.Event(nest.Hatch), want.Hatch, 1e-5)
		days("last hatch", got.Event(nest.LastHatch), want.LastHatch, 0.01)
		days("fledge", got.Event(nest.Fledge), want.Fledge, 0.01)
		var laid float64
		for _, w := range want.First {
			laid += w
		}
		for n := range 8 {
			check("clutch", at(got.Clutch, n), want.Clutch[n]/laid, 1e-5)
			check("full", at(got.Fertile, n), want.Full[n]/laid, 1e-5)
			check("hatched", at(got.Hatched, n), want.Hatched[n]/laid, 1e-5)
		}
		check("deserted", got.Deserted, want.Deserted/want.Evidence, 1e-5)
	}
	t.Logf("%d histories; greatest differences %v", told, worst)
}

func at(n nest.Numbers, i int) float64 {
	if i < len(n.P) {
		return n.P[i]
	}
	return 0
}

// words writes looks for a failing test.
func words(looks []nest.Look) string {
	var b strings.Builder
	for _, l := range looks {
		fmt.Fprintf(&b, "\nday %d minute %d:", l.Day, l.Minute)
		v := reflect.ValueOf(l)
		for i := 2; i < v.NumField(); i++ {
			f := v.Field(i)
			if f.IsZero() {
				continue
			}
			if f.Kind() == reflect.Pointer {
				f = f.Elem()
			}
			fmt.Fprintf(&b, " %s=%v", v.Type().Field(i).Name, f)
		}
	}
	return b.String()
}
