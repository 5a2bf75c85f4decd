package feed

import "fmt"

// Day is a civil day as a running number. The zero Day means not known, or not happened.
type Day int

// Phase is what a pair, or a place of unpaired birds, is fed for.
type Phase int

// The phases of a season, in its order. Egg food stands for conditioning with egg food
// added, material for the same with nest material given.
const (
	Rest Phase = iota
	Preparation
	Conditioning
	EggFood
	Material
	Laying
	Sitting
	Rearing
	Weaning
	Moult
	phases // how many there are
)

// Phases returns every phase in the order of a season.
func Phases() []Phase {
	out := make([]Phase, phases)
	for i := range out {
		out[i] = Phase(i)
	}
	return out
}

// String writes the phase as people say it.
func (p Phase) String() string {
	return [phases]string{
		"rest", "preparation", "conditioning", "egg food", "nest material", "laying", "sitting", "rearing", "weaning", "moult",
	}[p]
}

// ParsePhase reads a phase as [Phase.String] writes it.
func ParsePhase(s string) (Phase, error) {
	for _, p := range Phases() {
		if p.String() == s {
			return p, nil
		}
	}
	return 0, &Error{Field: "phase", Message: fmt.Sprintf("%q is no feeding phase. Write rest, preparation, conditioning, egg food, nest material, laying, sitting, rearing, weaning or moult.", s)}
}

// breeding says whether the phase is one of a pair with eggs or young.
func (p Phase) breeding() bool { return p >= Laying && p <= Weaning }

// Days of the ladder. Common practice, no source.
const (
	eggFoodFrom  = 14 // egg food from the third week of sprouted seed
	materialFrom = 21 // nest material from about the fourth week, once signs show
	signsLast    = 14 // a sign older than this says nothing
	longWait     = 42 // no signs for six weeks of conditioning: look for a cause
)

// SignKind is something a keeper sees in a pair that comes into condition.
type SignKind int

// The signs. The last three are strong: one is enough. Of the others it takes two kinds.
const (
	Singing SignKind = iota
	BeakDarkening
	Flutter
	AtNest
	Building
	signKinds
)

// String writes the sign as people say it.
func (k SignKind) String() string {
	return [signKinds]string{"singing", "beak darkening", "flutter", "at the nest", "building"}[k]
}

func (k SignKind) strong() bool { return k >= AtNest }

// Sign is one sign on the day it was seen.
type Sign struct {
	Day  Day
	Kind SignKind
}

// Season is the plan of a place or group: the day from which each phase holds. A zero day
// means that the phase is not planned. The latest of those that have come holds.
type Season struct{ Preparation, Conditioning, Moult, Rest Day }

// Nest is one clutch of a pair, from its first egg on. Ended is the day it was given up,
// or the last young parted.
type Nest struct {
	FirstEgg, Sitting, Hatched, Fledged, Ended Day
	Eggs, Chicks                               int
}

// live says whether the nest has eggs or young on a day.
func (n Nest) live(today Day) bool { return come(n.FirstEgg, today) && !come(n.Ended, today) }

// come says whether a day is known and here.
func come(d, today Day) bool { return d != 0 && d <= today }

// Phase returns what the nest asks for on a day; call it on a live nest.
func (n Nest) phase(today Day) Phase {
	switch {
	case come(n.Fledged, today):
		return Weaning
	case come(n.Hatched, today):
		return Rearing
	case come(n.Sitting, today):
		return Sitting
	}
	return Laying
}

// Pair is a pair on its way through a season. Conditioning is the first day of sprouted
// seed at this pair, Material the day that nest material was given.
type Pair struct {
	Conditioning, Material Day
	Signs                  []Sign
	Nests                  []Nest
	Moult, Rest            Day // begun at this pair, whatever the plan says
}

// Standing is where a pair or a group stands on a day.
type Standing struct {
	Phase Phase
	Since Day // 0 when not known
	// Week counts from 1 since the first sprouted seed; 0 outside conditioning.
	Week int
	// Next is the phase that follows and NextDay the first day it may, 0 when signs decide.
	Next    Phase
	NextDay Day
	// MaterialDue says that nest material is to be given.
	MaterialDue bool
	Notes       []Note
}

// Group returns the phase of birds that are not paired, which follows the plan alone:
// at rest until a day of the plan has come.
func (s Season) Group(today Day) Standing {
	out := Standing{Phase: Rest, Next: Preparation, NextDay: later(s.Preparation, today)}
	steps := []struct {
		from Day
		p    Phase
		next Phase
	}{
		{s.Preparation, Preparation, Conditioning},
		{s.Conditioning, Conditioning, EggFood},
		{s.Moult, Moult, Rest},
		{s.Rest, Rest, Preparation},
	}
	starts := map[Phase]Day{Preparation: s.Preparation, Conditioning: s.Conditioning, Rest: s.Rest}
	for _, st := range steps {
		if come(st.from, today) && st.from >= out.Since {
			out.Phase, out.Since, out.Next = st.p, st.from, st.next
			out.NextDay = later(starts[st.next], today)
		}
	}
	if out.Phase == Conditioning {
		out.ladder(s.Conditioning, today)
	}
	return out
}

func later(d, today Day) Day {
	if d > today {
		return d
	}
	return 0
}

// ladder fills in the weeks of conditioning that began on a day, without looking at signs.
func (out *Standing) ladder(from, today Day) {
	days := int(today - from)
	out.Week = days/7 + 1
	if days < eggFoodFrom {
		out.Phase, out.Since, out.Next, out.NextDay = Conditioning, from, EggFood, from+eggFoodFrom
		return
	}
	out.Phase, out.Since, out.Next, out.NextDay = EggFood, from+eggFoodFrom, Material, later(from+materialFrom, today)
}

// Phase returns where a pair stands on a day. Eggs and young come first; then a moult or
// rest that has begun at the pair or, without nests, is planned for its place; then
// conditioning by its own days and signs. A pair without signs stays and is told so; a
// pair that is ahead goes ahead.
func (p Pair) Phase(today Day, plan Season) Standing {
	planned := plan.Group(today)
	moult := come(p.Moult, today) && p.Moult >= p.Conditioning
	var live []Nest
	var ended Day
	for _, n := range p.Nests {
		if n.live(today) {
			live = append(live, n)
		} else if come(n.FirstEgg, today) {
			ended = max(ended, n.Ended)
		}
	}
	if len(live) > 0 {
		return p.nesting(live, today, moult || planned.Phase == Moult)
	}
	rest := come(p.Rest, today) && p.Rest >= p.Conditioning && p.Rest >= p.Moult
	switch {
	case rest:
		return Standing{Phase: Rest, Since: p.Rest, Next: Preparation, NextDay: later(plan.Preparation, today)}
	case moult:
		return Standing{Phase: Moult, Since: p.Moult, Next: Rest, NextDay: later(plan.Rest, today)}
	case planned.Phase == Moult && planned.Since > p.Conditioning,
		planned.Phase == Rest && planned.Since > p.Conditioning:
		return planned
	case !come(p.Conditioning, today):
		if planned.Phase != Conditioning && planned.Phase != EggFood {
			return planned
		}
		// The plan says conditioning, but nobody has begun it at this pair.
		out := Standing{Phase: Preparation, Since: max(plan.Preparation, 0), Next: Conditioning}
		out.note(Info, "The plan has sprouted seed from now on. Begin it at this pair and note the day.", practice)
		return out
	}
	return p.conditioning(today, ended)
}

func (out *Standing) note(l Level, text, source string) {
	out.Notes = append(out.Notes, Note{l, text, source})
}

// nesting answers for a pair with eggs or young. The nest that asks most leads: young in
// the nest before eggs, eggs before young out of it.
func (p Pair) nesting(live []Nest, today Day, moult bool) Standing {
	order := [phases]int{Rearing: 4, Laying: 3, Sitting: 2, Weaning: 1}
	lead := live[0]
	for _, n := range live[1:] {
		if order[n.phase(today)] > order[lead.phase(today)] {
			lead = n
		}
	}
	out := Standing{Phase: lead.phase(today)}
	switch out.Phase {
	case Laying:
		out.Since, out.Next = lead.FirstEgg, Sitting
		out.note(Info, "A pair eats less while it lays. That is normal in a hen that is bright and active. A hen that sits fluffed, low or straining is not: see to her at once.", layingSource)
		out.note(Info, "Seed alone cannot shell a clutch. Cuttlebone, grit or baked eggshell stays out.", eggSource)
	case Sitting:
		out.Since, out.Next = lead.Sitting, Rearing
	case Rearing:
		out.Since, out.Next = lead.Hatched, Weaning
		if age := today - lead.Hatched; age >= 10 {
			out.note(Info, "The nest now eats most: from about day 12 until a week after fledging. Food is not to run out in the afternoon.", chickSource)
		}
	case Weaning:
		out.Since, out.Next = lead.Fledged, Material
	}
	if moult {
		out.note(Warn, "Moult and breeding overlap at this pair. Leave this nest its time, and plan no further clutch.", practice)
	}
	return out
}

// conditioning answers for a pair that gets sprouted seed and has no live nest.
func (p Pair) conditioning(today, ended Day) Standing {
	from := p.Conditioning
	var out Standing
	out.ladder(from, today)
	if ended >= from {
		// Between two clutches: the ladder is behind the pair.
		out = Standing{Phase: EggFood, Since: ended, Next: Laying}
	}
	show := p.showing(today)
	if come(p.Material, today) && p.Material >= ended && p.Material >= from {
		out.Phase, out.Since, out.Next, out.NextDay = Material, p.Material, Laying, 0
		if !show && today-p.Material > signsLast {
			out.note(Info, "Nest material is in, and no signs were noted for two weeks. The pair stays on conditioning food: give it time, and note what you see.", practice)
		}
		return out
	}
	days := today - from
	switch {
	case show && (ended >= from || days >= materialFrom):
		out.MaterialDue, out.NextDay = true, 0
		out.note(Info, "Signs show. Give nest material today.", practice)
	case show:
		out.MaterialDue, out.NextDay, out.Next = true, 0, Material
		out.note(Info, fmt.Sprintf("This pair is ahead, in week %d with signs. It may go ahead: give nest material.", out.Week), practice)
		if out.Phase == Conditioning {
			out.Phase, out.Since = EggFood, today
		}
	case ended < from && days >= longWait:
		out.note(Warn, fmt.Sprintf("Week %d and no signs. The pair stays on conditioning food. Look for a cause: two of one sex, a bird too young, too fat or in moult, too little light, a pair that does not like each other.", out.Week), practice)
	case ended < from && days >= materialFrom:
		out.note(Info, fmt.Sprintf("Week %d and no signs yet. The pair stays on conditioning food without nest material: patience.", out.Week), practice)
	}
	return out
}

// showing says whether the signs of the last two weeks are enough for nest material.
func (p Pair) showing(today Day) bool {
	var seen [signKinds]bool
	for _, s := range p.Signs {
		if s.Kind >= 0 && s.Kind < signKinds && come(s.Day, today) && today-s.Day <= signsLast {
			seen[s.Kind] = true
		}
	}
	weak := 0
	for k, ok := range seen {
		if ok && SignKind(k).strong() {
			return true
		}
		if ok {
			weak++
		}
	}
	return weak >= 2
}

// Hen is what a keeper sees of a hen on a look.
type Hen struct{ Fluffed, Low, Straining bool }

// Look returns what to do about a hen, whatever phase she is in. A hen that is fluffed,
// low or straining is urgent, and no intake explains it away.
func (h Hen) Look(p Phase) []Note {
	if !h.Fluffed && !h.Low && !h.Straining {
		return nil
	}
	text := "This hen is ill: fluffed, low or straining is an emergency. Bring her into gentle warmth and quiet and ask an avian vet at once. Give no medicine and do not press or pull at her."
	if p == Material || p == Laying || p == Sitting {
		text = "This hen may be egg-bound: fluffed, low or straining is an emergency. Bring her into gentle warmth and quiet and ask an avian vet at once. Give no medicine and do not press or pull at her. Tell the vet her age, which clutch it is, how warm the room is and what calcium she has."
	}
	return []Note{{Urgent, text, practice}}
}

// Intake judges what a pair ate against what it ate before, as a share (1 is the same).
// A drop of up to a third while laying is normal. It says nothing of how the hen looks:
// join it with [Hen.Look].
func Intake(p Phase, share float64) []Note {
	switch {
	case !(share >= 0):
		return nil
	case p == Laying && share >= 2.0/3:
		if share < 1 {
			return []Note{{Info, "The pair eats less. While laying that is normal; look at the hen all the same.", layingSource}}
		}
		return nil
	case p == Rearing && share < 1:
		return []Note{{Warn, "The pair eats less with young in the nest. Look at the chicks' crops and at both parents today.", practice}}
	case share < 0.75:
		return []Note{{Warn, "The birds leave a quarter of their food or more. Look at them, their droppings and the food today.", practice}}
	}
	return nil
}
