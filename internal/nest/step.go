package nest

// edge is one way from an entry of a block to an entry of the next.
type edge struct {
	p     float64
	till  float32 // eggs may have hatched until then, in days after the first hatch
	to    int16
	k     int8 // eggs that hatch between
	first bool // the first of the clutch is among them
}

// faint is the chance below which a way is not followed.
const faint = 1e-14

// moment is a point of time: a share of a day.
type moment struct {
	day  int
	part float64
}

// cut is a way for a brood to fail between two looks.
type cut struct {
	p    float64
	end  float64 // days after the start of the day of the first hatch; below 0: before any hatch
	keep chance  // that an egg unhatched by then still lies there at the later look
}

// chance is a chance with its powers and those of its complement.
type chance struct{ yes, no [mostEggs + 1]float64 }

func (c *chance) set(p float64) {
	c.yes[0], c.no[0] = 1, 1
	for n := 1; n <= mostEggs; n++ {
		c.yes[n], c.no[n] = c.yes[n-1]*p, c.no[n-1]*(1-p)
	}
}

// of is the chance of k in n.
func (c *chance) of(n, k int) float64 { return choose[n][k] * c.yes[k] * c.no[n-k] }

// interval is the time from one look to the next, for the first hatch due on day h.
type interval struct {
	m        *Model
	src, dst *block
	found    int // dead chicks found at the later look; -1 not counted
	brought  int // chicks in the nest that did not hatch there

	x1, x2 float64 // the looks, in days after the start of the day of the first hatch
	holds  float64 // the nest does not fail
	flip   float64 // the first young leaves the nest
	sure   float64 // the first egg of the clutch hatches, if none has
	cuts   []cut

	keepV, keepX     chance // an egg still lies there: of those that will hatch, and of the others
	late, all        chance // another egg hatches: if some have hatched before, and if none has
	old, new1, newly chance // a chick lives: a chick of before, one hatched since, and one hatched since when none was before
	eldest           float64
	dead             chance // a dead chick is found
	cutLate, cutAll  []chance
	v1               int
	edges            []edge
}

// lives is the chance that a chick hatched y days after the first lives to the end of day d.
func (m *Model) lives(y, d int) float64 {
	p := 1.0
	for j := y + 1; j <= d; j++ {
		p *= 1 - m.dies(j)
	}
	return p
}

// newLives is the same for an egg other than the first that is known to hatch from x1 to x2.
func (m *Model) newLives(x1, x2 float64) float64 {
	x1 = max(x1, 0)
	var sum, all float64
	for y := int(x1); y <= longestSpread && float64(y) < x2; y++ {
		p := m.by(min(float64(y+1), x2)) - m.by(max(float64(y), x1))
		all += p
		sum += p * m.lives(y, int(x2))
	}
	if all <= 0 {
		return 1
	}
	return sum / all
}

// dead is the chance that so many dead chicks are found of those that died.
func (m *Model) dead(found, died int) float64 {
	if found < 0 {
		return 1
	}
	return binomial(died, found, m.rates.DeadFound)
}

// set makes ready for the time between two moments.
//
// The order of a day is: the nest fails, chicks die, eggs are lost, eggs hatch.
func (i *interval) set(m *Model, src, dst *block, from, to moment, h, found, brought int) {
	i.m, i.src, i.dst, i.found, i.brought = m, src, dst, found, brought
	r := &m.rates
	days := to.day - from.day
	before := min(max(min(to.day, h)-from.day, 0), days) // days up to that of the first hatch
	keepV := power(1-r.EggLost, before)
	keepX := keepV * power(1-r.BadEggLost, days-before)
	i.keepV.set(keepV)
	i.keepX.set(keepX)
	i.x1, i.x2 = float64(from.day-h)+from.part, float64(to.day-h)+to.part
	g1, g2 := m.by(i.x1), m.by(i.x2)
	old := 1.0
	for d := from.day + 1; d <= to.day; d++ {
		old *= 1 - m.dies(d-h)
	}
	i.old.set(old)
	i.dead.set(r.DeadFound)
	i.eldest, i.sure = 1, 0
	if i.x2 > 0 {
		i.eldest = m.lives(0, to.day-h)
		i.sure = 1
		if i.x2 < 1 {
			x := max(i.x1, 0)
			i.sure = (i.x2 - x) / (1 - x)
		}
		q := 0.0
		if g1 < 1 {
			q = (g2 - g1) / (1 - g1)
		}
		i.late.set(q)
		i.all.set(g2)
		i.new1.set(m.newLives(i.x1, i.x2))
		i.newly.set(m.newLives(0, i.x2))
	}
	i.cuts, i.cutLate, i.cutAll = i.cuts[:0], i.cutLate[:0], i.cutAll[:0]
	add := func(p, end, keep float64) {
		var c cut
		c.p, c.end = p, end
		c.keep.set(keep)
		i.cuts = append(i.cuts, c)
		var late, all chance
		if end >= 0 {
			q := 0.0
			if g1 < 1 {
				q = (m.by(end) - g1) / (1 - g1)
			}
			late.set(q)
			all.set(m.by(end))
		}
		i.cutLate, i.cutAll = append(i.cutLate, late), append(i.cutAll, all)
	}
	i.holds = power(1-r.Deserted, before)
	if before > 0 && i.holds < 1 && !dst.lives {
		// Eggs that would have hatched lie as long as the others. They have been held through
		// the loss before, so what is left to lose is the time after.
		add(1-i.holds, -1, keepX/keepV)
	}
	for j := max(1, from.day+1-h); j <= min(to.day-h, broodRisk); j++ {
		p := i.holds * m.risk[j]
		if p <= 0 {
			continue
		}
		i.holds *= 1 - m.risk[j]
		switch n := len(i.cuts); {
		case dst.lives:
		case n > 0 && i.cuts[n-1].end > longestSpread:
			i.cuts[n-1].p += p // all have hatched: which day it is does not matter
		default:
			add(p, float64(j), power(1-r.BadEggLost, to.day-h-j+1))
		}
	}
	i.flip = 0
	if f1, f2 := m.fledge.above(from.day-h), m.fledge.above(to.day-h); f1 > 0 {
		i.flip = 1 - f2/f1
	}
}

// from appends the ways out of an entry of the earlier block.
func (i *interval) from(edges []edge, at int) []edge {
	s := i.src.who[at]
	i.edges = edges
	switch s.kind {
	case brooding:
		i.brooding(s)
	case leaving:
		i.leaving(s)
	default:
		i.gone(s)
	}
	return i.edges
}

func (i *interval) brooding(s state) {
	v, ch := int(s.v), int(s.ch)
	fresh := i.x1 < 1 && ch <= i.brought
	for lost := 0; lost <= v; lost++ {
		p := i.keepV.of(v, v-lost)
		if p <= faint {
			continue
		}
		i.v1 = v - lost
		switch {
		case i.x2 <= 0 || i.v1 == 0:
			i.through(s, p*i.holds, 0, 0, &i.new1)
		case fresh:
			if i.sure < 1 {
				i.through(s, p*i.holds*(1-i.sure), 0, 0, &i.new1)
			}
			for k := 1; k <= i.v1; k++ {
				i.through(s, p*i.holds*i.sure*i.all.of(i.v1-1, k-1), k, 1, &i.newly)
			}
		default:
			for k := 0; k <= i.v1; k++ {
				i.through(s, p*i.holds*i.late.of(i.v1, k), k, 0, &i.new1)
			}
		}
		for n := range i.cuts {
			c := &i.cuts[n]
			q := p * c.p
			switch {
			case c.end < 0 || i.v1 == 0:
				i.fails(s, c, q, 0, 0)
			case fresh:
				for k := 1; k <= i.v1; k++ {
					i.fails(s, c, q*i.cutAll[n].of(i.v1-1, k-1), k, 1)
				}
			default:
				for k := 0; k <= i.v1; k++ {
					i.fails(s, c, q*i.cutLate[n].of(i.v1, k), k, 0)
				}
			}
		}
	}
}

// finds is the chance of the dead chicks found when so many died.
func (i *interval) finds(died int) float64 {
	if i.found < 0 {
		return 1
	}
	if i.found > died || died > mostEggs {
		return 0
	}
	return i.dead.of(died, i.found)
}

// through adds the ways in which the nest lives on and k eggs hatch, the first of the clutch
// among them when first is 1.
func (i *interval) through(s state, p float64, k, first int, fresh *chance) {
	if p <= faint {
		return
	}
	dst, v2, ch := i.dst, i.v1-k, int(s.ch)
	// How many chicks live.
	var live [mostEggs + 1]float64
	b, top := k-first, ch+k
	if top > mostEggs {
		return
	}
	if b == 0 && first == 0 {
		for n := 0; n <= ch; n++ {
			live[n] = i.old.of(ch, n) * i.finds(ch-n)
		}
	} else {
		for n := 0; n <= ch; n++ {
			po := i.old.of(ch, n)
			if po <= faint {
				continue
			}
			for j := 0; j <= b; j++ {
				q := po * fresh.of(b, j)
				if first == 1 {
					live[n+j+1] += q * i.eldest
					q *= 1 - i.eldest
				}
				live[n+j] += q
			}
		}
		for n := 0; n <= top; n++ {
			live[n] *= i.finds(top - n)
		}
	}
	for d1 := int(s.d); d1 >= 0; d1-- {
		pd := p * i.keepX.of(int(s.d), d1)
		if pd <= faint {
			continue
		}
		for c1 := min(int(s.c), dst.eHi-v2-d1); c1 >= max(0, dst.eLo-v2-d1); c1-- {
			pc := pd * i.keepX.of(int(s.c), c1)
			if pc <= faint {
				continue
			}
			e1 := v2 + d1 + c1
			for n := dst.cLo; n <= min(dst.cHi, top); n++ {
				if q := pc * (1 - i.flip) * live[n]; q > faint {
					i.edges = append(i.edges, edge{q, float32(i.x2), int16(dst.alive(v2, d1, e1, n)), int8(k), first == 1})
				}
			}
			if i.flip <= 0 || v2 > 0 {
				continue
			}
			for n := dst.oLo; n <= min(dst.oHi, top); n++ {
				if q := pc * i.flip * live[n]; q > faint {
					i.edges = append(i.edges, edge{q, float32(i.x2), int16(dst.out(d1, e1, n)), int8(k), first == 1})
				}
			}
		}
	}
}

// fails adds the ways in which the nest fails after k eggs hatched.
func (i *interval) fails(s state, c *cut, p float64, k, first int) {
	p *= i.finds(int(s.ch) + k)
	if p <= faint {
		return
	}
	dst, rest := i.dst, i.v1-k
	till := float32(max(c.end, 0))
	if dst.eLo == 0 {
		if q := p * i.m.rates.Emptied; q > faint {
			i.edges = append(i.edges, edge{q, till, int16(dst.failed(0, 0)), int8(k), first == 1})
		}
	}
	p *= 1 - i.m.rates.Emptied
	for r1 := rest; r1 >= 0; r1-- {
		pr := p * c.keep.of(rest, r1)
		if pr <= faint {
			continue
		}
		for d1 := int(s.d); d1 >= 0; d1-- {
			pd := pr * i.keepX.of(int(s.d), d1)
			if pd <= faint {
				continue
			}
			for c1 := min(int(s.c), dst.eHi-r1-d1); c1 >= max(0, dst.eLo-r1-d1); c1-- {
				q := pd * i.keepX.of(int(s.c), c1)
				if q <= faint {
					continue
				}
				i.edges = append(i.edges, edge{q, till, int16(dst.failed(r1+d1, r1+d1+c1)), int8(k), first == 1})
			}
		}
	}
}

func (i *interval) leaving(s state) {
	dst, d, c, ch := i.dst, int(s.d), int(s.c), int(s.ch)
	for d1 := d; d1 >= 0; d1-- {
		pd := i.keepX.of(d, d1)
		for c1 := min(c, dst.eHi-d1); c1 >= max(0, dst.eLo-d1); c1-- {
			p := pd * i.keepX.of(c, c1)
			if p <= faint {
				continue
			}
			for n := dst.oLo; n <= min(dst.oHi, ch); n++ {
				if q := p * i.old.of(ch, n) * i.finds(ch-n); q > faint {
					i.edges = append(i.edges, edge{p: q, to: int16(dst.out(d1, d1+c1, n))})
				}
			}
		}
	}
}

func (i *interval) gone(s state) {
	dst, d, c := i.dst, int(s.d), int(s.c)
	none := i.finds(0)
	if dst.lives || none <= 0 {
		return
	}
	for d1 := d; d1 >= 0; d1-- {
		pd := none * i.keepX.of(d, d1)
		for c1 := min(c, dst.eHi-d1); c1 >= max(0, dst.eLo-d1); c1-- {
			if q := pd * i.keepX.of(c, c1); q > faint {
				i.edges = append(i.edges, edge{p: q, to: int16(dst.failed(d1, d1+c1))})
			}
		}
	}
}
