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
	return v.lampPage("lamp_late", name, p, func(d *advice.Desk, c *advice.LampCircuit) error {
		if c.Plan == nil {
			return noProgramme(c)
		}
		p.Name, p.Label, p.Headline = c.Name, c.Label(), "What if the longer days start late?"
		if f.err() == nil {
			l, err := c.Late(*weeks)
			switch {
			case err == nil:
				p.Weeks, p.Text, p.Shift = *weeks, l.Text, "/lamps/plan"+lampPlanQuery(&l.Shifted)
				p.lampPicture = drawLamps(d, c, l.Days, fmt.Sprintf("started %s late", count(*weeks, "week", "weeks")))
				if *weeks > 0 {
					p.Headline = fmt.Sprintf("Started %s late", count(*weeks, "week", "weeks"))
				}
				return nil
			case !f.refused(err):
				return err
			}
			f.Errors[len(f.Errors)-1].Field = "weeks"
		}
		v.status = statusOf(f.err())
		p.lampPicture = drawLamps(d, c, nil, "")
		return nil
	})
}

// lampPlanQuery names a plan's circuit and dates in an address, for the form to start with.
func lampPlanQuery(b *aviary.LampPlanned) string {
	return "?" + url.Values{"circuit": {b.Circuit}, "ramp_from": {b.RampFrom.String()}, "full_by": {b.FullBy.String()}, "taper_from": {b.TaperFrom.String()}, "rest_by": {b.RestBy.String()}}.Encode()
}
