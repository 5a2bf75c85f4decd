package nest

import "math"

// Day is a civil day as a running number. Only differences matter: any origin will do.
type Day int

// Range is one value of a species profile, in days, eggs or an egg number as its field
// says. An unknown Range takes part in nothing: what rests on it stays unknown.
type Range struct {
	Low, Typical, High float64
	Known              bool
}

// Profile is what the timeline needs to know of a species.
type Profile struct {
	LayingInterval        Range // days from one egg to the next
	IncubationStartsAtEgg Range // number of the egg with which steady sitting starts
	Incubation            Range // days from steady sitting to the hatch of those eggs
	ClutchSize            Range // eggs
	CandlingAge           Range // days of sitting at which candling tells most
	RingAge               Range // days old at which a closed ring goes on
	FledgeAge             Range // days old at which the young leave the nest
	IndependenceAge       Range // days old at which the young feed themselves
}

// Window is a range of days with a likely one: Early <= Likely <= Late.
type Window struct {
	Early, Likely, Late Day
}

// Look is one look into a nest. A nil count was not taken. Counts are as found, before
// anything is taken out, put in or moved at the same look.
type Look struct {
	Day    Day
	Minute int // minutes after midnight; -1 when the clock time is not known

	Eggs        *int // whole eggs in the nest
	EggsAtLeast *int // "at least so many": a hen sat tight, or the nest was too deep to see all
	Chicks      *int // live chicks in the nest; a look that found none says 0, for nil is not none
	DeadChicks  *int // dead chicks found since the look before, taken out
	Out         *int // young out of the nest and not yet parted

	NewClutch bool // from this look on the counts belong to a further clutch
	OldEggs   int  // at a NewClutch look: eggs of the earlier clutch still lying among those counted

	AgeDays      *int // estimated age of the oldest chick
	AgePlusMinus *int // days either way; nil reads as AgeDoubt

	Building       *bool // the birds carry or shape nest material
	ClutchComplete *bool // the keeper holds the clutch for complete
	Sitting        *bool // a bird sat tight on the eggs

	// Candling, by egg. Candled may be left false when any count is given.
	Candled                                         bool
	Fertile, Clear, EarlyDead, DeadInShell, Cracked int

	EggsRemoved                   int
	EggsMovedIn, EggsMovedOut     int
	EggsDue                       *Window // for eggs moved in: when the nest they came from says they hatch
	ChicksMovedIn, ChicksMovedOut int
	Ringed, Weaned                int // young ringed, young parted, at this look

	Found           bool // the nest as it was found: what came before is not known
	FirstEggUnknown bool // the keeper does not know when laying began: zeros before this look do not bound it
}

// Kind names an event of a clutch. The order is the order of the events.
type Kind int

// The events of a clutch.
const (
	FirstEgg       Kind = iota // the day the first egg is laid
	ClutchComplete             // the day the last egg is laid
	SittingFrom                // the day steady sitting starts
	Candle                     // a window: the days for candling
	Hatch                      // the day the first chick hatches: its day 0
	LastHatch                  // the day the last chick hatches
	Ring                       // a window: the days for a closed ring on the oldest chicks
	Fledge                     // the day the first young leaves the nest
	Wean                       // the day the young feed themselves
	Part                       // the day by which the keeper is asked to part the young
	kinds                      // how many there are
)

var kindNames = [kinds]string{
	"first egg", "clutch complete", "sitting from", "candling", "hatch",
	"last hatch", "ringing", "fledging", "weaning", "parting",
}

// String returns the keeper's word for the event.
func (k Kind) String() string {
	if k < 0 || k >= kinds {
		return "no such event"
	}
	return kindNames[k]
}

// Event is one event of the clutch as a range of days.
//
// When Known is false the days are 0 and mean nothing. When Known is true,
// Early <= Likely <= Late.
type Event struct {
	Kind                Kind
	Early, Likely, Late Day
	// From and To are the days to aim at. For Candle and Ring they are counted from the
	// likely day alone; for every other event they are Early and Late.
	From, To Day
	// Seen says that looks show the event from both sides: Early..Late is the bracket between them.
	Seen bool
	// Happened says that a look shows the event to be past, even where its day is only worked out.
	Happened bool
	Known    bool
	// Overdue is never true before OverdueAfter days past Likely, nor before Late is past.
	Overdue bool
	// Basis is one short sentence with the counts and profile values the range rests on.
	Basis string

	shapeEarly, shapeLikely, shapeLate Day // before looks that found "not yet" cut days off
}

// Course is the answer of [Timeline]: all that the looks and the profile say of one clutch.
type Course struct {
	Asked     Day
	Events    [kinds]Event // indexed by Kind
	Stage     Stage        // on the day asked
	Counts    Counts
	Questions []Question
	Next      []NextLook
	// Notes say where looks contradict each other or the profile, and what was done. Empty when all fits.
	Notes []string

	in *input
}

// Event returns the event of kind k; an unknown event when there is no such kind.
func (c *Course) Event(k Kind) Event {
	if k < 0 || k >= kinds {
		return Event{Kind: k}
	}
	return c.Events[k]
}

// clean returns r with Low <= Typical <= High, or an unknown Range when no number makes
// sense. A Low or High that is absent (0, or on the wrong side of Typical) becomes Typical.
func (r Range) clean(least float64) Range {
	const most = 1000 // days or eggs: more is a slip of the pen
	if !r.Known || math.IsNaN(r.Typical) || r.Typical < least || r.Typical > most {
		return Range{}
	}
	if !(r.Low > 0 && r.Low >= least && r.Low <= r.Typical) {
		r.Low = r.Typical
	}
	if !(r.High >= r.Typical && r.High <= most) {
		r.High = r.Typical
	}
	return r
}

func (p Profile) clean() Profile {
	p.LayingInterval = p.LayingInterval.clean(0.5)
	p.IncubationStartsAtEgg = p.IncubationStartsAtEgg.clean(1)
	p.Incubation = p.Incubation.clean(1)
	p.ClutchSize = p.ClutchSize.clean(1)
	p.CandlingAge = p.CandlingAge.clean(0)
	p.RingAge = p.RingAge.clean(0)
	p.FledgeAge = p.FledgeAge.clean(1)
	p.IndependenceAge = p.IndependenceAge.clean(1)
	return p
}
