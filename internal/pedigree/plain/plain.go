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
