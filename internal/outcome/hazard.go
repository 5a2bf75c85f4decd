package outcome

import (
	"context"
	"fmt"
	"math"
)

// Wait is one pair's wait for its first egg (or another first thing), and what kind of pair it is: a species and an age
// class, say.
type Wait struct {
	Spell
	Kind int
}

// Hazard is the chance, day by day, that a pair lays which has not laid yet, by kind. The kinds lean on each other, and each
// step of days on its neighbours through a common slope. As with [Mixed], one goroutine at a time may ask.
type Hazard struct {
	Fit   *Mixed
	Kinds int
	Width Days // days in a step
	Steps int  // as far as any pair was watched

	waits []Wait
	rows  []hazardRow
	stepT bool // steps have a term of their own
	kindT bool
}

// hazardRow counts, for a kind and a step, the days that pairs waited, and the events on them.
type hazardRow struct {
	kind, step int
	Count
}

// stepOf is the step of a day. The first has days 1 to width, and day 0 with it.
func stepOf(day, width Days) int { return int(max(day-1, 0) / width) }

// hazardRows counts days and events. Spells begin on day 0 or later.
func hazardRows(waits []Wait, kinds int, width Days) (rows []hazardRow, steps int) {
	at := map[[2]int]int{}
	for _, w := range waits {
		switch {
		case w.From < 0 || w.To < w.From:
			panic(fmt.Sprintf("outcome: a wait from day %d to day %d", w.From, w.To))
		case w.Kind < 0 || w.Kind >= kinds:
			panic(fmt.Sprintf("outcome: kind %d of %d", w.Kind, kinds))
		}
		for s := stepOf(w.From, width); s <= stepOf(w.To, width); s++ {
			first, last := Days(s)*width+1, Days(s+1)*width
			if s == 0 {
				first = 0
			}
			key := [2]int{w.Kind, s}
			i, ok := at[key]
			if !ok {
				i = len(rows)
				at[key] = i
				rows = append(rows, hazardRow{kind: w.Kind, step: s})
			}
			rows[i].N += int(min(last, w.To) - max(first, w.From) + 1)
			if w.Event && s == stepOf(w.To, width) {
				rows[i].K++
			}
			steps = max(steps, s+1)
		}
	}
	return rows, steps
}

// fewSteps is how many steps there must be for them to have a spread of their own about the slope.
const fewSteps = 4

// FitHazard fits the chance of laying on a day as a logistic regression (discrete-time hazard: Cox 1972, section 6; Singer
// and Willett 1993) on the logarithm of the day, with random intercepts by kind and by step of some days. A day counts when
// the pair was watched on it, so that pairs still waiting, and pairs that came later into the books, are counted as far
// as they go. Kinds with few pairs are drawn towards all. The priors are weak ones, unless others are given for the
// intercept and the slope.
//
// Parting a pair because it does not lay breaks the assumption that the end of watching says nothing. Nothing here knows
// of pairs that never lay, but for a slope that falls.
func FitHazard(ctx context.Context, waits []Wait, kinds int, width Days, prior Prior) (*Hazard, error) {
	if width < 1 || kinds < 1 {
		panic(fmt.Sprintf("outcome: %d kinds in steps of %d days", kinds, width))
	}
	h := &Hazard{Kinds: kinds, Width: width, waits: waits}
	h.rows, h.Steps = hazardRows(waits, kinds, width)
	m := Model{Prior: prior}
	byKind, byStep := Term{Levels: kinds}, Term{Levels: h.Steps}
	for _, r := range h.rows {
		m.Counts = append(m.Counts, r.Count)
		m.X = append(m.X, h.columns(float64(r.step)))
		byKind.Of, byStep.Of = append(byKind.Of, r.kind), append(byStep.Of, r.step)
	}
	if len(h.rows) == 0 {
		m.Prior.Fixed = nil
	}
	if h.kindT = kinds > 1; h.kindT {
		m.Terms = append(m.Terms, byKind)
	}
	if h.stepT = h.Steps >= fewSteps; h.stepT {
		m.Terms = append(m.Terms, byStep)
	}
	fit, err := FitMixed(ctx, m)
	if err != nil {
		return nil, err
	}
	h.Fit = fit
	return h, nil
}

// columns are the intercept and the logarithm of the middle day of a step.
func (h *Hazard) columns(step float64) []float64 {
	return []float64{1, math.Log(step*float64(h.Width) + (float64(h.Width)+1)/2)}
}

// Within returns the chance that a pair of a kind lays in the k days after a day, if it had not by the end of that
// day, with the interval on the scale log(−log). The kind may be [Fresh]. Steps that nobody was watched in follow the
// slope, with the spread of steps in the interval, and AtLeast is false for them: the model extrapolates. Known is false
// when no pair was watched at all.
func (h *Hazard) Within(kind int, day, k Days, level float64) Chance {
	z := normal(level)
	if kind != Fresh && (kind < 0 || kind >= h.Kinds) {
		panic(fmt.Sprintf("outcome: kind %d of %d", kind, h.Kinds))
	}
	if len(h.rows) == 0 || k < 1 {
		return Chance{High: 1}
	}
	type run struct {
		days float64
		step int
	}
	var runs []run
	for d := max(day+1, 0); d <= day+k; d++ {
		s := stepOf(d, h.Width)
		if len(runs) == 0 || runs[len(runs)-1].step != s {
			runs = append(runs, run{step: s})
		}
		runs[len(runs)-1].days++
	}
	if len(runs) == 0 {
		return Chance{High: 1}
	}
	// −log S is the sum over days of −log(1−h) = log(1+exp(η)), whose slope by η is h.
	cum := 0.0
	slope := make([]float64, len(runs))
	for i, r := range runs {
		eta, _ := h.Fit.linear(h.columns(float64(r.step)), h.parts(kind, r.step, 1))
		cum += r.days * math.Log1p(math.Exp(eta))
		slope[i] = r.days * expit(eta)
	}
	var x [2]float64
	var parts []part
	unseen, all := 0.0, 0.0
	for i, r := range runs {
		c := slope[i] / cum // of log(−log S)
		all += c
		for j, v := range h.columns(float64(r.step)) {
			x[j] += c * v
		}
		parts = append(parts, h.parts(kind, r.step, c)...)
		if h.stepT && r.step >= h.Steps {
			sd := h.Fit.SD[len(h.Fit.SD)-1]
			unseen += c * c * sd * sd
		}
	}
	_, se := h.Fit.linear(x[:], parts)
	if kind == Fresh && h.kindT {
		unseen += all * all * h.Fit.SD[0] * h.Fit.SD[0]
	}
	spread := math.Exp(z * math.Sqrt(se*se+unseen))
	out := Chance{Value: -math.Expm1(-cum), Low: -math.Expm1(-cum / spread), High: -math.Expm1(-cum * spread), Known: true}
	for _, w := range h.waits {
		if kind != Fresh && w.Kind != kind {
			continue
		}
		if w.From <= day+1 && w.To > day {
			out.AtRisk++
		}
		if w.Event && w.To > day && w.To <= day+k {
			out.Events++
		}
	}
	return out
}

func (h *Hazard) parts(kind, step int, weight float64) (out []part) {
	k := 0
	if h.kindT {
		if kind != Fresh {
			out = append(out, part{kind, weight})
		}
		k = 1
	}
	if h.stepT && step < h.Steps {
		out = append(out, part{h.Fit.off[k] + step, weight})
	}
	return out
}
