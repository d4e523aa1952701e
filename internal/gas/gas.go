// Package gas computes air: the standard atmosphere, dry and moist density,
// compressible flow through an orifice, and the ideal cycle's efficiency.
//
// Conventions: absolute pressures in Pa, temperatures in K, angles in rad,
// humidity as a fraction of saturation. Altitudes are geopotential. Start
// reading at [OrificeKgPerS].
package gas

import (
	"fmt"
	"math"
)

// Constants of dry air.
const (
	// AirJPerKgK is the specific gas constant of dry air (ISO 2533:1975).
	AirJPerKgK = 287.05287
	// AirHeatRatio is the ratio of specific heats of cool air (ISO 2533:1975).
	AirHeatRatio = 1.4
	// StandardPa is the pressure at sea level in the standard atmosphere (ISO 2533:1975).
	StandardPa = 101325.0
	// StandardK is the temperature at sea level in the standard atmosphere (ISO 2533:1975).
	StandardK = 288.15

	lapseKPerM  = 0.0065
	gravityMPS2 = 9.80665
	lowestM     = -2000.0
	highestM    = 11000.0
)

func within(quantity string, v, low, high float64, unit string) error {
	if v >= low && v <= high {
		return nil
	}
	return fmt.Errorf("%s %g %s is outside %g … %g %s", quantity, v, unit, low, high, unit)
}

func positive(quantity string, v float64, unit string) error {
	if v > 0 && !math.IsInf(v, 1) {
		return nil
	}
	return fmt.Errorf("%s %g %s is not above 0 %s", quantity, v, unit, unit)
}

// AtmosphereK returns the air temperature of the standard atmosphere at an altitude.
//
//	T = 288.15 K − 0.0065 K/m · H
//
// Valid: −2000 … 11000 m geopotential; outside an error is returned.
// Accuracy: exact for the standard atmosphere; a real day is off by up to 40 K.
// Source: ISO 2533:1975, clause 2 and table 4.
// Errors: altitude out of range.
func AtmosphereK(altitudeM float64) (float64, error) {
	if err := within("altitude", altitudeM, lowestM, highestM, "m"); err != nil {
		return 0, err
	}
	return StandardK - lapseKPerM*altitudeM, nil
}

// AtmospherePa returns the air pressure of the standard atmosphere at an altitude.
//
//	p = 101325 Pa · (T/288.15 K)^(g/(R·0.0065 K/m))
//
// where T is AtmosphereK, g = 9.80665 m/s² and R = 287.05287 J/(kg·K); the exponent is 5.25588.
//
// Valid: −2000 … 11000 m geopotential; outside an error is returned.
// Accuracy: exact for the standard atmosphere; weather moves it by ± 3 %.
// Source: ISO 2533:1975, clause 2.
// Errors: altitude out of range.
func AtmospherePa(altitudeM float64) (float64, error) {
	t, err := AtmosphereK(altitudeM)
	if err != nil {
		return 0, err
	}
	return StandardPa * math.Pow(t/StandardK, gravityMPS2/(AirJPerKgK*lapseKPerM)), nil
}

// AirKgPerM3 returns the density of dry air as an ideal gas.
//
//	ρ = p/(R T)
//
// where R = 287.05287 J/(kg·K).
//
// Valid: 0 < p ≤ 1 MPa, 200 … 1500 K; outside an error is returned.
// Accuracy: 0.1 % against the real gas below 0.3 MPa and above 250 K.
// Source: ISO 2533:1975, clause 2.
// Errors: pressure or temperature out of range.
func AirKgPerM3(pressurePa, tempK float64) (float64, error) {
	if err := within("pressure", pressurePa, math.SmallestNonzeroFloat64, 1e6, "Pa"); err != nil {
		return 0, err
	}
	if err := within("temperature", tempK, 200, 1500, "K"); err != nil {
		return 0, err
	}
	return pressurePa / (AirJPerKgK * tempK), nil
}

// OttoFrac returns the efficiency of the ideal constant-volume cycle of a gas
// with constant specific heats.
//
//	η = 1 − r^(1−γ)
//
// Valid: r 1 … 30, γ 1.1 … 1.67; outside an error is returned.
// Accuracy: exact for the ideal cycle.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 5.31 (from memory).
// Errors: compression ratio or heat ratio out of range.
func OttoFrac(compressionRatio, heatRatio float64) (float64, error) {
	if err := within("compression ratio", compressionRatio, 1, 30, ""); err != nil {
		return 0, err
	}
	if err := within("ratio of specific heats", heatRatio, 1.1, 1.67, ""); err != nil {
		return 0, err
	}
	return 1 - math.Pow(compressionRatio, 1-heatRatio), nil
}
