package feed

import "math"

// Limit is the least and the most that a quantity may be. An open end is an infinity
// of its sign; Min == Max fixes the quantity.
type Limit struct{ Min, Max float64 }

// AtLeast is a limit without an upper end.
func AtLeast(v float64) Limit { return Limit{v, math.Inf(1)} }

// AtMost is a limit without a lower end.
func AtMost(v float64) Limit { return Limit{math.Inf(-1), v} }

// Status says how a linear programme came out.
type Status int

// The outcomes of a linear programme.
const (
	Optimal         Status = iota // X is a cheapest point
	Infeasible                    // no point keeps all limits
	Unbounded                     // the cost can fall without end
	OutOfIterations               // given up; X means nothing
)

// String writes the status as one word.
func (s Status) String() string {
	return [...]string{"optimal", "infeasible", "unbounded", "unfinished"}[s]
}

// Programme is a linear programme: the least Cost·x with every x[j] within Bounds[j]
// and every Rows[i]·x within Limits[i].
type Programme struct {
	Cost   []float64   // n
	Bounds []Limit     // n
	Rows   [][]float64 // m rows of n
	Limits []Limit     // m
}

// Solution is what [Programme.Solve] found.
type Solution struct {
	Status Status
	X      []float64 // n
	Cost   float64
	Row    []float64 // m: Rows[i]·X
	// Price is, for each row, by how much the cost rises when the limit that holds is
	// raised by one: at or above 0 at a Min, at or below 0 at a Max, 0 when neither holds.
	Price []float64
	// Tied says that another X costs the same.
	Tied   bool
	Pivots int
}

// Tolerances of the simplex, on figures scaled to about 1.
const (
	costTolerance  = 1e-9  // a reduced cost this near 0 is 0
	pivotTolerance = 1e-9  // no division by less
	feasTolerance  = 1e-9  // limits are kept to within this, relative to their size
	tieTolerance   = 1e-12 // steps closer than this are one
)

// simplex is a tableau with bounded variables: n columns of the programme, m row values
// and m artificials. Every row is an equation whose basic column is 1.
type simplex struct {
	m, n   int // rows, columns in all
	t      [][]float64
	lo, hi []float64
	value  []float64 // of every column
	basis  []int     // column that is basic in each row
	basic  []bool
	pivots int
}

// Solve finds a cheapest point by the bounded simplex method in two phases (Dantzig's
// rule, and Bland's once the steps stay at length 0, so that it cannot cycle). Rows and columns are
// scaled by their largest figure. It panics when the slices do not fit together or hold
// a NaN. Costs are good to about 1e-9 of their size. One pivot costs m·(n+2m).
func (p *Programme) Solve() Solution {
	n, m := len(p.Cost), len(p.Rows)
	p.check()
	if n == 0 {
		return p.empty()
	}
	for _, b := range append(append([]Limit(nil), p.Bounds...), p.Limits...) {
		if b.Min > b.Max {
			return Solution{Status: Infeasible}
		}
	}
	rowScale, colScale := p.scales()
	s := &simplex{m: m, n: n + 2*m}
	s.lo, s.hi = make([]float64, s.n), make([]float64, s.n)
	s.value, s.basic = make([]float64, s.n), make([]bool, s.n)
	s.basis = make([]int, m)
	for j, b := range p.Bounds {
		s.lo[j], s.hi[j] = b.Min/colScale[j], b.Max/colScale[j]
		s.value[j] = nearest(0, s.lo[j], s.hi[j])
	}
	phase1 := make([]float64, s.n)
	size := 1.0 // of the figures, for the test of feasibility
	for i, row := range p.Rows {
		line := make([]float64, s.n)
		var at float64
		for j, a := range row {
			line[j] = a * rowScale[i] * colScale[j]
			at += line[j] * s.value[j]
		}
		r, art := n+i, n+m+i
		line[r] = -1
		s.lo[r], s.hi[r] = p.Limits[i].Min*rowScale[i], p.Limits[i].Max*rowScale[i]
		s.value[r] = nearest(at, s.lo[r], s.hi[r])
		size = max(size, math.Abs(s.value[r]))
		sign, in := -1.0, r
		if gap := at - s.value[r]; gap != 0 {
			sign, in = -math.Copysign(1, gap), art
			s.value[art], s.hi[art], phase1[art] = math.Abs(gap), math.Inf(1), 1
			size = max(size, math.Abs(gap))
		}
		for j := range line {
			line[j] *= sign
		}
		line[in] = 1
		s.t = append(s.t, line)
		s.basis[i], s.basic[in] = in, true
	}
	if status := s.minimise(phase1); status != Optimal {
		return Solution{Status: OutOfIterations, Pivots: s.pivots}
	}
	var miss float64
	for art := n + m; art < s.n; art++ {
		miss += s.value[art]
		s.hi[art] = 0
	}
	if miss > feasTolerance*size {
		return Solution{Status: Infeasible, Pivots: s.pivots}
	}
	cost := make([]float64, s.n)
	biggest := 0.0
	for j, c := range p.Cost {
		cost[j] = c * colScale[j]
		biggest = max(biggest, math.Abs(cost[j]))
	}
	if biggest > 0 {
		for j := range cost {
			cost[j] /= biggest
		}
	}
	if status := s.minimise(cost); status != Optimal {
		return Solution{Status: status, Pivots: s.pivots}
	}
	out := Solution{X: make([]float64, n), Price: make([]float64, m), Pivots: s.pivots}
	for j := range out.X {
		out.X[j] = min(max(s.value[j]*colScale[j], p.Bounds[j].Min), p.Bounds[j].Max)
		out.Cost += p.Cost[j] * out.X[j]
	}
	out.Row = p.rowValues(out.X)
	d := s.reduced(cost)
	for i := range m {
		if !s.basic[n+i] && math.Abs(d[n+i]) > costTolerance {
			out.Price[i] = d[n+i] * biggest * rowScale[i]
		}
	}
	out.Tied = s.tied(d, n+m)
	return out
}

func (p *Programme) check() {
	n := len(p.Cost)
	if len(p.Bounds) != n || len(p.Limits) != len(p.Rows) {
		panic("feed: bounds, limits and costs of a programme do not fit together")
	}
	for _, c := range p.Cost {
		if math.IsNaN(c) || math.IsInf(c, 0) {
			panic("feed: a cost is not a number")
		}
	}
	for _, row := range p.Rows {
		if len(row) != n {
			panic("feed: a row of a programme has the wrong length")
		}
		for _, a := range row {
			if math.IsNaN(a) || math.IsInf(a, 0) {
				panic("feed: a coefficient is not a number")
			}
		}
	}
	for _, l := range append(append([]Limit(nil), p.Bounds...), p.Limits...) {
		if math.IsNaN(l.Min) || math.IsNaN(l.Max) || math.IsInf(l.Min, 1) || math.IsInf(l.Max, -1) {
			panic("feed: a limit is not a number")
		}
	}
}

// empty answers a programme without columns: every row is 0.
func (p *Programme) empty() Solution {
	out := Solution{X: []float64{}, Row: make([]float64, len(p.Rows)), Price: make([]float64, len(p.Rows))}
	for _, l := range p.Limits {
		if l.Min > 0 || l.Max < 0 {
			return Solution{Status: Infeasible}
		}
	}
	return out
}

func (p *Programme) rowValues(x []float64) []float64 {
	out := make([]float64, len(p.Rows))
	for i, row := range p.Rows {
		for j, a := range row {
			out[i] += a * x[j]
		}
	}
	return out
}

// scales returns a factor for each row and each column that brings its largest figure to 1.
func (p *Programme) scales() (row, col []float64) {
	row, col = make([]float64, len(p.Rows)), make([]float64, len(p.Cost))
	for i, r := range p.Rows {
		big := 0.0
		for _, a := range r {
			big = max(big, math.Abs(a))
		}
		row[i] = power(big)
	}
	for j := range col {
		big := 0.0
		for i, r := range p.Rows {
			big = max(big, math.Abs(r[j])*row[i])
		}
		col[j] = power(big)
	}
	return row, col
}

// power returns the power of two next to 1/v, so that scaling adds no rounding.
func power(v float64) float64 {
	if v == 0 {
		return 1
	}
	_, e := math.Frexp(v)
	return math.Ldexp(1, min(max(-e, -1000), 1000))
}

// nearest returns the place within lo and hi that is nearest to v.
func nearest(v, lo, hi float64) float64 { return min(max(v, lo), hi) }

// reduced returns what one unit more of each column would cost, 0 for basic ones.
func (s *simplex) reduced(cost []float64) []float64 {
	d := append([]float64(nil), cost...)
	for i, b := range s.basis {
		if c := cost[b]; c != 0 {
			for j, a := range s.t[i] {
				d[j] -= c * a
			}
		}
	}
	for _, b := range s.basis {
		d[b] = 0
	}
	return d
}

// moves says which way column j may go to lower the cost: 1, -1, or 0 for neither.
func (s *simplex) moves(j int, d float64) float64 {
	switch {
	case s.basic[j] || s.lo[j] == s.hi[j] || math.Abs(d) <= costTolerance:
		return 0
	case d < 0 && s.value[j] < s.hi[j]:
		return 1
	case d > 0 && s.value[j] > s.lo[j]:
		return -1
	}
	return 0
}

// minimise pivots until no column lowers the cost.
func (s *simplex) minimise(cost []float64) Status {
	stuck, bland := 0, false
	for range 200 * (s.m + s.n) {
		d := s.reduced(cost)
		in, dir := -1, 0.0
		for j := range d {
			way := s.moves(j, d[j])
			if way == 0 || (in >= 0 && math.Abs(d[j]) <= math.Abs(d[in])) {
				continue
			}
			in, dir = j, way
			if bland {
				break
			}
		}
		if in < 0 {
			return Optimal
		}
		step, out := s.ratio(in, dir, bland)
		if math.IsInf(step, 1) {
			return Unbounded
		}
		s.move(in, dir*step)
		if step > tieTolerance {
			stuck, bland = 0, false
		} else if stuck++; stuck > s.m+s.n {
			bland = true
		}
		if out >= 0 {
			s.pivot(out, in, dir)
		} else if dir > 0 {
			s.value[in] = s.hi[in]
		} else {
			s.value[in] = s.lo[in]
		}
		s.pivots++
	}
	return OutOfIterations
}

// ratio returns how far column in may go, and the row whose basic column stops it, or -1
// when it stops at its own other end.
func (s *simplex) ratio(in int, dir float64, bland bool) (step float64, out int) {
	step, out = s.hi[in]-s.value[in], -1
	if dir < 0 {
		step = s.value[in] - s.lo[in]
	}
	for i, row := range s.t {
		a, b := dir*row[in], s.basis[i]
		var room float64
		switch {
		case a > pivotTolerance:
			room = (s.value[b] - s.lo[b]) / a
		case a < -pivotTolerance:
			room = (s.hi[b] - s.value[b]) / -a
		default:
			continue
		}
		room = max(room, 0)
		switch {
		case room < step-tieTolerance:
		case room > step+tieTolerance || out < 0:
			continue
		case bland && b > s.basis[out]:
			continue
		case !bland && math.Abs(a) <= math.Abs(s.t[out][in]):
			continue
		}
		step, out = min(room, step), i
	}
	return step, out
}

// move shifts column in by delta and the basic columns with it.
func (s *simplex) move(in int, delta float64) {
	if delta == 0 {
		return
	}
	s.value[in] += delta
	for i, b := range s.basis {
		s.value[b] = nearest(s.value[b]-delta*s.t[i][in], s.lo[b], s.hi[b])
	}
}

// pivot makes column in basic in row out; the one that leaves rests at the end it met.
func (s *simplex) pivot(out, in int, dir float64) {
	left := s.basis[out]
	if dir*s.t[out][in] > 0 {
		s.value[left] = s.lo[left]
	} else {
		s.value[left] = s.hi[left]
	}
	row := s.t[out]
	f := 1 / row[in]
	for j := range row {
		row[j] *= f
	}
	row[in] = 1
	for i, other := range s.t {
		if f := other[in]; i != out && f != 0 {
			for j, a := range row {
				other[j] -= f * a
			}
			other[in] = 0
		}
	}
	s.basis[out], s.basic[left], s.basic[in] = in, false, true
}

// tied says whether some column can move a real way at no cost.
func (s *simplex) tied(d []float64, columns int) bool {
	for j := range columns {
		if s.basic[j] || s.lo[j] == s.hi[j] || math.Abs(d[j]) > costTolerance {
			continue
		}
		for _, dir := range [2]float64{1, -1} {
			if (dir > 0 && s.value[j] >= s.hi[j]) || (dir < 0 && s.value[j] <= s.lo[j]) {
				continue
			}
			if step, _ := s.ratio(j, dir, false); step > feasTolerance {
				return true
			}
		}
	}
	return false
}
