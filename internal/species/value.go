package species

import (
	"math"
	"strconv"
)

// A Value is what is known of one parameter of one species.
type Value struct {
	Low     *float64 `json:"low,omitempty"`     // nil when unknown
	Typical *float64 `json:"typical,omitempty"` // nil when unknown
	High    *float64 `json:"high,omitempty"`    // nil when unknown
	Unit    Unit     `json:"unit"`
	Basis   Basis    `json:"basis"`  // basis of the typical figure
	Source  string   `json:"source"` // where it comes from, never empty
	Note    string   `json:"note,omitempty"`
	Text    string   `json:"text,omitempty"` // the answer in words when it is not a figure

	// Replaces is the profile's own value under a keeper's override; nil otherwise,
	// and nil too when the profile knew nothing.
	Replaces *Value `json:"-"`
}

// Span returns the three figures with the gaps filled in: a missing typical figure is
// half way between the ends (or the one end that there is), a missing end is the
// typical figure. ok is false when the value has no figure.
//
// A filled end is not knowledge: look at Low and High to learn whether there is any.
func (v Value) Span() (low, typical, high float64, ok bool) {
	switch {
	case v.Typical != nil:
		typical = *v.Typical
	case v.Low != nil && v.High != nil:
		typical = *v.Low + (*v.High-*v.Low)/2
	case v.Low != nil:
		typical = *v.Low
	case v.High != nil:
		typical = *v.High
	default:
		return 0, 0, 0, false
	}
	low, high = typical, typical
	if v.Low != nil {
		low = *v.Low
	}
	if v.High != nil {
		high = *v.High
	}
	return low, typical, high, true
}

// String returns the value as a page shows it: "14 (12–16) days", "1.44 g",
// "11.2–13.1 hours", or its text.
func (v Value) String() string {
	s := v.figures()
	switch {
	case s == "":
		return v.Text
	case v.Unit == EggNumber:
		return "egg " + s
	case v.Unit == DaysPerEgg:
		return s + " " + v.one("day", "days") + " an egg"
	case v.Unit == Percent:
		return s + " in 100"
	case v.Unit == Degrees:
		return s + "°"
	case v.Unit == Eggs:
		return s + " " + v.one("egg", "eggs")
	case v.Unit == Days:
		return s + " " + v.one("day", "days")
	case v.Unit == Months:
		return s + " " + v.one("month", "months")
	case v.Unit == Years:
		return s + " " + v.one("year", "years")
	case v.Unit == Clutches:
		return s + " " + v.one("clutch", "clutches")
	case v.Unit == Hours:
		return s + " " + v.one("hour", "hours")
	}
	return s + " " + string(v.Unit)
}

// one returns the singular when 1 is the only figure.
func (v Value) one(singular, plural string) string {
	low, _, high, _ := v.Span()
	if low == 1 && high == 1 {
		return singular
	}
	return plural
}

// figures returns the figures without the unit, "" when there are none.
func (v Value) figures() string {
	dash := "–"
	if v.Low != nil && *v.Low < 0 || v.High != nil && *v.High < 0 {
		dash = " to "
	}
	switch {
	case v.Typical == nil && v.Low != nil && v.High != nil:
		return number(*v.Low) + dash + number(*v.High)
	case v.Typical == nil && v.Low != nil:
		return "from " + number(*v.Low)
	case v.Typical == nil && v.High != nil:
		return "up to " + number(*v.High)
	case v.Typical == nil:
		return ""
	}
	s := number(*v.Typical)
	switch {
	case v.Low != nil && v.High != nil && *v.Low == *v.High:
		return s
	case v.Low != nil && v.High != nil:
		return s + " (" + number(*v.Low) + dash + number(*v.High) + ")"
	case v.Low != nil:
		return s + " (from " + number(*v.Low) + ")"
	case v.High != nil:
		return s + " (up to " + number(*v.High) + ")"
	}
	return s
}

// number prints x in full, with a minus sign that does not break the line.
func number(x float64) string {
	s := strconv.FormatFloat(math.Abs(x), 'f', -1, 64)
	if x < 0 {
		return "−" + s
	}
	return s
}
