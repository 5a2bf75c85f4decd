package look

import (
	"html/template"

	"rsc.io/qr"
)

// quietZone is the empty edge round a code, in dots, as ISO/IEC 18004 asks for.
const quietZone = 4

// QR draws a text as a QR code, black on white in either theme, since cameras want it so. label says in words what it opens. The
// error is that of a text which is too long for a code.
func QR(text, label string) (template.HTML, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", err
	}
	var p pen
	side := code.Size + 2*quietZone
	p.w(`<svg class="qr" viewBox="0 0 `, side, ` `, side, `" role="img" aria-label="`, esc(label), `" shape-rendering="crispEdges"><rect width="`, side, `" height="`, side, `" fill="#fff"/><path fill="#000" d="`)
	for y := range code.Size {
		for x := 0; x < code.Size; x++ {
			from := x
			for code.Black(x, y) {
				x++
			}
			if x > from {
				p.w(`M`, from+quietZone, ` `, y+quietZone, `h`, x-from, `v1h-`, x-from, `z`)
			}
		}
	}
	p.w(`"/></svg>`)
	return p.html(), nil
}
