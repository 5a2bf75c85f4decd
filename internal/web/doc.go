// Package web shows the room in a browser and takes in what people write there.
//
// # What it answers
//
// New returns the handler of the whole site; HTTPServer puts it behind timeouts. Every page works with forms alone:
// POST, redirect, GET. A form that is refused comes back filled in, with the message beside its field.
//
// # Shapes
//
// One handler a file, named noun_verb.go, and its template templates/noun_verb.html. A handler is a func(*visit) error:
// a visit is one request of a known person. What is due, what a nest holds, what is warned of comes from package advice; what
// may be written is decided by journal.Book.Write. No rule of the trade lives here.
//
// # People
//
// On loopback there is one keeper and no log-in. Opened to the local network every request needs a session. A route says
// whether a helper may use it; what a helper may write is decided once more at the journal's door.
//
// # Errors
//
// An *aviary.Error is shown to the person, beside its field when a form can be shown again. A *journal.Fault is a fault of the
// disk and is shown and logged. Anything else is logged, and the page says that something went wrong.
package web
