package advice

import (
	"maps"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/outcome"
	"broodlight/internal/species"
)

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

type speciesCounts struct {
	slug   string
	counts SeasonCounts
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
