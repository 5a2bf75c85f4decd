package pairing

import (
	"context"
	"math"
	"slices"
)

// Change is what it takes to have a plan otherwise.
type Change struct {
	// Plan is the best one with the change. Its status is Impossible where there is none.
	Plan *Plan
	// Cost is the value given up. The true cost lies from Low to High: they differ where one
	// of the two plans is not proved.
	Cost, Low, High float64
	// Fewer is how many pairs less the changed plan has.
	Fewer int
	// Lost are the pairs that come apart, New those that take their place.
	Lost, New []Pair
}

func changed(before, after *Plan) *Change {
	c := &Change{Plan: after}
	if after.Status == Impossible || after.Status == NotFound {
		return c
	}
	c.Cost = before.Value - after.Value
	c.Low, c.High = before.Value-after.Bound, before.Bound-after.Value
	c.Fewer = len(before.Pairs) - len(after.Pairs)
	for _, x := range before.Pairs {
		if !after.Has(x) {
			c.Lost = append(c.Lost, x)
		}
	}
	for _, x := range after.Pairs {
		if !before.Has(x) {
			c.New = append(c.New, x)
		}
	}
	return c
}

// Insist says what it costs to have a pair that the plan has not: the answer to “why not
// these two”. The plan is one that Best gave for the problem.
func Insist(ctx context.Context, p *Problem, plan *Plan, c Pair, o Options) (*Change, error) {
	q := *p
	q.Locked = append(slices.Clone(p.Locked), c)
	after, err := Best(ctx, &q, o)
	if err != nil {
		return nil, err
	}
	return changed(plan, after), nil
}

// Without says what it costs to do without a pair that the plan has: the answer to “why
// these two”.
func Without(ctx context.Context, p *Problem, plan *Plan, c Pair, o Options) (*Change, error) {
	q := *p
	rows, columns := p.size()
	q.Forbidden = make([][]bool, rows)
	for i := range q.Forbidden {
		q.Forbidden[i] = make([]bool, columns)
		if p.Forbidden != nil {
			copy(q.Forbidden[i], p.Forbidden[i])
		}
	}
	q.Forbidden[c.Cock][c.Hen] = true
	after, err := Best(ctx, &q, o)
	if err != nil {
		return nil, err
	}
	return changed(plan, after), nil
}

// Others returns the next best plans with as many pairs as a plan has, best first. Each
// differs from it and from those before in differ pairs at least (2 is the fewest that
// two sets of the same birds can differ in). There may be fewer than asked for.
//
// Where plans are not proved they are the best found, in the order of their values.
func Others(ctx context.Context, p *Problem, plan *Plan, count, differ int, o Options) ([]*Plan, error) {
	q := *p
	q.Limits = slices.Clone(p.Limits)
	var out []*Plan
	last := plan
	for len(out) < count && len(plan.Pairs) > 0 {
		q.Limits = append(q.Limits, p.unlike(last, max(1, differ)))
		next, err := best(ctx, &q, o, len(plan.Pairs))
		if err != nil {
			return nil, err
		}
		if next.Status == Impossible || next.Status == NotFound {
			break
		}
		next.Amounts = next.Amounts[:len(p.Limits)]
		out, last = append(out, next), next
	}
	slices.SortStableFunc(out, func(a, b *Plan) int {
		switch {
		case a.Value > b.Value:
			return -1
		case a.Value < b.Value:
			return 1
		}
		return 0
	})
	return out, nil
}

// unlike is the limit that a plan shares all but so many pairs with another one.
func (p *Problem) unlike(plan *Plan, differ int) Limit {
	rows, columns := p.size()
	l := Limit{Least: math.Inf(-1), Most: float64(max(0, len(plan.Pairs)-differ))}
	for range rows {
		l.Amount = append(l.Amount, make([]float64, columns))
	}
	for _, c := range plan.Pairs {
		l.Amount[c.Cock][c.Hen] = 1
	}
	return l
}
