//go:build browser

package browser_test

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// TestLamps_PlannedPreviewedWrittenAndSet plans a season that comes down from today, looks at it, writes it, sets the timer
// with one tap, and finds the curve to show it.
func TestLamps_PlannedPreviewedWrittenAndSet(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	p := w.open(phone, "/more")
	p.follow("link", "Lamps…")
	p.says("No lamp hours are planned for today")
	p.follow("link", "Plan the lamps")
	for _, f := range [][2]string{
		{"Lamp hours at rest", "9.5"},
		{"Lamp hours at full light", "14"},
		{"First longer day", "2025-08-01"},
		{"Full light by", "2025-10-01"},
		{"First shorter day…", "2026-01-13"},
		{"Rest by", "2026-02-01"},
		{"Lamps on at full light", "06:00"},
		{"Step…", "30"},
		{"One step every", "7"},
	} {
		p.fill(f[0], f[1])
	}
	if js[bool](p, `document.getElementById("from_real").checked`) {
		p.tap("checkbox", "Go on from the lamps as they are today…")
	}
	p.expect("422")
	p.follow("button", "Preview")
	p.says("a step of 1 h 30 min fits")
	p.fill("Rest by…", "2026-03-20")
	p.follow("button", "Preview")
	p.says("Nothing is written yet")
	p.shot("lamps-preview", true)
	p.follow("button", "Write this plan")
	plan := last[*aviary.LampPlanned](w.site, 1)
	if plan.Full != 14 || plan.TaperFrom != aviary.MustDate("2026-01-13") || plan.RestBy != aviary.MustDate("2026-03-20") {
		t.Errorf("written is %+v", plan)
	}
	p.says("Set the lamps to 06:00–19:30 today")
	runs := js[float64](p, `document.querySelectorAll("svg.light path[stroke='var(--lamp)'][stroke-width='3']").length`)
	if runs == 0 {
		t.Error("the curve does not show the lamps as really set")
	}
	was := js[string](p, `document.querySelector("svg.light").outerHTML`)
	p.follow("button", "Set as planned…")
	p.says("Lamps are as planned: 13.5 h")
	if set := last[*aviary.LampSet](w.site, 2); set.Off != aviary.ClockOf(19, 30) {
		t.Errorf("written is %+v", set)
	}
	if is := js[string](p, `document.querySelector("svg.light").outerHTML`); is == was || !strings.Contains(is, "13 Jan today") {
		t.Error("the curve stays as it was after the timer was set")
	}
	if wide := js[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		t.Errorf("the page is %v px wide on a phone", wide)
	}
}
