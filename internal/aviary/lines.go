package aviary

import (
	"fmt"
	"slices"
)

// Line is who a bird's parents are, as far as is known. Where several cocks or hens may be the parent,
// Sire or Dam is zero and the candidates are listed.
type Line struct {
	Sire, Dam   ID
	Sires, Dams []ID // candidates, when more than one
	Basis       string
	Problem     string // a link that was written but cannot stand, and why
}

// Parents says who a bird's parents are: those that were written; else, for a bird ringed in a nest, the
// laying pair at the place where the egg was laid on the day when the clutch began. A link that cannot
// stand (a parent younger than its young, an ancestor of itself) is left out and named in Problem.
func (r *Room) Parents(id ID) Line {
	r.derived.mu.Lock()
	defer r.derived.mu.Unlock()
	r.workOutLines()
	return r.derived.lines[r.canonical(id)]
}

// Young returns the birds whose parent this is, oldest in the books first. The caller must not change the slice.
func (r *Room) Young(id ID) []*Bird {
	r.derived.mu.Lock()
	defer r.derived.mu.Unlock()
	r.workOutLines()
	return r.derived.young[r.canonical(id)]
}

func (r *Room) workOutLines() {
	if r.derived.lines != nil {
		return
	}
	birds := r.birds()
	known := make(map[ID]Line, len(birds))
	for _, b := range birds {
		known[b.ID] = r.lineOf(b)
	}
	r.breakLoops(birds, known)
	young := map[ID][]*Bird{}
	for _, b := range birds {
		l := known[b.ID]
		for _, p := range []ID{l.Sire, l.Dam} {
			if p != (ID{}) {
				young[p] = append(young[p], b)
			}
		}
	}
	r.derived.lines, r.derived.young = known, young
}

func (r *Room) lineOf(b *Bird) Line {
	l := Line{Sire: r.canonical(b.Sire), Dam: r.canonical(b.Dam)}
	if l.Sire != (ID{}) || l.Dam != (ID{}) {
		l.Basis = "as written"
		if b.ParentsHow != "" {
			l.Basis = b.ParentsHow
		}
	}
	if b.RingedAt != nil && (l.Sire == (ID{}) || l.Dam == (ID{})) {
		sires, dams := r.layers(b)
		if l.Sire == (ID{}) {
			l.Sire, l.Sires = only(sires)
		}
		if l.Dam == (ID{}) {
			l.Dam, l.Dams = only(dams)
		}
		if l.Basis == "" && len(sires)+len(dams) > 0 {
			l.Basis = "the laying pair of the nest it was ringed in"
		}
	}
	for _, p := range []*ID{&l.Sire, &l.Dam} {
		if parent := r.Bird(*p); parent != nil && parent.Hatched != 0 && b.Hatched != 0 && parent.Hatched >= b.Hatched {
			l.Problem = fmt.Sprintf("%s hatched on %s, not before its young %s (%s)", parent.Label(), parent.Hatched.Long(), b.Label(), b.Hatched.Long())
			*p = ID{}
		}
	}
	return l
}

func only(ids []ID) (ID, []ID) {
	if len(ids) == 1 {
		return ids[0], nil
	}
	return ID{}, ids
}

// layers returns the cocks and hens that may have made the egg of a bird that was ringed in a nest.
func (r *Room) layers(b *Bird) (cocks, hens []ID) {
	o := b.RingedAt
	if o.LaidPlace != (ID{}) && o.LaidPlace != o.Place {
		if p := r.PairOn(o.LaidPlace, layDay(b, o.Day)); p != nil {
			return p.Cocks, p.Hens
		}
		return nil, nil
	}
	home := r.Place(o.Place)
	if home == nil || o.Group != (ID{}) {
		return nil, nil
	}
	var c *Clutch
	for _, x := range home.Clutches {
		if slices.Contains(x.Birds, b.ID) {
			c = x
		}
	}
	if c == nil {
		if p := r.PairOn(o.Place, layDay(b, o.Day)); p != nil {
			return p.Cocks, p.Hens
		}
		return nil, nil
	}
	native := true
	for _, in := range c.FromNests {
		native = native && in.Eggs+in.Chicks+len(in.Birds) == 0
	}
	own := r.LayingPair(c)
	if native {
		if own == nil {
			return nil, nil
		}
		return own.Cocks, own.Hens
	}
	// A mixed nest: its own layers and those of the nests that gave are candidates.
	add := func(p *Pair) {
		if p == nil {
			return
		}
		for _, id := range p.Cocks {
			if !slices.Contains(cocks, id) {
				cocks = append(cocks, id)
			}
		}
		for _, id := range p.Hens {
			if !slices.Contains(hens, id) {
				hens = append(hens, id)
			}
		}
	}
	if c.Key != firstInlet(c) {
		add(own)
	}
	for _, in := range c.FromNests {
		add(r.PairOn(in.Place, layDay(b, in.Day)))
	}
	return cocks, hens
}

// firstInlet is the entry that put the first foreign eggs or chicks into the nest.
func firstInlet(c *Clutch) ID {
	if len(c.FromNests) == 0 {
		return ID{}
	}
	return c.FromNests[0].Entry
}

// layDay is about when a bird's egg was laid: a fortnight and a half before hatching, or, when the day of
// hatch is not known, before it was ringed. It serves to find the pair that stood at the nest then.
func layDay(b *Bird, ringed Date) Date {
	const layToHatch = 17 // days, laying and incubation of these species; common practice, no single source
	if b.Hatched != 0 {
		return b.Hatched - layToHatch
	}
	return ringed - layToHatch - 8 // closed rings go on at about eight days; common practice, no single source
}

// LayingPair returns the pair that stood at the nest when the clutch began, or nil when that is not known.
func (r *Room) LayingPair(c *Clutch) *Pair { return r.PairOn(c.Place, c.First) }

// RearingPair returns the pair that stands, or last stood, at the nest while the clutch was reared, or nil.
func (r *Room) RearingPair(c *Clutch) *Pair {
	if c.Open() {
		if p := r.PairNow(c.Place); p != nil {
			return p
		}
	} else if p := r.PairOn(c.Place, c.Ended); p != nil {
		return p
	}
	return r.LayingPair(c)
}

// breakLoops leaves out, in each loop of ancestry, the link of the bird that came into the books last.
func (r *Room) breakLoops(birds []*Bird, known map[ID]Line) {
	const (
		fresh = iota
		onPath
		done
	)
	state := make(map[ID]int8, len(birds))
	order := make(map[ID]int, len(birds))
	for i, b := range birds {
		order[b.ID] = i
	}
	type step struct {
		id   ID
		next int
	}
	for _, b := range birds {
		if state[b.ID] != fresh {
			continue
		}
		path := []step{{b.ID, 0}}
		state[b.ID] = onPath
		for len(path) > 0 {
			top := &path[len(path)-1]
			l := known[top.id]
			parents := [2]ID{l.Sire, l.Dam}
			if top.next == 2 {
				state[top.id] = done
				path = path[:len(path)-1]
				continue
			}
			p := parents[top.next]
			top.next++
			if p == (ID{}) || state[p] == done {
				continue
			}
			if state[p] == fresh {
				state[p] = onPath
				path = append(path, step{p, 0})
				continue
			}
			// A loop: from p along the path back to p.
			from := slices.IndexFunc(path, func(s step) bool { return s.id == p })
			last := from
			for i := from; i < len(path); i++ {
				if order[path[i].id] > order[path[last].id] {
					last = i
				}
			}
			id := path[last].id
			l = known[id]
			up := path[(last-from+1)%(len(path)-from)+from].id // the parent on the loop
			if l.Sire == up {
				l.Sire = ID{}
			}
			if l.Dam == up {
				l.Dam = ID{}
			}
			name := "a bird"
			if x := r.Bird(id); x != nil {
				name = x.Label()
			}
			l.Problem = name + " would be an ancestor of itself"
			known[id] = l
			// Walk this bird and what hangs on it again with the link gone.
			for _, s := range path[from:] {
				state[s.id] = fresh
			}
			path = path[:from]
			if from == 0 {
				path = []step{{b.ID, 0}}
				state[b.ID] = onPath
			} else {
				path[from-1].next--
			}
		}
	}
}

// descends reports whether id is among the ancestors of of, or the bird itself.
func (r *Room) descends(of, id ID) bool {
	seen := map[ID]bool{}
	var up func(x ID) bool
	up = func(x ID) bool {
		if x == id {
			return true
		}
		if x == (ID{}) || seen[x] {
			return false
		}
		seen[x] = true
		l := r.Parents(x)
		return up(l.Sire) || up(l.Dam)
	}
	return up(r.canonical(of))
}
