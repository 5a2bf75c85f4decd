package cli

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/species"
)

// plannedPair is a line of a plan.
type plannedPair struct {
	Plan     int     `json:"plan"` // 1 is the best
	Species  string  `json:"species"`
	Cock     string  `json:"cock"`
	Hen      string  `json:"hen"`
	Cage     string  `json:"cage"`
	Young    float64 `json:"young"`
	Kinship  float64 `json:"kinship"`
	KinshipZ float64 `json:"kinship_z"`
	Wanted   bool    `json:"wanted"`
	Why      string  `json:"why"`
}

// plannedSet is a plan as a whole. Value is young less the fines of wishes not met and the price of relatedness; bound is
// proved to be at least the value of every other plan.
type plannedSet struct {
	Plan       int     `json:"plan"`
	Pairs      int     `json:"pairs"`
	Young      float64 `json:"young"`
	Low        float64 `json:"young_low"` // 8 in 10
	High       float64 `json:"young_high"`
	Inbreeding float64 `json:"inbreeding"`      // mean kinship of the pairs
	Next       float64 `json:"next_generation"` // mean kinship of the young
	Weight     float64 `json:"weight"`
	Value      float64 `json:"value"`
	Bound      float64 `json:"bound"`
	Status     string  `json:"status"`
}

// plannedSpecies is what was worked out for one species.
type plannedSpecies struct {
	Species string        `json:"species"`
	Sets    []plannedSet  `json:"sets"`
	Pairs   []plannedPair `json:"pairs"`
	Curve   []plannedSet  `json:"curve"`
	LeftOut []leftOut     `json:"left_out"`
	Problem string        `json:"problem,omitempty"`
}

type leftOut struct {
	Bird string `json:"bird"`
	Why  string `json:"why"`
}

// pairsAsked is what was asked of the command.
type pairsAsked struct {
	advice.PairQuery
	dir, why      string
	atMost        []string
	curve, asJSON bool
	taken         map[int]map[aviary.ID]bool // cages by plan, across species
}

// curvePoints is how many sets the curve has at most.
const curvePoints = 12

func pairsPlan() *cobra.Command {
	var q pairsAsked
	cmd := &cobra.Command{
		Use: "plan --data DIR", Short: "Which cock with which hen in which cage, for the whole room", Args: noArgs,
		Long: "Proposes pairs for all birds of each species that may be paired: the set with most young expected, less the weight given to\nrelatedness, as a whole and not pair by pair. The error output says how near it is proved to be to the best of all. It\nproposes; nothing is written into the room.",
		RunE: func(cmd *cobra.Command, _ []string) error { return q.run(cmd) },
	}
	dataFlag(cmd, &q.dir, "`DIR` that the room is in")
	f := cmd.Flags()
	f.StringVar(&q.Species, "species", "", "`NAME` of one species; else every species that is here")
	f.Float64Var(&q.Weight, "weight", advice.UsualWeight, "`YOUNG` given up, by each pair, for one step of relatedness (1 in 100) less")
	f.Float64Var(&q.Next, "mix", 0, "`SHARE` of relatedness, 0 to 1, that is the kinship of the next generation; the rest is the pairs' own")
	f.Float64Var(&q.Related, "most-related", 0, "greatest `RELATEDNESS` of the whole set, 0 to 1; 0 sets none")
	f.Float64Var(&q.Closest, "closest", advice.CloseKin, "`KINSHIP` from which two birds are never paired, 0 to 1")
	f.IntVar(&q.Most, "pairs", 0, "how `MANY` pairs at most; 0 sets no number")
	f.StringArrayVar(&q.atMost, "at-most", nil, "`LOOK=N`: at most N pairs with a bird of that look; may be given again")
	f.IntVar(&q.Sibs, "sibs", 0, "how `MANY` of the same sire and dam at most; 0 sets no number")
	f.Float64Var(&q.Wishes, "wishes", advice.WishPrice, "`YOUNG` that each wished-for young counts which is missing; 0 leaves wishes out")
	f.IntVar(&q.Others, "others", 0, "how `MANY` other plans to add, next best first, up to 10")
	f.IntVar(&q.Differ, "differ", 2, "in how `MANY` pairs they differ at least")
	f.BoolVar(&q.curve, "curve", false, "write the curve of young against relatedness instead of the pairs")
	f.StringVar(&q.why, "why", "", "`COCK,HEN` of two birds: what it costs to have them together, or to do without if they are in the plan")
	f.BoolVar(&q.All, "all", false, "count birds that are paired at present too, as for a season to come")
	f.IntVar(&q.Work, "work", 20_000, "how `MANY` assignments may be solved for each plan")
	jsonFlag(cmd, &q.asJSON)
	return cmd
}

func (q *pairsAsked) check() error {
	if err := need(q.dir, "data", whichRoom); err != nil {
		return err
	}
	for _, x := range []struct {
		option           string
		value, low, high float64
	}{
		{"weight", q.Weight, 0, 1000},
		{"mix", q.Next, 0, 1},
		{"most-related", q.Related, 0, 1},
		{"closest", q.Closest, 0.001, 1},
		{"wishes", q.Wishes, 0, 1000},
		{"pairs", float64(q.Most), 0, 10_000},
		{"sibs", float64(q.Sibs), 0, 10_000},
		{"others", float64(q.Others), 0, 10},
		{"differ", float64(q.Differ), 1, 10_000},
		{"work", float64(q.Work), 1, 10_000_000},
	} {
		if !(x.value >= x.low && x.value <= x.high) {
			return badf("--%s: %v is outside %v to %v", x.option, x.value, x.low, x.high)
		}
	}
	if q.Species != "" {
		p, err := species.Find(q.Species)
		if err != nil {
			return bad{err}
		}
		q.Species = p.Slug
	}
	for _, text := range q.atMost {
		l, err := lookLimit(text)
		if err != nil {
			return err
		}
		q.Shows = append(q.Shows, l)
	}
	if q.Others == 0 {
		q.Others = advice.NoSets
	}
	if q.Points = advice.NoSets; q.curve {
		q.Points = curvePoints
	}
	return nil
}

// lookLimit reads “blue=4”.
func lookLimit(text string) (advice.ShowLimit, error) {
	k := strings.LastIndex(text, "=")
	look := strings.TrimSpace(text[:max(k, 0)])
	most, err := strconv.Atoi(strings.TrimSpace(text[k+1:]))
	if look == "" || err != nil || most < 0 {
		return advice.ShowLimit{}, badf("--at-most: %q is not a look and a number; write it as blue=4", text)
	}
	return advice.ShowLimit{Look: look, Most: most}, nil
}

func (q *pairsAsked) run(cmd *cobra.Command) error {
	if err := q.check(); err != nil {
		return err
	}
	room, err := readRoom(cmd.Context(), q.dir)
	if err != nil {
		return err
	}
	today := dayIn(room)
	now := time.Now().In(room.Zone(today))
	desk := advice.At(room, today, aviary.ClockOf(now.Hour(), now.Minute()))
	var slugs []string
	for _, p := range desk.KeptSpecies() {
		if q.Species == "" || p.Slug == q.Species {
			slugs = append(slugs, p.Slug)
		}
	}
	if q.why != "" {
		return q.answerWhy(cmd, desk, slugs)
	}
	found := []plannedSpecies{}
	q.taken = map[int]map[aviary.ID]bool{}
	for _, slug := range slugs {
		s, err := q.ofSpecies(cmd, desk, slug)
		if err != nil {
			return err
		}
		found = append(found, s)
	}
	if len(slugs) == 0 {
		tell(cmd, []string{"There are no such birds in the room."})
	}
	return q.table(found).write(cmd.OutOrStdout(), q.asJSON)
}

func (q *pairsAsked) table(found []plannedSpecies) table {
	t := table{header: []string{"plan", "species", "cock", "hen", "cage", "young", "kinship", "kinship_z", "why"}, value: map[string]any{"species": found}}
	if q.curve {
		t.header = []string{"species", "weight", "pairs", "young", "inbreeding", "next_generation", "status", "gap"}
	}
	for _, s := range found {
		if q.curve {
			for _, c := range s.Curve {
				t.rows = append(t.rows, []string{s.Species, full(c.Weight), strconv.Itoa(c.Pairs), full(c.Young), full(c.Inbreeding), full(c.Next), c.Status, full(max(0, c.Bound-c.Value))})
			}
			continue
		}
		for _, p := range s.Pairs {
			t.rows = append(t.rows, []string{strconv.Itoa(p.Plan), p.Species, p.Cock, p.Hen, p.Cage, full(p.Young), full(p.Kinship), full(p.KinshipZ), p.Why})
		}
	}
	return t
}

// readRoom reads the room in a folder, open elsewhere or not.
func readRoom(ctx context.Context, dir string) (room *aviary.Room, err error) {
	j, err := journal.OpenReadOnly(dir)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, j.Close()) }()
	list, err := j.Entries(ctx)
	if err != nil {
		return nil, err
	}
	return aviary.Replay(list), nil
}

// ask asks for the pairs of one species.
func (q *pairsAsked) ask(slug string) advice.PairQuery {
	out := q.PairQuery
	out.Species = slug
	return out
}

// ofSpecies says all that was asked of one species, and the sum of it on the error output.
func (q *pairsAsked) ofSpecies(cmd *cobra.Command, desk *advice.Desk, slug string) (plannedSpecies, error) {
	out := plannedSpecies{Species: slug, Sets: []plannedSet{}, Pairs: []plannedPair{}, Curve: []plannedSet{}, LeftOut: []leftOut{}}
	plan, err := desk.Pairs(cmd.Context(), q.ask(slug), nil)
	if err != nil {
		return out, err
	}
	for _, x := range plan.Out {
		out.LeftOut = append(out.LeftOut, leftOut{x.Bird.Label(), x.Why})
	}
	say := func(format string, args ...any) {
		tell(cmd, []string{species.BySlug(slug).English + ": " + fmt.Sprintf(format, args...)})
	}
	clash := clashWords(plan.Clash)
	switch {
	case plan.Problem != "":
		out.Problem = plan.Problem
	case len(plan.Cocks) == 0 || len(plan.Hens) == 0:
		out.Problem = fmt.Sprintf("no pair can be made: %d cocks and %d hens may be paired.", len(plan.Cocks), len(plan.Hens))
	case plan.Clash.Kind == advice.RulesClash:
		return out, bad{clash}
	case clash != nil:
		out.Problem = clash.Error()
	}
	if out.Problem != "" {
		say("%s", out.Problem)
		return out, nil
	}
	for i, s := range plan.Curve {
		if i == 0 {
			s.Weight = 0 // most young, whatever they are to each other
		}
		out.Curve = append(out.Curve, plannedSetOf(i+1, s))
	}
	for i, s := range append([]advice.PairSet{plan.Best}, plan.Others...) {
		out.Sets = append(out.Sets, plannedSetOf(i+1, s))
		out.Pairs = append(out.Pairs, q.lines(desk, plan.Matings, i+1, s)...)
	}
	s := plan.Best
	say("%s, %.1f young expected (8 in 10: %.1f to %.1f), related %.2f in 100 on average; %s.", count(len(s.Pairs), "pair"), s.Young, s.Low, s.High, 100*s.Related, proof(s))
	for _, w := range plan.Wished(desk.Room, s) {
		if q.Wishes > 0 && w.Short() {
			say("of %d young that are %s, %.1f are expected.", w.Wish.Count, w.Wish.Look, w.Expected)
		}
	}
	if s.Single > 0 && (q.Most == 0 || len(s.Pairs) < q.Most) {
		say("without a mate on the smaller side: %s; kin, rules and limits forbid more.", count(s.Single, "bird"))
	}
	return out, nil
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// proof says how far a set is proved.
func proof(s advice.PairSet) string {
	said := "no other set is better"
	if !s.Proven() && s.Gap() > 0 {
		said = fmt.Sprintf("another set may be better by %.2g young at most (--work takes longer to tell)", s.Gap())
	}
	if s.MostPairs > len(s.Pairs) {
		said += fmt.Sprintf(", and one of %d pairs is not ruled out", s.MostPairs)
	}
	return said
}

// clashWords says why there is no set, with the option that helps; nil where there is one.
func clashWords(c advice.PairClash) error {
	switch c.Kind {
	case advice.NoClash:
		return nil
	case advice.RulesClash:
		return errors.New(c.Text)
	case advice.NoneFound:
		return errors.New(c.Text + "; --work looks longer.")
	case advice.RelatedClash:
		return errors.New(c.Text + "; --pairs asks for fewer.")
	}
	return errors.New(c.Text + ".")
}

func plannedSetOf(n int, s advice.PairSet) plannedSet {
	return plannedSet{
		Plan: n, Pairs: len(s.Pairs), Young: s.Young, Low: s.Low, High: s.High, Inbreeding: s.Related, Next: s.Next,
		Weight: s.Weight, Value: s.Value, Bound: s.Bound, Status: s.Status.String(),
	}
}

// lines are the pairs of a set with the cages proposed for them.
func (q *pairsAsked) lines(desk *advice.Desk, m *advice.Matings, n int, s advice.PairSet) []plannedPair {
	if q.taken[n] == nil {
		q.taken[n] = map[aviary.ID]bool{}
	}
	cages := map[advice.Couple]*aviary.Place{}
	for _, c := range desk.CagesFor(m, s) {
		cages[c.Couple] = c.Place
	}
	var out []plannedPair
	for _, c := range s.Pairs {
		name := ""
		if cage := cages[c]; cage != nil && !q.taken[n][cage.ID] { // else another species has it by then
			name, q.taken[n][cage.ID] = cage.Name, true
		}
		cell := m.Cells[c.Cock][c.Hen]
		out = append(out, plannedPair{
			n, m.Query.Species, m.Cocks[c.Cock].Bird.Label(), m.Hens[c.Hen].Bird.Label(), name,
			cell.Young, cell.Kinship, cell.KinshipZ, cell.Wanted, strings.Join(m.Why(c), " "),
		})
	}
	return out
}

// answerWhy says what it costs to have two birds together, or to do without.
func (q *pairsAsked) answerWhy(cmd *cobra.Command, desk *advice.Desk, slugs []string) error {
	names, err := csv.NewReader(strings.NewReader(q.why)).Read()
	if err != nil || len(names) != 2 {
		return badf("--why: name a cock and a hen with a comma between")
	}
	cock, hen := strings.TrimSpace(names[0]), strings.TrimSpace(names[1])
	for _, slug := range slugs {
		m, err := desk.Matings(cmd.Context(), q.ask(slug).MatingQuery)
		if err != nil {
			return err
		}
		for _, x := range m.Out {
			for _, name := range []string{cock, hen} {
				if x.Bird.Label() == name {
					return badf("--why: %s is not offered for a pair: %s", name, x.Why)
				}
			}
		}
		of := func(list []advice.Mate, name string) int {
			return slices.IndexFunc(list, func(m advice.Mate) bool { return m.Bird.Label() == name })
		}
		c := advice.Couple{Cock: of(m.Cocks, cock), Hen: of(m.Hens, hen)}
		if c.Cock >= 0 && c.Hen >= 0 {
			return q.whyThese(cmd, desk, m, c)
		}
	}
	return badf("--why: no cock %q and hen %q of one species may be paired; names are those of the plan, the cock first", cock, hen)
}

func (q *pairsAsked) whyThese(cmd *cobra.Command, desk *advice.Desk, m *advice.Matings, c advice.Couple) error {
	cock, hen := m.Cocks[c.Cock].Bird.Label(), m.Hens[c.Hen].Bird.Label()
	if why := m.Cells[c.Cock][c.Hen].Forbidden; why != "" {
		return badf("--why: %s and %s are not put together: %s", cock, hen, why)
	}
	ask := q.ask(m.Query.Species)
	ask.Others, ask.Points = advice.NoSets, advice.NoSets
	plan, err := desk.Pairs(cmd.Context(), ask, m)
	if err != nil {
		return err
	}
	if clash := clashWords(plan.Clash); clash != nil {
		return bad{clash}
	}
	words := fmt.Sprintf("To have %s with %s", cock, hen)
	change, err := plan.Insist(cmd.Context(), c.Cock, c.Hen)
	if err == nil && change.Chosen {
		if m.Cells[c.Cock][c.Hen].Wanted {
			return badf("--why: %s and %s are together because you want them together", cock, hen)
		}
		words = fmt.Sprintf("To do without %s with %s", cock, hen)
		change, err = plan.Without(cmd.Context(), c.Cock, c.Hen)
	}
	if err != nil {
		return err
	}
	if change.Never {
		tell(cmd, []string{words + " leaves no set that keeps all rules and limits."})
	} else {
		a, b := plan.Best, change.Set
		text := fmt.Sprintf("%s costs %.2f young at the weight given: %.1f young instead of %.1f, related %.2f in 100 instead of %.2f.", words, change.Cost, b.Young, a.Young, 100*b.Related, 100*a.Related)
		if change.High-change.Low > 1e-6 { // rounding apart
			text += fmt.Sprintf(" It is proved to lie from %.2f to %.2f.", change.Low, change.High)
		}
		if change.Fewer > 0 {
			text += fmt.Sprintf(" There would be %s less.", count(change.Fewer, "pair"))
		}
		tell(cmd, append([]string{text}, m.Why(c)...))
	}
	return changeTable(m, change).write(cmd.OutOrStdout(), q.asJSON)
}

// changeTable lists the pairs that come apart, and those that take their place.
func changeTable(m *advice.Matings, change advice.Changed) table {
	out := table{header: []string{"part", "cock", "hen", "young", "kinship", "kinship_z"}}
	rows := []map[string]any{}
	for _, part := range []struct {
		word  string
		pairs []advice.Couple
	}{{"lost", change.Lost}, {"new", change.New}} {
		for _, x := range part.pairs {
			cell := m.Cells[x.Cock][x.Hen]
			cock, hen := m.Cocks[x.Cock].Bird.Label(), m.Hens[x.Hen].Bird.Label()
			out.rows = append(out.rows, []string{part.word, cock, hen, full(cell.Young), full(cell.Kinship), full(cell.KinshipZ)})
			rows = append(rows, map[string]any{"part": part.word, "cock": cock, "hen": hen, "young": cell.Young, "kinship": cell.Kinship, "kinship_z": cell.KinshipZ})
		}
	}
	out.value = map[string]any{"cost": change.Cost, "cost_low": change.Low, "cost_high": change.High, "fewer_pairs": change.Fewer, "status": change.Set.Status.String(), "pairs": rows}
	return out
}
