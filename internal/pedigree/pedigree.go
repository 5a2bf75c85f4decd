package pedigree

import (
	"cmp"
	"math"
	"slices"
)

// Unknown stands in for a parent nobody recorded.
const Unknown = -1

// Sex is what is known of a bird's sex. A cock has two Z chromosomes, a hen one.
type Sex uint8

// The three values of [Sex]. A bird of no recorded sex that is written down as a
// sire is a cock, and one that is written down as a dam is a hen.
const (
	Unsexed Sex = iota
	Cock
	Hen
)

// String returns "cock", "hen" or "unsexed".
func (s Sex) String() string {
	switch s {
	case Cock:
		return "cock"
	case Hen:
		return "hen"
	}
	return "unsexed"
}

// Pedigree is who the parents of n birds were. Birds are known by their row, 0 to
// n-1, in the order in which they were handed to [New]; a parent may stand before
// or after its young. A Pedigree never changes and may be read by several
// goroutines at once.
type Pedigree struct {
	// Inside, birds stand by age: a bird's place comes after both parents' places.
	// Places run by generation (the longest line back to a founder), then by row.
	place     []int32 // place of each row
	row       []int32 // row at each place
	sire, dam []int32 // places of the parents, or -1, by place
	sex       []Sex   // by place, parents' sexes filled in
	founders  int     // birds with neither parent known; they hold places 0 to founders-1
	groupOf   []int32 // by place: group of the parents that are not known, or -1; nil without groups
	groups    [][]float64
	groupsZ   [][]float64
	body, onZ lazyModel
}

// New returns the pedigree of the birds in rows 0 to len(sire)-1. Entry i of sire
// and dam is the row of bird i's father and mother, or [Unknown]. Rows may stand
// in any order. The slice sex may be nil when no sex is known.
//
// The error is a [Mistakes] holding one typed error for each mistake found:
// [*RowError], [*SexError], [*CycleError]. New panics when the slices differ in
// length. It takes O(n) time, and keeps about 17 bytes a bird.
func New(sire, dam []int, sex []Sex) (*Pedigree, error) {
	n := len(sire)
	if len(dam) != n || (sex != nil && len(sex) != n) {
		panic("pedigree: sire, dam and sex differ in length")
	}
	if n > math.MaxInt32/2 {
		panic("pedigree: more than 2^30 birds")
	}
	var m Mistakes
	checkRows(sire, dam, &m)
	if m.any() {
		return nil, &m
	}
	sexes := parentSexes(n, sex, func(yield func(young, parent int, as Sex)) {
		for i := range n {
			if sire[i] != Unknown {
				yield(i, sire[i], Cock)
			}
			if dam[i] != Unknown {
				yield(i, dam[i], Hen)
			}
		}
	}, &m)
	level, cycle := levels(sire, dam)
	if cycle != nil {
		m.add(&CycleError{Birds: cycle})
	}
	if m.any() {
		return nil, &m
	}
	return build(sire, dam, sexes, level), nil
}

// asParent is the sex that a bird takes on by being written down as a parent:
// k is 0 for the sire and 1 for the dam.
func asParent(k int) Sex {
	if k == 0 {
		return Cock
	}
	return Hen
}

// checkRows notes parents that are no row, and birds that are their own parent.
func checkRows(sire, dam []int, m *Mistakes) {
	for i := range sire {
		for k, parent := range [2]int{sire[i], dam[i]} {
			switch {
			case parent < Unknown || parent >= len(sire):
				m.add(&RowError{Bird: i, Parent: parent, As: asParent(k), Birds: len(sire)})
			case parent == i:
				m.add(&CycleError{Birds: []int{i}})
			}
		}
	}
}

// parentSexes returns the sexes with those of the parents filled in, and notes
// every bird whose written sex, or whose other young, say otherwise. The function
// each yields every parent of every bird.
func parentSexes(n int, sex []Sex, each func(yield func(young, parent int, as Sex)), m *Mistakes) []Sex {
	out := make([]Sex, n)
	copy(out, sex)
	for i, s := range out {
		if s > Hen {
			m.add(&SexError{Bird: i, Sex: s, Young: Unknown, Other: Unknown})
			out[i] = Unsexed
		}
	}
	var firstYoung []int32 // of the birds whose sex follows from their young, by row, counted from 1
	told := make([]bool, n)
	each(func(young, parent int, as Sex) {
		switch {
		case out[parent] == as || told[parent]:
		case out[parent] == Unsexed:
			if firstYoung == nil {
				firstYoung = make([]int32, n)
			}
			out[parent] = as
			firstYoung[parent] = int32(young) + 1
		default:
			e := &SexError{Bird: parent, Sex: out[parent], As: as, Young: young, Other: Unknown}
			if firstYoung != nil && firstYoung[parent] > 0 {
				e.Sex, e.Other = Unsexed, int(firstYoung[parent])-1
			}
			told[parent] = true
			m.add(e)
		}
	})
	return out
}

// levels returns each bird's generation: 0 for a founder, else one more than the
// older of the parents' generations. When some bird is its own ancestor, it
// returns the rows of one such ring of birds, each the young of the next.
func levels(sire, dam []int) (level []int32, cycle []int) {
	n := len(sire)
	level = make([]int32, n)
	sorted := true
	for i := range n {
		s, d := sire[i], dam[i]
		if s >= i || d >= i {
			sorted = false
			break
		}
		level[i] = above(level, s, d)
	}
	if sorted {
		return level, nil
	}
	const (
		unseen  = -1
		onStack = -2
	)
	for i := range level {
		level[i] = unseen
	}
	var stack []int32
	for i := range n {
		if level[i] != unseen {
			continue
		}
		stack = append(stack[:0], int32(i))
		for len(stack) > 0 {
			b := int(stack[len(stack)-1])
			s, d := sire[b], dam[b]
			next := Unknown
			for _, parent := range [2]int{s, d} {
				if parent == Unknown {
					continue
				}
				switch level[parent] {
				case onStack:
					level[b] = onStack
					return nil, ring(stack, level, parent)
				case unseen:
					next = parent
				}
			}
			if next != Unknown {
				level[b] = onStack
				stack = append(stack, int32(next))
				continue
			}
			level[b] = above(level, s, d)
			stack = stack[:len(stack)-1]
		}
	}
	return level, nil
}

// above is the generation of a young of s and d.
func above(level []int32, s, d int) int32 {
	l := int32(0)
	if s != Unknown {
		l = level[s] + 1
	}
	if d != Unknown {
		l = max(l, level[d]+1)
	}
	return l
}

// ring cuts from the walk the birds from the one met twice to the last.
// Only birds marked by the walk belong to the line of descent.
func ring(stack, level []int32, met int) []int {
	var out []int
	for k := len(stack) - 1; k >= 0; k-- {
		out = append(out, int(stack[k]))
		if int(stack[k]) == met {
			break
		}
	}
	slices.Reverse(out) // from the young to its ancestors
	least := 0
	for k := range out {
		if out[k] < out[least] {
			least = k
		}
	}
	return append(slices.Clone(out[least:]), out[:least]...) // starts at the lowest row
}

// build lays the birds out by generation.
func build(sire, dam []int, sex []Sex, level []int32) *Pedigree {
	n := len(sire)
	p := &Pedigree{
		place: make([]int32, n),
		row:   make([]int32, n),
		sire:  make([]int32, n),
		dam:   make([]int32, n),
		sex:   make([]Sex, n),
	}
	top := int32(0)
	for _, l := range level {
		top = max(top, l)
	}
	start := make([]int32, top+2)
	for _, l := range level {
		start[l+1]++
	}
	for l := range top + 1 {
		start[l+1] += start[l]
	}
	if n > 0 {
		p.founders = int(start[1])
	}
	for i, l := range level {
		p.place[i] = start[l]
		p.row[start[l]] = int32(i)
		start[l]++
	}
	placeOf := func(bird int) int32 {
		if bird == Unknown {
			return -1
		}
		return p.place[bird]
	}
	for i := range n {
		at := p.place[i]
		p.sire[at], p.dam[at], p.sex[at] = placeOf(sire[i]), placeOf(dam[i]), sex[i]
	}
	return p
}

// Len returns the number of birds.
func (p *Pedigree) Len() int { return len(p.row) }

// Parents returns the rows of a bird's sire and dam, or [Unknown].
func (p *Pedigree) Parents(bird int) (sire, dam int) {
	at := p.at(bird)
	return p.rowAt(p.sire[at]), p.rowAt(p.dam[at])
}

// Sex returns the sex of a bird as written, or as its young show it.
func (p *Pedigree) Sex(bird int) Sex { return p.sex[p.at(bird)] }

// OldestFirst returns the rows in an order in which parents come before their
// young: by generation, then by row.
func (p *Pedigree) OldestFirst() []int {
	out := make([]int, len(p.row))
	for at, r := range p.row {
		out[at] = int(r)
	}
	return out
}

func (p *Pedigree) at(bird int) int32 {
	if bird < 0 || bird >= len(p.place) {
		panic("pedigree: no such bird")
	}
	return p.place[bird]
}

// places returns the places of the birds.
func (p *Pedigree) places(birds []int) []int32 {
	out := make([]int32, len(birds))
	for k, bird := range birds {
		out[k] = p.at(bird)
	}
	return out
}

func (p *Pedigree) rowAt(place int32) int {
	if place < 0 {
		return Unknown
	}
	return int(p.row[place])
}

// NoDay stands in for a hatch day that nobody recorded.
const NoDay = math.MinInt

// CheckHatched returns a [Mistakes] with an [*AgeError] for every bird that did
// not hatch after both of its parents. Entry i of day is the day on which bird i
// hatched, counted from any one day, or [NoDay]. Whole years do as well, when
// parents are at least a year older than their young.
func (p *Pedigree) CheckHatched(day []int) error {
	if len(day) != len(p.row) {
		panic("pedigree: day and pedigree differ in length")
	}
	var m Mistakes
	for i, d := range day {
		if d == NoDay {
			continue
		}
		s, dm := p.Parents(i)
		for k, parent := range [2]int{s, dm} {
			if parent != Unknown && day[parent] != NoDay && day[parent] >= d {
				m.add(&AgeError{Bird: i, Parent: parent, As: asParent(k), Day: d, ParentDay: day[parent]})
			}
		}
	}
	if m.any() {
		return &m
	}
	return nil
}

// Rows turns names of any kind into rows: it returns the rows of the sires and
// dams of the birds named in id, ready for [New]. A parent equal to none is not
// known. A parent that has no row of its own is a founder; its name is added to
// the end of names, which otherwise equals id.
//
// The error is a [Mistakes] with a [*TwiceError] for each name that heads two rows.
func Rows[K cmp.Ordered](id, sire, dam []K, none K) (names []K, sires, dams []int, err error) {
	if len(sire) != len(id) || len(dam) != len(id) {
		panic("pedigree: id, sire and dam differ in length")
	}
	var m Mistakes
	rows := make(map[K]int, len(id))
	for i, name := range id {
		if first, seen := rows[name]; seen {
			m.add(&TwiceError{First: first, Again: i})
			continue
		}
		rows[name] = i
	}
	if m.any() {
		return nil, nil, nil, &m
	}
	names = slices.Clone(id)
	row := func(name K) int {
		if name == none {
			return Unknown
		}
		r, seen := rows[name]
		if !seen {
			r = len(names)
			rows[name] = r
			names = append(names, name)
		}
		return r
	}
	sires, dams = make([]int, len(id)), make([]int, len(id))
	for i := range id {
		sires[i], dams[i] = row(sire[i]), row(dam[i])
	}
	for len(sires) < len(names) {
		sires, dams = append(sires, Unknown), append(dams, Unknown)
	}
	return names, sires, dams, nil
}
