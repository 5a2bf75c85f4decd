package feed

import "slices"

// sortWeighings puts weighings in order of their days, keeping the order within a day.
func sortWeighings(w []Weighing) {
	slices.SortStableFunc(w, func(a, b Weighing) int { return int(a.Day - b.Day) })
}

// median returns the middle of a list, which it sorts; 0 for an empty one.
func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	switch {
	case n == 0:
		return 0
	case n%2 == 1:
		return v[n/2]
	}
	return (v[n/2-1] + v[n/2]) / 2
}

// trend returns the median slope between every two weighings since a day, in g a week
// (Theil 1950, Sen 1968); one slip of the scale does not turn it. 0 when there are no two days.
func trend(sorted []Weighing, since Day) float64 {
	var slopes []float64
	for i, a := range sorted {
		for _, b := range sorted[i+1:] {
			if a.Day >= since && b.Day > a.Day {
				slopes = append(slopes, 7*(b.Grams-a.Grams)/float64(b.Day-a.Day))
			}
		}
	}
	return median(slopes)
}

// sortSteps puts steps in order of time, then of batch and kind.
func sortSteps(s []Step) {
	slices.SortStableFunc(s, func(a, b Step) int {
		if c := a.At.Compare(b.At); c != 0 {
			return c
		}
		if a.Batch != b.Batch {
			return a.Batch - b.Batch
		}
		return int(a.Kind - b.Kind)
	})
}

// sortGives puts lines in order of what is given.
func sortGives(g []Give) {
	slices.SortStableFunc(g, func(a, b Give) int { return int(a.Kind - b.Kind) })
}
