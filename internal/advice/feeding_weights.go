package advice

import (
	"cmp"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// BirdWeight is a bird whose weight was judged.
type BirdWeight struct {
	Bird  *aviary.Bird
	Place *aviary.Place
	WeightStory
}

// Level says how much the weight matters; a bird that is fine, or of which nothing can be said, is below good to know.
func (w BirdWeight) Level() feed.Level {
	level := feed.Info - 1
	if w.Verdict == feed.Thin || w.Verdict == feed.Fat {
		level = feed.Info
	}
	for _, n := range w.Notes {
		if n.Level > feed.Info {
			level = max(level, n.Level)
		}
	}
	return level
}

// Weights judges the last weighing of every bird in the room that was ever weighed, the most pressing first; without is how many
// have no weighing.
func (d *Desk) Weights() (out []BirdWeight, without int) {
	for _, p := range d.Room.Places() {
		for _, b := range d.Room.In(p.ID) {
			if len(b.Weights) == 0 {
				without++
				continue
			}
			out = append(out, BirdWeight{b, p, d.weight(b)})
		}
	}
	slices.SortStableFunc(out, func(a, b BirdWeight) int { return cmp.Compare(b.Level(), a.Level()) })
	return out, without
}
