package advice

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"maps"
	"slices"
	"strings"
	"sync"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/outcome"
	"broodlight/internal/species"
)

// SeasonQuery says which season is asked for, and what of it.
type SeasonQuery struct {
	On      aviary.Date // a day of the season; zero for the one of today
	Species string      // slug; "" for all
	Bank    string      // name of a bank; Elsewhere for places in none; "" for all
	Sort    string      // of the lanes, one of SeasonSorts; walking order when empty
}

// Elsewhere asks for the places that hang in no bank: flights and aviaries, mostly.
const Elsewhere = "-"

// SeasonSorts are the orders in which lanes can stand: as the keeper walks, by how far the newest clutch is, by the day of
// the first egg.
var SeasonSorts = []string{"walk", "stage", "egg"}

// Share is K of N. With N = 0 it is not known.
type Share struct{ K, N int }

// EightInTen returns the shares between which the true one lies 8 times in 10, were each egg or chick on its own.
func (s Share) EightInTen() (low, high float64) { return outcome.Binomial(s.K, s.N, 0.8) }

func (s Share) plus(o Share) Share { return Share{s.K + o.K, s.N + o.N} }

// SeasonCounts are the counts of a season, of a species in it, of a pair or of a clutch, up to a day.
//
// A clutch belongs to the season in which it was first seen, and so do its young, even where they are parted after the
// season is over. What was struck out counts nowhere.
type SeasonCounts struct {
	// Pairs are the pairs, trios and colonies that stood on any day of the season so far. The same birds count once, also
	// where they were moved to another cage.
	Pairs int
	// Clutches are the nests in which an egg was laid; a nest that only took eggs or chicks in is none.
	Clutches int
	// Found are those of them that were there before the books began. Of their eggs only those that were seen count, and
	// they are in no share.
	Found int
	// Eggs are the eggs known to be laid, by the pair that laid them. A chick was an egg, so that it counts, seen or not.
	Eggs int
	// Full are the eggs known to have been fertile: full when candled, dead early or in the shell, or hatched. An egg
	// counts once, however often it is candled and in whatever nest.
	Full int
	// NotKnown are the eggs that were neither full nor clear, for nobody candled them and they did not hatch.
	NotKnown int
	// Hatched are the young that hatched, as far as looks show it.
	Hatched int
	// Ringed are the young that got a ring in the nest; young ringed later, out of a counted group, count on that day.
	Ringed int
	// Fledged are the young seen out of the box, or parted.
	Fledged int
	// Weaned are the young parted from those who reared them.
	Weaned int

	FullOf    Share // of the eggs of candled clutches that were found full or clear
	HatchedOf Share // of the eggs that lay in nests where hatching is over
	FledgedOf Share // of the young hatched in or brought to nests that are over
	WeanedOf  Share // of the same
}

func (c SeasonCounts) plus(o SeasonCounts) SeasonCounts {
	return SeasonCounts{
		Pairs: c.Pairs + o.Pairs, Clutches: c.Clutches + o.Clutches, Found: c.Found + o.Found, Eggs: c.Eggs + o.Eggs, Full: c.Full + o.Full,
		NotKnown: c.NotKnown + o.NotKnown, Hatched: c.Hatched + o.Hatched, Ringed: c.Ringed + o.Ringed, Fledged: c.Fledged + o.Fledged, Weaned: c.Weaned + o.Weaned,
		FullOf: c.FullOf.plus(o.FullOf), HatchedOf: c.HatchedOf.plus(o.HatchedOf), FledgedOf: c.FledgedOf.plus(o.FledgedOf), WeanedOf: c.WeanedOf.plus(o.WeanedOf),
	}
}

// Nothing reports whether nothing was counted.
func (c SeasonCounts) Nothing() bool { return c == SeasonCounts{} }

// SeasonRow is one species' counts in a season, and in the season before on the same day.
//
// An egg, a chick and a weaned young bird count under their own species: that of the pair that laid, whoever reared.
type SeasonRow struct {
	Species   *species.Profile // nil for what cannot be told apart: no pair written, or eggs of two species in one nest
	Now, Then SeasonCounts
}

// Season is the picture of a season.
type Season struct {
	Span  Span
	Until aviary.Date // day up to which it is counted: today while it runs
	Over  bool        // it is a season gone by, and counted whole
	// Before is the season before, nil when the books do not reach back to it. BeforeUntil is the day as many days into it;
	// the last day of what is counted.
	Before      *Span
	BeforeUntil aviary.Date
	// Began is the day on which the books begin. Where that is later than the first day of a season, what came before is
	// not known.
	Began   aviary.Date
	All     []Span // the seasons that the books reach, newest first
	Rows    []SeasonRow
	Total   SeasonRow
	Lanes   []*SeasonLane
	Species []*species.Profile // that the season or the one before knows, for a choice
	Banks   []string           // in walking order
	Loose   bool               // there are places in no bank
	Light   []LightStep
}

// SeasonLane is a pair and its clutches.
type SeasonLane struct {
	Pair     *aviary.Pair // nil for clutches without a pair in the books
	Place    *aviary.Place
	Species  *species.Profile // nil when not known
	Birds    []*aviary.Bird
	Clutches []*SeasonClutch
	// Counts are the pair's: eggs and what became of them by the pair that laid, young by the pair that reared.
	Counts SeasonCounts

	walk int
}

// SeasonEgg is an egg on its day.
type SeasonEgg struct {
	Day      aviary.Date
	State    string // what candling showed, as in the journal; "" when not candled
	Expected bool   // not seen: it is what the species usually lays on
}

// SeasonEvent is an event of a clutch: a day that has been, or a range of days 8 in 10 that is a guess.
type SeasonEvent struct {
	Known, Happened     bool
	Early, Likely, Late aviary.Date
}

// Words says the event's days: "13 Jan", "about 13 Jan" where looks leave the day open, "12–14 Jan" for a guess.
func (e SeasonEvent) Words() string {
	switch {
	case !e.Known:
		return ""
	case e.Happened && e.Early < e.Late:
		return "about " + e.Likely.Short()
	case e.Happened:
		return e.Likely.Short()
	}
	return days(e.Early, e.Late)
}

// SeasonMove says that eggs or chicks came from or went to another nest.
type SeasonMove struct {
	Day          aviary.Date
	In           bool
	Eggs, Chicks int
	Other        string // name of the other place
}

// Words says the move: "3 eggs from A1".
func (m SeasonMove) Words() string {
	var what []string
	if m.Eggs > 0 {
		what = append(what, count(m.Eggs, "egg", "eggs"))
	}
	if m.Chicks > 0 {
		what = append(what, count(m.Chicks, "chick", "chicks"))
	}
	way := " to "
	if m.In {
		way = " from "
	}
	return strings.Join(what, ", ") + way + m.Other
}

// SeasonClutch is one clutch as the season draws it.
type SeasonClutch struct {
	Key        aviary.ID
	Place      *aviary.Place
	Label      string // "2nd clutch"
	First      aviary.Date
	Found      bool
	Open       bool
	Stage      nest.StageKind
	StageWords string // "sit 9"
	Eggs       []SeasonEgg
	FirstEgg   SeasonEvent
	Hatch      SeasonEvent
	Fledge     SeasonEvent
	Wean       SeasonEvent
	RingFrom   aviary.Date // the days on which a ring goes over; zero when not known
	RingTo     aviary.Date
	Ended      aviary.Date
	Failed     string // why it came to nothing, in a word or two; "" when it did not
	Over       string // how far it is past its time
	Moves      []SeasonMove
	Counts     SeasonCounts // what this nest adds to the season

	species   string // slug of those who feed it
	young     SeasonCounts
	eggsOf    *aviary.Pair
	youngOf   *aviary.Pair
	bySpecies []speciesCounts
}

type speciesCounts struct {
	slug   string
	counts SeasonCounts
}

// LightStep is hours of lamps from a day on.
type LightStep struct {
	Day   aviary.Date
	Hours float64
	Words string // "06:00–20:00, 14 h"
}

// Past keeps what clutches came to by a day, so that a season of many of them is drawn quickly. The zero Past is ready
// to use; it may be used from several goroutines. A clutch is worked out afresh when anything was written about it, and one
// that is open on each day.
type Past struct {
	mu   sync.Mutex
	kept map[pastKey]*SeasonClutch
}

// pastKept is how many clutches a Past keeps: ten seasons of a hundred pairs, twice over.
const pastKept = 10000

type pastKey struct {
	clutch  aviary.ID
	looks   uint64 // of its entries
	day     aviary.Date
	profile nest.Profile
}

func (p *Past) get(k pastKey) *SeasonClutch {
	if p == nil {
		return nil
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.kept[k]
}

func (p *Past) keep(k pastKey, c *SeasonClutch) {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.kept == nil || len(p.kept) >= pastKept {
		p.kept = map[pastKey]*SeasonClutch{}
	}
	p.kept[k] = c
}

// season gathers one season.
type season struct {
	d     *Desk
	past  *Past
	span  Span
	until aviary.Date
	query SeasonQuery
	seeds map[aviary.ID]seed
	known map[aviary.ID]int // eggs that were known to be full when they were moved, by the entry that moved them
}

// Season draws a season. past may be nil. ok is false when the books do not reach to the season that is asked for.
func (d *Desk) Season(q SeasonQuery, past *Past) (out *Season, ok bool) {
	places := d.Room.EveryPlace()
	out = &Season{Began: d.began(places)}
	out.All = d.seasons(out.Began)
	at := 0
	if q.On != 0 {
		at = slices.IndexFunc(out.All, func(s Span) bool { return s.Contains(q.On) })
		if at < 0 {
			return nil, false
		}
	}
	out.Span, out.Until, out.Over = out.All[at], min(d.Today, out.All[at].To), at > 0
	now := &season{d: d, past: past, span: out.Span, until: d.Today, query: q}
	rows := now.gather(places, &out.Lanes)
	var before map[string]SeasonCounts
	if at+1 < len(out.All) {
		b := out.All[at+1]
		out.Before = &b
		out.BeforeUntil = b.To
		until := d.Today
		if !out.Over {
			out.BeforeUntil = min(b.From+(out.Until-out.Span.From), b.To)
			until = out.BeforeUntil
		}
		then := &season{d: d, past: past, span: b, until: until, query: q}
		before = then.gather(places, nil)
	}
	out.rows(d, rows, before, q.Species)
	out.choose(places)
	d.sortLanes(out.Lanes, q.Sort)
	out.Light = d.light()
	return out, true
}

// began is the first day that the books know of a place, a pair or a clutch; today when they are empty.
func (d *Desk) began(places []*aviary.Place) aviary.Date {
	day := d.Today
	for _, p := range places {
		day = min(day, p.Added)
	}
	return day
}

// seasons lists the seasons from today's back to the one in which the books begin, newest first. Where the keeper moved the
// start of his season, the earlier one ends the day before the later one begins.
func (d *Desk) seasons(began aviary.Date) []Span {
	const most = 300 // years: the books know dates from 1900 to 2199
	s := d.SeasonOn(d.Today)
	out := []Span{s}
	for s.From > began && len(out) < most {
		b := d.SeasonBefore(s)
		if b.To >= s.From {
			b.To = s.From - 1
			b.Name = spanName(b.From, b.To)
		}
		s = b
		out = append(out, s)
	}
	return out
}

func (out *Season) rows(d *Desk, now, then map[string]SeasonCounts, only string) {
	slugs := map[string]bool{}
	for s := range now {
		slugs[s] = true
	}
	for s := range then {
		slugs[s] = true
	}
	for s := range slugs {
		p := d.Cat.BySlug(s)
		if p != nil {
			out.Species = append(out.Species, p)
		}
		if only != "" && s != only {
			continue
		}
		row := SeasonRow{Species: p, Now: now[s], Then: then[s]}
		out.Total.Now, out.Total.Then = out.Total.Now.plus(row.Now), out.Total.Then.plus(row.Then)
		if p == nil { // a species that no catalogue knows stands with what cannot be told apart
			if i := slices.IndexFunc(out.Rows, func(r SeasonRow) bool { return r.Species == nil }); i >= 0 {
				out.Rows[i].Now, out.Rows[i].Then = out.Rows[i].Now.plus(row.Now), out.Rows[i].Then.plus(row.Then)
				continue
			}
		}
		out.Rows = append(out.Rows, row)
	}
	slices.SortFunc(out.Rows, func(a, b SeasonRow) int {
		switch {
		case a.Species == nil && b.Species == nil:
			return 0
		case a.Species == nil:
			return 1
		case b.Species == nil:
			return -1
		}
		return strings.Compare(a.Species.English, b.Species.English)
	})
	slices.SortFunc(out.Species, func(a, b *species.Profile) int { return strings.Compare(a.English, b.English) })
	if only != "" {
		out.Lanes = slices.DeleteFunc(out.Lanes, func(l *SeasonLane) bool { return l.Species == nil || l.Species.Slug != only })
	}
}

// choose lists the banks that can be chosen.
func (out *Season) choose(places []*aviary.Place) {
	for _, p := range places {
		if p.Bank == "" {
			out.Loose = true
		} else if !slices.Contains(out.Banks, p.Bank) {
			out.Banks = append(out.Banks, p.Bank)
		}
	}
}

// gather counts a season by species, and lists its lanes unless lanes is nil.
func (s *season) gather(places []*aviary.Place, lanes *[]*SeasonLane) map[string]SeasonCounts {
	s.seeds, s.known = map[aviary.ID]seed{}, map[aviary.ID]int{}
	rows := map[string]SeasonCounts{}
	byBirds := map[string]*SeasonLane{} // pairs by their birds
	byPair := map[aviary.ID]*SeasonLane{}
	byPlace := map[aviary.ID]*SeasonLane{} // clutches without a pair
	walk := map[aviary.ID]int{}
	var list []*SeasonLane
	if lanes != nil {
		for i, p := range s.d.Room.Places() {
			walk[p.ID] = i + 1
		}
	}
	lane := func(pair *aviary.Pair, p *aviary.Place) *SeasonLane {
		var l *SeasonLane
		if pair == nil {
			if l = byPlace[p.ID]; l == nil {
				l = &SeasonLane{Place: p}
				byPlace[p.ID] = l
				list = append(list, l)
			}
			return l
		}
		if l = byPair[pair.ID]; l != nil {
			return l
		}
		key := birdsKey(pair)
		if l = byBirds[key]; l == nil {
			l = &SeasonLane{}
			byBirds[key] = l
			list = append(list, l)
		}
		byPair[pair.ID] = l
		if l.Pair == nil || pair.From >= l.Pair.From { // a pair that moved stands where it went
			l.Pair, l.Place = pair, s.d.Room.Place(pair.Place)
		}
		if l.Place == nil {
			l.Place = p
		}
		return l
	}
	var all []*SeasonClutch
	for _, p := range places {
		if !s.asked(p) {
			continue
		}
		for _, pair := range s.d.Room.PairsAt(p.ID) {
			if pair.From <= min(s.until, s.span.To) && (pair.To == 0 || pair.To > s.span.From) {
				lane(pair, p)
			}
		}
		for _, c := range p.Clutches {
			if s.span.Contains(c.First) && c.First <= s.until {
				all = append(all, s.clutch(p, c))
			}
		}
	}
	for _, l := range list {
		if l.Pair != nil {
			l.Counts.Pairs = 1
			slug := slugOf(s.d.speciesOf(l.Pair))
			row := rows[slug]
			row.Pairs++
			rows[slug] = row
		}
	}
	for _, c := range all {
		for _, x := range c.bySpecies {
			rows[x.slug] = rows[x.slug].plus(x.counts)
		}
	}
	s.ringedLater(rows)
	if lanes == nil {
		return rows
	}
	for _, c := range all {
		home := lane(c.layers(s.d.Room), c.Place)
		home.Clutches = append(home.Clutches, c)
		eggs, young := home, lane(c.youngOf, c.Place)
		if c.eggsOf != nil && byPair[c.eggsOf.ID] != nil {
			eggs = byPair[c.eggsOf.ID]
		}
		mine := c.Counts
		mine.Full, mine.NotKnown, mine.FullOf = 0, 0, Share{}
		mine.Hatched, mine.Ringed, mine.Fledged, mine.Weaned, mine.HatchedOf, mine.FledgedOf, mine.WeanedOf = 0, 0, 0, 0, Share{}, Share{}, Share{}
		home.Counts = home.Counts.plus(mine)
		eggs.Counts = eggs.Counts.plus(SeasonCounts{Full: c.Counts.Full, NotKnown: c.Counts.NotKnown, FullOf: c.Counts.FullOf})
		young.Counts = young.Counts.plus(c.young)
	}
	for _, l := range list {
		s.finish(l, walk)
	}
	*lanes = list
	return rows
}

// layers is the pair in whose lane the clutch stands: the one that stood at the nest when it began.
func (c *SeasonClutch) layers(r *aviary.Room) *aviary.Pair { return r.PairOn(c.Place.ID, c.First) }

func (s *season) finish(l *SeasonLane, walk map[aviary.ID]int) {
	l.Species = s.d.speciesOf(l.Pair)
	if l.Pair != nil {
		for _, id := range l.Pair.Birds() {
			if b := s.d.Room.Bird(id); b != nil {
				l.Birds = append(l.Birds, b)
			}
		}
	}
	slices.SortStableFunc(l.Clutches, func(a, b *SeasonClutch) int { return cmp.Compare(a.First, b.First) })
	if l.Species == nil {
		for _, c := range l.Clutches {
			if p := s.d.Cat.BySlug(c.species); p != nil {
				l.Species = p
			}
		}
	}
	if l.walk = walk[l.Place.ID]; l.walk == 0 {
		l.walk = len(walk) + 1 // a place that is out of use comes last
	}
}

// asked reports whether a place is among those that the query asks for.
func (s *season) asked(p *aviary.Place) bool {
	switch s.query.Bank {
	case "":
		return true
	case Elsewhere:
		return p.Bank == ""
	}
	return p.Bank == s.query.Bank
}

func birdsKey(p *aviary.Pair) string {
	ids := p.Birds()
	slices.SortFunc(ids, func(a, b aviary.ID) int { return slices.Compare(a[:], b[:]) })
	var b strings.Builder
	for _, id := range ids {
		b.Write(id[:])
	}
	return b.String()
}

func slugOf(p *species.Profile) string {
	if p == nil {
		return ""
	}
	return p.Slug
}

// ringedLater counts the young that were ringed out of a counted group, which no clutch knows of any more.
func (s *season) ringedLater(rows map[string]SeasonCounts) {
	for _, b := range s.d.Room.Birds() {
		o := b.RingedAt
		if o == nil || o.Group == (aviary.ID{}) || !s.span.Contains(o.Day) || o.Day > s.until {
			continue
		}
		if p := s.d.Room.Place(o.Place); s.query.Bank != "" && (p == nil || !s.asked(p)) {
			continue
		}
		row := rows[b.Species]
		row.Ringed++
		rows[b.Species] = row
	}
}

// seed is where the eggs or young of a nest come from, as far as that is one pair or one species.
type seed struct {
	pair *aviary.Pair // nil when several, or not known
	slug string       // "" when several, or not known
}

func (a seed) and(b seed) seed {
	if a.pair == nil || b.pair == nil || a.pair.ID != b.pair.ID {
		a.pair = nil
	}
	if a.slug != b.slug {
		a.slug = ""
	}
	return a
}

// own is the pair that stood at a nest when the clutch began, and its species.
func (s *season) own(p *aviary.Place, c *aviary.Clutch) seed {
	pair := s.d.Room.LayingPair(c)
	out := seed{pair: pair, slug: slugOf(s.d.speciesOf(pair))}
	if out.slug != "" {
		return out
	}
	for _, e := range c.Entries() {
		switch b := e.Body.(type) {
		case *aviary.ChickRinged:
			if b.LaidPlace == (aviary.ID{}) {
				out.slug = b.Species
			}
		case *aviary.YoungWeaned:
			if b.Species != "" {
				out.slug = b.Species
			}
		}
	}
	if out.slug == "" && c.Open() {
		sp, mixed := s.d.speciesAt(p.ID)
		if !mixed {
			out.slug = slugOf(sp)
		}
	}
	return out
}

// origin is where eggs or chicks that came into a nest were laid. Moves that go round in a ring end nowhere.
func (s *season) origin(in aviary.Inlet, depth int) seed {
	from := s.d.Room.Place(in.Place)
	c := gaveAway(from, in.Entry)
	if c == nil || depth > 8 {
		if from != nil && depth <= 8 {
			pair := s.d.Room.PairOn(from.ID, in.Day)
			return seed{pair, slugOf(s.d.speciesOf(pair))}
		}
		return seed{}
	}
	return s.eggsIn(from, c, depth+1)
}

// gaveAway is the clutch of a place that an entry took eggs or chicks from.
func gaveAway(p *aviary.Place, entry aviary.ID) *aviary.Clutch {
	if p == nil {
		return nil
	}
	for _, c := range p.Clutches {
		in := slices.ContainsFunc(c.FromNests, func(in aviary.Inlet) bool { return in.Entry == entry })
		if !in && slices.ContainsFunc(c.Entries(), func(e *aviary.Entry) bool { return e.ID == entry }) {
			return c
		}
	}
	return nil
}

// eggsIn says whose eggs lay in a nest, up to the day that is counted to.
func (s *season) eggsIn(p *aviary.Place, c *aviary.Clutch, depth int) seed {
	if got, ok := s.seeds[c.Key]; ok {
		return got
	}
	out, first := seed{}, true
	take := func(x seed) {
		if first {
			out, first = x, false
		} else {
			out = out.and(x)
		}
	}
	if len(c.FromNests) == 0 || nest.Timeline(nest.Profile{}, s.d.looks(c), nest.Day(s.until)).Counts.Laid.N > 0 {
		take(s.own(p, c))
	}
	for _, in := range c.FromNests {
		if in.Eggs > 0 && in.Day <= s.until {
			take(s.origin(in, depth))
		}
	}
	if first {
		out = s.own(p, c)
		for i, in := range c.FromNests { // nothing but chicks came in
			if x := s.origin(in, depth); i == 0 {
				out = x
			} else {
				out = out.and(x)
			}
		}
	}
	s.seeds[c.Key] = out
	return out
}

// youngIn says whose young are reared in a nest.
func (s *season) youngIn(p *aviary.Place, c *aviary.Clutch) seed {
	out := s.eggsIn(p, c, 0)
	for _, in := range c.FromNests {
		if in.Chicks+len(in.Birds) > 0 && in.Day <= s.until {
			out = out.and(s.origin(in, 0))
		}
	}
	return out
}

// clutch works out a clutch up to the day that is counted to.
func (s *season) clutch(p *aviary.Place, c *aviary.Clutch) *SeasonClutch {
	pair := s.d.Room.LayingPair(c)
	day := s.until
	over := c.Ended != 0 && c.Ended <= day
	if over {
		day = c.Ended
	}
	alone := len(c.FromNests) == 0 && c.SentAway == 0
	if s.past == nil || !alone || pair == nil {
		return s.workOut(p, c, over)
	}
	own := s.own(p, c)
	key := pastKey{clutch: c.Key, looks: looksHash(c, own, pair), day: day, profile: profile(s.d.Cat.BySlug(own.slug))}
	if got := s.past.get(key); got != nil {
		x := *got
		x.Place, x.eggsOf, x.youngOf = p, pair, s.d.Room.RearingPair(c)
		n := &Nest{}
		n.No, n.NoSure = s.d.clutchNo(p, c, pair) // an earlier clutch may have been struck out since
		x.Label = n.Label()
		return &x
	}
	x := s.workOut(p, c, over)
	kept := *x
	kept.Place, kept.eggsOf, kept.youngOf = nil, nil, nil
	s.past.keep(key, &kept)
	return x
}

// looksHash tells apart any two sets of entries and circumstances that a clutch's outcome follows from.
func looksHash(c *aviary.Clutch, own seed, pair *aviary.Pair) uint64 {
	h := fnv.New64a()
	if e := c.Before(); e != nil {
		_, _ = h.Write(e.ID[:])
	}
	for _, e := range c.Entries() {
		_, _ = h.Write(e.ID[:])
	}
	_, _ = h.Write([]byte(own.slug))
	_, _ = h.Write(pair.ID[:])
	if c.No != nil {
		_, _ = h.Write([]byte{byte(*c.No)})
	}
	_, _ = h.Write(c.EndedBy[:])
	return h.Sum64()
}

func (s *season) workOut(p *aviary.Place, c *aviary.Clutch, over bool) *SeasonClutch {
	n := s.d.nestOn(p, c, s.until)
	course := &n.Course
	k := course.Counts
	out := &SeasonClutch{
		Key: c.Key, Place: p, Label: n.Label(), First: c.First, Found: c.Found, Open: !over,
		Stage: course.Stage.Kind, StageWords: n.Stage(), eggsOf: n.Laying, youngOf: s.d.Room.RearingPair(c), species: slugOf(n.Species),
	}
	out.count(s, n, over)
	out.FirstEgg = s.event(course, nest.FirstEgg)
	out.Hatch, out.Fledge, out.Wean = s.event(course, nest.Hatch), s.event(course, nest.Fledge), s.event(course, nest.Wean)
	if over { // what had not come by then will not come
		for _, e := range []*SeasonEvent{&out.Hatch, &out.Fledge, &out.Wean} {
			e.Known = e.Known && e.Happened
		}
		out.Ended = c.Ended
		out.Failed = failed(c, k, out.Counts)
	}
	if ring := course.Event(nest.Ring); ring.Known && (!over || ring.Happened) {
		out.RingFrom, out.RingTo = Day(ring.From), Day(ring.To)
	}
	if ev := course.Event(nest.Hatch); ev.Overdue && !over {
		out.Over = fmt.Sprintf("hatch %d days over", s.until-Day(ev.Likely))
	}
	out.Eggs = s.eggDays(n, over)
	out.Moves = s.moves(c)
	return out
}

func (s *season) event(course *nest.Course, kind nest.Kind) SeasonEvent {
	ev := course.Event(kind)
	if !ev.Known {
		return SeasonEvent{}
	}
	out := SeasonEvent{Known: true, Happened: ev.Happened, Early: Day(ev.Early), Likely: Day(ev.Likely), Late: Day(ev.Late)}
	if !ev.Happened {
		if from, to, ok := ev.EightInTen(); ok {
			out.Early, out.Late = Day(from), Day(to)
		}
	}
	return out
}

// count sums up what a nest adds to its season, and parts it by species.
func (x *SeasonClutch) count(s *season, n *Nest, over bool) {
	c, k := n.Clutch, n.Course.Counts
	eggs := s.eggsIn(n.Place, c, 0)
	young := s.youngIn(n.Place, c)
	own := s.own(n.Place, c)
	full, clear, knownIn := s.full(c, k)
	shown := eggs // whose eggs a candling here tells of
	if k.Laid.N > 0 && knownIn == k.MovedIn.N {
		shown = own // what came in was known to be full before
	}
	laid := SeasonCounts{Eggs: k.Laid.N}
	if laid.Eggs > 0 {
		laid.Clutches = 1
		if c.Found {
			laid.Found = 1
		}
	}
	status := SeasonCounts{Full: full - knownIn}
	clear = max(min(clear, k.Laid.N+k.MovedIn.N-full), 0)
	status.NotKnown = k.Laid.N - (full - knownIn) - clear
	hatched := SeasonCounts{Hatched: k.Hatched.N}
	reared := SeasonCounts{Fledged: k.Out.N}
	if !c.Found {
		if k.Fertile.Known {
			status.FullOf = Share{full - knownIn, full - knownIn + clear}
		}
		last := n.Course.Event(nest.LastHatch)
		done := over || (n.Course.Event(nest.Hatch).Happened && (last.Happened || (last.Known && Day(last.Late) < s.until)))
		if lay := k.Laid.N + k.MovedIn.N - k.MovedOut.N; done && k.Hatched.Known && max(lay, k.Hatched.N) > 0 {
			hatched.HatchedOf = Share{k.Hatched.N, max(lay, k.Hatched.N)}
		}
		if brood := k.Hatched.N + k.ChicksIn.N - k.ChicksOut.N; over && brood > 0 {
			weaned := s.weaned(c)
			reared.WeanedOf = Share{weaned, max(brood, weaned)}
			if k.Out.Known {
				reared.FledgedOf = Share{k.Out.N, max(brood, k.Out.N)}
			}
		}
	}
	x.add(own.slug, laid)
	if shown.pair != nil {
		x.eggsOf = shown.pair
	}
	x.add(shown.slug, status)
	s.bySpecies(x, c, eggs.slug, young.slug, k.ChicksIn.N > 0, hatched, reared)
	for _, part := range x.bySpecies {
		x.Counts = x.Counts.plus(part.counts)
	}
	x.young = SeasonCounts{
		Hatched: x.Counts.Hatched, Ringed: x.Counts.Ringed, Fledged: x.Counts.Fledged, Weaned: x.Counts.Weaned,
		HatchedOf: x.Counts.HatchedOf, FledgedOf: x.Counts.FledgedOf, WeanedOf: x.Counts.WeanedOf,
	}
}

func (x *SeasonClutch) add(slug string, c SeasonCounts) {
	if c.Nothing() {
		return
	}
	for i := range x.bySpecies {
		if x.bySpecies[i].slug == slug {
			x.bySpecies[i].counts = x.bySpecies[i].counts.plus(c)
			return
		}
	}
	x.bySpecies = append(x.bySpecies, speciesCounts{slug, c})
}

// bySpecies parts the young of a nest by species. Where eggs of two species lay in one nest, the ring entries tell those
// apart that were ringed, unless chicks were brought that hatched elsewhere; of the rest it is not known.
func (s *season) bySpecies(x *SeasonClutch, c *aviary.Clutch, eggs, young string, brought bool, hatched, reared SeasonCounts) {
	ringed, weaned := map[string]int{}, map[string]int{}
	for _, e := range c.Entries() {
		if e.Day > s.until {
			break
		}
		switch b := e.Body.(type) {
		case *aviary.ChickRinged:
			ringed[b.Species]++
		case *aviary.YoungWeaned:
			for _, id := range b.Birds {
				slug := young
				if bird := s.d.Room.Bird(id); bird != nil {
					slug = bird.Species
				}
				weaned[slug]++
			}
			if b.Unringed > 0 {
				slug := b.Species
				if slug == "" {
					slug = young
				}
				weaned[slug] += b.Unringed
			}
		}
	}
	for _, slug := range slices.Sorted(maps.Keys(ringed)) {
		n := ringed[slug]
		x.add(slug, SeasonCounts{Ringed: n})
		if eggs == "" && !brought && hatched.Hatched > 0 {
			k := min(n, hatched.Hatched)
			hatched.Hatched -= k
			x.add(slug, SeasonCounts{Hatched: k})
		}
	}
	for _, slug := range slices.Sorted(maps.Keys(weaned)) {
		n := weaned[slug]
		x.add(slug, SeasonCounts{Weaned: n})
		if young == "" && reared.Fledged > 0 {
			k := min(n, reared.Fledged)
			reared.Fledged -= k
			x.add(slug, SeasonCounts{Fledged: k})
		}
	}
	x.add(eggs, hatched)
	x.add(young, reared)
}

func (s *season) weaned(c *aviary.Clutch) int {
	n := 0
	for _, e := range c.Entries() {
		if b, ok := e.Body.(*aviary.YoungWeaned); ok && e.Day <= s.until {
			n += len(b.Birds) + b.Unringed
		}
	}
	return n
}

// full counts the eggs of a nest known to have been fertile, those that came in known to be so among them, and how many
// those were. It notes how many of the eggs of each move out were known.
//
// At one candling the full eggs alive, those found dead so far and those known full that were moved out are different eggs;
// the greatest such sum stands, and at the end the dead and the hatched.
func (s *season) full(c *aviary.Clutch, k nest.Counts) (full, clear, in int) {
	dead, out := 0, 0
	var lying [2]int
	taken := 0
	for _, e := range c.Entries() {
		if e.Day > s.until {
			break
		}
		switch b := e.Body.(type) {
		case *aviary.NestCheck:
			if len(b.Candled) > 0 {
				alive := 0
				var bad [2]int
				for _, item := range b.Candled {
					switch _, state := aviary.CandledEgg(item); state {
					case "fertile":
						alive++
					case "early dead":
						bad[0]++
					case "dead in shell":
						bad[1]++
					}
				}
				left := max(0, lying[0]+lying[1]-taken)
				for i, n := range bad {
					again := min(left, lying[i], n)
					left -= again
					dead += n - again
				}
				lying, taken = bad, 0
				full = max(full, alive+dead+out)
			}
			if b.Removed != nil {
				taken += *b.Removed
			}
		case *aviary.NestMoved:
			if isInlet(c, e.ID) {
				known := s.knownFull(b, e.ID)
				in += known
				full += known
			} else {
				known := min(b.Eggs, max(full-dead-out, 0))
				s.known[e.ID] = known
				out += known
			}
		}
	}
	full = max(full, dead+out+k.Hatched.N)
	return full, k.Clear.N, in
}

func isInlet(c *aviary.Clutch, entry aviary.ID) bool {
	return slices.ContainsFunc(c.FromNests, func(in aviary.Inlet) bool { return in.Entry == entry })
}

// knownFull is how many of the eggs of a move were known to be full where they came from. A keeper moves the full ones:
// common practice, no source.
func (s *season) knownFull(b *aviary.NestMoved, entry aviary.ID) int {
	if n, ok := s.known[entry]; ok {
		return n
	}
	s.known[entry] = 0 // a ring of moves ends here
	if c := gaveAway(s.d.Room.Place(b.Place), entry); c != nil {
		s.full(c, nest.Counts{})
	}
	return s.known[entry]
}

// failed says why a clutch that is over came to nothing, in a word or two; "" when young were parted, are out, or all went
// to another nest.
func failed(c *aviary.Clutch, k nest.Counts, counts SeasonCounts) string {
	if counts.Weaned > 0 || counts.Fledged > 0 {
		return ""
	}
	goneEggs, goneChicks, removed := "", "", ""
	var end *aviary.Entry
	for _, e := range c.Entries() {
		if e.ID == c.EndedBy {
			end = e
		}
		b, ok := e.Body.(*aviary.NestCheck)
		if !ok {
			continue
		}
		if w := b.GoneEggsWhy; w != "" && w != "not known" && w != "hatched" {
			goneEggs = w
		}
		if w := b.GoneChicksWhy; w != "" && w != "not known" {
			goneChicks = w
		}
		if b.RemovedWhy != "" {
			removed = b.RemovedWhy
		}
	}
	if k.Hatched.N+k.ChicksIn.N > 0 {
		switch {
		case k.Hatched.N+k.ChicksIn.N <= k.ChicksOut.N:
			return ""
		case goneChicks != "":
			return "chicks " + goneChicks
		case k.Died.N > 0:
			return "chicks died"
		}
		return "chicks lost"
	}
	switch {
	case k.MovedOut.N > 0 && k.Laid.N+k.MovedIn.N <= k.MovedOut.N:
		return ""
	case k.Clear.N > 0 && counts.Full == 0 && k.Fertile.N == 0:
		return "clear"
	case goneEggs == "tossed out":
		return "tossed"
	case goneEggs != "":
		return goneEggs
	case removed != "":
		return removed
	case k.DeadInShell.N > 0:
		return "dead in shell"
	case k.EarlyDead.N > 0:
		return "died early"
	}
	if end == nil {
		return "given up" // a further clutch was begun over the eggs
	}
	switch b := end.Body.(type) {
	case *aviary.BoxTaken:
		return "box taken out"
	case *aviary.NestCheck:
		if b.Eggs != nil && *b.Eggs > 0 {
			return "given up"
		}
	}
	return "lost"
}

// eggDays puts the eggs laid in a nest on their days: evenly from the first egg to the last, none later than the look that
// showed it. While the hen lays, the eggs that the species usually lays on are added.
func (s *season) eggDays(n *Nest, over bool) []SeasonEgg {
	c, k := n.Clutch, n.Course.Counts
	seen := make([]aviary.Date, 0, 8) // day of the first look that shows so many eggs
	for _, e := range c.Entries() {
		if b, ok := e.Body.(*aviary.NestCheck); ok && e.Day <= s.until {
			most := len(b.Candled)
			if b.Eggs != nil {
				most = max(most, *b.Eggs)
			}
			for len(seen) < most {
				seen = append(seen, e.Day)
			}
		}
	}
	var out []SeasonEgg
	for _, in := range c.FromNests {
		if in.Day <= s.until {
			for range in.Eggs {
				out = append(out, SeasonEgg{Day: in.Day})
			}
		}
	}
	laid := k.Laid.N
	if len(seen) == 0 || (laid == 0 && len(out) == 0) {
		return out // chicks alone were seen
	}
	prof := profile(n.Species)
	step := prof.LayingInterval.Typical
	if !prof.LayingInterval.Known {
		step = 1
	}
	first := c.First - aviary.Date(float64(laid-1)*step)
	if ev := n.Course.Event(nest.FirstEgg); ev.Known {
		first = Day(ev.Likely)
	}
	if ev := n.Course.Event(nest.ClutchComplete); ev.Known && ev.Happened && laid > 1 && Day(ev.Likely) > first {
		step = float64(Day(ev.Likely)-first) / float64(laid-1)
	}
	states := append(slices.Repeat([]string{"fertile"}, min(k.Fertile.N, laid+len(out))), slices.Repeat([]string{"clear"}, k.Clear.N)...)
	states = append(append(append(states, slices.Repeat([]string{"early dead"}, k.EarlyDead.N)...), slices.Repeat([]string{"dead in shell"}, k.DeadInShell.N)...), slices.Repeat([]string{"cracked"}, k.Cracked.N)...)
	last := first
	for i := range laid {
		day := first + aviary.Date(float64(i)*step+0.5)
		if i < len(seen) {
			day = min(day, seen[i])
		}
		last = max(min(day, s.until), first)
		out = append(out, SeasonEgg{Day: last})
	}
	for i := range out {
		if i < len(states) {
			out[i].State = states[i]
		}
	}
	if size := prof.ClutchSize; !over && n.Course.Stage.Kind == nest.Laying && size.Known && laid > 0 {
		for i := laid; i < int(size.Typical+0.5); i++ {
			day := max(first+aviary.Date(float64(i)*step+0.5), s.until+1, last+1)
			last = day
			out = append(out, SeasonEgg{Day: day, Expected: true})
		}
	}
	return out
}

func (s *season) moves(c *aviary.Clutch) []SeasonMove {
	var out []SeasonMove
	name := func(id aviary.ID) string {
		if p := s.d.Room.Place(id); p != nil {
			return p.Name
		}
		return "another nest"
	}
	for _, e := range c.Entries() {
		b, ok := e.Body.(*aviary.NestMoved)
		if !ok || e.Day > s.until {
			continue
		}
		m := SeasonMove{Day: e.Day, Eggs: b.Eggs, Chicks: b.Chicks + len(b.Birds), In: isInlet(c, e.ID), Other: name(b.ToPlace)}
		if m.In {
			m.Other = name(b.Place)
		}
		out = append(out, m)
	}
	return out
}

// sortLanes puts lanes in order.
func (d *Desk) sortLanes(lanes []*SeasonLane, by string) {
	slices.SortStableFunc(lanes, func(a, b *SeasonLane) int {
		c := 0
		switch by {
		case "stage":
			c = cmp.Compare(stageRank(b), stageRank(a))
		case "egg":
			c = cmp.Compare(firstEgg(a), firstEgg(b))
		}
		return cmp.Or(c, cmp.Compare(a.walk, b.walk), compareFrom(a, b))
	})
}

func compareFrom(a, b *SeasonLane) int {
	from := func(l *SeasonLane) aviary.Date {
		if l.Pair == nil {
			return 0
		}
		return l.Pair.From
	}
	return cmp.Compare(from(a), from(b))
}

// stageRank is how far the newest open clutch of a lane is; below all others when none is open.
func stageRank(l *SeasonLane) int {
	rank := -1
	for _, c := range l.Clutches {
		if c.Open {
			rank = int(c.Stage)
		}
	}
	return rank
}

func firstEgg(l *SeasonLane) aviary.Date {
	if len(l.Clutches) == 0 {
		return forever
	}
	if c := l.Clutches[0]; c.FirstEgg.Known {
		return c.FirstEgg.Likely
	}
	return l.Clutches[0].First
}

// light is the hours of lamps as they were set, of the circuit that lights the whole room, else of the one that was set first.
func (d *Desk) light() []LightStep {
	lamps := d.Room.Whole().Lamps
	if len(lamps) == 0 {
		return nil
	}
	circuit := lamps[0].Circuit
	if slices.ContainsFunc(lamps, func(l aviary.LampSetting) bool { return l.Circuit == "" }) {
		circuit = ""
	}
	var out []LightStep
	for _, l := range lamps {
		if l.Circuit != circuit {
			continue
		}
		on, _ := l.On.Minutes()
		off, _ := l.Off.Minutes()
		const day = 24 * 60
		hours := float64((off-on+day)%day) / 60
		words := fmt.Sprintf("%s–%s, %s h", l.On, l.Off, strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", hours), "0"), "."))
		if circuit != "" {
			words = circuit + " " + words
		}
		step := LightStep{l.Day, hours, words}
		if n := len(out); n > 0 && out[n-1].Day == l.Day {
			out[n-1] = step
			continue
		}
		out = append(out, step)
	}
	return out
}
