package demo

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"broodlight/internal/aviary"
)

// Days of a season, from its middle: today, or the same day a year or two before.
const (
	yearDays  = 365
	boughtOn  = -146 // birds that are bought for the season come, and sit apart
	releaseOn = -112 // they may leave quarantine
	pairFrom  = -100 // the first pairs are put up
	lastEgg   = 0    // in a season that is over no clutch was begun later
	partBy    = 75   // all young are parted
)

// seasons is how many seasons the books hold, the one that is under way included.
const seasons = 3

// firstDay is the day on which the books begin.
const firstDay = boughtOn - 10 - (seasons-1)*yearDays

// Room returns the entries of an invented room on a day, in the order of happening. The zone is that of the
// room; it must have a name of the tz database. The last entries are of the day before today.
func Room(seed uint64, today aviary.Date, zone *time.Location) []*aviary.Entry {
	w := &world{
		// The second word only sets this generator apart from others with the same seed.
		rng:   rand.New(rand.NewPCG(seed, 0x62726f6f646c6974)),
		today: today, zone: zone, kinds: kinds(), ticks: map[moment]int{},
	}
	w.furnish()
	w.listRings()
	for n := 1; n <= seasons; n++ {
		off := (n - seasons) * yearDays
		couples := w.couple(n, off)
		w.lamps(off)
		w.feed(off)
		if n < seasons {
			w.pastSeason(n, off, couples)
			w.grow()
			w.lull(n, off)
		} else {
			w.thisSeason(n, couples)
			w.grow()
		}
	}
	w.numberRings()
	w.untidy()
	w.plans()
	slices.SortStableFunc(w.entries, compare)
	return w.entries
}

// Where the room stands is invented: in the middle of its zone, at the latitude of a northern winter.
const latitude = 52.0

// furnish writes the room, its cages and flights into the books.
func (w *world) furnish() {
	const at = 9 * 60
	first := w.date(0).Time().AddDate(0, 0, boughtOn-4)
	start := fmt.Sprintf("%02d-01", int(first.Month()))
	ends := w.date(partBy + 10).Time()
	_, east := time.Date(w.today.Year(), time.January, 1, 12, 0, 0, 0, w.zone).Zone()
	w.keep(firstDay, at, &aviary.RoomSet{
		Name: new("Furrow Cottage bird room"), Zone: new(w.zone.String()), Latitude: new(latitude), Longitude: new(float64(east) / 240),
		Kept: w.slugs(), SeasonStart: &start, LullFrom: new(fmt.Sprintf("%02d-01", int(ends.Month()))), LullTo: &start,
	})
	add := func(name string, kind aviary.PlaceType, bank string, row, col, holds int, outdoor bool, minute int) *place {
		p := &place{id: w.thing(firstDay), name: name, minute: minute}
		body := &aviary.PlaceAdded{Place: p.id, Name: name, Type: kind, Bank: bank, Row: row, Col: col, Outdoor: outdoor}
		if holds > 0 {
			body.Capacity = &holds
		}
		w.keep(firstDay, at+2, body)
		return p
	}
	scenes := scenes()
	for bay := range 3 {
		for col := range 4 {
			for row := range 4 {
				name := fmt.Sprintf("%c%d", 'A'+row, bay*4+col+1)
				p := add(name, aviary.Cage, fmt.Sprintf("Bay %d", bay+1), row+1, col+1, 0, false, walk+len(w.cages)*3/2)
				s, ok := scenes[name]
				if !ok {
					panic("demo: no scene for cage " + name)
				}
				p.scene = s
				w.cages = append(w.cages, p)
			}
		}
	}
	w.flight[0] = add("Flight 1", aviary.Flight, "", 0, 0, 36, false, walk+80)
	w.flight[1] = add("Flight 2", aviary.Flight, "", 0, 0, 36, false, walk+84)
	w.aviary = add("Outdoor aviary", aviary.Aviary, "", 0, 0, 36, true, walk+90)
	w.quarantine = add("Quarantine", aviary.Quarantine, "", 0, 0, 6, false, walk+100)
	w.hospital = add("Hospital", aviary.Hospital, "", 0, 0, 2, false, walk+104)
	for _, p := range append([]*place{w.quarantine, w.hospital}, w.cages...) {
		w.keep(firstDay, at+30, &aviary.JobDone{Place: p.id, Job: "as found"}) // empty when the books began
	}
}

// slugs lists the species that are kept.
func (w *world) slugs() []string {
	var out []string
	for _, k := range w.kinds {
		out = append(out, k.slug)
	}
	return out
}

// kind returns the species with a slug.
func (w *world) kind(slug string) *kind {
	for _, k := range w.kinds {
		if k.slug == slug {
			return k
		}
	}
	panic("demo: no species " + slug)
}

// ringLists are the rings that the keeper orders each year: from which number, how many, and of which size.
var ringLists = []struct {
	size     float64
	from, to int
	species  []string
}{
	{2.7, 1, 150, []string{"zebra", "bengalese"}},
	{2.5, 201, 260, []string{"gouldian", "blue-faced"}},
	{2.3, 301, 340, []string{"star", "cordon-bleu"}},
}

const issuer = "FC"

// listRings writes the rings on hand, year by year.
func (w *world) listRings() {
	for year := w.date(firstDay).Year(); year <= w.today.Year(); year++ {
		day := max(firstDay, w.offset(aviary.DateOf(year, time.January, 1)))
		if day >= 0 {
			return // those of a year that begins today have not come
		}
		for _, l := range ringLists {
			w.keep(day, deskTime, &aviary.RingsListed{Issuer: issuer, Year: year, From: l.from, To: l.to, Digits: 3, Size: l.size, Species: l.species})
		}
	}
}

// numberRings gives the ringed chicks their rings, in the order in which they were ringed.
func (w *world) numberRings() {
	slices.SortStableFunc(w.ringed, func(a, b ringing) int { return compare(a.entry, b.entry) })
	next := map[[2]int]int{}
	for _, r := range w.ringed {
		year := r.entry.Day.Year()
		for i, l := range ringLists {
			if l.size == r.bird.kind.ringSize {
				key := [2]int{year, i}
				if next[key] == 0 {
					next[key] = l.from
				}
				r.body.Ring = aviary.Ring{Issuer: issuer, Year: year, Number: fmt.Sprintf("%03d", next[key])}
				next[key]++
			}
		}
	}
}
