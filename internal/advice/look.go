package advice

import (
	"fmt"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

// Tally is one count that a look at a nest takes.
type Tally struct {
	Name  string // of the column: eggs, chicks, dead_chicks, out; "clear" is read from the candling
	Label string // as it stands under the number
	Was   int    // at the last count; 0 for what is found afresh at each look
}

// The names of the tallies.
const (
	EggsTally   = "eggs"
	ChicksTally = "chicks"
	DeadTally   = "dead_chicks"
	OutTally    = "out"
	ClearTally  = "clear"
)

// Tallies says what a look at a nest should count at its stage, and what it was last. A nil nest is a box without a clutch.
// What is not on the list can still be written: a look may count anything.
func (d *Desk) Tallies(n *Nest) []Tally {
	if n == nil {
		return []Tally{{EggsTally, "eggs", 0}}
	}
	eggs := Tally{EggsTally, "eggs", n.Eggs.Total()}
	chicks := Tally{ChicksTally, "chicks", n.Chicks}
	dead := Tally{DeadTally, "dead", 0}
	out := Tally{OutTally, "out", n.Out}
	hatch, fledge := n.Course.Event(nest.Hatch), n.Course.Event(nest.Fledge)
	near := func(e nest.Event) bool { // within a day of the range that holds it 8 times in 10, or not known
		from, _, ok := e.EightInTen()
		return !ok || Day(from)-1 <= d.Today
	}
	switch {
	case n.Clutch.Emptied || (n.Out > 0 && n.Chicks == 0):
		return []Tally{out, dead}
	case n.Chicks > 0 || n.Clutch.HadChicks():
		list := []Tally{chicks, dead}
		if n.Eggs.Total() > 0 {
			list = slices.Insert(list, 0, eggs)
		}
		if n.Out > 0 || near(fledge) {
			list = append(list, out)
		}
		return list
	}
	list := []Tally{eggs}
	if near(hatch) {
		list = append(list, chicks, dead)
	}
	if candle := n.Course.Event(nest.Candle); candle.Happened || (candle.Known && Day(candle.From) <= d.Today) {
		list = append(list, Tally{ClearTally, "clear", n.Eggs.Clear})
	}
	return list
}

// Counted is what a look found. A nil count was not taken.
type Counted struct{ Eggs, Chicks, Dead, Out *int }

// Reckon evens out a look in which only what appeared was entered: each chick more takes one egg, each young bird more out of
// the box takes one chick, and each chick found dead takes a live one, or else an egg. A count that was changed itself is left
// as it is. It says what it took, or "".
func Reckon(was, is Counted) (Counted, string) {
	same := func(a, b *int) bool { return a != nil && b != nil && *a == *b }
	eggsLeft, chicksLeft := same(was.Eggs, is.Eggs), same(was.Chicks, is.Chicks)
	rise := func(a, b *int) int {
		if b == nil {
			return 0
		}
		from := 0
		if a != nil {
			from = *a
		}
		return max(*b-from, 0)
	}
	take := func(n *int, most int) (*int, int) {
		k := max(min(most, *n), 0)
		left := *n - k
		return &left, k
	}
	flown, dead, hatched := rise(was.Out, is.Out), rise(nil, is.Dead), 0
	if chicksLeft {
		var k int
		is.Chicks, k = take(is.Chicks, flown)
		flown -= k
		is.Chicks, k = take(is.Chicks, dead)
		dead -= k
		hatched = dead
	} else if is.Chicks != nil {
		hatched = rise(was.Chicks, is.Chicks)
		if was.Chicks == nil || *was.Chicks == 0 {
			hatched += dead
		}
	}
	said := ""
	if eggsLeft && hatched > 0 && *is.Eggs > 0 {
		var k int
		is.Eggs, k = take(is.Eggs, hatched)
		said = fmt.Sprintf("%s fewer, for what hatched", count(k, "egg", "eggs"))
	}
	if chicksLeft && *is.Chicks < *was.Chicks {
		if said != "" {
			said += "; "
		}
		said += fmt.Sprintf("%s fewer in the box", count(*was.Chicks-*is.Chicks, "chick", "chicks"))
	}
	return is, said
}

// EggSlot is one egg of a candling row: its mark, if it has one, and what was seen of it so far.
type EggSlot struct{ Mark, State string }

// EggRow lists the eggs in a nest for candling, each with what the last candling showed. Marked eggs keep their mark; of the
// others it is only known how many were what.
func (n *Nest) EggRow() []EggSlot {
	var row []EggSlot
	drop := func(k int, ok func(EggSlot) bool) int {
		for i := len(row) - 1; i >= 0 && k > 0; i-- {
			if ok(row[i]) {
				row = slices.Delete(row, i, i+1)
				k--
			}
		}
		return k
	}
	bad := func(s EggSlot) bool { return s.State != "" && s.State != "fertile" }
	chicks := 0
	for _, e := range n.Clutch.Entries() {
		b, ok := e.Body.(*aviary.NestCheck)
		if !ok {
			continue
		}
		if len(b.Candled) > 0 {
			row = nil
			for _, item := range b.Candled {
				mark, state := aviary.CandledEgg(item)
				row = append(row, EggSlot{mark, state})
			}
		}
		if b.Chicks != nil {
			drop(*b.Chicks-chicks, func(s EggSlot) bool { return s.State == "fertile" })
			chicks = *b.Chicks
		}
		if b.Removed != nil {
			drop(drop(*b.Removed, bad), func(EggSlot) bool { return true })
		}
	}
	total := n.Eggs.Total()
	if over := len(row) - total; over > 0 {
		drop(drop(drop(over, func(s EggSlot) bool { return s.State == "" }), func(s EggSlot) bool { return !bad(s) }), bad)
	}
	for len(row) < total {
		row = append(row, EggSlot{})
	}
	return row
}

// SeenFeeding returns the day on which the young of a nest were first seen feeding themselves, or 0.
func (n *Nest) SeenFeeding() aviary.Date {
	for _, e := range n.Clutch.Entries() {
		if b, ok := e.Body.(*aviary.NestCheck); ok && b.SelfFeeding {
			return e.Day
		}
	}
	return 0
}

// RingedHere returns the ringed young of a nest that are alive, in the room and not parted yet.
func (d *Desk) RingedHere(n *Nest) []*aviary.Bird {
	var out []*aviary.Bird
	for _, id := range n.Clutch.Birds {
		if b := d.Room.Bird(id); b != nil && b.Here() && b.WeanedOn == 0 {
			out = append(out, b)
		}
	}
	return out
}

// Young is how many young of a nest are alive and not parted, as last counted, and how many of them wear no ring.
func (d *Desk) Young(n *Nest) (all, unringed int) {
	ringed := len(d.RingedHere(n))
	all = max(n.Chicks+n.Out, ringed)
	return all, all - ringed
}
