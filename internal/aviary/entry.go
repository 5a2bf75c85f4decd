package aviary

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"
)

// ID names a thing or an entry: a UUID (version 7), made by whoever writes the entry.
type ID = uuid.UUID

// Entry is one fact in the journal.
type Entry struct {
	ID      ID
	Kind    Kind
	Version int       // of the body's form
	Day     Date      // the civil day on which it happened, in the room's zone
	Time    Clock     // the time of day, if it is known
	Written time.Time // when it was written down (UTC, to the millisecond)
	By      string    // who wrote it
	Batch   ID        // the step or import that it belongs to, if any: one batch, one strike
	Strikes ID        // for kind Strike: the entry or batch that is struck out
	Why     string    // the reason given for writing it against a warning
	Body    Body
}

// Body is the facts of one kind of entry. The bodies are the struct types in bodies.go; their json
// names are the columns of an exported file, and their doc tags say what each column holds.
type Body interface {
	Kind() Kind
	// subjects calls add for each subject that the entry is about.
	subjects(e *Entry, add func(Subject))
	// check says what is wrong with the body on its own, or nil.
	check() *Error
}

// compareOrder orders entries as they are folded: by civil day, time of day (none first), written, id.
func compareOrder(a, b *Entry) int {
	if c := cmp.Compare(a.Day, b.Day); c != 0 {
		return c
	}
	if c := cmp.Compare(a.Time, b.Time); c != 0 {
		return c
	}
	if c := a.Written.Compare(b.Written); c != 0 {
		return c
	}
	return bytes.Compare(a.ID[:], b.ID[:])
}

// EncodeBody returns the JSON that the journal stores for a body.
func EncodeBody(b Body) ([]byte, error) { return json.Marshal(b) }

// DecodeBody reads a stored body of the given kind and version. Unknown kinds, later versions and
// unknown fields are refused.
func DecodeBody(kind Kind, version int, data []byte) (Body, error) {
	info, ok := kinds[kind]
	if !ok {
		return nil, &Error{Code: Invalid, Field: "kind", Message: fmt.Sprintf("there is no kind of entry called %q", kind)}
	}
	if version > info.Version {
		return nil, &Error{Code: TooNew, Field: "version", Message: fmt.Sprintf("%s was written by a later version of the program (form %d, this one knows %d)", kind, version, info.Version)}
	}
	b := info.New()
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(b); err != nil {
		return nil, &Error{Code: Invalid, Field: "body", Message: fmt.Sprintf("the facts of %s cannot be read: %v", kind, err)}
	}
	return b, nil
}

// SubjectType says what sort of thing a subject is.
type SubjectType uint8

// The sorts of subject. Each has a fold of its own.
const (
	TheRoom SubjectType = iota
	ABird
	APlace
	APair
	ARing
	AGroup
	AnOdd
)

// Subject is one thing that entries are about.
type Subject struct {
	Type SubjectType
	ID   ID   // zero for the room and for a ring
	Ring Ring // for a ring only
}

// PlaceOf returns the first place that an entry is about, or the zero ID.
func PlaceOf(e *Entry) ID {
	var id ID
	e.Body.subjects(e, func(s Subject) {
		if s.Type == APlace && id == (ID{}) {
			id = s.ID
		}
	})
	return id
}
