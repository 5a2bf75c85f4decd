package advice

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/pairing"
)

// PairQuery says how a room's pairs are chosen.
type PairQuery struct {
	MatingQuery
	// Weight is how many young a pair the keeper gives for one step of relatedness (1 in 100) less. 0 asks for most young alone.
	Weight float64
	// Next is what share of relatedness is the mean kinship of the next generation, the rest being the inbreeding of the young; 0
	// to 1. The first keeps lines wide over the years, the second the season's young from close kin.
	Next float64
	// Most is how many pairs are made at most, as there are cages; 0 sets no number.
	Most int
	// Sibs is how many birds of one brood of parents are paired at most; 0 sets no number.
	Sibs int
	// Shows limits how many pairs have a bird that shows a look.
	Shows []ShowLimit
	// Wishes has the young that are wished for count: each that is short costs WishPrice young.
	Wishes bool
	// Insist are matings that the keeper tries out, beside those that he has ruled: by bird.
	Insist [][2]aviary.ID
}

// ShowLimit is at most so many pairs in which a bird shows a look.
type ShowLimit struct {
	Look string
	Most int
}

// PairPlan is the best set of pairs for the whole room, what it gives up for wider lines, and what else could be.
type PairPlan struct {
	*Matings
	Query PairQuery
	Best  PairSet
	// Curve is the best set at several weights, from most young to least relatedness.
	Curve []PairSet
	// Others are the best sets that differ from Best and from each other in two pairs at least; best first.
	Others []PairSet
	Cages  []CageChoice
	// Clash says which limits cannot be kept together, in a sentence; the set is then empty.
	Clash string

	problem *pairing.Problem
	plan    *pairing.Plan
	limits  []string // in words, as they stand in the problem
}

// PairSet is a set of pairs, each bird in one at most, with what it gives.
type PairSet struct {
	Pairs   []Couple
	Weight  float64 // at which it is the best; see PairQuery
	Young   float64 // weaned in a season, all pairs together
	Low     float64 // 8 in 10
	High    float64
	Related float64 // mean kinship of the pairs: the inbreeding to expect in their young
	Next    float64 // mean kinship of the next generation; 0 where it was not asked for
	Cost    float64 // in young, relatedness counted at its weight: what it gives up beside the best set
	Gap     float64 // how much better another set might at most be; 0 where it is proved the best
	Single  int     // birds of the smaller side that are left without a mate
}

// Couple is a cell of the table of matings.
type Couple = pairing.Pair

// CageChoice is a cage for one of the pairs.
type CageChoice struct {
	Couple Couple
	Place  *aviary.Place
	Why    string
}

const (
	// UsualWeight is the weight taken where the keeper chooses none. Common practice, no source.
	UsualWeight = 0.1
	// WishPrice is what a young bird that is wished for and not expected costs, in young of any look. Common practice, no source.
	WishPrice = 0.5
	// mostOthers is how many other sets are shown, and othersDiffer in how many pairs each differs.
	mostOthers, othersDiffer = 10, 2
	// curvePoints is how many sets the curve has at most.
	curvePoints = 8
	// bestWork bounds the search for the best set, sideWork that for each set beside it, in assignments solved. A set that is
	// within closeCall young of the best is good enough where limits or the next generation make the search long.
	bestWork, sideWork, closeCall = 3000, 100, 0.05
	// eightInTen is the half width of a range of 8 in 10 in standard deviations.
	eightInTen = 1.2816
)

// Pairs chooses the room's pairs of a species. Matings may be given where they are known already.
func (d *Desk) Pairs(ctx context.Context, q PairQuery, m *Matings) (*PairPlan, error) {
	if m == nil {
		var err error
		if m, err = d.Matings(ctx, q.MatingQuery); err != nil {
			return nil, err
		}
	}
	out := &PairPlan{Matings: m, Query: q}
	if m.Problem != "" || len(m.Cocks) == 0 || len(m.Hens) == 0 {
		return out, nil
	}
	out.pose(d)
	o := pairing.Options{Work: sideWork, Gap: out.closeEnough()}
	var err error
	if out.plan, err = pairing.Best(ctx, out.problem, pairing.Options{Work: bestWork, Gap: o.Gap}); err != nil {
		return nil, err
	}
	if out.plan.Status == pairing.Impossible || out.plan.Status == pairing.NotFound {
		out.Clash = out.clashWords()
		return out, nil
	}
	out.Best = out.set(out.plan, q.Weight)
	curve, err := pairing.Curve(ctx, out.problem, curvePoints, o)
	if err != nil {
		return nil, err
	}
	for _, p := range curve {
		s := out.set(p.Plan, p.Price/out.perStep())
		if n := len(out.Curve); n > 0 && slices.Equal(out.Curve[n-1].Pairs, s.Pairs) {
			continue
		}
		out.Curve = append(out.Curve, s)
	}
	others, err := pairing.Others(ctx, out.problem, out.plan, mostOthers, othersDiffer, o)
	if err != nil {
		return nil, err
	}
	for _, p := range others {
		s := out.set(p, q.Weight)
		s.Cost = out.plan.Value - p.Value
		out.Others = append(out.Others, s)
	}
	out.Cages = d.cagesFor(m, out.Best)
	return out, nil
}

// closeEnough is how far from the best a set may stay: nothing, where one assignment settles it.
func (p *PairPlan) closeEnough() float64 {
	if len(p.problem.Limits) == 0 && p.problem.Mix == 0 {
		return 0
	}
	return closeCall
}

// perStep turns a weight (young a pair for 1 in 100) into the price of one whole unit of the mean relatedness of all pairs.
func (p *PairPlan) perStep() float64 {
	n := min(len(p.Cocks), len(p.Hens))
	if p.Query.Most > 0 {
		n = min(n, p.Query.Most)
	}
	return 100 * float64(n)
}

// pose writes the room as a problem.
func (p *PairPlan) pose(d *Desk) {
	m, q := p.Matings, p.Query
	x := &pairing.Problem{Pairs: q.Most, Mix: q.Next, Price: q.Weight * p.perStep()}
	held := map[int]bool{} // cocks and, after them, hens that a lock holds already
	lock := func(i, j int) {
		if m.Cells[i][j].Forbidden == "" && !held[i] && !held[len(m.Cocks)+j] {
			held[i], held[len(m.Cocks)+j] = true, true
			x.Locked = append(x.Locked, Couple{Cock: i, Hen: j})
		}
	}
	for i := range m.Cocks {
		var worth []float64
		var no []bool
		for j := range m.Hens {
			worth, no = append(worth, m.Cells[i][j].Young), append(no, m.Cells[i][j].Forbidden != "")
		}
		x.Worth, x.Forbidden = append(x.Worth, worth), append(x.Forbidden, no)
	}
	for _, pair := range q.Insist { // what is tried out goes before what is ruled
		for i := range m.Cocks {
			for j := range m.Hens {
				if m.Cocks[i].Bird.ID == pair[0] && m.Hens[j].Bird.ID == pair[1] {
					lock(i, j)
				}
			}
		}
	}
	for i := range m.Cocks {
		for j := range m.Hens {
			if m.Cells[i][j].Wanted {
				lock(i, j)
			}
		}
	}
	x.Kinship = m.kin
	p.problem = x
	p.limit(d)
}

// limit adds what the keeper limits and wishes.
func (p *PairPlan) limit(d *Desk) {
	m, q := p.Matings, p.Query
	add := func(l pairing.Limit, words string) {
		p.problem.Limits, p.limits = append(p.problem.Limits, l), append(p.limits, words)
	}
	if q.Sibs > 0 {
		type parents struct{ sire, dam aviary.ID }
		var order []parents
		cocks, hens := map[parents][]int{}, map[parents][]int{}
		note := func(side map[parents][]int, at int, b *aviary.Bird) {
			l := d.Room.Parents(b.ID)
			if l.Sire == (aviary.ID{}) || l.Dam == (aviary.ID{}) {
				return
			}
			k := parents{l.Sire, l.Dam}
			if len(cocks[k])+len(hens[k]) == 0 {
				order = append(order, k)
			}
			side[k] = append(side[k], at)
		}
		for i := range m.Cocks {
			note(cocks, i, m.Cocks[i].Bird)
		}
		for j := range m.Hens {
			note(hens, j, m.Hens[j].Bird)
		}
		for _, k := range order {
			if len(cocks[k])+len(hens[k]) > q.Sibs {
				add(pairing.FewOf(len(m.Cocks), len(m.Hens), cocks[k], hens[k], q.Sibs), fmt.Sprintf("at most %d young of one pair", q.Sibs))
			}
		}
	}
	for _, s := range q.Shows {
		cells := make([][]bool, len(m.Cocks))
		for i := range cells {
			cells[i] = make([]bool, len(m.Hens))
			for j := range cells[i] {
				cells[i][j] = showsLook(m.Cocks[i].Bird, s.Look) || showsLook(m.Hens[j].Bird, s.Look)
			}
		}
		add(pairing.AtMost(cells, s.Most), fmt.Sprintf("at most %d pairs that show %s", s.Most, s.Look))
	}
	if !q.Wishes {
		return
	}
	for _, w := range d.Room.Whole().Wished {
		if w.Species != q.Species {
			continue
		}
		amount := make([][]float64, len(m.Cocks))
		for i := range amount {
			amount[i] = make([]float64, len(m.Hens))
			for j := range amount[i] {
				amount[i][j] = m.Cells[i][j].gives(w)
			}
		}
		add(pairing.Limit{Amount: amount, Least: float64(w.Count), Most: math.Inf(1), Price: WishPrice}, fmt.Sprintf("%d %s", w.Count, w.Look))
	}
}

// showsLook reports whether a bird shows a look, of whatever trait, as last seen.
func showsLook(b *aviary.Bird, look string) bool {
	for _, l := range b.Looks {
		if l.Look == look && lastLook(b, l.Trait) == look {
			return true
		}
	}
	return false
}

// gives is how many young of a wish a mating is expected to give.
func (c Mating) gives(w aviary.YoungWished) float64 {
	n := 0.0
	for _, x := range c.Looks {
		if (w.Sex == "" || w.Sex == x.Sex) && lookHas(x.Look, w.Look) {
			n += x.Share * c.Young
		}
	}
	return n
}

// clashWords says what keeps any set from being made.
func (p *PairPlan) clashWords() string {
	if p.plan.Status == pairing.NotFound {
		return "No set was found that keeps your limits, and none was ruled out; loosen one of them."
	}
	var words []string
	for _, k := range p.plan.Clash {
		if !slices.Contains(words, p.limits[k]) {
			words = append(words, p.limits[k])
		}
	}
	if len(words) == 0 {
		return "No set keeps your rules and limits; take one of them back."
	}
	return "These cannot be kept together: " + strings.Join(words, "; ") + ". Loosen one of them."
}

// set says what a plan gives.
func (p *PairPlan) set(plan *pairing.Plan, weight float64) PairSet {
	s := p.Sum(plan.Pairs, weight)
	s.Next, s.Gap = plan.Next, plan.Gap()
	return s
}

// Sum says what a set of pairs gives.
func (m *Matings) Sum(pairs []Couple, weight float64) PairSet {
	s := PairSet{Pairs: pairs, Weight: weight, Single: min(len(m.Cocks), len(m.Hens)) - len(pairs)}
	variance := 0.0
	for _, p := range pairs {
		c := m.Cells[p.Cock][p.Hen]
		s.Young += c.Young
		s.Related += c.Kinship
		variance += c.YoungSD * c.YoungSD
	}
	if len(pairs) > 0 {
		s.Related /= float64(len(pairs))
	}
	half := eightInTen * math.Sqrt(variance)
	s.Low, s.High = max(s.Young-half, 0), s.Young+half
	return s
}

// Insisted is what it takes to have one cock with one hen.
type Insisted struct {
	Couple    Couple
	Forbidden string // why they may not; the rest is empty then
	Chosen    bool   // they are in the best set already
	Never     bool   // no set that keeps the limits has them
	Set       PairSet
	Young     float64  // young given up; negative when more come
	Related   float64  // by how much the pairs are more related on average
	Cost      float64  // of both, at the weight
	Lost      []Couple // pairs of the best set that it breaks up
	New       []Couple // pairs that come in their place, beside the one insisted on
}

// Insist says what the room's set gives up when a cock and a hen are put together.
func (p *PairPlan) Insist(ctx context.Context, cock, hen int) (Insisted, error) {
	c := Couple{Cock: cock, Hen: hen}
	out := Insisted{Couple: c, Forbidden: p.Cells[cock][hen].Forbidden}
	if p.plan == nil || p.Clash != "" {
		return out, nil
	}
	out.Chosen = p.plan.Has(c)
	if out.Forbidden != "" || out.Chosen {
		return out, nil
	}
	change, err := pairing.Insist(ctx, p.problem, p.plan, c, pairing.Options{Work: bestWork, Gap: p.closeEnough()})
	if err != nil {
		return out, err
	}
	if change.Plan.Status == pairing.Impossible || change.Plan.Status == pairing.NotFound {
		out.Never = true
		return out, nil
	}
	out.Set = p.set(change.Plan, p.Query.Weight)
	out.Young, out.Related, out.Cost = p.Best.Young-out.Set.Young, out.Set.Related-p.Best.Related, change.Cost
	out.Lost = change.Lost
	out.New = slices.DeleteFunc(change.New, func(x Couple) bool { return x == c })
	return out, nil
}

// Why says what speaks for a mating, in sentences.
func (m *Matings) Why(c Couple) []string {
	cell := m.Cells[c.Cock][c.Hen]
	var out []string
	if cell.Wanted {
		out = append(out, "You want them together.")
	}
	switch {
	case cell.Kinship == 0:
		out = append(out, "No ancestor that the books know is shared.")
	default:
		out = append(out, fmt.Sprintf("Related %s in 100: %s.", inHundred(cell.Kinship), kinWord(cell.Kinship)))
	}
	cock, hen := m.Cocks[c.Cock], m.Hens[c.Hen]
	if !cell.Proven && (cock.Bred() || hen.Bred()) {
		switch {
		case !cock.Bred():
			out = append(out, fmt.Sprintf("First season for him; her pairs weaned %d in %s.", hen.Weaned, count(hen.Seasons, "season", "seasons")))
		case !hen.Bred():
			out = append(out, fmt.Sprintf("First season for her; his pairs weaned %d in %s.", cock.Weaned, count(cock.Seasons, "season", "seasons")))
		default:
			out = append(out, fmt.Sprintf("His pairs weaned %d in %s, hers %d in %s.", cock.Weaned, count(cock.Seasons, "season", "seasons"), hen.Weaned, count(hen.Seasons, "season", "seasons")))
		}
	}
	return append(out, cell.Notes...)
}

// WishLine is a wish of the keeper's and how far a set goes towards it.
type WishLine struct {
	Wish     aviary.YoungWished
	Expected float64
}

// Wished says how many young of each look that is wished for a set may give.
func (m *Matings) Wished(r *aviary.Room, s PairSet) []WishLine {
	var out []WishLine
	for _, w := range r.Whole().Wished {
		if w.Species != m.Query.Species {
			continue
		}
		l := WishLine{Wish: w}
		for _, p := range s.Pairs {
			l.Expected += m.Cells[p.Cock][p.Hen].gives(w)
		}
		out = append(out, l)
	}
	return out
}

// lookHas reports whether a look of several parts has one of them.
func lookHas(look, part string) bool { return slices.Contains(strings.Split(look, ", "), part) }

// cagesFor proposes a cage for each pair of a set: the one in which one of them sits already, else free cages, those in which most
// young of the species were weaned first, and not beside one of the same species where its cocks quarrel.
func (d *Desk) cagesFor(m *Matings, s PairSet) []CageChoice {
	type cage struct {
		place  *aviary.Place
		weaned int
	}
	var free []cage
	taken := map[aviary.ID]bool{}
	for _, p := range d.Room.Places() {
		if p.Type != aviary.Cage || p.BlockedUntil > d.Today || d.Room.PairNow(p.ID) != nil || len(p.OpenClutches()) > 0 || len(d.Room.In(p.ID)) > 0 {
			continue
		}
		c := cage{place: p}
		for _, x := range p.Clutches {
			if l := d.Room.LayingPair(x); l != nil && d.speciesOf(l) == m.Species {
				c.weaned += x.Weaned
			}
		}
		free = append(free, c)
	}
	slices.SortStableFunc(free, func(a, b cage) int { return cmp.Compare(b.weaned, a.weaned) })
	quarrel := false
	if m.Species != nil {
		holds, known := m.Species.QuarrelsomeCocks.Holds()
		quarrel = holds && known
	}
	beside := func(p *aviary.Place) bool {
		for _, o := range d.Room.Places() {
			if o.ID == p.ID || o.Bank != p.Bank || o.Bank == "" || abs(o.Row-p.Row)+abs(o.Col-p.Col) != 1 {
				continue
			}
			if taken[o.ID] {
				return true
			}
			if pair := d.Room.PairNow(o.ID); pair != nil && d.speciesOf(pair) == m.Species {
				return true
			}
		}
		return false
	}
	pick := func(apart bool) (cage, bool) {
		for _, c := range free {
			if !taken[c.place.ID] && (!apart || !beside(c.place)) {
				return c, true
			}
		}
		return cage{}, false
	}
	pairs := slices.Clone(s.Pairs)
	slices.SortStableFunc(pairs, func(a, b Couple) int {
		return compareDown(m.Cells[a.Cock][a.Hen].Young, m.Cells[b.Cock][b.Hen].Young)
	})
	var out []CageChoice
	for _, p := range pairs {
		if m.Cells[p.Cock][p.Hen].Together {
			out = append(out, CageChoice{p, m.Cocks[p.Cock].Place, "they are there"})
			continue
		}
		c, ok := pick(quarrel)
		why := "free"
		if !ok {
			c, ok = pick(false)
			why = "free, beside the same species"
		}
		if !ok {
			out = append(out, CageChoice{Couple: p, Why: "no cage is free"})
			continue
		}
		taken[c.place.ID] = true
		if c.weaned > 0 {
			why = fmt.Sprintf("%s, %d of the species weaned there", why, c.weaned)
		}
		out = append(out, CageChoice{p, c.place, why})
	}
	return out
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
