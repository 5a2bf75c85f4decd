package advice

import (
	"cmp"
	"fmt"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
	"broodlight/internal/nest"
	"broodlight/internal/species"
)

// PhaseName is a phase as a page names it.
func PhaseName(p feed.Phase) string {
	switch p {
	case feed.Conditioning:
		return "sprouted seed"
	case feed.EggFood:
		return "sprouted seed and egg food"
	case feed.Rearing:
		return "rearing chicks"
	case feed.Weaning:
		return "young out of the box"
	}
	return p.String()
}

// Stands says in a line where the birds stand: "Rearing chicks since 8 Feb: 4 chicks, day 5".
func (f *Feeding) Stands() string {
	s := capital(PhaseName(f.Standing.Phase))
	if f.Standing.Week > 0 {
		s += fmt.Sprintf(", week %d", f.Standing.Week)
	}
	if f.Standing.Since != 0 {
		s += ", since " + FeedDay(f.Standing.Since).Short()
	}
	if n := f.Birds.Chicks; n > 0 {
		word := count(n, "chick", "chicks")
		if f.Birds.ChickAge >= f.Birds.Growth.FledgeDays {
			word = fmt.Sprintf("%d young", n)
		}
		s += fmt.Sprintf(": %s, day %.0f", word, f.Birds.ChickAge)
	}
	return s
}

// Follows says in a line what follows, and when.
func (d *Desk) Follows(f *Feeding) string {
	s := f.Standing
	next := PhaseName(s.Next)
	switch {
	case s.MaterialDue:
		return "nest material today: signs show"
	case outOfGroup(f.Place) && f.Plan == nil:
		return "what you decide: a bird that is kept apart follows no group"
	case f.Pair == nil && s.Next == feed.Material:
		if f.Plan != nil && f.Plan.Moult > d.Today {
			return "pairing, or the moult from " + f.Plan.Moult.Short() + " by the plan"
		}
		return "pairing"
	case s.Phase == feed.Weaning:
		return "sprouted seed and egg food again" + d.aboutDay(f, nest.Wean, "once the young are parted")
	case s.Next == feed.Material && s.NextDay != 0:
		return fmt.Sprintf("nest material once signs show, from about %s", FeedDay(s.NextDay).Short())
	case s.Next == feed.Material:
		return "nest material once signs show"
	case s.NextDay != 0:
		return next + " from " + FeedDay(s.NextDay).Short()
	}
	switch s.Next {
	case feed.Conditioning:
		return "sprouted seed when you begin it"
	case feed.Laying:
		return "the first egg"
	case feed.Sitting:
		return "sitting" + d.aboutDay(f, nest.ClutchComplete, "once the clutch is complete")
	case feed.Rearing:
		return "rearing chicks" + d.aboutDay(f, nest.Hatch, "when the first chick is seen")
	case feed.Weaning:
		return "young out of the box" + d.aboutDay(f, nest.Fledge, "")
	}
	return next + ", no day is planned"
}

// aboutDay is the range of days of an event that is to come at a place's nests, else the words.
func (d *Desk) aboutDay(f *Feeding, kind nest.Kind, words string) string {
	for _, n := range d.Nests(f.Place) {
		if e := n.Course.Event(kind); e.Known && !e.Happened && Day(e.Late) >= d.Today {
			if from, to, ok := e.EightInTen(); ok {
				return " about " + days(max(Day(from), d.Today), max(Day(to), d.Today))
			}
		}
	}
	if words == "" {
		return ""
	}
	return ", " + words
}

// SproutsDue lists the places at which sprouted seed is due by the plan, and nobody has noted that it began. Pairs with eggs or young
// are past it.
func (d *Desk) SproutsDue() []*aviary.Place {
	var out []*aviary.Place
	for _, p := range d.Room.Places() {
		f := d.Feeding(p)
		if f == nil || f.Plan == nil {
			continue
		}
		if planned := seasonOf(f.Plan).Group(feedDay(d.Today)).Phase; planned != feed.Conditioning && planned != feed.EggFood {
			continue
		}
		x := d.rationAt(p)
		season, plan, _, from := d.seasonAt(x, d.Today, x.pair != nil)
		if x.pair != nil {
			if f.Standing.Phase == feed.Preparation && d.pairAt(x, season, from, d.Today).Conditioning == 0 {
				out = append(out, p)
			}
			continue
		}
		var was begun
		for _, m := range d.marksAt(p, marksFrom(x.plans, plan, d.Today), d.Today) {
			was.add(m)
		}
		if was == (begun{}) || was == (begun{preparation: was.preparation}) {
			out = append(out, p)
		}
	}
	return out
}

// PortionRow is what a pair gets in a phase.
type PortionRow struct {
	Phase feed.Phase
	Birds string // who eats, where that is more than the pair
	Items []feed.Item
}

// PortionTable is what a pair of one species gets in each phase.
type PortionTable struct {
	Species *species.Profile
	Guard   feed.Guard
	Rows    []PortionRow
}

// The brood that a table of portions is shown for.
const (
	tableChicks = 4
	tableAge    = 12
)

// PortionTables shows what a pair gets in each phase: for the species of most birds in the room, and for that of most of those with
// a ceiling.
func (d *Desk) PortionTables() []PortionTable {
	n := map[string]int{}
	for _, p := range d.Room.Places() {
		for _, b := range d.Room.In(p.ID) {
			n[b.Species]++
		}
	}
	var slugs []string
	for slug := range n {
		slugs = append(slugs, slug)
	}
	slices.SortFunc(slugs, func(a, b string) int { return cmp.Or(cmp.Compare(n[b], n[a]), cmp.Compare(a, b)) })
	var out []PortionTable
	have := map[bool]bool{}
	t := feedData()
	unit := d.Room.Settings(d.Today).Volume
	for _, slug := range slugs {
		s := d.Cat.BySlug(slug)
		mass := typical(s, species.AdultMass)
		if s == nil || mass == 0 {
			continue
		}
		g := feed.FindGuard(t.guards, slug)
		if have[g.Glutton] {
			continue
		}
		have[g.Glutton] = true
		table := PortionTable{Species: s, Guard: g}
		for _, phase := range feed.Phases() {
			b := feed.Birds{Adults: 2, MassGrams: mass, EggGrams: typical(s, species.FreshEggMass), EggDays: typical(s, species.LayingInterval), Growth: growthOf(s)}
			row := PortionRow{Phase: phase}
			if phase == feed.Rearing || phase == feed.Weaning {
				b.Chicks, b.ChickAge = tableChicks, tableAge
				if phase == feed.Weaning {
					b.ChickAge = b.Growth.FledgeDays + 3
				}
				row.Birds = fmt.Sprintf("%d young of %.0f days", b.Chicks, b.ChickAge)
			}
			row.Items = scooped(b.Portions(phase, g, t.larder), g, b.Chicks > 0, unit)
			table.Rows = append(table.Rows, row)
		}
		out = append(out, table)
	}
	return out
}

// GuardsHere lists the guards of the species that are in the room.
func (d *Desk) GuardsHere() []feed.Guard {
	var out []feed.Guard
	here := map[string]bool{}
	for _, p := range d.Room.Places() {
		for _, b := range d.Room.In(p.ID) {
			here[b.Species] = true
		}
	}
	for _, g := range feedData().guards {
		if here[g.Species] {
			out = append(out, g)
		}
	}
	return out
}
