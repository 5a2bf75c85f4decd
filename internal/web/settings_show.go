package web

import (
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// settingsPage lists what can be set, each with what it stands at.
type settingsPage struct {
	layout
	Links []settingLink
}

type settingLink struct{ Path, Name, Now string }

// settingsShow lists the settings.
func (s *server) settingsShow(v *visit) error {
	p := &settingsPage{layout: layout{Headline: "Settings of the room", Tab: "more", Class: "page narrow", Up: "/more", UpTo: "More"}}
	people, err := s.Book.People(v.ctx())
	if err != nil {
		return err
	}
	phone, err := s.phones(v.ctx())
	if err != nil {
		return err
	}
	copies, err := s.backups()
	if err != nil {
		return err
	}
	v.room(func(r *aviary.Room, cat *species.Catalogue) {
		set := r.Settings(v.today)
		add := func(path, name string, now ...string) {
			p.Links = append(p.Links, settingLink{"/settings/" + path, name, strings.Join(now, ", ")})
		}
		name := set.Name
		if name == "" {
			name = "no name yet"
		}
		season := "season not set"
		if set.SeasonStart != "" {
			season = "season from " + monthDayText(set.SeasonStart)
		}
		add("room", "Room and season", name, season)
		add("lamps", "Lamps", strings.TrimPrefix(lampsOf(r, v.today, v.clock).Text, "Lamps "))
		own := 0
		for _, values := range r.Whole().Own {
			own += len(values)
		}
		ownText := "no own values"
		if own > 0 {
			ownText = count(own, "own value", "own values")
		}
		add("species", "Species and clutch limits", count(len(cat.All()), "species", "species"), ownText)
		add("rings", "Rings on hand", count(len(r.Whole().Rings), "list", "lists"))
		add("units", "Units", unitWord(set.Mass), unitWord(set.Length), unitWord(set.Volume), unitWord(set.Warmth))
	})
	add := func(path, name, now string) {
		p.Links = append(p.Links, settingLink{"/settings/" + path, name, now})
	}
	if len(people) == 0 {
		add("people", "People", "only you")
	} else {
		add("people", "People", count(len(people), "person", "people"))
	}
	numbers := "no number yet"
	switch {
	case phone.Vet != "" && phone.Keeper != "":
		numbers = "both written"
	case phone.Vet != "":
		numbers = "the vet's is written"
	case phone.Keeper != "":
		numbers = "yours is written"
	}
	add("phones", "Vet and keeper by phone", numbers)
	if s.WriteCalendar != nil {
		add("calendar", "Calendar", "the room's dates in the calendar of your phone")
	}
	if s.Broker != nil {
		now := "off"
		switch state := s.Broker.State(); {
		case state.Reached:
			now = "reached"
		case state.On:
			now = "not reached"
		}
		add("broker", "Broker for smart plugs", now)
	}
	last := "none made here yet"
	if len(copies) > 0 {
		last = "last " + copies[0].When
	}
	add("backup", "Backup", last)
	add("about", "About", v.s.version())
	return v.render("settings_show", p)
}

// unitWord is the name of a unit on a page.
func unitWord(unit string) string {
	switch unit {
	case "C", "F":
		return "°" + unit
	}
	return unit
}

// version is the program's, in words.
func (s *server) version() string {
	if s.Version == "" {
		return "version not known"
	}
	return "version " + s.Version
}
