package feed

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func lineOf(t *testing.T, a Analysis, name string) Line {
	t.Helper()
	for _, l := range a.Lines {
		if l.Name == name {
			return l
		}
	}
	t.Fatalf("no line %q", name)
	return Line{}
}

// TestAnalyse_ByHand works one ration out by hand: 10 g of a food with a fifth of hull, 10 % water, 12.5 % protein, 5 % fat,
// 70 % carbohydrate, 0.02 % calcium, 0.3 % phosphorus.
func TestAnalyse_ByHand(t *testing.T) {
	f := Food{
		Name: "seed", Water: given(10), Protein: given(12.5), Fat: given(5), Carbohydrate: given(70),
		Calcium: given(0.02), Phosphorus: given(0.3), Hull: given(20),
	}
	bone, _ := FindFood(Foods(), "cuttlebone")
	a := Analyse(Laying, zebra(0, 0), []Serving{{Food: f, Grams: 10}, {Food: bone, Grams: 5, Free: true}})
	// 8 g are eaten; a gram holds 0.85·(23.6·0.125 + 39.5·0.05 + 17.4·0.70) = 14.53925 kJ.
	if got := lineOf(t, a, "energy offered").Value; math.Abs(got-8*14.53925) > 1e-9 {
		t.Errorf("energy %v, want %v", got, 8*14.53925)
	}
	if got := lineOf(t, a, "protein").Value; math.Abs(got-12.5) > 1e-9 {
		t.Errorf("protein %v %%, want 12.5", got)
	}
	if l := lineOf(t, a, "protein"); l.Verdict != Low {
		t.Errorf("protein while laying: %v", l.Verdict)
	}
	if l := lineOf(t, a, "calcium to phosphorus"); math.Abs(l.Value-1.0/15) > 1e-9 || l.Verdict != Low {
		t.Errorf("calcium to phosphorus %v, %v", l.Value, l.Verdict)
	}
	if l := lineOf(t, a, "phosphorus"); l.Verdict != NoGuide || l.Guide.Why == "" {
		t.Errorf("phosphorus: %+v", l)
	}
	text := ""
	for _, n := range a.Notes {
		text += n.Text
		if n.Level == Warn && strings.Contains(n.Text, "less energy") {
			t.Errorf("a laying pair at rest's food is warned of: %s", n.Text)
		}
	}
	if !strings.Contains(text, "cannot shell a clutch") || strings.Contains(text, "No cuttlebone") {
		t.Errorf("says %q", text)
	}
	if a := Analyse(Laying, zebra(0, 0), []Serving{{Food: f, Grams: 10}}); !strings.Contains(a.Notes[len(a.Notes)-2].Text+a.Notes[len(a.Notes)-1].Text, "No cuttlebone") {
		t.Error("calcium is not out, and nothing is said")
	}
	// The same dry food, wetted, has the same shares.
	wet := Food{Name: "wet", Water: given(55), Protein: given(6.25), Fat: given(2.5), Carbohydrate: given(35), Calcium: given(0.01), Phosphorus: given(0.15), Hull: given(20)}
	if got := lineOf(t, Analyse(Rest, zebra(0, 0), []Serving{{Food: wet, Grams: 20}}), "protein").Value; math.Abs(got-12.5) > 1e-9 {
		t.Errorf("protein of the wetted food %v, want 12.5", got)
	}
}

func TestAnalyse_SaysWhatIsNotKnown(t *testing.T) {
	f := Food{Name: "mystery", Protein: given(10), Water: given(10), Hull: given(0)}
	a := Analyse(Rest, zebra(0, 0), []Serving{{Food: f, Grams: 5}})
	for _, name := range []string{"energy offered", "fat", "calcium", "phosphorus", "calcium to phosphorus"} {
		if l := lineOf(t, a, name); l.Known || l.Verdict != Unknown || l.Value != 0 || len(l.Missing) == 0 {
			t.Errorf("%s: %+v", name, l)
		}
	}
	if l := lineOf(t, a, "protein"); !l.Known {
		t.Errorf("protein: %+v", l)
	}
	for _, a := range []Analysis{Analyse(Rest, Birds{}, nil), Analyse(Rearing, zebra(4, 12), nil)} {
		for _, l := range a.Lines {
			if math.IsNaN(l.Value) || math.IsInf(l.Value, 0) {
				t.Errorf("%s of nothing is %v", l.Name, l.Value)
			}
		}
	}
}

const goodRation = `ration,phase,adults,mass_g,chicks,chick_age_days,food,amount,unit
rest,rest,2,12,,,white-millet,8,g
,,,,,,canary-seed,1,tsp
,,,,,,cuttlebone,,free
peak,rearing,2,12,5,12,white-millet,20,g
,,,,,,chitted-seed,15,ml
,,,,,,egg-food,1,tsp
`

func TestReadRations(t *testing.T) {
	got, err := ReadRations([]byte("\uFEFF"+goodRation), Foods())
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 2 || len(got[0].Servings) != 3 || len(got[1].Servings) != 3 || got[1].Birds.Chicks != 5 {
		t.Fatalf("%+v", got)
	}
	if s := got[0].Servings[1]; s.Grams != 3.2 || !got[0].Servings[2].Free {
		t.Errorf("a teaspoon of canary seed is %v g; cuttlebone free %v", s.Grams, got[0].Servings[2].Free)
	}
	if g := got[1].Servings[0].Grams; g != 20 {
		t.Errorf("%v g", g)
	}
	// A comma as decimal point, cells parted by semicolons.
	semi, err := ReadRations([]byte("phase;mass_g;food;amount;unit\nrest;12,5;panicum;7,25;g\n"), Foods())
	if err != nil || semi[0].Birds.MassGrams != 12.5 || semi[0].Servings[0].Grams != 7.25 || semi[0].Birds.Adults != 2 {
		t.Errorf("%+v, %v", semi, err)
	}
	own, err := ReadRations([]byte("phase,mass_g,food,amount,unit,protein,fat,carbohydrate,water,calcium\nlaying,12,my mix,8,g,14,5,60,10,0.1\n"), Foods())
	if err != nil || own[0].Servings[0].Food.Protein.Value != 14 || own[0].Servings[0].Food.Phosphorus.Known {
		t.Errorf("%+v, %v", own, err)
	}
	for _, r := range got {
		rows := Analyse(r.Phase, r.Birds, r.Servings).Rows(r.Name)
		for _, row := range rows {
			if len(row) != len(RationHeader()) {
				t.Fatalf("%v", row)
			}
		}
	}
}

func TestReadRations_Refuses(t *testing.T) {
	head := "phase,mass_g,food,amount,unit\n"
	tests := []struct {
		name, file   string
		line, column int
		says         string
	}{
		{"empty", "", 1, 1, "is empty"},
		{"no lines", head, 2, 1, "no lines under it"},
		{"no column", "phase,mass_g,food,amount\nrest,12,niger,1\n", 1, 5, `no column "unit"`},
		{"strange column", "phase,mass_g,food,amount,unit,dose\nrest,12,niger,1,g,2\n", 1, 6, "not known here"},
		{"column twice", "phase,mass_g,food,food,unit\nrest,12,niger,1,g\n", 1, 4, "named twice"},
		{"phase", head + "summer,12,niger,1,g\n", 2, 1, "no feeding phase"},
		{"mass", head + "rest,12g,niger,1,g\n", 2, 2, "not a number"},
		{"no mass", head + "rest,,niger,1,g\n", 2, 2, "weight of one adult"},
		{"mass of a goose", head + "rest,4000,niger,1,g\n", 2, 2, "out of range"},
		{"food", head + "rest,12,canari,1,g\n", 2, 3, "did you mean canary-seed?"},
		{"no food", head + "rest,12,,1,g\n", 2, 3, "names no food"},
		{"amount", head + "rest,12,niger,-1,g\n", 2, 4, "out of range"},
		{"no amount", head + "rest,12,niger,,g\n", 2, 4, "no amount"},
		{"amount of what is free", head + "rest,12,cuttlebone,1,free\n", 2, 4, "no amount"},
		{"hexadecimal", head + "rest,12,niger,0x10,g\n", 2, 4, "not a number"},
		{"unit", head + "rest,12,niger,1,cup\n", 2, 5, "no unit"},
		{"teaspoon of bone", head + "rest,12,cuttlebone,1,tsp\n", 2, 5, "not known"},
		{"too many cells", head + "rest,12,niger,1,g,7\n", 2, 6, "has 6 cells"},
		{"quotation mark", head + "rest,12,\"niger,1,g\n", 2, 3, "quotation mark"},
		{"quotation mark over two lines", head + "rest,12,\"niger,1,g\nrest,12,niger,1,g\n", 2, 3, "quotation mark"},
		{"quotation mark inside", head + "rest,12,ni\"ger,1,g\n", 2, 3, "quotation mark"},
		{"not text", head + "rest,12,\xff,1,g\n", 2, 3, "UTF-8"},
		{"a null", head + "rest,12,ni\x00ger,1,g\n", 2, 1, "no text holds"},
		{"chicks without age", "phase,mass_g,chicks,food,amount,unit\nrearing,12,4,niger,1,g\n", 2, 3, "need their age"},
		{"half a chick", "phase,mass_g,chicks,chick_age_days,food,amount,unit\nrearing,12,4.5,3,niger,1,g\n", 2, 3, "whole"},
		{"more than all", "phase,mass_g,food,amount,unit,protein,fat\nrest,12,mine,1,g,80,40\n", 2, 3, "in 100 g"},
		{"two phases", head + "rest,12,niger,1,g\nmoult,12,panicum,1,g\n", 3, 1, "differs from the first line"},
		{"part of the birds", head + "rest,12,niger,1,g\nmoult,,panicum,1,g\n", 3, 1, "first line of the ration"},
	}
	for _, tt := range tests {
		_, err := ReadRations([]byte(tt.file), Foods())
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if e.Line != tt.line || e.Column != tt.column || !strings.Contains(e.Error(), tt.says) {
			t.Errorf("%s: line %d, column %d: %s", tt.name, e.Line, e.Column, e)
		}
	}
}

func TestAnalyse_TwiceTheFood(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		foods := Foods()
		var once, twice []Serving
		for range rapid.IntRange(1, 5).Draw(t, "foods") {
			f := rapid.SampledFrom(foods).Draw(t, "food")
			g := rapid.Float64Range(0.1, 30).Draw(t, "grams")
			once, twice = append(once, Serving{Food: f, Grams: g}), append(twice, Serving{Food: f, Grams: 2 * g})
		}
		p := rapid.SampledFrom(Phases()).Draw(t, "phase")
		a, b := Analyse(p, zebra(0, 0), once), Analyse(p, zebra(0, 0), twice)
		for i, l := range a.Lines {
			want := l.Value
			if strings.HasPrefix(l.Name, "energy") {
				want *= 2
			}
			if got := b.Lines[i]; got.Known != l.Known || math.Abs(got.Value-want) > 1e-9*max(1, want) {
				t.Fatalf("%s: %v, twice the food %v", l.Name, l.Value, got.Value)
			}
		}
	})
}

func FuzzReadRations(f *testing.F) {
	f.Add([]byte(goodRation))
	f.Add([]byte("phase;mass_g;food;amount;unit\nrest;12,5;panicum;7,25;g\n"))
	f.Add([]byte("phase,mass_g,food,amount,unit,protein\n\"egg food\",12,x,1,g,10\n"))
	foods := Foods()
	f.Fuzz(func(t *testing.T, raw []byte) {
		got, err := ReadRations(raw, foods)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Message == "" {
				t.Fatalf("%v is no sentence for a keeper", err)
			}
			return
		}
		for _, r := range got {
			for _, l := range Analyse(r.Phase, r.Birds, r.Servings).Lines {
				if math.IsNaN(l.Value) || math.IsInf(l.Value, 0) {
					t.Fatalf("%s is %v", l.Name, l.Value)
				}
			}
		}
	})
}
