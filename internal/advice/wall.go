package advice

import (
	"fmt"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/species"
)

// State is what a cage's box shows at a glance.
type State string

// The states of a cage.
const (
	Unoccupied State = "empty cage"
	AtRest     State = "resting"
	NoNest     State = "empty box"
	Builds     State = "building"
	HasEggs    State = "eggs"
	HasChicks  State = "chicks"
	Fledged    State = "fledged"
)

// Cage is one place as it stands on the wall.
type Cage struct {
	Place     *aviary.Place
	Birds     []*aviary.Bird
	Groups    []*aviary.Group
	Pair      *aviary.Pair
	Cock, Hen *aviary.Bird // the first of each in the pair, or in the place
	Species   *species.Profile
	Mixed     bool // more than one species
	Nests     []*Nest
	Main      *Nest // the newest clutch, nil when there is none
	Out       int   // young out of the box, of any clutch
	State     State
	Day       string // "sit 9", "day 3"
	What      string // the next job in a word: "hatch"
	When      string // and its day: "16 Jan"
	Job       *Job   // the most pressing, due or coming
	Attention Attention
	Sentence  string // everything in one sentence, for who cannot see it
}

// Cage says how a place stands today.
func (d *Desk) Cage(p *aviary.Place) *Cage {
	c := &Cage{Place: p, Birds: d.Room.In(p.ID), Groups: d.Room.GroupsIn(p.ID), Pair: d.Room.PairNow(p.ID), Nests: d.Nests(p), Attention: Resting}
	c.Species, c.Mixed = d.speciesAt(p.ID)
	if s := d.speciesOf(c.Pair); s != nil {
		c.Species = s
	}
	c.Cock, c.Hen = d.couple(c)
	if len(c.Nests) > 0 {
		c.Main = c.Nests[0]
	}
	for _, n := range c.Nests {
		c.Out += n.Out
	}
	c.State, c.Day = d.state(c)
	for _, j := range d.Jobs(p) {
		if j.Kind == QuestionJob && c.Job != nil {
			continue
		}
		c.Job, c.Attention = j, j.Attention
		c.What, c.When = j.Tile()
		break
	}
	c.Sentence = c.sentence()
	return c
}

func (d *Desk) couple(c *Cage) (cock, hen *aviary.Bird) {
	if c.Pair != nil {
		for _, id := range c.Pair.Cocks {
			if b := d.Room.Bird(id); cock == nil && b != nil && b.Place() == c.Place.ID {
				cock = b
			}
		}
		for _, id := range c.Pair.Hens {
			if b := d.Room.Bird(id); hen == nil && b != nil && b.Place() == c.Place.ID {
				hen = b
			}
		}
		return cock, hen
	}
	if c.Place.Type != aviary.Cage {
		return nil, nil
	}
	for _, b := range c.Birds {
		if b.Sex == aviary.Cock && cock == nil {
			cock = b
		}
		if b.Sex == aviary.Hen && hen == nil {
			hen = b
		}
	}
	return cock, hen
}

func (d *Desk) state(c *Cage) (State, string) {
	if n := c.Main; n != nil {
		switch {
		case n.Chicks > 0:
			return HasChicks, n.Stage()
		case n.Eggs.Total() > 0:
			return HasEggs, n.Stage()
		case n.Out > 0 || n.Clutch.Emptied:
			return Fledged, n.Stage()
		case n.Clutch.HadChicks():
			return HasChicks, n.Stage()
		}
		return HasEggs, n.Stage()
	}
	if len(c.Birds) == 0 && len(c.Groups) == 0 {
		return Unoccupied, ""
	}
	if c.Pair == nil || len(c.Place.BoxesHung()) == 0 {
		return AtRest, restDays(d, c)
	}
	since := c.Pair.From
	for _, cl := range c.Place.Clutches {
		since = max(since, cl.Ended)
	}
	waits := fmt.Sprintf("wait %d", d.Today-since)
	for _, s := range c.Place.Signs {
		if s.Day >= since && s.What == "building" {
			return Builds, waits
		}
	}
	return NoNest, waits
}

// restDays counts the days since the last clutch ended or the last pair was parted, for a cage at rest.
func restDays(d *Desk, c *Cage) string {
	var since aviary.Date
	for _, cl := range c.Place.Clutches {
		since = max(since, cl.Ended)
	}
	for _, p := range d.Room.PairsAt(c.Place.ID) {
		since = max(since, p.To)
	}
	if since == 0 {
		return ""
	}
	return fmt.Sprintf("rest %d", d.Today-since)
}

// Tile is the job in a word and its day, as they stand on a tile: "hatch" and "16 Jan", "ring" and "today".
func (j *Job) Tile() (what, when string) {
	what = map[JobKind]string{
		FirstEggJob: "1st egg", CountJob: "count", CandleJob: "candle", ChicksJob: "hatch", RingJob: "ring", CountOutJob: "fledge", WeanJob: "wean",
		NoNestJob: "no nest", QuestionJob: "open", OddJob: "odd", QuarantineJob: "look over", MaterialJob: "material", BoxJob: "hang box",
	}[j.Kind]
	switch {
	case j.Urgent:
		return "hen ill", "at once"
	case j.Attention == Over:
		return what, fmt.Sprintf("%d %s over", j.LateDays, plural(j.LateDays, "day", "days"))
	case j.Kind == QuestionJob:
		return what, "question"
	case j.Attention == NotSure:
		return what, "look"
	case j.Attention == Today:
		return what, "today"
	case j.Kind == ChicksJob && j.Event.Known:
		return what, Day(j.Event.Likely).Short()
	}
	return what, j.Best.Short()
}

func (c *Cage) sentence() string {
	parts := []string{c.Place.Name}
	if c.Species != nil {
		parts = append(parts, c.Species.English)
	}
	for _, b := range []*aviary.Bird{c.Cock, c.Hen} {
		if b != nil {
			parts = append(parts, string(b.Sex)+" "+b.Label())
		}
	}
	if c.Main != nil {
		parts = append(parts, strings.TrimSuffix(strings.ToLower(c.Main.Says()), "."))
	} else {
		parts = append(parts, string(c.State))
	}
	if c.Day != "" {
		parts = append(parts, c.Day)
	}
	if c.Job != nil {
		parts = append(parts, c.Job.Title+", "+c.Job.Flag())
	}
	return strings.Join(parts, ", ")
}

// Bank is one bank of cages as it hangs.
type Bank struct {
	Name       string
	Rows, Cols int
	Cages      []*Cage // by row, then column; places without a hook come last
}

// At returns the cage on a hook, counted from 1, or nil where none hangs.
func (b *Bank) At(row, col int) *Cage {
	for _, c := range b.Cages {
		if c.Place.Row == row && c.Place.Col == col {
			return c
		}
	}
	return nil
}

// Wall is the room as it hangs.
type Wall struct {
	Banks   []*Bank
	Flights []*Holding // flights and aviaries
	Apart   []*Cage    // quarantine and hospital
	Count   map[Attention]int
	States  map[State]int
	Species []SpeciesCount
}

// SpeciesCount is how many cages hold a species.
type SpeciesCount struct {
	Species *species.Profile
	Cages   int
}

// Holding is a flight or an aviary: who is in it, and who is expected.
type Holding struct {
	*Cage
	Taken    int
	Capacity int // 0 when not known
	Expected int // young likely to be weaned within four weeks, wherever they will go
}

// Cages returns every cage of the banks, in walking order.
func (w *Wall) Cages() []*Cage {
	var out []*Cage
	for _, b := range w.Banks {
		out = append(out, b.Cages...)
	}
	return out
}

// Wall draws the room as it hangs.
func (d *Desk) Wall() *Wall {
	w := &Wall{Count: map[Attention]int{}, States: map[State]int{}}
	byBank := map[string]*Bank{}
	cages := map[string]int{}
	for _, p := range d.Room.Places() {
		c := d.Cage(p)
		switch p.Type {
		case aviary.Cage:
			b := byBank[p.Bank]
			if b == nil {
				b = &Bank{Name: p.Bank}
				byBank[p.Bank] = b
				w.Banks = append(w.Banks, b)
			}
			b.Rows, b.Cols = max(b.Rows, p.Row), max(b.Cols, p.Col)
			b.Cages = append(b.Cages, c)
			w.Count[c.Attention]++
			w.States[c.State]++
			if c.Species != nil {
				cages[c.Species.Slug]++
			}
		case aviary.Flight, aviary.Aviary:
			h := &Holding{Cage: c, Taken: len(c.Birds)}
			for _, g := range c.Groups {
				h.Taken += g.Count
			}
			if p.Capacity != nil {
				h.Capacity = *p.Capacity
			}
			w.Flights = append(w.Flights, h)
		default:
			w.Apart = append(w.Apart, c)
		}
	}
	for _, s := range d.Cat.All() {
		if n := cages[s.Slug]; n > 0 {
			w.Species = append(w.Species, SpeciesCount{s, n})
		}
	}
	return w
}

// WeanWithin counts the young that are likely to be parted from their parents within so many days: young
// out of the box and chicks in it, as last counted.
func (d *Desk) WeanWithin(n int) (young int, by aviary.Date) {
	for _, p := range d.Room.Places() {
		for _, x := range d.Nests(p) {
			wean := x.Course.Event(nest.Wean)
			if !wean.Known || Day(wean.Likely) > d.Today+aviary.Date(n) {
				continue
			}
			if k := max(x.Out, x.Chicks, x.Ringed); k > 0 {
				young += k
				by = max(by, Day(wean.Likely))
			}
		}
	}
	return young, by
}
