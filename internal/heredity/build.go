package heredity

import "slices"

// A record is one thing that was written of one bird and can be wrong: a look seen, or
// what was said.
type record struct {
	bird, trait, said int // trait or said is -1
}

func records(birds []Bird) []record {
	var out []record
	for i, b := range birds {
		for t, l := range b.Looks {
			if l != Unseen {
				out = append(out, record{i, t, -1})
			}
		}
		for s := range b.Said {
			out = append(out, record{i, -1, s})
		}
	}
	return out
}

// A builder turns records into a network.
type builder struct {
	*meiosis
	birds     []Bird
	fam       *family
	lookError float64

	net   *network
	g     [][]int32 // variable of each bird and group, or -1
	sex   []int32   // variable of each unknown sex, or -1
	draw  []int32   // variable of each shared draw, or -1
	split []bool    // groups in which the state of an unsexed bird holds its sex

	tables map[tableKey][]float64
}

type tableKey struct {
	what    byte
	a, b, c int
}

// How a variable's states stand for genotypes: those of a cock (or of either sex, off
// the Z), those of a hen, or a cock's followed by a hen's.
const (
	cockStates = iota
	henStates
	bothStates
)

// kind returns how the states of a bird's variable in a group are laid out.
func (b *builder) kind(bird, group int) int {
	switch b.fam.birds[bird].sex {
	case Hen:
		return henStates
	case Unsexed:
		if b.split[group] {
			return bothStates
		}
	}
	return cockStates
}

// count is the number of states of a layout.
func (b *builder) count(group, kind int) int {
	g := &b.groups[group]
	switch kind {
	case henStates:
		return g.states(Hen)
	case bothStates:
		return g.s + g.states(Hen)
	}
	return g.s
}

// which returns sex and state within the sex.
func (b *builder) which(group, kind, k int) (Sex, int) {
	switch {
	case kind == henStates:
		return Hen, k
	case kind == bothStates && k >= b.groups[group].s:
		return Hen, k - b.groups[group].s
	}
	return Cock, k
}

// table returns a shared table, made once.
func (b *builder) table(key tableKey, make func() []float64) []float64 {
	t, ok := b.tables[key]
	if !ok {
		t = make()
		b.tables[key] = t
	}
	return t
}

// layout finds in which groups an unsexed bird's state must hold its sex: those that
// hang together, through looks, draws or sexes, with something that tells the sexes apart.
func (b *builder) layout(recs []record, include []bool) {
	root := newForest(len(b.groups) + 1)
	tells := len(b.groups) // stands for everything that tells sexes apart
	unsexed, draws := false, false
	for i, k := range b.fam.birds {
		if include != nil && !include[i] {
			continue
		}
		unsexed = unsexed || k.sex == Unsexed
		draws = draws || k.draw >= 0
	}
	b.split = make([]bool, len(b.groups))
	if !unsexed {
		return
	}
	for gi := range b.groups {
		if b.groups[gi].z {
			root.join(gi, tells)
		}
		if draws {
			root.join(gi, 0)
		}
	}
	for _, r := range recs {
		if r.trait < 0 {
			continue
		}
		t := &b.Traits[r.trait]
		for _, l := range t.loci {
			root.join(b.in[l], b.in[t.loci[0]])
			if t.sexed {
				root.join(b.in[l], tells)
			}
		}
	}
	for gi := range b.groups {
		b.split[gi] = root.find(gi) == root.find(tells)
	}
}

// build makes the network of some records and of the birds in include (nil: all), which
// must hold every parent of its birds.
func (b *builder) build(recs []record, include []bool) *network {
	b.layout(recs, include)
	b.net = &network{}
	if b.tables == nil {
		b.tables = map[tableKey][]float64{}
	}
	n := len(b.fam.birds)
	b.g, b.sex, b.draw = make([][]int32, n), make([]int32, n), make([]int32, n)
	for i := range n {
		b.sex[i], b.draw[i] = -1, -1
	}
	for _, i := range b.fam.order {
		if include != nil && !include[i] {
			continue
		}
		k := &b.fam.birds[i]
		b.g[i] = make([]int32, len(b.groups))
		if k.sex == Unsexed {
			b.sex[i] = b.net.variable(2, []float64{0.5, 0.5})
		}
		if k.draw >= 0 && b.draw[k.draw] < 0 {
			w := make([]float64, len(k.alts))
			for j, a := range k.alts {
				w[j] = a.Weight
			}
			b.draw[k.draw] = b.net.variable(len(w), w)
		}
		for gi := range b.groups {
			b.addBird(i, gi)
		}
	}
	for _, r := range recs {
		if r.trait >= 0 {
			b.look(r)
		} else {
			b.said(r)
		}
	}
	return b.net
}

// addBird adds the variable of one bird in one group, given its parents.
func (b *builder) addBird(bird, gi int) {
	k := &b.fam.birds[bird]
	g := &b.groups[gi]
	kind := b.kind(bird, gi)
	size := b.count(gi, kind)
	var prior []float64
	if k.alts == nil {
		prior = b.table(tableKey{'f', gi, kind, 0}, func() []float64 {
			p := g.founder(b.Model, Cock)
			switch kind {
			case henStates:
				p = g.founder(b.Model, Hen)
			case bothStates:
				p = append(p, g.founder(b.Model, Hen)...)
			}
			return p
		})
	}
	v := b.net.variable(size, prior)
	b.g[bird][gi] = v
	if kind == bothStates {
		b.net.factor(v, b.table(tableKey{'x', gi, 0, 0}, func() []float64 {
			t := make([]float64, 2*size)
			for s := range size {
				if s < g.s {
					t[s] = 1
				} else {
					t[size+s] = 1
				}
			}
			return t
		}), b.sex[bird], v)
	}
	if k.alts == nil {
		return
	}
	// The size from which a gamete variable of its own pays: found by trial, not critical.
	const large = 2000
	if k.draw < 0 && size*g.s*g.states(Hen) <= large {
		p := k.alts[0]
		if g.z && kind == henStates {
			b.net.factor(v, b.table(tableKey{'t', gi, kind, 0}, func() []float64 { return b.trio(gi, kind) }), v, b.g[p.Sire][gi])
			return
		}
		b.net.factor(v, b.table(tableKey{'t', gi, kind, 0}, func() []float64 { return b.trio(gi, kind) }),
			v, b.g[p.Sire][gi], b.g[p.Dam][gi])
		return
	}
	b.byGametes(bird, gi, kind, v)
}

// given is the chance of a bird's state, among all eggs of its sex, given the chances of
// haplotypes from sire and dam.
func (b *builder) given(gi, kind, state int, sire, dam func(hap int) float64) float64 {
	g := &b.groups[gi]
	s, k := b.which(gi, kind, state)
	x, y := g.haps(s, k)
	switch {
	case y < 0:
		return sire(x)
	case x == y:
		return sire(x) * dam(x)
	}
	return sire(x)*dam(y) + sire(y)*dam(x)
}

// from returns the chances of haplotypes from a parent of that sex in that state.
func (b *builder) from(gi int, s Sex, state int) func(int) float64 {
	g := &b.groups[gi]
	if g.z && s == Hen {
		return func(h int) float64 {
			if h == state {
				return 1
			}
			return 0
		}
	}
	return func(h int) float64 { return g.gam[state][h] }
}

// trio is the table of a bird's state given those of sire and dam (of the sire alone for
// a hen's Z), among the living young of each sex.
func (b *builder) trio(gi, kind int) []float64 {
	g := &b.groups[gi]
	n, nd := b.count(gi, kind), g.states(Hen)
	if g.z && kind == henStates {
		nd = 1
	}
	t := make([]float64, n*g.s*nd)
	for s := range g.s {
		for d := range nd {
			var live [3]float64
			for c := range n {
				sex, k := b.which(gi, kind, c)
				p := b.given(gi, kind, c, b.from(gi, Cock, s), b.from(gi, Hen, d)) * g.survives(b.Model, sex, k)
				t[(c*g.s+s)*nd+d] = p
				live[sex] += p
			}
			if !g.pick {
				continue
			}
			for c := range n {
				sex, _ := b.which(gi, kind, c)
				if live[sex] > 0 {
					t[(c*g.s+s)*nd+d] /= live[sex]
				}
			}
		}
	}
	return t
}

// byGametes adds a bird's state by way of the haplotypes that it has from its parents,
// so that tables stay small where the parents are uncertain or the states many.
func (b *builder) byGametes(bird, gi, kind int, v int32) {
	k := &b.fam.birds[bird]
	g := &b.groups[gi]
	n := b.count(gi, kind)
	hen := g.z && kind == henStates
	roles := []Sex{Cock, Hen}
	if hen {
		roles = roles[:1]
	}
	vars := []int32{v}
	for _, role := range roles {
		hap := b.net.variable(g.h, nil)
		vars = append(vars, hap)
		var done []int
		for _, a := range k.alts {
			parent := a.Sire
			if role == Hen {
				parent = a.Dam
			}
			if slices.Contains(done, parent) {
				continue
			}
			done = append(done, parent)
			np := g.states(role)
			if k.draw < 0 {
				b.net.factor(hap, b.table(tableKey{'m', gi, int(role), 0}, func() []float64 {
					t := make([]float64, g.h*np)
					for s := range np {
						for h := range g.h {
							t[h*np+s] = b.from(gi, role, s)(h)
						}
					}
					return t
				}), hap, b.g[parent][gi])
				continue
			}
			// 1 where another parent is drawn, so that the product over all possible
			// parents is the distribution.
			na := len(k.alts)
			t := make([]float64, na*g.h*np)
			for j, o := range k.alts {
				mine := o.Sire == parent
				if role == Hen {
					mine = o.Dam == parent
				}
				for h := range g.h {
					for s := range np {
						t[(j*g.h+h)*np+s] = 1
						if mine {
							t[(j*g.h+h)*np+s] = b.from(gi, role, s)(h)
						}
					}
				}
			}
			b.net.factor(hap, t, b.draw[k.draw], hap, b.g[parent][gi])
		}
	}
	b.net.factor(v, b.table(tableKey{'c', gi, kind, 0}, func() []float64 {
		t := make([]float64, n*g.h*g.h)
		nh := g.h
		if hen {
			nh = 1
		}
		for c := range n {
			sex, s := b.which(gi, kind, c)
			x, y := g.haps(sex, s)
			live := g.survives(b.Model, sex, s)
			for i := range g.h {
				for j := range nh {
					if (y < 0 && i == x) || (x == i && y == j) || (x == j && y == i && y >= 0) {
						t[(c*g.h+i)*nh+j] = live
					}
				}
			}
		}
		return t[:n*g.h*nh]
	}), vars...)
	if !g.pick {
		return
	}
	for j, a := range k.alts {
		if slices.ContainsFunc(k.alts[:j], func(o Parents) bool { return o.Sire == a.Sire && o.Dam == a.Dam }) {
			continue
		}
		b.perLiving(bird, gi, kind, v, a)
	}
}

// perLiving divides by the share of the eggs of one possible pair that live, in each sex.
func (b *builder) perLiving(bird, gi, kind int, v int32, pair Parents) {
	k := &b.fam.birds[bird]
	g := &b.groups[gi]
	na, nd, n := len(k.alts), g.states(Hen), b.count(gi, kind)
	t := make([]float64, n*na*g.s*nd)
	for s := range g.s {
		for d := range nd {
			var live [3]float64
			for c := range n {
				sex, st := b.which(gi, kind, c)
				live[sex] += b.given(gi, kind, c, b.from(gi, Cock, s), b.from(gi, Hen, d)) * g.survives(b.Model, sex, st)
			}
			for c := range n {
				sex, _ := b.which(gi, kind, c)
				for j, a := range k.alts {
					x := 1.0
					if a.Sire == pair.Sire && a.Dam == pair.Dam {
						x = 0
						if live[sex] > 0 {
							x = 1 / live[sex]
						}
					}
					t[((c*na+j)*g.s+s)*nd+d] = x
				}
			}
		}
	}
	if k.draw < 0 {
		b.net.factor(v, t, v, b.g[pair.Sire][gi], b.g[pair.Dam][gi])
		return
	}
	b.net.factor(v, t, v, b.draw[k.draw], b.g[pair.Sire][gi], b.g[pair.Dam][gi])
}

// look adds what was seen.
func (b *builder) look(r record) {
	t := &b.Traits[r.trait]
	seen := b.birds[r.bird].Looks[r.trait]
	scoring := t.ScoringError
	if scoring == 0 {
		scoring = b.lookError
	}
	var groups []int
	for _, l := range t.loci {
		if !slices.Contains(groups, b.in[l]) {
			groups = append(groups, b.in[l])
		}
	}
	if len(groups) == 0 { // hangs on the sex alone, if on anything
		p := []float64{t.seen(seen, Cock, 0, scoring), t.seen(seen, Hen, 0, scoring)}
		switch s := b.fam.birds[r.bird].sex; s {
		case Unsexed:
			b.net.weigh(b.sex[r.bird], p)
		default:
			w := make([]float64, b.net.size[b.g[r.bird][0]])
			for i := range w {
				w[i] = p[s-Cock]
			}
			b.net.weigh(b.g[r.bird][0], w)
		}
		return
	}
	vars := make([]int32, len(groups))
	sex := b.fam.birds[r.bird].sex
	if sex == Unsexed && !b.split[groups[0]] {
		sex = Cock // the trait does not tell the sexes apart
	}
	for i, gi := range groups {
		vars[i] = b.g[r.bird][gi]
	}
	tab := b.table(tableKey{'l', r.trait, seen, int(sex)}, func() []float64 {
		size := 1
		for _, v := range vars {
			size *= b.net.size[v]
		}
		out := make([]float64, size)
		for k := range out {
			out[k] = b.lookChance(t, seen, scoring, groups, vars, r.bird, k)
		}
		return out
	})
	if len(vars) == 1 {
		b.net.weigh(vars[0], tab)
		return
	}
	b.net.factor(-1, tab, vars...)
}

// lookChance is the chance of a look in the k-th combination of states of some groups.
func (b *builder) lookChance(t *Trait, look int, scoring float64, groups []int, vars []int32, bird, k int) float64 {
	state := make([]int, len(b.Loci)) // genotype at each locus of the groups
	sex := Unsexed
	for i := len(groups) - 1; i >= 0; i-- {
		n := b.net.size[vars[i]]
		s, st := b.which(groups[i], b.kind(bird, groups[i]), k%n)
		k /= n
		if sex != Unsexed && s != sex {
			return 0 // one bird has one sex
		}
		sex = s
		g := &b.groups[groups[i]]
		for j, l := range g.loci {
			state[l] = g.at(b.Model, s, st, j)
		}
	}
	combo := 0
	for _, l := range t.loci {
		combo = combo*b.Loci[l].states(sex) + state[l]
	}
	return t.seen(look, sex, combo, scoring)
}

// said adds somebody's word.
func (b *builder) said(r record) {
	w := b.birds[r.bird].Said[r.said]
	gi := b.in[w.Locus]
	g := &b.groups[gi]
	kind := b.kind(r.bird, gi)
	out := make([]float64, b.count(gi, kind))
	for k := range out {
		s, st := b.which(gi, kind, k)
		x, y := g.haps(s, st)
		out[k] = w.OfAnother
		if g.hap[x][b.place[w.Locus]] == w.Allele || (y >= 0 && g.hap[y][b.place[w.Locus]] == w.Allele) {
			out[k] = w.OfCarrier
		}
	}
	b.net.weigh(b.g[r.bird][gi], out)
}
