package web

import (
	"errors"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// sproutPlanOf reads the form of a plan.
func sproutPlanOf(f *form, u units) *aviary.SproutsPlanned {
	b := &aviary.SproutsPlanned{ServeAt: f.clock("serve_at"), Every: f.int("every_days"), WakeFrom: f.clock("wake_from"), WakeTo: f.clock("wake_to"), DryML: f.floatp("dry_ml")}
	if c := f.floatp("celsius"); c != nil {
		b.Celsius = u.celsius(*c)
	} else if f.Error("celsius") == "" {
		f.wrong("celsius", "give the temperature where the jars stand")
	}
	if f.one("serve", "phases", "amount") == "amount" {
		switch x := f.floatp("serve_ml"); {
		case x != nil && *x > 0:
			ml := u.ml(*x)
			b.ServeML = &ml
		case f.Error("serve_ml") == "":
			f.wrong("serve_ml", "give how much is served each day, more than 0")
		}
	}
	return b
}

// sproutSend tries a plan, or writes it.
func (s *server) sproutSend(v *visit) error {
	f := v.form()
	var u units
	v.room(func(r *aviary.Room, _ *species.Catalogue) { u = unitsOf(r.Settings(v.today)) })
	body := sproutPlanOf(f, u)
	again := func(v *visit, f *form) error { return sproutPageOf(v, f, nil) }
	if err := f.err(); err != nil {
		return v.retry(f, err, again)
	}
	e := v.entry(body)
	v.desk(func(d *advice.Desk) {
		asked := *e
		asked.Kind, asked.Version, asked.By, asked.Written = body.Kind(), 1, v.who.By, v.now
		var refused *aviary.Error
		if d.Room.Entry(e.ID) == nil && errors.As(d.Room.Check(&asked, v.today), &refused) {
			f.refused(refused)
			return
		}
		if _, err := d.SproutsBy(*body); errors.As(err, &refused) {
			f.refused(refused)
		}
	})
	if err := f.err(); err != nil {
		return v.retry(f, err, again)
	}
	if f.one("do", "try", "write") == "try" {
		return sproutPageOf(v, f, body)
	}
	v.say("Sprouting planned: given at %s", body.ServeAt)
	if err := v.save(f, e); err != nil {
		return v.retry(f, err, again)
	}
	return v.see("/food/sprouting")
}

// sproutStop writes that no seed is sprouted from today on.
func (s *server) sproutStop(v *visit) error {
	f := v.form()
	v.say("No seed is soaked from today on")
	if err := v.save(f, v.entry(&aviary.SproutsPlanned{Stop: true})); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return sproutPageOf(v, f, nil) })
	}
	return v.see("/food/sprouting")
}

// germSend writes a germination test.
func (s *server) germSend(v *visit) error {
	f := v.form()
	body := &aviary.GerminationTested{Food: f.text("food")}
	if n := f.intp("seeds"); n != nil {
		body.Seeds = *n
	} else if f.Error("seeds") == "" {
		f.wrong("seeds", "give how many seeds were laid out")
	}
	if n := f.intp("sprouted"); n != nil {
		body.Sprouted = *n
	} else if f.Error("sprouted") == "" {
		f.wrong("sprouted", "give how many sprouted; 0 when none did")
	}
	v.say("Germination of %s: %d of %d", short(body.Food), body.Sprouted, body.Seeds)
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return sproutPageOf(v, f, nil) })
	}
	return v.see("/food/sprouting#seed")
}
