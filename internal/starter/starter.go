// Package starter computes cranking: the starter motor's current and torque,
// the torque an engine asks for while cranked, the viscosity of its oil, and
// the speed at which the two balance.
//
// Conventions: motor values are at its pinion, inner reduction gear included;
// engine values at the crankshaft; torque against rotation is positive as a
// load. Start reading at [Motor], then [Crank].
package starter

import (
	"fmt"
	"math"
)

// Motor is a direct-current starter motor. With SaturationA 0 its flux is that
// of permanent magnets; else that of a series field, which rises with current
// and is half of FluxVS at SaturationA.
type Motor struct {
	Ohm         float64 // armature, field, brushes' own and lead
	BrushV      float64 // both brushes together, about 1 V
	FluxVS      float64 // back voltage over speed: V·s/rad
	SaturationA float64 // series field; 0 for permanent magnets
	LossNm      float64 // bearing, brush and gear friction at the pinion
}

// Check tells whether a motor can be computed with.
func (m Motor) Check() error {
	switch {
	case !(m.Ohm > 0) || math.IsInf(m.Ohm, 1):
		return fmt.Errorf("starter resistance %.4g mΩ out of range, must be above 0", m.Ohm*1e3)
	case !(m.FluxVS > 0) || math.IsInf(m.FluxVS, 1):
		return fmt.Errorf("starter flux %.4g V·s out of range, must be above 0", m.FluxVS)
	case !(m.BrushV >= 0 && m.BrushV <= 3):
		return fmt.Errorf("starter brush drop %.4g V out of range 0 … 3 V", m.BrushV)
	case !(m.SaturationA >= 0) || math.IsInf(m.SaturationA, 1):
		return fmt.Errorf("starter saturation current %.4g A out of range, must be at least 0", m.SaturationA)
	case !(m.LossNm >= 0) || math.IsInf(m.LossNm, 1):
		return fmt.Errorf("starter friction %.4g N·m out of range, must be at least 0", m.LossNm)
	}
	return nil
}

// CurrentA returns the current of a starter motor at a supply voltage and pinion speed.
//
//	U − U_b = I·R + Φ(I)·ω,  Φ(I) = Φ₀·I/(I + I_s)
//
// where Φ is the flux: constant Φ₀ with permanent magnets (I_s = 0), rising
// with current in a series field; solved in closed form. Series resistance
// outside the motor is added to the source: sourceOhm.
//
// Valid: a motor that passes its Check, speed at least 0, source at least the
// brush drop (below it the current is 0, and a magnet motor driven faster than
// its no-load speed would generate: 0 as well, for the pinion overruns).
// Accuracy: ± 10 %: armature reaction and heating of the winding left out.
// Source: steady equation of the direct-current motor; flux law of Frölich;
// any text on electrical machines.
// Errors: none
func (m Motor) CurrentA(sourceV, sourceOhm, speedRadPerS float64) float64 {
	u, r := sourceV-m.BrushV, m.Ohm+sourceOhm
	if u <= 0 {
		return 0
	}
	if m.SaturationA == 0 {
		return math.Max(0, (u-m.FluxVS*speedRadPerS)/r)
	}
	b := r*m.SaturationA + m.FluxVS*speedRadPerS - u
	root := math.Sqrt(b*b + 4*r*u*m.SaturationA)
	if b > 0 { // the form without loss of digits
		return 2 * u * m.SaturationA / (b + root)
	}
	return (root - b) / (2 * r)
}

// TorqueNm returns the torque at the pinion of a starter motor at a current.
//
//	M = Φ(I)·I − M_l
//
// where Φ is as in [Motor.CurrentA] and M_l the friction; negative when the
// current does not overcome friction.
//
// Valid: a motor that passes its Check, current at least 0.
// Accuracy: ± 10 %.
// Source: energy balance of the direct-current motor.
// Errors: none
func (m Motor) TorqueNm(currentA float64) float64 {
	return m.FluxAtVS(currentA)*currentA - m.LossNm
}

// FluxAtVS returns a starter motor's flux at a current: back voltage over speed, and torque over current.
//
//	Φ = Φ₀  with magnets,  Φ₀·I/(I + I_s)  in a series field
//
// Valid: a motor that passes its Check, current at least 0.
// Accuracy: ± 10 %: armature reaction left out.
// Source: flux law of Frölich; any text on electrical machines.
// Errors: none
func (m Motor) FluxAtVS(currentA float64) float64 {
	if m.SaturationA == 0 {
		return m.FluxVS
	}
	return m.FluxVS * currentA / (currentA + m.SaturationA)
}

// StallA returns the current of a starter motor held still.
//
//	I = (U − U_b)/(R + R_source)
//
// Valid: a motor that passes its Check; 0 below the brush drop.
// Accuracy: ± 10 %, cold; less once the winding is hot.
// Source: steady equation of the direct-current motor at no speed.
// Errors: none
func (m Motor) StallA(sourceV, sourceOhm float64) float64 { return m.CurrentA(sourceV, sourceOhm, 0) }

// Bench is a starter's bench test: at no load and held still.
type Bench struct {
	FreeV, FreeA, FreeRadPerS float64
	LockV, LockA, LockNm      float64
	BrushV                    float64 // common practice: 1 V
}

// Motor returns the permanent-magnet motor that a bench test describes.
//
//	R = (U_k − U_b)/I_k,  Φ = (U_0 − U_b − I_0·R)/ω_0,  M_l = Φ·I_k − M_k
//
// where k is the locked and 0 the free test. The friction is the one under
// load, found from the locked test; that of the free test is Φ·I_0.
//
// Valid: all above 0, and a friction of 0 … 60 % of the locked torque's
// electrical value; outside an error is returned.
// Accuracy: as good as the test: limits printed in service data (greatest
// current, least speed) describe no one motor.
// Source: steady equation of the direct-current motor.
// Errors: a test that no such motor gives.
func (b Bench) Motor() (Motor, error) {
	for _, v := range []struct {
		what string
		x    float64
	}{
		{"free voltage V", b.FreeV},
		{"free current A", b.FreeA},
		{"free speed rad/s", b.FreeRadPerS},
		{"locked voltage V", b.LockV - b.BrushV},
		{"locked current A", b.LockA},
		{"locked torque N·m", b.LockNm},
	} {
		if !(v.x > 0) || math.IsInf(v.x, 1) {
			return Motor{}, fmt.Errorf("bench test: %s %.4g out of range, must be above 0", v.what, v.x)
		}
	}
	m := Motor{Ohm: (b.LockV - b.BrushV) / b.LockA, BrushV: b.BrushV}
	m.FluxVS = (b.FreeV - b.BrushV - b.FreeA*m.Ohm) / b.FreeRadPerS
	m.LossNm = m.FluxVS*b.LockA - b.LockNm
	if share := m.LossNm / (m.FluxVS * b.LockA); !(share >= 0 && share <= 0.6) {
		return Motor{}, fmt.Errorf("bench test: friction takes %.3g of the locked torque, out of range 0 … 0.6: not a permanent-magnet motor's test", share)
	}
	return m, m.Check()
}
