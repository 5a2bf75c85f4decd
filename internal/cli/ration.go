package cli

import (
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"broodlight/internal/feed"
)

// mostBytes is how much of a file of food is read; one byte more than package feed takes, so that it refuses the rest.
const mostBytes = 1<<20 + 1

// feedFile reads a file of food, or standard input for "-", and its name for sentences.
func feedFile(cmd *cobra.Command, option, path string) (raw []byte, name string, err error) {
	if err := need(path, option, "which file to read"); err != nil {
		return nil, "", err
	}
	in, name := cmd.InOrStdin(), "standard input"
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, "", badf("the file %s cannot be read: %w", path, errors.Unwrap(err))
		}
		defer f.Close() // read only: closing it loses nothing
		in, name = f, filepath.Base(path)
	}
	raw, err = io.ReadAll(io.LimitReader(in, mostBytes))
	if err != nil {
		return nil, "", badf("%s cannot be read: %w", name, errors.Unwrap(err))
	}
	return raw, name, nil
}

// feedError turns what package feed refuses into bad input, with the file, line and column that it is about.
func feedError(err error, file string) error {
	var f *feed.Error
	if !errors.As(err, &f) {
		return err
	}
	text := strings.TrimSuffix(f.Message, ".")
	switch {
	case f.Line == 0:
		return badf("%s: %s", file, text)
	case f.Field == "":
		return badf("%s, line %d, column %d: %s", file, f.Line, f.Column, text)
	}
	return badf("%s, line %d, column %d “%s”: %s", file, f.Line, f.Column, f.Field, text)
}

// The answer of ration as JSON. A figure that is not known, and an end of a guide that is open, are null.
type (
	rationJSON struct {
		Ration  string       `json:"ration"`
		Phase   string       `json:"phase"`
		Need    needJSON     `json:"need"`
		Figures []figureJSON `json:"figures"`
		Notes   []noteJSON   `json:"notes"`
	}
	needJSON struct {
		KJ           float64 `json:"kj_a_day"`
		Low          float64 `json:"low"`
		High         float64 `json:"high"`
		Adults       float64 `json:"adults"`
		Eggs         float64 `json:"eggs"`
		Young        float64 `json:"young"`
		Eaten        float64 `json:"likely_eaten"`
		ShellCalcium float64 `json:"shell_calcium_mg_a_day"`
	}
	figureJSON struct {
		Figure  string   `json:"figure"`
		Value   *float64 `json:"value"`
		Unit    string   `json:"unit"`
		Low     *float64 `json:"low"`
		High    *float64 `json:"high"`
		Verdict string   `json:"verdict"`
		Basis   string   `json:"basis"`
		RestsOn string   `json:"rests_on"`
		Missing []string `json:"missing"`
	}
	noteJSON struct {
		Level  string `json:"level"`
		Text   string `json:"text"`
		Source string `json:"source"`
	}
)

// known is a figure for JSON: null where it is open.
func known(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	return &x
}

func rationValue(name string, a feed.Analysis) rationJSON {
	n := a.Need
	out := rationJSON{
		Ration: name, Phase: a.Phase.String(), Figures: []figureJSON{}, Notes: []noteJSON{},
		Need: needJSON{n.KJ, n.Low, n.High, n.Adults, n.Eggs, n.Young, n.Eaten, n.ShellCalcium},
	}
	for _, l := range a.Lines {
		f := figureJSON{Figure: l.Name, Unit: l.Unit, Verdict: string(l.Verdict), Basis: string(l.Guide.Basis), RestsOn: l.Guide.Why, Missing: append([]string{}, l.Missing...)}
		if l.Known {
			f.Value = known(l.Value)
		}
		if l.Guide.Known {
			f.Low, f.High = known(l.Guide.Low), known(l.Guide.High)
		}
		out.Figures = append(out.Figures, f)
	}
	for _, note := range a.Notes {
		out.Notes = append(out.Notes, noteJSON{note.Level.String(), note.Text, note.Source})
	}
	return out
}

func ration() *cobra.Command {
	var path string
	var asJSON bool
	cmd := &cobra.Command{
		Use: "ration --in FILE", Short: "What a day's food offers against what the birds need", Args: noArgs,
		Long: "Reads who eats in which phase, and what they are given in a day, and holds energy, protein, fat, calcium and\nphosphorus against the need. What these species need is not known exactly: every figure says what it rests on,\nand where no sound figure exists that is said. docs/feeding.md has the columns.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			raw, name, err := feedFile(cmd, "in", path)
			if err != nil {
				return err
			}
			rations, err := feed.ReadRations(raw, feed.Foods())
			if err != nil {
				return feedError(err, name)
			}
			t := table{header: feed.RationHeader()}
			var all []rationJSON
			for _, r := range rations {
				a := feed.Analyse(r.Phase, r.Birds, r.Servings)
				t.rows = append(t.rows, a.Rows(r.Name)...)
				all = append(all, rationValue(r.Name, a))
			}
			t.value = all
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	fileFlag(cmd, &path, "in", "rations: phase, mass_g, food, amount, unit and more")
	jsonFlag(cmd, &asJSON)
	return cmd
}
