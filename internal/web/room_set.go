package web

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// roomPage sets what holds for the room as a whole.
type roomPage struct {
	layout
	Dates []monthDayField
}

// monthDayField is a day of every year: two controls with one label.
type monthDayField struct {
	Day, Month        field
	Label, Help, Name string
	Error             string
}

var monthDays = []struct{ name, label, help string }{
	{"season_start", "Season begins", "Counts and clutch limits run from this day to the same day a year later."},
	{"ring_year_start", "Ring year begins", "Leave it empty when it is the calendar year."},
	{"lull_from", "Rest from", "The birds rest: no pair is set up, no box hung."},
	{"lull_to", "Rest until", ""},
}

// roomShow shows how the room is set.
func (s *server) roomShow(v *visit) error {
	f := blank("day", v.today.String())
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		set := r.Settings(v.today)
		f.Values.Set("name", set.Name)
		f.Values.Set("zone", set.Zone)
		f.Values.Set("latitude", degrees(set.Latitude))
		f.Values.Set("longitude", degrees(set.Longitude))
		for name, value := range map[string]string{"season_start": set.SeasonStart, "ring_year_start": set.RingYear, "lull_from": set.LullFrom, "lull_to": set.LullTo} {
			f.setMonthDay(name, value)
		}
	})
	return roomForm(v, f)
}

func roomForm(v *visit, f *form) error {
	p := &roomPage{layout: underSettings("Where the room is, and when its season runs", "")}
	p.Form = f
	for _, m := range monthDays {
		p.Dates = append(p.Dates, f.MonthDay(m.name, m.label, m.help))
	}
	return v.render("room_set", p)
}

// roomSet writes what was changed about the room.
func (s *server) roomSet(v *visit) error {
	f := v.form()
	body := &aviary.RoomSet{}
	changed := false
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		set := r.Settings(v.today)
		text := func(dst **string, now, was string) {
			if now != was {
				*dst, changed = &now, true
			}
		}
		number := func(dst **float64, now, was *float64) {
			if now != nil && (was == nil || *now != *was) {
				*dst, changed = now, true
			}
		}
		text(&body.Name, f.text("name"), set.Name)
		if zone := f.text("zone"); zone != "" || set.Zone != "" {
			text(&body.Zone, zone, set.Zone)
		}
		number(&body.Latitude, f.degrees("latitude", "N", "S"), set.Latitude)
		number(&body.Longitude, f.degrees("longitude", "E", "W"), set.Longitude)
		text(&body.SeasonStart, f.monthDay("season_start"), set.SeasonStart)
		text(&body.RingYear, f.monthDay("ring_year_start"), set.RingYear)
		text(&body.LullFrom, f.monthDay("lull_from"), set.LullFrom)
		text(&body.LullTo, f.monthDay("lull_to"), set.LullTo)
	})
	if (f.monthDay("lull_from") == "") != (f.monthDay("lull_to") == "") {
		f.wrong("lull_to", "give both ends of the rest, or neither")
	}
	if err := f.err(); err != nil {
		return v.retry(f, err, roomForm)
	}
	if !changed {
		return v.see("/settings")
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, roomForm)
	}
	return v.see("/settings")
}

// degrees writes an angle in full, "" when it is not known.
func degrees(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}

// degrees reads an angle: −34.6, or 34.6 S, or 34.6° S.
func (f *form) degrees(name, plus, minus string) *float64 {
	s := strings.ToUpper(strings.ReplaceAll(f.text(name), "°", " "))
	turn := 1.0
	if t, ok := strings.CutSuffix(strings.TrimSpace(s), minus); ok {
		s, turn = t, -1
	} else if t, ok := strings.CutSuffix(strings.TrimSpace(s), plus); ok {
		s = t
	}
	x := blank(name, s).floatp(name)
	if x == nil {
		if s != "" {
			f.wrong(name, "%q is not a number of degrees; write it as 53.3 or 34.6 %s", short(f.text(name)), minus)
		}
		return nil
	}
	*x *= turn
	return x
}

var months = func() []option {
	out := []option{{Value: "", Label: "–"}}
	for m := time.January; m <= time.December; m++ {
		out = append(out, option{Value: fmt.Sprintf("%02d", m), Label: m.String()})
	}
	return out
}()

// MonthDay is a control for a day of every year; the part "monthday" draws it. Its values are name_day and name_month.
func (f *form) MonthDay(name, label, help string) monthDayField {
	d := f.Number(name+"_day", "Day")
	d.Error = f.Error(name) // so that the control is marked
	m := f.Select(name+"_month", "Month", months)
	return monthDayField{Day: d, Month: m, Label: label, Help: help, Name: name, Error: f.Error(name)}
}

func (f *form) setMonthDay(name, value string) {
	if month, day, ok := strings.Cut(value, "-"); ok {
		f.Values.Set(name+"_month", month)
		f.Values.Set(name+"_day", strings.TrimPrefix(day, "0"))
	}
}

// monthDay reads a day of every year as MM-DD, "" when it is empty.
func (f *form) monthDay(name string) string {
	day, month := f.text(name+"_day"), f.text(name+"_month")
	if day == "" && month == "" {
		return ""
	}
	n, err := strconv.Atoi(day)
	s := fmt.Sprintf("%s-%02d", month, n)
	if _, bad := time.Parse(time.DateOnly, "2001-"+s); err != nil || bad != nil {
		if f.Error(name) == "" {
			f.wrong(name, "give the day and the month, such as 1 August")
		}
		return ""
	}
	return s
}

// monthDayText writes MM-DD as people read it: "1 Aug".
func monthDayText(s string) string {
	t, err := time.Parse(time.DateOnly, "2001-"+s)
	if err != nil {
		return s
	}
	return t.Format("2 Jan")
}
