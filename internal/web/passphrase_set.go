package web

import "net/url"

// passphraseSet gives somebody a new passphrase; whoever is logged in under the old one logs in afresh.
func (s *server) passphraseSet(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	f := v.form()
	if err := s.Book.SetPassphrase(v.ctx(), id, f.Values.Get("new_passphrase")); err != nil {
		f.ID, f.Values = id.String(), url.Values{"person": {id.String()}, "role": {"helper"}}
		return v.retry(f, moved(err, "passphrase", "new_passphrase"), peopleForm)
	}
	s.peopleChanged()
	return v.see("/settings/people")
}
