package exchange

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
)

// slugs knows two species, as the program's list does.
func slugs(name string) (string, error) {
	switch strings.ToLower(name) {
	case "zebra", "zebra finch", "taeniopygia guttata":
		return "zebra", nil
	case "gouldian", "gouldian finch":
		return "gouldian", nil
	}
	return "", fmt.Errorf("No species here is called “%s”. Did you mean Zebra finch?", name)
}

func options() Options {
	return Options{Today: today, Day: today, By: "Ann", Written: time.Date(2026, 6, 30, 12, 0, 0, 0, time.UTC), NewID: counter(1 << 20), FindSpecies: slugs}
}

func plan(tb testing.TB, room *aviary.Room, opt Options, table string) *Plan {
	tb.Helper()
	p, err := Import(room, []Input{{"birds.csv", strings.NewReader(table)}}, opt)
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

// brought plans a table, writes it into the room and returns the plan.
func brought(tb testing.TB, room *aviary.Room, opt Options, table string) *Plan {
	tb.Helper()
	p := plan(tb, room, opt, table)
	if !p.OK() {
		tb.Fatalf("refused: %s", strings.Join(p.Sentences(), "\n"))
	}
	if err := room.Admit(p.Entries, today, func() error { return nil }); err != nil {
		tb.Fatalf("the room refuses what the plan allowed: %v", err)
	}
	if aside := room.Aside(); len(aside) > 0 {
		tb.Fatalf("set aside: %s", aside[0].Clash.Message)
	}
	return p
}

func wearer(tb testing.TB, room *aviary.Room, ring string) *aviary.Bird {
	tb.Helper()
	r, err := aviary.ParseRing(ring)
	if err != nil {
		tb.Fatal(err)
	}
	b := room.Wearer(r)
	if b == nil {
		tb.Fatalf("no bird wears %s", ring)
	}
	return b
}

// ---- published pedigrees ----

// TestImport_PedigreesKeepTheirLinks reads each file of testdata/pedigree with the standard library and
// holds every link and sex of the room against it. Their sources are in testdata/pedigree/SOURCES.md.
func TestImport_PedigreesKeepTheirLinks(t *testing.T) {
	files, err := filepath.Glob("testdata/pedigree/*.csv")
	if err != nil || len(files) < 8 {
		t.Fatalf("pedigrees: %v %v", files, err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".csv"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			want, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			opt := options()
			opt.Species = "zebra finch"
			room := aviary.NewRoom()
			brought(t, room, opt, string(text))
			if got := len(room.Birds()); got != len(want)-1 {
				t.Errorf("%d birds, want %d", got, len(want)-1)
			}
			links := 0
			for _, r := range want[1:] {
				b := wearer(t, room, r[0])
				if got, want := b.Sex, map[string]aviary.Sex{"M": aviary.Cock, "F": aviary.Hen}[r[3]]; got != want || want == "" {
					t.Errorf("%s is a %s, want %s", r[0], got, want)
				}
				l := room.Parents(b.ID)
				for _, p := range []struct {
					got  aviary.ID
					want string
				}{{l.Sire, r[1]}, {l.Dam, r[2]}} {
					var id aviary.ID
					if p.want != "" {
						id = wearer(t, room, p.want).ID
						links++
					}
					if p.got != id {
						t.Errorf("a parent of %s is %v, want %s", r[0], p.got, p.want)
					}
				}
				if l.Problem != "" {
					t.Errorf("%s: %s", r[0], l.Problem)
				}
			}
			if links == 0 {
				t.Error("no link was looked at")
			}
			wantSame(t, room.Entries())
		})
	}
}

// TestImport_ParentsWithoutRows takes the founders' rows out of a pedigree: they come back, sexed by their role.
func TestImport_ParentsWithoutRows(t *testing.T) {
	text, err := os.ReadFile("testdata/pedigree/open_random_45.csv")
	if err != nil {
		t.Fatal(err)
	}
	var kept []string
	sex, founders := map[string]aviary.Sex{}, 0
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		c := strings.Split(strings.TrimSpace(line), ",")
		if c[1] == "" && c[2] == "" {
			founders++
			continue
		}
		kept = append(kept, line)
		sex[c[1]], sex[c[2]] = aviary.Cock, aviary.Hen
	}
	opt := options()
	opt.Species = "zebra"
	room := aviary.NewRoom()
	brought(t, room, opt, strings.Join(kept, "\n"))
	delete(sex, "")
	delete(sex, "sire")
	delete(sex, "dam")
	if founders == 0 {
		t.Fatal("the pedigree has no founders")
	}
	for ring, want := range sex {
		if got := wearer(t, room, ring); got.Sex != want || !got.Found || got.Species != "zebra" {
			t.Errorf("%s is a %s %s, found %v; want a %s", ring, got.Species, got.Sex, got.Found, want)
		}
	}
}

// ---- a keeper's table ----

const keepersTable = "Ring No.;Species;Sex;Hatched;Sire ring;Dam ring;Colour;Cage;Name;Price\r\n" +
	"FC 25-003;Zebra finch;;13/04/2025;FC 23-001;FC 23-002;grey, crest;C2;;12\r\n" +
	"FC 23-001;zebra;1.0;02/03/2023;;FC 19-077;body=fawn;C1;<b>Pip</b>;\r\n" +
	"FC 23-002;Taeniopygia guttata;F;03/03/2023;;;;c1;\"Miss; \"\"Grey\"\"\";\r\n" +
	";gouldian;?;;;;;;Nobody;\r\n"

func TestImport_BirdsTable(t *testing.T) {
	room := season(t)
	p := brought(t, room, options(), "\ufeff"+keepersTable)
	young, cock, hen, old := wearer(t, room, "FC 25-003"), wearer(t, room, "FC 23-001"), wearer(t, room, "FC 23-002"), wearer(t, room, "FC 19-077")
	if l := room.Parents(young.ID); l.Sire != cock.ID || l.Dam != hen.ID {
		t.Errorf("parents = %+v, want %v and %v", l, cock.ID, hen.ID)
	}
	if old.Sex != aviary.Hen || old.Species != "zebra" || room.Parents(cock.ID).Dam != old.ID {
		t.Errorf("the parent without a row is %+v, want a zebra hen, mother of FC 23-001", old)
	}
	if got, want := young.Hatched, aviary.MustDate("2025-04-13"); got != want {
		t.Errorf("hatched %v, want %v", got, want)
	}
	if got, want := cock.Hatched, aviary.MustDate("2023-03-02"); got != want {
		t.Errorf("hatched %v, want %v: the column shows that the day stands first", got, want)
	}
	if young.Acquired != young.Hatched || old.Acquired != today {
		t.Errorf("in the books from %v and %v, want the hatch %v and the day of the import", young.Acquired, old.Acquired, young.Hatched)
	}
	if cock.Name != "<b>Pip</b>" || hen.Name != `Miss; "Grey"` || cock.Sex != aviary.Cock || young.Sex != "" {
		t.Errorf("names or sexes = %q, %q, %q, %q", cock.Name, hen.Name, cock.Sex, young.Sex)
	}
	if len(young.Looks) != 2 || young.Looks[1].Look != "crest" || cock.Looks[0] != (aviary.SeenLook{Day: cock.Acquired, Trait: "body", Look: "fawn"}) {
		t.Errorf("looks = %+v and %+v", young.Looks, cock.Looks)
	}
	c1 := room.PlaceNamed("C1")
	if c1 == nil || c1.Type != aviary.Cage || len(room.In(c1.ID)) != 2 || room.PlaceNamed("C2") == nil {
		t.Fatalf("C1 = %+v, want a new cage with the pair in it", c1)
	}
	if got, want := cock.Stays, []aviary.Stay{{Place: c1.ID, From: today}}; !slices.Equal(got, want) {
		t.Errorf("stays = %+v, want in C1 from the day of the import: where it was before is not known", got)
	}
	if len(p.Rows) != 4 || p.Rows[0].Line != 2 || !strings.Contains(p.Rows[0].Does, "FC 25-003, zebra, hatched 13 Apr 2025, father FC 23-001, mother FC 23-002, in C2 (a new cage)") {
		t.Errorf("preview = %+v", p.Rows)
	}
	if !strings.Contains(p.Rows[1].Does, "mother FC 19-077 (who has no row and is added too)") {
		t.Errorf("preview of the second row = %q", p.Rows[1].Does)
	}
	if got := strings.Join(p.Notes, "\n"); !strings.Contains(got, "“Price”") || !strings.Contains(got, "day first, as line 2 shows") {
		t.Errorf("notes = %q", got)
	}
	// One batch, one strike.
	strike := &aviary.Entry{ID: counter(1 << 24)(), Kind: "strike", Version: 1, Day: today, Written: time.Date(2026, 6, 30, 13, 0, 0, 0, time.UTC), By: "Ann", Strikes: p.Batches[0], Body: &aviary.Strike{}}
	if err := room.Admit([]*aviary.Entry{strike}, today, func() error { return nil }); err != nil {
		t.Fatal(err)
	}
	if room.PlaceNamed("C1") != nil || room.Bird(cock.ID) != nil || len(room.Aside()) > 0 {
		t.Error("striking the import leaves something of it in the books")
	}
}

func TestImport_PastedFromASpreadsheet(t *testing.T) {
	room := aviary.NewRoom()
	brought(t, room, options(), "name\tcage\tring\tspecies\tsex\n\"two\nlines\"\tA1\u00a0\tFC 25-001\tzebra\tM\nplain \"quote\"\tA1\tFC 25-002\tzebra\tF\n\n")
	if got := wearer(t, room, "FC 25-001").Name; got != "two\nlines" {
		t.Errorf("name = %q", got)
	}
	if got := wearer(t, room, "FC 25-002").Name; got != `plain "quote"` {
		t.Errorf("name = %q", got)
	}
	if got := len(room.In(room.PlaceNamed("A1").ID)); got != 2 {
		t.Errorf("%d birds in A1, want 2", got)
	}
}

func TestImport_KnownBirds(t *testing.T) {
	room := season(t)
	text := "ring,sex,hatched,sire,dam,species\nFC 24-001,M,2024-03-01,,,zebra\nFC 26-010,F,2026-03-01,FC 24-001,FC 24-002,zebra\n"
	p := plan(t, room, options(), text)
	if got := strings.Join(p.Sentences(), "\n"); got != "birds.csv, line 2, column “ring”: a bird with the ring FC 24-001 is in the books already; take the row out, or have known birds skipped." {
		t.Errorf("sentences = %s", got)
	}
	opt := options()
	opt.SkipKnown = true
	before := len(room.Birds())
	p = brought(t, room, opt, text)
	if p.Known != 1 || len(room.Birds()) != before+1 {
		t.Errorf("known = %d, birds %d more; want 1 and 1", p.Known, len(room.Birds())-before)
	}
	if l := room.Parents(wearer(t, room, "FC 26-010").ID); l.Sire != wearer(t, room, "FC 24-001").ID || l.Dam != wearer(t, room, "FC 24-002").ID {
		t.Errorf("parents = %+v, want the two birds in the books", l)
	}
}

// TestImport_DaysAreNeverGuessed lists columns of days with what is read, or asked.
func TestImport_DaysAreNeverGuessed(t *testing.T) {
	yes, no := true, false
	for _, x := range []struct {
		days     []string
		dayFirst *bool
		want     string // days, or part of a sentence
		ask      bool
	}{
		{[]string{"2025-04-03", "2025/4/3", "3 Apr 2025", "April 3, 2025", "2025-04-03 00:00:00"}, nil, "2025-04-03 2025-04-03 2025-04-03 2025-04-03 2025-04-03", false},
		{[]string{"13.01.2026", "03.04.2025"}, nil, "2026-01-13 2025-04-03", false},
		{[]string{"13/01/2026", "3/4/2025"}, nil, "2026-01-13 2025-04-03", false},
		{[]string{"01/13/2026", "3/4/2025"}, nil, "2026-01-13 2025-03-04", false},
		{[]string{"05/05/2025"}, nil, "2025-05-05", false},
		{[]string{"13/01/2026", "01/14/2026"}, nil, "2026-01-13 2026-01-14", false},
		{[]string{"03/04/2025", "05/05/2025"}, nil, "line 2, column “Hatched”: “03/04/2025” may be read with the day or the month first; say which", true},
		{[]string{"03.04.2025"}, nil, "may be read with the day or the month first", true},
		{[]string{"03/04/2025"}, &yes, "2025-04-03", false},
		{[]string{"03/04/2025"}, &no, "2025-03-04", false},
		{[]string{"13/01/2026", "01/14/2026", "03/04/2025"}, nil, "the column shows both (lines 2 and 3)", false},
		{[]string{"01/14/2026"}, &yes, "“01/14/2026” is no day with the day first", false},
		{[]string{"31.02.2025"}, nil, "there is no day “31.02.2025” in the calendar", false},
		{[]string{"2025-02-29"}, nil, "there is no day “2025-02-29” in the calendar", false},
		{[]string{"31/31/2025"}, nil, "there is no day “31/31/2025” in the calendar", false},
		{[]string{"13.01.26"}, nil, "has two digits; write four", false},
		{[]string{"45000"}, nil, "“45000” is not a day; write it as 2026-01-13", false},
		{[]string{"1825-02-01"}, nil, "outside 1900 to 2199", false},
		{[]string{"2026-07-01"}, nil, "1 Jul 2026 has not come yet (the birds are brought in on 30 Jun 2026)", false},
	} {
		opt := options()
		opt.DayFirst = x.dayFirst
		text := "Ring,Hatched,species\n"
		for i, d := range x.days {
			text += fmt.Sprintf("%d,%q,zebra\n", i+1, d)
		}
		p := plan(t, aviary.NewRoom(), opt, text)
		got := strings.Join(p.Sentences(), "\n")
		if p.OK() {
			var days []string
			for _, e := range p.Entries {
				if b, ok := e.Body.(*aviary.BirdAcquired); ok {
					days = append(days, b.Hatched.String())
				}
			}
			got = strings.Join(days, " ")
		}
		if !strings.Contains(got, x.want) || (p.OK() && got != x.want) || p.AskDayOrder != x.ask {
			t.Errorf("%v: got %q, ask %v; want %q, ask %v", x.days, got, p.AskDayOrder, x.want, x.ask)
		}
	}
}

// TestImport_Refusals lists tables that are refused, with the sentence. Nothing is given to write.
func TestImport_Refusals(t *testing.T) {
	for name, x := range map[string]struct{ table, want string }{
		"empty":                           {" \n ", "birds.csv: there is nothing in it; a table has a header row and a row for each bird."},
		"header alone":                    {"ring,species\n", "birds.csv: there is no bird under the header."},
		"no header":                       {"FC 25-001,zebra\nFC 25-002,zebra\n", "birds.csv, line 1: no column is called ring; the first row names the columns"},
		"two rings":                       {"id,ring,species\n1,FC 25-001,zebra\n", "birds.csv, line 1, column “ring”: two columns say the same thing, “id” and this one; take one of them out."},
		"ragged, short":                   {"ring,species\nFC 25-001\n", "birds.csv, line 2: this row has 1 cell and the header has 2; look for a separator too many or too few."},
		"ragged, long":                    {"ring,species\nFC 25-001,zebra,\nFC 25-002,zebra,x\n", "birds.csv, line 3: this row has 3 cells and the header has 2"},
		"unclosed":                        {"ring,species\n\nFC 25-001,\"zebra\nFC 25-002,zebra\n", "birds.csv, line 3: a quotation mark is opened here and never closed"},
		"after quote":                     {"ring,species\nFC 25-001,\"zebra\"x\n", "birds.csv, line 2: there is something behind a closing quotation mark"},
		"line after newlines":             {"ring,name,species\r\nFC 25-001,\"a\r\nb\",zebra\r\nFC 25-002,,canary\r\n", "birds.csv, line 4, column “species”: No species here is called “canary”. Did you mean Zebra finch?"},
		"zero byte":                       {"ring,species\nFC 25-001,zeb\x00ra\n", "birds.csv, line 2: there is a zero byte in this line"},
		"utf-16, marked":                  {"\xff\xfer\x00i\x00", "birds.csv: the file is written in UTF-16"},
		"utf-16":                          {"r\x00i\x00n\x00g\x00\n\x00", "birds.csv: the file is written in UTF-16"},
		"latin-1":                         {"ring,name\nFC 25-001,Ren\xe9e\n", "birds.csv, line 2: a letter in this line cannot be read; save the table again as “CSV UTF-8”."},
		"no species":                      {"ring\nFC 25-001\n", "birds.csv, line 2: say which species it is, in a column or for the whole table."},
		"sex":                             {"ring,species,sex\nFC 25-001,zebra,both\n", "birds.csv, line 2, column “sex”: “both” is not a sex; write cock, hen, or leave it empty."},
		"ring twice":                      {"ring,species\nFC 25-001,zebra\nFC 2025-001,zebra\n", "birds.csv, line 3, column “ring”: line 2 has the ring FC 25-001 too; one ring is on one bird."},
		"ring below nothing":              {"ring,species\n-5,zebra\n", "birds.csv, line 2, column “ring”: “-5” is not a ring"},
		"ring of signs":                   {"ring,species\n***,zebra\n", "birds.csv, line 2, column “ring”: “***” is not a ring"},
		"ring year":                       {"ring,species\nFC 1825-001,zebra\n", "birds.csv, line 2, column “ring”: the ring year 1825 is outside 1950 to 2199."},
		"ring too long":                   {"ring,species\n1234567890123456789012345,zebra\n", "birds.csv, line 2, column “ring”: a ring's issuer and number have at most 24 letters each."},
		"ring a number":                   {"ring,species\n2.5E+10,zebra\n", "birds.csv, line 2, column “ring”: a spreadsheet has made a number of the ring (“2.5E+10”)"},
		"sheet's mistake":                 {"ring,species,cage\nFC 25-001,zebra,#REF!\n", "birds.csv, line 2, column “cage”: “#REF!” is a spreadsheet's sign for a mistake"},
		"cage too long":                   {"ring,species,cage\nFC 25-001,zebra,a cage with far too long a name\n", "birds.csv, line 2, column “cage”: the text has 31 letters; at most 24 fit."},
		"name too long":                   {"ring,species,name\nFC 25-001,zebra," + strings.Repeat("x", 121) + "\n", "birds.csv, line 2, column “name”: the text has 121 letters; at most 120 fit."},
		"own parent":                      {"id,sire,dam,sex,species\n1,1,,M,zebra\n", "birds.csv, line 2, column “sire”: 1 is named as its own parent."},
		"both parents":                    {"id,sire,dam,sex,species\n1,2,2,M,zebra\n", "birds.csv, line 2, column “dam”: 2 is named as father and as mother; one bird cannot be both."},
		"both roles":                      {"id,sire,dam,sex,species\n1,2,,M,zebra\n3,,2,M,zebra\n", "birds.csv, line 3, column “dam”: 2 is named as mother here and as father on line 2; one bird cannot be both."},
		"hen as sire":                     {"id,sire,dam,sex,species\n1,2,,M,zebra\n2,,,F,zebra\n", "birds.csv, line 2, column “sire”: 2 is a hen (line 3); a hen cannot be a father."},
		"cock as dam":                     {"id,sire,dam,sex,species\n1,,2,M,zebra\n2,,,M,zebra\n", "birds.csv, line 2, column “dam”: 2 is a cock (line 3); a cock cannot be a mother."},
		"loop":                            {"id,sire,dam,sex,species\n1,3,,M,zebra\n2,1,,M,zebra\n3,2,,M,zebra\n", "birds.csv, line 3, column “sire”: 2 would be an ancestor of itself, by way of 1 (line 2), 3 (line 4), 2 (line 3); one of these parents is wrong."},
		"younger parent":                  {"ring,sire,hatched,species\n1,2,2025-01-01,zebra\n2,,2025-01-01,zebra\n", "birds.csv, line 2, column “sire”: the father 2 hatched on 1 Jan 2025 (line 3), not before its young (1 Jan 2025); look at both days."},
		"known hen as sire":               {"ring,sire,species\n1,FC 24-002,zebra\n", "birds.csv, line 2, column “sire”: FC 24-002 is a hen; a hen cannot be a father."},
		"parent with a letter of control": {"ring,name,species\n1,a\x01b,zebra\n", "birds.csv, line 2, column “name”: the text has letters that cannot be read; type it again."},
	} {
		room := season(t)
		digest := room.Digest()
		p := plan(t, room, options(), x.table)
		got := p.Sentences()
		if p.OK() || len(got) != 1 || !strings.HasPrefix(got[0], x.want) {
			t.Errorf("%s: got %q, want one sentence: %q", name, got, x.want)
		}
		if p.Entries != nil || p.Batches != nil || room.Digest() != digest {
			t.Errorf("%s: refused, and yet something would be written or was changed", name)
		}
	}
}

func TestImport_SaysEverythingThatIsWrongAtOnce(t *testing.T) {
	p := plan(t, aviary.NewRoom(), options(), "ring,species,sex,hatched\nFC 25-001,zebra,x,2025-02-30\nFC 25-001,canary,cock,\nFC 25-003\n")
	want := []string{"line 2, column “sex”", "line 2, column “hatched”", "line 3, column “species”", "line 3, column “ring”", "line 4: "}
	got := p.Sentences()
	if len(got) != len(want) {
		t.Fatalf("got %d sentences: %q", len(got), got)
	}
	for i := range want {
		if !strings.Contains(got[i], want[i]) {
			t.Errorf("sentence %d = %q, want %q in it", i, got[i], want[i])
		}
	}
}

// endless is a table without end that counts how much of it was read.
type endless struct {
	head string
	read int
}

func (e *endless) Read(b []byte) (int, error) {
	n := copy(b, e.head)
	e.head = e.head[n:]
	for i := n; i < len(b); i++ {
		b[i] = 'x'
	}
	e.read += len(b)
	return len(b), nil
}

func TestImport_LargeTableIsRefusedUnread(t *testing.T) {
	e := &endless{head: "ring,species\n"}
	p, err := Import(aviary.NewRoom(), []Input{{"big.csv", e}}, options())
	if err != nil {
		t.Fatal(err)
	}
	if got := p.Sentences(); len(got) != 1 || !strings.HasPrefix(got[0], "big.csv: the table is larger than 10 MB") {
		t.Errorf("got %q", got)
	}
	if e.read > 2*MaxBytes+1<<20 {
		t.Errorf("%d bytes were read of a table of which %d are too many", e.read, MaxBytes)
	}
	p = plan(t, aviary.NewRoom(), options(), "ring,species\n"+strings.Repeat("1,zebra\n", MaxRows+1))
	if got := p.Sentences(); len(got) != 1 || !strings.HasPrefix(got[0], "birds.csv: there are more than 50000 rows") {
		t.Errorf("got %d sentences, first %q", len(got), got[0])
	}
	p = plan(t, aviary.NewRoom(), options(), "ring,species\n"+strings.Repeat("1\n", MaxRows))
	if got := p.Sentences(); len(got) > maxProblems+1 || p.Entries != nil {
		t.Errorf("%d sentences about one table, want at most %d", len(got), maxProblems+1)
	}
}

// TestImport_TenThousandBirds holds that a large table with deep ancestry, its rows upside down, goes through.
func TestImport_TenThousandBirds(t *testing.T) {
	const n = 10_000
	var lines []string
	for i := range n {
		sire, dam := "", ""
		if i >= 2 {
			sire, dam = fmt.Sprint(i-2-i%2), fmt.Sprint(i-1-i%2)
		}
		lines = append(lines, fmt.Sprintf("%d,%s,%s,%c", i, sire, dam, "MF"[i%2]))
	}
	slices.Reverse(lines)
	opt := options()
	opt.Species = "zebra"
	room := aviary.NewRoom()
	brought(t, room, opt, "id,sire,dam,sex\n"+strings.Join(lines, "\n"))
	if l := room.Parents(wearer(t, room, "9999").ID); l.Sire != wearer(t, room, "9996").ID || l.Dam != wearer(t, room, "9997").ID {
		t.Errorf("parents of the last = %+v", l)
	}
	if l := room.Parents(wearer(t, room, "2").ID); l.Sire != wearer(t, room, "0").ID {
		t.Error("a parent called 0 that has a row is not found")
	}
}

func TestImport_SeveralTables(t *testing.T) {
	room := aviary.NewRoom()
	p, err := Import(room, []Input{
		{"old.csv", strings.NewReader("ring,species,cage\n1,zebra,A1\n")},
		{"young.csv", strings.NewReader("ring,species,sire,cage\n2,zebra,1,A1\n")},
	}, options())
	if err != nil || !p.OK() || len(p.Batches) != 2 {
		t.Fatalf("%v %v", err, p.Sentences())
	}
	if err := room.Admit(p.Entries, today, func() error { return nil }); err != nil {
		t.Fatal(err)
	}
	if room.Parents(wearer(t, room, "2").ID).Sire != wearer(t, room, "1").ID || len(room.In(room.PlaceNamed("A1").ID)) != 2 {
		t.Error("the second table does not find what the first one brings in")
	}
	p, err = Import(room, []Input{{"note.csv", strings.NewReader(exported(t, room.Entries())["note.csv"])}, {"b.csv", strings.NewReader("ring\n1\n")}}, options())
	if err != nil || p.OK() || !strings.Contains(p.Sentences()[0], "one after the other") {
		t.Errorf("a mixture: %v %v", err, p.Sentences())
	}
}

func TestImport_RoomSaysNo(t *testing.T) {
	room := season(t)
	blocked := &aviary.Entry{ID: aviary.ID{9}, Kind: "place_changed", Version: 1, Day: today, Written: time.Date(2026, 6, 30, 0, 0, 0, 0, time.UTC), Body: &aviary.PlaceChanged{Place: room.PlaceNamed("A6").ID, BlockedUntil: ptr(today + 9)}}
	if err := room.Admit([]*aviary.Entry{blocked}, today, func() error { return nil }); err != nil {
		t.Fatal(err)
	}
	p := plan(t, room, options(), "ring,species,cage,hatched\n1,zebra,A6,\n2,zebra,A6,2025-01-01\n3,zebra,A5,2025-01-01\n")
	got := p.Sentences()
	if len(got) != 2 || !strings.HasPrefix(got[0], "birds.csv, line 2, column “cage”: A6 is closed until 9 Jul 2026") || !strings.HasPrefix(got[1], "birds.csv, line 3, column “cage”") || p.Entries != nil {
		t.Errorf("got %q", got)
	}
	opt := options()
	opt.Day = today + 1
	if got := plan(t, room, opt, "ring\n1\n").Sentences(); len(got) != 1 || !strings.Contains(got[0], "1 Jul 2026 has not come yet") {
		t.Errorf("got %q", got)
	}
}

// A list of birds may name a cage that was hung earlier on the same day.
func TestImport_CagesOfTheSameDay(t *testing.T) {
	room := aviary.NewRoom()
	hung := &aviary.Entry{
		ID: counter(1)(), Kind: "place_added", Version: 1, Day: today, Time: aviary.ClockOf(9, 0), Written: time.Date(2026, 6, 30, 9, 0, 0, 0, time.UTC), By: "Ann",
		Body: &aviary.PlaceAdded{Place: counter(50)(), Name: "A1", Type: aviary.Cage},
	}
	if err := room.Admit([]*aviary.Entry{hung}, today, func() error { return nil }); err != nil {
		t.Fatal(err)
	}
	opt := options()
	opt.Time = aviary.ClockOf(12, 0)
	brought(t, room, opt, "ring,species,sex,cage\nFC 24-031,zebra,cock,A1\n")
	if b := wearer(t, room, "FC 24-031"); b.Place() != hung.Body.(*aviary.PlaceAdded).Place {
		t.Errorf("the bird is in %v, not in A1", b.Place())
	}
}
