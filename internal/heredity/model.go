package heredity

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// Sex is a bird's sex, as far as it is known.
type Sex int8

// The sexes: a cock has two Z chromosomes, a hen one.
const (
	Unsexed Sex = iota
	Cock
	Hen
)

// String returns "cock", "hen" or "".
func (s Sex) String() string { return [...]string{"", "cock", "hen"}[s] }

// Chromosome says where a locus lies.
type Chromosome int8

// A locus lies on a body chromosome or on the Z.
const (
	Autosome Chromosome = iota
	Z
)

// String returns the chromosome as the loci file writes it.
func (c Chromosome) String() string { return [...]string{"autosome", "Z"}[c] }

// Lethality says what becomes of a genotype that is suspected of killing its bearer.
type Lethality int8

// A suspected lethal genotype is taken to be viable unless the keeper says otherwise;
// while it is unknown, [Model.Variants] answers both ways.
const (
	LethalityUnknown Lethality = iota
	Viable
	Lethal
)

// About says how much a piece of the model may be trusted.
type About struct {
	Name   string            // trade name
	Names  map[string]string // other names by language or continent
	Basis  string            // "published", "common-practice" or "from-memory"
	Source string
	Note   string
}

// An Allele is one form of a gene. Frequency is its share among the founders' alleles,
// an assumption of whoever wrote the file.
type Allele struct {
	ID        string
	Frequency float64
	About
}

// A Locus is a place on a chromosome with its alleles.
type Locus struct {
	ID         string
	Chromosome Chromosome
	Alleles    []Allele
	// Known is false while no founder frequencies are set: answers are then shown over
	// a range of frequencies of the alleles other than Wild.
	Known bool
	Wild  int // index of the wild allele
	// Survival is the chance to live of each genotype, cocks' genotypes first and then,
	// at a Z locus, hens'. Nil means that all live alike.
	Survival []float64
	// Suspected marks, in the same numbering, genotypes that may be lethal. Lethality
	// is the setting for them.
	Suspected []bool
	Lethality Lethality
	About
}

// A Link joins two loci on one chromosome.
type Link struct {
	A, B          int     // loci
	Recombination float64 // 0 to 0.5; meaningful if Known
	Known         bool    // false: no fraction is known, and answers are shown over a range
	About
}

// A Trait is something that is looked at: it has a column in the bird table and looks.
type Trait struct {
	ID, Column string
	Looks      []Look
	// ScoringError is the chance that a look is written down wrongly, each other look
	// that is not evidence being as likely.
	ScoringError float64
	About

	loci   []int
	sexed  bool           // the chances differ between a cock and a hen
	chance [3][][]float64 // by sex and look: chance by combination of genotypes at loci
}

// A Look is one value of a trait.
type Look struct {
	Name     string
	Evidence bool          // a finding that may overlap with other looks, not shown for young
	Rest     bool          // what no other look of the trait covers
	When     []Alternative // empty if Rest
	About
}

// An Alternative is one set of genotypes under which a look is shown.
type Alternative struct {
	Sex         Sex // Unsexed: both
	Needs       []Need
	Probability float64
}

// A Need lists the genotypes of one locus that an alternative accepts, in the numbering
// of [Locus.Survival].
type Need struct {
	Locus  int
	Accept []bool
}

// A Model is a checked set of loci, links and traits. It does not change once read and
// may be read by many at once.
type Model struct {
	Species string
	About
	Loci   []Locus
	Links  []Link
	Traits []Trait
	// Unsettled are colours that are known to exist and have no locus, because how they
	// are inherited is unknown or disputed.
	Unsettled []About
}

// pairs returns the number of unordered pairs of n things.
func pairs(n int) int { return n * (n + 1) / 2 }

// pairIndex numbers the pair (i, j) of n things: (0,0), (0,1), ..., (1,1), ...
func pairIndex(n, i, j int) int {
	if i > j {
		i, j = j, i
	}
	return i*n - i*(i-1)/2 + j - i
}

// states returns how many genotypes a bird of that sex may have at the locus.
func (l *Locus) states(s Sex) int {
	if l.Chromosome == Z && s == Hen {
		return len(l.Alleles)
	}
	return pairs(len(l.Alleles))
}

// offset is where genotypes of that sex begin in the numbering of Survival.
func (l *Locus) offset(s Sex) int {
	if l.Chromosome == Z && s == Hen {
		return pairs(len(l.Alleles))
	}
	return 0
}

// all is the number of genotypes in the numbering of Survival.
func (l *Locus) all() int {
	if l.Chromosome == Z {
		return pairs(len(l.Alleles)) + len(l.Alleles)
	}
	return pairs(len(l.Alleles))
}

// alleles returns the alleles of a genotype; the second is -1 for a hen's Z.
func (l *Locus) alleles(s Sex, state int) (int, int) {
	if l.Chromosome == Z && s == Hen {
		return state, -1
	}
	n := len(l.Alleles)
	i := 0
	for state >= n-i {
		state -= n - i
		i++
	}
	return i, i + state
}

// text writes the genotype of given alleles.
func (l *Locus) text(a, b int) string {
	if b < 0 {
		return l.Alleles[a].ID
	}
	return l.Alleles[min(a, b)].ID + "/" + l.Alleles[max(a, b)].ID
}

// survives is the chance to live of a genotype, under the locus's setting.
func (l *Locus) survives(s Sex, state int) float64 {
	k := l.offset(s) + state
	if l.Lethality == Lethal && l.Suspected != nil && l.Suspected[k] {
		return 0
	}
	if l.Survival == nil {
		return 1
	}
	return l.Survival[k]
}

// Genotypes returns the genotypes that a cock or a hen may have at the locus, as
// written in tables: "R/r", or "R" for a hen's Z.
func (m *Model) Genotypes(locus int, s Sex) []string {
	l := &m.Loci[locus]
	out := make([]string, l.states(s))
	for i := range out {
		out[i] = l.text(l.alleles(s, i))
	}
	return out
}

// Copies returns, for each genotype of [Model.Genotypes], how many copies of the allele
// it holds.
func (m *Model) Copies(locus, allele int, s Sex) []int {
	l := &m.Loci[locus]
	out := make([]int, l.states(s))
	for i := range out {
		a, b := l.alleles(s, i)
		if a == allele {
			out[i]++
		}
		if b == allele {
			out[i]++
		}
	}
	return out
}

// Locus returns the index of the locus with that id, or -1.
func (m *Model) Locus(id string) int {
	return slices.IndexFunc(m.Loci, func(l Locus) bool { return l.ID == id })
}

// Trait returns the index of the trait with that id or column, or -1.
func (m *Model) Trait(id string) int {
	return slices.IndexFunc(m.Traits, func(t Trait) bool { return t.ID == id || t.Column == id })
}

// Allele returns the index of the allele with that id, or -1.
func (l *Locus) Allele(id string) int {
	return slices.IndexFunc(l.Alleles, func(a Allele) bool { return a.ID == id })
}

// Look returns the index of the look with that name, or -1.
func (t *Trait) Look(name string) int {
	return slices.IndexFunc(t.Looks, func(l Look) bool { return l.Name == name })
}

// Loci returns the loci on which the trait's looks depend, in rising order.
func (t *Trait) Loci() []int { return slices.Clone(t.loci) }

// combos is the number of combinations of genotypes at the trait's loci.
func (m *Model) combos(t *Trait, s Sex) int {
	n := 1
	for _, l := range t.loci {
		n *= m.Loci[l].states(s)
	}
	return n
}

// Chances returns the chance of each look of a trait for a bird of that sex, Cock or
// Hen, whose genotype at locus l is genotype[l] (in the order of [Model.Genotypes]).
// Looks that are not evidence add up to 1.
func (m *Model) Chances(trait int, s Sex, genotype []int) []float64 {
	t := &m.Traits[trait]
	k := 0
	for _, l := range t.loci {
		k = k*m.Loci[l].states(s) + genotype[l]
	}
	out := make([]float64, len(t.Looks))
	for i := range out {
		out[i] = t.chance[s][i][k]
	}
	return out
}

// seen returns the chance that a look is written down, given the combination.
func (t *Trait) seen(look int, s Sex, combo int, scoring float64) float64 {
	c := t.chance[s][look][combo]
	if t.Looks[look].Evidence || scoring == 0 {
		return c
	}
	n := 0
	for _, l := range t.Looks {
		if !l.Evidence {
			n++
		}
	}
	if n < 2 {
		return c
	}
	return c*(1-scoring) + (1-c)*scoring/float64(n-1)
}

// tabulate works out loci, sexed and chance, and checks that looks add up to 1.
func (m *Model) tabulate(t *Trait) *ModelError {
	where := fmt.Sprintf("trait “%s”", t.ID)
	used := map[int]bool{}
	for _, l := range t.Looks {
		for _, a := range l.When {
			if a.Sex != Unsexed {
				t.sexed = true
			}
			for _, n := range a.Needs {
				used[n.Locus] = true
				if m.Loci[n.Locus].Chromosome == Z {
					t.sexed = true
				}
			}
		}
	}
	t.loci = slices.Sorted(maps.Keys(used))
	size := 1
	for _, l := range t.loci {
		size *= pairs(len(m.Loci[l].Alleles))
		if size > maxCombos {
			return &ModelError{where, fmt.Sprintf("Its looks depend on so many loci at once that there are more than %d combinations of genotypes. Split it into several traits.", maxCombos)}
		}
	}
	for _, s := range []Sex{Cock, Hen} {
		n := m.combos(t, s)
		t.chance[s] = make([][]float64, len(t.Looks))
		for i := range t.Looks {
			t.chance[s][i] = make([]float64, n)
		}
		state := make(map[int]int, len(t.loci))
		for k := range n {
			for i, r := len(t.loci)-1, k; i >= 0; i-- {
				c := m.Loci[t.loci[i]].states(s)
				state[t.loci[i]], r = r%c, r/c
			}
			sum, rest := 0.0, -1
			for i, l := range t.Looks {
				if l.Rest {
					rest = i
					continue
				}
				c := 0.0
				for _, a := range l.When {
					if m.holds(a, s, state) {
						c = a.Probability
						break
					}
				}
				t.chance[s][i][k] = c
				if !l.Evidence {
					sum += c
				}
			}
			if rest >= 0 && sum <= 1+sumTolerance {
				t.chance[s][rest][k] = max(0, 1-sum)
				if 1-sum < sumTolerance {
					t.chance[s][rest][k] = 0
				}
				sum = 1
			}
			if math.Abs(sum-1) > sumTolerance {
				var g []string
				for _, l := range t.loci {
					g = append(g, m.Loci[l].ID+" "+m.Loci[l].text(m.Loci[l].alleles(s, state[l])))
				}
				return &ModelError{where, fmt.Sprintf("The looks of a %s with %s add up to %.6g, not to 1. Let one look hold for each genotype, or leave “when” out of the look that covers the rest.", s, strings.Join(g, ", "), sum)}
			}
		}
	}
	return nil
}

// holds reports whether the alternative covers the genotype.
func (m *Model) holds(a Alternative, s Sex, state map[int]int) bool {
	if a.Sex != Unsexed && a.Sex != s {
		return false
	}
	for _, n := range a.Needs {
		if !n.Accept[m.Loci[n.Locus].offset(s)+state[n.Locus]] {
			return false
		}
	}
	return true
}

const (
	// maxCombos keeps the table of one trait below a few megabytes.
	maxCombos = 100_000
	// sumTolerance allows for decimal fractions such as 0.1 that have no exact double.
	sumTolerance = 1e-9
	// maxHaplotypes bounds a linkage group, so that a meiosis table stays below a megabyte.
	maxHaplotypes = 48
)

// clone copies the parts that With... methods change.
func (m *Model) clone() *Model {
	c := *m
	c.Loci = slices.Clone(m.Loci)
	for i := range c.Loci {
		c.Loci[i].Alleles = slices.Clone(c.Loci[i].Alleles)
	}
	c.Links = slices.Clone(m.Links)
	return &c
}

// WithFrequency sets the founder frequency of the alleles other than the wild one, q in
// all and shared evenly among them, at every locus whose frequencies are not known.
func (m *Model) WithFrequency(q float64) *Model {
	c := m.clone()
	for i := range c.Loci {
		l := &c.Loci[i]
		if l.Known {
			continue
		}
		l.Known = true
		for a := range l.Alleles {
			l.Alleles[a].Frequency = q / float64(len(l.Alleles)-1)
		}
		l.Alleles[l.Wild].Frequency = 1 - q
	}
	return c
}

// WithRecombination sets the recombination fraction of every link whose fraction is not
// known.
func (m *Model) WithRecombination(r float64) *Model {
	c := m.clone()
	for i := range c.Links {
		if !c.Links[i].Known {
			c.Links[i].Known, c.Links[i].Recombination = true, r
		}
	}
	return c
}

// WithLethality sets what becomes of suspected lethal genotypes at a locus.
func (m *Model) WithLethality(locus int, what Lethality) *Model {
	c := m.clone()
	c.Loci[locus].Lethality = what
	return c
}

// A Variant is a model with every open setting filled in, and what was filled in.
type Variant struct {
	Label string
	*Model
	// Frequency, Recombination and Lethality are what was filled in, if it was open.
	Frequency, Recombination float64
	Lethality                Lethality
}

// UnsetFrequencies are the founder frequencies at which answers are shown where none is
// set: rare, in the middle and common (a convention of this program).
var unsetFrequencies = []float64{0.02, 0.1, 0.3}

// unsetRecombinations are the fractions at which answers are shown where none is known:
// close, 10, 30 and free (a convention of this program).
var unsetRecombinations = []float64{0.03, 0.1, 0.3, 0.5}

// Variants returns the model under every combination of what is open in it: founder
// frequencies at .02, .1 and .3, recombination fractions at .03, .1, .3 and .5,
// suspected lethal genotypes viable and lethal. A model with nothing open is its own
// only variant.
func (m *Model) Variants() []Variant {
	out := []Variant{{Model: m}}
	if slices.ContainsFunc(m.Loci, func(l Locus) bool { return !l.Known }) {
		out = vary(out, unsetFrequencies, func(v Variant, q float64) Variant {
			return Variant{v.Label + fmt.Sprintf("founder frequency %g; ", q), v.WithFrequency(q), q, v.Recombination, v.Lethality}
		})
	}
	if slices.ContainsFunc(m.Links, func(l Link) bool { return !l.Known }) {
		out = vary(out, unsetRecombinations, func(v Variant, r float64) Variant {
			return Variant{v.Label + fmt.Sprintf("recombination %g; ", r), v.WithRecombination(r), v.Frequency, r, v.Lethality}
		})
	}
	open := func(l Locus) bool { return l.Suspected != nil && l.Lethality == LethalityUnknown }
	if slices.ContainsFunc(m.Loci, open) {
		out = vary(out, []Lethality{Viable, Lethal}, func(v Variant, what Lethality) Variant {
			c := v.clone()
			for i := range c.Loci {
				if open(c.Loci[i]) {
					c.Loci[i].Lethality = what
				}
			}
			word := map[Lethality]string{Viable: "viable", Lethal: "lethal"}[what]
			return Variant{v.Label + "two copies " + word + "; ", c, v.Frequency, v.Recombination, what}
		})
	}
	for i := range out {
		out[i].Label = strings.TrimSuffix(out[i].Label, "; ")
	}
	return out
}

func vary[T any](in []Variant, values []T, set func(Variant, T) Variant) []Variant {
	var out []Variant
	for _, v := range in {
		for _, x := range values {
			out = append(out, set(v, x))
		}
	}
	return out
}

// Only returns the model cut down to some loci, in the order of the model, with the
// traits whose looks depend on no other locus. A trait that needs a locus left out is
// left out too.
func (m *Model) Only(loci ...int) *Model {
	keep := slices.Compact(slices.Sorted(slices.Values(loci)))
	c := &Model{Species: m.Species, About: m.About}
	to := map[int]int{}
	for _, l := range keep {
		to[l] = len(c.Loci)
		c.Loci = append(c.Loci, m.Loci[l])
	}
	links := slices.Clone(m.Links)
	for l := range m.Loci {
		if _, ok := to[l]; !ok {
			links = bridge(links, l)
		}
	}
	for _, k := range links {
		k.A, k.B = to[k.A], to[k.B]
		c.Links = append(c.Links, k)
	}
	for _, t := range m.Traits {
		all := true
		for _, l := range t.loci {
			_, ok := to[l]
			all = all && ok
		}
		if !all {
			continue
		}
		looks := slices.Clone(t.Looks)
		for i := range looks {
			looks[i].When = slices.Clone(looks[i].When)
			for j := range looks[i].When {
				a := &looks[i].When[j]
				a.Needs = slices.Clone(a.Needs)
				for n := range a.Needs {
					a.Needs[n].Locus = to[a.Needs[n].Locus]
				}
			}
		}
		t.Looks = looks
		t.loci = slices.Clone(t.loci)
		for i, l := range t.loci {
			t.loci[i] = to[l]
		}
		c.Traits = append(c.Traits, t)
	}
	return c
}

// bridge takes a locus out of the links: its neighbours on either side are joined by the
// fraction of an odd number of crossovers in the two intervals.
func bridge(links []Link, locus int) []Link {
	var out, gone []Link
	for _, k := range links {
		if k.A == locus || k.B == locus {
			gone = append(gone, k)
		} else {
			out = append(out, k)
		}
	}
	if len(gone) < 2 {
		return out
	}
	other := func(k Link) int { return k.A + k.B - locus }
	r, s := gone[0].Recombination, gone[1].Recombination
	return append(out, Link{
		A: other(gone[0]), B: other(gone[1]),
		Recombination: r + s - 2*r*s, Known: gone[0].Known && gone[1].Known,
	})
}

// Assumed says, in sentences, what had to be filled in to compute with the model as it
// stands: founder frequencies (0.1 is taken), recombination (free is taken), suspected
// lethal genotypes (viable is taken).
func (m *Model) Assumed() []string {
	var out []string
	for _, l := range m.Loci {
		if !l.Known {
			out = append(out, fmt.Sprintf("No founder frequency is set for %s: 1 in 10 is taken.", l.ID))
		}
		if l.Suspected != nil && l.Lethality == LethalityUnknown {
			out = append(out, fmt.Sprintf("Whether two copies at %s are lethal is not known: they are taken to live.", l.ID))
		}
	}
	for _, k := range m.Links {
		if !k.Known {
			out = append(out, fmt.Sprintf("How often %s and %s recombine is not known: freely is taken.", m.Loci[k.A].ID, m.Loci[k.B].ID))
		}
	}
	return out
}

// filled returns the model with what [Model.Assumed] says filled in.
func (m *Model) filled() *Model {
	const middling = 0.1 // the middle one of unsetFrequencies
	return m.WithFrequency(middling).WithRecombination(0.5)
}
