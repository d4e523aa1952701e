// Package alternator computes a claw-pole alternator with built-in regulator:
// the current it can give at a rotor speed and temperature, the power it takes
// from the belt, and the voltage its regulator holds.
//
// Conventions: speeds are the rotor's (engine speed times pulley ratio) in
// rad/s; current out of the alternator is positive; the rating is the current
// at 6000 rpm, 25 °C. Start reading at [OutputA].
package alternator

import "math"

const (
	rpm = math.Pi / 30 // rad/s in one revolution a minute

	cutInRadPerS = 1000 * rpm // rotor speed at which output begins
	foldRadPerS  = 1000 * rpm // the shortfall falls by 1/e in this
	ratedRadPerS = 6000 * rpm // where ISO 8854 takes the rating
	refK         = 298.15
)

// OutputA returns the most current an alternator of a rating gives at a rotor speed, cold.
//
//	I = I_R·(1 − exp(−(n − n₀)/n_c))/(1 − exp(−(n_R − n₀)/n_c)),  0 below n₀
//
// where n₀ = 1000 rpm is the cut-in speed, n_c = 1000 rpm and n_R = 6000 rpm,
// where the rating is taken.
//
// Valid: rotor speed 0 … 18 000 rpm, rating above 0, near 13.5 V.
// Accuracy: ± 10 % of the rating: designs give 50 … 60 % at 1800 rpm; cut-in
// lies between 1000 and 1500 rpm.
// Source: ISO 8854 names the points (1500 and 6000 rpm); shape and constants
// common practice.
// Errors: none
func OutputA(ratedA, rotorRadPerS float64) float64 {
	if rotorRadPerS <= cutInRadPerS {
		return 0
	}
	const full = 0.9932620530009145 // 1 − exp(−5)
	return -ratedA * math.Expm1(-(rotorRadPerS-cutInRadPerS)/foldRadPerS) / full
}

// HotOutputA returns what is left of an alternator's output when the air around it is hot.
//
//	I = I_25·(1 − 0.0022 (T − 298.15))
//
// Valid: −40 … 125 °C air around the alternator.
// Accuracy: coefficient 0.0015 … 0.003 /K.
// Source: makers' hot curves at 90 … 100 °C show 80 … 90 % of the cold ones, from memory.
// Errors: none
func HotOutputA(coldA, ambientK float64) float64 {
	return coldA * (1 - 0.0022*(ambientK-refK))
}

// EfficiencyFrac returns an alternator's efficiency from belt to terminal at a rotor speed under a good load.
//
//	η = 0.65 up to 1800 rpm, 0.50 from 6000 rpm, straight between
//
// Valid: rotor speed above cut-in, current above a quarter of the rating.
// Accuracy: ± 0.07: excitation, diodes and copper take a third at low speed,
// iron and fan the rest at high speed.
// Source: common practice; "in the vicinity of 50 %" in D. Neacșu, Automotive
// Power Systems, 2020, chapter on starter and alternator.
// Errors: none
func EfficiencyFrac(rotorRadPerS float64) float64 {
	x := (rotorRadPerS - 1800*rpm) / (4200 * rpm)
	return 0.65 - 0.15*math.Max(0, math.Min(1, x))
}

// ShaftPowerW returns the power an alternator takes from the belt.
//
//	P = U·I/η(n)
//
// where η is [EfficiencyFrac].
//
// Valid: voltage and current at least 0, speed above cut-in. With no current
// the true drag, some 50 … 150 W of fan and excitation, is not counted.
// Accuracy: ± 15 %, that of the efficiency.
// Source: energy balance; efficiency as there.
// Errors: none
func ShaftPowerW(voltageV, currentA, rotorRadPerS float64) float64 {
	return voltageV * currentA / EfficiencyFrac(rotorRadPerS)
}

// ShaftTorqueNm returns the torque an alternator takes at its own shaft.
//
//	M = U·I/(η(n)·ω)
//
// where ω is the rotor speed and η is [EfficiencyFrac].
//
// Valid: rotor speed above cut-in.
// Accuracy: ± 15 %, that of the efficiency.
// Source: energy balance; efficiency as there.
// Errors: none
func ShaftTorqueNm(voltageV, currentA, rotorRadPerS float64) float64 {
	return ShaftPowerW(voltageV, currentA, rotorRadPerS) / rotorRadPerS
}

// SetV returns the voltage the regulator holds when it is at a temperature.
//
//	U = U₂₅ − 0.010 (T − 298.15)
//
// where U₂₅ is its set voltage at 25 °C, 14.5 V for most (common practice).
//
// Valid: −30 … 120 °C at the regulator.
// Accuracy: ± 0.2 V; coefficient −7 … −10 mV/K, some modern regulators hold
// it flat or follow the controller.
// Source: common practice, 13.8 … 14.8 V warm; −0.1 V per 10 °C and 14.4 ± 0.3 V
// at 20 °C read in a marine engine's technical data.
// Errors: none
func SetV(set25V, regulatorK float64) float64 { return set25V - 0.010*(regulatorK-refK) }
