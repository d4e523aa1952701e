// Package crank computes the geometry of a piston engine: strokes, volumes,
// piston motion, compression and firing intervals.
//
// Conventions: angles in rad, 0 at top dead centre of the cylinder in question,
// positive in the direction of rotation; the pin runs through the bore's axis.
// Start reading at [Geometry].
package crank

import (
	"fmt"
	"math"
)

// Geometry is the engine's bore, stroke, rod and compression.
type Geometry struct {
	CylinderCount    int
	BoreM            float64
	StrokeM          float64
	RodM             float64 // between centres
	CompressionRatio float64
}

// Check returns the first dimension that can't be.
func (g Geometry) Check() error {
	switch {
	case g.CylinderCount < 1 || g.CylinderCount > 16:
		return fmt.Errorf("cylinder count %d is outside 1 … 16", g.CylinderCount)
	case !(g.BoreM >= 0.02 && g.BoreM <= 0.5):
		return fmt.Errorf("bore %g m is outside 0.02 … 0.5 m", g.BoreM)
	case !(g.StrokeM >= 0.02 && g.StrokeM <= 0.5):
		return fmt.Errorf("stroke %g m is outside 0.02 … 0.5 m", g.StrokeM)
	case !(g.RodM > g.StrokeM/2 && g.RodM < 2):
		return fmt.Errorf("rod length %g m is outside %g … 2 m, half the stroke and more", g.RodM, g.StrokeM/2)
	case !(g.CompressionRatio > 1 && g.CompressionRatio <= 30):
		return fmt.Errorf("compression ratio %g is outside 1 … 30", g.CompressionRatio)
	}
	return nil
}

// SweptM3 returns the swept volume of one cylinder.
//
//	V_s = π/4 · B² · S
//
// Valid: any bore and stroke.
// Accuracy: exact.
// Source: definition; Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 2.2.
// Errors: none.
func (g Geometry) SweptM3() float64 { return math.Pi / 4 * g.BoreM * g.BoreM * g.StrokeM }

// DisplacementM3 returns the swept volume of all cylinders.
//
//	V_d = n · π/4 · B² · S
//
// Valid: any bore and stroke.
// Accuracy: exact.
// Source: definition.
// Errors: none.
func (g Geometry) DisplacementM3() float64 { return float64(g.CylinderCount) * g.SweptM3() }

// ClearanceM3 returns the volume above the piston at top dead centre.
//
//	V_c = V_s/(r − 1)
//
// Valid: compression ratio above 1.
// Accuracy: that of the stated compression ratio, ± 2 % of the volume in production.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 2.1.
// Errors: none.
func (g Geometry) ClearanceM3() float64 { return g.SweptM3() / (g.CompressionRatio - 1) }

// PistonM returns how far the piston stands below top dead centre.
//
//	x = a(1 − cos θ) + l − √(l² − a² sin² θ)
//
// where a is half the stroke and l the rod.
//
// Valid: rod longer than half the stroke.
// Accuracy: exact for a pin without offset; an offset of 1 mm moves x by less than 0.1 mm.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 2.5.
// Errors: none.
func (g Geometry) PistonM(angleRad float64) float64 {
	a, l := g.StrokeM/2, g.RodM
	s, c := math.Sincos(angleRad)
	return a*(1-c) + l - math.Sqrt(l*l-a*a*s*s)
}

// CylinderM3 returns the volume above the piston at a crank angle.
//
//	V = V_c + π/4 · B² · x(θ)
//
// where x is PistonM.
//
// Valid: rod longer than half the stroke.
// Accuracy: exact.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 2.4.
// Errors: none.
func (g Geometry) CylinderM3(angleRad float64) float64 {
	return g.ClearanceM3() + math.Pi/4*g.BoreM*g.BoreM*g.PistonM(angleRad)
}

// VolumeSlopeM3PerRad returns the change of the cylinder's volume with crank angle.
//
//	dV/dθ = π/4 · B² · a sin θ (1 + a cos θ/√(l² − a² sin² θ))
//
// Valid: rod longer than half the stroke.
// Accuracy: exact.
// Source: derivative of Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 2.5.
// Errors: none.
func (g Geometry) VolumeSlopeM3PerRad(angleRad float64) float64 {
	a, l := g.StrokeM/2, g.RodM
	s, c := math.Sincos(angleRad)
	return math.Pi / 4 * g.BoreM * g.BoreM * a * s * (1 + a*c/math.Sqrt(l*l-a*a*s*s))
}

// MeanPistonMPerS returns the mean speed of the piston.
//
//	S̄ₚ = S ω/π
//
// Valid: any speed.
// Accuracy: exact.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 2.9.
// Errors: none.
func (g Geometry) MeanPistonMPerS(speedRadPerS float64) float64 {
	return g.StrokeM * speedRadPerS / math.Pi
}

// PistonMPerS returns the speed of the piston at a crank angle, positive downwards.
//
//	v = ω a sin θ (1 + a cos θ/√(l² − a² sin² θ))
//
// Valid: rod longer than half the stroke.
// Accuracy: exact.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 2.11.
// Errors: none.
func (g Geometry) PistonMPerS(angleRad, speedRadPerS float64) float64 {
	return speedRadPerS * g.VolumeSlopeM3PerRad(angleRad) / (math.Pi / 4 * g.BoreM * g.BoreM)
}

// DynamicRatio returns the compression ratio from the closing of the intake
// valve on.
//
//	r_d = V(π + φ)/V_c
//
// where φ is the angle after bottom dead centre at which the valve closes.
//
// Valid: closing 0 … 2 rad after bottom dead centre; outside an error is returned.
// Accuracy: exact for the stated closing; the valve seals a few degrees later than at its rated lift.
// Source: geometry; common practice.
// Errors: closing angle out of range.
func (g Geometry) DynamicRatio(closingRad float64) (float64, error) {
	if !(closingRad >= 0 && closingRad <= 2) {
		return 0, fmt.Errorf("intake closing %g rad after bottom dead centre is outside 0 … 2 rad", closingRad)
	}
	return g.CylinderM3(math.Pi+closingRad) / g.ClearanceM3(), nil
}

// FiringIntervalRad returns the crank angle between two firings of an evenly
// firing four-stroke engine.
//
//	Δθ = 4π/n
//
// Valid: 1 … 16 cylinders; outside an error is returned.
// Accuracy: exact for even firing; engines with shared pins and an odd bank angle alternate about it.
// Source: definition of the four-stroke cycle.
// Errors: cylinder count out of range.
func FiringIntervalRad(cylinderCount int) (float64, error) {
	if cylinderCount < 1 || cylinderCount > 16 {
		return 0, fmt.Errorf("cylinder count %d is outside 1 … 16", cylinderCount)
	}
	return 4 * math.Pi / float64(cylinderCount), nil
}
