package advice

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"broodlight/internal/aviary"
)

// pedigreeRoom writes a pedigree of ids, sires and dams ("0" or "" is not known) as birds of a room, parents first.
func pedigreeRoom(tb testing.TB, rows [][3]string, sex map[string]aviary.Sex) (*book, map[string]aviary.ID) {
	b := &book{tb: tb}
	b.add("2020-01-01", &aviary.PlaceAdded{Place: flight, Name: "Flight 1", Type: aviary.Flight})
	ids := map[string]aviary.ID{}
	for i, r := range rows {
		ids[r[0]] = id(100 + i)
	}
	for _, r := range rows {
		b.add("2020-01-02", &aviary.BirdAcquired{Bird: ids[r[0]], Species: "zebra", Sex: sex[r[0]], Name: r[0], Place: flight})
	}
	for _, r := range rows {
		if ids[r[1]] != (aviary.ID{}) || ids[r[2]] != (aviary.ID{}) {
			b.add("2020-01-03", &aviary.ParentsSet{Bird: ids[r[0]], Sire: ids[r[1]], Dam: ids[r[2]]})
		}
	}
	return b, ids
}

// TestInbred_AgainstPublished holds the room's answers to the inbreeding of published pedigrees: Henderson (1976), Mrode (2005) chapter 9, Wray
// (1990); the values of the last two are computed by four programs that agree to 1e-12, not printed there.
func TestInbred_AgainstPublished(t *testing.T) {
	for _, name := range []string{"henderson1976", "mrode_ch9", "wray1990"} {
		t.Run(name, func(t *testing.T) {
			rows, sex := readPedigree(t, name+".csv")
			want := readColumn(t, name+"_F.csv")
			b, ids := pedigreeRoom(t, rows, sex)
			d := b.desk("2026-01-13")
			for bird, f := range want {
				got := d.Inbred(ids[bird])
				if got.Problem != "" || math.Abs(got.F-f) > 1e-10 {
					t.Errorf("%s: F %v (%s), published %v", bird, got.F, got.Problem, f)
				}
				sum := 0.0
				for _, k := range got.Common {
					sum += k.F
				}
				if math.Abs(sum-f) > 1e-10 {
					t.Errorf("%s: common ancestors add up to %v, F is %v", bird, sum, f)
				}
			}
		})
	}
}

func table(t *testing.T, name string) [][]string {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(raw))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func readPedigree(t *testing.T, name string) (rows [][3]string, sex map[string]aviary.Sex) {
	sex = map[string]aviary.Sex{}
	for _, r := range table(t, name) {
		rows = append(rows, [3]string{r[0], r[1], r[2]})
		sex[r[1]], sex[r[2]] = aviary.Cock, aviary.Hen
	}
	return rows, sex
}

func readColumn(t *testing.T, name string) map[string]float64 {
	out := map[string]float64{}
	for _, r := range table(t, name) {
		v, err := strconv.ParseFloat(r[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		out[r[0]] = v
	}
	return out
}

// TestInbred_CommonAncestorsAddUp: Wright's paths sum to the inbreeding that the engine finds by another road.
func TestInbred_CommonAncestorsAddUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(6, 18).Draw(rt, "birds")
		sex := map[string]aviary.Sex{}
		var rows [][3]string
		for i := range n {
			r := [3]string{fmt.Sprint(i + 1)}
			sex[r[0]] = []aviary.Sex{aviary.Cock, aviary.Hen}[i%2]
			if i >= 4 {
				r[1] = fmt.Sprint(2*rapid.IntRange(0, (i-1)/2).Draw(rt, "sire") + 1)
				r[2] = fmt.Sprint(2*rapid.IntRange(0, (i-2)/2).Draw(rt, "dam") + 2)
			}
			rows = append(rows, r)
		}
		b, ids := pedigreeRoom(t, rows, sex)
		d := b.desk("2026-01-13")
		got := d.Inbred(ids[fmt.Sprint(n)])
		sum := 0.0
		for _, k := range got.Common {
			sum += k.F
		}
		if math.Abs(sum-got.F) > 1e-9 {
			rt.Errorf("common ancestors add up to %v, F is %v", sum, got.F)
		}
	})
}

func TestLines_FoundersAndRanks(t *testing.T) {
	// Two pairs; the first has three young here, the second one. The founders have gone.
	rows := [][3]string{{"c1"}, {"h1"}, {"c2"}, {"h2"}, {"a", "c1", "h1"}, {"b", "c1", "h1"}, {"c", "c1", "h1"}, {"d", "c2", "h2"}}
	sex := map[string]aviary.Sex{"c1": aviary.Cock, "c2": aviary.Cock, "h1": aviary.Hen, "h2": aviary.Hen, "a": aviary.Cock, "b": aviary.Hen, "c": aviary.Hen, "d": aviary.Cock}
	b, ids := pedigreeRoom(t, rows, sex)
	for _, gone := range []string{"c1", "h1", "c2", "h2"} {
		b.add("2025-01-01", &aviary.BirdLeft{Bird: ids[gone], How: "sold"})
	}
	l, err := b.desk("2026-01-13").Lines(context.Background(), "zebra")
	if err != nil || l.Problem != "" {
		t.Fatal(err, l.Problem)
	}
	if l.Birds != 8 || l.Here != 4 || len(l.Founders) != 4 {
		t.Fatalf("%d birds, %d here, %d founders", l.Birds, l.Here, len(l.Founders))
	}
	// Shares 3/8, 3/8, 1/8, 1/8: worth 1/(2·9/64+2·1/64) = 3.2 (Lacy 1989). Three young keep 1-(1/2)^3 of a parent's alleles,
	// one keeps a half.
	if math.Abs(l.Equivalents-3.2) > 1e-12 {
		t.Errorf("equivalents %v, want 3.2", l.Equivalents)
	}
	for i, want := range []struct{ share, kept float64 }{{0.375, 0.875}, {0.375, 0.875}, {0.125, 0.5}, {0.125, 0.5}} {
		f := l.Founders[i]
		if math.Abs(f.Share-want.share) > 1e-12 || math.Abs(f.Kept-want.kept) > 5*f.KeptSE+1e-9 {
			t.Errorf("%s: share %v, kept %v ± %v; want %v, %v", f.Name(), f.Share, f.Kept, f.KeptSE, want.share, want.kept)
		}
	}
	if l.Founders[0].Descendants != 3 || l.Founders[2].Descendants != 1 {
		t.Errorf("descendants %d, %d", l.Founders[0].Descendants, l.Founders[2].Descendants)
	}
	// d is related to itself alone: (1/2)/4; the sibs to themselves 1/2 and to two sibs 1/4 each: 1/4.
	if first := l.Ranks[0]; first.Bird.Name != "d" || math.Abs(first.Related-0.125) > 1e-12 || !first.Keep {
		t.Errorf("first rank %+v", first)
	}
	if math.Abs(l.Related-(0.125+3*0.25)/4) > 1e-12 {
		t.Errorf("mean kinship %v", l.Related)
	}
	if l.Known[0] != 1 || l.Known[1] != 0 {
		t.Errorf("known ancestors %v", l.Known)
	}
}

func TestLines_UnknownParentIsAFounder(t *testing.T) {
	b, _ := pedigreeRoom(t, [][3]string{{"c"}, {"x", "c", ""}}, map[string]aviary.Sex{"c": aviary.Cock, "x": aviary.Hen})
	l, err := b.desk("2026-01-13").Lines(context.Background(), "zebra")
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range l.Founders {
		names = append(names, f.Name())
	}
	if len(names) != 2 || names[1] != "unknown mother of x" {
		t.Errorf("founders %q", names)
	}
}

func TestLines_NobodyHere(t *testing.T) {
	l, err := (&book{tb: t}).desk("2026-01-13").Lines(context.Background(), "zebra")
	if err != nil || l.Headline() != "None is here" {
		t.Errorf("%v, %q", err, l.Headline())
	}
}
