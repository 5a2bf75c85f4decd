package advice

import (
	"cmp"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/species"
)

// Desk is a room on a day, at a time of day, with the species' values that hold in it.
type Desk struct {
	Room  *aviary.Room
	Cat   *species.Catalogue
	Today aviary.Date
	Now   aviary.Clock // zero when the time of day does not matter

	nests map[aviary.ID][]*Nest
	odds  map[aviary.ID][]*aviary.Entry // open matters by place; nil until asked for
	lamps []*LampCircuit                // nil until asked for

	rations  map[aviary.ID]*ration
	feedings map[aviary.ID]*Feeding
	groups   map[aviary.ID][]*aviary.Group // counted groups by place; nil until asked for
	stores   []StoreState                  // nil until asked for
	fedAll   []*Feeding                    // of every place with birds; nil until asked for
	usages   map[aviary.Date]usage

	conditions map[aviary.ID]*Condition
	clutched   clutchDays // nil until asked for
	waited     []pastWait // nil until asked for

	asIf *asIf // plans that are only thought of; nil on a desk of the books alone
}

// At returns a desk. It reads the room, so it is used only while the room may be read.
func At(r *aviary.Room, today aviary.Date, now aviary.Clock) *Desk {
	return &Desk{
		Room: r, Cat: Catalogue(r), Today: today, Now: now, nests: map[aviary.ID][]*Nest{},
		rations: map[aviary.ID]*ration{}, feedings: map[aviary.ID]*Feeding{}, usages: map[aviary.Date]usage{},
		conditions: map[aviary.ID]*Condition{},
	}
}

// oddsAt returns the open matters at a place, oldest first.
func (d *Desk) oddsAt(place aviary.ID) []*aviary.Entry {
	if d.odds == nil {
		d.odds = map[aviary.ID][]*aviary.Entry{}
		for _, e := range d.Room.OpenOdds() {
			if b, ok := e.Body.(*aviary.OddSeen); ok {
				d.odds[b.Place] = append(d.odds[b.Place], e)
			}
		}
	}
	return d.odds[place]
}

// Catalogue returns the species' values that hold in a room: the keeper's own laid over the published ones.
// A value of his that cannot stand is left out; it was refused at the door, so that happens only to entries
// from elsewhere.
func Catalogue(r *aviary.Room) *species.Catalogue {
	own := species.Overrides{}
	for slug, values := range r.Whole().Own {
		own[slug] = map[species.Parameter]species.Override{}
		for param, v := range values {
			own[slug][species.Parameter(param)] = species.Override{Low: v.Low, Typical: v.Typical, High: v.High, By: v.By, Day: v.Day.Long()}
		}
	}
	cat, _ := species.NewCatalogue(own)
	return cat
}

// profile maps a species to what the timeline needs. A nil species knows nothing.
func profile(p *species.Profile) nest.Profile {
	if p == nil {
		return nest.Profile{}
	}
	get := func(param species.Parameter) nest.Range {
		v, ok := p.Value(param)
		if !ok {
			return nest.Range{}
		}
		low, typical, high, ok := v.Span()
		return nest.Range{Low: low, Typical: typical, High: high, Known: ok}
	}
	return nest.Profile{
		LayingInterval:        get(species.LayingInterval),
		IncubationStartsAtEgg: get(species.IncubationStartsAtEgg),
		Incubation:            get(species.IncubationPeriod),
		ClutchSize:            get(species.ClutchSize),
		CandlingAge:           get(species.CandlingAge),
		RingAge:               get(species.ClosedRingAge),
		FledgeAge:             get(species.FledgingAge),
		IndependenceAge:       get(species.IndependenceAge),
	}
}

// speciesOf returns the species of a pair: the hen's, else the cock's, or nil.
func (d *Desk) speciesOf(p *aviary.Pair) *species.Profile {
	if p == nil {
		return nil
	}
	for _, id := range append(slices.Clone(p.Hens), p.Cocks...) {
		if b := d.Room.Bird(id); b != nil {
			if s := d.Cat.BySlug(b.Species); s != nil {
				return s
			}
		}
	}
	return nil
}

// speciesAt returns the species of the birds in a place: that of most of them, or nil.
func (d *Desk) speciesAt(place aviary.ID) (most *species.Profile, mixed bool) {
	n := map[string]int{}
	for _, b := range d.Room.In(place) {
		n[b.Species]++
	}
	for _, g := range d.Room.GroupsIn(place) {
		n[g.Species] += g.Count
	}
	var slugs []string
	for s := range n {
		slugs = append(slugs, s)
	}
	slices.SortFunc(slugs, func(a, b string) int { return cmp.Or(cmp.Compare(n[b], n[a]), cmp.Compare(a, b)) })
	for _, s := range slugs {
		if p := d.Cat.BySlug(s); p != nil {
			return p, len(slugs) > 1
		}
	}
	return nil, false
}
