package outcome

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// someTally draws a nest of so many stages; whole leaves nothing pending.
func someTally(t *rapid.T, stages int, whole bool) Tally {
	n := Tally{Reached: make([]int, stages), Pending: make([]int, stages)}
	left := rapid.IntRange(0, 7).Draw(t, "eggs")
	for j := range n.Reached {
		if j > 0 {
			before := left
			left = rapid.IntRange(0, before).Draw(t, "reached")
			if !whole {
				n.Pending[j] = rapid.IntRange(0, before-left).Draw(t, "pending")
			}
		}
		n.Reached[j] = left
	}
	n.Open = !whole && rapid.Bool().Draw(t, "open")
	return n
}

func someTallies(t *rapid.T, stages int, whole bool) []Tally {
	out := make([]Tally, rapid.IntRange(1, 12).Draw(t, "nests"))
	for i := range out {
		out[i] = someTally(t, stages, whole)
	}
	return out
}

// With nothing pending the chain is the mean over nests.
func TestStages_WholeNestsGiveTheMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nests := someTallies(t, 4, true)
		c := Stages(nests, 4)
		for j := range 4 {
			sum := 0
			for _, n := range nests {
				sum += n.Reached[j]
			}
			if want := float64(sum) / float64(len(nests)); c.Known[j] {
				within2(t, "mean", c.Mean[j], want, 1e-12)
			} else if want != 0 {
				t.Fatalf("stage %d is not known, and the mean is %v", j, want)
			}
		}
	})
}

// By hand: of 5 and 3 eggs, 3 and 1 are full, one of the first clutch is not candled yet, and one full egg is not due.
func TestStages_PendingCountsForWhatItHasPassed(t *testing.T) {
	c := Stages([]Tally{{Reached: []int{5, 3, 2}, Pending: []int{0, 1, 1}}, {Reached: []int{3, 1, 1}}}, 3)
	if !slices.Equal(c.Stages, []Count{{8, 8}, {4, 7}, {3, 3}}) {
		t.Errorf("stages %v", c.Stages)
	}
	within(t, "mean", c.Mean[2], 4.0*4/7, 1e-12)
	// Clutches of 4 and 6 eggs, and one under way with 5: two of three go beyond four, and the one that is known then goes to six.
	c = Stages([]Tally{{Reached: []int{4}}, {Reached: []int{6}}, {Reached: []int{5}, Open: true}}, 1)
	within(t, "size", c.Size, 4+2.0/3+2.0/3, 1e-12)
	if c = Stages(nil, 2); c.Known[0] || c.Size != 0 {
		t.Errorf("of no nests: %+v", c)
	}
}

// Leaving the last stages of some nests to come gives the same chain on the average: here over many rooms.
func TestStages_CensoredRoomsAgreeWithWholeOnes(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	var nests []Tally
	want := 4.5 * 0.8 * 0.7
	for range 20000 {
		eggs := 3 + rng.IntN(4)
		full := binomialDraw(rng, eggs, 0.8)
		out := binomialDraw(rng, full, 0.7)
		n := Tally{Reached: []int{eggs, full, out}}
		switch rng.IntN(4) {
		case 0: // not candled
			n = Tally{Reached: []int{eggs, 0, 0}, Pending: []int{0, eggs, 0}}
		case 1: // candled, not due
			n = Tally{Reached: []int{eggs, full, 0}, Pending: []int{0, 0, full}}
		}
		if at := 1 + rng.IntN(12); at <= eggs { // being laid still, for all that is known
			n = Tally{Reached: []int{at, 0, 0}, Pending: []int{0, at, 0}, Open: true}
		}
		nests = append(nests, n)
	}
	c := Stages(nests, 3)
	within(t, "young a nest", c.Mean[2], want, 0.03)
	within(t, "eggs", c.Size, 4.5, 0.03)
	for name, rng := range map[string]*rand.Rand{"expected": nil, "drawn": rng} {
		sum := 0.0
		for _, row := range NewCompleter(nests, 3, rng).Complete(nests) {
			sum += row[2]
		}
		within(t, name, sum/float64(len(nests)), want, 0.05)
	}
}

func TestComplete_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nests := someTallies(t, 4, rapid.Bool().Draw(t, "whole"))
		rng := rand.New(rand.NewPCG(1, rapid.Uint64().Draw(t, "start")))
		for _, r := range []*rand.Rand{nil, rng} {
			for i, row := range NewCompleter(nests, 4, r).Complete(nests) {
				pending := nests[i].Open
				for j, v := range row {
					pending = pending || nests[i].Pending[j] > 0
					least := float64(nests[i].Reached[j])
					if !(v >= least) || (j > 0 && v > row[j-1]+1e-12) || (!pending && v != least) || (r != nil && v != math.Trunc(v)) {
						t.Fatalf("nest %+v ends as %v", nests[i], row)
					}
				}
			}
		}
	})
}

func TestLinked(t *testing.T) {
	of, sets := Linked(6, []int{0, 0, 1, 2, -1, -1}, []int{5, 6, 6, 7, 7, -1})
	if want := []int{0, 0, 0, 1, 1, 2}; !slices.Equal(of, want) || sets != 3 {
		t.Errorf("%v in %d sets, want %v", of, sets, want)
	}
}

func TestStages_PanicsOnMistakes(t *testing.T) {
	for name, n := range map[string]Tally{
		"grows":        {Reached: []int{2, 3}},
		"short":        {Reached: []int{2}},
		"over-pending": {Reached: []int{2, 1}, Pending: []int{0, 2}},
		"below 0":      {Reached: []int{-1, -1}},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			Stages([]Tally{n}, 2)
		}()
	}
}

// Nests of 60 pairs, two of each, with luck of their own and a fifth under way: the 9 in 10 interval of young a nest holds the truth
// about that often. An interval by eggs alone would hold it too seldom.
func TestStagesRange_HoldsAsOftenAsItSays(t *testing.T) {
	rng := rand.New(rand.NewPCG(60, 2))
	const rooms = 300
	truth := 5 * 0.7 * 0.8
	held := 0
	for range rooms {
		var nests []Tally
		var set []int
		for pair := range 60 {
			p := betaDraw(rng, Beta{3.5, 1.5})
			for range 2 {
				full := binomialDraw(rng, 5, p)
				n := Tally{Reached: []int{5, full, binomialDraw(rng, full, 0.8)}}
				if rng.IntN(5) == 0 {
					n = Tally{Reached: []int{5, full, 0}, Pending: []int{0, 0, full}}
				}
				nests, set = append(nests, n), append(set, pair)
			}
		}
		r := StagesRange(nests, set, 60, 3, 0.9, 200, rng)
		if r.FewSets || r.Means[2].Effect != r.Mean[2] {
			t.Fatalf("%+v", r)
		}
		if m := r.Means[2]; m.Low <= truth && truth <= m.High {
			held++
		}
	}
	within(t, "held", float64(held)/rooms, 0.9, 0.05)
}

func TestStagesRange_Few(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	if r := StagesRange(nil, nil, 0, 3, 0.8, 5, rng); r.Known[0] || !r.FewSets || len(r.Means) != 3 {
		t.Errorf("of nothing: %+v", r)
	}
	r := StagesRange([]Tally{{Reached: []int{4, 0, 0}}}, []int{0}, 1, 3, 0.8, 5, rng)
	if r.Ratios[0] != (Part{4, 4, 4}) || r.Ratios[1] != (Part{}) || r.Known[2] || !r.FewSets {
		t.Errorf("of one nest: %+v", r)
	}
}
