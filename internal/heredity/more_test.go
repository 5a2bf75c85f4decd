package heredity_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"broodlight/internal/heredity"
)

// A new chick in a room of 2,000 birds: all answers again, in under 50 ms on a quiet
// machine (the test allows for a busy one), and what it tells goes to its relatives.
func TestInfer_NewChick(t *testing.T) {
	m := recessives(t, "autosome", 0.2, nil)
	birds := room(m, 2000, 1)
	before := mustInfer(t, m, birds)
	last := birds[1900].Parents[0]
	if before.Split(last.Sire, 0, 1) < 0.01 || before.Split(last.Dam, 0, 1) < 0.01 {
		t.Fatal("choose another pair: this one hides nothing")
	}
	birds = append(birds, heredity.Bird{Parents: heredity.Certain(last.Sire, last.Dam), Looks: []int{0}})
	best := time.Hour
	var after *heredity.Posterior
	for range 5 {
		start := time.Now()
		after = mustInfer(t, m, birds)
		best = min(best, time.Since(start))
	}
	t.Logf("%v", best)
	if best > time.Second {
		t.Errorf("took %v", best)
	}
	for _, p := range []int{last.Sire, last.Dam} {
		if got := after.Carrier(p, 0, 1); !near(got, 1, 1e-9) {
			t.Errorf("a parent of a visual chick carries the gene with %v, want 1", got)
		}
	}
}

// Nest mates share one draw of an uncertain sire; others draw on their own. Enumeration by
// hand: sires P (normal for certain) and T (visual) at even chances, dam split, one visual
// young. A second young of the same nest has T for sire, so that it is visual in half of
// cases; of another nest it is visual in a quarter.
func TestInfer_Clutch(t *testing.T) {
	m := recessives(t, "autosome", 0.1, nil)
	doubt := []heredity.Parents{{Sire: 0, Dam: 2, Weight: 0.5}, {Sire: 1, Dam: 2, Weight: 0.5}}
	for _, c := range []struct {
		clutch int
		want   float64
	}{{1, 0.5}, {0, 0.25}} {
		p := mustInfer(t, m, []heredity.Bird{
			{Sex: heredity.Cock, Looks: []int{3}},
			{Sex: heredity.Cock, Looks: []int{0}},
			{Sex: heredity.Hen, Looks: []int{2}},
			{Sex: heredity.Cock, Parents: doubt, Looks: []int{0}, Clutch: c.clutch},
			{Sex: heredity.Cock, Parents: doubt, Clutch: c.clutch},
		})
		if got := p.At(4, 0).Cock[2]; !near(got, c.want, 1e-12) {
			t.Errorf("clutch %d: got %v, want %v", c.clutch, got, c.want)
		}
	}
}

// Living birds never have a lethal genotype, and a crested young of two crested birds is
// single factor; a plain young one in three. Founders: p of crested among living, by hand.
func TestInfer_Survival(t *testing.T) {
	m := mustModel(t, `{"loci":[{"id":"c","chromosome":"autosome","alleles":[{"id":"Cr","frequency":0.4},{"id":"+","frequency":0.6}],"survival":{"Cr/Cr":0}}],"traits":[{"id":"c","looks":[{"look":"crest","when":[{"c":["Cr/Cr","Cr/+"]}]},{"look":"plain"}]}]}`)
	birds := []heredity.Bird{
		{Sex: heredity.Cock, Looks: []int{0}},
		{Sex: heredity.Hen, Looks: []int{0}},
		{Parents: heredity.Certain(0, 1)},
		{Sex: heredity.Hen},
		{Sex: heredity.Cock, Parents: heredity.Certain(0, 3)},
	}
	p := mustInfer(t, m, birds)
	both := p.At(2, 0)
	if !near(both.Cock[1]+both.Hen[1], 2./3, 1e-12) || both.Cock[0] != 0 || !near(both.Cock[2], 1./6, 1e-12) {
		t.Errorf("young of two crested: got %+v, want 2/3 single factor", both)
	}
	// The hen: 2pq and q^2 of .4, .6, over 1 - .16. Her young by a crested cock: by hand.
	hen := 0.48 / 0.84
	if got := p.At(3, 0).Hen[1]; !near(got, hen, 1e-12) {
		t.Errorf("hen of which nothing is known: got %v, want %v", got, hen)
	}
	if got, want := p.At(4, 0).Cock[1], hen*2/3+(1-hen)/2; !near(got, want, 1e-12) {
		t.Errorf("her young: got %v, want %v", got, want)
	}
	// The same by doubtful parents that are certain, through gametes and draws.
	birds[4].Parents = []heredity.Parents{{Sire: 0, Dam: 3, Weight: 0.5}, {Sire: 0, Dam: 3, Weight: 0.5}}
	if got, want := mustInfer(t, m, birds).At(4, 0).Cock[1], hen*2/3+(1-hen)/2; !near(got, want, 1e-12) {
		t.Errorf("through draws: got %v, want %v", got, want)
	}
	// Cross says the same of the living.
	y := mustCross(t, m, mustBird(t, m, heredity.Cock, "c=Cr/+"), mustBird(t, m, heredity.Hen, ""))
	got := 0.0
	for _, l := range y.Lines {
		if l.First[0] == 0 || l.Second[0] == 0 {
			got += l.P
		}
	}
	if want := (hen/4*2 + (1-hen)/2) / (1 - hen/4); !near(got, want, 1e-12) {
		t.Errorf("crested young of a crested cock and any hen: got %v, want %v", got, want)
	}
}

// What a seller said is weighed by how far he is trusted: odds times 9 to 2.
func TestInfer_SellersWord(t *testing.T) {
	m := recessives(t, "autosome", 0.1, nil)
	p := mustInfer(t, m, []heredity.Bird{{Sex: heredity.Cock, Looks: []int{1}, Said: []heredity.Said{{Locus: 0, Allele: 1, OfCarrier: 0.9, OfAnother: 0.2}}}})
	prior := 2. / 11
	if got, want := p.Split(0, 0, 1), prior*0.9/(prior*0.9+(1-prior)*0.2); !near(got, want, 1e-12) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// Without founder frequencies the answer is shown at .02, .1 and .3 and marked where they
// differ by over 10 points: 2q/(1+q) of a normal bird is .039, .182 and .462.
func TestInferRange_Frequencies(t *testing.T) {
	m := mustModel(t, `{"loci":[{"id":"a","chromosome":"autosome","alleles":[{"id":"N","wild":true},{"id":"m"}]}],"traits":[{"id":"a","looks":[{"look":"visual","when":[{"a":["m/m"]}]},{"look":"normal"}]}]}`)
	s, err := heredity.InferRange(context.Background(), m, []heredity.Bird{
		{Sex: heredity.Cock, Looks: []int{1}},
		{Sex: heredity.Hen, Looks: []int{0}},
	}, heredity.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if lo, hi := s.Low(0, 0).Cock[1], s.High(0, 0).Cock[1]; !near(lo, 0.04/1.02, 1e-12) || !near(hi, 0.6/1.3, 1e-12) || !near(s.At(0, 0).Cock[1], 2./11, 1e-12) {
		t.Errorf("got %v (%v to %v)", s.At(0, 0).Cock[1], lo, hi)
	}
	if !s.Marked(0, 0) || s.Marked(1, 0) || len(s.Variants) != 3 || len(s.Assumed) != 1 {
		t.Errorf("marks: %v %v, variants %q, assumed %q", s.Marked(0, 0), s.Marked(1, 0), s.Variants, s.Assumed)
	}
}

// Unscored young, and strangers, change nothing.
func TestInfer_SilentBirdsChangeNothing(t *testing.T) {
	m := recessives(t, "Z", 0.2, nil)
	birds := tangle(m, 8, 2, 8, 3)
	p := mustInfer(t, m, birds)
	more := slices.Clone(birds)
	more = append(more,
		heredity.Bird{Parents: birds[10].Parents},
		heredity.Bird{Sex: heredity.Cock, Looks: []int{0}},
		heredity.Bird{Parents: heredity.Certain(len(birds)+1, heredity.Unknown)})
	q := mustInfer(t, m, more)
	for i := range birds {
		for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
			for g, x := range p.At(i, 0).Of(s) {
				if !near(x, q.At(i, 0).Of(s)[g], 1e-12) {
					t.Fatalf("bird %d: %v became %v", i, x, q.At(i, 0).Of(s)[g])
				}
			}
		}
	}
}

// Every file of the catalogue is read, every locus and mutant allele has a source and a
// basis, every colour of a locus can be crossed and asked after, and no frequency is set.
func TestCatalogue(t *testing.T) {
	slugs := heredity.CatalogueSlugs()
	if len(slugs) != 13 {
		t.Errorf("%d species, want 13", len(slugs))
	}
	loci := 0
	for _, slug := range slugs {
		m, ok := heredity.Catalogue(slug)
		if !ok || m.Species != slug {
			t.Fatalf("%s: %v, species %q", slug, ok, m.Species)
		}
		if len(m.Loci)+len(m.Unsettled) == 0 {
			t.Errorf("%s: says nothing", slug)
		}
		for _, u := range m.Unsettled {
			if u.Source == "" || u.Basis == "" || u.Note == "" {
				t.Errorf("%s: %s lacks source, basis or note", slug, u.Name)
			}
		}
		for i := range m.Loci {
			l := &m.Loci[i]
			loci++
			if l.Known || l.Source == "" || l.Basis == "" {
				t.Errorf("%s %s: frequencies %v, source %q, basis %q", slug, l.ID, l.Known, l.Source, l.Basis)
			}
			for a := range l.Alleles {
				if x := l.Alleles[a]; a != l.Wild && (x.Source == "" || x.Basis == "" || x.Name == "") {
					t.Errorf("%s %s %s: lacks name, source or basis", slug, l.ID, x.ID)
				}
			}
			shown := slices.ContainsFunc(m.Traits, func(tr heredity.Trait) bool { return slices.Contains(tr.Loci(), i) })
			if !shown {
				t.Errorf("%s %s: no trait shows it", slug, l.ID)
			}
			need := []int{i}
			for _, tr := range m.Traits {
				if slices.Contains(tr.Loci(), i) {
					need = append(need, tr.Loci()...)
				}
			}
			part := m.Only(need...)
			cock, err := part.Bird(heredity.Cock, "")
			if err != nil {
				t.Fatal(err)
			}
			hen, err := part.Bird(heredity.Hen, "")
			if err != nil {
				t.Fatal(err)
			}
			if len(cock)*len(hen) < 5000 {
				mustCross(t, part, cock, hen)
			}
		}
		for _, l := range m.Links {
			if l.Known {
				t.Errorf("%s: a recombination is set", slug)
			}
		}
	}
	t.Logf("%d loci", loci)
	// A pastel hen does not exist, and a yellow hen's back shows her one allele.
	m, _ := heredity.Catalogue("gouldian")
	m = m.Only(m.Locus("yellow-back"), m.Locus("blue"))
	y := mustCross(t, m, mustBird(t, m, heredity.Cock, "yellow-back=g+/g,blue=+/+"), mustBird(t, m, heredity.Hen, "yellow-back=g+,blue=+/+"))
	got := bySex(m, y)
	for k, w := range map[string]float64{"cock green": 0.5, "cock pastel green": 0.5, "hen green": 0.5, "hen yellow": 0.5} {
		if !near(got[k], w, 1e-12) {
			t.Errorf("%s: got %v, want %v (all: %v)", k, got[k], w, got)
		}
	}
	for k := range got {
		if strings.HasPrefix(k, "hen pastel") {
			t.Error("a pastel hen")
		}
	}
}

// The whole catalogue of a species is asked at once: loci split, and each is exact.
func TestInfer_WholeCatalogue(t *testing.T) {
	for _, slug := range []string{"gouldian", "zebra", "java"} {
		m, _ := heredity.Catalogue(slug)
		rng := rand.New(rand.NewPCG(1, 1))
		var birds []heredity.Bird
		for i := range 60 {
			b := heredity.Bird{Sex: heredity.Cock + heredity.Sex(i%2), Looks: make([]int, len(m.Traits))}
			for tr := range m.Traits {
				b.Looks[tr] = heredity.Unseen
				if rng.IntN(4) > 0 { // the commonest look: what no other covers, or the first
					b.Looks[tr] = slices.IndexFunc(m.Traits[tr].Looks, func(l heredity.Look) bool { return l.Name == "normal" })
					if b.Looks[tr] < 0 && m.Traits[tr].ID != "head" {
						b.Looks[tr] = m.Traits[tr].Look(map[string]string{"breast": "purple", "back": "green", "body": "grey", "white": "pigmented", "brown": "grey"}[m.Traits[tr].ID])
					}
				}
			}
			if i >= 20 {
				b.Parents = heredity.Certain(2*rng.IntN(i/4), 2*rng.IntN(i/4)+1)
			}
			birds = append(birds, b)
		}
		start := time.Now()
		p, err := heredity.Infer(context.Background(), m, birds, heredity.Options{})
		if err != nil {
			t.Fatalf("%s: %v", slug, err)
		}
		t.Logf("%s: %d loci, 60 birds, %v", slug, len(m.Loci), time.Since(start))
		for i := range birds {
			for l := range m.Loci {
				sum := 0.0
				for _, x := range append(slices.Clone(p.At(i, l).Cock), p.At(i, l).Hen...) {
					sum += x
				}
				if !near(sum, 1, 1e-9) {
					t.Fatalf("%s bird %d locus %d: adds up to %v", slug, i, l, sum)
				}
			}
		}
	}
}

// Nest mates of unknown parents share these: a mate of a visual chick is visual with
// (1+q)^2/4, as full brothers are (by hand: each parent passes the same allele half the
// time), and a stranger with q^2.
func TestInfer_ClutchOfUnknownParents(t *testing.T) {
	m := recessives(t, "autosome", 0.2, nil)
	for _, c := range []struct {
		clutch int
		want   float64
	}{{7, 1.2 * 1.2 / 4}, {0, 0.04}} {
		p := mustInfer(t, m, []heredity.Bird{
			{Sex: heredity.Cock, Looks: []int{0}, Clutch: c.clutch},
			{Sex: heredity.Cock, Clutch: c.clutch},
		})
		if got := p.At(1, 0).Cock[2]; !near(got, c.want, 1e-12) {
			t.Errorf("clutch %d: got %v, want %v", c.clutch, got, c.want)
		}
	}
}
