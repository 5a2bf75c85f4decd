package journal

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"database/sql"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"
	"golang.org/x/crypto/argon2"
	sqlite3 "modernc.org/sqlite/lib"

	"broodlight/internal/aviary"
)

// Person is somebody who may log in.
type Person struct {
	ID         aviary.ID
	Name       string
	Role       aviary.Role
	Passphrase bool // one is set
}

// Lengths of what a person types, in letters.
const (
	longestName     = 60
	shortestPhrase  = 8
	longestPhrase   = 200
	longestSetting  = 4000
	longestContact  = 1000
	sessionKeptDays = 30 // a phone that has not been used for a month logs in afresh
)

// AddPerson adds somebody. Names differ from each other, in more than the case of letters.
func (j *Journal) AddPerson(ctx context.Context, name string, role aviary.Role) (Person, error) {
	name = strings.TrimSpace(name)
	if err := plain("name", name, 1, longestName); err != nil {
		return Person{}, err
	}
	if role != aviary.Keeper && role != aviary.Helper {
		return Person{}, refuse(aviary.Invalid, "role", "%q is not a role; choose keeper or helper", string(role))
	}
	id, err := uuid.NewV7()
	if err != nil {
		return Person{}, err
	}
	_, err = j.exec(ctx, `INSERT INTO person (id, name, role, made) VALUES (?, ?, ?, ?)`, id[:], name, string(role), j.now().UnixMilli())
	if code(err) == sqlite3.SQLITE_CONSTRAINT {
		return Person{}, refuse(aviary.Conflict, "name", "there is a person called %s already; choose another name", name)
	}
	return Person{ID: id, Name: name, Role: role}, explain(err, j.path)
}

// People lists who may log in, by name.
func (j *Journal) People(ctx context.Context) (out []Person, err error) {
	rows, err := j.db.QueryContext(ctx, `SELECT id, name, role, passphrase.person IS NOT NULL FROM person LEFT JOIN passphrase ON passphrase.person = person.id ORDER BY name, id`)
	if err != nil {
		return nil, explain(err, j.path)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var p Person
		if err := rows.Scan(&p.ID, &p.Name, &p.Role, &p.Passphrase); err != nil {
			return nil, explain(err, j.path)
		}
		out = append(out, p)
	}
	return out, explain(rows.Err(), j.path)
}

// RemovePerson takes away somebody's passphrase, log-ins and place on the list. What was written stays.
// The last keeper with a passphrase stays as long as anybody else can log in, for nobody could let him in again.
func (j *Journal) RemovePerson(ctx context.Context, id aviary.ID) error {
	people, err := j.People(ctx)
	if err != nil {
		return err
	}
	keepers, others, found := 0, 0, false
	for _, p := range people {
		switch {
		case p.ID == id:
			found = true
		case p.Role == aviary.Keeper && p.Passphrase:
			keepers++
		case p.Passphrase:
			others++
		}
	}
	switch {
	case !found:
		return noPerson()
	case keepers == 0 && others > 0:
		return refuse(aviary.Conflict, "person", "this is the last keeper who can log in; set another keeper's passphrase first")
	}
	_, err = j.exec(ctx, `DELETE FROM person WHERE id = ?`, id[:])
	return explain(err, j.path)
}

// The cost of a passphrase: one pass over 64 MiB by two threads, about a tenth of a second, as
// RFC 9106, section 4, recommends where memory is scarce, with fewer passes.
const (
	argonTime    = 1
	argonMemory  = 64 * 1024 // KiB
	argonThreads = 2
	argonKey     = 32 // bytes
	argonSalt    = 16 // bytes
)

// SetPassphrase gives somebody a passphrase, and ends all his log-ins.
func (j *Journal) SetPassphrase(ctx context.Context, person aviary.ID, phrase string) error {
	if err := plain("passphrase", phrase, shortestPhrase, longestPhrase); err != nil {
		return err
	}
	salt := make([]byte, argonSalt)
	_, _ = rand.Read(salt) // never fails
	hash := phc(phrase, salt)
	err := inTx(j.db, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `INSERT INTO passphrase (person, hash, made) VALUES (?, ?, ?) ON CONFLICT (person) DO UPDATE SET hash = excluded.hash, made = excluded.made`, person[:], hash, j.now().UnixMilli()); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM session WHERE person = ?`, person[:])
		return err
	})
	if code(err) == sqlite3.SQLITE_CONSTRAINT {
		return noPerson()
	}
	return explain(err, j.path)
}

// phc hashes a passphrase and writes the hash in the PHC string format.
func phc(phrase string, salt []byte) string {
	key := argon2.IDKey([]byte(phrase), salt, argonTime, argonMemory, argonThreads, argonKey)
	b64 := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, argonMemory, argonTime, argonThreads, b64.EncodeToString(salt), b64.EncodeToString(key))
}

// CheckPassphrase reports whether a passphrase is a person's. It takes as long for a person who is not
// there or has none, and the comparison takes the same time wherever the first difference lies.
func (j *Journal) CheckPassphrase(ctx context.Context, person aviary.ID, phrase string) (bool, error) {
	var hash string
	err := j.db.QueryRowContext(ctx, `SELECT hash FROM passphrase WHERE person = ?`, person[:]).Scan(&hash)
	none := errors.Is(err, sql.ErrNoRows)
	if err != nil && !none {
		return false, explain(err, j.path)
	}
	if none {
		hash = phc("", make([]byte, argonSalt))
	}
	ok, err := matches(phrase, hash)
	return ok && !none, err
}

// matches hashes a passphrase as a PHC string says and compares.
func matches(phrase, hash string) (bool, error) {
	unread := fault(ErrDamaged, nil, "a stored passphrase cannot be read; set it again")
	parts := strings.Split(hash, "$")
	if len(parts) != 6 || parts[1] != "argon2id" || parts[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return false, unread
	}
	var memory, passes uint32
	var threads uint8
	if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &memory, &passes, &threads); err != nil || passes < 1 || threads < 1 || memory > 1<<20 {
		return false, unread
	}
	salt, err1 := base64.RawStdEncoding.DecodeString(parts[4])
	want, err2 := base64.RawStdEncoding.DecodeString(parts[5])
	if err1 != nil || err2 != nil || len(want) == 0 {
		return false, unread
	}
	if len(phrase) > 4*longestPhrase { // bytes of the longest that can have been set
		phrase = ""
	}
	got := argon2.IDKey([]byte(phrase), salt, passes, memory, threads, uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1, nil
}

// NewSession logs a person in and returns the token for the browser to keep. Only its hash is stored.
func (j *Journal) NewSession(ctx context.Context, person aviary.ID) (token string, err error) {
	token = rand.Text() // 128 random bits
	now := j.now().UnixMilli()
	_, err = j.exec(ctx, `INSERT INTO session (token, person, made, last_seen) VALUES (?, ?, ?, ?)`, tokenHash(token), person[:], now, now)
	if code(err) == sqlite3.SQLITE_CONSTRAINT {
		return "", noPerson()
	}
	if err != nil {
		return "", explain(err, j.path)
	}
	_, err = j.exec(ctx, `DELETE FROM session WHERE last_seen < ?`, now-sessionKeptDays*24*time.Hour.Milliseconds())
	return token, explain(err, j.path)
}

func tokenHash(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}

// seenEvery is how often a log-in's use is noted: each note is a write to the disk.
const seenEvery = 10 * time.Minute

// Session returns who holds a token, or false. It notes the use of the token now and then.
func (j *Journal) Session(ctx context.Context, token string) (Person, bool, error) {
	p := Person{Passphrase: true}
	var lastSeen int64
	hash := tokenHash(token)
	err := j.db.QueryRowContext(ctx, `SELECT person.id, person.name, person.role, last_seen FROM session JOIN person ON person.id = session.person WHERE token = ?`, hash).Scan(&p.ID, &p.Name, &p.Role, &lastSeen)
	if errors.Is(err, sql.ErrNoRows) {
		return Person{}, false, nil
	}
	if err != nil {
		return Person{}, false, explain(err, j.path)
	}
	idle := j.now().Sub(time.UnixMilli(lastSeen))
	if idle > sessionKeptDays*24*time.Hour {
		return Person{}, false, j.EndSession(ctx, token)
	}
	if idle >= seenEvery {
		if _, err := j.exec(ctx, `UPDATE session SET last_seen = ? WHERE token = ?`, j.now().UnixMilli(), hash); err != nil {
			return Person{}, false, explain(err, j.path)
		}
	}
	return p, true, nil
}

// EndSession logs a token out. One that is not there is good.
func (j *Journal) EndSession(ctx context.Context, token string) error {
	_, err := j.exec(ctx, `DELETE FROM session WHERE token = ?`, tokenHash(token))
	return explain(err, j.path)
}

// Setting returns a value that was kept under a name, or "".
func (j *Journal) Setting(ctx context.Context, name string) (string, error) {
	var value string
	err := j.db.QueryRowContext(ctx, `SELECT value FROM setting WHERE name = ?`, name).Scan(&value)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return value, explain(err, j.path)
}

// SetSetting keeps a value under a name; an empty value erases it.
func (j *Journal) SetSetting(ctx context.Context, name, value string) error {
	if err := plain(name, value, 0, longestSetting); err != nil {
		return err
	}
	var err error
	if value == "" {
		_, err = j.exec(ctx, `DELETE FROM setting WHERE name = ?`, name)
	} else {
		_, err = j.exec(ctx, `INSERT INTO setting (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value`, name, value)
	}
	return explain(err, j.path)
}

// Contact is somebody in the address book. A bird_left entry names the ID and nothing else.
type Contact struct {
	ID      aviary.ID
	Name    string
	Address string // how to reach him: street, telephone, mail
}

// AddContact writes somebody into the address book and returns the id to name him by.
func (j *Journal) AddContact(ctx context.Context, name, address string) (Contact, error) {
	c := Contact{Name: strings.TrimSpace(name), Address: strings.TrimSpace(address)}
	if err := plain("name", c.Name, 1, longestName); err != nil {
		return Contact{}, err
	}
	if err := plain("address", c.Address, 0, longestContact); err != nil {
		return Contact{}, err
	}
	var err error
	if c.ID, err = uuid.NewV7(); err != nil {
		return Contact{}, err
	}
	_, err = j.exec(ctx, `INSERT INTO contact (id, name, address, made) VALUES (?, ?, ?, ?)`, c.ID[:], c.Name, c.Address, j.now().UnixMilli())
	return c, explain(err, j.path)
}

// Contacts lists the address book, by name.
func (j *Journal) Contacts(ctx context.Context) (out []Contact, err error) {
	rows, err := j.db.QueryContext(ctx, `SELECT id, name, address FROM contact ORDER BY name COLLATE NOCASE, id`)
	if err != nil {
		return nil, explain(err, j.path)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var c Contact
		if err := rows.Scan(&c.ID, &c.Name, &c.Address); err != nil {
			return nil, explain(err, j.path)
		}
		out = append(out, c)
	}
	return out, explain(rows.Err(), j.path)
}

// EraseContact erases somebody from the address book: the bytes are overwritten in the file, and the
// file's log is emptied. Backups that were made before still hold them.
func (j *Journal) EraseContact(ctx context.Context, id aviary.ID) error {
	res, err := j.exec(ctx, `DELETE FROM contact WHERE id = ?`, id[:])
	if err != nil {
		return explain(err, j.path)
	}
	if n, err := res.RowsAffected(); err != nil {
		return explain(err, j.path)
	} else if n == 0 {
		return refuse(aviary.NotFound, "contact", "there is no such person in the address book")
	}
	var busy, logged, moved int
	if err := j.db.QueryRowContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`).Scan(&busy, &logged, &moved); err != nil {
		return explain(err, j.path)
	}
	return nil // when a reader holds the log open, the next write empties it
}

func (j *Journal) exec(ctx context.Context, query string, args ...any) (sql.Result, error) {
	if j.lock == nil {
		return nil, fault(ErrNotWritable, nil, "%s is open for reading only", j.path)
	}
	return j.db.ExecContext(ctx, query, args...)
}

func refuse(c aviary.Code, field, format string, args ...any) *aviary.Error {
	return &aviary.Error{Code: c, Field: field, Message: fmt.Sprintf(format, args...)}
}

func noPerson() error { return refuse(aviary.NotFound, "person", "there is no such person") }

// plain refuses text that is too short or too long, or holds what cannot be read.
func plain(field, s string, least, most int) error {
	n := utf8.RuneCountInString(s)
	switch {
	case !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return r < ' ' && r != '\n' && r != '\r' && r != '\t' }):
		return refuse(aviary.Invalid, field, "the text has letters that cannot be read; type it again")
	case n < least && least == 1:
		return refuse(aviary.Invalid, field, "fill in the %s", field)
	case n < least:
		return refuse(aviary.Invalid, field, "the %s has %d letters; it needs at least %d", field, n, least)
	case n > most:
		return refuse(aviary.Invalid, field, "the text has %d letters; at most %d fit", n, most)
	}
	return nil
}
