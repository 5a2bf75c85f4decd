package cli

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"broodlight/internal/heredity"
)

// notScorable is what may stand for a look that cannot be told yet. It tells nothing, as an empty cell does.
const notScorable = "not yet scorable"

// carrierLine is the chance that a bird has a genotype.
type carrierLine struct {
	ID          string  `json:"id"`
	Locus       string  `json:"locus"`
	Sex         string  `json:"sex"`
	Genotype    string  `json:"genotype"`
	Probability float64 `json:"probability"`
	Method      string  `json:"method"`
	Error       float64 `json:"error"`
	Low         float64 `json:"low"`
	High        float64 `json:"high"`
}

// clash is records that cannot all be true. Its text is shown as it stands.
type clash struct{ text string }

func (c clash) Error() string { return c.text }

// carriersAsked is what was asked of the command carriers.
type carriersAsked struct {
	in, loci              string
	lookError, sire, dump float64
	seed                  uint64
	sweeps, cells         int
	asJSON                bool
}

func carriersCommand() *cobra.Command {
	var q carriersAsked
	cmd := &cobra.Command{
		Use: "carriers --in FILE --loci FILE", Short: "Who hides what: what each bird may carry, given all that was seen", Args: noArgs,
		Long: "Reads birds with their parents and one column a trait, and says of each bird and locus how likely each genotype is, given\nthe looks of all of them. Where the pedigree's loops make the exact road too wide, chance takes its place, and the column\nmethod says so. Records that cannot all be true end with 3; the error output then has the smallest set that clashes.",
		RunE: func(cmd *cobra.Command, _ []string) error { return q.run(cmd) },
	}
	fileFlag(cmd, &q.in, "in", "the columns id, sire, dam, sex, one column a trait, and perhaps clutch")
	lociFlag(cmd, &q.loci)
	f := cmd.Flags()
	f.Float64Var(&q.lookError, "look-error", 0, "`CHANCE` that a look is written down wrongly, for traits that set none")
	f.Float64Var(&q.sire, "sire-error", 0, "`CHANCE` that another cock than those named is the sire")
	f.Float64Var(&q.dump, "dumped-egg", 0, "`CHANCE` that the egg came from other parents than those named")
	f.Uint64Var(&q.seed, "seed", 1, "`NUMBER` that chance grows from; the same gives the same answer")
	f.IntVar(&q.sweeps, "sweeps", 200, "how `MANY` sweeps each of eight chains makes, where the exact road is too wide")
	f.IntVar(&q.cells, "cells", 20_000_000, "how `MANY` cells the largest table of the exact road may have")
	jsonFlag(cmd, &q.asJSON)
	return cmd
}

func (q carriersAsked) check() error {
	if err := errors.Join(need(q.in, "in", "which file to read"), need(q.loci, "loci", "which loci file to read"), readsOnce(q.in, q.loci, "loci")); err != nil {
		return err
	}
	for _, x := range []struct {
		option string
		value  float64
		most   float64
	}{{"look-error", q.lookError, 0.5}, {"sire-error", q.sire, 1}, {"dumped-egg", q.dump, 1}} {
		if !(x.value >= 0 && x.value < x.most) {
			return badf("--%s: %v is outside 0 to under %v", x.option, x.value, x.most)
		}
	}
	if q.sweeps < 10 || q.sweeps > 1_000_000 {
		return badf("--sweeps: %d is outside 10 to 1,000,000", q.sweeps)
	}
	if q.cells < 100 || q.cells > 200_000_000 {
		return badf("--cells: %d is outside 100 to 200,000,000", q.cells)
	}
	return nil
}

func (q carriersAsked) run(cmd *cobra.Command) error {
	if err := q.check(); err != nil {
		return err
	}
	m, err := readLoci(cmd, q.loci)
	if err != nil {
		return err
	}
	b, err := readCarriers(cmd, m, q.in)
	if err != nil {
		return err
	}
	if q.sire > 0 || q.dump > 0 {
		for i := range b.birds {
			if len(b.birds[i].Parents) > 0 {
				b.birds[i].Parents = heredity.WithErrors(b.birds[i].Parents, q.sire, q.dump)
			}
		}
	}
	if err := heredity.Check(m, b.birds); err != nil {
		return b.wrong(err)
	}
	tell(cmd, b.notes)
	o := heredity.Options{LookError: q.lookError, MaxCells: q.cells, Sweeps: q.sweeps, Rand: rand.New(rand.NewPCG(q.seed, 0))}
	s, err := heredity.InferRange(cmd.Context(), m, b.birds, o)
	if err != nil {
		return b.wrong(err)
	}
	tell(cmd, s.Assumed)
	t := table{header: []string{"id", "locus", "sex", "genotype", "probability", "method", "error"}}
	lines, marked := []carrierLine{}, 0
	for i, name := range b.names {
		for l := range m.Loci {
			if s.Marked(i, l) {
				marked++
			}
			for _, x := range carrierLines(m, s, i, l) {
				x.ID = name
				lines = append(lines, x)
				t.rows = append(t.rows, []string{x.ID, x.Locus, x.Sex, x.Genotype, full(x.Probability), x.Method, full(x.Error)})
			}
		}
	}
	if marked > 0 {
		tell(cmd, []string{fmt.Sprintf("%d of the answers, each a bird at a locus, differ by over 10 points over what was assumed; with --json each has its range.", marked)})
	}
	t.value = map[string]any{"genotypes": lines, "exact": s.Exact, "assumed": append([]string{}, s.Assumed...), "range_over": append([]string{}, s.Variants...)}
	return t.write(cmd.OutOrStdout(), q.asJSON)
}

// carrierLines is what one bird may be at one locus: of its own sex, or of both when that is not known.
func carrierLines(m *heredity.Model, s *heredity.Spread, bird, locus int) []carrierLine {
	var out []carrierLine
	at, low, high := s.At(bird, locus), s.Low(bird, locus), s.High(bird, locus)
	for _, sex := range []heredity.Sex{heredity.Cock, heredity.Hen} {
		if known := s.Sex(bird); known != heredity.Unsexed && known != sex {
			continue
		}
		errs := at.CockError
		if sex == heredity.Hen {
			errs = at.HenError
		}
		for k, g := range m.Genotypes(locus, sex) {
			x := carrierLine{Locus: m.Loci[locus].ID, Sex: sex.String(), Genotype: g, Probability: at.Of(sex)[k], Method: at.Method.String(), Low: low.Of(sex)[k], High: high.Of(sex)[k]}
			if errs != nil {
				x.Error = errs[k]
			}
			out = append(out, x)
		}
	}
	return out
}

// carrierSheet is a file of birds with their looks. The birds of the file come first, in its order; those that are only
// named as parents follow.
type carrierSheet struct {
	*sheet
	names []string
	row   map[string]int
	birds []heredity.Bird
	notes []string
}

// readCarriers reads birds, parents that may be lists of candidates, and looks.
func readCarriers(cmd *cobra.Command, m *heredity.Model, path string) (*carrierSheet, error) {
	columns := []column{{"id", true}, {"sire", true}, {"dam", true}, {"sex", false}, {"clutch", false}}
	for _, t := range m.Traits {
		name := strings.ToLower(t.Column)
		if slices.ContainsFunc(columns, func(c column) bool { return c.name == name }) {
			return nil, badf("the loci file has the column “%s”, which means something else in a table of birds; name it differently", t.Column)
		}
		columns = append(columns, column{name: name})
	}
	s, err := readSheet(cmd, "in", path, columns...)
	if err != nil {
		return nil, err
	}
	b := &carrierSheet{sheet: s, row: map[string]int{}}
	for i := range s.rows {
		id := s.cell(i, "id")
		if id == "" {
			return nil, s.wrong(i, "id", "the bird has no name or ring")
		}
		if first, twice := b.row[id]; twice {
			return nil, s.wrong(i, "id", "%s stands in line %d already", id, s.lines[first])
		}
		b.row[id], b.names = i, append(b.names, id)
	}
	if len(s.rows) == 0 {
		return nil, badf("%s, line 2, column “id”: the file names no bird", s.name)
	}
	for _, t := range m.Traits {
		if _, ok := s.at[strings.ToLower(t.Column)]; !ok {
			b.notes = append(b.notes, fmt.Sprintf("%s has no column “%s”; that trait counts as not looked at.", s.name, t.Column))
		}
	}
	clutches := map[string]int{}
	b.birds = make([]heredity.Bird, len(s.rows), 2*len(s.rows))
	for i := range s.rows {
		x, err := b.bird(m, i)
		if err != nil {
			return nil, err
		}
		if c := s.cell(i, "clutch"); c != "" {
			if clutches[c] == 0 {
				clutches[c] = len(clutches) + 1
			}
			x.Clutch = clutches[c]
		}
		b.birds[i] = x
	}
	return b, nil
}

// bird reads one row. Parents without a row are added at the end.
func (b *carrierSheet) bird(m *heredity.Model, i int) (heredity.Bird, error) {
	var x heredity.Bird
	word := b.cell(i, "sex")
	switch strings.ToLower(word) {
	case "":
	case "cock", "m":
		x.Sex = heredity.Cock
	case "hen", "f":
		x.Sex = heredity.Hen
	default:
		return x, b.sheet.wrong(i, "sex", "%q is not a sex; write cock, hen, M or F, or leave it empty", word)
	}
	sires, err := b.candidates(i, "sire", heredity.Cock)
	if err != nil {
		return x, err
	}
	dams, err := b.candidates(i, "dam", heredity.Hen)
	if err != nil {
		return x, err
	}
	if len(sires)+len(dams) > 0 {
		if x.Parents, err = heredity.OneOf(sires, dams); err != nil {
			return x, b.sheet.wrong(i, "sire", "%s", err)
		}
	}
	x.Looks = make([]int, len(m.Traits))
	for t := range m.Traits {
		x.Looks[t] = heredity.Unseen
		trait := &m.Traits[t]
		look := b.cell(i, strings.ToLower(trait.Column))
		if look == "" || strings.EqualFold(look, notScorable) {
			continue
		}
		k := trait.Look(look)
		if k < 0 {
			k = slices.IndexFunc(trait.Looks, func(l heredity.Look) bool { return strings.EqualFold(l.Name, look) })
		}
		if k < 0 {
			var names []string
			for _, l := range trait.Looks {
				names = append(names, l.Name)
			}
			return x, b.sheet.wrong(i, trait.Column, "%q is none of its looks: %s; leave it empty where nothing was seen", look, strings.Join(names, ", "))
		}
		x.Looks[t] = k
	}
	return x, nil
}

// candidates reads a cell with one parent, or several with a weight each: “id:0.7;id:0.3”.
func (b *carrierSheet) candidates(i int, role string, sex heredity.Sex) ([]heredity.Candidate, error) {
	cell := b.cell(i, role)
	if cell == "" {
		return nil, nil
	}
	if _, ok := b.row[cell]; ok || !strings.ContainsAny(cell, ":;") {
		bird, err := b.parent(i, cell, role, sex)
		return []heredity.Candidate{{Bird: bird, Weight: 1}}, err
	}
	var out []heredity.Candidate
	sum := 0.0
	for part := range strings.SplitSeq(cell, ";") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		k := strings.LastIndex(part, ":")
		if k <= 0 {
			return nil, b.sheet.wrong(i, role, "%q has no weight; write candidates as id:0.7;id:0.3", part)
		}
		id, text := strings.TrimSpace(part[:k]), strings.TrimSpace(part[k+1:])
		w, err := strconv.ParseFloat(text, 64)
		if err != nil || !(w >= 0 && w <= 1) || id == "" {
			return nil, b.sheet.wrong(i, role, "%q is not a candidate with a weight from 0 to 1; write candidates as id:0.7;id:0.3", part)
		}
		bird, err := b.parent(i, id, role, sex)
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(out, func(c heredity.Candidate) bool { return c.Bird == bird }) {
			return nil, b.sheet.wrong(i, role, "%s is named twice among the candidates", id)
		}
		out = append(out, heredity.Candidate{Bird: bird, Weight: w})
		sum += w
	}
	if sum > 1+1e-9 {
		return nil, b.sheet.wrong(i, role, "the weights of the candidates add up to %.6g, which is over 1", sum)
	}
	return out, nil
}

// parent finds a parent, and adds one without a row as a founder.
func (b *carrierSheet) parent(i int, id, role string, sex heredity.Sex) (int, error) {
	row, ok := b.row[id]
	switch {
	case !ok:
		row = len(b.birds)
		b.row[id], b.names, b.birds = row, append(b.names, id), append(b.birds, heredity.Bird{Sex: sex})
	case row >= len(b.lines) && b.birds[row].Sex != sex:
		return row, b.sheet.wrong(i, role, "%s is a sire in one row and a dam in another", id)
	}
	return row, nil
}

// name says a bird with its line, where it has one.
func (b *carrierSheet) name(row int) string {
	if row < len(b.lines) {
		return fmt.Sprintf("%s (line %d)", b.names[row], b.lines[row])
	}
	return b.names[row]
}

// wrong puts an error of the engine in terms of the file.
func (b *carrierSheet) wrong(err error) error {
	var records *heredity.ConflictError
	var rows *heredity.FlockError
	var stuck *heredity.StuckError
	switch {
	case errors.As(err, &records):
		return clash{records.Sentence(b.name)}
	case errors.As(err, &rows):
		row, column := b.cellOf(rows)
		said := heredity.FlockError{Bird: rows.Bird, Other: rows.Other, Message: rows.Message}
		return b.sheet.wrong(row, column, "%s", said.Sentence(b.name))
	case errors.As(err, &stuck):
		return badf("%s: %w", b.sheet.name, err)
	case errors.Is(err, context.Canceled):
		return err
	}
	return bad{err}
}

// cellOf returns the cell to look at first for a mistake of the parents.
func (b *carrierSheet) cellOf(e *heredity.FlockError) (row int, column string) {
	names := func(i, bird int, role string) bool {
		return slices.ContainsFunc(strings.Split(b.cell(i, role), ";"), func(part string) bool {
			part = strings.TrimSpace(part)
			id, _, _ := strings.Cut(part, ":")
			return part == b.names[bird] || strings.TrimSpace(id) == b.names[bird] || b.cell(i, role) == b.names[bird]
		})
	}
	switch {
	case e.Bird < 0 || e.Bird >= len(b.lines):
		return 0, "id"
	case e.Other >= 0:
		if e.Other < len(b.names) && names(e.Bird, e.Other, "dam") && !names(e.Bird, e.Other, "sire") {
			return e.Bird, "dam"
		}
		return e.Bird, "sire"
	case b.cell(e.Bird, "sire") == "":
		return e.Bird, "dam"
	}
	return e.Bird, "sire"
}
