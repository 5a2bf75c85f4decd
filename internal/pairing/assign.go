package pairing

import (
	"context"
	"math"
	"slices"
)

// Single marks a row without a column.
const Single = -1

// Goal says whether the sum should be small or large.
type Goal uint8

// The two goals.
const (
	Minimise Goal = iota
	Maximise
)

// Assignment is a best set of pairs.
type Assignment struct {
	Column   []int   // by row: its column, or Single
	Pairs    int     // how many rows have a column
	Complete bool    // there is no bird left over on the smaller side
	Value    float64 // sum of the pairs' worth

	// Row and Column prices prove the answer when Complete: for every allowed cell
	// worth - RowPrice - ColumnPrice is at least 0 (at most 0 when maximising), it is 0 for the pairs, and
	// on the larger side the price of every unpaired bird is 0 and no price is
	// above 0 (below 0 when maximising). Both are nil when not Complete.
	RowPrice, ColumnPrice []float64
}

// Assign returns the set of as many pairs as possible with the best sum. Entry (i, j) of
// worth is that of row i with column j; cells that are true in forbidden are never
// paired. The mask may be nil. Where several sets are equally good, which one is
// returned depends on the order of rows, never on chance.
//
// It takes O(n²m) time at worst, for n the smaller side and m the larger, and one
// copy of the table. Sums of whole numbers up to 2^53 are exact. The
// error is the context's.
func Assign(ctx context.Context, worth [][]float64, forbidden [][]bool, goal Goal) (Assignment, error) {
	s := newSolver(worth, forbidden, goal)
	if err := s.reduce(ctx); err != nil {
		return Assignment{}, err
	}
	for _, row := range s.free {
		if err := ctx.Err(); err != nil {
			return Assignment{}, err
		}
		s.augment(row)
	}
	return s.answer(worth, goal), nil
}

// solver holds a table with no more rows than columns; flipped when the caller's
// has more. Smaller is better. Throughout, c - u - v >= 0 in every allowed cell of a
// row that takes part, 0 in every pair, v <= 0, and v = 0 in a free column unless
// the table is full: then every column is paired in the end, and it matters not.
type solver struct {
	n, m    int
	flipped bool
	full    bool      // square, with every cell allowed
	c       []float64 // n rows of m; +Inf where forbidden
	u, v    []float64
	column  []int32 // of a row, or -1
	row     []int32 // of a column, or -1
	free    []int32 // rows that reduce leaves without a column

	// Scratch of augment, by column.
	via     []int32 // the row before the column on the shortest path
	todo    []open  // columns not reached for good
	reached []open  // columns reached for good, in order
}

// open is a column while paths are sought: all that a step asks, side by side.
type open struct {
	dist   float64 // length of the shortest path found so far
	v      float64
	column int32
	via    int32 // the row before it on that path
}

func newSolver(worth [][]float64, forbidden [][]bool, goal Goal) *solver {
	rows, columns := len(worth), 0
	if rows > 0 {
		columns = len(worth[0])
	}
	if forbidden != nil && len(forbidden) != rows {
		panic("pairing: worth and forbidden differ in length")
	}
	s := &solver{n: rows, m: columns}
	if rows > columns {
		s.n, s.m, s.flipped = columns, rows, true
	}
	s.c = make([]float64, rows*columns)
	for i, line := range worth {
		if len(line) != columns || (forbidden != nil && len(forbidden[i]) != columns) {
			panic("pairing: rows differ in length")
		}
		for j, value := range line {
			switch {
			case forbidden != nil && forbidden[i][j]:
				value = math.Inf(1)
			case math.IsNaN(value) || math.IsInf(value, 0):
				panic("pairing: a worth is not a number")
			case goal == Maximise:
				value = -value
			}
			if s.flipped {
				s.c[j*s.m+i] = value
			} else {
				s.c[i*s.m+j] = value
			}
		}
	}
	s.full = rows == columns && rows > 1 && forbidden == nil
	s.u, s.v = make([]float64, s.n), make([]float64, s.m)
	s.column, s.row = make([]int32, s.n), make([]int32, s.m)
	for i := range s.column {
		s.column[i] = -1
	}
	for j := range s.row {
		s.row[j] = -1
	}
	s.via = make([]int32, s.m)
	s.todo, s.reached = make([]open, s.m), make([]open, 0, s.m)
	return s
}

// flatSolver is a solver of a square table whose cells are written into c before each
// call of solve; +Inf is forbidden.
func flatSolver(side int) *solver {
	return &solver{
		n: side, m: side, c: make([]float64, side*side), u: make([]float64, side), v: make([]float64, side),
		column: make([]int32, side), row: make([]int32, side), via: make([]int32, side),
		todo: make([]open, side), reached: make([]open, 0, side),
	}
}

// solve finds the cheapest full assignment, and reports whether there is one.
func (s *solver) solve() bool {
	clear(s.u)
	clear(s.v)
	for i := range s.column {
		s.column[i], s.row[i] = -1, -1
	}
	_ = s.reduce(context.Background()) // a table that is not marked full has no bidding to break off
	for _, row := range s.free {
		s.augment(row)
		if s.column[row] < 0 {
			return false
		}
	}
	return !slices.Contains(s.column, -1)
}

// reduce pairs each row with its cheapest column at going prices, raising the price
// of what is in demand, as long as that goes quickly (Jonker and Volgenant's
// augmenting row reduction). Prices of free columns stay 0.
func (s *solver) reduce(ctx context.Context) error {
	// The quickest of 0 to 3 on uniform tables of 1000 by 1000; paths settle the rest.
	const rounds = 2
	waiting := make([]int32, s.n)
	for i := range waiting {
		waiting[i] = int32(i)
	}
	fought := false // rows kept outbidding each other until the round was cut short
	for range rounds {
		var put []int32 // rows left for the next round
		budget := 2 * s.n
		for k := 0; k < len(waiting); {
			i := waiting[k]
			best, second, at := s.cheapest(i)
			if at < 0 { // nothing is allowed
				put = append(put, i)
				k++
				continue
			}
			before := s.row[at]
			s.u[i] = best
			if second > best && !math.IsInf(second, 1) {
				s.u[i] = second
				s.v[at] -= second - best
			} else if before >= 0 {
				// No price tells the two rows apart.
				put = append(put, i)
				k++
				continue
			}
			s.row[at], s.column[i] = i, int32(at)
			if before < 0 {
				k++
				continue
			}
			s.column[before] = -1
			if budget--; budget > 0 {
				waiting[k] = before
			} else {
				put = append(put, before)
				k++
			}
		}
		waiting = put
		fought = budget <= 0
	}
	if fought && s.full && 2*len(waiting) > s.n {
		if err := s.bid(ctx); err != nil {
			return err
		}
		waiting = waiting[:0]
		for i, j := range s.column {
			if j < 0 {
				waiting = append(waiting, int32(i))
			}
		}
	}
	s.free = waiting
	return nil
}

// bid finds prices for a square table without forbidden cells in which rows want the
// same columns, so that raising prices by the least step would take very long.
// Rows outbid each other by no less than a step, and the step shrinks (Bertsekas
// 1988, auction with scaling). The prices are good but not exact; pairs that are
// not the cheapest cell of their row come apart again, and paths settle the rest.
// Where every column finds a row in the end, its price may be anything.
func (s *solver) bid(ctx context.Context) error {
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range s.c {
		low, high = min(low, c), max(high, c)
	}
	clear(s.v)
	waiting := make([]int32, 0, s.n)
	// The quickest of the few that were tried on i·j, 1000 by 1000.
	const smaller, finest = 8, 10
	least := (high - low) / (finest * float64(s.n) * float64(s.n))
	for step := (high - low) / smaller; step > least; step /= smaller {
		waiting = waiting[:0]
		for i := range s.column {
			s.column[i] = -1
			waiting = append(waiting, int32(i))
		}
		for j := range s.row {
			s.row[j] = -1
		}
		for made := 0; len(waiting) > 0; made++ {
			if made%1024 == 0 && ctx.Err() != nil {
				return ctx.Err()
			}
			i := waiting[len(waiting)-1]
			waiting = waiting[:len(waiting)-1]
			best, second, at := s.cheapest(i)
			s.v[at] -= second - best + step
			if before := s.row[at]; before >= 0 {
				s.column[before] = -1
				waiting = append(waiting, before)
			}
			s.row[at], s.column[i] = i, int32(at)
		}
	}
	top := math.Inf(-1)
	for _, v := range s.v {
		top = max(top, v)
	}
	for j := range s.v {
		s.v[j] -= top
	}
	for i, j := range s.column {
		best, _, _ := s.cheapest(int32(i))
		s.u[i] = best
		if j >= 0 && s.c[i*s.m+int(j)]-s.v[j] != best {
			s.column[i], s.row[j] = -1, -1
		}
	}
	return nil
}

// cheapest returns the lowest and the second lowest of row i at going prices, and
// the column of the lowest, or -1.
func (s *solver) cheapest(i int32) (best, second float64, at int) {
	line := s.c[int(i)*s.m:][:s.m]
	v := s.v[:s.m]
	best, second, at = math.Inf(1), math.Inf(1), -1
	for j, c := range line {
		if h := c - v[j]; h < second {
			if h < best {
				best, second, at = h, best, j
			} else {
				second = h
			}
		}
	}
	return best, second, at
}

// augment brings in a free row by the shortest path of swaps. When none ends at a
// free column, the row that it is cheapest to leave single stays single for good: other
// rows have no use for what it could give up.
func (s *solver) augment(from int32) {
	inf := math.Inf(1)
	todo := s.todo[:0]
	for j, row := range s.row {
		if row < 0 {
			todo = append(todo, open{inf, s.v[j], int32(j), -1})
		}
	}
	free := len(todo)
	for j, row := range s.row {
		if row >= 0 {
			todo = append(todo, open{inf, s.v[j], int32(j), -1})
		}
	}
	s.reached = s.reached[:0]
	s.u[from] = s.entry(from)
	low, i, end := 0.0, from, int32(-1)
	for {
		next, nearest := s.step(todo, free, i, low)
		if next < 0 {
			break // no free column can be reached
		}
		at := todo[next]
		todo[next] = todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		low = nearest
		s.via[at.column] = at.via
		if s.row[at.column] < 0 {
			end = at.column
			break
		}
		s.reached = append(s.reached, at)
		i = s.row[at.column]
	}
	if end < 0 {
		s.leaveSingle(from)
		return
	}
	s.reprice(from, low)
	s.swap(from, end)
}

// step goes on from row i, which a path of length low reaches, to all open columns.
// It returns the entry of the one that is nearest now, or -1 when none can be
// reached. Entries up to free are free columns: they win ties, and the search ends
// there when one is as near as can be.
func (s *solver) step(todo []open, free int, i int32, low float64) (next int, nearest float64) {
	line := s.c[int(i)*s.m:][:s.m]
	off := low - s.u[i]
	next, nearest = scan(todo[:free], line, off, i, math.Inf(1))
	if next >= 0 && nearest <= low {
		return next, nearest
	}
	if k, d := scan(todo[free:], line, off, i, nearest); k >= 0 {
		next, nearest = free+k, d
	}
	return next, nearest
}

// scan is step for some columns: it returns the first of those nearer than a bound
// that is nearest, or -1 and the bound.
func scan(todo []open, line []float64, off float64, i int32, bound float64) (next int, nearest float64) {
	next, nearest = -1, bound
	for k := range todo {
		t := &todo[k]
		d := line[t.column] + off - t.v
		if d < t.dist {
			t.dist, t.via = d, i
		} else {
			d = t.dist
		}
		if d < nearest {
			nearest, next = d, k
		}
	}
	return next, nearest
}

// entry is the cheapest cell of a row at going prices, or 0 when none is allowed.
func (s *solver) entry(i int32) float64 {
	best, _, at := s.cheapest(i)
	if at < 0 {
		return 0
	}
	return best
}

// reprice keeps every cell at 0 or more when paths up to length low become pairs.
func (s *solver) reprice(from int32, low float64) {
	s.u[from] += low
	for _, at := range s.reached {
		if gap := low - at.dist; gap > 0 {
			s.v[at.column] -= gap
			s.u[s.row[at.column]] += gap
		}
	}
}

// swap gives the column end to the row before it on the path, that row's column to
// the one before, and so on back to from.
func (s *solver) swap(from, end int32) {
	for {
		i := s.via[end]
		s.row[end] = i
		s.column[i], end = end, s.column[i]
		if i == from {
			return
		}
	}
}

// leaveSingle drops the row whose loss costs least, of from and all rows that a path
// from it can reach. The path to a row's column changes the sum by its length, plus
// the price of from, less the price of the row that drops out.
func (s *solver) leaveSingle(from int32) {
	least, drop := -s.u[from], int32(-1)
	low := 0.0
	for _, at := range s.reached {
		if change := at.dist - s.u[s.row[at.column]]; change < least {
			least, drop, low = change, at.column, at.dist
		}
	}
	if drop < 0 {
		return
	}
	out := s.row[drop]
	s.reprice(from, low)
	s.column[out] = -1
	s.swap(from, drop)
}

func (s *solver) answer(worth [][]float64, goal Goal) Assignment {
	a := Assignment{Column: make([]int, len(worth))}
	for i := range a.Column {
		a.Column[i] = Single
	}
	for i, j := range s.column {
		switch {
		case j < 0:
		case s.flipped:
			a.Column[j] = i
		default:
			a.Column[i] = int(j)
		}
	}
	for i, j := range a.Column {
		if j != Single {
			a.Pairs++
			a.Value += worth[i][j]
		}
	}
	if a.Complete = a.Pairs == s.n; a.Complete {
		if goal == Maximise {
			for i := range s.u {
				s.u[i] = -s.u[i]
			}
			for j := range s.v {
				s.v[j] = -s.v[j]
			}
		}
		a.RowPrice, a.ColumnPrice = s.u, s.v
		if s.flipped {
			a.RowPrice, a.ColumnPrice = s.v, s.u
		}
	}
	return a
}
