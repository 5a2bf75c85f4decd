package web

import (
	"fmt"
	"math"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// storesPage tells what is left of each food, and takes in a count.
type storesPage struct {
	layout
	Stores   []storeView
	Foods    []string // to choose from
	MassUnit string
}

// storeView is one food in store.
type storeView struct {
	Name, Counted, Left, PerDay string
	Last, OrderBy               aviary.Date
	Says, Why, Price, PerWeek   string
	Known, Warn                 bool
	Entry                       string
}

func (s *server) storesShow(v *visit) error { return s.storesForm(v, blank("day", v.today.String())) }

func (s *server) storesForm(v *visit, f *form) error {
	p := &storesPage{}
	p.Title, p.Tab, p.Up, p.UpTo, p.Form = "Stores", "season", "/food", "Food", f
	for _, x := range feed.Foods() {
		p.Foods = append(p.Foods, x.Name)
	}
	p.Foods = append(p.Foods, "Seed for sprouting")
	v.desk(func(d *advice.Desk) {
		u := unitsOf(d.Room.Settings(d.Today))
		p.MassUnit = u.MassUnit()
		stores := d.Stores()
		for _, x := range stores {
			p.Stores = append(p.Stores, storeViewOf(x, u, d.Today))
		}
		p.Headline, p.Sub = storesHeadline(stores, d.Today)
	})
	return v.render("food_stores", p)
}

// storesHeadline says what runs out first.
func storesHeadline(stores []advice.StoreState, today aviary.Date) (headline, sub string) {
	if len(stores) == 0 {
		return "No store is counted yet", "Write what is there once, and this page says when it runs out and by when to order."
	}
	first := stores[0]
	switch last := first.Last(); {
	case last == 0:
		return "Nothing that is counted runs out within 12 weeks", ""
	case last < today:
		return first.Name + " should have run out by now: count it", ""
	case first.OrderBy() <= today:
		return fmt.Sprintf("Order %s today: it lasts until %s", lowerFirst(first.Name), last.Short()), ""
	default:
		return fmt.Sprintf("%s runs out first, about %s: order by %s", first.Name, last.Short(), first.OrderBy().Short()), ""
	}
}

// lowerFirst writes a food's name inside a sentence.
func lowerFirst(s string) string {
	if s != "" && s[0] >= 'A' && s[0] <= 'Z' {
		return string(s[0]+'a'-'A') + s[1:]
	}
	return s
}

// weightOf writes an amount in store.
func weightOf(grams float64, u units) string {
	if u.mass == "oz" {
		return u.Mass(math.Round(grams))
	}
	if grams >= 1000 {
		return figure(grams/1000, 1) + " kg"
	}
	return figure(grams, 0) + " g"
}

func storeViewOf(x advice.StoreState, u units, today aviary.Date) storeView {
	s := storeView{Name: x.Name, Known: x.Known, Why: x.Why, Entry: x.Count.Entry.String()}
	s.Counted = fmt.Sprintf("%s on %s", weightOf(x.Count.Grams, u), x.Count.Day.Short())
	if p := x.Count.Price; p != nil {
		s.Price = figure(*p, 2) + " a kg"
		if x.Known {
			s.PerWeek = figure(*p*7*x.Today/1000, 2) + " a week at today’s portions"
		}
	}
	if !x.Known {
		s.Says = x.Why
		return s
	}
	s.Left, s.PerDay = weightOf(x.Run.Left, u), weightOf(x.Today, u)
	s.Last, s.OrderBy = x.Last(), x.OrderBy()
	switch {
	case s.Last == 0:
		s.Says = "lasts for 12 weeks and more."
		s.OrderBy = 0
	case s.Last < today:
		s.Says, s.Warn = "should have run out by now. Count what is there.", true
	case s.OrderBy <= today:
		s.Says, s.Warn = fmt.Sprintf("lasts until about %s. Order it today.", s.Last.Short()), true
	default:
		s.Says = fmt.Sprintf("lasts until about %s. Order by %s.", s.Last.Short(), s.OrderBy.Short())
	}
	return s
}

// storesSend writes what was counted of a food.
func (s *server) storesSend(v *visit) error {
	f := v.form()
	body := &aviary.StoreCounted{Food: f.text("food"), OrderDays: f.intp("order_days"), Price: f.floatp("price_per_kg")}
	var u units
	v.desk(func(d *advice.Desk) { u = unitsOf(d.Room.Settings(d.Today)) })
	if g := f.massp("grams", u); g != nil {
		body.Grams = *g
	} else if f.text("grams") == "" {
		f.wrong("grams", "write how much is there; 0 when it is used up")
	}
	if body.Food != "" {
		if x, ok := feed.FindFood(feed.Foods(), body.Food); ok {
			body.Food = x.ID
		} else if body.Food == "Seed for sprouting" {
			body.Food = "chitted-seed"
		}
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, s.storesForm)
	}
	return v.see("/food/stores")
}
