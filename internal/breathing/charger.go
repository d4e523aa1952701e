package breathing

import "math"

// ChargedK returns the temperature of the charge in the manifold when a charger
// presses it together and a cooler takes heat out of it again.
//
//	T = T₁ + (1 − ε) · T₁ ((p/p_a)^((κ−1)/κ) − 1)/η_c
//
// where T₁ is the air before the charger, η_c the charger's isentropic
// efficiency, ε the cooler's effectiveness towards T₁ and κ = 1.4; at or below
// the ambient pressure, and without a charger (η_c 0), T = T₁.
//
// Valid: pressure ratio 0 … 4, T₁ 230 … 400 K, η_c 0.3 … 0.9, ε 0 … 1; outside an error is returned.
// Accuracy: 8 K by 0.05 of η_c at 0.8 bar of boost without a cooler.
// Source: isentropic compression of an ideal gas; Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 6.42.
// Errors: a value out of range.
func ChargedK(beforeK, pressureRatio, compressorFrac, coolerFrac float64) (float64, error) {
	for _, err := range []error{
		within("temperature before the charger", beforeK, 230, 400, "K"), within("pressure ratio of the charger", pressureRatio, 0, 4.5, ""),
		within("effectiveness of the charge cooler", coolerFrac, 0, 1, ""),
	} {
		if err != nil {
			return 0, err
		}
	}
	if compressorFrac == 0 || pressureRatio <= 1 {
		return beforeK, nil
	}
	if err := within("efficiency of the charger", compressorFrac, 0.3, 0.9, ""); err != nil {
		return 0, err
	}
	rise := beforeK * (math.Pow(pressureRatio, 0.4/1.4) - 1) / compressorFrac
	return beforeK + (1-coolerFrac)*rise, nil
}

// chargeK is the temperature in the manifold at a pressure; Check has seen to it
// that there is one.
func (in *Input) chargeK(manifoldPa float64) float64 {
	kelvin, err := ChargedK(in.ChargeK, manifoldPa/in.AmbientPa, in.CompressorFrac, in.CoolerFrac)
	if err != nil {
		return in.ChargeK
	}
	return kelvin
}

// turbinePa is what a turbine holds back in the exhaust manifold to press the
// charge to a pressure; the wastegate lets the rest by.
func (in *Input) turbinePa(manifoldPa float64) float64 {
	return in.TurbineRatio * math.Max(0, manifoldPa-in.AmbientPa)
}

// ChargerW returns the power that a charger takes from the crankshaft through
// its belt.
//
//	P = ṁ c_p T₁ ((p/p_a)^((κ−1)/κ) − 1)/(η_c η_b)
//
// where c_p = 1005 J/(kg·K), κ = 1.4, η_c is the charger's isentropic efficiency
// and η_b that of belt and gears; at or below the ambient pressure, where its
// bypass is open, 0.
//
// Valid: pressure ratio 0 … 4.5, T₁ 230 … 400 K, η_c 0.3 … 0.9, η_b 0.5 … 1; outside an error is returned.
// Accuracy: that of the efficiencies, a tenth.
// Source: isentropic compression of an ideal gas; Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 6.42.
// Errors: a value out of range.
func ChargerW(airKgPerS, beforeK, pressureRatio, compressorFrac, beltFrac float64) (float64, error) {
	for _, err := range []error{
		within("air of the charger", airKgPerS, 0, 10, "kg/s"), within("temperature before the charger", beforeK, 230, 400, "K"),
		within("pressure ratio of the charger", pressureRatio, 0, 4.5, ""), within("efficiency of the charger", compressorFrac, 0.3, 0.9, ""),
		within("efficiency of the charger's drive", beltFrac, 0.5, 1, ""),
	} {
		if err != nil {
			return 0, err
		}
	}
	if pressureRatio <= 1 {
		return 0, nil
	}
	return airKgPerS * 1005 * beforeK * (math.Pow(pressureRatio, 0.4/1.4) - 1) / (compressorFrac * beltFrac), nil
}

// ChargerNm is the torque that it takes at a speed and manifold pressure; 0 where
// no belt turns one.
//
//	M = P/ω
//
// Valid: as ChargerW.
// Accuracy: as ChargerW.
// Source: definition.
// Errors: as ChargerW.
func (in *Input) ChargerNm(airKgPerS, speedRadPerS, manifoldPa float64) (float64, error) {
	if in.BeltFrac == 0 {
		return 0, nil
	}
	w, err := ChargerW(airKgPerS, in.ChargeK, manifoldPa/in.AmbientPa, in.CompressorFrac, in.BeltFrac)
	return w / speedRadPerS, err
}
