package nest

import (
	"math"
	"math/rand/v2"
	"testing"
)

func dueOn(d Day) When { return When{1, []Chance{{d, 1}}} }

// TestFosterRoom_BruteForce tries every way to send each unit of every giver.
func TestFosterRoom_BruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(1962, 3))
	moves := 0
	for round := range 300 {
		rules := DefaultFosterRules(2)
		rules.Compatible[0][1], rules.Compatible[1][0] = 0.8, 0.5
		rules.Alike[0][1] = rng.IntN(2) == 0
		rules.Alike[1][0] = rules.Alike[0][1]
		rules.CanMark = rng.IntN(3) == 0
		nests := make([]FosterNest, 3+rng.IntN(3))
		for i := range nests {
			n := &nests[i]
			*n = FosterNest{Species: rng.IntN(2), Due: dueOn(Day(rng.IntN(4))), Steady: 0.9, Reared: rng.IntN(6), Lost: rng.IntN(3), Hosts: true, Most: 5, Ringed: rng.IntN(2) == 0}
			if rng.IntN(2) == 0 {
				n.Chicks = rng.IntN(4)
			}
			n.Eggs = rng.IntN(3)
			if rng.IntN(2) == 0 {
				n.Gives = Giving(1 + rng.IntN(int(Left)))
				n.Give = 1 + rng.IntN(2)
			}
		}
		const today = 5
		got := FosterRoom(nests, today, &rules)
		// Brute force.
		var unit []int
		for i := range nests {
			if nests[i].Gives != GivesNone {
				for range nests[i].units() {
					unit = append(unit, i)
				}
			}
		}
		best := 0.0
		to := make([]int, len(unit))
		var try func(k int, sum float64)
		try = func(k int, sum float64) {
			if k == len(unit) {
				for j := range nests {
					got := 0
					for u := range unit {
						if to[u] != j {
							continue
						}
						got++
						for w := range u {
							if to[w] == j && unit[w] != unit[u] && !rules.CanMark && rules.mix(&nests[unit[u]], &nests[unit[w]]) {
								return
							}
						}
					}
					if got > 0 && got+nests[j].Eggs+nests[j].Chicks > nests[j].Most {
						return
					}
				}
				best = max(best, sum)
				return
			}
			to[k] = -1
			try(k+1, sum)
			for j := range nests {
				if g, _, _ := FosterPair(nests, unit[k], j, today, &rules); g > 0 {
					to[k] = j
					try(k+1, sum+g)
				}
			}
			to[k] = -1
		}
		try(0, 0)
		if math.Abs(got.Gain-best) > 1e-9 {
			t.Fatalf("round %d: gain %v, want %v: %+v\n%+v", round, got.Gain, best, got, nests)
		}
		var sum float64
		for _, m := range got.Moves {
			sum += m.Gain
			moves += m.Eggs + m.Chicks
			if m.Mark && !rules.CanMark {
				t.Fatalf("round %d: a move needs marks that the keeper does not make: %+v", round, m)
			}
		}
		if math.Abs(sum-got.Gain) > 1e-9 {
			t.Fatalf("moves gain %v, plan %v", sum, got.Gain)
		}
	}
	t.Logf("%d eggs and chicks moved", moves)
	if moves < 100 {
		t.Error("hardly anything was tried")
	}
}

func TestFosterPair_Rules(t *testing.T) {
	rules := DefaultFosterRules(2)
	giver := FosterNest{Species: 0, Due: dueOn(10), Eggs: 4, Gives: Left}
	host := FosterNest{Species: 0, Due: dueOn(11), Eggs: 2, Hosts: true, Most: 6, Steady: 1, Reared: 4}
	with := func(change func(g, h *FosterNest, r *FosterRules)) string {
		g, h, r := giver, host, rules
		change(&g, &h, &r)
		_, _, why := FosterPair([]FosterNest{g, h}, 0, 1, 5, &r)
		return why
	}
	for _, c := range []struct {
		want   string
		change func(g, h *FosterNest, r *FosterRules)
	}{
		{"", func(g, h *FosterNest, r *FosterRules) {}},
		{"Nothing need leave this nest.", func(g, h *FosterNest, r *FosterRules) { g.Gives = GivesNone }},
		{"That pair takes none.", func(g, h *FosterNest, r *FosterRules) { h.Hosts = false }},
		{"Pairs of that species do not rear these.", func(g, h *FosterNest, r *FosterRules) { h.Species = 1 }},
		{"That nest is full.", func(g, h *FosterNest, r *FosterRules) { h.Most = 2 }},
		{"The two nests are too many days apart.", func(g, h *FosterNest, r *FosterRules) { h.Due = dueOn(14) }},
		{"Eggs do not go under chicks.", func(g, h *FosterNest, r *FosterRules) { h.Chicks = 2 }},
		{"Chicks go to chicks: that nest has none yet.", func(g, h *FosterNest, r *FosterRules) { g.Chicks, g.Due = 1, dueOn(3) }},
		{"The chicks are too old to be moved.", func(g, h *FosterNest, r *FosterRules) { g.Chicks, g.Due = 1, dueOn(-6) }},
		{"Unringed chicks of the two would be mixed up. Mark them, or ring first.", func(g, h *FosterNest, r *FosterRules) {
			g.Chicks, g.Due, h.Chicks, h.Due = 1, dueOn(3), 2, dueOn(3)
		}},
		{"", func(g, h *FosterNest, r *FosterRules) {
			g.Chicks, g.Due, h.Chicks, h.Due, r.CanMark = 1, dueOn(3), 2, dueOn(3), true
		}},
	} {
		if got := with(c.change); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}
