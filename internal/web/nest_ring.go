package web

import (
	"errors"
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

// ringView is the form that rings the chicks of a nest.
type ringView struct {
	Clutch  string
	Bare    int      // chicks without a ring
	Hidden  []pairOf // whose chicks they are, for a form that waits on a phone
	Rows    []ringRow
	Size    string // "2.7 mm" by the keeper's list
	NoRings bool   // no list has a free ring
	Without field
	Hatched field
	About   field
	Laid    *field // whose egg it was, where the nest was given eggs or chicks
	Species *field // where it is not known
}

// ringRow is one chick: the ring that is next, and whether it is on.
type ringRow struct {
	N, ID, Ring, Like string
	On                bool
	Error             string
}

// offered is which rings a page has offered so far, so that no ring stands at two cages.
type offered map[aviary.Ring]bool

// next returns n rings for a species that the page has not offered yet.
func (o offered) next(d *advice.Desk, slug string, n int) []advice.NextRing {
	var out []advice.NextRing
	for _, r := range d.NextRings(slug, n+len(o)) {
		if len(out) < n && !o[r.Ring] {
			o[r.Ring] = true
			out = append(out, r)
		}
	}
	return out
}

// newRingView offers the next rings of the keeper's own list, one for each chick without a ring.
func newRingView(d *advice.Desk, n *advice.Nest, f *form, prefix string, o offered) *ringView {
	r := &ringView{Clutch: n.Clutch.Key.String()}
	bare := max(n.Chicks-n.Ringed, 1)
	r.Bare = bare
	slug := ""
	if n.Species != nil {
		slug = n.Species.Slug
	}
	next := o.next(d, slug, bare)
	r.NoRings = len(next) == 0
	for i := range bare {
		row := ringRow{N: itoa(i), ID: prefix + "-ring" + itoa(i)}
		if i < len(next) {
			row.Ring = next[i].Ring.String()
			row.Like = row.Ring
			if i == 0 && next[i].Size > 0 {
				r.Size = fmt.Sprintf("%v mm", next[i].Size)
			}
		}
		if _, sent := f.Values["ring"+row.N]; sent {
			row.Ring = f.Value("ring" + row.N)
			row.On = f.Has("on", row.N)
			row.Error = f.Error("ring" + row.N)
		}
		r.Rows = append(r.Rows, row)
	}
	r.Hidden = ringHidden(n, slug)
	hatch := n.Course.Event(nest.Hatch)
	if _, sent := f.Values["hatched"]; !sent && hatch.Known {
		f.Values.Set("hatched", advice.Day(hatch.Likely).String())
		if about := max(hatch.Likely-hatch.Early, hatch.Late-hatch.Likely); about > 0 {
			f.Values.Set("hatched_about", itoa(int(about)))
		}
	}
	r.Hatched = prefixed(prefix, f.Date("hatched", "Hatched"))
	r.About = prefixed(prefix, f.Number("hatched_about", "Give or take").Per("days"))
	r.Without = prefixed(prefix, f.Number("without", "Chicks that go without a ring").Hint("They stay a counted number."))
	if len(n.Clutch.FromNests) > 0 {
		x := prefixed(prefix, f.Select("laid", "Whose egg was it", laidOptions(d, n)))
		r.Laid = &x
	}
	if n.Species == nil {
		x := prefixed(prefix, f.Text("species", "Species"))
		r.Species = &x
	}
	return r
}

// ringHidden says what a ringed chick is beside its ring.
func ringHidden(n *advice.Nest, slug string) []pairOf {
	var out []pairOf
	add := func(name string, id aviary.ID) {
		if id != (aviary.ID{}) {
			out = append(out, pairOf{name, id.String()})
		}
	}
	if slug != "" {
		out = append(out, pairOf{"kind", slug})
	}
	add("box", n.Clutch.Box)
	sire, dam := layers(n)
	add("laid_sire", sire)
	add("laid_dam", dam)
	return out
}

// layers are the parents of what was laid in a nest, as far as there is one of each.
func layers(n *advice.Nest) (sire, dam aviary.ID) {
	if n.Laying != nil && len(n.Laying.Cocks) == 1 {
		sire = n.Laying.Cocks[0]
	}
	if n.Laying != nil && len(n.Laying.Hens) == 1 {
		dam = n.Laying.Hens[0]
	}
	return sire, dam
}

// brood is what the chicks of a ring form have in common.
type brood struct {
	clutch, box, sire, dam aviary.ID
	species, plate         string
}

// broodOf finds what the chicks of a ring form have in common: as the room says it, or for a form that waited on a phone as the
// page said it then. It returns nil when the clutch is there no more.
func (v *visit) broodOf(d *advice.Desk, f *form, place aviary.ID) *brood {
	b := &brood{clutch: f.id("clutch"), plate: plateOf(d.Room, place)}
	if v.later() {
		b.box, b.sire, b.dam, b.species = f.id("box"), f.id("laid_sire"), f.id("laid_dam"), f.species("kind")
		return b
	}
	n := nestOf(d, place, b.clutch)
	if n == nil {
		return nil
	}
	b.box = n.Clutch.Box
	b.sire, b.dam = layers(n)
	if n.Species != nil {
		b.species = n.Species.Slug
	}
	return b
}

// laidOptions lists the nests that a chick's egg may come from.
func laidOptions(d *advice.Desk, n *advice.Nest) []option {
	out := []option{{Label: "Not known"}, {Value: "own", Label: "Laid here"}}
	seen := map[aviary.ID]bool{}
	for _, in := range n.Clutch.FromNests {
		if p := d.Room.Place(in.Place); p != nil && !seen[in.Place] {
			seen[in.Place] = true
			out = append(out, option{Value: in.Place.String(), Label: "Laid at " + p.Name})
		}
	}
	return out
}

// nestRingSend rings chicks: one entry for each ring that is on, one step for all.
func (s *server) nestRingSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	entries, rows, err := v.ringEntries(f, place)
	if err == nil {
		err = v.save(f, entries...)
	}
	if err != nil {
		var at *aviary.RefusedAt
		if errors.As(err, &at) && at.Index < len(rows) && at.Refusal.Code != aviary.Denied {
			f.wrong("ring"+rows[at.Index], "%s", at.Refusal.Message)
			err = f.err()
		}
		return v.retry(f, err, v.showAgain(place))
	}
	return v.onward(place)
}

// ringEntries reads the form. rows are the numbers of the rows that the first entries come from.
func (v *visit) ringEntries(f *form, place aviary.ID) (entries []*aviary.Entry, rows []string, err error) {
	hatched, about, without := f.date("hatched"), f.intp("hatched_about"), f.int("without")
	var refused error
	v.desk(func(d *advice.Desk) {
		n := v.broodOf(d, f, place)
		if n == nil {
			if d.Room.Entry(v.once) == nil {
				refused = &aviary.Error{Code: aviary.Conflict, Message: "the clutch has ended meanwhile, so there is nobody to ring in it; look at the cage's page"}
			}
			return
		}
		species := n.species
		if species == "" {
			species = f.species("species")
		}
		if species == "" {
			f.wrong("species", "say which species the chicks are")
		}
		seen := map[string]bool{}
		for _, row := range f.words("on") {
			like, _ := aviary.ParseRing(f.Value("like" + row))
			ring, size, err := d.ReadRing(f.text("ring"+row), like)
			if err != nil {
				f.wrong("ring"+row, "%v; write it as it is stamped, such as FC 26-019", err)
				continue
			}
			if seen[ring.String()] {
				f.wrong("ring"+row, "ring %s stands there twice", ring)
				continue
			}
			seen[ring.String()] = true
			b := &aviary.ChickRinged{Bird: v.id(), Place: place, Box: n.box, Species: species, Ring: ring, RingSize: size, Hatched: hatched}
			if about != nil && *about > 0 && hatched != 0 {
				b.HatchedAbout = about
			}
			whose(d, n, f, b)
			entries, rows = append(entries, v.entry(b)), append(rows, row)
		}
		if without < 0 {
			f.wrong("without", "%d chicks cannot be; a count is 0 or more", without)
		}
		if without > 0 {
			entries = append(entries, v.entry(v.withoutRing(place, n, without, f.int("bare")-len(entries))))
		}
		if len(entries) == 0 && f.err() == nil {
			f.wrong("on", "tap On beside each ring that went on a chick, or say how many go without")
		}
		v.say("%s saved: %s", n.plate, ringSaid(rows, f, without))
	})
	if refused != nil {
		return nil, nil, refused
	}
	return entries, rows, f.err()
}

// whose says whose egg the chick hatched from, where the form says so.
func whose(d *advice.Desk, n *brood, f *form, b *aviary.ChickRinged) {
	switch laid := f.text("laid"); laid {
	case "":
	case "own":
		b.Sire, b.Dam = n.sire, n.dam
	default:
		b.LaidPlace = f.id("laid")
		if d.Room.Place(b.LaidPlace) == nil {
			f.wrong("laid", "choose the nest from the list")
		}
	}
}

// restWithout is how long a brood whose last chicks go without a ring is not asked about again, in days: longer than any foot
// stays small enough for a closed ring. Common practice, no source.
const restWithout = 30

// withoutRing notes chicks that go without a ring. When nobody else is left to ring, the job rests until they are too old for it.
func (v *visit) withoutRing(place aviary.ID, n *brood, without, left int) aviary.Body {
	text := fmt.Sprintf("%d of the brood without a ring", without)
	if without < left {
		return &aviary.Note{Place: place, Text: text}
	}
	return &aviary.JobSkipped{Place: place, Job: advice.NestJobKey(advice.RingJob, n.clutch), Box: n.box, Reason: text, Until: v.today + restWithout}
}

func ringSaid(rows []string, f *form, without int) string {
	s := ""
	for _, row := range rows {
		if s != "" {
			s += ", "
		}
		s += f.text("ring" + row)
	}
	if s != "" {
		s = "ringed " + s
	}
	if without > 0 {
		if s != "" {
			s += "; "
		}
		s += fmt.Sprintf("%d without a ring", without)
	}
	return s
}

// nestOf finds the open clutch of a place by its key, or nil.
func nestOf(d *advice.Desk, place, key aviary.ID) *advice.Nest {
	p := d.Room.Place(place)
	if p == nil {
		return nil
	}
	for _, n := range d.Nests(p) {
		if n.Clutch.Key == key {
			return n
		}
	}
	return nil
}
