package web

import (
	"cmp"
	"slices"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// foodPlanPage is the form in which a group's feeding is planned.
type foodPlanPage struct {
	layout
	Places  []bankPlates
	Banks   []option
	Species []option
	Plans   []planLine // of this season and those to come
	Past    []planLine
}

// planLine is a plan that stands in the books.
type planLine struct {
	Entry, Name, For string
	From             aviary.Date
}

// foodPlanShow shows the form: empty, or filled in with the plan named in the address, as it is or for the year after.
func (s *server) foodPlanShow(v *visit) error {
	f := blank()
	id := v.r.URL.Query().Get("plan")
	found := id == ""
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		for _, p := range r.Whole().FeedPlans {
			if p.Entry.String() != id {
				continue
			}
			found = true
			years := 0
			if v.r.URL.Query().Get("next") != "" {
				years = 1
			}
			fillPlan(f, &p, years)
		}
	})
	if !found {
		return notThere("there is no such feed plan; it was struck out, or the address has been cut")
	}
	return s.foodPlanForm(v, f)
}

// fillPlan fills the form in from a plan, so many years later.
func fillPlan(f *form, p *aviary.FeedPlan, years int) {
	f.Values.Set("name", p.Name)
	for _, id := range p.Places {
		f.Values.Add("places", id.String())
	}
	for _, b := range p.Banks {
		f.Values.Add("banks", b)
	}
	for _, slug := range p.Species {
		f.Values.Add("species", slug)
	}
	for _, x := range []struct {
		name string
		day  aviary.Date
	}{{"preparation", p.Preparation}, {"conditioning", p.Conditioning}, {"moult", p.Moult}, {"rest", p.Rest}} {
		if x.day != 0 {
			y, m, day := x.day.Time().Date()
			f.Values.Set(x.name, aviary.DateOf(y+years, m, day).String())
		}
	}
}

func (s *server) foodPlanForm(v *visit, f *form) error {
	p := &foodPlanPage{}
	p.Headline, p.Sub = "Plan the feeding of a group", "Until birds are paired they follow their group’s days; a pair then goes by its own sprouted seed, signs and eggs."
	p.Title, p.Tab, p.Class, p.Form, p.Up, p.UpTo = "Feed plan", "season", "page narrow", f, "/food", "Food"
	v.desk(func(d *advice.Desk) {
		at := map[string]int{}
		for _, q := range d.Room.Places() {
			i, ok := at[q.Bank]
			if !ok {
				i = len(p.Places)
				at[q.Bank], p.Places = i, append(p.Places, bankPlates{Bank: q.Bank})
				if q.Bank != "" {
					p.Banks = append(p.Banks, option{Value: q.Bank, Label: q.Bank})
				}
			}
			p.Places[i].Plates = append(p.Places[i].Plates, placeName{q.ID.String(), q.Name})
		}
		kept := d.Kept()
		for _, sp := range d.Cat.All() {
			if kept[sp.Slug] || f.Has("species", sp.Slug) {
				p.Species = append(p.Species, option{Value: sp.Slug, Label: sp.English})
			}
		}
		for _, g := range d.FeedGroups() {
			for _, plan := range g.Plans {
				x := planLine{Entry: plan.Entry.String(), Name: plan.Name, For: planFor(d, plan), From: firstDay(plan)}
				if x.Name == "" {
					x.Name = "Whole room"
				}
				if x.From+planMost < d.Today {
					p.Past = append(p.Past, x)
				} else {
					p.Plans = append(p.Plans, x)
				}
			}
		}
		for _, list := range [][]planLine{p.Plans, p.Past} {
			slices.SortStableFunc(list, func(a, b planLine) int { return cmp.Compare(b.From, a.From) })
		}
	})
	return v.render("food_plan", p)
}

// firstDay is the first day of a plan.
func firstDay(p *aviary.FeedPlan) aviary.Date {
	var days []aviary.Date
	for _, d := range []aviary.Date{p.Preparation, p.Conditioning, p.Moult, p.Rest} {
		if d != 0 {
			days = append(days, d)
		}
	}
	return slices.Min(days)
}

// foodPlanSend writes a plan. It holds in place of an earlier one for the same birds and days.
func (s *server) foodPlanSend(v *visit) error {
	f := v.form()
	body := feedPlanOf(f)
	v.desk(func(d *advice.Desk) {
		for _, e := range d.FeedPlanFaults(body) {
			f.wrong(e.Field, "%s", e.Message)
		}
	})
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, s.foodPlanForm)
	}
	name := body.Name
	if name == "" {
		name = "the whole room"
	}
	v.say("Feeding planned: %s", name)
	return v.see("/food")
}

// planMost is for how many days after its first one a plan can hold.
const planMost = 366
