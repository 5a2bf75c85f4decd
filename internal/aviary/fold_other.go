package aviary

import (
	"slices"
	"sync"
	"time"
)

// Pair is what the entries say of birds that were put together to breed.
type Pair struct {
	ID          ID
	Place       ID
	Cocks, Hens []ID
	From, To    Date // To is zero while the pair stands
	Reason      string
	Plan        string
	Found       bool

	setBy, endedBy *Entry
}

// Stands reports whether the pair stands on a day.
func (p *Pair) Stands(on Date) bool {
	return p.setBy != nil && p.From <= on && (p.To == 0 || on < p.To)
}

// Birds returns the cocks, then the hens.
func (p *Pair) Birds() []ID { return append(append([]ID(nil), p.Cocks...), p.Hens...) }

func (p *Pair) object(_ *Room, e *Entry) *Clash {
	if _, sets := e.Body.(*PairSet); sets {
		if p.setBy != nil {
			return &Clash{p.setBy, "this pair is in the books already"}
		}
		return nil
	}
	if p.setBy == nil {
		return &Clash{nil, "there is no such pair in the books on that day"}
	}
	if p.endedBy != nil {
		return &Clash{p.endedBy, "this pair was ended on " + p.To.Long() + " already"}
	}
	return nil
}

func (p *Pair) apply(r *Room, e *Entry) {
	switch b := e.Body.(type) {
	case *PairSet:
		p.Place, p.From, p.Plan, p.Found, p.setBy = b.Place, e.Day, b.Plan, b.Found, e
		p.Cocks, p.Hens = r.canonicals(b.Cocks), r.canonicals(b.Hens)
	case *PairEnded:
		p.To, p.Reason, p.endedBy = e.Day, b.Reason, e
	}
}

// wornBy is who wears a ring.
type wornBy struct {
	Holder ID
	By     *Entry `json:"-"`
}

func ringOn(e *Entry) (ID, bool) {
	switch b := e.Body.(type) {
	case *BirdAcquired:
		return b.Bird, true
	case *ChickRinged:
		return b.Bird, true
	case *BirdRinged:
		return b.Bird, true
	}
	return ID{}, false
}

func (w *wornBy) object(r *Room, e *Entry) *Clash {
	if id, on := ringOn(e); on && w.Holder != (ID{}) && w.Holder != r.canonical(id) {
		return &Clash{w.By, "another bird wears this ring"}
	}
	return nil
}

func (w *wornBy) apply(r *Room, e *Entry) {
	if id, on := ringOn(e); on {
		w.Holder, w.By = r.canonical(id), e
	} else {
		w.Holder, w.By = ID{}, e
	}
}

// Group is a counted group of young without rings.
type Group struct {
	ID      ID
	Species string
	Count   int
	Place   ID
	From    ID // place where they were reared, if known
	Hatched Date
	Since   Date
}

func (g *Group) object(_ *Room, e *Entry) *Clash {
	switch e.Body.(type) {
	case *GroupFound, *YoungWeaned:
		return nil
	}
	if g.Since == 0 {
		return &Clash{nil, "there is no such group of young in the books on that day"}
	}
	return nil
}

func (g *Group) apply(_ *Room, e *Entry) {
	switch b := e.Body.(type) {
	case *GroupFound:
		g.Species, g.Place, g.Hatched, g.Since = b.Species, b.Place, b.Hatched, e.Day
		g.Count += b.Count
	case *YoungWeaned:
		g.Species, g.Place, g.From, g.Since = b.Species, b.To, b.Place, e.Day
		g.Count += b.Unringed
	case *GroupMoved:
		g.Place = b.Place
	case *GroupCounted:
		g.Count = b.Count
	case *ChickRinged:
		g.Count = max(0, g.Count-1)
	}
}

// Odd is a matter to be sorted out, and whether it is settled.
type Odd struct {
	Entry   *Entry `json:"-"` // an odd_seen, place_counted or one_died entry; nil when only the settling is known
	Settled *Entry `json:"-"`
}

func (o *Odd) object(*Room, *Entry) *Clash { return nil }

func (o *Odd) apply(_ *Room, e *Entry) {
	if _, ok := e.Body.(*Settled); ok {
		o.Settled = e
		return
	}
	o.Entry = e
}

// Settings is what was set about the room on a day.
type Settings struct {
	Name                         string
	Zone                         string // "" when it was never set
	Latitude, Longitude          *float64
	SeasonStart, RingYear        string   // MM-DD; "" when never set
	LullFrom, LullTo             string   // MM-DD
	Kept                         []string // slugs of the species that the keeper keeps
	Mass, Volume, Length, Warmth string
}

// Units returns the settings with the units that are shown where none was chosen.
func (s Settings) withDefaults() Settings {
	for _, d := range []struct {
		dst  *string
		unit string
	}{{&s.Mass, "g"}, {&s.Volume, "ml"}, {&s.Length, "mm"}, {&s.Warmth, "C"}} {
		if *d.dst == "" {
			*d.dst = d.unit
		}
	}
	return s
}

// OwnValue is the keeper's own value for a species parameter.
type OwnValue struct {
	Low, Typical, High *float64
	Day                Date
	By                 string
}

// LampSetting is how a circuit's timer was set from a day on.
type LampSetting struct {
	Day Date
	LampSet
}

// LampPlan is how a circuit's lamp hours are planned.
type LampPlan struct {
	Entry ID
	Day   Date // on which it was written
	LampPlanned
}

// FeedPlan is how a group of birds is planned to be fed.
type FeedPlan struct {
	Entry ID
	Day   Date // on which it was written
	FeedPlanned
}

// PhaseMark says that a feeding phase began on a day.
type PhaseMark struct {
	Entry ID
	Day   Date
	Phase string
}

// Store is what was counted of a food on a day.
type Store struct {
	Entry ID
	Day   Date
	StoreCounted
}

// GermTest is a germination test.
type GermTest struct {
	Entry ID
	Day   Date
	GerminationTested
}

// SproutPlan is how seed is sprouted from a day on.
type SproutPlan struct {
	Entry ID
	Day   Date
	SproutsPlanned
}

// RingList is a list of rings on hand.
type RingList struct {
	Entry ID
	RingsListed
}

// Whole is what is known of the room as a whole.
type Whole struct {
	Settings  []DatedSettings
	Own       map[string]map[string]OwnValue // by species slug, then parameter
	Lamps     []LampSetting
	Wished    []YoungWished   // newest of each look
	Colours   []ColourAdded   // of the keeper's own
	Assumed   []ColourAssumed // of colours, in order; a later one of a locus goes before
	LampPlans []LampPlan
	FeedPlans []FeedPlan
	Phases    []PhaseMark // that began in the whole room
	Stores    []Store
	GermTests []GermTest
	Sprouts   []SproutPlan
	Rings     []RingList
	Rounds    []RoundMark
	Away      []AwaySpan
	Notes     []*Entry `json:"-"`
	Fed       []*Entry `json:"-"`
}

// DatedSettings is the settings as they stood from a day on.
type DatedSettings struct {
	From Date
	Settings
}

// RoundMark says that the whole room was seen.
type RoundMark struct {
	Entry ID
	Day   Date
	Time  Clock
	By    string
	RoundSeen
}

// AwaySpan is a span of days on which a helper looks after the room.
type AwaySpan struct {
	Entry ID
	AwaySet
}

func (w *Whole) object(*Room, *Entry) *Clash { return nil }

func (w *Whole) apply(_ *Room, e *Entry) {
	switch b := e.Body.(type) {
	case *RoomSet:
		var s Settings
		if n := len(w.Settings); n > 0 {
			s = w.Settings[n-1].Settings
		}
		set(&s.Name, b.Name)
		set(&s.Zone, b.Zone)
		set(&s.SeasonStart, b.SeasonStart)
		set(&s.RingYear, b.RingYear)
		set(&s.LullFrom, b.LullFrom)
		set(&s.LullTo, b.LullTo)
		set(&s.Mass, b.Mass)
		set(&s.Volume, b.Volume)
		set(&s.Length, b.Length)
		set(&s.Warmth, b.Warmth)
		if len(b.Kept) > 0 {
			s.Kept = b.Kept
		}
		if b.Latitude != nil {
			s.Latitude = b.Latitude
		}
		if b.Longitude != nil {
			s.Longitude = b.Longitude
		}
		w.Settings = append(w.Settings, DatedSettings{e.Day, s})
	case *SpeciesSet:
		if w.Own == nil {
			w.Own = map[string]map[string]OwnValue{}
		}
		if w.Own[b.Species] == nil {
			w.Own[b.Species] = map[string]OwnValue{}
		}
		if b.Clear {
			delete(w.Own[b.Species], b.Parameter)
		} else {
			w.Own[b.Species][b.Parameter] = OwnValue{b.Low, b.Typical, b.High, e.Day, e.By}
		}
	case *RingsListed:
		w.Rings = append(w.Rings, RingList{e.ID, *b})
	case *LampSet:
		w.Lamps = append(w.Lamps, LampSetting{e.Day, *b})
	case *YoungWished:
		w.Wished = slices.DeleteFunc(slices.Clone(w.Wished), func(x YoungWished) bool {
			return x.Species == b.Species && x.Trait == b.Trait && x.Look == b.Look && x.Sex == b.Sex
		})
		if b.Count > 0 {
			w.Wished = append(w.Wished, *b)
		}
	case *ColourAdded:
		w.Colours = append(w.Colours, *b)
	case *ColourAssumed:
		if b.Clear {
			w.Assumed = slices.DeleteFunc(slices.Clone(w.Assumed), func(x ColourAssumed) bool { return x.Species == b.Species && x.Locus == b.Locus })
			return
		}
		w.Assumed = append(w.Assumed, *b)
	case *LampPlanned:
		w.LampPlans = append(w.LampPlans, LampPlan{e.ID, e.Day, *b})
	case *FeedPlanned:
		w.FeedPlans = append(w.FeedPlans, FeedPlan{e.ID, e.Day, *b})
	case *PhaseBegun:
		w.Phases = append(w.Phases, PhaseMark{e.ID, e.Day, b.Phase})
	case *StoreCounted:
		w.Stores = append(w.Stores, Store{e.ID, e.Day, *b})
	case *GerminationTested:
		w.GermTests = append(w.GermTests, GermTest{e.ID, e.Day, *b})
	case *SproutsPlanned:
		w.Sprouts = append(w.Sprouts, SproutPlan{e.ID, e.Day, *b})
	case *RoundSeen:
		w.Rounds = append(w.Rounds, RoundMark{e.ID, e.Day, e.Time, e.By, *b})
	case *AwaySet:
		w.Away = append(w.Away, AwaySpan{e.ID, *b})
	case *Note:
		w.Notes = append(w.Notes, e)
	case *FoodGiven:
		w.Fed = append(w.Fed, e)
	}
}

// Settings returns what was set about the room on a day.
func (r *Room) Settings(on Date) Settings {
	var s Settings
	for _, d := range r.whole().Settings {
		if d.From > on {
			break
		}
		s = d.Settings
	}
	if s.Zone == "" && len(r.whole().Settings) > 0 {
		s = r.whole().Settings[0].Settings // before the first setting, the first one stands
	}
	return s.withDefaults()
}

// Zone returns the room's time zone on a day; UTC until one is set.
func (r *Room) Zone(on Date) *time.Location {
	name := r.Settings(on).Zone
	if loc, ok := zones.Load(name); ok {
		return loc.(*time.Location)
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return time.UTC
	}
	zones.Store(name, loc)
	return loc
}

// zones keeps the time zones that were read, by name: a page asks for its room's many times.
var zones sync.Map

// LampsOn returns the newest setting of each circuit that stands on a day.
func (r *Room) LampsOn(on Date) []LampSetting {
	var out []LampSetting
	at := map[string]int{}
	for _, l := range r.whole().Lamps {
		if l.Day > on {
			continue
		}
		if i, ok := at[l.Circuit]; ok {
			out[i] = l
		} else {
			at[l.Circuit] = len(out)
			out = append(out, l)
		}
	}
	return out
}

// Whole returns what is known of the room as a whole. The caller must not change it.
func (r *Room) Whole() *Whole { return r.whole() }
