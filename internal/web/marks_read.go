package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// marksFile is a file of marks that a phone could not send, as the script kept.js saves it.
type marksFile struct {
	What    string     `json:"what"`
	Version int        `json:"version"`
	Room    string     `json:"room"`
	Marks   []markLine `json:"marks"`
}

// markLine is one form as it was filled in.
type markLine struct {
	Once   string      `json:"once"`
	Action string      `json:"action"`
	Fields [][2]string `json:"fields"`
	By     string      `json:"by"`
	At     string      `json:"at"`
	Day    string      `json:"day"`
	Time   string      `json:"time"`
	Words  string      `json:"words"`
	Plate  string      `json:"plate"`
}

// mostMarks is how many marks one file may hold: more than a year of rounds.
const mostMarks = 5000

// marksView is a file as it is looked at before it is read in.
type marksView struct {
	Marks []markView
	Words string // how many, and how many can be taken in
	Take  string // what the button takes in: "3 marks"; "" when there is nothing to take
	File  string // the file once more, for the button
}

type markView struct {
	Plate, Text, When, By, Wrong string
	There                        bool // it is in the books already
}

// readMark is a mark of a file, with what it would write.
type readMark struct {
	line markLine
	by   journal.Writer
	sent *sent
}

// marksRead shows what a file of marks would write, and writes it when the file is sent once more as the text that was looked at.
func (s *server) marksRead(v *visit) error {
	f := v.form()
	text, sure := f.Values.Get("text"), true
	if text == "" {
		sure = false
		file, _, err := v.r.FormFile("marks")
		if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
			f.wrong("marks", "choose the file that the phone saved")
			return v.fileAgain(f)
		}
		if err != nil {
			return err
		}
		b, err := io.ReadAll(file)
		if err = errors.Join(err, file.Close()); err != nil {
			return err
		}
		text = string(b)
	}
	marks, err := v.readMarks(text)
	var bad *statusError
	if errors.As(err, &bad) {
		f.wrong("marks", "%s", bad.message)
		return v.fileAgain(f)
	}
	if err != nil {
		return err
	}
	if sure {
		return v.takeMarks(marks)
	}
	return v.signalPage(blank(), v.lookAt(marks, text))
}

func (v *visit) fileAgain(f *form) error {
	v.status = http.StatusUnprocessableEntity
	return v.signalPage(f, nil)
}

// readMarks reads a file of marks and works out what each would write. Nothing is written.
func (v *visit) readMarks(text string) ([]readMark, error) {
	refuse := func(format string, args ...any) error {
		return &statusError{http.StatusUnprocessableEntity, fmt.Sprintf(format, args...)}
	}
	var file marksFile
	if err := json.Unmarshal([]byte(text), &file); err != nil || file.What != "broodlight marks" {
		return nil, refuse("that is no file of marks; a phone saves one under “What is kept”, and its name begins with round-")
	}
	switch {
	case file.Version != 1:
		return nil, refuse("the file was saved by a later version of the program; update this one first")
	case file.Room != v.s.roomMark:
		return nil, refuse("these marks were written in another room, so they are not taken in here")
	case len(file.Marks) == 0:
		return nil, refuse("the file holds no marks")
	case len(file.Marks) > mostMarks:
		return nil, refuse("the file holds %d marks, which is more than %d", len(file.Marks), mostMarks)
	}
	out := make([]readMark, 0, len(file.Marks))
	for _, line := range file.Marks {
		m, err := v.readMark(line)
		if err != nil {
			return nil, err
		}
		out = append(out, m)
	}
	return out, nil
}

// readMark hands one mark to the handler of its form, which gathers what it would write.
func (v *visit) readMark(line markLine) (readMark, error) {
	m := readMark{line: line, sent: &sent{later: true}}
	by, known, err := v.writerOf(line.By)
	if err != nil {
		return m, err
	}
	if !known {
		by = journal.Writer{By: line.By, Role: aviary.Helper} // somebody who has been taken off the list since
	}
	m.by, m.sent.file = by, &by
	if !v.keeper() && by.By != v.who.By {
		m.sent.err = &statusError{http.StatusForbidden, "This was written by " + line.By + "; only a keeper reads in what somebody else wrote."}
		return m, nil
	}
	values := url.Values{}
	for _, f := range line.Fields {
		values.Add(f[0], f[1])
	}
	for name, value := range map[string]string{"once": line.Once, "kept_by": line.By, "kept_at": line.At, "kept_day": line.Day, "kept_time": line.Time} {
		values.Set(name, value)
	}
	ctx := context.WithValue(v.ctx(), sentKey{}, m.sent)
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, line.Action, strings.NewReader(values.Encode()))
	if err != nil || r.URL.IsAbs() {
		m.sent.err = &statusError{http.StatusBadRequest, "It names no form of this room."}
		return m, nil
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Host, r.RemoteAddr = v.r.Host, v.r.RemoteAddr
	if _, pattern := v.s.routed.mux.Handler(r); !slices.Contains(waiting, pattern) {
		m.sent.err = &statusError{http.StatusBadRequest, "It names no form of this room that may wait."}
		return m, nil
	}
	v.s.routed.mux.ServeHTTP(noAnswer{http.Header{}}, r)
	return m, nil
}

// noAnswer is where an answer goes that nobody reads.
type noAnswer struct{ head http.Header }

func (n noAnswer) Header() http.Header         { return n.head }
func (n noAnswer) Write(b []byte) (int, error) { return len(b), nil }
func (n noAnswer) WriteHeader(int)             {}

// lookAt shows what a file would write.
func (v *visit) lookAt(marks []readMark, text string) *marksView {
	p := &marksView{File: text}
	take, there, wrong := 0, 0, 0
	v.desk(func(d *advice.Desk) {
		for _, m := range marks {
			w := markView{Plate: m.line.Plate, Text: m.line.Words, When: m.line.Time, By: m.line.By}
			if w.Plate == "" {
				w.Plate = "Room"
			}
			if day, err := aviary.ParseDate(m.line.Day); err == nil {
				w.When = day.Short() + ", " + m.line.Time
			}
			var said []string
			for _, e := range m.sent.entries {
				said = append(said, advice.Sentence(d.Room, e))
			}
			if len(said) > 0 {
				w.Text = capital(strings.Join(said, "; "))
			}
			switch {
			case m.sent.err != nil:
				w.Wrong = wrongWords(m.sent.err)
				wrong++
			case len(m.sent.entries) == 0:
				w.There = true
				there++
			default:
				take++
			}
			p.Marks = append(p.Marks, w)
		}
	})
	p.Words = count(len(marks), "mark", "marks") + " in the file: " + count(take, "new one", "new ones")
	if there > 0 {
		p.Words += fmt.Sprintf(", %d in the books already", there)
	}
	if wrong > 0 {
		p.Words += fmt.Sprintf(", %d that cannot be taken and are left out", wrong)
	}
	if p.Words += "."; take > 0 {
		p.Take = count(take, "mark", "marks")
	}
	return p
}

// wrongWords says what is wrong with a mark.
func wrongWords(err error) string {
	if statusOf(err) >= http.StatusInternalServerError {
		return "Something went wrong in the program."
	}
	return sentence(err.Error())
}

// takeMarks takes in all marks that are right, those of one writer in one step.
func (v *visit) takeMarks(marks []readMark) error {
	var writers []journal.Writer
	of := map[string][]*aviary.Entry{}
	n := 0
	for _, m := range marks {
		if m.sent.err != nil || len(m.sent.entries) == 0 {
			continue
		}
		if !slices.Contains(writers, m.by) {
			writers = append(writers, m.by)
		}
		for _, e := range m.sent.entries {
			e.By = m.by.By
		}
		of[m.by.By] = append(of[m.by.By], m.sent.entries...)
		n++
	}
	before := v.asideCount()
	var all []*aviary.Entry
	for _, w := range writers {
		if err := v.s.Book.Receive(v.ctx(), w, of[w.By]...); err != nil {
			return err
		}
		all = append(all, of[w.By]...)
	}
	if v.clashOf(all, before) != "" {
		return v.see("/sort")
	}
	return v.see("/phone?read=" + itoa(n) + "#file")
}
