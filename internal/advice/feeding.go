package advice

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
	"broodlight/internal/nest"
	"broodlight/internal/species"
)

// Feeding is what the birds of a place are fed for today, and what they get.
type Feeding struct {
	Place    *aviary.Place
	Pair     *aviary.Pair // nil for birds that are not paired
	Species  *species.Profile
	Group    string           // the plan's name that it follows; "" for none, or for a plan of the whole room
	Plan     *aviary.FeedPlan // nil without one
	Standing feed.Standing
	Pairing  feed.Pair // as handed to the engine: signs, nests, day of the first sprouted seed; empty without a pair
	Birds    feed.Birds
	Guard    feed.Guard
	Items    []feed.Item // in steps that a scoop of the keeper's unit can show
	Need     feed.Need
	Notes    []feed.Note // most urgent first
	// Weighed is of how many adults an own weighing stands behind Birds.MassGrams; the rest count with the mass of the species.
	Weighed int
	// Expected is how many chicks may hatch from the eggs that lie there now.
	Expected int
}

// feedData are the tables of the feeding engine, read once.
var feedData = sync.OnceValue(func() (t struct {
	foods  []feed.Food
	guards []feed.Guard
	larder feed.Larder
},
) {
	t.foods, t.guards = feed.Foods(), feed.Guards()
	var err error
	if t.larder, err = feed.NewLarder(t.foods); err != nil {
		panic("advice: " + err.Error())
	}
	return t
})

// feedDay turns a civil day into the feeding engine's; both count from the same zero.
func feedDay(d aviary.Date) feed.Day { return feed.Day(d) }

// FeedDay turns the feeding engine's day into a civil day.
func FeedDay(d feed.Day) aviary.Date { return aviary.Date(d) }

const (
	// planLasts is how long a feed plan holds after its first day: a year, in days.
	planLasts = 366
	// planOpen is how long a plan without moult or rest is taken to run, when plans are told apart, in days.
	planOpen = 300
	// marksLast is how old the note of a phase may be that still says something: what is older belongs to a season before, in days.
	marksLast = 300
	// lateBegin is how many days after its planned day a phase may begin and still be that one, begun late.
	lateBegin = 60
	// broughtAlong is how many days of sprouted seed a bird brings along into a new pair: the three weeks after which nest
	// material may follow. More of them say nothing of how long this pair has had for its signs. Common practice, no source.
	broughtAlong = 21
	// fledgeShare is the mass of a young bird on leaving the nest as a share of an adult's, as in ration files.
	fledgeShare = 0.95
)

// planSpan is the days for which a plan was made, both ends included.
func planSpan(p *aviary.FeedPlan) (from, to aviary.Date) {
	for _, d := range []aviary.Date{p.Preparation, p.Conditioning, p.Moult, p.Rest} {
		if d != 0 && (from == 0 || d < from) {
			from = d
		}
		to = max(to, d)
	}
	if p.Moult == 0 && p.Rest == 0 {
		to = from + planOpen
	}
	return from, to
}

// outOfGroup reports whether a place keeps birds apart from the room's groups: what a plan or a phase says of the whole room, of
// a bank or of a species does not hold for quarantine and hospital cages.
func outOfGroup(p *aviary.Place) bool {
	return p.Type == aviary.Quarantine || p.Type == aviary.Hospital
}

// closeness says how closely a plan names a place: 4 by name, 3 by its bank, 2 by the species of its birds, 1 as part of the
// whole room, 0 not at all.
func closeness(plan *aviary.FeedPlanned, p *aviary.Place, slug string) int {
	switch {
	case slices.Contains(plan.Places, p.ID):
		return 4
	case outOfGroup(p):
		return 0
	case p.Bank != "" && slices.Contains(plan.Banks, p.Bank):
		return 3
	case slug != "" && slices.Contains(plan.Species, slug):
		return 2
	case len(plan.Places)+len(plan.Banks)+len(plan.Species) == 0:
		return 1
	}
	return 0
}

// WholeRoom reports whether a feed plan names no place, bank or species.
func WholeRoom(p *aviary.FeedPlanned) bool {
	return len(p.Places)+len(p.Banks)+len(p.Species) == 0
}

// keepApart keeps, of plans from the strongest to the weakest, each one whose days no stronger plan has taken, by first day.
func keepApart(plans []*aviary.FeedPlan) []*aviary.FeedPlan {
	var kept []*aviary.FeedPlan
	for _, p := range plans {
		from, to := planSpan(p)
		if !slices.ContainsFunc(kept, func(k *aviary.FeedPlan) bool {
			kf, kt := planSpan(k)
			return from <= kt && kf <= to
		}) {
			kept = append(kept, p)
		}
	}
	slices.SortFunc(kept, func(a, b *aviary.FeedPlan) int {
		fa, _ := planSpan(a)
		fb, _ := planSpan(b)
		return cmp.Compare(fa, fb)
	})
	return kept
}

// feedPlansAt returns the plans that hold for a place, one after the other.
func (d *Desk) feedPlansAt(p *aviary.Place, slug string) []*aviary.FeedPlan {
	type ranked struct {
		plan *aviary.FeedPlan
		near int
	}
	var list []ranked
	all := d.feedPlans()
	for i := range slices.Backward(all) { // of equals the later
		plan := &all[i]
		if near := closeness(&plan.FeedPlanned, p, slug); near > 0 {
			list = append(list, ranked{plan, near})
		}
	}
	slices.SortStableFunc(list, func(a, b ranked) int { return cmp.Compare(b.near, a.near) })
	plans := make([]*aviary.FeedPlan, len(list))
	for i, r := range list {
		plans[i] = r.plan
	}
	return keepApart(plans)
}

// planOn picks, of plans one after the other, the one that holds on a day: the last that has begun unless it is over, which it is
// after a year; else the next to come.
func planOn(plans []*aviary.FeedPlan, day aviary.Date) (plan, next *aviary.FeedPlan) {
	for _, p := range plans {
		from, _ := planSpan(p)
		if from <= day {
			plan = p
			continue
		}
		next = p
		break
	}
	if plan != nil {
		if from, _ := planSpan(plan); day >= from+planLasts {
			plan = nil
		}
	}
	if plan == nil {
		plan, next = next, nil
	}
	return plan, next
}

// FeedPlanFor returns the feed plan that holds for a place: the closest of those that name it, its bank, the species of its birds
// or the whole room, of equals the later in the books. A plan holds until the next one for the same birds begins, at most a year.
// Nil without one.
func (d *Desk) FeedPlanFor(p *aviary.Place) *aviary.FeedPlan {
	plan, _ := planOn(d.feedPlansAt(p, d.feedSlug(p)), d.Today)
	return plan
}

// feedSlug is the species by which a place's plan is picked: that of its pair, else of most of its birds.
func (d *Desk) feedSlug(p *aviary.Place) string {
	s := d.speciesOf(d.Room.PairNow(p.ID))
	if s == nil {
		s, _ = d.speciesAt(p.ID)
	}
	if s == nil {
		return ""
	}
	return s.Slug
}

func seasonOf(p *aviary.FeedPlan) feed.Season {
	if p == nil {
		return feed.Season{}
	}
	return feed.Season{Preparation: feedDay(p.Preparation), Conditioning: feedDay(p.Conditioning), Moult: feedDay(p.Moult), Rest: feedDay(p.Rest)}
}

// begun are the days on which phases really began, from the notes of one run of them: a phase that goes back or ends a run
// forgets those before it.
type begun struct{ preparation, conditioning, moult, rest aviary.Date }

func (b *begun) add(m aviary.PhaseMark) {
	switch m.Phase {
	case "preparation":
		*b = begun{preparation: m.Day}
	case "conditioning":
		if b.conditioning == 0 {
			b.conditioning = m.Day
		}
		b.moult, b.rest = 0, 0
	case "moult":
		*b = begun{moult: m.Day}
	case "rest":
		*b = begun{moult: b.moult, rest: m.Day}
	}
}

// lay puts the days on which phases really began in the place of planned ones.
func (b begun) lay(s *feed.Season) {
	for _, x := range []struct {
		into *feed.Day
		day  aviary.Date
	}{{&s.Preparation, b.preparation}, {&s.Conditioning, b.conditioning}, {&s.Moult, b.moult}, {&s.Rest, b.rest}} {
		if x.day != 0 {
			*x.into = feedDay(x.day)
		}
	}
}

// layLate puts days that are known by now in the place of planned ones that had come to nothing yet: when the plan has a phase from
// the 10th and it is noted for the 12th, the 11th is still of the phase before. later is what was noted after the day.
func (b begun) layLate(s *feed.Season, later []aviary.PhaseMark) {
	if len(later) == 0 {
		return
	}
	m := later[0]
	for phase, x := range map[string]struct {
		into *feed.Day
		was  aviary.Date
	}{"preparation": {&s.Preparation, b.preparation}, "conditioning": {&s.Conditioning, b.conditioning}, "moult": {&s.Moult, b.moult}, "rest": {&s.Rest, b.rest}} {
		if phase == m.Phase && x.was == 0 && *x.into != 0 && feedDay(m.Day)-*x.into < lateBegin {
			*x.into = max(*x.into, feedDay(m.Day))
		}
	}
}

// marksAt returns the notes of phases for a place from one day to another: its own and those of the whole room, in order.
func (d *Desk) marksAt(p *aviary.Place, from, to aviary.Date) []aviary.PhaseMark {
	var out []aviary.PhaseMark
	in := func(list []aviary.PhaseMark) {
		for _, m := range list {
			if m.Day >= from && m.Day <= to {
				out = append(out, m)
			}
		}
	}
	if !outOfGroup(p) {
		in(d.Room.Whole().Phases)
	}
	in(p.Phases)
	slices.SortStableFunc(out, d.markOrder)
	return out
}

// markOrder puts notes of phases in the order in which they happened: by day, then by time of day and by when they were written.
func (d *Desk) markOrder(a, b aviary.PhaseMark) int {
	if a.Day != b.Day {
		return cmp.Compare(a.Day, b.Day)
	}
	x, y := d.Room.Entry(a.Entry), d.Room.Entry(b.Entry)
	if x == nil || y == nil {
		return 0
	}
	return cmp.Or(cmp.Compare(x.Time, y.Time), x.Written.Compare(y.Written))
}

// marksFrom is the day from which notes of phases count: after the moult or rest with which the plan before this one ended.
func marksFrom(plans []*aviary.FeedPlan, plan *aviary.FeedPlan, day aviary.Date) aviary.Date {
	from := day - marksLast
	for _, p := range plans {
		if p == plan {
			break
		}
		for _, end := range []aviary.Date{p.Moult, p.Rest} {
			if end <= day {
				from = max(from, end)
			}
		}
	}
	return from
}

// ration is all that says what a place is fed for: what does not change from day to day.
type ration struct {
	place *aviary.Place
	pair  *aviary.Pair
	plans []*aviary.FeedPlan
	nests []*Nest // open
	feed  map[*Nest]feed.Nest
	p     feed.Pair
}

// seasonAt is the season of a place's group on a day, with the days on which phases really began in place of the planned ones,
// for a pair only that of preparation; with the plan behind it, the plan that follows, and the day from which notes count.
func (d *Desk) seasonAt(x *ration, day aviary.Date, paired bool) (season feed.Season, plan, next *aviary.FeedPlan, from aviary.Date) {
	plan, next = planOn(x.plans, day)
	season, from = seasonOf(plan), marksFrom(x.plans, plan, day)
	var was begun
	for _, m := range d.marksAt(x.place, from, min(day, d.Today)) {
		was.add(m)
	}
	if paired { // a pair's own days are told apart from those of its group
		was = begun{preparation: was.preparation}
	}
	was.lay(&season)
	if !paired {
		was.layLate(&season, d.marksAt(x.place, day+1, d.Today))
	}
	return season, plan, next, from
}

// pairAt is the pair of a place on a day for the feeding engine.
func (d *Desk) pairAt(x *ration, season feed.Season, from, day aviary.Date) feed.Pair {
	p := x.p
	free := betweenOn(x.place, x.pair, day).free // a sign of a clutch that is over says nothing of the next
	p.Signs = slices.DeleteFunc(slices.Clone(p.Signs), func(s feed.Sign) bool { return s.Day < feedDay(free) })
	own := d.begunAt(x, from, min(day, d.Today))
	p.Conditioning, p.Moult, p.Rest = feedDay(own.conditioning), feedDay(own.moult), feedDay(own.rest)
	if p.Conditioning == 0 {
		p.Conditioning = laidFirst(p.Nests, season, feedDay(max(from, x.pair.From)))
	}
	p.Material = d.materialFor(x, p)
	return p
}

// on returns what a place is fed for on a day: of its pair by signs and nests, else of its group by the plan and what really
// began. Days before today are judged by what is known today.
func (d *Desk) on(x *ration, day aviary.Date) feed.Standing {
	paired := x.pair != nil && day >= x.pair.From
	season, _, next, from := d.seasonAt(x, day, paired)
	var out feed.Standing
	if paired {
		out = d.pairAt(x, season, from, day).Phase(feedDay(day), season)
	} else {
		out = season.Group(feedDay(day))
	}
	if out.Phase == feed.Rest && out.NextDay == 0 && next != nil {
		if first, _ := planSpan(next); first > day {
			out.NextDay = feedDay(first)
		}
	}
	return out
}

// begunAt is what began at a pair: what was noted at its place or for the whole room since it was put together. Where nothing was,
// it brings along the sprouted seed that all its birds had before.
func (d *Desk) begunAt(x *ration, from, to aviary.Date) begun {
	var own begun
	for _, m := range d.marksAt(x.place, max(from, x.pair.From), to) {
		own.add(m)
	}
	if own != (begun{}) || to < x.pair.From {
		return own
	}
	var latest aviary.Date
	for _, id := range x.pair.Birds() {
		b := d.Room.Bird(id)
		if b == nil || !b.Here() {
			continue
		}
		had := d.begunFor(b, from, x.pair.From)
		if had == 0 {
			return begun{}
		}
		latest = max(latest, had)
	}
	if latest == 0 {
		return begun{}
	}
	return begun{conditioning: max(latest, x.pair.From-broughtAlong)}
}

// begunFor is the first day of sprouted seed of a bird, as noted for the places where it was, from one day until before another;
// 0 when it had none or has rested since.
func (d *Desk) begunFor(b *aviary.Bird, from, before aviary.Date) aviary.Date {
	var marks []aviary.PhaseMark
	for _, s := range b.Stays {
		p := d.Room.Place(s.Place)
		if p == nil || (s.To != 0 && s.To < from) || s.From >= before {
			continue
		}
		to := before - 1
		if s.To != 0 {
			to = min(to, s.To-1)
		}
		marks = append(marks, d.marksAt(p, max(from, s.From), to)...)
	}
	var had begun
	for _, m := range marks {
		had.add(m)
	}
	if had.moult != 0 || had.rest != 0 {
		return 0
	}
	return had.conditioning
}

// laidFirst stands in for a first day of sprouted seed that nobody noted: a pair that has laid while the plan has conditioning is
// past that ladder. 0 when it has not laid.
func laidFirst(nests []feed.Nest, season feed.Season, since feed.Day) feed.Day {
	var first feed.Day
	for _, n := range nests {
		if n.FirstEgg != 0 && season.Conditioning != 0 && n.FirstEgg >= max(since, season.Conditioning) && (first == 0 || n.FirstEgg < first) {
			first = n.FirstEgg
		}
	}
	return first
}

// materialFor is the first day of nest material since the last clutch was out of the nest.
func (d *Desk) materialFor(x *ration, p feed.Pair) feed.Day {
	b := betweenOn(x.place, x.pair, d.Today)
	since := max(p.Conditioning, feedDay(b.free))
	for _, day := range x.place.Material {
		if feedDay(day) >= since {
			return feedDay(max(day, b.since)) // given while the young were fed outside: it stands for the next clutch
		}
	}
	return 0
}

// rationAt gathers what says what a place is fed for; once for each place.
func (d *Desk) rationAt(p *aviary.Place) *ration {
	if x, ok := d.rations[p.ID]; ok {
		return x
	}
	x := &ration{place: p, pair: d.Room.PairNow(p.ID), plans: d.feedPlansAt(p, d.feedSlug(p)), nests: d.Nests(p), feed: map[*Nest]feed.Nest{}}
	for _, n := range x.nests {
		x.feed[n] = d.feedNest(n)
	}
	if x.pair != nil && x.pair.From > d.Today {
		x.pair = nil
	}
	if x.pair != nil {
		for _, s := range p.Signs {
			if kind, ok := signOf[s.What]; ok && s.Day >= x.pair.From {
				x.p.Signs = append(x.p.Signs, feed.Sign{Day: feedDay(s.Day), Kind: kind})
			}
		}
		for _, c := range p.Clutches {
			if !c.Open() && c.Ended >= x.pair.From {
				x.p.Nests = append(x.p.Nests, feed.Nest{FirstEgg: feedDay(c.First), Ended: feedDay(c.Ended)})
			}
		}
		for _, n := range x.nests {
			x.p.Nests = append(x.p.Nests, x.feed[n])
		}
	}
	d.rations[p.ID] = x
	return x
}

var signOf = map[string]feed.SignKind{
	"singing": feed.Singing, "beak dark": feed.BeakDarkening, "wing flutter": feed.Flutter, "at the nest": feed.AtNest, "building": feed.Building,
}

// feedNest is an open clutch for the feeding engine: days that looks show, else likely ones. Chicks hatch, and young leave the
// nest, on the likely day only while that is still to come: a hatch that nobody has seen is no reason to feed for chicks.
func (d *Desk) feedNest(n *Nest) feed.Nest {
	c := n.Clutch
	out := feed.Nest{FirstEgg: feedDay(c.First), Eggs: n.Eggs.Total(), Chicks: n.young()}
	likely := func(k nest.Kind) aviary.Date {
		if e := n.Course.Event(k); e.Known {
			return Day(e.Likely)
		}
		return 0
	}
	ahead := func(k nest.Kind, happened bool) aviary.Date {
		switch day := likely(k); {
		case happened && day != 0:
			return min(day, d.Today)
		case happened:
			return c.First
		case day != 0:
			return max(day, d.Today+1)
		}
		return 0
	}
	if day := likely(nest.FirstEgg); day != 0 {
		out.FirstEgg = feedDay(min(day, c.First))
	}
	if sit := likely(nest.SittingFrom); sit != 0 {
		out.Sitting = feedDay(max(sit, likely(nest.ClutchComplete)+1)) // she may sit from the third egg on, but lays until the last
	}
	hatch := ahead(nest.Hatch, c.HadChicks() || c.OutMost > 0)
	fledge := ahead(nest.Fledge, c.OutMost > 0)
	end := ahead(nest.Wean, false)
	if fledge != 0 {
		fledge = max(fledge, hatch)
	}
	if end != 0 {
		end = max(end, fledge+1)
	}
	out.Hatched, out.Fledged, out.Ended = feedDay(hatch), feedDay(fledge), feedDay(end)
	return out
}

// young is how many young of the clutch are fed by those who rear it: in the nest, and out but not parted.
func (n *Nest) young() int {
	switch {
	case n.Clutch.Emptied:
		return max(n.Out, n.Ringed)
	case n.Out == 0:
		return max(n.Chicks, n.Ringed)
	}
	// The last look that counted young outside says whether those inside were counted at the same time.
	for _, e := range slices.Backward(n.Clutch.Entries()) {
		if b, ok := e.Body.(*aviary.NestCheck); ok && b.Out != nil {
			if b.Chicks != nil {
				return max(n.Out+n.Chicks, n.Ringed)
			}
			break
		}
	}
	return max(n.Chicks, n.Out, n.Ringed)
}

// Feeding returns what the birds of a place are fed for today, and what they get; nil for a place without birds.
func (d *Desk) Feeding(p *aviary.Place) *Feeding {
	if f, ok := d.feedings[p.ID]; ok {
		return f
	}
	f := d.feedingAt(p)
	d.feedings[p.ID] = f
	return f
}

func (d *Desk) feedingAt(p *aviary.Place) *Feeding {
	x := d.rationAt(p)
	f := &Feeding{Place: p, Pair: x.pair}
	if !d.eaters(f, x) {
		return nil
	}
	season, plan, _, from := d.seasonAt(x, d.Today, x.pair != nil)
	if f.Plan = plan; plan != nil {
		f.Group = plan.Name
	}
	if x.pair != nil {
		f.Pairing = d.pairAt(x, season, from, d.Today)
	}
	f.Standing = d.on(x, d.Today)
	d.holdMaterial(f)
	t := feedData()
	if f.Species != nil {
		f.Guard = feed.FindGuard(t.guards, f.Species.Slug)
	}
	f.Items = scooped(f.Birds.Portions(f.Standing.Phase, f.Guard, t.larder), f.Guard, f.Birds.Chicks > 0, d.Room.Settings(d.Today).Volume)
	if f.Standing.MaterialDue && f.Standing.Phase != feed.Material {
		f.Items = append(f.Items, feed.Item{Kind: feed.NestMaterial, Free: true, Note: "Signs show: give it today.", Source: commonPractice})
	}
	f.Need = f.Birds.Need(f.Standing.Phase)
	d.feedNotes(f, x)
	return f
}

// scoop is the step, in ml, in which an amount is measured out: eighths of a level teaspoon up to one, halves up to five, then
// whole ones; for who measures in ml, half a ml, one, and five. Dry seed is topped up, by the teaspoon.
func scoop(ml float64, seed bool, unit string) float64 {
	small, middle, large := feed.Teaspoon/8, feed.Teaspoon/2, feed.Teaspoon
	if unit == "ml" {
		small, middle = 0.5, 1
	}
	switch {
	case seed || ml > 5*feed.Teaspoon:
		return large
	case ml > feed.Teaspoon:
		return middle
	}
	return small
}

// scooped rounds portions to what a scoop can show. Sprouted seed and egg food go into one bowl and are measured out together, so
// that their parts stay as they are. Nothing that is given becomes nothing, and the mix of a species with a ceiling is not rounded
// up while there are no chicks to feed.
func scooped(items []feed.Item, g feed.Guard, chicks bool, unit string) []feed.Item {
	sprouts, _ := feed.Sum(items, feed.SproutedSeed)
	egg, _ := feed.Sum(items, feed.SoftEggFood)
	for i := range items {
		it := &items[i]
		soft := it.Kind == feed.SproutedSeed || it.Kind == feed.SoftEggFood
		whole := it.ML
		if soft {
			whole = sprouts + egg
		}
		if it.ML <= 0 {
			continue
		}
		step := scoop(whole, it.Kind == feed.DrySeed, unit)
		steps := math.Round(whole / step)
		if soft && egg > 0 && g.Glutton && !chicks {
			steps = math.Floor(whole/step + 1e-9)
		}
		share := max(steps, 1) * step / whole
		it.ML, it.Grams = it.ML*share, it.Grams*share
	}
	return items
}

// commonPractice is the basis of what keepers do and nobody has published.
const commonPractice = "common practice, no source"

// General reports whether a note holds for a phase as such, not for one place: what is good to know and published.
func General(n feed.Note) bool {
	return n.Level == feed.Info && n.Source != "" && n.Source != commonPractice
}

// eaters fills in who eats at a place; false when nobody does.
func (d *Desk) eaters(f *Feeding, x *ration) bool {
	brood := map[aviary.ID]bool{} // ringed, and still fed by their parents
	for _, n := range x.nests {
		for _, id := range n.Clutch.Birds {
			brood[id] = true
		}
	}
	f.Species = d.speciesOf(x.pair)
	if f.Species == nil {
		f.Species, _ = d.speciesAt(x.place.ID)
	}
	var sum float64
	var known int
	weigh := func(count int, grams float64) {
		if grams > 0 {
			sum, known = sum+float64(count)*grams, known+count
		}
	}
	for _, b := range d.Room.In(x.place.ID) {
		if brood[b.ID] && b.WeanedOn == 0 {
			continue
		}
		f.Birds.Adults++
		if n := len(b.Weights); n > 0 {
			f.Weighed++
			weigh(1, b.Weights[n-1].Grams)
			continue
		}
		weigh(1, typical(d.Cat.BySlug(b.Species), species.AdultMass))
	}
	for _, g := range d.groupsIn(x.place.ID) {
		f.Birds.Adults += g.Count
		weigh(g.Count, typical(d.Cat.BySlug(g.Species), species.AdultMass))
	}
	if known > 0 {
		f.Birds.MassGrams = sum / float64(known)
	}
	f.Birds.EggGrams = typical(f.Species, species.FreshEggMass)
	f.Birds.EggDays = typical(f.Species, species.LayingInterval)
	f.Birds.Growth = growthOf(f.Species)
	for _, n := range x.nests {
		if !n.Clutch.HadChicks() {
			f.Expected += n.Eggs.Full + n.Eggs.NotCandled
		}
	}
	f.Birds.Chicks, f.Birds.ChickAge = x.broodOn(d.Today, d.Today)
	return f.Birds.Adults > 0 || f.Birds.Chicks > 0
}

// groupsIn returns the counted groups of young at a place, from a list made once.
func (d *Desk) groupsIn(place aviary.ID) []*aviary.Group {
	if d.groups == nil {
		d.groups = map[aviary.ID][]*aviary.Group{}
		for _, p := range d.Room.Places() {
			if g := d.Room.GroupsIn(p.ID); len(g) > 0 {
				d.groups[p.ID] = g
			}
		}
	}
	return d.groups[place]
}

// typical is the usual value of a species; 0 when it is not known.
func typical(p *species.Profile, param species.Parameter) float64 {
	if p == nil {
		return 0
	}
	v, ok := p.Value(param)
	if !ok {
		return 0
	}
	_, usual, _, ok := v.Span()
	if !ok {
		return 0
	}
	return usual
}

// growthOf is how chicks of a species grow.
func growthOf(p *species.Profile) feed.Chick {
	adult := typical(p, species.AdultMass)
	return feed.Chick{
		FledgeGrams: fledgeShare * adult, FledgeDays: typical(p, species.FledgingAge),
		IndependentDays: typical(p, species.IndependenceAge), AdultGrams: adult,
	}
}

// appetiteLasts is how many days a note on appetite says something of today.
const appetiteLasts = 2

// feedNotes puts together what is to be said of a place, what cannot wait first. A hen that looks ill is urgent whatever her
// phase, and no word on a normal appetite stands beside her.
func (d *Desk) feedNotes(f *Feeding, x *ration) {
	hen := d.henAt(f.Place)
	ill := hen.Look(f.Standing.Phase)
	f.Notes = append(f.Notes, ill...)
	if n := len(f.Place.Intake); n > 0 {
		if m := f.Place.Intake[n-1]; m.Day <= d.Today && m.Day >= d.Today-appetiteLasts {
			for _, note := range feed.Intake(d.on(x, m.Day).Phase, m.Share) {
				if note.Level > feed.Info || len(ill) == 0 {
					f.Notes = append(f.Notes, note)
				}
			}
		}
	}
	if f.Birds.MassGrams == 0 {
		f.Notes = append(f.Notes, feed.Note{Level: feed.Info, Text: "What these birds weigh is not known, so their portions cannot be worked out. Weigh one."})
	}
	f.Notes = append(f.Notes, f.Standing.Notes...)
	for _, n := range x.nests {
		if h := n.Course.Event(nest.Hatch); h.Known && !h.Happened && !n.Clutch.HadChicks() && n.Eggs.Total() > 0 &&
			Day(h.Early)-1 <= d.Today && !h.Overdue && n.Eggs.Full+n.Eggs.NotCandled > 0 {
			f.Notes = append(f.Notes, feed.Note{Level: feed.Info, Text: "Have egg food and sprouted seed ready for the chicks; the first look that finds one sets the portions.", Source: commonPractice})
		}
	}
	slices.SortStableFunc(f.Notes, func(a, b feed.Note) int { return cmp.Compare(b.Level, a.Level) })
}

// henAt is what open matters say of the hens at a place.
func (d *Desk) henAt(p *aviary.Place) feed.Hen {
	var h feed.Hen
	see := func(e *aviary.Entry) {
		switch b := e.Body.(*aviary.OddSeen); b.What {
		case "hen fluffed or low":
			h.Fluffed = true
		case "hen straining":
			h.Straining = true
		}
	}
	for _, e := range d.oddsAt(p.ID) {
		see(e)
	}
	for _, e := range d.oddsAt(aviary.ID{}) { // of a bird, without a place
		if b := d.Room.Bird(e.Body.(*aviary.OddSeen).Bird); b != nil && b.Place() == p.ID {
			see(e)
		}
	}
	return h
}

// FeedingOn returns what the birds of a place are fed for on a day. Days to come go by the plan, the nests there now and their
// likely days; signs and clutches to come are not foreseen.
func (d *Desk) FeedingOn(p *aviary.Place, day aviary.Date) feed.Standing {
	return d.on(d.rationAt(p), day)
}
