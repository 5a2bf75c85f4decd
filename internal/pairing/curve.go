package pairing

import (
	"context"
	"slices"
)

// Point is a plan on the curve of worth against relatedness.
type Point struct {
	// Price is a worth for one unit of relatedness at which the plan is the best one.
	Price float64
	*Plan
}

// net is worth less fines: what the curve sets against relatedness.
func (x Point) net() float64 { return x.Worth - x.Fine }

// Curve returns plans from the greatest worth, less fines, to the least relatedness, no plan being as
// good as another one in both. Each is the best at some price of relatedness, of as many
// pairs as can be made; the price in the problem plays no part. At most points plans are
// sought, where the curve bends most first: the price of the next is that at which two
// neighbours are worth the same (Aneja and Nair 1979, Bicriteria transportation problem,
// Management Science 25, 73-78, from memory).
//
// Plans that no price makes best, between those of the curve, are left out; so are plans
// that Options.Work does not reach. Value and Bound are at the price of each plan.
func Curve(ctx context.Context, p *Problem, points int, o Options) ([]Point, error) {
	if p.Kinship == nil {
		panic("pairing: a curve needs kinship")
	}
	solve := func(price float64) (Point, error) {
		q := *p
		q.Price = price
		plan, err := Best(ctx, &q, o)
		return Point{price, plan}, err
	}
	// The ends: relatedness breaks ties of worth, and worth those of relatedness. Worth is
	// told apart to a millionth of its spread, relatedness to a millionth of its own.
	size := max(spread(p.Worth), 1e-9) * float64(max(1, len(p.Worth)))
	const least, most = 1e-6, 1e6
	first, err := solve(least * size)
	if err != nil {
		return nil, err
	}
	if first.Status == Impossible || first.Status == NotFound || points < 2 {
		return []Point{first}, nil
	}
	last, err := solve(most * size)
	if err != nil {
		return nil, err
	}
	if last.Status == Impossible || last.Status == NotFound {
		return []Point{first}, nil
	}
	out := []Point{first, last}
	shut := map[[2]float64]bool{} // neighbours with nothing between
	for len(out) < points {
		// The widest gap: the triangle under two neighbours.
		at, widest := -1, 0.0
		for i := range len(out) - 1 {
			a, b := out[i], out[i+1]
			area := (a.net() - b.net()) * (a.Related - b.Related)
			if area > widest && !shut[[2]float64{a.Related, b.Related}] {
				at, widest = i, area
			}
		}
		if at < 0 {
			break
		}
		a, b := out[at], out[at+1]
		mid, err := solve((a.net() - b.net()) / (a.Related - b.Related))
		if err != nil {
			return nil, err
		}
		const same = 1e-12 // of relatedness, which is from 0 to 1
		if mid.Plan == nil || mid.Related >= a.Related-same || mid.Related <= b.Related+same || mid.net() >= a.net() || mid.net() <= b.net() {
			shut[[2]float64{a.Related, b.Related}] = true
			continue
		}
		out = slices.Insert(out, at+1, mid)
	}
	return undominated(out), nil
}

// undominated leaves out plans that another one matches in worth and relatedness.
func undominated(points []Point) []Point {
	var out []Point
	for i, a := range points {
		beaten := false
		for j, b := range points {
			as := b.net() >= a.net() && b.Related <= a.Related
			more := b.net() > a.net() || b.Related < a.Related
			beaten = beaten || as && (more || j < i)
		}
		if !beaten {
			out = append(out, a)
		}
	}
	return out
}
