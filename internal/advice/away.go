package advice

import (
	"cmp"
	"slices"

	"broodlight/internal/aviary"
)

// AwaySheet is what a helper needs while the keeper is away, and what happened meanwhile.
type AwaySheet struct {
	Span     aviary.AwaySpan
	Over     bool // the keeper is back
	Running  bool
	Days     []AwayDay
	Places   []AwayPlace // every place with birds, in walking order, for feed, water and a look
	Happened []Happening // what was written in those days, newest first
}

// AwayDay is what falls due on one day of the span.
type AwayDay struct {
	Day  aviary.Date
	Jobs []*Job
}

// AwayPlace is a place to look into each day.
type AwayPlace struct {
	Place *aviary.Place
	Cage  *Cage
	Birds int
}

// Happening is one entry of the days away.
type Happening struct {
	Entry *aviary.Entry
	Place *aviary.Place // the place that it is about, if any
	Text  string
}

// Away returns the sheet of the span that runs, is to come, or ended in the last fortnight; nil when there is none.
func (d *Desk) Away() *AwaySheet {
	const kept = 14 // days after the return in which "what happened" is still of use
	var span *aviary.AwaySpan
	for i := range d.Room.Whole().Away {
		a := &d.Room.Whole().Away[i]
		if a.To+kept >= d.Today && (span == nil || a.From <= span.From || span.To < d.Today) {
			span = a
		}
	}
	if span == nil {
		return nil
	}
	s := &AwaySheet{Span: *span, Over: d.Today > span.To, Running: d.Today >= span.From && d.Today <= span.To}
	byDay := map[aviary.Date][]*Job{}
	for _, p := range d.Room.Places() {
		c := d.Cage(p)
		n := len(c.Birds)
		for _, g := range c.Groups {
			n += g.Count
		}
		if n > 0 {
			s.Places = append(s.Places, AwayPlace{p, c, n})
		}
		for _, j := range d.Jobs(p) {
			day := max(j.Best, d.Today, span.From)
			if day <= span.To {
				byDay[day] = append(byDay[day], j)
			}
		}
	}
	for day := max(span.From, d.Today); day <= span.To; day++ {
		s.Days = append(s.Days, AwayDay{day, byDay[day]})
	}
	s.Happened = d.happened(*span)
	return s
}

func (d *Desk) happened(span aviary.AwaySpan) []Happening {
	var out []Happening
	for _, e := range d.Room.Entries() {
		if e.Day < span.From || e.Day > span.To || e.ID == span.Entry || d.Room.Struck(e.ID) || e.Strikes != (aviary.ID{}) {
			continue
		}
		h := Happening{Entry: e, Text: Sentence(d.Room, e)}
		if place := aviary.PlaceOf(e); place != (aviary.ID{}) {
			h.Place = d.Room.Place(place)
		}
		out = append(out, h)
	}
	slices.SortStableFunc(out, func(a, b Happening) int {
		return cmp.Or(cmp.Compare(b.Entry.Day, a.Entry.Day), cmp.Compare(b.Entry.Time, a.Entry.Time), b.Entry.Written.Compare(a.Entry.Written))
	})
	return out
}
