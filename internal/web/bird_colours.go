package web

import (
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// birdColourPage tells what a bird hides, and how inbred it is.
type birdColourPage struct {
	layout
	ID      aviary.ID
	Species string
	Slug    string
	Hides   []hiddenView
	Nothing string
	Clash   *clashView
	Assumed []string
	Inbred  inbredView
	Colours []option // that somebody may have told of
	Words   []option
	F       *form
}

// inbredView is how inbred a bird is.
type inbredView struct {
	F, FZ   string
	Common  []commonView
	Basis   string
	Problem string
}

type commonView struct {
	Bird *aviary.Bird
	Adds string
	Ways string
}

// mostMates is how many mates that would tell are shown.
const mostMates = 5

func (v *visit) birdColours(known *kept[*advice.Colours], f *form) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	p := &birdColourPage{ID: id, F: f}
	var b *aviary.Bird
	v.desk(func(d *advice.Desk) {
		if b = d.Room.Bird(id); b == nil {
			return
		}
		p.Slug = b.Species
		if s := d.Cat.BySlug(b.Species); s != nil {
			p.Species = s.English
		}
		p.Inbred = newInbredView(d.Inbred(b.ID))
		var c *advice.Colours
		if c, err = known.of(d, b.Species, func() (*advice.Colours, error) { return d.Colours(v.ctx(), b.Species) }); err != nil {
			return
		}
		p.Clash, p.Nothing, p.Assumed = clashOf(c), c.Nothing, c.Assumed
		err = p.fill(d, c, b)
	})
	switch {
	case err != nil:
		return err
	case b == nil:
		return notThere("there is no such bird in the books")
	}
	p.Title, p.Tab, p.Up, p.UpTo = "Hidden colours", "birds", "/bird/"+id.String(), b.Label()
	if f.err() != nil {
		p.Form = f
	}
	return v.render("bird_colours", p)
}

func (p *birdColourPage) fill(d *advice.Desk, c *advice.Colours, b *aviary.Bird) error {
	p.Headline = b.Label() + " is not known to hide any colour"
	hidden := c.Hidden(b.ID)
	mates := matesFor(d, b)
	for i, h := range hidden {
		x := newHiddenView(c, h)
		x.Odds = c.Genotypes(b.ID, h.Locus)
		if h.P > 0.0005 && h.P < 0.9995 {
			tells, err := c.WouldTell(b.ID, h, mates)
			if err != nil {
				return err
			}
			for _, t := range tells {
				if len(x.Tells) == mostMates || t.Share < 0.01 {
					break
				}
				x.Tells = append(x.Tells, tellView{t.Mate, fmt.Sprintf("%.0f in 100", 100*t.Share), youngWords(t.Normal)})
			}
		}
		p.Hides = append(p.Hides, x)
		if i == 0 {
			switch {
			case h.P >= 0.9995:
				p.Headline = b.Label() + " hides " + h.Name
			case h.P >= 0.0005:
				p.Headline = fmt.Sprintf("%s hides %s with a chance of %s", b.Label(), h.Name, x.Chance)
			default:
				p.Headline = b.Label() + " hides nothing, as far as the books tell"
			}
		}
	}
	p.Sub = p.Species
	if p.Inbred.F != "" {
		p.Sub += ", inbred " + p.Inbred.F + " in 100"
	}
	p.Sub += "."
	p.Colours = []option{{Label: "Choose"}}
	for _, l := range c.Loci {
		for _, a := range l.Alleles {
			if a.Wild && !l.Speaks {
				continue // every bird of the species is taken to have it
			}
			p.Colours = append(p.Colours, option{Value: l.ID + "=" + a.ID, Label: a.Name})
		}
	}
	p.Words = p.F.chosen("carries", []option{{Value: "yes", Label: "It hides it"}, {Value: "no", Label: "It does not"}})
	return nil
}

// matesFor lists the birds here of the other sex and the same species that are grown.
func matesFor(d *advice.Desk, b *aviary.Bird) []aviary.ID {
	if b.Sex == "" {
		return nil
	}
	var out []aviary.ID
	for _, x := range d.Room.Birds() {
		if x.Here() && x.Species == b.Species && x.Sex != "" && x.Sex != b.Sex && d.Grown(x) {
			out = append(out, x.ID)
		}
	}
	return out
}

func youngWords(n int) string {
	switch {
	case n < 0:
		return "no number of young would settle it"
	case n == 0:
		return "the odds stand at 95 in 100 already"
	}
	return count(n, "young", "young") + " without the colour"
}

func newInbredView(in advice.Inbred) inbredView {
	if in.Problem != "" {
		return inbredView{Problem: in.Problem}
	}
	out := inbredView{F: advice.InHundred(in.F), Basis: in.Basis}
	if in.HasZ {
		out.FZ = advice.InHundred(in.FZ)
	}
	for _, k := range in.Common {
		out.Common = append(out.Common, commonView{k.Bird, advice.InHundred(k.F), count(k.Ways, "way", "ways")})
	}
	return out
}
