package advice

import (
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// The names of bands that no plan gives.
const (
	bandBegun = "As begun"         // what was noted of the whole room, where nothing is planned
	bandLull  = "Rest of the room" // as set for every year
)

// seasonFeed returns the bands of a season: those of the planned groups; without any, what was noted for the whole room; and the
// rest of the room that is set for every year.
func (d *Desk) seasonFeed(from, to aviary.Date) []FeedBand {
	out := d.FeedBands(from, to)
	if len(d.FeedGroups()) == 0 {
		if b := d.begunBand(from, to); len(b.Spans) > 0 {
			out = append(out, b)
		}
	}
	if b := d.lullBand(from, to); len(b.Spans) > 0 {
		out = append(out, b)
	}
	return out
}

// begunBand is what the whole room was fed for by what was noted alone, up to today.
func (d *Desk) begunBand(from, to aviary.Date) FeedBand {
	out := FeedBand{Name: bandBegun}
	marks := d.Room.Whole().Phases
	if len(marks) == 0 {
		return out
	}
	var was begun
	k := 0
	for day := max(from, marks[0].Day); day <= min(to, d.Today); day++ {
		for k < len(marks) && marks[k].Day <= day {
			was.add(marks[k])
			k++
		}
		var s feed.Season
		was.lay(&s)
		out.grow(s.Group(feedDay(day)).Phase, day, false)
	}
	return out
}

// grow adds a day to a band.
func (b *FeedBand) grow(phase feed.Phase, day aviary.Date, guess bool) {
	if n := len(b.Spans); n > 0 {
		if last := &b.Spans[n-1]; last.Phase == phase && last.Guess == guess && last.To == day-1 {
			last.To = day
			return
		}
	}
	b.Spans = append(b.Spans, FeedSpan{phase, day, day, guess})
}

// lullBand is the rest that is set for the room, year by year.
func (d *Desk) lullBand(from, to aviary.Date) FeedBand {
	out := FeedBand{Name: bandLull}
	set := d.Room.Settings(d.Today)
	if set.LullFrom == "" || set.LullTo == "" {
		return out
	}
	for first := yearFrom(from, set.LullFrom); first <= to; first = yearFrom(first+400, set.LullFrom) {
		a, z := max(first, from), min(yearFrom(first+364, set.LullTo), to)
		if a > z {
			continue
		}
		if a <= d.Today {
			out.Spans = append(out.Spans, FeedSpan{feed.Rest, a, min(z, d.Today), false})
		}
		if z > d.Today {
			out.Spans = append(out.Spans, FeedSpan{feed.Rest, max(a, d.Today+1), z, true})
		}
	}
	return out
}

// pausesAt are the moults and rests that were noted for a place itself while a pair stood there, up to a day.
func pausesAt(p *aviary.Place, from, to aviary.Date) []FeedSpan {
	var out []FeedSpan
	marks := slices.DeleteFunc(slices.Clone(p.Phases), func(m aviary.PhaseMark) bool { return m.Day < from || m.Day > to })
	for i, m := range marks {
		phase, err := feed.ParsePhase(m.Phase)
		if err != nil || phase != feed.Moult && phase != feed.Rest {
			continue
		}
		last := to
		if i+1 < len(marks) {
			last = max(marks[i+1].Day-1, m.Day)
		}
		out = append(out, FeedSpan{Phase: phase, From: m.Day, To: last})
	}
	return out
}
