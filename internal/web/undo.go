package web

import (
	"encoding/base64"
	"strings"

	"github.com/google/uuid"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// undoBand offers to strike out what was written last in this browser. It stays until the next save.
type undoBand struct {
	ID     aviary.ID // the entry or batch
	Said   string    // what was written
	Verb   string    // on the button
	Struck bool      // it has been struck out since: the button is not there
}

// undoCookie holds the id of what was written last and the words for it.
const undoCookie = "undo"

// longestSaid is how much of the words the cookie keeps, in letters.
const longestSaid = 160

// keepUndo gives the browser what this request wrote.
func (v *visit) keepUndo() {
	if v.wrote == nil || v.wrote.ID == (aviary.ID{}) {
		return
	}
	said := []rune(v.wrote.Said)
	if len(said) > longestSaid {
		said = append(said[:longestSaid-1], '…')
	}
	v.setCookie(undoCookie, v.wrote.ID.String()+"."+base64.RawURLEncoding.EncodeToString([]byte(string(said))), 0)
}

// band returns the undo band: what this request wrote, or else what the browser wrote last. It needs the room.
func (v *visit) band(r *aviary.Room) *undoBand {
	b := v.wrote
	if b == nil || b.ID == (aviary.ID{}) {
		c, err := v.r.Cookie(undoCookie)
		if err != nil {
			return nil
		}
		id, words, _ := strings.Cut(c.Value, ".")
		b = &undoBand{}
		if b.ID, err = uuid.Parse(id); err != nil {
			return nil
		}
		said, err := base64.RawURLEncoding.DecodeString(words)
		if err != nil {
			return nil
		}
		b.Said = string(said)
	}
	e, batch := entryOrFirst(r, b.ID), r.Batch(b.ID)
	if e == nil || e.By != v.who.By {
		return nil
	}
	if b.Said == "" {
		b.Said = saved(r, e, len(batch))
	}
	_, struck := struckBy(r, e)
	b.Verb = map[bool]string{true: "Put back", false: "Undo"}[struck]
	b.Struck = r.Struck(e.ID)
	if b.Struck {
		b.Said += " (struck out since)"
	}
	return b
}

// struckBy follows a strike to the entry that it is about in the end, and says whether it strikes that out (a strike) or puts it
// back (a strike of a strike). Of any other entry it returns the entry itself and false.
func struckBy(r *aviary.Room, e *aviary.Entry) (about *aviary.Entry, out bool) {
	for e.Strikes != (aviary.ID{}) {
		next := entryOrFirst(r, e.Strikes)
		if next == nil || next == e {
			break
		}
		e, out = next, !out
	}
	return e, out
}

// entryOrFirst returns the entry of an id, or the first of the batch of that id, or nil.
func entryOrFirst(r *aviary.Room, id aviary.ID) *aviary.Entry {
	if e := r.Entry(id); e != nil {
		return e
	}
	if batch := r.Batch(id); len(batch) > 0 {
		return batch[0]
	}
	return nil
}

// saved says what was written: "A3 saved: 5 eggs".
func saved(r *aviary.Room, e *aviary.Entry, n int) string {
	if about, out := struckBy(r, e); about != e {
		if out {
			return "Struck out: " + lineOf(r, about).Text
		}
		return "Put back: " + lineOf(r, about).Text
	}
	text := advice.Sentence(r, e)
	if p := r.Place(placeOf(e.Body)); p != nil {
		text = p.Name + " saved: " + text
	} else {
		text = "Saved: " + text
	}
	switch {
	case n == 2:
		text += ", and 1 more mark"
	case n > 2:
		text += ", and " + itoa(n-1) + " more marks"
	}
	return text
}

// placeOf returns the place that an entry is about, where the keeper would look for it; zero when there is none.
func placeOf(b aviary.Body) aviary.ID {
	switch b := b.(type) {
	case *aviary.NestCheck:
		return b.Place
	case *aviary.ChickRinged:
		return b.Place
	case *aviary.PairSet:
		return b.Place
	case *aviary.BoxHung:
		return b.Place
	case *aviary.BoxTaken:
		return b.Place
	case *aviary.BoxCleaned:
		return b.Place
	case *aviary.MaterialGiven:
		return b.Place
	case *aviary.YoungWeaned:
		return b.Place
	case *aviary.JobDone:
		return b.Place
	case *aviary.JobSkipped:
		return b.Place
	case *aviary.OddSeen:
		return b.Place
	case *aviary.PlaceRetired:
		return b.Place
	case *aviary.GroupFound:
		return b.Place
	case *aviary.Note:
		return b.Place
	}
	return aviary.ID{}
}
