package web

import "broodlight/internal/advice"

// ofSpecies is what a page about the birds of one species has: which one, and the way to the others.
type ofSpecies struct {
	Slug    string // "" while no bird is in the books
	Species []speciesLink
}

// speciesLink leads to the same page of another species.
type speciesLink struct {
	Href, Name string
	Current    bool
}

// choose settles on a species, the one with most birds here when none is asked for, and hands the desk to do. The page lies at
// a path. Without any bird in the books do is not called; a species that they do not know is an error.
func (o *ofSpecies) choose(v *visit, path, slug string, do func(d *advice.Desk) error) (err error) {
	v.desk(func(d *advice.Desk) {
		here := keptHere(d)
		if slug == "" {
			slug = mostKept(d, here)
		}
		o.Slug = slug
		for _, x := range d.Cat.All() {
			if _, ok := here[x.Slug]; ok {
				o.Species = append(o.Species, speciesLink{Href: path + "?species=" + x.Slug, Name: x.English, Current: x.Slug == slug})
			}
		}
		if slug == "" {
			return
		}
		if _, ok := here[slug]; !ok {
			err = notThere("no bird of that species is in the books")
			return
		}
		err = do(d)
	})
	return err
}

// noBirds is the headline of such a page while no bird is in the books.
const noBirds = "No bird is in the books yet"

// keptHere counts the birds that are here by species; a species that only the books know has 0.
func keptHere(d *advice.Desk) map[string]int {
	out := map[string]int{}
	for _, b := range d.Room.Birds() {
		out[b.Species] += 0
		if b.Here() {
			out[b.Species]++
		}
	}
	return out
}

// mostKept is the species with most birds here, or "".
func mostKept(d *advice.Desk, here map[string]int) string {
	most := ""
	for _, x := range d.Cat.All() {
		if n, ok := here[x.Slug]; ok && (most == "" || n > here[most]) {
			most = x.Slug
		}
	}
	return most
}
