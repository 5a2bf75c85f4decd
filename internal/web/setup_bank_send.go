package web

import (
	"fmt"

	"broodlight/internal/aviary"
)

// mostCages is how many cages one bank may bring: more is a slip of the thumb.
const mostCages = 400

// setupBankSend hangs a bank of cages in one step.
func (s *server) setupBankSend(v *visit) error {
	f := v.form()
	bank, rows, cols, first := f.text("bank"), f.int("rows"), f.int("cols"), f.int("first")
	naming := f.one("naming", "letters", "numbers")
	boxes := f.tick("boxes")
	if first == 0 {
		first = 1
	}
	if bank == "" {
		f.wrong("bank", "give the bank a name, such as Bay 1 or Back wall")
	}
	if rows < 1 || rows > 26 {
		f.wrong("rows", "a bank has 1 to 26 rows")
	}
	if cols < 1 || cols > 60 {
		f.wrong("cols", "a bank has 1 to 60 columns")
	}
	if rows*cols > mostCages {
		f.wrong("cols", "%d cages are more than one bank brings at once; hang them as two banks", rows*cols)
	}
	var entries []*aviary.Entry
	if f.err() == nil {
		for row := range rows {
			for col := range cols {
				name := fmt.Sprintf("%c%d", 'A'+row, first+col)
				if naming == "numbers" {
					name = fmt.Sprint(first + row*cols + col)
				}
				place := v.id()
				entries = append(entries, v.entry(&aviary.PlaceAdded{Place: place, Name: name, Type: aviary.Cage, Bank: bank, Row: row + 1, Col: col + 1}))
				if boxes {
					entries = append(entries, v.entry(&aviary.BoxHung{Box: v.id(), Place: place}))
				}
			}
		}
	}
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return s.setupForm(v, f, "cages") })
	}
	v.say("%s hung: %d cages", bank, rows*cols)
	return v.see("/setup?step=cages")
}

// setupPlaceSend adds one place: a flight, an aviary, a quarantine or hospital cage, or a single cage.
func (s *server) setupPlaceSend(v *visit) error {
	f := v.form()
	body := &aviary.PlaceAdded{
		Place: v.id(), Name: f.text("place_name"), Type: aviary.PlaceType(f.text("type")), Capacity: f.intp("capacity"), Outdoor: f.tick("outdoor"),
	}
	if body.Name == "" {
		f.wrong("place_name", "give the place a name or number")
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return s.setupForm(v, f, "cages") })
	}
	v.say("%s added", body.Name)
	return v.see("/setup?step=cages")
}
