package look

import (
	"html/template"
	"math"
	"strconv"
	"strings"
)

// pen gathers markup. It writes strings as they are, so text from a person goes through esc first.
type pen struct{ b strings.Builder }

// w writes each part: strings as they are, numbers rounded to two decimals.
func (p *pen) w(parts ...any) {
	for _, part := range parts {
		switch v := part.(type) {
		case string:
			p.b.WriteString(v)
		case float64:
			p.b.WriteString(num(v))
		case int:
			p.b.WriteString(strconv.Itoa(v))
		case template.HTML:
			p.b.WriteString(string(v))
		default:
			panic("look: pen cannot write this type")
		}
	}
}

func (p *pen) html() template.HTML { return template.HTML(p.b.String()) }

// text writes an SVG text of the class at (x, y). The anchor is "start", "middle" or "end".
func (p *pen) text(x, y float64, anchor, class, s string) {
	if s == "" {
		return
	}
	p.w(`<text x="`, x, `" y="`, y, `"`)
	if anchor != "" && anchor != "start" {
		p.w(` text-anchor="`, anchor, `"`)
	}
	if class != "" {
		p.w(` class="`, class, `"`)
	}
	p.w(`>`, esc(s), `</text>`)
}

// named writes how a picture is called: a role and label, or hidden when the label is empty.
func (p *pen) named(label string) {
	if label == "" {
		p.w(` aria-hidden="true"`)
		return
	}
	p.w(` role="img" aria-label="`, esc(label), `"`)
}

// glyph opens a square picture on a grid of the given size in user units.
func (p *pen) glyph(class string, size, grid int, label string) {
	p.w(`<svg`)
	if class != "" {
		p.w(` class="`, class, `"`)
	}
	p.w(` width="`, size, `" height="`, size, `" viewBox="0 0 `, grid, ` `, grid, `"`)
	p.named(label)
	p.w(`>`)
}

// picture opens a wide picture. Its class carries the least width in hundreds of pixels, at which
// text is 12 px; a narrower sheet scrolls.
func (p *pen) picture(class string, width, height float64, role, label string) {
	hundreds := int(math.Ceil(width / 100))
	p.w(`<svg class="pic w`, min(max(hundreds, 2), widest), ` `, class, `" viewBox="0 0 `, width, ` `, height, `"`)
	if label == "" {
		p.w(` aria-hidden="true">`)
		return
	}
	p.w(` role="`, role, `" aria-label="`, esc(label), `">`)
}

// widest is the largest width class of look.css, in hundreds of pixels.
const widest = 30

func esc(s string) string { return template.HTMLEscapeString(s) }

// num prints a coordinate with at most two decimals.
func num(v float64) string {
	v = math.Round(v*100) / 100
	if v == 0 { // also turns -0 into 0
		return "0"
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// oval returns path data for an ellipse.
func oval(cx, cy, rx, ry float64) string {
	var p pen
	p.w(`M`, cx-rx, ` `, cy, `a`, rx, ` `, ry, ` 0 1 0 `, 2*rx, ` 0a`, rx, ` `, ry, ` 0 1 0 `, -2*rx, ` 0z`)
	return p.b.String()
}

// hatch returns path data for slanted lines that fill a rectangle. It is drawn instead of a pattern
// because a pattern needs an id, and two pictures on one page would share it.
func hatch(x, y, w, h, step float64) string {
	var p pen
	for c := math.Ceil((x+y+0.01)/step) * step; c < x+w+y+h; c += step {
		x1 := math.Max(x, c-(y+h))
		x2 := math.Min(x+w, c-y)
		if x2-x1 < 0.2 {
			continue
		}
		p.w(`M`, x1, ` `, c-x1, `l`, x2-x1, ` `, -(x2 - x1))
	}
	return p.b.String()
}

// textWidth guesses the width in pixels of s at 12 px: the face runs to about 6.3 px a letter.
func textWidth(s string) float64 { return 6.3 * float64(len([]rune(s))) }

// plural returns "1 egg" or "3 eggs".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
