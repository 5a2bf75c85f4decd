package advice

import (
	"fmt"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func count(n int, one, many string) string { return fmt.Sprintf("%d %s", n, plural(n, one, many)) }

// days writes a range of days: "13 Jan", "12–14 Jan", "30 Jan–2 Feb".
func days(from, to aviary.Date) string {
	switch a, b := from.Time(), to.Time(); {
	case from == to:
		return from.Short()
	case a.Year() == b.Year() && a.Month() == b.Month():
		return fmt.Sprintf("%d–%s", a.Day(), to.Short())
	}
	return from.Short() + "–" + to.Short()
}

// Days writes a range of days as pages show it.
func Days(from, to aviary.Date) string { return days(from, to) }

// Expects says when an event is expected: "Hatch due 12–14 Jan (8 in 10), most likely 13 Jan".
func Expects(e nest.Event) string {
	if !e.Known {
		return ""
	}
	name := map[nest.Kind]string{
		nest.FirstEgg: "First egg", nest.ClutchComplete: "Clutch complete", nest.SittingFrom: "Sitting", nest.Candle: "Candling tells most",
		nest.Hatch: "Hatch", nest.LastHatch: "Last hatch", nest.Ring: "Ring fits", nest.Fledge: "Out of the box", nest.Wean: "On their own", nest.Part: "Part them by",
	}[e.Kind]
	from, to, ok := e.EightInTen()
	if !ok || from == to {
		return fmt.Sprintf("%s about %s", name, Day(e.Likely).Short())
	}
	return fmt.Sprintf("%s %s (8 in 10), most likely %s", name, days(Day(from), Day(to)), Day(e.Likely).Short())
}

// Says describes what was seen in the nest: "5 full eggs, sat since 30 Dec".
func (n *Nest) Says() string {
	var parts []string
	add := func(k int, one, many string) {
		if k > 0 {
			parts = append(parts, count(k, one, many))
		}
	}
	add(n.Chicks, "chick", "chicks")
	if n.Ringed > 0 {
		parts = append(parts, fmt.Sprintf("%d ringed", n.Ringed))
	}
	if n.Out > 0 {
		parts = append(parts, fmt.Sprintf("%d young out", n.Out))
	}
	add(n.Eggs.Full, "full egg", "full eggs")
	add(n.Eggs.NotCandled, "egg", "eggs")
	add(n.Eggs.Clear, "clear egg", "clear eggs")
	add(n.Eggs.Bad, "bad egg", "bad eggs")
	add(n.Dead, "found dead", "found dead")
	s := strings.Join(parts, ", ")
	if n.Eggs.AtLeast && n.Eggs.Total() > 0 {
		s = "at least " + s
	}
	if s == "" {
		s = "Nothing counted yet"
	}
	if sit := n.Course.Event(nest.SittingFrom); sit.Known && n.Course.Stage.Kind == nest.Sitting {
		about := "about "
		if sit.Early == sit.Late {
			about = ""
		}
		s += ", sat since " + about + Day(sit.Likely).Short()
	}
	return capital(s) + "."
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// Sentence says in a line what an entry says.
func Sentence(r *aviary.Room, e *aviary.Entry) string {
	bird := func(id aviary.ID) string {
		if b := r.Bird(id); b != nil {
			return b.Label()
		}
		return "a bird"
	}
	birds := func(ids []aviary.ID) string {
		var names []string
		for _, id := range ids {
			names = append(names, bird(id))
		}
		return strings.Join(names, ", ")
	}
	place := func(id aviary.ID) string {
		if p := r.Place(id); p != nil {
			return p.Name
		}
		return "no place"
	}
	with := func(s, what string) string {
		if what == "" {
			return s
		}
		return s + ": " + what
	}
	switch b := e.Body.(type) {
	case *aviary.NestCheck:
		return checkSentence(b)
	case *aviary.PairSet:
		return fmt.Sprintf("paired %s with %s", orNobody(birds(b.Cocks)), orNobody(birds(b.Hens)))
	case *aviary.PairEnded:
		return with("pair ended", b.Reason)
	case *aviary.BirdAcquired:
		return with(bird(b.Bird)+" came into the books", b.From)
	case *aviary.ChickRinged:
		if b.Ring.Read() {
			return "ringed " + b.Ring.String()
		}
		return "young written in without a ring"
	case *aviary.BirdRinged:
		return fmt.Sprintf("%s: ring %s", bird(b.Bird), strings.TrimSpace(b.How+" "+b.Ring.String()))
	case *aviary.RingLost:
		return bird(b.Bird) + " lost its ring"
	case *aviary.BirdSexed:
		return with(fmt.Sprintf("%s is a %s", bird(b.Bird), b.Sex), b.How)
	case *aviary.LookSeen:
		return strings.TrimSpace(fmt.Sprintf("%s shows %s %s", bird(b.Bird), b.Trait, b.Look))
	case *aviary.PairRuled:
		word := map[string]string{"together": "wanted together", "apart": "kept apart", "free": "free again"}[b.Rule]
		return with(fmt.Sprintf("%s and %s %s", bird(b.Cock), bird(b.Hen), word), b.Why)
	case *aviary.BirdHeld:
		if b.Free {
			return bird(b.Bird) + " may be paired again"
		}
		return with(bird(b.Bird)+" kept out of pairs", b.Why)
	case *aviary.YoungWished:
		return fmt.Sprintf("%d young wished for: %s", b.Count, strings.TrimSpace(b.Look+" "+string(b.Sex)))
	case *aviary.ColourSaid:
		word := "said not to carry"
		if b.Carries {
			word = "said to carry"
		}
		return with(fmt.Sprintf("%s %s %s of %s", bird(b.Bird), word, b.Allele, b.Locus), b.By)
	case *aviary.ColourAssumed:
		return with("assumption about "+b.Locus, b.Basis)
	case *aviary.ColourAdded:
		return "own colour written: " + b.Look
	case *aviary.BirdWeighed:
		return fmt.Sprintf("%s weighed %.1f g", bird(b.Bird), b.Grams)
	case *aviary.BirdMoved:
		return with(fmt.Sprintf("%s moved to %s", bird(b.Bird), place(b.Place)), b.Reason)
	case *aviary.BirdDied:
		return with(bird(b.Bird)+" died", b.Cause)
	case *aviary.OneDied:
		return with("one of "+birds(b.Birds)+" died", b.Cause)
	case *aviary.BirdLeft:
		return fmt.Sprintf("%s left: %s", bird(b.Bird), b.How)
	case *aviary.BirdReturned:
		return bird(b.Bird) + " came back"
	case *aviary.BirdSame:
		return "two lines joined: " + bird(b.Bird)
	case *aviary.BirdNamed:
		return "named " + b.Name
	case *aviary.ParentsSet:
		return with("parents of "+bird(b.Bird)+" written", b.How)
	case *aviary.Note:
		return b.Text
	case *aviary.BoxHung:
		return with("nest box hung", b.Name)
	case *aviary.BoxTaken:
		return "nest box taken out"
	case *aviary.BoxCleaned:
		return "nest box cleaned"
	case *aviary.MaterialGiven:
		return with("nest material given", b.What)
	case *aviary.NestMoved:
		var what []string
		if b.Eggs > 0 {
			what = append(what, count(b.Eggs, "egg", "eggs"))
		}
		if n := b.Chicks + len(b.Birds); n > 0 {
			what = append(what, count(n, "chick", "chicks"))
		}
		return fmt.Sprintf("%s moved from %s to %s", strings.Join(what, ", "), place(b.Place), place(b.ToPlace))
	case *aviary.YoungWeaned:
		s := fmt.Sprintf("weaned %d young", len(b.Birds)+b.Unringed)
		if b.To != (aviary.ID{}) {
			s += ", to " + place(b.To)
		}
		return s
	case *aviary.GroupFound:
		return fmt.Sprintf("%d unringed young written in", b.Count)
	case *aviary.GroupMoved:
		return "unringed young moved to " + place(b.Place)
	case *aviary.GroupCounted:
		return with(fmt.Sprintf("%d unringed young counted", b.Count), b.Why)
	case *aviary.PlaceAdded:
		return b.Name + " added"
	case *aviary.PlaceChanged:
		return place(b.Place) + " changed"
	case *aviary.PlaceRetired:
		return with("taken out of use", b.Reason)
	case *aviary.PlaceCounted:
		s := fmt.Sprintf("%s: %d found", place(b.Place), b.Found)
		if b.Book != nil && *b.Book != b.Found {
			s += fmt.Sprintf(", the book says %d", *b.Book)
		}
		return s
	case *aviary.LampSet:
		return fmt.Sprintf("lamps %s–%s", b.On, b.Off)
	case *aviary.LampPlanned:
		return with("lamps planned", strings.TrimSpace(fmt.Sprintf("%s %s to %s", b.Circuit, b.RampFrom.Long(), b.RestBy.Long())))
	case *aviary.FeedPlanned:
		return with("feeding planned", b.Name)
	case *aviary.PhaseBegun:
		return b.Phase + " began"
	case *aviary.IntakeSeen:
		return fmt.Sprintf("ate %.0f in 100 of the usual", 100*b.Share)
	case *aviary.StoreCounted:
		return fmt.Sprintf("%s in store: %.0f g", b.Food, b.Grams)
	case *aviary.GerminationTested:
		return fmt.Sprintf("%s: %d of %d seeds sprouted", b.Food, b.Sprouted, b.Seeds)
	case *aviary.SproutsPlanned:
		if b.Stop {
			return "no more seed is sprouted"
		}
		return fmt.Sprintf("sprouted seed planned for %s at %g °C", b.ServeAt, b.Celsius)
	case *aviary.FoodGiven:
		if b.Amount != nil {
			return fmt.Sprintf("%s given, %v %s a cage", b.Food, *b.Amount, b.Unit)
		}
		return b.Food + " given"
	case *aviary.OddSeen:
		return with(b.What, b.Text)
	case *aviary.Settled:
		return with("settled", b.How)
	case *aviary.JobDone:
		kind, _, _ := strings.Cut(b.Job, "/")
		return kind + ", done"
	case *aviary.JobSkipped:
		kind, _, _ := strings.Cut(b.Job, "/")
		return with(kind+" put off", b.Reason)
	case *aviary.RoundSeen:
		if len(b.Except) > 0 {
			return fmt.Sprintf("whole room seen, all well but %d", len(b.Except))
		}
		return "whole room seen, all well"
	case *aviary.AwaySet:
		return "away " + days(b.From, b.To)
	case *aviary.ImportMade:
		return fmt.Sprintf("%d rows read from %s", b.Rows, b.Name)
	case *aviary.RoomSet:
		return "room settings changed"
	case *aviary.SpeciesSet:
		return fmt.Sprintf("own value for %s: %s", b.Species, strings.ReplaceAll(b.Parameter, "_", " "))
	case *aviary.RingsListed:
		return fmt.Sprintf("rings %d–%d on hand", b.From, b.To)
	case *aviary.Strike:
		return with("struck out", b.Reason)
	}
	return string(e.Kind)
}

func orNobody(s string) string {
	if s == "" {
		return "nobody"
	}
	return s
}

func checkSentence(b *aviary.NestCheck) string {
	var parts []string
	add := func(n *int, one, many string) {
		if n != nil {
			parts = append(parts, count(*n, one, many))
		}
	}
	switch b.Look {
	case "same":
		parts = append(parts, "looked, the same")
	case "sitting":
		parts = append(parts, "sitting, left alone")
	}
	atLeast := func(yes bool) {
		if yes && len(parts) > 0 {
			parts[len(parts)-1] = "at least " + parts[len(parts)-1]
		}
	}
	add(b.Eggs, "egg", "eggs")
	atLeast(b.EggsAtLeast && b.Eggs != nil)
	add(b.Chicks, "chick", "chicks")
	atLeast(b.ChicksAtLeast && b.Chicks != nil)
	add(b.DeadChicks, "dead", "dead")
	add(b.Out, "young out", "young out")
	states := map[string]int{}
	for _, c := range b.Candled {
		_, s := aviary.CandledEgg(c)
		states[s]++
	}
	for _, s := range aviary.EggStates {
		if states[s] > 0 {
			word := s
			if s == "fertile" {
				word = "full"
			}
			parts = append(parts, fmt.Sprintf("%d %s", states[s], word))
		}
	}
	add(b.Removed, "egg taken out", "eggs taken out")
	add(b.Dummies, "dummy egg", "dummy eggs")
	add(b.FloorEggs, "egg on the floor", "eggs on the floor")
	add(b.Buried, "egg buried", "eggs buried")
	if b.GoneEggs != nil {
		parts = append(parts, fmt.Sprintf("%s gone: %s", count(*b.GoneEggs, "egg", "eggs"), b.GoneEggsWhy))
	}
	if b.GoneChicks != nil {
		parts = append(parts, fmt.Sprintf("%s gone: %s", count(*b.GoneChicks, "chick", "chicks"), b.GoneChicksWhy))
	}
	if b.MoreWhy != "" {
		parts = append(parts, "more eggs: "+b.MoreWhy)
	}
	if b.AgeDays != nil {
		parts = append(parts, fmt.Sprintf("eldest about day %d", *b.AgeDays))
	}
	parts = append(parts, b.Signs...)
	if b.SelfFeeding {
		parts = append(parts, "seen feeding themselves")
	}
	if b.NewClutch {
		parts = append(parts, "new clutch")
	}
	if b.Text != "" {
		parts = append(parts, b.Text)
	}
	if len(parts) == 0 {
		return "looked"
	}
	return strings.Join(parts, ", ")
}
