package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

// sproutRoutes are the pages of sprouted seed.
func (s *server) sproutRoutes(r *routes) {
	r.get("/food/sprouting", s.sproutShow)
	r.keeperPost("/food/sprouting", s.sproutSend)
	r.keeperPost("/food/sprouting/stop", s.sproutStop)
	r.post("/food/sprouting/test", s.germSend)
}

// sproutPage is the jars of today and the next days, the plan that they follow, and what is known of the seed.
type sproutPage struct {
	layout
	Tried    bool // the plan is only tried; nothing is written
	Problem  string
	Days     []sproutDayView // today and tomorrow
	Later    []sproutDayView
	Picture  template.HTML
	Jars     []jarNow
	Facts    []factView
	Notes    []sourced
	HasPlan  bool
	Planned  string // when the plan was written, in words
	PlanID   aviary.ID
	Seeds    []seedView
	Tests    []germView
	Names    []string // of seeds tested so far
	Dead     bool     // no seed that was tested is good to sprout
	Care     cautionView
	Serve    []option
	Every    []option
	Volume   string
	Warmth   string
	UsualDry string
}

type sproutDayView struct {
	Day   aviary.Date
	Word  string
	Given string
	Steps []sproutStepView
}

type sproutStepView struct {
	Clock, Text, Why  string
	Jar               int
	Past, Next, Night bool
}

// jarNow is what stands in a jar.
type jarNow struct {
	Jar      int
	In, Then string
}

// factView is a line of a list of facts.
type factView struct{ Name, Text string }

// sourced is a sentence with what it rests on.
type sourced struct {
	Text, Source string
	Warn         bool
}

// seedView is a seed by its last germination test.
type seedView struct {
	Name, Text, Verdict, Bar string
	Use                      bool
	Interval                 template.HTML
	Notes                    []string
}

type germView struct {
	Day              aviary.Date
	Name, Text, Odds string
	ID               aviary.ID
}

var (
	sproutServe = []option{{Value: "phases", Label: "What the phases ask for"}, {Value: "amount", Label: "The same amount each day"}}
	sproutEvery = []option{{Value: "1", Label: "1 day: a jar each day"}, {Value: "2", Label: "2 days, the second from the fridge"}, {Value: "3", Label: "3 days"}, {Value: "4", Label: "4 days"}}
)

// sproutHeadline is what to do next, else how things stand.
func sproutHeadline(d *advice.Desk, s *advice.SproutState, u units) (headline, sub string) {
	if next := s.Next(); next != nil {
		word := ""
		switch day := dayOf(d, next); day {
		case d.Today:
		case d.Today + 1:
			word = "Tomorrow at "
		default:
			word = day.Short() + " at "
		}
		headline = word + next.Clock.String() + ": " + sproutWords(*next, u)
	}
	asked := fmt.Sprintf("%s %s for %s today", count(s.Cages, "place", "places"), map[bool]string{true: "asks", false: "ask"}[s.Cages == 1], u.Portion(s.Asked, 0))
	if s.Cages == 0 {
		asked = "No bird is due sprouted seed today"
	}
	switch {
	case s.Plan == nil && s.Stopped != 0 && headline == "":
		return "No seed is sprouted since " + s.Stopped.Long(), asked + "."
	case s.Plan == nil && s.Stopped != 0:
		return headline, "Sprouting is stopped; what is in the jars is still given."
	case s.Plan == nil:
		return "No seed is sprouted yet", asked + ". Plan it once, and each morning says what to soak, rinse and give."
	case headline == "":
		return "No jar is due in the next days", asked + ". The plan waits until a phase asks for sprouted seed."
	}
	if s.First > d.Today {
		return headline, asked + ". The first jar is given on " + s.First.Short() + "."
	}
	return headline, asked + "."
}

// dayOf is the civil day of a step, which lies in the list of the day that holds it.
func dayOf(d *advice.Desk, step *advice.SproutStep) aviary.Date {
	at := step.At.In(d.Room.Zone(d.Today))
	return aviary.DateOf(at.Year(), at.Month(), at.Day())
}

// sproutWords says a step in a sentence.
func sproutWords(x advice.SproutStep, u units) string {
	switch {
	case x.Soak():
		return fmt.Sprintf("soak %s of dry seed in jar %d", u.Portion(x.DryML, x.DryG), x.Jar)
	case x.Give():
		return fmt.Sprintf("rinse, smell and give %s from jar %d", u.Portion(x.ML, 0), x.Jar)
	case x.Out():
		return x.Kind.String()
	}
	return fmt.Sprintf("%s jar %d", x.Kind, x.Jar)
}

// sproutDays turns the days into what the page shows.
func sproutDays(d *advice.Desk, s *advice.SproutState, u units) []sproutDayView {
	var out []sproutDayView
	next := s.Next()
	for i, day := range s.Days {
		v := sproutDayView{Day: day.Day, Word: weekday(day.Day)}
		switch i {
		case 0:
			v.Word = "Today, " + day.Day.Short()
		case 1:
			v.Word = "Tomorrow, " + day.Day.Short()
		}
		if day.ML > 0 {
			v.Given = u.Portion(day.ML, 0) + " given"
		}
		for k := range day.Steps {
			x := &day.Steps[k]
			y := sproutStepView{Clock: x.Clock.String(), Text: capital(sproutWords(*x, u)), Why: x.Text, Jar: x.Jar, Past: x.Past, Night: x.Night, Next: x == next}
			if x.Soak() {
				y.Why += " It gives " + u.Portion(x.ML, 0) + "."
			}
			v.Steps = append(v.Steps, y)
		}
		out = append(out, v)
	}
	return out
}

// jarsPicture draws today and tomorrow, a lane a jar.
func jarsPicture(d *advice.Desk, s *advice.SproutState) template.HTML {
	if s.Jars == 0 || len(s.Batches) == 0 {
		return ""
	}
	midnight := s.Midnight
	minutes := func(x advice.SproutStep) int { return int(math.Round(x.At.Sub(midnight).Minutes())) }
	v := look.JarsView{Jars: s.Jars, Now: -1, Label: fmt.Sprintf("%s in turn, today and tomorrow. The steps stand in the list.", count(s.Jars, "jar", "jars"))}
	if m, ok := d.Now.Minutes(); ok {
		v.Now = m
	}
	for i := range 2 {
		word := s.Days[i].Day.Short()
		if i == 0 {
			word += " today"
		}
		v.Days = append(v.Days, word)
	}
	for _, b := range s.Batches {
		span := look.JarSpan{Jar: b.Jar - 1}
		drained, given := false, false
		for _, x := range b.Steps() {
			at := minutes(x)
			switch {
			case x.Soak():
				span.Soak = at
			case x.Give() && !given:
				span.Give, given = at, true
			case x.Out():
				span.Out = at
			case !drained:
				span.Drain, drained = at, true
			case !given:
				span.Rinses = append(span.Rinses, at)
			}
		}
		v.Jars = max(v.Jars, b.Jar)
		v.Spans = append(v.Spans, span)
	}
	return look.JarsPicture(v)
}

// jarsNow says what stands in each jar.
func jarsNow(d *advice.Desk, s *advice.SproutState) []jarNow {
	when := func(x advice.SproutStep) string {
		day := dayOf(d, &x)
		switch day {
		case d.Today:
			return x.Clock.String()
		case d.Today + 1:
			return "tomorrow " + x.Clock.String()
		case d.Today - 1:
			return "yesterday " + x.Clock.String()
		}
		return day.Short() + " " + x.Clock.String()
	}
	out := make([]jarNow, s.Jars)
	for i := range out {
		out[i] = jarNow{Jar: i + 1, In: "empty and washed"}
	}
	for _, b := range s.Batches {
		if b.Jar > len(out) {
			continue
		}
		jar := &out[b.Jar-1]
		var now, soak, next *advice.SproutStep
		steps := b.Steps()
		for i := range steps {
			x := &steps[i]
			switch {
			case x.Soak():
				soak = x
			case x.Give() && next == nil:
				next = x
			}
			if x.Past {
				now = x
			}
		}
		switch {
		case soak == nil || next == nil:
		case !soak.Past:
			if jar.Then == "" {
				jar.Then = "soaked " + when(*soak)
			}
		case !next.Past && now.Soak():
			jar.In, jar.Then = "soaking since "+when(*soak), "given "+when(*next)
		case !next.Past:
			jar.In, jar.Then = "sprouting, soaked "+when(*soak), "given "+when(*next)
		}
	}
	return out
}

// sproutFacts are the figures of the plan.
func sproutFacts(s *advice.SproutState, u units) []factView {
	p := s.Plan
	if p == nil || s.Jars == 0 {
		return nil
	}
	var out []factView
	add := func(name, format string, args ...any) {
		out = append(out, factView{name, fmt.Sprintf(format, args...)})
	}
	served := "what the phases ask for"
	if p.ServeML != nil {
		served = u.Portion(*p.ServeML, 0)
	}
	add("Each day", "%s, given at %s", served, p.ServeAt)
	for _, b := range s.Batches {
		if b.To >= s.Days[0].Day {
			add("Dry seed a batch", "%s for %s sprouted (%s dry for 1; %s as white millet)", u.Portion(b.DryML, b.DryG), u.Portion(b.ML, 0), figure(s.DryML, 2), u.Mass(math.Round(b.DryG)))
			break
		}
	}
	add("Jars in turn", "%d, washed before each is used again", s.Jars)
	add("Room", "%s, as the plan has it", u.Warmth(p.Celsius))
	t := s.Times
	add("Soak", "%s h in cold water", hoursSpan(t.Soak.Least, t.Soak.Most))
	add("Sprout", "%s h from the end of the soak to the chit, when the root just shows", hoursSpan(t.Sprout.Least, t.Sprout.Most))
	add("Rinse", "every %s h, %s h at most over night", figure(t.RinseEvery, 1), figure(t.RinseMost, 1))
	add("Take out", "%s h after it was given, and throw it away", figure(t.RemoveAfter, 1))
	return out
}

func hoursSpan(low, high float64) string {
	return figure(math.Round(low), 0) + "–" + figure(math.Round(high), 0)
}

// seedViews are the seeds by their last test.
func seedViews(s *advice.SproutState) []seedView {
	var out []seedView
	for _, x := range s.Seeds {
		t := x.Last
		v := seedView{
			Name: x.Name, Use: t.Use, Verdict: "good to sprout",
			Text: fmt.Sprintf("%d of %d sprouted by the third day, %s", t.Sprouted, t.Seeds, t.Day.Long()),
			Bar:  germOdds(t),
			Interval: look.Interval(look.IntervalView{
				From: 0, To: 100, Low: 100 * t.Low, Mid: 100 * t.Share, High: 100 * t.High,
				Label: germOdds(t),
			}),
		}
		if !t.Use {
			v.Verdict = "do not sprout it"
		}
		for _, n := range t.Notes {
			v.Notes = append(v.Notes, n.Text)
		}
		out = append(out, v)
	}
	return out
}

// germOdds writes the share with its interval.
func germOdds(t advice.SproutCount) string {
	return fmt.Sprintf("%.0f in 100, %.0f–%.0f (8 in 10)", 100*t.Share, 100*t.Low, 100*t.High)
}

// sourceds turns notes of an engine into those of a page; warn tells those to act on.
func sproutNotes(s *advice.SproutState) []sourced {
	var out []sourced
	for _, n := range s.Notes {
		out = append(out, sourced{Text: n.Text, Source: strings.TrimSuffix(n.Source, "."), Warn: n.Level.String() != "info"})
	}
	return out
}
