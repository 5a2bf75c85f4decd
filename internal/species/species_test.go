package species

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func num(x float64) *float64 { return &x }

func TestAll_EighteenSpeciesInOrder(t *testing.T) {
	all := All()
	if got, want := len(all), 18; got != want {
		t.Fatalf("got %d species, want %d", got, want)
	}
	var slugs []string
	for _, p := range all {
		slugs = append(slugs, p.Slug)
	}
	want := []string{
		"firetail", "gouldian", "longtail", "masked", "owl", "painted", "parson", "star", "zebra",
		"blue-faced", "red-throated", "tricoloured",
		"bengalese", "java", "avadavat",
		"dybowski", "orange-cheek", "cordon-bleu",
	}
	if d := cmp.Diff(want, slugs); d != "" {
		t.Errorf("order (-want +got):\n%s", d)
	}
	all[0] = nil
	if All()[0] == nil {
		t.Error("changing the slice changed the catalogue")
	}
}

func TestAll_EverySpeciesHasWhatASeasonNeeds(t *testing.T) {
	needed := []Parameter{
		ClutchSize, LayingInterval, IncubationStartsAtEgg, IncubationPeriod, CandlingAge,
		NightBroodingStopsAge, FledgingAge, IndependenceAge, MaxClutchesPerSeason,
		ClosedRingAge, ClosedRingInnerDiameter, MinBreedingAgeCock, MinBreedingAgeHen,
		UpperProductiveAgeHen, AdultMass, JuvenileMoultStartAge, JuvenileMoultDoneAge,
	}
	for _, p := range All() {
		for _, param := range needed {
			v, ok := p.Value(param)
			if !ok {
				t.Errorf("%s: %s is absent", p.Slug, param)
				continue
			}
			low, typical, high, ok := v.Span()
			if !ok || low > typical || typical > high || low <= 0 {
				t.Errorf("%s: %s: span %v %v %v %v", p.Slug, param, low, typical, high, ok)
			}
		}
		if n := utf8.RuneCountInString(p.Short); n < 1 || n > 11 {
			t.Errorf("%s: short name %q has %d letters", p.Slug, p.Short, n)
		}
	}
}

// The order of a chick's life is a fact of nature, whatever the source of each age.
func TestAll_AgesFollowOneAnother(t *testing.T) {
	order := []Parameter{ClosedRingAge, FledgingAge, IndependenceAge, JuvenileMoultDoneAge}
	for _, p := range All() {
		for i := 1; i < len(order); i++ {
			_, a, _, _ := p.Values[order[i-1]].Span()
			_, b, _, _ := p.Values[order[i]].Span()
			if a >= b {
				t.Errorf("%s: %s at %v is not before %s at %v", p.Slug, order[i-1], a, order[i], b)
			}
		}
		_, candle, _, _ := p.Values[CandlingAge].Span()
		low, _, _, _ := p.Values[IncubationPeriod].Span()
		if candle >= low {
			t.Errorf("%s: candling on day %v is not before hatching on day %v", p.Slug, candle, low)
		}
		south, _ := p.Value(LatitudeMin)
		north, _ := p.Value(LatitudeMax)
		mid, _ := p.Value(LatitudeCentroid)
		if !(*south.Typical <= *mid.Typical && *mid.Typical <= *north.Typical) {
			t.Errorf("%s: latitudes %v %v %v", p.Slug, south, mid, north)
		}
	}
}

func TestAll_EveryValueHasBasisAndSource(t *testing.T) {
	counts := map[Basis]int{}
	for _, p := range All() {
		for param, v := range p.Values {
			counts[v.Basis]++
			if err := checkSource(v.Basis, v.Source); err != nil {
				t.Errorf("%s: %s: %v", p.Slug, param, err)
			}
			if v.String() == "" {
				t.Errorf("%s: %s shows nothing", p.Slug, param)
			}
		}
	}
	for _, b := range []Basis{Published, CommonPractice, FromMemory, Derived} {
		if counts[b] == 0 {
			t.Errorf("no value has basis %s", b)
		}
	}
	for _, p := range All() {
		for _, param := range []Parameter{EggLengthDerived, EggBreadthDerived, NaturalDaylength} {
			if v, ok := p.Value(param); ok && v.Basis != Derived {
				t.Errorf("%s: %s has basis %s, want derived", p.Slug, param, v.Basis)
			}
		}
	}
}

// A blank stays absent: where nothing reliable was found there is no value, not 0.
func TestValue_BlankIsAbsent(t *testing.T) {
	for _, c := range []struct {
		slug  string
		param Parameter
	}{
		{"gouldian", EggBreadth},
		{"gouldian", Fertility},
		{"masked", FreshEggMass},
		{"dybowski", EggLength},
		{"star", SplitRingInnerDiameter},
		{"masked", EggLengthDerived},
	} {
		if v, ok := BySlug(c.slug).Value(c.param); ok {
			t.Errorf("%s: %s is %v, want absent", c.slug, c.param, v)
		}
	}
	v, ok := BySlug("owl").Value(VisualSexingAge)
	if !ok || v.Typical != nil || v.Text == "" {
		t.Errorf("owl: sexing by eye is %+v, want words without a figure", v)
	}
	if v, _ := BySlug("gouldian").Value(LayingInterval); v.Low != nil {
		t.Errorf("gouldian: laying interval has low %v, want none", *v.Low)
	}
}

// Egg sizes that are worked out: mass = 0.548·L·B² and L/B = 1.326 (Hoyt 1979, Auk 96:73;
// ratio from Stoddard et al. 2017). Lengths are in cm there; figures have one decimal in mm.
func TestDerivedEggSize_FollowsHoyt(t *testing.T) {
	checked := 0
	for _, p := range All() {
		l, ok := p.Value(EggLengthDerived)
		if !ok {
			continue
		}
		checked++
		b := p.Values[EggBreadthDerived]
		mass := *p.Values[FreshEggMass].Typical
		wantB := 10 * math.Cbrt(mass/(0.548*1.326))
		if math.Abs(*b.Typical-wantB) > 0.06 || math.Abs(*l.Typical-1.326*wantB) > 0.08 {
			t.Errorf("%s: got %v × %v, want %.2f × %.2f mm", p.Slug, l, b, 1.326*wantB, wantB)
		}
	}
	if checked != 14 {
		t.Errorf("checked %d species, want 14", checked)
	}
	// Worked check with measured eggs (Stoddard et al. 2017): a Java sparrow's egg of
	// 18.8 × 13.6 mm weighs 1.89 g by Hoyt, against 1.83 g listed by Myhrvold et al. 2015.
	j := BySlug("java")
	byHoyt := 0.548 * *j.Values[EggLength].Typical / 10 * math.Pow(*j.Values[EggBreadth].Typical/10, 2)
	if got, want := byHoyt, *j.Values[FreshEggMass].Typical; math.Abs(got-want) > 0.08 {
		t.Errorf("java: got %.3f g, want %.3f g", got, want)
	}
}

// Day length at the solstices from the latitude in the same file: the hour angle of the
// sun at −0.833° with a declination of ±23.44° (the standard sunrise equation).
func TestNaturalDaylength_FollowsLatitude(t *testing.T) {
	hours := func(latitude, declination float64) float64 {
		rad := math.Pi / 180
		c := (math.Sin(-0.833*rad) - math.Sin(latitude*rad)*math.Sin(declination*rad)) /
			(math.Cos(latitude*rad) * math.Cos(declination*rad))
		return 2 * math.Acos(c) / (15 * rad)
	}
	for _, p := range All() {
		v := p.Values[NaturalDaylength]
		lat := *p.Values[LatitudeCentroid].Typical
		a, b := hours(lat, 23.44), hours(lat, -23.44)
		if math.Abs(*v.Low-min(a, b)) > 0.06 || math.Abs(*v.High-max(a, b)) > 0.06 {
			t.Errorf("%s: got %v, want %.2f–%.2f hours", p.Slug, v, min(a, b), max(a, b))
		}
	}
}

func TestTraits_SayWhatTheKeeperReckonsWith(t *testing.T) {
	for _, c := range []struct {
		slug                 string
		quarrelsome, glutton Answer
	}{
		{"parson", Yes, Some},
		{"bengalese", No, Low},
		{"orange-cheek", Unknown, Some},
		{"firetail", Yes, Yes},
		{"dybowski", Yes, Yes},
		{"gouldian", Yes, Moderate},
	} {
		p := BySlug(c.slug)
		if p.QuarrelsomeCocks.Answer != c.quarrelsome || p.Glutton.Answer != c.glutton {
			t.Errorf("%s: got %s and %s, want %s and %s", c.slug, p.QuarrelsomeCocks.Answer, p.Glutton.Answer, c.quarrelsome, c.glutton)
		}
	}
	for _, c := range []struct {
		answer       Answer
		holds, known bool
	}{{Yes, true, true}, {Moderate, true, true}, {Some, false, true}, {Low, false, true}, {No, false, true}, {Unknown, false, false}} {
		holds, known := Trait{Answer: c.answer}.Holds()
		if holds != c.holds || known != c.known {
			t.Errorf("%s: got %v %v, want %v %v", c.answer, holds, known, c.holds, c.known)
		}
	}
}

func TestGroup_SpeciesStandWithTheirKind(t *testing.T) {
	for slug, want := range map[string]Group{
		"java": AsianMunia, "bengalese": AsianMunia, "avadavat": AsianMunia,
		"gouldian": AustralianGrassfinch, "painted": AustralianGrassfinch,
		"tricoloured": Parrotfinch, "cordon-bleu": AfricanWaxbill,
	} {
		if got := BySlug(slug).Group; got != want {
			t.Errorf("%s: got %s, want %s", slug, got, want)
		}
	}
	for _, g := range Groups() {
		if g.Label() == string(g) {
			t.Errorf("%s has no label", g)
		}
	}
	for _, b := range []Basis{Published, CommonPractice, FromMemory, Derived, OwnRoom} {
		if strings.Contains(b.Label(), "-") {
			t.Errorf("%s is shown as %q", b, b.Label())
		}
	}
}

func TestFind(t *testing.T) {
	for name, want := range map[string]string{
		"gouldian": "gouldian", "GOULDIAN FINCH": "gouldian", "  lady  gouldian finch": "gouldian",
		"Chloebia gouldiae": "gouldian", "erythrura gouldiae": "gouldian",
		"society finch": "bengalese", "Society Finch": "bengalese", "societyfinch": "bengalese",
		"Taeniopygia guttata": "zebra", "padda oryzivora": "java", "Dybowskis twinspot": "dybowski",
		"red cheeked cordon bleu": "cordon-bleu", "Forbes’ parrotfinch": "tricoloured",
		"strawberry finch": "avadavat", "shaft-tail": "longtail", "Double-barred finch": "owl",
	} {
		p, err := Find(name)
		if err != nil {
			t.Errorf("%q: %v", name, err)
		} else if p.Slug != want {
			t.Errorf("%q: got %s, want %s", name, p.Slug, want)
		}
	}
	for name, want := range map[string]string{
		"":           "Write the name of a species, for example “zebra” or “Gouldian finch”.",
		"gouldan":    "No species here is called “gouldan”. Did you mean Gouldian finch?",
		"zebar":      "No species here is called “zebar”. Did you mean Zebra finch?",
		"parrot":     "No species here is called “parrot”. Did you mean Blue-faced parrotfinch, Red-throated parrotfinch or Tricoloured parrotfinch?",
		"qqqqqqqqqq": "No species here is called “qqqqqqqqqq”. Choose one from the list of species.",
		"12":         "No species here is called “12”. Choose one from the list of species.",
	} {
		_, err := Find(name)
		var unknown *UnknownError
		if !errors.As(err, &unknown) {
			t.Errorf("%q: got %v, want an UnknownError", name, err)
		} else if err.Error() != want {
			t.Errorf("%q:\n got %s\nwant %s", name, err, want)
		}
	}
	if BySlug("canary") != nil || BySlug("Zebra") != nil {
		t.Error("an unknown slug found a species")
	}
}

func TestFind_EveryNameFindsItsSpecies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(All()).Draw(t, "species")
		name := rapid.SampledFrom(p.Names()).Draw(t, "name")
		// Change the case and the spacing as a hasty hand does.
		var b strings.Builder
		for _, r := range name {
			if rapid.Bool().Draw(t, "upper") {
				b.WriteString(strings.ToUpper(string(r)))
			} else {
				b.WriteString(strings.ToLower(string(r)))
			}
			b.WriteString(strings.Repeat(" ", rapid.IntRange(0, 2).Draw(t, "spaces")))
		}
		got, err := Find(b.String())
		if err != nil || got != p {
			t.Fatalf("%q: got %v, %v, want %s", b.String(), got, err, p.Slug)
		}
	})
}

func FuzzFind(f *testing.F) {
	for _, s := range []string{"", "zebra", "Gouldian finch", "\xff\xfe", "é", strings.Repeat("finch ", 5000), "'", "İ"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		p, err := Find(name)
		if (p == nil) == (err == nil) {
			t.Fatalf("got %v and %v", p, err)
		}
		if err != nil {
			s := err.Error()
			if !utf8.ValidString(s) || len(s) > 600 || !strings.ContainsAny(s[len(s)-1:], ".?") {
				t.Fatalf("not a sentence: %q", s)
			}
		}
	})
}

func TestValue_String(t *testing.T) {
	for _, c := range []struct {
		v    Value
		want string
	}{
		{Value{Low: num(12), Typical: num(14), High: num(16), Unit: Days}, "14 (12–16) days"},
		{Value{Typical: num(1.44), Unit: Grams}, "1.44 g"},
		{Value{Low: num(11.2), High: num(13.1), Unit: Hours}, "11.2–13.1 hours"},
		{Value{Typical: num(1), High: num(2), Unit: DaysPerEgg}, "1 (up to 2) days an egg"},
		{Value{Low: num(2), Typical: num(4), High: num(5), Unit: EggNumber}, "egg 4 (2–5)"},
		{Value{Typical: num(1), Unit: Days}, "1 day"},
		{Value{Low: num(1), Typical: num(1), High: num(1), Unit: Clutches}, "1 clutch"},
		{Value{Typical: num(-15.85), Unit: Degrees}, "−15.85°"},
		{Value{Low: num(-18), High: num(3), Unit: Degrees}, "−18 to 3°"},
		{Value{Low: num(75), Typical: num(83), High: num(95), Unit: Percent}, "83 (75–95) in 100"},
		{Value{Low: num(3), Unit: Years}, "from 3 years"},
		{Value{High: num(3), Unit: Months}, "up to 3 months"},
		{Value{Low: num(2), Typical: num(3), Unit: Eggs}, "3 (from 2) eggs"},
		{Value{Text: "not needed", Unit: Words}, "not needed"},
	} {
		if got := c.v.String(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestValue_Span(t *testing.T) {
	for _, c := range []struct {
		v                  Value
		low, typical, high float64
		ok                 bool
	}{
		{Value{Low: num(12), Typical: num(14), High: num(16)}, 12, 14, 16, true},
		{Value{Low: num(12), High: num(16)}, 12, 14, 16, true},
		{Value{Typical: num(14)}, 14, 14, 14, true},
		{Value{Typical: num(1), High: num(2)}, 1, 1, 2, true},
		{Value{Low: num(3)}, 3, 3, 3, true},
		{Value{High: num(3)}, 3, 3, 3, true},
		{Value{Text: "words"}, 0, 0, 0, false},
	} {
		low, typical, high, ok := c.v.Span()
		if low != c.low || typical != c.typical || high != c.high || ok != c.ok {
			t.Errorf("%v: got %v %v %v %v", c.v, low, typical, high, ok)
		}
	}
}

func TestDescribe_EveryConstantAndNothingElse(t *testing.T) {
	constants := []Parameter{
		ClutchSize, LayingInterval, IncubationStartsAtEgg, IncubationPeriod, CandlingAge,
		NightBroodingStopsAge, FledgingAge, IndependenceAge, MaxClutchesPerSeason,
		ClosedRingAge, ClosedRingInnerDiameter, SplitRingInnerDiameter,
		JuvenileMoultStartAge, JuvenileMoultDoneAge, VisualSexingAge, MinBreedingAgeCock,
		MinBreedingAgeHen, UpperProductiveAgeHen, AdultMass, FreshEggMass, EggLength,
		EggBreadth, EggLengthDerived, EggBreadthDerived, Fertility, Hatchability,
		NestlingMortality, IncubationSharing, NestFailureNotes, PublishedOutcomes,
		SoftFoodOvereating, LiveFoodNeed, CageLengthPerPair, CageDepthPerPair,
		CageHeightPerPair, LatitudeMin, LatitudeMax, LatitudeCentroid, NaturalDaylength,
		CITESStatus,
	}
	if d := cmp.Diff(constants, Parameters()); d != "" {
		t.Errorf("constants and parameters.json (-want +got):\n%s", d)
	}
	for _, param := range Parameters() {
		info, ok := Describe(param)
		if !ok || !strings.HasSuffix(info.Explains, ".") || strings.HasSuffix(info.Label, ".") {
			t.Errorf("%s: %+v", param, info)
		}
		used := slices.ContainsFunc(All(), func(p *Profile) bool { _, ok := p.Value(param); return ok })
		if !used {
			t.Errorf("%s is known of no species", param)
		}
	}
	if _, ok := Describe("wing_length"); ok {
		t.Error("described a parameter that is not there")
	}
}

func TestCheckOverride(t *testing.T) {
	nan, inf := num(math.NaN()), num(math.Inf(1))
	for _, c := range []struct {
		param              Parameter
		low, typical, high *float64
		want               string // "" when the figures can stand
	}{
		{IncubationPeriod, num(12), num(13), num(15), ""},
		{IncubationPeriod, nil, num(13), nil, ""},
		{ClosedRingInnerDiameter, nil, num(2.7), nil, ""},
		{LatitudeMin, nil, num(-30), nil, ""},
		{Fertility, num(0), nil, num(100), ""},
		{IncubationPeriod, num(15), num(13), nil, "Sitting: the low figure, 15, is above the typical one, 13."},
		{IncubationPeriod, nil, num(16), num(15), "Sitting: the typical figure, 16, is above the high one, 15."},
		{IncubationPeriod, num(16), nil, num(15), "Sitting: the low figure, 16, is above the high one, 15."},
		{IncubationPeriod, nil, num(140), nil, "Sitting: 140 cannot be right for the typical figure; write one in the range 7–30 days."},
		{AdultMass, num(-1), nil, nil, "Adult weight: −1 cannot be right for the low figure; write one in the range 4–60 g."},
		{IncubationPeriod, nan, nil, nil, "Sitting: the low figure is not a number."},
		{IncubationPeriod, nil, nil, inf, "Sitting: the high figure is not a number."},
		{IncubationPeriod, nil, nil, nil, "Sitting: write at least one figure."},
		{LiveFoodNeed, nil, num(1), nil, "Live food is told in words and takes no figure."},
		{"wing_length", nil, num(1), nil, "There is nothing called “wing_length” to set for a species."},
	} {
		err := CheckOverride(c.param, c.low, c.typical, c.high)
		got := ""
		if err != nil {
			got = err.Error()
			var oe *OverrideError
			if !errors.As(err, &oe) || oe.Parameter != c.param {
				t.Errorf("%s: got %#v, want an OverrideError at the field", c.param, err)
			}
		}
		if got != c.want {
			t.Errorf("%s:\n got %q\nwant %q", c.param, got, c.want)
		}
	}
}

// What the profiles say must itself be allowed, or the settings page would refuse it.
func TestCheckOverride_AllowsEveryProfileValue(t *testing.T) {
	for _, p := range All() {
		for param, v := range p.Values {
			if _, _, _, ok := v.Span(); !ok {
				continue
			}
			if err := CheckOverride(param, v.Low, v.Typical, v.High); err != nil {
				t.Errorf("%s: %v", p.Slug, err)
			}
		}
	}
}

func TestCatalogue_OwnFigures(t *testing.T) {
	c, err := NewCatalogue(Overrides{
		"zebra": {
			IncubationPeriod: {Typical: num(13), By: "keeper", Day: "13 Jan 2027"},
			EggBreadth:       {Low: num(11), Typical: num(11.5), High: num(12)},
		},
		"gouldian": {EggBreadth: {Typical: num(12.9), By: "keeper"}},
	})
	if err != nil {
		t.Fatal(err)
	}
	v, _ := c.BySlug("zebra").Value(IncubationPeriod)
	if got, want := v.String(), "13 (12–16) days"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if v.Basis != OwnRoom || v.Source != "own room, by keeper, 13 Jan 2027" {
		t.Errorf("got %q, %q", v.Basis, v.Source)
	}
	if v.Replaces == nil || v.Replaces.String() != "14 (12–16) days" || v.Replaces.Basis != Published {
		t.Errorf("replaces %+v, want the profile's own value", v.Replaces)
	}
	if v, _ := c.BySlug("gouldian").Value(EggBreadth); v.String() != "12.9 mm" || v.Replaces != nil {
		t.Errorf("got %v over %v, want 12.9 mm over nothing", v, v.Replaces)
	}
	if v, _ := BySlug("zebra").Value(IncubationPeriod); v.Basis != Published {
		t.Error("the embedded profile was changed")
	}
	p, err := c.Find("Taeniopygia castanotis")
	if err != nil || p != c.BySlug("zebra") || p == BySlug("zebra") {
		t.Errorf("got %v, %v", p, err)
	}
	if len(c.All()) != len(All()) || c.BySlug("owl") != BySlug("owl") {
		t.Error("species without own figures are not the same")
	}
	none, err := NewCatalogue(nil)
	if err != nil || len(none.All()) != len(All()) {
		t.Errorf("no overrides: %v", err)
	}
}

func TestCatalogue_LeavesOutWhatCannotStand(t *testing.T) {
	c, err := NewCatalogue(Overrides{
		"canary": {IncubationPeriod: {Typical: num(13)}},
		"zebra": {
			IncubationPeriod: {Typical: num(130)},
			FledgingAge:      {Typical: num(19)},
		},
	})
	want := "Your own figures for “canary” were left out: there is no such species here.\n" +
		"Zebra finch: your own figure was left out. Sitting: 130 cannot be right for the typical figure; write one in the range 7–30 days."
	if err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
	if v, _ := c.BySlug("zebra").Value(IncubationPeriod); v.Basis != Published {
		t.Errorf("a refused figure was taken: %v", v)
	}
	if v, _ := c.BySlug("zebra").Value(FledgingAge); v.Basis != OwnRoom || *v.Typical != 19 {
		t.Errorf("got %v, want 19", v)
	}
}

// Whatever the keeper sets, low <= typical <= high holds after, and his own figures stand.
func TestCatalogue_OrderHoldsAndOwnFiguresStand(t *testing.T) {
	var params []Parameter
	for _, param := range Parameters() {
		if info, _ := Describe(param); info.Unit != Words {
			params = append(params, param)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		param := rapid.SampledFrom(params).Draw(t, "parameter")
		slug := rapid.SampledFrom(All()).Draw(t, "species").Slug
		info, _ := Describe(param)
		draw := func(name string) *float64 {
			if rapid.Bool().Draw(t, name+" given") {
				return num(rapid.Float64Range(info.Least, info.Most).Draw(t, name))
			}
			return nil
		}
		o := Override{Low: draw("low"), Typical: draw("typical"), High: draw("high")}
		c, err := NewCatalogue(Overrides{slug: {param: o}})
		if CheckOverride(param, o.Low, o.Typical, o.High) != nil {
			if err == nil {
				t.Fatal("a refused figure raised no error")
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		v, ok := c.BySlug(slug).Value(param)
		if !ok || v.Basis != OwnRoom || v.Unit != info.Unit {
			t.Fatalf("got %+v", v)
		}
		for _, pair := range [][2]*float64{{o.Low, v.Low}, {o.Typical, v.Typical}, {o.High, v.High}} {
			if pair[0] != nil && (pair[1] == nil || *pair[0] != *pair[1]) {
				t.Fatalf("own figure %v became %v", *pair[0], pair[1])
			}
		}
		low, typical, high, _ := v.Span()
		if low > typical || typical > high {
			t.Fatalf("out of order: %v %v %v", low, typical, high)
		}
		was, had := BySlug(slug).Value(param)
		if had != (v.Replaces != nil) || had && !cmp.Equal(was, *v.Replaces) {
			t.Fatalf("replaces %v, want %v", v.Replaces, was)
		}
	})
}

// One good file, damaged in one way at a time.
func TestLoad_RefusesFaultyFiles(t *testing.T) {
	good := `{"slug":"test","english":["Test finch"],"short":"Test","latin":["Testus testus"],
"group":"parrotfinch",
"quarrelsome_cocks":{"answer":"no","basis":"common-practice","source":"common practice, no single source"},
"glutton":{"answer":"low","basis":"from-memory","source":"from memory, unverified"},
"values":{"incubation_period":{"low":12,"typical":13,"high":14,"unit":"days","basis":"published","source":"A study"}}}`
	if _, err := load(fstest.MapFS{"data/test.json": {Data: []byte(good)}}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, want string }{
		{`"group":`, `"colour":1,"group":`, `unknown field "colour"`},
		{`"high":14`, `"height":14`, `unknown field "height"`},
		{`"low":12`, `"low":13.5`, "out of order"},
		{`"high":14`, `"high":12.5`, "out of order"},
		{`"high":14`, `"high":99`, "outside"},
		{`"unit":"days"`, `"unit":"weeks"`, "unit is"},
		{`"unit":"days"`, `"unit":"months"`, "unit is"},
		{`"source":"A study"`, `"source":" "`, "no source"},
		{`"basis":"published","source":"A`, `"basis":"hearsay","source":"A`, "unknown basis"},
		{`"basis":"published","source":"A`, `"basis":"own room","source":"A`, "unknown basis"},
		{`"basis":"published","source":"A`, `"basis":"common-practice","source":"A`, "must begin"},
		{`"basis":"published","source":"A`, `"basis":"from-memory","source":"A`, "must begin"},
		{`"basis":"published","source":"A`, `"basis":"derived","source":"A`, "must begin"},
		{`"source":"A study"`, `"source":"from memory"`, "its source begins"},
		{`"low":12,"typical":13,"high":14,`, ``, "leave it out"},
		{`incubation_period`, `wing_length`, "unknown parameter"},
		{`incubation_period`, `live_food_need`, "unit is"},
		{`"incubation_period":{"low":12,"typical":13,"high":14,"unit":"days"`, `"live_food_need":{"typical":13,"unit":"text"`, "outside"},
		{`"group":"parrotfinch"`, `"group":"parrots"`, "unknown group"},
		{`"answer":"no"`, `"answer":"maybe"`, "unknown answer"},
		{`"answer":"no"`, `"answer":"moderate"`, "unknown answer"},
		{`"answer":"low"`, `"answer":""`, "unknown answer"},
		{`"slug":"test"`, `"slug":"other"`, "slug is"},
		{`"slug":"test"`, `"slug":"Test 1"`, "small letters"},
		{`"short":"Test"`, `"short":"Twelve chars"`, "short name"},
		{`"english":["Test finch"]`, `"english":[]`, "at least one"},
		{`"english":["Test finch"]`, `"english":["Test finch","77"]`, "no letters"},
		{`"latin":["Testus testus"]`, `"latin":[]`, "at least one"},
		{`"A study"}}}`, `"A study"}}} {}`, "after the end"},
	} {
		bad := strings.Replace(good, c.old, c.new, 1)
		if bad == good {
			t.Fatalf("%s is not in the good file", c.old)
		}
		_, err := load(fstest.MapFS{"data/test.json": {Data: []byte(bad)}})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s -> %s: got %v, want %q", c.old, c.new, err, c.want)
		}
	}
	other := strings.NewReplacer(`"slug":"test"`, `"slug":"twin"`, "Testus testus", "Testus alter").Replace(good)
	_, err := load(fstest.MapFS{"data/test.json": {Data: []byte(good)}, "data/twin.json": {Data: []byte(other)}})
	if err == nil || !strings.Contains(err.Error(), "belongs to") {
		t.Errorf("two species of one name: got %v", err)
	}
	if _, err := load(fstest.MapFS{}); err == nil {
		t.Error("no files: got no error")
	}
}

func TestParseParameters_RefusesFaults(t *testing.T) {
	good := `[{"parameter":"a","section":"S","label":"A","unit":"days","explains":"E.","least":1,"most":2}]`
	if _, err := parseParameters([]byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, want string }{
		{`"label":"A"`, `"label":""`, "needed"},
		{`"days"`, `"weeks"`, "unknown unit"},
		{`"most":2`, `"most":1`, "below"},
		{`"most":2`, `"worst":2`, "unknown field"},
		{`}]`, `},` + good[1:len(good)-1] + `]`, "twice"},
	} {
		_, err := parseParameters([]byte(strings.Replace(good, c.old, c.new, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.new, err, c.want)
		}
	}
}

// The data files are laid out as json.Indent lays them out, so that a change shows as
// the change and nothing else.
func TestData_IsLaidOutPlainly(t *testing.T) {
	names, err := fs.Glob(files, "data/*.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		text, err := files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		raw := json.RawMessage(text)
		enc := json.NewEncoder(&b)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		if err := enc.Encode(raw); err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(b.String(), string(text)); d != "" {
			t.Errorf("%s (-want +got):\n%s", name, d)
		}
	}
}

func ExampleFind() {
	p, err := Find("society finch")
	if err != nil {
		fmt.Println(err)
		return
	}
	v, _ := p.Value(IncubationPeriod)
	fmt.Println(p.English, v, v.Basis.Label())
	_, err = Find("zebar")
	fmt.Println(err)
	// Output:
	// Bengalese finch 13.5 (12–16) days published
	// No species here is called “zebar”. Did you mean Zebra finch?
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := "testdata/" + name
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s (-want +got), -update rewrites it:\n%s", path, d)
	}
}

func TestPairNote_DiffersByGroups(t *testing.T) {
	n := PairNote{Trait: "head", Groups: [][]string{{"red", "yellow"}, {"black"}}}
	for _, c := range []struct {
		a, b string
		want bool
	}{{"red", "black", true}, {"black", "red", true}, {"red", "yellow", false}, {"red", "", false}, {"green", "black", false}} {
		if got := n.Differ(c.a, c.b); got != c.want {
			t.Errorf("%q and %q differ: %v", c.a, c.b, got)
		}
	}
	if err := (PairNote{Trait: "head", Note: "x", Basis: Published, Source: "y", Groups: [][]string{{"red"}}}).check(); err == nil {
		t.Error("one group is taken")
	}
}
