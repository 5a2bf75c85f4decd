// Package pedigree turns "who were the parents" into "how alike are two birds
// expected to be": inbreeding and kinship on body chromosomes and on the Z, what is
// left of each founder, and how fast a flock grows related.
//
// # Shapes
//
// A [Pedigree] of n birds is made by [New] from two slices of length n: entry i
// holds the row of bird i's sire or dam, or [Unknown]. Rows stand in any order.
// Results are indexed by the same rows; a kinship matrix is n rows of n.
//
// # Units
//
// Kinship and inbreeding are probabilities, from 0 to 1. Some authors tabulate the
// additive relationship instead: it is exactly twice the kinship.
//
// # Model
//
// Birds with unknown parents are unrelated and not inbred, unless
// [Pedigree.WithGroups] says otherwise. Parents known only in probability go to
// [NewUncertain]. Alleles carry no advantage: each of a parent's two is handed on with chance one half. Cocks have
// two Z chromosomes, hens one, from their sire; the W is left out, as are mutation
// and the small region that Z and W share.
//
// # Errors
//
// Rows that cannot be a pedigree are reported as [*Mistakes], a list of typed errors
// that name the rows, because they come from people. A row out of range in a question, or slices
// that differ in length, are mistakes in the program, and panic.
//
// # Sources
//
//   - Wright (1922), Coefficients of inbreeding and relationship,
//     The American Naturalist 56, 330-338: the definition.
//   - Henderson (1976), A simple method for computing the inverse of a numerator
//     relationship matrix, Biometrics 32, 69-83: the factors T and D.
//   - Meuwissen and Luo (1992), Computing inbreeding coefficients in large
//     populations, Genetics Selection Evolution 24, 305-313: following lines back.
//   - Colleau (2002), An indirect approach to the extensive calculation of relationship
//     coefficients, Genetics Selection Evolution 34, 409-421: T D T' times a vector.
//   - Sargolzaei, Iwaisaki and Colleau (2005), A fast algorithm for computing
//     inbreeding coefficients in large populations, Journal of Animal Breeding and
//     Genetics 122, 325-331: one line back for each sire.
//   - Fernando and Grossman (1990), Genetic evaluation with autosomal and X-chromosomal
//     inheritance, Theoretical and Applied Genetics 80, 75-80: the sex chromosome.
//   - Lacy (1989), Analysis of founder representation in pedigrees, Zoo Biology 8, 111-123, and
//     MacCluer et al. (1986), Pedigree analysis by computer simulation, Zoo Biology 5,
//     147-160: founders and gene drop.
//   - Henderson (1988), Use of an average numerator relationship matrix for multiple-sire
//     joining, Journal of Animal Science 66, 1614-1621, and Pérez-Enciso and Fernando
//     (1992), Genetic evaluation with uncertain parentage, Theoretical and Applied
//     Genetics 84, 173-179: doubtful parents.
//   - Legarra, Christensen, Vitezica, Aguilar and Misztal (2015), Ancestral
//     relationships using metafounders, Genetics 200, 455-468: groups.
//   - Gutiérrez, Cervantes and Goyache (2009), Improving the estimation of realized
//     effective population sizes in farm animals, Journal of Animal Breeding and
//     Genetics 126, 327-332: effective size from single birds.
//
// Titles and pages are from memory.
package pedigree
