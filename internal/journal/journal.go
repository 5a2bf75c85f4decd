package journal

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/gofrs/flock"
	"github.com/google/uuid"
	"modernc.org/sqlite"
)

// The files of a room's folder.
const (
	FileName = "room.db"
	lockName = "room.lock"
)

// applicationID is stamped into the file's header, so that another program's file is not taken for a room: "Brd1".
const applicationID = 0x42726431

// Options say how a room is opened.
type Options struct {
	Create  bool             // make the folder and the room when they are not there
	Mark    string           // what the room must have been made as; "" is a keeper's own room
	AnyMark bool             // take the room whatever it was made as
	Program string           // this program's version, for the sentence that a later one is refused with
	Now     func() time.Time // the clock; time.Now when nil
}

// Journal is an open room.db.
type Journal struct {
	dir, path string
	db        *sql.DB
	lock      *flock.Flock // nil when read-only
	now       func() time.Time
	id        uuid.UUID
	mark      string
	made      time.Time
	booked    bool // a Book has it: entries go through the Book alone
}

// Open opens the room in a folder for reading and writing, and locks the folder until Close.
func Open(dir string, o Options) (*Journal, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if err := folder(dir, o.Create); err != nil {
		return nil, err
	}
	lock, err := lockFolder(dir)
	if err != nil {
		return nil, err
	}
	j := &Journal{dir: dir, path: filepath.Join(dir, FileName), lock: lock, now: o.Now}
	if err := j.open(o); err != nil {
		return nil, errors.Join(err, j.Close())
	}
	return j, nil
}

func (j *Journal) open(o Options) error {
	// In a mode that may write, for a file that lost its power half-way is mended by reading it.
	s, err := probe(j.path, "rw")
	switch {
	case errors.Is(err, ErrMissing):
	case err != nil:
		return err
	}
	if !s.entered && !o.Create {
		return noRoom(j.dir, err)
	}
	if s.entered && !o.AnyMark && s.mark != o.Mark {
		return otherRoom(j.dir, s.mark, o.Mark)
	}
	todo, err := s.pending(j.path, o.Program)
	if err != nil {
		return err
	}
	if len(s.applied) > 0 && len(todo) > 0 {
		if err := keepBefore(j.path, todo[0].name); err != nil {
			return err
		}
	}
	if j.db, err = openDB(j.path, "rwc", pragmas("journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)", "secure_delete(1)"), held); err != nil {
		return err
	}
	at := o.Now().UnixMilli()
	if err := bootstrap(j.db); err != nil {
		return explain(err, j.path)
	}
	if err := migrate(j.db, todo, o.Program, at); err != nil {
		return explain(err, j.path)
	}
	if err := enter(j.db, o.Mark, at); err != nil {
		return explain(err, j.path)
	}
	if !s.entered {
		// The names of fresh files must outlive a power cut as well as their content does.
		if err := syncFolder(j.dir); err != nil {
			return explain(err, j.dir)
		}
	}
	return j.identify()
}

// OpenReadOnly opens the room in a folder for reading, whether or not it is served at the moment.
func OpenReadOnly(dir string) (*Journal, error) {
	if err := folder(dir, false); err != nil {
		return nil, err
	}
	j, err := openFileReadOnly(filepath.Join(dir, FileName))
	if errors.Is(err, ErrMissing) {
		return nil, noRoom(dir, err)
	}
	return j, err
}

// openFileReadOnly opens one file, a room's or a backup's.
func openFileReadOnly(path string) (*Journal, error) {
	s, err := probe(path, readModes...)
	if err != nil {
		return nil, err
	}
	todo, err := s.pending(path, "")
	if err != nil {
		return nil, err
	}
	if len(todo) > 0 || !s.entered {
		return nil, fault(ErrTooOld, nil, "%s was written by an earlier version (%s); start that room once with this program, which keeps a copy and brings it up to date", path, s.program())
	}
	j := &Journal{dir: filepath.Dir(path), path: path, now: time.Now}
	if j.db, err = openDB(path, s.mode, pragmas("foreign_keys(1)"), nil); err != nil {
		return nil, err
	}
	if err := j.identify(); err != nil {
		return nil, errors.Join(err, j.Close())
	}
	return j, nil
}

func (j *Journal) identify() error {
	var made int64
	err := j.db.QueryRow(`SELECT id, mark, made FROM room`).Scan(&j.id, &j.mark, &made)
	j.made = time.UnixMilli(made).UTC()
	return explain(err, j.path)
}

// Close lets go of the file and the folder.
func (j *Journal) Close() error {
	var err error
	if j.db != nil {
		err = j.db.Close()
	}
	if j.lock != nil {
		err = errors.Join(err, j.lock.Unlock())
	}
	return err
}

// Dir returns the room's folder.
func (j *Journal) Dir() string { return j.dir }

// ID names this room; a copy of it keeps the id.
func (j *Journal) ID() uuid.UUID { return j.id }

// Mark says what the room was made as; "" for a keeper's own room.
func (j *Journal) Mark() string { return j.mark }

// Made says when the room was made.
func (j *Journal) Made() time.Time { return j.made }

// folder sees to it that dir is a folder, and makes it if asked to.
func folder(dir string, create bool) error {
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist) && create:
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return explain(err, dir)
		}
		return nil
	case errors.Is(err, fs.ErrNotExist):
		return fault(ErrMissing, err, "there is no folder %s", dir)
	case err != nil:
		return explain(err, dir)
	case !info.IsDir():
		return fault(ErrMissing, nil, "%s is a file; name the folder that holds the room", dir)
	}
	return nil
}

func noRoom(dir string, cause error) error {
	return fault(ErrMissing, cause, "there is no room in %s (no file %s)", dir, FileName)
}

func otherRoom(dir, is, want string) error {
	name := func(mark string) string {
		if mark == "" {
			return "a keeper's own room"
		}
		return "a " + mark + " room"
	}
	return fault(ErrOtherRoom, nil, "%s holds another room (it is %s, not %s); name another folder", dir, name(is), name(want))
}

// lockFolder takes the lock that one writing program at a time holds.
func lockFolder(dir string) (*flock.Flock, error) {
	lock := flock.New(filepath.Join(dir, lockName))
	ok, err := lock.TryLock()
	if err != nil {
		return nil, explain(err, lock.Path())
	}
	if !ok {
		return nil, fault(ErrLocked, nil, "the room in %s is in use by another window of this program; close that one first", dir)
	}
	return lock, nil
}

// pragmas are set by the driver on each pooled connection as it is opened.
func pragmas(list ...string) []string { return append([]string{"busy_timeout(5000)"}, list...) }

// dsn names a file to the driver. mode is SQLite's: ro, rw, rwc, or immutable.
func dsn(path, mode string, pragmas []string) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	slashed := filepath.ToSlash(abs)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed // a drive letter
	}
	q := url.Values{"_pragma": pragmas, "_txlock": {"immediate"}, "mode": {mode}}
	if mode == "immutable" {
		q.Set("mode", "ro")
		q.Set("immutable", "1")
	}
	return (&url.URL{Scheme: "file", Path: slashed, RawQuery: q.Encode()}).String(), nil
}

// openDB opens a pool. Each of its connections is examined once by check, unless that is nil.
func openDB(path, mode string, pragmas []string, check func(context.Context, driver.Conn) error) (*sql.DB, error) {
	name, err := dsn(path, mode, pragmas)
	if err != nil {
		return nil, err
	}
	c, err := sqlite.NewConnector(name)
	if err != nil {
		return nil, err
	}
	db := sql.OpenDB(checked{c, check})
	if err := db.Ping(); err != nil {
		return nil, explain(errors.Join(err, db.Close()), path)
	}
	return db, nil
}

// checked examines each connection before the pool has it.
type checked struct {
	driver.Connector
	check func(context.Context, driver.Conn) error
}

func (c checked) Connect(ctx context.Context) (driver.Conn, error) {
	conn, err := c.Connector.Connect(ctx)
	if err != nil || c.check == nil {
		return conn, err
	}
	if err := c.check(ctx, conn); err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	return conn, nil
}

// held are the settings that durability rests on; a connection without them is not used.
func held(ctx context.Context, conn driver.Conn) error {
	for _, want := range []struct {
		pragma string
		value  driver.Value
	}{{"synchronous", int64(2)}, {"foreign_keys", int64(1)}, {"journal_mode", "wal"}} {
		got, err := pragmaValue(ctx, conn, want.pragma)
		if err != nil {
			return err
		}
		if got != want.value {
			return fmt.Errorf("journal: a connection has %s %v, not %v", want.pragma, got, want.value)
		}
	}
	return nil
}

func pragmaValue(ctx context.Context, conn driver.Conn, name string) (driver.Value, error) {
	rows, err := conn.(driver.QueryerContext).QueryContext(ctx, "PRAGMA "+name, nil)
	if err != nil {
		return nil, err
	}
	row := make([]driver.Value, 1)
	if err := rows.Next(row); err != nil && !errors.Is(err, io.EOF) {
		return nil, errors.Join(err, rows.Close())
	}
	return row[0], rows.Close()
}

// syncFolder makes the names in a folder outlive a power cut, where the system can do that.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = d.Sync()
	if unsupported := errors.Is(err, errors.ErrUnsupported) || errors.Is(err, fs.ErrInvalid) || errors.Is(err, fs.ErrPermission); unsupported {
		err = nil // systems that cannot sync a folder write its names through
	}
	return errors.Join(err, d.Close())
}

// state is what a file says of itself before anything is done to it.
type state struct {
	applied []applied
	entered bool // the room table has its row
	mark    string
	mode    string // in which the file could be opened for reading
}

type applied struct{ name, checksum, program string }

func (s state) program() string {
	if n := len(s.applied); n > 0 && s.applied[n-1].program != "" {
		return s.applied[n-1].program
	}
	return "not named"
}

// readModes are the modes in which a file is opened by who only reads, in the order in which they are tried.
// A file on a disk that cannot be written needs no lock.
var readModes = []string{"ro", "immutable"}

// probe looks at what a file says of itself.
func probe(path string, modes ...string) (state, error) {
	info, err := os.Stat(path)
	if err != nil {
		return state{}, explain(err, path)
	}
	if info.IsDir() {
		return state{}, fault(ErrNotRoom, nil, "%s is a folder, not a room's file", path)
	}
	if info.Size() == 0 {
		return state{}, nil // made, and nothing written into it yet
	}
	var s state
	for _, mode := range modes {
		if mode == "immutable" && (holds(path+"-wal") || holds(path+"-journal")) {
			break // part of the file is in its log, which this mode does not read
		}
		if s, err = probeAs(path, mode); err == nil || !(errors.Is(err, ErrNotWritable) || errors.Is(err, ErrMissing)) {
			break
		}
	}
	return s, err
}

// holds reports whether there is a file with something in it.
func holds(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Size() > 0
}

func probeAs(path, mode string) (s state, err error) {
	db, err := openDB(path, mode, pragmas(), nil)
	if err != nil {
		return s, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	s.mode = mode
	var app, tables int
	var has struct{ migration, room bool }
	if err := db.QueryRow(`PRAGMA application_id`).Scan(&app); err != nil {
		return s, explain(err, path)
	}
	if err := db.QueryRow(`SELECT count(*), count(*) FILTER (WHERE name = 'migration'), count(*) FILTER (WHERE name = 'room') FROM sqlite_schema WHERE type = 'table'`).Scan(&tables, &has.migration, &has.room); err != nil {
		return s, explain(err, path)
	}
	if app == 0 && tables == 0 {
		return s, nil // a file that was made, and the program was stopped there
	}
	if app != applicationID || !has.migration {
		return s, fault(ErrNotRoom, nil, "%s is not a room of this program", path)
	}
	rows, err := db.Query(`SELECT name, checksum, program FROM migration ORDER BY name`)
	if err != nil {
		return s, explain(err, path)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var a applied
		if err := rows.Scan(&a.name, &a.checksum, &a.program); err != nil {
			return s, explain(err, path)
		}
		s.applied = append(s.applied, a)
	}
	if err := rows.Err(); err != nil {
		return s, explain(err, path)
	}
	if has.room {
		switch err := db.QueryRow(`SELECT mark FROM room`).Scan(&s.mark); {
		case err == nil:
			s.entered = true
		case !errors.Is(err, sql.ErrNoRows):
			return s, explain(err, path)
		}
	}
	return s, nil
}

// pending lists the migrations that are still to be run, in order. A file that a later version wrote, or
// one whose migrations are not this program's, is refused.
func (s state) pending(path, program string) ([]migration, error) {
	if program == "" {
		program = "not named"
	}
	known := migrations
	for i, a := range s.applied {
		at := slices.IndexFunc(known, func(m migration) bool { return m.name == a.name })
		switch {
		case at < 0:
			return nil, fault(ErrTooNew, nil, "%s was written by version %s of the program (form %s); this program is version %s and knows forms up to %s. Use that version or a later one", path, s.program(), s.applied[len(s.applied)-1].name, program, known[len(known)-1].name)
		case at != i || known[at].checksum != a.checksum:
			return nil, fault(ErrDamaged, nil, "the form %s of %s is not the one that this program knows; the file was made by a changed copy of the program, or is damaged", a.name, path)
		}
	}
	return known[len(s.applied):], nil
}
