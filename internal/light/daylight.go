package light

import (
	"fmt"
	"math"
	"time"
)

// Place is where the room stands, in degrees: north and east are positive.
type Place struct{ Lat, Lon float64 }

// Polar says that the sun stays on one side of the horizon for a whole date.
type Polar string

// The kinds of day.
const (
	Ordinary   Polar = ""
	PolarDay   Polar = "day"
	PolarNight Polar = "night"
)

// Day is the sun at one place on one civil date. A time is zero when the date has no
// such event; of several of one kind the first counts.
type Day struct {
	Date                                  Date
	CivilDawn, Sunrise, Sunset, CivilDusk time.Time
	// Length is the light between sunrise and sunset that falls on the date: exactly 0
	// on a polar night and 24 h on a polar day, also when the clocks change.
	Length time.Duration
	// CivilLength is the same with civil twilight counted.
	CivilLength time.Duration
	Polar       Polar

	from, to   int64 // the date's first instant and the next one's, Unix seconds
	sun, civil stretches
}

// stretch is light from one instant up to another, in Unix seconds.
type stretch struct{ from, to int64 }

func (s stretch) length() time.Duration { return time.Duration(s.to-s.from) * time.Second }

// stretches holds the light of one date: at most three pieces, in order.
type stretches struct {
	n int
	s [3]stretch
}

func (s *stretches) list() []stretch { return s.s[:s.n] }

func (s *stretches) total() time.Duration {
	var t time.Duration
	for _, x := range s.list() {
		t += x.length()
	}
	return t
}

// Daylight returns the sun at a place on a civil date in zone. Times agree with an
// independent ephemeris within 10 s below 66 degrees, and within 2 min near the
// poles when the sun grazes the horizon. The error is an [*Error] when the place,
// the zone or a date outside 1900-2100 is at fault.
func Daylight(p Place, zone *time.Location, d Date) (Day, error) {
	ds, err := DaylightBetween(p, zone, d, d)
	if err != nil {
		return Day{}, err
	}
	return ds[0], nil
}

// DaylightBetween returns one [Day] for each date from from to to, both included.
func DaylightBetween(p Place, zone *time.Location, from, to Date) ([]Day, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	if zone == nil {
		return nil, &Error{"tz", "Say which time zone the room is in, such as Europe/Amsterdam."}
	}
	if err := checkDate("from", "The first date", from); err != nil {
		return nil, err
	}
	if err := checkDate("to", "The last date", to); err != nil {
		return nil, err
	}
	if to.Before(from) {
		return nil, &Error{"to", fmt.Sprintf("The last date, %s, lies before the first, %s.", to, from)}
	}
	ds := make([]Day, to.Sub(from)+1)
	start := wallUnix(from, 0, zone)
	for i := range ds {
		d := from.AddDays(i)
		end := wallUnix(d.AddDays(1), 0, zone)
		ds[i] = daylight(p, zone, d, start, end)
		start = end
	}
	return ds, nil
}

func (p Place) check() error {
	if !(math.Abs(p.Lat) <= 90) {
		return &Error{"lat", fmt.Sprintf("Latitude %v is not between -90 and 90 degrees.", p.Lat)}
	}
	if !(math.Abs(p.Lon) <= 180) {
		return &Error{"lon", fmt.Sprintf("Longitude %v is not between -180 and 180 degrees; west is negative.", p.Lon)}
	}
	return nil
}

func checkDate(field, name string, d Date) error {
	switch {
	case d.IsZero():
		return &Error{field, name + " is missing. Write it as 2026-08-01."}
	case !d.valid():
		return &Error{field, fmt.Sprintf("%s, %s, is not in the calendar.", name, d)}
	case d.Year < firstYear || d.Year > lastYear:
		return &Error{field, fmt.Sprintf("%s, %s, lies outside the years %d to %d.", name, d, firstYear, lastYear)}
	}
	return nil
}

func daylight(p Place, zone *time.Location, d Date, from, to int64) Day {
	day := Day{Date: d, from: from, to: to}
	if to <= from {
		return day // a date that the zone left out when it crossed the date line
	}
	k := newSky(p.Lat, p.Lon, from, to)
	var whole bool
	day.Sunrise, day.Sunset, whole = day.fill(k, sinHorizon, &day.sun, zone)
	day.Length = day.sun.total()
	switch {
	case whole && day.sun.n == 1:
		day.Polar, day.Length = PolarDay, 24*time.Hour
	case whole:
		day.Polar = PolarNight
	}
	day.CivilDawn, day.CivilDusk, whole = day.fill(k, sinCivil, &day.civil, zone)
	day.CivilLength = day.civil.total()
	if whole && day.civil.n == 1 {
		day.CivilLength = 24 * time.Hour
	}
	return day
}

// fill finds the light above a height (given as its sine) and returns the first
// passing up and the first down, zero when there is none. whole says that the sun
// stays on one side all through the date.
func (d *Day) fill(k *sky, height float64, light *stretches, zone *time.Location) (up, down time.Time, whole bool) {
	var room [4]float64 // more would be a date with two days in it
	above, at := k.crossingsTo(room[:0], height)
	whole = len(at) == 0
	start := d.from
	for _, t := range at {
		x := min(max(int64(math.Round(t)), d.from), d.to-1)
		first := &up
		if above {
			light.add(start, x)
			first = &down
		}
		if first.IsZero() {
			*first = time.Unix(x, 0).In(zone)
		}
		start, above = x, !above
	}
	if above {
		light.add(start, d.to)
	}
	return up, down, whole
}

func (s *stretches) add(from, to int64) {
	if s.n < len(s.s) {
		s.s[s.n] = stretch{from, to}
		s.n++
	}
}
