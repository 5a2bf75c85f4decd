// Package species holds what is known of each species of cage-bred finch: a profile
// of figures, each with its range, its unit and where it comes from.
//
// # What it answers
//
// How long does an owl finch sit, when is its chick ringed, how many clutches may a
// hen be let lay, and who says so? A [Profile] holds the values of one species; a
// [Catalogue] is the same set of profiles with a keeper's own figures laid over
// them, the replaced figure kept beside each.
//
// # Shapes
//
// A [Value] has up to three figures: Low, Typical and High. A figure that nobody
// knows is nil, never 0, and a parameter of which nothing is known is absent from
// the profile. Low <= Typical <= High holds for the figures that are there. A value
// without figures is a Text. [All] lists the profiles by group, then by name.
//
// The data are embedded: one file a species in data/, and parameters.json, which
// says what each [Parameter] is called, what it means and how far a figure may go.
// A species is added by adding its file; no code changes.
//
// # Units
//
// Days count from the day before: a chick that hatched yesterday is 1 day old.
// Sitting (incubation_period) and candling (candling_age) count from the start of
// steady sitting. Weights are in g, rings and eggs in mm, cages in cm, latitudes in
// degrees with south below zero, daylight in hours.
//
// # Model
//
// There is no model. Basis says what a figure rests on: [Published], [CommonPractice],
// [FromMemory], [Derived] or, in a catalogue, [OwnRoom]. The basis is that of the
// typical figure; where the ends of a range rest on less, the source or the note says
// so. The source of a value from common practice begins with those words, that of a
// value from memory with "from memory", and that of one worked out with "derived".
// Left out on purpose: how colours are inherited, and the age at which chicks open their feathers, for
// which nothing reliable was found.
//
// # Errors
//
// [Find] returns an [*UnknownError], a sentence that names the nearest species.
// [CheckOverride] returns a sentence fit to stand beside the field. The package
// panics only when its own embedded data are faulty, which its tests rule out.
//
// # Sources
//
// Myhrvold et al. 2015, An amniote life-history database, Ecology 96:3109: weights,
// clutches, sitting, fledging, egg weights (its clutches for the diamond firetail and
// the crimson finch are errors and are not used). Tobias et al. 2022, AVONET, Ecology
// Letters 25:581: weights and latitudes. Stoddard et al. 2017, Science 356:1249: egg
// length and breadth. Tidemann et al. 1999, Emu 99:191: Gouldian finch. van Rooij &
// Griffith 2011, Emu 111:297: long-tailed finch. Ikebuchi et al. 2017, Zoological
// Science 34(5): zebra finch. Hoyt 1979, Auk 96:73: egg weight from length and
// breadth. Most papers were read as abstracts. Every other source stands beside its
// value.
package species
