package advice

import (
	"fmt"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

// nestDate is what one nest gives for one kind of date.
type nestDate struct {
	what     string // after the place's name
	from, to nest.Day
	when     string // the range in words
	event    nest.Event
}

// nestDates adds a date for each open clutch for which of gives one.
func (d *Desk) nestDates(add func(CalendarEvent), of func(n *Nest, looks map[nest.LookKind]nest.NextLook) (nestDate, bool)) {
	for _, p := range d.Room.Places() {
		for _, n := range d.Nests(p) {
			looks := map[nest.LookKind]nest.NextLook{}
			for _, l := range n.Course.Next {
				looks[l.Kind] = l
			}
			x, ok := of(n, looks)
			if !ok {
				continue
			}
			lines := []string{x.when + "."}
			about := n.Label()
			if n.Species != nil {
				about = n.Species.English + ", " + about
			}
			lines = append(lines, capital(about)+": "+n.Says()+".")
			if x.event.Basis != "" && !x.event.Seen {
				lines = append(lines, "Rests on: "+strings.TrimSuffix(x.event.Basis, ".")+".")
			}
			add(CalendarEvent{Key: n.Clutch.Key.String(), From: Day(x.from), To: Day(x.to), Place: p, Title: p.Name + ": " + x.what, Text: strings.Join(lines, "\n")})
		}
	}
}

// window is an event's days 8 times in 10, or its likely day.
func window(what string, e nest.Event) nestDate {
	x := nestDate{what: what, from: e.Likely, to: e.Likely, when: Expects(e), event: e}
	if from, to, ok := e.EightInTen(); ok {
		x.from, x.to = from, to
	}
	return x
}

// hopes reports whether a hatch is looked forward to.
func hopes(n *Nest, looks map[nest.LookKind]nest.NextLook) bool {
	_, awaited := looks[nest.LookChicks]
	return awaited && !n.Clutch.HadChicks()
}

func (d *Desk) candleDates(_, _ aviary.Date, add func(CalendarEvent)) {
	d.nestDates(add, func(n *Nest, looks map[nest.LookKind]nest.NextLook) (nestDate, bool) {
		look, wanted := looks[nest.LookCandle]
		e := n.Course.Event(nest.Candle)
		if !wanted || !e.Known || n.Clutch.HadChicks() {
			return nestDate{}, false
		}
		x := nestDate{what: "candle", from: e.From, to: e.To, event: e}
		if e.To < n.Course.Asked || look.From > e.To { // it is late, or they are candled once more
			x.from, x.to = look.From, look.To
		}
		x.when = fmt.Sprintf("Candling tells most %s", days(Day(x.from), Day(x.to)))
		return x, true
	})
}

func (d *Desk) hatchDates(_, _ aviary.Date, add func(CalendarEvent)) {
	d.nestDates(add, func(n *Nest, looks map[nest.LookKind]nest.NextLook) (nestDate, bool) {
		e := n.Course.Event(nest.Hatch)
		switch {
		case !e.Known:
			return nestDate{}, false
		case e.Happened:
			when := "Hatched about " + Day(e.Likely).Short()
			if e.Early == e.Late {
				when = "Hatched " + Day(e.Likely).Short()
			}
			return nestDate{what: "hatched", from: e.Likely, to: e.Likely, when: when, event: e}, true
		}
		return window("hatch", e), hopes(n, looks)
	})
}

func (d *Desk) ringDates(_, _ aviary.Date, add func(CalendarEvent)) {
	d.nestDates(add, func(n *Nest, looks map[nest.LookKind]nest.NextLook) (nestDate, bool) {
		e := n.Course.Event(nest.Ring)
		_, wanted := looks[nest.LookRing]
		if !e.Known || !(wanted && n.Chicks > n.Ringed || hopes(n, looks)) {
			return nestDate{}, false
		}
		x := nestDate{what: "ring the chicks", from: e.From, to: e.To, when: fmt.Sprintf("A closed ring fits %s; after that it will not go over the foot", days(Day(e.From), Day(e.To))), event: e}
		if hopes(n, looks) {
			x.what = "ring, if they hatch as expected"
			x.when += ". Counted from the likely day of hatch, which has not come"
		}
		return x, true
	})
}

func (d *Desk) fledgeDates(_, _ aviary.Date, add func(CalendarEvent)) {
	d.nestDates(add, func(n *Nest, looks map[nest.LookKind]nest.NextLook) (nestDate, bool) {
		e := n.Course.Event(nest.Fledge)
		_, wanted := looks[nest.LookCountOut]
		return window("young leave the nest", e), e.Known && n.Out == 0 && (wanted && n.Clutch.HadChicks() || hopes(n, looks))
	})
}

func (d *Desk) weanDates(_, _ aviary.Date, add func(CalendarEvent)) {
	d.nestDates(add, func(n *Nest, looks map[nest.LookKind]nest.NextLook) (nestDate, bool) {
		e := n.Course.Event(nest.Wean)
		_, wanted := looks[nest.LookWean]
		x := window("young on their own", e)
		if part := n.Course.Event(nest.Part); part.Known {
			x.when += fmt.Sprintf(". Part them by %s at the late age of the species, each once it is seen feeding itself", Day(part.Likely).Short())
		}
		return x, e.Known && (wanted && (n.Clutch.HadChicks() || n.Clutch.OutMost > 0) || hopes(n, looks))
	})
}
