package species

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
)

// An UnknownError says that no species has a name, and which names come near.
type UnknownError struct {
	Name    string     // what was asked for, cut to a readable length
	Nearest []*Profile // at most three, the nearest first; empty when nothing comes near
}

// Error returns a sentence for the keeper.
func (e *UnknownError) Error() string {
	if e.Name == "" {
		return "Write the name of a species, for example “zebra” or “Gouldian finch”."
	}
	s := "No species here is called “" + e.Name + "”."
	switch len(e.Nearest) {
	case 0:
		return s + " Choose one from the list of species."
	case 1:
		return s + " Did you mean " + e.Nearest[0].English + "?"
	}
	names := make([]string, len(e.Nearest))
	for i, p := range e.Nearest {
		names[i] = p.English
	}
	last := len(names) - 1
	return s + " Did you mean " + strings.Join(names[:last], ", ") + " or " + names[last] + "?"
}

const (
	nearestCount = 3  // more names than this no longer help
	quotedRunes  = 40 // a longer name is cut in the sentence
	foldedRunes  = 60 // longer than any name of a species; bounds the cost of nearness
)

// fold brings a name to the form in which names are compared: letters alone, in small
// letters, so that case, spaces, hyphens, apostrophes and dots do not matter.
func fold(name string) string {
	var b strings.Builder
	for _, r := range name {
		if unicode.IsLetter(r) {
			b.WriteRune(unicode.ToLower(r))
		}
	}
	return b.String()
}

// unknown builds the error for a name that no profile has.
func unknown(name string, profiles []*Profile) *UnknownError {
	shown := []rune(strings.ToValidUTF8(strings.Join(strings.Fields(name), " "), "?"))
	if len(shown) > quotedRunes {
		shown = append(shown[:quotedRunes], '…')
	}
	e := &UnknownError{Name: string(shown)}
	asked := []rune(fold(name))
	if len(asked) == 0 {
		return e
	}
	if len(asked) > foldedRunes {
		asked = asked[:foldedRunes]
	}
	type near struct {
		p    *Profile
		cost float64
	}
	var found []near
	for _, p := range profiles {
		best := 1.0
		for _, n := range p.Names() {
			best = min(best, unlikeness(asked, []rune(fold(n))))
		}
		// Half the letters wrong is no longer the same word.
		if best < 0.5 {
			found = append(found, near{p, best})
		}
	}
	slices.SortStableFunc(found, func(a, b near) int { return cmp.Compare(a.cost, b.cost) })
	for _, f := range found[:min(len(found), nearestCount)] {
		e.Nearest = append(e.Nearest, f.p)
	}
	return e
}

// unlikeness is 0 for equal words and 1 for words with nothing in common: the edits
// needed over the longer length. A part of at least three letters counts as near.
func unlikeness(a, b []rune) float64 {
	if len(a) >= 3 && strings.Contains(string(b), string(a)) {
		return 0.25
	}
	return float64(edits(a, b)) / float64(max(len(a), len(b), 1))
}

// edits is the Levenshtein distance: insertions, deletions and changes from a to b.
// Time is len(a)·len(b).
func edits(a, b []rune) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range a {
		diagonal := row[0]
		row[0] = i + 1
		for j, y := range b {
			change := diagonal
			if x != y {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
