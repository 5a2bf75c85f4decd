package outcome

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"broodlight/internal/outcome/plain"

	"pgregory.net/rapid"
)

// someModel draws a small model with an intercept and one more column.
func someModel(t *rapid.T, rows, terms, levels, eggs int) Model {
	var m Model
	n := rapid.IntRange(1, rows).Draw(t, "rows")
	for range rapid.IntRange(0, terms).Draw(t, "terms") {
		term := Term{Levels: rapid.IntRange(1, levels).Draw(t, "levels")}
		for range n {
			term.Of = append(term.Of, rapid.IntRange(-1, term.Levels-1).Draw(t, "level"))
		}
		m.Terms = append(m.Terms, term)
	}
	for range n {
		c := Count{N: rapid.IntRange(0, eggs).Draw(t, "n")}
		c.K = rapid.IntRange(0, c.N).Draw(t, "k")
		m.Counts = append(m.Counts, c)
		m.X = append(m.X, []float64{1, float64(rapid.IntRange(0, 1).Draw(t, "x"))})
	}
	return m
}

// loose lays a model out for the twin.
func loose(m Model, coef, sd []float64) (k, n []int, offset []float64, of [][]int, sds []float64) {
	var off []int
	for j, t := range m.Terms {
		off = append(off, len(sds))
		for range t.Levels {
			sds = append(sds, sd[j])
		}
	}
	for i, c := range m.Counts {
		k, n = append(k, c.K), append(n, c.N)
		e := 0.0
		for j, x := range m.X[i] {
			e += x * coef[j]
		}
		offset = append(offset, e)
		var row []int
		for j, t := range m.Terms {
			if t.Of[i] >= 0 {
				row = append(row, off[j]+t.Of[i])
			}
		}
		of = append(of, row)
	}
	return k, n, offset, of, sds
}

// The sparse fit against the same approximation with full matrices, at any figures.
func TestMixed_LaplaceAgreesWithTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := someModel(t, 12, 4, 4, 6)
		f, err := newMixed(&m)
		if err != nil {
			t.Fatal(err)
		}
		coef := []float64{rapid.Float64Range(-2, 2).Draw(t, "b"), rapid.Float64Range(-2, 2).Draw(t, "b")}
		var sd []float64
		for range m.Terms {
			sd = append(sd, rapid.Float64Range(0, 2.5).Draw(t, "sd"))
		}
		g := make([]float64, len(f.xi))
		f.eval(g, f.xi) // from elsewhere
		got := -f.eval(g, append(slices.Clone(coef), sd...))
		within2(t, "log likelihood", got, plain.Laplace(loose(m, coef, sd)), 1e-7)
	})
}

// The approximation against the integral itself, by brute force, on two cocks and two hens with some eggs. Laplace is off by
// less than 0.1 in the logarithm there, and its slope is what places the figures.
func TestMixed_LaplaceNearExactIntegral(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	worst := 0.0
	for range 4 {
		m := Model{Terms: []Term{{Levels: 2}, {Levels: 2}}}
		for i := range 8 {
			m.Terms[0].Of, m.Terms[1].Of = append(m.Terms[0].Of, i%2), append(m.Terms[1].Of, i/2%2)
			m.Counts, m.X = append(m.Counts, Count{rng.IntN(6), 5}), append(m.X, []float64{1})
		}
		f, err := newMixed(&m)
		if err != nil {
			t.Fatal(err)
		}
		g := make([]float64, 3)
		coef, sd := []float64{rng.NormFloat64()}, []float64{0.3 + rng.Float64(), 0.3 + rng.Float64()}
		got := -f.eval(g, append(slices.Clone(coef), sd...))
		k, n, offset, of, sds := loose(m, coef, sd)
		worst = max(worst, math.Abs(got-plain.Exact(k, n, offset, of, sds, 22)))
	}
	if worst > 0.1 {
		t.Errorf("off by %v", worst)
	}
	t.Logf("off by at most %.4f", worst)
}

// single_intercept_own_agq.json: the log likelihood of cbpp by adaptive quadrature with 25 points is -91.98336904 at the
// figures given there (own numpy; glmer places the figures alike). It checks the twin's integral, herd by herd.
func TestExact_Cbpp(t *testing.T) {
	var want struct {
		AGQ struct {
			Fixef  []float64
			SD     float64
			LogLik float64
		} `json:"cbpp_agq25"`
	}
	read(t, "single_intercept_own_agq.json", &want)
	m, herds := cbpp(t)
	sum := 0.0
	for h := range herds {
		one := Model{Terms: []Term{{Levels: 1}}}
		for i, of := range m.Terms[0].Of {
			if of == h {
				one.Counts, one.X, one.Terms[0].Of = append(one.Counts, m.Counts[i]), append(one.X, m.X[i]), append(one.Terms[0].Of, 0)
				sum += logChoose(m.Counts[i])
			}
		}
		k, n, offset, of, sds := loose(one, want.AGQ.Fixef, []float64{want.AGQ.SD})
		sum += plain.Exact(k, n, offset, of, sds, 400)
	}
	within(t, "log likelihood", sum, want.AGQ.LogLik, 1e-7)
}
