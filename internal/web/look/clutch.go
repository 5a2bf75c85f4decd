package look

import (
	"html/template"
	"math"
	"strconv"
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
		from := s.mid(lastEgg) + z.egg*0.62 + 2.4
		if to := s.mid(end); end > lastEgg && to > from {
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
		x1, x2 := s.x(float64(c.Ring[0])), s.x(float64(c.Ring[1])+1)
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
	if c.Over != "" {
		x := s.x(float64(today)+0.5) - 9
		p.w(`<path d="M`, x, ` `, y-7, `v14" stroke="var(--beak)" stroke-width="2"/><path d="M`, x+1, ` `, y-7, `l8 3.4-8 3.4z" fill="var(--beak)"/>`)
		if !z.names {
			p.text(s.x(float64(today)+0.5)+8, y+4, "", "b s", c.Over)
		}
	}
	if c.Note == "" || z.names {
		return
	}
	switch {
	case c.Wean.Known && c.Wean.Seen:
		p.text(s.x(float64(c.Wean.Likely)+0.5)+1, y-z.lift-4.5, "end", "s", c.Note)
	case c.Wean.Known && c.Wean.Likely <= s.to:
		class := "s"
		if c.Guess {
			class = "g"
		}
		p.text(s.x(float64(c.Wean.Likely)+0.5)+6, y-z.lift+6, "", class, c.Note)
	}
}

// Point is a value on a day.
type Point struct {
	Day   int
	Value float64
}

// Lane is one pair in the season picture.
type Lane struct {
	Plate    string // "B3"
	Name     string // "Zebra", "Ash × Merle"
	Href     string // the page of the pair or cage; empty links nowhere
	Clutches []Clutch
}

// Stretch is a labelled run of days, such as a feed.
type Stretch struct {
	From, To int // both included
	Label    string
	Kind     string // "rest", "build", "breed" or "ease"; shades the bar
}

// Holding is how many young need a place, against the places there are.
type Holding struct {
	Title, Sub string  // "Weaned young on hand", "against holding space"
	Seen       []Point // counted, up to today
	Middle     []Point // guessed, likeliest
	Low, High  []Point // range of 8 in 10, day for day as Middle
	Places     []Point // a step: places from this day on
	PlaceWords []string
	Full       When // when space runs out; its label says so
	FullSub    string
}

// LanesView is the picture of a season.
type LanesView struct {
	From, To, Today int // days, both ends included
	TodayLabel      string
	Months          []Tick  // the first day of each month
	Light           []Point // hours of lamp light from this day on; empty leaves the band out
	Daylight        []Point // hours between sunrise and sunset outside
	LightWords      string
	Feed            []Stretch
	LanesTitle      string // "Pairs, 10 of 44"
	Lanes           []Lane
	Holding         *Holding
	Label           string // the picture in words; the figures also stand in a table
}

// Measures of the season picture, in pixels.
const (
	laneHeight   = 36.0
	lightHeight  = 112.0
	feedHeight   = 42.0
	headHeight   = 24.0
	titleHeight  = 30.0
	holdHeight   = 190.0
	namesWidth   = 138.0
	leastDayStep = 5.3
)

// Lanes draws the season: light, feed, one lane for each pair, and young against space, all on one
// axis of days. The names stand still while the picture scrolls in its sheet.
func Lanes(v LanesView) template.HTML {
	if v.To < v.From {
		return ""
	}
	days := float64(v.To - v.From + 1)
	s := scale{from: v.From, to: v.To, left: 1, px: math.Max(leastDayStep, 1124/days)}
	width := s.x(float64(v.To)+1) + 70 // room for the words after the last bar
	y := headHeight
	lightTop, feedTop := y, 0.0
	if len(v.Light) > 0 || len(v.Daylight) > 0 {
		y += lightHeight
	}
	if len(v.Feed) > 0 {
		feedTop = y
		y += feedHeight
	}
	lanesTop := y
	if len(v.Lanes) > 0 {
		y += titleHeight + laneHeight*float64(len(v.Lanes))
	}
	holdTop := y
	if v.Holding != nil {
		y += holdHeight
	}
	bottom := y
	height := bottom + 30

	var p pen
	p.w(`<div class="lanes"><svg class="names" width="`, namesWidth, `" height="`, height, `" viewBox="0 0 `, namesWidth, ` `, height, `" preserveAspectRatio="xMinYMin slice" aria-hidden="true">`)
	if lightTop != feedTop && (len(v.Light) > 0 || len(v.Daylight) > 0) {
		p.text(0, lightTop+26, "", "s", "Light")
		for _, h := range []int{8, 12, 16} {
			p.text(namesWidth-8, lightY(lightTop, float64(h))+4, "end", "l deskonly", strconv.Itoa(h)+" h")
		}
	}
	if len(v.Feed) > 0 {
		p.text(0, feedTop+27, "", "s", "Feed")
	}
	if len(v.Lanes) > 0 {
		p.text(0, lanesTop+24, "", "s deskonly", v.LanesTitle)
	}
	for i, l := range v.Lanes {
		ly := laneY(lanesTop, i)
		if l.Href != "" {
			p.w(`<a href="`, esc(l.Href), `" tabindex="-1">`)
		}
		p.text(0, ly+5, "", "big", l.Plate)
		p.text(38, ly+5, "", "l deskonly", clip(l.Name, 15))
		if l.Href != "" {
			p.w(`</a>`)
		}
		p.w(`<path d="M0 `, ly+laneHeight/2, `H`, namesWidth, `" stroke="var(--line)"/>`)
	}
	if v.Holding != nil {
		p.text(0, holdTop+46, "", "s deskonly", clip(v.Holding.Title, 20))
		p.text(0, holdTop+62, "", "l deskonly", clip(v.Holding.Sub, 22))
		p.text(0, holdTop+46, "", "s phoneonly", "Young")
	}
	p.w(`</svg><div class="scroll" tabindex="0" role="group" aria-label="Season picture, scrolls sideways"`)
	if s.inside(v.Today, v.Today) { // a season gone by opens at its start
		p.w(` data-scroll-to="`, s.mid(v.Today), `"`)
	}
	p.w(`><svg width="`, width, `" height="`, height, `" viewBox="0 0 `, width, ` `, height, `"`)
	p.named(v.Label)
	p.w(`>`)
	for _, m := range v.Months {
		if !s.inside(m.Day, m.Day) {
			continue
		}
		x := s.x(float64(m.Day))
		p.w(`<path d="M`, x, ` 2V`, bottom, `" stroke="var(--line)"/>`)
		p.text(x+6, 14, "", "l", m.Label)
	}
	p.lightBand(v, s, lightTop)
	p.feedBand(v.Feed, s, feedTop)
	for i := range v.Lanes {
		p.w(`<path d="M0 `, laneY(lanesTop, i)+laneHeight/2, `H`, width, `" stroke="var(--line)"/>`)
	}
	// the line of today lies under the clutches, so that no egg is hidden
	if s.inside(v.Today, v.Today) {
		p.w(`<path d="M`, s.mid(v.Today), ` `, headHeight-4, `V`, bottom, `" stroke="var(--ink)" stroke-width="2"/>`)
	}
	for i, l := range v.Lanes {
		for _, c := range l.Clutches {
			p.clutch(c, s, laneY(lanesTop, i), v.Today, laneSize)
		}
	}
	if v.Holding != nil {
		p.holding(*v.Holding, s, holdTop, width)
	}
	if s.inside(v.Today, v.Today) {
		p.todayPlate(s.mid(v.Today), bottom+4, v.TodayLabel, width)
	}
	p.w(`</svg></div></div>`)
	return p.html()
}

func laneY(top float64, i int) float64 { return top + titleHeight + laneHeight*(float64(i)+0.5) }

// lightY puts hours of light on the band: 6 h at its foot, 17 h near its top.
func lightY(top, hours float64) float64 { return top + lightHeight - 12 - (hours-6)*8.4 }

// todayPlate hangs the plate with today's date on its line.
func (p *pen) todayPlate(x, y float64, label string, width float64) {
	if label == "" {
		return
	}
	w := textWidth(label) + 14
	left := math.Min(math.Max(x-w/2, 0), width-w)
	p.w(`<rect x="`, left, `" y="`, y, `" width="`, w, `" height="22" rx="3" fill="var(--ink)"/>`)
	p.text(left+w/2, y+15, "middle", "on", label)
}

// steps turns values that hold from a day on into the corners of a stair.
func steps(points []Point, s scale, y func(float64) float64) string {
	var p pen
	for i, pt := range points {
		if i == 0 {
			p.w(`M`, s.x(float64(max(pt.Day, s.from))), ` `, y(pt.Value))
			continue
		}
		p.w(`H`, s.x(float64(min(max(pt.Day, s.from), s.to+1))), `V`, y(pt.Value))
	}
	p.w(`H`, s.x(float64(s.to)+1))
	return p.b.String()
}

// line joins points.
func line(points []Point, s scale, y func(float64) float64) string {
	var p pen
	for i, pt := range points {
		cmd := "L"
		if i == 0 {
			cmd = "M"
		}
		p.w(cmd, s.mid(pt.Day), ` `, y(pt.Value))
	}
	return p.b.String()
}

// within keeps the points of the picture's days.
func within(points []Point, s scale) []Point {
	var out []Point
	for _, pt := range points {
		if s.inside(pt.Day, pt.Day) {
			out = append(out, pt)
		}
	}
	return out
}

func (p *pen) lightBand(v LanesView, s scale, top float64) {
	y := func(h float64) float64 { return lightY(top, math.Min(math.Max(h, 6), 18)) }
	if len(v.Light) > 0 {
		stair := steps(v.Light, s, y)
		first := s.x(float64(max(v.Light[0].Day, s.from)))
		p.w(`<path d="`, stair, `V`, y(6), `H`, first, `z" fill="var(--lamp-soft)"/><path d="`, stair, `" fill="none" stroke="var(--lamp)" stroke-width="3"/>`)
	}
	if pts := within(v.Daylight, s); len(pts) > 1 {
		p.w(`<path d="`, line(pts, s, y), `" fill="none" stroke="var(--ink-2)" stroke-width="1.5" stroke-dasharray="2 3"/>`)
		low := pts[0]
		for _, pt := range pts {
			if pt.Value < low.Value {
				low = pt
			}
		}
		p.text(s.mid(low.Day)+8, y(low.Value)-6, "", "l", "daylight outside")
	}
	if v.LightWords != "" && len(v.Light) > 0 {
		p.text(s.x(float64(s.from))+8, y(6)-5, "", "lt", v.LightWords)
	}
}

func (p *pen) feedBand(feed []Stretch, s scale, top float64) {
	for _, f := range feed {
		a, b := max(f.From, s.from), min(f.To, s.to)
		if b < a {
			continue
		}
		x, w := s.x(float64(a)), float64(b-a+1)*s.px
		fill := "var(--surface)"
		switch f.Kind {
		case "breed":
			fill = "var(--box)"
		case "build", "ease":
			fill = "var(--sunk)"
		}
		p.w(`<rect x="`, x+0.75, `" y="`, top+11, `" width="`, math.Max(w-1.5, 1), `" height="24" rx="2" fill="`, fill, `" stroke="var(--line-2)"/>`)
		p.text(x+8, top+27, "", "", fit(f.Label, w-14))
	}
}

// fit shortens words to a width, or leaves them out when not even four letters fit.
func fit(s string, width float64) string {
	if textWidth(s) <= width {
		return s
	}
	n := int(width/6.3) - 1
	if n < 4 {
		return ""
	}
	return clip(s, n+1)
}

// clip shortens words to n letters.
func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:max(n-1, 0)]) + "…"
}

func (p *pen) holding(h Holding, s scale, top, width float64) {
	foot, room := top+holdHeight-16, holdHeight-66
	high := 10.0
	for _, list := range [][]Point{h.Seen, h.Middle, h.High, h.Places} {
		for _, pt := range list {
			high = math.Max(high, pt.Value)
		}
	}
	step := niceStep(high)
	high = math.Ceil(high/step) * step
	y := func(v float64) float64 { return foot - v/high*room }
	for v := 0.0; v <= high+0.1; v += step {
		p.w(`<path d="M`, s.left, ` `, y(v), `H`, width, `" stroke="var(--line)"/>`)
		p.text(s.left+4, y(v)-3, "", "l", num(v))
	}
	if len(h.Low) == len(h.High) && len(h.Low) > 1 {
		p.w(`<path d="`, line(h.High, s, y))
		for i := len(h.Low) - 1; i >= 0; i-- {
			p.w(`L`, s.mid(h.Low[i].Day), ` `, y(h.Low[i].Value))
		}
		p.w(`z" fill="var(--dusk-soft)"/>`)
	}
	if len(h.Middle) > 1 {
		p.w(`<path d="`, line(h.Middle, s, y), `" fill="none" stroke="var(--dusk)" stroke-width="2" stroke-dasharray="5 3"/>`)
	}
	if len(h.Seen) > 1 {
		p.w(`<path d="`, line(h.Seen, s, y), `" fill="none" stroke="var(--ink)" stroke-width="2.4"/>`)
	}
	if len(h.Places) > 0 {
		p.w(`<path d="`, steps(h.Places, s, y), `" fill="none" stroke="var(--ink)" stroke-width="2"/>`)
		for i, pt := range h.Places {
			if i < len(h.PlaceWords) {
				p.text(s.x(float64(max(pt.Day, s.from)))+34, y(pt.Value)-6, "", "", h.PlaceWords[i])
			}
		}
	}
	if f := h.Full; f.Known && s.inside(f.Likely, f.Likely) {
		x := s.mid(f.Likely)
		at := y(placesOn(h.Places, f.Likely))
		up := top + 34
		p.w(`<path d="M`, x, ` `, at, `V`, up, `" stroke="var(--beak)" stroke-width="1.5"/><circle cx="`, x, `" cy="`, at, `" r="6" fill="var(--surface)" stroke="var(--beak)" stroke-width="2.6"/>`)
		p.text(x+3, up-16, "end", "b s", f.Label)
		p.text(x+3, up-3, "end", "l", h.FullSub)
	}
}

// placesOn returns how many places there are on a day.
func placesOn(places []Point, day int) float64 {
	n := 0.0
	for _, pt := range places {
		if pt.Day <= day {
			n = pt.Value
		}
	}
	return n
}

// niceStep returns a step of 1, 2.5 or 5 times a power of ten that divides the axis into 3 to 5 parts.
func niceStep(high float64) float64 {
	base := math.Pow(10, math.Floor(math.Log10(high/3)))
	for _, m := range []float64{1, 2.5, 5, 10} {
		if high/(base*m) <= 4.5 {
			return base * m
		}
	}
	return base * 10
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

// LaneKey draws one entry of the season's key: "eggs", "hatch", "box", "ring", "out" or "guess".
// An unknown name draws nothing.
func LaneKey(name string) template.HTML {
	var p pen
	p.w(`<svg width="34" height="20" viewBox="0 0 34 20" aria-hidden="true">`)
	switch name {
	case "eggs":
		drawEgg(&p, Full, 7, 10, 2.5, 3.9, "var(--surface)")
		drawEgg(&p, NotYet, 15, 10, 2.5, 3.9, "var(--surface)")
		drawEgg(&p, Clear, 23, 10, 2.5, 3.9, "var(--surface)")
	case "hatch":
		p.w(`<path d="M12 5L17 15 22 5z" fill="var(--beak)"/>`)
	case "box":
		p.w(`<rect x="2" y="4" width="30" height="13" fill="var(--ink)"/>`)
	case "ring":
		p.w(`<path d="M8 8v5h18V8" fill="none" stroke="var(--ink)" stroke-width="1.6"/>`)
	case "out":
		p.w(`<path d="M3 16V7" stroke="var(--ink)" stroke-width="1.6"/><rect x="3" y="7" width="27" height="5" fill="var(--ink)"/><path d="M30 4v11" stroke="var(--ink)" stroke-width="2.2"/>`)
	case "guess":
		p.w(`<rect x="2.5" y="4" width="29" height="13" fill="var(--surface)"/><path d="`, hatch(2.5, 4, 29, 13, hatchStep),
			`" stroke="var(--dusk-mid)" stroke-width="1.6"/><rect x="2.5" y="4" width="29" height="13" fill="none" stroke="var(--dusk)" stroke-width="1.2"/>`)
	default:
		return ""
	}
	p.w(`</svg>`)
	return p.html()
}
