package advice

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
	"broodlight/internal/species"
)

// PairStage says how far a pair is on its way to a clutch.
type PairStage int

// The stages, in the order in which a pair goes through them.
const (
	PairResting    PairStage = iota // at rest or in moult
	PairPreparing                   // fed for preparation, sprouted seed not begun
	PairComing                      // on conditioning food, or together with a box; signs do not suffice yet
	PairReady                       // in condition: signs suffice for nest material
	PairBuilding                    // a nest is being built
	PairAboutToLay                  // a nest was being built days ago: the first egg is near
	PairNesting                     // eggs, or young that need their parents
)

// PairStages lists the stages in their order.
var PairStages = []PairStage{PairResting, PairPreparing, PairComing, PairReady, PairBuilding, PairAboutToLay, PairNesting}

// String is the stage as it stands on a page.
func (s PairStage) String() string {
	return [...]string{"resting", "preparing", "coming into condition", "in condition", "building", "about to lay", "with eggs or young"}[s]
}

// Days by which stages are told. Common practice, no source.
const (
	signFresh  = 14 // days: an older sign says nothing of today, as in package feed
	builtAfter = 3  // days from the first sign of building to the first egg being near
	boxWeek    = 4  // week of sprouted seed from which a pair without a box cannot show what it is up to
	weighFresh = 14 // days: an older weight says nothing of a hen today
)

// SeenSign is a sign of condition and the days on which it was seen since the pair was last without eggs.
type SeenSign struct {
	What  string
	Days  []aviary.Date // oldest first
	Fresh bool          // within the last fortnight
}

// First and Last are the days of the first and the last sight.
func (s SeenSign) First() aviary.Date { return s.Days[0] }

// Last is the day on which it was seen last.
func (s SeenSign) Last() aviary.Date { return s.Days[len(s.Days)-1] }

// Condition says how ready a pair is, and what is due at it.
type Condition struct {
	Place   *aviary.Place
	Pair    *aviary.Pair
	Species *species.Profile
	Stage   PairStage
	Since   aviary.Date // of the pair, or the end of its last clutch
	After   bool        // Since is the end of a clutch: the pair is between two
	Signs   []SeenSign  // since the nest was empty, in the order of the room's list of signs

	LightSince aviary.Date // first day of full light; 0 when it is not known, or not reached
	FoodNoted  bool        // a plan or a note says what the pair is fed for
	Standing   feed.Standing
	FoodSince  aviary.Date // first day of sprouted seed; 0 when it is not known

	FirstTime bool // by the books neither bird had a clutch before
	Ages      []string
	Young     []Warning // birds under the age at which their kind is usually bred

	Box         aviary.Date // since when a box hangs beside the pair; 0 without one
	Material    aviary.Date // given since the last clutch; 0 when it was not
	MaterialDue bool
	BoxDue      bool
	Held        string      // why neither is proposed though signs may show; "" when nothing speaks against a clutch
	Against     []feed.Note // all that speaks against a clutch
	Ill         string      // what to do about a hen that looks ill; "" when none does

	Notes   []feed.Note // what the engine says of its phase
	Changes []string    // what would bring it on

	show bool        // the signs suffice, whatever speaks against a clutch
	free aviary.Date // signs and material count from here; see between
}

// Condition returns how ready the pair of a place is, or nil when no pair stands there. It is worked out once a desk.
func (d *Desk) Condition(p *aviary.Place) *Condition {
	if c, ok := d.conditions[p.ID]; ok {
		return c
	}
	var c *Condition
	if pair := d.Room.PairNow(p.ID); pair != nil && pair.From <= d.Today {
		c = d.conditionOf(p, pair)
	}
	d.conditions[p.ID] = c
	return c
}

func (d *Desk) conditionOf(p *aviary.Place, pair *aviary.Pair) *Condition {
	c := &Condition{Place: p, Pair: pair, Species: d.speciesOf(pair), FirstTime: d.firstTime(pair, d.Today)}
	b := betweenOn(p, pair, d.Today)
	c.Since, c.After, c.free = b.since, b.after, b.free
	for _, what := range aviary.Signs {
		s := SeenSign{What: what}
		for _, x := range p.Signs {
			if x.What == what && x.Day >= c.free && x.Day <= d.Today && (len(s.Days) == 0 || s.Last() != x.Day) {
				s.Days = append(s.Days, x.Day)
			}
		}
		if len(s.Days) > 0 {
			s.Fresh = d.Today-s.Last() <= signFresh
			c.Signs = append(c.Signs, s)
		}
	}
	for _, b := range p.Boxes {
		if b.Hung <= d.Today && (b.Taken == 0 || b.Taken > d.Today) {
			if at := max(b.Hung, pair.From); c.Box == 0 || at < c.Box {
				c.Box = at
			}
		}
	}
	for _, day := range p.Material {
		if day >= c.free && day <= d.Today && c.Material == 0 {
			c.Material = day
		}
	}
	if since, ok := d.FullLightSince(p); ok && since <= d.Today {
		c.LightSince = since
	}
	c.fed(d)
	c.grown(d)
	hen := d.henAt(p)
	if look := hen.Look(c.Standing.Phase); len(look) > 0 {
		c.Ill = look[0].Text
	}
	if b.live {
		c.Stage = PairNesting
		return c
	}
	if c.stage(d); c.Stage != PairResting {
		if why := d.against(p, pair); len(why) > 0 {
			c.Held = why[0].Text
			c.Against = why
		}
	}
	c.propose(d)
	c.changes()
	return c
}

// between is how a pair stands between its clutches.
type between struct {
	since aviary.Date // of its set-up or, after a clutch, that on which its last one ended
	free  aviary.Date // day from which signs and nest material speak of the next clutch: since, or when the nest was found empty before that
	after bool        // a clutch has ended
	live  bool        // eggs or young are there
}

// betweenOn says how a pair stands between its clutches on a day.
func betweenOn(p *aviary.Place, pair *aviary.Pair, day aviary.Date) between {
	b := between{since: pair.From, free: pair.From}
	for _, x := range p.Clutches {
		switch {
		case x.First > day:
		case x.Ended == 0 || x.Ended > day:
			b.live = true
		case x.Ended >= b.since:
			b.since, b.after = x.Ended, true
			b.free = max(nestFree(x), pair.From)
		}
	}
	return b
}

// nestFree is the day on which a clutch that has ended was first found to be out of the nest: its young may have been fed outside
// for weeks after that, while the pair got ready for the next.
func nestFree(c *aviary.Clutch) aviary.Date {
	free := c.Ended
	for _, e := range slices.Backward(c.Entries()) {
		switch b := e.Body.(type) {
		case *aviary.NestCheck:
			if b.Eggs != nil && *b.Eggs > 0 || b.Chicks != nil && *b.Chicks > 0 {
				if b.Removed == nil || b.Eggs == nil || *b.Removed < *b.Eggs || b.Chicks != nil && *b.Chicks > 0 {
					return free
				}
				return e.Day // all that lay there was taken out at this look
			}
			if b.Eggs != nil || b.Chicks != nil {
				free = e.Day
			}
		case *aviary.ChickRinged, *aviary.NestMoved:
			return free
		}
	}
	return free
}

// fed reads what the pair is fed for. Where nothing says so, the engine is asked as if conditioning had begun when the pair was
// put together, so that signs are weighed by the same rule; its weeks are then left out.
func (c *Condition) fed(d *Desk) {
	f := d.Feeding(c.Place)
	if f != nil {
		c.FoodNoted = f.Plan != nil || f.Pairing.Conditioning != 0 || f.Pairing.Moult != 0 || f.Pairing.Rest != 0
		c.Standing = f.Standing
		c.FoodSince = FeedDay(f.Pairing.Conditioning)
	}
	if c.FoodNoted {
		c.Notes = append(c.Notes, c.Standing.Notes...)
		c.show = d.FeedingOn(c.Place, d.Today).MaterialDue
		return
	}
	as := feed.Pair{Conditioning: feedDay(c.Pair.From), Material: feedDay(c.Material)}
	if f != nil {
		as.Signs, as.Nests = f.Pairing.Signs, f.Pairing.Nests
	}
	c.show = as.Phase(feedDay(d.Today), feed.Season{}).MaterialDue
	c.Standing = feed.Standing{Phase: c.Standing.Phase}
	c.FoodSince = 0
}

// grown says how old the birds are, and which of them are young for breeding.
func (c *Condition) grown(d *Desk) {
	for _, b := range d.birds(c.Pair.Birds()) {
		if !b.Here() {
			continue
		}
		if age, ok := b.AgeOn(d.Today); ok {
			c.Ages = append(c.Ages, fmt.Sprintf("%s %s", sexWord(b), ageWords(age)))
		} else {
			c.Ages = append(c.Ages, sexWord(b)+" of unknown age")
		}
	}
	c.Young = d.tooYoungOf(c.Pair)
}

func sexWord(b *aviary.Bird) string {
	if b.Sex == "" {
		return "bird"
	}
	return string(b.Sex)
}

func ageWords(days int) string {
	m := months(days)
	switch {
	case m < 24:
		return count(m, "month", "months")
	case m%12 == 0:
		return count(m/12, "year", "years")
	}
	return fmt.Sprintf("%.1f years", float64(days)/daysPerYear)
}

// daysPerYear is the mean year of the calendar, in days.
const daysPerYear = 365.2425

// sign returns a sign that was seen, or nil.
func (c *Condition) sign(what string) *SeenSign {
	for i := range c.Signs {
		if c.Signs[i].What == what {
			return &c.Signs[i]
		}
	}
	return nil
}

func (c *Condition) anyFresh() bool {
	return slices.ContainsFunc(c.Signs, func(s SeenSign) bool { return s.Fresh })
}

// stage tells the stage by signs first, then by food.
func (c *Condition) stage(d *Desk) {
	building := c.sign("building")
	switch {
	case c.FoodNoted && (c.Standing.Phase == feed.Rest || c.Standing.Phase == feed.Moult):
		c.Stage = PairResting
	case building != nil && building.Fresh && d.Today-building.First() >= builtAfter:
		c.Stage = PairAboutToLay
	case building != nil && building.Fresh:
		c.Stage = PairBuilding
	case c.FoodNoted && c.Standing.Phase == feed.Preparation:
		c.Stage = PairPreparing
	case c.show, c.Material != 0 && c.anyFresh():
		c.Stage = PairReady
	case !c.FoodNoted && c.Box == 0 && !c.anyFresh() && c.Place.Type == aviary.Cage:
		c.Stage = PairResting
	default:
		c.Stage = PairComing
	}
}

// against lists what speaks against a clutch at a pair, whatever the signs: a cage that is closed, a bird too young, a hen that has
// had her season's clutches or has lost weight. A hen that looks ill comes first.
func (d *Desk) against(p *aviary.Place, pair *aviary.Pair) []feed.Note {
	var out []feed.Note
	because := func(text, source string) {
		out = append(out, feed.Note{Level: feed.Warn, Text: text, Source: source})
	}
	if d.henAt(p) != (feed.Hen{}) {
		because("A hen looks ill: that comes first.", commonPractice)
	}
	if until := p.BlockedUntil; until > d.Today {
		because("The cage is closed until "+until.Short()+": no nest until then.", "as written at the cage")
	}
	for _, w := range d.tooYoungOf(pair) {
		because(w.Text, w.Says)
	}
	for _, b := range d.birds(pair.Hens) {
		if !b.Here() {
			continue
		}
		for _, w := range d.restWarnings(b, d.Today) {
			because(w.Text, w.Says)
		}
		w := d.weighed(b, true)
		if w.Verdict == feed.Thin && w.Baseline > 0 && d.Today-FeedDay(w.Last.Day) <= weighFresh {
			because(fmt.Sprintf("The hen %s is %.0f in 100 below her own weight (%s). No clutch until she is back to it.", b.Label(), -100*w.Away, FeedDay(w.Last.Day).Short()), commonPractice)
		}
	}
	return out
}

// tooYoungOf warns of the birds of a pair that are under the age at which their kind is usually bred.
func (d *Desk) tooYoungOf(pair *aviary.Pair) []Warning {
	var out []Warning
	for _, b := range d.birds(pair.Birds()) {
		if !b.Here() {
			continue
		}
		if low, v, young := d.tooYoung(b, d.Today, leastAgeOf(b)); young {
			age, _ := b.AgeOn(d.Today)
			when := b.Hatched + aviary.Date(low*daysPerMonth+1)
			out = append(out, Warning{string(b.Sex) + " too young", fmt.Sprintf("The %s is %s old; its kind is usually not bred before %v months, which is %s.", sexWord(b), ageWords(age), low, when.Short()), says(v)})
		}
	}
	return out
}

// propose says whether nest material or the box is due.
func (c *Condition) propose(d *Desk) {
	if c.Stage == PairResting || c.Stage == PairPreparing || c.Held != "" {
		return
	}
	due := c.show && c.Material == 0
	boxless := c.Place.Type == aviary.Cage && c.Box == 0
	switch {
	case boxless && (due || (!c.After && c.Standing.Week >= boxWeek)):
		c.BoxDue = true // material follows once it hangs
	case due && !boxless && c.Stage == PairReady: // a pair that builds has something to build with
		c.MaterialDue = true
	}
}

// changes says what would bring the pair on.
func (c *Condition) changes() {
	add := func(s string) { c.Changes = append(c.Changes, s) }
	switch c.Stage {
	case PairResting:
		if c.anyFresh() {
			add("Signs show while it rests. It may go ahead once sprouted seed begins: note the day at Food.")
		}
		add("The day on which sprouted seed begins.")
	case PairPreparing:
		add("The day on which sprouted seed begins at this pair.")
	case PairComing:
		add("One strong sign (at the nest, building), or two others on any days of one fortnight.")
	case PairReady:
		if c.Material == 0 {
			add("The day on which nest material is given.")
		}
		add("Building seen.")
	case PairBuilding, PairAboutToLay:
		add("The first look that shows an egg.")
	}
	if c.Place.Type == aviary.Cage && c.Box == 0 && c.Stage >= PairComing {
		add("The day on which the box hangs.")
	}
}

// LightWeeks is for how many whole weeks the place has had full light.
func (c *Condition) LightWeeks(today aviary.Date) int { return int(today-c.LightSince) / 7 }

// Kind names what the pair is judged by: "first-time zebra finch pairs".
func (c *Condition) Kind() string { return kindWords(c.Species, c.FirstTime) }

func kindWords(s *species.Profile, first bool) string {
	name := "pairs"
	if s != nil {
		name = s.English + " pairs"
	}
	if first {
		return "first-time " + name
	}
	return name + " that have had eggs"
}

// SignWords lists the signs with their days: "singing 3 and 8 Jan; at the nest 10 Jan".
func (c *Condition) SignWords() string {
	var out []string
	for _, s := range c.Signs {
		out = append(out, s.What+" "+s.When())
	}
	return strings.Join(out, "; ")
}

// signDays is how many days of a sign are told one by one.
const signDays = 3

// When tells the days on which a sign was seen: "10 Jan", "3 and 8 Jan", "on 6 days from 3 to 12 Jan".
func (s SeenSign) When() string {
	if len(s.Days) > signDays {
		return fmt.Sprintf("on %d days, %s", len(s.Days), days(s.First(), s.Last()))
	}
	var out []string
	for _, day := range s.Days {
		out = append(out, day.Short())
	}
	if n := len(out); n > 1 {
		return strings.Join(out[:n-1], ", ") + " and " + out[n-1]
	}
	return out[0]
}

// Says is the stage in a sentence.
func (c *Condition) Says() string {
	switch c.Stage {
	case PairResting:
		switch {
		case !c.FoodNoted:
			return "Resting: no box hangs, and nothing is noted of its food."
		case c.Standing.Phase == feed.Moult:
			return "In moult. No clutch until it is over."
		}
		return "At rest."
	case PairPreparing:
		return "Preparing. Sprouted seed has not begun."
	case PairComing:
		if c.Material != 0 {
			return "Nest material is in, and no sign was seen for two weeks."
		}
		if c.Standing.Week > 0 && !c.After {
			return fmt.Sprintf("Week %d of sprouted seed, and signs do not suffice yet. It stays in its phase.", c.Standing.Week)
		}
		return "Signs do not suffice yet. It stays as it is."
	case PairReady:
		if c.Held != "" {
			return "Signs show, but the nest waits."
		}
		if c.Material != 0 {
			return "In condition, with nest material since " + c.Material.Short() + "."
		}
		if c.Standing.Week > 0 && c.Standing.Week < boxWeek && !c.After {
			return fmt.Sprintf("In condition, ahead of time in week %d. It may go ahead.", c.Standing.Week)
		}
		return "In condition: signs show."
	case PairBuilding:
		return "Building since " + c.sign("building").First().Short() + "."
	case PairAboutToLay:
		return "Building since " + c.sign("building").First().Short() + ": the first egg is near."
	}
	return "With eggs or young."
}

// Proposal is what is due at the pair, in a word: "nest material", "nest box", or "".
func (c *Condition) Proposal() string {
	switch {
	case c.BoxDue:
		return "nest box"
	case c.MaterialDue:
		return "nest material"
	}
	return ""
}

// clutchDays are days of first clutches by bird.
type clutchDays map[aviary.ID]aviary.Date

// firstClutches is the day of the first clutch of every bird that laid or was paired with one that laid, by the books.
func (d *Desk) firstClutches() clutchDays {
	if d.clutched != nil {
		return d.clutched
	}
	d.clutched = clutchDays{}
	for _, p := range d.Room.EveryPlace() {
		for _, c := range p.Clutches {
			if fostered(c) {
				continue
			}
			pair := d.Room.LayingPair(c)
			if pair == nil {
				continue
			}
			for _, id := range pair.Birds() {
				if was, ok := d.clutched[id]; !ok || c.First < was {
					d.clutched[id] = c.First
				}
			}
		}
	}
	return d.clutched
}

// fostered reports whether a clutch began with eggs or chicks of another nest.
func fostered(c *aviary.Clutch) bool { return len(c.FromNests) > 0 && c.FromNests[0].Entry == c.Key }

// firstTime reports whether, by the books, none of the birds of a pair had a clutch before a day.
func (d *Desk) firstTime(pair *aviary.Pair, day aviary.Date) bool {
	for _, id := range pair.Birds() {
		for _, was := range d.Room.PairsOf(id) {
			p := d.Room.Place(was.Place)
			if p == nil {
				continue
			}
			for _, c := range p.Clutches {
				if c.First >= day {
					continue
				}
				if laid := d.Room.LayingPair(c); laid != nil && laid.ID == was.ID && !fostered(c) {
					return false
				}
			}
		}
	}
	return true
}

// Readiness is every pair of the room by how ready it is.
type Readiness struct {
	Pairs    []*Condition // without eggs or young, most advanced first, then in walking order
	Nesting  int          // pairs with eggs or young
	Material int          // of Pairs: ready for nest material, some of them once a box hangs
	Boxes    int          // of Pairs: a nest box is due
	Count    map[PairStage]int
}

// Readiness says how ready each pair of the room is.
func (d *Desk) Readiness() *Readiness {
	r := &Readiness{Count: map[PairStage]int{}}
	for _, p := range d.Room.Places() {
		c := d.Condition(p)
		if c == nil {
			continue
		}
		r.Count[c.Stage]++
		if c.Stage == PairNesting {
			r.Nesting++
			continue
		}
		if c.MaterialDue || c.BoxDue && c.show {
			r.Material++
		}
		if c.BoxDue {
			r.Boxes++
		}
		r.Pairs = append(r.Pairs, c)
	}
	slices.SortStableFunc(r.Pairs, func(a, b *Condition) int { return cmp.Compare(b.Stage, a.Stage) })
	return r
}

// Headline answers who is ready.
func (r *Readiness) Headline() string {
	n := len(r.Pairs)
	switch {
	case n == 0 && r.Nesting == 0:
		return "No pair is set up yet."
	case n == 0:
		return fmt.Sprintf("All %s have eggs or young.", count(r.Nesting, "pair", "pairs"))
	case r.Material > 0:
		return fmt.Sprintf("%d of %d %s %s ready for nest material.", r.Material, n, plural(n, "pair", "pairs"), plural(r.Material, "is", "are"))
	case r.Boxes > 0:
		return fmt.Sprintf("%d of %d %s %s for the nest box.", r.Boxes, n, plural(n, "pair", "pairs"), plural(r.Boxes, "waits", "wait"))
	}
	near := r.Count[PairBuilding] + r.Count[PairAboutToLay]
	if near > 0 {
		return fmt.Sprintf("%d of %d %s %s; none waits for nest material.", near, n, plural(n, "pair", "pairs"), plural(near, "builds", "build"))
	}
	return fmt.Sprintf("None of %d %s is ready for nest material yet.", n, plural(n, "pair", "pairs"))
}
