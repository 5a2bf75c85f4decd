package nest

import (
	"math"
	"slices"
)

// Giving is why eggs or chicks should leave a nest.
type Giving int

// The reasons, from none to the most pressing.
const (
	GivesNone Giving = iota
	Overfull         // more young than the pair rears
	Tosses           // a pair known to throw out eggs or chicks
	Stranded         // a single chick that is left behind or cold
	EggBound         // the hen is being nursed and cannot sit
	Left             // the clutch or brood is deserted
)

// leastFit is the chance below which two nests are held to be too far apart.
const leastFit = 0.5

// How often eggs or chicks live that stay, by the reason to move them. Judgements, with no
// source; only their order weighs.
var stays = map[Giving]float64{Overfull: 0.55, Tosses: 0.35, Stranded: 0.3, EggBound: 0.1, Left: 0.02}

// FosterNest is a nest as a giver, a taker, or both at different times.
type FosterNest struct {
	Species int // index into the tables of [FosterRules]
	// Due is the day of the first hatch, past or to come, as chances: [Posterior.HatchDue].
	Due      When
	Eggs     int // eggs held for alive
	Chicks   int
	Gives    Giving
	Give     int     // how many of them should go; 0 reads as all
	Hosts    bool    // the pair may be given eggs or chicks
	Most     int     // eggs and chicks that the pair may have in all
	Steady   float64 // chance that the pair goes on: 1 less [Posterior.Deserted]
	Reared   int     // young that the pair reared as host, or of its own
	Lost     int     // and those that it lost
	Ringed   bool    // its chicks wear rings or marks
	Rejected []int   // indices of nests from which it must take nothing
}

// FosterRules are the rules of a room.
type FosterRules struct {
	// Compatible[i][j] is how well pairs of species j rear young of species i, from 0, never,
	// to 1, as their own.
	Compatible [][]float64
	// Alike[i][j] says that unringed young of the two cannot be told apart.
	Alike [][]bool
	// EggsWithin and ChicksWithin are the greatest differences of stage in days.
	EggsWithin, ChicksWithin int
	// LatestChick is the oldest that a chick may be to be moved.
	LatestChick int
	// CanMark says that the keeper marks chicks (a dab on the down, a split ring), so that
	// young of two nests may lie together.
	CanMark bool
}

// DefaultFosterRules are the windows of common practice, without a published source: eggs to
// nests whose own are due within two days, chicks to chicks within two days, none moved after
// the eighth day.
func DefaultFosterRules(species int) FosterRules {
	r := FosterRules{EggsWithin: 2, ChicksWithin: 2, LatestChick: 8}
	for i := range species {
		r.Compatible = append(r.Compatible, make([]float64, species))
		r.Alike = append(r.Alike, make([]bool, species))
		r.Compatible[i][i], r.Alike[i][i] = 1, true
	}
	return r
}

// FosterMove is eggs or chicks to be moved from one nest to another. Who laid and who rears
// stay two facts: nothing here says that parentage has changed.
type FosterMove struct {
	From, To     int
	Eggs, Chicks int
	// Gain is the mean number of them that live by it and would not have.
	Gain float64
	// Fits is the chance that the two nests are within the days of the rules.
	Fits float64
	Mark bool // mark or ring the chicks before they lie with others that look like them
}

// FosterPlan is the best set of moves for a room.
type FosterPlan struct {
	Moves []FosterMove
	Gain  float64
	// Stay are givers of which some stay where they are: no host takes them.
	Stay []int
}

// FosterPair says what one egg or chick gains by a move from one nest to another, the chance
// that the stages fit, and why not when it may not be: then gain is 0 and why says so.
//
// The gain is the chance to live with the host less that of staying. With the host it is the
// species' fit, the chance that the stages fit, the pair's own record as a share with one
// chick reared and one lost before any (the rule of succession, Laplace 1774), and the chance
// that the host goes on.
func FosterPair(nests []FosterNest, from, to int, today Day, r *FosterRules) (gain, fits float64, why string) {
	a, b := &nests[from], &nests[to]
	within := r.EggsWithin
	if a.Chicks > 0 {
		within = r.ChicksWithin
	}
	switch {
	case from == to:
		return 0, 0, "It is the same nest."
	case a.Gives == GivesNone:
		return 0, 0, "Nothing need leave this nest."
	case !b.Hosts || b.Gives != GivesNone:
		return 0, 0, "That pair takes none."
	case slices.Contains(b.Rejected, from):
		return 0, 0, "The keeper has ruled it out."
	case r.Compatible[a.Species][b.Species] <= 0:
		return 0, 0, "Pairs of that species do not rear these."
	case b.Eggs+b.Chicks >= b.Most:
		return 0, 0, "That nest is full."
	case a.Chicks > 0 && a.Due.Between(today-Day(r.LatestChick), today) < 0.5:
		return 0, 0, "The chicks are too old to be moved."
	case a.Chicks > 0 && b.Chicks == 0:
		return 0, 0, "Chicks go to chicks: that nest has none yet."
	case a.Chicks == 0 && b.Chicks > 0:
		return 0, 0, "Eggs do not go under chicks."
	case a.Chicks > 0 && !r.CanMark && !b.Ringed && r.Alike[a.Species][b.Species]:
		return 0, 0, "Unringed chicks of the two would be mixed up. Mark them, or ring first."
	}
	for _, d := range a.Due.Days {
		fits += d.P * b.Due.Between(d.Day-Day(within), d.Day+Day(within))
	}
	host := r.Compatible[a.Species][b.Species] * fits * float64(b.Reared+1) / float64(b.Reared+b.Lost+2) * min(max(b.Steady, 0), 1)
	gain = host - stays[a.Gives]
	if fits < leastFit {
		return 0, fits, "The two nests are too many days apart."
	}
	if gain <= 0 {
		return 0, fits, "They do no better there."
	}
	return gain, fits, ""
}

// FosterRoom returns the moves that save the most eggs and chicks of a room, each egg or
// chick once, no nest fuller than it may be, and no host with unmarked young of two nests
// that look alike.
//
// Without the last rule it is a transport problem, solved exactly by shortest ways of least
// cost (Ford and Fulkerson 1962, Flows in Networks, chapter III). Where a host would get
// young of two nests that may not be mixed, each of the two is forbidden in turn and the
// better is kept (branch and bound), so that the answer is the best there is.
func FosterRoom(nests []FosterNest, today Day, r *FosterRules) FosterPlan {
	var givers, hosts []int
	for i := range nests {
		if nests[i].Gives != GivesNone && nests[i].units() > 0 {
			givers = append(givers, i)
		}
		if n := &nests[i]; n.Hosts && n.Gives == GivesNone && n.Most > n.Eggs+n.Chicks {
			hosts = append(hosts, i)
		}
	}
	worth := make([][]float64, len(givers))
	for i, a := range givers {
		worth[i] = make([]float64, len(hosts))
		for j, b := range hosts {
			worth[i][j], _, _ = FosterPair(nests, a, b, today, r)
		}
	}
	have, room := make([]int, len(givers)), make([]int, len(hosts))
	for i, a := range givers {
		have[i] = nests[a].units()
	}
	for j, b := range hosts {
		room[j] = nests[b].Most - nests[b].Eggs - nests[b].Chicks
	}
	mixed := func(flow [][]int) (host, one, two int) {
		if r.CanMark {
			return -1, 0, 0
		}
		for j := range hosts {
			for i := range givers {
				for k := range i {
					if flow[i][j] > 0 && flow[k][j] > 0 && r.mix(&nests[givers[i]], &nests[givers[k]]) {
						return j, i, k
					}
				}
			}
		}
		return -1, 0, 0
	}
	var best [][]int
	top := -1.0
	var branch func(worth [][]float64)
	branch = func(worth [][]float64) {
		flow, gain := transport(worth, have, room)
		if gain <= top+1e-12 {
			return
		}
		j, i, k := mixed(flow)
		if j < 0 {
			best, top = flow, gain
			return
		}
		for _, not := range []int{i, k} {
			less := slices.Clone(worth)
			less[not] = slices.Clone(worth[not])
			less[not][j] = 0
			branch(less)
		}
	}
	branch(worth)
	plan := FosterPlan{Gain: max(top, 0)}
	for i, a := range givers {
		went := 0
		for j, b := range hosts {
			n := best[i][j]
			if n == 0 {
				continue
			}
			went += n
			gain, fits, _ := FosterPair(nests, a, b, today, r)
			m := FosterMove{From: a, To: b, Gain: gain * float64(n), Fits: fits}
			// Chicks first: eggs wait longer.
			if nests[a].Chicks > 0 {
				m.Chicks = n
			} else {
				m.Eggs = n
			}
			m.Mark = m.Chicks > 0 && r.Alike[nests[a].Species][nests[b].Species] && !nests[b].Ringed
			plan.Moves = append(plan.Moves, m)
		}
		if went < have[i] {
			plan.Stay = append(plan.Stay, a)
		}
	}
	return plan
}

// units are the eggs or chicks that should go. A nest with chicks gives chicks: its eggs are
// too near the hatch to be told apart by stage.
func (n *FosterNest) units() int {
	all := n.Eggs
	if n.Chicks > 0 {
		all = n.Chicks
	}
	if n.Give > 0 {
		return min(n.Give, all)
	}
	return all
}

// mix says that young of the two would be mixed up in one nest. Eggs bear a pencil mark.
func (r *FosterRules) mix(a, b *FosterNest) bool {
	return a.Chicks > 0 && b.Chicks > 0 && !(a.Ringed && b.Ringed) && r.Alike[a.Species][b.Species]
}

// transport sends up to have[i] units from each i to places j, up to room[j] in each, for the
// most worth; what gains nothing stays.
func transport(worth [][]float64, have, room []int) (flow [][]int, gain float64) {
	n, m := len(have), len(room)
	flow = make([][]int, n)
	for i := range flow {
		flow[i] = make([]int, m)
	}
	left, free := slices.Clone(have), slices.Clone(room)
	for {
		// The best way from a giver with units left to a host with room, over swaps, by
		// Bellman and Ford: at a host, what has been gained so far.
		gi, hj := make([]float64, n), make([]float64, m)
		byG, byH := make([]int, n), make([]int, m)
		for i := range gi {
			gi[i], byG[i] = math.Inf(-1), -1
			if left[i] > 0 {
				gi[i] = 0
			}
		}
		for j := range hj {
			hj[j], byH[j] = math.Inf(-1), -1
		}
		for changed, round := true, 0; changed && round <= n+m; round++ {
			changed = false
			for i := range n {
				if math.IsInf(gi[i], -1) {
					continue
				}
				for j := range m {
					if w := worth[i][j]; w > 0 && gi[i]+w > hj[j]+1e-12 {
						hj[j], byH[j], changed = gi[i]+w, i, true
					}
				}
			}
			for j := range m {
				if math.IsInf(hj[j], -1) {
					continue
				}
				for i := range n {
					if flow[i][j] > 0 && hj[j]-worth[i][j] > gi[i]+1e-12 {
						gi[i], byG[i], changed = hj[j]-worth[i][j], j, true
					}
				}
			}
		}
		end, top := -1, 1e-12
		for j := range m {
			if free[j] > 0 && hj[j] > top {
				end, top = j, hj[j]
			}
		}
		if end < 0 {
			return flow, gain
		}
		gain += top
		free[end]--
		for j := end; ; {
			i := byH[j]
			flow[i][j]++
			if byG[i] < 0 {
				left[i]--
				break
			}
			j = byG[i]
			flow[i][j]--
		}
	}
}
