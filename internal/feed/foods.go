package feed

import (
	"bytes"
	_ "embed" // for the composition of foods
	"encoding/json"
	"fmt"
	"strings"
)

//go:embed data/foods.json
var foodsFile []byte

// Figure is one value of a food. Where nothing sound is known, Known is false and
// the rest is empty. Low and High are the spread among sources, equal to Value where
// there is one source.
type Figure struct {
	Known            bool
	Value, Low, High float64
	Basis            Basis
	Source           string
}

// given returns a figure that the keeper wrote himself.
func given(v float64) Figure { return Figure{true, v, v, v, Derived, "your own figure"} }

// Food is the composition of one food, in g per 100 g of the part that is eaten.
type Food struct {
	ID, Name, Kind, Note string
	Water, Protein, Fat  Figure
	Carbohydrate         Figure // with fibre
	Calcium, Phosphorus  Figure
	Hull                 Figure // g of 100 g as bought that are blown off
	Teaspoon             Figure // g of a level teaspoon of 5 ml, as bought
	Energy               Figure // kJ per g that a bird can use; see Usable
}

// Kinds of food.
const (
	KindSeed    = "seed"
	KindSprouts = "sprouts"
	KindEggFood = "egg food"
	KindLive    = "live"
	KindMineral = "mineral"
)

// Heats of combustion, kJ per g: the usual round figures of calorimetry, from memory.
// A caged canary used 0.85 of them (Harper and Turner 2000).
const (
	heatProtein, heatFat, heatCarbohydrate = 23.6, 39.5, 17.4
	usableShare                            = 0.85
	usableSource                           = "heats of combustion 23.6, 39.5 and 17.4 kJ/g (from memory) times 0.85, the share that caged canaries used (Harper and Turner 2000)"
)

// Usable returns the energy that a bird can use, kJ per g of the part that is eaten: the
// figure of the food if it has one, or else what its protein, fat and carbohydrate give.
func (f Food) Usable() Figure {
	if f.Energy.Known {
		return f.Energy
	}
	if !f.Protein.Known || !f.Fat.Known || !f.Carbohydrate.Known {
		return Figure{}
	}
	sum := func(p, fat, c float64) float64 {
		return usableShare / 100 * (heatProtein*p + heatFat*fat + heatCarbohydrate*c)
	}
	v := sum(f.Protein.Value, f.Fat.Value, f.Carbohydrate.Value)
	return Figure{true, v, v, v, Derived, usableSource}
}

// EatenGrams returns how much of an amount as bought, in g, is eaten when all of it is taken.
func (f Food) EatenGrams(grams float64) float64 { return grams * (1 - f.Hull.Value/100) }

// Foods returns the foods that come with the program, in the order of the file. The
// slice and all in it are the caller's.
func Foods() []Food {
	foods, err := readFoods(foodsFile)
	if err != nil {
		panic("feed: " + err.Error())
	}
	return foods
}

// FindFood returns the food with an id or name, letters of either case.
func FindFood(foods []Food, name string) (Food, bool) {
	name = strings.TrimSpace(name)
	for _, f := range foods {
		if strings.EqualFold(f.ID, name) || strings.EqualFold(f.Name, name) {
			return f, true
		}
	}
	return Food{}, false
}

type figureJSON struct {
	Value  float64  `json:"value"`
	Low    *float64 `json:"low"`
	High   *float64 `json:"high"`
	Basis  Basis    `json:"basis"`
	Source string   `json:"source"`
}

type foodJSON struct {
	ID           string      `json:"id"`
	Name         string      `json:"name"`
	Kind         string      `json:"kind"`
	Note         string      `json:"note"`
	Water        *figureJSON `json:"water"`
	Protein      *figureJSON `json:"protein"`
	Fat          *figureJSON `json:"fat"`
	Carbohydrate *figureJSON `json:"carbohydrate"`
	Calcium      *figureJSON `json:"calcium"`
	Phosphorus   *figureJSON `json:"phosphorus"`
	Hull         *figureJSON `json:"hull"`
	Teaspoon     *figureJSON `json:"teaspoon"`
	Energy       *figureJSON `json:"energy"`
}

type foodsJSON struct {
	Sources map[string]string `json:"sources"`
	Foods   []foodJSON        `json:"foods"`
}

// readFoods reads the file of foods and refuses what it does not know.
func readFoods(raw []byte) ([]Food, error) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	var file foodsJSON
	if err := dec.Decode(&file); err != nil {
		return nil, err
	}
	used, ids := map[string]bool{}, map[string]bool{}
	var wrong error
	figure := func(food, name string, in *figureJSON) Figure {
		if in == nil {
			return Figure{}
		}
		out := Figure{true, in.Value, in.Value, in.Value, in.Basis, file.Sources[in.Source]}
		if in.Low != nil {
			out.Low = *in.Low
		}
		if in.High != nil {
			out.High = *in.High
		}
		used[in.Source] = true
		basis := in.Basis == Published || in.Basis == Derived || in.Basis == CommonPractice || in.Basis == FromMemory
		if out.Source == "" || !basis || out.Value < 0 || out.Low > out.Value || out.High < out.Value {
			wrong = fmt.Errorf("%s of %s: a source or basis is missing or the range does not hold the value", name, food)
		}
		return out
	}
	var foods []Food
	for _, in := range file.Foods {
		if in.ID == "" || in.Name == "" || ids[in.ID] {
			return nil, fmt.Errorf("food %q: the id or name is missing or used twice", in.ID)
		}
		ids[in.ID] = true
		foods = append(foods, Food{
			ID: in.ID, Name: in.Name, Kind: in.Kind, Note: in.Note,
			Water: figure(in.ID, "water", in.Water), Protein: figure(in.ID, "protein", in.Protein),
			Fat: figure(in.ID, "fat", in.Fat), Carbohydrate: figure(in.ID, "carbohydrate", in.Carbohydrate),
			Calcium: figure(in.ID, "calcium", in.Calcium), Phosphorus: figure(in.ID, "phosphorus", in.Phosphorus),
			Hull: figure(in.ID, "hull", in.Hull), Teaspoon: figure(in.ID, "teaspoon", in.Teaspoon),
			Energy: figure(in.ID, "energy", in.Energy),
		})
	}
	for id := range file.Sources {
		if !used[id] {
			return nil, fmt.Errorf("source %q is not used", id)
		}
	}
	return foods, wrong
}
