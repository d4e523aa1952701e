package calibrate

import (
	"fmt"
	"math"
)

const (
	airJPerKgK = 287.05
	mildK      = 293.15 // the air that the factor on air temperature is 1 at
)

// ChargeKg returns the air that one cylinder takes at 20 °C.
//
//	m = η p V/(R · 293.15 K)
//
// where η is the volumetric efficiency of the manifold's density, p the manifold's pressure, V the swept volume of one cylinder and R = 287.05 J/(kg·K).
//
// Valid: efficiency 0 … 3, pressure 1 … 450 kPa, volume above 0; outside an error is returned.
// Accuracy: that of the efficiency.
// Source: ideal gas; definition of volumetric efficiency.
// Errors: a value out of range.
func ChargeKg(volEffFrac, manifoldPa, sweptM3 float64) (float64, error) {
	if !(volEffFrac >= 0 && volEffFrac <= 3) {
		return 0, fmt.Errorf("volumetric efficiency %g is outside 0 … 3", volEffFrac)
	}
	if !(manifoldPa >= 1e3 && manifoldPa <= 450e3) {
		return 0, fmt.Errorf("manifold pressure %g Pa is outside 1e3 … 450e3 Pa", manifoldPa)
	}
	if !(sweptM3 > 0) {
		return 0, fmt.Errorf("swept volume %g m³ is not above 0 m³", sweptM3)
	}
	return volEffFrac * manifoldPa * sweptM3 / (airJPerKgK * mildK), nil
}

// AirTempRatio returns the factor that the charge's temperature puts on its mass.
//
//	k = 293.15 K/T
//
// where T is the temperature of the charge.
//
// Valid: 200 … 450 K; outside an error is returned.
// Accuracy: that of the sensor; one that soaks in heat reads too hot and makes the mixture lean.
// Source: ideal gas.
// Errors: temperature out of range.
func AirTempRatio(chargeK float64) (float64, error) {
	if !(chargeK >= 200 && chargeK <= 450) {
		return 0, fmt.Errorf("charge temperature %g K is outside 200 … 450 K", chargeK)
	}
	return mildK / chargeK, nil
}

// FadedRatio returns what is left of a factor that fades to 1.
//
//	k = 1 + (k₀ − 1) exp(−t/T)
//
// where k₀ is the factor at the first firing, t the time since and T the time in which it fades to 1/e.
//
// Valid: t at or above 0, T above 0; else an error is returned.
// Accuracy: a choice.
// Source: common practice.
// Errors: a time out of range.
func FadedRatio(firstRatio, fadeS, sinceS float64) (float64, error) {
	if !(sinceS >= 0) || !(fadeS > 0) {
		return 0, fmt.Errorf("time since the start %g s and of fading %g s must be at least 0 s and above 0 s", sinceS, fadeS)
	}
	return 1 + (firstRatio-1)*math.Exp(-sinceS/fadeS), nil
}

// TransientRatio returns the factor that keeps the film on the port's wall from
// thinning the mixture while the manifold's pressure moves evenly.
//
//	k = 1 + X τ ṗ/p, within 0 … 4
//
// where X is the share that wets the wall, τ the time in which it dries to 1/e and ṗ how fast the manifold's pressure p rises.
// It follows from F′ = X ṁ − F/τ and (1 − X) ṁ + F/τ = ṁ₀ for a demand ṁ₀ that rises evenly.
//
// Valid: X 0 … 1, τ at or above 0, pressure above 0; else an error is returned. After the film has settled to the rise, some 3 τ.
// Accuracy: that of X and τ, a factor of 2.
// Source: form of the film Aquino, SAE 810494, 1981 (from memory); the rest is algebra.
// Errors: a value out of range.
func TransientRatio(filmFrac, filmS, manifoldPa, risePaPerS float64) (float64, error) {
	if !(filmFrac >= 0 && filmFrac <= 1) || !(filmS >= 0) || !(manifoldPa > 0) {
		return 0, fmt.Errorf("film share %g, film time %g s, manifold pressure %g Pa: 0 … 1, at least 0 s, above 0 Pa are allowed", filmFrac, filmS, manifoldPa)
	}
	return math.Max(0, math.Min(4, 1+filmFrac*filmS*risePaPerS/manifoldPa)), nil
}

// PulseFuelKg returns the fuel of one injection.
//
//	m = m_a/(L λ) · Πk
//
// where m_a is the air at 20 °C, L the air that burns a kilogram of fuel, λ the target and Πk the product of the factors, that of the air's temperature among them.
//
// Valid: air and factors at or above 0, L and λ above 0; else an error is returned.
// Accuracy: that of air and factors.
// Source: definition of lambda.
// Errors: a value out of range.
func PulseFuelKg(airKg, stoichRatio, lambdaRatio, factorsRatio float64) (float64, error) {
	if !(airKg >= 0) || !(factorsRatio >= 0) || !(stoichRatio > 0) || !(lambdaRatio > 0) {
		return 0, fmt.Errorf("air %g kg, air over fuel %g, lambda %g, factors %g: at least 0, above 0, above 0, at least 0 are allowed", airKg, stoichRatio, lambdaRatio, factorsRatio)
	}
	return airKg / (stoichRatio * lambdaRatio) * factorsRatio, nil
}

// OpenS returns how long an injector has to pass fuel.
//
//	t = m/ṁ
//
// where m is the fuel of one injection and ṁ what the open injector passes.
//
// Valid: fuel at or above 0, flow above 0; else an error is returned.
// Accuracy: that of the flow.
// Source: definition of static flow.
// Errors: a value out of range.
func OpenS(fuelKg, flowKgPerS float64) (float64, error) {
	if !(fuelKg >= 0) || !(flowKgPerS > 0) {
		return 0, fmt.Errorf("fuel %g kg must be at least 0 kg and flow %g kg/s above 0 kg/s", fuelKg, flowKgPerS)
	}
	return fuelKg / flowKgPerS, nil
}

// DrivenS returns the pulse that the controller gives.
//
//	t = t_open + Δt + k t₀
//
// where Δt is added to short pulses, t₀ the dead time at the injector's volts and k its factor at the pressure across it.
//
// Valid: times at or above 0.
// Accuracy: that of its parts.
// Source: definition of dead time.
// Errors: none.
func DrivenS(openS, shortS, deadS, deadRatio float64) float64 {
	return openS + shortS + deadRatio*deadS
}

// HeldAcrossPa returns the pressure across an injector as a controller counts on it.
//
//	Δp = p_set                    regulator referred to the manifold
//	Δp = p_set + p_ambient − p    else
//
// Valid: a pump that holds the rail; what it loses the controller does not see.
// Accuracy: that of the regulator, ± 3 %.
// Source: definition.
// Errors: none.
func HeldAcrossPa(setPa, ambientPa, manifoldPa float64, toManifold bool) float64 {
	if toManifold {
		return setPa
	}
	return setPa + ambientPa - manifoldPa
}

// AtInjectorV returns the volts across an injector.
//
//	U = U_battery − U_feed
//
// where U_feed is lost in the feed and the driver.
//
// Valid: a feed that loses about the same in every state.
// Accuracy: ± 0.3 V.
// Source: Kirchhoff's voltage law.
// Errors: none.
func AtInjectorV(batteryV, feedV float64) float64 { return batteryV - feedV }

// SweptM3 returns the volume that one piston sweeps.
//
//	V = π/4 · D² s
//
// where D is the bore and s the stroke.
//
// Valid: any; a piston offset moves it by less than 1 %.
// Accuracy: that of bore and stroke.
// Source: geometry.
// Errors: none.
func SweptM3(boreM, strokeM float64) float64 { return math.Pi / 4 * boreM * boreM * strokeM }

// PulseSdS returns one standard deviation of a pulse.
//
//	σ = √((t_open σ_k)² + σ_Δ² + σ₀²)
//
// where σ_k is the relative spread of all factors together, σ_Δ that of the short pulse's correction and σ₀ that of the dead time.
//
// Valid: parts that do not move together.
// Accuracy: first order.
// Source: propagation of uncertainty, JCGM 100:2008, equation 10.
// Errors: none.
func PulseSdS(openS, factorsSdFrac, shortSdS, deadSdS float64) float64 {
	return sumSquares(openS*factorsSdFrac, shortSdS, deadSdS)
}
