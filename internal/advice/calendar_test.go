package advice

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

// dates lists a desk's calendar from a day to another, those of one kind.
func dates(d *Desk, kind CalendarKind, from, to string) []CalendarEvent {
	return slices.DeleteFunc(d.Calendar(aviary.MustDate(from), aviary.MustDate(to)), func(e CalendarEvent) bool { return kind != "" && e.Kind != kind })
}

func keys(list []CalendarEvent) (out []string) {
	for _, e := range list {
		out = append(out, e.Key)
	}
	return out
}

// sat is the zebras' pair with a clutch: the first egg was laid on 20 January 2026, four lay there on the 24th.
func sat(t *testing.T) *book {
	b := zebras(t)
	b.add("2026-01-19", &aviary.NestCheck{Place: a1, Box: box1, Look: "changed", Eggs: ptr(0)})
	b.add("2026-01-20", &aviary.NestCheck{Place: a1, Box: box1, Look: "changed", Eggs: ptr(1)})
	b.add("2026-01-24", &aviary.NestCheck{Place: a1, Box: box1, Look: "changed", Eggs: ptr(4)})
	return b
}

func TestCalendar_ANestGivesItsWindows(t *testing.T) {
	b := sat(t)
	d := b.desk("2026-01-25")
	list := dates(d, "", "2026-01-01", "2026-06-01")
	got := map[CalendarKind]CalendarEvent{}
	for _, e := range list {
		if e.Place != nil && e.Place.ID == a1 {
			if _, twice := got[e.Kind]; twice {
				t.Errorf("two dates of the kind %s", e.Kind)
			}
			got[e.Kind] = e
		}
	}
	n := d.Nests(d.Room.Place(a1))[0]
	for kind, want := range map[CalendarKind]string{
		"candle": "A1: candle", "hatch": "A1: hatch", "ring": "A1: ring, if they hatch as expected", "fledge": "A1: young leave the nest", "wean": "A1: young on their own",
	} {
		e := got[kind]
		if e.Title != want || e.From == 0 || e.To < e.From || !strings.HasSuffix(e.Key, n.Clutch.Key.String()) {
			t.Errorf("%s: %+v", kind, e)
		}
		if !strings.Contains(e.Text, "Zebra") || !strings.Contains(e.Text, "4 eggs") || !strings.Contains(e.Text, "Rests on: ") {
			t.Errorf("%s says %q", kind, e.Text)
		}
	}
	// The hatch is the one that the nest's page tells: the course of package nest, held to published ranges there.
	hatch := got["hatch"]
	if !strings.HasPrefix(hatch.Text, Expects(n.Course.Event(nest.Hatch))) || !strings.Contains(hatch.Text, "(8 in 10)") {
		t.Errorf("hatch says %q", hatch.Text)
	}
	// Zebra finches hatch after 11 to 15 days of sitting (Zann 1996, The Zebra Finch), so from eggs of 20 to 24 January
	// early in February; the young leave the nest 17 to 23 days later (Zann 1996). From memory.
	if hatch.From < aviary.MustDate("2026-02-01") || hatch.To > aviary.MustDate("2026-02-10") {
		t.Errorf("hatch %s to %s", hatch.From, hatch.To)
	}
	if f := got["fledge"]; f.From < hatch.From+15 || f.To > hatch.To+26 {
		t.Errorf("out of the nest %s to %s", f.From, f.To)
	}

	// Looks move the dates; what they are about stays the same.
	b.add("2026-02-06", &aviary.NestCheck{Place: a1, Box: box1, Look: "changed", Eggs: ptr(1), Chicks: ptr(3)})
	later := dates(b.desk("2026-02-07"), "", "2026-01-01", "2026-06-01")
	for _, e := range later {
		switch e.Kind {
		case "candle":
			t.Errorf("candling is past: %+v", e)
		case "hatch":
			if e.Key != hatch.Key || e.Title != "A1: hatched" || e.From != e.To {
				t.Errorf("%+v", e)
			}
		case "ring":
			if e.Title != "A1: ring the chicks" || e.Key != got["ring"].Key || strings.Contains(e.Text, "not come") {
				t.Errorf("%+v", e)
			}
		}
	}
	// A clutch that came to nothing promises nothing.
	b.add("2026-02-09", &aviary.NestCheck{Place: a1, Box: box1, Look: "changed", Eggs: ptr(0), Chicks: ptr(0)})
	for _, e := range dates(b.desk("2026-02-10"), "", "2026-02-10", "2026-06-01") {
		if e.Place != nil && (e.Kind == "ring" || e.Kind == "fledge" || e.Kind == "wean" || e.Kind == "hatch") {
			t.Errorf("after it was lost: %+v", e)
		}
	}
}

func TestCalendar_ClearEggsPromiseNoHatch(t *testing.T) {
	b := sat(t)
	b.add("2026-01-31", &aviary.NestCheck{Place: a1, Box: box1, Look: "changed", Eggs: ptr(4), Candled: []string{"clear", "clear", "clear", "clear"}})
	for _, e := range dates(b.desk("2026-01-31"), "", "2026-01-20", "2026-06-01") {
		if e.Kind != "candle" && e.Kind != "lamps" && e.Kind != "feeding" {
			t.Errorf("%+v", e)
		}
	}
}

func TestCalendar_ATimerIsSetOnTheDaysOfItsSheet(t *testing.T) {
	b := zebras(t)
	b.add("2025-07-20", lampPlan())
	d := b.desk("2025-07-25")
	list := dates(d, "lamps", "2025-07-25", "2026-06-30")
	var got, want []aviary.Date
	for _, e := range list {
		got = append(got, e.From)
		if e.From != e.To || e.Time != 0 || !strings.HasPrefix(e.Title, "Whole room: set the timer to ") || !strings.Contains(e.Text, "of light") || !strings.Contains(e.Text, "licensed electrician") {
			t.Errorf("%+v", e)
		}
	}
	for _, row := range d.Circuits()[0].Programme.TimerSheet() {
		if day := aviaryDate(row.Date); day >= d.Today && day <= aviary.MustDate("2026-06-30") {
			want = append(want, day)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" || len(got) < 10 {
		t.Errorf("%s", diff)
	}
	if list[0].Title != "Whole room: set the timer to 06:00–16:00" || list[0].From != aviary.MustDate("2025-08-01") || !strings.Contains(list[0].Text, "10 h of light") {
		t.Errorf("first %+v", list[0])
	}
	// The same steps, two weeks later: each stays itself.
	b.add("2025-07-24", lampPlan(func(p *aviary.LampPlanned) {
		for _, day := range []*aviary.Date{&p.RampFrom, &p.FullBy, &p.TaperFrom, &p.RestBy} {
			*day += 14
		}
	}))
	moved := dates(b.desk("2025-07-25"), "lamps", "2025-07-25", "2026-07-31")
	ramp := func(list []CalendarEvent) []string {
		return slices.DeleteFunc(keys(list), func(k string) bool { return !strings.Contains(k, "/up/") })
	}
	if diff := cmp.Diff(ramp(list), ramp(moved)); diff != "" || moved[0].From != list[0].From+14 || len(ramp(list)) != 9 { // 4.5 h in steps of half an hour
		t.Errorf("%d steps up; %s", len(ramp(list)), diff)
	}
}

func TestCalendar_APhaseBeginsWhenItsGroupsPlanSays(t *testing.T) {
	b := zebras(t)
	plan := aviary.FeedPlanned{
		Name: "Left bank", Preparation: aviary.MustDate("2026-08-01"), Conditioning: aviary.MustDate("2026-09-10"),
		Moult: aviary.MustDate("2027-03-01"), Rest: aviary.MustDate("2027-05-01"),
	}
	b.add("2026-07-01", &plan)
	d := b.desk("2026-07-10")
	got := map[string]string{}
	first := dates(d, "feeding", "2026-07-10", "2027-06-30")
	for _, e := range first {
		got[e.Title] = e.From.String()
	}
	want := map[string]string{
		"Left bank: preparation begins, sexes apart": "2026-08-01", "Left bank: sprouted seed begins": "2026-09-10",
		"Left bank: food for the moult begins": "2027-03-01", "Left bank: rest food begins": "2027-05-01",
	}
	for title, day := range want {
		if got[title] != day {
			t.Errorf("%s: %q, want %s", title, got[title], day)
		}
	}
	moved := plan
	moved.Conditioning += 10
	b.add("2026-07-05", &moved)
	if diff := cmp.Diff(keys(first), keys(dates(b.desk("2026-07-10"), "feeding", "2026-07-10", "2027-06-30"))); diff != "" {
		t.Error(diff)
	}
	// A phase that began before the first day asked for does not begin then.
	for _, e := range dates(d, "feeding", "2026-08-15", "2026-12-31") {
		if e.From == aviary.MustDate("2026-08-15") {
			t.Errorf("%+v", e)
		}
	}
}

func TestCalendar_QuarantineAndAway(t *testing.T) {
	b := zebras(t)
	q := id(7)
	b.add("2026-02-01", &aviary.PlaceAdded{Place: q, Name: "Q1", Type: aviary.Quarantine})
	b.add("2026-02-01", &aviary.BirdAcquired{Bird: id(70), Species: "zebra", Place: q})
	b.add("2026-02-02", &aviary.PlaceChanged{Place: q, BlockedUntil: ptr(aviary.MustDate("2026-03-04"))})
	away := b.add("2026-02-02", &aviary.AwaySet{From: aviary.MustDate("2026-02-10"), To: aviary.MustDate("2026-02-14"), Text: "Keys at number 4"})
	d := b.desk("2026-02-03")
	if list := dates(d, "quarantine", "2026-02-01", "2026-06-01"); len(list) != 1 || list[0].From != aviary.MustDate("2026-03-04") || list[0].Title != "Q1: quarantine is over" || !strings.Contains(list[0].Text, "avian vet") {
		t.Errorf("%+v", list)
	}
	list := dates(d, "away", "2026-02-01", "2026-06-01")
	if len(list) != 1 || list[0].From != aviary.MustDate("2026-02-10") || list[0].To != aviary.MustDate("2026-02-14") || list[0].Text != "Keys at number 4" || !strings.HasSuffix(list[0].Key, away.ID.String()) {
		t.Errorf("%+v", list)
	}
	for _, c := range []struct {
		from, to string
		n        int
	}{{"2026-02-14", "2026-02-20", 1}, {"2026-02-15", "2026-02-20", 0}, {"2026-02-01", "2026-02-10", 1}, {"2026-02-01", "2026-02-09", 0}} {
		if got := dates(d, "away", c.from, c.to); len(got) != c.n {
			t.Errorf("%s to %s: %d dates, want %d", c.from, c.to, len(got), c.n)
		}
	}
}

func TestCalendar_EachKeyIsThereOnceAndBeginsWithItsKind(t *testing.T) {
	b := sat(t)
	b.add("2025-07-20", lampPlan())
	b.add("2025-07-20", lampPlan(func(p *aviary.LampPlanned) { p.Circuit = "Left" }))
	d := b.desk("2026-01-25")
	known := map[CalendarKind]bool{}
	for _, s := range CalendarSorts() {
		if s.Label == "" || known[s.Kind] || strings.ContainsAny(string(s.Kind), ",/ ") {
			t.Errorf("%+v", s)
		}
		known[s.Kind] = true
	}
	seen := map[string]bool{}
	list := dates(d, "", "2025-01-01", "2027-01-01")
	for i, e := range list {
		if seen[e.Key] || !strings.HasPrefix(e.Key, string(e.Kind)+"/") || !known[e.Kind] || e.To < e.From || e.Title == "" {
			t.Errorf("%+v", e)
		}
		if i > 0 && e.From < list[i-1].From {
			t.Errorf("%s comes after %s", e.From, list[i-1].From)
		}
		seen[e.Key] = true
	}
	if diff := cmp.Diff(keys(list), keys(dates(b.desk("2026-01-25"), "", "2025-01-01", "2027-01-01"))); diff != "" {
		t.Error(diff)
	}
}

func TestCalendar_FoodIsOrderedInTime(t *testing.T) {
	b := zebras(t)
	b.add("2026-02-01", &aviary.StoreCounted{Food: "canary seed", Grams: 200, OrderDays: ptr(3)})
	b.add("2026-02-01", &aviary.StoreCounted{Food: "grit", Grams: 200})
	d := b.desk("2026-02-02")
	s := d.Stores()[0]
	if !s.Known || s.OrderBy() == 0 {
		t.Fatalf("%+v", s)
	}
	list := dates(d, "order", "2026-01-01", "2026-12-31")
	if len(list) != 1 || list[0].From != s.OrderBy() || list[0].Title != "Order "+s.Name || !strings.Contains(list[0].Text, "lasts until "+s.Last().Short()) {
		t.Fatalf("%+v", list)
	}
	key := list[0].Key
	// Counted again it lasts longer, and is the same matter. Past its day it is asked for today.
	b.add("2026-02-03", &aviary.StoreCounted{Food: "canary seed", Grams: 400})
	list = dates(b.desk("2026-02-03"), "order", "2026-01-01", "2026-12-31")
	if len(list) != 1 || list[0].Key != key || list[0].From <= s.OrderBy() {
		t.Errorf("%+v", list)
	}
	late := b.desk("2026-03-20")
	list = dates(late, "order", "2026-01-01", "2026-12-31")
	if len(list) != 1 || list[0].From != late.Today || !strings.HasPrefix(list[0].Text, "It was to be ordered by ") {
		t.Errorf("%+v", list)
	}
}

func TestCalendar_SeedIsTestedAndSoakedInTime(t *testing.T) {
	b := zebras(t)
	b.add("2026-07-01", &aviary.FeedPlanned{Name: "Left bank", Preparation: aviary.MustDate("2026-08-01"), Conditioning: aviary.MustDate("2026-09-10"), Rest: aviary.MustDate("2027-05-01")})
	list := dates(b.desk("2026-07-10"), "sprouts", "2026-07-10", "2026-12-31")
	if len(list) != 1 || list[0].From != aviary.MustDate("2026-08-27") || list[0].Title != "Left bank: test the seed for sprouting" || !strings.Contains(list[0].Text, "begins 10 Sep") {
		t.Errorf("%+v", list)
	}
	b.add("2026-08-27", &aviary.GerminationTested{Food: "canary seed", Seeds: 100, Sprouted: 92})
	if list := dates(b.desk("2026-08-30"), "sprouts", "2026-07-10", "2026-12-31"); len(list) != 0 {
		t.Errorf("tested three days ago: %+v", list)
	}
	b.add("2026-09-01", &aviary.SproutsPlanned{ServeAt: aviary.ClockOf(7, 0), Celsius: 20, Every: 1, WakeFrom: aviary.ClockOf(6, 0), WakeTo: aviary.ClockOf(22, 0), ServeML: ptr(60.0)})
	d := b.desk("2026-09-02")
	s, err := d.Sprouts()
	if err != nil || len(s.Batches) == 0 {
		t.Fatalf("%+v, %v", s, err)
	}
	list = dates(d, "sprouts", "2026-08-01", "2026-12-31")
	if len(list) != len(s.Batches) {
		t.Fatalf("%d dates for %d jars", len(list), len(s.Batches))
	}
	for i, e := range list {
		soak := s.Batches[i].Soak.In(d.Room.Zone(d.Today))
		m, _ := e.Time.Minutes()
		if e.Minutes < 1 || m != soak.Hour()*60+soak.Minute() || e.From != aviary.DateOf(soak.Year(), soak.Month(), soak.Day()) || !strings.HasPrefix(e.Title, "Soak seed, jar ") || !strings.Contains(e.Text, "throw away") {
			t.Errorf("%+v; soaked %v", e, soak)
		}
	}
	// Given an hour later it is soaked an hour later; the jar of a day stays that jar.
	b.add("2026-09-02", &aviary.SproutsPlanned{ServeAt: aviary.ClockOf(8, 0), Celsius: 20, Every: 1, WakeFrom: aviary.ClockOf(6, 0), WakeTo: aviary.ClockOf(22, 0), ServeML: ptr(60.0)})
	again := keys(dates(b.desk("2026-09-02"), "sprouts", "2026-08-01", "2026-12-31"))
	kept := 0
	for _, e := range list {
		if slices.Contains(again, e.Key) {
			kept++
		}
	}
	if kept < len(list)-2 {
		t.Errorf("of %d jars %d stay themselves: %v", len(list), kept, again)
	}
}
