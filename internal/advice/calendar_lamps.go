package advice

import (
	"fmt"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/light"
)

// lampDates are the days on which a timer has to be set or its clock put right. A step is named by its number in the
// season's way up or down, so that it stays itself when the plan moves.
func (d *Desk) lampDates(from, to aviary.Date, add func(CalendarEvent)) {
	for _, c := range d.Circuits() {
		for _, s := range c.seasons {
			if s.tail < from || s.head > to {
				continue
			}
			p := c.programme(s)
			if p == nil {
				continue
			}
			made := map[string]int{}
			for _, t := range p.TimerSheet() {
				row, _ := p.At(t.Date)
				what := "clock" // put right, or followed in pieces
				switch {
				case row.Change > 0:
					what = "up"
				case row.Change < 0:
					what = "down"
				}
				made[what]++
				day := aviaryDate(t.Date)
				if day < s.head || day > s.tail {
					continue
				}
				add(CalendarEvent{
					Key: fmt.Sprintf("%s/%d/%s/%d", c.Name, s.plan.RampFrom.Year(), what, made[what]), From: day,
					Title: fmt.Sprintf("%s: set the timer to %s–%s", c.Label(), t.On, t.Off), Text: timerText(c, t),
				})
			}
		}
	}
}

// timerText says what changes and why, and which cages it lights.
func timerText(c *LampCircuit, t light.TimerRow) string {
	lines := []string{fmt.Sprintf("%s of light, by the plan.", Spell(t.Lamp))}
	if t.DimFrom != t.Off {
		lines[0] = fmt.Sprintf("%s of light by the plan, dimming from %s.", Spell(t.Lamp), t.DimFrom)
	}
	if t.Note != "" {
		lines = append(lines, capital(t.Note)+".")
	}
	if c.Name != "" && len(c.Places) > 0 {
		lines = append(lines, "Lights "+placeNames(c.Places)+".")
	}
	return strings.Join(append(lines, "Lamp hours are room practice. Never leave birds in sudden dark; wiring is for a licensed electrician."), "\n")
}

// placeNames lists up to six places by name.
func placeNames(places []*aviary.Place) string {
	const most = 6
	var names []string
	for _, p := range places {
		names = append(names, p.Name)
	}
	if len(names) > most {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
	}
	return strings.Join(names, ", ")
}
