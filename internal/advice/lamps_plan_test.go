package advice

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// breeding is the zebras' room with a plan, and a clutch in A1 whose first egg came on 1 February 2026.
func breeding(t *testing.T, change ...func(*aviary.LampPlanned)) *book {
	b := zebras(t)
	b.add("2025-07-20", lampPlan(change...))
	for i, day := range []string{"2026-01-31", "2026-02-01", "2026-02-03", "2026-02-05"} {
		b.add(day, &aviary.NestCheck{Place: a1, Look: "changed", Eggs: ptr([]int{0, 1, 3, 5}[i])})
	}
	return b
}

func warned(c *LampCircuit, words ...string) *LampWarning {
	for _, w := range c.Warnings() {
		all := true
		for _, x := range words {
			all = all && strings.Contains(w.Text, x)
		}
		if all {
			return &w
		}
	}
	return nil
}

func TestLampWarnings_NestsLive(t *testing.T) {
	day := func(s string) aviary.Date { return aviary.MustDate(s) }
	taper := func(p *aviary.LampPlanned) { p.TaperFrom, p.RestBy = day("2026-03-01"), day("2026-05-03") }
	t.Run("coming down while young are fed", func(t *testing.T) {
		c := only(t, breeding(t, taper).desk("2026-02-06"))
		w := warned(c, "the lamps shorten while", "A1")
		if w == nil || w.From != day("2026-03-01") || w.Days < 2 || w.To <= w.From {
			t.Errorf("warnings: %+v, want one for all the days that shorten meanwhile", c.Warnings())
		}
	})
	t.Run("a big step", func(t *testing.T) {
		c := only(t, breeding(t, taper, func(p *aviary.LampPlanned) { p.Step = 45; p.Every = 9 }).desk("2026-02-06"))
		if w := warned(c, "45 min in one day", "A1"); w == nil || w.Supposed {
			t.Errorf("warnings: %+v", c.Warnings())
		}
	})
	t.Run("a big week", func(t *testing.T) {
		c := only(t, breeding(t, taper, func(p *aviary.LampPlanned) { p.Step = 30; p.Every = 3 }).desk("2026-02-06"))
		if w := warned(c, "within 7 days", "A1"); w == nil {
			t.Errorf("warnings: %+v", c.Warnings())
		}
	})
	t.Run("no nest is known: supposed", func(t *testing.T) {
		b := zebras(t)
		b.add("2025-07-20", lampPlan(taper, func(p *aviary.LampPlanned) { p.Step = 45 }))
		c := only(t, b.desk("2026-02-06"))
		if w := warned(c, "45 min in one day"); w == nil || !w.Supposed {
			t.Errorf("warnings: %+v", c.Warnings())
		}
	})
	t.Run("no further than a year from the season's start", func(t *testing.T) {
		b := zebras(t)
		b.add("2025-07-20", lampPlan())
		for _, w := range only(t, b.desk("2026-02-06")).Warnings() {
			if w.From > day("2026-08-01") {
				t.Errorf("%s: %s", w.When(), w.Text)
			}
		}
	})
	t.Run("gentle steps and no nest: nothing", func(t *testing.T) {
		b := zebras(t)
		b.add("2025-07-20", lampPlan(taper, func(p *aviary.LampPlanned) { p.Clocks = "standard" }))
		if c := only(t, b.desk("2026-02-06")); len(c.Warnings()) > 0 {
			t.Errorf("warnings: %+v", c.Warnings())
		}
	})
}

func TestLampWarnings_MoultAndLayingOfTheSameBirds(t *testing.T) {
	moult := aviary.MustDate("2026-02-04")
	for _, x := range []struct {
		name   string
		body   aviary.Body
		warned bool
	}{
		{"planned for the species that lays", &aviary.FeedPlanned{Name: "Zebras", Species: []string{"zebra"}, Moult: moult}, true},
		{"planned for another species", &aviary.FeedPlanned{Name: "Gouldians", Species: []string{"gouldian"}, Moult: moult}, false},
		{"planned for another bank", &aviary.FeedPlanned{Name: "Bay 9", Banks: []string{"Bay 9"}, Moult: moult}, false},
		{"planned for the room", &aviary.FeedPlanned{Moult: moult}, true},
		{"planned for after laying", &aviary.FeedPlanned{Moult: aviary.MustDate("2026-05-20")}, false},
	} {
		t.Run(x.name, func(t *testing.T) {
			b := breeding(t)
			b.add("2026-02-01", x.body)
			c := only(t, b.desk("2026-02-05"))
			if got := warned(c, "moult", "overlaps laying", "A1") != nil; got != x.warned {
				t.Errorf("warned %v, want %v: %+v", got, x.warned, c.Warnings())
			}
		})
	}
}

func TestLampWait_TheTaperWaitsForTheYoung(t *testing.T) {
	change := func(p *aviary.LampPlanned) {
		p.TaperFrom, p.RestBy = aviary.MustDate("2026-03-01"), aviary.MustDate("2026-05-03")
	}
	c := only(t, breeding(t, change).desk("2026-02-06"))
	w := c.Wait()
	if len(w.For) != 1 || w.For[0] != "A1" || w.Plan == nil || w.Days <= 0 {
		t.Fatalf("%+v, want to wait for A1", w)
	}
	young := c.Birds.Nests[0].Young
	if w.Plan.TaperFrom != aviaryDate(young.To)+1 || w.Plan.RestBy-w.Plan.TaperFrom != c.Plan.RestBy-c.Plan.TaperFrom {
		t.Errorf("down from %s, rest by %s; the young may be fed until %s", w.Plan.TaperFrom, w.Plan.RestBy, young.To)
	}
	// Written, it holds and waits for nobody.
	b := breeding(t, change)
	b.add("2026-02-06", w.Plan)
	c = only(t, b.desk("2026-02-06"))
	if got := c.Wait(); got.Plan != nil || c.Plan.TaperFrom != w.Plan.TaperFrom {
		t.Errorf("after it was written it still waits: %+v", got)
	}
	if warned(c, "young are still fed") != nil {
		t.Error("the moved plan comes down on young")
	}
	// A taper that has begun does not wait.
	if got := only(t, breeding(t).desk("2026-02-06")).Wait(); got.Plan != nil || got.For != nil {
		t.Errorf("lamps that come down already wait: %+v", got)
	}
}

func TestLampDrift_StepsNotMadeAndJumps(t *testing.T) {
	b := bays(t, "Europe/Dublin", nil)
	b.add("2025-07-20", lampPlan())
	b.add("2025-07-20", set(6, 0, 15, 30))
	b.add("2025-08-01", set(6, 0, 16, 0))
	b.add("2025-08-20", set(6, 0, 17, 0)) // two steps in one, one of them 12 days late
	x := only(t, b.desk("2025-08-23")).Drift()
	if !x.Known || x.Lamp.Minutes() != -30 || x.Off.Minutes() != -30 || x.Since != aviary.MustDate("2025-08-20") {
		t.Errorf("%+v, want half an hour short", x)
	}
	if len(x.Missed) != 3 || x.Missed[0].Late != 12 || x.Missed[1].Late != 5 || x.Missed[2].Made != 0 || x.Missed[2].Late != 1 {
		t.Errorf("missed: %+v, want steps 12 and 5 days late, and one not made", x.Missed)
	}
	if len(x.Jumps) != 1 || x.Jumps[0].By.Minutes() != 60 {
		t.Errorf("jumps: %+v, want one of an hour", x.Jumps)
	}
	if x := only(t, b.desk("2026-03-01")).Drift(); len(x.Missed) > 0 {
		t.Errorf("steps of the way up are told of while the lamps come down: %+v", x.Missed)
	}
}

func TestLampReplan_SaysHowLate(t *testing.T) {
	b := bays(t, "Europe/Dublin", nil)
	b.add("2025-07-20", lampPlan())
	if _, err := only(t, b.desk("2025-09-05")).Replan(); err == nil || !strings.Contains(err.Error(), "No lamp setting is logged up to 5 Sep 2025") {
		t.Errorf("without a log: %v", err)
	}
	b.add("2025-08-01", set(6, 0, 16, 0))
	re, err := only(t, b.desk("2025-09-05")).Replan()
	if err != nil {
		t.Fatal(err)
	}
	// Eight steps of half an hour from 5 September, a week apart: full on 24 October, three weeks after 3 October.
	if re.FullOn != aviary.MustDate("2025-10-24") || re.FullLate != 21 || !re.Plan.FromReal {
		t.Errorf("%+v", re)
	}
	if got := re.Text(); !strings.HasPrefix(got, "Full light is reached on 24 Oct, 21 days after the date of the plan.") {
		t.Error(got)
	}
}

func TestLampLate_ThreeWeeks(t *testing.T) {
	b := bays(t, "Europe/Dublin", nil)
	b.add("2025-07-20", lampPlan())
	l, err := only(t, b.desk("2025-07-25")).Late(3)
	if err != nil {
		t.Fatal(err)
	}
	// Full light of 26 September becomes 17 October, 14 days after 3 October.
	if !strings.Contains(l.Text, "full light is reached on 17 Oct, 14 days after") || strings.Contains(l.Text, "2025-") {
		t.Error(l.Text)
	}
	if l.Shifted.RampFrom != aviary.MustDate("2025-08-22") || l.Shifted.RestBy != aviary.MustDate("2026-04-26") {
		t.Errorf("%+v", l.Shifted)
	}
	if _, err := only(t, b.desk("2025-07-25")).Late(60); err == nil {
		t.Error("a start after the way down is worked out")
	}
}

func TestLampPlanFaults_SayWhatMustGive(t *testing.T) {
	b := bays(t, "Europe/Dublin", nil)
	d := b.desk("2025-07-25")
	for _, x := range []struct {
		name   string
		change func(*aviary.LampPlanned)
		want   map[string]string // words by field
	}{
		{"it fits", func(*aviary.LampPlanned) {}, nil},
		// 9 steps of 30 min need 8 weeks; from 1 August to 1 September are 31 days: room for 5 changes.
		{"too steep", func(p *aviary.LampPlanned) { p.FullBy = aviary.MustDate("2025-09-01") }, map[string]string{
			"step_minutes": "a step of 54 min fits, 24 min more", "every_days": "a change every 3 days fits, 4 days less",
			"full_by": "Full light by 26 Sep 2025 fits, 25 days later", "ramp_from": "The first longer day on 7 Jul 2025 fits, 25 days earlier",
		}},
		{"too steep down", func(p *aviary.LampPlanned) { p.RestBy = aviary.MustDate("2026-02-01") }, map[string]string{
			"step_minutes": "room for 1", "every_days": "not even a change every day", "rest_by": "Rest by 29 Mar 2026", "taper_from": "56 days earlier",
		}},
		{"dusk longer than rest", func(p *aviary.LampPlanned) { p.Rest, p.Dusk = 1, ptr(90) }, map[string]string{"dusk_minutes": "dusk"}},
		{"from the real lamps without any", func(p *aviary.LampPlanned) { p.FromReal = true }, map[string]string{"from_real": "No lamp setting is logged"}},
	} {
		t.Run(x.name, func(t *testing.T) {
			got := d.LampPlanFaults(lampPlan(x.change))
			if len(got) != len(x.want) {
				t.Errorf("%d faults, want %d", len(got), len(x.want))
			}
			for _, f := range got {
				if w := x.want[f.Field]; w == "" || !strings.Contains(f.Message, w) {
					t.Errorf("%s: %s, want %q", f.Field, f.Message, w)
				}
			}
		})
	}
}

func TestLampPlanStart_FitsInBothHemispheres(t *testing.T) {
	for _, x := range []struct {
		lat        float64
		today      string
		ramp, rest string
	}{
		{53.3, "2025-07-20", "2025-08-01", "2026-04-01"},
		{53.3, "2026-01-13", "2025-08-01", "2026-04-01"},
		{53.3, "2026-04-02", "2026-08-01", "2027-04-01"},
		{-33.9, "2026-01-13", "2026-02-01", "2026-10-01"},
	} {
		d := bays(t, "Europe/Dublin", ptr(x.lat)).desk(x.today)
		b := d.LampPlanStart("")
		if b.RampFrom.String() != x.ramp || b.RestBy.String() != x.rest {
			t.Errorf("at %v on %s: from %s to %s, want %s to %s", x.lat, x.today, b.RampFrom, b.RestBy, x.ramp, x.rest)
		}
		if f := d.LampPlanFaults(&b); f != nil {
			t.Errorf("at %v on %s: %s", x.lat, x.today, f[0].Message)
		}
	}
	b := bays(t, "Europe/Dublin", nil)
	b.add("2025-12-01", set(6, 0, 20, 0))
	if p := b.desk("2026-01-13").LampPlanStart(""); !p.FromReal {
		t.Error("a season that has begun does not start from the lamps as they are")
	}
}

func TestLampShift_LeavesLessDaylightOutside(t *testing.T) {
	b := bays(t, "Europe/Dublin", ptr(53.3))
	b.add("2025-07-20", lampPlan(func(p *aviary.LampPlanned) { p.Windows = "sun"; p.On = aviary.ClockOf(8, 0) }))
	c := only(t, b.desk("2025-08-01"))
	w := warned(c, "daylight lengthens the short day")
	if w == nil || !w.Windows || w.Days < 2 {
		t.Errorf("warnings: %+v", c.Warnings())
	}
	if s := c.Shift(); s.By >= 0 || s.Then >= s.Now || s.On >= aviary.ClockOf(8, 0) || !strings.Contains(s.Text(), "earlier") {
		t.Errorf("%+v: lamps that come on late do better earlier", s)
	}
}
