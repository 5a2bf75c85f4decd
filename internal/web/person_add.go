package web

import (
	"errors"

	"broodlight/internal/aviary"
)

// personAdd adds somebody who may log in, with a passphrase.
func (s *server) personAdd(v *visit) error {
	f := v.form()
	name, role, phrase := f.text("name"), aviary.Role(f.text("role")), f.Values.Get("passphrase")
	if n := len([]rune(phrase)); n < 8 {
		f.wrong("passphrase", "the passphrase needs at least 8 letters")
	}
	if err := f.err(); err != nil {
		return v.retry(f, err, peopleForm)
	}
	p, err := s.Book.AddPerson(v.ctx(), name, role)
	if err != nil {
		return v.retry(f, err, peopleForm)
	}
	if err := s.Book.SetPassphrase(v.ctx(), p.ID, phrase); err != nil {
		// Nobody stays on the list whom nobody meant to add without a passphrase.
		return v.retry(f, errors.Join(err, s.Book.RemovePerson(v.ctx(), p.ID)), peopleForm)
	}
	s.peopleChanged()
	return v.see("/settings/people")
}
