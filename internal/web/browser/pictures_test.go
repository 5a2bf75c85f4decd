//go:build browser

package browser_test

import (
	"path/filepath"
	"slices"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// TestPictures draws the pictures of the README from the invented room, with -update; without, it takes the same steps and
// draws nothing.
func TestPictures(t *testing.T) {
	t.Parallel()
	s := demoRoom(t, web.Config{Demo: true})
	s.move(time.Hour) // 07:48: the lamps have been on for long enough to lift lids
	draw := func(p *tab, name string, whole bool) {
		p.Helper()
		p.do(settle())
		if *update {
			p.picture(filepath.Join("..", "..", "..", "docs", "pictures", name+".png"), whole)
		}
	}

	p := s.open(desk, "/wall", light)
	draw(p, "wall-desk", true)
	q := s.open(phone, "/wall", light)
	draw(q, "wall-phone", false)

	// the round after its first jobs, with a clutch on the candle
	p.show("/round")
	for p.in(inHand).has("button", "Settled…") {
		p.in(inHand).find("button", "Settled…").follow()
	}
	rings := p.in(inHand).all("checkbox", "On")
	for _, on := range rings {
		on.tap()
	}
	p.in(inHand).find("button", "Save …").follow()
	candle := func(p *tab) {
		for n, taps := range []int{1, 1, 2, 1} {
			for range taps {
				p.in(inHand).tap("button", []string{"Egg 1…", "Egg 2…", "Egg 3…", "Egg 4…"}[n])
			}
		}
		p.do(settle())
		js[bool](p, `(document.activeElement.blur(), scrollTo(0, 0), true)`)
	}
	q.show("/round")
	candle(q)
	draw(q, "round-phone", false)
	late := p.page().all("DisclosureTriangle", "A5 Hatch is over time…")
	late[0].tap()
	p.page().all("DisclosureTriangle", "A10 Look for chicks…")[0].tap()
	candle(p)
	draw(p, "round-desk", false)

	// of the paired birds whose four grandparents are in the books, the one of which most is written
	var bird *aviary.Bird
	s.book.View(func(r *aviary.Room) {
		most := -1
		for _, b := range r.Birds() {
			pair := r.PairNow(b.Place())
			if !b.Here() || pair == nil || !slices.Contains(slices.Concat(pair.Cocks, pair.Hens), b.ID) || behind(r, b.ID, 4) < 6 {
				continue
			}
			known := behind(r, b.ID, 4) + 3*min(len(b.Weights), 6) + 2*min(len(r.Young(b.ID)), 9)
			if known > most {
				bird, most = b, known
			}
		}
	})
	p = s.open(screen{"tall desk", 1440, 1000, false}, "/bird/"+bird.ID.String(), light)
	draw(p, "bird-desk", false)
	p.show("/season")
	js[bool](p, `(document.querySelector(".lanes").closest("section").scrollIntoView(), scrollBy(0, -16), true)`)
	draw(p, "season-desk", false)
}

// behind counts the ancestors that a bird has in the books, generations deep.
func behind(r *aviary.Room, id aviary.ID, generations int) int {
	n := 0
	line := r.Parents(id)
	for _, parent := range []aviary.ID{line.Sire, line.Dam} {
		if parent != (aviary.ID{}) && generations > 0 {
			n += 1 + behind(r, parent, generations-1)
		}
	}
	return n
}
