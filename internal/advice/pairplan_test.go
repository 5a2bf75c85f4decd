package advice

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"broodlight/internal/aviary"
)

// tableOf is matings as a test writes them: young and kinship by cock and hen.
func tableOf(young, kinship [][]float64) *Matings {
	m := &Matings{}
	for i := range young {
		m.Cocks = append(m.Cocks, Mate{Bird: &aviary.Bird{ID: id(100 + i)}})
		var line []Mating
		for j := range young[i] {
			line = append(line, Mating{Young: young[i][j], YoungSD: 1, Kinship: kinship[i][j]})
		}
		m.Cells = append(m.Cells, line)
	}
	for j := range young[0] {
		m.Hens = append(m.Hens, Mate{Bird: &aviary.Bird{ID: id(200 + j)}})
	}
	n := len(m.Cocks)
	m.kin = make([][]float64, n+len(m.Hens))
	for i := range m.kin {
		m.kin[i] = make([]float64, n+len(m.Hens))
		m.kin[i][i] = 1
	}
	for i := range kinship {
		for j, k := range kinship[i] {
			m.kin[i][n+j], m.kin[n+j][i] = k, k
		}
	}
	return m
}

func drawTable(t *rapid.T, most int) *Matings {
	n, k := rapid.IntRange(1, most).Draw(t, "cocks"), rapid.IntRange(1, most).Draw(t, "hens")
	young, kin := make([][]float64, n), make([][]float64, n)
	for i := range n {
		for range k {
			young[i] = append(young[i], rapid.Float64Range(0, 8).Draw(t, "young"))
			kin[i] = append(kin[i], rapid.Float64Range(0, 1/float64(most)).Draw(t, "kinship")) // so that it may be a kinship
		}
	}
	return tableOf(young, kin)
}

// valueOf is what a set is worth at a weight, cell by cell.
func valueOf(m *Matings, set []Couple, weight float64) float64 {
	v := 0.0
	for _, c := range set {
		v += m.Cells[c.Cock][c.Hen].Young - weight*100*m.Cells[c.Cock][c.Hen].Kinship
	}
	return v
}

// differ counts the pairs of a set that another one has not.
func differ(a, b []Couple) int {
	n := 0
	for _, c := range a {
		if !slices.Contains(b, c) {
			n++
		}
	}
	return n
}

// everySet lists all sets of as many pairs as there can be.
func everySet(m *Matings) [][]Couple {
	var out [][]Couple
	n := min(len(m.Cocks), len(m.Hens))
	var step func(i int, used []bool, set []Couple)
	step = func(i int, used []bool, set []Couple) {
		if len(set) == n {
			out = append(out, append([]Couple(nil), set...))
			return
		}
		if i == len(m.Cocks) {
			return
		}
		for j := range m.Hens {
			if !used[j] {
				used[j] = true
				step(i+1, used, append(set, Couple{Cock: i, Hen: j}))
				used[j] = false
			}
		}
		step(i+1, used, set)
	}
	step(0, make([]bool, len(m.Hens)), nil)
	return out
}

// The set chosen, the second best and the price of a pair are those of listing every set.
func TestPairs_AgainstListing(t *testing.T) {
	d := zebras(t).desk("2026-01-13")
	rapid.Check(t, func(rt *rapid.T) {
		m := drawTable(rt, 5)
		w := rapid.SampledFrom([]float64{0, 0.02, 0.1, 0.4, 1.6}).Draw(rt, "weight")
		p, err := d.Pairs(context.Background(), PairQuery{Weight: w}, m)
		if err != nil {
			rt.Fatal(err)
		}
		best, second := math.Inf(-1), math.Inf(-1) // second: of the sets that differ in two pairs or more
		price := map[Couple]float64{}
		for _, set := range everySet(m) {
			v := valueOf(m, set, w)
			best = max(best, v)
			if differ(p.Best.Pairs, set) >= min(othersDiffer, len(p.Best.Pairs)) {
				second = max(second, v)
			}
			for _, c := range set {
				if x, ok := price[c]; !ok || v > x {
					price[c] = v
				}
			}
		}
		if got := valueOf(m, p.Best.Pairs, w); math.Abs(got-best) > 1e-9 || p.Best.Gap > 1e-9 {
			rt.Errorf("worth %v, the best is %v", got, best)
		}
		if len(p.Others) > 0 && p.Others[0].Single == 0 && math.Abs(best-second-p.Others[0].Cost) > 1e-9 {
			rt.Errorf("the next set costs %v, want %v", p.Others[0].Cost, best-second)
		}
		i, j := rapid.IntRange(0, len(m.Cocks)-1).Draw(rt, "cock"), rapid.IntRange(0, len(m.Hens)-1).Draw(rt, "hen")
		in, err := p.Insist(context.Background(), i, j)
		if err != nil {
			rt.Fatal(err)
		}
		if !in.Chosen && math.Abs(in.Cost-(best-price[Couple{Cock: i, Hen: j}])) > 1e-9 {
			rt.Errorf("insisting costs %v, want %v", in.Cost, best-price[Couple{Cock: i, Hen: j}])
		}
	})
}

// Along the curve young and relatedness both fall: nobody is asked to give up young for nothing.
func TestPairs_TheCurveFalls(t *testing.T) {
	d := zebras(t).desk("2026-01-13")
	rapid.Check(t, func(rt *rapid.T) {
		p, err := d.Pairs(context.Background(), PairQuery{}, drawTable(rt, 7))
		if err != nil {
			rt.Fatal(err)
		}
		for i := 1; i < len(p.Curve); i++ {
			a, b := p.Curve[i-1], p.Curve[i]
			if b.Young > a.Young+1e-9 || b.Related > a.Related+1e-9 {
				rt.Errorf("from weight %v to %v: young %v to %v, related %v to %v", a.Weight, b.Weight, a.Young, b.Young, a.Related, b.Related)
			}
		}
	})
}

func TestPairs_ForbiddenWantedInsisted(t *testing.T) {
	young := [][]float64{{5, 1, 1}, {1, 5, 1}, {1, 1, 5}}
	none := [][]float64{{0, 0, 0}, {0, 0, 0}, {0, 0, 0}}
	d := zebras(t).desk("2026-01-13")
	plan := func(m *Matings, q PairQuery) string {
		p, err := d.Pairs(context.Background(), q, m)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(p.Best.Pairs)
	}
	if got := plan(tableOf(young, none), PairQuery{}); got != "[{0 0} {1 1} {2 2}]" {
		t.Errorf("chose %s", got)
	}
	m := tableOf(young, none)
	m.Cells[0][0].Forbidden = "sister"
	if got := plan(m, PairQuery{}); got == "[{0 0} {1 1} {2 2}]" {
		t.Error("a forbidden pair was chosen")
	}
	m = tableOf(young, none)
	m.Cells[0][1].Wanted = true
	if got := plan(m, PairQuery{}); got != "[{0 1} {1 0} {2 2}]" {
		t.Errorf("a wanted pair: chose %s", got)
	}
	if got := plan(tableOf(young, none), PairQuery{Insist: [][2]aviary.ID{{id(101), id(202)}}}); got != "[{0 0} {1 2} {2 1}]" {
		t.Errorf("a pair tried out: chose %s", got)
	}
	m = tableOf(young, none)
	for j := range 3 {
		m.Cells[2][j].Forbidden = "your rule"
	}
	p, err := d.Pairs(context.Background(), PairQuery{}, m)
	if err != nil || p.Best.Single != 1 {
		t.Errorf("%v, %d left single", err, p.Best.Single)
	}
}

func TestPairs_CagesProvenFirst(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-11", &aviary.PairEnded{Pair: pair1, Reason: "season over"})
	b.add("2026-01-11", &aviary.BirdMoved{Bird: cock, Place: flight})
	b.add("2026-01-11", &aviary.BirdMoved{Bird: hen, Place: flight})
	d := b.desk("2026-01-13")
	p, err := d.Pairs(context.Background(), PairQuery{MatingQuery: MatingQuery{Species: "zebra"}, Weight: UsualWeight}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Best.Pairs) != 2 || len(p.Cages) != 2 || p.Cages[0].Place == nil || p.Cages[1].Place == nil || p.Cages[0].Place == p.Cages[1].Place {
		t.Fatalf("%+v, cages %+v", p.Best, p.Cages)
	}
	if got := p.Why(p.Best.Pairs[0]); len(got) == 0 || got[0] != "No ancestor that the books know is shared." {
		t.Errorf("why %q", got)
	}
}

// Limits: at most so many pairs, of one brood, of a look; and wishes that count.
func TestPairs_LimitsAndWishes(t *testing.T) {
	rows := [][3]string{{"c1"}, {"h1"}, {"c2"}, {"h2"}, {"h3"}, {"b1", "c1", "h1"}, {"b2", "c1", "h1"}, {"b3", "c1", "h1"}}
	sex := map[string]aviary.Sex{"c1": aviary.Cock, "c2": aviary.Cock, "b1": aviary.Cock, "b2": aviary.Cock, "b3": aviary.Cock, "h1": aviary.Hen, "h2": aviary.Hen, "h3": aviary.Hen}
	b, ids := pedigreeRoom(t, rows, sex)
	for _, gone := range []string{"c1", "h1"} {
		b.add("2025-01-01", &aviary.BirdLeft{Bird: ids[gone], How: "sold"})
	}
	for _, name := range []string{"c2", "b1", "h2"} {
		b.add("2025-02-01", &aviary.LookSeen{Bird: ids[name], Trait: "body", Look: "grey"})
	}
	b.add("2025-02-01", &aviary.LookSeen{Bird: ids["h3"], Trait: "body", Look: "fawn"})
	b.add("2025-02-02", &aviary.YoungWished{Species: "zebra", Look: "fawn", Count: 2})
	d := b.desk("2026-01-13")
	plan := func(q PairQuery) *PairPlan {
		t.Helper()
		q.Species = "zebra"
		p, err := d.Pairs(context.Background(), q, nil)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	if p := plan(PairQuery{}); len(p.Best.Pairs) != 2 || p.Clash != "" {
		t.Fatalf("%+v", p.Best)
	}
	if p := plan(PairQuery{Most: 1}); len(p.Best.Pairs) != 1 || p.Best.Single != 1 {
		t.Errorf("at most one pair: %+v", p.Best)
	}
	p := plan(PairQuery{Sibs: 1})
	brothers := 0
	for _, c := range p.Best.Pairs {
		if p.Cocks[c.Cock].Bird.Name[0] == 'b' {
			brothers++
		}
	}
	if brothers > 1 {
		t.Errorf("%d brothers are paired, at most 1 is asked for", brothers)
	}
	if p = plan(PairQuery{Shows: []ShowLimit{{"fawn", 0}}}); len(p.Best.Pairs) != 1 {
		t.Errorf("no pair with a fawn bird: %+v", p.Best)
	}
	if got := p.Wished(d.Room, p.Best); len(got) != 1 || got[0].Wish.Count != 2 {
		t.Errorf("wishes %+v", got)
	}
	// In the next generation's kinship the brothers count as related to each other: it is never below the pairs' own share.
	if p = plan(PairQuery{Next: 1, Weight: 1}); !(p.Best.Next > 0) || p.Best.Gap > closeCall+1e-9 {
		t.Errorf("kinship of the next generation %v, gap %v", p.Best.Next, p.Best.Gap)
	}
}
