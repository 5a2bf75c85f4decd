package nest

import (
	"fmt"
	"math"
)

// lateEgg is the days of sitting after which an egg more is taken to belong to a further
// clutch: the longest clutches are complete by then, missed mornings included. Common
// practice, no source.
const lateEgg = 7

// QuestionKind is what a look leaves open.
type QuestionKind int

// The questions.
const (
	EggsFell    QuestionKind = iota // eggs are gone and no look says where
	ChicksFell                      // chicks are gone and no look says where
	EggsTooFast                     // more new eggs than mornings: two hens, eggs dumped, or a miscount before
	EggsLate                        // an egg more when sitting had long begun: a further clutch?
)

var questionNames = []string{"eggs fell", "chicks fell", "more than one new egg a day", "eggs after sitting began"}

// String names the question.
func (k QuestionKind) String() string {
	if k < 0 || int(k) >= len(questionNames) {
		return "no such question"
	}
	return questionNames[k]
}

// Question is something that the counts of two looks leave open. A look is never wrong:
// the keeper may answer that it is not known.
type Question struct {
	Kind          QuestionKind
	Since, Day    Day // the look before, and the look that asks
	Before, After int // the counts at the two looks; Before is what was left after it
	N             int // how many are gone, or are too many
	Text          string
}

func (in *input) questions(c *Course) []Question {
	var qs []Question
	eggs, chicks, out := -1, -1, 0 // what was left after the look before; -1 not counted
	var eggDay, chickDay Day
	top := 0 // eggs laid by the look before
	for j := range in.looks {
		f := &in.looks[j]
		grown := max(0, val(f.Out)+f.Weaned-out)
		// A chick that appears takes one egg.
		hatched := 0
		counted := f.Chicks != nil || f.DeadChicks != nil
		if counted {
			hatched = max(0, val(f.Chicks)+val(f.DeadChicks)-max(0, chicks))
			if f.Out != nil {
				hatched += max(0, min(grown, max(0, eggs)))
			}
		}
		if f.exact && eggs >= 0 {
			if gone := eggs - hatched - f.eggs; gone > 0 {
				text := fmt.Sprintf("%d %s before and %d now. What became of %s?", eggs, plural(float64(eggs), "egg"), f.eggs, them(gone))
				if hatched > 0 {
					text = fmt.Sprintf("%d %s before; %d hatched and %d are left. What became of %s?", eggs, plural(float64(eggs), "egg"), hatched, f.eggs, them(gone))
				}
				qs = append(qs, Question{Kind: EggsFell, Since: eggDay, Day: f.Day, Before: eggs, After: f.eggs, N: gone, Text: text})
			}
			if more := f.eggs - eggs; more > 0 && f.own > top {
				qs = in.tooMany(c, qs, f, eggs, more, eggDay, chicks > 0)
			}
		}
		if f.Chicks != nil && chicks >= 0 {
			gone := chicks - *f.Chicks - val(f.DeadChicks) - grown
			if gone > 0 && (f.Out != nil || !in.mayBeOut(c, f.Day)) {
				qs = append(qs, Question{
					Kind: ChicksFell, Since: chickDay, Day: f.Day, Before: chicks, After: *f.Chicks, N: gone,
					Text: fmt.Sprintf("%d %s before and %d now. What became of %s?", chicks, plural(float64(chicks), "chick"), *f.Chicks, them(gone)),
				})
			}
		}

		if f.exact {
			eggs, eggDay = f.eggs, f.Day
		}
		if eggs >= 0 {
			eggs = max(0, eggs-f.EggsRemoved-f.EggsMovedOut) + f.EggsMovedIn
		}
		if f.Chicks != nil {
			chicks, chickDay = *f.Chicks, f.Day
		} else if chicks >= 0 {
			chicks = max(0, chicks-val(f.DeadChicks)-grown)
		}
		if chicks >= 0 {
			chicks = max(0, chicks-f.ChicksMovedOut) + f.ChicksMovedIn
		}
		if f.Out != nil {
			out = *f.Out
		}
		out = max(0, out-f.Weaned)
		top = max(top, f.own)
	}
	return qs
}

// mayBeOut says that young may have left the nest by the day.
func (in *input) mayBeOut(c *Course, d Day) bool {
	if e := c.Events[Fledge]; e.Known {
		return d >= e.Early
	}
	return in.outAt >= 0 || in.grown(d)
}

// tooMany asks about eggs that came too fast or too late.
func (in *input) tooMany(c *Course, qs []Question, f *found, before, more int, since Day, chicks bool) []Question {
	each := 1.0
	if i := in.p.LayingInterval; i.Known {
		each = i.Low
	}
	mornings := float64(f.Day - since)
	if could := int(math.Floor(mornings/each + slip)); more > could {
		qs = append(qs, Question{
			Kind: EggsTooFast, Since: since, Day: f.Day, Before: before, After: f.eggs, N: more - could,
			Text: fmt.Sprintf("%d new %s in %s. Two hens, eggs put in from elsewhere, or some not seen before?", more, plural(float64(more), "egg"), days(mornings)),
		})
	}
	sit := c.Events[SittingFrom]
	sat := since + 1 - sit.Late // the least, had they come the morning after the look before
	if chicks || sit.Known && sat > lateEgg {
		text := fmt.Sprintf("%d %s more with chicks in the nest. A further clutch?", more, plural(float64(more), "egg"))
		if !chicks {
			text = fmt.Sprintf("%d %s more after at least %s of sitting. A further clutch?", more, plural(float64(more), "egg"), days(float64(sat)))
		}
		qs = append(qs, Question{Kind: EggsLate, Since: since, Day: f.Day, Before: before, After: f.eggs, N: more, Text: text})
	}
	return qs
}

func them(n int) string {
	if n == 1 {
		return "the one that is gone"
	}
	return fmt.Sprintf("the %d that are gone", n)
}
