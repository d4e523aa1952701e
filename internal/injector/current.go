package injector

import (
	"fmt"
	"math"
)

// Coil is the winding of an injector and the current at which it opens.
type Coil struct {
	Ohm     float64
	Henry   float64
	PullInA float64
}

// RiseS returns how long the current of a coil takes to reach a value at a voltage.
//
//	t = −(L/R) ln(1 − i R/V)
//
// Valid: 0 ≤ i < V/R; else an error is returned.
// Accuracy: 5 %; the inductance falls as the needle lifts.
// Source: circuit theory, series resistance and inductance.
// Errors: a value not above 0; a voltage that can't drive the current.
func RiseS(c Coil, currentA, voltageV float64) (float64, error) {
	if err := first(above("coil resistance", c.Ohm, "Ω"), notBelow("coil inductance", c.Henry, "H"), notBelow("current", currentA, "A")); err != nil {
		return 0, err
	}
	if !(currentA*c.Ohm < voltageV) {
		return 0, fmt.Errorf("current %g A needs more than %g V, found %g V", currentA, currentA*c.Ohm, voltageV)
	}
	return -c.Henry / c.Ohm * math.Log1p(-currentA*c.Ohm/voltageV), nil
}

// CurrentA returns the mean supply current of an injector driven by a plain
// switch, over the whole cycle.
//
//	Ī = D V/R · (1 − τ/t (1 − e^(−t/τ)))
//
// where τ = L/R and t is the pulse; the current that the coil pushes on after
// the switch opens flows in the clamp and not from the supply.
//
// Valid: V and pulse ≥ 0, duty 0 … 1, R above 0; else an error is returned. Drivers that limit current draw less.
// Accuracy: 5 % with the coil's own resistance; copper gains 0.39 %/K.
// Source: circuit theory, series resistance and inductance.
// Errors: a value out of range.
func CurrentA(c Coil, voltageV, pulseS, dutyFrac float64) (float64, error) {
	if err := first(above("coil resistance", c.Ohm, "Ω"), notBelow("coil inductance", c.Henry, "H"),
		notBelow("voltage", voltageV, "V"), notBelow("pulse", pulseS, "s")); err != nil {
		return 0, err
	}
	if !(dutyFrac >= 0 && dutyFrac <= 1) {
		return 0, fmt.Errorf("duty %g is outside 0 … 1", dutyFrac)
	}
	if pulseS == 0 || dutyFrac == 0 {
		return 0, nil
	}
	mean := 1.0
	if tau := c.Henry / c.Ohm; tau > 0 {
		mean = 1 + tau/pulseS*math.Expm1(-pulseS/tau)
	}
	return dutyFrac * voltageV / c.Ohm * mean, nil
}
