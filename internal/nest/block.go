package nest

// block is the list of what a nest may hold at one moment. Three lists stand one after the
// other: the brood alive with none out, alive with some out, and the nest failed.
//
// An entry of the first is v eggs that will hatch, d that will die or are dead, c clear ones
// and ch live chicks; of the second d, c and ch; of the third d and c.
type block struct {
	eLo, eHi int  // eggs in the nest
	cLo, cHi int  // live chicks, none out; no entries when cHi < cLo
	oLo, oHi int  // live young, some out; no entries when oHi < oLo
	lives    bool // the nest has not failed: live young were seen

	perA, perO   int // entries for one number of chicks
	nA, nO, nF   int
	baseA, baseO int // entries for fewer eggs than eLo
}

func tetra(e int) int { return e * (e + 1) * (e + 2) / 6 } // ways to hold fewer than e eggs of three kinds
func trian(e int) int { return e * (e + 1) / 2 }           // of two kinds

func (b *block) size() int { return b.nA + b.nO + b.nF }

func (b *block) lay() {
	b.baseA, b.baseO = tetra(b.eLo), trian(b.eLo)
	b.perA, b.perO = tetra(b.eHi+1)-b.baseA, trian(b.eHi+1)-b.baseO
	if b.eHi < b.eLo {
		b.perA, b.perO = 0, 0
	}
	b.nA = max(0, b.cHi-b.cLo+1) * b.perA
	b.nO = max(0, b.oHi-b.oLo+1) * b.perO
	b.nF = b.perO
}

func (b *block) alive(v, d, e, ch int) int {
	return (ch-b.cLo)*b.perA + tetra(e) - b.baseA + tri(v, d, e)
}

func (b *block) out(d, e, ch int) int {
	return b.nA + (ch-b.oLo)*b.perO + trian(e) - b.baseO + d
}

func (b *block) failed(d, e int) int {
	return b.nA + b.nO + trian(e) - b.baseO + d
}

// edge is one way from an entry of a block to an entry of the next.
type edge struct {
	p        float64
	till     float32 // eggs may have hatched until then, in days after the first hatch
	from, to int16
	k        int8 // eggs that hatch between
	first    bool // the first of the clutch is among them
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
	keep float64 // chance that an egg unhatched by then still lies there at the later look
}

// stepper works out edges.
type stepper struct {
	m     *Model
	young [2][mostEggs + 1][mostEggs + 1][]float64 // chances of live chicks out of ch and others hatched, without and with the first
	used  [][3]int
	store []float64
	binV  [mostEggs + 1][mostEggs + 1]float64 // [n][k]: k of n are lost
	binX  [mostEggs + 1][mostEggs + 1]float64
	kept  [2]float64
	cuts  []cut
}

func (s *stepper) reset(keepV, keepX float64) {
	for _, u := range s.used {
		s.young[u[0]][u[1]][u[2]] = nil
	}
	s.used, s.store = s.used[:0], s.store[:0]
	for i, k := range [2]float64{keepV, keepX} {
		if s.kept[i] == k {
			continue
		}
		s.kept[i] = k
		t := &s.binV
		if i == 1 {
			t = &s.binX
		}
		for n := range t {
			for l := 0; l <= n; l++ {
				t[n][l] = binomial(n, l, 1-k)
			}
		}
	}
}

// chicks returns the chances of how many live, of ch old ones and b new ones and, when first
// is 1, the first of the clutch.
func (s *stepper) chicks(first, ch, b int, old, fresh, eldest float64) []float64 {
	if t := s.young[first][ch][b]; t != nil {
		return t
	}
	n := len(s.store)
	for range first + ch + b + 1 {
		s.store = append(s.store, 0)
	}
	t := s.store[n : n+first+ch+b+1 : n+first+ch+b+1]
	for i := 0; i <= ch; i++ {
		po := binomial(ch, i, old)
		for j := 0; j <= b; j++ {
			p := po * binomial(b, j, fresh)
			if first == 1 {
				t[i+j+1] += p * eldest
				p *= 1 - eldest
			}
			t[i+j] += p
		}
	}
	s.young[first][ch][b] = t
	s.used = append(s.used, [3]int{first, ch, b})
	return t
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

// step appends the ways from src at one moment to dst at a later one, when the first chick
// is due to hatch on day h: found dead chicks seen at the later look (-1 not counted),
// brought the chicks in the nest that did not hatch there.
//
// The order of a day is: the nest fails, chicks die, eggs are lost, eggs hatch.
func (s *stepper) step(edges []edge, src, dst *block, from, to moment, h, found, brought int) []edge {
	m := s.m
	r := &m.rates
	days := to.day - from.day
	before := min(max(min(to.day, h)-from.day, 0), days) // days up to that of the first hatch
	keepV := power(1-r.EggLost, before)
	keepX := keepV * power(1-r.BadEggLost, days-before)
	s.reset(keepV, keepX)
	x1, x2 := float64(from.day-h)+from.part, float64(to.day-h)+to.part
	g1, g2 := m.by(x1), m.by(x2)
	old := 1.0
	for d := from.day + 1; d <= to.day; d++ {
		old *= 1 - m.dies(d-h)
	}
	eldest := 1.0
	if x2 > 0 {
		eldest = m.lives(0, to.day-h)
	}
	lateQ, lateLives, freshLives := 0.0, 1.0, 1.0
	if x2 > 0 && g1 < 1 {
		lateQ, lateLives, freshLives = (g2-g1)/(1-g1), m.newLives(x1, x2), m.newLives(0, x2)
	}

	s.cuts = s.cuts[:0]
	holds := power(1-r.Deserted, before)
	if before > 0 {
		s.cuts = append(s.cuts, cut{1 - holds, -1, keepX})
	}
	for j := max(1, from.day+1-h); j <= min(to.day-h, broodRisk); j++ {
		if p := holds * m.risk[j]; p > 0 {
			if n := len(s.cuts); n > 0 && s.cuts[n-1].end > longestSpread {
				// All have hatched: which day it is does not matter.
				s.cuts[n-1].p += p
			} else {
				s.cuts = append(s.cuts, cut{p, float64(j), power(1-r.BadEggLost, to.day-h-j+1)})
			}
			holds *= 1 - m.risk[j]
		}
	}
	if dst.lives {
		s.cuts = s.cuts[:0]
	}
	flip := 0.0
	if f1, f2 := m.fledge.above(from.day-h), m.fledge.above(to.day-h); f1 > 0 {
		flip = 1 - f2/f1
	}

	// Alive, none out.
	for ch := src.cLo; ch <= src.cHi; ch++ {
		fresh := x1 < 1 && ch <= brought
		for e := src.eLo; e <= src.eHi; e++ {
			for v := 0; v <= e; v++ {
				for d := 0; d <= e-v; d++ {
					st := state{v, d, e - v - d, ch, src.alive(v, d, e, ch)}
					for lost := 0; lost <= v; lost++ {
						pl := s.binV[v][lost]
						if pl <= 0 {
							continue
						}
						v1 := v - lost
						w := walk{st, v1, dst, found, pl}
						switch {
						case x2 <= 0 || v1 == 0:
							edges = s.through(edges, w, 0, 0, holds, flip, old, 1, 1, float32(x2))
						case fresh:
							sure := 1.0
							if x2 < 1 {
								from := max(x1, 0)
								sure = (x2 - from) / (1 - from)
								edges = s.through(edges, w, 0, 0, holds*(1-sure), flip, old, 1, 1, float32(x2))
							}
							for k := 1; k <= v1; k++ {
								edges = s.through(edges, w, k, 1, holds*sure*binomial(v1-1, k-1, g2), flip, old, freshLives, eldest, float32(x2))
							}
						default:
							for k := 0; k <= v1; k++ {
								edges = s.through(edges, w, k, 0, holds*binomial(v1, k, lateQ), flip, old, lateLives, 1, float32(x2))
							}
						}
						for _, c := range s.cuts {
							switch {
							case c.end < 0 || v1 == 0:
								edges = s.fails(edges, w, c, 0, 0, 1)
							case fresh:
								g := m.by(c.end)
								for k := 1; k <= v1; k++ {
									edges = s.fails(edges, w, c, k, 1, binomial(v1-1, k-1, g))
								}
							default:
								q := 0.0
								if g1 < 1 {
									q = (m.by(c.end) - g1) / (1 - g1)
								}
								for k := 0; k <= v1; k++ {
									edges = s.fails(edges, w, c, k, 0, binomial(v1, k, q))
								}
							}
						}
					}
				}
			}
		}
	}
	// Alive, some out.
	for ch := src.oLo; ch <= src.oHi; ch++ {
		for e := src.eLo; e <= src.eHi; e++ {
			for d := 0; d <= e; d++ {
				live := s.chicks(0, ch, 0, old, 1, 1)
				for d1 := 0; d1 <= d; d1++ {
					for c1 := 0; c1 <= e-d; c1++ {
						p := s.binX[d][d-d1] * s.binX[e-d][e-d-c1]
						if e1 := d1 + c1; p > 0 && e1 >= dst.eLo && e1 <= dst.eHi {
							for ch1 := dst.oLo; ch1 <= min(dst.oHi, ch); ch1++ {
								if q := p * live[ch1] * m.dead(found, ch-ch1); q > 0 {
									edges = append(edges, edge{p: q, from: int16(src.out(d, e, ch)), to: int16(dst.out(d1, e1, ch1))})
								}
							}
						}
					}
				}
			}
		}
	}
	// Failed.
	none := m.dead(found, 0)
	for e := src.eLo; none > 0 && !dst.lives && e <= src.eHi; e++ {
		for d := 0; d <= e; d++ {
			for d1 := 0; d1 <= d; d1++ {
				for c1 := 0; c1 <= e-d; c1++ {
					p := none * s.binX[d][d-d1] * s.binX[e-d][e-d-c1]
					if e1 := d1 + c1; p > 0 && e1 >= dst.eLo && e1 <= dst.eHi {
						edges = append(edges, edge{p: p, from: int16(src.failed(d, e)), to: int16(dst.failed(d1, e1))})
					}
				}
			}
		}
	}
	return edges
}

// state is an entry of the first list.
type state struct {
	v, d, c, ch, at int
}

// walk is a state after eggs that would have hatched were lost.
type walk struct {
	state
	v1    int
	dst   *block
	found int
	p     float64
}

// through appends the ways in which the nest lives on and k eggs hatch, the first of the
// clutch among them when first is 1.
func (s *stepper) through(edges []edge, w walk, k, first int, p, flip, old, fresh, eldest float64, till float32) []edge {
	p *= w.p
	if p <= faint {
		return edges
	}
	dst, v2 := w.dst, w.v1-k
	dead := w.found
	var live []float64
	for d1 := w.d; d1 >= 0; d1-- {
		pd := p * s.binX[w.d][w.d-d1]
		if pd <= 0 {
			break
		}
		for c1 := min(w.c, dst.eHi-v2-d1); c1 >= max(0, dst.eLo-v2-d1); c1-- {
			pc := pd * s.binX[w.c][w.c-c1]
			e1 := v2 + d1 + c1
			if pc <= 0 {
				break
			}
			if live == nil {
				live = s.chicks(first, w.ch, k-first, old, fresh, eldest)
			}
			for ch1 := dst.cLo; ch1 <= min(dst.cHi, len(live)-1); ch1++ {
				if q := pc * (1 - flip) * live[ch1] * s.m.dead(dead, w.ch+k-ch1); q > faint {
					edges = append(edges, edge{q, till, int16(w.at), int16(dst.alive(v2, d1, e1, ch1)), int8(k), first == 1})
				}
			}
			if flip <= 0 || v2 > 0 {
				continue
			}
			for ch1 := dst.oLo; ch1 <= min(dst.oHi, len(live)-1); ch1++ {
				if q := pc * flip * live[ch1] * s.m.dead(dead, w.ch+k-ch1); q > faint {
					edges = append(edges, edge{q, till, int16(w.at), int16(dst.out(d1, e1, ch1)), int8(k), first == 1})
				}
			}
		}
	}
	return edges
}

// fails appends the ways in which the nest fails after k eggs hatched.
func (s *stepper) fails(edges []edge, w walk, c cut, k, first int, p float64) []edge {
	p *= w.p * c.p * s.m.dead(w.found, w.ch+k)
	if p <= faint {
		return edges
	}
	dst, rest := w.dst, w.v1-k
	till := float32(max(c.end, 0))
	if dst.eLo == 0 {
		if q := p * s.m.rates.Emptied; q > 0 {
			edges = append(edges, edge{q, till, int16(w.at), int16(dst.failed(0, 0)), int8(k), first == 1})
		}
	}
	p *= 1 - s.m.rates.Emptied
	for r1 := rest; r1 >= 0; r1-- {
		keep := c.keep
		if c.end < 0 {
			// Eggs that would have hatched lie as long as the others. They were held through
			// the loss before, so what is left to lose is the time after.
			keep = s.kept[1] / s.kept[0]
		}
		pr := p * binomial(rest, r1, keep)
		if pr <= faint {
			continue
		}
		for d1 := w.d; d1 >= 0; d1-- {
			for c1 := min(w.c, dst.eHi-r1-d1); c1 >= max(0, dst.eLo-r1-d1); c1-- {
				if q := pr * s.binX[w.d][w.d-d1] * s.binX[w.c][w.c-c1]; q > faint {
					edges = append(edges, edge{q, till, int16(w.at), int16(dst.failed(r1+d1, r1+d1+c1)), int8(k), first == 1})
				}
			}
		}
	}
	return edges
}
