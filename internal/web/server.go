package web

import (
	"cmp"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"maps"
	"net/http"
	"path"
	"slices"
	"strings"
	"sync"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/species"
)

// Config says what is served, and to whom.
type Config struct {
	Book  *journal.Book
	Now   func() time.Time // the clock; the book's when nil
	LAN   bool             // served beyond this computer: everybody logs in
	Demo  bool             // the room is invented, and the beam says so
	Hosts []string         // names and addresses under which this computer is reached, beside the loopback ones
	// Addresses are those under which phones reach the room, such as http://192.168.1.20:8417, the best first; none on loopback.
	Addresses []string
	// Trust is the authority that vouches for the room's https address; nil without one.
	Trust   *Trust
	Version string       // of the program, for the page about it
	Log     *slog.Logger // where faults are written; slog's default when nil
	// Backup copies the room to the file out; journal.Backup of the book's folder when nil.
	Backup func(ctx context.Context, out string) error
	// ReadTable reads tables of birds; without it the pages offer none.
	ReadTable TableReader
	// WriteCalendar writes dates for calendar programs; without it there are none.
	WriteCalendar CalendarWriter
	// Broker tells an MQTT broker about the lamps; without it there is no page about one.
	Broker Broker
}

//go:embed templates static
var files embed.FS

// server holds what all requests share.
type server struct {
	Config
	pages  pages
	static *static
	gate   *gate
	routed *routes

	roomMark string // tells this room from another at the same address

	mu         sync.Mutex
	ownerName  string // the keeper's name on loopback; "" when it must be looked up
	catVersion uint64
	cat        *species.Catalogue
}

// New returns the site's handler. It refuses to open a room to the network while no keeper has a passphrase.
func New(cfg Config) (http.Handler, error) {
	s, err := newServer(cfg)
	if err != nil {
		return nil, err
	}
	return s.handler(), nil
}

func newServer(cfg Config) (*server, error) {
	if cfg.Now == nil {
		cfg.Now = cfg.Book.Now
	}
	if cfg.Log == nil {
		cfg.Log = slog.Default()
	}
	if cfg.Backup == nil {
		cfg.Backup = func(ctx context.Context, out string) error {
			_, err := journal.Backup(ctx, cfg.Book.Dir(), out)
			return err
		}
	}
	if cfg.LAN {
		people, err := cfg.Book.People(context.Background())
		if err != nil {
			return nil, err
		}
		if !anyKeeper(people) {
			return nil, errors.New("no keeper has a passphrase yet, so the room is not opened to the network; set one under Settings, People, or on the command line")
		}
	}
	s := &server{Config: cfg, gate: newGate(cfg.Now)}
	var err error
	if s.roomMark, err = roomMarkOf(cfg); err != nil {
		return nil, err
	}
	if s.static, err = newStatic(files); err != nil {
		return nil, err
	}
	if s.pages, err = parsePages(files, s.funcs()); err != nil {
		return nil, err
	}
	s.routed = &routes{mux: http.NewServeMux(), s: s}
	s.addRoutes(s.routed)
	return s, nil
}

func anyKeeper(people []journal.Person) bool {
	for _, p := range people {
		if p.Role == aviary.Keeper && p.Passphrase {
			return true
		}
	}
	return false
}

// HTTPServer returns a server with the time limits that the site needs: a phone with a weak signal is waited for, a
// connection that says nothing is not.
func HTTPServer(h http.Handler) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       60 * time.Second,
		WriteTimeout:      2 * time.Minute, // a backup is made and verified within it
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
	}
}

// catalogue returns the species' values that hold in the room. It is called while the room may be read.
func (s *server) catalogue(r *aviary.Room) *species.Catalogue {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.cat == nil || s.catVersion != r.Version() {
		s.cat, s.catVersion = advice.Catalogue(r), r.Version()
	}
	return s.cat
}

// static is what lies under static/, served under the hash of all of it, so that a browser may keep it for ever.
type static struct {
	prefix  string // "/static/1f2e3d4c5b6a/"
	files   fs.FS
	names   map[string]bool
	styles  []string // addresses of the style sheets, tokens.css first
	scripts []string // addresses of the scripts that every page loads
}

func newStatic(files fs.FS) (*static, error) {
	sub, err := fs.Sub(files, "static")
	if err != nil {
		return nil, err
	}
	hash := sha256.New()
	st := &static{files: sub, names: map[string]bool{}}
	err = fs.WalkDir(sub, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := fs.ReadFile(sub, path)
		if err != nil {
			return err
		}
		st.names[path] = true
		fmt.Fprintf(hash, "%s %d\n", path, len(b))
		hash.Write(b)
		return nil
	})
	st.prefix = "/static/" + hex.EncodeToString(hash.Sum(nil))[:12] + "/"
	for _, name := range slices.Sorted(maps.Keys(st.names)) {
		switch path.Ext(name) {
		case ".css":
			st.styles = append(st.styles, st.prefix+name)
		case ".js":
			if name == "sw.js" {
				continue // a service worker is registered by a script, not loaded by a page
			}
			st.scripts = append(st.scripts, st.prefix+name)
		}
	}
	slices.SortStableFunc(st.styles, func(a, b string) int { return cmp.Compare(styleOrder(a), styleOrder(b)) })
	return st, err
}

// styleOrder puts the tokens before the parts, and both before what a page adds.
func styleOrder(address string) int {
	return slices.Index([]string{"other", "look.css", "tokens.css"}, path.Base(address)) * -1
}

// path returns where a file is served.
func (st *static) path(name string) (string, error) {
	if !st.names[name] {
		return "", fmt.Errorf("there is no static file %q", name)
	}
	return st.prefix + name, nil
}

func (st *static) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(r.URL.Path, st.prefix)
	if !strings.HasPrefix(r.URL.Path, st.prefix) || !st.names[name] {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	http.ServeFileFS(w, r, st.files, name)
}
