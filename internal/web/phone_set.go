package web

// phonePage holds whom a helper rings up.
type phonePage struct{ layout }

// phoneShow shows the numbers.
func (s *server) phoneShow(v *visit) error {
	p, err := s.phones(v.ctx())
	if err != nil {
		return err
	}
	return phoneForm(v, blank("keeper", p.Keeper, "vet", p.Vet))
}

func phoneForm(v *visit, f *form) error {
	p := &phonePage{underSettings("Whom a helper rings up", "These stand on the sheet for who looks after the room. They are kept apart from the books and are never exported.")}
	p.Form = f
	return v.render("phone_set", p)
}

// phoneSet keeps the numbers.
func (s *server) phoneSet(v *visit) error {
	f := v.form()
	for _, name := range []string{"keeper", "vet"} {
		if len([]rune(f.text(name))) > 60 {
			f.wrong(name, "at most 60 letters fit on the sheet")
		}
	}
	if err := f.err(); err != nil {
		return v.retry(f, err, phoneForm)
	}
	for _, x := range []struct{ setting, name string }{{keeperPhone, "keeper"}, {vetPhone, "vet"}} {
		if err := s.Book.SetSetting(v.ctx(), x.setting, f.text(x.name)); err != nil {
			return v.retry(f, moved(err, x.setting, x.name), phoneForm)
		}
	}
	return v.see("/settings")
}
