package balance

import (
	"fmt"
	"math"

	"fettle/internal/ignition"
	"fettle/internal/injector"
)

// fuel finds the rail pressure at which the pump brings what the injectors
// pass, and the duty they need.
//
// The controller meters for the set pressure, so a rail that sinks passes less
// fuel by the square root of the pressure across the injector, and lambda
// rises. A regulator upstream holds the set pressure while the pump has any
// flow to spare.
func (p *Parts) fuel(s State, pt *Point) error {
	metered := pt.WantedKgPerS / p.Fuel.DensityKgPerM3
	set := p.Fuel.railSetPa(s, pt.ManifoldPa)
	pt.RailSetPa = set
	acrossSet := set + s.AmbientPa - pt.ManifoldPa
	if acrossSet <= 0 {
		return fmt.Errorf("manifold pressure %.0f kPa is above the rail's", pt.ManifoldPa/1e3)
	}
	deliver := func(rail float64) (want, bring float64) {
		across := rail + s.AmbientPa - pt.ManifoldPa
		want = metered * math.Sqrt(math.Max(across, 0)/acrossSet)
		bring = p.bringM3PerS(pt.PumpV, rail, want)
		return want, bring
	}
	pt.PumpMostM3PerS = p.bringM3PerS(pt.PumpV, set, metered)
	rail := set
	if want, bring := deliver(set); bring < want {
		lo := math.Min(set, math.Max(0, pt.ManifoldPa-s.AmbientPa))
		hi := set
		for hi-lo > railRatio*set {
			mid := (lo + hi) / 2
			if want, bring := deliver(mid); bring < want {
				hi = mid
			} else {
				lo = mid
			}
		}
		rail = (lo + hi) / 2
		if rail < emptyRatio*set { // the pump brings nothing: the line is not under pressure
			rail = 0
		}
	}
	flow, _ := deliver(rail)
	pt.RailPa, pt.PumpM3PerS = rail, flow
	if p.Pump == nil {
		pt.PumpM3PerS = 0
	}
	pt.AcrossPa = rail + s.AmbientPa - pt.ManifoldPa
	pt.FuelKgPerS = flow * p.Fuel.DensityKgPerM3
	if metered > 0 {
		pt.LambdaRatio = LambdaRatio(pt.LambdaWantedRatio, metered, math.Max(flow, 1e-12))
	}
	return p.duty(s, pt, acrossSet)
}

// railSetPa is what the regulator holds the rail at, above the atmosphere: one
// that is referred to the manifold follows it up and down.
func (c *Circuit) railSetPa(s State, manifoldPa float64) float64 {
	if c.ToManifold {
		return SetGaugePa(c.SetPa, manifoldPa-s.AmbientPa)
	}
	return c.SetPa
}

// emptyRatio is the share of its set pressure below which a rail is empty.
const emptyRatio = 1e-9

// railRatio is how closely the rail's pressure is found: finer than the
// balance asks its steps to be.
const railRatio = 1e-12

// bringM3PerS is what the pump moves into the rail at a voltage and a rail
// pressure, with line and filter losing at the flow they carry.
func (p *Parts) bringM3PerS(volts, railPa, flowM3PerS float64) float64 {
	if p.Pump == nil {
		return math.Inf(1)
	}
	q, _ := p.Pump.Model.At(volts, railPa+p.Fuel.LossPa(flowM3PerS))
	return q
}

// duty finds pulse and duty that meter the wanted fuel at the set pressure.
func (p *Parts) duty(s State, pt *Point, acrossPa float64) error {
	pt.PulseS, pt.DeadS, pt.DutyFrac, pt.LimitPulseS, pt.LimitDutyFrac = 0, 0, 0, 0, 0
	if len(p.Injectors) == 0 || pt.SpeedRadPerS <= 0 || pt.WantedKgPerS <= 0 {
		return nil
	}
	in := p.Injectors[0].Data
	static, err := injector.StaticKgPerS(in.Spec, acrossPa, p.Fuel.DensityKgPerM3)
	if err != nil {
		return err
	}
	mass := pt.WantedKgPerS / (float64(len(p.Injectors)) * pt.SpeedRadPerS / (4 * math.Pi))
	pt.DeadS = DeadS(pt.InjectorV, in.DeadAt8S, in.DeadAt14S)
	pt.PulseS = mass/static + pt.DeadS
	pt.DutyFrac = math.Min(1, pt.PulseS*pt.SpeedRadPerS/(4*math.Pi))
	return p.limitDuty(s, pt)
}

// limitDuty finds pulse and duty at the speed limit, with the throttle open and
// the injectors at the volts they get in the state.
func (p *Parts) limitDuty(s State, pt *Point) error {
	if s.Limit == nil {
		return nil
	}
	open := p.tabled(s.Limit.OpenPa)
	w, err := p.Engine.Response.At(s.Limit.SpeedRadPerS, open, p.Engine.Scale)
	if err != nil {
		return fmt.Errorf("engine at its speed limit: %w", err)
	}
	in := p.Injectors[0].Data
	across := p.Fuel.railSetPa(s, open) + s.AmbientPa - open
	static, err := injector.StaticKgPerS(in.Spec, across, p.Fuel.DensityKgPerM3)
	if err != nil {
		return fmt.Errorf("injector at the speed limit: %w", err)
	}
	fuel := WantedKgPerS(w.AirKgPerS, w.LambdaRatio*p.Engine.FullRatio, p.Engine.StoichRatio)
	perCycle := float64(len(p.Injectors)) * s.Limit.SpeedRadPerS / (4 * math.Pi)
	pt.LimitPulseS = PulseS(fuel/perCycle, static, pt.DeadS)
	pt.LimitDutyFrac = math.Min(1, pt.LimitPulseS*s.Limit.SpeedRadPerS/(4*math.Pi))
	return nil
}

// Metering is what balance needs of an injector's data.
type Metering struct {
	Spec                injector.Spec
	DeadAt8S, DeadAt14S float64
}

// DeadS returns an injector's dead time at a voltage.
//
//	t = t₁₄ + (t₈ − t₁₄)(1/U − 1/14)/(1/8 − 1/14)
//
// where t₈ and t₁₄ are the dead times stated at 8 and 14 V.
//
// Valid: 5 … 16 V; below 5 V, where it may not open at all, the time at 5 V.
// Accuracy: ± 0.1 ms between the stated points.
// Source: the lift takes a time inversely as the voltage: common practice.
// Errors: none.
func DeadS(acrossV, deadAt8S, deadAt14S float64) float64 {
	b := (deadAt8S - deadAt14S) / (1.0/8 - 1.0/14)
	return deadAt14S + b*(1/math.Max(acrossV, leastInjectorV)-1.0/14)
}

// leastInjectorV is the voltage below which an injector's dead time is not
// extrapolated: it may not open at all (from memory, 4 … 6 V).
const leastInjectorV = 5

// spark finds the dwell that charges a coil to its current, and what it reaches
// in the time it has.
func (p *Parts) spark(s State, pt *Point) error {
	pt.DwellS, pt.CoilA, pt.DwellLeftS = 0, 0, 0
	if len(p.Coils) == 0 || pt.SpeedRadPerS <= 0 {
		return nil
	}
	c := p.Coils[0]
	pt.DwellLeftS = 2*math.Pi/(c.SparksRatio*pt.SpeedRadPerS) - dwellRestS
	most := pt.DwellLeftS
	if s.Cranks {
		most = math.Min(most, p.CrankDwellS)
	}
	pt.DwellS = c.wantS(pt.CoilV, most)
	if s.Cranks {
		pt.DwellS = math.Min(pt.DwellS, most)
	}
	pt.CoilA = ignition.CurrentA(math.Min(pt.DwellS, most), math.Max(pt.CoilV, 0), c.Ohm, c.Henry)
	return nil
}

// wantS is the dwell a coil wants at a voltage; where it can't reach its current
// it is charged as long as there is time.
func (c Coil) wantS(volts, mostS float64) float64 {
	want, err := ignition.DwellS(c.ChargeA, volts, c.Ohm, c.Henry)
	if err != nil {
		return mostS
	}
	return want
}

// ReachedA returns the current a coil reaches at a voltage when it is charged for as long as it wants, at most for a time.
//
//	I = (U/R)(1 − exp(−t R/L)),  t = min(t_want, t_most)
//
// Valid: voltage at least 0.
// Accuracy: as ignition.CurrentA.
// Source: as ignition.CurrentA.
// Errors: none; a voltage below 0 counts as 0.
func (c Coil) ReachedA(acrossV, mostS float64) float64 {
	return ignition.CurrentA(math.Min(c.wantS(acrossV, mostS), mostS), math.Max(acrossV, 0), c.Ohm, c.Henry)
}

// EnergyJ returns the energy stored in a coil at a current.
//
//	E = L I²/2
//
// Valid: below saturation.
// Accuracy: that of the inductance.
// Source: field energy of an inductor.
// Errors: none
func EnergyJ(henry, currentA float64) float64 { return ignition.EnergyJ(henry, currentA) }
