package demo

import (
	"math"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// kind is one species of the room with the days that its nests keep to.
type kind struct {
	slug    string
	profile *species.Profile

	clutch    [3]int // least, usual and most eggs
	startEgg  int    // egg with which sitting begins
	hatchOn   int    // days from the first egg to the first chick
	candleOn  int    // days of sitting at candling
	ringOn    int    // age at ringing
	fledgeOn  int    // age at which the young are out
	weanOn    int    // age at which they are parted
	sexedOn   int    // age at which the sex is known
	sexHow    string // and by what
	breedFrom map[aviary.Sex]int
	grams     float64
	ringSize  float64
	hardy     bool // winters in the outdoor aviary
	loci      []locus
}

// locus is a colour gene with two alleles, of which the second is recessive.
type locus struct {
	trait         string
	shows, hidden string  // looks of the dominant and the recessive allele
	onZ           bool    // else on a body chromosome
	rate          float64 // share of the recessive allele among the founders
}

// kinds lists the species, most cages first. The ring sizes are those of the room's own lists.
func kinds() []*kind {
	list := []*kind{
		{slug: "zebra", ringSize: 2.7, hardy: true, loci: []locus{{trait: "body", shows: "grey", hidden: "fawn", onZ: true, rate: 0.3}}},
		{slug: "gouldian", ringSize: 2.5, loci: []locus{
			{trait: "head", shows: "red", hidden: "black, tip not noted", onZ: true, rate: 0.6},
			{trait: "breast", shows: "purple", hidden: "white", rate: 0.3},
		}},
		{slug: "bengalese", ringSize: 2.7, hardy: true, sexHow: "song"},
		{slug: "star", ringSize: 2.3},
		{slug: "blue-faced", ringSize: 2.5},
		{slug: "cordon-bleu", ringSize: 2.3},
	}
	for _, k := range list {
		k.profile = species.BySlug(k.slug)
		value := func(p species.Parameter) (low, typical, high float64) {
			v, _ := k.profile.Value(p)
			low, typical, high, _ = v.Span()
			return low, typical, high
		}
		day := func(p species.Parameter) int {
			_, typical, _ := value(p)
			return int(math.Floor(typical + 0.5))
		}
		low, typical, high := value(species.ClutchSize)
		k.clutch = [3]int{int(math.Ceil(low)), int(math.Floor(typical + 0.5)), int(high)}
		_, start, _ := value(species.IncubationStartsAtEgg)
		_, sitting, _ := value(species.IncubationPeriod)
		k.startEgg = int(start)
		k.hatchOn = int(math.Floor(start - 1 + sitting + 0.5))
		k.candleOn, k.ringOn = day(species.CandlingAge), day(species.ClosedRingAge)
		k.fledgeOn, k.weanOn = day(species.FledgingAge), day(species.IndependenceAge)
		k.sexedOn = day(species.VisualSexingAge)
		if k.sexedOn == 0 {
			k.sexedOn = 120 // cocks sing by then; common practice, no source
		}
		if k.sexHow == "" {
			k.sexHow = "looks"
		}
		k.breedFrom = map[aviary.Sex]int{}
		for sex, p := range map[aviary.Sex]species.Parameter{aviary.Cock: species.MinBreedingAgeCock, aviary.Hen: species.MinBreedingAgeHen} {
			low, _, _ := value(p)
			k.breedFrom[sex] = int(low*365.25/12) + 7
		}
		_, k.grams, _ = value(species.AdultMass)
	}
	return list
}

// sitsOn is the day on which steady sitting begins, for a clutch whose first egg is laid on a day.
func (k *kind) sitsOn(first, eggs int) int { return first + min(k.startEgg, eggs) - 1 }
