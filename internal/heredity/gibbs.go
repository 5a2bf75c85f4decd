package heredity

import (
	"math"
	"math/rand/v2"
	"slices"
)

const (
	chains        = 8
	blockings     = 12    // ways of choosing what is held while the rest is drawn
	blockCells    = 20000 // largest table of a block: a block is drawn in a few milliseconds
	batches       = 10    // of each chain, for the Monte Carlo error
	defaultSweeps = 200   // of each chain
	burn          = 0.1   // share of sweeps before counting begins
	startTries    = 2_000 // sweeps spent on finding a start
)

// gibbs estimates the marginals of a component by blocked Gibbs sampling. In each sweep
// some variables are held, so few that what is left has small tables, and all the others
// are drawn at once; which are held changes from sweep to sweep. The exact marginals of a
// block, given what is held, are averaged, which is steadier than counting what was drawn.
// The error is that of the means of batches or that of the means of chains, whichever is
// the larger: chains that linger in different places disagree more than their batches show.
func (s *solver) gibbs(comp []int32, cells float64) error {
	if s.o.Rand == nil {
		return &TooWideError{cells}
	}
	rng := s.o.Rand
	n := s.n
	s.exact = false
	limit := math.Log(math.Min(blockCells, s.o.maxCells()))
	value := make([]int32, len(n.dom))
	var runs []*run
	free := make([]int, len(n.dom)) // in how many blockings a variable is drawn
	for try := 0; len(runs) < blockings || slices.ContainsFunc(comp, func(v int32) bool { return free[v] < blockings/4 }); try++ {
		if try > 10*blockings {
			break
		}
		t := n.plan(comp, false, limit, rng, free)
		for _, v := range t.order {
			free[v]++
		}
		runs = append(runs, newRun(n, t))
	}
	for i := range comp {
		// A variable too wide for any block is drawn alone.
		if free[comp[i]] == 0 {
			runs = append(runs, newRun(n, n.alone(comp, comp[i])))
		}
	}
	for _, r := range runs {
		r.value = value
	}
	sweeps := s.o.Sweeps
	if sweeps == 0 {
		sweeps = defaultSweeps
	}
	sums := make([][]float64, len(n.dom)) // of the present batch
	counts := make([]int, len(n.dom))
	means := make([][][]float64, len(n.dom)) // by variable, batch and state
	for _, v := range comp {
		sums[v] = make([]float64, len(n.dom[v]))
	}
	skip := int(burn * float64(sweeps))
	size := max(1, (sweeps-skip)/batches)
	for range chains {
		if err := s.start(comp, runs, value, rng); err != nil {
			return err
		}
		for sweep := range skip + size*batches {
			if err := s.ctx.Err(); err != nil {
				return err
			}
			for _, r := range []*run{runs[rng.IntN(len(runs))], runs[sweep%len(runs)]} {
				if !r.up() {
					panic("heredity: a state that was allowed has no weight")
				}
				r.sample(rng)
				if sweep < skip {
					continue
				}
				r.down()
				for i, v := range r.t.order {
					r.marginal(i, sums[v])
					counts[v]++
				}
			}
			if sweep >= skip && (sweep-skip+1)%size == 0 {
				for _, v := range comp {
					if counts[v] == 0 {
						continue
					}
					mean := make([]float64, len(sums[v]))
					for j := range mean {
						mean[j] = sums[v][j] / float64(counts[v])
						sums[v][j] = 0
					}
					means[v] = append(means[v], mean)
					counts[v] = 0
				}
			}
		}
	}
	for _, v := range comp {
		if s.marg[v] != nil {
			continue // known exactly
		}
		s.marg[v], s.se[v] = make([]float64, len(n.dom[v])), make([]float64, len(n.dom[v]))
		for j := range s.marg[v] {
			var batch, chain []float64
			for _, m := range means[v] {
				batch = append(batch, m[j])
			}
			for c := range slices.Chunk(batch, batches) {
				sum := 0.0
				for _, x := range c {
					sum += x
				}
				chain = append(chain, sum/float64(len(c)))
			}
			var se float64
			s.marg[v][j], se = meanError(batch)
			_, between := meanError(chain)
			s.se[v][j] = max(se, between)
		}
		normalise(s.marg[v])
	}
	return nil
}

// meanError returns the mean of x and its standard error.
func meanError(x []float64) (mean, se float64) {
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	for _, v := range x {
		se += (v - mean) * (v - mean)
	}
	if len(x) > 1 {
		se = math.Sqrt(se / float64(len(x)-1) / float64(len(x)))
	}
	return mean, se
}

// alone is the plan that draws one variable and holds all others.
func (n *network) alone(comp []int32, v int32) *tree {
	t := &tree{order: []int32{v}, sep: [][]int32{nil}, parent: []int{-1}, factors: [][]int32{n.of[v]}}
	for _, w := range comp {
		if w != v {
			t.fixed = append(t.fixed, w)
		}
	}
	return t
}

// start finds a state that the records allow: zeros of the tables are lifted a little,
// and less and less, while sweeps go on.
func (s *solver) start(comp []int32, runs []*run, value []int32, rng *rand.Rand) error {
	for _, v := range comp {
		value[v] = int32(rng.IntN(len(s.n.dom[v])))
	}
	defer func() {
		for _, r := range runs {
			r.soft = 0
		}
	}()
	for try := range startTries {
		if err := s.ctx.Err(); err != nil {
			return err
		}
		if s.n.allowed(comp, value) {
			return nil
		}
		r := runs[rng.IntN(len(runs))]
		r.soft = math.Pow(10, -1-float64(try%40)/8) // from 0.1 down to 0.000001, again and again
		if r.up() {
			r.sample(rng)
		}
	}
	return &StuckError{}
}

// allowed reports whether every table has positive weight at the values.
func (n *network) allowed(comp []int32, value []int32) bool {
	for _, v := range comp {
		for _, f := range n.of[v] {
			k := 0
			for _, w := range n.factors[f].vars {
				k = k*n.size[w] + int(n.dom[w][value[w]])
			}
			if n.factors[f].tab[k] == 0 {
				return false
			}
		}
	}
	return true
}
