package web

import "net/http"

// groundRoutes are those that belong to no page: readiness, log-in, striking out, the theme.
func (s *server) groundRoutes(r *routes) {
	r.mux.Handle("GET /static/", s.static)
	r.mux.HandleFunc("GET /healthz", healthz)
	r.add(http.MethodGet, "/login", anyone, s.loginShow)
	r.add(http.MethodPost, "/login", anyone, s.loginSend)
	r.post("/logout", s.logoutSend)
	r.add(http.MethodPost, "/theme", anyone, s.themeSend)
	r.post("/strike", s.strikeSend)
	r.get("/strike/{id}", s.strikeShow)
	r.mux.HandleFunc("GET /kept", s.handle(anyone, s.standingShow)) // for scripts
	r.mux.HandleFunc("GET /sw.js", s.workerShow)
	r.get("/kept/none", s.keptNoneShow)
	r.get("/more", s.moreShow)
	r.get("/{$}", s.rootShow)
	r.add(http.MethodGet, "/", anyone, s.notFound)
}

// healthz answers as soon as the address is served.
func healthz(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, _ = w.Write([]byte("ready\n"))
}
