//go:build browser

package browser_test

import (
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// TestSetup_FromNothingToPairs is the whole first run, on a phone: place, cages, species, a pasted list, the wall as found.
func TestSetup_FromNothingToPairs(t *testing.T) {
	t.Parallel()
	s := serve(t, web.Config{})
	p := s.tab(phone)
	p.load(navigate(s.url + "/"))
	if p.path() != "/setup" {
		t.Fatalf("an empty room opens on %s, want its set-up", p.path())
	}
	p.shot("journey-setup-1", true)
	p.fill("Name of the room…", "Back room")
	p.fill("Time zone…", "Europe/Dublin")
	p.fill("Latitude…", "53.3")
	p.fill("Longitude…", "-6.3")
	p.follow("button", "Save, then cages")

	p.fill("Name of the bank…", "Bay 1")
	p.fill("Rows…", "2")
	p.fill("Columns…", "2")
	p.tap("checkbox", "A nest box hangs at each")
	p.follow("button", "Hang it")
	p.says("Bay 1 hung: 4 cages")
	p.fill("Name", "Flight 1")
	p.choose("Sort", "Flight")
	p.fill("Birds that it holds…", "24")
	p.follow("button", "Add the place")
	p.says("Flight 1 added")
	p.shot("journey-setup-2", true)
	p.follow("link", "On to species")

	p.tap("checkbox", "Zebra finch")
	p.tap("checkbox", "Gouldian finch")
	p.follow("button", "Save, then birds")

	s.move(90 * time.Second)
	p.follow("link", "From a table or file")
	p.fill("Table", "ring;species;sex;cage\nFC 24-031;zebra;cock;A1\nFC 24-076;zebra;hen;A1\nFC 24-012;gouldian;hen;Flight 1\n")
	p.follow("button", "Show what this does")
	p.says("3 rows are ready")
	p.follow("button", "Read them in")

	// the walk along the wall, half a minute a cage
	p.show("/setup")
	p.follow("link", "Begin the walk")
	if got := p.headline(); got != "A1 as you find it" {
		t.Fatalf("the walk begins with %q", got)
	}
	// the list has said who lives here
	if cock, hen := p.value("Cock"), p.value("Hen"); cock != "FC 24-031" || hen != "FC 24-076" {
		t.Errorf("the walk says %q and %q live in A1", cock, hen)
	}
	p.tap("radio", "Eggs")
	p.fill("How many…", "4")
	p.shot("journey-walk", true)
	p.follow("button", "Save…")
	second := p.headline()
	if !strings.HasSuffix(second, " as you find it") || strings.HasPrefix(second, "A1") {
		t.Fatalf("after A1 comes %q", second)
	}
	p.choose("Species", "Gouldian finch")
	p.tap("checkbox", "A cock, ring not read yet")
	p.tap("checkbox", "A hen, ring not read yet")
	p.tap("radio", "Chicks")
	p.fill("How many…", "3")
	p.tap("DisclosureTriangle", "Chicks or young: how old…")
	p.fill("About day…", "9")
	p.fill("Give or take…", "1")
	p.follow("button", "Save…")
	p.follow("button", "Nobody in it")
	p.follow("button", "Nobody in it")

	p.show("/wall")
	p.shot("journey-setup-wall", true)
	var pairs int
	var eggs, chicks, unknown bool
	s.book.View(func(r *aviary.Room) {
		for _, pl := range r.Places() {
			pair := r.PairNow(pl.ID)
			if pair == nil {
				continue
			}
			pairs++
			if !pair.Found {
				t.Errorf("the pair in %s is not written as found", pl.Name)
			}
			for _, e := range r.History(aviary.APlace, pl.ID) {
				b, ok := e.Body.(*aviary.NestCheck)
				if !ok {
					continue
				}
				unknown = unknown || b.Found
				eggs = eggs || b.Eggs != nil && *b.Eggs == 4
				chicks = chicks || b.Chicks != nil && *b.Chicks == 3 && b.AgeDays != nil && *b.AgeDays == 9
			}
		}
	})
	if pairs != 2 || !eggs || !chicks || !unknown {
		t.Errorf("%d pairs, eggs %v, chicks of day 9 %v, as found %v; want 2 and all of it", pairs, eggs, chicks, unknown)
	}
	p.show("/round")
	p.lacks("none is written down yet")
	p.shot("journey-setup-round", true)
}
