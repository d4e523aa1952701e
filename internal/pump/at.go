package pump

import "math"

// At returns the flow and current of the pump at a voltage and pressure rise.
//
//	V = I R + k q
//	k I = p + p₀ + c q²
//	Q = q − g p
//
// where q is the flow without slip, R the winding, k the motor constant per
// flow, p₀ dry friction, c the losses that grow with speed and g the slip. Where
// Q would turn negative the check valve closes: Q is 0 and the pump turns against
// the lower pressure q/g. Where the voltage can't overcome dry friction, I = V/R.
//
// Valid: 0 … 1.3 times the rated voltage and 0 … 2 times the rated pressure, steady, liquid without bubbles; beyond it extrapolates. Voltage below 0 counts as 0, pressure below 0 as 0.
// Accuracy: ± 4 % of the rated flow and current from 0.75 of the rated voltage on when fitted to two points, ± 10 % when its shares are assumed.
// Source: permanent-magnet motor and pump with slip; Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, section 14-2; constants from the pump's own points.
// Errors: none.
func (m Model) At(voltageV, pressurePa float64) (flowM3PerS, currentA float64) {
	r := m.regime(voltageV, pressurePa)
	return r.flow, r.amps
}

// regime is the working point with its slopes against voltage.
type regime struct {
	flow, amps              float64
	flowPerVolt, ampPerVolt float64
}

func (m Model) regime(volts, pa float64) regime {
	volts, pa = math.Max(0, volts), math.Max(0, pa)
	if m.k == 0 {
		return regime{}
	}
	bend := m.swirl * m.ohm / m.k
	if q := root(bend, m.k, (pa+m.dry)*m.ohm/m.k-volts); q >= m.leak*pa && q > 0 {
		dq := 1 / (2*bend*q + m.k)
		return regime{q - m.leak*pa, (pa + m.dry + m.swirl*q*q) / m.k, dq, 2 * m.swirl * q * dq / m.k}
	}
	return m.shut(volts, bend)
}

// shut is the pump with its check valve closed.
func (m Model) shut(volts, bend float64) regime {
	inner := root(bend*m.leak*m.leak, m.k*m.leak+m.ohm/m.k, m.dry*m.ohm/m.k-volts)
	if inner <= 0 {
		return regime{0, volts / m.ohm, 0, 1 / m.ohm}
	}
	q := m.leak * inner
	dInner := 1 / (2*bend*m.leak*q + m.k*m.leak + m.ohm/m.k)
	return regime{0, (inner + m.dry + m.swirl*q*q) / m.k, 0, (1 + 2*m.swirl*q*m.leak) * dInner / m.k}
}

// root is the positive root of a x² + b x + c for a ≥ 0, b > 0; 0 when c ≥ 0.
func root(a, b, c float64) float64 {
	if c >= 0 {
		return 0
	}
	return -2 * c / (b + math.Sqrt(b*b-4*a*c))
}

// CurrentSlopeAPerV returns how the current changes with voltage at a pressure rise.
//
//	dI/dV = 2 c q/k · 1/(2 c q R/k + k)
//
// with the symbols of At, and 1/R where the pump does not turn. A pump whose
// losses don't grow with speed takes the same current at any voltage.
//
// Valid: as At.
// Accuracy: exact for the model; ± 50 % when its shares are assumed.
// Source: derivative of At.
// Errors: none.
func (m Model) CurrentSlopeAPerV(voltageV, pressurePa float64) float64 {
	return m.regime(voltageV, pressurePa).ampPerVolt
}

// FlowSlopeM3PerSPerV returns how the flow changes with voltage at a pressure rise.
//
//	dQ/dV = 1/(2 c q R/k + k)
//
// with the symbols of At, and 0 where the check valve is closed.
//
// Valid: as At.
// Accuracy: exact for the model; ± 15 % when its shares are assumed.
// Source: derivative of At.
// Errors: none.
func (m Model) FlowSlopeM3PerSPerV(voltageV, pressurePa float64) float64 {
	return m.regime(voltageV, pressurePa).flowPerVolt
}

// NeedV returns the voltage at which the pump gives a flow at a pressure rise.
//
//	V = R/k (p + p₀ + c q²) + k q,   q = Q + g p
//
// with the symbols of At.
//
// Valid: flow and pressure ≥ 0; below 0 they count as 0.
// Accuracy: as At.
// Source: At turned round.
// Errors: none.
func (m Model) NeedV(flowM3PerS, pressurePa float64) float64 {
	p := math.Max(0, pressurePa)
	q := math.Max(0, flowM3PerS) + m.leak*p
	return m.ohm/m.k*(p+m.dry+m.swirl*q*q) + m.k*q
}

// StallPa returns the highest pressure that the pump holds at a voltage, with
// no flow leaving it.
//
//	(c g² R/k) p² + (k g + R/k) p + p₀ R/k − V = 0
//
// with the symbols of At; 0 where the pump does not turn.
//
// Valid: 0 … 1.3 times the rated voltage; a relief valve in the pump opens earlier.
// Accuracy: ± 25 %, an extrapolation from the rated point.
// Source: At with Q = 0.
// Errors: none.
func (m Model) StallPa(voltageV float64) float64 {
	if m.k == 0 {
		return 0
	}
	return root(m.swirl*m.ohm/m.k*m.leak*m.leak, m.k*m.leak+m.ohm/m.k, m.dry*m.ohm/m.k-voltageV)
}
