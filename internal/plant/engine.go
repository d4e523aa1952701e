package plant

import (
	"fmt"
	"math"

	"fettle/internal/breathing"
	"fettle/internal/crank"
	"fettle/internal/cycle"
	"fettle/internal/gas"
	"fettle/internal/petrol"
	"fettle/internal/starter"
)

const airR = gas.AirJPerKgK

// Engine is an engine ready to be run.
type Engine struct {
	Geometry crank.Geometry
	Fuel     petrol.Fuel
	Truth    Truth

	IdleRadPerS, MaxRadPerS float64
	AmbientPa, BoostPa      float64
	PhaserRad               float64 // travel of the intake phaser; 0 without
	ExhaustPhaserRad        float64 // travel of the exhaust's, which moves later
	AirConNm                float64 // of the compressor's at the crankshaft; 0 without
	Cable                   bool    // the pedal pulls the plate, idle air comes by a valve
	InertiaKgM2             float64 // crankshaft with flywheel or converter
	ManifoldM3              float64
	ThrottleM2              float64 // effective area, wide open
	IdleM2                  float64 // of the idle valve, wide open; 0 with a motor at the plate
	ExhaustM3               float64 // from the valves to the lambda sensor

	Injector   Injector
	Coil       Coil
	Starter    Starter
	Battery    Battery
	Alternator Alternator
	Oil        starter.Oil
	Knock      *Knock
	// Response, where it comes from the crank-angle cycle, is what the engine
	// breathes at the cams that it holds; nil: the intake stroke alone.
	Response *breathing.Response

	maps *maps
}

// Injector is the injectors of an engine, one a cylinder.
type Injector struct {
	FlowKgPerS         float64 // open, at the rail's set pressure above the manifold's 100 kPa
	DeadS              [2]float64
	SetPa              float64 // rail above the atmosphere
	RatedPa            float64 // across it where its dead time is told
	ManifoldReferenced bool
	FeedV              float64 // lost between battery and injector
}

// Coil is the ignition coil.
type Coil struct{ Ohm, Henry, LeastJ float64 }

// Starter is the starter with its leads.
type Starter struct {
	Motor     starter.Motor
	GearRatio float64
	LeadOhm   float64 // from the battery's posts and back
}

// Battery is the battery.
type Battery struct {
	ColdA      float64 // cold-cranking rating
	CapacityAs float64
	AcceptOhm  float64 // that charging sees
}

// Alternator is the alternator.
type Alternator struct {
	RatedA, SetV, SlopeOhm, PulleyRatio float64
	LoadA                               float64 // what the running vehicle takes without pump and fan
	FanA, PumpA                         float64
}

const (
	speedCount, pressureCount = 22, 16
	leastPa                   = 15e3
	leastRadPerS              = 20.0
	phases                    = 5
)

// maps is the engine over speed and manifold pressure on even axes.
type maps struct {
	speed0, speedStep, pa0, paStep       float64
	ve                                   [][]float64 // by phaser position, parked to full advance
	perAir, best, drag, exhaust, coolant []float64
	oil                                  starter.Oil
	cold                                 [8][6]float64 // friction over warm, by speed and log of viscosity
	viscosities                          [90]float64   // by 2 K from −30 °C
	warm, speedMost                      float64       // viscosity of warm oil; last speed of cold
	chargeK                              float64       // that the tables hold for
	exhaustCams                          []float64     // air with the exhaust cam moved all the way over that with it parked; nil without
	exhaustTravel                        float64
	bestPhase                            []float64 // by speed: the phaser's share of its travel for most air, open throttle
}

// place is a place among the cells.
type place struct {
	k        int
	u, v     float64 // within the cell
	uAll, vA float64 // of the whole axes
}

func (m *maps) at(speed, pa float64) place {
	x := math.Max(0, math.Min(float64(speedCount-1)-1e-9, (speed-m.speed0)/m.speedStep))
	y := math.Max(0, math.Min(float64(pressureCount-1)-1e-9, (pa-m.pa0)/m.paStep))
	i, j := int(x), int(y)
	return place{i*pressureCount + j, x - float64(i), y - float64(j), x / (speedCount - 1), y / (pressureCount - 1)}
}

func (w place) of(z []float64) float64 {
	a, b := z[w.k], z[w.k+1]
	c, d := z[w.k+pressureCount], z[w.k+pressureCount+1]
	top := a + w.v*(b-a)
	return top + w.u*(c+w.v*(d-c)-top)
}

// Make computes an engine's tables. In is the engine as the design has it; the
// rest of e stands as given.
func Make(e Engine, in breathing.Input) (Engine, error) {
	e.Geometry, e.Fuel = in.Geometry, in.Fuel
	e.ExhaustPhaserRad = in.Cycle.ExhaustPhaserRad
	e.IdleRadPerS, e.MaxRadPerS, e.AmbientPa, e.BoostPa, e.PhaserRad = in.IdleRadPerS, in.MaxRadPerS, in.AmbientPa, in.BoostPa, in.IntakePhaserRad
	m := &maps{oil: e.Oil, chargeK: in.ChargeK}
	top := math.Min(1500, in.MaxRadPerS*1.05)
	m.speed0, m.speedStep = leastRadPerS, (top-leastRadPerS)/(speedCount-1)
	most := math.Max(in.AmbientPa, gas.StandardPa) + in.BoostPa
	m.pa0, m.paStep = leastPa, (most*1.02-leastPa)/(pressureCount-1)
	in.MaxRadPerS = top
	in.SpeedRadPerS, in.ManifoldPa = even(m.speed0, m.speedStep, speedCount), even(m.pa0, m.paStep, pressureCount)
	travel := in.IntakePhaserRad
	in.IntakePhaserRad = 0
	n := 1
	if travel > 0 {
		n = phases
	}
	for i := range n {
		moved := in
		if n > 1 {
			by := travel * float64(i) / (phases - 1)
			moved.IntakeOpensRad, moved.IntakeClosesRad = in.IntakeOpensRad+by, math.Max(0, in.IntakeClosesRad-by)
		}
		r, err := breathing.Solve(moved)
		if err != nil {
			return e, fmt.Errorf("engine: %w", err)
		}
		m.ve = append(m.ve, r.VolEffFrac.Z)
		if i == 0 {
			if err := m.fill(r, &in); err != nil {
				return e, err
			}
		}
	}
	m.phase(&in)
	if err := m.exhaustCam(&in); err != nil {
		return e, err
	}
	m.breathe(e.Response, travel)
	if err := m.friction(&e); err != nil {
		return e, err
	}
	e.maps = m
	return e, e.check()
}

func even(from, step float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = from + step*float64(i)
	}
	return out
}

// fill takes work per air at lambda 1 and best spark, and the rest, from a response.
func (m *maps) fill(r *breathing.Response, in *breathing.Input) error {
	n := len(r.TorqueNm.Z)
	m.perAir, m.best, m.drag, m.exhaust, m.coolant = make([]float64, n), r.BestRad.Z, r.DragNm.Z, r.ExhaustK.Z, make([]float64, n)
	for k := range n {
		air, speed := r.AirKgPerS.Z[k], in.SpeedRadPerS[k/pressureCount]
		byLambda, err := breathing.LambdaWorkRatio(r.LambdaRatio.Z[k])
		if err != nil {
			return err
		}
		bySpark, err := breathing.SparkWorkFrac(r.BestRad.Z[k] - r.SparkRad.Z[k])
		if err != nil {
			return err
		}
		if air > 0 && r.GrossNm.Z[k] > 0 {
			m.perAir[k] = r.GrossNm.Z[k] * speed / (air * byLambda * bySpark)
			m.coolant[k] = r.CoolantW.Z[k] / (r.FuelKgPerS.Z[k] * in.Fuel.HeatingJPerKg * math.Min(1, r.LambdaRatio.Z[k]))
		}
	}
	// where the tables hold nothing that burns, the next cell's work stands
	for k := n - 2; k >= 0; k-- {
		if m.perAir[k] == 0 && (k+1)%pressureCount != 0 {
			m.perAir[k], m.coolant[k] = m.perAir[k+1], m.coolant[k+1]
		}
	}
	return nil
}

// phase finds for each speed the phaser position of most air with open throttle.
func (m *maps) phase(in *breathing.Input) {
	m.bestPhase = make([]float64, speedCount)
	for i := range speedCount {
		w := m.at(m.speed0+m.speedStep*float64(i), in.WideOpenPa(m.speed0+m.speedStep*float64(i)))
		most := 0.0
		for j, z := range m.ve {
			if v := w.of(z); v > most {
				most = v
				if len(m.ve) > 1 {
					m.bestPhase[i] = float64(j) / float64(len(m.ve)-1)
				}
			}
		}
	}
}

// bestPhaserRad is the phaser position of most air with open throttle, as
// computed, at a speed.
func (e *Engine) bestPhaserRad(speed float64) float64 {
	x := math.Max(0, math.Min(speedCount-1, (speed-e.maps.speed0)/e.maps.speedStep))
	i := min(int(x), speedCount-2)
	f := x - float64(i)
	return e.PhaserRad * ((1-f)*e.maps.bestPhase[i] + f*e.maps.bestPhase[i+1])
}

// PhaserTargetsRad tabulates the phaser position of most air with open throttle, as
// computed for the engine, over speeds.
func (e *Engine) PhaserTargetsRad(speedRadPerS []float64) []float64 {
	out := make([]float64, len(speedRadPerS))
	for i, n := range speedRadPerS {
		out[i] = e.bestPhaserRad(n)
	}
	return out
}

// friction tabulates what cold oil adds, and the oil.
func (m *maps) friction(e *Engine) error {
	for i := range m.viscosities {
		mu, err := e.Oil.ViscosityPaS(243.15 + 2*float64(i))
		if err != nil {
			return fmt.Errorf("oil: %w", err)
		}
		m.viscosities[i] = mu
	}
	m.warm = m.viscosity(warmOilK)
	for i := range m.cold {
		speed := math.Max(leastRadPerS, e.MaxRadPerS*float64(i)/float64(len(m.cold)-1))
		warm, err := cycle.FrictionPa(e.Geometry, speed, 1, 1, 2, 0.009)
		if err != nil {
			return fmt.Errorf("friction: %w", err)
		}
		for j := range m.cold[i] {
			f, err := cycle.FrictionPa(e.Geometry, speed, 1, math.Exp(coldStep*float64(j)), 2, 0.009)
			if err != nil {
				return fmt.Errorf("friction: %w", err)
			}
			m.cold[i][j] = f / warm
		}
	}
	m.speedMost = e.MaxRadPerS
	return nil
}

const (
	warmOilK = 363.15
	coldStep = 0.9 // of the logarithm of viscosity over warm
)

// coldRatio is friction over that with warm oil.
func (m *maps) coldRatio(speed, viscosity float64) float64 {
	x := math.Max(0, math.Min(float64(len(m.cold)-1)-1e-9, speed/m.speedMost*float64(len(m.cold)-1)))
	y := math.Max(0, math.Min(float64(len(m.cold[0])-1)-1e-9, math.Log(viscosity/m.warm)/coldStep))
	i, j := int(x), int(y)
	u, v := x-float64(i), y-float64(j)
	return (1-u)*((1-v)*m.cold[i][j]+v*m.cold[i][j+1]) + u*((1-v)*m.cold[i+1][j]+v*m.cold[i+1][j+1])
}

func (m *maps) viscosity(oilK float64) float64 {
	x := math.Max(0, math.Min(float64(len(m.viscosities)-1)-1e-9, (oilK-243.15)/2))
	i := int(x)
	return m.viscosities[i] + (x-float64(i))*(m.viscosities[i+1]-m.viscosities[i])
}

// check names the first value that can't be.
func (e *Engine) check() error {
	for _, r := range []struct {
		name, unit   string
		v, low, high float64
	}{
		{"crank inertia", "kg·m²", e.InertiaKgM2, 0.005, 5},
		{"manifold volume", "m³", e.ManifoldM3, 1e-5, 0.1},
		{"throttle area", "m²", e.ThrottleM2, 1e-5, 0.1},
		{"idle valve area", "m²", e.IdleM2, 0, 0.01},
		{"exhaust volume to the lambda sensor", "m³", e.ExhaustM3, 1e-5, 0.1},
		{"injector flow", "kg/s", e.Injector.FlowKgPerS, 1e-4, 0.1},
		{"rail pressure", "Pa", e.Injector.SetPa, 1e5, 1e6},
		{"rated pressure of the injector", "Pa", e.Injector.RatedPa, 1e5, 1e6},
		{"torque of the air-con compressor", "N·m", e.AirConNm, 0, 60},
		{"coil resistance", "Ω", e.Coil.Ohm, 0.05, 10},
		{"coil inductance", "H", e.Coil.Henry, 1e-4, 0.05},
		{"cold-cranking rating", "A", e.Battery.ColdA, 50, 2000},
		{"battery capacity", "A·s", e.Battery.CapacityAs, 3600, 1e7},
		{"charging resistance", "Ω", e.Battery.AcceptOhm, 1e-3, 10},
		{"alternator rating", "A", e.Alternator.RatedA, 5, 500},
		{"starter gear ratio", "", e.Starter.GearRatio, 5, 100},
	} {
		if !(r.v >= r.low && r.v <= r.high) {
			return fmt.Errorf("%s %g %s is outside %g … %g %s", r.name, r.v, r.unit, r.low, r.high, r.unit)
		}
	}
	if e.Cable && e.IdleM2 == 0 {
		return fmt.Errorf("a cable throttle without an idle air valve: the engine has no way to its idle air")
	}
	if e.Knock != nil {
		if err := e.Knock.check(); err != nil {
			return err
		}
	}
	return e.Starter.Motor.Check()
}
