package nest

import (
	"testing"
)

func TestScratch(t *testing.T) {
	m := NewModel(mustProfile(t, "Gouldian finch"), DefaultRates())
	zero, three, five := 0, 3, 5
	start := Day(-10)
	h := History{Looks: []Look{{Day: 0, Minute: -1, Eggs: &zero}, {Day: 4, Minute: -1, Eggs: &three}, {Day: 8, Minute: -1, Eggs: &five}, {Day: 14, Minute: -1, Eggs: &five, Fertile: 3, Clear: 2}}, Began: &start}
	for _, asked := range []Day{14} {
		p := m.Posterior(h, asked)
		t.Log(p.Fit, p.Evidence, p.Clutch, p.Fertile, p.Hatched, p.EggsAlive, p.Deserted, p.NoneHatches, p.Young)
		for k := range kinds {
			a, b, c, _ := p.Event(k).Window(0.9)
			t.Log(k, p.Event(k).Chance, a, b, c, p.Event(k).Days)
		}
	}
}

func BenchmarkPosterior(b *testing.B) {
	m := NewModel(mustProfile(b, "Gouldian finch"), DefaultRates())
	zero, three, five := 0, 3, 5
	start := Day(-10)
	h := History{Looks: []Look{{Day: 0, Minute: -1, Eggs: &zero}, {Day: 4, Minute: -1, Eggs: &three}, {Day: 8, Minute: -1, Eggs: &five}, {Day: 14, Minute: -1, Eggs: &five, Fertile: 3, Clear: 2}}, Began: &start}
	for b.Loop() {
		m.Posterior(h, 14)
	}
}
