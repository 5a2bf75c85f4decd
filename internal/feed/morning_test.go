package feed

import (
	"math"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestMorning(t *testing.T) {
	pair := Birds{Adults: 2, MassGrams: 14}
	var cages []Cage
	for i, p := range []Phase{Conditioning, Conditioning, Rest, EggFood} {
		cages = append(cages, Cage{Bank: "A", Name: strconv.Itoa(i + 1), Items: pair.Portions(p, Guard{}, larder(t))})
	}
	cages = append(cages, Cage{Bank: "B", Name: "5", Items: pair.Portions(Conditioning, Guard{}, larder(t)), Notes: (Hen{Low: true}).Look(Laying)})
	got := Morning(cages, nil)
	if len(got.Banks) != 2 || got.Banks[0].Bank != "A" {
		t.Fatalf("%+v", got.Banks)
	}
	for _, g := range got.Banks[0].Gives {
		if g.Kind == SproutedSeed && g.ML == 5 && !slices.Equal(g.Cages, []string{"1", "2"}) {
			t.Errorf("a teaspoon of sprouts at %v, want 1 and 2", g.Cages)
		}
		if g.Kind == Minerals && len(g.Cages) != 4 {
			t.Errorf("minerals at %v", g.Cages)
		}
	}
	for _, total := range got.Totals {
		if total.Kind == SproutedSeed && math.Abs(total.ML-(15+10.0/3)) > 1e-9 {
			t.Errorf("%v ml of sprouts in all, want 3 teaspoons and two thirds", total.ML)
		}
	}
	if len(got.Notes) != 1 || got.Notes[0].Level != Urgent {
		t.Errorf("the hen that is low is not on the list: %+v", got.Notes)
	}
}

func TestMorning_LosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var cages []Cage
		var want [itemKinds]float64
		for i := range rapid.IntRange(0, 12).Draw(t, "cages") {
			b := zebra(rapid.IntRange(0, 6).Draw(t, "chicks"), rapid.Float64Range(0, 30).Draw(t, "age"))
			items := b.Portions(rapid.SampledFrom(Phases()).Draw(t, "phase"), rapid.SampledFrom(Guards()).Draw(t, "guard"), larder(t))
			for _, it := range items {
				want[it.Kind] += it.ML
			}
			cages = append(cages, Cage{Bank: rapid.SampledFrom([]string{"A", "B"}).Draw(t, "bank"), Name: strconv.Itoa(i), Items: items})
		}
		got := Morning(cages, nil)
		for _, total := range got.Totals {
			if math.Abs(total.ML-want[total.Kind]) > 1e-9*max(1, want[total.Kind]) {
				t.Fatalf("%v: %v ml, want %v", total.Kind, total.ML, want[total.Kind])
			}
		}
		var listed [itemKinds]float64
		for _, b := range got.Banks {
			for _, g := range b.Gives {
				listed[g.Kind] += g.ML * float64(len(g.Cages))
			}
		}
		for k, v := range listed {
			if math.Abs(v-want[k]) > 1e-9*max(1, want[k]) {
				t.Fatalf("%v: %v ml on the list, want %v", ItemKind(k), v, want[k])
			}
		}
	})
}

func TestAmount(t *testing.T) {
	for want, got := range map[string]string{
		"½ teaspoon": Amount(2.5, 0, Teaspoons), "1 teaspoon": Amount(5, 0, Teaspoons), "1⅛ teaspoons": Amount(5.5, 0, Teaspoons),
		"20 teaspoons": Amount(100, 0, Teaspoons), "less than ⅛ teaspoon": Amount(0.1, 0, Teaspoons), "0 teaspoons": Amount(0, 0, Teaspoons),
		"3.3 ml": Amount(3.333, 0, Millilitres), "12 ml": Amount(12.4, 0, Millilitres), "3 g": Amount(0, 3, Grams),
		"1 oz": Amount(0, 28.35, Ounces), "0.25 oz": Amount(0, 7.1, Ounces), "0 g": Amount(0, math.NaN(), Grams),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestStore(t *testing.T) {
	daily := func(Day) float64 { return 100 }
	got := Store{Name: "White millet", Grams: 1000, Counted: 50, OrderDays: 4}.RunsOut(53, 60, daily)
	// Days 50 to 59 are fed; on day 60 there is none. After three days 700 g are left.
	if !got.Out || got.Last != 59 || got.OrderBy != 55 || got.Left != 700 || got.Notes != nil {
		t.Errorf("%+v", got)
	}
	got = Store{Name: "White millet", Grams: 1000, Counted: 50, OrderDays: 7}.RunsOut(53, 60, daily)
	if len(got.Notes) != 1 || got.Notes[0].Text != "White millet lasts 7 days more. Order it today." {
		t.Errorf("%+v", got)
	}
	got = Store{Name: "Niger", Grams: 100, Counted: 50}.RunsOut(60, 60, daily)
	if got.Left != 0 || len(got.Notes) != 1 || got.Last != 50 {
		t.Errorf("%+v", got)
	}
	if got := (Store{Grams: 1, Counted: 50}).RunsOut(50, 30, func(Day) float64 { return -3 }); got.Out || got.Left != 1 {
		t.Errorf("nothing is used: %+v", got)
	}
}
