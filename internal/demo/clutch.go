package demo

import (
	"math"
	"strings"

	"broodlight/internal/aviary"
)

// pair is a cock and a hen in a cage with a nest box.
type pair struct {
	id, box   aviary.ID
	kind      *kind
	cock, hen *bird
	at        *place
	from, to  int // to is 0 while it stands
	boxed     int // day on which the box was hung
}

// What becomes of an egg.
const (
	lives      = 'o'
	diesYoung  = 'd' // hatches, and dies in the nest within days
	tossed     = 't' // hatches, and is thrown out on the next day
	clear      = 'c'
	earlyDead  = 'e'
	deadShell  = 's'
	eggStates  = "ces"
	hatchFates = "odt"
)

var candledAs = map[byte]string{lives: "fertile", diesYoung: "fertile", tossed: "fertile", deadShell: "fertile", clear: "clear", earlyDead: "early dead"}

// foundAs is what an egg proves to be that has not hatched.
var foundAs = map[byte]string{clear: "clear", earlyDead: "early dead", deadShell: "dead in shell"}

// egg is one egg with its fate.
type egg struct {
	laid, hatches int
	fate          byte
}

// chick is one chick of a clutch.
type chick struct {
	*bird
	dies  int  // day; 0 when it lives
	found bool // its death has been written
}

// clutch is one clutch: what the hen laid and what becomes of it, and the looks that the keeper takes.
type clutch struct {
	pair  *pair
	first int
	eggs  []egg

	late       int    // days by which the hatch is late
	desertedOn int    // day on which the eggs were found cold; 0 for never
	until      int    // no look on this day or later; 0 for none
	sitSeen    bool   // a bird was seen sitting tight when sitting began
	eggGone    int    // day on which an egg is missing and nobody knows why
	noRings    bool   // rings had not come when the chicks were of an age
	to         *place // where the young go at weaning
	fosterTo   *pair  // who rears it
	fosterOn   int    // from which day
	putOff     bool   // the hen sat tight on the day of candling

	young []*chick
	ended int // day on which nothing of it was left; 0 while it goes on
	key   *aviary.Entry

	// the keeper's running counts
	taken    int  // eggs taken out, or gone
	hatching bool // the first chick was seen
}

// fates draws what becomes of n eggs.
func (w *world) fates(n int) string {
	var b strings.Builder
	for range n {
		switch x := w.rng.Float64(); {
		case x < 0.13:
			b.WriteByte(clear)
		case x < 0.18:
			b.WriteByte(earlyDead)
		case x < 0.26:
			b.WriteByte(deadShell)
		case x < 0.40:
			b.WriteByte(diesYoung)
		case x < 0.42:
			b.WriteByte(tossed)
		default:
			b.WriteByte(lives)
		}
	}
	return b.String()
}

// size draws a clutch size from the species' range, most often the usual one.
func (w *world) size(k *kind) int {
	n := k.clutch[1] + pick(w, -1, 0, 0, 0, 1)
	return min(max(n, k.clutch[0]), k.clutch[2])
}

// lay makes a clutch of a pair with one egg a day from the first day on.
func (w *world) lay(p *pair, first int, fates string) *clutch {
	c := &clutch{pair: p, first: first, to: w.flight[1]}
	if p.kind.slug == "zebra" {
		c.to = w.flight[0] // the most by far, so they have a flight for themselves
	}
	n := len(fates)
	sits := p.kind.sitsOn(first, n)
	for i := range n {
		e := egg{laid: first + i, fate: fates[i]}
		// Eggs laid after sitting began hatch later by about four fifths of the days between.
		lag := int(math.Ceil(0.8*float64(max(0, e.laid-sits)) - 0.5))
		e.hatches = c.due() + lag
		c.eggs = append(c.eggs, e)
	}
	return c
}

// due is the day on which the first chick is to be expected.
func (c *clutch) due() int { return c.first + c.pair.kind.hatchOn }

func (c *clutch) lastLaid() int { return c.eggs[len(c.eggs)-1].laid }

func (c *clutch) sits() int { return c.pair.kind.sitsOn(c.first, len(c.eggs)) }

// laid is how many eggs have been laid by a day.
func (c *clutch) laid(day int) (n int) {
	for _, e := range c.eggs {
		if e.laid <= day {
			n++
		}
	}
	return n
}

func (c *clutch) hatched(day int) (n int) {
	for _, e := range c.eggs {
		if strings.IndexByte(hatchFates, e.fate) >= 0 && e.hatches+c.late <= day {
			n++
		}
	}
	return n
}

// inNest is how many eggs lie in the nest on a day.
func (c *clutch) inNest(day int) int { return max(0, c.laid(day)-c.hatched(day)-c.taken) }

// hatchDay is the day of the first chick, or 0 when none will hatch.
func (c *clutch) hatchDay() int {
	best := 0
	for _, e := range c.eggs {
		if strings.IndexByte(hatchFates, e.fate) >= 0 && (best == 0 || e.hatches+c.late < best) {
			best = e.hatches + c.late
		}
	}
	return best
}

// hopeless reports whether no egg shows life at candling.
func (c *clutch) hopeless() bool {
	for _, e := range c.eggs {
		if candledAs[e.fate] == "fertile" {
			return false
		}
	}
	return true
}

// rearing is who rears on a day, and where.
func (c *clutch) rearing(day int) *pair {
	if c.fosterTo != nil && day >= c.fosterOn {
		return c.fosterTo
	}
	return c.pair
}

// run lets the clutch take its course, day by day, and writes what was seen and done. Nothing is written of
// today or later.
func (w *world) run(c *clutch) {
	k := c.pair.kind
	sits, last, due, n := c.sits(), c.lastLaid(), c.due(), len(c.eggs)
	hatch := c.hatchDay()
	ringOn, weanOn := w.ringDay(k, hatch), w.weanDay(k, hatch)
	for day := c.first; day < 0 && c.ended == 0; day++ {
		if c.until != 0 && day >= c.until {
			return
		}
		if day == c.desertedOn && c.desertedOn != 0 {
			w.takeOut(c, day, &aviary.NestCheck{Look: "changed", Text: "Eggs cold, nobody on them since yesterday."}, "deserted, cold")
			return
		}
		if c.fosterTo != nil && day == c.fosterOn {
			w.foster(c, day)
			continue
		}
		switch {
		case hatch != 0 && day >= hatch && c.hatching:
			w.rear(c, day, hatch, ringOn, weanOn)
		case day == c.eggGone && c.eggGone != 0:
			c.taken++
			w.look(c, day, &aviary.NestCheck{Look: "changed", Eggs: new(c.inNest(day))})
		case day == c.first, day == c.first+2 && day < last, day == last && day > c.first:
			w.look(c, day, &aviary.NestCheck{Look: "changed", Eggs: new(c.inNest(day))})
		case day == sits+1 && c.sitSeen:
			w.look(c, day, &aviary.NestCheck{Look: "sitting"})
		case day == sits+k.candleOn && !c.putOff:
			w.look(c, day, &aviary.NestCheck{Look: "changed", Eggs: new(c.inNest(day)), Candled: c.candled()})
		case day == last+2:
			w.look(c, day, &aviary.NestCheck{Look: "same", Eggs: new(c.inNest(day))})
		case day == sits+k.candleOn+3 && c.hopeless():
			w.takeOut(c, day, &aviary.NestCheck{Look: "changed", Candled: c.leftAs()}, pick(w, "clear, sat full time", "clear at two candlings"))
			return
		case day == due-3 && n > 3 && !c.hopeless() && c.first%3 == 0:
			w.look(c, day, &aviary.NestCheck{Look: "sitting"})
		case day == due, day == due+1, day == due+4, day == hatch:
			w.hatchLook(c, day, hatch)
		}
	}
}

// hatchLook looks for the first chick.
func (w *world) hatchLook(c *clutch, day, hatch int) {
	if hatch != 0 && day >= hatch {
		c.hatching = true
		w.hatchUp(c, day)
		age := day - hatch
		w.look(c, day, &aviary.NestCheck{Look: "changed", Eggs: new(c.inNest(day)), Chicks: new(len(c.young)), AgeDays: new(age), AgeAbout: new(1)})
		return
	}
	if day == c.due()+4 && hatch == 0 {
		w.takeOut(c, day, &aviary.NestCheck{Look: "changed", Chicks: new(0), Candled: c.leftAs()}, "did not hatch")
		return
	}
	w.look(c, day, &aviary.NestCheck{Look: "same", Eggs: new(c.inNest(day)), Chicks: new(0)})
}

// hatchUp brings the chicks that hatched by a day into being.
func (w *world) hatchUp(c *clutch, day int) {
	n := 0
	for _, e := range c.eggs {
		at := e.hatches + c.late
		if strings.IndexByte(hatchFates, e.fate) < 0 || at > day {
			continue
		}
		n++
		if n <= len(c.young) {
			continue
		}
		x := &chick{bird: w.born(c.pair.kind, c.pair.cock, c.pair.hen, at)}
		switch e.fate {
		case diesYoung:
			x.dies = at + w.between(1, 5)
		case tossed:
			x.dies = at + 1
		}
		c.young = append(c.young, x)
	}
}

// rear takes the looks at a nest with chicks.
func (w *world) rear(c *clutch, day, hatch, ringOn, weanOn int) {
	k := c.pair.kind
	w.hatchUp(c, day)
	var dead []*chick
	alive := 0
	for _, x := range c.young {
		switch {
		case x.found:
		case x.dies != 0 && x.dies <= day:
			dead = append(dead, x)
		default:
			alive++
		}
	}
	age := day - hatch
	looks := age == 2 || age == 5 || day == ringOn || age == 14 || age == k.fledgeOn+1 || age == k.weanOn-4 || day == weanOn
	if !looks && !(alive == 0 && len(dead) > 0) {
		return
	}
	body := &aviary.NestCheck{Look: "changed"}
	if len(dead) > 0 {
		body.DeadChicks = new(len(dead))
		if alive == 0 {
			body.Text = "All thrown out, found under the box."
		}
		for _, x := range dead {
			x.found = true
			if x.ringed() {
				w.keep(day, c.rearing(day).at.minute, &aviary.BirdDied{Bird: x.id, Cause: "in the nest"})
				x.left = day
			}
		}
	}
	eggs := c.inNest(day)
	coming := c.hatched(day+4) > c.hatched(day)
	switch {
	case alive == 0 && !coming:
		body.Chicks = new(0)
		if eggs == 0 {
			body.Eggs = new(0)
			w.look(c, day, body)
			c.ended = day
			return
		}
		body.Candled = c.leftAs()
		w.takeOut(c, day, body, "did not hatch")
	case day == weanOn:
		w.wean(c, day)
	case age == k.weanOn-4:
		body.Out, body.SelfFeeding = new(alive), true
		w.look(c, day, body)
	case age == k.fledgeOn+1:
		body.Out, body.Chicks, body.Eggs = new(alive), new(0), new(0)
		w.look(c, day, body)
	case day == ringOn:
		body.Chicks, body.Eggs = new(alive), new(eggs)
		if eggs > 0 {
			body.Candled, body.Removed, body.RemovedWhy = c.leftAs(), new(eggs), "did not hatch"
			c.taken += eggs
		}
		w.look(c, day, body)
		if !c.noRings {
			w.ring(c, day)
		}
	default:
		if len(dead) == 0 && age != 2 {
			body.Look = "same"
		}
		body.Chicks, body.Eggs = new(alive), new(eggs)
		if age == 14 {
			body.Eggs = nil
		}
		w.look(c, day, body)
	}
}

func (x *chick) ringed() bool { return x.id != aviary.ID{} }

// ringDay is the day of ringing: at the usual age, but not on a day on which the keeper is away.
func (w *world) ringDay(k *kind, hatch int) int {
	day := hatch + k.ringOn
	if !helperDays(day) {
		return day
	}
	if awayFrom-1-hatch >= 7 {
		return awayFrom - 1
	}
	return awayTo + 1
}

func (w *world) weanDay(k *kind, hatch int) int {
	day := hatch + k.weanOn + hatch&1
	if helperDays(day) {
		return awayTo + 1
	}
	return day
}

// candled lists the eggs by what candling shows of them.
func (c *clutch) candled() []string {
	var out []string
	for _, e := range c.eggs[c.taken:] {
		out = append(out, candledAs[e.fate])
	}
	return out
}

// leftAs lists the eggs that have not hatched by what they prove to be.
func (c *clutch) leftAs() []string {
	var out []string
	for _, e := range c.eggs {
		if strings.IndexByte(eggStates, e.fate) >= 0 {
			out = append(out, foundAs[e.fate])
		}
	}
	return out
}

// look writes a look at the nest.
func (w *world) look(c *clutch, day int, body *aviary.NestCheck) *aviary.Entry {
	at := c.rearing(day).at
	body.Place = at.id
	e := w.write(day, at.minute, w.lookedBy(day), body)
	if c.key == nil && body.Eggs != nil && *body.Eggs > 0 {
		c.key = e
	}
	return e
}

// takeOut takes all eggs out, which ends a clutch without young.
func (w *world) takeOut(c *clutch, day int, body *aviary.NestCheck, why string) {
	eggs := c.inNest(day)
	body.Eggs, body.Removed, body.RemovedWhy = new(eggs), new(eggs), why
	w.look(c, day, body)
	c.taken += eggs
	c.ended = day
}

// ring rings the chicks that are alive.
func (w *world) ring(c *clutch, day int) {
	at := c.rearing(day).at
	for _, x := range c.young {
		if x.found {
			continue
		}
		x.id, x.at, x.sexKnown = w.thing(day), at, x.hatched+x.kind.sexedOn+w.between(0, 6)
		body := &aviary.ChickRinged{Bird: x.id, Place: at.id, Species: x.kind.slug, RingSize: new(x.kind.ringSize), Hatched: w.date(x.hatched)}
		if at != c.pair.at {
			body.LaidPlace = c.pair.at.id
		}
		e := w.keep(day, at.minute, body)
		w.ringed = append(w.ringed, ringing{e, body, x.bird})
		w.birds = append(w.birds, x.bird)
	}
}

// wean parts the young from their parents.
func (w *world) wean(c *clutch, day int) {
	at := c.rearing(day).at
	body := &aviary.YoungWeaned{Place: at.id, To: c.to.id}
	for _, x := range c.young {
		if x.found {
			continue
		}
		if !x.ringed() {
			body.Unringed++
			continue
		}
		body.Birds = append(body.Birds, x.id)
		x.at, x.weaned = c.to, day
	}
	if body.Unringed > 0 {
		body.Group, body.Species = w.thing(day), c.pair.kind.slug
	}
	w.keep(day, at.minute, body)
	c.ended = day
}

// foster moves all eggs to another pair, whose own are taken out.
func (w *world) foster(c *clutch, day int) {
	eggs := c.inNest(day)
	w.write(day, c.pair.at.minute, Keeper, &aviary.NestCheck{Place: c.pair.at.id, Look: "changed", Eggs: new(eggs), Text: "Hen leaves them for long spells."})
	w.keep(day, deskTime-120, &aviary.NestMoved{Place: c.pair.at.id, ToPlace: c.fosterTo.at.id, Eggs: eggs})
}
