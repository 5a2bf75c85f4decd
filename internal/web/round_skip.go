package web

import (
	"broodlight/internal/aviary"
)

// roundSkipSend puts a job off until tomorrow, or until the day given, with a reason.
func (s *server) roundSkipSend(v *visit) error {
	f := v.form()
	place, err := v.jobPlace(f)
	if err != nil {
		return err
	}
	until := f.date("until_day")
	if days := f.int("until"); until == 0 && days > 0 {
		until = v.today + aviary.Date(min(days, 90))
	}
	if until == 0 {
		until = v.today + 1
	}
	if until <= v.today && f.err() == nil {
		f.wrong("until_day", "it can be put off until tomorrow or later, not until %s", until.Long())
	}
	e := v.entry(&aviary.JobSkipped{Place: place, Job: f.text("job"), Box: f.id("box"), Reason: f.text("reason"), Until: until})
	v.s.Book.View(func(r *aviary.Room) { v.say("%s put off until %s", plateOf(r, place), until.Short()) })
	if err := v.save(f, e); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.onward(place)
}
