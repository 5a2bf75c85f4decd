package heredity

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Doubts are chances of mistakes in the records. They are used to rank culprits only.
type Doubts struct {
	Look float64 // a look written down wrongly
	Sire float64 // another cock is the sire
	Dam  float64 // the egg came from another hen and her cock
	Word float64 // what was said of a bird is false
}

// usualDoubts are assumptions from common practice, without a source, but for two: the
// sire is another cock at the rate found in wild zebra finches (Griffith et al. 2010,
// 1.7 %), and eggs are dumped at the rate found in captive ones (Schielzeth and Bolund
// 2010, 5.4 % of eggs, where many pairs share a room).
var usualDoubts = Doubts{Look: 0.01, Sire: 0.017, Dam: 0.054, Word: 0.1}

// A Record names one thing that was written of a bird.
type Record struct {
	Bird int
	// Trait and Look are what was seen, or -1. Said is the index in the bird's Said, or -1.
	Trait, Look, Said int
}

// A Fault is a way in which records may be wrong.
type Fault int8

// The faults.
const (
	WrongLook Fault = iota
	WrongWord
	WrongSire
	WrongParents
)

// A Culprit is one mistake that would remove a clash. Share is its chance among all single
// mistakes that would.
type Culprit struct {
	Fault  Fault
	Bird   int
	Record int // index in Records for a wrong look or word, else -1
	Share  float64
}

// A ConflictError names records that cannot all be true. Dropping any one of them removes
// the clash between them. Smallest says that no smaller set clashes anywhere in the
// records (in those near the clash, where the whole is too wide to decide). Records is empty where the pedigree alone is impossible, because no genotype
// that lives could come from it.
type ConflictError struct {
	Records  []Record
	Smallest bool
	Culprits []Culprit // likeliest first

	model *Model
}

// Error names the records by rows counted from 1.
func (e *ConflictError) Error() string {
	return e.Sentence(func(i int) string { return fmt.Sprintf("row %d", i+1) })
}

// Sentence says what clashes, one record a line, and then the likeliest culprit, with
// birds named by the caller.
func (e *ConflictError) Sentence(name func(bird int) string) string {
	var b strings.Builder
	switch len(e.Records) {
	case 0:
		b.WriteString("By the survivals in the loci file none of these birds' genotypes could live.")
		return b.String()
	case 1:
		b.WriteString("This record cannot be true with these parents and the founder frequencies given:")
	default:
		b.WriteString("These records cannot all be true:")
	}
	for _, r := range e.Records {
		fmt.Fprintf(&b, "\n%s: %s", name(r.Bird), e.what(r))
	}
	if len(e.Culprits) == 0 {
		return b.String()
	}
	c := e.Culprits[0]
	b.WriteString("\nLikeliest mistake: ")
	switch c.Fault {
	case WrongLook:
		fmt.Fprintf(&b, "the look of %s", name(c.Bird))
	case WrongWord:
		fmt.Fprintf(&b, "what was said of %s", name(c.Bird))
	case WrongSire:
		fmt.Fprintf(&b, "the sire of %s", name(c.Bird))
	case WrongParents:
		fmt.Fprintf(&b, "both parents of %s", name(c.Bird))
	}
	odds := fmt.Sprintf("%.0f in 10", 10*c.Share)
	switch {
	case c.Share > 0.95:
		odds = "over 9 in 10"
	case c.Share < 0.05:
		odds = "under 1 in 10"
	}
	fmt.Fprintf(&b, " (%s by the usual chances of mistakes).", odds)
	return b.String()
}

func (e *ConflictError) what(r Record) string {
	if r.Trait < 0 {
		return "what was said of it"
	}
	t := &e.model.Traits[r.Trait]
	return t.Column + " " + t.Looks[r.Look].Name
}

// A judge decides whether sets of records can be true together.
type judge struct {
	ctx  context.Context
	b    *builder
	recs []record
	o    Options
	kin  [][]int // parents of each bird of the family, all that are possible
}

func newJudge(ctx context.Context, m *Model, birds []Bird, o Options) (*judge, error) {
	fam, err := newFamily(m, birds)
	if err != nil {
		return nil, err
	}
	j := &judge{ctx: ctx, o: o, recs: records(birds)}
	j.b = &builder{meiosis: newMeiosis(m.filled()), birds: birds, fam: fam, lookError: o.LookError, tables: map[tableKey][]float64{}}
	j.kin = make([][]int, len(fam.birds))
	for i, k := range fam.birds {
		for _, p := range k.alts {
			j.kin[i] = append(j.kin[i], p.Sire, p.Dam)
		}
	}
	return j, nil
}

// network builds the network of some records, with the birds that they hang on.
func (j *judge) network(set []int) *network {
	include := make([]bool, len(j.b.fam.birds))
	var recs []record
	var stack []int
	for _, i := range set {
		recs = append(recs, j.recs[i])
		stack = append(stack, j.recs[i].bird)
	}
	for len(stack) > 0 {
		x := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if include[x] {
			continue
		}
		include[x] = true
		stack = append(stack, j.kin[x]...)
	}
	return j.b.build(recs, include)
}

// possible reports whether records can be true together. What is too wide to decide
// counts as possible.
func (j *judge) possible(set []int) bool {
	n := j.network(set)
	if n.prune() >= 0 {
		return false
	}
	for _, comp := range n.components(n.informative()) {
		t := n.best(comp, j.o.maxCells())
		if t.largest > j.o.maxCells() {
			continue
		}
		r := newRun(n, t)
		r.only = true
		if !r.up() {
			return false
		}
	}
	return true
}

// conflict finds the records that clash, as a [*ConflictError], or the context's error.
func conflict(ctx context.Context, m *Model, birds []Bird, o Options) error {
	j, err := newJudge(ctx, m, birds, o)
	if err != nil {
		return err
	}
	all := make([]int, len(j.recs))
	for i := range all {
		all[i] = i
	}
	e := &ConflictError{model: m}
	near := j.around(all)
	if j.possible(all) {
		// Too wide to decide as a whole, or sampling lost its way.
		if near == nil {
			return cmp.Or[error](ctx.Err(), &StuckError{})
		}
		all = near
	}
	if !j.possible(nil) {
		return e
	}
	start := all
	if near != nil {
		start = near // most clashes are between near relatives
	}
	found := j.irreducible(nil, start, false)
	found, e.Smallest = j.smallest(all, found)
	if err := ctx.Err(); err != nil {
		return err
	}
	slices.Sort(found)
	for _, i := range found {
		r := j.recs[i]
		x := Record{r.bird, r.trait, -1, r.said}
		if r.trait >= 0 {
			x.Look = birds[r.bird].Looks[r.trait]
		}
		e.Records = append(e.Records, x)
	}
	e.Culprits = j.culprits(m, found)
	return e
}

// irreducible returns a subset of set that clashes with the fixed records and does not
// without any one of its own (Junker 2004). added says that fixed has grown since it was
// last found possible.
func (j *judge) irreducible(fixed, set []int, added bool) []int {
	if j.ctx.Err() != nil || (added && !j.possible(fixed)) {
		return nil
	}
	if len(set) == 1 {
		return set
	}
	if len(set) == 0 {
		return nil
	}
	left, right := set[:len(set)/2], set[len(set)/2:]
	b := j.irreducible(slices.Concat(fixed, left), right, len(left) > 0)
	a := j.irreducible(slices.Concat(fixed, b), left, len(b) > 0)
	return slices.Concat(a, b)
}

// around returns records about one bird and its near relatives that clash even if
// everyone else's parents were unknown, or nil.
func (j *judge) around(all []int) []int {
	young := j.young()
	for steps := 1; steps <= 2; steps++ {
		last := -1
		for _, i := range all {
			if j.ctx.Err() != nil {
				return nil
			}
			if j.recs[i].bird == last {
				continue
			}
			last = j.recs[i].bird
			if set, ok := j.window(i, steps, young); !ok {
				return set
			}
		}
	}
	return nil
}

// window returns the records within some steps of a record, and whether they are possible
// among those birds alone.
func (j *judge) window(i, steps int, young [][]int) ([]int, bool) {
	set := j.within([]int{i}, steps, young)
	row := map[int]int{}
	var birds []Bird
	for _, k := range set {
		x := j.recs[k].bird
		if _, ok := row[x]; !ok {
			row[x] = len(birds)
			b := j.b.birds[x]
			b.Sex = j.b.fam.birds[x].sex
			birds = append(birds, b)
		}
	}
	at := func(x int) int {
		if k, ok := row[x]; ok {
			return k
		}
		return Unknown
	}
	for k := range birds {
		birds[k].Parents = slices.Clone(birds[k].Parents)
		for p := range birds[k].Parents {
			a := &birds[k].Parents[p]
			a.Sire, a.Dam = at(a.Sire), at(a.Dam)
		}
	}
	fam, err := newFamily(j.b.Model, birds)
	if err != nil {
		panic("heredity: part of a flock is no flock: " + err.Error())
	}
	sub := &judge{ctx: j.ctx, o: j.o, recs: records(birds), kin: make([][]int, len(fam.birds))}
	sub.b = &builder{meiosis: j.b.meiosis, birds: birds, fam: fam, lookError: j.b.lookError, tables: j.b.tables}
	for k, x := range fam.birds {
		for _, p := range x.alts {
			sub.kin[k] = append(sub.kin[k], p.Sire, p.Dam)
		}
	}
	every := make([]int, len(sub.recs))
	for k := range every {
		every[k] = k
	}
	return set, sub.possible(every)
}

// young lists the possible young of each bird of the family.
func (j *judge) young() [][]int {
	young := make([][]int, len(j.kin))
	for i, ps := range j.kin {
		for _, p := range ps {
			young[p] = append(young[p], i)
		}
	}
	return young
}

// maxSmallest is the size up to which the smallest clash is sought.
const maxSmallest = 6

// smallest returns a smallest set of records that clash, given one that does, and whether
// it is known to be the smallest. A set that clashes must have a record from the
// complement of every possible set; so the smallest set that hits all complements known
// either clashes, and is the answer, or grows into a new possible set (Ignatiev et al.
// 2015).
func (j *judge) smallest(all, known []int) ([]int, bool) {
	if len(known) <= 1 {
		return known, true
	}
	others := slices.DeleteFunc(slices.Clone(all), func(i int) bool { return slices.Contains(known, i) })
	var cuts [][]int
	for range 400 { // far more than clashes in real records take
		if j.ctx.Err() != nil {
			return known, false
		}
		hit := hittingSet(cuts, min(len(known)-1, maxSmallest))
		if hit == nil {
			// No set smaller than the known one (or of six records or fewer) hits all.
			return known, len(known)-1 <= maxSmallest
		}
		if !j.possible(hit) {
			return hit, true
		}
		// Most records agree: the known clash apart, they are added in one step.
		grown := j.grow(j.grow(hit, others), known)
		var cut []int
		for _, i := range all {
			if !slices.Contains(grown, i) {
				cut = append(cut, i)
			}
		}
		cuts = append(cuts, cut)
	}
	return known, false
}

// grow adds records to a possible set until any more would clash.
func (j *judge) grow(set, more []int) []int {
	more = slices.DeleteFunc(slices.Clone(more), func(i int) bool { return slices.Contains(set, i) })
	if len(more) == 0 || j.ctx.Err() != nil {
		return set
	}
	if both := slices.Concat(set, more); j.possible(both) {
		return both
	}
	if len(more) == 1 {
		return set
	}
	return j.grow(j.grow(set, more[:len(more)/2]), more[len(more)/2:])
}

// hittingSet returns a smallest set of at most limit records with one from every cut, in
// rising order, or nil if there is none.
func hittingSet(cuts [][]int, limit int) []int {
	for size := 0; size <= limit; size++ {
		if s := hit(cuts, make([]int, 0, size), size); s != nil {
			slices.Sort(s)
			return s
		}
	}
	return nil
}

func hit(cuts [][]int, have []int, left int) []int {
	// The smallest cut that is not hit yet has the fewest choices.
	var open []int
	for _, c := range cuts {
		if !slices.ContainsFunc(c, func(i int) bool { return slices.Contains(have, i) }) && (open == nil || len(c) < len(open)) {
			open = c
		}
	}
	if open == nil {
		return append(make([]int, 0, len(have)), have...)
	}
	if left == 0 {
		return nil
	}
	for _, i := range open {
		if s := hit(cuts, append(have, i), left-1); s != nil {
			return s
		}
	}
	return nil
}

// culprits ranks the single mistakes that would remove a clash, by the chance of each
// mistake times the likelihood of all other records that hang together with the clash;
// where these clash elsewhere too, of the clashing records alone.
func (j *judge) culprits(m *Model, clash []int) []Culprit {
	d := j.o.Doubts
	if d == (Doubts{}) {
		d = usualDoubts
	}
	near := j.within(clash, 2, j.young()) // more distant records hardly matter
	for _, set := range [][]int{near, clash} {
		var out []Culprit
		var logW []float64
		add := func(c Culprit, chance, logLik float64) {
			if chance > 0 && !math.IsInf(logLik, -1) {
				out, logW = append(out, c), append(logW, math.Log(chance)+logLik)
			}
		}
		for k, i := range clash {
			rest := slices.DeleteFunc(slices.Clone(set), func(x int) bool { return x == i })
			r := j.recs[i]
			c := Culprit{WrongLook, r.bird, k, 0}
			chance := d.Look
			if r.trait < 0 {
				c.Fault, chance = WrongWord, d.Word
			} else {
				chance /= float64(max(1, len(m.Traits[r.trait].Looks)-1))
			}
			add(c, chance, j.logLik(j.b, rest))
		}
		for _, bird := range j.lineage(clash) {
			if j.ctx.Err() != nil {
				return nil
			}
			for _, f := range []Fault{WrongSire, WrongParents} {
				chance := d.Sire
				if f == WrongParents {
					chance = d.Dam
				}
				add(Culprit{f, bird, -1, 0}, chance, j.logLik(j.orphan(bird, f), set))
			}
		}
		if len(out) == 0 {
			continue
		}
		top := slices.Max(logW)
		w := make([]float64, len(logW))
		for i := range w {
			w[i] = math.Exp(logW[i] - top)
		}
		normalise(w)
		for i := range out {
			out[i].Share = w[i]
		}
		slices.SortStableFunc(out, func(a, b Culprit) int { return cmp.Compare(b.Share, a.Share) })
		return out
	}
	return nil
}

// within returns the records of birds at most some steps, to parents or young, from the
// birds of given records.
func (j *judge) within(clash []int, steps int, young [][]int) []int {
	dist := map[int]int{}
	var queue []int
	for _, i := range clash {
		if _, ok := dist[j.recs[i].bird]; !ok {
			dist[j.recs[i].bird] = 0
			queue = append(queue, j.recs[i].bird)
		}
	}
	for len(queue) > 0 {
		x := queue[0]
		queue = queue[1:]
		if dist[x] == steps {
			continue
		}
		for _, y := range slices.Concat(j.kin[x], young[x]) {
			if _, ok := dist[y]; !ok {
				dist[y] = dist[x] + 1
				queue = append(queue, y)
			}
		}
	}
	var out []int
	for i, r := range j.recs {
		if _, ok := dist[r.bird]; ok {
			out = append(out, i)
		}
	}
	return out
}

// lineage returns the birds of the clash, and their ancestors, whose parents are given.
func (j *judge) lineage(clash []int) []int {
	seen := map[int]bool{}
	var out, stack []int
	for _, i := range clash {
		stack = append(stack, j.recs[i].bird)
	}
	const enough = 24 // two likelihoods each, and distant ancestors are unlikely culprits
	for len(stack) > 0 && len(out) < enough {
		x := stack[0]
		stack = stack[1:]
		if seen[x] {
			continue
		}
		seen[x] = true
		if x < j.b.fam.given && len(j.kin[x]) > 0 {
			out = append(out, x)
		}
		stack = append(stack, j.kin[x]...)
	}
	return out
}

// orphan is the builder with one bird's sire, or both its parents, made unknown.
func (j *judge) orphan(bird int, f Fault) *builder {
	fam := *j.b.fam
	fam.birds = slices.Clone(fam.birds)
	k := &fam.birds[bird]
	k.alts = slices.Clone(k.alts)
	n := len(fam.birds)
	fam.birds = append(fam.birds, kin{sex: Cock, draw: -1}, kin{sex: Hen, draw: -1})
	for i := range k.alts {
		k.alts[i].Sire = n
		if f == WrongParents {
			k.alts[i].Dam = n + 1
		}
	}
	fam.birds[bird].alts = k.alts
	fam.order = append([]int{n, n + 1}, fam.order...)
	b := *j.b
	b.fam = &fam
	return &b
}

// logLik is the log likelihood of some records, minus infinity if they clash or the exact
// road is too wide.
func (j *judge) logLik(b *builder, set []int) float64 {
	other := *j
	other.b = b
	other.kin = make([][]int, len(b.fam.birds))
	for i, k := range b.fam.birds {
		for _, p := range k.alts {
			other.kin[i] = append(other.kin[i], p.Sire, p.Dam)
		}
	}
	n := other.network(set)
	if n.prune() >= 0 {
		return math.Inf(-1)
	}
	keep := n.informative()
	sum := n.certain()
	for _, comp := range n.components(keep) {
		t := n.best(comp, j.o.maxCells())
		if t.largest > j.o.maxCells() {
			return math.Inf(-1)
		}
		r := newRun(n, t)
		if !r.up() {
			return math.Inf(-1)
		}
		sum += r.logZ
	}
	return sum
}
