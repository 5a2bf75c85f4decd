package journal

import (
	"errors"
	"fmt"
	"path/filepath"
	"testing"

	sqlite3 "modernc.org/sqlite/lib"

	"broodlight/internal/aviary"
)

func TestAnomaly_NoSpaceLeft(t *testing.T) {
	dir := t.TempDir()
	b := mustBook(t, dir)
	must(t, b.Write(ctx, keeper, cageAdded(1)))
	b.db.SetMaxOpenConns(1) // the limit is a connection's own
	limit := func(pages int) {
		if _, err := b.db.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages)); err != nil {
			t.Fatal(err)
		}
	}
	limit(1) // SQLite takes the pages that there are for the least
	var written int
	var refused *aviary.Entry
	var err error
	for written = 1; err == nil && written < 10_000; {
		refused = look(1, written%6)
		if err = b.Write(ctx, keeper, refused); err == nil {
			written++
		}
	}
	if !errors.Is(err, ErrFull) {
		t.Fatalf("got %v", err)
	}
	for range 3 {
		if err := b.Write(ctx, keeper, look(1, 1), look(1, 2)); !errors.Is(err, ErrFull) {
			t.Errorf("got %v", err)
		}
	}
	same := func(want int) {
		t.Helper()
		got, err := b.Entries(ctx)
		must(t, err)
		b.View(func(r *aviary.Room) {
			if len(got) != want || r.Len() != want || aviary.Replay(got).Digest() != r.Digest() {
				t.Errorf("%d on the disk, %d in the room, want %d", len(got), r.Len(), want)
			}
		})
	}
	same(written)
	limit(1 << 30)
	must(t, b.Write(ctx, keeper, refused)) // the same entry, once there is space
	same(written + 1)
	must(t, b.Close())
	if r, err := Verify(dir); err != nil || !r.Good || r.Entries != written+1 {
		t.Errorf("%v\n%v", err, r)
	}
}

// Each write, truncation and sync that a step brings about fails once, in turn.
func TestAnomaly_TheDiskFailsAtEachOperationInTurn(t *testing.T) {
	for _, c := range []struct {
		name string
		with int32
		kind error
	}{
		{"full", sqlite3.SQLITE_FULL, ErrFull},
		{"write", sqlite3.SQLITE_IOERR_WRITE, ErrDamaged},
		{"sync", sqlite3.SQLITE_IOERR_FSYNC, ErrDamaged},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			d := watch(t, dir)
			b := mustBook(t, dir)
			must(t, b.Write(ctx, keeper, cageAdded(1)))
			written, failures := 1, 0
			for n := 1; ; n++ {
				e, with := look(1, n%6), look(1, 1)
				d.failNext(n, c.with)
				err := b.Write(ctx, keeper, e, with)
				if left := d.failNext(0, 0); left > 0 {
					must(t, err) // the step took fewer operations than n: all have failed once
					written += 2
					break
				}
				failures++
				// Folding the log into the file may fail after the step is safe; then it was acknowledged.
				if err != nil {
					if !errors.Is(err, c.kind) {
						t.Fatalf("operation %d: %v", n, err)
					}
					if length(b) != written {
						t.Fatalf("operation %d: refused, and in the room", n)
					}
					if err := b.Write(ctx, keeper, e, with); err != nil {
						t.Fatalf("operation %d, written again: %v", n, err)
					}
				}
				written += 2
			}
			got, err := b.Entries(ctx)
			must(t, err)
			b.View(func(r *aviary.Room) {
				if len(got) != written || r.Len() != written || aviary.Replay(got).Digest() != r.Digest() {
					t.Errorf("%d on the disk, %d in the room, want %d", len(got), r.Len(), written)
				}
			})
			must(t, b.Close())
			if r, err := Verify(dir); err != nil || !r.Good || r.Entries != written {
				t.Errorf("%v\n%v", err, r)
			}
			t.Logf("%d operations failed in turn", failures)
			if failures < 2 {
				t.Error("the step hardly touched the disk")
			}
		})
	}
}

func TestAnomaly_TwoCopiesOpen(t *testing.T) {
	dir := t.TempDir()
	first := mustBook(t, dir)
	must(t, first.Write(ctx, keeper, note("one")))
	if _, err := OpenBook(ctx, dir, Options{Create: true}); !errors.Is(err, ErrLocked) {
		t.Fatalf("the second copy: %v", err)
	}
	must(t, first.Write(ctx, keeper, note("two"))) // the first goes on
	must(t, first.Close())
	second := mustBook(t, dir)
	if n := length(second); n != 2 {
		t.Errorf("%d entries", n)
	}
}

// Another program holds the file itself, without the folder's lock.
func TestAnomaly_AnotherProgramWrites(t *testing.T) {
	dir := t.TempDir()
	b := mustBook(t, dir)
	b.db.SetMaxOpenConns(1)
	if _, err := b.db.Exec(`PRAGMA busy_timeout = 20`); err != nil {
		t.Fatal(err)
	}
	other := raw(t, filepath.Join(dir, FileName))
	tx, err := other.Begin() // immediate: it holds the writer's place
	must(t, err)
	e := note("x")
	if err := b.Write(ctx, keeper, e); !errors.Is(err, ErrBusy) || length(b) != 0 {
		t.Errorf("%v, %d entries", err, length(b))
	}
	must(t, tx.Rollback())
	must(t, b.Write(ctx, keeper, e))
}
