package journal

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/uuid"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// migration is one step of the file's form. One that was released is never edited.
type migration struct{ name, sql, checksum string }

// migrations are this program's steps, in name order.
var migrations = mustMigrations(migrationFiles)

func mustMigrations(files fs.FS) []migration {
	names, err := fs.Glob(files, "migrations/*.sql") // in name order
	if err != nil {
		panic("journal: " + err.Error())
	}
	var out []migration
	for _, name := range names {
		text, err := fs.ReadFile(files, name)
		if err != nil {
			panic("journal: " + err.Error())
		}
		sum := sha256.Sum256(text)
		out = append(out, migration{strings.TrimSuffix(filepath.Base(name), ".sql"), string(text), hex.EncodeToString(sum[:])})
	}
	return out
}

// bootstrap makes the table that the steps are noted in.
func bootstrap(db *sql.DB) error {
	return inTx(db, func(tx *sql.Tx) error {
		_, err := tx.Exec(fmt.Sprintf(`
			CREATE TABLE IF NOT EXISTS migration (
				name     TEXT    NOT NULL PRIMARY KEY,
				checksum TEXT    NOT NULL,
				program  TEXT    NOT NULL,
				applied  INTEGER NOT NULL
			) STRICT;
			PRAGMA application_id = %d`, applicationID))
		return err
	})
}

// migrate runs steps, each in a transaction of its own.
func migrate(db *sql.DB, steps []migration, program string, at int64) error {
	for _, m := range steps {
		err := inTx(db, func(tx *sql.Tx) error {
			if _, err := tx.Exec(m.sql); err != nil {
				return err
			}
			_, err := tx.Exec(`INSERT INTO migration (name, checksum, program, applied) VALUES (?, ?, ?, ?)`, m.name, m.checksum, program, at)
			return err
		})
		if err != nil {
			return fmt.Errorf("bringing the file to form %s: %w", m.name, err)
		}
	}
	return nil
}

// enter gives a fresh room its id.
func enter(db *sql.DB, mark string, at int64) error {
	id, err := uuid.NewV7()
	if err != nil {
		return err
	}
	_, err = db.Exec(`INSERT INTO room (one, id, mark, made) VALUES (1, ?, ?, ?) ON CONFLICT (one) DO NOTHING`, id[:], mark, at)
	return err
}

// keepBefore copies a room's file before its form is changed, as room-before-NAME.db. A copy that is
// there already, from a start that did not end well, is good.
func keepBefore(path, name string) error {
	out := filepath.Join(filepath.Dir(path), "room-before-"+name+".db")
	if _, err := os.Lstat(out); err == nil {
		return nil
	}
	return copyOnline(context.Background(), path, out, nil)
}

func inTx(db *sql.DB, do func(*sql.Tx) error) error {
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	if err := do(tx); err != nil {
		_ = tx.Rollback() // the first error says more, and what is not committed is not there
		return err
	}
	return tx.Commit()
}
