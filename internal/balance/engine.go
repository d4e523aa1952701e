package balance

import (
	"fmt"
	"math"

	"fettle/internal/alternator"
	"fettle/internal/gas"
	"fettle/internal/quantity"
)

// CrankEnrichRatio is how much more fuel a cold engine is given while cranking
// than its air asks for (common practice, 2 to 4 times near and below 0 °C).
const CrankEnrichRatio = 3

// crankVolEffFrac is the volumetric efficiency at cranking speed (from memory,
// 0.7 to 0.8 of the manifold's density).
const crankVolEffFrac = 0.75

// fanlessIdleNm stands for the pumps and belts at idle besides the alternator
// (from memory: steering and water pump, 3 … 6 N·m).
const fanlessIdleNm = 4

// engine finds the engine's working point: at idle the manifold pressure that
// carries the alternator and the belts, at full power the open throttle.
func (p *Parts) engine(s State, pt *Point) error {
	pt.WantedKgPerS, pt.AirKgPerS, pt.TorqueNm, pt.PowerW = 0, 0, 0, 0
	switch {
	case s.Cranks:
		return p.crankAir(s, pt)
	case !s.Runs:
		pt.ManifoldPa, pt.SpeedRadPerS = s.AmbientPa, 0
		return nil
	}
	if s.SpeedRadPerS <= 0 {
		return fmt.Errorf("engine: no speed follows from tyre, axle and gear ratio")
	}
	pt.SpeedRadPerS = s.SpeedRadPerS
	pt.ChargerW = alternator.ShaftPowerW(pt.Net.ElementV(p.Charger.Element), pt.ChargerA, s.SpeedRadPerS*p.Charger.PulleyRatio)
	pt.RoadW = s.RoadW
	belt := pt.ChargerW/s.SpeedRadPerS + fanlessIdleNm
	r := p.Engine.Response
	if at := r.TorqueNm.X.At; s.SpeedRadPerS < at[0] || s.SpeedRadPerS > at[len(at)-1] {
		rpm := func(radPerS float64) string { return quantity.Format(radPerS, "rpm", 0) }
		return fmt.Errorf("the engine would turn at %s; it is computed for %s to %s", rpm(s.SpeedRadPerS), rpm(at[0]), rpm(at[len(at)-1]))
	}
	w, err := r.At(s.SpeedRadPerS, p.openPa(s), p.Engine.Scale)
	if !s.WideOpen {
		asked := belt + s.RoadW/s.SpeedRadPerS
		if err == nil && asked > w.TorqueNm {
			return fmt.Errorf("%s at %s are asked of the engine; it gives at most %s there",
				quantity.Format(asked, "Nm", 0), quantity.Format(s.SpeedRadPerS, "rpm", 0), quantity.Format(w.TorqueNm, "Nm", 0))
		}
		w, err = r.LoadFor(s.SpeedRadPerS, asked, p.Engine.Scale)
	}
	if err != nil {
		return fmt.Errorf("engine: %w", err)
	}
	pt.ManifoldPa, pt.AirKgPerS = w.ManifoldPa, w.AirKgPerS
	pt.LambdaWantedRatio = w.LambdaRatio
	if s.WideOpen {
		pt.LambdaWantedRatio *= p.Engine.FullRatio
	}
	pt.TorqueNm = w.TorqueNm - belt
	pt.PowerW = pt.TorqueNm * s.SpeedRadPerS
	pt.ExhaustK, pt.CoolantW = w.ExhaustK, w.CoolantW
	pt.WantedKgPerS = WantedKgPerS(pt.AirKgPerS, pt.LambdaWantedRatio, p.Engine.StoichRatio)
	return nil
}

// openPa is the manifold's pressure with the throttle open.
func (p *Parts) openPa(s State) float64 {
	in := p.Engine.Response.Input()
	open := s.OpenPa
	if open == 0 {
		open = in.WideOpenPa(s.SpeedRadPerS)
	}
	return p.tabled(open)
}

// tabled keeps a draw of the open throttle's pressure on the engine's table,
// which reaches past the nominal one by what its inputs are drawn.
func (p *Parts) tabled(pa float64) float64 {
	at := p.Engine.Response.TorqueNm.Y.At
	return math.Min(pa, at[len(at)-1])
}

// crankAir is the air and the fuel of a cold engine that is turned.
func (p *Parts) crankAir(s State, pt *Point) error {
	pt.ManifoldPa = s.CrankPa
	pt.LambdaWantedRatio = 1
	if pt.SpeedRadPerS <= 0 {
		return nil
	}
	rho, err := gas.AirKgPerM3(s.CrankPa, p.Engine.CrankK)
	if err != nil {
		return fmt.Errorf("cranking air: %w", err)
	}
	pt.AirKgPerS = crankVolEffFrac * rho * p.Engine.SweptM3 * pt.SpeedRadPerS / (4 * math.Pi)
	pt.WantedKgPerS = CrankEnrichRatio * WantedKgPerS(pt.AirKgPerS, 1, p.Engine.StoichRatio)
	return nil
}
