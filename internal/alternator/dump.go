package alternator

import (
	"fmt"
	"math"
)

// The pulses of ISO 16750-2 for a 12 V vehicle: test A without, test B with
// suppression in the alternator.
const (
	leastDumpOhm, mostDumpOhm = 0.5, 4.0
	leastDumpV, mostDumpV     = 79.0, 101.0
	leastDumpS, mostDumpS     = 0.040, 0.400
	// ClampedV is what an alternator with clamping diodes lets through.
	ClampedV = 35.0

	dumpSystemV     = 14.0 // of a charging 12 V vehicle
	dumpTestRadPerS = 12000 * rpm
)

// Dump is the pulse of an alternator that loses its battery while it charges, as
// a source behind a resistance that decays.
type Dump struct {
	PeakV, Ohm, LastsS float64 // LastsS from a tenth of the peak to a tenth of it
}

// DumpOhm returns the inner resistance of the pulse of an alternator that loses its battery while it charges.
//
//	R_i = 10·U_N·n/(0.8·I_R·12000 min⁻¹)
//
// where U_N = 14 V, n is the rotor's speed and I_R the rated current; within
// 0.5 … 4 Ω, the ends of the standard's test A.
//
// Valid: rating above 0, rotor speed 0 … 20 000 rpm. Below 0.5 and above 4 Ω the
// standard has no pulse; the nearest is taken.
// Accuracy: the standard's order of size, some ± 30 % between designs.
// Source: ISO 16750-2:2012, 4.6.4, relation of the pulse generator's resistance.
// Errors: a rating or speed out of range.
func DumpOhm(ratedA, rotorRadPerS float64) (float64, error) {
	if !(ratedA > 0) || math.IsInf(ratedA, 1) || !(rotorRadPerS >= 0 && rotorRadPerS <= 20000*rpm) {
		return 0, fmt.Errorf("alternator of %.4g A at %.4g rpm out of range, allowed above 0 A and 0 … 20000 rpm", ratedA, rotorRadPerS/rpm)
	}
	ohm := 10 * dumpSystemV * rotorRadPerS / (0.8 * ratedA * dumpTestRadPerS)
	return math.Max(leastDumpOhm, math.Min(mostDumpOhm, ohm)), nil
}

// DumpPeakV returns the open peak of the pulse that goes with an inner resistance.
//
//	U_s = 79 V + 22 V·(R_i − 0.5 Ω)/3.5 Ω
//
// Valid: 0.5 … 4 Ω; outside an error.
// Accuracy: the ends are the standard's, which pairs small with small and large with large; straight between is decided here.
// Source: ISO 16750-2:2012, 4.6.4, test A, 12 V: 79 … 101 V, 0.5 … 4 Ω, 40 … 400 ms.
// Errors: a resistance out of range.
func DumpPeakV(ohm float64) (float64, error) {
	x, err := dumpShare(ohm)
	return leastDumpV + (mostDumpV-leastDumpV)*x, err
}

// DumpLastsS returns how long the pulse that goes with an inner resistance lasts, from a tenth of its peak to a tenth of it.
//
//	t_d = 40 ms + 360 ms·(R_i − 0.5 Ω)/3.5 Ω
//
// Valid: 0.5 … 4 Ω; outside an error.
// Accuracy: as [DumpPeakV].
// Source: as [DumpPeakV].
// Errors: a resistance out of range.
func DumpLastsS(ohm float64) (float64, error) {
	x, err := dumpShare(ohm)
	return leastDumpS + (mostDumpS-leastDumpS)*x, err
}

func dumpShare(ohm float64) (float64, error) {
	if !(ohm >= leastDumpOhm && ohm <= mostDumpOhm) {
		return 0, fmt.Errorf("inner resistance %.4g Ω out of range 0.5 … 4 Ω", ohm)
	}
	return (ohm - leastDumpOhm) / (mostDumpOhm - leastDumpOhm), nil
}

// DumpOf is the pulse of an alternator at a rotor speed.
func DumpOf(ratedA, rotorRadPerS float64) (Dump, error) {
	ohm, err := DumpOhm(ratedA, rotorRadPerS)
	if err != nil {
		return Dump{}, err
	}
	peak, err := DumpPeakV(ohm)
	if err != nil {
		return Dump{}, err
	}
	lasts, err := DumpLastsS(ohm)
	return Dump{peak, ohm, lasts}, err
}

// EnergyJ returns the energy that a pulse leaves in what holds it to a voltage.
//
//	W = U_c/R_i·∫ (U_s·e^(−t/τ) − U_c) dt = U_c·τ/R_i·(U_s − U_c − U_c·ln(U_s/U_c)),  τ = t_d/ln 10
//
// where the integral runs while the pulse is above the voltage; 0 for one that
// never is.
//
// Valid: a clamp voltage above 0; else 0.
// Accuracy: exact for the exponential pulse; its rise of 10 ms is left out.
// Source: integral of the pulse of ISO 16750-2, test A, through its own resistance.
// Errors: none
func (d Dump) EnergyJ(clampV float64) float64 {
	if !(clampV > 0 && clampV < d.PeakV) {
		return 0
	}
	tau := d.LastsS / math.Ln10
	return clampV * tau / d.Ohm * (d.PeakV - clampV - clampV*math.Log(d.PeakV/clampV))
}
