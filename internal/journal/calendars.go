package journal

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"database/sql"
	"encoding/base64"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	sqlite3 "modernc.org/sqlite/lib"

	"broodlight/internal/aviary"
)

// Calendar is a secret address under which a person's calendar program reads the room's dates. Who knows its token may
// read, and nothing else; the token itself is not kept.
type Calendar struct {
	ID       aviary.ID
	Person   aviary.ID
	Name     string   // what reads it, such as "phone"; "" when not said
	Kinds    []string // of the dates that are in it; empty for all
	Made     time.Time
	LastRead time.Time // zero when it was never read
}

const (
	longestCalendar   = 60   // letters of a calendar's name
	longestKinds      = 1000 // letters of all its kinds
	calendarsOfPerson = 20   // more are a mistake; the look-up goes through all of them
	tokenBytes        = 32   // 256 random bits
	readNoted         = time.Minute
)

// AddCalendar makes an address for a person under an id of the caller's, so that a form sent twice makes one, and
// returns its token, which is shown once: only its hash is stored.
func (j *Journal) AddCalendar(ctx context.Context, id, person aviary.ID, name string, kinds []string) (token string, err error) {
	name = strings.TrimSpace(name)
	if err := plain("name", name, 0, longestCalendar); err != nil {
		return "", err
	}
	kinds = slices.Clone(kinds)
	slices.Sort(kinds)
	kinds = slices.Compact(kinds)
	if slices.ContainsFunc(kinds, func(k string) bool { return k == "" || strings.Contains(k, ",") }) {
		return "", refuse(aviary.Invalid, "kinds", "choose from the list of dates")
	}
	all := strings.Join(kinds, ",")
	if err := plain("kinds", all, 0, longestKinds); err != nil {
		return "", err
	}
	secret := make([]byte, tokenBytes)
	_, _ = rand.Read(secret) // never fails
	token = base64.RawURLEncoding.EncodeToString(secret)
	if j.lock == nil {
		return "", fault(ErrNotWritable, nil, "%s is open for reading only", j.path)
	}
	var full *aviary.Error
	err = inTx(j.db, func(tx *sql.Tx) error {
		var n int
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM calendar WHERE person = ?`, person[:]).Scan(&n); err != nil {
			return err
		}
		if n >= calendarsOfPerson {
			full = refuse(aviary.Conflict, "", "you have %d calendar addresses; revoke one that nothing reads any more", n)
			return full
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO calendar (id, token, person, name, kinds, made) VALUES (?, ?, ?, ?, ?, ?)`, id[:], tokenHash(token), person[:], name, all, j.now().UnixMilli())
		return err
	})
	switch {
	case full != nil:
		return "", full
	case code(err) != sqlite3.SQLITE_CONSTRAINT:
		return token, explain(err, j.path)
	}
	if known, err := j.Calendars(ctx, person); err != nil || !slices.ContainsFunc(known, func(c Calendar) bool { return c.ID == id }) {
		return "", errors.Join(err, noPerson())
	}
	return "", refuse(aviary.Conflict, "", "this address was made already; it is shown once. Revoke it and make another if it was not written down")
}

// Calendars lists a person's addresses, oldest first.
func (j *Journal) Calendars(ctx context.Context, person aviary.ID) (out []Calendar, err error) {
	err = j.eachCalendar(ctx, `WHERE person = ? ORDER BY made, id`, []any{person[:]}, func(c Calendar, _ []byte) { out = append(out, c) })
	return out, err
}

// FindCalendar returns the calendar that a token opens, or false. It compares the hash with that of every address
// there is, each in the same time, so that the time taken says nothing of any of them.
func (j *Journal) FindCalendar(ctx context.Context, token string) (found Calendar, ok bool, err error) {
	hash := tokenHash(token)
	err = j.eachCalendar(ctx, ``, nil, func(c Calendar, kept []byte) {
		if subtle.ConstantTimeCompare(hash, kept) == 1 {
			found, ok = c, true
		}
	})
	return found, ok, err
}

// NoteCalendarRead notes that a calendar was read now. Within a minute it is noted once: each note is a write to the disk.
func (j *Journal) NoteCalendarRead(ctx context.Context, c Calendar) error {
	if now := j.now(); now.Sub(c.LastRead) >= readNoted || now.Before(c.LastRead) {
		_, err := j.exec(ctx, `UPDATE calendar SET last_read = ? WHERE id = ?`, now.UnixMilli(), c.ID[:])
		return explain(err, j.path)
	}
	return nil
}

// RevokeCalendar ends one of a person's addresses: whoever has it reads nothing from then on.
func (j *Journal) RevokeCalendar(ctx context.Context, person, id aviary.ID) error {
	res, err := j.exec(ctx, `DELETE FROM calendar WHERE id = ? AND person = ?`, id[:], person[:])
	if err != nil {
		return explain(err, j.path)
	}
	n, err := res.RowsAffected()
	if err == nil && n == 0 {
		return refuse(aviary.NotFound, "calendar", "that address is not there; it was revoked already, or it is somebody else's")
	}
	return explain(err, j.path)
}

func (j *Journal) eachCalendar(ctx context.Context, where string, args []any, each func(c Calendar, token []byte)) (err error) {
	rows, err := j.db.QueryContext(ctx, `SELECT id, token, person, name, kinds, made, last_read FROM calendar `+where, args...)
	if err != nil {
		return explain(err, j.path)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var c Calendar
		var id, person uuid.UUID
		var token []byte
		var kinds string
		var made, read int64
		if err := rows.Scan(&id, &token, &person, &c.Name, &kinds, &made, &read); err != nil {
			return explain(err, j.path)
		}
		c.ID, c.Person, c.Made = id, person, time.UnixMilli(made).UTC()
		if kinds != "" {
			c.Kinds = strings.Split(kinds, ",")
		}
		if read != 0 {
			c.LastRead = time.UnixMilli(read).UTC()
		}
		each(c, token)
	}
	return explain(rows.Err(), j.path)
}
