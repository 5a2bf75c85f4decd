package web

import (
	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// lampReplanPage shows how a plan goes on from the lamps as they really are, before it is written.
type lampReplanPage struct {
	layout
	Name, Label string
	Query       string
	Real, Late  string
	Steps       []touchView
	lampPicture
	lampSheet
}

func (s *server) lampReplanShow(v *visit) error {
	name := v.r.URL.Query().Get("circuit")
	p := &lampReplanPage{layout: underLamps("", "Nothing is written until you say so. The lamps move by no more than the step of the plan.")}
	return v.lampPage("lamp_replan", name, p, func(d *advice.Desk, c *advice.LampCircuit) error {
		re, err := c.Replan()
		if err != nil {
			return err
		}
		p.Name, p.Label, p.Query, p.Late = c.Name, c.Label(), circuitQuery(c.Name), re.Text()
		if x := c.Drift(); x.Since != 0 {
			p.Real = x.RealOn.String() + "–" + x.Out.String()
		}
		next := d.CircuitWith(&re.Plan)
		p.lampPicture, p.lampSheet = drawLamps(d, next, nil, ""), sheetOf(next)
		p.Headline = "From the lamps as they are: " + lower(lampNextWords(d, next))
		_, to := next.Season()
		p.Steps = touches(next, d.Today, to)
		return nil
	})
}

// lampNextWords says the first thing to set by a programme.
func lampNextWords(d *advice.Desk, c *advice.LampCircuit) string {
	if row, ok := c.Planned(d.Today); ok && row.Touch {
		return "Set " + row.On.Format("15:04") + "–" + row.Off.Format("15:04") + " today"
	}
	if t, ok := c.NextTouch(); ok {
		return "Next step " + weekday(advice.CivilDay(t.Date)) + ", " + t.On.String() + "–" + t.Off.String()
	}
	return "Nothing is to be set"
}

// lampReplanSend writes the plan that goes on from the lamps as they really are.
func (s *server) lampReplanSend(v *visit) error {
	f := v.form()
	name := f.text("circuit")
	var body *aviary.LampPlanned
	err := v.circuit(name, func(_ *advice.Desk, c *advice.LampCircuit) error {
		re, err := c.Replan()
		if err == nil {
			body = &re.Plan
		}
		return err
	})
	if err != nil {
		return err
	}
	v.say("The lamp plan goes on from the lamps as they are")
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, lampsPageOf)
	}
	return v.see("/lamps")
}
