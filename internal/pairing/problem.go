package pairing

import (
	"fmt"
	"math"
)

// Pair is a cock's row with a hen's column.
type Pair struct{ Cock, Hen int }

// Limit bounds what the pairs of a plan add up to, each counting by its own amount: 1 for
// each pair of a colour, say, or the blue hens that it is expected to give.
type Limit struct {
	// Amount is by cock, then hen.
	Amount [][]float64
	// Least and Most are the ends; -Inf and +Inf where there is none.
	Least, Most float64
	// Price is the worth lost for each unit short of Least or above Most. 0 says that the
	// limit may not be broken.
	Price float64
}

// AtMost limits to a number the pairs whose cell is true in cells.
func AtMost(cells [][]bool, most int) Limit {
	l := Limit{Least: math.Inf(-1), Most: float64(most)}
	for _, row := range cells {
		amount := make([]float64, len(row))
		for j, in := range row {
			if in {
				amount[j] = 1
			}
		}
		l.Amount = append(l.Amount, amount)
	}
	return l
}

// FewOf limits to a number the birds of a set that are paired, such as brothers and
// sisters: cocks by row and hens by column, out of rows by columns. A pair of two of them
// counts twice.
func FewOf(rows, columns int, cocks, hens []int, most int) Limit {
	l := Limit{Least: math.Inf(-1), Most: float64(most)}
	for range rows {
		l.Amount = append(l.Amount, make([]float64, columns))
	}
	for _, i := range cocks {
		for j := range columns {
			l.Amount[i][j]++
		}
	}
	for _, j := range hens {
		for i := range rows {
			l.Amount[i][j]++
		}
	}
	return l
}

// Problem is a room to be paired.
type Problem struct {
	// Worth is by cock, then hen: what the pair is worth, more being better.
	Worth [][]float64
	// Forbidden marks pairs that are never made; nil for none.
	Forbidden [][]bool
	// Locked are pairs that are made whatever they cost.
	Locked []Pair
	// Pairs is how many are made at most, as there are cages; 0 sets no number. Up to it
	// as many are made as locks, forbidden cells and hard limits allow.
	Pairs  int
	Limits []Limit

	// Kinship is that of all birds with each other, cocks by row first, then hens, a bird
	// with itself on the diagonal. Nil leaves relatedness out.
	Kinship [][]float64
	// Mix says what relatedness is: the share Mix of it is the mean kinship of the next
	// generation, the rest the mean kinship of the two birds of a pair, which is the
	// inbreeding of their young. From 0 to 1.
	Mix float64
	// Price is the worth given for one whole unit of relatedness less.
	Price float64
	// Most is the greatest relatedness allowed; 0 sets no limit. It never makes the number
	// of pairs smaller.
	Most float64
}

// Options steer the search. The zero value is ready for use.
type Options struct {
	// Work is how many assignment problems are solved at most; 0 is 20,000. The answer
	// depends on it and not on the speed of the computer.
	Work int
	// Gap is the distance from the best value that is good enough; 0 asks for the best.
	Gap float64
}

// usualWork takes about a second for 60 by 60.
const usualWork = 20_000

func (o Options) work() int {
	if o.Work > 0 {
		return o.Work
	}
	return usualWork
}

// Status says how far a plan is proved.
type Status uint8

// A plan is Proven when none has more pairs and none of as many can be better by more than
// the gap asked for, Within when its value and pairs and their bounds enclose the best. Impossible says that no plan keeps the limits,
// NotFound that none was found and none was ruled out.
const (
	Proven Status = iota
	Within
	Impossible
	NotFound
)

// String returns the status in words.
func (s Status) String() string {
	return [...]string{"proven", "within", "impossible", "not found"}[s]
}

// Plan is a set of pairs for the whole room.
type Plan struct {
	Pairs  []Pair // by cock
	Status Status
	// Value is Worth less Fine less Price times Related. Bound is proved
	// to be at least the value of every plan with as many pairs.
	Value, Bound float64
	// MostPairs is proved to be at least the number of pairs of any plan.
	MostPairs int
	Worth     float64
	Fine      float64 // what broken limits cost
	Related   float64 // Mix of the two below
	// Next is the mean kinship of the next generation, each pair leaving equally many
	// young and many of them; Inbreeding is the mean kinship of the two birds of a pair.
	Next, Inbreeding float64
	Amounts          []float64 // by limit: what the pairs add up to
	// Clash lists, for an impossible plan, limits that cannot be kept together: with any one
	// of them dropped the others can. Empty when locks and forbidden cells alone are to
	// blame, or the relatedness allowed, or the search ended too early to tell.
	Clash []int
	Work  int // assignment problems solved
}

// Has reports whether a pair is in the plan.
func (p *Plan) Has(c Pair) bool {
	for _, x := range p.Pairs {
		if x == c {
			return true
		}
	}
	return false
}

// Gap is how much better another plan might at most be.
func (p *Plan) Gap() float64 { return max(0, p.Bound-p.Value) }

func (p *Problem) size() (rows, columns int) {
	if len(p.Worth) == 0 {
		return 0, 0
	}
	return len(p.Worth), len(p.Worth[0])
}

// check panics where a problem is a mistake in the program.
func (p *Problem) check() {
	rows, columns := p.size()
	table := func(what string, t [][]float64, rows, columns int) {
		if len(t) != rows {
			panic("pairing: " + what + " has the wrong number of rows")
		}
		for _, line := range t {
			if len(line) != columns {
				panic("pairing: " + what + " has rows of the wrong length")
			}
			for _, x := range line {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					panic("pairing: " + what + " has a cell that is not a number")
				}
			}
		}
	}
	table("worth", p.Worth, rows, columns)
	if p.Forbidden != nil {
		if len(p.Forbidden) != rows {
			panic("pairing: forbidden has the wrong number of rows")
		}
		for _, line := range p.Forbidden {
			if len(line) != columns {
				panic("pairing: forbidden has rows of the wrong length")
			}
		}
	}
	for i, l := range p.Limits {
		table(fmt.Sprintf("limit %d", i), l.Amount, rows, columns)
		if math.IsNaN(l.Least) || math.IsNaN(l.Most) || l.Least > l.Most || !(l.Price >= 0) || math.IsInf(l.Price, 1) {
			panic(fmt.Sprintf("pairing: limit %d has ends or a price that cannot be", i))
		}
	}
	for _, c := range p.Locked {
		if c.Cock < 0 || c.Cock >= rows || c.Hen < 0 || c.Hen >= columns {
			panic("pairing: a locked pair is outside the table")
		}
	}
	if p.Pairs < 0 || !(p.Mix >= 0 && p.Mix <= 1) || !(p.Price >= 0) || math.IsInf(p.Price, 1) || !(p.Most >= 0) {
		panic("pairing: pairs, mix, price or most cannot be")
	}
	if p.Kinship != nil {
		table("kinship", p.Kinship, rows+columns, rows+columns)
		if !semidefinite(p.Kinship) {
			panic("pairing: kinship is not symmetric and positive semidefinite")
		}
	} else if p.Price > 0 || p.Most > 0 {
		panic("pairing: relatedness is asked for without kinship")
	}
}

// semidefinite reports whether a symmetric matrix has no eigenvalue clearly below 0, by
// Cholesky's factors with a little added to the diagonal.
func semidefinite(k [][]float64) bool {
	n := len(k)
	const little = 1e-8 // kinship is from 0 to 1 and its rounding far smaller
	l := make([][]float64, n)
	for i := range n {
		l[i] = make([]float64, i+1)
		for j := range i + 1 {
			if math.Abs(k[i][j]-k[j][i]) > little {
				return false
			}
			sum := k[i][j]
			for t := range j {
				sum -= l[i][t] * l[j][t]
			}
			switch {
			case i != j:
				l[i][j] = sum / l[j][j]
			case sum+little <= 0:
				return false
			default:
				l[i][i] = math.Sqrt(sum + little)
			}
		}
	}
	return true
}
