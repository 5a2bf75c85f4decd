package cli

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/pairing"
	"broodlight/internal/pedigree"
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
	dir, species                       string
	weight, mix, closest, most, wishes float64
	pairs, sibs, others, differ, work  int
	atMost                             []string
	why                                string
	taken                              map[int]map[string]bool // cages by plan, across species
	all, curve, asJSON                 bool
}

func pairsPlan() *cobra.Command {
	var q pairsAsked
	cmd := &cobra.Command{
		Use: "plan --data DIR", Short: "Which cock with which hen in which cage, for the whole room", Args: noArgs,
		Long: "Proposes pairs for all birds of each species that may be paired: the set with most young expected, less the weight given to\nrelatedness, as a whole and not pair by pair. The error output says how near it is proved to be to the best of all. It\nproposes; nothing is written into the room.",
		RunE: func(cmd *cobra.Command, _ []string) error { return q.run(cmd) },
	}
	dataFlag(cmd, &q.dir, "`DIR` that the room is in")
	f := cmd.Flags()
	f.StringVar(&q.species, "species", "", "`NAME` of one species; else every species that is here")
	f.Float64Var(&q.weight, "weight", advice.UsualWeight, "`YOUNG` given up, by each pair, for one step of relatedness (1 in 100) less")
	f.Float64Var(&q.mix, "mix", 0, "`SHARE` of relatedness, 0 to 1, that is the kinship of the next generation; the rest is the pairs' own")
	f.Float64Var(&q.most, "most-related", 0, "greatest `RELATEDNESS` of the whole set, 0 to 1; 0 sets none")
	f.Float64Var(&q.closest, "closest", advice.CloseKin, "`KINSHIP` from which two birds are never paired, 0 to 1")
	f.IntVar(&q.pairs, "pairs", 0, "how `MANY` pairs at most; 0 sets no number")
	f.StringArrayVar(&q.atMost, "at-most", nil, "`LOOK=N`: at most N pairs with a bird of that look; may be given again")
	f.IntVar(&q.sibs, "sibs", 0, "how `MANY` of the same sire and dam at most; 0 sets no number")
	f.Float64Var(&q.wishes, "wishes", 0.5, "`YOUNG` that each wished-for young counts which is missing; 0 leaves wishes out")
	f.IntVar(&q.others, "others", 0, "how `MANY` other plans to add, next best first, up to 10")
	f.IntVar(&q.differ, "differ", 2, "in how `MANY` pairs they differ at least")
	f.BoolVar(&q.curve, "curve", false, "write the curve of young against relatedness instead of the pairs")
	f.StringVar(&q.why, "why", "", "`COCK,HEN` of two birds: what it costs to have them together, or to do without if they are in the plan")
	f.BoolVar(&q.all, "all", false, "count birds that are paired at present too, as for a season to come")
	f.IntVar(&q.work, "work", 20_000, "how `MANY` assignments may be solved for each plan")
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
		{"weight", q.weight, 0, 1000},
		{"mix", q.mix, 0, 1},
		{"most-related", q.most, 0, 1},
		{"closest", q.closest, 0.001, 1},
		{"wishes", q.wishes, 0, 1000},
		{"pairs", float64(q.pairs), 0, 10_000},
		{"sibs", float64(q.sibs), 0, 10_000},
		{"others", float64(q.others), 0, 10},
		{"differ", float64(q.differ), 1, 10_000},
		{"work", float64(q.work), 1, 10_000_000},
	} {
		if !(x.value >= x.low && x.value <= x.high) {
			return badf("--%s: %v is outside %v to %v", x.option, x.value, x.low, x.high)
		}
	}
	if q.species != "" {
		p, err := species.Find(q.species)
		if err != nil {
			return bad{err}
		}
		q.species = p.Slug
	}
	for _, text := range q.atMost {
		if _, _, err := lookLimit(text); err != nil {
			return err
		}
	}
	return nil
}

// lookLimit reads “blue=4”.
func lookLimit(text string) (look string, most int, err error) {
	k := strings.LastIndex(text, "=")
	if k > 0 {
		look = strings.TrimSpace(text[:k])
		most, err = strconv.Atoi(strings.TrimSpace(text[k+1:]))
	}
	if k <= 0 || err != nil || most < 0 || look == "" {
		return "", 0, badf("--at-most: %q is not a look and a number; write it as blue=4", text)
	}
	return look, most, nil
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
		if q.species == "" || p.Slug == q.species {
			slugs = append(slugs, p.Slug)
		}
	}
	if q.why != "" {
		return q.answerWhy(cmd, desk, slugs)
	}
	found := []plannedSpecies{}
	q.taken = map[int]map[string]bool{}
	for _, slug := range slugs {
		s, err := q.plan(cmd, desk, slug)
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

// table of a species: who may be paired, and the problem that the engine is handed.
type pairTable struct {
	q     *pairsAsked
	desk  *advice.Desk
	m     *advice.Matings
	p     *pairing.Problem
	names []string // of the limits
	price float64  // of a whole unit of relatedness, for a weight of 1
}

func (q *pairsAsked) open(ctx context.Context, desk *advice.Desk, slug string) (*pairTable, error) {
	m, err := desk.Matings(ctx, advice.MatingQuery{Species: slug, All: q.all, Closest: q.closest})
	if err != nil {
		return nil, err
	}
	t := &pairTable{q: q, desk: desk, m: m}
	if m.Problem != "" || len(m.Cocks) == 0 || len(m.Hens) == 0 {
		return t, nil
	}
	p := &pairing.Problem{Pairs: q.pairs, Mix: q.mix, Most: q.most}
	var birds []int
	for _, b := range slices.Concat(m.Cocks, m.Hens) {
		birds = append(birds, b.Row)
	}
	if p.Kinship, err = pedigree.KinshipMatrix(ctx, m.Colours.Flock.Pedigree, birds); err != nil {
		return nil, err
	}
	for i := range m.Cocks {
		worth, forbidden := make([]float64, len(m.Hens)), make([]bool, len(m.Hens))
		for j := range m.Hens {
			cell := m.Cells[i][j]
			worth[j], forbidden[j] = cell.Young, cell.Forbidden != ""
			if cell.Wanted && !forbidden[j] {
				p.Locked = append(p.Locked, pairing.Pair{Cock: i, Hen: j})
			}
		}
		p.Worth, p.Forbidden = append(p.Worth, worth), append(p.Forbidden, forbidden)
	}
	pairs := min(len(m.Cocks), len(m.Hens))
	if q.pairs > 0 {
		pairs = min(pairs, q.pairs)
	}
	t.price = 100 * float64(pairs)
	p.Price = q.weight * t.price
	t.p = p
	return t, t.limit()
}

// limit adds what was asked of looks, broods and wishes.
func (t *pairTable) limit() error {
	if err := t.wanted(); err != nil {
		return err
	}
	m, p := t.m, t.p
	for _, text := range t.q.atMost {
		look, most, err := lookLimit(text)
		if err != nil {
			return err
		}
		cells := make([][]bool, len(m.Cocks))
		for i := range cells {
			for j := range m.Hens {
				cells[i] = append(cells[i], hasLook(m.Cocks[i].Bird, look) || hasLook(m.Hens[j].Bird, look))
			}
		}
		p.Limits, t.names = append(p.Limits, pairing.AtMost(cells, most)), append(t.names, fmt.Sprintf("at most %d pairs with a %s bird", most, look))
	}
	if t.q.sibs > 0 {
		broods := map[[2]aviary.ID][2][]int{}
		var order [][2]aviary.ID
		add := func(b *aviary.Bird, sex, at int) {
			l := t.desk.Room.Parents(b.ID)
			k := [2]aviary.ID{l.Sire, l.Dam}
			if l.Sire == (aviary.ID{}) || l.Dam == (aviary.ID{}) {
				return
			}
			x, seen := broods[k]
			if !seen {
				order = append(order, k)
			}
			x[sex] = append(x[sex], at)
			broods[k] = x
		}
		for i, b := range m.Cocks {
			add(b.Bird, 0, i)
		}
		for j, b := range m.Hens {
			add(b.Bird, 1, j)
		}
		for _, k := range order {
			x := broods[k]
			if len(x[0])+len(x[1]) > t.q.sibs {
				p.Limits = append(p.Limits, pairing.FewOf(len(m.Cocks), len(m.Hens), x[0], x[1], t.q.sibs))
				t.names = append(t.names, fmt.Sprintf("at most %d young of %s and %s", t.q.sibs, t.desk.Room.Bird(k[0]).Label(), t.desk.Room.Bird(k[1]).Label()))
			}
		}
	}
	for _, w := range t.desk.Room.Whole().Wished {
		if w.Species != m.Query.Species || w.Count <= 0 || t.q.wishes == 0 {
			continue
		}
		l := pairing.Limit{Least: float64(w.Count), Most: math.Inf(1), Price: t.q.wishes}
		for i := range m.Cocks {
			amount := make([]float64, len(m.Hens))
			for j := range m.Hens {
				for _, x := range m.Cells[i][j].Looks {
					if (w.Sex == "" || w.Sex == x.Sex) && slices.Contains(strings.Split(x.Look, ", "), w.Look) {
						amount[j] += x.Share * m.Cells[i][j].Young
					}
				}
			}
			l.Amount = append(l.Amount, amount)
		}
		p.Limits, t.names = append(p.Limits, l), append(t.names, fmt.Sprintf("%d young that are %s", w.Count, w.Look))
	}
	return nil
}

// wanted refuses rules that put one bird with two others.
func (t *pairTable) wanted() error {
	for a, x := range t.p.Locked {
		for _, y := range t.p.Locked[:a] {
			both := t.m.Cocks[x.Cock].Bird
			switch {
			case x.Hen == y.Hen:
				both = t.m.Hens[x.Hen].Bird
			case x.Cock != y.Cock:
				continue
			}
			return badf("by your rules %s is to be with two birds at once; take one of the rules back", both.Label())
		}
	}
	return nil
}

// hasLook reports whether a bird shows a look by what was written last of each trait.
func hasLook(b *aviary.Bird, look string) bool {
	newest := map[string]string{}
	for _, l := range b.Looks {
		newest[l.Trait] = l.Look
	}
	for _, l := range newest {
		for part := range strings.SplitSeq(l, ",") {
			if strings.EqualFold(strings.TrimSpace(part), look) {
				return true
			}
		}
	}
	return false
}

// plan works out all that was asked of one species, and says the sum of it on the error output.
func (q *pairsAsked) plan(cmd *cobra.Command, desk *advice.Desk, slug string) (plannedSpecies, error) {
	ctx := cmd.Context()
	out := plannedSpecies{Species: slug, Sets: []plannedSet{}, Pairs: []plannedPair{}, Curve: []plannedSet{}, LeftOut: []leftOut{}}
	t, err := q.open(ctx, desk, slug)
	if err != nil {
		return out, err
	}
	for _, x := range t.m.Out {
		out.LeftOut = append(out.LeftOut, leftOut{x.Bird.Label(), x.Why})
	}
	say := func(format string, args ...any) {
		tell(cmd, []string{species.BySlug(slug).English + ": " + fmt.Sprintf(format, args...)})
	}
	switch {
	case t.m.Problem != "":
		out.Problem = t.m.Problem
	case t.p == nil:
		out.Problem = fmt.Sprintf("no pair can be made: %d cocks and %d hens may be paired.", len(t.m.Cocks), len(t.m.Hens))
	}
	if out.Problem != "" {
		say("%s", out.Problem)
		return out, nil
	}
	o := pairing.Options{Work: q.work}
	best, err := pairing.Best(ctx, t.p, o)
	if err != nil {
		return out, err
	}
	if out.Problem = t.problem(best); out.Problem != "" {
		say("%s", out.Problem)
		return out, nil
	}
	if q.curve {
		points, err := pairing.Curve(ctx, t.p, 12, o)
		if err != nil {
			return out, err
		}
		for i, x := range points {
			set := t.set(i+1, x.Plan)
			if set.Weight = x.Price / t.price; i == 0 {
				set.Weight = 0 // most young, whatever they are to each other
			}
			out.Curve = append(out.Curve, set)
		}
	}
	plans := []*pairing.Plan{best}
	if q.others > 0 {
		others, err := pairing.Others(ctx, t.p, best, q.others, q.differ, o)
		if err != nil {
			return out, err
		}
		plans = append(plans, others...)
	}
	for i, p := range plans {
		out.Sets = append(out.Sets, t.set(i+1, p))
		lines, err := t.lines(ctx, i+1, p)
		if err != nil {
			return out, err
		}
		out.Pairs = append(out.Pairs, lines...)
	}
	s := out.Sets[0]
	say("%s, %.1f young expected (8 in 10: %.1f to %.1f), related %.2f in 100 on average; %s.", count(s.Pairs, "pair"), s.Young, s.Low, s.High, 100*s.Inbreeding, proof(best))
	for l, x := range t.p.Limits {
		if short := x.Least - best.Amounts[l]; x.Price > 0 && short > 1e-9 {
			say("of %s, %.1f are expected.", t.names[l], best.Amounts[l])
		}
	}
	if single := min(len(t.m.Cocks), len(t.m.Hens)) - s.Pairs; single > 0 && (q.pairs == 0 || s.Pairs < q.pairs) {
		say("without a mate on the smaller side: %s; kin, rules and limits forbid more.", count(single, "bird"))
	}
	return out, nil
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// proof says how far a plan is proved.
func proof(p *pairing.Plan) string {
	said := "no other set is better"
	if p.Status == pairing.Within {
		said = fmt.Sprintf("another set may be better by %.2g young at most (--work takes longer to tell)", p.Gap())
	}
	if p.MostPairs > len(p.Pairs) {
		said += fmt.Sprintf(", and one of %d pairs is not ruled out", p.MostPairs)
	}
	return said
}

// problem says why there is no plan, or "".
func (t *pairTable) problem(p *pairing.Plan) string {
	switch {
	case p.Status == pairing.NotFound:
		return "no set that keeps all limits was found, and none was ruled out; --work looks longer."
	case p.Status != pairing.Impossible:
		return ""
	case len(p.Clash) == 1:
		return "this limit cannot be kept: " + t.names[p.Clash[0]] + "."
	case len(p.Clash) > 1:
		var names []string
		for _, l := range p.Clash {
			names = append(names, t.names[l])
		}
		return "these limits cannot be kept together: " + strings.Join(names, "; ") + "."
	case t.q.most > 0:
		return fmt.Sprintf("no set of so many pairs is related by %v or less; --pairs asks for fewer.", t.q.most)
	}
	return "the pairs that you want and the limits cannot be kept together."
}

func couples(p *pairing.Plan) []advice.Couple {
	var out []advice.Couple
	for _, c := range p.Pairs {
		out = append(out, advice.Couple{Cock: c.Cock, Hen: c.Hen})
	}
	return out
}

func (t *pairTable) set(n int, p *pairing.Plan) plannedSet {
	sum := t.m.Sum(couples(p), t.q.weight)
	return plannedSet{
		Plan: n, Pairs: len(p.Pairs), Young: sum.Young, Low: sum.Low, High: sum.High, Inbreeding: p.Inbreeding, Next: p.Next,
		Weight: t.q.weight, Value: p.Value, Bound: p.Bound, Status: p.Status.String(),
	}
}

// lines are the pairs of a plan with the cages that the pages would propose for them.
func (t *pairTable) lines(ctx context.Context, n int, p *pairing.Plan) ([]plannedPair, error) {
	cages, err := t.cages(ctx, p)
	if err != nil {
		return nil, err
	}
	if t.q.taken[n] == nil {
		t.q.taken[n] = map[string]bool{}
	}
	var out []plannedPair
	for _, c := range couples(p) {
		cell, cage := t.m.Cells[c.Cock][c.Hen], cages[c]
		if t.q.taken[n][cage] {
			cage = "" // another species has it by then
		}
		t.q.taken[n][cage] = cage != ""
		out = append(out, plannedPair{
			n, t.m.Query.Species, t.m.Cocks[c.Cock].Bird.Label(), t.m.Hens[c.Hen].Bird.Label(), cage,
			cell.Young, cell.Kinship, cell.KinshipZ, cell.Wanted, strings.Join(t.m.Why(c), " "),
		})
	}
	return out, nil
}

// cages asks for the cages of just the birds of a plan, each with its mate.
func (t *pairTable) cages(ctx context.Context, p *pairing.Plan) (map[advice.Couple]string, error) {
	part := *t.m
	part.Cocks, part.Hens, part.Cells = nil, nil, nil
	query := advice.PairQuery{MatingQuery: t.m.Query, Weight: t.q.weight}
	back := couples(p)
	for _, c := range back {
		part.Cocks, part.Hens = append(part.Cocks, t.m.Cocks[c.Cock]), append(part.Hens, t.m.Hens[c.Hen])
		query.Insist = append(query.Insist, [2]aviary.ID{t.m.Cocks[c.Cock].Bird.ID, t.m.Hens[c.Hen].Bird.ID})
		var line []advice.Mating
		for _, d := range back {
			line = append(line, t.m.Cells[c.Cock][d.Hen])
		}
		part.Cells = append(part.Cells, line)
	}
	plan, err := t.desk.Pairs(ctx, query, &part)
	if err != nil {
		return nil, err
	}
	out := map[advice.Couple]string{}
	for _, c := range plan.Cages {
		if c.Place != nil && c.Couple.Cock == c.Couple.Hen {
			out[back[c.Couple.Cock]] = c.Place.Name
		}
	}
	return out, nil
}

// answerWhy says what it costs to have two birds together, or to do without.
func (q *pairsAsked) answerWhy(cmd *cobra.Command, desk *advice.Desk, slugs []string) error {
	names, err := csv.NewReader(strings.NewReader(q.why)).Read()
	if err != nil || len(names) != 2 {
		return badf("--why: name a cock and a hen with a comma between")
	}
	cock, hen := strings.TrimSpace(names[0]), strings.TrimSpace(names[1])
	for _, slug := range slugs {
		t, err := q.open(cmd.Context(), desk, slug)
		if err != nil {
			return err
		}
		for _, x := range t.m.Out {
			for _, name := range []string{cock, hen} {
				if x.Bird.Label() == name {
					return badf("--why: %s is not offered for a pair: %s", name, x.Why)
				}
			}
		}
		of := func(list []advice.Mate, name string) int {
			return slices.IndexFunc(list, func(m advice.Mate) bool { return m.Bird.Label() == name })
		}
		c := advice.Couple{Cock: of(t.m.Cocks, cock), Hen: of(t.m.Hens, hen)}
		if c.Cock < 0 || c.Hen < 0 || t.p == nil {
			continue
		}
		return t.why(cmd, c)
	}
	return badf("--why: no cock %q and hen %q of one species may be paired; names are those of the plan, the cock first", cock, hen)
}

func (t *pairTable) why(cmd *cobra.Command, c advice.Couple) error {
	ctx, o := cmd.Context(), pairing.Options{Work: t.q.work}
	cock, hen := t.m.Cocks[c.Cock].Bird.Label(), t.m.Hens[c.Hen].Bird.Label()
	if why := t.m.Cells[c.Cock][c.Hen].Forbidden; why != "" {
		return badf("--why: %s and %s are not put together: %s", cock, hen, why)
	}
	best, err := pairing.Best(ctx, t.p, o)
	if err != nil {
		return err
	}
	if problem := t.problem(best); problem != "" {
		return bad{errors.New(problem)}
	}
	pair := pairing.Pair{Cock: c.Cock, Hen: c.Hen}
	ask, words := pairing.Insist, "To have %s with %s"
	if best.Has(pair) {
		if t.m.Cells[c.Cock][c.Hen].Wanted {
			return badf("--why: %s and %s are together because you want them together", cock, hen)
		}
		ask, words = pairing.Without, "To do without %s with %s"
	}
	change, err := ask(ctx, t.p, best, pair, o)
	if err != nil {
		return err
	}
	words = fmt.Sprintf(words, cock, hen)
	switch {
	case change.Plan.Status == pairing.Impossible || change.Plan.Status == pairing.NotFound:
		tell(cmd, []string{words + " leaves no set that keeps all rules and limits."})
	default:
		a, b := t.set(1, best), t.set(2, change.Plan)
		text := fmt.Sprintf("%s costs %.2f young at the weight given: %.1f young instead of %.1f, related %.2f in 100 instead of %.2f.", words, change.Cost, b.Young, a.Young, 100*b.Inbreeding, 100*a.Inbreeding)
		if change.High-change.Low > 1e-6 {
			text += fmt.Sprintf(" It is proved to lie from %.2f to %.2f.", change.Low, change.High)
		}
		if change.Fewer > 0 {
			text += fmt.Sprintf(" There would be %s less.", count(change.Fewer, "pair"))
		}
		tell(cmd, append([]string{text}, t.m.Why(c)...))
	}
	out := table{header: []string{"part", "cock", "hen", "young", "kinship", "kinship_z"}}
	rows := []map[string]any{}
	for _, part := range []struct {
		word  string
		pairs []pairing.Pair
	}{{"lost", change.Lost}, {"new", change.New}} {
		for _, x := range part.pairs {
			cell := t.m.Cells[x.Cock][x.Hen]
			cock, hen := t.m.Cocks[x.Cock].Bird.Label(), t.m.Hens[x.Hen].Bird.Label()
			out.rows = append(out.rows, []string{part.word, cock, hen, full(cell.Young), full(cell.Kinship), full(cell.KinshipZ)})
			rows = append(rows, map[string]any{"part": part.word, "cock": cock, "hen": hen, "young": cell.Young, "kinship": cell.Kinship, "kinship_z": cell.KinshipZ})
		}
	}
	out.value = map[string]any{"cost": change.Cost, "cost_low": change.Low, "cost_high": change.High, "fewer_pairs": change.Fewer, "status": change.Plan.Status.String(), "pairs": rows}
	return out.write(cmd.OutOrStdout(), t.q.asJSON)
}
