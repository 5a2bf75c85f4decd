package aviary

import "slices"

// EveryPlace returns every place that is or was in the books, retired ones too, in the order in which they were added.
func (r *Room) EveryPlace() []*Place {
	var out []*Place
	for _, p := range r.places {
		if p.addedBy != nil {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b *Place) int { return compareOrder(a.addedBy, b.addedBy) })
	return out
}
