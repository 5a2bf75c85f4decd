package cli

import (
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"broodlight/internal/pairing"
)

// matched is a cock with his hen, or a bird left over.
type matched struct {
	Cock  string   `json:"cock,omitempty"`
	Hen   string   `json:"hen,omitempty"`
	Worth *float64 `json:"worth"`
}

// mostCells is how large a table of cocks by hens may be: 5,000 by 5,000.
const mostCells = 25_000_000

func pairsAssign() *cobra.Command {
	var path string
	var least, asJSON bool
	cmd := &cobra.Command{
		Use: "assign --in FILE", Short: "The best set of pairs for a whole room at once", Args: noArgs,
		Long: "Reads what each cock with each hen is worth and writes the set of as many pairs as possible with the largest sum.\nA cock and a hen that stand in no row together are never paired.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			s, err := readSheet(cmd, path, column{name: "cock", must: true}, column{name: "hen", must: true}, column{name: "worth", must: true}, column{name: "forbidden"})
			if err != nil {
				return err
			}
			w, err := readWorth(s)
			if err != nil {
				return err
			}
			goal := pairing.Maximise
			if least {
				goal = pairing.Minimise
			}
			a, err := pairing.Assign(cmd.Context(), w.worth, w.forbidden, goal)
			if err != nil {
				return err
			}
			t := table{header: []string{"cock", "hen", "worth"}}
			var pairs, single []matched
			taken := map[int]bool{}
			for i, j := range a.Column {
				if j == pairing.Single {
					single = append(single, matched{Cock: w.cocks[i]})
					continue
				}
				taken[j] = true
				pairs = append(pairs, matched{w.cocks[i], w.hens[j], &w.worth[i][j]})
			}
			for j, hen := range w.hens {
				if !taken[j] {
					single = append(single, matched{Hen: hen})
				}
			}
			for _, m := range pairs {
				t.rows = append(t.rows, []string{m.Cock, m.Hen, full(*m.Worth)})
			}
			for _, m := range single {
				t.rows = append(t.rows, []string{m.Cock, m.Hen, ""})
			}
			t.value = map[string]any{"pairs": pairs, "single": single, "complete": a.Complete, "worth": a.Value}
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	inFlag(cmd, &path, "the columns cock, hen, worth, and if there is one forbidden (yes)")
	cmd.Flags().BoolVar(&least, "least", false, "look for the smallest sum, where worth is a cost")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// worthTable is cocks by hens, in the order in which the file names them.
type worthTable struct {
	cocks, hens []string
	worth       [][]float64
	forbidden   [][]bool
}

func readWorth(s *sheet) (*worthTable, error) {
	w := &worthTable{}
	row := func(list *[]string, at map[string]int, name string) int {
		i, ok := at[name]
		if !ok {
			i = len(*list)
			at[name], *list = i, append(*list, name)
		}
		return i
	}
	cockAt, henAt := map[string]int{}, map[string]int{}
	type cell struct{ i, j int }
	seen := map[cell]int{}
	worth := map[cell]float64{}
	for r := range s.rows {
		cock, hen := s.cell(r, "cock"), s.cell(r, "hen")
		if cock == "" {
			return nil, s.wrong(r, "cock", "the cock has no name or ring")
		}
		if hen == "" {
			return nil, s.wrong(r, "hen", "the hen has no name or ring")
		}
		at := cell{row(&w.cocks, cockAt, cock), row(&w.hens, henAt, hen)}
		if first, twice := seen[at]; twice {
			return nil, s.wrong(r, "hen", "%s with %s stands in line %d already", cock, hen, s.lines[first])
		}
		seen[at] = r
		switch word := strings.ToLower(s.cell(r, "forbidden")); word {
		case "yes", "true", "1", "x":
			continue
		case "", "no", "false", "0":
		default:
			return nil, s.wrong(r, "forbidden", "%q is neither yes nor no", word)
		}
		x, err := strconv.ParseFloat(s.cell(r, "worth"), 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			return nil, s.wrong(r, "worth", "%q is not a number; write it as 3.5", s.cell(r, "worth"))
		}
		worth[at] = x
	}
	if len(w.cocks) == 0 {
		return nil, badf("%s names no birds", s.name)
	}
	if len(w.cocks)*len(w.hens) > mostCells {
		return nil, badf("%s: %d cocks by %d hens are too many at once", s.name, len(w.cocks), len(w.hens))
	}
	for i := range w.cocks {
		w.worth, w.forbidden = append(w.worth, make([]float64, len(w.hens))), append(w.forbidden, make([]bool, len(w.hens)))
		for j := range w.hens {
			x, ok := worth[cell{i, j}]
			w.worth[i][j], w.forbidden[i][j] = x, !ok
		}
	}
	return w, nil
}
