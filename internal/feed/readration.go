package feed

import (
	"math"
	"strings"
)

// Ration is one ration of a file: who eats, in which phase, and what.
type Ration struct {
	Name     string
	Phase    Phase
	Birds    Birds
	Servings []Serving
}

// rationColumns are the columns of a ration file; doc.go says what each holds.
var rationColumns = [...]string{
	"ration", "phase", "adults", "mass_g", "chicks", "chick_age_days", "fledge_g", "fledge_days", "independent_days",
	"egg_g", "egg_days", "cage_share", "food", "amount", "unit",
	"water", "protein", "fat", "carbohydrate", "calcium", "phosphorus", "energy", "hull",
}

// Growth of a brood when a file does not say: middle values of the species that the program knows.
const (
	usualFledgeShare = 0.95 // of an adult's mass; from memory
	usualFledgeDays  = 21
	usualFreeDays    = 35
)

// gramsPer is the weight of each unit of weight, g.
func gramsPer(unit string) (float64, bool) {
	switch unit {
	case "", "g":
		return 1, true
	case "oz":
		return 28.349523125, true // international avoirdupois ounce
	}
	return 0, false
}

// mlPer is the volume of each unit of volume, ml: metric spoons.
func mlPer(unit string) (float64, bool) {
	switch unit {
	case "ml":
		return 1, true
	case "tsp", "teaspoon", "teaspoons":
		return Teaspoon, true
	case "tbsp":
		return 3 * Teaspoon, true
	}
	return 0, false
}

// ReadRations reads a file of rations; see the package comment for its columns. foods are
// the foods that it may name. An error is an [*Error] with line and column.
func ReadRations(raw []byte, foods []Food) ([]Ration, error) {
	t, err := readTable(raw, "the ration file")
	if err != nil {
		return nil, err
	}
	if err := t.only(rationColumns[:]...); err != nil {
		return nil, err
	}
	if err := t.wants("phase", "mass_g", "food", "amount", "unit"); err != nil {
		return nil, err
	}
	var out []Ration
	at := map[string]int{}
	for row := range t.rows {
		name := t.cell(row, "ration")
		if name == "" && len(out) > 0 {
			name = out[len(out)-1].Name
		}
		if name == "" {
			name = "ration"
		}
		i, known := at[name]
		if !known {
			r := Ration{Name: name}
			if err := t.birds(row, &r); err != nil {
				return nil, err
			}
			i = len(out)
			at[name], out = i, append(out, r)
		} else if err := t.agrees(row, out[i]); err != nil {
			return nil, err
		}
		s, err := t.serving(row, foods)
		if err != nil {
			return nil, err
		}
		out[i].Servings = append(out[i].Servings, s)
	}
	return out, nil
}

// birds reads who eats, from the first line of a ration.
func (t *table) birds(row int, r *Ration) error {
	phase := strings.NewReplacer("_", " ", "-", " ").Replace(strings.ToLower(t.cell(row, "phase")))
	p, err := ParsePhase(phase)
	if err != nil {
		return t.wrong(row, "phase", "%s", err)
	}
	r.Phase = p
	b := &r.Birds
	var adults, chicks float64
	b.Growth = Chick{FledgeDays: usualFledgeDays, IndependentDays: usualFreeDays}
	adults = 2
	for _, f := range []struct {
		name      string
		into      *float64
		low, high float64
	}{
		{"adults", &adults, 0, 10000},
		{"mass_g", &b.MassGrams, 3, 200},
		{"chicks", &chicks, 0, 10000},
		{"chick_age_days", &b.ChickAge, 0, 120},
		{"fledge_g", &b.Growth.FledgeGrams, 2, 200},
		{"fledge_days", &b.Growth.FledgeDays, 5, 60},
		{"independent_days", &b.Growth.IndependentDays, 5, 120},
		{"egg_g", &b.EggGrams, 0.2, 20},
		{"egg_days", &b.EggDays, 0.5, 7},
		{"cage_share", &b.Share, 0.2, 2},
	} {
		v, ok, err := t.figure(row, f.name, f.low, f.high)
		if err != nil {
			return err
		}
		if ok {
			*f.into = v
		}
	}
	switch {
	case b.MassGrams == 0:
		return t.wrong(row, "mass_g", "the first line of a ration needs the weight of one adult, in g.")
	case adults != math.Trunc(adults):
		return t.wrong(row, "adults", "birds come whole.")
	case chicks != math.Trunc(chicks):
		return t.wrong(row, "chicks", "chicks come whole.")
	case chicks > 0 && t.cell(row, "chick_age_days") == "":
		return t.wrong(row, "chicks", "chicks need their age in a column chick_age_days.")
	case b.Growth.IndependentDays < b.Growth.FledgeDays:
		return t.wrong(row, "independent_days", "young cannot feed themselves before they leave the nest, on day %s.", number(b.Growth.FledgeDays))
	}
	b.Adults, b.Chicks = int(adults), int(chicks)
	b.Growth.AdultGrams = b.MassGrams
	if b.Growth.FledgeGrams == 0 {
		b.Growth.FledgeGrams = usualFledgeShare * b.MassGrams
	}
	return nil
}

// agrees refuses a later line of a ration that says something else of its birds.
func (t *table) agrees(row int, r Ration) error {
	var again Ration
	for _, name := range rationColumns[1:12] {
		if t.cell(row, name) == "" {
			continue
		}
		// One cell is enough to compare with: fill the others from the ration itself.
		if t.cell(row, "phase") == "" || t.cell(row, "mass_g") == "" {
			return t.wrong(row, name, "say what is so of the birds on the first line of the ration, and leave it empty on the others, or repeat all of it.")
		}
		if err := t.birds(row, &again); err != nil {
			return err
		}
		if again.Phase != r.Phase || again.Birds != r.Birds {
			return t.wrong(row, name, "this differs from the first line of ration %q. Give each ration a name of its own.", r.Name)
		}
		return nil
	}
	return nil
}

// serving reads the food of a line and how much of it.
func (t *table) serving(row int, foods []Food) (Serving, error) {
	name := t.cell(row, "food")
	food, known := FindFood(foods, name)
	if name == "" {
		return Serving{}, t.wrong(row, "food", "this line names no food.")
	}
	if !known {
		food = Food{ID: name, Name: name, Hull: given(0)}
	}
	own := false
	for _, f := range []struct {
		name string
		into *Figure
		high float64
	}{
		{"water", &food.Water, 100},
		{"protein", &food.Protein, 100},
		{"fat", &food.Fat, 100},
		{"carbohydrate", &food.Carbohydrate, 100},
		{"calcium", &food.Calcium, 100},
		{"phosphorus", &food.Phosphorus, 100},
		{"energy", &food.Energy, 40},
		{"hull", &food.Hull, 95},
	} {
		v, ok, err := t.figure(row, f.name, 0, f.high)
		if err != nil {
			return Serving{}, err
		}
		if ok {
			*f.into, own = given(v), true
		}
	}
	if !known && !own {
		return Serving{}, t.wrong(row, "food", "%q is not a food that the program knows%s. Correct the name, or write its composition in columns water, protein, fat, carbohydrate, calcium, phosphorus.", name, nearFood(foods, name))
	}
	if sum := food.Water.Value + food.Protein.Value + food.Fat.Value + food.Carbohydrate.Value; sum > 101 {
		return Serving{}, t.wrong(row, "food", "water, protein, fat and carbohydrate of %s make %s g in 100 g.", name, number(sum))
	}
	unit := strings.ToLower(t.cell(row, "unit"))
	if unit == "free" {
		if t.cell(row, "amount") != "" {
			return Serving{}, t.wrong(row, "amount", "what is out freely has no amount. Leave the cell empty.")
		}
		return Serving{Food: food, Free: true}, nil
	}
	amount, ok, err := t.figure(row, "amount", 0, 1e6)
	if err != nil {
		return Serving{}, err
	}
	if !ok {
		return Serving{}, t.wrong(row, "amount", "this line has no amount. For what is out at all times write free as the unit.")
	}
	if per, ok := gramsPer(unit); ok {
		return Serving{Food: food, Grams: amount * per}, nil
	}
	per, ok := mlPer(unit)
	if !ok {
		return Serving{}, t.wrong(row, "unit", "%q is no unit. Write g, oz, ml, tsp, tbsp or free.", t.cell(row, "unit"))
	}
	if !food.Teaspoon.Known {
		return Serving{}, t.wrong(row, "unit", "what a teaspoon of %s weighs is not known. Weigh one and write grams.", name)
	}
	return Serving{Food: food, Grams: amount * per / Teaspoon * food.Teaspoon.Value}, nil
}

// nearFood returns a hint at a food whose name begins alike, or nothing.
func nearFood(foods []Food, name string) string {
	low := strings.ToLower(name)
	for _, f := range foods {
		for _, part := range append(strings.Fields(strings.ToLower(f.Name)), strings.ToLower(f.ID)) {
			if len(low) >= 3 && (strings.HasPrefix(part, low[:3]) || strings.Contains(low, part)) {
				return " (did you mean " + f.ID + "?)"
			}
		}
	}
	return ""
}
