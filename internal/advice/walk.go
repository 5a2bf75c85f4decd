package advice

import (
	"slices"

	"broodlight/internal/aviary"
)

// AsFoundJob marks a cage that was walked while the room was set up, and in which there was nothing to write.
const AsFoundJob = "as found"

// Walk is the walk along the wall with which a room is set up: each cage as it is found.
type Walk struct {
	Cages []*aviary.Place // in walking order
	Done  map[aviary.ID]bool
	Next  *aviary.Place // the first that was not walked yet, nil when all were
}

// Left is how many cages are still to be walked.
func (w *Walk) Left() int { return len(w.Cages) - len(w.Done) }

// After returns the next cage to walk after one, or nil when all are done.
func (w *Walk) After(id aviary.ID) *aviary.Place {
	at := slices.IndexFunc(w.Cages, func(p *aviary.Place) bool { return p.ID == id })
	for i := range w.Cages {
		p := w.Cages[(at+1+i)%len(w.Cages)]
		if !w.Done[p.ID] && p.ID != id {
			return p
		}
	}
	return nil
}

// AsFound says how far the walk is. A cage is done when a pair was set up in it, a nest was looked into, or it was marked as
// empty. Birds that a list put into a cage say nothing of its nest, so it is walked all the same; where there is no nest to
// look for, in quarantine and hospital, they are enough.
func (d *Desk) AsFound() *Walk {
	w := &Walk{Done: map[aviary.ID]bool{}}
	for _, p := range d.Room.Places() {
		if p.Type != aviary.Cage && p.Type != aviary.Quarantine && p.Type != aviary.Hospital {
			continue
		}
		w.Cages = append(w.Cages, p)
		marked := slices.ContainsFunc(p.Jobs, func(m aviary.JobMark) bool { return m.Job == AsFoundJob && !m.Skipped })
		settled := len(d.Room.PairsAt(p.ID)) > 0 || p.Type != aviary.Cage && len(d.Room.In(p.ID)) > 0
		if marked || settled || p.LastLook != 0 {
			w.Done[p.ID] = true
		} else if w.Next == nil {
			w.Next = p
		}
	}
	return w
}

// Kept returns the slugs of the species that the keeper keeps: those named in Set up, else those of the birds
// in the books.
func (d *Desk) Kept() map[string]bool {
	kept := map[string]bool{}
	for _, s := range d.Room.Settings(d.Today).Kept {
		kept[s] = true
	}
	if len(kept) == 0 {
		for _, b := range d.Room.Birds() {
			if b.Here() {
				kept[b.Species] = true
			}
		}
	}
	return kept
}
