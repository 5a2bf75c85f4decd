package advice

import (
	"context"
	"math"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

func matings(t *testing.T, d *Desk, q MatingQuery) *Matings {
	t.Helper()
	m, err := d.Matings(context.Background(), q)
	if err != nil || m.Problem != "" {
		t.Fatal(err, m)
	}
	return m
}

// family is a room with two unrelated pairs and their grown young: sister and brother, half-sister, and an aunt.
func family(t *testing.T) (*book, map[string]aviary.ID) {
	rows := [][3]string{
		{"c1"},
		{"h1"},
		{"h2"},
		{"c3"},
		{"h3"},
		{"son", "c1", "h1"},
		{"daughter", "c1", "h1"},
		{"half", "c1", "h2"},
		{"grandson", "c3", "daughter"},
		{"other", "c3", "h3"},
	}
	sex := map[string]aviary.Sex{"c1": aviary.Cock, "c3": aviary.Cock, "son": aviary.Cock, "grandson": aviary.Cock}
	for _, h := range []string{"h1", "h2", "h3", "daughter", "half", "other"} {
		sex[h] = aviary.Hen
	}
	return pedigreeRoom(t, rows, sex)
}

func cell(t *testing.T, m *Matings, cock, hen string) Mating {
	t.Helper()
	for i, c := range m.Cocks {
		for j, h := range m.Hens {
			if c.Bird.Name == cock && h.Bird.Name == hen {
				return m.Cells[i][j]
			}
		}
	}
	t.Fatalf("%s and %s are not offered", cock, hen)
	return Mating{}
}

func TestMatings_CloseKinIsForbiddenByName(t *testing.T) {
	b, _ := family(t)
	m := matings(t, b.desk("2026-01-13"), MatingQuery{Species: "zebra"})
	for _, c := range []struct {
		cock, hen string
		kinship   float64
		forbidden string
	}{
		{"c1", "h1", 0, ""},
		{"son", "daughter", 0.25, "sister"},
		{"son", "half", 0.125, "half-sister"},
		{"son", "h1", 0.25, "dam"},
		{"c1", "daughter", 0.25, "daughter"},
		{"grandson", "h1", 0.125, "granddam"},
		{"grandson", "half", 0.0625, ""},
		{"grandson", "other", 0.125, "half-sister"},
		{"son", "other", 0, ""},
	} {
		got := cell(t, m, c.cock, c.hen)
		if math.Abs(got.Kinship-c.kinship) > 1e-12 || got.Forbidden != c.forbidden {
			t.Errorf("%s × %s: related %v, forbidden %q; want %v, %q", c.cock, c.hen, got.Kinship, got.Forbidden, c.kinship, c.forbidden)
		}
	}
	if got := matings(t, b.desk("2026-01-13"), MatingQuery{Species: "zebra", Closest: 0.05}); cell(t, got, "grandson", "half").Forbidden == "" {
		t.Error("a stricter limit forbids no more")
	}
}

func TestMatings_RulesAndWhoIsLeftOut(t *testing.T) {
	b, ids := family(t)
	b.add("2025-01-01", &aviary.PairRuled{Cock: ids["c1"], Hen: ids["h3"], Rule: "apart", Why: "they fought"})
	b.add("2025-01-01", &aviary.PairRuled{Cock: ids["c3"], Hen: ids["h1"], Rule: "together"})
	b.add("2025-01-01", &aviary.BirdHeld{Bird: ids["h2"], Until: aviary.MustDate("2026-03-01"), Why: "rest"})
	b.add("2025-01-01", &aviary.PlaceAdded{Place: a1, Name: "A1", Type: aviary.Cage})
	b.add("2025-11-01", &aviary.PairSet{Pair: pair1, Place: a1, Cocks: []aviary.ID{ids["son"]}, Hens: []aviary.ID{ids["other"]}})
	b.add("2025-11-01", &aviary.BirdAcquired{Bird: id(300), Species: "zebra", Name: "who", Place: flight})
	b.add("2025-12-01", &aviary.BirdAcquired{Bird: id(301), Species: "zebra", Sex: aviary.Cock, Name: "boy", Hatched: aviary.MustDate("2025-11-15"), Place: flight})
	d := b.desk("2026-01-13")
	m := matings(t, d, MatingQuery{Species: "zebra"})
	if got := cell(t, m, "c1", "h3"); got.Forbidden != "your rule: they fought" {
		t.Errorf("forbidden %q", got.Forbidden)
	}
	if !cell(t, m, "c3", "h1").Wanted {
		t.Error("a wanted pair is not marked")
	}
	out := map[string]string{}
	for _, x := range m.Out {
		out[x.Bird.Name] = x.Why
	}
	for name, why := range map[string]string{"h2": "kept out of pairs: rest, until 1 Mar", "son": "paired in A1", "other": "paired in A1", "who": "sex not known", "boy": "too young"} {
		if out[name] != why {
			t.Errorf("%s is left out for %q, want %q", name, out[name], why)
		}
	}
	if got := cell(t, matings(t, d, MatingQuery{Species: "zebra", All: true}), "son", "other"); !got.Together {
		t.Error("a pair that stands is not marked when all birds are asked for")
	}
}

// The young expected are those of the room, moved by what each bird's own pairs weaned and shrunk with the weight of two pairs.
func TestMatings_YoungExpected(t *testing.T) {
	y := &yields{bird: map[aviary.ID]yield{}, pair: map[[2]aviary.ID]yield{}, all: yield{10, 40}, first: yield{4, 8}}
	usual := y.usual()
	if want := (40 + 2*3.0) / 12; math.Abs(usual.Mean-want) > 1e-12 {
		t.Fatalf("usual %v, want %v", usual.Mean, want)
	}
	good, poor, fresh, new := Mate{Bird: &aviary.Bird{ID: id(1)}, Seasons: 2}, Mate{Bird: &aviary.Bird{ID: id(2)}, Seasons: 3}, Mate{Bird: &aviary.Bird{ID: id(3)}}, Mate{Bird: &aviary.Bird{ID: id(4)}}
	y.bird[id(1)], y.bird[id(2)] = yield{2, 14}, yield{3, 3}
	y.pair[[2]aviary.ID{id(1), id(2)}] = yield{1, 6}
	m := usual.Mean
	for _, c := range []struct {
		name      string
		cock, hen Mate
		want      float64
	}{
		{"own results together", good, poor, (6 + 2*m) / 3},
		{"a good cock and a new hen", good, fresh, (14 + 2*m) / 4},
		{"a poor hen", fresh, poor, (3 + 2*m) / 5},
		{"two first-timers", fresh, new, (8 + 2*firstTimers*m) / 6},
	} {
		mean, sd, basis := y.expect(c.cock, c.hen, usual)
		if math.Abs(mean-c.want) > 1e-12 || !(sd > math.Sqrt(mean)) || basis == "" {
			t.Errorf("%s: %v ± %v (%s), want %v", c.name, mean, sd, basis, c.want)
		}
	}
}

func TestMatings_LooksOfYoung(t *testing.T) {
	b := zebras(t)
	b.add("2025-02-01", &aviary.LookSeen{Bird: cock2, Trait: "body", Look: "grey"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: hen2, Trait: "body", Look: "fawn"})
	b.add("2025-03-01", &aviary.BirdAcquired{Bird: id(200), Species: "zebra", Sex: aviary.Hen, Sire: cock2, Dam: hen2, Looks: []string{"body=fawn"}})
	m := matings(t, b.desk("2026-01-13"), MatingQuery{Species: "zebra"})
	for i, c := range m.Cocks {
		for j, h := range m.Hens {
			if c.Bird.ID != cock2 || h.Bird.ID != hen2 {
				continue
			}
			// A split cock and a fawn hen: a quarter each of grey and fawn sons and daughters.
			got := m.Cells[i][j].Looks
			if len(got) != 4 {
				t.Fatalf("looks %+v", got)
			}
			for _, l := range got {
				if math.Abs(l.Share-0.25) > 1e-9 || !strings.Contains("grey fawn", l.Look) {
					t.Errorf("%+v", l)
				}
			}
			return
		}
	}
	t.Error("the pair is not offered")
}

func TestMatings_MixedHeadsAreAdviceAndNoBar(t *testing.T) {
	b := &book{tb: t}
	b.add("2025-01-01", &aviary.PlaceAdded{Place: flight, Name: "Flight 1", Type: aviary.Flight})
	b.add("2025-01-02", &aviary.BirdAcquired{Bird: cock, Species: "gouldian", Sex: aviary.Cock, Name: "red", Place: flight, Looks: []string{"head=red"}})
	b.add("2025-01-02", &aviary.BirdAcquired{Bird: hen, Species: "gouldian", Sex: aviary.Hen, Name: "black", Place: flight, Looks: []string{"head=black, tip not noted"}})
	b.add("2025-01-02", &aviary.BirdAcquired{Bird: hen2, Species: "gouldian", Sex: aviary.Hen, Name: "yellow", Place: flight, Looks: []string{"head=yellow"}})
	m := matings(t, b.desk("2026-01-13"), MatingQuery{Species: "gouldian"})
	mixed, same := cell(t, m, "red", "black"), cell(t, m, "red", "yellow")
	if mixed.Forbidden != "" || !strings.Contains(strings.Join(mixed.Notes, " "), "Pryke & Griffith 2009") {
		t.Errorf("mixed heads: %+v", mixed)
	}
	if strings.Contains(strings.Join(same.Notes, " "), "Mixed head") {
		t.Errorf("red with yellow: %q", same.Notes)
	}
}
