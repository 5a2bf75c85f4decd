package web

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"html/template"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/web/look"
)

// cardView is one job as a card: what is due at a cage, why, and the forms that take what is seen and done.
type cardView struct {
	ID      string // anchor and prefix of the ids of its fields
	Key     string // of the job, as its marks in the journal bear it
	Cage    string // id of the place
	Plate   string
	Kind    string // which form it shows: look, candle, ring, wean, ask, odd, apart, material, hang
	Urgent  bool   // it cannot be put off
	Vet     string // number of the avian vet, for what is urgent; "" when none is written
	Title   string
	State   string // late, look or "": how the card's edge is drawn
	Flag    template.HTML
	Species string
	Pair    []template.HTML
	Clutch  string
	Picture template.HTML
	Seen    string
	Guess   template.HTML
	Why     string
	Basis   string
	Pegs    template.HTML
	Lids    string // why no lid is lifted now; "" when one may be, or none is
	Box     string // id of the nest box, "" when none is named
	Open    bool
	Now     bool
	Link    string // a card that is too far down to bring its form along is a link to itself
	Then    string // plate of the next cage
	Back    string // where its forms come back to
	CanKeep bool
	Today   aviary.Date
	F       *form // the card's form as it came back, or an empty one

	Look     *lookView
	Ring     *ringView
	Wean     *weanView
	Ask      *askView
	Material []field
	Odd      *oddView // the matter that the card is about
	Odds     *oddForm // writing down another one
}

// Away reports whether the card stands on another page than its cage's.
func (c *cardView) Away() bool { return c.Back != "/cage/"+c.Cage }

// After is where the browser goes when the job is done: on with the round from this cage, or back to the cage's page.
func (c *cardView) After() string {
	if c.Away() {
		return onFrom(c.Cage)
	}
	return c.Back
}

// Wrong lists what is wrong with the card's form.
func (c *cardView) Wrong() []fieldError { return c.F.Errors }

// jobID is a short name for a job that stays the same until it is done.
func jobID(j *advice.Job) string {
	sum := sha256.Sum256([]byte(j.Place.ID.String() + j.Key()))
	return "j" + hex.EncodeToString(sum[:6])
}

// card says a job as a card. back is the page that its forms come back to.
func (v *visit) card(d *advice.Desk, j *advice.Job, f *form, back string, o offered) cardView {
	c := cardView{
		ID: jobID(j), Key: j.Key(), Cage: j.Place.ID.String(), Plate: j.Place.Name, Title: j.Title, Seen: j.Seen, Why: j.Why, Basis: j.Basis,
		Flag: look.Flag(markOf(j), j.Flag()), Back: back, CanKeep: v.keeper(), Today: v.today, F: f,
	}
	switch {
	case j.Attention == advice.Over, j.Urgent:
		c.State = "late"
	case j.Attention == advice.NotSure:
		c.State = "look"
	}
	if j.Species != nil {
		c.Species = j.Species.English
	}
	c.Pair = coupleLine(d, j.Pair, j.Place)
	c.Guess, c.Pegs = guessed(j, v.today)
	if box := j.Box(); box != (aviary.ID{}) {
		c.Box = box.String()
	}
	if lids := d.LidHoursAt(j.Place); j.Lid && !lids.Allows(v.clock) {
		c.Lids = lidsShut(lids, v.clock)
	}
	n := j.Nest
	if n != nil {
		c.Clutch = n.Label()
		if b := n.Box; b != nil && b.Name != "" {
			c.Clutch += ", " + b.Name
		}
		c.Picture = look.Box(nestBox(n), 64, nestBox(n).Words())
	} else {
		c.Picture = look.Box(cageBox(d.Cage(j.Place)), 64, "")
	}
	switch j.Kind {
	case advice.RingJob:
		c.Kind, c.Ring = "ring", newRingView(d, n, f, c.ID, o)
	case advice.WeanJob:
		c.Kind, c.Wean = "wean", newWeanView(d, n, f, c.ID)
	case advice.QuestionJob:
		c.Kind, c.Ask = "ask", newAskView(d, n, j.Question, f)
	case advice.OddJob:
		c.Kind, c.Odd = "odd", &oddView{Entry: j.Entry.String(), Helper: !v.keeper()}
	case advice.QuarantineJob:
		c.Kind = "apart"
	case advice.MaterialJob:
		c.Kind = "material"
		c.Material = []field{prefixed(c.ID, f.Select("what", "What", append([]option{{Label: "not said"}}, options(materials...)...)))}
	case advice.BoxJob:
		c.Kind = "hang"
	default:
		c.Kind = "look"
		if j.Kind == advice.CandleJob {
			c.Kind = "candle"
		}
		c.Look = newLookView(d, j.Place, n, f, c.ID, c.Kind == "candle")
	}
	if c.Urgent = j.Urgent; c.Urgent {
		c.Vet = v.vet()
	}
	c.Odds = newOddForm(d, j.Place, c.ID+"o")
	return c
}

// lidsShut says calmly why the lids stay shut at this hour.
func lidsShut(l advice.LidHours, now aviary.Clock) string {
	m, _ := now.Minutes()
	if m < l.From {
		return fmt.Sprintf("No lid just yet: hens feed in the first hour of light. Lids may be lifted %s.", l)
	}
	return fmt.Sprintf("No lid this late: hens must be back on their eggs before dark. Lids may be lifted %s.", l)
}

// coupleLine is a pair as one line: sex sign and ring of each bird that is there.
func coupleLine(d *advice.Desk, pair *aviary.Pair, at *aviary.Place) []template.HTML {
	if pair == nil {
		return nil
	}
	var out []template.HTML
	for i, id := range pair.Birds() {
		b := d.Room.Bird(id)
		if b == nil {
			continue
		}
		sex := "cock"
		if i >= len(pair.Cocks) {
			sex = "hen"
		}
		text := b.Label()
		if b.Place() != at.ID {
			text += " (not here)"
		}
		out = append(out, look.Bird(sex, text))
	}
	return out
}

// mostPegs is how many days hang on the rail of a card: as many as a phone has room for.
const mostPegs = 9

// mostOver is how many days past the last likely one today is still shown on the rail.
const mostOver = 4

// guessed writes what is expected with its range in bold, and hangs the chance of each day on a rail.
func guessed(j *advice.Job, today aviary.Date) (template.HTML, template.HTML) {
	text := template.HTMLEscapeString(j.Guess)
	if from, to, ok := j.Event.EightInTen(); ok {
		days := template.HTMLEscapeString(advice.Days(advice.Day(from), advice.Day(to)))
		text = strings.Replace(text, days, "<b>"+days+"</b>", 1)
	}
	if j.Nest == nil || !j.Event.Known || j.Event.Seen || j.Event.Happened {
		return template.HTML(text), ""
	}
	switch j.Kind {
	case advice.ChicksJob, advice.CountOutJob, advice.WeanJob, advice.FirstEggJob:
		return template.HTML(text), dayPegs(j.Event, today)
	}
	return template.HTML(text), ""
}

// dayPegs hangs the chances of an event's days: those around the likeliest, today among them where it is near.
func dayPegs(e nest.Event, today aviary.Date) template.HTML {
	all := e.Chances()
	if len(all) < 2 {
		return ""
	}
	at := 0
	for i := range all {
		if all[i].P > all[at].P {
			at = i
		}
	}
	likeliest := all[at].Day
	from, to := 0, len(all)-1
	for to-from >= mostPegs { // let the rarer end go, but keep today
		if all[from].P <= all[to].P && advice.Day(all[from].Day) != today || advice.Day(all[to].Day) == today {
			from++
		} else {
			to--
		}
	}
	var pegs []look.Peg
	for i, c := range all[from : to+1] {
		day := advice.Day(c.Day)
		label := itoa(day.Time().Day())
		if i == 0 || day.Time().Day() == 1 || c.Day == likeliest {
			label = day.Short()
		}
		pegs = append(pegs, look.Peg{Label: label, Chance: int(c.P*100 + 0.5), Today: day == today, Top: c.Day == likeliest})
	}
	for day := advice.Day(all[to].Day) + 1; day <= today && int(today-advice.Day(all[to].Day)) <= mostOver; day++ {
		pegs = append(pegs, look.Peg{Label: itoa(day.Time().Day()), Today: day == today}) // past its time: today hangs beyond the last likely day
	}
	return look.Pegs(pegs, advice.Expects(e))
}

// prefixed gives a control an id of its own among the forms of a page.
func prefixed(prefix string, x field) field { return x.In(prefix) }
