package pedigree

import (
	"fmt"
	"strings"
)

// Mistakes is every mistake found in a pedigree, in the order of its rows, up to
// a hundred; More counts the rest. Pick one kind out with [errors.As].
type Mistakes struct {
	List []error
	More int
}

// listed bounds the length of [Mistakes]: more than a keeper would mend in one sitting.
const listed = 100

func (m *Mistakes) add(err error) {
	if len(m.List) == listed {
		m.More++
		return
	}
	m.List = append(m.List, err)
}

func (m *Mistakes) any() bool { return len(m.List) > 0 }

// Error returns one sentence a line.
func (m *Mistakes) Error() string {
	var b strings.Builder
	for k, err := range m.List {
		if k > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(err.Error())
	}
	if m.More > 0 {
		fmt.Fprintf(&b, "\nAnd %d more.", m.More)
	}
	return b.String()
}

// Unwrap returns the single mistakes.
func (m *Mistakes) Unwrap() []error { return m.List }

// Naming gives the words for a row in a message, such as a ring or "row 12".
type Naming func(row int) string

// byNumber counts rows from 1, as a keeper does.
func byNumber(row int) string { return fmt.Sprintf("row %d", row+1) }

// Named is what every single mistake can do: say itself with the caller's own
// words for the birds.
type Named interface {
	error
	// Say returns the sentence, with birds named by name.
	Say(name Naming) string
}

// RowError reports a parent that is neither a row nor [Unknown].
type RowError struct {
	Bird   int // the young
	Parent int // what was given
	As     Sex // Cock for the sire, Hen for the dam
	Birds  int // how many rows there are
}

func (e *RowError) Error() string { return e.Say(byNumber) }

// Say implements [Named].
func (e *RowError) Say(name Naming) string {
	return fmt.Sprintf("The %s of %s is given as row %d, but there are %d rows: give a row that exists, or leave the parent unknown.",
		role(e.As), name(e.Bird), e.Parent+1, e.Birds)
}

// SexError reports a bird whose sex cannot be as written: a hen that is named as a
// sire, a cock that is named as a dam, or one bird named as both.
type SexError struct {
	Bird  int
	Sex   Sex // its sex as written; Unsexed when only its young tell
	As    Sex // Cock when named as a sire, Hen when named as a dam
	Young int // the row that names it so, or Unknown when Sex itself is not a sex
	Other int // when Sex is Unsexed: the row that names it as the other parent, else Unknown
}

func (e *SexError) Error() string { return e.Say(byNumber) }

// Say implements [Named].
func (e *SexError) Say(name Naming) string {
	switch {
	case e.Young == Unknown:
		return fmt.Sprintf("The sex of %s is not one of cock, hen or unsexed: correct it.", name(e.Bird))
	case e.Other == Unknown:
		return fmt.Sprintf("The %s of %s is %s, which is written down as a %s: correct the parent, or the sex.",
			role(e.As), name(e.Young), name(e.Bird), e.Sex)
	}
	other := Hen
	if e.As == Hen {
		other = Cock
	}
	return fmt.Sprintf("As written, %s is the %s of %s and the %s of %s: one of the two is wrong.",
		name(e.Bird), role(other), name(e.Other), role(e.As), name(e.Young))
}

// CycleError reports a bird that is its own ancestor. Each bird of Birds is the
// young of the next, and the last is the young of the first. One of these rows is
// wrong.
type CycleError struct {
	Birds []int
}

func (e *CycleError) Error() string { return e.Say(byNumber) }

// Say implements [Named].
func (e *CycleError) Say(name Naming) string {
	if len(e.Birds) == 1 {
		return fmt.Sprintf("As written, %s is its own parent: correct the parent.", name(e.Birds[0]))
	}
	var b strings.Builder
	fmt.Fprintf(&b, "As written, %s is its own ancestor (", name(e.Birds[0]))
	const shown = 8 // a longer line of descent does not read
	for k, bird := range e.Birds[:min(shown, len(e.Birds))] {
		if k > 0 {
			b.WriteString(", young of ")
		}
		b.WriteString(name(bird))
	}
	if len(e.Birds) > shown {
		fmt.Fprintf(&b, ", and on through %d more birds", len(e.Birds)-shown)
	}
	fmt.Fprintf(&b, ", young of %s): one of these parents is wrong.", name(e.Birds[0]))
	return b.String()
}

// AgeError reports a bird that hatched before its parent, or on the same day.
type AgeError struct {
	Bird, Parent   int
	As             Sex // Cock for the sire, Hen for the dam
	Day, ParentDay int // as given to CheckHatched
}

func (e *AgeError) Error() string { return e.Say(byNumber) }

// Say implements [Named].
func (e *AgeError) Say(name Naming) string {
	return fmt.Sprintf("As written, %s is not younger than its %s, %s: correct the parent, or one of the two hatch dates.",
		name(e.Bird), role(e.As), name(e.Parent))
}

// TwiceError reports one bird that heads two rows.
type TwiceError struct {
	First, Again int
}

func (e *TwiceError) Error() string { return e.Say(byNumber) }

// Say implements [Named].
func (e *TwiceError) Say(name Naming) string {
	return fmt.Sprintf("As written, %s is the same bird as %s: keep one of the two rows.", name(e.Again), name(e.First))
}

func role(as Sex) string {
	if as == Cock {
		return "sire"
	}
	return "dam"
}
