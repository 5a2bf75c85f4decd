package advice

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"broodlight/internal/aviary"
	"broodlight/internal/journal/journaltest"
)

var (
	pair2, box2     = id(22), id(6)
	bengal, bengal2 = id(31), id(32)
)

// seasonRoom is the room of zebras, with a pair of Bengalese in A2 since 10 January 2026. The season began on 1 August 2025.
func seasonRoom(tb testing.TB) *book {
	b := zebras(tb)
	b.add("2025-01-02", &aviary.BirdAcquired{Bird: bengal, Species: "bengalese", Sex: aviary.Cock, Hatched: aviary.MustDate("2024-03-01"), Place: flight})
	b.add("2025-01-02", &aviary.BirdAcquired{Bird: bengal2, Species: "bengalese", Sex: aviary.Hen, Hatched: aviary.MustDate("2024-03-01"), Place: flight})
	b.add("2026-01-10", &aviary.PairSet{Pair: pair2, Place: a2, Cocks: []aviary.ID{bengal}, Hens: []aviary.ID{bengal2}})
	b.add("2026-01-10", &aviary.BoxHung{Box: box2, Place: a2})
	return b
}

func (b *book) look(day string, place aviary.ID, c aviary.NestCheck) *aviary.Entry {
	c.Place = place
	return b.add(day, &c)
}

func (b *book) season(q SeasonQuery, today string) *Season {
	b.tb.Helper()
	s, ok := b.desk(today).Season(q, nil)
	if !ok {
		b.tb.Fatalf("the books do not reach to the season of %s", q.On)
	}
	return s
}

func (s *Season) of(tb testing.TB, slug string) SeasonRow {
	tb.Helper()
	for _, r := range s.Rows {
		if slugOf(r.Species) == slug {
			return r
		}
	}
	return SeasonRow{}
}

func laneAt(tb testing.TB, s *Season, place aviary.ID) *SeasonLane {
	tb.Helper()
	for _, l := range s.Lanes {
		if l.Place.ID == place {
			return l
		}
	}
	tb.Fatal("no lane for the place")
	return nil
}

// five is a clutch of five eggs in A1: first egg on 14 January, sat on from the 17th, chicks from 30 January.
func (b *book) five(place aviary.ID) {
	b.look("2026-01-13", place, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(0)})
	for i, day := range []string{"2026-01-14", "2026-01-15", "2026-01-16", "2026-01-17", "2026-01-18"} {
		b.look(day, place, aviary.NestCheck{Eggs: ptr(i + 1), Chicks: ptr(0)})
	}
}

func words(n int, word string) []string { return slices.Repeat([]string{word}, n) }

var chick = []aviary.ID{id(41), id(42), id(43), id(44), id(45)}

func (b *book) ring(day string, place aviary.ID, n int, slug string) {
	for i := range n {
		b.add(day, &aviary.ChickRinged{Bird: chick[i], Place: place, Species: slug, Ring: aviary.Ring{Issuer: "FC", Year: 2026, Number: fmt.Sprint(i + 1)}})
	}
}

func TestSeason_Counts(t *testing.T) {
	for _, tt := range []struct {
		name  string
		write func(b *book)
		today string
		want  SeasonCounts // of all, without the pairs
	}{
		{"a clutch from egg to weaned young", func(b *book) {
			b.five(a1)
			b.look("2026-01-24", a1, aviary.NestCheck{Eggs: ptr(5), Candled: append(words(4, "fertile"), "clear")})
			b.look("2026-01-31", a1, aviary.NestCheck{Eggs: ptr(1), Chicks: ptr(4), Removed: ptr(1), RemovedWhy: "clear"})
			b.ring("2026-02-08", a1, 3, "zebra")
			b.look("2026-02-20", a1, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(0), Out: ptr(4)})
			b.add("2026-03-08", &aviary.YoungWeaned{Place: a1, Birds: chick[:3], Unringed: 1, Group: id(60), Species: "zebra", To: flight})
		}, "2026-03-20", SeasonCounts{
			Clutches: 1, Eggs: 5, Full: 4, Hatched: 4, Ringed: 3, Fledged: 4, Weaned: 4,
			FullOf: Share{4, 5}, HatchedOf: Share{4, 5}, FledgedOf: Share{4, 4}, WeanedOf: Share{4, 4},
		}},
		{"what was not candled is not known", func(b *book) { b.five(a1) }, "2026-01-22", SeasonCounts{Clutches: 1, Eggs: 5, NotKnown: 5}},
		{"three of five candled", func(b *book) {
			b.five(a1)
			b.look("2026-01-24", a1, aviary.NestCheck{Candled: []string{"fertile", "fertile", "clear"}})
		}, "2026-01-25", SeasonCounts{Clutches: 1, Eggs: 5, Full: 2, NotKnown: 2, FullOf: Share{2, 3}}},
		{"hatched without candling is full, and in no share of candled eggs", func(b *book) {
			b.five(a1)
			b.look("2026-01-31", a1, aviary.NestCheck{Eggs: ptr(2), Chicks: ptr(3)})
		}, "2026-02-01", SeasonCounts{Clutches: 1, Eggs: 5, Full: 3, NotKnown: 2, Hatched: 3}},
		{"candled twice, counted once", func(b *book) {
			b.five(a1)
			b.look("2026-01-22", a1, aviary.NestCheck{Eggs: ptr(5), Candled: append(words(4, "fertile"), "clear")})
			b.look("2026-01-27", a1, aviary.NestCheck{Eggs: ptr(5), Candled: append(words(3, "fertile"), "clear", "early dead")})
		}, "2026-01-27", SeasonCounts{Clutches: 1, Eggs: 5, Full: 4, FullOf: Share{4, 5}}},
		{"an egg dead early was fertile", func(b *book) {
			b.five(a1)
			b.look("2026-01-22", a1, aviary.NestCheck{Eggs: ptr(5), Candled: append(words(3, "fertile"), "early dead", "clear")})
		}, "2026-01-22", SeasonCounts{Clutches: 1, Eggs: 5, Full: 4, FullOf: Share{4, 5}}},
		{"a cracked egg is not known", func(b *book) {
			b.five(a1)
			b.look("2026-01-22", a1, aviary.NestCheck{Eggs: ptr(5), Candled: append(words(4, "fertile"), "cracked")})
		}, "2026-01-22", SeasonCounts{Clutches: 1, Eggs: 5, Full: 4, NotKnown: 1, FullOf: Share{4, 4}}},
		{"a clear clutch taken out", func(b *book) {
			b.five(a1)
			b.look("2026-01-24", a1, aviary.NestCheck{Eggs: ptr(5), Chicks: ptr(0), Candled: words(5, "clear"), Removed: ptr(5)})
			b.look("2026-01-25", a1, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(0)})
		}, "2026-01-26", SeasonCounts{Clutches: 1, Eggs: 5, FullOf: Share{0, 5}, HatchedOf: Share{0, 5}}},
		{"chicks found when the books began are in no share", func(b *book) {
			b.look("2026-01-12", a1, aviary.NestCheck{Found: true, Chicks: ptr(3), AgeDays: ptr(9), AgeAbout: ptr(2)})
			b.look("2026-01-22", a1, aviary.NestCheck{Chicks: ptr(0), Out: ptr(3)})
			b.add("2026-02-04", &aviary.YoungWeaned{Place: a1, Unringed: 3, Group: id(60), Species: "zebra", To: flight})
		}, "2026-02-10", SeasonCounts{Clutches: 1, Found: 1, Eggs: 3, Full: 3, Hatched: 3, Fledged: 3, Weaned: 3}},
		{"a partial look takes nothing away", func(b *book) {
			b.five(a1)
			b.look("2026-01-20", a1, aviary.NestCheck{Look: "sitting"})
			b.look("2026-01-21", a1, aviary.NestCheck{Eggs: ptr(3), EggsAtLeast: true})
		}, "2026-01-21", SeasonCounts{Clutches: 1, Eggs: 5, NotKnown: 5}},
		{"a look struck out counts nowhere", func(b *book) {
			b.five(a1)
			e := b.look("2026-01-24", a1, aviary.NestCheck{Eggs: ptr(5), Candled: words(5, "fertile")})
			b.add("2026-01-24", &aviary.Strike{}).Strikes = e.ID
		}, "2026-01-25", SeasonCounts{Clutches: 1, Eggs: 5, NotKnown: 5}},
		{"a pair without an egg", func(*book) {}, "2026-01-20", SeasonCounts{}},
		{"young ringed later, out of a group", func(b *book) {
			b.look("2026-01-12", a1, aviary.NestCheck{Found: true, Chicks: ptr(2)})
			b.add("2026-02-04", &aviary.YoungWeaned{Place: a1, Unringed: 2, Group: id(60), Species: "zebra", To: flight})
			b.add("2026-02-14", &aviary.ChickRinged{Bird: chick[0], Place: flight, Group: id(60), Species: "zebra", Ring: aviary.Ring{Issuer: "FC", Year: 2026, Number: "9"}})
		}, "2026-02-20", SeasonCounts{Clutches: 1, Found: 1, Eggs: 2, Full: 2, Hatched: 2, Ringed: 1, Fledged: 2, Weaned: 2}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := seasonRoom(t)
			tt.write(b)
			s := b.season(SeasonQuery{}, tt.today)
			got := s.of(t, "zebra").Now
			got.Pairs = 0
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("counts of the zebra finches (-want +got):\n%s", diff)
			}
			if s.Total.Now.Pairs != 2 || len(s.Lanes) != 2 {
				t.Errorf("%d pairs and %d lanes, want 2", s.Total.Now.Pairs, len(s.Lanes))
			}
			l := laneAt(t, s, a1).Counts
			l.Pairs = 0
			if tt.name == "young ringed later, out of a group" {
				l.Ringed = 1 // no nest knows of it
			}
			if diff := cmp.Diff(tt.want, l); diff != "" {
				t.Errorf("the lane of A1 (-want +got):\n%s", diff)
			}
		})
	}
}

// Laying pair and rearing pair are two facts: the eggs stay with those who laid them, the young go to those who reared them,
// and by species the young are what they are.
func TestSeason_Fostering(t *testing.T) {
	b := seasonRoom(t)
	b.five(a1)
	b.look("2026-01-22", a1, aviary.NestCheck{Eggs: ptr(5), Candled: words(5, "fertile")})
	b.add("2026-01-22", &aviary.NestMoved{Place: a1, ToPlace: a2, Eggs: 5})
	b.look("2026-01-25", a2, aviary.NestCheck{Eggs: ptr(5), Candled: words(5, "fertile")})
	b.look("2026-01-31", a2, aviary.NestCheck{Eggs: ptr(1), Chicks: ptr(4)})
	b.ring("2026-02-08", a2, 4, "zebra")
	b.look("2026-02-20", a2, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(0), Out: ptr(4)})
	b.add("2026-03-08", &aviary.YoungWeaned{Place: a2, Birds: chick[:4], To: flight})
	s := b.season(SeasonQuery{}, "2026-03-20")
	want := SeasonCounts{Pairs: 1, Clutches: 1, Eggs: 5, Full: 5, Hatched: 4, Ringed: 4, Fledged: 4, Weaned: 4, FullOf: Share{5, 5}, HatchedOf: Share{4, 5}, FledgedOf: Share{4, 4}, WeanedOf: Share{4, 4}}
	if diff := cmp.Diff(want, s.of(t, "zebra").Now); diff != "" {
		t.Errorf("zebra finches (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(SeasonCounts{Pairs: 1}, s.of(t, "bengalese").Now); diff != "" {
		t.Errorf("Bengalese (-want +got):\n%s", diff)
	}
	laid, reared := laneAt(t, s, a1), laneAt(t, s, a2)
	if c := laid.Counts; c.Eggs != 5 || c.Full != 5 || c.Hatched+c.Weaned+c.Ringed != 0 {
		t.Errorf("the pair that laid has %+v", c)
	}
	if c := reared.Counts; c.Eggs != 0 || c.Clutches != 0 || c.Hatched != 4 || c.Ringed != 4 || c.Weaned != 4 {
		t.Errorf("the pair that reared has %+v", c)
	}
	if c := laid.Clutches[0]; c.Failed != "" || len(c.Moves) != 1 || c.Moves[0].In || c.Moves[0].Words() != "5 eggs to A2" {
		t.Errorf("the clutch that was given away: failed %q, moves %+v", c.Failed, c.Moves)
	}
	if c := reared.Clutches[0]; !c.Moves[0].In || c.Moves[0].Words() != "5 eggs from A1" || !c.Wean.Happened {
		t.Errorf("the clutch that was taken in: %+v", c.Moves)
	}
}

// A box that is swapped after the season does not turn what was put into the nest into what was taken out.
func TestSeason_FosteredBeforeTheBoxWasSwapped(t *testing.T) {
	b := seasonRoom(t)
	b.five(a1)
	b.add("2026-01-22", &aviary.NestMoved{Place: a1, ToPlace: a2, Eggs: 5})
	b.look("2026-01-31", a2, aviary.NestCheck{Eggs: ptr(1), Chicks: ptr(4)})
	b.add("2026-03-08", &aviary.YoungWeaned{Place: a2, Unringed: 4, Group: id(60), Species: "zebra", To: flight})
	b.add("2026-03-09", &aviary.BoxTaken{Box: box2, Place: a2})
	b.add("2026-03-09", &aviary.BoxHung{Box: id(7), Place: a2})
	s := b.season(SeasonQuery{}, "2026-03-20")
	if z, o := s.of(t, "zebra").Now, s.of(t, "bengalese").Now; z.Eggs != 5 || z.Full != 4 || z.Weaned != 4 || o.Eggs != 0 {
		t.Errorf("zebra finches %+v, Bengalese %+v", z, o)
	}
}

// Eggs of two species in one nest: rings tell the young apart, of the rest it is not known, and the sums hold.
func TestSeason_MixedNest(t *testing.T) {
	b := seasonRoom(t)
	b.five(a1)
	b.five(a2)
	b.add("2026-01-20", &aviary.NestMoved{Place: a1, ToPlace: a2, Eggs: 2})
	b.look("2026-02-02", a2, aviary.NestCheck{Eggs: ptr(1), Chicks: ptr(6)})
	b.ring("2026-02-10", a2, 2, "zebra")
	s := b.season(SeasonQuery{}, "2026-02-11")
	if z, u := s.of(t, "zebra").Now, s.of(t, "").Now; z.Hatched != 2 || z.Ringed != 2 || u.Hatched != 4 {
		t.Errorf("zebra finches %+v, not told apart %+v", z, u)
	}
	if n := s.Total.Now; n.Hatched != 6 || n.Eggs != 10 {
		t.Errorf("in all %d hatched of %d eggs, want 6 of 10", n.Hatched, n.Eggs)
	}
}

func TestSeason_SameDayOfTheSeasonBefore(t *testing.T) {
	b := seasonRoom(t)
	// Last season: a pair in A1 from 1 October 2024, weaned on 9 January and 20 March 2025.
	b.list = b.list[:0]
	b.add("2024-08-01", &aviary.RoomSet{Zone: ptr("Europe/Dublin"), Latitude: ptr(53.3)})
	b.add("2024-08-01", &aviary.PlaceAdded{Place: a1, Name: "A1", Type: aviary.Cage, Bank: "Bay 1", Row: 1, Col: 1})
	b.add("2024-08-01", &aviary.PlaceAdded{Place: flight, Name: "Flight 1", Type: aviary.Flight})
	b.add("2024-08-01", &aviary.BoxHung{Box: box1, Place: a1})
	for i, x := range []aviary.ID{cock, hen} {
		b.add("2024-08-02", &aviary.BirdAcquired{Bird: x, Species: "zebra", Sex: []aviary.Sex{aviary.Cock, aviary.Hen}[i], Place: flight})
	}
	b.add("2024-10-01", &aviary.PairSet{Pair: pair1, Place: a1, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}})
	brood := func(eggs, chicks, weaned string, n int) {
		b.look(eggs, a1, aviary.NestCheck{Eggs: ptr(n), Chicks: ptr(0)})
		b.look(chicks, a1, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(n)})
		b.add(weaned, &aviary.YoungWeaned{Place: a1, Unringed: n, Group: id(60), Species: "zebra", To: flight})
	}
	brood("2024-11-10", "2024-12-02", "2025-01-09", 4)
	brood("2025-01-20", "2025-02-10", "2025-03-20", 3)
	brood("2025-11-12", "2025-12-04", "2026-01-08", 5)
	for _, tt := range []struct {
		today      string
		now, then  int
		until      string
		whyThatDay string
	}{
		{"2026-01-10", 5, 4, "2025-01-10", "162 days into both"},
		{"2026-01-08", 5, 0, "2025-01-08", "the day before they were parted last season"},
		{"2026-03-20", 5, 7, "2025-03-20", "both broods of last season"},
	} {
		s := b.season(SeasonQuery{}, tt.today)
		if s.BeforeUntil.String() != tt.until || s.Total.Now.Weaned != tt.now || s.Total.Then.Weaned != tt.then {
			t.Errorf("on %s (%s): %d weaned against %d until %s, want %d against %d until %s", tt.today, tt.whyThatDay, s.Total.Now.Weaned, s.Total.Then.Weaned, s.BeforeUntil, tt.now, tt.then, tt.until)
		}
	}
	s := b.season(SeasonQuery{On: aviary.MustDate("2025-02-01")}, "2026-01-10")
	if !s.Over || s.Total.Now.Weaned != 7 || s.Before != nil || s.Span.Name != "2024–25" {
		t.Errorf("the season before: over %v, %d weaned, before %v", s.Over, s.Total.Now.Weaned, s.Before)
	}
	if names := len(s.All); names != 2 {
		t.Errorf("%d seasons, want 2", names)
	}
	if _, ok := b.desk("2026-01-10").Season(SeasonQuery{On: aviary.MustDate("2019-01-01")}, nil); ok {
		t.Error("a season before the books began is drawn")
	}
}

// At 34° S the season begins on 1 February unless the keeper says otherwise, and so does the day that is compared.
func TestSeason_SouthernHemisphere(t *testing.T) {
	b := seasonRoom(t)
	b.add("2025-01-01", &aviary.RoomSet{Latitude: ptr(-34.0), Longitude: ptr(18.5), Zone: ptr("Africa/Johannesburg")})
	b.five(a1)
	s := b.season(SeasonQuery{}, "2026-01-31")
	if s.Span.From.String() != "2025-02-01" || s.Span.Name != "2025–26" || s.Total.Now.Eggs != 5 {
		t.Errorf("on 31 January: season from %s (%s) with %d eggs", s.Span.From, s.Span.Name, s.Total.Now.Eggs)
	}
	s = b.season(SeasonQuery{}, "2026-02-01")
	if s.Span.From.String() != "2026-02-01" || s.Total.Now.Eggs != 0 || s.Total.Then.Eggs != 0 || s.BeforeUntil.String() != "2025-02-01" || s.Total.Now.Pairs != 2 {
		t.Errorf("on 1 February: season from %s, %d eggs, before until %s with %d", s.Span.From, s.Total.Now.Eggs, s.BeforeUntil, s.Total.Then.Eggs)
	}
	b.add("2025-06-01", &aviary.RoomSet{SeasonStart: ptr("07-15")})
	if s = b.season(SeasonQuery{}, "2026-02-01"); s.Span.From.String() != "2025-07-15" || s.Total.Now.Eggs != 5 {
		t.Errorf("with a season from 15 July: from %s with %d eggs", s.Span.From, s.Total.Now.Eggs)
	}
	for i := 1; i < len(s.All); i++ {
		if s.All[i].To != s.All[i-1].From-1 {
			t.Errorf("season %s ends on %s, the next begins on %s", s.All[i].Name, s.All[i].To, s.All[i-1].From)
		}
	}
}

func TestSeason_EmptyRoomAndFirstSeason(t *testing.T) {
	s, ok := At(aviary.NewRoom(), aviary.MustDate("2026-01-13"), 0).Season(SeasonQuery{}, nil)
	if !ok || len(s.Lanes)+len(s.Rows) != 0 || s.Before != nil || len(s.All) != 1 {
		t.Errorf("an empty room: %+v", s)
	}
	if s, ok := At(aviary.NewRoom(), aviary.MustDate("2026-01-13"), 0).Season(SeasonQuery{Species: "zebra", Bank: Elsewhere, Sort: "no such"}, &Past{}); !ok || !s.Total.Now.Nothing() {
		t.Error("an empty room with a filter")
	}
}

func TestSeason_PairsMovedAndRetired(t *testing.T) {
	b := seasonRoom(t)
	b.five(a1)
	b.add("2026-01-19", &aviary.PairEnded{Pair: pair2, Reason: "re-paired"})
	b.add("2026-01-19", &aviary.PairEnded{Pair: pair1, Reason: "other"})
	b.add("2026-01-19", &aviary.PairSet{Pair: id(23), Place: a2, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}})
	b.add("2026-01-20", &aviary.PlaceRetired{Place: a1, Reason: "rebuilt"})
	s := b.season(SeasonQuery{}, "2026-01-25")
	z := s.of(t, "zebra").Now
	if z.Pairs != 1 || z.Eggs != 5 || z.Clutches != 1 {
		t.Errorf("a pair that moved, and a cage that is out of use: %+v", z)
	}
	for _, l := range s.Lanes {
		if l.Pair.ID == id(23) && (l.Place.ID != a2 || len(l.Clutches) != 1 || l.Counts.Eggs != 5) {
			t.Errorf("the lane of the pair that moved: %s, %d clutches", l.Place.Name, len(l.Clutches))
		}
	}
}

func TestSeason_FilterAndSort(t *testing.T) {
	b := seasonRoom(t)
	b.five(a2)
	b.look("2026-01-20", a1, aviary.NestCheck{Eggs: ptr(1)})
	s := b.season(SeasonQuery{Species: "bengalese"}, "2026-01-21")
	if len(s.Lanes) != 1 || s.Lanes[0].Place.ID != a2 || s.Total.Now.Eggs != 5 || len(s.Rows) != 1 || len(s.Species) != 2 {
		t.Errorf("only Bengalese: %d lanes, %d eggs", len(s.Lanes), s.Total.Now.Eggs)
	}
	if s = b.season(SeasonQuery{Bank: Elsewhere}, "2026-01-21"); len(s.Lanes) != 0 || s.Total.Now.Pairs != 0 || !s.Loose {
		t.Errorf("in no bank: %d lanes", len(s.Lanes))
	}
	if s = b.season(SeasonQuery{Bank: "Bay 1"}, "2026-01-21"); len(s.Lanes) != 2 || s.Total.Now.Eggs != 6 {
		t.Errorf("in Bay 1: %d lanes, %d eggs", len(s.Lanes), s.Total.Now.Eggs)
	}
	for sort, first := range map[string]aviary.ID{"walk": a1, "stage": a2, "egg": a2} {
		if s = b.season(SeasonQuery{Sort: sort}, "2026-01-21"); s.Lanes[0].Place.ID != first {
			t.Errorf("sorted by %s, %s comes first", sort, s.Lanes[0].Place.Name)
		}
	}
}

func TestSeason_WhyAClutchFailed(t *testing.T) {
	for _, tt := range []struct {
		want  string
		write func(b *book)
	}{
		{"clear", func(b *book) {
			b.look("2026-01-24", a1, aviary.NestCheck{Eggs: ptr(5), Chicks: ptr(0), Candled: words(5, "clear"), Removed: ptr(5)})
		}},
		{"tossed", func(b *book) {
			b.look("2026-01-24", a1, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(0), GoneEggs: ptr(5), GoneEggsWhy: "tossed out"})
		}},
		{"deserted", func(b *book) {
			b.look("2026-01-24", a1, aviary.NestCheck{Eggs: ptr(5), Chicks: ptr(0), Removed: ptr(5), RemovedWhy: "deserted"})
		}},
		{"box taken out", func(b *book) { b.add("2026-01-24", &aviary.BoxTaken{Box: box1, Place: a1}) }},
		{"given up", func(b *book) { b.look("2026-02-24", a1, aviary.NestCheck{Eggs: ptr(1), NewClutch: true}) }},
		{"lost", func(b *book) { b.look("2026-01-24", a1, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(0)}) }},
		{"dead in shell", func(b *book) {
			b.look("2026-02-04", a1, aviary.NestCheck{Eggs: ptr(5), Chicks: ptr(0), Candled: words(5, "dead in shell"), Removed: ptr(5)})
		}},
		{"chicks died", func(b *book) {
			b.look("2026-01-31", a1, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(5)})
			b.look("2026-02-03", a1, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(0), DeadChicks: ptr(5)})
		}},
		{"", func(*book) {}},
	} {
		b := seasonRoom(t)
		b.five(a1)
		tt.write(b)
		c := laneAt(t, b.season(SeasonQuery{}, "2026-03-01"), a1).Clutches[0]
		if c.Failed != tt.want || (c.Ended == 0) != (tt.want == "") {
			t.Errorf("failed %q, ended %s, want %q", c.Failed, c.Ended, tt.want)
		}
	}
}

func TestSeason_EggsStandOnTheirDays(t *testing.T) {
	b := seasonRoom(t)
	b.five(a1)
	c := laneAt(t, b.season(SeasonQuery{}, "2026-01-20"), a1).Clutches[0]
	var got []string
	for _, e := range c.Eggs {
		got = append(got, e.Day.Short())
	}
	if diff := cmp.Diff([]string{"14 Jan", "15 Jan", "16 Jan", "17 Jan", "18 Jan"}, got); diff != "" {
		t.Errorf("laying days (-want +got):\n%s", diff)
	}
	if !c.Hatch.Known || c.Hatch.Happened || c.Hatch.Early > c.Hatch.Likely || c.Hatch.Late < c.Hatch.Likely || c.Over != "" {
		t.Errorf("hatch %+v, over %q", c.Hatch, c.Over)
	}
	c = laneAt(t, b.season(SeasonQuery{}, "2026-02-12"), a1).Clutches[0]
	if c.Over == "" {
		t.Error("a hatch a week late is not said to be over")
	}
	b = seasonRoom(t)
	b.look("2026-01-13", a1, aviary.NestCheck{Eggs: ptr(0), Chicks: ptr(0)})
	b.look("2026-01-15", a1, aviary.NestCheck{Eggs: ptr(2), Chicks: ptr(0)})
	c = laneAt(t, b.season(SeasonQuery{}, "2026-01-15"), a1).Clutches[0]
	if len(c.Eggs) < 3 || c.Eggs[1].Expected || !c.Eggs[2].Expected || c.Eggs[2].Day <= aviary.MustDate("2026-01-15") {
		t.Errorf("two eggs seen, more to come: %+v", c.Eggs)
	}
}

// plainSeason counts a season straight from the entries, without clutches.
func plainSeason(d *Desk, s Span) (eggs, ringed, weaned int) {
	for _, e := range d.Room.Entries() {
		if d.Room.Struck(e.ID) || d.Room.AsideWhy(e.ID) != nil || !s.Contains(e.Day) {
			continue
		}
		switch b := e.Body.(type) {
		case *aviary.ChickRinged:
			ringed++
		case *aviary.YoungWeaned:
			weaned += len(b.Birds) + b.Unringed
		}
	}
	for _, p := range d.Room.EveryPlace() {
		for _, c := range p.Clutches {
			if s.Contains(c.First) {
				eggs += d.Nest(p, c).Course.Counts.Laid.N
			}
		}
	}
	return eggs, ringed, weaned
}

// Whatever is written, in whatever nest: the sums by species and by lane are the totals, the totals are those counted straight
// from the entries, shares are shares, and what a Past keeps changes nothing.
func TestSeason_SumsHold(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := seasonRoom(t)
		places := []aviary.ID{a1, a2}
		day := aviary.MustDate("2026-01-12")
		var made []*aviary.Entry
		next := 100
		for range rapid.IntRange(1, 30).Draw(rt, "entries") {
			day += aviary.Date(rapid.IntRange(0, 6).Draw(rt, "days"))
			i := rapid.IntRange(0, 1).Draw(rt, "place")
			n := rapid.IntRange(0, 6).Draw(rt, "n")
			var body aviary.Body
			switch rapid.IntRange(0, 7).Draw(rt, "kind") {
			case 0, 1:
				body = &aviary.NestCheck{Place: places[i], Eggs: &n, Chicks: ptr(rapid.IntRange(0, 4).Draw(rt, "chicks"))}
			case 2:
				body = &aviary.NestCheck{Place: places[i], Candled: append(words(n, "fertile"), rapid.SampledFrom(aviary.EggStates).Draw(rt, "state"))}
			case 3:
				body = &aviary.NestCheck{Place: places[i], Out: &n, NewClutch: n == 5}
			case 4:
				body = &aviary.NestMoved{Place: places[i], ToPlace: places[1-i], Eggs: n, Chicks: 1}
			case 5:
				next++
				body = &aviary.ChickRinged{Bird: id(next), Place: places[i], Species: rapid.SampledFrom([]string{"zebra", "bengalese", "unheard-of"}).Draw(rt, "species")}
			case 6:
				body = &aviary.YoungWeaned{Place: places[i], Unringed: n + 1, Group: id(70), Species: "zebra", To: flight, Left: ptr(n % 2)}
			case 7:
				if len(made) > 0 {
					e := b.add(day.String(), &aviary.Strike{})
					e.Strikes = rapid.SampledFrom(made).Draw(rt, "struck").ID
				}
				continue
			}
			made = append(made, b.add(day.String(), body))
		}
		r := aviary.Replay(b.list)
		d := At(r, day+aviary.Date(rapid.IntRange(0, 40).Draw(rt, "later")), 0)
		s, ok := d.Season(SeasonQuery{}, nil)
		if !ok {
			rt.Fatal("no season")
		}
		var rows, lanes SeasonCounts
		for _, row := range s.Rows {
			rows = rows.plus(row.Now)
		}
		for _, l := range s.Lanes {
			lanes = lanes.plus(l.Counts)
			for _, c := range l.Clutches {
				for _, x := range []Share{c.Counts.FullOf, c.Counts.HatchedOf, c.Counts.FledgedOf, c.Counts.WeanedOf} {
					if x.K < 0 || x.K > x.N {
						rt.Errorf("a share of %d of %d", x.K, x.N)
					}
				}
			}
		}
		total := s.Total.Now
		if rows != total || lanes != total {
			rt.Errorf("in all  %+v\nspecies %+v\nlanes   %+v", total, rows, lanes)
		}
		if s.Span.Contains(d.Today) {
			eggs, _, _ := plainSeason(d, s.Span)
			if total.Eggs != eggs {
				rt.Errorf("%d eggs, plain count %d", total.Eggs, eggs)
			}
		}
		if total.Full < 0 || total.Hatched > total.Full || total.Full+total.NotKnown > total.Eggs {
			rt.Errorf("%d hatched, %d full, %d not known of %d eggs", total.Hatched, total.Full, total.NotKnown, total.Eggs)
		}
		past := &Past{}
		for _, upTo := range []int{len(b.list) * 2 / 3, len(b.list) - 1} { // what was kept before the last entries came
			At(aviary.Replay(b.list[:upTo]), d.Today, 0).Season(SeasonQuery{}, past)
		}
		for range 2 {
			again, _ := d.Season(SeasonQuery{}, past)
			if diff := cmp.Diff(s, again, cmpopts.IgnoreUnexported(SeasonClutch{}, SeasonLane{}), cmp.AllowUnexported(aviary.Place{}), cmpopts.IgnoreTypes(&aviary.Place{}, &aviary.Pair{}, &aviary.Bird{}, &LampCircuit{})); diff != "" {
				rt.Errorf("with a Past it differs:\n%s", diff)
			}
		}
	})
}

func TestSeason_BigRoomAgreesWithItsEntries(t *testing.T) {
	r := aviary.Replay(journaltest.Big(12, 3, 120, 7))
	d := At(r, aviary.MustDate("2018-08-15"), 0)
	past := &Past{}
	for range 2 {
		s, _ := d.Season(SeasonQuery{}, past)
		eggs, ringed, weaned := plainSeason(d, s.Span)
		if got := s.Total.Now; got.Eggs != eggs || got.Ringed != ringed || got.Weaned != weaned || eggs == 0 {
			t.Errorf("%d eggs, %d ringed, %d weaned; straight from the entries %d, %d, %d", got.Eggs, got.Ringed, got.Weaned, eggs, ringed, weaned)
		}
	}
}

// A season of 100 pairs in a room of 10 seasons and 20,000 young: first with nothing kept, as after a start, then as it is
// opened again and again while the keeper writes.
func BenchmarkSeason(b *testing.B) {
	r := aviary.Replay(journaltest.Big(100, 10, 2000, 1))
	d := At(r, aviary.MustDate("2025-08-15"), 0)
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			d.Season(SeasonQuery{}, &Past{})
		}
	})
	b.Run("again", func(b *testing.B) {
		past := &Past{}
		d.Season(SeasonQuery{}, past)
		for b.Loop() {
			d.Season(SeasonQuery{}, past)
		}
	})
}
