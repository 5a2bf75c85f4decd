package advice

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
	"broodlight/internal/nest"
	"broodlight/internal/species"
)

// BirdQuery says which birds a list shows, and in what order.
type BirdQuery struct {
	Text    string     // in ring, name, looks, place or species; several words must all be found
	Species string     // slug; "" for all
	Sex     aviary.Sex // "" for all; "unknown" for those that are not sexed
	State   string     // "here" (the default), "gone" or "all"
	Place   aviary.ID  // zero for all
	Sort    string     // one of BirdSorts; "ring" when empty
	Desc    bool
	Offset  int
	Limit   int // 0 for no limit
}

// UnknownSex asks for the birds that are not sexed.
const UnknownSex aviary.Sex = "unknown"

// BirdSorts are the columns that a list of birds can be sorted by.
var BirdSorts = []string{"ring", "name", "species", "sex", "age", "place", "young"}

// BirdRow is one bird in a list.
type BirdRow struct {
	Bird    *aviary.Bird
	Ring    string
	Species *species.Profile // nil when the species is not in the catalogue
	Place   *aviary.Place    // nil when it is in none
	Age     string
	State   string // "", "died 3 Mar 2026", "sold 3 Mar 2026"
	Young   int
}

// BirdList is a part of the birds that a query finds.
type BirdList struct {
	Rows  []BirdRow
	Found int // birds found in all
	Here  int // birds in the room, whatever the query
	Known int // birds in the books
}

// BirdList finds birds.
func (d *Desk) BirdList(q BirdQuery) BirdList {
	words := strings.Fields(strings.ToLower(q.Text))
	var found []*aviary.Bird
	out := BirdList{}
	for _, b := range d.Room.Birds() {
		out.Known++
		here := b.Here()
		if here {
			out.Here++
		}
		switch {
		case q.State == "gone" && here, (q.State == "" || q.State == "here") && !here:
			continue
		case q.Species != "" && b.Species != q.Species:
			continue
		case q.Sex == UnknownSex && b.Sex != "", q.Sex != "" && q.Sex != UnknownSex && b.Sex != q.Sex:
			continue
		case q.Place != (aviary.ID{}) && b.Place() != q.Place:
			continue
		case len(words) > 0 && !d.matches(b, words):
			continue
		}
		found = append(found, b)
	}
	d.sortBirds(found, q)
	out.Found = len(found)
	from := min(max(q.Offset, 0), len(found))
	to := len(found)
	if q.Limit > 0 {
		to = min(from+q.Limit, to)
	}
	for _, b := range found[from:to] {
		out.Rows = append(out.Rows, d.birdRow(b))
	}
	return out
}

func (d *Desk) birdRow(b *aviary.Bird) BirdRow {
	row := BirdRow{Bird: b, Species: d.Cat.BySlug(b.Species), Place: d.Room.Place(b.Place()), Age: d.Age(b), Young: len(d.Room.Young(b.ID))}
	if r := b.Ring(); r.Read() {
		row.Ring = r.String()
	}
	switch {
	case b.Died != 0:
		row.State = "died " + b.Died.Long()
	case b.Left != 0:
		row.State = b.LeftHow + " " + b.Left.Long()
	}
	return row
}

func (d *Desk) matches(b *aviary.Bird, words []string) bool {
	var all strings.Builder
	for _, r := range b.Rings {
		all.WriteString(strings.ToLower(r.Ring.String()))
		all.WriteByte(' ')
	}
	all.WriteString(strings.ToLower(b.Name))
	for _, l := range b.Looks {
		all.WriteByte(' ')
		all.WriteString(strings.ToLower(l.Look))
	}
	if p := d.Room.Place(b.Place()); p != nil {
		all.WriteByte(' ')
		all.WriteString(strings.ToLower(p.Name))
	}
	if s := d.Cat.BySlug(b.Species); s != nil {
		all.WriteByte(' ')
		all.WriteString(strings.ToLower(s.English))
	}
	text := all.String()
	for _, w := range words {
		if !strings.Contains(text, w) {
			return false
		}
	}
	return true
}

func (d *Desk) sortBirds(list []*aviary.Bird, q BirdQuery) {
	key := map[aviary.ID]string{}
	text := func(of func(*aviary.Bird) string) func(a, b *aviary.Bird) int {
		for _, b := range list {
			key[b.ID] = of(b)
		}
		return func(a, b *aviary.Bird) int {
			x, y := key[a.ID], key[b.ID]
			if (x == "") != (y == "") {
				return cmp.Compare(len(y), len(x)) // what is not known comes last
			}
			return cmp.Compare(x, y)
		}
	}
	var by func(a, b *aviary.Bird) int
	switch q.Sort {
	case "name":
		by = text(func(b *aviary.Bird) string { return strings.ToLower(b.Name) })
	case "species":
		by = text(func(b *aviary.Bird) string { return d.english(b.Species) })
	case "sex":
		by = text(func(b *aviary.Bird) string { return string(b.Sex) })
	case "age":
		by = func(a, b *aviary.Bird) int { return cmp.Compare(b.Hatched, a.Hatched) } // the youngest first, not known last
	case "place":
		order := map[aviary.ID]int{}
		for i, p := range d.Room.Places() {
			order[p.ID] = i + 1
		}
		by = func(a, b *aviary.Bird) int {
			x, y := order[a.Place()], order[b.Place()]
			if (x == 0) != (y == 0) {
				return cmp.Compare(y, x)
			}
			return cmp.Compare(x, y)
		}
	case "young":
		by = func(a, b *aviary.Bird) int { return cmp.Compare(len(d.Room.Young(b.ID)), len(d.Room.Young(a.ID))) }
	default:
		by = text(func(b *aviary.Bird) string {
			r := b.Ring()
			if !r.Read() {
				return ""
			}
			return fmt.Sprintf("%04d %s %8s", r.Year, r.Issuer, r.Number)
		})
	}
	slices.SortStableFunc(list, func(a, b *aviary.Bird) int {
		c := by(a, b)
		if q.Desc {
			c = -c
		}
		return c
	})
}

// Age writes a bird's age in words: "9 days", "7 weeks", "5 months", "1 year 10 months"; "" when not known.
func (d *Desk) Age(b *aviary.Bird) string {
	day := d.Today
	switch {
	case b.Died != 0:
		day = b.Died
	case b.Left != 0:
		day = b.Left
	}
	age, known := b.AgeOn(day)
	if !known {
		return ""
	}
	switch m := months(age); {
	case age < 21:
		return count(age, "day", "days")
	case age < 92:
		return count(age/7, "week", "weeks")
	case m < 12:
		return count(m, "month", "months")
	case m%12 == 0:
		return count(m/12, "year", "years")
	default:
		return count(m/12, "year", "years") + " " + count(m%12, "month", "months")
	}
}

// BirdStory is all that the books say of a bird.
type BirdStory struct {
	BirdRow
	Headline  string // "Ash, grey cock, 1 year 10 months"
	Where     string // "In cage B3 with FC 24-076 since 14 Nov 2025."
	Pair      *aviary.Pair
	Line      aviary.Line
	Ancestors *Ancestor
	Twice     []string // ancestors that stand more than once in the chart
	Clutches  []ClutchLine
	Offspring []*aviary.Bird
	Looks     []aviary.SeenLook
	Weight    WeightStory
	Stays     []StayLine
	Entries   []Written // newest first, struck ones too
}

// StayLine is a stay in a place, in words.
type StayLine struct {
	Place    *aviary.Place
	From, To aviary.Date
}

// Written is an entry as a line in a list.
type Written struct {
	Entry    *aviary.Entry
	Label    string // the kind, in words
	Text     string
	Struck   bool
	StruckBy *aviary.Entry
	Aside    string // why it is set aside, if it is
}

// Ancestor is one bird in a chart of ancestors; nil fields are not known.
type Ancestor struct {
	Bird      *aviary.Bird
	Sire, Dam *Ancestor
	Again     bool // stands elsewhere in the chart too
}

// Generations is how many generations of ancestors a chart shows behind the bird.
const Generations = 4

// ClutchLine is one clutch in a bird's history.
type ClutchLine struct {
	Nest     *Nest
	With     []*aviary.Bird
	Laid     bool // the bird is of the laying pair
	Reared   bool // the bird is of the rearing pair
	Eggs     nest.Count
	Full     nest.Count
	Hatched  nest.Count
	Ringed   nest.Count
	Weaned   nest.Count
	Expected string // what is still to come, a guess
}

// WeightStory is a bird's weights, judged against its own first.
type WeightStory struct {
	feed.Weight // judged against its own baseline, else against the species
	Points      []aviary.Weight
	Low, High   float64 // the species' range, g; means of studies, not limits
	Basis       string
	Gravid      bool // about to lay or laying: her egg weighs with her
}

// Bird tells a bird's story, or nil when there is no such bird.
func (d *Desk) Bird(id aviary.ID) *BirdStory {
	b := d.Room.Bird(id)
	if b == nil {
		return nil
	}
	s := &BirdStory{BirdRow: d.birdRow(b), Line: d.Room.Parents(b.ID), Offspring: d.Room.Young(b.ID), Looks: b.Looks}
	s.Headline = d.birdHeadline(b, s.Age)
	for _, p := range slices.Backward(d.Room.PairsOf(b.ID)) {
		if p.To == 0 && p.Place == b.Place() {
			s.Pair = p
			break
		}
	}
	s.Where = d.where(b, s.Pair)
	chart := map[aviary.ID]int{}
	s.Ancestors = d.ancestor(b.ID, Generations, chart)
	s.Twice = d.markAgain(s.Ancestors, chart)
	s.Clutches = d.ClutchesOf(b)
	s.Weight = d.weight(b)
	for _, st := range slices.Backward(b.Stays) {
		s.Stays = append(s.Stays, StayLine{d.Room.Place(st.Place), st.From, st.To})
	}
	s.Entries = d.Written(aviary.ABird, b.ID)
	return s
}

func (d *Desk) birdHeadline(b *aviary.Bird, age string) string {
	kind := "bird of unknown sex"
	if b.Sex != "" {
		kind = string(b.Sex)
	}
	if n := len(b.Looks); n > 0 {
		kind = b.Looks[n-1].Look + " " + kind
	}
	parts := []string{kind}
	if b.Name != "" {
		parts = append([]string{b.Name}, parts...)
	}
	if age != "" {
		parts = append(parts, age)
	} else {
		parts = append(parts, "age not known")
	}
	return capital(strings.Join(parts, ", "))
}

func (d *Desk) where(b *aviary.Bird, pair *aviary.Pair) string {
	switch {
	case b.Died != 0:
		s := "Died " + b.Died.Long()
		if b.Cause != "" {
			s += ": " + b.Cause
		}
		return s + "."
	case b.Left != 0:
		return capital(b.LeftHow) + " " + b.Left.Long() + "."
	}
	p := d.Room.Place(b.Place())
	if p == nil {
		return "In no cage by the books."
	}
	if pair != nil {
		var with []string
		for _, id := range pair.Birds() {
			if x := d.Room.Bird(id); x != nil && x.ID != b.ID {
				with = append(with, x.Label())
			}
		}
		if len(with) > 0 {
			return fmt.Sprintf("In %s with %s since %s.", p.Name, strings.Join(with, ", "), pair.From.Long())
		}
	}
	return fmt.Sprintf("In %s since %s.", p.Name, b.Stays[len(b.Stays)-1].From.Long())
}

func (d *Desk) ancestor(id aviary.ID, generations int, seen map[aviary.ID]int) *Ancestor {
	b := d.Room.Bird(id)
	if b == nil {
		return nil
	}
	seen[b.ID]++
	a := &Ancestor{Bird: b}
	if generations > 0 {
		l := d.Room.Parents(b.ID)
		a.Sire, a.Dam = d.ancestor(l.Sire, generations-1, seen), d.ancestor(l.Dam, generations-1, seen)
	}
	return a
}

func (d *Desk) markAgain(a *Ancestor, seen map[aviary.ID]int) []string {
	var names []string
	var walk func(a *Ancestor)
	walk = func(a *Ancestor) {
		if a == nil {
			return
		}
		if seen[a.Bird.ID] > 1 {
			a.Again = true
			if name := a.Bird.Label(); !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
		walk(a.Sire)
		walk(a.Dam)
	}
	walk(a)
	return names
}

// ClutchesOf lists the clutches that a bird laid or sired, or reared, newest first.
func (d *Desk) ClutchesOf(b *aviary.Bird) []ClutchLine {
	var out []ClutchLine
	seen := map[aviary.ID]bool{}
	for _, pair := range d.Room.PairsOf(b.ID) {
		p := d.Room.Place(pair.Place)
		if p == nil {
			continue
		}
		for _, c := range p.Clutches {
			laying, rearing := d.Room.LayingPair(c), d.Room.RearingPair(c)
			laid := laying != nil && laying.ID == pair.ID && !wholly(c)
			reared := rearing != nil && rearing.ID == pair.ID && c.HadChicks()
			if seen[c.Key] || (!laid && !reared) {
				continue
			}
			seen[c.Key] = true
			line := d.clutchLine(p, c)
			line.Laid, line.Reared = laid, reared
			for _, id := range pair.Birds() {
				if x := d.Room.Bird(id); x != nil && x.ID != b.ID {
					line.With = append(line.With, x)
				}
			}
			out = append(out, line)
		}
	}
	slices.SortStableFunc(out, func(a, b ClutchLine) int { return cmp.Compare(b.Nest.Clutch.First, a.Nest.Clutch.First) })
	return out
}

// wholly reports whether a clutch began with eggs or chicks from another nest, so that none of it need be its pair's own.
func wholly(c *aviary.Clutch) bool {
	return len(c.FromNests) > 0 && c.FromNests[0].Entry == c.Key
}

// clutchLine sums up a clutch: what is known of it, and what is still to come.
func (d *Desk) clutchLine(p *aviary.Place, c *aviary.Clutch) ClutchLine {
	n := d.Nest(p, c)
	k := n.Course.Counts
	line := ClutchLine{Nest: n, Eggs: k.Laid, Full: k.Fertile, Hatched: k.Hatched, Ringed: k.Ringed, Weaned: k.Weaned}
	if len(c.Birds) > line.Ringed.N {
		line.Ringed = nest.Count{N: len(c.Birds), Known: true}
	}
	if c.Open() {
		for _, kind := range []nest.Kind{nest.Hatch, nest.Fledge, nest.Wean} {
			if ev := n.Course.Event(kind); ev.Known && !ev.Happened {
				line.Expected = Expects(ev)
				break
			}
		}
	}
	return line
}

// CountWord writes a count as pages show it: "4", "at least 4", or "not known".
func CountWord(c nest.Count) string {
	switch {
	case !c.Known:
		return "not known"
	case c.AtLeast:
		return fmt.Sprintf("at least %d", c.N)
	}
	return fmt.Sprint(c.N)
}

func (d *Desk) weight(b *aviary.Bird) WeightStory {
	w := WeightStory{Points: b.Weights, Gravid: d.gravid(b)}
	w.Weight = d.weighed(b, w.Gravid)
	if s := d.Cat.BySlug(b.Species); s != nil {
		if v, ok := s.Value(species.AdultMass); ok {
			w.Low, _, w.High, _ = v.Span()
			w.Basis = "Usual for the species, " + says(v)
		}
	}
	return w
}

// steadyWeight is the change in a week, in g, below which a weight is called steady: what a full crop and a scale make out.
// From memory.
const steadyWeight = 0.1

// trendBack is how far back the trend of a weight goes, in days, as in package feed.
const trendBack = 42

// Trend says where the weight has gone over the six weeks up to the last weighing: "rising", "falling", "steady", or "" of a bird
// that was weighed once in them.
func (w WeightStory) Trend() string {
	recent := 0
	for _, p := range w.Points {
		if day := FeedDay(w.Last.Day); p.Day <= day && p.Day >= day-trendBack {
			recent++
		}
	}
	switch {
	case recent < 2:
		return ""
	case w.PerWeek >= steadyWeight:
		return "rising"
	case w.PerWeek <= -steadyWeight:
		return "falling"
	}
	return "steady"
}

// weighed judges a bird's weights up to today.
func (d *Desk) weighed(b *aviary.Bird, gravid bool) feed.Weight {
	var list []feed.Weighing
	for _, w := range b.Weights {
		list = append(list, feed.Weighing{Day: feedDay(w.Day), Grams: w.Grams})
	}
	var usual feed.Range
	if s := d.Cat.BySlug(b.Species); s != nil {
		if v, ok := s.Value(species.AdultMass); ok {
			usual.Low, _, usual.High, _ = v.Span()
		}
	}
	return feed.JudgeWeight(list, usual, feedDay(d.Today), gravid)
}

// gravid reports whether a hen may carry an egg: her pair builds, or its nest is being laid in.
func (d *Desk) gravid(b *aviary.Bird) bool {
	p := d.Room.Place(b.Place())
	if b.Sex != aviary.Hen || p == nil {
		return false
	}
	pair := d.Room.PairNow(p.ID)
	if pair == nil || !slices.Contains(pair.Hens, b.ID) {
		return false
	}
	for _, n := range d.Nests(p) {
		if n.Course.Stage.Kind == nest.Laying {
			return true
		}
	}
	c := d.Condition(p)
	return c != nil && (c.Stage == PairBuilding || c.Stage == PairAboutToLay || c.Material != 0 && c.Stage == PairReady)
}

// Written lists the entries about a bird, a place or a pair, newest first, struck ones among them.
func (d *Desk) Written(t aviary.SubjectType, id aviary.ID) []Written {
	r := d.Room
	var out []Written
	add := func(e *aviary.Entry, struck bool) {
		info, _ := aviary.KindOf(e.Kind)
		w := Written{Entry: e, Label: info.Label, Text: Sentence(r, e), Struck: struck}
		if struck {
			w.StruckBy = r.StruckBy(e.ID)
		}
		if c := r.AsideWhy(e.ID); c != nil {
			w.Aside = c.Message
		}
		out = append(out, w)
	}
	for _, e := range r.History(t, id) {
		add(e, false)
	}
	for _, e := range r.StruckHistory(t, id) {
		add(e, true)
	}
	slices.SortStableFunc(out, func(a, b Written) int {
		return cmp.Or(cmp.Compare(b.Entry.Day, a.Entry.Day), cmp.Compare(b.Entry.Time, a.Entry.Time), b.Entry.Written.Compare(a.Entry.Written))
	})
	return out
}
