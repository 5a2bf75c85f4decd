package advice

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// autumn is the trade's example: rest 9.5 h, full 14 h 06:00-20:00 by early October, up from August, down from February, rest
// in April. Trade practice, no source.
func autumn(year int) *aviary.LampPlanned {
	dusk := 30
	return &aviary.LampPlanned{
		Rest: 9.5, Full: 14, RampFrom: aviary.DateOf(year, time.August, 1), FullBy: aviary.DateOf(year, time.October, 1),
		TaperFrom: aviary.DateOf(year+1, time.February, 1), RestBy: aviary.DateOf(year+1, time.April, 1), On: aviary.ClockOf(6, 0), Step: 30, Every: 7, Dusk: &dusk,
		Moves: "evening", Clocks: "wall", Windows: "none",
	}
}

func autumnFood(year int, name string, species ...string) *aviary.FeedPlanned {
	return &aviary.FeedPlanned{
		Name: name, Species: species, Preparation: aviary.DateOf(year, time.September, 17), Conditioning: aviary.DateOf(year, time.October, 1),
		Moult: aviary.DateOf(year+1, time.April, 1), Rest: aviary.DateOf(year+1, time.May, 27),
	}
}

func lampDay(tb testing.TB, s *Season, day string) LampDay {
	tb.Helper()
	x, ok := s.Light.Today(aviary.MustDate(day))
	if !ok {
		tb.Fatalf("%s is not drawn", day)
	}
	return x
}

// Nine steps of half an hour lead from 9.5 to 14 hours, one a week from 1 August: the last on 26 September.
func TestSeason_LightIsThePlanAndTheTimerAsSet(t *testing.T) {
	b := seasonRoom(t)
	b.add("2025-07-20", autumn(2025))
	b.add("2025-08-03", &aviary.LampSet{On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(16, 0)})
	b.add("2025-09-30", &aviary.LampSet{On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(20, 0)})
	b.add("2025-10-05", &aviary.LampSet{Circuit: "shelf", On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(12, 0)})
	s := b.season(SeasonQuery{}, "2026-01-20")
	if s.From.String() != "2025-08-01" || s.To.String() != "2026-07-31" || len(s.Light.Days) != 365 {
		t.Errorf("drawn from %s to %s, %d days of light", s.From, s.To, len(s.Light.Days))
	}
	for _, x := range []struct {
		day           string
		planned, real float64 // real 0: not known
	}{
		{"2025-08-01", 10, 14},
		{"2025-08-07", 10, 10},
		{"2025-08-08", 10.5, 10},
		{"2025-09-25", 13.5, 10},
		{"2025-09-26", 14, 10},
		{"2025-09-30", 14, 14},
		{"2026-01-20", 14, 14},
		{"2026-01-21", 14, 0},
		{"2026-02-01", 13.5, 0},
		{"2026-03-29", 9.5, 0},
		{"2026-07-31", 9.5, 0},
	} {
		got := lampDay(t, s, x.day)
		if !got.HasPlan || got.Planned.Hours() != x.planned {
			t.Errorf("%s: planned %v, want %v h", x.day, got.Planned, x.planned)
		}
		if got.HasReal != (x.real > 0) || got.Real.Hours() != x.real {
			t.Errorf("%s: real %v (known %v), want %v h", x.day, got.Real, got.HasReal, x.real)
		}
		if !got.HasDaylight {
			t.Errorf("%s: no daylight", x.day)
		}
	}
	// At 53° N the sun is up some 7.5 hours at midwinter and 17 at midsummer; about 12 at the equinox (common knowledge).
	for day, want := range map[string]float64{"2025-12-21": 7.5, "2026-06-21": 17, "2026-03-20": 12.1} {
		if got := lampDay(t, s, day).Daylight.Hours(); got < want-0.3 || got > want+0.3 {
			t.Errorf("daylight of %s: %.2f h, want about %v", day, got, want)
		}
	}
	if c := s.Light.Circuit; c == nil || c.Name != "" || len(s.Light.Circuits) != 2 {
		t.Errorf("circuit %+v of %d", c, len(s.Light.Circuits))
	}
	if c := b.season(SeasonQuery{Circuit: "Shelf"}, "2026-01-20").Light.Circuit; c == nil || c.Name != "shelf" {
		t.Errorf("the shelf is asked for, %+v is drawn", c)
	}
	if c := b.season(SeasonQuery{Circuit: "no such"}, "2026-01-20").Light.Circuit; c == nil || c.Name != "" {
		t.Error("a circuit that is not there does not give way to the whole room")
	}
}

// A plan that is changed in mid-season leaves the days before as they were planned.
func TestSeason_PlanChangedInMidSeason(t *testing.T) {
	b := seasonRoom(t)
	b.add("2025-07-20", autumn(2025))
	b.add("2025-08-01", &aviary.LampSet{On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(16, 0)})
	anew := autumn(2025)
	anew.FromReal = true
	b.add("2025-09-10", anew)
	s := b.season(SeasonQuery{}, "2025-09-20")
	for day, want := range map[string]float64{"2025-08-08": 10.5, "2025-09-09": 12.5, "2025-09-10": 10.5, "2025-09-17": 11, "2026-01-20": 14} {
		if got := lampDay(t, s, day).Planned.Hours(); got != want {
			t.Errorf("%s: planned %v h, want %v", day, got, want)
		}
	}
	if got := lampDay(t, s, "2025-09-15").Real.Hours(); got != 10 {
		t.Errorf("real %v h", got)
	}
}

func TestSeason_FoodByGroup(t *testing.T) {
	b := seasonRoom(t)
	b.add("2025-07-20", autumnFood(2025, "Zebras", "zebra"))
	b.add("2025-07-20", autumnFood(2025, "Bengalese", "bengalese"))
	s := b.season(SeasonQuery{}, "2025-10-10")
	if len(s.Feed) != 2 || s.Feed[0].Name != "Zebras" {
		t.Fatalf("%d bands", len(s.Feed))
	}
	type span struct {
		Phase    feed.Phase
		From, To string
		Guess    bool
	}
	var got []span
	for _, x := range s.Feed[0].Spans {
		got = append(got, span{x.Phase, x.From.String(), x.To.String(), x.Guess})
	}
	want := []span{
		{feed.Preparation, "2025-09-17", "2025-09-30", false},
		{feed.Conditioning, "2025-10-01", "2025-10-10", false},
		{feed.Conditioning, "2025-10-11", "2025-10-14", true},
		{feed.EggFood, "2025-10-15", "2026-03-31", true},
		{feed.Moult, "2026-04-01", "2026-05-26", true},
		{feed.Rest, "2026-05-27", "2026-07-31", true},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestSeason_NothingPlanned(t *testing.T) {
	d := At(aviary.NewRoom(), aviary.MustDate("2026-01-13"), 0)
	s, _ := d.Season(SeasonQuery{}, nil)
	if len(s.Light.Days)+len(s.Feed) != 0 || s.Light.Circuit != nil || d.SeasonPlanned() {
		t.Errorf("an empty room has light %d, food %d", len(s.Light.Days), len(s.Feed))
	}
	if _, _, ok := d.SeasonPlanNext(); ok {
		t.Error("a season that was never planned is copied")
	}
	p, proposed := d.SeasonPlanStart()
	if !proposed || len(p.Lamps) != 1 || len(p.Feed) != 1 {
		t.Fatalf("proposed %v: %+v", proposed, p)
	}
	if diff := cmp.Diff(autumn(2025), p.Lamps[0]); diff != "" {
		t.Errorf("the lamps proposed are not the trade's example (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(autumnFood(2025, ""), p.Feed[0]); diff != "" {
		t.Errorf("food (-want +got):\n%s", diff)
	}
	if faults := d.LampPlanFaults(p.Lamps[0]); len(faults) > 0 {
		t.Errorf("what is proposed is refused: %v", faults[0])
	}
	// A room that knows where it stands, and nothing of lamps: the sun alone.
	b := &book{tb: t}
	b.add("2025-01-01", &aviary.RoomSet{Zone: ptr("Europe/Dublin"), Latitude: ptr(53.3), Longitude: ptr(-6.2)})
	if s := b.season(SeasonQuery{}, "2026-01-13"); len(s.Light.Days) == 0 || s.Light.Days[0].HasPlan || s.Light.Days[0].HasReal || !s.Light.Days[0].HasDaylight {
		t.Errorf("the sun alone: %d days", len(s.Light.Days))
	}
}

// What was noted as begun is drawn where nothing is planned, and the rest that is set for every year.
func TestSeason_BegunAndRestOfTheRoom(t *testing.T) {
	b := seasonRoom(t)
	b.add("2025-01-01", &aviary.RoomSet{LullFrom: ptr("12-20"), LullTo: ptr("01-06")})
	b.add("2025-09-01", &aviary.PhaseBegun{Phase: "conditioning"})
	b.add("2025-12-01", &aviary.PhaseBegun{Phase: "moult"})
	b.add("2026-01-12", &aviary.PhaseBegun{Phase: "moult", Places: []aviary.ID{a1}})
	s := b.season(SeasonQuery{}, "2026-01-20")
	if len(s.Feed) != 2 || s.Feed[0].Name != bandBegun || s.Feed[1].Name != bandLull {
		t.Fatalf("bands %+v", s.Feed)
	}
	last := s.Feed[0].Spans[len(s.Feed[0].Spans)-1]
	if first := s.Feed[0].Spans[0]; first.From.String() != "2025-09-01" || last.Phase != feed.Moult || last.To != aviary.MustDate("2026-01-20") || last.Guess {
		t.Errorf("begun %+v", s.Feed[0].Spans)
	}
	if lull := s.Feed[1].Spans; len(lull) != 1 || lull[0].From.String() != "2025-12-20" || lull[0].To.String() != "2026-01-06" || lull[0].Guess {
		t.Errorf("rest %+v", lull)
	}
	if p := laneAt(t, s, a1).Pauses; len(p) != 1 || p[0].Phase != feed.Moult || p[0].From.String() != "2026-01-12" || p[0].To.String() != "2026-01-20" {
		t.Errorf("the pair's own moult: %+v", p)
	}
	if p := laneAt(t, s, a2).Pauses; len(p) != 0 {
		t.Errorf("another pair's moult: %+v", p)
	}
	s = b.season(SeasonQuery{}, "2025-12-25")
	if lull := s.Feed[1].Spans; len(lull) != 2 || lull[0].Guess || !lull[1].Guess || lull[1].From.String() != "2025-12-26" {
		t.Errorf("rest in its midst %+v", lull)
	}
}

func TestSeason_RestOfTheRoomIsAheadUntilItIsHere(t *testing.T) {
	b := seasonRoom(t)
	b.add("2025-01-01", &aviary.RoomSet{LullFrom: ptr("12-20"), LullTo: ptr("01-06")})
	if lull := b.season(SeasonQuery{}, "2025-12-01").Feed[0].Spans; len(lull) != 1 || !lull[0].Guess || lull[0].From.String() != "2025-12-20" {
		t.Errorf("rest to come %+v", lull)
	}
}

// At 34° S the season begins on 1 February, and so does what is proposed.
func TestSeasonPlan_SouthernHemisphere(t *testing.T) {
	b := &book{tb: t}
	b.add("2025-01-01", &aviary.RoomSet{Zone: ptr("Australia/Sydney"), Latitude: ptr(-33.9), Longitude: ptr(151.2)})
	p, _ := b.desk("2026-01-13").SeasonPlanStart()
	x := p.Lamps[0]
	if got := [4]string{x.RampFrom.String(), x.FullBy.String(), x.TaperFrom.String(), x.RestBy.String()}; got != [4]string{"2026-02-01", "2026-04-01", "2026-08-01", "2026-10-01"} {
		t.Errorf("proposed %v", got)
	}
	b.add("2026-01-13", x)
	b.add("2026-01-13", p.Feed[0])
	d := b.desk("2026-03-01")
	s, _ := d.Season(SeasonQuery{}, nil)
	if s.From.String() != "2026-02-01" || lampDay(t, s, "2026-06-21").Planned.Hours() != 14 || lampDay(t, s, "2026-06-21").Daylight.Hours() > 10.2 {
		t.Errorf("from %s, midwinter in June: %+v", s.From, lampDay(t, s, "2026-06-21"))
	}
	next, years, ok := d.SeasonPlanNext()
	if !ok || years != 1 || next.Lamps[0].RampFrom.String() != "2027-02-01" || next.Feed[0].Moult.String() != "2027-10-01" {
		t.Errorf("copied by %d: %+v", years, next)
	}
}

// 29 February becomes 1 March where the year has none, and stays where it has one.
func TestSeasonPlan_LeapYears(t *testing.T) {
	for _, x := range []struct {
		day   string
		years int
		want  string
	}{
		{"2028-02-29", 1, "2029-03-01"},
		{"2028-02-29", 4, "2032-02-29"},
		{"2028-02-28", 1, "2029-02-28"},
		{"2027-02-28", 1, "2028-02-28"},
		{"2027-03-01", 1, "2028-03-01"},
		{"2096-02-29", 4, "2100-03-01"}, // 2100 is no leap year
	} {
		if got := laterBy(aviary.MustDate(x.day), x.years).String(); got != x.want {
			t.Errorf("%s, %d years on: %s, want %s", x.day, x.years, got, x.want)
		}
	}
	b := seasonRoom(t)
	plan := autumn(2027)
	plan.TaperFrom = aviary.MustDate("2028-02-29")
	plan.RestBy = aviary.MustDate("2028-05-01")
	b.add("2027-07-01", plan)
	next, _, _ := b.desk("2028-06-01").SeasonPlanNext()
	if got := next.Lamps[0].TaperFrom.String(); got != "2029-03-01" {
		t.Errorf("the taper is copied to %s", got)
	}
	if faults := b.desk("2028-06-01").LampPlanFaults(next.Lamps[0]); len(faults) > 0 {
		t.Errorf("the copy is refused: %v", faults[0])
	}
}

// A copied plan is the plan with its dates a year on and nothing else changed, and its lamps do on each day what they did a
// year before.
func TestSeasonPlan_CopiedEqualsShifted(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		year := rapid.IntRange(2001, 2090).Draw(rt, "year")
		draw := func(name string, from aviary.Date, least int) aviary.Date {
			return from + aviary.Date(rapid.IntRange(least, least+60).Draw(rt, name))
		}
		plan := autumn(year)
		plan.RampFrom = aviary.DateOf(year, time.January, 1) + aviary.Date(rapid.IntRange(0, 364).Draw(rt, "ramp"))
		plan.FullBy = draw("full", plan.RampFrom, 60)
		plan.TaperFrom = draw("taper", plan.FullBy, 30)
		plan.RestBy = draw("rest", plan.TaperFrom, 60)
		plan.Banks, plan.Windows, plan.Moves = []string{"Bay 1"}, "sun", "both"
		food := &aviary.FeedPlanned{Name: "All", Banks: []string{"Bay 1"}, Conditioning: plan.FullBy, Moult: plan.RestBy, Rest: plan.RestBy + 50}
		b := seasonRoom(t)
		b.add((plan.RampFrom - 30).String(), plan)
		b.add((plan.RampFrom - 30).String(), food)
		today := plan.RampFrom + aviary.Date(rapid.IntRange(-20, 300).Draw(rt, "today"))
		d := b.desk(today.String())
		next, years, ok := d.SeasonPlanNext()
		if !ok || years != 1 || len(next.Lamps) != 1 || len(next.Feed) != 1 {
			rt.Fatalf("copied by %d: %+v", years, next)
		}
		back := *next.Lamps[0]
		for _, x := range []struct{ got, was *aviary.Date }{{&back.RampFrom, &plan.RampFrom}, {&back.FullBy, &plan.FullBy}, {&back.TaperFrom, &plan.TaperFrom}, {&back.RestBy, &plan.RestBy}} {
			gap := int(*x.got - *x.was)
			if gap != 365 && gap != 366 {
				rt.Errorf("%s becomes %s", *x.was, *x.got)
			}
			*x.got = *x.was
		}
		if diff := cmp.Diff(plan, &back); diff != "" {
			rt.Errorf("more than the dates changed:\n%s", diff)
		}
		if f := next.Feed[0]; f.Preparation != 0 || f.Name != "All" || f.Moult.Time().YearDay() == 0 || f.Conditioning != next.Lamps[0].FullBy {
			rt.Errorf("food copied: %+v", f)
		}
		// With the copy as if written both seasons stand, and neither takes days of the other.
		x := d.If(next.Lamps, next.Feed, nil)
		c := x.Circuits()[0]
		for day := plan.RampFrom; day < plan.FullBy; day += 5 {
			was, ok1 := c.Planned(day)
			is, ok2 := c.Planned(next.Lamps[0].RampFrom + (day - plan.RampFrom))
			if !ok1 || !ok2 || was.Lamp != is.Lamp {
				rt.Fatalf("%s: %v, a year on %v", day, was.Lamp, is.Lamp)
			}
		}
		if d.Unwritten(next).Lamps == nil || len(x.Unwritten(next).Lamps)+len(x.Unwritten(next).Feed) != 0 {
			rt.Error("what stands is not told from what does not")
		}
	})
}

// After some years without a plan the copy goes to the season that is not over yet.
func TestSeasonPlan_OldPlanIsCopiedToASeasonToCome(t *testing.T) {
	b := seasonRoom(t)
	b.add("2025-07-20", autumn(2025))
	b.add("2025-07-20", autumnFood(2025, "Zebras", "zebra"))
	p, years, ok := b.desk("2029-01-10").SeasonPlanNext()
	if !ok || years != 3 || p.Lamps[0].RampFrom.String() != "2028-08-01" || p.Feed[0].Rest.String() != "2029-05-27" {
		t.Errorf("%d years: %+v", years, p.Lamps)
	}
}

// A plan of next season that is written is not itself copied on: the season that runs is.
func TestSeasonPlan_NextSeasonIsDrawnAndNotCopiedOn(t *testing.T) {
	b := seasonRoom(t)
	b.add("2025-07-20", autumn(2025))
	b.add("2025-07-20", autumnFood(2025, "Zebras", "zebra"))
	d := b.desk("2026-01-20")
	next, _, _ := d.SeasonPlanNext()
	if got := len(d.Unwritten(next).Lamps) + len(d.Unwritten(next).Feed); got != 2 {
		t.Errorf("%d rows are new, want 2", got)
	}
	b.add("2026-01-20", next.Lamps[0])
	b.add("2026-01-20", next.Feed[0])
	d = b.desk("2026-01-20")
	again, _, _ := d.SeasonPlanNext()
	if left := d.Unwritten(again); len(left.Lamps)+len(left.Feed) != 0 {
		t.Error("the same season is copied twice")
	}
	s := b.season(SeasonQuery{On: aviary.MustDate("2026-09-01")}, "2026-01-20")
	if !s.Ahead || s.Over || len(s.Lanes)+len(s.Rows) != 0 || lampDay(t, s, "2026-10-01").Planned.Hours() != 14 || !s.Feed[0].Spans[0].Guess {
		t.Errorf("the season to come: %+v", s.Span)
	}
	if s = b.season(SeasonQuery{}, "2026-01-20"); s.Ahead || len(s.All) < 2 || s.All[0].Name != "2026–27" {
		t.Errorf("seasons %+v", s.All)
	}
	// A month of a season to come, and none beyond.
	if s, ok := d.Season(SeasonQuery{Month: aviary.MustDate("2026-09-15")}, nil); !ok || s.From.String() != "2026-09-01" || s.To.String() != "2026-09-30" || !s.Ahead {
		t.Errorf("September: %+v %v", s, ok)
	}
	for _, q := range []SeasonQuery{{Month: aviary.MustDate("2031-01-01")}, {On: aviary.MustDate("2025-09-01"), Month: aviary.MustDate("2026-09-01")}} {
		if _, ok := d.Season(q, nil); ok {
			t.Errorf("%+v is drawn", q)
		}
	}
}

func TestSeasonPlan_PreviewMindsMoultAndLight(t *testing.T) {
	b := seasonRoom(t)
	d := b.desk("2025-07-20")
	lamps, food := autumn(2025), autumnFood(2025, "Zebras", "zebra")
	x := d.PreviewSeason(SeasonPlan{Lamps: []*aviary.LampPlanned{lamps}, Feed: []*aviary.FeedPlanned{food}}, nil)
	if len(x.Minds) != 0 || x.Season.From.String() != "2025-08-01" || x.Season.To.String() != "2026-05-31" || len(x.Circuits) != 1 || len(x.Season.Feed) != 1 {
		t.Errorf("minds %v, %s to %s", x.Minds, x.Season.From, x.Season.To)
	}
	if got := lampDay(t, x.Season, "2025-12-01").Planned.Hours(); got != 14 {
		t.Errorf("the picture as it would be has %v h", got)
	}
	food.Moult, food.Conditioning = aviary.MustDate("2025-12-24"), aviary.MustDate("2025-07-25")
	food.Preparation = 0
	x = d.PreviewSeason(SeasonPlan{Lamps: []*aviary.LampPlanned{lamps}, Feed: []*aviary.FeedPlanned{food}}, nil)
	if len(x.Minds) != 2 || !strings.Contains(x.Minds[0], "Moult of Zebras begins on 24 Dec 2025") || !strings.Contains(x.Minds[1], "Sprouted seed of Zebras begins on 25 Jul 2025") {
		t.Errorf("minds %v", x.Minds)
	}
	// Nothing of a preview stays.
	if d.SeasonPlanned() || len(d.Room.Whole().LampPlans) != 0 {
		t.Error("a preview wrote something")
	}
	// The moult is held against nests that lay by then.
	b.five(a1)
	d = b.desk("2026-01-16")
	food.Moult, food.Conditioning = aviary.MustDate("2026-01-17"), aviary.MustDate("2025-10-01")
	x = d.PreviewSeason(SeasonPlan{Lamps: []*aviary.LampPlanned{lamps}, Feed: []*aviary.FeedPlanned{food}}, nil)
	found := false
	for _, w := range x.Circuits[0].Warnings() {
		found = found || strings.Contains(strings.ToLower(w.Text), "moult")
	}
	if !found {
		t.Errorf("moult amid laying is not warned of: %+v", x.Circuits[0].Warnings())
	}
}

// A place that is only thought of gives the daylight of the preview.
func TestSeasonPlan_PreviewKnowsThePlaceGiven(t *testing.T) {
	b := &book{tb: t}
	b.add("2025-01-01", &aviary.RoomSet{Zone: ptr("Europe/Dublin")})
	d := b.desk("2025-07-20")
	x := d.PreviewSeason(SeasonPlan{Lamps: []*aviary.LampPlanned{autumn(2025)}, Place: &aviary.RoomSet{Latitude: ptr(26.1), Longitude: ptr(-80.2), Zone: ptr("America/New_York")}}, nil)
	got := lampDay(t, x.Season, "2025-12-21")
	if !got.HasDaylight || got.Daylight.Hours() < 10.3 || got.Daylight.Hours() > 10.7 { // Florida at midwinter: 10.5 h (common knowledge)
		t.Errorf("daylight %v, known %v", got.Daylight, got.HasDaylight)
	}
	if s, _ := d.Season(SeasonQuery{}, nil); len(s.Light.Days) > 0 {
		t.Error("the place stays after the preview")
	}
}
