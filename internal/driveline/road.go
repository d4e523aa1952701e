package driveline

import "math"

// gravityMPS2 is standard gravity (ISO 80000-3).
const gravityMPS2 = 9.80665

// Vehicle is what the road and the air see.
type Vehicle struct {
	MassKg      float64 // as driven
	DragAreaM2  float64 // drag coefficient times frontal area
	RollingFrac float64 // rolling resistance over weight
}

func (v Vehicle) check() error {
	return first(within("vehicle mass", v.MassKg, 100, 50e3, "kg"), within("drag area", v.DragAreaM2, 0.1, 15, "m²"), within("rolling resistance", v.RollingFrac, 0, 0.2, ""))
}

// RoadLoadN returns the force that holds a vehicle back at a steady speed in
// still air, positive backwards.
//
//	F = m g (c_r cos α + sin α) + ½ ρ c_dA v |v|
//
// where α = arctan of the grade and g = 9.80665 m/s²; at standstill the rolling
// resistance is counted in full.
//
// Valid: 100 … 50000 kg, drag area 0.1 … 15 m², c_r 0 … 0.2, speed 0 … 100 m/s, grade −0.5 … 0.5, air 0.5 … 1.6 kg/m³; outside an error is returned.
// Accuracy: ± 10 % with a drag area from a table; wind and wet roads not counted.
// Source: Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 4.
// Errors: a value out of range.
func RoadLoadN(v Vehicle, roadMPerS, gradeFrac, airKgPerM3 float64) (float64, error) {
	if err := first(v.check(), within("road speed", roadMPerS, 0, 100, "m/s"), within("grade", gradeFrac, -0.5, 0.5, ""), within("air density", airKgPerM3, 0.5, 1.6, "kg/m³")); err != nil {
		return 0, err
	}
	sin, cos := math.Sincos(math.Atan(gradeFrac))
	return v.MassKg*gravityMPS2*(v.RollingFrac*cos+sin) + airKgPerM3/2*v.DragAreaM2*roadMPerS*roadMPerS, nil
}

// RoadLoadW returns the power at the wheels that holds a vehicle at a steady speed.
//
//	P = F v
//
// where F is RoadLoadN.
//
// Valid: as RoadLoadN.
// Accuracy: ± 10 %.
// Source: Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 4.
// Errors: a value out of range.
func RoadLoadW(v Vehicle, roadMPerS, gradeFrac, airKgPerM3 float64) (float64, error) {
	force, err := RoadLoadN(v, roadMPerS, gradeFrac, airKgPerM3)
	return force * roadMPerS, err
}

// RollingFrac returns the rolling resistance of a car tyre on a hard road over
// the weight it carries.
//
//	c = 0.005 + (1/p)(0.01 + 0.0095 (v/100)²)
//
// where p is the gauge pressure in bar and v the speed in km/h.
//
// Valid: 1 … 6 bar gauge, 0 … 50 m/s; outside an error is returned.
// Accuracy: ± 25 %; modern tyres lie below.
// Source: The Engineering ToolBox, Rolling Resistance, equation 3 (2008).
// Errors: pressure or speed out of range.
func RollingFrac(gaugePa, roadMPerS float64) (float64, error) {
	if err := first(within("tyre pressure", gaugePa, 1e5, 6e5, "Pa"), within("road speed", roadMPerS, 0, 50, "m/s")); err != nil {
		return 0, err
	}
	kmh := roadMPerS * 3.6 / 100
	return 0.005 + 1e5/gaugePa*(0.01+0.0095*kmh*kmh), nil
}
