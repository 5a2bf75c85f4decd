package web

// settingsRoutes are the pages under Settings. All of them are the keeper's.
func (s *server) settingsRoutes(r *routes) {
	r.keeperGet("/settings", s.settingsShow)
	r.keeperGet("/settings/room", s.roomShow)
	r.keeperPost("/settings/room", s.roomSet)
	r.keeperGet("/settings/units", s.unitShow)
	r.keeperPost("/settings/units", s.unitSet)
	r.keeperGet("/settings/lamps", s.lampShow)
	r.keeperPost("/settings/lamps", s.lampSet)
	r.keeperGet("/settings/species", s.speciesList)
	r.keeperGet("/settings/species/{slug}", s.speciesShow)
	r.keeperPost("/settings/species/{slug}", s.speciesSet)
	r.keeperGet("/settings/rings", s.ringList)
	r.keeperPost("/settings/rings", s.ringAdd)
	r.keeperGet("/settings/people", s.personList)
	r.keeperPost("/settings/people", s.personAdd)
	r.keeperPost("/settings/people/owner", s.ownerSet)
	r.keeperPost("/settings/people/{id}/passphrase", s.passphraseSet)
	r.keeperPost("/settings/people/{id}/logout", s.personLogout)
	r.keeperGet("/settings/people/{id}/remove", s.personAsk)
	r.keeperPost("/settings/people/{id}/remove", s.personRemove)
	r.keeperGet("/settings/phones", s.phoneShow)
	r.keeperPost("/settings/phones", s.phoneSet)
	r.keeperGet("/settings/backup", s.backupList)
	r.keeperPost("/settings/backup", s.backupMake)
	r.keeperGet("/settings/backup/{name}", s.backupSend)
	r.keeperGet("/settings/about", s.aboutShow)
}

// underSettings is the layout of a page under Settings.
func underSettings(headline, sub string) layout {
	return layout{Headline: headline, Sub: sub, Tab: "more", Class: "page narrow", Up: "/settings", UpTo: "Settings"}
}
