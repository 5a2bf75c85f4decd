package nest

// When is an event of a clutch as chances: the chance that it happens at all, and the
// chance of each day given that it does.
type When struct {
	Chance float64  // from 0 to 1
	Days   []Chance // in order of days, without gaps; their P sum to 1. Nil when Chance is 0.
}

// Quantile returns the first day by which the event has come with at least the chance q,
// given that it comes; ok is false when it cannot.
func (w When) Quantile(q float64) (day Day, ok bool) {
	var sum float64
	for _, d := range w.Days {
		sum += d.P
		if sum >= q-1e-12 {
			return d.Day, true
		}
	}
	if n := len(w.Days); n > 0 {
		return w.Days[n-1].Day, true
	}
	return 0, false
}

// By returns the chance that the event has come by the end of a day, given that it comes.
func (w When) By(day Day) float64 {
	var sum float64
	for _, d := range w.Days {
		if d.Day > day {
			break
		}
		sum += d.P
	}
	return min(sum, 1)
}

// On returns the chance that the event falls on a day, given that it comes.
func (w When) On(day Day) float64 {
	if len(w.Days) == 0 {
		return 0
	}
	if i := int(day - w.Days[0].Day); i >= 0 && i < len(w.Days) {
		return w.Days[i].P
	}
	return 0
}

// Between returns the chance that the event falls on one of the days from a to b.
func (w When) Between(a, b Day) float64 {
	var sum float64
	for _, d := range w.Days {
		if d.Day >= a && d.Day <= b {
			sum += d.P
		}
	}
	return min(sum, 1)
}

// Window returns the run of whole days from the (1-level)/2 quantile to the (1+level)/2
// quantile, and the chance mass that it holds, which is the level or more since days are
// whole.
func (w When) Window(level float64) (from, to Day, mass float64, ok bool) {
	from, ok = w.Quantile((1 - level) / 2)
	if !ok {
		return 0, 0, 0, false
	}
	to, _ = w.Quantile((1 + level) / 2)
	return from, to, w.Between(from, to), true
}

// Mean returns the mean day, as a share of days after day 0.
func (w When) Mean() float64 {
	var s float64
	for _, d := range w.Days {
		s += d.P * float64(d.Day)
	}
	return s
}

// later moves an event by whole days.
func (w When) later(days int) When {
	if len(w.Days) == 0 {
		return When{}
	}
	out := When{w.Chance, make([]Chance, len(w.Days))}
	for i, d := range w.Days {
		out.Days[i] = Chance{d.Day + Day(days), d.P}
	}
	return out
}

// when turns weights by day into an event that happens with the chance of their sum.
func when(zero Day, lo int, w []float64, all float64) When {
	a, b := 0, len(w)
	var sum float64
	for _, x := range w {
		sum += x
	}
	if !(sum > 0) || !(all > 0) {
		return When{}
	}
	for w[a] <= 0 {
		a++
	}
	for w[b-1] <= 0 {
		b--
	}
	e := When{Chance: min(sum/all, 1), Days: make([]Chance, b-a)}
	for i := range e.Days {
		e.Days[i] = Chance{zero + Day(lo+a+i), w[a+i] / sum}
	}
	return e
}
