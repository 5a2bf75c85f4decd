package cli

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
)

// column is a column that a command reads.
type column struct {
	name string
	must bool
}

// sheet is a CSV file with a header row, as an engine command reads it.
type sheet struct {
	name  string // of the file, for sentences
	lines []int  // of each row
	rows  [][]string
	at    map[string]int // column by its name
}

// scan reads the CSV file at path, or standard input for "-", and hands its first row to head and every other to row,
// with the line where it begins. The option is the one that names the file. A row that is too long or too short is
// refused.
func (s *sheet) scan(cmd *cobra.Command, option, path string, head func(cells []string) error, row func(line int, cells []string) error) error {
	if err := need(path, option, "which file to read"); err != nil {
		return err
	}
	var in io.Reader
	in, s.name = cmd.InOrStdin(), "standard input"
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return badf("the file %s cannot be read: %w", path, errors.Unwrap(err))
		}
		defer f.Close() // read only: closing it loses nothing
		in, s.name = f, filepath.Base(path)
	}
	text := bufio.NewReader(in)
	if bom, err := text.Peek(3); err == nil && string(bom) == "\ufeff" {
		_, _ = text.Discard(3) // it was peeked at, so it is there
	}
	r := csv.NewReader(text)
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	first, err := r.Read()
	if errors.Is(err, io.EOF) {
		return badf("%s, line 1, column 1: the file is empty; the first row names the columns", s.name)
	}
	if err != nil {
		return s.unreadable(err)
	}
	if err := head(first); err != nil {
		return err
	}
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return s.unreadable(err)
		}
		line, _ := r.FieldPos(0)
		if len(cells) != len(first) {
			return s.wrongAt(line, min(len(cells), len(first)), "the row has %d cells, and the first row names %d columns", len(cells), len(first))
		}
		if err := row(line, cells); err != nil {
			return err
		}
	}
}

// readSheet reads the columns that a command asks for; others are passed over.
func readSheet(cmd *cobra.Command, option, path string, columns ...column) (*sheet, error) {
	s := &sheet{at: map[string]int{}}
	head := func(cells []string) error { return s.header(cells, columns) }
	return s, s.scan(cmd, option, path, head, func(line int, cells []string) error {
		s.rows, s.lines = append(s.rows, cells), append(s.lines, line)
		return nil
	})
}

func (s *sheet) unreadable(err error) error {
	var bad *csv.ParseError
	if errors.As(err, &bad) {
		return badf("%s, line %d, column %d: %w", s.name, bad.Line, bad.Column, bad.Err)
	}
	return fmt.Errorf("%s cannot be read: %w", s.name, err)
}

func (s *sheet) header(head []string, columns []column) error {
	for i, cell := range head {
		cell = strings.ToLower(strings.TrimSpace(cell))
		for _, c := range columns {
			if cell != c.name {
				continue
			}
			if _, twice := s.at[c.name]; twice {
				return s.wrongAt(1, i, "the column “%s” is there twice", c.name)
			}
			s.at[c.name] = i
		}
	}
	for _, c := range columns {
		if _, ok := s.at[c.name]; c.must && !ok {
			return badf("%s, line 1, column “%s”: there is no such column; the first row names the columns, with commas between", s.name, c.name)
		}
	}
	return nil
}

// cell is the text of a column in a row; "" where the column is absent.
func (s *sheet) cell(row int, name string) string {
	if i, ok := s.at[name]; ok {
		return strings.TrimSpace(s.rows[row][i])
	}
	return ""
}

// wrong says what is wrong with a cell.
func (s *sheet) wrong(row int, name, format string, args ...any) error {
	return badf("%s, line %d, column “%s”: %s", s.name, s.lines[row], name, fmt.Sprintf(format, args...))
}

// wrongAt is wrong for a cell whose column, counted from 0, has no name to go by.
func (s *sheet) wrongAt(line, at int, format string, args ...any) error {
	return badf("%s, line %d, column %d: %s", s.name, line, at+1, fmt.Sprintf(format, args...))
}

// table is an answer of an engine command: rows under a header, or a value for JSON.
type table struct {
	header []string
	rows   [][]string
	value  any
}

func (t table) write(out io.Writer, asJSON bool) error {
	if asJSON {
		enc := json.NewEncoder(out)
		enc.SetIndent("", "  ")
		return enc.Encode(t.value)
	}
	w := csv.NewWriter(out)
	if err := w.WriteAll(append([][]string{t.header}, t.rows...)); err != nil {
		return err
	}
	return w.Error()
}

func jsonFlag(cmd *cobra.Command, asJSON *bool) {
	cmd.Flags().BoolVar(asJSON, "json", false, "write JSON instead of CSV")
}

// fileFlag adds an option that names a CSV file.
func fileFlag(cmd *cobra.Command, path *string, option, what string) {
	cmd.Flags().StringVar(path, option, "", "CSV `FILE` with "+what+"; - is standard input")
}

// readsOnce refuses two files from one standard input.
func readsOnce(in, other, option string) error {
	if in == "-" && other == "-" {
		return badf("standard input can be read once only; name a file for --in or for --%s", option)
	}
	return nil
}

// full prints a number in full, so that reading it back gives the same one.
func full(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// fullOrEmpty prints a number in full, and nothing for one that there is not.
func fullOrEmpty(x *float64) string {
	if x == nil {
		return ""
	}
	return full(*x)
}
