package web

import (
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// placeEditPage is the form that changes a place.
type placeEditPage struct {
	layout
	Place *aviary.Place
	Birds int
}

func (s *server) placeEditShow(v *visit) error { return s.placeEditForm(v, blank()) }

func (s *server) placeEditForm(v *visit, f *form) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	p := &placeEditPage{}
	v.desk(func(d *advice.Desk) {
		x := d.Room.Place(id)
		if x == nil || !x.InUse() {
			return
		}
		c := *x
		p.Place, p.Birds = &c, len(d.Room.In(id))
		if _, sent := f.Values["name"]; !sent {
			start := blank("name", x.Name, "bank", x.Bank, "row", number(x.Row), "col", number(x.Col), "blocked_until", x.BlockedUntil.String())
			if x.Capacity != nil {
				start.Values.Set("capacity", fmt.Sprint(*x.Capacity))
			}
			if x.Outdoor {
				start.Values.Set("outdoor", "yes")
			}
			f.Values = start.Values
		}
	})
	if p.Place == nil {
		return notThere("there is no such place in use")
	}
	p.Class = "page narrow"
	p.Headline, p.Tab, p.Form, p.Up, p.UpTo = "Change "+p.Place.Name, "more", f, "/setup?step=cages", "Set up"
	return v.render("place_edit", p)
}

// number writes a count that is 0 when it was never given.
func number(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

// placeEditSend changes a place.
func (s *server) placeEditSend(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	row, col, outdoor, until := f.int("row"), f.int("col"), f.tick("outdoor"), f.date("blocked_until")
	name, bank := f.text("name"), f.text("bank")
	body := &aviary.PlaceChanged{Place: id, Name: &name, Bank: &bank, Row: &row, Col: &col, Outdoor: &outdoor, Capacity: f.intp("capacity"), BlockedUntil: &until}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, s.placeEditForm)
	}
	return v.see("/setup?step=cages")
}

// placeRetireSend takes a place out of use.
func (s *server) placeRetireSend(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	if err := v.save(f, v.entry(&aviary.PlaceRetired{Place: id, Reason: f.text("reason")})); err != nil {
		return v.retry(f, err, s.placeEditForm)
	}
	return v.see("/setup?step=cages")
}
