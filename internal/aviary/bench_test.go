package aviary_test

import (
	"runtime"
	"testing"
	"time"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
	"broodlight/internal/journal/journaltest"
)

// big is a room of 100 cages, ten seasons, 20,000 birds, cut to 250,000 entries.
func big(b *testing.B) []*aviary.Entry {
	b.Helper()
	entries := journaltest.Big(100, 10, 2000, 1)
	if len(entries) < 250_000 {
		b.Fatalf("%d entries only", len(entries))
	}
	return entries[:250_000]
}

// BenchmarkReplay folds 250,000 entries into a room, and reports what the room holds in memory.
func BenchmarkReplay(b *testing.B) {
	entries := big(b)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	var r *aviary.Room
	for b.Loop() {
		r = aviary.Replay(entries)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	b.ReportMetric(float64(after.HeapAlloc-before.HeapAlloc)/1e6, "room-MB")
	if n := len(r.Aside()); n > 0 {
		b.Fatalf("%d entries set aside", n)
	}
}

// BenchmarkLate takes in, and takes back, a look and a move written five years late. The promise is under
// 10 ms each.
func BenchmarkLate(b *testing.B) {
	entries := big(b)
	r := aviary.Replay(entries)
	day := entries[len(entries)/2].Day
	cage := r.Places()[0]
	var bird *aviary.Bird
	for _, x := range r.Birds() {
		if x.PlaceOn(day) != (aviary.ID{}) {
			bird = x
		}
	}
	eggs := 3
	for name, body := range map[string]aviary.Body{
		"look": &aviary.NestCheck{Place: cage.ID, Eggs: &eggs},
		"move": &aviary.BirdMoved{Bird: bird.ID, Place: cage.ID},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				e := &aviary.Entry{ID: uuid.New(), Kind: body.Kind(), Version: 1, Day: day, Written: time.Now().UTC(), Body: body}
				r.Apply(e)
				r.Apply(&aviary.Entry{ID: uuid.New(), Kind: "strike", Version: 1, Day: day, Written: time.Now().UTC(), Strikes: e.ID, Body: &aviary.Strike{}})
			}
		})
	}
}
