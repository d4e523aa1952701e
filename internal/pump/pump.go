// Package pump computes an electric fuel pump: its flow and current against the
// voltage at its terminals and the pressure it works against.
//
// Conventions: pressure is the rise across the pump, flow never runs backwards
// (a check valve closes), currents are into the pump. A permanent-magnet motor
// drives a pump stage with slip; speed is measured as the flow q that the stage
// would move without slip, so that no speed need be known. Start reading at
// [Fit] and [Model.At].
package pump

import (
	"fmt"
	"math"
)

// Spec is what is known of a pump from its sheet or a bench.
type Spec struct {
	RatedV          float64
	RatedPa         float64
	RatedFlowM3PerS float64
	RatedA          float64 // at the rated voltage and pressure
	FreeFlowM3PerS  float64 // at the rated voltage and no pressure

	// A second point at the rated pressure and a lower voltage makes the pump
	// identified instead of assumed. LowV 0 means not known; then LowA 0 means
	// that only the flow is known there.
	LowV          float64
	LowFlowM3PerS float64
	LowA          float64
}

// Shares assumed when the sheet does not tell them, from memory of sheets of
// in-tank pumps; ± 0.08 and ± 0.2 at one standard deviation.
const (
	// AssumedEmfFrac is the share of the rated voltage that the motor's speed
	// makes; the rest drops in winding and brushes.
	AssumedEmfFrac = 0.75
	// AssumedSpeedLossFrac is the share of the losses at the rated point that
	// grows with the square of speed; the rest is dry friction.
	AssumedSpeedLossFrac = 0.7
)

// Model is a pump that Fit identified.
type Model struct {
	k       float64 // V·s/m³: voltage per unit of q, and pressure per unit of current
	ohm     float64
	leak    float64 // m³/(s·Pa)
	dry     float64 // Pa: dry friction as a pressure
	swirl   float64 // Pa·s²/m⁶: losses that grow with q²
	assumed bool
}

// Assumed reports whether the model leans on AssumedSpeedLossFrac, having one rated point only.
func (m Model) Assumed() bool { return m.assumed }

func (s Spec) check() error {
	for _, r := range []struct {
		name, unit string
		v          float64
	}{
		{"rated voltage", "V", s.RatedV},
		{"rated pressure", "Pa", s.RatedPa},
		{"rated flow", "m³/s", s.RatedFlowM3PerS},
		{"rated current", "A", s.RatedA},
		{"free flow", "m³/s", s.FreeFlowM3PerS},
	} {
		if !(r.v > 0) || math.IsInf(r.v, 1) {
			return fmt.Errorf("pump: %s %g %s is not above 0 %s", r.name, r.v, r.unit, r.unit)
		}
	}
	if s.FreeFlowM3PerS <= s.RatedFlowM3PerS {
		return fmt.Errorf("pump: free flow %g m³/s is not above the rated flow %g m³/s", s.FreeFlowM3PerS, s.RatedFlowM3PerS)
	}
	if hydraulic, electric := s.RatedPa*s.RatedFlowM3PerS, s.RatedV*s.RatedA; hydraulic >= 0.6*electric {
		return fmt.Errorf("pump: the rated point gives %.3g W of %.3g W taken; more than 60 %% is beyond any fuel pump", hydraulic, electric)
	}
	if s.LowV == 0 {
		if s.LowFlowM3PerS != 0 || s.LowA != 0 {
			return fmt.Errorf("pump: a second flow or current is given without its voltage")
		}
		return nil
	}
	return s.checkSecond()
}

func (s Spec) checkSecond() error {
	if !(s.LowV > 0 && s.LowV < s.RatedV) {
		return fmt.Errorf("pump: second voltage %g V is outside 0 … %g V, the rated one", s.LowV, s.RatedV)
	}
	if !(s.LowFlowM3PerS > 0 && s.LowFlowM3PerS < s.RatedFlowM3PerS) {
		return fmt.Errorf("pump: flow %g m³/s at %g V is outside 0 … %g m³/s, the rated one", s.LowFlowM3PerS, s.LowV, s.RatedFlowM3PerS)
	}
	if !(s.LowA >= 0 && s.LowA <= s.RatedA) {
		return fmt.Errorf("pump: current %g A at %g V is outside 0 … %g A, the rated one", s.LowA, s.LowV, s.RatedA)
	}
	return nil
}

// Fit identifies a pump from its rated points. The rated point and the free
// flow are met exactly. A second point at a lower voltage sets the share of
// losses that grow with speed, else AssumedSpeedLossFrac, and is met as nearly
// as a pump can; more than 10 % off is an error.
func Fit(s Spec) (Model, error) {
	if err := s.check(); err != nil {
		return Model{}, err
	}
	if s.LowV == 0 {
		return s.lift(AssumedEmfFrac, AssumedSpeedLossFrac)
	}
	m, off := s.search()
	if off > 0.1 {
		q, a := m.At(s.LowV, s.RatedPa)
		return Model{}, fmt.Errorf("pump: at %g V a pump with this rated point and free flow gives about %.3g m³/s and %.3g A, not %.3g m³/s and %.3g A",
			s.LowV, q, a, s.LowFlowM3PerS, s.LowA)
	}
	return m, nil
}

// lift raises the assumed share of the motor's own voltage where the rated and
// the free flow lie so near that there would be less than no slip.
func (s Spec) lift(emf, speedLoss float64) (Model, error) {
	for ; emf < 0.98; emf += 0.01 {
		if m := s.identify(emf, speedLoss); m.leak >= 0 {
			m.assumed = true
			return m, nil
		}
	}
	return Model{}, fmt.Errorf("pump: free flow %g m³/s is too near the rated flow %g m³/s for a pump at %g V and %g A",
		s.FreeFlowM3PerS, s.RatedFlowM3PerS, s.RatedV, s.RatedA)
}

// search finds the share of losses that grow with speed at which the second
// point is met best, by golden sections. The share of the motor's own voltage
// stays as assumed: over 0.6 … 0.9 it moves flow and current by less than 4 % of the rated.
func (s Spec) search() (best Model, offFrac float64) {
	const golden = 0.6180339887498949
	low, high := 0.0, 1.0
	for high-low > 1e-9 {
		a, b := high-golden*(high-low), low+golden*(high-low)
		_, offA := s.off(AssumedEmfFrac, a)
		_, offB := s.off(AssumedEmfFrac, b)
		if offA < offB {
			high = b
		} else {
			low = a
		}
	}
	return s.off(AssumedEmfFrac, (low+high)/2)
}

// off is how far a pump of the two shares misses the second point, relative.
func (s Spec) off(emf, speedLoss float64) (Model, float64) {
	m := s.identify(emf, speedLoss)
	if m.leak < 0 {
		return m, math.Inf(1)
	}
	q, a := m.At(s.LowV, s.RatedPa)
	flow := (q - s.LowFlowM3PerS) / s.LowFlowM3PerS
	if s.LowA == 0 {
		return m, math.Abs(flow)
	}
	return m, math.Hypot(flow, (a-s.LowA)/s.LowA)
}

// bisect finds where f changes sign between low and high; ok is false when it
// does not.
func bisect(f func(float64) float64, low, high float64) (x float64, ok bool) {
	fl, fh := f(low), f(high)
	if !(fl*fh <= 0) {
		return low, false
	}
	for range 80 {
		mid := (low + high) / 2
		fm := f(mid)
		if math.IsNaN(fm) {
			return mid, false
		}
		if (fm > 0) == (fl > 0) {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2, true
}

// identify solves the rated point and the free flow for the constants, given
// the two shares. The equation for k rises with k, from below zero where no
// losses are left to above zero where the free pump would need no current.
func (s Spec) identify(emf, speedLoss float64) Model {
	back := emf * s.RatedV
	ohm := (s.RatedV - back) / s.RatedA
	losses := func(k float64) float64 { return k*s.RatedA - s.RatedPa }
	miss := func(k float64) float64 {
		r := s.FreeFlowM3PerS * k / back
		return losses(k)*(1-speedLoss+speedLoss*r*r)/k*ohm + k*s.FreeFlowM3PerS - s.RatedV
	}
	k, _ := bisect(miss, s.RatedPa/s.RatedA, s.RatedV/s.FreeFlowM3PerS)
	q := back / k
	return Model{
		k: k, ohm: ohm, leak: (q - s.RatedFlowM3PerS) / s.RatedPa,
		dry: losses(k) * (1 - speedLoss), swirl: losses(k) * speedLoss / (q * q),
	}
}
