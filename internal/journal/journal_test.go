package journal

import (
	"context"
	"encoding/binary"
	"errors"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
)

// noon is when the tests' clock stands.
var noon = time.Date(2026, 6, 30, 12, 0, 0, 0, time.UTC)

func fixed() time.Time { return noon }

var keeper = Writer{By: "Ann", Role: aviary.Keeper}

func id(n int) aviary.ID {
	x := aviary.ID{0: 1, 6: 0x70, 8: 0x80}
	binary.BigEndian.PutUint32(x[12:], uint32(n))
	return x
}

func ptr[T any](v T) *T { return &v }

func mustOpen(tb testing.TB, dir string) *Journal {
	tb.Helper()
	j, err := Open(dir, Options{Create: true, Program: "0.2.0", Now: fixed})
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { _ = j.Close() })
	return j
}

func mustBook(tb testing.TB, dir string) *Book {
	tb.Helper()
	b, err := OpenBook(context.Background(), dir, Options{Create: true, Program: "0.2.0", Now: fixed})
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { _ = b.Close() })
	return b
}

func note(text string) *aviary.Entry { return &aviary.Entry{Body: &aviary.Note{Text: text}} }

// full is an entry with every part given.
func full(n int, text string) *aviary.Entry {
	return &aviary.Entry{ID: id(n), Kind: "note", Version: 1, Day: aviary.MustDate("2026-06-29"), Time: aviary.ClockOf(6, 48), Written: noon.Add(-time.Hour), By: "Ann", Body: &aviary.Note{Text: text}}
}

func TestBook_WritesAndReadsBack(t *testing.T) {
	dir := t.TempDir()
	b := mustBook(t, dir)
	cage := &aviary.Entry{Body: &aviary.PlaceAdded{Place: id(1), Name: "A1", Type: aviary.Cage}}
	look := &aviary.Entry{Body: &aviary.NestCheck{Place: id(1), Eggs: ptr(2)}, Time: aviary.ClockOf(7, 5), Why: "she was off the nest"}
	if err := b.Write(context.Background(), keeper, cage, look); err != nil {
		t.Fatal(err)
	}
	if cage.ID == (aviary.ID{}) || cage.Kind != "place_added" || cage.Version != 1 || cage.Day != b.Today() || !cage.Written.Equal(noon) || cage.By != "Ann" {
		t.Errorf("not filled: %+v", cage)
	}
	var before string
	b.View(func(r *aviary.Room) { before = r.Digest() })
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	b = mustBook(t, dir)
	b.View(func(r *aviary.Room) {
		if got := r.Digest(); got != before {
			t.Errorf("digest after reopening %s, before %s", got, before)
		}
		e := r.Entry(look.ID)
		if e == nil || *e.Body.(*aviary.NestCheck).Eggs != 2 || e.Time.String() != "07:05" || e.Why != "she was off the nest" || !e.Written.Equal(noon) {
			t.Errorf("read back %+v", e)
		}
	})
}

func TestBook_RefusalSaysWhichAndChangesNothing(t *testing.T) {
	b := mustBook(t, t.TempDir())
	err := b.Write(context.Background(), keeper, note("fine"), &aviary.Entry{Body: &aviary.NestCheck{Place: id(1), Eggs: ptr(-1)}})
	var at *aviary.RefusedAt
	var refused *aviary.Error
	if !errors.As(err, &at) || at.Index != 1 || !errors.As(err, &refused) || refused.Field != "eggs" || !strings.Contains(refused.Message, "-1") {
		t.Fatalf("got %#v", err)
	}
	b.View(func(r *aviary.Room) {
		if r.Len() != 0 {
			t.Errorf("%d entries in the room", r.Len())
		}
	})
	if got, err := b.Entries(context.Background()); err != nil || len(got) != 0 {
		t.Errorf("%d entries on the disk, %v", len(got), err)
	}
}
