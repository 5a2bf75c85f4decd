package journal

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"broodlight/internal/aviary"
)

// noon is when the tests' clock stands.
var noon = time.Date(2026, 6, 30, 12, 0, 0, 0, time.UTC)

func fixed() time.Time { return noon }

var (
	keeper = Writer{By: "Ann", Role: aviary.Keeper}
	helper = Writer{By: "Ben", Role: aviary.Helper}
	ctx    = context.Background()
)

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

func mustBook(tb testing.TB, dir string) *Book { tb.Helper(); return mustBookAt(tb, dir, fixed) }

func mustBookAt(tb testing.TB, dir string, now func() time.Time) *Book {
	tb.Helper()
	b, err := OpenBook(ctx, dir, Options{Create: true, Program: "0.2.0", Now: now})
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { _ = b.Close() })
	return b
}

// must fails the test on an error.
func must(tb testing.TB, err error) {
	tb.Helper()
	if err != nil {
		tb.Fatal(err)
	}
}

func note(text string) *aviary.Entry { return &aviary.Entry{Body: &aviary.Note{Text: text}} }

// full is an entry with every part given.
func full(n int, text string) *aviary.Entry {
	return &aviary.Entry{ID: id(n), Kind: "note", Version: 1, Day: aviary.MustDate("2026-06-29"), Time: aviary.ClockOf(6, 48), Written: noon.Add(-time.Hour), By: "Ann", Body: &aviary.Note{Text: text}}
}

// raw opens a room's file without any of the journal's care, to do it harm.
func raw(t *testing.T, path string) *sql.DB {
	t.Helper()
	db, err := openDB(path, "rwc", pragmas(), nil)
	must(t, err)
	t.Cleanup(func() { _ = db.Close() })
	return db
}

func harm(t *testing.T, path string, statements ...string) {
	t.Helper()
	db := raw(t, path)
	for _, s := range statements {
		if _, err := db.Exec(s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
	must(t, db.Close())
}

func TestAppend_ReadsBackEveryPartInOrderOfArrival(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	want := []*aviary.Entry{full(3, "c"), full(1, "<b> \"x\" ü \n 🐦"), full(2, "b")}
	want[0].Batch, want[0].Why = id(9), "because"
	want[1].Time = 0
	want = append(want, &aviary.Entry{ID: id(4), Kind: "strike", Version: 1, Day: aviary.MustDate("1999-12-31"), Written: noon, By: "Ünal", Strikes: id(3), Body: &aviary.Strike{Reason: "slip"}})
	must(t, j.Append(ctx, want...))
	got, err := j.Entries(ctx)
	must(t, err)
	if d := cmp.Diff(got, want); d != "" {
		t.Error(d)
	}
	if at, err := j.Received(ctx, id(4)); err != nil || !at.Equal(noon) {
		t.Errorf("received %v, %v", at, err)
	}
	if _, err := j.Received(ctx, id(5)); !isRefused(err, aviary.NotFound, "id") {
		t.Errorf("received of an unknown id: %v", err)
	}
}

func isRefused(err error, code aviary.Code, field string) bool {
	var r *aviary.Error
	return errors.As(err, &r) && r.Code == code && r.Field == field && r.Message != ""
}

func TestAppend_SameIDTwice(t *testing.T) {
	later := func(e *aviary.Entry) { e.Written, e.By = noon, "Ben" }
	for _, c := range []struct {
		name   string
		change func(e *aviary.Entry)
		same   bool
	}{
		{"the same bytes", func(*aviary.Entry) {}, true},
		{"sent again under another name and instant", later, true},
		{"another body", func(e *aviary.Entry) { e.Body = &aviary.Note{Text: "other"} }, false},
		{"another kind", func(e *aviary.Entry) { e.Kind, e.Body = "round_seen", &aviary.RoundSeen{Text: "x"} }, false},
		{"another day", func(e *aviary.Entry) { e.Day++ }, false},
		{"another time", func(e *aviary.Entry) { e.Time = 0 }, false},
		{"another batch", func(e *aviary.Entry) { e.Batch = id(8) }, false},
		{"another reason", func(e *aviary.Entry) { e.Why = "x" }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := mustOpen(t, t.TempDir())
			must(t, j.Append(ctx, full(1, "x")))
			again := full(1, "x")
			c.change(again)
			err := j.Append(ctx, full(2, "before"), again, full(3, "after"))
			got, errRead := j.Entries(ctx)
			must(t, errRead)
			if c.same {
				if err != nil || len(got) != 3 {
					t.Fatalf("%v; %d entries", err, len(got))
				}
				return
			}
			if !isRefused(err, aviary.Conflict, "id") || len(got) != 1 || cmp.Diff(got[0], full(1, "x")) != "" {
				t.Fatalf("%v; %d entries: nothing of the step may be written", err, len(got))
			}
		})
	}
}

func TestAppend_BytesOfAnEarlierSpellingAreTheSame(t *testing.T) {
	dir := t.TempDir()
	j := mustOpen(t, dir)
	must(t, j.Append(ctx, full(1, "x")))
	must(t, j.Close())
	harm(t, filepath.Join(dir, FileName), `DROP TRIGGER entry_is_never_changed`, `UPDATE entry SET body = '{ "text" : "x" }'`)
	j = mustOpen(t, dir)
	must(t, j.Append(ctx, full(1, "x")))
	if err := j.Append(ctx, full(1, "y")); !isRefused(err, aviary.Conflict, "id") {
		t.Errorf("got %v", err)
	}
}

func TestEntry_IsNeverChangedOrErased(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	must(t, j.Append(ctx, full(1, "x")))
	for _, s := range []string{`UPDATE entry SET body = '{}'`, `UPDATE entry SET received = 0 WHERE seq = 1`, `DELETE FROM entry`} {
		if _, err := j.db.Exec(s); err == nil || !strings.Contains(err.Error(), "strike it out") {
			t.Errorf("%s: %v", s, err)
		}
	}
}

func TestEntry_TableRefusesWhatIsMalformed(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	const insert = `INSERT INTO entry (id, kind, version, day, time, written, received, by, batch, body) VALUES (%s)`
	good := []string{"x'01000000000070008000000000000001'", "'note'", "1", "'2026-01-02'", "''", "1", "1", "''", "NULL", "'{}'"}
	for i, bad := range []string{"x'01'", "''", "0", "'2 Jan 2026'", "'7'", "'then'", "NULL", "NULL", "x'02'", "NULL"} {
		row := append([]string(nil), good...)
		row[i] = bad
		if _, err := j.db.Exec(fmt.Sprintf(insert, strings.Join(row, ", "))); err == nil {
			t.Errorf("column %d took %s", i, bad)
		}
	}
	if _, err := j.db.Exec(fmt.Sprintf(insert, strings.Join(good, ", "))); err != nil {
		t.Error(err)
	}
}

func TestPool_EveryConnectionIsDurable(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	var wg sync.WaitGroup
	for range 8 {
		c, err := j.db.Conn(ctx) // held until the end, so that each is another connection
		must(t, err)
		defer c.Close()
		wg.Go(func() {
			for pragma, want := range map[string]string{"synchronous": "2", "foreign_keys": "1", "journal_mode": "wal", "secure_delete": "1", "busy_timeout": "5000"} {
				var got string
				if err := c.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&got); err != nil || got != want {
					t.Errorf("%s = %s, %v; want %s", pragma, got, err, want)
				}
			}
		})
	}
	wg.Wait()
	if n := j.db.Stats().OpenConnections; n < 8 {
		t.Errorf("%d connections", n)
	}
}

func TestPool_RefusesAConnectionThatIsNotDurable(t *testing.T) {
	for _, weak := range [][]string{
		{"journal_mode(WAL)", "synchronous(NORMAL)", "foreign_keys(1)"},
		{"journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(0)"},
		{"journal_mode(DELETE)", "synchronous(FULL)", "foreign_keys(1)"},
	} {
		db, err := openDB(filepath.Join(t.TempDir(), "x.db"), "rwc", pragmas(weak...), held)
		if err == nil {
			_ = db.Close()
			t.Errorf("a connection with %v was taken", weak)
		}
	}
}

func TestOpen_SaysWhatIsWrongWithTheFolder(t *testing.T) {
	room := func(t *testing.T, o Options) string {
		dir := t.TempDir()
		o.Create, o.Program = true, "0.2.0"
		j, err := Open(dir, o)
		must(t, err)
		must(t, j.Close())
		return dir
	}
	file := func(t *testing.T, name, content string) string {
		dir := t.TempDir()
		must(t, os.WriteFile(filepath.Join(dir, name), []byte(content), 0o600))
		return dir
	}
	for _, c := range []struct {
		name string
		dir  func(t *testing.T) string
		o    Options
		kind error
		says []string
	}{
		{"no folder", func(t *testing.T) string { return filepath.Join(t.TempDir(), "none") }, Options{}, ErrMissing, []string{"there is no folder"}},
		{"a file", func(t *testing.T) string { return filepath.Join(file(t, "x", "y"), "x") }, Options{Create: true}, ErrMissing, []string{"is a file", "name the folder"}},
		{"no room", func(t *testing.T) string { return t.TempDir() }, Options{}, ErrMissing, []string{"there is no room in", FileName}},
		{"a room that was never begun", func(t *testing.T) string { return file(t, FileName, "") }, Options{}, ErrMissing, []string{"there is no room in"}},
		{"a text", func(t *testing.T) string { return file(t, FileName, strings.Repeat("Dear diary\n", 500)) }, Options{Create: true}, ErrNotRoom, []string{"is not a room"}},
		{"a folder in the file's place", func(t *testing.T) string {
			dir := t.TempDir()
			must(t, os.Mkdir(filepath.Join(dir, FileName), 0o700))
			return dir
		}, Options{Create: true}, ErrNotRoom, []string{"is a folder"}},
		{"another program's database", func(t *testing.T) string {
			dir := t.TempDir()
			harm(t, filepath.Join(dir, FileName), `CREATE TABLE album (title TEXT)`)
			return dir
		}, Options{Create: true}, ErrNotRoom, []string{"is not a room"}},
		{"in use", func(t *testing.T) string {
			dir := t.TempDir()
			mustOpen(t, dir)
			return dir
		}, Options{Create: true}, ErrLocked, []string{"is in use", "close that one first"}},
		{"a demo where the own room is meant", func(t *testing.T) string { return room(t, Options{Mark: "demo"}) }, Options{Create: true}, ErrOtherRoom, []string{"holds another room", "a demo room"}},
		{"the own room where a demo is meant", func(t *testing.T) string { return room(t, Options{}) }, Options{Create: true, Mark: "demo"}, ErrOtherRoom, []string{"holds another room", "a keeper's own room"}},
		{"a later version's", func(t *testing.T) string {
			dir := room(t, Options{})
			harm(t, filepath.Join(dir, FileName), `INSERT INTO migration VALUES ('9999_song', 'x', '7.1.0', 0)`)
			return dir
		}, Options{Program: "0.2.0"}, ErrTooNew, []string{"written by version 7.1.0", "this program is version 0.2.0", "9999_song"}},
		{"a changed copy's", func(t *testing.T) string {
			dir := room(t, Options{})
			harm(t, filepath.Join(dir, FileName), `UPDATE migration SET checksum = 'x' WHERE name LIKE '0001%'`)
			return dir
		}, Options{}, ErrDamaged, []string{"0001_journal"}},
		{"a file without its list of forms", func(t *testing.T) string {
			dir := room(t, Options{})
			harm(t, filepath.Join(dir, FileName), `DROP TABLE migration`)
			return dir
		}, Options{}, ErrNotRoom, []string{"is not a room"}},
		{"a list of forms that cannot be read", func(t *testing.T) string {
			dir := room(t, Options{})
			harm(t, filepath.Join(dir, FileName), `DROP TABLE migration`, `CREATE TABLE migration (name TEXT)`)
			return dir
		}, Options{}, nil, []string{"checksum"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := c.dir(t)
			j, err := Open(dir, c.o)
			if err == nil {
				_ = j.Close()
				t.Fatal("it was opened")
			}
			if c.kind != nil && !errors.Is(err, c.kind) {
				t.Errorf("%v is no %v", err, c.kind)
			}
			for _, s := range c.says {
				if !strings.Contains(err.Error(), s) {
					t.Errorf("%q does not say %q", err, s)
				}
			}
			if c.kind != nil && !strings.Contains(err.Error(), filepath.Base(dir)) {
				t.Errorf("%q does not say where", err)
			}
		})
	}
}

func TestOpen_TakesUpWhatBelongsToIt(t *testing.T) {
	for _, o := range []Options{{}, {Mark: "demo"}} {
		dir := filepath.Join(t.TempDir(), "a", "folder with ? # % and ü")
		first := o
		first.Create, first.Now = true, fixed
		j, err := Open(dir, first)
		must(t, err)
		if j.Mark() != o.Mark || !j.Made().Equal(noon) || j.Dir() != dir {
			t.Errorf("%q made %v in %s", j.Mark(), j.Made(), j.Dir())
		}
		must(t, j.Append(ctx, full(1, "x")))
		room := j.ID()
		must(t, j.Close())
		for _, again := range []Options{o, {AnyMark: true}} {
			j, err = Open(dir, again)
			must(t, err)
			if got, err := j.Entries(ctx); err != nil || len(got) != 1 || j.ID() != room {
				t.Errorf("%d entries of room %v, %v", len(got), j.ID(), err)
			}
			must(t, j.Close())
		}
		if _, err := os.Stat(filepath.Join(dir, FileName)); err != nil {
			t.Error(err)
		}
	}
}

func TestOpenReadOnly_ReadsWhileTheRoomIsServedAndWritesNothing(t *testing.T) {
	dir := t.TempDir()
	b := mustBook(t, dir)
	must(t, b.Write(ctx, keeper, note("one")))
	r, err := OpenReadOnly(dir)
	must(t, err)
	defer r.Close()
	must(t, b.Write(ctx, keeper, note("two")))
	if got, err := r.Entries(ctx); err != nil || len(got) != 2 {
		t.Errorf("%d entries, %v", len(got), err)
	}
	if err := r.Append(ctx, full(1, "x")); !errors.Is(err, ErrNotWritable) {
		t.Errorf("append: %v", err)
	}
	if err := r.SetSetting(ctx, "x", "y"); !errors.Is(err, ErrNotWritable) {
		t.Errorf("setting: %v", err)
	}
	if _, err := r.db.Exec(`INSERT INTO setting VALUES ('x', 'y')`); err == nil {
		t.Error("SQLite let a reader write")
	}
	if _, err := OpenReadOnly(t.TempDir()); !errors.Is(err, ErrMissing) {
		t.Errorf("an empty folder: %v", err)
	}
}

// The forms of a file that was released stay as they are: this list only grows.
func TestMigrations_AreNeverEdited(t *testing.T) {
	want, err := os.ReadFile("testdata/migrations.txt")
	must(t, err)
	var got strings.Builder
	for _, m := range migrations {
		fmt.Fprintf(&got, "%s  %s\n", m.checksum, m.name)
	}
	if got.String() != string(want) {
		t.Errorf("got\n%swant\n%s", got.String(), want)
	}
}

func TestMigrate_AnEarlierFileIsCopiedThenBroughtUpToDate(t *testing.T) {
	all := migrations
	defer func() { migrations = all }()
	dir := t.TempDir()
	migrations = all[:1]
	j, err := Open(dir, Options{Create: true, Program: "0.1.0", Now: fixed})
	must(t, err)
	must(t, j.Append(ctx, full(1, "x")))
	must(t, j.Close())
	migrations = all
	if _, err := OpenReadOnly(dir); !errors.Is(err, ErrTooOld) || !strings.Contains(err.Error(), "0.1.0") {
		t.Errorf("read-only: %v", err)
	}
	j = mustOpen(t, dir)
	if got, err := j.Entries(ctx); err != nil || len(got) != 1 {
		t.Errorf("%d entries, %v", len(got), err)
	}
	if _, err := j.People(ctx); err != nil {
		t.Error(err)
	}
	migrations = all[:1]
	kept, err := openFileReadOnly(filepath.Join(dir, "room-before-0002_private.db"))
	must(t, err)
	defer kept.Close()
	if got, err := kept.Entries(ctx); err != nil || len(got) != 1 {
		t.Errorf("copy: %d entries, %v", len(got), err)
	}
}

func TestMigrate_AFailedStepLeavesTheFileAsItWas(t *testing.T) {
	all := migrations
	defer func() { migrations = all }()
	dir := t.TempDir()
	must(t, mustOpen(t, dir).Close())
	migrations = append(all[:len(all):len(all)], migration{"0003_bad", `CREATE TABLE song (x TEXT) STRICT; CREATE TABLE song (x TEXT) STRICT`, "x"})
	if _, err := Open(dir, Options{}); err == nil || !strings.Contains(err.Error(), "0003_bad") {
		t.Fatalf("got %v", err)
	}
	migrations = all
	j := mustOpen(t, dir)
	var n int
	if err := j.db.QueryRow(`SELECT count(*) FROM sqlite_schema WHERE name = 'song'`).Scan(&n); err != nil || n != 0 {
		t.Errorf("%d, %v", n, err)
	}
}
