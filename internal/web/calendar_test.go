package web

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"
)

// plainCalendar writes a line a date; the form that calendar programs read is tested where it is made.
func plainCalendar(w io.Writer, c Calendar) error {
	fmt.Fprintf(w, "%s %s %s %s\n", c.Name, c.Room, c.Zone, c.Stamp.Format(time.RFC3339))
	for _, d := range c.Dates {
		fmt.Fprintf(w, "%s|%s|%s|%s|%s|%s|%s\n", d.Key, d.From, d.To, d.Title, d.Category, d.Place, d.URL)
	}
	return nil
}

var secretAddress = regexp.MustCompile(`value="http://127\.0\.0\.1:8417(/calendar/[A-Za-z0-9_-]{43})"`)

// newAddress makes an address and returns its path.
func (m *testRoom) newAddress(pairs ...string) string {
	m.t.Helper()
	m.post("/settings/calendar", append(pairs, "once", newID().String())...).wants(303)
	a := m.get("/settings/calendar").wants(200, "The new address", "webcal://127.0.0.1:8417/calendar/").sound()
	found := secretAddress.FindStringSubmatch(a.Body.String())
	if found == nil {
		m.t.Fatalf("the page shows no address: %s", a.Body)
	}
	return found[1]
}

func TestCalendar_AnAddressIsMadeReadAndRevoked(t *testing.T) {
	m := newRoom(t, smallRoom()...)
	m.get("/settings/calendar").wants(200, "No calendar of yours shows the room&#39;s dates", "this computer alone").lacks("The new address").sound()
	path := m.newAddress("name", "kitchen phone")
	m.get("/settings/calendar").wants(200, "kitchen phone", "all dates", "not read yet", "Your address has not been read yet")

	a := m.get(path).wants(200, "Back room "+m.book.ID().String()+" Europe/Dublin 2026-01-13T00:00:00Z", "|A1: hatch|Hatch|A1|http://127.0.0.1:8417/cage/")
	if got := a.Header().Get("Content-Type"); got != "text/calendar; charset=utf-8" {
		t.Errorf("type %q", got)
	}
	if got := a.Header().Get("Cache-Control"); got != "private, no-cache" {
		t.Errorf("cache %q", got)
	}
	m.get(path+".ics").wants(200, "A1: hatch")
	m.get("/settings/calendar").wants(200, "Your calendar last read the dates today 06:48", "last read today 06:48")

	// The same room and day give the same bytes, at another time of the day too, and they are not sent twice.
	m.now = m.now.Add(5 * time.Hour)
	again := m.get(path).wants(200)
	if again.Body.String() != a.Body.String() {
		t.Error("later on the same day the bytes are others")
	}
	r := m.request("GET", path, "")
	r.Header.Set("If-None-Match", a.Header().Get("ETag"))
	if same := m.do(r).wants(http.StatusNotModified); same.Body.Len() > 0 {
		t.Errorf("304 with %d bytes", same.Body.Len())
	}
	m.now = m.now.Add(24 * time.Hour)
	r = m.request("GET", path, "")
	r.Header.Set("If-None-Match", `"x", `+a.Header().Get("ETag"))
	m.do(r).wants(200) // the day is another

	m.get("/settings/calendar").wants(200).lacks("The new address", strings.TrimPrefix(path, "/calendar/"))
	me, err := m.s.Book.People(context.Background())
	if err != nil || len(me) != 1 {
		t.Fatalf("people %v, %v", me, err)
	}
	list, err := m.book.Calendars(context.Background(), me[0].ID)
	if err != nil || len(list) != 1 {
		t.Fatalf("addresses %v, %v", list, err)
	}
	m.post("/settings/calendar/" + list[0].ID.String() + "/revoke").wants(303)
	m.get(path).wants(404, "There is no such calendar").lacks("Back room", "<html")
	m.post("/settings/calendar/"+list[0].ID.String()+"/revoke").wants(404, "not there")
	m.post("/settings/calendar/x/revoke").wants(404)
}

func TestCalendar_OnlyTheKindsTicked(t *testing.T) {
	m := newRoom(t, smallRoom()...)
	path := m.newAddress("kinds", "ring", "kinds", "wean")
	m.get("/settings/calendar").wants(200, "Ringing; Young on their own", "Address without a name")
	m.get(path).wants(200, "|Ringing|").lacks("|Hatch|", "|Candling|")
	m.get("/settings/calendar/file/broodlight.ics").wants(200, "|Ringing|", "|Hatch|")
}

func TestCalendar_Refusals(t *testing.T) {
	m := newRoom(t, smallRoom()...)
	for name, tt := range map[string]struct {
		pairs []string
		says  string
	}{
		"a kind that is none": {[]string{"kinds", "song"}, "&#34;song&#34; is not on it"},
		"a name too long":     {[]string{"name", strings.Repeat("x", 61)}, "at most 60 fit"},
	} {
		t.Run(name, func(t *testing.T) {
			a := m.post("/settings/calendar", tt.pairs...)
			a.t = t
			a.wants(422, tt.says).sound()
		})
	}
	once := newID().String()
	m.post("/settings/calendar", "once", once).wants(303)
	m.post("/settings/calendar", "once", once).wants(422, "made already")
	if len(m.entries("note")) != 0 {
		t.Error("an address is an entry")
	}
	for _, path := range []string{"/calendar/x", "/calendar/" + strings.Repeat("A", 43), "/calendar/"} {
		m.get(path).wants(404)
	}
	// The host is looked at here too: a page elsewhere whose name was turned to this computer reads nothing.
	r := m.request("GET", m.newAddress(), "")
	r.Host = "elsewhere.example"
	m.do(r).wants(403, "not one of this room").lacks("A1")
}

func TestCalendar_EachPersonHasHisOwnAndNeedsNoLogInToRead(t *testing.T) {
	m := roomWith(t, Config{LAN: true}, smallRoom()...)
	m.get("/settings/calendar").wants(303)
	m.logIn("Tom", helperPhrase)
	toms := m.newAddress("name", "Tom's phone")
	m.get("/settings/calendar").wants(200, "Tom&#39;s phone").lacks("this computer alone", `href="/settings"`)
	flash := m.cookie["calendar"]
	m.post("/logout")
	m.get(toms).wants(200, "A1: hatch") // a calendar program logs in by the address alone
	m.logIn("Nora", keeperPhrase)
	m.cookie["calendar"] = flash
	m.get("/settings/calendar").wants(200, "No calendar of yours").lacks("Tom&#39;s phone", "The new address")
	people, err := m.book.People(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range people {
		if p.Name != "Tom" {
			continue
		}
		list, err := m.book.Calendars(context.Background(), p.ID)
		if err != nil || len(list) != 1 {
			t.Fatalf("Tom's addresses: %v, %v", list, err)
		}
		m.post("/settings/calendar/" + list[0].ID.String() + "/revoke").wants(404)
		m.get(toms).wants(200)
		m.post("/settings/people/" + p.ID.String() + "/remove").wants(303) // with him goes his address
	}
	m.get(toms).wants(404)
}

func TestCalendar_WithoutAWriterThereIsNone(t *testing.T) {
	m := newRoom(t)
	s, err := newServer(Config{Book: m.book, Log: m.s.Log})
	if err != nil {
		t.Fatal(err)
	}
	m.s, m.h = s, s.handler()
	m.get("/settings/calendar").wants(404)
	m.get("/settings/broker").wants(404)
	m.get("/settings").wants(200).lacks("/settings/calendar", "/settings/broker")
}
