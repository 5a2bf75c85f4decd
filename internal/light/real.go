package light

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

// Setting is how a circuit's timer was really set, from a date on, in wall time. An Off that
// is earlier than On falls after midnight; equal times are lamps that stay off.
type Setting struct {
	Date    Date
	On, Off Clock
}

// lamp is the length of the lamp day on the timer's dial, in minutes.
func (s Setting) lamp() int { return int(s.Off-s.On+1440) % 1440 }

// span returns when the lamps burn on a date, as Unix seconds: both times are read off the
// wall clock, as a timer does.
func (s Setting) span(d Date, zone *time.Location) (on, off int64) {
	end := s.Off
	if end < s.On {
		end += 1440
	}
	return wallUnix(d, int64(s.On)*60, zone), wallUnix(d, int64(end)*60, zone)
}

// history is the log in date order; of one date the last counts.
type history []Setting

func newHistory(log []Setting) (history, error) {
	for _, s := range log {
		if err := checkDate("date", "The date of the lamp setting", s.Date); err != nil {
			return nil, err
		}
		if s.On < 0 || s.On >= 1440 || s.Off < 0 || s.Off >= 1440 {
			return nil, &Error{"on", fmt.Sprintf("The lamp times of %s must lie between 00:00 and 23:59.", s.Date)}
		}
	}
	h := slices.Clone(log)
	slices.SortStableFunc(h, func(a, b Setting) int { return a.Date.Sub(b.Date) })
	return h, nil
}

// on returns the setting in force on a date, and false before the first.
func (h history) on(d Date) (Setting, bool) {
	for i := len(h) - 1; i >= 0; i-- {
		if !h[i].Date.After(d) {
			return h[i], true
		}
	}
	return Setting{}, false
}

// changed returns the last date up to d on which the times became others than before;
// zero when there is none.
func (h history) changed(d Date) Date {
	for i := len(h) - 1; i > 0; i-- {
		day := h[i].Date
		if day.After(d) || i+1 < len(h) && h[i+1].Date == day {
			continue
		}
		was, ok := h.on(day.AddDays(-1))
		if ok && (was.On != h[i].On || was.Off != h[i].Off) {
			return day
		}
	}
	return Date{}
}

// Drift is how far the real lamps stand from the plan.
type Drift struct {
	// Rows hold the dates from the first logged setting, or the programme's first date if
	// that is later, up to today or the programme's last date. Nothing is known when empty.
	Rows   []DriftRow
	Missed []Missed
}

// DriftRow compares one date. Differences are real less planned.
type DriftRow struct {
	Date           Date
	Planned, Real  time.Duration
	On, Off        time.Time // as they really were
	Lamp           time.Duration
	OnLate         time.Duration // positive when the lamps came on later than planned
	OffLate        time.Duration
	Jump           time.Duration // change of the real lamp day since the day before
	JumpedOverStep bool          // Jump is more than the plan's step either way
}

// Missed is a planned change that the real lamps made late or not at all.
type Missed struct {
	Date     Date // planned
	From, To time.Duration
	Made     Date // when the real lamps got there; zero when they have not, up to today
	DaysLate int  // up to Made, or up to today
}

// Drift compares the programme with the settings logged, up to today. A setting holds until
// the next one.
func (p *Programme) Drift(log []Setting, today Date) (Drift, error) {
	h, err := newHistory(log)
	if err != nil {
		return Drift{}, err
	}
	if err := checkDate("today", "The date of today", today); err != nil {
		return Drift{}, err
	}
	var d Drift
	var last time.Duration
	known := false
	if s, ok := h.on(p.Rows[0].Date.AddDays(-1)); ok {
		on, off := s.span(p.Rows[0].Date.AddDays(-1), p.zone)
		last, known = time.Duration(off-on)*time.Second, true
	}
	for _, r := range p.Rows {
		if r.Date.After(today) {
			break
		}
		s, ok := h.on(r.Date)
		if !ok {
			continue
		}
		on, off := s.span(r.Date, p.zone)
		x := DriftRow{
			Date: r.Date, Planned: r.Lamp, Real: time.Duration(off-on) * time.Second,
			On: p.local(on), Off: p.local(off),
		}
		x.Lamp, x.OnLate, x.OffLate = x.Real-r.Lamp, x.On.Sub(r.On), x.Off.Sub(r.Off)
		if known {
			x.Jump = x.Real - last
			x.JumpedOverStep = x.Jump.Abs() > p.Circuit.Step
		}
		last, known = x.Real, true
		d.Rows = append(d.Rows, x)
	}
	d.Missed = p.missed(d.Rows)
	return d, nil
}

// missed looks for planned changes that the real lamps had not reached on their date.
func (p *Programme) missed(real []DriftRow) []Missed {
	var all []Missed
	for i, x := range real {
		plan, _ := p.At(x.Date)
		if plan.Change == 0 {
			continue
		}
		m := Missed{Date: x.Date, From: plan.Lamp - plan.Change, To: plan.Lamp}
		there := func(y DriftRow) bool {
			if plan.Change > 0 {
				return y.Real >= m.To
			}
			return y.Real <= m.To
		}
		if there(x) {
			continue
		}
		m.DaysLate = real[len(real)-1].Date.Sub(x.Date)
		for _, y := range real[i:] {
			// A ramp's steps no longer matter once the taper starts.
			if plan.Change > 0 && !y.Date.Before(p.Circuit.TaperFrom) {
				break
			}
			if there(y) {
				m.Made, m.DaysLate = y.Date, y.Date.Sub(x.Date)
				break
			}
		}
		all = append(all, m)
	}
	return all
}

// Replan is a programme that starts from the lamps as they really stand.
type Replan struct {
	Programme *Programme
	// FullLate and RestLate are the days by which full light and rest come after the plan's
	// dates; 0 when they are kept. They say nothing when the programme has no such date.
	FullLate, RestLate int
}

// Replan works out the programme from today on, starting with the lamps as last logged and
// changing them, and the times of on and off, by no more than the plan's step and no sooner
// than its interval after the last change. It runs to rest-by or the room's To, or until rest is
// reached, for three years at most. The plan's own dates must be in order, but need not fit.
func (c Circuit) Replan(r Room, log []Setting, today Date) (Replan, error) {
	c.Plan = c.Plan.withDefaults()
	if err := r.check(); err != nil {
		return Replan{}, err
	}
	if err := c.Check(); err != nil && !errors.As(err, new(*FitError)) {
		return Replan{}, err
	}
	if err := checkDate("today", "The date of today", today); err != nil {
		return Replan{}, err
	}
	h, err := newHistory(log)
	if err != nil {
		return Replan{}, err
	}
	real, ok := h.on(today)
	if !ok {
		return Replan{}, &Error{"lamps", fmt.Sprintf("No lamp setting is logged up to %s. Write down how the lamps are set, then plan from there.", today)}
	}
	anchor, changed := today, h.changed(today)
	if !changed.IsZero() && changed.AddDays(c.Every).After(today) {
		anchor = changed.AddDays(c.Every)
	}
	full, rest := minutes(c.Full), minutes(c.Rest)
	var phases []phase
	switch {
	case today.Before(c.RampFrom):
		phases = []phase{{today, rest, anchor}, {c.RampFrom, full, later(c.RampFrom, anchor)}, {c.TaperFrom, rest, c.TaperFrom}}
	case today.Before(c.TaperFrom):
		phases = []phase{{today, full, anchor}, {c.TaperFrom, rest, later(c.TaperFrom, anchor)}}
	default:
		phases = []phase{{today, rest, anchor}}
	}
	eve := today.AddDays(-1)
	w := newWalk(c.Plan, r.Zone, real.lamp(), eve, phases...)
	// The birds' clock is taken to stand so that the real time of lamps on is the plan's own:
	// the one within half a day of it, which may fall on a date beside.
	nominal := c.nominalOn(w.lamp)
	nearest := nominal - wrap(nominal-int(real.On))
	w.ahead = eve.unix() + int64(nominal)*60 - wallUnix(eve, int64(nearest)*60, r.Zone)
	w.moved = changed
	start := w.at(eve)
	rows := w.run(today, later(later(c.RestBy, today), r.To), func(d lampDay) bool { return d.lamp != rest })
	p := &Programme{Circuit: c, Windows: r.Windows, zone: r.Zone, eve: start}
	if err := furnish([]*Programme{p}, [][]lampDay{rows}, r); err != nil {
		return Replan{}, err
	}
	out := Replan{Programme: p}
	// Lamps that stand there already are not late.
	if !p.FullOn.IsZero() && start.lamp != full {
		out.FullLate = max(0, p.FullOn.Sub(c.FullBy))
	}
	if !p.RestOn.IsZero() && (start.lamp != rest || today.Before(c.TaperFrom)) {
		out.RestLate = max(0, p.RestOn.Sub(c.RestBy))
	}
	return out, nil
}

func later(a, b Date) Date {
	if a.After(b) {
		return a
	}
	return b
}

// LateStart is what becomes of a season whose ramp starts later than planned.
type LateStart struct {
	Days      int
	Programme *Programme // ramp later, step and interval kept, all other dates as planned
	FullOn    Date       // zero when the taper starts before full light
	FullLate  int        // days after full-by; 0 when that is kept
	// FullDays and FullDaysPlanned are the dates of full light with and without the delay.
	FullDays, FullDaysPlanned int
	// Misfit says what would have to give to keep full-by; nil when it is kept.
	Misfit *Misfit
	// Shifted is the plan with all four dates later by as much, which keeps the season's
	// length.
	Shifted Plan
}

// Late answers "what if I start so many days late". The plan itself must fit. A delay that
// reaches the taper is an [*Error].
func (c Circuit) Late(r Room, late int) (LateStart, error) {
	r.From, r.To = Date{}, Date{}
	planned, err := Build(c, r)
	if err != nil {
		return LateStart{}, err
	}
	c = planned.Circuit
	if late < 0 || late > 3*366 || !c.RampFrom.AddDays(late).Before(c.TaperFrom) {
		return LateStart{}, &Error{"late", fmt.Sprintf("A start %s late must still lie before the taper on %s.", days(late), c.TaperFrom)}
	}
	l := LateStart{Days: late, FullDaysPlanned: planned.fullDays(), Shifted: c.Plan}
	for _, d := range []*Date{&l.Shifted.RampFrom, &l.Shifted.FullBy, &l.Shifted.TaperFrom, &l.Shifted.RestBy} {
		*d = d.AddDays(late)
	}
	c.RampFrom = c.RampFrom.AddDays(late)
	if m, bad := c.misfit(Ramp, c.RampFrom, c.FullBy); bad {
		m.Clash = !m.ByNeeded.Before(c.TaperFrom)
		l.Misfit = &m
	}
	full, rest := minutes(c.Full), minutes(c.Rest)
	eve := c.RampFrom.AddDays(-1)
	w := newWalk(c.Plan, r.Zone, rest, eve, phase{c.RampFrom, full, c.RampFrom}, phase{c.TaperFrom, rest, c.TaperFrom})
	p := &Programme{Circuit: c, Windows: r.Windows, zone: r.Zone, eve: w.at(eve)}
	if err := furnish([]*Programme{p}, [][]lampDay{w.run(c.RampFrom, c.RestBy, never)}, r); err != nil {
		return LateStart{}, err
	}
	l.Programme, l.FullDays = p, p.fullDays()
	if !p.FullOn.IsZero() {
		l.FullOn = p.FullOn
		l.FullLate = max(0, p.FullOn.Sub(c.FullBy))
	}
	return l, nil
}

func (p *Programme) fullDays() int {
	n := 0
	for _, r := range p.Rows {
		if r.Phase == FullTime {
			n++
		}
	}
	return n
}

// Text says in a few sentences what the delay does.
func (l LateStart) Text() string {
	s := fmt.Sprintf("Starting %s late, ", days(l.Days))
	switch {
	case l.FullOn.IsZero():
		s += "the taper starts before full light is reached."
	case l.FullLate == 0:
		s += fmt.Sprintf("full light is still reached in time, on %s.", l.FullOn.Short())
	default:
		s += fmt.Sprintf("full light is reached on %s, %s after the date wanted.", l.FullOn.Short(), days(l.FullLate))
	}
	s += fmt.Sprintf(" Full light lasts %s instead of %s.", days(l.FullDays), days(l.FullDaysPlanned))
	if l.Misfit != nil {
		s += " To keep the date of full light: " + l.Misfit.Text()
	}
	return s
}
