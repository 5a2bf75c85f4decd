package pairing_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"broodlight/internal/pairing"
	"broodlight/internal/pairing/plain"

	"pgregory.net/rapid"
)

type tester interface {
	Helper()
	Fatalf(format string, args ...any)
}

// mustAssign also makes sure that the answer is a set of allowed pairs, and that its
// prices prove it when all are paired.
func mustAssign(t tester, worth [][]float64, forbidden [][]bool, goal pairing.Goal) pairing.Assignment {
	t.Helper()
	a, err := pairing.Assign(context.Background(), worth, forbidden, goal)
	if err != nil {
		t.Fatalf("%v", err)
	}
	columns := 0
	if len(worth) > 0 {
		columns = len(worth[0])
	}
	taken := make([]bool, columns)
	pairs, sum, size := 0, 0.0, 1.0
	for i, j := range a.Column {
		if j == pairing.Single {
			continue
		}
		if taken[j] || (forbidden != nil && forbidden[i][j]) {
			t.Fatalf("row %d has column %d, which is taken or forbidden", i, j)
		}
		taken[j] = true
		pairs++
		sum += worth[i][j]
		size = max(size, math.Abs(worth[i][j]))
	}
	if pairs != a.Pairs || sum != a.Value || a.Complete != (pairs == min(len(worth), columns)) {
		t.Fatalf("%d pairs worth %v, complete %v; found %d worth %v", a.Pairs, a.Value, a.Complete, pairs, sum)
	}
	if !a.Complete {
		return a
	}
	sign := 1.0
	if goal == pairing.Maximise {
		sign = -1
	}
	slack := 1e-12 * size * float64(max(len(worth), columns))
	for i := range worth {
		for j, w := range worth[i] {
			size = max(size, math.Abs(w))
			if forbidden != nil && forbidden[i][j] {
				continue
			}
			gap := sign * (w - a.RowPrice[i] - a.ColumnPrice[j])
			if gap < -slack || (a.Column[i] == j && gap > slack) {
				t.Fatalf("cell (%d, %d) has a gap of %v; paired: %v", i, j, gap, a.Column[i] == j)
			}
		}
	}
	larger := func(prices []float64, single func(int) bool) {
		for k, p := range prices {
			if sign*p > slack || (single(k) && p != 0) {
				t.Fatalf("bird %d of the larger side has price %v", k, p)
			}
		}
	}
	if len(worth) <= columns {
		larger(a.ColumnPrice, func(j int) bool { return !taken[j] })
	} else {
		larger(a.RowPrice, func(i int) bool { return a.Column[i] == pairing.Single })
	}
	return a
}

// scipy manual, Machol and Wien (1976), textbook tables; optima by scipy 1.10 and
// brute force or linear programming (HiGHS).
func TestAssign_PublishedTables(t *testing.T) {
	b, err := os.ReadFile("testdata/assignment.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		ID        string
		Maximize  bool
		Cost      [][]float64
		Forbidden [][]bool
		Optimum   *float64
	}
	if err := json.Unmarshal(b, &cases); err != nil {
		t.Fatal(err)
	}
	if len(cases) != 14 {
		t.Fatalf("%d cases", len(cases))
	}
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			goal := pairing.Minimise
			if c.Maximize {
				goal = pairing.Maximise
			}
			a := mustAssign(t, c.Cost, c.Forbidden, goal)
			switch {
			case c.Optimum == nil:
				if a.Complete {
					t.Errorf("paired in full, want a bird left over")
				}
			case !a.Complete || math.Abs(a.Value-*c.Optimum) > 1e-9:
				t.Errorf("value %v, complete %v, want %v", a.Value, a.Complete, *c.Optimum)
			}
		})
	}
}

func TestAssign_AgreesWithTryingEveryWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, columns := rapid.IntRange(0, 6).Draw(t, "rows"), rapid.IntRange(1, 6).Draw(t, "columns")
		most := rapid.SampledFrom([]int{1, 3, 100}).Draw(t, "most")
		masked := rapid.SampledFrom([]int{0, 2, 5, 8}).Draw(t, "masked")
		worth, forbidden, negative := make([][]float64, rows), make([][]bool, rows), make([][]float64, rows)
		for i := range worth {
			for range columns {
				w := float64(rapid.IntRange(-most, most).Draw(t, "worth"))
				worth[i] = append(worth[i], w)
				negative[i] = append(negative[i], -w)
				forbidden[i] = append(forbidden[i], rapid.IntRange(1, 9).Draw(t, "mask") <= masked)
			}
		}
		pairs, sum := plain.Assign(worth, forbidden)
		if a := mustAssign(t, worth, forbidden, pairing.Minimise); a.Pairs != pairs || a.Value != sum {
			t.Fatalf("%d pairs worth %v, want %d worth %v", a.Pairs, a.Value, pairs, sum)
		}
		pairs, sum = plain.Assign(negative, forbidden)
		if a := mustAssign(t, worth, forbidden, pairing.Maximise); a.Pairs != pairs || a.Value != -sum {
			t.Fatalf("maximised: %d pairs worth %v, want %d worth %v", a.Pairs, a.Value, pairs, -sum)
		}
	})
}

// Prices prove each answer; the shapes are those that a room may have, and more.
func TestAssign_LargeTablesProveThemselves(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, shape := range [][2]int{{120, 120}, {80, 200}, {200, 80}} {
		for name, draw := range map[string]func(i, j int) float64{
			"uniform":  func(int, int) float64 { return rng.Float64() },
			"few":      func(int, int) float64 { return float64(rng.IntN(4)) },
			"product":  func(i, j int) float64 { return float64((i + 1) * (j + 1)) },
			"two-part": func(i, j int) float64 { return float64(i*i) + float64(j*7%13) },
		} {
			for _, masked := range []float64{0, 0.5, 0.9} {
				worth, forbidden := table(shape[0], shape[1], draw), make([][]bool, shape[0])
				for i := range forbidden {
					for range shape[1] {
						forbidden[i] = append(forbidden[i], rng.Float64() < masked)
					}
				}
				for _, goal := range []pairing.Goal{pairing.Minimise, pairing.Maximise} {
					if a := mustAssign(t, worth, forbidden, goal); masked < 0.9 && !a.Complete {
						t.Errorf("%s %v with %v masked: %d pairs", name, shape, masked, a.Pairs)
					}
				}
			}
		}
	}
}

// A fine too high to be worth paying does the same as forbidding a cell.
func TestAssign_ForbiddenCellsAgreeWithAFine(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	const fine = 1e9 // more than all pairs together
	leftOver := 0
	for _, shape := range [][2]int{{60, 60}, {60, 70}, {90, 40}} {
		for range 30 {
			worth := table(shape[0], shape[1], func(int, int) float64 { return float64(rng.IntN(1000)) })
			fined, forbidden := table(shape[0], shape[1], func(int, int) float64 { return 0 }), make([][]bool, shape[0])
			for i := range worth {
				for j := range worth[i] {
					no := rng.Float64() < 0.96
					forbidden[i] = append(forbidden[i], no)
					fined[i][j] = worth[i][j]
					if no {
						fined[i][j] = fine
					}
				}
			}
			a := mustAssign(t, worth, forbidden, pairing.Minimise)
			all := mustAssign(t, fined, nil, pairing.Minimise)
			single := min(shape[0], shape[1]) - a.Pairs
			if want := all.Value - fine*float64(single); a.Value != want {
				t.Fatalf("%v: %d pairs worth %v, want %v", shape, a.Pairs, a.Value, want)
			}
			leftOver += single
		}
	}
	if leftOver == 0 {
		t.Error("no bird was ever left over: the test shows nothing")
	}
}

func table(rows, columns int, draw func(i, j int) float64) [][]float64 {
	out := make([][]float64, rows)
	for i := range out {
		out[i] = make([]float64, columns)
		for j := range out[i] {
			out[i][j] = draw(i, j)
		}
	}
	return out
}

// Machol and Wien (1976): the least sum is n(n+1)(n+2)/6.
func TestAssign_MacholWien(t *testing.T) {
	for _, n := range []int{1, 2, 50, 301} {
		a := mustAssign(t, table(n, n, func(i, j int) float64 { return float64((i + 1) * (j + 1)) }), nil, pairing.Minimise)
		if want := float64(n*(n+1)) * float64(n+2) / 6; a.Value != want {
			t.Errorf("n = %d: %v, want %v", n, a.Value, want)
		}
	}
}

func TestAssign_StopsWithItsContext(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err := pairing.Assign(ctx, table(40, 40, func(i, j int) float64 { return float64((i + 1) * (j + 1)) }), nil, pairing.Minimise)
	if !errors.Is(err, context.Canceled) {
		t.Errorf("err = %v", err)
	}
}

func TestAssign_NobodyAllowed(t *testing.T) {
	a := mustAssign(t, [][]float64{{1, 2}}, [][]bool{{true, true}}, pairing.Minimise)
	if a.Pairs != 0 || a.Complete || a.Column[0] != pairing.Single {
		t.Errorf("got %+v", a)
	}
}

func BenchmarkAssign(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{200, 1000} {
		for _, kind := range []struct {
			name string
			draw func(i, j int) float64
		}{
			{"uniform", func(int, int) float64 { return rng.Float64() }},
			{"product", func(i, j int) float64 { return float64((i + 1) * (j + 1)) }},
			{"hundred", func(int, int) float64 { return float64(rng.IntN(100)) }},
		} {
			b.Run(fmt.Sprintf("%s/n=%d", kind.name, n), func(b *testing.B) {
				worth := table(n, n, kind.draw)
				for b.Loop() {
					if _, err := pairing.Assign(b.Context(), worth, nil, pairing.Minimise); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func ExampleAssign() {
	// Expected young of two cocks with three hens; the first cock may not have the last hen.
	worth := [][]float64{{4, 3, 5}, {4, 1, 2}}
	forbidden := [][]bool{{false, false, true}, {false, false, false}}
	a, err := pairing.Assign(context.Background(), worth, forbidden, pairing.Maximise)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(a.Column, a.Value)
	// Output: [1 0] 7
}
