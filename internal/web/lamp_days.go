package web

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// lampDaysPage is the day table of a circuit.
type lampDaysPage struct {
	layout
	Label, Query string
	HasDaylight  bool
	HasToday     bool
	Rows         []lampDayRow
}

// lampDayRow is one day.
type lampDayRow struct {
	Day                                aviary.Date
	On, Off, Lamp, Daylight, Seen, Say string
	Change                             string
	Today                              bool
}

func (s *server) lampDaysShow(v *visit) error {
	name := v.r.URL.Query().Get("circuit")
	p := &lampDaysPage{layout: underLamps("", "")}
	p.Class = "page wide"
	return v.lampPage("lamp_days", name, p, func(d *advice.Desk, c *advice.LampCircuit) error {
		if c.Programme == nil {
			return noProgramme(c)
		}
		p.Label, p.Query = c.Label(), circuitQuery(c.Name)
		from, to := c.Season()
		p.Headline = fmt.Sprintf("%s, day by day: %s to %s", c.Label(), from.Long(), to.Long())
		for _, r := range c.Rows() {
			day := advice.CivilDay(r.Date)
			x := lampDayRow{
				Day: day, On: r.On.Format("15:04"), Off: r.Off.Format("15:04"), Lamp: advice.LampHours(r.Lamp), Seen: advice.LampHours(r.Seen.Round(6 * time.Minute)),
				Say: sentence(r.Warning()), Today: day == d.Today,
			}
			if r.HasDaylight {
				p.HasDaylight, x.Daylight = true, fmt.Sprintf("%.1f h", r.Daylight.Hours())
			}
			switch {
			case r.Change > 0:
				x.Change = "+" + advice.Spell(r.Change)
			case r.Change < 0:
				x.Change = "−" + advice.Spell(r.Change)
			}
			p.HasToday = p.HasToday || x.Today
			p.Rows = append(p.Rows, x)
		}
		return nil
	})
}

// noProgramme says why a circuit has no days.
func noProgramme(c *advice.LampCircuit) error {
	if c.Problem != "" {
		return &aviary.Error{Code: aviary.Conflict, Message: c.Problem}
	}
	return notThere("no plan is written for these lamps yet; write one under Lamps")
}

// lampDaysFile hands the season's days on as the command lamps prints them: from the first longer day to rest.
func (s *server) lampDaysFile(v *visit) error {
	return v.lampFile("lamp-days", func(c *advice.LampCircuit) (header []string, rows [][]string) {
		for _, r := range c.Rows() {
			rows = append(rows, r.Cells())
		}
		return advice.LampDayColumns(), rows
	})
}

// lampTimerFile hands on the days on which the timer is touched.
func (s *server) lampTimerFile(v *visit) error {
	return v.lampFile("lamp-timer", func(c *advice.LampCircuit) (header []string, rows [][]string) {
		from, to := c.Season()
		for _, t := range c.Programme.TimerSheet() {
			if day := advice.CivilDay(t.Date); day >= from && day <= to {
				rows = append(rows, t.Cells())
			}
		}
		return advice.LampTimerColumns(), rows
	})
}

func (v *visit) lampFile(name string, table func(c *advice.LampCircuit) (header []string, rows [][]string)) error {
	circuit := v.r.URL.Query().Get("circuit")
	var b bytes.Buffer
	err := v.circuit(circuit, func(_ *advice.Desk, c *advice.LampCircuit) error {
		if c.Programme == nil {
			return noProgramme(c)
		}
		name += "-" + strings.Trim(strings.Map(fileLetter, strings.ToLower(c.Label())), "-") + "-" + c.Plan.RampFrom.String()
		header, rows := table(c)
		return csv.NewWriter(&b).WriteAll(append([][]string{header}, rows...))
	})
	if err != nil {
		return err
	}
	v.w.Header().Set("Content-Disposition", `attachment; filename="`+name+`.csv"`)
	return v.send("text/csv; charset=utf-8", b.Bytes())
}

// fileLetter keeps what a file's name may hold everywhere.
func fileLetter(r rune) rune {
	if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
		return r
	}
	return '-'
}
