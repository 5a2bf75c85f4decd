//go:build browser

package browser_test

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// rings lists the rings of the list of birds, in its order.
func (p *tab) rings() []string {
	p.Helper()
	return js[[]string](p, `[...document.querySelectorAll(".birds tbody tr td:first-child")].map(e => e.textContent.replace(/^(cock|hen|sex not known)\s*/, "").trim())`)
}

// TestBirds_FindsAndAdds searches, sorts, adds a bird, and reads a pasted table after a preview.
func TestBirds_FindsAndAdds(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	p := w.open(phone, "/birds")
	all := len(p.rings())

	p.fill("Ring, name, look or cage", "24-004")
	p.follow("button", "Find")
	if got := p.rings(); len(got) != 1 || got[0] != "FC 24-004" {
		t.Errorf("the search finds %q", got)
	}
	p.fill("Ring, name, look or cage", "nowhere")
	p.follow("button", "Find")
	p.says("No bird fits")
	p.follow("link", "Show all in the room")
	up := p.rings()
	if len(up) != all {
		t.Fatalf("%d birds are listed, want %d", len(up), all)
	}
	p.find("link", "Ring…").follow()
	down := p.rings()
	if down[0] != up[all-1] || !strings.Contains(p.path(), "desc") {
		t.Errorf("sorted the other way the first bird is %s, want %s", down[0], up[all-1])
	}
	p.choose("Sex", "Hens")
	p.follow("button", "Find")
	if hens := len(p.rings()); hens == 0 || hens >= all {
		t.Errorf("%d of %d are hens", hens, all)
	}

	// one is added
	p.show("/birds")
	p.follow("link", "Add a bird")
	p.choose("Species…", "Zebra finch")
	p.tap("radio", "Hen")
	p.fill("Ring as stamped", "KV 25-117")
	p.fill("Hatched", "2025-05-04")
	p.choose("In", "A4, empty")
	p.follow("button", "Add the bird")
	b := last[*aviary.BirdAcquired](w.site, all+1)
	if b.Ring.String() != "KV 25-117" || b.Sex != aviary.Hen || b.Place != w.a4 {
		t.Errorf("written is %+v", b)
	}

	// a mistake comes back filled in, with the message beside its field
	p.show("/birds/new")
	p.expectStatus(422)
	p.choose("Species…", "Zebra finch")
	p.fill("Ring as stamped", "KV 25-117")
	if status := p.follow("button", "Add the bird"); status != 422 {
		t.Errorf("the same ring twice is answered with status %d, want 422", status)
	}
	p.says("Nothing is saved yet")
	ring := p.page().field("Ring as stamped")
	if got := call[string](ring, `function () { return this.getAttribute("aria-invalid") + ": " + document.getElementById(this.getAttribute("aria-describedby").split(" ").pop()).textContent.trim(); }`); !strings.HasPrefix(got, "true: Another bird wears this ring") {
		t.Errorf("the message beside the ring is %q", got)
	}
	if got := p.value("Ring as stamped"); got != "KV 25-117" {
		t.Errorf("the form comes back with the ring %q", got)
	}
	p.shot("journey-bird-422", true)

	// many by a pasted table: first what it would do, then it is done
	p.show("/birds/table")
	p.fill("Table", "ring,species,sex,hatched\nKV 25-201,zebra,cock,2025-03-01\nKV 25-202,dodo,hen,2025-03-02\n")
	if status := p.follow("button", "Show what this does"); status != 422 {
		t.Errorf("a table with an unknown species is answered with status %d, want 422", status)
	}
	p.says("1 of 2 rows want mending")
	if got := len(w.standing("bird_acquired")); got != all+1 {
		t.Fatal("a table with a mistake writes")
	}
	p.fill("Table", "ring,species,sex,hatched,sire ring\nKV 25-201,zebra,cock,2025-03-01,FC 24-004\nKV 25-202,zebra,hen,2025-03-02,FC 24-004\n")
	p.follow("button", "Look again")
	p.says("2 rows are ready")
	if got := len(w.standing("bird_acquired")); got != all+1 {
		t.Fatal("a preview writes")
	}
	p.shot("journey-birds-table", true)
	p.follow("button", "Read them in")
	if got := len(w.standing("bird_acquired")); got != all+3 {
		t.Errorf("%d birds are in the books, want %d", got, all+3)
	}
	p.says("2 rows read in")
	p.in(".undo").follow("button", "Undo")
	if got := len(w.standing("bird_acquired")); got != all+1 {
		t.Errorf("one undo leaves %d birds, want %d", got, all+1)
	}

	// what is written about a bird
	p.show("/birds?q=KV+25-117")
	p.follow("link", "hen KV 25-117")
	p.tap("DisclosureTriangle", "Weigh")
	form := p.in("details[open]")
	form.fill("Weight…", "12.4")
	form.follow("button", "Save")
	if kg := last[*aviary.BirdWeighed](w.site, 1); kg.Grams != 12.4 {
		t.Errorf("the bird is weighed as %v g, want 12.4", kg.Grams)
	}
}
