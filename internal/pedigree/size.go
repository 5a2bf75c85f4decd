package pedigree

import "math"

// EffectiveSize returns the effective size of a flock bred by so many cocks and
// hens, each with an equal chance to be a parent: 4·cocks·hens/(cocks+hens). It is
// 0 when either is missing.
//
// Source: Wright (1931).
func EffectiveSize(cocks, hens float64) float64 {
	if cocks <= 0 || hens <= 0 {
		return 0
	}
	return 4 * cocks * hens / (cocks + hens)
}

// EffectiveSizeOfFamilies returns the effective size of n parents that leave two
// breeding young each on average, given the variance of that number:
// (4n-2)/(variance+2).
//
// Source: Wright (1938), Crow and Kimura (1970).
func EffectiveSizeOfFamilies(n, variance float64) float64 {
	return (4*n - 2) / (variance + 2)
}

// EffectiveSizeOverTime returns the effective size over generations of these
// sizes: their harmonic mean, so that one bad year weighs most. It is 0 for no
// generations, or when a size is 0.
//
// Source: Wright (1938), Crow and Kimura (1970).
func EffectiveSizeOverTime(sizes []float64) float64 {
	sum := 0.0
	for _, n := range sizes {
		if n <= 0 {
			return 0
		}
		sum += 1 / n
	}
	if sum == 0 {
		return 0
	}
	return float64(len(sizes)) / sum
}

// InbreedingRate returns by what share of the diversity that was left inbreeding rose
// in one generation, from f0 to f1: (f1-f0)/(1-f0). It is negative when inbreeding
// fell, and 0 when f0 is 1.
//
// Source: Falconer and Mackay (1996), from memory.
func InbreedingRate(f0, f1 float64) float64 {
	if f0 == 1 {
		return 0
	}
	return (f1 - f0) / (1 - f0)
}

// EffectiveSizeFromRate returns the effective size that a rate of inbreeding shows:
// 1/(2·rate). It is not ok when the rate is not above 0: no size is then shown.
//
// Source: Wright (1931), Falconer and Mackay (1996).
func EffectiveSizeFromRate(rate float64) (size float64, ok bool) {
	if !(rate > 0) {
		return 0, false
	}
	return 1 / (2 * rate), true
}

// EffectiveSizeFromInbreeding returns the effective size that the inbreeding f of a
// set of birds shows, given the number of equivalent complete generations behind
// each ([EquivalentGenerations]), and the standard error of the size. Birds with
// no more than one generation say nothing and are left out. It is not ok when no
// bird is left or none of them is inbred.
//
// Each bird's own rate is 1-(1-f)^(1/(t-1)), averaged over birds: Gutiérrez,
// Cervantes and Goyache (2009).
func EffectiveSizeFromInbreeding(f, generations []float64) (size, se float64, ok bool) {
	if len(f) != len(generations) {
		panic("pedigree: inbreeding and generations differ in length")
	}
	var rates []float64
	sum := 0.0
	for i, t := range generations {
		if t > 1 {
			rate := -math.Expm1(math.Log1p(-f[i]) / (t - 1))
			rates = append(rates, rate)
			sum += rate
		}
	}
	n := float64(len(rates))
	size, ok = EffectiveSizeFromRate(sum / n)
	if !ok {
		return 0, 0, false
	}
	squares := 0.0
	for _, rate := range rates {
		squares += (rate - sum/n) * (rate - sum/n)
	}
	if n > 1 {
		se = 2 * size * size * math.Sqrt(squares/(n-1)/n)
	}
	return size, se, true
}

// ExpectedInbreeding returns the inbreeding after so many generations at an
// effective size: 1-(1-1/(2·size))^generations. The size must be at least one half.
//
// Source: Wright (1931), Crow and Kimura (1970).
func ExpectedInbreeding(size, generations float64) float64 {
	return 1 - DiversityKept(size, generations)
}

// DiversityKept returns the share of gene diversity left after so many generations
// at an effective size: (1-1/(2·size))^generations. The size must be at least one
// half.
//
// Source: Wright (1931), Crow and Kimura (1970).
func DiversityKept(size, generations float64) float64 {
	if !(size >= 0.5) {
		panic("pedigree: an effective size below one half")
	}
	return math.Pow(1-1/(2*size), generations)
}
