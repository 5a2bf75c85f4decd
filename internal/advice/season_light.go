package advice

import (
	"slices"

	"broodlight/internal/aviary"
)

// SeasonLight is the lamp hours of one circuit along the days of a season, and the daylight outside.
type SeasonLight struct {
	Circuit  *LampCircuit   // the one asked for, else the whole room's, else the first; nil where no lamps are planned or written
	Circuits []*LampCircuit // all of them, for a choice
	Days     []LampDay      // every day that is drawn; empty when there is neither a lamp nor a place for the sun
}

// seasonLight follows a circuit from one day to another, both included. A circuit that is not there gives way to the whole room.
func (d *Desk) seasonLight(circuit string, from, to aviary.Date) SeasonLight {
	out := SeasonLight{Circuits: d.Circuits()}
	for _, name := range []string{circuit, ""} {
		if i := slices.IndexFunc(out.Circuits, func(c *LampCircuit) bool { return sameName(c.Name, name) }); i >= 0 {
			out.Circuit = out.Circuits[i]
			break
		}
	}
	if out.Circuit == nil && len(out.Circuits) > 0 {
		out.Circuit = out.Circuits[0]
	}
	c := out.Circuit
	if c == nil {
		c = &LampCircuit{desk: d, sky: &lampSky{}} // the sun shines without lamps
	}
	days := d.LampDays(c, from, to)
	if slices.ContainsFunc(days, func(x LampDay) bool { return x.HasPlan || x.HasReal || x.HasDaylight }) {
		out.Days = days
	}
	return out
}

// Today is the day's row, false when it is not drawn.
func (l SeasonLight) Today(day aviary.Date) (LampDay, bool) {
	i, ok := slices.BinarySearchFunc(l.Days, day, func(x LampDay, day aviary.Date) int { return int(x.Date - day) })
	if !ok {
		return LampDay{}, false
	}
	return l.Days[i], true
}
