package web

import (
	"slices"

	"broodlight/internal/aviary"
)

// signsSend writes down a sign of condition that was seen from outside: nobody looked into the nest.
func (s *server) signsSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	seen := f.words("signs")
	if len(seen) == 0 {
		f.wrong("signs", "say which sign was seen")
	}
	slices.Sort(seen)
	if err := v.save(f, v.entry(&aviary.NestCheck{Place: place, Signs: slices.Compact(seen)})); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.onward(place)
}
