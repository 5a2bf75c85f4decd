package web

import (
	"fmt"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

func (s *server) moveRoutes(r *routes) {
	r.keeperGet("/move", s.moveShow)
	r.keeperPost("/move", s.moveSend)
}

// movePage is the form that moves a bird or a pair to another place.
type movePage struct {
	layout
	What     string // "pair" or "bird"
	ID       string
	Name     string // who is moved
	From     string
	Places   []placeChoice
	Warnings []advice.Warning
	Once     aviary.ID
}

// moveShow shows the form for the pair or bird that the address names.
func (s *server) moveShow(v *visit) error {
	q := v.r.URL.Query()
	if q.Get("id") == "" {
		return v.see("/wall") // birds are picked up there
	}
	return s.moveForm(v, blank("what", q.Get("what"), "id", q.Get("id"), "to", q.Get("to")), nil)
}

func (s *server) moveForm(v *visit, f *form, warnings []advice.Warning) error {
	p := &movePage{What: f.one("what", "pair", "bird"), ID: f.text("id"), Warnings: warnings, Once: v.once}
	id := f.id("id")
	found := false
	v.desk(func(d *advice.Desk) {
		var from aviary.ID
		switch p.What {
		case "pair":
			if pair := d.Room.Pair(id); pair != nil {
				from, p.Name, found = pair.Place, "the pair", true
			}
		case "bird":
			if b := d.Room.Bird(id); b != nil {
				from, p.Name, found = b.Place(), b.Label(), true
			}
		}
		if x := d.Room.Place(from); x != nil {
			p.From = x.Name
		}
		p.Places = choices(d, func(x *aviary.Place) bool { return x.ID != from })
	})
	if !found {
		return notThere("there is no such bird or pair to move")
	}
	p.Headline, p.Class = "Move "+p.Name, "page narrow"
	if p.From != "" {
		p.Headline += " from " + p.From
	}
	p.Tab, p.Form, p.Up, p.UpTo = "wall", f, "/wall", "Wall"
	return v.render("move_show", p)
}

// moveSend moves a bird or a pair. Warnings are shown first and ask for a reason.
func (s *server) moveSend(v *visit) error {
	f := v.form()
	if what, id, ok := strings.Cut(f.text("carry"), ":"); ok { // the wall's list names both at once
		f.Values.Set("what", what)
		f.Values.Set("id", id)
	}
	what, id, to := f.one("what", "pair", "bird"), f.id("id"), f.id("to")
	if to == (aviary.ID{}) {
		f.wrong("to", "choose where to")
	}
	var bodies []aviary.Body
	var warnings []advice.Warning
	var said string
	v.desk(func(d *advice.Desk) {
		name := ""
		switch what {
		case "pair":
			pair := d.Room.Pair(id)
			if pair == nil {
				return
			}
			if pair.To != 0 {
				f.wrong("id", "this pair was ended on %s already", pair.To.Long())
				return
			}
			bodies, name = d.MovePair(pair, to, v.id()), "the pair"
		case "bird":
			b := d.Room.Bird(id)
			if b == nil {
				return
			}
			bodies, name = []aviary.Body{&aviary.BirdMoved{Bird: id, Place: to}}, b.Label()
		}
		for _, b := range bodies {
			warnings = append(warnings, d.Warnings(&aviary.Entry{Day: v.today, Kind: b.Kind(), Body: b})...)
		}
		if p := d.Room.Place(to); p != nil {
			said = fmt.Sprintf("%s moved to %s", capital(name), p.Name)
		}
	})
	if len(bodies) == 0 && f.err() == nil {
		return notThere("there is no such bird or pair to move")
	}
	show := func(v *visit, f *form) error { return s.moveForm(v, f, warnings) }
	if len(warnings) > 0 && f.text("why") == "" && f.err() == nil {
		f.wrong("why", "say why it is right all the same, or choose another place")
		v.status = 422
		return show(v, f)
	}
	var entries []*aviary.Entry
	for _, b := range bodies {
		entries = append(entries, v.entry(b))
	}
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, show)
	}
	v.say("%s", said)
	return v.back("/wall")
}
