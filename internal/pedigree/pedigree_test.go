package pedigree_test

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"broodlight/internal/pedigree"
	"broodlight/internal/pedigree/plain"

	"pgregory.net/rapid"
)

const u = pedigree.Unknown

// flock is a pedigree read from a file, with its birds' names.
type flock struct {
	*pedigree.Pedigree
	names     []string
	row       map[string]int
	sire, dam []int
	sex       []pedigree.Sex
}

func readCSV(tb testing.TB, name string) [][]string {
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
	return all
}

func mustFlock(tb testing.TB, name string) flock {
	tb.Helper()
	var id, sire, dam []string
	var sex []pedigree.Sex
	for _, row := range readCSV(tb, name)[1:] {
		id, sire, dam = append(id, row[0]), append(sire, row[1]), append(dam, row[2])
		sex = append(sex, map[string]pedigree.Sex{"M": pedigree.Cock, "F": pedigree.Hen}[row[3]])
	}
	names, s, d, err := pedigree.Rows(id, sire, dam, "")
	if err != nil {
		tb.Fatal(err)
	}
	for len(sex) < len(names) {
		sex = append(sex, pedigree.Unsexed)
	}
	p, err := pedigree.New(s, d, sex)
	if err != nil {
		tb.Fatal(err)
	}
	f := flock{p, names, map[string]int{}, s, d, sex}
	for i, n := range names {
		f.row[n] = i
	}
	return f
}

func number(tb testing.TB, s string) float64 {
	tb.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		tb.Fatal(err)
	}
	return v
}

func near(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }

// published names the files of testdata with a kinship matrix, and the digits that
// they carry. Sources: Henderson (1976), Fernando and Grossman (1990), Wray (1990),
// Mrode (2005, chapter 9) for the pedigrees, standard relatives by hand, random ones
// generated; values by nadiv 2.18.0, pedigreemm 0.3-5, MCMCglmm 2.36 and kinship2
// 1.9.6.2 (Z: its X chromosome with the sexes mirrored).
var published = map[string]float64{
	"henderson1976":         1e-12,
	"fernando_grossman1990": 1e-12,
	"wray1990":              1e-12,
	"mrode_ch9":             1e-12,
	"standard_relatives":    1e-12,
	"open_random_45":        1e-10,
	"open_random_120_heavy": 1e-10,
}

func TestKinship_PublishedMatrices(t *testing.T) {
	for name, tolerance := range published {
		f := mustFlock(t, name+".csv")
		for _, kind := range []struct {
			file    string
			kinship func(p *pedigree.Pedigree, a, b int) float64
			factor  float64
		}{
			{"_kinship.csv", pedigree.Kinship, 1},
			{"_kinshipZ.csv", pedigree.KinshipZ, 1},
			{"_A.csv", pedigree.Kinship, 2},
		} {
			if _, err := os.Stat(filepath.Join("testdata", name+kind.file)); kind.factor == 2 && err != nil {
				continue // the additive relationship is given for the textbook pedigrees alone
			}
			table := readCSV(t, name+kind.file)
			if len(table)-1 != len(f.names) {
				t.Fatalf("%s: %d rows for %d birds", name, len(table)-1, len(f.names))
			}
			for _, row := range table[1:] {
				for c, cell := range row[1:] {
					a, b := row[0], table[0][c+1]
					got := kind.factor * kind.kinship(f.Pedigree, f.row[a], f.row[b])
					if want := number(t, cell); !near(got, want, tolerance) {
						t.Errorf("%s%s: %s and %s have %v, want %v", name, kind.file, a, b, got, want)
					}
				}
			}
		}
	}
}

func TestInbreeding_PublishedValues(t *testing.T) {
	files := []string{"open_random_800_overlap"}
	for name := range published {
		files = append(files, name)
	}
	for _, name := range files {
		f := mustFlock(t, name+".csv")
		body := pedigree.Inbreeding(f.Pedigree)
		z, has := pedigree.InbreedingZ(f.Pedigree)
		for _, row := range readCSV(t, name+"_F.csv")[1:] {
			i := f.row[row[0]]
			if want := number(t, row[1]); !near(body[i], want, 1e-10) {
				t.Errorf("%s: F of %s = %v, want %v", name, row[0], body[i], want)
			}
			if has[i] != (row[2] != "") {
				t.Errorf("%s: %s has F_Z = %v, want %v", name, row[0], has[i], row[2])
			} else if has[i] {
				if want := number(t, row[2]); !near(z[i], want, 1e-10) {
					t.Errorf("%s: F_Z of %s = %v, want %v", name, row[0], z[i], want)
				}
			}
		}
	}
}

func TestKinship_PairsOfAnOverlappingPedigree(t *testing.T) {
	f := mustFlock(t, "open_random_800_overlap.csv")
	for _, row := range readCSV(t, "open_random_800_overlap_pairs.csv")[1:] {
		a, b := f.row[row[0]], f.row[row[1]]
		if got, want := pedigree.Kinship(f.Pedigree, a, b), number(t, row[2]); !near(got, want, 1e-10) {
			t.Errorf("%v: kinship %v, want %v", row[:2], got, want)
		}
		if got, want := pedigree.KinshipZ(f.Pedigree, a, b), number(t, row[3]); !near(got, want, 1e-10) {
			t.Errorf("%v: Z kinship %v, want %v", row[:2], got, want)
		}
	}
}

// Falconer and Mackay (1996), table 5.1 (page from memory; the recursions behind it
// are reproduced by the file's makers), and the Z values by kinship2 1.9.6.2.
func TestInbreeding_RegularSystems(t *testing.T) {
	for _, name := range []string{"fullsib", "backcross_to_cock", "backcross_to_hen", "parent_offspring"} {
		f := mustFlock(t, "regular_"+name+".csv")
		body := pedigree.Inbreeding(f.Pedigree)
		for _, row := range readCSV(t, "regular_"+name+"_F.csv")[1:] {
			i := f.row[row[1]]
			if want := number(t, row[2]); !near(body[i], want, 1e-12) {
				t.Errorf("%s: F of %s = %v, want %v", name, row[1], body[i], want)
			}
			if row[3] == "" {
				continue // a hen
			}
			s, d := f.Parents(i)
			if s == u || d == u {
				continue // a founder: 0 by definition
			}
			if got, want := pedigree.KinshipZ(f.Pedigree, s, d), number(t, row[3]); !near(got, want, 1e-12) {
				t.Errorf("%s: F_Z of %s = %v, want %v", name, row[1], got, want)
			}
		}
	}
}

// drawn is a small pedigree with parents before young.
type drawn struct {
	sire, dam []int
	sex       []pedigree.Sex
}

// anyFlock draws up to so many birds with some parents unknown, all sexed.
func anyFlock(t *rapid.T, most int) drawn {
	var d drawn
	var cocks, hens []int
	for i := range rapid.IntRange(1, most).Draw(t, "birds") {
		pick := func(from []int, label string) int {
			k := rapid.IntRange(-1, len(from)-1).Draw(t, label)
			if k < 0 {
				return u
			}
			return from[k]
		}
		d.sire = append(d.sire, pick(cocks, "sire"))
		d.dam = append(d.dam, pick(hens, "dam"))
		if rapid.Bool().Draw(t, "hen") {
			d.sex, hens = append(d.sex, pedigree.Hen), append(hens, i)
		} else {
			d.sex, cocks = append(d.sex, pedigree.Cock), append(cocks, i)
		}
	}
	return d
}

func (d drawn) hens() []bool {
	out := make([]bool, len(d.sex))
	for i, s := range d.sex {
		out[i] = s == pedigree.Hen
	}
	return out
}

func must(tb interface{ Fatal(...any) }, sire, dam []int, sex []pedigree.Sex) *pedigree.Pedigree {
	p, err := pedigree.New(sire, dam, sex)
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

// shuffled puts the rows of d in another order; at[i] is the row of bird i.
func (d drawn) shuffled(seed uint64) (out drawn, at []int) {
	n := len(d.sire)
	at = rand.New(rand.NewPCG(seed, 1)).Perm(n)
	out = drawn{make([]int, n), make([]int, n), make([]pedigree.Sex, n)}
	move := func(parent int) int {
		if parent == u {
			return u
		}
		return at[parent]
	}
	for i := range n {
		out.sire[at[i]], out.dam[at[i]], out.sex[at[i]] = move(d.sire[i]), move(d.dam[i]), d.sex[i]
	}
	return out, at
}

// With a dozen birds every number is a multiple of 2^-24, so equality is exact.
func TestKinship_AgreesWithDefinitionInAnyRowOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyFlock(t, 12)
		s, at := d.shuffled(rapid.Uint64().Draw(t, "seed"))
		p := must(t, s.sire, s.dam, s.sex)
		body := pedigree.Inbreeding(p)
		z, _ := pedigree.InbreedingZ(p)
		hens := d.hens()
		for i := range d.sire {
			for j := range d.sire {
				if got, want := pedigree.Kinship(p, at[i], at[j]), plain.Kinship(d.sire, d.dam, i, j); got != want {
					t.Fatalf("kinship(%d, %d) = %v, want %v", i, j, got, want)
				}
				if got, want := pedigree.KinshipZ(p, at[i], at[j]), plain.KinshipZ(d.sire, d.dam, hens, i, j); got != want {
					t.Fatalf("Z kinship(%d, %d) = %v, want %v", i, j, got, want)
				}
			}
			if want := 2*plain.Kinship(d.sire, d.dam, i, i) - 1; body[at[i]] != want {
				t.Fatalf("F of %d = %v, want %v", i, body[at[i]], want)
			}
			if want := 2*plain.KinshipZ(d.sire, d.dam, hens, i, i) - 1; d.sex[i] == pedigree.Cock && z[at[i]] != want {
				t.Fatalf("F_Z of %d = %v, want %v", i, z[at[i]], want)
			}
		}
	})
}

func TestKinship_StrangerChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyFlock(t, 12)
		before := must(t, d.sire, d.dam, d.sex)
		after := must(t, append(slices.Clone(d.sire), u), append(slices.Clone(d.dam), u), append(slices.Clone(d.sex), pedigree.Hen))
		stranger := len(d.sire)
		for i := range d.sire {
			for j := range d.sire {
				if got, want := pedigree.Kinship(after, i, j), pedigree.Kinship(before, i, j); got != want {
					t.Fatalf("kinship(%d, %d) = %v, want %v", i, j, got, want)
				}
			}
			if got := pedigree.Kinship(after, i, stranger); got != 0 {
				t.Fatalf("kinship of %d with a stranger = %v", i, got)
			}
		}
	})
}

func TestKinshipZ_UnsexedBirdIsTheMeanOfCockAndHen(t *testing.T) {
	f := mustFlock(t, "open_random_45.csv")
	s, d := f.row["A000009"], f.row["A000022"]
	build := func(sex pedigree.Sex) *pedigree.Pedigree {
		return must(t, append(slices.Clone(f.sire), s), append(slices.Clone(f.dam), d), append(slices.Clone(f.sex), sex))
	}
	cock, hen, unsexed := build(pedigree.Cock), build(pedigree.Hen), build(pedigree.Unsexed)
	for other := range len(f.sire) + 1 {
		chick := len(f.sire)
		want := (pedigree.KinshipZ(cock, chick, other) + pedigree.KinshipZ(hen, chick, other)) / 2
		if got := pedigree.KinshipZ(unsexed, chick, other); got != want {
			t.Errorf("with %d: %v, want %v", other, got, want)
		}
	}
}

func TestNew_Mistakes(t *testing.T) {
	const c, h, x = pedigree.Cock, pedigree.Hen, pedigree.Unsexed
	for _, test := range []struct {
		name      string
		sire, dam []int
		sex       []pedigree.Sex
		want      error
		say       string
	}{
		{
			"no such row",
			[]int{u, 7},
			[]int{u, u},
			nil, &pedigree.RowError{Bird: 1, Parent: 7, As: c, Birds: 2},
			"The sire of row 2 is given as row 8, but there are 2 rows: give a row that exists, or leave the parent unknown.",
		},
		{
			"own parent",
			[]int{u, u},
			[]int{u, 1},
			nil, &pedigree.CycleError{Birds: []int{1}},
			"As written, row 2 is its own parent: correct the parent.",
		},
		{
			"ring of three",
			[]int{u, 3, 1, 2, 1},
			[]int{u, u, u, u, 0},
			nil, &pedigree.CycleError{Birds: []int{1, 3, 2}},
			"As written, row 2 is its own ancestor (row 2, young of row 4, young of row 3, young of row 2): one of these parents is wrong.",
		},
		{
			"hen as sire",
			[]int{u, 0},
			[]int{u, u},
			[]pedigree.Sex{h, x},
			&pedigree.SexError{Bird: 0, Sex: h, As: c, Young: 1, Other: u},
			"The sire of row 2 is row 1, which is written down as a hen: correct the parent, or the sex.",
		},
		{
			"cock as dam",
			[]int{u, u},
			[]int{u, 0},
			[]pedigree.Sex{c, x},
			&pedigree.SexError{Bird: 0, Sex: c, As: h, Young: 1, Other: u},
			"The dam of row 2 is row 1, which is written down as a cock: correct the parent, or the sex.",
		},
		{
			"both sire and dam",
			[]int{u, 0, u},
			[]int{u, u, 0},
			nil, &pedigree.SexError{Bird: 0, Sex: x, As: h, Young: 2, Other: 1},
			"As written, row 1 is the sire of row 2 and the dam of row 3: one of the two is wrong.",
		},
		{
			"not a sex",
			[]int{u},
			[]int{u},
			[]pedigree.Sex{9},
			&pedigree.SexError{Bird: 0, Sex: 9, Young: u, Other: u},
			"The sex of row 1 is not one of cock, hen or unsexed: correct it.",
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := pedigree.New(test.sire, test.dam, test.sex)
			var all *pedigree.Mistakes
			if !errors.As(err, &all) || len(all.List) != 1 {
				t.Fatalf("err = %v, want one mistake", err)
			}
			if got, want := fmt.Sprintf("%+v", all.List[0]), fmt.Sprintf("%+v", test.want); got != want {
				t.Errorf("got %s, want %s", got, want)
			}
			if got := fmt.Sprintf("%T", all.List[0]); got != fmt.Sprintf("%T", test.want) {
				t.Errorf("got %s, want %T", got, test.want)
			}
			if got := err.Error(); got != test.say {
				t.Errorf("says %q,\nwant %q", got, test.say)
			}
		})
	}
}

func TestNew_ListsEveryMistakeUpToAHundred(t *testing.T) {
	sire := make([]int, 250)
	for i := range sire {
		sire[i] = 1000
	}
	dam := slices.Repeat([]int{u}, len(sire))
	_, err := pedigree.New(sire, dam, nil)
	var all *pedigree.Mistakes
	if !errors.As(err, &all) || len(all.List) != 100 || all.More != 150 {
		t.Fatalf("got %d and %d more", len(all.List), all.More)
	}
	var row *pedigree.RowError
	if !errors.As(err, &row) || row.Bird != 0 {
		t.Fatalf("errors.As finds %v, want the first row", row)
	}
}

func TestCheckHatched_ParentNotOlder(t *testing.T) {
	p := must(t, []int{u, u, 0, 2}, []int{u, u, 1, 1}, nil)
	if err := p.CheckHatched([]int{1, pedigree.NoDay, 2, 3}); err != nil {
		t.Fatal(err)
	}
	err := p.CheckHatched([]int{5, 2, 5, 9})
	var age *pedigree.AgeError
	if !errors.As(err, &age) || *age != (pedigree.AgeError{Bird: 2, Parent: 0, As: pedigree.Cock, Day: 5, ParentDay: 5}) {
		t.Fatalf("err = %+v", age)
	}
	const want = "As written, row 3 is not younger than its sire, row 1: correct the parent, or one of the two hatch dates."
	if err.Error() != want {
		t.Errorf("says %q", err)
	}
}

func TestRows_BirdTwiceAndParentWithoutRow(t *testing.T) {
	names, sire, dam, err := pedigree.Rows([]string{"a", "b"}, []string{"", "x"}, []string{"", "a"}, "")
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(names, []string{"a", "b", "x"}) || !slices.Equal(sire, []int{u, 2, u}) || !slices.Equal(dam, []int{u, 0, u}) {
		t.Errorf("got %v, %v, %v", names, sire, dam)
	}
	_, _, _, err = pedigree.Rows([]string{"a", "b", "a"}, []string{"", "", ""}, []string{"", "", ""}, "")
	var twice *pedigree.TwiceError
	if !errors.As(err, &twice) || *twice != (pedigree.TwiceError{First: 0, Again: 2}) {
		t.Fatalf("err = %v", err)
	}
	if got := twice.Say(func(row int) string { return []string{"ring a", "ring b", "ring a"}[row] }); got != "As written, ring a is the same bird as ring a: keep one of the two rows." {
		t.Errorf("says %q", got)
	}
}

// Whatever rows a person gives, New answers; what it accepts has parents before young.
func TestNew_NeverPanicsOnData(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 8).Draw(t, "birds")
		sire := rapid.SliceOfN(rapid.IntRange(-2, n), n, n).Draw(t, "sire")
		dam := rapid.SliceOfN(rapid.IntRange(-2, n), n, n).Draw(t, "dam")
		sexes := rapid.SliceOfN(rapid.IntRange(0, 2), n, n).Draw(t, "sex")
		sex := make([]pedigree.Sex, n)
		for i, s := range sexes {
			sex[i] = pedigree.Sex(s)
		}
		p, err := pedigree.New(sire, dam, sex)
		if err != nil {
			var all *pedigree.Mistakes
			if !errors.As(err, &all) || all.Error() == "" {
				t.Fatalf("err = %v", err)
			}
			return
		}
		seen := make([]bool, n)
		for _, i := range p.OldestFirst() {
			for _, parent := range []int{sire[i], dam[i]} {
				if parent != u && !seen[parent] {
					t.Fatalf("%d comes before its parent %d", i, parent)
				}
			}
			seen[i] = true
		}
	})
}

func ExampleKinship() {
	// A cock, a hen, two young from one nest, and a chick of these two.
	p, err := pedigree.New([]int{u, u, 0, 0, 2}, []int{u, u, 1, 1, 3}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(pedigree.Kinship(p, 2, 3), pedigree.Inbreeding(p)[4])
	// Output: 0.25 0.25
}
