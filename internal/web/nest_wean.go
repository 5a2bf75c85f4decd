package web

import (
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

// weanView is the form that parts young from those who reared them.
type weanView struct {
	Clutch   string
	Species  string // slug of the young's species, "" when it is not known
	Box      string
	Ask      bool     // whether they feed themselves is asked first; parting waits folded
	All      int      // young that are alive and not parted, as last counted
	Ringed   []option // each ringed young
	Unringed field
	Feeding  field
	Seen     string // "Seen feeding themselves 10 Jan." or ""
	To       placesField
	Why      *field // asked for when something speaks against it
	Warnings []advice.Warning
}

// newWeanView builds the form for the young of a nest.
func newWeanView(d *advice.Desk, n *advice.Nest, f *form, prefix string) *weanView {
	w := &weanView{Clutch: n.Clutch.Key.String()}
	if n.Species != nil {
		w.Species = n.Species.Slug
	}
	_, sent := f.Values["unringed"]
	all, bare := d.Young(n)
	w.All = all
	part := n.Course.Event(nest.Part)
	w.Ask = n.SeenFeeding() == 0 && !(part.Known && d.Today >= advice.Day(part.Likely)) && len(f.Errors) == 0
	if n.Clutch.Box != (aviary.ID{}) {
		w.Box = n.Clutch.Box.String()
	}
	for _, b := range d.RingedHere(n) {
		w.Ringed = append(w.Ringed, option{Value: b.ID.String(), Label: b.Label(), Chosen: !sent || f.Has("birds", b.ID.String())})
	}
	if !sent {
		f.Values.Set("unringed", itoa(bare))
	}
	w.Unringed = prefixed(prefix, f.Number("unringed", "Young without a ring"))
	if all == 0 {
		w.Unringed = w.Unringed.Hint("None was counted; count those that you part.")
	}
	if seen := n.SeenFeeding(); seen != 0 {
		w.Seen = "Seen feeding themselves " + seen.Short() + "."
	}
	w.Feeding = prefixed(prefix, f.Tick("self_feeding", "I have seen each of them feed itself"))
	w.To = newPlacesField(f, "to", "Where to", "Stay where they are", holdingFirst(choices(d, func(p *aviary.Place) bool { return p.ID != n.Place.ID }), d))
	if f.Error("why") != "" || f.Value("why") != "" {
		x := prefixed(prefix, f.Text("why", "Why now all the same"))
		w.Why = &x
	}
	return w
}

// holdingFirst puts flights and aviaries before the cages: that is where young go.
func holdingFirst(list []placeChoice, d *advice.Desk) []placeChoice {
	var first, rest []placeChoice
	holds := map[string]bool{}
	for _, p := range d.Room.Places() {
		holds[p.ID.String()] = p.Type == aviary.Flight || p.Type == aviary.Aviary
	}
	for _, c := range list {
		if holds[c.ID] {
			first = append(first, c)
		} else {
			rest = append(rest, c)
		}
	}
	return append(first, rest...)
}

// nestWeanSend parts young. When nobody has seen them feed themselves, or their new place does not suit, it asks for a reason
// and then takes it.
func (s *server) nestWeanSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	entries, err := v.weanEntries(f, place)
	if err == nil {
		err = v.save(f, entries...)
	}
	if err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.onward(place)
}

func (v *visit) weanEntries(f *form, place aviary.ID) ([]*aviary.Entry, error) {
	key, to := f.id("clutch"), f.id("to")
	birds, unringed := f.ids("birds"), f.int("unringed")
	var entries []*aviary.Entry
	var refused error
	v.desk(func(d *advice.Desk) {
		n := nestOf(d, place, key)
		box, species := f.id("box"), f.species("kind")
		if v.later() {
			n = nil // the young are those that the page showed then
		} else if n != nil {
			box, species = n.Clutch.Box, ""
			if n.Species != nil {
				species = n.Species.Slug
			}
		}
		if n == nil && !v.later() {
			if d.Room.Entry(v.once) == nil {
				refused = &aviary.Error{Code: aviary.Conflict, Message: "these young have been parted meanwhile, or the clutch has ended; look at the cage's page"}
			}
			return
		}
		if len(birds) == 0 && unringed == 0 {
			f.wrong("birds", "tick the young that are parted, or say how many without rings")
			return
		}
		b := &aviary.YoungWeaned{Place: place, Box: box, Birds: birds, Unringed: unringed, To: to}
		if unringed > 0 {
			b.Species = species
			if to != (aviary.ID{}) {
				b.Group = v.id()
			}
		}
		if all := f.int("all"); all > len(birds)+unringed {
			left := all - len(birds) - unringed
			b.Left = &left
		}
		if n != nil {
			for _, w := range weanWarnings(d, n, b, f.tick("self_feeding")) {
				if f.text("why") == "" {
					f.wrong("why", "%s Write why, if it is right all the same.", w)
				}
			}
		}
		e := v.entry(b)
		v.say("%s saved: %s", plateOf(d.Room, place), advice.Sentence(d.Room, e))
		entries = append(entries, e)
		if f.tick("self_feeding") && (n == nil || n.SeenFeeding() == 0 || d.Room.Entry(v.once) != nil) {
			entries = []*aviary.Entry{v.entry(&aviary.NestCheck{Place: place, Box: box, SelfFeeding: true}), e}
		}
	})
	return entries, refused
}

// weanWarnings says what speaks against parting young now, or putting them there.
func weanWarnings(d *advice.Desk, n *advice.Nest, b *aviary.YoungWeaned, seen bool) []string {
	var out []string
	if !seen && n.SeenFeeding() == 0 {
		out = append(out, "Nobody has written down that these young feed themselves. Tick it if you have seen it.")
	}
	said := map[string]bool{}
	for _, id := range b.Birds {
		if b.To == (aviary.ID{}) {
			break
		}
		for _, w := range d.Warnings(&aviary.Entry{Day: d.Today, Body: &aviary.BirdMoved{Bird: id, Place: b.To}}) {
			if !said[w.Code] {
				said[w.Code] = true
				out = append(out, w.Text)
			}
		}
	}
	if p := d.Room.Place(b.To); p != nil && p.Capacity != nil && !said["too many"] {
		there := len(d.Room.In(b.To)) + len(b.Birds) + b.Unringed
		for _, g := range d.Room.GroupsIn(b.To) {
			there += g.Count
		}
		if there > *p.Capacity {
			out = append(out, fmt.Sprintf("%s holds %d; there would be %d.", p.Name, *p.Capacity, there))
		}
	}
	return out
}
