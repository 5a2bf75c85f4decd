package web

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

func (s *server) colourRoutes(r *routes) {
	known := &kept[*advice.Colours]{}
	r.get("/colours", func(v *visit) error { return v.colourPage(known, blank()) })
	r.keeperPost("/colours/assume", func(v *visit) error { return v.colourAssume(known) })
	r.keeperPost("/colours/own", func(v *visit) error { return v.colourOwn(known) })
	r.get("/bird/{id}/colours", func(v *visit) error { return v.birdColours(known, blank()) })
	r.keeperPost("/bird/{id}/colours", func(v *visit) error { return v.colourSaid(known) })
}

// colourPage tells what the birds of a species hide, and what is taken for granted.
type colourPage struct {
	layout
	ofSpecies
	Empty     string
	Clash     *clashView
	Birds     []hiddenBird
	Loci      []locusView
	Unread    []unreadView
	Unsettled []string
	Assumed   []string
	Own       *form
	Ways      []option // in which a colour may pass to the young
	Failed    string   // "assume-<locus>" or "own": the form that came back
}

// hiddenBird is a bird here with what it may hide.
type hiddenBird struct {
	Bird   *aviary.Bird
	Place  *aviary.Place
	Hides  []hiddenView
	Strong float64
}

// hiddenView is one hidden colour of a bird.
type hiddenView struct {
	Square   template.HTML
	Name     string
	Chance   string // "certain", "18 in 100"
	Range    string // "4 to 46 in 100", "" where nothing open moves it
	Marked   bool
	Evidence []string
	Odds     []advice.Odds
	How      string // how it was worked out
	Tells    []tellView
}

// tellView is a mate that would tell.
type tellView struct {
	Mate         *aviary.Bird
	Share, Young string
}

// clashView is records that cannot all be true.
type clashView struct {
	Lines []string
	Birds []*aviary.Bird
}

// unreadView is a look that the catalogue has no name for.
type unreadView struct {
	Bird *aviary.Bird
	Look string
}

// locusView is a colour of the species with what is assumed of it.
type locusView struct {
	advice.ColourLocus
	Where  string
	Fields []field
	Form   *form
}

func (v *visit) colourPage(known *kept[*advice.Colours], f *form) error {
	slug := v.r.URL.Query().Get("species")
	if slug == "" {
		slug = f.Value("species")
	}
	p := &colourPage{layout: layout{Title: "Hidden colours", Tab: "birds", Class: "page wide", Up: "/birds", UpTo: "Birds"}, Failed: f.Value("part")}
	err := p.choose(v, "/colours", slug, func(d *advice.Desk) error {
		c, err := known.of(d, p.Slug, func() (*advice.Colours, error) { return d.Colours(v.ctx(), p.Slug) })
		if err == nil {
			p.fill(d, c, f)
		}
		return err
	})
	if err != nil {
		return err
	}
	if p.Slug == "" {
		p.Headline, p.Empty = noBirds, "What birds hide is worked out from their parents, their looks and those of their young."
	}
	if f.err() != nil {
		p.Form = f
	}
	return v.render("colour_show", p)
}

// worthShowing is the chance from which a hidden colour stands in the list of a species.
const worthShowing = 0.05

func (p *colourPage) fill(d *advice.Desk, c *advice.Colours, f *form) {
	name := p.Slug
	if c.Species != nil {
		name = c.Species.English
	}
	p.Sub = name + "."
	p.Clash = clashOf(c)
	for _, u := range c.Unread {
		p.Unread = append(p.Unread, unreadView{u.Bird, strings.TrimSpace(u.Trait + " " + u.Look)})
	}
	p.Unsettled, p.Assumed = c.Unsettled, c.Assumed
	for _, b := range c.Flock.Birds {
		if !b.Here() {
			continue
		}
		h := hiddenBird{Bird: b, Place: d.Room.Place(b.Place())}
		for _, x := range c.Hidden(b.ID) {
			if x.P >= worthShowing {
				h.Hides = append(h.Hides, newHiddenView(c, x))
				h.Strong = math.Max(h.Strong, x.P)
			}
		}
		if h.Hides != nil {
			p.Birds = append(p.Birds, h)
		}
	}
	slices.SortStableFunc(p.Birds, func(a, b hiddenBird) int {
		if a.Strong > b.Strong {
			return -1
		}
		if a.Strong < b.Strong {
			return 1
		}
		return 0
	})
	certain := 0
	for _, b := range p.Birds {
		if b.Strong >= 0.9995 {
			certain++
		}
	}
	switch {
	case c.Clash != nil:
		p.Headline = "Some looks and lines cannot all be true"
	case c.Answer == nil:
		p.Headline = "Nothing hidden is known yet"
		p.Empty = c.Nothing
	case len(p.Birds) == 0:
		p.Headline = "No bird here is likely to hide a colour"
	default:
		p.Headline = fmt.Sprintf("%s here may hide a colour, %d for certain", count(len(p.Birds), "bird", "birds"), certain)
	}
	p.Own = partOf(f, "own")
	p.Ways = p.Own.chosen("inherited", []option{{Value: "recessive", Label: "Recessive: one copy is hidden"}, {Value: "dominant", Label: "Dominant: one copy shows"}, {Value: "half", Label: "Half: one copy shows a look of its own"}})
	p.loci(c, f)
}

// partOf is the form that came back when it is the one named, else a blank one.
func partOf(f *form, part string) *form {
	if f.Value("part") == part {
		return f
	}
	return blank()
}

func (p *colourPage) loci(c *advice.Colours, f *form) {
	for _, l := range c.Loci {
		view := locusView{ColourLocus: l, Where: "on a body chromosome", Form: partOf(f, "assume-"+l.ID)}
		if l.OnZ {
			view.Where = "on the Z: a hen has one and hides nothing on it"
		}
		for _, a := range l.Alleles {
			if a.Wild {
				continue
			}
			name := "frequency-" + a.ID
			x := view.Form.Decimal(name, "Share of "+a.Name).In(l.ID)
			if _, sent := view.Form.Values[name]; !sent && l.Known {
				x.Value = fmt.Sprintf("%.3g", a.Share)
			}
			view.Fields = append(view.Fields, x)
		}
		if l.Suspected {
			view.Fields = append(view.Fields, view.Form.Select("lethality", "Two copies", []option{{Label: "as the catalogue has it"}, {Value: "viable", Label: "live"}, {Value: "lethal", Label: "die in the egg"}, {Value: "unknown", Label: "not known: answer both ways"}}).In(l.ID))
		}
		p.Loci = append(p.Loci, view)
	}
}

func clashOf(c *advice.Colours) *clashView {
	if c.Clash == nil {
		return nil
	}
	return &clashView{Lines: strings.Split(strings.TrimSpace(c.Clash.Text), "\n"), Birds: c.Clash.Birds}
}

func newHiddenView(c *advice.Colours, h advice.Hidden) hiddenView {
	x := hiddenView{Square: look.Hidden(int(math.Round(100*h.P)), 22), Name: h.Name, Chance: chanceWords(h.P), Marked: h.Marked, Evidence: h.Evidence}
	if low, high := chanceWords(h.Low), chanceWords(h.High); low != high {
		x.Range = fmt.Sprintf("%.0f to %.0f in 100", 100*h.Low, 100*h.High)
	}
	x.How = "Exact on the lines, looks and words in the books."
	if !h.Exact {
		x.How = fmt.Sprintf("Sampled, for the exact road is too wide here; the error of the sample is about %.1f in 100.", 100*h.Error)
	}
	return x
}

// chanceWords says how sure it is that a colour is hidden.
func chanceWords(p float64) string {
	switch {
	case p >= 0.9995:
		return "certain"
	case p < 0.0005:
		return "next to none"
	case p < 0.01:
		return fmt.Sprintf("%.2f in 100", 100*p)
	}
	return fmt.Sprintf("%.0f in 100", 100*p)
}
