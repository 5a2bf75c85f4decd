package pedigree

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// family is the young of one pair; they share the kinship of their parents.
type family struct {
	sire, dam int32 // nodes
	first     int32 // its young are kids[first:] up to the next family's first
	state     familyState
	k         float64 // kinship of the two
}

type familyState uint8

const (
	waiting familyState = iota
	ready               // all that the kinship rests on is known
	fresh               // worked out in this wave
	done
)

// filler works out the kinship of all pairs that have young, and the model's d.
//
// The kinship of a pair is e_s' T D T' e_d. For one sire, x = T'e_s goes back from
// the young to the old, and T D x comes forward again and holds his kinship with
// every hen (Colleau 2002; one sire's line followed once for all his hens is
// Sargolzaei, Iwaisaki and Colleau 2005). D of a bird needs the inbreeding of its
// parents, so families are done in waves: a family is ready when D is known for
// both parents and so for all their ancestors.
type filler struct {
	m        *model
	families []family // by sire, then dam
	kids     []int32  // places, by family
	bySire   []int32  // families of sire node i are bySire[i] to bySire[i+1]
	byDam    []int32  // families of dam node i are damFams[byDam[i]:byDam[i+1]]
	damFams  []int32

	firstYoung []int32 // nodes among a node's young are young[firstYoung[i]:firstYoung[i+1]]
	young      []int32
	need       []uint8   // parents of a node that are not settled
	hasD       []bool    // D of the node and of all its ancestors is known
	hasSelf    []bool    // kinship of the node with itself is known
	self       []float64 // by node
	open       []int32   // by sire: families not done
	isReady    []int32   // by sire: families ready
	waitingFor int       // families not done in all
}

// fill works out m.parentsK and m.d, or stops early with the context's error.
func (m *model) fill(ctx context.Context, progress func(share float64)) error {
	f := &filler{m: m}
	f.findFamilies()
	f.findYoung()
	f.start()
	for f.waitingFor > 0 {
		if err := f.wave(ctx); err != nil {
			return err
		}
		progress(1 - float64(f.waitingFor)/float64(len(f.families)))
	}
	for i, fam := range f.families {
		for _, kid := range f.kidsOf(i) {
			m.parentsK[kid] = fam.k
		}
	}
	m.self = f.self
	return nil
}

func (f *filler) kidsOf(i int) []int32 {
	end := int32(len(f.kids))
	if i+1 < len(f.families) {
		end = f.families[i+1].first
	}
	return f.kids[f.families[i].first:end]
}

// findFamilies sorts the birds with two parents into families.
func (f *filler) findFamilies() {
	m := f.m
	start := make([]int32, len(m.nodes)+1)
	for i := range m.node {
		if from := m.from(int32(i)); from.sire >= 0 && from.dam >= 0 {
			start[from.sire+1]++
		}
	}
	for i := range len(m.nodes) {
		start[i+1] += start[i]
	}
	type kid struct{ dam, place int32 }
	kids := make([]kid, start[len(m.nodes)])
	next := slices.Clone(start)
	for i := range m.node {
		if from := m.from(int32(i)); from.sire >= 0 && from.dam >= 0 {
			kids[next[from.sire]] = kid{from.dam, int32(i)}
			next[from.sire]++
		}
	}
	f.kids = make([]int32, len(kids))
	f.bySire = make([]int32, len(m.nodes)+1)
	f.byDam = make([]int32, len(m.nodes)+1)
	for s := range len(m.nodes) {
		f.bySire[s] = int32(len(f.families))
		his := kids[start[s]:start[s+1]]
		slices.SortFunc(his, func(a, b kid) int {
			return cmp.Or(cmp.Compare(a.dam, b.dam), cmp.Compare(a.place, b.place))
		})
		for k, one := range his {
			if k == 0 || his[k-1].dam != one.dam {
				f.families = append(f.families, family{sire: int32(s), dam: one.dam, first: start[s] + int32(k)})
				f.byDam[one.dam+1]++
			}
			f.kids[start[s]+int32(k)] = one.place
		}
	}
	f.bySire[len(m.nodes)] = int32(len(f.families))
	for i := range len(m.nodes) {
		f.byDam[i+1] += f.byDam[i]
	}
	f.damFams = make([]int32, len(f.families))
	next = append(next[:0], f.byDam...)
	for i, fam := range f.families {
		f.damFams[next[fam.dam]] = int32(i)
		next[fam.dam]++
	}
}

// findYoung lists the young of each node that have young themselves.
func (f *filler) findYoung() {
	nodes := f.m.nodes
	f.firstYoung = make([]int32, len(nodes)+1)
	for _, n := range nodes {
		for _, parent := range [2]int32{n.sire, n.dam} {
			if parent >= 0 {
				f.firstYoung[parent+1]++
			}
		}
	}
	for i := range nodes {
		f.firstYoung[i+1] += f.firstYoung[i]
	}
	f.young = make([]int32, f.firstYoung[len(nodes)])
	next := slices.Clone(f.firstYoung)
	for i, n := range nodes {
		for _, parent := range [2]int32{n.sire, n.dam} {
			if parent >= 0 {
				f.young[next[parent]] = int32(i)
				next[parent]++
			}
		}
	}
}

// start settles all that rests on no family.
func (f *filler) start() {
	m := f.m
	n := len(m.nodes)
	f.need, f.hasD, f.hasSelf = make([]uint8, n), make([]bool, n), make([]bool, n)
	f.self = make([]float64, n)
	f.open, f.isReady = make([]int32, n), make([]int32, n)
	for _, fam := range f.families {
		f.open[fam.sire]++
	}
	f.waitingFor = len(f.families)
	for g := range m.groups {
		f.self[g], f.hasSelf[g] = m.groups[g][g], true
	}
	for i := len(m.groups); i < n; i++ {
		from := &m.nodes[i]
		for _, parent := range [2]int32{from.sire, from.dam} {
			if parent >= 0 {
				f.need[i]++
			}
		}
		if from.sire < 0 || from.dam < 0 {
			f.self[i], f.hasSelf[i] = m.chromosome.self(from.sex, 0), true
		}
	}
	var stack []int32
	for i := range n {
		if f.need[i] == 0 && !f.hasD[i] {
			stack = f.reach(append(stack[:0], int32(i)))
		}
	}
}

// reach gives D to the nodes on the stack, whose parents are all settled, and goes
// on to the young that this settles.
func (f *filler) reach(stack []int32) []int32 {
	m := f.m
	for len(stack) > 0 {
		i := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if !f.hasD[i] {
			f.hasD[i] = true
			if int(i) >= len(m.groups) {
				// The kinship of the parents stands on both sides and cancels.
				from := &m.nodes[i]
				m.d[i] = m.chromosome.self(from.sex, 0) - handedDown(from, f.self, 0)
			}
			for k := f.bySire[i]; k < f.bySire[i+1]; k++ {
				f.mayBeReady(k)
			}
			for _, k := range f.damFams[f.byDam[i]:f.byDam[i+1]] {
				f.mayBeReady(k)
			}
		}
		if f.hasSelf[i] {
			for _, y := range f.young[f.firstYoung[i]:f.firstYoung[i+1]] {
				if f.need[y]--; f.need[y] == 0 {
					stack = append(stack, y)
				}
			}
		}
	}
	return stack
}

func (f *filler) mayBeReady(k int32) {
	fam := &f.families[k]
	if fam.state == waiting && f.hasD[fam.sire] && f.hasD[fam.dam] {
		fam.state = ready
		f.isReady[fam.sire]++
	}
}

// enough is how many sires make a wave worth its overhead, one step for each node.
const enough = 8 * lanes

// choose picks the sires of the next wave: those whose families are all ready, so
// that they are followed once. Failing enough of these, all with a ready family.
func (f *filler) choose() []int32 {
	var whole, some []int32
	for s, n := range f.isReady {
		if n == 0 {
			continue
		}
		some = append(some, int32(s))
		if n == f.open[s] {
			whole = append(whole, int32(s))
		}
	}
	if len(whole) >= enough {
		return whole
	}
	return some
}

// wave does the ready families of the chosen sires.
func (f *filler) wave(ctx context.Context) error {
	sires := f.choose()
	// Cocks with the same parents, and half brothers, share most of their line.
	slices.SortFunc(sires, func(a, b int32) int {
		m, n := &f.m.nodes[a], &f.m.nodes[b]
		return cmp.Or(cmp.Compare(m.sire, n.sire), cmp.Compare(m.dam, n.dam), cmp.Compare(a, b))
	})
	v := f.view(sires)
	err := inBatches(ctx, len(sires), func() func(from, to int) {
		w := newWorker(v)
		return func(from, to int) { f.follow(v, sires[from:to], w) }
	})
	if err != nil {
		return err
	}
	var stack []int32
	for _, s := range sires {
		for k := f.bySire[s]; k < f.bySire[s+1]; k++ {
			fam := &f.families[k]
			if fam.state != fresh { // it may have become ready just above
				continue
			}
			fam.state = done
			f.waitingFor--
			f.open[s]--
			f.isReady[s]--
			for _, kid := range f.kidsOf(int(k)) {
				own := f.m.node[kid]
				if own < 0 {
					continue
				}
				f.self[own] = f.m.chromosome.self(f.m.nodes[own].sex, fam.k)
				f.hasSelf[own] = true
				if f.hasD[own] {
					stack = f.reach(append(stack[:0], own))
				}
			}
		}
	}
	return nil
}

// inBatches hands out n lanes, eight at a time, to one worker for each processor.
// Each worker is made by its own call of worker. It stops early with the context's
// error.
func inBatches(ctx context.Context, n int, worker func() func(from, to int)) error {
	batches := (n + lanes - 1) / lanes
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), batches) {
		wait.Go(func() {
			work := worker()
			for {
				b := int(next.Add(1)) - 1
				if b >= batches || ctx.Err() != nil {
					return
				}
				work(b*lanes, min((b+1)*lanes, n))
			}
		})
	}
	wait.Wait()
	return ctx.Err()
}

// view is the part of a pedigree that a wave needs, packed: the sires, their hens,
// and the ancestors of both.
type view struct {
	nodes  []packed
	at     []int32 // by node of the model: its entry in nodes, or 0
	groups [][]float64
}

// packed is a node in a view. Entry 0 is nobody, whose value stays 0, so that a
// missing parent needs no question asked. The groups come next, then the birds.
type packed struct {
	sire, dam int32
	share     shares
	d         float64
}

func (f *filler) view(sires []int32) *view {
	wanted := make([]bool, len(f.m.nodes))
	for _, s := range sires {
		wanted[s] = true
		for k := f.bySire[s]; k < f.bySire[s+1]; k++ {
			if f.families[k].state == ready {
				wanted[f.families[k].dam] = true
			}
		}
	}
	return f.m.view(wanted)
}

// view packs the wanted nodes, their ancestors, and all groups. It marks the
// ancestors as wanted.
func (m *model) view(wanted []bool) *view {
	for g := range m.groups {
		wanted[g] = true
	}
	count := 1
	for i := len(m.nodes) - 1; i >= 0; i-- {
		if !wanted[i] {
			continue
		}
		count++
		for _, parent := range [2]int32{m.nodes[i].sire, m.nodes[i].dam} {
			if parent >= 0 {
				wanted[parent] = true
			}
		}
	}
	v := &view{nodes: make([]packed, 1, count), at: make([]int32, len(m.nodes)), groups: m.groups}
	find := func(parent int32) int32 {
		if parent < 0 {
			return 0
		}
		return v.at[parent]
	}
	for i, w := range wanted {
		if w {
			n := &m.nodes[i]
			v.at[i] = int32(len(v.nodes))
			v.nodes = append(v.nodes, packed{find(n.sire), find(n.dam), n.share, m.d[i]})
		}
	}
	return v
}

// follow works out the ready families of up to eight sires.
func (f *filler) follow(v *view, sires []int32, w *worker) {
	for lane, s := range sires {
		w.start(v.at[s], lane, 1)
		for k := f.bySire[s]; k < f.bySire[s+1]; k++ {
			if fam := &f.families[k]; fam.state == ready {
				w.want(v.at[fam.dam])
			}
		}
	}
	x := w.run()
	for lane, s := range sires {
		for k := f.bySire[s]; k < f.bySire[s+1]; k++ {
			if fam := &f.families[k]; fam.state == ready {
				fam.k, fam.state = x[v.at[fam.dam]][lane], fresh
			}
		}
	}
}

// worker multiplies vectors by the kinship matrix of a view, eight side by side.
type worker struct {
	*view
	x       [][lanes]float64
	marks   []mark // by entry of the view
	behind  []int32
	ahead   []int32
	starts  []startAt
	highest int32
}

// mark says why an entry matters to a run: it is an ancestor of where the vectors
// start, or of what is wanted in the end, or both.
type mark uint8

const (
	started mark = 1 << iota
	wantedAt
)

type startAt struct {
	entry int32
	lane  int
	value float64
}

func newWorker(v *view) *worker {
	n := len(v.nodes)
	return &worker{view: v, x: make([][lanes]float64, n), marks: make([]mark, n), behind: make([]int32, n), ahead: make([]int32, n)}
}

// start adds a value to an entry of the vector in a lane. Entry 0 is nobody, and
// takes nothing.
func (w *worker) start(entry int32, lane int, value float64) {
	if entry > 0 {
		w.starts = append(w.starts, startAt{entry, lane, value})
		w.marks[entry] |= started
		w.highest = max(w.highest, entry)
	}
}

// want says that an entry of the product will be read.
func (w *worker) want(entry int32) {
	w.marks[entry] |= wantedAt
	w.highest = max(w.highest, entry)
}

// run returns T D T'x in each lane, of which the wanted entries may be read until
// the next run. Only ancestors of the start are visited on the way back, and only
// ancestors of what is wanted on the way forth.
func (w *worker) run() [][lanes]float64 {
	first := int32(1 + len(w.groups))
	x, nodes, marks := w.x, w.nodes, w.marks
	nb, na := 0, 0
	for i := w.highest; i >= first; i-- {
		m := marks[i]
		if m == 0 {
			continue
		}
		marks[i] = 0
		n := &nodes[i]
		marks[n.sire] |= m
		marks[n.dam] |= m
		x[i] = [lanes]float64{}
		if m&started != 0 {
			w.behind[nb] = i
			nb++
		}
		if m&wantedAt != 0 {
			w.ahead[na] = i
			na++
		}
	}
	clear(marks[:first])
	clear(x[:first])
	for _, s := range w.starts {
		x[s.entry][s.lane] += s.value
	}
	w.starts, w.highest = w.starts[:0], 0
	back(nodes, x, w.behind[:nb])
	mixGroups(w.groups, x)
	forth(nodes, x, w.ahead[:na])
	return x
}

// back adds to every ancestor the share of the young that came down from it:
// x becomes T'x in each lane.
// The entries run from the youngest to the oldest.
func back(nodes []packed, x [][lanes]float64, entries []int32) {
	for _, i := range entries {
		w := &x[i]
		n := &nodes[i]
		a, b := n.share.sire, n.share.dam
		s := &x[n.sire]
		s[0] += a * w[0]
		s[1] += a * w[1]
		s[2] += a * w[2]
		s[3] += a * w[3]
		s[4] += a * w[4]
		s[5] += a * w[5]
		s[6] += a * w[6]
		s[7] += a * w[7]
		d := &x[n.dam]
		d[0] += b * w[0]
		d[1] += b * w[1]
		d[2] += b * w[2]
		d[3] += b * w[3]
		d[4] += b * w[4]
		d[5] += b * w[5]
		d[6] += b * w[6]
		d[7] += b * w[7]
	}
	x[0] = [lanes]float64{}
}

// mixGroups replaces the groups' entries u by K u: alleles of two groups may be
// copies of one.
func mixGroups(groups [][]float64, x [][lanes]float64) {
	if len(groups) == 0 {
		return
	}
	u := slices.Clone(x[1 : 1+len(groups)])
	for g := range groups {
		var sum [lanes]float64
		for h := range groups {
			for lane := range sum {
				sum[lane] += groups[g][h] * u[h][lane]
			}
		}
		x[1+g] = sum
	}
}

// forth brings the values forward again: x becomes T D x in each lane. The entries
// run from the youngest to the oldest, and are taken from the end.
func forth(nodes []packed, x [][lanes]float64, entries []int32) {
	for k := len(entries) - 1; k >= 0; k-- {
		i := entries[k]
		n := &nodes[i]
		a, b, c := n.share.sire, n.share.dam, n.d
		s, d, w := &x[n.sire], &x[n.dam], &x[i]
		w[0] = a*s[0] + b*d[0] + c*w[0]
		w[1] = a*s[1] + b*d[1] + c*w[1]
		w[2] = a*s[2] + b*d[2] + c*w[2]
		w[3] = a*s[3] + b*d[3] + c*w[3]
		w[4] = a*s[4] + b*d[4] + c*w[4]
		w[5] = a*s[5] + b*d[5] + c*w[5]
		w[6] = a*s[6] + b*d[6] + c*w[6]
		w[7] = a*s[7] + b*d[7] + c*w[7]
	}
}

// lanes is how many sires are followed side by side: eight float64 fill one cache
// line, so that a line of descent is looked up once for all eight.
const lanes = 8
