// Package wire computes copper conductors: resistance and voltage drop,
// American wire gauge, the temperature a wire settles at in still air alone or
// in a bundle, the current that a temperature allows, and how long a wire
// survives a short circuit or an overload.
//
// Conventions: lengths are of the conductor, so a circuit counts out and back;
// R20OhmPerM is the resistance of one metre at 20 °C; temperatures are absolute.
// Start reading at [ResistanceOhm], then [Conductor] and [SteadyTempK].
package wire

import (
	"fmt"
	"math"
)

const (
	// CopperPerK is the temperature coefficient of annealed copper at 20 °C.
	CopperPerK = 0.00393 // IEC 60028:1925
	// CopperOhmM is the resistivity of annealed copper at 20 °C.
	CopperOhmM = 1.7241e-8 // IEC 60028:1925

	refK = 293.15
)

// ResistanceOhm returns the resistance of a copper conductor of a length at a temperature.
//
//	R = R′₂₀·l·(1 + α₂₀(T − 293.15))
//
// where R′₂₀ is the resistance per metre at 20 °C and α₂₀ = 0.00393 /K for
// annealed copper.
//
// Valid: −60 … 200 °C conductor temperature, length and resistance at least 0.
// Accuracy: 0.1 % of the linear law over the range; a wire's own resistance may
// lie some 10 % below its standard's greatest.
// Source: IEC 60028:1925, annealed copper; the same law reads
// (234.5 + T)/254.5 in °C.
// Errors: none
func ResistanceOhm(lengthM, r20OhmPerM, tempK float64) float64 {
	return r20OhmPerM * lengthM * (1 + CopperPerK*(tempK-refK))
}

// SolidOhmPerM returns the resistance of a metre of solid copper of an area at 20 °C.
//
//	R′₂₀ = ρ₂₀/A
//
// where ρ₂₀ = 1.7241·10⁻⁸ Ω·m.
//
// Valid: area above 0. Stranded wire has 5 … 12 % more for its nominal area.
// Accuracy: exact for the standard's copper.
// Source: IEC 60028:1925.
// Errors: none
func SolidOhmPerM(areaM2 float64) float64 { return CopperOhmM / areaM2 }

// DropV returns the voltage lost along a resistance.
//
//	U = I·R
//
// Valid: any current and resistance.
// Accuracy: exact.
// Source: Ohm's law.
// Errors: none
func DropV(currentA, ohm float64) float64 { return currentA * ohm }

// AWGDiameterM returns the diameter of a solid wire of an American gauge.
//
//	d = 0.127 mm·92^((36 − n)/39)
//
// where n is the gauge: 0 for 1/0, −1 for 2/0, −2 for 3/0, −3 for 4/0.
//
// Valid: gauge −3 … 40; outside an error is returned.
// Accuracy: exact by definition; tables round to the mil.
// Source: ASTM B258.
// Errors: gauge out of range.
func AWGDiameterM(gauge int) (float64, error) {
	if gauge < -3 || gauge > 40 {
		return 0, fmt.Errorf("wire gauge %d AWG out of range -3 (4/0) … 40", gauge)
	}
	return 0.127e-3 * math.Pow(92, float64(36-gauge)/39), nil
}

// AWGAreaM2 returns the copper area of a solid wire of an American gauge.
//
//	A = π/4·(0.127 mm)²·92^((36 − n)/19.5)
//
// where n is the gauge: 0 for 1/0, −1 for 2/0, −2 for 3/0, −3 for 4/0.
//
// Valid: gauge −3 … 40; outside an error is returned.
// Accuracy: exact by definition. Automotive cable sold by gauge after SAE
// J1128 has only 89 … 95 % of this area.
// Source: ASTM B258.
// Errors: gauge out of range.
func AWGAreaM2(gauge int) (float64, error) {
	d, err := AWGDiameterM(gauge)
	return math.Pi / 4 * d * d, err
}
