package advice

import (
	"math"
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// feedPlan writes a feed plan.
func (b *book) feedPlan(day string, body aviary.FeedPlanned) *aviary.Entry {
	return b.add(day, &body)
}

func roomPlan() aviary.FeedPlanned {
	return aviary.FeedPlanned{
		Preparation: aviary.MustDate("2026-01-01"), Conditioning: aviary.MustDate("2026-01-10"),
		Moult: aviary.MustDate("2026-07-01"), Rest: aviary.MustDate("2026-09-01"),
	}
}

func fed(tb testing.TB, d *Desk, place aviary.ID) *Feeding {
	tb.Helper()
	f := d.Feeding(d.Room.Place(place))
	if f == nil {
		tb.Fatalf("nothing is fed at %s", d.Room.Place(place).Name)
	}
	return f
}

// told reports whether a note holds the words.
func told(notes []feed.Note, part string) bool {
	for _, n := range notes {
		if strings.Contains(n.Text, part) {
			return true
		}
	}
	return false
}

func ml(f *Feeding, k feed.ItemKind) float64 {
	v, _ := feed.Sum(f.Items, k)
	return v
}

// The ladder of practice: three weeks of sprouted seed, egg food from the third week, nest material once signs show, from about the
// fourth week. A pair without signs stays.
func TestFeeding_Ladder(t *testing.T) {
	b := zebras(t)
	b.feedPlan("2026-01-01", roomPlan())
	b.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1}})
	for _, x := range []struct {
		day   string
		phase feed.Phase
		week  int
		egg   bool
		due   bool
	}{
		{"2026-01-09", feed.Preparation, 0, false, false}, // not paired yet: the group's plan
		{"2026-01-10", feed.Conditioning, 1, false, false},
		{"2026-01-23", feed.Conditioning, 2, false, false},
		{"2026-01-24", feed.EggFood, 3, true, false},
		{"2026-01-31", feed.EggFood, 4, true, false},
		{"2026-02-10", feed.EggFood, 5, true, false}, // no signs: it stays
	} {
		d := b.desk(x.day)
		if s := d.FeedingOn(d.Room.Place(a1), d.Today); s.Phase != x.phase || s.Week != x.week || s.MaterialDue != x.due {
			t.Errorf("%s: %s in week %d, material due %v; want %s in week %d, %v", x.day, s.Phase, s.Week, s.MaterialDue, x.phase, x.week, x.due)
		}
		if d.Room.PairNow(a1).From > d.Today {
			continue
		}
		f := fed(t, d, a1)
		if egg := ml(f, feed.SoftEggFood); (egg > 0) != x.egg {
			t.Errorf("%s: %.2f ml egg food, want some: %v", x.day, egg, x.egg)
		}
		if sprouts := ml(f, feed.SproutedSeed); sprouts <= ml(f, feed.SoftEggFood) {
			t.Errorf("%s: %.2f ml sprouted seed is not more than the egg food", x.day, sprouts)
		}
	}
	if f := fed(t, b.desk("2026-01-12"), a1); ml(f, feed.SproutedSeed) != feed.Teaspoon {
		t.Errorf("conditioning gives a pair %.2f ml of sprouted seed, want a level teaspoon", ml(f, feed.SproutedSeed))
	}
	if f := fed(t, b.desk("2026-02-10"), a1); !told(f.Notes, "no signs yet") {
		t.Errorf("a pair without signs is not told: %v", f.Notes)
	}
	b.add("2026-02-03", &aviary.NestCheck{Place: a1, Signs: []string{"at the nest"}})
	f := fed(t, b.desk("2026-02-03"), a1)
	if !f.Standing.MaterialDue || !told(f.Notes, "Give nest material today") {
		t.Errorf("signs in week 4: material due %v, notes %v", f.Standing.MaterialDue, f.Notes)
	}
	b.add("2026-02-03", &aviary.MaterialGiven{Place: a1})
	b.add("2026-02-05", &aviary.MaterialGiven{Place: a1})
	if f := fed(t, b.desk("2026-02-06"), a1); f.Standing.Phase != feed.Material || FeedDay(f.Standing.Since) != aviary.MustDate("2026-02-03") {
		t.Errorf("material given twice: %s since %s, want nest material since the first day", f.Standing.Phase, FeedDay(f.Standing.Since))
	}
}

// A pair that is ahead goes ahead: strong signs in the second week ask for material and egg food at once.
func TestFeeding_PairAheadMayGoAhead(t *testing.T) {
	b := zebras(t)
	b.feedPlan("2026-01-01", roomPlan())
	b.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1}})
	b.add("2026-01-18", &aviary.NestCheck{Place: a1, Signs: []string{"at the nest"}})
	f := fed(t, b.desk("2026-01-18"), a1)
	if f.Standing.Phase != feed.EggFood || !f.Standing.MaterialDue || !told(f.Notes, "ahead, in week 2") {
		t.Errorf("got %s, material due %v, %v", f.Standing.Phase, f.Standing.MaterialDue, f.Notes)
	}
}

// Birds in flights follow their group's plan until they are paired; a pair brings along what they had, at most three weeks of it.
func TestFeeding_FlightsFollowTheGroup(t *testing.T) {
	b := zebras(t)
	plan := roomPlan()
	plan.Name, plan.Species, plan.Conditioning = "Zebras", []string{"zebra"}, aviary.MustDate("2026-01-05")
	b.feedPlan("2025-12-01", plan)
	if f := fed(t, b.desk("2026-01-06"), flight); f.Standing.Phase != feed.Conditioning || f.Group != "Zebras" || f.Pair != nil {
		t.Errorf("flight on 6 Jan: %s, group %q", f.Standing.Phase, f.Group)
	}
	// Nobody has begun at the pair: it is told, and stays in preparation.
	if f := fed(t, b.desk("2026-01-12"), a1); f.Standing.Phase != feed.Preparation || !told(f.Notes, "Begin it at this pair") {
		t.Errorf("pair without a note: %s, %v", f.Standing.Phase, f.Notes)
	}
	b.add("2026-01-05", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{flight}})
	f := fed(t, b.desk("2026-01-12"), a1)
	if f.Standing.Phase != feed.Conditioning || FeedDay(f.Pairing.Conditioning) != aviary.MustDate("2026-01-05") {
		t.Errorf("the pair has %s since %s, want sprouted seed since the flight had it", f.Standing.Phase, FeedDay(f.Pairing.Conditioning))
	}
	// A day gone by: the plan had it from the 5th, but it began on the 8th.
	late := zebras(t)
	late.feedPlan("2025-12-01", plan)
	late.add("2026-01-08", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{flight}})
	d := late.desk("2026-01-09")
	if s := d.FeedingOn(d.Room.Place(flight), aviary.MustDate("2026-01-06")); s.Phase != feed.Preparation {
		t.Errorf("before it really began: %s", s.Phase)
	}
	// Long in the flight: three weeks count, not more, so that patience begins with the pair.
	long := zebras(t)
	long.add("2025-11-01", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{flight}})
	if f := fed(t, long.desk("2026-01-12"), a1); FeedDay(f.Pairing.Conditioning) != aviary.MustDate("2025-12-20") || f.Standing.Phase != feed.EggFood || f.Standing.Week != 4 {
		t.Errorf("ten weeks in the flight: sprouted seed since %s, %s in week %d; want three weeks before the pairing", FeedDay(f.Pairing.Conditioning), f.Standing.Phase, f.Standing.Week)
	}
	b.add("2026-01-11", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1}})
	if f := fed(t, b.desk("2026-01-12"), a1); FeedDay(f.Pairing.Conditioning) != aviary.MustDate("2026-01-11") {
		t.Errorf("begun at the pair on 11 Jan, the books say %s", FeedDay(f.Pairing.Conditioning))
	}
}

// The closest plan wins; of equals the later; a plan for next year waits; a plan that is over holds no more.
func TestFeedPlanFor(t *testing.T) {
	b := zebras(t)
	plan := func(day, name string, places []aviary.ID, banks, species []string, prep, rest string) {
		b.feedPlan(day, aviary.FeedPlanned{Name: name, Places: places, Banks: banks, Species: species, Preparation: aviary.MustDate(prep), Rest: aviary.MustDate(rest)})
	}
	want := func(day string, place aviary.ID, name string) {
		t.Helper()
		d := b.desk(day)
		got := "none"
		if p := d.FeedPlanFor(d.Room.Place(place)); p != nil {
			got = p.Name
		}
		if got != name {
			t.Errorf("%s: plan %q, want %q", day, got, name)
		}
	}
	want("2026-01-12", a1, "none")
	plan("2025-11-01", "room", nil, nil, nil, "2025-12-01", "2026-09-01")
	want("2026-01-12", a1, "room")
	plan("2025-11-02", "species", nil, nil, []string{"zebra"}, "2025-12-01", "2026-09-01")
	plan("2025-11-02", "other species", nil, nil, []string{"gouldian"}, "2025-12-01", "2026-09-01")
	want("2026-01-12", a1, "species")
	plan("2025-11-03", "bank", nil, []string{"Bay 1"}, nil, "2025-12-15", "2026-09-01")
	want("2026-01-12", a1, "bank")
	want("2026-01-12", flight, "species")
	plan("2025-11-04", "cage", []aviary.ID{a1}, nil, nil, "2025-12-20", "2026-09-01")
	want("2026-01-12", a1, "cage")
	want("2025-12-10", a1, "cage") // it waits for its own first day, the wider ones do not stand in
	plan("2026-01-05", "cage anew", []aviary.ID{a1}, nil, nil, "2026-01-20", "2026-09-01")
	want("2026-01-12", a1, "cage anew")
	plan("2026-01-06", "next year", []aviary.ID{a1}, nil, nil, "2026-12-20", "2027-09-01")
	want("2026-01-12", a1, "cage anew")
	want("2026-10-12", a1, "cage anew") // rest, until the next begins
	want("2026-12-20", a1, "next year")
	want("2028-01-12", a1, "none")
	d := b.desk("2026-10-12")
	if s := d.FeedingOn(d.Room.Place(a1), d.Today); s.Phase != feed.Rest || FeedDay(s.NextDay) != aviary.MustDate("2026-12-20") {
		t.Errorf("after the season: %s, next %s on %s", s.Phase, s.Next, FeedDay(s.NextDay))
	}
}

// nesting is a clutch of five in A1 with four chicks hatched on 9 February.
func nesting(tb testing.TB) *book {
	b := zebras(tb)
	b.feedPlan("2026-01-01", roomPlan())
	b.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning"})
	b.add("2026-01-20", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0)})
	b.add("2026-01-22", &aviary.NestCheck{Place: a1, Eggs: ptr(2), Chicks: ptr(0)})
	b.add("2026-01-26", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)})
	return b
}

func TestFeeding_NestLeads(t *testing.T) {
	b := nesting(t)
	for day, phase := range map[string]feed.Phase{"2026-01-22": feed.Laying, "2026-01-30": feed.Sitting, "2026-02-20": feed.Sitting} {
		if f := fed(t, b.desk(day), a1); f.Standing.Phase != phase {
			t.Errorf("%s: %s, want %s", day, f.Standing.Phase, phase)
		}
	}
	if f := fed(t, b.desk("2026-02-07"), a1); !told(f.Notes, "ready for the chicks") || f.Expected != 5 {
		t.Errorf("before the hatch: %d expected, notes %v", f.Expected, f.Notes)
	}
	b.add("2026-02-08", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(4)})
	var before float64
	for _, day := range []string{"2026-02-08", "2026-02-10", "2026-02-13"} {
		f := fed(t, b.desk(day), a1)
		if f.Standing.Phase != feed.Rearing || f.Birds.Chicks != 4 || f.Birds.Adults != 2 {
			t.Fatalf("%s: %s with %d chicks and %d adults", day, f.Standing.Phase, f.Birds.Chicks, f.Birds.Adults)
		}
		if soft := ml(f, feed.SproutedSeed); soft <= before {
			t.Errorf("%s: %.2f ml sprouted seed, no more than before (%.2f)", day, soft, before)
		} else {
			before = soft
		}
	}
	fewer := nesting(t)
	fewer.add("2026-02-08", &aviary.NestCheck{Place: a1, Eggs: ptr(3), Chicks: ptr(2)})
	if two := ml(fed(t, fewer.desk("2026-02-13"), a1), feed.SproutedSeed); two >= before {
		t.Errorf("two chicks get %.2f ml, four %.2f", two, before)
	}
	// Out of the box: weaning. Ended: between two clutches, egg food, no longer rearing.
	b.add("2026-02-17", &aviary.ChickRinged{Bird: id(99), Place: a1, Species: "zebra", Ring: aviary.Ring{Issuer: "FC", Year: 2026, Number: "1"}})
	if f := fed(t, b.desk("2026-02-17"), a1); f.Birds.Adults != 2 || f.Birds.Chicks != 4 {
		t.Errorf("a ring makes no adult: %d adults, %d chicks", f.Birds.Adults, f.Birds.Chicks)
	}
	b.add("2026-02-28", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0), Out: ptr(4)})
	if f := fed(t, b.desk("2026-03-01"), a1); f.Standing.Phase != feed.Weaning || f.Birds.Chicks != 4 {
		t.Errorf("young out: %s with %d young", f.Standing.Phase, f.Birds.Chicks)
	}
	b.add("2026-01-20", &aviary.MaterialGiven{Place: a1})
	b.add("2026-01-11", &aviary.BirdWeighed{Bird: cock2, Grams: 20})
	b.add("2026-03-16", &aviary.YoungWeaned{Place: a1, Birds: []aviary.ID{id(99)}, Unringed: 3, Group: id(77), Species: "zebra", To: flight})
	if f := fed(t, b.desk("2026-03-17"), a1); f.Standing.Phase != feed.EggFood || f.Birds.Chicks != 0 {
		t.Errorf("weaned: %s with %d chicks", f.Standing.Phase, f.Birds.Chicks)
	}
	// Nobody noted the first sprouted seed of this one: a pair that has laid is past the ladder all the same.
	bare := zebras(t)
	bare.feedPlan("2026-01-01", roomPlan())
	bare.add("2026-01-22", &aviary.NestCheck{Place: a1, Eggs: ptr(2)})
	bare.add("2026-02-05", &aviary.NestCheck{Place: a1, Eggs: ptr(2), Removed: ptr(2)})
	if f := fed(t, bare.desk("2026-02-06"), a1); f.Standing.Phase != feed.EggFood {
		t.Errorf("between clutches, without a note: %s", f.Standing.Phase)
	}
	// Nest material of the last clutch is not that of the next.
	b.add("2026-03-20", &aviary.NestCheck{Place: a1, Signs: []string{"at the nest"}})
	if f := fed(t, b.desk("2026-03-20"), a1); f.Standing.Phase != feed.EggFood || !f.Standing.MaterialDue {
		t.Errorf("a second clutch: %s, material due %v", f.Standing.Phase, f.Standing.MaterialDue)
	}
	b.add("2026-03-21", &aviary.MaterialGiven{Place: a1})
	if f := fed(t, b.desk("2026-03-22"), a1); f.Standing.Phase != feed.Material || FeedDay(f.Standing.Since) != aviary.MustDate("2026-03-21") {
		t.Errorf("material for the second clutch: %s since %s", f.Standing.Phase, FeedDay(f.Standing.Since))
	}
	if f := fed(t, b.desk("2026-03-17"), flight); f.Birds.Adults != 6 || math.Abs(f.Birds.MassGrams-(20+5*12)/6.0) > 1e-9 {
		t.Errorf("the flight feeds %d, want two grown birds and four weaned young, of %.2f g", f.Birds.Adults, f.Birds.MassGrams)
	}
	// Two broods at one place: all of them eat, at their mean age.
	two := nesting(t)
	two.add("2026-02-08", &aviary.NestCheck{Place: a1, Box: box1, Eggs: ptr(0), Chicks: ptr(3), AgeDays: ptr(0), AgeAbout: ptr(0)})
	second := id(6)
	two.add("2026-01-27", &aviary.BoxHung{Box: second, Place: a1})
	two.add("2026-02-02", &aviary.NestCheck{Place: a1, Box: second, Eggs: ptr(1)})
	two.add("2026-02-18", &aviary.NestCheck{Place: a1, Box: second, Eggs: ptr(0), Chicks: ptr(1), AgeDays: ptr(0), AgeAbout: ptr(0)})
	if f := fed(t, two.desk("2026-02-18"), a1); f.Birds.Chicks != 4 || math.Abs(f.Birds.ChickAge-7.5) > 1e-9 {
		t.Errorf("three chicks of ten days and one of none: %d chicks of %.2f days, want 4 of 7.5", f.Birds.Chicks, f.Birds.ChickAge)
	}
	// A day to come: the nest's likely days.
	d := nesting(t).desk("2026-01-30")
	a := d.Room.Place(a1)
	for day, phase := range map[string]feed.Phase{"2026-02-15": feed.Rearing, "2026-03-05": feed.Weaning, "2026-07-20": feed.Moult, "2026-09-20": feed.Rest} {
		if s := d.FeedingOn(a, aviary.MustDate(day)); s.Phase != phase {
			t.Errorf("foreseen for %s: %s, want %s", day, s.Phase, phase)
		}
	}
}

// Gouldians and parrotfinches overeat egg food: half a teaspoon of the mix a pair is their ceiling until chicks hatch
// (data/guards.json of package feed; common practice, no source).
func TestFeeding_GluttonCeiling(t *testing.T) {
	for _, unit := range []string{"ml", "tsp", "oz"} {
		portion := func(slug string) (egg, mix float64, f *Feeding) {
			b := zebras(t)
			b.add("2025-01-01", &aviary.RoomSet{Volume: ptr(unit)})
			for _, e := range b.list {
				if a, ok := e.Body.(*aviary.BirdAcquired); ok {
					a.Species = slug
				}
			}
			b.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1}})
			f = fed(t, b.desk("2026-01-25"), a1)
			egg = ml(f, feed.SoftEggFood)
			return egg, egg + ml(f, feed.SproutedSeed), f
		}
		egg, mix, f := portion("gouldian")
		if !f.Guard.Glutton || mix > feed.Teaspoon/2+1e-9 || egg > feed.Teaspoon/2/3+1e-9 || egg <= 0 {
			t.Errorf("%s: a Gouldian pair gets %.3f ml egg food in %.3f ml of the mix", unit, egg, mix)
		}
		trio := zebras(t)
		trio.add("2025-01-01", &aviary.RoomSet{Volume: ptr(unit)})
		for _, e := range trio.list {
			if a, ok := e.Body.(*aviary.BirdAcquired); ok {
				a.Species = "gouldian"
			}
		}
		trio.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1}})
		trio.add("2026-01-11", &aviary.BirdMoved{Bird: hen2, Place: a1})
		three := fed(t, trio.desk("2026-01-25"), a1)
		if got := ml(three, feed.SoftEggFood) + ml(three, feed.SproutedSeed); got > 1.5*feed.Teaspoon/2+1e-9 {
			t.Errorf("%s: three Gouldians get %.3f ml of the mix, above the ceiling of a pair and a half", unit, got)
		}
		if zebra, whole, _ := portion("zebra"); zebra <= egg || whole > feed.Teaspoon+0.5 {
			t.Errorf("%s: a zebra pair gets %.3f ml egg food in %.3f ml of the mix", unit, zebra, whole)
		}
	}
}

// Eating less while laying is no fault; a hen that is fluffed, low or straining is urgent, and nothing beside her calls it normal.
func TestFeeding_LayingAndTheHen(t *testing.T) {
	b := nesting(t)
	b.add("2026-01-23", &aviary.IntakeSeen{Places: []aviary.ID{a1}, Share: 0.75})
	f := fed(t, b.desk("2026-01-23"), a1)
	if f.Standing.Phase != feed.Laying || !told(f.Notes, "While laying that is normal") || f.Notes[0].Level > feed.Info {
		t.Fatalf("a drop of a quarter while laying: %s, %v", f.Standing.Phase, f.Notes)
	}
	b.add("2026-01-23", &aviary.IntakeSeen{Places: []aviary.ID{a1}, Share: 0.5})
	if f := fed(t, b.desk("2026-01-23"), a1); f.Notes[0].Level != feed.Warn {
		t.Errorf("half of the food left: %v, want a warning", f.Notes)
	}
	for _, what := range []string{"hen fluffed or low", "hen straining"} {
		for _, body := range []*aviary.OddSeen{{Place: a1, What: what}, {Bird: hen, What: what}} {
			ill := nesting(t)
			ill.add("2026-01-23", &aviary.IntakeSeen{Places: []aviary.ID{a1}, Share: 0.75})
			ill.add("2026-01-23", body)
			f := fed(t, ill.desk("2026-01-23"), a1)
			if f.Notes[0].Level != feed.Urgent || !strings.Contains(f.Notes[0].Text, "egg-bound") {
				t.Errorf("%s: first said is %v", what, f.Notes[0])
			}
			if told(f.Notes, "While laying that is normal") {
				t.Errorf("%s: the appetite is still called normal", what)
			}
		}
	}
}

// Rest and moult end a run, at one place or in the whole room; what was noted before does not come back with the next plan.
func TestFeeding_MoultAndRestBegun(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning"})
	b.add("2026-04-01", &aviary.PhaseBegun{Phase: "moult", Places: []aviary.ID{a1}})
	if f := fed(t, b.desk("2026-04-02"), a1); f.Standing.Phase != feed.Moult {
		t.Errorf("moult begun: %s", f.Standing.Phase)
	}
	if f := fed(t, b.desk("2026-04-02"), flight); f.Standing.Phase != feed.EggFood {
		t.Errorf("the flight goes on: %s", f.Standing.Phase)
	}
	b.add("2026-06-01", &aviary.PhaseBegun{Phase: "rest"})
	for _, place := range []aviary.ID{a1, flight} {
		if f := fed(t, b.desk("2026-06-02"), place); f.Standing.Phase != feed.Rest {
			t.Errorf("rest begun in the whole room: %s", f.Standing.Phase)
		}
	}
	b.add("2026-08-01", &aviary.PhaseBegun{Phase: "preparation"})
	for _, place := range []aviary.ID{a1, flight} {
		if f := fed(t, b.desk("2026-08-02"), place); f.Standing.Phase != feed.Preparation {
			t.Errorf("preparation begun: %s", f.Standing.Phase)
		}
	}
	b.add("2026-08-20", &aviary.PhaseBegun{Phase: "conditioning"})
	if f := fed(t, b.desk("2026-08-25"), a1); f.Standing.Phase != feed.Conditioning || f.Standing.Week != 1 {
		t.Errorf("the next season: %s in week %d", f.Standing.Phase, f.Standing.Week)
	}
	// Of one day, the later note stands, wherever it was written.
	s := zebras(t)
	s.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1}})
	s.add("2026-01-10", &aviary.PhaseBegun{Phase: "moult"})
	if f := fed(t, s.desk("2026-01-10"), a1); f.Standing.Phase != feed.Moult {
		t.Errorf("sprouted seed at the cage, then moult in the room: %s", f.Standing.Phase)
	}
	// By plan: last season's note is behind last season's rest.
	c := zebras(t)
	c.feedPlan("2026-01-01", roomPlan())
	c.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning"})
	next := roomPlan()
	next.Preparation, next.Conditioning, next.Moult, next.Rest = aviary.MustDate("2026-10-01"), aviary.MustDate("2026-10-20"), 0, aviary.MustDate("2027-06-01")
	c.feedPlan("2026-03-01", next)
	for day, want := range map[string]feed.Phase{"2026-03-02": feed.EggFood, "2026-09-10": feed.Rest, "2026-10-05": feed.Preparation, "2026-10-21": feed.Preparation} {
		if f := fed(t, c.desk(day), a1); f.Standing.Phase != want {
			t.Errorf("%s: %s, want %s", day, f.Standing.Phase, want)
		}
	}
}

// A hospital cage is fed plainly: what holds for the room does not hold for it, a plan that names it does.
func TestFeeding_HospitalIsNotOfTheGroup(t *testing.T) {
	b := zebras(t)
	b.feedPlan("2026-01-01", roomPlan())
	b.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning"})
	sick := id(9)
	b.add("2026-01-01", &aviary.PlaceAdded{Place: sick, Name: "H1", Type: aviary.Hospital})
	b.add("2026-01-12", &aviary.BirdMoved{Bird: cock2, Place: sick})
	if f := fed(t, b.desk("2026-01-14"), sick); f.Standing.Phase != feed.Rest || f.Plan != nil {
		t.Errorf("hospital: %s by plan %v", f.Standing.Phase, f.Plan)
	}
	d := b.desk("2026-01-14")
	if f := d.Feeding(d.Room.Place(a2)); f != nil {
		t.Errorf("an empty cage is fed: %v", f)
	}
}

// Weights: the birds' own last ones, else those of the species; an amount grows with them.
func TestFeeding_MassOfTheBirds(t *testing.T) {
	b := zebras(t)
	light := fed(t, b.desk("2026-01-12"), a1)
	if light.Birds.MassGrams != 12 || light.Weighed != 0 {
		t.Errorf("mass %.2f g of %d weighed, want the species' 12 g", light.Birds.MassGrams, light.Weighed)
	}
	b.add("2026-01-11", &aviary.BirdWeighed{Bird: cock, Grams: 16})
	heavy := fed(t, b.desk("2026-01-12"), a1)
	if heavy.Birds.MassGrams != 14 || heavy.Weighed != 1 {
		t.Errorf("mass %.2f g of %d weighed, want 14 g of 1", heavy.Birds.MassGrams, heavy.Weighed)
	}
	// Nagy (2005): the need rises with the 0.68th power of mass; the engine holds the figure.
	if want := light.Need.KJ * math.Pow(14.0/12, 0.68); math.Abs(heavy.Need.KJ-want) > 0.01 {
		t.Errorf("need %.2f kJ, want %.2f", heavy.Need.KJ, want)
	}
}
