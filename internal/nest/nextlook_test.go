package nest

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"testing"
)

// certain is a need whose window is known for certain: from a to b.
func certain(a, b Day) Need {
	return Need{Kind: LookCandle, Lid: true, Chance: 1, event: When{1, []Chance{{a, 1}}}, lo: 0, hi: int(b - a)}
}

// TestPlanLooks_BruteForce tries every set of days for a few nests with certain windows.
func TestPlanLooks_BruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(1985, 32))
	const days = 9
	var gap, plans int
	for range 400 {
		here := make([]bool, days)
		for i := range here {
			here[i] = rng.IntN(4) > 0
		}
		nests := make([]WallNest, 1+rng.IntN(3))
		for i := range nests {
			for range 1 + rng.IntN(3) {
				a := Day(rng.IntN(days))
				nests[i].Needs = append(nests[i].Needs, certain(a, min(a+Day(rng.IntN(4)), days-1)))
			}
		}
		got := PlanLooks(nests, 0, here)
		// hit says that a set of days serves a need; one that no day serves is left aside.
		open := 0
		for i, is := range here {
			if is {
				open |= 1 << i
			}
		}
		hit := func(set int, n *Need) bool {
			for d := range Day(days) {
				if set&(1<<d) != 0 && n.Serves(d) > 0.99 {
					return true
				}
			}
			return false
		}
		away := 0
		fewest := make([]int, len(nests))
		for i := range nests {
			var can []*Need
			for j := range nests[i].Needs {
				if n := &nests[i].Needs[j]; hit(open, n) {
					can = append(can, n)
				} else {
					away++
				}
			}
			fewest[i] = days
			for set := range 1 << days {
				if set&^open != 0 || bits.OnesCount(uint(set)) >= fewest[i] {
					continue
				}
				ok := true
				for _, n := range can {
					ok = ok && hit(set, n)
				}
				if ok {
					fewest[i] = bits.OnesCount(uint(set))
				}
			}
		}
		want := 0
		for _, n := range fewest {
			want += n
		}
		// The fewest visits with so few lids.
		leastVisits := days
		for set := range 1 << days {
			if set&^open != 0 || bits.OnesCount(uint(set)) >= leastVisits {
				continue
			}
			total := 0
			for i := range nests {
				best := days + 1
				for sub := set; ; sub = (sub - 1) & set {
					ok := true
					for j := range nests[i].Needs {
						if n := &nests[i].Needs[j]; hit(open, n) && !hit(sub, n) {
							ok = false
						}
					}
					if ok {
						best = min(best, bits.OnesCount(uint(sub)))
					}
					if sub == 0 {
						break
					}
				}
				total += best
			}
			if total == want {
				leastVisits = bits.OnesCount(uint(set))
			}
		}
		if got.Lids != want || got.LeastLids != want {
			t.Fatalf("%d lids, bound %d, want %d", got.Lids, got.LeastLids, want)
		}
		if len(got.Away) != away {
			t.Fatalf("away %v, want %d", got.Away, away)
		}
		if got.LeastVisits > leastVisits || len(got.Visits) < leastVisits {
			t.Fatalf("%d visits, bound %d, want %d", len(got.Visits), got.LeastVisits, leastVisits)
		}
		gap += len(got.Visits) - leastVisits
		plans++
		// Every need is served by a day on which the keeper is there.
		for i := range nests {
			for j := range nests[i].Needs {
				n, served := &nests[i].Needs[j], false
				for _, s := range got.Stops {
					if s.Nest == i && here[s.Day] && n.Serves(s.Day) > 0.99 {
						served = true
					}
				}
				if !served && hit(open, n) {
					t.Fatalf("need %d of nest %d is not served", j, i)
				}
			}
		}
	}
	t.Logf("%d plans: lids the least always, visits %d more than the least in all", plans, gap)
	if gap > plans/20 {
		t.Errorf("%d visits too many", gap)
	}
}

// wall is a room of nests of the model at all stages, with what each needs.
func wall(tb testing.TB, nests int) (all []WallNest, truth []*nestling, today Day) {
	m := NewModel(mustProfile(tb, "Gouldian finch"), DefaultRates())
	rng := rand.New(rand.NewPCG(42, 100))
	for range nests {
		last := 15 + rng.IntN(35)
		s, looks := m.play(rng, 3, last)
		// Every nest is moved so that today is day 60 for all.
		shift := Day(60 - last)
		for i := range looks {
			looks[i].Day += shift
		}
		began := shift
		h := History{looks, &began}
		p := m.Posterior(h, 60)
		all = append(all, WallNest{m.Needs(h, p)})
		for _, d := range []*int{&s.first, &s.sit, &s.done, &s.due, &s.out} {
			if *d != far {
				*d += int(shift)
			}
		}
		truth = append(truth, s)
	}
	return all, truth, 60
}

func TestPlanLooks_CatchesAsOftenAsItSays(t *testing.T) {
	all, truth, today := wall(t, 1500)
	here := make([]bool, 42)
	for i := range here {
		here[i] = i%7 != 3
	}
	plan := PlanLooks(all, today, here)
	type sum struct{ n, p, held float64 }
	by := map[bool]*sum{false: {}, true: {}}
	for _, s := range plan.Stops {
		for _, c := range s.For {
			n := &all[s.Nest].Needs[c.Need]
			w := truth[s.Nest]
			at := far
			switch c.Kind {
			case LookCount:
				at = w.done
			case LookCandle:
				at = w.sit
			case LookChicks, LookRing:
				if w.hatched > 0 {
					at = w.due
				}
			default:
				continue
			}
			if at == far {
				continue // given that the event comes
			}
			x := by[c.P >= Enough]
			x.n++
			x.p += c.P
			if d := int(s.Day) - at; d >= n.lo && d <= n.hi {
				x.held++
			}
		}
	}
	for enough, x := range by {
		t.Logf("enough %v: %v looks, foretold %.3f, held %.3f", enough, x.n, x.p/x.n, x.held/x.n)
		if x.n > 100 && (x.held-x.p)/x.n < -0.03 {
			t.Errorf("enough %v: held %.3f of the foretold %.3f", enough, x.held/x.n, x.p/x.n)
		}
	}
	t.Logf("%d lid-lifts in six weeks instead of %d; %d visits, at least %d", plan.Lids, plan.Daily, len(plan.Visits), plan.LeastVisits)
	if plan.Lids != plan.LeastLids || plan.Lids*4 > plan.Daily {
		t.Errorf("%d lids, bound %d, daily %d", plan.Lids, plan.LeastLids, plan.Daily)
	}
}

// A nest whose first chick is due about day 20: the day to look for chicks, to candle and to
// ring is worth more than the quiet days between, which are worth no look.
func TestValues_QuietDaysAreLeftAlone(t *testing.T) {
	m := NewModel(mustProfile(t, "Gouldian finch"), DefaultRates())
	zero, three, five := 0, 3, 5
	began := Day(-5)
	h := History{[]Look{{Day: 1, Minute: -1, Eggs: &zero}, {Day: 5, Minute: -1, Eggs: &three}, {Day: 9, Minute: -1, Eggs: &five}}, &began}
	p := m.Posterior(h, 9)
	v := m.Values(h, p, 10, 30, Care{})
	at := func(d Day) LookValue { return v[d-10] }
	hatch, _ := p.Event(Hatch).Quantile(0.5)
	ring, _ := p.Event(Ring).Quantile(0.5)
	sit, _ := p.Event(SittingFrom).Quantile(0.5)
	for _, d := range []Day{hatch + 1, ring + 2, sit + 7} {
		if at(d).Net() <= 0 || len(at(d).Parts) == 0 {
			t.Errorf("day %d is worth a look: %+v", d, at(d))
		}
	}
	for _, d := range []Day{hatch - 2, ring + 9} {
		if at(d).Net() > 0 {
			t.Errorf("day %d is worth no look: %+v", d, at(d))
		}
	}
	shy := m.Values(h, p, 10, 30, Care{Touchy: 2, FirstTime: true})
	for i := range v {
		if shy[i].Gain != v[i].Gain || shy[i].Cost <= 2.9*v[i].Cost {
			t.Errorf("day %d: a shy first pair costs %v against %v", v[i].Day, shy[i].Cost, v[i].Cost)
		}
	}
	if at(hatch).Cost <= at(ring+9).Cost*1.5 {
		t.Errorf("a look costs more about the hatch: %v against %v", at(hatch).Cost, at(ring+9).Cost)
	}
	if testing.Verbose() {
		for _, x := range v {
			fmt.Printf("%d %.2f-%.2f %v\n", x.Day, x.Gain, x.Cost, x.Parts)
		}
	}
}

func BenchmarkPlanLooks_100CagesSixWeeks(b *testing.B) {
	all, _, today := wall(b, 100)
	here := make([]bool, 42)
	for i := range here {
		here[i] = i%7 != 3
	}
	for b.Loop() {
		PlanLooks(all, today, here)
	}
}
