package look

import (
	"cmp"
	"html/template"
	"math"
)

// Ancestor is a bird in the chart of its ancestors. An absent parent is nil.
type Ancestor struct {
	Name string
	Ring string
	Sex  string // "cock", "hen", else not known
	Fill string // "full" shows the colour that the chart is about, "half" is split for it, "" neither
	Note string // a few words after the ring, such as "twice"
	Href string
	Sire *Ancestor
	Dam  *Ancestor
}

// colWidth is the distance in pixels from one generation to the next.
const colWidth = 136.0

// deepest is how many generations behind the bird the chart shows.
const deepest = 4

func (a *Ancestor) depth() int {
	if a == nil {
		return -1
	}
	return 1 + max(a.Sire.depth(), a.Dam.depth())
}

// linked reports whether a bird of the chart leads to a page.
func (a *Ancestor) linked() bool {
	return a != nil && (a.Href != "" || a.Sire.linked() || a.Dam.linked())
}

// Ancestors draws a bird and up to four generations behind it: squares for cocks, circles for hens,
// diamonds when not known, sire above dam. A parent not known is a short open line.
func Ancestors(a *Ancestor, label string) template.HTML {
	if a == nil {
		return ""
	}
	depth := min(a.depth(), deepest)
	leaves := float64(int(1) << depth)
	const rowHeight = 40.0
	width := float64(depth)*colWidth + 122
	height := math.Max(leaves*rowHeight, rowHeight)
	var p pen
	role := "img"
	if a.linked() {
		role = "group" // an image may hold no links
	}
	p.picture("kin", width, height, role, label)
	p.ancestor(a, 0, depth, 0, height)
	p.w(`</svg>`)
	return p.html()
}

// ancestor draws the bird of a column, between the heights top and bottom, and those behind it.
func (p *pen) ancestor(a *Ancestor, col, depth int, top, bottom float64) {
	y := (top + bottom) / 2
	x := float64(col) * colWidth
	half := 10.0
	if col == 0 {
		half = 13
	}
	if col < depth && (a.Sire != nil || a.Dam != nil) {
		join := x + colWidth - 18
		p.w(`<path d="M`, join-8, ` `, y, `H`, join, `M`, join, ` `, (top+y)/2, `V`, (y+bottom)/2, `" fill="none" stroke="var(--ink-2)" stroke-width="1.5"/>`)
		for i, parent := range []*Ancestor{a.Sire, a.Dam} {
			py := (top + y) / 2
			if i == 1 {
				py = (y + bottom) / 2
			}
			if parent == nil {
				p.w(`<path d="M`, join, ` `, py, `h10" stroke="var(--ink-2)" stroke-width="1.5" stroke-dasharray="2 2"/>`)
				p.text(join+16, py+4, "", "l", "not known")
				continue
			}
			p.w(`<path d="M`, join, ` `, py, `h18" stroke="var(--ink-2)" stroke-width="1.5"/>`)
			if i == 0 {
				p.ancestor(parent, col+1, depth, top, y)
			} else {
				p.ancestor(parent, col+1, depth, y, bottom)
			}
		}
	}
	if a.Href != "" {
		p.w(`<a href="`, esc(a.Href), `">`)
	}
	room := colWidth - 2*half - 38
	if a.Href != "" {
		// room for a finger, round the sign and its words
		p.w(`<rect x="`, x, `" y="`, y-18, `" width="`, room+2*half+10, `" height="36" fill="none" pointer-events="all"/>`)
	}
	middle := x + half + 1
	if col == 0 && a.Sex != "cock" && a.Sex != "hen" {
		middle += 0.2 * half // a diamond is wider, and nothing stands left of it
	}
	p.sexShape(a.Sex, a.Fill, middle, y, half)
	ring := a.Ring
	if a.Note != "" {
		ring += " " + a.Note
	}
	name := a.Name
	if name == "" {
		name, ring = ring, ""
	}
	if ring == "" {
		p.text(x+2*half+9, y+4, "", "s", fit(name, room))
	} else {
		p.text(x+2*half+9, y-1, "", "s", fit(name, room))
		p.text(x+2*half+9, y+14, "", "l", fit(ring, room))
	}
	if a.Href != "" {
		p.w(`</a>`)
	}
}

// sexShape draws the sign of a sex, filled by how far the bird shows a colour.
func (p *pen) sexShape(sex, fill string, cx, cy, r float64) {
	var shape, right string
	var q pen
	switch sex {
	case "cock":
		q.w(`M`, cx-r, ` `, cy-r, `h`, 2*r, `v`, 2*r, `h`, -2*r, `z`)
		shape = q.b.String()
		q = pen{}
		q.w(`M`, cx, ` `, cy-r, `h`, r, `v`, 2*r, `h`, -r, `z`)
	case "hen":
		shape = oval(cx, cy, r, r)
		q.w(`M`, cx, ` `, cy-r, `a`, r, ` `, r, ` 0 0 1 0 `, 2*r, `z`)
	default:
		d := r * 1.18
		q.w(`M`, cx, ` `, cy-d, `l`, d, ` `, d, ` `, -d, ` `, d, ` `, -d, ` `, -d, `z`)
		shape = q.b.String()
		q = pen{}
		q.w(`M`, cx, ` `, cy-d, `l`, d, ` `, d, ` `, -d, ` `, d, `z`)
	}
	right = q.b.String()
	inside := "var(--surface)"
	if fill == "full" {
		inside = "var(--ink)"
	}
	p.w(`<path d="`, shape, `" fill="`, inside, `" stroke="var(--ink)" stroke-width="1.8"/>`)
	if fill == "half" {
		p.w(`<path d="`, right, `" fill="var(--ink)"/>`)
	}
}

// WeightsView is the weights of a bird over time.
type WeightsView struct {
	Points    []Point // grams on days, oldest first
	Low, High float64 // what is usual here, in grams; equal leaves the band out
	First     string  // date of the oldest
	Last      string  // date of the youngest
	LastWords string  // "13.3 g"
	LowWords  string  // the ends of the band in the keeper's unit, "10 g"; grams when empty
	HighWords string
	Label     string // the picture in words
}

// Weights draws weights against what is usual here.
func Weights(v WeightsView) template.HTML {
	if len(v.Points) == 0 {
		return ""
	}
	const width, left, right, top, foot = 292.0, 4.0, 206.0, 12.0, 96.0
	low, high := v.Points[0].Value, v.Points[0].Value
	if v.High > v.Low {
		low, high = math.Min(low, v.Low), math.Max(high, v.High)
	}
	for _, pt := range v.Points {
		low, high = math.Min(low, pt.Value), math.Max(high, pt.Value)
	}
	if high-low < 1 {
		low, high = low-0.5, high+0.5
	}
	pad := (high - low) * 0.12
	low, high = low-pad, high+pad
	y := func(g float64) float64 { return foot - (g-low)/(high-low)*(foot-top) }
	first, last := v.Points[0].Day, v.Points[len(v.Points)-1].Day
	x := func(day int) float64 {
		if last == first {
			return (left + right) / 2
		}
		return left + 4 + float64(day-first)/float64(last-first)*(right-left-8)
	}
	var p pen
	p.w(`<svg class="pic weights" viewBox="0 0 `, width, ` 120"`)
	p.named(v.Label)
	p.w(`>`)
	if v.High > v.Low {
		p.w(`<rect x="0" y="`, y(v.High), `" width="`, right+4, `" height="`, y(v.Low)-y(v.High), `" fill="var(--sunk)"/>`)
		p.text(right+10, y(v.High)+4, "", "l", cmp.Or(v.HighWords, num(v.High)+" g"))
		p.text(right+10, y(v.Low)+4, "", "l", cmp.Or(v.LowWords, num(v.Low)+" g")+", usual")
	}
	p.w(`<path d="`)
	for i, pt := range v.Points {
		cmd := "L"
		if i == 0 {
			cmd = "M"
		}
		p.w(cmd, x(pt.Day), ` `, y(pt.Value))
	}
	p.w(`" fill="none" stroke="var(--ink)" stroke-width="2"/>`)
	for _, pt := range v.Points {
		p.w(`<circle cx="`, x(pt.Day), `" cy="`, y(pt.Value), `" r="3" fill="var(--ink)"/>`)
	}
	// the last figure keeps clear of the two that bound the band
	wordY := y(v.Points[len(v.Points)-1].Value) + 5
	if v.High > v.Low {
		a, b := y(v.High)+4, y(v.Low)+4
		if math.Abs(wordY-a) < 14 {
			wordY = a + 15
		}
		if math.Abs(wordY-b) < 14 {
			wordY = b - 15
		}
	}
	p.text(right+10, wordY, "", "s", v.LastWords)
	p.text(0, 116, "", "l", v.First)
	if v.Last != v.First {
		p.text(right, 116, "end", "l", v.Last)
	}
	p.w(`</svg>`)
	return p.html()
}
