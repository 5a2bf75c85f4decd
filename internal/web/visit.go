package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/species"
)

// visit is one request of a known person.
type visit struct {
	w     http.ResponseWriter
	r     *http.Request
	s     *server
	who   journal.Writer
	now   time.Time    // in the room's zone
	today aviary.Date  // in the room's zone
	clock aviary.Clock // time of day in the room's zone

	once   aviary.ID // of the form that was sent, else new
	made   uint32    // ids drawn from once
	first  bool      // an entry has taken once as its id
	status int       // of the page that is rendered; 0 is 200
	wrote  *undoBand // what this request wrote
	sent   *sent     // how a script sent it; nil when the browser did
	f      *form
}

func (v *visit) ctx() context.Context { return v.r.Context() }

// keeper reports whether the person may change birds and settings.
func (v *visit) keeper() bool { return v.who.Role == aviary.Keeper }

// room calls fn with the room and the species' values that hold in it, under a read lock. fn copies what it needs; it must
// not write, nor call room or desk again.
func (v *visit) room(fn func(r *aviary.Room, cat *species.Catalogue)) {
	v.s.Book.View(func(r *aviary.Room) { fn(r, v.s.catalogue(r)) })
}

// desk calls fn with today's desk, under the same rules as room.
func (v *visit) desk(fn func(d *advice.Desk)) {
	v.s.Book.View(func(r *aviary.Room) { fn(advice.At(r, v.today, v.clock)) })
}

// see answers a form: the browser goes on to the page at path.
func (v *visit) see(path string) error {
	if v.sent != nil {
		v.sent.to = path
		return nil
	}
	v.keepUndo()
	http.Redirect(v.w, v.r, path, http.StatusSeeOther)
	return nil
}

// back answers a form: the browser goes back to the page that the form's field back names, or to path.
func (v *visit) back(path string) error {
	if to := v.r.FormValue("back"); local(to) {
		path = to
	}
	return v.see(path)
}

// local reports whether a path leads to a page of ours.
func local(path string) bool {
	return strings.HasPrefix(path, "/") && !strings.HasPrefix(path, "//") && !strings.ContainsAny(path, "\\\r\n\t") && len(path) < 2000
}

// pathID reads the id in the route's path, such as {id}.
func (v *visit) pathID(name string) (aviary.ID, error) {
	id, err := uuid.Parse(v.r.PathValue(name))
	if err != nil {
		return aviary.ID{}, notThere("there is no such page; the address has been cut or mistyped")
	}
	return id, nil
}

func notThere(message string) error {
	return &aviary.Error{Code: aviary.NotFound, Message: message}
}

// id returns a new id. The ids of one form are drawn from the form's own once, so that the same form sent twice names the
// same things.
func (v *visit) id() aviary.ID {
	v.made++
	sum := sha256.Sum256(append(v.once[:], strconv.Itoa(int(v.made))...))
	id := v.once
	copy(id[8:], sum[:8])
	id[8] = id[8]&0x3f | 0x80 // the variant of RFC 9562
	return id
}

// entry returns a new entry of today, or of the day and time in the form's fields day and time. The first takes the form's
// once as its id. An entry of today bears the time of day.
func (v *visit) entry(body aviary.Body) *aviary.Entry {
	e := &aviary.Entry{Body: body, Day: v.today, ID: v.once}
	if v.first {
		e.ID = v.id()
	}
	v.first = true
	f := v.form()
	if day := f.date("day"); day != 0 {
		e.Day = day
	}
	e.Time = f.clock("time")
	if e.Time == 0 && e.Day == v.today {
		e.Time = v.clock
	}
	e.Why = f.text("why")
	return e
}

// write writes entries as this person, whole or not at all. Several become one batch: one undo. The undo band shows what was
// written, in the words given with say or else as the entry itself says it.
//
// The same form sent twice writes once. The same form sent again with other figures is refused.
func (v *visit) write(entries ...*aviary.Entry) error {
	if len(entries) == 0 {
		return nil
	}
	if len(entries) > 1 && entries[0].Batch == (aviary.ID{}) {
		for _, e := range entries {
			e.Batch = entries[0].ID
		}
	}
	done, err := v.again(entries)
	take := func() error { return v.s.Book.Write(v.ctx(), v.who, entries...) }
	if v.later() {
		take = func() error { return v.receive(entries) }
	}
	if err == nil && !done {
		err = take()
		if err != nil { // a double tap may have written it meanwhile
			if done, _ := v.again(entries); done {
				err = nil
			}
		}
	}
	if err != nil {
		return err
	}
	band := undoBand{ID: entries[0].ID}
	if v.wrote != nil {
		band.Said = v.wrote.Said
	}
	v.wrote = &band
	return nil
}

// say sets what the undo band shows instead of the entry's own words.
func (v *visit) say(format string, args ...any) {
	if v.wrote == nil {
		v.wrote = &undoBand{}
	}
	v.wrote.Said = fmt.Sprintf(format, args...)
}

// again reports whether the entries are in the books already, from the same form.
func (v *visit) again(entries []*aviary.Entry) (done bool, err error) {
	v.s.Book.View(func(r *aviary.Room) {
		for _, e := range entries {
			old := r.Entry(e.ID)
			if old == nil {
				return
			}
			was, err1 := aviary.EncodeBody(old.Body)
			is, err2 := aviary.EncodeBody(e.Body)
			if err1 != nil || err2 != nil || old.Body.Kind() != e.Body.Kind() || string(was) != string(is) || old.Day != e.Day || old.Strikes != e.Strikes {
				err = &aviary.Error{Code: aviary.Conflict, Message: fmt.Sprintf("this form was saved before (%s); to write it once more with other figures, save again", advice.Sentence(r, old))}
				return
			}
		}
		done = true
	})
	return done, err
}

func newID() aviary.ID { return uuid.Must(uuid.NewV7()) }

// handle makes a handler of fn: it knows the person, checks what the route needs, and shows what fn returns as an error.
func (s *server) handle(n need, fn func(*visit) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		v := s.visit(w, r)
		err := v.admit(n)
		if err == nil {
			err = fn(v)
		}
		if v.sent != nil && v.sent.file != nil {
			v.sent.err = err
			return
		}
		if v.sent != nil {
			v.tell(err)
			return
		}
		var to *logInFirst
		switch {
		case errors.As(err, &to):
			http.Redirect(w, r, to.path, http.StatusSeeOther)
		case err != nil:
			v.fail(err)
		}
	}
}

// visit reads what every handler needs. It does not know the person yet.
func (s *server) visit(w http.ResponseWriter, r *http.Request) *visit {
	v := &visit{w: w, r: r, s: s, once: newID(), sent: sentBy(r)}
	s.Book.View(func(room *aviary.Room) {
		now := s.Now()
		v.now = now.In(room.Zone(aviary.DayIn(now, time.UTC)))
	})
	v.today = aviary.DayIn(v.now, v.now.Location())
	v.clock = aviary.ClockOf(v.now.Hour(), v.now.Minute())
	return v
}
