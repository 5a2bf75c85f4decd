package cli

import (
	"bytes"
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	goical "github.com/emersion/go-ical"

	"broodlight/internal/advice"
	"broodlight/internal/web"
)

// TestCalendar_TheInventedRoomIsReadByAnotherProgram goes the whole way: the invented room, a secret address made on its
// page, the address read as a calendar program reads it, the answer taken apart by a second library.
func TestCalendar_TheInventedRoomIsReadByAnotherProgram(t *testing.T) {
	book, err := openDemo(context.Background(), t.TempDir(), 1)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	h, err := web.New(web.Config{Book: book, WriteCalendar: WriteCalendar})
	if err != nil {
		t.Fatal(err)
	}
	ask := func(r *http.Request) *httptest.ResponseRecorder {
		r.Host = "127.0.0.1:8417"
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	form := httptest.NewRequest("POST", "/settings/calendar", strings.NewReader(url.Values{"name": {"phone"}}.Encode()))
	form.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	made := ask(form)
	if made.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", made.Code, made.Body)
	}
	page := httptest.NewRequest("GET", "/settings/calendar", nil)
	for _, c := range made.Result().Cookies() {
		page.AddCookie(c)
	}
	address := regexp.MustCompile(`value="http://127\.0\.0\.1:8417(/calendar/[A-Za-z0-9_-]{43})"`).FindStringSubmatch(ask(page).Body.String())
	if address == nil {
		t.Fatal("the page shows no address")
	}
	begun := time.Now()
	feed := ask(httptest.NewRequest("GET", address[1], nil))
	took := time.Since(begun)
	if feed.Code != http.StatusOK || feed.Header().Get("Content-Type") != "text/calendar; charset=utf-8" {
		t.Fatalf("status %d, %v", feed.Code, feed.Header())
	}
	b := feed.Body.Bytes()
	for _, line := range strings.Split(strings.TrimSuffix(string(b), "\r\n"), "\r\n") {
		if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
			t.Fatalf("line of %d octets %q", len(line), line)
		}
	}
	cal, err := goical.NewDecoder(bytes.NewReader(b)).Decode()
	if err != nil {
		t.Fatal(err)
	}
	if err := goical.NewEncoder(&bytes.Buffer{}).Encode(cal); err != nil { // what must be there is, once
		t.Fatal(err)
	}
	ids := map[string]bool{}
	kinds := map[string]int{}
	for _, e := range cal.Events() {
		uid, err := e.Props.Text(goical.PropUID)
		if err != nil || ids[uid] {
			t.Errorf("uid %q, %v", uid, err)
		}
		ids[uid] = true
		category, err := e.Props.Text(goical.PropCategories)
		if err != nil {
			t.Error(err)
		}
		kinds[category]++
		from, err1 := e.DateTimeStart(time.UTC)
		to, err2 := e.DateTimeEnd(time.UTC)
		if err1 != nil || err2 != nil || !to.After(from) {
			t.Errorf("%v to %v, %v, %v", from, to, err1, err2)
		}
		if u, err := e.Props.URI(goical.PropURL); err != nil || u.Host != "127.0.0.1:8417" {
			t.Errorf("url %v, %v", u, err)
		}
	}
	for _, s := range advice.CalendarSorts() {
		switch s.Kind {
		case "quarantine", "away": // the invented room may have none
		default:
			if kinds[s.Label] == 0 {
				t.Errorf("no date of the kind %q among %v", s.Label, kinds)
			}
		}
	}
	t.Logf("%d dates, %d bytes, %v", len(ids), len(b), took)
	if again := ask(httptest.NewRequest("GET", address[1], nil)); !bytes.Equal(again.Body.Bytes(), b) {
		t.Error("the same room and day give other bytes")
	}
}
