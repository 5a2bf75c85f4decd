package pedigree

import (
	"context"
	"sync"
)

// chromosome tells which rule of inheritance a model follows.
type chromosome uint8

const (
	body chromosome = iota // one from each parent, in both sexes
	onZ                    // a cock has one from each parent; a hen has her sire's
)

// model is the kinship matrix of a pedigree in factors, K = T D T' (Henderson
// 1976): row i of T tells what share of bird i's alleles came down from each bird,
// and D, a diagonal, what Mendelian chance adds at each bird. Only parents hand
// anything down: they are the nodes, numbered oldest first.
type model struct {
	p          *Pedigree
	chromosome chromosome
	groups     [][]float64 // kinship within and between the groups of unknown parents, which are the first nodes
	node       []int32     // by place: the bird's own node, or -1 when it has no young
	nodes      []node
	d          []float64 // by node: what Mendelian chance adds; 0 for a group
	self       []float64 // by node: kinship with itself
	parentsK   []float64 // by place: kinship of the two parents, 0 when one is not known
	scratch    sync.Pool // of *[]float64, length 2·len(nodes), all 0 between uses
}

// node is a bird that has young, or a group of unknown parents.
type node struct {
	sire, dam int32 // nodes that its alleles come from, or -1
	share     shares
	sex       Sex // of no meaning for a group
}

// shares are the chances that an allele of a bird is from its sire and its dam.
type shares struct{ sire, dam float64 }

func (c chromosome) shares(s Sex) shares {
	switch {
	case c == body || s == Cock:
		return shares{0.5, 0.5}
	case s == Hen:
		return shares{1, 0}
	}
	// One half cock, one half hen: what is expected before the sex is known.
	return shares{0.75, 0.25}
}

// self is the kinship of a bird with itself, given that of its parents.
func (c chromosome) self(s Sex, parents float64) float64 {
	paired := (1 + parents) / 2
	switch {
	case c == body || s == Cock:
		return paired
	case s == Hen:
		return 1
	}
	return (1 + paired) / 2
}

// lazyModel is a model made when it is first asked for.
type lazyModel struct {
	mu   sync.Mutex
	made *model
}

// get returns the model, or the context's error when that ends first.
// The function progress hears what share is done.
func (l *lazyModel) get(ctx context.Context, p *Pedigree, c chromosome, progress func(share float64)) (*model, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.made == nil {
		m := newModel(p, c)
		if err := m.fill(ctx, progress); err != nil {
			return nil, err
		}
		l.made = m
	}
	return l.made, nil
}

// Prepare works out beforehand what all questions about kinship and inbreeding
// rest on, body and Z, so that it can be broken off: the error is the context's.
// Without it, the first question does the work: 20 ms or so for 20,000 birds,
// seconds for a million. The function progress hears from time to time what share
// is done, from 0 to 1; it may be nil.
func (p *Pedigree) Prepare(ctx context.Context, progress func(share float64)) error {
	if progress == nil {
		progress = unheard
	}
	if _, err := p.body.get(ctx, p, body, func(share float64) { progress(share / 2) }); err != nil {
		return err
	}
	if _, err := p.onZ.get(ctx, p, onZ, func(share float64) { progress((1 + share) / 2) }); err != nil {
		return err
	}
	progress(1)
	return nil
}

func unheard(float64) {}

func (p *Pedigree) lazy(c chromosome) *lazyModel {
	if c == onZ {
		return &p.onZ
	}
	return &p.body
}

// model returns the factors for one chromosome.
func (p *Pedigree) model(c chromosome) *model {
	m, err := p.lazy(c).get(context.Background(), p, c, unheard)
	if err != nil {
		panic("pedigree: the background context ended: " + err.Error())
	}
	return m
}

func newModel(p *Pedigree, c chromosome) *model {
	n := len(p.row)
	m := &model{p: p, chromosome: c, node: make([]int32, n), parentsK: make([]float64, n)}
	if p.groupOf != nil {
		m.groups = p.groups
		if c == onZ {
			m.groups = p.groupsZ
		}
	}
	for i := range n {
		for _, parent := range [2]int32{p.sire[i], p.dam[i]} {
			if parent >= 0 {
				m.node[parent] = 1
			}
		}
	}
	g := len(m.groups)
	count := g
	for i, parent := range m.node {
		if parent == 1 {
			m.node[i] = int32(count)
			count++
		} else {
			m.node[i] = -1
		}
	}
	m.nodes = make([]node, count)
	m.d = make([]float64, count)
	for k := range g {
		m.nodes[k] = node{sire: -1, dam: -1}
	}
	for i, k := range m.node {
		if k >= 0 {
			m.nodes[k] = m.from(int32(i))
		}
	}
	m.scratch.New = func() any {
		s := make([]float64, 2*count)
		return &s
	}
	return m
}

// from returns where the alleles of the bird at a place come from.
func (m *model) from(place int32) node {
	p := m.p
	share := m.chromosome.shares(p.sex[place])
	find := func(parent int32, share float64) int32 {
		switch {
		case share == 0:
			return -1
		case parent >= 0:
			return m.node[parent]
		case p.groupOf != nil:
			return p.groupOf[place]
		}
		return -1
	}
	return node{find(p.sire[place], share.sire), find(p.dam[place], share.dam), share, p.sex[place]}
}

// selfAt is the kinship of a bird with itself.
func (m *model) selfAt(place int32) float64 {
	return m.chromosome.self(m.p.sex[place], m.parentsK[place])
}

// handedDown is the kinship of two alleles of a bird, each drawn afresh from its
// parents: what the parents alone account for.
func handedDown(from *node, self []float64, parents float64) float64 {
	v := 2 * from.share.sire * from.share.dam * parents
	if from.sire >= 0 {
		v += from.share.sire * from.share.sire * self[from.sire]
	}
	if from.dam >= 0 {
		v += from.share.dam * from.share.dam * self[from.dam]
	}
	return v
}

// meet is x' K y for the vectors x and y that lie in turns in xy: x at even, y at
// odd entries. Entries beyond top are 0. It leaves xy at 0. Cost: one step for each node up to
// top (Meuwissen and Luo 1992, with two birds at once).
func (m *model) meet(xy []float64, top int32) float64 {
	sum := 0.0
	for i := top; i >= int32(len(m.groups)); i-- {
		x, y := xy[2*i], xy[2*i+1]
		if x == 0 && y == 0 {
			continue
		}
		xy[2*i], xy[2*i+1] = 0, 0
		sum += x * y * m.d[i]
		from := &m.nodes[i]
		if s := from.sire; s >= 0 {
			xy[2*s] += from.share.sire * x
			xy[2*s+1] += from.share.sire * y
		}
		if d := from.dam; d >= 0 {
			xy[2*d] += from.share.dam * x
			xy[2*d+1] += from.share.dam * y
		}
	}
	for g := range m.groups {
		for h := range m.groups {
			sum += xy[2*g] * m.groups[g][h] * xy[2*h+1]
		}
	}
	clear(xy[:2*len(m.groups)])
	return sum
}

// pair is the kinship of two birds.
func (m *model) pair(a, b int32) float64 {
	if a == b {
		return m.selfAt(a)
	}
	s := m.scratch.Get().(*[]float64)
	x := *s
	top := int32(-1)
	for k, at := range [2]int32{a, b} {
		for _, part := range m.parts(at) {
			if part.node >= 0 {
				x[2*part.node+int32(k)] += part.share
				top = max(top, part.node)
			}
		}
	}
	k := m.meet(x, top)
	m.scratch.Put(s)
	return k
}

// part is a share of a bird's alleles that come from a node, or -1.
type part struct {
	node  int32
	share float64
}

// parts returns where the alleles of a bird are among the nodes: at itself when it
// has young, else at its parents.
func (m *model) parts(place int32) [2]part {
	if own := m.node[place]; own >= 0 {
		return [2]part{{own, 1}, {-1, 0}}
	}
	from := m.from(place)
	return [2]part{{from.sire, from.share.sire}, {from.dam, from.share.dam}}
}

// ownChance is what Mendelian chance adds at a bird that has no young.
func (m *model) ownChance(place int32) float64 {
	from := m.from(place)
	return m.selfAt(place) - handedDown(&from, m.self, m.parentsK[place])
}
