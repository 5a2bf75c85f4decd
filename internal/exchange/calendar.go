package exchange

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"net/url"
	"slices"
	"strings"
	"time"
	"unicode"

	ics "github.com/arran4/golang-ical"
	"github.com/google/uuid"

	"broodlight/internal/aviary"
)

// Calendar is dates of a room, for calendar programs.
type Calendar struct {
	Name   string         // as the program lists it
	Room   uuid.UUID      // whose dates they are; keys are unique within it
	Zone   *time.Location // in which the times of day are
	Stamp  time.Time      // when the dates were worked out
	Events []Event
}

// Event is one date: whole days when Time is zero.
type Event struct {
	Key      string      // names the same thing for as long as it lives, whatever day it falls on
	From, To aviary.Date // both included; To counts for whole days alone
	Time     aviary.Clock
	Minutes  int // how long it takes from Time
	Title    string
	Text     string // lines parted by \n
	Category string
	Place    string // in the room's words; "" for none
	URL      string // of its page; "" for none
}

// calendarMaker names this program in the files, as RFC 5545, 3.7.3, asks.
const calendarMaker = "-//Broodlight//Bird room//EN"

// askAgain is how often a calendar program is asked to read again: the room changes with each look into a nest.
const askAgain = "PT1H"

// WriteCalendar writes an iCalendar file (RFC 5545). The same calendar gives the same bytes.
//
// Times of day are written as UTC instants. Each event stands alone and none recurs, so there is no rule that would
// have to be worked out anew in a time zone; an instant needs no zone table, which calendar programs read differently,
// and is shown by every one of them in the clock of whoever looks. The zone's name stands in X-WR-TIMEZONE, for those
// that read it. Whole days are dates without a zone.
//
// An event's UID is made of the room and its key, as a name-based UUID (RFC 9562, 5.5; RFC 7986, 5.3).
func WriteCalendar(w io.Writer, c Calendar) error {
	cal := ics.NewCalendarFor("")
	cal.CalendarProperties = nil
	cal.SetVersion("2.0")
	cal.SetProductId(calendarMaker)
	cal.SetCalscale("GREGORIAN")
	cal.SetName(plainText(c.Name))
	if c.Zone != nil {
		cal.SetXWRTimezone(c.Zone.String())
	}
	cal.SetRefreshInterval(askAgain) // the library adds VALUE=DURATION
	cal.SetXPublishedTTL(askAgain)
	seen := map[string]bool{}
	events := slices.Clone(c.Events)
	slices.SortStableFunc(events, func(a, b Event) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.Time, b.Time), cmp.Compare(a.Key, b.Key))
	})
	for _, e := range events {
		if e.Key == "" || seen[e.Key] {
			return fmt.Errorf("two dates of the calendar have the key %q", e.Key)
		}
		seen[e.Key] = true
		v := cal.AddEvent(uuid.NewSHA1(c.Room, []byte(e.Key)).String())
		if err := fillEvent(v, e, c); err != nil {
			return fmt.Errorf("the date %q cannot be written: %w", e.Key, err)
		}
	}
	var b bytes.Buffer
	if err := cal.SerializeTo(&b, ics.WithNewLineWindows); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

func fillEvent(v *ics.VEvent, e Event, c Calendar) error {
	v.SetDtStampTime(c.Stamp)
	minute, timed := e.Time.Minutes()
	switch {
	case e.From == 0:
		return fmt.Errorf("it has no day")
	case timed:
		if c.Zone == nil || e.Minutes < 1 {
			return fmt.Errorf("a time of day needs a zone and a length")
		}
		from := time.Date(e.From.Year(), e.From.Time().Month(), e.From.Time().Day(), 0, minute, 0, 0, c.Zone)
		v.SetStartAt(from)
		v.SetEndAt(from.Add(time.Duration(e.Minutes) * time.Minute))
	case e.To < e.From:
		return fmt.Errorf("it ends before it begins")
	default:
		v.SetAllDayStartAt(e.From.Time())
		v.SetAllDayEndAt((e.To + 1).Time()) // the first day after it: RFC 5545, 3.6.1
	}
	v.SetSummary(plainText(e.Title))
	for _, p := range []struct {
		text string
		set  func(string, ...ics.PropertyParameter)
	}{{e.Text, v.SetDescription}, {e.Place, v.SetLocation}, {e.Category, v.AddCategory}} {
		if text := plainText(p.text); text != "" {
			p.set(text)
		}
	}
	if e.URL != "" {
		u, err := url.Parse(e.URL)
		if err != nil || !u.IsAbs() {
			return fmt.Errorf("its address %q is none", e.URL)
		}
		v.SetURL(u.String())
	}
	v.SetTimeTransparency(ics.TransparencyTransparent) // nobody is busy because a clutch hatches
	return nil
}

// plainText leaves out what no calendar text may hold: control characters, and letters that are none.
func plainText(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "�"), "\r\n", "\n")
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' && r != '\t' {
			return -1
		}
		return r
	}, s)
}
