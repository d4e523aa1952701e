// Package injector computes what a port injector delivers: its static flow,
// its dead time, the pulse for a mass of fuel, its duty and its current.
//
// Conventions: the pressure drop is rail minus manifold; dead time is the part
// of the pulse in which nothing flows, opening lag less closing lag; duty is the
// share of the engine cycle that the injector is driven. Start reading at
// [StaticKgPerS] and [PulseS].
package injector

import (
	"fmt"
	"math"
)

// Spec is the rated flow of an injector with its driver full on.
type Spec struct {
	RatedM3PerS         float64
	RatedDropPa         float64
	RatedDensityKgPerM3 float64 // of the test fluid; n-heptane 684
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

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// StaticKgPerS returns the mass flow of an open injector at a pressure drop and
// fuel density.
//
//	ṁ = ρ Q₀ √(Δp/Δp₀ · ρ₀/ρ)
//
// where Q₀ is the rated volume flow at Δp₀ with a fluid of density ρ₀.
//
// Valid: Δp 0 … 1 MPa, ρ 600 … 900 kg/m³; outside an error is returned. Δp below half or above twice the rated is an extrapolation.
// Accuracy: 2 % from half to twice the rated drop; the part itself ± 3 %.
// Source: orifice law of an incompressible fluid; Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-69.
// Errors: a rated value not above 0; drop or density out of range.
func StaticKgPerS(s Spec, dropPa, densityKgPerM3 float64) (float64, error) {
	if err := first(above("rated flow", s.RatedM3PerS, "m³/s"), above("rated pressure drop", s.RatedDropPa, "Pa"),
		above("rated density", s.RatedDensityKgPerM3, "kg/m³")); err != nil {
		return 0, err
	}
	if !(dropPa >= 0 && dropPa <= 1e6) {
		return 0, fmt.Errorf("pressure drop across the injector %g Pa is outside 0 … 1e6 Pa", dropPa)
	}
	if !(densityKgPerM3 >= 600 && densityKgPerM3 <= 900) {
		return 0, fmt.Errorf("fuel density %g kg/m³ is outside 600 … 900 kg/m³", densityKgPerM3)
	}
	return densityKgPerM3 * s.RatedM3PerS * math.Sqrt(dropPa/s.RatedDropPa*s.RatedDensityKgPerM3/densityKgPerM3), nil
}

// FuelPerCycleKg returns the fuel that one cylinder burns in a four-stroke cycle.
//
//	m = P b · 4π/(ω n)
//
// where b is the brake specific fuel consumption in kg/J.
//
// Valid: power and consumption ≥ 0, speed above 0, at least one cylinder; else an error is returned.
// Accuracy: that of the consumption.
// Source: definition of specific consumption.
// Errors: power, consumption, speed or cylinder count out of range.
func FuelPerCycleKg(powerW, consumptionKgPerJ, speedRadPerS float64, cylinderCount int) (float64, error) {
	if err := first(notBelow("power", powerW, "W"), notBelow("specific consumption", consumptionKgPerJ, "kg/J"),
		above("engine speed", speedRadPerS, "rad/s"), above("cylinder count", float64(cylinderCount), "")); err != nil {
		return 0, err
	}
	return powerW * consumptionKgPerJ * 4 * math.Pi / (speedRadPerS * float64(cylinderCount)), nil
}

// SizeKgPerS returns the static flow that each injector needs for a power.
//
//	ṁ = P b/(n · duty)
//
// Valid: duty above 0 … 1; else an error is returned.
// Accuracy: that of the consumption, ± 10 %.
// Source: balance of fuel; common practice for the duty, 0.80 … 0.85.
// Errors: power, consumption, count or duty out of range.
func SizeKgPerS(powerW, consumptionKgPerJ float64, injectorCount int, dutyFrac float64) (float64, error) {
	if err := first(notBelow("power", powerW, "W"), notBelow("specific consumption", consumptionKgPerJ, "kg/J"),
		above("injector count", float64(injectorCount), "")); err != nil {
		return 0, err
	}
	if !(dutyFrac > 0 && dutyFrac <= 1) {
		return 0, fmt.Errorf("duty %g is outside 0 … 1", dutyFrac)
	}
	return powerW * consumptionKgPerJ / (float64(injectorCount) * dutyFrac), nil
}

// PulseS returns the pulse that delivers a mass of fuel.
//
//	t = m/ṁ + t₀
//
// where t₀ is the dead time; no fuel takes no pulse.
//
// Valid: m and t₀ ≥ 0, ṁ above 0; else an error is returned.
// Accuracy: 1 % above 2 ms; below about twice the dead time an injector is no longer linear.
// Source: definition of static flow and dead time; common practice.
// Errors: mass or dead time below 0, flow not above 0.
func PulseS(massKg, flowKgPerS, deadS float64) (float64, error) {
	if err := first(notBelow("fuel mass", massKg, "kg"), above("static flow", flowKgPerS, "kg/s"), notBelow("dead time", deadS, "s")); err != nil {
		return 0, err
	}
	if massKg == 0 {
		return 0, nil
	}
	return massKg/flowKgPerS + deadS, nil
}

// DutyFrac returns the share of a four-stroke cycle that an injector is driven.
// More than 1 means that the pulses do not fit.
//
//	D = k t ω/(4π)
//
// where k is the number of pulses in a cycle, 1 when sequential.
//
// Valid: pulse and speed ≥ 0, at least one pulse a cycle; else an error is returned.
// Accuracy: exact.
// Source: definition of the four-stroke cycle.
// Errors: pulse or speed below 0, no pulses.
func DutyFrac(pulseS, speedRadPerS float64, pulsesPerCycleCount int) (float64, error) {
	if err := first(notBelow("pulse", pulseS, "s"), notBelow("engine speed", speedRadPerS, "rad/s"),
		above("pulses per cycle", float64(pulsesPerCycleCount), "")); err != nil {
		return 0, err
	}
	return float64(pulsesPerCycleCount) * pulseS * speedRadPerS / (4 * math.Pi), nil
}
