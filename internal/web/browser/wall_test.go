//go:build browser

package browser_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// dimmed counts the tiles that a filter has dimmed, of all.
func (p *tab) dimmed() (dim, all int) {
	p.Helper()
	return js[int](p, `document.querySelectorAll(".cage.dim").length`), js[int](p, `document.querySelectorAll(".cage").length`)
}

// TestWall_FiltersByDimming presses chips: tiles are dimmed and never move.
func TestWall_FiltersByDimming(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	p := w.open(phone, "/wall")
	where := `JSON.stringify([...document.querySelectorAll(".cage")].map(e => e.getBoundingClientRect()))`
	before := js[string](p, where)
	p.tap("button", "Today…")
	if dim, all := p.dimmed(); all-dim != 3 {
		t.Errorf("of %d tiles %d are left bright by Today, want 3", all, all-dim)
	}
	if js[string](p, `document.querySelector("[aria-pressed=true]").textContent.trim()`) == "" || p.path() != "/wall?only=today" {
		t.Errorf("the filter is not in the address: %s", p.path())
	}
	if js[string](p, where) != before {
		t.Error("filtering moves a tile")
	}
	p.shot("journey-wall-1", false)
	p.tap("button", "All…")
	if dim, _ := p.dimmed(); dim != 0 {
		t.Errorf("All leaves %d tiles dimmed", dim)
	}
	// without scripts the chip is a link and does the same
	q := w.open(phone, "/wall", noScript)
	q.follow("link", "Today…")
	if dim, all := q.dimmed(); all-dim != 3 {
		t.Errorf("without scripts %d tiles are left bright by Today, want 3", all-dim)
	}
}

// TestWall_SwitchesBanksOnAPhone shows one bank at a time.
func TestWall_SwitchesBanksOnAPhone(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	p := w.open(phone, "/wall")
	seen := func(name string) bool {
		p.Helper()
		return js[bool](p, `[...document.querySelectorAll(".cno")].some(e => e.textContent === "`+name+`" && e.offsetParent !== null)`)
	}
	if !seen("A1") || seen("A3") {
		t.Fatal("the phone does not open on the first bank alone")
	}
	p.tap("link", "Right…")
	p.wait("the right bank is shown alone", func() bool { return seen("A3") && !seen("A1") })
	p.shot("journey-wall-2", false)
	p.tap("link", "Left…")
	p.wait("the left bank is back", func() bool { return seen("A1") && !seen("A3") })
}

// TestWall_CarriesAPair moves a pair to another cage by mouse, and back by keyboard.
func TestWall_CarriesAPair(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	p := w.open(desk, "/wall")
	p.follow("link", "Carry birds")
	at := func() (place aviary.ID) {
		w.book.View(func(r *aviary.Room) {
			for _, id := range []aviary.ID{w.b2, w.a4} {
				if pair := r.PairNow(id); pair != nil {
					place = id
				}
			}
		})
		return place
	}
	handle := func(cage string) *spot { p.Helper(); return p.find("button", "Carry "+cage+" pair…") }
	p.shot("journey-wall-3", true)

	// by mouse, from B2 to the empty A4
	h := handle("B2")
	x, y := h.point()
	to := js[[]float64](p, `(() => { const r = document.querySelector('[data-drop-name="A4"]').getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; })()`)
	if status := p.load(chromedp.DragAndDropXY(x, y, to[0], to[1], 8)); status != 200 {
		t.Fatalf("the drop is answered with status %d: %s", status, p.text())
	}
	if at() != w.a4 {
		t.Fatalf("after the drop the pair is not in A4; the page reads: %s", p.text())
	}
	p.says("A4")

	// by keyboard, back again: Enter picks up, arrows choose, Enter puts down, Escape gives up
	if !p.has("button", "Carry A4 pair…") {
		p.show("/wall?move=yes")
	}
	h = handle("A4")
	call[bool](h, `function () { this.focus(); return true; }`)
	p.do(key("Enter"))
	p.do(key("Escape"))
	if at() != w.a4 {
		t.Error("Escape moves the pair")
	}
	p.do(key("Enter"))
	var over string
	for range 12 {
		p.do(key("ArrowLeft"))
		if over = js[string](p, `(document.querySelector("[data-drop].target") || { dataset: {} }).dataset.dropName || ""`); over == "A2" {
			break
		}
	}
	p.do(key("ArrowDown"))
	if over = js[string](p, `document.querySelector("[data-drop].target").dataset.dropName`); over != "B2" {
		t.Fatalf("left and down from A4 the pair is over %s, want B2", over)
	}
	p.load(key("Enter"))
	if at() != w.b2 {
		t.Errorf("by keyboard the pair does not come back to B2; the page reads: %s", p.text())
	}
}

// TestWall_ManyCagesOneStep ends two pairs and takes their boxes out, as one step with one undo.
func TestWall_ManyCagesOneStep(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	p := w.open(phone, "/bulk")
	p.tap("checkbox", "B2…")
	p.tap("checkbox", "A3…")
	p.choose("End the pairs, because", "Season over")
	p.tap("checkbox", "Take the nest boxes out")
	p.follow("button", "Show what this does")
	p.says("Nothing is written yet")
	if got := len(w.standing("pair_ended")); got != 0 {
		t.Fatal("a preview writes")
	}
	p.shot("journey-bulk", true)
	p.follow("button", "Do it")
	if ends, boxes := len(w.standing("pair_ended")), len(w.standing("box_taken")); ends != 1 || boxes != 1 {
		t.Errorf("%d pairs are ended and %d boxes taken, want 1 and 1", ends, boxes)
	}
	p.in(".undo").follow("button", "Undo")
	if ends, boxes := len(w.standing("pair_ended")), len(w.standing("box_taken")); ends != 0 || boxes != 0 {
		t.Errorf("one undo leaves %d ends and %d taken boxes", ends, boxes)
	}
}
