package heredity_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"broodlight/internal/heredity"
)

func mustClash(tb testing.TB, m *heredity.Model, birds []heredity.Bird) *heredity.ConflictError {
	tb.Helper()
	_, err := heredity.Infer(context.Background(), m, birds, heredity.Options{})
	var c *heredity.ConflictError
	if !errors.As(err, &c) {
		tb.Fatalf("got %v, want a clash", err)
	}
	return c
}

// Two visual parents of a recessive colour cannot have a normal chick. Ten normal chicks
// make it one parent's look, or the pair, that is wrong; one normal chick among visual
// ones may be the chick's own.
func TestConflict_TwoRecessivesWithDominantYoung(t *testing.T) {
	m := recessives(t, "autosome", 0.1, nil)
	pair := []heredity.Bird{{Sex: heredity.Cock, Looks: []int{0}}, {Sex: heredity.Hen, Looks: []int{0}}}
	many, one := append([]heredity.Bird{}, pair...), append([]heredity.Bird{}, pair...)
	for i := range 10 {
		look := 0
		if i == 4 {
			look = 1
		}
		many = append(many, heredity.Bird{Sex: heredity.Cock, Parents: heredity.Certain(0, 1), Looks: []int{1}})
		one = append(one, heredity.Bird{Sex: heredity.Cock, Parents: heredity.Certain(0, 1), Looks: []int{look}})
	}
	c := mustClash(t, m, many)
	if len(c.Records) != 3 || !c.Smallest || c.Records[0].Bird != 0 || c.Records[1].Bird != 1 {
		t.Fatalf("got %v", c)
	}
	if k := c.Culprits[0]; k.Fault != heredity.WrongLook || k.Bird > 1 {
		t.Errorf("ten normal chicks: likeliest %+v, want a parent's look", k)
	}
	c = mustClash(t, m, one)
	if len(c.Records) != 3 || c.Records[2].Bird != 6 {
		t.Fatalf("got %v", c)
	}
	if k := c.Culprits[0]; k.Bird != 6 {
		t.Errorf("one normal chick: likeliest %+v, want something about the chick", k)
	}
	text := c.Sentence(func(i int) string { return string(rune('A' + i)) })
	for _, want := range []string{"A: a visual", "B: a visual", "G: a normal", "Likeliest mistake"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q lacks %q", text, want)
		}
	}
}

// A visual cock has visual daughters only, whatever the hen: two records clash.
func TestConflict_ZDaughter(t *testing.T) {
	m := recessives(t, "Z", 0.1, nil)
	c := mustClash(t, m, []heredity.Bird{
		{Sex: heredity.Cock, Looks: []int{0}},
		{Sex: heredity.Hen, Looks: []int{1}},
		{Sex: heredity.Hen, Parents: heredity.Certain(0, 1), Looks: []int{1}},
	})
	if len(c.Records) != 2 || c.Records[0].Bird != 0 || c.Records[1].Bird != 2 {
		t.Errorf("got %v", c)
	}
}

// With some chance of an outside sire the clash is gone.
func TestConflict_SireErrorMakesItFinite(t *testing.T) {
	m := recessives(t, "autosome", 0.1, nil)
	p := mustInfer(t, m, []heredity.Bird{
		{Sex: heredity.Cock, Looks: []int{0}},
		{Sex: heredity.Hen, Looks: []int{0}},
		{Sex: heredity.Cock, Parents: heredity.WithErrors(heredity.Certain(0, 1), 0.02, 0), Looks: []int{1}},
	})
	if got := p.Split(2, 0, 1); !near(got, 1, 1e-12) {
		t.Errorf("the chick of an outside cock is split with %v, want 1", got)
	}
}

// A grey hen by a grey cock split for CFW threw a fawn hen (one breeder's record): the
// cock carries fawn with certainty.
func TestInfer_FawnHenProvesTheCock(t *testing.T) {
	full, ok := heredity.Catalogue("zebra")
	if !ok {
		t.Fatal("no zebra finch")
	}
	m := full.Only(full.Locus("fawn"), full.Locus("intensity"), full.Locus("white"))
	body := &m.Traits[m.Trait("body")]
	look := func(name string) []int {
		if body.Look(name) < 0 {
			t.Fatalf("no look %q", name)
		}
		return []int{body.Look(name)}
	}
	cfw := m.Loci[m.Locus("intensity")].Allele("cfwB")
	p := mustInfer(t, m, []heredity.Bird{
		{Sex: heredity.Cock, Looks: look("grey"), Said: []heredity.Said{{Locus: m.Locus("intensity"), Allele: cfw, OfCarrier: 1, OfAnother: 0}}},
		{Sex: heredity.Hen, Looks: look("grey")},
		{Sex: heredity.Hen, Parents: heredity.Certain(0, 1), Looks: look("fawn")},
	})
	f := m.Loci[m.Locus("fawn")].Allele("f")
	if got := p.Split(0, m.Locus("fawn"), f); !near(got, 1, 1e-12) {
		t.Errorf("cock split for fawn: got %v, want 1", got)
	}
	if got := p.Carrier(0, m.Locus("intensity"), cfw); !near(got, 1, 1e-12) {
		t.Errorf("cock carries CFW: got %v, want 1", got)
	}
}

// A look that no founder can have clashes by itself.
func TestConflict_OneRecord(t *testing.T) {
	m := recessives(t, "autosome", 0, nil)
	c := mustClash(t, m, []heredity.Bird{{Sex: heredity.Cock, Looks: []int{0}}})
	if len(c.Records) != 1 || !strings.Contains(c.Error(), "founder frequencies") {
		t.Errorf("got %v", c)
	}
}

// In a room of 2,000 birds one wrong look is found at once, and only what it clashes with
// is named.
func TestConflict_InARoom(t *testing.T) {
	m := recessives(t, "autosome", 0.2, nil)
	birds := room(m, 2000, 1)
	spoilt := -1
	for i, b := range birds {
		if i > 1000 && b.Parents != nil && b.Looks[0] == 1 {
			s, d := b.Parents[0].Sire, b.Parents[0].Dam
			if birds[s].Looks[0] == 0 && birds[d].Looks[0] == 1 {
				birds[d].Looks = []int{0}
				spoilt = i
				break
			}
		}
	}
	if spoilt < 0 {
		t.Fatal("no pair to spoil")
	}
	start := time.Now()
	c := mustClash(t, m, birds)
	t.Logf("%v in %v", c, time.Since(start))
	if len(c.Records) != 3 || !c.Smallest {
		t.Errorf("got %v", c)
	}
}

func TestCheck_SaysWhatIsWrong(t *testing.T) {
	m := recessives(t, "autosome", 0.1, nil)
	u := heredity.Unknown
	for _, c := range []struct {
		name  string
		birds []heredity.Bird
		want  string
	}{
		{"own parent", []heredity.Bird{{Parents: heredity.Certain(0, u)}}, "own parent"},
		{"cycle", []heredity.Bird{{Parents: heredity.Certain(1, u)}, {Parents: heredity.Certain(0, u)}}, "own ancestor"},
		{"hen as sire", []heredity.Bird{{Sex: heredity.Hen}, {Parents: heredity.Certain(0, u)}}, "given as sire but is a hen"},
		{"both parts", []heredity.Bird{{}, {Parents: heredity.Certain(0, u)}, {Parents: heredity.Certain(u, 0)}}, "as a sire in one row and as a dam"},
		{"one bird twice", []heredity.Bird{{}, {Parents: heredity.Certain(0, 0)}}, "as sire and dam"},
		{"over 1", []heredity.Bird{{}, {}, {Parents: []heredity.Parents{{Sire: 0, Dam: u, Weight: 0.7}, {Sire: 1, Dam: u, Weight: 0.7}}}}, "over 1"},
		{"clutch", []heredity.Bird{{}, {}, {Parents: heredity.Certain(0, u), Clutch: 1}, {Parents: heredity.Certain(1, u), Clutch: 1}}, "one clutch"},
		{"word", []heredity.Bird{{Said: []heredity.Said{{Allele: 1}}}}, "never be said"},
	} {
		err := heredity.Check(m, c.birds)
		var wrong *heredity.FlockError
		if !errors.As(err, &wrong) || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "row") {
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
	}
	if _, err := heredity.OneOf([]heredity.Candidate{{Bird: 0, Weight: 0.7}, {Bird: 1, Weight: 0.7}}, nil); err == nil {
		t.Error("candidates of 1.4 are taken")
	}
}

// The smallest clash is named although another one is met first: two visual parents with a
// normal chick make three records, a visual sire with a chick proven clear makes two.
func TestConflict_SmallestIsNamed(t *testing.T) {
	m := recessives(t, "autosome", 0.1, nil)
	c := mustClash(t, m, []heredity.Bird{
		{Sex: heredity.Cock, Looks: []int{0}},
		{Sex: heredity.Hen, Looks: []int{0}},
		{Parents: heredity.Certain(0, 1), Looks: []int{1}},
		{Sex: heredity.Cock, Looks: []int{0}},
		{Sex: heredity.Hen, Looks: []int{1}},
		{Parents: heredity.Certain(3, 4), Looks: []int{3}},
	})
	if len(c.Records) != 2 || c.Records[0].Bird != 3 || c.Records[1].Bird != 5 || !c.Smallest {
		t.Errorf("got %v", c)
	}
}

// A clash of more than six records is irreducible, and does not claim to be the smallest:
// ten findings each rule out one of ten genotypes, and two more say nothing.
func TestConflict_Large(t *testing.T) {
	all := []string{"A/A", "A/B", "A/C", "A/D", "B/B", "B/C", "B/D", "C/C", "C/D", "D/D"}
	var traits []string
	for i := range 12 {
		var rest []string
		for k, g := range all {
			if k != i {
				rest = append(rest, `"`+g+`"`)
			}
		}
		traits = append(traits, `{"id":"t`+string(rune('a'+i))+`","looks":[{"look":"any"},{"look":"not","evidence":true,"when":[{"l":[`+strings.Join(rest, ",")+`]}]}]}`)
	}
	m := mustModel(t, `{"loci":[{"id":"l","chromosome":"autosome","alleles":[{"id":"A","frequency":0.25},{"id":"B","frequency":0.25},{"id":"C","frequency":0.25},{"id":"D","frequency":0.25}]}],"traits":[`+strings.Join(traits, ",")+`]}`)
	c := mustClash(t, m, []heredity.Bird{{Sex: heredity.Hen, Looks: []int{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}}})
	if len(c.Records) != 10 || c.Smallest {
		t.Errorf("%d records, smallest %v: %v", len(c.Records), c.Smallest, c)
	}
}
