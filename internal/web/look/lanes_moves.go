package look

import (
	"html/template"
	"strings"
)

// LaneMove says that eggs or chicks came into a lane's nest from another one, or went to it.
type LaneMove struct {
	Lane  int // index in LanesView.Lanes
	Day   int
	In    bool
	Words string // "3 from A1"
}

// lanesEnd closes the picture that Lanes draws.
const lanesEnd = `</svg></div></div>`

// LanesWithMoves draws a season with what was fostered: an arrow down to the lane where eggs or chicks came in, an arrow away
// from it where they went, each with its words.
func LanesWithMoves(v LanesView, moves []LaneMove) template.HTML {
	pic := string(Lanes(v))
	body, ok := strings.CutSuffix(pic, lanesEnd)
	if !ok || len(moves) == 0 {
		return template.HTML(pic)
	}
	s := scale{from: v.From, to: v.To, left: 1, px: max(leastDayStep, 1180/float64(v.To-v.From+1))}
	top := headHeight
	if len(v.Light) > 0 || len(v.Daylight) > 0 {
		top += lightHeight
	}
	if len(v.Feed) > 0 {
		top += feedHeight
	}
	var p pen
	for _, m := range moves {
		if m.Lane < 0 || m.Lane >= len(v.Lanes) || !s.inside(m.Day, m.Day) {
			continue
		}
		x, y := s.mid(m.Day), laneY(top, m.Lane)
		from := y - 16 // an arrow is 10 long and ends, or begins, 6 off the line
		if !m.In {
			from = y + 6
		}
		p.w(`<path d="M`, x, ` `, from, `v9m-3.5 -3.5l3.5 4.5 3.5 -4.5" fill="none" stroke="var(--ink)" stroke-width="1.6"/>`)
		words := y - 8
		if !m.In {
			words = y + 16
		}
		p.text(x+6, words, "", "l", m.Words)
	}
	return template.HTML(body + string(p.html()) + lanesEnd)
}
