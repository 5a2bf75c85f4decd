package web

import (
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// removePage asks before somebody is taken off the list.
type removePage struct {
	layout
	ID aviary.ID
}

// personAsk asks.
func (s *server) personAsk(v *visit) error {
	p, err := v.somebody()
	if err != nil {
		return err
	}
	page := &removePage{layout: underSettings("Take "+p.Name+" off the list?", ""), ID: p.ID}
	page.Up, page.UpTo = "/settings/people", "People"
	return v.render("person_remove", page)
}

// personRemove takes somebody off the list and ends all his log-ins.
func (s *server) personRemove(v *visit) error {
	p, err := v.somebody()
	if err != nil {
		return err
	}
	if s.LAN && p.Role == aviary.Keeper {
		people, err := s.Book.People(v.ctx())
		if err != nil {
			return err
		}
		var rest []journal.Person
		for _, x := range people {
			if x.ID != p.ID {
				rest = append(rest, x)
			}
		}
		if !anyKeeper(rest) {
			return &aviary.Error{Code: aviary.Conflict, Message: p.Name + " is the last keeper who can log in; add another keeper first"}
		}
	}
	if err := s.Book.RemovePerson(v.ctx(), p.ID); err != nil {
		return err
	}
	name, err := s.Book.Setting(v.ctx(), ownerSetting)
	if err != nil {
		return err
	}
	if name == p.Name {
		if err := s.Book.SetSetting(v.ctx(), ownerSetting, ""); err != nil {
			return err
		}
	}
	s.peopleChanged()
	return v.see("/settings/people")
}

// somebody is the person whose id stands in the path.
func (v *visit) somebody() (journal.Person, error) {
	id, err := v.pathID("id")
	if err != nil {
		return journal.Person{}, err
	}
	people, err := v.s.Book.People(v.ctx())
	if err != nil {
		return journal.Person{}, err
	}
	for _, p := range people {
		if p.ID == id {
			return p, nil
		}
	}
	return journal.Person{}, notThere("there is no such person on the list")
}
