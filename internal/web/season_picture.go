package web

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/feed"
	"broodlight/internal/web/look"
)

// seasonLightRow is a run of days with the same lamp hours.
type seasonLightRow struct{ When, Planned, Real, Daylight string }

// seasonFeedRow is a phase of a group.
type seasonFeedRow struct {
	Group, Phase, From, To string
	Guess                  bool
}

// bands fills in the figures of light and food, and whether there are any.
func (p *seasonPage) bands(d *advice.Desk, s *advice.Season) {
	p.Unplanned = len(s.Feed) == 0
	for _, x := range s.Light.Days {
		p.Unplanned = p.Unplanned && !x.HasPlan && !x.HasReal
	}
	if p.Unplanned {
		return
	}
	p.Light, p.Lit = lightRows(s.Light.Days), "The sun alone"
	if c := s.Light.Circuit; c != nil {
		p.Lit = c.Label()
	}
	p.Dark = !slices.ContainsFunc(s.Light.Days, func(x advice.LampDay) bool { return x.HasDaylight })
	for _, b := range s.Feed {
		for _, x := range b.Spans {
			p.Feed = append(p.Feed, seasonFeedRow{b.Label(), advice.PhaseName(x.Phase), x.From.Long(), x.To.Long(), x.Guess})
		}
	}
}

// lightRows joins days with the same lamp hours.
func lightRows(days []advice.LampDay) []seasonLightRow {
	var out []seasonLightRow
	for i := 0; i < len(days); {
		j := i
		for j+1 < len(days) && sameLamps(days[i], days[j+1]) {
			j++
		}
		a, z := days[i], days[j]
		if i = j + 1; !a.HasPlan && !a.HasReal {
			continue
		}
		row := seasonLightRow{When: advice.Days(a.Date, z.Date), Planned: "–", Real: "–", Daylight: "not known"}
		if a.HasPlan {
			row.Planned = advice.LampHours(a.Planned)
		}
		if a.HasReal {
			row.Real = advice.LampHours(a.Real)
		}
		if a.HasDaylight && z.HasDaylight {
			row.Daylight = shortHours(a.Daylight)
			if other := shortHours(z.Daylight); other != row.Daylight {
				row.Daylight += " to " + other
			}
		}
		out = append(out, row)
	}
	return out
}

func sameLamps(a, b advice.LampDay) bool {
	return a.HasPlan == b.HasPlan && a.HasReal == b.HasReal && a.Planned == b.Planned && a.Real == b.Real
}

// shortHours writes daylight to a tenth of an hour.
func shortHours(x time.Duration) string {
	return strconv.FormatFloat(x.Hours(), 'f', 1, 64) + " h"
}

// feedRows turns bands into what the picture shows.
func feedRows(bands []advice.FeedBand) []look.FeedRow {
	out := make([]look.FeedRow, len(bands))
	for i, b := range bands {
		out[i].Name = b.Label()
		for _, x := range b.Spans {
			out[i].Feed = append(out[i].Feed, look.Stretch{From: int(x.From), To: int(x.To), Label: advice.PhaseName(x.Phase), Kind: feedKind(x.Phase), Guess: x.Guess})
		}
	}
	return out
}

func feedKind(phase feed.Phase) string {
	switch phase {
	case feed.Rest:
		return "rest"
	case feed.Preparation:
		return "build"
	case feed.Moult:
		return "moult"
	}
	return "breed"
}

// yearView begins a picture: its days, months, light and food.
func yearView(from, to, today aviary.Date, light advice.SeasonLight, bands []advice.FeedBand) look.LanesView {
	v := look.LanesView{From: int(from), To: int(to), Today: int(today), TodayLabel: today.Short() + " today", Feed: feedRows(bands)}
	if v.Light = lightCurve(light.Days); len(v.Light.Plan)+len(v.Light.Real)+len(bands) == 0 {
		v.Light = look.LightCurve{} // the sun alone makes no season
	}
	v.LightWords = lightWords(light, today)
	for day := from; day <= to; {
		y, m, n := day.Time().Date()
		label := m.String()
		if m == time.January || day == from {
			label += " " + strconv.Itoa(y)
		}
		if n == 1 {
			v.Months = append(v.Months, look.Tick{Day: int(day), Label: label})
		}
		day = aviary.DateOf(y, m+1, 1)
	}
	return v
}

// lightWords says in the picture what the lamps are set to today, else the most they were or are to be set to.
func lightWords(l advice.SeasonLight, today aviary.Date) string {
	c := l.Circuit
	if c == nil {
		return ""
	}
	name := "Lamps"
	if c.Name != "" {
		name = c.Name
	}
	if x, ok := l.Today(today); ok && x.HasReal {
		set, _ := c.Real()
		return fmt.Sprintf("%s %s–%s, %s", name, advice.WallClock(set.On), advice.WallClock(set.Off), advice.LampHours(x.Real))
	}
	var real, most, least time.Duration
	planned := false
	for _, x := range l.Days {
		if x.HasReal {
			real = max(real, x.Real)
		}
		if x.HasPlan {
			if most = max(most, x.Planned); !planned || x.Planned < least {
				least = x.Planned
			}
			planned = true
		}
	}
	switch {
	case real > 0:
		return fmt.Sprintf("%s at most %s", name, advice.LampHours(real))
	case planned:
		return fmt.Sprintf("%s planned, %s to %s", name, advice.LampHours(least), advice.LampHours(most))
	}
	return ""
}

// picture draws the lanes under light and food.
func (p *seasonPage) picture(d *advice.Desk, s *advice.Season, paper string) {
	v := yearView(s.From, s.To, d.Today, s.Light, s.Feed)
	px := laneStep
	if p.Month != "" {
		px = monthStep
		for day := s.From; day <= s.To; day++ {
			v.Days = append(v.Days, look.Tick{Day: int(day), Label: strconv.Itoa(day.Time().Day())})
		}
	}
	p.Pairs = "The season " + s.Span.Name
	what := "Season " + s.Span.Name
	if p.Month != "" {
		p.Pairs = monthName(s.From)
		what = p.Pairs
	}
	v.Label = fmt.Sprintf("%s, a lane for each of %s. The tables below hold the same.", what, count(len(s.Lanes), "pair", "pairs"))
	if len(s.Lanes) == 0 {
		v.Label = what + ": lamps and food. The tables below hold the same."
	}
	v.LanesTitle = count(len(s.Lanes), "pair", "pairs")
	pauses := false
	for i, l := range s.Lanes {
		lane := look.Lane{Plate: l.Place.Name} // lanes stand too close for a thumb: the links are in the table
		if l.Species != nil {
			lane.Name = l.Species.Short
		}
		for _, x := range l.Pauses {
			lane.Pauses = append(lane.Pauses, look.Stretch{From: int(x.From), To: int(x.To), Label: advice.PhaseName(x.Phase)})
			pauses = true
		}
		if l.Counts.Weaned > 0 {
			lane.Came = fmt.Sprintf("%d weaned", l.Counts.Weaned)
		}
		for j, c := range l.Clutches {
			lane.Clutches = append(lane.Clutches, drawn(c))
			if j+1 < len(l.Clutches) && c.Failed != "" {
				lane.Clutches[j].Note = fits(c.Failed, float64(l.Clutches[j+1].First-c.Ended)*px)
			}
			for _, m := range c.Moves {
				way := "to "
				if m.In {
					way = "from "
				}
				v.Moves = append(v.Moves, look.LaneMove{Lane: i, Day: int(m.Day), In: m.In, Words: fmt.Sprintf("%d %s%s", m.Eggs+m.Chicks, way, m.Other)})
			}
		}
		v.Lanes = append(v.Lanes, lane)
	}
	switch paper {
	case "a4":
		p.Picture = look.LanesPaper(v, look.PaperA4)
	case "a3":
		p.Picture = look.LanesPaper(v, look.PaperA3)
	default:
		p.Picture = look.Lanes(v)
	}
	p.Keys = bandKeys(v)
	if len(v.Lanes) == 0 {
		return
	}
	for _, k := range [][2]string{
		{"eggs", "egg full, not candled, clear"},
		{"hatch", "hatch"},
		{"box", "chicks in the box"},
		{"ring", "ring goes over"},
		{"out", "out, until weaned"},
		{"guess", "hatched lines: a guess"},
	} {
		p.Keys = append(p.Keys, keyView{look.LaneKey(k[0]), k[1]})
	}
	p.Keys = append(p.Keys, keyView{look.Mark(look.No, 14), "came to nothing, and why"})
	if pauses {
		p.Keys = append(p.Keys, keyView{look.LaneKey("pause"), "moult or rest of this pair"})
	}
	if len(v.Moves) > 0 {
		p.Keys = append(p.Keys, keyView{"", "arrow to a lane: put in from another nest; away from it: moved out"})
	}
}

// bandKeys explain light and food.
func bandKeys(v look.LanesView) []keyView {
	var out []keyView
	if len(v.Light.Real) > 0 {
		out = append(out, keyView{look.LightKey("real"), "lamps as really set"})
	}
	if len(v.Light.Plan) > 0 {
		out = append(out, keyView{look.LightKey("plan"), "lamps planned"})
	}
	if len(v.Light.Daylight) > 0 {
		out = append(out, keyView{look.LightKey("daylight"), "daylight outside"})
	}
	solid, plan, moult := false, false, false
	for _, row := range v.Feed {
		for _, x := range row.Feed {
			solid, plan, moult = solid || !x.Guess, plan || x.Guess, moult || x.Kind == "moult" && !x.Guess
		}
	}
	if solid {
		out = append(out, keyView{look.LaneKey("fed"), "fed so, up to today"})
	}
	if moult {
		out = append(out, keyView{look.LaneKey("moult"), "moult"})
	}
	if plan {
		out = append(out, keyView{look.LaneKey("plan"), "planned"})
	}
	return out
}

const (
	// laneStep and monthStep are about how wide a day is, in pixels, on a picture of a season and of a month.
	laneStep, monthStep = 3.0, 36.0
	// crossWidth is the room that the cross of a failed clutch takes on its lane, letterWidth that of a letter beside it.
	crossWidth, letterWidth = 21.0, 6.3
)

// fits shortens a word to the room before the next clutch, or leaves it out; the table has it whole.
func fits(s string, room float64) string {
	r, n := []rune(s), int((room-crossWidth)/letterWidth)
	switch {
	case len(r) <= n:
		return s
	case n < 5:
		return ""
	}
	return string(r[:n-1]) + "…"
}

// drawn turns a clutch into what the picture shows.
func drawn(c *advice.SeasonClutch) look.Clutch {
	when := func(e advice.SeasonEvent) look.When {
		switch {
		case !e.Known:
			return look.When{}
		case e.Happened:
			return look.SeenOn(int(e.Likely), "")
		}
		return look.Guessed(int(e.Early), int(e.Likely), int(e.Late), "")
	}
	out := look.Clutch{Hatch: when(c.Hatch), Fledge: when(c.Fledge), Wean: when(c.Wean), Over: c.Over}
	late := c.Over != "" // then what would have followed is no guess worth drawing
	if late {
		out.Hatch, out.Fledge, out.Wean = look.When{}, look.When{}, look.When{}
	}
	for _, e := range c.Eggs {
		out.Eggs = append(out.Eggs, look.LaidEgg{Day: int(e.Day), State: look.EggState(e.State), Guess: e.Expected})
	}
	if c.RingFrom != 0 && !late {
		out.Ring = [2]int{int(c.RingFrom), int(c.RingTo)}
	}
	switch {
	case c.Failed != "":
		out.Ended, out.Note = look.SeenOn(int(c.Ended), ""), c.Failed
	case c.Counts.Weaned > 0:
		out.Note = fmt.Sprintf("%d weaned", c.Counts.Weaned)
	}
	return out
}
