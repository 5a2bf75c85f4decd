package heredity

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// None stands where a hen has no second allele at a Z locus.
const None = -1

// A Genome is a bird's genotype at every locus of the model, as two sets of alleles by
// locus. Alleles at linked loci in one set lie on one chromosome. Second is None at Z
// loci of a hen.
type Genome struct {
	Sex           Sex
	First, Second []int
}

// A Possible is a genome and its probability.
type Possible struct {
	Genome
	P float64
}

// Young is the exact distribution of a pair's living young.
type Young struct {
	Lines []Line
	// Lost is the share of all eggs of each sex, indexed by Cock and Hen, in which the
	// embryo or young dies because of its genotype.
	Lost [3]float64
	// Assumed says, in sentences, what had to be filled in.
	Assumed []string
}

// A Line is one kind of young. P is its share of all living young, both sexes together.
type Line struct {
	Genome
	Looks []int // by trait: the look, never one that is evidence
	P     float64
}

// maxYoung bounds the kinds of young that are listed, and of gametes and parents.
const maxYoung = 1_000_000

// A GenotypeError says what is wrong with a genotype that a person wrote.
type GenotypeError struct{ Message string }

// Error returns the sentence.
func (e *GenotypeError) Error() string { return e.Message }

func wrongGenotype(format string, a ...any) error {
	return &GenotypeError{fmt.Sprintf(format, a...)}
}

// Bird reads a genotype such as "head=R/r,tip=Y/y" for a cock or a hen. "/" leaves the
// phase of linked loci open, "|" says that what stands before it at each locus lies on
// one chromosome. A hen's Z locus has one allele. Loci that are not named are drawn from
// the founder frequencies. The result lists what the bird may be, with probabilities
// that add up to 1.
func (m *Model) Bird(s Sex, text string) ([]Possible, error) {
	// Loci that may be linked keep their phase, for those who vary the fraction; the
	// fraction itself plays no part here.
	f := m.WithRecombination(0.25).filled()
	x := newMeiosis(f)
	type given struct {
		a, b   int
		phased bool
	}
	named := make([]*given, len(m.Loci))
	for _, part := range strings.Split(text, ",") {
		if strings.TrimSpace(part) == "" {
			continue
		}
		id, g, ok := strings.Cut(part, "=")
		id, g = strings.TrimSpace(id), strings.TrimSpace(g)
		l := m.Locus(id)
		switch {
		case !ok:
			return nil, wrongGenotype("“%s” is not a genotype: write it as locus=R/r, with commas between loci.", strings.TrimSpace(part))
		case l < 0:
			return nil, wrongGenotype("There is no locus “%s” in the loci file.", id)
		case named[l] != nil:
			return nil, wrongGenotype("The %s's genotype at %s is given twice.", s, id)
		}
		locus := &m.Loci[l]
		state, msg := locus.parse(g)
		if msg != "" {
			return nil, wrongGenotype("%s", msg)
		}
		parts := strings.FieldsFunc(g, func(r rune) bool { return r == '/' || r == '|' })
		one := len(parts) == 1
		switch {
		case s == Hen && locus.Chromosome == Z && !one:
			return nil, wrongGenotype("“%s” gives a hen two alleles at %s, but a hen has one Z and shows what it carries. Write %s or %s.", g, id, parts[0], parts[1])
		case s == Cock && one:
			return nil, wrongGenotype("“%s” gives a cock one allele at %s, but a cock has two. Write %s/%s if both are alike.", g, id, g, g)
		}
		if f.Loci[l].survives(s, state-locus.offset(s)) == 0 {
			return nil, wrongGenotype("A %s with %s at %s does not live, by the loci file.", s, g, id)
		}
		n := &given{a: locus.Allele(strings.TrimSpace(parts[0])), b: None, phased: strings.Contains(g, "|")}
		if !one {
			n.b = locus.Allele(strings.TrimSpace(parts[1]))
		}
		named[l] = n
	}
	out := []Possible{{Genome{s, make([]int, len(m.Loci)), make([]int, len(m.Loci))}, 1}}
	for gi := range x.groups {
		g := &x.groups[gi]
		var keep []int
		var weight []float64
		for k := range g.states(s) {
			// The two haplotypes of a founder are drawn independently, so that each
			// order of them that fits counts alike, times what is drawn at the loci
			// that are not named.
			fits := func(a, b int) float64 {
				p := 1.0
				for i, l := range g.loci {
					n := named[l]
					ga, gb := g.hap[a][i], None
					if b >= 0 {
						gb = g.hap[b][i]
					}
					switch {
					case n == nil:
						p *= f.Loci[l].Alleles[ga].Frequency
						if gb != None {
							p *= f.Loci[l].Alleles[gb].Frequency
						}
					case !(ga == n.a && gb == n.b) && (n.phased || ga != n.b || gb != n.a):
						return 0
					}
				}
				return p
			}
			a, b := g.haps(s, k)
			p := fits(a, b)
			if b >= 0 && a != b {
				p += fits(b, a)
			}
			if p *= g.survives(f, s, k); p > 0 {
				keep, weight = append(keep, k), append(weight, p)
			}
		}
		normalise(weight)
		if len(out)*len(keep) > maxYoung {
			return nil, wrongGenotype("Too much of the %s's genotype is left open: there are more than %d possibilities. Name more loci.", s, maxYoung)
		}
		var more []Possible
		for _, o := range out {
			for i, k := range keep {
				n := Possible{Genome{s, slices.Clone(o.First), slices.Clone(o.Second)}, o.P * weight[i]}
				x.write(gi, k, n.Genome)
				more = append(more, n)
			}
		}
		out = more
	}
	if len(out) == 0 {
		return nil, wrongGenotype("No %s of this genotype lives, by the loci file.", s)
	}
	return out, nil
}

// write puts a state of a group into a genome.
func (x *meiosis) write(group, state int, to Genome) {
	g := &x.groups[group]
	a, b := g.haps(to.Sex, state)
	for i, l := range g.loci {
		to.First[l], to.Second[l] = g.hap[a][i], None
		if b >= 0 {
			to.Second[l] = g.hap[b][i]
			if len(g.loci) == 1 && to.First[l] > to.Second[l] {
				to.First[l], to.Second[l] = to.Second[l], to.First[l]
			}
		}
	}
}

// state returns the state of a genome in a group.
func (x *meiosis) state(group int, from Genome) int {
	g := &x.groups[group]
	a, b := 0, 0
	for _, l := range g.loci {
		n := len(x.Loci[l].Alleles)
		a, b = a*n+from.First[l], b*n+from.Second[l]
	}
	if g.z && from.Sex == Hen {
		return a
	}
	return pairIndex(g.h, a, b)
}

// Text writes a genome as "head=R/r,tip=Y/y". Linked loci at which the bird carries two
// different alleles, two or more of them, have "|" between their alleles: what stands
// before it lies on one chromosome.
func (m *Model) Text(g Genome) string {
	phased := make([]bool, len(m.Loci))
	if g.Sex != Unsexed {
		x := newMeiosis(m.filled())
		for _, gr := range x.groups {
			n := 0
			for _, l := range gr.loci {
				if g.Second[l] != None && g.First[l] != g.Second[l] {
					n++
				}
			}
			for _, l := range gr.loci {
				phased[l] = n > 1
			}
		}
	}
	return m.text(g, phased)
}

func (m *Model) text(g Genome, phased []bool) string {
	parts := make([]string, len(m.Loci))
	for l := range m.Loci {
		a := m.Loci[l].Alleles
		switch {
		case g.Second[l] == None:
			parts[l] = m.Loci[l].ID + "=" + a[g.First[l]].ID
		case phased[l]:
			parts[l] = m.Loci[l].ID + "=" + a[g.First[l]].ID + "|" + a[g.Second[l]].ID
		default:
			parts[l] = m.Loci[l].ID + "=" + m.Loci[l].text(g.First[l], g.Second[l])
		}
	}
	return strings.Join(parts, ",")
}

// Cross returns the exact distribution of the living young of a cock and a hen whose
// genotypes may be known only in probability, each independently of the other. Half of
// the eggs are cocks. Where a look does not always show, a genotype has several lines.
// Lines come in a fixed order: by sex, then looks, then genotype.
//
// Links of unknown fraction count as free, suspected lethal genotypes as viable, and
// Assumed says so; [CrossRange] shows what hangs on it.
func Cross(m *Model, cock, hen []Possible) (*Young, error) {
	x := newMeiosis(m.filled())
	fathers, err := x.gametes(cock)
	if err != nil {
		return nil, err
	}
	mothers, err := x.gametes(hen)
	if err != nil {
		return nil, err
	}
	y := &Young{Assumed: m.Assumed()}
	all := 0.0
	for _, s := range []Sex{Cock, Hen} {
		kinds := map[string]float64{}
		for _, f := range fathers {
			for _, d := range mothers {
				key := make([]byte, 0, 2*len(x.groups))
				p := f.p * d.p
				for gi := range x.groups {
					g := &x.groups[gi]
					k := f.hap[gi]
					if !g.z || s == Cock {
						k = pairIndex(g.h, k, d.hap[gi])
					}
					p *= g.survives(x.Model, s, k)
					key = append(key, byte(k), byte(k>>8))
				}
				if p > 0 {
					kinds[string(key)] += p
				}
			}
			if len(kinds) > maxYoung {
				return nil, wrongGenotype("There are more than %d kinds of young. Leave out loci that are of no interest.", maxYoung)
			}
		}
		live := 0.0
		for key, p := range kinds {
			live += p
			g := Genome{s, make([]int, len(m.Loci)), make([]int, len(m.Loci))}
			for gi := range x.groups {
				x.write(gi, int(key[2*gi])|int(key[2*gi+1])<<8, g)
			}
			y.Lines = append(y.Lines, x.lines(g, p/2)...)
		}
		y.Lost[s] = max(0, 1-live)
		if math.Abs(y.Lost[s]) < sumTolerance {
			y.Lost[s] = 0
		}
		all += live / 2
	}
	if all == 0 {
		return nil, wrongGenotype("No young of this pair would live, by the loci file.")
	}
	for i := range y.Lines {
		y.Lines[i].P /= all
	}
	slices.SortFunc(y.Lines, func(a, b Line) int {
		return cmp.Or(cmp.Compare(a.Sex, b.Sex), slices.Compare(a.Looks, b.Looks),
			slices.Compare(a.First, b.First), slices.Compare(a.Second, b.Second))
	})
	return y, nil
}

// A gamete is a haplotype in each group; a hen's counts for sons only where it is a Z.
type gamete struct {
	hap []int
	p   float64
}

// gametes returns the gametes of a bird, each kind once.
func (x *meiosis) gametes(bird []Possible) ([]gamete, error) {
	at := map[string]int{}
	var out []gamete
	for _, b := range bird {
		some := []gamete{{nil, b.P}}
		for gi := range x.groups {
			g := &x.groups[gi]
			k := x.state(gi, b.Genome)
			var more []gamete
			for _, s := range some {
				if g.z && b.Sex == Hen {
					more = append(more, gamete{append(slices.Clone(s.hap), k), s.p})
					continue
				}
				for h, p := range g.gam[k] {
					if p > 0 {
						more = append(more, gamete{append(slices.Clone(s.hap), h), s.p * p})
					}
				}
			}
			if some = more; len(some) > maxYoung {
				return nil, wrongGenotype("A parent has more than %d kinds of gametes. Leave out loci that are of no interest.", maxYoung)
			}
		}
		for _, s := range some {
			key := fmt.Sprint(s.hap)
			i, ok := at[key]
			if !ok {
				i = len(out)
				at[key] = i
				out = append(out, gamete{s.hap, 0})
			}
			out[i].p += s.p
		}
	}
	// Few against few: the product of both lists bounds the work of a cross.
	if len(out) > maxYoung/100 {
		return nil, wrongGenotype("A parent has more than %d kinds of gametes. Leave out loci that are of no interest.", maxYoung/100)
	}
	return out, nil
}

// lines lists the looks of a genome with their chances times p.
func (x *meiosis) lines(g Genome, p float64) []Line {
	genotype := make([]int, len(x.Loci))
	for l := range x.Loci {
		genotype[l] = g.First[l]
		if g.Second[l] != None {
			genotype[l] = pairIndex(len(x.Loci[l].Alleles), g.First[l], g.Second[l])
		}
	}
	out := []Line{{Genome: g, P: p}}
	for t := range x.Traits {
		var more []Line
		for look, c := range x.Chances(t, g.Sex, genotype) {
			if c == 0 || x.Traits[t].Looks[look].Evidence {
				continue
			}
			for _, o := range out {
				more = append(more, Line{o.Genome, append(slices.Clone(o.Looks), look), o.P * c})
			}
		}
		out = more
	}
	return out
}

// A Share is a kind of young by sex and looks. P is its share of all living young; Low
// and High are the ends of the range over what is open in the model.
type Share struct {
	Sex          Sex
	Looks        []int
	P, Low, High float64
}

// ByLooks adds up lines that look alike, in the order of the lines.
func (y *Young) ByLooks() []Share {
	var out []Share
	for _, l := range y.Lines {
		if n := len(out); n > 0 && out[n-1].Sex == l.Sex && slices.Equal(out[n-1].Looks, l.Looks) {
			out[n-1].P += l.P
			continue
		}
		out = append(out, Share{Sex: l.Sex, Looks: l.Looks, P: l.P})
	}
	for i := range out {
		out[i].Low, out[i].High = out[i].P, out[i].P
	}
	return out
}

// CrossRange returns the kinds of young by sex and looks with the range of their shares
// over every variant of the model: see [Model.Variants]. P is the share under what
// [Model.Assumed] says.
func CrossRange(m *Model, cock, hen []Possible) ([]Share, error) {
	main, err := Cross(m, cock, hen)
	if err != nil {
		return nil, err
	}
	out := main.ByLooks()
	for _, v := range m.Variants() {
		y, err := Cross(v.Model, cock, hen)
		if err != nil {
			return nil, err
		}
		shares := y.ByLooks()
		alike := func(in []Share, s Share) int {
			return slices.IndexFunc(in, func(o Share) bool { return o.Sex == s.Sex && slices.Equal(o.Looks, s.Looks) })
		}
		for _, s := range shares {
			if alike(out, s) < 0 {
				out = append(out, Share{Sex: s.Sex, Looks: s.Looks})
			}
		}
		for i := range out {
			p := 0.0
			if k := alike(shares, out[i]); k >= 0 {
				p = shares[k].P
			}
			out[i].Low, out[i].High = min(out[i].Low, p), max(out[i].High, p)
		}
	}
	slices.SortFunc(out, func(a, b Share) int {
		return cmp.Or(cmp.Compare(a.Sex, b.Sex), slices.Compare(a.Looks, b.Looks))
	})
	return out, nil
}
