package nest

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestLearn_FindsARoomsOwnWays lets a room differ from its species: the eggs take a day
// longer, clutches are an egg smaller, more eggs are clear. Forty finished clutches are
// learned from; the values must move most of the way, and clutches that were not learned
// from must be foretold better.
func TestLearn_FindsARoomsOwnWays(t *testing.T) {
	p := mustProfile(t, "Gouldian finch")
	species := NewModel(p, DefaultRates())
	odd, rates := p, DefaultRates()
	odd.Incubation = Range{14, 15.5, 17, true}
	odd.ClutchSize = Range{3, 4.3, 6, true}
	rates.Fertile.Mean = 0.6
	room := NewModel(odd, rates)
	rng := rand.New(rand.NewPCG(40, 41))
	began := Day(0)
	var clutches []History
	for len(clutches) < 80 {
		if s, looks := room.play(rng, 3, 80); s.lays {
			clutches = append(clutches, History{looks, &began})
		}
	}
	got := species.Learn(clutches[:40])
	by := map[string]Move{}
	for _, m := range got.Moves {
		by[m.What] = m
		t.Logf("%-24s %.2f → %.2f %s, weight %.2f, %.1f clutches", m.What, m.Before, m.After, m.Unit, m.Weight, m.Clutches)
		if !(m.Weight >= 0 && m.Weight < 1) || math.IsNaN(m.After) || m.Clutches > 40 {
			t.Errorf("%+v", m)
		}
	}
	for what, truth := range map[string]float64{"sitting": room.incubation.mean(), "clutch": room.clutch.mean(), "full eggs": 0.6} {
		m := by[what]
		if share := (m.After - m.Before) / (truth - m.Before); share < 0.3 || share > 1.3 {
			t.Errorf("%s: moved %.2f of the way from %v to %v", what, share, m.Before, truth)
		}
	}
	var gain float64
	for _, h := range clutches[40:] {
		last := h.Looks[len(h.Looks)-1].Day
		gain += got.Model.Posterior(h, last).Evidence - species.Posterior(h, last).Evidence
	}
	t.Logf("clutches not learned from are %.2f likelier on the log scale, each", gain/40)
	if gain < 0 {
		t.Errorf("learning made new clutches less likely: %v", gain)
	}
	if m := species.Learn(nil); m.Model != species || len(m.Moves) != 0 {
		t.Error("nothing learned from must change nothing")
	}
}

// TestLearn_StaysWhenTheRoomIsLikeItsSpecies: clutches of the species itself leave it about
// where it was.
func TestLearn_StaysWhenTheRoomIsLikeItsSpecies(t *testing.T) {
	m := NewModel(mustProfile(t, "Zebra finch"), DefaultRates())
	rng := rand.New(rand.NewPCG(6, 7))
	began := Day(0)
	var clutches []History
	for len(clutches) < 40 {
		if s, looks := m.play(rng, 3, 80); s.lays {
			clutches = append(clutches, History{looks, &began})
		}
	}
	for _, v := range m.Learn(clutches).Moves {
		// Three standard errors of forty clutches, pulled back by the prior.
		tol := map[string]float64{"days": 3, "eggs": 0.5, "egg number": 0.5, "of 1": 0.08}[v.Unit]
		if math.Abs(v.After-v.Before) > tol {
			t.Errorf("%+v", v)
		}
	}
}
