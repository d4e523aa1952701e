package battery

import (
	"fmt"
	"math"
)

// The parts of a cranking resistance, as shares of the one that is approached.
const (
	atOnceFrac = 0.72 // plates, acid, links: there with the current
	fastFrac   = 0.13 // charge transfer behind the double layer
	slowFrac   = 0.15 // acid used up at the plates
	fastS      = 0.05
	slowS      = 12.0
	ratedS     = 30.0 // where [InternalOhm] stands
)

// Parts is a battery's resistance as a circuit: a resistor, and two more that
// each have a capacitor across them.
type Parts struct {
	AtOnceOhm, FastOhm, FastS, SlowOhm, SlowS float64
}

// Split parts a cranking resistance into what is there at once and what comes
// within a twentieth of a second and within seconds. After 30 s the parts give
// the whole again.
func Split(thirtySecondsOhm float64) Parts {
	whole := thirtySecondsOhm / (atOnceFrac + fastFrac - slowFrac*math.Expm1(-ratedS/slowS))
	return Parts{AtOnceOhm: whole * atOnceFrac, FastOhm: whole * fastFrac, FastS: fastS, SlowOhm: whole * slowFrac, SlowS: slowS}
}

// AfterOhm returns the resistance that a steady current sees in a battery a time after it began.
//
//	R(t) = R₀ + R₁·(1 − exp(−t/τ₁)) + R₂·(1 − exp(−t/τ₂))
//
// where R₀ : R₁ : R₂ = 72 : 13 : 15, τ₁ = 0.05 s, τ₂ = 12 s, and R(30 s) is the
// resistance of the cold-cranking rating.
//
// Valid: time at least 0, resistance above 0; cranking, 0 … 60 s.
// Accuracy: ± 15 % of the resistance at once: shares and the fast time differ
// between makes and with temperature. The slow share and its time are set so
// that 10 s take 94.6 % of 30 s, see Source.
// Source: form, a sum of exponentials: J. Pszczółkowski, "Description of acid
// battery operating parameters", Energies 14 (2021) 7212. Rise from 10 to 30 s:
// EN 50342-1 rates a battery at 7.5 V after 10 s and SAE J537 at 7.2 V after
// 30 s, both at −18 °C, and makers print the same current for both (from memory).
// Share at once and fast time from memory.
// Errors: none
func AfterOhm(thirtySecondsOhm, timeS float64) float64 {
	p := Split(thirtySecondsOhm)
	return p.AtOnceOhm - p.FastOhm*math.Expm1(-timeS/p.FastS) - p.SlowOhm*math.Expm1(-timeS/p.SlowS)
}

// YearS is a year of 365.25 days.
const YearS = 31_557_600.0

const (
	agePerYear = 0.06
	mostAgeS   = 10 * YearS
)

// AgedFrac returns the share of its rated cranking current and of its capacity that a starter battery has left at an age.
//
//	s = 1 − 0.06·a
//
// where a is the age in years.
//
// Valid: 0 … 10 years; outside an error is returned. A battery that stood flat,
// or lives in heat, is older than its years.
// Accuracy: ± 0.15 at five years.
// Source: from memory: starter batteries are renewed at four to seven years, with
// 60 to 80 % of their rating left.
// Errors: age out of range.
func AgedFrac(ageS float64) (float64, error) {
	if !(ageS >= 0 && ageS <= mostAgeS) {
		return 0, fmt.Errorf("battery age %.4g years out of range 0 … 10 years", ageS/YearS)
	}
	return 1 - agePerYear*ageS/YearS, nil
}
