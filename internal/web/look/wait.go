package look

import (
	"html/template"
	"math"
)

// WaitView is a pair's wait for its first egg: how long it has lasted, the signs that were seen, and the days on which the egg
// is likely. Days count from any day.
type WaitView struct {
	Start, Today int
	Signs        []int // days on which a sign was seen
	// Early to Late are the days of 8 in 10, Half is the day by which half have laid. With Open the range has no end that is known.
	Early, Half, Late int
	Known, HalfKnown  bool
	Open              bool
	StartWords        string // under the left end, "10 Jan"
	TodayWords        string // over today, "today"
	EarlyWords        string // under the range's first day
	LateWords         string // under its last
	Label             string // the figures in words
}

// Wait draws the wait as a rail: solid up to today with a tick for each day of a sign, then the range hatched.
func Wait(v WaitView) template.HTML {
	const width, height, left, right, y = 292.0, 78.0, 8.0, 284.0, 40.0
	end := v.Today + 3
	if v.Known {
		end = max(end, v.Early+2)
		if v.HalfKnown {
			end = max(end, v.Half+2)
		}
		if !v.Open {
			end = max(end, v.Late+1)
		}
	}
	x := func(day float64) float64 {
		return left + math.Min(math.Max((day-float64(v.Start))/float64(end-v.Start), 0), 1)*(right-left)
	}
	var p pen
	p.w(`<svg class="pic wait" viewBox="0 0 `, width, ` `, height, `"`)
	p.named(v.Label)
	p.w(`>`)
	p.w(`<path d="M`, left, ` `, y, `H`, right, `" stroke="var(--line-2)" stroke-width="1" stroke-dasharray="2 3"/>`)
	today := x(float64(v.Today))
	if v.Known {
		a, b := x(float64(v.Early)-0.5), right
		if !v.Open {
			b = x(float64(v.Late) + 0.5)
		}
		b = math.Max(b, a+4)
		p.w(`<rect x="`, a, `" y="`, y-9, `" width="`, b-a, `" height="18" fill="var(--surface)"/>`,
			`<path d="`, hatch(a, y-9, b-a, 18, hatchStep), `" stroke="var(--dusk-mid)" stroke-width="1.6"/>`)
		if v.Open {
			p.w(`<path d="M`, b, ` `, y-9, `H`, a, `V`, y+9, `H`, b, `" fill="none" stroke="var(--dusk)" stroke-width="1.4"/>`)
		} else {
			p.w(`<rect x="`, a, `" y="`, y-9, `" width="`, b-a, `" height="18" fill="none" stroke="var(--dusk)" stroke-width="1.4"/>`)
		}
		if v.HalfKnown {
			p.w(`<path d="M`, x(float64(v.Half)), ` `, y-13, `v26" stroke="var(--dusk)" stroke-width="3"/>`)
		}
	}
	p.w(`<path d="M`, left, ` `, y, `H`, today, `" stroke="var(--ink)" stroke-width="2"/><path d="M`, left, ` `, y-5, `v10" stroke="var(--ink)" stroke-width="2"/>`)
	for _, day := range v.Signs {
		p.w(`<path d="M`, x(float64(day)), ` `, y-11, `v11" stroke="var(--ink)" stroke-width="2"/><circle cx="`, x(float64(day)), `" cy="`, y-13, `" r="3" fill="var(--ink)"/>`)
	}
	p.w(`<circle cx="`, today, `" cy="`, y, `" r="5" fill="var(--ink)"/>`)
	p.wordAt(today, 14, v.TodayWords, width)
	p.text(left, 72, "", "l", v.StartWords)
	if v.Known {
		room := left + textWidth(v.StartWords) + 8
		a := x(float64(v.Early))
		if v.Open {
			p.text(math.Min(math.Max(a, room), right-textWidth(v.EarlyWords)), 72, "", "l", v.EarlyWords)
		} else {
			last := right - textWidth(v.LateWords)
			if b := x(float64(v.Late)); b+textWidth(v.LateWords)/2 < right {
				last = b - textWidth(v.LateWords)/2
			}
			p.text(math.Max(last, room), 72, "", "l", v.LateWords)
			if at := a - textWidth(v.EarlyWords)/2; at >= room && at+textWidth(v.EarlyWords)+8 <= last {
				p.text(at, 72, "", "l", v.EarlyWords)
			}
		}
	}
	p.w(`</svg>`)
	return p.html()
}

// wordAt writes a word over a point, within the picture.
func (p *pen) wordAt(x, y float64, s string, width float64) {
	w := textWidth(s)
	p.text(math.Min(math.Max(x-w/2, 0), width-w), y, "", "s", s)
}
