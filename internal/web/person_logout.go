package web

// personLogout logs somebody out everywhere.
func (s *server) personLogout(v *visit) error {
	id, err := v.pathID("id")
	if err != nil {
		return err
	}
	if err := s.Book.EndSessions(v.ctx(), id); err != nil {
		return err
	}
	return v.see("/settings/people")
}
