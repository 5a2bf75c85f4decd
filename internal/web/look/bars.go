package look

import (
	"html/template"
	"math"
)

// BarKind says how a bar is filled.
type BarKind string

// The fills of a bar.
const (
	BarSeen  BarKind = "seen"  // solid ink: counted
	BarGuess BarKind = "guess" // hatched dusk
	BarBest  BarKind = "best"  // solid dusk: the best of several guesses
)

// Bar draws a bar of value out of most on a sunk track; it takes the width of its place. The number
// stands beside it in text, so the picture is hidden from screen readers.
func Bar(value, most float64, kind BarKind) template.HTML {
	share := 0.0
	if most > 0 {
		share = math.Min(math.Max(value/most, 0), 1)
	}
	const width, height = 200.0, 12.0
	w := share * width
	var p pen
	p.w(`<svg class="bar" viewBox="0 0 200 12" preserveAspectRatio="none" aria-hidden="true"><rect width="200" height="12" fill="var(--sunk)"/>`)
	switch {
	case w <= 0:
	case kind == BarSeen:
		p.w(`<rect width="`, w, `" height="12" fill="var(--ink)"/>`)
	case kind == BarBest:
		p.w(`<rect width="`, w, `" height="12" fill="var(--dusk)"/>`)
	default:
		p.w(`<rect width="`, w, `" height="12" fill="var(--surface)"/><path d="`, hatch(0, 0, w, height, hatchStep),
			`" stroke="var(--dusk-mid)" stroke-width="1.6" vector-effect="non-scaling-stroke"/>`,
			`<rect x=".5" y=".5" width="`, math.Max(w-1, 0.5), `" height="11" fill="none" stroke="var(--dusk)" stroke-width="1.4" vector-effect="non-scaling-stroke"/>`)
	}
	p.w(`</svg>`)
	return p.html()
}

// Share is a part of a colour bar.
type Share struct {
	Part   float64 // weight; the parts need not add up to 1
	Colour string  // "grey", "fawn", "pied", "white", "dark", "other": a fill, never a bird's real colour
}

// shareFills are the fills of a colour bar, each with its own pattern so that hue is not needed.
var shareFills = map[string]string{"grey": "#77737c", "fawn": "#c79a63", "white": "#f7f3ee", "dark": "#3d3540", "other": "#a9b7a4"}

// ColourBar draws what young to expect by colour, for a cell of the pair table; numbers stand in text.
func ColourBar(parts []Share) template.HTML {
	total := 0.0
	for _, s := range parts {
		total += math.Max(s.Part, 0)
	}
	var p pen
	p.w(`<svg class="cbar" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true"><rect width="100" height="10" fill="var(--surface)"/>`)
	x := 0.0
	for _, s := range parts {
		if s.Part <= 0 {
			continue
		}
		w := s.Part / total * 100
		if s.Colour == "pied" {
			p.w(`<rect x="`, x, `" width="`, w, `" height="10" fill="#f7f3ee"/><path d="`, hatch(x, 0, w, 10, 5), `" stroke="#77737c" stroke-width="2.4"/>`)
		} else {
			fill, ok := shareFills[s.Colour]
			if !ok {
				fill = shareFills["other"]
			}
			p.w(`<rect x="`, x, `" width="`, w, `" height="10" fill="`, fill, `"/>`)
		}
		x += w
		if x < 99.5 {
			p.w(`<path d="M`, x, ` 0v10" stroke="var(--surface)" stroke-width="1.5"/>`)
		}
	}
	p.w(`<rect width="100" height="10" fill="none" stroke="var(--line-2)" vector-effect="non-scaling-stroke"/></svg>`)
	return p.html()
}

// Hidden draws the square of a hidden colour: filled from below by its chance in 100, with a dashed
// edge until it is certain.
func Hidden(chance int, size int) template.HTML {
	chance = min(max(chance, 0), 100)
	var p pen
	p.glyph("gl", size, 36, "")
	p.w(`<rect x="2" y="2" width="32" height="32" fill="var(--surface)"/>`)
	h := 32 * float64(chance) / 100
	switch chance {
	case 100:
		p.w(`<rect x="2" y="2" width="32" height="32" fill="var(--ink)" stroke="var(--ink)" stroke-width="2"/>`)
	case 0:
		p.w(`<rect x="2" y="2" width="32" height="32" fill="none" stroke="var(--line-2)" stroke-width="2"/>`)
	default:
		p.w(`<rect x="2" y="`, 34-h, `" width="32" height="`, h, `" fill="var(--dusk)"/>`,
			`<rect x="2" y="2" width="32" height="32" fill="none" stroke="var(--dusk)" stroke-width="2" stroke-dasharray="4 2.5"/>`)
	}
	p.w(`</svg>`)
	return p.html()
}

// IntervalView is a figure with its range of 8 in 10 on an axis.
type IntervalView struct {
	From, To       float64 // ends of the axis
	Low, Mid, High float64
	Before         float64 // last season's figure, drawn as a tick when HasBefore is set
	HasBefore      bool
	Guess          bool   // a forecast rather than a count
	Label          string // the figures in words
}

// Interval draws a bar for the range, a dot for the figure and a tick for last season.
func Interval(v IntervalView) template.HTML {
	if v.To <= v.From {
		return ""
	}
	x := func(a float64) float64 {
		return 6 + math.Min(math.Max((a-v.From)/(v.To-v.From), 0), 1)*148
	}
	colour := "var(--ink)"
	if v.Guess {
		colour = "var(--dusk)"
	}
	var p pen
	p.w(`<svg class="interval" width="160" height="22" viewBox="0 0 160 22"`)
	p.named(v.Label)
	p.w(`><path d="M6 11h148" stroke="var(--line)" stroke-width="2"/>`)
	dash := ""
	if v.Guess {
		dash = ` stroke-dasharray="5 2.5"`
	}
	p.w(`<path d="M`, x(v.Low), ` 11H`, x(v.High), `" stroke="`, colour, `" stroke-width="4"`, dash, `/><circle cx="`, x(v.Mid), `" cy="11" r="5.5" fill="`, colour, `"/>`)
	if v.HasBefore {
		p.w(`<path d="M`, x(v.Before), ` 2v18" stroke="var(--surface)" stroke-width="5"/><path d="M`, x(v.Before), ` 2v18" stroke="var(--ink)" stroke-width="2"/>`)
	}
	p.w(`</svg>`)
	return p.html()
}
