package journal

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
)

// Finding is one sentence of a report.
type Finding struct {
	Good bool
	Text string
}

// Report says what an examination of a room's file found.
type Report struct {
	Good     bool // nothing bad was found
	Entries  int
	Aside    int // entries that are set aside, to be sorted out; this is no fault of the file
	Digest   string
	Findings []Finding
}

func (r *Report) say(good bool, format string, args ...any) {
	r.Good = r.Good && good
	r.Findings = append(r.Findings, Finding{good, fmt.Sprintf(format, args...)})
}

func (r *Report) firstBad() string {
	for _, f := range r.Findings {
		if !f.Good {
			return f.Text
		}
	}
	return "the rooms differ"
}

// String returns the findings, one a line.
func (r *Report) String() string {
	var b strings.Builder
	for _, f := range r.Findings {
		mark := "good"
		if !f.Good {
			mark = "BAD "
		}
		fmt.Fprintf(&b, "%s  %s\n", mark, f.Text)
	}
	return b.String()
}

// Verify examines the room in a folder, while it is served or not, and changes nothing. An error means
// that it could not be examined at all.
func Verify(dir string) (*Report, error) {
	if err := folder(dir, false); err != nil {
		return nil, err
	}
	r, err := VerifyFile(filepath.Join(dir, FileName))
	if errors.Is(err, ErrMissing) {
		return nil, noRoom(dir, err)
	}
	return r, err
}

// VerifyFile examines one file, a room's or a backup's.
func VerifyFile(path string) (*Report, error) {
	r := &Report{Good: true}
	err := r.verify(path)
	if errors.Is(err, ErrDamaged) { // it could be examined, and this is what was found
		r.say(false, "%v", err)
		err = nil
	}
	if err != nil {
		return nil, err
	}
	return r, nil
}

func (r *Report) verify(path string) (err error) {
	j, err := openFileReadOnly(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, j.Close()) }()
	return j.verify(context.Background(), r)
}

// most is how many findings of one sort are spelt out; the rest are counted.
const most = 10

func (j *Journal) verify(ctx context.Context, r *Report) error {
	if err := j.verifyFile(ctx, r); err != nil {
		return err
	}
	entries, bad, err := j.read(ctx)
	if err != nil {
		return err
	}
	r.Entries = len(entries)
	r.list(bad, func(err error) string { return err.Error() })
	if len(bad) == 0 {
		r.say(true, "each of %d entries can be read", len(entries))
	}
	room := aviary.Replay(entries)
	r.Aside = len(room.Aside())
	r.verifyIDs(entries)
	r.verifyReferences(entries, room)
	r.verifyReplay(entries, room)
	if r.Aside > 0 {
		r.say(true, "%d of them are set aside, to be sorted out", r.Aside)
	}
	return nil
}

// verifyFile asks SQLite whether the file is whole.
func (j *Journal) verifyFile(ctx context.Context, r *Report) error {
	faults, err := j.texts(ctx, `PRAGMA integrity_check(10)`)
	if err != nil {
		return err
	}
	if len(faults) == 1 && faults[0] == "ok" {
		r.say(true, "the file is whole")
	} else {
		for _, f := range faults {
			r.say(false, "the file is damaged: %s", f)
		}
	}
	loose, err := j.texts(ctx, `SELECT "table" || ' ' || coalesce(rowid, '') || ' names a ' || parent || ' that is not there' FROM pragma_foreign_key_check`)
	if err != nil {
		return err
	}
	for _, l := range loose {
		r.say(false, "%s", l)
	}
	if len(loose) == 0 {
		r.say(true, "what the tables name is there")
	}
	guards, err := j.texts(ctx, `SELECT name FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = 'entry' ORDER BY name`)
	if err != nil {
		return err
	}
	if want := []string{"entry_is_never_changed", "entry_is_never_erased"}; slices.Equal(guards, want) {
		r.say(true, "entries are guarded against change and erasure")
	} else {
		r.say(false, "the guards against changing and erasing entries are not as they were made: %v", guards)
	}
	// The names and checksums of the file's forms were compared when it was opened.
	r.say(true, "the file has the form that this program knows (%s)", migrations[len(migrations)-1].name)
	return nil
}

func (j *Journal) texts(ctx context.Context, query string) (out []string, err error) {
	rows, err := j.db.QueryContext(ctx, query)
	if err != nil {
		return nil, explain(err, j.path)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, explain(err, j.path)
		}
		out = append(out, s)
	}
	return out, explain(rows.Err(), j.path)
}

// list spells out bad findings of one sort.
func (r *Report) list(bad []error, say func(error) string) {
	for i, err := range bad {
		if i == most {
			r.say(false, "and %d more like it", len(bad)-most)
			return
		}
		r.say(false, "%s", say(err))
	}
}

func (r *Report) verifyIDs(entries []*aviary.Entry) {
	seen := make(map[aviary.ID]bool, len(entries))
	var bad []error
	for _, e := range entries {
		if seen[e.ID] || e.ID == uuid.Nil {
			bad = append(bad, fmt.Errorf("the id %s stands twice, or is empty", e.ID))
		}
		seen[e.ID] = true
	}
	r.list(bad, error.Error)
	if len(bad) == 0 {
		r.say(true, "each entry has an id of its own")
	}
}

// verifyReferences asks whether what entries name is in the journal. An entry that is set aside because of
// what it names is no fault of the file, for it may have been written out of reach; nor is a struck one.
func (r *Report) verifyReferences(entries []*aviary.Entry, room *aviary.Room) {
	there := things{}
	for _, e := range entries {
		there.add(e)
	}
	var bad []error
	for _, e := range entries {
		missing := func(field, what string, id aviary.ID) {
			if id == uuid.Nil || there[what][id] || room.AsideWhy(e.ID) != nil || room.Struck(e.ID) {
				return
			}
			bad = append(bad, fmt.Errorf("entry %s (%s of %s) names a %s that is nowhere in the journal, under %s: %s", e.ID, e.Kind, e.Day, what, field, id))
		}
		missing("strikes", "entry", e.Strikes)
		for _, ref := range references(e.Body) {
			missing(ref.field, ref.what, ref.id)
		}
	}
	r.list(bad, error.Error)
	if len(bad) == 0 {
		r.say(true, "what the entries name is in the journal")
	}
}

// verifyReplay folds the entries in other orders of arrival, all at once and one by one.
func (r *Report) verifyReplay(entries []*aviary.Entry, room *aviary.Room) {
	r.Digest = room.Digest()
	other := slices.Clone(entries)
	rng := rand.New(rand.NewPCG(1, 2)) // any fixed order that is not the one of arrival
	rng.Shuffle(len(other), func(i, k int) { other[i], other[k] = other[k], other[i] })
	if aviary.Replay(other).Digest() != r.Digest {
		r.say(false, "the entries add up to another room when they arrive in another order; this is a fault of the program, please report it")
		return
	}
	one := aviary.NewRoom()
	for _, e := range entries {
		one.Apply(e)
	}
	if one.Digest() != r.Digest {
		r.say(false, "the entries add up to another room one by one than all at once; this is a fault of the program, please report it")
		return
	}
	r.say(true, "the entries add up to the same room in whatever order they arrive")
}
