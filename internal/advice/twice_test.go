package advice

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// TestTwices asks about two looks of one round by two people that cannot both be right, and about nothing else.
func TestTwices(t *testing.T) {
	place, box, other := aviary.ID{1}, aviary.ID{2}, aviary.ID{3}
	n := func(i int) *int { return &i }
	day := aviary.MustDate("2026-01-13")
	look := func(by string, hour, minute int, b aviary.NestCheck) *aviary.Entry {
		b.Place = place
		return &aviary.Entry{Day: day, Time: aviary.ClockOf(hour, minute), By: by, Body: &b}
	}
	for _, c := range []struct {
		name  string
		a, b  *aviary.Entry
		asked bool
	}{
		{"other counts", look("Ann", 7, 1, aviary.NestCheck{Look: "changed", Eggs: n(5)}), look("Tom", 7, 3, aviary.NestCheck{Look: "changed", Eggs: n(4)}), true},
		{"one saw a change", look("Ann", 7, 1, aviary.NestCheck{Look: "same"}), look("Tom", 7, 3, aviary.NestCheck{Look: "changed", Eggs: n(4), Chicks: n(1)}), true},
		{"the same counts", look("Ann", 7, 1, aviary.NestCheck{Look: "changed", Eggs: n(4)}), look("Tom", 7, 3, aviary.NestCheck{Look: "changed", Eggs: n(4)}), false},
		{"both saw no change", look("Ann", 7, 1, aviary.NestCheck{Look: "same"}), look("Tom", 7, 3, aviary.NestCheck{Look: "same"}), false},
		{"one person twice", look("Ann", 7, 1, aviary.NestCheck{Eggs: n(5)}), look("Ann", 7, 3, aviary.NestCheck{Eggs: n(4)}), false},
		{"morning and noon", look("Ann", 7, 1, aviary.NestCheck{Eggs: n(5)}), look("Tom", 9, 2, aviary.NestCheck{Eggs: n(4)}), false},
		{"within two hours", look("Ann", 7, 1, aviary.NestCheck{Eggs: n(5)}), look("Tom", 9, 1, aviary.NestCheck{Eggs: n(4)}), true},
		{"two boxes", look("Ann", 7, 1, aviary.NestCheck{Eggs: n(5), Box: box}), look("Tom", 7, 3, aviary.NestCheck{Eggs: n(4), Box: other}), false},
		{"one box, one not named", look("Ann", 7, 1, aviary.NestCheck{Eggs: n(5), Box: box}), look("Tom", 7, 3, aviary.NestCheck{Eggs: n(4)}), true},
		{"left alone", look("Ann", 7, 1, aviary.NestCheck{Eggs: n(5)}), look("Tom", 7, 3, aviary.NestCheck{Look: "sitting"}), false},
		{"an answer is no look", look("Ann", 7, 1, aviary.NestCheck{Look: "changed", Eggs: n(4)}), look("Tom", 7, 3, aviary.NestCheck{GoneEggs: n(1), GoneEggsWhy: "eaten"}), false},
		{"eggs by one, chicks by the other", look("Ann", 7, 1, aviary.NestCheck{Eggs: n(4)}), look("Tom", 7, 3, aviary.NestCheck{Chicks: n(2)}), false},
	} {
		for turned, pair := range map[bool][]*aviary.Entry{false: {c.a, c.b}, true: {c.b, c.a}} {
			list := []*aviary.Entry{{ID: aviary.ID{9}, Kind: "place_added", Version: 1, Day: day - 30, Body: &aviary.PlaceAdded{Place: place, Name: "A3", Type: aviary.Cage}}}
			for i, e := range pair {
				x := *e
				x.ID, x.Kind, x.Version = aviary.ID{10, byte(i)}, "nest_check", 1
				list = append(list, &x)
			}
			r := aviary.Replay(list)
			d := At(r, day, aviary.ClockOf(9, 0))
			got := d.Twices(r.Place(place))
			if (len(got) == 1) != c.asked || len(got) > 1 {
				t.Errorf("%s (turned %t): asked about %d times, want %t", c.name, turned, len(got), c.asked)
				continue
			}
			if c.asked && (!strings.Contains(got[0].Text, "Ann, 07:01") || !strings.Contains(got[0].Text, "Tom, ")) {
				t.Errorf("%s: text is %q", c.name, got[0].Text)
			}
			late := At(r, day+15, aviary.ClockOf(9, 0))
			if n := len(late.Twices(r.Place(place))); n != 0 {
				t.Errorf("%s: still asked about after a fortnight", c.name)
			}
		}
	}
}
