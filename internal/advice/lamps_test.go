package advice

import (
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/light"
)

// lampPlan is the trade's example: rest 9.5 h, full 14 h from 06:00 by early October, ramp from August, taper from
// February, rest in April. Trade practice, no source.
func lampPlan(change ...func(*aviary.LampPlanned)) *aviary.LampPlanned {
	b := &aviary.LampPlanned{
		Rest: 9.5, Full: 14, RampFrom: aviary.MustDate("2025-08-01"), FullBy: aviary.MustDate("2025-10-03"),
		TaperFrom: aviary.MustDate("2026-02-01"), RestBy: aviary.MustDate("2026-04-05"),
		On: aviary.ClockOf(6, 0), Step: 30, Every: 7, Moves: "evening", Clocks: "wall", Windows: "none",
	}
	for _, f := range change {
		f(b)
	}
	return b
}

func set(onH, onM, offH, offM int, circuit ...string) *aviary.LampSet {
	b := &aviary.LampSet{On: aviary.ClockOf(onH, onM), Off: aviary.ClockOf(offH, offM)}
	if circuit != nil {
		b.Circuit = circuit[0]
	}
	return b
}

// bays is a room of two banks and an outdoor aviary, in a zone.
func bays(tb testing.TB, zone string, lat *float64) *book {
	b := &book{tb: tb}
	rs := &aviary.RoomSet{Name: ptr("Furrow Cottage"), Zone: &zone}
	if lat != nil {
		rs.Latitude, rs.Longitude = lat, ptr(0.0)
	}
	b.add("2024-01-01", rs)
	b.add("2024-01-01", &aviary.PlaceAdded{Place: a1, Name: "A1", Type: aviary.Cage, Bank: "Bay A", Row: 1, Col: 1})
	b.add("2024-01-01", &aviary.PlaceAdded{Place: a2, Name: "B1", Type: aviary.Cage, Bank: "Bay B", Row: 1, Col: 1})
	b.add("2024-01-01", &aviary.PlaceAdded{Place: flight, Name: "Flight 1", Type: aviary.Flight, Outdoor: true})
	return b
}

func only(t *testing.T, d *Desk) *LampCircuit {
	t.Helper()
	cs := d.Circuits()
	if len(cs) != 1 {
		t.Fatalf("%d circuits, want 1", len(cs))
	}
	if cs[0].Problem != "" {
		t.Fatalf("no programme: %s", cs[0].Problem)
	}
	return cs[0]
}

func hoursOn(t *testing.T, d *Desk, c *LampCircuit, day string) float64 {
	t.Helper()
	x := d.LampDays(c, aviary.MustDate(day), aviary.MustDate(day))[0]
	if !x.HasPlan {
		t.Fatalf("nothing is planned on %s", day)
	}
	return x.Planned.Hours()
}

func TestLamps_TheTradeExampleComesOutRight(t *testing.T) {
	b := bays(t, "America/New_York", nil)
	b.add("2025-07-20", lampPlan())
	d := b.desk("2025-11-01")
	c := only(t, d)
	for _, x := range []struct {
		day  string
		want float64
	}{
		{"2025-07-31", 9.5},
		{"2025-08-01", 10},
		{"2025-10-03", 14},
		{"2026-01-31", 14},
		{"2026-02-01", 13.5},
		{"2026-04-05", 9.5},
		{"2026-06-30", 9.5},
	} {
		if got := hoursOn(t, d, c, x.day); got != x.want {
			t.Errorf("%s: %v h planned, want %v", x.day, got, x.want)
		}
	}
	row, ok := c.Planned(aviary.MustDate("2025-11-01"))
	if !ok || light.ClockOf(row.On).String() != "06:00" || light.ClockOf(row.Off).String() != "20:00" {
		t.Errorf("full light is %s to %s, want 06:00 to 20:00", light.ClockOf(row.On), light.ClockOf(row.Off))
	}
	if c.Label() != "Whole room" || len(c.Places) != 2 {
		t.Errorf("%s lights %d places, want the whole room and its two indoor cages", c.Label(), len(c.Places))
	}
	if d.CircuitOf(d.Room.Place(flight)) != nil {
		t.Error("an outdoor aviary has lamps")
	}
}

func TestLamps_ALaterPlanTakesTheDaysOfTheEarlier(t *testing.T) {
	later := func(days int) func(*aviary.LampPlanned) {
		return func(p *aviary.LampPlanned) {
			for _, d := range []*aviary.Date{&p.RampFrom, &p.FullBy, &p.TaperFrom, &p.RestBy} {
				*d += aviary.Date(days)
			}
		}
	}
	year := later(365)
	for _, x := range []struct {
		name    string
		second  *aviary.LampPlanned
		written string
		today   string
		ramp    string  // of the plan that is shown
		planned float64 // today
	}{
		{"moved two weeks: the days between are rest", lampPlan(later(14)), "2025-07-25", "2025-08-05", "2025-08-15", 9.5},
		{"next season's plan leaves this one alone", lampPlan(year), "2026-01-05", "2026-01-13", "2025-08-01", 14},
		{"between seasons the next is shown and the last one's rest goes on", lampPlan(year, func(p *aviary.LampPlanned) { p.Rest = 10 }), "2026-01-05", "2026-06-13", "2026-08-01", 9.5},
		{"next season begins while this one comes down", lampPlan(later(200), func(p *aviary.LampPlanned) { p.Rest = 10 }), "2026-01-05", "2026-02-10", "2025-08-01", 13},
		{"and then holds", lampPlan(later(200), func(p *aviary.LampPlanned) { p.Rest = 10 }), "2026-01-05", "2026-02-17", "2026-02-17", 10.5},
	} {
		t.Run(x.name, func(t *testing.T) {
			b := bays(t, "Europe/Dublin", nil)
			b.add("2025-07-20", lampPlan())
			b.add(x.written, x.second)
			d := b.desk(x.today)
			c := only(t, d)
			if got := c.Plan.RampFrom.String(); got != x.ramp {
				t.Errorf("the plan from %s is shown, want that from %s", got, x.ramp)
			}
			if got := hoursOn(t, d, c, x.today); got != x.planned {
				t.Errorf("%v h planned, want %v", got, x.planned)
			}
		})
	}
	t.Run("a struck plan gives the days back", func(t *testing.T) {
		b := bays(t, "Europe/Dublin", nil)
		b.add("2025-07-20", lampPlan())
		e := b.add("2025-07-25", lampPlan(later(14)))
		b.add("2025-07-26", &aviary.Strike{}).Strikes = e.ID
		if got := only(t, b.desk("2025-08-05")).Plan.RampFrom.String(); got != "2025-08-01" {
			t.Errorf("the plan from %s is shown", got)
		}
	})
	t.Run("a plan written later is not known before", func(t *testing.T) {
		b := bays(t, "Europe/Dublin", nil)
		b.add("2025-07-20", lampPlan())
		if cs := b.desk("2025-07-10").Circuits(); len(cs) != 0 {
			t.Errorf("%d circuits ten days before the plan was written", len(cs))
		}
	})
}

func TestLamps_FromRealGoesOnFromTheLampsAsTheyStood(t *testing.T) {
	b := bays(t, "Europe/Dublin", nil)
	b.add("2025-07-20", lampPlan())
	b.add("2025-07-20", set(6, 0, 15, 30))
	b.add("2025-08-01", set(6, 0, 16, 0)) // and then nothing was done for five weeks
	e := b.add("2025-09-05", lampPlan(func(p *aviary.LampPlanned) { p.FromReal = true }))
	d := b.desk("2025-09-05")
	c := only(t, d)
	if c.Plan.Entry != e.ID {
		t.Fatal("the plan that goes on from the lamps does not hold")
	}
	for _, x := range []struct {
		day  string
		want float64
	}{{"2025-08-29", 12}, {"2025-09-04", 12}, {"2025-09-05", 10.5}, {"2025-09-12", 11}, {"2025-10-24", 14}} {
		if got := hoursOn(t, d, c, x.day); got != x.want {
			t.Errorf("%s: %v h planned, want %v", x.day, got, x.want)
		}
	}
	// Set as planned on the day of the plan: the plan says the same as before.
	b.add("2025-09-05", set(6, 0, 16, 30))
	d = b.desk("2025-09-06")
	c = only(t, d)
	if got := hoursOn(t, d, c, "2025-09-12"); got != 11 {
		t.Errorf("after the first step was set, 12 Sep has %v h, want 11", got)
	}
	if len(d.LampTasks()) != 0 {
		t.Errorf("there is something to set the day after: %+v", d.LampTasks())
	}

	b = bays(t, "Europe/Dublin", nil)
	b.add("2025-09-05", lampPlan(func(p *aviary.LampPlanned) { p.FromReal = true }))
	if c := b.desk("2025-09-05").Circuits()[0]; c.Programme != nil || !strings.Contains(c.Problem, "No lamp setting is logged") {
		t.Errorf("without a log: programme %v, problem %q", c.Programme != nil, c.Problem)
	}
}

func TestLampTasks(t *testing.T) {
	for _, x := range []struct {
		name  string
		today string
		log   map[string]*aviary.LampSet
		want  string // the task's words, "" for none
		note  string // part of the note
		state string // missed slow done
	}{
		{"a step is due", "2025-08-15", map[string]*aviary.LampSet{"2025-08-08": set(6, 0, 16, 30)}, "Set the lamps to 06:00–17:00 today", "off 30 min later (was 16:30)", ""},
		{"it is done", "2025-08-15", map[string]*aviary.LampSet{"2025-08-15": set(6, 0, 17, 0)}, "Set the lamps to 06:00–17:00 today", "", "done"},
		{"near enough for a dial", "2025-08-15", map[string]*aviary.LampSet{"2025-08-15": set(6, 3, 16, 56)}, "Set the lamps to 06:00–17:00 today", "", "done"},
		{"no step today", "2025-08-16", map[string]*aviary.LampSet{"2025-08-15": set(6, 0, 17, 0)}, "", "", ""},
		{"yesterday's was missed", "2025-08-16", map[string]*aviary.LampSet{"2025-08-08": set(6, 0, 16, 30)}, "Set the lamps to 06:00–17:00 today", "planned since 15 Aug", "missed"},
		{"far behind: one step", "2025-09-20", map[string]*aviary.LampSet{"2025-08-08": set(6, 0, 16, 30)}, "Set the lamps to 06:00–17:00 today", "one step at a time", "missed slow"},
		{"far behind, and a step made two days ago", "2025-09-20", map[string]*aviary.LampSet{"2025-08-08": set(6, 0, 16, 30), "2025-09-18": set(6, 0, 17, 0)}, "", "", ""},
		{"nothing is known of the timer, and no step", "2025-08-16", nil, "", "", ""},
		{"nothing is known of the timer, a step", "2025-08-15", nil, "Set the lamps to 06:00–17:00 today", "off 30 min later", ""},
		{"the clocks go back: the timer's clock too", "2025-10-26", map[string]*aviary.LampSet{"2025-10-10": set(6, 0, 20, 0)}, "Set the lamps to 06:00–20:00 today", "clock back 1 h", ""},
		{"rest after the season", "2026-06-15", map[string]*aviary.LampSet{"2026-04-05": set(6, 0, 15, 30)}, "", "", ""},
	} {
		t.Run(x.name, func(t *testing.T) {
			b := bays(t, "Europe/Dublin", nil)
			b.add("2025-07-20", lampPlan())
			for day, l := range x.log {
				b.add(day, l)
			}
			got := b.desk(x.today).LampTasks()
			if x.want == "" {
				if len(got) > 0 {
					t.Errorf("to set: %s (%s), want nothing", got[0].Text(), got[0].Note)
				}
				return
			}
			if len(got) != 1 || got[0].Text() != x.want || !strings.Contains(got[0].Note, x.note) {
				t.Fatalf("to set: %+v, want %s", got, x.want)
			}
			for _, s := range []struct {
				word string
				is   bool
			}{{"missed", got[0].Missed}, {"slow", got[0].Slow}, {"done", got[0].Done}} {
				if s.is != strings.Contains(x.state, s.word) {
					t.Errorf("%s: %v", s.word, s.is)
				}
			}
		})
	}
}

func TestLampTasks_DimFromDuskOn(t *testing.T) {
	b := bays(t, "Europe/Dublin", nil)
	b.add("2025-07-20", lampPlan(func(p *aviary.LampPlanned) { p.Dusk = ptr(45) }))
	got := b.desk("2025-08-01").LampTasks()
	if len(got) != 1 || got[0].DimFrom.String() != "15:15" || got[0].Off.String() != "16:00" || got[0].Dusk != 45 {
		t.Errorf("%+v, want dimming from 15:15 to 16:00", got)
	}
}

func TestLamps_CircuitsLightTheirBanks(t *testing.T) {
	named := func(name string, banks []string, places ...aviary.ID) *aviary.LampPlanned {
		return lampPlan(func(p *aviary.LampPlanned) { p.Circuit, p.Banks, p.Places = name, banks, places })
	}
	for _, x := range []struct {
		name   string
		bodies []aviary.Body
		a, b   string // the circuit of A1 and of B1; "-" for none
	}{
		{"by bank, the rest to the whole room", []aviary.Body{named("Left", []string{"bay a"}), named("", nil)}, "Left", "Whole room"},
		{"by place before bank", []aviary.Body{named("Left", []string{"Bay A", "Bay B"}), named("Right", nil, a2)}, "Left", "Right"},
		{"one circuit that names nothing lights all", []aviary.Body{named("Tubes", nil)}, "Tubes", "Tubes"},
		{"two that name nothing: nobody knows", []aviary.Body{named("Tubes", nil), named("Panels", nil)}, "-", "-"},
		{"a log alone, by the bank's name", []aviary.Body{set(6, 0, 20, 0, "Bay A"), set(7, 0, 20, 0, "Bay B")}, "Bay A", "Bay B"},
		{"a log alone, one bank", []aviary.Body{set(6, 0, 20, 0, "Bay A")}, "Bay A", "-"},
		{"a log alone, the whole room", []aviary.Body{set(6, 0, 20, 0)}, "Whole room", "Whole room"},
		{"no lamps", nil, "-", "-"},
	} {
		t.Run(x.name, func(t *testing.T) {
			b := bays(t, "Europe/Dublin", nil)
			for _, body := range x.bodies {
				b.add("2025-07-20", body)
			}
			d := b.desk("2025-08-10")
			for _, p := range []struct {
				id   aviary.ID
				want string
			}{{a1, x.a}, {a2, x.b}} {
				got := "-"
				if c := d.CircuitOf(d.Room.Place(p.id)); c != nil {
					got = c.Label()
				}
				if got != p.want {
					t.Errorf("%s is lit by %s, want %s", d.Room.Place(p.id).Name, got, p.want)
				}
			}
		})
	}
}

func TestLidHoursAt_GoByTheCircuitOfThePlace(t *testing.T) {
	b := bays(t, "Europe/Dublin", nil)
	b.add("2025-07-20", set(5, 0, 19, 0, "Bay A"))
	b.add("2025-07-20", set(8, 0, 22, 0, "Bay B"))
	d := b.desk("2025-08-10")
	for _, x := range []struct {
		id   aviary.ID
		want string
	}{{a1, "06:00–17:00"}, {a2, "09:00–20:00"}, {flight, ""}} {
		if got := d.LidHoursAt(d.Room.Place(x.id)).String(); got != x.want {
			t.Errorf("%s: %q, want %q", d.Room.Place(x.id).Name, got, x.want)
		}
	}
	if got := d.LidHours().String(); got != "09:00–17:00" {
		t.Errorf("in the whole room %q, want the hours in common", got)
	}
}

func TestLamps_WithoutAPlaceNoDaylight(t *testing.T) {
	b := bays(t, "Europe/Dublin", nil)
	b.add("2025-07-20", lampPlan(func(p *aviary.LampPlanned) { p.Windows = "sun" }))
	d := b.desk("2025-08-10")
	c := only(t, d)
	if !c.NoPlace {
		t.Error("the circuit does not say that the room's place is missing")
	}
	if x := d.LampDays(c, d.Today, d.Today)[0]; x.HasDaylight || !x.HasPlan {
		t.Errorf("%+v, want a plan and no daylight", x)
	}
}

// The longest days by the sun: Greenwich Observatory's tables give 16 h 38 min at 51.5 degrees north on 21 June and,
// mirrored, on 21 December in the south; from memory, to 3 min.
func TestLampDays_DaylightOfBothHemispheres(t *testing.T) {
	for _, x := range []struct {
		zone string
		lat  float64
		day  string
	}{{"Europe/London", 51.48, "2025-06-21"}, {"Europe/London", -51.48, "2025-12-21"}} {
		b := bays(t, x.zone, ptr(x.lat))
		b.add("2025-01-01", lampPlan(func(p *aviary.LampPlanned) { p.Windows = "sun" }))
		d := b.desk(x.day)
		c := only(t, d)
		got := d.LampDays(c, d.Today, d.Today)[0]
		if want := 16*time.Hour + 38*time.Minute; !got.HasDaylight || (got.Daylight-want).Abs() > 3*time.Minute {
			t.Errorf("at %v on %s: %v, want %v", x.lat, x.day, got.Daylight, want)
		}
	}
}

func TestLamps_ClocksGoForwardWhereTheZoneSaysSo(t *testing.T) {
	shifts := func(zone, from, to string) (n int) {
		b := bays(t, zone, nil)
		b.add("2025-07-20", lampPlan())
		d := b.desk("2025-08-10")
		for _, r := range only(t, d).Programme.Rows {
			if day := aviaryDate(r.Date); r.ClockShift != 0 && day >= aviary.MustDate(from) && day <= aviary.MustDate(to) {
				n++
			}
		}
		return n
	}
	for _, x := range []struct {
		zone, from, to string
		want           int
	}{
		{"Europe/Dublin", "2025-10-26", "2025-10-26", 1},
		{"Australia/Sydney", "2025-10-05", "2025-10-05", 1},
		{"Australia/Brisbane", "2025-08-01", "2026-04-05", 0},
	} {
		if got := shifts(x.zone, x.from, x.to); got != x.want {
			t.Errorf("%s: %d changes of the clocks, want %d", x.zone, got, x.want)
		}
	}
}

func TestFullLightSince(t *testing.T) {
	for _, x := range []struct {
		name string
		plan bool
		log  []string // day on off
		want string
	}{
		{"by the plan's hours", true, []string{"2025-08-01 06:00 16:00", "2025-10-03 06:00 20:00", "2025-10-20 05:30 20:00"}, "2025-10-03"},
		{"a gap breaks the run", true, []string{"2025-10-03 06:00 20:00", "2025-10-20 06:00 18:00", "2025-10-28 06:00 20:00"}, "2025-10-28"},
		{"not yet", true, []string{"2025-10-03 06:00 19:30"}, ""},
		{"two on one day: the last counts", true, []string{"2025-10-03 06:00 20:00", "2025-10-28 06:00 18:00", "2025-10-28 06:00 20:00"}, "2025-10-03"},
		{"no plan: the longest of the season", false, []string{"2025-05-01 06:00 21:00", "2025-08-20 06:00 18:00", "2025-10-03 06:00 19:00"}, "2025-10-03"},
		{"no plan: short days are not full light", false, []string{"2025-06-01 06:00 16:00"}, ""},
		{"no log", true, nil, ""},
	} {
		t.Run(x.name, func(t *testing.T) {
			b := bays(t, "Europe/Dublin", nil)
			if x.plan {
				b.add("2025-04-20", lampPlan())
			}
			for _, l := range x.log {
				f := strings.Fields(l)
				on, _ := aviary.ParseClock(f[1])
				off, _ := aviary.ParseClock(f[2])
				b.add(f[0], &aviary.LampSet{On: on, Off: off})
			}
			d := b.desk("2025-11-01")
			since, ok := d.FullLightSince(d.Room.Place(a1))
			if since.String() != x.want || ok != (x.want != "") {
				t.Errorf("full light since %q (%v), want %q", since, ok, x.want)
			}
			if _, ok := d.FullLightSince(d.Room.Place(flight)); ok {
				t.Error("an outdoor aviary has full light by lamps")
			}
		})
	}
}

func TestLampLevels_FollowThePlan(t *testing.T) {
	b := bays(t, "Europe/Dublin", nil)
	b.add("2025-07-20", lampPlan(func(p *aviary.LampPlanned) { p.Dusk = ptr(60) }))
	d := b.desk("2025-11-01")
	zone := d.Room.Zone(d.Today)
	for _, x := range []struct {
		h, m int
		want float64
	}{{5, 59, 0}, {6, 0, 1}, {12, 0, 1}, {19, 30, 0.5}, {20, 1, 0}} {
		l := d.LampLevels(time.Date(2025, 11, 1, x.h, x.m, 0, 0, zone))
		if len(l) != 1 || !l[0].Known || l[0].Level != x.want {
			t.Errorf("%02d:%02d: %+v, want %v", x.h, x.m, l, x.want)
		}
	}
	b.add("2025-07-20", set(6, 0, 20, 0, "Porch"))
	d = b.desk("2025-11-01")
	if l := d.LampLevels(time.Date(2025, 11, 1, 12, 0, 0, 0, zone)); len(l) != 2 || l[1].Known {
		t.Errorf("a circuit without a plan has a level: %+v", l)
	}
}
