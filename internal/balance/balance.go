// Package balance owns the fixed point of the vehicle: electrical supply, fuel,
// engine and alternator solved together in one operating state.
//
// It knows neither design nor loom: it takes a network whose elements it sets,
// the models of pump, injectors, coils and starter, and the engine as response
// tables. Conventions: SI; currents into a load are positive; the battery's
// current is positive when it discharges. Start reading at [Solve].
package balance

import (
	"fmt"
	"math"

	"fettle/internal/alternator"
	"fettle/internal/breathing"
	"fettle/internal/dcnet"
	"fettle/internal/figure"
	"fettle/internal/ignition"
	"fettle/internal/pump"
	"fettle/internal/starter"
)

// Parts are the models that the balance couples.
type Parts struct {
	Net       *dcnet.Network
	Battery   Battery
	Charger   Charger
	Pump      *Pump
	Injectors []Injector
	Coils     []Coil
	Starter   *Starter
	Fuel      Circuit
	// CrankDwellS is the longest dwell while cranking.
	CrankDwellS float64
	Engine      Engine
}

// Battery is the battery: a source behind one resistance when it gives, and
// behind a larger one, which stands for the charge it accepts, when it takes.
type Battery struct {
	Element        dcnet.ElementID
	OpenV          float64
	Ohm, ChargeOhm float64
}

// Charger is the alternator.
type Charger struct {
	Element     dcnet.ElementID
	SetV        float64
	SlopeOhm    float64
	RatedA      float64
	PulleyRatio float64
	TempK       float64
}

// Pump is the fuel pump with its load in the network.
type Pump struct {
	Load  dcnet.ElementID
	Model pump.Model
}

// Injector is one injector with its load in the network.
type Injector struct {
	Load dcnet.ElementID
	Ohm  float64
	Data Metering
}

// Coil is one ignition coil with its load in the network.
type Coil struct {
	Load        dcnet.ElementID
	Ohm, Henry  float64
	ChargeA     float64
	SparksRatio float64 // in one turn of the crankshaft
}

// Starter is the starter motor with its load in the network.
type Starter struct {
	Load      dcnet.ElementID
	Motor     starter.Motor
	GearRatio float64
	// LoadNm is the engine's resistance to cranking at a crankshaft speed.
	LoadNm func(speedRadPerS float64) float64
}

// Circuit is the fuel system between pump and injectors.
type Circuit struct {
	SetPa          float64 // at the regulator, above what it is referred to
	ToManifold     bool    // the regulator is referred to the manifold, else to the atmosphere
	DensityKgPerM3 float64
	// LossPa is what line and filter lose at a flow.
	LossPa func(flowM3PerS float64) float64
}

// Engine is the engine as response tables, with the scale of one draw.
type Engine struct {
	Response    *breathing.Response
	Scale       breathing.Scale
	Cylinders   int
	StoichRatio float64
	FullRatio   float64 // lambda at full power over the tables'
	SweptM3     float64
	CrankK      float64 // air while cranking
}

// State is what the vehicle is doing.
type State struct {
	Name         string
	Switches     dcnet.Switches
	Runs, Cranks bool
	WideOpen     bool
	SpeedRadPerS float64
	RoadW        float64 // what the driveline takes at part load
	AmbientPa    float64
	OpenPa       float64 // manifold pressure with the throttle open; 0 takes the engine's own
	Limit        *Limit  // the engine's speed limit, for a state that asks for the duty there
	CrankPa      float64 // manifold pressure while cranking
}

// Limit is the engine at its speed limit with the throttle open.
type Limit struct{ SpeedRadPerS, OpenPa float64 }

// Point is a solved operating point.
type Point struct {
	Net                dcnet.Solution
	SpeedRadPerS       float64
	ManifoldPa         float64
	AirKgPerS          float64
	WantedKgPerS       float64 // fuel the engine burns at the wanted lambda
	FuelKgPerS         float64 // fuel that reaches it
	LambdaWantedRatio  float64
	LambdaRatio        float64
	PumpV, PumpA       float64
	PumpM3PerS         float64
	PumpMostM3PerS     float64 // what the pump could deliver at the set pressure
	RailPa             float64 // above the atmosphere
	RailSetPa          float64 // what the regulator holds, above the atmosphere
	InjectorV          float64 // the worst injector's
	AcrossPa           float64 // across the injector
	PulseS, DeadS      float64
	DutyFrac           float64
	LimitPulseS        float64 // at the speed limit, when the state asks for it
	LimitDutyFrac      float64
	CoilV              float64 // the worst coil's
	DwellS             float64
	DwellLeftS         float64 // the time between sparks that a coil has for charging
	CoilA              float64 // reached
	TorqueNm           float64
	RoadW              float64
	PowerW             float64
	ExhaustK           float64
	CoolantW           float64
	ChargerA           float64
	ChargerMostA       float64
	ChargerW           float64 // taken from the crankshaft
	BatteryA           float64
	StarterV, StarterA float64
}

const (
	tolRatio   = 1e-9 // the steps end when nothing moves by more than this
	mostSteps  = 80
	dwellRestS = 1.0e-3 // a coil needs this long to fire before it charges again (common practice)
)

// Solve finds the operating point in which supply, fuel, engine and alternator
// agree. Start may be nil, or a point close by.
//
// The steps are successive substitution: network at the loads of the step
// before, pump and rail at the network's voltages, engine at the rail's fuel,
// alternator torque back into the engine. The loop gain is small (the fuel
// side moves the electrical side by a few per cent), so it settles in some ten
// steps; a state that does not settle is answered with Ended.OK false.
func Solve(p *Parts, s State, start *Point) (Point, figure.Ended) {
	pt := first(p, s, start)
	var last figure.Ended
	nodeV := pt.Net.NodeV
	var sol dcnet.Solution // the start's own stays as it is
	for step := 1; step <= mostSteps; step++ {
		before := pt
		p.setLoads(s, &pt)
		if e := p.Net.SolveInto(&sol, s.Switches, nodeV); !e.OK {
			e.Why = fmt.Sprintf("%s: %s", s.Name, e.Why)
			return pt, e
		}
		pt.Net, nodeV = sol, sol.NodeV
		if err := p.update(s, &pt); err != nil {
			return pt, figure.Ended{Steps: step, Why: fmt.Sprintf("%s: %v", s.Name, err)}
		}
		last = figure.Ended{Steps: step, Residual: moved(&before, &pt)}
		if (step > 1 || start != nil && pt.BatteryA < 0 == (before.BatteryA < 0)) && last.Residual < tolRatio {
			last.OK = true
			return pt, last
		}
	}
	last.Why = fmt.Sprintf("%s: supply, fuel and engine did not settle in %d steps; the last step still moved them by %.2g", s.Name, mostSteps, last.Residual)
	return pt, last
}

// first is the point the steps begin from.
func first(p *Parts, s State, start *Point) Point {
	if start != nil {
		return *start
	}
	pt := Point{SpeedRadPerS: s.SpeedRadPerS, RailPa: p.Fuel.SetPa, DutyFrac: 0.1, ManifoldPa: s.AmbientPa / 2}
	if s.WideOpen {
		pt.ManifoldPa, pt.DutyFrac = s.AmbientPa, 0.5
	}
	if s.Cranks {
		pt.ManifoldPa, pt.SpeedRadPerS = s.CrankPa, 20
	}
	if !s.Runs && !s.Cranks {
		pt.DutyFrac = 0
	}
	pt.InjectorV, pt.CoilV = 12, 12
	return pt
}

// moved is the largest relative change between two points of what couples the
// domains.
func moved(a, b *Point) float64 {
	worst := 0.0
	for _, v := range [][2]float64{
		{a.PumpV, b.PumpV},
		{a.RailPa, b.RailPa},
		{a.DutyFrac, b.DutyFrac},
		{a.DwellS, b.DwellS},
		{a.ManifoldPa, b.ManifoldPa},
		{a.ChargerA, b.ChargerA},
		{a.SpeedRadPerS, b.SpeedRadPerS},
		{a.InjectorV, b.InjectorV},
	} {
		if scale := math.Max(math.Abs(v[0]), math.Abs(v[1])); scale > 1e-12 {
			worst = math.Max(worst, math.Abs(v[1]-v[0])/scale)
		}
	}
	return worst
}

// setLoads puts what depends on the rest of the point into the network.
func (p *Parts) setLoads(s State, pt *Point) {
	ohm := p.Battery.Ohm
	if pt.BatteryA < 0 {
		ohm = p.Battery.ChargeOhm
	}
	p.Net.SetSource(p.Battery.Element, p.Battery.OpenV, ohm)
	for _, in := range p.Injectors {
		p.Net.SetLoad(in.Load, dcnet.Average{Model: dcnet.Resistance{Ohm: in.Ohm}, DutyFrac: pt.DutyFrac})
	}
	if p.Pump != nil {
		p.Net.SetLoad(p.Pump.Load, pumpLoad{p.Pump.Model, pt.RailPa + p.Fuel.LossPa(pt.PumpM3PerS)})
	}
	for _, c := range p.Coils {
		p.Net.SetLoad(c.Load, dcnet.Current{CurrentA: coilAverageA(c, pt), DropOutV: coilDropOutV})
	}
	if p.Starter != nil {
		p.Net.SetLoad(p.Starter.Load, starterLoad(p.Starter, s))
	}
	maxA := 0.0
	if s.Runs {
		maxA = alternator.HotOutputA(alternator.OutputA(p.Charger.RatedA, s.SpeedRadPerS*p.Charger.PulleyRatio), p.Charger.TempK)
	}
	pt.ChargerMostA = maxA
	p.Net.SetRegulated(p.Charger.Element, p.Charger.SetV, p.Charger.SlopeOhm, maxA)
}

// coilDropOutV is the supply below which a coil's average current is taken to
// fall in proportion (its igniter stops switching; from memory, 4 … 6 V).
const coilDropOutV = 5

// coilAverageA is the supply current of a coil at the point's speed and dwell.
func coilAverageA(c Coil, pt *Point) float64 {
	if pt.DwellS <= 0 || pt.SpeedRadPerS <= 0 || pt.CoilV <= 0 {
		return 0
	}
	a, err := ignition.AverageA(pt.DwellS, pt.CoilV, c.Ohm, c.Henry, c.SparksRatio*pt.SpeedRadPerS/(2*math.Pi))
	if err != nil {
		return 0
	}
	return a
}

// pumpLoad is the pump as a load of the network at one outlet pressure.
type pumpLoad struct {
	m  pump.Model
	pa float64
}

// At returns the pump's current and its slope at a voltage.
func (l pumpLoad) At(acrossV float64) (currentA, slopeSiemens float64) {
	if acrossV <= 0 {
		return 0, 0
	}
	_, i := l.m.At(acrossV, l.pa)
	return i, l.m.CurrentSlopeAPerV(acrossV, l.pa)
}

// update carries the network's voltages through fuel, engine and alternator.
func (p *Parts) update(s State, pt *Point) error {
	p.readNetwork(s, pt)
	if err := p.engine(s, pt); err != nil {
		return err
	}
	if err := p.fuel(s, pt); err != nil {
		return err
	}
	return p.spark(s, pt)
}

func (p *Parts) readNetwork(s State, pt *Point) {
	pt.BatteryA = -pt.Net.ElementA(p.Battery.Element)
	pt.ChargerA = -pt.Net.ElementA(p.Charger.Element)
	if p.Pump != nil {
		pt.PumpV, pt.PumpA = pt.Net.ElementV(p.Pump.Load), pt.Net.ElementA(p.Pump.Load)
	}
	pt.InjectorV, pt.CoilV = 0, 0 // of a vehicle that has none
	for i, in := range p.Injectors {
		if v := pt.Net.ElementV(in.Load); i == 0 || v < pt.InjectorV {
			pt.InjectorV = v
		}
	}
	for i, c := range p.Coils {
		if v := pt.Net.ElementV(c.Load); i == 0 || v < pt.CoilV {
			pt.CoilV = v
		}
	}
	if p.Starter != nil && s.Cranks {
		pt.StarterV, pt.StarterA = pt.Net.ElementV(p.Starter.Load), pt.Net.ElementA(p.Starter.Load)
		pt.SpeedRadPerS = crankSpeedRadPerS(p.Starter, pt.StarterV)
	}
}
