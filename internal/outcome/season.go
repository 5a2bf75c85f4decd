package outcome

import (
	"context"
	"fmt"
	"math"
)

// DayCount is a count on a day of the year, 1 to 366 (the middle of a week, say), of a season by number.
type DayCount struct {
	Count
	Day, Season int
}

// year is the mean length of a year in days.
const year = 365.25

// SeasonCurve is how a share goes up and down over the year. As with [Mixed], one goroutine at a time may ask.
type SeasonCurve struct {
	Fit       *Mixed
	Harmonics int
	terms     int
}

// harmonics returns the columns of a day: 1, then the cosine and sine of each.
func harmonics(day float64, n int) []float64 {
	out := []float64{1}
	for k := 1; k <= n; k++ {
		s, c := math.Sincos(2 * math.Pi * float64(k) * day / year)
		out = append(out, c, s)
	}
	return out
}

// FitSeason fits a curve that repeats each year to counts of some days: log odds are a sum of so many harmonics, each
// with a normal prior of standard deviation 2 over its number, so that without counts the curve is level; with a
// random intercept by season, and one by count for what days have of their own. Two harmonics make a summer and a
// mid-winter lull of different lengths. The end of December meets the beginning of January.
func FitSeason(ctx context.Context, counts []DayCount, seasons, waves int) (*SeasonCurve, error) {
	if waves < 1 || waves > 6 || seasons < 1 {
		panic(fmt.Sprintf("outcome: %d harmonics over %d seasons", waves, seasons))
	}
	c := &SeasonCurve{Harmonics: waves, terms: 1}
	prior := WeakPrior(2*waves + 1)
	for k := 1; k <= waves; k++ {
		prior.Fixed[2*k-1], prior.Fixed[2*k] = 2/float64(k), 2/float64(k)
	}
	m := Model{Prior: prior}
	own, by := Term{Levels: len(counts)}, Term{Levels: seasons}
	for i, d := range counts {
		if d.Day < 1 || d.Day > 366 {
			panic(fmt.Sprintf("outcome: day %d of a year", d.Day))
		}
		m.Counts = append(m.Counts, d.Count)
		m.X = append(m.X, harmonics(float64(d.Day), waves))
		own.Of, by.Of = append(own.Of, i), append(by.Of, d.Season)
	}
	m.Terms = []Term{own}
	if seasons > 1 {
		m.Terms = append(m.Terms, by)
		c.terms = 2
	}
	if len(counts) == 0 {
		m.Prior.Fixed = nil
	}
	fit, err := FitMixed(ctx, m)
	if err != nil {
		return nil, err
	}
	c.Fit = fit
	return c, nil
}

// At returns the share to be expected on a day of the year in a season, or a [Typical] one, with its interval. It is of the
// curve; single days scatter about it. known is false when there were no counts.
func (c *SeasonCurve) At(day, season int, level float64) (value, lo, hi float64, known bool) {
	if len(c.Fit.model.Counts) == 0 {
		mustLevel(level)
		return 0, 0, 1, false
	}
	levels := []int{Typical}
	if c.terms == 2 {
		levels = append(levels, season)
	}
	value, lo, hi = c.Fit.Expect(harmonics(float64(day), c.Harmonics), levels, level)
	return value, lo, hi, true
}

// Swing returns the ratio of odds between two days of the year on the curve, with its interval: how deep the lull is.
func (c *SeasonCurve) Swing(from, to int, level float64) Ratio {
	z := normal(level)
	if len(c.Fit.model.Counts) == 0 {
		return Ratio{Value: 1, Low: 0, High: math.MaxFloat64}
	}
	x := harmonics(float64(to), c.Harmonics)
	for j, v := range harmonics(float64(from), c.Harmonics) {
		x[j] -= v
	}
	d, se := c.Fit.linear(x, nil)
	return Ratio{math.Exp(d), math.Exp(d - z*se), math.Exp(d + z*se)}
}
