package web

import (
	"errors"
	"fmt"
	"slices"
	"strconv"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// lampPlanPage is the form of a lamp plan, and what the plan would do before it is written.
type lampPlanPage struct {
	layout
	Banks, Places []option
	Circuits      []string
	Moves         []option
	Clocks        []option
	Windows       []option
	HasPlace      bool // latitude and longitude are known
	Seen          string
	Preview       *lampPreview
	Written       []writtenPlan
}

// lampPreview is a plan as typed.
type lampPreview struct {
	lampPicture
	lampSheet
	Lines []string
}

// writtenPlan is a plan in the books.
type writtenPlan struct {
	ID          aviary.ID
	Label, Text string
	Day         aviary.Date
	Holds       bool
}

var (
	lampMoves = []option{
		{Value: "evening", Label: "Evening: lamps go off later"},
		{Value: "morning", Label: "Morning: lamps come on earlier"},
		{Value: "both", Label: "Both ends"},
	}
	lampClocks = []option{
		{Value: "wall", Label: "Follow the wall clock: the birds' day jumps twice a year"},
		{Value: "standard", Label: "Keep standard time all year: birds' time"},
		{Value: "spread", Label: "Spread the change over some weeks"},
	}
	lampWindows = []option{
		{Value: "none", Label: "None: no windows, or covered"},
		{Value: "sun", Label: "Sunrise to sunset"},
		{Value: "twilight", Label: "Twilight too: civil dawn to civil dusk"},
	}
)

// lampPlanShow shows the form with the plan that holds, the one after it (?next=yes), or the usual start. Fields named in the
// address begin with what it says.
func (s *server) lampPlanShow(v *visit) error {
	in := v.r.URL.Query()
	var f *form
	v.desk(func(d *advice.Desk) {
		name := in.Get("circuit")
		if c, ok := circuitNamed(d.PlainCircuits(), name); ok && !in.Has("new") {
			name = c.Name
		}
		b := d.LampPlanStart(name)
		if in.Get("next") != "" {
			b = advice.NextYear(b)
		}
		f = lampPlanForm(&b)
	})
	for _, field := range []string{"ramp_from", "full_by", "taper_from", "rest_by", "on"} {
		if x := in.Get(field); x != "" {
			f.Values.Set(field, x)
			if field == "ramp_from" {
				f.Values.Del("from_real")
			}
		}
	}
	return lampPlanPageOf(v, f, nil)
}

// lampPlanForm fills the form in with a plan.
func lampPlanForm(b *aviary.LampPlanned) *form {
	number := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	f := blank("circuit", b.Circuit, "rest_hours", number(b.Rest), "full_hours", number(b.Full),
		"ramp_from", b.RampFrom.String(), "full_by", b.FullBy.String(), "taper_from", b.TaperFrom.String(), "rest_by", b.RestBy.String(),
		"on", b.On.String(), "step_minutes", strconv.Itoa(b.Step), "every_days", strconv.Itoa(b.Every),
		"moves", orFirst(b.Moves, lampMoves), "clock_changes", orFirst(b.Clocks, lampClocks), "windows", orFirst(b.Windows, lampWindows))
	if b.Dusk != nil {
		f.Values.Set("dusk_minutes", strconv.Itoa(*b.Dusk))
	}
	for _, bank := range b.Banks {
		f.Values.Add("banks", bank)
	}
	for _, id := range b.Places {
		f.Values.Add("places", id.String())
	}
	if b.FromReal {
		f.Values.Set("from_real", "yes")
	}
	return f
}

func orFirst(value string, choices []option) string {
	if value == "" {
		return choices[0].Value
	}
	return value
}

// lampPlanOf reads the form.
func lampPlanOf(f *form) *aviary.LampPlanned {
	hours := func(name string) float64 {
		x := f.floatp(name)
		if x == nil {
			if f.Error(name) == "" {
				f.wrong(name, "give the lamp hours a day, such as 9.5")
			}
			return 0
		}
		return *x
	}
	b := &aviary.LampPlanned{
		Circuit: f.text("circuit"), Rest: hours("rest_hours"), Full: hours("full_hours"),
		RampFrom: f.date("ramp_from"), FullBy: f.date("full_by"), TaperFrom: f.date("taper_from"), RestBy: f.date("rest_by"),
		On: f.clock("on"), Step: f.int("step_minutes"), Every: f.int("every_days"), Dusk: f.intp("dusk_minutes"),
		Moves: f.one("moves", aviary.LampMoves...), Clocks: f.one("clock_changes", aviary.ClockChanges...), Windows: f.one("windows", aviary.WindowLight...),
		Banks: f.words("banks"), Places: f.ids("places"), FromReal: f.tick("from_real"),
	}
	return b
}

// lampPlanSend shows what the plan would do, and writes it once it was shown as it stands.
func (s *server) lampPlanSend(v *visit) error {
	f := v.form()
	body := lampPlanOf(f)
	if err := f.err(); err != nil {
		return v.retry(f, err, lampPlanAgain)
	}
	e := v.entry(body)
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		asked := *e
		asked.Kind, asked.Version, asked.By, asked.Written = body.Kind(), 1, v.who.By, v.now
		var refused *aviary.Error
		if old := r.Entry(e.ID); old == nil && errors.As(r.Check(&asked, v.today), &refused) {
			f.refused(refused)
		}
	})
	if err := f.err(); err != nil {
		return v.retry(f, err, lampPlanAgain)
	}
	v.desk(func(d *advice.Desk) {
		for _, x := range d.LampPlanFaults(body) {
			f.wrong(x.Field, "%s", x.Message)
		}
	})
	if err := f.err(); err != nil {
		return v.retry(f, err, lampPlanAgain)
	}
	written, err := aviary.EncodeBody(body)
	if err != nil {
		return err
	}
	if f.text("do") != "write" || f.Values.Get("seen") != string(written) {
		f.Values.Set("seen", string(written))
		return lampPlanPageOf(v, f, body)
	}
	v.say("Lamps planned: %s", advice.Days(body.RampFrom, body.RestBy))
	if err := v.save(f, e); err != nil {
		return v.retry(f, err, lampPlanAgain)
	}
	return v.see("/lamps")
}

func lampPlanAgain(v *visit, f *form) error { return lampPlanPageOf(v, f, nil) }

// lampPlanPageOf shows the form, and with a plan its preview.
func lampPlanPageOf(v *visit, f *form, body *aviary.LampPlanned) error {
	p := &lampPlanPage{layout: underLamps("When the lamps go up, and when they come down", "Preview it before it is written. A newer plan takes the days of an older one."), Moves: lampMoves, Clocks: lampClocks, Windows: lampWindows}
	p.Form, p.Class = f, "page wide"
	v.desk(func(d *advice.Desk) {
		set := d.Room.Settings(d.Today)
		p.HasPlace = set.Latitude != nil && set.Longitude != nil
		for _, x := range d.Room.Places() {
			if x.Outdoor {
				continue
			}
			if x.Bank != "" && !slices.ContainsFunc(p.Banks, func(o option) bool { return o.Value == x.Bank }) {
				p.Banks = append(p.Banks, option{Value: x.Bank, Label: x.Bank})
			}
			p.Places = append(p.Places, option{Value: x.ID.String(), Label: x.Name})
		}
		for _, c := range d.PlainCircuits() {
			if c.Name != "" {
				p.Circuits = append(p.Circuits, c.Name)
			}
			for _, x := range slices.Backward(c.Plans) {
				p.Written = append(p.Written, writtenPlan{
					ID: x.Entry, Label: c.Label(), Day: x.Day, Holds: c.Plan != nil && x.Entry == c.Plan.Entry,
					Text: fmt.Sprintf("%s to %s, %s to %s and back", x.RampFrom.Long(), x.RestBy.Long(), hoursOf(x.Rest), hoursOf(x.Full)),
				})
			}
		}
		if body == nil {
			return
		}
		c := d.CircuitWith(body)
		p.Preview = &lampPreview{lampPicture: drawLamps(d, c, nil, ""), lampSheet: sheetOf(c), Lines: previewLines(d, c)}
		p.Headline, p.Sub = previewHeadline(c), "Nothing is written yet."
		p.Seen = f.Values.Get("seen")
	})
	return v.render("lamp_plan", p)
}

// previewHeadline says when full light comes and goes.
func previewHeadline(c *advice.LampCircuit) string {
	b := c.Plan
	if c.Programme == nil || c.Programme.FullOn.IsZero() {
		return fmt.Sprintf("%s: full light is not reached before the lamps come down", c.Label())
	}
	return fmt.Sprintf("%s: %s of light from %s to %s", c.Label(), hoursOf(b.Full), advice.CivilDay(c.Programme.FullOn).Short(), (b.TaperFrom - 1).Short())
}

// previewLines are the figures of the picture in words.
func previewLines(d *advice.Desk, c *advice.LampCircuit) []string {
	out := []string{lights(c)}
	if c.Programme == nil {
		return out
	}
	b := c.Plan
	if row, ok := c.Planned(d.Today); ok {
		out = append(out, fmt.Sprintf("Today by this plan: %s–%s, %s.", row.On.Format("15:04"), row.Off.Format("15:04"), advice.LampHours(row.Lamp)))
	}
	if day := advice.CivilDay(c.Programme.FullOn); day != 0 && day != b.RampFrom {
		if row, ok := c.Planned(day); ok {
			out = append(out, fmt.Sprintf("Full light from %s: %s–%s.", day.Long(), row.On.Format("15:04"), row.Off.Format("15:04")))
		}
	}
	if day := advice.CivilDay(c.Programme.RestOn); day != 0 {
		if row, ok := c.Planned(day); ok {
			out = append(out, fmt.Sprintf("Rest from %s: %s–%s, %s.", day.Long(), row.On.Format("15:04"), row.Off.Format("15:04"), advice.LampHours(row.Lamp)))
		}
	}
	from, to := c.Season()
	return append(out, fmt.Sprintf("The timer is touched on %s.", count(len(touches(c, from, to)), "day", "days")))
}
