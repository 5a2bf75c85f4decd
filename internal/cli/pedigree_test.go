package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// run runs a command with a text on standard input.
func run(in string, args ...string) (code int, out, errs string) {
	var o, e bytes.Buffer
	code = Main(args, strings.NewReader(in), &o, &e)
	return code, o.String(), e.String()
}

// answer runs a command that must do well and returns its CSV.
func answer(t *testing.T, in string, args ...string) [][]string {
	t.Helper()
	code, out, errs := run(in, args...)
	if code != exitFine || errs != "" {
		t.Fatalf("%q: exit code %d, %s", args, code, errs)
	}
	return parse(t, out)
}

func parse(t *testing.T, text string) [][]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func check(name string) string { return filepath.Join("testdata", "pedigree", name) }

func text(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(check(name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// same says whether two cells are both empty, or numbers within tolerance.
func same(t *testing.T, a, b string, tolerance float64) bool {
	t.Helper()
	if a == "" || b == "" {
		return a == b
	}
	return math.Abs(number(t, a)-number(t, b)) <= tolerance
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// Sources: testdata/pedigree/README.md. The files carry 12 digits, so 1e-10 is the tolerance.
func TestPedigreeInbreeding_AgreesWithOtherPrograms(t *testing.T) {
	for _, name := range []string{"wray1990", "mrode_ch9", "open_random_120_heavy"} {
		got := answer(t, text(t, name+".csv"), "pedigree", "inbreeding", "--in", "-")
		want := parse(t, text(t, name+"_F.csv"))
		if len(got) != len(want) || strings.Join(got[0], ",") != "id,f,f_z" {
			t.Fatalf("%s: %d rows, want %d; header %v", name, len(got), len(want), got[0])
		}
		for i := range want[1:] {
			g, w := got[i+1], want[i+1]
			if g[0] != w[0] || !same(t, g[1], w[1], 1e-10) || !same(t, g[2], w[2], 1e-10) {
				t.Errorf("%s: %v, want %v", name, g, w)
			}
		}
	}
}

func TestPedigreeKinship_OfStandardRelatives(t *testing.T) {
	body, z := parse(t, text(t, "standard_relatives_kinship.csv")), parse(t, text(t, "standard_relatives_kinshipZ.csv"))
	pairs := []string{"a,b"}
	for _, a := range body[1:] {
		for _, b := range body[0][1:] {
			pairs = append(pairs, a[0]+","+b)
		}
	}
	got := answer(t, strings.Join(pairs, "\n"), "pedigree", "kinship", "--in", check("standard_relatives.csv"), "--pairs", "-")
	if len(got) != len(pairs) {
		t.Fatalf("%d rows, want %d", len(got), len(pairs))
	}
	n := 0
	for i := range body[1:] {
		for j := range body[0][1:] {
			n++
			g, wantBody, wantZ := got[n], body[i+1][j+1], z[i+1][j+1]
			if g[0]+","+g[1] != pairs[n] || !same(t, g[2], wantBody, 1e-12) || !same(t, g[3], wantZ, 1e-12) {
				t.Errorf("%v, want %s: %s, %s", g, pairs[n], wantBody, wantZ)
			}
		}
	}
}

func TestPedigreeFounders_AgreesWithAllInheritanceVectors(t *testing.T) {
	var want struct {
		Living       []string           `json:"reference_birds"`
		Contribution map[string]float64 `json:"founder_contributions"`
		Retention    map[string]float64 `json:"retention"`
		Equivalents  float64            `json:"founder_equivalents_fe"`
		Genome       float64            `json:"founder_genome_equivalents_fge_Lacy1989"`
		MeanKinship  float64            `json:"mean_kinship_incl_self"`
		Diversity    float64            `json:"gene_diversity_1_minus_MK"`
		MeanF        float64            `json:"mean_F"`
	}
	if err := json.Unmarshal([]byte(text(t, "founders_small_A_founders.json")), &want); err != nil {
		t.Fatal(err)
	}
	args := []string{"pedigree", "founders", "--in", check("founders_small_A.csv"), "--living", "-", "--drops", "40000", "--seed", "7"}
	living := "id\n" + strings.Join(want.Living, "\n")
	rows := answer(t, living, args...)
	if strings.Join(rows[0], ",") != "founder,contribution,retention" || len(rows) != 1+len(want.Contribution) {
		t.Fatalf("%v", rows)
	}
	code, out, errs := run(living, append(args, "--json")...)
	if code != exitFine {
		t.Fatal(errs)
	}
	var got struct {
		Founders []founderLine
		Summary  foundersSummary
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	for i, f := range got.Founders {
		if rows[i+1][0] != f.Founder || number(t, rows[i+1][1]) != f.Contribution || number(t, rows[i+1][2]) != f.Retention {
			t.Errorf("CSV says %v, JSON %v", rows[i+1], f)
		}
		if math.Abs(f.Contribution-want.Contribution[f.Founder]) > 1e-12 {
			t.Errorf("contribution of %s: %v, want %v", f.Founder, f.Contribution, want.Contribution[f.Founder])
		}
		// Chance moves a value by four standard errors once in 16,000 times; the seed is fixed.
		if off := math.Abs(f.Retention - want.Retention[f.Founder]); off > 4*f.RetentionSE || f.RetentionSE > 0.002 {
			t.Errorf("retention of %s: %v with error %v, want %v", f.Founder, f.Retention, f.RetentionSE, want.Retention[f.Founder])
		}
	}
	s := got.Summary
	for _, x := range []struct {
		what      string
		got, want float64
		tolerance float64
	}{
		{"founder equivalents", s.FounderEquivalents, want.Equivalents, 1e-10},
		{"founder genome equivalents", s.GenomeEquivalents, want.Genome, 4 * s.GenomeEquivalentsSE},
		{"mean kinship", s.MeanKinship, want.MeanKinship, 1e-12},
		{"gene diversity", s.GeneDiversity, want.Diversity, 1e-12},
		{"mean inbreeding", s.MeanInbreeding, want.MeanF, 1e-12},
		{"living", float64(s.Living), float64(len(want.Living)), 0},
		{"founders", float64(s.Founders), float64(len(want.Contribution)), 0},
	} {
		if math.Abs(x.got-x.want) > x.tolerance {
			t.Errorf("%s: %v, want %v within %v", x.what, x.got, x.want, x.tolerance)
		}
	}
	if s.GenomeEquivalentsSE <= 0 || s.GenomeEquivalentsSE > 0.02 {
		t.Errorf("the error of founder genome equivalents is %v", s.GenomeEquivalentsSE)
	}
}

func FuzzPedigree_AnyFileIsAnsweredOrRefused(f *testing.F) {
	f.Add("id,sire,dam,sex\nA,,,cock\nB,A,C,\n", "a,b\nA,B\nB,B\nC,B\n")
	f.Add("id,sire,dam,sex\nA,B,,\nB,A,,\n", "a,b\n")
	f.Add("\ufeffsex,dam,sire,id,x\nM,,,\"A\n\",\n", "b,a\n,\n")
	f.Fuzz(func(t *testing.T, birds, pairs string) {
		name := filepath.Join(t.TempDir(), "pairs.csv")
		if err := os.WriteFile(name, []byte(pairs), 0o600); err != nil {
			t.Fatal(err)
		}
		for _, args := range [][]string{{"inbreeding"}, {"kinship", "--pairs", name}, {"founders", "--drops", "2"}, {"founders", "--drops", "2", "--living", name}} {
			answeredOrRefused(t, birds, append([]string{"pedigree", args[0], "--in", "-"}, args[1:]...)...)
		}
	})
}

func FuzzPairsAssign_AnyFileIsAnsweredOrRefused(f *testing.F) {
	f.Add(",h1,h2\nc1,1,\nc2,2.5,-3e9\n")
	f.Add(",h1\n")
	f.Add("x\n,\n")
	f.Fuzz(func(t *testing.T, values string) {
		answeredOrRefused(t, values, "pairs", "assign", "--in", "-", "--maximise")
		answeredOrRefused(t, values, "pairs", "assign", "--in", "-", "--minimise", "--json")
	})
}

func answeredOrRefused(t *testing.T, in string, args ...string) {
	t.Helper()
	code, out, errs := run(in, args...)
	switch {
	case code == exitFine:
	case code == exitBad && out == "" && errs != "":
	default:
		t.Fatalf("%q: exit code %d, wrote %q, %q", args, code, out, errs)
	}
}
