package heredity_test

import (
	"context"
	"testing"

	"broodlight/internal/heredity"
)

// The numbers of young come from the classical table of test matings: with a visual mate
// 5, with one known to be split 11, daughters of a cock at a Z locus 5, so that a carrier
// hides by chance in at most 5 of 100 (rule after Hutt, Genetics of the Fowl, from memory;
// values from (1/2)^n and (3/4)^n). The odds of 95 in 100 from a prior of 1/2 need 2^n of
// at least 19, and from 2/3 of at least 38.
func TestTests_Numbers(t *testing.T) {
	ar, z := recessives(t, "autosome", 0.05, nil), recessives(t, "Z", 0.05, nil)
	half := func(m *heredity.Model) []heredity.Possible {
		split, clear := mustBird(t, m, heredity.Cock, "a=N/m"), mustBird(t, m, heredity.Cock, "a=N/N")
		split[0].P, clear[0].P = 0.5, 0.5
		return append(split, clear...)
	}
	for _, c := range []struct {
		name           string
		m              *heredity.Model
		prior          float64
		hen            string
		daughters      bool
		normal, misses int
		after          float64
	}{
		{"visual mate", ar, 0.5, "a=m/m", false, 5, 5, 1. / 33},
		{"visual mate, prior 2/3", ar, 2. / 3, "a=m/m", false, 6, 5, 1. / 33},
		{"split mate", ar, 0.5, "a=N/m", false, 11, 11, 1 / (1 + 1/0.04223513603210449)}, // (3/4)^11
		{"clear mate", ar, 0.5, "a=N/N", false, -1, -1, 0.5},
		{"Z, daughters", z, 0.5, "a=N", true, 5, 5, 1. / 33},
		{"Z, visual hen, all young", z, 0.5, "a=m", false, 5, 5, 1. / 33},
	} {
		bird := half(c.m)
		bird[0].P, bird[1].P = c.prior, 1-c.prior
		got, err := heredity.Tests(c.m, heredity.Question{Bird: bird, Locus: 0, Allele: 1, Daughters: c.daughters},
			[][]heredity.Possible{mustBird(t, c.m, heredity.Hen, c.hen)})
		if err != nil {
			t.Fatal(err)
		}
		if got[0].Normal != c.normal || got[0].Misses != c.misses || !near(got[0].After, c.after, 1e-9) {
			t.Errorf("%s: got %+v, want %d young, %d, %v", c.name, got[0], c.normal, c.misses, c.after)
		}
	}
}

// Which mate tells most: a visual one, then a split one, then a clear one, which tells
// nothing. One young of a visual mate and prior 1/2: the young is visual in a quarter of
// cases, and else a third is left; the bits are by hand.
func TestTests_Ranking(t *testing.T) {
	m := recessives(t, "autosome", 0.05, nil)
	bird := mustBird(t, m, heredity.Cock, "a=N/m")
	bird[0].P = 0.5
	clear := mustBird(t, m, heredity.Cock, "a=N/N")
	clear[0].P = 0.5
	bird = append(bird, clear...)
	mates := [][]heredity.Possible{mustBird(t, m, heredity.Hen, "a=N/N"), mustBird(t, m, heredity.Hen, "a=N/m"), mustBird(t, m, heredity.Hen, "a=m/m")}
	got, err := heredity.Tests(m, heredity.Question{Bird: bird, Allele: 1, Young: 1}, mates)
	if err != nil {
		t.Fatal(err)
	}
	if got[0].Mate != 2 || got[1].Mate != 1 || got[2].Mate != 0 {
		t.Errorf("order: got %+v", got)
	}
	// H(1/2) - 3/4 H(1/3) = 1 - 0.75*0.9182958340544896
	if !near(got[0].Bits, 1-0.75*0.9182958340544896, 1e-12) || got[0].Sure != 1 || got[2].Bits != 0 {
		t.Errorf("bits: got %+v", got)
	}
	more, err := heredity.Tests(m, heredity.Question{Bird: bird, Allele: 1, Young: 6}, mates)
	if err != nil {
		t.Fatal(err)
	}
	if more[0].Bits <= got[0].Bits || more[0].Bits > 1 {
		t.Errorf("six young tell %v bits, one %v", more[0].Bits, got[0].Bits)
	}
	if _, err := heredity.Tests(m, heredity.Question{Bird: bird, Allele: 1}, [][]heredity.Possible{bird}); err == nil {
		t.Error("two cocks make a pair")
	}
}

// What Joint says of a bird is what Tests takes.
func TestTests_FromRecords(t *testing.T) {
	m := recessives(t, "autosome", 0.05, nil)
	birds := []heredity.Bird{
		{Sex: heredity.Cock, Looks: []int{2}},
		{Sex: heredity.Hen, Looks: []int{2}},
		{Sex: heredity.Cock, Parents: heredity.Certain(0, 1), Looks: []int{1}}, // split 2 times in 3
	}
	bird, err := heredity.Joint(context.Background(), m, birds, 2, heredity.Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := heredity.Tests(m, heredity.Question{Bird: bird, Allele: 1}, [][]heredity.Possible{mustBird(t, m, heredity.Hen, "a=m/m")})
	if err != nil {
		t.Fatal(err)
	}
	if got[0].Normal != 6 {
		t.Errorf("got %d young, want 6 (odds 1 to 32 after six from a prior of 2/3)", got[0].Normal)
	}
}

// Three young of a visual mate, prior 1/2: none is visual in 9 of 16 cases, and 1/9 is left.
func TestTests_SeveralYoung(t *testing.T) {
	m := recessives(t, "autosome", 0.05, nil)
	bird := mustBird(t, m, heredity.Cock, "a=N/m")
	other := mustBird(t, m, heredity.Cock, "a=N/N")
	bird[0].P, other[0].P = 0.5, 0.5
	got, err := heredity.Tests(m, heredity.Question{Bird: append(bird, other...), Allele: 1, Young: 3}, [][]heredity.Possible{mustBird(t, m, heredity.Hen, "a=m/m")})
	if err != nil {
		t.Fatal(err)
	}
	const ninth = 0.5032583347756457 // entropy of 1/9 in bits
	if want := 1 - 9./16*ninth; !near(got[0].Bits, want, 1e-12) {
		t.Errorf("got %v bits, want %v", got[0].Bits, want)
	}
}
