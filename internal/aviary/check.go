package aviary

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
)

// RefusedAt is the refusal of one entry among several.
type RefusedAt struct {
	Index   int // of the refused entry
	Refusal *Error
}

func (e *RefusedAt) Error() string { return e.Refusal.Message }

// Unwrap gives the refusal itself.
func (e *RefusedAt) Unwrap() error { return e.Refusal }

// Admit checks and takes in the entries one after another, then calls commit, the durable write. If one
// is refused or commit fails, the room is as before, and the error says why: a *RefusedAt for a refusal.
// Entries whose ids are in the books already are passed over.
func (r *Room) Admit(entries []*Entry, today Date, commit func() error) error {
	var taken []*node
	back := func() {
		for _, n := range slices.Backward(taken) {
			r.remove(n)
		}
	}
	for i, e := range entries {
		if err := r.check(e, today); err != nil {
			back()
			return &RefusedAt{i, err}
		}
		if r.nodes[e.ID] == nil {
			r.Apply(e)
			taken = append(taken, r.nodes[e.ID])
		}
	}
	if err := commit(); err != nil {
		back()
		return err
	}
	return nil
}

// Check says what speaks against writing an entry, or nil. It holds hard refusals only: what cannot be.
// The refusal is an *Error. Nothing changes.
func (r *Room) Check(e *Entry, today Date) error {
	if err := r.check(e, today); err != nil {
		return err
	}
	return nil
}

func (r *Room) check(e *Entry, today Date) *Error {
	if err := checkForm(e, today); err != nil {
		return err
	}
	if old := r.Entry(e.ID); old != nil {
		if sameEntry(old, e) {
			return nil
		}
		return &Error{Code: Conflict, Field: "id", Message: "an entry with this id is in the books already and says something else", With: []ID{old.ID}}
	}
	if e.Strikes != (ID{}) {
		return r.checkStrike(e)
	}
	if err := r.checkBody(e); err != nil {
		return err
	}
	n := &node{e: e}
	c := r.plan([]*node{n}, nil)
	if got := c.flips[n]; got != nil {
		n.clashes = got
		clash := n.clash()
		err := clashError(clash)
		for i, t := range c.links[n] {
			if t.sub.Type == ARing && got[i] == clash {
				err.Field = "ring_number"
			}
		}
		return err
	}
	if later := c.newlyAside(); len(later) > 0 {
		first := later[0]
		n := &node{clashes: c.flips[first]}
		err := clashError(n.clash())
		err.Message = fmt.Sprintf("with this, %s of %s could not stand: %s", kinds[first.e.Kind].Label, first.e.Day.Long(), err.Message)
		err.With = nil
		for _, n := range later {
			err.With = append(err.With, n.e.ID)
		}
		return err
	}
	return nil
}

func clashError(c *Clash) *Error {
	err := &Error{Code: Conflict, Message: c.Message}
	if c.With != nil {
		err.With = []ID{c.With.ID}
		err.Message += fmt.Sprintf(" (written %s: %s)", c.With.Day.Long(), kinds[c.With.Kind].Label)
	} else {
		err.Code = NotFound
	}
	return err
}

// newlyAside lists the nodes that stood and would be set aside, in order.
func (c *change) newlyAside() []*node {
	var out []*node
	for n, got := range c.flips {
		if got != nil && n.clashes == nil && !slices.Contains(c.in, n) {
			out = append(out, n)
		}
	}
	slices.SortFunc(out, func(a, b *node) int { return compareOrder(a.e, b.e) })
	return out
}

// Dependents lists the standing entries that would be set aside if an entry (or a batch) were struck out.
// Striking a strike brings back what it struck, which may set aside what was written since.
func (r *Room) Dependents(id ID) []*Entry {
	in, out, _ := r.toggled(id, id)
	c := r.plan(in, out)
	deps := c.newlyAside()
	for _, n := range in {
		if got := c.flips[n]; got != nil {
			deps = append(deps, n)
		}
	}
	return ordered(deps)
}

func (r *Room) checkStrike(e *Entry) *Error {
	target := r.nodes[e.Strikes]
	if target == nil && len(r.batches[e.Strikes]) == 0 {
		return &Error{Code: NotFound, Field: "strikes", Message: "there is no such entry to strike out"}
	}
	if target != nil && !r.stands(target) {
		return &Error{Code: Conflict, Field: "strikes", Message: "that entry is struck out already", With: []ID{e.Strikes}}
	}
	if deps := r.Dependents(e.Strikes); len(deps) > 0 {
		err := &Error{Code: Conflict, Field: "strikes"}
		for _, d := range deps {
			err.With = append(err.With, d.ID)
		}
		err.Message = fmt.Sprintf("%d later %s on it, first %s of %s; strike them out together", len(deps), plural(len(deps), "entry rests", "entries rest"), kinds[deps[0].Kind].Label, deps[0].Day.Long())
		return err
	}
	return nil
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func checkForm(e *Entry, today Date) *Error {
	info, ok := kinds[e.Kind]
	switch {
	case !ok || e.Body == nil || e.Body.Kind() != e.Kind:
		return invalid("kind", "there is no kind of entry called %q", string(e.Kind))
	case e.Version > info.Version:
		return &Error{Code: TooNew, Field: "version", Message: fmt.Sprintf("%s was written by a later version of the program", e.Kind)}
	case e.Version < 1:
		return invalid("version", "the form's version is missing")
	case e.ID == (ID{}):
		return invalid("id", "the entry has no id")
	case e.Day == 0:
		return invalid("day", "say on which day it happened")
	case e.Day > today:
		return invalid("day", "%s has not come yet (today is %s); an entry says what has happened", e.Day.Long(), today.Long())
	case e.Day < firstDay:
		return invalid("day", "%s is before 1900; look at the year again", e.Day.Long())
	case (e.Strikes != (ID{})) != (e.Kind == "strike"):
		return invalid("strikes", "only a strike names an entry that it strikes out, and it must name one")
	case e.Time < 0 || e.Time > 24*60:
		return invalid("time", "that is not a time of day; write it as 06:48")
	}
	if err := all(text("why", e.Why, maxText), text("by", e.By, maxWord)); err != nil {
		return err
	}
	return e.Body.check()
}

var firstDay = DateOf(1900, 1, 1)

// sameEntry reports whether two entries say the same, to the byte of their bodies.
func sameEntry(a, b *Entry) bool {
	x, errX := EncodeBody(a.Body)
	y, errY := EncodeBody(b.Body)
	return errX == nil && errY == nil && bytes.Equal(x, y) && a.Kind == b.Kind && a.Day == b.Day && a.Time == b.Time &&
		a.Batch == b.Batch && a.Strikes == b.Strikes && a.Why == b.Why
}

// checkBody asks what several subjects say together; what one subject says by itself its fold asks.
func (r *Room) checkBody(e *Entry) *Error {
	switch b := e.Body.(type) {
	case *BirdSame:
		x, y := r.Bird(b.Bird), r.Bird(b.Same)
		if x != nil && y != nil && (x.Species != y.Species || (x.Sex != "" && y.Sex != "" && x.Sex != y.Sex)) {
			return &Error{Code: Conflict, Field: "same", Message: fmt.Sprintf("%s and %s differ in species or sex, so they cannot be one bird; correct that first", x.Label(), y.Label())}
		}
	case *PlaceAdded:
		return r.plateFree(b.Place, b.Name, b.Bank, b.Row, b.Col)
	case *PlaceChanged:
		p := r.Place(b.Place)
		if p == nil {
			return nil // the fold says so
		}
		name, bank, row, col := p.Name, p.Bank, p.Row, p.Col
		set(&name, b.Name)
		set(&bank, b.Bank)
		set(&row, b.Row)
		set(&col, b.Col)
		return r.plateFree(b.Place, name, bank, row, col)
	case *PlaceRetired:
		if birds := r.In(b.Place); len(birds) > 0 {
			return &Error{Code: Conflict, Field: "place", Message: fmt.Sprintf("%d %s still in it, first %s; move them first", len(birds), plural(len(birds), "bird is", "birds are"), birds[0].Label())}
		}
	case *BirdAcquired:
		if b.Hatched > e.Day {
			return invalid("hatched", "the bird came on %s, before it hatched (%s); look at the dates again", e.Day.Long(), b.Hatched.Long())
		}
		return all(r.checkParents(b.Bird, b.Sire, b.Dam, b.Hatched), r.checkBlocked(ID{}, b.Place, e.Day))
	case *ChickRinged:
		if b.Hatched > e.Day {
			return invalid("hatched", "ringed on %s, before it hatched (%s); look at the dates again", e.Day.Long(), b.Hatched.Long())
		}
		return all(r.checkParents(b.Bird, b.Sire, b.Dam, b.Hatched), r.checkBox(b.Place, b.Box, "box"))
	case *ParentsSet:
		if x := r.Bird(b.Bird); x != nil {
			return r.checkParents(b.Bird, b.Sire, b.Dam, x.Hatched)
		}
	case *BirdSexed:
		return r.checkSexed(b)
	case *BirdMoved:
		return r.checkMoved(b.Bird, b.Place, e.Day)
	case *BirdReturned:
		return r.checkBlocked(ID{}, b.Place, e.Day)
	case *PairSet:
		return r.checkPair(e, b)
	case *PairEnded:
		if p := r.Pair(b.Pair); p != nil && e.Day < p.From {
			return invalid("day", "the pair was set up on %s; it cannot have ended before", p.From.Long())
		}
	case *BoxHung:
		if p := r.Place(b.Place); p != nil && slices.ContainsFunc(p.Boxes, func(x Box) bool { return x.ID == b.Box }) {
			return &Error{Code: Conflict, Field: "box", Message: "this box hangs there already"}
		}
	case *BoxTaken:
		return r.checkBox(b.Place, b.Box, "box")
	case *BoxCleaned:
		return r.checkBox(b.Place, b.Box, "box")
	case *MaterialGiven:
		return r.checkBox(b.Place, b.Box, "box")
	case *NestCheck:
		return r.checkBox(b.Place, b.Box, "box")
	case *NestMoved:
		return all(r.checkBox(b.Place, b.Box, "box"), r.checkBox(b.ToPlace, b.ToBox, "to_box"), r.checkBlocked(b.Place, b.ToPlace, e.Day))
	case *YoungWeaned:
		return all(r.checkBox(b.Place, b.Box, "box"), r.checkBlocked(b.Place, b.To, e.Day))
	case *GroupMoved:
		if g := r.Group(b.Group); g != nil {
			return r.checkBlocked(g.Place, b.Place, e.Day)
		}
	case *OneDied:
		for _, id := range b.Birds {
			if x := r.Bird(id); x != nil && !x.Here() {
				return &Error{Code: Conflict, Field: "birds", Message: x.Label() + " is not in the room any more"}
			}
		}
	case *Settled:
		if r.Entry(b.Entry) == nil {
			return &Error{Code: NotFound, Field: "entry", Message: "there is no such matter to settle"}
		}
	}
	return nil
}

func (r *Room) plateFree(id ID, name, bank string, row, col int) *Error {
	for _, p := range r.Places() {
		if p.ID == id {
			continue
		}
		if strings.EqualFold(strings.TrimSpace(p.Name), strings.TrimSpace(name)) {
			return &Error{Code: Conflict, Field: "name", Message: fmt.Sprintf("there is a place called %s already; choose another name", p.Name), With: []ID{p.addedBy.ID}}
		}
		if row > 0 && col > 0 && p.Bank == bank && p.Row == row && p.Col == col {
			return &Error{Code: Conflict, Field: "row", Message: fmt.Sprintf("%s hangs in row %d, column %d of %s already", p.Name, row, col, bank), With: []ID{p.addedBy.ID}}
		}
	}
	return nil
}

func (r *Room) checkParents(child, sire, dam ID, hatched Date) *Error {
	for _, p := range []struct {
		field string
		id    ID
		wrong Sex
		is    string
	}{{"sire", sire, Hen, "a hen cannot be a father"}, {"dam", dam, Cock, "a cock cannot be a mother"}} {
		if p.id == (ID{}) {
			continue
		}
		parent := r.Bird(p.id)
		if parent == nil {
			return &Error{Code: NotFound, Field: p.field, Message: "the " + map[string]string{"sire": "father", "dam": "mother"}[p.field] + " is not in the books; add that bird first"}
		}
		if parent.Sex == p.wrong {
			return &Error{Code: Conflict, Field: p.field, Message: fmt.Sprintf("%s is in the books as a %s; %s", parent.Label(), parent.Sex, p.is), With: []ID{parent.acquiredBy.ID}}
		}
		if parent.Hatched != 0 && hatched != 0 && parent.Hatched >= hatched {
			return &Error{Code: Conflict, Field: p.field, Message: fmt.Sprintf("%s hatched on %s, so it cannot be a parent of a bird that hatched on %s", parent.Label(), parent.Hatched.Long(), hatched.Long()), With: []ID{parent.acquiredBy.ID}}
		}
		if r.Bird(child) != nil && r.descends(p.id, r.canonical(child)) {
			return &Error{Code: Conflict, Field: p.field, Message: fmt.Sprintf("%s descends from this bird; a bird cannot be an ancestor of itself", parent.Label()), With: []ID{parent.acquiredBy.ID}}
		}
	}
	return nil
}

func (r *Room) checkSexed(b *BirdSexed) *Error {
	x := r.Bird(b.Bird)
	if x == nil {
		return nil
	}
	for _, y := range r.Young(x.ID) {
		l := r.Parents(y.ID)
		if (l.Sire == x.ID && b.Sex == Hen) || (l.Dam == x.ID && b.Sex == Cock) {
			return &Error{Code: Conflict, Field: "sex", Message: fmt.Sprintf("%s stands in the books as the %s of %s; correct that bird's parents first", x.Label(), map[Sex]string{Hen: "father", Cock: "mother"}[b.Sex], y.Label()), With: []ID{y.acquiredBy.ID}}
		}
	}
	return nil
}

func (r *Room) checkMoved(birdID, to ID, day Date) *Error {
	b := r.Bird(birdID)
	if b == nil {
		return nil
	}
	if err := r.checkBlocked(b.PlaceOn(day), to, day); err != nil {
		return err
	}
	for _, p := range r.PairsOf(b.ID) {
		if p.Stands(day) && p.Place != to && r.pairIsLivelyAt(p, b, day) {
			return &Error{Code: Conflict, Field: "bird", Message: fmt.Sprintf("%s is in the pair at %s since %s; end that pair first", b.Label(), r.placeName(p.Place), p.From.Long()), With: []ID{p.setBy.ID}}
		}
	}
	return nil
}

// pairIsLivelyAt reports whether a bird is really at its pair's place: a pair that lost a bird to another
// place is no longer two places at once.
func (r *Room) pairIsLivelyAt(p *Pair, b *Bird, day Date) bool { return b.PlaceOn(day) == p.Place }

func (r *Room) placeName(id ID) string {
	if p := r.Place(id); p != nil {
		return p.Name
	}
	return "another place"
}

// checkBlocked refuses a move into or out of a place that is closed until a later day.
func (r *Room) checkBlocked(from, to ID, day Date) *Error {
	if from == to {
		return nil
	}
	for _, id := range []ID{from, to} {
		if p := r.Place(id); p != nil && p.BlockedUntil > day {
			return &Error{Code: Conflict, Field: "place", Message: fmt.Sprintf("%s is closed until %s; nothing goes in or out before", p.Name, p.BlockedUntil.Long())}
		}
	}
	return nil
}

func (r *Room) checkBox(placeID, box ID, field string) *Error {
	if box == (ID{}) {
		return nil
	}
	if p := r.Place(placeID); p != nil && !slices.ContainsFunc(p.Boxes, func(x Box) bool { return x.ID == box }) {
		return &Error{Code: NotFound, Field: field, Message: fmt.Sprintf("there is no such nest box at %s", p.Name)}
	}
	return nil
}

func (r *Room) checkPair(e *Entry, b *PairSet) *Error {
	for _, side := range []struct {
		ids   []ID
		field string
		wrong Sex
	}{{b.Cocks, "cocks", Hen}, {b.Hens, "hens", Cock}} {
		for _, id := range side.ids {
			x := r.Bird(id)
			if x == nil {
				continue // the fold says so
			}
			if x.Sex == side.wrong {
				return &Error{Code: Conflict, Field: side.field, Message: fmt.Sprintf("%s is in the books as a %s; sex it again if that is wrong", x.Label(), x.Sex), With: []ID{x.acquiredBy.ID}}
			}
			for _, p := range r.PairsOf(x.ID) {
				if p.Stands(e.Day) && p.ID != b.Pair && r.pairIsLivelyAt(p, x, e.Day) {
					return &Error{Code: Conflict, Field: side.field, Message: fmt.Sprintf("%s is in the pair at %s since %s; a bird cannot be in two places at once, so end that pair first", x.Label(), r.placeName(p.Place), p.From.Long()), With: []ID{p.setBy.ID}}
				}
			}
			if err := r.checkBlocked(x.PlaceOn(e.Day), b.Place, e.Day); err != nil {
				return err
			}
		}
	}
	return nil
}
