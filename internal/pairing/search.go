package pairing

import (
	"container/heap"
	"context"
	"math"
	"slices"
)

// Best returns the best plan for the whole room: as many pairs as can be made, and of all
// such sets the one of greatest value. Without limits and with Mix 0 one assignment
// settles it; else branch and bound does, and where it comes to the end of its work the
// best plan found is returned with the bound that is proved.
//
// Bounds come from prices on the limits (Lagrange) and from tangents to the mean kinship
// of the next generation, which is convex; each asks for one assignment. The answer is
// the same on every computer. The error is the context's.
func Best(ctx context.Context, p *Problem, o Options) (*Plan, error) {
	p.check()
	return best(ctx, p, o, 0)
}

// best is Best, with a number of pairs that may not be undercut; 0 for none.
func best(ctx context.Context, p *Problem, o Options, exactly int) (*Plan, error) {
	rows, columns := p.size()
	left := o.work()
	k, possible, err := p.most(ctx)
	if err != nil {
		return nil, err
	}
	if p.Pairs > 0 {
		k = min(k, p.Pairs)
	}
	if exactly > 0 {
		possible, k = possible && exactly <= k, exactly
	}
	if !possible || len(distinct(p.Locked)) > k {
		return &Plan{Status: Impossible, MostPairs: k, Amounts: make([]float64, len(p.Limits))}, nil
	}
	if rows == 0 || columns == 0 || k == 0 {
		return newSearch(p, 0, false).plan(nil, 0), nil
	}
	s := newSearch(p, k, false)
	s.gap, s.budget = o.Gap, left
	if err := s.run(ctx); err != nil {
		return nil, err
	}
	hard := slices.ContainsFunc(p.Limits, func(l Limit) bool { return l.Price == 0 })
	if s.found != nil || exactly > 0 || !hard {
		out := s.plan(s.found, k)
		if out.Status == Impossible && p.Most == 0 {
			out.Clash, err = p.clash(ctx, o)
		}
		return out, err
	}
	// The limits leave fewer pairs, or none of so many was found: count first.
	c := p.counting(k)
	count := newSearch(c, 0, true)
	count.whole, count.budget = true, left
	if err := count.run(ctx); err != nil {
		return nil, err
	}
	if count.found == nil {
		out := count.plan(nil, 0)
		out.MostPairs, out.Work = k, s.solved+count.solved
		if out.Status == Impossible {
			out.Clash, err = p.clash(ctx, o)
		}
		return out, err
	}
	most := min(k, int(math.Floor(count.bound+whole)))
	fewer := count.pairs(count.found)
	if len(fewer) == 0 {
		out := newSearch(p, 0, false).plan([]int{}, 0)
		out.MostPairs, out.Work = most, s.solved+count.solved
		return out.unlessMore(), nil
	}
	t := newSearch(p, len(fewer), false)
	t.gap, t.budget = o.Gap, left
	t.offer(fewer)
	if err := t.run(ctx); err != nil {
		return nil, err
	}
	out := t.plan(t.found, most)
	out.Work += s.solved + count.solved
	return out.unlessMore(), nil
}

// unlessMore takes a proof back where more pairs are not ruled out.
func (p *Plan) unlessMore() *Plan {
	if p.Status == Proven && p.MostPairs > len(p.Pairs) {
		p.Status = Within
	}
	return p
}

// whole is how far a sum of ones may be off by rounding.
const whole = 1e-6

func distinct(pairs []Pair) []Pair {
	out := slices.Clone(pairs)
	slices.SortFunc(out, func(a, b Pair) int {
		if a.Cock != b.Cock {
			return a.Cock - b.Cock
		}
		return a.Hen - b.Hen
	})
	return slices.Compact(out)
}

// mask returns the cells that may not be paired, given locks, and whether the locks can
// stand.
func (p *Problem) mask() (no [][]bool, ok bool) {
	rows, columns := p.size()
	no = make([][]bool, rows)
	for i := range no {
		no[i] = make([]bool, columns)
		if p.Forbidden != nil {
			copy(no[i], p.Forbidden[i])
		}
	}
	ok = true
	for _, c := range distinct(p.Locked) {
		if no[c.Cock][c.Hen] {
			ok = false // forbidden, or its cock or hen is locked elsewhere
		}
		for j := range columns {
			no[c.Cock][j] = no[c.Cock][j] || j != c.Hen
		}
		for i := range rows {
			no[i][c.Hen] = no[i][c.Hen] || i != c.Cock
		}
	}
	return no, ok
}

// most returns how many pairs can be made without the limits.
func (p *Problem) most(ctx context.Context) (k int, ok bool, err error) {
	no, ok := p.mask()
	if len(no) == 0 || !ok {
		return 0, ok, nil
	}
	a, err := Assign(ctx, p.Worth, no, Maximise)
	return a.Pairs, true, err
}

// counting is the problem of making as many pairs as the hard limits allow.
func (p *Problem) counting(k int) *Problem {
	rows, columns := p.size()
	c := &Problem{Forbidden: p.Forbidden, Locked: p.Locked}
	ones := Limit{Least: math.Inf(-1), Most: float64(k)}
	for range rows {
		line := make([]float64, columns)
		for j := range line {
			line[j] = 1
		}
		c.Worth = append(c.Worth, line)
	}
	ones.Amount = c.Worth
	for _, l := range p.Limits {
		if l.Price == 0 {
			c.Limits = append(c.Limits, l)
		}
	}
	c.Limits = append(c.Limits, ones)
	return c
}

// clash finds hard limits that cannot be kept together even by fewer pairs, dropping one
// after another; nil where that cannot be told.
func (p *Problem) clash(ctx context.Context, o Options) ([]int, error) {
	var kept []int
	for i, l := range p.Limits {
		if l.Price == 0 {
			kept = append(kept, i)
		}
	}
	try := func(limits []int) (Status, error) {
		q := &Problem{Worth: p.Worth, Forbidden: p.Forbidden, Locked: p.Locked}
		for _, i := range limits {
			q.Limits = append(q.Limits, p.Limits[i])
		}
		rows, columns := p.size()
		c := newSearch(q.counting(max(1, min(rows, columns))), 0, true)
		c.whole, c.budget, c.any = true, o.work()/4+1, true
		if err := c.run(ctx); err != nil {
			return NotFound, err
		}
		return c.plan(c.found, 0).Status, nil
	}
	if s, err := try(kept); err != nil || s != Impossible {
		return nil, err
	}
	for i := 0; i < len(kept); {
		without := slices.Delete(slices.Clone(kept), i, i+1)
		s, err := try(without)
		if err != nil {
			return nil, err
		}
		if s == Impossible {
			kept = without
		} else {
			i++
		}
	}
	return kept, nil
}

// search is branch and bound over sets of k pairs, or of any number when free.
//
// A cock's row and a hen's column stand with extra columns and rows for birds that stay
// single, so that every set of k pairs is a full assignment of a square table.
type search struct {
	p          *Problem
	rows, cols int
	k          int
	free       bool
	side       int // rows of the square table
	no         [][]bool
	possible   bool
	quadratic  float64 // what y'Ky is divided by for the mean kinship of the next generation
	linear     float64 // what a pair's kinship is divided by for relatedness
	gap        float64
	budget     int
	whole      bool    // values are whole numbers
	any        bool    // the first plan found is good enough
	floor      float64 // no plan is worth less

	solved  int
	visited int
	found   []int // by row: its column, or Single
	value   float64
	bound   float64
	ended   bool // the tree is exhausted, or the gap closed
	table   *solver
	cost    []float64
	local   *local
}

func newSearch(p *Problem, k int, free bool) *search {
	s := &search{p: p, k: k, free: free, value: math.Inf(-1), bound: math.Inf(1), budget: usualWork}
	s.rows, s.cols = p.size()
	s.no, s.possible = p.mask()
	s.side = s.rows + s.cols - k
	if free {
		s.side = s.rows + s.cols
	}
	if p.Kinship != nil && k > 0 {
		s.quadratic = p.Mix / (4 * float64(k) * float64(k))
		s.linear = (1 - p.Mix) / float64(k)
	}
	s.local = &local{s: s}
	s.floor = s.least()
	return s
}

// least is a worth below every plan's, by adding up the worst of everything.
func (s *search) least() float64 {
	pairs := float64(s.k)
	if s.free {
		pairs = float64(min(s.rows, s.cols))
	}
	low := 0.0
	for _, line := range s.p.Worth {
		for _, w := range line {
			low = min(low, w)
		}
	}
	sum := pairs*low - s.p.Price - 1 // relatedness is 1 at most
	for _, l := range s.p.Limits {
		if l.Price == 0 {
			continue
		}
		size := 0.0
		for _, line := range l.Amount {
			for _, x := range line {
				size = max(size, math.Abs(x))
			}
		}
		off := 0.0
		if !math.IsInf(l.Most, 1) {
			off = max(off, pairs*size-l.Most)
		}
		if !math.IsInf(l.Least, -1) {
			off = max(off, l.Least+pairs*size)
		}
		sum -= l.Price * off
	}
	return sum
}

// node is a part of the search space: what is decided, and the prices that bound it.
type node struct {
	no       []bool // rows*cols
	cock     []int8 // by row: open, used or unused
	hen      []int8
	in       []Pair
	over     []float64 // price of each limit's upper end
	under    []float64 // and of its lower end
	related  float64   // price of relatedness above what is allowed
	at       []float64 // by bird: where the tangent to the mean kinship touches
	mean     *average  // assignments met above; its birds are those of at
	bound    float64
	depth    int
	cell     Pair
	byCock   int // bird to branch on, or -1
	byHen    int
	terminal bool
	settled  bool // it is decided of every bird whether it is paired
}

const (
	open_ int8 = iota
	used
	unused
)

func (s *search) root() *node {
	n := &node{
		no: make([]bool, s.rows*s.cols), cock: make([]int8, s.rows), hen: make([]int8, s.cols),
		over: make([]float64, len(s.p.Limits)), under: make([]float64, len(s.p.Limits)),
		at: make([]float64, s.rows+s.cols), mean: newAverage(s), bound: math.Inf(1),
	}
	for i := range s.rows {
		for j := range s.cols {
			n.no[i*s.cols+j] = s.no[i][j]
		}
	}
	for _, c := range distinct(s.p.Locked) {
		n.in = append(n.in, c)
		n.cock[c.Cock], n.hen[c.Hen] = used, used
	}
	for i := range s.rows {
		n.at[i] = float64(s.k) / float64(max(1, s.rows))
	}
	for j := range s.cols {
		n.at[s.rows+j] = float64(s.k) / float64(max(1, s.cols))
	}
	return n
}

func (n *node) child() *node {
	c := *n
	c.no, c.cock, c.hen, c.in = slices.Clone(n.no), slices.Clone(n.cock), slices.Clone(n.hen), slices.Clone(n.in)
	c.over, c.under, c.at, c.mean = slices.Clone(n.over), slices.Clone(n.under), slices.Clone(n.at), n.mean.clone()
	c.depth++
	return &c
}

// force makes a pair in a node.
func (n *node) force(c Pair, rows, cols int) {
	for j := range cols {
		if j != c.Hen {
			n.no[c.Cock*cols+j] = true
		}
	}
	for i := range rows {
		if i != c.Cock {
			n.no[i*cols+c.Hen] = true
		}
	}
	n.in = append(n.in, c)
	n.cock[c.Cock], n.hen[c.Hen] = used, used
}

// nodes is a heap, the greatest bound first, then the deepest.
type nodes []*node

func (h nodes) Len() int { return len(h) }
func (h nodes) Less(a, b int) bool {
	if h[a].bound != h[b].bound {
		return h[a].bound > h[b].bound
	}
	return h[a].depth > h[b].depth
}
func (h nodes) Swap(a, b int) { h[a], h[b] = h[b], h[a] }
func (h *nodes) Push(x any)   { *h = append(*h, x.(*node)) }
func (h *nodes) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}

// Rounds of bounding: many at the root, where the prices are found, few further down. Of
// the numbers tried, these settle 60 by 60 with colour and sib limits soonest.
const (
	rootRounds  = 200
	childRounds = 25
)

func (s *search) run(ctx context.Context) error {
	if !s.possible {
		s.bound, s.ended = math.Inf(-1), true
		return nil
	}
	s.table = flatSolver(s.side)
	s.cost = s.table.c
	root := s.root()
	if err := s.evaluate(ctx, root, rootRounds); err != nil {
		return err
	}
	tree := &nodes{root}
	for tree.Len() > 0 {
		if err := ctx.Err(); err != nil {
			return err
		}
		top := (*tree)[0]
		if s.closed(top.bound) {
			break
		}
		if s.solved >= s.budget || s.any && s.found != nil {
			s.bound = top.bound
			return nil
		}
		heap.Pop(tree)
		if top.terminal {
			continue
		}
		for _, c := range s.branch(top) {
			if err := s.evaluate(ctx, c, childRounds); err != nil {
				return err
			}
			if !s.closed(c.bound) {
				heap.Push(tree, c)
			}
		}
	}
	s.ended = true
	s.bound = s.value
	if s.found != nil && s.gap > 0 {
		s.bound += s.gap // what was cut off lies within it
	}
	return nil
}

// closed reports whether nothing better than what was found can have such a bound.
func (s *search) closed(bound float64) bool {
	if math.IsInf(bound, -1) {
		return true
	}
	if s.found == nil {
		return bound < s.floor // only a part without any plan is worth so little
	}
	if s.whole {
		bound = math.Floor(bound + whole)
	}
	return bound <= s.value+s.gap+s.slack()
}

// slack is what rounding may do to a value.
func (s *search) slack() float64 {
	return 1e-9 * max(1, math.Abs(s.value))
}

// branch splits a node in two.
func (s *search) branch(n *node) []*node {
	yes, not := n.child(), n.child()
	switch {
	case n.byCock >= 0:
		yes.cock[n.byCock], not.cock[n.byCock] = used, unused
	case n.byHen >= 0:
		yes.hen[n.byHen], not.hen[n.byHen] = used, unused
	default:
		yes.force(n.cell, s.rows, s.cols)
		not.no[n.cell.Cock*s.cols+n.cell.Hen] = true
	}
	return []*node{yes, not}
}

// evaluate bounds a node, offers the plans that it meets on the way, takes out what cannot
// be in a better plan, and says what to branch on.
//
// Each round solves the assignment whose cells hold the worth less all prices. With the
// prices of the ends added its value is a bound, whatever the prices are. They move
// against what the assignment breaks, by Polyak's step; the tangent moves towards it as
// far as that gains (Frank and Wolfe).
func (s *search) evaluate(ctx context.Context, n *node, rounds int) error {
	p, limits := s.p, s.p.Limits
	s.visited++
	pull := make([]float64, s.rows+s.cols) // what a bird's share in the next generation costs
	at, mean := n.at, n.mean
	s.settle(n)
	ky := s.product(at)
	best, before, since, theta := math.Inf(1), math.Inf(1), 0, 1.0
	var over, under []float64
	var related float64
	slope, sums := make([]float64, len(limits)), make([]float64, len(limits))
	column := make([]int, s.rows)
	priced := make([]float64, s.rows*s.cols)
	for t := range rounds {
		if s.solved >= s.budget && t > 0 {
			break
		}
		if t%16 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		price := p.Price + n.related
		offset := 0.0
		for l, x := range limits {
			if n.over[l] > 0 {
				offset += n.over[l] * x.Most
			}
			if n.under[l] > 0 {
				offset -= n.under[l] * x.Least
			}
		}
		if s.quadratic > 0 {
			half := 0.0
			for i := range pull {
				pull[i] = price * 2 * s.quadratic * ky[i]
				half += at[i] * ky[i]
			}
			offset += price * s.quadratic * half
		}
		offset += n.related * p.Most
		s.fill(n, price, pull, priced)
		ok := s.table.solve()
		s.solved++
		if !ok {
			n.bound = math.Inf(-1)
			return nil
		}
		sum := 0.0
		for i := range s.rows {
			column[i] = Single
			if j := int(s.table.column[i]); j < s.cols {
				column[i] = j
				sum += priced[i*s.cols+j]
			}
		}
		bound := sum + offset
		improved := bound < best-1e-9*max(1, math.Abs(bound))
		if bound < best {
			best = bound
			over, under, related = slices.Clone(n.over), slices.Clone(n.under), n.related
			n.bound = min(n.bound, bound)
		}
		s.consider(column, rounds == rootRounds && t%16 == 0 || t == 0 && s.visited%8 == 0)
		if s.closed(n.bound) {
			return nil
		}
		s.reduce(n, bound)
		if t%5 == 4 && rounds == childRounds && s.found != nil {
			if before-best < 0.05*(best-s.value) {
				break // splitting gains more
			}
			before = best
		}
		if improved {
			since = 0
		} else if since++; since%8 == 0 {
			theta /= 2
		}
		linear, kin := s.sum(column, sums)
		quiet := s.quadratic == 0 || price == 0
		// The tangent, and the mean of the assignments with it.
		step := 1.0 // the first assignment of all is the mean of itself
		switch {
		case !mean.begun:
		case quiet:
			step = max(0.1, 1/float64(t+1))
		default:
			d, dkd, gain := s.direction(column, at, ky, pull)
			gain += (linear - mean.linear) - price*(kin-mean.kin)
			for l := range limits {
				gain -= (n.over[l] - n.under[l]) * (sums[l] - mean.sums[l])
			}
			curve := 2 * price * s.quadratic * dkd
			still := 1e-12 * max(1, math.Abs(bound))
			switch {
			case gain > still && curve > 0:
				step = min(1, gain/curve)
			case math.Abs(gain) <= still || n.settled:
				quiet, step = true, 0
			default:
				step = 2 / float64(t+2) // the mean lies outside of what the node allows
			}
			for i := range at {
				at[i] += step * d[i]
			}
		}
		if !mean.begun {
			copy(at, s.uses(column))
		}
		s.productTo(ky, at)
		mean.move(s, column, linear, kin, sums, step)
		// The prices.
		norm := 0.0
		for l, x := range limits {
			slope[l] = 0
			switch {
			case sums[l] > x.Most:
				slope[l] = sums[l] - x.Most
			case sums[l] < x.Least:
				slope[l] = sums[l] - x.Least
			case n.over[l] > 0:
				slope[l] = sums[l] - x.Most
			case n.under[l] > 0:
				slope[l] = sums[l] - x.Least
			}
			norm += slope[l] * slope[l]
		}
		above := 0.0
		if p.Most > 0 {
			above = s.tangent(column, at, ky) - p.Most
			if n.related == 0 && above < 0 {
				above = 0
			}
			norm += above * above * s.scale() * s.scale()
		}
		if norm == 0 {
			if quiet {
				break // nothing would change
			}
			continue
		}
		target := s.value
		if s.found == nil {
			target = s.floor
		}
		stride := theta * max(bound-target, 1e-9*max(1, math.Abs(bound))) / norm
		for l, x := range limits {
			dearest := math.Inf(1)
			if x.Price > 0 {
				dearest = x.Price
			}
			if slope[l] == 0 {
				continue
			}
			// One end at a time has a price: what takes one below 0 goes to the other.
			u := n.over[l] - n.under[l] + stride*slope[l]
			n.over[l], n.under[l] = min(max(u, 0), dearest), min(max(-u, 0), dearest)
			if math.IsInf(x.Most, 1) {
				n.over[l] = 0
			}
			if math.IsInf(x.Least, -1) {
				n.under[l] = 0
			}
		}
		if above != 0 {
			n.related = max(0, n.related+stride*above*s.scale()*s.scale())
		}
		if theta < 1e-3 {
			break
		}
	}
	if over != nil {
		n.over, n.under, n.related = over, under, related
	}
	s.choose(n, mean, column)
	return nil
}

// settle puts the tangent where it belongs once it is decided which birds are paired: there
// it is exact.
func (s *search) settle(n *node) {
	n.settled = !slices.Contains(n.cock, open_) && !slices.Contains(n.hen, open_)
	if !n.settled {
		return
	}
	for i, x := range n.cock {
		n.at[i] = 0
		if x == used {
			n.at[i] = 1
		}
	}
	for j, x := range n.hen {
		n.at[s.rows+j] = 0
		if x == used {
			n.at[s.rows+j] = 1
		}
	}
}

// scale makes relatedness, which is small, count in steps as worth does.
func (s *search) scale() float64 { return 10 * float64(max(1, s.k)) }

// fill writes the costs of a round's assignment; priced keeps the worth less prices.
func (s *search) fill(n *node, price float64, pull, priced []float64) {
	p, inf := s.p, math.Inf(1)
	for i := range s.rows {
		line := s.cost[i*s.side : (i+1)*s.side]
		for j := range s.cols {
			c := i*s.cols + j
			if n.no[c] || n.cock[i] == unused || n.hen[j] == unused {
				line[j] = inf
				continue
			}
			w := p.Worth[i][j] - pull[i] - pull[s.rows+j]
			if s.linear > 0 {
				w -= price * s.linear * p.Kinship[i][s.rows+j]
			}
			for l := range p.Limits {
				if u := n.over[l] - n.under[l]; u != 0 {
					w -= u * p.Limits[l].Amount[i][j]
				}
			}
			priced[c] = w
			line[j] = -w
		}
		single := 0.0
		if n.cock[i] == used {
			single = inf
		}
		for j := s.cols; j < s.side; j++ {
			line[j] = single
		}
	}
	for i := s.rows; i < s.side; i++ {
		line := s.cost[i*s.side : (i+1)*s.side]
		for j := range s.cols {
			line[j] = 0
			if n.hen[j] == used {
				line[j] = inf
			}
		}
		rest := inf
		if s.free {
			rest = 0
		}
		for j := s.cols; j < s.side; j++ {
			line[j] = rest
		}
	}
}

// reduce takes out of a node what its prices prove to be in no better plan.
func (s *search) reduce(n *node, bound float64) {
	if s.found == nil {
		return
	}
	least := s.value + s.gap + s.slack()
	if s.whole {
		least = s.value + 1 - whole
	}
	u, v := s.table.u, s.table.v
	for i := range s.rows {
		line := s.cost[i*s.side : (i+1)*s.side]
		for j := range s.cols {
			if bound-(line[j]-u[i]-v[j]) <= least && int(s.table.column[i]) != j {
				n.no[i*s.cols+j] = true
			}
		}
	}
}

// product returns K y.
func (s *search) product(y []float64) []float64 {
	out := make([]float64, len(y))
	s.productTo(out, y)
	return out
}

func (s *search) productTo(out, y []float64) {
	if s.quadratic == 0 {
		return
	}
	for i := range out {
		sum := 0.0
		for j, x := range s.p.Kinship[i] {
			sum += x * y[j]
		}
		out[i] = sum
	}
}

// sum adds up worth, a pair's own kinship and the limits over an assignment. The kinship
// carries its share in relatedness.
func (s *search) sum(column []int, limits []float64) (worth, kin float64) {
	clear(limits)
	for i, j := range column {
		if j == Single {
			continue
		}
		worth += s.p.Worth[i][j]
		if s.linear > 0 {
			kin += s.linear * s.p.Kinship[i][s.rows+j]
		}
		for l := range limits {
			limits[l] += s.p.Limits[l].Amount[i][j]
		}
	}
	return worth, kin
}

// uses returns by bird whether an assignment pairs it.
func (s *search) uses(column []int) []float64 {
	y := make([]float64, s.rows+s.cols)
	for i, j := range column {
		if j != Single {
			y[i], y[s.rows+j] = 1, 1
		}
	}
	return y
}

// direction returns the way from the tangent's point to an assignment, its square in K,
// and what the tangent loses along it.
func (s *search) direction(column []int, at, ky, pull []float64) (d []float64, dkd, gain float64) {
	d = s.uses(column)
	for i := range d {
		d[i] -= at[i]
		gain -= pull[i] * d[i]
	}
	kd := s.product(d)
	for i := range d {
		dkd += d[i] * kd[i]
	}
	return d, dkd, gain
}

// tangent is the relatedness of an assignment as the tangent has it, never above the true one.
func (s *search) tangent(column []int, at, ky []float64) float64 {
	r := 0.0
	for i, j := range column {
		if j != Single {
			if s.quadratic > 0 {
				r += 2 * s.quadratic * (ky[i] + ky[s.rows+j])
			}
			if s.linear > 0 {
				r += s.linear * s.p.Kinship[i][s.rows+j]
			}
		}
	}
	if s.quadratic > 0 {
		for i := range at {
			r -= s.quadratic * at[i] * ky[i]
		}
	}
	return r
}

// average is the mean of the assignments met, by cell and in sum.
type average struct {
	cells       []float64
	linear, kin float64
	sums        []float64
	begun       bool
}

func newAverage(s *search) *average {
	return &average{cells: make([]float64, s.rows*s.cols), sums: make([]float64, len(s.p.Limits))}
}

func (a *average) clone() *average {
	c := *a
	c.cells, c.sums = slices.Clone(a.cells), slices.Clone(a.sums)
	return &c
}

func (a *average) move(s *search, column []int, linear, kin float64, sums []float64, step float64) {
	a.begun = true
	for i := range a.cells {
		a.cells[i] *= 1 - step
	}
	for i, j := range column {
		if j != Single {
			a.cells[i*s.cols+j] += step
		}
	}
	a.linear += step * (linear - a.linear)
	a.kin += step * (kin - a.kin)
	for l := range sums {
		a.sums[l] += step * (sums[l] - a.sums[l])
	}
}

// choose says what a node is to be split on: a bird that is half in, where it matters who
// is paired at all; else a cell that is half in; else any cell of the last assignment
// that is not decided.
func (s *search) choose(n *node, mean *average, column []int) {
	n.byCock, n.byHen = -1, -1
	half := func(x float64) float64 { return math.Abs(x - 0.5) }
	if s.quadratic > 0 || s.k < min(s.rows, s.cols) {
		near := 0.45 // from a half: nearer the ends it is as good as settled
		if s.quadratic > 0 {
			near = 1 // once all birds are, the mean kinship is
		}
		for i := range s.rows {
			x := 0.0
			for j := range s.cols {
				x += mean.cells[i*s.cols+j]
			}
			if d := half(x); n.cock[i] == open_ && d < near {
				near, n.byCock, n.byHen = d, i, -1
			}
		}
		for j := range s.cols {
			x := 0.0
			for i := range s.rows {
				x += mean.cells[i*s.cols+j]
			}
			if d := half(x); n.hen[j] == open_ && d < near {
				near, n.byCock, n.byHen = d, -1, j
			}
		}
		if n.byCock >= 0 || n.byHen >= 0 {
			return
		}
	}
	near, at := math.Inf(1), -1
	for c, x := range mean.cells {
		pair := Pair{c / s.cols, c % s.cols}
		if n.no[c] || n.cock[pair.Cock] == unused || n.hen[pair.Hen] == unused || slices.Contains(n.in, pair) {
			continue
		}
		if x < 0.001 && column[pair.Cock] != pair.Hen {
			x = 2 // not met at all: the last resort
		}
		if d := half(x); d < near {
			near, at = d, c
		}
	}
	if at < 0 || !s.free && len(n.in) == s.k {
		n.terminal = true // all is decided, and what there is was offered
		return
	}
	n.cell = Pair{at / s.cols, at % s.cols}
}

// consider offers an assignment, and what a little exchange makes of it.
func (s *search) consider(column []int, exchange bool) {
	s.offerColumn(column)
	if exchange && !s.free {
		if better := s.local.improve(column); better != nil {
			s.offerColumn(better)
		}
	}
}

func (s *search) offer(pairs []Pair) {
	column := make([]int, s.rows)
	for i := range column {
		column[i] = Single
	}
	for _, c := range pairs {
		column[c.Cock] = c.Hen
	}
	s.offerColumn(column)
}

// offerColumn keeps an assignment that is allowed and better than the best so far.
func (s *search) offerColumn(column []int) {
	v, ok := s.worth(column)
	if ok && (s.found == nil || v > s.value) {
		s.found, s.value = slices.Clone(column), v
	}
}

// worth is the value of an assignment, and whether it keeps the hard limits.
func (s *search) worth(column []int) (value float64, ok bool) {
	sums := make([]float64, len(s.p.Limits))
	worth, _ := s.sum(column, sums)
	ok = true
	for l, x := range s.p.Limits {
		off := max(0, max(sums[l]-x.Most, x.Least-sums[l]))
		if x.Price == 0 && off > loose(x) {
			ok = false
		}
		worth -= x.Price * off
	}
	related, _, _ := s.related(column)
	if s.p.Most > 0 && !s.free && related > s.p.Most+1e-12 {
		ok = false
	}
	return worth - s.p.Price*related, ok
}

// loose is how far a sum may pass the end of a limit by rounding.
func loose(l Limit) float64 {
	size := 1.0
	for _, x := range []float64{l.Least, l.Most} {
		if !math.IsInf(x, 0) {
			size = max(size, math.Abs(x))
		}
	}
	return 1e-9 * size
}

// related is the relatedness of an assignment and its two parts.
func (s *search) related(column []int) (related, next, inbreeding float64) {
	k := 0
	for _, j := range column {
		if j != Single {
			k++
		}
	}
	if s.p.Kinship == nil || k == 0 {
		return 0, 0, 0
	}
	var birds []int
	for i, j := range column {
		if j != Single {
			birds = append(birds, i, s.rows+j)
			inbreeding += s.p.Kinship[i][s.rows+j] / float64(k)
		}
	}
	for _, a := range birds {
		for _, b := range birds {
			next += s.p.Kinship[a][b]
		}
	}
	next /= 4 * float64(k) * float64(k)
	return s.p.Mix*next + (1-s.p.Mix)*inbreeding, next, inbreeding
}

func (s *search) pairs(column []int) []Pair {
	var out []Pair
	for i, j := range column {
		if j != Single {
			out = append(out, Pair{i, j})
		}
	}
	return out
}

// plan says what was found, out of plans with most pairs at most.
func (s *search) plan(column []int, most int) *Plan {
	out := &Plan{Pairs: s.pairs(column), MostPairs: most, Work: s.solved, Amounts: make([]float64, len(s.p.Limits))}
	if column == nil && s.k > 0 || column == nil && s.free {
		out.Status = NotFound
		if s.ended {
			out.Status = Impossible
		} else {
			out.Bound = s.bound
		}
		return out
	}
	if column == nil {
		column = make([]int, s.rows)
		for i := range column {
			column[i] = Single
		}
	}
	out.Worth, _ = s.sum(column, out.Amounts)
	out.Related, out.Next, out.Inbreeding = s.related(column)
	v, ok := s.worth(column)
	out.Value, out.Bound = v, v
	for l, x := range s.p.Limits {
		out.Fine += x.Price * max(0, max(out.Amounts[l]-x.Most, x.Least-out.Amounts[l]))
	}
	if s.k > 0 || s.free {
		out.Bound = max(v, s.bound)
	} else if !ok {
		out.Status = Impossible
		return out
	}
	if !s.ended && out.Bound > v+s.gap+s.slack() {
		out.Status = Within
	}
	return out
}
