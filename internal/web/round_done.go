package web

import (
	"broodlight/internal/aviary"
)

// jobPlace reads the cage that a round's form is about.
func (v *visit) jobPlace(f *form) (aviary.ID, error) {
	place := f.id("place")
	known := v.later()
	v.s.Book.View(func(r *aviary.Room) { known = known || r.Place(place) != nil })
	if !known {
		return place, notThere("there is no such cage in the books; open the round again")
	}
	if f.text("job") == "" {
		f.wrong("", "say which job; open the round again")
	}
	return place, nil
}

// roundDoneSend marks a job as done that leaves no other mark.
func (s *server) roundDoneSend(v *visit) error {
	f := v.form()
	place, err := v.jobPlace(f)
	if err != nil {
		return err
	}
	if err := v.save(f, v.entry(&aviary.JobDone{Place: place, Job: f.text("job"), Box: f.id("box")})); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.onward(place)
}
