package web

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

func (s *server) pairsRoutes(r *routes) {
	known := &kept[*advice.PairPlan]{}
	r.get("/pairs", func(v *visit) error { return v.pairsPage(known, blank()) })
	r.keeperPost("/pairs/set", func(v *visit) error { return v.pairsSet(known) })
	r.keeperPost("/pairs/rule", func(v *visit) error { return v.pairsRule(known) })
	r.keeperPost("/pairs/hold", func(v *visit) error { return v.pairsHold(known) })
	r.keeperPost("/pairs/wish", func(v *visit) error { return v.pairsWish(known) })
}

// pairsAsked is what the address asks of the page, and what its forms carry along.
type pairsAsked struct {
	advice.PairQuery
	ShowLook  string // the look whose pairs are limited, and to how many
	ShowMost  int
	Sort      string // of cocks and hens: name, age, young
	Heat      string // what fills the cells: related, z, young
	Cock, Hen string // of the mating that is looked at
}

// pairsPage is the choice of pairs for the whole room.
type pairsPage struct {
	layout
	ofSpecies
	Empty     string
	NoTry     string     // where nothing is tried out
	Asked     url.Values // as hidden fields of the forms
	Head      []mateHead
	Rows      []mateRow
	Heats     []speciesLink
	Sorts     []speciesLink
	Who       []speciesLink
	Limits    []speciesLink
	HeatWords string
	LimitF    *form // as it is asked for
	LimitSet  bool
	Carried   [][2]string // what the form of limits carries along
	Curve     template.HTML
	Steps     []curveStep
	One       *matingView
	Set       []coupleView
	SetF      *form
	Others    []otherView
	Rules     []ruleView
	Wishes    []wishView
	WishF     *form
	Looks     []option
	Out       []advice.LeftOut
	HoldF     *form
	Birds     []option // that can be kept out
	Says      []string
}

type mateHead struct {
	Bird *aviary.Bird
	Show string // what it shows
}

type mateRow struct {
	mateHead
	Cells []matingCell
}

// matingCell is one cell of the table.
type matingCell struct {
	Href, Words, Value, Class string
	No                        string // why it is forbidden
	Pick, Wanted              bool
	Bred                      [2]bool
	Bar                       template.HTML
}

// curveStep is a choice on the curve, in words.
type curveStep struct {
	Href, Young, Related string
	Current              bool
}

// matingView is the mating that is looked at.
type matingView struct {
	Cock, Hen    *aviary.Bird
	Forbidden    string
	Chosen       bool
	Wanted, Keep bool
	Related, Z   string
	Young, Basis string
	Looks        []lookLine
	Why          []string
	Price        string
	Lost, New    []coupleName
	TryHref      string
}

type lookLine struct{ Sex, Look, Share string }

type coupleName struct{ Cock, Hen *aviary.Bird }

// coupleView is a pair of the set that is suggested.
type coupleView struct {
	coupleName
	Value    string // both ids, for the form
	Related  string
	Young    string
	Why      string
	Together bool
	Wanted   bool
	Cage     string // id of the cage that is proposed
	CageWhy  string
	Places   placesField
}

type otherView struct {
	Cost       string
	Lost, New  []coupleName
	YoungWords string
}

type ruleView struct {
	coupleName
	Apart bool
	Why   string
}

type wishView struct {
	aviary.YoungWished
	Expected string
}

// closestChoices are the kinships from which a mating may be forbidden.
var closestChoices = []struct {
	value float64
	name  string
}{{0.0625, "first cousins"}, {0.125, "half brother and sister"}, {0.25, "brother and sister"}}

func (v *visit) readPairsAsked(in url.Values) pairsAsked {
	a := pairsAsked{Sort: in.Get("sort"), Heat: in.Get("heat"), Cock: in.Get("cock"), Hen: in.Get("hen")}
	a.Species, a.All = in.Get("species"), in.Get("who") == "all"
	a.Weight = advice.UsualWeight
	if w, err := strconv.ParseFloat(in.Get("weight"), 64); err == nil && w >= 0 && w <= 1000 {
		a.Weight = w
	}
	if k, err := strconv.ParseFloat(in.Get("closest"), 64); err == nil && slices.ContainsFunc(closestChoices, func(c struct {
		value float64
		name  string
	},
	) bool {
		return c.value == k
	}) {
		a.Closest = k
	}
	number := func(name string, most int) int {
		n, err := strconv.Atoi(in.Get(name))
		if err != nil || n < 0 {
			return 0
		}
		return min(n, most)
	}
	a.Most, a.Sibs = number("most", 500), number("sibs", 50)
	if in.Get("wishes") != "" {
		a.Wishes = advice.WishPrice
	}
	if in.Get("next") != "" {
		a.Next = nextShare
	}
	if a.ShowLook = in.Get("show_look"); a.ShowLook != "" && in.Get("show_most") != "" {
		a.ShowMost = number("show_most", 500)
		a.Shows = []advice.ShowLimit{{Look: a.ShowLook, Most: a.ShowMost}}
	}
	for _, text := range in["keep"] {
		cock, hen, _ := strings.Cut(text, ".")
		c, err1 := uuid.Parse(cock)
		h, err2 := uuid.Parse(hen)
		if err1 == nil && err2 == nil && len(a.Insist) < 100 {
			a.Insist = append(a.Insist, [2]aviary.ID{c, h})
		}
	}
	return a
}

// nextShare is what share of relatedness the next generation's kinship is, where it is asked for: half of it, the other half being
// the inbreeding of the young. Common practice, no source.
const nextShare = 0.5

// values writes what is asked as an address holds it; change sets or, with "", drops a value.
func (a pairsAsked) values(change ...string) url.Values {
	out := url.Values{}
	put := func(name, value string) {
		if value != "" {
			out.Set(name, value)
		}
	}
	put("species", a.Species)
	put("sort", a.Sort)
	put("heat", a.Heat)
	if a.All {
		out.Set("who", "all")
	}
	if a.Weight != advice.UsualWeight {
		out.Set("weight", strconv.FormatFloat(a.Weight, 'g', -1, 64))
	}
	if a.Closest != 0 {
		out.Set("closest", strconv.FormatFloat(a.Closest, 'g', -1, 64))
	}
	for name, n := range map[string]int{"most": a.Most, "sibs": a.Sibs} {
		if n > 0 {
			out.Set(name, strconv.Itoa(n))
		}
	}
	if a.Wishes > 0 {
		out.Set("wishes", "yes")
	}
	if a.Next > 0 {
		out.Set("next", "yes")
	}
	if len(a.Shows) > 0 {
		out.Set("show_look", a.ShowLook)
		out.Set("show_most", strconv.Itoa(a.ShowMost))
	}
	for _, p := range a.Insist {
		out.Add("keep", p[0].String()+"."+p[1].String())
	}
	for i := 0; i+1 < len(change); i += 2 {
		out.Del(change[i])
		put(change[i], change[i+1])
	}
	return out
}

func (a pairsAsked) href(change ...string) string { return "/pairs?" + a.values(change...).Encode() }

func (v *visit) pairsPage(known *kept[*advice.PairPlan], f *form) error {
	in := v.r.URL.Query()
	if v.r.Method != "GET" {
		in, _ = url.ParseQuery(f.Value("asked"))
	}
	a := v.readPairsAsked(in)
	p := &pairsPage{layout: layout{Title: "Pairs", Tab: "season", Class: "page wide"}}
	p.SetF, p.HoldF, p.WishF = partOf(f, "set"), partOf(f, "hold"), partOf(f, "wish")
	err := p.choose(v, "/pairs", a.Species, func(d *advice.Desk) error {
		a.Species = p.Slug
		return p.fill(v, d, known, a)
	})
	if err != nil {
		return err
	}
	if p.Slug == "" {
		p.Headline, p.Empty = noBirds, "Pairs are chosen from grown birds of known sex."
	}
	p.Asked = url.Values{"asked": {a.values().Encode()}}
	if f.err() != nil {
		p.Form = f
	}
	return v.render("pairs_show", p)
}

func (p *pairsPage) fill(v *visit, d *advice.Desk, known *kept[*advice.PairPlan], a pairsAsked) error {
	plan, err := known.of(d, fmt.Sprintf("%+v", a.PairQuery), func() (*advice.PairPlan, error) { return d.Pairs(v.ctx(), a.PairQuery, nil) })
	if err != nil {
		return err
	}
	m := plan.Matings
	p.Out = m.Out
	p.choices(a)
	p.rules(d, m)
	if m.Problem != "" {
		p.Headline, p.Empty = "The lines in the books contradict each other", m.Problem
		return nil
	}
	if len(m.Cocks) == 0 || len(m.Hens) == 0 {
		p.Headline = "No pair can be made now"
		p.Empty = fmt.Sprintf("%s and %s are free and fit. Those that are not are listed below, each with its reason.", count(len(m.Cocks), "cock", "cocks"), count(len(m.Hens), "hen", "hens"))
		return nil
	}
	if plan.Clash.Kind != advice.NoClash {
		p.Headline, p.Empty = "No set keeps all of this", clashWords(plan.Clash)
		p.Looks = looksOf(m)
		if len(a.Insist) > 0 {
			p.NoTry = a.href("keep", "")
		}
		return nil
	}
	best := plan.Best
	p.Headline = "No pair of those who are free is allowed"
	if len(best.Pairs) > 0 {
		p.Headline = fmt.Sprintf("%s should wean %.0f young, related %s in 100 on average", capital(count(len(best.Pairs), "pair", "pairs")), best.Young, advice.InHundred(best.Related))
		p.Sub = fmt.Sprintf("8 in 10: %.0f to %.0f young a season.", best.Low, best.High)
	}
	if best.Single > 0 && a.Most == 0 {
		p.Sub += fmt.Sprintf(" %s no mate that is allowed.", haveOrHas(best.Single))
	}
	if best.Next > 0 && a.Next > 0 {
		p.Sub += fmt.Sprintf(" The next generation would be related %s in 100.", advice.InHundred(best.Next))
	}
	if best.Gap() > 0.005 {
		p.Sub += fmt.Sprintf(" Another set might be better by %.2f young at most.", best.Gap())
	}
	for _, said := range plan.Unkept {
		p.Sub += " " + said
	}
	p.table(plan, a)
	p.curve(plan, a)
	if err := p.one(v, d, plan, a); err != nil {
		return err
	}
	p.set(d, plan)
	p.others(plan)
	for _, w := range m.Wished(d.Room, best) {
		p.Wishes = append(p.Wishes, wishView{w.Wish, fmt.Sprintf("%.1f", w.Expected)})
	}
	p.Looks = looksOf(m)
	p.Says = []string{
		fmt.Sprintf("Usual in this room: %.1f young a pair and season: %s.", m.Usual.Mean, m.Usual.Basis),
		"A bird’s own results move that, shrunk with the weight of two pairs; a pair that has bred together is taken by its own. It is a first form: luck, cages and seasons are not told apart.",
		"Related is kinship × 100, exact on the lines in the books: it is the inbreeding to expect in their young. The set is the best of all for the whole room at the weight chosen; where that is not proved, the head of the page says how much better another one might be (assignment: Jonker and Volgenant 1987; limits by branch and bound: Fisher 1981).",
	}
	return nil
}

// clashWords says why there is no set, and what may be done about it.
func clashWords(c advice.PairClash) string {
	said := capital(c.Text)
	switch c.Kind {
	case advice.LimitsClash:
		said += ". Loosen one of your limits"
	case advice.WantedClash:
		said += ". Take one of them back"
	case advice.NoneFound:
		said += "; loosen one of them"
	case advice.RelatedClash:
		said += "; ask for fewer pairs"
	}
	return said + "."
}

func haveOrHas(n int) string {
	if n == 1 {
		return "One bird has"
	}
	return fmt.Sprintf("%d birds have", n)
}

// choices are the rows of links over the table.
func (p *pairsPage) choices(a pairsAsked) {
	link := func(name string, current bool, change ...string) speciesLink {
		return speciesLink{Href: a.href(change...), Name: name, Current: current}
	}
	p.Who = []speciesLink{link("Free now", !a.All, "who", ""), link("All, for a season to come", a.All, "who", "all")}
	p.Heats = []speciesLink{link("related", a.Heat == "", "heat", ""), link("related on the Z", a.Heat == "z", "heat", "z"), link("young", a.Heat == "young", "heat", "young")}
	p.Sorts = []speciesLink{link("ring", a.Sort == "", "sort", ""), link("young bred", a.Sort == "young", "sort", "young"), link("age", a.Sort == "age", "sort", "age")}
	for _, c := range closestChoices {
		now := c.value == a.Closest || (a.Closest == 0 && c.value == advice.CloseKin)
		p.Limits = append(p.Limits, link(c.name, now, "closest", strconv.FormatFloat(c.value, 'g', -1, 64)))
	}
	p.LimitF = blank()
	for name, values := range a.values() {
		switch name {
		case "most", "sibs", "wishes", "next", "show_look", "show_most":
			p.LimitF.Values[name], p.LimitSet = values, true
		default:
			for _, v := range values {
				p.Carried = append(p.Carried, [2]string{name, v})
			}
		}
	}
	slices.SortFunc(p.Carried, func(a, b [2]string) int { return strings.Compare(a[0]+a[1], b[0]+b[1]) })
	p.HeatWords = map[string]string{"": "related, in 100", "z": "related on the Z, in 100", "young": "young weaned a season"}[a.Heat]
}

// order is the order of the birds in the table.
func order(mates []advice.Mate, by string) []int {
	out := make([]int, len(mates))
	for i := range out {
		out[i] = i
	}
	slices.SortStableFunc(out, func(x, y int) int {
		a, b := mates[x], mates[y]
		switch by {
		case "young":
			return b.Weaned - a.Weaned
		case "age":
			return int(a.Bird.Hatched - b.Bird.Hatched)
		}
		return strings.Compare(a.Bird.Label(), b.Bird.Label())
	})
	return out
}

func headOf(m advice.Mate) mateHead {
	h := mateHead{Bird: m.Bird}
	if n := len(m.Bird.Looks); n > 0 {
		h.Show = m.Bird.Looks[n-1].Look
	}
	return h
}

func (p *pairsPage) table(plan *advice.PairPlan, a pairsAsked) {
	hens := order(plan.Hens, a.Sort)
	for _, j := range hens {
		p.Head = append(p.Head, headOf(plan.Hens[j]))
	}
	most := 0.0
	for _, row := range plan.Cells {
		for _, c := range row {
			most = math.Max(most, c.Young)
		}
	}
	for _, i := range order(plan.Cocks, a.Sort) {
		row := mateRow{mateHead: headOf(plan.Cocks[i])}
		for _, j := range hens {
			c := plan.Cells[i][j]
			cock, hen := plan.Cocks[i], plan.Hens[j]
			x := matingCell{
				Href: a.href("cock", cock.Bird.ID.String(), "hen", hen.Bird.ID.String()) + "#one", No: c.Forbidden,
				Pick: slices.Contains(plan.Best.Pairs, advice.Couple{Cock: i, Hen: j}), Wanted: c.Wanted, Bred: [2]bool{cock.Bred(), hen.Bred()}, Bar: lookBar(c.Looks),
			}
			level := kinLevel(c.Kinship)
			switch a.Heat {
			case "z":
				x.Value, level = advice.InHundred(c.KinshipZ), kinLevel(c.KinshipZ)
			case "young":
				x.Value = fmt.Sprintf("%.1f", c.Young)
				level = int(math.Round(4 * c.Young / math.Max(most, 1e-9)))
			default:
				x.Value = advice.InHundred(c.Kinship)
			}
			x.Class = fmt.Sprintf("k%d", level)
			x.Words = cellWords(cock.Bird, hen.Bird, c, x)
			row.Cells = append(row.Cells, x)
		}
		p.Rows = append(p.Rows, row)
	}
}

// kinLevel is the step of the five fills for a kinship: unrelated, up to cousins, up to half sibs, up to full sibs, closer.
func kinLevel(k float64) int {
	switch {
	case k <= 0:
		return 0
	case k < 0.0625:
		return 1
	case k < 0.125:
		return 2
	case k < 0.25:
		return 3
	}
	return 4
}

func cellWords(cock, hen *aviary.Bird, c advice.Mating, x matingCell) string {
	s := fmt.Sprintf("%s with %s: ", cock.Label(), hen.Label())
	if c.Forbidden != "" {
		return s + "forbidden, " + c.Forbidden
	}
	s += fmt.Sprintf("related %s in 100, %.1f young", advice.InHundred(c.Kinship), c.Young)
	if x.Pick {
		s += ", suggested"
	}
	return s
}

// lookBar draws the looks of young in a cell, sexes together.
func lookBar(looks []advice.LookShare) template.HTML {
	var parts []look.Share
	for _, l := range looks {
		k := slices.IndexFunc(parts, func(s look.Share) bool { return s.Colour == barColour(l.Look) })
		if k < 0 {
			parts = append(parts, look.Share{Colour: barColour(l.Look)})
			k = len(parts) - 1
		}
		parts[k].Part += l.Share
	}
	if len(parts) == 0 {
		return ""
	}
	return look.ColourBar(parts)
}

// barColour is the fill that stands for a look in the bar of a cell; words beside it say the look.
func barColour(name string) string {
	for _, c := range []string{"fawn", "pied", "white", "grey"} {
		if strings.Contains(name, c) {
			return c
		}
	}
	switch {
	case strings.Contains(name, "black"):
		return "dark"
	case strings.HasPrefix(name, "normal"):
		return "grey"
	}
	return "other"
}

// shownRelated is the relatedness that the curve is about.
func shownRelated(s advice.PairSet, a pairsAsked) float64 {
	if a.Next > 0 {
		return a.Next*s.Next + (1-a.Next)*s.Related
	}
	return s.Related
}

func (p *pairsPage) curve(plan *advice.PairPlan, a pairsAsked) {
	view := look.TradeView{Left: "narrower lines", Right: "wider lines", Up: "Up: young weaned in a season", Label: "Young against relatedness, choice by choice"}
	sets := plan.Curve
	if !slices.ContainsFunc(sets, func(s advice.PairSet) bool { return slices.Equal(s.Pairs, plan.Best.Pairs) }) {
		sets = append(slices.Clone(sets), plan.Best)
		slices.SortStableFunc(sets, func(x, y advice.PairSet) int { return cmp.Compare(shownRelated(y, a), shownRelated(x, a)) })
	}
	for _, s := range sets {
		here := slices.Equal(s.Pairs, plan.Best.Pairs)
		weight := strconv.FormatFloat(s.Weight, 'g', 6, 64)
		words := fmt.Sprintf("%.0f young, related %s in 100", s.Young, advice.InHundred(shownRelated(s, a)))
		view.Points = append(view.Points, look.TradePoint{X: shownRelated(s, a), Y: s.Young, Low: s.Low, High: s.High, Href: a.href("weight", weight), Words: words, Here: here})
		p.Steps = append(p.Steps, curveStep{Href: a.href("weight", weight), Young: fmt.Sprintf("%.1f", s.Young), Related: advice.InHundred(shownRelated(s, a)), Current: here})
	}
	p.Curve = look.Trade(view)
}

// one is the mating that the address names.
func (p *pairsPage) one(v *visit, d *advice.Desk, plan *advice.PairPlan, a pairsAsked) error {
	i := slices.IndexFunc(plan.Cocks, func(m advice.Mate) bool { return m.Bird.ID.String() == a.Cock })
	j := slices.IndexFunc(plan.Hens, func(m advice.Mate) bool { return m.Bird.ID.String() == a.Hen })
	if i < 0 || j < 0 {
		return nil
	}
	c := plan.Cells[i][j]
	in, err := plan.Insist(v.ctx(), i, j)
	if err != nil {
		return err
	}
	x := &matingView{
		Cock: plan.Cocks[i].Bird, Hen: plan.Hens[j].Bird, Forbidden: c.Forbidden, Chosen: in.Chosen, Wanted: c.Wanted,
		Related: advice.InHundred(c.Kinship), Z: advice.InHundred(c.KinshipZ), Young: fmt.Sprintf("%.1f", c.Young), Basis: c.Basis, Why: plan.Why(in.Couple),
	}
	for _, l := range c.Looks {
		x.Looks = append(x.Looks, lookLine{map[aviary.Sex]string{aviary.Cock: "sons", aviary.Hen: "daughters"}[l.Sex], l.Look, fmt.Sprintf("%.0f in 100", 100*l.Share)})
	}
	pair := [2]aviary.ID{x.Cock.ID, x.Hen.ID}
	x.Keep = slices.Contains(a.Insist, pair)
	if in.Never {
		x.Price = "No set that keeps your rules and limits has them together."
	}
	if !in.Chosen && in.Forbidden == "" && !in.Never {
		x.Price = priceWords(in)
		x.Lost = names(plan, in.Lost)
		x.New = names(plan, slices.DeleteFunc(slices.Clone(in.New), func(c advice.Couple) bool { return c == in.Couple }))
		try := a.values()
		try.Add("keep", pair[0].String()+"."+pair[1].String())
		x.TryHref = "/pairs?" + try.Encode()
	}
	if x.Keep {
		rest := a
		rest.Insist = slices.DeleteFunc(slices.Clone(a.Insist), func(q [2]aviary.ID) bool { return q == pair })
		x.TryHref = rest.href()
	}
	p.One = x
	return nil
}

// priceWords says what the room gives up for a pair that is insisted on.
func priceWords(in advice.Changed) string {
	var parts []string
	switch {
	case in.Young >= 0.05:
		parts = append(parts, fmt.Sprintf("%.1f young fewer", in.Young))
	case in.Young <= -0.05:
		parts = append(parts, fmt.Sprintf("%.1f young more", -in.Young))
	}
	switch r := 100 * in.Related; {
	case r >= 0.05:
		parts = append(parts, fmt.Sprintf("pairs %.1f in 100 more related", r))
	case r <= -0.05:
		parts = append(parts, fmt.Sprintf("pairs %.1f in 100 less related", -r))
	}
	if in.Set.Single > 0 {
		parts = append(parts, fmt.Sprintf("%d without a mate", in.Set.Single))
	}
	if len(parts) == 0 {
		return "It costs the room nothing: too close to call."
	}
	return "For the whole room: " + strings.Join(parts, ", ") + "."
}

func names(plan *advice.PairPlan, pairs []advice.Couple) []coupleName {
	var out []coupleName
	for _, c := range pairs {
		out = append(out, coupleName{plan.Cocks[c.Cock].Bird, plan.Hens[c.Hen].Bird})
	}
	return out
}

func (p *pairsPage) set(d *advice.Desk, plan *advice.PairPlan) {
	free := choices(d, func(x *aviary.Place) bool {
		return x.Type == aviary.Cage && len(d.Room.In(x.ID)) == 0 && x.BlockedUntil <= d.Today
	})
	for _, c := range plan.Cages {
		cell := plan.Cells[c.Couple.Cock][c.Couple.Hen]
		x := coupleView{
			coupleName: names(plan, []advice.Couple{c.Couple})[0], Related: advice.InHundred(cell.Kinship), Young: fmt.Sprintf("%.1f", cell.Young),
			Why: strings.Join(plan.Why(c.Couple), " "), Together: cell.Together, Wanted: cell.Wanted, CageWhy: c.Why,
		}
		x.Value = x.Cock.ID.String() + "." + x.Hen.ID.String()
		if c.Place != nil {
			x.Cage = c.Place.ID.String()
		}
		name := "cage-" + x.Value
		x.Places = newPlacesField(p.SetF, name, "Cage", "Choose", free)
		if x.Places.Value == "" {
			x.Places.Value = x.Cage
		}
		p.Set = append(p.Set, x)
	}
}

func (p *pairsPage) others(plan *advice.PairPlan) {
	for _, s := range plan.Others {
		o := otherView{Cost: fmt.Sprintf("%.2f", s.Cost), YoungWords: fmt.Sprintf("%.1f young, related %s in 100", s.Young, advice.InHundred(s.Related))}
		if s.Cost < 0.005 {
			o.Cost = "nothing"
		}
		for _, c := range plan.Best.Pairs {
			if !slices.Contains(s.Pairs, c) {
				o.Lost = append(o.Lost, names(plan, []advice.Couple{c})...)
			}
		}
		for _, c := range s.Pairs {
			if !slices.Contains(plan.Best.Pairs, c) {
				o.New = append(o.New, names(plan, []advice.Couple{c})...)
			}
		}
		p.Others = append(p.Others, o)
	}
}

// rules lists what the keeper has ruled, and whom he may keep out.
func (p *pairsPage) rules(d *advice.Desk, m *advice.Matings) {
	p.Birds = []option{{Label: "Choose"}}
	seen := map[aviary.ID]bool{}
	for _, b := range d.Room.Birds() {
		if b.Species != m.Query.Species || !b.Here() {
			continue
		}
		p.Birds = append(p.Birds, option{Value: b.ID.String(), Label: strings.TrimSpace(string(b.Sex) + " " + b.Label())})
		for _, r := range b.Rules {
			if b.Sex == aviary.Hen || seen[r.Entry] || b.RuleWith(r.Hen) == nil || b.RuleWith(r.Hen).Entry != r.Entry {
				continue
			}
			cock, hen := d.Room.Bird(r.Cock), d.Room.Bird(r.Hen)
			if cock == nil || hen == nil || !hen.Here() {
				continue
			}
			seen[r.Entry] = true
			p.Rules = append(p.Rules, ruleView{coupleName{cock, hen}, r.Rule == "apart", r.Why})
		}
	}
}

// looksOf are the looks that some pair of the table may give.
func looksOf(m *advice.Matings) []option {
	var words []string
	for _, row := range m.Cells {
		for _, c := range row {
			for _, l := range c.Looks {
				for _, part := range strings.Split(l.Look, ", ") {
					if !slices.Contains(words, part) {
						words = append(words, part)
					}
				}
			}
		}
	}
	slices.Sort(words)
	return append([]option{{Label: "Choose"}}, options(words...)...)
}
