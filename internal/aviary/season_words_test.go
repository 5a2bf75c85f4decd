package aviary

import (
	"strings"
	"testing"
)

func lampPlan(change func(*LampPlanned)) *LampPlanned {
	b := &LampPlanned{
		Rest: 9.5, Full: 14, RampFrom: MustDate("2026-08-01"), FullBy: MustDate("2026-10-01"), TaperFrom: MustDate("2027-02-01"), RestBy: MustDate("2027-04-01"),
		On: ClockOf(6, 0), Step: 30, Every: 7,
	}
	change(b)
	return b
}

func TestSeasonWords_Refusals(t *testing.T) {
	serve := ClockOf(7, 30)
	for _, tt := range []struct {
		name, field, want string
		body              Body
	}{
		{"dates out of order", "full_by", "before the date ahead of it", lampPlan(func(b *LampPlanned) { b.FullBy = MustDate("2026-07-01") })},
		{"no date", "taper_from", "give the first shorter day", lampPlan(func(b *LampPlanned) { b.TaperFrom = 0 })},
		{"full less than rest", "full_hours", "less than rest", lampPlan(func(b *LampPlanned) { b.Full = 8 })},
		{"more than a day", "full_hours", "outside 0 to 24 h", lampPlan(func(b *LampPlanned) { b.Full = 25 })},
		{"no step", "step_minutes", "0 minutes is outside 1 to 240", lampPlan(func(b *LampPlanned) { b.Step = 0 })},
		{"no such end", "moves", "is not one of", lampPlan(func(b *LampPlanned) { b.Moves = "noon" })},
		{"no time", "on", "such as 06:00", lampPlan(func(b *LampPlanned) { b.On = 0 })},
		{"a plan of nothing", "conditioning", "at least one phase", &FeedPlanned{Name: "Waxbills"}},
		{"conditioning first", "conditioning", "comes before preparation", &FeedPlanned{Preparation: MustDate("2026-09-01"), Conditioning: MustDate("2026-08-01")}},
		{"a phase that is none", "phase", "is not one of", &PhaseBegun{Phase: "laying"}},
		{"place twice", "places", "stands there twice", &PhaseBegun{Phase: "rest", Places: []ID{c1, c1}}},
		{"appetite of nobody", "places", "say at which cage", &IntakeSeen{Share: 1}},
		{"appetite below nothing", "share", "outside 0 to 3", &IntakeSeen{Places: []ID{c1}, Share: -1}},
		{"a store of nothing", "food", "which food", &StoreCounted{Grams: 100}},
		{"more than was laid out", "sprouted", "cannot have sprouted", &GerminationTested{Food: "millet", Seeds: 50, Sprouted: 51}},
		{"up before the morning", "wake_to", "cannot be up", &SproutsPlanned{ServeAt: serve, Celsius: 22, Every: 1, WakeFrom: ClockOf(22, 0), WakeTo: ClockOf(6, 0)}},
		{"a batch for a week", "every_days", "outside 1 to 4", &SproutsPlanned{ServeAt: serve, Celsius: 22, Every: 7}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			e := tt.body.check()
			if e == nil || e.Field != tt.field || !strings.Contains(e.Message, tt.want) {
				t.Errorf("got %v, want field %s with %q", e, tt.field, tt.want)
			}
		})
	}
	if e := lampPlan(func(*LampPlanned) {}).check(); e != nil {
		t.Errorf("a sound plan is refused: %v", e)
	}
}

func TestSeasonWords_Fold(t *testing.T) {
	b := twoCages()
	b.add("2026-06-01", lampPlan(func(*LampPlanned) {}))
	b.add("2026-06-02", &FeedPlanned{Name: "Bay 1", Banks: []string{"Bay 1"}, Conditioning: MustDate("2026-07-01")})
	b.add("2026-06-03", &PhaseBegun{Phase: "conditioning", Places: []ID{c1, c2}})
	struck := b.add("2026-06-04", &PhaseBegun{Phase: "moult"})
	b.add("2026-06-05", &IntakeSeen{Places: []ID{c2}, Share: 0.7})
	b.add("2026-06-06", &StoreCounted{Food: "white-millet", Grams: 4000})
	b.add("2026-06-07", &GerminationTested{Food: "white-millet", Seeds: 100, Sprouted: 91})
	b.add("2026-06-08", &SproutsPlanned{ServeAt: ClockOf(7, 30), Celsius: 22, Every: 1})
	b.strike("2026-06-09", struck.ID)
	r := NewRoom()
	admit(t, r, b.list...)
	w := r.Whole()
	if len(w.LampPlans) != 1 || len(w.FeedPlans) != 1 || len(w.Stores) != 1 || len(w.GermTests) != 1 || len(w.Sprouts) != 1 || len(w.Phases) != 0 {
		t.Errorf("the room holds %+v", w)
	}
	for _, p := range []ID{c1, c2} {
		if got := r.Place(p).Phases; len(got) != 1 || got[0].Phase != "conditioning" || got[0].Day != MustDate("2026-06-03") {
			t.Errorf("phases %+v", got)
		}
	}
	if got := r.Place(c2).Intake; len(got) != 1 || got[0].Share != 0.7 {
		t.Errorf("appetite %+v", got)
	}
}

func TestColourWords_Refusals(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	for _, tt := range []struct {
		name, field, want string
		body              Body
	}{
		{"a word about nothing", "allele", "which colour", &ColourSaid{Bird: cock, Locus: "blue"}},
		{"a word worth nothing", "trust", "outside 0.5 to 1", &ColourSaid{Bird: cock, Locus: "blue", Allele: "b", Trust: f(0.2)}},
		{"more than all", "frequency", "outside 0 to 1", &ColourAssumed{Species: "gouldian", Locus: "blue", Allele: "b", Frequency: f(1.5)}},
		{"a frequency of none", "allele", "which allele", &ColourAssumed{Species: "gouldian", Locus: "blue", Frequency: f(0.1)}},
		{"a fraction of one locus", "recombination", "two loci", &ColourAssumed{Species: "gouldian", Locus: "head", Recombination: f(0.1)}},
		{"nothing assumed", "frequency", "take it back", &ColourAssumed{Species: "gouldian", Locus: "blue"}},
		{"a name with blanks", "locus", "small letters", &ColourAdded{Species: "star", Locus: "Blue Back", Look: "blue", Plain: "normal", Inherited: "recessive"}},
		{"looks alike", "look", "what one without it shows", &ColourAdded{Species: "star", Locus: "blue", Look: "blue", Plain: "blue", Inherited: "recessive"}},
		{"half without its single", "single", "one copy", &ColourAdded{Species: "star", Locus: "blue", Look: "blue", Plain: "normal", Inherited: "half"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			e := tt.body.check()
			if e == nil || e.Field != tt.field || !strings.Contains(e.Message, tt.want) {
				t.Errorf("got %v, want field %s with %q", e, tt.field, tt.want)
			}
		})
	}
}

func TestColourWords_Fold(t *testing.T) {
	q := 0.2
	b := twoCages()
	b.add("2026-06-01", &ColourSaid{Bird: cock, Locus: "fawn", Allele: "f", Carries: true, By: "seller"})
	b.add("2026-06-02", &ColourAdded{Species: "zebra", Locus: "sooty", Look: "sooty", Plain: "normal", Inherited: "recessive"})
	b.add("2026-06-03", &ColourAssumed{Species: "zebra", Locus: "fawn", Allele: "f", Frequency: &q})
	b.add("2026-06-03", &ColourAssumed{Species: "zebra", Locus: "sooty", Allele: "sooty", Frequency: &q})
	b.add("2026-06-04", &ColourAssumed{Species: "zebra", Locus: "fawn", Clear: true})
	r := NewRoom()
	admit(t, r, b.list...)
	if got := r.Bird(cock).Said; len(got) != 1 || !got[0].Carries || got[0].By != "seller" {
		t.Errorf("said %+v", got)
	}
	if w := r.Whole(); len(w.Colours) != 1 || len(w.Assumed) != 1 || w.Assumed[0].Locus != "sooty" {
		t.Errorf("colours %+v, assumed %+v", w.Colours, w.Assumed)
	}
}

func TestPairWords(t *testing.T) {
	for _, tt := range []struct {
		field, want string
		body        Body
	}{
		{"hen", "a cock and a hen", &PairRuled{Cock: cock, Hen: cock, Rule: "apart"}},
		{"rule", "wanted together or kept apart", &PairRuled{Cock: cock, Hen: hen}},
		{"rule", "is not one of", &PairRuled{Cock: cock, Hen: hen, Rule: "maybe"}},
		{"bird", "say which bird", &BirdHeld{}},
		{"look", "which look", &YoungWished{Species: "zebra", Count: 3}},
		{"count", "outside 0 to 1000", &YoungWished{Species: "zebra", Look: "fawn", Count: -1}},
	} {
		if e := tt.body.check(); e == nil || e.Field != tt.field || !strings.Contains(e.Message, tt.want) {
			t.Errorf("got %v, want field %s with %q", e, tt.field, tt.want)
		}
	}
	b := twoCages()
	b.add("2026-06-01", &PairRuled{Cock: cock, Hen: hen, Rule: "apart", Why: "fought"})
	b.add("2026-06-02", &PairRuled{Cock: cock, Hen: hen2, Rule: "together"})
	b.add("2026-06-03", &PairRuled{Cock: cock, Hen: hen2, Rule: "free"})
	b.add("2026-06-01", &BirdHeld{Bird: hen2, Until: MustDate("2026-06-20"), Why: "rest"})
	b.add("2026-06-01", &BirdHeld{Bird: cock2})
	b.add("2026-06-10", &BirdHeld{Bird: cock2, Free: true})
	b.add("2026-06-01", &YoungWished{Species: "zebra", Look: "fawn", Count: 6})
	b.add("2026-06-02", &YoungWished{Species: "zebra", Look: "fawn", Count: 4})
	b.add("2026-06-02", &YoungWished{Species: "zebra", Look: "grey", Count: 4})
	b.add("2026-06-03", &YoungWished{Species: "zebra", Look: "grey"})
	r := NewRoom()
	admit(t, r, b.list...)
	if x := r.Bird(hen).RuleWith(cock); x == nil || x.Rule != "apart" || x.Why != "fought" {
		t.Errorf("rule %+v", x)
	}
	if x := r.Bird(cock).RuleWith(hen2); x != nil {
		t.Errorf("a rule that was taken back holds: %+v", x)
	}
	held := func(id ID, day string) bool { return r.Bird(id).HeldOn(MustDate(day)) != nil }
	for _, c := range []struct {
		id   ID
		day  string
		want bool
	}{{hen2, "2026-05-31", false}, {hen2, "2026-06-19", true}, {hen2, "2026-06-20", false}, {cock2, "2026-06-05", true}, {cock2, "2026-06-10", false}} {
		if held(c.id, c.day) != c.want {
			t.Errorf("held on %s: %v", c.day, !c.want)
		}
	}
	if w := r.Whole().Wished; len(w) != 1 || w[0].Count != 4 || w[0].Look != "fawn" {
		t.Errorf("wished %+v", w)
	}
}
