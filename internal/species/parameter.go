package species

import "slices"

// A Parameter is one thing to know of a species.
type Parameter string

const (
	ClutchSize              Parameter = "clutch_size"
	LayingInterval          Parameter = "laying_interval"
	IncubationStartsAtEgg   Parameter = "incubation_starts_at_egg"
	IncubationPeriod        Parameter = "incubation_period" // from steady sitting to hatching
	CandlingAge             Parameter = "candling_age"      // days of steady sitting
	NightBroodingStopsAge   Parameter = "night_brooding_stops_age"
	FledgingAge             Parameter = "fledging_age"
	IndependenceAge         Parameter = "independence_age"
	MaxClutchesPerSeason    Parameter = "max_clutches_per_season"
	ClosedRingAge           Parameter = "closed_ring_age" // Low to High is the window for ringing
	ClosedRingInnerDiameter Parameter = "closed_ring_inner_diameter"
	SplitRingInnerDiameter  Parameter = "split_ring_inner_diameter"
	JuvenileMoultStartAge   Parameter = "juvenile_moult_start_age"
	JuvenileMoultDoneAge    Parameter = "juvenile_moult_complete_age"
	VisualSexingAge         Parameter = "visual_sexing_age"
	MinBreedingAgeCock      Parameter = "min_breeding_age_cock"
	MinBreedingAgeHen       Parameter = "min_breeding_age_hen"
	UpperProductiveAgeHen   Parameter = "upper_productive_age_hen"
	AdultMass               Parameter = "adult_mass"
	FreshEggMass            Parameter = "fresh_egg_mass"
	EggLength               Parameter = "egg_length"
	EggBreadth              Parameter = "egg_breadth"
	EggLengthDerived        Parameter = "egg_length_derived"
	EggBreadthDerived       Parameter = "egg_breadth_derived"
	Fertility               Parameter = "fertility_captive"
	Hatchability            Parameter = "hatchability_of_fertile_captive"
	NestlingMortality       Parameter = "nestling_mortality_captive"
	IncubationSharing       Parameter = "incubation_sharing"
	NestFailureNotes        Parameter = "nest_failure_notes"
	PublishedOutcomes       Parameter = "published_outcome_figures"
	SoftFoodOvereating      Parameter = "soft_food_overeating"
	LiveFoodNeed            Parameter = "live_food_need"
	CageLengthPerPair       Parameter = "cage_length_per_pair"
	CageDepthPerPair        Parameter = "cage_depth_per_pair"
	CageHeightPerPair       Parameter = "cage_height_per_pair"
	LatitudeMin             Parameter = "latitude_min"
	LatitudeMax             Parameter = "latitude_max"
	LatitudeCentroid        Parameter = "latitude_centroid"
	NaturalDaylength        Parameter = "natural_daylength"
	CITESStatus             Parameter = "cites_status"
)

// Info describes a parameter for the settings page.
type Info struct {
	Parameter Parameter `json:"parameter"`
	Section   string    `json:"section"`         // heading under which it stands
	Label     string    `json:"label"`           // a few words
	Unit      Unit      `json:"unit"`            // unit of its figures
	Explains  string    `json:"explains"`        // one line
	Least     float64   `json:"least,omitempty"` // a figure below this is taken for a slip
	Most      float64   `json:"most,omitempty"`  // a figure above this is taken for a slip
}

// Parameters returns every parameter in the order in which pages show them.
func Parameters() []Parameter {
	infos := describe()
	params := make([]Parameter, len(infos.order))
	copy(params, infos.order)
	return params
}

// Describe returns the label, the unit and the one-line explanation of a parameter.
// ok is false when there is no such parameter.
func Describe(param Parameter) (info Info, ok bool) {
	info, ok = describe().info[param]
	return info, ok
}

// A Unit is the unit of a value's figures, as written in the data files.
type Unit string

const (
	Eggs       Unit = "eggs"
	DaysPerEgg Unit = "days per egg"
	EggNumber  Unit = "egg number"
	Days       Unit = "days"
	Months     Unit = "months"
	Years      Unit = "years"
	Clutches   Unit = "clutches"
	Grams      Unit = "g"
	Millimetre Unit = "mm"
	Centimetre Unit = "cm"
	Percent    Unit = "percent"
	Degrees    Unit = "degrees"
	Hours      Unit = "hours"
	Words      Unit = "text" // the value is a Text
)

var units = []Unit{
	Eggs, DaysPerEgg, EggNumber, Days, Months, Years, Clutches, Grams,
	Millimetre, Centimetre, Percent, Degrees, Hours, Words,
}

func (u Unit) known() bool { return slices.Contains(units, u) }
