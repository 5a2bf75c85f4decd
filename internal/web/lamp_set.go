package web

import (
	"fmt"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// lampPage tells how the timers are set, and takes in a change.
type lampPage struct {
	layout
	Now, Before []lampRow
	Circuits    []string
}

// lampRow is one setting of one circuit.
type lampRow struct {
	ID                 aviary.ID
	Circuit            string
	Times, Light, Dusk string
	Day                aviary.Date
	By                 string
}

// lampShow shows the lamps; ?circuit= names the timer that the form starts with.
func (s *server) lampShow(v *visit) error {
	return lampForm(v, blank("day", v.today.String(), "circuit", v.r.URL.Query().Get("circuit")))
}

func lampForm(v *visit, f *form) error {
	p := &lampPage{layout: underSettings("No lamp times are written yet", "What is written here says how the timers were really set. It switches nothing.")}
	p.Form = f
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		seen := map[string]bool{}
		history := r.History(aviary.TheRoom, aviary.ID{})
		for i := len(history) - 1; i >= 0; i-- {
			e := history[i]
			l, ok := e.Body.(*aviary.LampSet)
			if !ok {
				continue
			}
			row := lampRow{ID: e.ID, Circuit: l.Circuit, Times: fmt.Sprintf("%s–%s", l.On, l.Off), Light: hours(burns(l.On, l.Off)), Day: e.Day, By: e.By}
			if row.Circuit == "" {
				row.Circuit = "Whole room"
			}
			if l.Dusk != nil && *l.Dusk > 0 {
				row.Dusk = fmt.Sprintf("dims for the last %d min", *l.Dusk)
			}
			if seen[l.Circuit] {
				p.Before = append(p.Before, row)
				continue
			}
			seen[l.Circuit] = true
			p.Now = append(p.Now, row)
			if l.Circuit != "" {
				p.Circuits = append(p.Circuits, l.Circuit)
			}
		}
		if l := lampsOf(r, v.today, v.clock); l.Known {
			p.Headline = l.Text
			if len(p.Now) > 1 {
				p.Headline += " on the circuit that burns longest"
			}
		}
	})
	return v.render("lamp_set", p)
}

// lampSet writes how a timer was set.
func (s *server) lampSet(v *visit) error {
	f := v.form()
	body := &aviary.LampSet{Circuit: f.text("circuit"), On: f.clock("on"), Off: f.clock("off"), Dusk: f.intp("dusk_minutes")}
	if body.Dusk != nil && body.On != 0 && body.Off != 0 && *body.Dusk > burns(body.On, body.Off) {
		f.wrong("dusk_minutes", "the lamps burn for %s only; dimming takes part of that", hours(burns(body.On, body.Off)))
	}
	e := v.entry(body)
	if err := v.save(f, e); err != nil {
		return v.retry(f, err, lampForm)
	}
	return v.see("/settings/lamps")
}
