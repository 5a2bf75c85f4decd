package web

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"github.com/google/uuid"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

func (s *server) roundRoutes(r *routes) {
	r.get("/round", s.roundShow)
	r.get("/round/sheet", s.roundSheetShow)
	r.post("/round/seen", s.roundSeenSend)
	r.post("/round/done", s.roundDoneSend)
	r.post("/round/skip", s.roundSkipSend)
}

// roundPage is today's walk along the cages.
type roundPage struct {
	layout
	Mini     template.HTML
	Cards    []cardView
	Done     []doneView
	Later    []laterView
	Seen     []string // "Whole room seen 07:10 by Ann, all well but A3"
	Lids     string   // "Lids 07:00–18:00" or why none is known
	Walk     string   // the walking order in a line
	Exceptes []placeName
	SeenForm *form
	Cages    int // places in the room
	Open     bool
	All      int    // jobs that the day has had
	Left     int    // those still to do
	Part     string // of the day, as the headline begins
	Morning  string // what the morning still asks for, in a line
}

// placeName is a place to tick.
type placeName struct{ ID, Name string }

// doneView is what was done at a cage today: one step, one undo.
type doneView struct {
	Plate, Cage, Text, When string
	Undo                    string // id of the entry or batch; "" for what this person may not strike out
	Skipped                 bool
}

// laterView is a job that was put off.
type laterView struct {
	Plate, Cage, Title, Until, Reason, Undo string
}

// formsAhead and formsBehind are how many cards before and after the one in hand bring their forms along. Those further off are
// links to themselves, so that the page of a large room stays as light as that of a small one. A script fetches the whole round
// behind it, for a phone that loses the network.
const (
	formsAhead  = 12
	formsBehind = 3
)

func (s *server) roundShow(v *visit) error { return v.roundPage(nil) }

// roundPage shows the round. sent is a form of one of its cards that came back with errors, or nil.
func (v *visit) roundPage(sent *form) error {
	p := &roundPage{SeenForm: blank()}
	p.Title, p.Tab, p.Class = "Round", "round", "round"
	back := "/round"
	shown := sent == nil
	if sent != nil && sent.Value("part") == "seen" {
		p.SeenForm, p.Open, shown = sent, true, true
	}
	v.desk(func(d *advice.Desk) {
		places := d.Room.Places()
		r := d.Round()
		rings := offered{}
		now := nowOf(r.Jobs, places, v.r, sent)
		whole := v.r.URL.Query().Get("all") != ""
		for i, j := range r.Jobs {
			f := blank()
			mine := sent != nil && sent.Value("card") == jobID(j)
			if mine {
				f, shown = sent, true
			}
			if now >= 0 && (i > now+formsAhead || i < now-formsBehind) && !mine && !whole {
				p.Cards = append(p.Cards, v.row(d, j, rings))
				continue
			}
			c := v.card(d, j, f, back, rings)
			c.Now = i == now
			c.Open = c.Now || mine
			if next := following(r.Jobs, i); next != nil {
				c.Then = next.Place.Name
			}
			p.Cards = append(p.Cards, c)
		}
		p.All, p.Left, p.Part = r.All(), r.Left(), partOfDay(v.clock)
		p.Done, p.Later = v.doneToday(d, r), v.putOff(d, r)
		for _, m := range r.Seen {
			p.Seen = append(p.Seen, seenLine(d.Room, m))
		}
		p.Cages = len(places)
		for _, place := range places {
			p.Exceptes = append(p.Exceptes, placeName{place.ID.String(), place.Name})
		}
		p.Headline = roundHeadline(r, v.clock, p.Cages)
		p.Morning = morningLine(d)
		p.Mini = miniRound(places, r, now)
		p.Walk = walkLine(places)
		if r.Lids.Known {
			p.Lids = "Lids may be lifted " + r.Lids.String() + "."
		}
	})
	if !shown {
		p.Form = lone(sent)
	}
	if sent == nil && !slices.ContainsFunc(p.Cards, func(c cardView) bool { return c.Link != "" }) {
		v.w.Header().Set("Kept-Whole", "yes") // a service worker may keep it as the round of today
	}
	return v.render("round_show", p)
}

// lone is a form whose fields are not on the page, so that its errors stand at the top.
func lone(sent *form) *form {
	f := blank()
	for _, e := range sent.Errors {
		f.wrong("", "%s", e.Message)
	}
	return f
}

// nowOf says which job is in hand: the one whose form came back, else the first from the place that the address names on, round
// to the start again; -1 without jobs.
func nowOf(jobs []*advice.Job, places []*aviary.Place, r *http.Request, sent *form) int {
	if len(jobs) == 0 {
		return -1
	}
	want := r.URL.Query().Get("open")
	if sent != nil {
		want = sent.Value("card")
	}
	for i, j := range jobs {
		if want != "" && jobID(j) == want {
			return i
		}
	}
	from, err := uuid.Parse(r.URL.Query().Get("from"))
	if err != nil {
		return 0
	}
	order := map[aviary.ID]int{}
	for i, p := range places {
		order[p.ID] = i
	}
	at, known := order[from]
	if !known {
		return 0
	}
	first := 0
	for i, j := range jobs {
		if j.Place.ID == from && j.Kind == advice.QuestionJob {
			return i // a count that does not add up is asked about while it is fresh
		}
		if order[j.Place.ID] >= at && order[jobs[first].Place.ID] < at {
			first = i
		}
	}
	return first
}

// following is the next job at another cage, or nil.
func following(jobs []*advice.Job, i int) *advice.Job {
	for _, j := range slices.Concat(jobs[i+1:], jobs[:i]) {
		if j.Place.ID != jobs[i].Place.ID {
			return j
		}
	}
	return nil
}

// row is a job without its forms. Its rings are offered all the same, so that a card offers the same ones however much of the
// round is shown.
func (v *visit) row(d *advice.Desk, j *advice.Job, o offered) cardView {
	if j.Kind == advice.RingJob {
		newRingView(d, j.Nest, blank(), "", o)
	}
	c := cardView{ID: jobID(j), Cage: j.Place.ID.String(), Plate: j.Place.Name, Title: j.Title, Seen: j.Seen, Flag: look.Flag(markOf(j), j.Flag()), F: blank()}
	c.Link = "/round?open=" + c.ID + "#next"
	return c
}

// partOfDay names the round by the clock.
func partOfDay(now aviary.Clock) string {
	m, _ := now.Minutes()
	switch {
	case m < 11*60:
		return "Morning"
	case m < 17*60:
		return "Midday"
	}
	return "Evening"
}

func roundHeadline(r *advice.Round, now aviary.Clock, cages int) string {
	name := partOfDay(now) + " round: "
	switch {
	case cages == 0:
		return "No cage hangs here yet."
	case r.All() == 0:
		return name + "nothing is due today."
	case r.Left() == 0:
		return name + fmt.Sprintf("all %d done", r.All())
	}
	return name + fmt.Sprintf("%d\u00a0of\u00a0%d\u00a0done, %d\u00a0left", r.All()-r.Left(), r.All(), r.Left())
}

// walkLine says in which order the round walks.
func walkLine(places []*aviary.Place) string {
	var banks []string
	for _, p := range places {
		if p.Type == aviary.Cage && p.Bank != "" && !slices.Contains(banks, p.Bank) {
			banks = append(banks, p.Bank)
		}
	}
	if len(banks) == 0 {
		return ""
	}
	if len(banks) > 4 {
		banks = append(banks[:4], "and on")
	}
	return "Walking order: " + strings.Join(banks, ", ") + ", down each column."
}

func seenLine(r *aviary.Room, m aviary.RoundMark) string {
	s := "Whole room seen"
	if t := m.Time.String(); t != "" {
		s += " " + t
	}
	if m.By != "" {
		s += " by " + m.By
	}
	s += ", all well"
	var names []string
	for _, id := range m.Except {
		if p := r.Place(id); p != nil {
			names = append(names, p.Name)
		}
	}
	if len(names) > 0 {
		s += " but " + strings.Join(names, ", ")
	}
	if m.Text != "" {
		s += ": " + m.Text
	}
	return s
}

// doneToday lists the steps of today, the latest first: entries of one batch are one step.
func (v *visit) doneToday(d *advice.Desk, r *advice.Round) []doneView {
	var out []doneView
	at := map[aviary.ID]int{}
	for _, m := range r.Done {
		id := m.Entry.ID
		if m.Entry.Batch != (aviary.ID{}) {
			id = m.Entry.Batch
			if i, ok := at[id]; ok && out[i].Cage == m.Place.ID.String() {
				out[i].Text += ", " + m.Text
				continue
			}
		}
		at[id] = len(out)
		done := doneView{Plate: m.Place.Name, Cage: m.Place.ID.String(), Text: m.Text, When: m.Entry.Time.String(), Skipped: m.Skipped}
		if v.keeper() || m.Entry.By == v.who.By {
			done.Undo = id.String()
		}
		out = append(out, done)
	}
	slices.SortStableFunc(out, func(a, b doneView) int { return strings.Compare(b.When, a.When) })
	return out
}

// putOff lists what was put off, with the mark that did it.
func (v *visit) putOff(d *advice.Desk, r *advice.Round) []laterView {
	var out []laterView
	for _, j := range r.Later {
		l := laterView{Plate: j.Place.Name, Cage: j.Place.ID.String(), Title: j.Title}
		for _, m := range j.Place.Jobs {
			if !m.Skipped || m.Job != j.Key() || m.Until <= d.Today {
				continue
			}
			l.Until, l.Reason = m.Until.Short(), m.Reason
			if e := d.Room.Entry(m.Entry); e != nil && (v.keeper() || e.By == v.who.By) {
				l.Undo = m.Entry.String()
			}
		}
		out = append(out, l)
	}
	return out
}

// miniRound draws how far the round is, cage by cage as they hang.
func miniRound(places []*aviary.Place, r *advice.Round, now int) template.HTML {
	open := map[aviary.ID]look.Mini{}
	for _, j := range slices.Backward(r.Jobs) {
		switch {
		case j.Attention == advice.Over, j.Urgent:
			open[j.Place.ID] = look.MiniLate
		case j.Attention == advice.NotSure:
			open[j.Place.ID] = look.MiniUnsure
		default:
			open[j.Place.ID] = look.MiniToDo
		}
	}
	label := fmt.Sprintf("The wall: %s done", count(r.DonePlaces(), "cage", "cages"))
	if now >= 0 {
		open[r.Jobs[now].Place.ID] = look.MiniNow
		label += ", now at " + r.Jobs[now].Place.Name
	}
	label += fmt.Sprintf(", %s to do", count(len(open), "cage", "cages"))
	var names []string
	banks := map[string][][]look.Mini{}
	for _, p := range places {
		if p.Type != aviary.Cage || p.Row < 1 || p.Col < 1 {
			continue
		}
		if _, ok := banks[p.Bank]; !ok {
			names = append(names, p.Bank)
		}
		rows := banks[p.Bank]
		for len(rows) < p.Row {
			rows = append(rows, nil)
		}
		row := rows[p.Row-1]
		for len(row) < p.Col {
			row = append(row, look.MiniGap)
		}
		state, todo := open[p.ID]
		if !todo && r.Visited[p.ID] {
			state = look.MiniDone
		}
		row[p.Col-1] = state
		rows[p.Row-1] = row
		banks[p.Bank] = rows
	}
	var drawn [][][]look.Mini
	for _, name := range names {
		drawn = append(drawn, banks[name])
	}
	return look.MiniWall(drawn, label)
}
