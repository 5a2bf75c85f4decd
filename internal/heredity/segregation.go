package heredity

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Fit says how counts of young agree with what was expected.
type Fit struct {
	ChiSquare float64
	DF        int
	P         float64 // chance of a chi-square as large or larger, if the model is right
	// ExactP is the chance, by listing, of counts that are as unlikely or less likely. It
	// is 1 or less if Listed; with many young and classes there is too much to list.
	ExactP float64
	Listed bool
	// Impossible says that young were seen in a class that cannot occur. ChiSquare is 0
	// then, and P is 0: no chance fits them.
	Impossible bool
	// Smallest is the smallest expected count. The chi-square is approximate where it is
	// under 5 (common practice).
	Smallest float64
}

// Flagged reports whether the counts speak against the model at a level such as 0.05.
// The exact chance decides where the expected counts are small and it was listed.
func (f Fit) Flagged(level float64) bool {
	if f.Listed && f.Smallest < 5 {
		return f.Impossible || f.ExactP < level
	}
	return f.Impossible || f.P < level
}

// Segregation compares counts of young by class with shares that add up to any positive
// number, such as 9, 3 and 4. It panics if there are no classes or lengths differ.
func Segregation(observed []int, shares []float64) Fit {
	if len(observed) == 0 || len(observed) != len(shares) {
		panic("heredity: counts do not match shares")
	}
	p := slices.Clone(shares)
	if normalise(p) <= 0 {
		panic("heredity: shares add up to nothing")
	}
	n := 0
	for _, o := range observed {
		n += o
	}
	f := Fit{P: 1, ExactP: 1, Smallest: math.MaxFloat64}
	classes := 0
	for i, o := range observed {
		if p[i] == 0 {
			f.Impossible = f.Impossible || o > 0
			continue
		}
		classes++
		e := p[i] * float64(n)
		f.Smallest = min(f.Smallest, e)
		if n > 0 {
			f.ChiSquare += (float64(o) - e) * (float64(o) - e) / e
		}
	}
	f.DF = classes - 1
	if f.Impossible {
		f.ChiSquare, f.P, f.ExactP, f.Listed = 0, 0, 0, true
		return f
	}
	if f.DF > 0 {
		f.P = distuv.ChiSquared{K: float64(f.DF)}.Survival(f.ChiSquare)
	}
	f.ExactP, f.Listed = multinomial(observed, p, n)
	return f
}

// multinomial is the chance of counts no likelier than those observed.
func multinomial(observed []int, p []float64, n int) (float64, bool) {
	var live []float64
	var seen []int
	for i, x := range p {
		if x > 0 {
			live, seen = append(live, x), append(seen, observed[i])
		}
	}
	outcomes := 1.0
	for i := 1; i < len(live); i++ {
		outcomes *= float64(n+i) / float64(i)
	}
	const most = 300_000 // about a tenth of a second
	if outcomes > most {
		return 1, false
	}
	logFactorial := make([]float64, n+1)
	for i := 2; i <= n; i++ {
		logFactorial[i] = logFactorial[i-1] + math.Log(float64(i))
	}
	logP := func(k int, class int) float64 {
		return float64(k)*math.Log(live[class]) - logFactorial[k]
	}
	bar := logFactorial[n]
	for i, k := range seen {
		bar += logP(k, i)
	}
	bar += 1e-9 // counts as likely as those observed differ by rounding only
	sum := 0.0
	var walk func(class, left int, log float64)
	walk = func(class, left int, log float64) {
		if class == len(live)-1 {
			if log += logP(left, class); log <= bar {
				sum += math.Exp(log)
			}
			return
		}
		for k := range left + 1 {
			walk(class+1, left-k, log+logP(k, class))
		}
	}
	walk(0, n, logFactorial[n])
	return min(1, sum), true
}

// A Crossing is an estimate of a recombination fraction from young that were counted.
type Crossing struct {
	Fraction float64 // most likely value, 0.5 at most
	SE       float64 // standard error, from the binomial; 0 at the ends
	AtLimit  bool    // more crossovers than half were counted, and the fraction is 0.5
}

// Crossover returns the most likely recombination fraction where so many of all young
// are crossovers. Counts may be fractions where a source gives percentages. It panics
// if there are no young.
func Crossover(crossovers, young float64) Crossing {
	if !(young > 0 && crossovers >= 0 && crossovers <= young) {
		panic("heredity: crossovers out of range")
	}
	r := crossovers / young
	c := Crossing{Fraction: r}
	if r > 0.5 {
		c.Fraction, c.AtLimit = 0.5, true
	}
	c.SE = math.Sqrt(c.Fraction * (1 - c.Fraction) / young)
	return c
}

// SameCrossover tests whether one recombination fraction fits several lots of young, such
// as those of a cock's first, second and third year, by the chi-square of the two-way
// table. ExactP is not listed. It panics if lengths differ or a lot is empty.
func SameCrossover(crossovers, young []float64) Fit {
	if len(crossovers) != len(young) || len(young) == 0 {
		panic("heredity: crossovers do not match young")
	}
	c, n := 0.0, 0.0
	for i := range young {
		Crossover(crossovers[i], young[i])
		c, n = c+crossovers[i], n+young[i]
	}
	f := Fit{P: 1, ExactP: 1, DF: len(young) - 1, Smallest: math.MaxFloat64}
	r := c / n
	for i := range young {
		for _, x := range []struct{ o, e float64 }{{crossovers[i], r * young[i]}, {young[i] - crossovers[i], (1 - r) * young[i]}} {
			f.Smallest = min(f.Smallest, x.e)
			if x.e > 0 {
				f.ChiSquare += (x.o - x.e) * (x.o - x.e) / x.e
			}
		}
	}
	if f.DF > 0 {
		f.P = distuv.ChiSquared{K: float64(f.DF)}.Survival(f.ChiSquare)
	}
	return f
}
