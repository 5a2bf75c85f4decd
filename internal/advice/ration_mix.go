package advice

import (
	"fmt"
	"math"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// MixAsk is a mix that a keeper asks about: foods of the program with what they cost, and what the mix is to hold.
type MixAsk struct {
	Foods []MixAskFood
	Needs []MixAskNeed
	Kilos float64 // to be made, as bought
}

// MixAskFood is a food that may go into the mix. Shares are of what is eaten of the mix, 0 to 1; nil is no limit.
type MixAskFood struct {
	ID       string
	Price    float64 // of a kg as bought
	Min, Max *float64
}

// MixAskNeed is what the mix is to hold: protein, fat or calcium as a share of what is eaten, 0 to 1, or energy in kJ a g, at a tenth of
// water, as on labels.
type MixAskNeed struct {
	Name     string
	Min, Max *float64
}

// FoodMix is the cheapest mix of foods, or why there is none.
type FoodMix struct {
	Made      bool
	Foods     []MixFood
	Kilos     float64 // as bought
	Cost      float64 // of them
	PerKilo   float64 // of a kg as bought
	PerEaten  float64 // of a kg of what is eaten of it, at a tenth of water
	Needs     []MixFigure
	Limits    []MixFigure // of foods, as shares
	Tied      bool        // another mix costs the same
	Sentences []string    // what sets the cost, or which wishes clash
}

// MixFood is a food of a mix that was found.
type MixFood struct {
	feed.Food
	Price, Kilos, Cost float64 // as bought
	Share              float64 // of what is eaten
}

// MixFigure is how a need, or the limit of a food, came out.
type MixFigure struct {
	Name     string
	Value    float64
	Min, Max *float64
	Holds    string  // "min" or "max" when that limit sets the cost
	Price    float64 // of a kg eaten, more, for one in 100 more (or less, for a most); for energy, for one kJ a g
}

// MixNeedNames are what a mix may be asked to hold.
func MixNeedNames() []string { return []string{"protein", "fat", "calcium", "energy"} }

// MixFoods are the foods of the program that can be bought for a mix.
func MixFoods() []feed.Food {
	var out []feed.Food
	for _, f := range feed.Foods() {
		if f.Kind != feed.KindSprouts {
			out = append(out, f)
		}
	}
	return out
}

// MixGuide is what a phase's food should hold by the guides of the program, with what they rest on.
type MixGuide struct {
	MixAskNeed
	Known bool
	Why   string
}

// MixNeedsFor returns the needs that the guides of a phase make.
func MixNeedsFor(phase string) ([]MixGuide, error) {
	p, err := feed.ParsePhase(phase)
	if err != nil {
		return nil, rationWrong("phase", "%s", err)
	}
	var out []MixGuide
	for _, x := range []struct {
		name string
		of   func(feed.Phase) feed.Guide
	}{{"protein", feed.ProteinGuide}, {"fat", feed.FatGuide}, {"calcium", feed.CalciumGuide}} {
		g := x.of(p)
		m := MixGuide{MixAskNeed: MixAskNeed{Name: x.name}, Known: g.Known, Why: g.Why}
		if g.Known {
			m.Min, m.Max = end(g.Low), end(g.High)
		}
		out = append(out, m)
	}
	return append(out, MixGuide{MixAskNeed: MixAskNeed{Name: "energy"}, Why: "no need a gram: birds eat until they have enough"}), nil
}

// end turns an end of a guide in percent into a share; nil where it is open.
func end(percent float64) *float64 {
	if math.IsInf(percent, 0) {
		return nil
	}
	x := percent / 100
	return &x
}

// StorePrice is what a food cost when it was counted last.
type StorePrice struct {
	Price float64 // of a kg
	Day   aviary.Date
}

// StorePrices returns the last price of each food of the program that was counted with one, by id.
func (d *Desk) StorePrices() map[string]StorePrice {
	out := map[string]StorePrice{}
	foods := feedData().foods
	for _, s := range d.Room.Whole().Stores {
		if s.Price == nil || s.Day > d.Today {
			continue
		}
		if f, ok := feed.FindFood(foods, s.Food); ok {
			out[f.ID] = StorePrice{*s.Price, s.Day}
		}
	}
	return out
}

// Bounds of what can be asked.
const (
	mostPrice = 1e6
	mostKilos = 10000
	// labelDry is the dry matter at which shares are stated, as labels state them.
	labelDry = 0.9
)

// eatenOf is how many kg are eaten of a kg as bought: without hulls, at a tenth of water.
func eatenOf(f feed.Food) float64 {
	return f.EatenGrams(1) * (1 - f.Water.Value/100) / labelDry
}

// holds is how much of a need a kg of what is eaten of a food holds, at a tenth of water: a share, or kJ a g.
func holds(f feed.Food, need string) (float64, bool) {
	var x feed.Figure
	per := 100.0
	switch need {
	case "protein":
		x = f.Protein
	case "fat":
		x = f.Fat
	case "calcium":
		x = f.Calcium
	case "energy":
		x, per = f.Usable(), 1
	}
	return x.Value / per * labelDry / (1 - f.Water.Value/100), x.Known && f.Water.Known && f.Water.Value < 100
}

// Mix finds the cheapest mix. An ask that cannot be answered is an *aviary.Error; its field is foods, kilos, the id of a food, or the
// name of a need with _min or _max.
func Mix(ask MixAsk) (*FoodMix, error) {
	if len(ask.Foods) == 0 {
		return nil, rationWrong("foods", "Tick at least one food.")
	}
	if !(ask.Kilos > 0) || ask.Kilos > mostKilos {
		return nil, rationWrong("kilos", "Give how much is to be made: more than 0 and at most %d kg.", mostKilos)
	}
	foods, known, err := ask.ingredients()
	if err != nil {
		return nil, err
	}
	needs := []feed.MixNeed{{Name: feed.TotalNeed, Limit: feed.Limit{Min: 1, Max: 1}}}
	for _, n := range ask.Needs {
		l, err := limitOf(n.Name, n.Min, n.Max)
		if err != nil {
			return nil, err
		}
		if n.Min == nil && n.Max == nil {
			continue
		}
		for i, f := range known {
			x, ok := holds(f, n.Name)
			if !ok {
				return nil, rationWrong(n.Name+"_min", "How much %s is in %s is not known. Leave the food or the need out.", n.Name, strings.ToLower(f.Name))
			}
			foods[i].Parts[n.Name] = x
		}
		needs = append(needs, feed.MixNeed{Name: n.Name, Limit: l})
	}
	// Limits of foods come last, so that a clash names needs where they clash among themselves.
	for i, f := range ask.Foods {
		if f.Min == nil && f.Max == nil {
			continue
		}
		l, err := limitOf(f.ID, f.Min, f.Max)
		if err != nil {
			return nil, err
		}
		for j := range foods {
			foods[j].Parts[f.ID] = 0
		}
		foods[i].Parts[f.ID] = 1
		needs = append(needs, feed.MixNeed{Name: f.ID, Limit: l})
	}
	got := feed.Mix(foods, needs)
	out := &FoodMix{Made: got.Status == feed.Optimal, Kilos: ask.Kilos, Tied: got.Tied}
	if !out.Made {
		out.Sentences = clashWords(got)
		return out, nil
	}
	out.fill(ask, known, got)
	return out, nil
}

// ingredients turns the foods of the ask into those of the engine, by the kg of what is eaten.
func (ask MixAsk) ingredients() ([]feed.Ingredient, []feed.Food, error) {
	var foods []feed.Ingredient
	var known []feed.Food
	all := feedData().foods
	seen := map[string]bool{}
	for _, x := range ask.Foods {
		f, ok := feed.FindFood(all, x.ID)
		switch {
		case !ok || f.Kind == feed.KindSprouts:
			return nil, nil, rationWrong(x.ID, "There is no food to buy called %q.", x.ID)
		case seen[f.ID]:
			return nil, nil, rationWrong(x.ID, "%s is there twice.", f.Name)
		case !(x.Price >= 0) || x.Price > mostPrice:
			return nil, nil, rationWrong(x.ID, "%s: give what a kilo costs, 0 or more.", f.Name)
		case !(eatenOf(f) > 0):
			return nil, nil, rationWrong(x.ID, "%s: how much of it is eaten is not known.", f.Name)
		}
		seen[f.ID] = true
		foods = append(foods, feed.Ingredient{Name: f.ID, Price: x.Price / eatenOf(f), Amount: feed.AtLeast(0), Parts: map[string]float64{}})
		known = append(known, f)
	}
	return foods, known, nil
}

// limitOf joins two ends to a limit. Shares lie between 0 and 1; energy is in kJ a g.
func limitOf(name string, low, high *float64) (feed.Limit, error) {
	l := feed.Limit{Min: math.Inf(-1), Max: math.Inf(1)}
	most, words := 1.0, "0 to 100 %"
	if name == "energy" {
		most, words = 40, "0 to 40 kJ a g"
	}
	for _, e := range []struct {
		at   *float64
		into *float64
		side string
	}{{low, &l.Min, "_min"}, {high, &l.Max, "_max"}} {
		if e.at == nil {
			continue
		}
		if !(*e.at >= 0) || *e.at > most {
			return l, rationWrong(name+e.side, "Give a limit from %s, or leave it empty.", words)
		}
		*e.into = *e.at
	}
	if l.Min > l.Max {
		return l, rationWrong(name+"_max", "At most %s and at least %s cannot both be.", shareWords(name, l.Max), shareWords(name, l.Min))
	}
	return l, nil
}

// fill writes the engine's mix of one kg eaten as a batch as bought.
func (m *FoodMix) fill(ask MixAsk, known []feed.Food, got feed.MixAnswer) {
	bought := 0.0
	for i, a := range got.Amounts {
		bought += a.Amount / eatenOf(known[i])
	}
	scale := ask.Kilos / bought
	m.PerEaten, m.Cost, m.PerKilo = got.Cost, got.Cost*scale, got.Cost/bought
	for i, a := range got.Amounts {
		kilos := a.Amount / eatenOf(known[i]) * scale
		if a.Amount < 1e-9 {
			kilos = 0 // the last digits of the solver
		}
		m.Foods = append(m.Foods, MixFood{Food: known[i], Price: ask.Foods[i].Price, Kilos: kilos, Cost: kilos * ask.Foods[i].Price, Share: a.Amount})
	}
	for _, n := range got.Needs {
		if n.Name == feed.TotalNeed {
			continue
		}
		x := MixFigure{Name: n.Name, Value: n.Value, Min: open(n.Limit.Min), Max: open(n.Limit.Max), Holds: n.Tight, Price: n.Price}
		if n.Name != "energy" {
			x.Price /= 100
		}
		food, isFood := feed.FindFood(known, n.Name)
		if isFood {
			x.Name = food.Name
			m.Limits = append(m.Limits, x)
		} else {
			m.Needs = append(m.Needs, x)
		}
		if x.Holds != "" {
			m.Sentences = append(m.Sentences, priceWords(x, n.Name, isFood))
		}
	}
	if len(m.Sentences) == 0 {
		m.Sentences = append(m.Sentences, "No limit sets the cost: this is the cheapest food alone.")
	}
}

// open is an end of a limit; nil where there is none.
func open(x float64) *float64 {
	if math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// shareWords writes a figure of a need: "14 %" or "13.5 kJ a g".
func shareWords(need string, x float64) string {
	if need == "energy" {
		return fmt.Sprintf("%.4g kJ a g", x)
	}
	return fmt.Sprintf("%.3g\u2009%%", 100*x)
}

// ShareWords is shareWords for pages.
func ShareWords(need string, x float64) string { return shareWords(need, x) }

// priceWords says what a limit that sets the cost costs.
func priceWords(x MixFigure, need string, food bool) string {
	at, end, step := "", "At least", "One in 100 more"
	switch {
	case x.Holds == "min" && x.Min != nil:
		at = shareWords(need, *x.Min)
	case x.Max != nil:
		at, end, step = shareWords(need, *x.Max), "At most", "One in 100 less"
	}
	if need == "energy" {
		step = strings.Replace(step, "One in 100", "One kJ a g", 1)
	}
	name := x.Name
	if food {
		name = strings.ToLower(name)
	}
	return fmt.Sprintf("%s %s %s sets the cost. %s would make a kilo of what is eaten %.3f dearer.", end, at, name, step, x.Price)
}

// clashWords says which wishes clash.
func clashWords(got feed.MixAnswer) []string {
	foods := feedData().foods
	var parts []string
	reach := ""
	for _, c := range got.Clashes {
		if c.Need == feed.TotalNeed {
			continue // every mix is a whole one
		}
		word, name := "at most", c.Need
		if c.Side == "min" {
			word = "at least"
		}
		f, isFood := feed.FindFood(foods, c.Need)
		if isFood {
			name = strings.ToLower(f.Name)
		}
		parts = append(parts, fmt.Sprintf("%s %s %s", word, shareWords(c.Need, c.At), name))
		if c.HasReach && reach == "" && !isFood {
			end := "least"
			if c.Side == "min" {
				end = "most"
			}
			reach = fmt.Sprintf("The %s %s that the others leave room for is %s.", end, name, shareWords(c.Need, c.Reach))
		}
	}
	switch len(parts) {
	case 0:
		return []string{got.Message}
	case 1:
		out := []string{"No mix of these foods has " + parts[0] + "."}
		if reach != "" {
			out = append(out, strings.Replace(reach, "that the others leave room for", "that they get to", 1))
		}
		return out
	}
	out := []string{"These wishes clash: " + strings.Join(parts[:len(parts)-1], ", ") + " and " + parts[len(parts)-1] + ". Any one of them must give."}
	if reach != "" {
		out = append(out, reach)
	}
	return out
}
