package advice

import (
	"fmt"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

// ClutchesAt lists the clutches of a place that have ended, newest first.
func (d *Desk) ClutchesAt(p *aviary.Place) []ClutchLine {
	var out []ClutchLine
	for _, c := range slices.Backward(p.Clutches) {
		if !c.Open() {
			out = append(out, d.clutchLine(p, c))
		}
	}
	return out
}

// Outcome says in a line what a clutch came to: "5 eggs, 4 full, 4 hatched, 3 ringed, 3 weaned". What is not known is said.
func (l ClutchLine) Outcome() string {
	var parts []string
	add := func(c nest.Count, one, many string) {
		if c.Known {
			word := many
			if c.N == 1 {
				word = one
			}
			parts = append(parts, CountWord(c)+" "+word)
		}
	}
	if l.Eggs.Known {
		add(l.Eggs, "egg", "eggs")
	} else {
		parts = append(parts, "eggs not known")
	}
	add(l.Full, "full", "full")
	k := l.Nest.Course.Counts
	switch {
	case l.Hatched.Known && l.Hatched.N == 0:
		parts = append(parts, "none hatched")
	case l.Hatched.Known:
		add(l.Hatched, "hatched", "hatched")
	default:
		parts = append(parts, "hatch not known")
	}
	if l.Hatched.N > 0 || len(l.Nest.Clutch.Birds) > 0 {
		add(l.Ringed, "ringed", "ringed")
		add(l.Weaned, "weaned", "weaned")
	}
	if k.Died.N > 0 {
		add(k.Died, "found dead", "found dead")
	}
	if n := l.Nest.Clutch.SentAway; n > 0 {
		parts = append(parts, fmt.Sprintf("%d moved to other nests", n))
	}
	if k.Removed.N > 0 {
		parts = append(parts, fmt.Sprintf("%d taken out", k.Removed.N))
	}
	return strings.Join(parts, ", ")
}

// CountLine is one line of the counts of a clutch.
type CountLine struct{ What, N string }

// CountLines lists the counts of a clutch as far as anything is known or asked of it, with what is not known.
func (n *Nest) CountLines() []CountLine {
	k := n.Course.Counts
	var out []CountLine
	add := func(what string, c nest.Count, always bool) {
		if always || (c.Known && c.N > 0) {
			out = append(out, CountLine{what, CountWord(c)})
		}
	}
	add("Laid here", k.Laid, true)
	add("Put in from another nest", k.MovedIn, false)
	add("Full", k.Fertile, true)
	add("Clear", k.Clear, false)
	add("Early dead", k.EarlyDead, false)
	add("Dead in shell", k.DeadInShell, false)
	add("Cracked", k.Cracked, false)
	add("Eggs taken out", k.Removed, false)
	add("Eggs moved to another nest", k.MovedOut, false)
	add("Hatched", k.Hatched, true)
	add("Chicks put in from another nest", k.ChicksIn, false)
	add("Chicks moved to another nest", k.ChicksOut, false)
	add("Found dead", k.Died, false)
	add("Ringed", nest.Count{N: len(n.Clutch.Birds), Known: true}, n.Clutch.HadChicks())
	add("Out of the box", k.Out, n.Clutch.HadChicks())
	add("Weaned", k.Weaned, n.Clutch.HadChicks())
	add("Eggs, what became of them not known", k.EggsUnaccounted, false)
	add("Young, what became of them not known", k.YoungUnaccounted, false)
	return out
}
