package nest

// Count is one count of a clutch, from the looks alone.
type Count struct {
	N       int
	Known   bool // false when no look says anything of it
	AtLeast bool // there may be more than N
}

// Counts sums up a clutch. Candled eggs are counted by what was seen, each once, as far
// as the looks can tell: eggs found bad and left in are not counted again.
type Counts struct {
	Laid                                            Count // here; eggs moved in are not among them
	Fertile, Clear, EarlyDead, DeadInShell, Cracked Count
	Removed                                         Count // eggs taken out
	MovedIn, MovedOut                               Count // eggs
	Hatched                                         Count // here
	ChicksIn, ChicksOut                             Count // chicks moved in and out
	Died                                            Count // found dead
	Out, Ringed, Weaned                             Count
	EggsUnaccounted                                 Count // laid or moved in, and neither in the nest, hatched, taken nor moved out
	YoungUnaccounted                                Count // hatched or moved in, and neither alive, found dead, parted nor moved out
}

func (in *input) counts() Counts {
	var c Counts
	if len(in.looks) == 0 {
		return c
	}
	last := in.last()
	asFound := false
	for _, f := range in.looks {
		asFound = asFound || f.Found
	}
	sum := func(of func(l *found) int) Count {
		n := 0
		for i := range in.looks {
			n += of(&in.looks[i])
		}
		return Count{N: n, Known: true, AtLeast: asFound}
	}
	if in.eggsAt >= 0 {
		whole := in.closed && in.noneBefore >= 0 && !asFound
		c.Laid = Count{N: last.own, Known: true, AtLeast: !whole || in.lateAt >= 0}
	} else if in.noneBefore >= 0 {
		c.Laid = Count{Known: true}
	}
	in.candled(&c, asFound)
	c.Removed = sum(func(l *found) int { return l.EggsRemoved })
	c.Removed.N -= in.looks[0].OldEggs
	c.Removed.N = max(0, c.Removed.N)
	c.MovedIn = sum(func(l *found) int { return l.EggsMovedIn })
	c.MovedOut = sum(func(l *found) int { return l.EggsMovedOut })
	c.ChicksIn = sum(func(l *found) int { return l.ChicksMovedIn })
	c.ChicksOut = sum(func(l *found) int { return l.ChicksMovedOut })
	if in.youngAt >= 0 {
		c.Hatched = Count{N: last.hatched, Known: true, AtLeast: true}
		c.Died = Count{N: last.dead, Known: true, AtLeast: true}
	} else if in.noYoungBefore >= 0 {
		c.Hatched = Count{Known: true}
	}
	if in.outAt >= 0 {
		n := max(last.outBest, last.weaned)
		c.Out = Count{N: n, Known: true, AtLeast: n < last.hatched+last.chicksIn-last.dead}
	} else if in.noOutBefore >= 0 {
		c.Out = Count{Known: true}
	}
	c.Ringed = sum(func(l *found) int { return l.Ringed })
	c.Weaned = sum(func(l *found) int { return l.Weaned })

	eggs, young := in.left()
	if eggs >= 0 && c.Laid.Known {
		n := last.own + c.MovedIn.N - eggs - last.hatched - c.Removed.N - c.MovedOut.N
		c.EggsUnaccounted = Count{N: max(0, n), Known: true, AtLeast: false}
	}
	if young >= 0 && in.youngAt >= 0 {
		n := last.hatched + c.ChicksIn.N - young - last.dead - last.weaned - c.ChicksOut.N
		c.YoungUnaccounted = Count{N: max(0, n), Known: true}
	}
	return c
}

// candled adds up what candling showed. An egg found bad and left in is not counted again
// at the next candling. Which of the bad eggs were taken out between is not told, so as
// many as may be are held to be the ones still seen.
func (in *input) candled(c *Counts, asFound bool) {
	candled := false
	var total, lying [4]int
	fertile, taken := 0, 0
	for i := range in.looks {
		f := &in.looks[i]
		if f.Candled {
			candled = true
			bad := [4]int{f.Clear, f.EarlyDead, f.DeadInShell, f.Cracked}
			left := max(0, lying[0]+lying[1]+lying[2]+lying[3]-taken)
			for k, n := range bad {
				again := min(left, lying[k], n)
				left -= again
				total[k] += n - again
			}
			lying, taken = bad, 0
			fertile = max(fertile, f.Fertile)
		}
		taken += f.EggsRemoved
	}
	if !candled {
		return
	}
	c.Fertile = Count{N: fertile, Known: true, AtLeast: true}
	for k, to := range []*Count{&c.Clear, &c.EarlyDead, &c.DeadInShell, &c.Cracked} {
		*to = Count{N: total[k], Known: true, AtLeast: asFound}
	}
}
