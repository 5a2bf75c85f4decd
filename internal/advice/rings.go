package advice

import (
	"fmt"
	"slices"

	"broodlight/internal/aviary"
)

// NextRing is a ring that the keeper has on hand and no bird wears.
type NextRing struct {
	Ring aviary.Ring
	Size float64 // inner diameter in mm, from the keeper's own list; 0 when the list does not say
	List aviary.ID
}

// NextRings returns the next n free rings for a species from the keeper's lists: the list made for the species
// first, then lists for any, of the ring year of today first.
func (d *Desk) NextRings(slug string, n int) []NextRing {
	var out []NextRing
	year := d.RingYearOn(d.Today)
	for _, own := range []bool{true, false} {
		for _, thisYear := range []bool{true, false} {
			for _, l := range d.Room.Whole().Rings {
				if own != slices.Contains(l.Species, slug) || (!own && len(l.Species) > 0) || thisYear != (l.Year == year || l.Year == 0) {
					continue
				}
				for k := l.From; k <= l.To && len(out) < n; k++ {
					ring := aviary.Ring{Issuer: l.Issuer, Year: l.Year, Number: fmt.Sprintf("%0*d", max(l.Digits, 1), k)}
					if d.Room.Wearer(ring) == nil && !slices.ContainsFunc(out, func(x NextRing) bool { return x.Ring == ring }) {
						out = append(out, NextRing{ring, l.Size, l.Entry})
					}
				}
			}
		}
	}
	return out
}

// RingsLeft counts the free rings of a list.
func (d *Desk) RingsLeft(l aviary.RingList) int {
	n := 0
	for k := l.From; k <= l.To; k++ {
		if d.Room.Wearer(aviary.Ring{Issuer: l.Issuer, Year: l.Year, Number: fmt.Sprintf("%0*d", max(l.Digits, 1), k)}) == nil {
			n++
		}
	}
	return n
}
