package heredity

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A ModelError says what in a loci file does not hold together, and where.
type ModelError struct {
	Where   string // "locus “head”"; "" for the file as a whole
	Message string // one or more sentences fit to show
}

// Error returns place and message as one text.
func (e *ModelError) Error() string {
	if e.Where == "" {
		return e.Message
	}
	return "In " + e.Where + ": " + e.Message
}

type fileAbout struct {
	Name   string            `json:"name"`
	Names  map[string]string `json:"names"`
	Basis  string            `json:"basis"`
	Source string            `json:"source"`
	Note   string            `json:"note"`
}

func (f fileAbout) about() About { return About(f) }

type fileModel struct {
	fileAbout
	Species   string      `json:"species"`
	Loci      []fileLocus `json:"loci"`
	Linkage   []fileLink  `json:"linkage"`
	Traits    []fileTrait `json:"traits"`
	Unsettled []fileAbout `json:"unsettled"`
}

type fileLocus struct {
	fileAbout
	ID         string             `json:"id"`
	Chromosome string             `json:"chromosome"`
	Alleles    []fileAllele       `json:"alleles"`
	Survival   map[string]float64 `json:"survival"`
	Suspected  []string           `json:"suspected_lethal"`
	Lethality  string             `json:"lethality"`
}

type fileAllele struct {
	fileAbout
	ID        string   `json:"id"`
	Frequency *float64 `json:"frequency"`
	Wild      bool     `json:"wild"`
}

type fileLink struct {
	fileAbout
	Between       []string `json:"between"`
	Recombination *float64 `json:"recombination"`
}

type fileTrait struct {
	fileAbout
	ID           string     `json:"id"`
	Column       string     `json:"column"`
	Looks        []fileLook `json:"looks"`
	ScoringError float64    `json:"scoring_error"`
}

type fileLook struct {
	fileAbout
	Look        string                       `json:"look"`
	When        []map[string]json.RawMessage `json:"when"`
	Probability *float64                     `json:"probability"`
	Evidence    bool                         `json:"evidence"`
}

// Read reads a loci file and checks it. Besides the keys loci, linkage and traits, each
// part may carry name, names, basis, source and note; a locus may carry survival (the
// chance to live, by genotype), suspected_lethal (genotypes) and lethality (viable,
// lethal or unknown); an allele may be marked wild; an alternative under “when” may
// carry sex (cock or hen) and its own probability; a trait may carry scoring_error; and the
// file may list, under unsettled, colours whose inheritance is not known.
//
// Frequencies stand at all alleles of a locus or at none. Z loci that no link joins to
// the rest are joined, in the order of the file, by a link of unknown recombination.
// What does not hold together is refused with a [*ModelError].
func Read(data []byte) (*Model, error) {
	if !utf8.Valid(data) {
		return nil, &ModelError{"", "The loci file holds bytes that are not text in UTF-8. Save it as UTF-8."}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	var f fileModel
	if err := d.Decode(&f); err != nil {
		return nil, &ModelError{"", jsonSentence(err, data)}
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, &ModelError{"", "The loci file goes on after its closing brace. Take out what follows."}
	}
	m := &Model{Species: f.Species, About: f.about()}
	for _, step := range []func(*fileModel) *ModelError{m.readLoci, m.readLinks, m.readTraits} {
		if err := step(&f); err != nil {
			return nil, err
		}
	}
	return m, nil
}

// jsonSentence puts a fault of the decoder in words.
func jsonSentence(err error, data []byte) string {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	line := func(offset int64) int {
		return 1 + bytes.Count(data[:min(int(offset), len(data))], []byte("\n"))
	}
	switch {
	case errors.As(err, &syntax):
		return fmt.Sprintf("The loci file is not valid JSON at line %d: %s.", line(syntax.Offset), syntax)
	case errors.As(err, &kind):
		return fmt.Sprintf("The loci file has a %s at line %d where %s needs another kind of value.", kind.Value, line(kind.Offset), quotedField(kind.Field))
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return "The loci file ends too early. It begins with { and ends with }."
	}
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return fmt.Sprintf("The loci file has the key %s, which means nothing here. Check its spelling.", name)
	}
	return fmt.Sprintf("The loci file cannot be read: %s.", err)
}

func quotedField(f string) string {
	if f == "" {
		return "the file"
	}
	return "“" + f + "”"
}

// badName says what is wrong with an id, or "".
func badName(id string, reserved string) string {
	switch {
	case id == "":
		return "An id is missing."
	case strings.TrimSpace(id) != id:
		return fmt.Sprintf("The id “%s” begins or ends with a space.", id)
	case strings.ContainsAny(id, reserved):
		return fmt.Sprintf("The id “%s” holds one of the signs %s, which have a meaning of their own.", id, reserved)
	case strings.ContainsFunc(id, unicode.IsControl):
		return fmt.Sprintf("The id “%s” holds a sign that cannot be shown.", id)
	}
	return ""
}

func checkBasis(where string, a About) *ModelError {
	if a.Basis != "" && !slices.Contains([]string{"published", "common-practice", "from-memory"}, a.Basis) {
		return &ModelError{where, fmt.Sprintf("The basis “%s” is none of published, common-practice and from-memory.", a.Basis)}
	}
	return nil
}

func share(x float64) bool { return x >= 0 && x <= 1 }

func (m *Model) readLoci(f *fileModel) *ModelError {
	for _, u := range f.Unsettled {
		if u.Name == "" {
			return &ModelError{"what is unsettled", "A colour has no name."}
		}
		if err := checkBasis("what is unsettled", u.about()); err != nil {
			return err
		}
		m.Unsettled = append(m.Unsettled, u.about())
	}
	if len(f.Loci) == 0 && (len(f.Unsettled) == 0 || len(f.Traits) > 0) {
		return &ModelError{"", "The loci file names no loci."}
	}
	for _, fl := range f.Loci {
		if bad := badName(fl.ID, "/|,;=:"); bad != "" {
			return &ModelError{"the loci", bad}
		}
		where := fmt.Sprintf("locus “%s”", fl.ID)
		if m.Locus(fl.ID) >= 0 {
			return &ModelError{where, "There are two loci with this id."}
		}
		if fl.ID == "sex" || fl.ID == "probability" {
			return &ModelError{where, "This word has a meaning of its own in the looks. Name the locus differently."}
		}
		l := Locus{ID: fl.ID, About: fl.about(), Wild: -1}
		if err := checkBasis(where, l.About); err != nil {
			return err
		}
		switch fl.Chromosome {
		case "Z":
			l.Chromosome = Z
		case "autosome":
		default:
			return &ModelError{where, fmt.Sprintf("The chromosome is “%s”. Write Z or autosome.", fl.Chromosome)}
		}
		if len(fl.Alleles) < 2 {
			return &ModelError{where, "A locus needs two alleles or more."}
		}
		if len(fl.Alleles) > maxHaplotypes {
			return &ModelError{where, fmt.Sprintf("A locus may have %d alleles at most.", maxHaplotypes)}
		}
		sum, set := 0.0, 0
		for i, fa := range fl.Alleles {
			if bad := badName(fa.ID, "/|,;=:"); bad != "" {
				return &ModelError{where, bad}
			}
			if l.Allele(fa.ID) >= 0 {
				return &ModelError{where, fmt.Sprintf("The allele “%s” stands there twice.", fa.ID)}
			}
			a := Allele{ID: fa.ID, About: fa.about()}
			if err := checkBasis(where, a.About); err != nil {
				return err
			}
			if fa.Frequency != nil {
				if !share(*fa.Frequency) {
					return &ModelError{where, fmt.Sprintf("The frequency of “%s” is %g. It must be from 0 to 1.", fa.ID, *fa.Frequency)}
				}
				a.Frequency = *fa.Frequency
				sum += a.Frequency
				set++
			}
			if fa.Wild {
				if l.Wild >= 0 {
					return &ModelError{where, "Two alleles are marked wild."}
				}
				l.Wild = i
			}
			l.Alleles = append(l.Alleles, a)
		}
		switch {
		case set == 0:
		case set < len(l.Alleles):
			return &ModelError{where, "Some alleles have a frequency and some have none. Give all of them one, or none."}
		case math.Abs(sum-1) > sumTolerance:
			return &ModelError{where, fmt.Sprintf("The frequencies add up to %.6g, not to 1.", sum)}
		default:
			l.Known = true
			for i := range l.Alleles {
				l.Alleles[i].Frequency /= sum
			}
		}
		if l.Wild < 0 {
			l.Wild = max(0, slices.IndexFunc(l.Alleles, func(a Allele) bool { return strings.HasSuffix(a.ID, "+") }))
		}
		if err := l.readSurvival(where, fl); err != nil {
			return err
		}
		m.Loci = append(m.Loci, l)
	}
	return nil
}

func (l *Locus) readSurvival(where string, fl fileLocus) *ModelError {
	if len(fl.Survival) > 0 {
		l.Survival = make([]float64, l.all())
		for i := range l.Survival {
			l.Survival[i] = 1
		}
		for text, s := range fl.Survival {
			g, msg := l.parse(text)
			if msg != "" {
				return &ModelError{where, msg}
			}
			if !share(s) {
				return &ModelError{where, fmt.Sprintf("The survival of %s is %g. It must be from 0 to 1.", text, s)}
			}
			if l.Survival[g] != 1 && l.Survival[g] != s {
				return &ModelError{where, fmt.Sprintf("The survival of %s stands there twice.", text)}
			}
			l.Survival[g] = s
		}
		if !slices.ContainsFunc(l.Survival[:pairs(len(l.Alleles))], positive) || !slices.ContainsFunc(l.Survival[l.offset(Hen):], positive) {
			return &ModelError{where, "By these survivals no cock or no hen could live."}
		}
	}
	if len(fl.Suspected) > 0 {
		l.Suspected = make([]bool, l.all())
		for _, text := range fl.Suspected {
			g, msg := l.parse(text)
			if msg != "" {
				return &ModelError{where, msg}
			}
			l.Suspected[g] = true
		}
		for _, part := range [][]bool{l.Suspected[:pairs(len(l.Alleles))], l.Suspected[l.offset(Hen):]} {
			if !slices.Contains(part, false) {
				return &ModelError{where, "If all of these genotypes were lethal, no cock or no hen could live."}
			}
		}
	}
	switch fl.Lethality {
	case "", "unknown":
	case "viable":
		l.Lethality = Viable
	case "lethal":
		l.Lethality = Lethal
	default:
		return &ModelError{where, fmt.Sprintf("The lethality is “%s”. Write viable, lethal or unknown.", fl.Lethality)}
	}
	if l.Lethality == Lethal && l.Survival != nil && l.Suspected != nil {
		for _, s := range []Sex{Cock, Hen} {
			lives := false
			for g := range l.states(s) {
				lives = lives || l.survives(s, g) > 0
			}
			if !lives {
				return &ModelError{where, fmt.Sprintf("By survival and lethality together no %s could live.", s)}
			}
		}
	}
	return nil
}

func positive(x float64) bool { return x > 0 }

// parse reads a genotype such as "R/r" or, at a Z locus, "R", and returns its number in
// the numbering of Survival, or a sentence on what is wrong.
func (l *Locus) parse(text string) (int, string) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == '/' || r == '|' })
	if strings.Count(text, "/")+strings.Count(text, "|") != len(parts)-1 || len(parts) < 1 || len(parts) > 2 {
		return 0, fmt.Sprintf("“%s” is not a genotype. Write two alleles with a stroke between them, or one for a hen's Z.", text)
	}
	var a [2]int
	for i, p := range parts {
		a[i] = l.Allele(strings.TrimSpace(p))
		if a[i] < 0 {
			return 0, fmt.Sprintf("The genotype “%s” names “%s”, which is no allele of %s.", text, strings.TrimSpace(p), l.ID)
		}
	}
	if len(parts) == 1 {
		if l.Chromosome == Autosome {
			return 0, fmt.Sprintf("The genotype “%s” has one allele, but every bird has two at %s, which is not on the Z.", text, l.ID)
		}
		return l.offset(Hen) + a[0], ""
	}
	return pairIndex(len(l.Alleles), a[0], a[1]), ""
}

func (m *Model) readLinks(f *fileModel) *ModelError {
	next := make([][]int, len(m.Loci))
	root := newForest(len(m.Loci))
	for i, fl := range f.Linkage {
		where := fmt.Sprintf("linkage %d", i+1)
		if len(fl.Between) != 2 {
			return &ModelError{where, "“between” must name two loci."}
		}
		k := Link{A: m.Locus(fl.Between[0]), B: m.Locus(fl.Between[1]), About: fl.about()}
		where = fmt.Sprintf("the linkage of %s and %s", fl.Between[0], fl.Between[1])
		if err := checkBasis(where, k.About); err != nil {
			return err
		}
		switch {
		case k.A < 0 || k.B < 0:
			return &ModelError{where, "There is no locus of one of these names."}
		case k.A == k.B:
			return &ModelError{where, "A locus cannot be linked to itself."}
		case m.Loci[k.A].Chromosome != m.Loci[k.B].Chromosome:
			return &ModelError{where, "One lies on the Z and the other does not, so that they cannot be linked."}
		case slices.Contains(next[k.A], k.B):
			return &ModelError{where, "The two stand there twice."}
		case len(next[k.A]) == 2 || len(next[k.B]) == 2:
			return &ModelError{where, "A locus has at most two neighbours on its chromosome. Give the fractions between neighbours only."}
		case root.find(k.A) == root.find(k.B):
			return &ModelError{where, "These linkages close a ring. Give the fractions between neighbours only."}
		}
		if fl.Recombination != nil {
			if !(*fl.Recombination >= 0 && *fl.Recombination <= 0.5) {
				return &ModelError{where, fmt.Sprintf("The recombination is %g. It must be from 0 to 0.5.", *fl.Recombination)}
			}
			k.Known, k.Recombination = true, *fl.Recombination
		}
		next[k.A], next[k.B] = append(next[k.A], k.B), append(next[k.B], k.A)
		root.join(k.A, k.B)
		m.Links = append(m.Links, k)
	}
	m.joinZ(next, root)
	return m.checkGroups()
}

// joinZ links the separate pieces of the Z end to end by unknown fractions, as long as
// the alleles of a chain have no more combinations than can be followed.
func (m *Model) joinZ(next [][]int, root forest) {
	ends := map[int][]int{} // by piece: its one or two ends
	var order []int
	for l := range m.Loci {
		if m.Loci[l].Chromosome == Z && len(next[l]) < 2 {
			g := root.find(l)
			if ends[g] == nil {
				order = append(order, g)
			}
			ends[g] = append(ends[g], l)
		}
	}
	size := func(g int) int {
		n := 1
		for l := range m.Loci {
			if root.find(l) == root.find(g) {
				n *= len(m.Loci[l].Alleles)
			}
		}
		return n
	}
	for i := 1; i < len(order); i++ {
		last, first := ends[order[i-1]], ends[order[i]]
		if size(order[i-1])*size(order[i]) > maxHaplotypes {
			continue // too many to follow together: free, as other loci are
		}
		m.Links = append(m.Links, Link{A: last[len(last)-1], B: first[0]})
		root.join(order[i-1], order[i])
	}
}

// checkGroups refuses linked groups whose tables would be too large.
func (m *Model) checkGroups() *ModelError {
	root := newForest(len(m.Loci))
	for _, k := range m.Links {
		if !k.Known || k.Recombination < 0.5 {
			root.join(k.A, k.B)
		}
	}
	h := map[int]int{}
	for l := range m.Loci {
		g := root.find(l)
		if h[g] == 0 {
			h[g] = 1
		}
		if h[g] *= len(m.Loci[l].Alleles); h[g] > maxHaplotypes {
			return &ModelError{"the linkage", fmt.Sprintf("The loci linked to %s have more than %d combinations of alleles. Link fewer of them, or set a recombination of 0.5.", m.Loci[l].ID, maxHaplotypes)}
		}
	}
	return nil
}

func (m *Model) readTraits(f *fileModel) *ModelError {
	for _, ft := range f.Traits {
		if bad := badName(ft.ID, ""); bad != "" {
			return &ModelError{"the traits", bad}
		}
		where := fmt.Sprintf("trait “%s”", ft.ID)
		t := Trait{ID: ft.ID, Column: ft.Column, ScoringError: ft.ScoringError, About: ft.about()}
		if t.Column == "" {
			t.Column = t.ID
		}
		if bad := badName(t.Column, ""); bad != "" {
			return &ModelError{where, bad}
		}
		if err := checkBasis(where, t.About); err != nil {
			return err
		}
		for _, o := range m.Traits {
			if o.ID == t.ID || o.Column == t.Column {
				return &ModelError{where, "Two traits share this id or column."}
			}
		}
		if !(t.ScoringError >= 0 && t.ScoringError < 0.5) {
			return &ModelError{where, fmt.Sprintf("The scoring error is %g. It must be from 0 to under 0.5.", t.ScoringError)}
		}
		rest, plain := 0, 0
		for _, fl := range ft.Looks {
			l, err := m.readLook(where, fl)
			if err != nil {
				return err
			}
			if t.Look(l.Name) >= 0 {
				return &ModelError{where, fmt.Sprintf("The look “%s” stands there twice.", l.Name)}
			}
			if l.Rest {
				rest++
			}
			if !l.Evidence {
				plain++
			}
			t.Looks = append(t.Looks, l)
		}
		if plain == 0 {
			return &ModelError{where, "A trait needs a look that is not evidence."}
		}
		if rest > 1 {
			return &ModelError{where, "Two looks have no “when”. One look only can cover the rest."}
		}
		if err := m.tabulate(&t); err != nil {
			return err
		}
		m.Traits = append(m.Traits, t)
	}
	return nil
}

func (m *Model) readLook(where string, fl fileLook) (Look, *ModelError) {
	l := Look{Name: fl.Look, Evidence: fl.Evidence, Rest: fl.When == nil, About: fl.about()}
	if bad := badName(fl.Look, ""); bad != "" {
		return l, &ModelError{where, "A look has no proper name. " + bad}
	}
	where += fmt.Sprintf(", look “%s”", fl.Look)
	if err := checkBasis(where, l.About); err != nil {
		return l, err
	}
	chance := 1.0
	if fl.Probability != nil {
		chance = *fl.Probability
	}
	if l.Rest && (l.Evidence || fl.Probability != nil) {
		return l, &ModelError{where, "A look without “when” covers what the others leave, and can be neither evidence nor have a probability."}
	}
	if fl.When != nil && len(fl.When) == 0 {
		return l, &ModelError{where, "“when” is an empty list, so that the look could never be seen. Leave “when” out if it covers the rest."}
	}
	for _, fw := range fl.When {
		a := Alternative{Probability: chance}
		for key, raw := range fw {
			switch key {
			case "probability":
				if json.Unmarshal(raw, &a.Probability) != nil {
					return l, &ModelError{where, "“probability” must be a number."}
				}
				continue
			case "sex":
				var s string
				if json.Unmarshal(raw, &s) != nil || (s != "cock" && s != "hen") {
					return l, &ModelError{where, "“sex” must be cock or hen."}
				}
				a.Sex = map[string]Sex{"cock": Cock, "hen": Hen}[s]
				continue
			}
			n := Need{Locus: m.Locus(key)}
			if n.Locus < 0 {
				return l, &ModelError{where, fmt.Sprintf("There is no locus “%s”.", key)}
			}
			var texts []string
			if json.Unmarshal(raw, &texts) != nil || len(texts) == 0 {
				return l, &ModelError{where, fmt.Sprintf("“%s” must be a list of genotypes.", key)}
			}
			locus := &m.Loci[n.Locus]
			n.Accept = make([]bool, locus.all())
			for _, text := range texts {
				g, msg := locus.parse(text)
				if msg != "" {
					return l, &ModelError{where, msg}
				}
				n.Accept[g] = true
			}
			a.Needs = append(a.Needs, n)
		}
		if !share(a.Probability) {
			return l, &ModelError{where, fmt.Sprintf("The probability is %g. It must be from 0 to 1.", a.Probability)}
		}
		slices.SortFunc(a.Needs, func(x, y Need) int { return x.Locus - y.Locus })
		if !m.feasible(a, Cock) && !m.feasible(a, Hen) {
			return l, &ModelError{where, "One of its alternatives asks for genotypes that cannot exist in one bird."}
		}
		l.When = append(l.When, a)
	}
	return l, nil
}

// feasible reports whether a bird of that sex may have what the alternative asks for.
func (m *Model) feasible(a Alternative, s Sex) bool {
	if a.Sex != Unsexed && a.Sex != s {
		return false
	}
	for _, n := range a.Needs {
		l := &m.Loci[n.Locus]
		if !slices.Contains(n.Accept[l.offset(s):l.offset(s)+l.states(s)], true) {
			return false
		}
	}
	return true
}

// A forest is a union-find structure.
type forest []int

func newForest(n int) forest {
	f := make(forest, n)
	for i := range f {
		f[i] = i
	}
	return f
}

func (f forest) find(x int) int {
	for f[x] != x {
		f[x] = f[f[x]]
		x = f[x]
	}
	return x
}

func (f forest) join(a, b int) { f[f.find(a)] = f.find(b) }
