package look

import (
	"html/template"
	"math"
)

// When is a day that was seen, or a guess with its width. Days are whole numbers on a count that the
// page chooses, the same for everything in one picture.
type When struct {
	Known  bool // false leaves the event out
	Seen   bool // seen: Likely is the day; early and late are not used
	Early  int
	Likely int
	Late   int
	Label  string // "hatch 12–14 Jan"
}

// SeenOn is an event that was seen on a day.
func SeenOn(day int, label string) When {
	return When{Known: true, Seen: true, Likely: day, Label: label}
}

// Guessed is an event that is expected, or that happened unseen, with its range of 8 in 10.
func Guessed(early, likely, late int, label string) When {
	return When{Known: true, Early: early, Likely: likely, Late: late, Label: label}
}

// LaidEgg is one egg on its laying day.
type LaidEgg struct {
	Day   int
	State EggState
	Guess bool // not seen: expected, or the day is worked out
}

// Clutch is one clutch as the season picture draws it.
type Clutch struct {
	Eggs   []LaidEgg
	Hatch  When
	Ring   [2]int // first and last day on which a ring goes over; equal zeros leave it out
	Fledge When
	Wean   When
	Ended  When   // the clutch came to nothing on this day
	Over   string // words beside a pennant when the clutch is past its time
	Note   string // words at the end: "4 weaned", "3–4 weaned"
	Guess  bool   // the note is a guess
}

// Tick is a mark on the day axis.
type Tick struct {
	Day   int
	Label string
}

// scale turns days into pixels.
type scale struct {
	from, to int
	left, px float64 // x of the first day, pixels a day
}

func (s scale) x(day float64) float64 { return s.left + (day-float64(s.from))*s.px }

// mid is the middle of a day.
func (s scale) mid(day int) float64 { return s.x(float64(day) + 0.5) }

func (s scale) inside(a, b int) bool { return b >= s.from && a <= s.to }

// hatchStep is the distance between the slanted lines of a guess.
const hatchStep = 6.0

// clutchSize holds the measures of one lane.
type clutchSize struct {
	bar    float64 // thickness of the bar of chicks in the box
	raised float64 // thickness of the bar of young out of the box
	lift   float64 // how far the raised bar stands above the middle
	egg    float64 // half height of an egg
	hatch  float64 // half width of the hatch triangle
	names  bool    // the labels of the events are written by the caller
	close  bool    // lanes stand so close that what young came to stands at their end
}

var (
	laneSize = clutchSize{bar: 13, raised: 5, lift: 10.5, egg: 3.9, hatch: 4.5}
	bigSize  = clutchSize{bar: 24, raised: 9, lift: 20, egg: 8, hatch: 8, names: true}
)

// bar draws a bar from one day to another: solid up to today when seen, hatched after it.
func (p *pen) bar(s scale, y, thick float64, from, to, today float64, seen bool) {
	from, to = math.Max(from, float64(s.from)), math.Min(to, float64(s.to)+1)
	if to <= from {
		return
	}
	cut := from
	if seen {
		cut = math.Min(math.Max(today, from), to)
	}
	if cut > from {
		p.w(`<rect x="`, s.x(from), `" y="`, y-thick/2, `" width="`, (cut-from)*s.px, `" height="`, thick, `" fill="var(--ink)"/>`)
	}
	if to > cut {
		x, w := s.x(cut), (to-cut)*s.px
		p.w(`<rect x="`, x, `" y="`, y-thick/2, `" width="`, w, `" height="`, thick, `" fill="var(--surface)"/>`,
			`<path d="`, hatch(x, y-thick/2, w, thick, hatchStep), `" stroke="var(--dusk-mid)" stroke-width="1.6"/>`,
			`<rect x="`, x, `" y="`, y-thick/2, `" width="`, w, `" height="`, thick, `" fill="none" stroke="var(--dusk)" stroke-width="1.2"/>`)
	}
}

// clutch draws one clutch around the line y. Today is the day that divides seen from guessed.
func (p *pen) clutch(c Clutch, s scale, y float64, today int, z clutchSize) {
	edge := float64(today) + 0.5 // the line of today stands in the middle of its day
	lastEgg, haveEggs := 0, len(c.Eggs) > 0
	for i, e := range c.Eggs {
		if i == 0 || e.Day > lastEgg {
			lastEgg = e.Day
		}
	}
	// the sitting line runs from the last egg to hatching, or to the end
	if haveEggs {
		end, seen := 0, false
		switch {
		case c.Hatch.Known:
			end, seen = c.Hatch.Likely, c.Hatch.Seen
		case c.Ended.Known:
			end, seen = c.Ended.Likely, c.Ended.Seen
		case c.Over != "":
			end, seen = today, true
		}
		from := math.Max(s.mid(lastEgg)+z.egg*0.62+2.4, s.x(float64(s.from)))
		if to := math.Min(s.mid(end), s.x(float64(s.to)+1)); end > lastEgg && to > from {
			cut := from
			switch {
			case seen:
				cut = to
			case !c.Eggs[len(c.Eggs)-1].Guess:
				cut = math.Min(math.Max(s.x(edge), from), to)
			}
			if cut > from {
				p.w(`<path d="M`, from, ` `, y, `H`, cut, `" stroke="var(--ink)" stroke-width="1.5"/>`)
			}
			if to > cut {
				p.w(`<path d="M`, cut, ` `, y, `H`, to, `" stroke="var(--dusk)" stroke-width="1.5" stroke-dasharray="3 3"/>`)
			}
		}
	}
	// bars first, so that the triangle lies over the start of the bar
	if c.Hatch.Known {
		from := float64(c.Hatch.Likely) + 1
		to := from
		if c.Fledge.Known {
			to = float64(c.Fledge.Likely) + 0.5
		} else if c.Hatch.Seen && c.Ended.Known {
			to = float64(c.Ended.Likely) + 0.5
		}
		until := edge
		if c.Fledge.Seen || c.Ended.Seen {
			until = to
		}
		p.bar(s, y, z.bar, from, to, until, c.Hatch.Seen)
	}
	if c.Fledge.Known && c.Wean.Known {
		from, to := float64(c.Fledge.Likely)+0.5, float64(c.Wean.Likely)+0.5
		until := edge
		if c.Wean.Seen {
			until = to
		}
		colour := "var(--dusk)"
		if c.Fledge.Seen {
			colour = "var(--ink)"
		}
		if s.inside(c.Fledge.Likely, c.Fledge.Likely) {
			p.w(`<path d="M`, s.x(from), ` `, y-z.bar/2, `V`, y-z.lift-z.raised/2, `" stroke="`, colour, `" stroke-width="1.6"/>`)
		}
		p.bar(s, y-z.lift, z.raised, from, to, until, c.Fledge.Seen)
		colour = "var(--dusk)"
		if c.Wean.Seen {
			colour = "var(--ink)"
		}
		if s.inside(c.Wean.Likely, c.Wean.Likely) {
			p.w(`<path d="M`, s.x(to), ` `, y-z.lift-z.raised, `v`, z.raised*2, `" stroke="`, colour, `" stroke-width="2.2"/>`)
		}
	}
	p.laid(c.Eggs, s, y, z)
	if h := c.Hatch; h.Known && s.inside(h.Likely, h.Likely) {
		colour := "var(--beak)"
		if !h.Seen {
			colour = "var(--dusk)"
			p.span(s, y, z.bar+4, h)
		}
		x := s.mid(h.Likely)
		p.w(`<path d="M`, x-z.hatch, ` `, y-z.hatch*1.2, `L`, x, ` `, y+z.hatch*1.1, ` `, x+z.hatch, ` `, y-z.hatch*1.2, `z" fill="`, colour, `"/>`)
	}
	if c.Ring != [2]int{} && s.inside(c.Ring[0], c.Ring[1]) {
		colour := "var(--ink)"
		if !c.Hatch.Seen {
			colour = "var(--dusk)"
		}
		x1, x2 := s.x(float64(max(c.Ring[0], s.from))), s.x(float64(min(c.Ring[1], s.to))+1)
		drop := z.bar * 0.32
		p.w(`<path d="M`, x1, ` `, y+z.bar/2+1.6, `v`, drop, `H`, x2, `v`, -drop, `" fill="none" stroke="`, colour, `" stroke-width="1.6"/>`)
	}
	p.clutchEnd(c, s, y, today, z)
}

// laid draws the eggs on their laying days. Eggs closer than their width stand as close as they can.
func (p *pen) laid(eggs []LaidEgg, s scale, y float64, z clutchSize) {
	rx := math.Min(z.egg*0.64, math.Max(s.px*0.42, z.egg*0.42))
	for _, e := range eggs {
		if !s.inside(e.Day, e.Day) {
			continue
		}
		x := s.mid(e.Day)
		switch {
		case e.Guess:
			p.w(`<ellipse cx="`, x, `" cy="`, y, `" rx="`, rx, `" ry="`, z.egg, `" fill="var(--surface)" stroke="var(--dusk)" stroke-width="1.2" stroke-dasharray="2 1.2"/>`)
		default:
			drawEgg(p, Egg{State: e.State}.known(), x, y, rx, z.egg, "var(--surface)")
		}
	}
}

// span draws the pale block that holds a guess, from its early to its late day.
func (p *pen) span(s scale, y, height float64, w When) {
	a, b := max(w.Early, s.from), min(w.Late, s.to)
	if w.Seen || b < a {
		return
	}
	p.w(`<rect x="`, s.x(float64(a)), `" y="`, y-height/2, `" width="`, float64(b-a+1)*s.px, `" height="`, height, `" fill="var(--dusk-soft)" opacity=".85"/>`)
}

// clutchEnd writes what stands at the end of a lane: a note, a pennant, a cross.
func (p *pen) clutchEnd(c Clutch, s scale, y float64, today int, z clutchSize) {
	if c.Ended.Known && s.inside(c.Ended.Likely, c.Ended.Likely) {
		p.w(`<path d="`, crossAt(s.mid(c.Ended.Likely)+5, y, 3.4), `" stroke="var(--beak)" stroke-width="2" stroke-linecap="round"/>`)
		if !z.names && c.Note != "" {
			p.text(s.mid(c.Ended.Likely)+13, y+4, "", "l", c.Note)
		}
		return
	}
	if c.Over != "" && s.inside(today, today) {
		x := s.x(float64(today)+0.5) - 9
		p.w(`<path d="M`, x, ` `, y-7, `v14" stroke="var(--beak)" stroke-width="2"/><path d="M`, x+1, ` `, y-7, `l8 3.4-8 3.4z" fill="var(--beak)"/>`)
		if !z.names {
			p.text(s.x(float64(today)+0.5)+8, y+4, "", "b s", c.Over)
		}
	}
	if c.Note == "" || z.names || z.close || !c.Wean.Known || !s.inside(c.Wean.Likely, c.Wean.Likely) {
		return
	}
	class, x := "s", s.x(float64(c.Wean.Likely)+0.5)
	if c.Guess {
		class = "g"
	}
	if c.Wean.Seen {
		p.text(x+1, y-z.lift-4.5, "end", "s", c.Note)
		return
	}
	p.text(x+6, y-z.lift+6, "", class, c.Note)
}

// Point is a value on a day.
type Point struct {
	Day   int
	Value float64
}

// TimelineMark is a mark on the rail of a clutch's timeline.
type TimelineMark struct {
	Day   int
	Kind  Kind
	Label string
}

// TimelineView is one clutch, drawn large on the page of its cage.
type TimelineView struct {
	From, To, Today int // days, both ends included
	TodayLabel      string
	Ticks           []Tick // such as each seventh day with its date
	Clutch          Clutch
	EggsLabel       string         // "5 eggs, 25–29 Dec"
	RingLabel       string         // "ring 19–22 Jan"
	Marks           []TimelineMark // looks made and due
	Label           string         // the picture in words
}

// Timeline draws one clutch from the first egg to weaning: what was seen in ink, what is guessed
// hatched, a pale block from the early to the late day of each guess, and the words of each event.
func Timeline(v TimelineView) template.HTML {
	if v.To < v.From {
		return ""
	}
	days := float64(v.To - v.From + 1)
	s := scale{from: v.From, to: v.To, left: 12, px: math.Max(11, 640/days)}
	width := s.x(float64(v.To)+1) + 60
	const axis, rail, mid, words = 18.0, 40.0, 104.0, 152.0

	type word struct {
		x           float64
		class, text string
	}
	var under []word
	add := func(day float64, class, text string) {
		if text != "" {
			under = append(under, word{s.x(day), class, text})
		}
	}
	class := func(seen bool) string {
		if seen {
			return "s"
		}
		return "g"
	}
	c := v.Clutch
	if len(c.Eggs) > 0 {
		add(float64(c.Eggs[0].Day), class(!c.Eggs[0].Guess), v.EggsLabel)
	}
	for _, w := range []When{c.Hatch, c.Fledge, c.Wean, c.Ended} {
		if w.Known {
			add(float64(w.Likely), class(w.Seen), w.Label)
		}
	}
	if c.Ring != [2]int{} {
		add(float64(c.Ring[0]), class(c.Hatch.Seen), v.RingLabel)
	}
	if c.Over != "" {
		add(float64(v.Today), "b s", c.Over)
	}
	// each word goes on the first row where it meets no other
	var rowEnd []float64
	rowOf := make([]int, len(under))
	for i := range under {
		w := textWidth(under[i].text)
		under[i].x = math.Max(math.Min(under[i].x, width-w-2), 0)
		row := 0
		for row < len(rowEnd) && rowEnd[row] > under[i].x {
			row++
		}
		if row == len(rowEnd) {
			rowEnd = append(rowEnd, 0)
		}
		rowEnd[row] = under[i].x + w + 12
		rowOf[i] = row
	}
	height := words + float64(len(rowEnd))*17 + 26

	var p pen
	p.picture("timeline", width, height, "img", v.Label)
	for _, t := range v.Ticks {
		if !s.inside(t.Day, t.Day) {
			continue
		}
		x := s.mid(t.Day)
		p.w(`<path d="M`, x, ` `, axis+6, `V`, mid+30, `" stroke="var(--line)"/>`)
		p.text(x, axis, "middle", "l", t.Label)
	}
	for _, w := range []When{c.Fledge, c.Wean} {
		if w.Known {
			p.span(s, mid-8, 52, w)
		}
	}
	if s.inside(v.Today, v.Today) {
		p.w(`<path d="M`, s.mid(v.Today), ` `, axis+6, `V`, height-22, `" stroke="var(--ink)" stroke-width="2"/>`)
	}
	p.clutch(c, s, mid, v.Today, bigSize)
	for _, m := range v.Marks {
		path, ok := markPaths[m.Kind]
		if !ok || !s.inside(m.Day, m.Day) {
			continue
		}
		colour := "var(--ink)"
		switch m.Kind {
		case Late, Today, No:
			colour = "var(--beak)"
		case Unsure:
			colour = "var(--dusk)"
		case Done:
			colour = "var(--leaf)"
		}
		p.w(`<svg x="`, s.mid(m.Day)-8, `" y="`, rail-10, `" width="16" height="16" viewBox="0 0 16 16" color="`, colour, `"><title>`, esc(m.Label), `</title>`, path, `</svg>`)
	}
	for i, w := range under {
		y := words + float64(rowOf[i])*17
		p.w(`<rect x="`, w.x-2, `" y="`, y-12, `" width="`, textWidth(w.text)+4, `" height="16" fill="var(--surface)"/>`)
		p.text(w.x, y, "", w.class, w.text)
	}
	if s.inside(v.Today, v.Today) {
		p.todayPlate(s.mid(v.Today), height-24, v.TodayLabel, width)
	}
	p.w(`</svg>`)
	return p.html()
}
