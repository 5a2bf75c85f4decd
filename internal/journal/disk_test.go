package journal

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"unsafe"

	"modernc.org/libc"
	sqlite3 "modernc.org/sqlite/lib"
)

// disk stands between SQLite and the files under one folder. It hands every write, truncation, sync and
// deletion on to the real file and keeps a list of them, from which the files can be rebuilt as a disk that
// lost its power at any of these moments may hold them: what was synced is there, of what was not, any part.
//
// It is a VFS shim: a copy of SQLite's own VFS whose xOpen and xDelete, and whose files' xWrite, xTruncate,
// xSync and xClose, are replaced. That each xSync ends in the system's fsync is SQLite's own doing and is
// not seen from here.
type disk struct {
	dir string

	mu     sync.Mutex
	events []event
	files  map[uintptr]string // open files, by SQLite's handle
	fails  int                // of the writes, truncations and syncs to come, the one that fails; 0: none does
	with   int32              // the result code that it fails with
}

// fail says whether the operation that is about to be done fails, and with what.
func (d *disk) fail() (int32, bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.fails == 0 {
		return 0, false
	}
	d.fails--
	return d.with, d.fails == 0
}

// failNext lets the nth operation from now on fail; 0 lets none fail. It returns how many were still to come.
func (d *disk) failNext(n int, with int32) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	left := d.fails
	d.fails, d.with = n, with
	return left
}

type eventKind int

const (
	opened eventKind = iota // a file came to be
	written
	truncated
	synced
	deleted
	folderSynced
	acknowledged
)

type event struct {
	kind eventKind
	path string
	at   int64
	data []byte
	ack  int // acknowledged: how many entries are, by now
}

// The layout of sqlite3_io_methods and sqlite3_vfs on a 64-bit machine, in words.
const (
	ioWords                                   = 19
	ioClose, ioWrite, ioTruncate, ioSync      = 1, 3, 4, 5
	vfsWords                                  = 21
	vfsNext, vfsName, vfsOpenWord, vfsDelWord = 2, 3, 5, 6
)

type (
	ioMethods  [ioWords]uintptr
	vfsMethods [vfsWords]uintptr

	openFunc     = func(*libc.TLS, uintptr, uintptr, uintptr, int32, uintptr) int32
	deleteFunc   = func(*libc.TLS, uintptr, uintptr, int32) int32
	closeFunc    = func(*libc.TLS, uintptr) int32
	writeFunc    = func(*libc.TLS, uintptr, uintptr, int32, int64) int32
	truncateFunc = func(*libc.TLS, uintptr, int64) int32
	syncFunc     = func(*libc.TLS, uintptr, int32) int32
)

// shim is the one that is registered; SQLite calls plain functions.
var shim struct {
	sync.Mutex
	disk  *disk
	under vfsMethods             // SQLite's own
	io    map[uintptr]*ioMethods // own method tables, by SQLite's
	back  map[uintptr]*ioMethods // SQLite's, by own
}

// at reads the words that an address of SQLite's memory holds.
func at[T any](address uintptr) *T { return *(**T)(unsafe.Pointer(&address)) }

// call makes a Go function of a function address.
func call[F any](address *uintptr) F { return *(*F)(unsafe.Pointer(address)) }

// address is the other way round. f is a function of this file, which stays where it is.
func address[F any](f F) uintptr { return *(*uintptr)(unsafe.Pointer(&f)) }

// watch makes the shim SQLite's default VFS for the length of a test.
func watch(t *testing.T, dir string) *disk {
	t.Helper()
	if unsafe.Sizeof(uintptr(0)) != 8 {
		t.Fatal("the shim knows the layout of 64-bit machines only")
	}
	tls := libc.NewTLS()
	own := sqlite3.Xsqlite3_vfs_find(tls, 0)
	d := &disk{dir: dir, files: map[uintptr]string{}}
	shim.Lock()
	shim.disk, shim.under = d, *at[vfsMethods](own)
	shim.io, shim.back = map[uintptr]*ioMethods{}, map[uintptr]*ioMethods{}
	shim.Unlock()
	name, err := libc.CString("watched")
	if err != nil {
		t.Fatal(err)
	}
	mem := libc.Xmalloc(tls, vfsWords*8)
	v := at[vfsMethods](mem)
	*v = shim.under
	v[vfsNext], v[vfsName] = 0, name
	v[vfsOpenWord], v[vfsDelWord] = address[openFunc](watchedOpen), address[deleteFunc](watchedDelete)
	if rc := sqlite3.Xsqlite3_vfs_register(tls, mem, 1); rc != 0 {
		t.Fatal("register:", rc)
	}
	t.Cleanup(func() {
		sqlite3.Xsqlite3_vfs_unregister(tls, mem)
		sqlite3.Xsqlite3_vfs_register(tls, own, 1)
		libc.Xfree(tls, mem)
		libc.Xfree(tls, name)
		tls.Close()
	})
	return d
}

func (d *disk) add(e event) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.events = append(d.events, e)
}

func (d *disk) of(file uintptr) (string, bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	p, ok := d.files[file]
	return p, ok
}

func watchedOpen(tls *libc.TLS, vfs, zName, file uintptr, flags int32, outFlags uintptr) int32 {
	path := ""
	if zName != 0 {
		path = libc.GoString(zName)
	}
	_, err := os.Lstat(path)
	fresh := err != nil
	rc := call[openFunc](&shim.under[vfsOpenWord])(tls, vfs, zName, file, flags, outFlags)
	d := shim.disk
	if rc != 0 || filepath.Dir(path) != d.dir {
		return rc
	}
	d.mu.Lock()
	d.files[file] = path
	if fresh {
		d.events = append(d.events, event{kind: opened, path: path})
	}
	d.mu.Unlock()
	methods := at[uintptr](file)
	shim.Lock()
	defer shim.Unlock()
	own := shim.io[*methods]
	if own == nil {
		// In SQLite's memory, for the garbage collector must not see it move or go.
		own = at[ioMethods](libc.Xmalloc(tls, ioWords*8))
		under := at[ioMethods](*methods)
		*own = *under
		own[ioClose], own[ioWrite] = address[closeFunc](watchedClose), address[writeFunc](watchedWrite)
		own[ioTruncate], own[ioSync] = address[truncateFunc](watchedTruncate), address[syncFunc](watchedSync)
		shim.io[*methods] = own
		shim.back[uintptr(unsafe.Pointer(own))] = under
	}
	*methods = uintptr(unsafe.Pointer(own))
	return rc
}

// failAt asks fail for the files of the watched folder alone.
func (d *disk) failAt(file uintptr) (int32, bool) {
	if _, ours := d.of(file); !ours {
		return 0, false
	}
	return d.fail()
}

// under is SQLite's own method for an open file.
func under(file uintptr, method int) *uintptr {
	shim.Lock()
	defer shim.Unlock()
	return &shim.back[*at[uintptr](file)][method]
}

func watchedClose(tls *libc.TLS, file uintptr) int32 {
	close := under(file, ioClose)
	shim.disk.mu.Lock()
	delete(shim.disk.files, file)
	shim.disk.mu.Unlock()
	return call[closeFunc](close)(tls, file)
}

func watchedWrite(tls *libc.TLS, file, buf uintptr, n int32, offset int64) int32 {
	if rc, fails := shim.disk.failAt(file); fails {
		return rc
	}
	rc := call[writeFunc](under(file, ioWrite))(tls, file, buf, n, offset)
	if path, ok := shim.disk.of(file); ok && rc == 0 {
		shim.disk.add(event{kind: written, path: path, at: offset, data: bytes.Clone(libc.GoBytes(buf, int(n)))})
	}
	return rc
}

func watchedTruncate(tls *libc.TLS, file uintptr, size int64) int32 {
	if rc, fails := shim.disk.failAt(file); fails {
		return rc
	}
	rc := call[truncateFunc](under(file, ioTruncate))(tls, file, size)
	if path, ok := shim.disk.of(file); ok && rc == 0 {
		shim.disk.add(event{kind: truncated, path: path, at: size})
	}
	return rc
}

func watchedSync(tls *libc.TLS, file uintptr, flags int32) int32 {
	if rc, fails := shim.disk.failAt(file); fails {
		return rc
	}
	rc := call[syncFunc](under(file, ioSync))(tls, file, flags)
	if path, ok := shim.disk.of(file); ok && rc == 0 {
		shim.disk.add(event{kind: synced, path: path})
	}
	return rc
}

func watchedDelete(tls *libc.TLS, vfs, zName uintptr, syncDir int32) int32 {
	rc := call[deleteFunc](&shim.under[vfsDelWord])(tls, vfs, zName, syncDir)
	path := libc.GoString(zName)
	if rc == 0 && filepath.Dir(path) == shim.disk.dir {
		shim.disk.add(event{kind: deleted, path: path})
		if syncDir != 0 {
			shim.disk.add(event{kind: folderSynced})
		}
	}
	return rc
}

// sector is what a disk writes whole or not at all.
const sector = 512

// file is one file on the rebuilt disk.
type file struct {
	safe    []byte  // as of its last sync
	pending []event // since then
	named   bool    // its name outlives a power cut
	gone    bool    // deleted
	goneFor bool    // and that outlives a power cut
}

// loss says what becomes of what was not synced.
type loss int

const (
	allLost  loss = iota
	allKept       // as if the program alone had been killed
	someLost      // any sectors of it, and any names
)

// cut rebuilds the folder as a disk may hold it that lost its power right after the first n events, and
// says how many entries had been acknowledged by then.
func (d *disk) cut(t *testing.T, n int, how loss, rng *rand.Rand) (dir string, acks int) {
	t.Helper()
	var files []*file
	names := map[string]*file{}
	nameAll := func() {
		for _, f := range files {
			f.named = true
			f.goneFor = f.gone
		}
	}
	d.mu.Lock()
	events := d.events[:n]
	d.mu.Unlock()
	for _, e := range events {
		f := names[e.path]
		switch e.kind {
		case opened:
			f = &file{}
			files, names[e.path] = append(files, f), f
		case written, truncated:
			f.pending = append(f.pending, e)
		case synced:
			for _, p := range f.pending {
				f.safe = p.applyTo(f.safe)
			}
			f.pending = nil
			if !f.named && !strings.HasSuffix(e.path, FileName) {
				nameAll() // SQLite syncs the folder at the first sync of a log (UNIXFILE_DIRSYNC)
			}
		case deleted:
			f.gone = true
		case folderSynced:
			nameAll()
		case acknowledged:
			acks = e.ack
		}
	}
	dir = t.TempDir()
	for path, f := range names {
		lucky := func() bool { return how == allKept || (how == someLost && rng.IntN(2) == 0) }
		if f.gone && (f.goneFor || lucky()) {
			continue
		}
		if !f.named && !lucky() {
			continue
		}
		data := append([]byte(nil), f.safe...)
		for _, p := range f.pending {
			switch {
			case p.kind == truncated:
				if lucky() {
					data = p.applyTo(data)
				}
			default:
				for from := 0; from < len(p.data); from += sector {
					if lucky() {
						part := event{kind: written, at: p.at + int64(from), data: p.data[from:min(from+sector, len(p.data))]}
						data = part.applyTo(data)
					}
				}
			}
		}
		if err := os.WriteFile(filepath.Join(dir, filepath.Base(path)), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir, acks
}

func (e event) applyTo(data []byte) []byte {
	if e.kind == truncated {
		if int64(len(data)) > e.at {
			return data[:e.at]
		}
		return append(data, make([]byte, e.at-int64(len(data)))...)
	}
	if short := e.at + int64(len(e.data)) - int64(len(data)); short > 0 {
		data = append(data, make([]byte, short)...)
	}
	copy(data[e.at:], e.data)
	return data
}
