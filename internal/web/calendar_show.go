package web

import (
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// calendarsPage lists a person's secret addresses and makes another.
type calendarsPage struct {
	layout
	List     []calendarRow
	New      string       // the address that was just made
	Open     template.URL // the same, for a calendar program on this device
	Kinds    field
	Loopback bool // only this computer can read an address
}

type calendarRow struct {
	ID               aviary.ID
	Name, Kinds      string
	Made, Read       string
	NeverRead, Fresh bool
}

// calendarCookie holds the token of an address that was just made, for the page that shows it.
const calendarCookie = "calendar"

// shownFor is how long a new address is shown.
const shownFor = 10 * time.Minute

// calendarShow shows the addresses.
func (s *server) calendarShow(v *visit) error { return calendarForm(v, blank()) }

func calendarForm(v *visit, f *form) error {
	p := &calendarsPage{layout: underSettings("", "A secret address lets the calendar on your phone or computer show what is due here. It reads, and changes nothing."), Loopback: !v.s.LAN}
	if !v.keeper() {
		p.Up, p.UpTo = "/more", "More"
	}
	p.Form = f
	label := map[string]string{}
	var kinds []option
	for _, k := range advice.CalendarSorts() {
		label[string(k.Kind)] = k.Label
		kinds = append(kinds, option{Value: string(k.Kind), Label: k.Label})
	}
	p.Kinds = f.Ticks("kinds", "Which dates", kinds).Hint("Tick none to have all of them.").Full()
	me, err := v.person()
	if err != nil {
		return err
	}
	var list []journal.Calendar
	if me.Name != "" {
		if list, err = v.s.Book.Calendars(v.ctx(), me.ID); err != nil {
			return err
		}
	}
	fresh, err := v.newCalendar(me)
	if err != nil {
		return err
	}
	var last time.Time
	for _, c := range list {
		row := calendarRow{ID: c.ID, Name: c.Name, Made: v.moment(c.Made), Read: v.moment(c.LastRead), NeverRead: c.LastRead.IsZero(), Fresh: c.ID == fresh.ID, Kinds: "all dates"}
		if row.Name == "" {
			row.Name = "Address without a name"
		}
		var names []string
		for _, k := range c.Kinds {
			if label[k] != "" {
				names = append(names, label[k])
			}
		}
		if len(c.Kinds) > 0 {
			row.Kinds = strings.Join(names, "; ")
		}
		if c.LastRead.After(last) {
			last = c.LastRead
		}
		if row.Fresh {
			p.New = v.base() + "/calendar/" + fresh.token
			p.Open = template.URL("webcal" + strings.TrimPrefix(strings.TrimPrefix(p.New, "https"), "http")) // our own host and token
		}
		p.List = append(p.List, row)
	}
	switch {
	case len(list) == 0:
		p.Headline = "No calendar of yours shows the room's dates"
	case last.IsZero():
		p.Headline = "Your address has not been read yet"
		if len(list) > 1 {
			p.Headline = "None of your addresses has been read yet"
		}
	default:
		p.Headline = "Your calendar last read the dates " + v.moment(last)
	}
	return v.render("calendar_show", p)
}

// freshCalendar is an address that was just made, with the token that only its maker has.
type freshCalendar struct {
	journal.Calendar
	token string
}

// newCalendar is the address that this person has just made on this browser, if any.
func (v *visit) newCalendar(me journal.Person) (freshCalendar, error) {
	c, err := v.r.Cookie(calendarCookie)
	if err != nil || me.Name == "" {
		return freshCalendar{}, nil // there is none
	}
	found, ok, err := v.s.Book.FindCalendar(v.ctx(), c.Value)
	if err != nil || !ok || found.Person != me.ID || v.now.Sub(found.Made) > shownFor {
		return freshCalendar{}, err
	}
	return freshCalendar{found, c.Value}, nil
}

// moment is an instant as a page tells it: "today 07:40", "12 Jan 07:40"; "" for none.
func (v *visit) moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	t = t.In(v.now.Location())
	clock := t.Format("15:04")
	switch day := aviary.DayIn(t, t.Location()); {
	case day == v.today:
		return "today " + clock
	case day.Year() == v.today.Year():
		return day.Short() + " " + clock
	default:
		return day.Long() + " " + clock
	}
}

// person is who this is on the list of people; without a name when he is not on it.
func (v *visit) person() (journal.Person, error) {
	people, err := v.s.Book.People(v.ctx())
	if err != nil {
		return journal.Person{}, err
	}
	for _, p := range people {
		if p.Name == v.who.By {
			return p, nil
		}
	}
	return journal.Person{}, nil
}

// me is who this is. A keeper who has been alone at this computer so far is put on the list of people.
func (v *visit) me() (journal.Person, error) {
	p, err := v.person()
	if err != nil || p.Name != "" {
		return p, err
	}
	if p, err = v.s.Book.AddPerson(v.ctx(), v.who.By, v.who.Role); err != nil {
		return p, err
	}
	v.s.peopleChanged()
	return p, nil
}

// calendarAdd makes an address and shows it for a while.
func (s *server) calendarAdd(v *visit) error {
	f := v.form()
	var sorts []string
	for _, k := range advice.CalendarSorts() {
		sorts = append(sorts, string(k.Kind))
	}
	kinds := f.words("kinds")
	for _, k := range kinds {
		if !slices.Contains(sorts, k) {
			f.wrong("kinds", "choose from the list; %q is not on it", short(k))
		}
	}
	if err := f.err(); err != nil {
		return v.retry(f, err, calendarForm)
	}
	me, err := v.me()
	if err != nil {
		return err
	}
	if len(kinds) == len(sorts) {
		kinds = nil // kinds that come with a later version are meant too
	}
	token, err := s.Book.AddCalendar(v.ctx(), v.once, me.ID, f.text("name"), kinds)
	if err != nil {
		return v.retry(f, err, calendarForm)
	}
	v.showCalendar(token, int(shownFor.Seconds()))
	return v.see("/settings/calendar")
}

// showCalendar keeps a token on the browser for the page that shows it, and nowhere else; less than 0 s takes it back.
func (v *visit) showCalendar(token string, seconds int) {
	http.SetCookie(v.w, &http.Cookie{
		Name: calendarCookie, Value: token, Path: "/settings/calendar", MaxAge: seconds, HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: v.r.TLS != nil,
	})
}

// calendarRevoke ends an address.
func (s *server) calendarRevoke(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	me, err := v.person()
	if err != nil {
		return err
	}
	if err := s.Book.RevokeCalendar(v.ctx(), me.ID, id); err != nil {
		return err
	}
	return v.see("/settings/calendar")
}
