package web

import (
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/feed"
	"broodlight/internal/web/look"
)

// rationPage holds a ration against the need of its birds, in one phase and in all.
type rationPage struct {
	layout
	Species, Phases []option
	Foods           []rationFood
	Rows            []rationRow
	Need, NeedParts string
	Notes           []sourced
	Every           []rationPhase
	Brood           string // the chicks that the phases of rearing are shown with
	Picture         template.HTML
	Keys            []keyView
	Peak            string
	Days            []rationDay
	Guard, GuardWhy string
	Volume, Mass    string
	Own             bool
	Adult           string // what an adult weighs, and what that rests on
	Who             string // who eats, in words
	Sources         []string
	Cautions        []feed.Caution
}

// rationFood is one food of the form.
type rationFood struct {
	Name, Grams, Note string
	Amount            field
	ID                string
	Spoon             bool // it is given by the spoon; else it is out or not
	Free              bool
}

// rationRow is one figure of a ration.
type rationRow struct {
	Name, Value, Range, Verdict, Mark, Basis, Why string
}

// rationPhase is a phase in a table of all.
type rationPhase struct {
	Name, Href string
	Current    bool
	Given      string
	Cells      []rationCell
}

type rationCell struct{ Value, Range, Verdict, Mark string }

type rationDay struct {
	Age                  int
	Adults, Young, Whole string
	Peak                 bool
}

// rationFigures are the figures shown of a phase, and their places behind the point.
var rationFigures = []struct {
	name   string
	label  string
	places int
}{{"energy offered", "Energy offered", 0}, {"protein", "Protein", 1}, {"fat", "Fat", 1}, {"calcium", "Calcium", 2}, {"calcium to phosphorus", "Calcium to phosphorus", 2}}

func (s *server) rationRoutes(r *routes) {
	r.get("/food/ration", s.rationShow)
	r.get("/food/mix", s.mixShow)
}

// rationAsk reads the address; what is missing begins with a pair that rears four chicks of twelve days.
func rationAsk(f *form, u units) advice.RationAsk {
	for name, value := range map[string]string{"phase": "rearing", "adults": "2", "chicks": "4", "age": "12"} {
		if !f.Values.Has(name) {
			f.Values.Set(name, value)
		}
	}
	ask := advice.RationAsk{Species: f.text("species"), Phase: f.text("phase"), Adults: f.int("adults"), Chicks: f.int("chicks"), Age: f.float("age")}
	if g := f.massp("grams", u); g != nil {
		ask.Grams = *g
		if *g == 0 {
			f.wrong("grams", "an adult weighs more than nothing; leave it empty for what is usual")
		}
	}
	if f.text("portion") != "own" {
		return ask
	}
	ask.ML, ask.Free = map[string]float64{}, f.words("free")
	for _, x := range advice.RationFoods() {
		if ml := f.floatp("amount-" + x.ID); ml != nil {
			ask.ML[x.ID] = u.ml(*ml)
		}
	}
	return ask
}

func (s *server) rationShow(v *visit) error {
	f := &form{Values: v.r.URL.Query()}
	p := &rationPage{layout: layout{Title: "Ration", Tab: "season", Up: "/food", UpTo: "Food", Class: "page wide", Form: f}, Cautions: advice.FeedCautions("figures", "calcium", "hen", "medicine")}
	var failed error
	v.desk(func(d *advice.Desk) {
		u := unitsOf(d.Room.Settings(d.Today))
		p.Volume, p.Mass = u.VolumeUnit(), u.MassUnit()
		ask := rationAsk(f, u)
		kept := map[string]bool{}
		for _, x := range d.KeptSpecies() {
			kept[x.Slug] = true
			p.Species = append(p.Species, option{Value: x.Slug, Label: x.English})
		}
		for _, x := range d.Cat.All() {
			if !kept[x.Slug] {
				p.Species = append(p.Species, option{Value: x.Slug, Label: x.English + " (not kept)"})
			}
		}
		for _, x := range advice.FeedPhases() {
			p.Phases = append(p.Phases, option{Value: x.String(), Label: capital(x.String())})
		}
		var a *advice.RationAnswer
		if failed = f.err(); failed == nil {
			a, failed = d.Ration(ask)
		}
		if failed != nil {
			p.foods(f, nil, u)
			return
		}
		f.Values.Set("species", a.Species.Slug)
		p.fill(f, a, u)
	})
	if failed != nil {
		failed = rationFieldOf(failed)
		if !f.refused(failed) {
			return failed
		}
		v.status = http.StatusUnprocessableEntity
		p.Headline, p.Sub = "What a ration offers", "Nothing is worked out yet."
	}
	return v.render("ration_show", p)
}

// rationFieldOf puts a refusal of the engine beside the field of the form.
func rationFieldOf(err error) error {
	var at *aviary.Error
	if !errors.As(err, &at) {
		return err
	}
	field := at.Field
	switch field {
	case "species", "phase", "adults", "chicks", "age", "grams":
	default: // a food
		field = "free"
		for _, x := range advice.RationFoods() {
			if x.ID == at.Field && x.Teaspoon.Known {
				field = "amount-" + x.ID
			}
		}
	}
	return &aviary.Error{Code: at.Code, Field: field, Message: at.Message}
}

// foods are the fields of the form; without an answer they stand as they were sent.
func (p *rationPage) foods(f *form, a *advice.RationAnswer, u units) {
	for i, x := range advice.RationFoods() {
		name := "amount-" + x.ID
		y := rationFood{ID: x.ID, Name: x.Name, Note: x.Note, Spoon: x.Teaspoon.Known, Free: f.Has("free", x.ID)}
		if a != nil {
			g := a.Given[i]
			y.Free = g.Free
			if !a.Own {
				f.Values.Del(name)
				if g.ML > 0 {
					f.Values.Set(name, u.typedVolume(g.ML))
				}
			}
			if g.ML > 0 {
				y.Grams = u.Mass(g.Grams)
			}
		}
		y.Amount = f.Decimal(name, x.Name).Per(p.Volume)
		p.Foods = append(p.Foods, y)
	}
}

// fill turns the answer into what the page shows.
func (p *rationPage) fill(f *form, a *advice.RationAnswer, u units) {
	p.Own = a.Own
	p.foods(f, a, u)
	p.Headline = rationHeadline(a)
	p.Who = whoEats(a.Birds.Adults, a.Birds.Chicks, a.Birds.ChickAge)
	p.Sub = p.Who + map[bool]string{true: ", with your own amounts.", false: ", with the portion of the program."}[a.Own]
	p.Adult = fmt.Sprintf("An adult is counted with %s, %s.", u.Mass(a.Birds.MassGrams), a.MassWhy)
	n := a.Analysis.Need
	p.Need = fmt.Sprintf("%.0f kJ a day, likely between %.0f and %.0f", n.KJ, n.Low, n.High)
	var parts []string
	for _, x := range []struct {
		kj   float64
		word string
	}{{n.Adults, "grown birds"}, {n.Eggs, "the egg being made"}, {n.Young, "chicks"}} {
		if x.kj > 0 {
			parts = append(parts, fmt.Sprintf("%.0f for %s", x.kj, x.word))
		}
	}
	p.NeedParts = strings.Join(parts, ", ") + "."
	if n.Eaten != n.KJ {
		p.NeedParts += fmt.Sprintf(" They are likely to eat %.0f: a laying hen moves less.", n.Eaten)
	}
	for _, l := range a.Analysis.Lines {
		if l.Name == "energy offered of need" {
			continue // said with the energy
		}
		p.Rows = append(p.Rows, rationRowOf(l, n.KJ))
	}
	for _, x := range a.Analysis.Notes {
		p.Notes = append(p.Notes, sourced{Text: x.Text, Source: strings.TrimSuffix(x.Source, "."), Warn: x.Level.String() != "info"})
	}
	for _, x := range a.Phases {
		p.Every = append(p.Every, rationPhaseOf(x, a, f, u))
		if x.Chicks > 0 && p.Brood == "" {
			p.Brood = fmt.Sprintf("Rearing and weaning are shown with %s.", count(x.Chicks, "chick", "chicks"))
		}
	}
	p.drawDays(a)
	if a.Guard.Why != "" {
		p.Guard, p.GuardWhy = a.Guard.Why, a.Guard.Source
	}
	seen := map[string]bool{}
	source := func(s string) {
		if s != "" && !seen[s] {
			seen[s] = true
			p.Sources = append(p.Sources, s)
		}
	}
	source("Need: " + n.Source())
	for _, g := range a.Given {
		if g.ML > 0 {
			var says []string
			for _, x := range []feed.Figure{g.Protein, g.Fat, g.Calcium} {
				if x.Known && !strings.Contains(strings.Join(says, ""), x.Source) {
					says = append(says, x.Source)
				}
			}
			source(g.Name + ": " + strings.Join(says, "; "))
		}
	}
}

// rationHeadline says how the ration stands.
func rationHeadline(a *advice.RationAnswer) string {
	var low, high, unknown []string
	for _, name := range []string{"protein", "fat", "calcium"} {
		switch l := a.Line(name); l.Verdict {
		case feed.Low:
			low = append(low, name)
		case feed.High:
			high = append(high, name)
		case feed.Unknown:
			unknown = append(unknown, name)
		}
	}
	head := fmt.Sprintf("%s, %s: ", a.Species.English, a.Phase)
	var says []string
	switch a.Line("energy offered").Verdict {
	case feed.Low:
		says = append(says, "too little energy")
	case feed.Within:
		says = append(says, "energy enough")
	default:
		says = append(says, "energy not known")
	}
	join := func(words []string, is string) {
		if len(words) > 0 {
			says = append(says, listed(words)+" "+is)
		}
	}
	join(low, "below the range")
	join(high, "above the range")
	join(unknown, "not known")
	return head + strings.Join(says, ", ")
}

// listed joins words: "protein, fat and calcium".
func listed(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

// whoEats writes the birds of a dish.
func whoEats(adults, chicks int, age float64) string {
	var parts []string
	if adults > 0 {
		parts = append(parts, count(adults, "grown bird", "grown birds"))
	}
	if chicks > 0 {
		parts = append(parts, fmt.Sprintf("%s of day %s", count(chicks, "chick", "chicks"), figure(age, 1)))
	}
	return strings.Join(parts, " and ")
}

// verdictOf writes a verdict and the mark that stands beside it.
func verdictOf(v feed.Verdict) (word, mark string) {
	switch v {
	case feed.Low:
		return "low", "late"
	case feed.High:
		return "high", "late"
	case feed.Within:
		return "within", "done"
	case feed.NoGuide:
		return "no sound figure", ""
	}
	return "not known", "look"
}

// rangeOf writes the range of a guide.
func rangeOf(g feed.Guide, places int, unit string) string {
	if !g.Known {
		return ""
	}
	switch {
	case math.IsInf(g.High, 1):
		return figure(g.Low, places) + unit + " or more"
	case math.IsInf(g.Low, -1):
		return figure(g.High, places) + unit + " or less"
	}
	return figure(g.Low, places) + "–" + figure(g.High, places) + unit
}

func unitOfLine(l feed.Line) string {
	switch l.Unit {
	case "%":
		return "\u2009%"
	case "kJ/day":
		return " kJ"
	case "ratio":
		return " to 1"
	}
	return " " + l.Unit
}

func rationRowOf(l feed.Line, need float64) rationRow {
	places := 1
	switch l.Name {
	case "energy offered":
		places = 0
	case "calcium", "phosphorus", "calcium to phosphorus":
		places = 2
	}
	r := rationRow{Name: capital(l.Name), Basis: string(l.Guide.Basis), Why: l.Guide.Why}
	r.Verdict, r.Mark = verdictOf(l.Verdict)
	if l.Known {
		r.Value = figure(l.Value, places) + unitOfLine(l)
		if l.Name == "energy offered" && need > 0 {
			r.Value += fmt.Sprintf(", %.0f\u2009%% of the need", 100*l.Value/need)
		}
	} else {
		r.Why = "No figure for " + strings.Join(l.Missing, ", ") + "."
		if len(l.Missing) == 0 {
			r.Why = "Nothing in the ration to work it out from."
		}
	}
	r.Range = rangeOf(l.Guide, places, unitOfLine(l))
	return r
}

func rationPhaseOf(x advice.RationPhase, a *advice.RationAnswer, f *form, u units) rationPhase {
	q := url.Values{"species": {a.Species.Slug}, "phase": {x.Phase.String()}}
	for _, name := range []string{"adults", "chicks", "age", "grams"} {
		if s := f.Value(name); s != "" {
			q.Set(name, s)
		}
	}
	out := rationPhase{Name: capital(x.Phase.String()), Href: "/food/ration?" + q.Encode(), Current: x.Phase == a.Phase}
	var given []string
	for _, it := range x.Items {
		if it.ML > 0 {
			given = append(given, fmt.Sprintf("%s %s", it.Kind, u.Portion(it.ML, it.Grams)))
		}
	}
	out.Given = strings.Join(given, ", ")
	for _, fig := range rationFigures {
		l := x.Line(fig.name)
		c := rationCell{Range: rangeOf(l.Guide, fig.places, unitOfLine(l))}
		c.Verdict, c.Mark = verdictOf(l.Verdict)
		if l.Known {
			c.Value = figure(l.Value, fig.places) + unitOfLine(l)
		}
		out.Cells = append(out.Cells, c)
	}
	return out
}

// Figures are the heads of the table of all phases.
func (p *rationPage) Figures() []string {
	var out []string
	for _, f := range rationFigures {
		out = append(out, f.label)
	}
	return out
}

// drawDays draws the nest's need by day.
func (p *rationPage) drawDays(a *advice.RationAnswer) {
	if len(a.Days) == 0 {
		return
	}
	n := a.DaysChicks()
	v := look.NeedView{PeakFrom: a.PeakFrom, PeakTo: a.PeakTo, At: -1, Unit: "kJ", Fledge: int(math.Round(a.Birds.Growth.FledgeDays))}
	for _, d := range a.Days {
		v.Days = append(v.Days, look.NeedDay{Adults: d.Adults, Young: d.Young})
		p.Days = append(p.Days, rationDay{
			Age: d.Age, Adults: figure(d.Adults, 0), Young: figure(d.Young, 0), Whole: figure(d.Adults+d.Young, 0),
			Peak: d.Age >= a.PeakFrom && d.Age <= a.PeakTo,
		})
	}
	young := a.Phase == feed.Rearing || a.Phase == feed.Weaning
	if a.Birds.Chicks > 0 && young {
		v.At = int(math.Round(a.Birds.ChickAge))
		if l := a.Line("energy offered"); l.Known {
			v.Offered = l.Value
		}
	}
	peak := a.Days[min(a.PeakFrom, len(a.Days)-1)]
	first := a.Days[0]
	p.Peak = fmt.Sprintf("%s with %s: from %.0f kJ on the day of the hatch to %.0f on day %d. The parents carry most from day %d to day %d, until about a week after the young are out.",
		count(a.Birds.Adults, "grown bird", "grown birds"), count(n, "chick", "chicks"), first.Adults+first.Young, peak.Adults+peak.Young, a.PeakFrom, a.PeakFrom, a.PeakTo)
	v.Label = "Energy that the nest needs by day. " + p.Peak
	p.Picture = look.NeedPicture(v)
	for _, k := range []struct{ name, word string }{{"adults", "grown birds"}, {"young", "chicks, worked out"}, {"offered", "what this ration offers"}} {
		if k.name != "offered" || v.Offered > 0 {
			p.Keys = append(p.Keys, keyView{look.NeedKey(k.name), k.word})
		}
	}
}
