package feed

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const (
	ozarkFoods = "food,price,protein,fibre\ncorn,0.30,0.09,0.02\nsoybean meal,0.90,0.60,0.06\n"
	ozarkNeeds = "need,min,max,of\ntotal,800,,\nprotein,0.30,,total\nfibre,,0.05,total\n"
)

func mustMix(tb testing.TB, foods, needs string) ([]Ingredient, []MixNeed) {
	tb.Helper()
	f, err := ReadFoods([]byte(foods))
	if err != nil {
		tb.Fatal(err)
	}
	n, err := ReadNeeds([]byte(needs))
	if err != nil {
		tb.Fatal(err)
	}
	if err := CheckMix(f, n); err != nil {
		tb.Fatal(err)
	}
	return f, n
}

// TestMix_Ozark is Taha, Operations Research, example 2.2-2, read from files as a keeper writes them:
// 470.6 lb corn, 329.4 lb soybean meal, $437.65 a day.
func TestMix_Ozark(t *testing.T) {
	got := Mix(mustMix(t, ozarkFoods, ozarkNeeds))
	if got.Status != Optimal || math.Abs(got.Cost-437.647058823529) > 1e-8 || got.Tied {
		t.Fatalf("%+v", got)
	}
	for i, want := range []float64{470.588235294118, 329.411764705882} {
		if math.Abs(got.Amounts[i].Amount-want) > 1e-8 {
			t.Errorf("%s: %v, want %v", got.Amounts[i].Name, got.Amounts[i].Amount, want)
		}
	}
	// 0.547 a pound more by the shadow price; protein is tight at 30 %, fibre is not.
	if n := got.Needs[0]; n.Tight != "min" || math.Abs(n.Price-0.5470588235294118) > 1e-9 {
		t.Errorf("total: %+v", n)
	}
	if n := got.Needs[1]; n.Tight != "min" || math.Abs(n.Value-0.3) > 1e-12 || math.Abs(n.Price-1.1764705882352944*800) > 1e-6 {
		t.Errorf("protein: %+v", n)
	}
	if n := got.Needs[2]; n.Tight != "" || n.Price != 0 || n.Value > 0.05 {
		t.Errorf("fibre: %+v", n)
	}
	for _, row := range got.Rows() {
		if len(row) != len(MixHeader()) {
			t.Errorf("%v", row)
		}
	}
}

const finchFoods = `food,price,min,max,protein,fat,calcium,energy
white_millet,1.9,,1,0.11,0.04,0.0005,14.2
panicum,2.3,,1,0.12,0.05,0.0006,13.9
canary_seed,2.1,,1,0.155,0.06,0.0005,14.9
niger,3.2,,1,0.21,0.38,0.0043,20.3
egg_food,8.5,,1,0.27,0.09,0.009,14.5
cuttle_grit,4.0,,1,0,0,0.36,0
`

// TestMix_Clash: a mix of these cannot hold 30 % protein; egg food alone reaches 27 %
// (status from scipy HiGHS and glpsol; the figure by hand).
func TestMix_Clash(t *testing.T) {
	got := Mix(mustMix(t, finchFoods, "need,min,max\nprotein,0.3,\ntotal,1,1\nfat,,0.5\n"))
	if got.Status != Infeasible || len(got.Clashes) != 2 {
		t.Fatalf("%+v", got)
	}
	if c := got.Clashes[0]; c.Need != "protein" || c.Side != "min" || !c.HasReach || math.Abs(c.Reach-0.27) > 1e-9 {
		t.Errorf("%+v", c)
	}
	want := "No mix of these foods meets all of these together: protein at least 0.3 and total at most 1. With the others kept, the most that protein gets to is 0.27."
	if got.Message != want {
		t.Errorf("%s", got.Message)
	}
	if len(got.Rows()) != 0 {
		t.Error("an impossible mix has lines")
	}
	// A food's own limit is named where it is at fault.
	got = Mix(mustMix(t, "food,price,max,protein\nmillet,2,0.5,0.11\nniger,3,0.1,0.2\n", "need,min,max\ntotal,1,1\n"))
	if !strings.Contains(got.Message, "millet at most 0.5") || !strings.Contains(got.Message, "niger at most 0.1") {
		t.Errorf("%s", got.Message)
	}
	got = Mix(mustMix(t, "food,price,protein\nfree,-1,0.1\n", "need,min,max\nprotein,0.1,\n"))
	if got.Status != Unbounded || !strings.Contains(got.Message, "below 0") {
		t.Errorf("%+v", got)
	}
}

// TestMix_ClashIsSmallest: the set that is named cannot be met, and can be without any one of its limits.
func TestMix_ClashIsSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"protein", "fat", "calcium"}
		// Thousandths, as on a label: figures of 1e-9 lie within the solver's tolerance.
		part := rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(0, 1000).Draw(t, "v")) / 1000 })
		var foods []Ingredient
		for i := range rapid.IntRange(1, 4).Draw(t, "foods") {
			f := Ingredient{Name: string(rune('a' + i)), Price: part.Draw(t, "price"), Amount: Limit{0, part.Draw(t, "max")}, Parts: map[string]float64{}}
			for _, n := range names {
				f.Parts[n] = part.Draw(t, n)
			}
			foods = append(foods, f)
		}
		needs := []MixNeed{{Name: TotalNeed, Limit: Limit{1, 1}}}
		for _, n := range names {
			low := part.Draw(t, "low")
			needs = append(needs, MixNeed{Name: n, Limit: Limit{low, low + part.Draw(t, "width")}, OfTotal: rapid.Bool().Draw(t, "of")})
		}
		got := Mix(foods, needs)
		if got.Status != Infeasible {
			return
		}
		if len(got.Clashes) == 0 {
			t.Fatal("nothing is named")
		}
		// Keep only what is named, less one.
		only := func(skip int) Status {
			var f []Ingredient
			for _, in := range foods {
				in.Amount = AtLeast(0)
				f = append(f, in)
			}
			var n []MixNeed
			for i, c := range got.Clashes {
				if i == skip {
					continue
				}
				l := Limit{math.Inf(-1), math.Inf(1)}
				if c.Side == "min" {
					l.Min = c.At
				} else {
					l.Max = c.At
				}
				if c.Food {
					for j := range f {
						if f[j].Name == c.Need {
							f[j].Amount = Limit{max(l.Min, 0), l.Max}
						}
					}
					continue
				}
				of := false
				for _, m := range needs {
					of = of || (m.Name == c.Need && m.OfTotal)
				}
				n = append(n, MixNeed{Name: c.Need, Limit: l, OfTotal: of})
			}
			return Mix(f, n).Status
		}
		if s := only(-1); s != Infeasible {
			t.Fatalf("what is named can be met: %s", got.Message)
		}
		for i := range got.Clashes {
			if s := only(i); s == Infeasible {
				t.Fatalf("%s is not needed for the clash: %s", got.Clashes[i].Need, got.Message)
			}
		}
	})
}

// TestMix_Laws: the mix keeps its needs; a dearer food never makes it cheaper; a food that nobody has to take changes nothing upward.
func TestMix_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		foods, needs := mustMixRapid(t)
		low := rapid.Float64Range(0.1, 0.2).Draw(t, "protein")
		needs = append(needs, MixNeed{Name: "protein", Limit: Limit{low, 1}})
		got := Mix(foods, needs)
		if got.Status != Optimal {
			t.Fatalf("%+v", got)
		}
		for _, n := range got.Needs {
			if n.Value < n.Limit.Min-1e-9 || n.Value > n.Limit.Max+1e-9 {
				t.Fatalf("%s is %v", n.Name, n.Value)
			}
		}
		i := rapid.IntRange(0, len(foods)-1).Draw(t, "food")
		dearer := append([]Ingredient(nil), foods...)
		dearer[i].Price += rapid.Float64Range(0, 5).Draw(t, "more")
		if d := Mix(dearer, needs); d.Cost < got.Cost-1e-9 {
			t.Fatalf("dearer %s: %v, was %v", foods[i].Name, d.Cost, got.Cost)
		}
	})
}

func mustMixRapid(t *rapid.T) ([]Ingredient, []MixNeed) {
	foods, err := ReadFoods([]byte(finchFoods))
	if err != nil {
		t.Fatal(err)
	}
	return foods, []MixNeed{{Name: TotalNeed, Limit: Limit{1, 1}}}
}

func TestReadMix_Refuses(t *testing.T) {
	tests := []struct {
		name, foods, needs string
		line, column       int
		says               string
	}{
		{"no price", "food,protein\nmillet,1\n", ozarkNeeds, 1, 3, `no column "price"`},
		{"price empty", "food,price,protein\nmillet,,1\n", ozarkNeeds, 2, 2, "has no price"},
		{"price in words", "food,price,protein\nmillet,cheap,1\n", ozarkNeeds, 2, 2, "not a number"},
		{"food twice", "food,price\nmillet,1\nMillet,2\n", ozarkNeeds, 3, 1, "stands twice"},
		{"limits crossed", "food,price,min,max\nmillet,1,5,2\n", ozarkNeeds, 2, 4, "cannot be"},
		{"total as a column", "food,price,total\nmillet,1,1\n", ozarkNeeds, 1, 3, "sum of all"},
		{"no name", "food,price\n,1\n", ozarkNeeds, 2, 1, "names no food"},
		{"need without limits", ozarkFoods, "need,min,max\nprotein,,\n", 2, 1, "neither min nor max"},
		{"need twice", ozarkFoods, "need,min\nprotein,1\nprotein,2\n", 3, 1, "stands twice"},
		{"need crossed", ozarkFoods, "need,min,max\nprotein,2,1\n", 2, 3, "cannot be"},
		{"of what", ozarkFoods, "need,min,max,of\nprotein,0.1,,half\n", 2, 4, "not known"},
		{"total of total", ozarkFoods, "need,min,max,of\ntotal,1,,total\n", 2, 4, "all of itself"},
		{"strange column", ozarkFoods, "need,least\nprotein,1\n", 1, 2, "not known here"},
		{"nobody has it", ozarkFoods, "need,min\niron,1\n", 2, 1, "no food has a figure"},
		{"some lack it", "food,price,protein\nmillet,1,0.1\ngrit,2,\n", "need,min\nprotein,0.1\n", 2, 1, "grit"},
	}
	for _, tt := range tests {
		foods, err := ReadFoods([]byte(tt.foods))
		if err == nil {
			var needs []MixNeed
			if needs, err = ReadNeeds([]byte(tt.needs)); err == nil {
				err = CheckMix(foods, needs)
			}
		}
		var e *Error
		if !errors.As(err, &e) || e.Line != tt.line || e.Column != tt.column || !strings.Contains(e.Error(), tt.says) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

func FuzzReadMix(f *testing.F) {
	f.Add([]byte(ozarkFoods), []byte(ozarkNeeds))
	f.Add([]byte(finchFoods), []byte("need,min,max\nprotein,0.3,\ntotal,1,1\n"))
	f.Add([]byte("food;price;p\na;1,5;2\n"), []byte("need;min\np;1,5\n"))
	f.Fuzz(func(t *testing.T, foods, needs []byte) {
		in, err := ReadFoods(foods)
		if err != nil {
			return
		}
		want, err := ReadNeeds(needs)
		if err != nil || CheckMix(in, want) != nil || len(in) > 20 || len(want) > 10 {
			return
		}
		got := Mix(in, want)
		if got.Message == "" {
			t.Fatal("nothing is said")
		}
		for _, a := range got.Amounts {
			if math.IsNaN(a.Amount) || math.IsInf(a.Amount, 0) || a.Amount < 0 {
				t.Fatalf("%+v", a)
			}
		}
	})
}
