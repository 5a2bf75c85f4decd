package web

import (
	"io"
	"net/http"
	"time"

	"broodlight/internal/aviary"
)

// CalendarWriter writes dates as a file for calendar programs. The same dates give the same bytes.
type CalendarWriter func(w io.Writer, c Calendar) error

// Calendar is the room's dates.
type Calendar struct {
	Name  string         // as a calendar program lists it
	Room  aviary.ID      // whose dates they are
	Zone  *time.Location // in which the times of day are
	Stamp time.Time      // when they were worked out
	Dates []CalendarDate
}

// CalendarDate is one date: whole days when Time is zero.
type CalendarDate struct {
	Key         string // names the same thing whatever day it falls on
	From, To    aviary.Date
	Time        aviary.Clock
	Minutes     int
	Title, Text string
	Category    string
	Place       string
	URL         string
}

// calendarRoutes are the pages about the calendar addresses, and the addresses themselves.
func (s *server) calendarRoutes(r *routes) {
	if s.WriteCalendar == nil {
		return
	}
	r.get("/settings/calendar", s.calendarShow)
	r.post("/settings/calendar", s.calendarAdd)
	r.post("/settings/calendar/{id}/revoke", s.calendarRevoke)
	r.get("/settings/calendar/file/{name}", s.calendarFile)
	r.add(http.MethodGet, "/calendar/{token}", anyone, s.calendarFeed) // the token is the log-in
}
