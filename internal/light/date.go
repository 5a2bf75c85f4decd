package light

import (
	"fmt"
	"time"
)

// Date is a civil date. The zero Date means that no date is given.
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// First and last year of the daylight equations and of a programme.
const (
	firstYear = 1900
	lastYear  = 2100
)

// DateOf returns the civil date that t shows in its own zone.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, m, d}
}

// ParseDate reads a date as 2026-08-01.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Date{}, &Error{"date", fmt.Sprintf("%q is not a date. Write it as 2026-08-01.", s)}
	}
	return DateOf(t), nil
}

// IsZero says whether no date is given.
func (d Date) IsZero() bool { return d == Date{} }

// valid says whether the calendar holds d.
func (d Date) valid() bool {
	return d.Month >= 1 && d.Month <= 12 && d.Day >= 1 && d == DateOf(d.utc())
}

func (d Date) utc() time.Time { return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC) }

// unix is the instant of d's midnight in UTC, in seconds.
func (d Date) unix() int64 { return d.utc().Unix() }

// AddDays returns the date n days after d, or before it when n is negative.
func (d Date) AddDays(n int) Date { return DateOf(d.utc().AddDate(0, 0, n)) }

// Sub returns the days from e to d: positive when d is the later.
func (d Date) Sub(e Date) int { return int((d.unix() - e.unix()) / 86400) }

// Before says whether d is earlier than e.
func (d Date) Before(e Date) bool {
	if d.Year != e.Year {
		return d.Year < e.Year
	}
	if d.Month != e.Month {
		return d.Month < e.Month
	}
	return d.Day < e.Day
}

// After says whether d is later than e.
func (d Date) After(e Date) bool { return e.Before(d) }

// String writes d as 2026-08-01, and no date as an empty string.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, int(d.Month), d.Day)
}

// Short writes d as people read it on a page: 13 Jan.
func (d Date) Short() string {
	if d.IsZero() {
		return ""
	}
	return fmt.Sprintf("%d %s", d.Day, d.Month.String()[:3])
}

// Clock is a time on the wall clock in minutes after midnight. A time of 24:00 or
// more falls on the next date.
type Clock int

// ParseClock reads a wall time as 06:00.
func ParseClock(s string) (Clock, error) {
	t, err := time.Parse("15:04", s)
	if err != nil {
		return 0, &Error{"on", fmt.Sprintf("%q is not a time of day. Write it as 06:00.", s)}
	}
	return Clock(t.Hour()*60 + t.Minute()), nil
}

// ClockOf returns the wall time that t shows in its own zone.
func ClockOf(t time.Time) Clock { return Clock(t.Hour()*60 + t.Minute()) }

// String writes c as 06:00; the date it falls on is not shown.
func (c Clock) String() string {
	m := (int(c)%1440 + 1440) % 1440
	return fmt.Sprintf("%02d:%02d", m/60, m%60)
}

// Span is a run of civil dates, both ends included. The zero Span holds no date; a
// zero To means that the end is not known yet, and holds every date from From on.
type Span struct{ From, To Date }

// Has says whether d lies in s.
func (s Span) Has(d Date) bool {
	return !s.From.IsZero() && !d.Before(s.From) && (s.To.IsZero() || !d.After(s.To))
}

// Spell writes a length of time as people say it: 9 h 30 min, 45 min, 1 h.
func Spell(d time.Duration) string {
	d = d.Abs().Round(time.Minute)
	h, m := int(d/time.Hour), int(d%time.Hour/time.Minute)
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}

// days writes a count of days.
func days(n int) string {
	if n == 1 || n == -1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", max(n, -n))
}

// wallUnix returns the instant, in Unix seconds, at which the wall clock in zone
// shows sec seconds after midnight of d. A time that the clocks show twice is the
// first of the two. A time that they skip is read with the offset before the
// change, so 02:30 becomes 03:30.
func wallUnix(d Date, sec int64, zone *time.Location) int64 {
	u := d.unix() + sec
	// No offset reaches a whole day, so these two lie before and after the time meant.
	before, after := offsetAt(u-86400, zone), offsetAt(u+86400, zone)
	if before == after || offsetAt(u-before, zone) == before {
		return u - before
	}
	if offsetAt(u-after, zone) == after {
		return u - after
	}
	return u - before
}

// offsetAt returns how far zone is ahead of UTC at an instant, in seconds.
func offsetAt(unix int64, zone *time.Location) int64 {
	_, off := time.Unix(unix, 0).In(zone).Zone()
	return int64(off)
}

// standardOffset returns the offset that zone keeps outside summer time in a year, in
// seconds: the smaller of those on 1 January and on 1 July. The tz files' own
// mark is not used, because they call Ireland's winter time the unusual one.
func standardOffset(year int, zone *time.Location) int64 {
	return min(offsetAt(Date{year, time.January, 1}.unix(), zone), offsetAt(Date{year, time.July, 1}.unix(), zone))
}
