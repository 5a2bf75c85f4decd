//go:build browser

package browser_test

import (
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// TestCage_StrikesAndCorrects corrects a look, strikes it out, and puts it back.
func TestCage_StrikesAndCorrects(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	w.move(lidsMayBeLifted)
	p := w.open(phone, "/cage/"+w.a2.String())
	before := len(w.standing("nest_check"))

	// the fifth egg of A2 was a slip of the thumb: four
	p.in("#journal").follow("link", "Correct: 5 eggs")
	p.tap("button", "One egg fewer")
	p.follow("button", "Save the correction")
	p.says("A2: 4 eggs")
	if got := len(w.standing("nest_check")); got != before {
		t.Errorf("after a correction %d looks stand, want %d as before", got, before)
	}
	var struck int
	w.book.View(func(r *aviary.Room) { struck = len(r.StruckHistory(aviary.APlace, w.a2)) })
	if struck != 1 {
		t.Errorf("%d entries of A2 are struck out, want the one that was wrong", struck)
	}
	p.shot("journey-cage-1", true)

	// the corrected look is struck out altogether, and put back
	p.in("#journal").all("link", "Strike out: 4 eggs")[0].follow()
	p.follow("button", "Strike out")
	if got := len(w.standing("nest_check")); got != before-1 {
		t.Errorf("after a strike %d looks stand, want %d", got, before-1)
	}
	p.says("struck out")
	p.in(".undo").find("button", "…").follow()
	if got := len(w.standing("nest_check")); got != before {
		t.Errorf("after putting back %d looks stand, want %d", got, before)
	}

	// a count that falls is never refused: what became of the egg is asked, and "not known" is one tap
	p.show("/cage/" + w.a2.String())
	p.tap("DisclosureTriangle", "A look at the nest")
	form := p.in("details[open] > form.lookform")
	form.tap("button", "One egg fewer")
	form.find("button", "Save 3 eggs…").follow()
	p.says("What became of 1 egg?")
	p.shot("journey-cage-2", true)
	p.follow("button", "Not known")
	p.lacks("What became of 1 egg?")

	// a note, and birds counted
	p.tap("DisclosureTriangle", "A note")
	p.in("details[open]").fill("Note", "hen uses the far perch")
	p.in("details[open]").follow("button", "Write it down")
	p.says("hen uses the far perch")
	if note := last[*aviary.Note](w.site, 1); note.Place != w.a2 {
		t.Errorf("the note is about %s, want A2", note.Place)
	}
}
