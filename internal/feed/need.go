package feed

import (
	"fmt"
	"math"
)

// Birds is who eats from one dish: the adults, the eggs being laid and one brood.
type Birds struct {
	Adults    int
	MassGrams float64 // of one adult, on average
	// EggGrams is the mass of one egg and EggDays the days from egg to egg (1 when 0); for laying.
	EggGrams, EggDays float64
	Chicks            int
	ChickAge          float64 // days, of the brood on average
	Growth            Chick
	// Share is what a caged adult needs of the field rate; 0 takes the usual one.
	Share float64
}

// Need is the energy that birds need in a day, kJ.
type Need struct {
	KJ, Low, High       float64
	Adults, Eggs, Young float64 // the parts of KJ
	// Eaten is what they are likely to eat: while laying, less than at rest.
	Eaten float64
	// ShellCalcium is the calcium that goes into shell in a day, mg.
	ShellCalcium float64
	Notes        []Note
}

// Source says what a need rests on, with what the eggs and the young in it rest on.
func (n Need) Source() string {
	s := cageSource
	if n.Eggs > 0 {
		s += "; eggs: " + eggSource
	}
	if n.Young > 0 {
		s += "; young: " + chickSource
	}
	return s
}

// Need returns the energy that the birds need on a day of a phase. An adult needs a share
// of the field rate of its mass, which is measured on one caged species, so the range is
// wide. While laying, the cost of the eggs comes on top, but hens meet it by sitting still:
// they eat less. Young are as [Chick.Need]. Moult and cold have a cost for which no sound
// figure was found; a note says so. Accuracy some 25 %.
func (b Birds) Need(p Phase) Need {
	field := FieldPasserines().At(b.MassGrams) * float64(max(b.Adults, 0))
	share, low, high := b.Share, b.Share, b.Share
	if !(share > 0) {
		share, low, high = cageShare, cageShareLow, cageShareHigh
	}
	out := Need{Adults: share * field}
	if p == Laying && b.EggGrams > 0 {
		every := b.EggDays
		if !(every > 0) {
			every = 1
		}
		out.Eggs = EggEnergy(b.EggGrams) / every
		out.ShellCalcium, _, _ = ShellCalcium(b.EggGrams)
		out.ShellCalcium /= every
	}
	if b.Chicks > 0 {
		out.Young = float64(b.Chicks) * b.Growth.Need(b.ChickAge)
	}
	out.KJ = out.Adults + out.Eggs + out.Young
	rest := out.Eggs + out.Young
	out.Low, out.High = low*field+0.8*rest, high*field+1.2*rest
	out.Eaten = out.KJ
	switch p {
	case Laying:
		out.Eaten = layingIntake*out.Adults + out.Young
		out.Low = min(out.Low, layingIntake*low*field+0.8*out.Young)
		out.Notes = append(out.Notes, Note{Info, "A laying pair eats less, not more: the hen moves less. Do not read it as a fault while she is bright.", layingSource})
	case Moult:
		out.Notes = append(out.Notes, Note{Info, "Growing feathers costs energy and protein. No sound figure for these species was found, so none is added.", memory})
	}
	out.Notes = append(out.Notes, Note{Info, "The need holds at about 20 °C. A cold room raises it much; no sound figure for these species was found. Weigh what is given and what is left.", cageSource})
	return out
}

// offerExtra is how much more than the need is put out, for what is spilt. From memory.
const offerExtra = 1.3

// ItemKind is a thing that is put into a cage.
type ItemKind int

// What is put in.
const (
	DrySeed ItemKind = iota
	SproutedSeed
	SoftEggFood
	LiveFood
	Minerals
	NestMaterial
	itemKinds
)

// String writes the item as a list of the morning has it.
func (k ItemKind) String() string {
	return [itemKinds]string{"dry seed", "sprouted seed", "egg food", "live food", "cuttlebone and grit", "nest material"}[k]
}

// Item is what one cage is given in a day. Free means as much as they want, always there.
type Item struct {
	Kind   ItemKind
	ML     float64 // 0 for what is not measured by volume
	Grams  float64
	Free   bool
	Note   string
	Source string
}

// Teaspoon is the ml of a level teaspoon.
const Teaspoon = 5.0

// Parts of a morning, per pair. Common practice, no source.
const (
	sproutsML = Teaspoon     // a level teaspoon of sprouted seed
	mixML     = Teaspoon     // the mix with egg food, at most a level teaspoon
	mixLeast  = Teaspoon / 2 // and at least half of one
	eggShare  = 1.0 / 3      // of the mix: more sprouts than egg food
	// Of what chicks eat, soft food is all until day softAll and a third from softThird on: by day 10
	// seed may be two thirds of the crop. Common practice, after one writer on finch crops.
	softAll, softThird = 5.0, 10.0
)

// softShare is the part of a chick's food that is soft at an age in days.
func softShare(age float64) float64 {
	return 1 - 2.0/3*min(max((age-softAll)/(softThird-softAll), 0), 1)
}

// Larder is the three foods of which portions are made; a keeper's own figures may stand in them.
type Larder struct{ Seed, Sprouts, EggFood Food }

// NewLarder picks the larder from foods: white millet, chitted seed and dry egg food.
// A food that is missing, or without energy or the weight of a teaspoon, is an [*Error].
func NewLarder(foods []Food) (Larder, error) {
	var l Larder
	for id, into := range map[string]*Food{"white-millet": &l.Seed, "chitted-seed": &l.Sprouts, "egg-food": &l.EggFood} {
		f, ok := FindFood(foods, id)
		if !ok || perML(f) <= 0 {
			return Larder{}, &Error{Field: id, Message: fmt.Sprintf("The foods have no %s with its energy, hull and the weight of a teaspoon. Put its figures in.", id)}
		}
		*into = f
	}
	return l, nil
}

// perML returns the kJ of a ml of a food as put out; 0 when it is not known.
func perML(f Food) float64 { return f.Usable().Value * f.EatenGrams(f.Teaspoon.Value) / Teaspoon }

// Portions returns what birds of one cage are given on a morning. A pair is two adults;
// other numbers take their part of a pair's portion. The soft food follows the ladder of
// practice and, with young, their number and age; dry seed fills up to the need with a
// third on top for what is spilt. Calcium and grit are out in every phase. The larder comes
// from [NewLarder].
func (b Birds) Portions(p Phase, g Guard, l Larder) []Item {
	pairs := float64(max(b.Adults, 0)) / 2
	sproutKJ, eggKJ := perML(l.Sprouts), perML(l.EggFood)
	var sprouts, egg float64
	var note string
	mix := func(ml float64) { sprouts, egg = ml*(1-eggShare), ml*eggShare }
	switch p {
	case Conditioning:
		sprouts = sproutsML * pairs
	case EggFood, Material:
		mix(mixML * pairs)
		if g.Glutton {
			mix(mixLeast * pairs)
			note = "At the ceiling of this species: " + g.Why
		}
	case Laying, Sitting, Moult:
		mix(mixLeast * pairs)
		if g.NoneSitting && p == Sitting {
			sprouts, egg = mixLeast*pairs, 0
			note = "No egg food while sitting: " + g.Why
		}
	case Rearing, Weaning:
		young := 0.0
		if b.Chicks > 0 {
			young = float64(b.Chicks) * b.Growth.Need(b.ChickAge) * softShare(b.ChickAge) * offerExtra
		}
		mix(mixLeast*pairs + young/(sproutKJ*(1-eggShare)+eggKJ*eggShare))
		note = "Give it in two or three lots and take each out in time; more when the dish is clean, less when it is left."
	}
	soft := sprouts*sproutKJ + egg*eggKJ
	perGram := l.Seed.Usable().Value * l.Seed.EatenGrams(1)
	// Soft food is counted as eaten but for the part that is spilt.
	grams := max(0, b.Need(p).KJ-soft/offerExtra) * offerExtra / perGram
	items := []Item{{DrySeed, grams / l.Seed.Teaspoon.Value * Teaspoon, grams, false, "For planning: seed is topped up, and hulls blown off daily.", cageSource}}
	add := func(k ItemKind, ml float64, f Food) {
		if ml > 0 {
			items = append(items, Item{k, ml, ml / Teaspoon * f.Teaspoon.Value, false, note, practice})
		}
	}
	add(SproutedSeed, sprouts, l.Sprouts)
	add(SoftEggFood, egg, l.EggFood)
	if g.RationLive && (p == Rearing || p >= Conditioning && p <= Sitting) {
		items = append(items, Item{LiveFood, 0, 0, false, "Count it out, do not let them help themselves. " + g.Why, g.Source})
	}
	items = append(items, Item{Minerals, 0, 0, true, "Out at all times: seed alone cannot shell a clutch.", practice})
	if p == Material {
		items = append(items, Item{NestMaterial, 0, 0, true, "A little each day until the nest is lined; take the rest away at the first egg.", practice})
	}
	return items
}

// Sum returns the ml of a kind among items.
func Sum(items []Item, k ItemKind) (ml, grams float64) {
	for _, it := range items {
		if it.Kind == k {
			ml, grams = ml+it.ML, grams+it.Grams
		}
	}
	return ml, grams
}

// Weighing is a bird's weight on a day.
type Weighing struct {
	Day   Day
	Grams float64
}

// Range is what a species weighs; the figures are means of studies, not limits of health.
type Range struct{ Low, High float64 }

// WeightVerdict says how a bird's weight looks.
type WeightVerdict int

// The verdicts.
const (
	WeightUnknown WeightVerdict = iota // nothing to judge by
	WeightFine
	Thin
	Fat
)

// String writes the verdict as one word.
func (v WeightVerdict) String() string { return [...]string{"not known", "fine", "thin", "fat"}[v] }

// Weight is a bird's weight judged.
type Weight struct {
	Verdict WeightVerdict
	Last    Weighing
	// Baseline is the median of the bird's own weighings older than four weeks before the last (at least three);
	// 0 when there are too few, and then Against is the species.
	Baseline float64
	Away     float64 // from the baseline, as a share
	PerWeek  float64 // g a week over the last six weeks; 0 when fewer than two weighings
	Notes    []Note
}

// Bounds of a weight against its own baseline. From memory: vets take 10 % lost as a reason
// to look and 20 % as an emergency in small birds.
const (
	thinAway, emergencyAway, fatAway = -0.10, -0.20, 0.15
	baselineBack, trendBack          = 28, 42
	baselineLeast                    = 3
)

// JudgeWeight judges a bird's weighings up to a day: against its own earlier weights first,
// and only where these are too few against the species. gravid is a hen about to lay or
// laying, whose egg weighs: she is never called fat. Weighings at or below 0 are left out.
func JudgeWeight(weights []Weighing, species Range, today Day, gravid bool) Weight {
	var known []Weighing
	for _, w := range weights {
		if w.Grams > 0 && !math.IsInf(w.Grams, 0) && w.Day <= today {
			known = append(known, w)
		}
	}
	if len(known) == 0 {
		return Weight{}
	}
	sortWeighings(known)
	out := Weight{Verdict: WeightFine, Last: known[len(known)-1]}
	var old []float64
	for _, w := range known {
		if out.Last.Day-w.Day >= baselineBack {
			old = append(old, w.Grams)
		}
	}
	out.PerWeek = trend(known, out.Last.Day-trendBack)
	if len(old) >= baselineLeast {
		out.Baseline = median(old)
		out.Away = out.Last.Grams/out.Baseline - 1
		switch {
		case out.Away <= emergencyAway:
			out.Verdict = Thin
			out.note(Urgent, "A fifth of its own weight is lost. Keep the bird warm and ask an avian vet today.", memory)
		case out.Away <= thinAway:
			out.Verdict = Thin
			out.note(Warn, "A tenth of its own weight is lost or more. Look at its breast, droppings and company, weigh again tomorrow, and ask an avian vet if it goes on.", memory)
		case out.Away >= fatAway && gravid:
			out.note(Info, "Heavier than usual, but about to lay or laying: weigh again after the clutch.", memory)
		case out.Away >= fatAway:
			out.Verdict = Fat
			out.note(Warn, "Much above its own weight. Look at the belly for yellow fat; less egg food and niger, more room to fly.", memory)
		}
		return out
	}
	out.note(Info, "Too few weighings of its own from earlier weeks, so the species' range is all there is to judge by. It is made of means of studies: sound birds lie outside it too.", practice)
	switch {
	case species.Low <= 0 || species.High < species.Low:
		out.Verdict = WeightUnknown
	case out.Last.Grams < species.Low:
		out.Verdict = Thin
		out.note(Info, "Below the species' range. Feel its breast, and weigh it weekly to learn its own weight.", practice)
	case out.Last.Grams > species.High && gravid:
		out.note(Info, "Above the species' range, but about to lay or laying.", practice)
	case out.Last.Grams > species.High:
		out.Verdict = Fat
		out.note(Info, "Above the species' range. Look at its belly, and weigh it weekly to learn its own weight.", practice)
	}
	return out
}

func (w *Weight) note(l Level, text, source string) { w.Notes = append(w.Notes, Note{l, text, source}) }
