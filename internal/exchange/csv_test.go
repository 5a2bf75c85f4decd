package exchange

import (
	"encoding/csv"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"broodlight/internal/aviary"
)

// read takes a whole text apart.
func read(text string, sep byte) (rows [][]string, err *rowError) {
	r := newRowReader(text, sep)
	for {
		row, ok, err := r.next()
		if err != nil || !ok {
			return rows, err
		}
		rows = append(rows, row.cells)
	}
}

// TestRows_ExamplesOfRFC4180 are the seven rules of RFC 4180, section 2.
func TestRows_ExamplesOfRFC4180(t *testing.T) {
	for text, want := range map[string][][]string{
		"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n":             {{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}},
		"aaa,bbb,ccc\r\nzzz,yyy,xxx":                 {{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}},
		"\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx":     {{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}},
		"\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx": {{"aaa", "b\r\nbb", "ccc"}, {"zzz", "yyy", "xxx"}},
		"\"aaa\",\"b\"\"bb\",\"ccc\"":                {{"aaa", `b"bb`, "ccc"}},
		" a , b ,,\r\n":                              {{" a ", " b ", "", ""}},
	} {
		got, err := read(text, ',')
		if err != nil || !cmp.Equal(got, want) {
			t.Errorf("%q reads as %q (%v), want %q", text, got, err, want)
		}
	}
}

// TestRows_AgreeWithTheStandardLibrary holds the writer against encoding/csv, an independent reader. That
// one turns CRLF inside a cell into LF, so cells here have no CR.
func TestRows_AgreeWithTheStandardLibrary(t *testing.T) {
	noCR := slices.DeleteFunc(slices.Clone(letters), func(r rune) bool { return r == '\r' })
	rapid.Check(t, func(t *rapid.T) {
		cells := rapid.SliceOfN(rapid.StringOfN(rapid.SampledFrom(noCR), 0, 8, -1), 2, 5).Draw(t, "cells")
		text := string(appendRow(nil, cells))
		got, err := csv.NewReader(strings.NewReader(text)).Read()
		if err != nil || !slices.Equal(got, cells) {
			t.Fatalf("encoding/csv reads %q as %q (%v), want %q", text, got, err, cells)
		}
	})
}

func TestRows_LinesAreCounted(t *testing.T) {
	r := newRowReader("a\r\n\"b\nb\r\nb\rb\",x\rc\nd", ',')
	var lines []int
	for {
		row, ok, err := r.next()
		if err != nil {
			t.Fatal(err)
		}
		if !ok {
			break
		}
		lines = append(lines, row.line)
	}
	if want := []int{1, 2, 6, 7}; !slices.Equal(lines, want) {
		t.Errorf("rows begin on lines %v, want %v", lines, want)
	}
}

func FuzzRows(f *testing.F) {
	for _, s := range []string{"", "a,b\r\n", "\"a\"\"b\",c", "\"", "\"a\"b", "a\rb\n\n,", "\x00", "\xff\xfe", "a;b\tc", "\ufeffx"} {
		f.Add([]byte(s), byte(0))
	}
	f.Fuzz(func(t *testing.T, data []byte, which byte) {
		text, bad := decodeText(data)
		if bad != nil {
			return
		}
		rows, bad := read(text, separators[int(which)%len(separators)])
		if bad != nil {
			return
		}
		var again []byte
		for _, r := range rows {
			again = appendRow(again, r)
		}
		got, bad := read(string(again), ',')
		if bad != nil {
			t.Fatalf("what was read and written is refused: %s", bad.message)
		}
		for i := range rows {
			// A row of one empty cell and the end of the text look the same.
			if len(rows[i]) == 1 && rows[i][0] == "" {
				continue
			}
			if !slices.Equal(got[i], rows[i]) {
				t.Fatalf("row %d comes back as %q, want %q", i, got[i], rows[i])
			}
		}
	})
}

// FuzzImport holds that no file brings the program down, that a refused one gives nothing to write, and that
// what is accepted can be written, exported and brought back the same.
func FuzzImport(f *testing.F) {
	f.Add([]byte(keepersTable))
	f.Add([]byte("id,sire,dam,sex\n1,,,M\n2,1,,F\n3,1,2,M\n"))
	f.Add([]byte("id,sire,dam,sex\n1,3,,M\n3,1,,M\n"))
	f.Add([]byte("ring\thatched\tcage\n1\t03/04/2025\tA1\n"))
	f.Add([]byte(ownHead + "bird,grams\r\n" + ownRow + "14.5\r\n"))
	files := exported(f, season(f).Entries())
	for _, name := range slices.Sorted(maps.Keys(files)) {
		f.Add([]byte(files[name]))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		room := aviary.NewRoom()
		opt := options()
		opt.Species = "zebra"
		p, err := Import(room, []Input{{"fuzz.csv", strings.NewReader(string(data))}}, opt)
		if err != nil {
			t.Fatal(err)
		}
		if !p.OK() {
			if len(p.Sentences()) == 0 || p.Entries != nil {
				t.Fatalf("refused without a sentence, or with something to write: %+v", p)
			}
			return
		}
		if !p.Own {
			if err := room.Admit(p.Entries, today, func() error { return nil }); err != nil {
				t.Fatalf("the room refuses what the plan allowed: %v", err)
			}
			if aside := room.Aside(); len(aside) > 0 {
				t.Fatalf("set aside: %s", aside[0].Clash.Message)
			}
		}
		wantSame(t, p.Entries)
	})
}

// failing is a reader that fails after its first bytes.
type failing struct{ text string }

func (r *failing) Read(b []byte) (int, error) {
	if r.text == "" {
		return 0, io.ErrUnexpectedEOF
	}
	n := copy(b, r.text)
	r.text = r.text[n:]
	return n, nil
}

func TestImport_FileThatCannotBeRead(t *testing.T) {
	if _, err := Import(aviary.NewRoom(), []Input{{"birds.csv", &failing{"ring\n"}}}, options()); err == nil || !strings.Contains(err.Error(), "birds.csv cannot be read") {
		t.Errorf("error = %v", err)
	}
}
