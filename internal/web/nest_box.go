package web

import (
	"broodlight/internal/aviary"
)

// boxView is one nest box at a place, with what can be done to it.
type boxView struct {
	ID, Name string
	Named    string // the name that it bears; "" when it is called by its number
	Hung     aviary.Date
	Cleaned  aviary.Date
	Holds    string // what lies in it, "" when nothing is known of
}

// nestBoxSend hangs, takes out, cleans or swaps a nest box: the form's field act.
func (s *server) nestBoxSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	box, name := f.id("box"), f.text("name")
	var entries []*aviary.Entry
	add := func(b aviary.Body) { entries = append(entries, v.entry(b)) }
	switch act := f.one("act", "hang", "take", "clean", "swap"); act {
	case "hang":
		add(&aviary.BoxHung{Box: v.id(), Place: place, Name: name})
	case "take":
		add(&aviary.BoxTaken{Box: box, Place: place})
	case "clean":
		add(&aviary.BoxCleaned{Box: box, Place: place})
	case "swap":
		var old string
		v.s.Book.View(func(r *aviary.Room) {
			if p := r.Place(place); p != nil {
				for _, b := range p.Boxes {
					if b.ID == box {
						old = b.Name
					}
				}
			}
		})
		if v.later() {
			old = f.text("was")
		}
		if name == "" {
			name = old
		}
		add(&aviary.BoxTaken{Box: box, Place: place})
		add(&aviary.BoxHung{Box: v.id(), Place: place, Name: name})
		v.s.Book.View(func(r *aviary.Room) { v.say("%s saved: nest box swapped for a clean one", plateOf(r, place)) })
	default:
		f.wrong("act", "say what was done with the box")
	}
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.onward(place)
}
