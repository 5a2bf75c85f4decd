package nest

import "math"

// sight is a look as the posterior reads it. Counts that were not taken are -1.
type sight struct {
	day  int     // days after the first look
	part float64 // how much of the day was over
	laid int     // the last morning whose egg it could see

	eggs                       int
	exact                      bool
	chicks, dead, out, leastCh int
	age                        int
	ageSD                      float64
	young                      bool // it shows that something has hatched, or was brought hatched

	candle         bool
	full, clr, bad int
	sits, complete int // -1 not said, 0 no, 1 yes

	// What came and went before this look.
	net     int // foster eggs brought, less eggs taken or moved out
	chNet   int // chicks brought less chicks moved out
	candled bool
	own     int // eggs laid here by then, at least

	// What was done at this look.
	removed, movedOut, movedIn, chIn, chOut, weaned int

	due *Window // of eggs brought

	slack int // how far a count may be off
}

// dawn is the minute before which a look is too early to find that morning's egg. Common
// practice, no source: eggs are laid in the first hours of light.
const dawn = 6 * 60

// sights reads the looks of one clutch, in order of time.
func sights(looks []Look) (all []sight, zero Day) {
	clean := make([]Look, 0, len(looks))
	for _, c := range Clutches(looks) {
		clean = append(clean, c...)
	}
	from := 0
	for i, l := range clean {
		if l.Found || l.FirstEggUnknown {
			from = i
		}
	}
	clean = clean[from:]
	if len(clean) == 0 {
		return nil, 0
	}
	zero = clean[0].Day
	net, chNet, candled, old := 0, 0, false, clean[0].OldEggs
	for i, f := range reckon(clean) {
		l := &clean[i]
		s := sight{
			day: int(l.Day - zero), part: 0.5, eggs: f.eggs, exact: f.exact,
			chicks: -1, dead: -1, out: -1, age: -1, sits: -1, complete: -1,
			net: net, chNet: chNet, own: f.own,
		}
		if l.Minute >= 0 {
			s.part = float64(l.Minute) / (24 * 60)
		}
		s.laid = s.day
		if l.Minute >= 0 && l.Minute < dawn {
			s.laid--
		}
		for _, c := range []struct {
			to   *int
			from *int
		}{{&s.chicks, l.Chicks}, {&s.dead, l.DeadChicks}, {&s.out, l.Out}, {&s.age, l.AgeDays}} {
			if c.from != nil {
				*c.to = *c.from
			}
		}
		for _, c := range []struct {
			to   *int
			from *bool
		}{{&s.sits, l.Sitting}, {&s.complete, l.ClutchComplete}} {
			if c.from != nil {
				*c.to = 0
				if *c.from {
					*c.to = 1
				}
			}
		}
		if s.age >= 0 {
			s.leastCh = 1
			doubt := float64(AgeDoubt)
			if l.AgePlusMinus != nil {
				doubt = float64(*l.AgePlusMinus)
			}
			// "So many days either way" is read as 8 times in 10.
			s.ageSD = max(0.5, doubt/1.28)
		}
		s.leastCh = max(s.leastCh, l.Ringed, l.ChicksMovedOut)
		s.full, s.clr, s.bad = l.Fertile, l.Clear, l.EarlyDead+l.DeadInShell
		s.candle = s.full+s.clr+s.bad > 0
		candled = candled || s.candle
		s.candled = candled
		s.young = f.young()
		taken := min(l.EggsRemoved, old)
		old -= taken
		s.removed, s.movedOut, s.movedIn = l.EggsRemoved-taken, l.EggsMovedOut, l.EggsMovedIn
		s.due = l.EggsDue
		s.chIn, s.chOut, s.weaned = l.ChicksMovedIn, l.ChicksMovedOut, l.Weaned
		net += s.movedIn - s.movedOut - s.removed
		chNet += s.chIn - s.chOut
		all = append(all, s)
	}
	return all, zero
}

func (s *sight) acts() bool {
	return s.removed+s.movedOut+s.movedIn+s.chIn+s.chOut+s.weaned > 0
}

// says is false for a look that tells nothing: "not looked".
func (s *sight) says() bool {
	return s.eggs >= 0 || s.chicks >= 0 || s.dead >= 0 || s.out >= 0 || s.leastCh > 0 || s.sits >= 0 || s.complete >= 0 || s.acts()
}

const (
	// slip1 is the weight of a count that is off by one egg or chick, where counts have to
	// be off for the looks to be of one clutch.
	slip1 = 0.03
	// outTold is the chance that all young out of the nest were seen by a keeper who counts them.
	outTold = 0.8
	// outMissed is the chance that a keeper sees none out though some are.
	outMissed = 0.05
)

// told is the chance that "yes" or "no" was written, when yes is right with chance p.
func told(said int, p float64) float64 {
	switch said {
	case 0:
		return 1 - p
	case 1:
		return p
	}
	return 1
}

func off(seen, is int) float64 {
	if seen == is {
		return 1
	}
	return power(slip1, max(seen-is, is-seen))
}

// laying is the chance of what the look shows when i eggs are laid and more will be, or none
// is yet (i = 0). Whether a bird sits tight is a weak sign: a hen rests in the nest before
// sitting is steady, and a sitting bird slips off as the keeper comes. The chances are
// judgements.
func (s *sight) laying(i int, sat bool) float64 {
	if s.young {
		return 0
	}
	p := 1.0
	n := i + s.net
	switch {
	case n < 0 && s.slack == 0 || n < -s.slack:
		return 0
	case s.exact:
		if max(s.eggs-n, n-s.eggs) > s.slack {
			return 0
		}
		p = off(s.eggs, n)
	case s.eggs > n+s.slack:
		return 0
	case s.eggs > n:
		p = off(s.eggs, n)
	}
	if s.candle && s.full > 0 {
		p *= 0.05 // veins do not show before the clutch is complete, or hardly
	}
	sitting, complete := 0.03, 0.02
	switch {
	case i > 0 && sat:
		sitting, complete = 0.8, 0.1
	case i > 0:
		sitting, complete = 0.25, 0.1
	}
	return p * told(s.sits, sitting) * told(s.complete, complete)
}

// ageFits is the chance of the age that the keeper guessed, when the first chick hatched h
// days after the first look.
func (s *sight) ageFits(h int) float64 {
	if s.age < 0 {
		return 1
	}
	off := float64(s.age - (s.day - h))
	return (math.Erf((off+0.5)/(s.ageSD*math.Sqrt2)) - math.Erf((off-0.5)/(s.ageSD*math.Sqrt2))) / 2
}

// lamp is what candling shows of an egg that will hatch, of one that dies, and of one that
// never lived: the chances of full, clear, and dead.
type lamp [3][3]float64

// candling returns what the lamp shows on a day of sitting. Veins are clear by day 4 or 5
// and an egg is judged from day 6 to 8; an embryo that dies before its third day leaves
// nothing to see (husbandry writers; Marshall, Zoological Society of London). The chances
// are judgements.
func candlingOn(day int) lamp {
	live := 0.985
	switch {
	case day <= 2:
		live = 0.02
	case day <= 6:
		live = []float64{0.3, 0.65, 0.88, 0.96}[day-3]
	}
	var l lamp
	l[0] = [3]float64{live, 1 - live, 0}
	switch {
	case day <= 3:
		l[1] = [3]float64{0.4 * live, 1 - 0.4*live, 0}
	default:
		full := min(0.4*live, max(0.1, 0.45-0.035*float64(day-5)))
		clr := max(0.4, 1-0.15*float64(day-3)-full)
		l[1] = [3]float64{full, clr, 1 - full - clr}
	}
	l[2] = [3]float64{0.005, 0.975, 0.02}
	return l
}

// shows is the chance of the candling when v eggs will hatch, d die and c never lived. When
// fewer are told of than lie there, they are any of them. The plain twin writes it out.
func (s *sight) shows(l *lamp, v, d, c int) float64 {
	told := s.full + s.clr + s.bad
	e := v + d + c
	if told > e {
		return 0
	}
	var pw [3][3][mostEggs + 1]float64
	for i := range 3 {
		for j := range 3 {
			pw[i][j][0] = 1
			for n := 1; n <= told; n++ {
				pw[i][j][n] = pw[i][j][n-1] * l[i][j]
			}
		}
	}
	var sum float64
	for v1 := max(0, told-d-c); v1 <= min(v, told); v1++ {
		for d1 := max(0, told-v1-c); d1 <= min(d, told-v1); d1++ {
			c1 := told - v1 - d1
			pick := choose[v][v1] * choose[d][d1] * choose[c][c1] / choose[e][told]
			for vf := max(0, s.full-d1-c1); vf <= min(v1, s.full); vf++ {
				vc := v1 - vf
				if vc > s.clr {
					continue
				}
				pv := choose[v1][vf] * pw[0][0][vf] * pw[0][1][vc]
				for df := max(0, s.full-vf-c1); df <= min(d1, s.full-vf); df++ {
					cf := s.full - vf - df
					for dc := max(0, s.clr-vc-(c1-cf)); dc <= min(d1-df, s.clr-vc); dc++ {
						cc := s.clr - vc - dc
						db, cb := d1-df-dc, c1-cf-cc
						sum += pick * pv *
							choose[d1][df] * choose[d1-df][dc] * pw[1][0][df] * pw[1][1][dc] * pw[1][2][db] *
							choose[c1][cf] * choose[c1-cf][cc] * pw[2][0][cf] * pw[2][1][cc] * pw[2][2][cb]
					}
				}
			}
		}
	}
	return sum
}
