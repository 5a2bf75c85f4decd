package pedigree_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"broodlight/internal/pedigree"
	"broodlight/internal/pedigree/plain"
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

func (s seasons) String() string {
	return fmt.Sprintf("birds=%d/cohorts=%d/cocks=%d/brood=%d", s.birds, s.cohorts, s.cocks, s.brood)
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

// What decides the time is how many different pairs of cocks and ancestors there
// are: cocks=0, one hen to each cock, is the dearest case. It was 0.5 s, 1.4 s and 6 s
// for the million with 500, 2000 and single-hen cocks on two quiet cores, and twice that
// and more when they were shared; 160 to 260 MB in all, with the generator's own.
func BenchmarkInbreeding(b *testing.B) {
	for _, s := range []seasons{
		{10_000, 25, 5, 5},
		{100_000, 25, 50, 5},
		{1_000_000, 25, 500, 5},
		{1_000_000, 25, 100, 5},
		{1_000_000, 25, 2000, 5},
		{1_000_000, 25, 0, 5},
	} {
		b.Run(s.String(), func(b *testing.B) {
			d := s.draw(1)
			b.ReportAllocs()
			for b.Loop() {
				p := must(b, d.sire, d.dam, d.sex)
				pedigree.Inbreeding(p)
			}
		})
	}
}

func BenchmarkInbreedingZ(b *testing.B) {
	s := seasons{1_000_000, 25, 500, 5}
	d := s.draw(1)
	b.Run(s.String(), func(b *testing.B) {
		for b.Loop() {
			p := must(b, d.sire, d.dam, d.sex)
			pedigree.InbreedingZ(p)
		}
	})
}

// The plain twin does every bird by itself: what sharing saves.
func BenchmarkInbreedingBirdByBird(b *testing.B) {
	s := seasons{20_000, 25, 10, 5}
	d := oldestFirst(s.draw(1))
	b.Run(s.String(), func(b *testing.B) {
		for b.Loop() {
			plain.Inbreeding(d.sire, d.dam)
		}
	})
}

// A room's questions in a pedigree of 20,000.
func BenchmarkRoom(b *testing.B) {
	d := seasons{20_000, 25, 0, 5}.draw(1)
	p := must(b, d.sire, d.dam, d.sex)
	if err := p.Prepare(b.Context(), nil); err != nil {
		b.Fatal(err)
	}
	youngest := p.OldestFirst()[p.Len()-200:]
	b.Run("prepare", func(b *testing.B) {
		for b.Loop() {
			if err := must(b, d.sire, d.dam, d.sex).Prepare(b.Context(), nil); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("pair", func(b *testing.B) {
		for b.Loop() {
			pedigree.Kinship(p, youngest[0], youngest[199])
		}
	})
	b.Run("matrix=200", func(b *testing.B) {
		for b.Loop() {
			if _, err := pedigree.KinshipMatrix(b.Context(), p, youngest); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("drops=1000", func(b *testing.B) {
		rng := rand.New(rand.NewPCG(1, 1))
		for b.Loop() {
			if _, err := pedigree.GeneDrop(b.Context(), p, youngest, 1000, rng); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("uncertain", func(b *testing.B) {
		for b.Loop() {
			if _, err := pedigree.NewUncertain(b.Context(), d.sire, d.dam, d.sex, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// oldestFirst renumbers the birds so that parents come before young.
func oldestFirst(d drawn) drawn {
	p, err := pedigree.New(d.sire, d.dam, d.sex)
	if err != nil {
		panic(err)
	}
	order := p.OldestFirst()
	row := make([]int, len(order))
	for k, i := range order {
		row[i] = k
	}
	out := drawn{make([]int, len(order)), make([]int, len(order)), make([]pedigree.Sex, len(order))}
	for k, i := range order {
		out.sire[k], out.dam[k], out.sex[k] = u, u, d.sex[i]
		if d.sire[i] != u {
			out.sire[k] = row[d.sire[i]]
		}
		if d.dam[i] != u {
			out.dam[k] = row[d.dam[i]]
		}
	}
	return out
}
