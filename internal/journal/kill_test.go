package journal

import (
	"bufio"
	"bytes"
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
)

// childFolder names the room that this test binary writes into when it is started as the program to be killed.
const childFolder = "JOURNAL_TEST_CHILD"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childFolder); dir != "" {
		child(dir)
		return
	}
	// Each run of the state machine opens, fills and copies whole rooms; more of them on the command line.
	if err := flag.Set("rapid.checks", "30"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// child writes until it is killed: single looks, and steps of five entries. It says each id once it is acknowledged.
func child(dir string) {
	fail := func(err error) {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	ctx := context.Background()
	b, err := OpenBook(ctx, dir, Options{Create: true, Program: "0.2.0"})
	if err != nil {
		fail(err)
	}
	fmt.Println("open")
	cage := id(1)
	var there bool
	b.View(func(r *aviary.Room) { there = r.Place(cage) != nil })
	if !there {
		if err := b.Write(ctx, keeper, &aviary.Entry{ID: id(2), Body: &aviary.PlaceAdded{Place: cage, Name: "A1", Type: aviary.Cage}}); err != nil {
			fail(err)
		}
	}
	for n := 0; ; n++ {
		entries := []*aviary.Entry{{Body: &aviary.NestCheck{Place: cage, Look: "same", Text: strings.Repeat("all well ", n%40)}}}
		if n%7 == 0 {
			batch := uuid.Must(uuid.NewV7())
			entries = nil
			for range stepSize {
				entries = append(entries, &aviary.Entry{Batch: batch, Body: &aviary.MaterialGiven{Place: cage, What: "coconut fibre"}})
			}
		}
		if err := b.Write(ctx, keeper, entries...); err != nil {
			fail(err)
		}
		for _, e := range entries {
			fmt.Println(e.ID)
		}
	}
}

// stepSize is how many entries the child writes in one step.
const stepSize = 5

func TestKill_EveryAcknowledgedEntryIsThere(t *testing.T) {
	const kills = 100
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(7, 7))
	acknowledged := map[aviary.ID]bool{}
	beforeOpen := 0
	for n := range kills {
		cmd := exec.Command(self)
		cmd.Env = append(os.Environ(), childFolder+"="+dir)
		var stderr bytes.Buffer
		cmd.Stderr = &stderr
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// Some die while they start and open the room, most amid writing.
		kill := func() {
			time.AfterFunc(time.Duration(rng.IntN(60_000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
		}
		early := n%4 == 0
		if early {
			kill()
		}
		opened := false
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if lines.Text() == "open" {
				opened = true
				if !early {
					kill()
				}
			} else if id, err := uuid.Parse(lines.Text()); err == nil {
				acknowledged[id] = true
			}
		}
		if !opened {
			beforeOpen++
		}
		if err := cmd.Wait(); err == nil || stderr.Len() > 0 {
			t.Fatalf("kill %d: the program ended by itself: %v\n%s", n, err, stderr.String())
		}
		check := func(j *Journal) {
			entries, err := j.Entries(context.Background())
			if err != nil {
				t.Fatalf("kill %d: %v", n, err)
			}
			there, steps := map[aviary.ID]bool{}, map[aviary.ID]int{}
			for _, e := range entries {
				there[e.ID] = true
				if e.Batch != uuid.Nil {
					steps[e.Batch]++
				}
			}
			for id := range acknowledged {
				if !there[id] {
					t.Fatalf("kill %d: entry %s was acknowledged and is gone", n, id)
				}
			}
			for batch, size := range steps {
				if size != stepSize {
					t.Fatalf("kill %d: step %s has %d entries, not %d", n, batch, size, stepSize)
				}
			}
		}
		j, err := Open(dir, Options{Create: true, Now: fixed})
		if err != nil {
			t.Fatalf("kill %d: %v", n, err)
		}
		check(j)
		if n%10 == 0 || n == kills-1 {
			if r, err := Verify(dir); err != nil || !r.Good {
				t.Fatalf("kill %d: %v\n%v", n, err, r)
			}
		}
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d kills, %d of them before the room was open; %d entries acknowledged, none lost", kills, beforeOpen, len(acknowledged))
	if len(acknowledged) < kills {
		t.Errorf("%d entries acknowledged: the program hardly wrote before it was killed", len(acknowledged))
	}
}
