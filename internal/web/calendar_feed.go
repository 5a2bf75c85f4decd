package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"slices"
	"strings"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// The days that a calendar holds, from today: what is past stays a while, so that it does not vanish on the day itself;
// a year ahead shows the next season. Both are judgement.
const (
	calendarPast  = 30
	calendarAhead = 400
)

// calendarFeed answers a secret address with the dates. It shows nothing else of the room to who has it.
func (s *server) calendarFeed(v *visit) error {
	token := strings.TrimSuffix(v.r.PathValue("token"), ".ics") // some programs ask for the ending
	c, ok, err := s.Book.FindCalendar(v.ctx(), token)
	if err != nil {
		return err
	}
	if !ok {
		// No page: the address may be in the hands of somebody who is none of ours.
		s.refuse(v.w, v.r, http.StatusNotFound, "There is no such calendar. Its address has been cut or revoked; make another under Settings, Calendar.")
		return nil
	}
	if err := s.Book.NoteCalendarRead(v.ctx(), c); err != nil {
		return err
	}
	return v.sendCalendar(c.Kinds, "inline")
}

// calendarFile sends the dates once, for a calendar that cannot reach this computer.
func (s *server) calendarFile(v *visit) error {
	return v.sendCalendar(nil, `attachment; filename="broodlight.ics"`)
}

// sendCalendar sends the dates of the kinds, or of all when there is none. What a calendar program has already it does
// not get again.
func (v *visit) sendCalendar(kinds []string, disposition string) error {
	var b bytes.Buffer
	if err := v.s.WriteCalendar(&b, v.dates(kinds)); err != nil {
		return err
	}
	sum := sha256.Sum256(b.Bytes())
	tag := `W/"` + hex.EncodeToString(sum[:16]) + `"` // weak: the bytes on the line may be compressed
	h := v.w.Header()
	h.Set("ETag", tag)
	h.Set("Content-Disposition", disposition)
	h.Set("Cache-Control", "private, no-cache")
	if slices.ContainsFunc(strings.Split(v.r.Header.Get("If-None-Match"), ","), func(s string) bool {
		s = strings.TrimSpace(s)
		return s == "*" || strings.TrimPrefix(s, "W/") == strings.TrimPrefix(tag, "W/")
	}) {
		v.w.WriteHeader(http.StatusNotModified)
		return nil
	}
	return v.send("text/calendar; charset=utf-8", b.Bytes())
}

// dates works the dates out as of today, whatever the time of day.
func (v *visit) dates(kinds []string) Calendar {
	label := map[advice.CalendarKind]string{}
	for _, s := range advice.CalendarSorts() {
		label[s.Kind] = s.Label
	}
	base := v.base()
	c := Calendar{Name: "Bird room", Room: v.s.Book.ID(), Zone: v.now.Location()}
	c.Stamp = time.Date(v.today.Year(), v.today.Time().Month(), v.today.Time().Day(), 0, 0, 0, 0, c.Zone)
	v.s.Book.View(func(r *aviary.Room) {
		if name := r.Settings(v.today).Name; name != "" {
			c.Name = name
		}
		for _, e := range advice.At(r, v.today, 0).Calendar(v.today-calendarPast, v.today+calendarAhead) {
			if len(kinds) > 0 && !slices.Contains(kinds, string(e.Kind)) {
				continue
			}
			x := CalendarDate{Key: e.Key, From: e.From, To: e.To, Time: e.Time, Minutes: e.Minutes, Title: e.Title, Text: e.Text, Category: label[e.Kind], URL: base + calendarPage(e)}
			if e.Place != nil {
				x.Place = e.Place.Name
			}
			c.Dates = append(c.Dates, x)
		}
	})
	return c
}

// calendarPages are the pages that say more about a kind of date that is not about one cage.
var calendarPages = map[advice.CalendarKind]string{"lamps": "/lamps", "feeding": "/food", "sprouts": "/food/sprouting", "order": "/food/stores", "away": "/away"}

func calendarPage(e advice.CalendarEvent) string {
	if e.Place != nil {
		return "/cage/" + e.Place.ID.String()
	}
	if page := calendarPages[e.Kind]; page != "" {
		return page
	}
	return "/season"
}

// base is how this request reached us: scheme and host, which the guard has found to be ours.
func (v *visit) base() string {
	scheme := "http"
	if v.r.TLS != nil {
		scheme = "https"
	}
	return scheme + "://" + v.r.Host
}
