package advice

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/species"
)

// Attention says how much a cage or a job wants the keeper.
type Attention int

// From the most to the least.
const (
	Over    Attention = iota // past its time
	Today                    // due today
	NotSure                  // nobody knows; go and look
	Coming                   // on a later day
	Resting                  // nothing is wanted
)

// String is the word that stands beside the mark.
func (a Attention) String() string {
	return [...]string{"Over", "Today", "Not sure", "Coming", "Resting"}[a]
}

// JobKind names a sort of job; it is the word that a job's mark in the journal bears.
type JobKind string

// The sorts of job.
const (
	FirstEggJob   JobKind = "first egg"
	CountJob      JobKind = "count eggs"
	CandleJob     JobKind = "candle"
	ChicksJob     JobKind = "look for chicks"
	RingJob       JobKind = "ring"
	CountOutJob   JobKind = "count young out"
	WeanJob       JobKind = "wean"
	NoNestJob     JobKind = "no nest"
	QuestionJob   JobKind = "what became of them"
	OddJob        JobKind = "something odd"
	QuarantineJob JobKind = "quarantine over"
	MaterialJob   JobKind = "nest material"
	BoxJob        JobKind = "nest box"
)

// Job is one thing to do at one cage.
type Job struct {
	Kind           JobKind
	Place          *aviary.Place
	Nest           *Nest        // nil for a job that is not about a clutch
	Pair           *aviary.Pair // the pair at the place, if any
	Species        *species.Profile
	Title          string // "Look for chicks"
	Seen           string // what was seen, in ink: "5 full eggs, sat since 30 Dec"
	Guess          string // what is expected, in dusk: "Hatch due 12–14 Jan (8 in 10), most likely 13 Jan"
	Why            string // why now
	Basis          string // what the guess rests on
	From, Best, To aviary.Date
	Attention      Attention
	LateDays       int  // for Over
	Urgent         bool // it cannot wait, and stands before all others
	Lid            bool // a lid is lifted
	Event          nest.Event
	Entry          aviary.ID // the matter that it is about, for OddJob
	Question       *nest.Question
}

// Key tells jobs apart within a day, and stays the same until the job is done.
func (j *Job) Key() string {
	key := string(j.Kind)
	if j.Nest != nil {
		key = NestJobKey(j.Kind, j.Nest.Clutch.Key)
	}
	if j.Entry != (aviary.ID{}) {
		key += "/" + j.Entry.String()
	}
	if q := j.Question; q != nil {
		key += fmt.Sprintf("/%d of %s", q.Kind, Day(q.Day))
	}
	return key
}

// NestJobKey is the key of a job that is about a clutch.
func NestJobKey(kind JobKind, clutch aviary.ID) string { return string(kind) + "/" + clutch.String() }

// Box is the box that the job is about, or the zero ID.
func (j *Job) Box() aviary.ID {
	if j.Nest != nil {
		return j.Nest.Clutch.Box
	}
	return aviary.ID{}
}

// Flag is the word beside the job's mark: "At once", "2 days over", "Today".
func (j *Job) Flag() string {
	if j.Urgent {
		return "At once"
	}
	if j.Attention == Over && j.LateDays > 0 {
		return fmt.Sprintf("%d %s over", j.LateDays, plural(j.LateDays, "day", "days"))
	}
	if j.Attention == Coming {
		return j.Best.Short()
	}
	return j.Attention.String()
}

// DoneMark is something that was done at a cage today.
type DoneMark struct {
	Place   *aviary.Place
	Entry   *aviary.Entry
	Text    string
	Skipped bool
	Struck  bool
}

// Round is the walk along the cages on one day.
type Round struct {
	Jobs    []*Job // due, in walking order
	Later   []*Job // put off until another day
	Done    []DoneMark
	Seen    []aviary.RoundMark // "whole room seen" marks of today
	Lids    LidHours
	Visited map[aviary.ID]bool // places with a mark today
}

// Left is how many jobs are still to do; All how many the day had.
func (r *Round) Left() int { return len(r.Jobs) }

// All is how many jobs the day has had so far, done ones included.
func (r *Round) All() int { return len(r.Jobs) + r.DonePlaces() }

// DonePlaces counts the places where something was done today and nothing is left to do.
func (r *Round) DonePlaces() int {
	open := map[aviary.ID]bool{}
	for _, j := range r.Jobs {
		open[j.Place.ID] = true
	}
	n := 0
	for id := range r.Visited {
		if !open[id] {
			n++
		}
	}
	return n
}

// Round lists today's jobs in walking order, quarantine and hospital last, and what was done today. What cannot wait comes
// first, wherever it hangs.
func (d *Desk) Round() *Round {
	r := &Round{Lids: d.LidHours(), Visited: map[aviary.ID]bool{}}
	for _, p := range d.Room.Places() {
		for _, j := range d.Jobs(p) {
			if j.Attention < Coming {
				r.Jobs = append(r.Jobs, j)
			}
		}
		r.Later = append(r.Later, d.putOff(p)...)
		for _, m := range d.doneAt(p) {
			r.Done = append(r.Done, m)
			if !m.Skipped {
				r.Visited[p.ID] = true
			}
		}
	}
	slices.SortStableFunc(r.Jobs, urgentFirst)
	for _, m := range d.Room.Whole().Rounds {
		if m.Day == d.Today {
			r.Seen = append(r.Seen, m)
		}
	}
	return r
}

func urgentFirst(a, b *Job) int {
	switch {
	case a.Urgent == b.Urgent:
		return 0
	case a.Urgent:
		return -1
	}
	return 1
}

// Jobs lists what there is to do at a place, due or coming, most pressing first. What was put off until a
// later day and what was done today is left out.
func (d *Desk) Jobs(p *aviary.Place) []*Job {
	var out []*Job
	for _, j := range d.allJobs(p) {
		if !d.marked(p, j) {
			out = append(out, j)
		}
	}
	return out
}

func (d *Desk) putOff(p *aviary.Place) []*Job {
	var out []*Job
	for _, j := range d.allJobs(p) {
		if j.Attention < Coming && !j.Urgent && d.skippedUntil(p, j) > d.Today {
			out = append(out, j)
		}
	}
	return out
}

func (d *Desk) skippedUntil(p *aviary.Place, j *Job) aviary.Date {
	var until aviary.Date
	for _, m := range p.Jobs {
		if m.Skipped && m.Job == j.Key() {
			until = max(until, m.Until)
		}
	}
	return until
}

// marked reports whether a job is off the list: put off, or done today. What cannot wait is off only once it is settled.
func (d *Desk) marked(p *aviary.Place, j *Job) bool {
	if j.Urgent {
		return false
	}
	if d.skippedUntil(p, j) > d.Today {
		return true
	}
	for _, m := range p.Jobs {
		if !m.Skipped && m.Job == j.Key() && m.Day == d.Today {
			return true
		}
	}
	return false
}

func (d *Desk) allJobs(p *aviary.Place) []*Job {
	var out []*Job
	pair := d.Room.PairNow(p.ID)
	for _, n := range d.Nests(p) {
		out = append(out, d.nestJobs(p, n)...)
	}
	if j := d.conditionJobs(p); j != nil {
		out = append(out, j)
	} else if j := d.noNest(p, pair); j != nil {
		out = append(out, j)
	}
	if p.BlockedUntil != 0 && p.BlockedUntil <= d.Today && p.BlockedUntil > d.Today-14 && len(d.Room.In(p.ID)) > 0 {
		out = append(out, &Job{
			Kind: QuarantineJob, Place: p, Title: "Quarantine is over", Seen: "Closed until " + p.BlockedUntil.Short() + ".",
			Why: "Look the birds over; an avian vet can tell more. Then they may go to their cage.", From: p.BlockedUntil, Best: p.BlockedUntil, To: p.BlockedUntil + 7, Attention: Today,
		})
	}
	for _, e := range d.oddsAt(aviary.ID{}) { // of a bird, without a place
		if b := e.Body.(*aviary.OddSeen); illHen(b.What) {
			if x := d.Room.Bird(b.Bird); x != nil && x.Place() == p.ID {
				out = append(out, d.illJob(p, e, b))
			}
		}
	}
	for _, e := range d.oddsAt(p.ID) {
		if b, ok := e.Body.(*aviary.OddSeen); ok && illHen(b.What) {
			out = append(out, d.illJob(p, e, b))
		} else if ok {
			out = append(out, &Job{
				Kind: OddJob, Place: p, Entry: e.ID, Title: "See to it: " + b.What, Seen: oddText(e, b), Why: oddAdvice(b.What),
				From: e.Day, Best: e.Day, To: e.Day, Attention: Today,
			})
		}
	}
	for _, j := range out {
		j.Pair = pair
		if j.Species == nil {
			j.Species = d.speciesOf(pair)
		}
	}
	slices.SortStableFunc(out, func(a, b *Job) int {
		return cmp.Or(urgentFirst(a, b), cmp.Compare(a.Attention, b.Attention), cmp.Compare(a.Best, b.Best))
	})
	return out
}

func oddText(e *aviary.Entry, b *aviary.OddSeen) string {
	s := "Seen " + e.Day.Short()
	if e.By != "" {
		s += " by " + e.By
	}
	if b.Text != "" {
		s += ": " + b.Text
	}
	return s + "."
}

// oddAdvice is the usual care for each odd thing. It is care, not treatment: a sick bird is a vet's matter.
func oddAdvice(what string) string {
	switch what {
	case "dead":
		return "Take it out with a glove, note who it was; several deaths close together are a matter for an avian vet."
	case "poorly":
		return "Warmth, quiet and water close by; a fluffed, low or straining hen cannot wait. Call an avian vet."
	case "water out":
		return "Give water at once; small finches go few hours without."
	case "stranger in the cage":
		return "Read its ring and find where it is missing."
	}
	return "Look, mend what you can, and write down how it was settled."
}

var jobOf = map[nest.LookKind]JobKind{
	nest.LookFirstEgg: FirstEggJob, nest.LookCount: CountJob, nest.LookCandle: CandleJob, nest.LookChicks: ChicksJob,
	nest.LookRing: RingJob, nest.LookCountOut: CountOutJob, nest.LookWean: WeanJob,
}

var eventOf = map[nest.LookKind]nest.Kind{
	nest.LookFirstEgg: nest.FirstEgg, nest.LookCount: nest.ClutchComplete, nest.LookCandle: nest.Candle, nest.LookChicks: nest.Hatch,
	nest.LookRing: nest.Ring, nest.LookCountOut: nest.Fledge, nest.LookWean: nest.Wean,
}

// goesOver are the jobs that can be over their time: something may be lost by waiting, or an egg be dead. A
// count or a candling that was missed is only still wanted.
var goesOver = map[JobKind]bool{ChicksJob: true, RingJob: true, CountOutJob: true, WeanJob: true}

func (d *Desk) nestJobs(p *aviary.Place, n *Nest) []*Job {
	var out []*Job
	looked := d.lookedToday(n.Clutch)
	for _, l := range n.Course.Next {
		ev := n.Course.Event(eventOf[l.Kind])
		j := &Job{Kind: jobOf[l.Kind], Place: p, Nest: n, Species: n.Species, From: Day(l.From), Best: Day(l.Best), To: Day(l.To), Lid: l.Lid, Why: l.Why, Event: ev, Basis: ev.Basis}
		switch {
		case looked && j.Kind != RingJob && j.Kind != WeanJob && j.From <= d.Today:
			continue // the look that it asks for was taken today
		case ev.Overdue && j.From <= d.Today && goesOver[j.Kind]:
			j.Attention, j.LateDays = Over, int(d.Today-Day(ev.Likely))
		case j.From <= d.Today:
			j.Attention = Today
		default:
			j.Attention = Coming
		}
		if j.Kind == RingJob {
			young := n.Chicks - n.Ringed
			if young <= 0 {
				continue
			}
		}
		if j.Kind == CountOutJob && n.Out > 0 {
			continue
		}
		if (j.Kind == CountOutJob || j.Kind == WeanJob) && !n.Clutch.HadChicks() && n.Clutch.OutMost == 0 {
			continue // nobody has seen a chick yet
		}
		d.say(j)
		out = append(out, j)
	}
	if slices.ContainsFunc(out, func(j *Job) bool { return j.Kind == ChicksJob && j.Attention < Coming }) {
		out = slices.DeleteFunc(out, func(j *Job) bool { return j.Kind == CandleJob }) // chicks tell what a candling would
	}
	for i := range n.Asked {
		q := &n.Asked[i]
		out = append(out, &Job{
			Kind: QuestionJob, Place: p, Nest: n, Species: n.Species, Question: q, Title: questionTitle(q), Seen: q.Text, Why: "“Not known” is an answer too.",
			From: Day(q.Day), Best: Day(q.Day), To: Day(q.Day), Attention: NotSure,
		})
	}
	return out
}

func questionTitle(q *nest.Question) string {
	switch q.Kind {
	case nest.EggsFell:
		return fmt.Sprintf("What became of %d %s?", q.N, plural(q.N, "egg", "eggs"))
	case nest.ChicksFell:
		return fmt.Sprintf("What became of %d %s?", q.N, plural(q.N, "chick", "chicks"))
	case nest.EggsTooFast:
		return "More than one new egg a day"
	}
	return "An egg after sitting began"
}

func (d *Desk) lookedToday(c *aviary.Clutch) bool {
	for _, e := range slices.Backward(c.Entries()) {
		if e.Day < d.Today {
			return false
		}
		if b, ok := e.Body.(*aviary.NestCheck); ok && !OnlyAnswers(b) {
			return true
		}
	}
	return false
}

// say writes the job's sentences.
func (d *Desk) say(j *Job) {
	n := j.Nest
	j.Seen = n.Says()
	if j.Event.Known && !j.Event.Seen {
		j.Guess = Expects(j.Event)
	}
	switch j.Kind {
	case FirstEggJob:
		j.Title = "Look for the first egg"
	case CountJob:
		j.Title = "Count the eggs"
	case CandleJob:
		j.Title = fmt.Sprintf("Candle %s", count(max(n.Eggs.Total()-n.Eggs.Clear-n.Eggs.Bad, 1), "egg", "eggs"))
		j.Guess = ""
	case ChicksJob:
		j.Title = "Look for chicks"
		if j.Attention == Over {
			j.Title = "Hatch is over time"
		} else if n.Chicks > 0 {
			j.Title = "Count the chicks"
		}
	case RingJob:
		j.Title = fmt.Sprintf("Ring %s", count(n.Chicks-n.Ringed, "chick", "chicks"))
		j.Guess = fmt.Sprintf("Ring fits %s; after that it will not go over the foot.", days(Day(j.Event.From), Day(j.Event.To)))
	case CountOutJob:
		j.Title = "Count the young out of the box"
	case WeanJob:
		d.sayWean(j)
	}
}

// sayWean asks first whether the young feed themselves; parting them is asked for once they were seen to,
// or at the species' late age. Parting too early starves young; common practice, no single source.
func (d *Desk) sayWean(j *Job) {
	n := j.Nest
	young := "the young"
	if k := max(n.Out, n.Ringed); k > 0 {
		young = fmt.Sprintf("%d young", k)
	}
	part := n.Course.Event(nest.Part)
	fed := n.SeenFeeding()
	switch {
	case fed != 0:
		j.Title = "Wean " + young
		j.Why = "Seen feeding themselves on " + fed.Short() + ". Each one that is parted must be."
	case part.Known && d.Today >= Day(part.Likely):
		j.Title = "Wean " + young
		j.Why = "They are at the late age of the species. Part each one once it is seen feeding itself; one that begs stays."
	default:
		j.Title = "See whether " + young + " feed themselves"
		if part.Known {
			j.Guess = "Parted by " + Day(part.Likely).Short() + " at the late age of the species, once each is seen feeding itself."
		}
		j.Why = "Young that are parted before they crack seed starve beside a full dish."
	}
}

// noNestAfter and noNestEvery: a pair with a box and no egg is looked in on from a week after pairing, each
// third day. Common practice, no source.
const (
	noNestAfter = 7
	noNestEvery = 3
)

// noNest asks for a look where a pair has a box and no clutch.
func (d *Desk) noNest(p *aviary.Place, pair *aviary.Pair) *Job {
	if pair == nil || p.Type != aviary.Cage || len(p.BoxesHung()) == 0 {
		return nil
	}
	c := d.Condition(p)
	if c == nil || !c.asksForNest() {
		return nil
	}
	for _, n := range d.Nests(p) {
		if !n.Clutch.Emptied {
			return nil
		}
	}
	since := max(pair.From, c.Material)
	for _, b := range p.BoxesHung() {
		since = max(since, b.Hung)
	}
	for _, c := range p.Clutches {
		since = max(since, c.Ended)
		if c.Emptied && c.Ended == 0 {
			return nil // young are out; the next clutch is not asked for yet
		}
	}
	waited := int(d.Today - since)
	if waited < noNestAfter || d.Today-p.LastLook < noNestEvery {
		return nil
	}
	j := &Job{
		Kind: NoNestJob, Place: p, Title: fmt.Sprintf("No nest after %d days", waited), From: since + noNestAfter, Best: since + noNestAfter, To: d.Today, Attention: NotSure, Lid: true,
		Why: "One look tells whether they build; leave them be for three days after it.",
	}
	j.Seen = "No egg seen since " + since.Short() + "."
	if signs := d.signsSince(p, since); len(signs) > 0 {
		j.Seen += " Signs: " + strings.Join(signs, ", ") + "."
	}
	return j
}

func (d *Desk) signsSince(p *aviary.Place, since aviary.Date) []string {
	var out []string
	for _, s := range p.Signs {
		if s.Day >= since && !slices.Contains(out, s.What) {
			out = append(out, s.What)
		}
	}
	return out
}

// doneAt lists what was written at a place today.
func (d *Desk) doneAt(p *aviary.Place) []DoneMark {
	var out []DoneMark
	for _, e := range slices.Backward(d.Room.Since(aviary.APlace, p.ID, d.Today)) {
		if d.Room.AsideWhy(e.ID) != nil {
			continue
		}
		switch b := e.Body.(type) {
		case *aviary.NestCheck, *aviary.ChickRinged, *aviary.JobDone, *aviary.MaterialGiven, *aviary.BoxHung:
			out = append(out, DoneMark{Place: p, Entry: e, Text: Sentence(d.Room, e)})
		case *aviary.YoungWeaned:
			if b.Place == p.ID { // where they were put, nothing was done
				out = append(out, DoneMark{Place: p, Entry: e, Text: Sentence(d.Room, e)})
			}
		case *aviary.NestMoved:
			if b.Place == p.ID {
				out = append(out, DoneMark{Place: p, Entry: e, Text: Sentence(d.Room, e)})
			}
		case *aviary.JobSkipped:
			text := "put off"
			if b.Reason != "" {
				text += ": " + b.Reason
			}
			out = append(out, DoneMark{Place: p, Entry: e, Text: text, Skipped: true})
		}
	}
	return append(out, d.settledAt(p)...)
}

// settledWithin is how far back a matter may lie that is shown as settled today, in days.
const settledWithin = 90

// settledAt lists the matters of a place that were settled today.
func (d *Desk) settledAt(p *aviary.Place) []DoneMark {
	var out []DoneMark
	for _, e := range d.Room.Since(aviary.APlace, p.ID, d.Today-settledWithin) {
		b, ok := e.Body.(*aviary.OddSeen)
		if !ok {
			continue
		}
		if s := d.Room.SettledBy(e.ID); s != nil && s.Day == d.Today {
			text := b.What + " settled"
			if how, ok := s.Body.(*aviary.Settled); ok && how.How != "" {
				text += ": " + how.How
			}
			out = append(out, DoneMark{Place: p, Entry: s, Text: text})
		}
	}
	return out
}

// LidHours are the hours of today in which lids may be lifted: not in the first hour of the lamps, not in
// the last two. Common practice, no source: hens feed first, and must be back on the eggs before dark.
type LidHours struct {
	From, To int // minutes after midnight
	Known    bool
}

// The first hour and the last two hours of the lamps, in minutes.
const (
	lidsAfterOn   = 60
	lidsBeforeOff = 120
)

// LidHours works out today's hours from the lamps as they were really set: the hours that hold under every circuit, or
// those of the first where they have none in common.
func (d *Desk) LidHours() LidHours {
	var out LidHours
	for i, l := range d.Room.LampsOn(d.Today) {
		h := lidHours(l.On, l.Off)
		if i == 0 {
			out = h
		} else if both := (LidHours{From: max(out.From, h.From), To: min(out.To, h.To)}); h.Known && out.Known && both.From < both.To {
			both.Known = true
			out = both
		}
	}
	return out
}

// LidHoursAt works out the hours at a place, by the lamps that light it. Outdoors none are known; indoors, where no
// circuit is known to light the place, those of the whole room hold.
func (d *Desk) LidHoursAt(p *aviary.Place) LidHours {
	if p.Outdoor {
		return LidHours{}
	}
	if c := d.circuitOf(p); c != nil {
		if s, ok := c.Real(); ok {
			return lidHours(WallClock(s.On), WallClock(s.Off))
		}
	}
	return d.LidHours()
}

func lidHours(lampsOn, lampsOff aviary.Clock) LidHours {
	on, _ := lampsOn.Minutes()
	off, _ := lampsOff.Minutes()
	return LidHours{From: on + lidsAfterOn, To: off - lidsBeforeOff, Known: on+lidsAfterOn < off-lidsBeforeOff}
}

// Allows reports whether a lid may be lifted at a time of day; unknown hours or an unknown time allow it.
func (l LidHours) Allows(now aviary.Clock) bool {
	m, ok := now.Minutes()
	return !l.Known || !ok || (m >= l.From && m < l.To)
}

// String is the hours in words: "07:00–18:00".
func (l LidHours) String() string {
	if !l.Known {
		return ""
	}
	return aviary.Clock(l.From+1).String() + "–" + aviary.Clock(l.To+1).String()
}
