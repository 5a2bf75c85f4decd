package look

import (
	"html/template"
	"math"
	"strconv"
)

// JarSpan is a batch in a jar, in minutes after the first midnight of the picture.
type JarSpan struct {
	Jar               int // lane, from 0
	Soak, Drain, Give int // begins, poured off, first given; Out is when the last of it leaves the cages
	Out               int
	Rinses            []int
}

// JarsView is the jars of sprouted seed over some days.
type JarsView struct {
	Jars  int
	Days  []string // word of each day: "13 Jan today"
	Now   int      // minutes after the first midnight; below 0 for no line
	Spans []JarSpan
	Label string // the picture in words; the steps also stand in a list
}

const minutesADay = 24 * 60

// JarsPicture draws a lane a jar: soaking as a low bar, sprouting as a full one with a tick for each rinse, given as a dark one.
func JarsPicture(v JarsView) template.HTML {
	if v.Jars < 1 || len(v.Days) == 0 {
		return ""
	}
	const left, top, lane, px = 56.0, 34.0, 40.0, 340.0 / minutesADay
	end := len(v.Days) * minutesADay
	x := func(minute int) float64 { return left + float64(min(max(minute, 0), end))*px }
	foot := top + float64(v.Jars)*lane
	var p pen
	p.w(`<div class="scroll" tabindex="0" role="group" aria-label="Jars in turn, scrolls sideways">`)
	p.picture("jars", x(end)+8, foot+8, "img", v.Label)
	for i, day := range v.Days {
		from := i * minutesADay
		p.w(`<path d="M`, x(from), ` 4V`, foot, `" stroke="var(--line-2)"/>`)
		p.text(x(from)+5, 14, "", "l", day)
		for h := 6; h < 24; h += 6 {
			p.w(`<path d="M`, x(from+h*60), ` 20V`, foot, `" stroke="var(--line)"/>`)
			p.text(x(from+h*60), 29, "middle", "l", strconv.Itoa(h))
		}
	}
	for j := range v.Jars {
		p.text(4, top+float64(j)*lane+lane/2+4, "", "l", "Jar "+strconv.Itoa(j+1))
		p.w(`<path d="M`, left, ` `, top+float64(j+1)*lane, `H`, x(end), `" stroke="var(--line)"/>`)
	}
	for _, s := range v.Spans {
		if s.Out <= 0 || s.Soak >= end || s.Jar < 0 || s.Jar >= v.Jars {
			continue
		}
		y := top + float64(s.Jar)*lane
		if x(s.Drain) > x(s.Soak) {
			p.w(`<rect x="`, x(s.Soak), `" y="`, y+18, `" width="`, x(s.Drain)-x(s.Soak), `" height="14" fill="var(--surface)" stroke="var(--ink)" stroke-width="1.4"/>`)
			p.word(x(s.Soak), x(s.Drain), y+13, "soak")
		}
		if x(s.Give) > x(s.Drain) {
			p.w(`<rect x="`, x(s.Drain), `" y="`, y+18, `" width="`, x(s.Give)-x(s.Drain), `" height="14" fill="var(--box)" stroke="var(--ink)" stroke-width="1.4"/>`)
			p.word(x(s.Drain), x(s.Give), y+13, "sprout")
		}
		for _, r := range s.Rinses {
			if r > 0 && r < end {
				p.w(`<path d="M`, x(r), ` `, y+18, `v14" stroke="var(--ink)" stroke-width="1.4"/>`)
			}
		}
		if w := x(s.Out) - x(s.Give); w > 0 {
			p.w(`<rect x="`, x(s.Give), `" y="`, y+18, `" width="`, w, `" height="14" fill="var(--ink)"/>`)
			p.text(x(s.Give), y+13, "", "l s", "give")
		}
	}
	if v.Now >= 0 && v.Now < end {
		p.w(`<path d="M`, x(v.Now), ` 18V`, foot+4, `" stroke="var(--ink)" stroke-width="2"/>`)
	}
	p.w(`</svg></div>`)
	return p.html()
}

// word writes a word over a bar that is wide enough for it.
func (p *pen) word(from, to, y float64, s string) {
	if to-from > textWidth(s)+4 {
		p.text(from+2, y, "", "l", s)
	}
}

// NeedDay is what grown birds and young need on a day.
type NeedDay struct{ Adults, Young float64 }

// NeedView is a nest's need by the age of the young.
type NeedView struct {
	Days             []NeedDay // from day 0
	PeakFrom, PeakTo int       // days of the greatest need
	Fledge           int       // day on which they leave the nest; 0 when not known
	At               int       // day that is looked at; below 0 for none
	Unit             string
	Offered          float64 // what is offered, as a line; 0 for none
	Label            string
}

// NeedPicture draws the need by day: grown birds below, the young hatched above them, since both are worked out and not counted.
func NeedPicture(v NeedView) template.HTML {
	if len(v.Days) < 2 {
		return ""
	}
	const left, top, height = 48.0, 30.0, 170.0
	px := math.Max(7, 560/float64(len(v.Days)))
	most := v.Offered
	for _, d := range v.Days {
		most = math.Max(most, d.Adults+d.Young)
	}
	step := 50.0
	for most/step > 6 {
		step *= 2
	}
	top1 := math.Max(step, math.Ceil(most/step)*step)
	x := func(day float64) float64 { return left + day*px }
	y := func(kj float64) float64 { return top + height*(1-kj/top1) }
	last := len(v.Days) - 1
	right := x(float64(last))
	var p pen
	p.w(`<div class="scroll" tabindex="0" role="group" aria-label="Need by day, scrolls sideways">`)
	p.picture("need", right+40, top+height+34, "img", v.Label)
	for kj := 0.0; kj <= top1+1e-9; kj += step {
		p.w(`<path d="M`, left, ` `, y(kj), `H`, right, `" stroke="var(--line)"/>`)
		word := num(kj)
		if kj+step > top1 {
			word += " " + v.Unit
		}
		p.text(left-6, y(kj)+4, "end", "l", word)
	}
	path := func(of func(NeedDay) float64) string {
		var q pen
		for i, d := range v.Days {
			q.w(map[bool]string{true: "M", false: "L"}[i == 0], x(float64(i)), ` `, y(of(d)))
		}
		return q.b.String()
	}
	adults := path(func(d NeedDay) float64 { return d.Adults })
	p.w(`<path d="`, adults, `V`, y(0), `H`, x(0), `z" fill="var(--sunk)"/>`)
	var lines pen
	for i := 0.0; i <= float64(last); i += 0.5 {
		a, b := int(i), int(math.Ceil(i))
		f := i - float64(a)
		low := v.Days[a].Adults*(1-f) + v.Days[b].Adults*f
		high := low + v.Days[a].Young*(1-f) + v.Days[b].Young*f
		if y(low)-y(high) > 0.5 {
			lines.w(`M`, x(i), ` `, y(low), `V`, y(high))
		}
	}
	p.w(`<path d="`, lines.b.String(), `" fill="none" stroke="var(--dusk-mid)" stroke-width="1.4"/>`)
	p.w(`<path d="`, adults, `" fill="none" stroke="var(--ink-2)" stroke-width="1.5"/>`)
	p.w(`<path d="`, path(func(d NeedDay) float64 { return d.Adults + d.Young }), `" fill="none" stroke="var(--dusk)" stroke-width="2.2"/>`)
	if v.PeakTo > v.PeakFrom && v.PeakFrom <= last {
		to := min(v.PeakTo, last)
		p.w(`<path d="M`, x(float64(v.PeakFrom)), ` 22v-6H`, x(float64(to)), `v6" fill="none" stroke="var(--ink)" stroke-width="1.5"/>`)
		p.text((x(float64(v.PeakFrom))+x(float64(to)))/2, 11, "middle", "l", "fed most: day "+strconv.Itoa(v.PeakFrom)+" to "+strconv.Itoa(to))
	}
	if v.Offered > 0 {
		p.w(`<path d="M`, left, ` `, y(v.Offered), `H`, right, `" stroke="var(--ink)" stroke-width="1.5" stroke-dasharray="6 3"/>`)
		p.text(right, y(v.Offered)-5, "end", "l", "offered")
	}
	for day := 0; day <= last; day += 7 {
		p.w(`<path d="M`, x(float64(day)), ` `, y(0), `v5" stroke="var(--line-2)"/>`)
		p.text(x(float64(day)), y(0)+18, "middle", "l", strconv.Itoa(day))
	}
	if v.Fledge > 0 && v.Fledge <= last {
		p.w(`<path d="M`, x(float64(v.Fledge)), ` `, y(0), `V`, top, `" stroke="var(--ink-2)" stroke-dasharray="2 3"/>`)
		p.text(x(float64(v.Fledge))+4, y(0)-6, "", "l", "out of the box")
	}
	if v.At >= 0 && v.At <= last {
		p.w(`<path d="M`, x(float64(v.At)), ` `, top, `V`, y(0)+6, `" stroke="var(--ink)" stroke-width="2"/>`)
	}
	p.text((left+right)/2, top+height+32, "middle", "l", "age of the chicks, days")
	p.w(`</svg></div>`)
	return p.html()
}

// NeedKey draws the mark of one part of NeedPicture for its key: adults, young or offered.
func NeedKey(name string) template.HTML {
	var p pen
	p.w(`<svg width="26" height="16" viewBox="0 0 26 16" aria-hidden="true">`)
	switch name {
	case "adults":
		p.w(`<rect y="3" width="26" height="13" fill="var(--sunk)"/><path d="M0 3H26" stroke="var(--ink-2)" stroke-width="1.5"/>`)
	case "young":
		p.w(`<path d="M2 16V3M6 16V3M10 16V3M14 16V3M18 16V3M22 16V3" stroke="var(--dusk-mid)" stroke-width="1.4"/><path d="M0 3H26" stroke="var(--dusk)" stroke-width="2.2"/>`)
	case "offered":
		p.w(`<path d="M0 8H26" stroke="var(--ink)" stroke-width="1.5" stroke-dasharray="6 3"/>`)
	}
	p.w(`</svg>`)
	return p.html()
}
