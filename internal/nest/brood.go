package nest

import (
	"math"
)

// brood follows a clutch from its last egg on, for one day of the first hatch after another.
//
// For each such day it goes backward over the looks (what is still to be seen, given what
// lies in the nest) and then forward (what lies in the nest, given what was seen).
type brood struct {
	r    *reader
	m    *Model
	all  []sight
	most int
	hs   int // hatched so far: 0 to most
	c0   int // the first day on which the last egg may be laid
	lo   int // the first look that may come after the last egg

	pre, post []block     // before what was done at the look, and after
	gate      block       // on the eve of the first hatch, where no look came since the last egg
	seen      [][]float64 // how well an entry goes with the look, candling and age left out
	fits      [][]float64 // the same in full, for the day of hatch in hand
	acts      [][]edge
	eggStage  [][]edge // edges from the look before, while no hatch is due; nil until needed

	st         stepper
	edges      [][]edge // into look t, for the day of hatch in hand
	gateEdges  []edge
	bPre, bOut [][]float64 // backward: chance of what is seen from the look on; after the look
	zPre, zOut [][]float64 // the same, and that no egg hatches after
	bGate      []float64
	zGate      []float64
	aPre, aOut [][]float64 // forward, by entry and hatched so far
	alive      [][]float64 // alive[t][e]: chance of what is seen from look t on, with e live eggs laid down
	gone       [][]float64 // the same with the nest failed
	eAlive     [][]float64 // weight entering at look t with e eggs
	eGone      [][]float64
	live       []float64 // weight on the day of hatch by eggs that will hatch, no look since
	later      [mostEggs + 1]ahead

	// Sums over days of hatch. Days count from r.a0+r.h0.
	hatchW, lastW, fledgeW, weanW, partW []float64
	hatched, eggs, chicks, fert          []float64
	young, deserted, overdue, entered    float64
	ageW                                 []float64  // by age at the first fledging
	made                                 [3]float64 // eggs told of that will hatch, die and never lived
	outBy                                []float64
}

type ahead struct {
	ok          bool
	total, last []float64
}

func newBrood(r *reader, c0 int) *brood {
	b := &brood{r: r, m: r.m, all: r.all, most: r.most, hs: r.most + 1, c0: c0}
	t := len(b.all)
	b.lo = t
	for i := range b.all {
		if b.all[i].laid >= c0 {
			b.lo = i
			break
		}
	}
	due := r.h0 + r.a0
	b.pre, b.post = make([]block, t), make([]block, t)
	b.seen, b.acts, b.eggStage, b.edges = make([][]float64, t), make([][]edge, t), make([][]edge, t), make([][]edge, t)
	for _, x := range []*[][]float64{&b.bPre, &b.bOut, &b.zPre, &b.zOut, &b.aPre, &b.aOut, &b.alive, &b.gone, &b.eAlive, &b.eGone, &b.fits} {
		*x = make([][]float64, t)
	}
	for i := b.lo; i < t; i++ {
		s := &b.all[i]
		p := &b.pre[i]
		p.eLo, p.eHi = 0, min(max(r.nHi+s.net+s.slack, 0), b.most)
		if s.eggs >= 0 {
			p.eLo = max(0, s.eggs-s.slack)
			if s.exact {
				p.eHi = min(s.eggs+s.slack, b.most)
			}
		}
		p.cLo, p.cHi = max(0, s.leastCh-s.slack), b.most
		if s.day < due {
			p.cHi = min(p.cHi, max(s.chNet, 0)+s.slack)
		}
		// Every chick took an egg.
		p.cHi = min(p.cHi, max(0, r.nHi+s.net-p.eLo+max(s.chNet, 0))+2*s.slack)
		if s.chicks >= 0 {
			p.cLo, p.cHi = max(p.cLo, s.chicks-s.slack), min(p.cHi, s.chicks+s.slack)
		}
		p.oLo, p.oHi = 1, 0
		if s.day >= due+b.m.fledge.lo {
			p.oLo, p.oHi = max(0, s.leastCh-s.slack, s.chicks-s.slack, s.out-s.slack), min(b.most, max(0, r.nHi+s.net-p.eLo+max(s.chNet, 0))+2*s.slack)
		}
		if s.out > 0 {
			p.cLo, p.cHi = 1, 0
		}
		p.lives = max(s.out, s.chicks, s.leastCh) > s.slack
		p.lay()
		b.look(i)
		b.act(i)
		n, n2 := p.size(), b.post[i].size()
		b.bPre[i], b.zPre[i] = make([]float64, n), make([]float64, n)
		b.bOut[i], b.zOut[i] = b.bPre[i], b.zPre[i]
		b.fits[i] = make([]float64, n)
		b.aPre[i] = make([]float64, n*b.hs)
		b.aOut[i] = b.aPre[i]
		if b.acts[i] != nil {
			b.bOut[i], b.zOut[i] = make([]float64, n2), make([]float64, n2)
			b.aOut[i] = make([]float64, n2*b.hs)
		}
		b.alive[i], b.gone[i] = make([]float64, b.most+1), make([]float64, b.most+1)
		b.eAlive[i], b.eGone[i] = make([]float64, b.most+1), make([]float64, b.most+1)
	}
	b.st.m = r.m
	b.live = make([]float64, b.most+1)
	b.outBy = make([]float64, t)
	long := r.h1 - r.h0 + 1
	b.hatchW = make([]float64, long)
	b.lastW = make([]float64, long+longestSpread)
	b.fledgeW = make([]float64, long+b.m.fledge.hi())
	b.weanW = make([]float64, long+b.m.independent.hi())
	b.partW = make([]float64, long+int(math.Ceil(b.m.profile.IndependenceAge.High)))
	b.ageW = make([]float64, len(b.m.fledge.p))
	b.hatched, b.eggs, b.chicks, b.fert = make([]float64, 3*mostEggs+1), make([]float64, mostEggs+1), make([]float64, mostEggs+1), make([]float64, mostEggs+1)
	return b
}

// look works out how well each entry goes with what was seen, all but candling and age.
func (b *brood) look(t int) {
	s, p := &b.all[t], &b.pre[t]
	w := make([]float64, p.size())
	eggs := func(e int) float64 {
		if s.eggs < 0 || !s.exact && e >= s.eggs {
			return 1
		}
		return off(s.eggs, e)
	}
	some := func(ch int) float64 {
		if s.leastCh > ch {
			return off(s.leastCh, ch)
		}
		return 1
	}
	in := func(ch int) float64 {
		if s.chicks < 0 {
			return some(ch)
		}
		return some(ch) * off(s.chicks, ch)
	}
	alive := told(s.sits, 0.8) * told(s.complete, 0.9)
	left := told(s.sits, 0.03) * told(s.complete, 0.9)
	for e := p.eLo; e <= p.eHi; e++ {
		q := eggs(e)
		for ch := p.cLo; ch <= p.cHi; ch++ {
			at := p.alive(0, 0, e, ch)
			for i := range trian(e + 1) {
				w[at+i] = q * in(ch) * alive
			}
		}
		for ch := p.oLo; ch <= p.oHi; ch++ {
			for d := 0; d <= e; d++ {
				w[p.out(d, e, ch)] = q * some(ch) * s.leaving(ch)
			}
		}
		none := 1.0
		if s.out > 0 {
			none = off(s.out, 0)
		}
		if s.out > s.slack || max(s.chicks, s.leastCh) > s.slack {
			none = 0
		}
		for d := 0; d <= e; d++ {
			w[p.failed(d, e)] = q * in(0) * none * left
		}
	}
	b.seen[t] = w
}

// leaving is the chance of the counts of young in the nest and out of it, when ch live and
// at least one is out. How many of them are in the nest at the look is anything.
func (s *sight) leaving(ch int) float64 {
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

// act works out what the keeper's hand changed at a look.
func (b *brood) act(t int) {
	s, p := &b.all[t], &b.pre[t]
	if !s.acts() {
		b.post[t] = *p
		return
	}
	take := func(e int) int { return min(max(0, e-s.removed-s.movedOut)+s.movedIn, mostEggs) }
	young := func(ch int) int { return min(max(0, ch-s.chOut-s.weaned)+s.chIn, mostEggs) }
	q := &b.post[t]
	*q = block{eLo: take(p.eLo), eHi: take(p.eHi), cLo: young(p.cLo), cHi: young(p.cHi), oLo: young(p.oLo), oHi: young(p.oHi)}
	if p.eHi < p.eLo {
		q.eLo, q.eHi = 1, 0
	}
	if p.cHi < p.cLo {
		q.cLo, q.cHi = 1, 0
	}
	if p.oHi < p.oLo {
		q.oLo, q.oHi = 1, 0
	}
	q.lay()
	edges := []edge{}
	put := func(from, to int, w float64) {
		edges = append(edges, edge{p: w, from: int16(from), to: int16(to)})
	}
	for e := p.eLo; e <= p.eHi; e++ {
		for v := 0; v <= e; v++ {
			for d := 0; d <= e-v; d++ {
				b.hand(s, v, d, e-v-d, func(v2, d2, c2 int, w float64) {
					e2 := v2 + d2 + c2
					for ch := p.cLo; ch <= p.cHi; ch++ {
						put(p.alive(v, d, e, ch), q.alive(v2, d2, e2, young(ch)), w)
					}
					if v > 0 {
						return
					}
					for ch := p.oLo; ch <= p.oHi; ch++ {
						put(p.out(d, e, ch), q.out(v2+d2, e2, young(ch)), w)
					}
					put(p.failed(d, e), q.failed(v2+d2, e2), w)
				})
			}
		}
	}
	b.acts[t] = edges
}

// hand tells what is left of v, d and c eggs when the keeper took, gave away and added.
// After a candling, the clear are taken first, then the dead; and the living are given away
// first. Before it, any egg may be the one.
func (b *brood) hand(s *sight, v, d, c int, is func(v, d, c int, p float64)) {
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
				for d2 := 0; d2 <= add-v2; d2++ {
					p := p1 * p2 * b.m.comp[add][tri(v2, d2, add)]
					is(left[0]+v2, left[1]+d2, left[2]+add-v2-d2, p)
				}
			}
		})
	})
}

// weights fills in how well each entry goes with what look t shows, for the first hatch on day h.
func (b *brood) weights(t, h int, to []float64) {
	s, p := &b.all[t], &b.pre[t]
	age := s.ageFits(h)
	for i, x := range b.seen[t] {
		to[i] = x * age
	}
	if !s.candle {
		return
	}
	l := candlingOn(s.day - h + b.m.incMid)
	for e := p.eLo; e <= p.eHi; e++ {
		for v := 0; v <= e; v++ {
			for d := 0; d <= e-v; d++ {
				x := s.shows(&l, v, d, e-v-d)
				for ch := p.cLo; ch <= p.cHi; ch++ {
					to[p.alive(v, d, e, ch)] *= x
				}
				if v > 0 {
					continue
				}
				for ch := p.oLo; ch <= p.oHi; ch++ {
					to[p.out(d, e, ch)] *= x
				}
				to[p.failed(d, e)] *= x
			}
		}
	}
}

func (b *brood) at(t int) moment { return moment{b.all[t].day, b.all[t].part} }

// into returns the edges into look t from the look before.
func (b *brood) into(t, h int) []edge {
	s := &b.all[t]
	if s.day < h {
		if b.eggStage[t] == nil {
			b.eggStage[t] = b.st.step([]edge{}, &b.post[t-1], &b.pre[t], b.at(t-1), b.at(t), h, s.dead, max(s.chNet, 0))
		}
		return b.eggStage[t]
	}
	b.edges[t] = b.st.step(b.edges[t][:0], &b.post[t-1], &b.pre[t], b.at(t-1), b.at(t), h, s.dead, max(s.chNet, 0))
	return b.edges[t]
}

// hatchOn takes the weights of the clutches whose first egg is due to hatch on day h, by day
// of the last egg and number of eggs, and fills in value with the chance of all looks from
// the last egg on for each.
func (b *brood) hatchOn(h int, entry, value []float64) {
	m := b.m
	end := len(b.all)
	perC := b.r.n + 1
	gateAt := end // the first look on the day of hatch or later
	for t := b.lo; t < end; t++ {
		if b.all[t].day >= h {
			gateAt = t
			break
		}
	}
	foster := b.r.foster >= 0
	for t := b.lo; t < end; t++ {
		clear(b.eAlive[t])
		clear(b.eGone[t])
	}
	clear(b.live)
	for v := range b.later {
		b.later[v].ok = false
	}
	// The eve of the hatch is told of where no look came between the last egg and the hatch.
	gated := false
	if gateAt < end && !foster {
		seen := b.c0 - 1 // the last morning seen before
		if gateAt > 0 {
			seen = b.all[gateAt-1].laid
		}
		for i := max(0, seen+1-b.c0) * perC; i < len(entry) && !gated; i++ {
			gated = entry[i] > 0
		}
	}
	b.back(h, gateAt, foster, gated)

	// Enter.
	var eGate, eGateGone [mostEggs + 1]float64
	first := end
	for i := 0; i < len(entry); i += perC {
		c := b.c0 + i/perC
		t0 := b.lo
		for t0 < end && b.all[t0].laid < c {
			t0++
		}
		var day, net int
		switch {
		case foster:
			day = c
			first = 0
			value[0] = b.alive[0][0]
			b.eAlive[0][0] += entry[0]
			continue
		case t0 < end && b.all[t0].day < h:
			day, net = b.all[t0].day, b.all[t0].net
		case t0 < end:
			day, net = h-1, b.all[t0].net
		default:
			day = h
			if end > 0 {
				s := &b.all[end-1]
				net = s.net + s.movedIn - s.movedOut - s.removed
			}
		}
		if t0 < end {
			first = min(first, t0)
		}
		keep := power(1-m.rates.EggLost, day-c)
		holds := power(1-m.rates.Deserted, day-c)
		for n := 1; n < perC; n++ {
			w := entry[i+n]
			value[i+n] = 0
			if w <= 0 {
				continue
			}
			e0 := min(max(n+net, 0), b.most)
			if t0 == end {
				value[i+n] = 1
				b.unseen(h, c, e0, w)
				continue
			}
			var val float64
			for e := e0; e >= 0; e-- {
				p := binomial(e0, e, keep)
				if p < negligible {
					break
				}
				pa, pg := p*holds, p*(1-holds)*(1-m.rates.Emptied)
				if b.all[t0].day < h {
					val += pa*b.alive[t0][e] + pg*b.gone[t0][e]
					b.eAlive[t0][e] += w * pa
					b.eGone[t0][e] += w * pg
				} else if e >= b.gate.eLo {
					va, vg := b.gateValue(e)
					val += pa*va + pg*vg
					eGate[e] += w * pa
					eGateGone[e] += w * pg
				}
			}
			if p := (1 - holds) * m.rates.Emptied; p > 0 {
				if b.all[t0].day < h {
					val += p * b.gone[t0][0]
					b.eGone[t0][0] += w * p
				} else if b.gate.eLo == 0 {
					_, vg := b.gateValue(0)
					val += p * vg
					eGateGone[0] += w * p
				}
			}
			value[i+n] = val
		}
	}
	b.forth(h, first, gateAt, gated, eGate[:], eGateGone[:])
	b.finish(h, first)
}

// back goes backward over the looks.
func (b *brood) back(h, gateAt int, foster, gated bool) {
	end := len(b.all)
	for t := end - 1; t >= b.lo; t-- {
		bOut, zOut := b.bOut[t], b.zOut[t]
		if t == end-1 {
			for i := range bOut {
				bOut[i] = 1
			}
			b.noMore(h, zOut)
		} else {
			clear(bOut)
			clear(zOut)
			for _, e := range b.into(t+1, h) {
				bOut[e.from] += e.p * b.bPre[t+1][e.to]
				if e.k == 0 {
					zOut[e.from] += e.p * b.zPre[t+1][e.to]
				}
			}
		}
		bPre, zPre := b.bPre[t], b.zPre[t]
		if b.acts[t] != nil {
			clear(bPre)
			clear(zPre)
			for _, e := range b.acts[t] {
				bPre[e.from] += e.p * bOut[e.to]
				zPre[e.from] += e.p * zOut[e.to]
			}
		}
		b.weights(t, h, b.fits[t])
		for i, x := range b.fits[t] {
			bPre[i] *= x
			zPre[i] *= x
		}
		if t < gateAt || foster {
			b.entering(&b.pre[t], bPre, t, b.alive[t], b.gone[t])
		}
	}
	if gated {
		t := gateAt
		s := &b.all[t]
		ch := max(s.chNet, 0)
		b.gate = block{eLo: b.pre[t].eLo, eHi: min(max(b.r.nHi+s.net, 0), b.most), cLo: ch, cHi: ch, oLo: 1, oHi: 0}
		b.gate.lay()
		b.gateEdges = b.st.step(b.gateEdges[:0], &b.gate, &b.pre[t], moment{h - 1, 1}, b.at(t), h, s.dead, ch)
		n := b.gate.size()
		b.bGate, b.zGate = resize(b.bGate, n), resize(b.zGate, n)
		for _, e := range b.gateEdges {
			b.bGate[e.from] += e.p * b.bPre[t][e.to]
			if e.k == 0 {
				b.zGate[e.from] += e.p * b.zPre[t][e.to]
			}
		}
	}
}

func resize(x []float64, n int) []float64 {
	if cap(x) < n {
		return make([]float64, n)
	}
	x = x[:n]
	clear(x)
	return x
}

// entering fills in the chance of what is seen from a look on, for e eggs whose make-up is
// not known.
func (b *brood) entering(p *block, back []float64, t int, alive, gone []float64) {
	clear(alive)
	clear(gone)
	s := &b.all[t]
	ch := max(s.chNet, 0)
	none := b.m.dead(s.dead, 0)
	for e := p.eLo; e <= p.eHi; e++ {
		if ch >= p.cLo && ch <= p.cHi {
			at := p.alive(0, 0, e, ch)
			for i, q := range b.m.comp[e] {
				alive[e] += q * back[at+i]
			}
			alive[e] *= none
		}
		at := p.failed(0, e)
		for f, q := range b.m.fert[e] {
			gone[e] += q * back[at+f]
		}
		gone[e] *= none
	}
}

func (b *brood) gateValue(e int) (alive, gone float64) {
	at := b.gate.alive(0, 0, e, b.gate.cLo)
	for i, q := range b.m.comp[e] {
		alive += q * b.bGate[at+i]
	}
	at = b.gate.failed(0, e)
	for f, q := range b.m.fert[e] {
		gone += q * b.bGate[at+f]
	}
	return alive, gone
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
		for v := 0; v <= e; v++ {
			for d := 0; d <= e-v; d++ {
				b.live[v] += p * b.m.comp[e][tri(v, d, e)]
			}
		}
	}
}

// enter puts e eggs of unknown make-up into a block and sums up what is told of them.
func (b *brood) enter(p *block, back, to []float64, stride, ch, e int, alive, gone, none float64) {
	if alive > 0 && e >= p.eLo && e <= p.eHi && ch >= p.cLo && ch <= p.cHi {
		at := p.alive(0, 0, e, ch)
		for v := 0; v <= e; v++ {
			for d := 0; d <= e-v; d++ {
				i := at + tri(v, d, e)
				w := alive * none * b.m.comp[e][tri(v, d, e)]
				to[i*stride] += w
				w *= back[i]
				b.fert[v+d] += w
				b.made[0] += w * float64(v)
				b.made[1] += w * float64(d)
				b.made[2] += w * float64(e-v-d)
			}
		}
	}
	if gone > 0 && e >= p.eLo && e <= p.eHi {
		at := p.failed(0, e)
		for f, q := range b.m.fert[e] {
			w := gone * none * q
			to[(at+f)*stride] += w
			b.fert[f] += w * back[at+f]
		}
	}
}

// forth goes forward over the looks from the first that a clutch enters at.
func (b *brood) forth(h, first, gateAt int, gated bool, eGate, eGateGone []float64) {
	end, hs := len(b.all), b.hs
	for t := first; t < end; t++ {
		s, p := &b.all[t], &b.pre[t]
		a := b.aPre[t]
		clear(a)
		move := func(edges []edge, from []float64, x1 float64) {
			for i := range edges {
				e := &edges[i]
				row := from[int(e.from)*hs : (int(e.from)+1)*hs]
				to := a[int(e.to)*hs : (int(e.to)+1)*hs]
				var sum float64
				for k, x := range row {
					if x > 0 {
						to[min(k+int(e.k), hs-1)] += x * e.p
						sum += x
					}
				}
				if e.k > 0 && sum > 0 {
					if w := sum * e.p * b.zPre[t][e.to]; w > 0 {
						b.lastOf(h, x1, e, w)
					}
				}
			}
		}
		if t > first {
			edges := b.edges[t]
			if s.day < h {
				edges = b.eggStage[t]
			}
			from := b.at(t - 1)
			move(edges, b.aOut[t-1], float64(from.day-h)+from.part)
		}
		none := b.m.dead(s.dead, 0)
		for e := range b.eAlive[t] {
			b.enter(p, b.bPre[t], a, hs, max(s.chNet, 0), e, b.eAlive[t][e], b.eGone[t][e], none)
		}
		if t == gateAt && gated {
			g := make([]float64, b.gate.size()*hs)
			for e := range eGate {
				b.enter(&b.gate, b.bGate, g, hs, b.gate.cLo, e, eGate[e], eGateGone[e], 1)
			}
			move(b.gateEdges, g, 0)
		}
		b.outBy[t] = 0
		for ch := max(1, p.oLo); ch <= p.oHi; ch++ {
			lo := p.nA + (ch-p.oLo)*p.perO
			for i := lo; i < lo+p.perO; i++ {
				for _, x := range a[i*hs : (i+1)*hs] {
					b.outBy[t] += x * b.bPre[t][i]
				}
			}
		}
		for i, w := range b.fits[t] {
			row := a[i*hs : (i+1)*hs]
			for k := range row {
				row[k] *= w
			}
		}
		if b.acts[t] != nil {
			o := b.aOut[t]
			clear(o)
			for _, e := range b.acts[t] {
				for k, x := range a[int(e.from)*hs : (int(e.from)+1)*hs] {
					if x > 0 {
						o[int(e.to)*hs+k] += x * e.p
					}
				}
			}
		}
	}
}

// day returns the place of day h in the sums.
func (b *brood) day(h int) int { return h - b.r.h0 - b.r.a0 }

// lastOf adds the weight that the last egg hatched between two looks, k of them together.
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

// noMore fills in the chance that no egg hatches after the last look.
func (b *brood) noMore(h int, z []float64) {
	m := b.m
	t := len(b.all) - 1
	s, p := &b.all[t], &b.post[t]
	x := float64(s.day-h) + s.part
	for i := range z {
		z[i] = 1
	}
	brought := max(s.chNet+s.chIn-s.chOut, 0)
	for ch := p.cLo; ch <= p.cHi; ch++ {
		for e := p.eLo; e <= p.eHi; e++ {
			for v := 1; v <= e; v++ {
				var q float64
				switch {
				case s.day < h:
					keep := power(1-m.rates.EggLost, h-s.day)
					q = 1 - power(1-m.rates.Deserted, h-s.day)*(1-power(1-keep, v))
				case x < 1 && ch <= brought:
				default:
					q = b.after(v, x).total[0]
				}
				for d := 0; d <= e-v; d++ {
					z[p.alive(v, d, e, ch)] = q
				}
			}
		}
	}
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
			b.hatched[min(k, len(b.hatched)-1)] += w * q
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
	s, p := &b.all[t], &b.post[t]
	x := float64(s.day-h) + s.part
	brought := max(s.chNet+s.chIn-s.chOut, 0)
	weaned := 0
	for i := range b.all {
		weaned += b.all[i].weaned
	}
	a := b.aOut[t]
	left := 1 - b.holds(h, s.day, b.asked())
	holds, keep := power(1-m.rates.Deserted, max(0, h-s.day)), power(1-m.rates.EggLost, max(0, h-s.day))
	var byYoung [mostEggs + 1][mostEggs + 1]float64 // by live chicks and eggs that will hatch
	for ch := p.cLo; ch <= p.cHi; ch++ {
		for e := p.eLo; e <= p.eHi; e++ {
			for v := 0; v <= e; v++ {
				for d := 0; d <= e-v; d++ {
					i := p.alive(v, d, e, ch)
					for k, w := range a[i*hs : (i+1)*hs] {
						if w <= 0 {
							continue
						}
						b.eggs[v] += w
						b.chicks[ch] += w
						b.deserted += w * left
						if s.day > h && k == 0 {
							b.overdue += w
						}
						switch {
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
								b.hatched[min(k+j, len(b.hatched)-1)] += w * q
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
					}
				}
			}
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
	for ch := p.oLo; ch <= p.oHi; ch++ {
		lo := p.nA + (ch-p.oLo)*p.perO
		for i := lo; i < lo+p.perO; i++ {
			for k, w := range a[i*hs : (i+1)*hs] {
				b.eggs[0] += w
				b.chicks[ch] += w
				b.hatched[min(k, len(b.hatched)-1)] += w
				if k > 0 {
					b.hatchW[at] += w
				}
				b.young += w * float64(ch+weaned)
			}
		}
	}
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
	// Failed.
	for i := p.nA + p.nO; i < p.size(); i++ {
		for k, w := range a[i*hs : (i+1)*hs] {
			b.eggs[0] += w
			b.chicks[0] += w
			b.deserted += w
			b.hatched[min(k, len(b.hatched)-1)] += w
			if k > 0 {
				b.hatchW[at] += w
			} else if s.day > h {
				b.overdue += w
			}
		}
	}
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
		p.Due = p.due.By(p.Asked) * laid / total
		p.DueAtLook = b.overdue / total
	}
	p.stats.made = b.made
	for i := range p.stats.made {
		p.stats.made[i] /= total
	}
	p.stats.hatched, p.stats.young = p.Hatched.Mean(), p.Young
	p.stats.ages = numbers(b.ageW).P
}
