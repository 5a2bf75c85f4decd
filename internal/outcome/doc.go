// Package outcome answers what a season's counts say: how good a rate is that was counted on few eggs or young, whose
// doing it is, why one season brings fewer than another, and how long something takes that has not happened to everybody
// yet.
//
// # What it answers
//
// Of n eggs k were full: between which shares does the true one lie ([Binomial]), and where among its kind
// ([Rates], [Shrink], [FitBeta])? How many of a nest come through each stage, with nests that are still under way
// ([Stages], [StagesRange])? Do clears go with the cock, the hen, the cage or the season, and can the counts tell
// ([FitMixed], [Mixed.Apart], [Mixed.Swaps], [Mixed.Check])? Of a chick that is missing from each nest, how much went at
// which stage, and how much comes with more first-time pairs ([Explain], [ChainEffects], [Effects], [Kitagawa])? After
// how many days does a pair lay ([KaplanMeier], [CompareCurves]), and how likely is it that one of its kind which has
// waited twelve days lays within the next seven ([FitHazard])? How deep is the usual lull in mid-winter ([FitSeason])?
//
// # Shapes
//
// Counts are K of N. Rows of a model come with their columns (an intercept is a column of ones) and, for each random
// term, the number of their level. Nests come as counts by stage, laid first, with what is pending at each; levels of
// factors and sets of linked nests are numbers. For times, a list of spells in and a curve out: steps on the days of
// events, each with the number at risk.
//
// # Units
//
// Shares run from 0 to 1. Coefficients, intercepts and spreads of a mixed model are on the logit scale (natural log of
// odds). A level is the chance, over many such counts, that the interval holds the true figure: 0.8 for "8 in 10". Effects
// of a decomposition are in the unit of the rate: young a nest. Times are whole days since a start that the caller chooses.
//
// # Model
//
// [Binomial] takes each egg as drawn alone. Eggs of one nest share their parents and their sitting, so that the true doubt
// is wider: [Rates] has a likeness within counts, the mixed model intercepts, the decomposition linked sets.
//
// Mixed: of row i, logit p = x·β + Σ σ(t)·b(t, level), b standard normal. With η = Xβ + ZΛb, weights W = diag(n·p·(1−p)) and
// H = I + ΛZᵀWZΛ at the mode of b, the log likelihood is approximately the joint one minus ½·log det H (Laplace). Its
// gradient needs the diagonal of ZΛH⁻¹ΛZᵀ alone, and so those entries of H⁻¹ where H has any. Intervals are normal on the
// logit scale, with the doubt about spreads to first order in modes and to second order in what is left of an
// intercept's own variance. A model of cocks and hens that never changed partners is fitted all the same, with the prior
// dividing what is theirs: ask Apart before believing it.
//
// Decomposition: a part "comes with" a factor, and is not because of it. What changed for all pairs at once is among the
// unexplained.
//
// Times are taken to be alike for all subjects of a curve, or of a kind, and the end of watching to say nothing of what was to
// come: a pair that was parted because it would not lay breaks that, and makes the answer too hopeful. Spells of one hen are
// taken to be as free of each other as those of two. Pairs that never lay have no share of their own.
//
// # Errors
//
// Counts, levels, lengths and spells that cannot be are a mistake of the program and panic. A fit tells by [Status] how it
// ended. Values that are no numbers, a season without nests, and work that was called off are errors. Chance needs a
// generator that is handed in.
//
// # Sources
//
//   - C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
//     binomial", Biometrika 26 (1934) 404: the interval. R. G. Newcombe, "Two-sided confidence intervals for the
//     single proportion", Statistics in Medicine 17 (1998) 857: the cases in the tests.
//   - J. G. Skellam, "A probability distribution derived from the binomial distribution by regarding the probability of
//     success as variable between the sets of trials", Journal of the Royal Statistical Society B 10 (1948) 257: the
//     beta-binomial. R. E. Tarone, "The use of historical control information in testing for a trend in proportions",
//     Biometrics 38 (1982) 215, and A. Gelman and others, Bayesian Data Analysis, section 5.3: the rats, and the grid.
//   - D. B. Rubin, "The Bayesian bootstrap", Annals of Statistics 9 (1981) 130: resampling. The same, "Bayesianly justifiable
//     and relevant frequency calculations for the applied statistician", Annals of Statistics 12 (1984) 1151: checks of fit.
//   - N. E. Breslow and D. G. Clayton, "Approximate inference in generalized linear mixed models", Journal of the American
//     Statistical Association 88 (1993) 9; D. Bates and others, "Fitting linear mixed-effects models using lme4",
//     Journal of Statistical Software 67 (2015) 1: intercepts in units of their spread; H. Skaug and D. Fournier,
//     "Automatic approximation of the marginal likelihood in non-Gaussian hierarchical models", Computational Statistics
//     and Data Analysis 51 (2006) 699: its gradient.
//   - W. F. Tinney and J. W. Walker, "Direct solutions of sparse network equations by optimally ordered triangular
//     factorization", Proceedings of the IEEE 55 (1967) 1801; K. Takahashi, J. Fagan and M.-S. Chin, "Formation of a sparse
//     bus impedance matrix", Power Industry Computer Applications (1973): order, and inverse.
//   - A. Gelman and others, "A weakly informative default prior distribution for logistic and other regression models",
//     Annals of Applied Statistics 2 (2008) 1360; Y. Chung and others, "A nondegenerate penalized likelihood estimator for
//     variance parameters in multilevel models", Psychometrika 78 (2013) 685: priors.
//   - M. Lesnoff and others, "Within-herd spread of contagious bovine pleuropneumonia in Ethiopian highlands", Preventive
//     Veterinary Medicine 64 (2004) 27: the herds in the tests.
//   - V. V. Fedorov, Theory of Optimal Experiments (1972): what a further row would tell.
//   - E. M. Kitagawa, "Components of a difference between two rates", Journal of the American Statistical Association 50
//     (1955) 1168; P. Das Gupta, Standardization and Decomposition of Rates: A User's Manual, US Bureau of the Census P23-186
//     (1993): the decomposition, and its examples. L. S. Shapley, "A value for n-person games" (1953): the same rule.
//   - E. L. Kaplan and P. Meier, "Nonparametric estimation from incomplete observations", Journal of the American
//     Statistical Association 53 (1958) 457: the curve, and an example.
//   - M. Greenwood, "The natural duration of cancer", Reports on Public Health and Medical Subjects 33 (1926): the variance.
//   - J. D. Kalbfleisch and R. L. Prentice, The Statistical Analysis of Failure Time Data (1980): the log(−log) interval.
//   - R. Brookmeyer and J. Crowley, "A confidence interval for the median survival time", Biometrics 38 (1982) 29: of quantiles.
//   - W.-Y. Tsai, N. P. Jewell and M.-C. Wang, "A note on the product-limit estimator under right censoring and left
//     truncation", Biometrika 74 (1987) 883: delayed entry.
//   - M. P. Fay, E. H. Brittain and M. A. Proschan, "Pointwise confidence intervals for a survival distribution with
//     small samples or heavy censoring", Biostatistics 14 (2013) 723: the beta product.
//   - N. Mantel, "Evaluation of survival data and two new rank order statistics arising in its consideration", Cancer
//     Chemotherapy Reports 50 (1966) 163: the log-rank test.
//   - D. R. Cox, "Regression models and life-tables", Journal of the Royal Statistical Society B 34 (1972) 187, and J. D.
//     Singer and J. B. Willett, "It's about time: using discrete-time survival analysis to study duration and the timing of
//     events", Journal of Educational Statistics 18 (1993) 155: chances day by day.
//   - Y. Pei and others, "Proximate causes of infertility and embryo mortality in captive zebra finches", American
//     Naturalist 196 (2020) 577: how alike eggs of one bird are.
//
// All from memory; the figures in the tests come from the places named there.
package outcome
