// Package heredity works out colours: what young a pair gives, what a bird may hide,
// which records cannot all be true, and which pairing would tell most.
//
// # Shapes
//
// A [Model] holds loci, links between loci, and traits with their looks. It is read by
// [Read] from the bytes of a loci file, or taken from [Catalogue]. Loci, alleles, traits
// and looks are named by their index in the model.
//
// A flock is a slice of [Bird]; parents are indices in that slice, or [Unknown]. Rows
// stand in any order. Genotypes at a locus with n alleles are numbered (0,0), (0,1), ...,
// (0,n-1), (1,1), ...: see [Model.Genotypes]. A hen's genotype at a Z locus is one
// allele, numbered as the allele.
//
// # Units
//
// Every probability is from 0 to 1. A recombination fraction is from 0 to 0.5. Log
// likelihoods are natural logs.
//
// # Model
//
// Cocks have two Z chromosomes, hens one, from their sire; the W and the small region
// that Z and W share are left out, as is mutation. Each of a parent's two alleles is
// handed on with chance one half. Linked loci recombine in cocks on the Z and in both
// sexes elsewhere, in each interval on its own (no interference). Loci that no link
// joins recombine freely; between two Z loci that is marked as an assumption, because
// no fraction is published for these finches. Unknown parents are drawn from the allele
// frequencies in Hardy-Weinberg proportions, and loci independently of each other.
// A look depends on the genotype alone, given the sex.
//
// Survival: a bird in the records lived, so its genotype is drawn from the living young
// of its parents (the distribution that [Cross] gives), within its sex. How many eggs
// died is no evidence here.
//
// # Method
//
// [Infer] builds one factor graph with a variable for each bird and linkage group, for
// each unknown sex and for each uncertain parentage, drops states that no records allow,
// splits what is independent, and eliminates variables in a greedy order, inward and
// outward, so that every marginal is exact. Where the largest table would pass a bound,
// variables without evidence are put aside first; where that is not enough, blocked
// Gibbs sampling answers, and says so, with its Monte Carlo error.
//
// # Errors
//
// A loci file that does not hold together is a [*ModelError], records that cannot be a
// flock are a [*FlockError], and records that cannot all be true are a [*ConflictError]
// with the fewest records found. An index out of range in a question is a mistake in
// the program, and panics.
//
// # Sources
//
//   - Elston and Stewart (1971), A general model for the genetic analysis of pedigree
//     data, Human Heredity 21, 523-542: the likelihood of a pedigree.
//   - Lauritzen and Sheehan (2003), Graphical models for genetic analyses, Statistical
//     Science 18, 489-514: pedigrees as factor graphs.
//   - Jensen, Kong and Kjaerulff (1995), Blocking Gibbs sampling in very large
//     probabilistic expert systems, International Journal of Human-Computer Studies 42,
//     647-666: the approximation.
//   - Ignatiev, Previti, Liffiton and Marques-Silva (2015), Smallest MUS extraction with
//     minimal hitting set dualization, CP 2015: the smallest clash.
//   - Junker (2004), QuickXplain, AAAI 2004: an irreducible clash.
//
// Titles and pages are from memory.
package heredity
