package aviary

import "fmt"

// Bird is what the entries say of one bird.
type Bird struct {
	ID           ID
	Species      string // slug
	Sex          Sex
	SexHow       string
	Hatched      Date
	HatchedAbout *int // days either way
	Name         string
	Rings        []WornRing
	Looks        []SeenLook
	Said         []ColourWord // of its hidden colours
	Rules        []PairRule   // for whom it is put with, in order
	Held         []Hold       // spans in which it is kept out of pairs; the last holds
	Weights      []Weight
	Stays        []Stay
	Sire, Dam    ID // as written; Room.Parents says what stands
	ParentsHow   string
	Acquired     Date
	Found        bool // in the room before the books began
	From         string
	RingedAt     *Origin // set when it was ringed in a nest or out of a group of young
	WeanedOn     Date
	Died         Date
	Cause        string
	Left         Date
	LeftHow      string

	acquiredBy, endedBy *Entry
}

// WornRing is a ring with the days from and to which a bird wears it; To is zero while it wears it.
type WornRing struct {
	Ring
	Size     *float64
	From, To Date
}

// SeenLook is what a bird was seen to show on a day.
type SeenLook struct {
	Day         Date
	Trait, Look string
}

// ColourWord is what somebody told of a bird's hidden colours.
type ColourWord struct {
	Day Date
	ColourSaid
}

// PairRule is a rule for a cock and a hen.
type PairRule struct {
	Entry ID
	Day   Date
	PairRuled
}

// Hold keeps a bird out of pairs, or sets it free again.
type Hold struct {
	Entry ID
	Day   Date
	BirdHeld
}

// HeldOn returns what keeps the bird out of pairs on a day, or nil.
func (b *Bird) HeldOn(day Date) *Hold {
	for i := len(b.Held) - 1; i >= 0; i-- {
		h := &b.Held[i]
		if h.Day > day {
			continue
		}
		if h.Free || (h.Until != 0 && h.Until <= day) {
			return nil
		}
		return h
	}
	return nil
}

// RuleWith returns the rule that holds for this bird and another one, or nil.
func (b *Bird) RuleWith(other ID) *PairRule {
	for i := len(b.Rules) - 1; i >= 0; i-- {
		if r := &b.Rules[i]; r.Cock == other || r.Hen == other {
			if r.Rule == "free" {
				return nil
			}
			return r
		}
	}
	return nil
}

// Weight is one weighing.
type Weight struct {
	Day   Date
	Grams float64
}

// Stay is a span of days in a place; To is zero while it lasts.
type Stay struct {
	Place    ID
	From, To Date
}

// Origin says in which nest or group a bird was ringed.
type Origin struct {
	Place, Box, Group, LaidPlace ID
	Day                          Date
}

// InBooks reports whether the bird has been written into the books at all.
func (b *Bird) InBooks() bool { return b.acquiredBy != nil }

// Here reports whether the bird is alive and in the room.
func (b *Bird) Here() bool { return b.InBooks() && b.Died == 0 && b.Left == 0 }

// Place returns the place where the bird is, or the zero ID.
func (b *Bird) Place() ID {
	if n := len(b.Stays); n > 0 && b.Stays[n-1].To == 0 {
		return b.Stays[n-1].Place
	}
	return ID{}
}

// PlaceOn returns the place where the bird was at the end of a day, or the zero ID.
func (b *Bird) PlaceOn(day Date) ID {
	for i := len(b.Stays) - 1; i >= 0; i-- {
		if s := b.Stays[i]; s.From <= day {
			if s.To == 0 || s.To > day {
				return s.Place
			}
			return ID{}
		}
	}
	return ID{}
}

// Ring returns the ring that the bird wears, the last one put on; its number is empty when it wears none or it is not read yet.
func (b *Bird) Ring() Ring {
	for i := len(b.Rings) - 1; i >= 0; i-- {
		if b.Rings[i].To == 0 {
			return b.Rings[i].Ring
		}
	}
	return Ring{}
}

// AgeOn returns the bird's age in days on a day, and whether it is known.
func (b *Bird) AgeOn(day Date) (int, bool) {
	if b.Hatched == 0 || day < b.Hatched {
		return 0, false
	}
	return int(day - b.Hatched), true
}

func (b *Bird) object(r *Room, e *Entry) *Clash {
	switch body := e.Body.(type) {
	case *BirdAcquired:
		if b.InBooks() && body.Bird == b.ID {
			return &Clash{b.acquiredBy, "this bird is in the books already"}
		}
		return nil
	case *ChickRinged:
		if b.InBooks() && body.Bird == b.ID {
			return &Clash{b.acquiredBy, "this bird is in the books already"}
		}
		return nil
	case *BirdSame:
		return nil
	case *BirdReturned:
		if !b.InBooks() {
			return &Clash{nil, "there is no such bird in the books on that day"}
		}
		if b.Left == 0 {
			return &Clash{b.endedBy, "the bird cannot come back, for it has not left"}
		}
		return nil
	case *ParentsSet, *BirdNamed, *BirdSexed, *LookSeen, *ColourSaid, *Note, *RingLost, *BirdRinged, *OddSeen, *OneDied:
		// These may be written of a bird that is dead or gone: a ring is read, a test comes back.
		if !b.InBooks() {
			return &Clash{nil, "there is no such bird in the books on that day"}
		}
		return nil
	}
	switch {
	case !b.InBooks():
		return &Clash{nil, "there is no such bird in the books on that day"}
	case b.Hatched != 0 && e.Day < b.Hatched:
		return &Clash{b.acquiredBy, fmt.Sprintf("%s had not hatched yet on %s (hatched %s)", b.Label(), e.Day.Long(), b.Hatched.Long())}
	case b.Died != 0 && (e.Day > b.Died || ends(e.Body)):
		return &Clash{b.endedBy, fmt.Sprintf("%s died on %s", b.Label(), b.Died.Long())}
	case b.Left != 0 && (e.Day > b.Left || ends(e.Body)) && e.Body.Kind() != "bird_died":
		return &Clash{b.endedBy, fmt.Sprintf("%s left on %s (%s)", b.Label(), b.Left.Long(), b.LeftHow)}
	}
	return nil
}

func ends(body Body) bool {
	switch body.(type) {
	case *BirdDied, *BirdLeft:
		return true
	}
	return false
}

// Label names the bird in a sentence: its ring, else its name, else what is known.
func (b *Bird) Label() string {
	switch r := b.Ring(); {
	case r.Read():
		return r.String()
	case b.Name != "":
		return b.Name
	case b.Sex != "":
		return "unringed " + string(b.Sex)
	}
	return "unringed bird"
}

func (b *Bird) apply(r *Room, e *Entry) {
	switch body := e.Body.(type) {
	case *BirdAcquired:
		b.enter(e, body.Species, body.Sex, body.Hatched, body.HatchedAbout, body.Looks)
		if body.Name != "" {
			b.Name = body.Name
		}
		if body.From != "" {
			b.From = body.From
		}
		b.Found = body.Found
		b.parents(body.Sire, body.Dam, "")
		b.wear(body.Ring, body.RingSize, e.Day)
		b.move(body.Place, e.Day)
	case *ChickRinged:
		b.enter(e, body.Species, body.Sex, body.Hatched, body.HatchedAbout, body.Looks)
		b.RingedAt = &Origin{Place: body.Place, Box: body.Box, Group: body.Group, LaidPlace: body.LaidPlace, Day: e.Day}
		b.parents(body.Sire, body.Dam, "")
		b.wear(body.Ring, body.RingSize, e.Day)
		b.move(body.Place, e.Day)
	case *BirdRinged:
		from := e.Day
		switch body.How {
		case "replaced":
			b.unring(Ring{}, e.Day)
		case "read":
			from = b.Acquired
		}
		b.wear(body.Ring, body.RingSize, from)
	case *RingLost:
		b.unring(body.Ring, e.Day)
	case *BirdSexed:
		b.Sex, b.SexHow = body.Sex, body.How
	case *LookSeen:
		b.Looks = append(b.Looks, SeenLook{e.Day, body.Trait, body.Look})
	case *PairRuled:
		rule := PairRule{e.ID, e.Day, *body}
		rule.Cock, rule.Hen = r.canonical(body.Cock), r.canonical(body.Hen)
		b.Rules = append(b.Rules, rule)
	case *BirdHeld:
		b.Held = append(b.Held, Hold{e.ID, e.Day, *body})
	case *ColourSaid:
		b.Said = append(b.Said, ColourWord{e.Day, *body})
	case *BirdWeighed:
		b.Weights = append(b.Weights, Weight{e.Day, body.Grams})
	case *BirdMoved:
		b.move(body.Place, e.Day)
	case *PairSet:
		b.move(body.Place, e.Day)
	case *NestMoved:
		b.move(body.ToPlace, e.Day)
	case *YoungWeaned:
		b.WeanedOn = e.Day
		b.move(body.To, e.Day)
	case *BirdDied:
		b.Died, b.Cause, b.endedBy = e.Day, body.Cause, e
		b.leavePlace(e.Day)
	case *BirdLeft:
		b.Left, b.LeftHow, b.endedBy = e.Day, body.How, e
		b.leavePlace(e.Day)
	case *BirdReturned:
		b.Left, b.LeftHow, b.endedBy = 0, "", nil
		b.move(body.Place, e.Day)
	case *BirdNamed:
		b.Name = body.Name
	case *ParentsSet:
		b.Sire, b.Dam, b.ParentsHow = r.canonical(body.Sire), r.canonical(body.Dam), body.How
	}
}

// enter writes the bird into the books; a second time, under another id that is the same bird, it fills what was not known.
func (b *Bird) enter(e *Entry, species string, sex Sex, hatched Date, about *int, looks []string) {
	if !b.InBooks() {
		b.acquiredBy, b.Acquired = e, e.Day
	}
	if b.Species == "" {
		b.Species = species
	}
	if b.Sex == "" {
		b.Sex = sex
	}
	if b.Hatched == 0 {
		b.Hatched, b.HatchedAbout = hatched, about
	}
	for _, l := range looks {
		b.Looks = append(b.Looks, splitLook(e.Day, l))
	}
}

func splitLook(day Date, s string) SeenLook {
	for i := range s {
		if s[i] == '=' {
			return SeenLook{day, s[:i], s[i+1:]}
		}
	}
	return SeenLook{day, "", s}
}

func (b *Bird) parents(sire, dam ID, how string) {
	if sire != (ID{}) {
		b.Sire, b.ParentsHow = sire, how
	}
	if dam != (ID{}) {
		b.Dam, b.ParentsHow = dam, how
	}
}

func (b *Bird) wear(ring Ring, size *float64, day Date) {
	if !ring.Read() {
		return
	}
	for i := range b.Rings {
		if b.Rings[i].Ring == ring && b.Rings[i].To == 0 {
			return
		}
	}
	b.Rings = append(b.Rings, WornRing{Ring: ring, Size: size, From: day})
}

func (b *Bird) unring(ring Ring, day Date) {
	for i := range b.Rings {
		if b.Rings[i].To == 0 && (!ring.Read() || b.Rings[i].Ring == ring) {
			b.Rings[i].To = day
		}
	}
}

func (b *Bird) move(to ID, day Date) {
	if to == (ID{}) || to == b.Place() {
		return
	}
	b.leavePlace(day)
	b.Stays = append(b.Stays, Stay{Place: to, From: day})
}

func (b *Bird) leavePlace(day Date) {
	if n := len(b.Stays); n > 0 && b.Stays[n-1].To == 0 {
		b.Stays[n-1].To = day
	}
}
