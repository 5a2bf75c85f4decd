package exchange

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"broodlight/internal/aviary"
)

var today = aviary.MustDate("2026-06-30")

// tester is what *testing.T, *testing.F and *rapid.T have in common.
type tester interface {
	Helper()
	Fatalf(format string, args ...any)
}

// exported is what Export writes, by file.
func exported(tb tester, entries []*aviary.Entry) map[string]string {
	tb.Helper()
	files := map[string]*bytes.Buffer{}
	err := Export(func(name string) (io.Writer, error) {
		files[name] = &bytes.Buffer{}
		return files[name], nil
	}, entries)
	if err != nil {
		tb.Fatalf("export: %v", err)
	}
	out := map[string]string{}
	for name, b := range files {
		out[name] = b.String()
	}
	return out
}

// reimported reads exported files into an empty room and returns the plan.
func reimported(tb tester, files map[string]string) *Plan {
	tb.Helper()
	var in []Input
	for _, name := range slices.Sorted(maps.Keys(files)) {
		in = append(in, Input{Name: name, Data: strings.NewReader(files[name])})
	}
	p, err := Import(aviary.NewRoom(), in, Options{Today: today})
	if err != nil {
		tb.Fatalf("import: %v", err)
	}
	return p
}

// wantSame holds that exporting, importing into an empty room and exporting again gives the same bytes.
func wantSame(tb tester, entries []*aviary.Entry) {
	tb.Helper()
	first := exported(tb, entries)
	p := reimported(tb, first)
	if !p.OK() {
		tb.Fatalf("the files that were written are refused: %s", strings.Join(p.Sentences(), "\n"))
	}
	if !p.Own || len(p.Batches) > 0 {
		tb.Fatalf("own files: own = %v with batches %v, want true and none", p.Own, p.Batches)
	}
	if len(p.Entries) != len(entries) {
		tb.Fatalf("%d entries come back, want the %d that were written", len(p.Entries), len(entries))
	}
	by := map[aviary.ID]*aviary.Entry{}
	for _, e := range entries {
		by[e.ID] = e
	}
	for _, e := range p.Entries {
		want := by[e.ID]
		if want == nil || !sameEntry(e, want) {
			tb.Fatalf("entry %s comes back as %+v %+v, want %+v", e.ID, e, e.Body, want)
		}
	}
	if diff := cmp.Diff(first, exported(tb, p.Entries)); diff != "" {
		tb.Fatalf("the second export differs (-first +second):\n%s", diff)
	}
}

// ---- random entries of every kind ----

func genID(t *rapid.T) aviary.ID {
	var id aviary.ID
	copy(id[:], rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "id"))
	id[6], id[8] = id[6]&0x0f|0x70, id[8]&0x3f|0x80
	return id
}

// letters are those that a table trips over, among plain ones.
var letters = []rune("aZ09 \",;\\\n\r\t'=+-@<>&\u00a0\ufeffé日🐦♂")

func genText(t *rapid.T, most int) string {
	return rapid.StringOfN(rapid.SampledFrom(letters), 0, most, -1).Draw(t, "text")
}

func genDay(t *rapid.T, from, to string) aviary.Date {
	return aviary.Date(rapid.Int32Range(int32(aviary.MustDate(from)), int32(aviary.MustDate(to))).Draw(t, "day"))
}

// words are the columns that take only certain words.
var words = map[string][]string{
	"type": {"cage", "flight", "aviary", "quarantine", "hospital"}, "look": aviary.LookAnswers, "gone_eggs_why": aviary.GoneWhys, "gone_chicks_why": aviary.GoneWhys,
	"mass_unit": {"g", "oz"}, "volume_unit": {"ml", "tsp", "oz"}, "length_unit": {"mm", "in"}, "temperature_unit": {"C", "F"}, "zone": {"Europe/Dublin", "Australia/Sydney"},
	"season_start": {"08-01", ""}, "ring_year_start": {"01-01"}, "lull_from": {"11-15", ""}, "lull_to": {"02-28"}, "sex": {"cock", "hen"},
	"unit": {"ml", "g", "tsp"}, "signs": aviary.Signs, "candled": {"clear", "7:fertile", "r,d:early dead", "dead in shell"},
	"bird_left how": aviary.LeftHows, "bird_ringed how": {"new", "replaced", "read"}, "odd_seen what": aviary.OddThings, "food": {"seed", "egg food"},
	"inherited": {"recessive", "dominant"}, "single": {""}, "locus": {"blue-back"}, "lethality": aviary.Lethalities, "with_locus": {""},
	"rule":  aviary.PairRules,
	"moves": aviary.LampMoves, "clock_changes": aviary.ClockChanges, "windows": aviary.WindowLight, "phase": aviary.BegunPhases,
}

func genValue(t *rapid.T, kind aviary.Kind, f field, v reflect.Value, optional bool) {
	switch p := v.Addr().Interface().(type) {
	case *aviary.ID:
		if !optional || rapid.Bool().Draw(t, "there") {
			*p = genID(t)
		}
		return
	case *aviary.Date:
		if !optional || rapid.Bool().Draw(t, "there") {
			*p = genDay(t, "1990-01-01", "2024-12-31")
		}
		return
	case *aviary.Clock:
		*p = aviary.ClockOf(rapid.IntRange(0, 23).Draw(t, "hour"), rapid.IntRange(0, 59).Draw(t, "minute"))
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if rapid.Bool().Draw(t, "there") {
			v.Set(reflect.New(v.Type().Elem()))
			genValue(t, kind, f, v.Elem(), true)
		}
	case reflect.Slice:
		n := rapid.IntRange(0, 3).Draw(t, "n")
		if n > 0 {
			v.Set(reflect.MakeSlice(v.Type(), n, n))
		}
		for i := range n {
			genValue(t, kind, f, v.Index(i), false)
			if s := v.Index(i); s.Kind() == reflect.String {
				s.SetString(strings.ReplaceAll(s.String(), ";", ""))
			}
		}
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, "bool"))
	case reflect.Float64:
		v.SetFloat(rapid.Float64Range(1, 20).Draw(t, "float"))
	case reflect.String:
		list := words[string(kind)+" "+f.name]
		if list == nil && !(kind == "look_seen" && f.name == "look") {
			list = words[f.name]
		}
		switch {
		case list != nil:
			v.SetString(rapid.SampledFrom(list).Draw(t, f.name))
		case strings.HasPrefix(f.name, "ring_"):
			v.SetString(genText(t, 6))
		default:
			v.SetString(genText(t, 20))
		}
		if list == nil && (!f.omit || kind == "place_changed") {
			v.SetString("x" + v.String())
		}
	default:
		switch f.name {
		case "ring_year":
			v.SetInt(int64(rapid.SampledFrom([]int{0, 1999, 2026}).Draw(t, "year")))
		case "digits":
			v.SetInt(int64(rapid.IntRange(0, 8).Draw(t, "int")))
		default:
			v.SetInt(int64(rapid.IntRange(0, 20).Draw(t, "int")))
		}
	}
}

func genEntry(t *rapid.T, info aviary.KindInfo) *aviary.Entry {
	e := &aviary.Entry{
		ID: genID(t), Kind: info.Kind, Version: info.Version, Day: genDay(t, "2025-01-01", "2026-06-30"),
		Written: time.UnixMilli(rapid.Int64Range(1735689600000, 1782777600000).Draw(t, "written")).UTC(), By: genText(t, 10), Why: genText(t, 20), Body: info.New(),
	}
	if rapid.Bool().Draw(t, "timed") {
		e.Time = aviary.ClockOf(rapid.IntRange(0, 23).Draw(t, "hour"), 7)
	}
	if rapid.Bool().Draw(t, "batched") {
		e.Batch = genID(t)
	}
	body := facts(e.Body)
	for _, f := range fieldsOf(info) {
		genValue(t, info.Kind, f, body.FieldByIndex(f.index), f.omit)
	}
	switch b := e.Body.(type) {
	case *aviary.Strike:
		e.Strikes = genID(t)
	case *aviary.SpeciesSet:
		if b.Clear = b.Low == nil && b.Typical == nil && b.High == nil; !b.Clear {
			b.High, b.Typical = nil, b.Low
		}
		b.Clear = b.Low == nil && b.Typical == nil && b.High == nil
	case *aviary.RingsListed:
		b.To += b.From
	case *aviary.OneDied:
		b.Birds = []aviary.ID{genID(t), genID(t), genID(t)}
	case *aviary.PairSet:
		b.Hens = append(b.Hens, genID(t))
	case *aviary.NestMoved:
		b.Eggs++
	case *aviary.YoungWeaned:
		b.Unringed++
		b.Group = genID(t)
	case *aviary.GroupFound:
		b.Count++
	case *aviary.LampSet:
		b.On, b.Off = aviary.ClockOf(6, 0), aviary.ClockOf(rapid.IntRange(12, 23).Draw(t, "off"), 30)
	case *aviary.PairRuled:
		b.Hen = genID(t)
	case *aviary.ColourSaid:
		b.Trust = nil
	case *aviary.ColourAssumed:
		b.Allele, b.Frequency, b.Recombination = b.Allele+"a", ptr(0.1), nil
	case *aviary.ColourAdded:
		b.Look, b.Plain = "a"+b.Look, "b"+b.Plain
	case *aviary.LampPlanned:
		b.FullBy, b.TaperFrom, b.RestBy = b.RampFrom+30, b.RampFrom+120, b.RampFrom+160
		b.Full, b.Step, b.Every = b.Rest+4, b.Step+1, b.Every+1
	case *aviary.FeedPlanned:
		b.Preparation, b.Conditioning = b.Rest, genDay(t, "2025-01-01", "2026-06-30")
	case *aviary.IntakeSeen:
		b.Places, b.Share = append(b.Places, genID(t)), b.Share/20
	case *aviary.GerminationTested:
		b.Seeds += b.Sprouted + 1
	case *aviary.SproutsPlanned:
		b.WakeFrom, b.WakeTo, b.Every = aviary.ClockOf(6, 0), aviary.ClockOf(22, 0), 1+b.Every%4
		b.DryML = nil
	case *aviary.AwaySet:
		b.From, b.To = min(b.From, b.To), max(b.From, b.To)
	case *aviary.BirdRinged:
		b.Number = "x" + b.Number
	}
	return e
}

func TestRoundTrip_EveryKind(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var entries []*aviary.Entry
		for _, info := range aviary.Kinds() {
			entries = append(entries, genEntry(t, info), genEntry(t, info))
		}
		wantSame(t, distinctIDs(entries))
	})
}

func distinctIDs(entries []*aviary.Entry) []*aviary.Entry {
	seen := map[aviary.ID]bool{}
	return slices.DeleteFunc(entries, func(e *aviary.Entry) bool {
		was := seen[e.ID]
		seen[e.ID] = true
		return was
	})
}

// ---- a room as it is kept ----

func ptr[T any](v T) *T { return &v }

// counter makes rising ids from a number on.
func counter(n uint32) func() aviary.ID {
	return func() aviary.ID {
		n++
		return aviary.ID{1, 0x97, 0xf3, 0xc2, byte(n >> 24), byte(n >> 16), 0x70 | byte(n>>12&0x0f), byte(n >> 4), 0x80 | byte(n&0x0f), 1, 2, 3, 4, 5, 6, 7}
	}
}

// season is a room of six cages with two broods, mistakes struck out, an import, and a note that no table likes.
func season(tb testing.TB) *aviary.Room {
	tb.Helper()
	room, id := aviary.NewRoom(), counter(0)
	at := time.Date(2026, 1, 2, 18, 0, 0, 0, time.UTC)
	write := func(day string, bodies ...aviary.Body) []*aviary.Entry {
		var list []*aviary.Entry
		batch := aviary.ID{}
		if len(bodies) > 1 {
			batch = id()
		}
		at = at.Add(123 * time.Millisecond)
		for _, b := range bodies {
			e := &aviary.Entry{ID: id(), Kind: b.Kind(), Version: 1, Day: aviary.MustDate(day), Written: at, By: "Ann", Batch: batch, Body: b}
			if s, ok := b.(*strikeOf); ok {
				e.Body, e.Strikes = &s.Strike, s.target
			}
			list = append(list, e)
		}
		if err := room.Admit(list, today, func() error { return nil }); err != nil {
			tb.Fatalf("%s: %v", day, err)
		}
		return list
	}
	write("2026-01-02", &aviary.RoomSet{Name: ptr("Back room"), Zone: ptr("Europe/Dublin"), Latitude: ptr(53.35), LullFrom: ptr("")})
	var cages []aviary.Body
	for i := range 6 {
		cages = append(cages, &aviary.PlaceAdded{Place: id(), Name: fmt.Sprintf("A%d", i+1), Type: aviary.Cage, Bank: "Bank, left \"wall\"", Row: 1 + i/3, Col: 1 + i%3})
	}
	write("2026-01-02", cages...)
	cage := func(i int) aviary.ID { return cages[i].(*aviary.PlaceAdded).Place }
	table := "ring,species,sex,hatched,cage,looks,name\r\nFC 24-001,zebra,cock,2024-03-01,A1,grey,\r\nFC 24-002,zebra,hen,2024-03-02,A1,\"fawn, crest\",\"Ó Briain's \"\"Pip\"\"\"\r\nFC 24-003,zebra,cock,,A2,,\r\nFC 24-004,zebra,hen,,New 1,,\r\n"
	p, err := Import(room, []Input{{"birds.csv", strings.NewReader(table)}}, Options{Today: today, Day: aviary.MustDate("2026-01-03"), By: "Ann", Written: at, NewID: id, FindSpecies: slugs})
	if err != nil || !p.OK() {
		tb.Fatalf("the birds are refused: %v %v", err, p.Sentences())
	}
	if err := room.Admit(p.Entries, today, func() error { return nil }); err != nil {
		tb.Fatal(err)
	}
	bird := func(ring string) aviary.ID {
		r, err := aviary.ParseRing(ring)
		if err != nil {
			tb.Fatal(err)
		}
		return room.Wearer(r).ID
	}
	pair, box := id(), id()
	write("2026-01-10", &aviary.PairSet{Pair: pair, Place: cage(0), Cocks: []aviary.ID{bird("FC 24-001")}, Hens: []aviary.ID{bird("FC 24-002")}}, &aviary.BoxHung{Box: box, Place: cage(0)})
	write("2026-01-14", &aviary.Note{Place: cage(0), Text: "two lines\r\nthe second; with \\ and \"quotes\"\n=1+1 🐦"})
	write("2026-01-20", &aviary.NestCheck{Place: cage(0), Eggs: ptr(2), Signs: []string{"singing", "at the nest"}})
	wrong := write("2026-01-22", &aviary.NestCheck{Place: cage(0), Eggs: ptr(14)})
	write("2026-01-22", &strikeOf{target: wrong[0].ID, Strike: aviary.Strike{Reason: "a slip of the thumb"}}, &aviary.NestCheck{Place: cage(0), Eggs: ptr(4)})
	write("2026-01-30", &aviary.NestCheck{Place: cage(0), Eggs: ptr(5), Candled: []string{"fertile", "fertile", "clear", "red:fertile", "early dead"}})
	write("2026-02-06", &aviary.NestCheck{Place: cage(0), Eggs: ptr(2), Chicks: ptr(3), ChicksAtLeast: true})
	chick := id()
	write("2026-02-14", &aviary.ChickRinged{Bird: chick, Place: cage(0), Species: "zebra", Ring: aviary.Ring{Issuer: "FC", Year: 2026, Number: "001"}, Hatched: aviary.MustDate("2026-02-05"), HatchedAbout: ptr(0), RingSize: ptr(2.7)})
	write("2026-03-12", &aviary.YoungWeaned{Place: cage(0), Birds: []aviary.ID{chick}, Unringed: 2, Group: id(), Species: "zebra", To: cage(3), Left: ptr(0)})
	write("2026-03-13", &aviary.PlaceChanged{Place: cage(4), Bank: ptr(""), Outdoor: ptr(false), BlockedUntil: ptr(aviary.Date(0))})
	write("2026-03-14", &aviary.BirdWeighed{Bird: chick, Grams: 14.35})
	write("2026-03-20", &aviary.BirdDied{Bird: bird("FC 24-003"), Cause: "egg bound? <b>no</b>"})
	return room
}

// strikeOf is a strike with what it strikes.
type strikeOf struct {
	aviary.Strike
	target aviary.ID
}

func TestRoundTrip_RoomAsItIsKept(t *testing.T) {
	room := season(t)
	wantSame(t, room.Entries())
	p := reimported(t, exported(t, room.Entries()))
	again := aviary.NewRoom()
	if err := again.Admit(p.Entries, today, func() error { return nil }); err != nil {
		t.Fatalf("in the order in which they were written the entries are refused: %v", err)
	}
	if got, want := again.Digest(), room.Digest(); got != want {
		t.Errorf("the room that comes back says something else")
	}
	if again.Struck(p.Entries[0].ID) {
		t.Error("the first entry came back struck out")
	}
}

func TestExport_NoteIsOneCell(t *testing.T) {
	files := exported(t, season(t).Entries())
	want := "\"two lines\r\nthe second; with \\ and \"\"quotes\"\"\n=1+1 🐦\"\r\n"
	if !strings.HasSuffix(files["note.csv"], want) {
		t.Errorf("note.csv ends %q, want %q", files["note.csv"], want)
	}
	if got, want := files["place_changed.csv"], `,"""""",`; !strings.Contains(got, want) || !strings.HasSuffix(got, "false,\"\"\"\"\"\"\r\n") {
		t.Errorf("place_changed.csv = %q, want a bank and a closing day that are there but empty", got)
	}
	for name, text := range files {
		if !strings.HasSuffix(text, "\r\n") || strings.HasPrefix(text, "\ufeff") {
			t.Errorf("%s does not end a row with CRLF, or begins with a mark", name)
		}
	}
}

func TestExportDir_MakesTheFolderAndReplaces(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out", "facts")
	room := season(t)
	for range 2 {
		if err := ExportDir(dir, room.Entries()); err != nil {
			t.Fatal(err)
		}
	}
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(list), len(aviary.Kinds())+1; got != want {
		t.Errorf("%d files, want one a kind and %s: %d", got, ColumnsFile, want)
	}
	for name, want := range exported(t, room.Entries()) {
		if got, err := os.ReadFile(filepath.Join(dir, name)); err != nil || string(got) != want {
			t.Errorf("%s: %v, or its bytes differ", name, err)
		}
	}
}

func TestExportDir_SaysWhyItCannot(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := ExportDir(file, nil); err == nil {
		t.Error("exporting into a file succeeded")
	}
	full := errors.New("disk full")
	if err := Export(func(string) (io.Writer, error) { return nil, full }, nil); !errors.Is(err, full) {
		t.Errorf("error = %v, want %v", err, full)
	}
}

func TestExport_OrderOfEntriesDoesNotMatter(t *testing.T) {
	list := season(t).Entries()
	want := exported(t, list)
	slices.Reverse(list)
	if diff := cmp.Diff(want, exported(t, append(list, nil))); diff != "" {
		t.Errorf("the export depends on the order of the entries:\n%s", diff)
	}
}

// TestColumns_NamesAreDistinctAndSaid holds what every file promises: no column twice, each with a meaning.
func TestColumns_NamesAreDistinctAndSaid(t *testing.T) {
	for _, info := range aviary.Kinds() {
		seen := map[string]bool{}
		for _, c := range Columns(info.Kind) {
			if seen[c.Name] {
				t.Errorf("%s has the column %s twice", info.Kind, c.Name)
			}
			if c.Meaning == "" {
				t.Errorf("%s: nothing says what %s means", info.Kind, c.Name)
			}
			seen[c.Name] = true
		}
	}
	if Columns("no_such_kind") != nil {
		t.Error("a kind that does not exist has columns")
	}
}

// TestCells_RoundTrip holds cells that look alike apart, the odd ones by hand.
func TestCells_RoundTrip(t *testing.T) {
	tenth := 0.1
	type all struct {
		P  *string
		N  *int
		B  *bool
		D  *aviary.Date
		S  string
		L  []string
		I  []aviary.ID
		F  float64
		Fp *float64
	}
	rows := []struct {
		v     all
		cells string
	}{
		{all{}, "||||||||"},
		{all{P: ptr("")}, `""||||||||`},
		{all{P: ptr(`"`)}, `"""||||||||`},
		{all{P: ptr(`""`)}, `""""||||||||`},
		{all{P: ptr(`a"`), S: `""`}, `a"||||""||||`},
		{all{N: ptr(0), B: ptr(false), D: ptr(aviary.Date(0))}, `|0|false|""|||||`},
		{all{L: []string{""}}, `|||||""|||`},
		{all{L: []string{"", ""}}, `|||||;|||`},
		{all{L: []string{`"`, `a;b`, `\`, `c\;`}}, `|||||";a\;b;\\;c\\\;|||`},
		{all{L: []string{`"`}}, `|||||"""|||`},
		{all{F: tenth + 0.2, Fp: ptr(1e-9)}, `|||||||0.30000000000000004|1e-09`},
		{all{F: 1e6, Fp: ptr(0.0)}, `|||||||1000000|0`},
		{all{F: 1e22}, `|||||||1e+22|`},
	}
	for _, r := range rows {
		v := reflect.ValueOf(&r.v).Elem()
		var got []string
		back := all{}
		b := reflect.ValueOf(&back).Elem()
		for i := range v.NumField() {
			cell, err := encodeCell(v.Field(i), true)
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, cell)
			if err := decodeCell(b.Field(i), cell); err != nil {
				t.Errorf("%q is not read back: %v", cell, err)
			}
		}
		if s := strings.Join(got, "|"); s != r.cells {
			t.Errorf("cells = %s, want %s", s, r.cells)
		}
		if diff := cmp.Diff(r.v, back); diff != "" {
			t.Errorf("%s comes back changed:\n%s", r.cells, diff)
		}
	}
}

func TestCells_WhatNoCellHolds(t *testing.T) {
	var f float64
	v := reflect.ValueOf(&f).Elem()
	zero := 0.0
	f = 1 / zero
	if _, err := encodeCell(v, false); err == nil {
		t.Error("an endless number was written")
	}
	if fitsCell(reflect.TypeFor[map[string]int]()) || fitsCell(reflect.TypeFor[[][]string]()) || fitsCell(reflect.TypeFor[complex64]()) {
		t.Error("a map, a list of lists or a complex number is said to fit a cell")
	}
}

// TestExport_RowsInOrderOfHappening holds the rows of a file against the order in which a room keeps its entries.
func TestExport_RowsInOrderOfHappening(t *testing.T) {
	var entries []*aviary.Entry
	at := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for i, e := range []struct {
		day     aviary.Date
		time    aviary.Clock
		written time.Duration
	}{{today, aviary.ClockOf(9, 0), 0}, {today, aviary.ClockOf(8, 0), 5}, {today, 0, 9}, {today - 1, aviary.ClockOf(20, 0), 7}, {today, 0, 8}, {today, 0, 8}} {
		entries = append(entries, &aviary.Entry{ID: aviary.ID{byte(9 - i)}, Kind: "note", Version: 1, Day: e.day, Time: e.time, Written: at.Add(e.written * time.Second), Body: &aviary.Note{Text: "x"}})
	}
	var want []string
	for _, e := range aviary.Replay(entries).Entries() {
		want = append(want, e.ID.String())
	}
	var got []string
	for _, row := range strings.Split(exported(t, entries)["note.csv"], "\r\n")[1:] {
		if id, _, ok := strings.Cut(row, ","); ok {
			got = append(got, id)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("rows = %v, want %v", got, want)
	}
}
