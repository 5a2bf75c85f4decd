package exchange

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// appendRow writes one row as RFC 4180 has it: cells parted by commas, rows ended by CRLF, a cell in
// quotation marks where it needs them, a quotation mark inside doubled. What a cell holds is not changed.
func appendRow(b []byte, cells []string) []byte {
	for i, c := range cells {
		if i > 0 {
			b = append(b, ',')
		}
		// A tab or an outer space would be lost in programs that trim.
		if !strings.ContainsAny(c, "\",;\t\r\n") && c == strings.TrimSpace(c) {
			b = append(b, c...)
			continue
		}
		b = append(b, '"')
		b = append(b, strings.ReplaceAll(c, `"`, `""`)...)
		b = append(b, '"')
	}
	return append(b, "\r\n"...)
}

// row is a row of a table with the line on which it begins, counted from 1.
type row struct {
	line  int
	cells []string
}

func (r row) blank() bool {
	for _, c := range r.cells {
		if strings.TrimSpace(c) != "" {
			return false
		}
	}
	return true
}

// rowError is a row that cannot be taken apart.
type rowError struct {
	line    int
	message string
}

func (e *rowError) Error() string { return e.message }

// rowReader takes a table apart. It reads what RFC 4180 describes, with any of three separators, and rows
// ended by CRLF, LF or CR. A quotation mark inside a cell that does not begin with one stands for itself.
// What is inside quotation marks is kept to the byte, ends of lines too.
type rowReader struct {
	text string
	sep  byte
	line int // of what comes next
}

func newRowReader(text string, sep byte) *rowReader { return &rowReader{text: text, sep: sep, line: 1} }

// next returns the next row, and whether there was one. After an error there is no more.
func (r *rowReader) next() (row, bool, *rowError) {
	if r.text == "" {
		return row{}, false, nil
	}
	out := row{line: r.line}
	for {
		cell, end, err := r.cell()
		if err != nil {
			r.text = ""
			return row{}, false, err
		}
		out.cells = append(out.cells, cell)
		if end {
			return out, true, nil
		}
	}
}

// cell takes one cell and the separator or end of row behind it.
func (r *rowReader) cell() (cell string, end bool, err *rowError) {
	if strings.HasPrefix(r.text, `"`) {
		if cell, err = r.quotedCell(); err != nil {
			return "", false, err
		}
	} else {
		at := strings.IndexAny(r.text, string(r.sep)+"\r\n")
		if at < 0 {
			at = len(r.text)
		}
		cell, r.text = r.text[:at], r.text[at:]
	}
	switch {
	case r.text == "":
		return cell, true, nil
	case r.text[0] == r.sep:
		r.text = r.text[1:]
		return cell, false, nil
	case strings.HasPrefix(r.text, "\r\n"):
		r.text = r.text[2:]
	case r.text[0] == '\n' || r.text[0] == '\r':
		r.text = r.text[1:]
	default:
		return "", false, &rowError{r.line, "there is something behind a closing quotation mark; put the whole cell in quotation marks and double those inside it"}
	}
	r.line++
	return cell, true, nil
}

func (r *rowReader) quotedCell() (string, *rowError) {
	opened := r.line
	rest := r.text[1:]
	var doubled bool
	for from := 0; ; {
		at := strings.IndexByte(rest[from:], '"')
		if at < 0 {
			return "", &rowError{opened, "a quotation mark is opened here and never closed; close it, or take it out"}
		}
		at += from
		if strings.HasPrefix(rest[at+1:], `"`) {
			doubled = true
			from = at + 2
			continue
		}
		cell := rest[:at]
		r.text = rest[at+1:]
		r.line += lineEnds(cell)
		if doubled {
			cell = strings.ReplaceAll(cell, `""`, `"`)
		}
		return cell, nil
	}
}

// lineEnds counts the ends of lines, CRLF as one.
func lineEnds(s string) int {
	return strings.Count(s, "\n") + strings.Count(s, "\r") - strings.Count(s, "\r\n")
}

// decodeText checks that bytes are a text in UTF-8, and takes off the mark that some programs put in front.
func decodeText(data []byte) (string, *rowError) {
	if bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || bytes.HasPrefix(data, []byte{0xFE, 0xFF}) {
		return "", &rowError{0, utf16Message}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if at := bytes.IndexByte(data, 0); at >= 0 {
		// Plain letters in UTF-16 are every second byte zero.
		if head := data[:min(len(data), 200)]; len(head) > 3 && 3*bytes.Count(head, []byte{0}) > len(head) {
			return "", &rowError{0, utf16Message}
		}
		return "", &rowError{lineAt(data, at), "there is a zero byte in this line, so this is no plain table; save it again as CSV"}
	}
	if !utf8.Valid(data) {
		at := 0
		for at < len(data) {
			r, n := utf8.DecodeRune(data[at:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			at += n
		}
		return "", &rowError{lineAt(data, at), "a letter in this line cannot be read; save the table again as “CSV UTF-8”"}
	}
	return string(data), nil
}

const utf16Message = "the file is written in UTF-16, which is not read here; save it again as “CSV UTF-8”"

func lineAt(data []byte, at int) int { return 1 + lineEnds(string(data[:at])) }

// separators, in the order in which a tie is decided: a tab is hardly ever part of a header.
var separators = []byte{'\t', ';', ','}

// sniff finds the separator from the first row that is not blank: the one with which score is highest,
// and among equals the one that occurs most.
func sniff(text string, score func(cells []string) int) byte {
	best, bestScore, bestCells := byte(','), -1, 0
	for _, sep := range separators {
		r := newRowReader(text, sep)
		head, ok, err := firstRow(r)
		if !ok || err != nil {
			continue
		}
		s, n := score(head.cells), len(head.cells)
		if s > bestScore || (s == bestScore && n > bestCells) {
			best, bestScore, bestCells = sep, s, n
		}
	}
	return best
}

// firstRow returns the first row that is not blank.
func firstRow(r *rowReader) (row, bool, *rowError) {
	for {
		head, ok, err := r.next()
		if !ok || err != nil || !head.blank() {
			return head, ok, err
		}
	}
}

// fit brings a row to the number of cells of its header. Empty cells too many at the end do no harm.
func (r row) fit(n int) (row, *rowError) {
	for len(r.cells) > n && strings.TrimSpace(r.cells[len(r.cells)-1]) == "" {
		r.cells = r.cells[:len(r.cells)-1]
	}
	if len(r.cells) != n {
		return r, &rowError{r.line, fmt.Sprintf("this row has %s and the header has %d; look for a separator too many or too few", cellCount(len(r.cells)), n)}
	}
	return r, nil
}

func cellCount(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return fmt.Sprintf("%d cells", n)
}
