package web

import (
	"broodlight/internal/aviary"
)

// lampPlannedSet writes that a timer was set as the plan says. The times are those that the button showed.
func (s *server) lampPlannedSet(v *visit) error {
	f := v.form()
	body := &aviary.LampSet{Circuit: f.text("circuit"), On: f.clock("on"), Off: f.clock("off"), Dusk: f.intp("dusk_minutes")}
	if body.Dusk != nil && *body.Dusk == 0 {
		body.Dusk = nil
	}
	name := "Lamps"
	if body.Circuit != "" {
		name = body.Circuit
	}
	v.say("%s set to %s–%s", name, body.On, body.Off)
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, lampsPageOf)
	}
	return v.back("/lamps")
}
