package journal

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// season writes entries one by one and in batches over two sessions, so that SQLite folds its log into the
// file several times. After each acknowledgement the disk is told.
func season(t *testing.T, d *disk, open func() *Journal) []*aviary.Entry {
	t.Helper()
	var all []*aviary.Entry
	write := func(j *Journal, n, length int) {
		batch := make([]*aviary.Entry, n)
		for i := range batch {
			batch[i] = full(len(all)+i, strings.Repeat(fmt.Sprint((len(all)+i)%10), length))
		}
		if err := j.Append(context.Background(), batch...); err != nil {
			t.Fatal(err)
		}
		all = append(all, batch...)
		d.add(event{kind: acknowledged, ack: len(all)})
	}
	for range 2 {
		j := open()
		d.add(event{kind: folderSynced}) // Open syncs the folder of a fresh room
		for range 5 {
			for range 12 {
				write(j, 1, 40)
			}
			write(j, 40, 900)
		}
		for range 12 {
			write(j, 1, 40)
		}
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// reopened is a room whose log is folded into its file thirty times as often as usual, which keeps the files
// of this test small; synchronous and check are what the promise rests on.
func reopened(t *testing.T, dir, synchronous string, check func(context.Context, driver.Conn) error) *Journal {
	t.Helper()
	j := mustOpen(t, dir)
	if err := j.db.Close(); err != nil {
		t.Fatal(err)
	}
	var err error
	if j.db, err = openDB(j.path, "rw", pragmas("journal_mode(WAL)", synchronous, "foreign_keys(1)", "secure_delete(1)", "wal_autocheckpoint(33)"), check); err != nil {
		t.Fatal(err)
	}
	return j
}

// missing opens the folder that a power cut left and says what is wrong with it, or nil.
func missing(dir string, want []*aviary.Entry) error {
	if len(want) == 0 {
		if _, err := os.Stat(filepath.Join(dir, FileName)); err != nil {
			return nil // nothing was promised yet
		}
	}
	j, err := Open(dir, Options{Create: len(want) == 0, Now: fixed})
	if err != nil {
		return err
	}
	got, err := j.Entries(context.Background())
	if err := errors.Join(err, j.Close()); err != nil {
		return err
	}
	if len(got) < len(want) {
		return fmt.Errorf("%d entries are there, %d were acknowledged", len(got), len(want))
	}
	for i, e := range want {
		if got[i].ID != e.ID || got[i].Body.(*aviary.Note).Text != e.Body.(*aviary.Note).Text {
			return fmt.Errorf("entry %d is another one", i)
		}
	}
	return nil
}

func TestPowerCut_WhatWasAcknowledgedIsThere(t *testing.T) {
	dir := t.TempDir()
	d := watch(t, dir)
	all := season(t, d, func() *Journal { return reopened(t, dir, "synchronous(FULL)", held) })
	count := map[eventKind]int{}
	syncs := map[string]int{}
	for _, e := range d.events {
		count[e.kind]++
		if e.kind == synced {
			syncs[filepath.Base(e.path)]++
		}
	}
	t.Logf("%d events: %d writes, %d syncs %v, %d acknowledgements", len(d.events), count[written], count[synced], syncs, count[acknowledged])
	if syncs[FileName] < 4 {
		t.Fatal("the log was not folded into the file often enough for the test to mean anything")
	}
	rng := rand.New(rand.NewPCG(1, 1))
	cuts := 0
	try := func(n int, how loss) {
		cuts++
		image, acks := d.cut(t, n, how, rng)
		defer os.RemoveAll(image)
		if err := missing(image, all[:acks]); err != nil {
			t.Fatalf("power cut after event %d of %d (loss %d), %d entries acknowledged: %v", n, len(d.events), how, acks, err)
		}
		if cuts%10 == 0 {
			if r, err := Verify(image); acks > 0 && (err != nil || !r.Good) {
				t.Fatalf("power cut after event %d: %v\n%v", n, err, r)
			}
		}
	}
	for i, e := range d.events {
		switch e.kind {
		case acknowledged, synced, deleted, truncated:
			if rng.IntN(6) == 0 || e.path == filepath.Join(dir, FileName) || e.kind == deleted {
				try(i+1, allLost)
				try(i+1, someLost)
			}
		}
	}
	for range 100 {
		try(1+rng.IntN(len(d.events)), loss(rng.IntN(3)))
	}
	t.Logf("%d power cuts", cuts)
}

// A harness that cannot see a lost sync would prove nothing: with the weaker setting it finds losses.
func TestPowerCut_SeesTheLossThatAWeakerSettingBrings(t *testing.T) {
	dir := t.TempDir()
	d := watch(t, dir)
	all := season(t, d, func() *Journal { return reopened(t, dir, "synchronous(NORMAL)", nil) })
	rng := rand.New(rand.NewPCG(1, 1))
	losses := 0
	for i, e := range d.events {
		if e.kind == acknowledged && losses == 0 {
			image, acks := d.cut(t, i+1, allLost, rng)
			if missing(image, all[:acks]) != nil {
				losses++
			}
		}
	}
	if losses == 0 {
		t.Error("no acknowledged entry was lost without synced commits; the simulated disk is too kind")
	}
}
