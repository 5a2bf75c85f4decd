package advice

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/pairing"
)

// PairClash is why no set of pairs can be made. Text says it without a capital letter, a full stop, or what the reader may do about
// it, which depends on where he reads.
type PairClash struct {
	Kind ClashKind
	Text string
}

// ClashKind is what stands in the way.
type ClashKind uint8

const (
	NoClash      ClashKind = iota
	RulesClash             // the keeper's rules put one bird with two at once
	TriesClash             // matings that he tries out do
	LimitsClash            // limits cannot be kept, each alone or together
	WantedClash            // pairs that he wants and limits cannot be kept together
	RelatedClash           // no set as large is related so little
	NoneFound              // no set was found, and none was ruled out
)

// perStep turns a weight (young a pair for 1 in 100) into the price of one whole unit of the mean relatedness of all pairs.
func (p *PairPlan) perStep() float64 {
	n := min(len(p.Cocks), len(p.Hens))
	if p.Query.Most > 0 {
		n = min(n, p.Query.Most)
	}
	return 100 * float64(n)
}

// pose writes the room as a problem, or says which rules clash.
func (p *PairPlan) pose(d *Desk) {
	m, q := p.Matings, p.Query
	x := &pairing.Problem{Pairs: q.Most, Mix: q.Next, Price: q.Weight * p.perStep(), Most: q.Related, Kinship: m.kin}
	for i := range m.Cocks {
		var worth []float64
		var no []bool
		for j := range m.Hens {
			worth, no = append(worth, m.Cells[i][j].Young), append(no, m.Cells[i][j].Forbidden != "")
		}
		x.Worth, x.Forbidden = append(x.Worth, worth), append(x.Forbidden, no)
	}
	p.problem = x
	p.lock()
	for _, s := range q.Shows {
		p.limit(pairing.AtMost(each(m, func(i, j int) bool {
			return showsLook(m.Cocks[i].Bird, s.Look) || showsLook(m.Hens[j].Bird, s.Look)
		}), s.Most), "at most %d pairs with a %s bird", s.Most, s.Look)
	}
	if q.Sibs > 0 {
		p.broods(d)
	}
	if q.Wishes == 0 {
		return
	}
	for _, w := range d.Room.Whole().Wished {
		if w.Species == q.Species {
			amount := each(m, func(i, j int) float64 { return m.Cells[i][j].gives(w) })
			p.limit(pairing.Limit{Amount: amount, Least: float64(w.Count), Most: math.Inf(1), Price: q.Wishes}, "%d young that are %s", w.Count, w.Look)
		}
	}
}

// limit adds a limit, and what it is called.
func (p *PairPlan) limit(l pairing.Limit, format string, args ...any) {
	p.problem.Limits, p.limits = append(p.problem.Limits, l), append(p.limits, fmt.Sprintf(format, args...))
}

// each fills a table by cock, then hen.
func each[T any](m *Matings, cell func(i, j int) T) [][]T {
	out := make([][]T, len(m.Cocks))
	for i := range out {
		for j := range m.Hens {
			out[i] = append(out[i], cell(i, j))
		}
	}
	return out
}

// lock holds the pairs that are tried out, and those that are ruled. What is tried out goes before a rule, which is then said;
// two rules, or two trials, for one bird are refused.
func (p *PairPlan) lock() {
	m := p.Matings
	var ruled, tried []Couple
	for i, cock := range m.Cocks {
		for j, hen := range m.Hens {
			cell, try := m.Cells[i][j], slices.Contains(p.Query.Insist, [2]aviary.ID{cock.Bird.ID, hen.Bird.ID})
			switch {
			case !cell.Wanted && !try:
				continue
			case cell.Forbidden != "":
				want := "want together"
				if try {
					want = "try out"
				}
				p.Unkept = append(p.Unkept, fmt.Sprintf("%s and %s, whom you %s, are forbidden: %s.", cock.Bird.Label(), hen.Bird.Label(), want, cell.Forbidden))
				continue
			case cell.Wanted:
				ruled = append(ruled, Couple{Cock: i, Hen: j})
			}
			if try {
				tried = append(tried, Couple{Cock: i, Hen: j})
			}
		}
	}
	if b := m.twice(ruled); b != nil {
		p.Clash = PairClash{RulesClash, fmt.Sprintf("by your rules %s is to be with two birds at once; take one of the rules back", b.Label())}
		return
	}
	if b := m.twice(tried); b != nil {
		p.Clash = PairClash{TriesClash, fmt.Sprintf("%s is tried out with two birds at once; leave one of them out", b.Label())}
		return
	}
	p.problem.Locked = tried
	for _, c := range ruled {
		switch {
		case slices.Contains(tried, c):
		case m.twice(append(slices.Clone(tried), c)) != nil:
			p.Unkept = append(p.Unkept, fmt.Sprintf("Your rule for %s and %s is set aside while one of them is tried out with another.", m.Cocks[c.Cock].Bird.Label(), m.Hens[c.Hen].Bird.Label()))
		default:
			p.problem.Locked = append(p.problem.Locked, c)
		}
	}
}

// twice returns a bird that is in two of the pairs, or nil.
func (m *Matings) twice(pairs []Couple) *aviary.Bird {
	for a, x := range pairs {
		for _, y := range pairs[:a] {
			switch {
			case x.Hen == y.Hen:
				return m.Hens[x.Hen].Bird
			case x.Cock == y.Cock:
				return m.Cocks[x.Cock].Bird
			}
		}
	}
	return nil
}

// broods limits how many birds are paired of each sire and dam of whom there are more.
func (p *PairPlan) broods(d *Desk) {
	type brood struct{ cocks, hens []int }
	m, broods := p.Matings, map[[2]aviary.ID]*brood{}
	var order [][2]aviary.ID
	of := func(b *aviary.Bird) *brood {
		l := d.Room.Parents(b.ID)
		if l.Sire == (aviary.ID{}) || l.Dam == (aviary.ID{}) {
			return &brood{} // nobody knows its brothers and sisters
		}
		k := [2]aviary.ID{l.Sire, l.Dam}
		if broods[k] == nil {
			broods[k], order = &brood{}, append(order, k)
		}
		return broods[k]
	}
	for i := range m.Cocks {
		x := of(m.Cocks[i].Bird)
		x.cocks = append(x.cocks, i)
	}
	for j := range m.Hens {
		x := of(m.Hens[j].Bird)
		x.hens = append(x.hens, j)
	}
	label := func(id aviary.ID) string {
		if b := d.Room.Bird(id); b != nil {
			return b.Label()
		}
		return "a bird that is not in the books"
	}
	for _, k := range order {
		if x, most := broods[k], p.Query.Sibs; len(x.cocks)+len(x.hens) > most {
			p.limit(pairing.FewOf(len(m.Cocks), len(m.Hens), x.cocks, x.hens, most), "at most %d young of %s and %s", most, label(k[0]), label(k[1]))
		}
	}
}

// showsLook reports whether a bird shows a look, of whatever trait, as last seen.
func showsLook(b *aviary.Bird, look string) bool {
	for _, l := range b.Looks {
		if lookHas(lastLook(b, l.Trait), look) {
			return true
		}
	}
	return false
}

// lookHas reports whether a look of several parts, with commas between, has one of them.
func lookHas(look, part string) bool {
	for x := range strings.SplitSeq(look, ",") {
		if strings.EqualFold(strings.TrimSpace(x), strings.TrimSpace(part)) {
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

// clash says what keeps any set from being made.
func (p *PairPlan) clash() PairClash {
	var names []string
	for _, k := range p.plan.Clash {
		names = append(names, p.limits[k])
	}
	switch {
	case p.plan.Status == pairing.NotFound:
		return PairClash{NoneFound, "no set that keeps all limits was found, and none was ruled out"}
	case len(names) == 1:
		return PairClash{LimitsClash, "this limit cannot be kept: " + names[0]}
	case len(names) > 1:
		return PairClash{LimitsClash, "these limits cannot be kept together: " + strings.Join(names, "; ")}
	case p.Query.Related > 0 && (p.Query.Most == 0 || len(p.problem.Locked) <= p.Query.Most):
		return PairClash{RelatedClash, fmt.Sprintf("no set of so many pairs is related by %v or less", p.Query.Related)}
	}
	return PairClash{WantedClash, "the pairs that you want and the limits cannot be kept together"}
}
