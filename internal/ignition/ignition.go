// Package ignition computes the charging of an inductive ignition coil: current
// against time, the dwell for a target current, stored energy, the average
// current of a firing coil, and the dwell that the speed leaves.
//
// Conventions: the voltage is the one across the primary itself: supply less
// the drops of loom and driver. Resistance and inductance are those of the primary at its
// temperature, inductance taken constant (no saturation). Start reading at
// [CurrentA], then [DwellS].
package ignition

import (
	"fmt"
	"math"
)

// CurrentA returns the primary current a time after the driver closed on a discharged coil.
//
//	i(t) = (V/R)·(1 − exp(−tR/L))
//
// where V is the voltage across the primary, R its resistance and L its
// inductance.
//
// Valid: time ≥ 0, resistance and inductance above 0; other values give a
// meaningless number, so the coil is to be checked once with [Check].
// Accuracy: exact for constant inductance; a coil near saturation draws more
// than this late in the dwell.
// Source: first-order R–L circuit, any text on circuit theory.
// Errors: none
func CurrentA(timeS, voltageV, ohm, inductanceH float64) float64 {
	return -voltageV / ohm * math.Expm1(-timeS*ohm/inductanceH)
}

// DwellS returns the time a coil needs from no current to a target current.
//
//	t = −(L/R)·ln(1 − I·R/V)
//
// Valid: target current at least 0 and below the ceiling V/R, resistance and
// inductance above 0; outside an error is returned.
// Accuracy: exact for constant inductance; the true inductance is known to some
// ± 20 % unless measured.
// Source: inverse of the first-order R–L charge curve, any text on circuit theory.
// Errors: a coil or target out of range; a voltage that can never reach the
// target, with the ceiling it can reach.
func DwellS(targetA, voltageV, ohm, inductanceH float64) (float64, error) {
	if err := Check(ohm, inductanceH); err != nil {
		return 0, err
	}
	if !(targetA >= 0) || math.IsInf(targetA, 1) {
		return 0, fmt.Errorf("target coil current %.4g A out of range, must be at least 0", targetA)
	}
	if !(voltageV > 0) || math.IsInf(voltageV, 1) {
		return 0, fmt.Errorf("coil voltage %.4g V out of range, must be above 0", voltageV)
	}
	x := targetA * ohm / voltageV
	if x >= 1 {
		return 0, fmt.Errorf("target coil current %.4g A cannot be reached with %.4g V across %.4g Ω: the current ends at %.4g A",
			targetA, voltageV, ohm, voltageV/ohm)
	}
	return -inductanceH / ohm * math.Log1p(-x), nil
}

// Check tells whether a coil's primary resistance and inductance are usable by
// the functions of this package: both above 0 and finite.
func Check(ohm, inductanceH float64) error {
	if !(ohm > 0) || math.IsInf(ohm, 1) {
		return fmt.Errorf("coil primary resistance %.4g Ω out of range, must be above 0", ohm)
	}
	if !(inductanceH > 0) || math.IsInf(inductanceH, 1) {
		return fmt.Errorf("coil primary inductance %.4g H out of range, must be above 0", inductanceH)
	}
	return nil
}

// EnergyJ returns the energy stored in the primary's field at a current.
//
//	E = ½·L·i²
//
// Valid: any current, inductance ≥ 0.
// Accuracy: exact for constant inductance. The spark receives about half of it
// or less (common practice).
// Source: energy of an inductor, any text on circuit theory.
// Errors: none
func EnergyJ(inductanceH, currentA float64) float64 { return inductanceH * currentA * currentA / 2 }

// ChargeCoulomb returns the charge drawn from the supply during one dwell.
//
//	q = ∫i dt = (V/R)·(t − τ(1 − exp(−t/τ)))
//
// where τ = L/R.
//
// Valid: dwell ≥ 0, resistance and inductance above 0 (see [Check]).
// Accuracy: exact for constant inductance.
// Source: integral of the first-order R–L charge curve.
// Errors: none
func ChargeCoulomb(dwellS, voltageV, ohm, inductanceH float64) float64 {
	tau := inductanceH / ohm
	x := dwellS / tau
	if x < 1e-4 { // the difference below loses its digits: series of x + expm1(−x)
		return voltageV / ohm * tau * x * x / 2 * (1 - x/3 + x*x/12)
	}
	return voltageV / ohm * tau * (x + math.Expm1(-x))
}

// AverageA returns the mean supply current of one coil that dwells and fires at a rate.
//
//	Ī = f·(V/R)·(t − τ(1 − exp(−t/τ)))
//
// where f is the spark rate, t the dwell and τ = L/R.
//
// Valid: dwell × rate at most 1, dwell and rate at least 0; outside an error
// is returned.
// Accuracy: exact for constant inductance and a coil that is empty when the
// dwell begins.
// Source: integral of the first-order R–L charge curve over one spark period.
// Errors: coil, dwell or rate out of range; dwell longer than the spark period.
func AverageA(dwellS, voltageV, ohm, inductanceH, sparksPerS float64) (float64, error) {
	if err := Check(ohm, inductanceH); err != nil {
		return 0, err
	}
	if !(dwellS >= 0) || !(sparksPerS >= 0) || math.IsInf(dwellS, 1) || math.IsInf(sparksPerS, 1) {
		return 0, fmt.Errorf("dwell %.4g s or spark rate %.4g /s out of range, each must be at least 0", dwellS, sparksPerS)
	}
	if dwellS*sparksPerS > 1 {
		return 0, fmt.Errorf("dwell %.4g ms is longer than the spark period %.4g ms", dwellS*1e3, 1e3/sparksPerS)
	}
	return sparksPerS * ChargeCoulomb(dwellS, voltageV, ohm, inductanceH), nil
}

// AvailableDwellS returns the longest dwell that an engine speed leaves to one coil.
//
//	t = 2π/(ω·z) − t_off
//
// where ω is the crankshaft's speed, z the sparks of this coil in one
// revolution (0.5 for a coil on each plug, 1 for a wasted-spark pair, half the
// cylinder count for a single coil) and t_off the shortest time for the spark
// to burn.
//
// Valid: speed and sparks per revolution above 0, off time at least 0, and a
// positive result; outside an error is returned.
// Accuracy: exact at constant speed; a fast rise in speed shortens it by the
// rise within one period.
// Source: definition of the spark period.
// Errors: an argument out of range; no time left for dwell.
func AvailableDwellS(speedRadPerS, sparksPerRevRatio, minOffS float64) (float64, error) {
	if !(speedRadPerS > 0) || !(sparksPerRevRatio > 0) || !(minOffS >= 0) {
		return 0, fmt.Errorf("engine speed %.4g rad/s and sparks per revolution %.4g must be above 0, off time %.4g s at least 0",
			speedRadPerS, sparksPerRevRatio, minOffS)
	}
	period := 2 * math.Pi / (speedRadPerS * sparksPerRevRatio)
	if period <= minOffS {
		return 0, fmt.Errorf("spark period %.4g ms leaves no dwell beside an off time of %.4g ms", period*1e3, minOffS*1e3)
	}
	return period - minOffS, nil
}

// SparksRatio returns how many sparks a winding makes in one turn of the crankshaft.
//
//	z = n/(2 w), and 1 for wasted spark on a winding of each cylinder's own
//
// where n is the number of cylinders and w that of windings that share them.
//
// Valid: 1 cylinder and 1 winding or more, four strokes; a count below is taken as 1.
// Accuracy: exact.
// Source: each cylinder is fired once in two turns; wasted spark fires at the end of the exhaust stroke as well.
// Errors: none
func SparksRatio(cylinders, windings int, wasted bool) float64 {
	n, w := float64(max(1, cylinders)), float64(max(1, windings))
	if wasted && w >= n {
		return 1
	}
	return n / (2 * w)
}
