package light

import (
	"fmt"
	"sort"
	"time"
)

// Programme is one circuit's lamps, date by date.
type Programme struct {
	Circuit Circuit
	Windows Windows
	Rows    []Row
	FullOn  Date // the first date of full light; zero when it is never reached
	RestOn  Date // the first date of rest after the taper starts; zero when it is never reached

	zone     *time.Location
	daylight []Day   // as Rows; nil when the place is not known
	eve      lampDay // the lamps on the day before the first row
}

// Phase is the part of the season that a date belongs to.
type Phase string

// The phases, in the order in which a season runs through them.
const (
	Resting  Phase = "rest"
	Ramping  Phase = "ramp"
	FullTime Phase = "full"
	Tapering Phase = "taper"
)

// Row is one date of a programme.
type Row struct {
	Date    Date
	Phase   Phase
	On, Off time.Time
	DimFrom time.Time     // when the dusk begins; equal to Off without one
	Lamp    time.Duration // from On to Off
	Change  time.Duration // Lamp less the day before's
	Feeding time.Duration // Lamp less half of the dusk
	// HasDaylight says that the place is known. Daylight is then the light between
	// sunrise and sunset, whatever the windows let in.
	HasDaylight bool
	Daylight    time.Duration
	// Seen is the light that the birds really see on the date: lamps or windows.
	Seen time.Duration
	// Before and After are window light ahead of lamps on and past lamps off. Gap is the
	// dark between the lamps and the day outside when the two do not meet.
	Before, After, Gap time.Duration
	// ClockShift is by how much the clocks went forward since the day before's lamps.
	ClockShift time.Duration
	// Touch says that a timer on the wall clock has to be set afresh, or its clock put right.
	Touch    bool
	Warnings []Warning
}

// Build works out the programme of one circuit. Errors are those of [Plan.Check], or an
// [*Error] about the room.
func Build(c Circuit, r Room) (*Programme, error) {
	ps, err := BuildAll([]Circuit{c}, r)
	if err != nil {
		return nil, err
	}
	return ps[0], nil
}

// BuildAll works out the programmes of all circuits of a room, and the daylight once.
func BuildAll(cs []Circuit, r Room) ([]*Programme, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	walked := make([][]lampDay, len(cs))
	ps := make([]*Programme, len(cs))
	for i, c := range cs {
		c.Plan = c.Plan.withDefaults()
		if err := c.Check(); err != nil {
			return nil, err
		}
		from, to, err := r.span(c.Plan)
		if err != nil {
			return nil, err
		}
		full, rest := minutes(c.Full), minutes(c.Rest)
		eve := from.AddDays(-1)
		w := newWalk(c.Plan, r.Zone, rest, eve, phase{c.RampFrom, full, c.RampFrom}, phase{c.TaperFrom, rest, c.TaperFrom})
		ps[i] = &Programme{Circuit: c, Windows: r.Windows, zone: r.Zone, eve: w.at(eve)}
		walked[i] = w.run(from, to, never)
	}
	if err := furnish(ps, walked, r); err != nil {
		return nil, err
	}
	return ps, nil
}

func (r Room) check() error {
	if r.Zone == nil {
		return &Error{"tz", "Say which time zone the room is in, such as Europe/Amsterdam."}
	}
	if _, err := ParseWindows(string(r.Windows)); err != nil {
		return err
	}
	if r.Place != nil {
		return r.Place.check()
	}
	if r.Windows == Twilight || r.Windows == Sun {
		return &Error{"windows", "To count daylight through the windows, give the room's latitude and longitude."}
	}
	return nil
}

// span returns the programme's first and last date.
func (r Room) span(p Plan) (from, to Date, err error) {
	from, to = p.RampFrom, p.RestBy
	if !r.From.IsZero() {
		if err := checkDate("from", "The first date", r.From); err != nil {
			return from, to, err
		}
		if r.From.After(from) {
			return from, to, &Error{"from", fmt.Sprintf("The first date, %s, lies after the start of the ramp, %s.", r.From, from)}
		}
		from = r.From
	}
	if !r.To.IsZero() {
		if err := checkDate("to", "The last date", r.To); err != nil {
			return from, to, err
		}
		if r.To.Before(to) {
			return from, to, &Error{"to", fmt.Sprintf("The last date, %s, lies before the date of rest, %s.", r.To, to)}
		}
		to = r.To
	}
	if n := to.Sub(from); n >= longest {
		return from, to, &Error{"to", fmt.Sprintf("From the first date to the last are %d days; a programme runs for three years at most.", n)}
	}
	return from, to, nil
}

// furnish turns walked dates into rows: daylight, light seen, what to touch, warnings.
func furnish(ps []*Programme, walked [][]lampDay, r Room) error {
	if len(ps) == 0 {
		return nil
	}
	var light []Day
	first, last := walked[0][0].date, walked[0][len(walked[0])-1].date
	if r.Place != nil {
		for _, w := range walked[1:] {
			if w[0].date.Before(first) {
				first = w[0].date
			}
			if w[len(w)-1].date.After(last) {
				last = w[len(w)-1].date
			}
		}
		var err error
		if light, err = DaylightBetween(*r.Place, r.Zone, first, last); err != nil {
			return err
		}
	}
	for i, p := range ps {
		if light != nil {
			k := walked[i][0].date.Sub(first)
			p.daylight = light[k : k+len(walked[i])]
		}
		p.fill(walked[i])
	}
	return nil
}

func (p *Programme) fill(walked []lampDay) {
	c := p.Circuit
	full, rest := minutes(c.Full), minutes(c.Rest)
	p.FullOn = firstDate(walked, c.RampFrom, func(d lampDay) bool {
		return d.lamp == full && d.date.Before(c.TaperFrom)
	})
	p.RestOn = firstDate(walked, c.TaperFrom, func(d lampDay) bool { return d.lamp == rest })
	p.Rows = make([]Row, len(walked))
	last, lastOn, lastOff := p.eve, p.local(p.eve.on), p.local(p.eve.off)
	for i, d := range walked {
		row := &p.Rows[i]
		*row = Row{
			Date:       d.date,
			On:         p.local(d.on),
			Off:        p.local(d.off),
			DimFrom:    p.local(d.off - int64(c.Dusk/time.Second)),
			Lamp:       time.Duration(d.lamp) * time.Minute,
			Change:     time.Duration(d.lamp-last.lamp) * time.Minute,
			ClockShift: time.Duration(d.shift) * time.Second,
		}
		row.Phase = c.phase(d, full, rest)
		row.Feeding = row.Lamp - c.Dusk/2
		row.Seen = row.Lamp
		row.Touch = d.shift != 0 || ClockOf(row.On) != ClockOf(lastOn) || ClockOf(row.Off) != ClockOf(lastOff)
		last, lastOn, lastOff = d, row.On, row.Off
		if p.daylight != nil {
			row.HasDaylight, row.Daylight = true, p.daylight[i].Length
			p.look(row, i, walked)
		}
		p.warn(i)
	}
}

func (c Circuit) phase(d lampDay, full, rest int) Phase {
	switch {
	case d.date.Before(c.RampFrom):
		return Resting
	case d.date.Before(c.TaperFrom) && d.lamp == full:
		return FullTime
	case d.date.Before(c.TaperFrom):
		return Ramping
	case d.lamp != rest:
		return Tapering
	}
	return Resting
}

func (p *Programme) local(unix int64) time.Time { return time.Unix(unix, 0).In(p.zone) }

// through returns the daylight that comes through the windows on the i-th date.
func (p *Programme) through(i int) []stretch {
	switch p.Windows {
	case Twilight:
		return p.daylight[i].civil.list()
	case Sun:
		return p.daylight[i].sun.list()
	}
	return nil
}

// look joins lamps and windows on the i-th date.
func (p *Programme) look(row *Row, i int, walked []lampDay) {
	if p.Windows != Twilight && p.Windows != Sun {
		return
	}
	window := p.through(i)
	d, date := walked[i], &p.daylight[i]
	// Lamps that burn past midnight, or come on before it, light a neighbour's date.
	lamps := [3]stretch{{d.on - 86400, d.off - 86400}, {d.on, d.off}, {d.on + 86400, d.off + 86400}}
	if i > 0 {
		lamps[0] = stretch{walked[i-1].on, walked[i-1].off}
	}
	if i+1 < len(walked) {
		lamps[2] = stretch{walked[i+1].on, walked[i+1].off}
	}
	var seen int64
	end := date.from
	for _, l := range lamps {
		// Two days' lamps may overlap when the clocks change and nights are very short.
		if a, b := max(l.from, end), min(l.to, date.to); a < b {
			seen += b - a
			end = b
		}
	}
	main := stretch{d.on, d.off} // no gap when no daylight comes in
	if len(window) > 0 {
		main = window[0]
	}
	for _, w := range window {
		if w.length() > main.length() {
			main = w
		}
		from := w.from
		for j := 0; j <= len(lamps); j++ { // the window's light in the dark before each lamp
			to := w.to
			if j < len(lamps) {
				to = min(to, lamps[j].from)
			}
			if from < to {
				seen += to - from
				if j <= 1 {
					row.Before += time.Duration(to-from) * time.Second
				} else {
					row.After += time.Duration(to-from) * time.Second
				}
			}
			if j < len(lamps) {
				from = max(from, lamps[j].to)
			}
		}
	}
	row.Seen = time.Duration(seen) * time.Second
	row.Gap = time.Duration(max(0, main.from-d.off, d.on-main.to)) * time.Second
}

// At returns the row of a date, and false when the programme does not hold it.
func (p *Programme) At(d Date) (Row, bool) {
	i := d.Sub(p.Rows[0].Date)
	if i < 0 || i >= len(p.Rows) {
		return Row{}, false
	}
	return p.Rows[i], true
}

// Level returns how bright the lamps burn at an instant, from 0 (off) to 1, with an even
// fade through the dusk. It is false outside the programme's dates.
func (p *Programme) Level(t time.Time) (float64, bool) {
	d := DateOf(t.In(p.zone))
	if _, ok := p.At(d); !ok {
		return 0, false
	}
	if t.Before(p.local(p.eve.off)) {
		return 1, true // lamps of the eve that burn past midnight
	}
	// The first row whose lamps are not out yet.
	i := sort.Search(len(p.Rows), func(i int) bool { return p.Rows[i].Off.After(t) })
	if i == len(p.Rows) || p.Rows[i].On.After(t) {
		return 0, true
	}
	r := p.Rows[i]
	if t.Before(r.DimFrom) {
		return 1, true
	}
	return float64(r.Off.Sub(t)) / float64(r.Off.Sub(r.DimFrom)), true
}

// Notes says in whole sentences how the programme works out, for the head of a page.
func (p *Programme) Notes() []string {
	c := p.Circuit
	notes := []string{"Lamp hours are room practice: food, warmth and quiet count as much, and in zebra finches food outranks day length."}
	if n := c.FullBy.Sub(p.FullOn); !p.FullOn.IsZero() && n > 0 {
		notes = append(notes, fmt.Sprintf("Full light is reached on %s, %s before %s.", p.FullOn.Short(), days(n), c.FullBy.Short()))
	}
	if n := c.RestBy.Sub(p.RestOn); !p.RestOn.IsZero() && n > 0 {
		notes = append(notes, fmt.Sprintf("Rest hours are reached on %s, %s before %s.", p.RestOn.Short(), days(n), c.RestBy.Short()))
	}
	if c.Dusk == 0 {
		notes = append(notes, "The lamps go out at once. Hens off the nest have to find it before dark: a dusk of 30 to 60 minutes or a dim night light is common practice.")
	}
	switch c.Plan.Clock {
	case Wall:
		for _, r := range p.Rows {
			if r.ClockShift != 0 {
				notes = append(notes, "Timers follow the wall clock, so the birds' day jumps when the clocks change. Standard time kept all year, or a change spread over some weeks, avoids it.")
				break
			}
		}
	case Standard:
		notes = append(notes, "The lamps keep standard time all year. A timer whose own clock is never put forward has no change to make for summer time.")
	case Spread:
		notes = append(notes, "When the clocks change the lamps follow in pieces no bigger than the step.")
	}
	return notes
}
