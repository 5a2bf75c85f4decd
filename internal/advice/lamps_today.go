package advice

import (
	"fmt"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/light"
)

// LampTask is how the timer of a circuit is to be set today.
type LampTask struct {
	Circuit          *LampCircuit
	On, DimFrom, Off aviary.Clock // wall times; DimFrom equals Off without a dusk
	Dusk             int          // minutes of dimming before off
	Lamp             time.Duration
	Note             string // what changes, in words
	Missed           bool   // a step of an earlier day was not made
	Slow             bool   // the lamps stand further from the plan than one step: these times go one step towards it
	Done             bool   // it is written that the timer stands so
}

// Text is the task as a headline says it: "Set Bay A to 06:00–18:30 today".
func (t LampTask) Text() string {
	name := "the lamps"
	if t.Circuit.Name != "" {
		name = t.Circuit.Name
	}
	return fmt.Sprintf("Set %s to %s–%s today", name, t.On, t.Off)
}

// nearMinutes is how far a timer may stand from the planned times and count as set, at most a third of a step: pins and
// cheap dials are no finer. A judgement.
const nearMinutes = 5

// apart is how far two times on the dial lie from each other, in minutes.
func apart(a, b light.Clock) int {
	m := (int(a-b)%1440 + 1440) % 1440
	return min(m, 1440-m)
}

// dial is the length of the lamp day on the dial.
func dial(on, off light.Clock) time.Duration {
	return time.Duration((int(off-on)%1440+1440)%1440) * time.Minute
}

// realOn returns the setting in force on a day, and false before the first.
func (c *LampCircuit) realOn(day aviary.Date) (light.Setting, bool) {
	for i := len(c.Log) - 1; i >= 0; i-- {
		if !c.Log[i].Date.After(lightDate(day)) {
			return c.Log[i], true
		}
	}
	return light.Setting{}, false
}

// Real is how the timer stands today, as last written.
func (c *LampCircuit) Real() (light.Setting, bool) { return c.realOn(c.desk.Today) }

// Planned is what the plan says for a day, the rest after a season included.
func (c *LampCircuit) Planned(day aviary.Date) (light.Row, bool) {
	s := c.seasonOn(day)
	if s == nil || s.programme == nil {
		return light.Row{}, false
	}
	return s.programme.At(lightDate(day))
}

// NextTouch is the next day after today on which the timer is to be touched.
func (c *LampCircuit) NextTouch() (light.TimerRow, bool) {
	for _, s := range c.seasons {
		if s.tail <= c.desk.Today {
			continue
		}
		if p := c.programme(s); p != nil {
			for _, t := range p.TimerSheet() {
				if day := aviaryDate(t.Date); day > c.desk.Today && day >= s.head && day <= s.tail {
					return t, true
				}
			}
		}
	}
	return light.TimerRow{}, false
}

// LampTasks lists what to set today: the steps of the timer sheet, and steps of earlier days that were not made. Lamps
// that stand further from their plan than one step are taken there one step at a time.
func (d *Desk) LampTasks() []LampTask {
	var out []LampTask
	for _, c := range d.Circuits() {
		if t, ok := c.task(); ok {
			out = append(out, t)
		}
	}
	return out
}

func (c *LampCircuit) task() (LampTask, bool) {
	today := c.desk.Today
	s := c.seasonOn(today)
	if s == nil || s.programme == nil {
		return LampTask{}, false
	}
	row, ok := s.programme.At(lightDate(today))
	if !ok {
		return LampTask{}, false
	}
	t := c.taskOf(row)
	last, due := lastTouch(s.programme, lightDate(today))
	if row.Touch {
		t.Note = last.Note
	}
	real, known := c.Real()
	if !known {
		return t, row.Touch
	}
	step := int(s.programme.Circuit.Step / time.Minute)
	near := min(nearMinutes, step/3)
	off := max(apart(real.On, light.ClockOf(row.On)), apart(real.Off, light.ClockOf(row.Off)))
	if off <= near {
		// The times stand; a clock to be put right is seen to when something was written today.
		t.Done = row.ClockShift == 0 || real.Date == lightDate(today)
		return t, row.Touch
	}
	if off <= step {
		if !row.Touch {
			t.Missed = true
			if due {
				t.Note = fmt.Sprintf("planned since %s: %s", last.Date.Short(), last.Note)
			}
		}
		return t, true
	}
	room, _ := c.desk.lightRoom(s.plan.Windows)
	re, err := light.Circuit{Plan: LightPlan(&s.plan.LampPlanned)}.Replan(room, upTo(c.Log, lightDate(today)), lightDate(today))
	if err != nil || !re.Programme.Rows[0].Touch {
		return LampTask{}, false
	}
	t = c.taskOf(re.Programme.Rows[0])
	t.Missed, t.Slow = true, true
	t.Note = fmt.Sprintf("the plan says %s–%s; the lamps are further from it than one step, so go one step at a time", light.ClockOf(row.On), light.ClockOf(row.Off))
	return t, true
}

func (c *LampCircuit) taskOf(row light.Row) LampTask {
	return LampTask{
		Circuit: c, On: WallClock(light.ClockOf(row.On)), DimFrom: WallClock(light.ClockOf(row.DimFrom)), Off: WallClock(light.ClockOf(row.Off)),
		Dusk: int(row.Off.Sub(row.DimFrom) / time.Minute), Lamp: row.Lamp,
	}
}

// lastTouch is the last row of the timer sheet up to a day.
func lastTouch(p *light.Programme, day light.Date) (light.TimerRow, bool) {
	var last light.TimerRow
	found := false
	for _, t := range p.TimerSheet() {
		if t.Date.After(day) {
			break
		}
		last, found = t, true
	}
	return last, found
}

// leastFull is the shortest lamp day that counts as full light where no plan says what full is. Common practice, no
// source: full light is 13 to 14.5 hours.
const leastFull = 12 * time.Hour

// FullLightSince returns the first day of the unbroken run, up to today, of the hours of full light at a place, by the
// lamps as really set. Full are the plan's full hours; without a plan, the longest day logged in this season, or what
// stands if nothing is, if that is twelve hours or more.
func (d *Desk) FullLightSince(p *aviary.Place) (since aviary.Date, ok bool) {
	c := d.circuitOf(p)
	if c == nil || len(c.Log) == 0 {
		return 0, false
	}
	var full time.Duration
	if c.Plan != nil {
		full = light.Hours(c.Plan.Full)
	} else {
		from := d.SeasonOn(d.Today).From
		for i, s := range c.Log {
			if i+1 == len(c.Log) || aviaryDate(s.Date) >= from {
				full = max(full, dial(s.On, s.Off))
			}
		}
		full = max(full, leastFull)
	}
	for i := len(c.Log) - 1; i >= 0; i-- {
		s := c.Log[i]
		if i+1 < len(c.Log) && c.Log[i+1].Date == s.Date {
			continue // of one day the last setting counts
		}
		if dial(s.On, s.Off) < full {
			break
		}
		since, ok = aviaryDate(s.Date), true
	}
	return since, ok
}

// LampLevel is how bright a circuit's lamps are to burn at an instant.
type LampLevel struct {
	Circuit *LampCircuit
	Level   float64 // 0 off to 1
	Known   bool    // a plan says so
}

// LampLevels returns the level of every circuit at an instant, as planned.
func (d *Desk) LampLevels(t time.Time) []LampLevel {
	var out []LampLevel
	for _, c := range d.Circuits() {
		l := LampLevel{Circuit: c}
		if s := c.seasonOn(aviary.DayIn(t, d.Room.Zone(d.Today))); s != nil && s.programme != nil {
			l.Level, l.Known = s.programme.Level(t)
		}
		out = append(out, l)
	}
	return out
}

// LampDay is one day of a circuit: hours planned, hours really set, and the daylight outside.
type LampDay struct {
	Date                          aviary.Date
	Planned, Real, Daylight       time.Duration
	HasPlan, HasReal, HasDaylight bool
}

// LampDays lists the days from one to another, both included, at most three years of them. Real hours end today.
func (d *Desk) LampDays(c *LampCircuit, from, to aviary.Date) []LampDay {
	to = min(to, from+longestPlan)
	if to < from {
		return nil
	}
	out := make([]LampDay, 0, to-from+1)
	sun := c.daylight(from, to)
	k := -1 // the setting in force
	for day := from; day <= to; day++ {
		x := LampDay{Date: day}
		if row, ok := c.Planned(day); ok {
			x.Planned, x.HasPlan = row.Lamp, true
		}
		for k+1 < len(c.Log) && !c.Log[k+1].Date.After(lightDate(day)) {
			k++
		}
		if k >= 0 && day <= d.Today {
			x.Real, x.HasReal = dial(c.Log[k].On, c.Log[k].Off), true
		}
		if sun != nil {
			x.Daylight, x.HasDaylight = sun[day-from].Length, true
		}
		out = append(out, x)
	}
	return out
}

// lampSky keeps the daylight that was worked out last, for the circuits of one desk.
type lampSky struct {
	from, to aviary.Date
	days     []light.Day
}

// daylight is the sun from one day to another; nil where the room's place is not known.
func (c *LampCircuit) daylight(from, to aviary.Date) []light.Day {
	if k := c.sky; k.days != nil && k.from == from && k.to == to {
		return k.days
	}
	place := c.desk.lightPlace()
	if place == nil {
		return nil
	}
	days, err := light.DaylightBetween(*place, c.desk.zone(), lightDate(from), lightDate(to))
	if err != nil {
		return nil
	}
	*c.sky = lampSky{from, to, days}
	return days
}
