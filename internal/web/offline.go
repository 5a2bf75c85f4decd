package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"slices"
	"time"

	"github.com/google/uuid"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// A phone takes marks where the room's computer is not reached. It keeps each form as it was filled in, with the moment at
// which it was tapped, and sends the forms in order when it is back: to the same address as ever, with the header Kept.
//
// "now" is a form that is sent as it is tapped, by a script instead of by the browser: everything is as for the browser, but the
// answer is a sentAnswer instead of a page. "later" is one that waited: its entries bear the day, the time and the moment of the
// tap, and the journal receives them as written elsewhere, so that what clashes is set aside and nothing is refused for coming
// late. What such a form writes depends on the form alone, never on what the room says when it comes in: whichever of two phones
// is back first, the room is the same.
const keptHeader = "Kept"

// sent is a form that a script sent, and what became of it.
type sent struct {
	later bool
	at    time.Time // when it was tapped, for one that waited

	to      string          // the page that the browser would go on to
	ask     bool            // a page asks something first: the browser itself has to send the form
	clash   string          // what it clashes with; it is kept, and to be sorted out
	file    *journal.Writer // who wrote it, when it comes from a file; its entries are gathered, not written
	entries []*aviary.Entry // gathered
	err     error           // what is wrong with it, when it comes from a file
}

// later reports whether the form waited on a phone.
func (v *visit) later() bool { return v.sent != nil && v.sent.later }

// What a sentAnswer may say.
const (
	sentSaved = "saved"  // it is in the books
	sentClash = "clash"  // it is in the books, and something is to be sorted out
	sentWrong = "wrong"  // it cannot be taken as it is; the phone keeps it to be mended
	sentLogIn = "log in" // the log-in has run out; the phone keeps it
	sentOther = "other"  // somebody else is logged in; the phone keeps it for the one who wrote it
	sentAsk   = "ask"    // the browser has to send it, since a page asks something first
	sentLater = "later"  // something went wrong in the program; the phone keeps it and tries again
)

// sentAnswer is what a script is told about a form that it sent.
type sentAnswer struct {
	State string     `json:"state"`
	Room  string     `json:"room"`           // which room answered
	To    string     `json:"to,omitempty"`   // the page to go on to
	Said  string     `json:"said,omitempty"` // what is wrong, or what it clashes with
	Wrong []sentWord `json:"wrong,omitempty"`
	By    string     `json:"by,omitempty"` // who is logged in
	Now   int64      `json:"now"`          // the room's clock, in ms since 1970
}

// sentWord is what is wrong with one field.
type sentWord struct {
	Field   string `json:"field,omitempty"`
	Message string `json:"message"`
}

// sentKey is under which a request made from a line of a file holds its sent.
type sentKey struct{}

// sentBy reads how a script sent the request; nil when the browser did.
func sentBy(r *http.Request) *sent {
	if x, ok := r.Context().Value(sentKey{}).(*sent); ok {
		return x
	}
	if r.Method != http.MethodPost {
		return nil
	}
	switch r.Header.Get(keptHeader) {
	case "now":
		return &sent{}
	case "later":
		return &sent{later: true}
	}
	return nil
}

// errOther is somebody else's form.
var errOther = errors.New("written by somebody else")

// backThen sets the visit to the moment at which a form that waited was tapped, as the phone wrote it down in the room's zone.
// A moment that has not come by the room's clock is now: the phone's clock is ahead.
func (v *visit) backThen() error {
	if by := v.r.PostFormValue("kept_by"); v.sent.file == nil && by != "" && by != v.who.By && v.s.LAN {
		return errOther
	}
	if !v.later() {
		return nil
	}
	at, err1 := time.Parse(time.RFC3339, v.r.PostFormValue("kept_at"))
	day, err2 := aviary.ParseDate(v.r.PostFormValue("kept_day"))
	clock, err3 := aviary.ParseClock(v.r.PostFormValue("kept_time"))
	if errors.Join(err1, err2, err3) != nil {
		return &statusError{http.StatusBadRequest, "It does not say when it was tapped. Write it once more, and take this one back."}
	}
	if _, err := uuid.Parse(v.r.PostFormValue("once")); err != nil {
		return &statusError{http.StatusBadRequest, "It has no mark of its own. Write it once more, and take this one back."}
	}
	if !slices.Contains(waiting, v.r.Pattern) {
		return &statusError{http.StatusBadRequest, "This form cannot wait on a phone."}
	}
	if at = at.UTC().Truncate(time.Millisecond); at.After(v.now) || day > v.today {
		return nil
	}
	v.sent.at, v.now, v.today, v.clock = at, at.In(v.now.Location()), day, clock
	return nil
}

// waiting are the routes whose forms may wait on a phone. What they write depends on the form alone. The script kept.js catches
// the same ones.
var waiting = []string{
	"POST /cage/{id}/check", "POST /cage/{id}/answer", "POST /cage/{id}/material", "POST /cage/{id}/odd", "POST /cage/{id}/count", "POST /cage/{id}/note",
	"POST /cage/{id}/signs", "POST /cage/{id}/ring", "POST /cage/{id}/wean", "POST /cage/{id}/move", "POST /cage/{id}/box", "POST /cage/{id}/pull",
	"POST /round/seen", "POST /round/done", "POST /round/skip", "POST /sort/settle", "POST /strike",
}

// receive takes in the entries of a form that waited.
func (v *visit) receive(entries []*aviary.Entry) error {
	for i, e := range entries {
		if e.Written.IsZero() && !v.sent.at.IsZero() {
			e.Written = v.sent.at.Add(time.Duration(i) * time.Millisecond) // in the order in which the form says them
		}
	}
	if v.sent.file != nil {
		v.sent.entries = append(v.sent.entries, entries...)
		return nil
	}
	before := v.asideCount()
	if err := v.s.Book.Receive(v.ctx(), v.who, entries...); err != nil {
		return err
	}
	v.sent.clash = v.clashOf(entries, before)
	return nil
}

func (v *visit) asideCount() (n int) {
	v.s.Book.View(func(r *aviary.Room) { n = len(r.Aside()) })
	return n
}

// clashOf says what there is to sort out because of entries that came in late; "" when nothing is. before is how many entries had
// been set aside.
func (v *visit) clashOf(entries []*aviary.Entry, before int) (said string) {
	v.desk(func(d *advice.Desk) {
		aside := d.Room.Aside()
		for _, a := range aside {
			for _, e := range entries {
				if a.Entry.ID == e.ID {
					said = sentence(a.Clash.Message)
					return
				}
			}
		}
		if len(aside) > before {
			said = "Something that was written meanwhile cannot stand beside it, and was set aside."
			return
		}
		for _, e := range entries {
			if t := d.TwiceOf(e); t != nil {
				said = t.Text
				return
			}
		}
	})
	return said
}

// tell answers a script.
func (v *visit) tell(err error) {
	a := sentAnswer{Room: v.s.roomMark, By: v.who.By, Now: v.s.Now().UnixMilli(), To: v.sent.to, State: sentSaved}
	status := http.StatusOK
	var to *logInFirst
	var bad *formError
	switch {
	case errors.Is(err, errOther):
		status, a.State = http.StatusForbidden, sentOther
	case v.sent.ask:
		a.State = sentAsk
	case err == nil && v.sent.clash != "":
		a.State, a.Said = sentClash, v.sent.clash
	case err == nil:
	case errors.As(err, &to), v.who.By == "":
		status, a.State = http.StatusUnauthorized, sentLogIn
	case errors.As(err, &bad):
		status, a.State, a.Said = http.StatusUnprocessableEntity, sentWrong, sentence(bad.Error())
		for _, m := range bad.f.Errors {
			a.Wrong = append(a.Wrong, sentWord{m.Field, sentence(m.Message)})
		}
	default:
		status, a.State, a.Said = statusOf(err), sentWrong, sentence(err.Error())
		if status >= http.StatusInternalServerError {
			v.s.Log.Error("request failed", "method", v.r.Method, "path", v.r.URL.Path, "err", err)
			a.State, a.Said = sentLater, "Something went wrong in the program; what was tapped is kept and sent again."
		}
	}
	if err == nil && !v.sent.later && !v.sent.ask {
		v.keepUndo()
	}
	v.status = status
	v.json(a)
}

// json answers with a value that a script reads.
func (v *visit) json(a any) {
	b, err := json.Marshal(a)
	if err == nil {
		err = v.send("application/json", b)
	}
	if err != nil {
		v.s.Log.Error("answer to a script failed", "path", v.r.URL.Path, "err", err)
	}
}

// standing is what a page tells its scripts about itself.
type standing struct {
	Room  string `json:"room"`            // tells one room from another that is served at the same address
	By    string `json:"by"`              // who is here; "" for nobody
	LogIn bool   `json:"logIn"`           // people log in
	Zone  string `json:"zone"`            // of the room
	Made  int64  `json:"made"`            // the room's clock when the page was made, in ms since 1970
	Wrong string `json:"wrong,omitempty"` // the once of the form that this page shows again, to be mended
}

func (v *visit) standing() standing {
	return standing{Room: v.s.roomMark, By: v.who.By, LogIn: v.s.LAN, Zone: v.now.Location().String(), Made: v.s.Now().UnixMilli()}
}

// Standing is the page's standing for its scripts, as they read it.
func (l *layout) Standing() (string, error) {
	b, err := json.Marshal(l.standing)
	return string(b), err
}

// standingShow tells a script that the room is reached, who is logged in, and what time it is there.
func (s *server) standingShow(v *visit) error {
	v.json(v.standing())
	return nil
}

// workerShow is the service worker, which has to lie at the root to see all pages. It changes with the static files.
func (s *server) workerShow(w http.ResponseWriter, r *http.Request) {
	code, err := fs.ReadFile(s.static.files, "sw.js")
	if err != nil {
		http.NotFound(w, r)
		return
	}
	var names []string
	for _, name := range slices.Sorted(maps.Keys(s.static.names)) {
		if ext := path.Ext(name); name != "sw.js" && (ext == ".css" || ext == ".js" || ext == ".svg" || ext == ".woff2") {
			names = append(names, s.static.prefix+name)
		}
	}
	list, err := json.Marshal(names)
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	fmt.Fprintf(w, "const HASH = %q, FILES = %s;\n%s", s.static.prefix, list, code)
}

// keptNoneShow stands in for a page that a phone does not keep, while there is no network.
func (s *server) keptNoneShow(v *visit) error {
	return v.render("kept_none", &layout{Headline: "That page needs the room's computer", Title: "No signal", Class: "page narrow"})
}

// personMark tells a phone whose page it was given, without the name: pages kept for one are not shown to another.
func (v *visit) personMark() string {
	if v.who.By == "" {
		return "nobody"
	}
	sum := sha256.Sum256([]byte(v.s.roomMark + "/" + v.who.By))
	return hex.EncodeToString(sum[:6])
}

// roomMarkSetting is the private setting that holds the room's mark. A copy of the room that is put back bears the same.
const roomMarkSetting = "room mark"

// roomMarkOf returns the room's mark, made when there is none.
func roomMarkOf(cfg Config) (string, error) {
	ctx := context.Background()
	mark, err := cfg.Book.Setting(ctx, roomMarkSetting)
	if err != nil || mark != "" {
		return mark, err
	}
	id := newID()
	mark = hex.EncodeToString(id[8:])
	return mark, cfg.Book.SetSetting(ctx, roomMarkSetting, mark)
}

// plateOf is the name on a place's plate, also of one that is not in the books.
func plateOf(r *aviary.Room, place aviary.ID) string {
	if p := r.Place(place); p != nil {
		return p.Name
	}
	return "A cage that is not in the books"
}

// writerOf returns who wrote a mark in a file, with his role; false for nobody of this room.
func (v *visit) writerOf(name string) (journal.Writer, bool, error) {
	if name == v.who.By || name == "" || !v.s.LAN && name == DefaultKeeper {
		return v.who, true, nil
	}
	people, err := v.s.Book.People(v.ctx())
	for _, p := range people {
		if p.Name == name {
			return journal.Writer{By: p.Name, Role: p.Role}, true, err
		}
	}
	return journal.Writer{}, false, err
}
