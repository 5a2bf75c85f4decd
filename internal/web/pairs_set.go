package web

import (
	"strings"

	"github.com/google/uuid"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// pairsSet sets up the pairs that were ticked, each in its cage, as one step.
func (v *visit) pairsSet(known *kept[*advice.PairPlan]) error {
	f := v.form()
	f.Values.Set("part", "set")
	var entries []*aviary.Entry
	chosen := map[aviary.ID]string{}
	why := f.text("why")
	v.desk(func(d *advice.Desk) {
		for _, value := range f.Values["pair"] {
			a, b, _ := strings.Cut(value, ".")
			cockID, err1 := uuid.Parse(a)
			henID, err2 := uuid.Parse(b)
			cock, hen := d.Room.Bird(cockID), d.Room.Bird(henID)
			if err1 != nil || err2 != nil || cock == nil || hen == nil {
				f.wrong("pair", "one of the birds is not in the books; open the page again")
				continue
			}
			field := "cage-" + value
			place := f.id(field)
			switch p := d.Room.Place(place); {
			case p == nil:
				f.wrong(field, "choose a cage for %s and %s", cock.Label(), hen.Label())
				continue
			case chosen[place] != "":
				f.wrong(field, "%s is taken by %s; choose another cage", p.Name, chosen[place])
				continue
			}
			chosen[place] = cock.Label() + " and " + hen.Label()
			body := &aviary.PairSet{Pair: v.id(), Place: place, Cocks: []aviary.ID{cockID}, Hens: []aviary.ID{henID}, Plan: "suggested set"}
			e := v.entry(body)
			if why == "" {
				for _, w := range d.Warnings(e) {
					f.wrong(field, "%s If it is right all the same, say why below", w.Text)
				}
			}
			entries = append(entries, e)
		}
	})
	if len(entries) == 0 && f.err() == nil {
		f.wrong("pair", "tick the pairs that are to be set up")
	}
	v.say("%s set up", count(len(entries), "pair", "pairs"))
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return v.pairsPage(known, f) })
	}
	return v.see("/wall")
}

// pairsBack goes back to the page as it was asked for.
func (v *visit) pairsBack(f *form) error { return v.see("/pairs?" + f.Value("asked")) }

// pairsRule writes that a cock and a hen are wanted together, kept apart, or free again.
func (v *visit) pairsRule(known *kept[*advice.PairPlan]) error {
	f := v.form()
	f.Values.Set("part", "rule")
	body := &aviary.PairRuled{Cock: f.id("cock"), Hen: f.id("hen"), Rule: f.one("rule", aviary.PairRules...), Why: f.text("reason")}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return v.pairsPage(known, f) })
	}
	return v.pairsBack(f)
}

// pairsHold keeps a bird out of pairs, or sets it free.
func (v *visit) pairsHold(known *kept[*advice.PairPlan]) error {
	f := v.form()
	f.Values.Set("part", "hold")
	body := &aviary.BirdHeld{Bird: f.id("bird"), Until: f.date("until_day"), Free: f.tick("free"), Why: f.text("reason")}
	if body.Until != 0 && body.Until <= v.today {
		f.wrong("until_day", "it may be paired from %s on already; give a later day or none", body.Until.Long())
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return v.pairsPage(known, f) })
	}
	return v.pairsBack(f)
}

// pairsWish writes how many young of a look are wished for.
func (v *visit) pairsWish(known *kept[*advice.PairPlan]) error {
	f := v.form()
	f.Values.Set("part", "wish")
	body := &aviary.YoungWished{Species: f.text("species"), Look: f.text("look"), Sex: aviary.Sex(f.one("sex", "", "cock", "hen")), Count: f.int("count")}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return v.pairsPage(known, f) })
	}
	return v.pairsBack(f)
}
