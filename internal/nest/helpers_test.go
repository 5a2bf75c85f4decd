package nest

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// candling is common practice, no source: wait to day 6 to 8 of sitting before judging.
var candling = Range{6, 7, 8, true}

// mustProfiles reads the profiles of all species.
func mustProfiles(tb testing.TB) map[string]Profile {
	tb.Helper()
	f, err := os.Open("testdata/profiles.csv")
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	all := map[string]Profile{}
	for _, row := range rows[1:] {
		p := Profile{CandlingAge: candling}
		for k, r := range []*Range{
			&p.LayingInterval, &p.IncubationStartsAtEgg, &p.Incubation, &p.ClutchSize,
			&p.RingAge, &p.FledgeAge, &p.IndependenceAge,
		} {
			for q, to := range []*float64{&r.Low, &r.Typical, &r.High} {
				if cell := row[1+3*k+q]; cell != "" {
					if *to, err = strconv.ParseFloat(cell, 64); err != nil {
						tb.Fatal(err)
					}
				}
			}
			r.Known = r.Typical > 0
		}
		all[row[0]] = p
	}
	return all
}

func mustProfile(tb testing.TB, species string) Profile {
	tb.Helper()
	p, ok := mustProfiles(tb)[species]
	if !ok {
		tb.Fatalf("no profile of %q", species)
	}
	return p
}

// life is one clutch as it truly went, in days and parts of a day.
type life struct {
	laid  []float64 // each egg
	hatch []float64 // each chick, in the order of the eggs
	out   []float64 // each young
	sit   float64
}

func (l life) days() map[Kind]Day {
	floor := func(x float64) Day { return Day(math.Floor(x)) }
	first, last := math.Inf(1), math.Inf(-1)
	for _, h := range l.hatch {
		first, last = min(first, h), max(last, h)
	}
	out := math.Inf(1)
	for _, o := range l.out {
		out = min(out, o)
	}
	return map[Kind]Day{
		FirstEgg: floor(l.laid[0]), ClutchComplete: floor(l.laid[len(l.laid)-1]), SittingFrom: floor(l.sit),
		Hatch: floor(first), LastHatch: floor(last), Fledge: floor(out),
	}
}

// morning is when eggs are laid, as a part of the day.
const morning = 0.25

// anyLife draws a clutch that keeps to a profile: gaps of one or two days with no more
// than two long ones, sitting from an egg inside the range, each stage inside its range.
func anyLife(t *rapid.T, p Profile) life {
	p = p.clean()
	var l life
	n := rapid.IntRange(int(math.Ceil(p.ClutchSize.Low)), int(p.ClutchSize.High)).Draw(t, "clutch")
	k := rapid.IntRange(int(p.IncubationStartsAtEgg.Low), int(p.IncubationStartsAtEgg.High)).Draw(t, "start")
	k = min(k, n)
	at := float64(rapid.IntRange(-40, 40).Draw(t, "first egg")) + morning
	long := 2
	for range n {
		l.laid = append(l.laid, at)
		gap := 1.0
		if long > 0 && rapid.IntRange(0, 4).Draw(t, "missed") == 0 {
			gap, long = 2, long-1
		}
		at += gap
	}
	l.sit = l.laid[k-1]
	inc := rapid.Float64Range(p.Incubation.Low, p.Incubation.High).Draw(t, "incubation")
	fledge := rapid.IntRange(int(math.Ceil(p.FledgeAge.Low)), int(p.FledgeAge.High)).Draw(t, "fledge")
	for i, laid := range l.laid {
		lag := rapid.Float64Range(lagLeast, lagMost).Draw(t, "lag")
		h := l.sit + inc
		if i >= k {
			h += lag * (laid - l.sit)
		}
		l.hatch = append(l.hatch, h)
	}
	first := math.Floor(l.hatch[0])
	for i, h := range l.hatch {
		o := first + float64(fledge) + 0.4
		if i >= k {
			o += math.Floor(h) - first
		}
		l.out = append(l.out, o)
	}
	return l
}

// look is what a keeper who counts all would write at an instant.
func (l life) look(at float64) Look {
	v := Look{Day: Day(math.Floor(at)), Minute: int((at - math.Floor(at)) * 24 * 60)}
	var eggs, chicks, out int
	for i := range l.laid {
		switch {
		case l.out[i] <= at:
			out++
		case l.hatch[i] <= at:
			chicks++
		case l.laid[i] <= at:
			eggs++
		}
	}
	v.Eggs, v.Chicks, v.Out = &eggs, &chicks, &out
	return v
}

// partly drops counts, as a keeper does who did not take them. Young that are out are
// seen from the aisle, so they are always counted.
func partly(t *rapid.T, v Look) Look {
	switch rapid.IntRange(0, 5).Draw(t, "counted") {
	case 0:
		v.Chicks = nil
		fallthrough
	case 1:
		if *v.Out == 0 {
			v.Out = nil
		}
	case 2:
		v.EggsAtLeast, v.Eggs = v.Eggs, nil
	}
	return v
}
