package cli

import (
	"encoding/json"
	"math"
	"testing"

	"broodlight/internal/advice"
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
	if compared < 3 {
		t.Errorf("%d species compared", compared)
	}
}
