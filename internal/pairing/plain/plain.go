// Package plain holds the obvious, slow version of the algorithms in package
// pairing. Tests compare the two.
package plain

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
