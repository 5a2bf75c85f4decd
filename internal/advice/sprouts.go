package advice

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"strings"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// SproutState is how seed is sprouted: the plan that holds, the jars' steps of today and the next days, and what is known of
// the seed.
type SproutState struct {
	Plan    *aviary.SproutPlan // that holds today; nil when there is none, or sprouting was stopped
	Stopped aviary.Date        // the day from which no seed is sprouted; zero unless that is what holds
	Asked   float64            // ml that the phases of the birds ask for today
	Cages   int                // places that get some of it
	// Batches are the jars under way and to come, in order of serving. A batch is made for what is served on its days, which
	// differs when the phases ask for it.
	Batches  []SproutBatch
	Days     []SproutDay // today and the next days
	Jars     int         // in turn, each washed before it is used again; 0 when nothing is sprouted
	Times    feed.Sprouting
	DryML    float64       // of dry seed for one ml sprouted
	Midnight time.Time     // at which today begins
	First    aviary.Date   // the first of the days laid out on which the plan gives sprouted seed; zero when nothing is asked for
	Notes    []feed.Note   // of the schedule
	Seeds    []SproutSeed  // by the last test, latest first
	Tests    []SproutCount // every germination test, latest first
}

// SproutBatch is one jar.
type SproutBatch struct {
	Number, Jar int // counted from 1; the number since the plan began
	Soak        time.Time
	From, To    aviary.Date // the days on which it is given
	ML          float64     // sprouted, for all of them
	DryML, DryG float64     // of dry seed; grams as white millet
	steps       []feed.Step
	laid        []SproutStep
}

// Steps returns every step of the batch, in order of time, those of other days too.
func (b SproutBatch) Steps() []SproutStep { return b.laid }

// SproutDay is what the jars ask for on a day.
type SproutDay struct {
	Day   aviary.Date
	ML    float64 // given on it
	Steps []SproutStep
}

// SproutStep is a step with its time of day and, where seed is soaked or given, how much.
type SproutStep struct {
	feed.Step
	Clock       aviary.Clock
	ML          float64 // sprouted: of the batch when it is soaked, of the day when it is given
	DryML, DryG float64 // dry, when it is soaked
	Past        bool    // its time has gone by
}

// Soak reports whether the step begins a batch.
func (s SproutStep) Soak() bool { return s.Kind == feed.Soak }

// Give reports whether the step gives sprouted seed to the birds.
func (s SproutStep) Give() bool { return s.Kind == feed.Serve }

// Out reports whether the step takes food out of the cages or throws it away.
func (s SproutStep) Out() bool { return s.Kind == feed.TakeOut || s.Kind == feed.Discard }

// SproutSeed is a seed or bag by its last germination test.
type SproutSeed struct {
	Name string
	Last SproutCount
	Runs int // tests of it
}

// SproutCount is a germination test judged.
type SproutCount struct {
	aviary.GermTest
	feed.Germination
}

const (
	// sproutDays is how many days of steps are laid out, today among them.
	sproutDays = 4
	// sproutSpan is more than the days from a soak to the last step of a batch: at 15 °C 16 h and 72 h, then 4 days in the fridge.
	sproutSpan = 9
)

// UsualDrySeed returns the ml of dry seed for one ml sprouted that a plan without a figure of its own takes.
func UsualDrySeed() float64 { return feed.UsualDry() }

// Sprouts returns how seed is sprouted. What it returns is never nil; the error is a sentence on why the jars of the plan cannot
// be laid out, such as a room too cold for it.
func (d *Desk) Sprouts() (*SproutState, error) {
	var plans []sproutRun
	for _, p := range d.Room.Whole().Sprouts {
		if p.Day > d.Today {
			continue
		}
		run := sproutRun{plan: p, from: d.instant(p.Day, 0)}
		if e := d.Room.Entry(p.Entry); e != nil && e.Time != 0 {
			run.from = d.instant(p.Day, e.Time)
		}
		plans = append(plans, run)
	}
	return d.sprouts(plans)
}

// SproutsBy returns how seed would be sprouted by a plan from now on, in place of the one that holds. The plan need not be in the
// books.
func (d *Desk) SproutsBy(b aviary.SproutsPlanned) (*SproutState, error) {
	return d.sprouts([]sproutRun{{plan: aviary.SproutPlan{Day: d.Today, SproutsPlanned: b}, from: d.instant(d.Today, d.Now)}})
}

// sproutRun is a plan and the instant from which its batches are soaked.
type sproutRun struct {
	plan aviary.SproutPlan
	from time.Time
}

// instant is a time of day on a civil day of the room; midnight without a time.
func (d *Desk) instant(day aviary.Date, at aviary.Clock) time.Time {
	m, _ := at.Minutes()
	t := day.Time()
	return time.Date(t.Year(), t.Month(), t.Day(), 0, max(m, 0), 0, 0, d.Room.Zone(d.Today))
}

// dayOf is the civil day of an instant in the room.
func (d *Desk) dayOf(t time.Time) aviary.Date {
	y, m, day := t.In(d.Room.Zone(d.Today)).Date()
	return aviary.DateOf(y, m, day)
}

func (d *Desk) sprouts(runs []sproutRun) (*SproutState, error) {
	s := &SproutState{Midnight: d.instant(d.Today, 0)}
	s.Tests = d.germTests()
	s.Seeds = seedsOf(s.Tests)
	for _, p := range d.Room.Places() {
		f := d.Feeding(p)
		if f == nil {
			continue
		}
		if ml, _ := feed.Sum(f.Items, feed.SproutedSeed); ml > 0 {
			s.Asked, s.Cages = s.Asked+ml, s.Cages+1
		}
	}
	for i := range sproutDays {
		s.Days = append(s.Days, SproutDay{Day: d.Today + aviary.Date(i)})
	}
	if len(runs) == 0 {
		return s, nil
	}
	last := &runs[len(runs)-1]
	if last.plan.Stop {
		s.Stopped = last.plan.Day
	} else {
		s.Plan = &last.plan
	}
	// A batch belongs to the plan by which it was soaked, so those of an earlier plan are served to their end.
	asked := d.askedSprouts()
	for i, run := range runs {
		var until time.Time
		if i < len(runs)-1 {
			if until = runs[i+1].from; until.Before(d.instant(d.Today-sproutSpan, 0)) {
				continue
			}
		}
		err := d.lay(s, run, until, asked)
		if err != nil && i == len(runs)-1 {
			return s, err
		}
	}
	slices.SortStableFunc(s.Batches, func(a, b SproutBatch) int { return cmp.Compare(a.From, b.From) })
	d.stepsOf(s)
	return s, nil
}

// enginePlan is a plan for the feeding engine, for some ml a day.
func enginePlan(p *aviary.SproutsPlanned, ml float64) feed.SproutPlan {
	out := feed.SproutPlan{ServeML: ml, Celsius: p.Celsius, Every: p.Every}
	m, _ := p.ServeAt.Minutes()
	out.Hour, out.Minute = m/60, m%60
	if up, ok := p.WakeFrom.Minutes(); ok {
		bed, _ := p.WakeTo.Minutes()
		out.WakeFrom, out.WakeTo = float64(up)/60, float64(bed)/60
	}
	if p.DryML != nil {
		out.DryML = *p.DryML
	}
	return out
}

// lay adds the batches that are soaked by a plan until an instant, as far as they concern the days that are laid out.
func (d *Desk) lay(s *SproutState, run sproutRun, until time.Time, asked func(aviary.Date) float64) error {
	p := &run.plan
	if p.Stop {
		return nil
	}
	every := aviary.Date(max(p.Every, 1))
	// Batches follow each other from the day of the plan, so that a jar keeps its number from one day to the next.
	from := p.Day
	if back := d.Today - sproutSpan; back > from {
		from += (back - from) / every * every
	}
	zone := d.Room.Zone(d.Today)
	plan := enginePlan(&p.SproutsPlanned, 1)
	got, err := plan.Schedule(d.instant(from, 0), d.instant(d.Today+sproutDays+sproutSpan, 0), zone)
	if err != nil {
		var f *feed.Error
		if errors.As(err, &f) {
			return &aviary.Error{Code: aviary.Invalid, Field: map[string]string{"temperature": "celsius", "every": "every_days", "hours": "wake_to", "dry": "dry_ml"}[f.Field], Message: f.Message}
		}
		return err
	}
	var batches []SproutBatch
	for _, step := range got.Steps {
		for len(batches) <= step.Batch {
			batches = append(batches, SproutBatch{})
		}
		b := &batches[step.Batch]
		b.steps = append(b.steps, step)
		switch step.Kind {
		case feed.Soak:
			b.Soak = step.At
		case feed.Serve:
			if day := d.dayOf(step.At); b.From == 0 {
				b.From, b.To = day, day
			} else {
				b.To = max(b.To, day)
			}
		}
	}
	jars := jarsFor(batches, every)
	first := int((from - p.Day) / every)
	holds := until.IsZero()
	for i := range batches {
		b := &batches[i]
		if b.Soak.Before(run.from) || (!until.IsZero() && !b.Soak.Before(until)) {
			continue
		}
		if d.dayOf(b.steps[len(b.steps)-1].At) < d.Today {
			continue
		}
		for day := b.From; day <= b.To; day++ {
			if p.ServeML != nil {
				b.ML += *p.ServeML
			} else {
				b.ML += asked(day)
			}
		}
		if !(b.ML > 0) {
			continue
		}
		b.DryML, b.DryG = b.ML*got.DryML/got.BatchML, b.ML*got.DryG/got.BatchML
		b.Number = first + i + 1
		b.Jar = (first+i)%jars + 1
		for k := range b.steps {
			b.steps[k].Batch, b.steps[k].Jar = b.Number, b.Jar
		}
		if holds && s.First == 0 {
			s.First = b.From
		}
		s.Batches = append(s.Batches, *b)
	}
	if holds {
		s.Jars, s.Times, s.DryML, s.Notes = jars, got.Times, got.DryML/got.BatchML, got.Notes
	}
	return nil
}

// jarsFor is how many jars in turn a run of batches takes: as many as are started while one is busy. The usual batch counts, not
// the one over which the clocks change.
func jarsFor(batches []SproutBatch, every aviary.Date) int {
	n, most := map[int]int{}, 1
	for _, b := range batches {
		serve := b.steps[len(b.steps)-1].At
		for _, step := range b.steps {
			if step.Kind == feed.Serve {
				serve = step.At
				break
			}
		}
		n[max(1, int(math.Ceil(serve.Sub(b.Soak).Hours()/24/float64(every))))]++
	}
	for jars, k := range n {
		if k > n[most] || (k == n[most] && jars > most) {
			most = jars
		}
	}
	return most
}

// stepsOf lays the batches' steps on the days.
func (d *Desk) stepsOf(s *SproutState) {
	zone := d.Room.Zone(d.Today)
	now := d.instant(d.Today, d.Now)
	for i := range s.Batches {
		b := &s.Batches[i]
		for _, step := range b.steps {
			day, at := d.dayOf(step.At), step.At.In(zone)
			out := SproutStep{Step: step, Clock: aviary.ClockOf(at.Hour(), at.Minute()), Past: day < d.Today || d.Now != 0 && step.At.Before(now)}
			switch step.Kind {
			case feed.Soak:
				out.ML, out.DryML, out.DryG = b.ML, b.DryML, b.DryG
			case feed.Serve:
				out.ML = b.ML / float64(b.To-b.From+1)
			}
			b.laid = append(b.laid, out)
			if day < d.Today || day >= d.Today+sproutDays {
				continue
			}
			on := &s.Days[day-d.Today]
			if out.Give() {
				on.ML += out.ML
			}
			on.Steps = append(on.Steps, out)
		}
	}
	for i := range s.Days {
		slices.SortStableFunc(s.Days[i].Steps, func(a, b SproutStep) int { return a.At.Compare(b.At) })
	}
}

// askedSprouts returns what the phases ask for on a day, in ml; each day is worked out once.
func (d *Desk) askedSprouts() func(aviary.Date) float64 {
	known := map[aviary.Date]float64{}
	return func(day aviary.Date) float64 {
		ml, ok := known[day]
		if !ok {
			// Days before today are served from what was soaked then; today's figure is the nearest that is known.
			ml = d.usageOn(max(day, d.Today)).sprouts
			known[day] = ml
		}
		return ml
	}
}

// germTests returns every germination test judged, latest first.
func (d *Desk) germTests() []SproutCount {
	var out []SproutCount
	for _, t := range d.Room.Whole().GermTests {
		if t.Day > d.Today {
			continue
		}
		// The door refuses counts that cannot be judged; one from elsewhere is left out.
		if g, err := (feed.GermTest{Day: feedDay(t.Day), Seeds: t.Seeds, Sprouted: t.Sprouted}).Judge(); err == nil {
			out = append(out, SproutCount{t, g})
		}
	}
	slices.Reverse(out)
	return out
}

// seedsOf returns each seed by its last test.
func seedsOf(tests []SproutCount) []SproutSeed {
	var out []SproutSeed
	at := map[string]int{}
	for _, t := range tests {
		key := strings.ToLower(strings.TrimSpace(t.Food))
		i, seen := at[key]
		if !seen {
			i = len(out)
			at[key] = i
			out = append(out, SproutSeed{Name: t.Food, Last: t})
		}
		out[i].Runs++
	}
	return out
}

// Steps returns the jars' steps of today.
func (s *SproutState) Steps() []feed.Step {
	var out []feed.Step
	for _, step := range s.Days[0].Steps {
		out = append(out, step.Step)
	}
	return out
}

// Next returns the first step of the days laid out whose time has not gone by; nil when there is none.
func (s *SproutState) Next() *SproutStep {
	for _, day := range s.Days {
		for i := range day.Steps {
			if !day.Steps[i].Past {
				return &day.Steps[i]
			}
		}
	}
	return nil
}
