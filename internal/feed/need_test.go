package feed

import (
	"math"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func zebra(chicks int, age float64) Birds {
	return Birds{
		Adults: 2, MassGrams: 12, EggGrams: 1, EggDays: 1, Chicks: chicks, ChickAge: age,
		Growth: Chick{FledgeGrams: 11.5, FledgeDays: 20, IndependentDays: 35, AdultGrams: 12},
	}
}

// larder is the larder of the foods that come with the program.
func larder(t interface{ Fatal(args ...any) }) Larder {
	l, err := NewLarder(Foods())
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestNewLarder_Refuses(t *testing.T) {
	for i := range Foods() {
		foods := Foods()
		id := foods[i].ID
		foods = append(foods[:i], foods[i+1:]...)
		_, err := NewLarder(foods)
		if wants := id == "white-millet" || id == "chitted-seed" || id == "egg-food"; (err != nil) != wants {
			t.Errorf("without %s: %v", id, err)
		}
	}
	foods := Foods()
	foods[0].Teaspoon = Figure{}
	if _, err := NewLarder(foods); err == nil {
		t.Error("a teaspoon of no weight is not refused")
	}
}

// TestNeed_WorkedPair: a pair of 12 g with five chicks at their peak takes 262 kJ a day with adults at the
// free rate (2×56 + 5×30, by hand from Nagy 2005 and Weathers 1992), roughly three times the same pair at rest in a cage.
func TestNeed_WorkedPair(t *testing.T) {
	free := zebra(5, 14)
	free.Share = 1
	if got := free.Need(Rearing).KJ; math.Abs(got-262) > 3 {
		t.Errorf("%v kJ, want 262", got)
	}
	caged := zebra(5, 14).Need(Rearing).KJ / zebra(0, 0).Need(Rest).KJ
	if caged < 2.4 || caged > 3.3 {
		t.Errorf("the nest at its peak takes %v times the pair at rest, want about 3", caged)
	}
	// A 12 g finch out of breeding eats some 3 to 3.7 g whole seed a day (from memory).
	millet, _ := FindFood(Foods(), "white-millet")
	grams := zebra(0, 0).Need(Rest).KJ / 2 / millet.Usable().Value / millet.EatenGrams(1)
	if grams < 2.9 || grams > 3.8 {
		t.Errorf("%v g of seed a bird a day, want 3 to 3.7", grams)
	}
}

// TestNeed_LayingEatsLess: breeding pairs ate 8 % less than others (Williams and Ternan 1999).
func TestNeed_LayingEatsLess(t *testing.T) {
	rest, laying := zebra(0, 0).Need(Rest), zebra(0, 0).Need(Laying)
	if r := laying.Eaten / rest.Eaten; math.Abs(r-0.92) > 1e-12 {
		t.Errorf("eaten while laying is %v of rest, want 0.92", r)
	}
	if laying.Low > rest.Low {
		t.Errorf("a laying pair is found short at %v kJ, a resting one at %v", laying.Low, rest.Low)
	}
	if laying.Eggs <= 0 || laying.ShellCalcium < 20 {
		t.Errorf("eggs cost %v kJ and %v mg calcium", laying.Eggs, laying.ShellCalcium)
	}
}

func TestNeed_GrowsWithChicks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := zebra(rapid.IntRange(0, 8).Draw(t, "chicks"), rapid.Float64Range(0, 60).Draw(t, "age"))
		b.Share = rapid.SampledFrom([]float64{0, 0.6, 1}).Draw(t, "share")
		p := rapid.SampledFrom(Phases()).Draw(t, "phase")
		n := b.Need(p)
		for _, v := range []float64{n.KJ, n.Low, n.High, n.Eaten, n.Adults, n.Eggs, n.Young, n.ShellCalcium} {
			if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
				t.Fatalf("%+v", n)
			}
		}
		if n.Low > n.KJ || n.High < n.KJ {
			t.Fatalf("range %v to %v does not hold %v", n.Low, n.High, n.KJ)
		}
		more := b
		more.Chicks++
		if more.Need(p).KJ <= n.KJ {
			t.Fatal("one chick more needs nothing more")
		}
	})
}

// TestPortions_Practice holds the amounts of the trade (common practice, no source): a level teaspoon of
// sprouted seed a pair each morning; the mix with egg food ½ to 1 teaspoon, more sprouts than egg food.
func TestPortions_Practice(t *testing.T) {
	pair := Birds{Adults: 2, MassGrams: 14}
	if ml, _ := Sum(pair.Portions(Conditioning, Guard{}, larder(t)), SproutedSeed); ml != 5 {
		t.Errorf("conditioning: %v ml of sprouts, want a level teaspoon", ml)
	}
	if ml, _ := Sum(pair.Portions(Rest, Guard{}, larder(t)), SproutedSeed); ml != 0 {
		t.Errorf("rest: %v ml of sprouts", ml)
	}
	for _, g := range append(Guards(), Guard{}) {
		for _, p := range []Phase{EggFood, Material, Laying, Sitting, Moult} {
			items := pair.Portions(p, g, larder(t))
			sprouts, _ := Sum(items, SproutedSeed)
			egg, _ := Sum(items, SoftEggFood)
			if mix := sprouts + egg; mix < 2.5-1e-9 || mix > 5+1e-9 || sprouts <= egg {
				t.Errorf("%s, %v: %v ml sprouts and %v ml egg food", g.Species, p, sprouts, egg)
			}
			if g.Glutton && sprouts+egg > 2.5+1e-9 {
				t.Errorf("%s, %v: %v ml is above the ceiling", g.Species, p, sprouts+egg)
			}
		}
	}
	if egg, _ := Sum(pair.Portions(Sitting, FindGuard(Guards(), "gouldian"), larder(t)), SoftEggFood); egg != 0 {
		t.Errorf("sitting Gouldians get %v ml egg food", egg)
	}
	for _, p := range Phases() {
		free := false
		for _, it := range pair.Portions(p, Guard{}, larder(t)) {
			free = free || (it.Kind == Minerals && it.Free)
		}
		if !free {
			t.Errorf("%v: calcium is not out", p)
		}
	}
	one := Birds{Adults: 1, MassGrams: 14}
	if ml, _ := Sum(one.Portions(Conditioning, Guard{}, larder(t)), SproutedSeed); ml != 2.5 {
		t.Errorf("one bird: %v ml", ml)
	}
}

func TestPortions_RearingScales(t *testing.T) {
	soft := func(chicks int, age float64) float64 {
		items := zebra(chicks, age).Portions(Rearing, Guard{}, larder(t))
		a, _ := Sum(items, SproutedSeed)
		b, _ := Sum(items, SoftEggFood)
		return a + b
	}
	if soft(5, 6) <= soft(2, 6) || soft(4, 6) <= soft(4, 1) {
		t.Errorf("soft food does not grow with chicks (%v, %v) or age (%v, %v)", soft(2, 6), soft(5, 6), soft(4, 1), soft(4, 6))
	}
	if s := soft(5, 8); s < 7 || s > 30 {
		t.Errorf("five chicks of day 8 get %v ml, want 2 to 5 teaspoons", s)
	}
	// What is offered covers the need with something for what is spilt.
	rapid.Check(t, func(t *rapid.T) {
		b := zebra(rapid.IntRange(0, 7).Draw(t, "chicks"), rapid.Float64Range(0, 40).Draw(t, "age"))
		p := rapid.SampledFrom(Phases()).Draw(t, "phase")
		foods := Foods()
		var kJ float64
		for kind, id := range map[ItemKind]string{DrySeed: "white-millet", SproutedSeed: "chitted-seed", SoftEggFood: "egg-food"} {
			f, _ := FindFood(foods, id)
			_, g := Sum(b.Portions(p, Guard{}, larder(t)), kind)
			kJ += f.EatenGrams(g) * f.Usable().Value
		}
		if need := b.Need(p).KJ; kJ < need*1.29 || kJ > need*2.2 {
			t.Fatalf("%v: %v kJ offered for %v", p, kJ, need)
		}
	})
}

func TestGuards_NameSpeciesThatAreThere(t *testing.T) {
	for _, g := range Guards() {
		if _, err := os.Stat("../species/data/" + g.Species + ".json"); err != nil {
			t.Errorf("guard of %q: no such species", g.Species)
		}
	}
	if g := FindGuard(Guards(), "zebra"); g.Glutton || g.Species != "zebra" {
		t.Errorf("zebra: %+v", g)
	}
	for _, bad := range []string{"{", `[{"species":"x"}]`, `[{"species":"x","greed":"some","why":"a","source":"b","dose":"1"}]`} {
		if _, err := readGuards([]byte(bad)); err == nil {
			t.Errorf("%s: not refused", bad)
		}
	}
}

func TestJudgeWeight(t *testing.T) {
	own := []Weighing{{10, 16}, {17, 16.2}, {24, 15.8}, {31, 16.1}}
	last := func(day Day, g float64) []Weighing { return append(append([]Weighing(nil), own...), Weighing{day, g}) }
	gouldian := Range{12, 15}
	tests := []struct {
		name    string
		weights []Weighing
		gravid  bool
		want    WeightVerdict
		level   Level
		base    bool
	}{
		{"nothing weighed", nil, false, WeightUnknown, Info, false},
		{"heavy by the species, fine by its own", last(80, 16.3), false, WeightFine, Info, true},
		{"a tenth lost, within the species", last(80, 14.2), false, Thin, Warn, true},
		{"a fifth lost", last(80, 12.5), false, Thin, Urgent, true},
		{"grown fat", last(80, 19), false, Fat, Warn, true},
		{"about to lay", last(80, 19), true, WeightFine, Info, true},
		{"first weighing, above the species", []Weighing{{80, 16}}, false, Fat, Info, false},
		{"first weighing, laying", []Weighing{{80, 16}}, true, WeightFine, Info, false},
		{"first weighing, below", []Weighing{{80, 11}}, false, Thin, Info, false},
		{"a slip of the pen is left out", []Weighing{{79, 14}, {80, 0}}, false, WeightFine, Info, false},
	}
	for _, tt := range tests {
		got := JudgeWeight(tt.weights, gouldian, 90, tt.gravid)
		top := Info
		for _, n := range got.Notes {
			top = max(top, n.Level)
		}
		if got.Verdict != tt.want || top != tt.level || (got.Baseline > 0) != tt.base {
			t.Errorf("%s: %v, %v, baseline %v", tt.name, got.Verdict, top, got.Baseline)
		}
	}
	// A slow loss is not hidden by the light weeks before it: the baseline is older.
	slow := append(last(66, 14.6), Weighing{69, 14.5}, Weighing{72, 14.4}, Weighing{75, 14.3}, Weighing{80, 14.2})
	if got := JudgeWeight(slow, gouldian, 90, false); got.Verdict != Thin || got.Baseline != 16.05 {
		t.Errorf("slow loss: %v against %v", got.Verdict, got.Baseline)
	}
	if got := JudgeWeight([]Weighing{{80, 16}}, Range{}, 90, false); got.Verdict != WeightUnknown {
		t.Errorf("neither own weights nor a species: %v", got.Verdict)
	}
	// Half a gram a week, and one slip of the scale among them.
	falling := []Weighing{{50, 16}, {57, 15.5}, {64, 25}, {71, 14.5}, {78, 14}}
	if got := JudgeWeight(falling, gouldian, 90, false); math.Abs(got.PerWeek+0.5) > 1e-9 {
		t.Errorf("trend %v g a week, want -0.5", got.PerWeek)
	}
}

// TestTexts_NoDose: no text of the package measures out a medicine or supplement.
func TestTexts_NoDose(t *testing.T) {
	var all []string
	for _, c := range Cautions() {
		all = append(all, c.Text)
		if c.Key == "" || c.Title == "" || c.Source == "" {
			t.Errorf("%+v: something is missing", c)
		}
	}
	for _, p := range Phases() {
		for _, n := range (Hen{Low: true}).Look(p) {
			all = append(all, n.Text)
		}
		for _, it := range zebra(3, 5).Portions(p, Guard{}, larder(t)) {
			all = append(all, it.Note)
		}
	}
	for _, text := range all {
		for _, word := range []string{"mg/kg", "bleach", "disinfect", "drops of", "vitamin d", "tablet", "per litre"} {
			if strings.Contains(strings.ToLower(text), word) {
				t.Errorf("%q holds %q", text, word)
			}
		}
	}
}
