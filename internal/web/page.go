package web

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strconv"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/web/look"
)

// page is what a template is given: a struct that embeds layout.
type page interface{ base() *layout }

// layout is what every page has. A handler fills in the first group; render fills in the rest.
type layout struct {
	Headline string // the answer, in a sentence: the page's h1
	Sub      string // a line under it
	Title    string // of the browser's tab; the headline when empty
	Tab      string // the tab that is current: round, wall, season, birds, or more
	Class    string // of the main element; "page" when empty
	Up, UpTo string // a link back to the page above: its address and its name
	Form     *form  // the page's form, so that its errors are summed up at the top
	Bare     bool   // without tabs and band: the log-in page

	Who      string
	CanKeep  bool // the person is a keeper
	LogIn    bool // people log in, so they can log out
	Demo     bool
	RoomName string
	Today    aviary.Date
	Clock    aviary.Clock
	Path     string // of this page, for forms that come back to it
	Theme    string // "off" for the lamps-off view, "light", or "" when the browser's own setting decides
	Lamps    lamps
	Undo     *undoBand
	Styles   []string
	Scripts  []string

	standing standing
}

func (l *layout) base() *layout { return l }

// TabTitle is what the browser's tab says.
func (l *layout) TabTitle() string {
	if l.Title != "" {
		return l.Title
	}
	return l.Headline
}

// pages are the parsed templates by name.
type pages map[string]*template.Template

// parsePages parses templates/*.html, each over its own copy of the layout and the parts.
func parsePages(files fs.FS, funcs template.FuncMap) (pages, error) {
	base, err := template.New("layout").Funcs(funcs).ParseFS(files, "templates/layout.html", "templates/parts/*.html")
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		return nil, err
	}
	out := pages{}
	for _, file := range names {
		name := strings.TrimSuffix(path.Base(file), ".html")
		if name == "layout" {
			continue
		}
		text, err := fs.ReadFile(files, file)
		if err != nil {
			return nil, err
		}
		t, err := base.Clone()
		if err != nil {
			return nil, err
		}
		if _, err := t.New("main").Parse(string(text)); err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		out[name] = t
	}
	return out, nil
}

// funcs are the functions that templates may call.
func (s *server) funcs() template.FuncMap {
	return template.FuncMap{
		"asset":     s.static.path,
		"once":      newID,
		"cap":       capital,
		"short":     aviary.Date.Short,
		"long":      aviary.Date.Long,
		"list":      func(v ...any) []any { return v },
		"asOptions": func(words []string) []option { return options(words...) },
		"optionsNone": func(none string, words []string) []option {
			return append([]option{{Label: none}}, options(words...)...)
		},
		"placesField": newPlacesField,
		"blankForm":   func() *form { return blank() },
		"placesIn":    newPlacesIn,
		"birdActView": newBirdActView,
		"words":       func(w ...string) []string { return w },
		"count":       advice.CountWord,
		// Pictures and marks.
		"beam":     beam,
		"foot":     foot,
		"mark":     func(kind string, size int) template.HTML { return look.Mark(look.Kind(kind), size) },
		"wordmark": look.Wordmark,
		"icon":     look.Icon,
		"plate":    look.Plate,
		"ring":     look.Ring,
		"flag":     func(kind, words string) template.HTML { return look.Flag(look.Kind(kind), words) },
		"sex":      func(x aviary.Sex) template.HTML { return look.Sex(string(x)) },
	}
}

// render shows a page. The name is that of its template, without the ending.
func (v *visit) render(name string, p page) error {
	l := p.base()
	if err := v.fill(l); err != nil {
		return err
	}
	if v.sent != nil {
		v.sent.ask = true
		return nil
	}
	t := v.s.pages[name]
	if t == nil {
		return fmt.Errorf("there is no template %q", name)
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "layout.html", p); err != nil {
		return fmt.Errorf("template %s: %w", name, err)
	}
	v.keepUndo()
	v.w.Header().Set("Kept-For", v.personMark())
	return v.send("text/html; charset=utf-8", b.Bytes())
}

// gzipFrom is the size from which an answer is worth compressing, in bytes.
const gzipFrom = 2 << 10

// send answers with the bytes, compressed when the browser takes it.
func (v *visit) send(contentType string, b []byte) error {
	h := v.w.Header()
	h.Set("Content-Type", contentType)
	h.Set("Vary", "Accept-Encoding")
	if len(b) >= gzipFrom && strings.Contains(v.r.Header.Get("Accept-Encoding"), "gzip") {
		var z bytes.Buffer
		w, err := gzip.NewWriterLevel(&z, gzip.BestSpeed)
		if err != nil {
			return err
		}
		if _, err := w.Write(b); err != nil {
			return err
		}
		if err := w.Close(); err != nil {
			return err
		}
		b = z.Bytes()
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("Content-Length", strconv.Itoa(len(b)))
	if v.status != 0 {
		v.w.WriteHeader(v.status)
	}
	_, err := v.w.Write(b)
	if err != nil {
		v.s.Log.Debug("answer not taken", "path", v.r.URL.Path, "err", err) // the browser went away; nobody is left to tell
	}
	return nil
}

// fill sets what every page has.
func (v *visit) fill(l *layout) error {
	l.Who, l.CanKeep, l.LogIn, l.Demo = v.who.By, v.keeper(), v.s.LAN, v.s.Demo
	l.Today, l.Clock = v.today, v.clock
	l.Path = v.r.URL.RequestURI()
	if v.r.Method == http.MethodPost {
		l.Path = v.shown()
	}
	l.Styles, l.Scripts = v.s.static.styles, v.s.static.scripts
	l.standing = v.standing()
	if v.status == http.StatusUnprocessableEntity {
		l.standing.Wrong = v.once.String()
	}
	if l.Bare && v.who.By == "" {
		return nil // nothing of the room is shown to who is not logged in
	}
	v.s.Book.View(func(r *aviary.Room) {
		l.RoomName = r.Settings(v.today).Name
		l.Lamps = lampsOf(r, v.today, v.clock)
		l.Undo = v.band(r)
	})
	l.Theme = v.theme(l.Lamps)
	return nil
}

// shown is the address of the page that a form which was sent stands on: the one that it names, else its own when that is also a
// page, else "".
func (v *visit) shown() string {
	if back := v.r.FormValue("back"); local(back) {
		return back
	}
	_, pattern := v.s.routed.mux.Handler(&http.Request{Method: http.MethodGet, URL: v.r.URL, Host: v.r.Host})
	if pattern == "GET /" {
		return ""
	}
	return v.r.URL.Path
}

// statusError is a refusal with its own status, in words fit to show.
type statusError struct {
	status  int
	message string
}

func (e *statusError) Error() string { return e.message }

// errorPage says what happened and what to do.
type errorPage struct {
	layout
	Text string
	Back string
}

// statusOf maps an error to its status.
func statusOf(err error) int {
	var own *statusError
	var refused *aviary.Error
	var form *formError
	switch {
	case errors.As(err, &own):
		return own.status
	case errors.As(err, &form):
		return http.StatusUnprocessableEntity
	case errors.As(err, &refused):
		switch refused.Code {
		case aviary.Invalid:
			return http.StatusBadRequest
		case aviary.NotFound:
			return http.StatusNotFound
		case aviary.Conflict:
			return http.StatusConflict
		case aviary.Denied:
			return http.StatusForbidden
		}
	}
	return http.StatusInternalServerError
}

// fail shows an error as a page.
func (v *visit) fail(err error) {
	p := &errorPage{Back: "/"}
	v.status = statusOf(err)
	p.Text = sentence(err.Error())
	switch v.status {
	case http.StatusNotFound:
		p.Headline = "There is nothing here"
	case http.StatusForbidden:
		p.Headline = "This is for the keeper"
		if v.who.By == "" {
			p.Headline = "Log in first"
		}
	case http.StatusConflict:
		p.Headline = "That clashes with what is in the books"
	case http.StatusTooManyRequests:
		p.Headline = "Too many tries"
	case http.StatusRequestEntityTooLarge:
		p.Headline = "That is too much at once"
	case http.StatusInternalServerError:
		p.Headline = "Something went wrong"
		v.s.Log.Error("request failed", "method", v.r.Method, "path", v.r.URL.Path, "err", err)
		var fault *journal.Fault
		if !errors.As(err, &fault) {
			p.Text = "Something went wrong in the program. What was saved before is safe. Try once more; if it happens again, the window in which the program runs shows what it was."
		}
	default:
		p.Headline = "That could not be done"
	}
	p.Class, p.Bare = "page narrow", v.who.By == ""
	if v.r.Method == http.MethodPost {
		if from := v.shown(); from != "" {
			p.Back = from
		}
	}
	if err := v.render("error_show", p); err != nil {
		v.s.Log.Error("error page failed", "path", v.r.URL.Path, "err", err)
		http.Error(v.w, p.Headline+". "+p.Text, v.status)
	}
}

// sentence gives a message its capital and full stop.
func sentence(s string) string {
	s = capital(s)
	if s != "" && !strings.ContainsAny(s[len(s)-1:], ".!?") {
		s += "."
	}
	return s
}

// notFound answers for addresses that no page has.
func (s *server) notFound(v *visit) error {
	return notThere("there is no such page; the address has been cut or mistyped")
}
