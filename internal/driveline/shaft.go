package driveline

import (
	"fmt"
	"math"
)

const maxJointRad = 0.8

func jointAngle(angleRad float64) error {
	return within("joint angle", angleRad, 0, maxJointRad, "rad")
}

// HookeRatio returns the speed of the driven shaft of a cross joint over that
// of the driving one.
//
//	ω₂/ω₁ = cos β/(1 − sin² β cos² θ)
//
// where θ is the turn of the driving shaft from where its fork lies in the plane of the shafts.
//
// Valid: joint angle 0 … 0.8 rad; outside an error is returned.
// Accuracy: exact.
// Source: Khurmi, Gupta, Theory of Machines, 14th ed. 2005, section 9.14.
// Errors: joint angle out of range.
func HookeRatio(angleRad, turnRad float64) (float64, error) {
	if err := jointAngle(angleRad); err != nil {
		return 0, err
	}
	s, c := math.Sincos(angleRad)
	ct := math.Cos(turnRad)
	return c / (1 - s*s*ct*ct), nil
}

// HookeSwingFrac returns the fluctuation of the driven shaft's speed, most less
// least over the mean.
//
//	U = 1/cos β − cos β = sin β tan β
//
// Valid: joint angle 0 … 0.8 rad; outside an error is returned.
// Accuracy: exact.
// Source: Khurmi, Gupta, Theory of Machines, 14th ed. 2005, section 9.16.
// Errors: joint angle out of range.
func HookeSwingFrac(angleRad float64) (float64, error) {
	if err := jointAngle(angleRad); err != nil {
		return 0, err
	}
	return math.Sin(angleRad) * math.Tan(angleRad), nil
}

// HookeAngleRad returns the joint angle of a given fluctuation.
//
//	cos β = −U/2 + √(U²/4 + 1)
//
// Valid: U 0 … 0.73, up to 0.8 rad; outside an error is returned.
// Accuracy: exact.
// Source: Khurmi, Gupta, Theory of Machines, 14th ed. 2005, section 9.16 turned round.
// Errors: fluctuation out of range.
func HookeAngleRad(swingFrac float64) (float64, error) {
	if err := within("fluctuation", swingFrac, 0, 0.73, ""); err != nil {
		return 0, err
	}
	half := swingFrac / 2
	return math.Acos(math.Min(1, math.Sqrt(half*half+1)-half)), nil
}

// LimitSwingFrac is the fluctuation that a driveline may have as a whole: 0.0027,
// that of one joint at 3° (shaft makers' guidance).
const LimitSwingFrac = 0.0027

// HookeAccelRadPerS2 returns the greatest angular acceleration of the driven
// shaft of a cross joint at a steady speed of the driving one.
//
//	α = ω² cos β sin² β sin 2θ/(1 − sin² β cos² θ)²,   greatest over θ
//
// where cos 2θ = [√((2−s)² + 8 s²) − (2−s)]/(2 s) with s = sin² β.
//
// Valid: joint angle 0 … 0.8 rad; outside an error is returned.
// Accuracy: exact.
// Source: Khurmi, Gupta, Theory of Machines, 14th ed. 2005, section 9.15, with the exact maximum.
// Errors: joint angle out of range.
func HookeAccelRadPerS2(angleRad, speedRadPerS float64) (float64, error) {
	if err := jointAngle(angleRad); err != nil || angleRad == 0 {
		return 0, err
	}
	sin, cos := math.Sincos(angleRad)
	s := sin * sin
	// With c = cos 2θ, 1 − s cos²θ = (2 − s − s c)/2 and the derivative vanishes
	// where s c² + (2 − s) c − 2 s = 0.
	c2 := (math.Sqrt((2-s)*(2-s)+8*s*s) - (2 - s)) / (2 * s)
	d := (2 - s - s*c2) / 2
	return speedRadPerS * speedRadPerS * cos * s * math.Sqrt(1-c2*c2) / (d * d), nil
}

// PairAngleRad returns the angle of one joint that would fluctuate as the two
// joints of a shaft do together, in one plane.
//
//	β = √|β₁² ∓ β₂²|
//
// with minus when the forks of the shaft lie in one plane, plus when they are a
// quarter turn apart.
//
// Valid: joint angles 0 … 0.3 rad; outside an error is returned.
// Accuracy: 1 % up to 0.17 rad.
// Source: shaft makers' guidance on resultant joint angles; common practice.
// Errors: joint angle out of range.
func PairAngleRad(firstRad, secondRad float64, inPhase bool) (float64, error) {
	if err := first(within("joint angle", firstRad, 0, 0.3, "rad"), within("joint angle", secondRad, 0, 0.3, "rad")); err != nil {
		return 0, err
	}
	if inPhase {
		return math.Sqrt(math.Abs(firstRad*firstRad - secondRad*secondRad)), nil
	}
	return math.Hypot(firstRad, secondRad), nil
}

// Tube is a round shaft; InnerM 0 is solid.
type Tube struct {
	OuterM, InnerM, LengthM float64 // length between joints
	ElasticPa               float64 // Young's modulus, steel 205e9
	DensityKgPerM3          float64 // steel 7850
}

// CriticalRadPerS returns the speed at which a shaft between two joints whirls.
//
//	ω = (π/L)² √(E I/(ρ A)) = (π/L)² √(E (D² + d²)/(16 ρ))
//
// Valid: a plain tube on pinned ends; dimensions, E and ρ above 0, inner below outer diameter; else an error is returned.
// Accuracy: ± 5 %; ends and slip joints lower it. Common practice keeps below 0.75 of it.
// Source: Euler–Bernoulli beam on pinned ends, first mode.
// Errors: a dimension or property out of range.
func CriticalRadPerS(t Tube) (float64, error) {
	if err := first(within("shaft diameter", t.OuterM, 0.005, 0.5, "m"), within("shaft length", t.LengthM, 0.05, 10, "m"),
		within("Young's modulus", t.ElasticPa, 1e9, 1e12, "Pa"), within("density", t.DensityKgPerM3, 500, 2e4, "kg/m³")); err != nil {
		return 0, err
	}
	if !(t.InnerM >= 0 && t.InnerM < t.OuterM) {
		return 0, fmt.Errorf("inner diameter %g m is outside 0 … %g m, the outer one", t.InnerM, t.OuterM)
	}
	k := math.Pi / t.LengthM
	return k * k * math.Sqrt(t.ElasticPa*(t.OuterM*t.OuterM+t.InnerM*t.InnerM)/(16*t.DensityKgPerM3)), nil
}

// UsableSpeedFrac is how much of the critical speed a shaft should reach at most
// (shaft makers' guidance, 0.70 … 0.80).
const UsableSpeedFrac = 0.75
