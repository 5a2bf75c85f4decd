package outcome

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"pgregory.net/rapid"
)

// read fills v from a JSON file of testdata.
func read(t testing.TB, name string, v any) {
	t.Helper()
	raw, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, v); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

func within(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.10g, want %.10g within %g", what, got, want, tol)
	}
}

type ratTumour struct {
	ML struct {
		Alpha, Beta, Mean float64
		LogLik            float64 `json:"loglik_with_binomial_coefficients"`
		Rho               float64 `json:"rho_intraclass"`
	} `json:"empirical_bayes_mle"`
	Means     []float64    `json:"shrunk_means_at_mle"`
	Intervals [][2]float64 `json:"shrunk_95_intervals_at_mle"`
	Full      struct {
		EAlpha  float64 `json:"E_alpha"`
		EBeta   float64 `json:"E_beta"`
		Theta71 float64 `json:"E_theta71"`
	} `json:"full_bayes_bda"`
}

func ratCounts(t *testing.T) []Count {
	data := table(t, "rat_tumour.csv")
	var counts []Count
	for i := range data["y"] {
		counts = append(counts, Count{atoi(t, data["y"][i]), atoi(t, data["n"][i])})
	}
	return counts
}

// testdata/rat_tumour.csv: Tarone 1982, as in Gelman and others, Bayesian Data Analysis, table 5.1. rat_tumour_results.json:
// maximum marginal likelihood by scipy 1.10, beta quantiles by scipy.
func TestFitBeta_RatTumour(t *testing.T) {
	var want ratTumour
	read(t, "rat_tumour_results.json", &want)
	counts := ratCounts(t)
	p := FitBeta(counts)
	if p.Status != Converged {
		t.Errorf("status %v", p.Status)
	}
	within(t, "alpha", p.A, want.ML.Alpha, 1e-4*want.ML.Alpha)
	within(t, "beta", p.B, want.ML.Beta, 1e-4*want.ML.Beta)
	within(t, "log likelihood", p.LogLik, want.ML.LogLik, 1e-7)
	within(t, "mean", p.Mean(), want.ML.Mean, 1e-5)
	within(t, "likeness", 1/(1+p.Weight()), want.ML.Rho, 1e-5)
	prior := Beta{want.ML.Alpha, want.ML.Beta}
	for i, c := range counts {
		r := Shrink(prior, c, 0.95)
		within(t, "shrunk mean", r.Value, want.Means[i], 1e-12)
		within(t, "low", r.Low, want.Intervals[i][0], 1e-8)
		within(t, "high", r.High, want.Intervals[i][1], 1e-8)
	}
}

// Bayesian Data Analysis, section 5.3: E(alpha) 2.4, E(beta) 14.3 under the hyperprior (alpha+beta)^(-5/2), which is a
// beta of 1/2 and −1/2 of the likeness; three more digits by an own fine grid in numpy.
func TestRates_RatTumourHyperposterior(t *testing.T) {
	var want ratTumour
	read(t, "rat_tumour_results.json", &want)
	k := Rates(ratCounts(t), Hyper{Mean: Beta{1, 1}, Alike: Beta{0.5, -0.5}}, 0.9)
	a, b := 0.0, 0.0
	for _, n := range k.nodes {
		a, b = a+n.weight*n.A, b+n.weight*n.B
	}
	within(t, "E alpha", a, want.Full.EAlpha, 1e-2)
	within(t, "E beta", b, want.Full.EBeta, 5e-2)
	within(t, "theta 71", k.Rates[70].Value, want.Full.Theta71, 2e-4)
}

var someCounts = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Count {
	n := rapid.OneOf(rapid.IntRange(0, 12), rapid.IntRange(0, 900)).Draw(t, "n")
	return Count{rapid.IntRange(0, n).Draw(t, "k"), n}
}), 0, 7)

func TestRates_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		counts := someCounts.Draw(t, "counts")
		k := Rates(counts, WeakHyper, 0.8)
		if !(0 < k.Mean && k.Mean < 1 && k.Low <= k.Mean && k.Mean <= k.High && 0 <= k.Alike && k.Alike <= 1) {
			t.Fatalf("kind %v in %v to %v, alike %v", k.Mean, k.Low, k.High, k.Alike)
		}
		sum := 0.0
		for _, n := range k.nodes {
			sum += n.weight
		}
		within2(t, "weights", sum, 1, 1e-12)
		for i, r := range k.Rates {
			if !(0 <= r.Low && r.Low < r.High && r.High <= 1 && 0 < r.Value && r.Value < 1 && 0 <= r.Own && r.Own < 1) || r.Count != counts[i] {
				t.Fatalf("rate %+v of %v", r, counts[i])
			}
			for p, x := range map[float64]float64{0.1: r.Low, 0.9: r.High} {
				below := func(x float64) float64 {
					at := 0.0
					for _, n := range k.nodes {
						b := n.After(r.Count)
						at += n.weight * mathext.RegIncBeta(b.A, b.B, clamp(x, 0, 1))
					}
					return at
				}
				if below(x-1e-6) > p+1e-6 || below(x+1e-6) < p-1e-6 {
					t.Fatalf("%v lies below %v, want %v", below(x), x, p)
				}
			}
		}
		p := FitBeta(counts)
		if !(p.A > 0 && p.B > 0) || math.IsInf(p.A+p.B, 0) || math.IsNaN(p.LogLik) || p.Status == OutOfIterations {
			t.Fatalf("pool %+v of %v", p, counts)
		}
		tl := newTally(counts)
		for _, b := range []Beta{{p.A * 1.1, p.B}, {p.A, p.B * 1.1}, {p.A * 1.1, p.B * 1.1}, {p.A / 1.1, p.B / 1.1}} {
			if p.Status == Converged && tl.logLik(b) > p.LogLik+1e-6 {
				t.Fatalf("%+v is likelier (%v) than %+v", b, tl.logLik(b), p)
			}
		}
	})
}

func within2(t *rapid.T, what string, got, want, tol float64) {
	if !(math.Abs(got-want) <= tol) {
		t.Fatalf("%s: %.12g, want %.12g within %g", what, got, want, tol)
	}
}

// The sums over i and the gamma function are two ways to one likelihood.
func TestTally_AgreesWithGamma(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		counts := someCounts.Draw(t, "counts")
		b := Beta{rapid.Float64Range(0.05, 50).Draw(t, "a"), rapid.Float64Range(0.05, 50).Draw(t, "b")}
		want := 0.0
		for _, c := range counts {
			want += logChoose(c) + mathext.Lbeta(b.A+float64(c.K), b.B+float64(c.N-c.K)) - mathext.Lbeta(b.A, b.B)
		}
		within2(t, "log likelihood", newTally(counts).logLik(b), want, 1e-9*(1+math.Abs(want)))
	})
}

// Over rooms drawn from the model the 8 in 10 intervals hold the true rates 8 times in 10: rates of pairs with few eggs, from
// few pairs, where a fit that takes the kind as known would hold too seldom.
func TestRates_IntervalsHoldAsOftenAsTheySay(t *testing.T) {
	rng := rand.New(rand.NewPCG(1982, 5))
	held, total := 0, 0
	for range 150 {
		b := betaAt(math.Log(0.6/0.4)+0.5*rng.NormFloat64(), math.Log(8)+0.5*rng.NormFloat64())
		var counts []Count
		var truth []float64
		for range 8 {
			p := betaDraw(rng, b)
			n := 3 + rng.IntN(12)
			counts, truth = append(counts, Count{binomialDraw(rng, n, p), n}), append(truth, p)
		}
		for i, r := range Rates(counts, WeakHyper, 0.8).Rates {
			total++
			if r.Low <= truth[i] && truth[i] <= r.High {
				held++
			}
		}
	}
	within(t, "held", float64(held)/float64(total), 0.8, 0.03)
}

func BenchmarkRates100(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	var counts []Count
	for range 100 {
		n := rng.IntN(40)
		counts = append(counts, Count{binomialDraw(rng, n, 0.7), n})
	}
	for b.Loop() {
		Rates(counts, WeakHyper, 0.8)
	}
}

// The slopes of the likelihood against differences, away from its top.
func TestTally_Slope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tl := newTally(someCounts.Draw(t, "counts"))
		x, y := rapid.Float64Range(-3, 3).Draw(t, "x"), rapid.Float64Range(-2, 6).Draw(t, "y")
		g, h := tl.slope(x, y)
		at := func(x, y float64) float64 { return tl.logLik(betaAt(x, y)) }
		const d = 1e-5
		gxp, _ := tl.slope(x+d, y)
		gxm, _ := tl.slope(x-d, y)
		gyp, _ := tl.slope(x, y+d)
		gym, _ := tl.slope(x, y-d)
		tol := 1e-5 * (1 + float64(tl.n))
		within2(t, "x", g[0], (at(x+d, y)-at(x-d, y))/(2*d), tol)
		within2(t, "y", g[1], (at(x, y+d)-at(x, y-d))/(2*d), tol)
		within2(t, "xx", h[0], (gxp[0]-gxm[0])/(2*d), tol)
		within2(t, "xy", h[1], (gyp[0]-gym[0])/(2*d), tol)
		within2(t, "yy", h[2], (gyp[1]-gym[1])/(2*d), tol)
	})
}

// The grid that the package uses against one of sixteen times the points and of wider reach.
func TestRates_GridIsFineEnough(t *testing.T) {
	for name, counts := range map[string][]Count{
		"rats":    ratCounts(t),
		"few":     {{0, 3}, {4, 5}, {5, 5}},
		"alike":   {{4, 8}, {4, 8}, {4, 8}, {4, 8}},
		"none":    {{0, 9}, {0, 4}},
		"nothing": {},
		"many":    {{700, 1000}, {650, 1000}, {820, 1000}},
	} {
		tl := newTally(counts)
		k := Rates(counts, WeakHyper, 0.8)
		const n = 241
		mean, alike, total := 0.0, 0.0, 0.0
		top := math.Inf(-1)
		logs := make([]float64, 0, n*n)
		for pass := range 2 {
			at := 0
			for i := range n {
				for j := range n {
					x, y := -12+24*float64(i)/(n-1), -7+21*float64(j)/(n-1)
					b := betaAt(x, y)
					m, r := b.Mean(), 1/(1+b.Weight())
					if pass == 0 {
						logs = append(logs, tl.logLik(b)+math.Log(m*(1-m))+math.Log(r)+3*math.Log1p(-r))
						top = max(top, logs[len(logs)-1])
						continue
					}
					w := math.Exp(logs[at] - top)
					at++
					mean, alike, total = mean+w*m, alike+w*r, total+w
				}
			}
		}
		within(t, name+": mean", k.Mean, mean/total, 1e-3)
		within(t, name+": alike", k.Alike, alike/total, 2e-3)
	}
}
