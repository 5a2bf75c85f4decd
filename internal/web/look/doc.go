// Package look draws the glyphs, small parts and pictures of Broodlight's pages as HTML and SVG.
//
// Every function is pure: views of plain numbers and words in, template.HTML out. It imports nothing
// of ours. Output is well-formed XML, holds no style attribute, no script and no id of its own (a form
// field has the id that it is given), and a picture either has a label or is hidden from screen
// readers. Words from a person are escaped. Classes are those of static/look.css; static/README.md
// says which class makes which part.
//
// Parts in a line of text:
//
//	Box(BoxView, size, label)     nest box: 84 to show, 64 card, 46 tile, 26 key; BoxView.Words says it
//	EggGlyph(EggState, height, label), Eggs(n, EggState)
//	Mark(Kind, size)              Late, Today, Soon, Unsure, Done, Rest, Kept, No, Plus, Signal
//	Flag(Kind, words)             a mark with its word
//	Sex(sex), Bird(sex, text)     "cock", "hen", else not known
//	Plate(text), Ring(text), Wordmark(), Icon(name)
//	Hidden(chance, size)          square of a hidden colour
//	Bar(value, most, BarKind), ColourBar([]Share), Interval(IntervalView)
//	LaneKey(name)                 entries of the season's key
//
// Parts of a page:
//
//	Beam(BeamView), Foot([]Tab)   top and foot of every page
//	Strip(StripView)              24 h of lamp light; StripView.State and Words; Clock(minutes)
//	MiniWall(banks, label)        a round, in the shape of the wall
//	Pegs([]Peg, label)            chance of each day
//	Count(CountView), EggCell(EggCellView)   fields of a check
//	Cage(CageView)                a tile of the wall
//	Perch(taken, expected, capacity, label)  a flight
//
// Pictures:
//
//	Timeline(TimelineView)        one clutch; SeenOn and Guessed make its days
//	Lanes(LanesView)              a season or a month of it: light, food by group, a lane a pair, young against space
//	LanesPaper(LanesView, height) the same as one picture for a sheet of paper
//	Ancestors(*Ancestor, label)   up to four generations behind a bird
//	Weights(WeightsView)
//
// Units: days are whole numbers on a count that the page chooses; times are minutes after midnight;
// chances are in 100; weights in grams; coordinates in CSS pixels.
//
// Ink is what was seen, dusk is a guess, beak needs the keeper, lamp is light: fill and shape carry
// the meaning, colour helps. A figure drawn here is never the only place where it stands.
package look
