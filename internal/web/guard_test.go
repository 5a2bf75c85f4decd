package web

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

func TestGuard_KeepsOtherSitesOut(t *testing.T) {
	m := roomWith(t, Config{Hosts: []string{"192.168.1.20", "furrow.local:8417"}}, smallRoom()...)
	for _, tt := range []struct {
		name, host string
		header     [2]string
		method     string
		want       int
		says       string
	}{
		{"loopback by number", "127.0.0.1:8417", [2]string{}, "GET", 200, "More of the room"},
		{"loopback by name", "localhost:8417", [2]string{}, "GET", 200, ""},
		{"loopback of version 6", "[::1]:8417", [2]string{}, "GET", 200, ""},
		{"a host that was named", "192.168.1.20:8417", [2]string{}, "GET", 200, ""},
		{"a host that was named with its port", "FURROW.local:8417", [2]string{}, "GET", 200, ""},
		{"a foreign host", "evil.example:8417", [2]string{}, "GET", 403, "not one of this room's"},
		{"a foreign host that looks alike", "127.0.0.1.evil.example", [2]string{}, "GET", 403, "not one of this room's"},
		{"no host", "", [2]string{}, "GET", 403, "not one of this room's"},
		{"a form from here", "127.0.0.1:8417", [2]string{"Sec-Fetch-Site", "same-origin"}, "POST", 303, ""},
		{"a form from another site", "127.0.0.1:8417", [2]string{"Sec-Fetch-Site", "cross-site"}, "POST", 403, "sent from another site"},
		{"a form from another origin", "127.0.0.1:8417", [2]string{"Origin", "https://evil.example"}, "POST", 403, "sent from another site"},
		{"a form from another port", "127.0.0.1:8417", [2]string{"Sec-Fetch-Site", "same-site"}, "POST", 403, "sent from another site"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path, body := "/more", ""
			if tt.method == "POST" {
				path, body = "/settings/phones", "vet=041"
			}
			r := m.request(tt.method, path, body)
			r.Host = tt.host
			if tt.header[0] != "" {
				r.Header.Set(tt.header[0], tt.header[1])
			}
			a := m.do(r)
			a.t = t
			a.wants(tt.want, tt.says)
			h := a.Header()
			for name, value := range map[string]string{
				"Content-Security-Policy":    contentPolicy,
				"X-Content-Type-Options":     "nosniff",
				"Referrer-Policy":            "same-origin",
				"Cross-Origin-Opener-Policy": "same-origin",
				"Cache-Control":              "no-store",
			} {
				if h.Get(name) != value {
					t.Errorf("%s is %q, want %q", name, h.Get(name), value)
				}
			}
		})
	}
	for _, part := range []string{"default-src 'self'", "frame-ancestors 'none'", "form-action 'self'"} {
		if !strings.Contains(contentPolicy, part) {
			t.Errorf("the policy lacks %s", part)
		}
	}
	if strings.Contains(contentPolicy, "unsafe") {
		t.Error("the policy lets something inline through")
	}
}

func TestStatic_IsKeptForEver(t *testing.T) {
	m := newRoom(t)
	a := m.get(m.s.static.prefix+"tokens.css").wants(200, "--ground")
	if got := a.Header().Get("Cache-Control"); !strings.Contains(got, "immutable") {
		t.Errorf("Cache-Control is %q", got)
	}
	m.get("/static/000000000000/tokens.css").wants(404)
	m.get(m.s.static.prefix + "../server.go").wants(http.StatusTemporaryRedirect)
	m.get(m.s.static.prefix + "nothing.css").wants(404)
}

func TestUpload_OfTenMegabytesIsRefused(t *testing.T) {
	m := newRoom(t)
	for _, kind := range []string{"multipart", "plain"} {
		t.Run(kind, func(t *testing.T) {
			var body bytes.Buffer
			var r *http.Request
			if kind == "multipart" {
				w := multipart.NewWriter(&body)
				f, err := w.CreateFormFile("file", "birds.csv")
				if err != nil {
					t.Fatal(err)
				}
				_, _ = f.Write(bytes.Repeat([]byte("x"), 10<<20))
				_ = w.Close()
				r = httptest.NewRequest("POST", "http://127.0.0.1:8417/settings/phones", &body)
				r.Header.Set("Content-Type", w.FormDataContentType())
			} else {
				r = httptest.NewRequest("POST", "http://127.0.0.1:8417/settings/phones", strings.NewReader("vet="+strings.Repeat("1", 10<<20)))
				r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			}
			a := m.do(r)
			a.t = t
			a.wants(http.StatusRequestEntityTooLarge, "more than 8 MB", "Nothing was changed")
		})
	}
	if p, err := m.s.phones(context.Background()); err != nil || p.Vet != "" {
		t.Errorf("a number was kept: %q, %v", p.Vet, err)
	}
}

func TestHealthz_SaysReady(t *testing.T) {
	newRoom(t).get("/healthz").wants(200, "ready")
}

// TestNew_RefusesANetworkWithoutAKeeper holds that a room is not opened to the network before a keeper has a passphrase.
func TestNew_RefusesANetworkWithoutAKeeper(t *testing.T) {
	m := newRoom(t)
	if _, err := New(Config{Book: m.book, LAN: true}); err == nil || !strings.Contains(err.Error(), "passphrase") {
		t.Fatalf("opened without one: %v", err)
	}
	must(t, m.book, "Tom", aviary.Helper, helperPhrase)
	if _, err := New(Config{Book: m.book, LAN: true}); err == nil {
		t.Fatal("opened with a helper's passphrase alone")
	}
	name, err := SetOwner(context.Background(), m.book, "", keeperPhrase)
	if err != nil || name != DefaultKeeper {
		t.Fatalf("owner %q: %v", name, err)
	}
	if _, err := New(Config{Book: m.book, LAN: true}); err != nil {
		t.Fatal(err)
	}
	if _, err := SetOwner(context.Background(), m.book, "Tom", keeperPhrase); err == nil || !strings.Contains(err.Error(), "helper") {
		t.Errorf("a helper became the owner: %v", err)
	}
	if _, err := SetOwner(context.Background(), m.book, "", "short"); err == nil || !strings.Contains(err.Error(), "at least 8") {
		t.Errorf("a short passphrase was taken: %v", err)
	}
}

func TestLogIn_CookieAndSession(t *testing.T) {
	m := roomWith(t, Config{LAN: true}, smallRoom()...)
	if to := m.get("/more?x=1").wants(303).to(); to != "/login?to=%2Fmore%3Fx%3D1" {
		t.Errorf("who is not logged in is sent to %q", to)
	}
	m.get("/login?to=%2Fmore").wants(200, "Who is there?", `name="passphrase"`, `value="/more"`).lacks("Back room", "Nora", "Lamps").sound()
	m.post("/login", "person", "Nora", "passphrase", "wrong words here").wants(422, "do not go together").lacks("wrong words here").sound()
	m.post("/login", "person", "Nobody", "passphrase", keeperPhrase).wants(422, "do not go together")
	m.post("/strike", "id", newID().String()).wants(403, "log in, then send the form again")

	a := m.post("/login", "person", "nora", "passphrase", keeperPhrase, "to", "/more")
	a.wants(303)
	if a.to() != "/more" {
		t.Errorf("logged in, sent to %q", a.to())
	}
	c := a.Result().Cookies()[0]
	if c.Name != sessionCookie || !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.MaxAge <= 0 {
		t.Errorf("the cookie is %v", c)
	}
	m.get("/more").wants(200, "Logged in as <b>Nora</b>", "/settings")
	token := m.cookie[sessionCookie]
	m.post("/logout").wants(303)
	m.cookie[sessionCookie] = token
	m.get("/more").wants(303)

	for _, to := range []string{"https://evil.example/", "//evil.example/", `/\evil.example`, "javascript:alert(1)"} {
		m.cookie = map[string]string{}
		if got := m.post("/login", "person", "Nora", "passphrase", keeperPhrase, "to", to).wants(303).to(); got != "/" {
			t.Errorf("log-in leads to %q", got)
		}
	}
	m.now = m.now.Add(31 * 24 * time.Hour)
	m.get("/more").wants(303)
}

func TestLogIn_TriesAreLimited(t *testing.T) {
	m := roomWith(t, Config{LAN: true})
	for range triesAtOnce {
		m.post("/login", "person", "Nora", "passphrase", "not the words").wants(422)
	}
	a := m.post("/login", "person", "Nora", "passphrase", keeperPhrase).wants(429, "tried too often", "Wait 1 minute")
	if a.Header().Get("Retry-After") != "20" {
		t.Errorf("Retry-After is %q", a.Header().Get("Retry-After"))
	}
	// From another place the same person's name is shut too, another person's is not.
	other := func(person, phrase string) answer {
		r := m.request("POST", "/login", "person="+person+"&passphrase="+strings.ReplaceAll(phrase, " ", "+"))
		r.RemoteAddr = "192.168.1.77:4000"
		return m.do(r)
	}
	other("nora", keeperPhrase).wants(429)
	other("Tom", helperPhrase).wants(303)
	m.now = m.now.Add(triesEvery + time.Second)
	m.cookie = map[string]string{}
	m.post("/login", "person", "Nora", "passphrase", keeperPhrase).wants(303)
}

// TestRoles walks the whole table of routes: nobody gets past the log-in, and no helper past what a keeper alone may do.
func TestRoles(t *testing.T) {
	m := roomWith(t, Config{LAN: true}, smallRoom()...)
	keeperOnly := 0
	for _, who := range []string{"nobody", "helper"} {
		m.cookie = map[string]string{}
		if who == "helper" {
			m.logIn("Tom", helperPhrase)
		}
		for _, r := range m.s.routed.list {
			if r.Need == anyone || r.Path == "/logout" {
				continue
			}
			path := strings.NewReplacer("{id}", newID().String(), "{slug}", "zebra", "{name}", "x", "{$}", "").Replace(r.Path)
			var a answer
			if r.Method == http.MethodGet {
				a = m.get(path)
			} else {
				a = m.post(path)
			}
			switch {
			case who == "nobody" && r.Method == http.MethodGet:
				if a.Code != 303 || !strings.HasPrefix(a.to(), "/login") {
					t.Errorf("nobody: %s %s answers %d", r.Method, path, a.Code)
				}
			case who == "nobody":
				if a.Code != 403 {
					t.Errorf("nobody: %s %s answers %d", r.Method, path, a.Code)
				}
			case r.Need == keepOnly:
				keeperOnly++
				if a.Code != 403 || !strings.Contains(a.Body.String(), "nly a keeper may do this") {
					t.Errorf("helper: %s %s answers %d", r.Method, path, a.Code)
				}
			case a.Code >= 500:
				t.Errorf("helper: %s %s answers %d: %s", r.Method, path, a.Code, a.text())
			}
		}
	}
	if keeperOnly < 20 {
		t.Errorf("only %d routes are the keeper's", keeperOnly)
	}
	m.get("/more").wants(200, "Tom</b>, helper").lacks(`href="/settings"`, `href="/setup"`)
}

func TestRoles_AHelperStrikesOnlyHisOwn(t *testing.T) {
	entries := smallRoom()
	m := roomWith(t, Config{LAN: true}, entries...)
	m.logIn("Tom", helperPhrase)
	check := entries[10]
	m.post("/strike", "id", check.ID.String()).wants(403, "A helper strikes out only what he wrote himself")
	own := &aviary.Entry{ID: newID(), Body: &aviary.Note{Text: "fed late"}}
	if err := m.book.Write(context.Background(), journal.Writer{By: "Tom", Role: aviary.Helper}, own); err != nil {
		t.Fatal(err)
	}
	m.post("/strike", "id", own.ID.String()).wants(303)
	if n := len(m.entries("note")); n != 0 {
		t.Error("his own note stands")
	}
}

func TestPages_AreSentCompressedWhenTheBrowserTakesIt(t *testing.T) {
	m := newRoom(t)
	plain := m.get("/settings/species").wants(200)
	r := m.request("GET", "/settings/species", "")
	r.Header.Set("Accept-Encoding", "gzip, br")
	a := m.do(r)
	if a.Header().Get("Content-Encoding") != "gzip" || a.Body.Len() >= plain.Body.Len()/2 {
		t.Fatalf("%d bytes against %d, encoding %q", a.Body.Len(), plain.Body.Len(), a.Header().Get("Content-Encoding"))
	}
	z, err := gzip.NewReader(a.Body)
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(z)
	if err != nil || string(b) != plain.Body.String() {
		t.Errorf("what was sent compressed is another page: %v", err)
	}
}
