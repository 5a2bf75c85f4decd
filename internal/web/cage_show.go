package web

import (
	"fmt"
	"html/template"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/web/look"
)

func (s *server) cageRoutes(r *routes) {
	r.get("/cage/{id}", s.cageShow)
	r.post("/cage/{id}/check", s.nestCheckSend)
	r.post("/cage/{id}/answer", s.nestAnswerSend)
	r.post("/cage/{id}/material", s.nestMaterialSend)
	r.post("/cage/{id}/odd", s.oddSend)
	r.post("/cage/{id}/count", s.cageCountSend)
	r.post("/cage/{id}/note", s.cageNoteSend)
	r.get("/cage/{id}/correct/{entry}", s.cageCorrectShow)
	r.post("/cage/{id}/correct/{entry}", s.cageCorrectSend)
	r.keeperPost("/cage/{id}/ring", s.nestRingSend)
	r.keeperPost("/cage/{id}/wean", s.nestWeanSend)
	r.keeperPost("/cage/{id}/move", s.nestMoveSend)
	r.keeperPost("/cage/{id}/box", s.nestBoxSend)
	r.keeperPost("/cage/{id}/pull", s.nestPullSend)
	s.conditionRoutes(r)
}

// cagePage is everything about one cage, flight, aviary, quarantine or hospital cage.
type cagePage struct {
	layout
	ID, Name  string
	Species   string
	Mixed     bool
	Pair      *cagePair
	Birds     []birdLine
	MoreOf    int // birds beyond those listed
	Groups    []groupLine
	There     int // birds by the book
	Capacity  int
	Blocked   string // "Closed until 20 Jan: nothing goes in or out."
	Where     string // "Bay 1, row 2, column 3"
	Boxes     []boxView
	Cards     []cardView
	Coming    []comingLine
	Nests     []nestView
	Condition *conditionView // of a pair without eggs or young
	Looks     []cageLook     // a look can be taken at any time, job or no job
	Moves     []nestForms
	Material  cageForm
	Odds      *oddForm
	OddBack   *form
	Count     cageForm
	Note      cageForm
	Box       cageForm
	Journal   []journalDay
	Older     bool // the journal goes back further than it is shown
	Whole     string
	History   []historyLine
	Tenants   []tenantLine
	Here      string // where its forms come back to
}

// cagePair is the pair that stands here.
type cagePair struct {
	ID    string
	Birds []birdLine
	Since string
	Plan  string
}

// birdLine is a bird with a link to its page.
type birdLine struct {
	Href string
	Sign template.HTML
	Note string
}

// groupLine is a counted group of young.
type groupLine struct {
	ID   aviary.ID
	Text string
}

// comingLine is what is due later.
type comingLine struct {
	Title, When string
}

// nestView is a clutch that has not ended.
type nestView struct {
	Title    string
	Glyph    template.HTML
	Says     string
	Stage    string
	Sure     bool
	Reared   string // who feeds, when that is not who laid
	Timeline template.HTML
	Events   []eventLine
	Counts   []advice.CountLine
	Notes    []string
}

// eventLine is one event of a clutch in words.
type eventLine struct {
	Name, Days, Likely, Basis string
	Seen, Past, Over          bool
}

// cageLook is the form for a look, with the name of the clutch that it is about.
type cageLook struct {
	Title string
	View  *lookView
	F     *form
	Open  bool
}

// nestForms are the rarer forms about one clutch.
type nestForms struct {
	Title  string
	Clutch string
	Box    string
	Move   *moveNestView
	MoveF  *form
	Pull   []field // nil where there are no eggs
	PullF  *form
	Ring   *cardView
	Wean   *cardView

	PullPart string
	Young    bool // chicks were seen in it
}

// cageForm is a small form with its errors.
type cageForm struct {
	F      *form
	Fields []field
	Open   bool
}

// Wrong lists what is wrong with the form.
func (c cageForm) Wrong() []fieldError { return c.F.Errors }

// journalDay is the marks of one day.
type journalDay struct {
	Day   aviary.Date
	Lines []journalLine
}

// journalLine is one mark.
type journalLine struct {
	ID, When, Text, By, Label, Aside string
	Struck                           string // "struck out 13 Jan by Ann: miscounted"
	MayStrike, MayCorrect            bool
	Why                              string
}

// historyLine is a clutch that has ended.
type historyLine struct {
	Label, Days, Outcome, Pair string
}

// tenantLine is who was here from when to when.
type tenantLine struct {
	Birds    []birdLine
	More     int
	From, To string
	Empty    bool
}

const (
	birdsListed   = 24 // on a flight's page; the list of birds has them all
	journalListed = 60
)

func (s *server) cageShow(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	return v.cagePage(place, nil)
}

// cagePage shows a cage. sent is the form of one of its parts that came back with errors, or nil.
func (v *visit) cagePage(place aviary.ID, sent *form) error {
	p := &cagePage{ID: place.String()}
	p.Tab, p.Class = "wall", "page"
	p.Up, p.UpTo = "/wall", "The wall"
	self := "/cage/" + p.ID
	p.Here = self
	shown := sent == nil
	part := func(name string) (*form, bool) {
		if sent != nil && sent.Value("part") == name {
			shown = true
			return sent, true
		}
		return blank(), false
	}
	v.desk(func(d *advice.Desk) {
		home := d.Room.Place(place)
		c := d.Cage(home)
		p.Name, p.Title = home.Name, home.Name
		p.Headline = cageHeadline(d, c)
		p.residents(d, c, v.today)
		p.Where = whereHangs(home)
		if home.BlockedUntil > v.today {
			p.Blocked = "Closed until " + home.BlockedUntil.Short() + ": nothing goes in or out."
		}
		for i, b := range home.BoxesHung() {
			box := boxView{ID: b.ID.String(), Name: boxName(b, i), Named: b.Name, Hung: b.Hung, Cleaned: b.Cleaned}
			for _, n := range c.Nests {
				if n.Clutch.Box == b.ID {
					box.Holds = n.Says()
				}
			}
			p.Boxes = append(p.Boxes, box)
		}
		shown = v.cageJobs(p, d, home, sent, self) || shown
		for _, n := range c.Nests {
			p.Nests = append(p.Nests, v.nestView(d, n))
		}
		signs, _ := part("signs")
		p.Condition = conditionOf(d, home, signs)
		v.cageForms(p, d, home, c, part)
		p.Journal, p.Older = v.journal(d, place, v.r.URL.Query().Get("all") != "")
		p.Whole = self + "?all=yes#journal"
		for _, l := range d.ClutchesAt(home) {
			p.History = append(p.History, historyOf(d, l))
		}
		for _, t := range d.Tenants(home) {
			p.Tenants = append(p.Tenants, tenantOf(t))
		}
		p.OddBack, _ = part("odd")
		p.Odds = newOddForm(d, home, "odd")
	})
	if !shown {
		p.Form = lone(sent)
	}
	return v.render("cage_show", p)
}

// cageHeadline is the answer to "how does it stand at this cage?".
func cageHeadline(d *advice.Desk, c *advice.Cage) string {
	name := c.Place.Name + ": "
	if c.Main != nil {
		s := name + strings.ToLower(c.Main.Says()[:1]) + strings.TrimSuffix(c.Main.Says()[1:], ".")
		for _, k := range []nest.Kind{nest.Hatch, nest.Fledge, nest.Wean} {
			e := c.Main.Course.Event(k)
			if e.Happened || e.Seen {
				continue
			}
			if next := advice.Expects(e); next != "" {
				next, _, _ = strings.Cut(next, ", most likely")
				s += ", " + strings.ToLower(next[:1]) + next[1:]
			}
			break
		}
		return s + "."
	}
	n := birdsThere(d.Room, c.Place.ID)
	if c.Place.Type != aviary.Cage {
		s := name + count(n, "bird", "birds")
		if c.Place.Capacity != nil {
			s += fmt.Sprintf(" of %d", *c.Place.Capacity)
		}
		return s + "."
	}
	switch c.State {
	case advice.Unoccupied:
		return name + "nobody lives here."
	case advice.AtRest:
		return name + count(n, "bird", "birds") + ", resting."
	case advice.Builds:
		return name + "building, no egg yet."
	}
	return name + "the box is empty."
}

func whereHangs(p *aviary.Place) string {
	s := p.Bank
	if p.Row > 0 && p.Col > 0 {
		s += fmt.Sprintf(", row %d, column %d", p.Row, p.Col)
	}
	if p.Type != aviary.Cage {
		s = strings.TrimPrefix(s+", "+string(p.Type), ", ")
	}
	if p.Outdoor {
		s += ", out of doors"
	}
	return capital(strings.TrimPrefix(s, ", "))
}

func lineOfBird(b *aviary.Bird) birdLine {
	return birdLine{Href: "/bird/" + b.ID.String(), Sign: look.Bird(string(b.Sex), b.Label())}
}

// residents says who lives here.
func (p *cagePage) residents(d *advice.Desk, c *advice.Cage, today aviary.Date) {
	home := c.Place
	if c.Species != nil {
		p.Species, p.Mixed = c.Species.English, c.Mixed
	}
	p.There = birdsThere(d.Room, home.ID)
	if home.Capacity != nil {
		p.Capacity = *home.Capacity
	}
	paired := map[aviary.ID]bool{}
	if pair := c.Pair; pair != nil {
		p.Pair = &cagePair{ID: pair.ID.String(), Plan: pair.Plan, Since: fmt.Sprintf("since %s, %s", pair.From.Long(), count(int(today-pair.From), "day", "days"))}
		if pair.Found {
			p.Pair.Since = "together before the books began"
		}
		for _, id := range pair.Birds() {
			paired[id] = true
			if b := d.Room.Bird(id); b != nil {
				line := lineOfBird(b)
				if b.Place() != home.ID {
					line.Note = "not here any more"
				}
				p.Pair.Birds = append(p.Pair.Birds, line)
			}
		}
	}
	for _, b := range c.Birds {
		switch {
		case paired[b.ID]:
		case len(p.Birds) >= birdsListed:
			p.MoreOf++
		default:
			p.Birds = append(p.Birds, lineOfBird(b))
		}
	}
	for _, g := range c.Groups {
		name := "young"
		if s := d.Cat.BySlug(g.Species); s != nil {
			name = s.English + " young"
		}
		p.Groups = append(p.Groups, groupLine{g.ID, fmt.Sprintf("%d %s without rings, since %s", g.Count, name, g.Since.Short())})
	}
}

// cageJobs makes the cards of what is due and the lines of what comes. It reports whether the form that came back is among them.
func (v *visit) cageJobs(p *cagePage, d *advice.Desk, home *aviary.Place, sent *form, self string) (mineShown bool) {
	rings := offered{}
	for _, j := range d.Jobs(home) {
		if j.Attention >= advice.Coming {
			when := advice.Days(j.From, j.To)
			if ev := j.Event; j.Kind == advice.ChicksJob && ev.Known {
				when = strings.TrimPrefix(advice.Expects(ev), "Hatch ")
			}
			p.Coming = append(p.Coming, comingLine{j.Title, when})
			continue
		}
		f := blank()
		mine := sent != nil && sent.Value("card") == jobID(j)
		if mine {
			f, mineShown = sent, true
		}
		c := v.card(d, j, f, self, rings)
		c.Now = len(p.Cards) == 0
		c.Open = c.Now || mine
		p.Cards = append(p.Cards, c)
	}
	return mineShown
}

// nestView tells one clutch: what is in it, what is to come, what it rests on.
func (v *visit) nestView(d *advice.Desk, n *advice.Nest) nestView {
	box := nestBox(n)
	w := nestView{Title: capital(n.Label()), Glyph: look.Box(box, 84, box.Words()), Says: n.Says(), Stage: n.Stage(), Sure: n.Course.Stage.Certain, Counts: n.CountLines(), Notes: n.Course.Notes}
	if n.Box != nil && n.Box.Name != "" {
		w.Title += ", " + n.Box.Name
	}
	if n.Laying != nil && n.Rearing != nil && n.Laying.ID != n.Rearing.ID {
		w.Reared = "Laid by another pair; those who feed are here."
	}
	for _, in := range n.Clutch.FromNests {
		if from := d.Room.Place(in.Place); from != nil {
			w.Reared = fmt.Sprintf("%s from %s put in on %s.", fosteredWords(in), from.Name, in.Day.Short())
		}
	}
	w.Timeline = timelineOf(n, v.today)
	for k := nest.FirstEgg; k <= nest.Part; k++ {
		w.Events = append(w.Events, eventOfNest(n.Course.Event(k)))
	}
	return w
}

func fosteredWords(in aviary.Inlet) string {
	var parts []string
	if in.Eggs > 0 {
		parts = append(parts, count(in.Eggs, "egg", "eggs"))
	}
	if k := in.Chicks + len(in.Birds); k > 0 {
		parts = append(parts, count(k, "chick", "chicks"))
	}
	return strings.Join(parts, ", ")
}

func eventOfNest(e nest.Event) eventLine {
	l := eventLine{Name: capital(e.Kind.String()), Basis: e.Basis, Seen: e.Seen, Past: e.Happened, Over: e.Overdue}
	if !e.Known {
		l.Days = "not known"
		return l
	}
	from, to, _ := e.EightInTen()
	l.Days, l.Likely = advice.Days(advice.Day(from), advice.Day(to)), advice.Day(e.Likely).Short()
	if e.Kind == nest.Candle || e.Kind == nest.Ring {
		l.Days = advice.Days(advice.Day(e.From), advice.Day(e.To))
	}
	return l
}

// cageForms fills in the forms that are not a job of today.
func (v *visit) cageForms(p *cagePage, d *advice.Desk, home *aviary.Place, c *advice.Cage, part func(string) (*form, bool)) {
	add := func(n *advice.Nest, prefix, title string) {
		f, open := part(prefix)
		p.Looks = append(p.Looks, cageLook{Title: title, View: newLookView(d, home, n, f, prefix, false), F: f, Open: open})
	}
	for i, n := range c.Nests {
		title := "A look at the nest"
		if len(c.Nests) > 1 {
			title = "A look at the " + n.Label()
		}
		add(n, "look"+itoa(i), title)
	}
	if len(c.Nests) == 0 || len(home.BoxesHung()) > len(c.Nests) {
		if len(home.BoxesHung()) > 0 || len(c.Birds) > 0 {
			title := "A look into the box"
			if len(c.Nests) > 0 {
				title = "A look into another box"
			}
			add(nil, "looke", title)
		}
	}
	if v.keeper() {
		for i, n := range c.Nests {
			p.Moves = append(p.Moves, v.nestForms(d, home, n, itoa(i), part))
		}
		f, open := part("box")
		p.Box = cageForm{F: f, Open: open, Fields: []field{prefixed("box", f.Text("name", "Name of the new box").If("where there are several"))}}
	}
	f, open := part("material")
	p.Material = cageForm{F: f, Open: open, Fields: []field{prefixed("material", f.Select("what", "What", append([]option{{Label: "not said"}}, options(materials...)...)))}}
	if hung := home.BoxesHung(); len(hung) > 1 {
		p.Material.Fields = append(p.Material.Fields, prefixed("material", f.Select("box", "Which box", append([]option{{Label: "any"}}, boxOptions(hung)...))))
	}
	f, open = part("count")
	p.Count = cageForm{F: f, Open: open, Fields: []field{prefixed("count", f.Number("found", "Birds counted")), prefixed("count", f.Text("text", "Note"))}}
	f, open = part("note")
	x := prefixed("note", f.Area("text", "Note"))
	x.Rows = 2
	p.Note = cageForm{F: f, Open: open, Fields: []field{x}}
}

// nestForms are the rarer forms about one clutch: ring and wean before their time, move, pull.
func (v *visit) nestForms(d *advice.Desk, home *aviary.Place, n *advice.Nest, i string, part func(string) (*form, bool)) nestForms {
	w := nestForms{Title: n.Label(), Clutch: n.Clutch.Key.String(), Young: n.Clutch.HadChicks()}
	if n.Clutch.Box != (aviary.ID{}) {
		w.Box = n.Clutch.Box.String()
	}
	w.MoveF, _ = part("move" + i)
	if n.Eggs.Total() > 0 || n.Chicks > 0 {
		w.Move = newMoveNestView(d, home, n, w.MoveF, "move"+i)
	}
	w.PullPart = "pull" + i
	w.PullF, _ = part(w.PullPart)
	if n.Eggs.Total() > 0 {
		if _, sent := w.PullF.Values["eggs_removed"]; !sent {
			w.PullF.Values.Set("eggs_removed", itoa(n.Eggs.Total()))
		}
		w.Pull = []field{prefixed("pull"+i, w.PullF.Number("eggs_removed", "Eggs taken out")), prefixed("pull"+i, w.PullF.Text("removed_why", "Why").Hint("An egg that only looks late may still hatch; candle before you take it."))}
	}
	card := func(name, kind string) *cardView {
		f, open := part(name + i)
		c := cardView{ID: name + i, Cage: home.ID.String(), Plate: home.Name, Kind: kind, Back: "/cage/" + home.ID.String(), CanKeep: true, F: f, Open: open, Box: w.Box}
		if kind == "ring" {
			c.Ring = newRingView(d, n, f, name+i, offered{})
		} else {
			c.Wean = newWeanView(d, n, f, name+i)
		}
		return &c
	}
	due := map[advice.JobKind]bool{}
	for _, j := range d.Jobs(home) {
		if j.Nest == n && j.Attention < advice.Coming {
			due[j.Kind] = true
		}
	}
	if n.Chicks > n.Ringed && !due[advice.RingJob] {
		w.Ring = card("ring", "ring")
	}
	fledge := n.Course.Event(nest.Fledge)
	grown := n.Out > 0 || !fledge.Known || advice.Day(fledge.Early) <= v.today
	if all, _ := d.Young(n); all > 0 && grown && !due[advice.WeanJob] {
		w.Wean = card("wean", "wean")
	}
	return w
}

// journal lists what was written about a place by day, the newest first.
func (v *visit) journal(d *advice.Desk, place aviary.ID, whole bool) (days []journalDay, older bool) {
	for i, w := range d.Written(aviary.APlace, place) {
		if i >= journalListed && !whole {
			return days, true
		}
		e := w.Entry
		l := journalLine{ID: e.ID.String(), When: e.Time.String(), Text: capital(w.Text), By: e.By, Label: w.Label, Aside: w.Aside, Why: e.Why}
		if w.Struck {
			l.Struck = "struck out"
			if s := w.StruckBy; s != nil {
				l.Struck += " " + s.Day.Short() + " by " + s.By
				if b, ok := s.Body.(*aviary.Strike); ok && b.Reason != "" {
					l.Struck += ": " + b.Reason
				}
			}
		}
		mine := v.keeper() || e.By == v.who.By && aviary.MayWrite(v.who.Role, e.Kind)
		b, isLook := e.Body.(*aviary.NestCheck)
		l.MayStrike = mine && !w.Struck
		l.MayCorrect = l.MayStrike && isLook && !advice.OnlyAnswers(b)
		if n := len(days); n == 0 || days[n-1].Day != e.Day {
			days = append(days, journalDay{Day: e.Day})
		}
		days[len(days)-1].Lines = append(days[len(days)-1].Lines, l)
	}
	return days, false
}

func historyOf(d *advice.Desk, l advice.ClutchLine) historyLine {
	c := l.Nest.Clutch
	h := historyLine{Label: capital(l.Nest.Label()), Days: c.First.Long() + " to " + c.Ended.Long(), Outcome: l.Outcome()}
	if l.Nest.Laying != nil {
		var names []string
		for _, id := range l.Nest.Laying.Birds() {
			if b := d.Room.Bird(id); b != nil {
				names = append(names, b.Label())
			}
		}
		h.Pair = strings.Join(names, " and ")
	}
	return h
}

func tenantOf(t advice.Tenancy) tenantLine {
	l := tenantLine{From: t.From.Long(), Empty: t.Empty()}
	if t.To != 0 {
		l.To = t.To.Long()
	}
	for i, b := range t.Birds {
		if i == 6 {
			l.More = len(t.Birds) - i
			break
		}
		l.Birds = append(l.Birds, lineOfBird(b))
	}
	return l
}

// timelineOf draws a clutch's course from its first egg to weaning.
func timelineOf(n *advice.Nest, today aviary.Date) template.HTML {
	c := &n.Course
	first := c.Event(nest.FirstEgg)
	if !first.Known {
		return ""
	}
	when := func(k nest.Kind, word string) look.When {
		e := c.Event(k)
		if !e.Known {
			return look.When{}
		}
		from, to, _ := e.EightInTen()
		w := look.When{Known: true, Seen: e.Seen && from == to, Early: int(from), Likely: int(e.Likely), Late: int(to)}
		w.Label = word + " " + advice.Days(advice.Day(from), advice.Day(to))
		return w
	}
	v := look.TimelineView{From: int(first.Likely) - 2, Today: int(today), TodayLabel: "today " + today.Short()}
	v.To = int(today) + 2
	for _, k := range []nest.Kind{nest.Hatch, nest.Ring, nest.Fledge, nest.Wean} {
		if e := c.Event(k); e.Known {
			v.To = max(v.To, int(e.Late)+2)
		}
	}
	v.Clutch = look.Clutch{Hatch: when(nest.Hatch, "hatch"), Fledge: when(nest.Fledge, "out"), Wean: when(nest.Wean, "on their own")}
	if r := c.Event(nest.Ring); r.Known {
		v.Clutch.Ring = [2]int{int(r.From), int(r.To)}
		v.RingLabel = "ring " + advice.Days(advice.Day(r.From), advice.Day(r.To))
	}
	for _, k := range []nest.Kind{nest.Hatch, nest.Fledge, nest.Wean} {
		if e := c.Event(k); e.Overdue {
			v.Clutch.Over = fmt.Sprintf("%s %s over", e.Kind, count(int(today)-int(e.Likely), "day", "days"))
			break
		}
	}
	v.Clutch.Eggs, v.EggsLabel = laidOn(n)
	for day := v.From - v.From%7; day <= v.To; day += 7 {
		if day >= v.From {
			v.Ticks = append(v.Ticks, look.Tick{Day: day, Label: aviary.Date(day).Short()})
		}
	}
	for _, e := range n.Clutch.Entries() {
		if b, ok := e.Body.(*aviary.NestCheck); ok && !advice.OnlyAnswers(b) {
			v.Marks = append(v.Marks, look.TimelineMark{Day: int(e.Day), Kind: look.Done, Label: "looked " + e.Day.Short()})
		}
	}
	for _, next := range c.Next {
		v.Marks = append(v.Marks, look.TimelineMark{Day: int(next.Best), Kind: look.Soon, Label: next.Kind.String() + " " + advice.Day(next.Best).Short()})
	}
	v.Label = n.Says()
	for _, k := range []nest.Kind{nest.Hatch, nest.Fledge, nest.Wean} {
		if e := c.Event(k); e.Known {
			v.Label += " " + advice.Expects(e) + "."
		}
	}
	return look.Timeline(v)
}

// laidOn spreads the eggs over the laying days. That they were laid was seen; the day of each is worked out.
func laidOn(n *advice.Nest) ([]look.LaidEgg, string) {
	laid := n.Course.Counts.Laid
	first, done := n.Course.Event(nest.FirstEgg), n.Course.Event(nest.ClutchComplete)
	if !laid.Known || laid.N < 1 {
		return nil, ""
	}
	k := n.Course.Counts
	var states []look.EggState
	for range min(k.Fertile.N, laid.N) {
		states = append(states, look.Full)
	}
	for range k.Clear.N {
		states = append(states, look.Clear)
	}
	for range k.EarlyDead.N + k.DeadInShell.N {
		states = append(states, look.DeadInShell)
	}
	for range k.Cracked.N {
		states = append(states, look.Cracked)
	}
	for len(states) < laid.N {
		states = append(states, look.NotYet)
	}
	last := first.Likely + nest.Day(laid.N-1)
	if done.Known && done.Happened {
		last = max(done.Likely, first.Likely)
	}
	var out []look.LaidEgg
	for i := range min(laid.N, 12) {
		day := int(first.Likely)
		if laid.N > 1 {
			day += i * int(last-first.Likely) / (laid.N - 1)
		}
		out = append(out, look.LaidEgg{Day: day, State: states[i]})
	}
	about := "about "
	if first.Seen && first.Early == first.Late {
		about = ""
	}
	return out, fmt.Sprintf("%s, %s%s", count(laid.N, "egg", "eggs"), about, advice.Days(advice.Day(first.Likely), advice.Day(last)))
}
