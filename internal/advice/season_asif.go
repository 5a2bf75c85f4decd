package advice

import (
	"time"

	"broodlight/internal/aviary"
)

// asIf are plans that are only thought of: a desk with them answers as it would if they were written today.
type asIf struct {
	lamps []aviary.LampPlan
	feed  []aviary.FeedPlan
	place *aviary.RoomSet
}

// If returns a desk that answers as it would if the plans were written today and the room stood at the place; place may be nil.
// Nothing is written.
func (d *Desk) If(lamps []*aviary.LampPlanned, feed []*aviary.FeedPlanned, place *aviary.RoomSet) *Desk {
	x := At(d.Room, d.Today, d.Now)
	x.asIf = &asIf{place: place}
	for _, b := range lamps {
		x.asIf.lamps = append(x.asIf.lamps, aviary.LampPlan{Day: d.Today, LampPlanned: *b})
	}
	for _, b := range feed {
		x.asIf.feed = append(x.asIf.feed, aviary.FeedPlan{Day: d.Today, FeedPlanned: *b})
	}
	return x
}

// lampPlans are the plans of the books, with those that are thought of last.
func (d *Desk) lampPlans() []aviary.LampPlan {
	list := d.Room.Whole().LampPlans
	if d.asIf == nil || len(d.asIf.lamps) == 0 {
		return list
	}
	return append(list[:len(list):len(list)], d.asIf.lamps...)
}

// feedPlans are the plans of the books, with those that are thought of last.
func (d *Desk) feedPlans() []aviary.FeedPlan {
	list := d.Room.Whole().FeedPlans
	if d.asIf == nil || len(d.asIf.feed) == 0 {
		return list
	}
	return append(list[:len(list):len(list)], d.asIf.feed...)
}

// settings are those of today, with the place that is thought of.
func (d *Desk) settings() aviary.Settings {
	s := d.Room.Settings(d.Today)
	if d.asIf != nil && d.asIf.place != nil {
		if p := d.asIf.place; p.Latitude != nil && p.Longitude != nil {
			s.Latitude, s.Longitude = p.Latitude, p.Longitude
		}
		if p := d.asIf.place; p.Zone != nil {
			s.Zone = *p.Zone
		}
	}
	return s
}

// zone is the room's time zone today, or the one that is thought of.
func (d *Desk) zone() *time.Location {
	if d.asIf != nil && d.asIf.place != nil && d.asIf.place.Zone != nil {
		if loc, err := time.LoadLocation(*d.asIf.place.Zone); err == nil {
			return loc
		}
	}
	return d.Room.Zone(d.Today)
}
