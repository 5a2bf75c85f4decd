package outcome

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// MostFactors is the number of factors beyond which a difference is not divided: effects are averages over all orders, and
// with many factors they say little.
const MostFactors = 8

// orderWeights returns, by the number of factors that have changed before, the share of all orders of n factors in which
// just such a set comes before a given one: s!(n−1−s)!/n!.
func orderWeights(n int) []float64 {
	out := make([]float64, n)
	for s := range out {
		v := 1 / float64(n)
		for i := 1; i <= s; i++ { // one over the binomial coefficient of n−1 over s
			v *= float64(i) / float64(n-i)
		}
		out[s] = v
	}
	return out
}

// Effects divides the difference between the rate when all factors have changed and when none has into an effect of each
// factor, averaged over all orders in which they may change (Das Gupta 1993, chapters 2 to 4; as a rule of sharing,
// Shapley 1953). rate takes the set of those that have changed, bit by bit, and is called once for each of the 2ⁿ sets. The
// effects, added in order, give the difference to the last digit that the largest of them has.
//
// It panics unless there are 1 to [MostFactors] factors.
func Effects(factors int, rate func(set uint) float64) []float64 {
	if factors < 1 || factors > MostFactors {
		panic(fmt.Sprintf("outcome: %d factors", factors))
	}
	sets := uint(1) << factors
	rates := make([]float64, sets)
	for s := range sets {
		rates[s] = rate(s)
	}
	out := effectsOf(factors, rates)
	settleSum(out, rates[sets-1]-rates[0])
	return out
}

func effectsOf(factors int, rates []float64) []float64 {
	weights := orderWeights(factors)
	out := make([]float64, factors)
	for s := range uint(len(rates)) {
		for k := range factors {
			if s>>k&1 == 0 {
				out[k] += weights[bits.OnesCount(s)] * (rates[s|1<<k] - rates[s])
			}
		}
	}
	return out
}

// settleSum takes the rounding out of parts, so that added in order they give the total: what is over goes to the
// largest, and if the sum then still rounds otherwise, to the next.
func settleSum(parts []float64, total float64) {
	sum := func() float64 {
		s := 0.0
		for _, p := range parts {
			s += p
		}
		return s
	}
	order := make([]int, len(parts))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch a, b := math.Abs(parts[i]), math.Abs(parts[j]); {
		case a > b:
			return -1
		case a < b:
			return 1
		}
		return 0
	})
	for _, i := range order {
		for range 3 {
			over := total - sum()
			if over == 0 {
				return
			}
			parts[i] += over
		}
	}
}

// chainWeights returns, by factor of a product, by how much a change of it by one changes the product, averaged over
// all orders: the mean product of the others.
func chainWeights(before, after []float64) []float64 {
	n := len(before)
	weights := orderWeights(n)
	out := make([]float64, n)
	for s := range uint(1) << n {
		for k := range n {
			if s>>k&1 == 1 {
				continue
			}
			v := weights[bits.OnesCount(s)]
			for j := range n {
				switch {
				case j == k:
				case s>>j&1 == 1:
					v *= after[j]
				default:
					v *= before[j]
				}
			}
			out[k] += v
		}
	}
	return out
}

// ChainEffects divides the difference between two chains of ratios, each eggs a nest, share full, share hatched and so
// on, into an effect of each stage: what a season, or the room's norm, or a published one, gives for the product of each.
// The effects, added in order, give the difference of the products to the last digit that the largest has.
func ChainEffects(before, after []float64) []float64 {
	n := len(before)
	if n != len(after) || n < 1 || n > MostFactors {
		panic(fmt.Sprintf("outcome: chains of %d and %d stages", n, len(after)))
	}
	out := chainWeights(before, after)
	a, b := 1.0, 1.0
	for k := range out {
		out[k] *= after[k] - before[k]
		a *= after[k]
		b *= before[k]
	}
	settleSum(out, a-b)
	return out
}

// Kitagawa divides the difference between two rates, each a mean of its categories' rates r with weights w, into what comes
// with the weights and what comes with the rates, category by category (Kitagawa 1955).
func Kitagawa(w1, r1, w2, r2 []float64) (composition, rate []float64) {
	if len(r1) != len(w1) || len(w2) != len(w1) || len(r2) != len(w1) {
		panic(fmt.Sprintf("outcome: %d, %d, %d and %d categories", len(w1), len(r1), len(w2), len(r2)))
	}
	composition, rate = make([]float64, len(w1)), make([]float64, len(w1))
	for i := range w1 {
		composition[i] = (w2[i] - w1[i]) * (r1[i] + r2[i]) / 2
		rate[i] = (r2[i] - r1[i]) * (w1[i] + w2[i]) / 2
	}
	return composition, rate
}
