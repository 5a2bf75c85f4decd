package pedigree

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
