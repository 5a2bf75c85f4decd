package aviary

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

const today = "2026-06-30"

// book builds entries by hand for tests: ids count up, and each entry is written a second after the one before.
type book struct {
	n    int
	list []*Entry
}

func id(n int) ID {
	var x ID
	binary.BigEndian.PutUint64(x[8:], uint64(n))
	x[0] = 1
	return x
}

func (b *book) add(day string, body Body) *Entry {
	b.n++
	e := &Entry{ID: id(1000000 + b.n), Kind: body.Kind(), Version: 1, Day: MustDate(day), Written: time.Date(2026, 7, 1, 0, 0, b.n, 0, time.UTC), By: "Ann", Body: body}
	b.list = append(b.list, e)
	return e
}

func (b *book) strike(day string, target ID) *Entry {
	e := b.add(day, &Strike{})
	e.Strikes = target
	return e
}

func ptr[T any](v T) *T { return &v }

var (
	c1, c2, flight = id(1), id(2), id(3)
	cock, hen      = id(11), id(12)
	cock2, hen2    = id(13), id(14)
	p1, p2         = id(21), id(22)
)

// twoCages is a room with two cages, a flight and four grown birds.
func twoCages() *book {
	b := &book{}
	b.add("2025-01-01", &PlaceAdded{Place: c1, Name: "A1", Type: Cage, Bank: "Bay 1", Row: 1, Col: 1})
	b.add("2025-01-01", &PlaceAdded{Place: c2, Name: "A2", Type: Cage, Bank: "Bay 1", Row: 1, Col: 2})
	b.add("2025-01-01", &PlaceAdded{Place: flight, Name: "Flight 1", Type: Flight, Capacity: ptr(24)})
	for i, x := range []struct {
		id  ID
		sex Sex
	}{{cock, Cock}, {hen, Hen}, {cock2, Cock}, {hen2, Hen}} {
		b.add("2025-01-02", &BirdAcquired{Bird: x.id, Species: "zebra", Sex: x.sex, Hatched: MustDate("2024-03-01"), Ring: Ring{"FC", 2024, fmt.Sprintf("%03d", i+1)}, Place: flight})
	}
	return b
}

func admit(t *testing.T, r *Room, es ...*Entry) {
	t.Helper()
	if err := r.Admit(es, MustDate(today), func() error { return nil }); err != nil {
		t.Fatalf("refused: %v", err)
	}
}

func TestRoom_SeasonOfOnePair(t *testing.T) {
	b := twoCages()
	b.add("2026-01-10", &PairSet{Pair: p1, Place: c1, Cocks: []ID{cock}, Hens: []ID{hen}})
	first := b.add("2026-01-20", &NestCheck{Place: c1, Eggs: ptr(2), Chicks: ptr(0)})
	b.add("2026-01-24", &NestCheck{Place: c1, Eggs: ptr(5)})
	b.add("2026-02-05", &NestCheck{Place: c1, Eggs: ptr(1), Chicks: ptr(4)})
	chick := id(31)
	b.add("2026-02-14", &ChickRinged{Bird: chick, Place: c1, Species: "zebra", Ring: Ring{"FC", 2026, "001"}, Hatched: MustDate("2026-02-04")})
	b.add("2026-02-26", &NestCheck{Place: c1, Eggs: ptr(0), Chicks: ptr(0), Out: ptr(4)})
	r := Replay(b.list)
	if got := r.Place(c1).Clutches; len(got) != 1 || got[0].Key != first.ID || !got[0].Open() || got[0].OutMost != 4 {
		t.Fatalf("clutches = %+v, want one open clutch keyed by the first look with 4 out", got)
	}
	if l := r.Parents(chick); l.Sire != cock || l.Dam != hen {
		t.Errorf("parents of the chick = %v and %v, want the laying pair %v and %v", l.Sire, l.Dam, cock, hen)
	}
	b.add("2026-03-12", &YoungWeaned{Place: c1, Birds: []ID{chick}, Unringed: 3, Group: id(41), Species: "zebra", To: flight})
	r = Replay(b.list)
	if c := r.Place(c1).Clutches[0]; c.Open() || c.Weaned != 4 {
		t.Errorf("after weaning the clutch is open=%v with %d weaned, want closed with 4", c.Open(), c.Weaned)
	}
	if got := r.Bird(chick).Place(); got != flight {
		t.Errorf("the weaned chick is in %v, want the flight", got)
	}
	if g := r.GroupsIn(flight); len(g) != 1 || g[0].Count != 3 {
		t.Errorf("groups in the flight = %+v, want one of 3", g)
	}
	if got := r.In(c1); len(got) != 2 || got[0].ID != cock || got[1].ID != hen {
		t.Errorf("birds in A1 = %d, want the pair, cock first", len(got))
	}
}

func TestRoom_NewClutchOverUnweanedYoung(t *testing.T) {
	b := twoCages()
	b.add("2026-01-20", &NestCheck{Place: c1, Eggs: ptr(4)})
	b.add("2026-02-05", &NestCheck{Place: c1, Eggs: ptr(0), Chicks: ptr(4)})
	b.add("2026-02-26", &NestCheck{Place: c1, Eggs: ptr(0), Chicks: ptr(0), Out: ptr(4)})
	second := b.add("2026-03-02", &NestCheck{Place: c1, Eggs: ptr(1)})
	r := Replay(b.list)
	got := r.Place(c1).Clutches
	if len(got) != 2 || !got[0].Open() || got[1].Key != second.ID || !got[1].Open() {
		t.Fatalf("want the first clutch open (young out) and a second keyed by the new egg, got %d clutches", len(got))
	}
	b.add("2026-03-14", &YoungWeaned{Place: c1, Unringed: 4})
	r = Replay(b.list)
	if got = r.Place(c1).Clutches; got[0].Open() || !got[1].Open() {
		t.Errorf("weaning closes the first clutch (open=%v) and leaves the second (open=%v)", got[0].Open(), got[1].Open())
	}
}

func TestRoom_FosteredEggsKeepLayersAndFeedersApart(t *testing.T) {
	b := twoCages()
	b.add("2026-01-10", &PairSet{Pair: p1, Place: c1, Cocks: []ID{cock}, Hens: []ID{hen}})
	b.add("2026-01-10", &PairSet{Pair: p2, Place: c2, Cocks: []ID{cock2}, Hens: []ID{hen2}})
	b.add("2026-01-20", &NestCheck{Place: c1, Eggs: ptr(4)})
	b.add("2026-01-24", &NestMoved{Place: c1, ToPlace: c2, Eggs: 4})
	chick := id(31)
	b.add("2026-02-14", &ChickRinged{Bird: chick, Place: c2, Species: "zebra", Ring: Ring{"FC", 2026, "001"}, Hatched: MustDate("2026-02-06")})
	r := Replay(b.list)
	if l := r.Parents(chick); l.Sire != cock || l.Dam != hen {
		t.Errorf("parents = %v, %v; want the pair that laid, %v and %v", l.Sire, l.Dam, cock, hen)
	}
	c := r.Place(c2).Clutches[0]
	if p := r.RearingPair(c); p == nil || p.ID != p2 {
		t.Errorf("rearing pair = %v, want the pair of A2", p)
	}
	if !slices.Contains(c.Birds, chick) {
		t.Error("the chick is not in the clutch that it was ringed in")
	}
	if r.Place(c1).Clutches[0].Open() {
		t.Error("the nest that gave all its eggs still shows an open clutch")
	}
}

// TestCheck_Refusals lists what cannot be written, with a part of the sentence that says so.
func TestCheck_Refusals(t *testing.T) {
	base := func() *book {
		b := twoCages()
		b.add("2026-01-10", &PairSet{Pair: p1, Place: c1, Cocks: []ID{cock}, Hens: []ID{hen}})
		b.add("2026-02-14", &ChickRinged{Bird: id(31), Place: c1, Species: "zebra", Ring: Ring{"FC", 2026, "001"}, Hatched: MustDate("2026-02-04")})
		b.add("2026-03-01", &BirdDied{Bird: cock2})
		b.add("2026-03-02", &PlaceAdded{Place: id(4), Name: "Q1", Type: Quarantine})
		b.add("2026-03-03", &PlaceChanged{Place: id(4), BlockedUntil: ptr(MustDate("2026-07-20"))})
		return b
	}
	for _, tt := range []struct {
		name string
		day  string
		body Body
		want string
	}{
		{"dead bird paired", "2026-04-01", &PairSet{Pair: p2, Place: c2, Cocks: []ID{cock2}, Hens: []ID{hen2}}, "died on 1 Mar 2026"},
		{"two places at once", "2026-04-01", &PairSet{Pair: p2, Place: c2, Cocks: []ID{cock}, Hens: []ID{hen2}}, "is in the pair at A1"},
		{"paired bird moved", "2026-04-01", &BirdMoved{Bird: hen, Place: c2}, "end that pair first"},
		{"parent younger than young", "2026-04-01", &ParentsSet{Bird: hen, Sire: cock}, "hatched on 1 Mar 2024"},
		{"hen as father", "2026-04-01", &ParentsSet{Bird: id(31), Sire: hen2}, "a hen cannot be a father"},
		{"ancestor of itself", "2026-04-01", &ParentsSet{Bird: cock, Dam: id(31)}, "cannot be a parent"},
		{"father sexed hen", "2026-04-01", &BirdSexed{Bird: cock, Sex: Hen}, "as the father of"},
		{"ring twice", "2026-04-01", &BirdRinged{Bird: hen2, Ring: Ring{"FC", 2026, "001"}}, "another bird wears this ring"},
		{"unknown cage", "2026-04-01", &NestCheck{Place: id(99), Eggs: ptr(3)}, "no such place"},
		{"unknown bird", "2026-04-01", &BirdWeighed{Bird: id(98), Grams: 12}, "no such bird"},
		{"negative count", "2026-04-01", &NestCheck{Place: c1, Eggs: ptr(-1)}, "a count is 0 or more"},
		{"too many eggs", "2026-04-01", &NestCheck{Place: c1, Eggs: ptr(400)}, "more than 60"},
		{"look in the future", "2026-07-01", &NestCheck{Place: c1, Eggs: ptr(1)}, "has not come yet"},
		{"ringed before it hatched", "2026-04-01", &ChickRinged{Bird: id(32), Place: c1, Species: "zebra", Hatched: MustDate("2026-04-05")}, "before it hatched"},
		{"plate taken", "2026-04-01", &PlaceAdded{Place: id(5), Name: "a1", Type: Cage}, "called A1 already"},
		{"hook taken", "2026-04-01", &PlaceAdded{Place: id(5), Name: "A9", Type: Cage, Bank: "Bay 1", Row: 1, Col: 2}, "hangs in row 1, column 2"},
		{"cage with birds retired", "2026-04-01", &PlaceRetired{Place: c1}, "still in it"},
		{"out of quarantine too soon", "2026-04-01", &PairSet{Pair: p2, Place: id(4), Hens: []ID{hen2}}, "closed until 20 Jul 2026"},
		{"death before a later entry", "2026-01-05", &BirdDied{Bird: hen}, "could not stand"},
		{"came back but never left", "2026-04-01", &BirdReturned{Bird: hen2, Place: flight}, "has not left"},
		{"weight of a goose", "2026-04-01", &BirdWeighed{Bird: hen2, Grams: 4000}, "not the weight of a finch"},
		{"settling nothing", "2026-04-01", &Settled{Entry: id(77)}, "no such matter"},
		{"box that is not there", "2026-04-01", &NestCheck{Place: c1, Box: id(71), Eggs: ptr(1)}, "no such nest box"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := base()
			r := Replay(b.list)
			before := r.Digest()
			err := r.Check(b.add(tt.day, tt.body), MustDate(today))
			var refusal *Error
			if !errors.As(err, &refusal) || !strings.Contains(refusal.Message, tt.want) {
				t.Errorf("Check = %v, want a refusal with %q", err, tt.want)
			}
			if r.Digest() != before {
				t.Error("a refused entry changed the room")
			}
		})
	}
}

func TestCheck_LooksAreNeverRefused(t *testing.T) {
	b := twoCages()
	r := Replay(b.list)
	for _, look := range []*NestCheck{
		{Place: c1, Eggs: ptr(5)},
		{Place: c1, Eggs: ptr(2)},
		{Place: c1, Eggs: ptr(2), Chicks: ptr(6)},
		{Place: c1, Eggs: ptr(9), Chicks: ptr(0)},
		{Place: c1, Look: "sitting"},
		{Place: c1, Eggs: ptr(0), GoneEggs: ptr(9), GoneEggsWhy: "not known"},
	} {
		admit(t, r, b.add("2026-05-01", look))
	}
}

func TestStrike_TakesBackAndRestores(t *testing.T) {
	b := twoCages()
	moved := b.add("2026-01-05", &BirdMoved{Bird: hen2, Place: c2})
	r := Replay(b.list)
	before := Replay(b.list[:len(b.list)-1]).In(flight)
	s := b.strike("2026-01-06", moved.ID)
	admit(t, r, s)
	if got := r.In(flight); len(got) != len(before) {
		t.Errorf("after the strike %d birds are in the flight, want %d", len(got), len(before))
	}
	if !r.Struck(moved.ID) {
		t.Error("the struck entry is not shown as struck")
	}
	admit(t, r, b.strike("2026-01-07", s.ID))
	if got := r.Bird(hen2).Place(); got != c2 {
		t.Errorf("striking the strike leaves the bird in %v, want A2", got)
	}
}

func TestStrike_NamesDependents(t *testing.T) {
	b := twoCages()
	bird := id(50)
	came := b.add("2026-01-05", &BirdAcquired{Bird: bird, Species: "zebra", Place: flight})
	weighed := b.add("2026-01-06", &BirdWeighed{Bird: bird, Grams: 12})
	r := Replay(b.list)
	err := r.Check(b.strike("2026-01-07", came.ID), MustDate(today))
	var refusal *Error
	if !errors.As(err, &refusal) || !slices.Equal(refusal.With, []ID{weighed.ID}) {
		t.Fatalf("Check = %v, want a refusal that names the weighing", err)
	}
	b.list = b.list[:len(b.list)-1]
	admit(t, r, b.strike("2026-01-07", weighed.ID), b.strike("2026-01-07", came.ID))
	if r.Bird(bird) != nil {
		t.Error("the bird is in the books after all its entries are struck")
	}
}

func TestStrike_OneForABatch(t *testing.T) {
	b := twoCages()
	r := Replay(b.list)
	batch := id(900)
	var es []*Entry
	for _, x := range []ID{cock, hen, cock2} {
		e := b.add("2026-01-05", &BirdMoved{Bird: x, Place: c1})
		e.Batch = batch
		es = append(es, e)
	}
	admit(t, r, es...)
	if got := len(r.In(c1)); got != 3 {
		t.Fatalf("%d birds in A1, want 3", got)
	}
	admit(t, r, b.strike("2026-01-06", batch))
	if got := len(r.In(c1)); got != 0 {
		t.Errorf("%d birds in A1 after the batch is struck, want 0", got)
	}
}

func TestAdmit_WholeOrNotAtAll(t *testing.T) {
	b := twoCages()
	r := Replay(b.list)
	before := r.Digest()
	es := []*Entry{b.add("2026-01-05", &BirdMoved{Bird: cock, Place: c1}), b.add("2026-01-05", &BirdMoved{Bird: id(99), Place: c1})}
	var at *RefusedAt
	if err := r.Admit(es, MustDate(today), func() error { return nil }); !errors.As(err, &at) || at.Index != 1 {
		t.Fatalf("Admit = %v, want a refusal of the second entry", err)
	}
	if r.Digest() != before {
		t.Error("a refused batch changed the room")
	}
	if err := r.Admit(es[:1], MustDate(today), func() error { return errors.New("disk full") }); err == nil || err.Error() != "disk full" {
		t.Fatalf("Admit = %v, want the commit's error", err)
	}
	if r.Digest() != before {
		t.Error("a batch whose durable write failed changed the room")
	}
}

func TestSame_TwoIdsBecomeOneBird(t *testing.T) {
	b := twoCages()
	b.add("2026-01-05", &BirdAcquired{Bird: id(60), Species: "zebra", Name: "Merle", Place: c1})
	b.add("2026-01-06", &BirdWeighed{Bird: id(60), Grams: 13})
	same := b.add("2026-01-07", &BirdSame{Bird: hen, Same: id(60)})
	r := Replay(b.list)
	if got := r.Bird(id(60)); got != r.Bird(hen) || got.Name != "Merle" || len(got.Weights) != 1 {
		t.Errorf("the two ids are not one bird: %+v", got)
	}
	if len(r.Aside()) != 0 {
		t.Errorf("joining set aside %d entries", len(r.Aside()))
	}
	admit(t, r, b.strike("2026-01-08", same.ID))
	if r.Bird(id(60)) == r.Bird(hen) {
		t.Error("striking the joining does not part the birds")
	}
}

func TestOffline_ClashIsSetAsideAndFreedAgain(t *testing.T) {
	b := twoCages()
	died := b.add("2026-02-01", &BirdDied{Bird: hen})
	r := Replay(b.list)
	late := b.add("2026-02-03", &BirdMoved{Bird: hen, Place: c1}) // written on a phone that was offline
	r.Apply(late)
	if a := r.Aside(); len(a) != 1 || a[0].Entry != late || a[0].Clash.With != died {
		t.Fatalf("aside = %+v, want the late move against the death", a)
	}
	if got := r.Bird(hen).Place(); got != (ID{}) {
		t.Error("an entry that is set aside moved the bird")
	}
	r.Apply(b.strike("2026-02-04", died.ID))
	if len(r.Aside()) != 0 || r.Bird(hen).Place() != c1 {
		t.Error("with the death struck, the move does not stand")
	}
}

// randomBook draws a book of entries that often clash.
func randomBook(t *rapid.T) []*Entry {
	b := twoCages()
	birds := []ID{cock, hen, cock2, hen2, id(31), id(32)}
	places := []ID{c1, c2, flight}
	pairs := []ID{p1, p2, id(23)}
	n := rapid.IntRange(1, 40).Draw(t, "entries")
	for range n {
		bird := rapid.SampledFrom(birds).Draw(t, "bird")
		place := rapid.SampledFrom(places).Draw(t, "place")
		day := (MustDate("2026-01-01") + Date(rapid.IntRange(0, 20).Draw(t, "day"))).String()
		ring := Ring{"FC", 2026, fmt.Sprint(rapid.IntRange(1, 4).Draw(t, "ring"))}
		switch rapid.IntRange(0, 11).Draw(t, "kind") {
		case 0:
			b.add(day, &BirdMoved{Bird: bird, Place: place})
		case 1:
			b.add(day, &BirdDied{Bird: bird})
		case 2:
			b.add(day, &BirdLeft{Bird: bird, How: "sold"})
		case 3:
			b.add(day, &BirdReturned{Bird: bird, Place: place})
		case 4:
			b.add(day, &PairSet{Pair: rapid.SampledFrom(pairs).Draw(t, "pair"), Place: place, Cocks: []ID{cock}, Hens: []ID{hen}})
		case 5:
			b.add(day, &PairEnded{Pair: rapid.SampledFrom(pairs).Draw(t, "pair"), Reason: "other"})
		case 6:
			b.add(day, &NestCheck{Place: place, Eggs: ptr(rapid.IntRange(0, 5).Draw(t, "eggs")), Chicks: ptr(rapid.IntRange(0, 3).Draw(t, "chicks"))})
		case 7:
			b.add(day, &ChickRinged{Bird: bird, Place: place, Species: "zebra", Ring: ring})
		case 8:
			b.add(day, &BirdRinged{Bird: bird, Ring: ring})
		case 9:
			b.add(day, &PlaceRetired{Place: place})
		case 10:
			b.add(day, &NestMoved{Place: place, ToPlace: rapid.SampledFrom(places).Draw(t, "to"), Eggs: 2})
		default:
			b.strike(day, rapid.SampledFrom(b.list).Draw(t, "struck").ID)
		}
	}
	return b.list
}

// Any order of arrival gives one room, and taking entries in one by one gives what a replay gives.
func TestRoom_ArrivalOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := randomBook(t)
		want := Replay(entries)
		shuffled := slices.Clone(entries)
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		rnd.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		got := NewRoom()
		for _, e := range shuffled {
			got.Apply(e)
			got.Apply(e) // the same id twice counts once
		}
		if got.Digest() != want.Digest() {
			t.Fatalf("arrival one by one in another order gives another room")
		}
		for _, place := range []ID{c1, c2, flight} {
			if len(got.In(place)) != len(want.In(place)) || len(got.PairsAt(place)) != len(want.PairsAt(place)) {
				t.Fatalf("the indexes differ at %v", place)
			}
		}
		if len(got.Aside()) != len(want.Aside()) {
			t.Fatalf("%d set aside against %d", len(got.Aside()), len(want.Aside()))
		}
	})
}

// Checking changes nothing; what Admit refuses leaves no trace; what it takes in is what a replay has.
func TestAdmit_LeavesNoTraceOfRefusals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := randomBook(t)
		r := NewRoom()
		var kept []*Entry
		for _, e := range entries {
			before := r.Digest()
			ok := r.Check(e, MustDate(today)) == nil
			if r.Digest() != before {
				t.Fatal("Check changed the room")
			}
			err := r.Admit([]*Entry{e}, MustDate(today), func() error { return nil })
			if (err == nil) != ok {
				t.Fatalf("Check says %v, Admit says %v", ok, err)
			}
			if err == nil {
				kept = append(kept, e)
			} else if r.Digest() != before {
				t.Fatal("a refusal left a trace")
			}
		}
		if got := Replay(kept); got.Digest() != r.Digest() || len(got.Aside()) != 0 {
			for _, a := range got.Aside() {
				t.Logf("aside: %s %s %s", a.Entry.Kind, a.Entry.Day, a.Clash.Message)
			}
			t.Fatalf("what was admitted does not replay to the same room with nothing set aside (same=%v)", got.Digest() == r.Digest())
		}
	})
}

func TestKinds_AllFormsRoundTrip(t *testing.T) {
	for _, k := range Kinds() {
		body := k.New()
		data, err := EncodeBody(body)
		if err != nil {
			t.Fatal(err)
		}
		back, err := DecodeBody(k.Kind, k.Version, data)
		if err != nil {
			t.Errorf("%s: %v", k.Kind, err)
			continue
		}
		if again, _ := EncodeBody(back); string(again) != string(data) {
			t.Errorf("%s: %s came back as %s", k.Kind, data, again)
		}
		if _, err := DecodeBody(k.Kind, k.Version+1, data); err == nil {
			t.Errorf("%s: a later version was read", k.Kind)
		}
		if _, err := DecodeBody(k.Kind, 1, []byte(`{"no such field":1}`)); err == nil {
			t.Errorf("%s: an unknown field was read", k.Kind)
		}
	}
}

func TestRing_ParseAndPrint(t *testing.T) {
	for _, tt := range []struct {
		in   string
		want Ring
	}{
		{"FC 26-019", Ring{"FC", 2026, "019"}},
		{"24-031", Ring{"", 2024, "031"}},
		{"XYZ club 98-7", Ring{"XYZ club", 1998, "7"}},
		{"A12", Ring{"", 0, "A12"}},
	} {
		got, err := ParseRing(tt.in)
		if err != nil || got != tt.want || got.String() != tt.in {
			t.Errorf("ParseRing(%q) = %+v, %v; prints %q", tt.in, got, err, got.String())
		}
	}
}

func TestDate_AgainstTheCalendar(t *testing.T) {
	for day := MustDate("1900-01-01"); day < MustDate("2100-01-02"); day += 17 {
		back, err := ParseDate(day.String())
		if err != nil || back != day || day.Time().Format(time.DateOnly) != day.String() {
			t.Fatalf("%d prints as %s and reads as %v, %v", day, day, back, err)
		}
	}
	if _, err := ParseDate("2026-02-29"); err == nil {
		t.Error("29 February 2026 was read as a date")
	}
}

// Eggs are counted as found: those taken out at the same look lie in the nest no more.
func TestRoom_EggsTakenOutLeaveTheNest(t *testing.T) {
	b := twoCages()
	b.add("2026-01-10", &PairSet{Pair: p1, Place: c1, Cocks: []ID{cock}, Hens: []ID{hen}})
	b.add("2026-01-20", &NestCheck{Place: c1, Eggs: ptr(5), Chicks: ptr(0)})
	b.add("2026-01-28", &NestCheck{Place: c1, Eggs: ptr(5), Removed: ptr(1), RemovedWhy: "clear"})
	c := Replay(b.list).Place(c1).Clutches[0]
	if eggs, ok, _, _ := c.Known(); eggs != 4 || !ok || !c.Open() {
		t.Errorf("after one of five was taken out: %d eggs (known %v), open %v; want 4 in an open clutch", eggs, ok, c.Open())
	}
	pulled := b.add("2026-01-30", &NestCheck{Place: c1, Eggs: ptr(4), Removed: ptr(4), RemovedWhy: "pulled"})
	b.add("2026-02-06", &NestCheck{Place: c1, Eggs: ptr(1)})
	r := Replay(b.list)
	cs := r.Place(c1).Clutches
	if len(cs) != 2 || cs[0].EndedBy != pulled.ID || cs[1].Before() == nil || cs[1].Before().ID != pulled.ID {
		t.Errorf("a pulled clutch does not end with the pull, or the next does not begin after it: %+v", cs)
	}
}
