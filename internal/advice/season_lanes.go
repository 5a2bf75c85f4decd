package advice

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/species"
)

// SeasonLane is a pair and its clutches.
type SeasonLane struct {
	Pair     *aviary.Pair // nil for clutches without a pair in the books
	Place    *aviary.Place
	Species  *species.Profile // nil when not known
	Birds    []*aviary.Bird
	Clutches []*SeasonClutch
	// Counts are the pair's: eggs and what became of them by the pair that laid, young by the pair that reared.
	Counts SeasonCounts
	// Pauses are the moults and rests that were noted at the place while the pair stood there.
	Pauses []FeedSpan

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
		to := min(s.until, s.span.To)
		if l.Pair.To != 0 {
			to = min(to, l.Pair.To-1)
		}
		l.Pauses = pausesAt(l.Place, max(l.Pair.From, s.span.From), to)
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

func birdsKey(p *aviary.Pair) string {
	ids := p.Birds()
	slices.SortFunc(ids, func(a, b aviary.ID) int { return slices.Compare(a[:], b[:]) })
	var b strings.Builder
	for _, id := range ids {
		b.Write(id[:])
	}
	return b.String()
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
