package feed

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Sizes beyond which a table is refused.
const (
	maxTableBytes = 1 << 20
	maxTableRows  = 2000
	maxColumns    = 200
)

// number writes a figure in full; an infinity is an empty cell.
func number(v float64) string {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// table is a CSV file with a head. Cells are trimmed; a short row is filled with empty cells.
type table struct {
	head    []string
	top     int // line of the head
	rows    [][]string
	lines   []int
	decimal bool // a comma is a decimal point, since the cells are parted by something else
}

// readTable takes a CSV file apart: comma, semicolon or tab, with or without a byte order mark.
func readTable(raw []byte, what string) (*table, error) {
	switch {
	case len(raw) > maxTableBytes:
		return nil, &Error{Message: fmt.Sprintf("%s is larger than a megabyte. Is it the right file?", what)}
	case !utf8.Valid(raw):
		line, column := firstBad(raw)
		return nil, &Error{Line: line, Column: column, Message: what + " is not plain text in UTF-8 here. Save it as CSV, UTF-8."}
	}
	text := strings.TrimPrefix(string(raw), "\uFEFF")
	if i := strings.IndexByte(text, 0); i >= 0 {
		return nil, &Error{Line: 1 + strings.Count(text[:i], "\n"), Column: 1, Message: "there is a byte here that no text holds. Save the file as CSV, UTF-8."}
	}
	first, _, _ := strings.Cut(text, "\n")
	comma := ','
	for _, c := range []rune{';', '\t'} {
		if strings.ContainsRune(first, c) && !strings.ContainsRune(first, ',') {
			comma = c
		}
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = comma, -1, true
	t := &table{decimal: comma != ','}
	for {
		cells, err := r.Read()
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			return nil, &Error{Line: bad.StartLine, Column: cellAt(text, bad, comma), Message: "a quotation mark here is not closed, or stands in the middle of a cell. Put the cell in quotation marks and double those inside it."}
		}
		if err != nil {
			break // the end of the file; there is nothing else to read from a string
		}
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if !slices.ContainsFunc(cells, func(c string) bool { return c != "" }) {
			continue
		}
		line, _ := r.FieldPos(0)
		if t.head == nil {
			t.head, t.top = cells, line
			if err := t.checkHead(); err != nil {
				return nil, err
			}
			continue
		}
		if len(cells) > len(t.head) {
			return nil, &Error{Line: line, Column: len(t.head) + 1, Message: fmt.Sprintf("this line has %d cells and the head has %d. A comma inside a number or a name wants quotation marks round the cell.", len(cells), len(t.head))}
		}
		for len(cells) < len(t.head) {
			cells = append(cells, "")
		}
		t.rows, t.lines = append(t.rows, cells), append(t.lines, line)
		if len(t.rows) > maxTableRows {
			return nil, &Error{Line: line, Column: 1, Message: fmt.Sprintf("%s has more than %d lines. Is it the right file?", what, maxTableRows)}
		}
	}
	switch {
	case t.head == nil:
		return nil, &Error{Line: 1, Column: 1, Message: what + " is empty. Its first line names the columns."}
	case len(t.rows) == 0:
		return nil, &Error{Line: t.top + 1, Column: 1, Message: what + " has a head and no lines under it."}
	}
	return t, nil
}

// cellAt returns the cell, counted from 1, in which a quotation mark is at fault: the last one on the line where the
// record begins, up to where reading stopped.
func cellAt(text string, bad *csv.ParseError, comma rune) int {
	line := strings.Split(text, "\n")[bad.StartLine-1]
	if bad.Line == bad.StartLine {
		line = line[:min(bad.Column, len(line))]
	}
	if i := strings.LastIndexByte(line, '"'); i >= 0 {
		line = line[:i]
	}
	return 1 + strings.Count(line, string(comma))
}

// firstBad returns where the first byte stands that is not UTF-8; cells are taken to be parted by commas.
func firstBad(raw []byte) (line, column int) {
	text := raw
	for len(text) > 0 {
		r, n := utf8.DecodeRune(text)
		if r == utf8.RuneError && n == 1 {
			break
		}
		text = text[n:]
	}
	good := string(raw[:len(raw)-len(text)])
	return 1 + strings.Count(good, "\n"), 1 + strings.Count(good[strings.LastIndexByte(good, '\n')+1:], ",")
}

func (t *table) checkHead() error {
	seen := map[string]bool{}
	for i, h := range t.head {
		t.head[i] = strings.ToLower(h)
		switch {
		case i >= maxColumns:
			return &Error{Line: t.top, Column: i + 1, Message: fmt.Sprintf("there are more than %d columns. Is it the right file?", maxColumns)}
		case h == "":
			return &Error{Line: t.top, Column: i + 1, Message: "this column has no name."}
		case seen[t.head[i]]:
			return &Error{Line: t.top, Column: i + 1, Field: h, Message: "this column is named twice."}
		}
		seen[t.head[i]] = true
	}
	return nil
}

// column returns where a column stands, or -1.
func (t *table) column(name string) int { return slices.Index(t.head, name) }

// wants refuses a head without the columns that must be there.
func (t *table) wants(names ...string) error {
	for _, n := range names {
		if t.column(n) < 0 {
			return &Error{Line: t.top, Column: len(t.head) + 1, Field: n, Message: fmt.Sprintf("there is no column %q. The head needs %s.", n, strings.Join(names, ", "))}
		}
	}
	return nil
}

// only refuses columns that the file does not know.
func (t *table) only(names ...string) error {
	for i, h := range t.head {
		if !slices.Contains(names, h) {
			return &Error{Line: t.top, Column: i + 1, Field: h, Message: "this column is not known here. Known are " + strings.Join(names, ", ") + "."}
		}
	}
	return nil
}

// cell returns a cell, empty when there is no such column.
func (t *table) cell(row int, name string) string {
	if c := t.column(name); c >= 0 {
		return t.rows[row][c]
	}
	return ""
}

func (t *table) wrong(row int, name, format string, args ...any) *Error {
	return &Error{Line: t.lines[row], Column: t.column(name) + 1, Field: name, Message: fmt.Sprintf(format, args...)}
}

// figure reads a number from low to high; ok is false for an empty cell.
func (t *table) figure(row int, name string, low, high float64) (v float64, ok bool, err error) {
	s := t.cell(row, name)
	if s == "" {
		return 0, false, nil
	}
	if t.decimal {
		s = strings.Replace(s, ",", ".", 1)
	}
	v, e := strconv.ParseFloat(s, 64)
	switch {
	case e != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(s, "xX_pP"):
		return 0, false, t.wrong(row, name, "%q is not a number. Write it as 3.5.", t.cell(row, name))
	case v < low || v > high:
		return 0, false, t.wrong(row, name, "%s is out of range: it runs from %s to %s.", t.cell(row, name), number(low), number(high))
	}
	return v, true, nil
}
