package cli

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"

	"github.com/spf13/cobra"

	"broodlight/internal/pedigree"
)

// flock is a pedigree file: who the parents of each bird are, by name. The birds of the file come first, in its order;
// those that are only named as parents follow.
type flock struct {
	names []string
	row   map[string]int
	lines []int // of the birds that have a row in the file
	p     *pedigree.Pedigree
}

const pedigreeColumns = "the columns id, sire, dam and sex (cock, hen, M, F or empty)"

// sexes are the words for cock and hen, in small letters.
var sexes = map[string]pedigree.Sex{
	"": pedigree.Unsexed, "cock": pedigree.Cock, "m": pedigree.Cock, "hen": pedigree.Hen, "f": pedigree.Hen,
}

// readFlock reads a pedigree: id, sire, dam and sex. A parent that is not known is left empty; one without a row is a
// founder. Rows stand in any order. A file without the column sex is one of birds of unknown sex.
func readFlock(cmd *cobra.Command, path string) (*flock, error) {
	s, err := readSheet(cmd, "in", path, column{name: "id", must: true}, column{name: "sire", must: true}, column{name: "dam", must: true}, column{name: "sex"})
	if err != nil {
		return nil, err
	}
	n := len(s.rows)
	id, sire, dam := make([]string, n), make([]string, n), make([]string, n)
	known := make([]pedigree.Sex, n)
	for i := range n {
		if id[i], sire[i], dam[i] = s.cell(i, "id"), s.cell(i, "sire"), s.cell(i, "dam"); id[i] == "" {
			return nil, s.wrong(i, "id", "the bird has no name or ring")
		}
		word := s.cell(i, "sex")
		sex, ok := sexes[strings.ToLower(word)]
		if !ok {
			return nil, s.wrong(i, "sex", "%q is not a sex; write cock, hen, M or F, or leave it empty", word)
		}
		known[i] = sex
	}
	f := &flock{names: id, row: map[string]int{}, lines: s.lines}
	names, sires, dams, err := pedigree.Rows(id, sire, dam, "")
	if err != nil {
		return nil, f.mistakes(s, err)
	}
	f.names = names
	sex := make([]pedigree.Sex, len(names))
	copy(sex, known)
	if f.p, err = pedigree.New(sires, dams, sex); err != nil {
		return nil, f.mistakes(s, err)
	}
	for i, x := range names {
		f.row[x] = i
	}
	return f, nil
}

// name says a bird with its line, where it has one.
func (f *flock) name(row int) string {
	if row < len(f.lines) {
		return fmt.Sprintf("%s (line %d)", f.names[row], f.lines[row])
	}
	return f.names[row]
}

// mistakes says each mistake of a pedigree in a line, with the birds named and the cell where it shows.
func (f *flock) mistakes(s *sheet, err error) error {
	var all *pedigree.Mistakes
	if !errors.As(err, &all) {
		return bad{err}
	}
	var said []error
	for _, m := range all.List {
		text := m.Error()
		if named, ok := m.(pedigree.Named); ok {
			text = named.Say(f.name)
		}
		row, column := f.cellOf(s, m)
		said = append(said, s.wrong(row, column, "%s", text))
	}
	if all.More > 0 {
		said = append(said, badf("%s: there are %d more mistakes of this kind", s.name, all.More))
	}
	return errors.Join(append(said, badf("this pedigree cannot be; nothing was worked out"))...)
}

// cellOf returns the cell of the file to look at first for a mistake.
func (f *flock) cellOf(s *sheet, mistake error) (row int, column string) {
	parent := map[pedigree.Sex]string{pedigree.Cock: "sire", pedigree.Hen: "dam"}
	switch m := mistake.(type) {
	case *pedigree.TwiceError:
		return m.Again, "id"
	case *pedigree.SexError:
		return m.Young, parent[m.As]
	case *pedigree.CycleError:
		young, old := m.Birds[0], m.Birds[1%len(m.Birds)]
		if s.cell(young, "sire") == f.names[old] {
			return young, "sire"
		}
		return young, "dam"
	}
	return 0, "id"
}

// listed finds the birds that the columns of a sheet name, row by row.
func (f *flock) listed(s *sheet, columns ...string) ([][]int, error) {
	out := make([][]int, len(s.rows))
	for i := range s.rows {
		for _, column := range columns {
			name := s.cell(i, column)
			if name == "" {
				return nil, s.wrong(i, column, "the bird has no name or ring")
			}
			row, ok := f.row[name]
			if !ok {
				return nil, s.wrong(i, column, "there is no bird %q in the pedigree", name)
			}
			out[i] = append(out[i], row)
		}
	}
	return out, nil
}

// living reads the birds whose founders are asked for. Without a file they are the birds that have no young.
func (f *flock) living(cmd *cobra.Command, path string) ([]int, error) {
	if path == "" {
		return f.last(), nil
	}
	s, err := readSheet(cmd, "living", path, column{name: "id", must: true})
	if err != nil {
		return nil, err
	}
	rows, err := f.listed(s, "id")
	if err != nil {
		return nil, err
	}
	var out []int
	line := map[int]int{}
	for i, row := range rows {
		if first, twice := line[row[0]]; twice {
			return nil, s.wrong(i, "id", "%s stands in line %d already", f.names[row[0]], first)
		}
		line[row[0]], out = s.lines[i], append(out, row[0])
	}
	if len(out) == 0 {
		return nil, badf("%s, line 2, column “id”: the file names no bird", s.name)
	}
	return out, nil
}

// last lists the birds that have no young in the file.
func (f *flock) last() []int {
	parent := make([]bool, f.p.Len())
	for i := range parent {
		sire, dam := f.p.Parents(i)
		for _, x := range []int{sire, dam} {
			if x != pedigree.Unknown {
				parent[x] = true
			}
		}
	}
	var out []int
	for i, bred := range parent {
		if !bred {
			out = append(out, i)
		}
	}
	return out
}

// kinshipZ returns the kinship of two birds on the Z chromosome. It is not ok where the answer is one for a cock and
// another for a hen, and it is not known which the bird is.
//
// A bird of unknown sex has no young, for they would show its sex: so only its parents matter.
func (f *flock) kinshipZ(a, b int) (k float64, ok bool) {
	if f.p.Sex(a) != pedigree.Unsexed {
		a, b = b, a
	}
	switch {
	case f.p.Sex(a) != pedigree.Unsexed:
		return pedigree.KinshipZ(f.p, a, b), true
	case a == b:
		return 0, false // 1 for a hen, and less for a cock
	}
	through := func(parent int) (float64, bool) {
		if parent == pedigree.Unknown {
			return 0, true
		}
		return f.kinshipZ(parent, b)
	}
	sire, dam := f.p.Parents(a)
	fromSire, one := through(sire)
	fromDam, two := through(dam)
	// A hen has her sire's Z alone, a cock one of each parent.
	return fromSire, one && two && fromSire == fromDam
}

func pedigreeInbreeding() *cobra.Command {
	var path string
	var asJSON bool
	cmd := &cobra.Command{
		Use: "inbreeding --in FILE", Short: "How inbred each bird is, on body chromosomes and on the Z", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			f, err := readFlock(cmd, path)
			if err != nil {
				return err
			}
			if err := f.p.Prepare(cmd.Context(), nil); err != nil {
				return err
			}
			type line struct {
				ID string   `json:"id"`
				F  float64  `json:"f"`
				FZ *float64 `json:"f_z"`
			}
			body := pedigree.Inbreeding(f.p)
			z, has := pedigree.InbreedingZ(f.p)
			value := []line{}
			t := table{header: []string{"id", "f", "f_z"}}
			for i, name := range f.names {
				l := line{ID: name, F: body[i]}
				if has[i] {
					l.FZ = &z[i]
				}
				value = append(value, l)
				t.rows = append(t.rows, []string{name, full(l.F), fullOrEmpty(l.FZ)})
			}
			t.value = value
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	fileFlag(cmd, &path, "in", pedigreeColumns)
	jsonFlag(cmd, &asJSON)
	return cmd
}

func pedigreeKinship() *cobra.Command {
	var path, pairs string
	var asJSON bool
	cmd := &cobra.Command{
		Use: "kinship --in FILE --pairs FILE", Short: "How related two birds are, pair by pair", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := errors.Join(need(path, "in", "which file to read"), need(pairs, "pairs", "which pairs to look at"), readsOnce(path, pairs, "pairs")); err != nil {
				return err
			}
			f, err := readFlock(cmd, path)
			if err != nil {
				return err
			}
			s, err := readSheet(cmd, "pairs", pairs, column{name: "a", must: true}, column{name: "b", must: true})
			if err != nil {
				return err
			}
			asked, err := f.listed(s, "a", "b")
			if err != nil {
				return err
			}
			if err := f.p.Prepare(cmd.Context(), nil); err != nil {
				return err
			}
			type line struct {
				A        string   `json:"a"`
				B        string   `json:"b"`
				Kinship  float64  `json:"kinship"`
				KinshipZ *float64 `json:"kinship_z"`
			}
			value := []line{}
			t := table{header: []string{"a", "b", "kinship", "kinship_z"}}
			for _, pair := range asked {
				if err := cmd.Context().Err(); err != nil {
					return err
				}
				l := line{A: f.names[pair[0]], B: f.names[pair[1]], Kinship: pedigree.Kinship(f.p, pair[0], pair[1])}
				if z, ok := f.kinshipZ(pair[0], pair[1]); ok {
					l.KinshipZ = &z
				}
				value = append(value, l)
				t.rows = append(t.rows, []string{l.A, l.B, full(l.Kinship), fullOrEmpty(l.KinshipZ)})
			}
			t.value = value
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	fileFlag(cmd, &path, "in", pedigreeColumns)
	fileFlag(cmd, &pairs, "pairs", "the columns a and b, two birds a row")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// founderLine is what is left of one founder.
type founderLine struct {
	Founder      string  `json:"founder"`
	Contribution float64 `json:"contribution"`
	Retention    float64 `json:"retention"`
	RetentionSE  float64 `json:"retention_se"`
}

// foundersSummary is the figures for a whole set of birds. The se is the Monte Carlo standard error of the value before
// it; the other values are exact.
type foundersSummary struct {
	Living              int     `json:"living"`
	Founders            int     `json:"founders"` // with a share in the set
	FounderEquivalents  float64 `json:"founder_equivalents"`
	GenomeEquivalents   float64 `json:"founder_genome_equivalents"`
	GenomeEquivalentsSE float64 `json:"founder_genome_equivalents_se"`
	GeneDiversity       float64 `json:"gene_diversity"`
	MeanKinship         float64 `json:"mean_kinship"`
	MeanInbreeding      float64 `json:"mean_inbreeding"`
	Drops               int     `json:"drops"`
	Seed                uint64  `json:"seed"`
}

func pedigreeFounders() *cobra.Command {
	var path, living string
	var drops int
	var seed uint64
	var asJSON bool
	cmd := &cobra.Command{
		Use: "founders --in FILE", Short: "What is left of each founder in the living birds", Args: noArgs,
		Long: "Says of each founder which share of the living birds' alleles came from it, and how much of its own is still there, by\nletting alleles fall down the pedigree at random. Without --living these are the birds that have no young in the file.\nWith --json the figures for all of them together are written too.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if drops < 2 || drops > 10_000_000 {
				return badf("--drops: %d is outside 2 to 10,000,000", drops)
			}
			if err := readsOnce(path, living, "living"); err != nil {
				return err
			}
			f, err := readFlock(cmd, path)
			if err != nil {
				return err
			}
			set, err := f.living(cmd, living)
			if err != nil {
				return err
			}
			if len(set) == 0 {
				return badf("the pedigree has no birds")
			}
			founders, summary, err := f.left(cmd.Context(), set, drops, seed)
			if err != nil {
				return err
			}
			t := table{header: []string{"founder", "contribution", "retention"}, value: map[string]any{"founders": founders, "summary": summary}}
			for _, x := range founders {
				t.rows = append(t.rows, []string{x.Founder, full(x.Contribution), full(x.Retention)})
			}
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	fileFlag(cmd, &path, "in", pedigreeColumns)
	fileFlag(cmd, &living, "living", "the column id, the birds that live")
	cmd.Flags().IntVar(&drops, "drops", 10_000, "how `MANY` times the alleles fall")
	cmd.Flags().Uint64Var(&seed, "seed", 1, "`NUMBER` that chance grows from; the same gives the same answer")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// left works out what is left of each founder in a set of birds.
func (f *flock) left(ctx context.Context, set []int, drops int, seed uint64) ([]founderLine, *foundersSummary, error) {
	d, err := pedigree.GeneDrop(ctx, f.p, set, drops, rand.New(rand.NewPCG(seed, 0)))
	var few *pedigree.DropsError
	if errors.As(err, &few) {
		return nil, nil, badf("--drops: %s", few.Say(f.name))
	}
	if err != nil {
		return nil, nil, err
	}
	sum := &foundersSummary{
		Living: len(set), FounderEquivalents: pedigree.FounderEquivalents(d.Share),
		GenomeEquivalents: d.GenomeEquivalents, GenomeEquivalentsSE: d.GenomeEquivalentsSE,
		GeneDiversity: pedigree.GeneDiversity(f.p, set), Drops: drops, Seed: seed,
	}
	_, sum.MeanKinship = pedigree.MeanKinship(f.p, set)
	body := pedigree.Inbreeding(f.p)
	for _, i := range set {
		sum.MeanInbreeding += body[i] / float64(len(set))
	}
	var lines []founderLine
	for i, x := range d.Founders {
		if d.Share[i] > 0 {
			sum.Founders++
		}
		name := f.names[x.Bird]
		switch {
		case x.Parent == pedigree.Unsexed:
		case d.Share[i] == 0:
			continue // a parent that nobody wrote down, and nothing is left of it
		case x.Parent == pedigree.Cock:
			name = "sire of " + name
		default:
			name = "dam of " + name
		}
		lines = append(lines, founderLine{name, d.Share[i], d.Retention[i], d.RetentionSE[i]})
	}
	return lines, sum, nil
}
