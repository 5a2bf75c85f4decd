// Package pairing chooses the best set of pairs for a whole room at once, given
// what each cock with each hen is worth.
//
// # Shapes
//
// A table has one row for each cock and one column for each hen; there may be more
// of either. Results are by row: the column of each cock's hen, or [Single].
//
// # Units
//
// Worth is in whatever the caller counts, such as expected young. Only sums matter.
//
// # Model
//
// Every bird is in one pair at most. As many pairs as possible are made, and among
// all such sets the one with the best sum is taken, exactly. A set of best pairs
// taken one by one is in general worse.
//
// # Errors
//
// A ragged table, or a worth that is not a finite number in an allowed cell, is a
// mistake in the program, and panics. A room that cannot be paired in full is no
// error: [Assignment.Complete] says so.
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
package pairing
