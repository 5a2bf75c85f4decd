package feed

import (
	"math"
	"strings"
	"testing"
)

// TestFoods_AddUp: no food has more than 100 g in 100 g, and every seed, sprout and egg has a usable energy.
func TestFoods_AddUp(t *testing.T) {
	kinds := map[string]bool{KindSeed: true, KindSprouts: true, KindEggFood: true, KindLive: true, KindMineral: true}
	for _, f := range Foods() {
		if !kinds[f.Kind] {
			t.Errorf("%s: kind %q", f.ID, f.Kind)
		}
		sum := f.Water.Value + f.Protein.Value + f.Fat.Value + f.Carbohydrate.Value
		if sum > 100 || (f.Kind != KindMineral && sum < 90) {
			t.Errorf("%s: water, protein, fat and carbohydrate make %v g", f.ID, sum)
		}
		if e := f.Usable(); !e.Known || (f.Kind == KindSeed && (e.Value < 12 || e.Value > 24)) {
			t.Errorf("%s: usable energy %+v", f.ID, e)
		}
		if f.Kind != KindMineral && !f.Teaspoon.Known {
			t.Errorf("%s: no weight of a teaspoon", f.ID)
		}
	}
	if f, _ := FindFood(Foods(), "cuttlebone"); f.Phosphorus.Known {
		t.Error("cuttlebone: no sound figure for phosphorus was found, yet one stands there")
	}
}

// TestUsable_SunflowerKernel compares the sum with a trial: 6,207 ± 282 kcal/kg in Goffin's
// cockatoos (Hagen research paper, total collection) for kernels of about USDA 12036.
func TestUsable_SunflowerKernel(t *testing.T) {
	kernel := Food{Protein: given(20.78), Fat: given(51.46), Carbohydrate: given(20)}
	want := 6207 * kJPerKcal / 1000
	if got := kernel.Usable().Value; math.Abs(got-want) > 0.1*want {
		t.Errorf("%v kJ/g, want %v within a tenth", got, want)
	}
}

// TestUsable_CanaryDiet: 3 to 4 g of dry matter a day held 70 kJ gross (Harper and Turner 2000), 17.5 to
// 23 kJ/g; seeds here must fall there.
func TestUsable_CanaryDiet(t *testing.T) {
	for _, id := range []string{"white-millet", "canary-seed", "panicum"} {
		f, ok := FindFood(Foods(), id)
		if !ok {
			t.Fatal(id)
		}
		gross := f.Usable().Value / usableShare / (1 - f.Water.Value/100)
		if gross < 17.5 || gross > 23.4 {
			t.Errorf("%s: %v kJ per g of dry matter", id, gross)
		}
	}
}

func TestReadFoods_Refuses(t *testing.T) {
	good := string(foodsFile)
	for name, bad := range map[string]string{
		"unknown field":     strings.Replace(good, `"kind"`, `"sort"`, 1),
		"unused source":     strings.Replace(good, `"usda-egg":`, `"other":`, 1),
		"value off range":   strings.Replace(good, `"value": 11.02`, `"value": 14`, 1),
		"unknown basis":     strings.Replace(good, `"basis": "published"`, `"basis": "hearsay"`, 1),
		"the same id twice": strings.Replace(good, `"id": "red-millet"`, `"id": "white-millet"`, 1),
		"not JSON":          "{",
	} {
		if bad == good {
			t.Fatalf("%s: nothing was changed", name)
		}
		if _, err := readFoods([]byte(bad)); err == nil {
			t.Errorf("%s: not refused", name)
		}
	}
}
