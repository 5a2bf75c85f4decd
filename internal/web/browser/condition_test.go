//go:build browser

package browser_test

import (
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// TestCondition_SignToMaterialToBuilding goes the way of a pair: a sign is seen, nest material is proposed and given, they build.
func TestCondition_SignToMaterialToBuilding(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	w.move(lidsMayBeLifted)
	p := w.open(phone, "/condition")
	if got, want := p.headline(), "None of 1 pair is ready for nest material yet."; got != want {
		t.Fatalf("the headline says %q, want %q", got, want)
	}
	p.follow("link", "B2")
	p.says("Signs do not suffice yet", "First egg 15–30 Jan (8 in 10)", "What this rests on")
	p.shot("journey-condition-1", true)

	// one tap writes a sign down, and the undo takes it back
	before := len(w.standing("nest_check"))
	p.in("#condition").follow("button", "At the nest")
	if seen := last[*aviary.NestCheck](w.site, before+1); len(seen.Signs) != 1 || seen.Signs[0] != "at the nest" || seen.Eggs != nil || seen.Look != "" {
		t.Fatalf("written is %+v", seen)
	}
	p.says("In condition", "Give nest material")
	p.in(".undo").follow("button", "Undo")
	p.lacks("Give nest material")
	p.in("#condition").follow("button", "At the nest")
	p.show("/condition")
	if got, want := p.headline(), "1 of 1 pair is ready for nest material."; got != want {
		t.Errorf("the headline says %q, want %q", got, want)
	}
	p.shot("journey-condition-2", true)

	// the round asks for it, and one tap answers
	p.show("/round")
	card := p.in(".job:has(select[name=what])")
	p.says("Give nest material")
	p.page().all("DisclosureTriangle", "B2 Give nest material…")[0].tap()
	p.shot("journey-condition-3", false)
	card.find("button", "Nest material given…").follow()
	last[*aviary.MaterialGiven](w.site, 1)
	p.lacks("Give nest material")
	p.says("Nest material given")

	p.show("/cage/" + w.b2.String())
	p.in("#condition").follow("button", "Building")
	p.says("B2: building, no egg yet.", "with the pair since")
	p.lacks("Give nest material", "No nest after")
	p.shot("journey-condition-4", true)
}
