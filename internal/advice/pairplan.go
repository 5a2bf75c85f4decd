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
	// Weight is how many young the keeper gives for one step of relatedness (1 in 100) less in the young of all pairs. 0 asks
	// for most young alone.
	Weight float64
	// Insist are matings that the keeper tries out, beside those that he has ruled: by bird.
	Insist [][2]aviary.ID
}

// PairPlan is the best set of pairs for the whole room, what it gives up for wider lines, and what else could be.
type PairPlan struct {
	*Matings
	Query PairQuery
	Best  PairSet
	// Curve is the best set for each weight of PairWeights, from most young to widest lines; equal sets stand once.
	Curve []PairSet
	// Others are the best sets that differ from Best, each in at least one pair; best first.
	Others []PairSet
	Cages  []CageChoice
}

// PairSet is a set of pairs, each bird in one at most, with what it gives.
type PairSet struct {
	Pairs   []Couple
	Weight  float64
	Young   float64 // weaned in a season, all pairs together
	Low     float64 // 8 in 10
	High    float64
	Related float64 // mean kinship of the pairs: the inbreeding to expect in their young
	Cost    float64 // young given up beside the best set of the same weight, relatedness counted at its weight
	Single  int     // birds of the smaller side that are left without a mate
}

// Couple is a cell of the table of matings.
type Couple struct{ Cock, Hen int }

// CageChoice is a cage for one of the pairs.
type CageChoice struct {
	Couple Couple
	Place  *aviary.Place
	Why    string
}

// PairWeights are the weights along the curve: young for each 1 in 100 of relatedness less. The last asks for the widest lines
// whatever they cost.
var PairWeights = []float64{0, 0.02, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 1000}

// UsualWeight is the weight taken where the keeper chooses none. Common practice, no source.
const UsualWeight = 0.1

// mostOthers is how many other sets are shown.
const mostOthers = 10

// eightInTen is the half width of a range of 8 in 10 in standard deviations.
const eightInTen = 1.2816

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
	forbidden := m.mask(q.Insist)
	for _, w := range PairWeights {
		s, err := m.choose(ctx, w, forbidden)
		if err != nil {
			return nil, err
		}
		if n := len(out.Curve); n > 0 && samePairs(out.Curve[n-1].Pairs, s.Pairs) {
			continue
		}
		out.Curve = append(out.Curve, s)
	}
	best, err := m.choose(ctx, q.Weight, forbidden)
	if err != nil {
		return nil, err
	}
	out.Best = best
	if out.Others, err = m.others(ctx, best, forbidden); err != nil {
		return nil, err
	}
	out.Cages = d.cagesFor(m, best)
	return out, nil
}

// mask marks the cells that are never paired: those forbidden, and those that stand against a pair that is wanted or tried out.
func (m *Matings) mask(insist [][2]aviary.ID) [][]bool {
	out := make([][]bool, len(m.Cocks))
	for i := range out {
		out[i] = make([]bool, len(m.Hens))
		for j := range out[i] {
			out[i][j] = m.Cells[i][j].Forbidden != ""
		}
	}
	for i := range m.Cocks {
		for j := range m.Hens {
			if m.Cells[i][j].Wanted && m.Cells[i][j].Forbidden == "" {
				force(out, i, j)
			}
		}
	}
	for _, pair := range insist {
		for i := range m.Cocks {
			for j := range m.Hens {
				if m.Cocks[i].Bird.ID == pair[0] && m.Hens[j].Bird.ID == pair[1] {
					force(out, i, j)
				}
			}
		}
	}
	return out
}

// force leaves one cell of a row and a column.
func force(mask [][]bool, i, j int) {
	for k := range mask {
		mask[k][j] = true
	}
	for k := range mask[i] {
		mask[i][k] = true
	}
	mask[i][j] = false
}

// worth is what a mating is worth at a weight.
func (c Mating) worth(weight float64) float64 { return c.Young - weight*100*c.Kinship }

// choose finds the best set at a weight, exactly.
func (m *Matings) choose(ctx context.Context, weight float64, forbidden [][]bool) (PairSet, error) {
	worth := make([][]float64, len(m.Cocks))
	for i := range worth {
		worth[i] = make([]float64, len(m.Hens))
		for j := range worth[i] {
			worth[i][j] = m.Cells[i][j].worth(weight)
		}
	}
	a, err := pairing.Assign(ctx, worth, forbidden, pairing.Maximise)
	if err != nil {
		return PairSet{}, err
	}
	var pairs []Couple
	for i, j := range a.Column {
		if j != pairing.Single {
			pairs = append(pairs, Couple{i, j})
		}
	}
	return m.Sum(pairs, weight), nil
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

// value is what a set is worth at its weight.
func (m *Matings) value(s PairSet) float64 {
	v := 0.0
	for _, p := range s.Pairs {
		v += m.Cells[p.Cock][p.Hen].worth(s.Weight)
	}
	return v
}

func samePairs(a, b []Couple) bool { return slices.Equal(a, b) }

// others finds the best sets that do without one pair of the best set each, and so differ from it.
func (m *Matings) others(ctx context.Context, best PairSet, forbidden [][]bool) ([]PairSet, error) {
	top := m.value(best)
	var out []PairSet
	for _, p := range best.Pairs {
		if m.Cells[p.Cock][p.Hen].Wanted {
			continue
		}
		forbidden[p.Cock][p.Hen] = true
		s, err := m.choose(ctx, best.Weight, forbidden)
		forbidden[p.Cock][p.Hen] = false
		if err != nil {
			return nil, err
		}
		s.Cost = top - m.value(s)
		if !slices.ContainsFunc(out, func(o PairSet) bool { return samePairs(o.Pairs, s.Pairs) }) {
			out = append(out, s)
		}
	}
	// A set with fewer pairs comes after those with as many.
	slices.SortStableFunc(out, func(a, b PairSet) int { return cmp.Or(cmp.Compare(a.Single, b.Single), cmp.Compare(a.Cost, b.Cost)) })
	return out[:min(len(out), mostOthers)], nil
}

// Insisted is what it takes to have one cock with one hen.
type Insisted struct {
	Couple    Couple
	Forbidden string // why they may not; the rest is empty then
	Chosen    bool   // they are in the best set already
	Set       PairSet
	Young     float64  // young given up; negative when more come
	Related   float64  // by how much the pairs are more related on average
	Cost      float64  // of both, at the weight
	Lost      []Couple // pairs of the best set that it breaks up
	New       []Couple // pairs that come in their place, beside the one insisted on
}

// Insist says what the room's set gives up when a cock and a hen are put together.
func (p *PairPlan) Insist(ctx context.Context, cock, hen int) (Insisted, error) {
	out := Insisted{Couple: Couple{cock, hen}, Forbidden: p.Cells[cock][hen].Forbidden, Chosen: slices.Contains(p.Best.Pairs, Couple{cock, hen})}
	if out.Forbidden != "" || out.Chosen {
		return out, nil
	}
	mask := p.mask(p.Query.Insist)
	force(mask, cock, hen)
	set, err := p.choose(ctx, p.Query.Weight, mask)
	if err != nil {
		return out, err
	}
	out.Set = set
	out.Young, out.Related, out.Cost = p.Best.Young-set.Young, set.Related-p.Best.Related, p.value(p.Best)-p.value(set)
	for _, c := range p.Best.Pairs {
		if !slices.Contains(set.Pairs, c) {
			out.Lost = append(out.Lost, c)
		}
	}
	for _, c := range set.Pairs {
		if !slices.Contains(p.Best.Pairs, c) && c != out.Couple {
			out.New = append(out.New, c)
		}
	}
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

// Wishes says how many young of each look that is wished for a set may give.
func (m *Matings) Wishes(r *aviary.Room, s PairSet) []WishLine {
	var out []WishLine
	for _, w := range r.Whole().Wished {
		if w.Species != m.Query.Species {
			continue
		}
		l := WishLine{Wish: w}
		for _, p := range s.Pairs {
			c := m.Cells[p.Cock][p.Hen]
			for _, x := range c.Looks {
				if (w.Sex == "" || w.Sex == x.Sex) && lookHas(x.Look, w.Look) {
					l.Expected += x.Share * c.Young
				}
			}
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
