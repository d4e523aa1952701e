// Package driver is who drives: turns the key, follows a speed over time or
// holds a pedal, brakes, and shifts a gearbox by hand.
//
// Conventions: SI; pedals 0 … 1; a route's time begins when the engine has idled
// for the wait it is given. Start reading at [Route], then [Driver.Step].
package driver

import (
	"math"
	"slices"
)

// Route is a speed over time, with the grade of the road over distance or time.
type Route struct {
	Name       string
	TimeS      []float64
	SpeedMPerS []float64
	GradeFrac  []float64 // at the same times; nil for a level road
}

// EndS is how long the route takes.
func (r *Route) EndS() float64 {
	if len(r.TimeS) == 0 {
		return 0
	}
	return r.TimeS[len(r.TimeS)-1]
}

// At is speed and grade at a time, drawn straight between the route's points.
func (r *Route) At(timeS float64) (speedMPerS, gradeFrac float64) {
	n := len(r.TimeS)
	switch {
	case n == 0 || timeS >= r.TimeS[n-1]:
		return 0, 0
	case timeS <= r.TimeS[0]:
		return r.SpeedMPerS[0], r.grade(0)
	}
	i, found := slices.BinarySearch(r.TimeS, timeS)
	if found {
		return r.SpeedMPerS[i], r.grade(i)
	}
	f := (timeS - r.TimeS[i-1]) / (r.TimeS[i] - r.TimeS[i-1])
	return r.SpeedMPerS[i-1] + f*(r.SpeedMPerS[i]-r.SpeedMPerS[i-1]), r.grade(i-1) + f*(r.grade(i)-r.grade(i-1))
}

func (r *Route) grade(i int) float64 {
	if r.GradeFrac == nil {
		return 0
	}
	return r.GradeFrac[i]
}

// DistanceM is the way that the route asks for.
//
//	s = Σ (v_i + v_{i+1})/2 · (t_{i+1} − t_i)
//
// Valid: any route.
// Accuracy: that of the route's points.
// Source: trapezoidal rule.
// Errors: none.
func (r *Route) DistanceM() float64 {
	sum := 0.0
	for i := 1; i < len(r.TimeS); i++ {
		sum += (r.SpeedMPerS[i] + r.SpeedMPerS[i-1]) / 2 * (r.TimeS[i] - r.TimeS[i-1])
	}
	return sum
}

// Car is what a driver knows of the car.
type Car struct {
	MassKg, RollingFrac, DragAreaM2 float64
	PullN                           float64 // at the wheels, pedal down, in the gear for a speed: about power over speed
	PowerW                          float64
	BrakeN                          float64
	GearRadPerM                     []float64
	Automatic                       bool
	IdleRadPerS, LimitRadPerS       float64
}

// Sees is what a driver sees and feels.
type Sees struct {
	TimeS, RoadMPerS, SpeedRadPerS float64
	EaseOff                        bool
}

// Does is what a driver does.
type Does struct {
	KeyOn, StartKey bool
	PedalFrac       float64
	BrakeFrac       float64
	ClutchFrac      float64
	Gear            int // asked for; an automatic takes 1 for drive
	GradeFrac       float64
}

// Manner is what a driver is asked to do beside the route.
type Manner struct {
	KeyS, StartS, MostCrankS float64 // when the key turns, when the starter is asked for, how long at most
	IdleS                    float64 // idling before the route begins
	Pedal                    func(timeS float64) (pedalFrac float64, ok bool)
}

// Usual turns the key after half a second, lets the pump prime, cranks for ten
// seconds at most and drives off after twenty of idling.
func Usual() Manner { return Manner{KeyS: 0.5, StartS: 3, MostCrankS: 10, IdleS: 20} }

// Driver drives.
type Driver struct {
	car   Car
	route Route
	how   Manner

	startedS  float64 // when the engine ran, −1 before
	beginsS   float64 // the route; a stall does not set it back
	crankS    float64
	sum       float64
	gear      int
	clutch    float64
	shiftS    float64
	next      int
	eased     float64
	pedal     float64
	gaveUp    bool
	lastTimeS float64
}

// New makes a driver.
func New(c Car, r Route, m Manner) *Driver {
	return &Driver{car: c, route: r, how: m, startedS: -1, beginsS: -1, eased: 1, clutch: 1}
}

// GaveUp reports that the engine did not start within the time for cranking.
func (d *Driver) GaveUp() bool { return d.gaveUp }

// BeginsS is when the route began; −1 before.
func (d *Driver) BeginsS() float64 {
	return d.beginsS
}

// Step looks and acts.
func (d *Driver) Step(s Sees) Does {
	dt := math.Max(1e-3, s.TimeS-d.lastTimeS)
	d.lastTimeS = s.TimeS
	out := Does{KeyOn: s.TimeS >= d.how.KeyS, ClutchFrac: 1}
	runs := s.SpeedRadPerS > 0.55*d.car.IdleRadPerS
	if d.startedS < 0 || !runs {
		d.start(s, &out, runs, dt)
		d.clutch, d.gear = 1, 0
		return out
	}
	out.BrakeFrac = 0.3
	if d.how.Pedal != nil {
		if p, ok := d.how.Pedal(s.TimeS - d.startedS); ok {
			out.PedalFrac, out.BrakeFrac, out.ClutchFrac, out.Gear = p, 0, 1, 0 // on the handbrake
			return out
		}
	}
	at := s.TimeS - d.BeginsS()
	if at < 0 || at > d.route.EndS() {
		out.Gear = 0
		return out
	}
	d.follow(s, at, dt, &out)
	return out
}

// start turns the key until the engine runs by itself.
func (d *Driver) start(s Sees, out *Does, runs bool, dt float64) {
	switch {
	case runs && d.startedS < 0:
		d.startedS = s.TimeS
		if d.beginsS < 0 {
			d.beginsS = s.TimeS + d.how.IdleS
		}
	case d.startedS >= 0 && !runs: // it stalled: start again
		d.startedS, d.crankS = -1, 0
	case s.TimeS >= d.how.StartS && !d.gaveUp:
		if d.crankS += dt; d.crankS > d.how.MostCrankS {
			d.gaveUp = true
			return
		}
		out.StartKey = true
	}
}

// follow holds the route's speed: what the road and the acceleration ahead ask
// for, and what is missing.
func (d *Driver) follow(s Sees, at, dt float64, out *Does) {
	const ahead = 0.6 // s that a driver looks ahead
	want, grade := d.route.At(at)
	soon, _ := d.route.At(at + ahead)
	later, _ := d.route.At(at + 2*ahead)
	out.GradeFrac = grade
	if want < 0.05 && soon < 0.05 && s.RoadMPerS < 0.5 {
		out.BrakeFrac, out.Gear, d.sum = 0.5, 1, 0
		d.shift(s, out, 0, dt)
		return
	}
	miss := soon - s.RoadMPerS
	accel := (later - want) / (2 * ahead)
	d.sum = math.Max(-1.5, math.Min(1.5, d.sum+0.15*(want-s.RoadMPerS)*dt))
	force := d.car.MassKg*(accel+0.7*miss+d.sum+9.81*grade+9.81*d.car.RollingFrac) + 0.6*d.car.DragAreaM2*s.RoadMPerS*s.RoadMPerS
	if s.RoadMPerS < 0.3 && want > 0.05 {
		force = math.Max(force, 0.05*d.car.PullN)
	}
	pull := math.Min(d.car.PullN, d.car.PowerW/math.Max(4, s.RoadMPerS))
	if s.EaseOff {
		d.eased = math.Max(0.05, math.Min(d.eased, d.pedal)-1.5*dt) // from where the foot is
	} else {
		d.eased = math.Min(1, d.eased+0.15*dt)
	}
	switch {
	case force > 0:
		out.PedalFrac, out.BrakeFrac = math.Min(d.eased, math.Sqrt(force/pull)*0.95), 0
	case force > -0.35*d.car.MassKg: // lifting is enough
		out.BrakeFrac = 0
	default:
		out.BrakeFrac = math.Min(1, (-force-0.35*d.car.MassKg)/d.car.BrakeN)
	}
	d.pedal += math.Max(-4*dt, math.Min(2.5*dt, out.PedalFrac-d.pedal)) // a foot takes time
	out.PedalFrac = math.Max(0, d.pedal)
	out.Gear = 1
	d.shift(s, out, out.PedalFrac, dt)
}

// shift moves clutch and lever of a gearbox shifted by hand.
func (d *Driver) shift(s Sees, out *Does, pedal, dt float64) {
	if d.car.Automatic {
		out.Gear, out.ClutchFrac = 1, 0
		return
	}
	n := len(d.car.GearRadPerM)
	d.shiftS -= dt
	if d.gear == 0 {
		d.gear, d.next = 1, 1
	}
	limit := d.car.LimitRadPerS
	engine := s.RoadMPerS * d.car.GearRadPerM[d.gear-1]
	if d.shiftS <= 0 && d.next == d.gear {
		switch {
		case d.gear < n && engine > limit*(0.36+0.45*pedal) && s.RoadMPerS*d.car.GearRadPerM[d.gear] > 0.2*limit:
			d.next, d.shiftS = d.gear+1, 0.5
		case d.gear > 1 && (engine < 0.19*limit || pedal > 0.8 && s.RoadMPerS*d.car.GearRadPerM[d.gear-2] < 0.6*limit):
			d.next, d.shiftS = d.gear-1, 0.5
		}
	}
	if d.next != d.gear { // clutch down, lever over, clutch up
		out.PedalFrac, d.pedal = 0, 0
		d.clutch = math.Min(1, d.clutch+dt/0.12)
		if d.shiftS < 0.25 {
			d.gear, d.shiftS = d.next, 0.9
		}
		out.Gear, out.ClutchFrac = d.gear, d.clutch
		return
	}
	engine = s.RoadMPerS * d.car.GearRadPerM[d.gear-1]
	slow := d.car.IdleRadPerS * 0.95
	switch {
	case engine > slow*1.1:
		d.clutch = math.Max(0, d.clutch-dt/0.4)
	case pedal <= 0: // rolling to a stop, or standing
		d.clutch = math.Min(1, d.clutch+dt/0.15)
	default: // setting off: let the clutch bite as far as the engine holds its speed
		target := d.car.IdleRadPerS * (1.15 + 0.8*pedal)
		d.clutch = math.Max(0.05, math.Min(1, d.clutch-dt*0.03*math.Max(-30, math.Min(15, s.SpeedRadPerS-target))))
		d.clutch = math.Min(d.clutch, 0.97)
	}
	out.Gear, out.ClutchFrac = d.gear, d.clutch
}
