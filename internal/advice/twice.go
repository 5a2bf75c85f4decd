package advice

import (
	"fmt"

	"broodlight/internal/aviary"
)

// Twice is two looks at one nest on one round, by two people who counted differently. Both are kept, and the later one counts
// until it is sorted out.
type Twice struct {
	First, Second *aviary.Entry
	Text          string
}

// twiceWithin is how near each other two looks are of one round, in minutes. A nest may change between a morning and a noon;
// within a round the difference is rather in the counting. Common practice, no source.
const twiceWithin = 120

// twiceDays is how long two such looks are asked about, in days: after a fortnight later looks have told.
const twiceDays = 14

// Twices lists the looks at a place that two people counted differently and that nobody has sorted out, oldest first.
func (d *Desk) Twices(p *aviary.Place) []Twice {
	var out []Twice
	var looks []*aviary.Entry
	for _, e := range d.Room.Since(aviary.APlace, p.ID, d.Today-twiceDays) {
		if b, ok := e.Body.(*aviary.NestCheck); ok && b.Place == p.ID && !OnlyAnswers(b) && b.Look != "sitting" {
			looks = append(looks, e)
		}
	}
	for i, second := range looks {
		for j := i - 1; j >= 0 && looks[j].Day == second.Day; j-- {
			first := looks[j]
			if first.By == second.By || !near(first, second) || !differently(first.Body.(*aviary.NestCheck), second.Body.(*aviary.NestCheck)) {
				continue
			}
			if d.Room.SettledBy(second.ID) != nil || d.Room.SettledBy(first.ID) != nil {
				continue
			}
			out = append(out, Twice{first, second, fmt.Sprintf("%s: %s. %s: %s. Both are kept, and the later one counts: strike out the one that is wrong, or settle it.",
				byWhen(first), Sentence(d.Room, first), byWhen(second), Sentence(d.Room, second))})
			break
		}
	}
	return out
}

// TwiceOf returns the two looks of which an entry is one, or nil.
func (d *Desk) TwiceOf(e *aviary.Entry) *Twice {
	b, ok := e.Body.(*aviary.NestCheck)
	if !ok {
		return nil
	}
	p := d.Room.Place(b.Place)
	if p == nil {
		return nil
	}
	for _, t := range d.Twices(p) {
		if t.First.ID == e.ID || t.Second.ID == e.ID {
			return &t
		}
	}
	return nil
}

func byWhen(e *aviary.Entry) string {
	if t := e.Time.String(); t != "" {
		return fmt.Sprintf("%s, %s", e.By, t)
	}
	return e.By
}

// near reports whether two looks of one day are of one round; one without a time may be of any.
func near(a, b *aviary.Entry) bool {
	m, ok1 := a.Time.Minutes()
	n, ok2 := b.Time.Minutes()
	return !ok1 || !ok2 || max(m, n)-min(m, n) <= twiceWithin
}

// differently reports whether two looks cannot both be right. A look at which nothing was counted anew says that all is as it was.
func differently(a, b *aviary.NestCheck) bool {
	if a.Box != b.Box && a.Box != (aviary.ID{}) && b.Box != (aviary.ID{}) {
		return false
	}
	if bare(a) != bare(b) {
		return a.Look == "changed" || b.Look == "changed"
	}
	for _, c := range [][2]*int{{a.Eggs, b.Eggs}, {a.Chicks, b.Chicks}, {a.DeadChicks, b.DeadChicks}, {a.Out, b.Out}} {
		if c[0] != nil && c[1] != nil && *c[0] != *c[1] {
			return true
		}
	}
	return false
}

// bare reports whether a look says no count.
func bare(b *aviary.NestCheck) bool {
	return b.Eggs == nil && b.Chicks == nil && b.DeadChicks == nil && b.Out == nil
}
