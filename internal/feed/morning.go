package feed

import (
	"fmt"
	"math"
	"strings"
)

// Cage is one cage on a morning's list, with what it is given.
type Cage struct {
	Bank, Name string
	Items      []Item
	Notes      []Note
}

// Give is one line of a list: the same amount of one thing at these cages.
type Give struct {
	Kind      ItemKind
	ML, Grams float64 // at each cage
	Free      bool
	Cages     []string
	Note      string
}

// BankList is what is given along one bank.
type BankList struct {
	Bank  string
	Gives []Give
}

// ItemTotal is how much of one thing the whole room takes.
type ItemTotal struct {
	Kind      ItemKind
	ML, Grams float64
	Cages     int
}

// MorningList is the list of a morning.
type MorningList struct {
	Banks  []BankList
	Totals []ItemTotal
	// Steps are the jars' steps of the day, the first soaks among them.
	Steps []Step
	Notes []Note
}

// Morning joins cages, in walking order, to one list: by bank and thing, cages with the same
// amount together, and the totals of the room. Banks, and amounts in a bank, come in the order in which they
// are met.
func Morning(cages []Cage, steps []Step) MorningList {
	out := MorningList{Steps: steps}
	banks := map[string]int{}
	totals := make([]ItemTotal, itemKinds)
	for _, c := range cages {
		at, ok := banks[c.Bank]
		if !ok {
			at = len(out.Banks)
			banks[c.Bank], out.Banks = at, append(out.Banks, BankList{Bank: c.Bank})
		}
		b := &out.Banks[at]
		for _, it := range c.Items {
			if it.Kind < 0 || it.Kind >= itemKinds {
				continue
			}
			b.add(it, c.Name)
			t := &totals[it.Kind]
			t.Kind, t.ML, t.Grams, t.Cages = it.Kind, t.ML+it.ML, t.Grams+it.Grams, t.Cages+1
		}
		for _, n := range c.Notes {
			if n.Level > Info {
				n.Text = c.Name + ": " + n.Text
				out.Notes = append(out.Notes, n)
			}
		}
	}
	for _, b := range out.Banks {
		sortGives(b.Gives)
	}
	for _, t := range totals {
		if t.Cages > 0 {
			out.Totals = append(out.Totals, t)
		}
	}
	return out
}

// giveStep is the ml to which amounts are rounded for a list: an eighth of a teaspoon.
const giveStep = Teaspoon / 8

func (b *BankList) add(it Item, cage string) {
	key := math.Round(it.ML / giveStep)
	for i := range b.Gives {
		g := &b.Gives[i]
		if g.Kind == it.Kind && g.Free == it.Free && math.Round(g.ML/giveStep) == key && g.Note == it.Note {
			n := float64(len(g.Cages))
			g.ML, g.Grams = (g.ML*n+it.ML)/(n+1), (g.Grams*n+it.Grams)/(n+1)
			g.Cages = append(g.Cages, cage)
			return
		}
	}
	b.Gives = append(b.Gives, Give{it.Kind, it.ML, it.Grams, it.Free, []string{cage}, it.Note})
}

// Unit is a keeper's unit.
type Unit int

// The units in which amounts are shown.
const (
	Teaspoons Unit = iota
	Millilitres
	Grams
	Ounces
)

// ouncesPerGram is the avoirdupois ounce.
const ouncesPerGram = 1 / 28.349523125

// Amount writes an amount for a list. Teaspoons come in eighths, millilitres and grams in
// steps that a scoop can show. Something is never written as nothing.
func Amount(ml, grams float64, u Unit) string {
	switch u {
	case Millilitres:
		return plainNumber(ml) + " ml"
	case Grams:
		return plainNumber(grams) + " g"
	case Ounces:
		return plainNumber(grams*ouncesPerGram) + " oz"
	}
	return spoons(ml)
}

// spoons writes a volume as teaspoons in eighths.
func spoons(ml float64) string {
	if !(ml > 0) || math.IsInf(ml, 0) {
		return "0 teaspoons"
	}
	eighths := int(math.Round(min(ml, 1e9) / giveStep))
	if eighths == 0 {
		return "less than ⅛ teaspoon"
	}
	part := [8]string{"", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"}[eighths%8]
	whole := eighths / 8
	switch {
	case whole == 0:
		return part + " teaspoon"
	case whole == 1 && part == "":
		return "1 teaspoon"
	}
	return fmt.Sprintf("%d%s teaspoons", whole, part)
}

// plainNumber writes two digits that count, whole from 10 on.
func plainNumber(v float64) string {
	switch {
	case !(v > 0) || math.IsInf(v, 0):
		return "0"
	case v >= 10:
		return fmt.Sprintf("%.0f", v)
	case v >= 1:
		return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0")
	}
	return fmt.Sprintf("%.2g", v)
}

// Store is what is left of a food, as counted on a day.
type Store struct {
	Name    string
	Grams   float64
	Counted Day
	// OrderDays is how long an order takes to come.
	OrderDays int
}

// RunOut is when a store runs out.
type RunOut struct {
	Name string
	// Last is the last day for which it is enough, and Out whether it runs out at all within the days looked at.
	Last    Day
	Out     bool
	OrderBy Day     // 0 when it does not run out
	Left    float64 // g on the morning of today, by the use since it was counted
	Notes   []Note
}

// RunsOut returns when a store runs out, by what is used on each day, in g; use is called
// for days from the count on, at most for some days after today. A use below 0 counts as 0.
func (s Store) RunsOut(today Day, days int, use func(Day) float64) RunOut {
	out := RunOut{Name: s.Name, Left: s.Grams}
	left := s.Grams
	for d := s.Counted; d <= today+Day(days); d++ {
		if d == today {
			out.Left = max(left, 0)
		}
		if u := use(d); u > 0 {
			left -= u
		}
		if left < 0 {
			out.Out, out.Last = true, d-1
			out.OrderBy = out.Last - Day(s.OrderDays)
			break
		}
	}
	switch {
	case out.Out && out.Last < today:
		out.Left = 0
		out.Notes = append(out.Notes, Note{Warn, s.Name + " should have run out by now. Count what is there.", ""})
	case out.Out && out.OrderBy <= today:
		out.Notes = append(out.Notes, Note{Warn, fmt.Sprintf("%s lasts %s more. Order it today.", s.Name, daysWord(int(out.Last-today)+1)), ""})
	}
	return out
}

func daysWord(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}
