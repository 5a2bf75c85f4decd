package web

import "strings"

// alongLink leads to a page that stands beside the one that is shown.
type alongLink struct {
	Href, Name string
	Current    bool
}

// along lists the pages of a tab that has several, as they stand under the beam.
var along = map[string][]alongLink{
	"season": {{Href: "/season", Name: "The year"}, {Href: "/season/plan", Name: "Plan"}, {Href: "/pairs", Name: "Pairs"}, {Href: "/lamps", Name: "Lamps"}, {Href: "/food", Name: "Food"}, {Href: "/condition", Name: "Condition"}},
}

// Along are the pages of this page's tab, for the line of links under the beam.
func (l *layout) Along() []alongLink {
	out := append([]alongLink(nil), along[l.Tab]...)
	path, _, _ := strings.Cut(l.Path, "?")
	best := -1
	for i, a := range out {
		if (path == a.Href || strings.HasPrefix(path, a.Href+"/")) && (best < 0 || len(a.Href) > len(out[best].Href)) {
			best = i
		}
	}
	if best >= 0 {
		out[best].Current = true
	}
	return out
}
