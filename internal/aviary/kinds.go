package aviary

import (
	"slices"
	"strings"
)

// Kind names a kind of entry; it is also the name of the exported file, without its ending.
type Kind string

// KindInfo says what is known about a kind beforehand.
type KindInfo struct {
	Kind    Kind
	Version int // of the newest form of its body
	New     func() Body
	Helper  bool   // a helper may write it
	Label   string // as it stands in a list of entries
}

var kinds = func() map[Kind]KindInfo {
	m := map[Kind]KindInfo{}
	for _, k := range []KindInfo{
		{New: func() Body { return &RoomSet{} }, Label: "room settings"},
		{New: func() Body { return &SpeciesSet{} }, Label: "own value for a species"},
		{New: func() Body { return &RingsListed{} }, Label: "rings on hand"},
		{New: func() Body { return &PlaceAdded{} }, Label: "place added"},
		{New: func() Body { return &PlaceChanged{} }, Label: "place changed"},
		{New: func() Body { return &PlaceRetired{} }, Label: "place retired"},
		{New: func() Body { return &BirdAcquired{} }, Label: "bird acquired"},
		{New: func() Body { return &ChickRinged{} }, Label: "chick ringed"},
		{New: func() Body { return &BirdRinged{} }, Label: "ring put on or read"},
		{New: func() Body { return &RingLost{} }, Label: "ring lost"},
		{New: func() Body { return &BirdSexed{} }, Label: "bird sexed"},
		{New: func() Body { return &LookSeen{} }, Label: "look seen"},
		{New: func() Body { return &ColourSaid{} }, Label: "hidden colour told"},
		{New: func() Body { return &ColourAssumed{} }, Label: "colour assumption"},
		{New: func() Body { return &ColourAdded{} }, Label: "own colour"},
		{New: func() Body { return &BirdWeighed{} }, Label: "bird weighed"},
		{New: func() Body { return &BirdMoved{} }, Label: "bird moved"},
		{New: func() Body { return &BirdDied{} }, Label: "bird died"},
		{New: func() Body { return &OneDied{} }, Label: "one of these died"},
		{New: func() Body { return &BirdLeft{} }, Label: "bird left"},
		{New: func() Body { return &BirdReturned{} }, Label: "bird came back"},
		{New: func() Body { return &BirdSame{} }, Label: "two are one bird"},
		{New: func() Body { return &BirdNamed{} }, Label: "bird named"},
		{New: func() Body { return &ParentsSet{} }, Label: "parents set"},
		{New: func() Body { return &Note{} }, Label: "note", Helper: true},
		{New: func() Body { return &PairSet{} }, Label: "pair set up"},
		{New: func() Body { return &PairRuled{} }, Label: "rule for a pair"},
		{New: func() Body { return &BirdHeld{} }, Label: "bird kept out of pairs"},
		{New: func() Body { return &YoungWished{} }, Label: "young wished for"},
		{New: func() Body { return &PairEnded{} }, Label: "pair ended"},
		{New: func() Body { return &BoxHung{} }, Label: "nest box hung"},
		{New: func() Body { return &BoxTaken{} }, Label: "nest box taken out"},
		{New: func() Body { return &BoxCleaned{} }, Label: "nest box cleaned"},
		{New: func() Body { return &MaterialGiven{} }, Label: "nest material given", Helper: true},
		{New: func() Body { return &NestCheck{} }, Label: "nest check", Helper: true},
		{New: func() Body { return &NestMoved{} }, Label: "moved to another nest"},
		{New: func() Body { return &YoungWeaned{} }, Label: "young weaned"},
		{New: func() Body { return &GroupFound{} }, Label: "unringed young grouped"},
		{New: func() Body { return &GroupMoved{} }, Label: "unringed young moved"},
		{New: func() Body { return &GroupCounted{} }, Label: "unringed young counted", Helper: true},
		{New: func() Body { return &PlaceCounted{} }, Label: "place counted", Helper: true},
		{New: func() Body { return &LampSet{} }, Label: "lamps set"},
		{New: func() Body { return &LampPlanned{} }, Label: "lamps planned"},
		{New: func() Body { return &FeedPlanned{} }, Label: "feeding planned"},
		{New: func() Body { return &PhaseBegun{} }, Label: "feeding phase begun", Helper: true},
		{New: func() Body { return &FoodGiven{} }, Label: "food given", Helper: true},
		{New: func() Body { return &IntakeSeen{} }, Label: "appetite noted", Helper: true},
		{New: func() Body { return &StoreCounted{} }, Label: "store counted", Helper: true},
		{New: func() Body { return &GerminationTested{} }, Label: "germination tested", Helper: true},
		{New: func() Body { return &SproutsPlanned{} }, Label: "sprouting planned"},
		{New: func() Body { return &OddSeen{} }, Label: "something odd", Helper: true},
		{New: func() Body { return &Settled{} }, Label: "settled"},
		{New: func() Body { return &JobDone{} }, Label: "job done", Helper: true},
		{New: func() Body { return &JobSkipped{} }, Label: "job skipped", Helper: true},
		{New: func() Body { return &RoundSeen{} }, Label: "whole room seen", Helper: true},
		{New: func() Body { return &AwaySet{} }, Label: "away"},
		{New: func() Body { return &ImportMade{} }, Label: "import"},
		{New: func() Body { return &Strike{} }, Label: "struck out", Helper: true},
	} {
		k.Kind, k.Version = k.New().Kind(), 1
		m[k.Kind] = k
	}
	return m
}()

// Kinds returns every kind of entry, by name.
func Kinds() []KindInfo {
	var out []KindInfo
	for _, k := range kinds {
		out = append(out, k)
	}
	slices.SortFunc(out, func(a, b KindInfo) int { return strings.Compare(string(a.Kind), string(b.Kind)) })
	return out
}

// KindOf returns what is known of a kind.
func KindOf(k Kind) (KindInfo, bool) { info, ok := kinds[k]; return info, ok }

// Role is what a person may do.
type Role string

// The two roles. A keeper may write anything; a helper what the table of kinds allows.
const (
	Keeper Role = "keeper"
	Helper Role = "helper"
)

// MayWrite reports whether a role may write an entry of this kind. A helper may strike out only
// what he wrote himself; the journal's door checks that.
func MayWrite(role Role, k Kind) bool { return role == Keeper || kinds[k].Helper }
