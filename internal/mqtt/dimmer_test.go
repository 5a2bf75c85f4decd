package mqtt

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// day is the plan of most tests: lamps from 06:00 to 20:00 with half an hour of dusk before. Common practice, no source.
func day(t time.Time) float64 {
	m := float64(t.Hour()*60+t.Minute()) + float64(t.Second())/60
	switch {
	case m < 6*60 || m >= 20*60:
		return 0
	case m > 19*60+30:
		return (20*60 - m) / 30
	}
	return 1
}

func at(clock string) time.Time {
	t, err := time.Parse("2006-01-02 15:04:05", "2026-01-13 "+clock)
	if err != nil {
		panic(err)
	}
	return t
}

// run drives a dimmer along a plan, a look every step, as if connected from the start, and returns what was sent.
func run(d *dimmer, plan func(time.Time) (float64, bool), from, to time.Time, step time.Duration) (sent []int) {
	for now := from; !now.After(to); now = now.Add(step) {
		level, known := plan(now)
		d.look(now, level, known)
		if level, ok := d.say(); ok {
			sent = append(sent, percent(level))
			d.delivered(level)
		}
	}
	return sent
}

func planned(t time.Time) (float64, bool) { return day(t), true }

func TestDimmer_FadesByThePlanAndSaysOffOnce(t *testing.T) {
	d := &dimmer{}
	sent := run(d, planned, at("19:29:00"), at("23:59:45"), 15*time.Second)
	if sent[0] != 100 || sent[len(sent)-1] != 0 {
		t.Fatalf("sent %v", sent)
	}
	zero := 0
	for i := 1; i < len(sent); i++ {
		if drop := sent[i-1] - sent[i]; drop < 0 || drop > 2 { // half an hour has 120 looks
			t.Errorf("from %d to %d at one look", sent[i-1], sent[i])
		}
		if sent[i] == 0 {
			zero++
		}
	}
	if zero != 1 || d.quiet != SaidOff {
		t.Errorf("off was said %d times, %v", zero, d.quiet)
	}
	if again := run(d, planned, at("23:59:59").Add(time.Second), at("23:59:59").Add(6*time.Hour+2*time.Second), 15*time.Second); len(again) != 1 || again[0] != 100 {
		t.Errorf("until lamps on: %v", again)
	}
}

func TestDimmer_WhatBurnsIsSaidEachMinute(t *testing.T) {
	if sent := run(&dimmer{}, planned, at("12:00:00"), at("12:10:00"), 15*time.Second); len(sent) != 11 {
		t.Errorf("sent %v", sent)
	}
}

func TestDimmer_SaysNothingThatIsNotSure(t *testing.T) {
	unknownFrom := func(from, to string) func(time.Time) (float64, bool) {
		return func(t time.Time) (float64, bool) {
			return day(t), t.Before(at(from)) || !t.Before(at(to))
		}
	}
	cut := func(clock string) func(time.Time) (float64, bool) { // the plan is changed: dark from then on
		return func(t time.Time) (float64, bool) {
			if t.Before(at(clock)) {
				return day(t), true
			}
			return 0, true
		}
	}
	noDusk := func(t time.Time) (float64, bool) {
		if h := t.Hour(); h < 6 || h >= 20 {
			return 0, true
		}
		return 1, true
	}
	for _, c := range []struct {
		name     string
		plan     func(time.Time) (float64, bool)
		from, to string
		last     int // as last sent; -1 for nothing at all
		quiet    Quiet
	}{
		{"started in the dark", planned, "22:00:00", "23:59:00", -1, StartedLow},
		{"started before dawn, the lamps come on", planned, "05:00:00", "07:00:00", 100, Speaking},
		{"started in the dusk", planned, "19:40:00", "23:00:00", -1, StartedLow},
		{"started at midday", planned, "12:00:00", "12:00:00", 100, Speaking},
		{"no plan", unknownFrom("00:00:00", "23:59:59"), "08:00:00", "23:00:00", -1, NotPlanned},
		{"the plan is struck out at midday", unknownFrom("12:00:00", "23:59:59"), "11:00:00", "23:00:00", 100, NotPlanned},
		{"and written again at night", unknownFrom("12:00:00", "22:00:00"), "11:00:00", "23:00:00", 100, StartedLow},
		{"and written again in the dusk", unknownFrom("12:00:00", "19:45:00"), "11:00:00", "23:00:00", 100, StartedLow},
		{"and written again before dusk", unknownFrom("12:00:00", "18:00:00"), "11:00:00", "20:30:00", 0, SaidOff},
		{"a plan without dusk", noDusk, "19:00:00", "23:00:00", 100, TooFast},
		{"a plan changed at midday to dark", cut("12:00:00"), "11:00:00", "23:00:00", 100, TooFast},
		{"a plan changed in the dusk to dark", cut("19:45:00"), "19:00:00", "23:00:00", 51, TooFast}, // half of full, a look before
	} {
		t.Run(c.name, func(t *testing.T) {
			d := &dimmer{}
			sent := run(d, c.plan, at(c.from), at(c.to), 15*time.Second)
			last := -1
			if len(sent) > 0 {
				last = sent[len(sent)-1]
			}
			if last != c.last || d.quiet != c.quiet {
				t.Errorf("last sent %d, %v; want %d, %v", last, d.quiet, c.last, c.quiet)
			}
		})
	}
}

func TestDimmer_ABrokenConnection(t *testing.T) {
	for _, c := range []struct {
		name       string
		lost, back string
		most       int // the first level after it may be no less
		quiet      Quiet
	}{
		{"before dusk", "18:00:00", "19:00:00", 100, Speaking},
		{"in dusk, back in dusk", "19:31:00", "19:50:00", 70, Speaking},
		{"in dusk, back at night", "19:45:00", "22:00:00", -1, MissedDusk},
		{"at night, back at night", "21:00:00", "22:00:00", -1, SaidOff},
		{"before dusk, back at night", "18:00:00", "22:00:00", -1, MissedDusk},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := &dimmer{}
			run(d, planned, at("12:00:00"), at(c.lost), 15*time.Second)
			for now := at(c.lost); now.Before(at(c.back)); now = now.Add(15 * time.Second) {
				d.look(now, day(now), true) // the plan is followed while nobody listens
			}
			d.look(at(c.back), day(at(c.back)), true)
			d.connected()
			level, ok := d.say()
			switch {
			case d.quiet != c.quiet || ok != (c.most >= 0):
				t.Errorf("says %v, %v", ok, d.quiet)
			case ok && percent(level) < c.most:
				t.Errorf("falls to %d at once", percent(level))
			}
			if c.most < 0 {
				if sent := run(d, planned, at(c.back), at("23:59:00"), 15*time.Second); len(sent) > 0 {
					t.Errorf("in the dark: %v", sent)
				}
				return
			}
			sent := run(d, planned, at(c.back), at("20:10:00"), 15*time.Second)
			if d.quiet != SaidOff || sent[len(sent)-1] != 0 {
				t.Errorf("the dusk is not brought to its end: %v", sent)
			}
		})
	}
}

func TestDimmer_AComputerThatSleptOrAClockThatWasSet(t *testing.T) {
	for _, c := range []struct {
		name, until, then string
		quiet             Quiet
	}{
		{"asleep over the dusk", "18:00:00", "22:00:00", StartedLow},
		{"asleep for four minutes of dusk", "19:40:00", "19:44:00", StartedLow},
		{"the clock is set back from the dark into the dusk", "21:00:00", "19:50:00", StartedLow},
		{"the clock is set back at midday", "12:00:00", "11:00:00", Speaking},
	} {
		d := &dimmer{}
		run(d, planned, at("11:30:00"), at(c.until), 15*time.Second)
		d.look(at(c.then), day(at(c.then)), true)
		level, ok := d.say()
		if d.quiet != c.quiet || (ok && level < 1) {
			t.Errorf("%s: says %v %v, %v", c.name, level, ok, d.quiet)
		}
	}
}

// Whatever the plan, the clock and the connection do, a bird never sees a sudden dark: from what was sent last, the level
// falls by at most a fifth at once, and off follows a level that was as good as off.
func TestDimmer_NeverASuddenDark(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := &dimmer{}
		now := at("00:00:00")
		plan := rapid.Float64Range(0, 1).Draw(t, "first")
		last := 1.0 // a lamp may be at full by its own timer
		connected := false
		for range rapid.IntRange(1, 120).Draw(t, "looks") {
			now = now.Add(time.Duration(rapid.SampledFrom([]int{15, 15, 15, 60, 170, 400, -30}).Draw(t, "s")) * time.Second)
			switch rapid.IntRange(0, 9).Draw(t, "plan") {
			case 0:
				plan = 0
			case 1, 2, 3:
				plan = 1
			case 4:
				plan = rapid.Float64Range(0, 1).Draw(t, "level")
			default:
				plan = max(0, plan-rapid.Float64Range(0, 0.1).Draw(t, "fade"))
			}
			d.look(now, plan, rapid.IntRange(0, 20).Draw(t, "known") > 0)
			if rapid.IntRange(0, 9).Draw(t, "line") == 0 {
				if connected = !connected; connected {
					d.connected()
				}
			}
			if !connected {
				continue
			}
			level, ok := d.say()
			if !ok {
				continue
			}
			if math.IsNaN(level) || level < 0 || level > 1 {
				t.Fatalf("level %v", level)
			}
			if d.told && last-level > 0.2+1e-6 {
				t.Fatalf("from %v to %v at once", last, level)
			}
			if !d.told && level < 0.8-1e-6 {
				t.Fatalf("the first word is %v", level)
			}
			if rapid.IntRange(0, 9).Draw(t, "taken") > 0 {
				d.delivered(level)
				last = level
			}
		}
	})
}
