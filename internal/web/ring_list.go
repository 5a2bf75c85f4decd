package web

import (
	"fmt"
	"strconv"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// ringPage tells which rings are on hand, and takes in a list.
type ringPage struct {
	layout
	Lists   []ringListRow
	Species field
}

type ringListRow struct {
	ID          aviary.ID
	Rings       string // "FC 26-001 to 26-060"
	Size, For   string
	Left, Whole int
}

// ringList shows the rings on hand.
func (s *server) ringList(v *visit) error {
	f := blank()
	v.desk(func(d *advice.Desk) {
		f.Values.Set("ring_year", itoa(d.RingYearOn(v.today)))
		if lists := d.Room.Whole().Rings; len(lists) > 0 {
			f.Values.Set("ring_issuer", lists[len(lists)-1].Issuer)
		}
	})
	return ringForm(v, f)
}

func ringForm(v *visit, f *form) error {
	p := &ringPage{layout: underSettings("No rings are written down yet", "The round offers the next ring of the right list when a chick is due. Sizes are those of your own list.")}
	p.Form = f
	total := 0
	var choices []option
	v.desk(func(d *advice.Desk) {
		kept := map[string]bool{}
		for _, b := range d.Room.Birds() {
			if b.Here() {
				kept[b.Species] = true
			}
		}
		for _, x := range d.Cat.All() {
			if kept[x.Slug] || len(kept) == 0 {
				choices = append(choices, option{Value: x.Slug, Label: x.Short})
			}
		}
		for _, l := range d.Room.Whole().Rings {
			row := ringListRow{ID: l.Entry, Rings: ringSpan(l.RingsListed), Size: "size not given", For: "any species", Left: d.RingsLeft(l), Whole: l.To - l.From + 1}
			if l.Size > 0 {
				row.Size = strconv.FormatFloat(l.Size, 'f', -1, 64) + " mm"
			}
			var names []string
			for _, slug := range l.Species {
				if x := d.Cat.BySlug(slug); x != nil {
					names = append(names, x.English)
				} else {
					names = append(names, slug)
				}
			}
			if len(names) > 0 {
				row.For = strings.Join(names, ", ")
			}
			total += row.Left
			p.Lists = append(p.Lists, row)
		}
	})
	if len(p.Lists) > 0 {
		p.Headline = count(total, "ring", "rings") + " on hand"
	}
	p.Species = f.Ticks("species", "For which species", choices).Hint("Tick none when they fit any.").Full()
	return v.render("ring_list", p)
}

// ringSpan writes a list of rings as its first and last.
func ringSpan(l aviary.RingsListed) string {
	one := func(n int) string {
		return aviary.Ring{Issuer: l.Issuer, Year: l.Year, Number: fmt.Sprintf("%0*d", l.Digits, n)}.String()
	}
	if l.From == l.To {
		return one(l.From)
	}
	return one(l.From) + " to " + one(l.To)
}

// knownSpecies returns the slugs among the words, and false when one is no species.
func knownSpecies(words []string) ([]string, bool) {
	for _, w := range words {
		if species.BySlug(w) == nil {
			return nil, false
		}
	}
	return words, true
}
