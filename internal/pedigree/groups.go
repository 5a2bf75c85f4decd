package pedigree

import (
	"fmt"
	"math"
	"slices"
)

// NoGroup is the group of a bird whose unknown parents are unrelated founders.
const NoGroup = -1

// Groups says which unknown parents were related: birds bought from one loft, say.
type Groups struct {
	// Of gives for each bird the group that its unknown parents were drawn from, or
	// NoGroup. It means nothing for a bird with both parents known.
	Of []int
	// Kinship is square and symmetric. Entry (g, h) is the kinship assumed between
	// a parent of group g and one of group h, and (g, g) that between two of group
	// g: so it is the kinship of two birds bought from them, and the inbreeding of
	// one bird both of whose parents were in g. From 0 to 1.
	Kinship [][]float64
	// KinshipZ is the same on the Z chromosome. Without it, Kinship serves.
	KinshipZ [][]float64
}

// GroupError reports a group, or a kinship between groups, that cannot be.
type GroupError struct {
	Bird   int // the bird with the wrong group, or Unknown
	Group  int
	Other  int // the other group of a wrong kinship, or Unknown
	Reason string
}

func (e *GroupError) Error() string { return e.Say(byNumber) }

// Say implements [Named].
func (e *GroupError) Say(name Naming) string {
	switch {
	case e.Bird != Unknown:
		return fmt.Sprintf("The group of %s is given as %d: %s.", name(e.Bird), e.Group+1, e.Reason)
	case e.Other != Unknown:
		return fmt.Sprintf("The kinship between groups %d and %d %s.", e.Group+1, e.Other+1, e.Reason)
	}
	return fmt.Sprintf("The kinships between groups %s.", e.Reason)
}

// WithGroups returns the same pedigree with its unknown parents in groups. The
// error is a [*GroupError]. It panics when g.Of is not as long as the pedigree.
//
// A group stands behind its birds like one parent with many young, whose kinship
// with itself is the assumed one (Legarra et al. 2015, metafounders).
func (p *Pedigree) WithGroups(g Groups) (*Pedigree, error) {
	if len(g.Of) != p.Len() {
		panic("pedigree: groups and pedigree differ in length")
	}
	if g.KinshipZ == nil {
		g.KinshipZ = g.Kinship
	}
	n := len(g.Kinship)
	for _, k := range [2][][]float64{g.Kinship, g.KinshipZ} {
		if err := checkGroups(k, n); err != nil {
			return nil, err
		}
	}
	q := &Pedigree{
		place: p.place, row: p.row, sire: p.sire, dam: p.dam, sex: p.sex, founders: p.founders,
		groupOf: make([]int32, p.Len()),
		groups:  copied(g.Kinship),
		groupsZ: copied(g.KinshipZ),
	}
	for bird, group := range g.Of {
		if group < NoGroup || group >= n {
			return nil, &GroupError{Bird: bird, Group: group, Other: Unknown, Reason: fmt.Sprintf("there are %d groups", n)}
		}
		q.groupOf[p.place[bird]] = int32(group)
	}
	return q, nil
}

func copied(k [][]float64) [][]float64 {
	out := make([][]float64, len(k))
	for i := range k {
		out[i] = slices.Clone(k[i])
	}
	return out
}

// checkGroups makes sure that k could be a kinship: symmetric, from 0 to 1, and
// with no combination of groups that varies less than nothing.
func checkGroups(k [][]float64, n int) error {
	if len(k) != n {
		return &GroupError{Bird: Unknown, Group: Unknown, Other: Unknown, Reason: "differ in number between body and Z"}
	}
	for g := range k {
		if len(k[g]) != n {
			return &GroupError{Bird: Unknown, Group: Unknown, Other: Unknown, Reason: fmt.Sprintf("are not square: row %d has %d of %d", g+1, len(k[g]), n)}
		}
	}
	for g := range k {
		for h := range k {
			if !(k[g][h] >= 0 && k[g][h] <= 1) {
				return &GroupError{Bird: Unknown, Group: g, Other: h, Reason: fmt.Sprintf("is %v, and must be from 0 to 1", k[g][h])}
			}
			if k[g][h] != k[h][g] {
				return &GroupError{Bird: Unknown, Group: g, Other: h, Reason: "is not the same both ways"}
			}
		}
	}
	// Cholesky's steps, with room for rounding.
	const slack = 1e-9
	l := copied(k)
	for g := range l {
		pivot := l[g][g]
		if pivot < -slack {
			return contradiction()
		}
		for h := g + 1; h < n; h++ {
			if pivot <= slack {
				if math.Abs(l[h][g]) > math.Sqrt(slack) {
					return contradiction()
				}
				continue
			}
			for i := g + 1; i <= h; i++ {
				l[h][i] -= l[h][g] * l[i][g] / pivot
			}
		}
	}
	return nil
}

func contradiction() error {
	return &GroupError{
		Bird: Unknown, Group: Unknown, Other: Unknown,
		Reason: "contradict one another: groups that are close to a third must be close to each other, so raise the kinship within groups or lower that between them",
	}
}
