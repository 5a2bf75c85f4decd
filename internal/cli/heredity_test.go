package cli

import (
	"encoding/json"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func heredityData(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "heredity", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func written(tb testing.TB, name, text string) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		tb.Fatal(err)
	}
	return path
}

const headLoci = `{"loci":[{"id":"head","chromosome":"Z","alleles":[{"id":"R","frequency":0.5},{"id":"r","frequency":0.5}]},
 {"id":"tip","chromosome":"autosome","alleles":[{"id":"Y","frequency":0.5},{"id":"y","frequency":0.5}]}],
 "traits":[{"id":"head","column":"head","looks":[{"look":"red","when":[{"head":["R/R","R/r","R"],"tip":["Y/Y","Y/y"]}]},
 {"look":"yellow","when":[{"head":["R/R","R/r","R"],"tip":["y/y"]}]},{"look":"black_yellowtip","when":[{"head":["r/r","r"],"tip":["y/y"]}]},{"look":"black_redtip"}]}]}`

// Source: testdata/heredity/README.md.
func TestCross_The54HeadPairings(t *testing.T) {
	loci := written(t, "loci.json", headLoci)
	rows := parse(t, string(heredityData(t, "gouldian_head_54.csv")))
	if len(rows) != 55 {
		t.Fatalf("%d rows", len(rows))
	}
	// RR Yy is R/R at the head and Y/y at the tip; a hen's R- is R.
	genotype := func(text string) string {
		head, tip, _ := strings.Cut(text, " ")
		pair := func(s string) string { return s[:1] + "/" + s[1:] }
		if head[1] == '-' {
			return "head=" + head[:1] + ",tip=" + pair(tip)
		}
		return "head=" + pair(head) + ",tip=" + pair(tip)
	}
	for _, row := range rows[1:] {
		got := map[string]float64{}
		answer := answer(t, "", "cross", "--loci", loci, "--cock", genotype(row[0]), "--hen", genotype(row[2]))
		if strings.Join(answer[0], ",") != "sex,head,genotype,probability" {
			t.Fatal(answer[0])
		}
		for _, l := range answer[1:] {
			got[l[0]+"s_"+strings.ReplaceAll(l[1], " ", "_")] += 2 * number(t, l[3]) // shares of each sex
		}
		for i := 4; i < len(row); i++ {
			want, ok := new(big.Rat).SetString(row[i])
			if !ok {
				t.Fatal(row[i])
			}
			if w, _ := want.Float64(); !same(t, full(got[rows[0][i]]), full(w), 1e-12) {
				t.Errorf("%s × %s: %s is %v, want %s", row[0], row[2], rows[0][i], got[rows[0][i]], row[i])
			}
		}
	}
}

// carrierCase is a case of carrier_small.json: genotypes are written with N for the normal allele and m for the other,
// "|" between loci, and M or F before them where the sex is not known.
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
}

// files writes a case as the two files that the command reads.
func (c carrierCase) files(t *testing.T) (birds, loci string) {
	t.Helper()
	type object = map[string]any
	slashed := map[string]string{"NN": "N/N", "Nm": "N/m", "mm": "m/m", "N": "N", "m": "m"}
	var list, looks []any
	for _, l := range c.Loci {
		list = append(list, object{
			"id": l.Name, "chromosome": map[string]string{"A": "autosome", "Z": "Z"}[l.Chrom],
			"alleles": []any{object{"id": "N", "frequency": 1 - l.Q}, object{"id": "m", "frequency": l.Q}},
		})
	}
	for name, when := range c.Phenotypes {
		var alternatives []any
		for g, p := range when {
			a, fits := object{"probability": p}, true
			for i, part := range strings.Split(g, "|") {
				fits = fits && (len(part) == 2 || c.Loci[i].Chrom == "Z")
				a[c.Loci[i].Name] = []string{slashed[part]}
			}
			if fits {
				alternatives = append(alternatives, a)
			}
		}
		looks = append(looks, object{"look": name, "evidence": true, "when": alternatives}) // here looks overlap
	}
	text, err := json.Marshal(object{"loci": list, "traits": []any{object{"id": "seen", "column": "Seen", "looks": append(looks, object{"look": "any"})}}})
	if err != nil {
		t.Fatal(err)
	}
	parent := func(x any) string {
		switch v := x.(type) {
		case string:
			return v
		case []any:
			var parts []string
			for _, y := range v {
				parts = append(parts, fmt.Sprintf("%v:%v", y.([]any)[0], y.([]any)[1]))
			}
			return strings.Join(parts, ";")
		}
		return ""
	}
	b := strings.Builder{}
	b.WriteString("note,dam,sire,id,seen,sex\n")
	for _, x := range c.Birds {
		seen := ""
		if x.Obs != nil {
			seen = *x.Obs
		}
		fmt.Fprintf(&b, "-,%s,%s,%s,%s,%s\n", parent(x.Dam), parent(x.Sire), x.ID, seen, strings.TrimPrefix(x.Sex, "U"))
	}
	return b.String(), string(text)
}

// Source: testdata/heredity/README.md.
func TestCarriers_AgreeWithListingEverything(t *testing.T) {
	var cases []carrierCase
	if err := json.Unmarshal(heredityData(t, "carrier_small.json"), &cases); err != nil {
		t.Fatal(err)
	}
	if len(cases) != 18 {
		t.Fatalf("%d cases", len(cases))
	}
	clashes := 0
	for _, c := range cases {
		birds, loci := c.files(t)
		args := []string{"carriers", "--in", "-", "--loci", written(t, "loci.json", loci)}
		if c.Expected == "impossible" {
			clashes++
			code, out, errs := run(birds, args...)
			if code != exitClash || out != "" || !strings.HasPrefix(errs, "These records cannot all be true:\n") {
				t.Errorf("%s: exit code %d, %q, %q", c.Name, code, out, errs)
			}
			continue
		}
		want := map[string]float64{} // by bird, locus, sex and genotype
		for id, x := range c.Expected.(map[string]any) {
			sex := ""
			for _, b := range c.Birds {
				if b.ID == id {
					sex = b.Sex
				}
			}
			for g, p := range x.(map[string]any) {
				s, rest, ok := strings.Cut(g, ":")
				if !ok {
					s, rest = sex, g
				}
				for l, part := range strings.Split(rest, "|") {
					want[fmt.Sprint(id, c.Loci[l].Name, map[string]string{"M": "cock", "F": "hen"}[s], part)] += p.(float64)
				}
			}
		}
		rows := answer(t, birds, args...)
		if strings.Join(rows[0], ",") != "id,locus,sex,genotype,probability,method,error" {
			t.Fatal(rows[0])
		}
		sum, compared := map[string]float64{}, 0
		for _, r := range rows[1:] {
			sum[r[0]+" "+r[1]] += number(t, r[4])
			if r[5] != "exact" || r[6] != "0" {
				t.Errorf("%s: %v", c.Name, r)
			}
			w, listed := want[fmt.Sprint(r[0], r[1], r[2], strings.ReplaceAll(r[3], "/", ""))]
			if listed {
				compared++
			}
			if !same(t, r[4], full(w), 1e-10) {
				t.Errorf("%s: %v, want %v", c.Name, r, w)
			}
		}
		if compared < len(want) {
			t.Errorf("%s: %d of %d values are there", c.Name, compared, len(want))
		}
		for k, s := range sum {
			if !same(t, full(s), "1", 1e-12) {
				t.Errorf("%s, %s: the probabilities add up to %v", c.Name, k, s)
			}
		}
	}
	if clashes != 2 {
		t.Errorf("%d clashes, want 2", clashes)
	}
}

// The approximation answers where the exact road is bounded, says so, and lies within its own error of the exact answer.
func TestCarriers_SayWhenChanceAnswers(t *testing.T) {
	loci := written(t, "loci.json", headLoci)
	b := strings.Builder{}
	b.WriteString("id,sire,dam,sex,head\nS,,,cock,red\nD,,,hen,red\n")
	for g := range 5 { // brothers with sisters, again and again
		s, d := "S", "D"
		if g > 0 {
			s, d = fmt.Sprintf("c%d", g-1), fmt.Sprintf("h%d", g-1)
		}
		fmt.Fprintf(&b, "c%d,%s,%s,cock,red\nh%d,%s,%s,hen,\nx%d,%s,%s,hen,%s\n", g, s, d, g, s, d, g, s, d, []string{"red", "black_redtip"}[g/4])
	}
	args := []string{"carriers", "--in", "-", "--loci", loci}
	exact := answer(t, b.String(), args...)
	rows := answer(t, b.String(), append(args, "--cells", "100", "--sweeps", "2000", "--seed", "3")...)
	sampled := 0
	for i, r := range rows[1:] {
		if r[5] != "gibbs" {
			continue
		}
		sampled++
		// Four standard errors, and a little for those that are themselves known by chance.
		if off := number(t, r[4]) - number(t, exact[i+1][4]); off*off > 16*number(t, r[6])*number(t, r[6])+1e-4 {
			t.Errorf("%v, want %v", r, exact[i+1])
		}
	}
	if sampled == 0 {
		t.Error("nothing was left to chance")
	}
	again := answer(t, b.String(), append(args, "--cells", "100", "--sweeps", "2000", "--seed", "3")...)
	if !slices.EqualFunc(rows, again, slices.Equal) {
		t.Error("the same seed gives another answer")
	}
}

func FuzzCarriers_AnyFileIsAnsweredOrRefused(f *testing.F) {
	f.Add("id,sire,dam,sex,head\nA,,,cock,red\nB,A:0.7;C:0.2,D,,black_redtip\n", headLoci)
	f.Add("id,sire,dam,sex,head,clutch\nA,B,,,,1\nB,A,,,red,1\n", headLoci)
	f.Add("id,sire,dam\nA,A:;:1,\n", `{"loci":[]}`)
	f.Fuzz(func(t *testing.T, birds, loci string) {
		if len(birds) > 1000 || len(loci) > 3000 {
			return // large tables take long and tell no more
		}
		name := written(t, "loci.json", loci)
		code, out, errs := run(birds, "carriers", "--in", "-", "--loci", name, "--cells", "10000", "--sweeps", "10")
		if code != exitFine && (out != "" || errs == "" || code != exitBad && code != exitClash) {
			t.Fatalf("exit code %d, wrote %q, %q", code, out, errs)
		}
		answeredOrRefused(t, "", "cross", "--loci", name, "--cock", birds, "--hen", "")
	})
}
