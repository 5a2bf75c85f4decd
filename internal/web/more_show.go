package web

import "net/http"

// moreShow lists the pages that have no tab on a phone.
func (s *server) moreShow(v *visit) error {
	return v.render("more_show", &layout{Headline: "More of the room", Tab: "more"})
}

// rootShow sends the browser to the round.
func (s *server) rootShow(v *visit) error {
	http.Redirect(v.w, v.r, "/round", http.StatusSeeOther)
	return nil
}
