package nest

import (
	"math/rand/v2"
	"testing"
)

// BenchmarkPosterior is one nest of a room as a page meets it: a keeper who looks in every
// second to fourth day.
func BenchmarkPosterior(b *testing.B) {
	m := NewModel(mustProfile(b, "Gouldian finch"), DefaultRates())
	rng := rand.New(rand.NewPCG(3, 4))
	began := Day(0)
	type nest struct {
		h     History
		asked Day
	}
	var room []nest
	for len(room) < 100 {
		last := 10 + rng.IntN(60)
		s := m.draw(rng)
		if !s.lays {
			continue
		}
		var looks []Look
		for day := range last + 1 {
			s.dawn(day)
			s.hatches(day, 0, 0.5)
			if day%4 == 1 {
				l := s.seen(day, -1)
				s.take(l.EggsRemoved)
				looks = append(looks, l)
			}
			s.hatches(day, 0.5, 1)
		}
		room = append(room, nest{History{looks, &began}, Day(last)})
	}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		m.Posterior(room[i%len(room)].h, room[i%len(room)].asked)
		i++
	}
}
