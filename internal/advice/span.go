package advice

import (
	"fmt"
	"time"

	"broodlight/internal/aviary"
)

// Span is a run of days, both ends included.
type Span struct {
	From, To aviary.Date
	Name     string // "2025–26", or "2026" when it begins with the year
}

// Contains reports whether a day lies in the span.
func (s Span) Contains(d aviary.Date) bool { return d >= s.From && d <= s.To }

// The keeper's season begins where he says; until he does, on 1 August in the north and on 1 February in
// the south, when lamps are usually raised from rest. Common practice, no source.
const (
	northSeason = "08-01"
	southSeason = "02-01"
)

// SeasonOn returns the keeper's season that a day lies in.
func (d *Desk) SeasonOn(day aviary.Date) Span {
	s := d.Room.Settings(day)
	start := s.SeasonStart
	if start == "" {
		start = northSeason
		if s.Latitude != nil && *s.Latitude < 0 {
			start = southSeason
		}
	}
	from := yearFrom(day, start)
	next := yearFrom(from+400, start)
	return Span{From: from, To: next - 1, Name: spanName(from, next-1)}
}

// SeasonBefore returns the season before one.
func (d *Desk) SeasonBefore(s Span) Span { return d.SeasonOn(s.From - 1) }

// RingYearOn returns the ring year that a day lies in: the calendar year, unless the keeper's ring year
// begins on another day.
func (d *Desk) RingYearOn(day aviary.Date) int {
	start := d.Room.Settings(day).RingYear
	if start == "" || start == "01-01" {
		return day.Year()
	}
	from := yearFrom(day, start)
	if from.Time().Month() >= time.July {
		return from.Year() + 1 // a ring year that begins late in the year bears the year to come
	}
	return from.Year()
}

// yearFrom returns the last day on or before day that falls on the month and day MM-DD.
func yearFrom(day aviary.Date, monthDay string) aviary.Date {
	t, err := time.Parse("01-02", monthDay)
	if err != nil {
		t = time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	from := aviary.DateOf(day.Year(), t.Month(), t.Day())
	if from > day {
		from = aviary.DateOf(day.Year()-1, t.Month(), t.Day())
	}
	return from
}

func spanName(from, to aviary.Date) string {
	if from.Year() == to.Year() {
		return fmt.Sprint(from.Year())
	}
	return fmt.Sprintf("%d–%02d", from.Year(), to.Year()%100)
}
