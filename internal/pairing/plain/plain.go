// Package plain holds the obvious, slow version of the algorithms in package
// pairing. Tests compare the two.
package plain

import "broodlight/internal/pairing"

// Assign tries every way to give the rows columns, or none, and returns the
// greatest number of pairs and the lowest sum of worth with so many.
func Assign(worth [][]float64, forbidden [][]bool) (pairs int, sum float64) {
	var taken map[int]bool
	var try func(i, made int, so float64)
	first := true
	try = func(i, made int, so float64) {
		if i == len(worth) {
			if first || made > pairs || (made == pairs && so < sum) {
				first, pairs, sum = false, made, so
			}
			return
		}
		try(i+1, made, so)
		for j := range worth[i] {
			if taken[j] || (forbidden != nil && forbidden[i][j]) {
				continue
			}
			taken[j] = true
			try(i+1, made+1, so+worth[i][j])
			taken[j] = false
		}
	}
	taken = map[int]bool{}
	try(0, 0, 0)
	return pairs, sum
}

// Every calls f with every set of k pairs, none of them forbidden and all locked ones
// among them, as the hen's column by cock, or pairing.Single.
func Every(p *pairing.Problem, k int, f func(column []int)) {
	rows := len(p.Worth)
	column := make([]int, rows)
	taken := map[int]bool{}
	locked := func() bool {
		for _, c := range p.Locked {
			if column[c.Cock] != c.Hen {
				return false
			}
		}
		return true
	}
	var try func(i, made int)
	try = func(i, made int) {
		if i == rows {
			if made == k && locked() {
				f(column)
			}
			return
		}
		column[i] = pairing.Single
		try(i+1, made)
		for j := range p.Worth[i] {
			if taken[j] || (p.Forbidden != nil && p.Forbidden[i][j]) {
				continue
			}
			taken[j] = true
			column[i] = j
			try(i+1, made+1)
			taken[j] = false
		}
		column[i] = pairing.Single
	}
	try(0, 0)
}

// Plan is what a set of pairs comes to, and whether it keeps what may not be broken.
func Plan(p *pairing.Problem, column []int) (value, worth, related float64, ok bool) {
	var birds []int
	k, inbreeding, next := 0.0, 0.0, 0.0
	for i, j := range column {
		if j == pairing.Single {
			continue
		}
		k++
		worth += p.Worth[i][j]
		if p.Kinship != nil {
			birds = append(birds, i, len(p.Worth)+j)
			inbreeding += p.Kinship[i][len(p.Worth)+j]
		}
	}
	for _, a := range birds {
		for _, b := range birds {
			next += p.Kinship[a][b]
		}
	}
	if k > 0 {
		related = p.Mix*next/(4*k*k) + (1-p.Mix)*inbreeding/k
	}
	ok = p.Most == 0 || related <= p.Most+1e-12
	value = worth - p.Price*related
	for _, l := range p.Limits {
		sum := 0.0
		for i, j := range column {
			if j != pairing.Single {
				sum += l.Amount[i][j]
			}
		}
		off := max(0, sum-l.Most, l.Least-sum)
		if l.Price == 0 && off > 1e-9 {
			ok = false
		}
		value -= l.Price * off
	}
	return value, worth, related, ok
}

// Best tries every set of pairs and returns the greatest number of pairs that the hard
// limits allow, and the greatest value with so many. ok is false when none is allowed.
// The relatedness allowed does not make the number smaller.
func Best(p *pairing.Problem) (pairs int, value float64, ok bool) {
	most := len(p.Worth)
	if p.Pairs > 0 {
		most = min(most, p.Pairs)
	}
	free := *p
	free.Most = 0
	for k := most; k >= 0; k-- {
		some := false
		Every(p, k, func(column []int) {
			_, _, _, keeps := Plan(&free, column)
			some = some || keeps
			v, _, _, keeps := Plan(p, column)
			if keeps && (!ok || v > value) {
				pairs, value, ok = k, v, true
			}
		})
		if some {
			return k, value, ok
		}
	}
	return 0, 0, false
}
