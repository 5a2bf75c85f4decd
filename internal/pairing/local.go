package pairing

import (
	"math"
	"slices"
)

// local mends and betters an assignment by small exchanges: two pairs swap hens, a bird
// that is left over takes another one's place, or two take a pair's place.
type local struct {
	s     *search
	fixed []bool // by row: locked
}

// heavy is what a unit over a hard limit weighs in exchanges, beside the spread of worth.
const heavy = 1000.0

// passes bounds how often all exchanges are gone through.
const passes = 30

// improve returns a better assignment, or nil when no exchange betters it.
func (x *local) improve(column []int) []int {
	s, p := x.s, x.s.p
	if x.fixed == nil {
		x.fixed = make([]bool, s.rows)
		for _, c := range p.Locked {
			x.fixed[c.Cock] = true
		}
	}
	at := slices.Clone(column)
	var singleCocks, singleHens []int
	taken := make([]bool, s.cols)
	for i, j := range at {
		if j == Single {
			singleCocks = append(singleCocks, i)
		} else {
			taken[j] = true
		}
	}
	for j, t := range taken {
		if !t {
			singleHens = append(singleHens, j)
		}
	}
	sums := make([]float64, len(p.Limits))
	_, kin := s.sum(at, sums)
	y := s.uses(at)
	ky := s.product(y)
	q := 0.0
	for i := range y {
		q += y[i] * ky[i]
	}
	weight := heavy * (1 + spread(p.Worth))
	type end struct{ least, most, weight float64 }
	ends := make([]end, len(p.Limits))
	for l, lim := range p.Limits {
		ends[l] = end{lim.Least, lim.Most, lim.Price}
		if lim.Price == 0 {
			ends[l] = end{lim.Least - loose(lim), lim.Most + loose(lim), weight}
		}
	}
	fine := func(sums []float64, kin, q float64) float64 {
		f := 0.0
		for l, x := range sums {
			e := &ends[l]
			if x > e.most {
				f += e.weight * (x - e.most)
			} else if x < e.least {
				f += e.weight * (e.least - x)
			}
		}
		related := s.quadratic*q + kin
		f += p.Price * related
		if over := related - p.Most; p.Most > 0 && over > 0 {
			f += weight * s.scale() * over
		}
		return f
	}
	own := func(i, j int) float64 {
		if s.linear == 0 {
			return 0
		}
		return s.linear * p.Kinship[i][s.rows+j]
	}
	trial := make([]float64, len(sums))
	current := fine(sums, kin, q)
	changed := false
	// try weighs taking some cells out and putting others in; y changes by out and in birds.
	try := func(out, in []Pair, outBird, inBird []int) bool {
		gain, kin2, q2 := 0.0, kin, q
		copy(trial, sums)
		for _, c := range out {
			gain -= p.Worth[c.Cock][c.Hen]
			kin2 -= own(c.Cock, c.Hen)
			for l := range trial {
				trial[l] -= p.Limits[l].Amount[c.Cock][c.Hen]
			}
		}
		for _, c := range in {
			if s.no[c.Cock][c.Hen] {
				return false
			}
			gain += p.Worth[c.Cock][c.Hen]
			kin2 += own(c.Cock, c.Hen)
			for l := range trial {
				trial[l] += p.Limits[l].Amount[c.Cock][c.Hen]
			}
		}
		if s.quadratic > 0 && len(outBird) > 0 {
			k := p.Kinship
			for _, a := range inBird {
				q2 += 2 * ky[a]
				for _, b := range inBird {
					q2 += k[a][b]
				}
				for _, b := range outBird {
					q2 -= 2 * k[a][b]
				}
			}
			for _, a := range outBird {
				q2 -= 2 * ky[a]
				for _, b := range outBird {
					q2 += k[a][b]
				}
			}
		}
		next := fine(trial, kin2, q2)
		if gain-(next-current) <= 1e-9*max(1, math.Abs(current)+math.Abs(gain)) {
			return false
		}
		for _, c := range out {
			at[c.Cock] = Single
		}
		for _, c := range in {
			at[c.Cock] = c.Hen
		}
		copy(sums, trial)
		kin, q, current, changed = kin2, q2, next, true
		if s.quadratic > 0 {
			for _, a := range outBird {
				for i := range ky {
					ky[i] -= p.Kinship[i][a]
				}
			}
			for _, a := range inBird {
				for i := range ky {
					ky[i] += p.Kinship[i][a]
				}
			}
		}
		return true
	}
	for range passes {
		moved := false
		for i := range s.rows {
			if at[i] == Single || x.fixed[i] {
				continue
			}
			for k := i + 1; k < s.rows; k++ {
				if at[k] == Single || x.fixed[k] {
					continue
				}
				a, b := at[i], at[k]
				if try([]Pair{{i, a}, {k, b}}, []Pair{{i, b}, {k, a}}, nil, nil) {
					moved = true
				}
			}
			for t, h := range singleHens {
				a := at[i]
				if try([]Pair{{i, a}}, []Pair{{i, h}}, []int{s.rows + a}, []int{s.rows + h}) {
					singleHens[t], moved = a, true
				}
			}
			for t, c := range singleCocks {
				a := at[i]
				if try([]Pair{{i, a}}, []Pair{{c, a}}, []int{i}, []int{c}) {
					singleCocks[t], moved = i, true
					break
				}
			}
			if at[i] == Single || len(singleCocks)*len(singleHens) > 400 {
				continue // too many to go through each time
			}
		both:
			for t, c := range singleCocks {
				for r, h := range singleHens {
					a := at[i]
					if try([]Pair{{i, a}}, []Pair{{c, h}}, []int{i, s.rows + a}, []int{c, s.rows + h}) {
						singleCocks[t], singleHens[r], moved = i, a, true
						break both
					}
				}
			}
		}
		if !moved {
			break
		}
	}
	if !changed {
		return nil
	}
	return at
}

// spread is the distance between the greatest and the least cell.
func spread(t [][]float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, line := range t {
		for _, x := range line {
			low, high = min(low, x), max(high, x)
		}
	}
	return max(0, high-low)
}
