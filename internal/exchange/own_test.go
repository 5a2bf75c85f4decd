package exchange

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

const (
	ownID   = "0197f3c2-5a31-7c44-9f0e-3b6a1d2c4e5f"
	ownHead = "id,kind,day,time,written,by,batch,strikes,why,version,"
	ownRow  = ownID + ",bird_weighed,2026-03-14,,2026-03-14T18:00:00.000Z,Ann,,,,1," + ownID + ","
)

func own(tb testing.TB, room *aviary.Room, text string) *Plan {
	tb.Helper()
	p, err := Import(room, []Input{{"facts.csv", strings.NewReader(text)}}, Options{Today: today})
	if err != nil {
		tb.Fatal(err)
	}
	if !p.Own {
		tb.Fatalf("not taken for one of Broodlight's own files: %q", p.Sentences())
	}
	return p
}

// TestImportOwn_Refusals lists files that were spoilt, with the sentence. Nothing is given to write.
func TestImportOwn_Refusals(t *testing.T) {
	weighed := ownHead + "bird,grams\r\n"
	for name, x := range map[string]struct{ text, want string }{
		"unknown column": {ownHead + "bird,grams,mood\r\n", "facts.csv, line 1, column “mood”: no file of Broodlight's has such a column"},
		"column twice":   {ownHead + "bird,grams,grams\r\n", "facts.csv, line 1, column “grams”: the column is there twice"},
		"other's column": {ownHead + "bird,grams,text\r\n" + ownRow + "14.5,hello\r\n", "facts.csv, line 2, column “text”: bird_weighed has no such column; empty the cell."},
		"kind":           {weighed + strings.Replace(ownRow, "bird_weighed", "bird_sung", 1) + "14.5\r\n", "facts.csv, line 2, column “kind”: there is no kind of entry called “bird_sung”."},
		"id":             {weighed + strings.Replace(ownRow, ownID, "7", 1) + "14.5\r\n", "facts.csv, line 2, column “id”: “7” is not an id; an id looks like"},
		"no id":          {weighed + strings.Replace(ownRow, ownID, "", 1) + "14.5\r\n", "facts.csv, line 2, column “id”: the entry has no id."},
		"day":            {weighed + strings.Replace(ownRow, "2026-03-14,", "14.03.2026,", 1) + "14.5\r\n", "facts.csv, line 2, column “day”: \"14.03.2026\" is not a date; write it as 2026-01-13."},
		"day to come":    {weighed + strings.Replace(ownRow, "2026-03-14,", "2026-07-14,", 1) + "14.5\r\n", "facts.csv, line 2, column “day”: 14 Jul 2026 has not come yet"},
		"instant":        {weighed + strings.Replace(ownRow, "2026-03-14T18:00:00.000Z", "yesterday", 1) + "14.5\r\n", "facts.csv, line 2, column “written”: “yesterday” is not an instant"},
		"time":           {weighed + strings.Replace(ownRow, ",,2026", ",25:00,2026", 1) + "14.5\r\n", "facts.csv, line 2, column “time”: \"25:00\" is not a time of day"},
		"version":        {weighed + strings.Replace(ownRow, ",1,", ",99,", 1) + "14.5\r\n", "facts.csv, line 2, column “version”: bird_weighed was written by a later version of the program."},
		"number":         {weighed + ownRow + "\"14,5\"\r\n", "facts.csv, line 2, column “grams”: “14,5” is not a number; write it with a point"},
		"negative":       {weighed + ownRow + "-3\r\n", "facts.csv, line 2, column “grams”: -3 g is not the weight of a finch"},
		"ragged":         {weighed + ownRow + "\r\n\r\n" + ownID + "\r\n", "facts.csv, line 2, column “grams”"},
		"id twice":       {weighed + ownRow + "14.5\r\n" + ownRow + "14.6\r\n", "facts.csv, line 3, column “id”: line 2 of facts.csv has the same id and says something else"},
		"count below 0":  {ownHead + "place,eggs\r\n" + strings.Replace(ownRow, "bird_weighed", "nest_check", 1) + "-1\r\n", "facts.csv, line 2, column “eggs”: -1 eggs cannot be"},
		"egg and a half": {ownHead + "place,eggs\r\n" + strings.Replace(ownRow, "bird_weighed", "nest_check", 1) + "1.5\r\n", "facts.csv, line 2, column “eggs”: “1.5” is not a whole number."},
		"truth":          {ownHead + "place,eggs_at_least\r\n" + strings.Replace(ownRow, "bird_weighed", "nest_check", 1) + "maybe\r\n", "facts.csv, line 2, column “eggs_at_least”: “maybe” is neither true nor false"},
		"unclosed":       {weighed + "\"" + ownRow + "14.5\r\n", "facts.csv, line 2: a quotation mark is opened here and never closed"},
	} {
		p := own(t, aviary.NewRoom(), x.text)
		got := p.Sentences()
		if p.OK() || p.Entries != nil || len(got) == 0 || !strings.HasPrefix(got[0], x.want) {
			t.Errorf("%s: got %q, want %q and no entries", name, got, x.want)
		}
	}
}

func TestImportOwn_SavedBySpreadsheet(t *testing.T) {
	text := "\ufeff" + strings.ReplaceAll(ownHead+"bird,grams\n"+ownRow+"14.5\n;;;;;;;;;;;\n", ",", ";")
	p := own(t, aviary.NewRoom(), text)
	if !p.OK() || len(p.Entries) != 1 {
		t.Fatalf("got %d entries, %q", len(p.Entries), p.Sentences())
	}
	if got := p.Entries[0].Body.(*aviary.BirdWeighed).Grams; got != 14.5 {
		t.Errorf("grams = %v, want 14.5", got)
	}
}

func TestImportOwn_TwiceChangesNothing(t *testing.T) {
	room := season(t)
	files := exported(t, room.Entries())
	var in []Input
	for name, text := range files {
		in = append(in, Input{name, strings.NewReader(text)})
	}
	p, err := Import(room, in, Options{Today: today})
	if err != nil || !p.OK() {
		t.Fatalf("%v %q", err, p.Sentences())
	}
	if len(p.Entries) != 0 || p.Known != len(room.Entries()) {
		t.Errorf("%d entries to write and %d known, want 0 and %d", len(p.Entries), p.Known, len(room.Entries()))
	}
	// The same id with other facts is a conflict, and it is shown.
	note := strings.Replace(files["note.csv"], "two lines", "three lines", 1)
	got := own(t, room, note).Sentences()
	if len(got) != 1 || got[0] != "facts.csv, line 2, column “id”: an entry with this id is in the books already and says something else." {
		t.Errorf("got %q", got)
	}
}

// TestImportOwn_ClashIsSetAsideAndSaid holds that an entry which cannot stand is kept, as it was where it came from.
func TestImportOwn_ClashIsSetAsideAndSaid(t *testing.T) {
	p := own(t, aviary.NewRoom(), ownHead+"bird,grams\r\n"+ownRow+"14.5\r\n")
	if !p.OK() || len(p.Entries) != 1 || !strings.Contains(p.Rows[0].Does, "set aside to be sorted out: there is no such bird in the books on that day") {
		t.Errorf("rows = %+v", p.Rows)
	}
	wantSame(t, p.Entries)
}

func TestImportOwn_RowsSayWhatTheyAre(t *testing.T) {
	room := season(t)
	p := own(t, aviary.NewRoom(), exported(t, room.Entries())["bird_acquired.csv"])
	if got, want := p.Rows[0].Does, "bird acquired of 1 Mar 2024, by Ann"; !strings.HasPrefix(got, want) {
		t.Errorf("row = %q, want %q", got, want)
	}
}
