package web

import (
	"strconv"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// speciesPage shows every value of one species, with a form to lay an own value over each.
type speciesPage struct {
	layout
	Slug     string
	Sections []valueSection
	Traits   []traitRow
}

type valueSection struct {
	Name string
	Rows []valueRow
}

// valueRow is one value: what it is, what it rests on, and the form for an own one.
type valueRow struct {
	Param            species.Parameter
	Label, Explains  string
	Value            string // "" when nothing is known
	Basis            string
	Source, Note     string
	Own              bool
	Was, WasFrom     string // the published value under an own one
	Figures          bool   // it takes figures, so it can be set
	Low, Usual, High field
	Open             bool
}

type traitRow struct{ Label, Answer, Basis, Source, Note string }

// speciesShow shows one species.
func (s *server) speciesShow(v *visit) error { return speciesForm(v, blank()) }

func speciesForm(v *visit, f *form) error {
	slug := v.r.PathValue("slug")
	p := &speciesPage{layout: underSettings("", ""), Slug: slug}
	p.Up, p.UpTo, p.Form = "/settings/species", "Species", f
	found := false
	v.room(func(r *aviary.Room, cat *species.Catalogue) {
		x := cat.BySlug(slug)
		if x == nil {
			return
		}
		found = true
		u := unitsOf(r.Settings(v.today))
		own := len(r.Whole().Own[slug])
		p.Title = x.English
		p.Headline = x.English + ": no own values yet"
		if own > 0 {
			p.Headline = x.English + ": " + count(own, "own value", "own values")
		}
		p.Sub = x.Latin + "."
		names := append(append([]string{}, x.AlsoEnglish...), x.AlsoLatin...)
		if len(names) > 0 {
			p.Sub += " Also called " + strings.Join(names, ", ") + "."
		}
		for _, param := range species.Parameters() {
			info, _ := species.Describe(param)
			if n := len(p.Sections); n == 0 || p.Sections[n-1].Name != info.Section {
				p.Sections = append(p.Sections, valueSection{Name: info.Section})
			}
			sec := &p.Sections[len(p.Sections)-1]
			sec.Rows = append(sec.Rows, rowOf(param, info, x, u, f))
		}
		p.Traits = []traitRow{traitOf("Two cocks in a small cage fight", x.QuarrelsomeCocks), traitOf("Over-eats soft or live food", x.Glutton)}
	})
	if !found {
		return notThere("there is no such species here; choose one from the list")
	}
	return v.render("species_show", p)
}

func traitOf(label string, t species.Trait) traitRow {
	row := traitRow{Label: label, Answer: string(t.Answer), Basis: t.Basis.Label(), Source: t.Source, Note: t.Note}
	if _, known := t.Holds(); !known {
		row.Answer = "not known"
	}
	return row
}

// rowOf makes a value's row. f is filled in when its form is the one that came back.
func rowOf(param species.Parameter, info species.Info, x *species.Profile, u units, f *form) valueRow {
	row := valueRow{Param: param, Label: info.Label, Explains: info.Explains, Figures: info.Unit != species.Words}
	val, known := x.Value(param)
	if known {
		shown := u.value(param, val)
		row.Value, row.Basis, row.Source, row.Note = shown.String(), val.Basis.Label(), val.Source, val.Note
		row.Own = val.Basis == species.OwnRoom
		if val.Replaces != nil {
			row.Was, row.WasFrom = u.value(param, *val.Replaces).String(), val.Replaces.Basis.Label()+": "+val.Replaces.Source
		} else if row.Own {
			row.Was = "not known"
		}
	}
	mine := f.Value("parameter") == string(param)
	if !mine {
		f = blank()
		if row.Own {
			shown := u.value(param, val)
			for name, figure := range map[string]*float64{"low": shown.Low, "typical": shown.Typical, "high": shown.High} {
				if figure != nil {
					f.Values.Set(name, strconv.FormatFloat(*figure, 'f', -1, 64))
				}
			}
		}
	}
	row.Open = mine && len(f.Errors) > 0
	unit, _ := u.shown(param, info.Unit)
	f.ID = string(param)
	row.Low = f.Decimal("low", "Low")
	row.Usual = f.Decimal("typical", "Usual")
	row.High = f.Decimal("high", "High").Per(string(unit))
	return row
}
