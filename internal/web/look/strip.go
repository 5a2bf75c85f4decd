package look

import (
	"fmt"
	"html/template"
)

// dayMinutes is the length of the strip.
const dayMinutes = 24 * 60

// StripView is the light of one day. Times are minutes after midnight of the wall clock in the room.
type StripView struct {
	On, Off     int  // lamps on and off; equal means that no lamps burn. Off before On runs past midnight
	DawnMinutes int  // how long the lamps take to come up, within On to Off
	DuskMinutes int  // how long they take to go down, within On to Off
	Now         int  // the time now; less than 0 leaves the bar out
	Unknown     bool // no lamp plan is written down
}

func (v StripView) lit() int {
	if v.Unknown {
		return 0
	}
	return wrap(v.Off - v.On)
}

func wrap(minutes int) int { return ((minutes % dayMinutes) + dayMinutes) % dayMinutes }

// State says what the lamps do now: "before", "rising", "on", "dimming", "off", or "" when that is not known.
func (v StripView) State() string {
	lit := v.lit()
	if lit == 0 || v.Now < 0 {
		return ""
	}
	since := wrap(v.Now - v.On)
	switch {
	case since >= lit && v.Now < v.On:
		return "before"
	case since >= lit:
		return "off"
	case since >= lit-v.DuskMinutes:
		return "dimming"
	case since < v.DawnMinutes:
		return "rising"
	}
	return "on"
}

// Words says the strip in a sentence, as its label.
func (v StripView) Words() string {
	now := ""
	if v.Now >= 0 {
		now = " Now " + Clock(v.Now)
		switch v.State() {
		case "before":
			now += ", before lamps on"
		case "rising":
			now += ", lamps coming up"
		case "on":
			now += ", lamps on"
		case "dimming":
			now += ", lamps dimming"
		case "off":
			now += ", lamps off"
		}
		now += "."
	}
	if v.Unknown {
		return "No lamp times written down." + now
	}
	if v.lit() == 0 {
		return "No lamps." + now
	}
	s := "Lamps on " + Clock(v.On) + " to " + Clock(v.Off)
	if v.DuskMinutes > 0 {
		s += ", dimming from " + Clock(v.Off-v.DuskMinutes)
	}
	return s + "." + now
}

// Clock prints minutes after midnight as 06:48.
func Clock(minutes int) string {
	m := wrap(minutes)
	return fmt.Sprintf("%02d:%02d", m/60, m%60)
}

// Strip draws the day from midnight to midnight: light as it burns, its ramps as steps, ticks at 6, 12
// and 18, a bar for now. Its width follows the style sheet.
func Strip(v StripView) template.HTML {
	var p pen
	p.w(`<svg class="strip" width="230" height="24"`)
	p.named(v.Words())
	p.w(`><rect y="4" width="100%" height="16" rx="3" fill="var(--sunk)"/>`)
	at := func(minutes float64) string { return num(minutes/dayMinutes*100) + "%" }
	// block draws light from a to b, of a height from 0 to 1, cut at midnight
	block := func(a, b, height float64) {
		h := 15 * height
		for _, shift := range []float64{0, -dayMinutes} {
			x1, x2 := max(a+shift, 0), min(b+shift, dayMinutes)
			if x2 > x1 {
				p.w(`<rect x="`, at(x1), `" y="`, 19.5-h, `" width="`, at(x2-x1), `" height="`, h, `" fill="var(--lamp)"/>`)
			}
		}
	}
	if lit := v.lit(); lit > 0 {
		const steps = 5
		on := float64(wrap(v.On))
		dawn := float64(min(max(v.DawnMinutes, 0), lit))
		dusk := float64(min(max(v.DuskMinutes, 0), lit-int(dawn)))
		end := on + float64(lit)
		for i := range steps {
			if dawn > 0 {
				block(on+dawn*float64(i)/steps, on+dawn*float64(i+1)/steps, (float64(i)+0.5)/steps)
			}
			if dusk > 0 {
				block(end-dusk*float64(i+1)/steps, end-dusk*float64(i)/steps, (float64(i)+0.5)/steps)
			}
		}
		block(on+dawn, end-dusk, 1)
	}
	for _, x := range []string{"25%", "50%", "75%"} {
		p.w(`<rect x="`, x, `" y="4" width="1" height="16" fill="var(--ground)" opacity=".7"/>`)
	}
	p.w(`<rect y="4.5" width="100%" height="15" rx="2.5" fill="none" stroke="var(--line-2)"/>`)
	if v.Now >= 0 {
		p.w(`<svg data-nowbar="" x="`, at(float64(wrap(v.Now))), `" overflow="visible"><rect x="-3" width="6" height="24" rx="2" fill="var(--ground)"/>`,
			`<rect x="-1.5" width="3" height="24" rx="1.5" fill="var(--ink)"/></svg>`)
	}
	p.w(`</svg>`)
	return p.html()
}

// Peg is the chance of one day.
type Peg struct {
	Label  string // "13", or "13 Jan" where there is room
	Chance int    // in 100
	Today  bool
	Top    bool // the likeliest day
}

// rareChance is the chance in 100 under which a peg is only dotted.
const rareChance = 6

// Pegs hangs a row of day pegs from a rail: the longer, the likelier. The likeliest is solid, others
// hatched, rare ones dotted; today is a dot on the rail. The label should say the range and its odds;
// the chance of each day is added.
func Pegs(pegs []Peg, label string) template.HTML {
	if len(pegs) == 0 {
		return ""
	}
	top := 1
	for _, g := range pegs {
		top = max(top, g.Chance)
	}
	words := label
	for _, g := range pegs {
		if words != "" {
			words += "; "
		}
		words += fmt.Sprintf("%s: %d in 100", g.Label, g.Chance)
	}
	var p pen
	p.w(`<svg class="pegs" width="100%" height="78"`)
	p.named(words)
	p.w(`><rect y="18" width="100%" height="2" fill="var(--ink)"/>`)
	n := float64(len(pegs))
	for i, g := range pegs {
		p.w(`<svg x="`, num((float64(i)+0.5)/n*100)+"%", `" overflow="visible">`)
		h := 6 + 34*float64(max(g.Chance, 0))/float64(max(top, 30))
		half := 8.0
		if g.Top {
			half = 10
		}
		r := min(half, h)
		shape := num(-half) + " 20v" + num(h-r) + "a" + num(half) + " " + num(r) + " 0 0 0 " + num(2*half) + " 0V20"
		switch {
		case g.Top:
			p.w(`<path d="M`, shape, `z" fill="var(--dusk)"/>`)
		case g.Chance < rareChance:
			p.w(`<path d="M`, shape, `" fill="var(--surface)" stroke="var(--dusk)" stroke-width="1.5" stroke-dasharray="1.5 2"/>`)
		default:
			p.w(`<path d="M`, shape, `z" fill="var(--surface)"/>`)
			if h > r {
				p.w(`<path d="`, hatch(-half+1, 20, 2*half-2, h-r*0.55, 5), `" stroke="var(--dusk-mid)" stroke-width="1.5"/>`)
			}
			p.w(`<path d="M`, shape, `" fill="none" stroke="var(--dusk)" stroke-width="1.5"/>`)
		}
		if g.Today {
			p.w(`<circle cy="19" r="6.5" fill="var(--surface)"/><circle cy="19" r="4.6" fill="var(--ink)"/>`)
			p.text(0, 9, "middle", "s", "today")
		}
		class := "l"
		if g.Top {
			class = "g s"
		}
		p.text(0, 73, "middle", class, g.Label)
		p.w(`</svg>`)
	}
	p.w(`</svg>`)
	return p.html()
}
