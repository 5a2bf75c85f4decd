package web

import (
	"testing"

	"broodlight/internal/aviary"
)

// colourRoom is a grey cock, a fawn hen, and two grey daughters of theirs.
func colourRoom() (cock aviary.ID, entries []*aviary.Entry) {
	cock, hen := newID(), newID()
	day := aviary.MustDate("2025-11-01")
	for _, b := range []aviary.Body{
		&aviary.PlaceAdded{Place: newID(), Name: "A1", Type: aviary.Cage},
		&aviary.BirdAcquired{Bird: cock, Species: "zebra", Sex: aviary.Cock, Name: "Ash", Looks: []string{"body=grey"}},
		&aviary.BirdAcquired{Bird: hen, Species: "zebra", Sex: aviary.Hen, Name: "Fern", Looks: []string{"body=fawn"}},
		&aviary.BirdAcquired{Bird: newID(), Species: "zebra", Sex: aviary.Hen, Name: "Gull", Sire: cock, Dam: hen, Looks: []string{"body=grey"}},
		&aviary.BirdAcquired{Bird: newID(), Species: "zebra", Sex: aviary.Hen, Name: "Grit", Sire: cock, Dam: hen, Looks: []string{"body=grey"}},
		&aviary.BirdAcquired{Bird: newID(), Species: "zebra", Sex: aviary.Hen, Name: "Odd", Looks: []string{"body=tartan"}},
	} {
		entries = append(entries, &aviary.Entry{Day: day, Body: b})
	}
	return cock, entries
}

func TestColours_Page(t *testing.T) {
	cock, entries := colourRoom()
	m := newRoom(t, entries...)
	m.get("/colours").wants(200, "1 bird here may hide a colour, 0 for certain", "Ash", "fawn", "Looks that the catalogue has no name for", "body tartan").sound()
	m.get("/colours?species=phoenix").wants(404, "No bird of that species")
	m.get("/bird/"+cock.String()+"/colours").wants(200, "Ash hides fawn with a chance of 5 in 100", "2 young with Fern (fawn): 2 grey", "Which mate would tell most", "How inbred it is").sound()
	m.get("/bird/"+newID().String()+"/colours").wants(404, "no such bird")
	newRoom(t).get("/colours").wants(200, "No bird is in the books yet").sound()
}

func TestColours_Assume(t *testing.T) {
	cock, entries := colourRoom()
	m := newRoom(t, entries...)
	page := "/bird/" + cock.String() + "/colours"
	m.post("/colours/assume", "species", "zebra", "locus", "fawn", "frequency-f", "1.5").wants(422, "A share is from 0 to 1")
	m.post("/colours/assume", "species", "zebra", "locus", "fawn").wants(422, "Nothing is assumed yet")
	m.post("/colours/assume", "species", "zebra", "locus", "intensity", "frequency-lb", "0.7", "frequency-ino", "0.7").wants(422, "add up to 1.4")
	m.post("/colours/assume", "species", "zebra", "locus", "stripes").wants(404, "no such colour")
	if n := len(m.entries("colour_assumed")); n != 0 {
		t.Fatalf("%d were written", n)
	}
	// 2·0.25/1.25 before the young: odds 2/3, a quarter of which are left after two grey young of a fawn hen: 1/7.
	m.post("/colours/assume", "species", "zebra", "locus", "fawn", "frequency-f", "0.25", "basis", "my own birds").wants(303)
	m.get(page).wants(200, "a chance of 14 in 100").lacks("by what is taken for granted")
	m.post("/colours/assume", "species", "zebra", "locus", "fawn", "clear", "yes").wants(303)
	m.get(page).wants(200, "a chance of 5 in 100")
}

func TestColours_Own(t *testing.T) {
	_, entries := colourRoom()
	m := newRoom(t, entries...)
	m.post("/colours/own", "species", "zebra", "look", "Sooty back", "plain", "plain back").wants(422, "Say how it passes")
	m.post("/colours/own", "species", "zebra", "look", "Fawn", "plain", "plain", "inherited", "recessive").wants(422, "in the catalogue already")
	m.post("/colours/own", "species", "zebra", "look", "Sooty back", "plain", "plain back", "inherited", "recessive", "on_z", "yes").wants(303)
	m.get("/colours").wants(200, "Sooty back", "on the Z")
}

func TestColours_Said(t *testing.T) {
	cock, entries := colourRoom()
	m := newRoom(t, entries...)
	page := "/bird/" + cock.String() + "/colours"
	m.post(page, "colour", "", "carries", "yes").wants(422, "Choose the colour")
	m.post(page, "colour", "fawn=f", "carries", "yes", "trust", "20").wants(422, "from 50")
	m.post(page, "colour", "fawn=f", "carries", "yes", "trust", "90", "said_by", "the seller").wants(303)
	// Odds 2·0.1/0.9, a quarter for two young, nine times for the word: 1/2.
	m.get(page).wants(200, "a chance of 33 in 100", "said to hide fawn by the seller, trusted 90 in 100")
}

func TestColours_Clash(t *testing.T) {
	cock, entries := colourRoom()
	entries = append(entries, &aviary.Entry{Day: aviary.MustDate("2025-12-01"), Body: &aviary.LookSeen{Bird: cock, Trait: "body", Look: "fawn"}})
	m := newRoom(t, entries...)
	m.get("/colours").wants(200, "Some looks and lines cannot all be true", "These cannot all be true").sound()
}
