package aviary

import "fmt"

// Code says what kind of refusal an Error is.
type Code string

// The codes are few; an edge maps each to its own status.
const (
	Invalid  Code = "invalid"   // the form itself is wrong
	NotFound Code = "not found" // it names something that is not there
	Conflict Code = "conflict"  // it cannot be true together with another entry
	Denied   Code = "denied"    // the person's role may not write it
	TooNew   Code = "too new"   // written by a later version of the program
)

// Error is a refusal in words fit to show beside the field that it names.
type Error struct {
	Code    Code
	Field   string // the body's field (its column name), or "" for the entry as a whole
	Message string // one sentence: what, where, how to mend
	With    []ID   // the entries that it clashes with, if any
}

func (e *Error) Error() string { return e.Message }

func invalid(field, format string, args ...any) *Error {
	return &Error{Code: Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
}
