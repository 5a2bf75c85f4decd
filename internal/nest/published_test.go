package nest

import (
	"math"
	"testing"
)

// TestModel_AgainstPrint holds what the model makes of typical values and ranges against
// figures that it was not given.
func TestModel_AgainstPrint(t *testing.T) {
	profiles := mustProfiles(t)
	model := func(name string) *Model {
		p, ok := profiles[name]
		if !ok {
			t.Fatal(name)
		}
		return NewModel(p, DefaultRates())
	}
	near := func(what string, got, want, tol float64) {
		t.Helper()
		t.Logf("%-60s %.2f, in print %.2f", what, got, want)
		if math.Abs(got-want) > tol {
			t.Errorf("%s: got %.2f, in print %.2f", what, got, want)
		}
	}
	sd := func(c chances) float64 { return math.Sqrt(c.variance()) }
	// Tidemann et al. 1999, Emu 99, 191-199: clutches of wild Gouldian finches, 5.2, SD 1.3.
	near("Gouldian clutch, mean", model("Gouldian finch").clutch.mean(), 5.2, 0.05)
	near("Gouldian clutch, SD", sd(model("Gouldian finch").clutch), 1.3, 0.15)
	// van Rooij and Griffith 2011, Emu 111, 297-303: long-tailed finches, 4.66, spread 1.13.
	near("long-tailed clutch, SD", sd(model("Long-tailed finch (shaft-tail)").clutch), 1.13, 0.2)
	// The same: days to the first young out of the nest, spread 2.0; wild nests were looked
	// into some days apart, which widens it.
	near("long-tailed fledging age, SD", sd(model("Long-tailed finch (shaft-tail)").fledge), 2.0, 0.8)
	// Ikebuchi et al. 2017, Zoological Science 34: 63 chicks of 18 captive zebra finch
	// clutches hatch over 3.1 days. Days are counted from the first to the last, both in.
	zebra := model("Zebra finch")
	var span float64
	for v, w := range []float64{3: 0.5, 4: 0.5} { // 63/18 = 3.5 chicks
		if w > 0 {
			_, last := zebra.ahead(v-1, 0, 1)
			span += w * (1 + chances{0, last}.mean())
		}
	}
	near("zebra brood hatches over days", span, 3.1, 0.6)
	// "Count 17 days from the first egg, give or take one": The Bengalese Finch, a breeders'
	// rule. "Mark day 14 from the first egg; 13 and 15 to 16 happen": Lockwood and Massey,
	// Bird Scene 2017-2018, of the zebra finch.
	fromFirst := func(m *Model) float64 {
		// With no look at all: the round begins on day 0.
		began := Day(0)
		p := m.Posterior(History{Began: &began}, 0)
		return p.HatchDue().Mean() - p.Event(FirstEgg).Mean()
	}
	near("Bengalese, first egg to hatch", fromFirst(model("Bengalese (Society) finch")), 17, 1)
	near("zebra, first egg to hatch", fromFirst(zebra), 14.5, 2)
}

// TestPosterior_OverdueIsAChance: eggs that were due are looked at and none has hatched. The
// longer it lasts, the surer that none will; a chick ends it.
func TestPosterior_OverdueIsAChance(t *testing.T) {
	m := NewModel(mustProfile(t, "Gouldian finch"), DefaultRates())
	zero, five, two, three := 0, 5, 2, 3
	began := Day(-6)
	looks := []Look{{Day: 0, Minute: -1, Eggs: &zero}, {Day: 3, Minute: -1, Eggs: &two}, {Day: 8, Minute: -1, Eggs: &five}}
	before := m.Posterior(History{looks, &began}, 8)
	due, _ := before.HatchDue().Quantile(0.5)
	was := before.NoneHatches
	for _, late := range []Day{-2, 0, 2, 4, 6} {
		p := m.Posterior(History{append(looks[:3:3], Look{Day: due + late, Minute: -1, Eggs: &five, Chicks: &zero}), &began}, due+late)
		t.Logf("%+d days: overdue %.2f, none hatches %.2f, left %.2f", late, p.DueAtLook, p.NoneHatches, p.Deserted)
		if late >= 0 && p.NoneHatches < was {
			t.Errorf("%+d days: none hatches %v, was %v", late, p.NoneHatches, was)
		}
		was = p.NoneHatches
	}
	if was < 0.95 {
		t.Errorf("six days late, none hatches is only %v", was)
	}
	p := m.Posterior(History{append(looks[:3:3], Look{Day: due + 2, Minute: -1, Eggs: &two, Chicks: &three}), &began}, due+2)
	if p.NoneHatches > 1e-9 || p.DueAtLook > 1e-9 {
		t.Errorf("chicks are there: %v %v", p.NoneHatches, p.DueAtLook)
	}
}

// Eggs that another nest's looks foretell go under a pair that has none: their day of hatch
// comes from there.
func TestPosterior_FosterEggs(t *testing.T) {
	m := NewModel(mustProfile(t, "Bengalese (Society) finch"), DefaultRates())
	zero, four := 0, 4
	looks := []Look{
		{Day: 0, Minute: -1, Eggs: &zero},
		{Day: 5, Minute: -1, Eggs: &zero, EggsMovedIn: 4, EggsDue: &Window{14, 15, 17}},
		{Day: 11, Minute: -1, Eggs: &four, Fertile: 3, Clear: 1, Candled: true},
	}
	p := m.Posterior(History{Looks: looks}, 11)
	if a, b, _, ok := p.Event(Hatch).Window(0.9); !ok || a < 13 || b > 18 {
		t.Errorf("hatch %v to %v", a, b)
	}
	if p.EggsAlive.Mean() < 2 || p.EggsAlive.Mean() > 3.2 {
		t.Errorf("%v eggs alive", p.EggsAlive)
	}
	if p.Event(FirstEgg).Days != nil {
		t.Error("no egg was laid here")
	}
}
