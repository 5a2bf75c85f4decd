package heredity_test

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"broodlight/internal/heredity"
)

func readCSV(tb testing.TB, name string) []map[string]string {
	tb.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	var out []map[string]string
	for _, row := range all[1:] {
		m := map[string]string{}
		for i, c := range row {
			m[all[0][i]] = c
		}
		out = append(out, m)
	}
	return out
}

// fraction reads "3/8" or "0.5".
func fraction(tb testing.TB, s string) float64 {
	tb.Helper()
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		tb.Fatalf("%q is no fraction", s)
	}
	f, _ := r.Float64()
	return f
}

// recessives is a model of one or two recessive loci with the usual looks and the
// findings "split" and "clear" as evidence.
func recessives(tb testing.TB, chromosome string, q float64, r *float64) *heredity.Model {
	tb.Helper()
	var loci, traits []string
	ids := []string{"a"}
	link := ""
	if r != nil {
		ids = []string{"a", "b"}
		link = fmt.Sprintf(`"linkage":[{"between":["a","b"],"recombination":%v}],`, *r)
	}
	for _, id := range ids {
		loci = append(loci, fmt.Sprintf(`{"id":%q,"chromosome":%q,"alleles":[{"id":"N","frequency":%v},{"id":"m","frequency":%v}]}`, id, chromosome, 1-q, q))
		hen := func(a string) string {
			if chromosome == "Z" {
				return fmt.Sprintf(`,%q`, a)
			}
			return ""
		}
		traits = append(traits, fmt.Sprintf(`{"id":%[1]q,"looks":[{"look":"visual","when":[{%[1]q:["m/m"%[2]s]}]},{"look":"normal"},{"look":"split","evidence":true,"when":[{%[1]q:["N/m"]}]},{"look":"clear","evidence":true,"when":[{%[1]q:["N/N"%[3]s]}]}]}`, id, hen("m"), hen("N")))
	}
	return mustModel(tb, fmt.Sprintf(`{"loci":[%s],%s"traits":[%s]}`, strings.Join(loci, ","), link, strings.Join(traits, ",")))
}

type pedigreeCase struct {
	ID, Chromosome string
	Q              float64
	R              *float64
	Birds          []struct{ ID, Sire, Dam, Sex, A, B string }
	Bird, What     string
}

func (c pedigreeCase) build(tb testing.TB) (*heredity.Model, []heredity.Bird, int) {
	tb.Helper()
	if c.R != nil && *c.R == 0.5 {
		// Free loci have no phase to ask for; a hair below they have.
		almost := 0.5 - 1e-12
		c.R = &almost
	}
	m := recessives(tb, c.Chromosome, c.Q, c.R)
	row := map[string]int{}
	for i, b := range c.Birds {
		row[b.ID] = i
	}
	candidates := func(cell string) []heredity.Candidate {
		if cell == "" {
			return nil
		}
		id, weight, ok := strings.Cut(cell, ":")
		w := 1.0
		if ok {
			var err error
			if w, err = strconv.ParseFloat(weight, 64); err != nil {
				tb.Fatal(err)
			}
		}
		i, ok := row[id]
		if !ok {
			tb.Fatalf("no bird %q", id)
		}
		return []heredity.Candidate{{Bird: i, Weight: w}}
	}
	var birds []heredity.Bird
	for _, b := range c.Birds {
		p, err := heredity.OneOf(candidates(b.Sire), candidates(b.Dam))
		if err != nil {
			tb.Fatal(err)
		}
		x := heredity.Bird{Sex: map[string]heredity.Sex{"cock": heredity.Cock, "hen": heredity.Hen, "": heredity.Unsexed}[b.Sex], Parents: p}
		for t, look := range []string{b.A, b.B}[:len(m.Traits)] {
			l := heredity.Unseen
			if look != "" {
				if l = m.Traits[t].Look(look); l < 0 {
					tb.Fatalf("no look %q", look)
				}
			}
			x.Looks = append(x.Looks, l)
		}
		birds = append(birds, x)
	}
	return m, birds, row[c.Bird]
}

// testdata/posterior_values.csv holds exact fractions for the worked cases of genetic
// counselling, mirrored to birds (A1 to A9, Z1 to Z9), sires in doubt (E1, E2) and phase
// (L1, L2); posterior_pedigrees.json holds each row as birds.
func TestInfer_WorkedCases(t *testing.T) {
	data, err := os.ReadFile("testdata/posterior_pedigrees.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []pedigreeCase
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{}
	for _, r := range readCSV(t, "posterior_values.csv") {
		want[r["id"]] = fraction(t, r["exact"])
	}
	if len(cases) != len(want) {
		t.Errorf("%d pedigrees for %d values", len(cases), len(want))
	}
	for _, c := range cases {
		m, birds, i := c.build(t)
		w, ok := want[c.ID]
		if !ok {
			t.Fatalf("%s: no value", c.ID)
		}
		p := mustInfer(t, m, birds)
		got := 0.0
		switch c.What {
		case "split":
			got = p.Split(i, 0, 1)
		case "visual":
			for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
				for g, n := range m.Copies(0, 1, s) {
					if n == 2 || (n == 1 && s == heredity.Hen && c.Chromosome == "Z") {
						got += p.At(i, 0).Of(s)[g]
					}
				}
			}
		default:
			joint, err := heredity.Joint(context.Background(), m, birds, i, heredity.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, g := range joint {
				switch c.What {
				case "repulsion":
					if g.First[0] != g.First[1] && g.First[0] != g.Second[0] && g.First[1] != g.Second[1] {
						got += g.P
					}
				case "both":
					if g.First[0] == 1 && g.First[1] == 1 {
						got += g.P
					}
				}
			}
		}
		if !near(got, w, 1e-10) {
			t.Errorf("%s: got %v, want %v", c.ID, got, w)
		}
	}
}
