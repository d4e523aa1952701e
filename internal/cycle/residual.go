package cycle

import "math"

// ResidualFrac returns the burned gas left in the charge by a correlation of
// measured engines, to hold the cycle's own against.
//
//	x = 1.266 (OF/N) (p_i/p_e)^(−0.87) √|p_e − p_i| + 0.632 φ (p_i/p_e)^(−0.74)/r
//
// where N is in rev/s, pressures in bar, φ = 1/λ and OF the overlap factor taken in °/m.
//
// Valid: 10 … 120 rev/s, p_i 0.2 … 1.1 bar and at most p_e, φ 0.7 … 1.3, r 6 … 15, OF 0 … 0.1 rad/m (5.7 °/m); outside an error is returned.
// Accuracy: 10 % of the fraction on the engines it was made from; its overlap factor's units are not certain.
// Source: Fox, Cheng, Heywood, SAE 931025, 1993 (from memory).
// Errors: a value out of range.
func ResidualFrac(speedRadPerS, intakePa, exhaustPa, lambdaRatio, compressionRatio, overlapRadPerM float64) (float64, error) {
	n := speedRadPerS / (2 * math.Pi)
	if err := first([]span{
		{"speed", "rev/s", n, 10, 120},
		{"exhaust pressure", "Pa", exhaustPa, 50e3, 300e3},
		{"intake pressure", "Pa", intakePa, 20e3, exhaustPa},
		{"lambda", "", lambdaRatio, 1 / 1.3, 1 / 0.7},
		{"compression ratio", "", compressionRatio, 6, 15},
		{"overlap factor", "rad/m", overlapRadPerM, 0, 0.1},
	}); err != nil {
		return 0, err
	}
	pr := intakePa / exhaustPa
	return 1.266*overlapRadPerM*(180/math.Pi)/n*math.Pow(pr, -0.87)*math.Sqrt((exhaustPa-intakePa)/1e5) + 0.632/lambdaRatio*math.Pow(pr, -0.74)/compressionRatio, nil
}

// OverlapRadPerM returns the overlap factor of ResidualFrac, crank angle per length.
//
//	OF = (1.45/B) (107 + 7.8 δ + δ²) L D/B²
//
// where δ is the overlap in ° between 0.15 mm lifts, B in mm in the first factor, other lengths in m; in ° per metre, handed back in rad per metre.
//
// Valid: overlap −20 … 80°, lengths above 0; outside an error is returned.
// Accuracy: as ResidualFrac.
// Source: Fox, Cheng, Heywood, SAE 931025, 1993 (from memory).
// Errors: a value out of range.
func OverlapRadPerM(overlapRad, boreM, valveM, liftM float64) (float64, error) {
	if err := first([]span{
		{"valve overlap", "rad", overlapRad, -0.35, 1.4},
		{"bore", "m", boreM, 0.05, 0.15},
		{"valve diameter", "m", valveM, 0.01, 0.1},
		{"valve lift", "m", liftM, 0.002, 0.03},
	}); err != nil {
		return 0, err
	}
	d := overlapRad * 180 / math.Pi
	return math.Pi / 180 * 1.45 / (1e3 * boreM) * (107 + 7.8*d + d*d) * liftM * valveM / (boreM * boreM), nil
}
