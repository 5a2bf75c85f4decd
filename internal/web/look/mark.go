package look

import "html/template"

// Kind is one of the marks that carry meaning. Shape and word carry it; colour only helps.
type Kind string

// The marks.
const (
	Late   Kind = "late"   // pennant: over time
	Today  Kind = "today"  // filled peg: today
	Soon   Kind = "soon"   // hollow peg: coming
	Unsure Kind = "look"   // dashed ring with a dot: not sure, go and look
	Done   Kind = "done"   // tick
	Rest   Kind = "rest"   // short dashes: resting
	Kept   Kind = "kept"   // padlock: kept by you
	No     Kind = "no"     // cross: forbidden, dead
	Plus   Kind = "plus"   // cross of two bars: gain, add
	Signal Kind = "signal" // broken wave: no signal
)

var markPaths = map[Kind]string{
	Late:   `<path d="M3 1v14" stroke="currentColor" stroke-width="2.2"/><path d="M4 1.5 15 5.5 4 9.5z" fill="currentColor"/>`,
	Today:  `<path d="M1 2h14" stroke="currentColor" stroke-width="2.2"/><path d="M4.5 2h7v8.5a3.5 3.5 0 0 1-7 0z" fill="currentColor"/>`,
	Soon:   `<path d="M1 2h14" stroke="currentColor" stroke-width="1.6"/><path d="M5 2h6v8a3 3 0 0 1-6 0z" fill="none" stroke="currentColor" stroke-width="1.6"/>`,
	Unsure: `<circle cx="8" cy="8" r="6.2" fill="none" stroke="currentColor" stroke-width="2" stroke-dasharray="3.2 2"/><circle cx="8" cy="8" r="2.2" fill="currentColor"/>`,
	Done:   `<path d="M2 8.5 6.3 13 14 3.5" fill="none" stroke="currentColor" stroke-width="2.4"/>`,
	Rest:   `<path d="M1 8h3m2.5 0h3M12 8h3" stroke="currentColor" stroke-width="2"/>`,
	Kept:   `<rect x="2.5" y="7" width="11" height="8" rx="1.2" fill="currentColor"/><path d="M5 7V5a3 3 0 0 1 6 0v2" fill="none" stroke="currentColor" stroke-width="1.8"/>`,
	No:     `<path d="M3 3l10 10M13 3 3 13" stroke="currentColor" stroke-width="2.2"/>`,
	Plus:   `<path d="M8 2v12M2 8h12" stroke="currentColor" stroke-width="2.2"/>`,
	Signal: `<path d="M2 8h4l2-4 2 8 1.5-4H14" fill="none" stroke="currentColor" stroke-width="1.8"/><path d="M2 15 14 1" stroke="currentColor" stroke-width="1.8"/>`,
}

// Mark draws a mark in the colour of the text around it, hidden from screen readers: the word stands
// beside it. An unknown kind draws nothing.
func Mark(kind Kind, size int) template.HTML {
	path, ok := markPaths[kind]
	if !ok {
		return ""
	}
	var p pen
	p.glyph("mk", size, 16, "")
	p.w(path, `</svg>`)
	return p.html()
}

// Flag is a mark with its word, as a job card wears it at the right: Flag(Late, "2 days over").
func Flag(kind Kind, words string) template.HTML {
	var p pen
	p.w(`<span class="flag `, esc(string(kind)), `">`, Mark(kind, 16), `<span>`, esc(words), `</span></span>`)
	return p.html()
}

// Sex draws a square for a cock, a circle for a hen, a diamond when not known, and says it for those
// who listen. It takes "cock", "hen" or anything else.
func Sex(sex string) template.HTML {
	switch sex {
	case "cock":
		return `<i class="sx" aria-hidden="true"></i><span class="vh">cock </span>`
	case "hen":
		return `<i class="sx h" aria-hidden="true"></i><span class="vh">hen </span>`
	}
	return `<i class="sx u" aria-hidden="true"></i><span class="vh">sex not known </span>`
}

// Bird is a sex sign with a ring or a name, kept on one line.
func Bird(sex, text string) template.HTML {
	var p pen
	p.w(`<span class="nw">`, Sex(sex), esc(text), `</span>`)
	return p.html()
}

// Plate is the number plate of a cage.
func Plate(text string) template.HTML {
	var p pen
	p.w(`<span class="plate">`, esc(text), `</span>`)
	return p.html()
}

// Ring is a leg ring with its inscription.
func Ring(text string) template.HTML {
	var p pen
	p.w(`<span class="ring">`, esc(text), `</span>`)
	return p.html()
}

// Wordmark is the sign of the tool: a lamp over a nest with a full egg and one not candled.
func Wordmark() template.HTML {
	return `<svg class="gl" width="30" height="30" viewBox="0 0 30 30" aria-hidden="true"><path d="M15 0v4" stroke="var(--ink)" stroke-width="2"/><path d="M9 4h12l3 6H6z" fill="var(--lamp)" stroke="var(--ink)" stroke-width="1.6" stroke-linejoin="round"/><path d="M3 18c1.5 11 22.5 11 24 0" fill="none" stroke="var(--ink)" stroke-width="2.4" stroke-linecap="round"/><ellipse cx="11.2" cy="18.6" rx="3.2" ry="4.1" fill="var(--ink)"/><ellipse cx="18.8" cy="18.6" rx="3.2" ry="4.1" fill="var(--surface)" stroke="var(--ink)" stroke-width="1.5"/></svg><span>Broodlight</span>`
}

var iconPaths = map[string]string{
	"round":   `<path d="M3 5h18" stroke="currentColor" stroke-width="2"/><path d="M5.5 5v7a2 2 0 0 0 4 0V5zM14.5 5v12a2 2 0 0 0 4 0V5z" fill="currentColor"/>`,
	"wall":    `<path d="M3 4h8v7H3zM13 4h8v7h-8zM3 13h8v7H3z" fill="none" stroke="currentColor" stroke-width="1.8"/><path d="M13 13h8v7h-8z" fill="currentColor" stroke="currentColor" stroke-width="1.8"/>`,
	"birds":   `<path d="M20.5 6.6 16.7 5C15.7 1.8 10.7 1.5 9.6 5.3 7.5 8.6 6 12.8 6.6 17.2L3.8 22h3.3l3.2-3.9C14.9 16.9 17.6 11.7 16.4 8.3z" fill="currentColor"/><path d="M3 19.2h18" stroke="currentColor" stroke-width="1.8"/>`,
	"season":  `<path d="M3 4v16h18" fill="none" stroke="currentColor" stroke-width="1.8"/><path d="M6 8h7M10 12.5h9M7 17h6" stroke="currentColor" stroke-width="2.6"/>`,
	"pairs":   `<path d="M3.5 8h7v7h-7z" fill="none" stroke="currentColor" stroke-width="2"/><circle cx="17" cy="11.5" r="3.8" fill="none" stroke="currentColor" stroke-width="2"/><path d="M10.5 11.5h2.7" stroke="currentColor" stroke-width="2"/>`,
	"results": `<path d="M4 20V5M10 20V9M16 20v-7M21 20v-4" stroke="currentColor" stroke-width="3"/>`,
	"more":    `<path d="M4 7h16M4 12h16M4 17h10" stroke="currentColor" stroke-width="2.2"/>`,
}

// Icon draws the 24 px sign of a tab: round, wall, birds, season, pairs, results or more. It is never
// used without its word. An unknown name draws nothing.
func Icon(name string) template.HTML {
	path, ok := iconPaths[name]
	if !ok {
		return ""
	}
	var p pen
	p.glyph("ic", 24, 24, "")
	p.w(path, `</svg>`)
	return p.html()
}
