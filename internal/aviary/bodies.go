package aviary

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Ring is what is stamped on a ring: who issued it, for which year, and its number. Two rings are
// the same ring when all three are the same.
type Ring struct {
	Issuer string `json:"ring_issuer,omitempty" doc:"society or breeder that issued the ring, as stamped on it; may be empty"`
	Year   int    `json:"ring_year,omitempty" doc:"ring year, four digits; empty when the ring bears none"`
	Number string `json:"ring_number,omitempty" doc:"number as stamped; empty when the ring is not read yet"`
}

// Read reports whether the ring's number is known.
func (r Ring) Read() bool { return r.Number != "" }

// String returns the ring as people write it: issuer, two-digit year, number.
func (r Ring) String() string {
	if !r.Read() {
		return "not read yet"
	}
	var b strings.Builder
	if r.Issuer != "" {
		b.WriteString(r.Issuer + " ")
	}
	if r.Year > 0 {
		fmt.Fprintf(&b, "%02d-", r.Year%100)
	}
	return b.String() + r.Number
}

// ParseRing reads a ring as people write it ("FC 26-019", "26-019", "019").
func ParseRing(s string) (Ring, error) {
	f := strings.Fields(s)
	if len(f) == 0 {
		return Ring{}, fmt.Errorf("the ring is empty")
	}
	var r Ring
	last := f[len(f)-1]
	r.Issuer = strings.Join(f[:len(f)-1], " ")
	if year, number, ok := strings.Cut(last, "-"); ok && (len(year) == 2 || len(year) == 4) && number != "" {
		if y, err := strconv.Atoi(year); err == nil && y >= 0 {
			if len(year) == 2 {
				y += 2000
				if y > 2079 { // two digits from 80 on are rings of the last century
					y -= 100
				}
			}
			r.Year, last = y, number
		}
	}
	r.Number = last
	if e := r.check(); e != nil {
		return Ring{}, e
	}
	return r, nil
}

func (r Ring) check() *Error {
	if r.Year != 0 && (r.Year < 1950 || r.Year > 2199) {
		return invalid("ring_year", "the ring year %d is outside 1950 to 2199", r.Year)
	}
	if len(r.Issuer) > 24 || len(r.Number) > 24 {
		return invalid("ring_number", "a ring's issuer and number have at most 24 letters each")
	}
	return nil
}

// Sex of a bird as it is known.
type Sex string

// The sexes; a bird that is not sexed has Sex "".
const (
	Cock Sex = "cock"
	Hen  Sex = "hen"
)

func (s Sex) check(field string) *Error {
	if s != "" && s != Cock && s != Hen {
		return invalid(field, "%q is not a sex; write cock, hen, or leave it empty", string(s))
	}
	return nil
}

// PlaceType is the sort of place that birds are kept in.
type PlaceType string

// The sorts of place. Quarantine and hospital are walked last.
const (
	Cage       PlaceType = "cage"
	Flight     PlaceType = "flight"
	Aviary     PlaceType = "aviary"
	Quarantine PlaceType = "quarantine"
	Hospital   PlaceType = "hospital"
)

// PlaceTypes lists the sorts of place.
var PlaceTypes = []PlaceType{Cage, Flight, Aviary, Quarantine, Hospital}

// Condition signs that a look may note.
var Signs = []string{"singing", "beak dark", "wing flutter", "at the nest", "building"}

// EggStates are what candling can show of an egg. "clear" means that no development is seen.
var EggStates = []string{"fertile", "clear", "early dead", "dead in shell", "cracked"}

// LookAnswers are the answers to a look: looked and the same, sitting and left alone, changed.
var LookAnswers = []string{"same", "sitting", "changed"}

// GoneWhys are what may have become of an egg or chick that is not there any more.
var GoneWhys = []string{"hatched", "broken", "eaten", "tossed out", "taken out", "not known"}

// OddThings are the things a keeper may find wrong at a cage.
var OddThings = []string{"dead", "poorly", "egg on the floor", "chick on the floor", "escaped", "ring lost", "stranger in the cage", "water out", "hen fluffed or low", "hen straining", "other"}

// LampMoves, ClockChanges and WindowLight are the choices of a lamp plan.
var (
	LampMoves    = []string{"evening", "morning", "both"}
	ClockChanges = []string{"wall", "standard", "spread"}
	WindowLight  = []string{"none", "twilight", "sun"}
)

// ColourInherited are the ways in which a colour of the keeper's own may pass to the young.
var ColourInherited = []string{"recessive", "dominant", "half"}

// Lethalities are what may become of a genotype that is suspected of killing its bearer.
var Lethalities = []string{"viable", "lethal", "unknown"}

// PairRules are what a keeper may rule of a cock and a hen.
var PairRules = []string{"together", "apart", "free"}

// BegunPhases are the feeding phases whose first day a keeper may write at a place. Later ones follow from eggs and young.
var BegunPhases = []string{"preparation", "conditioning", "moult", "rest"}

// LeftHows are the ways in which a bird leaves.
var LeftHows = []string{"sold", "given", "lent", "escaped"}

// PairEnds are the usual reasons for ending a pair.
var PairEnds = []string{"season over", "resting", "clear eggs", "no eggs", "eggs or chicks lost", "fighting", "one died", "re-paired", "other"}

// ---- the room ----

// RoomSet sets something about the room as a whole from its day on. Nil leaves a setting as it is.
type RoomSet struct {
	Name        *string  `json:"name,omitempty" doc:"the room's name"`
	Zone        *string  `json:"zone,omitempty" doc:"time zone, by its name in the tz database, such as Europe/Dublin"`
	Latitude    *float64 `json:"latitude,omitempty" doc:"degrees, north positive"`
	Longitude   *float64 `json:"longitude,omitempty" doc:"degrees, east positive"`
	SeasonStart *string  `json:"season_start,omitempty" doc:"month and day on which the keeper's season begins, MM-DD"`
	RingYear    *string  `json:"ring_year_start,omitempty" doc:"month and day on which the ring year begins, MM-DD"`
	LullFrom    *string  `json:"lull_from,omitempty" doc:"month and day from which the birds rest, MM-DD"`
	LullTo      *string  `json:"lull_to,omitempty" doc:"month and day until which the birds rest, MM-DD"`
	Kept        []string `json:"species_kept,omitempty" doc:"slugs of the species that the keeper keeps, which lists of choices show first; empty leaves it as it is"`
	Mass        *string  `json:"mass_unit,omitempty" doc:"unit shown for weights: g or oz"`
	Volume      *string  `json:"volume_unit,omitempty" doc:"unit shown for food: ml, tsp or oz"`
	Length      *string  `json:"length_unit,omitempty" doc:"unit shown for lengths: mm or in"`
	Warmth      *string  `json:"temperature_unit,omitempty" doc:"unit shown for temperature: C or F"`
}

// SpeciesSet sets the keeper's own value for a species parameter, or takes it back.
type SpeciesSet struct {
	Species   string   `json:"species" doc:"species slug"`
	Parameter string   `json:"parameter" doc:"name of the species value"`
	Low       *float64 `json:"low,omitempty" doc:"low end, in the parameter's unit"`
	Typical   *float64 `json:"typical,omitempty" doc:"usual value, in the parameter's unit"`
	High      *float64 `json:"high,omitempty" doc:"high end, in the parameter's unit"`
	Clear     bool     `json:"clear,omitempty" doc:"true takes the own value back"`
}

// RingsListed says which rings the keeper has on hand.
type RingsListed struct {
	Issuer  string   `json:"ring_issuer,omitempty" doc:"issuer stamped on the rings"`
	Year    int      `json:"ring_year,omitempty" doc:"ring year, four digits"`
	From    int      `json:"from" doc:"first number"`
	To      int      `json:"to" doc:"last number"`
	Digits  int      `json:"digits,omitempty" doc:"digits that the number is written with, such as 3 for 019"`
	Size    float64  `json:"size_mm,omitempty" doc:"inner diameter in mm, from the keeper's own list"`
	Species []string `json:"species,omitempty" doc:"species slugs that the rings are for; empty means any"`
}

// ---- places ----

// PlaceAdded adds a cage, flight, aviary, quarantine or hospital cage.
type PlaceAdded struct {
	Place    ID        `json:"place" doc:"id of the place"`
	Name     string    `json:"name" doc:"name or number on its plate"`
	Type     PlaceType `json:"type" doc:"cage, flight, aviary, quarantine or hospital"`
	Bank     string    `json:"bank,omitempty" doc:"bank of cages that it hangs in"`
	Row      int       `json:"row,omitempty" doc:"row in the bank, 1 at the top"`
	Col      int       `json:"col,omitempty" doc:"column in the bank, 1 at the left"`
	Capacity *int      `json:"capacity,omitempty" doc:"birds that it holds"`
	Outdoor  bool      `json:"outdoor,omitempty" doc:"true when it is out of doors"`
}

// PlaceChanged changes something about a place. Nil leaves a value as it is.
type PlaceChanged struct {
	Place        ID      `json:"place" doc:"id of the place"`
	Name         *string `json:"name,omitempty" doc:"new name or number"`
	Bank         *string `json:"bank,omitempty" doc:"new bank"`
	Row          *int    `json:"row,omitempty" doc:"new row, 1 at the top"`
	Col          *int    `json:"col,omitempty" doc:"new column, 1 at the left"`
	Capacity     *int    `json:"capacity,omitempty" doc:"birds that it holds"`
	Outdoor      *bool   `json:"outdoor,omitempty" doc:"true when it is out of doors"`
	BlockedUntil *Date   `json:"blocked_until,omitempty" doc:"no bird, egg or chick goes in or out before this day"`
}

// PlaceRetired takes a place out of use.
type PlaceRetired struct {
	Place  ID     `json:"place" doc:"id of the place"`
	Reason string `json:"reason,omitempty" doc:"why"`
}

// ---- birds ----

// BirdAcquired says that a bird came into the room's books: bought, lent, found at the start, or bred before.
type BirdAcquired struct {
	Bird         ID     `json:"bird" doc:"id of the bird"`
	Species      string `json:"species" doc:"species slug"`
	Sex          Sex    `json:"sex,omitempty" doc:"cock, hen, or empty when not known"`
	Hatched      Date   `json:"hatched,omitzero" doc:"day of hatch; empty when not known"`
	HatchedAbout *int   `json:"hatched_about,omitempty" doc:"days by which the day of hatch may be off, either way"`
	Name         string `json:"name,omitempty" doc:"the bird's name, if it has one"`
	Ring
	RingSize *float64 `json:"ring_size_mm,omitempty" doc:"inner diameter of the ring, mm"`
	Sire     ID       `json:"sire,omitzero" doc:"id of the father, if known"`
	Dam      ID       `json:"dam,omitzero" doc:"id of the mother, if known"`
	Place    ID       `json:"place,omitzero" doc:"id of the place where it was put"`
	Looks    []string `json:"looks,omitempty" doc:"what it shows, each as trait=look or just the look"`
	From     string   `json:"from,omitempty" doc:"where it came from, in a word or two; no private address"`
	Found    bool     `json:"found,omitempty" doc:"true when it was in the room before the books began"`
}

// ChickRinged says that a chick in a nest (or an unringed young in a group) got its ring, and so became a bird in the books.
type ChickRinged struct {
	Bird    ID     `json:"bird" doc:"id of the bird"`
	Place   ID     `json:"place" doc:"id of the place where it was ringed"`
	Box     ID     `json:"box,omitzero" doc:"id of the nest box, where there are several"`
	Group   ID     `json:"group,omitzero" doc:"id of the group of unringed young that it belonged to"`
	Species string `json:"species" doc:"species slug"`
	Ring
	RingSize     *float64 `json:"ring_size_mm,omitempty" doc:"inner diameter of the ring, mm"`
	Sex          Sex      `json:"sex,omitempty" doc:"cock, hen, or empty when not known"`
	Hatched      Date     `json:"hatched,omitzero" doc:"day of hatch; empty when not known"`
	HatchedAbout *int     `json:"hatched_about,omitempty" doc:"days by which the day of hatch may be off, either way"`
	LaidPlace    ID       `json:"laid_place,omitzero" doc:"id of the place where its egg was laid, when that is another nest"`
	Sire         ID       `json:"sire,omitzero" doc:"id of the father, when it is not simply the laying pair's cock"`
	Dam          ID       `json:"dam,omitzero" doc:"id of the mother, when it is not simply the laying pair's hen"`
	Looks        []string `json:"looks,omitempty" doc:"what it shows, each as trait=look or just the look"`
}

// BirdRinged says that a bird in the books got a ring, or that its ring was read.
type BirdRinged struct {
	Bird ID `json:"bird" doc:"id of the bird"`
	Ring
	RingSize *float64 `json:"ring_size_mm,omitempty" doc:"inner diameter of the ring, mm"`
	How      string   `json:"how,omitempty" doc:"new, replaced (the ring before is off) or read (it wore it all along)"`
}

// RingLost says that a bird wears a ring no longer.
type RingLost struct {
	Bird ID `json:"bird" doc:"id of the bird"`
	Ring
}

// BirdSexed says what sex a bird is, and how that is known. A later one corrects an earlier one.
type BirdSexed struct {
	Bird ID     `json:"bird" doc:"id of the bird"`
	Sex  Sex    `json:"sex" doc:"cock or hen"`
	How  string `json:"how,omitempty" doc:"looks, song, DNA, laid an egg, ..."`
}

// LookSeen says what a bird shows.
type LookSeen struct {
	Bird  ID     `json:"bird" doc:"id of the bird"`
	Trait string `json:"trait,omitempty" doc:"what part or colour it is about, such as head or body"`
	Look  string `json:"look" doc:"what is seen"`
}

// ColourSaid says what somebody told of the colours that a bird hides.
type ColourSaid struct {
	Bird    ID       `json:"bird" doc:"id of the bird"`
	Locus   string   `json:"locus" doc:"id of the locus in the catalogue of colours"`
	Allele  string   `json:"allele" doc:"id of the allele that it is about"`
	Carries bool     `json:"carries,omitempty" doc:"true when it was said to carry it, empty when it was said not to"`
	Trust   *float64 `json:"trust,omitempty" doc:"chance that such a word is true, 0.5 to 1; empty means 0.9"`
	By      string   `json:"said_by,omitempty" doc:"who said so, in a word or two"`
}

// ColourAssumed sets what is taken for granted about a colour of a species: how common an allele is among birds of
// unknown parents, how often two loci part, whether a suspected genotype lives. Nil and empty leave a value as it is.
type ColourAssumed struct {
	Species       string   `json:"species" doc:"species slug"`
	Locus         string   `json:"locus" doc:"id of the locus"`
	Allele        string   `json:"allele,omitempty" doc:"id of the allele that the frequency is of"`
	Frequency     *float64 `json:"frequency,omitempty" doc:"share of the allele among birds of unknown parents, 0 to 1"`
	With          string   `json:"with_locus,omitempty" doc:"id of the other locus, for a recombination fraction"`
	Recombination *float64 `json:"recombination,omitempty" doc:"recombination fraction of the two loci, 0 to 0.5"`
	Lethality     string   `json:"lethality,omitempty" doc:"of suspected lethal genotypes: viable, lethal or unknown"`
	Basis         string   `json:"basis,omitempty" doc:"what it rests on"`
	Clear         bool     `json:"clear,omitempty" doc:"true takes back what was assumed of this locus"`
}

// ColourAdded adds a colour of the keeper's own to a species.
type ColourAdded struct {
	Species   string `json:"species" doc:"species slug"`
	Locus     string `json:"locus" doc:"short name of the colour's locus, letters, digits and hyphens"`
	Look      string `json:"look" doc:"what a bird with it shows"`
	Plain     string `json:"plain" doc:"what a bird without it shows"`
	Single    string `json:"single,omitempty" doc:"what a bird with one copy shows, where that is a look of its own"`
	Inherited string `json:"inherited" doc:"recessive, dominant, or half where one copy shows another look than two"`
	OnZ       bool   `json:"on_z,omitempty" doc:"true when it is linked to sex"`
	Basis     string `json:"basis,omitempty" doc:"what that rests on"`
}

// BirdWeighed is a weighing.
type BirdWeighed struct {
	Bird  ID      `json:"bird" doc:"id of the bird"`
	Grams float64 `json:"grams" doc:"mass in g"`
}

// BirdMoved says that a bird was put in another place.
type BirdMoved struct {
	Bird   ID     `json:"bird" doc:"id of the bird"`
	Place  ID     `json:"place" doc:"id of the place where it was put"`
	Reason string `json:"reason,omitempty" doc:"why"`
}

// BirdDied says that a bird died.
type BirdDied struct {
	Bird  ID     `json:"bird" doc:"id of the bird"`
	Cause string `json:"cause,omitempty" doc:"what it died of, if known"`
}

// OneDied says that one of several birds died, and which is not known yet.
type OneDied struct {
	Birds []ID   `json:"birds" doc:"ids of the birds that it may have been"`
	Cause string `json:"cause,omitempty" doc:"what it died of, if known"`
}

// BirdLeft says that a bird left the room alive.
type BirdLeft struct {
	Bird ID     `json:"bird" doc:"id of the bird"`
	How  string `json:"how" doc:"sold, given, lent or escaped"`
	To   ID     `json:"to,omitzero" doc:"id of the person it went to, in the address book that is kept apart"`
}

// BirdReturned says that a bird came back.
type BirdReturned struct {
	Bird  ID `json:"bird" doc:"id of the bird"`
	Place ID `json:"place,omitzero" doc:"id of the place where it was put"`
}

// BirdSame says that two birds in the books are one.
type BirdSame struct {
	Bird ID `json:"bird" doc:"id of the bird that stands"`
	Same ID `json:"same" doc:"id under which the same bird was also written"`
}

// BirdNamed gives a bird a name.
type BirdNamed struct {
	Bird ID     `json:"bird" doc:"id of the bird"`
	Name string `json:"name" doc:"the name"`
}

// ParentsSet says who a bird's parents are; a later one corrects an earlier one. Zero means not known.
type ParentsSet struct {
	Bird ID     `json:"bird" doc:"id of the bird"`
	Sire ID     `json:"sire,omitzero" doc:"id of the father, if known"`
	Dam  ID     `json:"dam,omitzero" doc:"id of the mother, if known"`
	How  string `json:"how,omitempty" doc:"how it is known: DNA, seen, seller's word, ..."`
}

// Note is a free note on a bird, a place, or the room.
type Note struct {
	Bird  ID     `json:"bird,omitzero" doc:"id of the bird that it is about"`
	Place ID     `json:"place,omitzero" doc:"id of the place that it is about"`
	Text  string `json:"text" doc:"the note"`
}

// ---- pairs ----

// PairSet puts birds together in a place to breed: a pair, a trio, two cocks, a colony.
type PairSet struct {
	Pair  ID     `json:"pair" doc:"id of the pair"`
	Place ID     `json:"place" doc:"id of the place"`
	Cocks []ID   `json:"cocks,omitempty" doc:"ids of the cocks"`
	Hens  []ID   `json:"hens,omitempty" doc:"ids of the hens"`
	Plan  string `json:"plan,omitempty" doc:"what the pair is for, if anything was said"`
	Found bool   `json:"found,omitempty" doc:"true when they were together before the books began"`
}

// PairRuled says that a cock and a hen are wanted together or are not to be put together.
type PairRuled struct {
	Cock ID     `json:"cock" doc:"id of the cock"`
	Hen  ID     `json:"hen" doc:"id of the hen"`
	Rule string `json:"rule" doc:"together, apart, or free to take back an earlier rule"`
	Why  string `json:"reason,omitempty" doc:"why"`
}

// BirdHeld keeps a bird out of plans for pairs.
type BirdHeld struct {
	Bird  ID     `json:"bird" doc:"id of the bird"`
	Until Date   `json:"until,omitzero" doc:"day from which it may be paired again; empty means until further notice"`
	Free  bool   `json:"free,omitempty" doc:"true takes it back: the bird may be paired"`
	Why   string `json:"reason,omitempty" doc:"why: rest, age, a fault, an illness"`
}

// YoungWished says how many young of a look the keeper would like of a season.
type YoungWished struct {
	Species string `json:"species" doc:"species slug"`
	Trait   string `json:"trait,omitempty" doc:"what part or colour it is about"`
	Look    string `json:"look" doc:"look that is wished for"`
	Sex     Sex    `json:"sex,omitempty" doc:"cock, hen, or empty for either"`
	Count   int    `json:"count" doc:"how many; 0 takes the wish back"`
}

// PairEnded ends a pair. Its nest goes on.
type PairEnded struct {
	Pair   ID     `json:"pair" doc:"id of the pair"`
	Reason string `json:"reason" doc:"why"`
}

// ---- nests ----

// BoxHung hangs a nest box at a place.
type BoxHung struct {
	Box   ID     `json:"box" doc:"id of the box"`
	Place ID     `json:"place" doc:"id of the place"`
	Name  string `json:"name,omitempty" doc:"the box's name, where there are several"`
}

// BoxTaken takes a nest box out.
type BoxTaken struct {
	Box   ID `json:"box" doc:"id of the box"`
	Place ID `json:"place" doc:"id of the place"`
}

// BoxCleaned says that a box was cleaned.
type BoxCleaned struct {
	Box   ID `json:"box" doc:"id of the box"`
	Place ID `json:"place" doc:"id of the place"`
}

// MaterialGiven says that nest material was given.
type MaterialGiven struct {
	Place ID     `json:"place" doc:"id of the place"`
	Box   ID     `json:"box,omitzero" doc:"id of the box, where there are several"`
	What  string `json:"what,omitempty" doc:"what was given"`
}

// NestCheck is a look at a nest. It may be partial: what was not counted is empty.
type NestCheck struct {
	Place         ID       `json:"place" doc:"id of the place"`
	Box           ID       `json:"box,omitzero" doc:"id of the box, where there are several"`
	Look          string   `json:"look,omitempty" doc:"same (looked, nothing changed), sitting (left alone) or changed"`
	Eggs          *int     `json:"eggs,omitempty" doc:"eggs seen in the nest, counted before any is taken out"`
	EggsAtLeast   bool     `json:"eggs_at_least,omitempty" doc:"true when there may be more eggs than seen"`
	Chicks        *int     `json:"chicks,omitempty" doc:"live chicks seen in the nest"`
	ChicksAtLeast bool     `json:"chicks_at_least,omitempty" doc:"true when there may be more chicks than seen"`
	DeadChicks    *int     `json:"dead_chicks,omitempty" doc:"dead chicks found at this look"`
	Out           *int     `json:"out,omitempty" doc:"young seen out of the box, not yet on their own"`
	Removed       *int     `json:"eggs_removed,omitempty" doc:"eggs taken out at this look"`
	RemovedWhy    string   `json:"removed_why,omitempty" doc:"why they were taken out"`
	Dummies       *int     `json:"dummy_eggs,omitempty" doc:"dummy eggs lying in the nest, not counted under eggs"`
	FloorEggs     *int     `json:"floor_eggs,omitempty" doc:"eggs found on the cage floor at this look"`
	Buried        *int     `json:"buried,omitempty" doc:"eggs found buried in the nest at this look, not counted under eggs"`
	Candled       []string `json:"candled,omitempty" doc:"one item an egg: fertile, clear, early dead, dead in shell or cracked; a marked egg as mark:state"`
	NewClutch     bool     `json:"new_clutch,omitempty" doc:"true when a new clutch begins at this look"`
	ClutchNo      *int     `json:"clutch_no,omitempty" doc:"number of the clutch in this season, when the keeper knows it"`
	AgeDays       *int     `json:"chick_age_days,omitempty" doc:"age of the eldest chick as judged, day 0 is the day of hatch"`
	AgeAbout      *int     `json:"chick_age_about,omitempty" doc:"days by which the judged age may be off, either way"`
	Signs         []string `json:"signs,omitempty" doc:"signs of condition seen: singing, beak dark, wing flutter, at the nest, building"`
	GoneEggs      *int     `json:"gone_eggs,omitempty" doc:"eggs that are missing since the look before"`
	GoneEggsWhy   string   `json:"gone_eggs_why,omitempty" doc:"what became of them: hatched, broken, eaten, tossed out, taken out, not known"`
	GoneChicks    *int     `json:"gone_chicks,omitempty" doc:"chicks that are missing since the look before"`
	GoneChicksWhy string   `json:"gone_chicks_why,omitempty" doc:"what became of them"`
	MoreWhy       string   `json:"more_why,omitempty" doc:"why there is more than one egg more a day: two hens, dumped, missed before, not known"`
	SelfFeeding   bool     `json:"self_feeding,omitempty" doc:"true when young were seen feeding themselves"`
	Found         bool     `json:"found,omitempty" doc:"true for the first look of the books: what came before is not known"`
	Text          string   `json:"text,omitempty" doc:"a note"`
}

// NestMoved moves eggs or chicks to another nest: who laid and who rears are from then on two facts.
type NestMoved struct {
	Place   ID       `json:"place" doc:"id of the place that they were taken from"`
	Box     ID       `json:"box,omitzero" doc:"id of the box that they were taken from, where there are several"`
	ToPlace ID       `json:"to_place" doc:"id of the place that they were put in"`
	ToBox   ID       `json:"to_box,omitzero" doc:"id of the box that they were put in, where there are several"`
	Eggs    int      `json:"eggs,omitempty" doc:"eggs moved"`
	Chicks  int      `json:"chicks,omitempty" doc:"unringed chicks moved"`
	Birds   []ID     `json:"birds,omitempty" doc:"ids of ringed chicks moved"`
	Marks   []string `json:"marks,omitempty" doc:"marks on the moved eggs, if they are marked"`
	AgeDays *int     `json:"chick_age_days,omitempty" doc:"age of the moved chicks as judged"`
}

// YoungWeaned says that young were parted from those who reared them.
type YoungWeaned struct {
	Place    ID     `json:"place" doc:"id of the place where they were reared"`
	Box      ID     `json:"box,omitzero" doc:"id of the box, where there are several"`
	Birds    []ID   `json:"birds,omitempty" doc:"ids of the ringed young"`
	Unringed int    `json:"unringed,omitempty" doc:"young without rings"`
	Group    ID     `json:"group,omitzero" doc:"id under which the unringed young are kept as a counted group"`
	Species  string `json:"species,omitempty" doc:"species slug of the unringed young"`
	To       ID     `json:"to,omitzero" doc:"id of the place where they were put"`
	Left     *int   `json:"left,omitempty" doc:"young of this brood that stay with the parents; empty means none"`
}

// GroupFound writes a number of unringed young into the books as a counted group.
type GroupFound struct {
	Group   ID     `json:"group" doc:"id of the group"`
	Species string `json:"species" doc:"species slug"`
	Count   int    `json:"count" doc:"birds"`
	Place   ID     `json:"place" doc:"id of the place"`
	Hatched Date   `json:"hatched,omitzero" doc:"day of hatch, if known"`
}

// GroupMoved moves a counted group.
type GroupMoved struct {
	Group ID `json:"group" doc:"id of the group"`
	Place ID `json:"place" doc:"id of the place"`
}

// GroupCounted counts a group again.
type GroupCounted struct {
	Group ID     `json:"group" doc:"id of the group"`
	Count int    `json:"count" doc:"birds"`
	Why   string `json:"why_changed,omitempty" doc:"why it differs, if known"`
}

// PlaceCounted says how many birds were found in a place.
type PlaceCounted struct {
	Place ID     `json:"place" doc:"id of the place"`
	Found int    `json:"found" doc:"birds counted"`
	Book  *int   `json:"book,omitempty" doc:"birds that the books said there were when it was counted"`
	Text  string `json:"text,omitempty" doc:"a note"`
}

// ---- the day ----

// LampSet says how a circuit's timer was really set from its day on.
type LampSet struct {
	Circuit string `json:"circuit,omitempty" doc:"name of the circuit; empty means the whole room"`
	On      Clock  `json:"on" doc:"time of day at which the lamps go on, wall clock"`
	Off     Clock  `json:"off" doc:"time of day at which the lamps are off, wall clock"`
	Dusk    *int   `json:"dusk_minutes,omitempty" doc:"minutes of dimming before off"`
}

// LampPlanned says how a circuit's lamp hours are to run through a season. Of two plans for one circuit whose dates
// overlap, the one that is later in the books holds.
type LampPlanned struct {
	Circuit   string   `json:"circuit,omitempty" doc:"name of the circuit; empty means the whole room"`
	Rest      float64  `json:"rest_hours" doc:"lamp hours a day at rest"`
	Full      float64  `json:"full_hours" doc:"lamp hours a day at full light"`
	RampFrom  Date     `json:"ramp_from" doc:"day of the first longer day"`
	FullBy    Date     `json:"full_by" doc:"day on which full light is reached at the latest"`
	TaperFrom Date     `json:"taper_from" doc:"day of the first shorter day"`
	RestBy    Date     `json:"rest_by" doc:"day on which rest is reached at the latest"`
	On        Clock    `json:"on" doc:"time of day at which the lamps go on at full light"`
	Step      int      `json:"step_minutes" doc:"most change from one day to the next, in minutes"`
	Every     int      `json:"every_days" doc:"days from one change to the next"`
	Moves     string   `json:"moves,omitempty" doc:"which end of the lamp day moves: evening, morning or both; empty means evening"`
	Dusk      *int     `json:"dusk_minutes,omitempty" doc:"minutes of dimming before off"`
	Clocks    string   `json:"clock_changes,omitempty" doc:"what the lamps do when the clocks change: wall, standard or spread; empty means wall"`
	Windows   string   `json:"windows,omitempty" doc:"daylight that reaches the birds: none, twilight or sun; empty means none"`
	Banks     []string `json:"banks,omitempty" doc:"names of the banks that the circuit lights; with no bank and no place named, every indoor place that no other circuit lights"`
	Places    []ID     `json:"places,omitempty" doc:"ids of further places that the circuit lights"`
	FromReal  bool     `json:"from_real,omitempty" doc:"true when the plan goes on from the lamps as they were really set on the day of this entry"`
}

// FeedPlanned says from which days a group of birds is fed for what. A pair follows it until it goes its own way.
// Of plans that name a bird's place, its bank, its species or nothing at all, the closest holds, in this order; of
// two as close, the one that is later in the books.
type FeedPlanned struct {
	Name         string   `json:"name,omitempty" doc:"what the keeper calls the group; empty means the whole room"`
	Places       []ID     `json:"places,omitempty" doc:"ids of the places that it holds for"`
	Banks        []string `json:"banks,omitempty" doc:"names of the banks that it holds for"`
	Species      []string `json:"species,omitempty" doc:"slugs of the species that it holds for; with nothing named it holds for the whole room"`
	Preparation  Date     `json:"preparation,omitzero" doc:"first day of preparation"`
	Conditioning Date     `json:"conditioning,omitzero" doc:"first day of sprouted seed"`
	Moult        Date     `json:"moult,omitzero" doc:"first day of food for the moult"`
	Rest         Date     `json:"rest,omitzero" doc:"first day of rest"`
}

// PhaseBegun says that a feeding phase really began, whatever the plan says.
type PhaseBegun struct {
	Phase  string `json:"phase" doc:"preparation, conditioning (sprouted seed), moult or rest"`
	Places []ID   `json:"places,omitempty" doc:"ids of the places; empty means the whole room"`
}

// FoodGiven says what was fed.
type FoodGiven struct {
	Food   string   `json:"food" doc:"what was given"`
	Amount *float64 `json:"amount,omitempty" doc:"how much a place got"`
	Unit   string   `json:"unit,omitempty" doc:"unit of the amount: ml, g or tsp"`
	Places []ID     `json:"places,omitempty" doc:"ids of the places; empty means the whole room"`
}

// IntakeSeen says how much of their usual food birds ate.
type IntakeSeen struct {
	Places []ID    `json:"places" doc:"ids of the places"`
	Share  float64 `json:"share" doc:"what they ate as a share of what they usually eat; 1 is as always"`
	Text   string  `json:"text,omitempty" doc:"a note"`
}

// StoreCounted says how much of a food is in store.
type StoreCounted struct {
	Food      string   `json:"food" doc:"id or name of the food"`
	Grams     float64  `json:"grams" doc:"what is there, in g"`
	OrderDays *int     `json:"order_days,omitempty" doc:"days from ordering to having it"`
	Price     *float64 `json:"price_per_kg,omitempty" doc:"price of a kg, in the keeper's money"`
}

// GerminationTested says how many of the seeds laid out sprouted by the third day.
type GerminationTested struct {
	Food     string `json:"food" doc:"id or name of the seed, or of the bag"`
	Seeds    int    `json:"seeds" doc:"seeds laid out"`
	Sprouted int    `json:"sprouted" doc:"seeds that sprouted by the third day"`
}

// SproutsPlanned says how seed is sprouted from its day on.
type SproutsPlanned struct {
	Stop     bool     `json:"stop,omitempty" doc:"true when no seed is sprouted from this day on"`
	ServeAt  Clock    `json:"serve_at,omitzero" doc:"time of day at which it is given"`
	Celsius  float64  `json:"celsius,omitempty" doc:"temperature of the room in which it sprouts, °C"`
	Every    int      `json:"every_days,omitempty" doc:"days that one batch lasts"`
	WakeFrom Clock    `json:"wake_from,omitzero" doc:"time of day from which the keeper is up"`
	WakeTo   Clock    `json:"wake_to,omitzero" doc:"time of day until which the keeper is up"`
	ServeML  *float64 `json:"serve_ml,omitempty" doc:"ml of sprouted seed a day; empty means what the phases of the birds ask for"`
	DryML    *float64 `json:"dry_ml,omitempty" doc:"ml of dry seed that give one ml sprouted; empty means the usual figure"`
}

// OddSeen puts something odd on the list to be sorted out.
type OddSeen struct {
	Place ID     `json:"place,omitzero" doc:"id of the place"`
	Bird  ID     `json:"bird,omitzero" doc:"id of the bird, if known"`
	What  string `json:"what" doc:"dead, poorly, egg on the floor, chick on the floor, escaped, ring lost, stranger in the cage, water out, hen fluffed or low, hen straining, other"`
	Text  string `json:"text,omitempty" doc:"anything else"`
}

// Settled takes something off the list to be sorted out.
type Settled struct {
	Entry ID     `json:"entry" doc:"id of the entry that is settled"`
	How   string `json:"how,omitempty" doc:"how it was settled"`
}

// JobDone says that a job of the round was done where the job itself leaves no other entry.
type JobDone struct {
	Place ID     `json:"place" doc:"id of the place"`
	Job   string `json:"job" doc:"which job"`
	Box   ID     `json:"box,omitzero" doc:"id of the box, where there are several"`
}

// JobSkipped says that a job of the round was put off.
type JobSkipped struct {
	Place  ID     `json:"place" doc:"id of the place"`
	Job    string `json:"job" doc:"which job"`
	Box    ID     `json:"box,omitzero" doc:"id of the box, where there are several"`
	Reason string `json:"reason,omitempty" doc:"why"`
	Until  Date   `json:"until,omitzero" doc:"day on which it comes back; empty means the next day"`
}

// RoundSeen says that the whole room was seen and all was well, but for the places named.
type RoundSeen struct {
	Except []ID   `json:"except,omitempty" doc:"ids of the places that were not seen or not well"`
	Text   string `json:"text,omitempty" doc:"a note"`
}

// AwaySet says that the keeper is away and a helper looks after the room.
type AwaySet struct {
	From Date   `json:"from" doc:"first day away"`
	To   Date   `json:"to" doc:"last day away"`
	Text string `json:"text,omitempty" doc:"what the helper should know"`
}

// ImportMade heads a batch of entries that came from a file. Its entry id is the batch.
type ImportMade struct {
	Name string `json:"name" doc:"the file's name"`
	Rows int    `json:"rows" doc:"rows read"`
}

// Strike strikes out the entry, or the whole batch, that Entry.Strikes names.
type Strike struct {
	Reason string `json:"reason,omitempty" doc:"why it was struck out"`
}

// ---- kinds ----

func (*RoomSet) Kind() Kind           { return "room_set" }
func (*SpeciesSet) Kind() Kind        { return "species_set" }
func (*RingsListed) Kind() Kind       { return "rings_listed" }
func (*PlaceAdded) Kind() Kind        { return "place_added" }
func (*PlaceChanged) Kind() Kind      { return "place_changed" }
func (*PlaceRetired) Kind() Kind      { return "place_retired" }
func (*BirdAcquired) Kind() Kind      { return "bird_acquired" }
func (*ChickRinged) Kind() Kind       { return "chick_ringed" }
func (*BirdRinged) Kind() Kind        { return "bird_ringed" }
func (*RingLost) Kind() Kind          { return "ring_lost" }
func (*BirdSexed) Kind() Kind         { return "bird_sexed" }
func (*LookSeen) Kind() Kind          { return "look_seen" }
func (*ColourSaid) Kind() Kind        { return "colour_said" }
func (*ColourAssumed) Kind() Kind     { return "colour_assumed" }
func (*ColourAdded) Kind() Kind       { return "colour_added" }
func (*BirdWeighed) Kind() Kind       { return "bird_weighed" }
func (*BirdMoved) Kind() Kind         { return "bird_moved" }
func (*BirdDied) Kind() Kind          { return "bird_died" }
func (*OneDied) Kind() Kind           { return "one_died" }
func (*BirdLeft) Kind() Kind          { return "bird_left" }
func (*BirdReturned) Kind() Kind      { return "bird_returned" }
func (*BirdSame) Kind() Kind          { return "bird_same" }
func (*BirdNamed) Kind() Kind         { return "bird_named" }
func (*ParentsSet) Kind() Kind        { return "parents_set" }
func (*Note) Kind() Kind              { return "note" }
func (*PairSet) Kind() Kind           { return "pair_set" }
func (*PairRuled) Kind() Kind         { return "pair_ruled" }
func (*BirdHeld) Kind() Kind          { return "bird_held" }
func (*YoungWished) Kind() Kind       { return "young_wished" }
func (*PairEnded) Kind() Kind         { return "pair_ended" }
func (*BoxHung) Kind() Kind           { return "box_hung" }
func (*BoxTaken) Kind() Kind          { return "box_taken" }
func (*BoxCleaned) Kind() Kind        { return "box_cleaned" }
func (*MaterialGiven) Kind() Kind     { return "material_given" }
func (*NestCheck) Kind() Kind         { return "nest_check" }
func (*NestMoved) Kind() Kind         { return "nest_moved" }
func (*YoungWeaned) Kind() Kind       { return "young_weaned" }
func (*GroupFound) Kind() Kind        { return "group_found" }
func (*GroupMoved) Kind() Kind        { return "group_moved" }
func (*GroupCounted) Kind() Kind      { return "group_counted" }
func (*PlaceCounted) Kind() Kind      { return "place_counted" }
func (*LampSet) Kind() Kind           { return "lamp_set" }
func (*LampPlanned) Kind() Kind       { return "lamp_planned" }
func (*FeedPlanned) Kind() Kind       { return "feed_planned" }
func (*PhaseBegun) Kind() Kind        { return "phase_begun" }
func (*FoodGiven) Kind() Kind         { return "food_given" }
func (*IntakeSeen) Kind() Kind        { return "intake_seen" }
func (*StoreCounted) Kind() Kind      { return "store_counted" }
func (*GerminationTested) Kind() Kind { return "germination_tested" }
func (*SproutsPlanned) Kind() Kind    { return "sprouts_planned" }
func (*OddSeen) Kind() Kind           { return "odd_seen" }
func (*Settled) Kind() Kind           { return "settled" }
func (*JobDone) Kind() Kind           { return "job_done" }
func (*JobSkipped) Kind() Kind        { return "job_skipped" }
func (*RoundSeen) Kind() Kind         { return "round_seen" }
func (*AwaySet) Kind() Kind           { return "away_set" }
func (*ImportMade) Kind() Kind        { return "import_made" }
func (*Strike) Kind() Kind            { return "strike" }

// ---- subjects ----

var room = Subject{Type: TheRoom}

func bird(id ID) Subject  { return Subject{Type: ABird, ID: id} }
func place(id ID) Subject { return Subject{Type: APlace, ID: id} }
func pair(id ID) Subject  { return Subject{Type: APair, ID: id} }
func group(id ID) Subject { return Subject{Type: AGroup, ID: id} }
func odd(id ID) Subject   { return Subject{Type: AnOdd, ID: id} }
func worn(r Ring) Subject { return Subject{Type: ARing, Ring: r} }

func addRing(r Ring, add func(Subject)) {
	if r.Read() {
		add(worn(r))
	}
}

func addAll(f func(ID) Subject, add func(Subject), ids ...ID) {
	for _, id := range ids {
		if id != (ID{}) {
			add(f(id))
		}
	}
}

func (b *RoomSet) subjects(_ *Entry, add func(Subject))           { add(room) }
func (b *SpeciesSet) subjects(_ *Entry, add func(Subject))        { add(room) }
func (b *RingsListed) subjects(_ *Entry, add func(Subject))       { add(room) }
func (b *AwaySet) subjects(_ *Entry, add func(Subject))           { add(room) }
func (b *ImportMade) subjects(_ *Entry, _ func(Subject))          {}
func (b *Strike) subjects(_ *Entry, _ func(Subject))              {}
func (b *LampSet) subjects(_ *Entry, add func(Subject))           { add(room) }
func (b *RoundSeen) subjects(_ *Entry, add func(Subject))         { add(room) }
func (b *LampPlanned) subjects(_ *Entry, add func(Subject))       { add(room) }
func (b *FeedPlanned) subjects(_ *Entry, add func(Subject))       { add(room) }
func (b *StoreCounted) subjects(_ *Entry, add func(Subject))      { add(room) }
func (b *GerminationTested) subjects(_ *Entry, add func(Subject)) { add(room) }
func (b *SproutsPlanned) subjects(_ *Entry, add func(Subject))    { add(room) }
func (b *IntakeSeen) subjects(_ *Entry, add func(Subject))        { addAll(place, add, b.Places...) }

func (b *PhaseBegun) subjects(_ *Entry, add func(Subject)) {
	if len(b.Places) == 0 {
		add(room)
	}
	addAll(place, add, b.Places...)
}

func (b *FoodGiven) subjects(_ *Entry, add func(Subject)) {
	if len(b.Places) == 0 {
		add(room)
	}
	addAll(place, add, b.Places...)
}

func (b *PlaceAdded) subjects(_ *Entry, add func(Subject))    { add(place(b.Place)) }
func (b *PlaceChanged) subjects(_ *Entry, add func(Subject))  { add(place(b.Place)) }
func (b *PlaceRetired) subjects(_ *Entry, add func(Subject))  { add(place(b.Place)) }
func (b *PlaceCounted) subjects(e *Entry, add func(Subject))  { add(place(b.Place)); add(odd(e.ID)) }
func (b *BoxHung) subjects(_ *Entry, add func(Subject))       { add(place(b.Place)) }
func (b *BoxTaken) subjects(_ *Entry, add func(Subject))      { add(place(b.Place)) }
func (b *BoxCleaned) subjects(_ *Entry, add func(Subject))    { add(place(b.Place)) }
func (b *MaterialGiven) subjects(_ *Entry, add func(Subject)) { add(place(b.Place)) }
func (b *NestCheck) subjects(_ *Entry, add func(Subject))     { add(place(b.Place)) }
func (b *JobDone) subjects(_ *Entry, add func(Subject))       { add(place(b.Place)) }
func (b *JobSkipped) subjects(_ *Entry, add func(Subject))    { add(place(b.Place)) }
func (b *NestMoved) subjects(_ *Entry, add func(Subject)) {
	add(place(b.Place))
	if b.ToPlace != b.Place {
		add(place(b.ToPlace))
	}
	addAll(bird, add, b.Birds...)
}

func (b *YoungWeaned) subjects(_ *Entry, add func(Subject)) {
	add(place(b.Place))
	if b.To != b.Place {
		addAll(place, add, b.To)
	}
	addAll(group, add, b.Group)
	addAll(bird, add, b.Birds...)
}

func (b *BirdAcquired) subjects(_ *Entry, add func(Subject)) {
	add(bird(b.Bird))
	addRing(b.Ring, add)
	addAll(place, add, b.Place)
}

func (b *ChickRinged) subjects(_ *Entry, add func(Subject)) {
	add(bird(b.Bird))
	add(place(b.Place))
	addRing(b.Ring, add)
	addAll(group, add, b.Group)
}

func (b *BirdRinged) subjects(_ *Entry, add func(Subject)) {
	add(bird(b.Bird))
	addRing(b.Ring, add)
}

func (b *RingLost) subjects(_ *Entry, add func(Subject)) {
	add(bird(b.Bird))
	addRing(b.Ring, add)
}
func (b *BirdSexed) subjects(_ *Entry, add func(Subject))     { add(bird(b.Bird)) }
func (b *LookSeen) subjects(_ *Entry, add func(Subject))      { add(bird(b.Bird)) }
func (b *ColourSaid) subjects(_ *Entry, add func(Subject))    { add(bird(b.Bird)) }
func (b *ColourAssumed) subjects(_ *Entry, add func(Subject)) { add(room) }
func (b *ColourAdded) subjects(_ *Entry, add func(Subject))   { add(room) }
func (b *PairRuled) subjects(_ *Entry, add func(Subject))     { add(bird(b.Cock)); add(bird(b.Hen)) }
func (b *BirdHeld) subjects(_ *Entry, add func(Subject))      { add(bird(b.Bird)) }
func (b *YoungWished) subjects(_ *Entry, add func(Subject))   { add(room) }
func (b *BirdWeighed) subjects(_ *Entry, add func(Subject))   { add(bird(b.Bird)) }
func (b *BirdMoved) subjects(_ *Entry, add func(Subject))     { add(bird(b.Bird)); add(place(b.Place)) }
func (b *BirdDied) subjects(_ *Entry, add func(Subject))      { add(bird(b.Bird)) }
func (b *OneDied) subjects(e *Entry, add func(Subject)) {
	addAll(bird, add, b.Birds...)
	add(odd(e.ID))
}
func (b *BirdLeft) subjects(_ *Entry, add func(Subject)) { add(bird(b.Bird)) }
func (b *BirdReturned) subjects(_ *Entry, add func(Subject)) {
	add(bird(b.Bird))
	addAll(place, add, b.Place)
}
func (b *BirdSame) subjects(_ *Entry, add func(Subject))   { add(bird(b.Bird)); add(bird(b.Same)) }
func (b *BirdNamed) subjects(_ *Entry, add func(Subject))  { add(bird(b.Bird)) }
func (b *ParentsSet) subjects(_ *Entry, add func(Subject)) { add(bird(b.Bird)) }
func (b *Note) subjects(_ *Entry, add func(Subject)) {
	addAll(bird, add, b.Bird)
	addAll(place, add, b.Place)
	if b.Bird == (ID{}) && b.Place == (ID{}) {
		add(room)
	}
}

func (b *PairSet) subjects(_ *Entry, add func(Subject)) {
	add(pair(b.Pair))
	add(place(b.Place))
	addAll(bird, add, b.Cocks...)
	addAll(bird, add, b.Hens...)
}
func (b *PairEnded) subjects(_ *Entry, add func(Subject)) { add(pair(b.Pair)) }
func (b *GroupFound) subjects(_ *Entry, add func(Subject)) {
	add(group(b.Group))
	add(place(b.Place))
}

func (b *GroupMoved) subjects(_ *Entry, add func(Subject)) {
	add(group(b.Group))
	add(place(b.Place))
}
func (b *GroupCounted) subjects(_ *Entry, add func(Subject)) { add(group(b.Group)) }
func (b *OddSeen) subjects(e *Entry, add func(Subject)) {
	add(odd(e.ID))
	addAll(bird, add, b.Bird)
	addAll(place, add, b.Place)
}
func (b *Settled) subjects(_ *Entry, add func(Subject)) { add(odd(b.Entry)) }

// oneOf refuses a word that is not on the list. An empty word passes.
func oneOf(field, word string, list []string) *Error {
	if word == "" || slices.Contains(list, word) {
		return nil
	}
	return invalid(field, "%q is not one of: %s", word, strings.Join(list, ", "))
}
