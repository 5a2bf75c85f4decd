package journal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"broodlight/internal/aviary"
)

// machine holds a book against what it ought to hold: a list of entries in memory.
type machine struct {
	dir, outs string
	n         int // files and ids made so far
	book      *Book
	want      []*aviary.Entry
	backups   []backup
}

type backup struct {
	path string
	want []*aviary.Entry
}

func (m *machine) open(t *rapid.T) {
	b, err := OpenBook(ctx, m.dir, Options{Create: true, Now: fixed})
	if err != nil {
		t.Fatal(err)
	}
	m.book = b
}

// entry draws an entry that may or may not be fit to be written.
func (m *machine) entry(t *rapid.T) *aviary.Entry {
	m.n++
	e := &aviary.Entry{ID: id(10_000 + m.n)}
	place, bird := id(rapid.IntRange(1, 3).Draw(t, "place")), id(100+rapid.IntRange(1, 4).Draw(t, "bird"))
	e.Day = aviary.MustDate("2026-06-01") + aviary.Date(rapid.IntRange(0, 31).Draw(t, "day"))
	switch rapid.IntRange(0, 7).Draw(t, "what") {
	case 0:
		e.Body = &aviary.PlaceAdded{Place: place, Name: place.String()[30:], Type: aviary.Cage}
	case 1:
		e.Body = &aviary.BirdAcquired{Bird: bird, Species: "zebra", Place: place}
	case 2:
		e.Body = &aviary.NestCheck{Place: place, Eggs: ptr(rapid.IntRange(-1, 6).Draw(t, "eggs"))}
	case 3:
		e.Body = &aviary.BirdDied{Bird: bird}
	case 4:
		e.Body = &aviary.BirdMoved{Bird: bird, Place: place}
	case 5:
		e.Body = &aviary.Note{Text: rapid.StringN(0, 20, -1).Draw(t, "text")}
	default:
		e.Body = &aviary.Strike{}
		if len(m.want) > 0 {
			e.Strikes = rapid.SampledFrom(m.want).Draw(t, "struck").ID
		}
	}
	if rapid.IntRange(0, 3).Draw(t, "batched") == 0 {
		e.Batch = id(500 + rapid.IntRange(1, 3).Draw(t, "batch"))
	}
	return e
}

func (m *machine) send(t *rapid.T, write func(...*aviary.Entry) error) {
	var step []*aviary.Entry
	for range rapid.IntRange(1, 4).Draw(t, "entries") {
		step = append(step, m.entry(t))
	}
	if len(m.want) > 0 && rapid.Bool().Draw(t, "again") { // one that is there already comes with it
		old := *rapid.SampledFrom(m.want).Draw(t, "old")
		step = append(step, &old)
	}
	var refused *aviary.Error
	err := write(step...)
	switch {
	case err == nil:
		have := map[aviary.ID]bool{}
		for _, e := range m.want {
			have[e.ID] = true
		}
		for _, e := range step {
			if !have[e.ID] {
				m.want = append(m.want, e)
			}
		}
	case !errors.As(err, &refused):
		t.Fatalf("neither taken nor refused: %v", err)
	}
}

func (m *machine) check(t *rapid.T) {
	got, err := m.book.Entries(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != len(m.want) {
		t.Fatalf("%d entries on the disk, want %d", len(got), len(m.want))
	}
	if d := cmp.Diff(got, m.want); len(got) > 0 && d != "" {
		t.Fatal(d)
	}
	m.book.View(func(r *aviary.Room) {
		if r.Digest() != aviary.Replay(got).Digest() {
			t.Fatal("the room is not what the disk adds up to")
		}
	})
}

func TestBook_AgainstAListInMemory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		root, err := os.MkdirTemp("", "machine")
		if err != nil {
			t.Fatal(err)
		}
		defer os.RemoveAll(root)
		m := &machine{dir: filepath.Join(root, "room"), outs: root}
		m.open(t)
		defer func() { _ = m.book.Close() }()
		again := func() {
			if err := m.book.Close(); err != nil {
				t.Fatal(err)
			}
		}
		t.Repeat(map[string]func(*rapid.T){
			"write": func(t *rapid.T) { m.send(t, func(e ...*aviary.Entry) error { return m.book.Write(ctx, keeper, e...) }) },
			"receive": func(t *rapid.T) {
				m.send(t, func(e ...*aviary.Entry) error { return m.book.Receive(ctx, keeper, e...) })
			},
			"conflict": func(t *rapid.T) {
				if len(m.want) == 0 {
					t.Skip("nothing to clash with")
				}
				e := &aviary.Entry{ID: rapid.SampledFrom(m.want).Draw(t, "id").ID, Body: &aviary.Note{Text: "says something else"}}
				for _, err := range []error{m.book.Write(ctx, keeper, note("before"), e), m.book.Receive(ctx, keeper, note("before"), e)} {
					if !isRefused(err, aviary.Conflict, "id") {
						t.Fatalf("got %v", err)
					}
				}
			},
			"reopen": func(t *rapid.T) { again(); m.open(t) },
			"back up": func(t *rapid.T) {
				m.n++
				out := filepath.Join(m.outs, fmt.Sprintf("%d.db", m.n))
				if _, err := Backup(ctx, m.dir, out); err != nil {
					t.Fatal(err)
				}
				m.backups = append(m.backups, backup{out, m.want[:len(m.want):len(m.want)]})
			},
			"restore": func(t *rapid.T) {
				if len(m.backups) == 0 {
					t.Skip("no backup")
				}
				from := rapid.SampledFrom(m.backups).Draw(t, "backup")
				if _, err := Restore(from.path, m.dir); !errors.Is(err, ErrLocked) {
					t.Fatalf("over a room in use: %v", err)
				}
				again()
				if _, err := Restore(from.path, m.dir); err != nil {
					t.Fatal(err)
				}
				m.want = from.want
				m.open(t)
			},
			"": m.check,
		})
	})
}
