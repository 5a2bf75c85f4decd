package heredity

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// A Question is what a keeper wants to know of a bird: does it carry an allele?
type Question struct {
	Bird          []Possible // what it may be: see [Joint] and [Model.Bird]
	Locus, Allele int
	// Young is how many young of a pairing are looked at; 0 is 4, one brood.
	Young int
	// Sons and Daughters leave out the other sex, as where it tells nothing or cannot be
	// scored; neither or both is all young.
	Sons, Daughters bool
}

// A Test is what one pairing would tell.
type Test struct {
	Mate int // index in the mates asked about
	// Bits is how much the looks of the young are expected to tell about whether the bird
	// carries the allele, from 0 to Sure; Sure is what there is to know.
	Bits, Sure float64
	// Normal is how many young in a row that might all come from a bird without the allele
	// bring the odds that it is one to 95 in 100, or -1 if no number up to 1000 does. 0
	// says that they stand there already.
	Normal int
	// After is the chance that the bird carries the allele after that many.
	After float64
	// Misses is how many such young it takes until a carrier would by chance hide so long
	// in at most 5 of 100 pairings, or -1.
	Misses int
}

const (
	confident = 0.95 // the odds asked for
	enough    = 1000 // young after which a pairing counts as telling nothing
	brood     = 4    // young looked at: a small brood of most finches (common practice, no source)
	maxTally  = 20_000
)

// Tests returns what pairing a bird with each of several mates would tell, most first.
// A mate is given by what it may be, independently of the bird.
//
// Bits is exact (mutual information, by listing how many young show each look). Looks
// that hang on nothing but chance are listed too; where a brood has over 20,000 outcomes
// fewer young are taken, and the ranking is by them.
func Tests(m *Model, q Question, mates [][]Possible) ([]Test, error) {
	if len(q.Bird) == 0 {
		panic("heredity: nothing is said of the bird")
	}
	n := q.Young
	if n <= 0 {
		n = brood
	}
	sons, daughters := q.Sons || !q.Daughters, q.Daughters || !q.Sons
	x := newMeiosis(m.filled())
	var out []Test
	for i, mate := range mates {
		if len(mate) == 0 || mate[0].Sex == q.Bird[0].Sex {
			return nil, wrongGenotype("Mate %d cannot be paired with this bird: a pair is a cock and a hen.", i+1)
		}
		pairs, classes, err := x.outcomes(q, mate, sons, daughters)
		if err != nil {
			return nil, err
		}
		t := Test{Mate: i}
		t.Bits, t.Sure = information(pairs, classes, n)
		t.streak(pairs, classes)
		out = append(out, t)
	}
	slices.SortStableFunc(out, func(a, b Test) int {
		// Rounding must not decide between mates that tell the same.
		return cmp.Compare(math.Round(b.Bits*1e9), math.Round(a.Bits*1e9))
	})
	return out, nil
}

// A mating is one way that bird and mate may be, with the chances of each class of look
// of one young.
type mating struct {
	p       float64
	carrier bool
	look    []float64
}

// outcomes lists matings, merged where they give the same young, and counts the classes:
// the combinations of sex and looks that occur.
func (x *meiosis) outcomes(q Question, mate []Possible, sons, daughters bool) ([]mating, int, error) {
	class := map[string]int{}
	index := map[string]int{}
	var out []mating
	if len(q.Bird)*len(mate) > maxTally {
		return nil, 0, wrongGenotype("Too much is left open about bird and mate. Leave out loci that are of no interest.")
	}
	type young struct {
		carrier bool
		p       float64
		share   map[int]float64
	}
	var all []young
	for _, b := range q.Bird {
		for _, o := range mate {
			cock, hen := b, o
			if b.Sex == Hen {
				cock, hen = o, b
			}
			cock.P, hen.P = 1, 1
			y, err := Cross(x.Model, []Possible{cock}, []Possible{hen})
			if err != nil {
				if _, dead := err.(*GenotypeError); dead && b.P*o.P > 0 {
					continue // a pairing without living young shows no young at all
				}
				return nil, 0, err
			}
			share, sum := map[int]float64{}, 0.0
			for _, s := range y.ByLooks() {
				if (s.Sex == Cock && !sons) || (s.Sex == Hen && !daughters) {
					continue
				}
				key := fmt.Sprint(s.Sex, s.Looks)
				k, ok := class[key]
				if !ok {
					k = len(class)
					class[key] = k
				}
				share[k] += s.P
				sum += s.P
			}
			for k := range share {
				share[k] /= sum
			}
			if sum > 0 {
				all = append(all, young{b.First[q.Locus] == q.Allele || b.Second[q.Locus] == q.Allele, b.P * o.P, share})
			}
		}
	}
	total := 0.0
	for _, y := range all {
		total += y.p
		look := make([]float64, len(class))
		for k, s := range y.share {
			look[k] = s
		}
		key := fmt.Sprint(y.carrier)
		for _, s := range look {
			key += fmt.Sprintf(" %.12g", s)
		}
		i, ok := index[key]
		if !ok {
			i = len(out)
			index[key] = i
			out = append(out, mating{0, y.carrier, look})
		}
		out[i].p += y.p
	}
	if total == 0 {
		return nil, 0, wrongGenotype("No young of this pair would live, by the loci file.")
	}
	for i := range out {
		out[i].p /= total
	}
	return out, len(class), nil
}

// information is the mutual information, in bits, of whether the bird is a carrier and
// the looks of n young, and the entropy of whether it is.
func information(ms []mating, classes, n int) (bits, sure float64) {
	carrier := 0.0
	for _, m := range ms {
		if m.carrier {
			carrier += m.p
		}
	}
	sure = entropy(carrier)
	for n > 1 {
		outcomes := 1.0
		for i := 1; i < classes; i++ {
			outcomes *= float64(n+i) / float64(i)
		}
		if outcomes*float64(len(ms)) <= maxTally*10 {
			break
		}
		n--
	}
	w := make([][]float64, classes+1) // weight of each mating with the classes so far
	for i := range w {
		w[i] = make([]float64, len(ms))
	}
	for i, m := range ms {
		w[0][i] = m.p
	}
	left := 0.0 // expected entropy after looking
	var walk func(class, young int)
	walk = func(class, young int) {
		if class == classes-1 || young == 0 {
			with, all := 0.0, 0.0
			for i, m := range ms {
				p := w[class][i]
				if young > 0 {
					p *= math.Pow(m.look[class], float64(young))
				}
				all += p
				if m.carrier {
					with += p
				}
			}
			if all > 0 {
				left += all * entropy(with/all)
			}
			return
		}
		ways := 1.0
		for k := 0; k <= young; k++ {
			for i, m := range ms {
				w[class+1][i] = w[class][i] * ways * math.Pow(m.look[class], float64(k))
			}
			walk(class+1, young-k)
			ways = ways * float64(young-k) / float64(k+1)
		}
	}
	walk(0, n)
	return max(0, sure-left), sure
}

func entropy(p float64) float64 {
	if p <= 0 || p >= 1 {
		return 0
	}
	return -p*math.Log2(p) - (1-p)*math.Log2(1-p)
}

// streak works out Normal, After and Misses. A young counts as normal if some bird
// without the allele could have it.
func (t *Test) streak(ms []mating, classes int) {
	normal := make([]bool, classes)
	free, carrier := 0.0, 0.0
	for _, m := range ms {
		if m.carrier {
			carrier += m.p
			continue
		}
		free += m.p
		for k, s := range m.look {
			normal[k] = normal[k] || s > 0
		}
	}
	chance := func(m mating) float64 {
		sum := 0.0
		for k, s := range m.look {
			if normal[k] {
				sum += s
			}
		}
		return min(1, sum)
	}
	t.Normal, t.Misses, t.After = -1, -1, carrier
	for n := range enough + 1 {
		with, all := 0.0, 0.0
		for _, m := range ms {
			p := m.p * math.Pow(chance(m), float64(n))
			all += p
			if m.carrier {
				with += p
			}
		}
		if t.Normal < 0 && all > 0 && with/all <= 1-confident+sumTolerance {
			t.Normal, t.After = n, with/all
		}
		if t.Misses < 0 && carrier > 0 && with/carrier <= 1-confident {
			t.Misses = n
		}
		if t.Normal >= 0 && (t.Misses >= 0 || carrier == 0) {
			break
		}
	}
}
