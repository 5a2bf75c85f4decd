package outcome

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Nest is a nest in a comparison of two seasons.
type Nest struct {
	Tally
	Later  bool  // of the season that is asked about; otherwise of the one that it is set against
	Levels []int // by factor: first-time pair or not, species, month, and so on
	Set    int   // nests that share a bird have one set: see [Linked]
}

// Shrinkage says how much a cell with few nests leans on the same cell of both seasons, and that on all cells: by as many
// nests for the size of a clutch and eggs (or young) for the other ratios. Nests of Empty keep a cell that only one season
// has from being quite empty in the other.
type Shrinkage struct{ Nests, Eggs, Empty float64 }

// WeakShrinkage is two nests, eight eggs (two clutches), half a nest: own choice, stated with the answer.
var WeakShrinkage = Shrinkage{Nests: 2, Eggs: 8, Empty: 0.5}

// Part is a part of a difference with its interval.
type Part struct{ Effect, Low, High float64 }

// Shortfall is a difference in young a nest between two seasons, in parts.
//
// Stages are those of the chain. Of what changed at a stage, a part comes with each factor (there are more nests of a kind
// that does less well), and the rest is Within: nests of one and the same kind did otherwise. A change that every pair got
// at once, such as another food, is there and nowhere else.
type Shortfall struct {
	Before, After Part // young a nest
	Difference    Part
	Stages        []Part   // they add up to Difference
	Factors       [][]Part // by stage and factor; with Within[stage] they add up to Stages[stage]
	Within        []Part   // by stage
	ByFactor      []Part   // over all stages; with Unexplained they add up to Difference
	Unexplained   Part
	// Nests of either season; kinds of nests; sets of linked nests, and how many nests the largest has. With few sets, or one that
	// has most of the nests, the intervals are too narrow.
	Nests       [2]int
	Cells       int
	Sets        int
	LargestSet  int
	Draws       int
	FewSets     bool
	parts       [][]float64 // of the estimate and each draw, as in table, for tests of closure
	stages, fac int
	wide        float64
}

// fewSets is the number of linked sets under which resampling is known to give intervals that are too narrow. (Cameron,
// Gelbach and Miller 2008 put trouble below some 20 to 30 clusters, and 10 as severe; from memory.)
const fewSets = 10

// Explain divides the difference in young a nest between two seasons into stages and, within each, into what comes with the
// composition of the nests and what does not.
//
// A stage's share of the difference is its change of ratio times the mean product of the other ratios (Das Gupta
// 1993), so that the chain equals the mean over nests. Its ratio depends on the composition and on the rates within cells;
// the composition is divided among the factors by Das Gupta's product form, in which a cell's share of nests is a product of
// one term for each factor: the geometric mean, over all orders, of the share given the factors before. Composition factors
// and rates then change in all orders. With one factor and one ratio this is Kitagawa's (1955) division.
//
// Rates within cells are shrunk, and then moved together, on the scale of their log odds, until they give the season's
// own ratios. Nests under way are completed at expected values for the estimate and by draws for the intervals, which are the
// middle of draws in which linked sets are weighted anew (Bayesian bootstrap, Rubin 1981), stretched about the estimate for
// cells of few sets. In each draw all parts add up.
//
// There may be up to 7 factors. The error says that a season has no nests, or is the context's.
func Explain(ctx context.Context, nests []Nest, stages, factors int, shrink Shrinkage, level float64, draws int, rng *rand.Rand) (*Shortfall, error) {
	mustLevel(level)
	if stages < 1 || stages > MostFactors || factors < 0 || factors >= MostFactors || draws < 1 {
		panic(fmt.Sprintf("outcome: %d stages, %d factors and %d draws", stages, factors, draws))
	}
	e := newExplainer(nests, stages, factors, shrink)
	out := &Shortfall{Nests: e.count, Cells: len(e.cells), Draws: draws, stages: stages, fac: factors}
	switch {
	case e.count[0] == 0:
		return nil, errors.New("the earlier season has no nests to compare with; choose a season that has some")
	case e.count[1] == 0:
		return nil, errors.New("the later season has no nests yet; wait for the first clutch, or choose another season")
	}
	sizes := map[int]int{}
	for _, n := range nests {
		sizes[n.Set]++
		out.LargestSet = max(out.LargestSet, sizes[n.Set])
	}
	out.Sets = len(sizes)
	out.FewSets = out.Sets < fewSets || out.LargestSet*2 > len(nests)
	out.wide = e.wide()
	ones := make([]float64, len(nests))
	for i := range ones {
		ones[i] = 1
	}
	out.parts = append(out.parts, e.table(e.complete(nil), ones))
	number := map[int]int{}
	for _, n := range nests {
		if _, ok := number[n.Set]; !ok {
			number[n.Set] = len(number)
		}
	}
	weights := make([]float64, len(nests))
	for range draws {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("the comparison was not finished: %w", err)
		}
		w := resampled(rng, len(number))
		for i, n := range nests {
			weights[i] = w[number[n.Set]]
		}
		out.parts = append(out.parts, e.table(e.complete(rng), weights))
	}
	out.fill(level)
	return out, nil
}

// fill sets the parts from the table of the estimate and those of the draws.
func (s *Shortfall) fill(level float64) {
	column := make([]float64, s.Draws)
	at := 0
	next := func() Part {
		for d := range column {
			column[d] = s.parts[d+1][at]
		}
		slices.Sort(column)
		v := s.parts[0][at]
		p := Part{v, v + s.wide*(percentile(column, (1-level)/2)-v), v + s.wide*(percentile(column, (1+level)/2)-v)}
		at++
		return p
	}
	list := func(n int) (out []Part) {
		for range n {
			out = append(out, next())
		}
		return out
	}
	s.Before, s.After, s.Difference = next(), next(), next()
	s.Before.Low, s.After.Low = max(0, s.Before.Low), max(0, s.After.Low)
	s.Stages = list(s.stages)
	for range s.stages {
		s.Factors = append(s.Factors, list(s.fac))
		s.Within = append(s.Within, next())
	}
	s.ByFactor = list(s.fac)
	s.Unexplained = next()
}

type explainer struct {
	nests           []Nest
	stages, factors int
	shrink          Shrinkage
	count           [2]int
	cells           [][]int
	cellOf          []int   // by nest
	groups          [][]int // by set of factors, by cell: number among those that agree on the set
	bySeason        [2][]Tally
	place           []int // by nest: place in its season's list
}

func season(later bool) int {
	if later {
		return 1
	}
	return 0
}

func newExplainer(nests []Nest, stages, factors int, shrink Shrinkage) *explainer {
	e := &explainer{nests: nests, stages: stages, factors: factors, shrink: shrink}
	known := map[string]int{}
	for i, n := range nests {
		if len(n.Levels) != factors {
			panic(fmt.Sprintf("outcome: nest %d has levels of %d factors, not %d", i, len(n.Levels), factors))
		}
		key := fmt.Sprint(n.Levels)
		c, ok := known[key]
		if !ok {
			c = len(e.cells)
			known[key] = c
			e.cells = append(e.cells, n.Levels)
		}
		e.cellOf = append(e.cellOf, c)
		s := season(n.Later)
		e.place = append(e.place, e.count[s])
		e.count[s]++
		e.bySeason[s] = append(e.bySeason[s], n.Tally)
	}
	for set := range 1 << factors {
		known := map[string]int{}
		of := make([]int, len(e.cells))
		for c, levels := range e.cells {
			var some []int
			for k, l := range levels {
				if set>>k&1 == 1 {
					some = append(some, l)
				}
			}
			key := fmt.Sprint(some)
			g, ok := known[key]
			if !ok {
				g = len(known)
				known[key] = g
			}
			of[c] = g
		}
		e.groups = append(e.groups, of)
	}
	return e
}

// wide is by how much intervals are stretched: the root mean square over nests of what the number of sets in each one's cell and
// season calls for, since it is there that rates are found. Without it 9 in 10 held 0.84 of the time over rooms of 60
// sets and 6 cells.
func (e *explainer) wide() float64 {
	sets := map[[2]int]map[int]bool{}
	key := func(i int) [2]int { return [2]int{season(e.nests[i].Later), e.cellOf[i]} }
	for i, n := range e.nests {
		if sets[key(i)] == nil {
			sets[key(i)] = map[int]bool{}
		}
		sets[key(i)][n.Set] = true
	}
	var sum [2]float64
	for i := range e.nests {
		w := stretch(len(sets[key(i)]))
		sum[key(i)[0]] += w * w / float64(e.count[key(i)[0]])
	}
	return math.Sqrt((sum[0] + sum[1]) / 2)
}

// complete returns, by nest, how many reach each stage.
func (e *explainer) complete(rng *rand.Rand) [][]float64 {
	var whole [2][][]float64
	for s, nests := range e.bySeason {
		whole[s] = NewCompleter(nests, e.stages, rng).Complete(nests)
	}
	out := make([][]float64, len(e.nests))
	for i, n := range e.nests {
		out[i] = whole[season(n.Later)][e.place[i]]
	}
	return out
}

// side is one season: the terms of its composition by factor and cell, and its ratios by stage and cell.
type side struct {
	comp  [][]float64
	rate  [][]float64
	chain []float64 // the season's own ratios
}

// table returns the parts of one draw: before, after, difference; stages; factors and rest by stage; factors and rest over all.
func (e *explainer) table(reached [][]float64, weights []float64) []float64 {
	sides := e.sides(reached, weights)
	before, after := 1.0, 1.0
	for j := range e.stages {
		before *= sides[0].chain[j]
		after *= sides[1].chain[j]
	}
	lever := chainWeights(sides[0].chain, sides[1].chain)
	byStage := ChainEffects(sides[0].chain, sides[1].chain)
	// The ratio of each stage for each set of what has changed: composition factors, then the rates.
	n := e.factors + 1
	ratios := make([][]float64, e.stages)
	for j := range ratios {
		ratios[j] = make([]float64, 1<<n)
	}
	flow := make([]float64, len(e.cells))
	for set := range uint(1) << n {
		copy(flow, e.mix(sides, set))
		rates := sides[set>>e.factors].rate
		was := 1.0
		for j := range e.stages {
			is := 0.0
			for c := range flow {
				flow[c] *= rates[j][c]
				is += flow[c]
			}
			if was > 0 {
				ratios[j][set] = is / was
			}
			was = is
		}
	}
	out := append([]float64{before, after, after - before}, byStage...)
	total := make([]float64, n)
	for j := range e.stages {
		parts := effectsOf(n, ratios[j])
		for k := range parts {
			parts[k] *= lever[j]
		}
		settleSum(parts, byStage[j])
		for k := range parts {
			total[k] += parts[k]
		}
		out = append(out, parts...)
	}
	settleSum(total, after-before)
	return append(out, total...)
}

// mix returns the shares of nests by cell when the composition factors of a set are those of the later season.
func (e *explainer) mix(sides [2]side, set uint) []float64 {
	out := make([]float64, len(e.cells))
	sum := 0.0
	for c := range out {
		v := 1.0
		for k := range e.factors {
			v *= sides[set>>k&1].comp[k][c]
		}
		out[c] = v
		sum += v
	}
	for c := range out { // of a mixture of seasons the product is near 1, and not 1
		out[c] /= sum
	}
	return out
}

// sides works out both seasons.
func (e *explainer) sides(reached [][]float64, weights []float64) (out [2]side) {
	cells := len(e.cells)
	var nests [2][]float64
	var flow [2][][]float64 // by season, stage, cell
	var all [2]float64
	for s := range nests {
		nests[s] = make([]float64, cells)
		for range e.stages {
			flow[s] = append(flow[s], make([]float64, cells))
		}
	}
	for i, n := range e.nests {
		s, c := season(n.Later), e.cellOf[i]
		nests[s][c] += weights[i]
		all[s] += weights[i]
		for j, r := range reached[i] {
			flow[s][j][c] += weights[i] * r
		}
	}
	empty := max(e.shrink.Empty, 1e-12) // products of terms stand for cells that are there, however small
	for s := range out {
		share := make([]float64, cells)
		for c := range share {
			both := (nests[0][c]/all[0] + nests[1][c]/all[1]) / 2
			share[c] = (nests[s][c] + empty*both) / (all[s] + empty)
		}
		out[s].comp = e.terms(share)
		at := slices.Clone(share) // what has come through so far, by cell
		for j := range e.stages {
			num, den := flow[s][j], nests[s]
			bothNum, bothDen := [2][]float64{flow[0][j], flow[1][j]}, nests
			weight := e.shrink.Nests
			if j > 0 {
				den, bothDen, weight = flow[s][j-1], [2][]float64{flow[0][j-1], flow[1][j-1]}, e.shrink.Eggs
			}
			grand := ratio(total(bothNum[0])+total(bothNum[1]), total(bothDen[0])+total(bothDen[1]), 0)
			own := ratio(total(num), total(den), grand)
			rate := make([]float64, cells)
			for c := range rate {
				kind := ratio(bothNum[0][c]+bothNum[1][c]+weight*grand, bothDen[0][c]+bothDen[1][c]+weight, grand)
				rate[c] = ratio(num[c]+weight*kind, den[c]+weight, kind)
			}
			calibrate(rate, at, own, j > 0)
			for c := range at {
				at[c] *= rate[c]
			}
			out[s].rate = append(out[s].rate, rate)
			out[s].chain = append(out[s].chain, own)
		}
	}
	return out
}

func total(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s
}

// ratio returns a/b, or another value when b is 0.
func ratio(a, b, otherwise float64) float64 {
	if b <= 0 {
		return otherwise
	}
	return a / b
}

// calibrate moves rates together until their mean with the weights is own: by a factor, or, for shares, by one amount on the
// scale of log odds.
func calibrate(rates, weights []float64, own float64, shares bool) {
	sum := total(weights)
	mean := func(d float64) float64 {
		s := 0.0
		for c, r := range rates {
			s += weights[c] * moved(r, d)
		}
		return s / sum
	}
	if sum <= 0 {
		return
	}
	now := mean(0)
	if !shares {
		if now > 0 {
			for c := range rates {
				rates[c] *= own / now
			}
		}
		return
	}
	if math.Abs(now-own) < 1e-14 {
		return
	}
	if own <= 0 || own >= 1 {
		for c := range rates {
			rates[c] = own
		}
		return
	}
	lo, hi := -60.0, 60.0
	for range 200 {
		d := (lo + hi) / 2
		if d == lo || d == hi {
			break
		}
		if mean(d) < own {
			lo = d
		} else {
			hi = d
		}
	}
	for c, r := range rates {
		rates[c] = moved(r, (lo+hi)/2)
	}
}

// moved returns a share whose log odds are moved by d. Shares of 0 and 1 stay.
func moved(r, d float64) float64 {
	e := math.Exp(d)
	return r * e / (1 - r + r*e)
}

// terms returns, by factor and cell, the terms whose product is the cell's share (Das Gupta 1993, chapter 6, for crossed
// factors): the geometric mean over orders of the share of the factor's level among those that agree on the factors before.
func (e *explainer) terms(share []float64) [][]float64 {
	logs := make([][]float64, len(e.groups))
	for set, of := range e.groups {
		sums := make([]float64, len(share))
		for c, g := range of {
			sums[g] += share[c]
		}
		logs[set] = make([]float64, len(share))
		for c, g := range of {
			logs[set][c] = math.Log(sums[g])
		}
	}
	out := make([][]float64, e.factors)
	if e.factors == 0 {
		return out
	}
	for k := range out {
		out[k] = make([]float64, len(share))
	}
	rates := make([]float64, len(logs))
	for c := range share {
		for set := range rates {
			rates[set] = logs[set][c]
		}
		for k, v := range effectsOf(e.factors, rates) {
			out[k][c] = math.Exp(v)
		}
	}
	return out
}
