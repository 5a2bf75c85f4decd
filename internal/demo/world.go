package demo

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
)

// The people of the room.
const (
	Keeper = "Nell"
	Helper = "Tom"
)

// world is the room in the making.
type world struct {
	rng     *rand.Rand
	today   aviary.Date
	zone    *time.Location
	kinds   []*kind
	entries []*aviary.Entry
	ticks   map[moment]int // entries so far in one minute

	cages  []*place // on the wall, in walking order
	flight [2]*place
	aviary *place
	quarantine,
	hospital *place
	birds  []*bird
	ringed []ringing
	pairs  []*pair // of the season under way
}

type moment struct{ day, minute int }

// place is a cage or flight with the minute at which the walk passes it.
type place struct {
	id     aviary.ID
	name   string
	minute int
	scene  scene
}

// ringing is a chick's ring that gets its number when all ringings are known.
type ringing struct {
	entry *aviary.Entry
	body  *aviary.ChickRinged
	bird  *bird
}

// Times of day, in minutes after midnight.
const (
	feeding  = 6*60 + 30
	walk     = 7*60 + 10
	evening  = 17*60 + 20
	deskTime = 19*60 + 40
)

func (w *world) date(day int) aviary.Date { return w.today + aviary.Date(day) }

// offset is the number of days after today of a date.
func (w *world) offset(d aviary.Date) int { return int(d - w.today) }

func (w *world) instant(day, minute int) time.Time {
	t := w.date(day).Time()
	return time.Date(t.Year(), t.Month(), t.Day(), minute/60, minute%60, 0, 0, w.zone).UTC()
}

// id mints a version-7 UUID of a moment; its random bits come from the seed.
func (w *world) id(at time.Time) aviary.ID {
	var id uuid.UUID
	binary.BigEndian.PutUint64(id[:8], uint64(at.UnixMilli())<<16|w.rng.Uint64()&0x0fff|0x7000)
	binary.BigEndian.PutUint64(id[8:], w.rng.Uint64()&0x3fff_ffff_ffff_ffff|0x8000_0000_0000_0000)
	return id
}

// thing mints the id of a bird, place, pair, box or group that comes into the books on a day.
func (w *world) thing(day int) aviary.ID { return w.id(w.instant(day, walk)) }

// write adds an entry that was written when it happened.
func (w *world) write(day, minute int, by string, body aviary.Body) *aviary.Entry {
	m := moment{day, minute}
	w.ticks[m]++
	at := w.instant(day, minute).Add(time.Duration(w.ticks[m]) * time.Second)
	e := &aviary.Entry{ID: w.id(at), Kind: body.Kind(), Version: 1, Day: w.date(day), Time: aviary.ClockOf(minute/60, minute%60), Written: at, By: by, Body: body}
	w.entries = append(w.entries, e)
	return e
}

// keep adds an entry of the keeper's. What happened while he was away he wrote down when he was back.
func (w *world) keep(day, minute int, body aviary.Body) *aviary.Entry {
	e := w.write(day, minute, Keeper, body)
	if helperDays(day) {
		e.Written = e.Written.AddDate(0, 0, awayTo+1-day)
	}
	return e
}

// strike strikes out an entry a while after it was written.
func (w *world) strike(e *aviary.Entry, day, minute int, reason string) {
	s := w.write(day, minute, e.By, &aviary.Strike{Reason: reason})
	s.Strikes = e.ID
}

func compare(a, b *aviary.Entry) int {
	return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Time, b.Time), a.Written.Compare(b.Written), bytes.Compare(a.ID[:], b.ID[:]))
}

// between draws a whole number from low to high, both included.
func (w *world) between(low, high int) int { return low + w.rng.IntN(high-low+1) }

func (w *world) chance(p float64) bool { return w.rng.Float64() < p }

func pick[T any](w *world, list ...T) T { return list[w.rng.IntN(len(list))] }

// helperDays are the days on which the helper looked after the room.
func helperDays(day int) bool { return day >= awayFrom && day <= awayTo }

const awayFrom, awayTo = -24, -22

// lookedBy says who looks into the nests on a day.
func (w *world) lookedBy(day int) string {
	if helperDays(day) {
		return Helper
	}
	return Keeper
}
