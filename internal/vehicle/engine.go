package vehicle

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"
	"sync/atomic"

	"fettle/internal/balance"
	"fettle/internal/breathing"
	"fettle/internal/crank"
	"fettle/internal/cycle"
	"fettle/internal/design"
	"fettle/internal/enginemap"
	"fettle/internal/figure"
	"fettle/internal/gas"
	"fettle/internal/petrol"
)

// warmCoolantK is the coolant of a warm engine (common practice, 80 to 95 °C
// thermostats).
const warmCoolantK = 363.15

// cruiseLambda is the mixture away from full load (common practice).
const cruiseLambda = 1.0

// responseOf computes the engine's tables once, for the nominal vehicle on the
// hottest day; draws scale them.
func (v *Vehicle) responseOf(ctx context.Context) (*breathing.Response, error) {
	d := figure.Draw{}
	f := v.Design.File
	e := &f.Engine
	fuel, err := petrol.Blend(f.Fuel.EthanolFrac.SI)
	if err != nil {
		return nil, err
	}
	ambient, err := gas.AtmospherePa(f.Climate.AltitudeM.SI)
	if err != nil {
		return nil, err
	}
	in := breathing.Input{
		Geometry:         v.geometry(d),
		IntakeValveCount: e.IntakeValves, IntakeValveM: e.IntakeValveM.SI, IntakeLiftM: e.IntakeLiftM.SI,
		IntakeOpensRad: e.IntakeOpenRad.SI, IntakeClosesRad: e.IntakeCloseRad.SI, IntakePhaserRad: e.PhaserRad.SI,
		RunnerM: e.RunnerM.SI, RunnerBoreM: e.RunnerBoreM.SI,
		IdleRadPerS: e.IdleRadPerS.SI, MaxRadPerS: e.LimitRadPerS.SI,
		Fuel: fuel, FullLambdaRatio: e.LambdaFull.SI, CruiseLambdaRatio: cruiseLambda,
		AmbientPa: ambient, ChargeK: f.Climate.HottestK.SI + e.ChargeRiseK.SI, CoolantK: warmCoolantK,
		IntakeDropPa: e.IntakeDropPa.SI, ExhaustDropPa: e.ExhaustDropPa.SI,
		ManifoldPa: pressures(ambient, 0), Cycle: cycleOf(e, v.geometry(d)),
	}
	if b := f.Boost; b != nil {
		v.charge(&in, b)
	}
	return v.engines.response(ctx, in)
}

// charge puts a charger before the engine: its pressure, what it and its cooler
// make of the charge's temperature, and what its turbine holds back.
func (v *Vehicle) charge(in *breathing.Input, b *design.Boost) {
	in.BoostPa, in.CompressorFrac, in.TurbineRatio = b.GaugePa.SI, v.k.compressorFrac.SI, v.k.turbineRatio.SI
	if b.Driven == design.Belt {
		in.CompressorFrac, in.TurbineRatio, in.BeltFrac = v.k.blowerFrac.SI, 0, v.k.beltFrac.SI
	}
	if b.Cooler {
		in.CoolerFrac = v.k.coolerFrac.SI
	}
	in.ManifoldPa = pressures(in.AmbientPa, in.BoostPa+drawnSds*b.GaugePa.SdSI)
}

// Charge is the temperature of the charge in the manifold of a boosted engine in
// a state that it runs in; ok is false in any other.
func (s *State) Charge() (tempK float64, ok bool) {
	if s.v.Design.File.Boost == nil || !s.Ended.OK || s.Point.AirKgPerS <= 0 || !design.Runs(s.Name) {
		return 0, false
	}
	in := s.v.response.Input()
	tempK, err := breathing.ChargedK(in.ChargeK, s.Point.ManifoldPa/in.AmbientPa, in.CompressorFrac, in.CoolerFrac)
	return tempK, err == nil
}

// drawnSds is how many standard deviations of the boost the tables reach past
// its nominal: draws further out are held there.
const drawnSds = 3

// cycleOf is what the file or its archetype says of the exhaust side, the plenum
// and the chamber; the throttle's area follows from the intake's drop.
func cycleOf(e *design.Engine, g crank.Geometry) (c breathing.Cycle) {
	c.DirectInjection = e.Direct
	c.ExhaustValveM, c.ExhaustRunnerM, c.ExhaustRunBoreM, c.BurnRatio = e.ExhaustValveM.SI, e.ExhaustRunM.SI, e.ExhaustRunBoreM.SI, e.BurnRatio.SI
	c.CollectorM3, c.PlenumM3 = e.CollectorRatio.SI*g.DisplacementM3(), e.PlenumRatio.SI*g.DisplacementM3()
	for _, k := range e.Cams {
		if k.Moves != "exhaust" {
			continue
		}
		for _, v := range []struct {
			to *float64
			in *figure.Input
		}{{&c.ExhaustOpenRad, k.DurationRad}, {&c.ExhaustLiftM, k.LiftM}, {&c.ExhaustCentreRad, k.CentreRad}, {&c.ExhaustPhaserRad, k.TravelRad}} {
			if v.in != nil {
				*v.to = v.in.SI
			}
		}
		break // the cams of one side are alike
	}
	return c
}

// leastManifoldPa is the lowest manifold pressure of the tables: an engine with
// little friction idles below a fifth of the atmosphere.
const leastManifoldPa = 12e3

// boostStepPa is about how far the tables' points lie apart above the ambient pressure.
const boostStepPa = 15e3

// thickestPa is what the tables reach to at least: the air at sea level, where a
// vehicle from the mountains may come down to (ISO 2533, rounded up to a kPa).
const thickestPa = 102e3

// pressures is the tables' axis of manifold pressure. The ambient pressure is
// one of its points: above it a charger heats the charge, and an engine without
// one has come down.
func pressures(ambientPa, abovePa float64) []float64 {
	const n = 13
	out := make([]float64, n)
	for i := range out {
		out[i] = leastManifoldPa + (ambientPa-leastManifoldPa)*float64(i)/(n-1)
	}
	out[n-1] = ambientPa
	above := math.Max(abovePa, thickestPa-ambientPa)
	more := math.Ceil(above / boostStepPa)
	for i := range int(more) {
		out = append(out, ambientPa+above*float64(i+1)/more)
	}
	return out
}

// openPa is the manifold's pressure with the throttle open at a speed, in a draw.
func (v *Vehicle) openPa(d figure.Draw, speedRadPerS float64) float64 {
	in := v.response.Input()
	pa := in.WideOpenPa(speedRadPerS)
	if b := v.Design.File.Boost; b != nil {
		pa += d.Of(b.GaugePa) - b.GaugePa.SI
	}
	return pa
}

// Engines keeps the response tables of engines that were computed, so that an
// edit that leaves the engine alone does not compute it again. A nil *Engines
// keeps nothing.
type Engines struct {
	mu      sync.Mutex
	kept    map[string]*breathing.Response
	filling map[string]*filling

	fuel    *cycle.Gas
	fuelKey string
}

// filling is one engine on its way.
type filling struct {
	ended    chan struct{}
	done, of atomic.Int64
}

// mostEngines is how many are kept.
const mostEngines = 8

// Progress is how many cells of the tables that are being filled are done, of how
// many; 0 of 0 when none are.
func (e *Engines) Progress() (done, of int) {
	if e == nil {
		return 0, 0
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	for _, f := range e.filling {
		done, of = done+int(f.done.Load()), of+int(f.of.Load())
	}
	return done, of
}

// response finds the tables of an engine, waits for who fills them, or fills them.
func (e *Engines) response(ctx context.Context, in breathing.Input) (*breathing.Response, error) {
	if e == nil {
		return tables(ctx, in, nil, nil)
	}
	key := keyOf(in)
	for {
		e.mu.Lock()
		if r, ok := e.kept[key]; ok {
			e.mu.Unlock()
			return r, nil
		}
		f, busy := e.filling[key]
		if !busy {
			break
		}
		e.mu.Unlock()
		select {
		case <-f.ended:
		case <-ctx.Done():
			return nil, context.Cause(ctx)
		}
	}
	f := &filling{ended: make(chan struct{})}
	if e.filling == nil {
		e.filling = map[string]*filling{}
	}
	e.filling[key] = f
	g, err := e.gas(in.Fuel)
	e.mu.Unlock()
	var r *breathing.Response
	if err == nil {
		r, err = tables(ctx, in, g, func(done, of int) { f.done.Store(int64(done)); f.of.Store(int64(of)) })
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	delete(e.filling, key)
	close(f.ended)
	if err != nil {
		return nil, err
	}
	if e.kept == nil || len(e.kept) >= mostEngines {
		e.kept = map[string]*breathing.Response{}
	}
	e.kept[key] = r
	return r, nil
}

// keyOf names an engine by its inputs.
func keyOf(in breathing.Input) string { return fmt.Sprintf("%v", in) }

// tables fills an engine's tables by the crank-angle cycle. Where a cell does not
// settle the intake stroke stands in; Response.Model says which.
func tables(ctx context.Context, in breathing.Input, g *cycle.Gas, tell enginemap.Progress) (*breathing.Response, error) {
	r, err := enginemap.Solve(ctx, in, g, tell)
	if errors.Is(err, enginemap.ErrUnsettled) {
		return breathing.Solve(in)
	}
	return r, err
}

// Cylinder computes one cylinder of the engine at a speed and manifold pressure
// through the whole cycle, at the spark and cams of the solved tables and on the
// hottest day: pressure, temperature and lifts against crank angle, the spark
// found and that allowed, the knock integral. When the cycle does not settle
// Ended is not OK and there is none.
func (v *Vehicle) Cylinder(speedRadPerS, manifoldPa float64) (enginemap.Fired, figure.Ended, error) {
	var g *cycle.Gas
	if v.engines != nil {
		in := v.response.Input()
		v.engines.mu.Lock()
		kept, err := v.engines.gas(in.Fuel)
		v.engines.mu.Unlock()
		if err != nil {
			return enginemap.Fired{}, figure.Ended{}, err
		}
		g = kept
	}
	return enginemap.Fire(v.response, g, speedRadPerS, manifoldPa)
}

// CoolantK is the coolant of a state: warm, or as cold as the air.
func (s *State) CoolantK() float64 {
	if design.Warm(s.Name) {
		return warmCoolantK
	}
	return s.v.airK(figure.Draw{}, s.Name)
}

// ChargeK is the charge in the manifold of a state, what a charger adds counted in.
func (s *State) ChargeK() float64 {
	if kelvin, ok := s.Charge(); ok {
		return kelvin
	}
	air := s.v.airK(figure.Draw{}, s.Name)
	if !design.Warm(s.Name) {
		return air
	}
	return s.v.response.Input().ChargeK + air - s.v.Design.File.Climate.HottestK.SI
}

// Cylinder computes one cylinder in a state that the engine runs in; ok is false
// in any other. See [Vehicle.Cylinder].
func (s *State) Cylinder() (f enginemap.Fired, e figure.Ended, ok bool, err error) {
	if !s.Ended.OK || s.Point.AirKgPerS <= 0 || !design.Runs(s.Name) {
		return f, e, false, nil
	}
	f, e, err = s.v.Cylinder(s.Point.SpeedRadPerS, s.Point.ManifoldPa)
	return f, e, true, err
}

// gas keeps the latest fuel's tables.
func (e *Engines) gas(fuel petrol.Fuel) (*cycle.Gas, error) {
	key := fmt.Sprintf("%v", fuel)
	if e.fuel == nil || key != e.fuelKey {
		g, err := cycle.NewGas(fuel)
		if err != nil {
			return nil, err
		}
		e.fuel, e.fuelKey = g, key
	}
	return e.fuel, nil
}

// engine draws the engine: its tables with a scale on air, work and friction.
func (v *Vehicle) engine(d figure.Draw, fuel petrol.Fuel) balance.Engine {
	return balance.Engine{
		Response: v.response,
		Scale: breathing.Scale{
			VolEffRatio: d.Of(v.k.airRatio), GrossRatio: d.Of(v.k.workRatio), FrictionRatio: d.Of(v.k.frictionRatio),
		},
		Cylinders: v.Design.File.Engine.Cylinders, StoichRatio: fuel.StoichRatio,
		FullRatio: d.Of(v.Design.File.Engine.LambdaFull) / v.Design.File.Engine.LambdaFull.SI,
		SweptM3:   v.geometry(d).DisplacementM3(),
		CrankK:    d.Of(v.Design.File.Climate.ColdestK),
	}
}
