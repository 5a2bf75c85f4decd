package pedigree

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
)

// Founder is where a line begins. When Parent is Unsexed, it is the bird itself,
// neither of whose parents is known. Otherwise it is a parent that nobody wrote
// down, of a bird whose other parent is known: Cock for the sire, Hen for the dam.
type Founder struct {
	Bird   int
	Parent Sex
}

// Contributions returns all founders of a pedigree and the share of the alleles of
// a set of birds that is expected to have come from each. Shares add up to 1, or
// are all 0 for an empty set; a founder with no line to the set has 0. A bird
// listed twice counts twice. It takes O(n) time. Groups play no part: every unknown parent
// is a founder of its own.
//
// Source: James (1972), from memory; Lacy (1989).
func Contributions(p *Pedigree, birds []int) (founders []Founder, share []float64) {
	x := make([]float64, p.Len())
	for _, at := range p.places(birds) {
		x[at] += 1 / float64(len(birds))
	}
	byPlace := make([][2]float64, p.Len()) // what stops at the bird: itself or its sire, or its dam
	for at := p.Len() - 1; at >= 0; at-- {
		s, d := p.sire[at], p.dam[at]
		if s < 0 && d < 0 {
			byPlace[at][0] = x[at]
			continue
		}
		for k, parent := range [2]int32{s, d} {
			if parent < 0 {
				byPlace[at][k] = x[at] / 2
			} else {
				x[parent] += x[at] / 2
			}
		}
	}
	for row, at := range p.place {
		s, d := p.sire[at], p.dam[at]
		switch {
		case s < 0 && d < 0:
			founders = append(founders, Founder{row, Unsexed})
			share = append(share, byPlace[at][0])
		case s < 0:
			founders = append(founders, Founder{row, Cock})
			share = append(share, byPlace[at][0])
		case d < 0:
			founders = append(founders, Founder{row, Hen})
			share = append(share, byPlace[at][1])
		}
	}
	return founders, share
}

// FounderEquivalents returns how many founders with equal shares would leave as
// much diversity as founders with these shares: 1 over the sum of their squares.
// It is 0 when all shares are 0.
//
// Source: Lacy (1989).
func FounderEquivalents(share []float64) float64 {
	sum := 0.0
	for _, p := range share {
		sum += p * p
	}
	if sum == 0 {
		return 0
	}
	return 1 / sum
}

// Drop is what a gene drop found. Each SE is the Monte Carlo standard error of the
// value before it: with other random numbers the value moves by about so much.
type Drop struct {
	Drops    int
	Founders []Founder // as from Contributions
	Share    []float64 // expected share of each founder, exact

	// Retention is by founder the mean share of its two alleles that are still
	// there in the set. A founder that nobody wrote down gave one bird one allele,
	// so it keeps one half at most.
	Retention, RetentionSE []float64

	// GenomeEquivalents is how many founders with equal shares and nothing lost
	// would leave as much: 1 / sum(share²/retention), Lacy (1989). It is not the
	// half of 1 over the mean kinship.
	GenomeEquivalents, GenomeEquivalentsSE float64

	// Alike is by bird of the set how often its two alleles were copies of one
	// ancestral allele: an estimate of its inbreeding.
	Alike, AlikeSE []float64
}

// DropsError reports that a founder with a share in the set was not seen there in
// any drop, so that founder genome equivalents cannot be told from so few.
type DropsError struct {
	Founder Founder
	Share   float64
	Drops   int
}

func (e *DropsError) Error() string { return e.Say(byNumber) }

// Say implements [Named].
func (e *DropsError) Say(name Naming) string {
	who := name(e.Founder.Bird)
	if e.Founder.Parent != Unsexed {
		who = fmt.Sprintf("the unknown %s of %s", role(e.Founder.Parent), who)
	}
	return fmt.Sprintf("In %d drops no allele of %s was kept, though it should have a share of %.2g: use more drops.", e.Drops, who, e.Share)
}

// GeneDrop sends two alleles of every founder down the pedigree at random, drops
// times, and counts what is left in a set of birds. It takes one step for each
// ancestor of the set and drop. It panics with fewer than 2 drops or no birds.
// The error is a [*DropsError] or the context's.
//
// Errors of single values come from the spread between drops, and that of
// GenomeEquivalents from the spread between batches of drops, to first order.
//
// Source: MacCluer et al. (1986), Lacy (1989).
func GeneDrop(ctx context.Context, p *Pedigree, birds []int, drops int, rng *rand.Rand) (*Drop, error) {
	if drops < 2 || len(birds) == 0 {
		panic("pedigree: a gene drop needs 2 drops and 1 bird at least")
	}
	d := &Drop{Drops: drops}
	d.Founders, d.Share = Contributions(p, birds)
	line := p.ancestry(birds)
	alleles := make([]int32, 2*len(line.birds))
	seen := make([]int32, 2*len(d.Founders)) // last drop in which the allele was there
	founderAt := make(map[Founder]int32, len(d.Founders))
	for k, f := range d.Founders {
		founderAt[f] = int32(k)
	}
	// Per bird in line, the first allele of the founder on each side, or -1.
	fixed := make([][2]int32, len(line.birds))
	for i, b := range line.birds {
		fixed[i] = [2]int32{-1, -1}
		row := int(p.row[b.place])
		switch {
		case b.sire < 0 && b.dam < 0:
			k := 2 * founderAt[Founder{row, Unsexed}]
			alleles[2*i], alleles[2*i+1] = k, k+1
			fixed[i] = [2]int32{k, k + 1}
		case b.sire < 0:
			fixed[i][0] = 2 * founderAt[Founder{row, Cock}]
		case b.dam < 0:
			fixed[i][1] = 2 * founderAt[Founder{row, Hen}]
		}
	}
	f := len(d.Founders)
	batches := min(drops, 50) // enough for the error of the error to be a tenth
	sum, squares := make([]float64, f), make([]float64, f)
	inBatch := make([]float64, batches*f)
	sizes := make([]float64, batches)
	alike := make([]int, len(birds))
	kept := make([]float64, f)
	var bits uint64
	var left int
	for drop := range drops {
		if drop%64 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		for i, b := range line.birds {
			if b.sire < 0 && b.dam < 0 {
				continue
			}
			if left < 2 {
				bits, left = rng.Uint64(), 64
			}
			one, two := int32(bits&1), int32(bits>>1&1)
			bits, left = bits>>2, left-2
			if b.sire >= 0 {
				alleles[2*i] = alleles[2*b.sire+one]
			} else {
				alleles[2*i] = fixed[i][0] + one
			}
			if b.dam >= 0 {
				alleles[2*i+1] = alleles[2*b.dam+two]
			} else {
				alleles[2*i+1] = fixed[i][1] + two
			}
		}
		clear(kept)
		for k, i := range line.set {
			for _, a := range alleles[2*i : 2*i+2] {
				if seen[a] != int32(drop)+1 {
					seen[a] = int32(drop) + 1
					kept[a/2] += 0.5
				}
			}
			if alleles[2*i] == alleles[2*i+1] {
				alike[k]++
			}
		}
		batch := drop * batches / drops
		sizes[batch]++
		for k, r := range kept {
			sum[k] += r
			squares[k] += r * r
			inBatch[batch*f+k] += r
		}
	}
	n := float64(drops)
	d.Retention, d.RetentionSE = make([]float64, f), make([]float64, f)
	inverse := 0.0 // 1/GenomeEquivalents
	slope := make([]float64, f)
	for k := range f {
		r := sum[k] / n
		d.Retention[k] = r
		d.RetentionSE[k] = math.Sqrt(max(0, squares[k]/n-r*r) / (n - 1))
		if d.Share[k] == 0 {
			continue
		}
		if r == 0 {
			return nil, &DropsError{Founder: d.Founders[k], Share: d.Share[k], Drops: drops}
		}
		inverse += d.Share[k] * d.Share[k] / r
		slope[k] = -d.Share[k] * d.Share[k] / (r * r)
	}
	d.GenomeEquivalents = 1 / inverse
	spread := 0.0
	for batch := range batches {
		off := 0.0
		for k := range f {
			off += slope[k] * (inBatch[batch*f+k]/sizes[batch] - d.Retention[k])
		}
		spread += off * off
	}
	d.GenomeEquivalentsSE = math.Sqrt(spread/float64(batches-1)/float64(batches)) / (inverse * inverse)
	d.Alike, d.AlikeSE = make([]float64, len(birds)), make([]float64, len(birds))
	for k, count := range alike {
		share := float64(count) / n
		d.Alike[k], d.AlikeSE[k] = share, math.Sqrt(share*(1-share)/(n-1))
	}
	return d, nil
}

// lineage is a set of birds with all their ancestors, oldest first.
type lineage struct {
	birds []lineBird
	set   []int32 // entries of birds, in the order of the set
}

type lineBird struct {
	place     int32
	sire, dam int32 // entries of birds, or -1
}

func (p *Pedigree) ancestry(birds []int) lineage {
	at := make([]int32, p.Len())
	places := p.places(birds)
	for _, place := range places {
		at[place] = 1
	}
	for place := p.Len() - 1; place >= 0; place-- {
		for _, parent := range [2]int32{p.sire[place], p.dam[place]} {
			if at[place] == 1 && parent >= 0 {
				at[parent] = 1
			}
		}
	}
	find := func(parent int32) int32 {
		if parent < 0 {
			return -1
		}
		return at[parent]
	}
	var l lineage
	for place, wanted := range at {
		if wanted == 1 {
			at[place] = int32(len(l.birds))
			l.birds = append(l.birds, lineBird{int32(place), find(p.sire[place]), find(p.dam[place])})
		}
	}
	for _, place := range places {
		l.set = append(l.set, at[place])
	}
	return l
}

// Completeness returns what share of the ancestors of a set of birds is known, by
// generation: entry 0 is the parents, entry 1 the grandparents, and so on, for so many
// generations. From 0 to 1, never rising. All are 0 for an empty set.
//
// Source: Boichard, Maignel and Verrier (1997), from memory.
func Completeness(p *Pedigree, birds []int, generations int) []float64 {
	out := make([]float64, generations)
	x, next := make([]float64, p.Len()), make([]float64, p.Len())
	for _, at := range p.places(birds) {
		x[at] += 1 / float64(len(birds))
	}
	for g := range out {
		clear(next)
		for at, share := range x {
			if share == 0 {
				continue
			}
			for _, parent := range [2]int32{p.sire[at], p.dam[at]} {
				if parent >= 0 {
					next[parent] += share / 2
					out[g] += share / 2
				}
			}
		}
		x, next = next, x
	}
	return out
}

// EquivalentGenerations returns by bird how many complete generations its known
// ancestors amount to: the sum of [Completeness] over all generations.
//
// Source: Maignel, Boichard and Verrier (1996), from memory.
func EquivalentGenerations(p *Pedigree) []float64 {
	byPlace := make([]float64, p.Len())
	out := make([]float64, p.Len())
	for at := range byPlace {
		for _, parent := range [2]int32{p.sire[at], p.dam[at]} {
			if parent >= 0 {
				byPlace[at] += (1 + byPlace[parent]) / 2
			}
		}
		out[p.row[at]] = byPlace[at]
	}
	return out
}
