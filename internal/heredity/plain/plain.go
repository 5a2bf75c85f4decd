// Package plain answers the questions of heredity by listing every possibility: founders'
// alleles one by one, every strand in every meiosis, every sex and every pair of parents.
// It is slow, obvious and shares no table with the fast package; tests compare the two.
package plain

import (
	"math"
	"slices"

	"broodlight/internal/heredity"
)

// chromosomes are a bird's alleles by locus on the set from its sire and that from its
// dam; dam holds -1 at Z loci of a hen.
type chromosomes struct {
	sex       heredity.Sex
	sire, dam []int
}

type world struct {
	m     *heredity.Model
	birds []heredity.Bird
	link  map[[2]int]float64
	now   []chromosomes
	pair  map[int]int // drawn parents of each clutch
	share map[[2]int]chromosomes

	total float64
	post  [][][3][]float64 // by bird, locus, sex: weight of each genotype
}

// Posterior returns the log likelihood of all records and, by bird, locus, sex and
// genotype, the posterior probabilities: the layout of heredity's Marginal. A log
// likelihood of minus infinity means that the records cannot all be true. Every parent
// must stand before its young, and survivals must be 1.
func Posterior(m *heredity.Model, birds []heredity.Bird) (float64, [][][3][]float64) {
	w := &world{m: m, birds: birds, link: map[[2]int]float64{}, now: make([]chromosomes, len(birds)), pair: map[int]int{}, share: map[[2]int]chromosomes{}}
	for _, k := range m.Links {
		w.link[[2]int{k.A, k.B}], w.link[[2]int{k.B, k.A}] = k.Recombination, k.Recombination
	}
	for range birds {
		row := make([][3][]float64, len(m.Loci))
		for l := range row {
			for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
				row[l][s] = make([]float64, len(m.Genotypes(l, s)))
			}
		}
		w.post = append(w.post, row)
	}
	w.bird(0, 1)
	if w.total == 0 {
		return math.Inf(-1), nil
	}
	for i := range w.post {
		for l := range w.post[i] {
			for s := range w.post[i][l] {
				for g := range w.post[i][l][s] {
					w.post[i][l][s][g] /= w.total
				}
			}
		}
	}
	return math.Log(w.total), w.post
}

// bird goes through everything that bird i may be, and then the next one.
func (w *world) bird(i int, p float64) {
	if p == 0 {
		return
	}
	if i == len(w.birds) {
		w.total += p
		for k, c := range w.now {
			for l := range w.m.Loci {
				w.post[k][l][c.sex][w.genotype(c, l)] += p
			}
		}
		return
	}
	b := w.birds[i]
	sexes, half := []heredity.Sex{b.Sex}, 1.0
	if s := w.settled(i); s != heredity.Unsexed {
		sexes[0] = s
	} else {
		sexes, half = []heredity.Sex{heredity.Cock, heredity.Hen}, 0.5
	}
	alts := append([]heredity.Parents{}, b.Parents...)
	left := 1.0
	for _, a := range alts {
		left -= a.Weight
	}
	if left > 1e-9 {
		alts = append(alts, heredity.Parents{Sire: heredity.Unknown, Dam: heredity.Unknown, Weight: left})
	}
	for k, a := range alts {
		weight, first := a.Weight, false
		if b.Clutch != 0 {
			if drawn, ok := w.pair[b.Clutch]; ok {
				if drawn != k {
					continue
				}
				weight = 1
			} else {
				w.pair[b.Clutch], first = k, true
			}
		}
		if a.Sire == heredity.Unknown && a.Dam == heredity.Unknown && b.Clutch == 0 {
			for _, s := range sexes { // young of two strangers are as strangers are
				w.founder(s, func(c chromosomes, q float64) {
					w.now[i] = c
					w.bird(i+1, p*half*weight*q*w.records(i, c))
				})
			}
			continue
		}
		w.parent(b.Clutch, a.Sire, heredity.Cock, func(sire chromosomes, ps float64) {
			w.parent(b.Clutch, a.Dam, heredity.Hen, func(dam chromosomes, pd float64) {
				for _, s := range sexes {
					w.child(i, s, sire, dam, p*half*weight*ps*pd)
				}
			})
		})
		if first {
			delete(w.pair, b.Clutch)
		}
	}
}

// settled is a bird's sex as given or as its part as a parent says.
func (w *world) settled(i int) heredity.Sex {
	for _, b := range w.birds {
		for _, p := range b.Parents {
			if p.Weight > 0 && p.Sire == i {
				return heredity.Cock
			}
			if p.Weight > 0 && p.Dam == i {
				return heredity.Hen
			}
		}
	}
	return w.birds[i].Sex
}

// parent calls then with what a parent is, or with everything that an unknown one may
// be, which nest mates share.
func (w *world) parent(clutch, i int, s heredity.Sex, then func(chromosomes, float64)) {
	if i != heredity.Unknown {
		then(w.now[i], 1)
		return
	}
	key := [2]int{clutch, int(s)}
	if clutch != 0 {
		if c, ok := w.share[key]; ok {
			then(c, 1)
			return
		}
	}
	w.founder(s, func(c chromosomes, p float64) {
		if clutch != 0 {
			w.share[key] = c
			defer delete(w.share, key)
		}
		then(c, p)
	})
}

// founder goes through every pair of chromosome sets.
func (w *world) founder(s heredity.Sex, then func(chromosomes, float64)) {
	n := len(w.m.Loci)
	var fill func(l int, c chromosomes, p float64)
	fill = func(l int, c chromosomes, p float64) {
		if p == 0 {
			return
		}
		if l == n {
			then(chromosomes{s, append([]int{}, c.sire...), append([]int{}, c.dam...)}, p)
			return
		}
		locus := &w.m.Loci[l]
		for a := range locus.Alleles {
			c.sire[l] = a
			if s == heredity.Hen && locus.Chromosome == heredity.Z {
				c.dam[l] = -1
				fill(l+1, c, p*locus.Alleles[a].Frequency)
				continue
			}
			for b := range locus.Alleles {
				c.dam[l] = b
				fill(l+1, c, p*locus.Alleles[a].Frequency*locus.Alleles[b].Frequency)
			}
		}
	}
	fill(0, chromosomes{s, make([]int, n), make([]int, n)}, 1)
}

// gamete goes through every set of alleles that a parent may hand on to young of a sex.
func (w *world) gamete(from chromosomes, to heredity.Sex, then func([]int, float64)) {
	var sets [][]int
	var chance []float64
	w.strands(from, to, func(set []int, p float64) {
		for i, s := range sets {
			if slices.Equal(s, set) {
				chance[i] += p
				return
			}
		}
		sets, chance = append(sets, set), append(chance, p)
	})
	for i, s := range sets {
		then(s, chance[i])
	}
}

// strands goes through every strand that a parent may hand on.
func (w *world) strands(from chromosomes, to heredity.Sex, then func([]int, float64)) {
	n := len(w.m.Loci)
	strand := make([]int, n)
	out := make([]int, n)
	var walk func(l int, p float64)
	walk = func(l int, p float64) {
		if p == 0 {
			return
		}
		if l == n {
			then(append([]int{}, out...), p)
			return
		}
		z := w.m.Loci[l].Chromosome == heredity.Z
		if z && from.sex == heredity.Hen {
			out[l] = -1
			if to == heredity.Cock {
				out[l] = from.sire[l]
			}
			walk(l+1, p)
			return
		}
		// The linked loci before this one settle the chances of the strands; in a chain
		// that is written in order there is at most one.
		before, r := -1, 0.5
		for k := range l {
			if x, ok := w.link[[2]int{k, l}]; ok {
				before, r = k, x
			}
		}
		for s := range 2 {
			q := 0.5
			if before >= 0 {
				q = r
				if strand[before] == s {
					q = 1 - r
				}
			}
			strand[l], out[l] = s, from.sire[l]
			if s == 1 {
				out[l] = from.dam[l]
			}
			walk(l+1, p*q)
		}
	}
	walk(0, 1)
}

// child goes through every bird that a pair may have.
func (w *world) child(i int, s heredity.Sex, sire, dam chromosomes, p float64) {
	w.gamete(sire, s, func(a []int, pa float64) {
		w.gamete(dam, s, func(b []int, pb float64) {
			c := chromosomes{s, a, b}
			w.now[i] = c
			w.bird(i+1, p*pa*pb*w.records(i, c))
		})
	})
}

// records is the chance of what was written of a bird.
func (w *world) records(i int, c chromosomes) float64 {
	p := 1.0
	genotype := make([]int, len(w.m.Loci))
	for l := range genotype {
		genotype[l] = w.genotype(c, l)
	}
	for t, look := range w.birds[i].Looks {
		if look != heredity.Unseen {
			p *= w.m.Chances(t, c.sex, genotype)[look]
		}
	}
	for _, s := range w.birds[i].Said {
		if c.sire[s.Locus] == s.Allele || c.dam[s.Locus] == s.Allele {
			p *= s.OfCarrier
		} else {
			p *= s.OfAnother
		}
	}
	return p
}

// genotype is the number of a genotype in the order of heredity's Genotypes.
func (w *world) genotype(c chromosomes, l int) int {
	a, b := c.sire[l], c.dam[l]
	if b < 0 {
		return a
	}
	if a > b {
		a, b = b, a
	}
	k := 0
	for i := range len(w.m.Loci[l].Alleles) {
		for j := i; j < len(w.m.Loci[l].Alleles); j++ {
			if i == a && j == b {
				return k
			}
			k++
		}
	}
	panic("plain: no such genotype")
}
