package cli

import (
	"io"

	"broodlight/internal/exchange"
	"broodlight/internal/web"
)

// WriteCalendar writes the room's dates for the pages.
func WriteCalendar(w io.Writer, c web.Calendar) error {
	out := exchange.Calendar{Name: c.Name, Room: c.Room, Zone: c.Zone, Stamp: c.Stamp}
	for _, d := range c.Dates {
		out.Events = append(out.Events, exchange.Event{
			Key: d.Key, From: d.From, To: d.To, Time: d.Time, Minutes: d.Minutes, Title: d.Title, Text: d.Text, Category: d.Category, Place: d.Place, URL: d.URL,
		})
	}
	return exchange.WriteCalendar(w, out)
}
