package vehicle

import (
	"math"

	"fettle/internal/balance"
	"fettle/internal/battery"
	"fettle/internal/cranking"
	"fettle/internal/dcnet"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// leastInjectorV is the voltage below which an injector's dead time says nothing.
const leastInjectorV = 5

// startForS is how much of a start is computed: the inrush and the first
// compressions. What comes after is the state of steady cranking.
const startForS = 1.0

// Start is how a cold start begins: what controller, coil and injector are left
// with while the starter runs up.
type Start struct {
	Ended  figure.Ended
	Course cranking.Course
	// The courses of the controller, and of the coil and the injector that get least.
	ControllerV, CoilV, InjectorV []float64

	LowestV, LowestS float64 // at the controller
	LastingV         float64 // the lowest that lasts longer than the controller bridges
	BelowS           float64 // longest below the controller's reset voltage
	InrushA, InrushS float64
	LowCoilV, LowJ   float64 // the least at the coil, and the energy it holds then
	LowInjectorV     float64
	DeadS            float64 // at the least at the injector
}

// begin computes how a start begins, from the network as steady cranking left it.
func (w *worker) begin(d figure.Draw, p *balance.Parts, bs balance.State, s *State) *Start {
	v := w.v
	if p.Starter == nil {
		return &Start{Ended: figure.Ended{Why: "no starter is wired"}}
	}
	c := cranking.Circuit{Net: w.net, Switches: bs.Switches, Battery: v.battery, Starter: p.Starter.Load, Watch: w.watched(p, s)}
	parts := battery.Split(p.Battery.Ohm)
	b := cranking.Battery{RestV: p.Battery.OpenV, AtOnceOhm: parts.AtOnceOhm, FastOhm: parts.FastOhm, FastS: parts.FastS, SlowOhm: parts.SlowOhm, SlowS: parts.SlowS}
	out := &Start{}
	out.Course, out.Ended = cranking.Run(c, b, v.machine(d, p, bs), startForS)
	if !out.Ended.OK {
		return out
	}
	out.ControllerV, out.CoilV, out.InjectorV = out.Course.WatchV[0], out.Course.WatchV[1], out.Course.WatchV[2]
	out.read(v, d, p)
	return out
}

// watched are the loads whose voltage is followed: the controller's, and the coil
// and the injector that get least in steady cranking.
func (w *worker) watched(p *balance.Parts, s *State) []dcnet.ElementID {
	out := make([]dcnet.ElementID, 3)
	name := w.v.controllerLoad()
	for _, c := range w.v.consumers {
		if c.name == name {
			out[0] = c.id
		}
	}
	least := func(at int, id dcnet.ElementID) {
		if out[at] == 0 || s.Point.Net.ElementV(id) < s.Point.Net.ElementV(out[at]) {
			out[at] = id
		}
	}
	for _, c := range p.Coils {
		least(1, c.Load)
	}
	for _, in := range p.Injectors {
		least(2, in.Load)
	}
	return out
}

// machine is the starter with the cold engine it turns.
func (v *Vehicle) machine(d figure.Draw, p *balance.Parts, bs balance.State) cranking.Machine {
	st := v.Design.One("starter").Part.Starter
	ratio := d.Of(st.GearRatio)
	geometry := v.geometry(d)
	return cranking.Machine{
		Motor: p.Starter.Motor, InductanceH: d.Of(v.starterHenry()), GearRatio: ratio,
		InertiaKgM2: CrankingKgM2(d.Of(v.k.engineKgM2)*geometry.DisplacementM3(), d.Of(v.starterKgM2()), ratio),
		Engine:      geometry, LoadNm: p.Starter.LoadNm, ShutRad: math.Pi - d.Of(v.Design.File.Engine.IntakeCloseRad), AmbientPa: bs.AmbientPa, ChargePa: bs.CrankPa,
	}
}

func (v *Vehicle) starterHenry() *figure.Input {
	if in := v.Design.One("starter").Part.Starter.Henry; in != nil {
		return in
	}
	return v.k.starterHenry
}

func (v *Vehicle) starterKgM2() *figure.Input {
	if in := v.Design.One("starter").Part.Starter.KgM2; in != nil {
		return in
	}
	return v.k.starterKgM2
}

// bridge is how long the controller lives below its reset voltage.
func (v *Vehicle) bridge() *figure.Input {
	if in := v.Design.One("controller").Part.Controller.BridgeS; in != nil {
		return in
	}
	return v.k.bridgeS
}

// read takes from the courses what is held against limits.
func (s *Start) read(v *Vehicle, d figure.Draw, p *balance.Parts) {
	c := s.Course
	s.LowestV, s.LowestS = c.LowestV(s.ControllerV)
	s.LastingV = c.LastingV(s.ControllerV, max(0, d.Of(v.bridge())))
	s.BelowS = c.BelowS(s.ControllerV, d.Of(v.Design.One("controller").Part.Controller.ResetV))
	s.InrushA, s.InrushS = c.InrushA()
	if len(p.Coils) > 0 {
		s.LowCoilV, _ = c.LowestV(s.CoilV)
		coil := p.Coils[0]
		s.LowJ = balance.EnergyJ(coil.Henry, coil.ReachedA(s.LowCoilV, p.CrankDwellS))
	}
	if len(p.Injectors) > 0 {
		s.LowInjectorV, _ = c.LowestV(s.InjectorV)
		in := p.Injectors[0].Data
		s.DeadS = balance.DeadS(s.LowInjectorV, in.DeadAt8S, in.DeadAt14S)
	}
}

// CrankingKgM2 returns the inertia that a starter has to run up, at the crankshaft.
//
//	J = J_engine + i²·J_starter
//
// where i is ring gear over pinion and J_starter the armature's, as felt at the
// pinion.
//
// Valid: a pinion in mesh.
// Accuracy: that of the two inertias, ± 30 %.
// Source: kinetic energy of bodies geared together.
// Errors: none
func CrankingKgM2(engineKgM2, starterKgM2, gearRatio float64) float64 {
	return engineKgM2 + gearRatio*gearRatio*starterKgM2
}

// start records the working of how a start begins.
func (a *accountant) start(s *State) {
	if s.Start == nil || !s.Start.Ended.OK {
		return
	}
	st, k := s.Start, figure.ID(s.Key+"/start")
	ctl := a.v.Design.One("controller").Part.Controller
	run := a.startInputs(s)
	put := func(name string, by *figure.Formula, si float64, unit string, in ...figure.ID) figure.ID {
		a.l.PutLoop(k+"/"+figure.ID(name), by, si, unit, &st.Ended, in...)
		return k + "/" + figure.ID(name)
	}
	put("InertiaKgM2", formula.VehicleCrankingKgM2, a.v.machineKgM2(), "kg·m²",
		a.l.Leaf(a.v.k.engineKgM2), a.l.Leaf(a.v.starterKgM2()), a.l.Leaf(a.v.Design.One("starter").Part.Starter.GearRatio))
	put("InrushA", formula.CrankingRun, st.InrushA, "A", run...)
	put("LowestV", formula.CrankingRun, st.LowestV, "V", run...)
	put("LowestS", formula.CrankingRun, st.LowestS, "ms", run...)
	put("LastingV", formula.CrankingCourseLastingV, st.LastingV, "V", append(run, a.l.Leaf(a.v.bridge()))...)
	put("BelowS", formula.CrankingCourseBelowS, st.BelowS, "ms", append(run, a.l.Leaf(ctl.ResetV))...)
	a.startCoil(st, put, run)
	a.startInjector(st, put, run)
}

// StartFigures are the figures of a cold start, as they are shown.
var StartFigures = []struct {
	Name string
	ID   figure.ID
}{
	{"greatest current of the starter", "crank/start/InrushA"},
	{"lowest voltage at the controller", "crank/start/LowestV"},
	{"after the contact closes", "crank/start/LowestS"},
	{"below the reset voltage for", "crank/start/BelowS"},
	{"lowest that lasts", "crank/start/LastingV"},
	{"lowest at a coil", "crank/start/CoilV"},
	{"energy of a coil then", "crank/start/CoilJ"},
	{"energy of a coil in steady cranking", "crank/coil/EnergyJ"},
	{"lowest at an injector", "crank/start/InjectorV"},
	{"dead time of an injector then", "crank/start/DeadS"},
	{"dead time in steady cranking", "crank/injector/DeadS"},
}

type putFigure func(name string, by *figure.Formula, si float64, unit string, in ...figure.ID) figure.ID

func (a *accountant) startCoil(st *Start, put putFigure, run []figure.ID) {
	coils := a.v.Design.OfKind("coil")
	if len(coils) == 0 || st.LowJ == 0 {
		return
	}
	c := coils[0].Part.Coil
	low := put("CoilV", formula.CrankingRun, st.LowCoilV, "V", run...)
	amps := put("CoilA", formula.BalanceCoilReachedA, math.Sqrt(2*st.LowJ/c.Henry.SI), "A",
		low, a.l.Leaf(c.Ohm), a.l.Leaf(c.Henry), a.l.Leaf(c.ChargeA), a.l.Leaf(a.v.k.coilCrankS))
	put("CoilJ", formula.BalanceEnergyJ, st.LowJ, "mJ", amps, a.l.Leaf(c.Henry))
}

func (a *accountant) startInjector(st *Start, put putFigure, run []figure.ID) {
	for _, c := range a.v.consumers {
		if c.load != nil && c.load.Model == "injector" {
			in := c.part.Injector
			low := put("InjectorV", formula.CrankingRun, st.LowInjectorV, "V", run...)
			if st.LowInjectorV < leastInjectorV {
				return // it may not open at all
			}
			put("DeadS", formula.BalanceDeadS, st.DeadS, "ms", low, a.l.Leaf(in.DeadAt8S), a.l.Leaf(in.DeadAt14S))
			return
		}
	}
}

// startInputs is what the transient rests on.
func (a *accountant) startInputs(s *State) []figure.ID {
	v := a.v
	bat, st := v.Design.One("battery").Part.Battery, v.Design.One("starter").Part.Starter
	e := &v.Design.File.Engine
	k := figure.ID(s.Key)
	return []figure.ID{
		k + "/start/InertiaKgM2", k + "/starter/VoltageV", k + "/battery/VoltageV",
		a.l.Leaf(v.batterySoC()), a.l.Leaf(bat.ColdA), a.l.Leaf(v.batteryAge()), a.l.Leaf(v.k.batteryRatio), a.air(s),
		a.l.Leaf(st.StallA), a.l.Leaf(st.FreeA), a.l.Leaf(st.FreeSpeed), a.l.Leaf(st.RatedV), a.l.Leaf(st.GearRatio), a.l.Leaf(v.starterHenry()),
		a.l.Leaf(v.k.oil40M2PerS), a.l.Leaf(v.k.oil100M2PerS), a.l.Leaf(v.k.oilKgPerM3), a.l.Leaf(v.k.frictionRatio),
		a.l.Leaf(e.BoreM), a.l.Leaf(e.StrokeM), a.l.Leaf(e.RodM), a.l.Leaf(e.CompressionRatio), a.l.Leaf(e.IntakeCloseRad), a.l.Leaf(v.Design.File.Climate.AltitudeM),
	}
}

// machineKgM2 is the nominal inertia.
func (v *Vehicle) machineKgM2() float64 {
	d := figure.Draw{}
	return CrankingKgM2(v.k.engineKgM2.SI*v.geometry(d).DisplacementM3(), v.starterKgM2().SI, v.Design.One("starter").Part.Starter.GearRatio.SI)
}
