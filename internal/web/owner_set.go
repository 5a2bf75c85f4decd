package web

import (
	"errors"

	"broodlight/internal/aviary"
)

// ownerSet names the keeper at this computer and gives him a passphrase, so that the room can be opened to the network.
func (s *server) ownerSet(v *visit) error {
	if s.LAN {
		return &aviary.Error{Code: aviary.Conflict, Message: "the room is open to the network already; everybody has a name and a passphrase of his own"}
	}
	f := v.form()
	name := f.text("owner")
	if name == "" {
		f.wrong("owner", "write your name; it stands beside what you write")
	}
	if err := f.err(); err != nil {
		return v.retry(f, err, peopleForm)
	}
	if _, err := SetOwner(v.ctx(), s.Book, name, f.Values.Get("owner_passphrase")); err != nil {
		return v.retry(f, moved(err, "name", "owner", "passphrase", "owner_passphrase"), peopleForm)
	}
	s.peopleChanged()
	return v.see("/settings/people")
}

// moved renames the field of a refusal to what it is called in the form: from, to, from, to.
func moved(err error, names ...string) error {
	var refused *aviary.Error
	if !errors.As(err, &refused) {
		return err
	}
	out := *refused
	for i := 0; i+1 < len(names); i += 2 {
		if refused.Field == names[i] {
			out.Field = names[i+1]
		}
	}
	return &out
}
