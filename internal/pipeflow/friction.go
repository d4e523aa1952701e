// Package pipeflow computes the pressure that liquid loses in lines, fittings
// and orifices, and what hose may carry it.
//
// Conventions: flow and pressure drop are positive in the direction of the
// line and change sign together; pressures in hose ratings are gauge; the
// friction factor is Darcy's (four times Fanning's). Start reading at [LineDropPa].
package pipeflow

import (
	"fmt"
	"math"

	"fettle/internal/figure"
)

// Bounds of the flow regimes by Reynolds number.
const (
	laminarBelow   = 2300.0
	turbulentAbove = 4000.0
)

// Fluid is what flows.
type Fluid struct {
	DensityKgPerM3 float64
	ViscosityPaS   float64 // dynamic
}

func (f Fluid) check() error {
	if err := above("density", f.DensityKgPerM3, "kg/m³"); err != nil {
		return err
	}
	return above("viscosity", f.ViscosityPaS, "Pa·s")
}

func above(quantity string, v float64, unit string) error {
	if v > 0 && !math.IsInf(v, 1) {
		return nil
	}
	return fmt.Errorf("%s %g %s is not above 0 %s", quantity, v, unit, unit)
}

func notBelow(quantity string, v float64, unit string) error {
	if v >= 0 && !math.IsInf(v, 1) {
		return nil
	}
	return fmt.Errorf("%s %g %s is below 0 %s", quantity, v, unit, unit)
}

// VelocityMPerS returns the mean velocity in a round bore.
//
//	v = 4 Q/(π d²)
//
// Valid: bore above 0; else an error is returned.
// Accuracy: exact for the mean.
// Source: continuity.
// Errors: bore not above 0.
func VelocityMPerS(flowM3PerS, boreM float64) (float64, error) {
	if err := above("bore", boreM, "m"); err != nil {
		return 0, err
	}
	return 4 * flowM3PerS / (math.Pi * boreM * boreM), nil
}

// ReynoldsRatio returns the Reynolds number of flow in a round bore.
//
//	Re = ρ |v| d/µ = 4 ρ |Q|/(π µ d)
//
// Valid: bore, density and viscosity above 0; else an error is returned.
// Accuracy: that of the viscosity, ± 15 % for petrol.
// Source: Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-1.
// Errors: bore, density or viscosity not above 0.
func ReynoldsRatio(flowM3PerS, boreM float64, f Fluid) (float64, error) {
	v, err := VelocityMPerS(flowM3PerS, boreM)
	if err != nil {
		return 0, err
	}
	if err := f.check(); err != nil {
		return 0, err
	}
	return f.DensityKgPerM3 * math.Abs(v) * boreM / f.ViscosityPaS, nil
}

// DarcyRatio returns the Darcy friction factor of a round line and how the
// iteration for it ended.
//
//	f = 64/Re                                          Re ≤ 2300
//	1/√f = −2 log₁₀(ε/3.7 + 2.51/(Re √f))              Re ≥ 4000
//	f = f₂₃₀₀ + (f₄₀₀₀ − f₂₃₀₀)(Re − 2300)/1700        between
//
// where ε is the roughness over the bore. The turbulent law is solved by
// Newton's method in 1/√f. Between the two regimes the flow alternates; the
// line drawn between them keeps the drop continuous and rising with flow.
//
// Valid: Re above 0 to 1e8, ε 0 … 0.05; outside an error is returned.
// Accuracy: laminar 1 %, turbulent ± 10 %, transition ± 35 %.
// Source: Colebrook, J. Inst. Civ. Eng. 11 (1939) 133; Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-50; the transition is ours.
// Errors: Reynolds number or roughness out of range; an iteration that does not settle, which the range excludes.
func DarcyRatio(reynoldsRatio, roughnessRatio float64) (frictionRatio float64, end figure.Ended, err error) {
	if !(reynoldsRatio > 0 && reynoldsRatio <= 1e8) {
		return 0, end, fmt.Errorf("the Reynolds number %g is outside 0 … 1e8", reynoldsRatio)
	}
	if !(roughnessRatio >= 0 && roughnessRatio <= 0.05) {
		return 0, end, fmt.Errorf("relative roughness %g is outside 0 … 0.05", roughnessRatio)
	}
	if reynoldsRatio <= laminarBelow {
		return 64 / reynoldsRatio, figure.Ended{OK: true}, nil
	}
	frictionRatio, end = colebrook(math.Max(reynoldsRatio, turbulentAbove), roughnessRatio)
	if !end.OK {
		return 0, end, fmt.Errorf("friction factor at Reynolds number %g: %s", reynoldsRatio, end.Why)
	}
	if reynoldsRatio < turbulentAbove {
		const low = 64 / laminarBelow
		share := (reynoldsRatio - laminarBelow) / (turbulentAbove - laminarBelow)
		frictionRatio = low + share*(frictionRatio-low)
	}
	return frictionRatio, end, nil
}

// colebrook solves x = −2 log₁₀(ε/3.7 + 2.51 x/Re) for x = 1/√f by Newton.
func colebrook(re, eps float64) (f float64, end figure.Ended) {
	const maxSteps, enough = 30, 1e-13
	x := -1.8 * math.Log10(math.Pow(eps/3.7, 1.11)+6.9/re)
	for step := 1; step <= maxSteps; step++ {
		in := eps/3.7 + 2.51*x/re
		g := x + 2*math.Log10(in)
		dx := g / (1 + 2/math.Ln10*2.51/re/in)
		x -= dx
		end = figure.Ended{Steps: step, Residual: math.Abs(dx / x)}
		if end.Residual < enough {
			end.OK = true
			return 1 / (x * x), end
		}
	}
	end.Why = "the friction law did not settle"
	return 0, end
}
