package web

import (
	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// birdNewPage is the form that adds one bird.
type birdNewPage struct {
	layout
	Species []option
	Sexes   []option
	Places  []placeChoice
}

func (s *server) birdNewShow(v *visit) error {
	return s.birdNewForm(v, blank("place", v.r.URL.Query().Get("place"), "species", v.r.URL.Query().Get("species")))
}

func (s *server) birdNewForm(v *visit, f *form) error {
	p := &birdNewPage{Species: []option{{Label: "Choose the species"}}, Sexes: []option{{Value: "cock", Label: "Cock"}, {Value: "hen", Label: "Hen"}, {Label: "Not known", Chosen: f.text("sex") == ""}}}
	v.desk(func(d *advice.Desk) {
		for _, x := range d.Cat.All() {
			p.Species = append(p.Species, option{Value: x.Slug, Label: x.English})
		}
		p.Places = choices(d, func(*aviary.Place) bool { return true })
	})
	p.Class = "page narrow"
	p.Headline, p.Sub = "Add a bird", "What is not known stays empty; it can be written when it is."
	p.Tab, p.Form, p.Up, p.UpTo = "birds", f, "/birds", "Birds"
	return v.render("bird_new", p)
}

// birdNewSend adds one bird.
func (s *server) birdNewSend(v *visit) error {
	f := v.form()
	body := &aviary.BirdAcquired{
		Bird: v.id(), Species: f.species("species"), Sex: aviary.Sex(f.text("sex")), Hatched: f.date("hatched"), HatchedAbout: f.intp("hatched_about"),
		Name: f.text("name"), RingSize: f.floatp("ring_size_mm"), Place: f.id("place"), From: f.text("from"), Looks: f.words("looks"), Found: f.tick("found"),
	}
	if body.Species == "" && f.err() == nil {
		f.wrong("species", "say which species")
	}
	if f.text("ring") != "" {
		body.Ring = ringOf(f)
	}
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		body.Sire, body.Dam = parentsNamed(r, f)
	})
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, s.birdNewForm)
	}
	v.say("Bird added")
	if f.tick("another") {
		return v.see("/birds/new?species=" + body.Species)
	}
	return v.see("/bird/" + body.Bird.String())
}
