package journal

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
)

// asNobody runs fn without the right to write what others own. The system keeps that right by the thread.
func asNobody(t *testing.T, fn func()) {
	t.Helper()
	if os.Geteuid() != 0 {
		fn()
		return
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread() // and never unlock: the thread ends with this goroutine
		const nobody = 65534
		if err := syscall.Setfsuid(nobody); err != nil {
			t.Error(err)
			return
		}
		fn()
	}()
	<-done
}

// modes sets the modes of a folder and what is in it, and puts them back after the test.
func modes(t *testing.T, dir string, folder, file os.FileMode) {
	t.Helper()
	must(t, os.Chmod(filepath.Dir(dir), 0o755))
	list, err := os.ReadDir(dir)
	must(t, err)
	for _, f := range list {
		must(t, os.Chmod(filepath.Join(dir, f.Name()), file))
	}
	must(t, os.Chmod(dir, folder))
	t.Cleanup(func() { _ = os.Chmod(dir, 0o700) })
}

func TestAnomaly_FileThatCannotBeWritten(t *testing.T) {
	for _, c := range []struct {
		name         string
		folder, file os.FileMode
		kind         error
	}{
		{"a folder and file to be read only", 0o555, 0o444, ErrNotWritable},
		{"a file to be read only", 0o777, 0o444, ErrNotWritable},
		{"a file that cannot be read", 0o777, 0o000, ErrNotWritable},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir, entries := smallRoom(t)
			modes(t, dir, c.folder, c.file)
			asNobody(t, func() {
				j, err := Open(dir, Options{Create: true})
				if err == nil {
					_ = j.Close()
				}
				if !errors.Is(err, c.kind) {
					t.Errorf("open: %v", err)
				}
				r, err := Verify(dir)
				if c.file == 0 {
					if !errors.Is(err, ErrNotWritable) {
						t.Errorf("verify: %v", err)
					}
					return
				}
				if err != nil || !r.Good || r.Entries != len(entries) {
					t.Errorf("verify: %v\n%v", err, r)
				}
			})
			must(t, os.Chmod(dir, 0o700))
			if r, err := Verify(dir); err != nil || !r.Good || r.Entries != len(entries) {
				t.Errorf("afterwards: %v\n%v", err, r)
			}
		})
	}
}

func TestAnomaly_FolderThatCannotBeWritten(t *testing.T) {
	dir, _ := smallRoom(t)
	modes(t, dir, 0o755, 0o644)
	empty := t.TempDir()
	modes(t, empty, 0o555, 0o444)
	asNobody(t, func() {
		if _, err := Open(empty, Options{Create: true}); !errors.Is(err, ErrNotWritable) {
			t.Errorf("a room in it: %v", err)
		}
		if _, err := Open(filepath.Join(empty, "a", "b"), Options{Create: true}); !errors.Is(err, ErrNotWritable) {
			t.Errorf("a folder in it: %v", err)
		}
		if _, err := Backup(ctx, dir, filepath.Join(empty, "x.db")); !errors.Is(err, ErrNotWritable) {
			t.Errorf("a backup into it: %v", err)
		}
	})
}
