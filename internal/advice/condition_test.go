package advice

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

func (b *book) condition(day string) *Condition {
	b.tb.Helper()
	d := b.desk(day)
	return d.Condition(d.Room.Place(a1))
}

func signs(what ...string) *aviary.NestCheck { return &aviary.NestCheck{Place: a1, Signs: what} }

// fedPair is the pair of zebras with sprouted seed since the day on which it was put together, 10 January 2026.
func fedPair(tb testing.TB) *book {
	b := zebras(tb)
	b.add("2025-11-01", &aviary.FeedPlanned{Preparation: aviary.MustDate("2025-12-20"), Conditioning: aviary.MustDate("2026-01-10"), Moult: aviary.MustDate("2026-06-01"), Rest: aviary.MustDate("2026-08-01")})
	b.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{a1}})
	return b
}

func TestCondition_Stages(t *testing.T) {
	type step struct {
		day  string
		body aviary.Body
	}
	for _, x := range []struct {
		name     string
		fed      bool
		steps    []step
		day      string
		stage    PairStage
		material bool
		says     string
	}{
		{"first day", true, nil, "2026-01-10", PairComing, false, "Week 1 of sprouted seed, and signs do not suffice yet. It stays in its phase."},
		{"one weak sign", true, []step{{"2026-01-12", signs("singing")}}, "2026-01-13", PairComing, false, "Week 1"},
		{"two weak signs, ahead of time", true, []step{{"2026-01-12", signs("singing")}, {"2026-01-20", signs("beak dark")}}, "2026-01-20", PairReady, true, "ahead of time in week 2. It may go ahead"},
		{"the same weak sign twice", true, []step{{"2026-01-12", signs("singing")}, {"2026-01-20", signs("singing")}}, "2026-01-20", PairComing, false, "Week 2"},
		{"one strong sign", true, []step{{"2026-02-02", signs("at the nest")}}, "2026-02-03", PairReady, true, "In condition: signs show."},
		{"the strong sign is a fortnight old", true, []step{{"2026-02-02", signs("at the nest")}}, "2026-02-16", PairReady, true, ""},
		{"older than a fortnight", true, []step{{"2026-02-02", signs("at the nest")}}, "2026-02-17", PairComing, false, "It stays in its phase"},
		{"no sign in week 5", true, nil, "2026-02-10", PairComing, false, "Week 5"},
		{"material is in", true, []step{{"2026-02-02", signs("at the nest")}, {"2026-02-03", &aviary.MaterialGiven{Place: a1}}}, "2026-02-04", PairReady, false, "with nest material since 3 Feb"},
		{"building", true, []step{{"2026-02-03", &aviary.MaterialGiven{Place: a1}}, {"2026-02-05", signs("building")}}, "2026-02-06", PairBuilding, false, "Building since 5 Feb."},
		{"about to lay", true, []step{{"2026-02-03", &aviary.MaterialGiven{Place: a1}}, {"2026-02-05", signs("building")}}, "2026-02-08", PairAboutToLay, false, "the first egg is near"},
		{"built a fortnight ago", true, []step{{"2026-02-03", &aviary.MaterialGiven{Place: a1}}, {"2026-02-05", signs("building")}}, "2026-02-19", PairAboutToLay, false, ""},
		{"built longer ago", true, []step{{"2026-02-03", &aviary.MaterialGiven{Place: a1}}, {"2026-02-05", signs("building")}}, "2026-02-20", PairComing, false, "no sign was seen for two weeks"},
		{"material in, and signs gone", true, []step{{"2026-02-02", signs("at the nest")}, {"2026-02-03", &aviary.MaterialGiven{Place: a1}}}, "2026-02-25", PairComing, false, "no sign was seen for two weeks"},
		{"eggs", true, []step{{"2026-02-10", &aviary.NestCheck{Place: a1, Eggs: ptr(2), Chicks: ptr(0)}}}, "2026-02-11", PairNesting, false, "With eggs or young."},
		{"rest begun", true, []step{{"2026-02-10", signs("building")}, {"2026-02-12", &aviary.PhaseBegun{Phase: "rest", Places: []aviary.ID{a1}}}}, "2026-02-12", PairResting, false, "At rest."},
		{"moult begun", true, []step{{"2026-02-12", &aviary.PhaseBegun{Phase: "moult", Places: []aviary.ID{a1}}}}, "2026-02-12", PairResting, false, "In moult."},
		{"nothing noted of food, box hangs", false, nil, "2026-01-12", PairComing, false, "Signs do not suffice yet"},
		{"nothing noted of food, strong sign", false, []step{{"2026-01-12", signs("at the nest")}}, "2026-01-13", PairReady, true, "In condition"},
		{"nothing noted of food, they build with what is in", false, []step{{"2026-01-12", signs("building")}}, "2026-01-13", PairBuilding, false, "Building since 12 Jan."},
		{"between two clutches", true, []step{
			{"2026-02-10", &aviary.NestCheck{Place: a1, Eggs: ptr(2), Chicks: ptr(0)}},
			{"2026-02-20", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0)}},
		}, "2026-02-21", PairComing, false, "Signs do not suffice yet"},
		{"signs of the clutch that was lost say nothing", true, []step{
			{"2026-02-08", signs("building")},
			{"2026-02-10", &aviary.NestCheck{Place: a1, Eggs: ptr(2), Chicks: ptr(0)}},
			{"2026-02-12", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0)}},
		}, "2026-02-13", PairComing, false, "Signs do not suffice yet"},
		{"material and signs while the young are fed outside", true, []step{
			{"2026-02-10", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(2), AgeDays: ptr(5)}},
			{"2026-02-28", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0), Out: ptr(2)}},
			{"2026-03-08", signs("at the nest")},
			{"2026-03-09", &aviary.MaterialGiven{Place: a1}},
			{"2026-03-12", &aviary.YoungWeaned{Place: a1, Unringed: 2, Group: id(77), Species: "zebra", To: flight}},
		}, "2026-03-12", PairReady, false, "with nest material since 9 Mar"},
		{"between two clutches, singing and flutter", true, []step{
			{"2026-02-10", &aviary.NestCheck{Place: a1, Eggs: ptr(2), Chicks: ptr(0)}},
			{"2026-02-20", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0)}},
			{"2026-02-21", signs("singing", "wing flutter")},
		}, "2026-02-22", PairReady, true, "In condition: signs show."},
	} {
		t.Run(x.name, func(t *testing.T) {
			b := zebras(t)
			if x.fed {
				b = fedPair(t)
			}
			for _, s := range x.steps {
				b.add(s.day, s.body)
			}
			c := b.condition(x.day)
			if c.Stage != x.stage || c.MaterialDue != x.material || !strings.Contains(c.Says(), x.says) {
				t.Errorf("%s, material due %v, %q; want %s, %v, %q", c.Stage, c.MaterialDue, c.Says(), x.stage, x.material, x.says)
			}
			d := b.desk(x.day)
			if j := job(d.Jobs(d.Room.Place(a1)), MaterialJob); (j != nil) != x.material {
				t.Errorf("the job to give nest material: %v, want one: %v", j, x.material)
			}
		})
	}
}

// The plan has sprouted seed from today on, but nobody has begun it at this pair.
func TestCondition_PlanWithoutBeginningIsPreparation(t *testing.T) {
	b := zebras(t)
	b.add("2025-11-01", &aviary.FeedPlanned{Preparation: aviary.MustDate("2025-12-20"), Conditioning: aviary.MustDate("2026-01-10")})
	b.add("2026-01-12", signs("singing", "beak dark"))
	c := b.condition("2026-01-12")
	if c.Stage != PairPreparing || c.MaterialDue || !strings.Contains(c.Says(), "Sprouted seed has not begun") {
		t.Errorf("%s, material due %v: %s", c.Stage, c.MaterialDue, c.Says())
	}
}

// A pair without a box: the box is due with the signs, or in the fourth week; material follows once it hangs. One voice a cage.
func TestCondition_BoxThenMaterial(t *testing.T) {
	due := func(b *book, day string, want ...JobKind) {
		t.Helper()
		d := b.desk(day)
		var got []JobKind
		for _, j := range d.Jobs(d.Room.Place(a1)) {
			got = append(got, j.Kind)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: jobs %v, want %v", day, got, want)
		}
	}
	b := fedPair(t)
	b.add("2026-01-10", &aviary.BoxTaken{Box: box1, Place: a1})
	due(b, "2026-01-20")
	due(b, "2026-01-30")         // end of week 3
	due(b, "2026-01-31", BoxJob) // week 4
	b.add("2026-01-20", signs("singing", "wing flutter"))
	due(b, "2026-01-20", BoxJob) // ahead
	b.add("2026-01-21", &aviary.BoxHung{Box: id(6), Place: a1})
	due(b, "2026-01-21", MaterialJob)
	b.add("2026-01-21", &aviary.MaterialGiven{Place: a1})
	due(b, "2026-01-21")
	due(b, "2026-01-29", NoNestJob) // a week after material, one look
	b.add("2026-01-29", signs("building"))
	due(b, "2026-01-29")
}

// A pair on conditioning food without signs is not asked for a nest; after six weeks it is asked for the cause, once a week.
func TestCondition_NoSignsIsPatienceThenACause(t *testing.T) {
	b := fedPair(t)
	for day := aviary.MustDate("2026-01-10"); day < aviary.MustDate("2026-02-21"); day++ {
		d := b.desk(day.String())
		if jobs := d.Jobs(d.Room.Place(a1)); len(jobs) > 0 {
			t.Fatalf("%s: %q is asked of a pair that is to be left in its phase", day, jobs[0].Title)
		}
	}
	d := b.desk("2026-02-21")
	j := job(d.Jobs(d.Room.Place(a1)), NoNestJob)
	if j == nil || j.Title != "Week 7 and no signs" || j.Lid || !strings.Contains(j.Why, "two of one sex") {
		t.Fatalf("in week 7: %+v", j)
	}
	b.add("2026-02-21", signs("singing"))
	if d := b.desk("2026-02-23"); job(d.Jobs(d.Room.Place(a1)), NoNestJob) != nil {
		t.Error("asked again two days later")
	}
	if d := b.desk("2026-02-28"); job(d.Jobs(d.Room.Place(a1)), NoNestJob) == nil {
		t.Error("not asked again after a week")
	}
}

func TestCondition_WhatSpeaksAgainstAClutch(t *testing.T) {
	ready := func() *book {
		b := fedPair(t)
		b.add("2026-02-02", signs("at the nest"))
		return b
	}
	held := func(b *book, want string) {
		t.Helper()
		d := b.desk("2026-02-03")
		c := d.Condition(d.Room.Place(a1))
		if c.MaterialDue || c.Stage != PairReady || c.Says() != "Signs show, but the nest waits." || !strings.Contains(c.Held, want) {
			t.Errorf("held because %q, material due %v; want %q", c.Held, c.MaterialDue, want)
		}
		if f := d.Feeding(d.Room.Place(a1)); f.Standing.MaterialDue || told(f.Notes, "Give nest material today") {
			t.Errorf("feeding says nest material is due while condition holds it: %v", f.Notes)
		}
		for _, j := range d.Jobs(d.Room.Place(a1)) {
			if j.Kind == MaterialJob || j.Kind == BoxJob {
				t.Errorf("%q is asked for", j.Title)
			}
		}
	}
	if c := ready().condition("2026-02-03"); !c.MaterialDue || c.Held != "" {
		t.Fatalf("nothing speaks against it, but %q", c.Held)
	}

	b := ready()
	b.add("2026-02-03", &aviary.OddSeen{Place: a1, What: "hen fluffed or low"})
	held(b, "hen looks ill")

	b = ready()
	for i, day := range []string{"2025-10-01", "2025-11-01", "2025-12-01"} {
		b.add(day, &aviary.BirdWeighed{Bird: hen, Grams: 15 + float64(i)/10})
	}
	b.add("2026-02-01", &aviary.BirdWeighed{Bird: hen, Grams: 13})
	held(b, "below her own weight")

	b = ready()
	b.add("2026-02-01", &aviary.PlaceChanged{Place: a1, BlockedUntil: ptr(aviary.MustDate("2026-02-20"))})
	held(b, "closed until 20 Feb")

	// A hen of five months: zebra hens are usually not bred before nine (the species' profile).
	b = zebras(t)
	young := id(15)
	b.add("2026-01-01", &aviary.BirdAcquired{Bird: young, Species: "zebra", Sex: aviary.Hen, Hatched: aviary.MustDate("2025-09-01"), Place: a2})
	b.add("2026-01-12", &aviary.PairEnded{Pair: pair1, Reason: "re-paired"})
	b.add("2026-01-12", &aviary.PairSet{Pair: id(22), Place: a1, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{young}})
	b.add("2026-02-02", signs("at the nest"))
	held(b, "its kind is usually not bred before")
}

// An ill hen is the first job of the room, in the engine's words; it cannot be put off, and no dose stands in it.
func TestRound_IllHenComesFirst(t *testing.T) {
	b := fedPair(t)
	b.add("2026-01-12", &aviary.PairSet{Pair: id(22), Place: a2, Cocks: []aviary.ID{cock2}, Hens: []aviary.ID{hen2}})
	b.add("2026-01-12", &aviary.BoxHung{Box: id(7), Place: a2})
	b.add("2026-02-01", &aviary.OddSeen{Place: a1, What: "water out"})
	b.add("2026-02-02", &aviary.NestCheck{Place: a2, Eggs: ptr(2), Chicks: ptr(0)})
	odd := b.add("2026-02-03", &aviary.OddSeen{Place: a2, What: "hen straining"})
	r := b.desk("2026-02-03").Round()
	j := r.Jobs[0]
	if j.Place.ID != a2 || !j.Urgent || j.Flag() != "At once" || j.Title != "Hen straining: see to her now" || j.Entry != odd.ID {
		t.Fatalf("first of all stands %q at %s", j.Title, j.Place.Name)
	}
	if !strings.Contains(j.Why, "egg-bound") || !strings.Contains(j.Why, "avian vet at once") || strings.Contains(j.Why, "ml") || strings.Contains(j.Why, "mg") {
		t.Errorf("it says %q", j.Why)
	}
	if want := (feed.Hen{Straining: true}).Look(feed.Laying)[0].Text; j.Why != want {
		t.Errorf("it says %q, the engine says %q", j.Why, want)
	}
	b.add("2026-02-03", &aviary.JobSkipped{Place: a2, Job: j.Key(), Until: aviary.MustDate("2026-02-05")})
	if r := b.desk("2026-02-03").Round(); r.Jobs[0].Entry != odd.ID || len(r.Later) > 0 {
		t.Error("it was put off")
	}
	if what, when := j.Tile(); what != "hen ill" || when != "at once" {
		t.Errorf("on the tile stands %q, %q", what, when)
	}
	b.add("2026-02-03", &aviary.Settled{Entry: odd.ID, How: "vet saw her"})
	if r := b.desk("2026-02-03").Round(); r.Jobs[0].Urgent {
		t.Error("it is still urgent once it is settled")
	}
	// Of a bird without a place it stands at her cage.
	b.add("2026-02-03", &aviary.OddSeen{Bird: hen, What: "hen fluffed or low"})
	if r := b.desk("2026-02-03").Round(); !r.Jobs[0].Urgent || r.Jobs[0].Place.ID != a1 {
		t.Errorf("first stands %q at %s", r.Jobs[0].Title, r.Jobs[0].Place.Name)
	}
}

// waits of eight first-time zebra pairs with a box from their first day: six lay, one is parted, one waits on.
func eightWaits(tb testing.TB) *book {
	b := &book{tb: tb}
	b.add("2025-01-01", &aviary.RoomSet{Zone: ptr("Europe/Dublin")})
	start := aviary.MustDate("2025-09-01")
	for i, x := range []struct {
		laid, parted aviary.Date
		eggs         int
	}{{5, 0, 1}, {7, 0, 1}, {8, 0, 1}, {11, 0, 3}, {12, 0, 1}, {14, 0, 1}, {0, 11, 0}, {0, 0, 0}} { // the fourth was looked at late: 3 eggs on day 11 are an egg on day 9
		b.pair(i, "zebra", start)
		switch {
		case x.laid != 0:
			b.add((start + x.laid).String(), &aviary.NestCheck{Place: id(100 + i), Eggs: &x.eggs, Chicks: ptr(0)})
		case x.parted != 0:
			b.add((start + x.parted).String(), &aviary.PairEnded{Pair: id(500 + i), Reason: "no eggs"})
		}
	}
	return b
}

// pair writes a cage, a cock, a hen and a box, and puts them together on a day.
func (b *book) pair(i int, slug string, day aviary.Date) {
	place, c, h := id(100+i), id(200+i), id(300+i)
	b.add("2025-01-01", &aviary.PlaceAdded{Place: place, Name: fmt.Sprintf("C%d", i), Type: aviary.Cage, Bank: "Bay 1", Row: 1, Col: i + 1})
	b.add("2025-01-01", &aviary.BirdAcquired{Bird: c, Species: slug, Sex: aviary.Cock, Hatched: aviary.MustDate("2024-01-01"), Place: place})
	b.add("2025-01-01", &aviary.BirdAcquired{Bird: h, Species: slug, Sex: aviary.Hen, Hatched: aviary.MustDate("2024-01-01"), Place: place})
	b.add(day.String(), &aviary.PairSet{Pair: id(500 + i), Place: place, Cocks: []aviary.ID{c}, Hens: []aviary.ID{h}})
	b.add(day.String(), &aviary.BoxHung{Box: id(700 + i), Place: place})
}

// By hand, days from 0: 7/8 wait after day 5, 6/8 after 7, 5/8 after 8, 4/8 after 9; one is parted on day 11 and was watched
// to day 10; 2/3 of the 4/8 wait after day 12, half of that after day 14. So 1 in 10 have laid by day 5, half by day 9, and
// 9 in 10 never within what was watched. Of those who waited 8 days 4/5 wait after day 9, 4/5·2/3 after 12, half of that after 14:
// the days from there are 9 and 14.
func TestWait_ByHand(t *testing.T) {
	b := eightWaits(t)
	b.pair(8, "zebra", aviary.MustDate("2025-09-30"))
	at := func(day string) *Wait {
		d := b.desk(day)
		return d.Wait(d.Condition(d.Room.Place(id(108))))
	}
	w := at("2025-09-30")
	if w.Level != KindWaits || w.Waits != 8 || w.Laid != 6 || w.Open != 2 || w.Waited != 0 || !w.Started {
		t.Fatalf("it rests on %+v", w)
	}
	if w.Early != 5 || w.Likely != 9 || !w.LikelyKnown || w.LateKnown {
		t.Errorf("days %d, %d and %d (%v), want 5, 9 and none", w.Early, w.Likely, w.Late, w.LateKnown)
	}
	if want := "First egg from 5 Oct, half by 9 Oct; more than 1 in 10 wait longer than any was watched."; w.Says() != want {
		t.Errorf("says %q, want %q", w.Says(), want)
	}
	if want := "Rests on 8 waits of this room, from the day on which pair and nest box were together to the first egg, first-time Zebra finch pairs: 6 ended with an egg; 2 were cut short or still go on, and count for as long as they were watched. Product-limit estimate (Kaplan and Meier 1958)."; w.Basis() != want {
		t.Errorf("rests on %q, want %q", w.Basis(), want)
	}
	if w = at("2025-10-08"); w.Waited != 8 || w.As != 5 || w.Early != 9 || w.Likely != 14 {
		t.Errorf("after 8 days: %+v", w)
	}
	if k := w.Week; !k.Known || k.AtRisk != 5 || k.Events != 3 || k.Value < 0.733 || k.Value > 0.734 { // 1 - 4/5·2/3·1/2 of those who waited 8 days
		t.Errorf("within 7 days: %+v", k)
	}
	if want := "Within 7 days: 7 in 10 (3 in 10 or more)."; w.WeekSays() != want {
		t.Errorf("says %q, want %q", w.WeekSays(), want)
	}
	// After 15 days one still waits: too few to tell.
	if w = at("2025-10-15"); !w.Longer || w.As != 1 || w.Short() != "longer than most" {
		t.Errorf("after 15 days: %+v, %q", w, w.Short())
	}
}

// A pair that has had eggs is not judged by first-time pairs while there are enough of its own; then by its species, by the
// room, by common practice.
func TestWait_OwnKindFirst(t *testing.T) {
	b := eightWaits(t)
	at := func(i int, day string) *Wait {
		d := b.desk(day)
		return d.Wait(d.Condition(d.Room.Place(id(100 + i))))
	}
	b.pair(9, "gouldian", aviary.MustDate("2025-10-01"))
	if w := at(9, "2025-10-01"); w.Level != RoomWaits || w.Waits != 8 {
		t.Errorf("a Gouldian pair rests on %+v, want all pairs of the room", w)
	}
	// The same zebra pairs a year later, each parted and put together again: they have had eggs now, and take 20 days.
	again := aviary.MustDate("2026-09-01")
	for i := range 6 {
		b.add("2025-12-01", &aviary.NestCheck{Place: id(100 + i), Eggs: ptr(0), Chicks: ptr(0)})
		b.add("2025-12-02", &aviary.PairEnded{Pair: id(500 + i), Reason: "season over"})
		b.add(again.String(), &aviary.PairSet{Pair: id(600 + i), Place: id(100 + i), Cocks: []aviary.ID{id(200 + i)}, Hens: []aviary.ID{id(300 + i)}})
		b.add((again + 20).String(), &aviary.NestCheck{Place: id(100 + i), Eggs: ptr(1), Chicks: ptr(0)})
	}
	b.pair(10, "zebra", aviary.MustDate("2026-10-01"))
	if w := at(10, "2026-10-01"); w.Level != KindWaits || w.Waits != 8 || w.Likely != 9 {
		t.Errorf("a first-time pair rests on %+v, want the 8 first-time waits", w)
	}
	b.add("2026-10-02", &aviary.PairSet{Pair: id(611), Place: id(107), Cocks: []aviary.ID{id(206)}, Hens: []aviary.ID{id(303)}})
	b.add("2026-10-02", &aviary.PairEnded{Pair: id(507), Reason: "re-paired"})
	if d := b.desk("2026-10-03"); d.Condition(d.Room.Place(id(107))).FirstTime {
		t.Error("a hen that has had eggs makes no first-time pair")
	}
	if w := at(7, "2026-10-03"); w.Level != KindWaits || w.Waits != 6 || w.Likely != 20 || w.Early != 20 {
		t.Errorf("a pair with a hen that has had eggs rests on %+v, want the 6 waits of pairs that have had eggs", w)
	}

	few := zebras(t)
	d := few.desk("2026-01-12")
	w := d.Wait(d.Condition(d.Room.Place(a1)))
	if w.Level != PracticeWaits || w.Early != 6 || w.Late != 21 || !strings.HasPrefix(w.Basis(), "Common practice, no source") {
		t.Errorf("in a room without waits: %+v, %q", w, w.Basis())
	}
}

// What happens after a day changes nothing of what was known on it.
func TestWait_NothingFromTheFuture(t *testing.T) {
	b := eightWaits(t)
	for day := aviary.MustDate("2025-09-01"); day < aviary.MustDate("2025-09-22"); day++ {
		known := &book{tb: t}
		for _, e := range b.list {
			if e.Day <= day {
				known.list = append(known.list, e)
			}
		}
		whole := At(aviary.Replay(b.list), day, 0).waits()
		if diff := cmp.Diff(known.desk(day.String()).waits(), whole, cmp.AllowUnexported(pastWait{})); diff != "" {
			t.Fatalf("%s: with what came later (+) and without (-):\n%s", day, diff)
		}
	}
}

// A wait is cut short by a moult or rest, by a box taken out, by foreign eggs, by a bird that is gone; what was together before
// the books began has no known start.
func TestWaits_CutShort(t *testing.T) {
	start := aviary.MustDate("2025-09-01")
	for _, x := range []struct {
		name string
		add  func(b *book)
		want string
	}{
		{"waits on", func(*book) {}, "set-up 0–30"},
		{"parted", func(b *book) { b.add("2025-09-12", &aviary.PairEnded{Pair: id(500), Reason: "no eggs"}) }, "set-up 0–10"},
		{"rest begun", func(b *book) { b.add("2025-09-11", &aviary.PhaseBegun{Phase: "rest"}) }, "set-up 0–9"},
		{"moult planned", func(b *book) { b.add("2025-01-03", &aviary.FeedPlanned{Moult: aviary.MustDate("2025-09-21")}) }, "set-up 0–19"},
		{"box taken and hung again", func(b *book) {
			b.add("2025-09-11", &aviary.BoxTaken{Box: id(700), Place: id(100)})
			b.add("2025-09-21", &aviary.BoxHung{Box: id(800), Place: id(100)})
		}, "set-up 0–9, set-up 0–10"},
		{"hen dies", func(b *book) { b.add("2025-09-15", &aviary.BirdDied{Bird: id(300)}) }, "set-up 0–13"},
		{"cock taken away", func(b *book) {
			b.add("2025-01-02", &aviary.PlaceAdded{Place: id(199), Name: "H", Type: aviary.Hospital})
			b.add("2025-09-15", &aviary.BirdMoved{Bird: id(200), Place: id(199)})
		}, "set-up 0–13"},
		{"lays, loses it, lays again", func(b *book) {
			b.add("2025-09-09", &aviary.NestCheck{Place: id(100), Eggs: ptr(1), Chicks: ptr(0)})
			b.add("2025-09-13", &aviary.NestCheck{Place: id(100), Eggs: ptr(0), Chicks: ptr(0)})
			b.add("2025-09-20", &aviary.NestCheck{Place: id(100), Eggs: ptr(1), Chicks: ptr(0)})
		}, "set-up 0–8 egg, clutch 0–7 egg"},
		{"foreign eggs", func(b *book) {
			b.pair(1, "zebra", start)
			b.add("2025-09-05", &aviary.NestCheck{Place: id(101), Eggs: ptr(3), Chicks: ptr(0)})
			b.add("2025-09-09", &aviary.NestMoved{Place: id(101), ToPlace: id(100), Eggs: 2})
		}, "set-up 0–7, set-up 0–2 egg"},
	} {
		b := &book{tb: t}
		b.add("2025-01-01", &aviary.RoomSet{Zone: ptr("Europe/Dublin")})
		b.pair(0, "zebra", start)
		x.add(b)
		var got []string
		for _, w := range b.desk("2025-10-01").waits() {
			s := [...]string{"set-up", "clutch"}[w.from] + fmt.Sprintf(" %d–%d", w.spell.From, w.spell.To)
			if w.spell.Event {
				s += " egg"
			}
			got = append(got, s)
		}
		if s := strings.Join(got, ", "); s != x.want {
			t.Errorf("%s: %s, want %s", x.name, s, x.want)
		}
	}
	b := &book{tb: t}
	b.add("2025-01-01", &aviary.PlaceAdded{Place: id(100), Name: "C0", Type: aviary.Cage})
	b.add("2025-01-01", &aviary.BirdAcquired{Bird: id(200), Species: "zebra", Sex: aviary.Cock, Place: id(100), Found: true})
	b.add("2025-01-01", &aviary.BirdAcquired{Bird: id(300), Species: "zebra", Sex: aviary.Hen, Place: id(100), Found: true})
	b.add("2025-01-01", &aviary.PairSet{Pair: id(500), Place: id(100), Cocks: []aviary.ID{id(200)}, Hens: []aviary.ID{id(300)}, Found: true})
	b.add("2025-01-01", &aviary.BoxHung{Box: id(700), Place: id(100)})
	if got := b.desk("2025-02-01").waits(); len(got) > 0 {
		t.Errorf("a pair that was together before the books began has the waits %+v", got)
	}
}

// Whatever is written, a cage speaks with one voice, a pair at rest is left alone, and no figure is off.
func TestCondition_Laws(t *testing.T) {
	start := aviary.MustDate("2026-01-10")
	rapid.Check(t, func(rt *rapid.T) {
		b := zebras(t)
		if rapid.Bool().Draw(rt, "planned") {
			b.add("2025-11-01", &aviary.FeedPlanned{Preparation: start - 20, Conditioning: start, Moult: start + 70})
		}
		n := rapid.IntRange(0, 12).Draw(rt, "entries")
		var when []int
		for range n {
			when = append(when, rapid.IntRange(0, 80).Draw(rt, "day"))
		}
		slices.Sort(when)
		hung := true
		for _, w := range when {
			day := (start + aviary.Date(w)).String()
			switch rapid.IntRange(0, 7).Draw(rt, "what") {
			case 0, 1:
				b.add(day, signs(rapid.SampledFrom(aviary.Signs).Draw(rt, "sign")))
			case 2:
				b.add(day, &aviary.MaterialGiven{Place: a1})
			case 3:
				b.add(day, &aviary.PhaseBegun{Phase: rapid.SampledFrom(aviary.BegunPhases).Draw(rt, "phase"), Places: []aviary.ID{a1}})
			case 4:
				if hung {
					b.add(day, &aviary.NestCheck{Place: a1, Eggs: ptr(rapid.IntRange(0, 2).Draw(rt, "eggs")), Chicks: ptr(0)})
				}
			case 5:
				b.add(day, &aviary.OddSeen{Place: a1, What: "hen fluffed or low"})
			case 6:
				if hung {
					b.add(day, &aviary.BoxTaken{Box: box1, Place: a1})
					hung = false
				}
			case 7:
				b.add(day, &aviary.BirdWeighed{Bird: hen, Grams: float64(rapid.IntRange(9, 20).Draw(rt, "grams"))})
			}
		}
		day := start + aviary.Date(rapid.IntRange(80, 90).Draw(rt, "today"))
		d := b.desk(day.String())
		p := d.Room.Place(a1)
		c := d.Condition(p)
		jobs := d.Jobs(p)
		voices := 0
		for _, j := range jobs {
			if j.Kind == MaterialJob || j.Kind == BoxJob || j.Kind == NoNestJob {
				voices++
			}
		}
		ill := len(d.oddsAt(a1)) > 0
		switch {
		case voices > 1:
			rt.Fatalf("%d jobs about a nest that is not there", voices)
		case c.MaterialDue && c.BoxDue:
			rt.Fatal("box and material are both due")
		case (c.Stage == PairResting && c.FoodNoted || c.Stage == PairPreparing || c.Stage == PairNesting || ill) && voices > 0:
			rt.Fatalf("%s, ill %v, and asked for a nest", c.Stage, ill)
		case ill && (len(jobs) == 0 || !jobs[0].Urgent):
			rt.Fatal("an ill hen does not come first")
		case c.MaterialDue && !d.Feeding(p).Standing.MaterialDue && c.FoodNoted:
			rt.Fatal("condition proposes what feeding does not")
		case d.Feeding(p).Standing.MaterialDue && c.Stage != PairNesting && c.Held != "":
			rt.Fatal("feeding proposes what condition holds")
		}
		for _, s := range c.Signs {
			if !slices.IsSorted(s.Days) || s.First() < c.Since || s.Last() > d.Today {
				rt.Fatalf("signs %+v since %s", s, c.Since)
			}
		}
		if w := d.Wait(c); w != nil {
			if (w.EarlyKnown && w.LikelyKnown && w.Early > w.Likely) || (w.LikelyKnown && w.LateKnown && !w.Longer && w.Likely > w.Late) || w.Says() == "" || w.Basis() == "" || w.Short() == "" {
				rt.Fatalf("%+v", w)
			}
		}
	})
}

// The books asked for one pair, and for all birds at once, say the same.
func TestFirstTime_AgreesWithAllBirds(t *testing.T) {
	b := eightWaits(t)
	b.add("2025-10-20", &aviary.PairEnded{Pair: id(507), Reason: "re-paired"})
	b.add("2025-10-21", &aviary.PairSet{Pair: id(611), Place: id(107), Cocks: []aviary.ID{id(206)}, Hens: []aviary.ID{id(303)}})
	d := b.desk("2025-11-01")
	laid := d.firstClutches()
	for _, p := range d.Room.Places() {
		for _, pair := range d.Room.PairsAt(p.ID) {
			for day := pair.From; day <= d.Today; day++ {
				want := true
				for _, id := range pair.Birds() {
					if first, ok := laid[id]; ok && first < day {
						want = false
					}
				}
				if got := d.firstTime(pair, day); got != want {
					t.Fatalf("%s on %s: first time %v, want %v", p.Name, day, got, want)
				}
			}
		}
	}
}

func TestReadiness_Headline(t *testing.T) {
	b := fedPair(t)
	say := func(day, want string) {
		t.Helper()
		if got := b.desk(day).Readiness().Headline(); got != want {
			t.Errorf("%s: %q, want %q", day, got, want)
		}
	}
	say("2026-01-09", "No pair is set up yet.")
	say("2026-01-12", "None of 1 pair is ready for nest material yet.")
	b.add("2026-01-12", &aviary.PairSet{Pair: id(22), Place: a2, Cocks: []aviary.ID{cock2}, Hens: []aviary.ID{hen2}})
	b.add("2026-01-13", signs("at the nest"))
	say("2026-01-13", "1 of 2 pairs is ready for nest material.")
	b.add("2026-01-13", &aviary.MaterialGiven{Place: a1})
	b.add("2026-01-14", signs("building"))
	say("2026-01-14", "1 of 2 pairs builds; none waits for nest material.")
	b.add("2026-01-20", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(0)})
	say("2026-01-20", "None of 1 pair is ready for nest material yet.")
}

// A hen that builds is never called fat: her egg weighs with her.
func TestWeight_HenAboutToLay(t *testing.T) {
	b := fedPair(t)
	for _, day := range []string{"2025-10-01", "2025-11-01", "2025-12-01"} {
		b.add(day, &aviary.BirdWeighed{Bird: hen, Grams: 15})
	}
	b.add("2026-02-05", &aviary.BirdWeighed{Bird: hen, Grams: 17.6})
	if w := b.desk("2026-02-05").Bird(hen).Weight; w.Verdict != feed.Fat || w.Gravid || w.Baseline != 15 {
		t.Errorf("a hen that is not about to lay: %s, gravid %v, own weight %v", w.Verdict, w.Gravid, w.Baseline)
	}
	b.add("2026-02-04", signs("building"))
	if w := b.desk("2026-02-05").Bird(hen).Weight; w.Verdict != feed.WeightFine || !w.Gravid {
		t.Errorf("a hen that builds: %s, gravid %v", w.Verdict, w.Gravid)
	}
	if w := b.desk("2026-02-05").Bird(hen).Weight; w.Trend() != "" {
		t.Errorf("weighed once in six weeks: the trend is %q", w.Trend())
	}
	b.add("2026-01-26", &aviary.BirdWeighed{Bird: hen, Grams: 15})
	if w := b.desk("2026-02-05").Bird(hen).Weight; w.Trend() != "rising" {
		t.Errorf("2.6 g more in ten days: %q", w.Trend())
	}
	if w := b.desk("2026-02-05").Bird(cock).Weight; w.Gravid || w.Verdict != feed.WeightUnknown {
		t.Errorf("a cock that was never weighed: %s, gravid %v", w.Verdict, w.Gravid)
	}
}
