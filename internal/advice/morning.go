package advice

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// Morning is the work of a morning for the whole room: what to set, what to see to, what to give where.
type Morning struct {
	Feedings []*Feeding      // of every place with birds, walking order
	Banks    []MorningBank   // walking order
	Totals   []MorningTotal  // what the whole room takes, in the order in which it is given
	Minerals []*aviary.Place // where cuttlebone and grit are out at all times: everywhere
	Lamps    []LampTask
	Sprouts  *SproutState
	Jars     []SproutStep // the jars' steps of today
	Problem  string       // why the jars could not be laid out, as a sentence
	Stores   []StoreState // that must be ordered or counted within days
	Urgent   []PlaceNote  // what cannot wait
	Warnings []PlaceNote  // what to act on today
	Fed      int          // places with all of today's portions given
}

// PlaceNote is a note about a place.
type PlaceNote struct {
	Place *aviary.Place
	Note  feed.Note
}

// MorningBank is what is given along one bank.
type MorningBank struct {
	Name   string // "" for places that hang in none
	Lines  []MorningLine
	Places []*aviary.Place
	Fed    int // places with all of today's portions given
}

// Label is the bank's name on a page.
func (b MorningBank) Label() string {
	if b.Name != "" {
		return b.Name
	}
	for _, p := range b.Places {
		if p.Type == aviary.Cage {
			return "Cages"
		}
	}
	for _, p := range b.Places {
		if p.Type == aviary.Flight || p.Type == aviary.Aviary {
			return "Flights"
		}
	}
	return "Apart"
}

// Open reports whether anything is still to be given along the bank.
func (b MorningBank) Open() bool { return b.Fed < len(b.Places) }

// MorningLine is the same amount of one thing at places of one bank.
type MorningLine struct {
	Kind         feed.ItemKind
	ML, Grams    float64 // at each place; 0 for what is not measured
	Free         bool
	Note, Source string
	Places       []*aviary.Place
	Left         []*aviary.Place // where it was not given yet today
}

// add puts one thing for one place on the bank's list, beside others that get the same.
func (b *MorningBank) add(p *aviary.Place, it feed.Item, due bool) {
	at := slices.IndexFunc(b.Lines, func(l MorningLine) bool {
		return l.Kind == it.Kind && tidy(l.ML) == tidy(it.ML) && l.Free == it.Free && l.Note == it.Note
	})
	if at < 0 {
		at = len(b.Lines)
		b.Lines = append(b.Lines, MorningLine{Kind: it.Kind, ML: it.ML, Grams: it.Grams, Free: it.Free, Note: it.Note, Source: it.Source})
	}
	l := &b.Lines[at]
	l.Places = append(l.Places, p)
	if due {
		l.Left = append(l.Left, p)
	}
}

// Mixes are the places of the bank that get sprouted seed and egg food together, by the amount of the mix, the most first.
func (b *MorningBank) Mixes() []MorningMix {
	egg := map[aviary.ID]float64{}
	open := map[aviary.ID]bool{}
	for _, l := range b.Lines {
		if l.Kind == feed.SoftEggFood || l.Kind == feed.SproutedSeed {
			for _, p := range l.Left {
				open[p.ID] = true
			}
		}
		if l.Kind == feed.SoftEggFood {
			for _, p := range l.Places {
				egg[p.ID] = l.ML
			}
		}
	}
	var out []MorningMix
	for _, l := range b.Lines {
		if l.Kind != feed.SproutedSeed {
			continue
		}
		for _, p := range l.Places {
			if egg[p.ID] == 0 {
				continue
			}
			ml := tidy(l.ML + egg[p.ID])
			at := slices.IndexFunc(out, func(m MorningMix) bool { return m.ML == ml })
			if at < 0 {
				at, out = len(out), append(out, MorningMix{ML: ml})
			}
			out[at].Places = append(out[at].Places, p)
			if open[p.ID] {
				out[at].Left = append(out[at].Left, p)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b MorningMix) int { return cmp.Compare(b.ML, a.ML) })
	return out
}

// MorningMix is the same amount of sprouted seed and egg food, mixed, at places of one bank.
type MorningMix struct {
	ML     float64
	Places []*aviary.Place
	Left   []*aviary.Place
}

// Food is the word under which what was given of it is written.
func (l MorningLine) Food() string { return l.Kind.String() }

// MorningTotal is how much of one thing the whole room takes.
type MorningTotal struct {
	feed.ItemTotal
	Left float64 // ml still to be given
}

// given is the order in which things are given: soft food first, for it spoils.
var given = []feed.ItemKind{feed.SproutedSeed, feed.SoftEggFood, feed.LiveFood, feed.NestMaterial, feed.DrySeed}

// pressing is within how many days a store must be ordered to stand on the morning's list.
const pressing = 7

// Morning puts together the list of the morning.
func (d *Desk) Morning() *Morning {
	m := d.morningWork()
	for _, s := range d.Stores() {
		if s.Pressing(d.Today, pressing) {
			m.Stores = append(m.Stores, s)
		}
	}
	return m
}

// MorningSays is what is still to be done this morning, in a phrase: "1 lamp to set, 2 jars, 18 cages to feed"; "" when nothing is.
func (d *Desk) MorningSays() string { return d.morningWork().Says() }

// Says is what is still to be done, in a phrase; "" when nothing is.
func (m *Morning) Says() string {
	var parts []string
	if n := m.LampsToSet(); n > 0 {
		parts = append(parts, count(n, "lamp", "lamps")+" to set")
	}
	if n := m.JarsLeft(); n > 0 {
		parts = append(parts, count(n, "jar", "jars"))
	}
	if n := m.ToFeed(); n > 0 {
		word := "places"
		if !slices.ContainsFunc(m.Feedings, func(f *Feeding) bool { return f.Place.Type != aviary.Cage }) {
			word = "cages"
		}
		parts = append(parts, fmt.Sprintf("%d %s to feed", n, plural(n, strings.TrimSuffix(word, "s"), word)))
	}
	return strings.Join(parts, ", ")
}

// morningWork is the list without the stores.
func (d *Desk) morningWork() *Morning {
	m := &Morning{}
	var cages []feed.Cage
	banks := map[string]int{}
	left := map[feed.ItemKind]float64{}
	whole := d.givenIn(d.Room.Whole().Fed)
	for _, f := range d.allFed() {
		p := f.Place
		m.Feedings = append(m.Feedings, f)
		cages = append(cages, feed.Cage{Bank: p.Bank, Name: p.Name, Items: f.Items})
		for _, n := range f.Notes {
			switch n.Level {
			case feed.Urgent:
				m.Urgent = append(m.Urgent, PlaceNote{p, n})
			case feed.Warn:
				m.Warnings = append(m.Warnings, PlaceNote{p, n})
			}
		}
		at, ok := banks[p.Bank]
		if !ok {
			at = len(m.Banks)
			banks[p.Bank], m.Banks = at, append(m.Banks, MorningBank{Name: p.Bank})
		}
		m.Banks[at].Places = append(m.Banks[at].Places, p)
		had, open := d.givenAt(p, whole), false
		for _, it := range f.Items {
			if it.Kind == feed.Minerals {
				m.Minerals = append(m.Minerals, p)
				continue
			}
			due := !had[it.Kind.String()]
			m.Banks[at].add(p, it, due)
			if due {
				open = true
				left[it.Kind] += it.ML
			}
		}
		if !open {
			m.Banks[at].Fed++
			m.Fed++
		}
	}
	for _, b := range m.Banks {
		slices.SortStableFunc(b.Lines, func(a, b MorningLine) int {
			return cmp.Or(cmp.Compare(slices.Index(given, a.Kind), slices.Index(given, b.Kind)), cmp.Compare(b.ML, a.ML))
		})
	}
	list := feed.Morning(cages, nil)
	for _, kind := range given {
		for _, t := range list.Totals {
			if t.Kind == kind {
				m.Totals = append(m.Totals, MorningTotal{t, left[kind]})
			}
		}
	}
	m.Lamps = d.LampTasks()
	var err error
	if m.Sprouts, err = d.Sprouts(); err != nil {
		m.Problem = err.Error()
	}
	m.Jars = m.Sprouts.Days[0].Steps
	return m
}

// LampsToSet is how many timers are still to be touched today.
func (m *Morning) LampsToSet() int {
	n := 0
	for _, t := range m.Lamps {
		if !t.Done {
			n++
		}
	}
	return n
}

// JarsLeft is how many jars have a step today whose time is still to come.
func (m *Morning) JarsLeft() int {
	open := map[int]bool{}
	for _, s := range m.Jars {
		if !s.Past && !s.Out() {
			open[s.Batch] = true
		}
	}
	return len(open)
}

// ToFeed is how many places still wait for some of today's portions.
func (m *Morning) ToFeed() int { return len(m.Feedings) - m.Fed }

// givenAt is what was given at a place today: named for it, or for the whole room.
func (d *Desk) givenAt(p *aviary.Place, whole map[string]bool) map[string]bool {
	out := d.givenIn(d.Room.Since(aviary.APlace, p.ID, d.Today))
	for food := range whole {
		out[food] = true
	}
	return out
}

// givenIn is what entries say was given today.
func (d *Desk) givenIn(entries []*aviary.Entry) map[string]bool {
	out := map[string]bool{}
	for _, e := range slices.Backward(entries) {
		if e.Day < d.Today {
			break
		}
		if e.Day > d.Today || d.Room.AsideWhy(e.ID) != nil {
			continue
		}
		switch b := e.Body.(type) {
		case *aviary.FoodGiven:
			out[b.Food] = true
		case *aviary.MaterialGiven:
			out[feed.NestMaterial.String()] = true
		}
	}
	return out
}

// Giving returns the entries that say the portions of some banks were given today, those aside that are written already. Nil banks
// are all.
func (m *Morning) Giving(banks ...string) []aviary.Body {
	var out []aviary.Body
	for _, b := range m.Banks {
		if len(banks) > 0 && !slices.Contains(banks, b.Name) {
			continue
		}
		for _, l := range b.Lines {
			if len(l.Left) == 0 {
				continue
			}
			if l.Kind == feed.NestMaterial {
				for _, p := range l.Left {
					out = append(out, &aviary.MaterialGiven{Place: p.ID})
				}
				continue
			}
			body := &aviary.FoodGiven{Food: l.Food()}
			if l.ML > 0 {
				amount := tidy(l.ML)
				body.Amount, body.Unit = &amount, "ml"
			}
			for _, p := range l.Left {
				body.Places = append(body.Places, p.ID)
			}
			out = append(out, body)
		}
	}
	return out
}

// tidy rounds an amount in ml to a thousandth, so that the books hold 3.125 and not its last digits.
func tidy(ml float64) float64 { return math.Round(ml*1000) / 1000 }
