//go:build browser

package browser_test

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// TestFeeding_SproutsThenRationThenMix plans the jars on a phone, tests the seed, holds a ration of one's own against the need, and
// finds the cheapest mix.
func TestFeeding_SproutsThenRationThenMix(t *testing.T) {
	t.Parallel()
	s := serve(t, web.Config{})
	zone, volume, warmth := "Europe/Dublin", "tsp", "F"
	s.write(&aviary.Entry{ID: newID(), Body: &aviary.RoomSet{Zone: &zone, Volume: &volume, Warmth: &warmth}})
	p := s.tab(phone)

	p.show("/food/sprouting")
	if got := p.headline(); got != "No seed is sprouted yet" {
		t.Fatalf("the page begins with %q", got)
	}
	p.tap("radio", "The same amount each day")
	p.fill("The same amount each day…", "10")
	p.fill("Where the jars stand it is", "50") // 10 °C: too cold
	p.expectStatus(422)
	p.follow("button", "Save the plan")
	p.says("seed chits too slowly")
	p.fill("Where the jars stand it is", "68")
	p.follow("button", "Try it first")
	if got := p.headline(); !strings.HasPrefix(got, "Tried: ") {
		t.Errorf("a plan that is tried says %q", got)
	}
	p.follow("button", "Save the plan")
	p.says("Sprouting planned")
	if got := p.headline(); !strings.Contains(got, "soak") {
		t.Errorf("the first step is %q", got)
	}
	p.shot("journey-sprouting", true)

	p.fill("Seed or bag", "millet, spring")
	p.fill("Sprouted by the third day", "91")
	p.follow("button", "Save the test")
	p.says("good to sprout")

	p.show("/food/ration")
	p.choose("Species", "Zebra finch (not kept)")
	p.choose("Phase", "Rearing")
	p.fill("Chicks", "5")
	p.follow("button", "Show")
	p.says("5 chicks of day 12")
	p.tap("DisclosureTriangle", "Change what is given in a day")
	p.fill("White millet", "1")
	p.fill("Dry egg food", "0")
	p.fill("Sprouted (just chitted) seed", "0")
	p.follow("button", "Work it out with these amounts")
	if got := p.headline(); !strings.Contains(got, "too little energy") {
		t.Errorf("a teaspoon for seven birds: %q", got)
	}

	p.show("/food/mix?make=yes&use=white-millet&price-white-millet=2&use=egg-food&price-egg-food=8&protein_min=14&kilos=5")
	if got := p.headline(); !strings.HasPrefix(got, "Cheapest: white millet and dry egg food") {
		t.Errorf("the mix is %q", got)
	}
	p.fill("Protein, at least", "20")
	p.follow("button", "Find the cheapest mix")
	p.says("No mix of these foods has at least 20")
	p.says("The most protein that they get to is 17")
}
