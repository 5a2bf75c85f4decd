package advice

import (
	"fmt"
	"strings"

	"broodlight/internal/aviary"
)

// Step is one step for many cages at once: one batch, one strike.
type Step struct {
	Places   []aviary.ID
	EndPairs string // reason; "" leaves the pairs
	BoxesOut bool
	CocksTo  aviary.ID // zero leaves the cocks
	HensTo   aviary.ID // zero leaves the hens
}

// Bulk turns a step into the entries' bodies, in the order in which they must be written, and says in a
// sentence what it will do.
func (d *Desk) Bulk(s Step) (bodies []aviary.Body, does string) {
	pairs, boxes, cocks, hens := 0, 0, 0, 0
	for _, id := range s.Places {
		p := d.Room.Place(id)
		if p == nil {
			continue
		}
		if pair := d.Room.PairNow(id); pair != nil && s.EndPairs != "" {
			bodies = append(bodies, &aviary.PairEnded{Pair: pair.ID, Reason: s.EndPairs})
			pairs++
		}
		if s.BoxesOut {
			for _, b := range p.BoxesHung() {
				bodies = append(bodies, &aviary.BoxTaken{Place: id, Box: b.ID})
				boxes++
			}
		}
		for _, b := range d.Room.In(id) {
			switch {
			case b.Sex == aviary.Cock && s.CocksTo != (aviary.ID{}) && s.CocksTo != id:
				bodies = append(bodies, &aviary.BirdMoved{Bird: b.ID, Place: s.CocksTo})
				cocks++
			case b.Sex == aviary.Hen && s.HensTo != (aviary.ID{}) && s.HensTo != id:
				bodies = append(bodies, &aviary.BirdMoved{Bird: b.ID, Place: s.HensTo})
				hens++
			}
		}
	}
	var done, moved []string
	if pairs > 0 {
		done = append(done, count(pairs, "pair", "pairs")+" ended")
	}
	if boxes > 0 {
		done = append(done, count(boxes, "box", "boxes")+" taken out")
	}
	if cocks > 0 {
		moved = append(moved, count(cocks, "cock", "cocks"))
	}
	if hens > 0 {
		moved = append(moved, count(hens, "hen", "hens"))
	}
	if len(moved) > 0 {
		done = append(done, strings.Join(moved, " and ")+" moved")
	}
	does = fmt.Sprintf("%s: %s", count(len(s.Places), "cage", "cages"), strings.Join(done, ", "))
	return bodies, does
}

// MovePair turns moving a pair to another cage into bodies: the pair is ended here and set up there. The
// nest and the boxes stay. The id is that of the pair to come.
func (d *Desk) MovePair(pair *aviary.Pair, to, id aviary.ID) []aviary.Body {
	return []aviary.Body{
		&aviary.PairEnded{Pair: pair.ID, Reason: "moved to another cage"},
		&aviary.PairSet{Pair: id, Place: to, Cocks: pair.Cocks, Hens: pair.Hens, Plan: pair.Plan},
	}
}
