package outcome

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"
	"time"
)

type laplace struct {
	Fixef  map[string]float64
	SE     map[string]float64
	SD     map[string]float64
	LogLik float64
	Ranef  map[string]map[string]float64
}

type laplaceResults struct {
	Glmer   laplace `json:"laplace_glmer"`
	HenOnly laplace `json:"hen_only_laplace_glmer"`
}

// coded turns names into levels in order of their first rows.
func coded(names []string) (of []int, levels []string) {
	at := map[string]int{}
	for _, n := range names {
		k, ok := at[n]
		if !ok {
			k = len(levels)
			at[n] = k
			levels = append(levels, n)
		}
		of = append(of, k)
	}
	return of, levels
}

func mustFit(t testing.TB, m Model) *Mixed {
	t.Helper()
	f, err := FitMixed(context.Background(), m)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func cbpp(t *testing.T) (Model, []string) {
	data := table(t, "cbpp.csv")
	herds, names := coded(data["herd"])
	m := Model{Terms: []Term{{herds, len(names)}}}
	for i, p := range data["period"] {
		m.Counts = append(m.Counts, Count{atoi(t, data["incidence"][i]), atoi(t, data["size"][i])})
		x := []float64{1, 0, 0, 0}
		if k := atoi(t, p); k > 1 {
			x[k-1] = 1
		}
		m.X = append(m.X, x)
	}
	return m, names
}

func eggs(t *testing.T) (m Model, hens, cocks []string) {
	data := table(t, "eggs_crossed.csv")
	h, hens := coded(data["hen"])
	c, cocks := coded(data["cock"])
	m.Terms = []Term{{h, len(hens)}, {c, len(cocks)}}
	for i, s := range data["season"] {
		m.Counts = append(m.Counts, Count{atoi(t, data["fertile"][i]), atoi(t, data["eggs"][i])})
		inbreeding, err := strconv.ParseFloat(data["F"][i], 64)
		if err != nil {
			t.Fatal(err)
		}
		x := []float64{1, inbreeding, 0, 0}
		switch s {
		case "spring":
			x[2] = 1
		case "winter":
			x[3] = 1
		}
		m.X = append(m.X, x)
	}
	return m, hens, cocks
}

// cbpp.csv: Lesnoff and others 2004, as in lme4 (GPL-2+). cbpp_results.json: R 4.2.2, lme4 1.1-31,
// glmer(cbind(incidence, size - incidence) ~ period + (1 | herd), family = binomial); the manual prints -1.398, -0.992,
// -1.128, -1.580 and 0.642. glmmTMB 1.1.5 agrees to 1e-6. eggs_crossed.csv is invented; hens and cocks are crossed.
func TestFitMixed_AgreesWithReferenceValues(t *testing.T) {
	check := func(f *Mixed, want laplace, columns []string, terms []string, levels [][]string) {
		t.Helper()
		if f.Status != Converged {
			t.Errorf("status %v", f.Status)
		}
		for j, name := range columns {
			within(t, name, f.Coef[j], want.Fixef[name], 1e-4)
			within(t, name+" error", f.SE[j], want.SE[name], 1e-4)
		}
		for k, name := range terms {
			within(t, "sd "+name, f.SD[k], want.SD[name], 1e-4)
			for l, level := range levels[k] {
				within(t, level, f.Effects[k][l], want.Ranef[name][level], 1e-3)
			}
		}
		within(t, "log likelihood", f.LogLik, want.LogLik, 1e-5)
	}
	var want laplaceResults
	read(t, "cbpp_results.json", &want)
	m, herds := cbpp(t)
	check(mustFit(t, m), want.Glmer, []string{"(Intercept)", "period2", "period3", "period4"}, []string{"herd"}, [][]string{herds})
	read(t, "eggs_crossed_results.json", &want)
	m, hens, cocks := eggs(t)
	columns := []string{"(Intercept)", "F", "seasonspring", "seasonwinter"}
	check(mustFit(t, m), want.Glmer, columns, []string{"hen", "cock"}, [][]string{hens, cocks})
	m.Terms = m.Terms[:1]
	check(mustFit(t, m), want.HenOnly, columns, []string{"hen"}, [][]string{nil})
}

// boundary.csv: invented, as even between nests as can be. glmer finds a standard deviation of 7e-9, logLik -28.97459.
func TestFitMixed_SpreadOfNothing(t *testing.T) {
	var want laplaceResults
	read(t, "boundary_results.json", &want)
	data := table(t, "boundary.csv")
	nests, names := coded(data["nest"])
	m := Model{Terms: []Term{{nests, len(names)}}}
	for _, y := range data["y"] {
		m.Counts, m.X = append(m.Counts, Count{atoi(t, y), 1}), append(m.X, []float64{1})
	}
	f := mustFit(t, m)
	if f.Status != AtBoundary || f.SD[0] > 1e-3 {
		t.Errorf("%v with a standard deviation of %v", f.Status, f.SD[0])
	}
	within(t, "intercept", f.Coef[0], want.Glmer.Fixef["(Intercept)"], 1e-4)
	within(t, "error", f.SE[0], want.Glmer.SE["(Intercept)"], 1e-4)
	within(t, "log likelihood", f.LogLik, want.Glmer.LogLik, 1e-5)
	m.Prior = WeakPrior(1)
	if f := mustFit(t, m); f.Status != Converged || f.SD[0] < 0.01 {
		t.Errorf("with a prior: %v, %v", f.Status, f.SD[0])
	}
}

// The gradient against differences, at figures that are no maximum, with and without a prior.
func TestMixed_Gradient(t *testing.T) {
	m, _, _ := eggs(t)
	m.Counts, m.X = m.Counts[:90], m.X[:90]
	for k := range m.Terms {
		m.Terms[k].Of = m.Terms[k].Of[:90]
	}
	m.Terms[0].Of[3] = -1
	for _, prior := range []Prior{{}, WeakPrior(4)} {
		m.Prior = prior
		f, err := newMixed(&m)
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range [][]float64{{0.3, -1, 0.2, 0.4, 0.7, 0.4}, {-1, 2, 0.5, -0.5, 1.6, 0.05}} {
			g, none := make([]float64, 6), make([]float64, 6)
			f.eval(g, at)
			for j := range at {
				const h = 1e-4
				x := slices.Clone(at)
				x[j] += h
				up := f.eval(none, x)
				x[j] -= 2 * h
				down := f.eval(none, x)
				within(t, fmt.Sprintf("slope %d at %v", j, at), g[j], (up-down)/(2*h), 1e-5*(1+math.Abs(g[j])))
			}
		}
	}
}

// room draws nests of crossed cocks, hens, cages and seasons.
func room(rng *rand.Rand, rows int, levels []int, sds, beta []float64) (Model, [][]float64) {
	var m Model
	var truth [][]float64
	for k, n := range levels {
		u := make([]float64, n)
		for l := range u {
			u[l] = sds[k] * rng.NormFloat64()
		}
		truth = append(truth, u)
		m.Terms = append(m.Terms, Term{make([]int, rows), n})
	}
	for i := range rows {
		x := []float64{1, float64(rng.IntN(2)), rng.Float64()}
		eta := 0.0
		for j, v := range x {
			eta += v * beta[j]
		}
		for k, n := range levels {
			l := rng.IntN(n)
			m.Terms[k].Of[i] = l
			eta += truth[k][l]
		}
		n := 3 + rng.IntN(4)
		m.X, m.Counts = append(m.X, x), append(m.Counts, Count{binomialDraw(rng, n, expit(eta)), n})
	}
	return m, truth
}

// breeders draws nests as in a room: a cock and a hen stay together for some clutches in one cage.
func breeders(rng *rand.Rand, rows int, levels []int, sds, beta []float64) Model {
	m, truth := room(rng, rows, levels, sds, beta)
	var pair []int
	for i := range rows {
		if i%3 == 0 {
			pair = pair[:0]
			for _, n := range levels {
				pair = append(pair, rng.IntN(n))
			}
			pair[1] = (pair[0] + rng.IntN(3)) % levels[1] // few partners each
		}
		eta := 0.0
		for j, v := range m.X[i] {
			eta += v * beta[j]
		}
		for k := range levels {
			m.Terms[k].Of[i] = pair[k]
			eta += truth[k][pair[k]]
		}
		m.Counts[i].K = binomialDraw(rng, m.Counts[i].N, expit(eta))
	}
	return m
}

func TestFitMixed_FindsWhatWasPutIn(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5000))
	beta, sds := []float64{0.8, -0.6, 0.5}, []float64{0.7, 0.5, 0.4, 0.3}
	m := breeders(rng, 5000, []int{500, 500, 100, 10}, sds, beta)
	m.Prior = WeakPrior(3)
	began := time.Now()
	f := mustFit(t, m)
	t.Logf("5000 nests: %v, %v sds %v, sparse columns %d of %d", time.Since(began), f.Status, f.SD, f.c.sparse, f.c.n)
	for j := range beta[1:] {
		within(t, "coefficient", f.Coef[j+1], beta[j+1], 3*f.SE[j+1])
	}
	for k := range sds {
		within(t, "spread", f.SD[k], sds[k], 3.5*f.SDSE[k])
	}
}

func benchmarkMixed(b *testing.B, m Model) {
	for b.Loop() {
		mustFit(b, m)
	}
}

func BenchmarkFitMixed2000x3(b *testing.B) {
	m, _ := room(rand.New(rand.NewPCG(2, 2000)), 2000, []int{80, 80, 30}, []float64{0.7, 0.5, 0.4}, []float64{0.8, -0.6, 0.5})
	benchmarkMixed(b, m)
}

func BenchmarkFitMixed5000Breeders(b *testing.B) {
	m := breeders(rand.New(rand.NewPCG(5, 5000)), 5000, []int{500, 500, 100, 10}, []float64{0.7, 0.5, 0.4, 0.3}, []float64{0.8, -0.6, 0.5})
	m.Prior = WeakPrior(3)
	benchmarkMixed(b, m)
}
