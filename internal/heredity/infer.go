package heredity

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Method says how a marginal was worked out.
type Method int8

// Exact marginals carry rounding error only; Gibbs marginals a Monte Carlo error.
const (
	Exact Method = iota
	Gibbs
)

// String returns the method as tables write it.
func (m Method) String() string { return [...]string{"exact", "gibbs"}[m] }

// Options steer [Infer]. The zero value is ready for use.
type Options struct {
	// LookError is the chance that a look is written down wrongly, for traits that set
	// none of their own. 0 takes every look at its word.
	LookError float64
	// MaxCells bounds the largest table of the exact road; 0 is 20 million, which is
	// 160 MB.
	MaxCells int
	// Rand is used where the exact road is too wide. Without it such records are refused
	// with a [*TooWideError].
	Rand *rand.Rand
	// Sweeps is the number of Gibbs sweeps in each of eight chains; 0 is 200.
	Sweeps int
	// Doubts are the chances of mistakes by which the likeliest culprit of a clash is
	// found; the zero value is what wild and captive zebra finches do: see usualDoubts.
	Doubts Doubts
}

func (o Options) maxCells() float64 {
	if o.MaxCells > 0 {
		return float64(o.MaxCells)
	}
	return 2e7
}

// A TooWideError says that the exact road is too wide and that no random source was
// given for the other.
type TooWideError struct{ Cells float64 }

// Error returns a sentence.
func (e *TooWideError) Error() string {
	return fmt.Sprintf("These birds are bred so closely into each other that the exact answer needs a table of %.2g cells. Give a random source for an approximate one.", e.Cells)
}

// A StuckError says that sampling found no state that the records allow.
type StuckError struct{}

// Error returns a sentence.
func (e *StuckError) Error() string {
	return "These birds are bred so closely into each other that no set of genotypes that fits all records was found. Look at the records for a mistake, or allow for mistakes in the looks."
}

// A Marginal is what a bird may be at one locus. Cock and Hen hold the probabilities of
// the bird being that sex and having each genotype of [Model.Genotypes]; all of them add
// up to 1. A bird of known sex has zeros under the other.
type Marginal struct {
	Cock, Hen []float64
	// Method is how they were found. CockError and HenError are Monte Carlo standard
	// errors, nil if exact.
	Method              Method
	CockError, HenError []float64
}

// Of returns the probabilities for one sex.
func (m Marginal) Of(s Sex) []float64 {
	if s == Hen {
		return m.Hen
	}
	return m.Cock
}

// A Posterior is what birds may be, given all records.
type Posterior struct {
	// LogLik is the log probability of all looks and words, given the pedigree. It is
	// meaningful if Exact.
	LogLik float64
	Exact  bool // every marginal is exact
	// Assumed says, in sentences, what had to be filled in.
	Assumed []string

	model *Model
	sexes []Sex        // settled sexes
	birds [][]Marginal // by bird and locus
}

// At returns what a bird may be at a locus. The slices are shared: do not change them.
func (p *Posterior) At(bird, locus int) Marginal { return p.birds[bird][locus] }

// Sex returns a bird's sex: as given, or settled by being a sire or dam.
func (p *Posterior) Sex(bird int) Sex { return p.sexes[bird] }

// Carrier returns the probability that a bird has one copy or more of an allele, whether
// or not it shows.
func (p *Posterior) Carrier(bird, locus, allele int) float64 {
	return p.copies(bird, locus, allele, 1)
}

// Split returns the probability that a bird has one copy of an allele beside another
// one. It is 0 for a hen at a Z locus.
func (p *Posterior) Split(bird, locus, allele int) float64 {
	l := &p.model.Loci[locus]
	sum := 0.0
	for _, s := range []Sex{Cock, Hen} {
		if l.Chromosome == Z && s == Hen {
			continue
		}
		for k, c := range p.model.Copies(locus, allele, s) {
			if c == 1 {
				sum += p.At(bird, locus).Of(s)[k]
			}
		}
	}
	return min(1, sum)
}

func (p *Posterior) copies(bird, locus, allele, least int) float64 {
	sum := 0.0
	for _, s := range []Sex{Cock, Hen} {
		for k, c := range p.model.Copies(locus, allele, s) {
			if c >= least {
				sum += p.At(bird, locus).Of(s)[k]
			}
		}
	}
	return min(1, sum)
}

// Infer returns the posterior genotype of every bird at every locus, given the pedigree,
// the looks of all birds and what was said of them.
//
// Errors: a [*FlockError] for rows that cannot be a flock, a [*ConflictError] for records
// that cannot all be true, a [*TooWideError] or a [*StuckError] where neither road leads
// on, or the context's error. Time and memory grow with the largest table, which is small
// where a pedigree has few loops.
func Infer(ctx context.Context, m *Model, birds []Bird, o Options) (*Posterior, error) {
	fam, err := newFamily(m, birds)
	if err != nil {
		return nil, err
	}
	b := &builder{meiosis: newMeiosis(m.filled()), birds: birds, fam: fam, lookError: o.LookError}
	n := b.build(records(birds), nil)
	s := &solver{ctx: ctx, n: n, o: o}
	if err := s.solve(); err != nil {
		if _, stuck := err.(*StuckError); stuck || err == errImpossible {
			return nil, conflict(ctx, m, birds, o)
		}
		return nil, err
	}
	return s.posterior(b, m), nil
}

// A solver finds the marginals of a network.
type solver struct {
	ctx context.Context
	n   *network
	o   Options

	marg   [][]float64 // by variable and open state
	se     [][]float64 // Monte Carlo errors, nil where exact
	logLik float64
	exact  bool
}

type solveError string

func (e solveError) Error() string { return string(e) }

const errImpossible = solveError("heredity: the records cannot all be true")

func (s *solver) solve() error {
	n := s.n
	if n.prune() >= 0 {
		return errImpossible
	}
	s.marg, s.se = make([][]float64, len(n.dom)), make([][]float64, len(n.dom))
	s.exact = true
	s.logLik = n.certain()
	for v, d := range n.dom {
		if len(d) == 1 {
			s.marg[v] = []float64{1}
		}
	}
	for _, comp := range n.components(nil) {
		if err := s.ctx.Err(); err != nil {
			return err
		}
		t := n.best(comp, s.o.maxCells())
		if s.fits(t) {
			if err := s.run(t, true); err != nil {
				return err
			}
			continue
		}
		if err := s.wide(comp, t.largest); err != nil {
			return err
		}
	}
	return nil
}

// fits reports whether a plan keeps within the bound, with all its tables held at once
// within twice that.
func (s *solver) fits(t *tree) bool {
	return t.largest <= s.o.maxCells() && t.total <= 2*s.o.maxCells()
}

// certain is the log weight of what has one state only.
func (n *network) certain() float64 {
	logP := 0.0
	for v, d := range n.dom {
		if len(d) == 1 && n.unary[v] != nil {
			logP += math.Log(n.unary[v][d[0]])
		}
	}
	for _, f := range n.factors {
		k, open := 0, false
		for _, v := range f.vars {
			k = k*n.size[v] + int(n.dom[v][0])
			open = open || len(n.dom[v]) > 1
		}
		if !open {
			logP += math.Log(f.tab[k])
		}
	}
	return logP
}

// run eliminates a component inward and outward and keeps the marginals that are not yet
// known; the likelihood counts once.
func (s *solver) run(t *tree, count bool) error {
	r := newRun(s.n, t)
	if !r.up() {
		return errImpossible
	}
	if count {
		s.logLik += r.logZ
	}
	r.down()
	for i, v := range t.order {
		if s.marg[v] == nil {
			s.marg[v] = make([]float64, len(s.n.dom[v]))
			r.marginal(i, s.marg[v])
		}
	}
	return nil
}

// wide answers for a component that is too wide as a whole: what carries evidence first,
// then each variable without evidence together with that, and by sampling what is still
// too wide.
func (s *solver) wide(comp []int32, cells float64) error {
	n := s.n
	core := n.informative()
	in := make([]bool, len(n.dom))
	for _, v := range comp {
		in[v] = core[v]
	}
	for _, part := range n.components(in) {
		t := n.best(part, s.o.maxCells())
		if !s.fits(t) {
			return s.gibbs(comp, cells)
		}
		if err := s.run(t, true); err != nil {
			return err
		}
	}
	for i := len(comp) - 1; i >= 0; i-- { // young come after their parents
		v := comp[i]
		if s.marg[v] != nil {
			continue
		}
		if err := s.ctx.Err(); err != nil {
			return err
		}
		keep := slices.Clone(in)
		keep[v] = true
		n.close(keep, []int32{v})
		for _, part := range n.components(keep) {
			if !slices.Contains(part, v) {
				continue
			}
			t := n.best(part, s.o.maxCells())
			if !s.fits(t) {
				return s.gibbs(comp, cells)
			}
			if err := s.run(t, false); err != nil {
				return err
			}
		}
	}
	return nil
}

// posterior puts the marginals of variables in terms of birds and loci.
func (s *solver) posterior(b *builder, m *Model) *Posterior {
	p := &Posterior{LogLik: s.logLik, Exact: s.exact, Assumed: m.Assumed(), model: m}
	if !s.exact {
		p.LogLik = 0
	}
	for i := range b.fam.given {
		sex := b.fam.birds[i].sex
		p.sexes = append(p.sexes, sex)
		row := make([]Marginal, len(m.Loci))
		for gi := range b.groups {
			g := &b.groups[gi]
			v := b.g[i][gi]
			kind := b.kind(i, gi)
			for k, l := range g.loci {
				mg := Marginal{
					Cock: make([]float64, m.Loci[l].states(Cock)),
					Hen:  make([]float64, m.Loci[l].states(Hen)),
				}
				if s.se[v] != nil {
					mg.Method = Gibbs
					mg.CockError, mg.HenError = make([]float64, len(mg.Cock)), make([]float64, len(mg.Hen))
				}
				for j, st := range s.n.dom[v] {
					at, state := b.which(gi, kind, int(st))
					add := func(at Sex, w float64) {
						geno := g.at(b.Model, at, state, k)
						mg.Of(at)[geno] += w * s.marg[v][j]
						if mg.Method == Gibbs {
							se := mg.CockError
							if at == Hen {
								se = mg.HenError
							}
							// States of one genotype need not be independent: their
							// errors add up at most.
							se[geno] += w * s.se[v][j]
						}
					}
					if sex == Unsexed && kind == cockStates {
						// Nothing joins this locus to what tells the sexes apart.
						for _, half := range []Sex{Cock, Hen} {
							add(half, s.sexOf(b, i, half))
						}
						continue
					}
					add(at, 1)
				}
				row[l] = mg
			}
		}
		p.birds = append(p.birds, row)
	}
	return p
}

// sexOf is the probability that an unsexed bird is of a sex.
func (s *solver) sexOf(b *builder, bird int, sex Sex) float64 {
	v := b.sex[bird]
	for j, st := range s.n.dom[v] {
		if int(st) == int(sex-Cock) {
			return s.marg[v][j]
		}
	}
	return 0
}

// Joint returns the joint distribution of one bird over all loci, given all records: what
// [Cross] takes. The exact road has to be open for it.
func Joint(ctx context.Context, m *Model, birds []Bird, bird int, o Options) ([]Possible, error) {
	fam, err := newFamily(m, birds)
	if err != nil {
		return nil, err
	}
	b := &builder{meiosis: newMeiosis(m.filled()), birds: birds, fam: fam, lookError: o.LookError}
	n := b.build(records(birds), nil)
	if n.prune() >= 0 {
		return nil, conflict(ctx, m, birds, o)
	}
	mine := slices.Clone(b.g[bird])
	if b.sex[bird] >= 0 {
		mine = append(mine, b.sex[bird])
	}
	// Each set of the bird's variables that hang together is kept in one table by a
	// factor of ones.
	type part struct {
		vars []int32
		p    []float64 // over open states, the last running fastest
	}
	var parts []part
	for _, comp := range n.components(nil) {
		var own []int32
		for _, v := range mine {
			if slices.Contains(comp, v) {
				own = append(own, v)
			}
		}
		if len(own) == 0 {
			continue
		}
		size := 1
		for _, v := range own {
			size *= n.size[v]
		}
		if size > maxYoung {
			return nil, &TooWideError{float64(size)}
		}
		ones := make([]float64, size)
		for i := range ones {
			ones[i] = 1
		}
		n.factor(-1, ones, own...)
		t := n.best(comp, o.maxCells())
		if t.largest > o.maxCells() {
			return nil, &TooWideError{t.largest}
		}
		r := newRun(n, t)
		if !r.up() {
			return nil, conflict(ctx, m, birds, o)
		}
		r.down()
		pt := part{vars: own, p: make([]float64, 1)}
		for _, v := range own {
			pt.p = make([]float64, len(pt.p)*len(n.dom[v]))
		}
		for i := range t.order {
			all := append(slices.Clone(t.sep[i]), t.order[i])
			if slices.ContainsFunc(own, func(v int32) bool { return !slices.Contains(all, v) }) {
				continue
			}
			r.collect(i, own, pt.p)
			break
		}
		parts = append(parts, pt)
	}
	var out []Possible
	state := map[int32]int32{}
	for _, v := range mine {
		state[v] = n.dom[v][0]
	}
	total := 0
	var walk func(k int, p float64) error
	walk = func(k int, p float64) error {
		if k == len(parts) {
			if total++; total > maxYoung {
				return &TooWideError{float64(total)}
			}
			out = append(out, b.genomes(bird, state, p)...)
			return nil
		}
		for i, x := range parts[k].p {
			if x == 0 {
				continue
			}
			for j, c := len(parts[k].vars)-1, i; j >= 0; j-- {
				v := parts[k].vars[j]
				d := len(n.dom[v])
				state[v], c = n.dom[v][c%d], c/d
			}
			if err := walk(k+1, p*x); err != nil {
				return err
			}
		}
		return nil
	}
	return out, walk(0, 1)
}

// collect adds the table of a position up over all but the variables asked for.
func (r *run) collect(i int, vars []int32, dst []float64) {
	r.enter(i)
	for d := range r.dims {
		r.off[d] = nil
	}
	stride := int32(1)
	for k := len(vars) - 1; k >= 0; k-- {
		n := len(r.n.dom[vars[k]])
		o := make([]int32, n)
		for j := range o {
			o[j] = int32(j) * stride
		}
		r.off[r.at[vars[k]]] = o
		stride *= int32(n)
	}
	pot := r.pot[i]
	r.walk(0, func(p int, q int32, last []int32) {
		for j := range r.dims[len(r.dims)-1] {
			k := q
			if last != nil {
				k += last[j]
			}
			dst[k] += pot[p+j]
		}
	})
	r.leave(i)
}

// genomes returns the genomes that states of a bird's variables stand for: one, or one
// for each sex if nothing tells it.
func (b *builder) genomes(bird int, state map[int32]int32, p float64) []Possible {
	sexes := []Sex{b.fam.birds[bird].sex}
	if v := b.sex[bird]; v >= 0 {
		sexes[0] = Sex(state[v]) + Cock
	}
	var out []Possible
	for _, s := range sexes {
		g := Genome{s, make([]int, len(b.Loci)), make([]int, len(b.Loci))}
		for gi := range b.groups {
			_, st := b.which(gi, b.kind(bird, gi), int(state[b.g[bird][gi]]))
			b.write(gi, st, g)
		}
		out = append(out, Possible{g, p})
	}
	return out
}
