package web

import (
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// birdAct is one thing that can be written about a bird on its page.
type birdAct struct {
	path  string
	Label string
	// fits reports whether it can be written of a bird as it is.
	fits func(b *aviary.Bird) bool
	// body reads the form. The bird is the page's.
	body func(v *visit, f *form, b *aviary.Bird, r *aviary.Room) aviary.Body
}

// Path is the end of the form's address, and the name of its part of the template.
func (a birdAct) Path() string { return a.path }

func always(*aviary.Bird) bool  { return true }
func here(b *aviary.Bird) bool  { return b.Here() }
func away(b *aviary.Bird) bool  { return b.Left != 0 }
func alive(b *aviary.Bird) bool { return b.Died == 0 }

func ringOf(f *form) aviary.Ring {
	ring, err := aviary.ParseRing(f.text("ring"))
	if err != nil {
		f.wrong("ring", "write the ring as it is stamped, such as FC 26-019")
	}
	return ring
}

// birdActs are what a bird's page can write, in the order in which it offers them.
var birdActs = []birdAct{
	{"weigh", "Weigh", here, func(v *visit, f *form, b *aviary.Bird, r *aviary.Room) aviary.Body {
		body := &aviary.BirdWeighed{Bird: b.ID}
		if g := f.massp("grams", unitsOf(r.Settings(v.today))); g != nil {
			body.Grams = *g
		}
		return body
	}},
	{"move", "Move", here, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.BirdMoved{Bird: b.ID, Place: f.id("place"), Reason: f.text("reason")}
	}},
	{"look", "What it shows", always, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.LookSeen{Bird: b.ID, Trait: f.text("trait"), Look: f.text("look")}
	}},
	{"sex", "Sex", always, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.BirdSexed{Bird: b.ID, Sex: aviary.Sex(f.text("sex")), How: f.text("sexed_how")}
	}},
	{"ring", "Ring", always, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.BirdRinged{Bird: b.ID, Ring: ringOf(f), RingSize: f.floatp("ring_size_mm"), How: f.text("how")}
	}},
	{"ringlost", "Ring lost", func(b *aviary.Bird) bool { return b.Ring().Read() }, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.RingLost{Bird: b.ID, Ring: b.Ring()}
	}},
	{"name", "Name", always, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.BirdNamed{Bird: b.ID, Name: f.text("name")}
	}},
	{"parents", "Parents", always, func(v *visit, f *form, b *aviary.Bird, r *aviary.Room) aviary.Body {
		body := &aviary.ParentsSet{Bird: b.ID, How: f.text("parents_how")}
		body.Sire, body.Dam = parentsNamed(r, f)
		return body
	}},
	{"note", "Note", always, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.Note{Bird: b.ID, Text: f.text("text")}
	}},
	{"died", "Died", alive, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.BirdDied{Bird: b.ID, Cause: f.text("cause")}
	}},
	{"left", "Left the room", here, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.BirdLeft{Bird: b.ID, How: f.text("left_how")}
	}},
	{"back", "Came back", away, func(v *visit, f *form, b *aviary.Bird, _ *aviary.Room) aviary.Body {
		return &aviary.BirdReturned{Bird: b.ID, Place: f.id("back_place")}
	}},
	{"same", "Same as another line", always, func(v *visit, f *form, b *aviary.Bird, r *aviary.Room) aviary.Body {
		body := &aviary.BirdSame{Bird: b.ID}
		x, err := birdNamed(r, f.text("same"), always)
		switch {
		case err != nil:
			f.wrong("same", "%v", err)
		case x != nil:
			body.Same = x.ID
		}
		return body
	}},
}

// birdActView is one action's form: what its part of the template needs. A form that did not come back is empty.
type birdActView struct {
	Path   string
	Form   *form
	Places []placeChoice
	Unit   string // in which weights are typed
}

func newBirdActView(a birdAct, f *form, places []placeChoice, unit string, failed bool) birdActView {
	if !failed {
		f = blank()
	}
	return birdActView{a.path, f, places, unit}
}

// birdAct writes one thing about a bird.
func (s *server) birdAct(v *visit, a birdAct) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	var body aviary.Body
	var label string
	var warnings []advice.Warning
	v.desk(func(d *advice.Desk) {
		b := d.Room.Bird(id)
		if b == nil {
			return
		}
		label = b.Label()
		body = a.body(v, f, b, d.Room)
		if f.err() == nil {
			warnings = d.Warnings(&aviary.Entry{Day: v.today, Kind: body.Kind(), Body: body})
		}
	})
	if body == nil {
		return notThere("there is no such bird in the books")
	}
	show := func(v *visit, f *form) error { return s.birdForm(v, f, a.path) }
	if len(warnings) > 0 && f.text("why") == "" {
		for _, w := range warnings {
			f.wrong("why", "%s If it is right all the same, say why", w.Text)
		}
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, show)
	}
	v.say("%s: %s", label, strings.ToLower(a.Label))
	return v.see("/bird/" + id.String())
}
