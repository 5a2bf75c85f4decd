package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"runtime"
	"sync"
	"time"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
)

// columns of an entry, in the order in which scan takes them.
const columns = `id, kind, version, day, time, written, by, batch, strikes, why, body`

// line is an entry as it is read, before its parts are made out.
type line struct {
	id, batch, strikes []byte
	kind, day, time    string
	version            int
	written            int64
	by, why            string
	body               string
}

func scan(r interface{ Scan(...any) error }) (l line, err error) {
	err = r.Scan(&l.id, &l.kind, &l.version, &l.day, &l.time, &l.written, &l.by, &l.batch, &l.strikes, &l.why, &l.body)
	return l, err
}

// entry makes out the parts. An error names the entry.
func (l line) entry() (*aviary.Entry, error) {
	e := &aviary.Entry{Kind: aviary.Kind(l.kind), Version: l.version, Written: time.UnixMilli(l.written).UTC(), By: l.by, Why: l.why}
	copy(e.ID[:], l.id)
	copy(e.Batch[:], l.batch)
	copy(e.Strikes[:], l.strikes)
	if info, ok := aviary.KindOf(e.Kind); ok {
		e.Kind = info.Kind // one copy of the word for all
	}
	bad := func(err error) (*aviary.Entry, error) {
		var known *aviary.Error
		if errors.As(err, &known) {
			return nil, &aviary.Error{Code: known.Code, Field: known.Field, Message: fmt.Sprintf("entry %s: %s", e.ID, known.Message), With: []aviary.ID{e.ID}}
		}
		return nil, &aviary.Error{Code: aviary.Invalid, Message: fmt.Sprintf("entry %s: %v", e.ID, err), With: []aviary.ID{e.ID}}
	}
	if err := e.Day.UnmarshalText([]byte(l.day)); err != nil {
		return bad(err)
	}
	if err := e.Time.UnmarshalText([]byte(l.time)); err != nil {
		return bad(err)
	}
	var err error
	if e.Body, err = aviary.DecodeBody(e.Kind, e.Version, []byte(l.body)); err != nil {
		return bad(err)
	}
	return e, nil
}

// span is how many entries one reader takes at a time.
const span = 4096

// Entries reads all entries, in order of arrival. It reads on several connections at once; since rows are
// only ever added, all of them see the entries that were there at the start.
func (j *Journal) Entries(ctx context.Context) ([]*aviary.Entry, error) {
	out, bad, err := j.read(ctx)
	if err == nil && len(bad) > 0 {
		err = bad[0]
	}
	if err != nil {
		return nil, err
	}
	return out, nil
}

// read gives the entries that can be made out, and an error for each one that cannot.
func (j *Journal) read(ctx context.Context) (entries []*aviary.Entry, bad []error, err error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var last int64
	if err := j.db.QueryRowContext(ctx, `SELECT coalesce(max(seq), 0) FROM entry`).Scan(&last); err != nil {
		return nil, nil, explain(err, j.path)
	}
	type part struct {
		entries []*aviary.Entry
		bad     []error
		err     error
	}
	parts := make([]part, (last+span-1)/span)
	todo := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), 4) { // more connections than this gain nothing on one file
		wg.Go(func() {
			names := map[string]string{}
			for i := range todo {
				p := &parts[i]
				p.entries, p.bad, p.err = j.part(ctx, int64(i)*span, min(last, int64(i+1)*span), names)
				if p.err != nil {
					cancel()
				}
			}
		})
	}
	for i := range parts {
		todo <- i
	}
	close(todo)
	wg.Wait()
	n := 0
	for _, p := range parts {
		if p.err != nil && (err == nil || errors.Is(err, context.Canceled)) {
			err = p.err
		}
		n += len(p.entries)
	}
	if err != nil {
		return nil, nil, explain(err, j.path)
	}
	entries = make([]*aviary.Entry, 0, n)
	for _, p := range parts {
		entries = append(entries, p.entries...)
		bad = append(bad, p.bad...)
	}
	return entries, bad, nil
}

// part reads the entries after one seq up to another. Names are kept once in names.
func (j *Journal) part(ctx context.Context, after, upTo int64, names map[string]string) (out []*aviary.Entry, bad []error, err error) {
	rows, err := j.db.QueryContext(ctx, `SELECT `+columns+` FROM entry WHERE seq > ? AND seq <= ? ORDER BY seq`, after, upTo)
	if err != nil {
		return nil, nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	out = make([]*aviary.Entry, 0, upTo-after)
	for rows.Next() {
		l, err := scan(rows)
		if err != nil {
			return nil, nil, err
		}
		if known, ok := names[l.by]; ok {
			l.by = known
		} else {
			names[l.by] = l.by
		}
		e, err := l.entry()
		if err != nil {
			bad = append(bad, err)
			continue
		}
		out = append(out, e)
	}
	return out, bad, rows.Err()
}

// Received says when the room took an entry in.
func (j *Journal) Received(ctx context.Context, id uuid.UUID) (time.Time, error) {
	var ms int64
	err := j.db.QueryRowContext(ctx, `SELECT received FROM entry WHERE id = ?`, id[:]).Scan(&ms)
	if errors.Is(err, sql.ErrNoRows) {
		return time.Time{}, &aviary.Error{Code: aviary.NotFound, Field: "id", Message: fmt.Sprintf("there is no entry %s in the journal", id)}
	}
	return time.UnixMilli(ms).UTC(), explain(err, j.path)
}
