package outcome

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Ratio is a ratio of odds with its interval.
type Ratio struct{ Value, Low, High float64 }

// Odds returns by how much the odds are multiplied when a column goes up by one, with the interval of the normal on the
// logit scale.
func (f *Mixed) Odds(column int, level float64) Ratio {
	z := normal(level)
	b, se := f.Coef[column], f.SE[column]
	return Ratio{math.Exp(b), math.Exp(b - z*se), math.Exp(b + z*se)}
}

// Spread returns the interval of a term's standard deviation, by the normal on the scale of its logarithm. ok is false
// at a spread of 0, of which the scale has no point.
func (f *Mixed) Spread(term int, level float64) (lo, hi float64, ok bool) {
	z, s := normal(level), f.SD[term]
	if s < zeroSpread {
		return 0, 0, false
	}
	reach := math.Exp(z * f.SDSE[term] / s)
	return s / reach, s * reach, true
}

// What stands for a level that is not one of a term's.
const (
	Typical = -1 // one whose intercept is 0
	Fresh   = -2 // one of which nothing is known: its own spread is in the interval
)

// part is a weight on the intercept of a level, by its number among all.
type part struct {
	at     int
	weight float64
}

// linear returns Σ x·coefficient + Σ weight·intercept, and its standard error: that of the intercepts given the
// figures, and that of the figures with what hangs on them, to first order.
func (f *Mixed) linear(x []float64, parts []part) (value, se float64) {
	p, m := f.columns(), f.model
	grad := make([]float64, len(f.xi))
	clear(f.g)
	for j, v := range x {
		value += v * f.Coef[j]
		grad[j] = v
	}
	for _, q := range parts {
		k := f.termOf(q.at)
		value += q.weight * f.xi[p+k] * f.b[q.at]
		grad[p+k] += q.weight * f.b[q.at]
		f.g[q.at] += q.weight * f.xi[p+k] * math.Exp(f.widen(k, q.at))
	}
	variance := 0.0
	if len(parts) > 0 {
		q := slices.Clone(f.g)
		f.c.solve(f.t, f.g)
		for v, w := range q {
			variance += w * f.t[v]
		}
		clear(f.g)
		for _, q := range parts {
			f.g[q.at] += q.weight * f.xi[p+f.termOf(q.at)]
		}
		f.c.solve(f.t, f.g)
		for i, row := range m.X {
			r := &f.rows[i]
			tau := 0.0
			for y, k := range r.term {
				tau += f.xi[p+k] * f.t[r.level[y]]
			}
			for j, v := range row {
				grad[j] -= f.w[i] * v * tau
			}
			for y, k := range r.term {
				grad[p+k] -= f.w[i] * f.b[r.level[y]] * tau
			}
		}
		for k, t := range m.Terms {
			for l := range t.Levels {
				grad[p+k] += f.t[f.off[k]+l] * f.zr[f.off[k]+l]
			}
		}
	}
	for i, a := range grad {
		for j, b := range grad {
			variance += a * b * f.cov.At(i, j)
		}
	}
	return value, math.Sqrt(max(variance, 0))
}

// left is the share of its own variance that an intercept has left, given the figures.
func (f *Mixed) left(at int) float64 { return f.inv[f.c.index(at, at)] }

// widen is the logarithm by which the doubt of an intercept given its spread s goes up because s is not known. That doubt
// is s²·left, whose logarithm has the slope 2·left by log s, so that with a normal of log s its mean is e^(2·left²·v) times
// itself.
func (f *Mixed) widen(term, at int) float64 {
	s := f.SD[term]
	if s < zeroSpread {
		return 0
	}
	l, v := f.left(at), f.SDSE[term]/s
	return l * l * min(v*v, 1)
}

func (f *Mixed) termOf(at int) int {
	k, found := slices.BinarySearch(f.off, at)
	if !found {
		k--
	}
	for k+1 < len(f.off) && f.off[k+1] == f.off[k] { // a term without levels
		k++
	}
	return k
}

// Expect returns the share to be expected of a row with such columns and levels, one for each term (or [Typical] or
// [Fresh]), with its interval. With a Fresh level the value is that of a typical one, which half of them surpass.
func (f *Mixed) Expect(x []float64, levels []int, level float64) (value, lo, hi float64) {
	z := normal(level)
	eta, se := f.logOdds(x, levels)
	return expit(eta), expit(eta - z*se), expit(eta + z*se)
}

func (f *Mixed) logOdds(x []float64, levels []int) (eta, se float64) {
	if len(x) != f.columns() || len(levels) != len(f.model.Terms) {
		panic(fmt.Sprintf("outcome: %d columns and %d levels for a model of %d and %d", len(x), len(levels), f.columns(), len(f.model.Terms)))
	}
	var parts []part
	fresh := 0.0
	for k, l := range levels {
		switch {
		case l >= 0 && l < f.model.Terms[k].Levels:
			parts = append(parts, part{f.off[k] + l, 1})
		case l == Fresh:
			fresh += f.SD[k] * f.SD[k]
		case l != Typical:
			panic(fmt.Sprintf("outcome: level %d of term %d", l, k))
		}
	}
	eta, se = f.linear(x, parts)
	return eta, math.Sqrt(se*se + fresh)
}

// Intercept returns a level's intercept and its standard error, on the logit scale: what that cock brings, all else equal.
func (f *Mixed) Intercept(term, level int) (value, se float64) {
	return f.linear(nil, []part{{f.off[term] + level, 1}})
}

// Pairing is two levels of two terms that have rows together.
type Pairing struct {
	A, B int // levels
	Rows int
	// Apart is the share of the doubt about which of the two it lies at that the counts have taken away: 0 when they have
	// only ever been seen together, near 1 when each is well known from rows with others.
	Apart float64
}

// toldApart is the share of the doubt that must have gone before two levels count as told apart. Own choice: from below
// it, what is said of the one is mostly the prior's even split.
const toldApart = 0.2

// Told reports whether the counts tell the two apart at all.
func (p Pairing) Told() bool { return p.Apart >= toldApart }

// which returns the direction, among the intercepts in units of their spreads, of which rows of the two together say nothing:
// they show the sum, and this is what is square to it. ok is false when neither term has any spread.
func (f *Mixed) which(a, la, b, lb int) ([]part, bool) {
	sa, sb := f.SD[a], f.SD[b]
	d := math.Hypot(sa, sb)
	if d < zeroSpread {
		return nil, false
	}
	return []part{{f.off[a] + la, sb / d}, {f.off[b] + lb, -sa / d}}, true
}

// covariance sets f.t to H⁻¹·q, and returns qᵀ·H⁻¹·q.
func (f *Mixed) covariance(q []part) float64 {
	clear(f.g)
	for _, p := range q {
		f.g[p.at] += p.weight
	}
	f.c.solve(f.t, f.g)
	return at(f.t, q)
}

func at(t []float64, q []part) float64 {
	s := 0.0
	for _, p := range q {
		s += p.weight * t[p.at]
	}
	return s
}

// Apart returns, for each two levels of terms a and b that have rows together, how far the counts tell the two apart, in order
// of levels. It takes the standard deviations as they were found.
func (f *Mixed) Apart(a, b int) []Pairing {
	rows := map[[2]int]int{}
	for i := range f.model.Counts {
		la, lb := f.model.Terms[a].Of[i], f.model.Terms[b].Of[i]
		if la >= 0 && lb >= 0 && f.model.Counts[i].N > 0 {
			rows[[2]int{la, lb}]++
		}
	}
	var out []Pairing
	for l, n := range rows {
		p := Pairing{A: l[0], B: l[1], Rows: n}
		if q, ok := f.which(a, l[0], b, l[1]); ok {
			p.Apart = clamp(1-f.covariance(q), 0, 1)
		}
		out = append(out, p)
	}
	slices.SortFunc(out, func(x, y Pairing) int { return cmp.Or(x.A-y.A, x.B-y.B) })
	return out
}

// Trial is a row that could be made: so many eggs of a row with such columns and levels.
type Trial struct {
	X      []float64
	Levels []int // as in Expect
	Eggs   int
}

// Swap is what some trials together would tell.
type Swap struct {
	Option int // which of those given
	Apart  float64
}

// Swaps returns how well level la of term a and lb of term b would be told apart after each option, which is a list of
// trials, say of both pairs that a change of partners makes; the best first. It counts the eggs with the weight that they
// have at the shares to be expected, so that it is exact but for that (the information of a design, as in Fedorov 1972).
func (f *Mixed) Swaps(a, la, b, lb int, options [][]Trial) []Swap {
	var out []Swap
	q, ok := f.which(a, la, b, lb)
	for o, trials := range options {
		s := Swap{Option: o}
		if ok {
			s.Apart = clamp(1-f.after(q, trials), 0, 1)
		}
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(x, y Swap) int { return cmp.Compare(y.Apart, x.Apart) })
	return out
}

// after returns the variance along q once the trials are in: one update of rank one for each.
func (f *Mixed) after(q []part, trials []Trial) float64 {
	p := f.columns()
	dirs := [][]part{q}
	noise := []float64{0}
	for _, t := range trials {
		var d []part
		fresh := 0.0
		for k, l := range t.Levels {
			switch {
			case l >= 0:
				d = append(d, part{f.off[k] + l, f.xi[p+k]})
			case l == Fresh:
				fresh += f.SD[k] * f.SD[k]
			}
		}
		eta, _ := f.logOdds(t.X, t.Levels)
		e := expit(eta)
		dirs = append(dirs, d)
		noise = append(noise, fresh+1/max(float64(t.Eggs)*e*(1-e), 1e-12))
	}
	n := len(dirs)
	cov := make([][]float64, n)
	for i, d := range dirs {
		f.covariance(d)
		cov[i] = make([]float64, n)
		for j, e := range dirs {
			cov[i][j] = at(f.t, e)
		}
	}
	for k := 1; k < n; k++ {
		s := cov[k][k] + noise[k]
		row := slices.Clone(cov[k])
		for i := range n {
			for j := range n {
				cov[i][j] -= row[i] * row[j] / s
			}
		}
	}
	return cov[0][0]
}

// Overlap says how two groupings are crossed over the rows where both are known.
type Overlap struct {
	Pairs int // different pairs of levels
	// A and B count the levels of either, SeveralA those of the first that have several of the second, and SeveralB the other way.
	A, B, SeveralA, SeveralB int
}

// Inseparable reports that each level of the one has only ever been seen with one of the other, and the other way, so that no
// method tells the two groupings apart.
func (o Overlap) Inseparable() bool { return o.SeveralA == 0 && o.SeveralB == 0 }

// Crossed returns how two groupings are crossed.
func Crossed(a, b []int) Overlap {
	if len(a) != len(b) {
		panic(fmt.Sprintf("outcome: groupings of %d and %d rows", len(a), len(b)))
	}
	pairs := map[[2]int]bool{}
	ofA, ofB := map[int]int{}, map[int]int{}
	for i := range a {
		p := [2]int{a[i], b[i]}
		if a[i] < 0 || b[i] < 0 || pairs[p] {
			continue
		}
		pairs[p] = true
		ofA[a[i]]++
		ofB[b[i]]++
	}
	o := Overlap{Pairs: len(pairs), A: len(ofA), B: len(ofB)}
	for _, n := range ofA {
		if n > 1 {
			o.SeveralA++
		}
	}
	for _, n := range ofB {
		if n > 1 {
			o.SeveralB++
		}
	}
	return o
}

// Misfit is a figure of the counts beside what the model makes of it in repeated draws.
type Misfit struct {
	Figure    string  // "none", "all" or "spread"
	Seen      float64 // rows with none out, rows with all out; sum of squared residuals in units of their errors
	Low, High float64 // where nine in ten of the draws lie
	// Tail is the share of draws that lie as far out as what was seen, to the same side, doubled: small means that the
	// model does not fit.
	Tail float64
}

// Unfit reports whether the model fails the figure. With three figures, one in seventeen right models fails some.
func (m Misfit) Unfit() bool { return m.Tail < 0.02 }

// Draws calls a function with so many draws from what the counts leave possible: the coefficients, the standard deviations and
// the log odds of each row, in slices that are reused. Figures are drawn from their normal, standard deviations on the
// scale of their logarithms, and intercepts from theirs, with modes that follow the figures to first order.
func (f *Mixed) Draws(rng *rand.Rand, draws int, call func(coef, sd, eta []float64)) {
	p, n := f.columns(), len(f.xi)
	root := f.root()
	z, d := make([]float64, n), make([]float64, n)
	xi, eta := make([]float64, n), make([]float64, len(f.rows))
	noise, e := make([]float64, len(f.b)), make([]float64, len(f.b))
	stretch, left, term := make([]float64, len(f.b)), make([]float64, len(f.b)), make([]int, len(f.b))
	for v := range left {
		left[v], term[v] = f.left(v), f.termOf(v)
	}
	for range draws {
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		for i := range d {
			s := 0.0
			for j := range i + 1 {
				s += root[i][j] * z[j]
			}
			d[i] = s
			xi[i] = f.xi[i] + s
			if i >= p {
				if f.xi[i] < zeroSpread {
					xi[i] = math.Abs(xi[i])
				} else {
					xi[i] = f.xi[i] * math.Exp(clamp(s/f.xi[i], -3, 3))
				}
				d[i] = xi[i] - f.xi[i]
			}
		}
		f.along(f.t, d)
		for i := range e {
			e[i] = rng.NormFloat64()
		}
		f.c.spread(noise, e)
		for v := range stretch { // the doubt that is left grows with the spread as in widen
			k := term[v]
			stretch[v] = xi[p+k]
			if f.xi[p+k] >= zeroSpread {
				stretch[v] = f.xi[p+k] * math.Pow(xi[p+k]/f.xi[p+k], left[v])
			}
		}
		for i, x := range f.model.X {
			s := 0.0
			for j, v := range x {
				s += v * xi[j]
			}
			row := &f.rows[i]
			for a, k := range row.term {
				v := row.level[a]
				s += xi[p+k]*(f.b[v]+f.t[v]) + stretch[v]*noise[v]
			}
			eta[i] = s
		}
		call(xi[:p], xi[p:], eta)
	}
}

// root returns a lower triangle whose product with its transpose is the covariance of the figures. A row that the others
// determine is left 0.
func (f *Mixed) root() [][]float64 {
	n := len(f.xi)
	l := make([][]float64, n)
	for i := range n {
		l[i] = make([]float64, n)
		for j := range i + 1 {
			s := f.cov.At(i, j)
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			switch {
			case i == j:
				l[i][i] = math.Sqrt(max(s, 0))
			case l[j][j] > 0:
				l[i][j] = s / l[j][j]
			}
		}
	}
	return l
}

// Check draws the rows anew from the fitted model and compares (posterior predictive check, Rubin 1984): how many rows
// have none out, how many all, and how widely the counts scatter about their expectation. Rows of N = 0 are left out.
func (f *Mixed) Check(rng *rand.Rand, draws int) []Misfit {
	if draws < 1 {
		panic(fmt.Sprintf("outcome: a check by %d draws", draws))
	}
	const figures = 3
	var seen, above, below [figures]float64
	var drawn [figures][]float64
	measure := func(eta []float64, k func(i int, p float64) int) (out [figures]float64) {
		for i, c := range f.model.Counts {
			if c.N == 0 {
				continue
			}
			p := expit(eta[i])
			n := k(i, p)
			if n == 0 {
				out[0]++
			}
			if n == c.N {
				out[1]++
			}
			e := float64(c.N) * p
			out[2] += (float64(n) - e) * (float64(n) - e) / max(e*(1-p), 1e-9)
		}
		return out
	}
	f.Draws(rng, draws, func(_, _, eta []float64) {
		is := measure(eta, func(i int, _ float64) int { return f.model.Counts[i].K })
		again := measure(eta, func(i int, p float64) int { return binomialDraw(rng, f.model.Counts[i].N, p) })
		for s := range figures {
			seen[s] += is[s] / float64(draws)
			drawn[s] = append(drawn[s], again[s])
			if again[s] >= is[s] {
				above[s]++
			}
			if again[s] <= is[s] {
				below[s]++
			}
		}
	})
	var out []Misfit
	for s, name := range []string{"none", "all", "spread"} {
		slices.Sort(drawn[s])
		out = append(out, Misfit{
			Figure: name, Seen: seen[s], Low: percentile(drawn[s], 0.05), High: percentile(drawn[s], 0.95),
			Tail: min(1, 2*min(above[s], below[s])/float64(draws)),
		})
	}
	return out
}
