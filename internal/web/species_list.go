package web

import (
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// speciesListPage lists the species with the clutch limit of each.
type speciesListPage struct {
	layout
	Groups []speciesGroup
}

type speciesGroup struct {
	Name string
	Rows []speciesRow
}

type speciesRow struct {
	Slug, English, Latin string
	Limit, Basis         string
	Own                  string // how many own values
	Kept                 int    // birds in the room
}

// speciesList lists every species, those that are kept first.
func (s *server) speciesList(v *visit) error {
	p := &speciesListPage{layout: underSettings("Clutch limits and other values by species", "How many clutches a hen may rear in a season; behind each name stand all values, each with where it comes from.")}
	v.room(func(r *aviary.Room, cat *species.Catalogue) {
		kept := map[string]int{}
		for _, b := range r.Birds() {
			if b.Here() {
				kept[b.Species]++
			}
		}
		row := func(x *species.Profile) speciesRow {
			out := speciesRow{Slug: x.Slug, English: x.English, Latin: x.Latin, Limit: "not known", Kept: kept[x.Slug]}
			if val, ok := x.Value(species.MaxClutchesPerSeason); ok {
				out.Limit, out.Basis = val.String(), val.Basis.Label()
			}
			if n := len(r.Whole().Own[x.Slug]); n > 0 {
				out.Own = count(n, "own value", "own values")
			}
			return out
		}
		mine := speciesGroup{Name: "In this room"}
		for _, x := range cat.All() {
			if kept[x.Slug] > 0 {
				mine.Rows = append(mine.Rows, row(x))
			}
		}
		if len(mine.Rows) > 0 {
			slices.SortStableFunc(mine.Rows, func(a, b speciesRow) int { return b.Kept - a.Kept })
			p.Groups = append(p.Groups, mine)
		}
		for _, g := range species.Groups() {
			group := speciesGroup{Name: g.Label()}
			for _, x := range cat.All() {
				if x.Group == g && kept[x.Slug] == 0 {
					group.Rows = append(group.Rows, row(x))
				}
			}
			if len(group.Rows) > 0 {
				p.Groups = append(p.Groups, group)
			}
		}
	})
	return v.render("species_list", p)
}
