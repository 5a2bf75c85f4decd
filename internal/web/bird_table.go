package web

import (
	"fmt"
	"io"
	"strings"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// Table is what reading a table of birds would do: for a preview, and then for writing.
type Table struct {
	Entries     []*aviary.Entry // to be written whole or not at all; nil when anything is wrong
	Rows        []TableRow
	Notes       []string // what holds for the whole table
	Wrong       int      // rows with something wrong
	AskDayOrder bool     // days such as 03/04/2026 cannot be told; the keeper is asked
}

// TableRow is what one row would do, or what is wrong with it.
type TableRow struct {
	Line     int
	Does     string
	Problems []string
}

// TableOptions say how a table is read.
type TableOptions struct {
	Name     string // of the file, or "pasted table"
	By       string
	Today    aviary.Date
	Time     aviary.Clock // of day
	Written  time.Time    // the instant; what was written in the same minute comes before
	Species  string       // slug for rows that name none
	DayFirst *bool
}

// TableReader reads a table of birds against a room and changes nothing.
type TableReader func(r *aviary.Room, data io.Reader, opt TableOptions) (Table, error)

// birdTablePage is the form that adds many birds from a table, with its preview.
type birdTablePage struct {
	layout
	Species   []option
	DayOrders []option
	T         *Table
	More      int // rows of the preview that are not shown
}

// previewRows is how many rows a preview shows; rows with something wrong come first.
const previewRows = 200

func (s *server) birdTableShow(v *visit) error { return s.birdTableForm(v, blank(), nil) }

func (s *server) birdTableForm(v *visit, f *form, t *Table) error {
	p := &birdTablePage{T: t, Species: []option{{Label: "Each row names its species"}}, DayOrders: []option{{Value: "day", Label: "The day"}, {Value: "month", Label: "The month"}}}
	v.desk(func(d *advice.Desk) {
		for _, x := range d.Cat.All() {
			p.Species = append(p.Species, option{Value: x.Slug, Label: x.English})
		}
	})
	p.Headline = "Add many birds from a table"
	switch {
	case t != nil && t.Wrong > 0:
		p.Headline = fmt.Sprintf("%d of %d rows want mending", t.Wrong, len(t.Rows))
	case t != nil:
		p.Headline = fmt.Sprintf("%d rows are ready", len(t.Rows))
	}
	p.Sub = "Paste it from a spreadsheet, or give a CSV file. It is read in whole or not at all, after a preview."
	if t != nil && len(t.Rows) > previewRows {
		var wrong, fine []TableRow
		for _, r := range t.Rows {
			if len(r.Problems) > 0 {
				wrong = append(wrong, r)
			} else {
				fine = append(fine, r)
			}
		}
		rows := append(wrong, fine...)
		p.More = len(rows) - previewRows
		t.Rows = rows[:previewRows]
	}
	p.Tab, p.Form, p.Up, p.UpTo = "birds", f, "/birds", "Birds"
	return v.render("bird_table", p)
}

// birdTableSend shows what a table would do, and writes it when the keeper is sure.
func (s *server) birdTableSend(v *visit) error {
	f := v.form()
	opt := TableOptions{Name: "pasted table", By: v.who.By, Today: v.today, Time: v.clock, Written: v.now.UTC(), Species: f.species("species")}
	switch f.one("day_first", "day", "month") {
	case "day":
		opt.DayFirst = new(bool)
		*opt.DayFirst = true
	case "month":
		opt.DayFirst = new(bool)
	}
	text := f.Values.Get("table")
	if file, head, err := v.r.FormFile("file"); err == nil {
		defer file.Close() // read whole below; closing a read file loses nothing
		data, err := io.ReadAll(file)
		if err != nil {
			return err
		}
		if len(data) > 0 {
			text, opt.Name = string(data), head.Filename
			f.Values.Set("table", text)
		}
	}
	if text == "" {
		f.wrong("table", "paste a table, or choose a file")
		return v.retry(f, f.err(), func(v *visit, f *form) error { return s.birdTableForm(v, f, nil) })
	}
	var t Table
	var err error
	v.room(func(r *aviary.Room, _ *species.Catalogue) { t, err = s.ReadTable(r, strings.NewReader(text), opt) })
	if err != nil {
		return err
	}
	if t.Wrong > 0 || len(t.Entries) == 0 {
		v.status = 422
		return s.birdTableForm(v, f, &t)
	}
	if !f.tick("sure") {
		return s.birdTableForm(v, f, &t)
	}
	if err := v.write(t.Entries...); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return s.birdTableForm(v, f, &t) })
	}
	v.say("%d rows read in", len(t.Rows))
	return v.see("/birds")
}
