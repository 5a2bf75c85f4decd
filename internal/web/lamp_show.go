package web

import (
	"fmt"
	"strings"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// lampsPage is what the lamps are to do, what they did, and the year of each circuit.
type lampsPage struct {
	layout
	Circuits []lampView
	Cautions []cautionView
}

// cautionView is a hazard of lamps.
type cautionView struct{ Title, Text, Source string }

func cautions() []cautionView {
	var out []cautionView
	for _, c := range advice.LampCautions() {
		out = append(out, cautionView{c.Title, c.Text, c.Source})
	}
	return out
}

// lampView is one circuit.
type lampView struct {
	ID, Name, Label, Query string
	Lights                 string
	Planned, Real, Drift   string // today, in words
	Next, Dates            string
	Problem                string
	HasPlan                bool
	RoomLog                bool
	Task                   *lampTaskView
	lampPicture
	lampSheet
	Missed  []string
	Wait    *lampWaitView
	Touches []touchView
	Past    int // touches before today that the table leaves out
}

// lampTaskView is what is to be set today, with one tap to write that it was.
type lampTaskView struct {
	Text, Note, Dim string
	On, Off         aviary.Clock
	Dusk            int
	Done, Warn      bool
}

// lampWaitView is a taper that ought to wait.
type lampWaitView struct {
	Text, Open, Button string
	Taper, Rest        aviary.Date
}

// touchView is a day on which a timer is touched.
type touchView struct {
	Day                      aviary.Date
	On, Dim, Off, Lamp, Note string
}

func (s *server) lampsShow(v *visit) error { return lampsPageOf(v, nil) }

func lampsPageOf(v *visit, f *form) error {
	p := &lampsPage{layout: layout{Tab: "season", Title: "Lamps", Class: "page wide", Form: f}, Cautions: cautions()}
	v.desk(func(d *advice.Desk) {
		tasks := d.LampTasks()
		p.Headline, p.Sub = lampHeadline(d, tasks)
		for i, c := range d.Circuits() {
			x := lampViewOf(d, c)
			x.ID = fmt.Sprintf("c%d", i)
			for _, t := range tasks {
				if t.Circuit == c {
					x.Task = taskView(t)
				}
			}
			p.Circuits = append(p.Circuits, x)
		}
	})
	return v.render("lamp_show", p)
}

// lampHeadline is what to set today, else how the lamps stand and when the next change comes.
func lampHeadline(d *advice.Desk, tasks []advice.LampTask) (headline, sub string) {
	var open []advice.LampTask
	for _, t := range tasks {
		if !t.Done {
			open = append(open, t)
		}
	}
	if len(open) > 0 {
		headline = open[0].Text()
		if len(open) > 1 {
			var parts []string
			for _, t := range open {
				parts = append(parts, fmt.Sprintf("%s %s–%s", t.Circuit.Label(), t.On, t.Off))
			}
			headline = fmt.Sprintf("Set %d timers today: %s", len(open), strings.Join(parts, ", "))
		}
		for _, t := range open {
			if t.Missed {
				return headline, "A step that was planned earlier has not been written as made."
			}
		}
		return headline, ""
	}
	var next aviary.Date
	planned, differ, unknown := 0, 0, 0
	var lamp time.Duration
	var drift advice.LampDrift
	for _, c := range d.Circuits() {
		row, ok := c.Planned(d.Today)
		if !ok {
			continue
		}
		planned++
		lamp = row.Lamp
		switch x := c.Drift(); {
		case !x.Known:
			unknown++
		case x.Off.Abs() > nearAsPlanned || x.On.Abs() > nearAsPlanned:
			differ++
			drift = x
		}
		if t, ok := c.NextTouch(); ok {
			if day := advice.CivilDay(t.Date); next == 0 || day < next {
				next = day
			}
		}
	}
	then := ""
	if next != 0 {
		then = ", next change " + weekday(next)
		if next > d.Today+300 {
			then = ", next change " + next.Long()
		}
	}
	hours := strings.ReplaceAll(advice.LampHours(lamp), " ", "\u00a0")
	if planned > 1 {
		hours = fmt.Sprintf("%d circuits", planned)
	}
	switch {
	case planned == 0 && len(d.Circuits()) == 0:
		return "No lamp hours are planned yet", "Write a plan, and each morning says what to set. Lamp hours are room practice, not a rule of the species."
	case planned == 0:
		for _, c := range d.Circuits() {
			if c.Problem != "" {
				return "The lamp plan cannot be followed as it is written", c.Problem
			}
		}
		return "No lamp hours are planned for today", "How the timers were set is written below. A plan says what to set, and when."
	case differ > 0:
		return "The lamps are not as planned" + then, driftWords(drift)
	case unknown == planned:
		return fmt.Sprintf("Planned for today: %s%s", hours, then), "How the timer stands is not written yet, so nobody can tell whether it is so."
	}
	return fmt.Sprintf("Lamps are as planned: %s%s", hours, then), ""
}

// nearAsPlanned is how far the lamps may stand from the plan and be called as planned: a dial is no finer.
const nearAsPlanned = 5 * time.Minute

// driftWords says how the real lamps differ from the plan.
func driftWords(x advice.LampDrift) string {
	if !x.Known {
		return ""
	}
	var parts []string
	add := func(what string, by time.Duration) {
		switch {
		case by > 0:
			parts = append(parts, fmt.Sprintf("%s %s later than planned", what, advice.Spell(by)))
		case by < 0:
			parts = append(parts, fmt.Sprintf("%s %s earlier than planned", what, advice.Spell(by)))
		}
	}
	add("on", x.On)
	add("off", x.Off)
	if parts == nil {
		return "As planned."
	}
	s := capital(strings.Join(parts, ", "))
	switch {
	case x.Lamp > 0:
		s += fmt.Sprintf(": the lamp day is %s longer.", advice.Spell(x.Lamp))
	case x.Lamp < 0:
		s += fmt.Sprintf(": the lamp day is %s shorter.", advice.Spell(x.Lamp))
	default:
		s += ": the lamp day is as long as planned."
	}
	return s
}

func taskView(t advice.LampTask) *lampTaskView {
	x := &lampTaskView{Text: t.Text(), Note: sentence(t.Note), On: t.On, Off: t.Off, Dusk: t.Dusk, Done: t.Done, Warn: t.Missed}
	if t.Dusk > 0 {
		x.Dim = fmt.Sprintf("Dims from %s.", t.DimFrom)
	}
	return x
}

// lampViewOf reads a circuit.
func lampViewOf(d *advice.Desk, c *advice.LampCircuit) lampView {
	x := lampView{
		Name: c.Name, Label: c.Label(), Query: circuitQuery(c.Name), Lights: lights(c), Problem: c.Problem, HasPlan: c.Plan != nil, RoomLog: c.RoomLog,
		lampPicture: drawLamps(d, c, nil, ""), lampSheet: sheetOf(c),
	}
	if row, ok := c.Planned(d.Today); ok {
		x.Planned = fmt.Sprintf("%s–%s, %s", row.On.Format("15:04"), row.Off.Format("15:04"), advice.LampHours(row.Lamp))
		if row.DimFrom.Before(row.Off) {
			x.Planned += ", dims from " + row.DimFrom.Format("15:04")
		}
	}
	drift := c.Drift()
	if drift.Since != 0 {
		x.Real = fmt.Sprintf("%s–%s, %s, since %s", drift.RealOn, drift.Out, advice.LampHours(drift.Real), drift.Since.Long())
	}
	x.Drift = driftWords(drift)
	for _, m := range drift.Missed {
		step := fmt.Sprintf("%s: the step from %s to %s ", m.Day.Short(), advice.LampHours(m.From), advice.LampHours(m.To))
		if m.Made == 0 {
			x.Missed = append(x.Missed, step+"is not made yet.")
		} else {
			x.Missed = append(x.Missed, fmt.Sprintf("%swas made %s late, on %s.", step, count(m.Late, "day", "days"), m.Made.Short()))
		}
	}
	for _, j := range drift.Jumps {
		x.Missed = append(x.Missed, fmt.Sprintf("%s: the lamp day changed by %s at once, more than the step of the plan.", j.Day.Short(), advice.Spell(j.By)))
	}
	if t, ok := c.NextTouch(); ok {
		x.Next = fmt.Sprintf("%s: %s–%s, %s; %s", weekday(advice.CivilDay(t.Date)), t.On, t.Off, advice.LampHours(t.Lamp), t.Note)
	}
	if c.Plan == nil {
		return x
	}
	b := c.Plan
	x.Dates = fmt.Sprintf("up from %s, full light %s by %s, down from %s, rest %s by %s",
		b.RampFrom.Long(), hoursOf(b.Full), b.FullBy.Long(), b.TaperFrom.Long(), hoursOf(b.Rest), b.RestBy.Long())
	if b.FromReal {
		x.Dates += fmt.Sprintf("; goes on from the lamps as they were on %s", b.Day.Long())
	}
	if w := c.Wait(); len(w.For)+len(w.Open) > 0 {
		x.Wait = &lampWaitView{}
		if w.Plan != nil {
			x.Wait.Text = fmt.Sprintf("On %s, when the lamps would start to come down, young may still be fed at %s.", b.TaperFrom.Short(), strings.Join(w.For, ", "))
			x.Wait.Button = fmt.Sprintf("Come down from %s instead", w.Plan.TaperFrom.Short())
			x.Wait.Taper, x.Wait.Rest = w.Plan.TaperFrom, w.Plan.RestBy
		}
		if len(w.Open) > 0 {
			x.Wait.Open = fmt.Sprintf("When the nest at %s will be over, nobody can tell from what is written; look there before the lamps come down.", strings.Join(w.Open, ", "))
		}
	}
	from, to := c.Season()
	x.Past = len(touches(c, from, d.Today-1))
	x.Touches = touches(c, max(from, d.Today), to)
	return x
}

// touches are the days of a run on which the timer is touched.
func touches(c *advice.LampCircuit, from, to aviary.Date) []touchView {
	if c.Programme == nil {
		return nil
	}
	var out []touchView
	for _, t := range c.Programme.TimerSheet() {
		day := advice.CivilDay(t.Date)
		if day < from || day > to {
			continue
		}
		x := touchView{Day: day, On: t.On.String(), Off: t.Off.String(), Lamp: advice.LampHours(t.Lamp), Note: t.Note}
		if t.DimFrom != t.Off {
			x.Dim = t.DimFrom.String()
		}
		out = append(out, x)
	}
	return out
}

// QueryWith is the circuit's address with one thing more.
func (x lampView) QueryWith(more string) string {
	if x.Query == "" {
		return "?" + more
	}
	return x.Query + "&" + more
}
