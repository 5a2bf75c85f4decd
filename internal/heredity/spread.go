package heredity

import (
	"context"
	"math"
)

// A Spread is a posterior with the range of each probability over what is open in the
// model.
type Spread struct {
	*Posterior // under what Assumed says
	Variants   []string

	low, high [][]Marginal
}

// InferRange answers as [Infer] does, and once more for every variant of the model: see
// [Model.Variants]. Where the records clash in one variant only, it has no say.
func InferRange(ctx context.Context, m *Model, birds []Bird, o Options) (*Spread, error) {
	main, err := Infer(ctx, m, birds, o)
	if err != nil {
		return nil, err
	}
	s := &Spread{Posterior: main}
	copyOf := func() [][]Marginal {
		var out [][]Marginal
		for _, row := range main.birds {
			var r []Marginal
			for _, x := range row {
				r = append(r, Marginal{Cock: append([]float64{}, x.Cock...), Hen: append([]float64{}, x.Hen...)})
			}
			out = append(out, r)
		}
		return out
	}
	s.low, s.high = copyOf(), copyOf()
	for _, v := range m.Variants() {
		if v.Model == m {
			break // nothing is open
		}
		p, err := Infer(ctx, v.Model, birds, o)
		if _, clash := err.(*ConflictError); clash {
			continue
		}
		if err != nil {
			return nil, err
		}
		s.Variants = append(s.Variants, v.Label)
		for i := range p.birds {
			for l := range p.birds[i] {
				for _, sex := range []Sex{Cock, Hen} {
					for g, x := range p.birds[i][l].Of(sex) {
						lo, hi := s.low[i][l].Of(sex), s.high[i][l].Of(sex)
						lo[g], hi[g] = math.Min(lo[g], x), math.Max(hi[g], x)
					}
				}
			}
		}
	}
	return s, nil
}

// Low and High return the ends of the range of each probability.
func (s *Spread) Low(bird, locus int) Marginal { return s.low[bird][locus] }

// High returns the upper ends: see Low.
func (s *Spread) High(bird, locus int) Marginal { return s.high[bird][locus] }

// wideRange is the difference, in probability, from which an answer is marked.
const wideRange = 0.10

// Marked reports whether some probability of a bird at a locus differs by over 10 points
// over the range: the answer then hangs on what was assumed.
func (s *Spread) Marked(bird, locus int) bool {
	for _, sex := range []Sex{Cock, Hen} {
		lo, hi := s.low[bird][locus].Of(sex), s.high[bird][locus].Of(sex)
		for g := range lo {
			if hi[g]-lo[g] > wideRange {
				return true
			}
		}
	}
	return false
}
