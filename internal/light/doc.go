// Package light answers two questions of a bird room: how much daylight falls at
// this place today, and what should the lamps do through the year.
//
// # Shapes
//
// A [Day] is the sun at one place on one civil date. A [Programme] is one lamp
// circuit's year: one [Row] a civil date, in date order and without holes. Rows
// and days print themselves: [DayHeader] with [Day.Cells], [RowHeader] with
// [Row.Cells], and MarshalJSON with the same names.
//
// # Units
//
// Lengths of light are a time.Duration inside and decimal hours in cells.
// Latitude and longitude are degrees, north and east positive. A [Date] is a
// civil date in the room's zone, a [Clock] is minutes on the wall clock, and an
// instant is a time.Time shown in that zone. Lamp settings are whole minutes;
// sun times are whole seconds.
//
// # Model
//
// The sun is up when its centre stands above -0.8333 degrees (34' of refraction
// and 16' of radius), and civil twilight is above -6 degrees, both for a level
// horizon at sea level. Hills, height and weather are left out. The sun's place
// is worked out at the start, middle and end of the date and interpolated, and
// each event is found by root search on the height itself, so that the answer
// holds for the moment of the event and not for noon.
//
// A programme holds its rest hours, adds one step on ramp-from and one every so
// many days after it until full light, holds full light, and comes down the same
// way from taper-from. Every step has the full size but the last, which takes
// what is left. The clock time given is when the lamps come on at full light: if
// the evening moves it is the same all year, if the morning moves the time of
// going off stays, and if both move the middle of the day stays.
//
// With clock mode wall the timer follows the wall clock, and the birds' day jumps
// when the clocks change. With standard the birds keep standard time, which is
// the earlier of the zone's January and July offsets in the year of ramp-from.
// With spread the jump is shared out in pieces no bigger than the step, which
// never move on or off by more than the step from one day to the next.
//
// Each circuit lights its own birds; light that spills over from another circuit
// is not counted. A feeding hour is a lamp hour less half of the dusk.
//
// Lamp hours are room practice. No dose-response of lamp hours is published for
// Gouldians, parrotfinches or waxbills, and in zebra finches food outranks day
// length, so no text of this package calls an hour needed.
//
// # Errors
//
// A setting that cannot be is an [*Error] that names the field. A ramp or taper
// that cannot be walked with its step, interval and dates is a [*FitError], which
// says how far each of the three would have to give. A date outside 1900-2100 is
// an [*Error]. Nothing here panics on data from a person.
//
// # Sources
//
//   - Meeus (1998), Astronomical Algorithms, 2nd edition, chapters 12, 15, 22 and
//     25: sidereal time, rising and setting, obliquity, the sun to 0.01 degrees.
//   - NOAA Solar Calculator, equation notes: the same series, and -0.833 degrees.
//   - Perfito, Kwong, Bentley and Hau (2008), Hormones and Behavior: males of the
//     zebra finch grew testes on long days only with food at will.
//   - Steps of 15 to 30 minutes a week, rest of 9 to 11 hours, full light of 13 to
//     14.5 hours, a dusk of 30 to 60 minutes: common practice, no source.
package light
