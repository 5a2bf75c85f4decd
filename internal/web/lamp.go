package web

import (
	"fmt"
	"html/template"
	"net/url"
	"slices"
	"strings"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

// lampRoutes are the pages of the lamps through the year. How a timer was really set stands under Settings, Lamps.
func (s *server) lampRoutes(r *routes) {
	r.get("/lamps", s.lampsShow)
	r.keeperPost("/lamps/set", s.lampPlannedSet)
	r.keeperPost("/lamps/wait", s.lampWait)
	r.keeperGet("/lamps/plan", s.lampPlanShow)
	r.keeperPost("/lamps/plan", s.lampPlanSend)
	r.keeperGet("/lamps/replan", s.lampReplanShow)
	r.keeperPost("/lamps/replan", s.lampReplanSend)
	r.get("/lamps/late", s.lampLateShow)
	r.get("/lamps/days", s.lampDaysShow)
	r.get("/lamps/days.csv", s.lampDaysFile)
	r.get("/lamps/timer.csv", s.lampTimerFile)
}

// underLamps is the layout of a page under Lamps.
func underLamps(headline, sub string) layout {
	return layout{Headline: headline, Sub: sub, Tab: "season", Title: "Lamps", Up: "/lamps", UpTo: "Lamps"}
}

// circuitOf finds the circuit that the address or the form names; "" is the whole room, or the only circuit there is.
func circuitOf(d *advice.Desk, name string) (*advice.LampCircuit, bool) {
	return circuitNamed(d.Circuits(), name)
}

// circuit hands the circuit of a name to do. Where there is none, that is the error.
func (v *visit) circuit(name string, do func(d *advice.Desk, c *advice.LampCircuit) error) (err error) {
	v.desk(func(d *advice.Desk) {
		c, ok := circuitOf(d, name)
		if !ok {
			err = noCircuit(name)
			return
		}
		err = do(d, c)
	})
	return err
}

// lampPage shows a page about the circuit of a name, which do fills in. While no plan at all is written, the browser goes to
// the page of the lamps instead, which says so.
func (v *visit) lampPage(template, name string, p page, do func(d *advice.Desk, c *advice.LampCircuit) error) error {
	none := false
	v.desk(func(d *advice.Desk) { none = unplanned(d, name) })
	if none {
		return v.see("/lamps")
	}
	if err := v.circuit(name, do); err != nil {
		return err
	}
	return v.render(template, p)
}

func circuitNamed(cs []*advice.LampCircuit, name string) (*advice.LampCircuit, bool) {
	for _, c := range cs {
		if c.Name == name {
			return c, true
		}
	}
	if name == "" && len(cs) == 1 {
		return cs[0], true
	}
	return nil, false
}

// unplanned reports whether the address names no circuit and nothing is planned: what there is to say stands under Lamps.
func unplanned(d *advice.Desk, name string) bool {
	return name == "" && !slices.ContainsFunc(d.PlainCircuits(), func(c *advice.LampCircuit) bool { return c.Plan != nil })
}

// noCircuit says that there is no circuit of a name.
func noCircuit(name string) error {
	if name == "" {
		return notThere("no lamps are planned or written yet; write a plan under Lamps")
	}
	return notThere(fmt.Sprintf("there are no lamps called %q; the circuits stand under Lamps", short(name)))
}

// circuitQuery names a circuit in an address.
func circuitQuery(name string) string {
	if name == "" {
		return ""
	}
	return "?" + url.Values{"circuit": {name}}.Encode()
}

// lampPicture is a picture of lamp hours with its key.
type lampPicture struct {
	Picture template.HTML
	Keys    []keyView
	Dark    bool // without daylight, because the room's place is not known
}

// lampYear is the run of days that a picture of a circuit shows: a year from the month in which its season starts, longer when
// the season is, or today lies behind it.
func lampYear(c *advice.LampCircuit, today aviary.Date) (from, to aviary.Date) {
	first, last := c.Season()
	if first == 0 {
		first, last = today, today
	}
	if c.Plan != nil {
		first = min(first, c.Plan.RampFrom)
	}
	y, m, _ := first.Time().Date()
	from = aviary.DateOf(y, m, 1)
	to = aviary.DateOf(y, m+12, 1) - 1
	y, m, _ = max(last, min(today, to+365)).Time().Date()
	return from, max(to, aviary.DateOf(y, m+1, 1)-1)
}

// runsOf joins days with the same hours.
func runsOf(days []advice.LampDay, of func(advice.LampDay) (time.Duration, bool)) []look.LightRun {
	var out []look.LightRun
	for _, x := range days {
		h, ok := of(x)
		if !ok {
			continue
		}
		day, hours := int(x.Date), h.Hours()
		if n := len(out); n > 0 && out[n-1].To+1 == day && out[n-1].Hours == hours {
			out[n-1].To = day
			continue
		}
		out = append(out, look.LightRun{From: day, To: day, Hours: hours})
	}
	return out
}

func plannedHours(x advice.LampDay) (time.Duration, bool)  { return x.Planned, x.HasPlan }
func reallyHours(x advice.LampDay) (time.Duration, bool)   { return x.Real, x.HasReal }
func daylightHours(x advice.LampDay) (time.Duration, bool) { return x.Daylight, x.HasDaylight }

// lightCurve turns days into what a picture draws. Daylight is taken every few days: it changes slowly.
func lightCurve(days []advice.LampDay) look.LightCurve {
	const apart = 4
	v := look.LightCurve{Plan: runsOf(days, plannedHours), Real: runsOf(days, reallyHours)}
	for i, x := range days {
		if h, ok := daylightHours(x); ok && (i%apart == 0 || i == len(days)-1) {
			v.Daylight = append(v.Daylight, look.Point{Day: int(x.Date), Value: h.Hours()})
		}
	}
	return v
}

// drawLamps draws a circuit's year; rather is another course of its hours, set beside it.
func drawLamps(d *advice.Desk, c *advice.LampCircuit, rather []advice.LampDay, ratherWord string) lampPicture {
	from, to := lampYear(c, d.Today)
	days := d.LampDays(c, from, to)
	v := look.LightView{LightCurve: lightCurve(days), From: int(from), To: int(to), Today: int(d.Today), TodayLabel: d.Today.Short() + " today"}
	v.Rather = runsOf(rather, plannedHours)
	for day := from; day <= to; {
		y, m, _ := day.Time().Date()
		v.Months = append(v.Months, look.Tick{Day: int(day), Label: m.String()[:3]})
		day = aviary.DateOf(y, m+1, 1)
	}
	v.Label = fmt.Sprintf("Lamp hours of %s, %s to %s.", c.Label(), from.Long(), to.Long())
	if c.Plan != nil {
		v.Label += fmt.Sprintf(" Planned: rest %s, full light %s.", hoursOf(c.Plan.Rest), hoursOf(c.Plan.Full))
	}
	p := lampPicture{Picture: look.LightPicture(v), Dark: len(v.Daylight) == 0}
	key := func(ok bool, name, word string) {
		if ok {
			p.Keys = append(p.Keys, keyView{look.LightKey(name), word})
		}
	}
	key(len(v.Real) > 0, "real", "as really set")
	key(len(v.Plan) > 0, "plan", "planned")
	key(len(v.Daylight) > 0, "daylight", "daylight outside")
	key(len(v.Rather) > 0, "rather", ratherWord)
	return p
}

// hoursOf writes decimal hours.
func hoursOf(h float64) string { return advice.LampHours(time.Duration(h * float64(time.Hour))) }

// weekday writes a day as people say it: "Fri 14 Aug".
func weekday(day aviary.Date) string { return day.Time().Format("Mon 2 Jan") }

// lampSheet is a circuit's warnings, as the pages of the plan and of the lamps both show them.
type lampSheet struct {
	Warnings []advice.LampWarning
	Shift    string
	ShiftOn  string // the time of lamps on after the shift
	Notes    []string
	NoPlace  bool
}

func sheetOf(c *advice.LampCircuit) lampSheet {
	x := lampSheet{Warnings: c.Warnings(), NoPlace: c.NoPlace}
	if c.Programme != nil {
		x.Notes = c.Programme.Notes()
	}
	if slices.ContainsFunc(x.Warnings, func(w advice.LampWarning) bool { return w.Windows }) {
		if s := c.Shift(); s.By != 0 {
			x.Shift, x.ShiftOn = s.Text(), s.On.String()
		}
	}
	return x
}

// lights says which places a circuit lights: "A1 to A9 (9 cages)" is left to the reader; the banks and a count are enough.
func lights(c *advice.LampCircuit) string {
	if len(c.Places) == 0 {
		return "It is not known which places it lights."
	}
	var banks, single []string
	for _, p := range c.Places {
		if p.Bank == "" {
			single = append(single, p.Name)
		} else if !slices.Contains(banks, p.Bank) {
			banks = append(banks, p.Bank)
		}
	}
	return fmt.Sprintf("Lights %s: %s.", strings.Join(append(banks, single...), ", "), count(len(c.Places), "place", "places"))
}
