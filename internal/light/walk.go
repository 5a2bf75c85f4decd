package light

import (
	"math"
	"slices"
	"time"
)

// phase is a run of dates with one goal. The lamps change on anchor and every so many
// days after it until they reach target, in minutes.
type phase struct {
	from   Date
	target int
	anchor Date
}

// lampDay is the walk's state on one date.
type lampDay struct {
	date    Date
	lamp    int   // minutes
	on, off int64 // Unix seconds
	shift   int64 // by which the clocks went forward since the day before's lamps, seconds
}

// walk goes through dates one by one. It knows how far the birds' clock is ahead of UTC
// and keeps every change within the step.
type walk struct {
	plan   Plan
	zone   *time.Location
	std    int64 // offset of clock mode standard, seconds
	phases []phase

	lamp  int   // minutes
	ahead int64 // the birds' clock ahead of UTC, seconds
	moved Date  // when a piece of a pending shift was last moved; zero for never
}

// newWalk puts the walk on the eve of a date with settled clocks.
func newWalk(p Plan, zone *time.Location, lamp int, eve Date, phases ...phase) *walk {
	w := &walk{plan: p, zone: zone, phases: phases, lamp: lamp, std: standardOffset(p.RampFrom.Year, zone)}
	w.ahead = w.target(eve)
	return w
}

// wallOffset is how far the wall clock is ahead of UTC when the lamps come on.
func (w *walk) wallOffset(d Date) int64 {
	sec := int64(w.plan.nominalOn(w.lamp)) * 60
	return d.unix() + sec - wallUnix(d, sec, w.zone)
}

// target is where the birds' clock ought to stand on a date.
func (w *walk) target(d Date) int64 {
	if w.plan.Clock == Standard {
		return w.std
	}
	return w.wallOffset(d)
}

// at returns the state on a date as it stands.
func (w *walk) at(d Date) lampDay {
	on := d.unix() + int64(w.plan.nominalOn(w.lamp))*60 - w.ahead
	return lampDay{date: d, lamp: w.lamp, on: on, off: on + int64(w.lamp)*60}
}

// step returns the change of lamp minutes that falls on a date.
func (w *walk) step(d Date) int {
	i := len(w.phases) - 1
	for i >= 0 && d.Before(w.phases[i].from) {
		i--
	}
	if i < 0 {
		return 0
	}
	ph := w.phases[i]
	if k := d.Sub(ph.anchor); k < 0 || k%w.plan.Every != 0 {
		return 0
	}
	most := minutes(w.plan.Step)
	return min(max(ph.target-w.lamp, -most), most)
}

// run walks from one date to another, both included. It goes on past the last date
// while more(state) says so, to the end of what dates there are at most.
func (w *walk) run(from, to Date, more func(lampDay) bool) []lampDay {
	rows := make([]lampDay, 0, to.Sub(from)+1)
	limit := int64(w.plan.Step / time.Second)
	wall := w.wallOffset(from.AddDays(-1))
	spacing := 0
	for d := from; ; d = d.AddDays(1) {
		before := w.plan.nominalOn(w.lamp)
		dLamp := w.step(d)
		w.lamp += dLamp
		dOn := int64(w.plan.nominalOn(w.lamp)-before) * 60

		offset := w.wallOffset(d)
		shift := offset - wall
		wall = offset
		if shift != 0 {
			spacing = 0
			if w.plan.Clock == Wall {
				w.ahead += shift
			}
		}
		goal := offset
		if w.plan.Clock == Standard {
			goal = w.std
		}
		pending := goal - w.ahead
		if pending != 0 && spacing == 0 {
			spacing = w.spacing(pending)
		}
		if jumps := shift != 0 && w.plan.Clock == Wall; pending != 0 && !jumps &&
			(w.moved.IsZero() || d.Sub(w.moved) >= spacing) {
			if q := piece(pending, limit, dOn, dOn+int64(dLamp)*60); q != 0 {
				w.ahead += q
				w.moved = d
			}
		}
		r := w.at(d)
		r.shift = shift
		rows = append(rows, r)
		if !d.Before(to) && (len(rows) >= longest || !more(r)) {
			return rows
		}
	}
}

// spacing is the days between two pieces of a pending shift: the keeper's own
// interval, or less so that the whole is done within four weeks.
func (w *walk) spacing(pending int64) int {
	pieces := math.Ceil(math.Abs(float64(pending)) / w.plan.Step.Seconds())
	return max(1, min(w.plan.Every, int(28/pieces)))
}

// piece is the largest part of a pending shift that leaves both lamp times within limit of
// the day before's, when the step of the day moves them by dOn and dOff. All seconds;
// a positive shift makes the birds' day earlier.
func piece(pending, limit, dOn, dOff int64) int64 {
	lo, hi := max(dOn, dOff)-limit, min(dOn, dOff)+limit
	if pending > 0 {
		if q := min(pending, limit, hi); q >= lo {
			return max(q, 0)
		}
		return 0
	}
	if q := max(pending, -limit, lo); q <= hi {
		return min(q, 0)
	}
	return 0
}

// firstDate returns the first date from a date on whose lamps satisfy ok; zero when none do.
func firstDate(rows []lampDay, from Date, ok func(lampDay) bool) Date {
	i := slices.IndexFunc(rows, func(r lampDay) bool { return !r.date.Before(from) && ok(r) })
	if i < 0 {
		return Date{}
	}
	return rows[i].date
}

func never(lampDay) bool { return false }
