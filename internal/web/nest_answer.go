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
	Hidden            []pairOf // what an answer says beside the word, for one that waits on a phone
	Answers           []string
	Further           bool // a further clutch may have begun with that look
	New               field
}

func newAskView(d *advice.Desk, n *advice.Nest, q *nest.Question, f *form) *askView {
	a := &askView{Clutch: n.Clutch.Key.String(), Kind: itoa(int(q.Kind)), Day: advice.Day(q.Day).String(), Answers: advice.Answers(q)}
	said := d.Answer(n, q, "not known")
	a.Hidden = []pairOf{{"gone", itoa(q.N)}}
	if n.Clutch.Box != (aviary.ID{}) {
		a.Hidden = append(a.Hidden, pairOf{"box", n.Clutch.Box.String()})
	}
	if said.Day != 0 {
		a.Hidden = append(a.Hidden, pairOf{"answer_day", said.Day.String()}, pairOf{"answer_time", said.Time.String()})
	}
	a.Further = q.Kind == nest.EggsLate || q.Kind == nest.EggsTooFast
	if _, sent := f.Values["new"]; !sent {
		f.Values.Set("new", itoa(q.N))
	}
	if old, _ := d.Further(n, q, q.N); a.Further && old != nil {
		a.Hidden = append(a.Hidden, pairOf{"look", old.ID.String()})
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
	if v.later() {
		err := v.save(f, v.answerLater(f, place, kind, eggs, why)...)
		if err != nil {
			return v.retry(f, err, v.showAgain(place))
		}
		return v.onward(place)
	}
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
			entries = v.further(old, instead)
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

// further strikes out the look with which a further clutch began, and writes what takes its place.
func (v *visit) further(old *aviary.Entry, instead []*aviary.Entry) []*aviary.Entry {
	strike := v.entry(&aviary.Strike{Reason: "a new clutch begins with this look"})
	strike.Strikes = old.ID
	entries := []*aviary.Entry{strike}
	for i, e := range instead {
		w := v.entry(e.Body)
		w.Day, w.Time = e.Day, e.Time
		w.Written = v.now.UTC().Add(time.Duration(i) * time.Millisecond) // the clutch before is counted before the new one
		entries = append(entries, w)
	}
	return entries
}

// answerLater reads an answer that waited on a phone. The question may have been answered meanwhile; what was seen is kept.
func (v *visit) answerLater(f *form, place aviary.ID, kind nest.QuestionKind, eggs int, why string) []*aviary.Entry {
	if f.tick("further") {
		var old *aviary.Entry
		v.s.Book.View(func(r *aviary.Room) { old = r.Entry(f.id("look")) })
		instead := advice.FurtherInstead(old, eggs)
		switch {
		case eggs < 1:
			f.wrong("new", "a new clutch has at least one egg; say how many are new")
		case instead == nil:
			f.wrong("", "the look that raised the question is not in the books")
		default:
			return v.further(old, instead)
		}
		return nil
	}
	if !slices.Contains(advice.Answers(&nest.Question{Kind: kind}), why) {
		f.wrong("", "choose one of the answers")
		return nil
	}
	e := v.entry(advice.AnswerBody(place, f.id("box"), kind, f.int("gone"), why))
	if day := f.date("answer_day"); day != 0 {
		e.Day, e.Time = day, f.clock("answer_time")
	}
	return []*aviary.Entry{e}
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
