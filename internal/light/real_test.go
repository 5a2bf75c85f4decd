package light

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// logOf writes the programme's own timer settings down, leaving out the dates that skip asks for.
func logOf(p *Programme, skip func(Date) bool) []Setting {
	log := []Setting{{p.eve.date, ClockOf(p.local(p.eve.on)), ClockOf(p.local(p.eve.off))}}
	for _, r := range p.TimerSheet() {
		if !skip(r.Date) {
			log = append(log, Setting{r.Date, r.On, r.Off})
		}
	}
	return log
}

func TestDrift_NoneWhenTheSheetIsFollowed(t *testing.T) {
	for _, mode := range []ClockMode{Wall, Standard, Spread} {
		plan := season()
		plan.Clock = mode
		p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: mustZone(t, "America/New_York")})
		d, err := p.Drift(logOf(p, func(Date) bool { return false }), plan.RestBy)
		if err != nil {
			t.Fatal(err)
		}
		if len(d.Rows) != len(p.Rows) || len(d.Missed) != 0 {
			t.Errorf("%s: %d rows, missed %v", mode, len(d.Rows), d.Missed)
		}
		for _, r := range d.Rows {
			if r.Lamp != 0 || r.OnLate != 0 || r.OffLate != 0 || r.JumpedOverStep {
				t.Fatalf("%s: %+v", mode, r)
			}
		}
	}
}

func TestDrift_MissedStepsAndTheJumpThatMakesThemUp(t *testing.T) {
	p := mustBuild(t, Circuit{Plan: season()}, Room{Zone: mustZone(t, "America/New_York")})
	// The steps of 15 and 22 August are not made; that of 29 August makes up for all three.
	log := logOf(p, func(d Date) bool { return d == Date{2026, 8, 15} || d == Date{2026, 8, 22} })
	d, err := p.Drift(log, Date{2026, 8, 24})
	if err != nil {
		t.Fatal(err)
	}
	last := d.Rows[len(d.Rows)-1]
	if last.Date != (Date{2026, 8, 24}) || last.Lamp != -hour || last.OffLate != -hour || last.OnLate != 0 {
		t.Errorf("on 24 August: %+v", last)
	}
	want := []Missed{
		{Date: Date{2026, 8, 15}, From: 10*hour + 30*minute, To: 11 * hour, DaysLate: 9},
		{Date: Date{2026, 8, 22}, From: 11 * hour, To: 11*hour + 30*minute, DaysLate: 2},
	}
	if len(d.Missed) != 2 || d.Missed[0] != want[0] || d.Missed[1] != want[1] {
		t.Errorf("missed %+v", d.Missed)
	}
	d, err = p.Drift(log, Date{2026, 9, 3})
	if err != nil {
		t.Fatal(err)
	}
	if len(d.Missed) != 2 || d.Missed[0].Made != (Date{2026, 8, 29}) || d.Missed[0].DaysLate != 14 || d.Missed[1].DaysLate != 7 {
		t.Errorf("missed %+v", d.Missed)
	}
	for _, r := range d.Rows {
		if jumped := r.Date == (Date{2026, 8, 29}); r.JumpedOverStep != jumped || jumped && r.Jump != hour+30*minute {
			t.Errorf("%+v", r)
		}
	}
}

func TestDrift_TimerLeftOnSummerTimeShowsAnHour(t *testing.T) {
	plan := season()
	plan.Clock = Standard
	p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: mustZone(t, "America/New_York")})
	log := logOf(p, func(d Date) bool { return d == Date{2026, 11, 1} })
	d, err := p.Drift(log, Date{2026, 11, 2})
	if err != nil {
		t.Fatal(err)
	}
	if last := d.Rows[len(d.Rows)-1]; last.OnLate != hour || last.OffLate != hour || last.Lamp != 0 {
		t.Errorf("%+v", last)
	}
}

func TestDrift_NothingIsKnownBeforeTheFirstSetting(t *testing.T) {
	p := mustBuild(t, Circuit{Plan: season()}, Room{Zone: time.UTC})
	d, err := p.Drift(nil, Date{2026, 9, 1})
	if err != nil || len(d.Rows) != 0 || len(d.Missed) != 0 {
		t.Errorf("%+v %v", d, err)
	}
	d, err = p.Drift([]Setting{{Date{2026, 8, 20}, 360, 1170}}, Date{2026, 9, 1})
	if err != nil || d.Rows[0].Date != (Date{2026, 8, 20}) || len(d.Missed) != 0 {
		t.Errorf("%+v %v", d, err)
	}
	if _, err := p.Drift([]Setting{{Date{2026, 8, 20}, 360, 1440}}, Date{2026, 9, 1}); !errors.As(err, new(*Error)) {
		t.Errorf("lamps off at 24:00: %v", err)
	}
}

func TestReplan_CatchesUpWithinTheStep(t *testing.T) {
	c, room := Circuit{Plan: season()}, Room{Zone: mustZone(t, "America/New_York")}
	log := []Setting{{Date{2026, 7, 1}, 360, 930}, {Date{2026, 8, 1}, 360, 960}} // 10 h since 1 August
	re, err := c.Replan(room, log, Date{2026, 8, 24})
	if err != nil {
		t.Fatal(err)
	}
	p := re.Programme
	if p.Rows[0].Date != (Date{2026, 8, 24}) || p.Rows[0].Lamp != 10*hour+30*minute || !p.Rows[0].Touch {
		t.Errorf("today %+v", p.Rows[0])
	}
	// Eight steps from 24 August, a week apart: full on 12 October, eleven days late.
	if p.FullOn != (Date{2026, 10, 12}) || re.FullLate != 11 || re.RestLate != 0 {
		t.Errorf("full on %s, %d days late; rest %d days late", p.FullOn, re.FullLate, re.RestLate)
	}
	// A change of three days ago keeps the interval.
	re, err = c.Replan(room, append(log, Setting{Date{2026, 8, 21}, 360, 990}), Date{2026, 8, 24})
	if err != nil {
		t.Fatal(err)
	}
	if r := mustRow(t, re.Programme, Date{2026, 8, 27}); r.Lamp != 10*hour+30*minute {
		t.Errorf("27 August %v", r.Lamp)
	}
	if r := mustRow(t, re.Programme, Date{2026, 8, 28}); r.Lamp != 11*hour {
		t.Errorf("28 August %v", r.Lamp)
	}
	// Lamps that come on 20 min late go back to their time after the interval, too.
	re, err = c.Replan(room, append(log, Setting{Date{2026, 8, 21}, 380, 980}), Date{2026, 8, 24})
	if err != nil {
		t.Fatal(err)
	}
	for date, want := range map[Date]string{{2026, 8, 27}: "06:20", {2026, 8, 28}: "06:00"} {
		if got := ClockOf(mustRow(t, re.Programme, date).On).String(); got != want {
			t.Errorf("%s: on at %s, want %s", date, got, want)
		}
	}
	// On plan in mid-season nothing is late.
	re, err = c.Replan(room, []Setting{{Date{2026, 9, 26}, 360, 1200}}, Date{2026, 12, 1})
	if err != nil || re.FullLate != 0 || re.RestLate != 0 {
		t.Errorf("%+v %v", re, err)
	}
	if _, err = c.Replan(room, nil, Date{2026, 8, 24}); err == nil || !strings.Contains(err.Error(), "No lamp setting is logged") {
		t.Errorf("without a log: %v", err)
	}
}

// TestReplan_Laws: from any real setting, on any date, no day differs from the one before
// by more than the step, in lamp hours nor in the times of on and off, and the season's goals
// are reached where the dates leave room.
func TestReplan_RunsOnToTheRoomsLastDate(t *testing.T) {
	c := Circuit{Plan: season()}
	room := Room{Zone: mustZone(t, "America/New_York"), To: c.RestBy.AddDays(60)}
	re, err := c.Replan(room, []Setting{{c.RampFrom, 360, 930}}, c.RampFrom)
	if err != nil {
		t.Fatal(err)
	}
	last := re.Programme.Rows[len(re.Programme.Rows)-1]
	if last.Date != room.To || last.Lamp != c.Rest || last.Phase != Resting {
		t.Errorf("ends on %s with %v (%s), want rest until %s", last.Date, last.Lamp, last.Phase, room.To)
	}
}

func TestReplan_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plan, zone := drawPlan(t), drawZone(t)
		plan.Step = max(plan.Step, 10*minute)
		plan.Every = min(plan.Every, 7)
		if plan.RampFrom.Year >= 2098 {
			return
		}
		today := plan.RampFrom.AddDays(rapid.IntRange(-30, plan.RestBy.Sub(plan.RampFrom)+30).Draw(t, "today"))
		real := Setting{today.AddDays(-rapid.IntRange(0, 40).Draw(t, "since")), Clock(rapid.IntRange(0, 1439).Draw(t, "real on")), Clock(rapid.IntRange(0, 1439).Draw(t, "real off"))}
		re, err := Circuit{Plan: plan}.Replan(Room{Zone: zone}, []Setting{real}, today)
		if err != nil {
			t.Fatal(err)
		}
		p := re.Programme
		if p.Rows[0].Date != today {
			t.Fatalf("starts on %s", p.Rows[0].Date)
		}
		started := false
		for k := -2; k <= 2; k++ { // real lamps far longer than full ones start on a date before
			started = started || p.eve.on == wallUnix(p.eve.date.AddDays(k), int64(real.On)*60, zone)
		}
		if !started {
			t.Fatalf("starts after %v, really %v", p.local(p.eve.on), real.On)
		}
		lamp, on, off := time.Duration(real.lamp())*minute, p.local(p.eve.on), p.local(p.eve.off)
		for _, r := range p.Rows {
			if (r.Lamp - lamp).Abs() > plan.Step {
				t.Fatalf("%s: %v after %v", r.Date, r.Lamp, lamp)
			}
			if d := max(apart(on, r.On).Abs(), apart(off, r.Off).Abs()); d > plan.Step && (r.ClockShift == 0 || p.Circuit.Plan.Clock != Wall) {
				t.Fatalf("%s: on %v, off %v after %v, %v", r.Date, r.On, r.Off, on, off)
			}
			lamp, on, off = r.Lamp, r.On, r.Off
		}
		if lamp != plan.Rest && len(p.Rows) < longest {
			t.Fatalf("ends at %v on %s", lamp, p.Rows[len(p.Rows)-1].Date)
		}
	})
}

func TestLate_ThreeWeeks(t *testing.T) {
	l, err := Circuit{Plan: season()}.Late(Room{Zone: mustZone(t, "America/New_York")}, 21)
	if err != nil {
		t.Fatal(err)
	}
	// Full light of 26 September becomes 17 October, 16 days after 1 October.
	if l.FullOn != (Date{2026, 10, 17}) || l.FullLate != 16 || l.FullDaysPlanned-l.FullDays != 21 {
		t.Errorf("%+v", l)
	}
	// 40 days hold six changes, so the nine half hours want 45 min each, or every 5 days.
	if l.Misfit == nil || l.Misfit.StepNeeded != 45*minute || l.Misfit.EveryNeeded != 5 {
		t.Errorf("misfit %+v", l.Misfit)
	}
	if l.Shifted.RampFrom != (Date{2026, 8, 22}) || l.Shifted.RestBy != (Date{2027, 4, 22}) || l.Shifted.Check() != nil {
		t.Errorf("shifted %+v", l.Shifted)
	}
	want := "Starting 21 days late, full light is reached on 17 Oct, 16 days after the date wanted. Full light lasts 107 days instead of 128 days. To keep the date of full light: "
	if !strings.HasPrefix(l.Text(), want) {
		t.Errorf("says %q", l.Text())
	}
}

func TestLate_SoLateThatTheTaperComesFirst(t *testing.T) {
	l, err := Circuit{Plan: season()}.Late(Room{Zone: time.UTC}, 150)
	if err != nil {
		t.Fatal(err)
	}
	if !l.FullOn.IsZero() || l.FullDays != 0 || !strings.Contains(l.Text(), "the taper starts before full light") {
		t.Errorf("%s", l.Text())
	}
	rows := l.Programme.Rows
	for i, r := range rows {
		if r.Change.Abs() > 30*minute {
			t.Errorf("%+v", r)
		}
		if i == len(rows)-1 && r.Lamp != season().Rest {
			t.Errorf("ends with %v", r.Lamp)
		}
	}
	if _, err := (Circuit{Plan: season()}).Late(Room{Zone: time.UTC}, 200); !errors.As(err, new(*Error)) {
		t.Errorf("after the taper: %v", err)
	}
	if l, err := (Circuit{Plan: season()}).Late(Room{Zone: time.UTC}, 0); err != nil || l.Misfit != nil || l.FullLate != 0 {
		t.Errorf("in time: %+v %v", l, err)
	}
}
