package web

import (
	"fmt"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// placeChoice is a place in a list to choose from.
type placeChoice struct {
	ID   string
	Name string // with what is in it: "B3, Zebra finch, 2 birds"
	Bank string
}

// choices lists places to choose from, in walking order.
func choices(d *advice.Desk, fits func(*aviary.Place) bool) []placeChoice {
	var out []placeChoice
	for _, p := range d.Room.Places() {
		if !fits(p) {
			continue
		}
		name := p.Name
		n := len(d.Room.In(p.ID))
		for _, g := range d.Room.GroupsIn(p.ID) {
			n += g.Count
		}
		switch {
		case n == 0:
			name += ", empty"
		case n == 1:
			name += ", 1 bird"
		default:
			name += fmt.Sprintf(", %d birds", n)
		}
		bank := p.Bank
		if bank == "" {
			bank = "Other places"
		}
		out = append(out, placeChoice{p.ID.String(), name, bank})
	}
	return out
}

// placesField is a drop-down list of places, as the part "places" draws it.
type placesField struct {
	Field, ID, Label, None, Value, Error string
	Places                               []placeChoice
}

func newPlacesField(f *form, name, label, none string, places []placeChoice) placesField {
	return placesField{name, name, label, none, f.Value(name), f.Error(name), places}
}

// newPlacesIn is newPlacesField with an id that differs from those of the same field in other forms of the page.
func newPlacesIn(f *form, name, label, none string, places []placeChoice, form string) placesField {
	p := newPlacesField(f, name, label, none, places)
	p.ID = form + "-" + name
	return p
}

// pairPage is the form that sets up a pair.
type pairPage struct {
	layout
	Places   []placeChoice
	Cocks    []string // suggestions
	Hens     []string
	Warnings []advice.Warning
	Once     aviary.ID
}

func (s *server) pairRoutes(r *routes) {
	r.keeperGet("/pair/new", s.pairNewShow)
	r.keeperPost("/pair", s.pairSend)
	r.keeperGet("/pair/{id}/end", s.pairEndShow)
	r.keeperPost("/pair/{id}/end", s.pairEndSend)
}

// pairNewShow shows the form, with the place and birds that the address names.
func (s *server) pairNewShow(v *visit) error {
	q := v.r.URL.Query()
	f := blank("place", q.Get("place"))
	v.desk(func(d *advice.Desk) {
		for _, field := range []string{"cock", "hen"} {
			if b := birdByText(d.Room, q.Get(field)); b != nil {
				f.Values.Set(field, v.suggestion(d.Room, b))
			}
		}
	})
	return s.pairForm(v, f, nil)
}

func birdByText(r *aviary.Room, text string) *aviary.Bird {
	b, err := birdNamed(r, text, (*aviary.Bird).Here)
	if err != nil {
		return nil
	}
	return b
}

// pairForm shows the form as it stands in f, with the warnings that ask for a reason.
func (s *server) pairForm(v *visit, f *form, warnings []advice.Warning) error {
	p := &pairPage{Warnings: warnings, Once: v.once}
	p.Headline, p.Sub, p.Tab, p.Form = "Set up a pair", "The birds are moved to the cage with it.", "wall", f
	p.Up, p.UpTo, p.Class = "/wall", "Wall", "page narrow"
	v.desk(func(d *advice.Desk) {
		p.Places = choices(d, func(p *aviary.Place) bool {
			return p.Type == aviary.Cage || p.Type == aviary.Aviary || p.Type == aviary.Flight
		})
		for _, b := range d.Room.Birds() {
			if !b.Here() {
				continue
			}
			s := v.suggestion(d.Room, b)
			if s == "" {
				continue
			}
			if b.Sex != aviary.Hen {
				p.Cocks = append(p.Cocks, s)
			}
			if b.Sex != aviary.Cock {
				p.Hens = append(p.Hens, s)
			}
		}
	})
	return v.render("pair_new", p)
}

// pairSend sets up a pair. Warnings are shown first and ask for a reason.
func (s *server) pairSend(v *visit) error {
	f := v.form()
	body := &aviary.PairSet{Pair: v.id(), Place: f.id("place"), Plan: f.text("plan")}
	if body.Place == (aviary.ID{}) {
		f.wrong("place", "choose the cage")
	}
	var warnings []advice.Warning
	var said string
	v.desk(func(d *advice.Desk) {
		body.Cocks = v.birdsNamed(d.Room, f, "cock", func(b *aviary.Bird) bool { return b.Here() && b.Sex != aviary.Hen })
		body.Hens = v.birdsNamed(d.Room, f, "hen", func(b *aviary.Bird) bool { return b.Here() && b.Sex != aviary.Cock })
		if len(body.Cocks)+len(body.Hens) == 0 && f.err() == nil {
			f.wrong("cock", "name at least one bird")
		}
		if f.err() == nil {
			warnings = d.Warnings(&aviary.Entry{Day: v.today, Kind: body.Kind(), Body: body})
			if p := d.Room.Place(body.Place); p != nil {
				said = p.Name + " paired"
			}
		}
	})
	if len(warnings) > 0 && f.text("why") == "" && f.err() == nil {
		f.wrong("why", "say why it is right all the same, or choose other birds")
		v.status = 422
		return s.pairForm(v, f, warnings)
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return s.pairForm(v, f, warnings) })
	}
	v.say("%s", said)
	return v.see("/cage/" + body.Place.String())
}

// birdsNamed reads the birds that a field names, parted by commas.
func (v *visit) birdsNamed(r *aviary.Room, f *form, field string, ok func(*aviary.Bird) bool) []aviary.ID {
	var out []aviary.ID
	for _, text := range strings.Split(strings.Join(f.words(field), ","), ",") {
		b, err := birdNamed(r, text, ok)
		switch {
		case err != nil:
			f.wrong(field, "%v", err)
		case b != nil:
			out = append(out, b.ID)
		}
	}
	return out
}

// pairEndPage is the form that ends a pair.
type pairEndPage struct {
	layout
	Place   *aviary.Place
	PairID  aviary.ID
	Reasons []string
	Places  []placeChoice
	Once    aviary.ID
	Nests   []string // what is still in the nest, which goes on
}

// pairEndShow shows the form.
func (s *server) pairEndShow(v *visit) error { return s.pairEndForm(v, blank()) }

func (s *server) pairEndForm(v *visit, f *form) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	p := &pairEndPage{PairID: id, Reasons: aviary.PairEnds, Once: v.once}
	v.desk(func(d *advice.Desk) {
		pair := d.Room.Pair(id)
		if pair == nil {
			err = notThere("there is no such pair in the books")
			return
		}
		p.Place = d.Room.Place(pair.Place)
		p.Headline, p.Class = "End the pair", "page narrow"
		if p.Place != nil {
			p.Headline = "End the pair in " + p.Place.Name
			for _, n := range d.Nests(p.Place) {
				p.Nests = append(p.Nests, n.Says())
			}
		}
		p.Places = choices(d, func(x *aviary.Place) bool { return x.ID != pair.Place })
	})
	if err != nil {
		return err
	}
	p.Tab, p.Form, p.Up, p.UpTo = "wall", f, "/wall", "Wall"
	if p.Place != nil {
		p.Up, p.UpTo = "/cage/"+p.Place.ID.String(), p.Place.Name
	}
	return v.render("pair_end", p)
}

// pairEndSend ends a pair and moves its birds, in one step.
func (s *server) pairEndSend(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	reason := f.text("reason")
	if reason == "" {
		f.wrong("reason", "say why, so that the season's picture is right")
	}
	entries := []*aviary.Entry{v.entry(&aviary.PairEnded{Pair: id, Reason: reason})}
	back := "/wall"
	v.desk(func(d *advice.Desk) {
		pair := d.Room.Pair(id)
		if pair == nil {
			return // the journal's door says so
		}
		back = "/cage/" + pair.Place.String()
		for _, m := range []struct {
			ids []aviary.ID
			to  aviary.ID
		}{{pair.Cocks, f.id("cocks_to")}, {pair.Hens, f.id("hens_to")}} {
			for _, b := range m.ids {
				if x := d.Room.Bird(b); m.to != (aviary.ID{}) && x != nil && x.Here() && x.Place() == pair.Place {
					entries = append(entries, v.entry(&aviary.BirdMoved{Bird: b, Place: m.to, Reason: reason}))
				}
			}
		}
	})
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, s.pairEndForm)
	}
	return v.see(back)
}
