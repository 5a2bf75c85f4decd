package outcome

import (
	"fmt"

	"gonum.org/v1/gonum/mathext"
)

// Binomial returns the exact interval of Clopper and Pearson for the share behind k of n. The interval holds the
// true share at least as often as the level says, for few counts more often. With n = 0 nothing is known, and it is
// 0 to 1. lo is 0 when k is 0, and hi is 1 when k is n. The quantiles agree with reference values to 1e-8.
//
// It panics unless 0 <= k <= n and 0 < level < 1.
func Binomial(k, n int, level float64) (lo, hi float64) {
	if k < 0 || k > n || !(level > 0 && level < 1) {
		panic(fmt.Sprintf("outcome: Binomial of %d of %d at level %v", k, n, level))
	}
	lo, hi = 0, 1
	tail := (1 - level) / 2
	if k > 0 {
		lo = mathext.InvRegIncBeta(float64(k), float64(n-k+1), tail)
	}
	if k < n {
		hi = mathext.InvRegIncBeta(float64(k+1), float64(n-k), 1-tail)
	}
	return lo, hi
}
