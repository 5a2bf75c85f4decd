package heredity_test

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"broodlight/internal/heredity"
)

func mustModel(tb testing.TB, text string) *heredity.Model {
	tb.Helper()
	m, err := heredity.Read([]byte(text))
	if err != nil {
		tb.Fatalf("%v\n%s", err, text)
	}
	return m
}

func mustInfer(tb testing.TB, m *heredity.Model, birds []heredity.Bird) *heredity.Posterior {
	tb.Helper()
	p, err := heredity.Infer(context.Background(), m, birds, heredity.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

func near(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }

// carrierCase is a case of testdata/carrier_*.json: genotypes are written with N for the
// normal allele and m for the other, "|" between loci.
type carrierCase struct {
	Name string
	Loci []struct {
		Name, Chrom string
		Q           float64
	}
	Phenotypes map[string]map[string]float64
	Birds      []struct {
		ID        string
		Sire, Dam any
		Sex       string
		Obs       *string
	}
	Expected any
	LogLik   *float64
}

// build turns a case into a model and birds. Every phenotype is a look that is evidence,
// because in these cases looks overlap.
func (c carrierCase) build(tb testing.TB) (*heredity.Model, []heredity.Bird) {
	tb.Helper()
	type object = map[string]any
	var loci, looks []any
	for _, l := range c.Loci {
		loci = append(loci, object{
			"id": l.Name, "chromosome": map[string]string{"A": "autosome", "Z": "Z"}[l.Chrom],
			"alleles": []any{object{"id": "N", "frequency": 1 - l.Q}, object{"id": "m", "frequency": l.Q}},
		})
	}
	genotype := map[string]string{"NN": "N/N", "Nm": "N/m", "mm": "m/m", "N": "N", "m": "m"}
	for _, name := range slices.Sorted(maps.Keys(c.Phenotypes)) {
		var when []any
		for g, p := range c.Phenotypes[name] {
			alt := object{"probability": p}
			fits := true
			for i, part := range strings.Split(g, "|") {
				if len(part) == 1 && c.Loci[i].Chrom == "A" {
					fits = false // the cases list hens' genotypes for body chromosomes too
				}
				alt[c.Loci[i].Name] = []string{genotype[part]}
			}
			if fits {
				when = append(when, alt)
			}
		}
		looks = append(looks, object{"look": name, "evidence": true, "when": when})
	}
	looks = append(looks, object{"look": "any"})
	text, err := json.Marshal(object{"loci": loci, "traits": []any{object{"id": "look", "looks": looks}}})
	if err != nil {
		tb.Fatal(err)
	}
	m := mustModel(tb, string(text))
	row := map[string]int{}
	for i, b := range c.Birds {
		row[b.ID] = i
	}
	parent := func(x any) []heredity.Candidate {
		switch v := x.(type) {
		case string:
			return []heredity.Candidate{{Bird: row[v], Weight: 1}}
		case []any:
			var out []heredity.Candidate
			for _, y := range v {
				out = append(out, heredity.Candidate{Bird: row[y.([]any)[0].(string)], Weight: y.([]any)[1].(float64)})
			}
			return out
		}
		return nil
	}
	var birds []heredity.Bird
	for _, b := range c.Birds {
		parents, err := heredity.OneOf(parent(b.Sire), parent(b.Dam))
		if err != nil {
			tb.Fatal(err)
		}
		x := heredity.Bird{Sex: map[string]heredity.Sex{"M": heredity.Cock, "F": heredity.Hen, "U": heredity.Unsexed}[b.Sex], Parents: parents}
		if b.Obs != nil {
			x.Looks = []int{m.Traits[0].Look(*b.Obs)}
		}
		birds = append(birds, x)
	}
	return m, birds
}

func carrierCases(tb testing.TB, file string) []carrierCase {
	tb.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", file))
	if err != nil {
		tb.Fatal(err)
	}
	var out []carrierCase
	if err := json.Unmarshal(data, &out); err != nil {
		tb.Fatal(err)
	}
	return out
}

// text writes a genotype as the cases do.
func caseGenotype(m *heredity.Model, g heredity.Genome) string {
	var parts []string
	for l := range m.Loci {
		t := m.Loci[l].Alleles[g.First[l]].ID
		if g.Second[l] != heredity.None {
			a, b := min(g.First[l], g.Second[l]), max(g.First[l], g.Second[l])
			t = m.Loci[l].Alleles[a].ID + m.Loci[l].Alleles[b].ID
		}
		parts = append(parts, t)
	}
	return strings.Join(parts, "|")
}

// The values come from full enumeration and variable elimination, of which 13 cases were
// also computed with pedprobr 1.1.0; o01 to o04 are closed forms (2/3, 2/(2+2^k),
// 1/(1+2^k)).
func TestInfer_CarrierReference(t *testing.T) {
	for _, file := range []struct {
		name      string
		tolerance float64
	}{{"carrier_small.json", 1e-10}, {"carrier_random60.json", 1e-9}} {
		for _, c := range carrierCases(t, file.name) {
			t.Run(c.Name, func(t *testing.T) {
				m, birds := c.build(t)
				p, err := heredity.Infer(context.Background(), m, birds, heredity.Options{})
				if c.Expected == "impossible" {
					var clash *heredity.ConflictError
					if !errors.As(err, &clash) {
						t.Fatalf("got %v, want a clash", err)
					}
					return
				}
				if err != nil {
					t.Fatal(err)
				}
				if c.LogLik != nil && !near(p.LogLik, *c.LogLik, 1e-9) {
					t.Errorf("log likelihood: got %v, want %v", p.LogLik, *c.LogLik)
				}
				compared := 0
				for i, b := range c.Birds {
					want := c.Expected.(map[string]any)[b.ID].(map[string]any)
					joint, err := heredity.Joint(context.Background(), m, birds, i, heredity.Options{})
					if err != nil {
						t.Fatal(err)
					}
					got := map[string]float64{}
					for _, g := range joint {
						key := caseGenotype(m, g.Genome)
						if b.Sex == "U" {
							key = map[heredity.Sex]string{heredity.Cock: "M:", heredity.Hen: "F:"}[g.Sex] + key
						}
						got[key] += g.P
					}
					for g, w := range want {
						if !near(got[g], w.(float64), file.tolerance) {
							t.Errorf("%s %s, jointly: got %v, want %v", b.ID, g, got[g], w)
						}
						compared++
					}
					for l := range m.Loci {
						marginal := map[string]float64{}
						for g, w := range want {
							sex, rest, ok := strings.Cut(g, ":")
							if !ok {
								sex, rest = b.Sex, g
							}
							marginal[sex+strings.Split(rest, "|")[l]] += w.(float64)
						}
						for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
							for k, name := range m.Genotypes(l, s) {
								key := map[heredity.Sex]string{heredity.Cock: "M", heredity.Hen: "F"}[s] + strings.ReplaceAll(name, "/", "")
								if got := p.At(i, l).Of(s)[k]; !near(got, marginal[key], file.tolerance) {
									t.Errorf("%s %s %s: got %v, want %v", b.ID, m.Loci[l].ID, key, got, marginal[key])
								}
							}
						}
					}
				}
				if compared == 0 {
					t.Error("nothing compared")
				}
			})
		}
	}
}
