package advice

import (
	"cmp"
	"fmt"
	"slices"

	"broodlight/internal/aviary"
)

// CalendarKind names a sort of date in the calendar feed.
type CalendarKind string

// CalendarEvent is one date for a keeper's own calendar.
type CalendarEvent struct {
	// Key names the same thing whatever day it falls on, so that a calendar moves it and does not show it twice.
	Key      string
	Kind     CalendarKind
	From, To aviary.Date  // both included
	Time     aviary.Clock // zero for whole days
	Minutes  int          // how long it takes from Time; 0 for whole days
	Title    string       // "A3: hatch"
	Text     string       // lines parted by \n: when (8 in 10), what was seen, what it rests on
	Place    *aviary.Place
}

// calendarSort is one line of the table of kinds.
type calendarSort struct {
	kind  CalendarKind
	label string // beside the box to tick
	dates func(d *Desk, from, to aviary.Date, add func(CalendarEvent))
}

// calendarSorts are the kinds of date, in the order in which pages list them. A later part of the program adds a line
// and a function; nothing else knows how many there are. A key begins with the kind.
var calendarSorts = []calendarSort{
	{"lamps", "Lamps: a timer to set", (*Desk).lampDates},
	{"feeding", "Feeding: a phase begins", (*Desk).feedDates},
	{"sprouts", "Sprouting: seed to test and to soak", (*Desk).sproutDates},
	{"order", "Food to order", (*Desk).orderDates},
	{"candle", "Candling", (*Desk).candleDates},
	{"hatch", "Hatch", (*Desk).hatchDates},
	{"ring", "Ringing", (*Desk).ringDates},
	{"fledge", "Young leave the nest", (*Desk).fledgeDates},
	{"wean", "Young on their own", (*Desk).weanDates},
	{"quarantine", "Quarantine over", (*Desk).quarantineDates},
	{"away", "Away", (*Desk).awayDates},
}

// CalendarSort is a kind of date and its name on a page.
type CalendarSort struct {
	Kind  CalendarKind
	Label string
}

// CalendarSorts lists the kinds of date in the order in which pages show them.
func CalendarSorts() []CalendarSort {
	out := make([]CalendarSort, len(calendarSorts))
	for i, s := range calendarSorts {
		out[i] = CalendarSort{s.kind, s.label}
	}
	return out
}

// Calendar lists the dates that touch the days from one to another, both included, by day. The same room and day give
// the same list.
func (d *Desk) Calendar(from, to aviary.Date) []CalendarEvent {
	var out []CalendarEvent
	seen := map[string]bool{}
	for _, s := range calendarSorts {
		s.dates(d, from, to, func(e CalendarEvent) {
			e.To = max(e.To, e.From)
			if e.From == 0 || e.To < from || e.From > to {
				return
			}
			e.Kind, e.Key = s.kind, string(s.kind)+"/"+e.Key
			for n, key := 2, e.Key; seen[e.Key]; n++ { // two things that nothing tells apart but their order
				e.Key = fmt.Sprintf("%s/%d", key, n)
			}
			seen[e.Key] = true
			out = append(out, e)
		})
	}
	slices.SortStableFunc(out, func(a, b CalendarEvent) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.Time, b.Time), cmp.Compare(a.Key, b.Key))
	})
	return out
}

// quarantineDates are the days on which places open again.
func (d *Desk) quarantineDates(_, _ aviary.Date, add func(CalendarEvent)) {
	for _, p := range d.Room.Places() {
		if p.BlockedUntil == 0 || len(d.Room.In(p.ID)) == 0 {
			continue
		}
		add(CalendarEvent{
			Key: p.ID.String(), From: p.BlockedUntil, Place: p, Title: p.Name + ": quarantine is over",
			Text: "Closed until " + p.BlockedUntil.Short() + ". Look the birds over; an avian vet can tell more. Then they may go to their cage.",
		})
	}
}

// awayDates are the spans on which a helper looks after the room.
func (d *Desk) awayDates(_, _ aviary.Date, add func(CalendarEvent)) {
	for _, a := range d.Room.Whole().Away {
		add(CalendarEvent{Key: a.Entry.String(), From: a.From, To: a.To, Title: "Away: a helper looks after the room", Text: a.Text})
	}
}
