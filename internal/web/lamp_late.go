package web

import (
	"fmt"
	"net/url"
	"strconv"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// lampLatePage answers what becomes of the season when the ramp starts later.
type lampLatePage struct {
	layout
	Name, Label, Text string
	Weeks             int
	Shift             string // the address of the form with the whole season moved
	lampPicture
}

// lateWeeks is what is asked of at first.
const lateWeeks = 3

func (s *server) lampLateShow(v *visit) error {
	in := v.r.URL.Query()
	name := in.Get("circuit")
	f := blank("circuit", name, "weeks", strconv.Itoa(lateWeeks))
	if in.Has("weeks") {
		f.Values.Set("weeks", in.Get("weeks"))
	}
	p := &lampLatePage{layout: underLamps("", "This is only worked out; nothing is written.")}
	p.Form = f
	weeks := f.intp("weeks")
	if weeks == nil && f.Error("weeks") == "" || weeks != nil && (*weeks < 0 || *weeks > 100) {
		f.wrong("weeks", "give the weeks, from 0 to 100")
	}
	var err error
	none := false
	v.desk(func(d *advice.Desk) {
		if none = unplanned(d, name); none {
			return
		}
		c, ok := circuitOf(d, name)
		if !ok {
			err = noCircuit(name)
			return
		}
		if c.Plan == nil {
			err = noProgramme(c)
			return
		}
		p.Name, p.Label = c.Name, c.Label()
		if f.err() != nil {
			p.lampPicture = drawLamps(d, c, nil, "")
			return
		}
		var l advice.LampLate
		if l, err = c.Late(*weeks); err != nil {
			if f.refused(err) {
				f.Errors[len(f.Errors)-1].Field = "weeks"
				err = nil
			}
			p.lampPicture = drawLamps(d, c, nil, "")
			return
		}
		p.Weeks, p.Text = *weeks, l.Text
		p.lampPicture = drawLamps(d, c, l.Days, fmt.Sprintf("started %s late", count(*weeks, "week", "weeks")))
		p.Shift = "/lamps/plan" + lampPlanQuery(&l.Shifted)
	})
	if err != nil {
		return err
	}
	if none {
		return v.see("/lamps")
	}
	p.Headline = "What if the longer days start late?"
	switch {
	case f.err() != nil:
		v.status = statusOf(f.err())
	case p.Weeks > 0:
		p.Headline = fmt.Sprintf("Started %s late", count(p.Weeks, "week", "weeks"))
	}
	return v.render("lamp_late", p)
}

// lampPlanQuery names a plan's circuit and dates in an address, for the form to start with.
func lampPlanQuery(b *aviary.LampPlanned) string {
	return "?" + url.Values{"circuit": {b.Circuit}, "ramp_from": {b.RampFrom.String()}, "full_by": {b.FullBy.String()}, "taper_from": {b.TaperFrom.String()}, "rest_by": {b.RestBy.String()}}.Encode()
}
