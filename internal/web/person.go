package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// DefaultKeeper is the name of the keeper of a room in which nobody has been named.
const DefaultKeeper = "Keeper"

// ownerSetting is the private setting that holds the name of the keeper on loopback.
const ownerSetting = "owner"

// SetOwner gives the room's keeper a passphrase, and makes him when there is none of that name. An empty name is the keeper who
// is there, or DefaultKeeper. It returns the name to log in with.
func SetOwner(ctx context.Context, b *journal.Book, name, phrase string) (string, error) {
	if name == "" {
		var err error
		if name, err = Owner(ctx, b); err != nil {
			return "", err
		}
	}
	people, err := b.People(ctx)
	if err != nil {
		return "", err
	}
	var p journal.Person
	for _, x := range people {
		if x.Name == name {
			p = x
		}
	}
	if p.Name != "" && p.Role != aviary.Keeper {
		return "", &aviary.Error{Code: aviary.Conflict, Field: "name", Message: name + " is a helper; name a keeper"}
	}
	if p.Name == "" {
		if p, err = b.AddPerson(ctx, name, aviary.Keeper); err != nil {
			return "", err
		}
	}
	if err := b.SetPassphrase(ctx, p.ID, phrase); err != nil {
		return "", err
	}
	return p.Name, b.SetSetting(ctx, ownerSetting, p.Name)
}

// Owner returns the name of the keeper on loopback: the one set, else the first keeper, else DefaultKeeper.
func Owner(ctx context.Context, b *journal.Book) (string, error) {
	name, err := b.Setting(ctx, ownerSetting)
	if err != nil || name != "" {
		return name, err
	}
	people, err := b.People(ctx)
	if err != nil {
		return "", err
	}
	for _, p := range people {
		if p.Role == aviary.Keeper {
			return p.Name, nil
		}
	}
	return DefaultKeeper, nil
}

func (s *server) owner(ctx context.Context) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.ownerName == "" {
		name, err := Owner(ctx, s.Book)
		if err != nil {
			return "", err
		}
		s.ownerName = name
	}
	return s.ownerName, nil
}

// peopleChanged forgets the keeper's name, which may have changed.
func (s *server) peopleChanged() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.ownerName = ""
}

const sessionCookie = "broodlight"

// logInFirst sends a person who is not logged in to the log-in page.
type logInFirst struct{ path string }

func (*logInFirst) Error() string { return "log in first" }

// admit finds out who the person is, reads the form, and refuses what the route does not allow.
func (v *visit) admit(n need) error {
	if err := v.know(); err != nil {
		return err
	}
	if v.who.By == "" && n != anyone {
		if v.r.Method == http.MethodPost {
			return &aviary.Error{Code: aviary.Denied, Message: "you are logged out; log in, then send the form again"}
		}
		return &logInFirst{"/login?to=" + url.QueryEscape(v.r.URL.RequestURI())}
	}
	if n == keepOnly && !v.keeper() {
		return &aviary.Error{Code: aviary.Denied, Message: "only a keeper may do this; a helper writes checks and rounds. Ask the keeper"}
	}
	return v.readForm()
}

// know finds out who the person is.
func (v *visit) know() error {
	if v.sent != nil && v.sent.file != nil {
		v.who = *v.sent.file
		return nil
	}
	if !v.s.LAN {
		name, err := v.s.owner(v.ctx())
		v.who = journal.Writer{By: name, Role: aviary.Keeper}
		return err
	}
	c, err := v.r.Cookie(sessionCookie)
	if errors.Is(err, http.ErrNoCookie) {
		return nil
	}
	p, ok, err := v.s.Book.Session(v.ctx(), c.Value)
	if ok {
		v.who = journal.Writer{By: p.Name, Role: p.Role}
	}
	return err
}

// setCookie sets a cookie that no script reads and no other site sends. maxAge is in seconds; 0 keeps it until the browser
// is closed, less than 0 takes it back.
func (v *visit) setCookie(name, value string, maxAge int) {
	http.SetCookie(v.w, &http.Cookie{Name: name, Value: value, Path: "/", MaxAge: maxAge, HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: v.r.TLS != nil})
}
