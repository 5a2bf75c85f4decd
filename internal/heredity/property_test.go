package heredity_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"broodlight/internal/heredity"
	"broodlight/internal/heredity/plain"

	"pgregory.net/rapid"
)

// drawModel draws one to two loci, linked or not, with looks of several kinds.
func drawModel(t *rapid.T) *heredity.Model {
	two := rapid.Bool().Draw(t, "two loci")
	chrom := rapid.SampledFrom([]string{"Z", "autosome"})
	a := chrom.Draw(t, "first")
	qa := rapid.SampledFrom([]float64{0.1, 0.3, 0.5}).Draw(t, "q")
	locus := func(id, c string, q float64) string {
		return fmt.Sprintf(`{"id":%q,"chromosome":%q,"alleles":[{"id":"N","frequency":%v},{"id":"m","frequency":%v}]}`, id, c, 1-q, q)
	}
	loci := []string{locus("a", a, qa)}
	traits := []string{`{"id":"a","looks":[{"look":"visual","when":[{"a":["m/m","m"]}]},{"look":"normal"},{"look":"split","evidence":true,"when":[{"a":["N/m"]}]}]}`}
	if a == "autosome" {
		traits = []string{`{"id":"a","looks":[{"look":"visual","when":[{"a":["m/m"]}]},{"look":"normal"},{"look":"split","evidence":true,"when":[{"a":["N/m"]}]}]}`}
	}
	link := ""
	if two {
		b := chrom.Draw(t, "second")
		loci = append(loci, locus("b", b, 0.4))
		hen := ""
		if b == "Z" {
			hen = `,"m"`
		}
		switch eighths(t, "second trait") % 4 {
		case 0: // one hides the other
			hide := `"m/m"`
			if a == "Z" {
				hide += `,"m"`
			}
			traits[0] = fmt.Sprintf(`{"id":"a","looks":[{"look":"hidden","when":[{"a":[%s]}]},{"look":"visual","when":[{"b":["m/m"%s],"a":["N/N","N/m"%s]}]},{"look":"normal"}]}`, hide, hen, map[bool]string{true: `,"N"`}[a == "Z"])
		case 1: // a trait of its own, showing in cocks only, not always
			traits = append(traits, `{"id":"b","looks":[{"look":"visual","when":[{"sex":"cock","b":["m/m"],"probability":0.8}]},{"look":"normal"}]}`)
		default:
			traits = append(traits, fmt.Sprintf(`{"id":"b","looks":[{"look":"visual","when":[{"b":["m/m"%s]}]},{"look":"normal"}]}`, hen))
		}
		if a == b {
			link = fmt.Sprintf(`"linkage":[{"between":["a","b"],"recombination":%v}],`, rapid.SampledFrom([]float64{0, 0.1, 0.3, 0.5}).Draw(t, "r"))
		}
	}
	m, err := heredity.Read([]byte(fmt.Sprintf(`{"loci":[%s],%s"traits":[%s]}`, strings.Join(loci, ","), link, strings.Join(traits, ","))))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// eighths draws a number from 0 to 7, all alike (ranges of rapid favour the small ones).
func eighths(t *rapid.T, label string) int {
	n := 0
	for range 3 {
		n *= 2
		if rapid.Bool().Draw(t, label) {
			n++
		}
	}
	return n
}

// drawFlock draws birds with loops, unknown sexes and parents, candidates, clutches and
// words, parents first.
func drawFlock(t *rapid.T, m *heredity.Model, most int) []heredity.Bird {
	n := max(1, most-eighths(t, "fewer")/2)
	var birds []heredity.Bird
	hidden := 0 // birds of unknown sex: each doubles what is to be listed
	for i := range n {
		b := heredity.Bird{Sex: heredity.Sex(1 + eighths(t, "sex")%2)}
		var cocks, hens []int
		for j, o := range birds {
			if o.Sex == heredity.Cock {
				cocks = append(cocks, j)
			}
			if o.Sex == heredity.Hen {
				hens = append(hens, j)
			}
		}
		pick := func(from []int, label string) []heredity.Candidate {
			if len(from) == 0 {
				return nil
			}
			c := []heredity.Candidate{{Bird: rapid.SampledFrom(from).Draw(t, label), Weight: 1}}
			if d := rapid.SampledFrom(from).Draw(t, label+" 2"); d != c[0].Bird && eighths(t, "doubt") < 2 {
				c[0].Weight = 0.6
				c = append(c, heredity.Candidate{Bird: d, Weight: rapid.SampledFrom([]float64{0.4, 0.3}).Draw(t, "weight")})
			}
			return c
		}
		if i > 1 && eighths(t, "founder") > 0 {
			var sires, dams []heredity.Candidate
			if eighths(t, "sire known") > 0 {
				sires = pick(cocks, "sire")
			}
			if eighths(t, "dam known") > 0 {
				dams = pick(hens, "dam")
			}
			var err error
			if b.Parents, err = heredity.OneOf(sires, dams); err != nil {
				t.Fatal(err)
			}
			// Listing grows fast with unknown parents: keep them few.
			if sires == nil && dams == nil {
				b.Parents = nil
			}
		}
		if i > 2 && eighths(t, "mate") == 0 && birds[i-1].Parents != nil {
			b.Parents = birds[i-1].Parents
			if birds[i-1].Clutch == 0 {
				birds[i-1].Clutch = i
			}
			b.Clutch = birds[i-1].Clutch
		}
		if eighths(t, "unsexed") < 2 && i > n/2 && hidden < 2 {
			hidden++
			b.Sex = heredity.Unsexed
		}
		for tr := range m.Traits {
			l := eighths(t, "look")%(len(m.Traits[tr].Looks)+2) - 2 // -2 and -1: not seen
			l = max(l, heredity.Unseen)
			if l >= 0 && m.Traits[tr].Looks[l].Evidence && rapid.Bool().Draw(t, "plain") {
				l = heredity.Unseen
			}
			b.Looks = append(b.Looks, l)
		}
		if eighths(t, "word") == 0 {
			b.Said = []heredity.Said{{Locus: rapid.IntRange(0, len(m.Loci)-1).Draw(t, "of"), Allele: 1, OfCarrier: 0.9, OfAnother: 0.2}}
		}
		birds = append(birds, b)
	}
	return birds
}

// strangers counts unknown parents, which make listing slow.
func strangers(birds []heredity.Bird) int {
	n := 0
	for _, b := range birds {
		for _, p := range b.Parents {
			if (p.Sire == heredity.Unknown) != (p.Dam == heredity.Unknown) || (b.Clutch != 0 && p.Sire == heredity.Unknown) {
				n++
			}
		}
	}
	return n
}

func TestInfer_EqualsListing(t *testing.T) {
	agreed, clashed, unsexed, doubtful := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		most := 10
		if len(m.Loci) == 2 {
			most = 5
		}
		birds := drawFlock(t, m, most)
		if strangers(birds) > 1 {
			t.Skip("too many strangers to list")
		}
		logLik, want := plain.Posterior(m, birds)
		p, err := heredity.Infer(context.Background(), m, birds, heredity.Options{})
		if math.IsInf(logLik, -1) {
			clashed++
			var clash *heredity.ConflictError
			if !errors.As(err, &clash) {
				t.Fatalf("got %v, want a clash", err)
			}
			checkClash(t, m, birds, clash)
			return
		}
		agreed++
		if err != nil {
			t.Fatal(err)
		}
		if !near(p.LogLik, logLik, 1e-9) {
			t.Fatalf("log likelihood: got %v, want %v", p.LogLik, logLik)
		}
		for i, b := range birds {
			if p.Sex(i) == heredity.Unsexed {
				unsexed++
			}
			if len(b.Parents) > 1 {
				doubtful++
			}
			for l := range m.Loci {
				sum := 0.0
				for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
					for g, x := range p.At(i, l).Of(s) {
						sum += x
						if !near(x, want[i][l][s][g], 1e-10) {
							t.Fatalf("bird %d locus %d %v genotype %d: got %v, want %v", i, l, s, g, x, want[i][l][s][g])
						}
					}
				}
				if !near(sum, 1, 1e-12) {
					t.Fatalf("bird %d locus %d: adds up to %v", i, l, sum)
				}
			}
		}
	})
	t.Logf("%d agreed (%d birds of unknown sex, %d of doubtful parents), %d clashed", agreed, unsexed, doubtful, clashed)
	if agreed == 0 || clashed == 0 || unsexed == 0 || doubtful == 0 {
		t.Error("some kind of flock was never drawn")
	}
}

// without blanks one record.
func without(birds []heredity.Bird, r heredity.Record) []heredity.Bird {
	out := slices.Clone(birds)
	b := &out[r.Bird]
	if r.Trait >= 0 {
		b.Looks = slices.Clone(b.Looks)
		b.Looks[r.Trait] = heredity.Unseen
	} else {
		b.Said = slices.Delete(slices.Clone(b.Said), r.Said, r.Said+1)
	}
	return out
}

// only keeps some records and blanks the others.
func only(birds []heredity.Bird, keep []heredity.Record) []heredity.Bird {
	out := slices.Clone(birds)
	for i := range out {
		out[i].Looks = slices.Clone(out[i].Looks)
		for t := range out[i].Looks {
			out[i].Looks[t] = heredity.Unseen
		}
		out[i].Said = nil
	}
	for _, r := range keep {
		if r.Trait >= 0 {
			out[r.Bird].Looks[r.Trait] = birds[r.Bird].Looks[r.Trait]
		} else {
			out[r.Bird].Said = append(out[r.Bird].Said, birds[r.Bird].Said[r.Said])
		}
	}
	return out
}

// checkClash holds a clash to what it promises, by listing: it cannot be true, it can
// without any one record, and no smaller set of records clashes.
func checkClash(t *rapid.T, m *heredity.Model, birds []heredity.Bird, c *heredity.ConflictError) {
	if l, _ := plain.Posterior(m, only(birds, c.Records)); !math.IsInf(l, -1) {
		t.Fatalf("%v: can be true", c)
	}
	for _, r := range c.Records {
		if l, _ := plain.Posterior(m, without(only(birds, c.Records), r)); math.IsInf(l, -1) {
			t.Fatalf("%v: cannot be true without row %d either", c, r.Bird+1)
		}
	}
	if !c.Smallest {
		t.Fatalf("%v: not known to be the smallest", c)
	}
	var all []heredity.Record
	for i, b := range birds {
		for tr, l := range b.Looks {
			if l >= 0 {
				all = append(all, heredity.Record{Bird: i, Trait: tr, Look: l, Said: -1})
			}
		}
	}
	var smaller func(from int, have []heredity.Record)
	smaller = func(from int, have []heredity.Record) {
		if len(have) == min(len(c.Records)-1, 3) {
			if l, _ := plain.Posterior(m, only(birds, have)); math.IsInf(l, -1) {
				t.Fatalf("%v: %v clashes with fewer", c, have)
			}
			return
		}
		for k := from; k < len(all); k++ {
			smaller(k+1, append(slices.Clone(have), all[k]))
		}
	}
	if len(birds) <= 6 {
		smaller(0, nil)
	}
	sum := 0.0
	for _, x := range c.Culprits {
		sum += x.Share
	}
	if !near(sum, 1, 1e-9) {
		t.Fatalf("%v: culprits add up to %v", c, sum)
	}
}

func TestInfer_RowOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		birds := drawFlock(t, m, 16)
		p, err := heredity.Infer(context.Background(), m, birds, heredity.Options{})
		perm := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1)).Perm(len(birds))
		moved := make([]heredity.Bird, len(birds))
		for i, b := range birds {
			b.Parents = slices.Clone(b.Parents)
			for k := range b.Parents {
				if b.Parents[k].Sire >= 0 {
					b.Parents[k].Sire = perm[b.Parents[k].Sire]
				}
				if b.Parents[k].Dam >= 0 {
					b.Parents[k].Dam = perm[b.Parents[k].Dam]
				}
			}
			moved[perm[i]] = b
		}
		q, err2 := heredity.Infer(context.Background(), m, moved, heredity.Options{})
		if (err == nil) != (err2 == nil) {
			t.Fatalf("one order gives %v, another %v", err, err2)
		}
		if err != nil {
			return
		}
		for i := range birds {
			for l := range m.Loci {
				for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
					for g, x := range p.At(i, l).Of(s) {
						if y := q.At(perm[i], l).Of(s)[g]; !near(x, y, 1e-11) {
							t.Fatalf("bird %d: %v in one order, %v in another", i, x, y)
						}
					}
				}
			}
		}
	})
}
