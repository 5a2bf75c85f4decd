package advice

import (
	"errors"
	"fmt"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/pedigree"
)

// Flock is the birds of a species in the books, those gone by too, as rows for engines that count by rows.
type Flock struct {
	Birds    []*aviary.Bird // by row, as the books have them
	Pedigree *pedigree.Pedigree
	// Problem says why the lines in the books cannot be followed; Pedigree is nil then.
	Problem string
	// Doubtful is how many birds have one of several cocks or hens as a parent, and Apart how many have a parent of
	// another species; both count as of unknown parent in Pedigree.
	Doubtful, Apart int

	row map[aviary.ID]int
	sex []pedigree.Sex
}

// Flock returns the birds of a species as rows.
func (d *Desk) Flock(species string) *Flock {
	f := &Flock{row: map[aviary.ID]int{}}
	for _, b := range d.Room.Birds() {
		if b.Species == species {
			f.row[b.ID] = len(f.Birds)
			f.Birds = append(f.Birds, b)
		}
	}
	sire, dam := make([]int, len(f.Birds)), make([]int, len(f.Birds))
	f.sex = make([]pedigree.Sex, len(f.Birds))
	for i, b := range f.Birds {
		f.sex[i] = map[aviary.Sex]pedigree.Sex{aviary.Cock: pedigree.Cock, aviary.Hen: pedigree.Hen}[b.Sex]
		l := d.Room.Parents(b.ID)
		sire[i], dam[i] = f.rowOf(l.Sire), f.rowOf(l.Dam)
		if (l.Sire != (aviary.ID{}) && sire[i] == pedigree.Unknown) || (l.Dam != (aviary.ID{}) && dam[i] == pedigree.Unknown) {
			f.Apart++
		}
		if len(l.Sires)+len(l.Dams) > 0 {
			f.Doubtful++
		}
	}
	p, err := pedigree.New(sire, dam, f.sex)
	if err != nil {
		f.Problem = f.say(err)
		return f
	}
	f.Pedigree = p
	return f
}

func (f *Flock) rowOf(id aviary.ID) int {
	if row, ok := f.row[id]; ok && id != (aviary.ID{}) {
		return row
	}
	return pedigree.Unknown
}

// Row returns the row of a bird, and false when it is not of this flock.
func (f *Flock) Row(id aviary.ID) (int, bool) { row, ok := f.row[id]; return row, ok }

// name names the bird in a row.
func (f *Flock) name(row int) string { return f.Birds[row].Label() }

// say writes a mistake of the pedigree with the birds' own names.
func (f *Flock) say(err error) string {
	var all *pedigree.Mistakes
	if errors.As(err, &all) && len(all.List) > 0 {
		err = all.List[0]
	}
	var n pedigree.Named
	if errors.As(err, &n) {
		return n.Say(f.name)
	}
	return err.Error()
}

// living lists the rows of the birds that are here.
func (f *Flock) living() []int {
	var out []int
	for i, b := range f.Birds {
		if b.Here() {
			out = append(out, i)
		}
	}
	return out
}

// Kin is one way in which a bird comes to be inbred: an ancestor of both its parents.
type Kin struct {
	Bird *aviary.Bird
	F    float64 // what this ancestor adds to the bird's inbreeding
	Ways int     // paths through it
}

// Inbred is how inbred a bird is, by the lines in the books.
type Inbred struct {
	F       float64
	FZ      float64
	HasZ    bool
	Common  []Kin // most first
	Basis   string
	Problem string
}

// mostPaths bounds the paths that are walked to share an inbreeding among ancestors; beyond it none is named.
const mostPaths = 20000

// Inbred works out how inbred a bird is and which ancestors of both parents make it so: F is the sum over paths from sire to
// dam through a common ancestor, in which no bird stands twice, of (1/2)^n (1 + F of the ancestor), n being the birds on the
// path. Source: Wright (1922).
func (d *Desk) Inbred(id aviary.ID) Inbred {
	b := d.Room.Bird(id)
	if b == nil {
		return Inbred{}
	}
	f := d.Flock(b.Species)
	if f.Problem != "" {
		return Inbred{Problem: f.Problem}
	}
	row := f.row[b.ID]
	all := pedigree.Inbreeding(f.Pedigree)
	z, has := pedigree.InbreedingZ(f.Pedigree)
	out := Inbred{F: all[row], FZ: z[row], HasZ: has[row], Basis: fmt.Sprintf("Exact on the lines of %s in the books; birds of unknown parents count as unrelated", count(len(f.Birds), "bird", "birds"))}
	if f.Doubtful > 0 {
		out.Basis += fmt.Sprintf("; %s one of several parents, which count as unknown", plural(f.Doubtful, "one bird has", fmt.Sprintf("%d birds have", f.Doubtful)))
	}
	sire, dam := f.Pedigree.Parents(row)
	if out.F > 0 && sire != pedigree.Unknown && dam != pedigree.Unknown {
		out.Common = f.common(sire, dam, all)
	}
	return out
}

// common shares the kinship of two birds among their common ancestors by Wright's paths.
func (f *Flock) common(sire, dam int, inbreeding []float64) []Kin {
	up := map[int][][]int{} // by ancestor: the paths from the sire up to it
	left := mostPaths
	var climb func(row int, path []int, take func(row int, path []int))
	climb = func(row int, path []int, take func(row int, path []int)) {
		if left--; left < 0 {
			return
		}
		path = append(slices.Clone(path), row)
		take(row, path)
		s, d := f.Pedigree.Parents(row)
		for _, p := range []int{s, d} {
			if p != pedigree.Unknown {
				climb(p, path, take)
			}
		}
	}
	climb(sire, nil, func(row int, path []int) { up[row] = append(up[row], path) })
	adds := map[int]*Kin{}
	climb(dam, nil, func(row int, path []int) {
		for _, other := range up[row] {
			if left--; left < 0 {
				return
			}
			if meets(path, other) {
				continue
			}
			k := adds[row]
			if k == nil {
				k = &Kin{Bird: f.Birds[row]}
				adds[row] = k
			}
			k.F += halves(len(path)+len(other)-1) * (1 + inbreeding[row])
			k.Ways++
		}
	})
	if left < 0 {
		return nil
	}
	var out []Kin
	for _, k := range adds {
		out = append(out, *k)
	}
	slices.SortFunc(out, func(a, b Kin) int {
		if a.F != b.F {
			return compareDown(a.F, b.F)
		}
		return f.row[a.Bird.ID] - f.row[b.Bird.ID]
	})
	return out
}

// meets reports whether two paths that end at the same ancestor share any other bird.
func meets(a, b []int) bool {
	for _, x := range a[:len(a)-1] {
		if slices.Contains(b, x) {
			return true
		}
	}
	return slices.Contains(b[:len(b)-1], a[len(a)-1])
}

// halves is (1/2)^n.
func halves(n int) float64 {
	x := 1.0
	for range n {
		x /= 2
	}
	return x
}

func compareDown(a, b float64) int {
	switch {
	case a > b:
		return -1
	case a < b:
		return 1
	}
	return 0
}
