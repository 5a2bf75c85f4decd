package look

import (
	"html/template"
	"math"
	"strconv"
)

// Lane is one pair in the season picture.
type Lane struct {
	Plate    string // "B3"
	Name     string // "Zebra", "Ash × Merle"
	Href     string // the page of the pair or cage; empty links nowhere
	Clutches []Clutch
	Pauses   []Stretch // moults and rests of this pair alone
	Came     string    // what it came to: "4 weaned"; written at the end of a lane that is too close for words on it
}

// Stretch is a labelled run of days, such as a feed.
type Stretch struct {
	From, To int // both included
	Label    string
	Kind     string // "rest", "build", "breed" or "moult"; shades the bar
	Guess    bool   // planned, not yet so
}

// FeedRow is what one group of birds is fed for along the days.
type FeedRow struct {
	Name string
	Feed []Stretch
}

// LaneMove says that eggs or chicks came into a lane's nest from another one, or went to it.
type LaneMove struct {
	Lane  int // index in LanesView.Lanes
	Day   int
	In    bool
	Words string // "3 from A1"
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

// LanesView is the picture of a season, or of a month of it.
type LanesView struct {
	From, To, Today int // days, both ends included
	TodayLabel      string
	Months          []Tick     // the first day of each month
	Days            []Tick     // single days, for a picture of a month; empty for a season
	Light           LightCurve // empty leaves the band out
	LightWords      string
	Feed            []FeedRow
	LanesTitle      string // "Pairs, 10 of 44"
	Lanes           []Lane
	Moves           []LaneMove
	Holding         *Holding
	Label           string // the picture in words; the figures also stand in a table
}

// Measures of the season picture, in pixels.
const (
	laneHeight  = 36.0
	lightHeight = 118.0
	feedHeight  = 30.0 // of one group
	headHeight  = 24.0
	dayHeight   = 18.0 // of the numbers of the days
	titleHeight = 30.0
	holdHeight  = 190.0
	footHeight  = 30.0
	namesWidth  = 138.0
	lastWords   = 70.0 // room for the words after the last bar
	laneWidth   = 1124.0

	leastDayStep  = 3.0  // a whole year fits on a desk
	leastDayWidth = 26.0 // where each day has its number
)

// laneSheet is where everything in a picture of lanes stands.
type laneSheet struct {
	s                                   scale
	z                                   LightScale
	lightTop, feedTop, lanesTop, bottom float64
	feed, lane, title                   float64 // height of one group's band, of one lane, and of the words above the lanes
	shrink                              float64 // what is drawn of the lanes is this much smaller; 1 on a screen
	size                                clutchSize
	width, height                       float64
}

func (c LightCurve) empty() bool { return len(c.Plan)+len(c.Real)+len(c.Daylight)+len(c.Rather) == 0 }

// monthSize is laneSize where there is room for eggs.
var monthSize = clutchSize{bar: 13, raised: 5, lift: 10.5, egg: 6, hatch: 6}

// sheet lays a picture out for a screen.
func (v *LanesView) sheet() laneSheet {
	days := float64(v.To - v.From + 1)
	px, size := math.Max(leastDayStep, laneWidth/days), laneSize
	if len(v.Days) > 0 {
		px, size = math.Max(leastDayWidth, laneWidth/days), monthSize
	}
	return v.laid(scale{from: v.From, to: v.To, left: 1, px: px}, feedHeight, laneHeight, titleHeight, size)
}

func (v *LanesView) laid(s scale, feed, lane, title float64, size clutchSize) laneSheet {
	m := laneSheet{s: s, feed: feed, lane: lane, title: title, shrink: 1, size: size}
	m.width = s.x(float64(v.To)+1) + lastWords
	y := headHeight
	if len(v.Days) > 0 {
		y += dayHeight
	}
	if m.lightTop = y; !v.Light.empty() {
		y += lightHeight
	}
	if m.feedTop = y; len(v.Feed) > 0 {
		y += 8 + feed*float64(len(v.Feed))
	}
	if m.lanesTop = y; len(v.Lanes) > 0 {
		y += title + lane*float64(len(v.Lanes))
	}
	m.bottom = y
	m.height = y + footHeight
	m.z = LightScale{From: v.From, To: v.To, Left: s.left, Px: s.px, Top: m.lightTop + 6, Height: lightHeight - 18}
	m.z.Low, m.z.High = LightHours(v.Light)
	return m
}

// laneY is the middle of a lane.
func (m *laneSheet) laneY(i int) float64 { return m.title + m.lane*(float64(i)+0.5) }

// Lanes draws the season: light, feed, one lane for each pair, and young against space, all on one
// axis of days. The names stand still while the picture scrolls in its sheet.
func Lanes(v LanesView) template.HTML {
	if v.To < v.From {
		return ""
	}
	m := v.sheet()
	holdTop := m.bottom
	if v.Holding != nil {
		m.bottom, m.height = m.bottom+holdHeight, m.height+holdHeight
	}
	var p pen
	p.w(`<div class="lanes"><svg class="names" width="`, namesWidth, `" height="`, m.height, `" viewBox="0 0 `, namesWidth, ` `, m.height, `" preserveAspectRatio="xMinYMin slice" aria-hidden="true">`)
	p.laneNames(v, m, namesWidth)
	if v.Holding != nil {
		p.text(0, holdTop+46, "", "s deskonly", clip(v.Holding.Title, 20))
		p.text(0, holdTop+62, "", "l deskonly", clip(v.Holding.Sub, 22))
		p.text(0, holdTop+46, "", "s phoneonly", "Young")
	}
	p.w(`</svg><div class="scroll" tabindex="0" role="group" aria-label="Season picture, scrolls sideways"`)
	if m.s.inside(v.Today, v.Today) { // a season gone by opens at its start
		p.w(` data-scroll-to="`, m.s.mid(v.Today), `"`)
	}
	p.w(`><svg width="`, m.width, `" height="`, m.height, `" viewBox="0 0 `, m.width, ` `, m.height, `"`)
	p.named(v.Label)
	p.w(`>`)
	p.laneBody(v, m)
	if v.Holding != nil {
		p.holding(*v.Holding, m.s, holdTop, m.width)
	}
	p.w(`</svg></div></div>`)
	return p.html()
}

// The heights of the picture on paper: what headline and key leave of a landscape sheet that is 1400 wide within its margins.
const (
	PaperA4 = 800.0
	PaperA3 = 846.0
)

// Measures of the picture on paper, in its own units.
const (
	paperWidth = 1400.0
	paperNames = 120.0
	paperFeed  = 22.0
	paperTitle = 6.0
	closeLane  = 14.0 // a lane as high as its words; where there is less room, all lanes shrink together
)

// LanesPaper draws the season as one picture that fits a landscape sheet, however many lanes it has. The height is PaperA4 or
// PaperA3.
func LanesPaper(v LanesView, height float64) template.HTML {
	if v.To < v.From {
		return ""
	}
	v.Holding = nil
	days := float64(v.To - v.From + 1)
	s := scale{from: v.From, to: v.To, left: paperNames, px: (paperWidth - paperNames - lastWords) / days}
	feed := math.Min(paperFeed, 150/math.Max(1, float64(len(v.Feed))))
	bare := v.laid(s, feed, 0, paperTitle, laneSize)
	lane := laneHeight
	if n := float64(len(v.Lanes)); n > 0 {
		lane = math.Min(lane, (height-bare.height)/n)
	}
	natural := math.Max(lane, closeLane)
	size := laneSize
	if natural < laneHeight {
		f := math.Max(natural/laneHeight, 0.45)
		size = clutchSize{bar: laneSize.bar * f, raised: laneSize.raised * f, lift: laneSize.lift * f, egg: math.Max(laneSize.egg*f, 2.6), hatch: math.Max(laneSize.hatch*f, 3), close: natural < 28}
	}
	m := v.laid(s, feed, lane, paperTitle, size)
	m.lane, m.shrink = natural, lane/natural
	m.title = paperTitle / m.shrink
	var p pen
	// On a screen it is as wide as its smallest words ask for, and scrolls.
	p.w(`<svg class="pic w`, min(int(math.Ceil(paperWidth/m.shrink/100)), widest), ` yearpaper" viewBox="0 0 `, paperWidth, ` `, math.Max(m.height, 300), `"`)
	p.named(v.Label)
	p.w(`>`)
	p.laneNames(v, m, paperNames)
	p.laneBody(v, m)
	p.w(`</svg>`)
	return p.html()
}

// laneNames writes what each band and lane is, in the column before the days.
func (p *pen) laneNames(v LanesView, m laneSheet, wide float64) {
	letters := int(wide/6.9) - 1
	if !v.Light.empty() {
		p.text(0, m.lightTop+26, "", "s", "Light")
		for h := m.z.Low; h <= m.z.High; h += 2 {
			if math.Mod(h, 4) == 0 {
				p.text(wide-8, m.z.Y(h)+4, "end", "l deskonly", strconv.Itoa(int(h))+" h")
			}
		}
	}
	for i, f := range v.Feed {
		y := m.feedTop + 6 + m.feed*(float64(i)+0.5) + 4
		p.text(0, y, "", "s deskonly", clip(f.Name, letters))
		p.text(0, y, "", "s phoneonly", clip(f.Name, 7))
	}
	if len(v.Lanes) == 0 {
		return
	}
	if m.title >= titleHeight {
		p.text(0, m.lanesTop+24, "", "s deskonly", v.LanesTitle)
	}
	p.among(m)
	class, at, drop := "big", 38.0, math.Min(5, m.lane/2-3)
	if m.lane < 24 {
		class = "s"
	}
	for i, l := range v.Lanes {
		y := m.laneY(i)
		if l.Href != "" {
			p.w(`<a href="`, esc(l.Href), `" tabindex="-1">`)
		}
		p.text(0, y+drop, "", class, l.Plate)
		p.text(at, y+drop, "", "l deskonly", clip(l.Name, int((wide/m.shrink-at)/6.6)))
		if l.Href != "" {
			p.w(`</a>`)
		}
		p.w(`<path d="M0 `, y+m.lane/2, `H`, wide/m.shrink, `" stroke="var(--line)"/>`)
	}
	p.w(`</svg>`)
}

// laneBody draws the bands and lanes on the axis of days.
func (p *pen) laneBody(v LanesView, m laneSheet) {
	s := m.s
	for _, t := range v.Months {
		if !s.inside(t.Day, t.Day) {
			continue
		}
		x := s.x(float64(t.Day))
		p.w(`<path d="M`, x, ` 2V`, m.bottom, `" stroke="var(--line)"/>`)
		p.text(x+6, 14, "", "l", t.Label)
	}
	for _, t := range v.Days {
		if s.inside(t.Day, t.Day) {
			p.w(`<path d="M`, s.x(float64(t.Day)), ` `, headHeight, `V`, m.bottom, `" stroke="var(--line)" stroke-dasharray="1 3"/>`)
			p.text(s.mid(t.Day), headHeight+dayHeight-6, "middle", "l", t.Label)
		}
	}
	p.lightBand(v, m)
	p.feedBand(v.Feed, m)
	inner := s // the days in the measure of the lanes
	inner.left, inner.px = s.left/m.shrink, s.px/m.shrink
	if len(v.Lanes) > 0 {
		p.among(m)
		for i := range v.Lanes {
			p.w(`<path d="M`, inner.left-1, ` `, m.laneY(i)+m.lane/2, `H`, m.width/m.shrink, `" stroke="var(--line)"/>`)
		}
		p.w(`</svg>`)
	}
	// the line of today lies under the clutches, so that no egg is hidden
	here := s.inside(v.Today, v.Today)
	if here {
		p.w(`<path d="M`, s.mid(v.Today), ` `, m.lightTop-4, `V`, m.bottom, `" stroke="var(--ink)" stroke-width="2"/>`)
	}
	if len(v.Lanes) > 0 {
		p.among(m)
		for i, l := range v.Lanes {
			y := m.laneY(i)
			for _, x := range l.Pauses {
				p.pause(x, inner, y)
			}
			for _, c := range l.Clutches {
				p.clutch(c, inner, y, v.Today, m.size)
			}
			if m.size.close {
				p.text(inner.x(float64(v.To)+1)+6, y+4, "", "s", l.Came)
			}
		}
		for _, x := range v.Moves {
			p.move(x, v, m, inner)
		}
		p.w(`</svg>`)
	}
	if here {
		p.todayPlate(s.mid(v.Today), m.bottom+4, v.TodayLabel, m.width)
	}
}

// among opens the lanes, in which y is counted from their top, in their own measure.
func (p *pen) among(m laneSheet) {
	high := m.bottom - m.lanesTop
	p.w(`<svg y="`, m.lanesTop, `" width="`, m.width, `" height="`, high, `" viewBox="0 0 `, m.width/m.shrink, ` `, high/m.shrink, `" preserveAspectRatio="none">`)
}

// pause draws days on which a pair was noted to moult or rest: a row of dots with its word.
func (p *pen) pause(x Stretch, s scale, y float64) {
	a, b := max(x.From, s.from), min(x.To, s.to)
	if b < a {
		return
	}
	from, to := s.x(float64(a)), s.x(float64(b)+1)
	p.w(`<path d="M`, from+2, ` `, y, `H`, to, `" stroke="var(--ink-2)" stroke-width="3" stroke-linecap="round" stroke-dasharray="0.1 6"/>`)
	p.text(from+2, y-5, "", "l", x.Label)
}

// move draws an arrow down to the lane where eggs or chicks came in, or away from it where they went, with its words.
func (p *pen) move(x LaneMove, v LanesView, m laneSheet, s scale) {
	if x.Lane < 0 || x.Lane >= len(v.Lanes) || !s.inside(x.Day, x.Day) {
		return
	}
	at, y := s.mid(x.Day), m.laneY(x.Lane)
	long := math.Min(9, m.lane/4)
	from := y - 7 - long // an arrow ends, or begins, 6 off the line
	words := y - 8
	if !x.In {
		from, words = y+6, y+16
	}
	p.w(`<path d="M`, at, ` `, from, `v`, long, `m-3.5 -3.5l3.5 4.5 3.5 -4.5" fill="none" stroke="var(--ink)" stroke-width="1.6"/>`)
	if !m.size.close {
		p.text(at+6, words, "", "l", x.Words)
	}
}

func (p *pen) lightBand(v LanesView, m laneSheet) {
	if v.Light.empty() {
		return
	}
	z := m.z
	for h := z.Low; h <= z.High; h += 2 {
		if math.Mod(h, 4) == 0 {
			p.w(`<path d="M`, m.s.left, ` `, z.Y(h), `H`, m.s.x(float64(v.To)+1), `" stroke="var(--line)" stroke-dasharray="1 3"/>`)
		}
	}
	p.w(LightAreas(v.Light, z))
	if sun := within(v.Light.Daylight, m.s); len(sun) > 1 {
		low := sun[0]
		for _, pt := range sun {
			if pt.Value < low.Value && m.s.mid(pt.Day) < m.s.x(float64(v.To)+1)-110 {
				low = pt
			}
		}
		p.backed(m.s.mid(low.Day)+8, z.Y(low.Value)+15, "l", "daylight outside")
	}
	if v.LightWords != "" {
		p.backed(m.s.x(float64(m.s.from))+8, z.Y(z.Low)-5, "lt", v.LightWords)
	}
	if m.s.inside(v.Today, v.Today) { // where the picture scrolls, the axis is out of sight
		for h := z.Low + 2; h < z.High; h += 2 {
			if math.Mod(h, 4) == 0 {
				p.text(m.s.mid(v.Today)+6, z.Y(h)-3, "", "l phoneonly", strconv.Itoa(int(h))+" h")
			}
		}
	}
}

// backed writes words on a ground of their own, so that they can be read over lines.
func (p *pen) backed(x, y float64, class, words string) {
	p.w(`<rect x="`, x-3, `" y="`, y-11, `" width="`, textWidth(words)+6, `" height="15" rx="2" fill="var(--surface)"/>`)
	p.text(x, y, "", class, words)
}

// feedBand draws the phases of each group: solid up to today, hatched where they are planned. Moult has dots.
func (p *pen) feedBand(rows []FeedRow, m laneSheet) {
	high := m.feed - 6
	for i, row := range rows {
		y := m.feedTop + 6 + m.feed*float64(i) + 3
		for _, f := range row.Feed {
			a, b := max(f.From, m.s.from), min(f.To, m.s.to)
			if b < a {
				continue
			}
			p.feedBar(f, m.s.x(float64(a)), y, float64(b-a+1)*m.s.px, high)
		}
	}
}

func (p *pen) feedBar(f Stretch, x, y, w, high float64) {
	fill := "var(--surface)"
	switch {
	case f.Guess:
	case f.Kind == "breed":
		fill = "var(--box)"
	case f.Kind == "build":
		fill = "var(--sunk)"
	}
	x, w = x+0.75, math.Max(w-1.5, 1)
	edge := `stroke="var(--line-2)"`
	if f.Guess {
		edge = `stroke="var(--dusk)" stroke-width="1.2" stroke-dasharray="5 3"`
	}
	p.w(`<rect x="`, x, `" y="`, y, `" width="`, w, `" height="`, high, `" rx="2" fill="`, fill, `" `, edge, `/>`)
	switch {
	case f.Guess:
		p.w(`<path d="`, hatch(x, y, w, high, hatchStep+2), `" stroke="var(--dusk-mid)" stroke-width="1.4"/>`)
	case f.Kind == "moult":
		for row := 0; row < 3; row++ {
			p.w(`<path d="M`, x+4+float64(row%2)*3, ` `, y+high*(float64(row)+0.5)/3, `H`, math.Max(x+w-2, x+4), `" stroke="var(--ink-3)" stroke-width="1.8" stroke-linecap="round" stroke-dasharray="0.1 6"/>`)
		}
	}
	words := fit(f.Label, w-12)
	switch {
	case words == "":
	case f.Guess:
		p.backed(x+7, y+high/2+4, "g", words)
	case f.Kind == "moult":
		p.backed(x+7, y+high/2+4, "", words)
	default:
		p.text(x+7, y+high/2+4, "", "", words)
	}
}

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

// LaneKey draws one entry of the season's key: "eggs", "hatch", "box", "ring", "out", "guess", "fed", "plan", "moult" or "pause".
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
	case "fed":
		p.feedBar(Stretch{Kind: "breed"}, 1.5, 3, 31, 14)
	case "plan":
		p.feedBar(Stretch{Kind: "breed", Guess: true}, 1.5, 3, 31, 14)
	case "moult":
		p.feedBar(Stretch{Kind: "moult"}, 1.5, 3, 31, 14)
	case "pause":
		p.w(`<path d="M4 10H31" stroke="var(--ink-2)" stroke-width="3" stroke-linecap="round" stroke-dasharray="0.1 6"/>`)
	default:
		return ""
	}
	p.w(`</svg>`)
	return p.html()
}
