package plain

// Sum returns the area under f from a to b, by n strips.
func Sum(f func(float64) float64, a, b float64, n int) float64 {
	h := (b - a) / float64(n)
	total := 0.0
	for i := range n {
		total += f(a+(float64(i)+0.5)*h) * h
	}
	return total
}
