// Package driveline computes tyres, road speed, the power a road takes, and the
// joints and shafts between gearbox and axle.
//
// Conventions: ratios are input speed over output speed; grades are rise over
// run; joint angles in rad between the two shafts; speeds of shafts in rad/s.
// Start reading at [RoadMPerS] and [RoadLoadN].
package driveline

import (
	"fmt"
	"math"
)

func within(quantity string, v, low, high float64, unit string) error {
	if v >= low && v <= high {
		return nil
	}
	return fmt.Errorf("%s %g %s is outside %g … %g %s", quantity, v, unit, low, high, unit)
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// TyreM returns the outer diameter of a tyre from its size.
//
//	D = d_rim + 2 · w · a
//
// where w is the section width and a the aspect, height over width.
//
// Valid: width 0.1 … 0.5 m, aspect 0.2 … 1, rim 0.2 … 0.7 m; outside an error is returned.
// Accuracy: ± 1 %, the tolerance of the size; worn tread takes 1.5 %.
// Source: the size code; ISO 4000-1.
// Errors: a dimension out of range.
func TyreM(widthM, aspectFrac, rimM float64) (float64, error) {
	if err := first(within("tyre width", widthM, 0.1, 0.5, "m"), within("tyre aspect", aspectFrac, 0.2, 1, ""), within("rim diameter", rimM, 0.2, 0.7, "m")); err != nil {
		return 0, err
	}
	return rimM + 2*widthM*aspectFrac, nil
}

// RollingRatio is the rolling circumference of a radial tyre over that of its
// outline: 3.05/π.
const RollingRatio = 3.05 / math.Pi

// RollingM returns the rolling circumference of a loaded radial tyre.
//
//	C = 3.05 · D = 0.9708 · π · D
//
// Valid: outer diameter 0.3 … 1.5 m; outside an error is returned.
// Accuracy: ± 1.5 %; at high speed the tyre grows by 1 to 2 %.
// Source: ETRTO Standards Manual, dynamic rolling circumference (from memory).
// Errors: diameter out of range.
func RollingM(diameterM float64) (float64, error) {
	if err := within("tyre diameter", diameterM, 0.3, 1.5, "m"); err != nil {
		return 0, err
	}
	return 3.05 * diameterM, nil
}

// RoadMPerS returns the road speed at an engine speed in a gear.
//
//	v = C/(2π) · ω (1 − s)/(i_g i_a)
//
// where s is the slip of a converter or clutch, i_g the gear's and i_a the axle's ratio.
//
// Valid: circumference 0.9 … 5 m, ratios above 0, slip 0 … 1; outside an error is returned.
// Accuracy: ± 2 %, that of the circumference.
// Source: rolling without slip of the tyre.
// Errors: a value out of range.
func RoadMPerS(speedRadPerS, rollingM, gearRatio, axleRatio, slipFrac float64) (float64, error) {
	if err := train(rollingM, gearRatio, axleRatio); err != nil {
		return 0, err
	}
	if err := within("slip", slipFrac, 0, 1, ""); err != nil {
		return 0, err
	}
	return rollingM / (2 * math.Pi) * speedRadPerS * (1 - slipFrac) / (gearRatio * axleRatio), nil
}

// EngineRadPerS returns the engine speed at a road speed in a gear.
//
//	ω = 2π/C · v i_g i_a/(1 − s)
//
// Valid: circumference 0.9 … 5 m, ratios above 0, slip 0 … 0.99; outside an error is returned.
// Accuracy: ± 2 %, that of the circumference.
// Source: rolling without slip of the tyre.
// Errors: a value out of range.
func EngineRadPerS(roadMPerS, rollingM, gearRatio, axleRatio, slipFrac float64) (float64, error) {
	if err := train(rollingM, gearRatio, axleRatio); err != nil {
		return 0, err
	}
	if err := within("slip", slipFrac, 0, 0.99, ""); err != nil {
		return 0, err
	}
	return 2 * math.Pi / rollingM * roadMPerS * gearRatio * axleRatio / (1 - slipFrac), nil
}

func train(rollingM, gearRatio, axleRatio float64) error {
	return first(within("rolling circumference", rollingM, 0.9, 5, "m"), within("gear ratio", gearRatio, 0.1, 20, ""), within("axle ratio", axleRatio, 0.1, 20, ""))
}
