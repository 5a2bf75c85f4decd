package journal

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"broodlight/internal/aviary"
)

func cageAdded(n int) *aviary.Entry {
	return &aviary.Entry{Body: &aviary.PlaceAdded{Place: id(n), Name: fmt.Sprintf("A%d", n), Type: aviary.Cage}}
}

func look(cage, eggs int) *aviary.Entry {
	return &aviary.Entry{Body: &aviary.NestCheck{Place: id(cage), Eggs: ptr(eggs)}}
}

func length(b *Book) (n int) {
	b.View(func(r *aviary.Room) { n = r.Len() })
	return n
}

func TestBook_WritesAndReadsBack(t *testing.T) {
	dir := t.TempDir()
	b := mustBook(t, dir)
	cage, seen := cageAdded(1), look(1, 2)
	seen.Time, seen.Why = aviary.ClockOf(7, 5), "she was off the nest"
	must(t, b.Write(ctx, keeper, cage, seen))
	if cage.ID == (aviary.ID{}) || cage.ID.Version() != 7 || cage.Kind != "place_added" || cage.Version != 1 || cage.Day != b.Today() || !cage.Written.Equal(noon) || cage.By != "Ann" {
		t.Errorf("not filled: %+v", cage)
	}
	var before string
	b.View(func(r *aviary.Room) { before = r.Digest() })
	must(t, b.Close())
	b = mustBook(t, dir)
	b.View(func(r *aviary.Room) {
		if got := r.Digest(); got != before {
			t.Errorf("digest after reopening %s, before %s", got, before)
		}
		e := r.Entry(seen.ID)
		if e == nil || *e.Body.(*aviary.NestCheck).Eggs != 2 || e.Time.String() != "07:05" || e.Why != "she was off the nest" || !e.Written.Equal(noon) {
			t.Errorf("read back %+v", e)
		}
	})
}

func TestBook_RefusalSaysWhichAndChangesNothing(t *testing.T) {
	for _, c := range []struct {
		name  string
		w     Writer
		bad   *aviary.Entry
		code  aviary.Code
		field string
		says  string
	}{
		{"a negative count", keeper, look(1, -1), aviary.Invalid, "eggs", "-1"},
		{"a day to come", keeper, &aviary.Entry{Day: aviary.MustDate("2026-07-01"), Body: &aviary.Note{Text: "x"}}, aviary.Invalid, "day", "has not come yet"},
		{"a cage that is not there", keeper, look(2, 1), aviary.NotFound, "", "no such place"},
		{"a box that is nowhere", keeper, &aviary.Entry{Body: &aviary.JobDone{Place: id(1), Box: id(9), Job: "clean"}}, aviary.NotFound, "box", "write it in first"},
		{"a place left out that is nowhere", keeper, &aviary.Entry{Body: &aviary.RoundSeen{Except: []aviary.ID{id(1), id(9)}}}, aviary.NotFound, "except", "no such place"},
		{"a father who is nowhere", keeper, &aviary.Entry{Body: &aviary.BirdAcquired{Bird: id(20), Species: "zebra", Sire: id(21)}}, aviary.NotFound, "sire", "no such bird"},
		{"one bird with nobody", keeper, &aviary.Entry{Body: &aviary.BirdSame{Bird: id(20), Same: id(21)}}, aviary.NotFound, "bird", "no such bird"},
		{"a strike of nothing", keeper, &aviary.Entry{Strikes: id(9), Body: &aviary.Strike{}}, aviary.NotFound, "strikes", "no such entry"},
		{"a matter that is nowhere", keeper, &aviary.Entry{Body: &aviary.Settled{Entry: id(9)}}, aviary.NotFound, "entry", "no such entry"},
		{"nothing", keeper, &aviary.Entry{}, aviary.Invalid, "body", "says nothing"},
		{"no entry", keeper, nil, aviary.Invalid, "body", "says nothing"},
		{"a later form", keeper, &aviary.Entry{Version: 99, Body: &aviary.Note{Text: "x"}}, aviary.TooNew, "version", "later version"},
		{"a check that strikes", keeper, &aviary.Entry{Strikes: id(9), Body: &aviary.Note{Text: "x"}}, aviary.Invalid, "strikes", "only a strike"},
		{"a helper's place", helper, cageAdded(3), aviary.Denied, "kind", "ask the keeper"},
		{"nobody", Writer{}, note("x"), aviary.Denied, "", "log in"},
		{"another's name", helper, &aviary.Entry{By: "Ann", Body: &aviary.Note{Text: "x"}}, aviary.Denied, "by", "own name"},
		{"an id that is taken", keeper, &aviary.Entry{ID: id(50), Body: &aviary.Note{Text: "other"}}, aviary.Conflict, "id", "says something else"},
		{"an id that is another's", helper, &aviary.Entry{ID: id(50), By: "Ben", Body: &aviary.Note{Text: "mine"}}, aviary.Denied, "id", "Ann"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := mustBook(t, t.TempDir())
			must(t, b.Write(ctx, keeper, cageAdded(1), &aviary.Entry{ID: id(50), Body: &aviary.Note{Text: "mine"}}))
			for _, write := range []func() error{
				func() error { return b.Write(ctx, c.w, look(1, 1), c.bad) },
				func() error { return b.Receive(ctx, c.w, look(1, 1), c.bad) },
			} {
				err := write()
				if c.name == "a cage that is not there" && err == nil {
					continue // Receive keeps it; see TestReceive
				}
				var at *aviary.RefusedAt
				wrong := 1
				if c.name == "nobody" {
					wrong = 0
				}
				if !errors.As(err, &at) || at.Index != wrong || !isRefused(err, c.code, c.field) || !strings.Contains(err.Error(), c.says) {
					t.Fatalf("got %#v: %v", err, err)
				}
				if got, err := b.Entries(ctx); err != nil || len(got) != 2 || length(b) != 2 {
					t.Fatalf("%d entries on the disk, %d in the room, %v", len(got), length(b), err)
				}
			}
		})
	}
}

func TestBook_AHelperStrikesOnlyHisOwn(t *testing.T) {
	b := mustBook(t, t.TempDir())
	write := func(w Writer, batch int, e *aviary.Entry) aviary.ID {
		t.Helper()
		if batch != 0 {
			e.Batch = id(batch)
		}
		must(t, b.Write(ctx, w, e))
		return e.ID
	}
	strikes := func(target aviary.ID) *aviary.Entry {
		return &aviary.Entry{Strikes: target, Body: &aviary.Strike{}}
	}
	write(keeper, 0, cageAdded(1))
	anns, bens := write(keeper, 0, look(1, 1)), write(helper, 0, look(1, 2))
	write(keeper, 71, look(1, 3))
	write(helper, 72, look(1, 3))
	write(helper, 72, note("with it"))
	write(helper, 73, look(1, 4))
	write(keeper, 73, note("added by Ann"))
	asBen := &aviary.Entry{By: "Ben", Body: &aviary.PlaceAdded{Place: id(4), Name: "A4", Type: aviary.Cage}}
	bensPlace := write(keeper, 0, asBen) // as an import brings it

	for _, c := range []struct {
		name   string
		target aviary.ID
		with   *aviary.Entry
		code   aviary.Code
	}{
		{"another's entry", anns, nil, aviary.Denied},
		{"another's step", id(71), nil, aviary.Denied},
		{"a step with another's entries", id(73), nil, aviary.Denied},
		{"what is nowhere", id(999), nil, aviary.NotFound},
		{"own, but of a kind that he may not write", bensPlace, nil, aviary.Denied},
		{"a step that he adds to first", id(71), &aviary.Entry{Batch: id(71), Body: &aviary.Note{Text: "x"}}, aviary.Denied},
	} {
		entries := []*aviary.Entry{strikes(c.target)}
		if c.with != nil {
			entries = append([]*aviary.Entry{c.with}, entries...)
		}
		n := length(b)
		for _, err := range []error{b.Write(ctx, helper, entries...), b.Receive(ctx, helper, entries...)} {
			var r *aviary.Error
			if !errors.As(err, &r) || r.Code != c.code || length(b) != n {
				t.Errorf("%s: %v", c.name, err)
			}
		}
	}
	own := strikes(bens)
	must(t, b.Write(ctx, helper, own))
	must(t, b.Write(ctx, helper, strikes(id(72))))
	must(t, b.Write(ctx, helper, strikes(own.ID))) // and back
	fresh := note("slip")
	fresh.ID = id(80)
	must(t, b.Write(ctx, helper, fresh, strikes(id(80))))
	b.View(func(r *aviary.Room) {
		if r.Struck(bens) || !r.Struck(id(80)) || r.Struck(anns) {
			t.Error("strikes did not take as written")
		}
		for _, e := range r.Batch(id(72)) {
			if !r.Struck(e.ID) {
				t.Error("the step stands")
			}
		}
	})
	keepers := strikes(anns)
	must(t, b.Write(ctx, keeper, keepers))
	if err := b.Write(ctx, helper, strikes(keepers.ID)); !isRefused(err, aviary.Denied, "strikes") {
		t.Errorf("a helper restored what the keeper struck: %v", err)
	}
}

func TestBook_EveryKindIsHeldToTheTableOfRoles(t *testing.T) {
	b := mustBook(t, t.TempDir())
	for _, k := range aviary.Kinds() {
		err := b.Write(ctx, helper, &aviary.Entry{Body: k.New()})
		if denied := isRefused(err, aviary.Denied, "kind"); denied == k.Helper {
			t.Errorf("%s: %v", k.Kind, err)
		}
	}
}

func TestBook_SentAgainIsTakenOnce(t *testing.T) {
	now := noon
	b := mustBookAt(t, t.TempDir(), func() time.Time { return now })
	must(t, b.Write(ctx, keeper, cageAdded(1)))
	send := func(w Writer, eggs int) error {
		e := look(1, eggs)
		e.ID = id(60) // a phone makes the id and nothing else
		return b.Write(ctx, w, e)
	}
	must(t, send(helper, 3))
	now = now.Add(26 * time.Hour)
	must(t, send(helper, 3)) // the answer was lost, and it sends again the next day
	if n := length(b); n != 2 {
		t.Errorf("%d entries", n)
	}
	if err := send(helper, 4); !isRefused(err, aviary.Conflict, "id") {
		t.Errorf("other content: %v", err)
	}
	e := look(1, 1)
	e.ID = id(61)
	if err := b.Write(ctx, keeper, e, e); err != nil || length(b) != 3 {
		t.Errorf("twice in one step: %v, %d entries", err, length(b))
	}
}

func TestBook_OrderOfWritingStandsWhateverTheIDs(t *testing.T) {
	b := mustBook(t, t.TempDir())
	for n := 90; n > 0; n -= 3 { // each id before the one of what it rests on
		add := cageAdded(n)
		add.ID = id(1000 + n)
		check, again := look(n, 1), look(n, 2)
		check.ID, again.ID = id(1000+n-1), id(1000+n-2)
		must(t, b.Write(ctx, keeper, add, check))
		must(t, b.Write(ctx, keeper, again))
	}
	b.View(func(r *aviary.Room) {
		if got := r.Aside(); len(got) != 0 {
			t.Errorf("%d set aside", len(got))
		}
	})
}

func TestBook_KeepsNothingOfTheCallers(t *testing.T) {
	b := mustBook(t, t.TempDir())
	e := look(1, 3)
	must(t, b.Write(ctx, keeper, cageAdded(1), e))
	*e.Body.(*aviary.NestCheck).Eggs = 40
	e.Day = 1
	b.View(func(r *aviary.Room) {
		if got := r.Entry(e.ID); *got.Body.(*aviary.NestCheck).Eggs != 3 || got.Day == 1 {
			t.Error("the room holds the caller's entry")
		}
	})
}

func TestReceive_WhatClashesIsKeptAndSetAside(t *testing.T) {
	dir := t.TempDir()
	b := mustBook(t, dir)
	must(t, b.Write(ctx, keeper, cageAdded(1)))
	nowhere := look(2, 3)
	if err := b.Write(ctx, keeper, nowhere); !isRefused(err, aviary.NotFound, "") {
		t.Fatalf("at the door: %v", err)
	}
	must(t, b.Receive(ctx, helper, func() *aviary.Entry { e := look(2, 3); e.ID = nowhere.ID; return e }()))
	must(t, b.Receive(ctx, keeper, look(1, 2)))
	digest := func() (d string) {
		b.View(func(r *aviary.Room) {
			if got := r.Aside(); len(got) != 1 || got[0].Entry.ID != nowhere.ID {
				t.Errorf("set aside: %v", got)
			}
			d = r.Digest()
		})
		return d
	}
	before := digest()
	must(t, b.Close())
	b = mustBook(t, dir)
	if digest() != before {
		t.Error("another room after reopening")
	}
	if r, err := Verify(dir); err != nil || !r.Good || r.Aside != 1 {
		t.Errorf("verify: %v\n%v", err, r)
	}
	late := cageAdded(2) // the entry that was still on another phone
	late.Day = b.Today() - 1
	must(t, b.Receive(ctx, keeper, late))
	b.View(func(r *aviary.Room) {
		if len(r.Aside()) != 0 {
			t.Error("it is still set aside")
		}
	})
}

func TestBook_TwoPhonesAtTheSameCageInTheSameMinute(t *testing.T) {
	dir := t.TempDir()
	b := mustBook(t, dir)
	must(t, b.Write(ctx, keeper, cageAdded(1)))
	var wg sync.WaitGroup
	const each = 20
	for _, w := range []Writer{keeper, helper} {
		wg.Go(func() {
			for n := range each {
				e := look(1, n)
				e.Time = aviary.ClockOf(7, 5)
				if err := b.Write(ctx, w, e); err != nil {
					t.Error(err)
				}
				b.View(func(r *aviary.Room) { _ = r.Place(id(1)).LastLook })
				_ = b.Today()
			}
		})
	}
	wg.Wait()
	if got, err := b.Entries(ctx); err != nil || len(got) != 1+2*each || length(b) != 1+2*each {
		t.Errorf("%d on the disk, %d in the room, %v: both are to be kept", len(got), length(b), err)
	}
	if r, err := Verify(dir); err != nil || !r.Good {
		t.Errorf("%v\n%v", err, r)
	}
}

func TestBook_TodayIsTheRoomsDay(t *testing.T) {
	for _, c := range []struct {
		zone string
		now  string
		want string
	}{
		{"Europe/Dublin", "2026-01-13T23:30:00Z", "2026-01-13"},
		{"Europe/Dublin", "2026-06-30T23:30:00Z", "2026-07-01"},
		{"Pacific/Auckland", "2026-01-13T12:00:00Z", "2026-01-14"},
		{"Australia/Sydney", "2026-01-13T12:59:59Z", "2026-01-13"},
		{"America/Los_Angeles", "2026-01-13T07:59:59Z", "2026-01-12"},
	} {
		now, err := time.Parse(time.RFC3339, c.now)
		must(t, err)
		b := mustBookAt(t, t.TempDir(), func() time.Time { return now })
		set := &aviary.Entry{Day: aviary.MustDate("2026-01-01"), Body: &aviary.RoomSet{Zone: ptr(c.zone)}}
		must(t, b.Write(ctx, keeper, set))
		e := note("x")
		must(t, b.Write(ctx, keeper, e))
		if got := b.Today().String(); got != c.want || e.Day.String() != c.want {
			t.Errorf("%s in %s: today %s, written on %s, want %s", c.now, c.zone, got, e.Day, c.want)
		}
	}
}

// Noon of 30 June in UTC is the first minute of 1 July in Auckland.
func TestBook_FoundingEntriesAreOfTheDayInTheirOwnZone(t *testing.T) {
	b := mustBook(t, t.TempDir())
	zone := "Pacific/Auckland"
	tomorrow := aviary.DayIn(noon, time.UTC) + 1
	founds := func() []*aviary.Entry {
		cage := cageAdded(1)
		cage.Day = tomorrow
		return []*aviary.Entry{{Day: tomorrow, Body: &aviary.RoomSet{Zone: &zone}}, cage}
	}
	if err := b.Write(ctx, keeper, founds()[1]); err == nil {
		t.Error("a day that has not come was taken without a zone in which it has")
	}
	must(t, b.Receive(ctx, keeper, founds()...))
	if got := b.Today(); got != tomorrow {
		t.Errorf("today is %s, want %s", got, tomorrow)
	}
}

func TestBook_ClockMovedBack(t *testing.T) {
	now := noon
	dir := t.TempDir()
	clock := func() time.Time { return now }
	b := mustBookAt(t, dir, clock)
	write := func(body aviary.Body) *aviary.Entry {
		e := &aviary.Entry{Body: body}
		must(t, b.Write(ctx, keeper, e))
		return e
	}
	write(&aviary.PlaceAdded{Place: id(1), Name: "A1", Type: aviary.Cage})
	write(&aviary.BirdAcquired{Bird: id(2), Species: "zebra", Place: id(1)})
	now = noon.Add(-time.Hour) // the clock was an hour ahead and is set right
	w := write(&aviary.BirdWeighed{Bird: id(2), Grams: 14})
	if !w.Written.After(noon) {
		t.Errorf("written %v, before the bird came at %v", w.Written, noon)
	}
	must(t, b.Close())
	b = mustBookAt(t, dir, clock)
	if w2 := write(&aviary.BirdWeighed{Bird: id(2), Grams: 15}); w2.Written.Sub(noon) > time.Second || !w2.Written.After(w.Written) {
		t.Errorf("after a restart: %v, not after %v", w2.Written, w.Written)
	}
	b.View(func(r *aviary.Room) {
		if len(r.Aside()) != 0 || len(r.Bird(id(2)).Weights) != 2 {
			t.Errorf("set aside: %v", r.Aside())
		}
	})
	now = noon.Add(-72 * time.Hour) // it was days ahead: what is written counts from the clock again
	if e := write(&aviary.Note{Text: "x"}); !e.Written.Equal(now) || e.Day != b.Today() {
		t.Errorf("written %v on %v", e.Written, e.Day)
	}
	e := note("from a phone with a wild clock")
	e.Written = noon.AddDate(30, 0, 0)
	must(t, b.Write(ctx, keeper, e))
	if e := write(&aviary.Note{Text: "y"}); e.Written.After(noon) {
		t.Errorf("a phone's clock set the room's: %v", e.Written)
	}
}

func TestAppend_PastTheBookPanics(t *testing.T) {
	b := mustBook(t, t.TempDir())
	defer func() {
		if recover() == nil {
			t.Error("the room and the disk would part")
		}
	}()
	_ = b.Append(ctx, full(1, "x"))
}
