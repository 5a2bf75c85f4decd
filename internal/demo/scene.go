package demo

import (
	"slices"

	"broodlight/internal/aviary"
)

// scene is what stands in a cage today, and so what must have gone before.
type scene struct {
	kind  string
	state state
	first int    // day of the first egg of the clutch on the wall; from 0 on it is still to come
	fates string // what becomes of its eggs
	with  func(c *clutch)
}

type state int

const (
	breeding  state = iota
	emptyCage       // nobody is in it
	resting         // the pair was parted and is still there; first is the day of parting
	widowed         // the cock died; first is the day
	waiting         // paired on the day first, and no egg yet
	lapsed          // the clutch is over and the next has not begun
	overlap         // a further clutch over young that are not parted yet
	gives           // its eggs went to another pair
	takes           // and are reared there
)

// paired reports whether a pair was put up there this season.
func (s scene) paired() bool { return s.state != emptyCage }

// scenes is the wall of today: cage by cage, what its nest is up to. The days are worked out from the species'
// profiles, so that jobs fall due as they would.
func scenes() map[string]scene {
	k := map[string]*kind{}
	for _, x := range kinds() {
		k[x.slug] = x
	}
	// laid: the first egg so many days ago; sits: so many days of sitting; due: the first chick is due so many
	// days from today; aged: the first chick is so many days old.
	laid := func(kind string, days int, fates string, with ...func(*clutch)) scene {
		s := scene{kind: kind, first: -days, fates: fates, with: func(*clutch) {}}
		for _, f := range with {
			s.with = f
		}
		return s
	}
	sits := func(kind string, days int, fates string, with ...func(*clutch)) scene {
		return laid(kind, days+min(k[kind].startEgg, len(fates))-1, fates, with...)
	}
	due := func(kind string, in int, fates string, with ...func(*clutch)) scene {
		return laid(kind, k[kind].hatchOn-in, fates, with...)
	}
	aged := func(kind string, days int, fates string, with ...func(*clutch)) scene {
		return due(kind, -days, fates, with...)
	}
	builds := func(kind string, in int) scene { return laid(kind, -in, "") }
	is := func(kind string, st state, day int) scene { return scene{kind: kind, state: st, first: -day} }
	late := func(c *clutch) { c.late, c.sitSeen = 9, true }

	return map[string]scene{
		"A1":  sits("zebra", 9, "oooocs"),
		"A2":  aged("zebra", 8, "oooc"),
		"A3":  laid("zebra", 3, "ooooc"),
		"A4":  builds("zebra", 3),
		"A5":  due("zebra", -4, "oooocs", late),
		"A6":  aged("zebra", 16, "ooooo"),
		"A7":  laid("zebra", 1, "oooc"),
		"A8":  is("zebra", resting, 5),
		"A9":  aged("zebra", 5, "ooocs"),
		"A10": due("zebra", 0, "oooce"),
		"A11": is("zebra", widowed, 6),
		"A12": laid("zebra", 5, "ooooc"),

		"B1":  aged("zebra", 24, "oooos"),
		"B2":  sits("zebra", 6, "oooce"),
		"B3":  sits("zebra", 12, "ooooc"),
		"B4":  aged("zebra", 3, "ooosc"),
		"B5":  aged("zebra", 9, "ooodc"),
		"B6":  aged("zebra", 35, "ooos"),
		"B7":  sits("zebra", 8, "ooocc"),
		"B8":  is("zebra", waiting, 4),
		"B9":  is("zebra", emptyCage, 0),
		"B10": aged("zebra", 23, "oooc"),
		"B11": aged("zebra", 2, "oooec"),
		"B12": is("zebra", resting, 20),

		"C1":  is("gouldian", emptyCage, 0),
		"C2":  {kind: "gouldian", state: gives, first: -17, fates: "ooocs"},
		"C3":  aged("gouldian", 12, "ooooc"),
		"C4":  is("gouldian", waiting, 9),
		"C5":  sits("gouldian", 10, "oooooc"),
		"C6":  sits("gouldian", 4, "ooooc"),
		"C7":  aged("gouldian", 6, "ooodc"),
		"C8":  sits("gouldian", 7, "ccccc"),
		"C9":  sits("blue-faced", 4, "oooc", func(c *clutch) { c.eggGone = -1 }),
		"C10": sits("blue-faced", 11, "ooos"),
		"C11": laid("blue-faced", 11, "ooco", func(c *clutch) { c.desertedOn = -3 }),
		"C12": {kind: "zebra", state: overlap, first: -4, fates: "ooooc"},

		"D1":  sits("bengalese", 4, "ooooc"),
		"D2":  aged("bengalese", 13, "ooooo"),
		"D3":  {kind: "bengalese", state: takes, first: -16, fates: "occoo"},
		"D4":  aged("bengalese", 27, "ooooos"),
		"D5":  due("bengalese", -4, "ooocs", late),
		"D6":  sits("bengalese", 7, "ooooc", func(c *clutch) { c.putOff = true }),
		"D7":  sits("star", 6, "ooooc"),
		"D8":  aged("star", 8, "ooos"),
		"D9":  aged("star", 5, "tttc"),
		"D10": due("star", -6, "sscs"),
		"D11": due("cordon-bleu", 0, "ooooc"),
		"D12": aged("cordon-bleu", 19, "ooc"),
	}
}

// thisSeason brings each cage to what its scene says.
func (w *world) thisSeason(season int, couples map[*place][2]*bird) {
	w.pairs = nil
	var giver, taker *pair
	for _, at := range w.cages {
		s := at.scene
		c := couples[at]
		switch s.state {
		case emptyCage:
		case resting, widowed:
			p := w.before(at, c, s.first)
			w.part(p, s.first, map[state]string{resting: "resting", widowed: "one died"}[s.state], false)
			if s.state == widowed {
				w.keep(s.first, at.minute+50, &aviary.BirdDied{Bird: p.cock.id, Cause: "found in the morning"})
				p.cock.left = s.first
			}
		case waiting:
			p := w.putUp(at, c, s.first-2, s.first)
			if s.first < -6 {
				w.wait(p, s.first+4, s.first+5)
			}
		case overlap:
			w.overlap(at, c, s)
		default:
			p := w.before(at, c, s.first)
			switch s.state {
			case gives:
				giver = p
			case takes:
				taker = p
			default:
				w.onTheWall(p, s)
			}
		}
	}
	w.fosterToday(giver, taker)
}

// onTheWall runs the clutch of a scene until today.
func (w *world) onTheWall(p *pair, s scene) {
	if s.fates == "" {
		return
	}
	c := w.lay(p, s.first, s.fates)
	s.with(c)
	w.run(c)
	if c.putOff {
		w.keep(-1, p.at.minute, &aviary.JobSkipped{Place: p.at.id, Job: "candle/" + c.key.ID.String(), Reason: "hen sitting tight", Until: w.date(1)})
	}
	if c.ended != 0 {
		w.wait(p, c.ended+2, 4)
	}
}

// before puts up the pair of a cage at the right time before a day on which it lays its first egg, with a clutch
// before that one where there is time for it.
func (w *world) before(at *place, couple [2]*bird, first int) *pair {
	k := couple[0].kind
	reared := k.hatchOn + k.weanOn + w.between(4, 8) // from one first egg to the next
	const clearRound = 27                            // the same, when the eggs come to nothing
	const courting = 10                              // from pairing to the first egg
	room := first - pairFrom - courting
	switch {
	case room >= reared && w.chance(0.35):
		p := w.putUp(at, couple, first-reared-courting, first-reared-courting+1)
		w.wait(p, p.boxed+5, first-reared)
		w.earlier(p, first-reared, w.fruitful(k), first)
		return p
	case room >= clearRound && w.chance(0.35):
		p := w.putUp(at, couple, first-clearRound-courting, first-clearRound-courting+1)
		w.wait(p, p.boxed+5, first-clearRound)
		w.earlier(p, first-clearRound, string(slices.Repeat([]byte{clear}, k.clutch[1])), first)
		return p
	}
	p := w.putUp(at, couple, first-courting-w.between(0, 2), first-courting+1)
	w.wait(p, p.boxed+5, first)
	return p
}

// fruitful draws fates of which some egg is reared.
func (w *world) fruitful(k *kind) string {
	f := []byte(w.fates(w.size(k)))
	f[0] = lives
	return string(f)
}

// earlier runs a clutch that is over before the next one begins.
func (w *world) earlier(p *pair, first int, fates string, next int) {
	c := w.lay(p, first, fates)
	c.noRings = p.at.name == "D7" // the small rings had not come
	w.run(c)
	w.clean(p, c.ended+1)
	w.material(p, next-5)
	w.wait(p, max(c.ended+1, min(c.ended+3, next-2)), next)
}

// overlap has a pair lay again while its young are out and not parted yet.
func (w *world) overlap(at *place, couple [2]*bird, s scene) {
	k := couple[0].kind
	const out = 29 // age of the young today
	first := -out - k.hatchOn
	p := w.putUp(at, couple, first-11, first-10)
	w.wait(p, p.boxed+5, first)
	young := w.lay(p, first, "oooc")
	young.until = s.first
	w.run(young)
	w.onTheWall(p, scene{kind: s.kind, first: s.first, fates: s.fates, with: func(*clutch) {}})
}

// fosterToday moves the eggs of one pair to another that began to sit at the same time.
func (w *world) fosterToday(giver, taker *pair) {
	s, t := giver.at.scene, taker.at.scene
	c := w.lay(giver, s.first, s.fates)
	c.fosterTo, c.fosterOn = taker, s.first+6
	w.giveWay(w.lay(taker, t.first, t.fates), c.fosterOn)
	w.run(c)
	w.wait(giver, c.fosterOn+2, 3)
}
