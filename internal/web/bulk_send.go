package web

import (
	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

func (s *server) bulkRoutes(r *routes) {
	r.keeperGet("/bulk", s.bulkShow)
	r.keeperPost("/bulk", s.bulkSend)
}

// bulkPage picks many cages for one step.
type bulkPage struct {
	layout
	Cages   []*advice.Cage
	Reasons []string
	Places  []placeChoice
	Once    aviary.ID
	Does    string // what the step would do; "" until it has been asked
}

func (s *server) bulkShow(v *visit) error { return s.bulkForm(v, blank(), "") }

func (s *server) bulkForm(v *visit, f *form, does string) error {
	p := &bulkPage{Reasons: aviary.PairEnds, Once: v.once, Does: does}
	p.Headline, p.Sub = "Many cages, one step", "Pick the cages, say what is done in all of them. One undo takes it all back."
	p.Tab, p.Class, p.Form, p.Up, p.UpTo = "wall", "page narrow", f, "/wall", "Wall"
	v.desk(func(d *advice.Desk) {
		p.Cages = d.Wall().Cages()
		p.Places = choices(d, func(x *aviary.Place) bool { return x.Type != aviary.Cage })
	})
	return v.render("bulk_show", p)
}

// bulkSend shows first what the step would do, then does it.
func (s *server) bulkSend(v *visit) error {
	f := v.form()
	step := advice.Step{Places: f.ids("place"), EndPairs: f.text("reason"), BoxesOut: f.tick("boxes_out"), CocksTo: f.id("cocks_to"), HensTo: f.id("hens_to")}
	if len(step.Places) == 0 {
		f.wrong("place", "pick at least one cage")
	}
	var bodies []aviary.Body
	var does string
	v.desk(func(d *advice.Desk) { bodies, does = d.Bulk(step) })
	if len(bodies) == 0 && f.err() == nil {
		f.wrong("", "that would change nothing: say what is to be done")
	}
	show := func(v *visit, f *form) error { return s.bulkForm(v, f, "") }
	if err := f.err(); err != nil {
		return v.retry(f, err, show)
	}
	if !f.tick("sure") {
		return s.bulkForm(v, f, does)
	}
	var entries []*aviary.Entry
	for _, b := range bodies {
		entries = append(entries, v.entry(b))
	}
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, show)
	}
	v.say("%s", does)
	return v.see("/wall")
}
