package aviary

import (
	"math"
	"strings"
	"time"
	"unicode/utf8"
)

// Limits of what a form may hold. They catch slips of the thumb, not the unusual: an ostrich is no finch.
const (
	maxText     = 2000 // letters in a note
	maxWord     = 120  // letters in a name or reason
	maxCount    = 60   // eggs or chicks in one nest
	maxBirds    = 5000 // birds in one place or group
	maxGrams    = 500  // heavier than any finch
	maxChickAge = 120  // days
	maxRows     = 60   // rows or columns of a bank
	maxBanks    = 200
)

func need(field string, id ID, what string) *Error {
	if id == (ID{}) {
		return invalid(field, "say which %s", what)
	}
	return nil
}

func text(field, s string, most int) *Error {
	if !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return r < ' ' && r != '\n' && r != '\r' && r != '\t' }) {
		return invalid(field, "the text has letters that cannot be read; type it again")
	}
	if n := utf8.RuneCountInString(s); n > most {
		return invalid(field, "the text has %d letters; at most %d fit", n, most)
	}
	return nil
}

func count(field string, n *int, most int, what string) *Error {
	switch {
	case n == nil:
		return nil
	case *n < 0:
		return invalid(field, "%d %s cannot be; a count is 0 or more, or empty if not counted", *n, what)
	case *n > most:
		return invalid(field, "%d %s in one place is more than %d; look at the number again", *n, what, most)
	}
	return nil
}

func words(field string, list []string, most int) *Error {
	if len(list) > most {
		return invalid(field, "%d items are too many; at most %d fit", len(list), most)
	}
	return first(func(yield func(*Error) bool) {
		for _, w := range list {
			if strings.Contains(w, ";") {
				yield(invalid(field, "%q holds a semicolon, which parts items in files; write it without", w))
				return
			}
			if !yield(text(field, w, maxWord)) {
				return
			}
		}
	})
}

func monthDay(field string, s *string) *Error {
	if s == nil || *s == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, "2001-"+*s); err != nil {
		return invalid(field, "%q is not a month and day; write it as 08-01", *s)
	}
	return nil
}

func choice(field string, s *string, list ...string) *Error {
	if s == nil {
		return nil
	}
	return oneOf(field, *s, list)
}

func wordP(field string, s *string) *Error {
	if s == nil {
		return nil
	}
	return text(field, *s, maxWord)
}

// first returns the first error that the sequence yields.
func first(seq func(yield func(*Error) bool)) *Error {
	var out *Error
	seq(func(e *Error) bool { out = e; return e == nil })
	return out
}

func all(errs ...*Error) *Error {
	for _, e := range errs {
		if e != nil {
			return e
		}
	}
	return nil
}

func number(field string, v *float64, low, high float64, unit string) *Error {
	if v != nil && !(*v >= low && *v <= high) {
		return invalid(field, "%v is outside %v to %v%s", *v, low, high, unit)
	}
	return nil
}

func (b *RoomSet) check() *Error {
	if b.Zone != nil {
		if _, err := time.LoadLocation(*b.Zone); err != nil || *b.Zone == "" || *b.Zone == "Local" {
			return invalid("zone", "there is no time zone called %q; write it as Europe/Dublin or America/New_York", *b.Zone)
		}
	}
	return all(wordP("name", b.Name), words("species_kept", b.Kept, 100), number("latitude", b.Latitude, -90, 90, "°"), number("longitude", b.Longitude, -180, 180, "°"),
		monthDay("season_start", b.SeasonStart), monthDay("ring_year_start", b.RingYear), monthDay("lull_from", b.LullFrom), monthDay("lull_to", b.LullTo),
		choice("mass_unit", b.Mass, "g", "oz"), choice("volume_unit", b.Volume, "ml", "tsp", "oz"), choice("length_unit", b.Length, "mm", "in"), choice("temperature_unit", b.Warmth, "C", "F"))
}

func (b *SpeciesSet) check() *Error {
	if b.Species == "" || b.Parameter == "" {
		return invalid("species", "say which species and which value")
	}
	if b.Clear != (b.Low == nil && b.Typical == nil && b.High == nil) {
		return invalid("typical", "give a value, or take the own value back, not both and not neither")
	}
	prev := math.Inf(-1)
	for _, v := range []*float64{b.Low, b.Typical, b.High} {
		if v == nil {
			continue
		}
		if math.IsNaN(*v) || math.IsInf(*v, 0) || *v < -1000 || *v > 100000 {
			return invalid("typical", "%v cannot be a value of a species", *v)
		}
		if *v < prev {
			return invalid("typical", "the values must rise: low, usual, high")
		}
		prev = *v
	}
	return nil
}

func (b *RingsListed) check() *Error {
	if b.From < 0 || b.To < b.From || b.To-b.From > 9999 {
		return invalid("to", "the numbers run from %d to %d; the last must not be below the first, and at most 10,000 rings make one list", b.From, b.To)
	}
	if b.Digits < 0 || b.Digits > 8 {
		return invalid("digits", "a ring number has at most 8 digits")
	}
	return all((Ring{b.Issuer, b.Year, "0"}).check(), number("size_mm", &b.Size, 0, 20, " mm"), words("species", b.Species, 40))
}

func (b *PlaceAdded) check() *Error {
	if strings.TrimSpace(b.Name) == "" {
		return invalid("name", "a place needs a name or number for its plate")
	}
	ok := false
	for _, t := range PlaceTypes {
		ok = ok || t == b.Type
	}
	if !ok {
		return invalid("type", "%q is not a sort of place; write cage, flight, aviary, quarantine or hospital", string(b.Type))
	}
	return all(need("place", b.Place, "place"), text("name", b.Name, 24), text("bank", b.Bank, 60), count("capacity", b.Capacity, maxBirds, "birds"),
		count("row", &b.Row, maxRows, "rows"), count("col", &b.Col, maxRows, "columns"))
}

func (b *PlaceChanged) check() *Error {
	if b.Name != nil {
		if strings.TrimSpace(*b.Name) == "" {
			return invalid("name", "a place needs a name or number for its plate")
		}
		if e := text("name", *b.Name, 24); e != nil {
			return e
		}
	}
	return all(need("place", b.Place, "place"), wordP("bank", b.Bank), count("row", b.Row, maxRows, "rows"), count("col", b.Col, maxRows, "columns"), count("capacity", b.Capacity, maxBirds, "birds"))
}

func (b *PlaceRetired) check() *Error {
	return all(need("place", b.Place, "place"), text("reason", b.Reason, maxWord))
}

func speciesNamed(s string) *Error {
	if s == "" {
		return invalid("species", "say which species")
	}
	return text("species", s, 60)
}

func (b *BirdAcquired) check() *Error {
	if (b.Sire == b.Bird || b.Dam == b.Bird) && b.Bird != (ID{}) {
		return invalid("sire", "a bird cannot be its own parent")
	}
	return all(need("bird", b.Bird, "bird"), speciesNamed(b.Species), b.Sex.check("sex"), b.Ring.check(), text("name", b.Name, maxWord), text("from", b.From, maxWord),
		count("hatched_about", b.HatchedAbout, 3660, "days"), words("looks", b.Looks, 40), ringSize(b.RingSize))
}

func ringSize(mm *float64) *Error { return number("ring_size_mm", mm, 1, 20, " mm") }

func (b *ChickRinged) check() *Error {
	return all(need("bird", b.Bird, "bird"), need("place", b.Place, "place"), speciesNamed(b.Species), b.Sex.check("sex"), b.Ring.check(),
		count("hatched_about", b.HatchedAbout, 3660, "days"), words("looks", b.Looks, 40), ringSize(b.RingSize))
}

func (b *BirdRinged) check() *Error {
	if !b.Ring.Read() {
		return invalid("ring_number", "write the ring's number")
	}
	return all(need("bird", b.Bird, "bird"), b.Ring.check(), oneOf("how", b.How, []string{"new", "replaced", "read"}), ringSize(b.RingSize))
}

func (b *RingLost) check() *Error { return all(need("bird", b.Bird, "bird"), b.Ring.check()) }

func (b *BirdSexed) check() *Error {
	if b.Sex == "" {
		return invalid("sex", "say cock or hen")
	}
	return all(need("bird", b.Bird, "bird"), b.Sex.check("sex"), text("how", b.How, maxWord))
}

func (b *LookSeen) check() *Error {
	if strings.TrimSpace(b.Look) == "" {
		return invalid("look", "say what is seen")
	}
	return all(need("bird", b.Bird, "bird"), text("trait", b.Trait, maxWord), text("look", b.Look, maxWord))
}

func (b *BirdWeighed) check() *Error {
	if !(b.Grams > 0 && b.Grams <= maxGrams) {
		return invalid("grams", "%v g is not the weight of a finch; it lies above 0 and up to %d g", b.Grams, maxGrams)
	}
	return need("bird", b.Bird, "bird")
}

func (b *BirdMoved) check() *Error {
	return all(need("bird", b.Bird, "bird"), need("place", b.Place, "place"), text("reason", b.Reason, maxWord))
}

func (b *BirdDied) check() *Error {
	return all(need("bird", b.Bird, "bird"), text("cause", b.Cause, maxWord))
}

func (b *OneDied) check() *Error {
	if len(b.Birds) < 2 {
		return invalid("birds", "name at least two birds that it may have been; if it is one for certain, write that it died")
	}
	return all(distinct("birds", b.Birds), text("cause", b.Cause, maxWord))
}

func distinct(field string, ids []ID) *Error { return distinctOf(field, ids, "bird") }

// distinctPlaces says that a place is named twice, or not at all.
func distinctPlaces(ids []ID) *Error { return distinctOf("places", ids, "place") }

func distinctOf(field string, ids []ID, what string) *Error {
	seen := map[ID]bool{}
	for _, id := range ids {
		if id == (ID{}) {
			return invalid(field, "say which %s", what)
		}
		if seen[id] {
			return invalid(field, "the same %s stands there twice", what)
		}
		seen[id] = true
	}
	return nil
}

func (b *BirdLeft) check() *Error {
	if b.How == "" {
		return invalid("how", "say how it left: sold, given, lent or escaped")
	}
	return all(need("bird", b.Bird, "bird"), oneOf("how", b.How, LeftHows))
}

func (b *BirdReturned) check() *Error { return need("bird", b.Bird, "bird") }

func (b *BirdSame) check() *Error {
	if b.Bird == b.Same {
		return invalid("same", "that is the same line already; name two")
	}
	return all(need("bird", b.Bird, "bird"), need("same", b.Same, "bird"))
}

func (b *BirdNamed) check() *Error {
	return all(need("bird", b.Bird, "bird"), text("name", b.Name, maxWord))
}

func (b *ParentsSet) check() *Error {
	if b.Sire == b.Bird || b.Dam == b.Bird {
		return invalid("sire", "a bird cannot be its own parent")
	}
	if b.Sire == b.Dam && b.Sire != (ID{}) {
		return invalid("dam", "one bird cannot be both father and mother")
	}
	return all(need("bird", b.Bird, "bird"), text("how", b.How, maxWord))
}

func (b *Note) check() *Error {
	if strings.TrimSpace(b.Text) == "" {
		return invalid("text", "the note is empty")
	}
	return text("text", b.Text, maxText)
}

func (b *PairSet) check() *Error {
	if len(b.Cocks)+len(b.Hens) == 0 {
		return invalid("cocks", "name at least one bird")
	}
	var both []ID
	both = append(append(both, b.Cocks...), b.Hens...)
	return all(need("pair", b.Pair, "pair"), need("place", b.Place, "place"), distinct("hens", both), text("plan", b.Plan, maxWord))
}

func (b *PairEnded) check() *Error {
	return all(need("pair", b.Pair, "pair"), text("reason", b.Reason, maxWord))
}

func (b *BoxHung) check() *Error {
	return all(need("box", b.Box, "box"), need("place", b.Place, "place"), text("name", b.Name, 24))
}

func (b *BoxTaken) check() *Error {
	return all(need("box", b.Box, "box"), need("place", b.Place, "place"))
}

func (b *BoxCleaned) check() *Error {
	return all(need("box", b.Box, "box"), need("place", b.Place, "place"))
}

func (b *MaterialGiven) check() *Error {
	return all(need("place", b.Place, "place"), text("what", b.What, maxWord))
}

func (b *NestCheck) check() *Error {
	for _, c := range b.Candled {
		_, state := CandledEgg(c)
		if e := oneOf("candled", state, EggStates); e != nil || state == "" {
			return invalid("candled", "%q is not what candling shows; write fertile, clear, early dead, dead in shell or cracked", c)
		}
	}
	for _, s := range b.Signs {
		if e := oneOf("signs", s, Signs); e != nil {
			return e
		}
	}
	return all(need("place", b.Place, "place"), oneOf("look", b.Look, LookAnswers),
		count("eggs", b.Eggs, maxCount, "eggs"), count("chicks", b.Chicks, maxCount, "chicks"), count("dead_chicks", b.DeadChicks, maxCount, "dead chicks"),
		count("out", b.Out, maxCount, "young"), count("eggs_removed", b.Removed, maxCount, "eggs"), count("dummy_eggs", b.Dummies, maxCount, "dummy eggs"),
		count("floor_eggs", b.FloorEggs, maxCount, "eggs"), count("buried", b.Buried, maxCount, "eggs"), words("candled", b.Candled, maxCount), words("signs", b.Signs, len(Signs)),
		count("clutch_no", b.ClutchNo, 20, "clutches"), count("chick_age_days", b.AgeDays, maxChickAge, "days"), count("chick_age_about", b.AgeAbout, maxChickAge, "days"),
		count("gone_eggs", b.GoneEggs, maxCount, "eggs"), count("gone_chicks", b.GoneChicks, maxCount, "chicks"),
		oneOf("gone_eggs_why", b.GoneEggsWhy, GoneWhys), oneOf("gone_chicks_why", b.GoneChicksWhy, GoneWhys),
		text("removed_why", b.RemovedWhy, maxWord), text("more_why", b.MoreWhy, maxWord), text("text", b.Text, maxText))
}

// CandledEgg parts an item of NestCheck.Candled into the egg's mark (may be empty) and its state.
func CandledEgg(item string) (mark, state string) {
	if m, s, ok := strings.Cut(item, ":"); ok {
		return m, s
	}
	return "", item
}

func (b *NestMoved) check() *Error {
	if b.Eggs == 0 && b.Chicks == 0 && len(b.Birds) == 0 {
		return invalid("eggs", "say how many eggs or chicks were moved")
	}
	if b.Place == b.ToPlace && b.Box == b.ToBox {
		return invalid("to_place", "they are in that nest already; name another one")
	}
	return all(need("place", b.Place, "place"), need("to_place", b.ToPlace, "place"), count("eggs", &b.Eggs, maxCount, "eggs"), count("chicks", &b.Chicks, maxCount, "chicks"),
		distinct("birds", b.Birds), words("marks", b.Marks, maxCount), count("chick_age_days", b.AgeDays, maxChickAge, "days"))
}

func (b *YoungWeaned) check() *Error {
	if len(b.Birds) == 0 && b.Unringed == 0 {
		return invalid("birds", "say which young, or how many without rings")
	}
	if b.Unringed > 0 && b.To != (ID{}) && b.Group == (ID{}) {
		return invalid("group", "unringed young that go to another place are kept as a counted group; it needs an id")
	}
	return all(need("place", b.Place, "place"), distinct("birds", b.Birds), count("unringed", &b.Unringed, maxCount, "young"), count("left", b.Left, maxCount, "young"))
}

func (b *GroupFound) check() *Error {
	if b.Count == 0 {
		return invalid("count", "a group has at least one bird")
	}
	return all(need("group", b.Group, "group"), need("place", b.Place, "place"), speciesNamed(b.Species), count("count", &b.Count, maxBirds, "birds"))
}

func (b *GroupMoved) check() *Error {
	return all(need("group", b.Group, "group"), need("place", b.Place, "place"))
}

func (b *GroupCounted) check() *Error {
	return all(need("group", b.Group, "group"), count("count", &b.Count, maxBirds, "birds"), text("why_changed", b.Why, maxWord))
}

func (b *PlaceCounted) check() *Error {
	return all(need("place", b.Place, "place"), count("found", &b.Found, maxBirds, "birds"), count("book", b.Book, maxBirds, "birds"), text("text", b.Text, maxText))
}

func (b *LampSet) check() *Error {
	if b.On == 0 || b.Off == 0 {
		return invalid("on", "give the time of day for on and for off, such as 06:00 and 20:00")
	}
	if b.On == b.Off {
		return invalid("off", "on and off at the same time leaves no light or no night; give two times")
	}
	return all(text("circuit", b.Circuit, maxWord), count("dusk_minutes", b.Dusk, 240, "minutes"))
}

func (b *PairRuled) check() *Error {
	if b.Cock == b.Hen {
		return invalid("hen", "name a cock and a hen")
	}
	if b.Rule == "" {
		return invalid("rule", "say whether they are wanted together or kept apart")
	}
	return all(need("cock", b.Cock, "cock"), need("hen", b.Hen, "hen"), oneOf("rule", b.Rule, PairRules), text("reason", b.Why, maxWord))
}

func (b *BirdHeld) check() *Error {
	return all(need("bird", b.Bird, "bird"), text("reason", b.Why, maxWord))
}

func (b *YoungWished) check() *Error {
	if strings.TrimSpace(b.Look) == "" {
		return invalid("look", "say which look is wished for")
	}
	return all(speciesNamed(b.Species), text("trait", b.Trait, maxWord), text("look", b.Look, maxWord), b.Sex.check("sex"), within("count", b.Count, 0, 1000, "young"))
}

func (b *ColourSaid) check() *Error {
	if b.Locus == "" || b.Allele == "" {
		return invalid("allele", "say which colour it is about")
	}
	return all(need("bird", b.Bird, "bird"), text("locus", b.Locus, maxWord), text("allele", b.Allele, maxWord), number("trust", b.Trust, 0.5, 1, ""), text("said_by", b.By, maxWord))
}

func (b *ColourAssumed) check() *Error {
	if b.Locus == "" {
		return invalid("locus", "say which colour it is about")
	}
	if b.Frequency != nil && b.Allele == "" {
		return invalid("allele", "say which allele is so common")
	}
	if (b.Recombination != nil) != (b.With != "") {
		return invalid("recombination", "a recombination fraction belongs to two loci; give both and the fraction")
	}
	if !b.Clear && b.Frequency == nil && b.Recombination == nil && b.Lethality == "" {
		return invalid("frequency", "say what is assumed, or take it back")
	}
	return all(speciesNamed(b.Species), text("locus", b.Locus, maxWord), text("allele", b.Allele, maxWord), text("with_locus", b.With, maxWord), text("basis", b.Basis, maxText),
		number("frequency", b.Frequency, 0, 1, ""), number("recombination", b.Recombination, 0, 0.5, ""), oneOf("lethality", b.Lethality, Lethalities))
}

func (b *ColourAdded) check() *Error {
	if b.Locus == "" || strings.Trim(b.Locus, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
		return invalid("locus", "a short name has small letters, digits and hyphens only, such as blue-back")
	}
	if strings.TrimSpace(b.Look) == "" || strings.TrimSpace(b.Plain) == "" || b.Look == b.Plain {
		return invalid("look", "say what a bird with the colour shows, and what one without it shows")
	}
	if b.Inherited == "" {
		return invalid("inherited", "say how it passes to the young: recessive, dominant or half")
	}
	if (b.Inherited == "half") != (strings.TrimSpace(b.Single) != "") {
		return invalid("single", "where one copy shows another look than two, and only there, that look is wanted too")
	}
	if b.Single != "" && (b.Single == b.Look || b.Single == b.Plain) {
		return invalid("single", "the look of one copy is a look of its own")
	}
	return all(speciesNamed(b.Species), text("locus", b.Locus, 40), text("look", b.Look, maxWord), text("plain", b.Plain, maxWord), text("single", b.Single, maxWord),
		oneOf("inherited", b.Inherited, ColourInherited), text("basis", b.Basis, maxText))
}

func (b *LampPlanned) check() *Error {
	if b.On == 0 {
		return invalid("on", "say at what time of day the lamps go on at full light, such as 06:00")
	}
	for _, d := range []struct {
		field string
		day   Date
		after Date
		words string
	}{
		{"ramp_from", b.RampFrom, 0, "the first longer day"},
		{"full_by", b.FullBy, b.RampFrom, "the day of full light"},
		{"taper_from", b.TaperFrom, b.FullBy, "the first shorter day"},
		{"rest_by", b.RestBy, b.TaperFrom, "the day on which rest is reached"},
	} {
		if d.day == 0 {
			return invalid(d.field, "give %s", d.words)
		}
		if d.day < d.after {
			return invalid(d.field, "%s is %s, before the date ahead of it (%s); put the four dates in order", d.words, d.day.Long(), d.after.Long())
		}
	}
	if b.Rest > b.Full {
		return invalid("full_hours", "full light of %v h is less than rest of %v h", b.Full, b.Rest)
	}
	return all(text("circuit", b.Circuit, maxWord), number("rest_hours", &b.Rest, 0, 24, " h"), number("full_hours", &b.Full, 0, 24, " h"),
		within("step_minutes", b.Step, 1, 240, "minutes"), within("every_days", b.Every, 1, 60, "days"), count("dusk_minutes", b.Dusk, 240, "minutes"),
		oneOf("moves", b.Moves, LampMoves), oneOf("clock_changes", b.Clocks, ClockChanges), oneOf("windows", b.Windows, WindowLight),
		words("banks", b.Banks, maxBanks), distinctPlaces(b.Places))
}

func (b *FeedPlanned) check() *Error {
	if b.Preparation == 0 && b.Conditioning == 0 && b.Moult == 0 && b.Rest == 0 {
		return invalid("conditioning", "give the first day of at least one phase")
	}
	if b.Preparation != 0 && b.Conditioning != 0 && b.Conditioning < b.Preparation {
		return invalid("conditioning", "sprouted seed from %s comes before preparation, %s; put the days in order", b.Conditioning.Long(), b.Preparation.Long())
	}
	return all(text("name", b.Name, maxWord), distinctPlaces(b.Places), words("banks", b.Banks, maxBanks), words("species", b.Species, 100))
}

func (b *PhaseBegun) check() *Error {
	if b.Phase == "" {
		return invalid("phase", "say which phase began: preparation, conditioning, moult or rest")
	}
	return all(oneOf("phase", b.Phase, BegunPhases), distinctPlaces(b.Places))
}

func (b *IntakeSeen) check() *Error {
	if len(b.Places) == 0 {
		return invalid("places", "say at which cage")
	}
	return all(distinctPlaces(b.Places), number("share", &b.Share, 0, 3, " of what is usual"), text("text", b.Text, maxText))
}

func (b *StoreCounted) check() *Error {
	if strings.TrimSpace(b.Food) == "" {
		return invalid("food", "say which food")
	}
	return all(text("food", b.Food, maxWord), number("grams", &b.Grams, 0, 1e6, " g"), count("order_days", b.OrderDays, 365, "days"), number("price_per_kg", b.Price, 0, 1e6, ""))
}

func (b *GerminationTested) check() *Error {
	if strings.TrimSpace(b.Food) == "" {
		return invalid("food", "say which seed")
	}
	if b.Sprouted > b.Seeds {
		return invalid("sprouted", "%d of %d seeds cannot have sprouted", b.Sprouted, b.Seeds)
	}
	return all(text("food", b.Food, maxWord), within("seeds", b.Seeds, 1, 10000, "seeds"), count("sprouted", &b.Sprouted, 10000, "seeds"))
}

func (b *SproutsPlanned) check() *Error {
	if b.Stop {
		return nil
	}
	if b.ServeAt == 0 {
		return invalid("serve_at", "say at what time of day sprouted seed is given, such as 07:30")
	}
	if (b.WakeFrom == 0) != (b.WakeTo == 0) {
		return invalid("wake_to", "give both times between which you are up, or neither")
	}
	if b.WakeFrom != 0 && b.WakeTo <= b.WakeFrom {
		return invalid("wake_to", "you cannot be up until %s when you get up at %s", b.WakeTo, b.WakeFrom)
	}
	return all(number("celsius", &b.Celsius, 0, 45, " °C"), within("every_days", b.Every, 1, 4, "days"),
		number("serve_ml", b.ServeML, 0, 20000, " ml"), number("dry_ml", b.DryML, 0.05, 2, " ml"))
}

// within says that a figure lies outside its limits.
func within(field string, n, low, high int, unit string) *Error {
	if n < low || n > high {
		return invalid(field, "%d %s is outside %d to %d", n, unit, low, high)
	}
	return nil
}

func (b *FoodGiven) check() *Error {
	if strings.TrimSpace(b.Food) == "" {
		return invalid("food", "say what was given")
	}
	return all(text("food", b.Food, maxWord), number("amount", b.Amount, 0, 10000, ""), oneOf("unit", b.Unit, []string{"ml", "g", "tsp"}))
}

func (b *OddSeen) check() *Error {
	if b.What == "" {
		return invalid("what", "say what is odd")
	}
	return all(oneOf("what", b.What, OddThings), text("text", b.Text, maxText))
}

func (b *Settled) check() *Error {
	return all(need("entry", b.Entry, "matter"), text("how", b.How, maxText))
}

func (b *JobDone) check() *Error {
	return all(need("place", b.Place, "place"), text("job", b.Job, maxWord))
}

func (b *JobSkipped) check() *Error {
	return all(need("place", b.Place, "place"), text("job", b.Job, maxWord), text("reason", b.Reason, maxWord))
}

func (b *RoundSeen) check() *Error { return text("text", b.Text, maxText) }

func (b *AwaySet) check() *Error {
	if b.From == 0 || b.To < b.From {
		return invalid("to", "give the first and the last day away, the last not before the first")
	}
	return text("text", b.Text, maxText)
}

func (b *ImportMade) check() *Error { return text("name", b.Name, maxWord) }

func (b *Strike) check() *Error { return text("reason", b.Reason, maxWord) }
