package pedigree_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"broodlight/internal/pedigree"
)

// seasons is a made-up pedigree of overlapping cohorts. The first cohort has no
// known parents. Each later one is bred in one season by cocks and hens drawn
// afresh, each with equal chance, from the three cohorts before it; every hen
// rears one brood, with one of the cocks, each with equal chance. Young are cock or hen
// with equal chance. Rows are shuffled.
type seasons struct {
	birds, cohorts int
	cocks          int // breeding in a season; 0 for as many as hens, one each
	brood          int // young of a hen
}

func (s seasons) draw(seed uint64) drawn {
	rng := rand.New(rand.NewPCG(seed, 2))
	n := s.birds / s.cohorts
	var d drawn
	var byCohort [][2][]int // cocks, hens
	pick := func(k, most int) []int {
		var all []int
		for _, c := range byCohort[max(0, len(byCohort)-3):] {
			all = append(all, c[k]...)
		}
		rng.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		return all[:min(most, len(all))]
	}
	for c := range s.cohorts {
		var cocks, hens []int
		if c > 0 {
			hens = pick(1, n/s.brood)
			cocks = pick(0, s.cocks)
			if s.cocks == 0 {
				cocks = pick(0, len(hens))
			}
		}
		var born [2][]int
		sire := 0
		for k := range n {
			i := len(d.sire)
			if c == 0 {
				d.sire, d.dam = append(d.sire, u), append(d.dam, u)
			} else {
				if k%s.brood == 0 {
					sire = cocks[rng.IntN(len(cocks))]
					if s.cocks == 0 {
						sire = cocks[k/s.brood%len(cocks)]
					}
				}
				d.sire, d.dam = append(d.sire, sire), append(d.dam, hens[k/s.brood%len(hens)])
			}
			sex := pedigree.Cock + pedigree.Sex(rng.IntN(2))
			d.sex = append(d.sex, sex)
			born[sex-pedigree.Cock] = append(born[sex-pedigree.Cock], i)
		}
		byCohort = append(byCohort, born)
	}
	d, _ = d.shuffled(seed)
	return d
}

// A core of the million is under five seconds on two cores; see the package's
// comment on [pedigree.Inbreeding] for what decides it.
func BenchmarkInbreeding(b *testing.B) {
	for _, s := range []seasons{
		{10_000, 25, 5, 5},
		{100_000, 25, 50, 5},
		{1_000_000, 25, 500, 5},
		{1_000_000, 25, 100, 5},
		{1_000_000, 25, 2000, 5},
		{1_000_000, 25, 0, 5},
	} {
		b.Run(fmt.Sprintf("birds=%d/cocks=%d/brood=%d", s.birds, s.cocks, s.brood), func(b *testing.B) {
			d := s.draw(1)
			b.ReportAllocs()
			for b.Loop() {
				p := must(b, d.sire, d.dam, d.sex)
				pedigree.Inbreeding(p)
			}
		})
	}
	_ = context.Background
}
