package web

import (
	"fmt"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

func (s *server) lineRoutes(r *routes) {
	known := &kept[*advice.Lines]{}
	r.get("/lines", func(v *visit) error { return s.lineShow(v, known) })
}

// linePage tells the blood lines of one species.
type linePage struct {
	layout
	ofSpecies
	Facts    []lineFact
	Founders []founderRow
	Ranks    []rankRow
	More     int    // ranks that are not shown
	All      string // where they are
	Empty    string // what is said instead when nothing can be worked out
}

// lineFact is one figure with what it means and what it rests on.
type lineFact struct{ Name, Value, Means, Basis string }

type founderRow struct {
	Name, Href         string
	Share, Kept, Error string
	Descendants        int
	Here               bool
}

type rankRow struct {
	N          int
	Bird       *aviary.Bird
	Place      *aviary.Place
	Related, F string
	Keep       bool
	Why        string // "no young yet, too young to breed yet"
}

// ranksShown is how many birds the list shows at first.
const ranksShown = 40

func (s *server) lineShow(v *visit, known *kept[*advice.Lines]) error {
	in := v.r.URL.Query()
	slug, all := in.Get("species"), in.Get("all") != ""
	p := &linePage{layout: layout{Title: "Blood lines", Tab: "birds", Class: "page wide", Up: "/birds", UpTo: "Birds"}}
	err := p.choose(v, "/lines", slug, func(d *advice.Desk) error {
		l, err := known.of(d, p.Slug, func() (*advice.Lines, error) { return d.Lines(v.ctx(), p.Slug) })
		if err == nil {
			p.fill(d, l, all)
		}
		return err
	})
	if err != nil {
		return err
	}
	if p.Slug == "" {
		p.Headline, p.Empty = noBirds, "Blood lines are worked out from the birds and their parents."
	}
	return v.render("line_show", p)
}

func (p *linePage) fill(d *advice.Desk, l *advice.Lines, all bool) {
	p.Headline = l.Headline()
	if l.Species != nil {
		p.Sub = fmt.Sprintf("%s: %s here, %d in the books.", l.Species.English, count(l.Here, "bird", "birds"), l.Birds)
	}
	if l.Problem != "" || l.Here == 0 {
		p.Empty = l.Problem
		if p.Empty == "" {
			p.Empty = "None of them is in the room now."
		}
		return
	}
	p.Facts = lineFacts(l)
	for _, f := range l.Founders {
		row := founderRow{Name: f.Name(), Share: advice.InHundred(f.Share), Descendants: f.Descendants}
		if l.NoGenomes == "" {
			row.Kept, row.Error = advice.InHundred(f.Kept), fmt.Sprintf("± %.1f", 100*f.KeptSE)
		}
		if f.Bird != nil {
			row.Href, row.Here = "/bird/"+f.Bird.ID.String(), f.Bird.Here()
		}
		p.Founders = append(p.Founders, row)
	}
	for i, r := range l.Ranks {
		if i >= ranksShown && !all {
			p.More, p.All = len(l.Ranks)-i, "/lines?species="+l.Slug+"&all=yes"
			break
		}
		p.Ranks = append(p.Ranks, rankRow{N: i + 1, Bird: r.Bird, Place: d.Room.Place(r.Bird.Place()), Related: advice.InHundred(r.Related), F: advice.InHundred(r.F), Keep: r.Keep, Why: r.Why()})
	}
}

// generationNames are the heads of the shares of ancestors known.
var generationNames = []string{"parents", "grandparents", "great-grandparents", "4 back", "5 back"}

func lineFacts(l *advice.Lines) []lineFact {
	doubt := ""
	if l.Doubtful > 0 {
		doubt = fmt.Sprintf(" %s one of several cocks or hens as a parent; that parent counts as unknown.", birdsHave(l.Doubtful))
	}
	if l.Apart > 0 {
		doubt += fmt.Sprintf(" %s a parent of another species, which counts as unknown.", birdsHave(l.Apart))
	}
	out := []lineFact{
		{"Founders", fmt.Sprint(len(l.Founders)), "birds of unknown parents that the birds here descend from", "By the parents in the books." + doubt},
		{"In equal shares", fmt.Sprintf("%.1f", l.Equivalents), "so many founders with equal shares would leave as much", "1 over the sum of the squared shares: Lacy (1989). It does not see what was lost by chance."},
	}
	if l.NoGenomes == "" {
		out = append(out, lineFact{"With nothing lost", fmt.Sprintf("%.1f ± %.2f", l.Genomes, l.GenomesSE), "so many founders would, were all their genes still here", fmt.Sprintf("%d gene drops; ± is the error of the drop: MacCluer and others (1986), Lacy (1989).", l.Drops)})
	}
	out = append(out,
		lineFact{"Related on average", advice.InHundred(l.Related) + " in 100", "two birds here, drawn at random, themselves included", "Kinship × 100, exact on the lines in the books. Brother and sister of unrelated parents: 25; half brother and sister: 12.5; first cousins: 6.25."},
		lineFact{"Diversity left", advice.InHundred(l.Diversity) + " in 100", "of what the founders brought", "1 less the mean kinship: Lacy (1995), from memory."})
	var known []string
	for i, k := range l.Known {
		if k < 0.005 && i > 0 {
			break
		}
		known = append(known, fmt.Sprintf("%s %.0f", generationNames[i], 100*k))
	}
	out = append(out, lineFact{"Ancestors known", strings.Join(known, ", "), "in 100; who is not known counts as unrelated, so true kinship may be higher", "Boichard, Maignel and Verrier (1997), from memory."})
	if l.Breeding > 0 {
		out = append(out, lineFact{"Breeds like", fmt.Sprintf("%.1f birds", l.Breeding), fmt.Sprintf("%s and %s have young of this season", count(l.Cocks, "cock", "cocks"), count(l.Hens, "hen", "hens")), "4 × cocks × hens ÷ (cocks + hens): Wright (1931). It takes each to have an equal chance to leave young, which is seldom so."})
	}
	if l.Risen > 0 {
		out = append(out, lineFact{"By inbreeding so far", fmt.Sprintf("%.0f ± %.0f birds", l.Risen, l.RisenSE), "so large a flock would have grown as inbred in as many generations", "Gutiérrez, Cervantes and Goyache (2009)."})
	}
	return out
}

func birdsHave(n int) string {
	if n == 1 {
		return "One bird has"
	}
	return fmt.Sprintf("%d birds have", n)
}
