package web

import (
	"fmt"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// colourAssume writes what the keeper takes for granted of a colour, or takes it back.
func (v *visit) colourAssume(known *kept[*advice.Colours]) error {
	f := v.form()
	species, locus := f.text("species"), f.text("locus")
	basis := f.text("basis")
	var entries []*aviary.Entry
	add := func(b *aviary.ColourAssumed) {
		b.Species, b.Locus, b.Basis = species, locus, basis
		entries = append(entries, v.entry(b))
	}
	l, err := v.colourLocus(known, species, locus)
	if err != nil {
		return err
	}
	if l == nil {
		return notThere("there is no such colour; the page may be an old one")
	}
	f.Values.Set("part", "assume-"+locus)
	if f.tick("clear") {
		add(&aviary.ColourAssumed{Clear: true})
	} else {
		sum, last := 0.0, ""
		for _, a := range l.Alleles {
			field := "frequency-" + a.ID
			q := f.floatp(field)
			if a.Wild || q == nil {
				continue
			}
			if *q < 0 || *q > 1 {
				f.wrong(field, "a share is from 0 to 1, such as 0.1 for 1 in 10")
			}
			sum, last = sum+*q, field
			add(&aviary.ColourAssumed{Allele: a.ID, Frequency: q})
		}
		if sum > 1 && f.err() == nil {
			f.wrong(last, "the shares add up to %.3g, and all there is is 1", sum)
		}
		if way := f.one("lethality", aviary.Lethalities...); way != "" {
			add(&aviary.ColourAssumed{Lethality: way})
		}
		if len(entries) == 0 && f.err() == nil {
			f.wrong("basis", "nothing is assumed yet; give a share")
		}
	}
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return v.colourPage(known, f) })
	}
	return v.see("/colours?species=" + species)
}

// colourLocus finds a locus of a species' colours, or nil.
func (v *visit) colourLocus(known *kept[*advice.Colours], species, locus string) (l *advice.ColourLocus, err error) {
	v.desk(func(d *advice.Desk) {
		if d.Cat.BySlug(species) == nil {
			err = notThere("there is no such species")
			return
		}
		var c *advice.Colours
		if c, err = known.of(d, species, func() (*advice.Colours, error) { return d.Colours(v.ctx(), species) }); err != nil {
			return
		}
		for i := range c.Loci {
			if c.Loci[i].ID == locus {
				l = &c.Loci[i]
			}
		}
	})
	return l, err
}

// colourOwn writes a colour of the keeper's own.
func (v *visit) colourOwn(known *kept[*advice.Colours]) error {
	f := v.form()
	f.Values.Set("part", "own")
	b := &aviary.ColourAdded{
		Species: f.text("species"), Look: f.text("look"), Plain: f.text("plain"), Single: f.text("single"),
		Inherited: f.one("inherited", aviary.ColourInherited...), OnZ: f.tick("on_z"), Basis: f.text("basis"),
	}
	b.Locus = shortName(b.Look)
	taken, err := v.colourLocus(known, b.Species, b.Locus)
	if err != nil {
		return err
	}
	if taken != nil {
		f.wrong("look", "a colour of that name is in the catalogue already")
	}
	if err := v.save(f, v.entry(b)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return v.colourPage(known, f) })
	}
	v.say("own colour written: %s", b.Look)
	return v.see("/colours?species=" + b.Species)
}

// shortName makes a locus' name out of a look: small letters, digits and hyphens.
func shortName(look string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(look) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteRune('-')
		}
	}
	return strings.TrimSuffix(b.String(), "-")
}

// colourSaid writes what somebody told of a bird's hidden colours.
func (v *visit) colourSaid(known *kept[*advice.Colours]) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	locus, allele, _ := strings.Cut(f.text("colour"), "=")
	if locus == "" || allele == "" {
		f.wrong("colour", "choose the colour that it is about")
	}
	b := &aviary.ColourSaid{Bird: id, Locus: locus, Allele: allele, Carries: f.one("carries", "yes", "no") == "yes", By: f.text("said_by")}
	if t := f.floatp("trust"); t != nil {
		share := *t / 100
		if share < 0.5 || share > 1 {
			f.wrong("trust", "how far it is trusted is from 50 (worth nothing) to 100 (never wrong)")
		}
		b.Trust = &share
	}
	if err := v.save(f, v.entry(b)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return v.birdColours(known, f) })
	}
	return v.see(fmt.Sprintf("/bird/%s/colours", id))
}
