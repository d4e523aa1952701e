package vehicle

import (
	"fmt"
	"math"
	"strings"

	"fettle/internal/balance"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// ChargeCurve is what one set of loads draws against what the alternator brings
// over the engine's speed, the network solved at each point.
type ChargeCurve struct {
	State, Key string // the state whose loads are on
	Points     []ChargePoint
	// Balances says that from BalanceRadPerS up to the speed limit the alternator
	// carries the loads; AtIdle that it does so from the idle speed on.
	Balances, AtIdle bool
	BalanceRadPerS   float64
	Ended            figure.Ended // of the first point that has no answer, else of the last
}

// ChargePoint is one engine speed of a curve.
type ChargePoint struct {
	SpeedRadPerS float64
	DemandA      float64 // what is on draws, at the voltage there is
	ChargerA     float64 // the alternator gives
	MostA        float64 // the most the hot alternator brings
	BatteryA     float64 // what the battery gives, negative where it is charged
	PostV        float64 // between the battery's posts
}

// chargePoints are the speeds of a curve.
const chargePoints = 17

// chargeStepRadPerS is how closely the balance is found.
const chargeStepRadPerS = 5 * 2 * math.Pi / 60

// ChargeRadPerS returns the engine speeds of a charging curve.
//
//	ω_k = ω_idle·(ω_limit/ω_idle)^(k/16),  k = 0 … 16
//
// Valid: an idle speed below the limit.
// Accuracy: exact.
// Source: definition: an alternator's output changes most at low speed.
// Errors: none
func ChargeRadPerS(idleRadPerS, limitRadPerS float64, k int) float64 {
	return idleRadPerS * math.Pow(limitRadPerS/idleRadPerS, float64(k)/(chargePoints-1))
}

// ChargeDemandA returns what a set of loads draws at an engine speed.
//
//	I = I_alternator + I_battery
//
// where both are the solved network's, and the battery's is negative while it is charged.
//
// Valid: a solved point.
// Accuracy: Kirchhoff's current law holds at every node to 1e-9.
// Source: nodal analysis; Kirchhoff's current law.
// Errors: none
func ChargeDemandA(alternatorA, batteryA float64) float64 { return alternatorA + batteryA }

// ChargeBalanceRadPerS returns the lowest engine speed from which on the alternator carries a set of loads.
//
//	I_battery(ω) ≤ 0 for every ω ≥ ω_b
//
// found by halving between two speeds of which the lower falls short; short tells
// whether the battery gives current at a speed.
//
// Valid: one crossing between the two speeds.
// Accuracy: 5 rpm; that of the alternator's output, ± 10 % of its rating, moves it by some 100 rpm.
// Source: definition of the balance; alternator.OutputA.
// Errors: none
func ChargeBalanceRadPerS(lowRadPerS, highRadPerS float64, short func(speedRadPerS float64) bool) float64 {
	for highRadPerS-lowRadPerS > chargeStepRadPerS {
		if mid := (lowRadPerS + highRadPerS) / 2; short(mid) {
			lowRadPerS = mid
		} else {
			highRadPerS = mid
		}
	}
	return highRadPerS
}

// charging computes the curves of the nominal vehicle. The engine idles along at
// every speed, but at full power: what its road load adds to the injectors'
// current is below an ampere.
func (w *worker) charging(p *balance.Parts, states []State) ([]ChargeCurve, error) {
	e := &w.v.Design.File.Engine
	var out []ChargeCurve
	for i := range states {
		s := &states[i]
		if !design.Runs(s.Name) || !s.Live || !s.Ended.OK {
			continue
		}
		bs, err := w.set(figure.Draw{}, s.Name, p)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", s.Name, err)
		}
		bs.RoadW, bs.Limit = 0, nil
		c := ChargeCurve{State: s.Name, Key: s.Key}
		at := func(speedRadPerS float64) (q ChargePoint, ok bool) {
			bs.SpeedRadPerS, bs.OpenPa = speedRadPerS, w.v.openPa(figure.Draw{}, speedRadPerS)
			pt, e := balance.Solve(p, bs, nil)
			if c.Ended = e; !e.OK {
				return q, false
			}
			plus, minus := w.net.Ends(w.v.battery)
			return ChargePoint{
				SpeedRadPerS: speedRadPerS, DemandA: ChargeDemandA(pt.ChargerA, pt.BatteryA), ChargerA: pt.ChargerA, MostA: pt.ChargerMostA, BatteryA: pt.BatteryA,
				PostV: pt.Net.NodeV[plus] - pt.Net.NodeV[minus],
			}, true
		}
		c.follow(e.IdleRadPerS.SI, e.LimitRadPerS.SI, at)
		out = append(out, c)
	}
	return out, nil
}

// follow computes the points and where the loads begin to be carried.
func (c *ChargeCurve) follow(idleRadPerS, limitRadPerS float64, at func(speedRadPerS float64) (ChargePoint, bool)) {
	for k := range chargePoints {
		q, ok := at(math.Min(ChargeRadPerS(idleRadPerS, limitRadPerS, k), limitRadPerS))
		if !ok {
			return
		}
		c.Points = append(c.Points, q)
	}
	last := len(c.Points)
	for last > 0 && !(c.Points[last-1].BatteryA > 0) {
		last--
	}
	switch {
	case last == len(c.Points):
		return // not even at the limit
	case last == 0:
		c.Balances, c.AtIdle, c.BalanceRadPerS = true, true, c.Points[0].SpeedRadPerS
		return
	}
	unsolved := false
	speed := ChargeBalanceRadPerS(c.Points[last-1].SpeedRadPerS, c.Points[last].SpeedRadPerS, func(speedRadPerS float64) bool {
		q, ok := at(speedRadPerS)
		unsolved = unsolved || !ok
		return ok && q.BatteryA > 0
	})
	if !unsolved {
		c.Balances, c.BalanceRadPerS = true, speed
	}
}

// ChargeID is the ID of a figure of a charging curve: "BalanceRadPerS".
func ChargeID(key, name string) figure.ID { return figure.ID("charging/" + key + "/" + name) }

// ChargePointID is the ID of a figure at a point of a curve: "DemandA", "MostA",
// "PostV", "SpeedRadPerS".
func ChargePointID(key string, k int, name string) figure.ID {
	return ChargeID(key, "point "+itoa(k+1)+"/"+name)
}

// charging records the curves.
func (a *accountant) charging() {
	f := a.v.Design.File
	alt := a.v.Design.One("alternator")
	idle, limit := a.l.Leaf(f.Engine.IdleRadPerS), a.l.Leaf(f.Engine.LimitRadPerS)
	for i := range a.r.Charging {
		c := &a.r.Charging[i]
		loads := a.setOfLoads(a.r.State(c.State))
		var all []figure.ID
		for k, q := range c.Points {
			id := func(name string) figure.ID { return ChargePointID(c.Key, k, name) }
			a.l.Put(id("SpeedRadPerS"), formula.VehicleChargeRadPerS, q.SpeedRadPerS, "rpm", idle, limit)
			a.l.Put(id("MostA"), formula.AlternatorOutputA, q.MostA, "A",
				a.l.Leaf(alt.Part.Alternator.RatedA), a.l.Leaf(alt.Part.Alternator.PulleyRatio), id("SpeedRadPerS"), a.l.Leaf(a.v.placeK(alt.At)))
			a.l.PutLoop(id("ChargerA"), formula.VehicleChargerA, q.ChargerA, "A", &c.Ended, append([]figure.ID{id("MostA"), a.l.Leaf(alt.Part.Alternator.SetV), a.l.Leaf(alt.Part.Alternator.SlopeOhm)}, loads...)...)
			a.l.PutLoop(id("DemandA"), formula.VehicleChargeDemandA, q.DemandA, "A", &c.Ended, append([]figure.ID{id("SpeedRadPerS"), id("ChargerA")}, loads...)...)
			a.l.PutLoop(id("BatteryA"), formula.VehicleBatteryA, q.BatteryA, "A", &c.Ended, id("ChargerA"), id("DemandA"))
			all = append(all, id("BatteryA"))
		}
		if c.Balances {
			a.l.PutLoop(ChargeID(c.Key, "BalanceRadPerS"), formula.VehicleChargeBalanceRadPerS, c.BalanceRadPerS, "rpm", &c.Ended, all...)
		}
	}
}

// setOfLoads lists the inputs of what is on in a state.
func (a *accountant) setOfLoads(s *State) []figure.ID {
	var out []figure.ID
	for _, c := range a.v.consumers {
		if on, ok := s.ConsumerA(c.name); ok && math.Abs(on) > 1e-6 && !strings.HasPrefix(c.name, excitationName) && a.v.paths[c.name].five == 0 {
			out = append(out, a.loadInputs(c)...)
		}
	}
	return out
}
