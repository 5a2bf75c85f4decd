package web

import (
	"fmt"
	"html/template"
	"slices"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

func (s *server) conditionRoutes(r *routes) {
	r.get("/condition", s.conditionShow)
	r.post("/cage/{id}/signs", s.signsSend)
}

// conditionView is how ready a pair is, as its cage's page tells it.
type conditionView struct {
	Stage, Says string
	Held        string
	Ill         string
	Signs       []signLine
	Facts       []factLine
	Wait        string
	Week        string
	Picture     template.HTML
	Basis       string
	Notes       []conditionNote
	Changes     []string
	Buttons     []signButton
	Form        *form
	Cage, Here  string // id of the cage, and where the form comes back to
}

// signLine is a sign and the days on which it was seen.
type signLine struct {
	What, When string
	Old        bool // seen longer than a fortnight ago
}

// factLine is a fact in a list of them.
type factLine struct{ Name, Text string }

// conditionNote is what is to be said of a pair, with what it rests on.
type conditionNote struct{ Text, Source string }

// signButton writes a sign down with one tap.
type signButton struct {
	Value, Label string
	Today        bool // seen today already
}

// conditionOf tells how ready the pair of a place is; nil without a pair, or while it has eggs or young.
func conditionOf(d *advice.Desk, p *aviary.Place, f *form) *conditionView {
	c := d.Condition(p)
	if c == nil || c.Stage == advice.PairNesting {
		return nil
	}
	w := &conditionView{Stage: capital(c.Stage.String()), Says: c.Says(), Ill: c.Ill, Changes: c.Changes, Form: f, Cage: p.ID.String(), Here: "/cage/" + p.ID.String()}
	if c.Ill == "" {
		w.Held = c.Held
	}
	for _, s := range c.Signs {
		w.Signs = append(w.Signs, signLine{capital(s.What), s.When(), !s.Fresh})
	}
	w.facts(d, c)
	if c.Held == "" {
		for _, n := range c.Notes {
			w.Notes = append(w.Notes, conditionNote{n.Text, n.Source})
		}
	}
	for _, n := range c.Against {
		if n.Text != w.Held && c.Ill == "" {
			w.Notes = append(w.Notes, conditionNote{n.Text, n.Source})
		}
	}
	if wait := d.Wait(c); wait != nil && c.Ill == "" {
		w.Wait, w.Week, w.Basis = wait.Says(), wait.WeekSays(), wait.Basis()
		w.Picture = waitPicture(d, c, wait)
	}
	for _, what := range aviary.Signs {
		today := slices.ContainsFunc(c.Signs, func(s advice.SeenSign) bool { return s.What == what && s.Last() == d.Today })
		w.Buttons = append(w.Buttons, signButton{what, capital(what), today})
	}
	return w
}

// facts lists light, food, material and box, and what the pair is judged by.
func (w *conditionView) facts(d *advice.Desk, c *advice.Condition) {
	add := func(name, text string) { w.Facts = append(w.Facts, factLine{name, text}) }
	light := "not known, or not reached"
	if c.LightSince != 0 {
		light = fmt.Sprintf("%s, since %s", weeks(c.LightWeeks(d.Today)), c.LightSince.Short())
	}
	add("Full light", light)
	food := "nothing noted"
	switch {
	case c.FoodNoted && c.Standing.Week > 0 && c.FoodSince != 0:
		food = fmt.Sprintf("week %d, since %s", c.Standing.Week, c.FoodSince.Short())
	case c.FoodNoted && c.FoodSince != 0:
		food = fmt.Sprintf("since %s, now %s", c.FoodSince.Short(), c.Standing.Phase)
	case c.FoodNoted:
		food = "not begun, now " + c.Standing.Phase.String()
	}
	add("Sprouted seed", food)
	switch {
	case c.Box != 0:
		add("Nest box", "with the pair since "+c.Box.Short())
	case c.Place.Type == aviary.Cage:
		add("Nest box", "none hangs")
	}
	material := "not noted"
	if c.Material != 0 {
		material = "given " + c.Material.Short()
	}
	add("Nest material", material)
	judged := c.Kind()
	if c.FirstTime {
		judged += ": by the books neither bird had a clutch before"
	}
	add("Judged by", judged)
	for i, age := range c.Ages {
		if i == 0 {
			add("Ages", age)
		} else {
			w.Facts[len(w.Facts)-1].Text += ", " + age
		}
	}
}

func weeks(n int) string {
	if n < 1 {
		return "less than a week"
	}
	return count(n, "week", "weeks")
}

// waitPicture draws the wait and the days from here; nothing while the wait has not begun.
func waitPicture(d *advice.Desk, c *advice.Condition, w *advice.Wait) template.HTML {
	if !w.Started {
		return ""
	}
	v := look.WaitView{Start: int(w.Start), Today: int(d.Today), StartWords: w.Start.Short(), TodayWords: "today", Label: w.Says()}
	for _, s := range c.Signs {
		for _, day := range s.Days {
			if day >= w.Start && !slices.Contains(v.Signs, int(day)) {
				v.Signs = append(v.Signs, int(day))
			}
		}
	}
	slices.Sort(v.Signs)
	if !w.Longer && w.EarlyKnown {
		v.Known, v.Early, v.EarlyWords = true, int(w.On(w.Early)), w.On(w.Early).Short()
		v.HalfKnown, v.Half = w.LikelyKnown, int(w.On(w.Likely))
		v.Open, v.Late, v.LateWords = !w.LateKnown, int(w.On(w.Late)), w.On(w.Late).Short()
	}
	return look.Wait(v)
}
