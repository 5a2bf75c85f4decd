package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"broodlight/internal/pairing"
)

// chosen is a cell of the table whose row and column are paired.
type chosen struct {
	Row    string  `json:"row"`
	Column string  `json:"column"`
	Value  float64 `json:"value"`
}

const (
	// mostCells is how large a table of rows by columns may be: 5,000 by 5,000.
	mostCells = 25_000_000
	// farthest is how far from 0 a value may be, so that every sum of a table stays a number.
	farthest = 1e100
)

func pairsAssign() *cobra.Command {
	var path string
	var most, least, asJSON bool
	cmd := &cobra.Command{
		Use: "assign --in FILE --maximise|--minimise", Short: "The best set of pairs for a whole room at once", Args: noArgs,
		Long: "Reads what each row (each cock, say) is worth with each column (each hen): the first row of the file names the columns,\nthe first cell of each other row names the row. Writes the set of as many pairs as possible with the best sum.\nAn empty cell is a pair that must not be.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if most == least {
				return badf("say which sum is best, with one of --maximise and --minimise")
			}
			w, err := readWorth(cmd, path)
			if err != nil {
				return err
			}
			goal := pairing.Minimise
			if most {
				goal = pairing.Maximise
			}
			a, err := pairing.Assign(cmd.Context(), w.worth, w.forbidden, goal)
			if err != nil {
				return err
			}
			pairs := []chosen{}
			t := table{header: []string{"row", "column", "value"}}
			for i, j := range a.Column {
				if j == pairing.Single {
					continue
				}
				pairs = append(pairs, chosen{w.rows[i], w.columns[j], w.worth[i][j]})
				t.rows = append(t.rows, []string{w.rows[i], w.columns[j], full(w.worth[i][j])})
			}
			if !a.Complete {
				fmt.Fprintf(cmd.ErrOrStderr(), "Only %d of %d pairs can be made: the empty cells forbid more.\n", a.Pairs, min(len(w.rows), len(w.columns)))
			}
			t.value = pairs
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	fileFlag(cmd, &path, "in", "values: first row column names, first column row names, an empty cell is forbidden")
	cmd.Flags().BoolVar(&most, "maximise", false, "look for the largest sum")
	cmd.Flags().BoolVar(&least, "minimise", false, "look for the smallest sum")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// worthTable is rows by columns, in the order of the file.
type worthTable struct {
	rows, columns []string
	worth         [][]float64
	forbidden     [][]bool
}

func readWorth(cmd *cobra.Command, path string) (*worthTable, error) {
	w := &worthTable{}
	s := &sheet{}
	at := map[string]int{}
	head := func(cells []string) error {
		if len(cells) < 2 {
			return s.wrongAt(1, 1, "there is no column of values; the first row names the columns, with commas between")
		}
		for j, name := range cells[1:] {
			name = strings.TrimSpace(name)
			if name == "" {
				return s.wrongAt(1, j+1, "the column has no name")
			}
			if first, twice := at[name]; twice {
				return s.wrongAt(1, j+1, "“%s” is the name of column %d already", name, first+1)
			}
			at[name], w.columns = j+1, append(w.columns, name)
		}
		return nil
	}
	line := map[string]int{}
	err := s.scan(cmd, "in", path, head, func(n int, cells []string) error {
		name := strings.TrimSpace(cells[0])
		if name == "" {
			return s.wrongAt(n, 0, "the row has no name")
		}
		if first, twice := line[name]; twice {
			return s.wrongAt(n, 0, "“%s” is the name of the row in line %d already", name, first)
		}
		if line[name] = n; len(line)*len(w.columns) > mostCells {
			return s.wrongAt(n, 0, "a table may have %d cells, and here it grows larger", mostCells)
		}
		worth, forbidden := make([]float64, len(w.columns)), make([]bool, len(w.columns))
		for j, cell := range cells[1:] {
			if cell = strings.TrimSpace(cell); cell == "" {
				forbidden[j] = true
				continue
			}
			x, err := strconv.ParseFloat(cell, 64)
			if err != nil || math.IsNaN(x) || math.Abs(x) > farthest {
				return s.wrongAt(n, j+1, "%q, under “%s”, is not a number; write it as 3.5, or leave it empty for a pair that must not be", cell, w.columns[j])
			}
			worth[j] = x
		}
		w.rows, w.worth, w.forbidden = append(w.rows, name), append(w.worth, worth), append(w.forbidden, forbidden)
		return nil
	})
	if err == nil && len(w.rows) == 0 {
		err = s.wrongAt(2, 0, "there is no row of values under the names of the columns")
	}
	return w, err
}
