// Package pairing chooses the best set of pairs for a whole room at once, given
// what each cock with each hen is worth.
//
// # Shapes
//
// A table has one row for each cock and one column for each hen; there may be more
// of either. [Assign] answers by row: the column of each cock's hen, or [Single]. A
// [Plan] lists its pairs by cock. A matrix of kinship has the cocks first, then the hens.
//
// # Units
//
// Worth is in whatever the caller counts, such as expected young. Only sums matter.
// Kinship is from 0 to 1; a price of relatedness is worth for one whole unit of it, so a
// hundred times what one step in 100 is worth.
//
// # Model
//
// Every bird is in one pair at most. As many pairs as possible are made, and among
// all such sets the one with the best sum is taken, exactly. A set of best pairs
// taken one by one is in general worse.
//
// [Best] adds limits on what the pairs add up to, hard or at a price, and relatedness:
// the inbreeding of the young, which is linear in the pairs, and the mean kinship of the
// next generation, which is not. For the latter each pair leaves equally many young, and
// many: then it is the mean kinship of the birds that are paired, with themselves too,
// whoever is paired with whom. Overlap with older generations is left out.
//
// What a plan is worth and a bound that no plan passes are told apart everywhere:
// [Plan.Value], [Plan.Bound]. [Curve], [Others], [Insist] and [Without] ask Best over and
// over.
//
// # Errors
//
// A ragged table, or a worth that is not a finite number in an allowed cell, is a
// mistake in the program, and panics. A room that cannot be paired in full is no
// error: [Assignment.Complete] says so, and [Plan.Status] where limits cannot be kept.
//
// # Sources
//
//   - Jonker and Volgenant (1987), A shortest augmenting path algorithm for dense and
//     sparse linear assignment problems, Computing 38, 325-340: reduction by rows, then paths.
//   - Bertsekas (1988), The auction algorithm, Annals of Operations Research 14,
//     105-123 (from memory): bidding by shrinking steps where many want the same.
//   - Crouse (2016), On implementing 2D rectangular assignment algorithms, IEEE
//     Transactions on Aerospace and Electronic Systems 52, 1679-1696: more columns than rows.
//   - Machol and Wien (1976), A hard assignment problem, Operations Research 24,
//     190-192: the i·j case of the tests.
//   - Fisher (1981), The Lagrangian relaxation method for solving integer programming
//     problems, Management Science 27, 1-18 (from memory): bounds from prices on limits.
//   - Frank and Wolfe (1956), An algorithm for quadratic programming, Naval Research
//     Logistics Quarterly 3, 95-110 (from memory): tangents to the mean kinship.
//   - Lindgren and Mullin (1997), Balancing gain and relatedness in selection, Silvae
//     Genetica 46, 124-129 (from memory): worth against the group's mean kinship.
//   - Aneja and Nair (1979), Bicriteria transportation problem, Management Science 25,
//     73-78 (from memory): the curve.
package pairing
