package web

import (
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

func (s *server) setupRoutes(r *routes) {
	r.keeperGet("/setup", s.setupShow)
	r.keeperPost("/setup/room", s.setupRoomSend)
	r.keeperPost("/setup/bank", s.setupBankSend)
	r.keeperPost("/setup/place", s.setupPlaceSend)
	r.keeperPost("/setup/species", s.setupSpeciesSend)
	r.keeperGet("/setup/place/{id}", s.placeEditShow)
	r.keeperPost("/setup/place/{id}", s.placeEditSend)
	r.keeperPost("/setup/place/{id}/retire", s.placeRetireSend)
	r.keeperGet("/setup/walk", s.walkShow)
	r.keeperGet("/setup/walk/{id}", s.walkCageShow)
	r.keeperPost("/setup/walk/{id}", s.walkCageSend)
}

// setupPage is the way from an empty folder to a usable room.
type setupPage struct {
	layout
	Steps   []setupStep
	Open    string // the step that stands open
	Zones   []string
	Naming  []option
	Types   []option
	Species []option
	Banks   []setupBank
	Other   []*aviary.Place
	Birds   int
	Pairs   int
	Walk    walkCount
	ReadIn  bool
}

// setupStep is one step, and whether it is done.
type setupStep struct {
	Key, Label string
	Done       bool
	Says       string
}

type setupBank struct {
	Name   string
	Places []*aviary.Place
}

type walkCount struct{ Done, All int }

// zones are time zones to choose from; any name of the tz database can be typed.
var zones = []string{
	"Africa/Cairo", "Africa/Johannesburg", "Africa/Lagos", "Africa/Nairobi", "America/Argentina/Buenos_Aires", "America/Bogota", "America/Chicago", "America/Denver",
	"America/Halifax", "America/Los_Angeles", "America/Mexico_City", "America/New_York", "America/Santiago", "America/Sao_Paulo", "America/Toronto", "America/Vancouver",
	"Asia/Dubai", "Asia/Hong_Kong", "Asia/Jakarta", "Asia/Karachi", "Asia/Kolkata", "Asia/Manila", "Asia/Singapore", "Asia/Tokyo", "Australia/Adelaide", "Australia/Brisbane",
	"Australia/Darwin", "Australia/Melbourne", "Australia/Perth", "Australia/Sydney", "Europe/Amsterdam", "Europe/Athens", "Europe/Berlin", "Europe/Brussels", "Europe/Copenhagen",
	"Europe/Dublin", "Europe/Helsinki", "Europe/Istanbul", "Europe/Lisbon", "Europe/London", "Europe/Madrid", "Europe/Oslo", "Europe/Paris", "Europe/Prague", "Europe/Rome",
	"Europe/Stockholm", "Europe/Vienna", "Europe/Warsaw", "Europe/Zurich", "Pacific/Auckland", "Pacific/Honolulu", "UTC",
}

func (s *server) setupShow(v *visit) error {
	return s.setupForm(v, blank(), v.r.URL.Query().Get("step"))
}

// setupForm shows the steps; open names the one that stands open, "" for the first that is not done.
func (s *server) setupForm(v *visit, f *form, open string) error {
	p := &setupPage{Zones: zones, ReadIn: s.ReadTable != nil}
	p.Naming = []option{{Value: "letters", Label: "Rows have letters: A1, A2, … B1, B2, …", Chosen: true}, {Value: "numbers", Label: "Numbered along the rows: 1, 2, 3, …"}}
	for _, t := range aviary.PlaceTypes {
		p.Types = append(p.Types, option{Value: string(t), Label: capital(string(t))})
	}
	v.desk(func(d *advice.Desk) {
		set := d.Room.Settings(v.today)
		known := len(d.Room.Whole().Settings) > 0 && set.Zone != ""
		for name, value := range map[string]string{"name": set.Name, "zone": set.Zone} {
			if _, sent := f.Values[name]; !sent && value != "" {
				f.Values.Set(name, value)
			}
		}
		for name, value := range map[string]*float64{"latitude": set.Latitude, "longitude": set.Longitude} {
			if _, sent := f.Values[name]; !sent && value != nil {
				f.Values.Set(name, fmt.Sprint(*value))
			}
		}
		cages := 0
		for _, x := range d.Room.Places() {
			if x.Type != aviary.Cage {
				p.Other = append(p.Other, x)
				continue
			}
			cages++
			n := len(p.Banks)
			if n == 0 || p.Banks[n-1].Name != x.Bank {
				p.Banks = append(p.Banks, setupBank{Name: x.Bank})
				n++
			}
			p.Banks[n-1].Places = append(p.Banks[n-1].Places, x)
			if d.Room.PairNow(x.ID) != nil {
				p.Pairs++
			}
		}
		kept := d.Kept()
		for _, x := range d.Cat.All() {
			p.Species = append(p.Species, option{Value: x.Slug, Label: x.English, Chosen: kept[x.Slug]})
		}
		for _, b := range d.Room.Birds() {
			if b.Here() {
				p.Birds++
			}
		}
		w := d.AsFound()
		p.Walk = walkCount{len(w.Done), len(w.Cages)}
		named := len(set.Kept) > 0 || len(kept) > 0
		p.Steps = []setupStep{
			{"room", "Place and time", known, "Where the room is, so that its days and lamps are right."},
			{"cages", "Cages", cages > 0, count(cages, "cage", "cages") + ", " + count(len(p.Other), "other place", "other places")},
			{"species", "Species", named, fmt.Sprintf("%d kept", len(kept))},
			{"birds", "Birds", p.Birds > 0, fmt.Sprintf("%d in the room", p.Birds)},
			{"walk", "The wall as found", p.Walk.All > 0 && p.Walk.Done == p.Walk.All, fmt.Sprintf("%d of %d cages walked", p.Walk.Done, p.Walk.All)},
		}
	})
	left := 0
	for _, st := range p.Steps {
		if !st.Done {
			left++
			if open == "" {
				open = st.Key
			}
		}
	}
	p.Open = open
	switch {
	case left == 0:
		p.Headline, p.Sub = "The room is set up", "Anything can be changed here at any time."
	case left == len(p.Steps):
		p.Headline, p.Sub = "Set up your room", "Five short steps, about five minutes. What you do not know can wait."
	default:
		p.Headline = fmt.Sprintf("%d of %d steps are left", left, len(p.Steps))
	}
	p.Title, p.Tab, p.Form, p.Up, p.UpTo = "Set up", "more", f, "/more", "More"
	p.Class = "page narrow"
	return v.render("setup_show", p)
}

// setupRoomSend sets where the room is.
func (s *server) setupRoomSend(v *visit) error {
	f := v.form()
	body := &aviary.RoomSet{Name: f.textp("name"), Zone: f.textp("zone"), Latitude: f.floatp("latitude"), Longitude: f.floatp("longitude")}
	if body.Zone == nil {
		f.wrong("zone", "choose the time zone")
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return s.setupForm(v, f, "room") })
	}
	return v.see("/setup?step=cages")
}

// setupSpeciesSend says which species are kept.
func (s *server) setupSpeciesSend(v *visit) error {
	f := v.form()
	body := &aviary.RoomSet{}
	v.desk(func(d *advice.Desk) {
		for _, slug := range f.words("species_kept") {
			if d.Cat.BySlug(slug) == nil {
				f.wrong("species_kept", "choose from the list; %q is not on it", short(slug))
				continue
			}
			body.Kept = append(body.Kept, slug)
		}
	})
	if len(body.Kept) == 0 {
		f.wrong("species_kept", "tick at least one species")
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, func(v *visit, f *form) error { return s.setupForm(v, f, "species") })
	}
	return v.see("/setup?step=birds")
}
