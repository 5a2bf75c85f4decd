package web

import (
	"strings"

	"broodlight/internal/aviary"
)

// ringAdd writes down rings on hand. How many digits a number has is seen from how the first one is typed.
func (s *server) ringAdd(v *visit) error {
	f := v.form()
	body := &aviary.RingsListed{Issuer: f.text("ring_issuer"), Year: f.int("ring_year"), Size: f.float("size_mm")}
	from, to := f.intp("from"), f.intp("to")
	if from == nil && f.Error("from") == "" {
		f.wrong("from", "give the first number")
	}
	if to == nil && f.Error("to") == "" {
		f.wrong("to", "give the last number")
	}
	if from != nil && to != nil {
		body.From, body.To = *from, *to
	}
	if first := f.text("from"); strings.HasPrefix(first, "0") && len(first) > 1 {
		body.Digits = len(first)
	}
	if n := f.intp("digits"); n != nil {
		body.Digits = *n
	}
	var ok bool
	if body.Species, ok = knownSpecies(f.words("species")); !ok {
		f.wrong("species", "choose species from the list")
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, ringForm)
	}
	return v.see("/settings/rings")
}
