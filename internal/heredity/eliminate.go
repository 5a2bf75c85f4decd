package heredity

import (
	"container/heap"
	"math"
	"math/rand/v2"
	"slices"
)

// A tree is a plan for eliminating variables one after another. The table of position i
// is over the variables that the message of position i is about, and the variable
// eliminated there, which runs fastest.
type tree struct {
	order   []int32
	sep     [][]int32 // variables of each message, in the order of elimination
	parent  []int     // position that takes the message, or -1
	factors [][]int32 // tables taken up at each position
	largest float64   // cells of the largest table
	total   float64   // cells of all of them
	fixed   []int32   // variables held at a value instead of being eliminated
}

// graph is the graph of a set of variables: two are neighbours if a table holds both.
type graph struct {
	adj    [][]int32
	weight []float64 // log of the number of open states
	mark   []int32
	stamp  int32
}

func (n *network) graph(vars []int32, at []int32) *graph {
	g := &graph{adj: make([][]int32, len(vars)), weight: make([]float64, len(vars)), mark: make([]int32, len(vars))}
	for i, v := range vars {
		g.weight[i] = math.Log(float64(len(n.dom[v])))
	}
	for i, v := range vars {
		g.stamp++
		g.mark[i] = g.stamp
		for _, f := range n.of[v] {
			if !n.within(f, at) {
				continue
			}
			for _, w := range n.factors[f].vars {
				if j := at[w]; j >= 0 && g.mark[j] != g.stamp {
					g.mark[j] = g.stamp
					g.adj[i] = append(g.adj[i], j)
				}
			}
		}
	}
	return g
}

// within reports whether every open variable of a factor is among those marked in at.
// A factor that reaches beyond them belongs to variables without evidence that were put
// aside, and adds up to 1.
func (n *network) within(f int32, at []int32) bool {
	for _, w := range n.factors[f].vars {
		if at[w] < 0 && len(n.dom[w]) > 1 {
			return false
		}
	}
	return true
}

// cost is the log of the number of cells that eliminating v takes.
func (g *graph) cost(v int32) float64 {
	c := g.weight[v]
	for _, w := range g.adj[v] {
		c += g.weight[w]
	}
	return c
}

// fill is how many pairs of neighbours of v are not neighbours of each other.
func (g *graph) fill(v int32) int {
	n := len(g.adj[v])
	missing := n * (n - 1) / 2
	for _, a := range g.adj[v] {
		g.stamp++
		for _, b := range g.adj[a] {
			g.mark[b] = g.stamp
		}
		for _, b := range g.adj[v] {
			if b > a && g.mark[b] == g.stamp {
				missing--
			}
		}
	}
	return missing
}

// eliminate makes the neighbours of v neighbours of each other and takes v out.
func (g *graph) eliminate(v int32) {
	for _, a := range g.adj[v] {
		g.stamp++
		g.mark[a] = g.stamp
		k := 0
		for _, b := range g.adj[a] {
			g.mark[b] = g.stamp
			if b != v {
				g.adj[a][k] = b
				k++
			}
		}
		g.adj[a] = g.adj[a][:k]
		for _, b := range g.adj[v] {
			if g.mark[b] != g.stamp {
				g.adj[a] = append(g.adj[a], b)
			}
		}
	}
}

// remove takes v out without joining its neighbours.
func (g *graph) remove(v int32) {
	for _, a := range g.adj[v] {
		i := slices.Index(g.adj[a], v)
		last := len(g.adj[a]) - 1
		g.adj[a][i] = g.adj[a][last]
		g.adj[a] = g.adj[a][:last]
	}
}

type entry struct {
	v         int32
	key, next float64
}

type entries []entry

func (e entries) Len() int { return len(e) }
func (e entries) Less(i, j int) bool {
	if e[i].key != e[j].key {
		return e[i].key < e[j].key
	}
	if e[i].next != e[j].next {
		return e[i].next < e[j].next
	}
	return e[i].v < e[j].v
}
func (e entries) Swap(i, j int) { e[i], e[j] = e[j], e[i] }
func (e *entries) Push(x any)   { *e = append(*e, x.(entry)) }
func (e *entries) Pop() any {
	last := len(*e) - 1
	x := (*e)[last]
	*e = (*e)[:last]
	return x
}

// plan orders the elimination of a connected set of variables greedily: by the smallest
// table, or if byFill by the fewest pairs joined. Where a table would pass limit (log of
// cells), a variable is held fixed instead, chosen with the help of rng, rather one that
// has been drawn often; without rng there is no limit.
func (n *network) plan(vars []int32, byFill bool, limit float64, rng *rand.Rand, drawn []int) *tree {
	at := make([]int32, len(n.dom))
	for i := range at {
		at[i] = -1
	}
	for i, v := range vars {
		at[v] = int32(i)
	}
	g := n.graph(vars, at)
	t := &tree{}
	position := make([]int, len(vars))
	gone := make([]bool, len(vars))
	noise := make([]float64, len(vars))
	if rng != nil {
		for i := range noise {
			noise[i] = rng.Float64()
		}
	}
	key := func(v int32) entry {
		if byFill {
			return entry{v, float64(g.fill(v)), g.cost(v) + noise[v]}
		}
		return entry{v, g.cost(v), noise[v]}
	}
	q := make(entries, len(vars))
	for i := range vars {
		q[i] = key(int32(i))
	}
	heap.Init(&q)
	for q.Len() > 0 {
		e := heap.Pop(&q).(entry)
		if gone[e.v] {
			continue
		}
		if now := key(e.v); now != e {
			heap.Push(&q, now)
			continue
		}
		if c := g.cost(e.v); rng != nil && c > limit {
			// Hold the neighbour with most neighbours of its own, or one near it, but let
			// all have their turn.
			best, most := e.v, -1.0
			for _, w := range append(slices.Clone(g.adj[e.v]), e.v) {
				d := float64(len(g.adj[w])) * (0.5 + rng.Float64()) * float64(1+drawn[vars[w]]*drawn[vars[w]])
				if d > most {
					best, most = w, d
				}
			}
			around := slices.Clone(g.adj[best])
			g.remove(best)
			gone[best] = true
			t.fixed = append(t.fixed, vars[best])
			for _, w := range around {
				heap.Push(&q, key(w))
			}
			if best != e.v {
				heap.Push(&q, key(e.v))
			}
			continue
		}
		c := math.Exp(g.cost(e.v))
		t.largest, t.total = max(t.largest, c), t.total+c
		position[e.v] = len(t.order)
		gone[e.v] = true
		t.order = append(t.order, vars[e.v])
		t.sep = append(t.sep, slices.Clone(g.adj[e.v]))
		g.eliminate(e.v)
		if len(t.sep[len(t.sep)-1]) < 40 || !byFill { // the rest is found out when popped
			for _, w := range t.sep[len(t.sep)-1] {
				heap.Push(&q, key(w))
			}
		}
	}
	t.parent = make([]int, len(t.order))
	t.factors = make([][]int32, len(t.order))
	held := make([]bool, len(n.dom))
	for _, v := range t.fixed {
		held[v] = true
	}
	for i := range t.sep {
		// What is held after a neighbour was eliminated is no part of its message.
		t.sep[i] = slices.DeleteFunc(t.sep[i], func(w int32) bool { return held[vars[w]] })
		sep := t.sep[i]
		slices.SortFunc(sep, func(a, b int32) int { return position[a] - position[b] })
		t.parent[i] = -1
		if len(sep) > 0 {
			t.parent[i] = position[sep[0]]
		}
		for k, w := range sep {
			sep[k] = vars[w]
		}
	}
	taken := map[int32]bool{}
	for i, v := range t.order {
		for _, f := range n.of[v] {
			if !taken[f] && n.within(f, at) {
				taken[f] = true
				t.factors[i] = append(t.factors[i], f)
			}
		}
	}
	return t
}

// best tries greedy orders until one is cheap, and returns the cheapest.
func (n *network) best(vars []int32, limit float64) *tree {
	const cheap = 100_000 // cells: below this a second order costs more than it saves
	t := n.plan(vars, false, 0, nil, nil)
	if t.total <= cheap {
		return t
	}
	if u := n.plan(vars, true, 0, nil, nil); u.total < t.total {
		t = u
	}
	// Ties broken otherwise find better orders now and then; the seed is fixed so that
	// the answer is the same every time.
	// A plan a thousand times too wide is beyond such luck.
	rng := rand.New(rand.NewPCG(1, 2))
	for try := 0; try < 8 && t.largest < 1000*limit && (t.largest > limit || t.total > 20*cheap); try++ {
		if u := n.plan(vars, try%2 == 0, math.Inf(1), rng, nil); u.total < t.total {
			t = u
		}
	}
	return t
}

// A run is one elimination: tables and messages of each position of a tree.
type run struct {
	n     *network
	t     *tree
	pot   [][]float64
	msg   [][]float64
	logZ  float64
	value []int32 // state index of fixed variables, by variable; nil if none is fixed
	soft  float64 // added to tables' zeros, for finding a start
	only  bool    // work with 0 and 1: what is possible at all
	dead  int     // position whose table is all 0, or -1

	dims []int
	off  [][]int32
	cnt  []int
	at   []int32 // dimension of each variable in the table being made, or -1
}

func newRun(n *network, t *tree) *run {
	r := &run{n: n, t: t, at: make([]int32, len(n.dom)), dead: -1}
	for i := range r.at {
		r.at[i] = -1
	}
	r.pot, r.msg = make([][]float64, len(t.order)), make([][]float64, len(t.order))
	cells := 0
	for i, v := range t.order {
		cells += r.cells(i) + r.cells(i)/len(n.dom[v])
	}
	slab := make([]float64, cells)
	for i, v := range t.order {
		c := r.cells(i)
		m := c / len(n.dom[v])
		r.pot[i], r.msg[i], slab = slab[:c:c], slab[c:c+m:c+m], slab[c+m:]
	}
	return r
}

func (r *run) cells(i int) int {
	c := len(r.n.dom[r.t.order[i]])
	for _, w := range r.t.sep[i] {
		c *= len(r.n.dom[w])
	}
	return c
}

// enter sets up the dimensions of the table of a position.
func (r *run) enter(i int) {
	for _, w := range r.t.sep[i] {
		r.at[w] = int32(len(r.dims))
		r.dims = append(r.dims, len(r.n.dom[w]))
	}
	v := r.t.order[i]
	r.at[v] = int32(len(r.dims))
	r.dims = append(r.dims, len(r.n.dom[v]))
	for len(r.off) < len(r.dims) {
		r.off = append(r.off, nil)
		r.cnt = append(r.cnt, 0)
	}
}

func (r *run) leave(i int) {
	for _, w := range r.t.sep[i] {
		r.at[w] = -1
	}
	r.at[r.t.order[i]] = -1
	r.dims = r.dims[:0]
}

// walk calls each with runs of cells along the last dimension: first the position in the
// table of the present position, then that in a table reached by offsets off from base.
func (r *run) walk(base int32, each func(p int, q int32, last []int32)) {
	k := len(r.dims)
	q := base
	for d := range k - 1 {
		r.cnt[d] = 0
		if r.off[d] != nil {
			q += r.off[d][0]
		}
	}
	for p := 0; ; p += r.dims[k-1] {
		each(p, q, r.off[k-1])
		d := k - 2
		for ; d >= 0; d-- {
			o := r.off[d]
			r.cnt[d]++
			if r.cnt[d] < r.dims[d] {
				if o != nil {
					q += o[r.cnt[d]] - o[r.cnt[d]-1]
				}
				break
			}
			if o != nil {
				q += o[0] - o[r.dims[d]-1]
			}
			r.cnt[d] = 0
		}
		if d < 0 {
			return
		}
	}
}

// multiply multiplies a factor into a table whose dimensions have been entered.
func (r *run) multiply(pot []float64, f *factor) {
	for d := range r.dims {
		r.off[d] = nil
	}
	base, stride := int32(0), int32(1)
	for i := len(f.vars) - 1; i >= 0; i-- {
		v := f.vars[i]
		dom := r.n.dom[v]
		switch d := r.at[v]; {
		case d >= 0:
			o := make([]int32, len(dom))
			for j, s := range dom {
				o[j] = s * stride
			}
			r.off[d] = o
		case len(dom) == 1:
			base += dom[0] * stride
		default:
			base += dom[r.value[v]] * stride
		}
		stride *= int32(r.n.size[v])
	}
	tab, soft := f.tab, r.soft
	r.walk(base, func(p int, q int32, last []int32) {
		n := r.dims[len(r.dims)-1]
		row := pot[p : p+n]
		if last == nil {
			x := tab[q] + soft
			for j := range row {
				row[j] *= x
			}
			return
		}
		for j := range row {
			row[j] *= tab[q+last[j]] + soft
		}
	})
}

// message lays a message of position j, over sep of j, along the entered dimensions and
// calls each with runs of cells as walk does.
func (r *run) message(j int, each func(p int, q int32, last []int32)) {
	for d := range r.dims {
		r.off[d] = nil
	}
	stride := int32(1)
	sep := r.t.sep[j]
	for i := len(sep) - 1; i >= 0; i-- {
		n := len(r.n.dom[sep[i]])
		o := make([]int32, n)
		for k := range o {
			o[k] = int32(k) * stride
		}
		r.off[r.at[sep[i]]] = o
		stride *= int32(n)
	}
	r.walk(0, each)
}

// up eliminates every variable. It reports whether anything is possible.
func (r *run) up() bool {
	r.logZ, r.dead = 0, -1
	children := make([][]int32, len(r.t.order))
	for i, p := range r.t.parent {
		if p >= 0 {
			children[p] = append(children[p], int32(i))
		}
	}
	for i, v := range r.t.order {
		r.enter(i)
		pot := r.pot[i]
		dom := r.n.dom[v]
		u := r.n.unary[v]
		for p := 0; p < len(pot); p += len(dom) {
			for j, s := range dom {
				pot[p+j] = 1
				if u != nil {
					pot[p+j] = u[s]
				}
			}
		}
		mults := 0
		for _, f := range r.t.factors[i] {
			r.multiply(pot, &r.n.factors[f])
			mults++
		}
		for _, c := range children[i] {
			msg := r.msg[c]
			r.message(int(c), func(p int, q int32, last []int32) {
				n := r.dims[len(r.dims)-1]
				for j := range n {
					k := q
					if last != nil {
						k += last[j]
					}
					pot[p+j] *= msg[k]
				}
			})
			// Each message is at most 1: eight at a time cannot underflow unless they
			// disagree beyond all measure.
			if mults++; mults%8 == 0 {
				r.logZ += rescale(pot)
			}
		}
		r.leave(i)
		msg := r.msg[i]
		n := len(dom)
		for k := range msg {
			sum := 0.0
			for _, x := range pot[k*n : k*n+n] {
				sum += x
			}
			if r.only && sum > 0 {
				sum = 1
			}
			msg[k] = sum
		}
		if r.only {
			if !slices.ContainsFunc(msg, positive) {
				r.dead = i
				return false
			}
			continue
		}
		scale := slices.Max(msg)
		if scale == 0 {
			r.dead = i
			return false
		}
		for k := range msg {
			msg[k] /= scale
		}
		for k := range pot {
			pot[k] /= scale
		}
		r.logZ += math.Log(scale)
	}
	return true
}

// rescale divides by the largest cell and returns its log; a table of zeros stays.
func rescale(x []float64) float64 {
	m := slices.Max(x)
	if m == 0 {
		return 0
	}
	for i := range x {
		x[i] /= m
	}
	return math.Log(m)
}

// down turns the tables of an upward run into joint distributions, each up to a factor.
func (r *run) down() {
	for i := len(r.t.order) - 1; i >= 0; i-- {
		p := r.t.parent[i]
		if p < 0 {
			normalise(r.pot[i])
			continue
		}
		ratio := make([]float64, len(r.msg[i]))
		pot := r.pot[p]
		r.enter(p)
		r.message(i, func(p int, q int32, last []int32) {
			n := r.dims[len(r.dims)-1]
			for j := range n {
				k := q
				if last != nil {
					k += last[j]
				}
				ratio[k] += pot[p+j]
			}
		})
		r.leave(p)
		n := len(r.n.dom[r.t.order[i]])
		for k, m := range r.msg[i] {
			x := 0.0
			if m > 0 {
				x = ratio[k] / m
			}
			for j := range n {
				r.pot[i][k*n+j] *= x
			}
		}
		normalise(r.pot[i])
	}
}

// marginal adds to dst, by open state, the distribution of the variable of a position.
func (r *run) marginal(i int, dst []float64) {
	n := len(dst)
	for k, x := range r.pot[i] {
		dst[k%n] += x
	}
}

// sample draws the variables from the last to the first, after up, into value.
func (r *run) sample(rng *rand.Rand) {
	for i := len(r.t.order) - 1; i >= 0; i-- {
		base := 0
		for _, w := range r.t.sep[i] {
			base = base*len(r.n.dom[w]) + int(r.value[w])
		}
		n := len(r.n.dom[r.t.order[i]])
		row := r.pot[i][base*n : base*n+n]
		sum := 0.0
		for _, x := range row {
			sum += x
		}
		u := rng.Float64() * sum
		pick := 0
		for j, x := range row {
			if x > 0 {
				pick = j
				if u -= x; u < 0 {
					break
				}
			}
		}
		r.value[r.t.order[i]] = int32(pick)
	}
}
