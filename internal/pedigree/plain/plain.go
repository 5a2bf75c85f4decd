// Package plain holds the obvious, slow version of the quantities in package
// pedigree, written straight from their definitions. Tests compare the two; readers
// who want to know what a quantity means should start here.
//
// Everywhere, sire[i] and dam[i] are the rows of the parents of bird i, or -1, and
// parents stand before their young.
package plain

const unknown = -1

// Kinship is Wright's definition, read aloud. Take the younger of the two birds:
// the allele drawn from it came from its sire or its dam with equal chance, so
// step back to each in turn. It takes exponential time.
func Kinship(sire, dam []int, i, j int) float64 {
	switch {
	case i == unknown || j == unknown:
		return 0
	case i == j:
		return (1 + Kinship(sire, dam, sire[i], dam[i])) / 2
	case i > j:
		i, j = j, i
	}
	return (Kinship(sire, dam, i, sire[j]) + Kinship(sire, dam, i, dam[j])) / 2
}

// KinshipZ is the same for the Z chromosome: a hen's one Z came from her sire.
func KinshipZ(sire, dam []int, hen []bool, i, j int) float64 {
	switch {
	case i == unknown || j == unknown:
		return 0
	case i == j && hen[i]:
		return 1
	case i == j:
		return (1 + KinshipZ(sire, dam, hen, sire[i], dam[i])) / 2
	case i > j:
		i, j = j, i
	}
	if hen[j] {
		return KinshipZ(sire, dam, hen, i, sire[j])
	}
	return (KinshipZ(sire, dam, hen, i, sire[j]) + KinshipZ(sire, dam, hen, i, dam[j])) / 2
}

// Group is the node of an unknown parent out of group g, to stand in sire or dam.
func Group(g int) int { return -2 - g }

// KinshipGroups is Kinship with some unknown parents in groups: k[g][h] is the
// kinship assumed between an unknown parent of group g and one of group h.
func KinshipGroups(sire, dam []int, k [][]float64, i, j int) float64 {
	if i > j {
		i, j = j, i
	}
	switch {
	case i == unknown || j == unknown:
		return 0
	case j < unknown:
		return k[-2-i][-2-j]
	case i == j:
		return (1 + KinshipGroups(sire, dam, k, sire[i], dam[i])) / 2
	}
	return (KinshipGroups(sire, dam, k, i, sire[j]) + KinshipGroups(sire, dam, k, i, dam[j])) / 2
}

// Matrix is Kinship of all pairs by the table method: a row of older birds serves
// the younger (Emik and Terrill 1949).
func Matrix(sire, dam []int) [][]float64 {
	k := make([][]float64, len(sire))
	at := func(i, j int) float64 {
		if i == unknown || j == unknown {
			return 0
		}
		return k[i][j]
	}
	for j := range k {
		k[j] = make([]float64, len(k))
		for i := range j {
			k[i][j] = (at(i, sire[j]) + at(i, dam[j])) / 2
			k[j][i] = k[i][j]
		}
		k[j][j] = (1 + at(sire[j], dam[j])) / 2
	}
	return k
}

// Inbreeding follows each bird's own line back by itself, as Meuwissen and Luo
// (1992) do: f of bird i is the sum of L² D over its ancestors, less one.
func Inbreeding(sire, dam []int) []float64 {
	f := make([]float64, len(sire))
	of := func(parent int) float64 {
		if parent == unknown {
			return -1
		}
		return f[parent]
	}
	l := make([]float64, len(sire))
	for i := range sire {
		if sire[i] == unknown || dam[i] == unknown {
			continue
		}
		sum := 0.0
		l[i] = 1
		for j := i; j >= 0; j-- {
			if l[j] == 0 {
				continue
			}
			sum += l[j] * l[j] * (0.5 - (of(sire[j])+of(dam[j]))/4)
			for _, parent := range [2]int{sire[j], dam[j]} {
				if parent != unknown {
					l[parent] += l[j] / 2
				}
			}
			l[j] = 0
		}
		f[i] = sum - 1
	}
	return f
}

// Contribution is the share of bird's alleles that came from the bird from.
func Contribution(sire, dam []int, bird, from int) float64 {
	switch bird {
	case unknown:
		return 0
	case from:
		return 1
	}
	return (Contribution(sire, dam, sire[bird], from) + Contribution(sire, dam, dam[bird], from)) / 2
}

// KnownAncestors is the share of a bird's ancestors known so many generations back;
// its parents are one generation back.
func KnownAncestors(sire, dam []int, bird, generations int) float64 {
	switch {
	case bird == unknown:
		return 0
	case generations == 0:
		return 1
	}
	return (KnownAncestors(sire, dam, sire[bird], generations-1) + KnownAncestors(sire, dam, dam[bird], generations-1)) / 2
}

// Retention is the mean share of the two alleles of a founder that are still in a
// set of birds, over all ways in which alleles can come down. It takes 4^n time in
// the number of birds with parents; all parents of a bird are known or none.
func Retention(sire, dam []int, set []int, founder int) float64 {
	var bred []int
	for i := range sire {
		if sire[i] != unknown {
			bred = append(bred, i)
		}
	}
	alleles := make([][2]int, len(sire))
	total, ways := 0.0, 1<<(2*len(bred))
	for way := range ways {
		for i := range sire {
			alleles[i] = [2]int{2 * i, 2*i + 1}
		}
		for k, i := range bred {
			alleles[i] = [2]int{alleles[sire[i]][way>>(2*k)&1], alleles[dam[i]][way>>(2*k+1)&1]}
		}
		seen := map[int]bool{}
		for _, i := range set {
			for _, a := range alleles[i] {
				if a/2 == founder {
					seen[a] = true
				}
			}
		}
		total += float64(len(seen)) / 2
	}
	return total / float64(ways)
}
