package web

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/journal/journaltest"
)

// bigSites keeps one site for each size: making a room of 20,000 birds takes longer than measuring it.
var bigSites sync.Map

type bigSite struct {
	h    http.Handler
	cage string
	bird string
}

// bigRoom serves a room of so many cages over so many seasons, on the day after its last entry.
func bigRoom(b *testing.B, cages, seasons, birdsPerYear int) bigSite {
	b.Helper()
	key := fmt.Sprint(cages, seasons, birdsPerYear)
	if s, ok := bigSites.Load(key); ok {
		return s.(bigSite)
	}
	entries := journaltest.Big(cages, seasons, birdsPerYear, 1)
	// Half way through the last season, so that nests are live.
	last := entries[len(entries)-1].Day
	entries = slices.DeleteFunc(entries, func(e *aviary.Entry) bool { return e.Day > last-150 })
	now := (last - 150).Time().Add(8 * time.Hour)
	book, err := journal.OpenBook(context.Background(), b.TempDir(), journal.Options{Create: true, Now: func() time.Time { return now }})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		bigSites.Delete(key)
		if err := book.Close(); err != nil {
			b.Error(err)
		}
	})
	if err := book.Receive(context.Background(), journal.Writer{By: "Ann", Role: aviary.Keeper}, entries...); err != nil {
		b.Fatal(err)
	}
	h, err := New(Config{Book: book, ReadTable: readOne, WriteCalendar: plainCalendar})
	if err != nil {
		b.Fatal(err)
	}
	s := bigSite{h: h}
	book.View(func(r *aviary.Room) {
		s.cage = r.Places()[0].ID.String()
		s.bird = r.Birds()[len(r.Birds())/2].ID.String()
	})
	return s
}

// measure asks for a page again and again, and reports the time within which 95 in 100 answers come.
func measure(b *testing.B, h http.Handler, path string) {
	b.Helper()
	var took []time.Duration
	for b.Loop() {
		r := httptest.NewRequest(http.MethodGet, "http://127.0.0.1"+path, nil)
		r.RemoteAddr = "127.0.0.1:4000"
		w := httptest.NewRecorder()
		start := time.Now()
		h.ServeHTTP(w, r)
		took = append(took, time.Since(start))
		if w.Code != http.StatusOK {
			b.Fatalf("%s: status %d", path, w.Code)
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
}

// BenchmarkPage renders the main pages of a room of 100 cages, ten seasons and 20,000 birds. The promise is
// 95 answers in 100 under 50 ms.
func BenchmarkPage(b *testing.B) {
	s := bigRoom(b, 100, 10, 2000)
	for _, path := range []string{"/round", "/round?all=yes", "/wall", "/birds", "/birds?q=zebra&sort=age", "/season", "/condition", "/morning", "/food", "/lamps", "/lines", "/colours", "/pairs", "/pairs?who=all", "/sort", "/settings/calendar/file/broodlight.ics", "/cage/" + s.cage, "/bird/" + s.bird} {
		b.Run(path[:min(len(path), 14)], func(b *testing.B) { measure(b, s.h, path) })
	}
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.Logf("heap in use with the room open: %d MB", m.HeapInuse>>20)
}

// BenchmarkGrowth renders the wall and the round as rooms grow, to show how the cost grows.
func BenchmarkGrowth(b *testing.B) {
	for _, cages := range []int{1, 30, 200, 2500} {
		s := bigRoom(b, cages, 1, cages*10)
		for _, path := range []string{"/wall", "/round"} {
			b.Run(fmt.Sprintf("%s/%d", path[1:], cages), func(b *testing.B) { measure(b, s.h, path) })
		}
	}
}
