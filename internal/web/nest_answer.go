package web

import (
	"slices"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

// askView is a question about a nest with its answers, one tap each.
type askView struct {
	Clutch, Kind, Day string
	Answers           []string
	Further           bool // a further clutch may have begun with that look
	New               field
}

func newAskView(n *advice.Nest, q *nest.Question, f *form) *askView {
	a := &askView{Clutch: n.Clutch.Key.String(), Kind: itoa(int(q.Kind)), Day: advice.Day(q.Day).String(), Answers: advice.Answers(q)}
	a.Further = q.Kind == nest.EggsLate || q.Kind == nest.EggsTooFast
	if _, sent := f.Values["new"]; !sent {
		f.Values.Set("new", itoa(q.N))
	}
	a.New = f.Number("new", "Eggs of the new clutch").Hint("Only the new ones. Old eggs that still lie there: take them out and write it, or leave them uncounted.").In("q" + n.Clutch.Key.String()[24:] + a.Kind)
	return a
}

// nestAnswerSend answers a question about a nest, or lets a further clutch begin with the look that raised it.
func (s *server) nestAnswerSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	key, kind, day, eggs := f.id("clutch"), nest.QuestionKind(f.int("kind")), f.date("asked"), f.int("new")
	why := f.text("why_gone")
	var entries []*aviary.Entry
	v.desk(func(d *advice.Desk) {
		n := nestOf(d, place, key)
		q := questionOf(n, kind, day)
		if q == nil {
			if d.Room.Entry(v.once) == nil {
				f.wrong("", "that question has been answered meanwhile, or the look that raised it was struck out")
			}
			return
		}
		switch {
		case f.tick("further"):
			if eggs < 1 {
				f.wrong("new", "a new clutch has at least one egg; say how many are new")
				return
			}
			old, instead := d.Further(n, q, eggs)
			if old == nil {
				f.wrong("", "the look that raised the question is there no more")
				return
			}
			strike := v.entry(&aviary.Strike{Reason: "a new clutch begins with this look"})
			strike.Strikes = old.ID
			entries = append(entries, strike)
			for i, e := range instead {
				w := v.entry(e.Body)
				w.Day, w.Time = e.Day, e.Time
				w.Written = v.now.UTC().Add(time.Duration(i) * time.Millisecond) // the clutch before is counted before the new one
				entries = append(entries, w)
			}
			v.say("%s saved: a new clutch from %s, %s", n.Place.Name, old.Day.Short(), count(eggs, "egg", "eggs"))
		case !slices.Contains(advice.Answers(q), why):
			f.wrong("", "choose one of the answers")
		default:
			a := d.Answer(n, q, why)
			e := v.entry(a.Body)
			if a.Day != 0 {
				e.Day, e.Time = a.Day, a.Time
			}
			v.say("%s saved: %s", n.Place.Name, advice.Sentence(d.Room, e))
			entries = append(entries, e)
		}
	})
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.onward(place)
}

func questionOf(n *advice.Nest, kind nest.QuestionKind, day aviary.Date) *nest.Question {
	if n == nil {
		return nil
	}
	for i := range n.Asked {
		if q := &n.Asked[i]; q.Kind == kind && advice.Day(q.Day) == day {
			return q
		}
	}
	return nil
}
