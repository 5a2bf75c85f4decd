package outcome

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Tally is one nest's count through the stages: Reached[0] eggs laid, Reached[1] of them full, Reached[2] of those
// hatched, and so on; no count is greater than the one before it. Pending[j] of those that reached stage j−1 have their
// fate at stage j still before them (not candled yet, not due yet); it may be nil when nothing is pending. What is neither
// reached nor pending was lost at that stage. Open says that the clutch is still being laid.
type Tally struct {
	Reached, Pending []int
	Open             bool
}

func (t Tally) pending(j int) int {
	if t.Pending == nil {
		return 0
	}
	return t.Pending[j]
}

func mustTallies(nests []Tally, stages int) {
	for i, t := range nests {
		if len(t.Reached) != stages || (t.Pending != nil && len(t.Pending) != stages) {
			panic(fmt.Sprintf("outcome: nest %d has %d stages, not %d", i, len(t.Reached), stages))
		}
		for j, r := range t.Reached {
			if r < 0 || (j > 0 && (t.pending(j) < 0 || r+t.pending(j) > t.Reached[j-1])) {
				panic(fmt.Sprintf("outcome: nest %d has %d at stage %d, %d pending, after %v", i, r, j, t.pending(j), t.Reached[:j]))
			}
		}
	}
}

// Chain is what becomes of a nest's eggs, stage by stage.
type Chain struct {
	// Size is the mean number laid in a nest. Clutches that are still being laid count for the eggs that they have: the
	// product-limit estimate of the number laid, with a clutch under way as an end of watching (Kaplan and Meier 1958).
	Size float64
	// Stages[j] counts those that came through stage j of those whose fate at it is known, over all nests; Stages[0] is
	// the number laid of the number laid.
	Stages []Count
	// Mean[j] is how many of a nest come through stage j: Size times the ratios up to it. When nothing is pending it is
	// the plain mean over nests, since the ratios are of totals. Known is false from the first stage on that nobody has
	// reached, where Mean is 0.
	Mean  []float64
	Known []bool
	Nests int
}

// Stages returns the chain of some nests through a number of stages. What is pending counts for the stages that it has
// passed, and not for the one that is before it: to that end its wait must say nothing of its fate.
//
// It panics on tallies of another length, or that grow from one stage to the next.
func Stages(nests []Tally, stages int) Chain {
	mustTallies(nests, stages)
	c := Chain{Stages: make([]Count, stages), Mean: make([]float64, stages), Known: make([]bool, stages), Nests: len(nests)}
	for _, t := range nests {
		for j, r := range t.Reached {
			c.Stages[j].K += r
			if j == 0 {
				c.Stages[j].N += r
			} else {
				c.Stages[j].N += t.Reached[j-1] - t.pending(j)
			}
		}
	}
	for _, s := range moreEggs(nests) {
		c.Size += s
	}
	at, known := c.Size, len(nests) > 0
	for j, s := range c.Stages {
		if j > 0 {
			known = known && s.N > 0
			if known {
				at *= float64(s.K) / float64(s.N)
			}
		}
		if known {
			c.Mean[j], c.Known[j] = at, true
		}
	}
	return c
}

// moreEggs returns, by n, the share of clutches that come to more than n eggs (product limit). A clutch under way which
// is larger than all that are finished counts as finished.
func moreEggs(nests []Tally) []float64 {
	var out []float64
	s := 1.0
	for _, stop := range stopsAt(nests) {
		if done, atRisk := stop[0], stop[1]; atRisk > 0 {
			s *= 1 - done/atRisk
		}
		out = append(out, s)
	}
	if len(out) > 0 {
		out[len(out)-1] = 0
	}
	return out
}

// stopsAt returns, by n, how many clutches were finished with n eggs, and of how many it is known whether they were.
func stopsAt(nests []Tally) [][2]float64 {
	var out [][2]float64
	for _, t := range nests {
		for len(out) <= t.Reached[0] {
			out = append(out, [2]float64{})
		}
		for n := range t.Reached[0] {
			out[n][1]++
		}
		if !t.Open {
			out[t.Reached[0]][0]++
			out[t.Reached[0]][1]++
		}
	}
	return out
}

// Completer finishes nests that are under way.
type Completer struct {
	stop  []Beta // by n: that a clutch of n eggs is finished
	pass  []Beta // by stage
	whole bool   // rates are drawn, and fates; otherwise both are means
	rng   *rand.Rand
}

// stopPrior is what is thought of a clutch's end before any is seen: worth one clutch, as likely as not at any size.
var stopPrior = Beta{0.5, 0.5}

// stagePrior is the same for an egg at a stage.
var stagePrior = Beta{0.5, 0.5}

// NewCompleter learns from nests, of one season or of the kind, how those that are under way may end. With rng each
// call of Complete draws the rates that the counts leave possible, and then each fate; with nil all are expected values.
func NewCompleter(nests []Tally, stages int, rng *rand.Rand) *Completer {
	c := &Completer{whole: rng != nil, rng: rng}
	for _, s := range stopsAt(nests) {
		c.stop = append(c.stop, Beta{stopPrior.A + s[0], stopPrior.B + s[1] - s[0]})
	}
	for _, s := range Stages(nests, stages).Stages {
		c.pass = append(c.pass, stagePrior.After(s))
	}
	return c
}

// mostMore is how many eggs a clutch under way is given at the most: no finch lays more in one go (common practice, no
// source).
const mostMore = 8

// Complete returns, for each nest, how many reach each stage in the end. A nest with nothing pending is as it was.
func (c *Completer) Complete(nests []Tally) [][]float64 {
	mustTallies(nests, len(c.pass))
	stop, pass := c.rates(c.stop), c.rates(c.pass)
	out := make([][]float64, len(nests))
	for i, t := range nests {
		row := make([]float64, len(c.pass))
		more := 0.0 // those that came to the stage before from what was pending
		for j, r := range t.Reached {
			row[j] = float64(r)
			if j == 0 {
				if t.Open {
					more = c.eggs(stop, r)
				}
				row[j] += more
				continue
			}
			more = c.share(float64(t.pending(j))+more, pass[j])
			row[j] += more
		}
		out[i] = row
	}
	return out
}

func (c *Completer) rates(of []Beta) []float64 {
	out := make([]float64, len(of))
	for i, b := range of {
		out[i] = b.Mean()
		if c.whole {
			out[i] = betaDraw(c.rng, b)
		}
	}
	return out
}

// eggs is how many more come to a clutch of n.
func (c *Completer) eggs(stop []float64, n int) float64 {
	more, still := 0.0, 1.0
	for m := n; m < n+mostMore && m < len(stop); m++ {
		if c.whole {
			if c.rng.Float64() < stop[m] {
				return more
			}
			more++
			continue
		}
		still *= 1 - stop[m]
		more += still
	}
	return more
}

func (c *Completer) share(n, p float64) float64 {
	if !c.whole {
		return n * p
	}
	return float64(binomialDraw(c.rng, int(n), p))
}

// betaDraw draws a share.
func betaDraw(rng *rand.Rand, b Beta) float64 {
	return distuv.Beta{Alpha: b.A, Beta: b.B, Src: rng}.Rand()
}

// binomialDraw draws how many of n come out, egg by egg: n is a clutch.
func binomialDraw(rng *rand.Rand, n int, p float64) int {
	k := 0
	for range n {
		if rng.Float64() < p {
			k++
		}
	}
	return k
}

// Linked joins rows that share a level of any grouping, such as nests of one cock or of one hen, and returns the number
// of each row's set, from 0 in order of first rows. A level below 0 is unknown and joins nothing. Rows that share a bird
// tell of the same bird, so that resampling takes or leaves them together.
func Linked(rows int, groupings ...[]int) (of []int, sets int) {
	parent := make([]int, rows)
	for i := range parent {
		parent[i] = i
	}
	find := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	for _, g := range groupings {
		if len(g) != rows {
			panic(fmt.Sprintf("outcome: a grouping of %d for %d rows", len(g), rows))
		}
		first := map[int]int{}
		for i, level := range g {
			if level < 0 {
				continue
			}
			if f, ok := first[level]; ok {
				a, b := find(f), find(i)
				parent[max(a, b)] = min(a, b)
			} else {
				first[level] = i
			}
		}
	}
	of = make([]int, rows)
	number := map[int]int{}
	for i := range of {
		r := find(i)
		n, ok := number[r]
		if !ok {
			n = len(number)
			number[r] = n
		}
		of[i] = n
	}
	return of, len(number)
}

// resampled draws a weight for each set, with mean 1: the Bayesian bootstrap (Rubin 1981), in which no set is ever quite
// left out, so that no season and no cell becomes empty by the draw.
func resampled(rng *rand.Rand, sets int) []float64 {
	out := make([]float64, sets)
	sum := 0.0
	for i := range out {
		out[i] = rng.ExpFloat64()
		sum += out[i]
	}
	for i := range out {
		out[i] *= float64(sets) / sum
	}
	return out
}

// stretch is by how much an interval of the Bayesian bootstrap must be stretched: over n sets the variance of a mean comes out
// at (n−1)/(n+1) of what it is, as the weights are Dirichlet and the scatter is taken about the sets' own mean.
func stretch(sets int) float64 {
	n := float64(max(sets, 2))
	return math.Sqrt((n + 1) / (n - 1))
}

// percentile returns the p-quantile of sorted values, between neighbours in proportion.
func percentile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	i := int(math.Floor(at))
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// ChainRange is a chain with its doubt.
type ChainRange struct {
	Chain
	Ratios, Means []Part // by stage, of the ratio and of how many of a nest come through; where the chain knows nothing, 0 to 0
	Sets          int
	FewSets       bool // the intervals are too narrow: see [Shortfall]
}

// StagesRange returns the chain of some nests with intervals for ratios of totals, of which a count by eggs would be too
// sure: eggs of one nest, and nests of linked birds, share their luck. set gives each nest's number among sets, as
// [Linked] does. Sets are weighted anew in each draw (Bayesian bootstrap, Rubin 1981), and what is pending is completed by
// draws. For one pair, or few, [Rates] is the better answer.
func StagesRange(nests []Tally, set []int, sets, stages int, level float64, draws int, rng *rand.Rand) ChainRange {
	mustLevel(level)
	if len(set) != len(nests) || draws < 1 {
		panic(fmt.Sprintf("outcome: %d sets for %d nests, %d draws", len(set), len(nests), draws))
	}
	out := ChainRange{Chain: Stages(nests, stages), Sets: sets, FewSets: sets < fewSets}
	ratios, means := make([][]float64, stages), make([][]float64, stages)
	completer := NewCompleter(nests, stages, rng)
	for range draws {
		whole := completer.Complete(nests)
		w := resampled(rng, sets)
		sum := make([]float64, stages)
		all := 0.0
		for i := range nests {
			all += w[set[i]]
			for j, r := range whole[i] {
				sum[j] += w[set[i]] * r
			}
		}
		for j, s := range sum {
			before := all
			if j > 0 {
				before = sum[j-1]
			}
			ratios[j], means[j] = append(ratios[j], ratio(s, before, 0)), append(means[j], ratio(s, all, 0))
		}
	}
	for j := range stages {
		r, m := Part{}, Part{}
		if out.Known[j] {
			m.Effect = out.Mean[j]
			if r.Effect = out.Size; j > 0 {
				r.Effect = ratio(float64(out.Stages[j].K), float64(out.Stages[j].N), 0)
			}
			for _, x := range []struct {
				p *Part
				v []float64
			}{{&r, ratios[j]}, {&m, means[j]}} {
				slices.Sort(x.v)
				wide := stretch(sets)
				x.p.Low = max(0, x.p.Effect+wide*(percentile(x.v, (1-level)/2)-x.p.Effect))
				x.p.High = x.p.Effect + wide*(percentile(x.v, (1+level)/2)-x.p.Effect)
				if x.p == &r && j > 0 { // a share
					x.p.High = min(1, x.p.High)
				}
			}
		}
		out.Ratios, out.Means = append(out.Ratios, r), append(out.Means, m)
	}
	return out
}
