package advice

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/heredity"
	"broodlight/internal/species"
)

// Colours is what the birds of a species hide, by all lines, looks and words in the books.
type Colours struct {
	Species *species.Profile
	Slug    string
	Model   *heredity.Model // the loci of which the books say anything
	Flock   *Flock
	// Answer is nil when Nothing or Clash says why.
	Answer  *heredity.Spread
	Nothing string
	Clash   *Clash
	// Unread are looks in the books that the catalogue has no name for; they count as not seen.
	Unread    []UnreadLook
	Unsettled []string      // colours whose way of passing on is not known
	Loci      []ColourLocus // all of the species, those that the books speak of first
	// Assumed says, in sentences, what was taken for granted.
	Assumed []string

	birds     []heredity.Bird
	doubted   map[int]bool    // rows whose dam met another cock in the fortnight before laying
	evidenced map[[2]int]bool // locus and allele of which the books say something
}

// ColourLocus is a place of colours in a species, and what is assumed of it.
type ColourLocus struct {
	ID, Name      string
	OnZ           bool
	Basis, Source string // how sure, and who says so
	Alleles       []ColourAllele
	Known         bool // shares are set
	Own           bool // by the keeper
	Speaks        bool // the books say something of it
	Suspected     bool // some genotype is suspected of killing its bearer
}

// ColourAllele is one form of a colour.
type ColourAllele struct {
	ID, Name string
	Wild     bool
	Share    float64 // among birds of unknown parents, where shares are set
}

// Clash is records that cannot all be true.
type Clash struct {
	Text  string // one record a line, then the likeliest culprit
	Birds []*aviary.Bird
}

// UnreadLook is a look that the catalogue has no name for.
type UnreadLook struct {
	Bird        *aviary.Bird
	Trait, Look string
}

// usualTrust is the chance that a seller's word is true where the keeper sets none. Common practice, no source.
const usualTrust = 0.9

const (
	// spermDays is how long before laying another cock may have been with the hen and still be the sire. Zebra finches: sperm is
	// stored for up to about 13 days (Birkhead, Pellatt and Hunter 1988, from memory).
	spermDays = 14
	// wrongSire is the chance then that the cock of the pair is not the sire: the last mate sires about 4 in 5 (the same, from
	// memory).
	wrongSire = 0.2
	// ripeDays is the age from which a cock may sire young in doubt. Common practice, no source.
	ripeDays = 75
)

// sweepSeed makes a sampled answer the same for the same books.
const sweepSeed = 7

// ColourModel returns the colours of a species: the catalogue's with the keeper's own beside them, and what he assumes of
// them. It is nil when none is known.
func (d *Desk) ColourModel(slug string) (*heredity.Model, error) {
	w := d.Room.Whole()
	var own []aviary.ColourAdded
	for _, c := range w.Colours {
		if c.Species == slug {
			own = append(own, c)
		}
	}
	m, ok := heredity.Catalogue(slug)
	if len(own) > 0 {
		var err error
		if m, err = withOwn(slug, own); err != nil {
			return nil, err
		}
	} else if !ok {
		return nil, nil
	}
	return assume(m, slug, w.Assumed), nil
}

// colourFile mirrors those parts of a loci file that own colours are added to.
type colourFile map[string]any

// withOwn adds colours of the keeper's own to the catalogue's file and reads it.
func withOwn(slug string, own []aviary.ColourAdded) (*heredity.Model, error) {
	file := colourFile{"species": slug}
	if raw := heredity.CatalogueFile(slug); raw != nil {
		if err := json.Unmarshal(raw, &file); err != nil {
			return nil, fmt.Errorf("the catalogue of %s cannot be read: %w", slug, err)
		}
	}
	loci, _ := file["loci"].([]any)
	traits, _ := file["traits"].([]any)
	for _, c := range own {
		chromosome := "autosome"
		if c.OnZ {
			chromosome = "Z"
		}
		loci = append(loci, map[string]any{
			"id": c.Locus, "chromosome": chromosome, "name": c.Look, "note": c.Basis,
			"alleles": []any{map[string]any{"id": "+", "name": c.Plain, "wild": true}, map[string]any{"id": "x", "name": c.Look}},
		})
		one, two := []string{"+/x"}, []string{"x/x"}
		if c.OnZ {
			two = append(two, "x")
		}
		look := func(name string, when []string, evidence bool) map[string]any {
			l := map[string]any{"look": name}
			if when != nil {
				l["when"] = []any{map[string]any{c.Locus: when}}
			}
			if evidence {
				l["evidence"] = true
			}
			return l
		}
		var looks []any
		switch c.Inherited {
		case "dominant":
			looks = append(looks, look(c.Look, append(two, one...), false))
		case "half":
			looks = append(looks, look(c.Look, two, false), look(c.Single, one, false))
		default:
			looks = append(looks, look(c.Look, two, false), look("proven split", one, true))
		}
		traits = append(traits, map[string]any{"id": c.Locus, "column": c.Locus, "looks": append(looks, look(c.Plain, nil, false))})
	}
	file["loci"], file["traits"] = loci, traits
	raw, err := json.Marshal(file)
	if err != nil {
		return nil, err
	}
	return heredity.Read(raw)
}

// assume lays the keeper's assumptions over a model: a copy, for a model is shared.
func assume(m *heredity.Model, slug string, list []aviary.ColourAssumed) *heredity.Model {
	out := *m
	out.Loci = slices.Clone(m.Loci)
	out.Links = slices.Clone(m.Links)
	shares := map[int]map[int]float64{}
	for _, a := range list {
		l := out.Locus(a.Locus)
		if a.Species != slug || l < 0 {
			continue
		}
		if a.Frequency != nil {
			if k := out.Loci[l].Allele(a.Allele); k >= 0 {
				if shares[l] == nil {
					shares[l] = map[int]float64{}
				}
				shares[l][k] = *a.Frequency
			}
		}
		if a.Recombination != nil {
			other := out.Locus(a.With)
			for i := range out.Links {
				if k := &out.Links[i]; (k.A == l && k.B == other) || (k.A == other && k.B == l) {
					k.Recombination, k.Known = *a.Recombination, true
				}
			}
		}
		switch a.Lethality {
		case "viable":
			out.Loci[l].Lethality = heredity.Viable
		case "lethal":
			out.Loci[l].Lethality = heredity.Lethal
		case "unknown":
			out.Loci[l].Lethality = heredity.LethalityUnknown
		}
	}
	for l, set := range shares {
		out.Loci[l] = withShares(out.Loci[l], set)
	}
	return &out
}

// withShares sets the founder frequencies of a locus: those given, none for the other alleles, and the rest for the wild one.
// More than all is scaled down.
func withShares(l heredity.Locus, set map[int]float64) heredity.Locus {
	l.Alleles = slices.Clone(l.Alleles)
	sum := 0.0
	for k, q := range set {
		if k != l.Wild {
			sum += q
		}
	}
	scale := 1.0
	if sum > 1 {
		scale, sum = 1/sum, 1
	}
	for k := range l.Alleles {
		l.Alleles[k].Frequency = set[k] * scale
	}
	l.Alleles[l.Wild].Frequency = 1 - sum
	l.Known = true
	return l
}

// Colours works out what the birds of a species hide. A colour that nobody of them has shown, been said to hide or been given
// a frequency for is taken as not there.
func (d *Desk) Colours(ctx context.Context, slug string) (*Colours, error) {
	c := &Colours{Species: d.Cat.BySlug(slug), Slug: slug, Flock: d.Flock(slug), evidenced: map[[2]int]bool{}}
	whole, err := d.ColourModel(slug)
	switch {
	case err != nil:
		return nil, err
	case whole == nil:
		c.Nothing = "No colour of this species is in the catalogue yet. One of your own can be written."
		return c, nil
	}
	for _, u := range whole.Unsettled {
		c.Unsettled = append(c.Unsettled, strings.TrimSpace(u.Name+". "+u.Note))
	}
	c.cut(whole)
	c.list(d, whole)
	if len(c.Model.Loci) == 0 {
		c.Nothing = "No look that tells anything of hidden colours is written yet."
		return c, nil
	}
	if err := c.rows(d, whole); err != nil {
		return nil, err
	}
	o := heredity.Options{Rand: rand.New(rand.NewPCG(sweepSeed, uint64(len(c.birds))))}
	c.Answer, err = heredity.InferRange(ctx, c.Model, c.birds, o)
	var clash *heredity.ConflictError
	var flock *heredity.FlockError
	switch {
	case errors.As(err, &clash):
		c.Clash = &Clash{Text: clash.Sentence(c.Flock.name)}
		for _, r := range clash.Records {
			if b := c.Flock.Birds[r.Bird]; !slices.Contains(c.Clash.Birds, b) {
				c.Clash.Birds = append(c.Clash.Birds, b)
			}
		}
	case errors.As(err, &flock):
		c.Clash = &Clash{Text: flock.Sentence(c.Flock.name)}
	case err != nil:
		return nil, err
	default:
		c.Assumed = c.Answer.Assumed
	}
	return c, nil
}

// cut leaves the loci on which a look in the books, a word or an assumption bears, with what none of them speaks of set to
// wild.
func (c *Colours) cut(whole *heredity.Model) {
	seen := map[int]map[int]bool{} // trait -> looks seen
	told := map[[2]int]bool{}
	for _, b := range c.Flock.Birds {
		for _, l := range b.Looks {
			if t, k := findLook(whole, l); t >= 0 {
				if seen[t] == nil {
					seen[t] = map[int]bool{}
				}
				seen[t][k] = true
			}
		}
		for _, s := range b.Said {
			if l := whole.Locus(s.Locus); l >= 0 {
				if k := whole.Loci[l].Allele(s.Allele); k >= 0 {
					told[[2]int{l, k}] = true
				}
			}
		}
	}
	var loci []int
	use := func(l int) {
		if !slices.Contains(loci, l) {
			loci = append(loci, l)
		}
	}
	for t, looks := range seen {
		tells := false
		for k := range looks {
			for _, e := range evidence(whole, t, k) {
				told[e], tells = true, true
			}
		}
		if !tells && !slices.ContainsFunc(whole.Traits[t].Loci(), func(l int) bool { return whole.Loci[l].Known }) {
			continue
		}
		for _, l := range whole.Traits[t].Loci() {
			use(l)
		}
	}
	for e := range told {
		use(e[0])
		for t := range whole.Traits {
			if on := whole.Traits[t].Loci(); slices.Contains(on, e[0]) {
				for _, l := range on {
					use(l)
				}
			}
		}
	}
	slices.Sort(loci)
	m := whole.Only(loci...)
	open := 0
	m = assume(m, "", nil) // a copy
	for i, l := range loci {
		speaks := m.Loci[i].Known
		for k := range m.Loci[i].Alleles {
			if told[[2]int{l, k}] {
				c.evidenced[[2]int{i, k}] = true
				speaks = true
			}
		}
		switch {
		case !speaks:
			m.Loci[i] = withShares(m.Loci[i], nil)
		case m.Loci[i].Chromosome == heredity.Z:
			open++
		}
		if speaks {
			c.evidenced[[2]int{i, m.Loci[i].Wild}] = true
		}
	}
	if open < 2 {
		m = m.WithRecombination(0.5) // nothing hangs on it where one locus alone can differ
	}
	c.Model = m
}

// list tells of all colours of the species.
func (c *Colours) list(d *Desk, whole *heredity.Model) {
	own := map[string]bool{}
	for _, a := range d.Room.Whole().Assumed {
		own[a.Locus] = own[a.Locus] || a.Species == c.Slug
	}
	for i := range whole.Loci {
		l := &whole.Loci[i]
		x := ColourLocus{
			ID: l.ID, Name: l.Name, OnZ: l.Chromosome == heredity.Z, Basis: strings.ReplaceAll(l.Basis, "-", " "), Source: l.Source, Known: l.Known, Own: own[l.ID],
			Suspected: slices.Contains(l.Suspected, true),
		}
		if k := c.Model.Locus(l.ID); k >= 0 {
			x.Speaks = c.evidenced[[2]int{k, l.Wild}]
		}
		var names []string
		for k := range l.Alleles {
			a := ColourAllele{ID: l.Alleles[k].ID, Name: alleleName(l, k), Wild: k == l.Wild, Share: l.Alleles[k].Frequency}
			if !a.Wild {
				names = append(names, a.Name)
			}
			x.Alleles = append(x.Alleles, a)
		}
		if x.Name == "" {
			x.Name = strings.Join(names, ", ")
		}
		c.Loci = append(c.Loci, x)
	}
	slices.SortStableFunc(c.Loci, func(a, b ColourLocus) int {
		switch {
		case a.Speaks == b.Speaks:
			return 0
		case a.Speaks:
			return -1
		}
		return 1
	})
}

// alleleName is what keepers call an allele.
func alleleName(l *heredity.Locus, allele int) string {
	switch a := l.Alleles[allele]; {
	case a.Name != "":
		return a.Name
	case allele == l.Wild:
		return "wild " + l.ID
	default:
		return l.ID + " " + a.ID
	}
}

// evidence lists the alleles without which a look cannot be, as locus and allele.
func evidence(m *heredity.Model, trait, look int) [][2]int {
	l := m.Traits[trait].Looks[look]
	if l.Rest || len(l.When) == 0 {
		return nil
	}
	var out [][2]int
	for _, locus := range m.Traits[trait].Loci() {
		wild, others := false, map[int]bool{}
		for _, alt := range l.When {
			accept := accepted(m, alt, locus)
			if accept == nil {
				wild = true // this alternative asks nothing of the locus
				break
			}
			n := 0
			for _, sex := range []heredity.Sex{heredity.Cock, heredity.Hen} {
				if sex == heredity.Hen && m.Loci[locus].Chromosome != heredity.Z {
					continue // the same genotypes as a cock's
				}
				has := make([][]int, len(m.Loci[locus].Alleles))
				for a := range has {
					has[a] = m.Copies(locus, a, sex)
				}
				for g := range has[0] {
					if accept[n] {
						plain := true
						for a := range has {
							if a != m.Loci[locus].Wild && has[a][g] > 0 {
								plain, others[a] = false, true
							}
						}
						wild = wild || plain
					}
					n++
				}
			}
		}
		if !wild {
			for a := range others {
				out = append(out, [2]int{locus, a})
			}
		}
	}
	return out
}

func accepted(m *heredity.Model, alt heredity.Alternative, locus int) []bool {
	for _, n := range alt.Needs {
		if n.Locus == locus {
			return n.Accept
		}
	}
	return nil
}

// findLook finds a look of the books in a model: by its trait and name, else by a name that only one trait has; -1 when there is
// none.
func findLook(m *heredity.Model, l aviary.SeenLook) (trait, look int) {
	if l.Trait != "" {
		if t := m.Trait(l.Trait); t >= 0 {
			if k := m.Traits[t].Look(l.Look); k >= 0 {
				return t, k
			}
		}
		return -1, -1
	}
	trait, look = -1, -1
	for t := range m.Traits {
		if k := m.Traits[t].Look(l.Look); k >= 0 {
			if trait >= 0 {
				return -1, -1
			}
			trait, look = t, k
		}
	}
	return trait, look
}

// rows makes the engine's birds; a look that the whole catalogue has no name for is noted.
func (c *Colours) rows(d *Desk, whole *heredity.Model) error {
	m := c.Model
	c.doubted = c.otherCocks(d)
	for i, b := range c.Flock.Birds {
		x := heredity.Bird{Sex: map[aviary.Sex]heredity.Sex{aviary.Cock: heredity.Cock, aviary.Hen: heredity.Hen}[b.Sex]}
		l := d.Room.Parents(b.ID)
		var err error
		if x.Parents, err = heredity.OneOf(c.candidates(l.Sire, l.Sires), c.candidates(l.Dam, l.Dams)); err != nil {
			return fmt.Errorf("parents of %s: %w", c.Flock.name(i), err)
		}
		if c.doubted[i] {
			x.Parents = heredity.WithErrors(x.Parents, wrongSire, 0)
		}
		for _, s := range b.Looks {
			t, k := findLook(m, s)
			if t < 0 {
				if k, _ := findLook(whole, s); k < 0 {
					c.Unread = append(c.Unread, UnreadLook{b, s.Trait, s.Look})
				}
				continue
			}
			if x.Looks == nil {
				x.Looks = slices.Repeat([]int{heredity.Unseen}, len(m.Traits))
			}
			x.Looks[t] = k // the latest look at a trait stands
		}
		for _, s := range b.Said {
			locus := m.Locus(s.Locus)
			if locus < 0 || m.Loci[locus].Allele(s.Allele) < 0 {
				continue
			}
			trust := usualTrust
			if s.Trust != nil {
				trust = *s.Trust
			}
			word := heredity.Said{Locus: locus, Allele: m.Loci[locus].Allele(s.Allele), OfCarrier: trust, OfAnother: 1 - trust}
			if !s.Carries {
				word.OfCarrier, word.OfAnother = 1-trust, trust
			}
			x.Said = append(x.Said, word)
		}
		c.birds = append(c.birds, x)
	}
	return nil
}

// otherCocks marks the birds bred here whose dam was with another grown cock of the species in the fortnight before she laid
// their egg. A pair alone in its cage is beyond doubt.
func (c *Colours) otherCocks(d *Desk) map[int]bool {
	type stay struct {
		cock     aviary.ID
		ripe     aviary.Date
		from, to aviary.Date
	}
	cocks := map[aviary.ID][]stay{}
	for _, b := range c.Flock.Birds {
		if b.Sex != aviary.Cock {
			continue
		}
		ripe := b.Hatched
		if ripe != 0 {
			ripe += ripeDays
		}
		for _, s := range b.Stays {
			cocks[s.Place] = append(cocks[s.Place], stay{b.ID, ripe, s.From, s.To})
		}
	}
	sits := aviary.Date(0)
	if c.Species != nil {
		if v, ok := c.Species.Value(species.IncubationPeriod); ok {
			if _, typical, _, ok := v.Span(); ok {
				sits = aviary.Date(typical + 0.5)
			}
		}
	}
	out := map[int]bool{}
	for i, b := range c.Flock.Birds {
		l := d.Room.Parents(b.ID)
		dam := d.Room.Bird(l.Dam)
		if b.Hatched == 0 || b.RingedAt == nil || dam == nil || l.Sire == (aviary.ID{}) {
			continue
		}
		laid := b.Hatched - sits
		from := laid - spermDays
		for _, s := range dam.Stays {
			if s.From >= laid || (s.To != 0 && s.To <= from) {
				continue
			}
			for _, o := range cocks[s.Place] {
				together := max(s.From, o.from, from, o.ripe)
				until := laid
				for _, to := range []aviary.Date{s.To, o.to} {
					if to != 0 {
						until = min(until, to)
					}
				}
				out[i] = out[i] || (o.cock != l.Sire && together < until)
			}
		}
	}
	return out
}

// candidates are the rows of a parent, or of several that may be it, each as likely as the others.
func (c *Colours) candidates(one aviary.ID, several []aviary.ID) []heredity.Candidate {
	if one != (aviary.ID{}) {
		several = []aviary.ID{one}
	}
	var out []heredity.Candidate
	for _, id := range several {
		if row, ok := c.Flock.Row(id); ok {
			out = append(out, heredity.Candidate{Bird: row, Weight: 1 / float64(len(several))})
		}
	}
	return out
}

// Hidden is what a bird may hide at one locus: an allele beside another one that covers it.
type Hidden struct {
	Locus, Allele int
	Name          string  // of the colour that is hidden
	P, Low, High  float64 // the chance that it is there, hidden
	Marked        bool    // the answer hangs on what was assumed
	Exact         bool
	Error         float64  // Monte Carlo standard error, unless exact
	Evidence      []string // what speaks for and against, in sentences
}

// Odds is what is known of a bird's genotype at one locus.
type Odds struct {
	Genotype string
	P        float64
}

// Genotypes lists what a bird may be at a locus, likeliest first; what is under 1 in 1,000 is left out.
func (c *Colours) Genotypes(id aviary.ID, locus int) []Odds {
	row, ok := c.Flock.Row(id)
	if !ok || c.Answer == nil {
		return nil
	}
	var out []Odds
	at := c.Answer.At(row, locus)
	for _, sex := range []heredity.Sex{heredity.Cock, heredity.Hen} {
		for g, p := range at.Of(sex) {
			if p < 0.001 {
				continue
			}
			name := c.Model.Genotypes(locus, sex)[g]
			if i := slices.IndexFunc(out, func(o Odds) bool { return o.Genotype == name }); i >= 0 {
				out[i].P += p
				continue
			}
			out = append(out, Odds{name, p})
		}
	}
	slices.SortStableFunc(out, func(a, b Odds) int { return compareDown(a.P, b.P) })
	return out
}

// Hidden lists what a bird may hide, likeliest first. Empty without an answer.
func (c *Colours) Hidden(id aviary.ID) []Hidden {
	row, ok := c.Flock.Row(id)
	if !ok || c.Answer == nil {
		return nil
	}
	var out []Hidden
	at := make([]heredity.Marginal, len(c.Model.Loci))
	for l := range c.Model.Loci {
		at[l] = c.Answer.At(row, l)
	}
	for l := range c.Model.Loci {
		for a := range c.Model.Loci[l].Alleles {
			if !c.evidenced[[2]int{l, a}] {
				continue
			}
			h := Hidden{Locus: l, Allele: a, Name: c.colourName(l, a), Exact: at[l].Method == heredity.Exact, Marked: c.Answer.Marked(row, l)}
			low, high := c.Answer.Low(row, l), c.Answer.High(row, l)
			can := false
			for _, sex := range []heredity.Sex{heredity.Cock, heredity.Hen} {
				copies := c.Model.Copies(l, a, sex)
				for g, p := range at[l].Of(sex) {
					if copies[g] != 1 || !c.covered(l, a, sex, g, at) {
						continue
					}
					can = can || p > 0 || high.Of(sex)[g] > 0
					h.P += p
					h.Low += low.Of(sex)[g]
					h.High = min(h.High+high.Of(sex)[g], 1)
					if se := errorsOf(at[l], sex); se != nil {
						h.Error = max(h.Error, se[g])
					}
				}
			}
			if !can {
				continue
			}
			h.Evidence = c.evidenceFor(row, l, a)
			out = append(out, h)
		}
	}
	slices.SortStableFunc(out, func(a, b Hidden) int { return compareDown(a.P, b.P) })
	return out
}

func errorsOf(m heredity.Marginal, s heredity.Sex) []float64 {
	if s == heredity.Cock {
		return m.CockError
	}
	return m.HenError
}

// covered reports whether a genotype with one copy of an allele looks like the one without it, as the other loci of the bird
// most likely are: whether the allele is hidden in it.
func (c *Colours) covered(locus, allele int, sex heredity.Sex, g int, at []heredity.Marginal) bool {
	m := c.Model
	if sex == heredity.Hen && m.Loci[locus].Chromosome == heredity.Z {
		return false // a hen has one Z and hides nothing on it
	}
	other := -1
	for b := range m.Loci[locus].Alleles {
		if b != allele && m.Copies(locus, b, sex)[g] == 1 {
			other = b
		}
	}
	if other < 0 {
		return false
	}
	twice := slices.Index(m.Copies(locus, other, sex), 2)
	mine := make([]int, len(m.Loci))
	for l := range mine {
		mine[l] = likeliest(at[l].Of(sex))
	}
	for t := range m.Traits {
		if !slices.Contains(m.Traits[t].Loci(), locus) {
			continue
		}
		mine[locus] = g
		one := plainLooks(m, t, m.Chances(t, sex, mine))
		mine[locus] = twice
		two := plainLooks(m, t, m.Chances(t, sex, mine))
		if !slices.Equal(one, two) {
			return false
		}
	}
	return true
}

// plainLooks are the chances of the looks that are not evidence.
func plainLooks(m *heredity.Model, trait int, chances []float64) []float64 {
	var out []float64
	for k, p := range chances {
		if !m.Traits[trait].Looks[k].Evidence {
			out = append(out, p)
		}
	}
	return out
}

func likeliest(p []float64) int {
	best := 0
	for i, x := range p {
		if x > p[best] {
			best = i
		}
	}
	return best
}

// colourName is what keepers call an allele of the model.
func (c *Colours) colourName(locus, allele int) string {
	return alleleName(&c.Model.Loci[locus], allele)
}

// shows names what a bird was seen to show of the traits of a locus: "fawn"; "" when nobody looked.
func (c *Colours) shows(row, locus int) string {
	var out []string
	for t := range c.Model.Traits {
		if !slices.Contains(c.Model.Traits[t].Loci(), locus) || c.birds[row].Looks == nil {
			continue
		}
		if k := c.birds[row].Looks[t]; k != heredity.Unseen {
			out = append(out, c.Model.Traits[t].Looks[k].Name)
		}
	}
	return strings.Join(out, ", ")
}

// evidenceFor says in sentences what bears on whether a bird hides an allele: its own look, words, its parents, its young by each
// mate.
func (c *Colours) evidenceFor(row, locus, allele int) []string {
	var out []string
	name := c.colourName(locus, allele)
	if s := c.shows(row, locus); s != "" {
		out = append(out, "It shows "+s+".")
	} else {
		out = append(out, "What it shows is not written.")
	}
	for _, s := range c.Flock.Birds[row].Said {
		if c.Model.Locus(s.Locus) != locus || c.Model.Loci[locus].Allele(s.Allele) != allele {
			continue
		}
		trust := usualTrust
		if s.Trust != nil {
			trust = *s.Trust
		}
		word := "not to hide"
		if s.Carries {
			word = "to hide"
		}
		who := s.By
		if who == "" {
			who = "somebody"
		}
		out = append(out, fmt.Sprintf("It was said %s %s by %s, trusted %.0f in 100.", word, name, who, 100*trust))
	}
	for _, p := range c.birds[row].Parents {
		for _, parent := range []struct {
			row int
			as  string
		}{{p.Sire, "father"}, {p.Dam, "mother"}} {
			if parent.row < 0 {
				continue
			}
			s := c.shows(parent.row, locus)
			if s == "" {
				s = "nothing that is written"
			}
			line := fmt.Sprintf("Its %s %s shows %s and %s.", parent.as, c.Flock.name(parent.row), s, has(name, c.Answer.Carrier(parent.row, locus, allele)))
			if !slices.Contains(out, line) {
				out = append(out, line)
			}
		}
	}
	if c.doubted[row] {
		out = append(out, fmt.Sprintf("Its dam was with another cock in the fortnight before she laid, so its father is right with %.0f in 100 only (zebra finches: Birkhead and others 1988, from memory).", 100*(1-wrongSire)))
	}
	return append(out, c.youngBy(row, locus)...)
}

// youngBy counts a bird's young by mate and look.
func (c *Colours) youngBy(row, locus int) []string {
	type brood struct {
		mate  int
		looks []string
		n     map[string]int
		all   int
	}
	var broods []*brood
	for i := range c.birds {
		for _, p := range c.birds[i].Parents {
			mate := heredity.Unknown
			switch row {
			case p.Sire:
				mate = p.Dam
			case p.Dam:
				mate = p.Sire
			default:
				continue
			}
			k := slices.IndexFunc(broods, func(b *brood) bool { return b.mate == mate })
			if k < 0 {
				broods, k = append(broods, &brood{mate: mate, n: map[string]int{}}), len(broods)
			}
			s := c.shows(i, locus)
			if s == "" {
				s = "not written"
			}
			if broods[k].n[s] == 0 {
				broods[k].looks = append(broods[k].looks, s)
			}
			broods[k].n[s]++
			broods[k].all++
			break
		}
	}
	var out []string
	for _, b := range broods {
		with := "an unknown mate"
		if b.mate >= 0 {
			with = c.Flock.name(b.mate)
			if s := c.shows(b.mate, locus); s != "" {
				with += " (" + s + ")"
			}
		}
		var parts []string
		for _, s := range b.looks {
			parts = append(parts, fmt.Sprintf("%d %s", b.n[s], s))
		}
		out = append(out, fmt.Sprintf("%d young with %s: %s.", b.all, with, strings.Join(parts, ", ")))
	}
	return out
}

// has says how sure it is that a bird has an allele.
func has(name string, p float64) string {
	switch {
	case p >= 0.9995:
		return "certainly has " + name
	case p <= 0.0005:
		return "almost certainly has no " + name
	case p >= 0.1:
		return fmt.Sprintf("has %s with a chance of %.0f in 100", name, 100*p)
	}
	return fmt.Sprintf("has %s with a chance of 1 in %.0f", name, 1/p)
}

// Tell is what pairing a bird with a mate would tell of what it hides.
type Tell struct {
	Mate   *aviary.Bird
	Share  float64 // of what there is to know, by a brood of four
	Normal int     // young in a row without the colour until the odds against it stand at 95 in 100; -1 when no number does
	Left   float64 // the chance that is left then
}

// WouldTell ranks mates by how much a brood with each would tell of whether a bird hides a colour, most first.
func (c *Colours) WouldTell(id aviary.ID, h Hidden, mates []aviary.ID) ([]Tell, error) {
	row, ok := c.Flock.Row(id)
	if !ok || c.Answer == nil {
		return nil, nil
	}
	var rows []int
	var may [][]heredity.Possible
	for _, m := range mates {
		if r, ok := c.Flock.Row(m); ok {
			rows, may = append(rows, r), append(may, c.possible(r))
		}
	}
	tests, err := heredity.Tests(c.Model, heredity.Question{Bird: c.possible(row), Locus: h.Locus, Allele: h.Allele}, may)
	if err != nil {
		return nil, err
	}
	var out []Tell
	for _, t := range tests {
		share := 0.0
		if t.Sure > 0 {
			share = t.Bits / t.Sure
		}
		out = append(out, Tell{Mate: c.Flock.Birds[rows[t.Mate]], Share: share, Normal: t.Normal, Left: t.After})
	}
	return out, nil
}

// negligible is a chance below which a genotype is left out of a cross.
const negligible = 1e-6

// possible lists what a bird may be at all loci of the model, each locus on its own and linked loci in either phase.
func (c *Colours) possible(row int) []heredity.Possible {
	m := c.Model
	sexes := []heredity.Sex{heredity.Cock, heredity.Hen}
	if s := c.Answer.Sex(row); s != heredity.Unsexed {
		sexes = []heredity.Sex{s}
	}
	var out []heredity.Possible
	sum := 0.0
	for _, sex := range sexes {
		list := []heredity.Possible{{Genome: heredity.Genome{Sex: sex}, P: 1}}
		for l := range m.Loci {
			var next []heredity.Possible
			for g, p := range c.Answer.At(row, l).Of(sex) {
				if p < negligible {
					continue
				}
				a, b := c.alleles(l, sex, g)
				ways := phases(a, b, l > 0)
				for _, x := range list {
					for _, pair := range ways {
						next = append(next, heredity.Possible{
							Genome: heredity.Genome{Sex: sex, First: append(slices.Clone(x.First), pair[0]), Second: append(slices.Clone(x.Second), pair[1])},
							P:      x.P * p / float64(len(ways)),
						})
					}
				}
			}
			list = next
		}
		for _, x := range list {
			if x.P >= negligible {
				out, sum = append(out, x), sum+x.P
			}
		}
	}
	for i := range out {
		out[i].P /= sum
	}
	return out
}

// phases are the ways in which two alleles may lie on a bird's two chromosomes beside those of the loci before.
func phases(a, b int, others bool) [][2]int {
	if a == b || b == heredity.None || !others {
		return [][2]int{{a, b}}
	}
	return [][2]int{{a, b}, {b, a}}
}

// alleles are the two alleles of a genotype, the second None at a hen's Z.
func (c *Colours) alleles(locus int, sex heredity.Sex, g int) (a, b int) {
	a, b = heredity.None, heredity.None
	for k := range c.Model.Loci[locus].Alleles {
		for range c.Model.Copies(locus, k, sex)[g] {
			if a == heredity.None {
				a = k
			} else {
				b = k
			}
		}
	}
	return a, b
}
