package pedigree

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// Candidate is a bird that may be a parent.
type Candidate struct {
	Bird   int
	Chance float64 // above 0, up to 1
}

// Clutch is a set of nest mates whose sire or dam is not certain, as in a colony
// aviary or after a change of cock. All of them have the same sire and the same
// dam, whichever it was; the sire tells nothing of the dam. Birds that may have
// different parents go in clutches of their own.
//
// The chances of the candidates for one parent add up to 1 at most. What is left
// is the chance of some bird that nobody wrote down, unrelated to all others.
// Without candidates the parents are those given for each bird.
type Clutch struct {
	Birds       []int
	Sires, Dams []Candidate
}

// ChanceError reports chances of candidates that cannot be.
type ChanceError struct {
	Clutch int // from 0
	As     Sex // Cock for the sires, Hen for the dams
	Reason string
}

func (e *ChanceError) Error() string { return e.Say(byNumber) }

// Say implements [Named].
func (e *ChanceError) Say(Naming) string {
	return fmt.Sprintf("The %ss given for clutch %d %s.", role(e.As), e.Clutch+1, e.Reason)
}

// Uncertain is a pedigree in which some parents are known only in probability. Its
// kinships are expected ones: the mean over all pedigrees that may be true, each
// weighed by its chance. Draws for different clutches are independent.
type Uncertain struct {
	n       int
	at      []int32 // by node (birds, then doubtful parents): its place, oldest first
	body, z *expected
}

// expected is the mean kinship matrix in factors T D T', as in model, with any
// number of candidates behind a node.
type expected struct {
	first []int32 // links of the node at place i are links[first[i]:first[i+1]]
	links []link
	d     []float64
	self  []float64
}

type link struct {
	place int32
	share float64
}

// doubtful is a parent of a clutch, one of several birds.
type doubtful struct {
	as     Sex
	of     []Candidate
	nobody float64 // chance of a bird that nobody wrote down
}

// NewUncertain returns a pedigree with doubtful parents. The slices sire, dam and
// sex are those of [New]; for the birds of a clutch with sires the sire must be
// [Unknown], and likewise for dams.
//
// The error is a [Mistakes] as from New, which may also hold a [*ChanceError],
// or a [*ClutchError] for a bird in two clutches; or it is the context's. It takes O(n)
// time for each different pair of parents. It panics when slices differ in length or
// a clutch holds a bird without a row.
//
// Source: Henderson (1988), the average numerator relationship matrix; Pérez-Enciso
// and Fernando (1992). Nest mates that share the draw of a doubtful parent hang
// on one extra node for it, so that they are full sibs whoever it was.
func NewUncertain(ctx context.Context, sire, dam []int, sex []Sex, clutches []Clutch) (*Uncertain, error) {
	n := len(sire)
	if len(dam) != n || (sex != nil && len(sex) != n) {
		panic("pedigree: sire, dam and sex differ in length")
	}
	var m Mistakes
	checkRows(sire, dam, &m)
	parents, doubts := doubtfulParents(sire, dam, clutches, &m)
	if m.any() {
		return nil, &m
	}
	sexes := parentSexes(n, sex, func(yield func(young, parent int, as Sex)) {
		for i, pair := range parents {
			for k, parent := range pair {
				switch {
				case parent == Unknown:
				case parent < n:
					yield(i, parent, asParent(k))
				default:
					for _, c := range doubts[parent-n].of {
						yield(i, c.Bird, asParent(k))
					}
				}
			}
		}
	}, &m)
	order, ring := oldestFirst(parents, doubts)
	if ring != nil {
		m.add(&CycleError{Birds: ring})
	}
	if m.any() {
		return nil, &m
	}
	u := &Uncertain{n: n, at: make([]int32, len(order))}
	for place, node := range order {
		u.at[node] = int32(place)
	}
	for _, c := range [2]chromosome{body, onZ} {
		e, err := newExpected(ctx, c, u.at, order, parents, sexes, doubts)
		if err != nil {
			return nil, err
		}
		if c == body {
			u.body = e
		} else {
			u.z = e
		}
	}
	return u, nil
}

// doubtfulParents returns the nodes of every bird's parents: a bird, a doubtful
// parent counted on from the birds, or Unknown.
func doubtfulParents(sire, dam []int, clutches []Clutch, m *Mistakes) (parents [][2]int, doubts []doubtful) {
	n := len(sire)
	parents = make([][2]int, n)
	for i := range n {
		parents[i] = [2]int{sire[i], dam[i]}
	}
	inClutch := make(map[int]bool)
	for c, clutch := range clutches {
		var mates []int
		for _, b := range clutch.Birds {
			if b < 0 || b >= n {
				panic("pedigree: a clutch holds no such bird")
			}
			if inClutch[b] {
				m.add(&ClutchError{Bird: b, Clutch: c})
				continue
			}
			inClutch[b] = true
			mates = append(mates, b)
		}
		for k, of := range [2][]Candidate{clutch.Sires, clutch.Dams} {
			if len(of) == 0 {
				continue
			}
			d, err := newDoubt(of, n, c, asParent(k))
			if err != nil {
				m.add(err)
				continue
			}
			node := n + len(doubts)
			if len(of) == 1 && of[0].Chance == 1 {
				node = of[0].Bird
			} else {
				doubts = append(doubts, d)
			}
			for _, b := range mates {
				if parents[b][k] != Unknown {
					m.add(&ChanceError{Clutch: c, As: asParent(k), Reason: fmt.Sprintf("include row %d, whose %s is given as certain", b+1, role(asParent(k)))})
					continue
				}
				parents[b][k] = node
			}
		}
	}
	return parents, doubts
}

func newDoubt(of []Candidate, n, clutch int, as Sex) (doubtful, error) {
	// Chances typed with two digits need not add up to 1 exactly.
	const slack = 1e-9
	sum := 0.0
	for k, c := range of {
		switch {
		case c.Bird < 0 || c.Bird >= n:
			return doubtful{}, &ChanceError{clutch, as, fmt.Sprintf("include row %d, but there are %d rows", c.Bird+1, n)}
		case !(c.Chance > 0 && c.Chance <= 1):
			return doubtful{}, &ChanceError{clutch, as, fmt.Sprintf("include row %d with a chance of %v: it must be above 0, and 1 at most", c.Bird+1, c.Chance)}
		case slices.ContainsFunc(of[:k], func(b Candidate) bool { return b.Bird == c.Bird }):
			return doubtful{}, &ChanceError{clutch, as, fmt.Sprintf("include row %d twice", c.Bird+1)}
		}
		sum += c.Chance
	}
	if sum > 1+slack {
		return doubtful{}, &ChanceError{clutch, as, fmt.Sprintf("have chances that add up to %.4g, which is more than 1", sum)}
	}
	d := doubtful{as: as, of: of, nobody: 1 - sum}
	if math.Abs(d.nobody) <= slack {
		d.nobody = 0
	}
	return d, nil
}

// ClutchError reports a bird that is in two clutches.
type ClutchError struct {
	Bird, Clutch int // the clutch in which it stands for the second time
}

func (e *ClutchError) Error() string { return e.Say(byNumber) }

// Say implements [Named].
func (e *ClutchError) Say(name Naming) string {
	return fmt.Sprintf("Clutch %d holds %s, which is in another clutch: take it out of one of the two.", e.Clutch+1, name(e.Bird))
}

// oldestFirst orders birds and doubtful parents so that candidates and parents come
// first. If some bird might be its own ancestor, it returns the birds of one such ring.
func oldestFirst(parents [][2]int, doubts []doubtful) (order, ring []int) {
	n := len(parents)
	const (
		unseen = iota
		onPath
		placed
	)
	state := make([]uint8, n+len(doubts))
	var path []int
	behind := func(node int, visit func(int) bool) {
		if node < n {
			for _, parent := range parents[node] {
				if parent != Unknown && !visit(parent) {
					return
				}
			}
			return
		}
		for _, c := range doubts[node-n].of {
			if !visit(c.Bird) {
				return
			}
		}
	}
	for start := range state {
		if state[start] != unseen {
			continue
		}
		path = append(path[:0], start)
		for len(path) > 0 {
			at := path[len(path)-1]
			state[at] = onPath
			next, met := Unknown, Unknown
			behind(at, func(parent int) bool {
				switch state[parent] {
				case onPath:
					met = parent
				case unseen:
					next = parent
				}
				return met == Unknown && next == Unknown
			})
			switch {
			case met != Unknown:
				for _, node := range path[slices.Index(path, met):] {
					if node < n {
						ring = append(ring, node)
					}
				}
				return nil, ring
			case next != Unknown:
				path = append(path, next)
			default:
				state[at] = placed
				order = append(order, at)
				path = path[:len(path)-1]
			}
		}
	}
	return order, nil
}

func newExpected(ctx context.Context, c chromosome, at []int32, order []int, parents [][2]int, sexes []Sex, doubts []doubtful) (*expected, error) {
	n := len(parents)
	e := &expected{d: make([]float64, len(order)), self: make([]float64, len(order))}
	x, y := make([]float64, len(order)), make([]float64, len(order))
	type couple struct{ sire, dam int32 }
	known := map[couple]float64{}
	for place, node := range order {
		if place%64 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		e.first = append(e.first, int32(len(e.links)))
		if node >= n {
			// A doubtful parent is one of its candidates: an allele drawn twice from
			// it is drawn from the same bird.
			doubt := &doubts[node-n]
			own := 0.5 // of a bird that nobody wrote down: two different alleles
			if c == onZ && doubt.as == Hen {
				own = 1
			}
			self := doubt.nobody * own
			for _, candidate := range doubt.of {
				of := at[candidate.Bird]
				self += candidate.Chance * e.self[of]
				x[of] = candidate.Chance
				e.links = append(e.links, link{of, candidate.Chance})
			}
			copy(y, x)
			e.self[place], e.d[place] = self, self-e.meet(x, y, place-1)
			continue
		}
		from := e.behind(c, at, parents[node], sexes[node])
		k := 0.0
		if from[0].place >= 0 && from[1].place >= 0 {
			of := couple{from[0].place, from[1].place}
			seen := false
			if k, seen = known[of]; !seen {
				x[of.sire], y[of.dam] = 1, 1
				k = e.meet(x, y, place-1)
				known[of] = k
			}
		}
		e.self[place] = c.self(sexes[node], k)
		e.d[place] = e.self[place] - 2*from[0].share*from[1].share*k
		for _, l := range from {
			if l.place >= 0 {
				e.d[place] -= l.share * l.share * e.self[l.place]
				e.links = append(e.links, l)
			}
		}
	}
	e.first = append(e.first, int32(len(e.links)))
	return e, nil
}

// behind returns where a bird's alleles come from; the place is -1 for nowhere known.
func (e *expected) behind(c chromosome, at []int32, parents [2]int, s Sex) [2]link {
	share := c.shares(s)
	out := [2]link{{-1, share.sire}, {-1, share.dam}}
	for k, parent := range parents {
		if parent != Unknown && out[k].share > 0 {
			out[k].place = at[parent]
		}
	}
	return out
}

// meet is x'T D T'y over the places up to top. It leaves x and y at 0.
func (e *expected) meet(x, y []float64, top int) float64 {
	sum := 0.0
	for i := top; i >= 0; i-- {
		a, b := x[i], y[i]
		if a == 0 && b == 0 {
			continue
		}
		x[i], y[i] = 0, 0
		sum += a * b * e.d[i]
		for _, l := range e.links[e.first[i]:e.first[i+1]] {
			x[l.place] += l.share * a
			y[l.place] += l.share * b
		}
	}
	return sum
}

// Kinship returns the expected kinship of two birds; see [Kinship]. With itself a
// bird has (1+F)/2, F being its expected inbreeding. It takes O(n) time.
func (u *Uncertain) Kinship(a, b int) float64 { return u.pair(u.body, a, b) }

// KinshipZ returns the expected kinship of two birds on the Z chromosome; see
// [KinshipZ].
func (u *Uncertain) KinshipZ(a, b int) float64 { return u.pair(u.z, a, b) }

func (u *Uncertain) pair(e *expected, a, b int) float64 {
	i, j := u.place(a), u.place(b)
	if i == j {
		return e.self[i]
	}
	x, y := make([]float64, len(e.d)), make([]float64, len(e.d))
	x[i], y[j] = 1, 1
	return e.meet(x, y, int(max(i, j)))
}

func (u *Uncertain) place(bird int) int32 {
	if bird < 0 || bird >= u.n {
		panic("pedigree: no such bird")
	}
	return u.at[bird]
}

// Inbreeding returns the expected inbreeding of every bird by row.
func (u *Uncertain) Inbreeding() []float64 {
	f := make([]float64, u.n)
	for i := range f {
		f[i] = 2*u.body.self[u.at[i]] - 1
	}
	return f
}

// KinshipMatrix returns the expected kinship of all pairs of a set; see
// [KinshipMatrix]. The error is the context's. It takes O(n) time for each bird of the set.
func (u *Uncertain) KinshipMatrix(ctx context.Context, birds []int) ([][]float64, error) {
	return u.matrix(ctx, u.body, birds)
}

// KinshipMatrixZ is the same on the Z chromosome; see [KinshipZ].
func (u *Uncertain) KinshipMatrixZ(ctx context.Context, birds []int) ([][]float64, error) {
	return u.matrix(ctx, u.z, birds)
}

func (u *Uncertain) matrix(ctx context.Context, e *expected, birds []int) ([][]float64, error) {
	out := make([][]float64, len(birds))
	for a := range birds {
		out[a] = make([]float64, len(birds))
	}
	x := make([]float64, len(e.d))
	for a, bird := range birds {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		clear(x)
		x[u.place(bird)] = 1
		for i := len(x) - 1; i >= 0; i-- {
			if x[i] != 0 {
				for _, l := range e.links[e.first[i]:e.first[i+1]] {
					x[l.place] += l.share * x[i]
				}
			}
		}
		for i := range x {
			v := e.d[i] * x[i]
			for _, l := range e.links[e.first[i]:e.first[i+1]] {
				v += l.share * x[l.place]
			}
			x[i] = v
		}
		for b := range a + 1 {
			out[a][b] = x[u.place(birds[b])]
			out[b][a] = out[a][b]
			if birds[a] == birds[b] {
				out[a][b] = e.self[u.place(bird)]
				out[b][a] = out[a][b]
			}
		}
	}
	return out, nil
}
