package web

import (
	"fmt"
	"html/template"
	"math"
	"net/url"
	"slices"
	"strings"
	"sync"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

func (s *server) seasonRoutes(r *routes) {
	drawn := &seasonsDrawn{}
	r.get("/season", func(v *visit) error { return s.seasonShow(v, drawn) })
	r.get("/season/print", func(v *visit) error { return s.seasonPrint(v, drawn) })
	r.keeperGet("/season/plan", s.seasonPlanShow)
	r.keeperPost("/season/plan", func(v *visit) error { return s.seasonPlanSend(v, &drawn.past) })
}

// seasonsDrawn keeps what was drawn of the seasons until anything is written or the day turns.
type seasonsDrawn struct {
	past advice.Past

	mu      sync.Mutex
	version uint64 // of the room
	today   aviary.Date
	pages   map[drawnKey]seasonPage
}

// drawnKey tells one drawing from another.
type drawnKey struct {
	advice.SeasonQuery
	paper string // "a4" or "a3"; "" for a screen
}

// seasonsKept is how many different views of the seasons are kept.
const seasonsKept = 24

// page returns the page for a query, drawn now or before; for a sheet of paper, "a4" or "a3", the picture is one that fits it. ok is false when the books do
// not reach to its season. It is called while the room may be read.
func (k *seasonsDrawn) page(d *advice.Desk, q advice.SeasonQuery, paper string) (p seasonPage, ok bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.pages == nil || k.version != d.Room.Version() || k.today != d.Today || len(k.pages) >= seasonsKept {
		k.version, k.today, k.pages = d.Room.Version(), d.Today, map[drawnKey]seasonPage{}
	}
	key := drawnKey{q, paper}
	if p, ok = k.pages[key]; ok {
		return p, true
	}
	season, ok := d.Season(q, &k.past)
	if !ok {
		return seasonPage{}, false
	}
	p.layout = layout{Tab: "season", Class: "page wide", Title: "Season"}
	p.fill(d, season, q, paper)
	k.pages[key] = p
	return p, true
}

// seasonPage is a season: its counts, its picture, and the picture's figures.
type seasonPage struct {
	layout
	Seasons   []seasonLink
	Months    []seasonLink // of the season; the whole of it first
	Back      string       // the month before the one that is drawn; "" at the first and for a whole season
	Next      string
	On        string // the season's first day, for the form; "" for the one of today
	Month     string // the month that is drawn, for the form
	Species   []option
	Banks     []option
	Sorts     []option
	Circuits  []option // of lamps, when there are several
	Nothing   string   // what an empty room or season is told, instead of counts
	Caption   string
	Now       string // of the rows of this season
	Then      string // of the rows of the season before; "" without one
	Rows      []seasonRow
	Notes     []string
	Pairs     string // headline of the picture
	Picture   template.HTML
	Keys      []keyView
	Lanes     []seasonLaneView
	Light     []seasonLightRow
	Lit       string // whose lamps
	Feed      []seasonFeedRow
	Dark      bool // daylight is not known
	Unplanned bool // neither lamps nor food are planned
	A4, A3    string
	Screen    string // the same on a screen
	Copy      bool   // there is a plan that could be copied
}

// seasonLink leads to a season.
type seasonLink struct {
	Name, Href string
	Current    bool
}

// seasonRow is one species' counts.
type seasonRow struct {
	Name      string
	Now, Then []seasonCell
}

// seasonCell is a count, and under it what share of what that is, as far as it is known.
type seasonCell struct {
	N    string
	More []string
}

// seasonLaneView is a pair in the table.
type seasonLaneView struct {
	Href, Plate, Birds, Species                            string
	Clutches, Eggs, Full, Hatched, Ringed, Fledged, Weaned string
	Story                                                  [][]seasonWord
}

// seasonWord is a piece of a clutch's story.
type seasonWord struct {
	Text  string
	Guess bool
}

// seasonColumn is the head of a count, and what its share is of.
type seasonColumn struct{ Name, Of string }

var seasonColumns = []seasonColumn{
	{"Pairs", ""},
	{"Clutches", ""},
	{"Eggs", ""},
	{"Full", "of eggs candled"},
	{"Hatched", "of eggs past hatching"},
	{"Ringed", ""},
	{"Out of the box", "of young, nests over"},
	{"Weaned", "of young, nests over"},
}

// Columns are the heads of the counts.
func (p *seasonPage) Columns() []seasonColumn { return seasonColumns }

// Resting is the glyph of an empty page.
func (p *seasonPage) Resting() template.HTML {
	return look.Box(look.BoxView{Stage: look.Resting}, 64, "")
}

func (s *server) seasonShow(v *visit, drawn *seasonsDrawn) error {
	p, err := seasonDrawn(v, drawn, "")
	if err != nil {
		return err
	}
	return v.render("season_show", p)
}

// seasonDrawn is the page that the address asks for.
func seasonDrawn(v *visit, drawn *seasonsDrawn, paper string) (*seasonPage, error) {
	in := v.r.URL.Query()
	q := advice.SeasonQuery{Species: in.Get("species"), Bank: in.Get("bank"), Sort: in.Get("sort"), Circuit: in.Get("lamps")}
	if on := in.Get("season"); on != "" {
		day, err := aviary.ParseDate(on)
		if err != nil {
			return nil, &aviary.Error{Code: aviary.Invalid, Field: "season", Message: "the season is named by a day in it: " + err.Error()}
		}
		q.On = day
	}
	if month := in.Get("month"); month != "" {
		day, err := aviary.ParseDate(month + "-01")
		if err != nil {
			return nil, &aviary.Error{Code: aviary.Invalid, Field: "month", Message: fmt.Sprintf("a month is written as 2026-09, not as %q", short(month))}
		}
		q.Month = day
	}
	var p seasonPage
	ok := false
	v.desk(func(d *advice.Desk) { p, ok = drawn.page(d, q, paper) })
	switch {
	case ok:
		return &p, nil
	case q.Month != 0:
		return nil, notThere(monthName(q.Month) + " lies outside of the season, or of what is in the books")
	}
	return nil, notThere("the books do not reach to the season of " + q.On.Long())
}

func (p *seasonPage) fill(d *advice.Desk, s *advice.Season, q advice.SeasonQuery, paper string) {
	p.links(s, q)
	p.Species = []option{{Label: "All species"}}
	of := ""
	for _, x := range s.Species {
		p.Species = append(p.Species, option{Value: x.Slug, Label: x.English, Chosen: x.Slug == q.Species})
		if x.Slug == q.Species {
			of = x.English
		}
	}
	p.Banks = []option{{Label: "All places"}}
	for _, b := range s.Banks {
		p.Banks = append(p.Banks, option{Value: b, Label: b, Chosen: b == q.Bank})
	}
	if s.Loose {
		p.Banks = append(p.Banks, option{Value: advice.Elsewhere, Label: "In no bank", Chosen: q.Bank == advice.Elsewhere})
	}
	for _, o := range []option{{Value: "walk", Label: "As I walk"}, {Value: "stage", Label: "Furthest first"}, {Value: "egg", Label: "First egg"}} {
		o.Chosen = o.Value == q.Sort
		p.Sorts = append(p.Sorts, o)
	}
	if len(s.Light.Circuits) > 1 {
		for _, c := range s.Light.Circuits {
			p.Circuits = append(p.Circuits, option{Value: c.Name, Label: c.Label(), Chosen: c == s.Light.Circuit})
		}
	}
	p.Headline, p.Sub = seasonHeadline(s), seasonSub(s, d.Today)
	if where := p.where(of, q); where != "" {
		p.Headline = where + ": " + lower(p.Headline)
	}
	p.Copy = d.SeasonPlanned()
	p.bands(d, s)
	if len(s.Lanes) > 0 || !p.Unplanned {
		p.picture(d, s, paper)
		for _, l := range s.Lanes {
			p.Lanes = append(p.Lanes, laneView(l))
		}
	}
	if n := s.Total.Now; len(s.Lanes) == 0 && n.Nothing() {
		p.Nothing = nothingYet(s, q)
		if s.Total.Then.Nothing() {
			return
		}
	}
	p.counts(s)
}

// where names what the page is narrowed to.
func (p *seasonPage) where(species string, q advice.SeasonQuery) string {
	var parts []string
	if q.Species != "" {
		if species == "" {
			species = q.Species
		}
		parts = append(parts, species)
	}
	switch q.Bank {
	case "":
	case advice.Elsewhere:
		parts = append(parts, "in no bank")
	default:
		parts = append(parts, q.Bank)
	}
	return capital(strings.Join(parts, ", "))
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// seasonHref is the address of a view of the season.
func seasonHref(path string, q advice.SeasonQuery, more ...string) string {
	v := url.Values{}
	if q.On != 0 {
		v.Set("season", q.On.String())
	}
	if q.Month != 0 {
		v.Set("month", q.Month.String()[:7])
	}
	for name, value := range map[string]string{"species": q.Species, "bank": q.Bank, "sort": q.Sort, "lamps": q.Circuit} {
		if value != "" {
			v.Set(name, value)
		}
	}
	for i := 0; i+1 < len(more); i += 2 {
		v.Set(more[i], more[i+1])
	}
	if len(v) == 0 {
		return path
	}
	return path + "?" + v.Encode()
}

// links leads to the other seasons, to the months of this one, and to paper.
func (p *seasonPage) links(s *advice.Season, q advice.SeasonQuery) {
	p.Screen = seasonHref("/season", q)
	p.A4, p.A3 = seasonHref("/season/print", q, "paper", "a4"), seasonHref("/season/print", q, "paper", "a3")
	at := 0
	named := func(i int) advice.SeasonQuery { // the season of today needs no name
		x := q
		x.On, x.Month = s.All[i].From, 0
		if s.All[i].Contains(s.Today) {
			x.On = 0
		}
		return x
	}
	for i, span := range s.All {
		l := seasonLink{Name: span.Name, Href: seasonHref("/season", named(i)), Current: span.From == s.Span.From}
		if l.Current {
			at = i
		}
		p.Seasons = append(p.Seasons, l)
	}
	if x := named(at); x.On != 0 {
		p.On = x.On.String()
	}
	month := func(i int, day aviary.Date) string {
		x := named(i)
		x.Month = day
		return seasonHref("/season", x)
	}
	months := s.Span.Months()
	p.Months = append(p.Months, seasonLink{Name: "Whole season", Href: seasonHref("/season", named(at)), Current: q.Month == 0})
	for i, day := range months {
		here := q.Month != 0 && s.From == day
		p.Months = append(p.Months, seasonLink{Name: day.Time().Format("Jan"), Href: month(at, day), Current: here})
		if !here {
			continue
		}
		p.Month = day.String()[:7]
		switch {
		case i > 0:
			p.Back = month(at, months[i-1])
		case at+1 < len(s.All):
			p.Back = month(at+1, s.All[at+1].Months()[len(s.All[at+1].Months())-1])
		}
		switch {
		case i+1 < len(months):
			p.Next = month(at, months[i+1])
		case at > 0:
			p.Next = month(at-1, s.All[at-1].Months()[0])
		}
	}
}

// monthName writes a month: "September 2026".
func monthName(day aviary.Date) string { return day.Time().Format("January 2006") }

// seasonHeadline answers how the season stands: by what is furthest, against the season before.
func seasonHeadline(s *advice.Season) string {
	n, then := s.Total.Now, s.Total.Then
	known := s.Before != nil && s.Began <= s.BeforeUntil
	says := func(k, before int, one, many string) string {
		what := fmt.Sprintf("%d %s", k, many)
		if k == 1 {
			what = "1 " + one
		}
		switch {
		case s.Over && !known:
			return fmt.Sprintf("%s in the season %s", what, s.Span.Name)
		case s.Over:
			return fmt.Sprintf("%s in the season %s, %s the season before", what, s.Span.Name, against(k, before, "in"))
		case !known:
			return what + " so far, in the first season of the books"
		}
		return fmt.Sprintf("%s so far, %s this day last season", what, against(k, before, "on"))
	}
	switch {
	case s.Ahead:
		return aheadHeadline(s)
	case n.Nothing() && s.Over:
		return "Nothing is in the books of the season " + s.Span.Name
	case n.Nothing():
		return "The season " + s.Span.Name + " has not begun"
	case n.Weaned > 0 || then.Weaned > 0:
		return says(n.Weaned, then.Weaned, "weaned", "weaned")
	case n.Hatched > 0 || then.Hatched > 0:
		return says(n.Hatched, then.Hatched, "hatched", "hatched")
	case n.Eggs > 0 || then.Eggs > 0:
		return says(n.Eggs, then.Eggs, "egg", "eggs")
	}
	return count(n.Pairs, "pair", "pairs") + ", no egg yet"
}

// aheadHeadline says when full light comes and goes in a season that is only planned.
func aheadHeadline(s *advice.Season) string {
	if c := s.Light.Circuit; c != nil {
		for _, x := range c.Plans {
			if s.Span.Contains(x.RampFrom) {
				return fmt.Sprintf("The season %s is planned: full light by %s, down from %s", s.Span.Name, x.FullBy.Long(), x.TaperFrom.Long())
			}
		}
	}
	return "The season " + s.Span.Name + " is planned"
}

// against compares a count with the one before: "6 more than on", "as many as in".
func against(k, before int, on string) string {
	switch {
	case k > before:
		return fmt.Sprintf("%d more than %s", k-before, on)
	case k < before:
		return fmt.Sprintf("%d fewer than %s", before-k, on)
	}
	return "as many as " + on
}

func seasonSub(s *advice.Season, today aviary.Date) string {
	n := s.Total.Now
	parts := []string{}
	if n.Pairs > 0 || n.Clutches > 0 {
		parts = append(parts, fmt.Sprintf("%s, %s, %s", count(n.Pairs, "pair", "pairs"), count(n.Clutches, "clutch", "clutches"), count(n.Eggs, "egg", "eggs")))
	}
	if s.Over || s.Ahead {
		parts = append(parts, s.Span.From.Long()+" to "+s.Span.To.Long())
	} else {
		parts = append(parts, fmt.Sprintf("day %d of the season that began on %s", today-s.Span.From+1, s.Span.From.Long()))
	}
	return capital(strings.Join(parts, "; ")) + "."
}

func nothingYet(s *advice.Season, q advice.SeasonQuery) string {
	switch {
	case s.Ahead:
		return ""
	case q.Species != "" || q.Bank != "":
		return "No pair and no clutch fits."
	case s.Over:
		return "No pair stood and no clutch was seen."
	case s.Before == nil:
		return "No pair is set up yet. The season is drawn from pairs and from looks into their nests."
	}
	return "No pair stands and no clutch was seen since " + s.Span.From.Long() + "."
}

// counts fills the table of counts.
func (p *seasonPage) counts(s *advice.Season) {
	known := s.Before != nil && s.Began <= s.BeforeUntil
	p.Now = s.Span.Name
	p.Caption = "Up to " + s.Until.Long()
	if s.Over {
		p.Caption = "The whole season"
	}
	if known {
		p.Then = s.Before.Name
		p.Caption += ", beside " + s.Before.Name
		if !s.Over {
			p.Caption += " up to " + s.BeforeUntil.Long() + ", as many days into it"
		}
	}
	p.Caption += ". In brackets: the true share lies in there 8 times in 10."
	row := func(name string, r advice.SeasonRow) seasonRow {
		out := seasonRow{Name: name, Now: seasonCells(r.Now)}
		if known {
			out.Then = seasonCells(r.Then)
		}
		return out
	}
	if len(s.Rows) > 1 {
		p.Rows = append(p.Rows, row("All", s.Total))
	}
	untold := false
	for _, r := range s.Rows {
		name := "Not told apart"
		if r.Species != nil {
			name = r.Species.English
		} else if none(r.Now) && none(r.Then) {
			continue // what lay in those nests was told apart in the end
		} else {
			untold = true
		}
		p.Rows = append(p.Rows, row(name, r))
	}
	switch {
	case s.Before == nil:
		p.Notes = append(p.Notes, "No season before this one is in the books, so there is nothing to set beside it yet.")
	case !known:
		p.Notes = append(p.Notes, "The books begin on "+s.Began.Long()+", later than this day of the season before, so there is nothing to set beside it.")
	case s.Began > s.Before.From:
		p.Notes = append(p.Notes, "The books begin on "+s.Began.Long()+"; what the season before brought until then is not known.")
	}
	if s.Began > s.Span.From {
		p.Notes = append(p.Notes, "The books begin on "+s.Began.Long()+"; what this season brought until then is not known.")
	}
	if n := s.Total.Now.Found; n > 0 {
		p.Notes = append(p.Notes, fmt.Sprintf("%s under way when the books began: only what was seen counts, and no share is taken of it.", count(n, "clutch was", "clutches were")))
	}
	if untold {
		p.Notes = append(p.Notes, "Not told apart: no pair is written for the nest, or eggs of two species lay in it and the young wear no ring yet.")
	}
	p.Notes = append(p.Notes, "An egg counts for the species that laid it, a chick too, whoever rears it. An egg that is neither candled nor hatched is not known to be full or clear.")
}

// none reports whether every count is 0, whatever the shares.
func none(c advice.SeasonCounts) bool {
	return c.Pairs+c.Clutches+c.Eggs+c.Full+c.Hatched+c.Ringed+c.Fledged+c.Weaned == 0
}

func seasonCells(c advice.SeasonCounts) []seasonCell {
	cell := func(n int, more ...string) seasonCell {
		return seasonCell{N: itoa(n), More: slices.DeleteFunc(more, func(s string) bool { return s == "" })}
	}
	notKnown := ""
	if c.NotKnown > 0 {
		notKnown = fmt.Sprintf("%d not known", c.NotKnown)
	}
	full := cell(c.Full, shareWords(c.FullOf), notKnown)
	if c.Eggs > 0 && c.Full == 0 && c.FullOf.N == 0 {
		full.N = "–"
	}
	return []seasonCell{
		cell(c.Pairs), cell(c.Clutches), cell(c.Eggs), full, cell(c.Hatched, shareWords(c.HatchedOf)), cell(c.Ringed),
		cell(c.Fledged, shareWords(c.FledgedOf)), cell(c.Weaned, shareWords(c.WeanedOf)),
	}
}

// shareWords says a share: "34 of 41: 83 % (74–90)".
func shareWords(s advice.Share) string {
	if s.N == 0 {
		return ""
	}
	low, high := s.EightInTen()
	round := func(x float64) int { return int(math.Round(100 * x)) }
	return fmt.Sprintf("%d of %d: %d\u2009%% (%d–%d)", s.K, s.N, round(float64(s.K)/float64(s.N)), round(low), round(high))
}

func laneView(l *advice.SeasonLane) seasonLaneView {
	c := l.Counts
	out := seasonLaneView{Href: "/cage/" + l.Place.ID.String(), Plate: l.Place.Name, Species: "Not known"}
	if l.Species != nil {
		out.Species = l.Species.English
	}
	var names []string
	for _, b := range l.Birds {
		names = append(names, b.Label())
	}
	out.Birds = strings.Join(names, " × ")
	if l.Pair == nil {
		out.Birds = "no pair written"
	}
	out.Clutches, out.Eggs, out.Hatched, out.Ringed, out.Fledged, out.Weaned = itoa(c.Clutches), itoa(c.Eggs), itoa(c.Hatched), itoa(c.Ringed), itoa(c.Fledged), itoa(c.Weaned)
	out.Full = itoa(c.Full)
	if c.Full == 0 && c.NotKnown > 0 && c.FullOf.N == 0 {
		out.Full = "not known"
	} else if c.NotKnown > 0 {
		out.Full = fmt.Sprintf("%d, %d not known", c.Full, c.NotKnown)
	}
	for _, x := range l.Clutches {
		out.Story = append(out.Story, story(x))
	}
	return out
}

// story tells a clutch in a line, what is a guess apart from what was seen.
func story(c *advice.SeasonClutch) []seasonWord {
	var out []seasonWord
	add := func(guess bool, format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		if len(out) > 0 {
			text = "; " + text
		}
		out = append(out, seasonWord{text, guess})
	}
	where := capital(c.Label)
	if c.Found {
		where += ", found under way"
	}
	add(false, "%s", where)
	if c.Counts.Eggs > 0 && c.FirstEgg.Known && !c.Found {
		add(false, "first egg %s", c.FirstEgg.Words())
	}
	if n := c.Counts.Eggs; n > 0 {
		add(false, "%s", count(n, "egg", "eggs"))
	}
	for _, m := range c.Moves {
		add(false, "%s %s", m.Words(), m.Day.Short())
	}
	guess := false
	event := func(e advice.SeasonEvent, n int, did, will string) {
		switch {
		case e.Known && e.Happened && n > 0:
			add(false, "%d %s %s", n, did, e.Words())
		case e.Known && !e.Happened:
			add(true, "%s %s", will, e.Words())
			guess = true
		}
	}
	event(c.Hatch, c.Counts.Hatched, "hatched", "hatch")
	event(c.Fledge, c.Counts.Fledged, "out", "out")
	event(c.Wean, c.Counts.Weaned, "weaned", "on their own")
	if guess {
		out[len(out)-1].Text += " (8 in 10)"
	}
	if c.Over != "" {
		add(false, "%s", c.Over)
	}
	if c.Failed != "" {
		add(false, "%s, %s", c.Failed, c.Ended.Short())
	}
	return out
}
