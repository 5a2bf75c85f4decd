package outcome

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

type survivalResults struct {
	LogRank struct {
		ChiSquare          float64 `json:"chisq"`
		DF                 int
		P                  float64
		Observed, Expected []float64
		Order              []string
	}
	Logit struct {
		Coef, SE map[string]float64
		Rows     int `json:"n_rows"`
	} `json:"discrete_logit"`
}

func spellsBy(t *testing.T, file string) map[string][]Spell {
	data := table(t, file+".csv")
	out := map[string][]Spell{}
	for i, v := range data["time"] {
		g := data["group"][i]
		out[g] = append(out[g], Spell{From: 1, To: Days(atoi(t, v)), Event: data["event"][i] == "1"})
	}
	return out
}

// *_results.json: R 4.2.2, survival 3.5-3, survdiff(Surv(time, event) ~ group). Freireich and others 1963: 16.79.
func TestCompareCurves_AgreesWithReferenceValues(t *testing.T) {
	for _, file := range []string{"freireich_6mp", "aml", "first_egg_simulated"} {
		var want survivalResults
		read(t, file+"_results.json", &want)
		by := spellsBy(t, file)
		var groups [][]Spell
		for _, g := range want.LogRank.Order {
			groups = append(groups, by[g])
		}
		got := CompareCurves(groups)
		within(t, file+" chi square", got.ChiSquare, want.LogRank.ChiSquare, 1e-9)
		within(t, file+" p", got.P, want.LogRank.P, 1e-10)
		if got.DF != len(groups)-1 {
			t.Errorf("%s: %d degrees of freedom", file, got.DF)
		}
		for k := range groups {
			within(t, file+" expected", got.Expected[k], want.LogRank.Expected[k], 1e-9)
			within(t, file+" observed", got.Observed[k], want.LogRank.Observed[k], 0)
		}
	}
	for name, groups := range map[string][][]Spell{"none": nil, "one": {{{To: 3, Event: true}}}, "empty": {{}, {}}, "no events": {{{To: 3}}, {{To: 4}}}, "apart": {{{To: 3, Event: true}}, {{From: 5, To: 9, Event: true}}}} {
		if got := CompareCurves(groups); got.P != 1 || got.DF != 0 {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

// The same program, glm(event ~ group + log(t), binomial) on one row for each subject and day: with steps of one day, fixed
// groups and no prior.
func TestHazardRows_AgreeWithReferenceLogit(t *testing.T) {
	for file, order := range map[string][]string{"freireich_6mp": {"6MP", "placebo"}, "first_egg_simulated": {"aviary", "cage", "flight"}} {
		var want survivalResults
		read(t, file+"_results.json", &want)
		by := spellsBy(t, file)
		var waits []Wait
		for k, g := range order {
			for _, s := range by[g] {
				waits = append(waits, Wait{s, k})
			}
		}
		rows, _ := hazardRows(waits, len(order), 1)
		h := Hazard{Width: 1}
		var m Model
		days := 0
		for _, r := range rows {
			x := make([]float64, len(order)+1)
			copy(x, h.columns(float64(r.step)))
			if r.kind > 0 {
				x[1+r.kind] = 1
			}
			m.Counts, m.X = append(m.Counts, r.Count), append(m.X, x)
			days += r.N
		}
		if days != want.Logit.Rows {
			t.Errorf("%s: %d days, want %d", file, days, want.Logit.Rows)
		}
		f := mustFit(t, m)
		names := []string{"(Intercept)", "log(t)"}
		for _, g := range order[1:] {
			names = append(names, "group"+g)
		}
		for j, name := range names {
			within(t, file+" "+name, f.Coef[j], want.Logit.Coef[name], 1e-5)
			within(t, file+" error of "+name, f.SE[j], want.Logit.SE[name], 1e-4)
		}
	}
}

// waitsOf draws waits with a hazard that rises with the day, by kind.
func waitsOf(rng *rand.Rand, kinds []float64, n []int) []Wait {
	var out []Wait
	for k, a := range kinds {
		for range n[k] {
			w := Wait{Kind: k}
			w.From = 1
			stop := Days(10 + rng.IntN(60))
			for d := Days(1); ; d++ {
				if w.To = d; rng.Float64() < expit(a+0.6*math.Log(float64(d))) {
					w.Event = true
					break
				}
				if d == stop {
					break
				}
			}
			out = append(out, w)
		}
	}
	return out
}

func TestFitHazard_FindsWhatWasPutIn(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 72))
	kinds := []float64{-4.2, -5, -5.8, -4.6, -5}
	waits := waitsOf(rng, kinds, []int{150, 150, 150, 150, 2})
	h, err := FitHazard(context.Background(), waits, 5, 7, WeakPrior(2))
	if err != nil {
		t.Fatal(err)
	}
	for k, a := range kinds {
		for _, from := range []Days{0, 14, 30} {
			s := 1.0
			for d := from + 1; d <= from+14; d++ {
				s *= 1 - expit(a+0.6*math.Log(float64(d)))
			}
			got := h.Within(k, from, 14, 0.98)
			if !got.Known || got.Low > 1-s || got.High < 1-s || (k < 4 && got.High-got.Low > 0.3) {
				t.Errorf("kind %d within 14 days of day %d: %+v, put in %.3f", k, from, got, 1-s)
			}
			if fresh := h.Within(Fresh, from, 14, 0.98); fresh.High-fresh.Low < got.High-got.Low {
				t.Errorf("a kind that nobody knows is better known than kind %d: %+v, %+v", k, fresh, got)
			}
		}
	}
	// Far ahead of all that was seen it still answers, and more widely.
	if got := h.Within(0, 200, 14, 0.8); !got.Known || got.AtRisk != 0 || got.Events != 0 || !(got.Low < got.Value && got.Value < got.High) {
		t.Errorf("far ahead: %+v", got)
	}
}

// With many pairs of one kind the model and the product-limit curve say the same.
func TestFitHazard_AgreesWithCurve(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 58))
	waits := waitsOf(rng, []float64{-4.5}, []int{600})
	var spells []Spell
	for _, w := range waits {
		spells = append(spells, w.Spell)
	}
	c := KaplanMeier(spells)
	h, err := FitHazard(context.Background(), waits, 1, 7, WeakPrior(2))
	if err != nil {
		t.Fatal(err)
	}
	for _, day := range []Days{0, 7, 21} {
		within(t, "chance", h.Within(0, day, 14, 0.9).Value, c.Within(day, 14, 0.9).Value, 0.04)
	}
}

// Nobody, one pair, none that laid, all at once: an answer, and no panic.
func TestFitHazard_Few(t *testing.T) {
	for name, waits := range map[string][]Wait{
		"nobody":   nil,
		"one":      {{Spell{To: 12}, 0}},
		"one laid": {{Spell{To: 12, Event: true}, 1}},
		"none laid": {
			{Spell{To: 40}, 0}, {Spell{To: 90}, 1}, {Spell{From: 5, To: 8}, 1},
		},
		"all on day 0": {{Spell{Event: true}, 0}, {Spell{Event: true}, 1}},
	} {
		h, err := FitHazard(context.Background(), waits, 2, 7, WeakPrior(2))
		if err != nil {
			t.Fatal(name, err)
		}
		for _, kind := range []int{0, 1, Fresh} {
			got := h.Within(kind, 3, 14, 0.8)
			if got.Known == (name == "nobody") || !(0 <= got.Low && got.Low <= got.Value && got.Value <= got.High && got.High <= 1) {
				t.Errorf("%s: %+v", name, got)
			}
		}
	}
}

// A lull in mid-winter, put in and found; by four seasons of weeks with few eggs each.
func TestFitSeason_FindsTheLull(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 21))
	truth := func(day int) float64 { return expit(0.8 - 0.9*math.Cos(2*math.Pi*float64(day+10)/year)) }
	var counts []DayCount
	for s := range 4 {
		for w := range 52 {
			day := 4 + 7*w
			n := 4 + rng.IntN(12)
			counts = append(counts, DayCount{Count{binomialDraw(rng, n, truth(day)), n}, day, s})
		}
	}
	c, err := FitSeason(context.Background(), counts, 4, 2)
	if err != nil {
		t.Fatal(err)
	}
	inside := 0
	for w := range 52 {
		day := 4 + 7*w
		v, lo, hi, known := c.At(day, Typical, 0.9)
		if !known || !(lo < v && v < hi) || math.Abs(v-truth(day)) > 0.1 {
			t.Errorf("day %d: %v in %v to %v, put in %v", day, v, lo, hi, truth(day))
		}
		if lo <= truth(day) && truth(day) <= hi {
			inside++
		}
	}
	if inside < 40 {
		t.Errorf("the curve holds %d of 52 weeks", inside)
	}
	a, b := 0.0, 0.0
	a, _, _, _ = c.At(1, 2, 0.9)
	b, _, _, _ = c.At(366, 2, 0.9)
	within(t, "the turn of the year", a, b, 0.01)
	if s := c.Swing(172, 355, 0.9); s.High >= 1 || math.Abs(math.Log(s.Value)+1.8) > 0.5 {
		t.Errorf("the lull: %+v, put in %v", s, math.Exp(-1.8))
	}
	// Eggs that are all alike give a level curve.
	for i := range counts {
		counts[i].Count = Count{7, 10}
	}
	if c, err = FitSeason(context.Background(), counts, 4, 2); err != nil {
		t.Fatal(err)
	}
	if s := c.Swing(172, 355, 0.9); math.Abs(math.Log(s.Value)) > 0.05 || s.Low > 1 || s.High < 1 {
		t.Errorf("of even counts: %+v", s)
	}
	if c, err = FitSeason(context.Background(), nil, 1, 2); err != nil {
		t.Fatal(err)
	}
	if _, _, _, known := c.At(3, Typical, 0.9); known {
		t.Error("known without counts")
	}
}

// Whatever the waits: chances grow with the days asked for, lie in their intervals, a wider level holds a narrower, and
// another order of the waits changes nothing; the log-rank test gives figures.
func TestFitHazard_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kinds := rapid.IntRange(1, 3).Draw(t, "kinds")
		var waits []Wait
		groups := make([][]Spell, kinds)
		for _, s := range someSpells.Draw(t, "spells") {
			w := Wait{s, rapid.IntRange(0, kinds-1).Draw(t, "kind")}
			waits, groups[w.Kind] = append(waits, w), append(groups[w.Kind], s)
		}
		width := Days(rapid.IntRange(1, 7).Draw(t, "width"))
		h, err := FitHazard(context.Background(), waits, kinds, width, WeakPrior(2))
		if err != nil {
			t.Fatal(err)
		}
		if len(waits) > 0 && h.Fit.Status != Converged {
			t.Fatalf("status %v", h.Fit.Status)
		}
		other := slices.Clone(waits)
		slices.Reverse(other)
		back, err := FitHazard(context.Background(), other, kinds, width, WeakPrior(2))
		if err != nil {
			t.Fatal(err)
		}
		for _, kind := range []int{0, kinds - 1, Fresh} {
			last := 0.0
			for _, k := range []Days{1, 5, 14, 60} {
				c, wide := h.Within(kind, 4, k, 0.8), h.Within(kind, 4, k, 0.95)
				if !(0 <= c.Low && c.Low <= c.Value && c.Value <= c.High && c.High <= 1) || c.Value < last || wide.Low > c.Low || wide.High < c.High {
					t.Fatalf("within %d days: %+v after %v, %+v", k, c, last, wide)
				}
				within2(t, "in another order", back.Within(kind, 4, k, 0.8).Value, c.Value, 1e-4)
				last = c.Value
			}
		}
		r := CompareCurves(groups)
		if math.IsNaN(r.ChiSquare) || r.ChiSquare < 0 || !(0 <= r.P && r.P <= 1) || r.DF >= max(kinds, 1) && r.DF > 0 {
			t.Fatalf("log-rank %+v", r)
		}
	})
}
