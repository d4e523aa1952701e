package pipeflow

import (
	"fmt"
	"math"

	"fettle/internal/figure"
)

// Line is a round line of one bore with its fittings.
type Line struct {
	LengthM    float64
	BoreM      float64
	RoughnessM float64 // of the wall: drawn tube 1.5e-6, smooth hose 1e-5
	LossRatio  float64 // sum of the loss coefficients of entries, bends, fittings
}

// LineDropPa returns the pressure lost along a line, with the sign of the flow,
// and how the iteration for the friction factor ended.
//
//	Δp = (f l/d + ΣK) · ρ v²/2
//
// where f is DarcyRatio and ΣK the sum of the loss coefficients.
//
// Valid: full line, steady flow of a liquid; Re up to 1e8, roughness up to 5 % of the bore; outside an error is returned.
// Accuracy: ± 10 % turbulent, ± 35 % between Re 2300 and 4000; loss coefficients ± 30 %.
// Source: Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-59.
// Errors: a dimension, density or viscosity out of range.
func LineDropPa(l Line, flowM3PerS float64, f Fluid) (dropPa float64, end figure.Ended, err error) {
	if err := l.check(); err != nil {
		return 0, end, err
	}
	if math.IsNaN(flowM3PerS) || math.IsInf(flowM3PerS, 0) {
		return 0, end, fmt.Errorf("flow %g m³/s is not a finite number", flowM3PerS)
	}
	re, err := ReynoldsRatio(flowM3PerS, l.BoreM, f)
	if err != nil {
		return 0, end, err
	}
	if re == 0 {
		return 0, figure.Ended{OK: true}, nil
	}
	factor, end, err := DarcyRatio(re, l.RoughnessM/l.BoreM)
	if err != nil {
		return 0, end, err
	}
	v, _ := VelocityMPerS(flowM3PerS, l.BoreM)
	return (factor*l.LengthM/l.BoreM + l.LossRatio) * f.DensityKgPerM3 * v * math.Abs(v) / 2, end, nil
}

func (l Line) check() error {
	for _, err := range []error{
		notBelow("line length", l.LengthM, "m"), above("bore", l.BoreM, "m"),
		notBelow("wall roughness", l.RoughnessM, "m"), notBelow("loss coefficient", l.LossRatio, ""),
	} {
		if err != nil {
			return err
		}
	}
	return nil
}

// MinorDropPa returns the pressure lost in a fitting, with the sign of the velocity.
//
//	Δp = K · ρ v²/2
//
// Valid: K ≥ 0, turbulent flow; a negative K is an error.
// Accuracy: ± 30 %, that of the loss coefficient.
// Source: Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-57.
// Errors: loss coefficient below 0, density not above 0.
func MinorDropPa(lossRatio, densityKgPerM3, velocityMPerS float64) (float64, error) {
	if err := notBelow("loss coefficient", lossRatio, ""); err != nil {
		return 0, err
	}
	if err := above("density", densityKgPerM3, "kg/m³"); err != nil {
		return 0, err
	}
	return lossRatio * densityKgPerM3 * velocityMPerS * math.Abs(velocityMPerS) / 2, nil
}

// ExpansionLossRatio returns the loss coefficient of a sudden step to a wider
// bore, relative to the velocity in the narrow one.
//
//	K = (1 − d²/D²)²
//
// Valid: 0 < narrow ≤ wide bore; else an error is returned.
// Accuracy: ± 5 %.
// Source: Borda and Carnot; Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, table 8-4.
// Errors: bores out of order.
func ExpansionLossRatio(narrowM, wideM float64) (float64, error) {
	if !(narrowM > 0 && narrowM <= wideM) {
		return 0, fmt.Errorf("narrow bore %g m is outside 0 … %g m, the wide one", narrowM, wideM)
	}
	a := 1 - narrowM*narrowM/(wideM*wideM)
	return a * a, nil
}

// Loss coefficients of fittings, relative to the velocity in the line (Çengel,
// Cimbala, Fluid Mechanics, 1st ed. 2006, table 8-4).
const (
	SharpEntryLossRatio = 0.5
	ExitLossRatio       = 1.0
	BendLossRatio       = 0.3 // smooth bend of 90°, flanged
	ElbowLossRatio      = 0.9 // tight elbow of 90°, threaded
)

// OrificeM3PerS returns the flow of liquid through an orifice, with the sign of the drop.
//
//	Q = C_d A √(2 Δp/ρ)
//
// Valid: liquid that does not boil in the throat; C_d A ≥ 0, density above 0; else an error is returned.
// Accuracy: that of the discharge coefficient, ± 3 % sharp-edged (0.61), ± 10 % otherwise.
// Source: Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-69, orifice small against the line.
// Errors: area below 0, density not above 0.
func OrificeM3PerS(effectiveAreaM2, densityKgPerM3, dropPa float64) (float64, error) {
	if err := notBelow("effective area", effectiveAreaM2, "m²"); err != nil {
		return 0, err
	}
	if err := above("density", densityKgPerM3, "kg/m³"); err != nil {
		return 0, err
	}
	return math.Copysign(effectiveAreaM2*math.Sqrt(2*math.Abs(dropPa)/densityKgPerM3), dropPa), nil
}

// OrificeDropPa returns the pressure lost across an orifice, with the sign of the flow.
//
//	Δp = ρ/2 · (Q/(C_d A))²
//
// Valid: liquid that does not boil in the throat; C_d A and density above 0; else an error is returned.
// Accuracy: twice that of the discharge coefficient.
// Source: Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-69 turned round.
// Errors: area or density not above 0.
func OrificeDropPa(effectiveAreaM2, densityKgPerM3, flowM3PerS float64) (float64, error) {
	if err := above("effective area", effectiveAreaM2, "m²"); err != nil {
		return 0, err
	}
	if err := above("density", densityKgPerM3, "kg/m³"); err != nil {
		return 0, err
	}
	v := flowM3PerS / effectiveAreaM2
	return densityKgPerM3 / 2 * v * math.Abs(v), nil
}
