package outcome

import "gonum.org/v1/gonum/stat/distuv"

// Status says how a search for the best figures ended.
type Status int

// The ends of a search.
const (
	Converged       Status = iota // the figures are the best there are
	AtBoundary                    // the best lies at an edge, such as a spread of 0: intervals there are rough
	NotIdentified                 // the counts cannot tell: some figure may be anything
	OutOfIterations               // the search was cut off: do not use the figures
)

var statusNames = [...]string{"converged", "at boundary", "not identified", "out of iterations"}

// String returns the status in words.
func (s Status) String() string { return statusNames[s] }

// normal returns the number of standard deviations that the interval of a level reaches to either side.
func normal(level float64) float64 {
	mustLevel(level)
	return distuv.UnitNormal.Quantile(1 - (1-level)/2)
}
