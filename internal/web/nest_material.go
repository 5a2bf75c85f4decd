package web

import "broodlight/internal/aviary"

// materials are what is usually given to build with.
var materials = []string{"coconut fibre", "hay", "sisal", "moss", "feathers", "cotton"}

// nestMaterialSend writes that nest material was given.
func (s *server) nestMaterialSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	if err := v.save(f, v.entry(&aviary.MaterialGiven{Place: place, Box: f.id("box"), What: f.text("what")})); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.onward(place)
}
