package light

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

const (
	hour   = time.Hour
	minute = time.Minute
)

// season is the trade's own example: rest 9.5 h, full 14 h from 06:00 to 20:00 by early October,
// ramp from August, taper from February, 9 to 10 h in April (common practice, no source).
func season() Plan {
	return Plan{
		Name: "wall", Rest: Hours(9.5), Full: Hours(14),
		RampFrom: Date{2026, 8, 1}, FullBy: Date{2026, 10, 1}, TaperFrom: Date{2027, 2, 1}, RestBy: Date{2027, 4, 1},
		On: 6 * 60, Step: 30 * minute, Every: 7,
	}
}

func mustBuild(tb testing.TB, c Circuit, r Room) *Programme {
	tb.Helper()
	p, err := Build(c, r)
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

func mustRow(tb testing.TB, p *Programme, d Date) Row {
	tb.Helper()
	r, ok := p.At(d)
	if !ok {
		tb.Fatalf("no row for %s", d)
	}
	return r
}

func TestBuild_SeasonOfTheTrade(t *testing.T) {
	p := mustBuild(t, Circuit{Plan: season()}, Room{Zone: mustZone(t, "America/New_York")})
	if n := len(p.Rows); n != 244 {
		t.Errorf("%d rows, want 244", n)
	}
	for _, c := range []struct {
		date, on, off string
		lamp, change  time.Duration
		phase         Phase
	}{
		{"2026-08-01", "2026-08-01T06:00:00-04:00", "2026-08-01T16:00:00-04:00", 10 * hour, 30 * minute, Ramping},
		{"2026-08-02", "2026-08-02T06:00:00-04:00", "2026-08-02T16:00:00-04:00", 10 * hour, 0, Ramping},
		{"2026-08-08", "2026-08-08T06:00:00-04:00", "2026-08-08T16:30:00-04:00", 10*hour + 30*minute, 30 * minute, Ramping},
		{"2026-09-26", "2026-09-26T06:00:00-04:00", "2026-09-26T20:00:00-04:00", 14 * hour, 30 * minute, FullTime},
		{"2026-12-31", "2026-12-31T06:00:00-05:00", "2026-12-31T20:00:00-05:00", 14 * hour, 0, FullTime},
		{"2027-02-01", "2027-02-01T06:00:00-05:00", "2027-02-01T19:30:00-05:00", 13*hour + 30*minute, -30 * minute, Tapering},
		{"2027-04-01", "2027-04-01T06:00:00-04:00", "2027-04-01T15:30:00-04:00", 9*hour + 30*minute, 0, Resting},
	} {
		r := mustRow(t, p, mustDate(t, c.date))
		if instant(r.On) != c.on || instant(r.Off) != c.off || r.Lamp != c.lamp || r.Change != c.change || r.Phase != c.phase {
			t.Errorf("%s: got %s %s %v %v %s", c.date, instant(r.On), instant(r.Off), r.Lamp, r.Change, r.Phase)
		}
	}
	if p.FullOn != (Date{2026, 9, 26}) || p.RestOn != (Date{2027, 3, 29}) {
		t.Errorf("full on %s, rest on %s", p.FullOn, p.RestOn)
	}
	var warned []string
	for _, r := range p.Rows {
		if w := r.Warning(); w != "" {
			warned = append(warned, r.Date.String()+" "+w)
		}
	}
	want := []string{
		"2026-11-01 the clocks go back 1 h: by the wall clock the birds' day starts 1 h later than the day before",
		"2027-03-14 the clocks go forward 1 h: by the wall clock the birds' day starts 1 h earlier than the day before",
	}
	if !slices.Equal(warned, want) {
		t.Errorf("warnings %q, want %q", warned, want)
	}
}

func TestBuild_MovesTheEndAskedFor(t *testing.T) {
	for _, c := range []struct {
		moves   Moves
		on, off string // in rest
	}{{Evening, "06:00", "15:30"}, {Morning, "10:30", "20:00"}, {Both, "08:15", "17:45"}} {
		plan := season()
		plan.Moves = c.moves
		p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: time.UTC})
		rest, full := mustRow(t, p, plan.RestBy), mustRow(t, p, plan.FullBy)
		if ClockOf(rest.On).String() != c.on || ClockOf(rest.Off).String() != c.off {
			t.Errorf("%s: rest %s to %s", c.moves, ClockOf(rest.On), ClockOf(rest.Off))
		}
		if ClockOf(full.On).String() != "06:00" || ClockOf(full.Off).String() != "20:00" {
			t.Errorf("%s: full %s to %s", c.moves, ClockOf(full.On), ClockOf(full.Off))
		}
	}
}

func TestBuild_LastStepTakesWhatIsLeft(t *testing.T) {
	plan := season()
	plan.Step = 40 * minute // 270 min are six steps of 40 and one of 30
	p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: time.UTC})
	if r := mustRow(t, p, p.FullOn); r.Change != 30*minute || p.FullOn != plan.RampFrom.AddDays(42) {
		t.Errorf("full on %s by %v", p.FullOn, r.Change)
	}
}

func TestBuild_LeapDayIsADateLikeAnother(t *testing.T) {
	plan := season()
	plan.RampFrom, plan.FullBy, plan.TaperFrom, plan.RestBy = Date{2027, 8, 1}, Date{2027, 10, 1}, Date{2028, 2, 1}, Date{2028, 4, 1}
	p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: time.UTC})
	if _, ok := p.At(Date{2028, 2, 29}); !ok || len(p.Rows) != 245 {
		t.Errorf("%d rows", len(p.Rows))
	}
}

func TestBuild_ClockModes(t *testing.T) {
	// Summer time ends 2026-11-01 and starts 2027-03-14 in New York; in Sydney it starts
	// 2026-10-04 and ends 2027-04-04.
	row := func(zone string, mode ClockMode, date string) string {
		plan := season()
		plan.Clock = mode
		plan.RestBy = Date{2027, 5, 15}
		p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: mustZone(t, zone)})
		r := mustRow(t, p, mustDate(t, date))
		return instant(r.On)[11:] + " " + instant(r.Off)[11:]
	}
	for _, c := range []struct {
		zone string
		mode ClockMode
		date string
		want string
	}{
		{"America/New_York", Wall, "2026-10-31", "06:00:00-04:00 20:00:00-04:00"},
		{"America/New_York", Wall, "2026-11-01", "06:00:00-05:00 20:00:00-05:00"},
		{"America/New_York", Standard, "2026-10-31", "07:00:00-04:00 21:00:00-04:00"},
		{"America/New_York", Standard, "2026-11-01", "06:00:00-05:00 20:00:00-05:00"},
		{"America/New_York", Spread, "2026-10-31", "06:00:00-04:00 20:00:00-04:00"},
		{"America/New_York", Spread, "2026-11-01", "05:30:00-05:00 19:30:00-05:00"},
		{"America/New_York", Spread, "2026-11-07", "05:30:00-05:00 19:30:00-05:00"},
		{"America/New_York", Spread, "2026-11-08", "06:00:00-05:00 20:00:00-05:00"},
		{"America/New_York", Spread, "2027-05-15", "06:00:00-04:00 15:30:00-04:00"},
		{"Australia/Sydney", Wall, "2026-10-04", "06:00:00+11:00 20:00:00+11:00"},
		{"Australia/Sydney", Standard, "2026-10-03", "06:00:00+10:00 20:00:00+10:00"},
		{"Australia/Sydney", Standard, "2026-10-04", "07:00:00+11:00 21:00:00+11:00"},
		{"Australia/Sydney", Spread, "2026-10-04", "06:30:00+11:00 20:30:00+11:00"},
		{"Australia/Sydney", Spread, "2026-10-11", "06:00:00+11:00 20:00:00+11:00"},
		// Ireland's tz file calls winter time the summer time of a standard in summer.
		{"Europe/Dublin", Standard, "2026-09-30", "07:00:00+01:00 21:00:00+01:00"},
		{"Europe/Dublin", Standard, "2026-12-30", "06:00:00Z 20:00:00Z"},
		// Half an hour of summer time.
		{"Australia/Lord_Howe", Standard, "2026-10-04", "06:30:00+11:00 20:30:00+11:00"},
		{"Asia/Kolkata", Wall, "2026-11-01", "06:00:00+05:30 20:00:00+05:30"},
		{"Asia/Kolkata", Spread, "2027-03-14", "06:00:00+05:30 17:00:00+05:30"},
	} {
		if got := row(c.zone, c.mode, c.date); got != c.want {
			t.Errorf("%s %s %s: got %s, want %s", c.zone, c.mode, c.date, got, c.want)
		}
	}
}

func TestWallUnix_SkippedAndDoubledTimes(t *testing.T) {
	ny := mustZone(t, "America/New_York")
	for _, c := range []struct {
		d    Date
		at   Clock
		zone *time.Location
		want string
	}{
		{Date{2026, 3, 8}, 150, ny, "2026-03-08T03:30:00-04:00"},  // 02:30 is skipped
		{Date{2026, 11, 1}, 90, ny, "2026-11-01T01:30:00-04:00"},  // 01:30 comes twice
		{Date{2026, 11, 1}, 120, ny, "2026-11-01T02:00:00-05:00"}, // the first moment after
		{Date{2026, 9, 6}, 0, mustZone(t, "America/Santiago"), "2026-09-06T01:00:00-03:00"},
		{Date{2026, 7, 1}, 26 * 60, time.UTC, "2026-07-02T02:00:00Z"},
	} {
		got := instant(time.Unix(wallUnix(c.d, int64(c.at)*60, c.zone), 0).In(c.zone))
		if got != c.want {
			t.Errorf("%s %s: got %s, want %s", c.d, c.at, got, c.want)
		}
	}
}

func TestCheck_SaysWhatHasToGive(t *testing.T) {
	plan := season()
	plan.FullBy = Date{2026, 9, 1}
	err := plan.Check()
	var fit *FitError
	if !errors.As(err, &fit) || len(fit.Misfits) != 1 {
		t.Fatalf("got %v", err)
	}
	want := "The ramp from 9 h 30 min to 14 h takes 9 steps of 30 min, one every 7 days, but from 2026-08-01 to 2026-09-01 there is room for 5. " +
		"One of these must give: the step (54 min, 24 min more), or the interval (3 days, 4 days less), " +
		"or the dates (full by 2026-09-26, 25 days later, or ramp from 2026-07-07, 25 days earlier)."
	if err.Error() != want {
		t.Errorf("got  %s\nwant %s", err, want)
	}
	plan.RestBy = Date{2027, 2, 3}
	if errors.As(plan.Check(), &fit); len(fit.Misfits) != 2 || fit.Misfits[1].Slope != Taper || fit.Misfits[1].EveryNeeded != 0 {
		t.Errorf("got %v", fit)
	}
	if strings.Count(fit.Misfits[1].Text(), "the interval") != 0 {
		t.Errorf("offers an interval that does not help: %s", fit.Misfits[1].Text())
	}
	plan = season()
	plan.TaperFrom, plan.FullBy, plan.RestBy = Date{2026, 9, 20}, Date{2026, 9, 15}, Date{2026, 11, 1}
	for _, want := range []string{"full by 2026-09-26, 11 days later with the taper later too", "taper from 2026-09-06, 14 days earlier with full light earlier too"} {
		if err := plan.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

// TestCheck_EachWayOutIsEnoughAndNoMore applies every offer of a misfit by itself, and a
// little less of it.
func TestCheck_EachWayOutIsEnoughAndNoMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plan := drawPlan(t)
		var fit *FitError
		if !errors.As(plan.Check(), &fit) {
			return
		}
		for _, m := range fit.Misfits {
			fits := func(step time.Duration, every int, from, by Date) bool {
				p := plan
				p.Step, p.Every = step, every
				_, bad := p.misfit(m.Slope, from, by)
				return !bad
			}
			if !fits(m.StepNeeded, m.Every, m.From, m.By) || fits(m.StepNeeded-minute, m.Every, m.From, m.By) {
				t.Fatalf("step %v: %+v", m.StepNeeded, m)
			}
			if m.EveryNeeded > 0 && !fits(m.Step, m.EveryNeeded, m.From, m.By) || fits(m.Step, m.EveryNeeded+1, m.From, m.By) {
				t.Fatalf("every %d: %+v", m.EveryNeeded, m)
			}
			if !fits(m.Step, m.Every, m.From, m.ByNeeded) || fits(m.Step, m.Every, m.From, m.ByNeeded.AddDays(-1)) {
				t.Fatalf("by %s: %+v", m.ByNeeded, m)
			}
			if !fits(m.Step, m.Every, m.FromNeeded, m.By) || fits(m.Step, m.Every, m.FromNeeded.AddDays(1), m.By) {
				t.Fatalf("from %s: %+v", m.FromNeeded, m)
			}
		}
	})
}

func TestCheck_NamesTheField(t *testing.T) {
	for field, spoil := range map[string]func(*Plan){
		"rest-hours": func(p *Plan) { p.Rest = 15 * hour },
		"full-hours": func(p *Plan) { p.Full = Hours(math.NaN()) },
		"step":       func(p *Plan) { p.Step = 90 * time.Second },
		"every":      func(p *Plan) { p.Every = 0 },
		"on":         func(p *Plan) { p.On = 1440 },
		"dusk":       func(p *Plan) { p.Dusk = -minute },
		"moves":      func(p *Plan) { p.Moves = "noon" },
		"clock":      func(p *Plan) { p.Clock = "sundial" },
		"ramp-from":  func(p *Plan) { p.RampFrom = Date{2026, 2, 30} },
		"full-by":    func(p *Plan) { p.FullBy = Date{2026, 7, 1} },
		"taper-from": func(p *Plan) { p.TaperFrom = p.FullBy },
		"rest-by":    func(p *Plan) { p.RestBy = Date{2036, 7, 1} },
	} {
		plan := season()
		spoil(&plan)
		_, err := Build(Circuit{Plan: plan}, Room{Zone: time.UTC})
		var e *Error
		if !errors.As(err, &e) || e.Field != field || !strings.HasSuffix(e.Message, ".") {
			t.Errorf("%s: got %v", field, err)
		}
	}
	for field, room := range map[string]Room{
		"tz":      {},
		"windows": {Zone: time.UTC, Windows: Sun},
		"lat":     {Zone: time.UTC, Place: &Place{91, 0}},
		"from":    {Zone: time.UTC, From: Date{2026, 8, 2}},
		"to":      {Zone: time.UTC, To: Date{2027, 3, 1}},
	} {
		_, err := Build(Circuit{Plan: season()}, room)
		var e *Error
		if !errors.As(err, &e) || e.Field != field {
			t.Errorf("%s: got %v", field, err)
		}
	}
}

func drawPlan(t *rapid.T) Plan {
	start := Date{1901, 1, 1}.AddDays(rapid.IntRange(0, 71000).Draw(t, "start"))
	if rapid.Bool().Draw(t, "modern") {
		start = Date{2020, 1, 1}.AddDays(rapid.IntRange(0, 3650).Draw(t, "start"))
	}
	rest := rapid.IntRange(1, 1200).Draw(t, "rest")
	p := Plan{
		Rest: time.Duration(rest) * minute,
		Full: time.Duration(rapid.IntRange(rest, 1439).Draw(t, "full")) * minute,
		On:   Clock(rapid.IntRange(0, 1439).Draw(t, "on")),
		Step: time.Duration(rapid.IntRange(1, 120).Draw(t, "step")) * minute, Every: rapid.IntRange(1, 20).Draw(t, "every"),
		Moves: rapid.SampledFrom([]Moves{"", Evening, Morning, Both}).Draw(t, "moves"),
		Clock: rapid.SampledFrom([]ClockMode{"", Wall, Standard, Spread}).Draw(t, "clock"),
	}
	p.RampFrom = start
	p.FullBy = p.RampFrom.AddDays(rapid.IntRange(0, 200).Draw(t, "ramp"))
	p.TaperFrom = p.FullBy.AddDays(rapid.IntRange(1, 200).Draw(t, "hold"))
	p.RestBy = p.TaperFrom.AddDays(rapid.IntRange(0, 200).Draw(t, "taper"))
	return p
}

func drawZone(t *rapid.T) *time.Location {
	name := rapid.SampledFrom([]string{
		"America/New_York", "Europe/London", "Europe/Dublin", "Australia/Sydney", "Australia/Lord_Howe",
		"America/Santiago", "Pacific/Auckland", "Africa/Casablanca", "Asia/Kolkata", "UTC", "Asia/Tehran",
	}).Draw(t, "zone")
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// apart is how far two dates' times differ as times of the birds' day.
func apart(a, b time.Time) time.Duration { return b.Sub(a) - 24*hour }

// TestBuild_Laws: never jumps more than the step, reaches rest and full on the days asked,
// only changes on its own dates, monotone in ramp and taper, and with standard and spread on and
// off keep the rule too.
func TestBuild_Laws(t *testing.T) {
	built := 0
	rapid.Check(t, func(t *rapid.T) {
		plan, zone := drawPlan(t), drawZone(t)
		p, err := Build(Circuit{Plan: plan}, Room{Zone: zone})
		if err != nil {
			if !errors.As(err, new(*FitError)) {
				t.Fatal(err)
			}
			return
		}
		built++
		plan = p.Circuit.Plan
		if p.Rows[0].Date != plan.RampFrom || p.Rows[len(p.Rows)-1].Date != plan.RestBy {
			t.Fatalf("rows from %s to %s", p.Rows[0].Date, p.Rows[len(p.Rows)-1].Date)
		}
		lamp, on, off := plan.Rest, p.local(p.eve.on), p.local(p.eve.off)
		for i, r := range p.Rows {
			if r.Date != plan.RampFrom.AddDays(i) || r.Off.Sub(r.On) != r.Lamp || r.Change != r.Lamp-lamp || r.Seen != r.Lamp {
				t.Fatalf("%+v", r)
			}
			if r.Change.Abs() > plan.Step {
				t.Fatalf("%s jumps by %v", r.Date, r.Change)
			}
			up := r.Date.Before(plan.TaperFrom)
			if up && r.Change < 0 || !up && r.Change > 0 {
				t.Fatalf("%s goes the wrong way by %v", r.Date, r.Change)
			}
			from := plan.TaperFrom
			if up {
				from = plan.RampFrom
			}
			if r.Change != 0 && r.Date.Sub(from)%plan.Every != 0 {
				t.Fatalf("%s is no date for a change", r.Date)
			}
			if r.Date == from && plan.Full > plan.Rest && r.Change == 0 {
				t.Fatalf("no change on %s", from)
			}
			if !r.Date.Before(plan.FullBy) && up && r.Lamp != plan.Full {
				t.Fatalf("%s has %v, not full light", r.Date, r.Lamp)
			}
			jumps := plan.Clock == Wall && r.ClockShift != 0
			if d := max(apart(on, r.On).Abs(), apart(off, r.Off).Abs()); d > plan.Step && !jumps {
				t.Fatalf("%s: on %v, off %v after %v, %v", r.Date, r.On, r.Off, on, off)
			}
			if jumps != strings.Contains(r.Warning(), "the clocks go") {
				t.Fatalf("%s warns %q", r.Date, r.Warning())
			}
			if plan.Clock == Wall && wallUnix(r.Date, int64(plan.nominalOn(minutes(r.Lamp)))*60, zone) != r.On.Unix() {
				t.Fatalf("%s: on at %v", r.Date, r.On)
			}
			lamp, on, off = r.Lamp, r.On, r.Off
		}
		if lamp != plan.Rest {
			t.Fatalf("ends with %v", lamp)
		}
	})
	if built == 0 {
		t.Error("no plan that was drawn fits")
	}
}

// TestBuild_SpreadComesBackToTheWallClock: four weeks and a few busy days after the last
// change the lamps stand at their own wall times again.
func TestBuild_SpreadComesBackToTheWallClock(t *testing.T) {
	for _, zone := range []string{"America/New_York", "Australia/Sydney"} {
		for step := 1; step <= 90; step++ {
			plan := season()
			plan.Clock, plan.Step, plan.Every = Spread, time.Duration(step)*minute, 1
			plan.FullBy, plan.RestBy = Date{2027, 1, 31}, Date{2027, 12, 1}
			p, err := Build(Circuit{Plan: plan}, Room{Zone: mustZone(t, zone)})
			if errors.As(err, new(*FitError)) {
				continue // steps of a minute take longer than the autumn
			}
			if err != nil {
				t.Fatal(err)
			}
			if p.zone.String() == "America/New_York" {
				if got := ClockOf(mustRow(t, p, Date{2027, 10, 31}).On); got != plan.On {
					t.Errorf("%s, step %d: on at %s", zone, step, got)
				}
			}
			if got := ClockOf(mustRow(t, p, Date{2027, 9, 30}).On); got != plan.On {
				t.Errorf("%s, step %d: on at %s", zone, step, got)
			}
		}
	}
}

// TestBuild_SeenIsCountedMinuteByMinute compares the hours seen, and those before and after
// the lamps, with a count of the minutes of each date.
func TestBuild_SeenIsCountedMinuteByMinute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plan, zone := drawPlan(t), drawZone(t)
		plan.FullBy = plan.RampFrom.AddDays(rapid.IntRange(0, 10).Draw(t, "short ramp"))
		plan.TaperFrom, plan.RestBy = plan.FullBy.AddDays(1), plan.FullBy.AddDays(12)
		plan.Every, plan.Step = 1, 2*hour
		place := Place{rapid.Float64Range(-75, 75).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")}
		room := Room{Zone: zone, Place: &place, Windows: rapid.SampledFrom([]Windows{Twilight, Sun}).Draw(t, "windows")}
		p, err := Build(Circuit{Plan: plan}, room)
		if err != nil {
			if !errors.As(err, new(*FitError)) {
				t.Fatal(err)
			}
			return
		}
		if len(p.Rows) < 3 {
			return
		}
		i := rapid.IntRange(1, len(p.Rows)-2).Draw(t, "i")
		r, d := p.Rows[i], p.daylight[i]
		var seen, before, after int
		for s := d.from; s < d.to; s += 60 {
			lit := false
			for _, x := range p.Rows[i-1 : i+2] {
				lit = lit || s >= x.On.Unix() && s < x.Off.Unix()
			}
			window := false
			for _, w := range p.through(i) {
				window = window || s >= w.from && s < w.to
			}
			if lit || window {
				seen++
			}
			if window && !lit && s < r.On.Unix() {
				before++
			}
			if window && !lit && s >= r.Off.Unix() {
				after++
			}
		}
		for _, c := range []struct {
			got  time.Duration
			want int
		}{{r.Seen, seen}, {r.Before, before}, {r.After, after}} {
			if math.Abs(c.got.Minutes()-float64(c.want)) > 4 { // ends of the pieces, half a minute each
				t.Fatalf("%s: seen %v before %v after %v, counted %d %d %d min", r.Date, r.Seen, r.Before, r.After, seen, before, after)
			}
		}
	})
}

func TestBuild_DaylightBreaksTheRest(t *testing.T) {
	room := Room{Zone: mustZone(t, "Europe/Amsterdam"), Place: &Place{52.09, 5.12}, Windows: Sun}
	p := mustBuild(t, Circuit{Plan: season()}, room)
	r := mustRow(t, p, Date{2026, 8, 1})
	day, err := Daylight(*room.Place, room.Zone, r.Date)
	if err != nil {
		t.Fatal(err)
	}
	// Sunrise 06:01, sunset 21:31 by the almanac's rule of thumb for Utrecht on 1 August: the
	// lamps, 06:00 to 16:00, end long before the light does.
	if r.Before != 0 || r.After != day.Sunset.Sub(r.Off) || r.Seen != day.Sunset.Sub(r.On) {
		t.Errorf("before %v after %v seen %v, sunset %v", r.Before, r.After, r.Seen, day.Sunset)
	}
	if w := r.Warning(); !strings.HasPrefix(w, "daylight lengthens the short day, 5 h ") || !strings.Contains(w, "cover the windows, or shift the programme") {
		t.Errorf("warns %q", w)
	}
	if w := mustRow(t, p, Date{2026, 12, 21}).Warning(); w != "" {
		t.Errorf("midwinter at full light warns %q", w)
	}
	none := mustBuild(t, Circuit{Plan: season()}, Room{Zone: room.Zone, Place: room.Place})
	if r := mustRow(t, none, Date{2026, 8, 1}); r.Seen != r.Lamp || !r.HasDaylight || r.Daylight != day.Length || r.Warning() != "" {
		t.Errorf("without windows: %+v", r)
	}
	sum := p.Summary()
	if len(sum) == 0 || sum[0].Kind != ShortBroken || sum[0].From != (Date{2026, 8, 1}) || sum[0].Worst.Month != time.August {
		t.Fatalf("summary %+v", sum)
	}
	if !strings.Contains(sum[0].Text(), "up to 5 h") {
		t.Errorf("summary says %q", sum[0].Text())
	}
}

func TestBuild_DarkBetweenLampsAndDaylight(t *testing.T) {
	plan := season()
	plan.Rest, plan.Full, plan.On = 2*hour, 2*hour, 5*60
	p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: mustZone(t, "Europe/Amsterdam"), Place: &Place{52.09, 5.12}, Windows: Sun})
	r := mustRow(t, p, Date{2026, 12, 21})
	day := p.daylight[r.Date.Sub(p.Rows[0].Date)]
	if r.Gap != day.Sunrise.Sub(r.Off) || r.Gap < hour || !strings.Contains(r.Warning(), "of dark between the lamps and daylight") {
		t.Errorf("gap %v, %q", r.Gap, r.Warning())
	}
}

func TestBestShift_MovesLampsToTheDaylight(t *testing.T) {
	plan := season()
	plan.Rest, plan.Full, plan.On = 12*hour, 12*hour, 3*60
	p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: time.UTC, Place: &Place{0, 0}, Windows: Sun})
	s := p.BestShift() // days run from about 06:00 to 18:07, a quarter of an hour either way
	if s.By != 3*hour || s.Then > 15*minute || s.Now < 2*hour {
		t.Errorf("%+v", s)
	}
	if s := mustBuild(t, Circuit{Plan: plan}, Room{Zone: time.UTC}).BestShift(); s != (Shift{}) {
		t.Errorf("without windows %+v", s)
	}
}

func TestWarnings_AboutNests(t *testing.T) {
	feb := Span{Date{2027, 1, 10}, Date{2027, 2, 10}}
	birds := &Birds{
		Nests: []Nest{
			{Label: "C12", Live: feb, Young: Span{Date{2027, 1, 25}, Date{2027, 2, 10}}},
			{Label: "C14", Live: Span{From: Date{2027, 1, 28}}, Laying: Span{Date{2027, 1, 28}, Date{2027, 2, 2}}},
			{Label: "C20", Live: Span{Date{2026, 10, 10}, Date{2026, 12, 1}}},
		},
		Moults: []Moult{{"flight 1", Span{Date{2027, 2, 1}, Date{2027, 4, 1}}}},
	}
	p := mustBuild(t, Circuit{season(), birds}, Room{Zone: mustZone(t, "America/New_York")})
	for date, want := range map[string]string{
		"2026-08-01": "",
		"2026-11-01": "the clocks go back 1 h: by the wall clock the birds' day starts 1 h later than the day before; live nests: C20",
		"2027-01-31": "",
		"2027-02-01": "the lamps shorten while young are still fed at C12 and nests are live at C14; moult (flight 1) overlaps laying (C14): move one of them",
		"2027-02-02": "moult (flight 1) overlaps laying (C14): move one of them",
		"2027-02-15": "the lamps shorten while nests are live at C14",
	} {
		if got := mustRow(t, p, mustDate(t, date)).Warning(); got != want {
			t.Errorf("%s: got %q, want %q", date, got, want)
		}
	}
	var moult []Warning
	for _, w := range p.Summary() {
		if w.Kind == MoultLaying {
			moult = append(moult, w)
		}
	}
	if len(moult) != 1 || moult[0].From != (Date{2027, 2, 1}) || moult[0].To != (Date{2027, 2, 2}) {
		t.Errorf("summary %+v", moult)
	}

	w := Circuit{season(), birds}.WaitForYoung()
	if w.Plan.TaperFrom != (Date{2027, 2, 11}) || w.Plan.RestBy != (Date{2027, 4, 11}) ||
		!slices.Equal(w.For, []string{"C12"}) || !slices.Equal(w.Open, []string{"C14"}) {
		t.Errorf("wait %+v", w)
	}
	if w := (Circuit{Plan: season()}).WaitForYoung(); w.Plan != season() {
		t.Errorf("nothing to wait for: %+v", w)
	}
}

func TestWarnings_AboutTheSizeOfSteps(t *testing.T) {
	plan := season()
	plan.Step = 45 * minute
	warning := func(plan Plan, b *Birds, d Date) string {
		return mustRow(t, mustBuild(t, Circuit{plan, b}, Room{Zone: time.UTC}), d).Warning()
	}
	first := plan.RampFrom
	if got := warning(plan, nil, first); got != "45 min in one day; common practice keeps to 30 min a day while nests are live" {
		t.Errorf("birds not known: %q", got)
	}
	if got := warning(plan, &Birds{}, first); got != "" {
		t.Errorf("no nests: %q", got)
	}
	live := &Birds{Nests: []Nest{{Label: "C3", Live: Span{From: first}}}}
	if got := warning(plan, live, first); got != "45 min in one day; common practice keeps to 30 min a day while nests are live (C3)" {
		t.Errorf("live nest: %q", got)
	}
	plan.Step, plan.Every = 30*minute, 3
	if got := warning(plan, nil, first.AddDays(3)); got != "" {
		t.Errorf("1 h within a week: %q", got)
	}
	if got := warning(plan, nil, first.AddDays(6)); got != "1 h 30 min within 7 days; common practice keeps to 1 h a week while nests are live" {
		t.Errorf("1.5 h within a week: %q", got)
	}
	plan.Step, plan.Every = 30*minute, 7
	if got := warning(plan, nil, first.AddDays(7)); got != "" {
		t.Errorf("30 min a week: %q", got)
	}
}

// TestTimerSheet_IsAllThatATimerNeeds plays the sheet on a timer and looks at every date.
func TestTimerSheet_IsAllThatATimerNeeds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plan, zone := drawPlan(t), drawZone(t)
		plan.Dusk = min(plan.Rest, 30*minute)
		p, err := Build(Circuit{Plan: plan}, Room{Zone: zone})
		if err != nil {
			return
		}
		on, off := ClockOf(p.local(p.eve.on)), ClockOf(p.local(p.eve.off))
		sheet := p.TimerSheet()
		for _, r := range p.Rows {
			if len(sheet) > 0 && sheet[0].Date == r.Date {
				if sheet[0].Note == "" {
					t.Fatalf("%s: touched for nothing", r.Date)
				}
				on, off, sheet = sheet[0].On, sheet[0].Off, sheet[1:]
			}
			if ClockOf(r.On) != on || ClockOf(r.Off) != off {
				t.Fatalf("%s: the timer says %s to %s, the plan %v to %v", r.Date, on, off, r.On, r.Off)
			}
		}
		if len(sheet) != 0 {
			t.Fatalf("dates outside the programme: %v", sheet)
		}
	})
}

func TestTimerSheet_OnlyTheDatesOfChange(t *testing.T) {
	plan := season()
	plan.Dusk = 30 * minute
	p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: mustZone(t, "America/New_York")})
	sheet := p.TimerSheet()
	if len(sheet) != 9+9+2 {
		t.Errorf("%d dates, want 9 up, 9 down and 2 changes of the clocks", len(sheet))
	}
	if got := strings.Join(sheet[0].Cells(), ","); got != "2026-08-01,wall,06:00,15:30,16:00,10,off 30 min later (was 15:30)" {
		t.Errorf("first: %s", got)
	}
	if got := sheet[9]; got.Date != (Date{2026, 11, 1}) || got.Note != "put the timer's clock back 1 h" {
		t.Errorf("autumn: %+v", got)
	}
	plan.Clock = Standard
	p = mustBuild(t, Circuit{Plan: plan}, Room{Zone: mustZone(t, "America/New_York")})
	if got := p.TimerSheet()[9].Note; got != "put the timer's clock back 1 h; on 1 h earlier (was 07:00); off 1 h earlier (was 21:00)" {
		t.Errorf("standard in autumn: %s", got)
	}
}

func TestLevel_FadesThroughTheDusk(t *testing.T) {
	plan := season()
	plan.Dusk = 60 * minute
	p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: time.UTC})
	at := func(s string) time.Time {
		x, err := time.Parse(time.RFC3339, s)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	for when, want := range map[string]float64{
		"2026-10-01T05:59:59Z": 0, "2026-10-01T06:00:00Z": 1, "2026-10-01T19:00:00Z": 1,
		"2026-10-01T19:30:00Z": 0.5, "2026-10-01T19:45:00Z": 0.25, "2026-10-01T20:00:00Z": 0, "2027-04-01T23:00:00Z": 0,
	} {
		if got, ok := p.Level(at(when)); !ok || got != want {
			t.Errorf("%s: got %v %v, want %v", when, got, ok, want)
		}
	}
	if _, ok := p.Level(at("2026-07-31T12:00:00Z")); ok {
		t.Error("knows the day before the programme")
	}
	if r := mustRow(t, p, plan.FullBy); r.Feeding != 13*hour+30*minute {
		t.Errorf("feeding %v", r.Feeding)
	}
	plan.On = 20 * 60
	p = mustBuild(t, Circuit{Plan: plan}, Room{Zone: time.UTC})
	for _, d := range []Date{plan.RampFrom, plan.FullBy} {
		if got, ok := p.Level(time.Unix(d.unix()+3600, 0)); !ok || got != 1 {
			t.Errorf("an hour past midnight of %s: %v %v", d, got, ok)
		}
	}
}

func TestBuildAll_CircuitsDifferAndShareTheRoom(t *testing.T) {
	a, b := season(), season()
	b.Name, b.Full, b.RampFrom, b.On = "flights", 13*hour, Date{2026, 7, 15}, 7*60
	room := Room{Zone: mustZone(t, "Europe/London"), Place: &Place{51.5, -0.12}, Windows: Twilight, To: Date{2027, 7, 31}}
	ps, err := BuildAll([]Circuit{{Plan: a}, {Plan: b}}, room)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range []Plan{a, b} {
		one := mustBuild(t, Circuit{Plan: c}, room)
		if len(one.Rows) != len(ps[i].Rows) {
			t.Fatalf("%s: %d rows, alone %d", c.Name, len(ps[i].Rows), len(one.Rows))
		}
		for k := range one.Rows {
			if !slices.Equal(one.Rows[k].Cells(), ps[i].Rows[k].Cells()) {
				t.Errorf("%s: %v, alone %v", c.Name, ps[i].Rows[k].Cells(), one.Rows[k].Cells())
			}
		}
	}
	if r := mustRow(t, ps[0], Date{2027, 7, 31}); r.Lamp != a.Rest || r.Phase != Resting {
		t.Errorf("past rest-by: %+v", r)
	}
	if ps, err := BuildAll(nil, room); err != nil || len(ps) != 0 {
		t.Errorf("no circuits: %v %v", ps, err)
	}
}

func TestCells_MatchTheirHeaders(t *testing.T) {
	room := Room{Zone: mustZone(t, "America/New_York"), Place: &Place{26.1, -80.2}}
	p := mustBuild(t, Circuit{Plan: season()}, room)
	got := strings.Join(p.Rows[0].Cells(), ",")
	if !strings.HasPrefix(got, "2026-08-01,2026-08-01T06:00:00-04:00,2026-08-01T16:00:00-04:00,10,13.3") || !strings.HasSuffix(got, ",10,0.5,") {
		t.Errorf("row %s", got)
	}
	if len(p.Rows[0].Cells()) != len(RowHeader()) || len(p.TimerSheet()[0].Cells()) != len(TimerHeader()) {
		t.Error("cells and header differ in number")
	}
	night, err := Daylight(Place{78, 15}, time.UTC, Date{2026, 12, 21})
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(night.Cells(), ","); got != "2026-12-21,,,,,0,night" {
		t.Errorf("polar night %s", got)
	}
	for _, c := range []struct {
		v    any
		want string
	}{
		{night, `{"date":"2026-12-21","civil_dawn":null,"sunrise":null,"sunset":null,"civil_dusk":null,"day_length_h":0,"polar":"night"}`},
		{mustRow(t, mustBuild(t, Circuit{Plan: season()}, Room{Zone: time.UTC}), Date{2026, 8, 2}), `{"date":"2026-08-02","on":"2026-08-02T06:00:00Z","off":"2026-08-02T16:00:00Z","lamp_h":10,"daylight_h":null,"seen_h":10,"change":0,"warning":""}`},
	} {
		b, err := json.Marshal(c.v)
		if err != nil || string(b) != c.want {
			t.Errorf("got %s %v", b, err)
		}
	}
	// Amsterdam kept 19 min 32 s until 1937: the instant written is the true one.
	old, err := Daylight(Place{52.37, 4.9}, mustZone(t, "Europe/Amsterdam"), Date{1930, 1, 5})
	if err != nil {
		t.Fatal(err)
	}
	back, err := time.Parse(time.RFC3339, old.Cells()[2])
	if err != nil || !back.Equal(old.Sunrise) {
		t.Errorf("wrote %s for %v", old.Cells()[2], old.Sunrise)
	}
}

// TestWords_NeverCallAnHourRequired reads every text of the package.
func TestWords_NeverCallAnHourRequired(t *testing.T) {
	var texts []string
	for _, c := range Cautions() {
		if c.Title == "" || c.Text == "" || c.Source == "" {
			t.Errorf("%s: a caution without title, text or source", c.Key)
		}
		texts = append(texts, c.Title, c.Text)
	}
	for _, mode := range []ClockMode{Wall, Standard, Spread} {
		plan := season()
		plan.Clock, plan.Every = mode, 1
		p := mustBuild(t, Circuit{Plan: plan}, Room{Zone: mustZone(t, "America/New_York"), Place: &Place{60, 0}, Windows: Twilight})
		texts = append(texts, p.Notes()...)
		for _, w := range p.Summary() {
			texts = append(texts, w.Text())
		}
		if !strings.Contains(p.Notes()[0], "room practice") {
			t.Errorf("notes open with %q", p.Notes()[0])
		}
	}
	for _, s := range texts {
		if strings.Contains(strings.ToLower(s), "require") {
			t.Errorf("says %q", s)
		}
	}
	for _, key := range []string{"mains", "dust", "heat", "failure", "code", "electrician"} {
		if !slices.ContainsFunc(Cautions(), func(c Caution) bool { return c.Key == key }) {
			t.Errorf("no caution about %s", key)
		}
	}
}

// BenchmarkYear is the promise: a year with daylight for ten circuits in under 5 ms.
func BenchmarkYear(b *testing.B) {
	zone := mustZone(b, "America/New_York")
	var cs []Circuit
	for i := range 10 {
		plan := season()
		plan.On += Clock(i)
		plan.Clock = []ClockMode{Wall, Standard, Spread}[i%3]
		cs = append(cs, Circuit{Plan: plan})
	}
	room := Room{Zone: zone, Place: &Place{41, -74}, Windows: Twilight, To: Date{2027, 7, 31}}
	b.ReportAllocs()
	for b.Loop() {
		ps, err := BuildAll(cs, room)
		if err != nil || len(ps[9].Rows) != 365 {
			b.Fatal(err)
		}
	}
}
