package web

import (
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// moveNestView is the form that moves eggs or chicks to another nest.
type moveNestView struct {
	Part           string // names the form
	To             placesField
	Eggs, Chicks   field
	Ringed         []option
	Marks, Age     field
	HasEggs, Young bool
}

func newMoveNestView(d *advice.Desk, p *aviary.Place, n *advice.Nest, f *form, prefix string) *moveNestView {
	m := &moveNestView{Part: prefix, HasEggs: n.Eggs.Total() > 0, Young: n.Chicks > 0}
	nests := func(q *aviary.Place) bool {
		return q.ID != p.ID && (q.Type == aviary.Cage || q.Type == aviary.Aviary || q.Type == aviary.Flight) || q.ID == p.ID && len(p.BoxesHung()) > 1
	}
	m.To = newPlacesField(f, "to_place", "To the nest at", "Choose the cage", choices(d, nests))
	in := func(x field) field { return prefixed(prefix, x) }
	m.Eggs, m.Chicks = in(f.Number("eggs", "Eggs")), in(f.Number("chicks", "Chicks without a ring"))
	m.Marks = in(f.Text("marks", "Marks on them").If("if marked, parted by spaces"))
	m.Age = in(f.Number("chick_age_days", "Age of the chicks").Per("days"))
	for _, b := range d.RingedHere(n) {
		m.Ringed = append(m.Ringed, option{Value: b.ID.String(), Label: b.Label(), Chosen: f.Has("birds", b.ID.String())})
	}
	return m
}

// nestMoveSend moves eggs or chicks to another nest. Who laid and who rears are two facts from then on.
func (s *server) nestMoveSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	b := &aviary.NestMoved{
		Place: place, Box: f.id("box"), ToPlace: f.id("to_place"), ToBox: f.id("to_box"), Eggs: f.int("eggs"), Chicks: f.int("chicks"), Birds: f.ids("birds"),
		Marks: strings.Fields(f.text("marks")), AgeDays: f.intp("chick_age_days"),
	}
	if b.ToPlace == (aviary.ID{}) {
		f.wrong("to_place", "choose the cage whose nest takes them")
	}
	e := v.entry(b)
	v.desk(func(d *advice.Desk) {
		n := nestOf(d, place, f.id("clutch"))
		if n == nil || d.Room.Entry(v.once) != nil || v.later() {
			return
		}
		if b.Eggs > n.Eggs.Total() && !n.Eggs.AtLeast {
			f.wrong("eggs", "%s cannot go from a nest in which %d were counted; count the eggs first", count(b.Eggs, "egg", "eggs"), n.Eggs.Total())
		}
		if k := b.Chicks + len(b.Birds); k > n.Chicks {
			f.wrong("chicks", "%s cannot go from a nest in which %d were counted; count the chicks first", count(k, "chick", "chicks"), n.Chicks)
		}
		v.say("%s", capital(advice.Sentence(d.Room, e)))
	})
	if err := v.save(f, e); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.back("/cage/" + place.String())
}
