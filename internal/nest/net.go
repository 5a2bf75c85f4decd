package nest

import "math"

// The nodes of the net: the day everything is counted from, and the events that bear on
// one another.
const (
	origin = iota
	nodeFirst
	nodeSitting
	nodeComplete
	nodeHatch
	nodeLast
	nodeOut
	nodes
)

// slip is the rounding that sums of days are forgiven.
const slip = 1e-6

// net is a simple temporal network, kept closed: net[i][j] is the largest that day j
// minus day i can be. Every range it gives is the tightest that its constraints allow,
// so a further constraint that fits can only narrow the ranges.
//
// Dechter, Meiri and Pearl (1991), Temporal constraint networks, Artificial
// Intelligence 49, 61-95 (theorem 2.1 and section 3).
type net [nodes][nodes]float64

func newNet() net {
	var n net
	for i := range n {
		for j := range n[i] {
			if i != j {
				n[i][j] = math.Inf(1)
			}
		}
	}
	return n
}

// add demands x_j - x_i <= w. It returns false, and changes nothing, when that cannot be.
func (n *net) add(i, j int, w float64) bool {
	if w >= n[i][j] {
		return true
	}
	if w+n[j][i] < -slip {
		return false
	}
	if w < -n[j][i] { // equal but for rounding
		w = -n[j][i]
	}
	for a := range n {
		ai := n[a][i]
		if math.IsInf(ai, 1) {
			continue
		}
		for b := range n {
			if d := ai + w + n[j][b]; d < n[a][b] {
				n[a][b] = d
			}
		}
	}
	return true
}

// between demands lo <= x_j - x_i <= hi.
func (n *net) between(i, j int, lo, hi float64) bool {
	return n.add(i, j, hi) && n.add(j, i, -lo)
}

func (n *net) lo(i int) float64    { return -n[i][origin] }
func (n *net) hi(i int) float64    { return n[origin][i] }
func (n *net) width(i int) float64 { return n.hi(i) - n.lo(i) }

// bounded says that node i has an earliest and a latest day.
func (n *net) bounded(i int) bool {
	return !math.IsInf(n[i][origin], 1) && !math.IsInf(n[origin][i], 1)
}
