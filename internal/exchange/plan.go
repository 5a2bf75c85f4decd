package exchange

import (
	"bufio"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"broodlight/internal/aviary"
)

// Limits of what is read. A larger table is refused with a sentence before it is taken apart.
const (
	MaxBytes    = 10 << 20  // of a table that is not one of Broodlight's own files
	MaxRows     = 50_000    // of such a table: far more birds than a room ever held
	maxOwnBytes = 512 << 20 // of one of Broodlight's own files: some two million looks
	maxProblems = 500       // rows with something wrong, after which the rest is not looked at
)

// Input is one table to bring in: a file, or a table pasted on a page.
type Input struct {
	Name string // as sentences and the import entry name it
	Data io.Reader
}

// Options say how tables are read and by whom they are brought in.
type Options struct {
	Today   aviary.Date      // in the room's zone
	Day     aviary.Date      // of the import and of what it finds; zero means Today
	Time    aviary.Clock     // of day, for what happens on Day: what else was written on it comes before; zero leaves it out
	By      string           // who brings them in
	Written time.Time        // the instant that new entries bear; zero leaves it to whoever writes them
	NewID   func() aviary.ID // rising ids: entries of one instant are folded in the order of their ids

	// FindSpecies gives the slug of a species by slug, Latin or English name; its error is a sentence.
	FindSpecies func(name string) (slug string, err error)

	// For birds tables.
	Species   string // species of birds whose row names none
	DayFirst  *bool  // whether 03/04/2026 is 3 April; nil where the keeper was not asked
	SkipKnown bool   // leave birds alone whose ring is in the books already, instead of refusing the table
}

// Plan is what an import would do, for a preview and then for writing.
type Plan struct {
	// Entries are to be written in this order, whole or not at all. Nil when anything is wrong.
	Entries []*aviary.Entry
	// Own says that they come from Broodlight's own files: entries with their own ids, authors and instants,
	// to be received as they are, so that what clashes is set aside by the room and nothing is lost. Others
	// are checked at the door like any that are written.
	Own bool
	// Batches are the ids of the import entries, one a birds table. Striking one takes back its whole table.
	Batches []aviary.ID
	// Known counts the entries or birds that are in the books already and are left as they are.
	Known int
	// AskDayOrder says that days such as 03/04/2026 cannot be told: ask the keeper and set Options.DayFirst.
	AskDayOrder bool
	// Rows reports on each row that was read, in order.
	Rows []RowReport
	// Notes say what holds for a whole table: which columns were not read, how days were read.
	Notes []string

	problems int // rows that have any
}

// RowReport says what one row would do, and what is wrong with it.
type RowReport struct {
	File     string
	Line     int // of the file, from 1; 0 when it is about the file as a whole
	Does     string
	Problems []Problem
}

// Problem is one thing that is wrong with a row.
type Problem struct {
	Column  string // as the header names it; "" when it is about the whole row
	Message string // what, and how to mend it; without the place and without a full stop
}

// OK reports whether nothing is wrong.
func (p *Plan) OK() bool { return p.problems == 0 }

// Sentences lists what is wrong, each with its file, line and column.
func (p *Plan) Sentences() []string {
	var out []string
	for _, r := range p.Rows {
		for _, x := range r.Problems {
			s := r.File
			if r.Line > 0 {
				s += fmt.Sprintf(", line %d", r.Line)
			}
			if x.Column != "" {
				s += ", column “" + x.Column + "”"
			}
			if s += ": " + x.Message; !strings.HasSuffix(s, "?") {
				s += "."
			}
			out = append(out, s)
		}
	}
	return out
}

func (r *RowReport) wrong(column, format string, args ...any) {
	r.Problems = append(r.Problems, Problem{column, fmt.Sprintf(format, args...)})
}

func (p *Plan) add(r RowReport) {
	if len(r.Problems) > 0 {
		p.problems++
	}
	p.Rows = append(p.Rows, r)
}

// refuse notes something wrong with a file, or with one line of it.
func (p *Plan) refuse(file string, line int, format string, args ...any) {
	p.add(RowReport{File: file, Line: line, Problems: []Problem{{Message: fmt.Sprintf(format, args...)}}})
}

// tooMany stops the reading of a file in which too much is wrong.
func (p *Plan) tooMany(file string) bool {
	if p.problems < maxProblems {
		return false
	}
	p.refuse(file, 0, "more than %d rows have something wrong, so the rest was not looked at", maxProblems)
	return true
}

func (p *Plan) note(format string, args ...any) {
	p.Notes = append(p.Notes, fmt.Sprintf(format, args...))
}

// Import works out what bringing the tables into the room would do. It changes nothing: the caller shows
// the plan and writes its entries. Broodlight's own files are told by their headers; anything else is read
// as a birds table. The error is that of reading a file; whatever is wrong with its content is in the plan.
func Import(room *aviary.Room, files []Input, opt Options) (*Plan, error) {
	if opt.Day == 0 {
		opt.Day = opt.Today
	}
	if !opt.Written.IsZero() {
		opt.Written = opt.Written.UTC().Truncate(time.Millisecond)
	}
	p := &Plan{}
	if opt.Day > opt.Today {
		p.refuse("the import", 0, "%s has not come yet (today is %s); bring birds in on a day that has", opt.Day.Long(), opt.Today.Long())
		return p, nil
	}
	var own, foreign []*table
	for _, f := range files {
		t, err := load(f, p)
		switch {
		case err != nil:
			return nil, fmt.Errorf("%s cannot be read: %w", f.Name, err)
		case t == nil:
		case t.own:
			own = append(own, t)
		default:
			foreign = append(foreign, t)
		}
	}
	switch {
	case len(own) > 0 && len(foreign) > 0:
		p.refuse(foreign[0].name, 0, "this is a birds table and %s is one of Broodlight's own files; bring them in one after the other", own[0].name)
	case len(own) > 0:
		importOwn(room, own, opt, p)
	case len(foreign) > 0:
		importBirds(room, foreign, opt, p)
	}
	if !p.OK() {
		p.Entries, p.Batches = nil, nil
	}
	return p, nil
}

// table is a file's text, ready to be taken apart.
type table struct {
	name string
	text string
	sep  byte
	own  bool
}

// load reads a file as far as its limit allows. It returns nil for a file that is refused, which the plan
// then says, and for the file that lists the columns.
func load(f Input, p *Plan) (*table, error) {
	const peeked = 64 << 10 // longer than any header
	in := bufio.NewReaderSize(f.Data, peeked)
	head, err := in.Peek(peeked)
	if err != nil && err != io.EOF {
		return nil, err
	}
	own := isOwn(head)
	limit, size := MaxBytes, "10 MB, which holds tens of thousands of birds; part it into smaller ones"
	if own {
		limit, size = maxOwnBytes, "512 MB; part it into smaller ones, each with the same header"
	}
	data, err := io.ReadAll(io.LimitReader(in, int64(limit)+1))
	if err != nil {
		return nil, err
	}
	if len(data) > limit {
		p.refuse(f.Name, 0, "the table is larger than %s", size)
		return nil, nil
	}
	text, bad := decodeText(data)
	if bad != nil {
		p.refuse(f.Name, bad.line, "%s", bad.message)
		return nil, nil
	}
	if strings.TrimSpace(text) == "" {
		p.refuse(f.Name, 0, "there is nothing in it; a table has a header row and a row for each bird")
		return nil, nil
	}
	t := &table{name: f.Name, text: text, own: own}
	if own {
		t.sep = sniff(text, countOwn)
		return t, nil
	}
	t.sep = sniff(text, countBirdColumns)
	if first, ok, _ := firstRow(newRowReader(text, t.sep)); ok && slices.Equal(first.cells, columnsHead) {
		p.note("%s says what the columns mean and brings nothing in.", f.Name)
		return nil, nil
	}
	return t, nil
}

// baseName is a file's name without its folder.
func baseName(name string) string {
	return filepath.Base(strings.ReplaceAll(name, `\`, "/"))
}
