package advice

import (
	"errors"
	"math"
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

func rationOf(t *testing.T, d *Desk, ask RationAsk) *RationAnswer {
	t.Helper()
	a, err := d.Ration(ask)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// TestRation_AWorkedPair: two adults of 12 g need 2 x 0.73 x 10.4 x 12^0.68 = 82.27 kJ a day in a cage (Nagy 2005; Harper and Turner
// 2000), by hand; ten grams of white millet as bought are 8.2 g eaten at 14.4 kJ, and hold a tenth of what five chicks make them need.
func TestRation_AWorkedPair(t *testing.T) {
	d := zebras(t).desk("2026-01-20")
	a := rationOf(t, d, RationAsk{Phase: "rest", Adults: 2, Grams: 12, ML: map[string]float64{"white-millet": 10}, Free: []string{"cuttlebone"}})
	if a.Species.Slug != "zebra" || math.Abs(a.Analysis.Need.KJ-82.27) > 0.01 {
		t.Errorf("%s: %v kJ", a.Species.Slug, a.Analysis.Need.KJ)
	}
	// A level teaspoon of it is 3.5 g, so 10 ml are 7 g, 5.74 g of them eaten.
	kernel := 0.85 * (23.6*0.1102 + 39.5*0.0422 + 17.4*0.7285)
	if l := a.Line("energy offered"); !l.Known || math.Abs(l.Value-5.74*kernel) > 1e-9 {
		t.Errorf("%v kJ offered, want %v", l.Value, 5.74*kernel)
	}
	if l := a.Line("protein"); math.Abs(l.Value-100*0.1102*0.9/(1-0.0867)) > 1e-9 || l.Verdict != feed.Within {
		t.Errorf("protein %v, %s", l.Value, l.Verdict)
	}
	for _, n := range a.Analysis.Notes {
		if strings.Contains(n.Text, "No cuttlebone") {
			t.Error("the cuttlebone is not seen")
		}
	}
	if l := a.Line("calcium"); l.Verdict != feed.NoGuide || l.Guide.Why == "" {
		t.Errorf("%+v", l)
	}
}

// TestRation_TheProgramsPortionIsThatOfTheMorning: the page of rations and the morning's list say the same.
func TestRation_TheProgramsPortionIsThatOfTheMorning(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-12", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1}})
	d := b.desk("2026-01-20")
	f := d.Feeding(d.Room.Place(a1))
	a := rationOf(t, d, RationAsk{Phase: f.Standing.Phase.String(), Adults: 2, Grams: f.Birds.MassGrams})
	for _, it := range f.Items {
		id, _ := itemFood(it.Kind)
		for _, g := range a.Given {
			if g.ID == id && math.Abs(g.ML-it.ML) > 1e-9 {
				t.Errorf("%s: %v ml here, %v on the list", g.Name, g.ML, it.ML)
			}
		}
	}
	if a.Own || a.Analysis.Need.KJ != f.Need.KJ {
		t.Errorf("need %v here, %v on the list", a.Analysis.Need.KJ, f.Need.KJ)
	}
}

// TestRation_TheNestPeaksFromDayTwelve: chicks take most from about day 12 until a week after fledging (common practice, and Weathers
// 1992 for the sum), for every species whose fledging is known.
func TestRation_TheNestPeaksFromDayTwelve(t *testing.T) {
	d := zebras(t).desk("2026-01-20")
	for _, p := range d.Cat.All() {
		a, err := d.Ration(RationAsk{Species: p.Slug, Phase: "rearing", Adults: 2, Chicks: 4, Age: 12})
		if err != nil {
			t.Errorf("%s: %v", p.Slug, err)
			continue
		}
		g := a.Birds.Growth
		if a.PeakFrom < 8 || a.PeakFrom > 15 || math.Abs(float64(a.PeakTo)-math.Floor(min(g.FledgeDays+7, g.IndependentDays))) > 1e-9 {
			t.Errorf("%s peaks from day %d to %d; it fledges at %v", p.Slug, a.PeakFrom, a.PeakTo, g.FledgeDays)
		}
		if len(a.Days) == 0 || a.Days[0].Young >= a.Days[a.PeakFrom].Young/5 || a.Days[len(a.Days)-1].Age < int(g.IndependentDays) {
			t.Errorf("%s: %v", p.Slug, a.Days)
		}
	}
}

func TestRation_EveryPhaseIsSaid(t *testing.T) {
	d := zebras(t).desk("2026-01-20")
	a := rationOf(t, d, RationAsk{Adults: 2, Phase: "laying"})
	if len(a.Phases) != len(feed.Phases()) {
		t.Fatalf("%d phases", len(a.Phases))
	}
	for _, p := range a.Phases {
		if e := p.Line("energy offered"); !e.Known || e.Verdict != feed.Within {
			t.Errorf("%s: what the program portions offers %v kJ of %v", p.Phase, e.Value, p.Analysis.Need.KJ)
		}
		if young := p.Phase == feed.Rearing || p.Phase == feed.Weaning; young != (p.Chicks > 0) {
			t.Errorf("%s: %d chicks", p.Phase, p.Chicks)
		}
		for _, name := range []string{"protein", "fat", "calcium", "calcium to phosphorus"} {
			if l := p.Line(name); !l.Guide.Known && l.Guide.Why == "" {
				t.Errorf("%s: %s has no range and no reason", p.Phase, name)
			}
		}
	}
}

func TestRation_Refuses(t *testing.T) {
	d := zebras(t).desk("2026-01-20")
	for name, x := range map[string]struct {
		ask   RationAsk
		field string
	}{
		"species":       {RationAsk{Species: "dodo", Adults: 2}, "species"},
		"phase":         {RationAsk{Phase: "summer", Adults: 2}, "phase"},
		"nobody":        {RationAsk{}, "adults"},
		"adults":        {RationAsk{Adults: -1, Chicks: 2}, "adults"},
		"chicks":        {RationAsk{Adults: 2, Chicks: 5000}, "chicks"},
		"age":           {RationAsk{Adults: 2, Chicks: 4, Age: math.NaN()}, "age"},
		"goose":         {RationAsk{Adults: 2, Grams: 4000}, "grams"},
		"food":          {RationAsk{Adults: 2, ML: map[string]float64{"hay": 2}}, "hay"},
		"amount":        {RationAsk{Adults: 2, ML: map[string]float64{"niger": math.Inf(1)}}, "niger"},
		"spoon of bone": {RationAsk{Adults: 2, ML: map[string]float64{"cuttlebone": 2}}, "cuttlebone"},
		"free":          {RationAsk{Adults: 2, ML: map[string]float64{}, Free: []string{"hay"}}, "hay"},
	} {
		_, err := d.Ration(x.ask)
		var e *aviary.Error
		if !errors.As(err, &e) || e.Field != x.field || e.Message == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestMix_ByHand: of what is eaten, at a tenth of water, white millet holds 11.02 x 0.9/0.9133 = 10.86 % protein and dry egg food 17 %, so
// 14 % takes (14 − 10.86)/(17 − 10.86) = 0.5114 egg food. A kg of millet as bought is 0.82 x 0.9133/0.9 kg eaten.
func TestMix_ByHand(t *testing.T) {
	ask := MixAsk{
		Kilos: 5,
		Foods: []MixAskFood{{ID: "white-millet", Price: 2}, {ID: "egg-food", Price: 8}},
		Needs: []MixAskNeed{{Name: "protein", Min: ptr(0.14)}},
	}
	m, err := Mix(ask)
	if err != nil || !m.Made {
		t.Fatal(err, m)
	}
	millet := 11.02 * 0.9 / 0.9133
	egg := (14 - millet) / (17 - millet)
	perBought := 0.82 * 0.9133 / 0.9
	cost := (1-egg)/perBought*2 + egg*8
	bought := (1-egg)/perBought + egg
	if math.Abs(m.Foods[1].Share-egg) > 1e-9 || math.Abs(m.PerEaten-cost) > 1e-9 || math.Abs(m.PerKilo-cost/bought) > 1e-9 || math.Abs(m.Cost-5*cost/bought) > 1e-9 {
		t.Errorf("share %v, %v a kilo eaten, %v bought, %v; want %v, %v", m.Foods[1].Share, m.PerEaten, m.PerKilo, m.Cost, egg, cost)
	}
	if sum := m.Foods[0].Kilos + m.Foods[1].Kilos; math.Abs(sum-5) > 1e-9 {
		t.Errorf("%v kg are made", sum)
	}
	// One in 100 more moves 1/(17 − 10.86) of the mix from millet to egg food.
	price := (8 - 2/perBought) / (17 - millet)
	if n := m.Needs[0]; n.Holds != "min" || math.Abs(n.Price-price) > 1e-9 || !strings.Contains(m.Sentences[0], "At least 14\u2009% protein sets the cost") {
		t.Errorf("%+v, %q; want %v", n, m.Sentences, price)
	}
	// The price is the slope of the cost.
	ask.Needs[0].Min = ptr(0.1401)
	if next, err := Mix(ask); err != nil || math.Abs((next.PerEaten-m.PerEaten)*100-price) > 1e-6 {
		t.Errorf("%v", err)
	}
}

func TestMix_LimitsOfFoodsAndClashes(t *testing.T) {
	foods := []MixAskFood{{ID: "white-millet", Price: 2}, {ID: "egg-food", Price: 8, Max: ptr(0.2)}, {ID: "niger", Price: 3, Max: ptr(0.1)}}
	m, err := Mix(MixAsk{Kilos: 1, Foods: foods, Needs: []MixAskNeed{{Name: "protein", Min: ptr(0.13)}}})
	if err != nil || !m.Made || len(m.Limits) != 2 || m.Foods[2].Share > 0.1+1e-9 {
		t.Fatalf("%v %+v", err, m)
	}
	// Niger is the cheap protein, so its limit sets the cost.
	if !strings.Contains(strings.Join(m.Sentences, " "), "At most 10\u2009% niger sets the cost") {
		t.Errorf("%q", m.Sentences)
	}
	m, err = Mix(MixAsk{Kilos: 1, Foods: foods, Needs: []MixAskNeed{{Name: "protein", Min: ptr(0.18)}}})
	if err != nil || m.Made {
		t.Fatalf("%v %+v", err, m)
	}
	// Nine parts of egg food and one of niger hold 17.7 %, so these two clash, whatever the limit of egg food. With all limits kept, by
	// hand, 0.7 millet, 0.2 egg food and 0.1 niger hold 0.7 x 10.86 + 0.2 x 17 + 0.1 x 25.4 x 0.9/0.934 = 13.4 %.
	said := strings.Join(m.Sentences, " ")
	for _, want := range []string{"These wishes clash", "at least 18\u2009% protein", "at most 10\u2009% niger", "most protein that the others leave room for is 13.4"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q lacks %q", said, want)
		}
	}
	m, err = Mix(MixAsk{Kilos: 1, Foods: foods[:1], Needs: []MixAskNeed{{Name: "protein", Min: ptr(0.5)}}})
	if err != nil || m.Made || m.Sentences[0] != "No mix of these foods has at least 50\u2009% protein." || !strings.Contains(m.Sentences[1], "The most protein that they get to is 10.9\u2009%") {
		t.Errorf("%v %q", err, m.Sentences)
	}
}

func TestMix_Refuses(t *testing.T) {
	millet := []MixAskFood{{ID: "white-millet", Price: 2}}
	for name, x := range map[string]struct {
		ask   MixAsk
		field string
	}{
		"no food":  {MixAsk{Kilos: 1}, "foods"},
		"nothing":  {MixAsk{Foods: millet}, "kilos"},
		"strange":  {MixAsk{Kilos: 1, Foods: []MixAskFood{{ID: "hay"}}}, "hay"},
		"sprouts":  {MixAsk{Kilos: 1, Foods: []MixAskFood{{ID: "chitted-seed"}}}, "chitted-seed"},
		"twice":    {MixAsk{Kilos: 1, Foods: append(millet, millet...)}, "white-millet"},
		"price":    {MixAsk{Kilos: 1, Foods: []MixAskFood{{ID: "niger", Price: -1}}}, "niger"},
		"share":    {MixAsk{Kilos: 1, Foods: []MixAskFood{{ID: "niger", Price: 1, Max: ptr(1.2)}}}, "niger_max"},
		"crossed":  {MixAsk{Kilos: 1, Foods: millet, Needs: []MixAskNeed{{Name: "fat", Min: ptr(0.2), Max: ptr(0.1)}}}, "fat_max"},
		"negative": {MixAsk{Kilos: 1, Foods: millet, Needs: []MixAskNeed{{Name: "fat", Min: ptr(-0.2)}}}, "fat_min"},
		"unknown":  {MixAsk{Kilos: 1, Foods: millet, Needs: []MixAskNeed{{Name: "iron", Min: ptr(0.2)}}}, "iron_min"},
	} {
		_, err := Mix(x.ask)
		var e *aviary.Error
		if !errors.As(err, &e) || e.Field != x.field || e.Message == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestMix_StartsFromTheLastPrices(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-05", &aviary.StoreCounted{Food: "white-millet", Grams: 900, Price: ptr(2.0)})
	b.add("2026-01-09", &aviary.StoreCounted{Food: "White millet", Grams: 400, Price: ptr(2.4)})
	b.add("2026-01-10", &aviary.StoreCounted{Food: "white-millet", Grams: 300})
	b.add("2026-01-10", &aviary.StoreCounted{Food: "hay", Grams: 300, Price: ptr(1.0)})
	got := b.desk("2026-01-20").StorePrices()
	if len(got) != 1 || got["white-millet"] != (StorePrice{2.4, aviary.MustDate("2026-01-09")}) {
		t.Errorf("%v", got)
	}
}
