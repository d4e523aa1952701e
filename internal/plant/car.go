package plant

import (
	"fmt"
	"math"

	"fettle/internal/driveline"
	"fettle/internal/gas"
)

// Car is what the engine drives.
type Car struct {
	Body         driveline.Vehicle
	RollingM     float64 // circumference of the tyre
	AxleRatio    float64
	GearRatio    []float64 // first to top
	Automatic    bool
	StallRadPerS float64 // of the converter, against StallNm
	StallNm      float64
	ClutchNm     float64 // most the clutch, or the converter's own, holds
	GearFrac     float64 // handed on by gearbox and axle
	WheelsKg     float64 // turning parts behind the clutch, as mass at the tyre
	BrakeN       float64 // with the pedal down
}

func (c *Car) check() error {
	if len(c.GearRatio) == 0 {
		return fmt.Errorf("a car without gears")
	}
	for _, r := range []struct {
		name, unit   string
		v, low, high float64
	}{
		{"vehicle mass", "kg", c.Body.MassKg, 100, 50e3},
		{"drag area", "m²", c.Body.DragAreaM2, 0.1, 15},
		{"rolling resistance", "", c.Body.RollingFrac, 0, 0.2},
		{"rolling circumference", "m", c.RollingM, 0.9, 5},
		{"axle ratio", "", c.AxleRatio, 0.5, 20},
		{"first gear", "", c.GearRatio[0], 0.3, 20},
		{"clutch torque", "N·m", c.ClutchNm, 5, 5000},
		{"driveline efficiency", "", c.GearFrac, 0.5, 1},
		{"braking force", "N", c.BrakeN, 500, 5e5},
	} {
		if !(r.v >= r.low && r.v <= r.high) {
			return fmt.Errorf("%s %g %s is outside %g … %g %s", r.name, r.v, r.unit, r.low, r.high, r.unit)
		}
	}
	if c.Automatic && !(c.StallRadPerS >= 80 && c.StallRadPerS <= 650 && c.StallNm > 0) {
		return fmt.Errorf("stall speed %.4g rad/s of the converter is outside 80 … 650 rad/s", c.StallRadPerS)
	}
	return nil
}

// Work is where the crankshaft's work went, in J since the start. It closes: what
// the engine and the starter gave is the sum of the rest.
type Work struct {
	EngineJ    float64 // of the gas less friction and gas exchange
	StarterJ   float64
	AccessoryJ float64 // alternator, air-con compressor
	SlipJ      float64 // clutch or converter
	GearJ      float64 // gearbox and axle
	AirJ       float64
	RollingJ   float64
	ClimbJ     float64 // less what descents gave back
	BrakeJ     float64
	SpinJ      float64 // in the crankshaft, now
	MotionJ    float64 // in the car, now
	DistanceM  float64
	StandingKg float64 // fuel burned at rest
	StandingS  float64
	FuelKg     float64
	DescentM   float64
	AscentM    float64
}

// MissJ is what the account lacks.
//
//	ε = W_e + W_s − Σ W
//
// Valid: any run.
// Accuracy: rounding.
// Source: conservation of energy.
// Errors: none.
func (w *Work) MissJ() float64 {
	return w.EngineJ + w.StarterJ - (w.AccessoryJ + w.SlipJ + w.GearJ + w.AirJ + w.RollingJ + w.ClimbJ + w.BrakeJ + w.SpinJ + w.MotionJ)
}

// converter is pump and turbine torque of a torque converter: torque doubles at
// stall, is handed on plainly from a speed ratio of 0.87 (from memory, common
// practice: ratio about 2 at stall).
func (c *Car) converter(engine, turbine float64) (pumpNm, turbineNm float64) {
	k := c.StallNm / (c.StallRadPerS * c.StallRadPerS)
	fast := math.Max(engine, turbine)
	if fast <= 0 {
		return 0, 0
	}
	ratio := turbine / math.Max(engine, 1e-6)
	if ratio > 1 { // the car drives the engine
		back := k * fast * fast * math.Min(1, (1-engine/turbine)/0.15)
		return -back, -back
	}
	pump := k * fast * fast
	if ratio > 0.85 {
		pump *= (1 - ratio) / 0.15
	} else if ratio > 0 {
		pump *= 1 + 0.15*math.Sin(math.Pi*ratio/0.85) // a little more near the middle
	}
	return pump, pump * math.Max(1, 2-ratio/0.87)
}

// drive moves crankshaft and car to the end of the step and returns how far the
// crankshaft turned.
func (p *Plant) drive(in *Inputs, engineNm, dt float64) (turnRad float64) {
	c := &p.car
	starterNm, _ := p.starterNm(in.StarterOn)
	inertia := p.e.InertiaKgM2 * p.truth.InertiaRatio
	was, roadWas := p.speed, p.roadMPerS
	mass := c.Body.MassKg + c.WheelsKg
	gear := 0.0
	if in.Gear >= 1 && in.Gear <= len(c.GearRatio) {
		gear = c.GearRatio[in.Gear-1] * c.AxleRatio * 2 * math.Pi / c.RollingM // rad/m
	}
	// what moves each side but the coupling
	engine := engineNm + starterNm - p.accessoryNm
	sin, cos := p.slope(in.GradeFrac)
	air := p.airKgPerM3() / 2 * c.Body.DragAreaM2 * p.roadMPerS * math.Abs(p.roadMPerS)
	climb := c.Body.MassKg * gravity * sin
	hold := c.Body.MassKg*gravity*c.Body.RollingFrac*cos + c.BrakeN*math.Max(0, math.Min(1, in.BrakeFrac))

	pumpNm, outNm := 0.0, 0.0 // on the crankshaft, on the gearbox' input
	if gear > 0 {
		turbine := p.roadMPerS * gear
		if c.Automatic {
			pumpNm, outNm = c.converter(was, turbine)
		}
		if !c.Automatic || in.LockUp {
			most := c.ClutchNm
			if !c.Automatic {
				most *= math.Max(0, 1-in.ClutchFrac)
			}
			eta := p.handed(was-turbine, engine)
			free := was + dt*(engine-pumpNm)/inertia
			rest := p.held(p.roadMPerS+dt*(outNm*gear*eta-air-climb)/mass, dt*hold/mass)
			t := (free - rest*gear) / (dt * (1/inertia + gear*gear*eta/mass))
			t = math.Max(-most, math.Min(most, t))
			pumpNm, outNm = pumpNm+t, outNm+t
		}
	}
	if in.HoldRadPerS > 0 { // a brake dynamometer takes or gives what holds the speed
		pumpNm = engine - inertia*math.Max(-300, math.Min(300, (in.HoldRadPerS-was)/dt))
		outNm, gear = 0, 0
	}
	p.speed = was + dt*(engine-pumpNm)/inertia
	if p.speed < 0 || (p.speed < 0.5 && engine < 0) {
		p.speed = 0
	}
	eta := c.GearFrac
	if outNm < 0 {
		eta = 1 / eta
	}
	wheelN := outNm * gear * eta
	p.roadMPerS = p.held(roadWas+dt*(wheelN-air-climb)/mass, dt*hold/mass)

	// the account: work at mean speeds, which is exact for the steps taken
	mean, road := (was+p.speed)/2, (roadWas+p.roadMPerS)/2
	w := &p.Work
	w.SpinJ = inertia * p.speed * p.speed / 2
	spun := inertia * (p.speed*p.speed - was*was) / 2
	w.StarterJ += starterNm * mean * dt
	w.AccessoryJ += p.accessoryNm * mean * dt
	w.EngineJ += spun - (starterNm-p.accessoryNm-pumpNm)*mean*dt // what friction at standstill takes is nothing
	w.SlipJ += (pumpNm*mean - outNm*gear*road) * dt
	w.GearJ += (outNm*gear - wheelN) * road * dt
	w.AirJ += air * road * dt
	w.ClimbJ += climb * road * dt
	w.MotionJ = mass * p.roadMPerS * p.roadMPerS / 2
	moved := mass * (p.roadMPerS*p.roadMPerS - roadWas*roadWas) / 2
	held := (wheelN-air-climb)*road*dt - moved
	if hold > 0 {
		roll := c.Body.MassKg * gravity * c.Body.RollingFrac * cos / hold
		w.RollingJ += held * roll
		w.BrakeJ += held * (1 - roll)
	}
	w.DistanceM += road * dt
	w.AscentM += math.Max(0, sin*road*dt)
	w.DescentM += math.Max(0, -sin*road*dt)
	if p.roadMPerS < 0.1 {
		w.StandingS += dt
		w.StandingKg += p.fuelKg - w.FuelKg
	}
	w.FuelKg = p.fuelKg
	return mean * dt
}

// handed is the efficiency to the wheels, or back from them.
func (p *Plant) handed(slip, engineNm float64) float64 {
	if slip < 0 || (slip == 0 && engineNm < 0) {
		return 1 / p.car.GearFrac
	}
	return p.car.GearFrac
}

// held lets dry friction slow a speed by at most so much, never turn it round.
func (p *Plant) held(speed, by float64) float64 {
	if math.Abs(speed) <= by {
		return 0
	}
	return speed - math.Copysign(by, speed)
}

const gravity = 9.80665 // m/s², ISO 80000-3

func (p *Plant) slope(grade float64) (sin, cos float64) {
	if grade != p.grade {
		p.grade = grade
		p.sin, p.cos = math.Sincos(math.Atan(grade))
	}
	return p.sin, p.cos
}

func (p *Plant) airKgPerM3() float64 {
	if p.airDensity == 0 {
		rho, err := gas.AirKgPerM3(p.day.AmbientPa, p.day.AmbientK)
		if err != nil {
			p.end(err.Error())
		}
		p.airDensity = rho
	}
	return p.airDensity
}
