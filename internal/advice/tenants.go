package advice

import (
	"cmp"
	"slices"

	"broodlight/internal/aviary"
)

// Tenancy is a run of days on which the same birds came to a place and left it together; without birds, a run of days on
// which the place stood empty. To is zero while it lasts.
type Tenancy struct {
	Birds    []*aviary.Bird
	From, To aviary.Date
}

// Empty reports whether nobody was there.
func (t Tenancy) Empty() bool { return len(t.Birds) == 0 }

// Tenants says who was in a place from when to when, newest first, with the days on which it stood empty. Young that were
// never ringed leave no trace in it.
func (d *Desk) Tenants(p *aviary.Place) []Tenancy {
	var out []Tenancy
	for _, b := range d.Room.Birds() {
		for _, s := range b.Stays {
			if s.Place != p.ID {
				continue
			}
			at := slices.IndexFunc(out, func(t Tenancy) bool { return t.From == s.From && t.To == s.To })
			if at < 0 {
				at, out = len(out), append(out, Tenancy{From: s.From, To: s.To})
			}
			out[at].Birds = append(out[at].Birds, b)
		}
	}
	slices.SortStableFunc(out, func(a, b Tenancy) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(last(a), last(b))) })
	var gaps []Tenancy
	free := p.Added
	for _, t := range out {
		if t.From > free {
			gaps = append(gaps, Tenancy{From: free, To: t.From})
		}
		free = max(free, last(t))
	}
	if free < forever {
		gaps = append(gaps, Tenancy{From: free})
	}
	out = append(out, gaps...)
	slices.SortStableFunc(out, func(a, b Tenancy) int { return cmp.Or(cmp.Compare(last(b), last(a)), cmp.Compare(b.From, a.From)) })
	return out
}

const forever = aviary.Date(1 << 30)

func last(t Tenancy) aviary.Date {
	if t.To == 0 {
		return forever
	}
	return t.To
}
