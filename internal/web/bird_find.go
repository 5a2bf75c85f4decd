package web

import (
	"fmt"
	"strings"

	"broodlight/internal/aviary"
)

// birdNamed finds the bird that a person names by its ring, its number alone, or its name. Birds that fit
// (such as "a cock that is here") are asked for by ok; the error is a sentence.
func birdNamed(r *aviary.Room, text string, ok func(*aviary.Bird) bool) (*aviary.Bird, error) {
	want := strings.ToLower(strings.TrimSpace(text))
	if want == "" {
		return nil, nil
	}
	want, _, _ = strings.Cut(want, " · ") // what a list of suggestions adds after the ring
	want = strings.TrimSpace(want)
	var exact, loose, unfit []*aviary.Bird
	for _, b := range r.Birds() {
		ring := strings.ToLower(b.Ring().String())
		switch {
		case b.ID.String() == want, b.Ring().Read() && ring == want, strings.ToLower(b.Name) == want:
			if ok(b) {
				exact = append(exact, b)
			} else {
				unfit = append(unfit, b)
			}
		case b.Ring().Read() && (strings.HasSuffix(ring, " "+want) || strings.HasSuffix(ring, "-"+want)) && ok(b):
			loose = append(loose, b)
		}
	}
	found := exact
	if len(found) == 0 {
		found = loose
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return nil, fmt.Errorf("%d birds fit %q, such as %s and %s; write the whole ring", len(found), text, found[0].Label(), found[1].Label())
	case len(unfit) > 0:
		return nil, fmt.Errorf("%s is in the books, but %s", unfit[0].Label(), whyUnfit(unfit[0]))
	}
	return nil, fmt.Errorf("there is no bird with the ring or name %q; look at it again, or add the bird first", text)
}

// parentsNamed reads the parents that the fields sire and dam name; zero for an empty field.
func parentsNamed(r *aviary.Room, f *form) (sire, dam aviary.ID) {
	for field, id := range map[string]*aviary.ID{"sire": &sire, "dam": &dam} {
		b, err := birdNamed(r, f.text(field), always)
		switch {
		case err != nil:
			f.wrong(field, "%v", err)
		case b != nil:
			*id = b.ID
		}
	}
	return sire, dam
}

func whyUnfit(b *aviary.Bird) string {
	switch {
	case b.Died != 0:
		return "died on " + b.Died.Long()
	case b.Left != 0:
		return "left on " + b.Left.Long() + " (" + b.LeftHow + ")"
	case b.Sex != "":
		return "is a " + string(b.Sex)
	}
	return "does not fit here"
}

// suggestion is a line of a list that a bird can be chosen from.
func (v *visit) suggestion(r *aviary.Room, b *aviary.Bird) string {
	s := b.Ring().String()
	if !b.Ring().Read() {
		if b.Name == "" {
			return "" // it can only be found on its own page or in its cage
		}
		s = b.Name
	} else if b.Name != "" {
		s += " · " + b.Name
	}
	if p := r.Place(b.Place()); p != nil {
		s += " · " + p.Name
	}
	return s
}
