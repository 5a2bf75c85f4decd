package advice

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/light"
)

// LampHours writes a length of light as hours: "12.5 h".
func LampHours(d time.Duration) string {
	return strconv.FormatFloat(math.Round(d.Hours()*100)/100, 'f', -1, 64) + " h"
}

// Spell writes a length of time as people say it: "9 h 30 min", "45 min".
func Spell(d time.Duration) string { return light.Spell(d) }

// LampCautions are the hazards of lamps in a bird room, each with its source.
func LampCautions() []light.Caution { return light.Cautions() }

// LampWarning is something to mind on a run of days to come.
type LampWarning struct {
	From, To aviary.Date
	Days     int
	Text     string
	Windows  bool // daylight is at fault: cover the windows, or shift the programme
	Supposed bool // it holds if nests are live then; none is known to be
}

// When is the run of days in words.
func (w LampWarning) When() string { return dayRun(w.From, w.To) }

func dayRun(from, to aviary.Date) string {
	if from == to {
		return from.Short()
	}
	return from.Short() + "–" + to.Short()
}

// Warnings joins the warnings of today and the days to come, to a year after the season's start. Steps that are too big for live nests are told of even
// where no nest is known to be live then.
func (c *LampCircuit) Warnings() []LampWarning {
	if c.Programme == nil {
		return nil
	}
	today := c.desk.Today
	from, to := c.Season()
	to = max(to, from+tailDays-1)
	var out []LampWarning
	steps := false
	for _, w := range joined(c.Programme.Summary(), today, to) {
		steps = steps || w.Kind == light.BigStep || w.Kind == light.BigWeek
		out = append(out, lampWarning(w))
	}
	if !steps && steep(c.Plan) {
		for _, s := range c.seasons {
			if s.plan != c.Plan {
				continue
			}
			p, err := c.build(s, nil)
			if err != nil {
				continue
			}
			for _, w := range joined(p.Summary(), today, to) {
				if w.Kind == light.BigStep || w.Kind == light.BigWeek {
					x := lampWarning(w)
					x.Supposed = true
					out = append(out, x)
				}
			}
		}
	}
	return out
}

// steep reports whether a plan's steps can be too big for live nests: over half an hour, or over an hour within a week.
func steep(p *aviary.LampPlan) bool {
	const day, week = 30, 60 // minutes; common practice, no source
	return p.Step > day || p.Every > 0 && p.Step*(6/p.Every+1) > week
}

// lampRun is a warning of the light engine and the days on which it holds.
type lampRun struct {
	light.Warning
	days int
}

// joined keeps the days from one to another, and makes one warning of each kind that steps give rise to, day after day:
// steps too big, weeks too big, and days that shorten while nests are live.
func joined(all []light.Warning, from, to aviary.Date) []lampRun {
	var out []lampRun
	for _, w := range all {
		if aviaryDate(w.To) < from || aviaryDate(w.From) > to {
			continue
		}
		w.From, w.To = lightDate(max(aviaryDate(w.From), from)), lightDate(min(aviaryDate(w.To), to))
		n := w.To.Sub(w.From) + 1
		i := -1
		switch w.Kind {
		case light.BigStep, light.BigWeek, light.YoungFed:
			i = slices.IndexFunc(out, func(x lampRun) bool { return x.Kind == w.Kind })
		}
		if i < 0 {
			out = append(out, lampRun{w, n})
			continue
		}
		x := &out[i]
		x.To, x.Amount, x.days = w.To, max(x.Amount, w.Amount), x.days+n
		x.Young, x.Live = union(x.Young, w.Young), union(x.Live, w.Live)
		x.Live = slices.DeleteFunc(x.Live, func(s string) bool { return slices.Contains(x.Young, s) })
	}
	return out
}

// union adds the words of b that a has not.
func union(a, b []string) []string {
	a = slices.Clone(a)
	for _, s := range b {
		if !slices.Contains(a, s) {
			a = append(a, s)
		}
	}
	return a
}

func lampWarning(w lampRun) LampWarning {
	x := LampWarning{From: aviaryDate(w.From), To: aviaryDate(w.To), Days: w.days, Text: w.Text()}
	switch w.Kind {
	case light.ShortBroken, light.Ragged, light.DarkGap:
		x.Windows = true
	}
	return x
}

// LampShift is what moving the whole programme would do for daylight outside the lamps, a day.
type LampShift struct {
	By        time.Duration // later is positive; 0 when no shift is better
	Now, Then time.Duration
	On        aviary.Clock // lamps on at full light after the shift
}

// Text says it in a sentence, "" when no shift is better.
func (s LampShift) Text() string {
	if s.By == 0 {
		return ""
	}
	way := "later"
	if s.By < 0 {
		way = "earlier"
	}
	return fmt.Sprintf("With the whole programme %s %s, daylight outside the lamps falls from %s to %s a day, on average.", Spell(s.By), way, Spell(s.Now), Spell(s.Then))
}

// Shift is the best shift of the programme.
func (c *LampCircuit) Shift() LampShift {
	if c.Programme == nil {
		return LampShift{}
	}
	b := c.Programme.BestShift()
	return LampShift{By: b.By, Now: b.Now, Then: b.Then, On: WallClock(lightClock(c.Plan.On) + light.Clock(b.By/time.Minute))}
}

// lampDriftDays is for how many days back late steps are told of.
const lampDriftDays = 30

// LampDrift is how the real lamps stand against the plan.
type LampDrift struct {
	Known       bool
	Lamp        time.Duration // real less planned, today
	On, Off     time.Duration // positive when later than planned
	Missed      []LampMissed
	Jumps       []LampJump
	Since       aviary.Date // of the timer as it stands
	RealOn, Out aviary.Clock
	Real        time.Duration
}

// LampMissed is a planned step that was made late, or not yet.
type LampMissed struct {
	Day      aviary.Date
	From, To time.Duration
	Made     aviary.Date // zero: not yet
	Late     int         // days
}

// LampJump is a day on which the real lamps changed by more than the step.
type LampJump struct {
	Day aviary.Date
	By  time.Duration
}

// Drift compares the plan with the lamps as really set: where they stand today, steps not made, and of the last month
// steps made late and jumps over the step.
func (c *LampCircuit) Drift() LampDrift {
	var out LampDrift
	real, ok := c.Real()
	if !ok {
		return out
	}
	today := c.desk.Today
	out.Since, out.RealOn, out.Out, out.Real = aviaryDate(real.Date), WallClock(real.On), WallClock(real.Off), dial(real.On, real.Off)
	s := c.seasonOn(today)
	if s == nil || s.programme == nil {
		return out
	}
	drift, err := s.programme.Drift(upTo(c.Log, lightDate(today)), lightDate(today))
	if err != nil || len(drift.Rows) == 0 {
		return out
	}
	if last := drift.Rows[len(drift.Rows)-1]; aviaryDate(last.Date) == today {
		out.Known, out.Lamp, out.On, out.Off = true, last.Lamp, last.OnLate, last.OffLate
	}
	for _, m := range drift.Missed {
		x := LampMissed{Day: aviaryDate(m.Date), From: m.From, To: m.To, Made: aviaryDate(m.Made), Late: m.DaysLate}
		rising := m.To > m.From
		switch {
		case x.Day == today: // it is due, not missed
		case x.Made != 0 && x.Made < today-lampDriftDays:
		case rising && today >= s.plan.TaperFrom: // a ramp's steps no longer matter once the lamps come down
		case x.Day < s.plan.Day && c.planned(x.Day) != nil && c.planned(x.Day) != s: // it stood under another plan then
		default:
			out.Missed = append(out.Missed, x)
		}
	}
	for _, r := range drift.Rows {
		if day := aviaryDate(r.Date); r.JumpedOverStep && day >= today-lampDriftDays {
			out.Jumps = append(out.Jumps, LampJump{day, r.Jump})
		}
	}
	return out
}

// planned is the season that a day lies in.
func (c *LampCircuit) planned(day aviary.Date) *lampSeason {
	for _, s := range c.seasons {
		if s.from <= day && day <= s.to {
			return s
		}
	}
	return nil
}

// LampWait is a taper held back until the young are on their own.
type LampWait struct {
	For, Open []string            // nests that it waits for, and nests whose end nobody can tell
	Days      int                 // by which taper and rest move
	Plan      *aviary.LampPlanned // the plan so moved; nil when nothing waits
}

// Wait looks whether the taper is to wait for nests that feed young when it would start. A taper that has begun does
// not wait.
func (c *LampCircuit) Wait() LampWait {
	if c.Programme == nil || c.Plan.TaperFrom <= c.desk.Today {
		return LampWait{}
	}
	w := light.Circuit{Plan: LightPlan(&c.Plan.LampPlanned), Birds: c.Birds}.WaitForYoung()
	out := LampWait{For: w.For, Open: w.Open, Days: w.Plan.TaperFrom.Sub(lightDate(c.Plan.TaperFrom))}
	if out.Days > 0 {
		b := c.Plan.LampPlanned
		b.TaperFrom, b.RestBy = aviaryDate(w.Plan.TaperFrom), aviaryDate(w.Plan.RestBy)
		out.Plan = &b
	}
	return out
}

// LampReplan is the plan gone on with from the lamps as they really stand today.
type LampReplan struct {
	Plan               aviary.LampPlanned
	FullLate, RestLate int         // days after the plan's dates; 0 when they are kept
	FullOn, RestOn     aviary.Date // zero when there is none to come
}

// Text says what becomes of the season.
func (r LampReplan) Text() string {
	var s []string
	say := func(what string, on aviary.Date, late int) {
		switch {
		case on == 0:
		case late == 0:
			s = append(s, fmt.Sprintf("%s %s, in time.", what, on.Short()))
		default:
			s = append(s, fmt.Sprintf("%s %s, %s after the date of the plan.", what, on.Short(), count(late, "day", "days")))
		}
	}
	say("Full light is reached on", r.FullOn, r.FullLate)
	say("Rest is reached on", r.RestOn, r.RestLate)
	return strings.Join(s, " ")
}

// Replan works out how the plan goes on from the lamps as last set, within its step. The error is a sentence.
func (c *LampCircuit) Replan() (LampReplan, error) {
	if c.Plan == nil {
		return LampReplan{}, &aviary.Error{Code: aviary.NotFound, Message: "there is no plan to go on from; write one first"}
	}
	today := c.desk.Today
	room, _ := c.desk.lightRoom(c.Plan.Windows)
	re, err := light.Circuit{Plan: LightPlan(&c.Plan.LampPlanned), Birds: c.birds()}.Replan(room, upTo(c.Log, lightDate(today)), lightDate(today))
	if err != nil {
		return LampReplan{}, lampError(err)
	}
	out := LampReplan{Plan: c.Plan.LampPlanned, FullLate: re.FullLate, RestLate: re.RestLate, FullOn: aviaryDate(re.Programme.FullOn), RestOn: aviaryDate(re.Programme.RestOn)}
	out.Plan.FromReal = true
	if today >= c.Plan.TaperFrom || re.Programme.Rows[0].Lamp >= light.Hours(c.Plan.Full) {
		out.FullOn = 0 // the lamps stand there, or are on their way down
	}
	return out, nil
}

// LampLate is what becomes of the season when the ramp starts later.
type LampLate struct {
	Text    string
	Days    []LampDay          // the programme so delayed, as planned hours
	Shifted aviary.LampPlanned // the plan with all four dates later by as much
}

// Late answers what becomes of the season when the ramp starts so many weeks late.
func (c *LampCircuit) Late(weeks int) (LampLate, error) {
	if c.Plan == nil {
		return LampLate{}, &aviary.Error{Code: aviary.NotFound, Message: "there is no plan that could start late; write one first"}
	}
	room, _ := c.desk.lightRoom(c.Plan.Windows)
	l, err := light.Circuit{Plan: LightPlan(&c.Plan.LampPlanned), Birds: c.birds()}.Late(room, 7*weeks)
	if err != nil {
		return LampLate{}, lampError(err)
	}
	out := LampLate{Text: isoDay.ReplaceAllStringFunc(l.Text(), shortDay), Shifted: c.Plan.LampPlanned}
	b, to := &out.Shifted, l.Shifted
	b.RampFrom, b.FullBy, b.TaperFrom, b.RestBy = aviaryDate(to.RampFrom), aviaryDate(to.FullBy), aviaryDate(to.TaperFrom), aviaryDate(to.RestBy)
	b.FromReal = false
	for _, r := range l.Programme.Rows {
		out.Days = append(out.Days, LampDay{Date: aviaryDate(r.Date), Planned: r.Lamp, HasPlan: true})
	}
	return out, nil
}

// isoDay finds the dates in the light engine's sentences, which pages write shorter.
var isoDay = regexp.MustCompile(`\d{4}-\d{2}-\d{2}`)

func shortDay(s string) string { return dayAs(s, aviary.Date.Short) }
func longDay(s string) string  { return dayAs(s, aviary.Date.Long) }

func dayAs(s string, form func(aviary.Date) string) string {
	if d, err := aviary.ParseDate(s); err == nil {
		return form(d)
	}
	return s
}

// lampColumns are the columns of lamp_planned by the light engine's names.
var lampColumns = map[string]string{
	"rest-hours": "rest_hours", "full-hours": "full_hours", "step": "step_minutes", "every": "every_days", "on": "on", "dusk": "dusk_minutes",
	"ramp-from": "ramp_from", "full-by": "full_by", "taper-from": "taper_from", "rest-by": "rest_by", "moves": "moves", "clock": "clock_changes",
	"windows": "windows", "lamps": "from_real",
}

// lampError turns a refusal of the light engine into one of the room.
func lampError(err error) error {
	field := ""
	if at := (*light.Error)(nil); errors.As(err, &at) {
		field = lampColumns[at.Field]
	}
	return &aviary.Error{Code: aviary.Invalid, Field: field, Message: isoDay.ReplaceAllStringFunc(err.Error(), longDay)}
}

// LampPlanFaults says what is wrong with a plan, each beside the column that could give. Of a ramp or taper that does
// not fit, the step, the interval and both dates are told how far each would have to give; any one of them will do.
func (d *Desk) LampPlanFaults(b *aviary.LampPlanned) []*aviary.Error {
	var fit *light.FitError
	err := LightPlan(b).Check()
	switch {
	case err == nil:
		c := d.CircuitWith(b)
		if c.Problem != "" {
			return []*aviary.Error{{Code: aviary.Invalid, Field: "from_real", Message: c.Problem}}
		}
		return nil
	case errors.As(err, &fit) && b.FromReal:
		// A plan that goes on from the real lamps keeps its step and lets the dates slip.
		if c := d.CircuitWith(b); c.Problem != "" {
			return []*aviary.Error{{Code: aviary.Invalid, Field: "from_real", Message: c.Problem}}
		}
		return nil
	case !errors.As(err, &fit):
		var at *aviary.Error
		errors.As(lampError(err), &at)
		return []*aviary.Error{at}
	}
	var out []*aviary.Error
	for _, m := range fit.Misfits {
		add := func(field, format string, args ...any) {
			out = append(out, &aviary.Error{Code: aviary.Invalid, Field: field, Message: fmt.Sprintf(format, args...)})
		}
		first, last, name, firstName, lastName := "ramp_from", "full_by", "way up", "the first longer day", "full light"
		if m.Slope == light.Taper {
			first, last, name, firstName, lastName = "taper_from", "rest_by", "way down", "the first shorter day", "rest"
		}
		add("step_minutes", "The %s takes %d steps of %s, but from %s to %s there is room for %d. One of step, interval or dates must give: a step of %s fits, %s more.",
			name, m.Steps, Spell(m.Step), m.From.Short(), m.By.Short(), m.Room, Spell(m.StepNeeded), Spell(m.StepNeeded-m.Step))
		if m.EveryNeeded > 0 {
			add("every_days", "For the %s, a change every %s fits, %s less.", name, count(m.EveryNeeded, "day", "days"), count(m.Every-m.EveryNeeded, "day", "days"))
		} else {
			add("every_days", "For the %s, not even a change every day would fit.", name)
		}
		lastToo, firstToo := "", ""
		if m.Clash && m.Slope == light.Ramp {
			lastToo = " The first shorter day would have to move too."
		} else if m.Clash {
			firstToo = " The day of full light would have to move too."
		}
		add(first, "%s on %s fits, %s earlier.%s", capital(firstName), aviaryDate(m.FromNeeded).Long(), count(m.DaysTooShort, "day", "days"), firstToo)
		add(last, "%s by %s fits, %s later.%s", capital(lastName), aviaryDate(m.ByNeeded).Long(), count(m.DaysTooShort, "day", "days"), lastToo)
	}
	return out
}

// The plan that a form starts with: rest 9.5 h, full 14 h from 06:00, up from August and down from February in the
// north, half a year later in the south. Common practice, no source.
const (
	startRest, startFull  = 9.5, 14.0
	startStep, startEvery = 30, 7
	startDusk             = 30
)

// LampPlanStart is what a plan's form starts with: the circuit's plan, else the usual season that is on or comes next.
func (d *Desk) LampPlanStart(circuit string) aviary.LampPlanned {
	for _, c := range d.lampCircuits() {
		if c.Name == circuit && c.Plan != nil {
			return c.Plan.LampPlanned
		}
	}
	logged := slices.ContainsFunc(d.lampCircuits(), func(c *LampCircuit) bool { return c.Name == circuit && len(c.Log) > 0 })
	return d.proposedLamps(circuit, logged)
}

// NextYear moves a plan's four dates on by a year; 29 February becomes 1 March.
func NextYear(b aviary.LampPlanned) aviary.LampPlanned { return *yearsOn(&b, 1) }

// LampDayColumns are the heads of the table of days, as the command prints them.
func LampDayColumns() []string { return light.RowHeader() }

// LampTimerColumns are the heads of the timer sheet.
func LampTimerColumns() []string { return light.TimerHeader() }
