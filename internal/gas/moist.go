package gas

import "math"

// Range of the moist-air functions: what an engine's intake meets.
const (
	coldestMoistK = 243.15
	hottestMoistK = 343.15
)

// SaturationPa returns the saturation vapour pressure of water over liquid.
//
//	pₛᵥ = 1 Pa · exp(A T² + B T + C + D/T)
//
// where A = 1.2378847e−5 /K², B = −1.9121316e−2 /K, C = 33.93711047, D = −6343.1645 K.
//
// Valid: −30 … 70 °C (supercooled water below 0 °C); outside an error is returned.
// Accuracy: 0.01 % over 0 … 27 °C; 0.2 % over the range.
// Source: Picard, Davis, Gläser, Fujii, Metrologia 45 (2008) 149, appendix A.1.1, DOI 10.1088/0026-1394/45/2/004.
// Errors: temperature out of range.
func SaturationPa(tempK float64) (float64, error) {
	if err := within("temperature", tempK, coldestMoistK, hottestMoistK, "K"); err != nil {
		return 0, err
	}
	return math.Exp(1.2378847e-5*tempK*tempK - 1.9121316e-2*tempK + 33.93711047 - 6343.1645/tempK), nil
}

// VapourFrac returns the mole fraction of water vapour in air of a relative humidity.
//
//	xᵥ = h · f · pₛᵥ/p
//	f = 1.00062 + 3.14e−8 p + 5.6e−7 t²
//
// where f is the enhancement factor, p in Pa and t in °C.
//
// Valid: 50 … 400 kPa, −30 … 70 °C, humidity 0 … 1; outside an error is returned.
// Accuracy: 0.1 % of the fraction.
// Source: Picard, Davis, Gläser, Fujii, Metrologia 45 (2008) 149, appendix A.1.2.
// Errors: pressure, temperature or humidity out of range.
func VapourFrac(pressurePa, tempK, humidityFrac float64) (float64, error) {
	if err := within("pressure", pressurePa, 50e3, 400e3, "Pa"); err != nil {
		return 0, err
	}
	if err := within("relative humidity", humidityFrac, 0, 1, ""); err != nil {
		return 0, err
	}
	sat, err := SaturationPa(tempK)
	if err != nil {
		return 0, err
	}
	t := tempK - 273.15
	return humidityFrac * (1.00062 + 3.14e-8*pressurePa + 5.6e-7*t*t) * sat / pressurePa, nil
}

// MoistAirKgPerM3 returns the density of moist air with 400 ppm of carbon dioxide.
//
//	ρ = 3.483740e−3 kg·K/J · p/(Z T) · (1 − 0.3780 xᵥ)
//	Z = 1 − p/T [a₀ + a₁t + a₂t² + (b₀ + b₁t) xᵥ + (c₀ + c₁t) xᵥ²] + p²/T² (d + e xᵥ²)
//
// where t is in °C, xᵥ is VapourFrac, a₀ = 1.58123e−6, a₁ = −2.9331e−8, a₂ = 1.1043e−10,
// b₀ = 5.707e−6, b₁ = −2.051e−8, c₀ = 1.9898e−4, c₁ = −2.376e−6, d = 1.83e−11, e = −0.765e−8.
//
// Valid: 50 … 400 kPa, −30 … 70 °C, humidity 0 … 1; outside an error is returned.
// Accuracy: 22 ppm over 60 … 110 kPa and 15 … 27 °C as the source states; elsewhere 0.1 %, since Z differs from 1 by less than that.
// Source: Picard, Davis, Gläser, Fujii, Metrologia 45 (2008) 149, equations 1 and A1.4.
// Errors: pressure, temperature or humidity out of range.
func MoistAirKgPerM3(pressurePa, tempK, humidityFrac float64) (float64, error) {
	xv, err := VapourFrac(pressurePa, tempK, humidityFrac)
	if err != nil {
		return 0, err
	}
	t := tempK - 273.15
	q := pressurePa / tempK
	z := 1 - q*(1.58123e-6-2.9331e-8*t+1.1043e-10*t*t+(5.707e-6-2.051e-8*t)*xv+(1.9898e-4-2.376e-6*t)*xv*xv) +
		q*q*(1.83e-11-0.765e-8*xv*xv)
	return 3.483740e-3 * q / z * (1 - 0.3780*xv), nil
}
