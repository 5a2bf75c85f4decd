package outcome

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// testdata/binomial.csv: intervals by scipy 1.10 and R 4.2.2 binom.test, which agree; the cases 81/263, 15/148, 0/20 and
// 1/29 are those of Newcombe 1998. Tolerance 1e-8 absolute: the file carries 12 digits.
func TestBinomial_AgreesWithReferenceValues(t *testing.T) {
	f, err := os.Open("testdata/binomial.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	col := map[string]int{}
	for i, name := range rows[0] {
		col[name] = i
	}
	number := func(row []string, name string) float64 {
		v, err := strconv.ParseFloat(row[col[name]], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	if len(rows) < 20 {
		t.Fatalf("%d rows, want at least 20", len(rows))
	}
	for _, row := range rows[1:] {
		k, n, level := int(number(row, "x")), int(number(row, "n")), number(row, "conf")
		lo, hi := Binomial(k, n, level)
		if d := math.Abs(lo - number(row, "clopper_pearson_lo")); !(d <= 1e-8) {
			t.Errorf("%d of %d at %v: lo %v, want %s", k, n, level, lo, row[col["clopper_pearson_lo"]])
		}
		if d := math.Abs(hi - number(row, "clopper_pearson_hi")); !(d <= 1e-8) {
			t.Errorf("%d of %d at %v: hi %v, want %s", k, n, level, hi, row[col["clopper_pearson_hi"]])
		}
	}
}

func TestBinomial_Laws(t *testing.T) {
	for n := 0; n <= 40; n++ {
		before := -1.0
		for k := 0; k <= n; k++ {
			lo, hi := Binomial(k, n, 0.8)
			if !(lo >= 0 && lo <= hi && hi <= 1) {
				t.Fatalf("%d of %d: %v to %v", k, n, lo, hi)
			}
			if n > 0 && !(lo <= float64(k)/float64(n) && float64(k)/float64(n) <= hi) {
				t.Errorf("%d of %d lies outside %v to %v", k, n, lo, hi)
			}
			otherLo, otherHi := Binomial(n-k, n, 0.8)
			if math.Abs(lo-(1-otherHi)) > 1e-9 || math.Abs(hi-(1-otherLo)) > 1e-9 {
				t.Errorf("%d of %d is not the mirror of %d of %d", k, n, n-k, n)
			}
			if lo < before {
				t.Errorf("%d of %d: lo falls", k, n)
			}
			before = lo
			if wideLo, wideHi := Binomial(k, n, 0.95); wideLo > lo || wideHi < hi {
				t.Errorf("%d of %d: the interval at 0.95 lies inside that at 0.8", k, n)
			}
		}
	}
}

// The promise of the exact interval: whatever the true share, it is held at least 8 times in 10.
func TestBinomial_HoldsTheTrueShareAsOftenAsItSays(t *testing.T) {
	const n = 15
	for p := 0.02; p < 1; p += 0.02 {
		held := 0.0
		for k := 0; k <= n; k++ {
			if lo, hi := Binomial(k, n, 0.8); lo <= p && p <= hi {
				held += choose(n, k) * math.Pow(p, float64(k)) * math.Pow(1-p, float64(n-k))
			}
		}
		if held < 0.8 {
			t.Errorf("a share of %.2f is held %.3f of the time, want 0.8 at least", p, held)
		}
	}
}

func choose(n, k int) float64 {
	c := 1.0
	for i := range k {
		c *= float64(n-i) / float64(i+1)
	}
	return c
}

func TestBinomial_RefusesWhatCannotBe(t *testing.T) {
	for _, bad := range []struct {
		k, n  int
		level float64
	}{{-1, 3, 0.8}, {4, 3, 0.8}, {1, 3, 0}, {1, 3, 1}, {1, 3, math.NaN()}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%+v does not panic", bad)
				}
			}()
			Binomial(bad.k, bad.n, bad.level)
		}()
	}
}
