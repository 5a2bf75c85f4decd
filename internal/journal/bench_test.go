package journal

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/journal/journaltest"
)

// bigRoom writes a room of 100 cages, ten seasons and 20,000 birds, cut to n entries.
func bigRoom(tb testing.TB, n int) string {
	tb.Helper()
	dir := tb.TempDir()
	j := mustOpen(tb, dir)
	entries := journaltest.Big(100, 10, 2000, 1)
	if len(entries) < n {
		tb.Fatalf("%d entries only", len(entries))
	}
	if err := j.Append(context.Background(), entries[:n]...); err != nil {
		tb.Fatal(err)
	}
	if err := j.Close(); err != nil {
		tb.Fatal(err)
	}
	return dir
}

// BenchmarkReplay250k opens a room of 250,000 entries: reading, making out the facts, and replay. The
// promise is under two seconds on two cores.
func BenchmarkReplay250k(b *testing.B) {
	const n = 250_000
	dir := bigRoom(b, n)
	info, err := os.Stat(filepath.Join(dir, FileName))
	if err != nil {
		b.Fatal(err)
	}
	var reading, folding time.Duration
	for b.Loop() {
		start := time.Now()
		j, err := Open(dir, Options{Now: fixed})
		if err != nil {
			b.Fatal(err)
		}
		entries, err := j.Entries(context.Background())
		if err != nil || len(entries) != n {
			b.Fatal(len(entries), err)
		}
		read := time.Now()
		room := aviary.Replay(entries)
		if room.Len() != n {
			b.Fatal(room.Len())
		}
		reading += read.Sub(start)
		folding += time.Since(read)
		if err := j.Close(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(reading.Seconds()/float64(b.N), "read-s/op")
	b.ReportMetric(folding.Seconds()/float64(b.N), "replay-s/op")
	b.ReportMetric(float64(info.Size())/1e6, "MB")
}

// BenchmarkWriteOne writes one nest check, durably, into a room of one cage.
func BenchmarkWriteOne(b *testing.B) {
	book := mustBook(b, b.TempDir())
	ctx := context.Background()
	if err := book.Write(ctx, keeper, &aviary.Entry{Body: &aviary.PlaceAdded{Place: id(1), Name: "A1", Type: aviary.Cage}}); err != nil {
		b.Fatal(err)
	}
	var took []time.Duration
	for b.Loop() {
		start := time.Now()
		if err := book.Write(ctx, keeper, &aviary.Entry{Body: &aviary.NestCheck{Place: id(1), Look: "same"}}); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(start))
	}
	percentiles(b, took)
}

// BenchmarkAppendOne is the durable write alone.
func BenchmarkAppendOne(b *testing.B) {
	j := mustOpen(b, b.TempDir())
	var took []time.Duration
	for b.Loop() {
		e := full(len(took), "all well")
		start := time.Now()
		if err := j.Append(context.Background(), e); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(start))
	}
	percentiles(b, took)
}

func percentiles(b *testing.B, took []time.Duration) {
	slices.Sort(took)
	at := func(p float64) float64 { return float64(took[int(p*float64(len(took)-1))].Microseconds()) / 1000 }
	b.ReportMetric(at(0.50), "p50-ms")
	b.ReportMetric(at(0.99), "p99-ms")
}
