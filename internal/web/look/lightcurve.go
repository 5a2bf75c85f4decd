package look

import (
	"html/template"
	"math"
	"strconv"
)

// LightRun is a run of days with the same hours of light.
type LightRun struct {
	From, To int // days, both included
	Hours    float64
}

// LightCurve is the light of a lamp circuit along the days.
type LightCurve struct {
	Plan     []LightRun // as planned
	Real     []LightRun // as the timer was really set, up to today
	Daylight []Point    // hours between sunrise and sunset outside
	Rather   []LightRun // another plan set beside it, such as one that starts late
}

// LightScale lays days and hours into a picture. A picture with an axis of its own hands its own measures in.
type LightScale struct {
	From, To    int     // days shown
	Left, Px    float64 // x of the first day, pixels a day
	Top, Height float64 // of the band
	Low, High   float64 // hours at its foot and at its top
}

// X is where a day begins, Y where a number of hours stands, held within the band.
func (z LightScale) X(day float64) float64 { return z.Left + (day-float64(z.From))*z.Px }

// Y is where a number of hours stands, held within the band.
func (z LightScale) Y(hours float64) float64 {
	h := math.Min(math.Max(hours, z.Low), z.High)
	return z.Top + z.Height*(z.High-h)/(z.High-z.Low)
}

// LightHours returns whole even hours that hold all curves, 6 to 16 at the least.
func LightHours(curves ...LightCurve) (low, high float64) {
	low, high = 6, 16
	take := func(h float64) { low, high = math.Min(low, 2*math.Floor(h/2)), math.Max(high, 2*math.Ceil(h/2)) }
	for _, c := range curves {
		for _, runs := range [][]LightRun{c.Plan, c.Real, c.Rather} {
			for _, r := range runs {
				take(r.Hours)
			}
		}
		for _, d := range c.Daylight {
			take(d.Value)
		}
	}
	return low, high
}

// LightAreas draws the curve as areas: daylight grey behind, lamps as really set full, lamps planned for the days without a
// real setting hatched. The plan is a dashed line wherever the real lamps are not as planned; daylight is dotted.
func LightAreas(v LightCurve, z LightScale) template.HTML {
	var p pen
	s := scale{from: z.From, to: z.To, left: z.Left, px: z.Px}
	foot := z.Y(z.Low)
	sun := within(v.Daylight, s)
	if len(sun) > 1 {
		p.w(`<path d="`, line(sun, s, z.Y), `V`, foot, `H`, s.mid(sun[0].Day), `z" fill="var(--sunk)"/>`)
	}
	for _, joined := range z.joined(v.Real) {
		stair := z.stair(joined)
		p.w(`<path d="`, stair, `V`, foot, `H`, z.X(float64(joined[0].From)), `z" fill="var(--lamp-soft)"/><path class="lit" d="`, stair, `" fill="none" stroke="var(--lamp)" stroke-width="3"/>`)
	}
	for _, r := range z.cut(without(v.Plan, v.Real)) {
		x, y := z.X(float64(r.From)), z.Y(r.Hours)
		if d := hatch(x, y, z.X(float64(r.To)+1)-x, foot-y, planStep); d != "" {
			p.w(`<path class="tolight" d="`, d, `" fill="none" stroke="var(--lamp)" stroke-width="1.2"/>`)
		}
	}
	if len(sun) > 1 {
		p.w(`<path d="`, line(sun, s, z.Y), `" fill="none" stroke="var(--ink-2)" stroke-width="1.5" stroke-dasharray="2 3"/>`)
	}
	for _, joined := range z.joined(apart(v.Plan, v.Real)) {
		p.w(`<path d="`, z.stair(joined), `" fill="none" stroke="var(--ink)" stroke-width="1.5" stroke-dasharray="6 3"/>`)
	}
	for _, joined := range z.joined(v.Rather) {
		p.w(`<path d="`, z.stair(joined), `" fill="none" stroke="var(--dusk)" stroke-width="2.2" stroke-dasharray="1.5 2.5"/>`)
	}
	return p.html()
}

// cut keeps what lies in the picture.
func (z LightScale) cut(runs []LightRun) []LightRun {
	var out []LightRun
	for _, r := range runs {
		if r.From, r.To = max(r.From, z.From), min(r.To, z.To); r.From <= r.To {
			out = append(out, r)
		}
	}
	return out
}

// joined parts runs where days are missing between them.
func (z LightScale) joined(runs []LightRun) [][]LightRun {
	var out [][]LightRun
	for _, r := range z.cut(runs) {
		if n := len(out); n > 0 && out[n-1][len(out[n-1])-1].To+1 == r.From {
			out[n-1] = append(out[n-1], r)
		} else {
			out = append(out, []LightRun{r})
		}
	}
	return out
}

// stair is the path along runs without a gap.
func (z LightScale) stair(runs []LightRun) string {
	var p pen
	for i, r := range runs {
		if i == 0 {
			p.w(`M`, z.X(float64(r.From)), ` `, z.Y(r.Hours))
		} else {
			p.w(`V`, z.Y(r.Hours))
		}
		p.w(`H`, z.X(float64(r.To)+1))
	}
	return p.b.String()
}

// without takes the days of other runs out of runs.
func without(runs, other []LightRun) []LightRun {
	out := runs
	for _, o := range other {
		var left []LightRun
		for _, r := range out {
			if o.To < r.From || o.From > r.To {
				left = append(left, r)
				continue
			}
			if r.From < o.From {
				left = append(left, LightRun{r.From, o.From - 1, r.Hours})
			}
			if r.To > o.To {
				left = append(left, LightRun{o.To + 1, r.To, r.Hours})
			}
		}
		out = left
	}
	return out
}

// apart leaves out of a plan the days on which the real lamps were as planned.
func apart(plan, real []LightRun) []LightRun {
	var out []LightRun
	for _, r := range plan {
		var same []LightRun
		for _, x := range real {
			if x.Hours == r.Hours {
				same = append(same, x)
			}
		}
		out = append(out, without([]LightRun{r}, same)...)
	}
	return out
}

// LightView is a circuit's light as a picture of its own.
type LightView struct {
	LightCurve
	From, To   int // days shown
	Today      int
	TodayLabel string // "13 Jan today"
	Months     []Tick
	Label      string // the picture in words; the figures also stand in text
}

// Measures of the picture, in pixels.
const (
	lightPicTop    = 26.0
	lightPicHeight = 190.0
	lightPicAxis   = 40.0
	planStep       = 9.0 // between the slanted lines of light that is planned
)

// LightPicture draws a year of lamps: areas, months, hours, and today's line. It scrolls in its sheet on a narrow screen.
func LightPicture(v LightView) template.HTML {
	if v.To < v.From {
		return ""
	}
	days := float64(v.To - v.From + 1)
	z := LightScale{From: v.From, To: v.To, Left: lightPicAxis, Px: math.Max(1.9, 1040/days), Top: lightPicTop, Height: lightPicHeight}
	z.Low, z.High = LightHours(v.LightCurve)
	width, foot := z.X(float64(v.To)+1)+6, z.Y(z.Low)
	s := scale{from: z.From, to: z.To, left: z.Left, px: z.Px}
	var p pen
	p.w(`<div class="scroll" tabindex="0" role="group" aria-label="Lamp hours through the year, scrolls sideways"`)
	if s.inside(v.Today, v.Today) {
		p.w(` data-scroll-to="`, s.mid(v.Today), `"`)
	}
	p.w(`>`)
	p.picture("light", width, foot+34, "img", v.Label)
	for h := z.Low; h <= z.High; h += 2 {
		p.w(`<path d="M`, z.Left, ` `, z.Y(h), `H`, width, `" stroke="var(--line)"/>`)
		p.text(z.Left-6, z.Y(h)+4, "end", "l", strconv.Itoa(int(h))+" h")
	}
	p.w(LightAreas(v.LightCurve, z))
	for _, m := range v.Months {
		if s.inside(m.Day, m.Day) {
			x := z.X(float64(m.Day))
			p.w(`<path d="M`, x, ` 4V`, foot, `" stroke="var(--line)"/>`)
			p.text(x+5, 15, "", "l", m.Label)
		}
	}
	if s.inside(v.Today, v.Today) {
		p.w(`<path d="M`, s.mid(v.Today), ` 18V`, foot+6, `" stroke="var(--ink)" stroke-width="2"/>`)
		for h := z.Low + 2; h < z.High; h += 2 { // where the picture scrolls, the axis is out of sight
			p.text(s.mid(v.Today)+6, z.Y(h)-3, "", "l phoneonly", strconv.Itoa(int(h))+" h")
		}
		p.todayPlate(s.mid(v.Today), foot+6, v.TodayLabel, width)
	}
	p.w(`</svg></div>`)
	return p.html()
}

// LightKey draws one entry of the key of a light picture: "real", "plan", "daylight" or "rather". An unknown name draws
// nothing.
func LightKey(name string) template.HTML {
	var p pen
	p.w(`<svg width="34" height="20" viewBox="0 0 34 20" aria-hidden="true">`)
	switch name {
	case "real":
		p.w(`<rect x="2" y="5" width="30" height="12" fill="var(--lamp-soft)"/><path class="lit" d="M2 5H32" stroke="var(--lamp)" stroke-width="3"/>`)
	case "plan":
		p.w(`<path class="tolight" d="`, hatch(2, 5, 30, 12, planStep), `" fill="none" stroke="var(--lamp)" stroke-width="1.2"/><path d="M2 5H32" stroke="var(--ink)" stroke-width="1.5" stroke-dasharray="6 3"/>`)
	case "daylight":
		p.w(`<rect x="2" y="5" width="30" height="12" fill="var(--sunk)"/><path d="M2 5H32" stroke="var(--ink-2)" stroke-width="1.5" stroke-dasharray="2 3"/>`)
	case "rather":
		p.w(`<path d="M2 11H32" stroke="var(--dusk)" stroke-width="2.2" stroke-dasharray="1.5 2.5"/>`)
	default:
		return ""
	}
	p.w(`</svg>`)
	return p.html()
}
