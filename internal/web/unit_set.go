package web

import (
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// unitPage sets the units that pages show.
type unitPage struct {
	layout
	Fields []field
}

var unitChoices = []struct {
	name, label string
	options     []option
}{
	{"mass_unit", "Weights", []option{{Value: "g", Label: "Grams"}, {Value: "oz", Label: "Ounces"}}},
	{"length_unit", "Lengths", []option{{Value: "mm", Label: "Millimetres"}, {Value: "in", Label: "Inches"}}},
	{"volume_unit", "Food", []option{{Value: "ml", Label: "Millilitres"}, {Value: "tsp", Label: "Teaspoons"}, {Value: "oz", Label: "Fluid ounces"}}},
	{"temperature_unit", "Warmth", []option{{Value: "C", Label: "°C"}, {Value: "F", Label: "°F"}}},
}

// unitShow shows the units.
func (s *server) unitShow(v *visit) error {
	f := blank()
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		set := r.Settings(v.today)
		for name, value := range map[string]string{"mass_unit": set.Mass, "length_unit": set.Length, "volume_unit": set.Volume, "temperature_unit": set.Warmth} {
			f.Values.Set(name, value)
		}
	})
	return unitForm(v, f)
}

func unitForm(v *visit, f *form) error {
	p := &unitPage{layout: underSettings("Units that pages show", "Ring sizes stay in millimetres. Files keep grams, millimetres, millilitres and °C.")}
	p.Form = f
	for _, c := range unitChoices {
		p.Fields = append(p.Fields, f.Radio(c.name, c.label, c.options))
	}
	return v.render("unit_set", p)
}

// unitSet writes the units that were changed.
func (s *server) unitSet(v *visit) error {
	f := v.form()
	body := &aviary.RoomSet{}
	changed := false
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		set := r.Settings(v.today)
		for _, u := range []struct {
			dst       **string
			name, was string
		}{{&body.Mass, "mass_unit", set.Mass}, {&body.Length, "length_unit", set.Length}, {&body.Volume, "volume_unit", set.Volume}, {&body.Warmth, "temperature_unit", set.Warmth}} {
			if now := f.text(u.name); now != "" && now != u.was {
				*u.dst, changed = &now, true
			}
		}
	})
	if changed {
		if err := v.save(f, v.entry(body)); err != nil {
			return v.retry(f, err, unitForm)
		}
	}
	return v.see("/settings")
}
