//go:build browser

package browser_test

import (
	"context"
	"io"
	"net/http"
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// plug stands in for the publisher, whose connection is none of the pages' business.
type plug struct{ state web.BrokerState }

func (*plug) Check(web.BrokerSettings) error                 { return nil }
func (p *plug) Set(s web.BrokerSettings)                     { p.state.On = s.On }
func (*plug) Test(context.Context, web.BrokerSettings) error { return nil }
func (p *plug) State() web.BrokerState                       { return p.state }

// plugged keeps a broker's settings and a calendar's address in a room, so that their pages have something to show.
func plugged(s *site) {
	s.Helper()
	if err := s.book.SetSetting(s.Context(), "broker", `{"on":true,"address":"mqtt://192.168.1.5:1883","user":"birds","password":"not shown"}`); err != nil {
		s.Fatal(err)
	}
	name, err := web.Owner(s.Context(), s.book)
	if err != nil {
		s.Fatal(err)
	}
	people, err := s.book.People(s.Context())
	if err != nil {
		s.Fatal(err)
	}
	for _, p := range people {
		if p.Name == name {
			s.address(p.ID)
			return
		}
	}
	p, err := s.book.AddPerson(s.Context(), name, aviary.Keeper)
	if err != nil {
		s.Fatal(err)
	}
	s.address(p.ID)
}

func (s *site) address(person aviary.ID) {
	s.Helper()
	if _, err := s.book.AddCalendar(s.Context(), newID(), person, "Phone in the kitchen", []string{"hatch", "ring", "wean"}); err != nil {
		s.Fatal(err)
	}
}

// TestCalendar makes an address, reads it as a calendar program does, and ends it.
func TestCalendar(t *testing.T) {
	t.Parallel()
	s := demoRoom(t, web.Config{Demo: true})
	axe := axeSource(t)
	p := s.tab(phone, light)
	p.load(navigate(s.url + "/settings/calendar"))
	p.fill("What reads it…", "my phone")
	p.tap("checkbox", "Hatch")
	p.follow("button", "Make it")
	p.says("The new address", "my phone", "not read yet")
	for _, theme := range []string{"light", "off"} {
		js[string](p, `document.documentElement.dataset.theme = "`+theme+`"`)
		for _, said := range p.axe(axe, theme == "light") {
			t.Errorf("%s, axe: %s", theme, said)
		}
		p.shot("journey-calendar-"+theme, true)
	}
	for _, said := range p.sideways() {
		t.Errorf("too wide: %s", said)
	}
	address := p.value("Address for your calendar program")
	read := func() (int, string) {
		resp, err := http.Get(address)
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp.StatusCode, string(b)
	}
	if status, text := read(); status != 200 || !strings.HasPrefix(text, "BEGIN:VCALENDAR\r\n") || !strings.Contains(text, "CATEGORIES:Hatch") || strings.Contains(text, "CATEGORIES:Ringing") {
		t.Errorf("%s is answered with %d: %.200s", address, status, text)
	}
	p.load(navigate(s.url + "/settings/calendar"))
	p.says("last read")
	p.tap("button", "Revoke")
	p.follow("button", "Yes, end it")
	p.lacks("my phone")
	if status, text := read(); status != 404 || strings.Contains(text, "VCALENDAR") {
		t.Errorf("revoked, it is answered with %d: %.200s", status, text)
	}
}
