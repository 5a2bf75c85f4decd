// Package outcome answers how good a rate is that was counted on few eggs or young, and how long something takes that
// has not happened to everybody yet.
//
// # What it answers
//
// Of n eggs k were full: between which shares does the true one lie? Of the pairs that were set up, some laid and some
// did not before they were parted: after how many days does a pair lay, and how likely is it that one which has waited
// twelve days lays within the next seven?
//
// # Shapes
//
// Plain counts in, two shares out. For times, a list of spells in and a curve out: steps on the days of events, each
// with the number at risk.
//
// # Units
//
// Shares run from 0 to 1. A level is the chance, over many such counts, that the interval holds the true
// share: 0.8 for "8 in 10". Times are whole days since a start that the caller chooses.
//
// # Model
//
// Each egg is drawn alone, with one chance for all. Eggs of one clutch share their parents and their
// sitting, so that the true doubt is somewhat wider than the interval. That is left out on purpose: it needs
// a model with pairs in it.
//
// Times are taken to be alike for all subjects of a curve, and the end of watching to say nothing of what was to come: a
// pair that was parted because it would not lay breaks that, and makes the curve too hopeful. Spells of one hen
// are taken to be as free of each other as those of two.
//
// # Errors
//
// Counts, levels and spells that cannot be are a mistake of the program and panic.
//
// # Sources
//
//   - C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
//     binomial", Biometrika 26 (1934) 404: the interval. R. G. Newcombe, "Two-sided confidence intervals for the
//     single proportion", Statistics in Medicine 17 (1998) 857: the cases in the tests.
//   - E. L. Kaplan and P. Meier, "Nonparametric estimation from incomplete observations", Journal of the American
//     Statistical Association 53 (1958) 457: the curve, and an example.
//   - M. Greenwood, "The natural duration of cancer", Reports on Public Health and Medical Subjects 33 (1926): the variance.
//   - J. D. Kalbfleisch and R. L. Prentice, The Statistical Analysis of Failure Time Data (1980): the log(−log) interval.
//   - R. Brookmeyer and J. Crowley, "A confidence interval for the median survival time", Biometrics 38 (1982) 29: of quantiles.
//   - W.-Y. Tsai, N. P. Jewell and M.-C. Wang, "A note on the product-limit estimator under right censoring and left
//     truncation", Biometrika 74 (1987) 883: delayed entry.
//   - M. P. Fay, E. H. Brittain and M. A. Proschan, "Pointwise confidence intervals for a survival distribution with
//     small samples or heavy censoring", Biostatistics 14 (2013) 723: the beta product.
//
// All from memory; the figures in the tests come from the places named there.
package outcome
