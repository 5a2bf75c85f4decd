package web

import (
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// strikePage lists what hangs on an entry that is to be struck out.
type strikePage struct {
	layout
	ID    aviary.ID
	What  line
	Hangs []line
	Back  string
	Verb  string
}

// line is one entry in a list.
type line struct {
	ID   aviary.ID
	Day  aviary.Date
	By   string
	Text string
}

func lineOf(r *aviary.Room, e *aviary.Entry) line {
	text := advice.Sentence(r, e)
	if p := r.Place(placeOf(e.Body)); p != nil {
		text = p.Name + ": " + text
	}
	return line{ID: e.ID, Day: e.Day, By: e.By, Text: text}
}

// strikeSend strikes out an entry or a batch: the form's field id. When other entries hang on it and the field all is not
// ticked, it lists them first and offers to strike all together.
func (s *server) strikeSend(v *visit) error {
	f := v.form()
	id := f.id("id")
	if err := f.err(); err != nil {
		return err
	}
	if v.later() {
		return v.strikeLater(f, id)
	}
	p, err := v.strikable(id)
	if err != nil {
		return err
	}
	if len(p.Hangs) > 0 && !f.tick("all") {
		return v.render("strike_send", p)
	}
	var entries []*aviary.Entry
	strike := func(id aviary.ID) {
		e := v.entry(&aviary.Strike{Reason: f.text("reason")})
		e.Strikes = id
		entries = append(entries, e)
	}
	for i := len(p.Hangs) - 1; i >= 0; i-- { // the latest first, so that at no moment one hangs in the air
		strike(p.Hangs[i].ID)
	}
	strike(id)
	if len(entries) > 1 {
		v.say("Struck out: %s, and %s that hung on it", p.What.Text, count(len(p.Hangs), "mark", "marks"))
	}
	if err := v.write(entries...); err != nil {
		return err
	}
	return v.back("/")
}

// strikeLater takes in a strike that waited on a phone. What hangs on what is struck out is set aside. One that only makes sure that
// a mark does not stand, since the phone does not know whether it came in, strikes nothing when it did not.
func (v *visit) strikeLater(f *form, id aviary.ID) error {
	there := true
	v.s.Book.View(func(r *aviary.Room) {
		e := r.Entry(id)
		there = e != nil || len(r.Batch(id)) > 0
		if e != nil && e.Batch != (aviary.ID{}) && f.tick("if_there") {
			id = e.Batch
		}
	})
	if !there && f.tick("if_there") {
		return nil
	}
	e := v.entry(&aviary.Strike{Reason: f.text("reason")})
	e.Strikes = id
	if err := v.write(e); err != nil {
		return err
	}
	return v.back("/")
}

// strikeShow asks before an entry is struck out, for a page that links to it.
func (s *server) strikeShow(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	p, err := v.strikable(id)
	if err != nil {
		return err
	}
	return v.render("strike_send", p)
}

// strikable finds an entry or batch and what hangs on it.
func (v *visit) strikable(id aviary.ID) (*strikePage, error) {
	p := &strikePage{layout: layout{Class: "page narrow"}, ID: id, Back: "/", Verb: "Strike out"}
	if to := v.r.FormValue("back"); local(to) {
		p.Back = to
	}
	var err error
	v.s.Book.View(func(r *aviary.Room) {
		e, n := entryOrFirst(r, id), len(r.Batch(id))
		if e == nil {
			err = notThere("that mark is not in the books, so there is nothing to strike out")
			return
		}
		if r.Struck(e.ID) && !v.again1(r, id) {
			err = &aviary.Error{Code: aviary.Conflict, Message: "that mark has been struck out already"}
			return
		}
		about, out := struckBy(r, e)
		p.What = lineOf(r, about)
		if out {
			p.Verb = "Put back"
		}
		if n > 1 {
			p.What.Text += fmt.Sprintf(", and %s of the same step", count(n-1, "mark", "marks"))
		}
		if r.Struck(e.ID) {
			return // the same form once more
		}
		for _, x := range r.Dependents(id) {
			p.Hangs = append(p.Hangs, lineOf(r, x))
		}
	})
	p.Headline = p.Verb + " one mark?"
	switch n := len(p.Hangs); {
	case n == 1:
		p.Headline = "One other mark hangs on this one"
	case n > 1:
		p.Headline = fmt.Sprintf("%d other marks hang on this one", n)
	}
	return p, err
}

// again1 reports whether the form that was sent is the one that struck id out.
func (v *visit) again1(r *aviary.Room, id aviary.ID) bool {
	e := r.Entry(v.once)
	if e == nil {
		return false
	}
	for _, x := range append(r.Batch(e.ID), e) {
		if x.Strikes == id {
			return true
		}
	}
	return false
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return itoa(n) + " " + many
}
