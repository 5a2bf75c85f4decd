// Package look draws the glyphs, small parts and pictures of Broodlight's pages as HTML and SVG.
//
// Every function is pure: views of plain numbers and words in, template.HTML out. It imports nothing
// of ours. Output is well-formed XML, holds no style attribute, no script and no id of its own, and a
// picture either has a label or is hidden from screen readers. Words from a person are escaped.
// Classes are those of static/look.css; static/README.md says which class makes which part.
package look
