package web

import (
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// nestCheckSend writes a look into a nest. A look is never refused for what it counts: what does not fit is asked about next.
func (s *server) nestCheckSend(v *visit) error {
	place, err := v.place()
	if err != nil {
		return err
	}
	f := v.form()
	body, note := readLook(f, place)
	e := v.entry(body)
	var said string
	v.desk(func(d *advice.Desk) {
		said = v.said(d, e, note)
	})
	v.say("%s", said)
	if err := v.save(f, e); err != nil {
		return v.retry(f, err, v.showAgain(place))
	}
	return v.onward(place)
}

// place reads the id of a cage in the route's path and checks that there is such a place.
func (v *visit) place() (aviary.ID, error) {
	id, err := v.pathID("id")
	if err != nil {
		return id, err
	}
	known := v.later() // whether there is such a cage is then found out when it is taken in
	v.s.Book.View(func(r *aviary.Room) { known = known || r.Place(id) != nil })
	if !known {
		return id, notThere("there is no such cage in the books; the address has been cut or mistyped, or the cage was struck out")
	}
	return id, nil
}

// said is what the undo band shows of a look: where, what, what was evened out, and what speaks against it.
func (v *visit) said(d *advice.Desk, e *aviary.Entry, note string) string {
	s := advice.Sentence(d.Room, e)
	if p := d.Room.Place(placeOf(e.Body)); p != nil {
		s = p.Name + " saved: " + s
	}
	if note != "" {
		s += " (" + note + ")"
	}
	for _, w := range d.Warnings(e) {
		s += ". " + w.Text
	}
	return s
}

// onward answers a form of a card: the round goes on at the next job from this place, another page comes back as it was.
func (v *visit) onward(place aviary.ID) error {
	if back := v.r.FormValue("back"); strings.HasPrefix(back, "/round") {
		return v.see(onFrom(place.String()))
	}
	return v.back("/cage/" + place.String())
}

// onFrom is the round at the next job from a cage on.
func onFrom(place string) string { return "/round?from=" + place + "#next" }

// showAgain shows the page that a refused form came from.
func (v *visit) showAgain(place aviary.ID) func(*visit, *form) error {
	return func(v *visit, f *form) error {
		if strings.HasPrefix(f.Value("back"), "/round") {
			return v.roundPage(f)
		}
		return v.cagePage(place, f)
	}
}

// readLook reads a look from its form. A field that was not touched and has no meaning of its own is left out.
func readLook(f *form, place aviary.ID) (body *aviary.NestCheck, note string) {
	b := &aviary.NestCheck{Place: place, Box: f.id("box")}
	answer := f.one("answer", "same", "sitting", "changed", "fed")
	if answer == "fed" { // young were seen feeding themselves; nobody looked into the nest
		b.SelfFeeding = true
		return b, ""
	}
	is := advice.Counted{Eggs: f.intp(advice.EggsTally), Chicks: f.intp(advice.ChicksTally), Dead: f.intp(advice.DeadTally), Out: f.intp(advice.OutTally)}
	was := advice.Counted{Eggs: f.was(advice.EggsTally), Chicks: f.was(advice.ChicksTally), Dead: f.was(advice.DeadTally), Out: f.was(advice.OutTally)}
	moved := differ(was.Eggs, is.Eggs) || differ(was.Chicks, is.Chicks) || differ(was.Dead, is.Dead) || differ(was.Out, is.Out)
	b.Removed = f.intp("eggs_removed")
	if r := b.Removed; r != nil && was.Eggs != nil && is.Eggs != nil && *r > 0 && *is.Eggs+*r == *was.Eggs {
		is.Eggs = was.Eggs // the eggs left were given; a look counts what was found
	}
	if !f.tick("evened") && f.text("day") == "" {
		is, note = advice.Reckon(was, is)
	}
	candled := readCandling(f, b, is.Eggs)
	lookRest(f, b)
	if f.tick("candle") && !candled && answer == "changed" {
		f.wrong("egg", "tap each egg that was candled, until it shows full or clear; or answer that she was left alone")
	}
	wrote := moved || candled || b.Removed != nil || b.AgeDays != nil || b.NewClutch
	switch {
	case answer == "sitting":
		b.Look = "sitting"
		keep(&b.Eggs, was.Eggs, is.Eggs)
		keep(&b.Chicks, was.Chicks, is.Chicks)
		keep(&b.DeadChicks, was.Dead, is.Dead)
		keep(&b.Out, was.Out, is.Out)
		return b, note
	case wrote:
		b.Look = "changed"
	default:
		b.Look = "same"
		if f.tick("counted") && f.text("day") == "" {
			return b, "" // what was counted last stands; it need not be said twice
		}
	}
	b.Eggs, b.Chicks = is.Eggs, is.Chicks
	if n := len(f.Values["egg"]); candled && b.Eggs == nil && n > 0 {
		b.Eggs = &n // every egg of the row was in hand
	}
	if b.Chicks == nil && b.Eggs != nil && *b.Eggs == 0 && was.Chicks == nil && !f.tick("counted") {
		none := 0
		b.Chicks = &none // an empty box has no chicks either
	}
	keep(&b.DeadChicks, was.Dead, is.Dead)
	if is.Out != nil && (*is.Out > 0 || differ(was.Out, is.Out)) {
		b.Out = is.Out
	}
	return b, note
}

// was is what the form showed at first in a count.
func (f *form) was(name string) *int { return f.intp("was_" + name) }

func differ(was, is *int) bool {
	return is != nil && (was == nil || *was != *is)
}

// keep takes a count that differs from what the form showed.
func keep(to **int, was, is *int) {
	if differ(was, is) {
		*to = is
	}
}

// readCandling reads the row of eggs, or else the number of clear ones, and reports whether anything was candled.
func readCandling(f *form, b *aviary.NestCheck, eggs *int) bool {
	states := f.Values["egg"]
	if len(states) > 0 && (strings.Join(states, ",") != f.Value("was_egg") || f.tick("candle") && f.Value("answer") == "changed") {
		marks := strings.Fields(f.text("marks"))
		for i, state := range states {
			if state == "" {
				continue
			}
			item := state
			if i < len(marks) {
				if strings.ContainsAny(marks[i], ":;") {
					f.wrong("marks", "a mark has no colon or semicolon; %q has", short(marks[i]))
					continue
				}
				item = marks[i] + ":" + state
			}
			b.Candled = append(b.Candled, item)
		}
		return len(b.Candled) > 0
	}
	clear, was := f.intp(advice.ClearTally), f.was(advice.ClearTally)
	if !differ(was, clear) || *clear < 0 {
		if clear != nil && *clear < 0 {
			f.wrong(advice.ClearTally, "%d clear eggs cannot be; a count is 0 or more", *clear)
		}
		return false
	}
	full := f.int("was_full")
	if eggs != nil {
		full = min(full, *eggs-*clear)
	}
	for range full {
		b.Candled = append(b.Candled, "fertile")
	}
	for range min(*clear, 60) {
		b.Candled = append(b.Candled, "clear")
	}
	return true
}

// lookRest reads what a look says beside the counts.
func lookRest(f *form, b *aviary.NestCheck) {
	b.EggsAtLeast, b.ChicksAtLeast = f.tick("eggs_at_least"), f.tick("chicks_at_least")
	b.AgeDays, b.AgeAbout = f.intp("chick_age_days"), f.intp("chick_age_about")
	b.Dummies, b.FloorEggs, b.Buried = f.intp("dummy_eggs"), f.intp("floor_eggs"), f.intp("buried")
	if b.Removed != nil {
		b.RemovedWhy = f.text("removed_why")
	}
	b.Signs = f.words("signs")
	b.SelfFeeding, b.NewClutch = f.tick("self_feeding"), f.tick("new_clutch")
	b.ClutchNo = f.intp("clutch_no")
	b.Text = f.text("text")
}
