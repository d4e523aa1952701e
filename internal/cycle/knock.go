package cycle

import "math"

// DelayS returns how long petrol and air stand before they ignite by themselves.
//
//	τ = 17.68 ms (ON/100)^3.402 (p/1 atm)^(−1.7) exp(3800 K/T)
//
// Valid: octane 60 … 120, 0.5 … 200 atm, 400 … 1300 K; outside an error is returned.
// Accuracy: a factor of 1.5 between engines and fuels; 3° of spark advance at the limit.
// Source: Douaud, Eyzat, SAE 780080, 1978; constants as in Heywood, 1st ed. 1988, equation 9.35 (from memory).
// Errors: a value out of range.
func DelayS(octaneCount, pressurePa, unburnedK float64) (float64, error) {
	if err := first([]span{
		{"octane number", "", octaneCount, 60, 120}, {"pressure", "Pa", pressurePa, 5e4, 2.03e7}, {"unburned temperature", "K", unburnedK, 400, 1300},
	}); err != nil {
		return 0, err
	}
	return octaneDelay(octaneCount) / delayRate(pressurePa, unburnedK), nil
}

// octaneDelay and delayRate are the two factors of the delay, s.
func octaneDelay(octane float64) float64 { return 17.68e-3 * math.Pow(octane/100, 3.402) }

func delayRate(pa, t float64) float64 {
	x := (t - readyFrom) * (1 / readyStep)
	if x < 0 || x >= readyNodes {
		return power17.of(pa/101325) * math.Exp(-3800/t)
	}
	i := int(x)
	return power17.of(pa/101325) * (readyAt[i] + (readyAt[i+1]-readyAt[i])*(x-float64(i)))
}

// exp(−3800 K/T), linear between nodes within 1e−4.
const (
	readyFrom, readyStep = 400.0, 4.0
	readyNodes           = 225
)

var readyAt = func() (t [readyNodes + 1]float64) {
	for i := range t {
		t[i] = math.Exp(-3800 / (readyFrom + readyStep*float64(i)))
	}
	return t
}()

// audibleFrac is the burned fraction after which what end gas is left makes no
// knock that matters (common practice).
const audibleFrac = 0.9
