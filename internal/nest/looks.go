package nest

import (
	"cmp"
	"slices"
)

const (
	// farDay is beyond any civil day a keeper means; it keeps sums of days inside int.
	farDay = Day(1 << 28)
	// mostCount is beyond any count in one nest; a larger one is a slip of the thumb.
	mostCount = 100
	// soonestHatch is the fewest days from a first egg to a chick. The shortest
	// incubation of the profiles is 11 days, so young seen sooner after a further clutch
	// began are the earlier clutch's.
	soonestHatch = 10
)

// Clutches splits the looks of one nest at each NewClutch look, oldest clutch first. The
// looks come back in order of time. Young that are counted, ringed, parted or moved too
// soon after a further clutch began to be its own go to the clutch before.
func Clutches(looks []Look) [][]Look {
	sorted := make([]Look, len(looks))
	for i, l := range looks {
		sorted[i] = l.clean()
	}
	slices.SortStableFunc(sorted, func(a, b Look) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Minute, b.Minute))
	})
	var all [][]Look
	for i, l := range sorted {
		if i == 0 || l.NewClutch {
			all = append(all, nil)
		}
		k := len(all) - 1
		if k > 0 {
			began := sorted[i].Day
			if len(all[k]) > 0 {
				began = all[k][0].Day
			}
			if l.Day-began < soonestHatch {
				if young, some := l.youngOnly(); some {
					all[k-1] = append(all[k-1], young)
				}
				l = l.withoutYoung()
			}
		}
		all[k] = append(all[k], l)
	}
	return all
}

// youngOnly returns what the look says of young, and whether that is anything.
func (l Look) youngOnly() (Look, bool) {
	y := Look{
		Day: l.Day, Minute: l.Minute,
		Chicks: l.Chicks, DeadChicks: l.DeadChicks, Out: l.Out,
		AgeDays: l.AgeDays, AgePlusMinus: l.AgePlusMinus,
		ChicksMovedIn: l.ChicksMovedIn, ChicksMovedOut: l.ChicksMovedOut,
		Ringed: l.Ringed, Weaned: l.Weaned,
	}
	some := y.Chicks != nil || y.DeadChicks != nil || y.Out != nil || y.AgeDays != nil ||
		y.ChicksMovedIn+y.ChicksMovedOut+y.Ringed+y.Weaned > 0
	return y, some
}

func (l Look) withoutYoung() Look {
	l.Chicks, l.DeadChicks, l.Out, l.AgeDays, l.AgePlusMinus = nil, nil, nil, nil, nil
	l.ChicksMovedIn, l.ChicksMovedOut, l.Ringed, l.Weaned = 0, 0, 0, 0
	return l
}

// clean returns the look with every day and count inside its range: a negative count is
// taken as not counted.
func (l Look) clean() Look {
	l.Day = min(max(l.Day, -farDay), farDay)
	if l.Minute < 0 || l.Minute >= 24*60 {
		l.Minute = -1
	}
	for _, c := range []**int{&l.Eggs, &l.EggsAtLeast, &l.Chicks, &l.DeadChicks, &l.Out, &l.AgeDays, &l.AgePlusMinus} {
		switch {
		case *c == nil:
		case **c < 0:
			*c = nil
		case **c > mostCount:
			*c = new(mostCount)
		}
	}
	for _, c := range []*int{
		&l.OldEggs, &l.Fertile, &l.Clear, &l.EarlyDead, &l.DeadInShell, &l.Cracked, &l.EggsRemoved,
		&l.EggsMovedIn, &l.EggsMovedOut, &l.ChicksMovedIn, &l.ChicksMovedOut, &l.Ringed, &l.Weaned,
	} {
		*c = min(max(*c, 0), mostCount)
	}
	if l.Fertile+l.Clear+l.EarlyDead+l.DeadInShell+l.Cracked > 0 {
		l.Candled = true
	}
	if w := l.EggsDue; w != nil && !(w.Early <= w.Likely && w.Likely <= w.Late && w.Early >= -farDay && w.Late <= farDay) {
		l.EggsDue = nil
	}
	return l
}

// found is one look with what the looks before it add.
type found struct {
	Look
	eggs    int // this clutch's eggs in the nest, counted or at least; -1 when not counted
	exact   bool
	own     int // eggs laid here by this look, at least
	hatched int // young hatched here or brought here by this look, at least

	dead, weaned, ringed         int // running sums, this look included
	eggsIn, eggsOut, eggsTaken   int // running sums before this look
	chicksIn, chicksOut, outBest int
}

// reckon works through the looks of one clutch in order of time.
func reckon(looks []Look) []found {
	out := make([]found, 0, len(looks))
	var f found // the running sums
	var old int
	for i, l := range looks {
		f.Look = l
		if i == 0 {
			old = l.OldEggs
		}
		f.dead += val(l.DeadChicks)
		f.eggs, f.exact = -1, false
		if l.Eggs != nil {
			f.eggs, f.exact = max(0, *l.Eggs-old), true
		} else if l.EggsAtLeast != nil {
			f.eggs = max(0, *l.EggsAtLeast-old)
		}
		if l.Candled && f.eggs < 0 {
			// Candled eggs were in hand, so there were at least so many.
			f.eggs = max(0, l.Fertile+l.Clear+l.EarlyDead+l.DeadInShell+l.Cracked-old)
		}
		if l.Out != nil {
			f.outBest = max(f.outBest, *l.Out+f.weaned)
		}
		young := val(l.Chicks) + val(l.Out) + f.dead + f.weaned + f.chicksOut
		f.weaned += l.Weaned
		f.ringed += l.Ringed
		f.hatched = max(f.hatched, young-f.chicksIn, f.weaned+f.chicksOut+f.dead-f.chicksIn, f.ringed-f.chicksIn)
		if f.eggs >= 0 {
			f.own = max(f.own, f.total())
		}
		f.own = max(f.own, f.hatched-f.eggsIn, l.EggsRemoved+f.eggsTaken-old-f.eggsIn)
		out = append(out, f)

		taken := l.EggsRemoved
		fromOld := min(taken, old)
		old -= fromOld
		f.eggsTaken += taken - fromOld
		f.eggsIn += l.EggsMovedIn
		f.eggsOut += l.EggsMovedOut
		f.chicksIn += l.ChicksMovedIn
		f.chicksOut += l.ChicksMovedOut
	}
	return out
}

// total returns the eggs laid here that this look's own counts account for.
func (f found) total() int {
	return f.eggs + f.eggsTaken + f.eggsOut - f.eggsIn + f.hatched
}

// young says that the look shows chicks or young, alive or dead.
func (f found) young() bool {
	return val(f.Chicks)+val(f.DeadChicks)+val(f.Out)+f.Ringed+f.Weaned+f.ChicksMovedOut > 0 || f.AgeDays != nil
}

func val(n *int) int {
	if n == nil {
		return 0
	}
	return *n
}
