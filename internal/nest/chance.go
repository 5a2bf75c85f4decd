package nest

// Chance is the chance that an event falls on one day.
type Chance struct {
	Day Day
	P   float64
}

// Chances returns the chance of each day from Early to Late, in order; they sum to 1.
// It returns nil when the event is not known.
//
// This is a first form, a triangle in whole days: the weight climbs by equal steps from
// the earliest day to the likely one and falls by equal steps to the latest,
//
//	w(d) = (d - early + 1) / (likely - early + 1)   up to the likely day
//	w(d) = (late - d + 1) / (late - likely + 1)     after it
//
// Days that a look has shown to be too early are cut off and the rest is scaled up to 1.
// It knows nothing of the pair's own habits and takes all its shape from three days.
func (e Event) Chances() []Chance {
	if !e.Known {
		return nil
	}
	early, likely, late := e.shapeEarly, e.shapeLikely, e.shapeLate
	if e.Seen || early > e.Early || late < e.Late {
		early, likely, late = e.Early, e.Likely, e.Late
	}
	days := make([]Chance, 0, e.Late-e.Early+1)
	var sum float64
	for d := e.Early; d <= e.Late; d++ {
		w := float64(d-early+1) / float64(likely-early+1)
		if d > likely {
			w = float64(late-d+1) / float64(late-likely+1)
		}
		days = append(days, Chance{d, w})
		sum += w
	}
	for i := range days {
		days[i].P /= sum
	}
	return days
}

// Span returns the shortest run of days that holds the event with at least the chance
// level, from 0 to 1; ok is false when the event is not known.
func (e Event) Span(level float64) (from, to Day, ok bool) {
	days := e.Chances()
	if len(days) == 0 {
		return 0, 0, false
	}
	top := 0
	for i := range days {
		if days[i].P > days[top].P {
			top = i
		}
	}
	// The chances climb to one top and fall from it, so taking the greater neighbour
	// each time gives the shortest run.
	a, b, sum := top, top, days[top].P
	for sum < level-1e-9 && (a > 0 || b < len(days)-1) {
		if b == len(days)-1 || a > 0 && days[a-1].P > days[b+1].P {
			a--
			sum += days[a].P
		} else {
			b++
			sum += days[b].P
		}
	}
	return days[a].Day, days[b].Day, true
}

// EightInTen returns the days between which the event falls 8 times in 10.
func (e Event) EightInTen() (from, to Day, ok bool) { return e.Span(0.8) }
