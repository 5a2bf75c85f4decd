package journal

import (
	"reflect"
	"strings"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
)

// things are the ids of what a journal's entries make, struck or not, by what they are.
type things map[string]map[aviary.ID]bool

func (t things) note(what string, id aviary.ID) {
	if id == uuid.Nil {
		return
	}
	if t[what] == nil {
		t[what] = map[aviary.ID]bool{}
	}
	t[what][id] = true
}

// add notes what an entry makes.
func (t things) add(e *aviary.Entry) {
	t.note("entry", e.ID)
	t.note("entry", e.Batch)
	switch b := e.Body.(type) {
	case *aviary.BirdAcquired:
		t.note("bird", b.Bird)
	case *aviary.ChickRinged:
		t.note("bird", b.Bird)
	case *aviary.PlaceAdded:
		t.note("place", b.Place)
	case *aviary.PairSet:
		t.note("pair", b.Pair)
	case *aviary.BoxHung:
		t.note("box", b.Box)
	case *aviary.GroupFound:
		t.note("group", b.Group)
	case *aviary.YoungWeaned:
		t.note("group", b.Group)
	}
}

// reference is an id in an entry's facts, and what it must name.
type reference struct {
	field, what string
	id          aviary.ID
}

// named says what the fields of a body name, by their column. What is not listed names something that this
// same entry makes (a new bird, box or pair), or a person in the address book, who may have been erased.
var named = map[aviary.Kind]map[string]string{
	"bird_acquired":  {"sire": "bird", "dam": "bird", "place": "place"},
	"chick_ringed":   {"place": "place", "box": "box", "group": "group", "laid_place": "place", "sire": "bird", "dam": "bird"},
	"bird_ringed":    {"bird": "bird"},
	"ring_lost":      {"bird": "bird"},
	"bird_sexed":     {"bird": "bird"},
	"look_seen":      {"bird": "bird"},
	"colour_said":    {"bird": "bird"},
	"pair_ruled":     {"cock": "bird", "hen": "bird"},
	"bird_held":      {"bird": "bird"},
	"bird_weighed":   {"bird": "bird"},
	"bird_moved":     {"bird": "bird", "place": "place"},
	"bird_died":      {"bird": "bird"},
	"one_died":       {"birds": "bird"},
	"bird_left":      {"bird": "bird"},
	"bird_returned":  {"bird": "bird", "place": "place"},
	"bird_same":      {"bird": "bird", "same": "bird"},
	"bird_named":     {"bird": "bird"},
	"parents_set":    {"bird": "bird", "sire": "bird", "dam": "bird"},
	"note":           {"bird": "bird", "place": "place"},
	"place_changed":  {"place": "place"},
	"place_retired":  {"place": "place"},
	"pair_set":       {"place": "place", "cocks": "bird", "hens": "bird"},
	"pair_ended":     {"pair": "pair"},
	"box_hung":       {"place": "place"},
	"box_taken":      {"box": "box", "place": "place"},
	"box_cleaned":    {"box": "box", "place": "place"},
	"lamp_planned":   {"places": "place"},
	"feed_planned":   {"places": "place"},
	"phase_begun":    {"places": "place"},
	"intake_seen":    {"places": "place"},
	"material_given": {"place": "place", "box": "box"},
	"nest_check":     {"place": "place", "box": "box"},
	"nest_moved":     {"place": "place", "box": "box", "to_place": "place", "to_box": "box", "birds": "bird"},
	"young_weaned":   {"place": "place", "box": "box", "birds": "bird", "to": "place"},
	"group_found":    {"place": "place"},
	"group_moved":    {"group": "group", "place": "place"},
	"group_counted":  {"group": "group"},
	"place_counted":  {"place": "place"},
	"food_given":     {"places": "place"},
	"odd_seen":       {"place": "place", "bird": "bird"},
	"settled":        {"entry": "entry"},
	"job_done":       {"place": "place", "box": "box"},
	"job_skipped":    {"place": "place", "box": "box"},
	"round_seen":     {"except": "place"},
}

// unguarded are the columns in which a name of nothing would go unseen: no history is kept under them, so
// the room does not set such an entry aside. The journal's door asks.
var unguarded = map[string]bool{"sire": true, "dam": true, "laid_place": true, "box": true, "to_box": true, "entry": true, "except": true, "same": true}

// nowhere gives the first of an entry's unguarded names that is not among what is there, or false.
func nowhere(e *aviary.Entry, there func(what string, id aviary.ID) bool) (reference, bool) {
	if e.Kind == "strike" && e.Strikes != uuid.Nil && !there("entry", e.Strikes) {
		return reference{"strikes", "entry", e.Strikes}, true
	}
	for _, ref := range references(e.Body) {
		asks := unguarded[ref.field] || e.Kind == "bird_same"
		if asks && ref.id != uuid.Nil && !there(ref.what, ref.id) {
			return ref, true
		}
	}
	return reference{}, false
}

// references lists what a body names.
func references(b aviary.Body) []reference {
	what := named[b.Kind()]
	if len(what) == 0 {
		return nil
	}
	var out []reference
	v := reflect.ValueOf(b).Elem()
	for i := range v.NumField() {
		field, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
		if what[field] == "" {
			continue
		}
		switch x := v.Field(i).Interface().(type) {
		case aviary.ID:
			out = append(out, reference{field, what[field], x})
		case []aviary.ID:
			for _, id := range x {
				out = append(out, reference{field, what[field], id})
			}
		}
	}
	return out
}
