package web

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

func TestBirds_ListFindsSortsAndPages(t *testing.T) {
	m := wallRoom(t)
	m.get("/birds").wants(200, "3 birds in the room", "FC 24-001", "FC 24-002", "FC 24-003", `aria-sort="ascending"`)
	m.get("/birds?q=24-002").wants(200, "1 found", "FC 24-002").lacks("FC 24-001")
	m.get("/birds?q=<script>").wants(200, "No bird fits", "&lt;script&gt;").lacks("<script>alert")
	m.get("/birds?sex=cock&sort=age&desc=yes").wants(200, "2 found", `aria-sort="descending"`)
	m.get("/birds?sort=nonsense&from=-4").wants(200, "3 birds in the room")
	var many []*aviary.Entry
	for i := range 250 {
		many = append(many, on("2025-09-01", &aviary.BirdAcquired{Bird: newID(), Species: "zebra", Ring: aviary.Ring{Issuer: "FC", Year: 2025, Number: fmt.Sprintf("%03d", i)}, Place: wallFlight}))
	}
	m = wallRoom(t, many...)
	m.get("/birds?from=100").wants(200, "101–200 of 253", "/birds?from=200", `aria-current="page"`)
}

func TestBird_PageTellsItsStory(t *testing.T) {
	m := wallRoom(t, on("2026-01-05", &aviary.BirdWeighed{Bird: wallCock, Grams: 13.3}), on("2026-01-06", &aviary.BirdNamed{Bird: wallCock, Name: "<i>Ash"}))
	m.get("/bird/"+wallCock.String()).wants(200, "&lt;i&gt;Ash, cock, 1 year 10 months", "Zebra finch. In A1 with FC 24-002 since 10 Dec 2025.", "13.3 g", "No parents are known", "Clutches", "Strike out", "says who?").sound()
	m.get("/bird/"+tid(99).String()).wants(404, "no such bird")
	m.get("/bird/nonsense").wants(404)
}

func TestBird_WhatItsPageWrites(t *testing.T) {
	bird := "/bird/" + wallCock2.String()
	for _, tt := range []struct {
		path string
		form []string
		kind aviary.Kind
	}{
		{"/weigh", []string{"grams", "12,5"}, "bird_weighed"},
		{"/move", []string{"place", wallA2.String()}, "bird_moved"},
		{"/look", []string{"trait", "body", "look", "fawn"}, "look_seen"},
		{"/sex", []string{"sex", "cock", "sexed_how", "song"}, "bird_sexed"},
		{"/ring", []string{"ring", "FC 26-019", "how", "replaced"}, "bird_ringed"},
		{"/ringlost", nil, "ring_lost"},
		{"/name", []string{"name", "Merle"}, "bird_named"},
		{"/parents", []string{"sire", ""}, "parents_set"},
		{"/note", []string{"text", "sings well"}, "note"},
		{"/died", []string{"cause", "not known"}, "bird_died"},
		{"/left", []string{"left_how", "sold"}, "bird_left"},
	} {
		t.Run(tt.path, func(t *testing.T) {
			m := wallRoom(t)
			before := len(m.entries(tt.kind))
			m.post(bird+tt.path, tt.form...).wants(303)
			if n := len(m.entries(tt.kind)); n != before+1 {
				t.Errorf("%d entries of %s, want %d", n, tt.kind, before+1)
			}
			m.get(bird).wants(200).sound()
		})
	}
}

func TestBird_BadInputStandsBesideItsField(t *testing.T) {
	bird := "/bird/" + wallCock2.String()
	m := wallRoom(t)
	n := m.book.Version()
	m.post(bird+"/weigh", "grams", "-3").wants(422, "not the weight of a finch")
	m.post(bird+"/weigh", "grams", "heavy").wants(422, "is not a number")
	m.post(bird+"/ring", "ring", "FC 24-001").wants(422, "Another bird wears this ring")
	m.post(bird+"/sex", "sex", "both").wants(422, "is not a sex")
	m.post(bird+"/parents", "sire", "nobody").wants(422, "no bird with the ring or name")
	m.post(bird+"/parents", "sire", "FC 24-002").wants(422, "a hen cannot be a father")
	m.post(bird+"/died", "day", "2031-01-01").wants(422, "has not come yet")
	m.post(bird+"/died", "day", "31.12.2025").wants(422, "is not a date")
	m.post(bird+"/left").wants(422, "Say how it left")
	m.post(bird+"/move", "place", wallA1.String()).wants(422, "often fight")
	m.post(bird+"/same", "same", "FC 24-002").wants(422, "differ in species or sex")
	m.post("/bird/"+tid(99).String()+"/weigh", "grams", "12").wants(404)
	if m.book.Version() != n {
		t.Error("a refused form changed the room")
	}
}

func TestBird_ComesBack(t *testing.T) {
	m := wallRoom(t)
	bird := "/bird/" + wallCock2.String()
	m.post(bird+"/left", "left_how", "lent").wants(303)
	m.get(bird).wants(200, "Lent 13 Jan 2026", "Came back")
	m.post(bird+"/back", "back_place", wallA2.String()).wants(303)
	m.get(bird).wants(200, "In A2 since")
}

func TestBird_WeighsInTheKeepersUnit(t *testing.T) {
	m := wallRoom(t, on("2026-01-02", &aviary.RoomSet{Mass: some("oz")}))
	bird := "/bird/" + wallCock2.String()
	m.post(bird+"/weigh", "grams", "0.44").wants(303)
	if g := m.entries("bird_weighed")[0].Body.(*aviary.BirdWeighed).Grams; g < 12.46 || g > 12.48 { // 0.44 oz of 28.349523 g, NIST SP 811 B.8
		t.Errorf("0.44 oz is kept as %v g, want 12.47", g)
	}
	m.get(bird).wants(200, "0.44 oz", "0.705 oz") // the upper end of a zebra finch's range, 20 g
}

func TestBirdNew_AddsOne(t *testing.T) {
	m := wallRoom(t)
	m.get("/birds/new?place="+wallA2.String()).wants(200, "Add a bird").sound()
	m.post("/birds/new", "species", "Gouldian finch", "sex", "hen", "ring", "FC 25-101", "hatched", "2025-03-01", "place", wallA2.String(), "looks", "yellow").wants(303)
	m.get("/birds?q=25-101").wants(200, "1 found", "Gouldian")
	m.post("/birds/new", "species", "dodo").wants(422, "dodo")
	m.post("/birds/new").wants(422, "Say which species")
	m.post("/birds/new", "species", "zebra", "ring", "FC 24-001").wants(422, "Another bird wears this ring")
	m.post("/birds/new", "species", "zebra", "hatched", "2025-03-01", "sire", "FC 25-101").wants(422, "a hen cannot be a father")
	m.post("/birds/new", "species", "zebra", "hatched", "2026-01-01", "day", "2025-12-01").wants(422, "before it hatched")
	if n := len(m.entries("bird_acquired")); n != 4 {
		t.Errorf("%d birds in the books, want 4", n)
	}
}

// readOne is a reader of tables for tests: each line is a ring, and the word bad is refused.
func readOne(_ *aviary.Room, data io.Reader, opt TableOptions) (Table, error) {
	text, err := io.ReadAll(data)
	if err != nil {
		return Table{}, err
	}
	var t Table
	for i, line := range strings.Fields(string(text)) {
		row := TableRow{Line: i + 1, Does: "adds " + line}
		if line == "bad" {
			row.Problems = []string{"bad is no ring"}
			t.Wrong++
		}
		t.Rows = append(t.Rows, row)
		t.Entries = append(t.Entries, &aviary.Entry{ID: newID(), Body: &aviary.BirdAcquired{Bird: newID(), Species: "zebra", Ring: aviary.Ring{Number: line}}})
	}
	if t.Wrong > 0 {
		t.Entries = nil
	}
	return t, nil
}

func TestBirdTable_PreviewThenWholeOrNotAtAll(t *testing.T) {
	m := roomWith(t, Config{ReadTable: readOne})
	m.get("/birds/table").wants(200, "Add many birds").sound()
	m.post("/birds/table").wants(422, "Paste a table")
	m.post("/birds/table", "table", "a1 bad").wants(422, "1 of 2 rows want mending", "bad is no ring").sound()
	m.post("/birds/table", "table", "a1 a2").wants(200, "2 rows are ready", "adds a1", "Read them in").sound()
	if n := len(m.entries("bird_acquired")); n != 0 {
		t.Fatalf("a preview wrote %d birds", n)
	}
	m.post("/birds/table", "table", "a1 a2", "sure", "yes").wants(303)
	if n := len(m.entries("bird_acquired")); n != 2 {
		t.Errorf("%d birds in the books, want 2", n)
	}
}
