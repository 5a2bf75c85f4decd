package advice

import (
	"bytes"
	"fmt"
	"slices"
	"time"

	"broodlight/internal/aviary"
)

// SeasonPlan is what a keeper plans for a season: one plan for each circuit of lamps, one for each group of birds that is fed
// together, and where the room stands, when that was not known.
type SeasonPlan struct {
	Lamps []*aviary.LampPlanned
	Feed  []*aviary.FeedPlanned
	Place *aviary.RoomSet // nil when it is known, or left open
}

// A season that nobody has planned yet is proposed from its first day: lamps go up on it, stand at full light after two months,
// come down after six and rest after eight. Preparation begins two weeks before full light and sprouted seed with it, the moult
// follows the lamps, and rest comes eight weeks later. Common practice, no source.
const (
	startFullBy, startTaper, startRestBy = 2, 6, 8 // months after the season's first day
	startPreparation                     = -14     // days after full light
	startMoultLasts                      = 56      // days
)

// ProposedWords say what the proposed dates rest on.
const ProposedWords = "The dates are proposed from the first day of your season: full light after two months, down after six, rest after eight; sprouted seed from full light on, and the moult once the lamps are down. Common practice, no source."

// SeasonPlanStart is what the form of a season begins with: for each circuit and each group its plan that holds or comes next, else
// its last one moved to the season at hand, else dates proposed from the first day of the season. proposed is true when no
// plan stands behind any of it.
func (d *Desk) SeasonPlanStart() (p SeasonPlan, proposed bool) {
	proposed = true
	cs := d.lampCircuits()
	if len(cs) == 0 {
		cs = []*LampCircuit{{desk: d, sky: &lampSky{}}}
	}
	for _, c := range cs {
		b := d.proposedLamps(c.Name, len(c.Log) > 0)
		if c.Plan != nil {
			proposed = false
			b = *yearsOn(&c.Plan.LampPlanned, yearsUntil(c.Plan.RestBy, d.Today))
		}
		p.Lamps = append(p.Lamps, &b)
	}
	for _, g := range d.FeedGroups() {
		plan := g.On(d.Today)
		if plan == nil {
			plan = g.Plans[len(g.Plans)-1]
		}
		proposed = false
		_, last := planSpan(plan)
		p.Feed = append(p.Feed, feedYearsOn(&plan.FeedPlanned, yearsUntil(last, d.Today)))
	}
	if len(p.Feed) == 0 {
		b := p.Lamps[0]
		p.Feed = []*aviary.FeedPlanned{{Preparation: b.FullBy + startPreparation, Conditioning: b.FullBy, Moult: b.RestBy, Rest: b.RestBy + startMoultLasts}}
	}
	return p, proposed
}

// ProposedFeed is what a further group begins with: the dates of the lamps.
func (d *Desk) ProposedFeed() *aviary.FeedPlanned {
	b := d.proposedLamps("", false)
	return &aviary.FeedPlanned{Preparation: b.FullBy + startPreparation, Conditioning: b.FullBy, Moult: b.RestBy, Rest: b.RestBy + startMoultLasts}
}

// ProposedLamps is what a further circuit begins with.
func (d *Desk) ProposedLamps() *aviary.LampPlanned {
	b := d.proposedLamps("", false)
	return &b
}

// proposedLamps is the usual programme from the first day of the keeper's season: of the one that is on while its lamps are not
// down yet, else of the next.
func (d *Desk) proposedLamps(circuit string, logged bool) aviary.LampPlanned {
	dusk := startDusk
	b := aviary.LampPlanned{
		Circuit: circuit, Rest: startRest, Full: startFull, On: aviary.ClockOf(6, 0), Step: startStep, Every: startEvery,
		Moves: "evening", Dusk: &dusk, Clocks: "wall", Windows: "none",
	}
	s := d.SeasonOn(d.Today)
	if monthsOn(s.From, startRestBy) < d.Today {
		s = d.SeasonOn(s.To + 1)
	}
	b.RampFrom, b.FullBy, b.TaperFrom, b.RestBy = s.From, monthsOn(s.From, startFullBy), monthsOn(s.From, startTaper), monthsOn(s.From, startRestBy)
	b.FromReal = logged && b.RampFrom < d.Today
	return b
}

func monthsOn(day aviary.Date, months int) aviary.Date {
	y, m, n := day.Time().Date()
	return aviary.DateOf(y, m+time.Month(months), n)
}

// yearsUntil is by how many years a season that ends on a day is moved so that it is not over: 0 when it is not.
func yearsUntil(last, today aviary.Date) int {
	n := 0
	for laterBy(last, n) < today {
		n++
	}
	return n
}

// laterBy moves a day on by so many years; 29 February becomes 1 March where the year has none. No day stays none.
func laterBy(day aviary.Date, years int) aviary.Date {
	if day == 0 {
		return 0
	}
	y, m, n := day.Time().Date()
	return aviary.DateOf(y+years, m, n)
}

// yearsOn moves the four dates of a lamp plan on by so many years. A plan that is moved starts from rest again.
func yearsOn(b *aviary.LampPlanned, years int) *aviary.LampPlanned {
	out := *b
	out.RampFrom, out.FullBy, out.TaperFrom, out.RestBy = laterBy(b.RampFrom, years), laterBy(b.FullBy, years), laterBy(b.TaperFrom, years), laterBy(b.RestBy, years)
	out.FromReal = b.FromReal && years == 0
	return &out
}

// feedYearsOn moves the days of a feeding plan on by so many years.
func feedYearsOn(b *aviary.FeedPlanned, years int) *aviary.FeedPlanned {
	out := *b
	out.Preparation, out.Conditioning, out.Moult, out.Rest = laterBy(b.Preparation, years), laterBy(b.Conditioning, years), laterBy(b.Moult, years), laterBy(b.Rest, years)
	return &out
}

// SeasonPlanned reports whether any lamp or any food was planned, so that a season can be copied.
func (d *Desk) SeasonPlanned() bool { return len(d.lampPlans())+len(d.feedPlans()) > 0 }

// SeasonPlanNext is the season that is on, or was last, a year later: the plans of each circuit and each group with all dates moved
// on, by more years where even then it would be over. Plans that were given up more than a year before the latest are left
// out. ok is false where nothing was ever planned.
func (d *Desk) SeasonPlanNext() (p SeasonPlan, years int, ok bool) {
	type based struct {
		lamps *aviary.LampPlanned
		feed  *aviary.FeedPlanned
		last  aviary.Date
	}
	var all []based
	for _, c := range d.lampCircuits() {
		var base *lampSeason
		for _, s := range c.seasons {
			if base == nil || s.from <= d.Today {
				base = s
			}
		}
		if base != nil {
			all = append(all, based{lamps: &base.plan.LampPlanned, last: base.plan.RestBy})
		}
	}
	for _, g := range d.FeedGroups() {
		var base *aviary.FeedPlan
		for _, x := range g.Plans {
			if first, _ := planSpan(x); base == nil || first <= d.Today {
				base = x
			}
		}
		_, last := planSpan(base)
		all = append(all, based{feed: &base.FeedPlanned, last: last})
	}
	var last aviary.Date
	for _, x := range all {
		last = max(last, x.last)
	}
	if last == 0 {
		return SeasonPlan{}, 0, false
	}
	for years = 1; laterBy(last, years) < d.Today; {
		years++
	}
	for _, x := range all {
		switch {
		case x.last < last-planLasts:
		case x.lamps != nil:
			p.Lamps = append(p.Lamps, yearsOn(x.lamps, years))
		default:
			p.Feed = append(p.Feed, feedYearsOn(x.feed, years))
		}
	}
	return p, years, true
}

// Unwritten is what of a plan does not stand in the books as it is: what a later plan has replaced counts as new.
func (d *Desk) Unwritten(p SeasonPlan) SeasonPlan {
	out := SeasonPlan{Place: p.Place}
	for _, b := range p.Lamps {
		if !d.lampsStand(b) {
			out.Lamps = append(out.Lamps, b)
		}
	}
	for _, b := range p.Feed {
		if !d.feedStands(b) {
			out.Feed = append(out.Feed, b)
		}
	}
	return out
}

func (d *Desk) lampsStand(b *aviary.LampPlanned) bool {
	for _, c := range d.lampCircuits() {
		for _, s := range c.seasons {
			// A plan that goes on from the real lamps is another one on another day.
			if c.Name == b.Circuit && sameBody(&s.plan.LampPlanned, b) && (!b.FromReal || s.plan.Day == d.Today) {
				return true
			}
		}
	}
	return false
}

func (d *Desk) feedStands(b *aviary.FeedPlanned) bool {
	for _, g := range d.FeedGroups() {
		for _, x := range g.Plans {
			if g.Name == b.Name && sameBody(&x.FeedPlanned, b) {
				return true
			}
		}
	}
	return false
}

func sameBody(a, b aviary.Body) bool {
	x, err1 := aviary.EncodeBody(a)
	y, err2 := aviary.EncodeBody(b)
	return err1 == nil && err2 == nil && bytes.Equal(x, y)
}

// FeedPlanFaults says what is wrong with a feeding plan beside what its own form refuses: banks that are not there, and days out
// of order.
func (d *Desk) FeedPlanFaults(b *aviary.FeedPlanned) []*aviary.Error {
	var out []*aviary.Error
	wrong := func(field, format string, args ...any) {
		out = append(out, &aviary.Error{Code: aviary.Invalid, Field: field, Message: fmt.Sprintf(format, args...)})
	}
	for _, bank := range b.Banks {
		if !slices.ContainsFunc(d.Room.Places(), func(p *aviary.Place) bool { return p.Bank == bank }) {
			wrong("banks", "there is no bank called %q", bank)
		}
	}
	start := max(b.Preparation, b.Conditioning)
	for _, x := range []struct {
		field, what string
		day         aviary.Date
	}{{"moult", "the moult", b.Moult}, {"rest", "rest", b.Rest}} {
		switch {
		case x.day == 0 || start == 0:
		case x.day <= start:
			wrong(x.field, "%s from %s does not come after the breeding food, %s; put the days in order", x.what, x.day.Long(), start.Long())
		case x.day > start+planLasts:
			wrong(x.field, "%s from %s is more than a year after %s; a plan is for one season", x.what, x.day.Long(), start.Long())
		}
	}
	return out
}

// SeasonPreview is a season as it would be.
type SeasonPreview struct {
	Season   *Season        // from the month of the plan's first day to that of its last
	Circuits []*LampCircuit // of the plan, in its order
	Light    []SeasonLight  // of each of them, over the same days
	Minds    []string       // what to mind of lamps and food together, beside each circuit's own warnings
}

// PreviewSeason works out what a plan would make of the season. Nothing is written. past may be nil.
func (d *Desk) PreviewSeason(p SeasonPlan, past *Past) *SeasonPreview {
	x := d.If(p.Lamps, p.Feed, p.Place)
	from, to := forever, aviary.Date(0)
	for _, b := range p.Lamps {
		from, to = min(from, b.RampFrom), max(to, b.RestBy)
	}
	for _, b := range p.Feed {
		for _, day := range []aviary.Date{b.Preparation, b.Conditioning, b.Moult, b.Rest} {
			if day != 0 {
				from, to = min(from, day), max(to, day)
			}
		}
	}
	from, to = monthOf(from, 0), monthOf(to, 1)-1
	to = min(to, monthOf(from, previewMonths)-1)
	s, _ := x.Season(SeasonQuery{}, past)
	if s.Span.To < from || s.Span.From > to {
		s.Lanes = nil
	}
	out := &SeasonPreview{Season: s}
	s.From, s.To, s.Feed = from, to, x.seasonFeed(from, to)
	for _, b := range p.Lamps {
		c := x.CircuitWith(b)
		out.Circuits = append(out.Circuits, c)
		out.Light = append(out.Light, SeasonLight{Circuit: c, Circuits: []*LampCircuit{c}, Days: x.LampDays(c, from, to)})
	}
	if s.Light = x.seasonLight("", from, to); len(out.Light) > 0 {
		s.Light = out.Light[0]
	}
	out.Minds = x.planMinds(p)
	return out
}

// previewMonths are the most months that a plan is drawn over: a season and the rest after it.
const previewMonths = 18

// planMinds looks whether food goes with the lamps.
func (d *Desk) planMinds(p SeasonPlan) []string {
	var out []string
	for _, b := range p.Feed {
		who := b.Name
		if who == "" {
			who = "the whole room"
		}
		for _, c := range d.lampCircuits() {
			lamps := "the lamps"
			if c.Name != "" {
				lamps = "the lamps of " + c.Name
			}
			for _, s := range c.seasons {
				if !d.sharePlaces(b, c) {
					continue
				}
				if b.Moult != 0 && s.from < b.Moult && b.Moult < s.plan.TaperFrom {
					out = append(out, fmt.Sprintf("Moult of %s begins on %s, while %s are not coming down before %s. Birds on long days may go on laying, and moult must not overlap laying: let it follow the lamps.", who, b.Moult.Long(), lamps, s.plan.TaperFrom.Long()))
				}
				if b.Conditioning != 0 && s.plan.RampFrom-conditioningAhead < b.Conditioning && b.Conditioning < s.plan.RampFrom {
					out = append(out, fmt.Sprintf("Sprouted seed of %s begins on %s, before %s go up on %s. Light first, then food, is common practice.", who, b.Conditioning.Long(), lamps, s.plan.RampFrom.Long()))
				}
			}
		}
	}
	return out
}

// conditioningAhead is how long before the lamps go up a phase of food still belongs to that season, in days.
const conditioningAhead = 120

// sharePlaces reports whether a feeding plan holds for birds under a circuit.
func (d *Desk) sharePlaces(b *aviary.FeedPlanned, c *LampCircuit) bool {
	for _, p := range c.Places {
		slug := ""
		if len(b.Species) > 0 {
			slug = d.feedSlug(p)
		}
		if closeness(b, p, slug) > 0 {
			return true
		}
	}
	return len(c.Places) == 0
}
