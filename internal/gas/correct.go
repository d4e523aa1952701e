package gas

import "math"

// J1349Ratio returns the factor that corrects the power measured on a day to
// 99 kPa of dry air at 25 °C.
//
//	CF = 1.180 · (99 kPa/p_d) · √(T/298 K) − 0.18
//
// where p_d is the pressure of the dry air and T is t + 273 K, as the standard rounds it.
//
// Valid: 80 … 110 kPa dry, −10 … 50 °C, naturally aspirated spark ignition at full load; outside an error is returned.
// Accuracy: 1 % of power within ± 5 kPa and ± 15 K of the reference.
// Source: SAE J1349 (formula read in secondary literature).
// Errors: pressure or temperature out of range.
func J1349Ratio(dryPa, tempK float64) (float64, error) {
	if err := within("dry air pressure", dryPa, 80e3, 110e3, "Pa"); err != nil {
		return 0, err
	}
	if err := within("temperature", tempK, 263.15, 323.15, "K"); err != nil {
		return 0, err
	}
	return 1.180*(99e3/dryPa)*math.Sqrt((tempK-0.15)/298) - 0.18, nil
}

// ISO1585Ratio returns the factor that corrects the power of a naturally
// aspirated spark-ignition engine to 99 kPa of dry air at 25 °C.
//
//	α = (99 kPa/p_s)^1.2 · (T/298 K)^0.6
//
// where T is t + 273 K, as the standard rounds it.
//
// Valid: factor 0.93 … 1.07 as the standard asks; outside it the factor is still returned for 80 … 110 kPa and −10 … 50 °C, beyond these an error.
// Accuracy: 1 % of power within the standard's range.
// Source: ISO 1585, UN Regulation 85 annex 5 (from memory).
// Errors: pressure or temperature out of range.
func ISO1585Ratio(dryPa, tempK float64) (float64, error) {
	if err := within("dry air pressure", dryPa, 80e3, 110e3, "Pa"); err != nil {
		return 0, err
	}
	if err := within("temperature", tempK, 263.15, 323.15, "K"); err != nil {
		return 0, err
	}
	return math.Pow(99e3/dryPa, 1.2) * math.Pow((tempK-0.15)/298, 0.6), nil
}
