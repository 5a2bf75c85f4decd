package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite"
)

// Backup copies the room in a folder to one file, while it is served or not. The copy is written under
// another name, synced, verified, and only then given the name out; a file that is there already is never
// written over. Log-ins are left out of the copy; the rest of the private tables is in it.
func Backup(ctx context.Context, dir, out string) (*Report, error) {
	if err := folder(dir, false); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	src := filepath.Join(dir, FileName)
	s, err := probe(src, readModes...)
	switch {
	case errors.Is(err, ErrMissing):
		return nil, noRoom(dir, err)
	case err != nil:
		return nil, err
	case !s.entered:
		return nil, noRoom(dir, nil)
	}
	if _, err := s.pending(src, ""); err != nil {
		return nil, err
	}
	var report *Report
	err = copyOnline(ctx, src, out, func(part string) error {
		if report, err = VerifyFile(part); err != nil {
			return err
		}
		if !report.Good {
			return fault(ErrDamaged, nil, "the room in %s does not verify, so no backup was made of it: %s", dir, report.firstBad())
		}
		return ctx.Err()
	})
	if err != nil {
		return report, err
	}
	return report, nil
}

// copyOnline copies a room's file to out, as it stands at one moment. check looks at the copy before it
// gets its name; when it objects, nothing is left behind.
func copyOnline(ctx context.Context, src, out string, check func(part string) error) (err error) {
	if _, err := os.Lstat(out); err == nil {
		return fault(ErrExists, nil, "%s is there already; name another file", out)
	}
	part, err := partFile(out)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, clearAway(part)) }()
	if err := copyPages(ctx, src, part); err != nil {
		return err
	}
	if err := closeUp(part); err != nil {
		return err
	}
	if check != nil {
		if err := check(part); err != nil {
			return err
		}
	}
	return giveName(part, out)
}

// partFile makes an empty file beside out.
func partFile(out string) (string, error) {
	f, err := os.CreateTemp(filepath.Dir(out), "."+filepath.Base(out)+".*.part")
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return "", fault(ErrMissing, err, "there is no folder %s to write %s into", filepath.Dir(out), filepath.Base(out))
		}
		return "", explain(err, out)
	}
	return f.Name(), f.Close()
}

// clearAway removes a file that has not got its name, with what SQLite may keep beside it.
func clearAway(part string) error {
	var errs []error
	for _, end := range []string{"", "-wal", "-shm", "-journal"} {
		if err := os.Remove(part + end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// pagesAtOnce are copied between two looks at the context: 4 MB with SQLite's usual pages.
const pagesAtOnce = 1024

// copyPages copies a database page by page out of one reading transaction.
func copyPages(ctx context.Context, src, dst string) (err error) {
	s, err := probe(src, readModes...)
	if err != nil {
		return err
	}
	db, err := openDB(src, s.mode, pragmas(), nil)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	conn, err := db.Conn(ctx)
	if err != nil {
		return explain(err, src)
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	// The reading transaction holds the moment fast: whoever writes goes on, and the copy does not see it.
	tx, err := conn.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return explain(err, src)
	}
	defer func() { _ = tx.Rollback() }() // it only read
	var tables int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema`).Scan(&tables); err != nil {
		return explain(err, src)
	}
	to, err := dsn(dst, "rw", pragmas())
	if err != nil {
		return err
	}
	err = conn.Raw(func(c any) error {
		b, err := c.(interface {
			NewBackup(string) (*sqlite.Backup, error)
		}).NewBackup(to)
		if err != nil {
			return err
		}
		for more := true; more; {
			if err = ctx.Err(); err != nil {
				break
			}
			if more, err = b.Step(pagesAtOnce); err != nil {
				break
			}
		}
		return errors.Join(err, b.Finish())
	})
	return explain(err, dst)
}

// closeUp makes a copied database one file without a log beside it, without log-ins, and synced.
func closeUp(path string) error {
	db, err := openDB(path, "rw", pragmas("journal_mode(DELETE)", "synchronous(FULL)", "foreign_keys(1)", "secure_delete(1)"), nil)
	if err != nil {
		return err
	}
	err = inTx(db, func(tx *sql.Tx) error {
		var has bool
		if err := tx.QueryRow(`SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = 'session'`).Scan(&has); err != nil || !has {
			return err
		}
		_, err := tx.Exec(`DELETE FROM session`)
		return err
	})
	if err := errors.Join(err, db.Close()); err != nil {
		return explain(err, path)
	}
	return syncFile(path)
}

// syncFile waits until a file that nobody else has open is on the disk.
func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return explain(err, path)
	}
	return explain(errors.Join(f.Sync(), f.Close()), path)
}

// giveName gives a finished file its name, unless a file of that name has appeared meanwhile.
func giveName(part, out string) error {
	switch err := os.Link(part, out); {
	case err == nil:
	case errors.Is(err, fs.ErrExist):
		return fault(ErrExists, err, "%s is there already; name another file", out)
	default: // a file system without hard links
		if _, err := os.Lstat(out); err == nil {
			return fault(ErrExists, nil, "%s is there already; name another file", out)
		}
		if err := os.Rename(part, out); err != nil {
			return explain(err, out)
		}
	}
	return explain(syncFolder(filepath.Dir(out)), out)
}

// Restored says what a restore did.
type Restored struct {
	Report *Report // of the room that stands in the folder now
	Kept   string  // where the room that was there before is kept; "" when there was none
}

// Restore puts a backup into a folder, which is made if need be. A room that is in use is left alone. The
// room that was there before is kept beside it as room-replaced-TIME.db. The backup is verified before
// anything is changed, and the room again afterwards.
func Restore(from, dir string) (*Restored, error) {
	return restore(from, dir, time.Now())
}

func restore(from, dir string, now time.Time) (done *Restored, err error) {
	before, err := VerifyFile(from)
	if errors.Is(err, ErrMissing) {
		return nil, fault(ErrMissing, err, "there is no file %s to restore from", from)
	}
	if err != nil {
		return nil, err
	}
	if !before.Good {
		return nil, fault(ErrDamaged, nil, "%s does not verify, so nothing was restored: %s", from, before.firstBad())
	}
	if err := folder(dir, true); err != nil {
		return nil, err
	}
	lock, err := lockFolder(dir)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, lock.Unlock()) }()
	path := filepath.Join(dir, FileName)
	if a, errA := os.Stat(from); errA == nil {
		if b, errB := os.Stat(path); errB == nil && os.SameFile(a, b) {
			return nil, fault(ErrExists, nil, "%s is the room in that folder itself; name a backup", from)
		}
	}
	part, err := partFile(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, clearAway(part)) }()
	if err := copyFile(from, part); err != nil {
		return nil, err
	}
	done = &Restored{}
	if done.Kept, err = keepOld(path, now); err != nil {
		return nil, err
	}
	if err := os.Rename(part, path); err != nil {
		return nil, explain(err, path)
	}
	if err := explain(syncFolder(dir), dir); err != nil {
		return nil, err
	}
	if done.Report, err = VerifyFile(path); err != nil {
		return done, err
	}
	if !done.Report.Good || done.Report.Digest != before.Digest {
		return done, fault(ErrDamaged, nil, "the restored room in %s does not verify: %s", dir, done.Report.firstBad())
	}
	return done, nil
}

// copyFile copies a backup's bytes and syncs them. A file with a log beside it is copied page by page.
func copyFile(from, to string) error {
	if holds(from + "-wal") {
		if err := copyPages(context.Background(), from, to); err != nil {
			return err
		}
		return closeUp(to)
	}
	src, err := os.Open(from)
	if err != nil {
		return explain(err, from)
	}
	dst, err := os.OpenFile(to, os.O_WRONLY|os.O_TRUNC, 0)
	if err != nil {
		return explain(errors.Join(err, src.Close()), to)
	}
	_, err = io.Copy(dst, src)
	return explain(errors.Join(err, dst.Sync(), dst.Close(), src.Close()), to)
}

// keepOld gives the room's file a second name, with its log folded into it where that can be done. The
// caller replaces the first name in one step, so that there is a room in the folder at every moment.
func keepOld(path string, now time.Time) (string, error) {
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		return "", clearLog(path)
	} else if err != nil {
		return "", explain(err, path)
	}
	kept := filepath.Join(filepath.Dir(path), "room-replaced-"+now.UTC().Format("20060102-150405")+".db")
	for n := 2; ; n++ {
		if _, err := os.Lstat(kept); errors.Is(err, fs.ErrNotExist) {
			break
		}
		kept = filepath.Join(filepath.Dir(path), fmt.Sprintf("room-replaced-%s-%d.db", now.UTC().Format("20060102-150405"), n))
	}
	if db, err := openDB(path, "rw", pragmas("journal_mode(DELETE)", "synchronous(FULL)"), nil); err == nil {
		_ = db.Close() // a file too damaged for this is kept with its log beside it
	}
	if _, err := os.Lstat(path + "-wal"); err == nil {
		if err := os.Rename(path+"-wal", kept+"-wal"); err != nil {
			return "", explain(err, path)
		}
	}
	if err := clearLog(path); err != nil {
		return "", err
	}
	if err := os.Link(path, kept); err != nil {
		if err := os.Rename(path, kept); err != nil { // a file system without hard links
			return "", explain(err, path)
		}
	}
	return kept, nil
}

// clearLog removes what lies beside a room's file, lest it be taken for the log of the next one.
func clearLog(path string) error {
	for _, end := range []string{"-wal", "-shm", "-journal"} {
		if err := os.Remove(path + end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return explain(err, path)
		}
	}
	return nil
}
