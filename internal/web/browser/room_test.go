//go:build browser

package browser_test

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
	"broodlight/internal/demo"
	"broodlight/internal/journal"
	"broodlight/internal/web"
)

// demoDay is the day of the invented room in the pictures and on the pages: the morning's.
var demoDay = aviary.DayIn(morning, time.UTC)

// demoRoom serves the invented room of the demo, 48 cages in the middle of a season. It is written once and copied.
func demoRoom(t *testing.T, cfg web.Config) *site {
	t.Helper()
	from, err := writtenDemo()
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, journal.FileName), b, 0o600); err != nil {
		t.Fatal(err)
	}
	s := open(t, dir, morning)
	s.start(cfg)
	return s
}

// writtenDemo writes the invented room into a folder and copies it to one file, which stands as long as the tests run.
var writtenDemo = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "broodlight-browser-")
	if err != nil {
		return "", err
	}
	scratch = append(scratch, dir)
	dublin, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		return "", err
	}
	j, err := journal.Open(filepath.Join(dir, "room"), journal.Options{Create: true, Now: func() time.Time { return morning }})
	if err != nil {
		return "", err
	}
	if err := j.Append(context.Background(), demo.Room(1, demoDay, dublin)...); err != nil {
		return "", err
	}
	if err := j.Close(); err != nil {
		return "", err
	}
	file := filepath.Join(dir, "demo.db")
	_, err = journal.Backup(context.Background(), filepath.Join(dir, "room"), file)
	return file, err
})

// scratch are folders to be deleted when all tests have run.
var scratch []string

// wall is a small room of known nests for the journeys:
//
//	Left   A1 five full eggs, hatch about today      A2 five eggs, to be candled today
//	       B1 three chicks of nine days, to be ringed B2 a pair that has no nest yet
//	Right  A3 resting birds                           A4 empty
//	Flight 1 with two young hens
type wall struct {
	*site
	entries          []*aviary.Entry
	a1, a2, a3, a4   aviary.ID
	b1, b2, flight   aviary.ID
	b2Pair           aviary.ID
	flightHen, boxA1 aviary.ID
	rings            int
}

// smallWall serves the small room.
func smallWall(t *testing.T, cfg web.Config) *wall {
	t.Helper()
	w := &wall{}
	w.furnish()
	w.site = serve(t, cfg, w.entries...)
	return w
}

func newID() aviary.ID { return uuid.Must(uuid.NewV7()) }

// on adds an entry of a number of days before the morning.
func (w *wall) on(ago int, hour int, b aviary.Body) {
	w.entries = append(w.entries, &aviary.Entry{
		ID: newID(), Day: demoDay - aviary.Date(ago), Time: aviary.ClockOf(hour, 0), Written: morning.Add(-time.Duration(ago) * 24 * time.Hour), Body: b,
	})
}

// bird adds an adult zebra finch with the next ring of 2024.
func (w *wall) bird(sex aviary.Sex, at aviary.ID) aviary.ID {
	w.rings++
	id := newID()
	w.on(200, 9, &aviary.BirdAcquired{
		Bird: id, Species: "zebra", Sex: sex, Hatched: demoDay - 600, Place: at,
		Ring: aviary.Ring{Issuer: "FC", Year: 2024, Number: ringNumber(w.rings)}, Looks: []string{"body=grey"},
	})
	return id
}

func ringNumber(n int) string {
	return string([]byte{byte('0' + n/100), byte('0' + n/10%10), byte('0' + n%10)})
}

// couple puts a pair and a nest box into a cage.
func (w *wall) couple(at aviary.ID, ago int) (pair, box aviary.ID) {
	cock, hen := w.bird(aviary.Cock, at), w.bird(aviary.Hen, at)
	pair, box = newID(), newID()
	w.on(ago, 9, &aviary.PairSet{Pair: pair, Place: at, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}})
	w.on(ago, 10, &aviary.BoxHung{Box: box, Place: at})
	return pair, box
}

func (w *wall) cage(bank, name string, row, col int) aviary.ID {
	id := newID()
	w.on(210, 9, &aviary.PlaceAdded{Place: id, Name: name, Type: aviary.Cage, Bank: bank, Row: row, Col: col})
	return id
}

func (w *wall) furnish() {
	w.on(220, 8, &aviary.RoomSet{
		Name: new("Back room"), Zone: new("Europe/Dublin"), Latitude: new(52.0), Longitude: new(-8.0),
		SeasonStart: new("09-01"), Kept: []string{"zebra"},
	})
	w.on(220, 8, &aviary.LampSet{On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(20, 0), Dusk: new(30)})
	w.on(220, 8, &aviary.RingsListed{Issuer: "FC", Year: 2026, From: 19, To: 60, Digits: 3, Size: 2.7, Species: []string{"zebra"}})
	w.a1, w.a2 = w.cage("Left", "A1", 1, 1), w.cage("Left", "A2", 1, 2)
	w.b1, w.b2 = w.cage("Left", "B1", 2, 1), w.cage("Left", "B2", 2, 2)
	w.a3, w.a4 = w.cage("Right", "A3", 1, 1), w.cage("Right", "A4", 1, 2)
	w.flight = newID()
	w.on(210, 9, &aviary.PlaceAdded{Place: w.flight, Name: "Flight 1", Type: aviary.Flight, Capacity: new(24)})
	w.flightHen = w.bird(aviary.Hen, w.flight)
	w.bird(aviary.Hen, w.flight)
	w.bird(aviary.Cock, w.a3)

	_, w.boxA1 = w.couple(w.a1, 30)
	laid := func(at aviary.ID, first, eggs int) { // ago of the first egg
		for n := 1; n <= eggs; n++ {
			w.on(first-n+1, 8, &aviary.NestCheck{Place: at, Look: "changed", Eggs: new(n)})
		}
	}
	full := func(n int) (out []string) {
		for range n {
			out = append(out, "fertile")
		}
		return out
	}
	laid(w.a1, 16, 5)
	w.on(5, 8, &aviary.NestCheck{Place: w.a1, Look: "changed", Eggs: new(5), Candled: full(5)})

	w.couple(w.a2, 30)
	laid(w.a2, 11, 5)

	w.couple(w.b1, 50)
	laid(w.b1, 26, 4)
	w.on(16, 8, &aviary.NestCheck{Place: w.b1, Look: "changed", Eggs: new(4), Candled: full(4)})
	w.on(9, 8, &aviary.NestCheck{Place: w.b1, Look: "changed", Eggs: new(1), Chicks: new(3), AgeDays: new(0)})
	w.on(5, 8, &aviary.NestCheck{Place: w.b1, Look: "changed", Eggs: new(0), Chicks: new(3), Removed: new(0), GoneEggs: new(1), GoneEggsWhy: "not known"})

	w.b2Pair, _ = w.couple(w.b2, 4)
}
