package advice

import (
	"encoding/binary"
	"testing"
	"time"

	"broodlight/internal/aviary"
)

// book writes entries by hand for tests, in an invented room.
type book struct {
	tb   testing.TB
	n    int
	list []*aviary.Entry
}

func id(n int) aviary.ID {
	var x aviary.ID
	binary.BigEndian.PutUint64(x[8:], uint64(n))
	x[0] = 1
	return x
}

func (b *book) add(day string, body aviary.Body) *aviary.Entry {
	b.n++
	e := &aviary.Entry{ID: id(1000000 + b.n), Kind: body.Kind(), Version: 1, Day: aviary.MustDate(day), Written: time.Date(2026, 7, 1, 0, 0, b.n, 0, time.UTC), By: "Ann", Body: body}
	b.list = append(b.list, e)
	return e
}

func (b *book) desk(day string) *Desk {
	b.tb.Helper()
	r := aviary.Replay(b.list)
	for _, a := range r.Aside() {
		b.tb.Fatalf("%s of %s is set aside: %s", a.Entry.Kind, a.Entry.Day, a.Clash.Message)
	}
	return At(r, aviary.MustDate(day), 0)
}

func ptr[T any](v T) *T { return &v }

var (
	a1, a2, flight, box1 = id(1), id(2), id(3), id(5)
	cock, hen            = id(11), id(12)
	cock2, hen2          = id(13), id(14)
	pair1                = id(21)
)

// zebras is a room with two cages and a flight, four grown zebra finches, and a pair in A1 since 10 January 2026.
func zebras(tb testing.TB) *book {
	b := &book{tb: tb}
	b.add("2025-01-01", &aviary.RoomSet{Name: ptr("Furrow Cottage"), Zone: ptr("Europe/Dublin"), Latitude: ptr(53.3), Longitude: ptr(-6.2)})
	b.add("2025-01-01", &aviary.PlaceAdded{Place: a1, Name: "A1", Type: aviary.Cage, Bank: "Bay 1", Row: 1, Col: 1})
	b.add("2025-01-01", &aviary.PlaceAdded{Place: a2, Name: "A2", Type: aviary.Cage, Bank: "Bay 1", Row: 1, Col: 2})
	b.add("2025-01-01", &aviary.PlaceAdded{Place: flight, Name: "Flight 1", Type: aviary.Flight, Capacity: ptr(24)})
	b.add("2025-01-01", &aviary.LampSet{On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(20, 0)})
	for i, x := range []struct {
		id  aviary.ID
		sex aviary.Sex
	}{{cock, aviary.Cock}, {hen, aviary.Hen}, {cock2, aviary.Cock}, {hen2, aviary.Hen}} {
		b.add("2025-01-02", &aviary.BirdAcquired{Bird: x.id, Species: "zebra", Sex: x.sex, Hatched: aviary.MustDate("2024-03-01"), Ring: aviary.Ring{Issuer: "FC", Year: 2024, Number: string(rune('1' + i))}, Place: flight})
	}
	b.add("2026-01-10", &aviary.PairSet{Pair: pair1, Place: a1, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}})
	b.add("2026-01-10", &aviary.BoxHung{Box: box1, Place: a1})
	return b
}
