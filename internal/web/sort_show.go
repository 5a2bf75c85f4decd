package web

import (
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

func (s *server) sortRoutes(r *routes) {
	r.get("/sort", s.sortShow)
	r.keeperPost("/sort/settle", s.settleSend)
}

// sortPage lists what is to be sorted out.
type sortPage struct {
	layout
	Matters []advice.Matter
	Unread  []advice.Matter // rings that are not read yet, kept apart: they wait for the bird to be in the hand
	Once    aviary.ID
}

func (s *server) sortShow(v *visit) error {
	p := &sortPage{Once: v.once}
	v.desk(func(d *advice.Desk) {
		for _, m := range d.ToSort() {
			if m.Kind == advice.RingMatter {
				p.Unread = append(p.Unread, m)
			} else {
				p.Matters = append(p.Matters, m)
			}
		}
	})
	switch n := len(p.Matters); n {
	case 0:
		p.Headline = "Nothing to sort out"
	case 1:
		p.Headline = "One thing to sort out"
	default:
		p.Headline = fmt.Sprintf("%d things to sort out", n)
	}
	p.Title, p.Tab, p.Class = "To sort out", "more", "page narrow"
	return v.render("sort_show", p)
}

// settleSend takes a matter off the list, and says how it was settled.
func (s *server) settleSend(v *visit) error {
	f := v.form()
	if err := v.save(f, v.entry(&aviary.Settled{Entry: f.id("entry"), How: f.text("how")})); err != nil {
		return err
	}
	v.say("Settled")
	return v.back("/sort")
}
