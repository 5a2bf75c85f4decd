package web

import (
	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// oddForm writes down something odd at a cage: one tap opens it, one says what.
type oddForm struct {
	Cage   string
	Things []string
	Who    field
	Text   field
}

// oddView is a matter that is on the list to be sorted out, on its card.
type oddView struct {
	Entry  string
	Helper bool // a helper sees it, but the keeper settles it
}

func newOddForm(d *advice.Desk, p *aviary.Place, prefix string) *oddForm {
	o := &oddForm{Cage: p.ID.String(), Things: aviary.OddThings}
	who := []option{{Label: "not known"}}
	for _, b := range d.Room.In(p.ID) {
		label := b.Label()
		if b.Sex != "" && b.Ring().Read() {
			label = capital(string(b.Sex)) + " " + label
		}
		who = append(who, option{Value: b.ID.String(), Label: label})
	}
	f := blank()
	o.Who = prefixed(prefix, f.Select("bird", "Which bird", who).If("if you know it"))
	o.Text = prefixed(prefix, f.Text("text", "Anything else"))
	return o
}

// oddSend puts something odd on the list to be sorted out.
func (s *server) oddSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	e := v.entry(&aviary.OddSeen{Place: place, Bird: f.id("bird"), What: f.one("what", aviary.OddThings...), Text: f.text("text")})
	v.desk(func(d *advice.Desk) {
		v.say("%s: %s, on the list to be sorted out", plateOf(d.Room, place), advice.Sentence(d.Room, e))
	})
	if err := v.save(f, e); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.back("/cage/" + place.String())
}
