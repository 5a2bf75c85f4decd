package web

import (
	"fmt"

	"broodlight/internal/aviary"
)

// birdsThere is how many birds the books say are in a place, counted groups of young among them.
func birdsThere(r *aviary.Room, place aviary.ID) int {
	n := len(r.In(place))
	for _, g := range r.GroupsIn(place) {
		n += g.Count
	}
	return n
}

// cageCountSend writes how many birds were found in a place. When the books say otherwise it lands on the list to be sorted out.
func (s *server) cageCountSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	found := f.intp("found")
	if found == nil && f.err() == nil {
		f.wrong("found", "write how many birds you counted")
	}
	b := &aviary.PlaceCounted{Place: place, Text: f.text("text")}
	v.s.Book.View(func(r *aviary.Room) {
		n := birdsThere(r, place)
		if old, ok := entryBody[*aviary.PlaceCounted](r, v.once); ok && old.Book != nil {
			n = *old.Book // the form was sent twice
		}
		if shown := f.intp("book"); shown != nil && v.later() {
			n = *shown // what the book said when the birds were counted
		}
		b.Book = &n
		if found == nil {
			return
		}
		b.Found = *found
		said := fmt.Sprintf("%s: %d found, as the book says", plateOf(r, place), *found)
		if *found != n {
			said = fmt.Sprintf("%s: %d found, the book says %d. It is on the list to be sorted out", plateOf(r, place), *found, n)
		}
		v.say("%s", said)
	})
	if err := v.save(f, v.entry(b)); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.back("/cage/" + place.String())
}

// entryBody returns the body of an entry when it is of the kind asked for.
func entryBody[T aviary.Body](r *aviary.Room, id aviary.ID) (T, bool) {
	var none T
	e := r.Entry(id)
	if e == nil {
		return none, false
	}
	b, ok := e.Body.(T)
	return b, ok
}
