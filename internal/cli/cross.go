package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"broodlight/internal/heredity"
)

// youngKind is a kind of young by its looks, with the range over what is open in the loci file.
type youngKind struct {
	Sex         string            `json:"sex"`
	Looks       map[string]string `json:"looks"`
	Probability float64           `json:"probability"`
	Low         float64           `json:"low"`
	High        float64           `json:"high"`
}

// youngLine is a kind of young by its genotype.
type youngLine struct {
	Sex         string            `json:"sex"`
	Looks       map[string]string `json:"looks"`
	Genotype    string            `json:"genotype"`
	Probability float64           `json:"probability"`
}

func crossCommand() *cobra.Command {
	var loci, cock, hen string
	var asJSON bool
	cmd := &cobra.Command{
		Use: "cross --loci FILE --cock GENOTYPE --hen GENOTYPE", Short: "What young a pair gives, by sex, look and genotype", Args: noArgs,
		Long: "Writes every kind of living young of a pair with its exact share of all young. A genotype is written “head=R/r,tip=Y/y”:\n“/” leaves open which alleles of linked loci lie on one chromosome, “|” says that what stands before it does. A hen has one\nallele at a locus on the Z. A locus that is not named is drawn from the frequencies in the loci file.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			m, err := readLoci(cmd, loci)
			if err != nil {
				return err
			}
			parents := make([][]heredity.Possible, 2)
			for i, p := range []struct {
				sex    heredity.Sex
				option string
				text   string
			}{{heredity.Cock, "cock", cock}, {heredity.Hen, "hen", hen}} {
				if !cmd.Flags().Changed(p.option) {
					return badf("say what the %s is: --%s \"%s=…\"", p.option, p.option, m.Loci[0].ID)
				}
				if parents[i], err = m.Bird(p.sex, p.text); err != nil {
					return badf("--%s: %w", p.option, err)
				}
			}
			young, err := heredity.Cross(m, parents[0], parents[1])
			if err != nil {
				return bad{err}
			}
			spread, err := heredity.CrossRange(m, parents[0], parents[1])
			if err != nil {
				return bad{err}
			}
			t := table{header: []string{"sex"}}
			for _, x := range m.Traits {
				t.header = append(t.header, x.Column)
			}
			t.header = append(t.header, "genotype", "probability")
			lines, kinds := []youngLine{}, []youngKind{}
			for _, l := range young.Lines {
				row := []string{l.Sex.String()}
				for i, k := range l.Looks {
					row = append(row, m.Traits[i].Looks[k].Name)
				}
				genotype := m.Text(l.Genome)
				t.rows = append(t.rows, append(row, genotype, full(l.P)))
				lines = append(lines, youngLine{l.Sex.String(), looksOf(m, l.Looks), genotype, l.P})
			}
			for _, s := range spread {
				kinds = append(kinds, youngKind{s.Sex.String(), looksOf(m, s.Looks), s.P, s.Low, s.High})
			}
			t.value = map[string]any{
				"young": lines, "looks": kinds, "assumed": append([]string{}, young.Assumed...),
				"lost": map[string]float64{"cock": young.Lost[heredity.Cock], "hen": young.Lost[heredity.Hen]},
			}
			tell(cmd, young.Assumed)
			for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
				if lost := young.Lost[s]; lost > 0 {
					tell(cmd, []string{fmt.Sprintf("%.4g in 100 of the eggs with a %s die because of their genes; the shares are of the young that live.", 100*lost, s)})
				}
			}
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	lociFlag(cmd, &loci)
	cmd.Flags().StringVar(&cock, "cock", "", "`GENOTYPE` of the cock, such as \"head=R/r,tip=Y/y\"")
	cmd.Flags().StringVar(&hen, "hen", "", "`GENOTYPE` of the hen, such as \"head=R,tip=y/y\"")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// looksOf names looks by the column of their trait.
func looksOf(m *heredity.Model, looks []int) map[string]string {
	out := map[string]string{}
	for i, k := range looks {
		out[m.Traits[i].Column] = m.Traits[i].Looks[k].Name
	}
	return out
}
