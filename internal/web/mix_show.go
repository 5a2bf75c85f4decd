package web

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// mixPage is the form of a mix, and the cheapest one by it.
type mixPage struct {
	layout
	Phases  []option
	Foods   []mixFood
	Needs   []mixNeed
	Made    bool
	Clash   []string
	Result  []mixLine
	Figures []mixFigure
	Says    []string
	Cost    string
}

// mixFood is one food of the form.
type mixFood struct {
	ID, Name, Note, PriceFrom string
	Use                       bool
	Price, Min, Max           field
}

// mixNeed is one need of the form.
type mixNeed struct {
	Name, Unit, Why string
	Min, Max        field
}

type mixLine struct{ Name, Amount, Share, Cost string }

type mixFigure struct {
	Name, Value, Range, Holds, Price string
}

func (s *server) mixShow(v *visit) error {
	f := &form{Values: v.r.URL.Query()}
	p := &mixPage{layout: layout{Title: "Mix", Tab: "season", Up: "/food", UpTo: "Food", Class: "page wide", Form: f}}
	var failed error
	v.desk(func(d *advice.Desk) {
		u := unitsOf(d.Room.Settings(d.Today))
		prices := d.StorePrices()
		fresh := !f.Values.Has("make")
		failed = p.start(f, prices, fresh)
		if failed == nil {
			ask := mixAsk(f)
			failed = f.err()
			if failed == nil && fresh && len(ask.Foods) == 0 {
				p.Headline, p.Sub = "Which mix costs least?", "Tick the foods that you would buy, and give their prices."
			} else if failed == nil {
				var m *advice.FoodMix
				if m, failed = advice.Mix(ask); failed == nil {
					p.answer(m, u)
				}
			}
		}
		if failed != nil {
			failed = mixFieldOf(failed)
		}
	})
	if failed != nil {
		if !f.refused(failed) {
			return failed
		}
		v.status = http.StatusUnprocessableEntity
		p.Headline, p.Sub = "Which mix costs least?", "Nothing is worked out yet."
	}
	p.form(f)
	return v.render("mix_show", p)
}

// mixFieldOf puts a refusal of the engine beside the field of the form.
func mixFieldOf(err error) error {
	var at *aviary.Error
	if !errors.As(err, &at) {
		return err
	}
	field := at.Field
	for _, x := range advice.MixFoods() {
		switch field {
		case x.ID:
			field = "price-" + x.ID
		case x.ID + "_min":
			field = "min-" + x.ID
		case x.ID + "_max":
			field = "max-" + x.ID
		}
	}
	return &aviary.Error{Code: at.Code, Field: field, Message: at.Message}
}

// start fills in what the address does not say: the foods that were counted with a price, and the guides of the phase.
func (p *mixPage) start(f *form, prices map[string]advice.StorePrice, fresh bool) error {
	if !f.Values.Has("phase") {
		f.Values.Set("phase", "preparation")
	}
	if !f.Values.Has("kilos") {
		f.Values.Set("kilos", "5")
	}
	for _, x := range advice.FeedPhases() {
		p.Phases = append(p.Phases, option{Value: x.String(), Label: capital(x.String())})
	}
	guides, err := advice.MixNeedsFor(f.text("phase"))
	if err != nil {
		return err
	}
	for _, g := range guides {
		n := mixNeed{Name: g.Name, Unit: "%", Why: g.Why}
		if g.Name == "energy" {
			n.Unit = "kJ a g"
		}
		p.Needs = append(p.Needs, n)
		if fresh || f.text("needs") == "guide" {
			f.Values.Del(g.Name + "_min")
			f.Values.Del(g.Name + "_max")
			if g.Min != nil {
				f.Values.Set(g.Name+"_min", figure(100**g.Min, 2))
			}
			if g.Max != nil {
				f.Values.Set(g.Name+"_max", figure(100**g.Max, 2))
			}
		}
	}
	for _, x := range advice.MixFoods() {
		if at, ok := prices[x.ID]; ok {
			if fresh && x.Kind != feed.KindMineral {
				f.Values.Add("use", x.ID)
			}
			if !f.Values.Has("price-" + x.ID) {
				f.Values.Set("price-"+x.ID, figure(at.Price, 2))
			}
		}
		y := mixFood{ID: x.ID, Name: x.Name, Note: x.Note}
		if at, ok := prices[x.ID]; ok {
			y.PriceFrom = "Last price " + figure(at.Price, 2) + ", " + at.Day.Long() + "."
		}
		p.Foods = append(p.Foods, y)
	}
	return nil
}

// mixAsk reads the form.
func mixAsk(f *form) advice.MixAsk {
	var ask advice.MixAsk
	share := func(name string, per float64) *float64 {
		x := f.floatp(name)
		if x == nil {
			return nil
		}
		y := *x / per
		return &y
	}
	if k := f.floatp("kilos"); k != nil {
		ask.Kilos = *k
	}
	for _, x := range advice.MixFoods() {
		if !f.Has("use", x.ID) {
			continue
		}
		food := advice.MixAskFood{ID: x.ID, Min: share("min-"+x.ID, 100), Max: share("max-"+x.ID, 100)}
		switch price := f.floatp("price-" + x.ID); {
		case price != nil:
			food.Price = *price
		case f.Error("price-"+x.ID) == "":
			f.wrong("price-"+x.ID, "%s: give what a kilo costs", x.Name)
		}
		ask.Foods = append(ask.Foods, food)
	}
	for _, name := range advice.MixNeedNames() {
		per := 100.0
		if name == "energy" {
			per = 1
		}
		ask.Needs = append(ask.Needs, advice.MixAskNeed{Name: name, Min: share(name+"_min", per), Max: share(name+"_max", per)})
	}
	return ask
}

// form lays out the fields, filled in.
func (p *mixPage) form(f *form) {
	for i := range p.Foods {
		x := &p.Foods[i]
		x.Use = f.Has("use", x.ID)
		x.Price = f.Decimal("price-"+x.ID, "A kilo costs")
		x.Min = f.Decimal("min-"+x.ID, "At least").Per("%")
		x.Max = f.Decimal("max-"+x.ID, "At most").Per("%")
	}
	for i := range p.Needs {
		x := &p.Needs[i]
		x.Min = f.Decimal(x.Name+"_min", capital(x.Name)+", at least").Per(x.Unit)
		x.Max = f.Decimal(x.Name+"_max", "at most").Per(x.Unit)
	}
}

// answer turns the mix into what the page shows.
func (p *mixPage) answer(m *advice.FoodMix, u units) {
	if !m.Made {
		p.Headline, p.Sub = "No mix of these foods can be made", ""
		p.Clash = m.Sentences
		return
	}
	p.Made, p.Says = true, m.Sentences
	if m.Tied {
		p.Says = append(p.Says, "Another mix costs the same.")
	}
	var main []string
	for _, x := range m.Foods {
		l := mixLine{Name: x.Name, Amount: "none", Share: advice.ShareWords("", x.Share), Cost: fmt.Sprintf("%.2f", x.Cost)}
		if x.Kilos > 0 {
			l.Amount = weightOf(1000*x.Kilos, u)
			main = append(main, strings.ToLower(x.Name))
		} else {
			l.Share, l.Cost = "–", "–"
		}
		p.Result = append(p.Result, l)
	}
	p.Headline = fmt.Sprintf("Cheapest: %s, %.2f a kilo", listed(main), m.PerKilo)
	p.Cost = fmt.Sprintf("%s kg as bought cost %.2f: %.2f a kilo, or %.2f for a kilo of what is eaten of it.", figure(m.Kilos, 2), m.Cost, m.PerKilo, m.PerEaten)
	for _, x := range m.Needs {
		p.Figures = append(p.Figures, mixFigureOf(x, x.Name))
	}
	for _, x := range m.Limits {
		p.Figures = append(p.Figures, mixFigureOf(x, ""))
	}
}

func mixFigureOf(x advice.MixFigure, need string) mixFigure {
	out := mixFigure{Name: capital(x.Name), Value: advice.ShareWords(need, x.Value)}
	var ends []string
	if x.Min != nil {
		ends = append(ends, "at least "+advice.ShareWords(need, *x.Min))
	}
	if x.Max != nil {
		ends = append(ends, "at most "+advice.ShareWords(need, *x.Max))
	}
	out.Range = strings.Join(ends, ", ")
	if x.Holds != "" {
		out.Holds = map[string]string{"min": "the least sets the cost", "max": "the most sets the cost"}[x.Holds]
		out.Price = figure(x.Price, 3)
	}
	return out
}
