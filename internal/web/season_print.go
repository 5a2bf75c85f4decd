package web

import (
	"fmt"

	"broodlight/internal/aviary"
)

// seasonPaper is the season on one sheet.
type seasonPaper struct {
	*seasonPage
	Paper, Other, OtherHref string
}

// seasonPrint shows the season as it comes out on one sheet, A4 or A3 across.
func (s *server) seasonPrint(v *visit, drawn *seasonsDrawn) error {
	size := v.r.URL.Query().Get("paper")
	switch size {
	case "":
		size = "a4"
	case "a4", "a3":
	default:
		return &aviary.Error{Code: aviary.Invalid, Field: "paper", Message: fmt.Sprintf("the sheet is a4 or a3, not %q", short(size))}
	}
	drew, err := seasonDrawn(v, drawn, size)
	if err != nil {
		return err
	}
	p := &seasonPaper{seasonPage: drew, Paper: "A4", Other: "A3", OtherHref: drew.A3}
	if size == "a3" {
		p.Paper, p.Other, p.OtherHref = "A3", "A4", drew.A4
	}
	p.Title, p.Class = "Season on paper", "page yearsheet "+size
	return v.render("season_print", p)
}
