package balance

import "math"

// DeliveredKgPerS returns the fuel that reaches the engine when the rail stands at another pressure than the controller meters for.
//
//	ṁ = ṁ_wanted · √(Δp/Δp_set)
//
// where Δp is the pressure across the injector, rail less manifold, and Δp_set the same with the rail at its set pressure.
//
// Valid: rail above manifold pressure; a controller that does not measure the rail's pressure.
// Accuracy: 1 %, turbulent orifice.
// Source: incompressible orifice flow, Q ∝ √Δp.
// Errors: none
func DeliveredKgPerS(wantedKgPerS, acrossPa, acrossSetPa float64) float64 {
	return wantedKgPerS * math.Sqrt(acrossPa/acrossSetPa)
}

// RailPa returns the rail's pressure above the atmosphere: the regulator's, or the one at which pump and injectors pass the same.
//
//	p = p_reg  if  q_pump(U, p_reg + Δp_line) ≥ q_inj(p_reg),  else  q_pump(U, p + Δp_line) = q_inj(p)
//
// where p_reg is what the regulator holds: its setting above the atmosphere, or above the manifold's gauge pressure when it is referred to the manifold; q_pump is the pump's flow at its voltage, Δp_line what line and filter lose, and q_inj what the injectors pass.
//
// Valid: a regulator in the tank, at the pump's outlet or on the rail.
// Accuracy: that of the pump's model, ± 8 % of its flow.
// Source: continuity between pump and injectors.
// Errors: none
func RailPa(setPa, crossingPa float64) float64 { return math.Min(setPa, crossingPa) }

// LambdaRatio returns the mixture that burns: the wanted one times the fuel wanted over the fuel delivered.
//
//	λ = λ_wanted · ṁ_wanted/ṁ
//
// Valid: steady running, air unchanged.
// Accuracy: that of the two flows.
// Source: definition of lambda.
// Errors: none
func LambdaRatio(wantedRatio, wantedKgPerS, deliveredKgPerS float64) float64 {
	return wantedRatio * wantedKgPerS / deliveredKgPerS
}

// WantedKgPerS returns the fuel that the engine's air asks for at the wanted lambda.
//
//	ṁ = ṁ_air/(λ · L_st)
//
// where L_st is the fuel's stoichiometric ratio of air to fuel by mass.
//
// Valid: a running engine.
// Accuracy: that of the air model.
// Source: definition of lambda and of the stoichiometric ratio.
// Errors: none
func WantedKgPerS(airKgPerS, lambdaRatio, stoichRatio float64) float64 {
	return airKgPerS / (lambdaRatio * stoichRatio)
}

// BroughtKgPerS returns the fuel that the pump can bring into the rail at its set pressure, at the voltage it really gets.
//
//	ṁ = ρ · q(U, p_set + Δp_line)
//
// where q is the pump's flow at voltage U against the rail and what line and filter lose.
//
// Valid: a pump whose sheet gives flow and current at one voltage and pressure.
// Accuracy: ± 8 %.
// Source: pump model, see pump.Model.At; line by Darcy and Weisbach.
// Errors: none
func BroughtKgPerS(densityKgPerM3, flowM3PerS float64) float64 { return densityKgPerM3 * flowM3PerS }

// PulseS returns the time an injector is open for one injection: what the fuel needs at its static flow, and its dead time.
//
//	t = m/ṁ_static + t_dead,  t_dead(U) = t₁₄ + (t₈ − t₁₄)(1/U − 1/14)/(1/8 − 1/14)
//
// where t₈ and t₁₄ are the dead times stated at 8 and 14 V.
//
// Valid: 5 … 16 V at the injector; beyond the short-pulse range.
// Accuracy: ± 0.1 ms in the dead time between the stated points.
// Source: dead time inversely with voltage: common practice; static flow by the square-root law.
// Errors: none
func PulseS(massKg, staticKgPerS, deadS float64) float64 { return massKg/staticKgPerS + deadS }

// SetGaugePa returns what a regulator that is referred to the manifold holds the rail at, above the atmosphere.
//
//	p = p_set + p_m
//
// where p_m is the manifold's pressure above the atmosphere, negative at part load.
//
// Valid: a regulator whose reference hose is tight.
// Accuracy: that of the two pressures.
// Source: balance of forces on the regulator's diaphragm.
// Errors: none
func SetGaugePa(setPa, manifoldGaugePa float64) float64 { return setPa + manifoldGaugePa }
