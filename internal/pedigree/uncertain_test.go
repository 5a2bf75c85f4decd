package pedigree_test

import (
	"context"
	"errors"
	"testing"

	"broodlight/internal/pedigree"
	"broodlight/internal/pedigree/plain"

	"pgregory.net/rapid"
)

// Henderson (1988), Pérez-Enciso and Fernando (1992); the file's values agree with
// the mean over all 96 pedigrees.
func TestUncertain_PublishedRecursion(t *testing.T) {
	var want struct {
		Order      []string
		Candidates map[string]struct{ Sires, Dams [][2]any }
		A          [][]float64 `json:"A_expected"`
		Clutch     struct {
			Order []string
			A     [][]float64 `json:"A_expected"`
		} `json:"correlated_clutch"`
	}
	mustJSON(t, "uncertain_parentage.json", &want)
	row := map[string]int{}
	for i, name := range want.Order {
		row[name] = i
	}
	var clutches []pedigree.Clutch
	for name, c := range want.Candidates {
		read := func(list [][2]any) (out []pedigree.Candidate) {
			for _, one := range list {
				if one[0] != nil { // the rest is left to a bird that nobody wrote down
					out = append(out, pedigree.Candidate{Bird: row[one[0].(string)], Chance: one[1].(float64)})
				}
			}
			return out
		}
		clutches = append(clutches, pedigree.Clutch{Birds: []int{row[name]}, Sires: read(c.Sires), Dams: read(c.Dams)})
	}
	n := len(want.Order)
	nobody := make([]int, n)
	for i := range nobody {
		nobody[i] = u
	}
	ped, err := pedigree.NewUncertain(t.Context(), nobody, nobody, nil, clutches)
	if err != nil {
		t.Fatal(err)
	}
	compare(t, ped, want.A)

	ped, err = pedigree.NewUncertain(t.Context(), []int{u, u, u, u, u, 3}, []int{u, u, u, 2, 2, 4}, nil,
		[]pedigree.Clutch{{Birds: []int{3, 4}, Sires: []pedigree.Candidate{{0, 0.7}, {1, 0.3}}}})
	if err != nil {
		t.Fatal(err)
	}
	compare(t, ped, want.Clutch.A)
}

func compare(t *testing.T, ped *pedigree.Uncertain, a [][]float64) {
	t.Helper()
	birds := make([]int, len(a))
	for i := range birds {
		birds[i] = i
	}
	k, err := ped.KinshipMatrix(t.Context(), birds)
	if err != nil {
		t.Fatal(err)
	}
	f := ped.Inbreeding()
	for i := range a {
		for j := range a {
			if got := 2 * ped.Kinship(i, j); !near(got, a[i][j], 1e-12) || !near(2*k[i][j], got, 1e-14) {
				t.Errorf("A(%d, %d) = %v and %v, want %v", i, j, got, 2*k[i][j], a[i][j])
			}
		}
		if !near(f[i], a[i][i]-1, 1e-12) {
			t.Errorf("F of %d = %v, want %v", i, f[i], a[i][i]-1)
		}
	}
}

// The expected kinship is the mean over all pedigrees that may be true. Four
// clutches, the first of three birds, each with one or two candidates, or nobody, on each side.
func TestUncertain_IsTheMeanOverAllPedigrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Cocks 0, 1, hens 2, 3, nest mates 4 (cock), 5 (hen) and 9, then 6 (cock), 7 (hen), 8.
		const n = 10
		hens := []bool{false, false, true, true, false, true, false, true, rapid.Bool().Draw(t, "hen"), rapid.Bool().Draw(t, "mate")}
		sex := make([]pedigree.Sex, n)
		for i, hen := range hens {
			sex[i] = pedigree.Cock
			if hen {
				sex[i] = pedigree.Hen
			}
		}
		draw := func(from []int, label string) []pedigree.Candidate {
			chances := rapid.SampledFrom([][2]float64{{1, 0}, {0.5, 0.5}, {0.25, 0.5}, {0.125, 0}}).Draw(t, label)
			first := rapid.IntRange(0, len(from)-1).Draw(t, label)
			out := []pedigree.Candidate{{Bird: from[first], Chance: chances[0]}}
			if chances[1] > 0 {
				out = append(out, pedigree.Candidate{Bird: from[(first+1)%len(from)], Chance: chances[1]})
			}
			return out
		}
		clutches := []pedigree.Clutch{
			{Birds: []int{4, 5, 9}, Sires: draw([]int{0, 1}, "s"), Dams: draw([]int{2, 3}, "d")},
			{Birds: []int{6}, Sires: draw([]int{0, 1, 4}, "s"), Dams: draw([]int{2, 3, 5}, "d")},
			{Birds: []int{7}, Sires: draw([]int{4, 6}, "s"), Dams: draw([]int{2, 5}, "d")},
			{Birds: []int{8}, Sires: draw([]int{1, 6, 4}, "s"), Dams: draw([]int{7, 5}, "d")},
		}
		nobody := []int{u, u, u, u, u, u, u, u, u, u}
		ped, err := pedigree.NewUncertain(context.Background(), nobody, nobody, sex, clutches)
		if err != nil {
			t.Fatal(err)
		}
		var body, z [n][n]float64
		sire, dam := make([]int, n), make([]int, n)
		copy(sire, nobody)
		copy(dam, nobody)
		// A parent that nobody wrote down is the same bird for nest mates: rows n and up
		// stand for it.
		var each func(k int, chance float64)
		each = func(k int, chance float64) {
			if k == 2*len(clutches) {
				// The plain twin wants parents first: nobodies come before all birds.
				shift := 2 * len(clutches)
				s, d, h := make([]int, shift+n), make([]int, shift+n), make([]bool, shift+n)
				for i := range shift {
					s[i], d[i], h[i] = u, u, i%2 == 1
				}
				move := func(p int) int {
					switch {
					case p == u:
						return u
					case p >= n:
						return p - n
					}
					return p + shift
				}
				for i := range n {
					s[shift+i], d[shift+i], h[shift+i] = move(sire[i]), move(dam[i]), hens[i]
				}
				for i := range n {
					for j := range n {
						body[i][j] += chance * plain.Kinship(s, d, shift+i, shift+j)
						z[i][j] += chance * plain.KinshipZ(s, d, h, shift+i, shift+j)
					}
				}
				return
			}
			clutch := clutches[k/2]
			of, parents := clutch.Sires, sire
			if k%2 == 1 {
				of, parents = clutch.Dams, dam
			}
			left := 1.0
			for _, c := range append(of[:len(of):len(of)], pedigree.Candidate{Bird: n + k}) {
				p := c.Chance
				if c.Bird >= n {
					p = left
				}
				left -= p
				if p == 0 {
					continue
				}
				for _, b := range clutch.Birds {
					parents[b] = c.Bird
				}
				each(k+1, chance*p)
			}
		}
		each(0, 1)
		for i := range n {
			for j := range n {
				if got := ped.Kinship(i, j); !near(got, body[i][j], 1e-13) {
					t.Fatalf("kinship(%d, %d) = %v, want %v", i, j, got, body[i][j])
				}
				if got := ped.KinshipZ(i, j); !near(got, z[i][j], 1e-13) {
					t.Fatalf("Z kinship(%d, %d) = %v, want %v", i, j, got, z[i][j])
				}
			}
		}
	})
}

// Without doubt it is the certain pedigree.
func TestUncertain_CertainParents(t *testing.T) {
	f := mustFlock(t, "open_random_120_heavy.csv")
	ped, err := pedigree.NewUncertain(t.Context(), f.sire, f.dam, f.sex, nil)
	if err != nil {
		t.Fatal(err)
	}
	z, err := ped.KinshipMatrixZ(t.Context(), everyBird(f.Pedigree))
	if err != nil {
		t.Fatal(err)
	}
	for i := range f.sire {
		for j := range f.sire {
			if got, want := ped.Kinship(i, j), pedigree.Kinship(f.Pedigree, i, j); !near(got, want, 1e-13) {
				t.Fatalf("kinship(%d, %d) = %v, want %v", i, j, got, want)
			}
			if want := pedigree.KinshipZ(f.Pedigree, i, j); !near(z[i][j], want, 1e-13) {
				t.Fatalf("Z kinship(%d, %d) = %v, want %v", i, j, z[i][j], want)
			}
		}
	}
}

func TestNewUncertain_Mistakes(t *testing.T) {
	type cs = []pedigree.Candidate
	for _, test := range []struct {
		name     string
		clutches []pedigree.Clutch
		say      string
	}{
		{
			"too much",
			[]pedigree.Clutch{{Birds: []int{4}, Sires: cs{{0, 0.7}, {1, 0.4}}}},
			"The sires given for clutch 1 have chances that add up to 1.1, which is more than 1.",
		},
		{
			"no chance",
			[]pedigree.Clutch{{Birds: []int{4}, Dams: cs{{2, 0}}}},
			"The dams given for clutch 1 include row 3 with a chance of 0: it must be above 0, and 1 at most.",
		},
		{
			"twice",
			[]pedigree.Clutch{{Birds: []int{4}, Dams: cs{{2, 0.1}, {2, 0.1}}}},
			"The dams given for clutch 1 include row 3 twice.",
		},
		{
			"no such row",
			[]pedigree.Clutch{{Birds: []int{4}, Dams: cs{{9, 0.1}}}},
			"The dams given for clutch 1 include row 10, but there are 6 rows.",
		},
		{
			"two clutches",
			[]pedigree.Clutch{{Birds: []int{4}, Dams: cs{{2, 0.5}}}, {Birds: []int{4}, Dams: cs{{2, 0.5}}}},
			"Clutch 2 holds row 5, which is in another clutch: take it out of one of the two.",
		},
		{
			"certain",
			[]pedigree.Clutch{{Birds: []int{5}, Sires: cs{{0, 0.5}}}},
			"The sires given for clutch 1 include row 6, whose sire is given as certain.",
		},
		{
			"wrong sex",
			[]pedigree.Clutch{{Birds: []int{4}, Sires: cs{{2, 0.5}}}},
			"The sire of row 5 is row 3, which is written down as a hen: correct the parent, or the sex.",
		},
		{
			"own ancestor",
			[]pedigree.Clutch{{Birds: []int{4}, Sires: cs{{5, 0.5}}}, {Birds: []int{5}, Dams: cs{{4, 0.5}}}},
			"As written, row 5 is its own ancestor (row 5, young of row 6, young of row 5): one of these parents is wrong.",
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			const c, h = pedigree.Cock, pedigree.Hen
			_, err := pedigree.NewUncertain(t.Context(), []int{u, u, u, u, u, 1}, []int{u, u, u, u, u, u},
				[]pedigree.Sex{c, c, h, h, pedigree.Unsexed, pedigree.Unsexed}, test.clutches)
			var all *pedigree.Mistakes
			if !errors.As(err, &all) || len(all.List) != 1 {
				t.Fatalf("err = %v, want one mistake", err)
			}
			if err.Error() != test.say {
				t.Errorf("says %q,\nwant %q", err, test.say)
			}
		})
	}
}

func TestWithGroups_AgreesWithDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyFlock(t, 10)
		s, at := d.shuffled(rapid.Uint64().Draw(t, "seed"))
		k := rapid.SampledFrom([][][]float64{
			{{0.25, 0.125}, {0.125, 0.5}},
			{{0, 0}, {0, 0.25}},
			{{0.5, 0.25}, {0.25, 0.25}},
		}).Draw(t, "kinship")
		of := make([]int, len(d.sire))
		sire, dam := append([]int(nil), d.sire...), append([]int(nil), d.dam...)
		for i := range of {
			g := rapid.IntRange(-1, 1).Draw(t, "group")
			of[at[i]] = g
			if g < 0 {
				continue
			}
			if sire[i] == u {
				sire[i] = plain.Group(g)
			}
			if dam[i] == u {
				dam[i] = plain.Group(g)
			}
		}
		p, err := must(t, s.sire, s.dam, s.sex).WithGroups(pedigree.Groups{Of: of, Kinship: k})
		if err != nil {
			t.Fatal(err)
		}
		f := pedigree.Inbreeding(p)
		for i := range d.sire {
			for j := range d.sire {
				want := plain.KinshipGroups(sire, dam, k, i, j)
				if got := pedigree.Kinship(p, at[i], at[j]); !near(got, want, 1e-14) {
					t.Fatalf("kinship(%d, %d) = %v, want %v", i, j, got, want)
				}
				if i == j && !near(f[at[i]], 2*want-1, 1e-14) {
					t.Fatalf("F of %d = %v, want %v", i, f[at[i]], 2*want-1)
				}
			}
		}
		all := everyBird(p)
		m, err := pedigree.KinshipMatrix(context.Background(), p, all)
		if err != nil {
			t.Fatal(err)
		}
		total := 0.0
		for i := range all {
			for j := range all {
				if want := pedigree.Kinship(p, i, j); !near(m[i][j], want, 1e-14) {
					t.Fatalf("matrix (%d, %d) = %v, want %v", i, j, m[i][j], want)
				}
				total += m[i][j]
			}
		}
		n := float64(len(all))
		if _, mk := pedigree.MeanKinship(p, all); !near(mk, total/(n*n), 1e-13) {
			t.Fatalf("mean kinship %v, want %v", mk, total/(n*n))
		}
	})
}

// On the Z, two bought hens of one group share as much as their sires do, and a
// bought cock has the group's kinship as F_Z.
func TestWithGroups_Z(t *testing.T) {
	p := must(t, []int{u, u, u, u}, []int{u, u, u, u}, []pedigree.Sex{pedigree.Hen, pedigree.Hen, pedigree.Cock, pedigree.Cock})
	q, err := p.WithGroups(pedigree.Groups{Of: []int{0, 0, 0, -1}, Kinship: [][]float64{{0.1}}, KinshipZ: [][]float64{{0.2}}})
	if err != nil {
		t.Fatal(err)
	}
	f, has := pedigree.InbreedingZ(q)
	if !has[2] || f[2] != 0.2 || f[3] != 0 || pedigree.KinshipZ(q, 0, 1) != 0.2 || pedigree.KinshipZ(q, 0, 2) != 0.2 || pedigree.KinshipZ(q, 0, 3) != 0 {
		t.Errorf("F_Z %v, kinships %v %v %v", f, pedigree.KinshipZ(q, 0, 1), pedigree.KinshipZ(q, 0, 2), pedigree.KinshipZ(q, 0, 3))
	}
	if pedigree.Kinship(q, 0, 1) != 0.1 || pedigree.Inbreeding(q)[0] != 0.1 {
		t.Errorf("body %v, %v", pedigree.Kinship(q, 0, 1), pedigree.Inbreeding(q))
	}
}

func TestWithGroups_Mistakes(t *testing.T) {
	p := must(t, []int{u, u}, []int{u, u}, nil)
	for _, test := range []struct {
		g   pedigree.Groups
		say string
	}{
		{pedigree.Groups{Of: []int{0, 2}, Kinship: [][]float64{{0.1}}}, "The group of row 2 is given as 3: there are 1 groups."},
		{pedigree.Groups{Of: []int{0, 0}, Kinship: [][]float64{{1.5}}}, "The kinship between groups 1 and 1 is 1.5, and must be from 0 to 1."},
		{pedigree.Groups{Of: []int{0, 0}, Kinship: [][]float64{{0.1, 0.1}}}, "The kinships between groups are not square: row 1 has 2 of 1."},
		{pedigree.Groups{Of: []int{0, 0}, Kinship: [][]float64{{0.1, 0}, {0.1, 0.2}}}, "The kinship between groups 1 and 2 is not the same both ways."},
		{pedigree.Groups{Of: []int{0, 0}, Kinship: [][]float64{{0, 0.1}, {0.1, 0.2}}}, "The kinships between groups contradict one another: groups that are close to a third must be close to each other, so raise the kinship within groups or lower that between them."},
	} {
		_, err := p.WithGroups(test.g)
		var group *pedigree.GroupError
		if !errors.As(err, &group) || err.Error() != test.say {
			t.Errorf("says %q, want %q", err, test.say)
		}
	}
}
