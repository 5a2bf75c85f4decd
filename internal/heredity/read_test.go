package heredity_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"broodlight/internal/heredity"
)

// example is the form that the loci file has, with one of everything.
const example = `{"loci":[{"id":"head","chromosome":"Z","alleles":[{"id":"R","frequency":0.5},{"id":"r","frequency":0.5}]},
 {"id":"tip","chromosome":"autosome","alleles":[{"id":"Y","frequency":0.9},{"id":"y","frequency":0.1}]},
 {"id":"back","chromosome":"Z","alleles":[{"id":"+","wild":true},{"id":"g"}]}],
 "linkage":[{"between":["head","back"],"recombination":0.3}],
 "traits":[{"id":"head","column":"head","scoring_error":0.01,"looks":[{"look":"red","when":[{"head":["R/R","R/r","R"],"tip":["Y/Y","Y/y"]}]},{"look":"yellow","when":[{"head":["R/R","r/R","R"],"tip":["y/y"],"probability":0.9}]},{"look":"proven split","evidence":true,"when":[{"head":["R/r"]}]},{"look":"black"}]},
 {"id":"crown","looks":[{"look":"pale","when":[{"sex":"hen","tip":["y/y"]}],"probability":0.25},{"look":"dark"}]}]}`

func TestRead_TheForm(t *testing.T) {
	m := mustModel(t, example)
	if got := m.Genotypes(0, heredity.Cock); !slices.Equal(got, []string{"R/R", "R/r", "r/r"}) {
		t.Errorf("cocks: %v", got)
	}
	if got := m.Genotypes(0, heredity.Hen); !slices.Equal(got, []string{"R", "r"}) {
		t.Errorf("hens: %v", got)
	}
	if m.Loci[2].Known || !m.Loci[0].Known {
		t.Error("frequencies: only two loci have them")
	}
	// A look's chance is the probability of its first alternative that holds; what is
	// left goes to the look without one. Evidence counts apart.
	for _, c := range []struct {
		trait int
		sex   heredity.Sex
		at    []int
		want  []float64
	}{
		{0, heredity.Cock, []int{1, 2, 0}, []float64{0, 0.9, 1, 0.1}},
		{0, heredity.Hen, []int{0, 1, 0}, []float64{1, 0, 0, 0}},
		{0, heredity.Hen, []int{1, 1, 0}, []float64{0, 0, 0, 1}},
		{1, heredity.Hen, []int{0, 2, 0}, []float64{0.25, 0.75}},
		{1, heredity.Cock, []int{0, 2, 0}, []float64{0, 1}},
	} {
		for i, got := range m.Chances(c.trait, c.sex, c.at) {
			if !near(got, c.want[i], 1e-12) {
				t.Errorf("trait %d, %v %v: got %v, want %v", c.trait, c.sex, c.at, m.Chances(c.trait, c.sex, c.at), c.want)
				break
			}
		}
	}
}

func TestRead_SaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{`"frequency":0.9`, `"frequency":0.8`, "add up to 0.9, not to 1"},
		{`"frequency":0.9`, `"frequency":-0.9`, "from 0 to 1"},
		{`,"frequency":0.9`, ``, "Give all of them one, or none"},
		{`"autosome"`, `"W"`, "Write Z or autosome"},
		{`{"id":"back"`, `{"id":"head"`, "two loci with this id"},
		{`{"id":"back"`, `{"id":"sex"`, "meaning of its own"},
		{`{"id":"g"}`, `{"id":"+"}`, "stands there twice"},
		{`{"id":"g"}`, `{"id":"g/h"}`, "meaning of their own"},
		{`,{"id":"g"}`, ``, "two alleles or more"},
		{`"recombination":0.3`, `"recombination":0.7`, "from 0 to 0.5"},
		{`["head","back"]`, `["head","tip"]`, "cannot be linked"},
		{`["head","back"]`, `["head"]`, "must name two loci"},
		{`["head","back"]`, `["head","tail"]`, "no locus"},
		{`["head","back"]`, `["head","head"]`, "linked to itself"},
		{`"R/R","R/r","R"],"tip":["Y/Y"`, `"R/R","R/q","R"],"tip":["Y/Y"`, "no allele"},
		{`"tip":["Y/Y","Y/y"]`, `"tip":["Y"]`, "every bird has two"},
		{`"tip":["Y/Y","Y/y"]`, `"tail":["Y/Y"]`, "no locus “tail”"},
		{`"tip":["Y/Y","Y/y"]`, `"back":["g"],"head":["R/R"]`, "cannot exist in one bird"},
		{`"tip":["Y/Y","Y/y"]`, `"tip":[]`, "list of genotypes"},
		{`"tip":["y/y"],"probability":0.9`, `"tip":["Y/y","y/y"],"probability":0.9`, "add up to 1.9, not to 1"},
		{`"probability":0.9`, `"probability":1.9`, "from 0 to 1"},
		{`{"look":"black"}`, `{"look":"black","evidence":true}`, "can be neither evidence"},
		{`{"look":"black"}`, `{"look":"black"},{"look":"blue"}`, "One look only"},
		{`{"look":"black"}`, `{"look":"red"}`, "stands there twice"},
		{`,{"look":"black"}`, ``, "not to 1"},
		{`"sex":"hen"`, `"sex":"h"`, "must be cock or hen"},
		{`"looks":[{"look":"red"`, `"look":[{"look":"red"`, "means nothing here"},
		{`"scoring_error":0.01`, `"scoring_error":0.6`, "under 0.5"},
		{`{"id":"crown"`, `{"id":"head"`, "share this id"},
		{`"wild":true`, `"wild":1`, "another kind of value"},
		{`{"loci"`, `{loci`, "not valid JSON at line 1"},
		{`}]}]}`, `}]}]`, "ends too early"},
	} {
		text := strings.Replace(example, c.old, c.new, 1)
		if text == example {
			t.Fatalf("%q is not in the example", c.old)
		}
		_, err := heredity.Read([]byte(text))
		var wrong *heredity.ModelError
		if !errors.As(err, &wrong) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.new, err, c.want)
		}
	}
	for _, text := range []string{"", "null", "[]", "{}", `{"loci":[]}`, example + "x", "\xff"} {
		if _, err := heredity.Read([]byte(text)); err == nil {
			t.Errorf("%q is read", text)
		}
	}
}

// Z loci that no link joins are on one chromosome all the same: the fraction is open.
func TestRead_JoinsTheZ(t *testing.T) {
	m := mustModel(t, `{"loci":[`+twoAlleles("a", "Z", "A", "a")+","+twoAlleles("b", "autosome", "B", "b")+","+twoAlleles("c", "Z", "C", "c")+","+twoAlleles("d", "Z", "D", "d")+`],"linkage":[{"between":["d","a"],"recombination":0.1}]}`)
	if len(m.Links) != 2 || m.Links[1].Known || m.Links[1].A+m.Links[1].B != 2 && m.Links[1].A+m.Links[1].B != 5 {
		t.Errorf("links: %+v", m.Links)
	}
	if v := m.Variants(); len(v) != 4 {
		t.Errorf("%d variants, want 4 fractions", len(v))
	}
	// Leaving out the middle of a chain joins its ends: two crossovers make none.
	mid := mustModel(t, `{"loci":[`+twoAlleles("a", "Z", "A", "a")+","+twoAlleles("b", "Z", "B", "b")+","+twoAlleles("c", "Z", "C", "c")+`],"linkage":[{"between":["a","b"],"recombination":0.1},{"between":["b","c"],"recombination":0.2}]}`).Only(0, 2)
	if len(mid.Links) != 1 || !near(mid.Links[0].Recombination, 0.1*0.8+0.9*0.2, 1e-12) {
		t.Errorf("links: %+v", mid.Links)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(example))
	f.Add([]byte(gouldianHead))
	for _, slug := range heredity.CatalogueSlugs() {
		f.Add(heredity.CatalogueFile(slug))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := heredity.Read(data)
		if err != nil {
			var wrong *heredity.ModelError
			if !errors.As(err, &wrong) {
				t.Fatalf("%T: %v", err, err)
			}
			return
		}
		// What is read can be used: founders add up, and looks do.
		for l := range m.Loci {
			for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
				if len(m.Genotypes(l, s)) == 0 {
					t.Fatal("no genotypes")
				}
			}
		}
		if len(m.Loci) > 3 {
			return
		}
		cock, err := m.Bird(heredity.Cock, "")
		if err != nil {
			return
		}
		sum := 0.0
		for _, c := range cock {
			sum += c.P
		}
		if !near(sum, 1, 1e-6) {
			t.Fatalf("founders add up to %v", sum)
		}
	})
}

// The first alternative that holds gives a look's chance, not the last or the likeliest.
func TestRead_FirstAlternativeHolds(t *testing.T) {
	m := mustModel(t, `{"loci":[`+twoAlleles("a", "autosome", "A", "a")+`],"traits":[{"id":"a","looks":[{"look":"shown","when":[{"a":["a/a"],"probability":0.6},{"a":["a/a","A/a"],"probability":0.2}]},{"look":"normal"}]}]}`)
	for g, want := range []float64{0, 0.2, 0.6} {
		if got := m.Chances(0, heredity.Cock, []int{g})[0]; !near(got, want, 1e-12) {
			t.Errorf("%s: got %v, want %v", m.Genotypes(0, heredity.Cock)[g], got, want)
		}
	}
}
