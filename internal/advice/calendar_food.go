package advice

import (
	"fmt"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// feedDates are the days on which a group's next feeding phase begins, by its plan and by what really began.
func (d *Desk) feedDates(from, to aviary.Date, add func(CalendarEvent)) {
	for _, b := range d.FeedBands(from-1, to) { // the day before shows whether the first day begins anything
		var last feed.Phase
		var ended aviary.Date
		for _, s := range b.Spans {
			goesOn := s.Phase == last && s.From == ended+1 // parted at today alone
			last, ended = s.Phase, s.To
			if goesOn || s.From < from {
				continue
			}
			text := "Begun, as written or planned."
			if s.From > d.Today {
				text = "By the plan. A pair goes by its own signs and its nest, which may be sooner or later."
			}
			add(CalendarEvent{
				Key: fmt.Sprintf("%s/%d/%s", b.Name, d.SeasonOn(s.From).From.Year(), s.Phase), From: s.From,
				Title: fmt.Sprintf("%s: %s", b.Label(), phaseBegins(s.Phase)), Text: text,
			})
		}
	}
}

// phaseBegins says what begins.
func phaseBegins(p feed.Phase) string {
	switch p {
	case feed.Rest:
		return "rest food begins"
	case feed.Preparation:
		return "preparation begins, sexes apart"
	case feed.Conditioning:
		return "sprouted seed begins"
	case feed.EggFood:
		return "egg food joins the sprouts"
	case feed.Moult:
		return "food for the moult begins"
	}
	return "feeding for " + p.String() + " begins"
}

// orderDates are the days by which foods are to be ordered so as not to run out.
func (d *Desk) orderDates(_, _ aviary.Date, add func(CalendarEvent)) {
	for _, s := range d.Stores() {
		by := s.OrderBy()
		if !s.Known || by == 0 {
			continue
		}
		text := s.Why
		if last := s.Last(); last != 0 {
			text = fmt.Sprintf("What was counted on %s lasts until %s.\n%s", s.Count.Day.Short(), last.Short(), s.Why)
		}
		if by < d.Today {
			text = fmt.Sprintf("It was to be ordered by %s.\n%s", by.Short(), text)
		}
		add(CalendarEvent{Key: strings.ToLower(s.Name), From: max(by, d.Today), Title: "Order " + s.Name, Text: text})
	}
}

const (
	// testAhead is how long before sprouted seed begins a bag is tested, so that another can be had in time; testHolds how
	// long a test is taken to hold. Both in days, both judgement.
	testAhead = 14
	testHolds = 60
	// soakMinutes is how long it takes to measure, wash and soak the seed of a day.
	soakMinutes = 15
)

// sproutDates are the times at which seed is soaked in the coming days, and the day to test a bag before a group begins
// with sprouted seed.
func (d *Desk) sproutDates(from, to aviary.Date, add func(CalendarEvent)) {
	s, err := d.Sprouts()
	if err == nil { // a plan that cannot be laid out is told on its own page
		zone := d.Room.Zone(d.Today)
		for _, b := range s.Batches {
			at := b.Soak.In(zone)
			add(CalendarEvent{
				// A jar is known by the day for which it is soaked: at another temperature it is soaked at another time.
				Key: "soak/" + b.From.String(), From: aviary.DayIn(b.Soak, zone), Time: aviary.ClockOf(at.Hour(), at.Minute()), Minutes: soakMinutes,
				Title: fmt.Sprintf("Soak seed, jar %d", b.Jar),
				Text:  fmt.Sprintf("%.0f ml of dry seed gives %.0f ml, for %s.\nWash jar and seed; smell it each time, and throw away what smells sour or shows mould.", b.DryML, b.ML, days(b.From, b.To)),
			})
		}
	}
	tested := slices.ContainsFunc(d.Room.Whole().GermTests, func(g aviary.GermTest) bool { return g.Day > d.Today-testHolds })
	if tested {
		return
	}
	for _, b := range d.FeedBands(d.Today, to+testAhead) {
		for _, span := range b.Spans {
			if span.Phase == feed.Conditioning && span.From > d.Today {
				add(CalendarEvent{
					Key: fmt.Sprintf("test/%s/%d", b.Name, d.SeasonOn(span.From).From.Year()), From: max(span.From-testAhead, d.Today),
					Title: b.Label() + ": test the seed for sprouting",
					Text:  fmt.Sprintf("Sprouted seed begins %s. Lay out a hundred seeds and count on the third day how many sprouted, so that another bag can be had in time.", span.From.Short()),
				})
			}
		}
	}
}
