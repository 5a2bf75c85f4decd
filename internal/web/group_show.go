package web

import (
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

func (s *server) groupRoutes(r *routes) {
	r.keeperGet("/groups/new", s.groupNewShow)
	r.keeperPost("/groups/new", s.groupNewSend)
	r.get("/group/{id}", s.groupShow)
	r.post("/group/{id}/count", s.groupCountSend)
	r.keeperPost("/group/{id}/move", s.groupMoveSend)
	r.keeperPost("/group/{id}/ring", s.groupRingSend)
	r.keeperGet("/died/one", s.oneDiedShow)
	r.keeperPost("/died/one", s.oneDiedSend)
}

// groupPage is a counted group of young without rings.
type groupPage struct {
	layout
	Group   *aviary.Group
	Place   *aviary.Place
	Places  []placeChoice
	Written []advice.Written
	Next    string // the next ring on hand
}

func (s *server) groupShow(v *visit) error { return s.groupForm(v, blank()) }

func (s *server) groupForm(v *visit, f *form) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	p := &groupPage{}
	name := "young"
	v.desk(func(d *advice.Desk) {
		g := d.Room.Group(id)
		if g == nil {
			return
		}
		c := *g
		p.Group = &c
		if x := d.Room.Place(g.Place); x != nil {
			place := *x
			p.Place = &place
		}
		if x := d.Cat.BySlug(g.Species); x != nil {
			name = x.English
		}
		p.Places = choices(d, func(x *aviary.Place) bool { return x.ID != g.Place })
		p.Written = d.Written(aviary.AGroup, id)
		if next := d.NextRings(g.Species, 1); len(next) > 0 {
			p.Next = next[0].Ring.String()
		}
	})
	if p.Group == nil {
		return notThere("there is no such group of young in the books")
	}
	if _, sent := f.Values["ring"]; !sent {
		f.Values.Set("ring", p.Next)
	}
	p.Headline = fmt.Sprintf("%d %s without rings", p.Group.Count, name)
	if p.Place != nil {
		p.Headline += " in " + p.Place.Name
		p.Up, p.UpTo = "/cage/"+p.Place.ID.String(), p.Place.Name
	}
	p.Tab, p.Form = "wall", f
	return v.render("group_show", p)
}

// groupCountSend counts a group again.
func (s *server) groupCountSend(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	n := f.intp("count")
	if n == nil {
		f.wrong("count", "say how many there are")
		n = new(int)
	}
	if err := v.save(f, v.entry(&aviary.GroupCounted{Group: id, Count: *n, Why: f.text("why_changed")})); err != nil {
		return v.retry(f, err, s.groupForm)
	}
	return v.see("/group/" + id.String())
}

// groupMoveSend moves a group.
func (s *server) groupMoveSend(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	if f.id("to") == (aviary.ID{}) {
		f.wrong("to", "choose where to")
	}
	if err := v.save(f, v.entry(&aviary.GroupMoved{Group: id, Place: f.id("to")})); err != nil {
		return v.retry(f, err, s.groupForm)
	}
	return v.see("/group/" + id.String())
}

// groupRingSend rings one bird of a group, which becomes a bird in the books.
func (s *server) groupRingSend(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	body := &aviary.ChickRinged{Bird: v.id(), Group: id, Ring: ringOf(f), RingSize: f.floatp("ring_size_mm"), Sex: aviary.Sex(f.text("sex"))}
	v.desk(func(d *advice.Desk) {
		if g := d.Room.Group(id); g != nil {
			body.Place, body.Species, body.Hatched = g.Place, g.Species, g.Hatched
			if g.Count == 0 {
				f.wrong("ring", "by the books nobody is left in this group; count it again first")
			}
			for _, r := range d.NextRings(g.Species, 1) {
				if r.Ring == body.Ring && body.RingSize == nil && r.Size > 0 {
					body.RingSize = &r.Size
				}
			}
		}
	})
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, s.groupForm)
	}
	return v.see("/group/" + id.String())
}

// groupNewPage is the form that writes unringed young into the books as a counted group.
type groupNewPage struct {
	layout
	Species []option
	Places  []placeChoice
}

func (s *server) groupNewShow(v *visit) error {
	return s.groupNewForm(v, blank("place", v.r.URL.Query().Get("place")))
}

func (s *server) groupNewForm(v *visit, f *form) error {
	p := &groupNewPage{Species: []option{{Label: "Choose the species"}}}
	v.desk(func(d *advice.Desk) {
		for _, x := range d.Cat.All() {
			p.Species = append(p.Species, option{Value: x.Slug, Label: x.English})
		}
		p.Places = choices(d, func(*aviary.Place) bool { return true })
	})
	p.Headline, p.Sub = "Young without rings", "They are kept as a counted group until each has its ring."
	p.Tab, p.Form, p.Up, p.UpTo = "wall", f, "/wall", "Wall"
	return v.render("group_new", p)
}

func (s *server) groupNewSend(v *visit) error {
	f := v.form()
	body := &aviary.GroupFound{Group: v.id(), Species: f.species("species"), Count: f.int("count"), Place: f.id("place"), Hatched: f.date("hatched")}
	if body.Place == (aviary.ID{}) {
		f.wrong("place", "choose where they are")
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, s.groupNewForm)
	}
	return v.see("/group/" + body.Group.String())
}

// oneDiedPage is the form for a death of which it is not known yet who it was.
type oneDiedPage struct {
	layout
	Place *aviary.Place
	Birds []option
}

func (s *server) oneDiedShow(v *visit) error {
	return s.oneDiedForm(v, blank("place", v.r.URL.Query().Get("place")))
}

func (s *server) oneDiedForm(v *visit, f *form) error {
	p := &oneDiedPage{}
	id := f.id("place")
	v.desk(func(d *advice.Desk) {
		x := d.Room.Place(id)
		if x == nil {
			return
		}
		c := *x
		p.Place = &c
		for _, b := range d.Room.In(id) {
			label := b.Label()
			if b.Sex != "" {
				label += ", " + string(b.Sex)
			}
			p.Birds = append(p.Birds, option{Value: b.ID.String(), Label: label})
		}
	})
	if p.Place == nil {
		return notThere("there is no such place in the books")
	}
	p.Headline = "One of the birds in " + p.Place.Name + " died"
	p.Sub = "Tick those that it may have been. It stays under “to sort out” until it is known who."
	p.Tab, p.Form, p.Up, p.UpTo = "wall", f, "/cage/"+p.Place.ID.String(), p.Place.Name
	return v.render("one_died", p)
}

func (s *server) oneDiedSend(v *visit) error {
	f := v.form()
	if err := v.save(f, v.entry(&aviary.OneDied{Birds: f.ids("birds"), Cause: f.text("cause")})); err != nil {
		return v.retry(f, err, s.oneDiedForm)
	}
	return v.see("/cage/" + f.id("place").String())
}
