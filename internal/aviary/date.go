package aviary

import (
	"fmt"
	"strconv"
	"time"
)

// Date is a civil day: the number of days since 31 December of the year 0, so that 1 is
// 1 January of the year 1. The zero Date means "not known".
type Date int32

const secondsPerDay = 86400

// yearOneUnix is 31 December of the year 0, in seconds since 1970 (proleptic Gregorian calendar).
var yearOneUnix = time.Date(0, 12, 31, 0, 0, 0, 0, time.UTC).Unix()

// DateOf returns the civil day of year, month and day. Days beyond a month's end roll on, as in time.Date.
func DateOf(year int, month time.Month, day int) Date {
	return Date((time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() - yearOneUnix) / secondsPerDay)
}

// DayIn returns the civil day on which the instant t falls in the zone loc.
func DayIn(t time.Time, loc *time.Location) Date {
	y, m, d := t.In(loc).Date()
	return DateOf(y, m, d)
}

// ParseDate reads an ISO date such as 2026-01-13. Years run from 1900 to 2199.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, fmt.Errorf("%q is not a date; write it as 2026-01-13", s)
	}
	if t.Year() < 1900 || t.Year() > 2199 {
		return 0, fmt.Errorf("the year of %s is outside 1900 to 2199", s)
	}
	return DateOf(t.Date()), nil
}

// MustDate is ParseDate for literals; it panics on a string that is not a date.
func MustDate(s string) Date {
	d, err := ParseDate(s)
	if err != nil {
		panic("aviary: " + err.Error())
	}
	return d
}

// Time returns midnight UTC of the day, for formatting and calendar arithmetic only.
func (d Date) Time() time.Time { return time.Unix(int64(d)*secondsPerDay+yearOneUnix, 0).UTC() }

// Year, Month and Day of the civil day.
func (d Date) Year() int { return d.Time().Year() }

// String returns the ISO form, or "" for a date that is not known.
func (d Date) String() string {
	if d == 0 {
		return ""
	}
	var b [10]byte
	return string(d.appendISO(b[:0]))
}

func (d Date) appendISO(b []byte) []byte {
	y, m, day := d.Time().Date()
	b = append(b, byte('0'+y/1000), byte('0'+y/100%10), byte('0'+y/10%10), byte('0'+y%10), '-')
	b = append(b, byte('0'+int(m)/10), byte('0'+int(m)%10), '-')
	return append(b, byte('0'+day/10), byte('0'+day%10))
}

// Short returns the day as people read it on a page, such as "13 Jan".
func (d Date) Short() string {
	if d == 0 {
		return ""
	}
	return d.Time().Format("2 Jan")
}

// Long returns the day with its year, such as "13 Jan 2026".
func (d Date) Long() string {
	if d == 0 {
		return ""
	}
	return d.Time().Format("2 Jan 2006")
}

// MarshalText writes the ISO form.
func (d Date) MarshalText() ([]byte, error) {
	if d == 0 {
		return []byte{}, nil
	}
	return d.appendISO(nil), nil
}

// UnmarshalText reads the ISO form; an empty text is a date that is not known.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = 0
		return nil
	}
	v, err := ParseDate(string(b))
	if err == nil {
		*d = v
	}
	return err
}

// Clock is a time of day in the room's zone, in minutes after midnight plus one, so that the
// zero Clock means "no time given".
type Clock int16

// ClockOf returns the time of day h:m.
func ClockOf(h, m int) Clock { return Clock(h*60 + m + 1) }

// Minutes returns the minutes after midnight and whether a time was given.
func (c Clock) Minutes() (int, bool) { return int(c) - 1, c > 0 }

// String returns "06:48", or "" when no time was given.
func (c Clock) String() string {
	m, ok := c.Minutes()
	if !ok {
		return ""
	}
	return fmt.Sprintf("%02d:%02d", m/60, m%60)
}

// ParseClock reads a time of day such as 06:48.
func ParseClock(s string) (Clock, error) {
	if len(s) == 5 && s[2] == ':' {
		h, err1 := strconv.Atoi(s[:2])
		m, err2 := strconv.Atoi(s[3:])
		if err1 == nil && err2 == nil && h >= 0 && h < 24 && m >= 0 && m < 60 {
			return ClockOf(h, m), nil
		}
	}
	return 0, fmt.Errorf("%q is not a time of day; write it as 06:48", s)
}

// MarshalText writes the form 06:48.
func (c Clock) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads the form 06:48; an empty text is no time.
func (c *Clock) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*c = 0
		return nil
	}
	v, err := ParseClock(string(b))
	if err == nil {
		*c = v
	}
	return err
}
