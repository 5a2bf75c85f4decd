package web

import (
	"context"
	"html"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// testNow is the instant at which every test's room stands: 06:48 on Tuesday 13 Jan 2026 in Dublin.
var testNow = time.Date(2026, 1, 13, 6, 48, 0, 0, time.UTC)

// testRoom is a site on a room of its own.
type testRoom struct {
	t      *testing.T
	book   *journal.Book
	s      *server
	h      http.Handler
	now    time.Time
	cookie map[string]string
}

// newRoom serves a room in a folder of its own with the given entries in it, written by the keeper one after another.
func newRoom(t *testing.T, entries ...*aviary.Entry) *testRoom {
	t.Helper()
	return roomWith(t, Config{}, entries...)
}

// roomWith serves a room under a configuration. A room on the network has the keeper "Nora" with the passphrase keeperPhrase
// and the helper "Tom" with helperPhrase.
func roomWith(t *testing.T, cfg Config, entries ...*aviary.Entry) *testRoom {
	t.Helper()
	room := &testRoom{t: t, now: testNow, cookie: map[string]string{}}
	clock := func() time.Time { return room.now }
	book, err := journal.OpenBook(context.Background(), t.TempDir(), journal.Options{Create: true, Now: clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := book.Close(); err != nil {
			t.Error(err)
		}
	})
	for _, e := range entries {
		if err := book.Write(context.Background(), journal.Writer{By: DefaultKeeper, Role: aviary.Keeper}, e); err != nil {
			t.Fatal(err)
		}
	}
	if cfg.LAN {
		must(t, book, "Nora", aviary.Keeper, keeperPhrase)
		must(t, book, "Tom", aviary.Helper, helperPhrase)
	}
	cfg.Book, cfg.Log = book, slog.New(slog.NewTextHandler(io.Discard, nil))
	if cfg.WriteCalendar == nil {
		cfg.WriteCalendar = plainCalendar
	}
	if cfg.Broker == nil {
		cfg.Broker = &testBroker{}
	}
	room.book = book
	if room.s, err = newServer(cfg); err != nil {
		t.Fatal(err)
	}
	room.h = room.s.handler()
	return room
}

const (
	keeperPhrase = "four plain words here"
	helperPhrase = "seed and water daily"
)

func must(t *testing.T, b *journal.Book, name string, role aviary.Role, phrase string) journal.Person {
	t.Helper()
	p, err := b.AddPerson(context.Background(), name, role)
	if err == nil {
		err = b.SetPassphrase(context.Background(), p.ID, phrase)
	}
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// answer is what the site answered.
type answer struct {
	*httptest.ResponseRecorder
	t *testing.T
}

// do sends a request as a browser at 127.0.0.1 would, and keeps the cookies that come back.
func (m *testRoom) do(r *http.Request) answer {
	m.t.Helper()
	for name, value := range m.cookie {
		r.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	w := httptest.NewRecorder()
	m.h.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		if c.MaxAge < 0 {
			delete(m.cookie, c.Name)
		} else {
			m.cookie[c.Name] = c.Value
		}
	}
	return answer{w, m.t}
}

func (m *testRoom) request(method, path, body string) *http.Request {
	r := httptest.NewRequest(method, "http://127.0.0.1:8417"+path, strings.NewReader(body))
	r.RemoteAddr = "127.0.0.1:50000"
	if body != "" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	return r
}

// get asks for a page.
func (m *testRoom) get(path string) answer { m.t.Helper(); return m.do(m.request("GET", path, "")) }

// post sends a form: name, value, name, value.
func (m *testRoom) post(path string, pairs ...string) answer {
	m.t.Helper()
	values := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		values.Add(pairs[i], pairs[i+1])
	}
	r := m.request("POST", path, values.Encode())
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return m.do(r)
}

// logIn logs somebody in.
func (m *testRoom) logIn(name, phrase string) {
	m.t.Helper()
	m.post("/login", "person", name, "passphrase", phrase).wants(http.StatusSeeOther)
}

// wants checks the status and that each text stands in the answer, and hands the answer on.
func (a answer) wants(status int, texts ...string) answer {
	a.t.Helper()
	if a.Code != status {
		a.t.Fatalf("status %d, want %d: %s", a.Code, status, a.text())
	}
	for _, s := range texts {
		if !strings.Contains(a.Body.String(), s) {
			a.t.Errorf("the page does not say %q: %s", s, a.text())
		}
	}
	return a
}

var (
	tags  = regexp.MustCompile(`(?s)<(svg|head|nav|script)\b.*?</(svg|head|nav|script)>|<[^>]*>`)
	space = regexp.MustCompile(`\s+`)
)

// text is the page as it reads, without its marks, for a test's message.
func (a answer) text() string {
	s := space.ReplaceAllString(tags.ReplaceAllString(a.Body.String(), " "), " ")
	return short2000(html.UnescapeString(s))
}

func short2000(s string) string {
	if r := []rune(s); len(r) > 2000 {
		return string(r[:2000]) + "…"
	}
	return s
}

// lacks checks that no text stands in the answer.
func (a answer) lacks(texts ...string) answer {
	a.t.Helper()
	for _, s := range texts {
		if strings.Contains(a.Body.String(), s) {
			a.t.Errorf("the page says %q", s)
		}
	}
	return a
}

// to returns where the answer sends the browser.
func (a answer) to() string { return a.Header().Get("Location") }

// entries returns the entries of a kind that stand.
func (m *testRoom) entries(kind aviary.Kind) []*aviary.Entry {
	var out []*aviary.Entry
	m.book.View(func(r *aviary.Room) {
		for _, e := range r.Entries() {
			if e.Kind == kind && !r.Struck(e.ID) {
				out = append(out, e)
			}
		}
	})
	return out
}
