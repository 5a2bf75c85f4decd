package look

import (
	"html/template"
	"strings"
)

// Stage says what a nest box holds when neither eggs nor young are named.
type Stage string

// The stages of a nest box. Nest is a finished cup, empty or with what the counts say.
const (
	Resting  Stage = "resting"  // the pair rests, no box hangs
	Empty    Stage = "empty"    // a box hangs, nothing is in it
	Building Stage = "building" // a nest is being built
	Nest     Stage = "nest"     // a finished cup
)

// EggState says what is known of one egg. The values are the words that a candling entry stores; the
// zero value is an egg that was not candled.
type EggState string

// The states of an egg, as a candling writes them.
const (
	NotYet      EggState = ""              // not candled
	Full        EggState = "fertile"       // development seen
	Clear       EggState = "clear"         // no development seen
	EarlyDead   EggState = "early dead"    // stopped early
	DeadInShell EggState = "dead in shell" // stopped late
	Cracked     EggState = "cracked"       // the shell is broken
)

// class is the state as a part of a class name.
func (s EggState) class() string {
	if s == NotYet {
		return "not"
	}
	return strings.ReplaceAll(string(s), " ", "-")
}

// EggStates lists the states in the order in which a candling row offers them.
var EggStates = []EggState{NotYet, Full, Clear, EarlyDead, DeadInShell, Cracked}

// Words returns the state as the pages say it.
func (s EggState) Words() string {
	switch s {
	case Full:
		return "full"
	case Clear:
		return "clear"
	case EarlyDead:
		return "early dead"
	case DeadInShell:
		return "dead in shell"
	case Cracked:
		return "cracked"
	}
	return "not yet"
}

// Egg is one egg in a box.
type Egg struct{ State EggState }

// Eggs returns n eggs in one state.
func Eggs(n int, state EggState) []Egg {
	out := make([]Egg, 0, max(n, 0))
	for range n {
		out = append(out, Egg{State: state})
	}
	return out
}

// BoxView is what a nest box shows. Counts are of what was seen; nothing here is a guess.
type BoxView struct {
	Stage      Stage
	Eggs       []Egg
	Chicks     int  // chicks alive in the box
	Ringed     int  // how many of them wear a ring
	Dead       int  // chicks found dead
	Out        int  // young that left the box and are still in the cage
	MaterialIn bool // nest material lies in an empty box
}

// mostShown is how many eggs, chicks or birds a box draws; the text beside it has the number.
const mostShown = 8

// Words says in words what Box draws, such as "3 chicks, 1 egg not candled, 1 dead".
func (v BoxView) Words() string {
	var parts []string
	if v.Chicks > 0 {
		s := plural(v.Chicks, "chick", "chicks")
		switch {
		case v.Ringed >= v.Chicks:
			s += " ringed"
		case v.Ringed > 0:
			s += ", " + plural(v.Ringed, "ringed", "ringed")
		}
		parts = append(parts, s)
	}
	counts := map[EggState]int{}
	for _, e := range v.Eggs {
		counts[e.known()]++
	}
	for _, state := range []EggState{Full, NotYet, Clear, EarlyDead, DeadInShell, Cracked} {
		n := counts[state]
		if n == 0 {
			continue
		}
		switch state {
		case NotYet:
			parts = append(parts, plural(n, "egg", "eggs")+" not candled")
		case Full, Clear, Cracked:
			parts = append(parts, plural(n, state.Words()+" egg", state.Words()+" eggs"))
		default:
			parts = append(parts, plural(n, "egg", "eggs")+" "+state.Words())
		}
	}
	if v.Out > 0 {
		parts = append(parts, plural(v.Out, "young bird out", "young out"))
	}
	if v.Dead > 0 {
		parts = append(parts, plural(v.Dead, "dead", "dead"))
	}
	if len(parts) > 0 {
		return strings.Join(parts, ", ")
	}
	switch v.Stage {
	case Resting:
		return "resting"
	case Building:
		return "building"
	case Nest:
		return "nest ready, no eggs"
	}
	if v.MaterialIn {
		return "box empty, material in"
	}
	return "box empty"
}

func (e Egg) known() EggState {
	switch e.State {
	case Full, Clear, EarlyDead, DeadInShell, Cracked:
		return e.State
	}
	return NotYet
}

// Box draws the nest box, cut away in front, its roof bar reaching left to the cage. Sizes are 84 to
// show, 64 on a card, 46 on a tile, 26 in a key; at 26 the counts must also stand in text. An empty
// label hides the picture from screen readers: use it where the words stand beside it.
func Box(v BoxView, size int, label string) template.HTML {
	var p pen
	p.glyph("gl", size, 48, label)
	drawBox(&p, v)
	p.w(`</svg>`)
	return p.html()
}

func drawBox(p *pen, v BoxView) {
	if v.Out > 0 {
		drawOut(p, v)
		return
	}
	holds := v.Chicks > 0 || len(v.Eggs) > 0
	if v.Stage == Resting && !holds {
		p.w(`<rect x="4" y="8" width="40" height="36" rx="1.5" fill="none" stroke="var(--line-2)" stroke-width="1.4" stroke-dasharray="3 3"/>`,
			`<path d="M0 7.5h10" stroke="var(--line-2)" stroke-width="2.4" stroke-linecap="round"/>`)
		drawDead(p, v.Dead, 40)
		return
	}
	p.w(`<rect x="4" y="8" width="40" height="36" rx="1.5" fill="var(--box)" stroke="var(--ink)" stroke-width="1.6"/>`,
		`<path d="M0 7.5h47" stroke="var(--ink)" stroke-width="3" stroke-linecap="round"/>`)
	switch {
	case holds || v.Stage == Nest:
		drawChicks(p, v.Chicks, len(v.Eggs) > 0)
		p.w(`<path d="M8.5 30.5C10.5 43.5 37.5 43.5 39.5 30.5" fill="none" stroke="var(--ink)" stroke-width="2" stroke-linecap="round"/>`)
		drawEggs(p, v.Eggs, v.Chicks > 0)
	case v.Stage == Building:
		p.w(`<path d="M9 31C11 43 37 43 39 31M11 30l8 9M16 26l7 13M24 24l-2 15M31 25l-6 14M38 28l-10 11M10 35l30-3M13 39l24-1" fill="none" stroke="var(--ink)" stroke-width="1.4" stroke-linecap="round"/>`)
	default:
		p.w(`<path d="M9 38h30" stroke="var(--ink)" stroke-width="1.6" stroke-dasharray="1.5 3.2" stroke-linecap="round"/>`)
		if v.MaterialIn {
			p.w(`<path d="M13 37l6-6M20 37l3-8M28 37l-2-7M35 37l-7-5" fill="none" stroke="var(--ink)" stroke-width="1.4" stroke-linecap="round"/>`)
		}
	}
	drawRinged(p, min(v.Ringed, v.Chicks, mostShown))
	drawDead(p, v.Dead, 40)
}

// drawOut draws a box that young have left: the box shrinks, its cup shows what is still inside, and
// each young bird sits on the perch below.
func drawOut(p *pen, v BoxView) {
	p.w(`<rect x="4" y="4" width="40" height="21" rx="1.5" fill="var(--box)" stroke="var(--ink)" stroke-width="1.6"/>`,
		`<path d="M0 3.5h47" stroke="var(--ink)" stroke-width="3" stroke-linecap="round"/>`)
	inside := min(v.Chicks, mostShown)
	for i := range inside {
		step := spread(inside, 30, 8)
		x := 24 + (float64(i)-float64(inside-1)/2)*step
		drawChick(p, x, 18, x, 13.5, min(7, step), 0.62)
	}
	p.w(`<path d="M9.5 14.5C11.5 23.5 36.5 23.5 38.5 14.5" fill="none" stroke="var(--ink)" stroke-width="1.8" stroke-linecap="round"/>`)
	if n := min(len(v.Eggs), mostShown); n > 0 {
		step := spread(n, 26, 7.4)
		rx := min(3, step/2-0.4)
		eggRow(p, v.Eggs[:n], 16.2, step, rx, rx*1.24)
	}
	p.w(`<path d="M1 40.5h46" stroke="var(--ink)" stroke-width="1.8" stroke-linecap="round"/>`)
	n := min(v.Out, mostShown)
	step := spread(n, 46, 10.6)
	scale := min(1.0, step/9.4)
	for i := range n {
		x := 24 + (float64(i)-float64(n-1)/2)*step
		p.w(`<path transform="translate(`, x, ` 40.5)`)
		if scale < 1 {
			p.w(` scale(`, scale, `)`)
		}
		p.w(`" d="`, birdPath, `" fill="var(--ink)"/>`)
	}
	drawDead(p, v.Dead, 19.5)
}

// birdPath is a finch on its perch, side on, facing right; the origin is where its feet hold the
// perch and the tail hangs below it.
const birdPath = `M5-9.4 2.9-10.4C2.3-12.5-1-12.7-1.7-10.2-3.1-8-4.1-5.2-3.7-2L-5.7 4.3-3.8 4.8-1.3.7C1.7-.1 3.4-3.6 2.7-6.9L2.9-8.3z`

// spread returns the distance between n things on a width, no more than most.
func spread(n int, width, most float64) float64 {
	if n < 1 {
		return most
	}
	return min(most, width/float64(n))
}

// drawChicks draws each chick as a stretched neck, a head and a wide open beak, so that begging young
// and a heap of full eggs cannot be taken for one another across a room.
func drawChicks(p *pen, n int, eggs bool) {
	n = min(n, mostShown)
	step := spread(n, 34, 9.4)
	wide := min(9.0, step*0.98)
	if n > 4 {
		wide = min(8.6, step*1.55)
	}
	low := 26.0
	if eggs {
		low = 23
	}
	for i := range n {
		x := 24 + (float64(i)-float64(n-1)/2)*step
		y := low
		if n > 4 && i%2 == 1 {
			y -= 6.5
		}
		drawChick(p, 24+(x-24)*0.62, 38, x, y, wide, 1)
	}
}

// drawChick draws one chick from its foot to its head; wide is the width of the gape.
func drawChick(p *pen, footX, footY, x, y, wide, scale float64) {
	p.w(`<path d="M`, footX, ` `, footY, `L`, x, ` `, y, `" stroke="var(--ink)" stroke-width="`, 2.6*scale, `" stroke-linecap="round"/>`,
		`<circle cx="`, x, `" cy="`, y, `" r="`, 3.2*scale, `" fill="var(--ink)"/>`,
		`<path d="M`, x-wide/2, ` `, y-9*scale, `L`, x, ` `, y-0.4*scale, ` `, x+wide/2, ` `, y-9*scale, ` `, x, ` `, y-5.2*scale,
		`z" fill="var(--beak)" stroke="var(--box)" stroke-width="`, 0.7*scale, `" stroke-linejoin="round"/>`)
}

// order puts the eggs as the cup shows them: full, not candled, clear, then those that stopped.
func order(eggs []Egg) []Egg {
	out := make([]Egg, 0, len(eggs))
	for _, state := range []EggState{Full, NotYet, Clear, EarlyDead, DeadInShell, Cracked} {
		for _, e := range eggs {
			if e.known() == state {
				out = append(out, e)
			}
		}
	}
	return out
}

func drawEggs(p *pen, eggs []Egg, chicks bool) {
	eggs = order(eggs)
	if len(eggs) > mostShown {
		eggs = eggs[:mostShown]
	}
	n := len(eggs)
	switch {
	case n == 0:
	case chicks:
		step := spread(n, 29, 8.6)
		rx := min(4, step/2-0.3)
		eggRow(p, eggs, 33.6, step, rx, min(4.6, rx*1.3))
	case n <= 3:
		eggRow(p, eggs, 31, 8.8, 4, 5.2)
	default:
		bottom := 3
		if n > 6 {
			bottom = 4
		}
		step, rx := 8.8, 4.0
		if bottom == 4 {
			step, rx = 7.8, 3.6
		}
		eggRow(p, eggs[:n-bottom], 20.4, step, rx, 5.1)
		eggRow(p, eggs[n-bottom:], 31, step, rx, 5.1)
	}
}

// eggRow draws a row of eggs around the middle of the box.
func eggRow(p *pen, eggs []Egg, cy, step, rx, ry float64) {
	for i, e := range eggs {
		drawEgg(p, e.known(), 24+(float64(i)-float64(len(eggs)-1)/2)*step, cy, rx, ry, "var(--box)")
	}
}

// drawEgg draws one egg: solid when full, pale when not candled, bare with a slash when clear, and
// with a cross or a crack when it stopped. The ground is the fill behind it.
func drawEgg(p *pen, state EggState, cx, cy, rx, ry float64, ground string) {
	line := rx * 0.38
	shell := oval(cx, cy, rx, ry)
	switch state {
	case Full:
		p.w(`<path d="`, oval(cx, cy, rx+line/2, ry+line/2), `" fill="var(--ink)" stroke="`, ground, `" stroke-width="`, line*0.55, `"/>`)
		return
	case Clear:
		p.w(`<path d="`, shell, `M`, cx-rx*1.05, ` `, cy+ry*0.98, `L`, cx+rx*1.05, ` `, cy-ry*0.98,
			`" fill="none" stroke="var(--ink)" stroke-width="`, line*0.85, `" stroke-linecap="round"/>`)
	case EarlyDead:
		p.w(`<path d="`, shell, `" fill="none" stroke="var(--ink)" stroke-width="`, line*0.85, `"/><path d="`, crossAt(cx, cy, rx*0.5),
			`" stroke="var(--beak)" stroke-width="`, line, `" stroke-linecap="round"/>`)
	case DeadInShell:
		p.w(`<path d="`, shell, `" fill="var(--ink)" stroke="var(--ink)" stroke-width="`, line*0.85, `"/><path d="`, crossAt(cx, cy, rx*0.58),
			`" stroke="`, ground, `" stroke-width="`, line*1.1, `" stroke-linecap="round"/>`)
	case Cracked:
		p.w(`<path d="`, shell, `M`, cx-rx, ` `, cy, `l`, rx*0.5, ` `, -ry*0.3, ` `, rx*0.5, ` `, ry*0.5, ` `, rx*0.5, ` `, -ry*0.5, ` `, rx*0.5, ` `, ry*0.3,
			`" fill="none" stroke="var(--ink)" stroke-width="`, line*0.85, `" stroke-linejoin="round"/>`)
	default:
		p.w(`<path d="`, shell, `" fill="var(--surface)" stroke="var(--ink)" stroke-width="`, line, `"/>`)
	}
}

func crossAt(cx, cy, r float64) string {
	var p pen
	p.w(`M`, cx-r, ` `, cy-r, `l`, 2*r, ` `, 2*r, `m0 `, -2*r, `l`, -2*r, ` `, 2*r)
	return p.b.String()
}

func drawRinged(p *pen, n int) {
	if n < 1 {
		return
	}
	step := spread(n, 36, 6)
	p.w(`<path d="`)
	for i := range n {
		p.w(`M`, 24+(float64(i)-float64(n-1)/2)*step-step*0.34, ` 41.8h`, step*0.68)
	}
	p.w(`" stroke="var(--ink)" stroke-width="2.6"/>`)
}

func drawDead(p *pen, n int, y float64) {
	if n < 1 {
		return
	}
	p.w(`<path d="M6.5 `, y-2.5, `l5 5m0-5l-5 5" stroke="var(--surface)" stroke-width="4.4" stroke-linecap="round"/>`,
		`<path d="M6.5 `, y-2.5, `l5 5m0-5l-5 5" stroke="var(--beak)" stroke-width="2.2" stroke-linecap="round"/>`)
}

// EggGlyph draws one egg as a candling row shows it, with the height in pixels.
func EggGlyph(state EggState, height int, label string) template.HTML {
	var p pen
	p.w(`<svg class="gl" width="`, height*34/42, `" height="`, height, `" viewBox="0 0 34 42"`)
	p.named(label)
	p.w(`>`)
	drawEgg(&p, Egg{State: state}.known(), 17, 21, 12.6, 16.6, "var(--box)")
	p.w(`</svg>`)
	return p.html()
}

// EggCellView is one egg of a candling row: a select that eggs.js turns into a tap.
type EggCellView struct {
	Name   string // name of the form field
	ID     string // id of the select, unique on the page
	Number string // how the egg is called: "1", or its mark
	State  EggState
}

// EggCell returns the cell of one egg for a row of class "eggs". The picture follows the select by
// CSS alone; with eggs.js a tap on the picture goes round not yet, full, clear.
func EggCell(v EggCellView) template.HTML {
	var p pen
	state := Egg{State: v.State}.known()
	p.w(`<div class="egg" data-egg=""><span class="eggpic">`)
	for _, s := range EggStates {
		p.w(`<span class="eg eg-`, s.class(), `">`, EggGlyph(s, 42, ""), `</span>`)
	}
	p.w(`</span><label class="vh" for="`, esc(v.ID), `">Egg `, esc(v.Number), `</label><select id="`, esc(v.ID), `" name="`, esc(v.Name), `">`)
	for _, s := range EggStates {
		p.w(`<option value="`, string(s), `"`)
		if s == state {
			p.w(` selected="selected"`)
		}
		p.w(`>`, s.Words(), `</option>`)
	}
	p.w(`</select></div>`)
	return p.html()
}
