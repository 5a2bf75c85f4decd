package web

import (
	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// nestPullSend writes that a whole clutch of eggs was taken out. It asks for the reason: no egg goes on odds alone.
func (s *server) nestPullSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	eggs, why := f.intp("eggs_removed"), f.text("removed_why")
	if why == "" {
		f.wrong("removed_why", "say why the clutch was pulled, so that the season can tell it from a loss")
	}
	if eggs == nil || *eggs == 0 {
		f.wrong("eggs_removed", "say how many eggs were taken out")
	}
	b := &aviary.NestCheck{Place: place, Box: f.id("box"), Look: "changed", Eggs: eggs, Removed: eggs, RemovedWhy: why}
	if !f.tick("young") {
		none := 0
		b.Chicks = &none
	}
	e := v.entry(b)
	v.desk(func(d *advice.Desk) {
		n := nestOf(d, place, f.id("clutch"))
		if n == nil {
			return
		}
		if eggs != nil {
			v.say("%s saved: clutch pulled, %s, %s", n.Place.Name, count(*eggs, "egg", "eggs"), why)
		}
	})
	if err := v.save(f, e); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.back("/cage/" + place.String())
}
