package look

import (
	"fmt"
	"html/template"
	"math"
)

// TradePoint is a choice on a curve of giving up one thing for another.
type TradePoint struct {
	X, Y, Low, High float64
	Href            string
	Words           string // for those who do not see the picture
	Here            bool   // the one that is shown
}

// TradeView is a curve of choices: Y against X, both ends of X named.
type TradeView struct {
	Points      []TradePoint
	Left, Right string // what the ends of the X axis mean
	Up          string // what Y is
	Label       string
}

// Trade draws the curve with its range of 8 in 10 as a band, and each choice as a dot that leads to it.
func Trade(v TradeView) template.HTML {
	if len(v.Points) == 0 {
		return ""
	}
	const width, height, left, right, top, foot = 480.0, 218.0, 44.0, 16.0, 26.0, 40.0
	lowX, highX, highY := math.Inf(1), math.Inf(-1), 0.0
	for _, p := range v.Points {
		lowX, highX, highY = math.Min(lowX, p.X), math.Max(highX, p.X), math.Max(highY, p.High)
	}
	if highX == lowX {
		highX = lowX + 1
	}
	highY = math.Max(highY, 1)
	x := func(a float64) float64 { return left + (highX-a)/(highX-lowX)*(width-left-right) } // less related is to the right
	y := func(b float64) float64 { return top + (highY-b)/highY*(height-top-foot) }
	var p pen
	role := "img"
	if v.Points[0].Href != "" {
		role = "group" // an image may hold no links
	}
	p.picture("pic trade", width, height, role, v.Label)
	if len(v.Points) > 1 {
		p.w(`<path d="`)
		for i, q := range v.Points {
			p.w(map[bool]string{true: "M", false: "L"}[i == 0], num(x(q.X)), " ", num(y(q.High)))
		}
		for i := len(v.Points) - 1; i >= 0; i-- {
			p.w("L", num(x(v.Points[i].X)), " ", num(y(v.Points[i].Low)))
		}
		p.w(`Z" fill="var(--dusk-soft)"/><path d="`)
		for i, q := range v.Points {
			p.w(map[bool]string{true: "M", false: "L"}[i == 0], num(x(q.X)), " ", num(y(q.Y)))
		}
		p.w(`" fill="none" stroke="var(--dusk)" stroke-width="2"/>`)
	}
	base := height - foot
	p.w(`<path d="M`, num(left), " ", num(top-8), "V", num(base), "H", num(width-right), `" fill="none" stroke="var(--ink)" stroke-width="1.4"/>`)
	p.text(left-6, y(highY)+4, "end", "l", fmt.Sprintf("%.0f", highY))
	p.text(left-6, base, "end", "l", "0")
	p.text(left, height-22, "start", "l", v.Left)
	p.text(width-right, height-22, "end", "l", v.Right)
	p.text(left, height-6, "start", "l", v.Up)
	for _, q := range v.Points {
		if q.Here {
			p.w(`<path d="M`, num(x(q.X)), " ", num(y(q.Y)), "V", num(base), "M", num(left), " ", num(y(q.Y)), "H", num(x(q.X)), `" stroke="var(--ink)" stroke-dasharray="2 3"/>`)
		}
	}
	for _, q := range v.Points {
		if q.Href != "" {
			p.w(`<a href="`, esc(q.Href), `" aria-label="`, esc(q.Words), `">`)
			p.w(`<rect x="`, num(x(q.X)-12), `" y="`, num(y(q.Y)-12), `" width="24" height="24" fill="transparent"/>`)
		}
		if q.Here {
			p.w(`<circle cx="`, num(x(q.X)), `" cy="`, num(y(q.Y)), `" r="8" fill="var(--ink)"/>`)
		} else {
			p.w(`<circle cx="`, num(x(q.X)), `" cy="`, num(y(q.Y)), `" r="5" fill="var(--surface)" stroke="var(--dusk)" stroke-width="2"/>`)
		}
		if q.Href != "" {
			p.w(`</a>`)
		}
	}
	p.w(`</svg>`)
	return p.html()
}
