package web

import "broodlight/internal/aviary"

// cageNoteSend writes a note about a place.
func (s *server) cageNoteSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	b := &aviary.Note{Place: place, Text: f.text("text")}
	if b.Text == "" {
		f.wrong("text", "the note is empty")
	}
	if err := v.save(f, v.entry(b)); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.back("/cage/" + place.String())
}
