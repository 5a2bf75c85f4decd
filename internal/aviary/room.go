package aviary

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
)

// Clash says what an entry cannot stand together with.
type Clash struct {
	With    *Entry // nil when it names something that is not there
	Message string
}

// AsideEntry is an entry that is set aside, and why.
type AsideEntry struct {
	Entry *Entry
	Clash *Clash
}

// Room is what a set of entries adds up to. It is not safe for writing while it is read; journal.Book
// holds the lock.
type Room struct {
	version uint64
	nodes   map[ID]*node
	strikes map[ID][]*node // by what they strike: an entry or a batch
	batches map[ID][]*node
	alias   map[ID]ID // a bird's other id -> the id that stands
	tracks  map[Subject]*track

	// Indexes, kept as tracks change.
	occupants map[ID]map[ID]bool // place -> birds there
	pairsAt   map[ID][]*Pair
	pairsOf   map[ID][]*Pair
	groups    map[ID]bool
	places    map[ID]*Place
	openOdds  map[ID]bool
	aside     map[ID]*node

	derived derived
}

// node is an entry with its place in the histories.
type node struct {
	e       *Entry
	live    bool
	tracks  []*track
	clashes []*Clash // parallel to tracks; nil when none of them objects
}

func (n *node) clash() *Clash {
	for _, c := range n.clashes {
		if c != nil {
			return c
		}
	}
	return nil
}

// track is the history of one subject and what it adds up to.
type track struct {
	sub   Subject
	nodes []*node // live ones, in order
	fold  fold
}

// fold is the running sum of one subject's history. object says what speaks against an entry at this
// point; apply takes an entry in.
type fold interface {
	object(r *Room, e *Entry) *Clash
	apply(r *Room, e *Entry)
}

func newFold(s Subject) fold {
	switch s.Type {
	case ABird:
		return &Bird{ID: s.ID}
	case APlace:
		return &Place{ID: s.ID}
	case APair:
		return &Pair{ID: s.ID}
	case ARing:
		return &wornBy{}
	case AGroup:
		return &Group{ID: s.ID}
	case AnOdd:
		return &Odd{}
	case TheRoom:
		return &Whole{}
	}
	panic(fmt.Sprintf("aviary: no fold for subject type %d", s.Type))
}

// NewRoom returns a room with no entries.
func NewRoom() *Room {
	r := &Room{nodes: map[ID]*node{}, strikes: map[ID][]*node{}, batches: map[ID][]*node{}}
	r.clear()
	return r
}

func (r *Room) clear() {
	r.alias = map[ID]ID{}
	r.tracks = map[Subject]*track{}
	r.occupants = map[ID]map[ID]bool{}
	r.pairsAt, r.pairsOf = map[ID][]*Pair{}, map[ID][]*Pair{}
	r.groups, r.openOdds = map[ID]bool{}, map[ID]bool{}
	r.places = map[ID]*Place{}
	r.aside = map[ID]*node{}
	r.tracks[room] = &track{sub: room, fold: newFold(room)}
}

// Replay returns the room that the entries add up to. They may come in any order; the same id twice counts once.
func Replay(entries []*Entry) *Room {
	r := NewRoom()
	r.nodes = make(map[ID]*node, len(entries))
	filed := make([]*node, 0, len(entries))
	for _, e := range entries {
		if e != nil && r.nodes[e.ID] == nil {
			filed = append(filed, r.file(e))
		}
	}
	r.foldAll(filed)
	return r
}

// file keeps an entry in the books without folding it.
func (r *Room) file(e *Entry) *node {
	n := &node{e: e}
	r.nodes[e.ID] = n
	if e.Batch != (ID{}) {
		r.batches[e.Batch] = append(r.batches[e.Batch], n)
	}
	if e.Strikes != (ID{}) {
		r.strikes[e.Strikes] = append(r.strikes[e.Strikes], n)
	}
	return n
}

func (r *Room) unfile(n *node) {
	e := n.e
	delete(r.nodes, e.ID)
	drop := func(m map[ID][]*node, key ID) {
		if m[key] = slices.DeleteFunc(m[key], func(x *node) bool { return x == n }); len(m[key]) == 0 {
			delete(m, key)
		}
	}
	if e.Batch != (ID{}) {
		drop(r.batches, e.Batch)
	}
	if e.Strikes != (ID{}) {
		drop(r.strikes, e.Strikes)
	}
}

// rebuild folds everything afresh.
func (r *Room) rebuild() {
	filed := make([]*node, 0, len(r.nodes))
	for _, n := range r.nodes {
		filed = append(filed, n)
	}
	r.foldAll(filed)
}

// foldAll folds all entries that are filed, in order. Those that come in order already are sorted soonest.
func (r *Room) foldAll(filed []*node) {
	r.version++
	r.derived.reset()
	r.clear()
	live := make([]*node, 0, len(filed))
	for _, n := range filed {
		n.live, n.tracks, n.clashes = r.stands(n), nil, nil
		if n.live {
			live = append(live, n)
		}
	}
	slices.SortFunc(live, func(a, b *node) int { return compareOrder(a.e, b.e) })
	for _, n := range live {
		if same, ok := n.e.Body.(*BirdSame); ok {
			r.join(same)
		}
	}
	for _, n := range live {
		n.tracks = r.link(n.e, r.tracks, r.tracks)
		for _, t := range n.tracks {
			t.nodes = append(t.nodes, n)
		}
		r.fold(n, func(t *track) fold { return t.fold })
		if n.clash() != nil {
			r.aside[n.e.ID] = n
		}
	}
	for _, t := range r.tracks {
		r.index(t, nil)
	}
}

// join makes two ids one bird. A chain or a loop of such entries ends at one id.
func (r *Room) join(b *BirdSame) {
	to, from := r.canonical(b.Bird), r.canonical(b.Same)
	if to != from {
		r.alias[from] = to
	}
}

// canonical returns the id that stands for a bird.
func (r *Room) canonical(id ID) ID {
	for len(r.alias) > 0 {
		to, ok := r.alias[id]
		if !ok {
			break
		}
		id = to
	}
	return id
}

func (r *Room) canonicals(ids []ID) []ID {
	if len(r.alias) == 0 {
		return ids
	}
	out := make([]ID, len(ids))
	for i, id := range ids {
		out[i] = r.canonical(id)
	}
	return out
}

// stands reports whether no standing strike hits the entry or its batch.
func (r *Room) stands(n *node) bool { return !r.struck(n, ID{}, nil) }

// struck reports whether a standing strike hits n, as if there were one more strike, on the id also (unless it is zero).
func (r *Room) struck(n *node, also ID, path []*node) bool {
	if slices.Contains(path, n) {
		return false // strikes in a ring cancel each other
	}
	if also != (ID{}) && (n.e.ID == also || n.e.Batch == also) {
		return true
	}
	path = append(path, n)
	for _, s := range r.strikes[n.e.ID] {
		if s != n && !r.struck(s, also, path) {
			return true
		}
	}
	if n.e.Batch != (ID{}) && n.e.Batch != n.e.ID {
		for _, s := range r.strikes[n.e.Batch] {
			if s != n && s.e.Batch != n.e.Batch && !r.struck(s, also, path) {
				return true
			}
		}
	}
	return false
}

// link finds the tracks of an entry, looking in known and making what is missing in made.
func (r *Room) link(e *Entry, known, made map[Subject]*track) []*track {
	var out []*track
	e.Body.subjects(e, func(s Subject) {
		if s.Type == ABird {
			s.ID = r.canonical(s.ID)
		}
		t := known[s]
		if t == nil {
			t = made[s]
		}
		if t == nil {
			t = &track{sub: s, fold: newFold(s)}
			made[s] = t
		}
		if !slices.Contains(out, t) {
			out = append(out, t)
		}
	})
	return out
}

// fold asks each track's fold about the node, and applies it to all of them if none objects.
func (r *Room) fold(n *node, of func(*track) fold) {
	n.clashes = r.objections(n, n.tracks, of)
	if n.clashes != nil {
		return
	}
	for _, t := range n.tracks {
		if f := of(t); f != nil {
			f.apply(r, n.e)
		}
	}
}

// objections asks each track; a track for which of returns nil keeps the answer that it gave before.
func (r *Room) objections(n *node, tracks []*track, of func(*track) fold) []*Clash {
	var out []*Clash
	for i, t := range tracks {
		var c *Clash
		if f := of(t); f != nil {
			c = f.object(r, n.e)
		} else if n.clashes != nil {
			c = n.clashes[i]
		}
		if c != nil {
			if out == nil {
				out = make([]*Clash, len(tracks))
			}
			out[i] = c
		}
	}
	return out
}

// change is a set of entries that come into or go out of the histories, worked out but not yet in force.
type change struct {
	made  map[Subject]*track
	dirty map[*track]*draft
	flips map[*node][]*Clash // new answer of the nodes that were asked again
	links map[*node][]*track // tracks of the nodes that enter
	in    []*node
	out   []*node
}

func (c *change) tracks(n *node) []*track {
	if t, ok := c.links[n]; ok {
		return t
	}
	return n.tracks
}

// draft is a track as it will be.
type draft struct {
	nodes []*node
	fold  fold
}

// plan works out what follows when the nodes in out leave the histories and those in in enter them.
// Only tracks that are touched, and tracks of entries that are thereby set aside or freed, are folded again.
// Nothing of the room changes.
func (r *Room) plan(in, out []*node) *change {
	c := &change{made: map[Subject]*track{}, dirty: map[*track]*draft{}, flips: map[*node][]*Clash{}, links: map[*node][]*track{}, in: in, out: out}
	entering := map[*node]bool{}
	for _, n := range in {
		c.links[n] = r.link(n.e, r.tracks, c.made)
		entering[n] = true
	}
	leaving := map[*node]bool{}
	for _, n := range out {
		leaving[n] = true
	}
	var start *node
	for _, list := range [][]*node{in, out} {
		for _, n := range list {
			if start == nil || compareOrder(n.e, start.e) < 0 {
				start = n
			}
		}
	}
	if start == nil {
		return c
	}
	var todo queue
	open := func(t *track, from *node) {
		if c.dirty[t] != nil {
			return
		}
		d := &draft{fold: newFold(t.sub), nodes: make([]*node, 0, len(t.nodes)+1)}
		c.dirty[t] = d
		for _, n := range t.nodes {
			if !leaving[n] {
				d.nodes = append(d.nodes, n)
			}
		}
		for _, n := range in {
			if slices.Contains(c.tracks(n), t) {
				at, _ := slices.BinarySearchFunc(d.nodes, n, func(a, b *node) int { return compareOrder(a.e, b.e) })
				d.nodes = slices.Insert(d.nodes, at, n)
			}
		}
		for _, n := range d.nodes {
			if compareOrder(n.e, from.e) >= 0 {
				todo.push(n)
			} else if c.answer(n) == nil {
				d.fold.apply(r, n.e)
			}
		}
	}
	for _, list := range [][]*node{in, out} {
		for _, n := range list {
			for _, t := range c.tracks(n) {
				open(t, start)
			}
		}
	}
	of := func(t *track) fold {
		if d := c.dirty[t]; d != nil {
			return d.fold
		}
		return nil
	}
	for n := todo.pop(); n != nil; n = todo.pop() {
		was := n.clashes == nil
		got := r.objections(n, c.tracks(n), of)
		if (got == nil) != was && !entering[n] {
			opened := false
			for _, t := range c.tracks(n) {
				opened = opened || c.dirty[t] == nil
				open(t, n)
			}
			if opened {
				continue // opening a track puts n back in the queue
			}
		}
		c.flips[n] = got
		if got == nil {
			for _, t := range c.tracks(n) {
				if f := of(t); f != nil {
					f.apply(r, n.e)
				}
			}
		}
	}
	return c
}

// answer is what speaks against a node under the change.
func (c *change) answer(n *node) []*Clash {
	if got, ok := c.flips[n]; ok {
		return got
	}
	return n.clashes
}

// commit puts a change in force.
func (r *Room) commit(c *change) {
	r.version++
	r.derived.reset()
	for s, t := range c.made {
		if c.dirty[t] != nil {
			r.tracks[s] = t
		}
	}
	for _, n := range c.out {
		n.live = false
		n.clashes = nil
		delete(r.aside, n.e.ID)
	}
	for _, n := range c.in {
		n.live, n.tracks = true, c.links[n]
	}
	for n, got := range c.flips {
		n.clashes = got
		if got != nil {
			r.aside[n.e.ID] = n
		} else {
			delete(r.aside, n.e.ID)
		}
	}
	for t, d := range c.dirty {
		old := t.fold
		t.nodes, t.fold = d.nodes, d.fold
		r.index(t, old)
	}
}

// queue hands out nodes in order, each once.
type queue struct{ nodes []*node }

func (q *queue) push(n *node) {
	at, found := slices.BinarySearchFunc(q.nodes, n, func(a, b *node) int { return compareOrder(b.e, a.e) })
	if !found {
		q.nodes = slices.Insert(q.nodes, at, n)
	}
}

func (q *queue) pop() *node {
	if len(q.nodes) == 0 {
		return nil
	}
	n := q.nodes[len(q.nodes)-1]
	q.nodes = q.nodes[:len(q.nodes)-1]
	return n
}

// index brings the indexes up to date after a track's fold changed from old.
func (r *Room) index(t *track, old fold) {
	switch f := t.fold.(type) {
	case *Bird:
		var before ID
		if b, ok := old.(*Bird); ok {
			before = b.Place()
		}
		if now := f.Place(); now != before || old == nil {
			delete(r.occupants[before], f.ID)
			if now != (ID{}) {
				if r.occupants[now] == nil {
					r.occupants[now] = map[ID]bool{}
				}
				r.occupants[now][f.ID] = true
			}
		}
	case *Pair:
		if p, ok := old.(*Pair); ok && p.setBy != nil {
			gone := func(x *Pair) bool { return x.ID == p.ID }
			r.pairsAt[p.Place] = slices.DeleteFunc(r.pairsAt[p.Place], gone)
			for _, id := range p.Birds() {
				r.pairsOf[id] = slices.DeleteFunc(r.pairsOf[id], gone)
			}
		}
		if f.setBy != nil {
			r.pairsAt[f.Place] = insertPair(r.pairsAt[f.Place], f)
			for _, id := range f.Birds() {
				r.pairsOf[id] = insertPair(r.pairsOf[id], f)
			}
		}
	case *Place:
		r.places[f.ID] = f
	case *Group:
		r.groups[f.ID] = f.Since != 0
	case *Odd:
		if f.Entry != nil && f.Settled == nil {
			r.openOdds[t.sub.ID] = true
		} else {
			delete(r.openOdds, t.sub.ID)
		}
	}
}

func insertPair(list []*Pair, p *Pair) []*Pair {
	at, _ := slices.BinarySearchFunc(list, p, func(a, b *Pair) int {
		return compareOrder(a.setBy, b.setBy)
	})
	return slices.Insert(list, at, p)
}

// Apply takes an entry into the room. It never refuses: what cannot stand is set aside. The same id twice counts once.
func (r *Room) Apply(e *Entry) {
	if r.nodes[e.ID] != nil {
		return
	}
	n := r.file(e)
	if needsRebuild(e) {
		r.rebuild()
		return
	}
	if e.Strikes != (ID{}) {
		r.toggle(n)
		return
	}
	if r.stands(n) {
		r.enter(n)
	}
}

// needsRebuild: joining two birds re-keys histories, which is rare enough to fold everything again.
func needsRebuild(e *Entry) bool { _, ok := e.Body.(*BirdSame); return ok }

// enter folds a node in; at the end of all its histories that is one step.
func (r *Room) enter(n *node) {
	n.tracks = r.link(n.e, r.tracks, r.tracks)
	for _, t := range n.tracks {
		if k := len(t.nodes); k > 0 && compareOrder(t.nodes[k-1].e, n.e) > 0 {
			r.commit(r.plan([]*node{n}, nil))
			return
		}
	}
	r.version++
	switch n.e.Body.(type) {
	case *BirdAcquired, *ChickRinged, *ParentsSet, *PairSet, *PairEnded, *NestMoved:
		r.derived.reset()
	}
	n.live = true
	n.clashes = r.objections(n, n.tracks, func(t *track) fold { return t.fold })
	if n.clashes != nil {
		r.aside[n.e.ID] = n
	}
	for _, t := range n.tracks {
		t.nodes = append(t.nodes, n)
		if n.clashes != nil {
			continue
		}
		old := r.snapshot(t)
		t.fold.apply(r, n.e)
		r.index(t, old)
	}
}

// snapshot keeps what index needs of a fold that is about to change in place.
func (r *Room) snapshot(t *track) fold {
	switch f := t.fold.(type) {
	case *Bird:
		b := *f
		b.Stays = slices.Clone(f.Stays)
		return &b
	case *Pair:
		p := *f
		return &p
	}
	return t.fold
}

// toggle lets a strike (or its removal) take effect on what it strikes, and on what those strike in turn.
func (r *Room) toggle(strike *node) {
	in, out, rebuild := r.toggled(strike.e.Strikes, ID{})
	if rebuild {
		r.rebuild()
		return
	}
	r.commit(r.plan(in, out))
}

// toggled lists the nodes whose standing differs from what is in force, looking from what a strike hits on,
// as if there were one more strike, on the id also (unless it is zero).
func (r *Room) toggled(target, also ID) (in, out []*node, rebuild bool) {
	seen := map[*node]bool{}
	var visit func(id ID)
	visit = func(id ID) {
		targets := r.batches[id]
		if n := r.nodes[id]; n != nil && !slices.Contains(targets, n) {
			targets = append(slices.Clone(targets), n)
		}
		for _, n := range targets {
			if seen[n] {
				continue
			}
			seen[n] = true
			if n.e.Strikes != (ID{}) {
				visit(n.e.Strikes)
				continue
			}
			if s := !r.struck(n, also, nil); s != n.live {
				rebuild = rebuild || needsRebuild(n.e)
				if s {
					in = append(in, n)
				} else {
					out = append(out, n)
				}
			}
		}
	}
	visit(target)
	return in, out, rebuild
}

// remove takes an entry out of the books again: only for what was never acknowledged.
func (r *Room) remove(n *node) {
	r.unfile(n)
	switch {
	case needsRebuild(n.e):
		r.rebuild()
	case n.e.Strikes != (ID{}):
		r.toggle(n)
	case n.live:
		r.commit(r.plan(nil, []*node{n}))
	}
}

// Version rises with every change of the room.
func (r *Room) Version() uint64 { return r.version }

// Len returns how many entries the books hold, struck ones too.
func (r *Room) Len() int { return len(r.nodes) }

// Entry returns an entry by its id, or nil.
func (r *Room) Entry(id ID) *Entry {
	if n := r.nodes[id]; n != nil {
		return n.e
	}
	return nil
}

// Struck reports whether an entry is struck out.
func (r *Room) Struck(id ID) bool {
	n := r.nodes[id]
	return n != nil && !r.stands(n)
}

// StruckBy returns the standing strike that hits an entry or its batch, or nil.
func (r *Room) StruckBy(id ID) *Entry {
	n := r.nodes[id]
	if n == nil {
		return nil
	}
	for _, s := range slices.Concat(r.strikes[id], r.strikes[n.e.Batch]) {
		if r.stands(s) {
			return s.e
		}
	}
	return nil
}

// Batch returns the entries of a batch, in order of happening.
func (r *Room) Batch(id ID) []*Entry { return ordered(r.batches[id]) }

// Entries returns all entries in order of happening, struck ones too.
func (r *Room) Entries() []*Entry {
	all := make([]*node, 0, len(r.nodes))
	for _, n := range r.nodes {
		all = append(all, n)
	}
	return ordered(all)
}

func ordered(nodes []*node) []*Entry {
	out := make([]*Entry, len(nodes))
	for i, n := range nodes {
		out[i] = n.e
	}
	slices.SortFunc(out, compareOrder)
	return out
}

// trackOf returns the track of a bird, place, pair, group or matter, or nil.
func (r *Room) trackOf(t SubjectType, id ID) *track {
	if t == ABird {
		id = r.canonical(id)
	}
	return r.tracks[Subject{Type: t, ID: id}]
}

// History returns the standing entries about a bird, place, pair, group or matter, in order of happening.
func (r *Room) History(t SubjectType, id ID) []*Entry {
	tr := r.trackOf(t, id)
	if tr == nil {
		return nil
	}
	out := make([]*Entry, len(tr.nodes))
	for i, n := range tr.nodes {
		out[i] = n.e
	}
	return out
}

// Since returns the standing entries about a subject from a day on, in order of happening.
func (r *Room) Since(t SubjectType, id ID, day Date) []*Entry {
	tr := r.trackOf(t, id)
	if tr == nil {
		return nil
	}
	from := len(tr.nodes)
	for from > 0 && tr.nodes[from-1].e.Day >= day {
		from--
	}
	var out []*Entry
	for _, n := range tr.nodes[from:] {
		out = append(out, n.e)
	}
	return out
}

// StruckHistory returns the struck-out entries about a subject, in order of happening.
func (r *Room) StruckHistory(t SubjectType, id ID) []*Entry {
	var out []*node
	for _, s := range r.strikes {
		for _, strike := range s {
			for _, n := range append(r.batches[strike.e.Strikes], r.nodes[strike.e.Strikes]) {
				if n == nil || n.e.Body == nil || r.stands(n) || slices.Contains(out, n) {
					continue
				}
				n.e.Body.subjects(n.e, func(s Subject) {
					if s.Type == t && (s.ID == id || (t == ABird && r.canonical(s.ID) == r.canonical(id))) && !slices.Contains(out, n) {
						out = append(out, n)
					}
				})
			}
		}
	}
	return ordered(out)
}

// Aside lists the entries that are set aside, in order of happening.
func (r *Room) Aside() []AsideEntry {
	var out []AsideEntry
	for _, n := range r.aside {
		out = append(out, AsideEntry{n.e, n.clash()})
	}
	slices.SortFunc(out, func(a, b AsideEntry) int { return compareOrder(a.Entry, b.Entry) })
	return out
}

// AsideWhy says what an entry clashes with, or nil when it is not set aside.
func (r *Room) AsideWhy(id ID) *Clash {
	if n := r.aside[id]; n != nil {
		return n.clash()
	}
	return nil
}

func (r *Room) whole() *Whole { return r.tracks[room].fold.(*Whole) }

func foldOf[T fold](r *Room, s Subject) (T, bool) {
	var none T
	t := r.tracks[s]
	if t == nil {
		return none, false
	}
	f, ok := t.fold.(T)
	return f, ok
}

// Bird returns a bird that is in the books, or nil.
func (r *Room) Bird(id ID) *Bird {
	if b, ok := foldOf[*Bird](r, bird(r.canonical(id))); ok && b.InBooks() {
		return b
	}
	return nil
}

// Place returns a place that is in the books, or nil.
func (r *Room) Place(id ID) *Place {
	if p, ok := foldOf[*Place](r, place(id)); ok && p.addedBy != nil {
		return p
	}
	return nil
}

// Pair returns a pair that is in the books, or nil.
func (r *Room) Pair(id ID) *Pair {
	if p, ok := foldOf[*Pair](r, pair(id)); ok && p.setBy != nil {
		return p
	}
	return nil
}

// Group returns a counted group of unringed young, or nil.
func (r *Room) Group(id ID) *Group {
	if g, ok := foldOf[*Group](r, group(id)); ok && g.Since != 0 {
		return g
	}
	return nil
}

// Wearer returns the bird that wears a ring, or nil.
func (r *Room) Wearer(ring Ring) *Bird {
	if w, ok := foldOf[*wornBy](r, worn(ring)); ok && w.Holder != (ID{}) {
		return r.Bird(w.Holder)
	}
	return nil
}

// Birds returns every bird in the books, dead and gone ones too, in the order in which they came. The
// caller must not change the slice.
func (r *Room) Birds() []*Bird {
	r.derived.mu.Lock()
	defer r.derived.mu.Unlock()
	return r.birds()
}

func (r *Room) birds() []*Bird {
	if r.derived.birds != nil {
		return r.derived.birds
	}
	var out []*Bird
	for _, t := range r.tracks {
		if b, ok := t.fold.(*Bird); ok && b.InBooks() {
			out = append(out, b)
		}
	}
	slices.SortFunc(out, func(a, b *Bird) int { return compareOrder(a.acquiredBy, b.acquiredBy) })
	r.derived.birds = out
	return out
}

// Places returns the places in use, in walking order: bank by bank as they were hung, down each column
// from the left, then flights and aviaries, quarantine and hospital last.
func (r *Room) Places() []*Place {
	var out []*Place
	banks := map[string]*Entry{}
	for _, p := range r.places {
		if !p.InUse() {
			continue
		}
		out = append(out, p)
		if b := banks[p.Bank]; b == nil || compareOrder(p.addedBy, b) < 0 {
			banks[p.Bank] = p.addedBy
		}
	}
	slices.SortFunc(out, func(a, b *Place) int {
		if c := cmp.Compare(walkRank(a), walkRank(b)); c != 0 {
			return c
		}
		if a.Bank != b.Bank {
			return compareOrder(banks[a.Bank], banks[b.Bank])
		}
		return cmp.Or(cmp.Compare(a.Col, b.Col), cmp.Compare(a.Row, b.Row), compareOrder(a.addedBy, b.addedBy))
	})
	return out
}

func walkRank(p *Place) int {
	switch p.Type {
	case Quarantine:
		return 2
	case Hospital:
		return 3
	case Cage:
		return 0
	}
	return 1
}

// PlaceNamed returns the place in use whose name is the one given, in any case of letters, or nil.
func (r *Room) PlaceNamed(name string) *Place {
	for _, p := range r.places {
		if p.InUse() && strings.EqualFold(p.Name, strings.TrimSpace(name)) {
			return p
		}
	}
	return nil
}

// In returns the birds that are in a place, cocks first, then hens, then the rest, by the order in which they came.
func (r *Room) In(placeID ID) []*Bird {
	var out []*Bird
	for id := range r.occupants[placeID] {
		if b := r.Bird(id); b != nil {
			out = append(out, b)
		}
	}
	rank := map[Sex]int{Cock: 0, Hen: 1, "": 2}
	slices.SortFunc(out, func(a, b *Bird) int {
		return cmp.Or(cmp.Compare(rank[a.Sex], rank[b.Sex]), compareOrder(a.acquiredBy, b.acquiredBy))
	})
	return out
}

// GroupsIn returns the counted groups of young that are in a place.
func (r *Room) GroupsIn(placeID ID) []*Group {
	var out []*Group
	for id := range r.groups {
		if g := r.Group(id); g != nil && g.Place == placeID && g.Count > 0 {
			out = append(out, g)
		}
	}
	slices.SortFunc(out, func(a, b *Group) int {
		return cmp.Or(cmp.Compare(a.Since, b.Since), slices.Compare(a.ID[:], b.ID[:]))
	})
	return out
}

// PairsAt returns the pairs that were ever set up at a place, oldest first.
func (r *Room) PairsAt(placeID ID) []*Pair { return slices.Clone(r.pairsAt[placeID]) }

// PairsOf returns the pairs that a bird was ever in, oldest first.
func (r *Room) PairsOf(birdID ID) []*Pair { return slices.Clone(r.pairsOf[r.canonical(birdID)]) }

// PairOn returns the pair that stood at a place on a day: the newest, or nil.
func (r *Room) PairOn(placeID ID, day Date) *Pair {
	list := r.pairsAt[placeID]
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].Stands(day) || (list[i].From <= day && list[i].To == day) {
			return list[i]
		}
	}
	return nil
}

// PairNow returns the pair that stands at a place, or nil.
func (r *Room) PairNow(placeID ID) *Pair {
	list := r.pairsAt[placeID]
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].To == 0 {
			return list[i]
		}
	}
	return nil
}

// OpenOdds lists the matters that are not settled, oldest first.
func (r *Room) OpenOdds() []*Entry {
	var out []*Entry
	for id := range r.openOdds {
		if o, ok := foldOf[*Odd](r, odd(id)); ok && o.Entry != nil {
			out = append(out, o.Entry)
		}
	}
	slices.SortFunc(out, compareOrder)
	return out
}

// SettledBy returns the entry that settles another one, or nil.
func (r *Room) SettledBy(id ID) *Entry {
	if o, ok := foldOf[*Odd](r, odd(id)); ok {
		return o.Settled
	}
	return nil
}

// Digest is a hash of all that the room says. Rooms that say the same have the same digest.
func (r *Room) Digest() string {
	subs := make([]Subject, 0, len(r.tracks))
	for s := range r.tracks {
		subs = append(subs, s)
	}
	slices.SortFunc(subs, func(a, b Subject) int {
		return cmp.Or(cmp.Compare(a.Type, b.Type), slices.Compare(a.ID[:], b.ID[:]), cmp.Compare(a.Ring.String(), b.Ring.String()), cmp.Compare(a.Ring.Year, b.Ring.Year))
	})
	h := sha256.New()
	enc := json.NewEncoder(h)
	for _, s := range subs {
		t := r.tracks[s]
		if len(t.nodes) == 0 {
			continue
		}
		fmt.Fprintln(h, s.Type, s.ID, s.Ring)
		_ = enc.Encode(t.fold) // a hash takes anything, and folds are plain data
		for _, n := range t.nodes {
			_, _ = io.WriteString(h, n.e.ID.String())
			if c := n.clash(); c != nil {
				_, _ = io.WriteString(h, " aside: "+c.Message)
			}
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}

// derived keeps what follows from many birds at once, worked out when it is asked for and kept until a
// bird, a pair or a laying changes.
type derived struct {
	mu    sync.Mutex
	birds []*Bird
	lines map[ID]Line
	young map[ID][]*Bird
}

func (d *derived) reset() {
	d.mu.Lock()
	d.birds, d.lines, d.young = nil, nil, nil
	d.mu.Unlock()
}
