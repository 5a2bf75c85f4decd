package heredity

import "slices"

// A network is a product of tables over discrete variables. Tables are over the full
// state spaces and are shared between birds; domains say which states are still open.
type network struct {
	dom     [][]int32   // open states of each variable, rising
	size    []int       // number of states of each variable
	unary   [][]float64 // weight of each state; nil: all 1
	seen    []bool      // the variable has evidence of its own
	factors []factor
	of      [][]int32 // factors of each variable
}

// A factor is a table over some variables, the last one running fastest. The owner is
// the variable whose distribution, given the others, the factor is a part of; -1 marks
// evidence.
type factor struct {
	vars  []int32
	tab   []float64
	owner int32
}

func (n *network) variable(size int, unary []float64) int32 {
	n.dom = append(n.dom, nil)
	n.size = append(n.size, size)
	n.unary = append(n.unary, unary)
	n.seen = append(n.seen, false)
	n.of = append(n.of, nil)
	return int32(len(n.dom) - 1)
}

func (n *network) factor(owner int32, tab []float64, vars ...int32) {
	if owner < 0 {
		for _, v := range vars {
			n.seen[v] = true
		}
	}
	for _, v := range vars {
		n.of[v] = append(n.of[v], int32(len(n.factors)))
	}
	n.factors = append(n.factors, factor{vars, tab, owner})
}

// weigh multiplies evidence into a variable's own weights.
func (n *network) weigh(v int32, w []float64) {
	u := make([]float64, n.size[v])
	for i := range u {
		u[i] = w[i]
		if n.unary[v] != nil {
			u[i] *= n.unary[v][i]
		}
	}
	n.unary[v], n.seen[v] = u, true
}

// prune drops states that no combination of open states of some table allows, until
// nothing changes. It returns a variable without any state left, or -1.
func (n *network) prune() int32 {
	for v := range n.dom {
		n.dom[v] = make([]int32, 0, n.size[v])
		for s := range n.size[v] {
			if n.unary[v] == nil || n.unary[v][s] > 0 {
				n.dom[v] = append(n.dom[v], int32(s))
			}
		}
		if len(n.dom[v]) == 0 {
			return int32(v)
		}
	}
	queue := make([]int32, len(n.factors))
	waiting := make([]bool, len(n.factors))
	for f := range queue {
		queue[f], waiting[f] = int32(f), true
	}
	for len(queue) > 0 {
		f := queue[0]
		queue, waiting[f] = queue[1:], false
		for i, gone := range n.unsupported(f) {
			if !slices.Contains(gone, true) {
				continue
			}
			v := n.factors[f].vars[i]
			k := 0
			for j, s := range n.dom[v] {
				if !gone[j] {
					n.dom[v][k] = s
					k++
				}
			}
			if n.dom[v] = n.dom[v][:k]; k == 0 {
				return v
			}
			for _, o := range n.of[v] {
				if o != f && !waiting[o] {
					queue, waiting[o] = append(queue, o), true
				}
			}
		}
	}
	return -1
}

// unsupported marks, for each variable of a factor, the open states that occur in no
// combination with positive weight.
func (n *network) unsupported(f int32) [][]bool {
	fa := &n.factors[f]
	k := len(fa.vars)
	gone := make([][]bool, k)
	stride := make([]int, k)
	left, st := 0, 1
	for i := k - 1; i >= 0; i-- {
		v := fa.vars[i]
		gone[i] = make([]bool, len(n.dom[v]))
		for j := range gone[i] {
			gone[i][j] = true
		}
		left += len(gone[i])
		stride[i] = st
		st *= n.size[v]
	}
	at := make([]int, k)
	for left > 0 {
		idx := 0
		for i, v := range fa.vars {
			idx += stride[i] * int(n.dom[v][at[i]])
		}
		if fa.tab[idx] > 0 {
			for i := range at {
				if gone[i][at[i]] {
					gone[i][at[i]] = false
					left--
				}
			}
		}
		i := k - 1
		for ; i >= 0; i-- {
			if at[i]++; at[i] < len(n.dom[fa.vars[i]]) {
				break
			}
			at[i] = 0
		}
		if i < 0 {
			break
		}
	}
	return gone
}

// components returns the sets of variables that hang together, of those that keep, with
// two or more open states first cut out of the tables: a variable with one open state
// joins nothing. Each set is in rising order.
func (n *network) components(keep []bool) [][]int32 {
	root := newForest(len(n.dom))
	for _, f := range n.factors {
		last := -1
		for _, v := range f.vars {
			if len(n.dom[v]) < 2 || (keep != nil && !keep[v]) {
				continue
			}
			if last >= 0 {
				root.join(last, int(v))
			}
			last = int(v)
		}
	}
	at := map[int]int{}
	var out [][]int32
	for v := range n.dom {
		if len(n.dom[v]) < 2 || (keep != nil && !keep[v]) {
			continue
		}
		r := root.find(v)
		i, ok := at[r]
		if !ok {
			i = len(out)
			at[r] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], int32(v))
	}
	return out
}

// informative marks the variables that matter for the likelihood: those with evidence
// and all that their distributions hang on. The others add up to 1.
func (n *network) informative() []bool {
	keep := make([]bool, len(n.dom))
	var stack []int32
	for v := range n.dom {
		if n.seen[v] {
			keep[v] = true
			stack = append(stack, int32(v))
		}
	}
	n.close(keep, stack)
	return keep
}

// close adds to keep everything on which the variables on the stack hang.
func (n *network) close(keep []bool, stack []int32) {
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, f := range n.owned(v) {
			for _, w := range n.factors[f].vars {
				if !keep[w] {
					keep[w] = true
					stack = append(stack, w)
				}
			}
		}
	}
}

// owned returns the factors that the variable owns. One of them may not touch it.
func (n *network) owned(v int32) []int32 {
	var out []int32
	for _, f := range n.of[v] {
		if n.factors[f].owner == v {
			out = append(out, f)
		}
	}
	return out
}
