package advice

import (
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

// MoreWhys are what may be behind more eggs than mornings, or an egg when sitting had long begun.
var MoreWhys = []string{"two hens", "dumped", "missed before", "not known"}

// Answers lists what may be answered to a question about a nest; each is one tap.
func Answers(q *nest.Question) []string {
	switch q.Kind {
	case nest.EggsFell:
		return aviary.GoneWhys
	case nest.ChicksFell:
		return []string{"out of the box", "died", "eaten", "tossed out", "taken out", "not known"}
	}
	return MoreWhys
}

// goneWord writes an answer in the words of the journal, which has fewer of them for chicks than a page shows.
func goneWord(why string) (word, note string) {
	if slices.Contains(aviary.GoneWhys, why) {
		return why, ""
	}
	return "not known", why
}

// Answer returns the entry that answers a question about a nest. It bears the day of the look that raised the question when
// another question of the same sort stands open, so that it answers that one alone; else no day, which is today.
func (d *Desk) Answer(n *Nest, q *nest.Question, why string) *aviary.Entry {
	e := &aviary.Entry{Body: AnswerBody(n.Place.ID, n.Clutch.Box, q.Kind, q.N, why)}
	for _, other := range n.Asked {
		if other.Kind == q.Kind && other.Day != q.Day {
			e.Day, e.Time = Day(q.Day), lastTime(n.Clutch, Day(q.Day))
		}
	}
	return e
}

// AnswerBody says an answer to a question about a nest: which sort of question, and how many it is about.
func AnswerBody(place, box aviary.ID, kind nest.QuestionKind, n int, why string) *aviary.NestCheck {
	b := &aviary.NestCheck{Place: place, Box: box}
	switch kind {
	case nest.EggsFell:
		b.GoneEggs = &n
		b.GoneEggsWhy, b.Text = goneWord(why)
	case nest.ChicksFell:
		b.GoneChicks = &n
		b.GoneChicksWhy, b.Text = goneWord(why)
	default:
		b.MoreWhy = why
	}
	return b
}

// lastTime is the time of the last look at a clutch on a day, so that an answer comes after it.
func lastTime(c *aviary.Clutch, day aviary.Date) aviary.Clock {
	var t aviary.Clock
	for _, e := range c.Entries() {
		if e.Day == day {
			t = max(t, e.Time)
		}
	}
	return t
}

// OnlyAnswers reports whether a check answers a question about an earlier look, or notes that young feed themselves, and is no
// look into the nest.
func OnlyAnswers(b *aviary.NestCheck) bool {
	if b.GoneEggs == nil && b.GoneChicks == nil && b.MoreWhy == "" && !b.SelfFeeding {
		return false
	}
	return b.Look == "" && b.Eggs == nil && b.Chicks == nil && b.DeadChicks == nil && b.Out == nil && b.Removed == nil && b.Dummies == nil &&
		b.FloorEggs == nil && b.Buried == nil && b.AgeDays == nil && len(b.Candled)+len(b.Signs) == 0 && !b.NewClutch
}

// Further says how the look that raised a question reads when a further clutch began with it: the entry to strike out and the
// entries that take its place, in order. Chicks counted at that look stay with the clutch before. eggs is how many of the eggs
// are new. It returns nil when no such look stands.
func (d *Desk) Further(n *Nest, q *nest.Question, eggs int) (old *aviary.Entry, instead []*aviary.Entry) {
	for _, e := range n.Clutch.Entries() {
		if b, ok := e.Body.(*aviary.NestCheck); ok && e.Day == Day(q.Day) && b.Eggs != nil {
			old = e
		}
	}
	return old, FurtherInstead(old, eggs)
}

// FurtherInstead says what takes the place of a look with which a further clutch began; nil when old is no look that counted eggs.
func FurtherInstead(old *aviary.Entry, eggs int) []*aviary.Entry {
	if old == nil {
		return nil
	}
	was, ok := old.Body.(*aviary.NestCheck)
	if !ok || was.Eggs == nil {
		return nil
	}
	anew := &aviary.NestCheck{Place: was.Place, Box: was.Box, Look: was.Look, Eggs: &eggs, NewClutch: true}
	if was.Chicks == nil || *was.Chicks == 0 {
		*anew = *was
		anew.Eggs, anew.NewClutch = &eggs, true
		return []*aviary.Entry{{Day: old.Day, Time: old.Time, Body: anew}}
	}
	before := *was
	left := max(*was.Eggs-eggs, 0)
	before.Eggs = &left
	return []*aviary.Entry{{Day: old.Day, Time: old.Time, Body: &before}, {Day: old.Day, Time: old.Time, Body: anew}}
}
