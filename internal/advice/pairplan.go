package advice

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/pairing"
)

// PairQuery says how a room's pairs are chosen. The zero value asks for most young alone, without limits.
type PairQuery struct {
	MatingQuery
	// Weight is how many young a pair the keeper gives for one step of relatedness (1 in 100) less. 0 asks for most young alone.
	Weight float64
	// Next is what share of relatedness is the mean kinship of the next generation, the rest being the inbreeding of the young; 0
	// to 1. The first keeps lines wide over the years, the second the season's young from close kin.
	Next float64
	// Related is the greatest relatedness of the whole set, as a kinship; 0 sets none.
	Related float64
	// Most is how many pairs are made at most, as there are cages; 0 sets no number.
	Most int
	// Sibs is how many birds of one sire and dam are paired at most; 0 sets no number.
	Sibs int
	// Shows limits how many pairs have a bird that shows a look.
	Shows []ShowLimit
	// Wishes is what each young that is wished for and not expected costs, in young; 0 leaves wishes out.
	Wishes float64
	// Insist are matings that the keeper tries out, beside those that he has ruled: by bird.
	Insist [][2]aviary.ID

	// Others is how many other sets are sought, and Differ in how many pairs at least each differs from the best and from those
	// before it; 0 takes ten and two. Points is how many sets the curve has at most; 0 takes eight. NoSets asks for none.
	Others, Differ, Points int
	// Work is how many assignments are solved for each set, which is then sought to the very best. 0 takes what answers while the
	// keeper waits: little work for the sets beside the best, and where limits make the search long a set within closeCall of the
	// best is good enough.
	Work int
}

// NoSets leaves out other sets, or the curve.
const NoSets = -1

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
	// Others are the best sets that differ from Best and from each other; best first.
	Others []PairSet
	Cages  []CageChoice
	// Clash says why there is no set; the rest is empty then.
	Clash PairClash
	// Unkept says, in sentences, which pairs that are wanted or tried out could not be held to.
	Unkept []string

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
	Next    float64 // mean kinship of the next generation
	Single  int     // birds of the smaller side that are left without a mate

	// Value is Young less Fine, what wishes not met cost, and less the price of relatedness at the weight. Bound is proved to be
	// at least the value of every set of as many pairs, and MostPairs at least the number of pairs of any set.
	Value, Bound, Fine float64
	MostPairs          int
	Status             pairing.Status
	Cost               float64 // value that it gives up beside the best set
}

// Gap is how much better another set of as many pairs might at most be; 0 where the set is proved the best.
func (s PairSet) Gap() float64 { return max(0, s.Bound-s.Value) }

// Proven reports whether no other set has more pairs, or as many and is better by more than was asked for.
func (s PairSet) Proven() bool { return s.Status == pairing.Proven }

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
	// WishPrice is what a young bird that is wished for and not expected costs where the keeper says no other price, in young of
	// any look. Common practice, no source.
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
	if out.Clash.Kind != NoClash {
		return out, nil
	}
	best, side := out.effort()
	var err error
	if out.plan, err = pairing.Best(ctx, out.problem, best); err != nil {
		return nil, err
	}
	if none(out.plan) {
		out.Clash = out.clash()
		return out, nil
	}
	out.Best = out.set(out.plan, q.Weight)
	if n := orElse(q.Points, curvePoints); n > 0 {
		curve, err := pairing.Curve(ctx, out.problem, n, side)
		if err != nil {
			return nil, err
		}
		for _, p := range curve {
			if !none(p.Plan) { // with less work than the best set was found with, it may be that none is
				out.Curve = append(out.Curve, out.set(p.Plan, p.Price/out.perStep()))
			}
		}
	}
	if n := orElse(q.Others, mostOthers); n > 0 {
		others, err := pairing.Others(ctx, out.problem, out.plan, n, orElse(q.Differ, othersDiffer), side)
		if err != nil {
			return nil, err
		}
		for _, p := range others {
			s := out.set(p, q.Weight)
			s.Cost = out.plan.Value - p.Value
			out.Others = append(out.Others, s)
		}
	}
	out.Cages = d.CagesFor(m, out.Best)
	return out, nil
}

// orElse is a number asked for, or where none is, the usual one.
func orElse(asked, usual int) int {
	if asked == 0 {
		return usual
	}
	return asked
}

// none reports whether a plan is no set at all.
func none(p *pairing.Plan) bool {
	return p.Status == pairing.Impossible || p.Status == pairing.NotFound
}

// effort is how long the best set and each one beside it are sought.
func (p *PairPlan) effort() (best, side pairing.Options) {
	if w := p.Query.Work; w > 0 {
		return pairing.Options{Work: w}, pairing.Options{Work: w}
	}
	gap := 0.0 // one assignment settles it
	if x := p.problem; len(x.Limits) > 0 || x.Mix > 0 || x.Most > 0 {
		gap = closeCall
	}
	return pairing.Options{Work: bestWork, Gap: gap}, pairing.Options{Work: sideWork, Gap: gap}
}

// set says what a plan gives.
func (p *PairPlan) set(plan *pairing.Plan, weight float64) PairSet {
	s := p.Sum(plan.Pairs, weight)
	s.Next, s.Fine, s.Value, s.Bound, s.MostPairs, s.Status = plan.Next, plan.Fine, plan.Value, plan.Bound, plan.MostPairs, plan.Status
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

// Changed is what it takes to have one cock with one hen, or to do without.
type Changed struct {
	Couple    Couple
	Forbidden string // why they may not; the rest is empty then
	Chosen    bool   // they are in the best set
	Never     bool   // no such set keeps the limits
	Set       PairSet
	Young     float64 // young given up; negative when more come
	Related   float64 // by how much the pairs are more related on average
	Cost      float64 // of both, at the weight; the true cost is proved to lie from Low to High
	Low, High float64
	Fewer     int      // pairs less
	Lost      []Couple // pairs of the best set that come apart
	New       []Couple // pairs that come in their place, one that is insisted on among them
}

// Insist says what the room's set gives up when a cock and a hen are put together: the answer to "why not these two". Where they
// are together in it, that is all it says.
func (p *PairPlan) Insist(ctx context.Context, cock, hen int) (Changed, error) {
	return p.changed(ctx, Couple{Cock: cock, Hen: hen}, false)
}

// Without says what the room's set gives up when it does without one of its pairs: the answer to "why these two". Where they are
// not together in it, that is all it says.
func (p *PairPlan) Without(ctx context.Context, cock, hen int) (Changed, error) {
	return p.changed(ctx, Couple{Cock: cock, Hen: hen}, true)
}

func (p *PairPlan) changed(ctx context.Context, c Couple, without bool) (Changed, error) {
	out := Changed{Couple: c, Forbidden: p.Cells[c.Cock][c.Hen].Forbidden}
	if p.plan == nil || p.Clash.Kind != NoClash {
		return out, nil
	}
	out.Chosen = p.plan.Has(c)
	if out.Forbidden != "" || out.Chosen != without {
		return out, nil
	}
	ask := pairing.Insist
	if without {
		ask = pairing.Without
	}
	o, _ := p.effort()
	change, err := ask(ctx, p.problem, p.plan, c, o)
	if err != nil {
		return out, err
	}
	if none(change.Plan) {
		out.Never, out.Set.Status = true, change.Plan.Status
		return out, nil
	}
	out.Set = p.set(change.Plan, p.Query.Weight)
	out.Young, out.Related = p.Best.Young-out.Set.Young, out.Set.Related-p.Best.Related
	out.Cost, out.Low, out.High, out.Fewer = change.Cost, change.Low, change.High, change.Fewer
	out.Lost, out.New = change.Lost, change.New
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
		out = append(out, fmt.Sprintf("Related %s in 100: %s.", InHundred(cell.Kinship), kinWord(cell.Kinship)))
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

// Short reports whether fewer are expected than are wished for.
func (l WishLine) Short() bool { return l.Expected < float64(l.Wish.Count)-1e-9 } // 1e-9 is rounding

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

// CagesFor proposes a cage for each pair of a set: the one in which one of them sits already, else free cages, those in which most
// young of the species were weaned first, and not beside one of the same species where its cocks quarrel.
func (d *Desk) CagesFor(m *Matings, s PairSet) []CageChoice {
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
