package advice

import (
	"context"
	"fmt"
	"math"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/heredity"
	"broodlight/internal/pedigree"
	"broodlight/internal/species"
)

// MatingQuery says for whom pairs are sought.
type MatingQuery struct {
	Species string
	All     bool    // birds that are paired now too, as for a season to come
	Closest float64 // kinship from which a mating is forbidden; 0 takes CloseKin
}

// Matings is every cock and hen of a species that may be paired, and what speaks for and against each two of them.
type Matings struct {
	Query       MatingQuery
	Species     *species.Profile
	Cocks, Hens []Mate
	Cells       [][]Mating // by cock, then hen
	Out         []LeftOut
	Problem     string // why none can be worked out
	// Usual is the young that a pair of this room weans in a season, with what that rests on.
	Usual Yield
	// Colours is what the species' birds hide, for the looks of young; its Answer may be nil.
	Colours *Colours
	Limit   float64

	kin [][]float64 // kinship of all of them with each other, cocks first
}

// Mate is a bird that may be paired.
type Mate struct {
	Bird     *aviary.Bird
	Row      int // in the flock
	Seasons  int // in which it was of a pair that laid
	Weaned   int // young of pairs that it was of
	With     *aviary.Bird
	Place    *aviary.Place
	Clutches int
}

// Bred reports whether the bird has been of a pair that laid.
func (m Mate) Bred() bool { return m.Seasons > 0 }

// LeftOut is a bird that is not offered, and why.
type LeftOut struct {
	Bird *aviary.Bird
	Why  string
}

// Mating is one cock with one hen.
type Mating struct {
	Kinship, KinshipZ float64
	Forbidden         string // why they are not put together, in a word or two; "" when they may be
	Wanted            bool   // by the keeper's rule
	Together          bool   // they are a pair now
	Proven            bool   // they have weaned young together
	Young, YoungSD    float64
	Basis             string // what Young rests on
	Looks             []LookShare
	Lost              float64 // share of the eggs in which the young dies because of its genes
	Notes             []string
}

// LookShare is a look of young with its share.
type LookShare struct {
	Sex   aviary.Sex
	Look  string
	Share float64
}

// Yield is young weaned a pair and season.
type Yield struct {
	Mean  float64
	Pairs int // pair-seasons that it rests on
	Young int
	Basis string
}

// Weights of what is expected before a room or bird has shown anything, in pair-seasons, and the bounds within which one bird
// moves the young of a pair. The form is a gamma-Poisson shrinkage; the weights are common practice, no source.
const (
	priorPairs  = 2.0
	leastFactor = 0.4
	mostFactor  = 1.8
	// firstTimers is what two birds that have never bred wean beside an experienced pair, before the room tells. Common
	// practice, no source.
	firstTimers = 0.75
)

// Matings works out who may be paired with whom.
func (d *Desk) Matings(ctx context.Context, q MatingQuery) (*Matings, error) {
	out := &Matings{Query: q, Species: d.Cat.BySlug(q.Species), Limit: q.Closest}
	if out.Limit == 0 {
		out.Limit = CloseKin
	}
	c, err := d.Colours(ctx, q.Species)
	if err != nil {
		return nil, err
	}
	out.Colours = c
	f := c.Flock
	if f.Problem != "" {
		out.Problem = f.Problem
		return out, nil
	}
	past := d.yields(q.Species)
	out.Usual = past.usual()
	for row, b := range f.Birds {
		if !b.Here() {
			continue
		}
		if why := d.notPaired(b, q.All); why != "" {
			out.Out = append(out.Out, LeftOut{b, why})
			continue
		}
		m := Mate{Bird: b, Row: row, Place: d.Room.Place(b.Place()), Seasons: past.bird[b.ID].pairs, Weaned: past.bird[b.ID].young}
		if b.Sex == aviary.Cock {
			out.Cocks = append(out.Cocks, m)
		} else {
			out.Hens = append(out.Hens, m)
		}
	}
	var cocks, hens []int
	for _, m := range out.Cocks {
		cocks = append(cocks, m.Row)
	}
	for _, m := range out.Hens {
		hens = append(hens, m.Row)
	}
	if len(cocks) == 0 || len(hens) == 0 {
		return out, nil
	}
	if out.kin, err = pedigree.KinshipMatrix(ctx, f.Pedigree, slices.Concat(cocks, hens)); err != nil {
		return nil, err
	}
	z, err := pedigree.KinshipBlockZ(ctx, f.Pedigree, cocks, hens)
	if err != nil {
		return nil, err
	}
	may := map[int][]heredity.Possible{}
	if c.Answer != nil {
		for _, row := range slices.Concat(cocks, hens) {
			may[row] = c.possible(row)
		}
	}
	for i := range out.Cocks {
		var line []Mating
		for j := range out.Hens {
			m := Mating{Kinship: out.kin[i][len(cocks)+j], KinshipZ: z[i][j]}
			if err := d.mating(&m, out, past, may, i, j); err != nil {
				return nil, err
			}
			line = append(line, m)
		}
		out.Cells = append(out.Cells, line)
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// notPaired says why a bird is not offered for a pair, or "".
func (d *Desk) notPaired(b *aviary.Bird, all bool) string {
	if b.Sex == "" {
		return "sex not known"
	}
	if !d.Grown(b) {
		return "too young"
	}
	if h := b.HeldOn(d.Today); h != nil {
		why := "kept out of pairs"
		if h.Why != "" {
			why += ": " + h.Why
		}
		if h.Until != 0 {
			why += ", until " + h.Until.Short()
		}
		return why
	}
	if p := d.Room.Place(b.Place()); p != nil {
		switch {
		case p.Type == aviary.Hospital || p.Type == aviary.Quarantine:
			return "in " + string(p.Type)
		case p.BlockedUntil > d.Today:
			return p.Name + " is closed until " + p.BlockedUntil.Short()
		}
	}
	if all {
		return ""
	}
	for _, p := range d.Room.PairsOf(b.ID) {
		if p.Stands(d.Today) {
			return "paired in " + d.placeName(p.Place)
		}
	}
	if b.Sex == aviary.Hen && len(d.restWarnings(b, d.Today)) > 0 {
		return "has had her clutches of this season"
	}
	return ""
}

func (d *Desk) placeName(id aviary.ID) string {
	if p := d.Room.Place(id); p != nil {
		return p.Name
	}
	return "a place no longer in use"
}

// mating fills in one cock with one hen.
func (d *Desk) mating(m *Mating, all *Matings, past *yields, may map[int][]heredity.Possible, i, j int) error {
	cock, hen := all.Cocks[i], all.Hens[j]
	rule := cock.Bird.RuleWith(hen.Bird.ID)
	switch {
	case rule != nil && rule.Rule == "apart":
		m.Forbidden = "your rule"
		if rule.Why != "" {
			m.Forbidden += ": " + rule.Why
		}
	case m.Kinship >= all.Limit:
		m.Forbidden = d.kinTo(cock.Bird, hen.Bird)
	}
	m.Wanted = rule != nil && rule.Rule == "together"
	for _, p := range d.Room.PairsOf(cock.Bird.ID) {
		if p.Stands(d.Today) && slices.Contains(p.Birds(), hen.Bird.ID) {
			m.Together = true
		}
	}
	pair := past.pair[[2]aviary.ID{cock.Bird.ID, hen.Bird.ID}]
	m.Proven = pair.young > 0
	m.Young, m.YoungSD, m.Basis = past.expect(cock, hen, all.Usual)
	switch {
	case m.Proven:
		m.Notes = append(m.Notes, fmt.Sprintf("They weaned %d young together in %s.", pair.young, count(pair.pairs, "season", "seasons")))
	case pair.pairs > 0:
		m.Notes = append(m.Notes, fmt.Sprintf("They were together for %s and weaned none.", count(pair.pairs, "season", "seasons")))
	case !cock.Bred() && !hen.Bred():
		m.Notes = append(m.Notes, "Both breed for the first time: expect fewer young.")
	}
	m.Notes = append(m.Notes, all.pairNotes(cock.Bird, hen.Bird)...)
	if c := all.Colours; c.Answer != nil {
		young, err := heredity.Cross(c.Model, may[cock.Row], may[hen.Row])
		if err != nil {
			return err
		}
		m.Lost = (young.Lost[heredity.Cock] + young.Lost[heredity.Hen]) / 2
		m.Looks = c.lookShares(young)
		if m.Lost > 0.005 {
			m.Notes = append(m.Notes, fmt.Sprintf("%.0f in 100 of the eggs would die because of their genes.", 100*m.Lost))
			m.Young *= 1 - m.Lost
		}
	}
	return nil
}

// pairNotes is what is published of pairs whose looks differ as these two do.
func (m *Matings) pairNotes(cock, hen *aviary.Bird) []string {
	if m.Species == nil {
		return nil
	}
	var out []string
	for _, n := range m.Species.PairNotes {
		if n.Differ(lastLook(cock, n.Trait), lastLook(hen, n.Trait)) {
			out = append(out, fmt.Sprintf("%s (%s)", n.Note, n.Source))
		}
	}
	return out
}

// lastLook is what a bird showed of a trait when it was last looked at, or "".
func lastLook(b *aviary.Bird, trait string) string {
	for _, l := range slices.Backward(b.Looks) {
		if l.Trait == trait {
			return l.Look
		}
	}
	return ""
}

// lookShares are the looks of young that differ, by sex where sexes differ, commonest first.
func (c *Colours) lookShares(y *heredity.Young) []LookShare {
	var out []LookShare
	for _, s := range y.ByLooks() {
		name := ""
		for t, k := range s.Looks {
			if k == heredity.Unseen {
				continue
			}
			look := c.Model.Traits[t].Looks[k].Name
			if look == "normal" && len(s.Looks) > 1 {
				continue
			}
			if name != "" {
				name += ", "
			}
			name += look
		}
		if name == "" {
			name = "normal"
		}
		sex := aviary.Cock
		if s.Sex == heredity.Hen {
			sex = aviary.Hen
		}
		if k := slices.IndexFunc(out, func(x LookShare) bool { return x.Sex == sex && x.Look == name }); k >= 0 {
			out[k].Share += s.P
			continue
		}
		out = append(out, LookShare{sex, name, s.P})
	}
	slices.SortStableFunc(out, func(a, b LookShare) int { return compareDown(a.Share, b.Share) })
	return out
}

// kinTo says what a hen is to a cock, in a word, as far as the lines show it.
func (d *Desk) kinTo(cock, hen *aviary.Bird) string {
	none := aviary.ID{}
	c, h := d.Room.Parents(cock.ID), d.Room.Parents(hen.ID)
	same := func(a, b aviary.ID) bool { return a != none && a == b }
	sibs := func(a, b aviary.Line) int {
		n := 0
		if same(a.Sire, b.Sire) {
			n++
		}
		if same(a.Dam, b.Dam) {
			n++
		}
		return n
	}
	switch {
	case c.Dam == hen.ID:
		return "dam"
	case h.Sire == cock.ID:
		return "daughter"
	case sibs(c, h) == 2:
		return "sister"
	case sibs(c, h) == 1:
		return "half-sister"
	}
	for _, p := range []aviary.ID{c.Sire, c.Dam} {
		if p != none && sibs(d.Room.Parents(p), h) == 2 {
			return "aunt"
		}
		if l := d.Room.Parents(p); p != none && l.Dam == hen.ID {
			return "granddam"
		}
	}
	for _, p := range []aviary.ID{h.Sire, h.Dam} {
		if p != none && sibs(d.Room.Parents(p), c) == 2 {
			return "niece"
		}
		if l := d.Room.Parents(p); p != none && l.Sire == cock.ID {
			return "grand\u00addaughter" // it may be parted there in a narrow cell
		}
	}
	return "close kin"
}

// ---- young expected ----

// yield is young weaned in so many pair-seasons.
type yield struct{ pairs, young int }

// yields are what pairs of a species weaned in the seasons that are over, and what those of first-timers did.
type yields struct {
	all, first yield
	bird       map[aviary.ID]yield
	pair       map[[2]aviary.ID]yield
	species    *species.Profile
}

// yields counts the young weaned of every laying pair of a species by season, in seasons that are over, or in pairs that have
// ended.
func (d *Desk) yields(slug string) *yields {
	out := &yields{bird: map[aviary.ID]yield{}, pair: map[[2]aviary.ID]yield{}, species: d.Cat.BySlug(slug)}
	type key struct {
		cock, hen aviary.ID
		season    aviary.Date
	}
	young := map[key]int{}
	var order []key
	for _, p := range d.Room.EveryPlace() {
		for _, c := range p.Clutches {
			pair := d.Room.LayingPair(c)
			if pair == nil || len(pair.Cocks) != 1 || len(pair.Hens) != 1 || c.Found {
				continue
			}
			hen := d.Room.Bird(pair.Hens[0])
			if hen == nil || hen.Species != slug {
				continue
			}
			season := d.SeasonOn(c.First)
			if season.Contains(d.Today) && pair.Stands(d.Today) {
				continue // it is still under way
			}
			k := key{pair.Cocks[0], pair.Hens[0], season.From}
			if _, ok := young[k]; !ok {
				order = append(order, k)
			}
			young[k] += c.Weaned
		}
	}
	slices.SortStableFunc(order, func(a, b key) int { return int(a.season - b.season) })
	plus := func(y yield, n int) yield { return yield{y.pairs + 1, y.young + n} }
	for _, k := range order {
		n := young[k]
		if out.bird[k.cock].pairs == 0 && out.bird[k.hen].pairs == 0 {
			out.first = plus(out.first, n)
		}
		out.all = plus(out.all, n)
		out.bird[k.cock], out.bird[k.hen] = plus(out.bird[k.cock], n), plus(out.bird[k.hen], n)
		out.pair[[2]aviary.ID{k.cock, k.hen}] = plus(out.pair[[2]aviary.ID{k.cock, k.hen}], n)
	}
	return out
}

// usual is what a pair weans in a season: the room's own mean, with two pair-seasons of one full clutch's young beside it.
func (y *yields) usual() Yield {
	prior := 3.0
	basis := "no figure for this species; three young are taken"
	if y.species != nil {
		if v, ok := y.species.Value(species.ClutchSize); ok {
			if _, typical, _, ok := v.Span(); ok {
				prior, basis = 0.6*typical*2, fmt.Sprintf("two clutches of %.1f eggs of which 6 in 10 are weaned: common practice, no source", typical)
			}
		}
	}
	out := Yield{Pairs: y.all.pairs, Young: y.all.young, Mean: (float64(y.all.young) + priorPairs*prior) / (float64(y.all.pairs) + priorPairs)}
	out.Basis = fmt.Sprintf("%d young of %s and season in this room, with the weight of %.0f pairs of %s", y.all.young, count(y.all.pairs, "pair", "pairs"), priorPairs, basis)
	return out
}

// expect is the young that a pair may wean in a season, and its standard deviation: each bird moves the room's mean by what its
// own pairs weaned, shrunk towards it; a pair that has bred together is taken by its own results; two first-timers by those of
// first-timers.
func (y *yields) expect(cock, hen Mate, usual Yield) (mean, sd float64, basis string) {
	shrunk := func(x yield, to float64) float64 {
		return (float64(x.young) + priorPairs*to) / (float64(x.pairs) + priorPairs)
	}
	pair := y.pair[[2]aviary.ID{cock.Bird.ID, hen.Bird.ID}]
	var seen int
	switch {
	case pair.pairs > 0:
		mean, seen = shrunk(pair, usual.Mean), pair.pairs
		basis = fmt.Sprintf("%d young of theirs in %s, drawn towards the room's %.1f", pair.young, count(pair.pairs, "season", "seasons"), usual.Mean)
	case !cock.Bred() && !hen.Bred():
		mean, seen = shrunk(y.first, firstTimers*usual.Mean), y.first.pairs
		basis = fmt.Sprintf("%d young of %s of first-timers here, drawn towards three quarters of the room's %.1f", y.first.young, count(y.first.pairs, "pair", "pairs"), usual.Mean)
	default:
		factor := 1.0
		for _, m := range []Mate{cock, hen} {
			if x := y.bird[m.Bird.ID]; x.pairs > 0 {
				factor *= shrunk(x, usual.Mean) / usual.Mean
				seen += x.pairs
			}
		}
		factor = math.Min(math.Max(factor, leastFactor), mostFactor)
		mean = factor * usual.Mean
		basis = fmt.Sprintf("the room's %.1f, moved by what each bird's own pairs weaned (%d and %d seasons)", usual.Mean, cock.Seasons, hen.Seasons)
	}
	// Poisson counts about a mean that is itself known from so many pair-seasons.
	sd = math.Sqrt(mean + mean*mean/(float64(seen)+priorPairs))
	return mean, sd, basis
}
