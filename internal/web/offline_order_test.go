package web

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// walked draws what two or three phones have written without a network in one round of the round's room: forms of every kind that
// may wait, with figures that clash as they come. Each phone writes in order of time.
func walked(rt *rapid.T, ring, ask, wean []string) [][]tapped {
	cages := []aviary.ID{rA1, rA2, rA3, rA4, rA5, rA6, rA7}
	var out [][]tapped
	var onces []aviary.ID
	for range rapid.IntRange(2, 3).Draw(rt, "phones") {
		at := testNow.Add(-10 * time.Hour)
		var queue []tapped
		for range rapid.IntRange(1, 5).Draw(rt, "marks") {
			at = at.Add(time.Duration(rapid.IntRange(0, 130*60*1000).Draw(rt, "pause")) * time.Millisecond)
			cage := rapid.SampledFrom(cages).Draw(rt, "cage")
			small := func(label string) string { return itoa(rapid.IntRange(0, 5).Draw(rt, label)) }
			path, form := "/cage/"+cage.String(), []string(nil)
			switch what := rapid.SampledFrom([]string{"check", "same", "sitting", "ring", "answer", "wean", "odd", "count", "note", "material", "box", "move", "pull", "skip", "done", "seen", "strike", "settle"}).Draw(rt, "what"); what {
			case "check":
				path, form = path+"/check", []string{"answer", "changed", "was_eggs", "5", "eggs", small("eggs"), "was_chicks", "0", "chicks", small("chicks"), "evened", "yes"}
			case "same", "sitting":
				path, form = path+"/check", []string{"answer", what, "counted", "yes", "was_eggs", "5", "eggs", "5"}
			case "ring":
				path, form = "/cage/"+rA2.String()+"/ring", append(slices.Clone(ring), "on", "0", "ring0", "FC 26-0"+itoa(rapid.IntRange(19, 22).Draw(rt, "ring")), "hatched", "2026-01-04")
				if rapid.Bool().Draw(rt, "without") {
					form = append(form, "without", "1")
				}
			case "answer":
				path, form = "/cage/"+rA4.String()+"/answer", append(slices.Clone(ask), "why_gone", rapid.SampledFrom([]string{"eaten", "not known"}).Draw(rt, "why"))
			case "wean":
				path, form = "/cage/"+rA3.String()+"/wean", append(slices.Clone(wean), "birds", chick1.String(), "unringed", small("unringed"), "to", rFlight.String(), "self_feeding", "yes")
			case "odd":
				path, form = path+"/odd", []string{"what", rapid.SampledFrom(aviary.OddThings).Draw(rt, "odd")}
			case "count":
				path, form = path+"/count", []string{"found", small("found"), "book", "2"}
			case "note":
				path, form = path+"/note", []string{"text", "a note"}
			case "material":
				path, form = path+"/material", []string{"what", "hay"}
			case "box":
				path, form = "/cage/"+rA6.String()+"/box", []string{"box", rid(2305).String(), "act", rapid.SampledFrom([]string{"take", "clean", "swap"}).Draw(rt, "act")}
			case "move":
				path, form = "/cage/"+rA5.String()+"/move", []string{"to_place", rA6.String(), "eggs", itoa(rapid.IntRange(1, 4).Draw(rt, "eggs"))}
			case "pull":
				path, form = "/cage/"+rA4.String()+"/pull", []string{"eggs_removed", "3", "removed_why", "clear"}
			case "skip":
				path, form = "/round/skip", []string{"place", cage.String(), "job", "look for chicks", "until", "3"}
			case "done":
				path, form = "/round/done", []string{"place", cage.String(), "job", "look for chicks"}
			case "seen":
				path, form = "/round/seen", []string{"except", cage.String()}
			case "strike", "settle": // one of those written before, on any of the phones
				if len(onces) == 0 {
					continue
				}
				id := rapid.SampledFrom(onces).Draw(rt, "which")
				if path, form = "/strike", []string{"id", id.String()}; what == "settle" {
					path, form = "/sort/settle", []string{"entry", id.String(), "how", "as it is"}
				}
				if !slices.ContainsFunc(queue, func(x tapped) bool { return x.once == id }) {
					continue // what another phone wrote is not known on this one
				}
			}
			queue = append(queue, tapped{path: path, fields: form, at: at, once: newID()})
			onces = append(onces, queue[len(queue)-1].once)
		}
		out = append(out, queue)
	}
	return out
}

// sendInTurn sends the queues, each in its own order, now one phone and now another; some marks are sent twice, as when an answer
// was lost.
func sendInTurn(rt *rapid.T, label string, m *testRoom, queues [][]tapped) {
	next := make([]int, len(queues))
	for {
		var waits []int
		for i := range queues {
			if next[i] < len(queues[i]) {
				waits = append(waits, i)
			}
		}
		if len(waits) == 0 {
			return
		}
		i := rapid.SampledFrom(waits).Draw(rt, label)
		x := queues[i][next[i]]
		for range rapid.IntRange(1, 2).Draw(rt, label+" times") {
			if a, status := m.sends(x, "later"); a.State != sentSaved && a.State != sentClash {
				rt.Fatalf("%s %v is answered with %+v, status %d", x.path, x.fields, a, status)
			}
		}
		next[i]++
	}
}

// TestOffline_AnyOrderOfPhones is the promise to who walks the round with two phones: whichever is back first, however their marks
// come in between each other, the room is the same, nothing is lost and nothing doubled.
func TestOffline_AnyOrderOfPhones(t *testing.T) {
	base := roundRoom(t, Config{})
	file := filepath.Join(t.TempDir(), "base.db")
	if _, err := journal.Backup(context.Background(), base.book.Dir(), file); err != nil {
		t.Fatal(err)
	}
	page := base.get("/round?all=yes")
	ring := fields(t, page.card("Ring 3 chicks"), "/cage/"+rA2.String()+"/ring")
	ask := fields(t, page.card("What became of 2 eggs?"), "/cage/"+rA4.String()+"/answer")
	wean := fields(t, base.get("/cage/"+rA3.String()).Body.String(), "/cage/"+rA3.String()+"/wean")
	own := base.book
	defer func() { base.s.Book, base.book = own, own }()
	rapid.Check(t, func(rt *rapid.T) {
		queues := walked(rt, ring, ask, wean)
		total := 0
		for _, q := range queues {
			total += len(q)
		}
		var digests []string
		for _, label := range []string{"one way", "another way"} {
			m := base.on(rt, file)
			before := m.written()
			sendInTurn(rt, label, m, queues)
			var digest string
			m.book.View(func(r *aviary.Room) {
				digest = r.Digest()
				for _, q := range queues {
					for _, x := range q {
						if r.Entry(x.once) == nil {
							rt.Errorf("%s %v is lost", x.path, x.fields)
						}
					}
				}
			})
			digests = append(digests, digest)
			if got := m.written() - before; got < total {
				rt.Errorf("%d entries for %d marks", got, total)
			}
			if err := m.book.Close(); err != nil {
				rt.Error(err)
			}
		}
		if digests[0] != digests[1] {
			rt.Errorf("in another order the room is another: %v", queues)
		}
	})
}

// written counts the entries in the books.
func (m *testRoom) written() (n int) {
	m.book.View(func(r *aviary.Room) { n = len(r.Entries()) })
	return n
}

// on serves a copy of a room in place of the one that was served, by the same server.
func (m *testRoom) on(rt *rapid.T, file string) *testRoom {
	dir, err := os.MkdirTemp(m.t.TempDir(), "room")
	if err != nil {
		rt.Fatal(err)
	}
	b, err := os.ReadFile(file)
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, journal.FileName), b, 0o600)
	}
	if err != nil {
		rt.Fatal(err)
	}
	if m.book, err = journal.OpenBook(context.Background(), dir, journal.Options{Now: func() time.Time { return m.now }}); err != nil {
		rt.Fatal(err)
	}
	m.s.Book, m.s.cat = m.book, nil
	return m
}
