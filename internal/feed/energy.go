package feed

import "math"

// Equation is a published power of body mass: A·mass^B, mass in g.
type Equation struct {
	Name   string
	A, B   float64
	Unit   string
	Basis  Basis // of the coefficients
	Source string
}

// At returns the equation's value at a body mass in g; 0 for a mass at or below 0.
func (e Equation) At(massGrams float64) float64 {
	if !(massGrams > 0) {
		return 0
	}
	return e.A * math.Pow(massGrams, e.B)
}

// kJ of a kilocalorie, thermochemical.
const kJPerKcal = 4.184

// perKg turns kcal a day of a bird's mass in kg to kJ a day of its mass in g.
func perKg(kcal, exponent float64) float64 { return kcal * kJPerKcal * math.Pow(1000, -exponent) }

// FieldPasserines is the field metabolic rate of free songbirds, kJ a day.
func FieldPasserines() Equation {
	return Equation{
		"field metabolic rate, songbirds", 10.4, 0.68, "kJ/day", FromMemory,
		"Nagy 2005, Journal of Experimental Biology 208, 1621-1625; the same figures stand in Nagy, Girard and Brown 1999; coefficients from memory",
	}
}

// FieldBirds is the field metabolic rate of all birds, kJ a day.
func FieldBirds() Equation {
	return Equation{
		"field metabolic rate, all birds", 10.5, 0.681, "kJ/day", FromMemory,
		"Nagy 2005, Journal of Experimental Biology 208, 1621-1625; coefficients from memory",
	}
}

// FieldPasserines1987 is the older equation of field metabolic rate of songbirds, kJ a day.
func FieldPasserines1987() Equation {
	return Equation{
		"field metabolic rate, songbirds, 1987", 8.892, 0.749, "kJ/day", FromMemory,
		"Nagy 1987, Ecological Monographs 57, 111-128; its abstract gives the slope as 0.75; coefficients from memory",
	}
}

// BasalResting is the metabolic rate of a songbird asleep, fasting and warm, kJ a day.
func BasalResting() Equation {
	return Equation{
		"basal rate by night, songbirds", perKg(114.8, 0.726), 0.726, "kJ/day", Published,
		"Aschoff and Pohl 1970, Journal fuer Ornithologie 111, 38-47; 480.6 kJ at 1 kg as tabled in Current Zoology 2018, 64, 33-43, table 1",
	}
}

// BasalActive is the metabolic rate of a songbird at rest in its waking hours, kJ a day.
func BasalActive() Equation {
	return Equation{
		"resting rate by day, songbirds", perKg(140.9, 0.704), 0.704, "kJ/day", FromMemory,
		"Aschoff and Pohl 1970, Journal fuer Ornithologie 111, 38-47; coefficients from memory",
	}
}

// BasalPasserines1967 is the older basal rate of songbirds, kJ a day.
func BasalPasserines1967() Equation {
	return Equation{
		"basal rate, songbirds, 1967", perKg(129, 0.724), 0.724, "kJ/day", Published,
		"Lasiewski and Dawson 1967, Condor 69, 13-23; 540.1 kJ at 1 kg as tabled in Current Zoology 2018, 64, 33-43, table 1",
	}
}

// DryFood is the dry matter that a free songbird eats, g a day.
func DryFood() Equation {
	return Equation{
		"dry food, songbirds", 0.630, 0.683, "g/day", FromMemory,
		"Nagy 2001, Nutrition Abstracts and Reviews 71, 21R-31R; coefficients from memory",
	}
}

// cageShare is how much of the field rate a caged songbird needs: 62 kJ a day for a
// canary of 22 g against 85.1 by the field equation; the intakes of 45 to 75 kJ give
// the ends. One species, so the range is wide.
const (
	cageShare     = 0.73
	cageShareLow  = 0.53
	cageShareHigh = 0.88
	cageSource    = "Harper and Turner 2000, Comparative Biochemistry and Physiology B 126, 271-281: caged canaries of 22 g, 62 kJ a day, intakes 45 to 75; no figure for these species was found"
)

// Egg energy. An egg's contents are 91.3 % of its mass; yolk is 23.5 % of the contents
// at 13.87 kJ/g (Lill and Fell). The rest is albumen of about 2.5 kJ/g (11 % solids at
// 23 kJ/g, from memory): 4.7 kJ per g of egg. It is made at an efficiency of 0.75.
const (
	eggEnergy     = 0.913 * (0.235*13.87 + 0.765*2.5) // kJ per g of fresh egg
	eggEfficiency = 0.75
	// eggShell is the share of shell in a fresh egg, and shellCalcium that of calcium in shell.
	eggShell, eggShellLow, eggShellHigh = 0.087, 0.055, 0.136
	shellCalcium                        = 0.38
	eggSource                           = "Lill and Fell 1990, Emu 90, 33-39: 17 Australian songbirds and others, shell 8.7 % (7.4 to 13.6) of the egg; the low end of 5.5 %, albumen energy, the efficiency of 0.75 and 38 % calcium in shell are from memory"
	// layingIntake is what breeding pairs ate against pairs at rest.
	layingIntake = 0.92
	layingSource = "Williams and Ternan 1999, Physiological and Biochemical Zoology 72, 19: breeding zebra finch pairs ate 8 % less than others, least while laying"
)

// EggEnergy returns the kJ that a hen spends on one egg of a mass in g.
func EggEnergy(massGrams float64) float64 { return max(0, massGrams) * eggEnergy / eggEfficiency }

// ShellCalcium returns the calcium in the shell of one egg of a mass in g, in mg: likely, least and most.
func ShellCalcium(massGrams float64) (likely, low, high float64) {
	mg := 1000 * shellCalcium * max(0, massGrams)
	return mg * eggShell, mg * eggShellLow, mg * eggShellHigh
}

// Chick is the growth of a chick of a species.
type Chick struct {
	FledgeGrams float64 // mass on leaving the nest
	FledgeDays  float64 // age on leaving the nest
	// IndependentDays is the age at which it feeds itself; at least FledgeDays.
	IndependentDays float64
	AdultGrams      float64
}

// Energies of a chick from hatching to fledging, kJ and kJ a day. From memory.
const (
	chickTotalA, chickTotalMass, chickTotalDays = 6.65, 0.852, 0.71
	chickPeakA, chickPeakMass, chickPeakDays    = 11.69, 0.9082, -0.428
	// chickStart is a chick's need on its first day as a share of its peak: 3 kJ against
	// some 62 in canaries (Harper and Turner 2000).
	chickStart  = 0.05
	chickSource = "Weathers 1992, Ibis 134, 142-153, coefficients from memory; first day from Harper and Turner 2000 (canary)"
	// afterFledging is how many days the peak lasts after fledging. Common practice, no source.
	afterFledging = 7
)

// Total returns the kJ that a chick needs from hatching to fledging (Weathers 1992).
func (c Chick) Total() float64 {
	if !c.ok() {
		return 0
	}
	return chickTotalA * math.Pow(c.FledgeGrams, chickTotalMass) * math.Pow(c.FledgeDays, chickTotalDays)
}

// Peak returns the kJ a day that a chick needs at its greediest (Weathers 1992).
func (c Chick) Peak() float64 {
	if !c.ok() {
		return 0
	}
	return chickPeakA * math.Pow(c.FledgeGrams, chickPeakMass) * math.Pow(c.FledgeDays, chickPeakDays)
}

func (c Chick) ok() bool { return c.FledgeGrams > 0 && c.FledgeDays > 0 }

// PeakAge returns the age, in days, at which a chick reaches its peak: the one that makes
// a straight rise and then a level sum to Total. Within 1 and FledgeDays.
func (c Chick) PeakAge() float64 {
	if !c.ok() {
		return 0
	}
	peak := c.Peak()
	rise := 2 * (peak*c.FledgeDays - c.Total()) / (peak * (1 - chickStart))
	return min(max(rise, min(1, c.FledgeDays)), c.FledgeDays)
}

// PeakUntil returns the age, in days, until which a chick stays at its peak: a week after fledging, or its independence if that
// comes first. From then on it eats more and more for itself, up to a caged adult's need.
func (c Chick) PeakUntil() float64 {
	return min(c.FledgeDays+afterFledging, max(c.IndependentDays, c.FledgeDays))
}

// Need returns the kJ a day of a chick at an age in days: it rises to Peak at PeakAge,
// stays until a week after fledging, and goes over to a caged adult's need at
// independence. 0 before hatching. Accuracy is that of the equations, some 20 %.
func (c Chick) Need(ageDays float64) float64 {
	if !c.ok() || ageDays < 0 {
		return 0
	}
	peak, rise := c.Peak(), c.PeakAge()
	if ageDays < rise {
		return peak * (chickStart + (1-chickStart)*ageDays/rise)
	}
	adult := cageShare * FieldPasserines().At(c.AdultGrams)
	independent := max(c.IndependentDays, c.FledgeDays)
	turn := c.PeakUntil()
	switch {
	case ageDays <= turn:
		return peak
	case ageDays >= independent:
		return adult
	}
	return peak + (adult-peak)*(ageDays-turn)/(independent-turn)
}
