package exchange

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"broodlight/internal/aviary"
)

var (
	midnight  = regexp.MustCompile(`[T ]0?0:00(:00(\.0+)?)?Z?$`) // spreadsheets add it to a day
	yearFirst = regexp.MustCompile(`^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$`)
	yearLast  = regexp.MustCompile(`^(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})$`)
	shortYear = regexp.MustCompile(`^\d{1,2}[-/.]\d{1,2}[-/.]\d{2}$`)
	named     = []string{"2 Jan 2006", "2 January 2006", "2-Jan-2006", "2. Jan 2006", "2. January 2006", "Jan 2, 2006", "January 2, 2006"}
)

// dayCell is a cell that holds a day. Of a day such as 03/04/2026 the order is settled from its whole column.
type dayCell struct {
	day   aviary.Date // when the form leaves no doubt
	a, b  int         // else the first two numbers, of which one is the day and one the month
	year  int
	loose bool
}

// readDay reads a cell that is not empty. The error is a sentence.
func readDay(s string) (dayCell, error) {
	s = midnight.ReplaceAllString(strings.TrimSpace(s), "")
	tight := strings.ReplaceAll(s, " ", "")
	if m := yearFirst.FindStringSubmatch(tight); m != nil {
		d, err := civil(number(m[1]), number(m[2]), number(m[3]), s)
		return dayCell{day: d}, err
	}
	if m := yearLast.FindStringSubmatch(tight); m != nil {
		return dayCell{a: number(m[1]), b: number(m[2]), year: number(m[3]), loose: true}, nil
	}
	if shortYear.MatchString(tight) {
		return dayCell{}, fmt.Errorf("the year of %s has two digits; write four", quoted(s))
	}
	for _, layout := range named {
		if t, err := time.Parse(layout, s); err == nil {
			d, err := civil(t.Year(), int(t.Month()), t.Day(), s)
			return dayCell{day: d}, err
		}
	}
	return dayCell{}, fmt.Errorf("%s is not a day; write it as 2026-01-13, or leave it empty when it is not known", quoted(s))
}

func number(digits string) int {
	n, _ := strconv.Atoi(digits) // at most four digits, as the patterns have it
	return n
}

// civil returns the day of year, month and day, or says that there is no such day.
func civil(year, month, day int, shown string) (aviary.Date, error) {
	d := aviary.DateOf(year, time.Month(month), day)
	if t := d.Time(); year != t.Year() || month != int(t.Month()) || day != t.Day() {
		return 0, fmt.Errorf("there is no day %s in the calendar; look at it again", quoted(shown))
	}
	if year < 1900 || year > 2199 {
		return 0, fmt.Errorf("the year of %s is outside 1900 to 2199", quoted(shown))
	}
	return d, nil
}

// order says in which order the numbers of a loose day stand, as far as this day alone tells.
func (c dayCell) order() (dayFirst, monthFirst bool) {
	if !c.loose {
		return false, false
	}
	return c.a > 12 && c.b <= 12, c.b > 12 && c.a <= 12
}

// either reports whether the day reads differently in the two orders, and both are days.
func (c dayCell) either() bool { return c.loose && c.a <= 12 && c.b <= 12 && c.a != c.b }

// resolve returns the day, reading a loose one in the given order.
func (c dayCell) resolve(dayFirst bool, shown string) (aviary.Date, error) {
	if !c.loose {
		return c.day, nil
	}
	if dayFirst {
		return civil(c.year, c.b, c.a, shown)
	}
	return civil(c.year, c.a, c.b, shown)
}
