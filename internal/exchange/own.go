package exchange

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"broodlight/internal/aviary"
)

// ownMarks are the columns by which one of Broodlight's own files is told: no birds table has all of them.
var ownMarks = []string{"id", "kind", "day", "written", "version"}

func countOwn(cells []string) int {
	n := 0
	for _, m := range ownMarks {
		for _, c := range cells {
			if strings.TrimSpace(c) == m {
				n++
				break
			}
		}
	}
	return n
}

// isOwn reports whether a file that begins so is one of Broodlight's own.
func isOwn(head []byte) bool {
	text := string(bytes.TrimPrefix(head, []byte("\ufeff")))
	first, ok, err := firstRow(newRowReader(text, sniff(text, countOwn)))
	return ok && err == nil && countOwn(first.cells) == len(ownMarks)
}

// ownReader turns rows of Broodlight's own files into entries.
type ownReader struct {
	head   []string
	today  aviary.Date
	bare   *aviary.Room // without entries: what it refuses is wrong by itself
	fields map[aviary.Kind]map[string]field
}

func importOwn(room *aviary.Room, files []*table, opt Options, p *Plan) {
	p.Own = true
	seen := map[aviary.ID]int{} // row of the plan
	entries := map[int]*aviary.Entry{}
	for _, f := range files {
		readOwn(f, opt, p, func(r RowReport, e *aviary.Entry) {
			if e == nil {
				p.add(r)
				return
			}
			info, _ := aviary.KindOf(e.Kind)
			r.Does = info.Label + " of " + e.Day.Long()
			if e.By != "" {
				r.Does += ", by " + e.By
			}
			if at, twice := seen[e.ID]; twice {
				if r.Does += "; the same as line " + fmt.Sprint(p.Rows[at].Line) + " of " + p.Rows[at].File; !sameEntry(entries[at], e) {
					r.wrong("id", "line %d of %s has the same id and says something else; take one of them out", p.Rows[at].Line, p.Rows[at].File)
				}
				p.add(r)
				return
			}
			seen[e.ID] = len(p.Rows)
			entries[len(p.Rows)] = e
			if room.Entry(e.ID) != nil {
				if err := room.Check(e, opt.Today); err != nil {
					r.wrong("id", "%s", err)
				} else {
					r.Does += "; in the books already"
					p.Known++
				}
				p.add(r)
				return
			}
			p.add(r)
			p.Entries = append(p.Entries, e)
		})
	}
	if !p.OK() {
		return
	}
	// In the order in which they were written: each then finds in the books what it was written upon.
	slices.SortFunc(p.Entries, func(a, b *aviary.Entry) int {
		return cmp.Or(a.Written.Compare(b.Written), bytes.Compare(a.ID[:], b.ID[:]))
	})
	for _, a := range aviary.Replay(append(room.Entries(), p.Entries...)).Aside() {
		if at, ok := seen[a.Entry.ID]; ok && room.Entry(a.Entry.ID) == nil {
			p.Rows[at].Does += "; it would be kept and set aside to be sorted out: " + a.Clash.Message
		}
	}
}

// readOwn hands over each row of a file: its entry, or a report of what is wrong with it.
func readOwn(f *table, opt Options, p *Plan, give func(RowReport, *aviary.Entry)) {
	rows := newRowReader(f.text, f.sep)
	head, _, err := firstRow(rows)
	if err != nil {
		p.refuse(f.name, err.line, "%s", err.message)
		return
	}
	o := &ownReader{today: opt.Today, bare: aviary.NewRoom(), fields: map[aviary.Kind]map[string]field{}}
	if !o.header(f.name, head, p) {
		return
	}
	for {
		r, ok, bad := rows.next()
		if ok && r.blank() {
			continue
		}
		if ok {
			r, bad = r.fit(len(o.head))
		}
		if bad != nil {
			p.refuse(f.name, bad.line, "%s", bad.message)
		} else if !ok {
			return
		} else {
			report := RowReport{File: f.name, Line: r.line}
			give(report, o.entry(r, &report))
		}
		if p.tooMany(f.name) {
			return
		}
	}
}

// header takes in the names of the columns and refuses those that no kind of entry has.
func (o *ownReader) header(file string, head row, p *Plan) bool {
	known := map[string]bool{}
	for _, info := range aviary.Kinds() {
		o.fields[info.Kind] = map[string]field{}
		for _, f := range fieldsOf(info) {
			o.fields[info.Kind][f.name] = f
			known[f.name] = true
		}
	}
	for _, c := range envelope {
		known[c.Name] = true
	}
	report := RowReport{File: file, Line: head.line}
	seen := map[string]bool{}
	for _, c := range head.cells {
		c = strings.TrimSpace(c)
		switch {
		case !known[c]:
			report.wrong(c, "no file of Broodlight's has such a column; it may come from a later version, or the header was changed")
		case seen[c]:
			report.wrong(c, "the column is there twice; take one of them out")
		}
		seen[c] = true
		o.head = append(o.head, c)
	}
	if len(report.Problems) > 0 {
		p.add(report)
	}
	return len(report.Problems) == 0
}

// entry reads a row. When something is wrong it says so in the report and returns nil.
func (o *ownReader) entry(r row, report *RowReport) *aviary.Entry {
	e := &aviary.Entry{}
	cells := map[string]string{}
	for i, name := range o.head {
		cells[name] = r.cells[i]
	}
	info, ok := aviary.KindOf(aviary.Kind(cells["kind"]))
	if !ok {
		report.wrong("kind", "there is no kind of entry called %s", quoted(cells["kind"]))
		return nil
	}
	e.Kind, e.Body = info.Kind, info.New()
	body := facts(e.Body)
	for i, name := range o.head {
		cell := r.cells[i]
		var err error
		switch name {
		case "kind":
		case "written":
			e.Written, err = parseWritten(cell)
		case "id":
			err = decodeCell(reflect.ValueOf(&e.ID).Elem(), cell)
		case "day":
			err = decodeCell(reflect.ValueOf(&e.Day).Elem(), cell)
		case "time":
			err = decodeCell(reflect.ValueOf(&e.Time).Elem(), cell)
		case "by":
			e.By = cell
		case "batch":
			err = decodeCell(reflect.ValueOf(&e.Batch).Elem(), cell)
		case "strikes":
			err = decodeCell(reflect.ValueOf(&e.Strikes).Elem(), cell)
		case "why":
			e.Why = cell
		case "version":
			err = decodeCell(reflect.ValueOf(&e.Version).Elem(), cell)
		default:
			if f, has := o.fields[info.Kind][name]; has {
				err = decodeCell(body.FieldByIndex(f.index), cell)
			} else if cell != "" {
				err = fmt.Errorf("%s has no such column; empty the cell", info.Kind)
			}
		}
		if err != nil {
			report.wrong(name, "%s", err)
		}
	}
	if len(report.Problems) > 0 {
		return nil
	}
	// A room without entries refuses what is wrong by itself. That it does not know the birds and places
	// is no fault of the row: they come with other rows, or the entry is set aside.
	var refusal *aviary.Error
	if err := o.bare.Check(e, o.today); errors.As(err, &refusal) && (refusal.Code == aviary.Invalid || refusal.Code == aviary.TooNew) {
		report.wrong(refusal.Field, "%s", refusal.Message)
		return nil
	}
	return e
}

func parseWritten(cell string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339, cell)
	if err != nil || t.Year() < 1900 || t.Year() > 2199 {
		return time.Time{}, fmt.Errorf("%s is not an instant; one looks like 2026-01-13T06:48:00.000Z", quoted(cell))
	}
	return t.UTC().Truncate(time.Millisecond), nil
}

// sameEntry reports whether two entries agree in every column.
func sameEntry(a, b *aviary.Entry) bool {
	x, errX := aviary.EncodeBody(a.Body)
	y, errY := aviary.EncodeBody(b.Body)
	return errX == nil && errY == nil && bytes.Equal(x, y) && a.Kind == b.Kind && a.Version == b.Version && a.Day == b.Day && a.Time == b.Time &&
		a.Written.Equal(b.Written) && a.By == b.By && a.Batch == b.Batch && a.Strikes == b.Strikes && a.Why == b.Why
}
