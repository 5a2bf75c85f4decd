package advice

import (
	"fmt"

	"broodlight/internal/aviary"
	"broodlight/internal/pedigree"
)

// Related is how related two birds are: the kinship coefficient, from 0 to 1. Pages show it times 100, "in 100".
type Related struct {
	Kinship float64
	Basis   string // what it rests on
}

// CloseKin is the kinship from which a pair is called close kin: that of half brother and sister, 12.5 in 100.
// Where to draw the line is common practice, no source; the kinship itself is exact on the lines in the books.
const CloseKin = 0.125

// Related works out how related two birds are from the ancestors that the books know. Birds without known
// parents count as unrelated founders.
func (d *Desk) Related(a, b aviary.ID) Related {
	rows := map[aviary.ID]int{}
	var sire, dam []int
	var add func(id aviary.ID) int
	add = func(id aviary.ID) int {
		if id == (aviary.ID{}) {
			return pedigree.Unknown
		}
		if row, ok := rows[id]; ok {
			return row
		}
		row := len(sire)
		rows[id] = row
		sire, dam = append(sire, pedigree.Unknown), append(dam, pedigree.Unknown)
		l := d.Room.Parents(id)
		s, m := add(l.Sire), add(l.Dam)
		sire[row], dam[row] = s, m
		return row
	}
	x, y := add(a), add(b)
	p, err := pedigree.New(sire, dam, nil)
	if err != nil {
		return Related{Basis: "the lines in the books contradict each other: " + err.Error()}
	}
	return Related{Kinship: pedigree.Kinship(p, x, y), Basis: fmt.Sprintf("%d ancestors in the books; birds of unknown parents count as unrelated", len(rows)-2)}
}

// kinWord names the nearest well-known degree at or below a kinship between two birds.
func kinWord(k float64) string {
	switch {
	case k >= 0.25:
		return "as near as parent and young, or brother and sister"
	case k >= 0.125:
		return "as near as half brother and sister, or grandparent and grandchild"
	case k >= 0.0625:
		return "as near as first cousins"
	}
	return "distant"
}
