package starter

import (
	"fmt"
	"math"

	"fettle/internal/figure"
)

const gearFrac = 0.90 // pinion to ring gear: common practice, 0.85 … 0.95

// Crank returns the crankshaft speed at which a starter's torque balances the engine's, and the current it draws.
//
//	i·η·M(I(U, i·ω)) = M_load(ω)
//
// where i is ring gear over pinion, η = 0.90 the mesh's efficiency and M, I
// those of [Motor].
//
// Valid: a motor that passes its Check, source above 0 V, source resistance at
// least 0, gear ratio 5 … 25, a load that does not fall faster with speed than
// the starter's torque. An engine that does not turn has speed 0, the stalled
// current, and a [figure.Ended] that says so.
// Accuracy: ± 10 % of the speed beside that of the load. Mean torque only: the
// speed dips at each compression.
// Source: balance of torques; mesh efficiency common practice.
// Errors: none; an argument out of range is told in the [figure.Ended].
func Crank(m Motor, sourceV, sourceOhm, gearRatio float64, loadTorqueNm func(speedRadPerS float64) float64) (speedRadPerS, currentA float64, ended figure.Ended) {
	if err := m.Check(); err != nil {
		return 0, 0, figure.Ended{Why: err.Error()}
	}
	if !(sourceV > 0) || !(sourceOhm >= 0) || !(gearRatio >= 5 && gearRatio <= 25) {
		return 0, 0, figure.Ended{Why: fmt.Sprintf("cranking source %.4g V must be above 0, its resistance %.4g Ω at least 0, gear ratio %.4g within 5 … 25",
			sourceV, sourceOhm, gearRatio)}
	}
	over := func(w float64) float64 {
		return gearRatio*gearFrac*m.TorqueNm(m.CurrentA(sourceV, sourceOhm, w*gearRatio)) - loadTorqueNm(w)
	}
	lo, hi := 0.0, 1.0
	if f := over(0); !(f > 0) {
		return 0, m.StallA(sourceV, sourceOhm), figure.Ended{
			Steps: 1, Residual: -f / math.Max(loadTorqueNm(0), 1e-9),
			Why: fmt.Sprintf("the starter cannot turn the engine: it lacks %.3g N·m", -f),
		}
	}
	steps := 1
	for ; over(hi) > 0; steps++ {
		if lo, hi = hi, hi*2; hi > 4096 {
			return 0, 0, figure.Ended{Steps: steps, Residual: 1, Why: "the engine asks for less torque than the starter gives at any speed"}
		}
	}
	for ; hi-lo > 1e-10*hi && steps < 200; steps++ {
		if mid := (lo + hi) / 2; over(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	w := (lo + hi) / 2
	res := math.Abs(over(w)) / math.Max(loadTorqueNm(w), 1e-9)
	e := figure.Ended{OK: res < 1e-6, Steps: steps, Residual: res}
	if !e.OK {
		e.Why = "the torque balance did not settle"
	}
	return w, m.CurrentA(sourceV, sourceOhm, w*gearRatio), e
}

// LoadNm returns the mean torque that cranking an engine takes at its crankshaft.
//
//	M = (p₀ + b·μ·ω)·V_d/(4π)
//
// where V_d is the displacement, μ the oil's viscosity, p₀ = 1.55 bar what
// compression, rings and valve gear take, and b = 9000 what the oil films take.
//
// Valid: four-stroke petrol engines of 0.5 … 8 L, oil 0.005 … 10 Pa·s, speed
// 0 … 60 rad/s; the caller checks these once.
// Accuracy: ± 30 %, from engine to engine. With 5W-30 it gives 12 N·m per litre
// hot, 15 at 20 °C and 46 at −20 °C.
// Source: form after Petroff's law of the full oil film; both constants drawn
// from the cranking currents that the 1998 service manual of a 1.9 L engine
// prints for four temperatures, with a typical 1.4 kW starter.
// Errors: none
func LoadNm(displacementM3, viscosityPaS, speedRadPerS float64) float64 {
	return (1.55e5 + 9000*viscosityPaS*speedRadPerS) * displacementM3 / (4 * math.Pi)
}

// Oil is an engine oil's viscosity against temperature.
type Oil struct{ a, b, densityKgPerM3 float64 }

// NewOil makes an oil of its kinematic viscosities at 40 and 100 °C and its
// density at 15 °C, as its data sheet prints them.
//
// Valid: viscosity 2 … 2000 mm²/s falling from 40 to 100 °C, density
// 700 … 1000 kg/m³; outside an error is returned.
func NewOil(nu40M2PerS, nu100M2PerS, densityKgPerM3 float64) (Oil, error) {
	if !(nu100M2PerS >= 2e-6 && nu100M2PerS < nu40M2PerS && nu40M2PerS <= 2e-3) {
		return Oil{}, fmt.Errorf("oil viscosity %.4g mm²/s at 40 °C and %.4g mm²/s at 100 °C out of range, must fall within 2000 … 2 mm²/s",
			nu40M2PerS*1e6, nu100M2PerS*1e6)
	}
	if !(densityKgPerM3 >= 700 && densityKgPerM3 <= 1000) {
		return Oil{}, fmt.Errorf("oil density %.4g kg/m³ out of range 700 … 1000 kg/m³", densityKgPerM3)
	}
	w := func(nu float64) float64 { return math.Log10(math.Log10(nu*1e6 + 0.7)) }
	t40, t100 := math.Log10(313.15), math.Log10(373.15)
	o := Oil{b: (w(nu40M2PerS) - w(nu100M2PerS)) / (t100 - t40), densityKgPerM3: densityKgPerM3}
	o.a = w(nu40M2PerS) + o.b*t40
	return o, nil
}

// ViscosityPaS returns the dynamic viscosity of an engine oil at a temperature.
//
//	log₁₀ log₁₀(ν + 0.7) = A − B·log₁₀ T,  μ = ν·ρ₁₅·(1 − 0.0007 (T − 288.15))
//
// where ν is in mm²/s and A and B come from the values at 40 and 100 °C.
//
// Valid: −30 … 150 °C; outside an error is returned.
// Accuracy: exact at 40 and 100 °C, 5 % between; below 0 °C within a factor
// of 1.5, where multigrade oils thicken by their wax and thin by shear.
// Source: ASTM D341 (Ubbelohde–Walther); thermal expansion 0.0007 /K common practice.
// Errors: temperature out of range; an oil not made by [NewOil].
func (o Oil) ViscosityPaS(tempK float64) (float64, error) {
	if !(tempK >= 243.149 && // a millikelvin for the rounding of a sum in °C
		tempK <= 423.15) {
		return 0, fmt.Errorf("oil temperature %.4g °C out of range -30 … 150 °C", tempK-273.15)
	}
	if o.b == 0 {
		return 0, fmt.Errorf("oil viscosity unknown: its values at 40 and 100 °C are missing")
	}
	nu := math.Pow(10, math.Pow(10, o.a-o.b*math.Log10(tempK))) - 0.7
	return nu * 1e-6 * o.densityKgPerM3 * (1 - 0.0007*(tempK-288.15)), nil
}
