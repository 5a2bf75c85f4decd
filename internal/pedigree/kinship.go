package pedigree

import "context"

// Kinship returns the kinship of two birds: the chance that an allele drawn from
// one and an allele drawn from the other, at one place of a body chromosome, are
// copies of one ancestral allele. It is also the inbreeding of their young.
//
// It is symmetric, from 0 to 1. A bird's kinship with itself is (1+F)/2, F being
// its inbreeding. Birds with no known common ancestor have 0 unless their unknown
// parents are in groups. It takes one step for each older bird that has young
// (about 20 µs in a pedigree of 20,000); the first call in a pedigree also works
// out the inbreeding of all its birds. The arithmetic is exact while the
// generations behind the two birds add up to no more than 52.
//
// Method: Meuwissen and Luo (1992), following both birds' lines at once.
func Kinship(p *Pedigree, a, b int) float64 {
	return p.model(body).pair(p.at(a), p.at(b))
}

// KinshipZ returns the kinship of two birds on the Z chromosome: the chance that a
// Z drawn from one and a Z drawn from the other are, at one place, copies of one
// ancestral Z. A hen has one Z, from her sire; a cock has one from each parent.
//
// It is symmetric, from 0 to 1. With itself a hen has 1, and a cock (1+F_Z)/2. The
// kinship of a pair is the F_Z of their sons. For a bird of unknown sex it is the
// mean of what it would be for a cock and for a hen. Cost and accuracy are those
// of [Kinship].
//
// Source: Fernando and Grossman (1990), sexes mirrored for birds.
func KinshipZ(p *Pedigree, a, b int) float64 {
	return p.model(onZ).pair(p.at(a), p.at(b))
}

// Inbreeding returns the inbreeding coefficient F of every bird by row: the chance
// that its two alleles at one place of a body chromosome are copies of one
// ancestral allele. It is 0 when a parent is unknown and in no group.
func Inbreeding(p *Pedigree) []float64 {
	m := p.model(body)
	f := make([]float64, p.Len())
	for at, k := range m.parentsK {
		f[p.row[at]] = k
	}
	return f
}

// InbreedingZ returns the inbreeding coefficient F_Z of every cock by row: the
// chance that his two Z chromosomes are, at one place, copies of one ancestral Z.
// A hen has one Z and no F_Z, and that of an unsexed bird is not known: for these
// has is false and f is 0.
func InbreedingZ(p *Pedigree) (f []float64, has []bool) {
	m := p.model(onZ)
	f, has = make([]float64, p.Len()), make([]bool, p.Len())
	for at, k := range m.parentsK {
		if p.sex[at] == Cock {
			f[p.row[at]], has[p.row[at]] = k, true
		}
	}
	return f, has
}

// KinshipMatrix returns the kinship of all pairs of a set: entry (i, j) is the
// kinship of birds[i] and birds[j]. It is symmetric; see [Kinship] for the range and the
// diagonal. It takes two steps for each ancestor and bird, shared between the
// processors, and memory for the matrix and eight values for each ancestor. The
// error is the context's.
//
// Method: Colleau (2002), eight birds at a time.
func KinshipMatrix(ctx context.Context, p *Pedigree, birds []int) ([][]float64, error) {
	return square(ctx, p, body, birds)
}

// KinshipMatrixZ is [KinshipMatrix] on the Z chromosome; see [KinshipZ].
func KinshipMatrixZ(ctx context.Context, p *Pedigree, birds []int) ([][]float64, error) {
	return square(ctx, p, onZ, birds)
}

// KinshipBlock returns the kinship of each bird of one set with each of another:
// entry (i, j) is that of a[i] and b[j], such as cocks by hens. Cost and error are
// those of [KinshipMatrix], counted over the birds of a.
func KinshipBlock(ctx context.Context, p *Pedigree, a, b []int) ([][]float64, error) {
	return block(ctx, p, body, a, b)
}

// KinshipBlockZ is [KinshipBlock] on the Z chromosome; see [KinshipZ].
func KinshipBlockZ(ctx context.Context, p *Pedigree, a, b []int) ([][]float64, error) {
	return block(ctx, p, onZ, a, b)
}

// square makes both halves the same to the last digit.
func square(ctx context.Context, p *Pedigree, c chromosome, birds []int) ([][]float64, error) {
	k, err := block(ctx, p, c, birds, birds)
	for i := range k {
		for j := range i {
			k[i][j] = k[j][i]
		}
	}
	return k, err
}

func block(ctx context.Context, p *Pedigree, c chromosome, a, b []int) ([][]float64, error) {
	m, err := p.lazy(c).get(ctx, p, c, unheard)
	if err != nil {
		return nil, err
	}
	rows, columns := p.places(a), p.places(b)
	wanted := make([]bool, len(m.nodes))
	for _, set := range [2][]int32{rows, columns} {
		for _, at := range set {
			for _, part := range m.parts(at) {
				if part.node >= 0 {
					wanted[part.node] = true
				}
			}
		}
	}
	v := m.view(wanted)
	out := make([][]float64, len(rows))
	all := make([]float64, len(rows)*len(columns))
	for i := range out {
		out[i] = all[i*len(columns) : (i+1)*len(columns) : (i+1)*len(columns)]
	}
	err = inBatches(ctx, len(rows), func() func(from, to int) {
		w := newWorker(v)
		return func(from, to int) {
			for lane, at := range rows[from:to] {
				for _, part := range m.parts(at) {
					if part.node >= 0 {
						w.start(v.at[part.node], lane, part.share)
					}
				}
			}
			for _, at := range columns {
				for _, part := range m.parts(at) {
					if part.node >= 0 {
						w.want(v.at[part.node])
					}
				}
			}
			x := w.run()
			for j, at := range columns {
				var sum [lanes]float64
				for _, part := range m.parts(at) {
					if part.node >= 0 {
						for lane, value := range x[v.at[part.node]] {
							sum[lane] += part.share * value
						}
					}
				}
				for lane := range to - from {
					out[from+lane][j] = sum[lane]
					if rows[from+lane] == at {
						out[from+lane][j] = m.selfAt(at)
					}
				}
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// MeanKinship returns the mean kinship of each bird of a set with the whole set,
// itself included (each, in the order of birds), and the mean over all of them. A
// bird listed twice counts twice. It takes O(n) time in the pedigree's length.
// Both are 0 for an empty set.
//
// A bird with low mean kinship carries what few others carry. Source: Ballou and
// Lacy (1995), from memory.
func MeanKinship(p *Pedigree, birds []int) (each []float64, all float64) {
	return p.model(body).mean(birds)
}

// MeanKinshipZ is [MeanKinship] on the Z chromosome, each bird counted once
// whatever its sex; see [KinshipZ].
func MeanKinshipZ(p *Pedigree, birds []int) (each []float64, all float64) {
	return p.model(onZ).mean(birds)
}

func (m *model) mean(birds []int) (each []float64, all float64) {
	each = make([]float64, len(birds))
	if len(birds) == 0 {
		return each, 0
	}
	places := m.p.places(birds)
	wanted := make([]bool, len(m.nodes))
	times := make(map[int32]int, len(places))
	for _, at := range places {
		times[at]++
		for _, part := range m.parts(at) {
			if part.node >= 0 {
				wanted[part.node] = true
			}
		}
	}
	v := m.view(wanted)
	w := newWorker(v)
	for _, at := range places {
		for _, part := range m.parts(at) {
			if part.node >= 0 {
				w.start(v.at[part.node], 0, part.share)
				w.want(v.at[part.node])
			}
		}
	}
	x := w.run()
	n := float64(len(birds))
	for i, at := range places {
		for _, part := range m.parts(at) {
			if part.node >= 0 {
				each[i] += part.share * x[v.at[part.node]][0]
			}
		}
		if m.node[at] < 0 {
			each[i] += m.ownChance(at) * float64(times[at])
		}
		each[i] /= n
		all += each[i] / n
	}
	return each, all
}

// GeneDiversity returns the share of the founders' gene diversity that a set of
// birds still has: one less its mean kinship. It is 0 for an empty set.
//
// Source: Lacy (1995), from memory.
func GeneDiversity(p *Pedigree, birds []int) float64 {
	if len(birds) == 0 {
		return 0
	}
	_, mk := MeanKinship(p, birds)
	return 1 - mk
}
