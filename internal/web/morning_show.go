package web

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

func (s *server) morningRoutes(r *routes) {
	r.get("/morning", s.morningShow)
	r.post("/morning/given", s.morningGivenSend)
	r.post("/morning/ate", s.morningAteSend)
}

// morningPage is the work of a morning for the whole room.
type morningPage struct {
	layout
	Urgent   []feedNote
	Lamps    []lampToSet
	Jars     []jarStep
	Problem  string // why the jars are not laid out
	Sprouts  bool   // seed is sprouted by a plan
	Totals   []totalView
	Mix      string
	Minerals string
	Banks    []feedBank
	Warnings []feedNote
	Stores   []storeView
	Places   []bankPlates // for who ate less
	Ate      []ateView
	Shares   []option
	Cautions []feed.Caution
	Fed      string // "12 of 56 fed"
	AllFed   bool
	HasFood  bool
}

// feedNote is a note about a place.
type feedNote struct {
	Plate, Cage, Text, Source string
	Kind                      string // of its mark
}

// lampToSet is a timer to touch today.
type lampToSet struct {
	Text, Note          string
	Circuit             string
	On, DimFrom, Off    aviary.Clock
	Dusk                int
	Done, Missed, Timer bool
}

// jarStep is something to do with a jar today.
type jarStep struct {
	Clock aviary.Clock
	Text  string
	Past  bool
}

// totalView is how much of one thing the whole room takes.
type totalView struct {
	Name, Amount, Left string
	Cages              int
}

// feedBank is what is given along one bank.
type feedBank struct {
	ID, Name, Key string
	Things        []thingView
	Says          []saysView
	Fed, Count    int
	Open          bool
	Marks         []givenMark
}

// thingView is one thing that is given, with the cages by amount.
type thingView struct {
	Name string
	Rows []giveRow
}

// giveRow is the same amount at some cages.
type giveRow struct {
	Amount string
	Cages  []plateLink
	Done   bool
}

// saysView is what an amount rests on.
type saysView struct{ Name, Cages, Note, Source string }

// plateLink leads to a cage.
type plateLink struct {
	Plate, ID string
	Done      bool
}

// givenMark is one step in which something was given today. Undo is its id, "" for what this person may not strike out.
type givenMark struct{ Text, Undo string }

// bankPlates are the cages of one bank, to tick.
type bankPlates struct {
	Bank   string
	Plates []placeName
}

// ateView is how much a cage ate, as noted in the last days.
type ateView struct {
	Plate, Cage, Text, Undo string
}

// ateShares are the answers to how much was eaten, as shares of what is usual. A quarter left is a reason to look outside laying,
// half left always (package feed).
var ateShares = []option{{Value: "1", Label: "As always"}, {Value: "0.7", Label: "Less"}, {Value: "0.4", Label: "Much less"}}

func (s *server) morningShow(v *visit) error { return s.morningPage(v, blank()) }

func (s *server) morningPage(v *visit, f *form) error {
	p := &morningPage{Shares: ateShares, Cautions: feed.Cautions()}
	p.Title, p.Tab, p.Up, p.UpTo, p.Form = "This morning", "round", "/round", "Round", f
	v.desk(func(d *advice.Desk) {
		u := unitsOf(d.Room.Settings(d.Today))
		m := d.Morning()
		p.Headline, p.Sub = morningHeadline(m)
		for _, n := range m.Urgent {
			p.Urgent = append(p.Urgent, noteView(n))
		}
		for _, n := range m.Warnings {
			p.Warnings = append(p.Warnings, noteView(n))
		}
		for _, t := range m.Lamps {
			p.Lamps = append(p.Lamps, lampToSet{
				Text: t.Text(), Note: t.Note, Circuit: t.Circuit.Name, On: t.On, DimFrom: t.DimFrom, Off: t.Off, Dusk: t.Dusk, Done: t.Done, Missed: t.Missed,
			})
		}
		p.Problem, p.Sprouts = m.Problem, m.Sprouts.Plan != nil
		for _, j := range m.Jars {
			p.Jars = append(p.Jars, jarView(j, u))
		}
		p.give(v, d, m, u)
		for _, x := range m.Stores {
			p.Stores = append(p.Stores, storeViewOf(x, u, d.Today))
		}
		p.appetite(v, d, m)
	})
	return v.render("morning_show", p)
}

// give fills in what is given where.
func (p *morningPage) give(v *visit, d *advice.Desk, m *advice.Morning, u units) {
	p.HasFood, p.AllFed = len(m.Feedings) > 0, m.ToFeed() == 0
	p.Fed = fmt.Sprintf("%d of %d fed", m.Fed, len(m.Feedings))
	both := map[feed.ItemKind]advice.MorningTotal{}
	for _, t := range m.Totals {
		both[t.Kind] = t
		x := totalView{Name: capital(t.Kind.String()), Amount: u.Portion(t.ML, t.Grams), Cages: t.Cages}
		switch {
		case t.ML == 0 && t.Kind == feed.NestMaterial:
			x.Amount = "a little each"
		case t.ML == 0:
			x.Amount = "counted out"
		case t.Left > 0 && t.Left < t.ML:
			x.Left = u.Portion(t.Left, t.Grams*t.Left/t.ML)
		case t.Left == 0:
			x.Left = "given"
		}
		p.Totals = append(p.Totals, x)
	}
	if s, e := both[feed.SproutedSeed], both[feed.SoftEggFood]; e.ML > 0 && s.ML > 0 {
		p.Mix = fmt.Sprintf("Where a cage gets both, they go into one bowl, two parts of sprouted seed to one of egg food: %s with %s of egg food. Make no more than is eaten at one sitting.", u.Portion(2*e.ML, 0), u.Portion(e.ML, 0))
	}
	p.Minerals = fmt.Sprintf("Cuttlebone and grit are out at all %d places, at all times.", len(m.Minerals))
	for i, b := range m.Banks {
		view := feedBank{ID: fmt.Sprintf("bank%d", i), Name: b.Label(), Key: b.Name, Fed: b.Fed, Count: len(b.Places), Open: b.Open()}
		view.fill(b, u)
		view.Marks = v.givenMarks(d, b)
		p.Banks = append(p.Banks, view)
	}
}

// givenMarks lists the steps in which something was given along a bank today.
func (v *visit) givenMarks(d *advice.Desk, b advice.MorningBank) []givenMark {
	var out []givenMark
	seen := map[aviary.ID]bool{}
	for _, p := range b.Places {
		for _, e := range d.Room.Since(aviary.APlace, p.ID, d.Today) {
			_, fed := e.Body.(*aviary.FoodGiven)
			if _, lined := e.Body.(*aviary.MaterialGiven); (!fed && !lined) || e.Day != d.Today {
				continue
			}
			step := e.ID
			if e.Batch != (aviary.ID{}) {
				step = e.Batch
			}
			if seen[step] {
				continue
			}
			seen[step] = true
			m := givenMark{Text: "Given"}
			if at := e.Time.String(); at != "" {
				m.Text += " " + at
			}
			if e.By != "" {
				m.Text += " by " + e.By
			}
			if v.keeper() || e.By == v.who.By {
				m.Undo = step.String()
			}
			out = append(out, m)
		}
	}
	return out
}

// fill lists what is given along a bank: the mix in one spoon, then the rest.
func (x *feedBank) fill(b advice.MorningBank, u units) {
	row := func(name, amount string, places, left []*aviary.Place) {
		r := giveRow{Amount: amount, Done: len(left) == 0}
		for _, q := range places {
			r.Cages = append(r.Cages, plateLink{q.Name, q.ID.String(), !slices.Contains(left, q)})
		}
		at := slices.IndexFunc(x.Things, func(t thingView) bool { return t.Name == name })
		if at < 0 {
			at, x.Things = len(x.Things), append(x.Things, thingView{Name: name})
		}
		rows := &x.Things[at].Rows
		if i := slices.IndexFunc(*rows, func(o giveRow) bool { return o.Amount == amount }); i >= 0 { // the same, for another reason
			(*rows)[i].Cages = append((*rows)[i].Cages, r.Cages...)
			(*rows)[i].Done = (*rows)[i].Done && r.Done
			return
		}
		*rows = append(*rows, r)
	}
	mixed := map[aviary.ID]bool{}
	for _, m := range b.Mixes() {
		row("Sprouted seed and egg food, mixed", u.Portion(m.ML, 0), m.Places, m.Left)
		for _, q := range m.Places {
			mixed[q.ID] = true
		}
	}
	for _, l := range b.Lines {
		places, left := l.Places, l.Left
		amount := u.Portion(l.ML, l.Grams)
		switch l.Kind {
		case feed.SproutedSeed, feed.SoftEggFood:
			places, left = without(places, mixed), without(left, mixed)
		case feed.NestMaterial:
			amount = "a little"
		case feed.LiveFood:
			amount = "counted out"
		case feed.DrySeed:
			amount = "about " + amount
		}
		if len(places) > 0 {
			name := capital(l.Kind.String())
			if l.Kind == feed.DrySeed {
				name = "Dry seed, topped up"
			}
			row(name, amount, places, left)
		}
		var names []string
		for _, q := range l.Places {
			names = append(names, q.Name)
		}
		says := saysView{Name: capital(l.Kind.String()), Cages: strings.Join(names, ", "), Note: l.Note, Source: l.Source}
		if at := slices.IndexFunc(x.Says, func(y saysView) bool { return y.Name == says.Name && y.Note == says.Note && y.Source == says.Source }); at >= 0 {
			x.Says[at].Cages += ", " + says.Cages
		} else {
			x.Says = append(x.Says, says)
		}
	}
}

// without leaves out the places that are marked.
func without(places []*aviary.Place, marked map[aviary.ID]bool) []*aviary.Place {
	var out []*aviary.Place
	for _, p := range places {
		if !marked[p.ID] {
			out = append(out, p)
		}
	}
	return out
}

// appetite fills in how much was eaten, and the cages to tick.
func (p *morningPage) appetite(v *visit, d *advice.Desk, m *advice.Morning) {
	at := map[string]int{}
	for _, f := range m.Feedings {
		i, ok := at[f.Place.Bank]
		if !ok {
			i = len(p.Places)
			at[f.Place.Bank], p.Places = i, append(p.Places, bankPlates{Bank: f.Place.Bank})
		}
		p.Places[i].Plates = append(p.Places[i].Plates, placeName{f.Place.ID.String(), f.Place.Name})
		for _, x := range f.Place.Intake {
			if x.Day < d.Today-1 || x.Day > d.Today {
				continue
			}
			text := fmt.Sprintf("ate %s, %s", shareWord(x.Share), x.Day.Short())
			if x.Text != "" {
				text += ": " + x.Text
			}
			a := ateView{Plate: f.Place.Name, Cage: f.Place.ID.String(), Text: text}
			if e := d.Room.Entry(x.Entry); e != nil && (v.keeper() || e.By == v.who.By) {
				a.Undo = e.ID.String()
			}
			p.Ate = append(p.Ate, a)
		}
	}
}

// shareWord is a share of the usual food in words.
func shareWord(share float64) string {
	switch {
	case share > 1.05:
		return "more than always"
	case share >= 0.95:
		return "as always"
	case share >= 0.5:
		return fmt.Sprintf("less, about %.0f in 10 of the usual", math.Round(10*share))
	}
	return fmt.Sprintf("much less, about %.0f in 10 of the usual", math.Round(10*share))
}

func noteView(n advice.PlaceNote) feedNote {
	kind := "look"
	if n.Note.Level == feed.Urgent {
		kind = "late"
	}
	return feedNote{n.Place.Name, n.Place.ID.String(), n.Note.Text, n.Note.Source, kind}
}

// morningHeadline is the work of the morning in one sentence.
func morningHeadline(m *advice.Morning) (headline, sub string) {
	says := m.Says()
	switch {
	case len(m.Feedings) == 0 && says == "":
		return "No bird is in a cage yet, so there is nothing to feed", ""
	case says == "":
		headline = fmt.Sprintf("This morning’s work is done: %d places are fed", m.Fed)
	default:
		headline = "This morning: " + says
	}
	if n := len(m.Urgent); n == 1 {
		headline = m.Urgent[0].Place.Name + " cannot wait. " + headline
	} else if n > 1 {
		headline = fmt.Sprintf("%d cages cannot wait. ", n) + headline
	}
	if m.Fed > 0 && says != "" && m.ToFeed() > 0 {
		sub = fmt.Sprintf("%d of %d places are fed.", m.Fed, len(m.Feedings))
	}
	return headline, sub
}

// jarView is a jar's step in a line, with how much where that is known.
func jarView(j advice.SproutStep, u units) jarStep {
	x := jarStep{Clock: j.Clock, Past: j.Past, Text: sentence(j.Text)}
	if !j.Out() {
		x.Text = fmt.Sprintf("Jar %d: %s", j.Jar, lowerFirst(x.Text))
	}
	switch {
	case j.Soak() && j.DryML > 0:
		x.Text += fmt.Sprintf(" %s of dry seed for %s sprouted.", u.Portion(j.DryML, j.DryG), u.Portion(j.ML, 0))
	case j.Give() && j.ML > 0:
		x.Text += fmt.Sprintf(" %s is given today.", u.Portion(j.ML, 0))
	}
	return x
}

// Portion writes an amount of food in the keeper's unit, as a scoop shows it. Much of it is also said in litres.
func (u units) Portion(ml, grams float64) string {
	var s string
	switch u.volume {
	case "tsp":
		s = feed.Amount(ml, grams, feed.Teaspoons)
	case "oz":
		s = u.Volume(ml)
	default:
		if ml >= 1000 {
			return figure(ml/1000, 1) + " l"
		}
		return feed.Amount(ml, grams, feed.Millilitres)
	}
	if u.volume == "tsp" && ml >= 100 {
		s += " (" + u.litres(ml) + ")"
	}
	return s
}

func (u units) litres(ml float64) string {
	if ml >= 1000 {
		return "about " + figure(ml/1000, 1) + " l"
	}
	return "about " + figure(math.Round(ml/10)*10, 0) + " ml"
}

// morningLine is the link from the round to the morning's work; "" when nothing of it is left.
func morningLine(d *advice.Desk) string {
	if says := d.MorningSays(); says != "" {
		return "This morning: " + says
	}
	return ""
}

// platesLine writes names in a line, the first few of many.
func platesLine(names []string, most int) string {
	if len(names) > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	return strings.Join(names, ", ")
}
