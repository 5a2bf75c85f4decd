// Package plain holds the obvious, slow versions of the algorithms in package outcome. Tests compare the two.
package plain

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// logLik is the log likelihood of k of n at log odds eta, without the binomial coefficient.
func logLik(k, n int, eta float64) float64 {
	return float64(k)*eta - float64(n)*math.Log1p(math.Exp(eta))
}

// Exact returns the log likelihood of a logistic model with random intercepts by the trapezoid rule over every
// combination of values of all intercepts, each from −8 to 8 standard deviations in so many steps: for a handful of levels.
// offset is the fixed part of a row, of[row] the levels of its intercepts among all, sd the standard deviation by level.
func Exact(k, n []int, offset []float64, of [][]int, sd []float64, steps int) float64 {
	b := make([]float64, len(sd))
	h := 16 / float64(steps)
	var sum func(level int) float64
	sum = func(level int) float64 {
		if level == len(b) {
			l := 0.0
			for i := range k {
				eta := offset[i]
				for _, v := range of[i] {
					eta += sd[v] * b[v]
				}
				l += logLik(k[i], n[i], eta)
			}
			return math.Exp(l)
		}
		s := 0.0
		for j := range steps + 1 {
			b[level] = -8 + h*float64(j)
			s += h * math.Exp(-b[level]*b[level]/2) / math.Sqrt(2*math.Pi) * sum(level+1)
		}
		return s
	}
	return math.Log(sum(0))
}

// Laplace returns the Laplace approximation of the same, with full matrices.
func Laplace(k, n []int, offset []float64, of [][]int, sd []float64) float64 {
	q := len(sd)
	b := mat.NewVecDense(max(q, 1), nil)
	h := mat.NewDense(max(q, 1), max(q, 1), nil)
	value := 0.0
	for range 60 {
		h.Zero()
		g := mat.NewVecDense(max(q, 1), nil)
		value = 0
		for v := range max(q, 1) {
			h.Set(v, v, 1)
			g.SetVec(v, -b.AtVec(v))
			value -= b.AtVec(v) * b.AtVec(v) / 2
		}
		for i := range k {
			eta := offset[i]
			for _, v := range of[i] {
				eta += sd[v] * b.AtVec(v)
			}
			p := 1 / (1 + math.Exp(-eta))
			value += logLik(k[i], n[i], eta)
			for _, u := range of[i] {
				g.SetVec(u, g.AtVec(u)+sd[u]*(float64(k[i])-float64(n[i])*p))
				for _, v := range of[i] {
					h.Set(u, v, h.At(u, v)+sd[u]*sd[v]*float64(n[i])*p*(1-p))
				}
			}
		}
		var step mat.VecDense
		if err := step.SolveVec(h, g); err != nil {
			return math.NaN()
		}
		scale := 1.0
		if most := mat.Norm(&step, math.Inf(1)); most > 1 {
			scale = 1 / most // no intercept moves by more than a standard deviation at once
		}
		b.AddScaledVec(b, scale, &step)
	}
	det, _ := mat.LogDet(h)
	return value - det/2
}

// Orders averages, over all orders in which factors can change from their first state to their second, what the
// rate changes by when each does. rate takes the set of those that have changed, by bits.
func Orders(factors int, rate func(set uint) float64) []float64 {
	effects := make([]float64, factors)
	orders := 0
	var walk func(set uint, path []int)
	walk = func(set uint, path []int) {
		if len(path) == factors {
			orders++
			s := uint(0)
			for _, f := range path {
				effects[f] += rate(s|1<<f) - rate(s)
				s |= 1 << f
			}
			return
		}
		for f := range factors {
			if set>>f&1 == 0 {
				walk(set|1<<f, append(path, f))
			}
		}
	}
	walk(0, nil)
	for f := range effects {
		effects[f] /= float64(orders)
	}
	return effects
}
