package advice

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
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
		best, second := math.Inf(-1), math.Inf(-1)                  // second: of the sets that differ in two pairs or more
		price, spared := map[Couple]float64{}, map[Couple]float64{} // best value with a pair, and without
		for _, set := range everySet(m) {
			v := valueOf(m, set, w)
			best = max(best, v)
			if differ(p.Best.Pairs, set) >= min(othersDiffer, len(p.Best.Pairs)) {
				second = max(second, v)
			}
			for i := range m.Cocks {
				for j := range m.Hens {
					c, values := Couple{Cock: i, Hen: j}, spared
					if slices.Contains(set, c) {
						values = price
					}
					if x, ok := values[c]; !ok || v > x {
						values[c] = v
					}
				}
			}
			for _, s := range p.Curve { // each is the best at its own weight, which the table of kinship tells from any price
				if valueOf(m, set, s.Weight) > valueOf(m, s.Pairs, s.Weight)+1e-7*max(1, s.Weight) {
					rt.Errorf("at weight %v %v is better than %v", s.Weight, set, s.Pairs)
				}
			}
		}
		if b := p.Best; math.Abs(b.Value-valueOf(m, b.Pairs, w)) > 1e-9 || !b.Proven() || b.MostPairs != len(b.Pairs) || b.Fine != 0 {
			rt.Errorf("%+v", b)
		}
		if got := valueOf(m, p.Best.Pairs, w); math.Abs(got-best) > 1e-9 || p.Best.Gap() > 1e-9 {
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
		c := p.Best.Pairs[rapid.IntRange(0, len(p.Best.Pairs)-1).Draw(rt, "pair")]
		out, err := p.Without(context.Background(), c.Cock, c.Hen)
		if err != nil {
			rt.Fatal(err)
		}
		without, some := spared[c]
		switch {
		case !out.Chosen || slices.Contains(out.New, c) || !out.Never && !slices.Contains(out.Lost, c):
			rt.Errorf("without %v: %+v", c, out)
		case out.Never || out.Fewer > 0: // one cock and one hen, with no other to take
			if some {
				rt.Errorf("without %v: %+v, and %v can be had", c, out, without)
			}
		case math.Abs(out.Cost-(best-without)) > 1e-9 || out.Low > out.Cost || out.High < out.Cost:
			rt.Errorf("doing without costs %+v, want %v", out, best-without)
		}
		if again, err := p.Without(context.Background(), i, j); err != nil || again.Chosen != in.Chosen || !again.Chosen && again.Cost != 0 {
			rt.Errorf("without a pair that is not there: %+v, %v", again, err)
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

// brothersRoom is two pairs of founders of which one, sold, left three sons, and another hen; with looks, and two fawn young
// wished for.
func brothersRoom(t *testing.T) (*book, map[string]aviary.ID) {
	t.Helper()
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
	return b, ids
}

func mustPlan(t *testing.T, d *Desk, q PairQuery) *PairPlan {
	t.Helper()
	q.Species = "zebra"
	p, err := d.Pairs(t.Context(), q, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Limits: at most so many pairs, of one brood, of a look; and wishes that count.
func TestPairs_LimitsAndWishes(t *testing.T) {
	b, ids := brothersRoom(t)
	d := b.desk("2026-01-13")
	plan := func(q PairQuery) *PairPlan { t.Helper(); return mustPlan(t, d, q) }
	if p := plan(PairQuery{}); len(p.Best.Pairs) != 2 || p.Clash.Kind != NoClash || p.Best.Fine != 0 {
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
	// The look of a bird is each part of what was seen last of a trait, in capitals or not.
	b.add("2025-03-01", &aviary.LookSeen{Bird: ids["h3"], Trait: "body", Look: "Fawn, pied"})
	b.add("2025-03-01", &aviary.LookSeen{Bird: ids["h2"], Trait: "body", Look: "grey fawn"})
	d = b.desk("2026-01-13")
	if p = plan(PairQuery{Shows: []ShowLimit{{" FAWN", 0}}}); len(p.Best.Pairs) != 1 || p.Hens[p.Best.Pairs[0].Hen].Bird.Name != "h2" {
		t.Errorf("no pair with a fawn bird: %+v", p.Best)
	}
	if p = plan(PairQuery{Shows: []ShowLimit{{"pied", 0}, {"grey", 0}}}); len(p.Best.Pairs) != 1 {
		t.Errorf("no pair with a pied bird, none with a grey one: %+v", p.Best)
	}
	// What is wished for and not expected costs its price. Nobody is known to hide fawn but h3, so that no young shows it.
	for _, price := range []float64{WishPrice, 3} {
		p = plan(PairQuery{Wishes: price, Work: 500})
		w := p.Wished(d.Room, p.Best)
		if want := price * (2 - w[0].Expected); !w[0].Short() || math.Abs(p.Best.Fine-want) > 1e-9 || math.Abs(p.Best.Value-(p.Best.Young-want)) > 1e-9 {
			t.Errorf("at %v: fine %v, value %v of %v young, want a fine of %v", price, p.Best.Fine, p.Best.Value, p.Best.Young, want)
		}
	}
	// In the next generation's kinship the brothers count as related to each other: it is never below the pairs' own share.
	if p = plan(PairQuery{Next: 1, Weight: 1}); !(p.Best.Next > 0) || p.Best.Gap() > closeCall+1e-9 {
		t.Errorf("kinship of the next generation %v, gap %v", p.Best.Next, p.Best.Gap())
	}
}

// How many other sets, in how many pairs they differ, how long the curve is and how hard each is sought can all be asked for.
func TestPairs_HowMuchIsSought(t *testing.T) {
	d := zebras(t).desk("2026-01-13")
	rng := rand.New(rand.NewPCG(1, 5))
	young, kin := make([][]float64, 7), make([][]float64, 7)
	for i := range young {
		for range 7 {
			young[i], kin[i] = append(young[i], 5*rng.Float64()), append(kin[i], 0.14*rng.Float64())
		}
	}
	m := tableOf(young, kin)
	plan := func(q PairQuery) *PairPlan {
		t.Helper()
		p, err := d.Pairs(t.Context(), q, m)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	usual := plan(PairQuery{Weight: 0.2})
	if len(usual.Others) != mostOthers || len(usual.Curve) < 4 || len(usual.Curve) > curvePoints {
		t.Fatalf("%d others, %d on the curve", len(usual.Others), len(usual.Curve))
	}
	none := plan(PairQuery{Weight: 0.2, Others: NoSets, Points: NoSets})
	if len(none.Others)+len(none.Curve) != 0 || !slices.Equal(none.Best.Pairs, usual.Best.Pairs) {
		t.Errorf("%+v", none)
	}
	some := plan(PairQuery{Weight: 0.2, Others: 3, Differ: 4, Points: 3, Work: 5000})
	if len(some.Others) != 3 || len(some.Curve) != 3 {
		t.Errorf("%d others, %d on the curve, 3 of each asked for", len(some.Others), len(some.Curve))
	}
	for k, s := range some.Others {
		for _, before := range append([]PairSet{some.Best}, some.Others[:k]...) {
			if n := differ(before.Pairs, s.Pairs); n < 4 || s.Cost < before.Cost {
				t.Errorf("set %d differs in %d pairs and costs %v after %v", k+1, n, s.Cost, before.Cost)
			}
		}
	}
	// With work asked for, the best is proved to the last, which the usual search leaves open by closeCall.
	exact := plan(PairQuery{Weight: 0.2, Next: 1, Most: 4, Others: NoSets, Work: 20_000})
	near := plan(PairQuery{Weight: 0.2, Next: 1, Most: 4, Others: NoSets})
	if !exact.Best.Proven() || exact.Best.Gap() > 1e-8 || !near.Best.Proven() || near.Best.Gap() > closeCall+1e-9 || near.Best.Value > exact.Best.Value+1e-9 || near.Best.Bound < exact.Best.Value-1e-9 {
		t.Errorf("sought to the last %+v, as usual %+v", exact.Best, near.Best)
	}
	if near.Best.Gap() < closeCall/2 || math.Abs(exact.Best.Value-(exact.Best.Young-0.2*100*4*exact.Best.Next)) > 1e-9 {
		t.Errorf("of value %v, %v young and related %v in the next generation; as usual open by %v", exact.Best.Value, exact.Best.Young, exact.Best.Next, near.Best.Gap())
	}
	for i := range 7 {
		told, err := exact.Insist(t.Context(), i, 3)
		about, err2 := near.Insist(t.Context(), i, 3)
		if err := errors.Join(err, err2); err != nil {
			t.Fatal(err)
		}
		if told.Chosen || about.Chosen {
			continue
		}
		if about.Low > told.Cost+1e-9 || about.High < told.Cost-1e-9 || about.Low > about.Cost-closeCall/2 || about.High < about.Cost+closeCall/2 {
			t.Errorf("insisting costs %v; as usual %v, from %v to %v", told.Cost, about.Cost, about.Low, about.High)
		}
	}
	// A set as little related as asked for, at the price of some young; and none where that cannot be.
	least := usual.Curve[len(usual.Curve)-1]
	bound := (usual.Curve[0].Related + least.Related) / 2
	p := plan(PairQuery{Related: bound, Others: NoSets, Points: NoSets})
	best := math.Inf(-1)
	for _, set := range everySet(m) {
		if valueOf(m, set, 1)-valueOf(m, set, 0) >= -100*bound*7-1e-9 {
			best = max(best, valueOf(m, set, 0))
		}
	}
	if p.Best.Related > bound+1e-12 || p.Best.Young < best-closeCall-1e-9 || p.Best.Young > best+1e-9 {
		t.Errorf("related %v of at most %v, %v young of at most %v", p.Best.Related, bound, p.Best.Young, best)
	}
	if p = plan(PairQuery{Related: least.Related * 0.9}); p.Clash.Kind != RelatedClash || len(p.Best.Pairs) != 0 {
		t.Errorf("less related than can be: %+v, %+v", p.Clash, p.Best)
	}
}

// Rules and limits that cannot be kept are said and not passed over.
func TestPairs_Clashes(t *testing.T) {
	b, ids := brothersRoom(t)
	rule := func(cock, hen, what string) {
		b.add("2025-06-01", &aviary.PairRuled{Cock: ids[cock], Hen: ids[hen], Rule: what})
	}
	clash := func(q PairQuery, want ClashKind, text string) *PairPlan {
		t.Helper()
		p := mustPlan(t, b.desk("2026-01-13"), q)
		if p.Clash.Kind != want || p.Clash.Text != text || (len(p.Best.Pairs) > 0) != (want == NoClash) {
			t.Errorf("clash %+v with %d pairs, want kind %d: %s", p.Clash, len(p.Best.Pairs), want, text)
		}
		return p
	}
	try := func(pairs ...string) PairQuery {
		var q PairQuery
		for i := 0; i < len(pairs); i += 2 {
			q.Insist = append(q.Insist, [2]aviary.ID{ids[pairs[i]], ids[pairs[i+1]]})
		}
		return q
	}
	unkept := func(p *PairPlan, want ...string) {
		t.Helper()
		if !slices.Equal(p.Unkept, want) {
			t.Errorf("said %q, want %q", p.Unkept, want)
		}
	}
	rule("b1", "h2", "together")
	clash(PairQuery{}, NoClash, "")
	clash(try("b2", "h3", "b2", "h2"), TriesClash, "b2 is tried out with two birds at once; leave one of them out")
	clash(try("b2", "h3", "b3", "h3"), TriesClash, "h3 is tried out with two birds at once; leave one of them out")
	p := clash(try("b2", "h2"), NoClash, "")
	unkept(p, "Your rule for b1 and h2 is set aside while one of them is tried out with another.")
	unkept(clash(try("b1", "h2"), NoClash, ""))
	rule("c2", "h3", "apart")
	unkept(clash(try("c2", "h3"), NoClash, ""), "c2 and h3, whom you try out, are forbidden: your rule.")

	rule("b2", "h3", "together")
	clash(PairQuery{Sibs: 2}, NoClash, "")
	clash(PairQuery{Sibs: 1}, LimitsClash, "this limit cannot be kept: at most 1 young of c1 and h1")
	clash(PairQuery{Sibs: 1, Shows: []ShowLimit{{"grey", 0}}}, LimitsClash, "this limit cannot be kept: at most 1 young of c1 and h1")
	clash(PairQuery{Most: 1}, WantedClash, "the pairs that you want and the limits cannot be kept together")
	clash(PairQuery{Most: 1, Related: 0.1}, WantedClash, "the pairs that you want and the limits cannot be kept together")
	b.add("2025-06-02", &aviary.ParentsSet{Bird: ids["h3"], Sire: ids["c1"], Dam: ids["h1"]})
	unkept(clash(PairQuery{}, NoClash, ""), "b2 and h3, whom you want together, are forbidden: sister.")

	rule("b3", "h2", "together")
	clash(PairQuery{}, RulesClash, "by your rules h2 is to be with two birds at once; take one of the rules back")
	clash(try("c2", "h2"), RulesClash, "by your rules h2 is to be with two birds at once; take one of the rules back")
	rule("b3", "h2", "free")
	clash(PairQuery{}, NoClash, "")
}
