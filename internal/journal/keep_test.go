package journal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"broodlight/internal/aviary"
	"broodlight/internal/journal/journaltest"
)

// smallRoom is a folder with a room of four cages and a season, closed.
func smallRoom(t *testing.T) (dir string, entries []*aviary.Entry) {
	t.Helper()
	dir = t.TempDir()
	entries = journaltest.Big(4, 1, 20, 1)
	j := mustOpen(t, dir)
	must(t, j.Append(ctx, entries...))
	must(t, j.Close())
	return dir, entries
}

// files lists what is in a folder.
func files(t *testing.T, dir string) (names []string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	must(t, err)
	for _, f := range list {
		if end := filepath.Ext(f.Name()); end != ".lock" && end != ".db-shm" && end != ".db-wal" {
			names = append(names, f.Name())
		}
	}
	return names
}

func TestVerify_ASoundRoom(t *testing.T) {
	dir, entries := smallRoom(t)
	r, err := Verify(dir)
	must(t, err)
	if !r.Good || r.Entries != len(entries) || r.Aside != 0 || r.Digest != aviary.Replay(entries).Digest() || strings.Contains(r.String(), "BAD") {
		t.Errorf("%+v", r)
	}
	if _, err := Verify(t.TempDir()); !errors.Is(err, ErrMissing) {
		t.Errorf("an empty folder: %v", err)
	}
}

func TestVerify_FindsWhatIsWrong(t *testing.T) {
	const unguard = `DROP TRIGGER entry_is_never_changed; DROP TRIGGER entry_is_never_erased;`
	const guard = `CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, 'x'); END; CREATE TRIGGER entry_is_never_erased BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'x'); END;`
	for _, c := range []struct{ name, harm, says string }{
		{"guards gone", unguard, "guards against changing"},
		{"facts that cannot be read", unguard + `UPDATE entry SET body = '{"eggs":' WHERE kind = 'nest_check' AND seq % 2 = 0;` + guard, "cannot be read"},
		{"many of them", unguard + `UPDATE entry SET body = '{"eggs":' WHERE kind = 'nest_check';` + guard, "more like it"},
		{"unknown facts", unguard + `UPDATE entry SET body = '{"song":1}' WHERE kind = 'room_set';` + guard, "song"},
		{"an unknown kind", unguard + `UPDATE entry SET kind = 'song_heard' WHERE kind = 'room_set';` + guard, "song_heard"},
		{"a later form", unguard + `UPDATE entry SET version = 9 WHERE kind = 'room_set';` + guard, "later version"},
		{"a day that is none", unguard + `UPDATE entry SET day = '2016-02-31' WHERE kind = 'room_set';` + guard, "2016-02-31"},
		{"a time that is none", unguard + `UPDATE entry SET time = '25:00' WHERE kind = 'room_set';` + guard, "25:00"},
		{"a lost place", unguard + `DELETE FROM entry WHERE kind = 'box_hung';` + guard, "names a box that is nowhere"},
		{"a lost father", unguard + `UPDATE entry SET body = json_set(body, '$.sire', '01000000-0000-7000-8000-000000000001') WHERE kind = 'bird_acquired' AND seq = (SELECT max(seq) FROM entry WHERE kind = 'bird_acquired');` + guard, "names a bird that is nowhere in the journal, under sire"},
		{"a strike of nothing", unguard + `UPDATE entry SET strikes = x'01000000000070008000000000000001' WHERE kind = 'round_seen';` + guard, "under strikes"},
		{"a log-in of nobody", `PRAGMA foreign_keys = 0; INSERT INTO session VALUES (zeroblob(32), zeroblob(16), 0, 0)`, "names a person that is not there"},
		{"an edited form", `UPDATE migration SET checksum = 'x' WHERE name = '0002_private'`, "0002_private"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir, _ := smallRoom(t)
			harm(t, filepath.Join(dir, FileName), c.harm)
			r, err := Verify(dir)
			must(t, err)
			if r.Good || !strings.Contains(r.String(), c.says) || !strings.Contains(r.String(), "BAD") {
				t.Errorf("does not say %q:\n%v", c.says, r)
			}
			if n := strings.Count(r.String(), "\n"); n > 3*most {
				t.Errorf("%d lines", n)
			}
		})
	}
}

func TestVerify_FindsFlippedBytes(t *testing.T) {
	dir, _ := smallRoom(t)
	path := filepath.Join(dir, FileName)
	sound, err := os.ReadFile(path)
	must(t, err)
	found, places := 0, 0
	const spans, length = 60, 60
	for i := range spans {
		data := bytes.Clone(sound)
		at := 100 + i*(len(data)-200)/spans
		if bytes.Count(data[at:at+length], []byte{0}) == length {
			continue // nothing stands there
		}
		places++
		for k := range length {
			data[at+k] ^= 0xa5
		}
		must(t, os.WriteFile(path, data, 0o600))
		if r, err := Verify(dir); err != nil || !r.Good {
			found++
		}
	}
	// A few spans fall on texts that may say anything.
	if places < 30 || found < places*9/10 {
		t.Errorf("%d of %d found", found, places)
	}
	must(t, os.WriteFile(path, sound[:len(sound)/2], 0o600))
	if r, err := Verify(dir); err != nil || r.Good {
		t.Errorf("half a file: %v\n%v", err, r)
	}
}

func TestReferences_EveryIDIsLookedAt(t *testing.T) {
	// Ids that this same entry makes, or that name somebody in the address book.
	own := map[string]bool{
		"bird_acquired.bird": true, "chick_ringed.bird": true, "place_added.place": true, "pair_set.pair": true,
		"box_hung.box": true, "group_found.group": true, "young_weaned.group": true, "bird_left.to": true,
	}
	for _, k := range aviary.Kinds() {
		for field := range idFields(k.New()) {
			if (named[k.Kind][field] != "") == own[string(k.Kind)+"."+field] {
				t.Errorf("%s.%s: say in named what it names, or here that it is its own", k.Kind, field)
			}
		}
		for field := range named[k.Kind] {
			if !idFields(k.New())[field] {
				t.Errorf("%s has no field %s", k.Kind, field)
			}
		}
	}
	for kind := range named {
		if _, ok := aviary.KindOf(kind); !ok {
			t.Errorf("there is no kind %s", kind)
		}
	}
}

// idFields lists the columns of a body that hold ids.
func idFields(b aviary.Body) map[string]bool {
	out := map[string]bool{}
	v := reflect.TypeOf(b).Elem()
	for i := range v.NumField() {
		switch v.Field(i).Type {
		case reflect.TypeFor[aviary.ID](), reflect.TypeFor[[]aviary.ID]():
			field, _, _ := strings.Cut(v.Field(i).Tag.Get("json"), ",")
			out[field] = true
		}
	}
	return out
}

func TestBackup_WhileTheRoomIsServed(t *testing.T) {
	dir := t.TempDir()
	b := mustBook(t, dir)
	must(t, b.Write(ctx, keeper, cageAdded(1)))
	ann, err := b.AddPerson(ctx, "Ann", aviary.Keeper)
	must(t, err)
	must(t, b.SetPassphrase(ctx, ann.ID, "a long enough phrase"))
	_, err = b.NewSession(ctx, ann.ID)
	must(t, err)
	var acked atomic.Int64
	acked.Store(1)
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for n := 0; ; n++ {
			select {
			case <-stop:
				return
			default:
				if err := b.Write(ctx, keeper, look(1, n%7)); err != nil {
					t.Error(err)
					return
				}
				acked.Add(1)
			}
		}
	}()
	outs := t.TempDir()
	for n := range 8 {
		out := filepath.Join(outs, fmt.Sprintf("backup %d.db", n))
		before := acked.Load()
		r, err := Backup(ctx, dir, out)
		must(t, err)
		if !r.Good || int64(r.Entries) < before || int64(r.Entries) > acked.Load() {
			t.Errorf("%d entries; %d were acknowledged before, %d after", r.Entries, before, acked.Load())
		}
		again, err := VerifyFile(out)
		if err != nil || !again.Good || again.Digest != r.Digest {
			t.Errorf("%v\n%v", err, again)
		}
	}
	close(stop)
	<-done
	for _, f := range files(t, outs) {
		if !strings.HasPrefix(f, "backup") || filepath.Ext(f) != ".db" {
			t.Errorf("%s is left behind", f)
		}
	}
	db := raw(t, filepath.Join(outs, "backup 7.db"))
	var sessions, people, phrases int
	must(t, db.QueryRow(`SELECT (SELECT count(*) FROM session), (SELECT count(*) FROM person), (SELECT count(*) FROM passphrase)`).Scan(&sessions, &people, &phrases))
	if sessions != 0 || people != 1 || phrases != 1 {
		t.Errorf("%d log-ins, %d people, %d passphrases in the copy", sessions, people, phrases)
	}
}

func TestBackup_RefusesAndLeavesNothingBehind(t *testing.T) {
	dir, _ := smallRoom(t)
	outs := t.TempDir()
	there := filepath.Join(outs, "there.db")
	must(t, os.WriteFile(there, []byte("mine"), 0o600))
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	harmed, _ := smallRoom(t)
	harm(t, filepath.Join(harmed, FileName), `DROP TRIGGER entry_is_never_erased`)
	for _, c := range []struct {
		name     string
		ctx      context.Context
		dir, out string
		kind     error
	}{
		{"a file that is there", ctx, dir, there, ErrExists},
		{"the room itself", ctx, dir, filepath.Join(dir, FileName), ErrExists},
		{"no room", ctx, outs, filepath.Join(outs, "x.db"), ErrMissing},
		{"no folder", ctx, filepath.Join(outs, "none"), filepath.Join(outs, "x.db"), ErrMissing},
		{"no folder to write into", ctx, dir, filepath.Join(outs, "none", "x.db"), ErrMissing},
		{"stopped", stopped, dir, filepath.Join(outs, "x.db"), context.Canceled},
		{"a room that does not verify", ctx, harmed, filepath.Join(outs, "x.db"), ErrDamaged},
	} {
		if _, err := Backup(c.ctx, c.dir, c.out); !errors.Is(err, c.kind) {
			t.Errorf("%s: %v", c.name, err)
		}
		if got := files(t, outs); cmp.Diff(got, []string{"there.db"}) != "" {
			t.Errorf("%s: left behind %v", c.name, got)
		}
	}
	if data, err := os.ReadFile(there); err != nil || string(data) != "mine" {
		t.Error("the file that was there is changed")
	}
}

func TestRestore_KeepsWhatItReplaces(t *testing.T) {
	dir, entries := smallRoom(t)
	out := filepath.Join(t.TempDir(), "backup.db")
	_, err := Backup(ctx, dir, out)
	must(t, err)
	j := mustOpen(t, dir)
	room := j.ID()
	must(t, j.Append(ctx, full(1, "written after the backup")))
	must(t, j.Close())

	done, err := restore(out, dir, noon)
	must(t, err)
	if want := filepath.Join(dir, "room-replaced-20260630-120000.db"); done.Kept != want || !done.Report.Good || done.Report.Entries != len(entries) {
		t.Errorf("%+v", done)
	}
	kept, err := VerifyFile(done.Kept)
	if err != nil || !kept.Good || kept.Entries != len(entries)+1 {
		t.Errorf("%v\n%v", err, kept)
	}
	j = mustOpen(t, dir)
	if got, err := j.Entries(ctx); err != nil || len(got) != len(entries) || j.ID() != room {
		t.Errorf("%d entries of room %v, %v", len(got), j.ID(), err)
	}
	must(t, j.Append(ctx, full(2, "and on")))
	must(t, j.Close())
	again, err := restore(out, dir, noon) // in the same second
	must(t, err)
	if again.Kept == done.Kept || again.Kept == "" {
		t.Errorf("kept as %s", again.Kept)
	}
	if r, err := VerifyFile(again.Kept); err != nil || r.Entries != len(entries)+1 {
		t.Errorf("%v\n%v", err, r)
	}
}

func TestRestore_IntoAFolderWithoutARoom(t *testing.T) {
	dir, entries := smallRoom(t)
	out := filepath.Join(t.TempDir(), "backup.db")
	_, err := Backup(ctx, dir, out)
	must(t, err)
	fresh := filepath.Join(t.TempDir(), "a", "b")
	done, err := Restore(out, fresh)
	must(t, err)
	if done.Kept != "" || done.Report.Entries != len(entries) {
		t.Errorf("%+v", done)
	}
	// A log that lies about from a room that is gone is not taken for this one's.
	stray := t.TempDir()
	must(t, os.WriteFile(filepath.Join(stray, FileName+"-wal"), []byte(strings.Repeat("x", 5000)), 0o600))
	if done, err := Restore(out, stray); err != nil || done.Report.Entries != len(entries) {
		t.Errorf("%+v, %v", done, err)
	}
	if _, err := os.Stat(filepath.Join(stray, FileName+"-wal")); err == nil {
		if r, err := Verify(stray); err != nil || !r.Good {
			t.Errorf("%v\n%v", err, r)
		}
	}
}

func TestRestore_RoomsCutOffWhileWriting(t *testing.T) {
	dir, _ := smallRoom(t)
	out := filepath.Join(t.TempDir(), "backup.db")
	_, err := Backup(ctx, dir, out)
	must(t, err)
	// A room whose last entries are still in its log, as after a kill.
	j := mustOpen(t, dir)
	must(t, j.Append(ctx, full(1, "in the log")))
	cut := t.TempDir()
	for _, end := range []string{"", "-wal"} {
		data, err := os.ReadFile(filepath.Join(dir, FileName+end))
		must(t, err)
		must(t, os.WriteFile(filepath.Join(cut, FileName+end), data, 0o600))
	}
	must(t, j.Close())
	done, err := Restore(out, cut)
	must(t, err)
	kept, err := openFileReadOnly(done.Kept)
	must(t, err)
	defer kept.Close()
	if _, err := kept.Received(ctx, id(1)); err != nil {
		t.Errorf("the entry in the log is not kept: %v", err)
	}
	if r, err := Verify(cut); err != nil || !r.Good || r.Digest != done.Report.Digest {
		t.Errorf("%v\n%v", err, r)
	}
}

func TestRestore_OverADamagedRoomKeepsItsFiles(t *testing.T) {
	dir, entries := smallRoom(t)
	out := filepath.Join(t.TempDir(), "backup.db")
	_, err := Backup(ctx, dir, out)
	must(t, err)
	junk := []byte(strings.Repeat("damaged beyond reading ", 400))
	must(t, os.WriteFile(filepath.Join(dir, FileName), junk, 0o600))
	must(t, os.WriteFile(filepath.Join(dir, FileName+"-wal"), []byte("its log"), 0o600))
	done, err := Restore(out, dir)
	must(t, err)
	if got, err := os.ReadFile(done.Kept); err != nil || !bytes.Equal(got, junk) {
		t.Errorf("the damaged file is not kept as it was: %v", err)
	}
	if r, err := Verify(dir); err != nil || !r.Good || r.Entries != len(entries) {
		t.Errorf("%v\n%v", err, r)
	}
}

func TestRestore_RefusesAndChangesNothing(t *testing.T) {
	dir, entries := smallRoom(t)
	outs := t.TempDir()
	out := filepath.Join(outs, "backup.db")
	_, err := Backup(ctx, dir, out)
	must(t, err)
	text := filepath.Join(outs, "text.db")
	must(t, os.WriteFile(text, []byte(strings.Repeat("Dear diary\n", 100)), 0o600))
	harmed := filepath.Join(outs, "harmed.db")
	_, err = Backup(ctx, dir, harmed)
	must(t, err)
	harm(t, harmed, `DROP TRIGGER entry_is_never_erased`)
	served, _ := smallRoom(t)
	mustOpen(t, served)
	for _, c := range []struct {
		name, from, dir string
		kind            error
	}{
		{"no file", filepath.Join(outs, "none.db"), dir, ErrMissing},
		{"a text", text, dir, ErrNotRoom},
		{"a folder", outs, dir, ErrNotRoom},
		{"a backup that does not verify", harmed, dir, ErrDamaged},
		{"a room in use", out, served, ErrLocked},
		{"the room itself", filepath.Join(dir, FileName), dir, ErrExists},
		{"a file for a folder", out, text, ErrMissing},
	} {
		if _, err := Restore(c.from, c.dir); !errors.Is(err, c.kind) {
			t.Errorf("%s: %v", c.name, err)
		}
		if got := files(t, dir); cmp.Diff(got, []string{FileName}) != "" {
			t.Errorf("%s: left behind %v", c.name, got)
		}
	}
	if r, err := Verify(dir); err != nil || !r.Good || r.Entries != len(entries) {
		t.Errorf("%v\n%v", err, r)
	}
}

// A room that the program of this form wrote is kept in testdata, and is read for ever after.
func TestOpen_ReadsTheRoomOfEachReleasedForm(t *testing.T) {
	rooms, err := filepath.Glob("testdata/room-*.db")
	must(t, err)
	if len(rooms) == 0 {
		t.Fatal("there is none")
	}
	for _, path := range rooms {
		data, err := os.ReadFile(path)
		must(t, err)
		dir := t.TempDir()
		must(t, os.WriteFile(filepath.Join(dir, FileName), data, 0o600))
		j, err := Open(dir, Options{Now: time.Now})
		must(t, err)
		got, err := j.Entries(ctx)
		must(t, err)
		if d := cmp.Diff(got, releasedEntries()); d != "" {
			t.Errorf("%s: %s", path, d)
		}
		ann, err := j.AddPerson(ctx, "Ann of today", aviary.Keeper) // the private tables of each form can be used
		must(t, err)
		_, err = j.AddCalendar(ctx, id(1), ann.ID, "phone", nil)
		must(t, err)
		must(t, j.Close())
		if r, err := Verify(dir); err != nil || !r.Good {
			t.Errorf("%s: %v\n%v", path, err, r)
		}
	}
}

// releasedEntries are the entries of the rooms in testdata.
func releasedEntries() []*aviary.Entry {
	day := aviary.MustDate("2026-01-13")
	at := time.Date(2026, 1, 13, 7, 0, 0, 123e6, time.UTC)
	e := func(n int, body aviary.Body) *aviary.Entry {
		return &aviary.Entry{ID: id(n), Kind: body.Kind(), Version: 1, Day: day, Written: at, By: "Ann", Body: body}
	}
	check := e(5, &aviary.NestCheck{Place: id(101), Look: "changed", Eggs: ptr(4), Candled: []string{"fertile", "a:clear"}, Signs: []string{"singing"}, Text: "warm"})
	check.Time, check.Why, check.Batch = aviary.ClockOf(6, 48), "counted twice", id(900)
	strike := e(6, &aviary.Strike{Reason: "another cage"})
	strike.Strikes, strike.By = id(5), "Ben"
	return []*aviary.Entry{
		e(1, &aviary.RoomSet{Name: ptr("Long wall"), Zone: ptr("Europe/Dublin"), Latitude: ptr(53.3)}),
		e(2, &aviary.PlaceAdded{Place: id(101), Name: "A1", Type: aviary.Cage, Row: 1, Col: 2}),
		e(3, &aviary.BirdAcquired{Bird: id(102), Species: "gouldian", Sex: aviary.Cock, Hatched: aviary.MustDate("2025-03-04"), Ring: aviary.Ring{Issuer: "FC", Year: 2025, Number: "019"}, Place: id(101)}),
		e(4, &aviary.BirdWeighed{Bird: id(102), Grams: 14.5}),
		check, strike,
	}
}
