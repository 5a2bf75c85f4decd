package web

import (
	"fmt"
	"html/template"

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
	Own       string // its own middle weight; "" until it was weighed often enough
	Unit      string // in which weights are typed
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
		if p.S.Weight.Baseline > 0 {
			p.Own = u.Mass(p.S.Weight.Baseline)
		}
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
