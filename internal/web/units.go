package web

import (
	"math"
	"strconv"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// units are those that the keeper chose to see. Inside everything is g, mm, ml and °C.
type units struct{ mass, volume, length, warmth string }

func unitsOf(s aviary.Settings) units { return units{s.Mass, s.Volume, s.Length, s.Warmth} }

// What one of each unit is in g, mm and ml, by definition: the avoirdupois ounce and the inch of 1959, the US customary fluid
// ounce, and the metric teaspoon of 5 ml.
const (
	gramsPerOunce       = 28.349523125
	millimetresPerInch  = 25.4
	millilitresPerTsp   = 5
	millilitresPerOunce = 29.5735295625
)

// Mass writes a weight given in g.
func (u units) Mass(g float64) string {
	if u.mass == "oz" {
		return figure(g/gramsPerOunce, 3) + " oz"
	}
	return figure(g, 1) + " g"
}

// Length writes a length given in mm.
func (u units) Length(mm float64) string {
	if u.length == "in" {
		return figure(mm/millimetresPerInch, 2) + " in"
	}
	return figure(mm, 1) + " mm"
}

// Volume writes a volume given in ml.
func (u units) Volume(ml float64) string {
	switch u.volume {
	case "tsp":
		return figure(ml/millilitresPerTsp, 2) + " tsp"
	case "oz":
		return figure(ml/millilitresPerOunce, 2) + " fl oz"
	}
	return figure(ml, 1) + " ml"
}

// Warmth writes a temperature given in °C.
func (u units) Warmth(c float64) string {
	if u.warmth == "F" {
		return figure(c*9/5+32, 0) + " °F"
	}
	return figure(c, 1) + " °C"
}

// MassUnit is the unit in which weights are typed and read: g or oz.
func (u units) MassUnit() string { return u.mass }

// figure rounds to so many places and leaves out noughts at the end.
func figure(x float64, places int) string {
	p := math.Pow(10, float64(places))
	return strconv.FormatFloat(math.Round(x*p)/p, 'f', -1, 64)
}

// massp reads a weight typed in the keeper's unit and returns it in g; nil when the field is empty.
func (f *form) massp(name string, u units) *float64 {
	x := f.floatp(name)
	if x != nil && u.mass == "oz" {
		g := math.Round(*x*gramsPerOunce*100) / 100 // a scale for finches reads to a hundredth of a gram at best
		return &g
	}
	return x
}

// shown is the unit in which a species' value is shown, and how much of the value's own unit one of it is. Rings are told in mm
// everywhere: that is how they are ordered and stamped.
func (u units) shown(param species.Parameter, unit species.Unit) (species.Unit, float64) {
	switch {
	case param == species.ClosedRingInnerDiameter || param == species.SplitRingInnerDiameter:
	case unit == species.Grams && u.mass == "oz":
		return "oz", gramsPerOunce
	case unit == species.Millimetre && u.length == "in":
		return "in", millimetresPerInch
	case unit == species.Centimetre && u.length == "in":
		return "in", millimetresPerInch / 10
	}
	return unit, 1
}

// value turns a species' value into the unit in which it is shown.
func (u units) value(param species.Parameter, v species.Value) species.Value {
	unit, per := u.shown(param, v.Unit)
	if per == 1 {
		return v
	}
	v.Unit = unit
	for _, x := range []**float64{&v.Low, &v.Typical, &v.High} {
		if *x != nil {
			y, _ := strconv.ParseFloat(figure(**x/per, 3), 64) // three places of an ounce or an inch are as fine as the figures are
			*x = &y
		}
	}
	return v
}

// VolumeUnit is the unit in which volumes are typed and read: ml, tsp or fl oz.
func (u units) VolumeUnit() string {
	if u.volume == "oz" {
		return "fl oz"
	}
	return u.volume
}

// WarmthUnit is the unit in which temperatures are typed and read.
func (u units) WarmthUnit() string { return "°" + u.warmth }

// perVolume is how many ml one of the keeper's unit is.
func (u units) perVolume() float64 {
	switch u.volume {
	case "tsp":
		return millilitresPerTsp
	case "oz":
		return millilitresPerOunce
	}
	return 1
}

// ml turns a volume in the keeper's unit into ml, to a thousandth.
func (u units) ml(x float64) float64 { return math.Round(x*u.perVolume()*1000) / 1000 }

// typedVolume writes a volume given in ml as it is typed into a form.
func (u units) typedVolume(ml float64) string { return figure(ml/u.perVolume(), 2) }

// celsius turns a temperature in the keeper's unit into °C, to a hundredth.
func (u units) celsius(x float64) float64 {
	if u.warmth == "F" {
		x = (x - 32) * 5 / 9
	}
	return math.Round(x*100) / 100
}

// typedWarmth writes a temperature given in °C as it is typed into a form.
func (u units) typedWarmth(c float64) string {
	if u.warmth == "F" {
		return figure(c*9/5+32, 0)
	}
	return figure(c, 1)
}
