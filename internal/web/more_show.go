package web

import (
	"net/http"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// moreShow lists the pages that have no tab on a phone.
func (s *server) moreShow(v *visit) error {
	return v.render("more_show", &layout{Headline: "More of the room", Tab: "more", Class: "page narrow"})
}

// rootShow sends the browser to the round, or to the set-up while the room has no cage.
func (s *server) rootShow(v *visit) error {
	to := "/round"
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		if len(r.Places()) == 0 && v.keeper() {
			to = "/setup"
		}
	})
	http.Redirect(v.w, v.r, to, http.StatusSeeOther)
	return nil
}
