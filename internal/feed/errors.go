package feed

import "fmt"

// Error is a figure or a line that cannot be used. Message is a sentence fit to show
// beside the field. Line and Column count from 1 and are 0 for a value that came from no
// table; Column counts cells, not letters.
type Error struct {
	Line, Column int
	Field        string
	Message      string
}

func (e *Error) Error() string {
	switch {
	case e.Line == 0:
		return e.Message
	case e.Column == 0:
		return fmt.Sprintf("line %d: %s", e.Line, e.Message)
	case e.Field == "":
		return fmt.Sprintf("line %d, column %d: %s", e.Line, e.Column, e.Message)
	}
	return fmt.Sprintf("line %d, column %d (%s): %s", e.Line, e.Column, e.Field, e.Message)
}

// Basis says what a figure rests on.
type Basis string

// The grades of a basis, from firm to loose.
const (
	Published      Basis = "published"
	Derived        Basis = "derived"         // worked out from published figures
	CommonPractice Basis = "common practice" // what keepers do; no source
	FromMemory     Basis = "from memory"     // not read again in its source
)

// Level says how much a note matters.
type Level int

// The levels of a note.
const (
	Info   Level = iota // good to know
	Warn                // act on it today
	Urgent              // act on it at once
)

// String writes the level as one word.
func (l Level) String() string { return [...]string{"info", "warn", "urgent"}[l] }

// Note is a sentence for the keeper, with what it rests on.
type Note struct {
	Level  Level
	Text   string
	Source string
}

const (
	practice = "common practice, no source"
	memory   = "from memory, not checked again"
)
