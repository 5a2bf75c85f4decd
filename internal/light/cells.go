package light

import (
	"encoding/json"
	"strconv"
	"time"
)

// DayHeader names the cells of [Day.Cells].
func DayHeader() []string {
	return []string{"date", "civil_dawn", "sunrise", "sunset", "civil_dusk", "day_length_h", "polar"}
}

// Cells writes the day for a CSV file: local times by RFC 3339, empty where there is no event,
// and decimal hours in full.
func (d Day) Cells() []string {
	return []string{
		d.Date.String(), instant(d.CivilDawn), instant(d.Sunrise), instant(d.Sunset), instant(d.CivilDusk),
		hours(d.Length), string(d.Polar),
	}
}

// MarshalJSON writes the day with the names of [DayHeader]; an event that is none is null.
func (d Day) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Date      string  `json:"date"`
		CivilDawn *string `json:"civil_dawn"`
		Sunrise   *string `json:"sunrise"`
		Sunset    *string `json:"sunset"`
		CivilDusk *string `json:"civil_dusk"`
		Length    float64 `json:"day_length_h"`
		Polar     Polar   `json:"polar"`
	}{
		d.Date.String(), orNull(d.CivilDawn), orNull(d.Sunrise), orNull(d.Sunset), orNull(d.CivilDusk),
		d.Length.Hours(), d.Polar,
	})
}

// RowHeader names the cells of [Row.Cells].
func RowHeader() []string {
	return []string{"date", "on", "off", "lamp_h", "daylight_h", "seen_h", "change", "warning"}
}

// Cells writes the row for a CSV file. The change is in hours, as lamp_h; daylight_h is
// empty when the place is not known.
func (r Row) Cells() []string {
	daylight := ""
	if r.HasDaylight {
		daylight = hours(r.Daylight)
	}
	return []string{
		r.Date.String(), instant(r.On), instant(r.Off), hours(r.Lamp), daylight, hours(r.Seen), hours(r.Change), r.Warning(),
	}
}

// MarshalJSON writes the row with the names of [RowHeader]; daylight not known is null.
func (r Row) MarshalJSON() ([]byte, error) {
	var daylight *float64
	if r.HasDaylight {
		h := r.Daylight.Hours()
		daylight = &h
	}
	return json.Marshal(struct {
		Date     string   `json:"date"`
		On       string   `json:"on"`
		Off      string   `json:"off"`
		Lamp     float64  `json:"lamp_h"`
		Daylight *float64 `json:"daylight_h"`
		Seen     float64  `json:"seen_h"`
		Change   float64  `json:"change"`
		Warning  string   `json:"warning"`
	}{r.Date.String(), instant(r.On), instant(r.Off), r.Lamp.Hours(), daylight, r.Seen.Hours(), r.Change.Hours(), r.Warning()})
}

// TimerHeader names the cells of [TimerRow.Cells].
func TimerHeader() []string {
	return []string{"date", "circuit", "on", "dim_from", "off", "lamp_h", "note"}
}

// Cells writes the row for a CSV file; times are those to set on the timer.
func (r TimerRow) Cells() []string {
	return []string{r.Date.String(), r.Circuit, r.On.String(), r.DimFrom.String(), r.Off.String(), hours(r.Lamp), r.Note}
}

func instant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	// Old local mean times carry seconds that RFC 3339 has no room for; the instant stays right
	// with the nearest whole minute.
	if _, off := t.Zone(); off%60 != 0 {
		t = t.In(time.FixedZone("", off-off%60))
	}
	return t.Format(time.RFC3339)
}

func orNull(t time.Time) *string {
	if t.IsZero() {
		return nil
	}
	s := instant(t)
	return &s
}

// hours writes a length as decimal hours, the shortest that reads back the same.
func hours(d time.Duration) string { return strconv.FormatFloat(d.Hours(), 'f', -1, 64) }
