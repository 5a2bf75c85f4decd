package nest

import "math"

// FreshMass returns the mass in g of a fresh egg of a length and breadth in mm: 0.548 times
// length and breadth squared in cm (Hoyt 1979, The Auk 96, 73-77; the coefficient is from
// memory). The error is about 2 in 100 for eggs of the usual shape.
func FreshMass(lengthMM, breadthMM float64) float64 {
	return 0.548 * lengthMM * breadthMM * breadthMM / 1000
}

// EggVolume returns the volume in cm³ of an egg of a length and breadth in mm: 0.51 times
// length and breadth squared in cm (Hoyt 1979).
func EggVolume(lengthMM, breadthMM float64) float64 {
	return 0.51 * lengthMM * breadthMM * breadthMM / 1000
}

// Water an egg loses from fresh to pipping, as a share of its fresh mass. The target is 12 to
// 15 in 100: seven passerines under their parents lose 12.0 ± 0.7 in 100 to pipping (1982,
// Canadian Journal of Zoology 60, 3143-3150), 81 species lose 15.0 ± 2.5 over the whole of
// incubation (Ar and Rahn 1980, American Zoologist 20, 373-384). Below 10 and above 18 in
// 100 are the bounds at which a keeper is told, a judgement.
const (
	LossLow, LossHigh = 0.12, 0.15
	LossTooLittle     = 0.10
	LossTooMuch       = 0.18
)

// Weighing is one weighing of an egg.
type Weighing struct {
	Days  float64 // of sitting, and before it below 0
	Grams float64
}

// Loss is what an egg loses. A clear egg loses water like its clutch mates, so a loss that is
// right says nothing of life (the same study of 1982).
type Loss struct {
	Status LossStatus
	Fresh  float64 // g, on the first day of sitting: worked out from the line, or given
	PerDay float64 // g lost a day
	ToPip  float64 // share of the fresh mass lost by pipping, if it goes on so
	// Low and High bound ToPip 95 times in 100, by the scale's precision and, from three
	// weighings on, by how they scatter if that is more.
	Low, High float64
	SE        float64 // standard error of PerDay, g a day
}

// LossStatus says what the weighings allow.
type LossStatus int

// The statuses.
const (
	LossKnown      LossStatus = iota
	LossTooFew                // fewer than two weighings, or all on one day
	LossNotSense              // a mass, precision or number of days that cannot be
	LossTooCoarse             // the scale is too coarse, or the time too short: the bounds hold from too little to too much
	lossStatusLast            // how many there are
)

var lossWords = [lossStatusLast]string{
	"known", "weigh again on another day", "a weight or a day that cannot be",
	"too coarse: weigh again some days later, or on a finer scale",
}

// String says the status in words.
func (s LossStatus) String() string {
	if s < 0 || s >= lossStatusLast {
		return "no such status"
	}
	return lossWords[s]
}

// WaterLoss works out an egg's loss to pipping from its weighings by least squares on a
// straight line; true loss steepens late, so early weighings foretell a little too little.
// readsTo is the step of the scale in g (0.01 reads hundredths of a gram), pip the days of
// sitting to pipping. fresh is the fresh mass in g when it is known, for instance by
// [FreshMass] with freshSE, else 0: then it is read off the line.
func WaterLoss(weighings []Weighing, readsTo, pip, fresh, freshSE float64) Loss {
	ok := readsTo > 0 && readsTo < 10 && pip > 0 && pip < 100 && fresh >= 0 && fresh < 1000 && freshSE >= 0 && freshSE < 1000
	n := float64(len(weighings))
	var sx, sy float64
	for _, w := range weighings {
		ok = ok && w.Grams > 0 && w.Grams < 1000 && math.Abs(w.Days) < 100
		sx += w.Days
		sy += w.Grams
	}
	if !ok {
		return Loss{Status: LossNotSense}
	}
	if len(weighings) < 2 {
		return Loss{Status: LossTooFew}
	}
	mx, my := sx/n, sy/n
	var xx, xy float64
	for _, w := range weighings {
		xx += (w.Days - mx) * (w.Days - mx)
		xy += (w.Days - mx) * (w.Grams - my)
	}
	if xx < 1e-9 {
		return Loss{Status: LossTooFew}
	}
	slope := xy / xx
	at0 := my - slope*mx
	// A reading is off by up to half a step, every part of it alike: variance step²/12.
	v := readsTo * readsTo / 12
	var rest float64
	for _, w := range weighings {
		d := w.Grams - at0 - slope*w.Days
		rest += d * d
	}
	if n > 2 {
		v = max(v, rest/(n-2))
	}
	seSlope := math.Sqrt(v / xx)
	out := Loss{Fresh: at0, PerDay: -slope, SE: seSlope}
	seFresh := math.Sqrt(v * (1/n + mx*mx/xx))
	cov := -v * mx / xx // of slope and mass on day 0
	if fresh > 0 {
		// The loss is counted from the fresh mass given, on day 0.
		out.Fresh, seFresh, cov = fresh, freshSE, 0
	}
	if out.Fresh <= 0 {
		return Loss{Status: LossNotSense}
	}
	out.ToPip = -slope * pip / out.Fresh
	// By the rule for the variance of a quotient.
	share := out.ToPip
	variance := (pip*pip*seSlope*seSlope + share*share*seFresh*seFresh + 2*share*pip*cov) / (out.Fresh * out.Fresh)
	half := studentHalf(len(weighings)-2) * math.Sqrt(max(variance, 0))
	out.Low, out.High = share-half, share+half
	if out.Low < LossTooLittle && out.High > LossTooMuch {
		out.Status = LossTooCoarse
	}
	return out
}

// studentHalf is the 97.5 % point of Student's t; with the scale's own precision alone, and
// from 30 degrees on, that of the normal.
func studentHalf(df int) float64 {
	t := []float64{
		12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131,
		2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045,
	}
	if df < 1 || df > len(t) {
		return 1.96
	}
	return t[df-1]
}
