package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What can be wrong with a folder, its file or its disk. A *Fault wraps one of them.
var (
	ErrMissing     = errors.New("there is no room")
	ErrLocked      = errors.New("the room is in use")
	ErrNotRoom     = errors.New("not a room")
	ErrOtherRoom   = errors.New("another room")
	ErrTooNew      = errors.New("written by a later version")
	ErrTooOld      = errors.New("written by an earlier version")
	ErrNotWritable = errors.New("not writable")
	ErrFull        = errors.New("no space left")
	ErrDamaged     = errors.New("damaged")
	ErrExists      = errors.New("exists already")
	ErrBusy        = errors.New("busy")
)

// Fault is a fault of the folder, the file or the disk, in a sentence fit to show.
type Fault struct {
	Kind    error  // one of the errors above
	Message string // what, where, how to mend
	Err     error  // the cause, for the log; may be nil
}

func (f *Fault) Error() string { return f.Message }

// Unwrap gives the kind and the cause.
func (f *Fault) Unwrap() []error {
	if f.Err == nil {
		return []error{f.Kind}
	}
	return []error{f.Kind, f.Err}
}

func fault(kind, cause error, format string, args ...any) *Fault {
	return &Fault{Kind: kind, Message: fmt.Sprintf(format, args...), Err: cause}
}

// explain turns an error of SQLite or of the file system about path into a Fault where a sentence helps.
// Errors that it does not know come back with their own words. A nil error stays nil.
func explain(err error, path string) error {
	if err == nil {
		return nil
	}
	var known *Fault
	if errors.As(err, &known) {
		return err
	}
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), code(err) == sqlite3.SQLITE_FULL:
		return fault(ErrFull, err, "there is no space left for %s; nothing was written. Make space on that disk, then write it again", path)
	case extended(err) == sqlite3.SQLITE_READONLY_ROLLBACK, extended(err) == sqlite3.SQLITE_READONLY_RECOVERY:
		return fault(ErrDamaged, err, "%s was cut off while it was written; start the room once, which mends that", path)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS), code(err) == sqlite3.SQLITE_READONLY, code(err) == sqlite3.SQLITE_PERM:
		return fault(ErrNotWritable, err, "%s cannot be written; nothing was changed. See who owns it, and that the disk is not write-protected", path)
	case code(err) == sqlite3.SQLITE_CANTOPEN:
		if _, e := os.Stat(path); errors.Is(e, fs.ErrNotExist) {
			return fault(ErrMissing, err, "there is no file %s", path)
		}
		return fault(ErrNotWritable, err, "%s cannot be opened; see who owns it and its folder", path)
	case code(err) == sqlite3.SQLITE_NOTADB:
		return fault(ErrNotRoom, err, "%s is not a room of this program", path)
	case code(err) == sqlite3.SQLITE_CORRUPT:
		return fault(ErrDamaged, err, "%s is damaged. Put a backup back with restore; the damaged file is kept", path)
	case code(err) == sqlite3.SQLITE_BUSY, code(err) == sqlite3.SQLITE_LOCKED:
		return fault(ErrBusy, err, "%s is busy with another program; nothing was written. Try again in a moment", path)
	case code(err) == sqlite3.SQLITE_IOERR:
		return fault(ErrDamaged, err, "the disk failed on %s; nothing was written. Look after the disk, then restart the program", path)
	case errors.Is(err, fs.ErrNotExist):
		return fault(ErrMissing, err, "there is no file %s", path)
	}
	return fmt.Errorf("%s: %w", path, err)
}

// code is SQLite's primary result code, or 0.
func code(err error) int { return extended(err) & 0xff } // the upper bits refine it

// extended is SQLite's extended result code, or 0.
func extended(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code()
	}
	return 0
}
