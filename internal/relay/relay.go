// Package relay computes what a relay does to a circuit: the voltage lost in
// its contact, the current its coil draws, the voltages at which it pulls in
// and lets go when the coil is hot, and the current its contact may carry at an
// ambient temperature.
//
// Conventions: coil data are given at 20 °C and the coil is copper. A contact
// is a plain resistance. Start reading at [PullInV] and [Limit].
package relay

import (
	"fmt"
	"math"
)

// CopperPerK is the temperature coefficient of copper at 20 °C.
const CopperPerK = 0.00393 // IEC 60028:1925

const refK = 293.15 // coil data are given at 20 °C

// CoilOhm returns the resistance of a relay coil at its winding temperature.
//
//	R = R₂₀·(1 + α₂₀(T − 293.15))
//
// where α₂₀ = 0.00393 /K.
//
// Valid: −40 … 180 °C winding temperature.
// Accuracy: 0.2 % of the linear law; makers give coil resistance to ± 10 %.
// Source: IEC 60028:1925, annealed copper.
// Errors: none
func CoilOhm(at20Ohm, windingK float64) float64 {
	return at20Ohm * (1 + CopperPerK*(windingK-refK))
}

// CoilCurrentA returns the current of a relay coil at a voltage and winding temperature.
//
//	I = V/(R₂₀·(1 + α₂₀(T − 293.15)))
//
// Valid: −40 … 180 °C winding temperature, coil resistance above 0; a
// parallel suppression resistor draws its own current besides.
// Accuracy: that of the coil resistance, ± 10 % in makers' data.
// Source: Ohm's law with IEC 60028:1925.
// Errors: none
func CoilCurrentA(voltageV, at20Ohm, windingK float64) float64 {
	return voltageV / CoilOhm(at20Ohm, windingK)
}

// PullInV returns the voltage at which a relay pulls in, or by the same law lets go, when its winding is at a temperature.
//
//	V(T) = V₂₀·(1 + α₂₀(T − 293.15))
//
// because the ampere-turns that move the armature stay the same while the
// winding's resistance rises.
//
// Valid: −40 … 180 °C winding temperature.
// Accuracy: a few per cent: springs and iron are taken as constant.
// Source: IEC 60028:1925 and constant ampere-turns (common practice in relay makers' application notes).
// Errors: none
func PullInV(pullIn20V, windingK float64) float64 {
	return pullIn20V * (1 + CopperPerK*(windingK-refK))
}

// ReleaseV returns the voltage at which a relay lets go when its winding is at a temperature.
//
//	V(T) = V₂₀·(1 + α₂₀(T − 293.15))
//
// Valid: −40 … 180 °C winding temperature.
// Accuracy: as for [PullInV].
// Source: as for [PullInV].
// Errors: none
func ReleaseV(release20V, windingK float64) float64 { return PullInV(release20V, windingK) }

// WindingK returns the winding temperature of an energised coil, once settled.
//
//	T = T_a + ϑ·V²/R(T),  solved in closed form
//
// where ϑ is the coil's thermal resistance to ambient.
//
// Valid: ambient −40 … 125 °C, voltage at least 0, coil resistance above 0,
// thermal resistance at least 0.
// Accuracy: ± 20 %, that of the thermal resistance, typically 40 … 70 K/W for
// a cube relay (from memory).
// Source: heat balance of a winding with IEC 60028:1925; contact heat left out.
// Errors: none
func WindingK(ambientK, voltageV, at20Ohm, thermalKPerW float64) float64 {
	// x(1 + α(a + x)) = h, with x the rise and a the ambient above 20 °C
	a := 1 + CopperPerK*(ambientK-refK)
	h := thermalKPerW * voltageV * voltageV / at20Ohm
	return ambientK + 2*h/(a+math.Sqrt(a*a+4*CopperPerK*h))
}

// ContactDropV returns the voltage lost across a closed contact.
//
//	U = I·R
//
// Valid: any current the contact may carry; contact resistance at least 0.
// Accuracy: contact resistance spreads widely: one data sheet gives 1.5 mΩ
// typical and 20 mΩ at most.
// Source: Ohm's law.
// Errors: none
func ContactDropV(currentA, contactOhm float64) float64 { return currentA * contactOhm }

// Row is one published point of a contact's limit: the continuous current it
// may carry at an ambient temperature.
type Row struct{ AmbientK, LimitA float64 }

// Limit is a contact's current limit against ambient temperature.
type Limit struct{ rows []Row }

// NewLimit makes a limit of published rows. Temperatures must rise, currents
// must be above 0 and must not rise with temperature.
func NewLimit(rows ...Row) (Limit, error) {
	if len(rows) == 0 {
		return Limit{}, fmt.Errorf("contact limit has no rows, needs at least 1")
	}
	for i, r := range rows {
		switch {
		case !(r.AmbientK > 0) || math.IsInf(r.AmbientK, 1):
			return Limit{}, fmt.Errorf("contact limit row %d: ambient %.4g K out of range, must be above 0", i+1, r.AmbientK)
		case !(r.LimitA > 0) || math.IsInf(r.LimitA, 1):
			return Limit{}, fmt.Errorf("contact limit row %d: current %.4g A out of range, must be above 0", i+1, r.LimitA)
		case i > 0 && r.AmbientK <= rows[i-1].AmbientK:
			return Limit{}, fmt.Errorf("contact limit row %d: ambient %.5g K must be above the row before, %.5g K", i+1, r.AmbientK, rows[i-1].AmbientK)
		case i > 0 && r.LimitA > rows[i-1].LimitA:
			return Limit{}, fmt.Errorf("contact limit row %d: current %.4g A must not exceed the row before, %.4g A", i+1, r.LimitA, rows[i-1].LimitA)
		}
	}
	return Limit{rows: append([]Row(nil), rows...)}, nil
}

// AtA returns the continuous current that a contact may carry at an ambient temperature.
//
//	I = I₁ + (I₂ − I₁)(T − T₁)/(T₂ − T₁)
//
// where 1 and 2 are the published rows on either side. Below the first row the
// first row's current holds: makers give no credit for cold.
//
// Valid: up to the last row's temperature; above it an error is returned.
// Accuracy: exact at the rows; makers' curves between them bend downwards
// slightly, so that the straight line is within some 5 %.
// Source: linear interpolation of the maker's published rows.
// Errors: ambient above the last row; a limit without rows.
func (l Limit) AtA(ambientK float64) (float64, error) {
	if len(l.rows) == 0 {
		return 0, fmt.Errorf("contact limit has no rows, needs at least 1")
	}
	last := l.rows[len(l.rows)-1]
	if !(ambientK > 0 && ambientK <= last.AmbientK) {
		return 0, fmt.Errorf("relay ambient %.4g °C out of range, published up to %.4g °C", ambientK-273.15, last.AmbientK-273.15)
	}
	if ambientK <= l.rows[0].AmbientK {
		return l.rows[0].LimitA, nil
	}
	i := 1
	for ambientK > l.rows[i].AmbientK {
		i++
	}
	p, q := l.rows[i-1], l.rows[i]
	return p.LimitA + (q.LimitA-p.LimitA)*(ambientK-p.AmbientK)/(q.AmbientK-p.AmbientK), nil
}
