package plain

import "math"

// Limit is the least and the most that a quantity may be.
type Limit struct{ Min, Max float64 }

// Corners returns the least cost·x with every x within bounds and every row within
// limits, by trying each corner: every choice of n limits met exactly. All bounds are
// finite. ok is false when no corner keeps all limits. The work grows as (2n+2m) choose n.
func Corners(cost []float64, bounds []Limit, rows [][]float64, limits []Limit) (best float64, ok bool) {
	n := len(cost)
	type plane struct {
		a []float64
		b float64
	}
	var planes []plane
	add := func(a []float64, l Limit) {
		if !math.IsInf(l.Min, 0) {
			planes = append(planes, plane{a, l.Min})
		}
		if !math.IsInf(l.Max, 0) && l.Max != l.Min {
			planes = append(planes, plane{a, l.Max})
		}
	}
	for j, l := range bounds {
		unit := make([]float64, n)
		unit[j] = 1
		add(unit, l)
	}
	for i, l := range limits {
		add(rows[i], l)
	}
	best = math.Inf(1)
	pick := make([]int, n)
	var walk func(k, from int)
	walk = func(k, from int) {
		if k < n {
			for i := from; i < len(planes); i++ {
				pick[k] = i
				walk(k+1, i+1)
			}
			return
		}
		m := make([][]float64, n)
		for r, i := range pick {
			m[r] = append(append([]float64(nil), planes[i].a...), planes[i].b)
		}
		x, solved := gauss(m)
		if !solved {
			return
		}
		sum := 0.0
		for j, v := range x {
			if !within(v, bounds[j]) {
				return
			}
			sum += v * cost[j]
		}
		for i, row := range rows {
			at := 0.0
			for j, a := range row {
				at += a * x[j]
			}
			if !within(at, limits[i]) {
				return
			}
		}
		ok = true
		best = min(best, sum)
	}
	walk(0, 0)
	return best, ok
}

func within(v float64, l Limit) bool { return v >= l.Min-1e-9 && v <= l.Max+1e-9 }

// gauss solves the equations of m, whose last column is the right-hand side.
func gauss(m [][]float64) ([]float64, bool) {
	n := len(m)
	for c := range n {
		top := c
		for r := c + 1; r < n; r++ {
			if math.Abs(m[r][c]) > math.Abs(m[top][c]) {
				top = r
			}
		}
		if math.Abs(m[top][c]) < 1e-11 {
			return nil, false
		}
		m[c], m[top] = m[top], m[c]
		for r := range n {
			if f := m[r][c] / m[c][c]; r != c {
				for k := c; k <= n; k++ {
					m[r][k] -= f * m[c][k]
				}
			}
		}
	}
	x := make([]float64, n)
	for i := range x {
		x[i] = m[i][n] / m[i][i]
	}
	return x, true
}
