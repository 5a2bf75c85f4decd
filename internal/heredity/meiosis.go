package heredity

import "slices"

// A group is a set of linked loci, in the order of the chromosome. Its haplotypes are
// numbered with the first locus as the leading digit. A cock, or any bird if the group
// lies on a body chromosome, is in one of pairs(h) states, an unordered pair of
// haplotypes; a hen at a Z group is in one of h states.
type group struct {
	z    bool
	loci []int
	h, s int         // haplotypes, pairs of them
	hap  [][]int     // allele of each haplotype at each of loci
	freq []float64   // founder frequency of each haplotype
	pair [][2]int    // the haplotypes of each state
	gam  [][]float64 // by state: chance to hand on each haplotype
	pick bool        // some genotype does not live as well as others
}

// meiosis is a model made ready: its linkage groups and where each locus stands.
type meiosis struct {
	*Model
	groups []group
	in     []int // group of each locus
	place  []int // and its place there
}

// newMeiosis takes a model with nothing open in its links and frequencies.
func newMeiosis(m *Model) *meiosis {
	next := make([][]int, len(m.Loci))
	fraction := map[[2]int]float64{}
	for _, k := range m.Links {
		if k.Recombination < 0.5 {
			next[k.A], next[k.B] = append(next[k.A], k.B), append(next[k.B], k.A)
			fraction[[2]int{k.A, k.B}], fraction[[2]int{k.B, k.A}] = k.Recombination, k.Recombination
		}
	}
	x := &meiosis{Model: m, in: make([]int, len(m.Loci)), place: make([]int, len(m.Loci))}
	seen := make([]bool, len(m.Loci))
	for l := range m.Loci {
		if seen[l] || len(next[l]) > 1 {
			continue // only the ends of a chain begin one
		}
		g := group{z: m.Loci[l].Chromosome == Z}
		for prev, at := -1, l; ; {
			seen[at] = true
			x.in[at], x.place[at] = len(x.groups), len(g.loci)
			g.loci = append(g.loci, at)
			i := slices.IndexFunc(next[at], func(n int) bool { return n != prev })
			if i < 0 {
				break
			}
			prev, at = at, next[at][i]
		}
		var r []float64
		for i := 1; i < len(g.loci); i++ {
			r = append(r, fraction[[2]int{g.loci[i-1], g.loci[i]}])
		}
		g.fill(m, r)
		x.groups = append(x.groups, g)
	}
	return x
}

// fill works out the tables of a group; r holds the fractions between neighbours.
func (g *group) fill(m *Model, r []float64) {
	g.h = 1
	for _, l := range g.loci {
		g.h *= len(m.Loci[l].Alleles)
		for _, s := range []Sex{Cock, Hen} {
			for k := range m.Loci[l].states(s) {
				g.pick = g.pick || m.Loci[l].survives(s, k) != 1
			}
		}
	}
	g.s = pairs(g.h)
	for h := range g.h {
		a := make([]int, len(g.loci))
		f := 1.0
		for i, k := len(g.loci)-1, h; i >= 0; i-- {
			n := len(m.Loci[g.loci[i]].Alleles)
			a[i], k = k%n, k/n
			f *= m.Loci[g.loci[i]].Alleles[a[i]].Frequency
		}
		g.hap, g.freq = append(g.hap, a), append(g.freq, f)
	}
	for i := range g.h {
		for j := i; j < g.h; j++ {
			g.pair = append(g.pair, [2]int{i, j})
			g.gam = append(g.gam, g.gametes(m, i, j, r))
		}
	}
}

// gametes returns the chance of each haplotype in a gamete of a bird with haplotypes i
// and j: a strand is chosen at the first locus and changed in each interval with the
// chance r of that interval.
func (g *group) gametes(m *Model, i, j int, r []float64) []float64 {
	out := make([]float64, g.h)
	for strands := range 1 << len(g.loci) {
		p, h := 0.5, 0
		for k, l := range g.loci {
			on := strands >> k & 1
			if k > 0 {
				if on != strands>>(k-1)&1 {
					p *= r[k-1]
				} else {
					p *= 1 - r[k-1]
				}
			}
			h = h*len(m.Loci[l].Alleles) + g.hap[[2]int{i, j}[on]][k]
		}
		out[h] += p
	}
	return out
}

// states returns how many states a bird of that sex has in the group.
func (g *group) states(s Sex) int {
	if g.z && s == Hen {
		return g.h
	}
	return g.s
}

// haps returns the haplotypes of a state; the second is -1 for a hen's Z.
func (g *group) haps(s Sex, state int) (int, int) {
	if g.z && s == Hen {
		return state, -1
	}
	return g.pair[state][0], g.pair[state][1]
}

// at returns the genotype at the k-th locus of the group, numbered within the sex.
func (g *group) at(m *Model, s Sex, state, k int) int {
	a, b := g.haps(s, state)
	if b < 0 {
		return g.hap[a][k]
	}
	return pairIndex(len(m.Loci[g.loci[k]].Alleles), g.hap[a][k], g.hap[b][k])
}

// survives is the chance to live of a state.
func (g *group) survives(m *Model, s Sex, state int) float64 {
	p := 1.0
	for k, l := range g.loci {
		p *= m.Loci[l].survives(s, g.at(m, s, state, k))
	}
	return p
}

// founder returns the distribution over states of a living founder.
func (g *group) founder(m *Model, s Sex) []float64 {
	out := make([]float64, g.states(s))
	for k := range out {
		a, b := g.haps(s, k)
		p := g.freq[a]
		if b >= 0 {
			p *= g.freq[b]
			if a != b {
				p *= 2
			}
		}
		out[k] = p * g.survives(m, s, k)
	}
	normalise(out)
	return out
}

// normalise scales x to add up to 1, if it can be, and returns what it added up to.
func normalise(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	if sum > 0 {
		for i := range x {
			x[i] /= sum
		}
	}
	return sum
}
