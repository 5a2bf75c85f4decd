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
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
)

// column is a column that a command reads, with other names that it may bear.
type column struct {
	name string
	also []string
	must bool
}

// sheet is a CSV file with a header row, as an engine command reads it.
type sheet struct {
	name  string // of the file, for sentences
	lines []int  // of each row
	rows  [][]string
	at    map[string]int // column by its name
}

// readSheet reads the file at path, or standard input for "-". Columns that the command does not know are passed
// over; a row that is too long or too short is refused.
func readSheet(cmd *cobra.Command, path string, columns ...column) (*sheet, error) {
	if err := need(path, "in", "which file to read"); err != nil {
		return nil, err
	}
	in, name := cmd.InOrStdin(), "standard input"
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, badf("the file %s cannot be read: %w", path, errors.Unwrap(err))
		}
		defer f.Close() // read only: closing it loses nothing
		in, name = f, filepath.Base(path)
	}
	s := &sheet{name: name, at: map[string]int{}}
	text := bufio.NewReader(in)
	if bom, err := text.Peek(3); err == nil && string(bom) == "\ufeff" {
		_, _ = text.Discard(3) // it was peeked at, so it is there
	}
	r := csv.NewReader(text)
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	head, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, badf("%s is empty; the first row names the columns", name)
	}
	if err != nil {
		return nil, s.unreadable(err)
	}
	if err := s.header(head, columns); err != nil {
		return nil, err
	}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return s, nil
		}
		if err != nil {
			return nil, s.unreadable(err)
		}
		line, _ := r.FieldPos(0)
		if len(row) != len(head) {
			return nil, badf("%s, line %d: %d cells, and the first row names %d columns", name, line, len(row), len(head))
		}
		s.rows, s.lines = append(s.rows, row), append(s.lines, line)
	}
}

func (s *sheet) unreadable(err error) error {
	var bad *csv.ParseError
	if errors.As(err, &bad) {
		return badf("%s, line %d, letter %d: %w", s.name, bad.Line, bad.Column, bad.Err)
	}
	return fmt.Errorf("%s cannot be read: %w", s.name, err)
}

func (s *sheet) header(head []string, columns []column) error {
	for i, cell := range head {
		cell = strings.ToLower(strings.TrimSpace(cell))
		for _, c := range columns {
			if cell != c.name && !slices.Contains(c.also, cell) {
				continue
			}
			if _, twice := s.at[c.name]; twice {
				return badf("%s, line 1: the column “%s” is there twice", s.name, c.name)
			}
			s.at[c.name] = i
		}
	}
	for _, c := range columns {
		if _, ok := s.at[c.name]; c.must && !ok {
			return badf("%s, line 1: there is no column “%s”; the first row names the columns", s.name, c.name)
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

func inFlag(cmd *cobra.Command, path *string, what string) {
	cmd.Flags().StringVar(path, "in", "", "`FILE` with "+what+"; - is standard input")
}

// full prints a number in full, so that reading it back gives the same one.
func full(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
