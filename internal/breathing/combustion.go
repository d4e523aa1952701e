package breathing

import (
	"fmt"
	"math"

	"fettle/internal/gas"
)

// Constants of combustion, friction and heat, general to petrol engines.
const (
	// burnedHeatRatio stands for the burned gas in the ideal cycle.
	burnedHeatRatio = 1.27
	// cycleFrac is the gross indicated efficiency over that of the ideal
	// cycle: losses of time, heat and blowdown (Taylor, vol. 1, ch. 5; from memory).
	cycleFrac = 0.85
	// woschniExponent is that of pressure times velocity in Woschni's law.
	woschniExponent = 0.8
	// coolantFrac is the heat to the coolant over that released, at 15 m/s
	// mean piston speed and 1.16 kg/m³ (Heywood table 12.1: 17 … 26 % at full power).
	coolantFrac = 0.22
	coolantFlow = 15 * 1.16 // kg/(s·m²)
	// coolantExponent is that of mass flux in the heat given to the walls over
	// a whole cycle (Taylor and Toong; from memory).
	coolantExponent = 0.75
	// lostWorkFrac is how much of heat lost in excess would have been work.
	lostWorkFrac = 0.3
	// completeFrac is the share of fuel that burns when there is air enough.
	completeFrac = 0.97
	// exhaustJPerKgK is the mean specific heat of burned gas between intake
	// and exhaust temperature.
	exhaustJPerKgK = 1180.0
	// frictionFrac relates today's engines to those of the correlation.
	frictionFrac = 0.7
)

func within(quantity string, v, low, high float64, unit string) error {
	if v >= low && v <= high {
		return nil
	}
	return fmt.Errorf("%s %g %s is outside %g … %g %s", quantity, v, unit, low, high, unit)
}

// FrictionPa returns the friction mean effective pressure of a warm engine with
// open throttle, gas exchange and own accessories counted in, as measured on
// engines of the 1960s and 70s.
//
//	tfmep = 0.97 bar + 0.15 bar · n + 0.05 bar · n²
//
// where n is the speed in 1000 rpm.
//
// Valid: four-stroke spark-ignition engines of 0.8 … 2 litres, to 7000 rpm; the tables take 0.7 of it for engines of the 1990s on.
// Accuracy: ± 15 %; cold oil doubles it.
// Source: Barnes-Moss, in Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 13.6 (from memory).
// Errors: speed outside 0 … 1500 rad/s.
func FrictionPa(speedRadPerS float64) (float64, error) {
	if err := within("engine speed", speedRadPerS, 0, 1500, "rad/s"); err != nil {
		return 0, err
	}
	n := speedRadPerS * 30 / math.Pi / 1000
	return 1e5 * (0.97 + 0.15*n + 0.05*n*n), nil
}

// LambdaWorkRatio returns the work from a mass of air relative to lambda 1.
//
//	k = 1.04 − 0.04 ((λ − 0.88)/0.12)²      λ ≤ 1
//	k = (1 + 0.3 (λ − 1))/λ                 λ > 1
//
// Valid: lambda 0.7 … 1.3; outside an error is returned.
// Accuracy: 2 % over 0.8 … 1.1.
// Source: shape of Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, figure 15-3 (from memory).
// Errors: lambda out of range.
func LambdaWorkRatio(lambdaRatio float64) (float64, error) {
	if err := within("lambda", lambdaRatio, 0.7, 1.3, ""); err != nil {
		return 0, err
	}
	if lambdaRatio > 1 {
		return (1 + 0.3*(lambdaRatio-1)) / lambdaRatio, nil
	}
	u := (lambdaRatio - 0.88) / 0.12
	return 1.04 - 0.04*u*u, nil
}

// SparkWorkFrac returns the work left when the spark stands off its best.
//
//	k = 1 − 1.3 Δ²                   Δ ≤ 0.5
//	k = 0.675 − 1.3 (Δ − 0.5)        beyond, its tangent
//
// where Δ is the angle from best torque in rad: 4 % lost at 10°, 16 % at 20°.
//
// Valid: 0 … 1 rad off; outside an error is returned.
// Accuracy: a quarter of the loss up to 0.4 rad, half of it beyond.
// Source: parabola about best torque, Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 9.1 (from memory).
// Errors: angle out of range.
func SparkWorkFrac(offRad float64) (float64, error) {
	off := math.Abs(offRad)
	if err := within("spark off its best", off, 0, 1, "rad"); err != nil {
		return 0, err
	}
	if off > 0.5 {
		return 0.675 - 1.3*(off-0.5), nil
	}
	return 1 - 1.3*off*off, nil
}

// BestSparkRad returns the spark advance of best torque.
//
//	θ = Δ₀ (n/2)^0.25 (p/p₀)^(−0.35) √(B/86 mm) − 8°
//
// where Δ₀ = 29° is the turn from spark to half burned at 2000 rpm and p₀ =
// 100 kPa, n the speed in 1000 rpm, B the bore; half burned stands at 8° after
// top dead centre for best torque.
//
// Valid: 20 … 1500 rad/s, 15 … 450 kPa, bore 0.05 … 0.15 m; outside an error is returned.
// Accuracy: 4° at one standard deviation; chamber, swirl and residual gas move it.
// Source: half burned at 8 … 10°, Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 9.1 (from memory); level and exponents common practice.
// Errors: a value out of range.
func BestSparkRad(speedRadPerS, manifoldPa, boreM float64) (float64, error) {
	for _, err := range []error{
		within("engine speed", speedRadPerS, 20, 1500, "rad/s"), within("manifold pressure", manifoldPa, 10e3, 450e3, "Pa"),
		within("bore", boreM, 0.05, 0.15, "m"),
	} {
		if err != nil {
			return 0, err
		}
	}
	n := speedRadPerS * 30 / math.Pi / 2000
	turn := 29 * math.Pow(n, 0.25) * math.Pow(manifoldPa/1e5, -0.35) * math.Sqrt(boreM/0.086)
	return (math.Min(turn, 58) - 8) * math.Pi / 180, nil
}

// SafeSparkRad returns a starting spark advance short of best torque by what
// the sd of the estimate asks and, at load, by what guards against knock.
//
//	θ = θ_best − 3° − L · [1.5° (r − 9) + 0.75° (95 − RON) + 0.2° (T − 310 K) + 4°]₊ − 0.15° (p − 100 kPa)₊/kPa
//	L = (p − 60 kPa)/40 kPa, within 0 … 1
//
// where the last term is that of boost, and not above 45°, nor below 5° after top dead centre.
//
// Valid: as BestSparkRad, r 5 … 20, RON 80 … 115, T 230 … 600 K; outside an error is returned. Engines of r 7 … 15 are behind it, past them its slope goes on.
// Accuracy: a start for the listening; the knock limit of an engine lies within 6° of it.
// Source: common practice; a degree for each psi of boost.
// Errors: a value out of range.
func SafeSparkRad(bestRad, manifoldPa, compressionRatio, octaneCount, chargeK float64) (float64, error) {
	for _, err := range []error{
		within("compression ratio", compressionRatio, 5, 20, ""), within("octane number", octaneCount, 80, 115, ""),
		within("charge temperature", chargeK, 230, 600, "K"), within("manifold pressure", manifoldPa, 10e3, 450e3, "Pa"),
		within("best spark advance", bestRad, -0.5, 1.2, "rad"),
	} {
		if err != nil {
			return 0, err
		}
	}
	load := math.Max(0, math.Min(1, (manifoldPa-60e3)/40e3))
	guard := math.Max(0, 1.5*(compressionRatio-9)+0.75*(95-octaneCount)+0.2*(chargeK-310)+4)
	deg := bestRad*180/math.Pi - 3 - load*guard - 0.15*math.Max(0, manifoldPa-100e3)/1e3
	return math.Max(-5, math.Min(45, deg)) * math.Pi / 180, nil
}

// CoolantShareFrac returns the heat to the coolant over the heat released.
//
//	q/(1 − q) = 0.22/0.78 · (η_v ρ_m S̄ₚ/17.4 kg/(s·m²))^(0.75−1)
//
// the transfer rising with the 0.75th power of the mass flux, the heat released
// with the first, and what is given away no longer there to be given.
//
// Valid: mass flux 0.01 … 100 kg/(s·m²); outside an error is returned.
// Accuracy: a fifth of the share.
// Source: exponent after Taylor and Toong, level after Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 12.4 and table 12.1 (from memory).
// Errors: mass flux out of range.
func CoolantShareFrac(fluxKgPerM2PerS float64) (float64, error) {
	if err := within("mass flux", fluxKgPerM2PerS, 0.01, 100, "kg/(s·m²)"); err != nil {
		return 0, err
	}
	odds := coolantFrac / (1 - coolantFrac) * math.Pow(fluxKgPerM2PerS/coolantFlow, coolantExponent-1)
	return odds / (1 + odds), nil
}

// IndicatedFrac returns the gross indicated efficiency at lambda 1 and best spark.
//
//	η = 0.85 (1 − r^(1−1.27)) − 0.3 (q − 0.22)
//
// where q is CoolantShareFrac.
//
// Valid: r 5 … 20, q 0 … 0.7; outside an error is returned.
// Accuracy: 4 % of the efficiency at one standard deviation.
// Source: Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1, ch. 5: 0.85 of the fuel–air cycle (from memory).
// Errors: a value out of range.
func IndicatedFrac(compressionRatio, coolantShareFrac float64) (float64, error) {
	if err := within("share of heat to the coolant", coolantShareFrac, 0, 0.7, ""); err != nil {
		return 0, err
	}
	otto, err := gas.OttoFrac(compressionRatio, burnedHeatRatio)
	return cycleFrac*otto - lostWorkFrac*(coolantShareFrac-coolantFrac), err
}
