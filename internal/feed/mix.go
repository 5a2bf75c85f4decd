package feed

import (
	"fmt"
	"math"
	"strings"
)

// Ingredient is a food that may go into a mix. Parts are by name: how much of each thing
// one unit of the food holds, in whatever unit the need is written.
type Ingredient struct {
	Name   string
	Price  float64 // of one unit
	Amount Limit   // how much of it the mix may hold; Min at least 0
	Parts  map[string]float64
}

// TotalNeed is the name of the need that limits the sum of all amounts.
const TotalNeed = "total"

// MixNeed is what a mix is to hold: the sum of a part over all foods lies within Limit or, with OfTotal, that
// sum divided by the total does. A need named [TotalNeed] is about the total itself.
type MixNeed struct {
	Name    string
	Limit   Limit
	OfTotal bool
	// Line and Column are where the file names it; 0 when it comes from none.
	Line, Column int
}

// MixAmount is one food of a mix that was found.
type MixAmount struct {
	Name                string
	Amount, Share, Cost float64 // Share of the total; 0 when the total is 0
}

// MixReach is how a need came out.
type MixReach struct {
	Name  string
	Limit Limit
	Value float64
	// Tight is "min" or "max" when that limit sets the cost, and Price is by how much the cost
	// rises when the limit is drawn in by one unit.
	Tight string
	Price float64
}

// Clash is a limit that cannot be kept together with the others of its set.
type Clash struct {
	Need string // name of the need or food
	Food bool
	Side string // "min" or "max"
	At   float64
	// Reach is what the mix gets to when only this limit is lifted and all others of foods and needs are kept; HasReach is
	// false where that has no end, or where the others clash without it.
	Reach    float64
	HasReach bool
}

// MixAnswer is the least-cost mix, or why there is none.
type MixAnswer struct {
	Status  Status
	Cost    float64
	Total   float64
	Amounts []MixAmount
	Needs   []MixReach
	Tied    bool // another mix costs the same
	// Clashes is a set of limits that no mix keeps together, though it would without any
	// one of them. Only when Status is Infeasible.
	Clashes []Clash
	Message string
}

// mixProgramme writes the mix as a linear programme. A need of the total becomes
// (part − limit)·x against 0, once for each end that is not open.
func mixProgramme(foods []Ingredient, needs []MixNeed) (*Programme, []mixSide) {
	p := &Programme{}
	for _, f := range foods {
		p.Cost = append(p.Cost, f.Price)
		p.Bounds = append(p.Bounds, f.Amount)
	}
	var sides []mixSide
	add := func(need int, min bool) {
		n := needs[need]
		at := n.Limit.Max
		if min {
			at = n.Limit.Min
		}
		row := make([]float64, len(foods))
		for j, f := range foods {
			row[j] = 1
			if n.Name != TotalNeed {
				row[j] = f.Parts[n.Name]
			}
			if n.OfTotal {
				row[j] -= at
			}
		}
		if n.OfTotal {
			at = 0
		}
		l := AtMost(at)
		if min {
			l = AtLeast(at)
		}
		p.Rows, p.Limits = append(p.Rows, row), append(p.Limits, l)
		sides = append(sides, mixSide{need, min})
	}
	for i, n := range needs {
		if !math.IsInf(n.Limit.Min, 0) {
			add(i, true)
		}
		if !math.IsInf(n.Limit.Max, 0) {
			add(i, false)
		}
	}
	return p, sides
}

type mixSide struct {
	need int
	min  bool
}

// Mix returns the cheapest mix of foods that meets all needs. When there is none, it names
// a smallest set of limits that clash, found by leaving out one limit after another. The
// sum of the needs' limits and foods may reach some hundreds.
func Mix(foods []Ingredient, needs []MixNeed) MixAnswer {
	p, sides := mixProgramme(foods, needs)
	got := p.Solve()
	out := MixAnswer{Status: got.Status}
	switch got.Status {
	case Infeasible:
		out.Clashes = clashes(foods, needs, p, sides)
		out.Message = clashSentence(out.Clashes)
		return out
	case Unbounded:
		out.Message = "The cost can fall without end: a food with a price below 0 has no upper limit. Correct the price, or give the food a limit."
		return out
	case OutOfIterations:
		out.Message = "The sum did not come out. Check the figures: some may be a thousand times too large or too small."
		return out
	}
	out.Cost, out.Tied = got.Cost, got.Tied
	for _, x := range got.X {
		out.Total += x
	}
	for j, f := range foods {
		a := MixAmount{Name: f.Name, Amount: got.X[j], Cost: got.X[j] * f.Price}
		if out.Total > 0 {
			a.Share = a.Amount / out.Total
		}
		out.Amounts = append(out.Amounts, a)
	}
	for i, n := range needs {
		r := MixReach{Name: n.Name, Limit: n.Limit}
		for j, f := range foods {
			part := 1.0
			if n.Name != TotalNeed {
				part = f.Parts[n.Name]
			}
			r.Value += part * got.X[j]
		}
		if n.OfTotal {
			if r.Value = r.Value / out.Total; out.Total == 0 {
				r.Value = 0
			}
		}
		for k, s := range sides {
			price := got.Price[k]
			if s.need != i || price == 0 {
				continue
			}
			if n.OfTotal {
				// Raising the share by one takes total units of the part.
				price *= out.Total
			}
			if r.Tight = "max"; s.min {
				r.Tight = "min"
			}
			r.Price = math.Abs(price)
		}
		out.Needs = append(out.Needs, r)
	}
	out.Message = "This is the cheapest mix that meets all needs."
	if out.Tied {
		out.Message += " Another mix costs the same."
	}
	return out
}

// clashes thins out an infeasible programme until every limit left is needed for the clash
// (deletion filter, Chinneck 1991). Limits of foods go first, so that needs are named where
// they clash among themselves.
func clashes(foods []Ingredient, needs []MixNeed, p *Programme, sides []mixSide) []Clash {
	q := *p
	q.Cost = make([]float64, len(p.Cost))
	q.Bounds = append([]Limit(nil), p.Bounds...)
	q.Limits = append([]Limit(nil), p.Limits...)
	open := Limit{math.Inf(-1), math.Inf(1)}
	feasible := func() bool { return q.Solve().Status == Optimal }
	for j := range q.Bounds {
		for _, side := range [2]bool{false, true} {
			keep := q.Bounds[j]
			if side && keep.Min > 0 {
				q.Bounds[j].Min = 0
			} else if !side && !math.IsInf(keep.Max, 1) {
				q.Bounds[j].Max = math.Inf(1)
			}
			if q.Bounds[j] != keep && feasible() {
				q.Bounds[j] = keep
			}
		}
	}
	// Later rows first: people write what matters most first.
	for k := len(q.Limits) - 1; k >= 0; k-- {
		keep := q.Limits[k]
		q.Limits[k] = open
		if feasible() {
			q.Limits[k] = keep
		}
	}
	var out []Clash
	for k, s := range sides {
		if q.Limits[k] == open {
			continue
		}
		n := needs[s.need]
		c := Clash{Need: n.Name, Side: "max", At: n.Limit.Max}
		if s.min {
			c.Side, c.At = "min", n.Limit.Min
		}
		if !n.OfTotal {
			c.Reach, c.HasReach = reach(*p, k, s.min)
		}
		out = append(out, c)
	}
	for j, b := range q.Bounds {
		if b.Min > 0 {
			out = append(out, Clash{Need: foods[j].Name, Food: true, Side: "min", At: b.Min})
		}
		if !math.IsInf(b.Max, 1) {
			out = append(out, Clash{Need: foods[j].Name, Food: true, Side: "max", At: b.Max})
		}
	}
	return out
}

// reach returns the most (or, for a max, the least) that row k gets to without its own limit.
func reach(q Programme, k int, most bool) (float64, bool) {
	row := q.Rows[k]
	q.Limits = append([]Limit(nil), q.Limits...)
	q.Limits[k] = Limit{math.Inf(-1), math.Inf(1)}
	q.Cost = make([]float64, len(row))
	for j, a := range row {
		q.Cost[j] = a
		if most {
			q.Cost[j] = -a
		}
	}
	got := q.Solve()
	if got.Status != Optimal {
		return 0, false
	}
	if most {
		return -got.Cost, true
	}
	return got.Cost, true
}

func (c Clash) words() string {
	word := "at most"
	if c.Side == "min" {
		word = "at least"
	}
	return fmt.Sprintf("%s %s %s", c.Need, word, round(c.At))
}

// round writes a figure to five digits for a sentence.
func round(v float64) string { return fmt.Sprintf("%.5g", v) }

func clashSentence(set []Clash) string {
	if len(set) == 0 {
		return "No mix meets all needs."
	}
	var parts []string
	for _, c := range set {
		parts = append(parts, c.words())
	}
	text := "No mix of these foods has " + parts[0] + "."
	if len(parts) > 1 {
		text = "No mix of these foods meets all of these together: " + strings.Join(parts[:len(parts)-1], ", ") + " and " + parts[len(parts)-1] + "."
	}
	for _, c := range set {
		if c.HasReach && c.Need != TotalNeed {
			end := "least"
			if c.Side == "min" {
				end = "most"
			}
			return text + fmt.Sprintf(" With the others kept, the %s that %s gets to is %s.", end, c.Need, round(c.Reach))
		}
	}
	return text
}

// MixHeader names the cells of [MixAnswer.Rows].
func MixHeader() []string {
	return []string{"kind", "name", "amount", "share", "cost", "min", "max", "holds", "price"}
}

// Rows writes a mix for a CSV file: a line a food, a line a need, and the whole.
func (m MixAnswer) Rows() [][]string {
	var out [][]string
	if m.Status != Optimal {
		return out
	}
	for _, a := range m.Amounts {
		out = append(out, []string{"food", a.Name, number(a.Amount), number(a.Share), number(a.Cost), "", "", "", ""})
	}
	for _, n := range m.Needs {
		out = append(out, []string{"need", n.Name, number(n.Value), "", "", number(n.Limit.Min), number(n.Limit.Max), n.Tight, number(n.Price)})
	}
	return append(out, []string{"mix", "", number(m.Total), "", number(m.Cost), "", "", "", ""})
}

// Sizes beyond which a mix is refused: naming a clash solves the mix once for every limit.
const maxMixFoods, maxMixNeeds = 200, 60

// ReadFoods reads a file of foods with prices; see the package comment for its columns.
// Every column beyond food, price, min and max is a part that needs may name; an empty
// cell there is refused by [CheckMix] only when a need asks for it.
func ReadFoods(raw []byte) ([]Ingredient, error) {
	t, err := readTable(raw, "the food file")
	if err != nil {
		return nil, err
	}
	if err := t.wants("food", "price"); err != nil {
		return nil, err
	}
	if c := t.column(TotalNeed); c >= 0 {
		return nil, &Error{Line: t.top, Column: c + 1, Field: TotalNeed, Message: "total is the sum of all amounts and cannot be a column here."}
	}
	if len(t.rows) > maxMixFoods {
		return nil, &Error{Line: t.lines[maxMixFoods], Column: 1, Message: fmt.Sprintf("there are more than %d foods. Leave out those that you would not buy.", maxMixFoods)}
	}
	var out []Ingredient
	seen := map[string]bool{}
	for row := range t.rows {
		f := Ingredient{Name: t.cell(row, "food"), Amount: AtLeast(0), Parts: map[string]float64{}}
		if f.Name == "" {
			return nil, t.wrong(row, "food", "this line names no food.")
		}
		if seen[strings.ToLower(f.Name)] {
			return nil, t.wrong(row, "food", "%q stands twice.", f.Name)
		}
		seen[strings.ToLower(f.Name)] = true
		for _, h := range t.head {
			if h == "food" {
				continue
			}
			least := 0.0
			if h == "price" {
				least = -1e6
			}
			v, ok, err := t.figure(row, h, least, 1e6)
			if err != nil {
				return nil, err
			}
			switch {
			case h == "price" && !ok:
				return nil, t.wrong(row, "price", "%s has no price.", f.Name)
			case h == "price":
				f.Price = v
			case h == "min" && ok:
				f.Amount.Min = v
			case h == "max" && ok:
				f.Amount.Max = v
			case h != "min" && h != "max" && ok:
				f.Parts[h] = v
			}
		}
		if f.Amount.Min > f.Amount.Max {
			return nil, t.wrong(row, "max", "at most %s and at least %s of %s cannot be.", number(f.Amount.Max), number(f.Amount.Min), f.Name)
		}
		out = append(out, f)
	}
	return out, nil
}

// ReadNeeds reads a file of needs; see the package comment for its columns.
func ReadNeeds(raw []byte) ([]MixNeed, error) {
	t, err := readTable(raw, "the file of needs")
	if err != nil {
		return nil, err
	}
	if err := t.only("need", "min", "max", "of"); err != nil {
		return nil, err
	}
	if err := t.wants("need"); err != nil {
		return nil, err
	}
	if len(t.rows) > maxMixNeeds {
		return nil, &Error{Line: t.lines[maxMixNeeds], Column: 1, Message: fmt.Sprintf("there are more than %d needs.", maxMixNeeds)}
	}
	var out []MixNeed
	seen := map[string]bool{}
	for row := range t.rows {
		n := MixNeed{Name: strings.ToLower(t.cell(row, "need")), Limit: Limit{math.Inf(-1), math.Inf(1)}, Line: t.lines[row], Column: t.column("need") + 1}
		of := strings.ToLower(t.cell(row, "of"))
		n.OfTotal = of == TotalNeed
		low, hasLow, err := t.figure(row, "min", 0, 1e9)
		if err != nil {
			return nil, err
		}
		high, hasHigh, err := t.figure(row, "max", 0, 1e9)
		if err != nil {
			return nil, err
		}
		key := n.Name + "/" + of
		switch {
		case n.Name == "":
			return nil, t.wrong(row, "need", "this line names no need.")
		case of != "" && of != TotalNeed:
			return nil, t.wrong(row, "of", "%q is not known. Leave it empty, or write total for a share of the whole mix.", t.cell(row, "of"))
		case n.Name == TotalNeed && n.OfTotal:
			return nil, t.wrong(row, "of", "the total is all of itself. Leave this cell empty.")
		case !hasLow && !hasHigh:
			return nil, t.wrong(row, "need", "%s has neither min nor max.", n.Name)
		case hasLow && hasHigh && low > high:
			return nil, t.wrong(row, "max", "at most %s and at least %s of %s cannot be.", number(high), number(low), n.Name)
		case seen[key]:
			return nil, t.wrong(row, "need", "%q stands twice.", n.Name)
		}
		seen[key] = true
		if hasLow {
			n.Limit.Min = low
		}
		if hasHigh {
			n.Limit.Max = high
		}
		out = append(out, n)
	}
	return out, nil
}

// CheckMix refuses needs that the foods say nothing about. The *Error is where the need stands.
func CheckMix(foods []Ingredient, needs []MixNeed) error {
	for _, n := range needs {
		if n.Name == TotalNeed {
			continue
		}
		var without []string
		for _, f := range foods {
			if _, ok := f.Parts[n.Name]; !ok {
				without = append(without, f.Name)
			}
		}
		switch {
		case len(without) == len(foods):
			return &Error{Line: n.Line, Column: n.Column, Field: "need", Message: fmt.Sprintf("The needs ask for %s, and no food has a figure for it. Add a column %s to the foods.", n.Name, n.Name)}
		case len(without) > 0:
			return &Error{Line: n.Line, Column: n.Column, Field: "need", Message: fmt.Sprintf("The needs ask for %s, and these foods have no figure for it: %s. Write 0 where there is none in them.", n.Name, strings.Join(without, ", "))}
		}
	}
	return nil
}
