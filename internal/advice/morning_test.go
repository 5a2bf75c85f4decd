package advice

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// aviaryOf is a room of so many cages in banks of ten with a pair each, in all stages of a season drawn by pick, and a flight.
func aviaryOf(tb testing.TB, cages int, pick func(label string, most int) int) *book {
	b := &book{tb: tb}
	b.add("2025-01-01", &aviary.RoomSet{Zone: ptr("Europe/Dublin"), Volume: ptr([]string{"ml", "tsp", "oz"}[pick("unit", 2)])})
	slugs := []string{"zebra", "gouldian", "bengalese", "cordon-bleu", "blue-faced"}
	plan := roomPlan()
	b.feedPlan("2025-12-01", plan)
	plan.Name, plan.Species, plan.Conditioning = "Gouldians", []string{"gouldian"}, aviary.MustDate("2026-01-25")
	b.feedPlan("2025-12-01", plan)
	b.add("2025-01-01", &aviary.PlaceAdded{Place: flight, Name: "Flight 1", Type: aviary.Flight})
	for i := range pick("birds in the flight", 20) {
		b.add("2025-01-02", &aviary.BirdAcquired{Bird: id(9000 + i), Species: slugs[i%len(slugs)], Place: flight})
	}
	for i := range cages {
		place, cock, hen := id(2000+i), id(3000+i), id(5000+i)
		slug := slugs[pick("species", len(slugs)-1)]
		b.add("2025-01-01", &aviary.PlaceAdded{Place: place, Name: fmt.Sprintf("C%03d", i), Type: aviary.Cage, Bank: fmt.Sprintf("Bay %d", i/10)})
		b.add("2025-01-02", &aviary.BirdAcquired{Bird: cock, Species: slug, Sex: aviary.Cock, Place: place})
		b.add("2025-01-02", &aviary.BirdAcquired{Bird: hen, Species: slug, Sex: aviary.Hen, Place: place})
		if pick("weighed", 1) == 1 {
			b.add("2026-01-05", &aviary.BirdWeighed{Bird: hen, Grams: float64(9 + pick("grams", 12))})
		}
		stage := pick("stage", 6)
		if stage == 0 {
			continue
		}
		b.add("2026-01-06", &aviary.PairSet{Pair: id(7000 + i), Place: place, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}})
		if stage > 1 {
			b.add("2026-01-06", &aviary.PhaseBegun{Phase: "conditioning", Places: []aviary.ID{place}})
		}
		if stage > 2 {
			b.add("2026-01-28", &aviary.NestCheck{Place: place, Signs: []string{"building"}})
		}
		if stage > 3 {
			b.add("2026-01-30", &aviary.NestCheck{Place: place, Eggs: ptr(0), Chicks: ptr(0)})
			b.add("2026-02-03", &aviary.NestCheck{Place: place, Eggs: ptr(1 + pick("eggs", 5))})
		}
		if stage > 4 {
			b.add("2026-02-20", &aviary.NestCheck{Place: place, Eggs: ptr(0), Chicks: ptr(1 + pick("chicks", 5))})
		}
		if stage == 6 {
			b.add("2026-02-21", &aviary.IntakeSeen{Places: []aviary.ID{place}, Share: 0.5})
		}
	}
	return b
}

// The totals of a morning are the sum over its cages, and so are its lines: what is bought and what is put out are one.
func TestMorning_TotalsAreTheSumOverCages(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		pick := func(label string, most int) int { return rapid.IntRange(0, most).Draw(rt, label) }
		b := aviaryOf(t, 1+pick("cages", 24), pick)
		d := b.desk("2026-02-21")
		m := d.Morning()
		total := map[feed.ItemKind]float64{}
		lines := map[feed.ItemKind]float64{}
		cages := map[feed.ItemKind]int{}
		for _, p := range d.Room.Places() {
			f := d.Feeding(p)
			if f == nil {
				continue
			}
			for _, it := range f.Items {
				if it.ML < 0 || it.Grams < 0 || math.IsNaN(it.ML+it.Grams) || (it.Kind == feed.DrySeed && it.ML == 0) {
					rt.Fatalf("%s gets %+v", p.Name, it)
				}
				total[it.Kind] += it.ML
			}
		}
		places := 0
		for _, bank := range m.Banks {
			places += len(bank.Places)
			for _, mix := range bank.Mixes() {
				for _, p := range mix.Places {
					f := d.Feeding(p)
					if got := ml(f, feed.SproutedSeed) + ml(f, feed.SoftEggFood); math.Abs(got-mix.ML) > 0.001 {
						rt.Fatalf("%s gets %.3f ml of the mix and stands under %.3f", p.Name, got, mix.ML)
					}
				}
			}
			for _, l := range bank.Lines {
				lines[l.Kind] += l.ML * float64(len(l.Places))
				cages[l.Kind] += len(l.Places)
				for _, p := range l.Places {
					if p.Bank != bank.Name {
						rt.Fatalf("%s of %q stands under %q", p.Name, p.Bank, bank.Name)
					}
				}
				if l.Source == "" {
					rt.Fatalf("%s has no basis", l.Kind)
				}
			}
		}
		if places != len(m.Feedings) {
			rt.Fatalf("%d places stand in banks, %d are fed", places, len(m.Feedings))
		}
		for _, x := range m.Totals {
			if math.Abs(x.ML-total[x.Kind]) > 1e-6 || math.Abs(lines[x.Kind]-total[x.Kind]) > 1e-6 || cages[x.Kind] != x.Cages || math.Abs(x.Left-x.ML) > 1e-6 {
				rt.Fatalf("%s: total %.4f ml, lines %.4f, cages %.4f, left %.4f", x.Kind, x.ML, lines[x.Kind], total[x.Kind], x.Left)
			}
		}
		// Given, all of it: nothing is left, and the amounts written add up to the totals.
		written := map[string]float64{}
		for _, body := range m.Giving() {
			if g, ok := body.(*aviary.FoodGiven); ok && g.Amount != nil {
				written[g.Food] += *g.Amount * float64(len(g.Places))
			}
			b.add("2026-02-21", body)
		}
		after := b.desk("2026-02-21").Morning()
		if after.ToFeed() != 0 || len(after.Giving()) != 0 {
			rt.Fatalf("all given, and %d places still wait", after.ToFeed())
		}
		for _, x := range after.Totals {
			if x.Left != 0 || math.Abs(written[x.Kind.String()]-x.ML) > 0.001*float64(x.Cages) {
				rt.Fatalf("%s: %.3f ml written, %.3f ml given, %.3f left", x.Kind, written[x.Kind.String()], x.ML, x.Left)
			}
		}
	})
}

// One bank at a time; what was given in the whole room counts everywhere; yesterday does not count.
func TestMorning_Given(t *testing.T) {
	even := func(string, int) int { return 2 }
	b := aviaryOf(t, 20, func(l string, most int) int { return min(even(l, most), most) })
	m := b.desk("2026-01-20").Morning()
	if len(m.Banks) != 3 || m.ToFeed() != 21 || m.Banks[2].Label() != "Flights" {
		t.Fatalf("%d banks, %d to feed", len(m.Banks), m.ToFeed())
	}
	for _, body := range m.Giving("Bay 0") {
		b.add("2026-01-20", body)
	}
	m = b.desk("2026-01-20").Morning()
	if m.Banks[0].Open() || !m.Banks[1].Open() || m.ToFeed() != 11 {
		t.Errorf("Bay 0 given: %d still to feed", m.ToFeed())
	}
	if m := b.desk("2026-01-21").Morning(); m.ToFeed() != 21 {
		t.Errorf("the next morning %d are to feed", m.ToFeed())
	}
	b.add("2026-01-19", &aviary.FoodGiven{Food: "dry seed"}) // yesterday, in the whole room
	b.add("2026-01-20", &aviary.FoodGiven{Food: "sprouted seed"})
	for _, l := range b.desk("2026-01-20").Morning().Banks[1].Lines {
		if (len(l.Left) == 0) != (l.Kind == feed.SproutedSeed) {
			t.Errorf("sprouted seed given in the whole room: %s left at %d", l.Kind, len(l.Left))
		}
	}
}

// Urgent hens stand on top, and warnings beside their cage.
func TestMorning_UrgentHen(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-12", &aviary.OddSeen{Place: a1, What: "hen straining"})
	m := b.desk("2026-01-12").Morning()
	if len(m.Urgent) != 1 || m.Urgent[0].Place.ID != a1 {
		t.Errorf("urgent: %v", m.Urgent)
	}
}

// A store runs out when what the phases ask for adds up to it, worked here by hand: two zebra pairs and nothing else, dry seed alone
// in the rest, so the use is the same each day.
func TestStores_RunOut(t *testing.T) {
	b := zebras(t)
	d := b.desk("2026-01-12")
	var daily float64
	for _, p := range d.Room.Places() {
		if f := d.Feeding(p); f != nil {
			_, g := feed.Sum(f.Items, feed.DrySeed)
			daily += g
		}
	}
	b.add("2026-01-10", &aviary.StoreCounted{Food: "white-millet", Grams: daily * 10.5, OrderDays: ptr(4)})
	b.add("2026-01-10", &aviary.StoreCounted{Food: "cuttlebone", Grams: 100})
	b.add("2026-01-10", &aviary.StoreCounted{Food: "my own flakes", Grams: 100})
	got := b.desk("2026-01-12").Stores()
	if len(got) != 3 {
		t.Fatalf("%d stores", len(got))
	}
	s := got[0]
	// Ten whole days from 10 January: the last is the 19th; four days to order leave the 15th.
	if s.Name != "White millet" || s.Last() != aviary.MustDate("2026-01-19") || s.OrderBy() != aviary.MustDate("2026-01-15") || math.Abs(s.Today-daily) > 1e-6 {
		t.Errorf("%s lasts until %s, order by %s, %.2f g a day; want 19 Jan, 15 Jan, %.2f", s.Name, s.Last(), s.OrderBy(), s.Today, daily)
	}
	if math.Abs(s.Run.Left-daily*8.5) > 1e-6 {
		t.Errorf("%.2f g left, want %.2f", s.Run.Left, daily*8.5)
	}
	if !s.Pressing(aviary.MustDate("2026-01-12"), pressing) || len(b.desk("2026-01-12").Morning().Stores) != 1 {
		t.Error("a store that is to be ordered in three days does not stand on the morning's list")
	}
	for _, s := range got[1:] {
		if s.Known || s.Why == "" {
			t.Errorf("%s: use known %v, %q", s.Name, s.Known, s.Why)
		}
	}
	// Counted anew: the last count stands, and what an order takes is remembered.
	b.add("2026-01-12", &aviary.StoreCounted{Food: "white-millet", Grams: daily * 60})
	s = b.desk("2026-01-12").Stores()[0]
	if s.Last() != aviary.MustDate("2026-03-12") || s.OrderBy() != s.Last()-4 {
		t.Errorf("counted anew: last %s, order by %s", s.Last(), s.OrderBy())
	}
	// Two stores of seed are used side by side.
	b.add("2026-01-12", &aviary.StoreCounted{Food: "panicum", Grams: daily * 20})
	for _, s := range b.desk("2026-01-12").Stores() {
		if s.Kind == feed.KindSeed && s.Last() != aviary.MustDate("2026-04-01") {
			t.Errorf("%s lasts until %s, want both until 1 Apr (80 days)", s.Name, s.Last())
		}
	}
	if s := b.desk("2026-12-12").Stores()[0]; s.Known || !s.Old {
		t.Errorf("a count of eleven months ago still says %+v", s)
	}
}

// Sprouted seed draws on the seed that is kept for it; without such a store, on all seed.
func TestStores_SproutsDrawOnTheirOwnSeed(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-10", &aviary.PhaseBegun{Phase: "conditioning"})
	b.add("2026-01-12", &aviary.StoreCounted{Food: "white-millet", Grams: 1000})
	all := b.desk("2026-01-12").Stores()[0].Today
	b.add("2026-01-12", &aviary.StoreCounted{Food: "chitted-seed", Grams: 1000})
	var seed, sprouts float64
	for _, s := range b.desk("2026-01-12").Stores() {
		switch s.Kind {
		case feed.KindSeed:
			seed = s.Today
		case feed.KindSprouts:
			sprouts = s.Today
		}
	}
	// Two pairs: two level teaspoons of chitted seed, by package feed's figure for dry millet.
	_, want := feed.DrySeedFor(2*feed.Teaspoon, 0)
	if math.Abs(sprouts-want) > 1e-9 || math.Abs(seed+sprouts-all) > 1e-9 {
		t.Errorf("dry seed %.2f g and %.2f g for sprouting; want %.2f g of %.2f g", seed, sprouts, want, all)
	}
}

// What is foreseen counts eggs as chicks from their likely hatch on.
func TestUsage_ForeseesTheHatch(t *testing.T) {
	d := nesting(t).desk("2026-01-30")
	if now, then := d.usageOn(d.Today), d.usageOn(d.Today+20); then.egg < 2*now.egg || then.sprouts < 2*now.sprouts {
		t.Errorf("egg food %.2f g now and %.2f g with five chicks, sprouted seed %.2f and %.2f ml", now.egg, then.egg, now.sprouts, then.sprouts)
	}
}

// Bands run along the plan, are replaced by what really began, and are guesses after today.
func TestFeedBands(t *testing.T) {
	b := zebras(t)
	plan := roomPlan()
	plan.Name, plan.Species = "Zebras", []string{"zebra"}
	b.feedPlan("2025-12-01", plan)
	b.add("2026-01-12", &aviary.PhaseBegun{Phase: "conditioning"})
	bands := b.desk("2026-01-20").FeedBands(aviary.MustDate("2025-12-01"), aviary.MustDate("2026-12-31"))
	if len(bands) != 1 || bands[0].Name != "Zebras" {
		t.Fatalf("bands: %v", bands)
	}
	want := []string{
		"preparation 1 Jan to 11 Jan", "conditioning 12 Jan to 20 Jan", "conditioning 21 Jan to 25 Jan, guess", "egg food 26 Jan to 30 Jun, guess",
		"moult 1 Jul to 31 Aug, guess", "rest 1 Sep to 31 Dec, guess",
	}
	var got []string
	for _, s := range bands[0].Spans {
		line := fmt.Sprintf("%s %s to %s", s.Phase, s.From.Short(), s.To.Short())
		if s.Guess {
			line += ", guess"
		}
		got = append(got, line)
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

// A morning of 100 cages is worked out in a few ms.
func TestMorning_Speed(t *testing.T) {
	n := 0
	b := aviaryOf(t, 100, func(_ string, most int) int { n++; return n % (most + 1) })
	for _, s := range []string{"white-millet", "chitted-seed", "egg-food"} {
		b.add("2026-02-10", &aviary.StoreCounted{Food: s, Grams: 9000, OrderDays: ptr(5)})
	}
	r := aviary.Replay(b.list)
	best := time.Hour
	for range 5 {
		d := At(r, aviary.MustDate("2026-02-21"), 0)
		start := time.Now()
		d.Morning()
		best = min(best, time.Since(start))
	}
	t.Logf("a morning of 100 cages takes %v", best)
	if best > 200*time.Millisecond { // far above what it takes, for a machine that many share
		t.Errorf("a morning of 100 cages takes %v", best)
	}
}
