package light

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// Moves says which end of the lamp day moves when the hours change.
type Moves string

// The ends that can move. The empty Moves is Evening.
const (
	Evening Moves = "evening"
	Morning Moves = "morning"
	Both    Moves = "both"
)

// ClockMode says what the lamps do when the clocks change.
type ClockMode string

// The clock modes. The empty ClockMode is Wall.
const (
	Wall     ClockMode = "wall"     // timers follow the wall clock, and the birds' day jumps
	Standard ClockMode = "standard" // birds' time: standard time kept all year
	Spread   ClockMode = "spread"   // the change is shared out over days or weeks
)

// Windows says which daylight reaches the birds.
type Windows string

// The windows. The empty Windows is NoWindows.
const (
	NoWindows Windows = "none"
	Twilight  Windows = "twilight" // from civil dawn to civil dusk
	Sun       Windows = "sun"      // from sunrise to sunset
)

// ParseMoves reads evening, morning or both.
func ParseMoves(s string) (Moves, error) { return pick("moves", s, Evening, Morning, Both) }

// ParseClockMode reads wall, standard or spread.
func ParseClockMode(s string) (ClockMode, error) { return pick("clock", s, Wall, Standard, Spread) }

// ParseWindows reads none, twilight or sun.
func ParseWindows(s string) (Windows, error) { return pick("windows", s, NoWindows, Twilight, Sun) }

// pick finds s among the choices; an empty s is the first of them.
func pick[T ~string](field, s string, choices ...T) (T, error) {
	if s == "" {
		return choices[0], nil
	}
	var names []string
	for _, c := range choices {
		if string(c) == s {
			return c, nil
		}
		names = append(names, string(c))
	}
	return "", &Error{field, fmt.Sprintf("%q is not one of %s.", s, strings.Join(names, ", "))}
}

// Hours returns a length given in decimal hours, to the nearest minute. What is not a
// number, or no length of a day, comes back as -1 minute, which every plan refuses.
func Hours(h float64) time.Duration {
	if !(h >= 0 && h <= 24) {
		return -time.Minute
	}
	return time.Duration(math.Round(h*60)) * time.Minute
}

// Plan is what a keeper asks of one lamp circuit for a season.
type Plan struct {
	Name       string        // the circuit, in the keeper's words
	Rest, Full time.Duration // lamp hours a day in rest and at full light
	RampFrom   Date          // the first longer day
	FullBy     Date          // full light on this date at the latest
	TaperFrom  Date          // the first shorter day
	RestBy     Date          // rest hours on this date at the latest
	On         Clock         // when the lamps come on at full light
	Step       time.Duration // most change from a day to the next
	Every      int           // days from one change to the next
	Moves      Moves
	Dusk       time.Duration // the lamps fade out over this long before they go off
	Clock      ClockMode
}

// Room is where the lamps hang.
type Room struct {
	Zone *time.Location
	// Place gives daylight; nil when it is not known.
	Place   *Place
	Windows Windows
	// From and To widen the programme beyond ramp-from and rest-by, to draw a whole year.
	// The dates added hold rest hours. Zero adds none.
	From, To Date
}

// Circuit is one set of lamps and the birds below it.
type Circuit struct {
	Plan
	// Birds is nil when nothing is known of them. Warnings about live nests are then
	// given as if there were some.
	Birds *Birds
}

// Birds are the nests and the moult under one circuit, as plain dates.
type Birds struct {
	Nests  []Nest
	Moults []Moult
}

// Nest is one nest's dates. A Span without an end is still going on.
type Nest struct {
	Label  string // the cage, in the keeper's words
	Live   Span   // eggs or young in it
	Laying Span   // eggs are being laid, or are planned
	Young  Span   // young are fed by their parents, in the nest or out of it
}

// Moult is the dates when a bird or a group moults or is planned to.
type Moult struct {
	Label string
	Span  Span
}

// minutes returns the whole minutes of a plan's lengths.
func minutes(d time.Duration) int { return int(d / time.Minute) }

// withDefaults fills in the choices left empty.
func (p Plan) withDefaults() Plan {
	if p.Moves == "" {
		p.Moves = Evening
	}
	if p.Clock == "" {
		p.Clock = Wall
	}
	return p
}

// settings refuses lengths and choices that cannot be, leaving the dates aside.
func (p Plan) settings() error {
	for _, l := range []struct {
		field, name string
		d           time.Duration
		least, most time.Duration
	}{
		{"rest-hours", "The rest hours", p.Rest, time.Minute, 24*time.Hour - time.Minute},
		{"full-hours", "The full hours", p.Full, time.Minute, 24*time.Hour - time.Minute},
		{"step", "The step", p.Step, time.Minute, 12 * time.Hour},
		{"dusk", "The dusk", p.Dusk, 0, p.Rest},
	} {
		if l.d < l.least || l.d > l.most {
			return &Error{l.field, fmt.Sprintf("%s must lie between %s and %s.", l.name, Spell(l.least), Spell(l.most))}
		}
		if l.d%time.Minute != 0 {
			return &Error{l.field, l.name + " must be whole minutes, since timers know no seconds."}
		}
	}
	if p.Rest > p.Full {
		return &Error{"rest-hours", fmt.Sprintf("The rest day, %s, is longer than the full day, %s.", Spell(p.Rest), Spell(p.Full))}
	}
	if p.On < 0 || p.On >= 1440 {
		return &Error{"on", "The time for lamps on must lie between 00:00 and 23:59."}
	}
	if p.Every < 1 || p.Every > 366 {
		return &Error{"every", "The interval must lie between 1 and 366 days."}
	}
	if _, err := ParseMoves(string(p.Moves)); err != nil {
		return err
	}
	_, err := ParseClockMode(string(p.Clock))
	return err
}

// longest is the most days of one programme: three years.
const longest = 1096

// Check says what is wrong with the plan: an [*Error] names the field, a [*FitError]
// says what has to give. It is nil when the plan can be walked.
func (p Plan) Check() error {
	if err := p.settings(); err != nil {
		return err
	}
	dates := []struct {
		field, name string
		d           Date
	}{
		{"ramp-from", "The start of the ramp", p.RampFrom},
		{"full-by", "The date of full light", p.FullBy},
		{"taper-from", "The start of the taper", p.TaperFrom},
		{"rest-by", "The date of rest", p.RestBy},
	}
	for i, d := range dates {
		if err := checkDate(d.field, d.name, d.d); err != nil {
			return err
		}
		if i > 0 && d.d.Before(dates[i-1].d) {
			return &Error{d.field, fmt.Sprintf("%s, %s, lies before %s, %s.",
				d.name, d.d, strings.ToLower(dates[i-1].name[:1])+dates[i-1].name[1:], dates[i-1].d)}
		}
	}
	if p.TaperFrom == p.FullBy {
		return &Error{"taper-from", fmt.Sprintf("The taper cannot start on %s, the date of full light. Start it a day later or more.", p.FullBy)}
	}
	if n := p.RestBy.Sub(p.RampFrom); n >= longest {
		return &Error{"rest-by", fmt.Sprintf("From the ramp to rest are %d days; a programme runs for three years at most.", n)}
	}
	var fit FitError
	if m, bad := p.misfit(Ramp, p.RampFrom, p.FullBy); bad {
		m.Clash = !m.ByNeeded.Before(p.TaperFrom)
		fit.Misfits = append(fit.Misfits, m)
	}
	if m, bad := p.misfit(Taper, p.TaperFrom, p.RestBy); bad {
		m.Clash = !m.FromNeeded.After(p.FullBy)
		fit.Misfits = append(fit.Misfits, m)
	}
	if fit.Misfits != nil {
		return &fit
	}
	return nil
}

// Slope is one of the two times of changing hours.
type Slope string

// The slopes.
const (
	Ramp  Slope = "ramp"
	Taper Slope = "taper"
)

// FitError says that a ramp, a taper or both do not fit their step, interval and dates.
type FitError struct{ Misfits []Misfit }

func (e *FitError) Error() string {
	var s []string
	for _, m := range e.Misfits {
		s = append(s, m.Text())
	}
	return strings.Join(s, " ")
}

// Misfit is a slope with too few changes between its dates. Giving any one of the
// step, the interval or a date as far as it says makes it fit.
type Misfit struct {
	Slope        Slope
	Low, High    time.Duration // the rest and the full hours
	From, By     Date
	Step         time.Duration
	Every        int
	Steps, Room  int           // changes that it takes, and that the dates have room for
	StepNeeded   time.Duration // the smallest step that fits, in whole minutes
	EveryNeeded  int           // the longest interval that fits, in days; 0 when not even 1 does
	ByNeeded     Date          // the earliest last date that fits
	FromNeeded   Date          // the latest first date that fits
	DaysTooShort int           // by which either date has to give
	// Clash says that ByNeeded runs into the taper, or FromNeeded into the time before full
	// light, so that the other slope would have to move too.
	Clash bool
}

// Text says in one go what does not fit and what could give.
func (m Misfit) Text() string {
	a, b, last := m.Low, m.High, "full by"
	if m.Slope == Taper {
		a, b, last = b, a, "rest by"
	}
	give := []string{fmt.Sprintf("the step (%s, %s more)", Spell(m.StepNeeded), Spell(m.StepNeeded-m.Step))}
	if m.EveryNeeded > 0 {
		give = append(give, fmt.Sprintf("the interval (%s, %s less)", days(m.EveryNeeded), days(m.Every-m.EveryNeeded)))
	}
	byToo, fromToo := "", ""
	if m.Clash {
		byToo = " with the taper later too"
		if m.Slope == Taper {
			byToo, fromToo = "", " with full light earlier too"
		}
	}
	give = append(give, fmt.Sprintf("the dates (%s %s, %s later%s, or %s from %s, %s earlier%s)",
		last, m.ByNeeded, days(m.DaysTooShort), byToo, m.Slope, m.FromNeeded, days(m.DaysTooShort), fromToo))
	return fmt.Sprintf("The %s from %s to %s takes %d steps of %s, one every %s, but from %s to %s there is room for %d. One of these must give: %s.",
		m.Slope, Spell(a), Spell(b), m.Steps, Spell(m.Step), days(m.Every), m.From, m.By, m.Room, strings.Join(give, ", or "))
}

// misfit says whether a slope has too few changes between two dates.
func (p Plan) misfit(slope Slope, from, by Date) (Misfit, bool) {
	rise, step, span := minutes(p.Full-p.Rest), minutes(p.Step), by.Sub(from)
	steps := (rise + step - 1) / step
	room := span/p.Every + 1
	if steps <= room {
		return Misfit{}, false
	}
	short := (steps-1)*p.Every - span // steps is at least 2, since room is at least 1
	return Misfit{
		Slope: slope, Low: p.Rest, High: p.Full, From: from, By: by, Step: p.Step, Every: p.Every,
		Steps: steps, Room: room,
		StepNeeded:   time.Duration((rise+room-1)/room) * time.Minute,
		EveryNeeded:  span / (steps - 1),
		ByNeeded:     by.AddDays(short),
		FromNeeded:   from.AddDays(-short),
		DaysTooShort: short,
	}, true
}

// nominalOn is when the lamps come on with so many minutes of light, in minutes after
// midnight. With both ends moving an odd minute goes to the evening.
func (p Plan) nominalOn(lamp int) int {
	short := minutes(p.Full) - lamp
	switch p.Moves {
	case Morning:
		return int(p.On) + short
	case Both:
		return int(p.On) + int(math.Floor(float64(short)/2))
	}
	return int(p.On)
}
