package advice

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/pedigree"
	"broodlight/internal/species"
)

// Lines is what a species' blood lines come to: what its founders left in the birds that are here, and who carries what few
// others do.
type Lines struct {
	Species  *species.Profile
	Slug     string
	Problem  string // why the lines cannot be followed
	Birds    int    // in the books
	Here     int
	Founders []FounderLine // most in the room first
	// Equivalents is how many founders with equal shares would leave as much diversity; Genomes how many with equal shares and
	// nothing lost. GenomesSE is the error of the drop. NoGenomes says why Genomes is not known.
	Equivalents        float64
	Genomes, GenomesSE float64
	NoGenomes          string
	Drops              int
	Related            float64 // mean kinship of the birds here
	Diversity          float64 // of the founders', that is left
	Ranks              []RankLine
	Known              []float64 // share of ancestors known, by generation: parents, grandparents…
	Cocks, Hens        int       // that bred in this season so far
	Breeding           float64   // effective size by their numbers; 0 when either is missing
	Risen              float64   // effective size by the inbreeding that is there; 0 when none shows
	RisenSE            float64
	Doubtful, Apart    int
}

// FounderLine is a founder, and what it left.
type FounderLine struct {
	Bird        *aviary.Bird // nil for a parent that nobody wrote down
	Of          *aviary.Bird // the young by which such a parent is known
	As          string       // "father" or "mother" of it
	Share       float64      // of the genes of the birds here
	Kept        float64      // of its two alleles, that are still here
	KeptSE      float64
	Descendants int // birds here that descend from it
}

// Name names a founder in a list.
func (f FounderLine) Name() string {
	if f.Bird != nil {
		return f.Bird.Label()
	}
	return "unknown " + f.As + " of " + f.Of.Label()
}

// RankLine is a bird here, by how related it is to the rest.
type RankLine struct {
	Bird    *aviary.Bird
	Related float64 // mean kinship with all that are here, itself included
	F       float64
	Young   bool // known to be under its species' least age for breeding
	Keep    bool // of the third that is least related
	NoYoung bool // none of its young is in the books
}

// Why says what else to mind about a bird in the list.
func (r RankLine) Why() string {
	switch {
	case r.Young:
		return "too young to breed yet"
	case r.NoYoung:
		return "no young yet"
	}
	return ""
}

// The gene drop of a page: enough for errors of a point or so, and bounded in steps for large rooms.
const (
	mostDrops  = 4000
	leastDrops = 400
	dropSteps  = 8_000_000
	dropSeed   = 1 // the same birds give the same figures
)

// generationsShown is how many generations of ancestors the completeness goes back.
const generationsShown = 5

// Lines works out the blood lines of a species.
func (d *Desk) Lines(ctx context.Context, slug string) (*Lines, error) {
	f := d.Flock(slug)
	out := &Lines{Species: d.Cat.BySlug(slug), Slug: slug, Problem: f.Problem, Birds: len(f.Birds), Doubtful: f.Doubtful, Apart: f.Apart}
	here := f.living()
	out.Here = len(here)
	if f.Problem != "" || len(here) == 0 {
		return out, nil
	}
	if err := f.Pedigree.Prepare(ctx, nil); err != nil {
		return nil, err
	}
	inbreeding := pedigree.Inbreeding(f.Pedigree)
	each, all := pedigree.MeanKinship(f.Pedigree, here)
	out.Related, out.Diversity = all, 1-all
	if err := out.founders(ctx, f, here); err != nil {
		return nil, err
	}
	out.Known = pedigree.Completeness(f.Pedigree, here, generationsShown)
	out.rank(d, f, here, each, inbreeding)
	out.sizes(d, f, here, inbreeding)
	return out, nil
}

func (out *Lines) founders(ctx context.Context, f *Flock, here []int) error {
	founders, share := pedigree.Contributions(f.Pedigree, here)
	out.Equivalents = pedigree.FounderEquivalents(share)
	descendants := f.descendants(here)
	drops := min(max(dropSteps/max(len(f.Birds), 1), leastDrops), mostDrops)
	drop, err := pedigree.GeneDrop(ctx, f.Pedigree, here, drops, rand.New(rand.NewPCG(dropSeed, uint64(len(f.Birds)))))
	var few *pedigree.DropsError
	switch {
	case err == nil:
		out.Drops, out.Genomes, out.GenomesSE = drops, drop.GenomeEquivalents, drop.GenomeEquivalentsSE
	case errors.As(err, &few):
		out.NoGenomes = few.Say(f.name)
	default:
		return err
	}
	for i, x := range founders {
		if share[i] == 0 {
			continue
		}
		l := FounderLine{Share: share[i], Descendants: descendants[x.Bird]}
		if x.Parent == pedigree.Unsexed {
			l.Bird = f.Birds[x.Bird]
		} else {
			l.Of, l.As = f.Birds[x.Bird], map[pedigree.Sex]string{pedigree.Cock: "father", pedigree.Hen: "mother"}[x.Parent]
		}
		if drop != nil {
			l.Kept, l.KeptSE = drop.Retention[i], drop.RetentionSE[i]
		}
		out.Founders = append(out.Founders, l)
	}
	slices.SortStableFunc(out.Founders, func(a, b FounderLine) int { return compareDown(a.Share, b.Share) })
	return nil
}

// descendants counts, for each row, the birds of a set that descend from it or are it.
func (f *Flock) descendants(set []int) []int {
	out := make([]int, len(f.Birds))
	seen := make([]int, len(f.Birds))
	for n, row := range set {
		todo := []int{row}
		for len(todo) > 0 {
			x := todo[len(todo)-1]
			todo = todo[:len(todo)-1]
			if seen[x] == n+1 {
				continue
			}
			seen[x] = n + 1
			out[x]++
			s, d := f.Pedigree.Parents(x)
			for _, p := range []int{s, d} {
				if p != pedigree.Unknown {
					todo = append(todo, p)
				}
			}
		}
	}
	return out
}

// rank orders the birds that are here, the least related first, and says whom to keep for the line: the third that is least
// related. Where to draw the line is common practice, no source; the order after Ballou and
// Lacy (1995).
func (out *Lines) rank(d *Desk, f *Flock, here []int, each, inbreeding []float64) {
	for i, row := range here {
		b := f.Birds[row]
		r := RankLine{Bird: b, Related: each[i], F: inbreeding[row], NoYoung: len(d.Room.Young(b.ID)) == 0}
		r.Young = !d.Grown(b)
		out.Ranks = append(out.Ranks, r)
	}
	slices.SortStableFunc(out.Ranks, func(a, b RankLine) int { return -compareDown(a.Related, b.Related) })
	for i := range out.Ranks {
		out.Ranks[i].Keep = i < (len(out.Ranks)+2)/3
	}
}

// sizes are the effective sizes: by the cocks and hens that bred this season, and by the inbreeding that is there.
func (out *Lines) sizes(d *Desk, f *Flock, here []int, inbreeding []float64) {
	season := d.SeasonOn(d.Today)
	bred := map[aviary.ID]bool{}
	for _, b := range f.Birds {
		if b.Hatched == 0 || !season.Contains(b.Hatched) {
			continue
		}
		l := d.Room.Parents(b.ID)
		bred[l.Sire], bred[l.Dam] = true, true
	}
	for _, b := range f.Birds {
		if bred[b.ID] {
			switch b.Sex {
			case aviary.Cock:
				out.Cocks++
			case aviary.Hen:
				out.Hens++
			}
		}
	}
	out.Breeding = pedigree.EffectiveSize(float64(out.Cocks), float64(out.Hens))
	generations := pedigree.EquivalentGenerations(f.Pedigree)
	var fs, ts []float64
	for _, row := range here {
		fs, ts = append(fs, inbreeding[row]), append(ts, generations[row])
	}
	if size, se, ok := pedigree.EffectiveSizeFromInbreeding(fs, ts); ok {
		out.Risen, out.RisenSE = size, se
	}
}

// Headline says what the lines come to.
func (out *Lines) Headline() string {
	switch {
	case out.Problem != "":
		return "The lines in the books contradict each other"
	case out.Here == 0:
		return "None is here"
	case len(out.Founders) == 1:
		return "One founder, and all that are here come from it"
	}
	s := fmt.Sprintf("%d founders, worth %.1f in equal shares", len(out.Founders), out.Equivalents)
	return s + fmt.Sprintf("; two birds here are related %s in 100 on average", InHundred(out.Related))
}

// InHundred writes a share or a kinship times 100, to one place.
func InHundred(k float64) string { return fmt.Sprintf("%.1f", 100*k) }
