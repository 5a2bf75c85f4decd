package web

import (
	"html/template"
	"net/http"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
	"broodlight/internal/web/look"
)

// labelPage is a sheet of labels, one a cage, whose codes open the cage's page on a phone.
type labelPage struct {
	layout
	Labels  []labelView
	Banks   []option // to choose from
	Sizes   []option
	Address []option
	At      string // the address under which phones reach the room; "" when there is none
	Large   bool
}

// labelView is one label.
type labelView struct {
	Plate, Where string
	Code         template.HTML
}

// labelShow prints labels for the cages.
func (s *server) labelShow(v *visit) error {
	p := &labelPage{layout: layout{Title: "Labels", Tab: "more", Class: "page", Up: "/phone", UpTo: "Phones without a signal"}}
	f := &form{Values: v.r.URL.Query()}
	bank, size, at := f.text("bank"), f.one("size", "small", "large"), f.text("at")
	p.Large = size == "large"
	if len(s.Addresses) > 0 {
		p.At = s.Addresses[0]
		if slices.Contains(s.Addresses, at) {
			p.At = at
		} else if at != "" {
			return &statusError{http.StatusBadRequest, "That is not one of this room's addresses. Choose one from the list."}
		}
	}
	for _, a := range s.Addresses {
		p.Address = append(p.Address, option{Value: a, Label: a, Chosen: a == p.At})
	}
	p.Sizes = []option{{"small", "21 on a sheet", !p.Large}, {"large", "8 on a sheet", p.Large}}
	var failed error
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		var banks []string
		for _, place := range r.Places() {
			group := place.Bank
			if group == "" {
				group = "Other places"
			}
			if !slices.Contains(banks, group) {
				banks = append(banks, group)
			}
			if bank != "" && bank != group || p.At == "" {
				continue
			}
			l := labelView{Plate: place.Name, Where: whereHangs(place)}
			if l.Code, failed = look.QR(p.At+"/cage/"+place.ID.String(), "Code that opens "+place.Name); failed != nil {
				return
			}
			p.Labels = append(p.Labels, l)
		}
		p.Banks = []option{{Label: "Every place", Chosen: bank == ""}}
		for _, b := range banks {
			p.Banks = append(p.Banks, option{b, b, b == bank})
		}
	})
	if failed != nil {
		return failed
	}
	switch n := len(p.Labels); {
	case p.At == "":
		p.Headline = "Labels need an address that phones reach"
	case n == 0:
		p.Headline = "No cage hangs here yet"
	default:
		p.Headline = count(n, "label", "labels") + " for your cages"
	}
	return v.render("label_show", p)
}
