package web

import (
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// speciesSet lays an own value over a species', or takes it back.
func (s *server) speciesSet(v *visit) error {
	f := v.form()
	slug, param := v.r.PathValue("slug"), species.Parameter(f.text("parameter"))
	info, ok := species.Describe(param)
	if species.BySlug(slug) == nil || !ok {
		return notThere("there is no such species or value here; choose one from the list")
	}
	body := &aviary.SpeciesSet{Species: slug, Parameter: string(param), Clear: f.tick("clear")}
	if !body.Clear {
		var u units
		v.room(func(r *aviary.Room, _ *species.Catalogue) { u = unitsOf(r.Settings(v.today)) })
		_, per := u.shown(param, info.Unit)
		for name, dst := range map[string]**float64{"low": &body.Low, "typical": &body.Typical, "high": &body.High} {
			if x := f.floatp(name); x != nil {
				y := *x * per
				*dst = &y
			}
		}
		if f.err() == nil {
			if err := species.CheckOverride(param, body.Low, body.Typical, body.High); err != nil {
				f.wrong("typical", "%v", err)
			}
		}
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, speciesForm)
	}
	return v.see("/settings/species/" + slug + "#" + string(param))
}
