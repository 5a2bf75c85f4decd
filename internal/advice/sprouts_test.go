package advice

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// sproutPlan serves 100 ml a day at 07:00 in a room of 20 °C.
func sproutPlan(change ...func(*aviary.SproutsPlanned)) *aviary.SproutsPlanned {
	b := &aviary.SproutsPlanned{ServeAt: aviary.ClockOf(7, 0), Celsius: 20, Every: 1, ServeML: ptr(100.0)}
	for _, f := range change {
		f(b)
	}
	return b
}

func sprouts(t *testing.T, d *Desk) *SproutState {
	t.Helper()
	s, err := d.Sprouts()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestSprouts_ByHand: at 20 °C the guide has 8 to 12 h of soak and 30 to 48 h to the chit, so by its middle a jar is soaked 49 h
// before it is served; three jars go round. 100 ml at the chit come from 68 ml, 47.6 g, of dry millet.
func TestSprouts_ByHand(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-05", sproutPlan())
	s := sprouts(t, b.desk("2026-01-20"))
	if s.Plan == nil || s.Plan.Day != aviary.MustDate("2026-01-05") || s.Jars != 3 {
		t.Fatalf("plan %v, %d jars", s.Plan, s.Jars)
	}
	var soaks, serves, outs int
	for _, step := range s.Days[0].Steps {
		switch {
		case step.Soak():
			soaks++
			if step.Clock != aviary.ClockOf(6, 0) || math.Abs(step.DryML-68) > 1 || math.Abs(step.DryG-47.6) > 0.5 || step.ML != 100 {
				t.Errorf("soaked at %s: %v ml, %v g for %v ml", step.Clock, step.DryML, step.DryG, step.ML)
			}
		case step.Give():
			serves++
			if step.Clock != aviary.ClockOf(7, 0) || step.ML != 100 {
				t.Errorf("given at %s: %v ml", step.Clock, step.ML)
			}
		case step.Out():
			outs++
			if step.Clock != aviary.ClockOf(11, 0) {
				t.Errorf("taken out at %s, not four hours on", step.Clock)
			}
		}
	}
	if soaks != 1 || serves != 1 || outs != 2 || s.Days[0].ML != 100 {
		t.Errorf("%d soaks, %d servings, %d times out in a day", soaks, serves, outs)
	}
	for i := 1; i < len(s.Days[0].Steps); i++ {
		if s.Days[0].Steps[i].At.Before(s.Days[0].Steps[i-1].At) {
			t.Error("the steps are not in order of time")
		}
	}
}

// TestSprouts_JarsKeepTheirNumbers: what was jar 2 yesterday is jar 2 today, however long the plan has run.
func TestSprouts_JarsKeepTheirNumbers(t *testing.T) {
	for every := 1; every <= 4; every++ {
		b := zebras(t)
		b.add("2026-01-05", sproutPlan(func(p *aviary.SproutsPlanned) { p.Every = every }))
		jar := map[int64]int{}                                                                 // by the instant of its soak
		for day := aviary.MustDate("2026-03-18"); day < aviary.MustDate("2026-04-08"); day++ { // the clocks change on 29 March
			d := b.desk(day.String())
			s := sprouts(t, d)
			busy := map[int]time.Time{}
			for _, x := range s.Batches {
				if was, ok := jar[x.Soak.Unix()]; ok && was != x.Jar {
					t.Fatalf("every %d, %s: the jar soaked at %s is %d and was %d", every, day, x.Soak, x.Jar, was)
				}
				jar[x.Soak.Unix()] = x.Jar
				// A jar is soaked again an hour early at most, when the clocks go forward.
				if x.Soak.Add(time.Hour).Before(busy[x.Jar]) {
					t.Fatalf("every %d, %s: jar %d is soaked while it is busy", every, day, x.Jar)
				}
				busy[x.Jar] = d.instant(x.From, s.Plan.ServeAt)
				if x.Jar < 1 || x.Jar > s.Jars {
					t.Fatalf("jar %d of %d", x.Jar, s.Jars)
				}
			}
			if s.Days[0].ML != 100 {
				t.Fatalf("every %d, %s: %v ml are given", every, day, s.Days[0].ML)
			}
		}
	}
}

// TestSprouts_ANewPlanBeginsWhereTheJarsAllow: what cannot have been soaked is not served, and what was soaked by the plan before
// is served to its end.
func TestSprouts_ANewPlanBeginsWhereTheJarsAllow(t *testing.T) {
	b := zebras(t)
	e := b.add("2026-01-20", sproutPlan())
	e.Time = aviary.ClockOf(10, 0)
	s := sprouts(t, b.desk("2026-01-20"))
	// 06:00 has gone by: the first jar is soaked on the 21st and served on the 23rd.
	if s.First != aviary.MustDate("2026-01-23") || s.Days[0].ML != 0 || s.Days[3].ML != 100 || len(s.Days[0].Steps) != 0 {
		t.Errorf("first served %s, %v", s.First, s.Days)
	}
	e = b.add("2026-01-25", sproutPlan(func(p *aviary.SproutsPlanned) { p.ServeML = ptr(40.0) }))
	e.Time = aviary.ClockOf(10, 0)
	s = sprouts(t, b.desk("2026-01-25"))
	var ml []float64
	for _, day := range s.Days {
		ml = append(ml, day.ML)
	}
	// The jars of the 24th and 25th, soaked at 06:00, are of the plan before.
	if want := []float64{100, 100, 100, 40}; ml[0] != want[0] || ml[1] != want[1] || ml[2] != want[2] || ml[3] != want[3] {
		t.Errorf("served %v, want %v", ml, want)
	}
	b.add("2026-01-27", &aviary.SproutsPlanned{Stop: true})
	s = sprouts(t, b.desk("2026-01-27"))
	if s.Plan != nil || s.Stopped != aviary.MustDate("2026-01-27") || s.Jars != 0 {
		t.Errorf("stopped %s, plan %v", s.Stopped, s.Plan)
	}
	for _, day := range s.Days {
		for _, step := range day.Steps {
			if step.Soak() {
				t.Error("a jar is soaked after the stop")
			}
		}
	}
	if s.Days[0].ML != 100 && s.Days[0].ML != 40 {
		t.Error("the jars under way are not served")
	}
	if s = sprouts(t, b.desk("2026-02-05")); len(s.Batches) != 0 {
		t.Errorf("%d batches long after the stop", len(s.Batches))
	}
}

// TestSprouts_WhatThePhasesAsk: a pair in conditioning has a level teaspoon a morning (common practice, no source); a room at rest asks
// for none, and then no jar is begun.
func TestSprouts_WhatThePhasesAsk(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-05", sproutPlan(func(p *aviary.SproutsPlanned) { p.ServeML = nil }))
	s := sprouts(t, b.desk("2026-01-12"))
	if s.Asked != 0 || len(s.Batches) != 0 || s.First != 0 {
		t.Errorf("a room at rest asks for %v ml in %d batches", s.Asked, len(s.Batches))
	}
	b.add("2026-01-12", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1}})
	s = sprouts(t, b.desk("2026-01-20"))
	if s.Asked != feed.Teaspoon || s.Cages != 1 || s.Days[0].ML != feed.Teaspoon {
		t.Errorf("%v ml asked for by %d cages, %v given", s.Asked, s.Cages, s.Days[0].ML)
	}
}

func TestSprouts_SaysWhyNot(t *testing.T) {
	b := zebras(t)
	if s := sprouts(t, b.desk("2026-01-20")); s.Plan != nil || s.Stopped != 0 || len(s.Days) == 0 {
		t.Errorf("%+v", s)
	}
	b.add("2026-01-05", sproutPlan(func(p *aviary.SproutsPlanned) { p.Celsius = 9 }))
	s, err := b.desk("2026-01-20").Sprouts()
	var e *aviary.Error
	if !errors.As(err, &e) || e.Field != "celsius" || !strings.Contains(e.Message, "too slowly") || s == nil || s.Plan == nil {
		t.Errorf("%v, %v", s, err)
	}
	// A plan tried out is not in the books.
	s, err = b.desk("2026-01-20").SproutsBy(*sproutPlan())
	if err != nil || len(s.Batches) == 0 || s.First != aviary.MustDate("2026-01-22") {
		t.Errorf("%v, first %s", err, s.First)
	}
}

// TestSprouts_SeedByItsLastTest: 66 % is too little to sprout, 91 of 100 is 87 to 94 in 100, 8 in 10 (Wilson 1927, by hand).
func TestSprouts_SeedByItsLastTest(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-05", &aviary.GerminationTested{Food: "millet, old bag", Seeds: 50, Sprouted: 33})
	b.add("2026-01-06", &aviary.GerminationTested{Food: "Millet, new bag", Seeds: 100, Sprouted: 72})
	b.add("2026-01-09", &aviary.GerminationTested{Food: "millet, new bag ", Seeds: 100, Sprouted: 91})
	b.add("2026-03-09", &aviary.GerminationTested{Food: "millet, next bag", Seeds: 100, Sprouted: 91})
	s := sprouts(t, b.desk("2026-01-20"))
	if len(s.Tests) != 3 || len(s.Seeds) != 2 || s.Seeds[0].Runs != 2 || !s.Seeds[0].Last.Use || s.Seeds[1].Last.Use {
		t.Fatalf("%+v", s.Seeds)
	}
	// z = 1.2816: middle (0.91 + z²/200)/(1 + z²/100) = 0.90338, half width 0.03698.
	if g := s.Seeds[0].Last; math.Abs(g.Low-0.8664) > 5e-4 || math.Abs(g.High-0.9404) > 5e-4 {
		t.Errorf("%v to %v", g.Low, g.High)
	}
}
