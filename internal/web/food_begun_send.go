package web

import (
	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// foodBegunSend writes that a feeding phase began at some places: those that are ticked, all that the plan has due, or, when it is
// said so, the whole room.
func (s *server) foodBegunSend(v *visit) error {
	f := v.form()
	body := &aviary.PhaseBegun{Phase: f.one("phase", aviary.BegunPhases...), Places: f.ids("places")}
	where := countWord(len(body.Places), "place", "places")
	switch {
	case f.tick("due"):
		body.Places = nil
		v.desk(func(d *advice.Desk) {
			for _, p := range d.SproutsDue() {
				body.Places = append(body.Places, p.ID)
			}
		})
		where = countWord(len(body.Places), "place", "places")
		if len(body.Places) == 0 {
			return v.back("/food") // it was noted meanwhile
		}
	case f.tick("whole"):
		if len(body.Places) > 0 {
			f.wrong("places", "tick the cages, or the whole room, not both")
		}
		where = "the whole room"
	case len(body.Places) == 0:
		f.wrong("places", "tick the cages at which it began, or the whole room")
	}
	if body.Phase == "" && f.text("phase") == "" {
		f.wrong("phase", "say which phase began")
	}
	if len(body.Places) == 1 {
		v.room(func(r *aviary.Room, _ *species.Catalogue) {
			if p := r.Place(body.Places[0]); p != nil {
				where = p.Name
			}
		})
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, s.foodPageOf)
	}
	name := body.Phase
	if name == "conditioning" {
		name = "sprouted seed"
	}
	v.say("%s begun: %s", capital(name), where)
	return v.back("/food")
}
