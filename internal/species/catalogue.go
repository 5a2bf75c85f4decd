package species

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
)

// An Override is a keeper's own figure for one parameter of one species. A nil figure
// leaves the profile's figure standing.
type Override struct {
	Low, Typical, High *float64
	By                 string // who wrote it
	Day                string // when, as the page shows it: "13 Jan 2027"
}

// Overrides are a keeper's own figures by slug and parameter.
type Overrides map[string]map[Parameter]Override

// An OverrideError says why a keeper's own figure cannot stand.
type OverrideError struct {
	Slug      string    // species, when it is known
	Parameter Parameter // the field at which the message belongs
	Message   string    // a sentence fit to show
}

// Error returns the sentence.
func (e *OverrideError) Error() string { return e.Message }

func refuse(param Parameter, format string, args ...any) *OverrideError {
	return &OverrideError{Parameter: param, Message: fmt.Sprintf(format, args...)}
}

// A Catalogue is the set of profiles with a keeper's own figures laid over them. It
// does not change once made and may be read by many at once.
type Catalogue struct {
	profiles []*Profile
	slug     map[string]*Profile
	name     map[string]*Profile // by folded name
}

// NewCatalogue lays the overrides over the embedded profiles. A value that was
// overridden has basis [OwnRoom] and carries the profile's own value in Replaces.
//
// The catalogue is always fit for use. An override that cannot stand (no such species
// or parameter, or a figure that [CheckOverride] refuses) is left out, and the error
// joins one sentence for each of them.
func NewCatalogue(o Overrides) (*Catalogue, error) {
	var errs []error
	base := embedded()
	profiles := slices.Clone(base.profiles)
	for _, slug := range slices.Sorted(maps.Keys(o)) {
		i := slices.IndexFunc(profiles, func(p *Profile) bool { return p.Slug == slug })
		if i < 0 {
			errs = append(errs, &OverrideError{Slug: slug, Message: fmt.Sprintf(
				"Your own figures for “%s” were left out: there is no such species here.", slug)})
			continue
		}
		p := *profiles[i]
		p.Values = maps.Clone(p.Values)
		for _, param := range slices.Sorted(maps.Keys(o[slug])) {
			over := o[slug][param]
			if err := CheckOverride(param, over.Low, over.Typical, over.High); err != nil {
				errs = append(errs, &OverrideError{Slug: slug, Parameter: param, Message: fmt.Sprintf(
					"%s: your own figure was left out. %s", p.English, err)})
				continue
			}
			p.Values[param] = over.over(param, p.Values)
		}
		profiles[i] = &p
	}
	return newCatalogue(profiles), errors.Join(errs...)
}

func newCatalogue(profiles []*Profile) *Catalogue {
	c := &Catalogue{
		profiles: profiles,
		slug:     make(map[string]*Profile, len(profiles)),
		name:     make(map[string]*Profile, 6*len(profiles)),
	}
	for _, p := range profiles {
		c.slug[p.Slug] = p
		for _, n := range p.Names() {
			c.name[fold(n)] = p
		}
	}
	return c
}

// All returns the profiles, by group and then by English name.
func (c *Catalogue) All() []*Profile { return slices.Clone(c.profiles) }

// BySlug returns the profile with the slug, or nil.
func (c *Catalogue) BySlug(slug string) *Profile { return c.slug[slug] }

// Find is [Find] in this catalogue.
func (c *Catalogue) Find(name string) (*Profile, error) {
	if p, ok := c.name[fold(name)]; ok {
		return p, nil
	}
	return nil, unknown(name, c.profiles)
}

// over returns the value that the override makes of what the profile holds. Figures
// that the keeper left open stay as they were, moved only so far as the order low,
// typical, high demands.
func (o Override) over(param Parameter, values map[Parameter]Value) Value {
	info, _ := Describe(param)
	v := Value{
		Low: clone(o.Low), Typical: clone(o.Typical), High: clone(o.High),
		Unit: info.Unit, Basis: OwnRoom, Source: "own room",
	}
	if o.By != "" {
		v.Source += ", by " + o.By
	}
	if o.Day != "" {
		v.Source += ", " + o.Day
	}
	was, ok := values[param]
	if !ok {
		return v
	}
	v.Replaces = &was
	// The keeper's figures bound the ones that are carried over.
	if v.Typical == nil && was.Typical != nil {
		v.Typical = clone(was.Typical)
		if v.Low != nil {
			*v.Typical = max(*v.Typical, *v.Low)
		}
		if v.High != nil {
			*v.Typical = min(*v.Typical, *v.High)
		}
	}
	if v.Low == nil && was.Low != nil {
		v.Low = clone(was.Low)
		for _, x := range []*float64{v.Typical, v.High} {
			if x != nil {
				*v.Low = min(*v.Low, *x)
			}
		}
	}
	if v.High == nil && was.High != nil {
		v.High = clone(was.High)
		for _, x := range []*float64{v.Typical, v.Low} {
			if x != nil {
				*v.High = max(*v.High, *x)
			}
		}
	}
	return v
}

func clone(x *float64) *float64 {
	if x == nil {
		return nil
	}
	y := *x
	return &y
}

// CheckOverride reports whether a keeper's own figures for a parameter can stand: the
// parameter takes figures, at least one is given, each is a finite number in a range
// that a finch can have, and they are in order. The error is an
// [*OverrideError], a sentence fit to show beside the field.
func CheckOverride(param Parameter, low, typical, high *float64) error {
	info, ok := Describe(param)
	if !ok {
		return refuse(param, "There is nothing called “%s” to set for a species.", param)
	}
	if info.Unit == Words {
		return refuse(param, "%s is told in words and takes no figure.", info.Label)
	}
	if low == nil && typical == nil && high == nil {
		return refuse(param, "%s: write at least one figure.", info.Label)
	}
	for _, f := range []struct {
		name string
		x    *float64
	}{{"low", low}, {"typical", typical}, {"high", high}} {
		if f.x == nil {
			continue
		}
		if math.IsNaN(*f.x) || math.IsInf(*f.x, 0) {
			return refuse(param, "%s: the %s figure is not a number.", info.Label, f.name)
		}
		if *f.x < info.Least || *f.x > info.Most {
			between := Value{Low: &info.Least, High: &info.Most, Unit: info.Unit}
			return refuse(param, "%s: %s cannot be right for the %s figure; write one in the range %s.",
				info.Label, number(*f.x), f.name, between)
		}
	}
	switch {
	case low != nil && typical != nil && *low > *typical:
		return refuse(param, "%s: the low figure, %s, is above the typical one, %s.", info.Label, number(*low), number(*typical))
	case typical != nil && high != nil && *typical > *high:
		return refuse(param, "%s: the typical figure, %s, is above the high one, %s.", info.Label, number(*typical), number(*high))
	case low != nil && high != nil && *low > *high:
		return refuse(param, "%s: the low figure, %s, is above the high one, %s.", info.Label, number(*low), number(*high))
	}
	return nil
}
