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

func (s *server) feedRoutes(r *routes) {
	s.morningRoutes(r)
	r.get("/food", s.foodShow)
	r.post("/food/begun", s.foodBegunSend)
	r.keeperGet("/food/plan", s.foodPlanShow)
	r.keeperPost("/food/plan", s.foodPlanSend)
	r.get("/food/stores", s.storesShow)
	r.post("/food/stores", s.storesSend)
}

// foodPage is what each group and each pair is fed for.
type foodPage struct {
	layout
	Groups   []groupPhase
	Due      []plateLink // where sprouted seed is due by the plan
	Phases   []phaseView
	Begin    []bankPlates
	Begun    []option
	Guards   []guardView
	Tables   []portionView
	Heavy    []weightView
	Weighed  int
	Without  int
	Cautions []feed.Caution
}

// groupPhase is one group of the plan.
type groupPhase struct {
	Name, For, Phase, Follows string
	Dates                     []string
	Entry                     string
}

// phaseView is the places that are in one phase.
type phaseView struct {
	Name  string
	Rows  []phaseRow
	Notes []feed.Note // good to know of the phase as such
}

// phaseRow is one place.
type phaseRow struct {
	Plate, Cage, Who, Stands, Follows string
	Notes                             []feedNote
	Due                               bool
}

// guardView is why a species is held back.
type guardView struct{ Species, Rule, Why, Source string }

// portionView is what a pair of a species gets in each phase.
type portionView struct {
	Species, Ceiling string
	Rows             []portionRow
}

type portionRow struct{ Phase, Birds, Sprouts, Egg, Seed, Other string }

// weightView is a bird that is thin or fat.
type weightView struct {
	Bird, Label, Plate, Verdict, Last, Against, Trend, Basis string
	Notes                                                    []feed.Note
	Warn                                                     bool
}

func (s *server) foodShow(v *visit) error { return s.foodPageOf(v, blank("day", v.today.String())) }

func (s *server) foodPageOf(v *visit, f *form) error {
	p := &foodPage{Cautions: feed.Cautions()}
	p.Title, p.Tab, p.Form = "Food", "season", f
	p.Begun = []option{{Value: "preparation", Label: "Preparation"}, {Value: "conditioning", Label: "Sprouted seed"}, {Value: "moult", Label: "Moult"}, {Value: "rest", Label: "Rest"}}
	v.desk(func(d *advice.Desk) {
		u := unitsOf(d.Room.Settings(d.Today))
		due := d.SproutsDue()
		for _, q := range due {
			p.Due = append(p.Due, plateLink{Plate: q.Name, ID: q.ID.String()})
		}
		p.groups(v, d)
		material, rows := p.places(d, due)
		p.Headline, p.Sub = foodHeadline(len(due), material, rows)
		p.guards(d, u)
		p.weights(d, u)
	})
	return v.render("food_show", p)
}

// foodHeadline is what is due, else how many are in what.
func foodHeadline(due, material int, rows map[feed.Phase]int) (headline, sub string) {
	nests := rows[feed.Laying] + rows[feed.Sitting] + rows[feed.Rearing] + rows[feed.Weaning]
	ready := rows[feed.Conditioning] + rows[feed.EggFood] + rows[feed.Material]
	var parts []string
	add := func(n int, words string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, words))
		}
	}
	add(nests, "with eggs or young")
	add(ready, "being brought into condition")
	add(rows[feed.Preparation], "in preparation")
	add(rows[feed.Moult], "in moult")
	add(rows[feed.Rest], "at rest")
	sub = capital(strings.Join(parts, ", "))
	if sub != "" {
		sub += "."
	}
	switch {
	case due > 0 && material > 0:
		return fmt.Sprintf("Sprouted seed is due at %s, nest material at %d", countWord(due, "place", "places"), material), sub
	case due > 0:
		return "Sprouted seed is due at " + countWord(due, "place", "places"), sub
	case material > 0:
		return "Nest material is due at " + countWord(material, "place", "places") + ": signs show", sub
	case len(rows) == 0:
		return "No bird is in a cage yet, so nothing is fed", ""
	}
	n := 0
	for _, k := range rows {
		n += k
	}
	return "Every place is fed for where it stands: " + countWord(n, "place", "places"), sub
}

// groups fills in the groups of the plan.
func (p *foodPage) groups(v *visit, d *advice.Desk) {
	for _, g := range d.FeedGroups() {
		plan := g.On(d.Today)
		if plan == nil {
			continue
		}
		x := groupPhase{Name: plan.Name, For: planFor(d, plan), Entry: plan.Entry.String()}
		if x.Name == "" {
			x.Name = "Whole room"
		}
		s, begun := d.GroupOn(g, d.Today)
		x.Phase = capital(advice.PhaseName(s.Phase))
		if begun && s.Since != 0 {
			x.Phase += ", since " + advice.FeedDay(s.Since).Short()
			if s.Week > 0 {
				x.Phase = fmt.Sprintf("%s, week %d", x.Phase, s.Week)
			}
		}
		if s.NextDay != 0 && s.Next != feed.Material {
			x.Follows = fmt.Sprintf("%s from %s", advice.PhaseName(s.Next), advice.FeedDay(s.NextDay).Short())
		}
		for _, day := range []struct {
			what string
			day  aviary.Date
		}{{"preparation", plan.Preparation}, {"sprouted seed", plan.Conditioning}, {"moult", plan.Moult}, {"rest", plan.Rest}} {
			if day.day != 0 {
				x.Dates = append(x.Dates, day.what+" "+day.day.Long())
			}
		}
		p.Groups = append(p.Groups, x)
	}
}

// planFor says for whom a plan was made.
func planFor(d *advice.Desk, plan *aviary.FeedPlan) string {
	var parts []string
	var names []string
	for _, id := range plan.Places {
		if q := d.Room.Place(id); q != nil {
			names = append(names, q.Name)
		}
	}
	if len(names) > 0 {
		parts = append(parts, platesLine(names, 8))
	}
	if len(plan.Banks) > 0 {
		parts = append(parts, strings.Join(plan.Banks, ", "))
	}
	names = nil
	for _, slug := range plan.Species {
		if sp := d.Cat.BySlug(slug); sp != nil {
			names = append(names, sp.English)
		}
	}
	if len(names) > 0 {
		parts = append(parts, platesLine(names, 8))
	}
	if len(parts) == 0 {
		return "the whole room"
	}
	return strings.Join(parts, "; ")
}

// places fills in every place by its phase; material is how many are due nest material.
func (p *foodPage) places(d *advice.Desk, due []*aviary.Place) (material int, n map[feed.Phase]int) {
	n = map[feed.Phase]int{}
	rows := map[feed.Phase][]phaseRow{}
	general := map[feed.Phase][]feed.Note{}
	wait := map[aviary.ID]bool{}
	for _, q := range due {
		wait[q.ID] = true
	}
	at := map[string]int{}
	for _, q := range d.Room.Places() {
		f := d.Feeding(q)
		if f == nil {
			continue
		}
		i, ok := at[q.Bank]
		if !ok {
			i = len(p.Begin)
			at[q.Bank], p.Begin = i, append(p.Begin, bankPlates{Bank: q.Bank})
		}
		p.Begin[i].Plates = append(p.Begin[i].Plates, placeName{q.ID.String(), q.Name})
		x := phaseRow{Plate: q.Name, Cage: q.ID.String(), Stands: f.Stands(), Follows: d.Follows(f), Due: wait[q.ID]}
		if f.Species != nil {
			x.Who = f.Species.English
		}
		switch {
		case f.Pair == nil && f.Group != "":
			x.Who += ", not paired, with " + f.Group
		case f.Pair == nil:
			x.Who += ", not paired"
		}
		for _, note := range f.Notes {
			kind := "coming"
			if note.Level > feed.Info {
				kind = "late"
			} else if advice.General(note) {
				// What is published holds for the phase, and is said once.
				if list := general[f.Standing.Phase]; !slices.Contains(list, note) {
					general[f.Standing.Phase] = append(list, note)
				}
				continue
			}
			x.Notes = append(x.Notes, feedNote{Plate: q.Name, Cage: x.Cage, Text: note.Text, Source: note.Source, Kind: kind})
		}
		if f.Standing.MaterialDue {
			material++
		}
		n[f.Standing.Phase]++
		rows[f.Standing.Phase] = append(rows[f.Standing.Phase], x)
	}
	for _, phase := range feed.Phases() {
		if list := rows[phase]; len(list) > 0 {
			p.Phases = append(p.Phases, phaseView{capital(advice.PhaseName(phase)), list, general[phase]})
		}
	}
	return material, n
}

// guards fills in the ceilings and the table of portions.
func (p *foodPage) guards(d *advice.Desk, u units) {
	for _, g := range d.GuardsHere() {
		x := guardView{Species: g.Species, Why: g.Why, Source: g.Source}
		if sp := d.Cat.BySlug(g.Species); sp != nil {
			x.Species = sp.English
		}
		var rules []string
		if g.Glutton {
			rules = append(rules, fmt.Sprintf("at most %s of the mix with egg food a pair until chicks hatch", u.Portion(feed.Teaspoon/2, 0)))
		}
		if g.NoneSitting {
			rules = append(rules, "no egg food while sitting")
		}
		if g.RationLive {
			rules = append(rules, "live food is counted out")
		}
		x.Rule = capital(strings.Join(rules, ", "))
		if x.Rule == "" {
			x.Rule = "Watch what is left"
		}
		p.Guards = append(p.Guards, x)
	}
	for _, t := range d.PortionTables() {
		view := portionView{Species: t.Species.English}
		if t.Guard.Glutton {
			view.Ceiling = "with its ceiling"
		}
		for _, row := range t.Rows {
			x := portionRow{Phase: capital(advice.PhaseName(row.Phase)), Birds: row.Birds, Sprouts: "–", Egg: "–", Seed: "–"}
			for _, it := range row.Items {
				amount := u.Portion(it.ML, it.Grams)
				switch it.Kind {
				case feed.SproutedSeed:
					x.Sprouts = amount
				case feed.SoftEggFood:
					x.Egg = amount
				case feed.DrySeed:
					x.Seed = amount
				case feed.LiveFood:
					x.Other = "live food, counted out"
				}
			}
			view.Rows = append(view.Rows, x)
		}
		p.Tables = append(p.Tables, view)
	}
}

// weights fills in the birds that are thin or fat.
func (p *foodPage) weights(d *advice.Desk, u units) {
	list, without := d.Weights()
	p.Weighed, p.Without = len(list), without
	for _, w := range list {
		if w.Level() < feed.Info {
			continue
		}
		x := weightView{Bird: w.Bird.ID.String(), Label: w.Bird.Label(), Verdict: capital(w.Verdict.String()), Last: fmt.Sprintf("%s on %s", u.Mass(w.Last.Grams), advice.FeedDay(w.Last.Day).Short()), Notes: w.Notes, Warn: w.Level() > feed.Info}
		if w.Place != nil {
			x.Plate = w.Place.Name
		}
		switch {
		case w.Baseline > 0:
			x.Against = fmt.Sprintf("%+.0f in 100 of its own %s", 100*w.Away, u.Mass(w.Baseline))
		case w.Low > 0:
			x.Against = fmt.Sprintf("the species weighs %s to %s", u.Mass(w.Low), u.Mass(w.High))
			x.Basis = w.Basis
		}
		switch trend := w.Trend(); trend {
		case "":
			x.Trend = "weighed once in six weeks"
		case "steady":
			x.Trend = trend
		default:
			x.Trend = trend + " " + u.Mass(math.Abs(w.PerWeek)) + " a week"
		}
		p.Heavy = append(p.Heavy, x)
	}
}
