package web

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

// conditionPage is every pair of the room by how ready it is.
type conditionPage struct {
	layout
	Columns []sortColumn
	Rows    []conditionRow
	Nesting int
	Stages  []stageCount
	Boxes   int
	Any     bool // a pair is set up at all
}

// stageCount is how many pairs are in a stage.
type stageCount struct {
	Stage string
	N     int
}

// conditionRow is one pair.
type conditionRow struct {
	Plate, Cage, Species string
	Pair                 []template.HTML
	Stage, Says, Due     string
	Held, Ill            string
	Signs                string
	Wait, WaitSays       string
	First                bool

	stage          advice.PairStage
	walk           int
	light, food    aviary.Date
	Light, Food    string
	expected, last aviary.Date
}

// conditionSorts are the columns of the list, each with its order.
var conditionSorts = []struct {
	name, label string
	order       func(a, b conditionRow) int
}{
	{"stage", "Stage", func(a, b conditionRow) int { return cmp.Compare(b.stage, a.stage) }},
	{"cage", "Cage", func(a, b conditionRow) int { return cmp.Compare(a.walk, b.walk) }},
	{"species", "Species", func(a, b conditionRow) int { return cmp.Compare(a.Species, b.Species) }},
	{"signs", "Signs seen", func(a, b conditionRow) int { return cmp.Compare(b.last, a.last) }},
	{"light", "Full light", func(a, b conditionRow) int { return compareKnown(a.light, b.light) }},
	{"food", "Sprouted seed", func(a, b conditionRow) int { return compareKnown(a.food, b.food) }},
	{"egg", "First egg", func(a, b conditionRow) int { return compareKnown(a.expected, b.expected) }},
}

// compareKnown puts the earlier day first and days that are not known last.
func compareKnown(a, b aviary.Date) int {
	switch {
	case a == b:
		return 0
	case a == 0:
		return 1
	case b == 0:
		return -1
	}
	return cmp.Compare(a, b)
}

func (s *server) conditionShow(v *visit) error {
	p := &conditionPage{}
	p.Title, p.Tab, p.Class = "Condition", "season", "page wide"
	in := v.r.URL.Query()
	by, desc := 0, in.Get("desc") != ""
	for i, c := range conditionSorts {
		if c.name == in.Get("sort") {
			by = i
		}
	}
	v.desk(func(d *advice.Desk) {
		r := d.Readiness()
		p.Headline, p.Nesting, p.Any = r.Headline(), r.Nesting, len(r.Pairs)+r.Nesting > 0
		p.Sub = conditionSub(r)
		for _, stage := range slices.Backward(advice.PairStages) {
			if n := r.Count[stage]; n > 0 {
				p.Stages = append(p.Stages, stageCount{capital(stage.String()), n})
			}
		}
		order := map[aviary.ID]int{}
		for i, x := range d.Room.Places() {
			order[x.ID] = i
		}
		for _, c := range r.Pairs {
			row := conditionRowOf(d, c)
			row.walk = order[c.Place.ID]
			p.Rows = append(p.Rows, row)
		}
	})
	slices.SortStableFunc(p.Rows, func(a, b conditionRow) int {
		k := conditionSorts[by].order(a, b)
		if desc {
			k = -k
		}
		return k
	})
	for i, c := range conditionSorts {
		col := sortColumn{Name: c.name, Label: c.label, Href: "/condition?sort=" + c.name}
		if i == by {
			col.Dir = "ascending"
			if desc {
				col.Dir = "descending"
			} else {
				col.Href += "&desc=yes"
			}
		}
		p.Columns = append(p.Columns, col)
	}
	return v.render("condition_show", p)
}

// conditionSub says what stands beside the headline.
func conditionSub(r *advice.Readiness) string {
	var out string
	if r.Boxes > 0 && r.Material > 0 {
		out = fmt.Sprintf("%s for a nest box first. ", waits(r.Boxes))
	}
	if r.Nesting > 0 && len(r.Pairs) > 0 {
		out += fmt.Sprintf("%s eggs or young already.", have(r.Nesting))
	}
	return out
}

func waits(n int) string {
	if n == 1 {
		return "1 pair waits"
	}
	return fmt.Sprintf("%d pairs wait", n)
}

func have(n int) string {
	if n == 1 {
		return "1 more pair has"
	}
	return fmt.Sprintf("%d more pairs have", n)
}

func conditionRowOf(d *advice.Desk, c *advice.Condition) conditionRow {
	row := conditionRow{
		Plate: c.Place.Name, Cage: c.Place.ID.String(), Pair: coupleLine(d, c.Pair, c.Place), Stage: capital(c.Stage.String()), Says: c.Says(), First: c.FirstTime,
		Signs: c.SignWords(), stage: c.Stage, light: c.LightSince, food: c.FoodSince, Held: c.Held,
	}
	if c.Species != nil {
		row.Species = c.Species.English
	}
	if c.Ill != "" {
		row.Ill, row.Held = "A hen looks ill: see to her now", ""
	}
	if what := c.Proposal(); what != "" {
		row.Due = capital(what) + " due"
	}
	for _, s := range c.Signs {
		row.last = max(row.last, s.Last())
	}
	if c.LightSince != 0 {
		row.Light = weeks(c.LightWeeks(d.Today))
	}
	if c.Standing.Week > 0 {
		row.Food = fmt.Sprintf("week %d", c.Standing.Week)
	} else if c.FoodSince != 0 {
		row.Food = "since " + c.FoodSince.Short()
	}
	if w := d.Wait(c); w != nil {
		row.Wait, row.WaitSays = w.Short(), w.Basis()
		if w.Started && !w.Longer && w.EarlyKnown {
			row.expected = w.On(w.Early)
			if w.LikelyKnown {
				row.expected = w.On(w.Likely)
			}
		}
	}
	return row
}

// markOf is the mark of a job: what cannot wait bears that of what is over.
func markOf(j *advice.Job) look.Kind {
	if j.Urgent {
		return look.Late
	}
	return kindOf(j.Attention)
}
