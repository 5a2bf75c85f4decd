package web

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"

	"github.com/google/uuid"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

func (s *server) birdRoutes(r *routes) {
	r.get("/birds", s.birdList)
	r.keeperGet("/birds/new", s.birdNewShow)
	r.keeperPost("/birds/new", s.birdNewSend)
	if s.ReadTable != nil {
		r.keeperGet("/birds/table", s.birdTableShow)
		r.keeperPost("/birds/table", s.birdTableSend)
	}
	r.get("/bird/{id}", s.birdShow)
	for _, a := range birdActs {
		r.keeperPost("/bird/{id}/"+a.path, func(v *visit) error { return s.birdAct(v, a) })
	}
}

// birdsPerPage is how many birds a page of the list shows.
const birdsPerPage = 100

// birdListPage is the list of birds.
type birdListPage struct {
	layout
	Q       advice.BirdQuery
	List    advice.BirdList
	Columns []sortColumn
	Species []option
	Pages   []pageLink
	Shown   string // "1–100 of 260"
	ReadIn  bool   // tables can be read in
}

// sortColumn is the head of a column.
type sortColumn struct {
	Name, Label, Href string
	Dir               string // "ascending", "descending", or "" when the list is not sorted by it
	Class             string
}

// pageLink leads to a page of a long list.
type pageLink struct {
	Label, Href string
	Current     bool
}

var birdColumns = []struct{ name, label string }{
	{"ring", "Ring"}, {"name", "Name"}, {"species", "Species"}, {"sex", "Sex"}, {"age", "Age"}, {"place", "Place"}, {"young", "Young"},
}

func (s *server) birdList(v *visit) error {
	in := v.r.URL.Query()
	q := advice.BirdQuery{Text: in.Get("q"), Species: in.Get("species"), Sex: aviary.Sex(in.Get("sex")), State: in.Get("state"), Sort: in.Get("sort"), Desc: in.Get("desc") != "", Limit: birdsPerPage}
	if id, err := uuid.Parse(in.Get("place")); err == nil {
		q.Place = id
	}
	if !slices.Contains(advice.BirdSorts, q.Sort) {
		q.Sort = "ring"
	}
	if n, err := strconv.Atoi(in.Get("from")); err == nil && n > 0 {
		q.Offset = n / birdsPerPage * birdsPerPage
	}
	p := &birdListPage{Q: q, ReadIn: s.ReadTable != nil}
	kinds := map[string]bool{}
	v.desk(func(d *advice.Desk) {
		p.List = d.BirdList(q)
		for _, b := range d.Room.Birds() {
			kinds[b.Species] = true
		}
		p.Species = []option{{Label: "All species"}}
		for _, x := range d.Cat.All() {
			if kinds[x.Slug] {
				p.Species = append(p.Species, option{Value: x.Slug, Label: x.English, Chosen: x.Slug == q.Species})
			}
		}
	})
	p.Headline = birdsHeadline(p.List, q)
	p.Title, p.Tab = "Birds", "birds"
	for _, c := range birdColumns {
		col := sortColumn{Name: c.name, Label: c.label, Class: map[string]string{"young": "n", "sex": "deskonly"}[c.name]}
		to := q
		to.Sort, to.Desc, to.Offset = c.name, false, 0
		if q.Sort == c.name {
			col.Dir = "ascending"
			if q.Desc {
				col.Dir = "descending"
			}
			to.Desc = !q.Desc
		}
		col.Href = birdsHref(to)
		p.Columns = append(p.Columns, col)
	}
	if p.List.Found > 0 {
		p.Shown = fmt.Sprintf("%d–%d of %d", min(q.Offset+1, p.List.Found), min(q.Offset+birdsPerPage, p.List.Found), p.List.Found)
	}
	p.Pages = pageLinks(q, p.List.Found)
	return v.render("bird_list", p)
}

func birdsHeadline(l advice.BirdList, q advice.BirdQuery) string {
	switch {
	case l.Known == 0:
		return "No bird is in the books yet"
	case q.Text != "" || q.Species != "" || q.Sex != "" || q.State != "" || q.Place != (aviary.ID{}):
		return fmt.Sprintf("%d found; %d birds in the room", l.Found, l.Here)
	case l.Here == 1:
		return "One bird in the room"
	}
	return fmt.Sprintf("%d birds in the room", l.Here)
}

func birdsHref(q advice.BirdQuery) string {
	out := url.Values{}
	put := func(name, value string) {
		if value != "" {
			out.Set(name, value)
		}
	}
	put("q", q.Text)
	put("species", q.Species)
	put("sex", string(q.Sex))
	put("state", q.State)
	if q.Place != (aviary.ID{}) {
		put("place", q.Place.String())
	}
	if q.Sort != "ring" {
		put("sort", q.Sort)
	}
	if q.Desc {
		put("desc", "yes")
	}
	if q.Offset > 0 {
		put("from", strconv.Itoa(q.Offset))
	}
	if len(out) == 0 {
		return "/birds"
	}
	return "/birds?" + out.Encode()
}

// pageLinks leads to the pages around the current one, the first and the last.
func pageLinks(q advice.BirdQuery, found int) []pageLink {
	last := (found - 1) / birdsPerPage
	if last < 1 {
		return nil
	}
	now := q.Offset / birdsPerPage
	var out []pageLink
	for i := 0; i <= last; i++ {
		if i > 0 && i < last && (i < now-2 || i > now+2) {
			continue
		}
		to := q
		to.Offset = i * birdsPerPage
		out = append(out, pageLink{strconv.Itoa(i + 1), birdsHref(to), i == now})
	}
	return out
}
