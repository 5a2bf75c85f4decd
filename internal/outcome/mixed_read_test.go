package outcome

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// A column that tells all clear from all full, levels with one egg, a column of noughts: the weak prior keeps every figure
// within reason, and without it the status says so.
func TestFitMixed_SeparationAndTinyGroups(t *testing.T) {
	m := Model{Terms: []Term{{Levels: 12}, {Levels: 3}}}
	for i := range 12 {
		x := []float64{1, float64(i % 2), 0}
		m.X = append(m.X, x)
		m.Counts = append(m.Counts, Count{5 * (i % 2), 5})
		m.Terms[0].Of, m.Terms[1].Of = append(m.Terms[0].Of, i), append(m.Terms[1].Of, i%3)
	}
	free := mustFit(t, m)
	if free.Status != NotIdentified && free.Status != OutOfIterations {
		t.Errorf("without a prior: %v, %v ± %v", free.Status, free.Coef, free.SE)
	}
	m.Prior = WeakPrior(3)
	f := mustFit(t, m)
	if f.Status != Converged {
		t.Errorf("status %v", f.Status)
	}
	for j, v := range f.Coef {
		if !(math.Abs(v) < 8) || !(f.SE[j] < 6) {
			t.Errorf("coefficient %d: %v ± %v", j, v, f.SE[j])
		}
	}
	if o := f.Odds(1, 0.8); !(o.Low > 1 && o.Low < o.Value && o.Value < o.High && o.High < 1e6) {
		t.Errorf("odds %+v", o)
	}
	within(t, "a column of noughts", f.SE[2], 2.5, 1e-3) // the prior's
	for _, k := range []int{0, 1} {
		if lo, hi, ok := f.Spread(k, 0.8); !ok || !(0 < lo && lo < f.SD[k] && f.SD[k] < hi) {
			t.Errorf("spread %v to %v", lo, hi)
		}
	}
	for name, m := range map[string]Model{
		"nothing":  {},
		"no eggs":  {Counts: []Count{{0, 0}}, X: [][]float64{{1}}, Terms: []Term{{[]int{0}, 1}}, Prior: WeakPrior(1)},
		"one egg":  {Counts: []Count{{1, 1}}, X: [][]float64{{1}}, Terms: []Term{{[]int{0}, 1}, {[]int{0}, 1}}, Prior: WeakPrior(1)},
		"no terms": {Counts: []Count{{1, 3}, {2, 3}}, X: [][]float64{{1}, {1}}},
	} {
		f := mustFit(t, m)
		if f.Status != Converged {
			t.Errorf("%s: %v", name, f.Status)
		}
		finite(t, name, f)
	}
	if f := mustFit(t, Model{Counts: []Count{{1, 3}, {2, 3}}, X: [][]float64{{1}, {1}}}); true {
		within(t, "log odds", f.Coef[0], 0, 1e-6)
		within(t, "error", f.SE[0], 1/math.Sqrt(6*0.25), 1e-4)
	}
}

// finite fails on a figure that is none.
func finite(t testing.TB, what string, f *Mixed) {
	t.Helper()
	all := append(slices.Concat(f.Coef, f.SE, f.SD, f.SDSE), f.LogLik)
	for _, e := range f.Effects {
		all = append(all, e...)
	}
	for _, v := range all {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Errorf("%s: %v among %v", what, v, all)
			return
		}
	}
}

func TestFitMixed_Errors(t *testing.T) {
	if _, err := FitMixed(context.Background(), Model{Counts: []Count{{1, 2}}, X: [][]float64{{math.NaN()}}}); err == nil {
		t.Error("no error for a value that is no number")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	m, _ := cbpp(t)
	if _, err := FitMixed(ctx, m); err == nil {
		t.Error("no error when it is called off")
	}
	for name, m := range map[string]Model{
		"rows":  {Counts: []Count{{1, 2}}},
		"count": {Counts: []Count{{3, 2}}, X: [][]float64{{1}}},
		"level": {Counts: []Count{{1, 2}}, X: [][]float64{{1}}, Terms: []Term{{[]int{2}, 2}}},
		"prior": {Counts: []Count{{1, 2}}, X: [][]float64{{1}}, Prior: WeakPrior(2)},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			_, _ = FitMixed(context.Background(), m)
		}()
	}
}

// The intervals of 9 in 10 hold the true coefficients, cocks' and hens' intercepts, and shares, that often, over rooms drawn
// from the model. 400 rooms place the share within 1.5 points at one standard error; counts within rooms add to it.
func TestMixed_IntervalsHoldAsOftenAsTheySay(t *testing.T) {
	const rooms = 400
	rng := rand.New(rand.NewPCG(90, 3))
	beta, sds := []float64{0.8, -0.6, 0.5}, []float64{0.7, 0.5}
	var coef, effect, share, drawn [2]float64
	z := normal(0.9)
	hold := func(at *[2]float64, ok bool) {
		at[1]++
		if ok {
			at[0]++
		}
	}
	for r := range rooms {
		m, truth := room(rng, 160, []int{30, 30}, sds, beta)
		m.Prior = WeakPrior(3)
		f := mustFit(t, m)
		for j := 1; j < 3; j++ {
			hold(&coef, math.Abs(f.Coef[j]-beta[j]) <= z*f.SE[j])
		}
		for k := range 2 {
			for l := range 10 {
				v, se := f.Intercept(k, l)
				hold(&effect, math.Abs(v-truth[k][l]) <= z*se)
			}
		}
		eta := beta[0] + beta[1] + truth[0][3] + truth[1][4]
		_, lo, hi := f.Expect([]float64{1, 1, 0}, []int{3, 4}, 0.9)
		hold(&share, lo <= expit(eta) && expit(eta) <= hi)
		if r < 40 { // the same by draws
			var etas [][]float64
			f.Draws(rng, 200, func(_, _, eta []float64) { etas = append(etas, slices.Clone(eta[:10])) })
			for i := range 10 {
				var col []float64
				for _, e := range etas {
					col = append(col, e[i])
				}
				slices.Sort(col)
				real := 0.0
				for j, v := range m.X[i] {
					real += v * beta[j]
				}
				for k := range 2 {
					real += truth[k][m.Terms[k].Of[i]]
				}
				hold(&drawn, percentile(col, 0.05) <= real && real <= percentile(col, 0.95))
			}
		}
	}
	for name, c := range map[string][2]float64{"coefficients": coef, "intercepts": effect, "shares": share, "draws": drawn} {
		t.Logf("%s: %.4f of %.0f", name, c[0]/c[1], c[1])
	}
	within(t, "coefficients", coef[0]/coef[1], 0.9, 0.03)
	within(t, "intercepts", effect[0]/effect[1], 0.9, 0.03)
	within(t, "shares", share[0]/share[1], 0.9, 0.04)
	within(t, "draws", drawn[0]/drawn[1], 0.9, 0.05)
}

// Draws scatter as the standard errors say.
func TestMixed_DrawsAgreeWithErrors(t *testing.T) {
	m, _, _ := eggs(t)
	f := mustFit(t, m)
	rng := rand.New(rand.NewPCG(8, 8))
	const draws = 4000
	sum, sq := make([]float64, 12), make([]float64, 12)
	f.Draws(rng, draws, func(_, _, eta []float64) {
		for i := range sum {
			sum[i] += eta[i]
			sq[i] += eta[i] * eta[i]
		}
	})
	for i := range sum {
		eta, se := f.logOdds(m.X[i], []int{m.Terms[0].Of[i], m.Terms[1].Of[i]})
		mean := sum[i] / draws
		within(t, "mean", mean, eta, 0.06*se+0.02)
		within(t, "scatter", math.Sqrt(sq[i]/draws-mean*mean), se, 0.05*se)
	}
}

// couples draws nests of cocks and hens as paired.
func couples(rng *rand.Rand, pairs [][2]int, cocks, hens, nests int) Model {
	m := Model{Terms: []Term{{Levels: cocks}, {Levels: hens}}, Prior: WeakPrior(1)}
	uc, uh := make([]float64, cocks), make([]float64, hens)
	for i := range uc {
		uc[i] = rng.NormFloat64()
	}
	for i := range uh {
		uh[i] = rng.NormFloat64()
	}
	for _, p := range pairs {
		for range nests {
			m.Counts = append(m.Counts, Count{binomialDraw(rng, 5, expit(0.5+uc[p[0]]+uh[p[1]])), 5})
			m.X = append(m.X, []float64{1})
			m.Terms[0].Of, m.Terms[1].Of = append(m.Terms[0].Of, p[0]), append(m.Terms[1].Of, p[1])
		}
	}
	return m
}

// Twelve pairs that never changed partners cannot be told apart, and a change of partners can.
func TestMixed_ApartAndSwaps(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	var faithful [][2]int
	for i := range 12 {
		faithful = append(faithful, [2]int{i, i})
	}
	m := couples(rng, faithful, 12, 12, 4)
	if o := Crossed(m.Terms[0].Of, m.Terms[1].Of); !o.Inseparable() || o.Pairs != 12 || o.A != 12 || o.B != 12 {
		t.Errorf("crossed %+v", o)
	}
	f := mustFit(t, m)
	apart := f.Apart(0, 1)
	if len(apart) != 12 {
		t.Fatalf("%d pairs", len(apart))
	}
	for _, p := range apart {
		if p.Told() || p.Apart > 1e-9 || p.Rows != 4 {
			t.Errorf("told apart: %+v", p)
		}
	}
	trial := func(c, h int) Trial { return Trial{X: []float64{1}, Levels: []int{c, h}, Eggs: 10} }
	options := [][]Trial{
		{trial(0, 0), trial(1, 1)},         // as before
		{trial(0, 1), trial(1, 0)},         // change of partners
		{trial(0, Fresh), trial(Fresh, 0)}, // birds that nobody knows
		{trial(0, 1), trial(0, 2), trial(1, 0), trial(2, 0)},
	}
	swaps := f.Swaps(0, 0, 1, 0, options)
	if swaps[0].Option != 3 || swaps[3].Option != 0 || swaps[3].Apart > 1e-9 || swaps[2].Apart < 0.15 {
		t.Errorf("swaps %+v", swaps)
	}
	// All with all: each is told apart from each, and the sparse figures are those of the full matrix.
	var all [][2]int
	for c := range 5 {
		for h := range 5 {
			all = append(all, [2]int{c, h})
		}
	}
	m = couples(rng, all, 5, 5, 3)
	f = mustFit(t, m)
	h := mat.NewSymDense(10, nil)
	add := func(w float64, c, hen int) {
		for _, i := range []int{c, 5 + hen} {
			for _, j := range []int{c, 5 + hen} {
				if i <= j {
					h.SetSym(i, j, h.At(i, j)+w*f.SD[i/5]*f.SD[j/5])
				}
			}
		}
	}
	for i := range 10 {
		h.SetSym(i, i, 1)
	}
	for i := range m.Counts {
		add(f.w[i], m.Terms[0].Of[i], m.Terms[1].Of[i])
	}
	variance := func(c, hen int) float64 {
		var ch mat.Cholesky
		if !ch.Factorize(h) {
			t.Fatal("not positive")
		}
		d := math.Hypot(f.SD[0], f.SD[1])
		q := mat.NewVecDense(10, nil)
		q.SetVec(c, f.SD[1]/d)
		q.SetVec(5+hen, -f.SD[0]/d)
		var x mat.VecDense
		if err := ch.SolveVecTo(&x, q); err != nil {
			t.Fatal(err)
		}
		return mat.Dot(q, &x)
	}
	for _, p := range f.Apart(0, 1) {
		within(t, "apart", p.Apart, 1-variance(p.A, p.B), 1e-9)
		if !p.Told() {
			t.Errorf("not told apart: %+v", p)
		}
	}
	got := f.Swaps(0, 2, 1, 3, [][]Trial{{trial(2, 1), trial(4, 3)}})[0]
	for _, tr := range []Trial{trial(2, 1), trial(4, 3)} {
		p, _, _ := f.Expect(tr.X, tr.Levels, 0.9)
		add(10*p*(1-p), tr.Levels[0], tr.Levels[1])
	}
	within(t, "after a change of partners", got.Apart, 1-variance(2, 3), 1e-9)
}

// A model that is right fits, and one that leaves out what eggs of a nest have in common does not.
func TestMixed_Check(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	m, _ := room(rng, 400, []int{40, 40}, []float64{0.7, 0.5}, []float64{0.8, -0.6, 0.5})
	m.Prior = WeakPrior(3)
	for _, s := range mustFit(t, m).Check(rng, 400) {
		if s.Unfit() || s.Low > s.Seen || s.Seen > s.High && s.Figure != "spread" {
			t.Errorf("a right model: %+v", s)
		}
	}
	for i := range m.Counts {
		if p := rng.Float64(); p < 0.25 { // deserted, whatever the birds
			m.Counts[i].K = 0
		}
	}
	bad := mustFit(t, m).Check(rng, 400)
	if !bad[0].Unfit() || !bad[2].Unfit() {
		t.Errorf("desertions are not seen: %+v", bad)
	}
	// With an intercept by nest the scatter is taken in.
	own := Term{Levels: 400}
	for i := range 400 {
		own.Of = append(own.Of, i)
	}
	m.Terms = append(m.Terms, own)
	f := mustFit(t, m)
	if s := f.Check(rng, 400)[2]; s.Unfit() || f.SD[2] < 0.8 {
		t.Errorf("with nests: %+v, spread %v", s, f.SD[2])
	}
}

// FuzzFitMixed makes small models of whatever bytes there are.
func FuzzFitMixed(f *testing.F) {
	f.Add([]byte{3, 5, 0, 1, 9, 5, 5, 1, 1, 7, 0, 4, 2, 2, 200}, true)
	f.Add([]byte{0, 0, 0, 0, 0}, false)
	f.Fuzz(func(t *testing.T, raw []byte, prior bool) {
		m := Model{Terms: []Term{{Levels: 4}, {Levels: 5}}}
		for ; len(raw) >= 5 && len(m.Counts) < 40; raw = raw[5:] {
			n := int(raw[1] % 12)
			m.Counts = append(m.Counts, Count{int(raw[0]) % (n + 1), n})
			m.Terms[0].Of = append(m.Terms[0].Of, int(raw[2]%5)-1)
			m.Terms[1].Of = append(m.Terms[1].Of, int(raw[3]%6)-1)
			m.X = append(m.X, []float64{1, (float64(raw[4]) - 100) / 10})
		}
		if prior && len(m.Counts) > 0 {
			m.Prior = WeakPrior(2)
		}
		fit, err := FitMixed(context.Background(), m)
		if err != nil {
			t.Fatal(err)
		}
		finite(t, "fit", fit)
		if prior && len(m.Counts) > 0 && fit.Status != Converged {
			t.Errorf("%v with a prior: %v ± %v, spreads %v ± %v", fit.Status, fit.Coef, fit.SE, fit.SD, fit.SDSE)
		}
		if len(m.Counts) > 0 {
			if v, lo, hi := fit.Expect([]float64{1, 0}, []int{0, Fresh}, 0.8); !(0 <= lo && lo <= v && v <= hi && hi <= 1) {
				t.Errorf("share %v in %v to %v", v, lo, hi)
			}
		}
	})
}

// Without a prior, faithful pairs leave open whose the spread is, and columns that repeat each other whose the effect is:
// the status says so.
func TestFitMixed_NotIdentified(t *testing.T) {
	var faithful [][2]int
	for i := range 30 {
		faithful = append(faithful, [2]int{i, i})
	}
	m := couples(rand.New(rand.NewPCG(3, 3)), faithful, 30, 30, 4)
	m.Prior = Prior{}
	if f := mustFit(t, m); f.Status != NotIdentified && f.Status != AtBoundary {
		t.Errorf("faithful pairs: %v, spreads %v ± %v", f.Status, f.SD, f.SDSE)
	}
	m.Terms = m.Terms[:1]
	for i := range m.X {
		m.X[i] = []float64{1, float64(i % 2), float64(i % 2)}
	}
	if f := mustFit(t, m); f.Status != NotIdentified {
		t.Errorf("a column twice: %v, %v ± %v", f.Status, f.Coef, f.SE)
	}
	m.Prior = WeakPrior(3)
	if f := mustFit(t, m); f.Status != Converged || math.Abs(f.Coef[1]-f.Coef[2]) > 1e-3 {
		t.Errorf("a column twice, with a prior: %v, %v ± %v", f.Status, f.Coef, f.SE)
	}
}
