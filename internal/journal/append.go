package journal

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
)

// row is an entry as it is stored.
type row struct {
	e    *aviary.Entry
	body []byte
}

// Append writes entries in one durable transaction: when it returns nil they are on the disk, when it
// returns an error none of them is. An entry that is there already with the same content is passed over;
// one whose id is there with other content is refused with an *aviary.Error that names it.
//
// Append knows nothing of what can and cannot be; a journal that a Book has is written through Book.Write,
// and Append panics.
func (j *Journal) Append(ctx context.Context, entries ...*aviary.Entry) error {
	if j.booked {
		panic("journal: Append past the Book that holds the room")
	}
	rows := make([]row, len(entries))
	for i, e := range entries {
		body, err := aviary.EncodeBody(e.Body)
		if err != nil {
			return &aviary.Error{Code: aviary.Invalid, Field: "body", Message: fmt.Sprintf("the facts of %s cannot be written: %v", e.Kind, err)}
		}
		rows[i] = row{e, body}
	}
	return j.append(ctx, rows)
}

func (j *Journal) append(ctx context.Context, rows []row) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if j.lock == nil {
		return fault(ErrNotWritable, nil, "%s is open for reading only", j.path)
	}
	// From here on the write is not broken off: a half-heard answer would leave it open what is on the disk.
	err := inTx(j.db, func(tx *sql.Tx) error { return insert(context.WithoutCancel(ctx), tx, rows, j.now().UnixMilli()) })
	var refused *aviary.Error
	if errors.As(err, &refused) {
		return err
	}
	return explain(err, j.path)
}

func insert(ctx context.Context, tx *sql.Tx, rows []row, received int64) (err error) {
	add, err := tx.PrepareContext(ctx, `
		INSERT INTO entry (id, kind, version, day, time, written, received, by, batch, strikes, why, body)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, add.Close()) }()
	for _, r := range rows {
		e := r.e
		res, err := add.ExecContext(ctx, e.ID[:], string(e.Kind), e.Version, e.Day.String(), e.Time.String(), e.Written.UnixMilli(), received, e.By, idOrNull(e.Batch), idOrNull(e.Strikes), e.Why, string(r.body))
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil {
			return err
		} else if n > 0 {
			continue
		}
		same, err := stored(ctx, tx, r)
		if err != nil {
			return err
		}
		if !same {
			return &aviary.Error{Code: aviary.Conflict, Field: "id", Message: fmt.Sprintf("an entry with the id %s is in the journal already and says something else; nothing was written", e.ID), With: []aviary.ID{e.ID}}
		}
	}
	return nil
}

// stored reports whether the entry that is there under the same id says the same. Who sent it and when it
// was written down do not count: a phone that sends again what it kept may have been given both by the room.
func stored(ctx context.Context, tx *sql.Tx, r row) (bool, error) {
	got, err := scan(tx.QueryRowContext(ctx, `SELECT `+columns+` FROM entry WHERE id = ?`, r.e.ID[:]))
	if err != nil {
		return false, err
	}
	e := r.e
	if got.kind != string(e.Kind) || got.day != e.Day.String() || got.time != e.Time.String() || got.why != e.Why ||
		!bytes.Equal(got.batch, idOrNull(e.Batch)) || !bytes.Equal(got.strikes, idOrNull(e.Strikes)) {
		return false, nil
	}
	if got.body == string(r.body) {
		return true, nil
	}
	// Bytes that an earlier version wrote may spell the same facts in another way.
	old, err := got.entry()
	if err != nil {
		return false, nil
	}
	body, err := aviary.EncodeBody(old.Body)
	return err == nil && bytes.Equal(body, r.body), nil
}

func idOrNull(id uuid.UUID) []byte {
	if id == uuid.Nil {
		return nil
	}
	return id[:]
}
