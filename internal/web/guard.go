package web

import (
	"fmt"
	"net"
	"net/http"
	"runtime/debug"
	"slices"
	"strings"
)

// contentPolicy lets a page load what this server serves and nothing else; no inline script and no inline style.
const contentPolicy = "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// handler puts the guards before the routes.
func (s *server) handler() http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, r, http.StatusForbidden, "This form was sent from another site, so nothing was changed. Open the page here and send it again.")
	}))
	return s.guarded(cross.Handler(s.routed.mux))
}

// guarded puts the headers and the check of the Host before h.
func (s *server) guarded(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Content-Security-Policy", contentPolicy)
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("X-Frame-Options", "DENY")
		head.Set("Referrer-Policy", "same-origin")
		head.Set("Cross-Origin-Opener-Policy", "same-origin")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=()")
		head.Set("Cache-Control", "no-store")
		if !s.ours(r.Host) {
			s.refuse(w, r, http.StatusForbidden, "This address is not one of this room's. Open it under the address that the program shows when it starts.")
			return
		}
		defer s.recover(w, r)
		h.ServeHTTP(w, r)
	})
}

// ours reports whether a request's Host names this computer. A page elsewhere whose name has been turned to this address is
// thereby kept out, on loopback too.
func (s *server) ours(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.TrimSuffix(strings.Trim(name, "[]"), "."))
	if name == "localhost" {
		return true
	}
	if ip := net.ParseIP(name); ip != nil && ip.IsLoopback() {
		return true
	}
	return slices.ContainsFunc(s.Hosts, func(h string) bool {
		if bare, _, err := net.SplitHostPort(h); err == nil {
			h = bare
		}
		return name != "" && strings.EqualFold(strings.Trim(h, "[]"), name)
	})
}

// refuse answers in plain text, before anything of the room is looked at.
func (s *server) refuse(w http.ResponseWriter, _ *http.Request, status int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = fmt.Fprintln(w, text)
}

// recover turns a fault of ours into an answer, so that one page's fault does not end the others' work.
func (s *server) recover(w http.ResponseWriter, r *http.Request) {
	what := recover()
	if what == nil {
		return
	}
	if what == http.ErrAbortHandler {
		panic(what)
	}
	s.Log.Error("request panicked", "method", r.Method, "path", r.URL.Path, "what", what, "stack", string(debug.Stack()))
	s.refuse(w, r, http.StatusInternalServerError, "Something went wrong in the program. What was saved before is safe. Try once more; if it happens again, the window in which the program runs shows what it was.")
}
