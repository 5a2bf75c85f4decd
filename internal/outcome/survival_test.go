package outcome

import (
	"encoding/csv"
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// table reads a file of testdata as a map from column to cells.
func table(t *testing.T, name string) map[string][]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for i, col := range rows[0] {
		for _, row := range rows[1:] {
			out[col] = append(out[col], row[i])
		}
	}
	return out
}

func atoi(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// testdata/*_km.csv: R 4.2.2, survival 3.5-3, survfit(Surv(time, event) ~ group, conf.type = "log-log"), level 0.95, and a
// short implementation in numpy, which agree. freireich_6mp: Freireich and others 1963, as in Gehan 1965; aml: Miller 1981;
// first_egg_simulated and edge_ties: invented, the latter with events and ends of watching on one day. Tolerance 1e-9
// absolute for shares (the files carry 12 digits).
func TestKaplanMeier_AgreesWithReferenceValues(t *testing.T) {
	for _, file := range []string{"freireich_6mp", "aml", "first_egg_simulated", "edge_ties"} {
		data, km := table(t, file+".csv"), table(t, file+"_km.csv")
		curves := map[string]*Curve{}
		steps := map[string]int{}
		spells := map[string][]Spell{}
		groupOf := func(cols map[string][]string, i int) string {
			if file == "edge_ties" {
				return ""
			}
			return cols["group"][i]
		}
		for i, v := range data["time"] {
			g := groupOf(data, i)
			spells[g] = append(spells[g], Spell{To: Days(atoi(t, v)), Event: data["event"][i] == "1"})
		}
		for g, s := range spells {
			curves[g] = KaplanMeier(s)
		}
		if len(km["time"]) < 3 {
			t.Fatalf("%s: %d reference rows", file, len(km["time"]))
		}
		for i, v := range km["time"] {
			day := Days(atoi(t, v))
			g := groupOf(km, i)
			c := curves[g]
			steps[g]++
			near := func(what string, got float64) {
				t.Helper()
				want, err := strconv.ParseFloat(km[what][i], 64)
				if err != nil {
					t.Fatal(err)
				}
				if !(math.Abs(got-want) <= 1e-9) {
					t.Errorf("%s %s day %d: %s %.12f, want %.12f", file, g, day, what, got, want)
				}
			}
			near("survival", c.Survival(day))
			if n := c.AtRisk(day); n != atoi(t, km["n_risk"][i]) {
				t.Errorf("%s %s day %d: %d at risk, want %s", file, g, day, n, km["n_risk"][i])
			}
			if st, _ := c.at(day); st.Events != atoi(t, km["n_event"][i]) || st.Day != day {
				t.Errorf("%s %s day %d: %+v, want %s events", file, g, day, st, km["n_event"][i])
			}
			lo, hi, ok := c.LogLog(day, 0.95)
			if km["ci_lower_loglog"][i] == "NA" {
				if ok || c.Variance(day) != 0 {
					t.Errorf("%s %s day %d: nobody is left, and the interval is %v to %v", file, g, day, lo, hi)
				}
				continue
			}
			near("std_err_greenwood", math.Sqrt(c.Variance(day)))
			near("ci_lower_loglog", lo)
			near("ci_upper_loglog", hi)
		}
		for g, c := range curves {
			if len(c.Steps) != steps[g] {
				t.Errorf("%s %s: %d steps, want %d", file, g, len(c.Steps), steps[g])
			}
		}
	}
}

// Kaplan and Meier 1958, JASA 53:457, the example of section 1 (from memory): deaths at 0.8, 3.1, 5.4 and 9.2 months,
// losses at 1.0, 2.7, 7.0 and 12.1; here in tenths of a month.
func TestKaplanMeier_ExampleOf1958(t *testing.T) {
	c := KaplanMeier([]Spell{{To: 8, Event: true}, {To: 31, Event: true}, {To: 54, Event: true}, {To: 92, Event: true}, {To: 10}, {To: 27}, {To: 70}, {To: 121}})
	for _, want := range []struct {
		day Days
		s   float64
	}{{7, 1}, {8, 7.0 / 8}, {30, 7.0 / 8}, {31, 7.0 / 10}, {54, 21.0 / 40}, {92, 21.0 / 80}, {121, 21.0 / 80}} {
		if got := c.Survival(want.day); !(math.Abs(got-want.s) < 1e-14) {
			t.Errorf("day %d: %v, want %v", want.day, got, want.s)
		}
	}
	if last, ok := c.Last(); !ok || last != 121 || c.Events != 4 || c.Subjects != 8 {
		t.Errorf("last %d, %d events of %d", last, c.Events, c.Subjects)
	}
}

// The medians that survfit prints for the remission times (23 and 8 weeks); the limits are where the reference bounds
// of freireich_6mp_km.csv cross a half: 13 and none, 4 and 11 weeks.
func TestQuantile_MedianOfRemission(t *testing.T) {
	data := table(t, "freireich_6mp.csv")
	spells := map[string][]Spell{}
	for i, v := range data["time"] {
		spells[data["group"][i]] = append(spells[data["group"][i]], Spell{To: Days(atoi(t, v)), Event: data["event"][i] == "1"})
	}
	if got, want := KaplanMeier(spells["6MP"]).Quantile(0.5, 0.95, ByLogLog), (Quantile{Day: 23, Known: true, Low: 13, LowKnown: true}); got != want {
		t.Errorf("6-MP: %+v, want %+v", got, want)
	}
	if got, want := KaplanMeier(spells["placebo"]).Quantile(0.5, 0.95, ByLogLog), (Quantile{Day: 8, Known: true, Low: 4, LowKnown: true, High: 11, HighKnown: true}); got != want {
		t.Errorf("placebo: %+v, want %+v", got, want)
	}
	if got := KaplanMeier(spells["6MP"]).Quantile(0.9, 0.95, ByLogLog); got.Known || got.HighKnown {
		t.Errorf("nine in ten of 6-MP is never reached, got %+v", got)
	}
}

// Without censoring the beta product is the exact binomial interval (Fay, Brittain and Proschan 2013, section 2).
func TestInterval_WithoutCensoringIsClopperPearson(t *testing.T) {
	for n := 1; n <= 12; n++ {
		var spells []Spell
		for i := range n {
			spells = append(spells, Spell{To: Days(3*i + 1), Event: true})
		}
		if n > 5 {
			spells[2].To = spells[1].To // a tie
		}
		c := KaplanMeier(spells)
		for day := Days(0); day < Days(3*n+3); day++ {
			left := 0
			for _, s := range spells {
				if s.To > day {
					left++
				}
			}
			lo, hi := c.Interval(day, 0.8)
			wantLo, wantHi := Binomial(left, n, 0.8)
			if !(math.Abs(lo-wantLo) < 1e-9) || !(math.Abs(hi-wantHi) < 1e-9) {
				t.Errorf("%d of %d on day %d: %v to %v, want %v to %v", left, n, day, lo, hi, wantLo, wantHi)
			}
		}
	}
}

// The beta product holds the true share at least as often as it says, with a fifth of the spells cut short.
func TestInterval_HoldsAsOftenAsItSays(t *testing.T) {
	rng := rand.New(rand.NewPCG(1958, 1))
	const rooms, n, day = 4000, 15, 10
	truth := math.Pow(1-0.07, day)
	held := 0
	for range rooms {
		var spells []Spell
		for range n {
			e, w := Days(1), Days(1)
			for rng.Float64() > 0.07 {
				e++
			}
			for rng.Float64() > 0.02 {
				w++
			}
			spells = append(spells, Spell{From: 1, To: min(e, w), Event: e <= w})
		}
		if lo, hi := KaplanMeier(spells).Interval(day, 0.8); lo <= truth && truth <= hi {
			held++
		}
	}
	share := float64(held) / rooms
	se := math.Sqrt(0.8 * 0.2 / rooms)
	if share < 0.8-3*se || share > 0.92 {
		t.Errorf("the interval of 8 in 10 held %.3f of the time", share)
	}
}

// plainSurvival is the slow twin: day by day, in exact fractions, by counting heads.
func plainSurvival(spells []Spell, after, day Days) *big.Rat {
	s := big.NewRat(1, 1)
	for d := after + 1; d <= day; d++ {
		n, k := int64(0), int64(0)
		for _, x := range spells {
			if x.From <= d && d <= x.To {
				n++
				if x.Event && x.To == d {
					k++
				}
			}
		}
		if k > 0 {
			s.Mul(s, big.NewRat(n-k, n))
		}
	}
	return s
}

var someSpells = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Spell {
	from := Days(rapid.IntRange(0, 12).Draw(t, "from"))
	if rapid.Bool().Draw(t, "whole") {
		from = 0
	}
	return Spell{From: from, To: from + Days(rapid.IntRange(0, 15).Draw(t, "long")), Event: rapid.Bool().Draw(t, "event")}
}), 0, 14)

func TestKaplanMeier_AgreesWithTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spells := someSpells.Draw(t, "spells")
		c := KaplanMeier(spells)
		after := Days(rapid.IntRange(-2, 30).Draw(t, "after"))
		g := c.Given(after)
		for day := Days(-1); day <= 32; day++ {
			if want, _ := plainSurvival(spells, -5, day).Float64(); !(math.Abs(c.Survival(day)-want) < 1e-12) {
				t.Fatalf("day %d: %v, want %v", day, c.Survival(day), want)
			}
			if want, _ := plainSurvival(spells, after, day).Float64(); !(math.Abs(g.Survival(day)-want) < 1e-12) {
				t.Fatalf("given day %d, day %d: %v, want %v", after, day, g.Survival(day), want)
			}
		}
	})
}

func TestKaplanMeier_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spells := someSpells.Draw(t, "spells")
		c := KaplanMeier(spells)
		// Cutting a spell in two at any day tells nothing more and nothing less.
		var cut []Spell
		for i, s := range spells {
			if s.To > s.From && i%2 == 0 {
				at := s.From + (s.To-s.From-1)/2
				cut = append(cut, Spell{From: s.From, To: at}, Spell{From: at + 1, To: s.To, Event: s.Event})
			} else {
				cut = append(cut, s)
			}
		}
		slices.Reverse(cut)
		other := KaplanMeier(cut)
		// What has not happened yet does not change what is behind.
		now := Days(rapid.IntRange(0, 20).Draw(t, "now"))
		var known []Spell
		for _, s := range spells {
			if s.From <= now {
				known = append(known, Spell{From: s.From, To: min(s.To, now), Event: s.Event && s.To <= now})
			}
		}
		early := KaplanMeier(known)
		prev := 1.0
		for day := Days(-1); day <= 30; day++ {
			s := c.Survival(day)
			lo, hi := c.Interval(day, 0.8)
			lo9, hi9 := c.Interval(day, 0.9)
			loG, hiG, okG := c.LogLog(day, 0.8)
			for _, v := range []float64{s, lo, hi, lo9, hi9, loG, hiG, c.Variance(day)} {
				if math.IsNaN(v) || v < 0 || v > 1 {
					t.Fatalf("day %d: a figure of %v", day, v)
				}
			}
			if s > prev || lo > s+1e-12 || s > hi+1e-12 || lo9 > lo+1e-9 || hi9 < hi-1e-9 || (okG && (loG > s || s > hiG)) {
				t.Fatalf("day %d: %v after %v in %v to %v (%v to %v)", day, s, prev, lo, hi, lo9, hi9)
			}
			prev = s
			if !(math.Abs(other.Survival(day)-s) < 1e-12) || other.AtRisk(day) != c.AtRisk(day) || !(math.Abs(other.Variance(day)-c.Variance(day)) < 1e-12) {
				t.Fatalf("day %d: %v when spells are cut in two, %v before", day, other.Survival(day), s)
			}
			if day <= now && !(math.Abs(early.Survival(day)-s) < 1e-12) {
				t.Fatalf("day %d, known by day %d: %v, and %v with what came after", day, now, early.Survival(day), s)
			}
			if w := c.Within(now, day, 0.8); w.Known {
				if want := 1 - c.Given(now).Survival(now+day); w.Value != want || w.Low > w.Value+1e-12 || w.High < w.Value-1e-12 {
					t.Fatalf("within %d days of day %d: %+v, want %v", day, now, w, want)
				}
			}
		}
		for _, p := range []float64{0.1, 0.5, 0.9} {
			for _, by := range []Bounds{ByLogLog, ByBetaProduct} {
				q := c.Quantile(p, 0.8, by)
				if q.Known && (c.Survival(q.Day) > 1-p+sameShare || c.Survival(q.Day-1) <= 1-p-sameShare || !q.LowKnown || q.Low > q.Day) || q.HighKnown && q.High < q.Day {
					t.Fatalf("quantile %v: %+v", p, q)
				}
			}
		}
	})
}

// A pair that came into the books on its tenth day of waiting counts from then on, not before.
func TestKaplanMeier_DelayedEntry(t *testing.T) {
	spells := []Spell{{To: 5, Event: true}, {To: 12, Event: true}, {To: 30}, {From: 10, To: 14, Event: true}}
	c := KaplanMeier(spells)
	for _, want := range []struct {
		day Days
		n   int
		s   float64
	}{{5, 3, 2.0 / 3}, {12, 3, 4.0 / 9}, {14, 2, 2.0 / 9}} {
		if c.AtRisk(want.day) != want.n || !(math.Abs(c.Survival(want.day)-want.s) < 1e-14) {
			t.Errorf("day %d: %d at risk and %v, want %d and %v", want.day, c.AtRisk(want.day), c.Survival(want.day), want.n, want.s)
		}
	}
	// An early entry alone at risk brings the curve to 0; what is asked of later days stands all the same.
	c = KaplanMeier([]Spell{{To: 2, Event: true}, {From: 4, To: 9, Event: true}, {From: 4, To: 20}})
	if c.Survival(9) != 0 || c.Given(3).Survival(9) != 0.5 {
		t.Errorf("whole %v, given day 3 %v; want 0 and a half", c.Survival(9), c.Given(3).Survival(9))
	}
}

func TestWithin(t *testing.T) {
	c := KaplanMeier([]Spell{{To: 3, Event: true}, {To: 6, Event: true}, {To: 6, Event: true}, {To: 9, Event: true}, {To: 12}})
	for _, want := range []struct {
		day, k  Days
		value   float64
		known   bool
		atLeast bool
		n, d    int
	}{
		{0, 3, 1.0 / 5, true, false, 5, 1},
		{3, 3, 1.0 / 2, true, false, 4, 2},
		{6, 3, 1.0 / 2, true, false, 2, 1},
		{9, 2, 0, true, false, 1, 0},
		{9, 30, 0, true, true, 1, 0},
		{12, 5, 0, false, false, 0, 0},
		{3, 0, 0, false, false, 4, 0},
	} {
		got := c.Within(want.day, want.k, 0.8)
		if got.Known != want.known || got.AtLeast != want.atLeast || !(math.Abs(got.Value-want.value) < 1e-12) || got.AtRisk != want.n || got.Events != want.d {
			t.Errorf("within %d days of day %d: %+v, want %+v", want.k, want.day, got, want)
		}
	}
	if got := KaplanMeier(nil).Within(4, 5, 0.8); got.Known || got.Value != 0 || got.High != 1 {
		t.Errorf("of nobody: %+v", got)
	}
}

func TestKaplanMeier_PanicsOnMistakes(t *testing.T) {
	for name, f := range map[string]func(){
		"backwards":      func() { KaplanMeier([]Spell{{From: 3, To: 2}}) },
		"level 1":        func() { KaplanMeier(nil).Interval(1, 1) },
		"level not real": func() { KaplanMeier(nil).LogLog(1, math.NaN()) },
		"quantile 0":     func() { KaplanMeier(nil).Quantile(0, 0.8, ByLogLog) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}
