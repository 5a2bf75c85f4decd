package exchange

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"broodlight/internal/aviary"
)

// FileMaker makes a file of the given name to write to. A writer that is an io.Closer is closed when its
// file is whole.
type FileMaker func(name string) (io.Writer, error)

// ColumnsFile is the name of the file that says what every column means.
const ColumnsFile = "columns.csv"

// writtenForm is how the instant of writing stands in a cell: RFC 3339 in UTC with milliseconds.
const writtenForm = "2006-01-02T15:04:05.000Z"

// Export writes all facts, one file a kind, and ColumnsFile. Every kind gets its file, with a header alone
// where nothing of the kind was written. The same entries, in any order, give the same bytes.
func Export(create FileMaker, entries []*aviary.Entry) error {
	of := map[aviary.Kind][]*aviary.Entry{}
	for _, e := range entries {
		if e == nil {
			continue
		}
		if _, ok := aviary.KindOf(e.Kind); !ok || e.Body == nil || e.Body.Kind() != e.Kind {
			return fmt.Errorf("entry %s is of a kind that this program does not know (%q)", e.ID, string(e.Kind))
		}
		of[e.Kind] = append(of[e.Kind], e)
	}
	for _, info := range aviary.Kinds() {
		text, err := kindFile(info, of[info.Kind])
		if err != nil {
			return err
		}
		if err := put(create, FileName(info.Kind), text); err != nil {
			return err
		}
	}
	return put(create, ColumnsFile, columnsFile())
}

// FileName returns the name of a kind's file.
func FileName(kind aviary.Kind) string { return string(kind) + ".csv" }

// ExportDir writes all facts into a folder, which it makes if need be. Files of the same names are
// replaced, each only when all are written; other files there are left alone.
func ExportDir(dir string, entries []*aviary.Entry) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("the folder for the files cannot be made: %w", err)
	}
	var names []string
	defer func() {
		for _, name := range names {
			_ = os.Remove(name + ".part") // gone already when all went well
		}
	}()
	err := Export(func(name string) (io.Writer, error) {
		path := filepath.Join(dir, name)
		names = append(names, path)
		return os.OpenFile(path+".part", os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	}, entries)
	if err != nil {
		return fmt.Errorf("the files cannot be written: %w", err)
	}
	for _, name := range names {
		if err := os.Rename(name+".part", name); err != nil {
			return fmt.Errorf("the files cannot be written: %w", err)
		}
	}
	return nil
}

func put(create FileMaker, name string, text []byte) error {
	w, err := create(name)
	if err != nil {
		return err
	}
	_, err = w.Write(text)
	if c, ok := w.(io.Closer); ok {
		err = cmp.Or(err, c.Close())
	}
	return err
}

func kindFile(info aviary.KindInfo, entries []*aviary.Entry) ([]byte, error) {
	fields := fieldsOf(info)
	var head []string
	for _, c := range Columns(info.Kind) {
		head = append(head, c.Name)
	}
	out := appendRow(nil, head)
	slices.SortFunc(entries, byHappening)
	cells := make([]string, 0, len(head))
	for _, e := range entries {
		cells = append(cells[:0], idCell(e.ID), string(e.Kind), e.Day.String(), e.Time.String(), writtenCell(e.Written), readable(e.By),
			idCell(e.Batch), idCell(e.Strikes), readable(e.Why), strconv.Itoa(e.Version))
		body := facts(e.Body)
		for _, f := range fields {
			cell, err := encodeCell(body.FieldByIndex(f.index), f.omit)
			if err != nil {
				return nil, fmt.Errorf("%s of entry %s cannot be written: %w", f.name, e.ID, err)
			}
			cells = append(cells, cell)
		}
		out = appendRow(out, cells)
	}
	return out, nil
}

// byHappening orders entries as the room folds them: by day, time of day (none first), written, id.
func byHappening(a, b *aviary.Entry) int {
	return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Time, b.Time), a.Written.Compare(b.Written), bytes.Compare(a.ID[:], b.ID[:]))
}

func idCell(id aviary.ID) string {
	if id == (aviary.ID{}) {
		return ""
	}
	return id.String()
}

func writtenCell(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(writtenForm)
}

// everyFile stands in ColumnsFile for a column that each file of facts has.
const everyFile = "every file"

var columnsHead = []string{"file", "column", "meaning"}

func columnsFile() []byte {
	out := appendRow(nil, columnsHead)
	for _, c := range envelope {
		out = appendRow(out, []string{everyFile, c.Name, c.Meaning})
	}
	for _, info := range aviary.Kinds() {
		for _, f := range fieldsOf(info) {
			out = appendRow(out, []string{FileName(info.Kind), f.name, f.meaning})
		}
	}
	return out
}
