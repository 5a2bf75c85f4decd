package advice

import (
	"math"
	"slices"
	"testing"

	"broodlight/internal/aviary"
)

func codes(ws []Warning) []string {
	var out []string
	for _, w := range ws {
		out = append(out, w.Code)
	}
	slices.Sort(out)
	return out
}

func TestWarnings_Table(t *testing.T) {
	for _, tt := range []struct {
		name string
		set  func(b *book) (day string, body aviary.Body)
		want []string
	}{
		{"grown, unrelated", func(*book) (string, aviary.Body) {
			return "2026-01-20", &aviary.PairSet{Pair: id(22), Place: a2, Cocks: []aviary.ID{cock2}, Hens: []aviary.ID{hen2}}
		}, nil},
		{"hen too young", func(b *book) (string, aviary.Body) {
			b.add("2026-01-12", &aviary.BirdAcquired{Bird: id(50), Species: "zebra", Sex: aviary.Hen, Hatched: aviary.MustDate("2025-10-01"), Place: flight})
			return "2026-01-20", &aviary.PairSet{Pair: id(22), Place: a2, Cocks: []aviary.ID{cock2}, Hens: []aviary.ID{id(50)}}
		}, []string{"hen too young"}},
		{"age not known", func(b *book) (string, aviary.Body) {
			b.add("2026-01-12", &aviary.BirdAcquired{Bird: id(50), Species: "zebra", Sex: aviary.Hen, Place: flight})
			return "2026-01-20", &aviary.PairSet{Pair: id(22), Place: a2, Cocks: []aviary.ID{cock2}, Hens: []aviary.ID{id(50)}}
		}, nil},
		{"hen too old", func(b *book) (string, aviary.Body) {
			b.add("2026-01-12", &aviary.BirdAcquired{Bird: id(50), Species: "zebra", Sex: aviary.Hen, Hatched: aviary.MustDate("2018-01-01"), Place: flight})
			return "2026-01-20", &aviary.PairSet{Pair: id(22), Place: a2, Cocks: []aviary.ID{cock2}, Hens: []aviary.ID{id(50)}}
		}, []string{"hen too old"}},
		{"brother and sister", func(b *book) (string, aviary.Body) {
			for i, sex := range []aviary.Sex{aviary.Cock, aviary.Hen} {
				b.add("2026-01-12", &aviary.BirdAcquired{Bird: id(50 + i), Species: "zebra", Sex: sex, Hatched: aviary.MustDate("2025-01-05"), Sire: cock2, Dam: hen2, Place: flight})
			}
			return "2026-01-20", &aviary.PairSet{Pair: id(22), Place: a2, Cocks: []aviary.ID{id(50)}, Hens: []aviary.ID{id(51)}}
		}, []string{"close kin"}},
		{"species mixed", func(b *book) (string, aviary.Body) {
			b.add("2026-01-12", &aviary.BirdAcquired{Bird: id(50), Species: "star", Sex: aviary.Hen, Hatched: aviary.MustDate("2024-06-01"), Place: flight})
			return "2026-01-20", &aviary.PairSet{Pair: id(22), Place: a2, Cocks: []aviary.ID{cock2}, Hens: []aviary.ID{id(50)}}
		}, []string{"species mixed"}},
		{"two zebra cocks in a cage", func(*book) (string, aviary.Body) {
			return "2026-01-20", &aviary.BirdMoved{Bird: cock2, Place: a1}
		}, []string{"cocks quarrel"}},
		{"two zebra cocks in a flight", func(b *book) (string, aviary.Body) {
			b.add("2026-01-12", &aviary.BirdMoved{Bird: cock2, Place: a2})
			return "2026-01-20", &aviary.BirdMoved{Bird: cock2, Place: flight}
		}, nil},
		{"fourth clutch", func(b *book) (string, aviary.Body) {
			for _, c := range []struct{ eggs, gone string }{{"2026-01-20", "2026-02-01"}, {"2026-02-10", "2026-02-20"}, {"2026-03-01", "2026-03-20"}} {
				b.add(c.eggs, &aviary.NestCheck{Place: a1, Eggs: ptr(4), Chicks: ptr(0)})
				b.add(c.gone, &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0), GoneEggs: ptr(4), GoneEggsWhy: "taken out"})
			}
			return "2026-04-01", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(0)}
		}, []string{"one clutch more"}},
		{"one egg more in the third clutch", func(b *book) (string, aviary.Body) {
			for _, c := range []struct{ eggs, gone string }{{"2026-01-20", "2026-02-01"}, {"2026-02-10", "2026-02-20"}} {
				b.add(c.eggs, &aviary.NestCheck{Place: a1, Eggs: ptr(4), Chicks: ptr(0)})
				b.add(c.gone, &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0), GoneEggs: ptr(4), GoneEggsWhy: "taken out"})
			}
			b.add("2026-03-01", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(0)})
			return "2026-03-02", &aviary.NestCheck{Place: a1, Eggs: ptr(2), Chicks: ptr(0)}
		}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := zebras(t)
			day, body := tt.set(b)
			d := b.desk(day)
			n := len(b.list)
			e := b.add(day, body)
			b.list = b.list[:n]
			ws := d.Warnings(e)
			if got := codes(ws); !slices.Equal(got, tt.want) {
				t.Errorf("warnings = %v, want %v", got, tt.want)
			}
			for _, w := range ws {
				if w.Text == "" || w.Says == "" {
					t.Errorf("%s: says %q on the basis of %q", w.Code, w.Text, w.Says)
				}
			}
		})
	}
}

// Wright (1922): brother and sister 1/4, half brother and sister 1/8, parent and young 1/4, unrelated 0.
func TestRelated_StandardDegrees(t *testing.T) {
	b := zebras(t)
	add := func(n int, sire, dam aviary.ID) aviary.ID {
		b.add("2026-01-12", &aviary.BirdAcquired{Bird: id(n), Species: "zebra", Hatched: aviary.MustDate("2025-01-05"), Sire: sire, Dam: dam, Place: flight})
		return id(n)
	}
	x, y, half := add(50, cock2, hen2), add(51, cock2, hen2), add(52, cock2, hen)
	d := b.desk("2026-01-18")
	for _, tt := range []struct {
		a, b aviary.ID
		want float64
	}{{x, y, 0.25}, {x, half, 0.125}, {x, cock2, 0.25}, {x, cock, 0}, {hen, hen2, 0}} {
		if got := d.Related(tt.a, tt.b); math.Abs(got.Kinship-tt.want) > 1e-12 {
			t.Errorf("kinship = %v, want %v", got.Kinship, tt.want)
		}
	}
}
