package web

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

func (s *server) wallRoutes(r *routes) {
	r.get("/wall", s.wallShow)
}

// wallPage is the room as it hangs.
type wallPage struct {
	layout
	Chips   []chip
	Banks   []bankView
	Flights []flightView
	Apart   []template.HTML
	Key     []keyView
	Moving  bool // the page is there to carry birds and pairs from cage to cage
	Loads   []option
	Places  []placeChoice
}

// chip is a filter with its count.
type chip struct {
	Word  string // shown
	Is    string // the word that tiles carry; "" for all
	Href  string
	Mark  template.HTML
	Count int
	On    bool
}

// bankView is one bank of cages.
type bankView struct {
	ID       string
	Name     string
	Cols     int
	Todo     int
	Lettered bool // the rows have a letter in common, shown at their left
	Rows     []bankRow
	Mini     template.HTML
	Loose    []template.HTML // cages without a hook
	Open     bool
}

// bankRow is one row of hooks; an empty tile is a gap.
type bankRow struct {
	Letter string
	Tiles  []template.HTML
}

// flightView is a flight or aviary.
type flightView struct {
	Href, Name, Count, Note string
	Outdoor, Full           bool
	Perch                   template.HTML
	Drop                    string
}

type keyView struct {
	Glyph template.HTML
	Word  string
}

// kindOf maps attention to the mark that shows it.
func kindOf(a advice.Attention) look.Kind {
	switch a {
	case advice.Over:
		return look.Late
	case advice.Today:
		return look.Today
	case advice.NotSure:
		return look.Unsure
	case advice.Coming:
		return look.Soon
	}
	return look.Rest
}

// attentionWord is the word that a tile carries for the chips.
var attentionWord = map[advice.Attention]string{advice.Over: "over", advice.Today: "today", advice.NotSure: "notsure", advice.Coming: "coming", advice.Resting: "quiet"}

// stateWord is the word that a tile carries for what its box shows.
var stateWord = map[advice.State]string{
	advice.HasEggs: "eggs", advice.HasChicks: "chicks", advice.Fledged: "fledged", advice.Builds: "building", advice.NoNest: "emptybox", advice.AtRest: "resting", advice.Unoccupied: "unoccupied",
}

func (s *server) wallShow(v *visit) error {
	p := &wallPage{Moving: v.keeper() && v.r.URL.Query().Get("move") != ""}
	only := v.r.URL.Query().Get("only")
	v.desk(func(d *advice.Desk) {
		w := d.Wall()
		p.Headline, p.Sub = wallHeadline(w), wallSub(d)
		p.Chips = wallChips(w, only)
		if p.Moving {
			p.Headline, p.Sub = "Carry a pair or a bird", "Drag it by its handle to another cage; or pick it up with Enter, go with the arrows, put it down with Enter; or choose in the two lists."
			p.Places = choices(d, func(*aviary.Place) bool { return true })
			for _, c := range append(w.Cages(), w.Apart...) {
				for _, l := range loads(c) {
					p.Loads = append(p.Loads, option{Value: l.Value, Label: c.Place.Name + ", " + l.Name})
				}
			}
		}
		for i, b := range w.Banks {
			p.Banks = append(p.Banks, v.bank(b, i, only, p.Moving))
		}
		young, by := d.WeanWithin(28)
		for _, h := range w.Flights {
			p.Flights = append(p.Flights, flight(h, young, by, len(w.Flights) > 0 && h == firstIndoor(w.Flights)))
		}
		for _, c := range w.Apart {
			p.Apart = append(p.Apart, look.Cage(v.tile(c, only, p.Moving)))
		}
	})
	for i := range p.Banks {
		if p.Banks[i].Todo > 0 {
			p.Banks[i].Open = true
			break
		}
	}
	if len(p.Banks) > 0 && !slices.ContainsFunc(p.Banks, func(b bankView) bool { return b.Open }) {
		p.Banks[0].Open = true
	}
	p.Key = wallKey()
	p.Title, p.Tab, p.Class = "Wall", "wall", "page wide"
	return v.render("wall_show", p)
}

func firstIndoor(hs []*advice.Holding) *advice.Holding {
	for _, h := range hs {
		if !h.Place.Outdoor {
			return h
		}
	}
	return nil
}

func wallHeadline(w *advice.Wall) string {
	cages := len(w.Cages())
	wants := w.Count[advice.Over] + w.Count[advice.Today] + w.Count[advice.NotSure]
	var s string
	switch {
	case cages == 0:
		return "No cage hangs here yet."
	case wants == 0:
		s = fmt.Sprintf("None of %d cages wants you today.", cages)
	default:
		s = fmt.Sprintf("%d of %d cages want you today.", wants, cages)
		if wants == 1 {
			s = fmt.Sprintf("One of %d cages wants you today.", cages)
		}
	}
	switch n := w.Count[advice.Over]; n {
	case 0:
	case 1:
		s += " One is over its time."
	default:
		s += fmt.Sprintf(" %d are over their time.", n)
	}
	return s
}

func wallSub(d *advice.Desk) string {
	name := d.Room.Settings(d.Today).Name
	if name == "" {
		name = "The room"
	}
	s := name + ", as you stand facing the cages."
	if lids := d.LidHours(); lids.Known {
		s += " Lids may be lifted " + lids.String() + "."
	}
	return s
}

func wallChips(w *advice.Wall, only string) []chip {
	list := []chip{{Word: "All", Count: len(w.Cages())}}
	add := func(word, is string, n int, mark look.Kind) {
		if n > 0 || is == only {
			c := chip{Word: word, Is: is, Count: n}
			if mark != "" {
				c.Mark = look.Mark(mark, 16)
			}
			list = append(list, c)
		}
	}
	add("Over", "over", w.Count[advice.Over], look.Late)
	add("Today", "today", w.Count[advice.Today], look.Today)
	add("Not sure", "notsure", w.Count[advice.NotSure], look.Unsure)
	for _, st := range []struct {
		word  string
		state advice.State
	}{{"Eggs", advice.HasEggs}, {"Chicks", advice.HasChicks}, {"Fledged", advice.Fledged}, {"Building", advice.Builds}, {"Empty box", advice.NoNest}, {"Resting", advice.AtRest}, {"No birds", advice.Unoccupied}} {
		add(st.word, stateWord[st.state], w.States[st.state], "")
	}
	for _, s := range w.Species {
		add(s.Species.Short, "sp-"+s.Species.Slug, s.Cages, "")
	}
	for i := range list {
		list[i].Href = "/wall"
		if list[i].Is != "" {
			list[i].Href += "?only=" + list[i].Is
		}
		list[i].On = list[i].Is == only
	}
	return list
}

func (v *visit) bank(b *advice.Bank, i int, only string, moving bool) bankView {
	out := bankView{ID: fmt.Sprintf("bank-%d", i+1), Name: b.Name, Cols: max(b.Cols, 1)}
	if out.Name == "" {
		out.Name = "Cages"
	}
	for _, c := range b.Cages {
		if c.Attention < advice.Coming {
			out.Todo++
		}
		if c.Place.Row == 0 || c.Place.Col == 0 {
			out.Loose = append(out.Loose, look.Cage(v.tile(c, only, moving)))
		}
	}
	var mini [][]look.Mini
	for row := 1; row <= b.Rows; row++ {
		r := bankRow{}
		var m []look.Mini
		for col := 1; col <= b.Cols; col++ {
			c := b.At(row, col)
			if c == nil {
				r.Tiles = append(r.Tiles, "")
				m = append(m, look.MiniGap)
				continue
			}
			if l := leading(c.Place.Name); r.Letter == "" && len(r.Tiles) == 0 {
				r.Letter = l
			} else if r.Letter != l {
				r.Letter = ""
			}
			r.Tiles = append(r.Tiles, look.Cage(v.tile(c, only, moving)))
			m = append(m, miniOf(c.Attention))
		}
		out.Lettered = out.Lettered || (r.Letter != "" && i == 0) // the banks beside it share its rows
		out.Rows = append(out.Rows, r)
		mini = append(mini, m)
	}
	out.Mini = look.MiniWall([][][]look.Mini{mini}, "")
	return out
}

// leading is the letters that a cage's name begins with.
func leading(name string) string {
	return strings.TrimRight(name, "0123456789 -./")
}

func miniOf(a advice.Attention) look.Mini {
	switch a {
	case advice.Over:
		return look.MiniLate
	case advice.Today:
		return look.MiniToday
	case advice.NotSure:
		return look.MiniUnsure
	}
	return look.MiniNone
}

// tile is how a place stands on the wall.
func (v *visit) tile(c *advice.Cage, only string, moving bool) look.CageView {
	t := look.CageView{Href: "/cage/" + c.Place.ID.String(), Plate: c.Place.Name, State: kindOf(c.Attention), Box: cageBox(c), Day: c.Day, What: c.What, When: c.When, Label: c.Sentence}
	if c.Job != nil && c.Job.Urgent {
		t.State = look.Late
	}
	if c.Cock != nil {
		t.Cock = tileRing(c.Cock)
	}
	if c.Hen != nil {
		t.Hen = tileRing(c.Hen)
	}
	if c.Species != nil {
		t.Species = c.Species.Short
	}
	if c.What == "" {
		t.What = string(c.State)
		if c.State != advice.AtRest && c.State != advice.Unoccupied {
			t.State = look.Soon // something lies there of which nothing is known beforehand
		}
	}
	is := []string{attentionWord[c.Attention], stateWord[c.State]}
	if c.Species != nil {
		is = append(is, "sp-"+c.Species.Slug)
	}
	t.Is = strings.Join(is, " ")
	t.Dim = only != "" && !slices.Contains(is, only)
	if moving {
		t.Drop, t.Carry = c.Place.ID.String(), loads(c)
	}
	return t
}

// loads are who can be carried out of a cage: its pair as one, else each bird of it that has a name or ring.
func loads(c *advice.Cage) []look.Load {
	if c.Pair != nil {
		return []look.Load{{Value: "pair:" + c.Pair.ID.String(), Name: "pair"}}
	}
	var out []look.Load
	for _, b := range c.Birds {
		out = append(out, look.Load{Value: "bird:" + b.ID.String(), Name: tileRing(b)})
	}
	return out
}

// tileRing is a ring as a tile has room for: year and number, without the issuer.
func tileRing(b *aviary.Bird) string {
	r := b.Ring()
	if !r.Read() {
		if b.Name != "" {
			return b.Name
		}
		return "no ring"
	}
	r.Issuer = ""
	return r.String()
}

// cageBox draws what hangs at a cage.
func cageBox(c *advice.Cage) look.BoxView {
	if c.Main != nil {
		box := nestBox(c.Main)
		box.Out = c.Out
		return box
	}
	box := look.BoxView{Stage: look.Resting}
	switch c.State {
	case advice.Builds:
		box.Stage = look.Building
	case advice.NoNest:
		box.Stage = look.Empty
		box.MaterialIn = len(c.Place.Material) > 0 && c.Pair != nil && c.Place.Material[len(c.Place.Material)-1] >= c.Pair.From
	}
	return box
}

func flight(h *advice.Holding, young int, by aviary.Date, expects bool) flightView {
	f := flightView{Href: "/cage/" + h.Place.ID.String(), Name: h.Place.Name, Outdoor: h.Place.Outdoor, Drop: h.Place.ID.String()}
	f.Count = fmt.Sprintf("%d birds", h.Taken)
	if h.Capacity > 0 {
		f.Count = fmt.Sprintf("%d of %d", h.Taken, h.Capacity)
		f.Full = h.Taken >= h.Capacity
	}
	expected := 0
	if expects && young > 0 {
		expected = young
		f.Note = fmt.Sprintf("About %d young may come on their own by %s.", young, by.Short())
	}
	if h.Species != nil {
		kinds := h.Species.English
		if h.Mixed {
			kinds = "Mostly " + kinds
		}
		f.Note = strings.TrimSpace(kinds + ". " + f.Note)
	}
	f.Perch = look.Perch(h.Taken, expected, h.Capacity, fmt.Sprintf("%s: %s, %d expected", h.Place.Name, f.Count, expected))
	return f
}

func wallKey() []keyView {
	box := func(v look.BoxView, word string) keyView { return keyView{look.Box(v, 26, ""), word} }
	mark := func(k look.Kind, word string) keyView { return keyView{look.Mark(k, 16), word} }
	return []keyView{
		box(look.BoxView{Stage: look.Resting}, "resting"), box(look.BoxView{Stage: look.Empty}, "empty box"), box(look.BoxView{Stage: look.Building}, "building"),
		box(look.BoxView{Eggs: []look.Egg{{State: look.Full}, {}, {State: look.Clear}}}, "egg full, not candled, clear"),
		box(look.BoxView{Chicks: 2}, "chicks"), box(look.BoxView{Chicks: 2, Ringed: 2}, "ringed"), box(look.BoxView{Out: 3}, "fledged"),
		mark(look.Late, "over"), mark(look.Today, "today"), mark(look.Unsure, "not sure, look"), mark(look.Soon, "coming"),
	}
}
