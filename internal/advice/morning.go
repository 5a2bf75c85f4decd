package advice

import (
	"math"
	"slices"

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
	m := &Morning{}
	var cages []feed.Cage
	at := map[string]*Feeding{}
	fed := map[aviary.ID]map[string]bool{}
	whole := d.givenIn(d.Room.Whole().Fed)
	for _, p := range d.Room.Places() {
		f := d.Feeding(p)
		if f == nil {
			continue
		}
		m.Feedings = append(m.Feedings, f)
		key := p.ID.String()
		at[key] = f
		cages = append(cages, feed.Cage{Bank: p.Bank, Name: key, Items: f.Items})
		fed[p.ID] = d.givenAt(p, whole)
		for _, n := range f.Notes {
			switch n.Level {
			case feed.Urgent:
				m.Urgent = append(m.Urgent, PlaceNote{p, n})
			case feed.Warn:
				m.Warnings = append(m.Warnings, PlaceNote{p, n})
			}
		}
	}
	list := feed.Morning(cages, nil)
	left := map[feed.ItemKind]float64{}
	for _, b := range list.Banks {
		bank := MorningBank{Name: b.Bank}
		open := map[aviary.ID]bool{}
		seen := map[aviary.ID]bool{}
		for _, kind := range append(slices.Clone(given), feed.Minerals) {
			for _, g := range b.Gives {
				if g.Kind != kind {
					continue
				}
				l := MorningLine{Kind: g.Kind, ML: g.ML, Grams: g.Grams, Free: g.Free, Note: g.Note}
				for _, key := range g.Cages {
					f := at[key]
					l.Places = append(l.Places, f.Place)
					if !seen[f.Place.ID] {
						seen[f.Place.ID] = true
						bank.Places = append(bank.Places, f.Place)
					}
					for _, it := range f.Items {
						if it.Kind == kind {
							l.Source = it.Source
						}
					}
					if kind != feed.Minerals && !fed[f.Place.ID][l.Food()] {
						l.Left = append(l.Left, f.Place)
						open[f.Place.ID] = true
						left[kind] += g.ML
					}
				}
				if kind == feed.Minerals {
					m.Minerals = append(m.Minerals, l.Places...)
					continue
				}
				bank.Lines = append(bank.Lines, l)
			}
		}
		bank.Fed = len(bank.Places) - len(open)
		m.Fed += bank.Fed
		m.Banks = append(m.Banks, bank)
	}
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
	for _, s := range d.Stores() {
		if s.Pressing(d.Today, pressing) {
			m.Stores = append(m.Stores, s)
		}
	}
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
