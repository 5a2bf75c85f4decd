package light

import "math"

const rad = math.Pi / 180

// Heights of the sun's centre at which an event happens, as sines.
const (
	// -0.8333 degrees: 34' of refraction and 16' of radius, Meeus chapter 15.
	sinHorizon = -0.014543315936696236
	// -6 degrees, the usual definition of civil twilight.
	sinCivil = -0.10452846326765347
)

// sunAt returns the apparent right ascension and declination of the sun and the
// apparent sidereal time at Greenwich, in radians, at an instant in Unix seconds
// (universal time). The sun is good to 0.01 degrees from 1900 to 2100: Meeus
// chapter 25, with the sidereal time of chapter 12.
func sunAt(unix float64) (ra, dec, sidereal float64) {
	d := unix/86400 - 10957.5 // days of universal time since 2000 January 1.5
	t := (d + deltaT(d)/86400) / 36525
	l0 := 280.46646 + t*(36000.76983+t*0.0003032)
	m := (357.52911 + t*(35999.05029-t*0.0001537)) * rad
	sinM, cosM := math.Sincos(m)
	sin2M := 2 * sinM * cosM
	sin3M := sinM * (3 - 4*sinM*sinM)
	c := (1.914602-t*(0.004817+t*0.000014))*sinM + (0.019993-t*0.000101)*sin2M + 0.000289*sin3M
	sinN, cosN := math.Sincos((125.04 - 1934.136*t) * rad) // moon's node
	lambda := (l0 + c - 0.00569 - 0.00478*sinN) * rad
	eps := (23.4392911 - t*(0.0130042+t*1.64e-7) + 0.00256*cosN) * rad
	sinE, cosE := math.Sincos(eps)
	sinL, cosL := math.Sincos(lambda)
	ra = math.Atan2(cosE*sinL, cosL)
	dec = math.Asin(sinE * sinL)
	sidereal = math.Mod(280.46061837+360.98564736629*d+t*t*0.000387933-0.00478*sinN*cosE, 360) * rad
	return ra, dec, sidereal
}

// deltaT returns dynamical less universal time in seconds, d days after 2000
// January 1.5. Values to 1998 are those of Meeus table 10.A, later ones rounded
// forecasts, all from memory. An error of a minute moves the sun by 0.0007 degrees.
func deltaT(d float64) float64 {
	// one value every twenty years from 1900
	table := [...]float64{-2.8, 21.2, 24.3, 33.1, 50.5, 63.8, 69.4, 75, 85, 95, 110}
	x := (100 + d/365.25) / 20
	i := min(max(int(math.Floor(x)), 0), len(table)-2)
	return table[i] + (x-float64(i))*(table[i+1]-table[i])
}

// arc gives the sine of the sun's height through one civil date at one place. Right
// ascension and declination run through three nodes on a parabola; the third
// difference left out is under 0.01".
type arc struct {
	mid, half      float64 // middle node in Unix seconds, distance to the other two
	ra, dec        [3]float64
	sidereal, lon  float64 // radians; sidereal at the middle node
	sinLat, cosLat float64
}

// siderealRate is the turn of the Earth against the stars in radians a second.
const siderealRate = 360.98564736629 / 86400 * rad

func newArc(lat, lon float64, from, to float64) arc {
	a := arc{mid: (from + to) / 2, half: (to - from) / 2, lon: lon * rad}
	a.sinLat, a.cosLat = math.Sincos(lat * rad)
	for i := range a.ra {
		ra, dec, sid := sunAt(a.mid + float64(i-1)*a.half)
		a.ra[i], a.dec[i] = ra, dec
		if i == 1 {
			a.sidereal = sid
		}
	}
	for _, i := range [...]int{0, 2} { // no jump of a full turn between nodes
		a.ra[i] -= 2 * math.Pi * math.Round((a.ra[i]-a.ra[1])/(2*math.Pi))
	}
	return a
}

// sinHeight returns the sine of the height of the sun's centre, refraction left out.
func (a *arc) sinHeight(t float64) float64 {
	x := (t - a.mid) / a.half
	ra := parabola(&a.ra, x)
	sinD, cosD := math.Sincos(parabola(&a.dec, x))
	return a.sinLat*sinD + a.cosLat*cosD*math.Cos(a.sidereal+siderealRate*(t-a.mid)+a.lon-ra)
}

// parabola passes through y at -1, 0 and 1.
func parabola(y *[3]float64, x float64) float64 {
	return y[1] + x*((y[2]-y[0])/2+x*((y[0]+y[2])/2-y[1]))
}

// samples is the number of parts into which a date is cut to look for events.
const samples = 24

// sky is the sun's height on the sample points of a date, with one more on each side.
type sky struct {
	arc
	t, s [samples + 3]float64
}

func newSky(lat, lon float64, from, to int64) *sky {
	step := float64(to-from) / samples
	k := &sky{arc: newArc(lat, lon, float64(from)-step, float64(to)+step)}
	for i := range k.t {
		k.t[i] = float64(from) + float64(i-1)*step
		k.s[i] = k.sinHeight(k.t[i])
	}
	return k
}

// crossingsTo returns whether the sun stands above a height at the start of the
// date, and appends to at the moments within it at which it passes that height, in
// order. The height is given as its sine.
func (k *sky) crossingsTo(at []float64, height float64) (above bool, _ []float64) {
	above = k.s[1] > height
	last, lastS := k.t[1], k.s[1]-height
	pass := func(t, s float64) {
		if (s > 0) != (lastS > 0) {
			at = append(at, k.root(height, last, t, lastS, s))
		}
		last, lastS = t, s
	}
	for i := 1; i <= samples+1; i++ {
		if i > 1 {
			pass(k.t[i], k.s[i]-height)
		}
		if i > samples {
			break
		}
		// The sun may graze the height between two samples that lie on one side.
		if top, ok := k.turn(i, height); ok {
			pass(top, k.sinHeight(top)-height)
		}
	}
	return above, at
}

// turn returns a moment between samples i and i+1 at which the sun turns, if it can
// have passed the height there and back.
func (k *sky) turn(i int, height float64) (float64, bool) {
	a, b := k.s[i]-height, k.s[i+1]-height
	sign := 1.0 // turned to a hill, so that the turn is a top
	if a > 0 {
		sign = -1
	}
	// Samples lie 62.5 minutes apart at most, so a turn between two of them strays from
	// the nearer one by less than (31 min of 15 degrees an hour)²/2 = 0.0093; taken threefold.
	if (a > 0) != (b > 0) || min(math.Abs(a), math.Abs(b)) > 0.03 ||
		sign*(k.s[i]-k.s[i-1]) < 0 || sign*(k.s[i+2]-k.s[i+1]) > 0 {
		return 0, false
	}
	const g = 0.6180339887498949
	lo, hi := k.t[i], k.t[i+1]
	for hi-lo > 0.25 {
		p, q := hi-g*(hi-lo), lo+g*(hi-lo)
		if sign*k.sinHeight(p) > sign*k.sinHeight(q) {
			hi = q
		} else {
			lo = p
		}
	}
	t := (lo + hi) / 2
	return t, sign*(k.sinHeight(t)-height) > 0
}

// root finds the passing between a and b, which lie on two sides, to 0.01 s by the
// Illinois rule.
func (k *sky) root(height, a, b, fa, fb float64) float64 {
	for range 60 {
		c := b - fb*(b-a)/(fb-fa)
		fc := k.sinHeight(c) - height
		if math.Abs(c-b) < 0.01 || fc == 0 {
			return c
		}
		if (fc > 0) != (fb > 0) {
			a, fa = b, fb
		} else {
			fa /= 2
		}
		b, fb = c, fc
	}
	return b
}
