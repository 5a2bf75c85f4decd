package feed

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"broodlight/internal/feed/plain"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"
)

// rationCase is one case of testdata/rations.json; its source and published fields say where
// it comes from. Optimum, prices and status are from scipy HiGHS and glpsol 5.0.
type rationCase struct {
	ID          string                      `json:"id"`
	Foods       []string                    `json:"foods"`
	Cost        []float64                   `json:"cost"`
	Constraints map[string]rationConstraint `json:"constraints"`
	Bounds      [][2]*float64               `json:"bounds"`
	Equality    *struct {
		Coef []float64
		RHS  float64
	} `json:"equality"`
	Status    string             `json:"status"`
	Objective float64            `json:"objective"`
	X         []float64          `json:"x"`
	Shadow    map[string]float64 `json:"shadow"`
	Stigler   float64            `json:"objective_dollars_per_day"`
	Least     map[string]float64 `json:"requirements_min"`
	Basic     map[string]float64 `json:"basic_foods"`
	Prices    map[string]float64 `json:"shadow_prices"`
}

type rationConstraint struct {
	Coef     []float64
	Min, Max *float64
}

func mustRations(tb testing.TB) []rationCase {
	tb.Helper()
	raw, err := os.ReadFile("testdata/rations.json")
	if err != nil {
		tb.Fatal(err)
	}
	var cases []rationCase
	if err := json.Unmarshal(raw, &cases); err != nil {
		tb.Fatal(err)
	}
	return cases
}

func limitOf(low, high *float64) Limit {
	l := Limit{math.Inf(-1), math.Inf(1)}
	if low != nil {
		l.Min = *low
	}
	if high != nil {
		l.Max = *high
	}
	return l
}

func near(got, want, rel float64) bool {
	return math.Abs(got-want) <= rel*max(1, math.Abs(want))
}

// TestSolve_TextbookRations holds status, cost and shadow prices of the ration cases, among
// them Taha, Operations Research, example 2.2-2 (470.6 lb, 329.4 lb, $437.65).
func TestSolve_TextbookRations(t *testing.T) {
	seen := 0
	for _, c := range mustRations(t) {
		if c.ID == "stigler1939" {
			continue
		}
		seen++
		p := Programme{Cost: c.Cost}
		for _, b := range c.Bounds {
			p.Bounds = append(p.Bounds, limitOf(b[0], b[1]))
		}
		var names []string
		for name, k := range c.Constraints {
			names = append(names, name)
			p.Rows = append(p.Rows, k.Coef)
			p.Limits = append(p.Limits, limitOf(k.Min, k.Max))
		}
		if c.Equality != nil {
			p.Rows = append(p.Rows, c.Equality.Coef)
			p.Limits = append(p.Limits, Limit{c.Equality.RHS, c.Equality.RHS})
		}
		got := p.Solve()
		if got.Status.String() != c.Status {
			t.Errorf("%s: status %v, want %s", c.ID, got.Status, c.Status)
			continue
		}
		if c.Status != "optimal" {
			continue
		}
		if !near(got.Cost, c.Objective, 1e-9) {
			t.Errorf("%s: cost %v, want %v", c.ID, got.Cost, c.Objective)
		}
		if want := c.ID == "degenerate"; got.Tied != want {
			t.Errorf("%s: tied %v, want %v", c.ID, got.Tied, want)
		}
		if !got.Tied {
			for j, x := range c.X {
				if !near(got.X[j], x, 1e-7) {
					t.Errorf("%s: %s is %v, want %v", c.ID, c.Foods[j], got.X[j], x)
				}
			}
		}
		for i, name := range names {
			if low, ok := c.Shadow[name+" min"]; ok && !near(max(got.Price[i], 0), low, 1e-7) {
				t.Errorf("%s: price of %s min is %v, want %v", c.ID, name, got.Price[i], low)
			}
			if high, ok := c.Shadow[name+" max"]; ok && !near(max(-got.Price[i], 0), high, 1e-7) {
				t.Errorf("%s: price of %s max is %v, want %v", c.ID, name, -got.Price[i], high)
			}
		}
	}
	if seen != 6 {
		t.Errorf("%d cases were read, want 6", seen)
	}
}

// TestSolve_Stigler holds the cost of subsistence of 1939: 77 foods, $39.69 a year
// (Stigler 1945; solved by Laderman with Dantzig's method, 365.25 days).
func TestSolve_Stigler(t *testing.T) {
	f, err := os.Open("testdata/stigler77.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := mustRations(t)[0]
	nutrients := []string{"calories", "protein", "calcium", "iron", "vitaminA", "thiamine", "riboflavin", "niacin", "ascorbicAcid"}
	p := Programme{Rows: make([][]float64, len(nutrients))}
	var foods []string
	for _, r := range rows[1:] {
		foods = append(foods, r[0])
		p.Cost = append(p.Cost, 1)
		p.Bounds = append(p.Bounds, AtLeast(0))
		for i := range nutrients {
			v, err := strconv.ParseFloat(r[3+i], 64)
			if err != nil {
				t.Fatal(err)
			}
			p.Rows[i] = append(p.Rows[i], v)
		}
	}
	for _, n := range nutrients {
		p.Limits = append(p.Limits, AtLeast(want.Least[n]))
	}
	got := p.Solve()
	if got.Status != Optimal || !near(got.Cost, want.Stigler, 1e-9) {
		t.Fatalf("%v at %v a day, want %v", got.Status, got.Cost, want.Stigler)
	}
	if year := math.Round(got.Cost*365.25*100) / 100; year != 39.69 {
		t.Errorf("%v a year, want 39.69", year)
	}
	for j, x := range got.X {
		if !near(x, want.Basic[foods[j]], 1e-9) {
			t.Errorf("%s: %v, want %v", foods[j], x, want.Basic[foods[j]])
		}
	}
	for i, n := range nutrients {
		if !near(got.Price[i], want.Prices[n], 1e-9) {
			t.Errorf("price of %s: %v, want %v", n, got.Price[i], want.Prices[n])
		}
	}
}

// TestSolve_Beale is Beale's example (1955), on which Dantzig's rule alone cycles; from memory.
func TestSolve_Beale(t *testing.T) {
	p := Programme{
		Cost:   []float64{-0.75, 150, -0.02, 6},
		Bounds: []Limit{AtLeast(0), AtLeast(0), AtLeast(0), AtLeast(0)},
		Rows:   [][]float64{{0.25, -60, -0.04, 9}, {0.5, -90, -0.02, 3}, {0, 0, 1, 0}},
		Limits: []Limit{AtMost(0), AtMost(0), AtMost(1)},
	}
	if got := p.Solve(); got.Status != Optimal || !near(got.Cost, -0.05, 1e-12) {
		t.Errorf("%v at %v, want optimal at -0.05", got.Status, got.Cost)
	}
}

func TestSolve_SmallCases(t *testing.T) {
	inf := math.Inf(1)
	tests := []struct {
		name   string
		p      Programme
		status Status
		cost   float64
	}{
		{"no columns, nothing asked", Programme{}, Optimal, 0},
		{"no columns, something asked", Programme{Rows: [][]float64{{}}, Limits: []Limit{AtLeast(1)}}, Infeasible, 0},
		{"no rows", Programme{Cost: []float64{-1}, Bounds: []Limit{{0, 3}}}, Optimal, -3},
		{"free column", Programme{Cost: []float64{1}, Bounds: []Limit{{-inf, inf}}, Rows: [][]float64{{1}}, Limits: []Limit{AtLeast(-7)}}, Optimal, -7},
		{"free column falls for ever", Programme{Cost: []float64{1}, Bounds: []Limit{{-inf, inf}}}, Unbounded, 0},
		{"crossed bounds", Programme{Cost: []float64{1}, Bounds: []Limit{{2, 1}}}, Infeasible, 0},
		{"same equation twice", Programme{Cost: []float64{1, 2}, Bounds: []Limit{AtLeast(0), AtLeast(0)}, Rows: [][]float64{{1, 1}, {2, 2}}, Limits: []Limit{{1, 1}, {2, 2}}}, Optimal, 1},
		{
			"a column that starts between its bounds stops at them",
			Programme{
				Cost: []float64{0, -0.5}, Bounds: []Limit{{-0.5, 0.5}, {0, 0.5}},
				Rows: [][]float64{{0, -1.5}, {-0.5, -1}}, Limits: []Limit{AtMost(-0.5), AtLeast(0)},
			},
			Infeasible, 0,
		},
		{"row of zeros", Programme{Cost: []float64{1}, Bounds: []Limit{AtLeast(0)}, Rows: [][]float64{{0}}, Limits: []Limit{AtLeast(1)}}, Infeasible, 0},
	}
	for _, tt := range tests {
		if got := tt.p.Solve(); got.Status != tt.status || (tt.status == Optimal && !near(got.Cost, tt.cost, 1e-12)) {
			t.Errorf("%s: %v at %v, want %v at %v", tt.name, got.Status, got.Cost, tt.status, tt.cost)
		}
	}
}

// smallProgramme draws a programme with finite bounds and many ties.
func smallProgramme(t *rapid.T) Programme {
	n, m := rapid.IntRange(1, 4).Draw(t, "n"), rapid.IntRange(0, 4).Draw(t, "m")
	figure := rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(-6, 6).Draw(t, "v")) / 2 })
	var p Programme
	for range n {
		p.Cost = append(p.Cost, figure.Draw(t, "cost"))
		low := figure.Draw(t, "low")
		p.Bounds = append(p.Bounds, Limit{low, low + math.Abs(figure.Draw(t, "width"))})
	}
	for range m {
		p.Rows = append(p.Rows, rapid.SliceOfN(figure, n, n).Draw(t, "row"))
		l := Limit{math.Inf(-1), math.Inf(1)}
		if rapid.Bool().Draw(t, "hasMin") {
			l.Min = figure.Draw(t, "min")
		}
		if rapid.Bool().Draw(t, "hasMax") {
			l.Max = figure.Draw(t, "max")
			if l.Max < l.Min {
				l.Min, l.Max = l.Max, l.Min
			}
		}
		p.Limits = append(p.Limits, l)
	}
	return p
}

func TestSolve_EqualsEveryCorner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := smallProgramme(t)
		var bounds, limits []plain.Limit
		for _, l := range p.Bounds {
			bounds = append(bounds, plain.Limit(l))
		}
		for _, l := range p.Limits {
			limits = append(limits, plain.Limit(l))
		}
		want, ok := plain.Corners(p.Cost, bounds, p.Rows, limits)
		got := p.Solve()
		if (got.Status == Optimal) != ok || (!ok && got.Status != Infeasible) {
			t.Fatalf("status %v, corners found: %v", got.Status, ok)
		}
		if !ok {
			return
		}
		if !near(got.Cost, want, 1e-8) {
			t.Fatalf("cost %v, want %v", got.Cost, want)
		}
		for j, x := range got.X {
			if x < p.Bounds[j].Min || x > p.Bounds[j].Max {
				t.Fatalf("x[%d] = %v leaves its bounds", j, x)
			}
		}
		for i, v := range got.Row {
			if v < p.Limits[i].Min-1e-8 || v > p.Limits[i].Max+1e-8 {
				t.Fatalf("row %d = %v leaves its limits", i, v)
			}
		}
	})
}

// TestSolve_EqualsGonum compares with gonum's simplex on the form that it takes: Ax = b, x >= 0.
func TestSolve_EqualsGonum(t *testing.T) {
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		n, m := rapid.IntRange(4, 9).Draw(t, "n"), rapid.IntRange(1, 3).Draw(t, "m")
		part := rapid.Float64Range(0.1, 5)
		c := rapid.SliceOfN(rapid.Float64Range(0.1, 9), n, n).Draw(t, "cost")
		x := rapid.SliceOfN(rapid.Float64Range(0, 3), n, n).Draw(t, "x")
		var flat, b []float64
		p := Programme{Cost: c}
		for range n {
			p.Bounds = append(p.Bounds, AtLeast(0))
		}
		for range m {
			row := rapid.SliceOfN(part, n, n).Draw(t, "row")
			var at float64
			for j, a := range row {
				at += a * x[j]
			}
			flat, b = append(flat, row...), append(b, at)
			p.Rows, p.Limits = append(p.Rows, row), append(p.Limits, Limit{at, at})
		}
		want, ok := gonumCost(c, mat.NewDense(m, n, flat), b)
		if !ok {
			return
		}
		compared++
		if got := p.Solve(); got.Status != Optimal || !near(got.Cost, want, 1e-6) {
			t.Fatalf("%v at %v, gonum says %v", got.Status, got.Cost, want)
		}
	})
	if compared < 50 {
		t.Errorf("only %d cases could be compared", compared)
	}
}

// gonumCost is gonum's answer; ok is false where it gives up on rows that are nearly the
// same, by an error or a panic.
func gonumCost(c []float64, a *mat.Dense, b []float64) (cost float64, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	cost, _, err := lp.Simplex(c, a, b, 1e-10, nil)
	return cost, err == nil
}

func TestSolve_PriceIsTheSlopeOfTheCost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := smallProgramme(t)
		got := p.Solve()
		if got.Status != Optimal {
			return
		}
		// The cost is convex in a limit, so the price lies between the slopes to both sides.
		for i, price := range got.Price {
			const h = 1e-4
			var slope [2]float64
			for k, step := range [2]float64{-h, h} {
				q := p
				q.Limits = append([]Limit(nil), p.Limits...)
				q.Limits[i] = Limit{q.Limits[i].Min + step, q.Limits[i].Max + step}
				s := q.Solve()
				slope[k] = math.Copysign(math.Inf(1), step)
				if s.Status == Optimal {
					slope[k] = (s.Cost - got.Cost) / step
				}
			}
			if price < slope[0]-1e-5 || price > slope[1]+1e-5 {
				t.Fatalf("row %d: price %v outside slopes %v", i, price, slope)
			}
		}
	})
}
