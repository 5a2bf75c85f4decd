package web

import (
	"errors"
	"math"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"broodlight/internal/aviary"
)

// loginPage asks who is there.
type loginPage struct {
	layout
	To string
}

// loginShow shows the log-in form.
func (s *server) loginShow(v *visit) error {
	if v.who.By != "" {
		return v.see("/")
	}
	return loginForm(v, blank("to", v.r.FormValue("to")))
}

func loginForm(v *visit, f *form) error {
	return v.render("login_send", &loginPage{layout: layout{Headline: "Who is there?", Title: "Log in", Bare: true, Form: f}, To: f.Value("to")})
}

// loginSend logs a person in.
func (s *server) loginSend(v *visit) error {
	if !s.LAN {
		return v.see("/")
	}
	f := v.form()
	name, phrase := f.text("person"), f.Values.Get("passphrase")
	if wait := s.gate.wait(address(v.r), name); wait > 0 {
		minutes := int(math.Ceil(wait.Minutes()))
		v.w.Header().Set("Retry-After", strconv.Itoa(int(math.Ceil(wait.Seconds()))))
		return &statusError{http.StatusTooManyRequests, "That was tried too often. Wait " + count(minutes, "minute", "minutes") + ", then try again."}
	}
	people, err := s.Book.People(v.ctx())
	if err != nil {
		return err
	}
	var id aviary.ID // of nobody: the check takes as long for a name that is not there
	for _, p := range people {
		if strings.EqualFold(p.Name, name) {
			id = p.ID
		}
	}
	s.gate.enter()
	ok, err := s.Book.CheckPassphrase(v.ctx(), id, phrase)
	s.gate.leave()
	if err != nil {
		return err
	}
	if !ok {
		f.wrong("", "that name and passphrase do not go together; try again")
		v.status = http.StatusUnprocessableEntity
		return loginForm(v, f)
	}
	token, err := s.Book.NewSession(v.ctx(), id)
	if err != nil {
		return err
	}
	const month = 30 * 24 * 3600 // seconds; the journal ends a log-in that was not used for as long
	v.setCookie(sessionCookie, token, month)
	to := f.text("to")
	if !local(to) {
		to = "/"
	}
	return v.see(to)
}

// logoutSend logs the person out on this browser.
func (s *server) logoutSend(v *visit) error {
	if c, err := v.r.Cookie(sessionCookie); !errors.Is(err, http.ErrNoCookie) {
		if err := s.Book.EndSession(v.ctx(), c.Value); err != nil {
			return err
		}
	}
	v.setCookie(sessionCookie, "", -1)
	v.setCookie(undoCookie, "", -1)
	return v.see("/login")
}

// address is where a request comes from, without the port.
func address(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// gate slows down who guesses passphrases.
type gate struct {
	now   func() time.Time
	slots chan struct{} // each check takes 64 MiB

	mu   sync.Mutex
	from map[string]*tries // by address and by person
}

type tries struct {
	limit *rate.Limiter
	used  time.Time
}

// An address has 10 tries at once and then one every 20 s, a person 10 and then one every 20 s. A passphrase of four common
// words would take some thousand years at that; the figures are judgement.
const (
	triesAtOnce = 10
	triesEvery  = 20 * time.Second
	triesKept   = 4096
)

func newGate(now func() time.Time) *gate {
	return &gate{now: now, slots: make(chan struct{}, 2), from: map[string]*tries{}}
}

func (g *gate) enter() { g.slots <- struct{}{} }
func (g *gate) leave() { <-g.slots }

// wait returns how long the next try from an address, or for a person, has to wait; 0 when it may be made.
func (g *gate) wait(address, person string) time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	if len(g.from) > triesKept {
		for k, t := range g.from {
			if now.Sub(t.used) > triesAtOnce*triesEvery { // full again, as a fresh one is
				delete(g.from, k)
			}
		}
	}
	var longest time.Duration
	for _, key := range []string{"at " + address, "as " + short(strings.ToLower(person))} {
		t := g.from[key]
		if t == nil {
			t = &tries{limit: rate.NewLimiter(rate.Every(triesEvery), triesAtOnce)}
			g.from[key] = t
		}
		t.used = now
		if !t.limit.AllowN(now, 1) {
			need := time.Duration((1 - t.limit.TokensAt(now)) * float64(triesEvery))
			longest = max(longest, need, time.Second)
		}
	}
	return longest
}
