// Package aviary holds the words of the bird room: birds, places, pairs, nests, eggs, rings and
// lamps, the kinds of entry a keeper writes, and what those entries add up to.
//
// # What it answers
//
// Facts go in, conclusions are computed. An Entry says what was seen or done, on which civil day, and
// by whom it was written. A Room is what a set of entries adds up to. Check decides at the door what may
// be written; Apply is total and never refuses an entry that is already in the journal.
//
// # Order
//
// Entries are folded by (civil day, time of day if given, written, id), never by arrival, so that any
// interleaving of writers gives the same room. An entry that cannot stand at its place in that order is
// set aside: it stays in the journal, changes nothing, and is listed by Room.Aside with what it clashes with.
//
// # Subjects
//
// Each entry names its subjects: the birds, places, pairs, rings, groups it is about. What is known of a
// subject is a fold of that subject's own history and of nothing else. A late entry or a strike therefore
// re-folds only the subjects that it names (and those of entries that it sets aside or frees).
//
// # Values
//
// A civil day is a Date. A count that was not taken is nil, not 0. Mass is in grams, length in
// millimetres, time of day in minutes after midnight in the room's zone. The package imports nothing
// of ours, reads no clock and no species data.
package aviary
