package advice

import (
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// FeedBand is what one group of birds is fed for along a span of days, by its plans and by what really began in the whole room.
type FeedBand struct {
	Name  string // "" for plans that bear no name
	Spans []FeedSpan
}

// Label is the band's name on a page.
func (b FeedBand) Label() string {
	if b.Name == "" {
		return "Whole room"
	}
	return b.Name
}

// FeedSpan is a run of days of one phase, both ends included. Guess is true for days to come.
type FeedSpan struct {
	Phase    feed.Phase
	From, To aviary.Date
	Guess    bool
}

// FeedGroup is the plans that bear one name, one season after the other.
type FeedGroup struct {
	Name  string
	Plans []*aviary.FeedPlan // without those that a later one replaced
}

// FeedGroups returns the groups that were ever planned, by the day on which they were first written.
func (d *Desk) FeedGroups() []FeedGroup {
	var names []string
	byName := map[string][]*aviary.FeedPlan{}
	all := d.feedPlans()
	for i := range all {
		name := all[i].Name
		if byName[name] == nil {
			names = append(names, name)
		}
		byName[name] = append(byName[name], &all[i])
	}
	out := make([]FeedGroup, 0, len(names))
	for _, name := range names {
		list := byName[name]
		slices.Reverse(list) // the later wins
		out = append(out, FeedGroup{name, keepApart(list)})
	}
	return out
}

// On returns the group's plan on a day, nil without one.
func (g FeedGroup) On(day aviary.Date) *aviary.FeedPlan {
	plan, _ := planOn(g.Plans, day)
	return plan
}

// GroupOn is what the unpaired birds of a group are fed for on a day; false where no plan holds.
func (d *Desk) GroupOn(g FeedGroup, day aviary.Date) (feed.Standing, bool) {
	plan := g.On(day)
	if plan == nil {
		return feed.Standing{}, false
	}
	if first, _ := planSpan(plan); day < first && !d.begunAhead(g, plan, day) {
		return feed.Standing{Phase: feed.Rest, Next: feed.Preparation, NextDay: feedDay(first)}, false
	}
	season := seasonOf(plan)
	var was begun
	from := marksFrom(g.Plans, plan, day)
	var later []aviary.PhaseMark
	for _, m := range d.Room.Whole().Phases {
		switch {
		case m.Day >= from && m.Day <= min(day, d.Today):
			was.add(m)
		case m.Day > day && m.Day <= d.Today:
			later = append(later, m)
		}
	}
	was.lay(&season)
	was.layLate(&season, later)
	return season.Group(feedDay(day)), true
}

// begunAhead reports whether a phase of the coming season began before its plan's first day.
func (d *Desk) begunAhead(g FeedGroup, plan *aviary.FeedPlan, day aviary.Date) bool {
	from := marksFrom(g.Plans, plan, day)
	return slices.ContainsFunc(d.Room.Whole().Phases, func(m aviary.PhaseMark) bool { return m.Day >= from && m.Day <= min(day, d.Today) })
}

// FeedBands returns the phases of each group from one day to another, both included, split at today. Days before a group's first
// plan and more than a year after its last one began are left out.
func (d *Desk) FeedBands(from, to aviary.Date) []FeedBand {
	var out []FeedBand
	for _, g := range d.FeedGroups() {
		band := FeedBand{Name: g.Name}
		for day := from; day <= to; day++ {
			s, ok := d.GroupOn(g, day)
			if !ok {
				continue
			}
			guess := day > d.Today
			if n := len(band.Spans); n > 0 {
				last := &band.Spans[n-1]
				if last.Phase == s.Phase && last.Guess == guess && last.To == day-1 {
					last.To = day
					continue
				}
			}
			band.Spans = append(band.Spans, FeedSpan{s.Phase, day, day, guess})
		}
		if len(band.Spans) > 0 {
			out = append(out, band)
		}
	}
	return out
}
