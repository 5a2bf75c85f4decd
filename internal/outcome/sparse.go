package outcome

import (
	"container/heap"
	"math"
	"math/bits"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// chol factors symmetric positive matrices of one fixed sparse shape, H = L·Lᵀ, and gives those entries of the inverse
// that lie on the shape. Rows are taken in an order of least fill; where what remains is full, it is factored as one
// block.
//
// Values lie in one slice: the sparse columns one after another, diagonal first, then the full block by rows.
type chol struct {
	n, sparse int     // order; the first so many columns are sparse
	at        []int   // at[v] is the place of row v in the order of elimination
	rows      [][]int // by sparse column: places below the diagonal, rising
	start     []int   // by sparse column: index of its diagonal in the values; start[sparse] is the block's
	// left[j] lists the sparse columns k < j that reach row j, with the index of (j, k) in the values.
	left [][][2]int

	val   []float64 // the matrix, then its factor
	block mat.Cholesky
	sym   *mat.SymDense // the full block
	low   mat.TriDense
	x     []float64 // scratch, by place
}

// degrees is a heap of rows by degree, with entries left behind when a degree changes.
type degrees [][2]int

func (d degrees) Len() int { return len(d) }
func (d degrees) Less(i, j int) bool {
	return d[i][0] < d[j][0] || d[i][0] == d[j][0] && d[i][1] < d[j][1]
}
func (d degrees) Swap(i, j int) { d[i], d[j] = d[j], d[i] }
func (d *degrees) Push(x any)   { *d = append(*d, x.([2]int)) }
func (d *degrees) Pop() any {
	old := *d
	x := old[len(old)-1]
	*d = old[:len(old)-1]
	return x
}

// newChol plans the factor of a matrix with n rows, whose entries off the diagonal lie at the edges. The order is that of
// least degree in the graph of what remains (Tinney and Walker 1967), kept as rows of bits.
func newChol(n int, edges [][2]int) *chol {
	words := (n + 63) / 64
	graph := make([][]uint64, n)
	flat := make([]uint64, n*words)
	for v := range graph {
		graph[v] = flat[v*words : (v+1)*words]
	}
	for _, e := range edges {
		if e[0] != e[1] {
			graph[e[0]][e[1]/64] |= 1 << (e[1] % 64)
			graph[e[1]][e[0]/64] |= 1 << (e[0] % 64)
		}
	}
	c := &chol{n: n, at: make([]int, n), x: make([]float64, n)}
	degree := make([]int, n)
	queue := make(degrees, 0, n)
	for v := range graph {
		for _, w := range graph[v] {
			degree[v] += bits.OnesCount64(w)
		}
		queue = append(queue, [2]int{degree[v], v})
		c.at[v] = -1
	}
	heap.Init(&queue)
	var order []int
	var below [][]int // by column: rows that it reaches, by number
	for len(order) < n {
		e := heap.Pop(&queue).([2]int)
		v := e[1]
		if c.at[v] >= 0 || degree[v] != e[0] {
			continue
		}
		if degree[v] == n-len(order)-1 {
			break // whoever remains is tied to all others
		}
		c.at[v] = len(order)
		order = append(order, v)
		var near []int
		for i, w := range graph[v] {
			for ; w != 0; w &= w - 1 {
				near = append(near, i*64+bits.TrailingZeros64(w))
			}
		}
		below = append(below, near)
		for _, u := range near {
			d := 0
			for i, w := range graph[v] {
				graph[u][i] |= w
			}
			graph[u][v/64] &^= 1 << (v % 64)
			graph[u][u/64] &^= 1 << (u % 64)
			for _, w := range graph[u] {
				d += bits.OnesCount64(w)
			}
			degree[u] = d
			heap.Push(&queue, [2]int{d, u})
		}
	}
	c.sparse = len(order)
	for v := range c.at {
		if c.at[v] < 0 {
			c.at[v] = len(order)
			order = append(order, v)
		}
	}
	c.left = make([][][2]int, c.sparse)
	at := 0
	for k, near := range below {
		rows := make([]int, len(near))
		for i, u := range near {
			rows[i] = c.at[u]
		}
		slices.Sort(rows)
		c.rows, c.start = append(c.rows, rows), append(c.start, at)
		for i, r := range rows {
			if r < c.sparse {
				c.left[r] = append(c.left[r], [2]int{k, at + 1 + i})
			}
		}
		at += 1 + len(rows)
	}
	c.start = append(c.start, at)
	m := n - c.sparse
	c.val = make([]float64, at+m*m)
	if m > 0 {
		c.sym = mat.NewSymDense(m, c.val[at:])
	}
	return c
}

// index returns where the entry of rows u and v lies among the values. The two must be one, or an edge.
func (c *chol) index(u, v int) int {
	i, j := c.at[u], c.at[v]
	if i < j {
		i, j = j, i
	}
	if j >= c.sparse { // the upper half, by rows
		return c.start[c.sparse] + (j-c.sparse)*(c.n-c.sparse) + i - c.sparse
	}
	if i == j {
		return c.start[j]
	}
	k, found := slices.BinarySearch(c.rows[j], i)
	if !found {
		panic("outcome: an entry off the shape")
	}
	return c.start[j] + 1 + k
}

// factor turns the matrix in val into its factor. ok is false when the matrix is not positive.
func (c *chol) factor() (ok bool) {
	m := c.n - c.sparse
	full := c.val[c.start[c.sparse]:]
	for j := range c.sparse {
		s := c.start[j]
		col := c.val[s:c.start[j+1]]
		// What earlier columns take from this one.
		c.x[j] = col[0]
		for i, r := range c.rows[j] {
			c.x[r] = col[i+1]
		}
		for _, kp := range c.left[j] {
			k, p := kp[0], kp[1]
			l := c.val[p]
			rows := c.rows[k][p-c.start[k]-1:]
			vals := c.val[p : p+len(rows)]
			for i, r := range rows {
				c.x[r] -= l * vals[i]
			}
		}
		d := c.x[j]
		if !(d > 0) {
			return false
		}
		d = math.Sqrt(d)
		col[0] = d
		for i, r := range c.rows[j] {
			col[i+1] = c.x[r] / d
		}
		// And what this one takes from the full block.
		first, _ := slices.BinarySearch(c.rows[j], c.sparse)
		rows, vals := c.rows[j][first:], col[first+1:]
		for i, r := range rows {
			l := vals[i]
			row := full[(r-c.sparse)*m:]
			for q := i; q < len(rows); q++ {
				row[rows[q]-c.sparse] -= l * vals[q]
			}
		}
	}
	if m > 0 {
		if !c.block.Factorize(c.sym) {
			return false
		}
	}
	return true
}

// logDet is the logarithm of the determinant of the factored matrix.
func (c *chol) logDet() float64 {
	s := 0.0
	for j := range c.sparse {
		s += 2 * math.Log(c.val[c.start[j]])
	}
	if c.sparse < c.n {
		s += c.block.LogDet()
	}
	return s
}

// solve sets dst, by row number, to the solution of H·x = b.
func (c *chol) solve(dst, b []float64) {
	y := c.x
	for v, p := range c.at {
		y[p] = b[v]
	}
	c.forward(y)
	if m := c.n - c.sparse; m > 0 {
		tail := mat.NewVecDense(m, y[c.sparse:])
		if err := c.block.SolveVecTo(tail, tail); err != nil {
			_ = err.(mat.Condition) // near singular: the step that is tried with it must stand its own test
		}
	}
	c.back(y)
	for v, p := range c.at {
		dst[v] = y[p]
	}
}

// forward solves with the sparse columns of L, in place.
func (c *chol) forward(y []float64) {
	for j := range c.sparse {
		col := c.val[c.start[j]:c.start[j+1]]
		y[j] /= col[0]
		for i, r := range c.rows[j] {
			y[r] -= col[i+1] * y[j]
		}
	}
}

// back solves with the sparse rows of Lᵀ, in place.
func (c *chol) back(y []float64) {
	for j := c.sparse - 1; j >= 0; j-- {
		col := c.val[c.start[j]:c.start[j+1]]
		s := y[j]
		for i, r := range c.rows[j] {
			s -= col[i+1] * y[r]
		}
		y[j] = s / col[0]
	}
}

// spread sets dst to L⁻ᵀ·z: of independent standard normal z it makes a draw with covariance H⁻¹.
func (c *chol) spread(dst, z []float64) {
	y := c.x
	copy(y, z)
	if m := c.n - c.sparse; m > 0 {
		tail := mat.NewVecDense(m, y[c.sparse:])
		c.block.LTo(&c.low)
		if err := tail.SolveVec(c.low.TTri(), tail); err != nil {
			_ = err.(mat.Condition)
		}
	}
	c.back(y)
	for v, p := range c.at {
		dst[v] = y[p]
	}
}

// inverse sets dst, shaped as the values, to the entries of H⁻¹ on the shape (Takahashi, Fagan and Chin 1973): from the
// last column to the first, each from those to its right.
func (c *chol) inverse(dst []float64) {
	m := c.n - c.sparse
	full := dst[c.start[c.sparse]:]
	if m > 0 {
		inv := mat.NewSymDense(m, full)
		if err := c.block.InverseTo(inv); err != nil {
			_ = err.(mat.Condition)
		}
	}
	place := make([]int, c.n) // 1 + index in the column at hand
	var sum []float64
	for j := c.sparse - 1; j >= 0; j-- {
		col, rows := c.val[c.start[j]:c.start[j+1]], c.rows[j]
		sum = append(sum[:0], make([]float64, len(rows))...)
		for i, r := range rows {
			place[r] = i + 1
		}
		for i, k := range rows {
			l := col[i+1]
			if k >= c.sparse {
				row := full[(k-c.sparse)*m:]
				sum[i] += l * row[k-c.sparse]
				for q := i + 1; q < len(rows); q++ {
					z := row[rows[q]-c.sparse]
					sum[q] += l * z
					sum[i] += col[q+1] * z
				}
				continue
			}
			s := c.start[k]
			sum[i] += l * dst[s]
			for q, r := range c.rows[k] {
				if p := place[r]; p > 0 {
					z := dst[s+1+q]
					sum[p-1] += l * z
					sum[i] += col[p] * z
				}
			}
		}
		d := 1 / col[0]
		diag := d
		for i, r := range rows {
			z := -d * sum[i]
			dst[c.start[j]+1+i] = z
			diag -= col[i+1] * z
			place[r] = 0
		}
		dst[c.start[j]] = d * diag
	}
}
