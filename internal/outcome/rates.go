package outcome

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Count is K of N: so many eggs full of so many whose content is known.
type Count struct{ K, N int }

func (c Count) must() {
	if c.K < 0 || c.K > c.N {
		panic(fmt.Sprintf("outcome: a count of %d of %d", c.K, c.N))
	}
}

// Beta is a beta distribution of a share: what A+B eggs would say of which A came out well. Both are above 0.
type Beta struct{ A, B float64 }

// Mean is the share to be expected.
func (b Beta) Mean() float64 { return b.A / (b.A + b.B) }

// Weight is the number of eggs that the distribution is worth.
func (b Beta) Weight() float64 { return b.A + b.B }

// After is what is known once a count is in (conjugate to the binomial).
func (b Beta) After(c Count) Beta {
	c.must()
	return Beta{b.A + float64(c.K), b.B + float64(c.N-c.K)}
}

// Quantile is the share below which the true one lies with chance p, for 0 < p < 1.
func (b Beta) Quantile(p float64) float64 { return mathext.InvRegIncBeta(b.A, b.B, p) }

// Interval holds the middle share of the distribution that the level names.
func (b Beta) Interval(level float64) (lo, hi float64) {
	mustLevel(level)
	tail := (1 - level) / 2
	return b.Quantile(tail), b.Quantile(1 - tail)
}

// Rate is a rate drawn towards those of its kind.
type Rate struct {
	Count
	Value, Low, High float64
	// Own is the weight of the count itself in Value, from 0 (nothing was counted) to 1; the rest is its kind's.
	Own float64
}

// Shrink returns the rate behind a count given what is known beforehand: the posterior mean and the middle interval of
// the beta distribution. It takes the prior as known; see [Rates] where it comes from few counts.
func Shrink(prior Beta, c Count, level float64) Rate {
	post := prior.After(c)
	lo, hi := post.Interval(level)
	return Rate{Count: c, Value: post.Mean(), Low: lo, High: hi, Own: float64(c.N) / post.Weight()}
}

// Pool is the spread of rates among counts of one kind, as [FitBeta] finds it.
type Pool struct {
	Beta
	LogLik float64 // with the binomial coefficients
	Status Status
}

// mostWeight is the weight at which the rates of a pool count as one: a spread of a tenth of a per cent.
const mostWeight = 1e6

// FitBeta returns the beta distribution of rates under which the counts are likeliest (maximum marginal likelihood, the
// beta-binomial: Skellam 1948). Status is AtBoundary when the rates differ by no more than chance, and the weight stands
// at a million, or when all or none came out; NotIdentified when no count has more than one egg. The figures agree with
// reference values to 1e-6 of themselves.
func FitBeta(counts []Count) Pool {
	t := newTally(counts)
	switch {
	case t.n == 0:
		return Pool{Beta: Beta{0.5, 0.5}, Status: NotIdentified}
	case t.k == 0 || t.k == t.n:
		// Half an egg against, so that the distribution is one.
		m := (float64(t.k) + 0.5) / (float64(t.n) + 1)
		b := Beta{mostWeight * m, mostWeight * (1 - m)}
		return Pool{Beta: b, LogLik: t.logLik(b), Status: AtBoundary}
	case t.most < 2:
		m := float64(t.k) / float64(t.n)
		b := Beta{m, 1 - m}
		return Pool{Beta: b, LogLik: t.logLik(b), Status: NotIdentified}
	}
	m := float64(t.k) / float64(t.n)
	at := func(x, y float64) float64 { return t.logLik(betaAt(x, y)) }
	x, y := math.Log(m/(1-m)), math.Log(10.0) // weight of ten eggs: two clutches
	best := at(x, y)
	status := OutOfIterations
	for range 200 {
		g, h := t.slope(x, y)
		dx, dy := 0.0, 0.0
		if det := h[0]*h[2] - h[1]*h[1]; h[0] < 0 && h[2] < 0 && det > 1e-9*h[0]*h[2] {
			dx, dy = -(h[2]*g[0]-h[1]*g[1])/det, -(h[0]*g[1]-h[1]*g[0])/det
		} else {
			// The hill is hollow here: up the slope, at least half a step in the weight.
			dx, dy = g[0]/max(math.Abs(h[0]), 1), math.Copysign(0.5, g[1])
		}
		if most := max(math.Abs(dx), math.Abs(dy)); most > 2 { // no further than e² at once, in the same direction
			dx, dy = dx*2/most, dy*2/most
		}
		if math.Abs(dx)+math.Abs(dy) < 1e-9 {
			status = Converged
			break
		}
		moved := false
		for s := 1.0; s > 1e-10; s /= 2 {
			if f := at(x+s*dx, y+s*dy); f > best {
				x, y, best, moved = x+s*dx, y+s*dy, f, true
				break
			}
		}
		if !moved {
			status = Converged // no step gains: the last digit is reached
			break
		}
		if y > math.Log(mostWeight) {
			break
		}
	}
	if pooled := math.Log(m / (1 - m)); y > math.Log(mostWeight) || y > math.Log(mostWeight)/2 && at(pooled, math.Log(mostWeight)) >= best-1e-4 {
		// Beyond some thousands the slope is too flat to climb, and the rates count as one.
		x, y, status = pooled, math.Log(mostWeight), AtBoundary
	}
	b := betaAt(x, y)
	return Pool{Beta: b, LogLik: t.logLik(b), Status: status}
}

func clamp(v, lo, hi float64) float64 { return max(lo, min(hi, v)) }

// betaAt is the distribution with log odds x of its mean and log weight y.
func betaAt(x, y float64) Beta {
	s := math.Exp(y)
	return Beta{s / (1 + math.Exp(-x)), s / (1 + math.Exp(x))}
}

// tally holds what the likelihood needs of the counts.
type tally struct {
	k, n, most int
	// above[i] is the number of counts with more than i: the gamma functions of the likelihood come down to products
	// of a+i, and sums of their logarithms are taken over i instead of over counts.
	kAbove, missAbove, nAbove []int
	choose                    float64 // logarithm of the binomial coefficients
}

func newTally(counts []Count) *tally {
	t := &tally{}
	count := func(list *[]int, n int) {
		for len(*list) < n {
			*list = append(*list, 0)
		}
		for i := range n {
			(*list)[i]++
		}
	}
	for _, c := range counts {
		c.must()
		t.k, t.n, t.most = t.k+c.K, t.n+c.N, max(t.most, c.N)
		t.choose += logChoose(c)
		count(&t.kAbove, c.K)
		count(&t.missAbove, c.N-c.K)
		count(&t.nAbove, c.N)
	}
	return t
}

func logChoose(c Count) float64 {
	return logGamma(float64(c.N+1)) - logGamma(float64(c.K+1)) - logGamma(float64(c.N-c.K+1))
}

func logGamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

// logLik is the logarithm of the beta-binomial likelihood.
func (t *tally) logLik(b Beta) float64 {
	l := t.choose
	for i, c := range t.kAbove {
		l += float64(c) * math.Log(b.A+float64(i))
	}
	for i, c := range t.missAbove {
		l += float64(c) * math.Log(b.B+float64(i))
	}
	s := b.A + b.B
	for i, c := range t.nAbove {
		l -= float64(c) * math.Log(s+float64(i))
	}
	return l
}

// slope returns the gradient of the likelihood at betaAt(x, y), and its second derivatives xx, xy, yy.
func (t *tally) slope(x, y float64) (g [2]float64, h [3]float64) {
	b := betaAt(x, y)
	s := b.A + b.B
	var da, db, daa, dbb, ds, dss float64
	for i, c := range t.kAbove {
		v := 1 / (b.A + float64(i))
		da, daa = da+float64(c)*v, daa-float64(c)*v*v
	}
	for i, c := range t.missAbove {
		v := 1 / (b.B + float64(i))
		db, dbb = db+float64(c)*v, dbb-float64(c)*v*v
	}
	for i, c := range t.nAbove {
		v := 1 / (s + float64(i))
		ds, dss = ds-float64(c)*v, dss+float64(c)*v*v
	}
	// x moves weight q from B to A; y stretches both.
	m := b.Mean()
	q := s * m * (1 - m)
	g[0] = q * (da - db)
	g[1] = b.A*da + b.B*db + s*ds
	h[0] = q*q*(daa+dbb) + q*(1-2*m)*(da-db)
	h[1] = q*(b.A*daa-b.B*dbb) + q*(da-db)
	h[2] = b.A*b.A*daa + b.B*b.B*dbb + s*s*dss + g[1]
	return g, h
}

// Hyper is what is thought of a kind's rates before any count: of their mean, and of how alike eggs of one nest (or pair)
// are, which is 1/(1+weight) of the kind's beta distribution.
type Hyper struct{ Mean, Alike Beta }

// WeakHyper holds any mean for equally likely, and any likeness up to about two thirds for possible, small ones more so.
// Own choice: repeatability within captive zebra finches was 0.15 to 0.5 (Pei and others 2020, American Naturalist).
var WeakHyper = Hyper{Mean: Beta{1, 1}, Alike: Beta{1, 3}}

// node is one of the distributions that a kind's rates may have, with its chance.
type node struct {
	Beta
	weight float64
}

// Kind is what the counts of one kind say together.
type Kind struct {
	Rates []Rate // as the counts
	// Mean and the interval are of the kind's mean rate: what to expect of a nest of which nothing is known, but for
	// its own luck.
	Mean, Low, High float64
	// Alike is the likeness to be expected of eggs of one count, 0 to 1.
	Alike float64

	nodes []node
}

// gridSide is the number of points along either figure of the hyperprior. Sums over an even grid of a smooth hill that
// dies away at the edges converge faster than any power of the step: 21 agrees with 241 to 0.002

const gridSide = 21

// Rates returns all rates of a kind, each drawn towards the kind's mean by as much as the counts of all say they are
// alike (the hierarchical beta-binomial model of Gelman and others, Bayesian Data Analysis, section 5.3). Doubt about the
// kind itself is in every interval, which is what a fit such as [FitBeta] leaves out. Time is some milliseconds for a
// kind of a hundred different counts.
func Rates(counts []Count, hyper Hyper, level float64) Kind {
	mustLevel(level)
	k := Kind{nodes: hyperPosterior(newTally(counts), hyper)}
	known := map[Count]Rate{}
	for _, c := range counts {
		r, ok := known[c]
		if !ok {
			r = k.rate(c, level)
			known[c] = r
		}
		k.Rates = append(k.Rates, r)
	}
	m2 := 0.0
	for _, n := range k.nodes {
		m := n.Mean()
		k.Mean += n.weight * m
		m2 += n.weight * m * m
		k.Alike += n.weight / (1 + n.Weight())
	}
	tail := (1 - level) / 2
	k.Low, k.High = betaQuantile(k.Mean, m2, tail), betaQuantile(k.Mean, m2, 1-tail)
	return k
}

// Rate returns the rate behind another count of the kind, which was not among those that the kind was made from. A count
// of 0 of 0 gives what a new nest may be like.
func (k Kind) Rate(c Count, level float64) Rate {
	c.must()
	mustLevel(level)
	return k.rate(c, level)
}

func (k Kind) rate(c Count, level float64) Rate {
	out := Rate{Count: c}
	m2 := 0.0
	for _, n := range k.nodes {
		b := n.After(c)
		m, s := b.Mean(), b.Weight()
		out.Value += n.weight * m
		m2 += n.weight * m * (b.A + 1) / (s + 1)
		out.Own += n.weight * float64(c.N) / s
	}
	tail := (1 - level) / 2
	out.Low, out.High = k.quantile(c, out.Value, m2, tail), k.quantile(c, out.Value, m2, 1-tail)
	return out
}

// quantile is where the mixture of beta distributions after a count reaches p, to 1e-7. m and m2 are its moments, for a
// first guess.
func (k Kind) quantile(c Count, m, m2, p float64) float64 {
	below := func(x float64) float64 {
		s := 0.0
		for _, n := range k.nodes {
			b := n.After(c)
			s += n.weight * mathext.RegIncBeta(b.A, b.B, x)
		}
		return s - p
	}
	// The rule of false position with halved ends ("Illinois", Dowell and Jarratt 1971), from around the guess.
	guess := clamp(betaQuantile(m, m2, p), 1e-12, 1-1e-12)
	lo, hi, flo, fhi := 0.0, 1.0, -p, 1-p
	for _, x := range []float64{guess * 0.95, 1 - (1-guess)*0.95} {
		if x <= lo || x >= hi {
			continue
		}
		if f := below(x); f < 0 {
			lo, flo = x, f
		} else {
			hi, fhi = x, f
		}
	}
	side := 0
	for i := 0; i < 200 && hi-lo > 1e-7*min(hi, 1-lo); i++ {
		x := hi - fhi*(hi-lo)/(fhi-flo)
		if i%8 == 7 || !(x > lo && x < hi) {
			x = (lo + hi) / 2
		}
		f := below(x)
		switch {
		case math.Abs(f) < 1e-7:
			return x
		case f < 0:
			if side < 0 {
				fhi /= 2
			}
			lo, flo, side = x, f, -1
		default:
			if side > 0 {
				flo /= 2
			}
			hi, fhi, side = x, f, 1
		}
	}
	return (lo + hi) / 2
}

// hyperPosterior lays an even grid over the hill of the hyperposterior, in log odds of the mean and log weight, and
// returns the points that matter.
func hyperPosterior(t *tally, hyper Hyper) []node {
	logAt := func(x, y float64) float64 {
		logM, logNotM := -math.Log1p(math.Exp(-x)), -math.Log1p(math.Exp(x))
		// Likeness is 1/(1+weight): its log odds are −y.
		logR, logNotR := -math.Log1p(math.Exp(y)), -math.Log1p(math.Exp(-y))
		// A beta density times the derivative of the log odds raises each exponent by 1.
		return t.logLik(betaAt(x, y)) + hyper.Mean.A*logM + hyper.Mean.B*logNotM + hyper.Alike.A*logR + hyper.Alike.B*logNotR
	}
	// drop is how far below the top the grid reaches: e⁻¹² of the density is left out.
	const drop = 12
	x0, x1, y0, y1 := -14.0, 14.0, -8.0, 16.0 // shares of one in a million, weights from 0.0003 to 9 million
	var logs [gridSide][gridSide]float64
	var sx, sy, top float64
	for range 12 {
		sx, sy, top = (x1-x0)/(gridSide-1), (y1-y0)/(gridSide-1), math.Inf(-1)
		for i := range logs {
			for j := range logs[i] {
				logs[i][j] = logAt(x0+sx*float64(i), y0+sy*float64(j))
				top = max(top, logs[i][j])
			}
		}
		i0, i1, j0, j1 := gridSide, -1, gridSide, -1
		for i := range logs {
			for j := range logs[i] {
				if logs[i][j] > top-drop {
					i0, i1, j0, j1 = min(i0, i), max(i1, i), min(j0, j), max(j1, j)
				}
			}
		}
		if i1-i0 > gridSide*6/10 && j1-j0 > gridSide*6/10 {
			break
		}
		x0, x1 = x0+sx*float64(max(i0-1, 0)), x0+sx*float64(min(i1+1, gridSide-1))
		y0, y1 = y0+sy*float64(max(j0-1, 0)), y0+sy*float64(min(j1+1, gridSide-1))
	}
	var out []node
	total := 0.0
	for i := range logs {
		for j := range logs[i] {
			if w := math.Exp(logs[i][j] - top); w > 1e-4 {
				out = append(out, node{betaAt(x0+sx*float64(i), y0+sy*float64(j)), w})
				total += w
			}
		}
	}
	for i := range out {
		out[i].weight /= total
	}
	return out
}
