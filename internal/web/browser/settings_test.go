//go:build browser

package browser_test

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// TestSettings_AreWrittenAndHold sets lamps, a species' own value, units, telephone numbers, and makes a backup.
func TestSettings_AreWrittenAndHold(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	p := w.open(phone, "/settings")
	p.follow("link", "Lamps…")
	p.fill("On", "05:30")
	p.fill("Off", "20:30")
	p.follow("button", "Save")
	lamps := last[*aviary.LampSet](w.site, 2)
	if lamps.On != aviary.ClockOf(5, 30) || lamps.Off != aviary.ClockOf(20, 30) {
		t.Errorf("the lamps are written as %v to %v", lamps.On, lamps.Off)
	}
	p.says("05:30–20:30, 15 h")

	p.show("/settings/species/zebra")
	p.tap("DisclosureTriangle", "Clutches in a season…")
	form := p.in("details[open]")
	form.fill("High…", "2")
	form.all("button", "Save…")[0].follow()
	own := last[*aviary.SpeciesSet](w.site, 1)
	if own.Species != "zebra" || own.High == nil || *own.High != 2 {
		t.Errorf("written is %+v, want at most 2 clutches of the zebra finch", own)
	}
	p.says("1 own value")

	p.show("/settings/phones")
	p.fill("You", "01 555 0100")
	p.fill("Avian vet", "01 555 0199")
	p.follow("button", "Save")
	p.show("/settings/backup")
	p.follow("button", "Make a copy")
	p.says("The last copy is of 13 Jan 2026, 06:48")

	// lamps-off by hand holds from page to page
	p.show("/more")
	p.tap("button", "Lamps-off view")
	p.wait("the page is dark", func() bool { return js[string](p, "document.documentElement.dataset.theme") == "off" })
	p.show("/wall")
	p.wait("the wall is dark as well", func() bool { return js[string](p, "document.documentElement.dataset.theme") == "off" })
	// and without scripts the server remembers it
	q := w.open(phone, "/wall", dark, noScript)
	if got := js[string](q, "document.documentElement.dataset.theme"); got != "off" {
		t.Errorf("without scripts the wall is %q, want off", got)
	}
}

// TestAway_MakesTheHelpersSheet writes that the keeper is away and reads what the helper gets.
func TestAway_MakesTheHelpersSheet(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	p := w.open(phone, "/settings/phones")
	p.fill("You", "01 555 0100")
	p.follow("button", "Save")
	p.show("/away")
	p.fill("First day away", "2026-01-14")
	p.fill("Last day away", "2026-01-16")
	p.fill("What the helper should know", "Soaked seed is in the fridge.")
	p.follow("button", "Make the sheet")
	if got := p.headline(); !strings.HasPrefix(got, "Away 14–16 Jan") {
		t.Errorf("the headline says %q", got)
	}
	p.says("01 555 0100", "Soaked seed is in the fridge.", "Each day", "avian vet")
	p.shot("journey-away", true)
	away := last[*aviary.AwaySet](w.site, 1)
	if away.To-away.From != 2 {
		t.Errorf("written is %+v", away)
	}
	// back again, with what was written meanwhile
	w.move(5 * 24 * 60 * 60 * 1e9)
	p.show("/away")
	if got := p.headline(); !strings.HasPrefix(got, "Back since 17 Jan") {
		t.Errorf("after the return the headline says %q", got)
	}
}
