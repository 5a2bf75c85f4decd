package look

import "html/template"

// Mini is the state of one cage on the mini wall of a round.
type Mini string

// The states of a cage on the mini wall.
const (
	MiniNone   Mini = ""      // a cage with no job
	MiniGap    Mini = "gap"   // no cage hangs here
	MiniDone   Mini = "done"  // its job is done
	MiniNow    Mini = "now"   // the one in hand
	MiniToDo   Mini = "todo"  // a job to come
	MiniLate   Mini = "late"  // over time
	MiniUnsure Mini = "look"  // not sure, go and look
	MiniToday  Mini = "today" // due today
)

// MiniWall draws banks of cages side by side as they hang: banks, then rows from the top, then cages
// from the left. Rows may differ in length. The label says in words how far the round is.
func MiniWall(banks [][][]Mini, label string) template.HTML {
	const cw, ch, gap, between = 26.0, 13.0, 3.0, 10.0
	width, rows := 0.0, 0
	type bank struct{ x float64 }
	at := make([]bank, len(banks))
	for b, bankRows := range banks {
		if b > 0 {
			width += between
		}
		at[b].x = width
		cols := 0
		for _, row := range bankRows {
			cols = max(cols, len(row))
		}
		rows = max(rows, len(bankRows))
		if cols > 0 {
			width += float64(cols)*(cw+gap) - gap
		}
	}
	if rows == 0 || width == 0 {
		return ""
	}
	height := float64(rows)*(ch+gap) - gap
	var p pen
	// a margin of 4 holds the outer ring of the cage in hand
	p.w(`<svg class="mini" width="`, width+8, `" viewBox="-4 -4 `, width+8, ` `, height+8, `"`)
	p.named(label)
	p.w(`>`)
	for b, bankRows := range banks {
		for r, row := range bankRows {
			for c, state := range row {
				drawMini(&p, state, at[b].x+float64(c)*(cw+gap), float64(r)*(ch+gap), cw, ch)
			}
		}
	}
	p.w(`</svg>`)
	return p.html()
}

func drawMini(p *pen, state Mini, x, y, w, h float64) {
	rect := func(inset float64, rest string) {
		p.w(`<rect x="`, x+inset, `" y="`, y+inset, `" width="`, w-2*inset, `" height="`, h-2*inset, `" rx="2" `, rest, `/>`)
	}
	switch state {
	case MiniGap:
	case MiniDone:
		rect(0, `fill="var(--done)"`)
	case MiniNow:
		rect(-2.75, `fill="var(--ground)" stroke="var(--beak)" stroke-width="2"`)
		rect(0, `fill="var(--beak)"`)
	case MiniToDo:
		rect(1, `fill="var(--surface)" stroke="var(--ink)" stroke-width="2"`)
	case MiniToday:
		rect(1, `fill="var(--beak-soft)" stroke="var(--beak)" stroke-width="2"`)
	case MiniLate:
		rect(0, `fill="var(--beak)"`)
		p.w(`<path d="M`, x+10, ` `, y+2.5, `v8M`, x+10, ` `, y+3, `l7 2.5-7 2.5z" stroke="var(--on-beak)" stroke-width="1.4" fill="var(--on-beak)"/>`)
	case MiniUnsure:
		rect(1, `fill="none" stroke="var(--dusk)" stroke-width="2" stroke-dasharray="3 2"`)
	default:
		rect(0.5, `fill="none" stroke="var(--line)"`)
	}
}

// perchRow is the most places that one perch shows.
const perchRow = 24

// Perch draws a flight: a bird on each place taken, a dashed bird for each expected, a tick for each
// free place. Birds beyond the capacity sit past the last tick in the colour that needs you. A
// capacity of 0 means that no limit is set.
func Perch(taken, expected, capacity int, label string) template.HTML {
	taken, expected, capacity = max(taken, 0), max(expected, 0), max(capacity, 0)
	places := max(taken+expected, capacity)
	if places == 0 {
		places = perchRow / 2
	}
	const step, rowHeight = 13.0, 26.0
	// even rows; birds past the capacity go on to further rows of the same length
	held := places
	if capacity > 0 {
		held = capacity
	}
	short := (held + perchRow - 1) / perchRow
	perRow := (held + short - 1) / short
	rows := (places + perRow - 1) / perRow
	width := float64(min(places, perRow))*step + 4
	var p pen
	p.w(`<svg class="perch" width="`, width, `" viewBox="0 0 `, width, ` `, float64(rows)*rowHeight, `"`)
	p.named(label)
	p.w(`>`)
	for r := range rows {
		inRow := min(perRow, places-r*perRow)
		base := float64(r)*rowHeight + 18
		p.w(`<path d="M0 `, base, `h`, float64(inRow)*step+4, `" stroke="var(--ink)" stroke-width="2"/>`)
		for i := range inRow {
			place := r*perRow + i
			x := 2 + (float64(i)+0.5)*step
			over := capacity > 0 && place >= capacity
			colour := "var(--ink)"
			if over {
				colour = "var(--beak)"
			}
			switch {
			case place < taken:
				p.w(`<path transform="translate(`, x, ` `, base, `)" d="`, birdPath, `" fill="`, colour, `"/>`)
			case place < taken+expected:
				if !over {
					colour = "var(--dusk)"
				}
				p.w(`<path transform="translate(`, x, ` `, base, `)" d="`, birdPath, `" fill="var(--surface)" stroke="`, colour,
					`" stroke-width="1.2" stroke-dasharray="2 1.5"/>`)
			default:
				p.w(`<path d="M`, x, ` `, base-5, `v4" stroke="var(--line-2)" stroke-width="1.2"/>`)
			}
		}
	}
	p.w(`</svg>`)
	return p.html()
}

// CageView is one tile of the wall.
type CageView struct {
	Href    string // the page of the cage
	Plate   string // "B3"
	State   Kind   // Late, Today, Unsure, Rest, or Soon for plain
	Cock    string // ring or name; empty leaves the line out
	Hen     string
	Species string
	Box     BoxView
	Day     string // under the box: "sit 9", "day 3", "egg 4"; never a date
	What    string // on the rail: "hatch", "ring", "no nest"
	When    string // on the rail: "16 Jan", "today", "look"; never a bare number
	Label   string // the whole tile as a sentence
	Is      string // words for the chips, parted by spaces: "late eggs zebra"
	Dim     bool   // a chip is pressed that this cage does not answer to
	Pick    string // value of the tick box of bulk picking; empty leaves it out
	Form    string // id of the form that the tick box belongs to
	Drop    string // value as a place to put a bird down; empty takes none
	Carry   []Load // who can be carried from here; empty leaves the handles out
}

// Load is a pair or a bird that can be carried to another place.
type Load struct {
	Value string // what the form is told
	Name  string // "pair", "24-031"
}

// Cage draws the tile: plate, pair and species behind wires, the nest box outside its right side,
// the next job on the rail below. Those who listen hear the label alone. It stands in an element of class "bay".
func Cage(v CageView) template.HTML {
	var p pen
	p.w(`<div class="cage `, esc(string(v.State)))
	if v.Dim {
		p.w(` dim`)
	}
	p.w(`"`)
	if v.Is != "" {
		p.w(` data-is="`, esc(v.Is), `"`)
	}
	if v.Drop != "" {
		p.w(` data-drop="`, esc(v.Drop), `" data-drop-name="`, esc(v.Plate), `"`)
	}
	p.w(`>`)
	if v.Pick != "" {
		p.w(`<label class="cpick"><input type="checkbox" name="cage" value="`, esc(v.Pick), `" data-pick=""`)
		if v.Form != "" {
			p.w(` form="`, esc(v.Form), `"`)
		}
		p.w(`/><span class="vh">Pick `, esc(v.Plate), `</span></label>`)
	}
	if len(v.Carry) > 0 {
		p.w(`<span class="carries">`)
		for _, l := range v.Carry {
			p.w(`<button type="button" class="carry" data-carry="`, esc(l.Value), `" data-carry-name="`, esc(l.Name), ` of `, esc(v.Plate), `" hidden="">Carry <span class="vh">`, esc(v.Plate), ` </span>`, esc(l.Name), `</button>`)
		}
		p.w(`</span>`)
	}
	p.w(`<a class="cin" href="`, esc(v.Href), `"><span class="vh">`, esc(v.Label), `</span><span class="cbody" aria-hidden="true"><span class="cno">`, esc(v.Plate), `</span><span class="crg">`)
	if v.Cock != "" {
		p.w(Bird("cock", v.Cock))
	}
	if v.Cock != "" && v.Hen != "" {
		p.w(`<br/>`)
	}
	if v.Hen != "" {
		p.w(Bird("hen", v.Hen))
	}
	p.w(`</span><span class="csp">`, esc(v.Species), `</span></span><span class="cbox" aria-hidden="true">`, Box(v.Box, 46, ""),
		`<span class="cday">`, esc(v.Day), `</span></span><span class="crail" aria-hidden="true">`, Mark(v.State, 13),
		`<span class="rt"><span class="rv">`, esc(v.What), `</span> <span class="rd">`, esc(v.When), `</span></span></span></a></div>`)
	return p.html()
}
