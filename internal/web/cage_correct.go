package web

import (
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

// correctPage is the form that corrects a look: what it said is struck out, what it should say is written, in one step.
type correctPage struct {
	layout
	Cage, Entry string
	Was         string
	Look        *lookView
	Back        string
}

// cageCorrectShow shows a look's form, filled in as the look was written.
func (s *server) cageCorrectShow(v *visit) error {
	_, e, err := v.correctable()
	if err != nil {
		return err
	}
	return v.correctPage(lookForm(e))
}

// correctable finds the look that the route's path names.
func (v *visit) correctable() (aviary.ID, *aviary.Entry, error) {
	place, err := v.place()
	if err != nil {
		return place, nil, err
	}
	id, err := v.pathID("entry")
	if err != nil {
		return place, nil, err
	}
	var e *aviary.Entry
	v.s.Book.View(func(r *aviary.Room) {
		e = r.Entry(id)
		if e == nil {
			err = notThere("that look is not in the books")
			return
		}
		b, ok := e.Body.(*aviary.NestCheck)
		switch {
		case !ok || b.Place != place:
			err = notThere("only a look into a nest of this cage can be corrected here; other marks are struck out and written anew")
		case r.Struck(id) && r.Entry(v.once) == nil:
			err = &aviary.Error{Code: aviary.Conflict, Message: "that look has been struck out already, so there is nothing to correct"}
		}
	})
	return place, e, err
}

func (v *visit) correctPage(f *form) error {
	place, e, err := v.correctable()
	if err != nil {
		return err
	}
	p := &correctPage{Cage: place.String(), Entry: e.ID.String(), Back: "/cage/" + place.String()}
	p.Form, p.Tab, p.Class = f, "wall", "page narrow"
	v.desk(func(d *advice.Desk) {
		home := d.Room.Place(place)
		p.Headline = "Correct the look of " + e.Day.Short() + " at " + home.Name
		p.Was = advice.Sentence(d.Room, e)
		p.Up, p.UpTo = p.Back, home.Name
		p.Look = correctView(home, f)
	})
	return v.render("cage_correct", p)
}

// correctView is the form of a look with every count, none of them guessed.
func correctView(home *aviary.Place, f *form) *lookView {
	l := &lookView{Opened: true}
	for _, name := range []string{advice.EggsTally, advice.ChicksTally, advice.DeadTally, advice.OutTally} {
		words := tallyWords[name]
		l.Cells = append(l.Cells, look.Count(look.CountView{Name: name, ID: name, One: words[0], Many: words[1], Blank: true, Value: f.Value(name), Back: true, Max: 60}))
	}
	for i, state := range f.Values["egg"] {
		l.Eggs = append(l.Eggs, look.EggCell(look.EggCellView{Name: "egg", ID: "egg" + itoa(i), Number: itoa(i + 1), State: look.EggState(state)}))
	}
	l.boxes(home, nil, f)
	l.more(f, map[string]bool{advice.EggsTally: true, advice.ChicksTally: true, advice.DeadTally: true, advice.OutTally: true}, nil)
	for _, x := range []*field{&l.More.AtLeast, &l.More.ChicksAtLeast, &l.More.Age, &l.More.About, &l.More.Removed, &l.More.RemovedWhy, &l.More.Dummies, &l.More.Floor, &l.More.Buried, &l.More.Marks, &l.More.Signs, &l.More.Feeding, &l.More.NewClutch, &l.More.ClutchNo, &l.More.Text, &l.More.Day, &l.More.Time} {
		x.ID = x.Name // the only form of its page: the list of errors leads to its fields
	}
	l.More.HasYoung = true
	return l
}

// lookForm fills a form in as a look was written.
func lookForm(e *aviary.Entry) *form {
	b := e.Body.(*aviary.NestCheck)
	f := blank("day", e.Day.String(), "time", e.Time.String(), "text", b.Text, "removed_why", b.RemovedWhy)
	number := func(name string, n *int) {
		if n != nil {
			f.Values.Set(name, itoa(*n))
		}
	}
	number(advice.EggsTally, b.Eggs)
	number(advice.ChicksTally, b.Chicks)
	number(advice.DeadTally, b.DeadChicks)
	number(advice.OutTally, b.Out)
	number("chick_age_days", b.AgeDays)
	number("chick_age_about", b.AgeAbout)
	number("eggs_removed", b.Removed)
	number("dummy_eggs", b.Dummies)
	number("floor_eggs", b.FloorEggs)
	number("buried", b.Buried)
	number("clutch_no", b.ClutchNo)
	tick := func(name string, on bool) {
		if on {
			f.Values.Set(name, "yes")
		}
	}
	tick("eggs_at_least", b.EggsAtLeast)
	tick("chicks_at_least", b.ChicksAtLeast)
	tick("self_feeding", b.SelfFeeding)
	tick("new_clutch", b.NewClutch)
	f.Values["signs"] = b.Signs
	var marks []string
	for _, item := range b.Candled {
		mark, state := aviary.CandledEgg(item)
		f.Values.Add("egg", state)
		if mark != "" {
			marks = append(marks, mark)
		}
	}
	for n := len(b.Candled); b.Eggs != nil && n < min(*b.Eggs, 60); n++ {
		f.Values.Add("egg", "")
	}
	f.Values.Set("marks", strings.Join(marks, " "))
	if b.Box != (aviary.ID{}) {
		f.Values.Set("box", b.Box.String())
	}
	return f
}

// cageCorrectSend strikes a look out and writes it as it should be, in one step.
func (s *server) cageCorrectSend(v *visit) error {
	place, old, err := v.correctable()
	if err != nil {
		return err
	}
	f := v.form()
	was := old.Body.(*aviary.NestCheck)
	b := *was // what the form does not show stays
	b.Box = f.id("box")
	if b.Box == (aviary.ID{}) {
		b.Box = was.Box
	}
	b.Eggs, b.Chicks, b.DeadChicks, b.Out, b.Removed = f.intp(advice.EggsTally), f.intp(advice.ChicksTally), f.intp(advice.DeadTally), f.intp(advice.OutTally), f.intp("eggs_removed")
	b.Candled = nil
	readCandling(f, &b, b.Eggs)
	lookRest(f, &b)
	if b.Eggs != nil || b.Chicks != nil {
		b.Look = "changed"
	}
	anew := v.entry(&b)
	if f.text("day") == "" {
		anew.Day, anew.Time = old.Day, old.Time
	}
	strike := v.entry(&aviary.Strike{Reason: "corrected"})
	strike.Strikes, strike.Day, strike.Time, strike.Why = old.ID, v.today, v.clock, ""
	strike.ID, anew.ID = anew.ID, strike.ID // the step bears the form's own id
	v.desk(func(d *advice.Desk) {
		v.say("%s corrected: %s", d.Room.Place(place).Name, advice.Sentence(d.Room, anew))
	})
	if err := v.save(f, strike, anew); err != nil {
		return v.retry(f, err, (*visit).correctPage)
	}
	return v.see("/cage/" + place.String() + "#journal")
}
