package cli

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// Without limits the command and the pages, which solve one assignment for each weight, come to sets of one value.
func TestPairsPlan_AgreesWithThePages(t *testing.T) {
	dir := t.TempDir()
	book, err := openDemo(t.Context(), dir, 3)
	if err != nil {
		t.Fatal(err)
	}
	if err := book.Close(); err != nil {
		t.Fatal(err)
	}
	room, err := readRoom(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	desk := advice.At(room, dayIn(room), 0)
	code, out, errs := run("", "pairs", "plan", "--data", dir, "--all", "--wishes", "0", "--weight", "0.4", "--closest", "0.2", "--json")
	if code != exitFine {
		t.Fatal(errs)
	}
	var got struct{ Species []plannedSpecies }
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	compared := 0
	for _, s := range got.Species {
		if s.Problem != "" {
			continue
		}
		want, err := desk.Pairs(t.Context(), advice.PairQuery{MatingQuery: advice.MatingQuery{Species: s.Species, All: true, Closest: 0.2}, Weight: 0.4}, nil)
		if err != nil {
			t.Fatal(err)
		}
		set := s.Sets[0]
		value := want.Best.Young - 0.4*100*want.Best.Related*float64(len(want.Best.Pairs))
		if set.Pairs != len(want.Best.Pairs) || set.Status != "proven" || math.Abs(set.Young-0.4*100*set.Inbreeding*float64(set.Pairs)-value) > 1e-9 {
			t.Errorf("%s: %+v, the pages have %d pairs of value %v", s.Species, set, len(want.Best.Pairs), value)
		}
		compared++
	}
	// Where two species are proposed one cage, the later one has none.
	cages := map[string]bool{}
	for _, s := range got.Species {
		for _, p := range s.Pairs {
			if p.Cage != "" && cages[p.Cage] {
				t.Errorf("%s is proposed twice", p.Cage)
			}
			cages[p.Cage] = true
		}
	}
	if compared < 3 {
		t.Errorf("%d species compared", compared)
	}
}

// Rules that put one bird with two at once are refused, whatever else is asked.
func TestPairsPlan_RulesThatClash(t *testing.T) {
	dir := t.TempDir()
	book, err := journal.OpenBook(t.Context(), dir, journal.Options{Create: true})
	if err != nil {
		t.Fatal(err)
	}
	id := func(n byte) aviary.ID { return aviary.ID{15: n} }
	day := aviary.MustDate("2024-03-01")
	entries := []*aviary.Entry{{Day: day, Body: &aviary.PlaceAdded{Place: id(9), Name: "Flight", Type: aviary.Flight}}}
	for n, sex := range []aviary.Sex{aviary.Cock, aviary.Cock, aviary.Hen, aviary.Hen} {
		entries = append(entries, &aviary.Entry{Day: day, Body: &aviary.BirdAcquired{Bird: id(byte(n + 1)), Species: "zebra", Sex: sex, Hatched: day, Place: id(9), Name: []string{"Ash", "Rook", "Fern", "Gull"}[n]}})
	}
	for _, cock := range []byte{1, 2} {
		entries = append(entries, &aviary.Entry{Day: day, Body: &aviary.PairRuled{Cock: id(cock), Hen: id(4), Rule: "together"}})
	}
	if err := errors.Join(book.Write(t.Context(), journal.Writer{By: "Keeper", Role: aviary.Keeper}, entries...), book.Close()); err != nil {
		t.Fatal(err)
	}
	for _, more := range [][]string{nil, {"--curve"}, {"--why", "Ash,Fern"}} {
		code, out, errs := run("", append([]string{"pairs", "plan", "--data", dir}, more...)...)
		if want := "by your rules Gull is to be with two birds at once; take one of the rules back.\n"; code != exitBad || out != "" || !strings.EqualFold(errs, want) {
			t.Errorf("%v: %d, %q, %q, want %q", more, code, out, errs, want)
		}
	}
}
