package feed

import (
	"errors"
	"math"
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"
)

func mustZone(tb testing.TB, name string) *time.Location {
	tb.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		tb.Fatal(err)
	}
	return z
}

// TestSproutingAt_Guide holds the guide at its own temperatures and between (from memory, an estimate by
// thermal time): 20 °C 8-12 h soak and 30-48 h to the chit; common practice says 8-12 and 24-48 at room temperature.
func TestSproutingAt_Guide(t *testing.T) {
	for c, want := range map[float64][2]Hours{
		15: {{12, 16}, {48, 72}}, 20: {{8, 12}, {30, 48}}, 25: {{6, 8}, {20, 30}}, 30: {{4, 6}, {14, 20}}, 22.5: {{7, 10}, {25, 39}},
	} {
		got, err := SproutingAt(c)
		if err != nil || got.Soak != want[0] || got.Sprout != want[1] {
			t.Errorf("%v °C: %+v, %v", c, got, err)
		}
		// Rinsed every 8 to 12 h, out of the cage after 4 h (common practice), sooner when warm.
		if got.RinseEvery > 8 || got.RinseMost > 12 || got.RemoveAfter > 4 || (c > 25) != (got.RemoveAfter < 4) {
			t.Errorf("%v °C: rinse every %v to %v h, out after %v h", c, got.RinseEvery, got.RinseMost, got.RemoveAfter)
		}
		if got.Basis != FromMemory || got.Source == "" {
			t.Errorf("%v °C: the basis is missing", c)
		}
	}
	for _, c := range []float64{10, 14.9, 30.1, math.NaN(), math.Inf(1)} {
		var e *Error
		if _, err := SproutingAt(c); !errors.As(err, &e) || e.Field != "temperature" {
			t.Errorf("%v °C: %v", c, err)
		}
	}
	last := math.Inf(1)
	for c := 15.0; c <= 30; c += 0.5 {
		s, _ := SproutingAt(c)
		if total := s.Soak.middle() + s.Sprout.middle(); total >= last {
			t.Errorf("%v °C takes %v h, a colder room %v", c, total, last)
		} else {
			last = total
		}
	}
}

// TestSchedule_ByHand: a teaspoon for 20 pairs at 07:00 in a room of 20 °C.
func TestSchedule_ByHand(t *testing.T) {
	zone := mustZone(t, "America/New_York")
	day := time.Date(2026, 11, 20, 0, 0, 0, 0, zone)
	p := SproutPlan{ServeML: 100, Hour: 7, Celsius: 20}
	got, err := p.Schedule(day, day, zone)
	if err != nil {
		t.Fatal(err)
	}
	// 39 h of sprouting and 10 h of soak before Friday 07:00.
	if want := time.Date(2026, 11, 18, 6, 0, 0, 0, zone); !got.Steps[0].At.Equal(want) || got.Steps[0].Kind != Soak {
		t.Errorf("soak at %v, want %v", got.Steps[0].At, want)
	}
	if want := time.Date(2026, 11, 18, 16, 0, 0, 0, zone); !got.Steps[1].At.Equal(want) || got.Steps[1].Kind != Drain {
		t.Errorf("drain at %v, want %v", got.Steps[1].At, want)
	}
	rinses := 0
	for _, s := range got.Steps {
		if s.Kind == Rinse {
			rinses++
		}
	}
	if rinses != 4 { // 00:00, 08:00, 16:00, 00:00
		t.Errorf("%d rinses, want 4", rinses)
	}
	// 100 ml at the chit weigh 75 g, hold 43.5 g dry matter, and come from 47.6 g or 68 ml of dry millet.
	if math.Abs(got.DryG-47.6) > 0.1 || math.Abs(got.DryML-68) > 0.2 {
		t.Errorf("dry seed %v g, %v ml", got.DryG, got.DryML)
	}
	if got.Jars != 1 {
		t.Errorf("%d jars for one batch", got.Jars)
	}
	week, err := p.Schedule(day, day.AddDate(0, 0, 6), zone)
	if err != nil {
		t.Fatal(err)
	}
	// A jar is busy for 49 hours, so a batch a day takes three.
	if week.Jars != 3 {
		t.Errorf("%d jars in turn, want 3", week.Jars)
	}
	if n := len(week.On(day, zone)); n == 0 {
		t.Error("nothing to do on a serving day")
	}
}

// TestSchedule_WakingHours: at 20 °C the guide leaves room to keep soak, drain and rinses out of the night.
func TestSchedule_WakingHours(t *testing.T) {
	zone := mustZone(t, "Europe/Berlin")
	day := time.Date(2026, 3, 20, 0, 0, 0, 0, zone)
	for hour := 6; hour <= 21; hour++ {
		got, err := SproutPlan{ServeML: 50, Hour: hour, Celsius: 20, WakeFrom: 6, WakeTo: 22}.Schedule(day, day.AddDate(0, 0, 20), zone)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range got.Steps {
			if s.Night && s.Kind < Serve {
				t.Errorf("serving at %d: %v at %v", hour, s.Kind, s.At)
			}
		}
	}
}

// TestSchedule_OnTheQuarter: who serves on the quarter of an hour soaks and drains on the quarter, at any temperature.
func TestSchedule_OnTheQuarter(t *testing.T) {
	zone := mustZone(t, "Europe/Dublin")
	day := time.Date(2026, 1, 20, 0, 0, 0, 0, zone)
	for c := 15.0; c <= 30; c += 0.7 {
		got, err := SproutPlan{ServeML: 50, Hour: 7, Minute: 15, Celsius: c, WakeFrom: 6, WakeTo: 22}.Schedule(day, day.AddDate(0, 0, 5), zone)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range got.Steps {
			if (s.Kind == Soak || s.Kind == Drain) && s.At.Minute()%15 != 0 {
				t.Errorf("at %v °C: %s at %s", c, s.Kind, s.At.Format("15:04"))
			}
		}
	}
}

func TestSchedule_Laws(t *testing.T) {
	zones := map[string]*time.Location{}
	names := []string{"America/New_York", "Australia/Sydney", "Asia/Jakarta", "UTC"}
	for _, n := range names {
		zones[n] = mustZone(t, n)
	}
	rapid.Check(t, func(t *rapid.T) {
		zone := zones[rapid.SampledFrom(names).Draw(t, "zone")]
		p := SproutPlan{
			ServeML: rapid.Float64Range(1, 2000).Draw(t, "ml"), Hour: rapid.IntRange(0, 23).Draw(t, "hour"),
			Celsius: rapid.Float64Range(15, 30).Draw(t, "celsius"), Every: rapid.IntRange(1, 4).Draw(t, "every"),
		}
		if rapid.Bool().Draw(t, "sleeps") {
			p.WakeFrom = rapid.Float64Range(4, 10).Draw(t, "up")
			p.WakeTo = rapid.Float64Range(p.WakeFrom+6, 24).Draw(t, "to bed")
		}
		from := time.Date(2026, time.Month(rapid.IntRange(1, 12).Draw(t, "month")), rapid.IntRange(1, 28).Draw(t, "day"), 0, 0, 0, 0, zone)
		days := rapid.IntRange(0, 12).Draw(t, "days")
		got, err := p.Schedule(from, from.AddDate(0, 0, days), zone)
		if err != nil {
			t.Fatal(err)
		}
		served := map[string]bool{}
		type jar struct {
			soak, drain, last time.Time
			fridge            bool
		}
		jars := map[int]*jar{}
		busy := map[int]time.Time{} // until when a jar is in use
		for i, s := range got.Steps {
			if i > 0 && s.At.Before(got.Steps[i-1].At) {
				t.Fatal("steps out of order")
			}
			b := jars[s.Batch]
			switch s.Kind {
			case Soak:
				if s.At.Before(busy[s.Jar]) {
					t.Fatalf("jar %d is still in use at %v", s.Jar, s.At)
				}
				busy[s.Jar] = s.At.AddDate(0, 0, 30)
				jars[s.Batch] = &jar{soak: s.At}
			case Drain:
				b.drain, b.last = s.At, s.At
				if h := s.At.Sub(b.soak).Hours(); h < got.Times.Soak.Least-1e-6 || h > got.Times.Soak.Most+1e-6 {
					t.Fatalf("soaked for %v h", h)
				}
			case Rinse, Serve:
				if s.Kind == Serve {
					served[s.At.In(zone).Format(time.DateOnly)] = true
				}
				if b.fridge {
					b.last = s.At
					break
				}
				if gap := s.At.Sub(b.last).Hours(); gap > got.Times.RinseMost+1.01 || gap <= 0 {
					t.Fatalf("%v h between rinses", gap)
				}
				b.last = s.At
				if s.Kind == Serve {
					busy[s.Jar], b.fridge = s.At, true
					if h := s.At.Sub(b.drain).Hours(); h < got.Times.Sprout.Least-1e-6 || h > got.Times.Sprout.Most+1e-6 {
						t.Fatalf("sprouted for %v h", h)
					}
				}
			case TakeOut:
				if s.At.Sub(b.last).Hours() <= 0 {
					t.Fatal("taken out before it was served")
				}
			}
			if s.Jar < 1 || s.Jar > got.Jars {
				t.Fatalf("jar %d of %d", s.Jar, got.Jars)
			}
		}
		for d := range days + 1 {
			if day := from.AddDate(0, 0, d).Format(time.DateOnly); !served[day] {
				t.Fatalf("nothing is served on %s", day)
			}
		}
	})
}

func TestSchedule_Refuses(t *testing.T) {
	day := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	good := SproutPlan{ServeML: 10, Hour: 7, Celsius: 20}
	for field, change := range map[string]func(*SproutPlan){
		"amount":      func(p *SproutPlan) { p.ServeML = math.NaN() },
		"hour":        func(p *SproutPlan) { p.Hour = 24 },
		"every":       func(p *SproutPlan) { p.Every = 5 },
		"hours":       func(p *SproutPlan) { p.WakeFrom, p.WakeTo = 22, 6 },
		"dry":         func(p *SproutPlan) { p.DryML = 1.5 },
		"temperature": func(p *SproutPlan) { p.Celsius = 5 },
	} {
		p := good
		change(&p)
		var e *Error
		if _, err := p.Schedule(day, day, time.UTC); !errors.As(err, &e) || e.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	if _, err := good.Schedule(day, day.AddDate(0, 0, -1), time.UTC); err == nil {
		t.Error("days backwards: not refused")
	}
}

// TestWilson_Newcombe holds the score interval against Newcombe 1998, table I, 95 %:
// 81/263 0.2553-0.3662, 15/148 0.0624-0.1605, 0/20 0-0.1611, 1/29 0.0061-0.1718.
func TestWilson_Newcombe(t *testing.T) {
	for _, w := range []struct {
		k, n      int
		low, high float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}} {
		low, high := wilson(w.k, w.n, 1.959963984540054)
		if math.Abs(low-w.low) > 5e-5 || math.Abs(high-w.high) > 5e-5 {
			t.Errorf("%d/%d: %.4f to %.4f, want %.4f to %.4f", w.k, w.n, low, high, w.low, w.high)
		}
	}
}

func TestGermTest(t *testing.T) {
	for _, w := range []struct {
		sprouted int
		use      bool
	}{{92, true}, {80, true}, {79, false}, {0, false}} {
		got, err := GermTest{Seeds: 100, Sprouted: w.sprouted}.Judge()
		if err != nil || got.Use != w.use || got.Low > got.Share || got.High < got.Share {
			t.Errorf("%d of 100: %+v, %v", w.sprouted, got, err)
		}
	}
	for _, g := range []GermTest{{}, {Seeds: 10, Sprouted: 11}, {Seeds: 10, Sprouted: -1}} {
		if _, err := g.Judge(); err == nil {
			t.Errorf("%+v: not refused", g)
		}
	}
}
