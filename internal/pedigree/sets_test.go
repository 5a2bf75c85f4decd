package pedigree_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"broodlight/internal/pedigree"
	"broodlight/internal/pedigree/plain"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

func mustJSON(tb testing.TB, name string, into any) {
	tb.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		tb.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		tb.Fatal(err)
	}
}

func everyBird(p *pedigree.Pedigree) []int {
	out := make([]int, p.Len())
	for i := range out {
		out[i] = i
	}
	return out
}

func dense(rows [][]float64) *mat.Dense {
	m := mat.NewDense(len(rows), len(rows), nil)
	for i, row := range rows {
		m.SetRow(i, row)
	}
	return m
}

// readMatrix reads a table of testdata with its rows and columns in the order of f.
func readMatrix(tb testing.TB, f flock, file string) *mat.Dense {
	tb.Helper()
	table := readCSV(tb, file)
	m := mat.NewDense(len(f.names), len(f.names), nil)
	for _, row := range table[1:] {
		for c, cell := range row[1:] {
			m.Set(f.row[row[0]], f.row[table[0][c+1]], number(tb, cell))
		}
	}
	return m
}

// The published inverse, Cholesky factor and Mendelian variances of the additive
// relationship belong to the matrix given here.
func TestKinshipMatrix_PublishedInverseAndFactors(t *testing.T) {
	for _, name := range []string{"henderson1976", "fernando_grossman1990", "wray1990", "mrode_ch9"} {
		f := mustFlock(t, name+".csv")
		k, err := pedigree.KinshipMatrix(t.Context(), f.Pedigree, everyBird(f.Pedigree))
		if err != nil {
			t.Fatal(err)
		}
		a := dense(k)
		a.Scale(2, a)
		n := len(f.names)
		one := mat.NewDense(n, n, nil)
		for i := range n {
			one.Set(i, i, 1)
		}
		var product, square mat.Dense
		product.Mul(a, readMatrix(t, f, name+"_Ainv.csv"))
		if !mat.EqualApprox(&product, one, 1e-10) { // the inverse is printed with 12 digits
			t.Errorf("%s: A times its published inverse is not 1", name)
		}
		l := readMatrix(t, f, name+"_L.csv")
		square.Mul(l, l.T())
		if !mat.EqualApprox(&square, a, 1e-11) {
			t.Errorf("%s: the published factor does not belong to A", name)
		}
		for _, row := range readCSV(t, name+"_F.csv")[1:] {
			d := 1.0
			s, dm := f.Parents(f.row[row[0]])
			for _, parent := range []int{s, dm} {
				if parent != u {
					d -= a.At(parent, parent) / 4
				}
			}
			if want := number(t, row[3]); !near(d, want, 1e-12) {
				t.Errorf("%s: D of %s = %v, want %v", name, row[0], d, want)
			}
		}
	}
}

func TestKinshipBlock_AgreesWithPairs(t *testing.T) {
	for _, name := range []string{"open_random_120_heavy", "open_random_45", "mrode_ch9"} {
		f := mustFlock(t, name+".csv")
		all := everyBird(f.Pedigree)
		var cocks, hens []int
		for _, i := range all {
			if f.Sex(i) == pedigree.Cock {
				cocks = append(cocks, i)
			} else {
				hens = append(hens, i, i) // each hen twice: columns may repeat
			}
		}
		for _, kind := range []struct {
			block  func(context.Context, *pedigree.Pedigree, []int, []int) ([][]float64, error)
			square func(context.Context, *pedigree.Pedigree, []int) ([][]float64, error)
			pair   func(*pedigree.Pedigree, int, int) float64
		}{
			{pedigree.KinshipBlock, pedigree.KinshipMatrix, pedigree.Kinship},
			{pedigree.KinshipBlockZ, pedigree.KinshipMatrixZ, pedigree.KinshipZ},
		} {
			k, err := kind.block(t.Context(), f.Pedigree, cocks, hens)
			if err != nil {
				t.Fatal(err)
			}
			for i := range cocks {
				for j := range hens {
					if want := kind.pair(f.Pedigree, cocks[i], hens[j]); !near(k[i][j], want, 1e-14) {
						t.Fatalf("%s: %d and %d have %v, want %v", name, cocks[i], hens[j], k[i][j], want)
					}
				}
			}
			k, err = kind.square(t.Context(), f.Pedigree, all)
			if err != nil {
				t.Fatal(err)
			}
			for i := range all {
				for j := range all {
					if want := kind.pair(f.Pedigree, i, j); !near(k[i][j], want, 1e-14) || k[i][j] != k[j][i] {
						t.Fatalf("%s: %d and %d have %v, want %v", name, i, j, k[i][j], want)
					}
				}
			}
		}
	}
}

// Larger random flocks, with chains and overlapping generations, than the definition
// itself could do.
func TestInbreeding_AgreesWithTableMethod(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyFlock(t, 60)
		s, at := d.shuffled(rapid.Uint64().Draw(t, "seed"))
		f := pedigree.Inbreeding(must(t, s.sire, s.dam, s.sex))
		k := plain.Matrix(d.sire, d.dam)
		lines := plain.Inbreeding(d.sire, d.dam)
		for i := range d.sire {
			if want := 2*k[i][i] - 1; !near(f[at[i]], want, 1e-14) || !near(lines[i], want, 1e-14) {
				t.Fatalf("F of %d = %v and %v, want %v", i, f[at[i]], lines[i], want)
			}
		}
	})
}

func TestInbreeding_AgreesWithMeuwissenAndLuoOnOverlappingCohorts(t *testing.T) {
	for _, s := range []seasons{{4000, 20, 8, 5}, {4000, 20, 0, 3}, {3000, 60, 4, 2}} {
		d := s.draw(7)
		p := must(t, d.sire, d.dam, d.sex)
		old := oldestFirst(d) // as the plain twin wants it
		order := p.OldestFirst()
		f := pedigree.Inbreeding(p)
		most := 0.0
		for k, want := range plain.Inbreeding(old.sire, old.dam) {
			if got := f[order[k]]; !near(got, want, 1e-12) {
				t.Fatalf("%+v: F = %v, want %v", s, got, want)
			}
			most = max(most, want)
		}
		if most < 0.1 {
			t.Errorf("%+v: the closest mating has %v only: the test shows too little", s, most)
		}
	}
}

func TestKinshipMatrix_PositiveSemidefinite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyFlock(t, 30)
		p := must(t, d.sire, d.dam, d.sex)
		for _, matrix := range []func(context.Context, *pedigree.Pedigree, []int) ([][]float64, error){pedigree.KinshipMatrix, pedigree.KinshipMatrixZ} {
			k, err := matrix(context.Background(), p, everyBird(p))
			if err != nil {
				t.Fatal(err)
			}
			var eigen mat.EigenSym
			n := len(k)
			sym := mat.NewSymDense(n, nil)
			for i := range n {
				for j := i; j < n; j++ {
					sym.SetSym(i, j, k[i][j])
					if !(k[i][j] >= 0 && k[i][j] <= 1) {
						t.Fatalf("kinship %v", k[i][j])
					}
				}
			}
			if !eigen.Factorize(sym, false) {
				t.Fatal("no eigenvalues")
			}
			if least := eigen.Values(nil)[0]; least < -1e-12 {
				t.Fatalf("least eigenvalue %v", least)
			}
		}
	})
}

func TestMeanKinship_IsTheMeanOfTheMatrix(t *testing.T) {
	for _, name := range []string{"open_random_120_heavy", "open_random_45"} {
		f := mustFlock(t, name+".csv")
		all := everyBird(f.Pedigree)
		for _, set := range [][]int{all, all[10:30], {3}, {3, 3, 8}, {}} {
			for _, kind := range []struct {
				mean   func(*pedigree.Pedigree, []int) ([]float64, float64)
				matrix func(context.Context, *pedigree.Pedigree, []int) ([][]float64, error)
			}{{pedigree.MeanKinship, pedigree.KinshipMatrix}, {pedigree.MeanKinshipZ, pedigree.KinshipMatrixZ}} {
				each, mk := kind.mean(f.Pedigree, set)
				k, err := kind.matrix(t.Context(), f.Pedigree, set)
				if err != nil {
					t.Fatal(err)
				}
				total := 0.0
				for i := range set {
					want := 0.0
					for j := range set {
						want += k[i][j] / float64(len(set))
					}
					total += want / float64(len(set))
					if !near(each[i], want, 1e-13) {
						t.Fatalf("%s: mean kinship of %d = %v, want %v", name, set[i], each[i], want)
					}
				}
				if !near(mk, total, 1e-13) {
					t.Fatalf("%s: mean kinship = %v, want %v", name, mk, total)
				}
			}
		}
	}
}

func TestKinshipMatrix_StopsWithItsContext(t *testing.T) {
	f := mustFlock(t, "open_random_45.csv")
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if err := f.Prepare(ctx, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("Prepare: %v", err)
	}
	if _, err := pedigree.KinshipMatrix(ctx, f.Pedigree, []int{1}); !errors.Is(err, context.Canceled) {
		t.Errorf("KinshipMatrix: %v", err)
	}
	if _, err := pedigree.GeneDrop(ctx, f.Pedigree, []int{1}, 10, rand.New(rand.NewPCG(1, 1))); !errors.Is(err, context.Canceled) {
		t.Errorf("GeneDrop: %v", err)
	}
	// What was broken off can be asked again.
	var heard []float64
	if err := f.Prepare(context.Background(), func(share float64) { heard = append(heard, share) }); err != nil {
		t.Error(err)
	}
	if !slices.IsSorted(heard) || heard[0] <= 0 || heard[len(heard)-1] != 1 {
		t.Errorf("progress was %v", heard)
	}
}

type foundersFile struct {
	Birds         []string           `json:"reference_birds"`
	Contributions map[string]float64 `json:"founder_contributions"`
	Gone          []string           `json:"founders_unrepresented"`
	Retention     map[string]float64 `json:"retention"`
	Method        string             `json:"retention_method"`
	FE            float64            `json:"founder_equivalents_fe"`
	FGE           float64            `json:"founder_genome_equivalents_fge_Lacy1989"`
	MK            float64            `json:"mean_kinship_incl_self"`
	MKEach        map[string]float64 `json:"mean_kinship_per_bird"`
	GD            float64            `json:"gene_diversity_1_minus_MK"`
}

// Formulas of Lacy (1989); the files' values by exact enumeration of all ways in
// which alleles come down, and for random_150 by 400,000 gene drops. One pair with k chicks
// keeps 1-(1/2)^k of each founder, by hand.
func TestGeneDrop_FounderFiles(t *testing.T) {
	files, err := filepath.Glob("testdata/founders_*_founders.json")
	if err != nil || len(files) != 7 {
		t.Fatalf("found %d files, %v", len(files), err)
	}
	for _, file := range files {
		base := filepath.Base(file)
		var want foundersFile
		mustJSON(t, base, &want)
		f := mustFlock(t, strings.TrimSuffix(base, "_founders.json")+".csv")
		var set []int
		for _, name := range want.Birds {
			set = append(set, f.row[name])
		}
		each, mk := pedigree.MeanKinship(f.Pedigree, set)
		if !near(mk, want.MK, 1e-10) || !near(pedigree.GeneDiversity(f.Pedigree, set), want.GD, 1e-10) {
			t.Errorf("%s: mean kinship %v, want %v", base, mk, want.MK)
		}
		for k, name := range want.Birds {
			if len(want.MKEach) > 0 && !near(each[k], want.MKEach[name], 1e-10) {
				t.Errorf("%s: mean kinship of %s = %v, want %v", base, name, each[k], want.MKEach[name])
			}
		}
		const drops = 40_000
		got, err := pedigree.GeneDrop(t.Context(), f.Pedigree, set, drops, rand.New(rand.NewPCG(20, 26)))
		if err != nil {
			t.Fatal(err)
		}
		if fe := pedigree.FounderEquivalents(got.Share); !near(fe, want.FE, 1e-10) {
			t.Errorf("%s: founder equivalents %v, want %v", base, fe, want.FE)
		}
		// The reference has a Monte Carlo error of its own when it is not exact.
		wider := 1.0
		if !strings.HasPrefix(want.Method, "exact") {
			wider = math.Sqrt(1 + drops/4e5)
		}
		if !near(got.GenomeEquivalents, want.FGE, 4*wider*got.GenomeEquivalentsSE) || got.GenomeEquivalentsSE > 0.02*want.FGE {
			if got.GenomeEquivalentsSE > 0 || got.GenomeEquivalents != want.FGE {
				t.Errorf("%s: founder genome equivalents %v ± %v, want %v", base, got.GenomeEquivalents, got.GenomeEquivalentsSE, want.FGE)
			}
		}
		seen := 0
		for k, founder := range got.Founders {
			name := f.names[founder.Bird]
			if founder.Parent != pedigree.Unsexed {
				t.Fatalf("%s: %v", base, founder)
			}
			share, is := want.Contributions[name]
			if is {
				seen++
			}
			if !near(got.Share[k], share, 1e-10) {
				t.Errorf("%s: share of %s = %v, want %v", base, name, got.Share[k], share)
			}
			if r := want.Retention[name]; !near(got.Retention[k], r, 4*wider*got.RetentionSE[k]+1e-12) {
				t.Errorf("%s: retention of %s = %v ± %v, want %v", base, name, got.Retention[k], got.RetentionSE[k], r)
			}
		}
		if seen != len(want.Contributions) || len(got.Founders) != seen+len(want.Gone) {
			t.Errorf("%s: %d founders of %d, %d in all", base, seen, len(want.Contributions), len(got.Founders))
		}
	}
}

func TestGeneDrop_AgreesWithInbreedingWithinItsError(t *testing.T) {
	for _, name := range []string{"open_random_45", "open_random_120_heavy", "open_random_800_overlap"} {
		f := mustFlock(t, name+".csv")
		all := everyBird(f.Pedigree)
		drop, err := pedigree.GeneDrop(t.Context(), f.Pedigree, all, 5000, rand.New(rand.NewPCG(3, 4)))
		if err != nil {
			t.Fatal(err)
		}
		inbred := 0
		chi := 0.0
		for i, want := range pedigree.Inbreeding(f.Pedigree) {
			se := math.Sqrt(want * (1 - want) / 5000)
			if !near(drop.Alike[i], want, 5*se) { // some 1,000 birds: five errors, once in a thousand runs
				t.Errorf("%s: F of %s by gene drop %v ± %v, want %v", name, f.names[i], drop.Alike[i], se, want)
			}
			if want > 0 {
				inbred++
				chi += (drop.Alike[i] - want) * (drop.Alike[i] - want) / (se * se)
			}
		}
		if mean := chi / float64(inbred); mean < 0.6 || mean > 1.6 {
			t.Errorf("%s: squared errors are %v times as large as they should be", name, mean)
		}
	}
}

func TestGeneDrop_AgreesWithEnumeration(t *testing.T) {
	// Three founders, an inbred line and an outcross.
	sire := []int{u, u, u, 0, 0, 3, 5}
	dam := []int{u, u, u, 1, 2, 4, 4}
	p := must(t, sire, dam, nil)
	set := []int{5, 6}
	drop, err := pedigree.GeneDrop(t.Context(), p, set, 50_000, rand.New(rand.NewPCG(5, 6)))
	if err != nil {
		t.Fatal(err)
	}
	for k, founder := range drop.Founders {
		if want := plain.Retention(sire, dam, set, founder.Bird); !near(drop.Retention[k], want, 4*drop.RetentionSE[k]) {
			t.Errorf("retention of %d = %v ± %v, want %v", founder.Bird, drop.Retention[k], drop.RetentionSE[k], want)
		}
	}
}

func TestContributions_UnwrittenParentIsAFounder(t *testing.T) {
	// 2 is a son of cock 0 and some hen; 3 a daughter of hen 1 and some cock.
	p := must(t, []int{u, u, 0, u, 2}, []int{u, u, u, 1, 3}, nil)
	founders, share := pedigree.Contributions(p, []int{4})
	want := []pedigree.Founder{{0, pedigree.Unsexed}, {1, pedigree.Unsexed}, {2, pedigree.Hen}, {3, pedigree.Cock}}
	for k := range want {
		if founders[k] != want[k] || share[k] != 0.25 {
			t.Errorf("founder %d is %v with %v, want %v with 0.25", k, founders[k], share[k], want[k])
		}
	}
	drop, err := pedigree.GeneDrop(t.Context(), p, []int{2, 3, 4}, 1000, rand.New(rand.NewPCG(7, 8)))
	if err != nil {
		t.Fatal(err)
	}
	for k := 2; k < 4; k++ {
		if drop.Retention[k] != 0.5 {
			t.Errorf("an unwritten parent keeps %v, want 0.5", drop.Retention[k])
		}
	}
}

func TestContributions_AgreeWithDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyFlock(t, 12)
		for i := range d.sire { // both parents or none, so that founders are birds
			if d.sire[i] == u || d.dam[i] == u {
				d.sire[i], d.dam[i] = u, u
			}
		}
		s, at := d.shuffled(rapid.Uint64().Draw(t, "seed"))
		p := must(t, s.sire, s.dam, s.sex)
		a := rapid.IntRange(0, len(d.sire)-1).Draw(t, "a")
		b := rapid.IntRange(0, len(d.sire)-1).Draw(t, "b")
		founders, share := pedigree.Contributions(p, []int{at[a], at[b]})
		total := 0.0
		got := map[int]float64{}
		for k, f := range founders {
			got[f.Bird] = share[k]
			total += share[k]
		}
		if !near(total, 1, 1e-15) {
			t.Fatalf("shares add up to %v", total)
		}
		for i := range d.sire {
			if d.sire[i] != u {
				continue
			}
			want := (plain.Contribution(d.sire, d.dam, a, i) + plain.Contribution(d.sire, d.dam, b, i)) / 2
			if got[at[i]] != want {
				t.Fatalf("share of %d = %v, want %v", i, got[at[i]], want)
			}
		}
	})
}

func TestGeneDrop_TooFewDrops(t *testing.T) {
	// After twelve outcrosses the first founder keeps one allele in thousands.
	sire, dam := []int{u, u}, []int{u, u}
	sire, dam = append(sire, 0), append(dam, 1)
	for range 12 {
		last := len(sire) - 1
		sire, dam = append(sire, u), append(dam, u)
		sire, dam = append(sire, last), append(dam, last+1)
	}
	p := must(t, sire, dam, nil)
	_, err := pedigree.GeneDrop(t.Context(), p, []int{len(sire) - 1}, 5, rand.New(rand.NewPCG(1, 1)))
	var few *pedigree.DropsError
	if !errors.As(err, &few) || few.Drops != 5 || few.Share <= 0 {
		t.Fatalf("err = %v", err)
	}
}

func TestCompleteness_AgreesWithDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyFlock(t, 12)
		s, at := d.shuffled(rapid.Uint64().Draw(t, "seed"))
		p := must(t, s.sire, s.dam, s.sex)
		const generations = 12
		equivalent := pedigree.EquivalentGenerations(p)
		mean := make([]float64, generations)
		for i := range d.sire {
			got := pedigree.Completeness(p, []int{at[i]}, generations)
			sum := 0.0
			for g := range generations {
				if want := plain.KnownAncestors(d.sire, d.dam, i, g+1); got[g] != want {
					t.Fatalf("completeness of %d, %d generations back = %v, want %v", i, g+1, got[g], want)
				}
				sum += got[g]
				mean[g] += got[g] / float64(len(d.sire))
			}
			if !near(equivalent[at[i]], sum, 1e-14) {
				t.Fatalf("equivalent generations of %d = %v, want %v", i, equivalent[at[i]], sum)
			}
		}
		for g, got := range pedigree.Completeness(p, everyBird(p), generations) {
			if !near(got, mean[g], 1e-14) {
				t.Fatalf("mean completeness %v, want %v", got, mean[g])
			}
		}
	})
}

// Wright (1931, 1938), Crow and Kimura (1970): closed forms.
func TestEffectiveSize_ClosedForms(t *testing.T) {
	var want struct {
		Ratio []struct{ Nm, Nf, Ne float64 } `json:"wright_sex_ratio"`
		Vk    []struct {
			N, Vk float64
			Ne    float64 `json:"Ne_4N_2"`
		} `json:"family_variance"`
		Harmonic []struct {
			N  []float64
			Ne float64
		} `json:"harmonic"`
		Rate []struct{ F0, F1, DF, Ne float64 } `json:"delta_F"`
		F    []struct{ Ne, T, F float64 }       `json:"expected_F"`
		H    []struct{ Ne, T, H float64 }       `json:"heterozygosity_retained"`
	}
	mustJSON(t, "effective_size.json", &want)
	if len(want.Ratio) != 7 || len(want.Vk) != 4 || len(want.Harmonic) != 2 || len(want.Rate) != 2 || len(want.F) != 4 || len(want.H) != 3 {
		t.Fatal("the file has other cases than the test")
	}
	check := func(what string, got, want float64) {
		t.Helper()
		if !near(got, want, 1e-12*max(1, math.Abs(want))) {
			t.Errorf("%s = %v, want %v", what, got, want)
		}
	}
	for _, w := range want.Ratio {
		check("size by sexes", pedigree.EffectiveSize(w.Nm, w.Nf), w.Ne)
	}
	for _, w := range want.Vk {
		check("size by families", pedigree.EffectiveSizeOfFamilies(w.N, w.Vk), w.Ne)
	}
	for _, w := range want.Harmonic {
		check("size over time", pedigree.EffectiveSizeOverTime(w.N), w.Ne)
	}
	for _, w := range want.Rate {
		rate := pedigree.InbreedingRate(w.F0, w.F1)
		check("rate", rate, w.DF)
		size, ok := pedigree.EffectiveSizeFromRate(rate)
		check("size by rate", size, w.Ne)
		if !ok {
			t.Error("not ok")
		}
	}
	for _, w := range want.F {
		check("inbreeding", pedigree.ExpectedInbreeding(w.Ne, w.T), w.F)
	}
	for _, w := range want.H {
		check("diversity kept", pedigree.DiversityKept(w.Ne, w.T), w.H)
	}
	for _, rate := range []float64{0, -0.1, math.NaN()} {
		if size, ok := pedigree.EffectiveSizeFromRate(rate); ok || size != 0 {
			t.Errorf("a rate of %v shows a size of %v", rate, size)
		}
	}
	if _, _, ok := pedigree.EffectiveSizeFromInbreeding([]float64{0, 0}, []float64{0, 3}); ok {
		t.Error("no inbreeding shows a size")
	}
}

// In a line of full sibs the birds' own rates settle at the known 19.1 in 100 a
// generation: 1 - (1+sqrt 5)/4 (Crow and Kimura 1970, from memory).
func TestEffectiveSizeFromInbreeding_FullSibLine(t *testing.T) {
	var sire, dam []int
	sire, dam = append(sire, u, u), append(dam, u, u)
	for range 60 {
		n := len(sire)
		sire, dam = append(sire, n-2, n-2), append(dam, n-1, n-1)
	}
	p := must(t, sire, dam, nil)
	last := len(sire) - 1
	f, generations := pedigree.Inbreeding(p)[last:], pedigree.EquivalentGenerations(p)[last:]
	if generations[0] != 60 {
		t.Fatalf("%v generations", generations[0])
	}
	size, se, ok := pedigree.EffectiveSizeFromInbreeding(f, generations)
	want := 1 / (2 * (1 - (1+math.Sqrt(5))/4))
	if !ok || se != 0 || !near(size, want, 0.01*want) {
		t.Errorf("size %v, want about %v", size, want)
	}
}

func ExampleKinshipBlock() {
	// Two cocks, two hens; 4 and 5 are young of 0 and 2, 6 is a daughter of 1 and 5.
	p, err := pedigree.New(
		[]int{u, u, u, u, 0, 0, 1},
		[]int{u, u, u, u, 2, 2, 5},
		[]pedigree.Sex{pedigree.Cock, pedigree.Cock, pedigree.Hen, pedigree.Hen, pedigree.Cock, pedigree.Hen, pedigree.Hen})
	if err != nil {
		fmt.Println(err)
		return
	}
	cocks, hens := []int{0, 1, 4}, []int{3, 5, 6}
	k, err := pedigree.KinshipBlock(context.Background(), p, cocks, hens)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, row := range k {
		fmt.Println("cock", cocks[i], row)
	}
	living := []int{4, 5, 6}
	_, mean := pedigree.MeanKinship(p, living)
	_, share := pedigree.Contributions(p, living)
	fmt.Printf("mean kinship %.3f, founder equivalents %.2f\n", mean, pedigree.FounderEquivalents(share))
	// Output:
	// cock 0 [0 0.25 0.125]
	// cock 1 [0 0 0.25]
	// cock 4 [0 0.25 0.125]
	// mean kinship 0.306, founder equivalents 2.67
}

func ExampleGeneDrop() {
	// One pair with three young keeps 1 - (1/2)^3 of each parent.
	p, err := pedigree.New([]int{u, u, 0, 0, 0}, []int{u, u, 1, 1, 1}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	drop, err := pedigree.GeneDrop(context.Background(), p, []int{2, 3, 4}, 20_000, rand.New(rand.NewPCG(1, 2)))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f %.2f\n", drop.Retention[0], drop.GenomeEquivalents)
	// Output: 0.87 1.75
}
