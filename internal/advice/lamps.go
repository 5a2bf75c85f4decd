package advice

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/light"
	"broodlight/internal/nest"
)

// LampCircuit is a circuit of lamps: its plan, the programme that follows, how its timer was really set.
type LampCircuit struct {
	Name      string            // "" is the whole room
	Plan      *aviary.LampPlan  // the one whose season holds on the desk's day, else the next to come, else the last; nil without any
	Programme *light.Programme  // the plan's season and the rest after it, day by day; nil without a plan. Daylight is in it where the plan counts windows; Rows has it always
	Problem   string            // why a plan gives no programme, as a sentence; "" when it does
	Log       []light.Setting   // as really set, oldest first
	RoomLog   bool              // the log is that of the whole room, because none is written for this circuit
	Places    []*aviary.Place   // that it lights, walking order
	Birds     *light.Birds      // nests live and moult under it
	Plans     []aviary.LampPlan // all that were written for it, oldest first
	NoPlace   bool              // the plan counts daylight through windows, but where the room stands is not known

	desk    *Desk
	sky     *lampSky
	seasons []*lampSeason // in order of their dates, without overlap
	filled  bool
}

// lampSeason is one plan and the days on which it holds.
type lampSeason struct {
	plan     *aviary.LampPlan
	book     int         // its number in the books
	from, to aviary.Date // its season, as far as no later plan takes its days away
	head     aviary.Date // first day of its programme: a first plan shows some rest ahead of the ramp
	tail     aviary.Date // last day of the rest that goes on by it

	built     bool
	programme *light.Programme
	problem   string
	noPlace   bool
}

const (
	// leadDays are the days of rest shown ahead of a first plan's ramp, tailDays those after a last plan.
	leadDays = 31
	tailDays = 366
	// longestPlan is the most days of one programme.
	longestPlan = 1095
)

// Label is the circuit's name on a page.
func (c *LampCircuit) Label() string {
	if c.Name == "" {
		return "Whole room"
	}
	return c.Name
}

// lightDate turns a civil day into the light engine's; the zero day stays no day.
func lightDate(d aviary.Date) light.Date {
	if d == 0 {
		return light.Date{}
	}
	return light.DateOf(d.Time())
}

// aviaryDate turns the light engine's date into a civil day.
func aviaryDate(d light.Date) aviary.Date {
	if d.IsZero() {
		return 0
	}
	return aviary.DateOf(d.Year, d.Month, d.Day)
}

// LightDay is lightDate for pages.
func LightDay(d aviary.Date) light.Date { return lightDate(d) }

// CivilDay is aviaryDate for pages.
func CivilDay(d light.Date) aviary.Date { return aviaryDate(d) }

// lightClock turns a time of day into the light engine's; no time is midnight.
func lightClock(c aviary.Clock) light.Clock {
	m, _ := c.Minutes()
	return light.Clock(max(m, 0))
}

// WallClock turns the light engine's time of day into the words'.
func WallClock(c light.Clock) aviary.Clock {
	m := (int(c)%1440 + 1440) % 1440
	return aviary.ClockOf(0, m)
}

// LightPlan is a written plan as the light engine reads it.
func LightPlan(b *aviary.LampPlanned) light.Plan {
	p := light.Plan{
		Name: b.Circuit, Rest: light.Hours(b.Rest), Full: light.Hours(b.Full),
		RampFrom: lightDate(b.RampFrom), FullBy: lightDate(b.FullBy), TaperFrom: lightDate(b.TaperFrom), RestBy: lightDate(b.RestBy),
		On: lightClock(b.On), Step: time.Duration(b.Step) * time.Minute, Every: b.Every, Moves: light.Moves(b.Moves), Clock: light.ClockMode(b.Clocks),
	}
	if b.Dusk != nil {
		p.Dusk = time.Duration(*b.Dusk) * time.Minute
	}
	return p
}

// lightRoom is where the lamps hang. Its place is given only where daylight comes in, because the sun takes longer to
// work out than the lamps. It is without windows, and says so, when daylight is to be counted but latitude and
// longitude are not known.
func (d *Desk) lightRoom(windows string) (r light.Room, noPlace bool) {
	r = light.Room{Zone: d.zone(), Windows: light.Windows(windows)}
	if windows == "" || r.Windows == light.NoWindows {
		return r, false
	}
	if r.Place = d.lightPlace(); r.Place == nil {
		r.Windows = light.NoWindows
	}
	return r, r.Place == nil
}

// lightPlace is where the room stands; nil when that is not known.
func (d *Desk) lightPlace() *light.Place {
	s := d.settings()
	if s.Latitude == nil || s.Longitude == nil {
		return nil
	}
	return &light.Place{Lat: *s.Latitude, Lon: *s.Longitude}
}

// Circuits returns every circuit with a plan or a log, the whole room first, then by name.
func (d *Desk) Circuits() []*LampCircuit {
	cs := d.lampCircuits()
	for _, c := range cs {
		c.fill()
	}
	return cs
}

// PlainCircuits are the circuits with their plans, places and logs, without programmes and birds, which take longer.
func (d *Desk) PlainCircuits() []*LampCircuit { return d.lampCircuits() }

// CircuitOf returns the circuit that lights a place; nil outdoors and where none is known to.
func (d *Desk) CircuitOf(p *aviary.Place) *LampCircuit {
	c := d.circuitOf(p)
	if c != nil {
		c.fill()
	}
	return c
}

func (d *Desk) circuitOf(p *aviary.Place) *LampCircuit {
	for _, c := range d.lampCircuits() {
		if slices.ContainsFunc(c.Places, func(q *aviary.Place) bool { return q.ID == p.ID }) {
			return c
		}
	}
	return nil
}

// CircuitWith returns a circuit as it would stand if the plan were written today. Nothing is written.
func (d *Desk) CircuitWith(b *aviary.LampPlanned) *LampCircuit {
	for _, c := range d.lampsWith(&aviary.LampPlan{Day: d.Today, LampPlanned: *b}) {
		if c.Name == b.Circuit {
			c.fill()
			return c
		}
	}
	panic("advice: a planned circuit is among the circuits")
}

// lampCircuits are the circuits with their places and logs, without programmes.
func (d *Desk) lampCircuits() []*LampCircuit {
	if d.lamps == nil {
		d.lamps = d.lampsWith(nil)
	}
	return d.lamps
}

// lampsWith gathers the circuits from the books, and from one plan more.
func (d *Desk) lampsWith(extra *aviary.LampPlan) []*LampCircuit {
	out := []*LampCircuit{}
	byName, sky := map[string]*LampCircuit{}, &lampSky{}
	circuit := func(name string) *LampCircuit {
		if byName[name] == nil {
			byName[name] = &LampCircuit{Name: name, desk: d, sky: sky}
			out = append(out, byName[name])
		}
		return byName[name]
	}
	w := d.Room.Whole()
	for _, l := range w.Lamps {
		if l.Day <= d.Today {
			c := circuit(l.Circuit)
			c.Log = append(c.Log, light.Setting{Date: lightDate(l.Day), On: lightClock(l.On), Off: lightClock(l.Off)})
		}
	}
	book := map[*LampCircuit][]int{}
	plans := d.lampPlans()
	for i, p := range plans {
		if p.Day <= d.Today {
			c := circuit(p.Circuit)
			c.Plans = append(c.Plans, p)
			book[c] = append(book[c], i)
		}
	}
	if extra != nil {
		c := circuit(extra.Circuit)
		c.Plans = append(c.Plans, *extra)
		book[c] = append(book[c], len(plans))
	}
	slices.SortFunc(out, func(a, b *LampCircuit) int { return cmp.Compare(a.Name, b.Name) })
	for _, c := range out {
		slices.SortStableFunc(c.Log, func(a, b light.Setting) int { return a.Date.Sub(b.Date) })
		if room := byName[""]; len(c.Log) == 0 && room != nil {
			c.Log, c.RoomLog = room.Log, len(room.Log) > 0
		}
		c.seasons = seasonsOf(c.Plans, book[c], d.Today)
		if extra != nil && c.Name == extra.Circuit {
			c.Plan = &c.Plans[len(c.Plans)-1]
		} else if s := c.current(); s != nil {
			c.Plan = s.plan
		}
	}
	d.lightUp(out)
	return out
}

// seasonsOf lays the plans of one circuit along the year. The later in the books takes the days of the earlier:
// all of them when it is the same season planned anew, those from its own start on when it goes on from the lamps as
// they were or begins a season while the earlier one is already coming down.
func seasonsOf(plans []aviary.LampPlan, book []int, today aviary.Date) []*lampSeason {
	var out []*lampSeason
	for i := range plans {
		n := &lampSeason{plan: &plans[i], book: book[i], from: plans[i].RampFrom, to: plans[i].RestBy}
		if n.plan.FromReal {
			n.from = n.plan.Day
			n.to = max(n.to, n.from)
		}
		var kept []*lampSeason
		for _, o := range out {
			switch {
			case o.to < n.from || o.from > n.to:
			case o.from < n.from && (n.plan.FromReal || n.from > o.plan.TaperFrom):
				o.to = n.from - 1
			case o.from > n.plan.TaperFrom && o.to > n.to:
				o.from = n.to + 1
			default:
				continue
			}
			kept = append(kept, o)
		}
		out = append(kept, n)
	}
	slices.SortFunc(out, func(a, b *lampSeason) int { return cmp.Compare(a.from, b.from) })
	for i, s := range out {
		s.tail = s.to + tailDays
		if i+1 < len(out) {
			s.tail = min(s.tail, out[i+1].from-1)
		}
		if s.head = s.from; i == 0 && !s.plan.FromReal {
			s.head -= leadDays
			if today < s.from {
				s.head = max(s.from-tailDays, min(s.head, today-1))
			}
		}
	}
	return out
}

// current is the season that holds today, else the next to come, else the last.
func (c *LampCircuit) current() *lampSeason {
	today := c.desk.Today
	for _, s := range c.seasons {
		if s.from <= today && today <= s.to {
			return s
		}
		// Lamps that come down from where they really were may reach rest later than planned.
		if s.plan.FromReal && s.to < today && today <= s.tail {
			if row, ok := c.row(s, today); ok && row.Phase != light.Resting {
				return s
			}
		}
		if s.from > today {
			return s
		}
	}
	if n := len(c.seasons); n > 0 {
		return c.seasons[n-1]
	}
	return nil
}

func (c *LampCircuit) row(s *lampSeason, day aviary.Date) (light.Row, bool) {
	p, _ := c.build(s, nil)
	if p == nil {
		return light.Row{}, false
	}
	return p.At(lightDate(day))
}

// seasonOn is the season whose programme says what the lamps do on a day, the rest after it included.
func (c *LampCircuit) seasonOn(day aviary.Date) *lampSeason {
	for _, s := range c.seasons {
		if s.head <= day && day <= s.tail {
			c.programme(s)
			return s
		}
	}
	return nil
}

// programme works out a season once.
func (c *LampCircuit) programme(s *lampSeason) *light.Programme {
	if !s.built {
		s.built = true
		var err error
		_, s.noPlace = c.desk.lightRoom(s.plan.Windows)
		if s.programme, err = c.build(s, c.birds()); err != nil {
			s.programme, s.problem = nil, err.Error()
		}
	}
	return s.programme
}

func (c *LampCircuit) build(s *lampSeason, birds *light.Birds) (*light.Programme, error) {
	room, _ := c.desk.lightRoom(s.plan.Windows)
	return c.buildIn(room, s, birds)
}

// Rows are the days of the plan's season, with the daylight outside where the room's place is known.
func (c *LampCircuit) Rows() []light.Row {
	if c.Programme == nil {
		return nil
	}
	p := c.Programme
	for _, s := range c.seasons {
		if s.plan == c.Plan {
			room, _ := c.desk.lightRoom(s.plan.Windows)
			room.Place = c.desk.lightPlace()
			if with, err := c.buildIn(room, s, c.Birds); err == nil {
				p = with
			}
		}
	}
	from, to := c.Season()
	var out []light.Row
	for _, r := range p.Rows {
		if day := aviaryDate(r.Date); day >= from && day <= to {
			out = append(out, r)
		}
	}
	return out
}

func (c *LampCircuit) buildIn(room light.Room, s *lampSeason, birds *light.Birds) (*light.Programme, error) {
	circuit := light.Circuit{Plan: LightPlan(&s.plan.LampPlanned), Birds: birds}
	start := min(s.head, s.plan.RampFrom)
	if s.plan.FromReal {
		start = s.plan.Day
	}
	room.To = lightDate(max(s.plan.RestBy, min(s.tail, start+longestPlan)))
	if s.plan.FromReal {
		day := lightDate(s.plan.Day)
		re, err := circuit.Replan(room, upTo(c.Log, day), day)
		return re.Programme, err
	}
	room.From = lightDate(start)
	return light.Build(circuit, room)
}

// upTo leaves out the settings after a date.
func upTo(log []light.Setting, day light.Date) []light.Setting {
	n := 0
	for n < len(log) && !log[n].Date.After(day) {
		n++
	}
	return log[:n]
}

// fill works out the programme of the plan.
func (c *LampCircuit) fill() {
	if c.filled {
		return
	}
	c.filled = true
	c.birds()
	for _, s := range c.seasons {
		if s.plan == c.Plan {
			c.Programme = c.programme(s)
			c.Problem, c.NoPlace = s.problem, s.noPlace
		}
	}
}

// Season is the run of days from the first longer day of the plan, or from its writing when it goes on from the lamps
// as they were, to the day of rest.
func (c *LampCircuit) Season() (from, to aviary.Date) {
	if c.Plan == nil {
		return 0, 0
	}
	from, to = c.Plan.RampFrom, c.Plan.RestBy
	if c.Plan.FromReal {
		from = c.Plan.Day
	}
	if c.Programme != nil && !c.Programme.RestOn.IsZero() {
		to = max(to, aviaryDate(c.Programme.RestOn))
	}
	return from, to
}

// lightUp gives each circuit the places that it lights: first those that a plan names, then those of the banks that it
// names, then what is left to a circuit that names nothing.
func (d *Desk) lightUp(cs []*LampCircuit) {
	var places []*aviary.Place
	for _, p := range d.Room.Places() {
		if !p.Outdoor {
			places = append(places, p)
		}
	}
	lit := map[aviary.ID]*LampCircuit{}
	latest := slices.Clone(cs)
	slices.SortStableFunc(latest, func(a, b *LampCircuit) int { return cmp.Compare(b.bookNo(), a.bookNo()) })
	claim := func(has func(c *LampCircuit, p *aviary.Place) bool) {
		for _, p := range places {
			for _, c := range latest {
				if lit[p.ID] == nil && has(c, p) {
					lit[p.ID] = c
				}
			}
		}
	}
	claim(func(c *LampCircuit, p *aviary.Place) bool {
		return c.Plan != nil && slices.Contains(c.Plan.Places, p.ID)
	})
	claim(func(c *LampCircuit, p *aviary.Place) bool {
		return c.Plan != nil && slices.ContainsFunc(c.Plan.Banks, func(b string) bool { return sameName(b, p.Bank) })
	})
	var open []*LampCircuit
	for _, c := range cs {
		if c.Plan == nil || len(c.Plan.Banks)+len(c.Plan.Places) == 0 {
			open = append(open, c)
		}
	}
	// A circuit that bears a bank's name lights that bank.
	claim(func(c *LampCircuit, p *aviary.Place) bool {
		return slices.Contains(open, c) && c.Name != "" && sameName(c.Name, p.Bank) && (c.Plan == nil || len(open) > 1)
	})
	// Of several circuits that name nothing nobody knows which lights what, unless one of them is the whole room's.
	if len(open) > 0 && (open[0].Name == "" || len(open) == 1) {
		if c := open[0]; c.Name == "" || c.Plan != nil || !d.isBank(c.Name) {
			claim(func(x *LampCircuit, _ *aviary.Place) bool { return x == c })
		}
	}
	for _, p := range places {
		if c := lit[p.ID]; c != nil {
			c.Places = append(c.Places, p)
		}
	}
}

func (d *Desk) isBank(name string) bool {
	return slices.ContainsFunc(d.Room.Places(), func(p *aviary.Place) bool { return sameName(p.Bank, name) })
}

// bookNo is the number in the books of the plan that holds; -1 without one.
func (c *LampCircuit) bookNo() int {
	for _, s := range c.seasons {
		if s.plan == c.Plan {
			return s.book
		}
	}
	return -1
}

func sameName(a, b string) bool {
	return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b))
}

// birds gathers the nests and the moult under the lamps.
func (c *LampCircuit) birds() *light.Birds {
	if c.Birds == nil {
		c.Birds = &light.Birds{}
		var laying []layingAt
		for _, p := range c.Places {
			for _, n := range c.desk.Nests(p) {
				if x, ok := lampNest(n); ok {
					c.Birds.Nests = append(c.Birds.Nests, x)
					laying = append(laying, layingAt{p, x.Laying})
				}
			}
		}
		c.Birds.Moults = c.moults(laying)
	}
	return c.Birds
}

// layingAt is when eggs are laid at a place.
type layingAt struct {
	place *aviary.Place
	span  light.Span
}

// lampNest is a live nest as dates: from the likely day of the first egg, to the last day on which the young may still
// be fed. An end that nobody can tell is left open.
func lampNest(n *Nest) (light.Nest, bool) {
	first, complete := n.Course.Event(nest.FirstEgg), n.Course.Event(nest.ClutchComplete)
	hatch, fledge, wean := n.Course.Event(nest.Hatch), n.Course.Event(nest.Fledge), n.Course.Event(nest.Wean)
	from := n.Clutch.First
	if first.Known {
		from = min(from, Day(first.Likely))
	}
	end := func(e nest.Event) light.Date {
		// Past its time and nobody has seen it: when it will end cannot be told.
		if !e.Known || !e.Happened && e.Late < n.Course.Asked {
			return light.Date{}
		}
		return lightDate(Day(e.Late))
	}
	x := light.Nest{Label: n.Place.Name, Live: light.Span{From: lightDate(from), To: end(fledge)}}
	switch n.Course.Stage.Kind {
	case nest.Weaned, nest.Failed:
		return light.Nest{}, false
	case nest.Laying:
		x.Laying = light.Span{From: x.Live.From, To: end(complete)}
	default:
		if complete.Known {
			x.Laying = light.Span{From: x.Live.From, To: lightDate(Day(complete.Late))}
		}
	}
	if hatch.Known {
		x.Young = light.Span{From: lightDate(Day(hatch.Early)), To: end(wean)}
	}
	return x, true
}

// moults are the times of moult, as planned in the feeding plans and as really begun, of places where birds lay
// meanwhile. Moult beside the laying of other birds under the same lamps is no clash and is left out.
func (c *LampCircuit) moults(laying []layingAt) []light.Moult {
	d := c.desk
	var out []light.Moult
	add := func(label string, from, to aviary.Date, of func(p *aviary.Place) bool) {
		for _, l := range laying {
			if start, end := aviaryDate(l.span.From), aviaryDate(l.span.To); start == 0 || !of(l.place) || to != 0 && start > to || end != 0 && end < from {
				continue
			}
			out = append(out, light.Moult{Label: label, Span: light.Span{From: lightDate(from), To: lightDate(to)}})
			return
		}
	}
	plans := d.feedPlans()
	for i := range plans {
		p := &plans[i]
		if p.Moult == 0 || p.Day > d.Today || plannedAnew(plans[i+1:], p, d.Today) {
			continue
		}
		label, end := p.Name, p.Rest-1
		if label == "" {
			label = "the room"
		}
		if p.Rest <= p.Moult {
			end = 0
		}
		add(label, p.Moult, end, func(q *aviary.Place) bool { return d.plannedFor(p, q) })
	}
	begun := func(label string, marks []aviary.PhaseMark, of func(p *aviary.Place) bool) {
		for i, m := range marks {
			if m.Phase != "moult" || m.Day > d.Today {
				continue
			}
			var end aviary.Date
			if i+1 < len(marks) {
				end = max(m.Day, marks[i+1].Day-1)
			}
			add(label, m.Day, end, of)
		}
	}
	begun("the room", d.Room.Whole().Phases, func(p *aviary.Place) bool { return len(p.Phases) == 0 })
	for _, p := range c.Places {
		begun(p.Name, p.Phases, func(q *aviary.Place) bool { return q == p })
	}
	return out
}

// halfYear parts the moult of one year from that of the next, in days.
const halfYear = 183

// plannedAnew reports whether a later feeding plan of the same group moves the same year's moult.
func plannedAnew(later []aviary.FeedPlan, p *aviary.FeedPlan, today aviary.Date) bool {
	return slices.ContainsFunc(later, func(q aviary.FeedPlan) bool {
		return q.Day <= today && sameName(q.Name, p.Name) && q.Moult != 0 && q.Moult-p.Moult < halfYear && p.Moult-q.Moult < halfYear
	})
}

// plannedFor reports whether a feeding plan names a place, its bank, the species in it, or nothing at all.
func (d *Desk) plannedFor(f *aviary.FeedPlan, p *aviary.Place) bool {
	if len(f.Places)+len(f.Banks)+len(f.Species) == 0 {
		return true
	}
	if slices.Contains(f.Places, p.ID) || slices.ContainsFunc(f.Banks, func(b string) bool { return sameName(b, p.Bank) }) {
		return true
	}
	s, _ := d.speciesAt(p.ID)
	return s != nil && slices.Contains(f.Species, s.Slug)
}
