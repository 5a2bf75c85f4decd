package advice

import (
	"fmt"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/species"
)

// Nest is one clutch as it stands: who laid, who rears, what was seen, and the course that follows from it.
type Nest struct {
	Place   *aviary.Place
	Clutch  *aviary.Clutch
	Box     *aviary.Box // nil when no box is named
	Species *species.Profile
	Laying  *aviary.Pair // nil when not known
	Rearing *aviary.Pair
	No      int  // number of the clutch in the season of its laying pair, 1 for the first; 0 when not known
	NoSure  bool // the keeper gave the number, or the books know the pair from its start
	Course  nest.Course
	Eggs    Eggs
	Chicks  int             // alive in the nest at the last count
	Ringed  int             // of the clutch, ringed and alive here
	Dead    int             // chicks found dead
	Out     int             // young out of the box and not yet parted
	Asked   []nest.Question // what looks leave open and nobody has answered
}

// Eggs are the eggs in a nest at the last count, by what candling showed.
type Eggs struct {
	Full, NotCandled, Clear, Bad int // Bad: early dead, dead in shell, cracked
	AtLeast                      bool
}

// Total is all eggs in the nest.
func (e Eggs) Total() int { return e.Full + e.NotCandled + e.Clear + e.Bad }

// Day turns an engine's day into a civil date.
func Day(d nest.Day) aviary.Date { return aviary.Date(d) }

// Nests returns the clutches at a place that have not ended, newest first.
func (d *Desk) Nests(p *aviary.Place) []*Nest {
	if got, ok := d.nests[p.ID]; ok {
		return got
	}
	var out []*Nest
	for _, c := range slices.Backward(p.OpenClutches()) {
		out = append(out, d.Nest(p, c))
	}
	d.nests[p.ID] = out
	return out
}

// Nest says what a clutch is up to today; for an ended clutch, what it came to.
func (d *Desk) Nest(p *aviary.Place, c *aviary.Clutch) *Nest { return d.nestOn(p, c, d.Today) }

func (d *Desk) nestOn(p *aviary.Place, c *aviary.Clutch, day aviary.Date) *Nest {
	n := &Nest{Place: p, Clutch: c, Laying: d.Room.LayingPair(c), Rearing: d.Room.RearingPair(c)}
	for i := range p.Boxes {
		if p.Boxes[i].ID == c.Box {
			n.Box = &p.Boxes[i]
		}
	}
	n.Species = d.speciesOf(n.Laying)
	if n.Species == nil {
		n.Species = d.speciesOf(n.Rearing)
	}
	if n.Species == nil {
		n.Species, _ = d.speciesAt(p.ID)
	}
	n.No, n.NoSure = d.clutchNo(p, c, n.Laying)
	asked := day
	if c.Ended != 0 && c.Ended < asked {
		asked = c.Ended
	}
	looks := d.looks(c)
	n.Course = nest.Timeline(profile(n.Species), looks, nest.Day(asked))
	n.holds(d.Room, looks)
	n.Asked = unanswered(n.Course.Questions, c.Entries())
	return n
}

// holds reads what lies in the nest now from the last counts and what was candled.
func (n *Nest) holds(r *aviary.Room, looks []nest.Look) {
	eggs, _, chicks, _ := n.Clutch.Known()
	k := n.Course.Counts
	// Eggs taken out are held to be the clear ones first, then the other bad ones.
	clear := min(max(k.Clear.N-k.Removed.N, 0), eggs)
	bad := min(max(k.EarlyDead.N+k.DeadInShell.N+k.Cracked.N-max(k.Removed.N-k.Clear.N, 0), 0), eggs-clear)
	full := min(max(k.Fertile.N-k.Hatched.N, 0), eggs-clear-bad)
	n.Eggs = Eggs{Full: full, Clear: clear, Bad: bad, NotCandled: eggs - clear - bad - full}
	for _, l := range slices.Backward(looks) {
		if l.Eggs != nil || l.EggsAtLeast != nil {
			n.Eggs.AtLeast = l.Eggs == nil
			break
		}
	}
	n.Chicks = chicks
	n.Dead = k.Died.N
	for _, id := range n.Clutch.Birds {
		if b := r.Bird(id); b != nil && b.Here() && b.WeanedOn == 0 {
			n.Ringed++
		}
	}
	for _, l := range slices.Backward(looks) {
		if l.Out != nil {
			n.Out = max(*l.Out-n.Clutch.Weaned, 0)
			break
		}
	}
}

// looks turns the entries of a clutch into the looks that the timeline reads.
func (d *Desk) looks(c *aviary.Clutch) []nest.Look {
	var out []nest.Look
	if day, at, ok := d.knownEmpty(c); ok {
		zero := 0
		out = append(out, nest.Look{Day: nest.Day(day), Minute: at, Eggs: &zero, Chicks: &zero})
	}
	var eggs, chicks *int // the last counts, for "looked and the same"
	var ringed *nest.Look
	add := func(l nest.Look) { out = append(out, l) }
	for i, e := range c.Entries() {
		l := nest.Look{Day: nest.Day(e.Day), Minute: minute(e)}
		switch b := e.Body.(type) {
		case *aviary.NestCheck:
			if b.Look == "same" && b.Eggs == nil && b.Chicks == nil {
				l.Eggs, l.Chicks = eggs, chicks
			}
			check(&l, b)
			if i == 0 && c.Found {
				l.FirstEggUnknown = b.AgeDays == nil
			}
			if b.Eggs != nil {
				eggs = b.Eggs
			}
			if b.Chicks != nil {
				chicks = b.Chicks
			}
		case *aviary.NestMoved:
			if isInlet(c, e.ID) {
				l.EggsMovedIn, l.ChicksMovedIn, l.AgeDays = b.Eggs, b.Chicks+len(b.Birds), b.AgeDays
				if b.Eggs > 0 {
					l.EggsDue = d.dueElsewhere(b, e)
				}
			} else {
				l.EggsMovedOut, l.ChicksMovedOut = b.Eggs, b.Chicks+len(b.Birds)
			}
			eggs, chicks = nil, nil
		case *aviary.ChickRinged:
			if ringed != nil && ringed.Day == l.Day {
				ringed.Ringed++
				continue
			}
			l.Ringed = 1
			add(l)
			ringed = &out[len(out)-1]
			continue
		case *aviary.YoungWeaned:
			l.Weaned = len(b.Birds) + b.Unringed
		default:
			continue
		}
		ringed = nil
		add(l)
	}
	return out
}

// knownEmpty is the last day before a clutch on which its nest was empty for certain: a look that found
// nothing, else the day on which its box was hung.
func (d *Desk) knownEmpty(c *aviary.Clutch) (day aviary.Date, at int, ok bool) {
	if c.Found {
		return 0, 0, false
	}
	if e := c.Before(); e != nil {
		return e.Day, minute(e), true
	}
	if p := d.Room.Place(c.Place); p != nil {
		for _, b := range p.Boxes {
			if b.ID == c.Box && b.Hung <= c.First {
				day, ok = b.Hung, true
			}
		}
	}
	return day, -1, ok
}

func minute(e *aviary.Entry) int {
	m, ok := e.Time.Minutes()
	if !ok {
		return -1
	}
	return m
}

func check(l *nest.Look, b *aviary.NestCheck) {
	if b.Eggs != nil {
		if b.EggsAtLeast {
			l.EggsAtLeast = b.Eggs
		} else {
			l.Eggs = b.Eggs
		}
	}
	if b.Chicks != nil {
		l.Chicks = b.Chicks
	}
	l.DeadChicks, l.Out, l.AgeDays, l.AgePlusMinus, l.Found = b.DeadChicks, b.Out, b.AgeDays, b.AgeAbout, b.Found
	if b.Look == "sitting" {
		sat := true
		l.Sitting = &sat
	}
	if slices.Contains(b.Signs, "building") {
		builds := true
		l.Building = &builds
	}
	if b.Removed != nil {
		l.EggsRemoved = *b.Removed
	}
	for _, item := range b.Candled {
		l.Candled = true
		switch _, state := aviary.CandledEgg(item); state {
		case "fertile":
			l.Fertile++
		case "clear":
			l.Clear++
		case "early dead":
			l.EarlyDead++
		case "dead in shell":
			l.DeadInShell++
		case "cracked":
			l.Cracked++
		}
	}
}

// dueElsewhere is when the nest that fostered eggs came from says that they hatch.
func (d *Desk) dueElsewhere(b *aviary.NestMoved, e *aviary.Entry) *nest.Window {
	from := d.Room.Place(b.Place)
	if from == nil {
		return nil
	}
	for _, c := range slices.Backward(from.Clutches) {
		if c.First > e.Day || !slices.Contains(c.Entries(), e) {
			continue
		}
		if c.Place == b.ToPlace || len(c.FromNests) > 0 {
			return nil // eggs that wandered twice keep their range open
		}
		hatch := d.nestOn(from, c, e.Day-1).Course.Event(nest.Hatch)
		if !hatch.Known {
			return nil
		}
		return &nest.Window{Early: hatch.Early, Likely: hatch.Likely, Late: hatch.Late}
	}
	return nil
}

// unanswered leaves out the questions that a later entry of the clutch answers.
func unanswered(asked []nest.Question, entries []*aviary.Entry) []nest.Question {
	var out []nest.Question
	for _, q := range asked {
		answered := false
		for _, e := range entries {
			b, ok := e.Body.(*aviary.NestCheck)
			if !ok || e.Day < Day(q.Day) {
				continue
			}
			switch q.Kind {
			case nest.EggsFell:
				answered = answered || b.GoneEggs != nil
			case nest.ChicksFell:
				answered = answered || b.GoneChicks != nil
			case nest.EggsTooFast, nest.EggsLate:
				answered = answered || b.MoreWhy != ""
			}
		}
		if !answered {
			out = append(out, q)
		}
	}
	return out
}

// clutchNo counts the clutches of a laying pair in a season.
func (d *Desk) clutchNo(p *aviary.Place, c *aviary.Clutch, laying *aviary.Pair) (no int, sure bool) {
	if c.No != nil {
		return *c.No, true
	}
	span := d.SeasonOn(c.First)
	n, given := 0, 0
	found := false
	for _, x := range p.Clutches {
		if x.First < span.From || x.First > c.First {
			continue
		}
		if lp := d.Room.LayingPair(x); (lp == nil) != (laying == nil) || (lp != nil && lp.ID != laying.ID) {
			continue
		}
		n++
		found = found || x.Found
		if x.No != nil {
			given, n = *x.No, *x.No
		}
		if x == c {
			break
		}
	}
	return n, given > 0 || (!found && (laying == nil || !laying.Found))
}

// Stage is the nest's stage in a word and a number, such as "sit 9", as it stands on a tile.
func (n *Nest) Stage() string {
	s := n.Course.Stage
	if s.Kind > nest.Sitting && n.Eggs.Total() > 0 && !n.Clutch.HadChicks() {
		// By the days they should have hatched, but nobody has seen a chick: they are sat on until one is seen.
		if from := n.Course.Event(nest.SittingFrom); from.Known {
			return fmt.Sprintf("sit %d", int(n.Course.Asked-from.Likely))
		}
	}
	switch s.Kind {
	case nest.Laying:
		return fmt.Sprintf("egg %d", max(s.Number, 1))
	case nest.Sitting:
		return fmt.Sprintf("sit %d", s.Number)
	case nest.Hatching, nest.Chicks, nest.Out:
		return fmt.Sprintf("day %d", s.Number)
	}
	return s.Kind.String()
}

// Label names the clutch in a sentence: "2nd clutch".
func (n *Nest) Label() string {
	if n.No == 0 {
		return "clutch"
	}
	s := ordinal(n.No) + " clutch"
	if !n.NoSure {
		s += " in the books"
	}
	return s
}

func ordinal(n int) string {
	suffix := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			suffix = "st"
		case 2:
			suffix = "nd"
		case 3:
			suffix = "rd"
		}
	}
	return fmt.Sprintf("%d%s", n, suffix)
}
