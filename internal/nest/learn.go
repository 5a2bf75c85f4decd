package nest

// stats is what one clutch tells of the species' values, as means under its posterior.
type stats struct {
	days, gaps float64   // days from first egg to last, and eggs after the first
	incubation []float64 // chances from incLo on
	incLo      int
	sit        []float64 // chances of the egg with which sitting began, given it is told
	sitTold    float64
	clutch     []float64
	made       [3]float64 // eggs told of: that would hatch, dead, clear
	hatched    float64
	young      float64
	ages       []float64 // chances of the age at the first fledging
}

func (s *stats) close(all float64, inc []float64, incLo int, sit, clutch []float64) {
	if all <= 0 {
		return
	}
	s.days /= all
	s.gaps /= all
	s.incubation, s.incLo = numbers(inc).P, incLo
	for _, x := range sit {
		s.sitTold += x / all
	}
	s.sit = numbers(sit).P
	s.clutch = numbers(clutch).P
}
