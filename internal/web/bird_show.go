package web

import (
	"fmt"
	"html/template"
	"math"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

// birdPage is a bird's own page.
type birdPage struct {
	layout
	S         *advice.BirdStory
	ID        aviary.ID
	Ring      string
	Chart     template.HTML
	Twice     string
	Sire, Dam parentView
	Weights   template.HTML
	Weighed   *weighedView // nil until it was weighed
	Unit      string       // in which weights are typed
	Places    []placeChoice
	Failed    string // path of the action whose form came back
	Acts      []birdAct
}

// parentView is one parent as the page says it.
type parentView struct {
	Bird   *aviary.Bird
	Others []*aviary.Bird // candidates, when it is one of several
}

func (s *server) birdShow(v *visit) error { return s.birdForm(v, blank(), "") }

// birdForm shows the page; failed names the action whose form came back with errors.
func (s *server) birdForm(v *visit, f *form, failed string) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	p := &birdPage{ID: id, Failed: failed}
	v.desk(func(d *advice.Desk) {
		p.S = d.Bird(id)
		if p.S == nil {
			return
		}
		b := p.S.Bird
		p.Ring = p.S.Ring
		p.Headline, p.Sub = p.S.Headline, p.S.Where
		if p.S.Species != nil {
			p.Sub = p.S.Species.English + ". " + p.Sub
		}
		p.Sire, p.Dam = parent(d, p.S.Line.Sire, p.S.Line.Sires), parent(d, p.S.Line.Dam, p.S.Line.Dams)
		if p.Sire.Bird != nil || p.Dam.Bird != nil {
			p.Chart = look.Ancestors(chart(p.S.Ancestors), "Ancestors of "+b.Label())
		}
		p.Places = choices(d, func(x *aviary.Place) bool { return x.ID != b.Place() })
		u := unitsOf(d.Room.Settings(v.today))
		p.Weights, p.Unit = weights(p.S.Weight, u), u.MassUnit()
		p.Weighed = weighedOf(p.S.Weight, u)
		for _, a := range birdActs {
			if a.fits(b) {
				p.Acts = append(p.Acts, a)
			}
		}
	})
	if p.S == nil {
		return notThere("there is no such bird in the books")
	}
	p.Title, p.Tab, p.Form, p.Up, p.UpTo = p.S.Bird.Label(), "birds", f, "/birds", "Birds"
	return v.render("bird_show", p)
}

func parent(d *advice.Desk, id aviary.ID, others []aviary.ID) parentView {
	p := parentView{Bird: d.Room.Bird(id)}
	for _, o := range others {
		if b := d.Room.Bird(o); b != nil {
			p.Others = append(p.Others, b)
		}
	}
	return p
}

// chart turns ancestors into the picture's own.
func chart(a *advice.Ancestor) *look.Ancestor {
	if a == nil {
		return nil
	}
	out := &look.Ancestor{Name: a.Bird.Name, Sex: string(a.Bird.Sex), Href: "/bird/" + a.Bird.ID.String(), Sire: chart(a.Sire), Dam: chart(a.Dam)}
	if r := a.Bird.Ring(); r.Read() {
		out.Ring = r.String()
	} else if out.Name == "" {
		out.Name = a.Bird.Label()
	}
	if a.Again {
		out.Note = "twice"
	}
	return out
}

func weights(w advice.WeightStory, u units) template.HTML {
	if len(w.Points) == 0 {
		return ""
	}
	view := look.WeightsView{Low: w.Low, High: w.High, LowWords: u.Mass(w.Low), HighWords: u.Mass(w.High), First: w.Points[0].Day.Long(), Last: w.Points[len(w.Points)-1].Day.Long()}
	for _, pt := range w.Points {
		view.Points = append(view.Points, look.Point{Day: int(pt.Day), Value: pt.Grams})
	}
	last := w.Points[len(w.Points)-1].Grams
	view.LastWords = u.Mass(last)
	view.Label = fmt.Sprintf("%d weights from %s to %s, last %s", len(w.Points), view.First, view.Last, view.LastWords)
	return look.Weights(view)
}

// weighedView is a bird's weight judged.
type weighedView struct {
	Says   string // "Fine: 13.1 g on 3 Jan, 2 in 100 above its own weight of 12.8 g, steady."
	Mark   string // of a weight that wants the keeper; "" when none does
	Notes  []conditionNote
	Gravid bool
}

// weighedOf says what a bird's weights come to; nil when it was never weighed.
func weighedOf(w advice.WeightStory, u units) *weighedView {
	if len(w.Points) == 0 {
		return nil
	}
	v := &weighedView{Gravid: w.Gravid}
	verdict := capital(w.Verdict.String())
	if w.Baseline == 0 && w.Verdict.String() == "not known" {
		verdict = "Nothing to judge it by yet"
	}
	v.Says = fmt.Sprintf("%s: %s on %s", verdict, u.Mass(w.Last.Grams), advice.FeedDay(w.Last.Day).Short())
	switch percent := int(math.Round(100 * w.Away)); {
	case w.Baseline == 0:
	case percent > 0:
		v.Says += fmt.Sprintf(", %d in 100 above its own weight of %s", percent, u.Mass(w.Baseline))
	case percent < 0:
		v.Says += fmt.Sprintf(", %d in 100 below its own weight of %s", -percent, u.Mass(w.Baseline))
	default:
		v.Says += ", its own weight"
	}
	switch trend := w.Trend(); trend {
	case "":
	case "steady":
		v.Says += ", steady"
	default:
		v.Says += fmt.Sprintf(", %s %s a week", trend, u.Mass(math.Abs(w.PerWeek)))
	}
	v.Says += "."
	for _, n := range w.Notes {
		if n.Level.String() != "info" {
			v.Mark = "late"
		}
		v.Notes = append(v.Notes, conditionNote{n.Text, n.Source})
	}
	return v
}
