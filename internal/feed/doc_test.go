package feed_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"broodlight/internal/feed"
)

// examples returns the indented blocks of the package comment that begin with a head.
func examples(t *testing.T, head string) string {
	t.Helper()
	raw, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	in := false
	for line := range strings.Lines(string(raw)) {
		text, indented := strings.CutPrefix(strings.TrimRight(line, "\n"), "//\t")
		in = indented && (in || strings.HasPrefix(text, head))
		if in {
			out = append(out, text)
		}
	}
	return strings.Join(out, "\n") + "\n"
}

func TestDoc_ExamplesAreRead(t *testing.T) {
	rations, err := feed.ReadRations([]byte(examples(t, "ration,phase,")), feed.Foods())
	if err != nil || len(rations) != 1 || len(rations[0].Servings) != 3 {
		t.Errorf("%+v, %v", rations, err)
	}
	foods, err := feed.ReadFoods([]byte(examples(t, "food,price,")))
	if err != nil {
		t.Fatal(err)
	}
	needs, err := feed.ReadNeeds([]byte(examples(t, "need,min,max")))
	if err != nil {
		t.Fatal(err)
	}
	if err := feed.CheckMix(foods, needs); err != nil {
		t.Fatal(err)
	}
	if m := feed.Mix(foods, needs); m.Status != feed.Optimal {
		t.Errorf("%+v", m)
	}
}

// A kilo of mix with at least 14 % protein: by hand, two parts canary seed to one of millet
// meet it exactly.
func ExampleMix() {
	foods := []feed.Ingredient{
		{Name: "white millet", Price: 1.90, Amount: feed.AtLeast(0), Parts: map[string]float64{"protein": 0.11}},
		{Name: "canary seed", Price: 2.10, Amount: feed.AtLeast(0), Parts: map[string]float64{"protein": 0.155}},
	}
	needs := []feed.MixNeed{
		{Name: feed.TotalNeed, Limit: feed.Limit{Min: 1, Max: 1}},
		{Name: "protein", Limit: feed.AtLeast(0.14)},
	}
	m := feed.Mix(foods, needs)
	for _, a := range m.Amounts {
		fmt.Printf("%s %.3f\n", a.Name, a.Amount)
	}
	fmt.Printf("cost %.3f\n", m.Cost)
	// Output:
	// white millet 0.333
	// canary seed 0.667
	// cost 2.033
}

func ExamplePair_Phase() {
	pair := feed.Pair{
		Conditioning: 100,
		Signs:        []feed.Sign{{Day: 119, Kind: feed.Singing}, {Day: 120, Kind: feed.Building}},
	}
	s := pair.Phase(122, feed.Season{})
	fmt.Println(s.Phase, "in week", s.Week, "- material due:", s.MaterialDue)
	// Output: egg food in week 4 - material due: true
}
