package web

import (
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

func (s *server) awayRoutes(r *routes) {
	r.get("/away", s.awayShow)
	r.keeperPost("/away", s.awaySend)
}

// awayPage is the helper's sheet, and for keepers the form that says when they are away.
type awayPage struct {
	layout
	Sheet  *advice.AwaySheet
	Lids   string
	Phones phones
	Odds   []string
	Once   aviary.ID
}

func (s *server) awayShow(v *visit) error { return s.awayForm(v, blank()) }

func (s *server) awayForm(v *visit, f *form) error {
	p := &awayPage{Once: v.once, Odds: aviary.OddThings}
	var err error
	if p.Phones, err = s.phones(v.ctx()); err != nil {
		return err
	}
	v.desk(func(d *advice.Desk) {
		p.Sheet = d.Away()
		p.Lids = d.LidHours().String()
	})
	switch a := p.Sheet; {
	case a == nil:
		p.Headline, p.Sub = "Nobody is away", "Say when, and the helper's sheet is made: feed, water and a look at each place, and what falls due."
	case a.Over:
		p.Headline = fmt.Sprintf("Back since %s: %d things were written meanwhile", (a.Span.To + 1).Short(), len(a.Happened))
	default:
		due := 0
		for _, day := range a.Days {
			due += len(day.Jobs)
		}
		p.Headline = fmt.Sprintf("Away %s: %d places to look into each day, %d jobs fall due", advice.Days(a.Span.From, a.Span.To), len(a.Places), due)
	}
	p.Title, p.Tab, p.Form, p.Up, p.UpTo = "Away", "more", f, "/more", "More"
	return v.render("away_show", p)
}

// awaySend writes when the keeper is away.
func (s *server) awaySend(v *visit) error {
	f := v.form()
	body := &aviary.AwaySet{From: f.date("from"), To: f.date("to"), Text: f.text("text")}
	if body.From == 0 {
		f.wrong("from", "give the first day away")
	}
	if body.To == 0 {
		f.wrong("to", "give the last day away")
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, s.awayForm)
	}
	return v.see("/away")
}
