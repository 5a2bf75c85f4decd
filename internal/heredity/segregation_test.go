package heredity_test

import (
	"context"
	"math"
	"strconv"
	"strings"
	"testing"

	"broodlight/internal/heredity"
)

// Davenport 1909, Inheritance of Characteristics in Domestic Fowl, Carnegie Institution
// Publication 121: counts as printed. Expected chi-squares and chances are in the file.
func TestSegregation_Davenport(t *testing.T) {
	rows := readCSV(t, "cross_observed.csv")
	if len(rows) != 20 {
		t.Fatalf("%d rows, want 20", len(rows))
	}
	for _, r := range rows {
		var counts []int
		var shares []float64
		for _, c := range strings.Split(r["observed"], "|") {
			n, err := strconv.Atoi(c)
			if err != nil {
				t.Fatal(err)
			}
			counts = append(counts, n)
		}
		for _, s := range strings.Split(r["ratio"], ":") {
			shares = append(shares, fraction(t, s))
		}
		f := heredity.Segregation(counts, shares)
		if want := fraction(t, r["chi2"]); !near(f.ChiSquare, want, 1e-5) {
			t.Errorf("%s: chi-square %v, want %v", r["id"], f.ChiSquare, want)
		}
		if want, err := strconv.ParseFloat(r["p"], 64); err != nil || !near(f.P, want, 1e-5) {
			t.Errorf("%s: chance %v, want %v", r["id"], f.P, want)
		}
		if want := fraction(t, r["df"]); float64(f.DF) != want {
			t.Errorf("%s: %d degrees of freedom, want %v", r["id"], f.DF, want)
		}
		// M3 and M4 are misfits on purpose: single factor birds were read as normal.
		misfit := strings.HasPrefix(r["id"], "M")
		if f.Flagged(0.05) != misfit {
			t.Errorf("%s: flagged %v, want %v", r["id"], f.Flagged(0.05), misfit)
		}
		if f.Listed && math.Abs(f.ExactP-f.P) > 0.25 {
			t.Errorf("%s: exact chance %v against %v", r["id"], f.ExactP, f.P)
		}
	}
}

// The other misfits of Davenport 1909: classes that should have shown and never did
// (tables 26 to 28), or that cannot occur and did (table 30, M5, M6).
func TestSegregation_Misfits(t *testing.T) {
	for _, c := range []struct {
		name       string
		counts     []int
		shares     []float64
		impossible bool
	}{
		{"M1 daughters: none rumpless of 95", []int{0, 95}, []float64{1, 1}, false},
		{"M1 F1 among themselves: none of 127", []int{0, 127}, []float64{1, 3}, false},
		{"M2 rumpless by rumpless: 3 tailed of 24", []int{21, 3}, []float64{1, 0}, true},
		{"M5 single by single: 1 split of 95", []int{94, 1}, []float64{1, 0}, true},
		{"M6 one flecked of 41", []int{40, 1}, []float64{1, 0}, true},
	} {
		f := heredity.Segregation(c.counts, c.shares)
		if !f.Flagged(0.05) || f.Impossible != c.impossible {
			t.Errorf("%s: got %+v", c.name, f)
		}
	}
	if f := heredity.Segregation([]int{0, 0}, []float64{1, 3}); f.Flagged(0.05) || f.P != 1 {
		t.Errorf("no young: got %+v", f)
	}
	// Binomial, by hand: of 5 with even chances, 0 or 5 come 2 times in 32.
	if f := heredity.Segregation([]int{0, 5}, []float64{1, 1}); !near(f.ExactP, 2./32, 1e-12) {
		t.Errorf("exact chance %v, want 1/16", f.ExactP)
	}
}

// With a small chance of mistakes in looks a look that cannot occur becomes possible, and
// stays unlikely (M5: one exception in 95).
func TestInfer_ScoringErrorTurnsClashIntoDoubt(t *testing.T) {
	m := recessives(t, "autosome", 0.05, nil)
	birds := []heredity.Bird{
		{Sex: heredity.Cock, Looks: []int{0}},
		{Sex: heredity.Hen, Looks: []int{0}},
		{Sex: heredity.Cock, Parents: heredity.Certain(0, 1), Looks: []int{1}},
	}
	p, err := heredity.Infer(context.Background(), m, birds, heredity.Options{LookError: 0.01})
	if err != nil {
		t.Fatal(err)
	}
	// By hand, with a founder's chances .0025 and .095 of m/m and N/m, error .01: sum over
	// both parents of prior, look and young's look.
	prior := []float64{0.9025, 0.095, 0.0025}
	seen := []float64{0.01, 0.01, 0.99} // visual, of N/N, N/m, m/m
	m0 := []float64{0, 0.5, 1}          // chance to hand on m
	total, visual := 0.0, 0.0
	for a := range 3 {
		for b := range 3 {
			mm := m0[a] * m0[b]
			w := prior[a] * seen[a] * prior[b] * seen[b] * ((1-mm)*0.99 + mm*0.01)
			total += w
			if a == 2 {
				visual += w
			}
		}
	}
	if got := p.At(0, 0).Cock[2]; !near(got, visual/total, 1e-12) {
		t.Errorf("got %v, want %v", got, visual/total)
	}
}

// Haldane and Crew 1925, Change of linkage in poultry with age, Nature 115, 641: barring
// and silver in cocks' first, second and third years, 22.9, 36.9 and 47.6 % crossovers, of
// 648 chicks. Numbers by year are implied by the printed errors, read as probable errors.
func TestCrossover_HaldaneCrew(t *testing.T) {
	percent, probable := []float64{0.229, 0.369, 0.476}, []float64{0.014, 0.029, 0.036}
	var crossovers, young []float64
	sum := 0.0
	for i, r := range percent {
		sigma := probable[i] / 0.6745
		n := r * (1 - r) / (sigma * sigma)
		sum += n
		crossovers, young = append(crossovers, r*n), append(young, n)
		c := heredity.Crossover(r*n, n)
		if !near(c.Fraction, r, 1e-12) || !near(c.SE*0.6745, probable[i], 1e-12) {
			t.Errorf("year %d: got %+v, want %v +- %v", i+1, c, r, probable[i])
		}
	}
	if sum < 600 || sum > 650 {
		t.Errorf("implied number of chicks: %v, the paper has 648", sum)
	}
	if f := heredity.SameCrossover(crossovers, young); !f.Flagged(0.001) {
		t.Errorf("one fraction for all years is not flagged: %+v", f)
	}
	if f := heredity.SameCrossover([]float64{20, 21}, []float64{100, 100}); f.Flagged(0.05) {
		t.Errorf("like fractions are flagged: %+v", f)
	}
	if c := heredity.Crossover(60, 100); c.Fraction != 0.5 || !c.AtLimit {
		t.Errorf("over half: got %+v", c)
	}
}

// The likelihood of daughters of a cock of known phase is highest at the share of
// crossovers among them, as in the first year of Haldane and Crew (23 of 100).
func TestInfer_LikelihoodOfRecombinationPeaksAtTheShare(t *testing.T) {
	best, at := math.Inf(-1), 0.0
	for _, r := range []float64{0.19, 0.21, 0.23, 0.25, 0.27} {
		m := recessives(t, "Z", 0.3, &r)
		birds := []heredity.Bird{
			{Sex: heredity.Cock, Looks: []int{0, 0}},
			{Sex: heredity.Hen, Looks: []int{1, 1}},
			{Sex: heredity.Cock, Parents: heredity.Certain(0, 1)}, // m m on one Z, N N on the other
			{Sex: heredity.Hen, Looks: []int{0, 0}},
		}
		for i := range 100 {
			looks := []int{i % 2, i % 2}
			if i < 23 {
				looks[0] = 1 - looks[0]
			}
			birds = append(birds, heredity.Bird{Sex: heredity.Hen, Parents: heredity.Certain(2, 3), Looks: looks})
		}
		if p := mustInfer(t, m, birds); p.LogLik > best {
			best, at = p.LogLik, r
		}
	}
	if at != 0.23 {
		t.Errorf("highest at %v, want .23", at)
	}
}
