package outcome

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// Any shape, from no edges to all: determinant, solutions, draws and the inverse on the shape, against the full matrix.
func TestChol_AgreesWithFullMatrix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 14).Draw(t, "n")
		edges := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [2]int {
			return [2]int{rapid.IntRange(0, n-1).Draw(t, "u"), rapid.IntRange(0, n-1).Draw(t, "v")}
		}), 0, 30).Draw(t, "edges")
		c := newChol(n, edges)
		full := mat.NewSymDense(n, nil)
		add := func(u, v int, x float64) {
			full.SetSym(u, v, full.At(u, v)+x)
			c.val[c.index(u, v)] += x
		}
		for v := range n {
			add(v, v, rapid.Float64Range(0.1, 2).Draw(t, "diagonal"))
		}
		for _, e := range edges {
			if e[0] == e[1] {
				continue
			}
			x := rapid.Float64Range(-1, 1).Draw(t, "edge")
			add(e[0], e[1], x)
			add(e[0], e[0], math.Abs(x))
			add(e[1], e[1], math.Abs(x))
		}
		if !c.factor() {
			t.Fatal("not positive")
		}
		var chol mat.Cholesky
		if !chol.Factorize(full) {
			t.Skip("too near to singular")
		}
		within2(t, "log determinant", c.logDet(), chol.LogDet(), 1e-9)
		var inv mat.SymDense
		if err := chol.InverseTo(&inv); err != nil {
			t.Skip(err)
		}
		z := make([]float64, len(c.val))
		c.inverse(z)
		for _, e := range edges {
			within2(t, "inverse", z[c.index(e[0], e[1])], inv.At(e[0], e[1]), 1e-8)
		}
		b, x := make([]float64, n), make([]float64, n)
		draws := mat.NewDense(n, n, nil) // L⁻ᵀ, column by column
		for v := range n {
			within2(t, "diagonal", z[c.index(v, v)], inv.At(v, v), 1e-8)
			clear(b)
			b[v] = 1
			c.solve(x, b)
			for u := range n {
				within2(t, "solution", x[u], inv.At(u, v), 1e-8)
			}
			c.spread(x, b)
			draws.SetCol(v, x)
		}
		var cov mat.Dense
		cov.Mul(draws, draws.T())
		for u := range n {
			for v := range n {
				within2(t, "covariance of draws", cov.At(u, v), inv.At(u, v), 1e-8)
			}
		}
	})
}
