package web

import (
	"bytes"
	"html/template"
	"net"
	"net/http"
	"strconv"
	"strings"

	"broodlight/internal/web/look"
)

// Trust is the room's own authority for its https address: what a phone has to trust once.
type Trust struct {
	Certificate []byte // the authority's, in DER
	Fingerprint string // SHA-256, in hex with colons
	Until       string // the day on which it ends, "13 Jan 2036"
	Names       []string
}

func (s *server) signalRoutes(r *routes) {
	r.get("/phone", s.signalShow)
	r.post("/phone/file", s.marksRead)
	r.get("/labels", s.labelShow)
	r.mux.HandleFunc("GET /phone/room.crt", s.trustSend)
}

// signalPage says what a phone can do where the room is not reached, and takes in a file of marks.
type signalPage struct {
	layout
	Secure  bool // the page is at an address at which a browser lets a page work without a network
	Address string
	Code    template.HTML
	Trust   *Trust
	File    field
	Read    *marksView
	Wrong   []fieldError
	Taken   string // how many marks were read in just now
}

// signalShow tells how the round goes on without a network.
func (s *server) signalShow(v *visit) error { return v.signalPage(blank(), nil) }

func (v *visit) signalPage(f *form, read *marksView) error {
	p := &signalPage{layout: layout{Title: "Phones without a signal", Tab: "more", Class: "page narrow", Up: "/more", UpTo: "More"}, Trust: v.s.Trust, Read: read, Wrong: f.Errors}
	host, _, err := net.SplitHostPort(v.r.Host)
	if err != nil {
		host = v.r.Host
	}
	ip := net.ParseIP(strings.Trim(host, "[]"))
	p.Secure = v.r.TLS != nil || host == "localhost" || ip != nil && ip.IsLoopback()
	p.Headline = "Keep the round open: here it works on only while its page stays open"
	if p.Secure {
		p.Headline = "Here the round opens and works without a signal"
	}
	if len(v.s.Addresses) > 0 {
		p.Address = v.s.Addresses[0]
		if p.Code, err = look.QR(p.Address+"/", "Code that opens the room"); err != nil {
			return err
		}
	}
	p.File = f.File("marks", "File of marks")
	p.File.Error = f.Error("marks")
	if n, err := strconv.Atoi(v.r.URL.Query().Get("read")); err == nil && n > 0 {
		p.Taken = count(n, "mark was", "marks were") + " read in."
	}
	return v.render("signal_show", p)
}

// trustSend hands out the authority's certificate. It is no secret; its key stays in the room's folder.
func (s *server) trustSend(w http.ResponseWriter, r *http.Request) {
	if s.Trust == nil {
		http.NotFound(w, r)
		return
	}
	TrustFile(w, s.Trust)
}

// TrustFile answers with the authority's certificate, in the form that phones take.
func TrustFile(w http.ResponseWriter, t *Trust) {
	w.Header().Set("Content-Type", "application/x-x509-ca-cert")
	w.Header().Set("Content-Disposition", `attachment; filename="room.crt"`)
	_, _ = w.Write(t.Certificate)
}

// trustPage is what a phone is shown at the plain address of a room that is served by https: how it comes to trust the room.
type trustPage struct {
	layout
	Trust   *Trust
	Address string
}

// TrustHandler answers at the plain http address of a room that is served by https. It shows nothing of the room: how a phone
// comes to trust it, the certificate, and the way to the room.
func TrustHandler(cfg Config) (http.Handler, error) {
	s := &server{Config: cfg, routed: &routes{mux: http.NewServeMux()}}
	var err error
	if s.static, err = newStatic(files); err != nil {
		return nil, err
	}
	if s.pages, err = parsePages(files, s.funcs()); err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	mux.Handle("GET /static/", s.static)
	mux.HandleFunc("GET /phone/room.crt", s.trustSend)
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		p := &trustPage{layout: layout{Headline: "Let this phone trust the room", Title: "Trust the room", Bare: true, Styles: s.static.styles}, Trust: s.Trust}
		if len(s.Addresses) > 0 {
			p.Address = s.Addresses[0]
		}
		var b bytes.Buffer
		if err := s.pages["trust_show"].ExecuteTemplate(&b, "layout.html", p); err != nil {
			s.Log.Error("page failed", "path", r.URL.Path, "err", err)
			s.refuse(w, r, http.StatusInternalServerError, "Something went wrong in the program.")
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write(b.Bytes())
	})
	return s.guarded(mux), nil
}
