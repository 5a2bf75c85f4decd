// Package outcome answers how good a rate is that was counted on few eggs or young.
//
// # What it answers
//
// Of n eggs k were full: between which shares does the true one lie?
//
// # Shapes
//
// Plain counts in, two shares out.
//
// # Units
//
// Shares run from 0 to 1. A level is the chance, over many such counts, that the interval holds the true
// share: 0.8 for "8 in 10".
//
// # Model
//
// Each egg is drawn alone, with one chance for all. Eggs of one clutch share their parents and their
// sitting, so that the true doubt is somewhat wider than the interval. That is left out on purpose: it needs
// a model with pairs in it.
//
// # Errors
//
// Counts and levels that cannot be are a mistake of the program and panic.
//
// # Sources
//
// C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
// binomial", Biometrika 26 (1934) 404: the interval. R. G. Newcombe, "Two-sided confidence intervals for the
// single proportion", Statistics in Medicine 17 (1998) 857: the cases in the tests. Both from memory.
package outcome
