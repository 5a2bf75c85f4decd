//go:build browser

package browser_test

import (
	"strings"
	"testing"

	"broodlight/internal/web"
)

// TestSeason_ShowsCountsAndLanes looks at the season of the demo room, at a desk and on a phone.
func TestSeason_ShowsCountsAndLanes(t *testing.T) {
	t.Parallel()
	s := demoRoom(t, web.Config{Demo: true})
	p := s.open(desk, "/season")
	if !strings.Contains(p.headline(), "weaned") {
		t.Errorf("the headline says %q and nothing of weaned young", p.headline())
	}
	p.says("Copy to next year", "Zebra finch", "Gouldian finch")
	lanes := js[int](p, `document.querySelectorAll(".lanes .names .big").length`)
	if lanes < 40 {
		t.Errorf("%d lanes are drawn, want one for each of about 45 pairs", lanes)
	}
	p.choose("Species", "Star finch")
	p.follow("button", "Show")
	if few := js[int](p, `document.querySelectorAll(".lanes .names .big").length`); few == 0 || few >= lanes {
		t.Errorf("for one species %d of %d lanes are drawn", few, lanes)
	}
	p.follow("link", "2024–25")
	p.says("What it came to")
	p.shot("journey-season-last", true)

	q := s.open(phone, "/season")
	q.tap("DisclosureTriangle", "The pairs as a table")
	q.says("Clutch by clutch")
	q.find("link", "A1").follow()
	if !strings.HasPrefix(q.path(), "/cage/") {
		t.Errorf("a lane leads to %s, want its cage", q.path())
	}
}
