package journal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
)

// Writer is who writes.
type Writer struct {
	By   string // the name that stands beside what he wrote
	Role aviary.Role
}

// Book is a journal with the room that its entries add up to, behind one lock. It is the one door for
// reading and writing while the program runs, and is safe for use by many at once.
type Book struct {
	*Journal

	mu          sync.RWMutex
	room        *aviary.Room
	there       things // what the entries made, struck or not
	lastWritten time.Time
}

// OpenBook opens a room for reading and writing and replays it.
func OpenBook(ctx context.Context, dir string, o Options) (*Book, error) {
	j, err := Open(dir, o)
	if err != nil {
		return nil, err
	}
	b, err := NewBook(ctx, j)
	if err != nil {
		return nil, errors.Join(err, j.Close())
	}
	return b, nil
}

// NewBook replays an open journal. The journal is the book's from then on.
func NewBook(ctx context.Context, j *Journal) (*Book, error) {
	entries, err := j.Entries(ctx)
	if err != nil {
		return nil, err
	}
	j.booked = true
	b := &Book{Journal: j, room: aviary.Replay(entries), there: things{}}
	for _, e := range entries {
		b.seen(e)
	}
	return b, nil
}

// Close waits for the write in progress, if any, and closes the journal.
func (b *Book) Close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.Journal.Close()
}

// Now returns the instant by the book's clock, in UTC, to the millisecond.
func (b *Book) Now() time.Time { return b.now().UTC().Truncate(time.Millisecond) }

// View calls fn with the room while nobody can change it. fn copies what it needs and returns; it must
// not keep the room, and must not call Write.
func (b *Book) View(fn func(r *aviary.Room)) {
	b.mu.RLock()
	defer b.mu.RUnlock()
	fn(b.room)
}

// Today returns the civil day in the room's zone.
func (b *Book) Today() aviary.Date {
	b.mu.RLock()
	defer b.mu.RUnlock()
	return b.today()
}

func (b *Book) today() aviary.Date {
	now := b.now()
	return aviary.DayIn(now, b.room.Zone(aviary.DayIn(now, time.UTC)))
}

// todayWith is the day in the zones that the entries set. The entries that found a room, or bring a whole one
// in, may be of a day that has not begun by the clock of the room without them.
func (b *Book) todayWith(entries []*aviary.Entry) (day aviary.Date) {
	for _, e := range entries {
		if e == nil {
			continue
		}
		s, ok := e.Body.(*aviary.RoomSet)
		if !ok || s.Zone == nil {
			continue
		}
		if loc, err := time.LoadLocation(*s.Zone); err == nil {
			day = max(day, aviary.DayIn(b.now(), loc))
		}
	}
	return day
}

// Version rises with every change of the room.
func (b *Book) Version() uint64 {
	b.mu.RLock()
	defer b.mu.RUnlock()
	return b.room.Version()
}

// Write writes entries whole or not at all: when it returns nil they are in the room and on the disk.
//
// It fills what the caller left empty: ID, Kind, Version, Day (today), Written and By. What cannot be is
// refused with an *aviary.Error, within an *aviary.RefusedAt that says which of several; so is what the
// writer's role may not write. An entry that is in the books already with the same content is passed over.
// A disk that fails is a *Fault.
func (b *Book) Write(ctx context.Context, w Writer, entries ...*aviary.Entry) error {
	return b.write(ctx, w, entries, func(own []*aviary.Entry, today aviary.Date, commit func() error) error {
		return b.room.Admit(own, today, commit)
	})
}

// Receive takes in entries that were written elsewhere and then: on a phone that was out of reach, on
// paper, in another copy of this room. It fills and refuses as Write does, but an entry that clashes with
// what is in the books, or is about something that is not there, is kept and set aside to be sorted out.
func (b *Book) Receive(ctx context.Context, w Writer, entries ...*aviary.Entry) error {
	return b.write(ctx, w, entries, func(own []*aviary.Entry, today aviary.Date, commit func() error) error {
		for i, e := range own {
			var refused *aviary.Error
			if !errors.As(b.room.Check(e, today), &refused) {
				continue
			}
			clash := refused.Code == aviary.Conflict || refused.Code == aviary.NotFound
			if !clash || b.room.Entry(e.ID) != nil {
				return &aviary.RefusedAt{Index: i, Refusal: refused}
			}
		}
		if err := commit(); err != nil {
			return err
		}
		for _, e := range own {
			b.room.Apply(e)
		}
		return nil
	})
}

func (b *Book) write(ctx context.Context, w Writer, entries []*aviary.Entry, take func(own []*aviary.Entry, today aviary.Date, commit func() error) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	today := max(b.today(), b.todayWith(entries))
	own := make([]*aviary.Entry, len(entries))
	rows := make([]row, 0, len(entries))
	for i, e := range entries {
		refuse := func(err *aviary.Error) error { return &aviary.RefusedAt{Index: i, Refusal: err} }
		var after *aviary.Entry
		if i > 0 {
			after = own[i-1]
		}
		if err := b.fill(e, after, w, today); err != nil {
			return refuse(err)
		}
		mine, body, err := reread(e)
		if err != nil {
			return refuse(err)
		}
		own[i] = mine
		if b.room.Entry(e.ID) == nil {
			rows = append(rows, row{mine, body})
		}
	}
	for i, e := range own {
		if err := b.may(w, e, own); err != nil {
			return &aviary.RefusedAt{Index: i, Refusal: err}
		}
	}
	made := things{}
	for _, e := range own {
		made.add(e)
	}
	known := func(what string, id aviary.ID) bool { return b.there[what][id] || made[what][id] }
	for i, e := range own {
		if ref, lost := nowhere(e, known); lost {
			return &aviary.RefusedAt{Index: i, Refusal: &aviary.Error{Code: aviary.NotFound, Field: ref.field, Message: fmt.Sprintf("there is no such %s in the books; write it in first", ref.what)}}
		}
	}
	if err := take(own, today, func() error {
		if len(rows) == 0 {
			return nil
		}
		return b.append(ctx, rows)
	}); err != nil {
		return err
	}
	for _, e := range own {
		b.seen(e)
	}
	return nil
}

// fill sets what the caller left empty; after is the entry before it in the same step, or nil. Of an entry that is in the books already it takes what stands there.
func (b *Book) fill(e, after *aviary.Entry, w Writer, today aviary.Date) *aviary.Error {
	if e == nil || e.Body == nil {
		return &aviary.Error{Code: aviary.Invalid, Field: "body", Message: "the entry says nothing"}
	}
	old := b.room.Entry(e.ID)
	if e.ID == uuid.Nil {
		id, err := uuid.NewV7()
		if err != nil {
			return &aviary.Error{Code: aviary.Invalid, Field: "id", Message: fmt.Sprintf("no id could be made for the entry: %v", err)}
		}
		e.ID = id
	}
	if e.Kind == "" {
		e.Kind = e.Body.Kind()
	}
	if e.Version == 0 {
		if info, ok := aviary.KindOf(e.Kind); ok {
			e.Version = info.Version
		}
	}
	if e.Day == 0 {
		e.Day = today
		if old != nil {
			e.Day = old.Day
		}
	}
	if e.Written.IsZero() {
		e.Written = b.stamp(e, after)
		if old != nil {
			e.Written = old.Written
		}
	}
	e.Written = e.Written.UTC().Truncate(time.Millisecond)
	if e.By == "" {
		e.By = w.By
		if old != nil {
			e.By = old.By
		}
	}
	return nil
}

// slip is how far the clock may be behind what was written before the book stops counting on from that.
// A clock that is set right moves by less; one that was a day or more ahead is better forgotten.
const slip = 24 * time.Hour

// stamp is the instant at which an entry is written down: the clock's, but later than whatever was written
// before. So what is written later on the same day comes later in order, also when the clock is set back a
// little, and whatever ids a caller makes. after is the entry before it in the same step, if any: with the
// same instant it comes first only if its id does.
func (b *Book) stamp(e, after *aviary.Entry) time.Time {
	at := b.Now()
	if behind := b.lastWritten.Sub(at); behind >= 0 && behind < slip {
		at = b.lastWritten.Add(time.Millisecond)
	}
	if after == nil || after.Written.Before(at) || after.Written.Sub(at) >= slip {
		return at
	}
	if bytes.Compare(after.ID[:], e.ID[:]) < 0 {
		return after.Written
	}
	return after.Written.Add(time.Millisecond)
}

// seen notes what an entry made and when it was written. What claims to be written well after now does not
// count for the latter.
func (b *Book) seen(e *aviary.Entry) {
	b.there.add(e)
	if written := e.Written; written.After(b.lastWritten) && written.Sub(b.Now()) < slip {
		b.lastWritten = written
	}
}

// reread gives a copy that is the caller's no longer, as it comes back from the disk, and its bytes.
func reread(e *aviary.Entry) (*aviary.Entry, []byte, *aviary.Error) {
	bad := func(err error) (*aviary.Entry, []byte, *aviary.Error) {
		var known *aviary.Error
		if !errors.As(err, &known) {
			known = &aviary.Error{Code: aviary.Invalid, Field: "body", Message: fmt.Sprintf("the facts of %s cannot be written: %v", e.Kind, err)}
		}
		return nil, nil, known
	}
	body, err := aviary.EncodeBody(e.Body)
	if err != nil {
		return bad(err)
	}
	own := *e
	if own.Body, err = aviary.DecodeBody(e.Kind, e.Version, body); err != nil {
		return bad(err)
	}
	return &own, body, nil
}

// may says what a writer's role keeps him from, or nil. together are the entries written with e.
func (b *Book) may(w Writer, e *aviary.Entry, together []*aviary.Entry) *aviary.Error {
	denied := func(field, format string, args ...any) *aviary.Error {
		return &aviary.Error{Code: aviary.Denied, Field: field, Message: fmt.Sprintf(format, args...)}
	}
	label := string(e.Kind)
	if info, ok := aviary.KindOf(e.Kind); ok {
		label = info.Label
	}
	switch w.Role {
	case aviary.Keeper:
		return nil
	case aviary.Helper:
	default:
		return denied("", "log in to write in this room")
	}
	if !aviary.MayWrite(w.Role, e.Kind) {
		return denied("kind", "a helper cannot write %q; ask the keeper", label)
	}
	if e.By != w.By {
		return denied("by", "a helper writes under his own name only")
	}
	if old := b.room.Entry(e.ID); old != nil && old.By != w.By {
		return denied("id", "an entry with this id was written by %s", old.By)
	}
	if e.Batch != uuid.Nil {
		for _, x := range b.under(e.Batch, together) {
			if x.By != w.By {
				return denied("batch", "a helper cannot add to a step that %s wrote", x.By)
			}
		}
	}
	if e.Strikes == uuid.Nil {
		return nil
	}
	targets := b.under(e.Strikes, together)
	if len(targets) == 0 {
		return &aviary.Error{Code: aviary.NotFound, Field: "strikes", Message: "there is no such entry to strike out"}
	}
	for _, x := range targets {
		switch {
		case x.By != w.By:
			return denied("strikes", "a helper strikes out only what he wrote himself; this was written by %s", x.By)
		case !aviary.MayWrite(w.Role, x.Kind):
			return denied("strikes", "a helper cannot strike out %q; ask the keeper", x.Kind)
		}
	}
	return nil
}

// under lists the entries that an id names: the entry, or those of the batch, in the books or written now.
func (b *Book) under(id aviary.ID, together []*aviary.Entry) []*aviary.Entry {
	out := b.room.Batch(id)
	if e := b.room.Entry(id); e != nil {
		out = append(out, e)
	}
	for _, e := range together {
		if e.ID == id || e.Batch == id {
			out = append(out, e)
		}
	}
	return out
}
