package gas

import (
	"fmt"
	"math"
)

// CriticalRatio returns the pressure ratio at and below which flow through a
// throat is choked.
//
//	(p/p₀)* = (2/(γ+1))^(γ/(γ−1))
//
// Valid: γ 1.1 … 1.67; outside an error is returned.
// Accuracy: exact for an ideal gas.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, appendix C (from memory).
// Errors: heat ratio out of range.
func CriticalRatio(heatRatio float64) (float64, error) {
	if err := within("ratio of specific heats", heatRatio, 1.1, 1.67, ""); err != nil {
		return 0, err
	}
	return math.Pow(2/(heatRatio+1), heatRatio/(heatRatio-1)), nil
}

// FlowRatio returns the flow function Ψ of a gas with constant specific heats:
// the mass flow of a throat relative to A p₀/√(R T₀).
//
//	Ψ = √(2γ/(γ−1) · (π^(2/γ) − π^((γ+1)/γ)))   above the critical ratio
//	Ψ = √γ (2/(γ+1))^((γ+1)/(2(γ−1)))            at and below it
//
// where π is the pressure ratio p/p₀.
//
// Valid: π 0 … 1, γ 1.1 … 1.67; outside an error is returned.
// Accuracy: exact for isentropic flow; losses stand in the effective area.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equations C.8 and C.9 (from memory).
// Errors: pressure ratio or heat ratio out of range.
func FlowRatio(pressureRatio, heatRatio float64) (float64, error) {
	if err := within("pressure ratio", pressureRatio, 0, 1, ""); err != nil {
		return 0, err
	}
	critical, err := CriticalRatio(heatRatio)
	if err != nil {
		return 0, err
	}
	pr := math.Max(pressureRatio, critical)
	a := math.Pow(pr, 1/heatRatio)
	return a * math.Sqrt(2*heatRatio/(heatRatio-1)*math.Max(0, 1-pr/a)), nil
}

// OrificeKgPerS returns the mass flow of air through an orifice, choked when
// the downstream pressure is low.
//
//	ṁ = A p₀/√(R T₀) · Ψ(p/p₀)
//
// where A is the discharge coefficient times the area, R = 287.05287 J/(kg·K) and Ψ is FlowRatio with γ = 1.4.
//
// Valid: area ≥ 0, upstream pressure and temperature above 0, downstream pressure 0 … upstream; outside an error is returned.
// Accuracy: that of the effective area; ± 5 % for a throttle with a table of it, ± 15 % with a discharge coefficient from a book.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equations C.8 and C.9 (from memory).
// Errors: area, pressure or temperature out of range; downstream pressure above upstream.
func OrificeKgPerS(effectiveAreaM2, upPa, upK, downPa float64) (float64, error) {
	if !(effectiveAreaM2 >= 0) || math.IsInf(effectiveAreaM2, 1) {
		return 0, fmt.Errorf("effective area %g m² is below 0 m²", effectiveAreaM2)
	}
	if err := positive("upstream pressure", upPa, "Pa"); err != nil {
		return 0, err
	}
	if err := positive("upstream temperature", upK, "K"); err != nil {
		return 0, err
	}
	if !(downPa >= 0 && downPa <= upPa) {
		return 0, fmt.Errorf("downstream pressure %g Pa is outside 0 … %g Pa upstream", downPa, upPa)
	}
	psi, err := FlowRatio(downPa/upPa, AirHeatRatio)
	return effectiveAreaM2 * upPa / math.Sqrt(AirJPerKgK*upK) * psi, err
}
