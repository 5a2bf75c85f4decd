package outcome

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Term is a random intercept: cocks, hens, cages, seasons, or the nests themselves. Of[row] is the level of a row, from 0
// up to Levels; a row of which it is not known has −1, and no share in the term.
type Term struct {
	Of     []int
	Levels int
}

// Prior is what is thought of a model's figures beforehand. The zero value is nothing at all: maximum likelihood.
type Prior struct {
	// Fixed has, for each column, the standard deviation of a normal with mean 0; 0 leaves the column free. nil leaves all free.
	Fixed []float64
	// Spread is the rate of the gamma distribution of shape 2 that each term's standard deviation is taken to have, with
	// its mode at 1/Spread: it keeps few levels from a spread of exactly 0 (Chung and others 2013). 0 leaves it free.
	Spread float64
}

// WeakPrior is the usual prior on the logit scale, for an intercept in the first column and for columns that run over about
// one unit: a normal with standard deviation 2.5 for each, 5 for the intercept (after Gelman and others 2008, who use a
// Cauchy), and spreads about 1/2. Repeatabilities of 0.15 to 0.5, as of captive zebra finches (Pei and others 2020), are
// spreads of 0.8 to 1.8.
func WeakPrior(columns int) Prior {
	p := Prior{Fixed: make([]float64, columns), Spread: 2}
	for j := range p.Fixed {
		p.Fixed[j] = 2.5
	}
	if columns > 0 {
		p.Fixed[0] = 5
	}
	return p
}

// Model is a logistic regression with random intercepts: of row i K of N came out, with log odds Σ X[i][j]·coefficient j
// plus the intercepts of its levels, which are normal about 0 within each term.
type Model struct {
	Counts []Count
	X      [][]float64 // by row, as many columns for all
	Terms  []Term
	Prior  Prior
}

// Mixed is a fitted model. All figures are on the logit scale. Its methods share room to work in: one goroutine at a time
// may ask.
type Mixed struct {
	Coef, SE []float64 // by column, and their standard errors
	SD, SDSE []float64 // by term: standard deviation of the intercepts, and its standard error
	// Effects are the intercepts of the levels, by term, at their modes.
	Effects [][]float64
	// LogLik is the Laplace approximation of the log likelihood, with the binomial coefficients and without the prior.
	LogLik float64
	Status Status

	model  *Model
	c      *chol
	off    []int // by term: number of its first level
	rows   []mixedRow
	choose float64
	scale  []float64     // by figure: about its standard error, for differences
	cov    *mat.SymDense // of coefficients and standard deviations

	// The state at the figures at hand.
	xi   []float64 // coefficients, then standard deviations
	b    []float64 // intercepts in units of their standard deviation
	eta  []float64
	p, w []float64 // by row: share to be expected, weight
	r    []float64 // by row: came out beyond expectation
	zr   []float64 // by level: sum of r
	inv  []float64 // entries of the inverse
	set  bool
	// Scratch.
	g, step, t []float64
}

// mixedRow holds where a row's levels lie.
type mixedRow struct {
	term, level []int
	entry       []int // of the pairs of levels (0,0), (1,0), (1,1), (2,0), ... in the values
}

// figures that end a search: how little a step may promise.
const (
	innerTol = 1e-13 // of the log likelihood; the step that is left is then about 3e-7, and counted to first order
	outerTol = 1e-10
)

// FitMixed fits a model. Intercepts of levels are integrated out by Laplace's approximation at their joint mode, and
// coefficients and standard deviations set to the maximum of what is left (times the prior), as the usual packages do.
// The precision matrix of the levels is sparse and is factored as such; the gradient is exact. Standard errors are from the
// second derivatives, with those of the standard deviations counted in. 5000 rows with cocks, hens, cages and
// seasons take under two seconds.
//
// Separation (a column that tells all clear from all full) and levels with little in them leave a figure unbounded where
// the prior is: the status is then NotIdentified. Laplace's approximation is rough for levels with very few eggs and a great
// spread; it is exact for none. Rows of N = 0 count for nothing.
//
// The error is of the context, or names the first row with a value that is no number.
func FitMixed(ctx context.Context, m Model) (*Mixed, error) {
	f, err := newMixed(&m)
	if err != nil {
		return nil, err
	}
	return f, f.search(ctx)
}

func newMixed(m *Model) (*Mixed, error) {
	n, p := len(m.Counts), 0
	if len(m.X) != n {
		panic(fmt.Sprintf("outcome: %d rows of columns for %d counts", len(m.X), n))
	}
	if n > 0 {
		p = len(m.X[0])
	}
	if m.Prior.Fixed != nil && len(m.Prior.Fixed) != p {
		panic(fmt.Sprintf("outcome: a prior of %d columns for %d", len(m.Prior.Fixed), p))
	}
	for i, x := range m.X {
		if len(x) != p {
			panic(fmt.Sprintf("outcome: row %d has %d columns, not %d", i, len(x), p))
		}
		m.Counts[i].must()
		for j, v := range x {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("row %d: the value in column %d is not a number", i+1, j+1)
			}
		}
	}
	f := &Mixed{model: m, rows: make([]mixedRow, n)}
	levels := 0
	for k, t := range m.Terms {
		if len(t.Of) != n {
			panic(fmt.Sprintf("outcome: term %d has %d rows, not %d", k, len(t.Of), n))
		}
		f.off = append(f.off, levels)
		levels += t.Levels
	}
	seen := map[[2]int]bool{}
	var edges [][2]int
	for i := range n {
		f.choose += logChoose(m.Counts[i])
		row := &f.rows[i]
		for k, t := range m.Terms {
			l := t.Of[i]
			if l < -1 || l >= t.Levels {
				panic(fmt.Sprintf("outcome: row %d has level %d of term %d, which has %d", i, l, k, t.Levels))
			}
			if l < 0 || m.Counts[i].N == 0 {
				continue
			}
			v := f.off[k] + l
			for _, u := range row.level {
				if e := [2]int{u, v}; !seen[e] {
					seen[e] = true
					edges = append(edges, e)
				}
			}
			row.term, row.level = append(row.term, k), append(row.level, v)
		}
	}
	f.c = newChol(levels, edges)
	for i := range f.rows {
		row := &f.rows[i]
		for a, u := range row.level {
			for _, v := range row.level[:a+1] {
				row.entry = append(row.entry, f.c.index(u, v))
			}
		}
	}
	f.xi = make([]float64, p+len(m.Terms))
	f.b, f.zr, f.g, f.step, f.t = make([]float64, levels), make([]float64, levels), make([]float64, levels), make([]float64, levels), make([]float64, levels)
	f.eta, f.p, f.w, f.r = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	f.inv = make([]float64, len(f.c.val))
	f.start()
	return f, nil
}

func (f *Mixed) columns() int { return len(f.xi) - len(f.model.Terms) }

// start sets the coefficients to those of a logistic regression without terms, held by a wide normal, and the standard
// deviations to a half.
func (f *Mixed) start() {
	p := f.columns()
	m := f.model
	f.scale = make([]float64, len(f.xi))
	for k := range m.Terms {
		f.xi[p+k] = 0.5
		f.scale[p+k] = 0.1
	}
	if p == 0 {
		return
	}
	beta := f.xi[:p]
	size := make([]float64, p) // of each column, so that the hold does not depend on its unit
	for _, x := range m.X {
		for j, v := range x {
			size[j] = max(size[j], math.Abs(v))
		}
	}
	h := mat.NewSymDense(p, nil)
	for range 30 {
		h.Zero()
		g := mat.NewVecDense(p, nil)
		for j := range p {
			hold := 0.01*size[j]*size[j] + 1e-12 // standard deviation 10 over the column's range
			h.SetSym(j, j, hold)
			g.SetVec(j, -hold*beta[j])
		}
		for i, x := range m.X {
			eta := 0.0
			for j, v := range x {
				eta += v * beta[j]
			}
			q := expit(eta)
			n := float64(m.Counts[i].N)
			w, r := n*q*(1-q), float64(m.Counts[i].K)-n*q
			for j, v := range x {
				g.SetVec(j, g.AtVec(j)+v*r)
				for l := j; l < p; l++ {
					h.SetSym(j, l, h.At(j, l)+w*v*x[l])
				}
			}
		}
		var ch mat.Cholesky
		if !ch.Factorize(h) {
			break
		}
		var step mat.VecDense
		if err := ch.SolveVecTo(&step, g); err != nil {
			_ = err.(mat.Condition) // columns that repeat each other: any start does
		}
		most := 0.0
		for j := range beta {
			beta[j] += clamp(step.AtVec(j), -5/max(size[j], 1e-9), 5/max(size[j], 1e-9))
			most = max(most, math.Abs(step.AtVec(j))*size[j])
		}
		if most < 1e-6 {
			break
		}
	}
	for j := range p {
		f.scale[j] = 1 / math.Sqrt(max(h.At(j, j), 1e-12))
	}
}

// expit is the share with log odds x.
func expit(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// logLikAt is the log likelihood of a count at log odds eta, without the binomial coefficient.
func logLikAt(c Count, eta float64) float64 {
	// log p = −log(1+exp(−eta)), in the form that does not overflow.
	if eta > 0 {
		l := math.Log1p(math.Exp(-eta))
		return -float64(c.K)*l - float64(c.N-c.K)*(eta+l)
	}
	l := math.Log1p(math.Exp(eta))
	return float64(c.K)*(eta-l) - float64(c.N-c.K)*l
}

// joint sets eta to the log odds at coefficients and intercepts, and returns the joint log density, without constants.
func (f *Mixed) joint(xi, b []float64) float64 {
	p := f.columns()
	sum := 0.0
	for i, x := range f.model.X {
		e := 0.0
		for j, v := range x {
			e += v * xi[j]
		}
		for a, k := range f.rows[i].term {
			e += xi[p+k] * b[f.rows[i].level[a]]
		}
		f.eta[i] = e
		sum += logLikAt(f.model.Counts[i], e)
	}
	for _, v := range b {
		sum -= v * v / 2
	}
	return sum
}

// weigh sets what follows from eta: shares, weights, residuals and their sums by level.
func (f *Mixed) weigh() {
	clear(f.zr)
	for i, c := range f.model.Counts {
		q := expit(f.eta[i])
		n := float64(c.N)
		f.p[i], f.w[i], f.r[i] = q, n*q*(1-q), float64(c.K)-n*q
		for _, v := range f.rows[i].level {
			f.zr[v] += f.r[i]
		}
	}
}

// precision sets the matrix I + ΛZᵀWZΛ, and factors it.
func (f *Mixed) precision(xi []float64) bool {
	p := f.columns()
	clear(f.c.val)
	for v := range f.b {
		f.c.val[f.c.index(v, v)] = 1
	}
	for i := range f.rows {
		row := &f.rows[i]
		at := 0
		for a, k := range row.term {
			wk := f.w[i] * xi[p+k]
			for c := range a + 1 {
				f.c.val[row.entry[at]] += wk * xi[p+row.term[c]]
				at++
			}
		}
	}
	return f.c.factor()
}

// along sets t to how the modes of b move when the figures move by d, to first order.
func (f *Mixed) along(t, d []float64) {
	p := f.columns()
	clear(f.g)
	for k := range f.model.Terms {
		for l := range f.model.Terms[k].Levels {
			v := f.off[k] + l
			f.g[v] = d[p+k] * f.zr[v]
		}
	}
	for i, x := range f.model.X {
		row := &f.rows[i]
		e := 0.0
		for j, v := range x {
			e += v * d[j]
		}
		for a, k := range row.term {
			e += d[p+k] * f.b[row.level[a]]
		}
		for a, k := range row.term {
			f.g[row.level[a]] -= f.xi[p+k] * f.w[i] * e
		}
	}
	f.c.solve(t, f.g)
}

// eval moves the state to the figures xi and returns minus the log posterior there, with its gradient into grad.
func (f *Mixed) eval(grad, xi []float64) float64 {
	p, m := f.columns(), f.model
	levels := len(f.b)
	if f.set {
		d := make([]float64, len(xi))
		for j := range xi {
			d[j] = xi[j] - f.xi[j]
		}
		f.along(f.t, d)
		for v := range f.b {
			f.b[v] += clamp(f.t[v], -5, 5)
		}
	}
	f.set = true
	copy(f.xi, xi)
	h := f.joint(xi, f.b)
	trial := make([]float64, levels)
	ok := false
	for range 200 {
		f.weigh()
		if ok = f.precision(xi); !ok {
			break
		}
		for k := range m.Terms {
			for l := range m.Terms[k].Levels {
				v := f.off[k] + l
				f.g[v] = xi[p+k]*f.zr[v] - f.b[v]
			}
		}
		f.c.solve(f.step, f.g)
		gain := 0.0
		for v := range f.g {
			gain += f.g[v] * f.step[v]
		}
		if !(gain > innerTol) {
			break
		}
		s, better := 1.0, false
		for ; s > 1e-10; s /= 2 {
			for v := range trial {
				trial[v] = f.b[v] + s*f.step[v]
			}
			if ht := f.joint(xi, trial); ht >= h || gain < 1e-11*(1+math.Abs(h)) { // below that the sum has no more digits to tell by
				h, better = ht, true
				break
			}
		}
		if !better {
			f.joint(xi, f.b)
			clear(f.step)
			break
		}
		copy(f.b, trial)
	}
	if !ok {
		return math.Inf(1)
	}
	value := -h + f.c.logDet()/2
	// The gradient: see the package's comment for the letters.
	f.c.inverse(f.inv)
	a := make([]float64, len(m.Counts))
	clear(f.g)
	half := make([]float64, len(m.Terms)) // derivatives of half the log determinant by the standard deviations
	for i := range f.rows {
		row := &f.rows[i]
		v, at := 0.0, 0
		var c [16]float64
		cs := c[:0]
		for range row.term {
			cs = append(cs, 0)
		}
		for x, k := range row.term {
			for y := range x + 1 {
				z := f.inv[row.entry[at]]
				at++
				sk, sl := xi[p+k], xi[p+row.term[y]]
				cs[x] += sl * z
				if x == y {
					v += sk * sl * z
					continue
				}
				cs[y] += sk * z
				v += 2 * sk * sl * z
			}
		}
		a[i] = v / 2 * f.w[i] * (1 - 2*f.p[i])
		for x, k := range row.term {
			value += a[i] * xi[p+k] * f.step[row.level[x]]
		}
		for x, k := range row.term {
			half[k] += f.w[i]*cs[x] + a[i]*f.b[row.level[x]]
			f.g[row.level[x]] += xi[p+k] * a[i]
		}
	}
	f.c.solve(f.t, f.g)
	clear(grad)
	for i, x := range m.X {
		row := &f.rows[i]
		tau := 0.0
		for y, k := range row.term {
			tau += xi[p+k] * f.t[row.level[y]]
		}
		d := a[i] - f.w[i]*tau - f.r[i]
		for j, v := range x {
			grad[j] += v * d
		}
		for y, k := range row.term {
			b := f.b[row.level[y]]
			half[k] -= f.w[i] * b * tau
			grad[p+k] -= f.r[i] * b
		}
	}
	for k := range m.Terms {
		for l := range m.Terms[k].Levels {
			half[k] += f.t[f.off[k]+l] * f.zr[f.off[k]+l]
		}
		grad[p+k] += half[k]
	}
	for v := range f.b {
		f.b[v] += f.step[v]
	}
	return value + f.prior(grad, xi)
}

// prior returns minus the log density of the figures, and adds its gradient. It is +Inf where a standard deviation
// that has a prior is not positive.
func (f *Mixed) prior(grad, xi []float64) float64 {
	p, v := f.columns(), 0.0
	for j, s := range f.model.Prior.Fixed {
		if s > 0 {
			v += xi[j] * xi[j] / (2 * s * s)
			grad[j] += xi[j] / (s * s)
		}
	}
	if rate := f.model.Prior.Spread; rate > 0 {
		for k := range f.model.Terms {
			s := xi[p+k]
			if !(s > 0) {
				return math.Inf(1)
			}
			v += rate*s - math.Log(s)
			grad[p+k] += rate - 1/s
		}
	}
	return v
}

// hessian returns the second derivatives at the figures by differences of the gradient, to both sides.
func (f *Mixed) hessian(at []float64, reach float64) *mat.SymDense {
	n := len(at)
	raw := mat.NewDense(n, n, nil)
	x := append([]float64(nil), at...)
	up, down := make([]float64, n), make([]float64, n)
	for j := range n {
		h := reach * f.scale[j]
		if j >= f.columns() && f.model.Prior.Spread > 0 {
			h = min(h, at[j]/4)
		}
		x[j] = at[j] + h
		f.eval(up, x)
		x[j] = at[j] - h
		f.eval(down, x)
		x[j] = at[j]
		for i := range n {
			raw.Set(i, j, (up[i]-down[i])/(2*h))
		}
	}
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			out.SetSym(i, j, (raw.At(i, j)+raw.At(j, i))/2)
		}
	}
	return out
}

// descend returns the step −|H|⁻¹·g, with eigenvalues taken by size and none smaller than a floor, in units of scale, and
// what it promises.
func (f *Mixed) descend(h *mat.SymDense, g []float64) (step []float64, gain float64) {
	n := len(g)
	scaled := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			scaled.SetSym(i, j, h.At(i, j)*f.scale[i]*f.scale[j])
		}
	}
	step = make([]float64, n)
	var eig mat.EigenSym
	if !eig.Factorize(scaled, true) {
		for i := range step {
			step[i] = -g[i] * f.scale[i] * f.scale[i]
			gain -= step[i] * g[i]
		}
		return step, gain
	}
	var vecs mat.Dense
	eig.VectorsTo(&vecs)
	values := eig.Values(nil)
	for e, lambda := range values {
		lambda = max(math.Abs(lambda), 1e-6)
		dot := 0.0
		for i := range n {
			dot += vecs.At(i, e) * g[i] * f.scale[i]
		}
		gain += dot * dot / lambda
		for i := range n {
			step[i] -= vecs.At(i, e) * dot / lambda * f.scale[i]
		}
	}
	return step, gain
}

// search finds the maximum by quasi-Newton steps (BFGS) from second derivatives by differences, and then the covariance.
func (f *Mixed) search(ctx context.Context) error {
	n, p := len(f.xi), f.columns()
	x := append([]float64(nil), f.xi...)
	g, gt, xt := make([]float64, n), make([]float64, n), make([]float64, n)
	if n == 0 {
		f.LogLik = f.choose - f.eval(g, x)
		return nil
	}
	f.Status = OutOfIterations
	h := f.hessian(x, 0.05)
	value := f.eval(g, x)
	for it := 0; it < 100; it++ {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("the model was not fitted: %w", err)
		}
		if it%12 == 11 {
			h = f.hessian(x, 0.05)
			value = f.eval(g, x)
		}
		step, gain := f.descend(h, g)
		if !(gain > outerTol) {
			f.Status = Converged
			break
		}
		most := 0.0 // no further at once than 20 standard errors, or 1 in a standard deviation
		for j := range step {
			reach := 20 * f.scale[j]
			if j >= p {
				reach = 1
			}
			most = max(most, math.Abs(step[j])/reach)
		}
		s := 1 / max(1, most)
		found := false
		for ; s > 1e-7; s /= 3 {
			ok := true
			for j := range xt {
				xt[j] = x[j] + s*step[j]
				ok = ok && (j < p || f.model.Prior.Spread == 0 || xt[j] > 0)
			}
			if !ok {
				continue
			}
			if v := f.eval(gt, xt); v <= value-1e-4*s*gain || (gain < 1e-7 && v <= value+1e-9*(1+math.Abs(value))) {
				found = true
				value = v
				break
			}
		}
		if !found {
			if it%12 != 11 { // with second derivatives from here, before giving up
				it = it/12*12 + 10
				continue
			}
			if gain < 1e-6 {
				f.Status = Converged
			}
			break
		}
		bfgs(h, x, xt, g, gt)
		copy(x, xt)
		copy(g, gt)
	}
	for k := range f.model.Terms {
		x[p+k] = math.Abs(x[p+k]) // the likelihood is the same on either side
	}
	h = f.hessian(x, 0.02)
	value = f.eval(g, x)
	f.settle(h, -value)
	return nil
}

// bfgs brings second derivatives up to date with a step, where the slope rose along it.
func bfgs(h *mat.SymDense, x, xt, g, gt []float64) {
	n := len(x)
	s, y, hs := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for j := range n {
		s.SetVec(j, xt[j]-x[j])
		y.SetVec(j, gt[j]-g[j])
	}
	sy := mat.Dot(s, y)
	hs.MulVec(h, s)
	shs := mat.Dot(s, hs)
	if sy <= 1e-10*math.Abs(shs) || shs <= 0 {
		return
	}
	h.SymRankOne(h, 1/sy, y)
	h.SymRankOne(h, -1/shs, hs)
}

// zeroSpread is the standard deviation under which a term counts as not there: odds differ by a tenth of a per cent.
const zeroSpread = 1e-3

// settle fills the results from the state at the maximum.
func (f *Mixed) settle(h *mat.SymDense, logPost float64) {
	n, p := len(f.xi), f.columns()
	none := make([]float64, n)
	f.LogLik = logPost + f.prior(none, f.xi) + f.choose
	f.Coef = append([]float64(nil), f.xi[:p]...)
	f.SD = append([]float64(nil), f.xi[p:]...)
	for k, t := range f.model.Terms {
		e := make([]float64, t.Levels)
		for l := range e {
			e[l] = f.SD[k] * f.b[f.off[k]+l]
		}
		f.Effects = append(f.Effects, e)
		if f.SD[k] < zeroSpread && f.Status == Converged {
			f.Status = AtBoundary
		}
	}
	f.SE, f.SDSE = make([]float64, p), make([]float64, n-p)
	f.cov = mat.NewSymDense(n, nil)
	// Inverse by eigenvalues in units of scale: a direction of no curvature is one that the counts do not tell.
	scaled := mat.NewSymDense(n, nil)
	unit := make([]float64, n)
	for i := range n {
		unit[i] = 1 / math.Sqrt(max(h.At(i, i), 1e-8/(f.scale[i]*f.scale[i])))
	}
	for i := range n {
		for j := range i + 1 {
			scaled.SetSym(i, j, h.At(i, j)*unit[i]*unit[j])
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(scaled, true) {
		f.Status = NotIdentified
		return
	}
	var vecs mat.Dense
	eig.VectorsTo(&vecs)
	const flat = 1e-7 // of the curvature of single figures
	for e, lambda := range eig.Values(nil) {
		if lambda < flat {
			f.Status = NotIdentified
			lambda = flat
		}
		for i := range n {
			for j := range i + 1 {
				f.cov.SetSym(i, j, f.cov.At(i, j)+vecs.At(i, e)*vecs.At(j, e)/lambda*unit[i]*unit[j])
			}
		}
	}
	for i := range n {
		se := math.Sqrt(f.cov.At(i, i))
		if i >= p {
			f.SDSE[i-p] = se
			continue
		}
		f.SE[i] = se
		most := 0.0
		for _, x := range f.model.X {
			most = max(most, math.Abs(x[i]))
		}
		// Odds of a million to one that may as well be a hundred times that: separation, or a column that is empty.
		if most == 0 || (math.Abs(f.Coef[i])*most > 12 && se*most > 5) {
			if len(f.model.Prior.Fixed) == 0 || f.model.Prior.Fixed[i] == 0 {
				f.Status = NotIdentified
			}
		}
	}
}
