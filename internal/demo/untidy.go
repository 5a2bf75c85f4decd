package demo

import (
	"broodlight/internal/aviary"
)

// untidy writes what makes a room a real one: matters to sort out, slips struck out, a bird in quarantine and one
// that is poorly, a helper's days, a head count that does not come out, young without rings.
func (w *world) untidy() {
	w.rounds()
	w.away()
	w.apart()
	w.struck()
	w.counted()
	w.odd()
	w.weighings()
	w.notes()
}

// here lists the birds in a place today, in the order in which they came into the books.
func (w *world) here(at *place) []*bird {
	var out []*bird
	for _, b := range w.birds {
		if b.at == at && b.left == 0 {
			out = append(out, b)
		}
	}
	return out
}

func (w *world) cage(name string) *place {
	for _, p := range w.cages {
		if p.name == name {
			return p
		}
	}
	panic("demo: no cage " + name)
}

// in returns the cock or hen of the pair in a cage.
func (w *world) in(name string, sex aviary.Sex) *bird {
	for _, p := range w.pairs {
		if p.at.name == name && p.to == 0 {
			if sex == aviary.Hen {
				return p.hen
			}
			return p.cock
		}
	}
	panic("demo: no pair in " + name)
}

// rounds says of most mornings that the whole room was seen.
func (w *world) rounds() {
	for day := -40; day < 0; day++ {
		body := &aviary.RoundSeen{}
		if w.chance(0.15) {
			body.Except = []aviary.ID{pick(w, w.cages...).id}
		}
		if w.chance(0.9) {
			w.write(day, feeding+10, w.lookedBy(day), body)
		}
	}
}

// away is the keeper's days away and what the helper wrote.
func (w *world) away() {
	w.keep(awayFrom-3, deskTime, &aviary.AwaySet{From: w.date(awayFrom), To: w.date(awayTo), Text: "Two scoops a cage, sprouts only where chicks are. Leave the Gouldian boxes shut."})
	e := w.write(awayFrom+1, walk+70, Helper, &aviary.OddSeen{Place: w.cage("C7").id, What: "water out", Text: "bottle stuck, tapped it, runs again"})
	w.keep(awayTo+1, deskTime, &aviary.Settled{Entry: e.ID, How: "Bottle changed."})
	w.write(awayTo, walk+75, Helper, &aviary.Note{Text: "Fed and watered, all well. The heater clicked twice in the night."})
}

// apart is the bought bird in quarantine and the poorly one in the hospital cage.
func (w *world) apart() {
	b := w.stranger(w.kind("gouldian"), aviary.Cock, -420)
	w.acquire(b, -12, 15*60, w.quarantine, false)
	until := w.date(18)
	w.keep(-12, 15*60+5, &aviary.PlaceChanged{Place: w.quarantine.id, BlockedUntil: &until})
	w.weigh(b, -12, 15*60+10, 0.98)
	w.weigh(b, -5, 15*60+10, 1)
	w.keep(-5, 15*60+12, &aviary.Note{Bird: b.id, Text: "Eats well, droppings firm. Sample is with the avian vet."})

	sick := w.here(w.flight[1])[0]
	w.move(sick, -2, evening, w.hospital, "fluffed up, low on the perch")
	w.weigh(sick, -2, evening+4, 0.88)
	w.keep(-2, evening+6, &aviary.OddSeen{Place: w.hospital.id, Bird: sick.id, What: "poorly", Text: "fluffed, eats little; warm and quiet, avian vet rung, comes tomorrow"})
	w.weigh(sick, -1, evening, 0.89)
}

// struck are slips that were struck out.
func (w *world) struck() {
	at := w.cage("A1")
	e := w.keep(-4, at.minute+2, &aviary.NestCheck{Place: at.id, Look: "changed", Eggs: new(9)})
	w.strike(e, -4, at.minute+2, "slip of the thumb")
	hen := w.in("A2", aviary.Hen)
	e = w.keep(-30, evening, &aviary.BirdWeighed{Bird: hen.id, Grams: 121})
	w.strike(e, -30, evening+1, "12.1, not 121")
	w.weigh(hen, -30, evening+2, 1)
	e = w.keep(-63, evening, &aviary.FoodGiven{Food: "egg food", Amount: new(900.0), Unit: "ml"})
	w.strike(e, -63, evening+3, "one nought too many")
	e = w.write(awayFrom, walk+72, Helper, &aviary.Note{Place: w.cage("B4").id, Text: "B4 has no water"})
	w.strike(e, awayFrom, walk+74, "wrong cage, it was C7")
	// Struck out by mistake, and put back.
	e = w.keep(-70, deskTime, &aviary.Note{Text: "Ordered rings for the year to come."})
	w.strike(e, -69, deskTime, "wrong day")
	back := w.entries[len(w.entries)-1]
	w.strike(back, -69, deskTime+1, "it was right")
}

// counted are head counts and young without rings.
func (w *world) counted() {
	group := w.thing(-75)
	w.keep(-75, walk+92, &aviary.GroupFound{Group: group, Species: "bengalese", Count: 4, Place: w.aviary.id, Hatched: w.date(-110)})
	w.write(-23, walk+92, Helper, &aviary.GroupCounted{Group: group, Count: 3, Why: "one found dead after the frost"})
	book := len(w.here(w.flight[0]))
	w.write(-1, walk+82, Helper, &aviary.PlaceCounted{Place: w.flight[0].id, Found: book - 1, Book: &book, Text: "counted twice"})
}

// odd are matters that stand open, and some that were settled.
func (w *world) odd() {
	cock := w.in("D10", aviary.Cock)
	ring := w.wears(cock)
	at := w.cage("D10")
	w.keep(-2, at.minute+3, &aviary.RingLost{Bird: cock.id, Ring: ring})
	w.keep(-2, at.minute+4, &aviary.OddSeen{Place: at.id, Bird: cock.id, What: "ring lost", Text: "ring lay under the perch"})
	at = w.cage("C6")
	w.write(-1, at.minute+3, Helper, &aviary.OddSeen{Place: at.id, What: "egg on the floor", Text: "whole, cold"})

	settled := func(day int, at, what, text, how string) {
		p := w.cage(at)
		e := w.keep(day, p.minute+5, &aviary.OddSeen{Place: p.id, What: what, Text: text})
		w.keep(day+1, deskTime, &aviary.Settled{Entry: e.ID, How: how})
	}
	settled(-18, "B2", "chick on the floor", "cold, put back into the box", "Warm again and fed by noon.")
	settled(-41, "A7", "stranger in the cage", "a hen too many", "Door catch of Flight 2 was open; she is back.")
	settled(-52, "D4", "water out", "", "New bottle.")

	// One slipped out at the door and was back on the next day.
	b := w.in("B3", aviary.Cock)
	p := w.cage("B3")
	w.keep(w.pairOf(b).from-30, evening, &aviary.BirdLeft{Bird: b.id, How: "escaped"})
	w.keep(w.pairOf(b).from-29, walk, &aviary.BirdReturned{Bird: b.id, Place: w.flightFor(b).id})
	w.keep(w.pairOf(b).from-29, walk+1, &aviary.Note{Place: p.id, Text: "The cock for this cage was out for a night; he came to the feeder by the door."})
}

// pairOf is the pair of this season that a bird is in.
func (w *world) pairOf(b *bird) *pair {
	for _, p := range w.pairs {
		if p.cock == b || p.hen == b {
			return p
		}
	}
	panic("demo: the bird is in no pair")
}

// wears is the ring on a bird.
func (w *world) wears(b *bird) aviary.Ring {
	for _, e := range w.entries {
		switch x := e.Body.(type) {
		case *aviary.BirdAcquired:
			if x.Bird == b.id {
				return x.Ring
			}
		case *aviary.ChickRinged:
			if x.Bird == b.id {
				return x.Ring
			}
		}
	}
	panic("demo: the bird is not in the books")
}

// weighings follow some birds through the season.
func (w *world) weighings() {
	for i, p := range w.pairs {
		if i%4 != 0 || p.to != 0 {
			continue
		}
		for _, b := range []*bird{p.cock, p.hen} {
			for day := p.from + 14; day < -1; day += 21 {
				w.weigh(b, day, p.at.minute+30, 1)
			}
		}
	}
}

func (w *world) notes() {
	w.keep(-90, deskTime, &aviary.Note{Text: "New heater thermostat, 18 °C day and night. Fitted by the electrician."})
	w.keep(-47, deskTime, &aviary.Note{Place: w.cage("D4").id, Text: "Good feeders. Keep for fostering."})
	w.keep(-33, deskTime, &aviary.Note{Bird: w.in("C5", aviary.Cock).id, Text: "Sings from the box all morning."})
	w.keep(-9, deskTime, &aviary.Note{Place: w.cage("C4").id, Text: "Young pair, first season. Give them time."})
	w.write(-6, walk+40, Keeper, &aviary.PlaceCounted{Place: w.cage("B9").id, Found: 0, Book: new(0), Text: "perch to mend before anybody moves in"})
	w.keep(-7, deskTime, &aviary.BirdNamed{Bird: w.in("D4", aviary.Hen).id, Name: "Old Maud"})
}
