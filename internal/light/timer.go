package light

import (
	"fmt"
	"strings"
	"time"
)

// TimerRow is one date on which a timer has to be touched.
type TimerRow struct {
	Date    Date
	Circuit string
	// On, DimFrom and Off are the wall times to set; DimFrom equals Off without a dusk.
	On, DimFrom, Off Clock
	Lamp             time.Duration
	Note             string // what changes, in words
}

// TimerSheet lists the dates on which a timer has to be set afresh, or its clock put right
// because the clocks change. On every other date it is left alone.
func (p *Programme) TimerSheet() []TimerRow {
	var sheet []TimerRow
	on, off := ClockOf(p.local(p.eve.on)), ClockOf(p.local(p.eve.off))
	for _, r := range p.Rows {
		newOn, newOff := ClockOf(r.On), ClockOf(r.Off)
		if r.Touch {
			var note []string
			if r.ClockShift != 0 {
				way := "forward"
				if r.ClockShift < 0 {
					way = "back"
				}
				note = append(note, fmt.Sprintf("put the timer's clock %s %s", way, Spell(r.ClockShift)))
			}
			note = appendMove(note, "on", on, newOn)
			note = appendMove(note, "off", off, newOff)
			sheet = append(sheet, TimerRow{
				Date: r.Date, Circuit: p.Circuit.Name,
				On: newOn, DimFrom: ClockOf(r.DimFrom), Off: newOff, Lamp: r.Lamp,
				Note: strings.Join(note, "; "),
			})
		}
		on, off = newOn, newOff
	}
	return sheet
}

func appendMove(note []string, what string, from, to Clock) []string {
	if from == to {
		return note
	}
	d := time.Duration(wrap(int(to-from))) * time.Minute
	way := "later"
	if d < 0 {
		way = "earlier"
	}
	return append(note, fmt.Sprintf("%s %s %s (was %s)", what, Spell(d), way, from))
}

// wrap brings a difference of wall times, in minutes, within half a day.
func wrap(m int) int {
	m = (m%1440 + 1440) % 1440
	if m > 720 {
		m -= 1440
	}
	return m
}
