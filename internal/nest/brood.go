package nest

import "math"

// brood follows a clutch from its last egg on, for one day of the first hatch after another.
//
// For each such day it goes forward over the looks (what lies in the nest, given what was
// seen) and then backward (what is still to be seen, given what lies in the nest). Only what
// has weight is followed.
type brood struct {
	r    *reader
	m    *Model
	all  []sight
	most int
	hs   int // hatched so far: 0 to most
	c0   int // the first day on which the last egg may be laid
	lo   int // the first look that may come after the last egg

	pre, post []*layer // before what was done at the look, and after; the same where nothing was
	acts      []*ways  // what the keeper's hand did; nil where nothing was done
	into      []*ways  // from the look before, for the day of hatch in hand
	still     []*ways  // the same while no hatch is due, for all days of hatch
	gate      *layer   // on the eve of the first hatch, where no look came since the last egg
	pass      *ways    // from there to the look

	when          []entrance // by day of the last egg
	eAlive, eGone [][]float64
	alive, failed [][]float64
	live          []float64 // weight on the day of hatch by eggs that will hatch, no look since
	later         [mostEggs + 1]ahead
	best          float64 // weight of all days of hatch so far

	// Sums over days of hatch. Days count from r.a0+r.h0.
	hatchW, lastW, fledgeW, weanW, partW []float64
	hatched, eggs, chicks, fert          []float64
	young, deserted, overdue             float64
	ageW                                 []float64  // by age at the first fledging
	made                                 [3]float64 // eggs told of that will hatch, die and never lived
	outBy                                []float64
}

// entrance is where a clutch that is complete on a day enters: at a look before the day of
// hatch, at the gate, or nowhere, when no look follows.
type entrance struct {
	t, day, net int
}

type ahead struct {
	ok          bool
	total, last []float64
}

// layer is a block with the weights of the entries in use. The numbers of an entry stand at
// the place of the entry in list.
type layer struct {
	block
	place []int16   // by entry: its place and one; 0 when not in use
	list  []int32   // the entries in use
	a     []float64 // forward, by place and hatched so far
	sum   []float64 // forward, by place
	floor float64   // entries of no more weight are not followed further, forward or back
	w     []float64 // how well an entry goes with the look
	b, z  []float64 // backward: chance of what is seen from here on; and that no egg hatches after
}

func (l *layer) open() *layer {
	l.lay()
	l.place = make([]int16, l.size())
	return l
}

// touch returns the place of an entry.
func (l *layer) touch(at, hs int) int {
	if p := l.place[at]; p > 0 {
		return int(p) - 1
	}
	n := len(l.list)
	l.list = append(l.list, int32(at))
	l.place[at] = int16(n + 1)
	for range hs {
		l.a = append(l.a, 0)
	}
	l.sum, l.w, l.b, l.z = append(l.sum, 0), append(l.w, 0), append(l.b, 0), append(l.z, 0)
	return n
}

// back is the chance of what is seen from an entry on; 0 for one not in use.
func (l *layer) back(at int) float64 {
	if p := l.place[at]; p > 0 {
		return l.b[p-1]
	}
	return 0
}

// wipe makes ready for another day of hatch.
func (l *layer) wipe() {
	for _, at := range l.list {
		l.place[at] = 0
	}
	l.list, l.a, l.sum, l.w, l.b, l.z = l.list[:0], l.a[:0], l.sum[:0], l.w[:0], l.b[:0], l.z[:0]
}

// ways are the edges out of the entries of a block, worked out as they are needed.
type ways struct {
	interval
	ready  bool
	edges  []edge
	lo, hi []int32
	stamp  []int32
	now    int32
}

func newWays(size int) *ways {
	return &ways{lo: make([]int32, size), hi: make([]int32, size), stamp: make([]int32, size), now: 1}
}

// renew forgets all edges.
func (w *ways) renew() {
	w.edges = w.edges[:0]
	w.now++
}

func (w *ways) out(at int32) []edge {
	if w.stamp[at] != w.now {
		lo := len(w.edges)
		w.edges = w.from(w.edges, int(at))
		w.lo[at], w.hi[at], w.stamp[at] = int32(lo), int32(len(w.edges)), w.now
	}
	return w.edges[w.lo[at]:w.hi[at]]
}

// known is what out gave; nothing where it was not asked.
func (w *ways) known(at int32) []edge {
	if w.stamp[at] != w.now {
		return nil
	}
	return w.edges[w.lo[at]:w.hi[at]]
}

func newBrood(r *reader, c0, c1 int) *brood {
	b := &brood{r: r, m: r.m, all: r.all, most: r.most, hs: r.most + 1, c0: c0}
	end := len(b.all)
	b.lo = end
	plain := true
	for i := range b.all {
		if b.all[i].laid >= c0 && b.lo == end {
			b.lo = i
		}
		plain = plain && !b.all[i].candle
	}
	b.when = make([]entrance, c1-c0+1)
	b.pre, b.post = make([]*layer, end), make([]*layer, end)
	b.acts, b.into, b.still = make([]*ways, end), make([]*ways, end), make([]*ways, end)
	b.eAlive, b.eGone, b.alive, b.failed = make([][]float64, end), make([][]float64, end), make([][]float64, end), make([][]float64, end)
	store := make([]float64, 4*end*(b.most+1))
	for i := b.lo; i < end; i++ {
		for _, x := range []*[]float64{&b.eAlive[i], &b.eGone[i], &b.alive[i], &b.failed[i]} {
			*x, store = store[:b.most+1:b.most+1], store[b.most+1:]
		}
		b.open(i, plain)
	}
	b.live = make([]float64, b.most+1)
	b.outBy = make([]float64, end)
	long := r.h1 - r.h0 + 1
	b.hatchW = make([]float64, long)
	b.lastW = make([]float64, long+longestSpread)
	b.fledgeW = make([]float64, long+b.m.fledge.hi())
	b.weanW = make([]float64, long+b.m.independent.hi())
	b.partW = make([]float64, long+int(math.Ceil(b.m.profile.IndependenceAge.High)))
	b.ageW = make([]float64, len(b.m.fledge.p))
	b.hatched, b.eggs, b.chicks, b.fert = make([]float64, 2*mostEggs+1), make([]float64, mostEggs+1), make([]float64, mostEggs+1), make([]float64, mostEggs+1)
	return b
}

// open sets up the blocks of a look.
func (b *brood) open(t int, plain bool) {
	s, r := &b.all[t], b.r
	due := r.h0 + r.a0
	p := &layer{}
	p.plain = plain
	p.eLo, p.eHi = 0, min(max(r.nHi+s.net+s.slack, 0), b.most)
	if s.eggs >= 0 {
		p.eLo = max(0, s.eggs-s.slack)
		if s.exact {
			p.eHi = min(s.eggs+s.slack, b.most)
		}
	}
	// Every chick took an egg.
	chicks := min(b.most, max(0, r.nHi+s.net-p.eLo+max(s.chNet, 0))+2*s.slack)
	p.cLo, p.cHi = max(0, s.leastCh-s.slack), chicks
	if s.day < due {
		p.cHi = min(p.cHi, max(s.chNet, 0)+s.slack)
	}
	if s.chicks >= 0 {
		p.cLo, p.cHi = max(p.cLo, s.chicks-s.slack), min(p.cHi, s.chicks+s.slack)
	}
	p.oLo, p.oHi = 1, 0
	if s.day >= due+b.m.fledge.lo {
		p.oLo, p.oHi = max(0, s.leastCh-s.slack, s.chicks-s.slack, s.out-s.slack), chicks
	}
	if s.out > 0 {
		p.cLo, p.cHi = 1, 0
	}
	p.lives = max(s.out, s.chicks, s.leastCh) > s.slack
	b.pre[t] = p.open()
	b.post[t] = p
	if !s.acts() {
		return
	}
	take := func(e int) int { return min(max(0, e-s.removed-s.movedOut)+s.movedIn, mostEggs) }
	q := &layer{}
	q.plain = plain
	q.eLo, q.eHi = take(p.eLo), take(p.eHi)
	q.cLo, q.cHi, q.oLo, q.oHi = s.stay(p.cLo), s.stay(p.cHi), s.stay(p.oLo), s.stay(p.oHi)
	if p.eHi < p.eLo {
		q.eLo, q.eHi = 1, 0
	}
	if p.cHi < p.cLo {
		q.cLo, q.cHi = 1, 0
	}
	if p.oHi < p.oLo {
		q.oLo, q.oHi = 1, 0
	}
	b.post[t] = q.open()
	b.acts[t] = newWays(p.size())
}

// stay is how many chicks the keeper's hand leaves.
func (s *sight) stay(ch int) int { return min(max(0, ch-s.chOut-s.weaned)+s.chIn, mostEggs) }

// fits is how well an entry goes with what was seen, all but candling and age.
func (b *brood) fits(t int, st state) float64 {
	s := &b.all[t]
	e, ch := int(st.v+st.d+st.c), int(st.ch)
	w := 1.0
	if s.eggs >= 0 && (s.exact || e < s.eggs) {
		w = off(s.eggs, e)
	}
	if s.leastCh > ch {
		w *= off(s.leastCh, ch)
	}
	switch st.kind {
	case brooding:
		w *= told(s.sits, 0.8) * told(s.complete, 0.9)
		if s.chicks >= 0 {
			w *= off(s.chicks, ch)
		}
	case leaving:
		w *= s.flown(ch)
	case gone:
		w *= told(s.sits, 0.03) * told(s.complete, 0.9)
		if s.chicks >= 0 {
			w *= off(s.chicks, 0)
		}
		if s.out > 0 {
			w *= off(s.out, 0)
		}
		if b.pre[t].lives {
			w = 0
		}
	}
	return w
}

// flown is the chance of the counts of young in the nest and out of it, when ch live and
// at least one is out. How many of them are in the nest at the look is anything.
func (s *sight) flown(ch int) float64 {
	if s.chicks < 0 && s.out < 0 {
		return 1
	}
	var sum float64
	for in := 0; in < max(ch, 1); in++ {
		p := 1 / float64(max(ch, 1))
		if s.chicks >= 0 {
			if max(s.chicks-in, in-s.chicks) > s.slack {
				continue
			}
			p *= off(s.chicks, in)
		}
		if s.out >= 0 {
			p *= s.outTold(ch - in)
		}
		sum += p
	}
	return sum
}

// outTold is the chance that the keeper counts so many out, when n are.
func (s *sight) outTold(n int) float64 {
	switch {
	case s.out > n:
		if s.out-n > s.slack {
			return 0
		}
		return off(s.out, n)
	case n == 0:
		return 1
	case s.out == 0:
		return outMissed
	case n == 1:
		return 1 - outMissed
	case s.out == n:
		return outTold
	}
	return (1 - outTold - outMissed) / float64(n-1)
}

// handled adds the ways in which the keeper's hand changed an entry.
func (b *brood) handled(t int, at int32) []edge {
	w := b.acts[t]
	if w.stamp[at] == w.now {
		return w.edges[w.lo[at]:w.hi[at]]
	}
	s, q := &b.all[t], b.post[t]
	st := b.pre[t].who[at]
	ch := s.stay(int(st.ch))
	lo := len(w.edges)
	b.hand(s, int(st.v), int(st.d), int(st.c), q.plain, func(v, d, c int, p float64) {
		e := v + d + c
		var to int
		switch st.kind {
		case brooding:
			to = q.alive(v, d, e, ch)
		case leaving:
			to = q.out(v+d, e, ch)
		default:
			to = q.failed(v+d, e)
		}
		w.edges = append(w.edges, edge{p: p, to: int16(to)})
	})
	w.lo[at], w.hi[at], w.stamp[at] = int32(lo), int32(len(w.edges)), w.now
	return w.edges[lo:]
}

// hand tells what is left of v, d and c eggs when the keeper took, gave away and added.
// After a candling, the clear are taken first, then the dead; and the living are given away
// first. Before it, any egg may be the one.
func (b *brood) hand(s *sight, v, d, c int, plain bool, is func(v, d, c int, p float64)) {
	out := func(n int, order [3]int, from [3]int, then func(left [3]int, p float64)) {
		n = min(n, from[0]+from[1]+from[2])
		if s.candled || n == 0 {
			for _, k := range order {
				x := min(n, from[k])
				from[k] -= x
				n -= x
			}
			then(from, 1)
			return
		}
		e := from[0] + from[1] + from[2]
		for x := 0; x <= min(n, from[0]); x++ {
			for y := 0; y <= min(n-x, from[1]); y++ {
				if z := n - x - y; z <= from[2] {
					p := choose[from[0]][x] * choose[from[1]][y] * choose[from[2]][z] / choose[e][n]
					then([3]int{from[0] - x, from[1] - y, from[2] - z}, p)
				}
			}
		}
	}
	out(s.removed, [3]int{2, 1, 0}, [3]int{v, d, c}, func(left [3]int, p1 float64) {
		out(s.movedOut, [3]int{0, 1, 2}, left, func(left [3]int, p2 float64) {
			add := min(s.movedIn, mostEggs-left[0]-left[1]-left[2])
			for v2 := 0; v2 <= add; v2++ {
				if plain {
					is(left[0]+v2, left[1]+add-v2, left[2], p1*p2*b.m.hatch[add][v2])
					continue
				}
				for d2 := 0; d2 <= add-v2; d2++ {
					p := p1 * p2 * b.m.comp[add][tri(v2, d2, add)]
					is(left[0]+v2, left[1]+d2, left[2]+add-v2-d2, p)
				}
			}
		})
	})
}

// candled is what candling and the age of chicks add to how well an entry goes with a look.
func (b *brood) candled(s *sight, l *lamp, st state) float64 {
	if !s.candle {
		return 1
	}
	return s.shows(l, int(st.v), int(st.d), int(st.c))
}

func (b *brood) at(t int) moment { return moment{b.all[t].day, b.all[t].part} }

// road returns the ways into look t from the look before, for the first hatch on day h.
func (b *brood) road(t, h int) *ways {
	s := &b.all[t]
	list := b.into
	if s.day < h {
		list = b.still
	}
	w := list[t]
	if w == nil {
		w = newWays(b.post[t-1].size())
		list[t] = w
	}
	if s.day < h && w.ready {
		return w
	}
	w.renew()
	w.set(b.m, &b.post[t-1].block, &b.pre[t].block, b.at(t-1), b.at(t), h, s.dead, max(s.chNet, 0))
	w.ready = true
	return w
}

const (
	// dropped is the share of all weight below which an entry is not followed.
	dropped = 1e-8
	// droppedFirst is the same within the first day of hatch gone through, when the weight of
	// all is not known.
	droppedFirst = 1e-11
)

// hatchOn takes the weights of the clutches whose first egg is due to hatch on day h, by day
// of the last egg and number of eggs, and fills in value with the chance of all looks from
// the last egg on for each.
func (b *brood) hatchOn(h int, entry, value []float64) {
	end := len(b.all)
	perC := b.r.n + 1
	foster := b.r.foster >= 0
	gateAt := end // the first look on the day of hatch or later
	for t := b.lo; t < end; t++ {
		if b.all[t].day >= h {
			gateAt = t
			break
		}
	}
	for t := b.lo; t < end; t++ {
		clear(b.eAlive[t])
		clear(b.eGone[t])
	}
	clear(b.live)
	for v := range b.later {
		b.later[v].ok = false
	}
	var gAlive, gGone [mostEggs + 1]float64
	first, gated := end, false
	for i := range b.when {
		w := &b.when[i]
		c := b.c0 + i
		row := entry[i*perC : (i+1)*perC]
		w.t = b.lo
		for w.t < end && b.all[w.t].laid < c {
			w.t++
		}
		switch {
		case foster:
			w.t, w.day, w.net = 0, c, 0
		case w.t == end:
			w.day, w.net = h, 0
			if end > 0 {
				s := &b.all[end-1]
				w.net = s.net + s.movedIn - s.movedOut - s.removed
			}
		case b.all[w.t].day < h:
			w.day, w.net = b.all[w.t].day, b.all[w.t].net
		default:
			w.day, w.net = h-1, b.all[w.t].net
		}
		toAlive, toGone := gAlive[:], gGone[:]
		if w.t < end && (foster || b.all[w.t].day < h) {
			toAlive, toGone = b.eAlive[w.t], b.eGone[w.t]
		}
		for n, x := range row {
			if x <= 0 {
				continue
			}
			if w.t == end {
				b.unseen(h, c, b.eggsOf(n, w.net), x)
				continue
			}
			first = min(first, w.t)
			gated = gated || !foster && b.all[w.t].day >= h
			b.enters(w, c, n, func(e int, alive, gone float64) {
				toAlive[e] += x * alive
				toGone[e] += x * gone
			})
		}
	}
	if first < end {
		if b.forth(h, first, gateAt, gated, gAlive[:], gGone[:]) {
			b.back(h, first)
			b.tally(h, first, gateAt, gated, gAlive[:], gGone[:])
		} else {
			b.wipe(first, gated) // what came part of the way counts for nothing, forward as back
		}
	}
	// What the looks are worth to each clutch.
	var vAlive, vGone [mostEggs + 1]float64
	if gated {
		for e := range vAlive {
			vAlive[e], vGone[e] = b.worth(b.gate, b.gate.cLo, e, 1)
		}
	}
	for t := first; t < end; t++ {
		s := &b.all[t]
		for e := range b.alive[t] {
			b.alive[t][e], b.failed[t][e] = 0, 0
			if b.eAlive[t][e]+b.eGone[t][e] > 0 {
				b.alive[t][e], b.failed[t][e] = b.worth(b.pre[t], max(s.chNet, 0), e, b.m.dead(s.dead, 0))
			}
		}
	}
	for i := range b.when {
		w := &b.when[i]
		for n := range perC {
			at := i*perC + n
			value[at] = 0
			if entry[at] <= 0 {
				continue
			}
			if w.t == end {
				value[at] = 1
				continue
			}
			va, vg := vAlive[:], vGone[:]
			if foster || b.all[w.t].day < h {
				va, vg = b.alive[w.t], b.failed[w.t]
			}
			b.enters(w, b.c0+i, n, func(e int, alive, gone float64) {
				value[at] += alive*va[e] + gone*vg[e]
			})
		}
	}
	b.finish(h, first)
	b.wipe(first, gated)
}

// wipe empties the layers from the first look that a clutch enters at.
func (b *brood) wipe(first int, gated bool) {
	for t := first; t < len(b.all); t++ {
		b.pre[t].wipe()
		b.post[t].wipe()
	}
	if gated {
		b.gate.wipe()
	}
}

func (b *brood) eggsOf(n, net int) int { return min(max(n+net, 0), b.most) }

// enters tells how many eggs of a clutch of n, complete on day c, lie there as it enters, the
// nest alive or failed.
func (b *brood) enters(w *entrance, c, n int, is func(e int, alive, gone float64)) {
	r := &b.m.rates
	e0 := b.eggsOf(n, w.net)
	days := w.day - c
	if days == 0 {
		is(e0, 1, 0)
		return
	}
	keep, holds := power(1-r.EggLost, days), power(1-r.Deserted, days)
	fails := (1 - holds) * (1 - r.Emptied)
	for e := e0; e >= 0; e-- {
		if p := binomial(e0, e, keep); p > negligible {
			is(e, p*holds, p*fails)
		}
	}
	is(0, 0, (1-holds)*r.Emptied)
}

// worth is the chance of what is seen from a layer on, for e eggs whose make-up is not known
// and ch chicks, the nest alive or failed.
func (b *brood) worth(l *layer, ch, e int, none float64) (alive, gone float64) {
	if e < l.eLo || e > l.eHi {
		return 0, 0
	}
	b.makeup(l, ch, e, func(at int, p float64) { alive += p * l.back(at) }, func(at int, p float64) { gone += p * l.back(at) })
	return alive * none, gone * none
}

// makeup tells the make-up of e eggs of which nothing is known.
func (b *brood) makeup(l *layer, ch, e int, alive, gone func(at int, p float64)) {
	if ch >= l.cLo && ch <= l.cHi {
		for v := 0; v <= e; v++ {
			if l.plain {
				alive(l.alive(v, e-v, e, ch), b.m.hatch[e][v])
				continue
			}
			for d := 0; d <= e-v; d++ {
				alive(l.alive(v, d, e, ch), b.m.comp[e][tri(v, d, e)])
			}
		}
	}
	if l.plain {
		gone(l.failed(e, e), 1)
		return
	}
	for f, p := range b.m.fert[e] {
		gone(l.failed(f, e), p)
	}
}

// enter puts e eggs of unknown make-up into a layer.
func (b *brood) enter(l *layer, ch, e int, alive, gone, none float64) {
	if alive+gone <= 0 || none <= 0 || e < l.eLo || e > l.eHi {
		return
	}
	put := func(w float64) func(int, float64) {
		return func(at int, p float64) {
			if p *= w * none; p > 0 {
				at = l.touch(at, b.hs)
				l.a[at*b.hs] += p
				l.sum[at] += p
			}
		}
	}
	b.makeup(l, ch, e, put(alive), put(gone))
}

// forth goes forward over the looks from the first that a clutch enters at; it is false when
// hardly any weight comes through.
func (b *brood) forth(h, first, gateAt int, gated bool, gAlive, gGone []float64) bool {
	end, hs := len(b.all), b.hs
	enough := b.best * dropped
	floor := enough
	top := 0 // most hatched so far
	for t := first; t < end; t++ {
		s, p := &b.all[t], b.pre[t]
		next := 0
		move := func(from *layer, w *ways) {
			for i, at := range from.list {
				sum := from.sum[i]
				if sum <= from.floor {
					continue
				}
				row := from.a[i*hs : i*hs+top+1]
				for _, e := range w.out(at) {
					to := p.touch(int(e.to), hs)
					p.sum[to] += sum * e.p
					into := p.a[to*hs : (to+1)*hs]
					for k, x := range row {
						if x > 0 {
							into[min(k+int(e.k), hs-1)] += x * e.p
						}
					}
					next = max(next, int(e.k))
				}
			}
		}
		if t > first {
			move(b.post[t-1], b.road(t, h))
		}
		none := b.m.dead(s.dead, 0)
		for e := range b.eAlive[t] {
			b.enter(p, max(s.chNet, 0), e, b.eAlive[t][e], b.eGone[t][e], none)
		}
		if t == gateAt && gated {
			ch := max(s.chNet, 0)
			g := &layer{}
			if b.gate != nil {
				g = b.gate
			} else {
				g.plain = p.plain
				g.eLo, g.eHi, g.cLo, g.cHi, g.oLo, g.oHi = 0, min(max(b.r.nHi+s.net, 0), b.most), ch, ch, 1, 0
				g.open()
				b.pass = newWays(g.size())
				b.gate = g
			}
			for e := range gAlive {
				b.enter(g, ch, e, gAlive[e], gGone[e], 1)
			}
			g.floor = floor
			b.pass.renew()
			b.pass.set(b.m, &g.block, &p.block, moment{h - 1, 1}, b.at(t), h, s.dead, ch)
			move(g, b.pass)
		}
		top = min(top+next, hs-1)
		age := s.ageFits(h)
		var l lamp
		if s.candle {
			l = candlingOn(s.day - h + b.m.incMid)
		}
		var sum float64
		for i, at := range p.list {
			w := b.fits(t, p.who[at]) * age
			if w > 0 {
				w *= b.candled(s, &l, p.who[at])
			}
			p.w[i] = w
			p.sum[i] *= w
			sum += p.sum[i]
			row := p.a[i*hs : i*hs+top+1]
			for k := range row {
				row[k] *= w
			}
		}
		if sum <= enough && !b.more(t+1, gateAt, gated) {
			return false
		}
		if b.best == 0 {
			floor = sum * droppedFirst
		}
		p.floor, b.post[t].floor = floor, floor
		if b.acts[t] == nil {
			continue
		}
		q := b.post[t]
		for i, at := range p.list {
			if p.sum[i] <= floor {
				continue
			}
			row := p.a[i*hs : i*hs+top+1]
			for _, e := range b.handled(t, at) {
				to := q.touch(int(e.to), hs)
				q.sum[to] += p.sum[i] * e.p
				for k, x := range row {
					if x > 0 {
						q.a[to*hs+k] += x * e.p
					}
				}
			}
		}
	}
	var sum float64
	for _, x := range b.post[end-1].sum {
		sum += x
	}
	b.best += sum
	return true
}

// more says that a clutch enters at a look from t on.
func (b *brood) more(t, gateAt int, gated bool) bool {
	if gated && gateAt >= t {
		return true
	}
	for ; t < len(b.all); t++ {
		for e, x := range b.eAlive[t] {
			if x+b.eGone[t][e] > 0 {
				return true
			}
		}
	}
	return false
}

// back goes backward over the looks.
func (b *brood) back(h, first int) {
	end := len(b.all)
	for t := end - 1; t >= first; t-- {
		p, q := b.pre[t], b.post[t]
		if t == end-1 {
			for i, at := range q.list {
				q.b[i], q.z[i] = 1, b.noMore(h, q.who[at])
			}
		} else {
			b.fold(q, b.pre[t+1], b.road2(t+1, h))
		}
		if b.acts[t] != nil {
			b.fold(p, q, b.acts[t])
		}
		b.outBy[t] = 0
		for i, at := range p.list {
			if s := p.who[at]; s.kind == leaving && s.ch > 0 {
				b.outBy[t] += p.sum[i] * p.b[i]
			}
			p.b[i] *= p.w[i]
			p.z[i] *= p.w[i]
		}
	}
	if b.gate != nil && len(b.gate.list) > 0 {
		for t := first; t < end; t++ {
			if b.all[t].day >= h {
				b.fold(b.gate, b.pre[t], b.pass)
				break
			}
		}
	}
}

// road2 returns the ways that road made ready.
func (b *brood) road2(t, h int) *ways {
	if b.all[t].day < h {
		return b.still[t]
	}
	return b.into[t]
}

func (b *brood) fold(from, to *layer, w *ways) {
	for i, at := range from.list {
		var x, z float64
		if from.sum[i] > from.floor {
			for _, e := range w.known(at) {
				if p := to.place[e.to]; p > 0 {
					x += e.p * to.b[p-1]
					if e.k == 0 {
						z += e.p * to.z[p-1]
					}
				}
			}
		}
		from.b[i], from.z[i] = x, z
	}
}

// tally sums up what the whole of the looks says of the time between them.
func (b *brood) tally(h, first, gateAt int, gated bool, gAlive, gGone []float64) {
	end := len(b.all)
	between := func(from, to *layer, w *ways, x1 float64) {
		for i, at := range from.list {
			sum := from.sum[i]
			if sum <= from.floor {
				continue
			}
			edges := w.known(at)
			for j := range edges {
				if e := &edges[j]; e.k > 0 && to.place[e.to] > 0 {
					if x := sum * e.p * to.z[to.place[e.to]-1]; x > 0 {
						b.lastOf(h, x1, e, x)
					}
				}
			}
		}
	}
	for t := first; t < end; t++ {
		p := b.pre[t]
		if t > first {
			from := b.at(t - 1)
			between(b.post[t-1], p, b.road2(t, h), float64(from.day-h)+from.part)
		}
		s := &b.all[t]
		none := b.m.dead(s.dead, 0)
		for e := range b.eAlive[t] {
			b.told(p, max(s.chNet, 0), e, b.eAlive[t][e]*none, b.eGone[t][e]*none)
		}
		if t == gateAt && gated {
			between(b.gate, p, b.pass, 0)
			for e := range gAlive {
				b.told(b.gate, b.gate.cLo, e, gAlive[e], gGone[e])
			}
		}
	}
}

// told sums up the make-up of e eggs as the looks tell it.
func (b *brood) told(l *layer, ch, e int, alive, gone float64) {
	if alive+gone <= 0 || e < l.eLo || e > l.eHi {
		return
	}
	b.makeup(l, ch, e, func(at int, p float64) {
		w := alive * p * l.back(at)
		if w <= 0 {
			return
		}
		s := l.who[at]
		v := int(s.v)
		b.made[0] += w * float64(v)
		if !l.plain {
			b.fert[v+int(s.d)] += w
			b.made[1] += w * float64(s.d)
			b.made[2] += w * float64(s.c)
			return
		}
		for d := 0; d <= e-v; d++ {
			q := w * b.m.comp[e][tri(v, d, e)] / b.m.hatch[e][v]
			b.fert[v+d] += q
			b.made[1] += q * float64(d)
			b.made[2] += q * float64(e-v-d)
		}
	}, func(at int, p float64) {
		w := gone * p * l.back(at)
		if !l.plain {
			b.fert[l.who[at].d] += w
			return
		}
		for f, q := range b.m.fert[e] {
			b.fert[f] += w * q
		}
	})
}

// asked is the day on which the chances of the nest being left are wanted, or that of the
// last look if later.
func (b *brood) asked() int {
	if n := len(b.all); n > 0 {
		return max(b.r.asked, b.all[n-1].day)
	}
	return b.r.asked
}

// holds is the chance that a nest which has not failed by the end of day from holds to the
// end of day to.
func (b *brood) holds(h, from, to int) float64 {
	p := power(1-b.m.rates.Deserted, max(0, min(to, h)-from))
	for j := max(1, from+1-h); j <= min(to-h, broodRisk); j++ {
		p *= 1 - b.m.risk[j]
	}
	return p
}

// unseen follows a clutch of e0 eggs, complete on day c, on which no look was taken.
func (b *brood) unseen(h, c, e0 int, w float64) {
	holds, keep := power(1-b.m.rates.Deserted, h-c), power(1-b.m.rates.EggLost, h-c)
	b.best += w
	b.deserted += w * (1 - b.holds(h, c, b.asked()))
	b.hatched[0] += w * (1 - holds)
	for f, q := range b.m.fert[e0] {
		b.fert[f] += w * q
	}
	for e := e0; e >= 0; e-- {
		p := w * holds * binomial(e0, e, keep)
		if p < w*negligible {
			break
		}
		for v, q := range b.m.hatch[e] {
			b.live[v] += p * q
		}
	}
}

// day returns the place of day h in the sums.
func (b *brood) day(h int) int { return h - b.r.h0 - b.r.a0 }

// lastOf adds the weight that the last egg hatched between two looks, k of them together. It
// leaves aside that chicks found dead at the later look hatched rather sooner, which moves a
// day's chance by less than a hundredth.
func (b *brood) lastOf(h int, x1 float64, e *edge, w float64) {
	at, n := b.day(h), int(e.k)
	if e.first {
		x1 = 0
		n--
	}
	x1 = max(x1, 0)
	till := float64(e.till)
	g1, g2 := b.m.by(x1), b.m.by(till)
	if n == 0 || g2 <= g1 {
		b.lastW[at+min(int(x1), longestSpread)] += w
		return
	}
	before := 0.0
	for j := int(x1); j <= longestSpread && float64(j) < till; j++ {
		all := power((b.m.by(min(float64(j+1), till))-g1)/(g2-g1), n)
		b.lastW[at+j] += w * (all - before)
		before = all
	}
}

// noMore is the chance that no egg hatches after the last look.
func (b *brood) noMore(h int, st state) float64 {
	m := b.m
	s := &b.all[len(b.all)-1]
	x := float64(s.day-h) + s.part
	v := int(st.v)
	switch {
	case st.kind != brooding || v == 0:
		return 1
	case s.day < h:
		keep := power(1-m.rates.EggLost, h-s.day)
		return 1 - power(1-m.rates.Deserted, h-s.day)*(1-power(1-keep, v))
	case x < 1 && int(st.ch) <= b.brought():
		return 0
	}
	return b.after(v, x).total[0]
}

// brought is how many chicks that did not hatch here are in the nest after the last look.
func (b *brood) brought() int {
	s := &b.all[len(b.all)-1]
	return max(s.chNet+s.chIn-s.chOut, 0)
}

// after is what comes of v eggs x days after the first hatch.
func (b *brood) after(v int, x float64) *ahead {
	l := &b.later[v]
	if !l.ok {
		l.total, l.last = b.m.ahead(v, x, 0)
		l.ok = true
	}
	return l
}

// finish sums up what is in the nest after the last look, and what comes of it.
func (b *brood) finish(h, first int) {
	m, at := b.m, b.day(h)
	var fledged float64
	if end := len(b.all); first < end {
		fledged = b.standing(h)
	}
	for v, w := range b.live {
		if w <= 0 {
			continue
		}
		if v == 0 {
			b.hatched[0] += w
			continue
		}
		b.hatchW[at] += w
		for k, q := range m.total[v] {
			b.hatched[k] += w * q
		}
		for j, q := range m.last[v] {
			b.lastW[at+j] += w * q
		}
		for i, q := range m.out[v] {
			b.fledgeW[at+m.fledge.lo+i] += w * q
			fledged += w * q
		}
		b.young += w * m.grown[v]
	}
	for i, q := range m.independent.p {
		b.weanW[at+m.independent.lo+i] += fledged * q
	}
	b.partW[at+len(b.partW)-len(b.hatchW)] += fledged
}

// standing does so for what the last look left, and returns the weight of broods of which
// any leaves the nest. What is still an egg on the day of hatch is left to finish.
func (b *brood) standing(h int) (fledged float64) {
	m, hs, at := b.m, b.hs, b.day(h)
	t := len(b.all) - 1
	s, p := &b.all[t], b.post[t]
	x := float64(s.day-h) + s.part
	brought := b.brought()
	weaned := 0
	for i := range b.all {
		weaned += b.all[i].weaned
	}
	left := 1 - b.holds(h, s.day, b.asked())
	holds, keep := power(1-m.rates.Deserted, max(0, h-s.day)), power(1-m.rates.EggLost, max(0, h-s.day))
	var byYoung [mostEggs + 1][mostEggs + 1]float64 // by live chicks and eggs that will hatch
	for i, entry := range p.list {
		st := p.who[entry]
		v, ch := int(st.v), int(st.ch)
		for k, w := range p.a[i*hs : (i+1)*hs] {
			if w <= 0 {
				continue
			}
			b.eggs[v] += w
			b.chicks[ch] += w
			if s.day > h && k == 0 && st.kind != leaving {
				b.overdue += w
			}
			switch {
			case st.kind != brooding:
				b.hatched[k] += w
				if k > 0 {
					b.hatchW[at] += w
				}
				if st.kind == gone {
					b.deserted += w
				} else {
					b.young += w * float64(ch+weaned)
				}
				continue
			case s.day < h && k == 0:
				b.hatched[0] += w * (1 - holds)
				for l := 0; l <= v; l++ {
					b.live[l] += w * holds * binomial(v, l, keep)
				}
			case x < 1 && ch <= brought && k == 0:
				b.live[v] += w
			default:
				l := b.after(v, x)
				for j, q := range l.total {
					b.hatched[k+j] += w * q
					if k+j > 0 {
						b.hatchW[at] += w * q
					}
				}
				if v > 0 {
					here := min(max(int(x), 0), longestSpread)
					for j, q := range l.last {
						if j == here {
							q -= l.total[0]
						}
						b.lastW[at+j] += w * q
					}
				}
				byYoung[ch][v] += w
			}
			b.deserted += w * left
		}
	}
	// Young that will leave the nest.
	since := s.day - h
	if alive := m.fledge.above(since); alive > 0 {
		stay := 1.0
		for j := max(1, since+1); j <= broodRisk; j++ {
			stay *= 1 - m.risk[j]
		}
		for ai, pa := range m.fledge.p {
			age := m.fledge.lo + ai
			if age <= since {
				continue
			}
			old := m.lives(since, age)
			fresh := 0.0
			if g := m.by(x); g < 1 {
				for y := max(int(x), 0); y <= longestSpread; y++ {
					fresh += (m.by(float64(y+1)) - m.by(max(float64(y), x))) / (1 - g) * m.lives(y, age)
				}
			}
			for ch := range byYoung {
				for v, w := range byYoung[ch] {
					if w > 0 {
						w *= stay * pa / alive
						q := w * (1 - power(1-old, ch)*power(1-fresh, v))
						b.fledgeW[at+age] += q
						b.ageW[ai] += q
						fledged += q
						b.young += w * (float64(ch)*old + float64(v)*fresh)
					}
				}
			}
		}
	}
	// Young that have left it.
	var was float64
	for i := range b.all {
		d1 := -1
		if i > 0 {
			d1 = b.all[i-1].day - h
		}
		d2 := b.all[i].day - h
		w := b.outBy[i] - was
		if w <= 0 {
			continue
		}
		was = b.outBy[i]
		between := m.fledge.above(d1) - m.fledge.above(d2)
		for age := max(d1+1, m.fledge.lo); age <= min(d2, m.fledge.hi()); age++ {
			q := w * m.fledge.at(age) / between
			b.fledgeW[at+age] += q
			b.ageW[age-m.fledge.lo] += q
			fledged += q
		}
	}
	clear(b.outBy)
	return fledged
}

// summary writes the sums into the posterior: total is the weight of all, laid of clutches.
func (b *brood) summary(p *Posterior, total, laid float64) {
	r, m := b.r, b.m
	lo := r.a0 + r.h0
	ev := &p.events
	ev[Hatch] = when(r.zero, lo, b.hatchW, total)
	ev[LastHatch] = when(r.zero, lo, b.lastW, total)
	ring := &m.profile.RingAge
	ev[Ring] = ev[Hatch].later(int(math.Ceil(ring.Low - slip)))
	p.ringTo = ev[Hatch].later(int(math.Floor(ring.High + slip)))
	ev[Fledge] = when(r.zero, lo, b.fledgeW, total)
	ev[Wean] = when(r.zero, lo, b.weanW, total)
	ev[Part] = when(r.zero, lo, b.partW, total)
	p.Hatched, p.EggsAlive, p.Chicks, p.Fertile = numbers(b.hatched), numbers(b.eggs), numbers(b.chicks), numbers(b.fert)
	var hatches float64
	for _, w := range b.hatchW {
		hatches += w
	}
	p.Young = b.young / total
	p.Deserted = min(b.deserted/total, 1)
	if laid > 0 {
		p.NoneHatches = max(0, (laid-hatches)/total)
		p.Due = min(p.due.By(p.Asked)*laid/total, 1)
		p.DueAtLook = min(b.overdue/total, 1)
	}
	p.stats.made = b.made
	for i := range p.stats.made {
		p.stats.made[i] /= total
	}
	p.stats.ages = numbers(b.ageW).P
}
