package demo

import (
	"slices"

	"broodlight/internal/aviary"
)

// pairsIn is how many pairs of each species bred in the seasons that are over. In the one under way the wall
// says it.
var pairsIn = [seasons - 1]map[string]int{
	{"zebra": 6, "gouldian": 2, "bengalese": 2, "star": 1, "blue-faced": 1, "cordon-bleu": 1},
	{"zebra": 12, "gouldian": 4, "bengalese": 3, "star": 2, "blue-faced": 1, "cordon-bleu": 1},
}

// spares is how many unpaired birds of each sex are kept beside those that breed.
var spares = map[string]int{"zebra": 4, "bengalese": 3, "gouldian": 1}

// cagesFor lists the cages in which a species breeds in a season.
func (w *world) cagesFor(k *kind, season int) []*place {
	var out []*place
	for _, p := range w.cages {
		if p.scene.kind == k.slug && (season < seasons || p.scene.paired()) {
			out = append(out, p)
		}
	}
	if season < seasons {
		out = out[:pairsIn[season-1][k.slug]]
	}
	return out
}

// couple chooses who breeds with whom in a season, and buys birds where they are wanting. It returns one couple a
// cage.
func (w *world) couple(season, off int) map[*place][2]*bird {
	out := map[*place][2]*bird{}
	var bought []*bird
	buy := func(k *kind, sex aviary.Sex) *bird {
		b := w.stranger(k, sex, off+boughtOn-w.between(max(k.breedFrom[aviary.Hen], k.breedFrom[aviary.Cock]), 640))
		bought = append(bought, b)
		return b
	}
	for _, k := range w.kinds {
		free := map[aviary.Sex][]*bird{}
		for _, b := range w.birds {
			if b.kind == k && b.left == 0 && b.sexKnown < off+pairFrom && b.hatched+k.breedFrom[b.sex] <= off+pairFrom {
				free[b.sex] = append(free[b.sex], b)
			}
		}
		take := func(b *bird) {
			free[b.sex] = slices.DeleteFunc(free[b.sex], func(x *bird) bool { return x == b })
		}
		cages := w.cagesFor(k, season)
		// New blood each season: one bought cock in the larger lines.
		fresh := season > 1 && len(cages) > 4
		for i, p := range cages {
			var cock, hen *bird
			if fresh && i == len(cages)-1 {
				cock = buy(k, aviary.Cock)
			} else {
				cock = w.first(free[aviary.Cock], nil)
			}
			if cock == nil {
				cock = buy(k, aviary.Cock)
			}
			take(cock)
			if m := cock.mate; m != nil && slices.Contains(free[aviary.Hen], m) && w.chance(0.6) {
				hen = m // a proven pair is kept
			} else {
				hen = w.first(free[aviary.Hen], cock)
			}
			if hen == nil {
				hen = buy(k, aviary.Hen)
			}
			take(hen)
			cock.mate, hen.mate = hen, cock
			out[p] = [2]*bird{cock, hen}
		}
		if season == 1 {
			for range spares[k.slug] {
				buy(k, aviary.Cock)
				buy(k, aviary.Hen)
			}
		}
	}
	for i, b := range bought {
		if season == 1 {
			w.acquire(b, firstDay, 10*60+i, w.flightFor(b), true)
			continue
		}
		w.acquire(b, off+boughtOn, 15*60+i, w.quarantine, false)
	}
	if season > 1 && len(bought) > 0 {
		until := w.date(off + releaseOn)
		w.keep(off+boughtOn, 16*60, &aviary.PlaceChanged{Place: w.quarantine.id, BlockedUntil: &until})
		for _, b := range bought {
			w.move(b, off+releaseOn, walk, w.flightFor(b), "quarantine over")
		}
	}
	w.outside(off, out)
	return out
}

// outside puts the hardy birds that are not paired in the outdoor aviary, to make room for the young.
func (w *world) outside(off int, couples map[*place][2]*bird) {
	paired := map[*bird]bool{}
	for _, c := range couples {
		paired[c[0]], paired[c[1]] = true, true
	}
	day := off + pairFrom + 2
	for _, b := range w.birds {
		if b.kind.hardy && b.left == 0 && !paired[b] {
			w.move(b, day, evening, w.aviary, "room for the young")
		}
	}
}

// flightFor is the flight for a bird of its sex.
func (w *world) flightFor(b *bird) *place {
	if b.sex == aviary.Hen {
		return w.flight[1]
	}
	return w.flight[0]
}

// first draws a bird from a list, not close kin of a mate. It returns nil when there is none.
func (w *world) first(list []*bird, mate *bird) *bird {
	var fit []*bird
	for _, b := range list {
		if mate == nil || !related(b, mate) {
			fit = append(fit, b)
		}
	}
	if len(fit) == 0 {
		return nil
	}
	return fit[w.rng.IntN(len(fit))]
}

// putUp sets up a pair in a cage and hangs its box.
func (w *world) putUp(at *place, couple [2]*bird, from, boxed int) *pair {
	p := &pair{id: w.thing(from), kind: couple[0].kind, cock: couple[0], hen: couple[1], at: at, from: from, boxed: boxed}
	if w.chance(0.5) {
		for _, b := range couple {
			w.weigh(b, from, at.minute, 1)
		}
	}
	w.keep(from, at.minute, &aviary.PairSet{Pair: p.id, Place: at.id, Cocks: []aviary.ID{p.cock.id}, Hens: []aviary.ID{p.hen.id}})
	p.cock.at, p.hen.at = at, at
	if boxed < 0 {
		p.box = w.thing(boxed)
		w.keep(boxed, at.minute, &aviary.BoxHung{Box: p.box, Place: at.id})
		w.material(p, boxed+2)
	}
	w.pairs = append(w.pairs, p)
	return p
}

func (w *world) material(p *pair, day int) {
	if day < 0 {
		w.write(day, p.at.minute, w.lookedBy(day), &aviary.MaterialGiven{Place: p.at.id, What: pick(w, "coconut fibre", "dry grass", "jute")})
	}
}

// clean cleans the box after a clutch.
func (w *world) clean(p *pair, day int) {
	if day < 0 {
		w.keep(day, p.at.minute, &aviary.BoxCleaned{Box: p.box, Place: p.at.id})
	}
}

// wait looks into a box without eggs every other day, from a day until the first egg.
func (w *world) wait(p *pair, from, until int) {
	for day := from; day < min(until, 0); day += 2 {
		body := &aviary.NestCheck{Place: p.at.id, Look: "changed", Eggs: new(0)}
		switch {
		case day >= until-6:
			body.Signs = []string{pick(w, "at the nest", "building"), "building"}
			if body.Signs[0] == "building" {
				body.Signs = body.Signs[1:]
			}
		case day >= until-10:
			body.Signs = []string{pick(w, "singing", "beak dark", "wing flutter")}
		default:
			body.Look = "same"
		}
		w.write(day, p.at.minute, w.lookedBy(day), body)
	}
}

// part ends a pair, takes its box out, and puts both birds in flights, as one step.
func (w *world) part(p *pair, day int, reason string, home bool) {
	p.to = day
	batch := w.thing(day)
	add := func(body aviary.Body) { w.keep(day, p.at.minute+60, body).Batch = batch }
	add(&aviary.PairEnded{Pair: p.id, Reason: reason})
	if p.box != (aviary.ID{}) {
		add(&aviary.BoxTaken{Box: p.box, Place: p.at.id})
	}
	if !home {
		return
	}
	for _, b := range []*bird{p.cock, p.hen} {
		if b.left == 0 {
			to := w.home(b)
			add(&aviary.BirdMoved{Bird: b.id, Place: to.id, Reason: reason})
			b.at = to
		}
	}
}

// pastSeason lets a season take its course from beginning to end.
func (w *world) pastSeason(season, off int, couples map[*place][2]*bird) {
	w.pairs = nil
	start := func(at *place) *pair {
		from := off + w.between(pairFrom, pairFrom+16)
		return w.putUp(at, couples[at], from, from+w.between(1, 2))
	}
	var giver, taker *pair
	for _, k := range w.kinds {
		for i, at := range w.cagesFor(k, season) {
			p := start(at)
			switch {
			case season == 2 && i == 0 && k.slug == "gouldian":
				giver = p
			case season == 2 && i == 0 && k.slug == "bengalese":
				taker = p
			default:
				w.breed(p, off, p.from+w.between(9, 14))
			}
		}
	}
	if giver != nil {
		w.fostered(giver, taker, off)
	}
	for _, p := range w.pairs {
		if p.to == 0 {
			panic("demo: a pair of a season that is over was not parted")
		}
	}
}

// breed lets a pair lay clutch after clutch, until the season or its share of clutches is over.
func (w *world) breed(p *pair, off, first int) {
	from := p.boxed + 5
	done := first
	for n := 1; n <= 3 && first <= off+lastEgg; n++ {
		w.wait(p, from, first)
		fates := w.fates(w.size(p.kind))
		deserted := 0
		switch x := w.rng.Float64(); {
		case x < 0.09:
			fates = fates[:0] + string(slices.Repeat([]byte{clear}, w.size(p.kind)))
		case x < 0.15:
			deserted = p.kind.sitsOn(first, len(fates)) + w.between(3, 7)
		}
		c := w.lay(p, first, fates)
		c.desertedOn = deserted
		c.late = pick(w, 0, 0, 0, 1)
		w.run(c)
		done = c.ended
		reared := len(c.young) > 0
		if n == 2 || (reared && w.chance(0.6)) {
			break
		}
		w.clean(p, c.ended+1)
		w.material(p, c.ended+2)
		from, first = c.ended+3, c.ended+w.between(8, 12)
	}
	w.part(p, done+w.between(2, 6), "season over", true)
}

// fostered lets one pair rear the eggs of another.
func (w *world) fostered(giver, taker *pair, off int) {
	first := max(giver.from, taker.from) + 10
	w.wait(giver, giver.boxed+5, first)
	w.wait(taker, taker.boxed+5, first+1)
	c := w.lay(giver, first, "oooosc"[:w.size(giver.kind)])
	own := w.lay(taker, first+1, "ocooo")
	c.fosterTo, c.fosterOn = taker, first+10
	w.giveWay(own, c.fosterOn)
	w.run(c)
	w.part(taker, c.ended+3, "season over", true)
	w.breed(giver, off, c.fosterOn+12)
}

// giveWay runs a clutch until its eggs are taken out for the eggs of another pair.
func (w *world) giveWay(c *clutch, day int) {
	c.until = day
	w.run(c)
	w.takeOut(c, day, &aviary.NestCheck{Look: "changed"}, "made room for fostered eggs")
}

// grow writes the youth of birds that were parted from their parents: their sex and looks when they show, and
// the second flight for the hens. What would be today or later is not written.
func (w *world) grow() {
	for _, b := range w.birds {
		if b.weaned == 0 || b.grown || b.left != 0 {
			continue
		}
		b.sexKnown = max(b.sexKnown, b.weaned+1)
		if b.sexKnown >= 0 {
			continue
		}
		b.grown = true
		minute := b.at.minute
		how := b.kind.sexHow
		if how == "song" && b.sex == aviary.Hen {
			how = "DNA"
		}
		w.keep(b.sexKnown, minute, &aviary.BirdSexed{Bird: b.id, Sex: b.sex, How: how})
		for _, l := range b.looks() {
			trait, look := splitLook(l)
			w.keep(b.sexKnown, minute, &aviary.LookSeen{Bird: b.id, Trait: trait, Look: look})
		}
		w.move(b, b.sexKnown, minute, w.flightFor(b), "sexed")
		if w.chance(0.3) {
			w.weigh(b, b.sexKnown, minute, 0.97)
		}
		if day := b.sexKnown + w.between(5, 15); b.hatched > pairFrom && day < 0 && w.chance(0.4) {
			w.leaves(b, day, "sold") // early young of this season
		}
	}
}

// lull lets the time between two seasons pass: some birds die, and what is not needed for the next one is sold.
func (w *world) lull(season, off int) {
	next := off + yearDays
	for _, k := range w.kinds {
		need := len(w.cagesFor(k, season+1)) + spares[k.slug]
		kept := map[aviary.Sex]int{}
		for _, young := range []bool{false, true} { // proven birds are kept before young ones
			for _, b := range w.birds {
				if b.kind != k || b.left != 0 || (b.hatched > off+pairFrom) != young {
					continue
				}
				earliest := off + partBy + 10
				if young {
					earliest = max(earliest, b.sexKnown+4, b.weaned+20)
				}
				if earliest > next+boughtOn-20 {
					earliest = next + boughtOn - 20
				}
				day := w.between(earliest, next+boughtOn-10)
				old := b.hatched < off-3*yearDays
				switch {
				case w.chance(0.06):
					w.dies(b, day, pick(w, "", "", "found in the morning", "night fright", "old age"))
				case kept[b.sex] >= need, old, !young && w.chance(0.1):
					w.leaves(b, day, pick(w, "sold", "sold", "sold", "given"))
				default:
					kept[b.sex]++
				}
			}
		}
	}
}

func (w *world) dies(b *bird, day int, cause string) {
	w.keep(day, b.at.minute, &aviary.BirdDied{Bird: b.id, Cause: cause})
	b.left = day
}

func (w *world) leaves(b *bird, day int, how string) {
	w.keep(day, evening, &aviary.BirdLeft{Bird: b.id, How: how})
	b.left = day
}

func splitLook(s string) (trait, look string) {
	for i := range s {
		if s[i] == '=' {
			return s[:i], s[i+1:]
		}
	}
	return "", s
}

// Lamps: from rest to breeding hours and back, half an hour a week at the evening end. Common practice, no source.
const (
	lampsOn   = 6 * 60
	restOff   = 15*60 + 30
	fullOff   = 20 * 60
	lampStep  = 30
	lampSteps = (fullOff - restOff) / lampStep
	rampFrom  = -155       // the first longer day; full light comes as the first pairs are put up
	taperFrom = partBy + 3 // the days get shorter once the last young are parted
	slipped   = 3          // the step of the season under way that was made late, counted from 0
	slippedBy = 3          // and by how many days
)

func (w *world) lamps(off int) {
	set := func(day, until int) {
		if day < 0 && day >= firstDay {
			w.keep(day, deskTime+5, &aviary.LampSet{On: clock(lampsOn), Off: clock(until), Dusk: new(30)})
		}
	}
	if off == -(seasons-1)*yearDays {
		set(firstDay, restOff)
	}
	day := off + rampFrom
	for i := range lampSteps {
		late := 0
		if off == 0 && i == slipped {
			late = slippedBy
		}
		set(day+late, restOff+(i+1)*lampStep)
		day += 7
	}
	day = off + taperFrom
	for until := fullOff - lampStep; until >= restOff; until -= lampStep {
		set(day, until)
		day += 7
	}
}

func clock(minute int) aviary.Clock { return aviary.ClockOf(minute/60, minute%60) }

// feed writes what the whole room was given: more and oftener in the season that is under way.
func (w *world) feed(off int) {
	every := 7
	if off == 0 {
		every = 2
	}
	give := func(day int, food string, ml float64) {
		w.write(day, feeding, w.lookedBy(day), &aviary.FoodGiven{Food: food, Amount: &ml, Unit: "ml"})
	}
	for day := off + pairFrom - 21; day < min(off+partBy, 0); day += every {
		give(day, "sprouted seed", 5*float64(w.between(20, 46)))
		if day >= off+pairFrom {
			give(day, "egg food", 5*float64(w.between(12, 30)))
		}
		if w.chance(0.2) {
			give(day, pick(w, "cuttlefish bone", "greens", "oyster grit"), 60)
		}
	}
}
