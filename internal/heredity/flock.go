package heredity

import (
	"fmt"
	"slices"
)

// Unknown stands for a parent that is not among the birds.
const Unknown = -1

// Unseen stands for a look that tells nothing: not looked at, or not yet scorable
// because the bird has not moulted or its sex does not show the trait.
const Unseen = -1

// A Bird is what the records say of one bird.
type Bird struct {
	Sex Sex
	// Parents are the pairs that may be its parents. The weights add up to 1 or less;
	// what is left goes to two unknown birds. Empty: both unknown.
	Parents []Parents
	Looks   []int // by trait: the look seen, or Unseen; nil if none is
	Said    []Said
	// Clutch is shared by nest mates: they share one draw of their uncertain parents.
	// 0 is no clutch.
	Clutch int
}

// Parents are a pair that may be a bird's parents, either of them Unknown.
type Parents struct {
	Sire, Dam int
	Weight    float64
}

// Said is somebody's word on whether a bird carries an allele: the chance that it would
// be said of a carrier (one copy or more) and of another bird. A look that was seen
// belongs to Looks instead.
type Said struct {
	Locus, Allele        int
	OfCarrier, OfAnother float64
}

// A Candidate is a bird that may be a parent, or Unknown.
type Candidate struct {
	Bird   int
	Weight float64
}

// Certain returns the parents of a bird whose parentage is beyond doubt.
func Certain(sire, dam int) []Parents { return []Parents{{sire, dam, 1}} }

// OneOf returns every pair of a sire and a dam out of two lists of candidates, chosen
// independently. Weights that add up to less than 1 leave the rest to an unknown bird,
// an empty list leaves everything; over 1 is refused.
func OneOf(sires, dams []Candidate) ([]Parents, error) {
	fill := func(list []Candidate, role string) ([]Candidate, error) {
		sum := 0.0
		for _, c := range list {
			if !share(c.Weight) {
				return nil, &FlockError{Bird: -1, Other: -1, Message: fmt.Sprintf("The weight of a possible %s is %g. It must be from 0 to 1.", role, c.Weight)}
			}
			sum += c.Weight
		}
		if sum > 1+sumTolerance {
			return nil, &FlockError{Bird: -1, Other: -1, Message: fmt.Sprintf("The weights of its possible %ss add up to %.6g, which is over 1.", role, sum)}
		}
		if sum < 1-sumTolerance {
			list = append(slices.Clone(list), Candidate{Unknown, 1 - sum})
		}
		return list, nil
	}
	s, err := fill(sires, "sire")
	if err != nil {
		return nil, err
	}
	d, err := fill(dams, "dam")
	if err != nil {
		return nil, err
	}
	var out []Parents
	for _, a := range s {
		for _, b := range d {
			if w := a.Weight * b.Weight; w > 0 {
				out = append(out, Parents{a.Bird, b.Bird, w})
			}
		}
	}
	return out, nil
}

// WithErrors returns parents that allow for a wrong sire (an outside cock sired the
// bird, chance wrongSire) and for a dumped egg (neither of the pair is a parent, chance
// dumped).
func WithErrors(p []Parents, wrongSire, dumped float64) []Parents {
	var out []Parents
	for _, a := range p {
		out = append(out,
			Parents{a.Sire, a.Dam, a.Weight * (1 - dumped) * (1 - wrongSire)},
			Parents{Unknown, a.Dam, a.Weight * (1 - dumped) * wrongSire},
			Parents{Unknown, Unknown, a.Weight * dumped})
	}
	return slices.DeleteFunc(out, func(p Parents) bool { return p.Weight == 0 })
}

// A FlockError says what in the rows cannot be a flock. Bird and Other are rows, or -1.
type FlockError struct {
	Bird, Other int
	Message     string // a sentence without the birds' names, fit to show after them
}

// Error names the row, counted from 1, and says what is wrong.
func (e *FlockError) Error() string {
	return e.Sentence(func(i int) string { return fmt.Sprintf("row %d", i+1) })
}

// Sentence says what is wrong with birds named by the caller.
func (e *FlockError) Sentence(name func(bird int) string) string {
	switch {
	case e.Bird < 0:
		return e.Message
	case e.Other < 0:
		return fmt.Sprintf("%s: %s", name(e.Bird), e.Message)
	}
	return fmt.Sprintf("%s with %s: %s", name(e.Bird), name(e.Other), e.Message)
}

// family is a flock made ready: unknown parents stand as birds of their own behind the
// given ones, sexes are settled by the parts that birds play, and parents come first in
// order.
type family struct {
	birds []kin
	given int // how many of birds are rows of the flock
	order []int
}

// kin is a bird with its parentage. Founders have no alternatives; draw names the
// parentages that share one draw, or is -1 where there is one alternative only.
type kin struct {
	sex  Sex
	alts []Parents
	draw int
}

// Check reports the first thing that keeps the birds from being a flock of this model,
// as a [*FlockError], or nil.
func Check(m *Model, birds []Bird) error {
	_, err := newFamily(m, birds)
	return err
}

func newFamily(m *Model, birds []Bird) (*family, error) {
	f := &family{given: len(birds)}
	for i, b := range birds {
		if err := checkBird(m, birds, i); err != nil {
			return nil, err
		}
		f.birds = append(f.birds, kin{sex: b.Sex, draw: -1})
	}
	if err := f.settleSexes(birds); err != nil {
		return nil, err
	}
	type hidden struct{ clutch, sire int }
	shared := map[hidden]int{} // unknown parents of a clutch
	draws := map[int]int{}
	first := map[int]int{} // first bird of each clutch
	for i, b := range birds {
		alts := slices.Clone(b.Parents)
		sum := 0.0
		for _, p := range alts {
			sum += p.Weight
		}
		if sum < 1-sumTolerance {
			alts = append(alts, Parents{Unknown, Unknown, 1 - sum})
		} else {
			for k := range alts {
				alts[k].Weight /= sum
			}
		}
		alts = slices.DeleteFunc(alts, func(p Parents) bool { return p.Weight == 0 })
		if b.Clutch != 0 {
			o, ok := first[b.Clutch]
			if !ok {
				first[b.Clutch] = i
			} else if !slices.Equal(birds[o].Parents, b.Parents) {
				return nil, &FlockError{i, o, "They are of one clutch but their possible parents differ. Give nest mates the same parents, or another clutch."}
			}
		}
		if len(alts) == 1 && alts[0].Sire == Unknown && alts[0].Dam == Unknown && b.Clutch == 0 {
			continue
		}
		own := map[int]int{}
		stranger := func(s Sex) int {
			k := hidden{b.Clutch, int(s)}
			if b.Clutch != 0 {
				if n, ok := shared[k]; ok {
					return n
				}
			} else if n, ok := own[int(s)]; ok {
				return n
			}
			n := len(f.birds)
			f.birds = append(f.birds, kin{sex: s, draw: -1})
			if b.Clutch != 0 {
				shared[k] = n
			}
			own[int(s)] = n
			return n
		}
		for k := range alts {
			if alts[k].Sire == Unknown {
				alts[k].Sire = stranger(Cock)
			}
			if alts[k].Dam == Unknown {
				alts[k].Dam = stranger(Hen)
			}
		}
		f.birds[i].alts = alts
		if len(alts) > 1 {
			f.birds[i].draw = i
			if b.Clutch != 0 {
				if d, ok := draws[b.Clutch]; ok {
					f.birds[i].draw = d
				} else {
					draws[b.Clutch] = i
				}
			}
		}
	}
	return f, f.sort()
}

func checkBird(m *Model, birds []Bird, i int) error {
	b := birds[i]
	sum := 0.0
	for _, p := range b.Parents {
		if !share(p.Weight) {
			return &FlockError{i, -1, fmt.Sprintf("The weight of a possible pair of parents is %g. It must be from 0 to 1.", p.Weight)}
		}
		sum += p.Weight
		for _, x := range []int{p.Sire, p.Dam} {
			if x != Unknown && (x < 0 || x >= len(birds)) {
				panic("heredity: parent out of range")
			}
			if x == i {
				return &FlockError{i, -1, "It is given as its own parent."}
			}
		}
		if p.Sire != Unknown && p.Sire == p.Dam {
			return &FlockError{i, p.Sire, "The same bird is given as sire and dam."}
		}
	}
	if sum > 1+sumTolerance {
		return &FlockError{i, -1, fmt.Sprintf("The weights of its possible parents add up to %.6g, which is over 1.", sum)}
	}
	if b.Looks != nil && len(b.Looks) != len(m.Traits) {
		panic("heredity: looks do not match the traits")
	}
	for t, l := range b.Looks {
		if l != Unseen && (l < 0 || l >= len(m.Traits[t].Looks)) {
			panic("heredity: look out of range")
		}
	}
	for _, s := range b.Said {
		if s.Locus < 0 || s.Locus >= len(m.Loci) || s.Allele < 0 || s.Allele >= len(m.Loci[s.Locus].Alleles) {
			panic("heredity: said of an allele out of range")
		}
		if !share(s.OfCarrier) || !share(s.OfAnother) {
			return &FlockError{i, -1, "What was said of it has a chance that is not from 0 to 1."}
		}
		if s.OfCarrier == 0 && s.OfAnother == 0 {
			return &FlockError{i, -1, "What was said of it would never be said of any bird, by the chances given."}
		}
	}
	return nil
}

// settleSexes gives birds the sex of the part they play.
func (f *family) settleSexes(birds []Bird) error {
	for i, b := range birds {
		for _, p := range b.Parents {
			if p.Weight == 0 {
				continue
			}
			for _, part := range []struct {
				bird int
				sex  Sex
				word string
			}{{p.Sire, Cock, "sire"}, {p.Dam, Hen, "dam"}} {
				if part.bird == Unknown {
					continue
				}
				k := &f.birds[part.bird]
				switch {
				case k.sex == Unsexed:
					k.sex = part.sex
				case k.sex != part.sex && birds[part.bird].Sex == Unsexed:
					return &FlockError{part.bird, -1, "It is named as a sire in one row and as a dam in another."}
				case k.sex != part.sex:
					return &FlockError{i, part.bird, fmt.Sprintf("The second is given as %s but is a %s.", part.word, k.sex)}
				}
			}
		}
	}
	return nil
}

// sort puts parents before young and refuses a bird that descends from itself.
func (f *family) sort() error {
	const (
		fresh = iota
		open
		done
	)
	state := make([]int8, len(f.birds))
	type frame struct{ bird, next int }
	parents := func(i int) []int {
		var out []int
		for _, p := range f.birds[i].alts {
			out = append(out, p.Sire, p.Dam)
		}
		return out
	}
	lists := make([][]int, len(f.birds))
	for i := range lists {
		lists[i] = parents(i)
	}
	for i := range f.birds {
		if state[i] != fresh {
			continue
		}
		stack := []frame{{i, 0}}
		state[i] = open
		for len(stack) > 0 {
			top := &stack[len(stack)-1]
			if top.next == len(lists[top.bird]) {
				state[top.bird] = done
				f.order = append(f.order, top.bird)
				stack = stack[:len(stack)-1]
				continue
			}
			p := lists[top.bird][top.next]
			top.next++
			switch state[p] {
			case fresh:
				state[p] = open
				stack = append(stack, frame{p, 0})
			case open:
				return &FlockError{top.bird, -1, "It would be its own ancestor. Mend the parents in this line."}
			}
		}
	}
	return nil
}
