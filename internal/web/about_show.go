package web

import (
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// aboutPage says what the program is and where the room lies.
type aboutPage struct {
	layout
	Version, Folder string
	Entries, Aside  int
	Made            aviary.Date
	Species         int
}

// aboutShow shows it.
func (s *server) aboutShow(v *visit) error {
	p := &aboutPage{layout: underSettings("Broodlight, "+s.version(), ""), Version: s.version(), Folder: s.Book.Dir(), Made: aviary.DayIn(s.Book.Made(), v.now.Location())}
	v.room(func(r *aviary.Room, cat *species.Catalogue) {
		p.Entries, p.Aside, p.Species = r.Len(), len(r.Aside()), len(cat.All())
	})
	return v.render("about_show", p)
}
