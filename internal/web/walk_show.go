package web

import (
	"fmt"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// walkPage is one cage of the walk with which a room is set up.
type walkPage struct {
	layout
	Place   *aviary.Place
	Next    *aviary.Place
	Done    int
	All     int
	Species []option
	Nests   []option
	Birds   []string // suggestions: birds in the books that are in no cage
}

// What a nest may hold as it is found.
const (
	foundNoBox  = "no box"
	foundEmpty  = "empty box"
	foundBuilds = "building"
	foundEggs   = "eggs"
	foundChicks = "chicks"
	foundOut    = "young out"
)

// walkShow goes on to the next cage that was not walked yet.
func (s *server) walkShow(v *visit) error {
	to := "/setup?step=walk"
	v.desk(func(d *advice.Desk) {
		if next := d.AsFound().Next; next != nil {
			to = "/setup/walk/" + next.ID.String()
		}
	})
	return v.see(to)
}

func (s *server) walkCageShow(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	slug, in := v.r.URL.Query().Get("species"), map[aviary.Sex][]string{}
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		for _, b := range r.In(id) { // from a list that was read in
			if b.Ring().Read() && b.Sex != "" {
				slug, in[b.Sex] = b.Species, append(in[b.Sex], b.Ring().String())
			}
		}
	})
	return s.walkForm(v, blank("species", slug, "nest", foundEmpty, "cock", strings.Join(in[aviary.Cock], ", "), "hen", strings.Join(in[aviary.Hen], ", ")))
}

func (s *server) walkForm(v *visit, f *form) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	p := &walkPage{Species: []option{{Label: "Choose the species"}}}
	for _, n := range [][2]string{{foundNoBox, "No box hangs"}, {foundEmpty, "Empty box"}, {foundBuilds, "Building"}, {foundEggs, "Eggs"}, {foundChicks, "Chicks"}, {foundOut, "Young out of the box"}} {
		p.Nests = append(p.Nests, option{Value: n[0], Label: n[1]})
	}
	v.desk(func(d *advice.Desk) {
		x := d.Room.Place(id)
		if x == nil {
			return
		}
		c := *x
		p.Place = &c
		w := d.AsFound()
		p.Done, p.All = len(w.Done), len(w.Cages)
		if next := w.After(id); next != nil {
			n := *next
			p.Next = &n
		}
		kept := d.Kept()
		for _, known := range []bool{true, false} { // those that are kept first
			for _, x := range d.Cat.All() {
				if kept[x.Slug] == known {
					p.Species = append(p.Species, option{Value: x.Slug, Label: x.English})
				}
			}
		}
		for _, b := range d.Room.Birds() {
			if b.Here() && b.Place() == (aviary.ID{}) {
				if s := v.suggestion(d.Room, b); s != "" {
					p.Birds = append(p.Birds, s)
				}
			}
		}
	})
	if p.Place == nil {
		return notThere("there is no such place in the books")
	}
	p.Headline = fmt.Sprintf("%s as you find it", p.Place.Name)
	p.Sub = fmt.Sprintf("%d of %d cages walked. What came before is not known, and is not counted as nothing.", p.Done, p.All)
	p.Tab, p.Form, p.Up, p.UpTo = "more", f, "/setup?step=walk", "Set up"
	p.Class = "page narrow"
	return v.render("walk_show", p)
}

// walkCageSend writes a cage as it was found, in one step, and goes on to the next.
func (s *server) walkCageSend(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	var entries []*aviary.Entry
	var next, said string
	v.desk(func(d *advice.Desk) {
		p := d.Room.Place(id)
		if p == nil {
			return
		}
		said = p.Name
		if n := d.AsFound().After(id); n != nil {
			next = n.ID.String()
		}
		entries = s.asFound(v, f, d, p)
	})
	if said == "" {
		return notThere("there is no such place in the books")
	}
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, s.walkForm)
	}
	v.say("%s written as found", said)
	if next == "" {
		return v.see("/setup?step=walk")
	}
	return v.see("/setup/walk/" + next + "?species=" + f.text("species"))
}

// asFound reads the form of one cage.
func (s *server) asFound(v *visit, f *form, d *advice.Desk, p *aviary.Place) []*aviary.Entry {
	if f.tick("nobody") {
		return []*aviary.Entry{v.entry(&aviary.JobDone{Place: p.ID, Job: advice.AsFoundJob})}
	}
	slug := f.species("species")
	var entries []*aviary.Entry
	pair := &aviary.PairSet{Pair: v.id(), Place: p.ID, Found: true}
	for _, side := range []struct {
		field string
		sex   aviary.Sex
		into  *[]aviary.ID
	}{{"cock", aviary.Cock, &pair.Cocks}, {"hen", aviary.Hen, &pair.Hens}} {
		for _, text := range strings.Split(f.text(side.field), ",") {
			text = strings.TrimSpace(text)
			if text == "" {
				continue
			}
			if b, err := birdNamed(d.Room, text, (*aviary.Bird).Here); err == nil && b != nil {
				*side.into = append(*side.into, b.ID) // it is in the books already, from a list that was read in
				continue
			}
			ring, err := aviary.ParseRing(text)
			if err != nil {
				f.wrong(side.field, "write the ring as it is stamped, such as FC 24-031, or tick that it is not read yet")
				continue
			}
			entries, *side.into = s.foundBird(v, f, entries, *side.into, slug, side.sex, ring)
		}
		if f.tick(side.field+"_unread") && len(*side.into) == 0 {
			entries, *side.into = s.foundBird(v, f, entries, *side.into, slug, side.sex, aviary.Ring{})
		}
	}
	nestIs := f.one("nest", foundNoBox, foundEmpty, foundBuilds, foundEggs, foundChicks, foundOut)
	if len(pair.Cocks)+len(pair.Hens) == 0 && (nestIs == foundNoBox || nestIs == foundEmpty || nestIs == "") {
		f.wrong("cock", "write a ring, tick that it is not read yet, or press “nobody in it”")
		return nil
	}
	if nestIs != foundNoBox && len(p.BoxesHung()) == 0 {
		entries = append(entries, v.entry(&aviary.BoxHung{Box: v.id(), Place: p.ID}))
	}
	if len(pair.Cocks)+len(pair.Hens) > 0 {
		entries = append(entries, v.entry(pair))
	}
	if check := foundNest(f, p.ID, nestIs); check != nil {
		entries = append(entries, v.entry(check))
	}
	return entries
}

func (s *server) foundBird(v *visit, f *form, entries []*aviary.Entry, into []aviary.ID, slug string, sex aviary.Sex, ring aviary.Ring) ([]*aviary.Entry, []aviary.ID) {
	if slug == "" {
		if f.Error("species") == "" {
			f.wrong("species", "say which species")
		}
		return entries, into
	}
	bird := v.id()
	entries = append(entries, v.entry(&aviary.BirdAcquired{Bird: bird, Species: slug, Sex: sex, Ring: ring, Found: true}))
	return entries, append(into, bird)
}

// foundNest is the first look of the books at a nest.
func foundNest(f *form, place aviary.ID, is string) *aviary.NestCheck {
	c := &aviary.NestCheck{Place: place, Found: true, ClutchNo: f.intp("clutch_no")}
	n, none := f.intp("count"), 0
	switch is {
	case foundNoBox, "":
		return nil
	case foundEmpty:
		c.Eggs, c.Chicks, c.Found, c.ClutchNo = &none, &none, false, nil
		return c
	case foundBuilds:
		c.Eggs, c.Chicks, c.Found, c.ClutchNo, c.Signs = &none, &none, false, nil, []string{"building"}
		return c
	case foundEggs:
		c.Eggs, c.Chicks = n, &none
	case foundChicks:
		c.Chicks, c.Eggs = n, f.intp("eggs")
		c.AgeDays, c.AgeAbout = f.intp("chick_age_days"), f.intp("chick_age_about")
	case foundOut:
		c.Out, c.Eggs, c.Chicks = n, &none, &none
		c.AgeDays, c.AgeAbout = f.intp("chick_age_days"), f.intp("chick_age_about")
	}
	if n == nil || *n < 1 {
		f.wrong("count", "say how many, one at the least")
	}
	return c
}
