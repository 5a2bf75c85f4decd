package nest

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// wildLook draws what a person may type, sense or nonsense.
func wildLook(t *rapid.T) Look {
	count := func(name string) *int {
		if rapid.IntRange(0, 2).Draw(t, name+" told") > 0 {
			return nil
		}
		return new(rapid.OneOf(rapid.IntRange(0, 6), rapid.IntRange(-3, 120)).Draw(t, name))
	}
	some := func(name string) int {
		if rapid.IntRange(0, 5).Draw(t, name+" told") > 0 {
			return 0
		}
		return rapid.IntRange(-1, 9).Draw(t, name)
	}
	yes := func(name string) *bool {
		if rapid.IntRange(0, 3).Draw(t, name+" told") > 0 {
			return nil
		}
		return new(rapid.Bool().Draw(t, name))
	}
	l := Look{
		Day:    Day(rapid.OneOf(rapid.IntRange(0, 70), rapid.IntRange(-900, 900)).Draw(t, "day")),
		Minute: rapid.IntRange(-5, 1500).Draw(t, "minute"),
		Eggs:   count("eggs"), EggsAtLeast: count("at least"), Chicks: count("chicks"), DeadChicks: count("dead"), Out: count("out"),
		AgeDays: count("age"), AgePlusMinus: count("either way"),
		Sitting: yes("sitting"), ClutchComplete: yes("complete"), Building: yes("building"),
		Fertile: some("fertile"), Clear: some("clear"), EarlyDead: some("early dead"), DeadInShell: some("in shell"), Cracked: some("cracked"),
		EggsRemoved: some("removed"), EggsMovedIn: some("in"), EggsMovedOut: some("gone"), ChicksMovedIn: some("chicks in"), ChicksMovedOut: some("chicks gone"),
		Ringed: some("ringed"), Weaned: some("weaned"), OldEggs: some("old"),
		Found:           rapid.IntRange(0, 9).Draw(t, "found") == 0,
		FirstEggUnknown: rapid.IntRange(0, 9).Draw(t, "unknown") == 0,
	}
	if rapid.IntRange(0, 5).Draw(t, "due told") == 0 {
		d := Day(rapid.IntRange(-50, 90).Draw(t, "due"))
		l.EggsDue = &Window{d, d + 2, d + Day(rapid.IntRange(0, 200).Draw(t, "due late"))}
	}
	return l
}

// TestPosterior_AnyLooks: whatever is typed, the answer is finite and its chances sum to 1.
func TestPosterior_AnyLooks(t *testing.T) {
	profiles := mustProfiles(t)
	var models []*Model
	for _, name := range []string{"Gouldian finch", "Zebra finch"} {
		models = append(models, NewModel(profiles[name], DefaultRates()))
	}
	models = append(models, NewModel(Profile{}, Rates{EggLost: math.NaN(), Missed: 7}))
	rapid.Check(t, func(t *rapid.T) {
		m := models[rapid.IntRange(0, len(models)-1).Draw(t, "species")]
		looks := rapid.SliceOfN(rapid.Custom(wildLook), 0, 6).Draw(t, "looks")
		h := History{Looks: looks}
		if rapid.Bool().Draw(t, "start known") {
			h.Began = new(Day(rapid.IntRange(-100, 60).Draw(t, "began")))
		}
		asked := Day(rapid.IntRange(-100, 1000).Draw(t, "asked"))
		p := m.Posterior(h, asked)
		share := func(what string, x float64) {
			if math.IsNaN(x) || x < -1e-9 || x > 1+1e-9 {
				t.Fatalf("%s is %v: %+v", what, x, p)
			}
		}
		sum := func(what string, n Numbers) {
			var s float64
			for _, x := range n.P {
				share(what, x)
				s += x
			}
			if n.P != nil && math.Abs(s-1) > 1e-6 {
				t.Fatalf("%s sums to %v", what, s)
			}
		}
		for k := range kinds {
			e := p.Event(k)
			share(k.String(), e.Chance)
			var s float64
			for i, d := range e.Days {
				share(k.String(), d.P)
				s += d.P
				if i > 0 && d.Day != e.Days[i-1].Day+1 {
					t.Fatalf("%v: days are not in a row", k)
				}
			}
			if e.Days != nil && math.Abs(s-1) > 1e-6 {
				t.Fatalf("%v sums to %v", k, s)
			}
			a, b, mass, ok := e.Window(0.9)
			if ok != (e.Days != nil) || ok && (a > b || mass < 0.9-1e-6) {
				t.Fatalf("%v: window %v to %v of mass %v", k, a, b, mass)
			}
		}
		for what, n := range map[string]Numbers{"clutch": p.Clutch, "full": p.Fertile, "hatched": p.Hatched, "alive": p.EggsAlive, "chicks": p.Chicks} {
			sum(what, n)
		}
		for what, x := range map[string]float64{"left": p.Deserted, "none hatches": p.NoneHatches, "due": p.Due, "due at look": p.DueAtLook} {
			share(what, x)
		}
		if math.IsNaN(p.Young) || p.Young < 0 || p.Young > 2*mostEggs || math.IsNaN(p.Evidence) || math.IsInf(p.Evidence, 1) {
			t.Fatalf("%+v", p)
		}
		m.Needs(h, p)
		for _, v := range m.Values(h, p, asked, 5, Care{}) {
			if math.IsNaN(v.Gain) || math.IsNaN(v.Cost) {
				t.Fatalf("%+v", v)
			}
		}
	})
}

// TestPosterior_LooksAtOdds: looks that hardly go together (five eggs clear on one day, nine full
// 44 days on) are still summed with the same weights throughout: no more young than eggs.
func TestPosterior_LooksAtOdds(t *testing.T) {
	m := NewModel(mustProfile(t, "Gouldian finch"), DefaultRates())
	for out := 1; out <= 3; out++ {
		looks := []Look{
			{Day: 0, Minute: 0, DeadChicks: new(0), Clear: 5},
			{Day: 44, Minute: -1, EggsAtLeast: new(5), Out: new(out), Fertile: 9},
		}
		p := m.Posterior(History{looks, new(Day(21))}, 7)
		var most float64
		for n, q := range p.Clutch.P {
			most += q * float64(n)
		}
		if p.Young > most || p.Event(Fledge).Chance < 0.999 || math.Abs(p.Young-float64(out)) > 1.5 {
			t.Errorf("%d out: %v young of %v eggs, leave the nest %v", out, p.Young, most, p.Event(Fledge).Chance)
		}
	}
}

// TestPosterior_MovesWithTheDays: moving every day moves every answer.
func TestPosterior_MovesWithTheDays(t *testing.T) {
	m := NewModel(mustProfile(t, "Gouldian finch"), DefaultRates())
	rapid.Check(t, func(t *rapid.T) {
		looks := rapid.SliceOfN(rapid.Custom(wildLook), 1, 4).Draw(t, "looks")
		by := Day(rapid.IntRange(-2000, 2000).Draw(t, "by"))
		moved := make([]Look, len(looks))
		for i, l := range looks {
			l.Day += by
			if l.EggsDue != nil {
				l.EggsDue = &Window{l.EggsDue.Early + by, l.EggsDue.Likely + by, l.EggsDue.Late + by}
			}
			moved[i] = l
		}
		a, b := m.Posterior(History{Looks: looks}, 40), m.Posterior(History{Looks: moved}, 40+by)
		if a.Fit != b.Fit || math.Abs(a.Evidence-b.Evidence) > 1e-9 {
			t.Fatalf("%v %v, moved %v %v", a.Fit, a.Evidence, b.Fit, b.Evidence)
		}
		for k := range kinds {
			x, xok := a.Event(k).Quantile(0.5)
			y, yok := b.Event(k).Quantile(0.5)
			if xok != yok || xok && y-x != by {
				t.Fatalf("%v: %v, moved by %v: %v", k, x, by, y)
			}
		}
	})
}
