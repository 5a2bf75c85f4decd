package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"broodlight/internal/pedigree"
)

// flock is a pedigree file: who the parents of each bird are, by name.
type flock struct {
	names []string
	row   map[string]int
	p     *pedigree.Pedigree
	line  func(row int) int // of the file; 0 for a bird that is only named as a parent
}

// sexes are the words for cock and hen.
var sexes = map[string]pedigree.Sex{
	"": pedigree.Unsexed, "cock": pedigree.Cock, "m": pedigree.Cock, "male": pedigree.Cock, "hen": pedigree.Hen, "f": pedigree.Hen, "female": pedigree.Hen,
}

// readFlock reads a pedigree: bird, sire and dam, and if there are such columns sex and hatched. A parent that
// is not known is left empty. Rows stand in any order.
func readFlock(cmd *cobra.Command, path string) (*flock, error) {
	s, err := readSheet(cmd, path, column{name: "bird", also: []string{"id", "ring"}, must: true}, column{name: "sire", also: []string{"sire ring"}, must: true},
		column{name: "dam", also: []string{"dam ring"}, must: true}, column{name: "sex"}, column{name: "hatched"})
	if err != nil {
		return nil, err
	}
	n := len(s.rows)
	id, sire, dam := make([]string, n), make([]string, n), make([]string, n)
	for i := range n {
		if id[i], sire[i], dam[i] = s.cell(i, "bird"), s.cell(i, "sire"), s.cell(i, "dam"); id[i] == "" {
			return nil, s.wrong(i, "bird", "the bird has no name or ring")
		}
	}
	f := &flock{row: map[string]int{}, line: func(row int) int {
		if row < n {
			return s.lines[row]
		}
		return 0
	}}
	name := func(row int) string {
		if row < n {
			return fmt.Sprintf("%s (line %d)", id[row], s.lines[row])
		}
		return f.names[row]
	}
	names, sires, dams, err := pedigree.Rows(id, sire, dam, "")
	if err != nil {
		return nil, mistakes(cmd.ErrOrStderr(), s.name, err, name)
	}
	f.names = names
	sex, hatched := make([]pedigree.Sex, len(names)), make([]int, len(names))
	for i := range hatched {
		hatched[i] = pedigree.NoDay
	}
	for i := range n {
		word := s.cell(i, "sex")
		known, ok := sexes[strings.ToLower(word)]
		if !ok {
			return nil, s.wrong(i, "sex", "%q is not a sex; write cock, hen, or leave it empty", word)
		}
		sex[i] = known
		if day := s.cell(i, "hatched"); day != "" {
			t, err := time.Parse(time.DateOnly, day)
			if err != nil {
				return nil, s.wrong(i, "hatched", "%q is not a date; write it as 2026-01-13", day)
			}
			hatched[i] = int(t.Unix() / (24 * 60 * 60))
		}
	}
	if f.p, err = pedigree.New(sires, dams, sex); err == nil {
		err = f.p.CheckHatched(hatched)
	}
	if err != nil {
		return nil, mistakes(cmd.ErrOrStderr(), s.name, err, name)
	}
	for i, x := range names {
		f.row[x] = i
	}
	return f, nil
}

// mistakes says each mistake of a pedigree in a line, with the birds named.
func mistakes(errs io.Writer, file string, err error, name pedigree.Naming) error {
	var all *pedigree.Mistakes
	if !errors.As(err, &all) {
		return bad{err}
	}
	for _, m := range all.List {
		text := m.Error()
		if named, ok := m.(pedigree.Named); ok {
			text = named.Say(name)
		}
		fmt.Fprintf(errs, "%s: %s\n", file, text)
	}
	if all.More > 0 {
		fmt.Fprintf(errs, "%s: %d more\n", file, all.More)
	}
	return badf("this pedigree cannot be; nothing was worked out")
}

// birds finds the birds that an option names, parted by commas; without names it returns other.
func (f *flock) birds(list string, other func() []int) ([]int, error) {
	if list == "" {
		return other(), nil
	}
	var out []int
	for _, name := range strings.Split(list, ",") {
		row, ok := f.row[strings.TrimSpace(name)]
		if !ok {
			return nil, badf("--birds: there is no bird %q in the file", strings.TrimSpace(name))
		}
		out = append(out, row)
	}
	return out, nil
}

func (f *flock) all() []int {
	out := make([]int, f.p.Len())
	for i := range out {
		out[i] = i
	}
	return out
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

const birdsUsage = "`NAMES` of the birds, parted by commas"

func pedigreeInbreeding() *cobra.Command {
	var path, list string
	var asJSON bool
	cmd := &cobra.Command{
		Use: "inbreeding --in FILE", Short: "How inbred each bird is, on body chromosomes and on the Z", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			f, err := readFlock(cmd, path)
			if err != nil {
				return err
			}
			rows, err := f.birds(list, f.all)
			if err != nil {
				return err
			}
			if err := f.p.Prepare(cmd.Context(), nil); err != nil {
				return err
			}
			type line struct {
				Bird string   `json:"bird"`
				F    float64  `json:"f"`
				FZ   *float64 `json:"f_z"`
			}
			body := pedigree.Inbreeding(f.p)
			z, has := pedigree.InbreedingZ(f.p)
			t := table{header: []string{"bird", "f", "f_z"}}
			var value []line
			for _, i := range rows {
				l := line{Bird: f.names[i], F: body[i]}
				cell := ""
				if has[i] {
					l.FZ, cell = &z[i], full(z[i])
				}
				value = append(value, l)
				t.rows = append(t.rows, []string{l.Bird, full(l.F), cell})
			}
			t.value = value
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	inFlag(cmd, &path, "the columns bird, sire, dam, and if known sex and hatched")
	cmd.Flags().StringVar(&list, "birds", "", birdsUsage+"; all when left out")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// mostInMatrix is how many birds a kinship matrix is written for: 4,000 make some 200 MB of text.
const mostInMatrix = 4000

func pedigreeKinship() *cobra.Command {
	var path, list string
	var onZ, asJSON bool
	cmd := &cobra.Command{
		Use: "kinship --in FILE", Short: "How related birds are, as a table of each with each", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			f, err := readFlock(cmd, path)
			if err != nil {
				return err
			}
			rows, err := f.birds(list, f.all)
			if err != nil {
				return err
			}
			if len(rows) > mostInMatrix {
				return badf("a table of %d birds with each other is too large; name up to %d with --birds", len(rows), mostInMatrix)
			}
			matrix := pedigree.KinshipMatrix
			if onZ {
				matrix = pedigree.KinshipMatrixZ
			}
			k, err := matrix(cmd.Context(), f.p, rows)
			if err != nil {
				return err
			}
			value := struct {
				Birds   []string    `json:"birds"`
				Kinship [][]float64 `json:"kinship"`
			}{Kinship: k}
			t := table{header: []string{"bird"}}
			for i, row := range rows {
				t.header = append(t.header, f.names[row])
				value.Birds = append(value.Birds, f.names[row])
				cells := []string{f.names[row]}
				for _, x := range k[i] {
					cells = append(cells, full(x))
				}
				t.rows = append(t.rows, cells)
			}
			t.value = value
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	inFlag(cmd, &path, "the columns bird, sire, dam, and if known sex and hatched")
	cmd.Flags().StringVar(&list, "birds", "", birdsUsage+"; all when left out")
	cmd.Flags().BoolVar(&onZ, "z", false, "on the Z chromosome")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// founderLine is what is left of one founder.
type founderLine struct {
	Founder     string  `json:"founder"`
	Share       float64 `json:"share"`
	Retention   float64 `json:"retention"`
	RetentionSE float64 `json:"retention_se"`
}

// measure is one figure for a whole set of birds.
type measure struct {
	Measure string   `json:"measure"`
	Value   float64  `json:"value"`
	SE      *float64 `json:"se"` // Monte Carlo standard error; none for an exact value
}

func pedigreeFounders() *cobra.Command {
	var path, list string
	var drops int
	var seed uint64
	var summary, asJSON bool
	cmd := &cobra.Command{
		Use: "founders --in FILE", Short: "What is left of each founder in a set of birds", Args: noArgs,
		Long: "Says of each founder which share of a set's alleles came from it, and how much of its own is still there, by letting\nalleles fall down the pedigree at random. Without --birds the set is the birds that have no young in the file.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			f, err := readFlock(cmd, path)
			if err != nil {
				return err
			}
			set, err := f.birds(list, f.last)
			if err != nil {
				return err
			}
			if len(set) == 0 {
				return badf("the file has no birds")
			}
			if drops < 2 || drops > 10_000_000 {
				return badf("--drops: %d is outside 2 to 10,000,000", drops)
			}
			founders, measures, err := f.left(cmd.Context(), set, drops, seed)
			var few *pedigree.DropsError
			if errors.As(err, &few) {
				return bad{err}
			}
			if err != nil {
				return err
			}
			t := table{header: []string{"founder", "share", "retention", "retention_se"}, value: map[string]any{"founders": founders, "summary": measures, "drops": drops, "seed": seed}}
			for _, x := range founders {
				t.rows = append(t.rows, []string{x.Founder, full(x.Share), full(x.Retention), full(x.RetentionSE)})
			}
			if summary {
				t.header, t.rows = []string{"measure", "value", "se"}, nil
				for _, m := range measures {
					se := ""
					if m.SE != nil {
						se = full(*m.SE)
					}
					t.rows = append(t.rows, []string{m.Measure, full(m.Value), se})
				}
			}
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	inFlag(cmd, &path, "the columns bird, sire, dam, and if known sex and hatched")
	cmd.Flags().StringVar(&list, "birds", "", birdsUsage)
	cmd.Flags().IntVar(&drops, "drops", 10_000, "how `MANY` times the alleles fall")
	cmd.Flags().Uint64Var(&seed, "seed", 1, "`NUMBER` that chance grows from; the same gives the same answer")
	cmd.Flags().BoolVar(&summary, "summary", false, "write the figures for the whole set instead")
	jsonFlag(cmd, &asJSON)
	return cmd
}

func (f *flock) left(ctx context.Context, set []int, drops int, seed uint64) ([]founderLine, []measure, error) {
	d, err := pedigree.GeneDrop(ctx, f.p, set, drops, rand.New(rand.NewPCG(seed, 0)))
	if err != nil {
		return nil, nil, err
	}
	var lines []founderLine
	n := 0
	for i, x := range d.Founders {
		if d.Share[i] == 0 {
			continue // no line leads from it to the set
		}
		n++
		name := f.names[x.Bird]
		switch x.Parent {
		case pedigree.Cock:
			name = "sire of " + name
		case pedigree.Hen:
			name = "dam of " + name
		}
		lines = append(lines, founderLine{name, d.Share[i], d.Retention[i], d.RetentionSE[i]})
	}
	_, mean := pedigree.MeanKinship(f.p, set)
	return lines, []measure{
		{"birds", float64(len(set)), nil},
		{"founders", float64(n), nil},
		{"founder_equivalents", pedigree.FounderEquivalents(d.Share), nil},
		{"founder_genome_equivalents", d.GenomeEquivalents, &d.GenomeEquivalentsSE},
		{"mean_kinship", mean, nil},
		{"gene_diversity", pedigree.GeneDiversity(f.p, set), nil},
	}, nil
}
