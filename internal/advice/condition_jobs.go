package advice

import (
	"fmt"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

// conditionJobs are what is due at a pair without eggs or young: the nest box, nest material, or a look for a cause where no
// sign came for weeks. At most one of them, so that a cage speaks with one voice.
func (d *Desk) conditionJobs(p *aviary.Place) *Job {
	c := d.Condition(p)
	if c == nil || c.Stage == PairNesting || c.Ill != "" {
		return nil
	}
	j := &Job{Place: p, From: d.Today, Best: d.Today, To: d.Today, Attention: Today, Basis: commonPracticeOf(signRule)}
	j.Seen = c.Says()
	if words := c.SignWords(); words != "" {
		j.Seen += " Signs: " + words + "."
	}
	switch {
	case c.BoxDue:
		j.Kind, j.Title = BoxJob, "Hang the nest box"
		j.Why = "Nest material follows once it hangs."
		if !c.show {
			j.Why = "Without a box a pair cannot show whether it wants to nest. Nest material waits for signs."
		}
	case c.MaterialDue:
		j.Kind, j.Title = MaterialJob, "Give nest material"
		j.Why = c.foodWords()
		if since := c.showing(); since != 0 {
			j.From, j.Best = since, since
		}
	case c.waitsForCause() && d.Today-p.LastLook >= causeEvery:
		j.Kind, j.Title, j.Attention = NoNestJob, fmt.Sprintf("Week %d and no signs", c.Standing.Week), NotSure
		j.Seen = "Sprouted seed since " + c.FoodSince.Short() + ", no sign noted that suffices. The pair stays in its phase."
		j.Why = "Look for a cause: two of one sex, a bird too young, too fat or in moult, too little light, a pair that does not like each other."
	default:
		return nil
	}
	return j
}

const (
	signRule = "nest material once signs show, from about the fourth week of sprouted seed; one strong sign of the last fortnight (at the nest, building) or two of the others suffice; a pair that is ahead may go ahead"
	// causeEvery is how many days pass between two looks for the cause of missing signs.
	causeEvery = 7
)

func commonPracticeOf(rule string) string { return capital(rule) + ". Common practice, no source." }

// foodWords says how far the food is.
func (c *Condition) foodWords() string {
	if c.Standing.Week > 0 && c.Standing.Week < boxWeek && !c.After {
		return fmt.Sprintf("Ahead of time, in week %d of sprouted seed: it may go ahead.", c.Standing.Week)
	}
	if c.Standing.Week > 0 && !c.After {
		return fmt.Sprintf("Week %d of sprouted seed. Give it, and leave them be.", c.Standing.Week)
	}
	return "Give it, and leave them be."
}

// showing is the day of the first fresh sign; 0 without one.
func (c *Condition) showing() aviary.Date {
	var first aviary.Date
	for _, s := range c.Signs {
		if s.Fresh && (first == 0 || s.Last() < first) {
			first = s.Last()
		}
	}
	return first
}

// waitsForCause reports whether the engine warns that no sign came for weeks.
func (c *Condition) waitsForCause() bool {
	if c.Stage != PairComing || c.After || c.Material != 0 || c.show {
		return false
	}
	for _, n := range c.Standing.Notes {
		if n.Level == feed.Warn {
			return true
		}
	}
	return false
}

// asksForNest reports whether a look for a nest fits the pair: not at rest, not before material is due, not while something
// else is due.
func (c *Condition) asksForNest() bool {
	switch {
	case c.Stage == PairNesting, c.Stage == PairResting && c.FoodNoted, c.Stage == PairPreparing, c.MaterialDue, c.BoxDue, c.Ill != "":
		return false
	case c.FoodNoted && c.Stage == PairComing && c.Material == 0 && !c.After:
		return false // it stays in its phase, and is told so
	}
	return true
}

// illHen reports whether a matter is about a hen that looks ill: it cannot wait.
func illHen(what string) bool { return what == "hen fluffed or low" || what == "hen straining" }

// illJob makes the job about such a matter: urgent, first of all, in the words of the engine.
func (d *Desk) illJob(p *aviary.Place, e *aviary.Entry, b *aviary.OddSeen) *Job {
	phase := feed.Rest
	if f := d.Feeding(p); f != nil {
		phase = f.Standing.Phase
	}
	hen := d.henAt(p)
	hen.Fluffed = hen.Fluffed || b.What == "hen fluffed or low"
	hen.Straining = hen.Straining || b.What == "hen straining"
	var why []string
	for _, n := range hen.Look(phase) {
		why = append(why, n.Text)
	}
	name := strings.TrimPrefix(b.What, "hen ")
	return &Job{
		Kind: OddJob, Place: p, Entry: e.ID, Urgent: true, Title: "Hen " + name + ": see to her now", Seen: oddText(e, b), Why: strings.Join(why, " "),
		From: e.Day, Best: e.Day, To: e.Day, Attention: Today,
	}
}

// holdMaterial takes back that nest material is due where something speaks against a clutch, and says what, so that the morning's
// list and the cage speak with one voice.
func (d *Desk) holdMaterial(f *Feeding) {
	if !f.Standing.MaterialDue || f.Pair == nil {
		return
	}
	free := betweenOn(f.Place, f.Pair, d.Today).free
	builds := slices.ContainsFunc(f.Place.Signs, func(s aviary.Sign) bool {
		return s.What == "building" && s.Day >= free && s.Day <= d.Today && d.Today-s.Day <= signFresh
	})
	switch why := d.against(f.Place, f.Pair); {
	case len(why) > 0:
		f.Standing.MaterialDue = false
		f.Standing.Notes = append([]feed.Note{{Level: feed.Info, Text: "Signs show, but nest material waits.", Source: commonPractice}}, why...)
	case builds:
		f.Standing.MaterialDue = false
		f.Standing.Notes = []feed.Note{{Level: feed.Info, Text: "They build already: give more nest material only when it is used up.", Source: commonPractice}}
	}
}
