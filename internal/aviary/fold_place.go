package aviary

import "slices"

// Place is what the entries say of one cage, flight, aviary, quarantine or hospital cage.
type Place struct {
	ID           ID
	Name         string
	Type         PlaceType
	Bank         string
	Row, Col     int
	Capacity     *int
	Outdoor      bool
	Added        Date
	Retired      Date
	BlockedUntil Date // no bird, egg or chick goes in or out before this day
	Boxes        []Box
	Clutches     []*Clutch // in order of their first look
	Signs        []Sign
	Material     []Date       // days on which nest material was given
	Phases       []PhaseMark  // feeding phases that began here
	Intake       []IntakeMark // how much was eaten, the last few
	Jobs         []JobMark
	Counted      Date // last head count
	LastLook     Date // last look into a nest here
	LastAnswer   string

	addedBy, retiredBy *Entry
	emptyLooks         []emptyLook
}

// emptyLook is the last look that found a box without eggs or chicks.
type emptyLook struct {
	box ID
	e   *Entry
}

// Box is a nest box with the days on which it was hung, cleaned and taken out.
type Box struct {
	ID                   ID
	Name                 string
	Hung, Taken, Cleaned Date
}

// Sign is a sign of condition seen on a day.
type Sign struct {
	Day  Date
	What string
}

// IntakeMark says how much of their usual food the birds of a place ate.
type IntakeMark struct {
	Entry ID
	Day   Date
	Share float64 // 1 is as always
	Text  string
}

// JobMark says that a job of the round was done or put off.
type JobMark struct {
	Entry   ID
	Job     string
	Box     ID
	Day     Date
	Skipped bool
	Reason  string
	Until   Date // for a skipped job: the day on which it comes back
}

// Clutch is a conclusion: the looks and moves at one nest that belong together, keyed by the earliest
// entry that shows eggs or chicks.
type Clutch struct {
	Key        ID
	Place, Box ID
	No         *int // number in the season, when the keeper gave it
	First      Date // day of the earliest look that shows it
	Found      bool // it was there before the books began
	Ended      Date // zero while eggs, chicks or dependent young are there
	EndedBy    ID
	Birds      []ID // chicks ringed in it
	Weaned     int
	OutMost    int     // most young seen out of the box
	Emptied    bool    // the box is empty of eggs and chicks; young are out
	FromNests  []Inlet // eggs and chicks that came from other nests
	SentAway   int     // eggs and chicks moved to other nests
	eggs       int     // last count; -1 not known
	chicks     int
	hadChicks  bool
	before     *Entry // the last look that found the nest without eggs or chicks, before the clutch began
	entries    []*Entry
}

// Inlet says that eggs or chicks were put into a nest from another one.
type Inlet struct {
	Entry        ID
	Day          Date
	Place, Box   ID // of the nest that they were laid or hatched in
	Eggs, Chicks int
	Birds        []ID
}

// Entries returns the looks and moves of the clutch, in order of happening. The caller must not change the slice.
func (c *Clutch) Entries() []*Entry { return c.entries }

// Before returns the last look before the clutch that found no eggs and no chicks, or nil.
func (c *Clutch) Before() *Entry { return c.before }

// HadChicks reports whether any look or move put chicks into the clutch.
func (c *Clutch) HadChicks() bool { return c.hadChicks }

// Open reports whether the clutch still has eggs, chicks or dependent young.
func (c *Clutch) Open() bool { return c.Ended == 0 }

// Known returns the last counts of eggs and chicks; ok is false for a count that was never taken.
func (c *Clutch) Known() (eggs int, eggsOK bool, chicks int, chicksOK bool) {
	return max(c.eggs, 0), c.eggs >= 0, max(c.chicks, 0), c.chicks >= 0
}

// OpenClutches returns the clutches that have not ended, oldest first.
func (p *Place) OpenClutches() []*Clutch {
	var out []*Clutch
	for _, c := range p.Clutches {
		if c.Open() {
			out = append(out, c)
		}
	}
	return out
}

// BoxesHung returns the boxes that hang there.
func (p *Place) BoxesHung() []Box {
	var out []Box
	for _, b := range p.Boxes {
		if b.Taken == 0 {
			out = append(out, b)
		}
	}
	return out
}

// InUse reports whether the place is in the books and not retired.
func (p *Place) InUse() bool { return p.Added != 0 && p.Retired == 0 }

func (p *Place) object(_ *Room, e *Entry) *Clash {
	if _, adds := e.Body.(*PlaceAdded); adds {
		if p.addedBy != nil {
			return &Clash{p.addedBy, "this place is in the books already"}
		}
		return nil
	}
	switch e.Body.(type) {
	case *Note, *PlaceChanged, *OddSeen:
		if p.addedBy == nil {
			return &Clash{nil, "there is no such place in the books on that day"}
		}
		return nil
	}
	if p.addedBy == nil {
		return &Clash{nil, "there is no such place in the books on that day"}
	}
	if p.retiredBy != nil && e.Day > p.Retired {
		return &Clash{p.retiredBy, p.Name + " was taken out of use on " + p.Retired.Long()}
	}
	return nil
}

func (p *Place) apply(_ *Room, e *Entry) {
	switch b := e.Body.(type) {
	case *PlaceAdded:
		p.addedBy, p.Added = e, e.Day
		p.Name, p.Type, p.Bank, p.Row, p.Col, p.Capacity, p.Outdoor = b.Name, b.Type, b.Bank, b.Row, b.Col, b.Capacity, b.Outdoor
	case *PlaceChanged:
		set(&p.Name, b.Name)
		set(&p.Bank, b.Bank)
		set(&p.Row, b.Row)
		set(&p.Col, b.Col)
		set(&p.Outdoor, b.Outdoor)
		set(&p.BlockedUntil, b.BlockedUntil)
		if b.Capacity != nil {
			p.Capacity = b.Capacity
		}
	case *PlaceRetired:
		p.retiredBy, p.Retired = e, e.Day
	case *PlaceCounted:
		p.Counted = e.Day
	case *BoxHung:
		p.Boxes = append(p.Boxes, Box{ID: b.Box, Name: b.Name, Hung: e.Day})
	case *BoxTaken:
		p.boxTaken(e, b.Box)
	case *BoxCleaned:
		for i := range p.Boxes {
			if p.Boxes[i].ID == b.Box {
				p.Boxes[i].Cleaned = e.Day
			}
		}
	case *MaterialGiven:
		p.Material = append(p.Material, e.Day)
	case *PhaseBegun:
		p.Phases = append(p.Phases, PhaseMark{e.ID, e.Day, b.Phase})
	case *IntakeSeen:
		if len(p.Intake) >= intakeKept {
			p.Intake = slices.Delete(p.Intake, 0, 1)
		}
		p.Intake = append(p.Intake, IntakeMark{e.ID, e.Day, b.Share, b.Text})
	case *JobDone:
		p.mark(JobMark{Entry: e.ID, Job: b.Job, Box: b.Box, Day: e.Day})
	case *JobSkipped:
		until := b.Until
		if until == 0 {
			until = e.Day + 1
		}
		p.mark(JobMark{Entry: e.ID, Job: b.Job, Box: b.Box, Day: e.Day, Skipped: true, Reason: b.Reason, Until: until})
	case *NestCheck:
		p.look(e, b)
	case *NestMoved:
		p.nestMoved(e, b)
	case *ChickRinged:
		if b.Group == (ID{}) {
			if c := p.broodOf(p.box(b.Box)); c != nil {
				c.Birds = append(c.Birds, b.Bird)
				c.entries = append(c.entries, e)
			}
		}
	case *YoungWeaned:
		if b.Place == p.ID {
			p.weaned(e, b)
		}
	}
}

// intakeKept is how many marks of appetite a place keeps.
const intakeKept = 20

// jobsKept is how many marks of jobs a place keeps: the round asks only about the last few days.
const jobsKept = 40

func (p *Place) mark(m JobMark) {
	if len(p.Jobs) >= jobsKept {
		p.Jobs = slices.Delete(p.Jobs, 0, 1)
	}
	p.Jobs = append(p.Jobs, m)
}

func set[T any](dst *T, v *T) {
	if v != nil {
		*dst = *v
	}
}

// box says which box an entry is about: the one named, else the only one that hangs.
func (p *Place) box(named ID) ID {
	if named != (ID{}) {
		return named
	}
	var only ID
	for _, b := range p.Boxes {
		if b.Taken == 0 {
			if only != (ID{}) {
				return ID{}
			}
			only = b.ID
		}
	}
	return only
}

// current is the newest open clutch in a box.
func (p *Place) current(box ID) *Clutch {
	for i := len(p.Clutches) - 1; i >= 0; i-- {
		if c := p.Clutches[i]; c.Open() && c.Box == box {
			return c
		}
	}
	return nil
}

// broodOf is the clutch in a box that chicks belong to: the newest open one with chicks, else the newest.
func (p *Place) broodOf(box ID) *Clutch {
	for i := len(p.Clutches) - 1; i >= 0; i-- {
		if c := p.Clutches[i]; c.Open() && c.Box == box && c.hadChicks {
			return c
		}
	}
	return p.current(box)
}

func (p *Place) begin(e *Entry, box ID) *Clutch {
	c := &Clutch{Key: e.ID, Place: p.ID, Box: box, First: e.Day, eggs: -1, chicks: -1}
	for i, l := range p.emptyLooks {
		if l.box == box {
			c.before = l.e
			p.emptyLooks = slices.Delete(p.emptyLooks, i, i+1)
			break
		}
	}
	p.Clutches = append(p.Clutches, c)
	return c
}

func (c *Clutch) end(e *Entry) { c.Ended, c.EndedBy = e.Day, e.ID }

func (p *Place) look(e *Entry, b *NestCheck) {
	p.LastLook, p.LastAnswer = e.Day, b.Look
	for _, s := range b.Signs {
		p.Signs = append(p.Signs, Sign{e.Day, s})
	}
	box := p.box(b.Box)
	c := p.current(box)
	shows := positive(b.Eggs) || positive(b.Chicks) || len(b.Candled) > 0 || (b.Found && positive(b.Out))
	if shows && (c == nil || b.NewClutch || (c.Emptied && positive(b.Eggs))) {
		if c != nil && !c.Emptied && !c.hadChicks {
			c.end(e) // old eggs under a new clutch: they are given up
		}
		c = p.begin(e, box)
		c.Found = b.Found
	}
	if b.Eggs != nil && *b.Eggs == 0 && !positive(b.Chicks) {
		p.emptyLooks = slices.DeleteFunc(p.emptyLooks, func(l emptyLook) bool { return l.box == box })
		p.emptyLooks = append(p.emptyLooks, emptyLook{box, e})
	}
	if c == nil {
		return
	}
	if c.Emptied && !positive(b.Eggs) && !positive(b.Chicks) && b.Out == nil {
		// A look into an empty box while young are out says nothing of them.
		c.entries = append(c.entries, e)
		return
	}
	c.entries = append(c.entries, e)
	if b.ClutchNo != nil {
		c.No = b.ClutchNo
	}
	if b.Eggs != nil {
		c.eggs = *b.Eggs
	}
	if b.Removed != nil && c.eggs >= 0 {
		c.eggs = max(0, c.eggs-*b.Removed) // eggs are counted as found, before any is taken out
		if c.eggs == 0 && !positive(b.Chicks) && c.chicks <= 0 && *b.Removed > 0 {
			p.emptyLooks = slices.DeleteFunc(p.emptyLooks, func(l emptyLook) bool { return l.box == box })
			p.emptyLooks = append(p.emptyLooks, emptyLook{box, e})
		}
	}
	if b.Chicks != nil {
		c.chicks = *b.Chicks
		c.hadChicks = c.hadChicks || *b.Chicks > 0
	}
	if b.Out != nil {
		c.OutMost = max(c.OutMost, *b.Out)
	}
	p.settle(c, e)
}

// settle closes a clutch that has nothing left in it.
func (p *Place) settle(c *Clutch, e *Entry) {
	if c.eggs != 0 || c.chicks > 0 || (c.chicks < 0 && c.hadChicks) {
		c.Emptied = c.OutMost > 0 && c.chicks == 0 && c.eggs <= 0
		return
	}
	if c.OutMost > c.Weaned {
		c.Emptied = true
		return
	}
	c.end(e)
}

func (p *Place) boxTaken(e *Entry, box ID) {
	for i := range p.Boxes {
		if p.Boxes[i].ID == box && p.Boxes[i].Taken == 0 {
			p.Boxes[i].Taken = e.Day
		}
	}
	for _, c := range p.Clutches {
		if c.Open() && c.Box == box {
			c.entries = append(c.entries, e)
			c.eggs, c.chicks = 0, 0
			p.settle(c, e)
		}
	}
}

func (p *Place) nestMoved(e *Entry, b *NestMoved) {
	if b.Place == p.ID {
		if c := p.broodOf(p.box(b.Box)); c != nil {
			c.entries = append(c.entries, e)
			c.SentAway += b.Eggs + b.Chicks + len(b.Birds)
			if c.eggs >= 0 {
				c.eggs = max(0, c.eggs-b.Eggs)
			}
			if c.chicks >= 0 {
				c.chicks = max(0, c.chicks-b.Chicks-len(b.Birds))
			}
			c.Birds = slices.DeleteFunc(c.Birds, func(id ID) bool { return slices.Contains(b.Birds, id) })
			if c.eggs == 0 && c.chicks <= 0 && (c.chicks == 0 || !c.hadChicks) {
				p.settle(c, e)
			}
		}
	}
	if b.ToPlace == p.ID {
		box := p.box(b.ToBox)
		c := p.current(box)
		if c == nil || c.Emptied {
			c = p.begin(e, box)
		}
		c.entries = append(c.entries, e)
		c.FromNests = append(c.FromNests, Inlet{Entry: e.ID, Day: e.Day, Place: b.Place, Box: b.Box, Eggs: b.Eggs, Chicks: b.Chicks, Birds: b.Birds})
		c.eggs = max(c.eggs, 0) + b.Eggs
		c.chicks = max(c.chicks, 0) + b.Chicks + len(b.Birds)
		c.hadChicks = c.hadChicks || b.Chicks > 0 || len(b.Birds) > 0
		c.Birds = append(c.Birds, b.Birds...)
	}
}

func (p *Place) weaned(e *Entry, b *YoungWeaned) {
	c := p.weaningClutch(b)
	if c == nil {
		return
	}
	c.entries = append(c.entries, e)
	c.Weaned += len(b.Birds) + b.Unringed
	if b.Left == nil || *b.Left == 0 {
		c.end(e)
	}
}

// weaningClutch is the open clutch that weaned young belong to: the one that holds one of the ringed
// young, else the oldest open one with chicks, else the oldest.
func (p *Place) weaningClutch(b *YoungWeaned) *Clutch {
	var oldest *Clutch
	box := p.box(b.Box)
	for _, c := range p.Clutches {
		if !c.Open() || (c.Box != box && b.Box != (ID{})) {
			continue
		}
		for _, id := range b.Birds {
			if slices.Contains(c.Birds, id) {
				return c
			}
		}
		if oldest == nil || (!oldest.hadChicks && c.hadChicks) {
			oldest = c
		}
	}
	return oldest
}

func positive(n *int) bool { return n != nil && *n > 0 }
