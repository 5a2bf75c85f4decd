package advice

import (
	"cmp"
	"fmt"
	"slices"

	"broodlight/internal/aviary"
)

// MatterKind names a sort of matter to be sorted out.
type MatterKind string

// The sorts of matter.
const (
	OddMatter      MatterKind = "odd"
	AsideMatter    MatterKind = "set aside"
	TwiceMatter    MatterKind = "counted twice"
	CountMatter    MatterKind = "count differs"
	OneOfMatter    MatterKind = "one of these"
	QuestionMatter MatterKind = "question"
	PairMatter     MatterKind = "pair"
	LineMatter     MatterKind = "parents"
	PlaceMatter    MatterKind = "no place"
	RingMatter     MatterKind = "ring not read"
)

// Matter is something to be sorted out.
type Matter struct {
	Kind   MatterKind
	Entry  *aviary.Entry // what raised it; settled by an entry that names it. Nil when it settles itself
	Day    aviary.Date
	Place  *aviary.Place
	Bird   *aviary.Bird
	Pair   *aviary.Pair
	Job    *Job // for a question about a nest
	Birds  []*aviary.Bird
	Title  string
	Text   string
	Urgent bool
}

// ToSort lists what is to be sorted out, urgent first, then newest first.
func (d *Desk) ToSort() []Matter {
	var out []Matter
	r := d.Room
	for _, e := range r.OpenOdds() {
		switch b := e.Body.(type) {
		case *aviary.OddSeen:
			m := Matter{Kind: OddMatter, Entry: e, Day: e.Day, Place: r.Place(b.Place), Bird: r.Bird(b.Bird), Title: capital(b.What), Text: oddText(e, b) + " " + oddAdvice(b.What)}
			m.Urgent = b.What == "poorly" || b.What == "water out"
			out = append(out, m)
		case *aviary.PlaceCounted:
			if b.Book != nil && *b.Book == b.Found {
				continue
			}
			m := Matter{Kind: CountMatter, Entry: e, Day: e.Day, Place: r.Place(b.Place), Title: fmt.Sprintf("%d found", b.Found), Birds: r.In(b.Place)}
			if b.Book != nil {
				m.Title = fmt.Sprintf("%d found, the book says %d", b.Found, *b.Book)
			}
			m.Text = "Read the rings of those that are there, and write what became of the others; or settle it as it is."
			out = append(out, m)
		case *aviary.OneDied:
			m := Matter{Kind: OneOfMatter, Entry: e, Day: e.Day, Title: "One of these died", Text: "Which one is not known yet. When it is, write its death, or settle it as not known."}
			for _, id := range b.Birds {
				if x := r.Bird(id); x != nil && x.Here() {
					m.Birds = append(m.Birds, x)
				}
			}
			out = append(out, m)
		}
	}
	for _, a := range r.Aside() {
		if r.SettledBy(a.Entry.ID) != nil {
			continue
		}
		out = append(out, Matter{Kind: AsideMatter, Entry: a.Entry, Day: a.Entry.Day, Title: "Set aside: " + Sentence(r, a.Entry), Text: capital(a.Clash.Message) + ". It is kept, and changes nothing until this is sorted out: strike it out, or correct what it clashes with."})
	}
	for _, p := range r.Places() {
		for _, t := range d.Twices(p) {
			out = append(out, Matter{Kind: TwiceMatter, Entry: t.Second, Day: t.Second.Day, Place: p, Title: "Two people counted differently", Text: t.Text})
		}
		for _, j := range d.Jobs(p) {
			if j.Kind == QuestionJob {
				out = append(out, Matter{Kind: QuestionMatter, Day: j.From, Place: p, Job: j, Title: j.Title, Text: j.Seen})
			}
		}
		if pair := r.PairNow(p.ID); pair != nil {
			for _, id := range pair.Birds() {
				if b := r.Bird(id); b != nil && b.Place() != p.ID {
					out = append(out, Matter{Kind: PairMatter, Day: d.Today, Place: p, Bird: b, Pair: pair, Title: "The pair is not whole", Text: fmt.Sprintf("%s is not in %s any more, but the pair has not been ended.", b.Label(), p.Name)})
				}
			}
		}
	}
	for _, b := range r.Birds() {
		if l := r.Parents(b.ID); l.Problem != "" {
			out = append(out, Matter{Kind: LineMatter, Day: b.Acquired, Bird: b, Title: "Parents cannot be right", Text: capital(l.Problem) + ". That link is left out until the parents are corrected."})
		}
		if !b.Here() {
			continue
		}
		if b.Place() == (aviary.ID{}) {
			out = append(out, Matter{Kind: PlaceMatter, Day: b.Acquired, Bird: b, Title: "Where is it?", Text: b.Label() + " is in the room by the books, but in no cage."})
		}
		if b.Found && len(b.Rings) == 0 && b.Sex != "" {
			out = append(out, Matter{Kind: RingMatter, Day: b.Acquired, Bird: b, Place: r.Place(b.Place()), Title: "Ring not read yet", Text: "Read it when the bird is next in the hand."})
		}
	}
	slices.SortStableFunc(out, func(a, b Matter) int {
		if a.Urgent != b.Urgent {
			if a.Urgent {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.Day, a.Day)
	})
	return out
}
