//go:build browser

package browser_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// cell is the label of the cell of the table that has the focus.
func (p *tab) cell() string {
	p.Helper()
	return js[string](p, `document.activeElement.matches("a.mc") ? document.activeElement.getAttribute("aria-label") : ""`)
}

// TestPairs_WalkTryRuleSetUp walks over the table by keys, looks at a pair that is not suggested, tries it, keeps two apart,
// and sets up a pair.
func TestPairs_WalkTryRuleSetUp(t *testing.T) {
	t.Parallel()
	s := demoRoom(t, web.Config{})
	p := s.open(desk, "/pairs?species=zebra")
	picked := js[int](p, `document.querySelectorAll("a.mc.pick").length`)
	if picked == 0 {
		t.Fatal("no pair is suggested")
	}

	// keys: one cell of the table is in the order of the tabulator, arrows walk
	if n := js[int](p, `document.querySelectorAll('a.mc[tabindex="0"]').length`); n != 1 {
		t.Errorf("%d cells are in the order of the tabulator, want 1", n)
	}
	js[bool](p, `(document.querySelector("table.matrix tbody tr a.mc").focus(), true)`)
	first := p.cell()
	p.do(chromedp.KeyEvent(kb.ArrowRight))
	right := p.cell()
	p.do(chromedp.KeyEvent(kb.ArrowDown), chromedp.KeyEvent(kb.ArrowLeft), chromedp.KeyEvent(kb.ArrowUp))
	if right == first || right == "" || p.cell() != first {
		t.Errorf("the keys lead from %q to %q and back to %q", first, right, p.cell())
	}

	// a pair that is not suggested, and may be: its price, then the set with it
	href := js[string](p, `[...document.querySelectorAll("a.mc:not(.pick):not(.no)")].pop().getAttribute("href")`)
	p.show(href)
	p.says("For the whole room")
	p.follow("link", "Try it in the set")
	p.says("should wean")
	if !strings.Contains(p.path(), "keep=") {
		t.Errorf("the address %s keeps no pair", p.path())
	}

	// dragging a suggested pair to another hen shows what it costs
	p.show("/pairs?species=zebra")
	to := js[string](p, `(() => {
		const pick = document.querySelector("a.mc.pick"), row = [...pick.closest("tr").querySelectorAll("a.mc")];
		const to = row.find((c) => c !== pick && !c.classList.contains("no"));
		const data = new DataTransfer();
		const send = (el, type) => el.dispatchEvent(new DragEvent(type, { bubbles: true, cancelable: true, dataTransfer: data }));
		send(pick, "dragstart");
		const taken = !send(to, "dragover");
		send(to, "drop");
		return taken ? to.getAttribute("href") : "refused";
	})()`)
	p.wait("the page of the pair that it was dragged to", func() bool { return strings.Contains(to, "cock=") && strings.Contains(p.path(), "cock=") })

	// two are kept apart, and are so from then on
	p.show(href)
	p.follow("button", "Keep them apart")
	p.says("Apart:")
	last[*aviary.PairRuled](s, 1)

	// a pair is set up in the cage that is proposed
	before := len(s.standing("pair_set"))
	js[bool](p, `(() => { const li = [...document.querySelectorAll(".pset li")].find((l) => l.querySelector("select") && l.querySelector("select").value); li.querySelector("input[type=checkbox]").click(); return true; })()`)
	p.follow("button", "Set up the ticked pairs")
	if after := len(s.standing("pair_set")); after != before+1 {
		t.Errorf("%d pairs more stand, want 1: %s", after-before, p.text()[:400])
	}
}
