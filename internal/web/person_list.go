package web

import (
	"broodlight/internal/aviary"
)

// peoplePage lists who may log in.
type peoplePage struct {
	layout
	People  []personRow
	Owner   field
	OwnerPw field
	LAN     bool
	IsOpen  bool // a keeper has a passphrase, so the room can be opened to the network
	Role    field
}

type personRow struct {
	ID        aviary.ID
	Name      string
	Role      string
	Logs      string // "logged in on 2 phones or computers"
	Open      bool   // has log-ins to end
	Me        bool
	HasPhrase bool
	Phrase    field
	Wrong     bool
}

// What the two roles may do, in a line.
const (
	keeperMay = "may do everything"
	helperMay = "writes checks and rounds; birds, pairs and settings stay as they are"
)

// personList shows the people.
func (s *server) personList(v *visit) error {
	name, err := s.owner(v.ctx())
	if err != nil {
		return err
	}
	return peopleForm(v, blank("owner", name, "role", string(aviary.Helper)))
}

func peopleForm(v *visit, f *form) error {
	people, err := v.s.Book.People(v.ctx())
	if err != nil {
		return err
	}
	open, err := v.s.Book.Sessions(v.ctx())
	if err != nil {
		return err
	}
	p := &peoplePage{layout: underSettings("", ""), LAN: v.s.LAN, IsOpen: anyKeeper(people)}
	p.Form = f
	if f.Value("owner") == "" {
		f.Values.Set("owner", v.who.By)
	}
	switch n := len(people); {
	case n == 0:
		p.Headline = "Only you, on this computer"
	case n == 1:
		p.Headline = "One person may log in"
	default:
		p.Headline = count(n, "person", "people") + " may log in"
	}
	asked := f.Value("person")
	for _, x := range people {
		row := personRow{ID: x.ID, Name: x.Name, Role: "keeper: " + keeperMay, HasPhrase: x.Passphrase, Open: open[x.ID] > 0, Me: x.Name == v.who.By}
		if x.Role == aviary.Helper {
			row.Role = "helper: " + helperMay
		}
		if n := open[x.ID]; n > 0 {
			row.Logs = "logged in on " + count(n, "phone or computer", "phones or computers")
		}
		mine := &form{ID: x.ID.String()}
		if asked == mine.ID {
			mine, row.Wrong = f, len(f.Errors) > 0
		}
		row.Phrase = mine.Secret("new_passphrase", "New passphrase").Complete("new-password").Hint(phraseHint)
		p.People = append(p.People, row)
	}
	p.Role = f.Radio("role", "May", []option{{Value: string(aviary.Helper), Label: "Helper"}, {Value: string(aviary.Keeper), Label: "Keeper"}}).
		Hint("A helper " + helperMay + ". A keeper " + keeperMay + ".").Full()
	p.Owner = f.Text("owner", "Your name")
	p.OwnerPw = f.Secret("owner_passphrase", "Passphrase").Complete("new-password").Hint(phraseHint)
	return v.render("person_list", p)
}

const phraseHint = "At least 8 letters; four plain words are easy to keep in mind."
