// Package plant is the engine and the car as they are: a mean-value engine with
// manifold filling, a film of fuel on the port walls, combustion cylinder by
// cylinder, crank inertia, friction and warm-up; battery, starter and
// alternator; throttle, phaser and charger; driveline and road load; and the
// sensors, with their noise and lag. It knows nothing of what controls it.
//
// Conventions: coherent SI; manifold pressures absolute; torque at the
// crankshaft; spark advance before top dead centre; openings, duties and pedals
// 0 … 1. A truth, drawn by a seed, stands between what is computed for an engine
// and what this one does. Time goes in fixed steps: manifold pressure and all
// dry friction (clutches, brakes, tyres at rest) are solved at the end of the
// step, all else at its beginning, so that steps up to 4 ms are stable; at 2 ms
// figures stand within 1 % of those at half of it. Start reading at [New], then
// [Plant.Step].
package plant

import (
	"fmt"
	"math"
	"math/rand/v2"

	"fettle/internal/figure"
	"fettle/internal/starter"
)

// Inputs is what the actuators, the driver and the road do to the plant.
type Inputs struct {
	StarterOn, PumpOn, FanOn bool
	AirConOn                 bool // the compressor's clutch
	FuelOn, SparkOn          bool
	PulseS                   float64 // of each injection, dead time included
	SparkRad, DwellS         float64
	ThrottleFrac             float64 // duty of the plate's motor, −1 … 1
	IdleFrac                 float64 // opening of the idle air valve
	PhaserFrac               float64 // duty of the intake phaser's solenoid; 0.5 holds
	ExhaustPhaserFrac        float64
	WastegateFrac            float64 // 1 keeps it shut
	PedalFrac                float64
	BrakeFrac                float64
	ClutchFrac               float64 // pedal: 1 is fully down
	Gear                     int     // 0 is neutral
	LockUp                   bool    // the converter's clutch
	HoldRadPerS              float64 // a brake dynamometer holds the crankshaft at it; 0 without
	GradeFrac                float64
}

// Day is the weather and the state the car is found in.
type Day struct {
	AmbientPa, AmbientK float64
	CoolantK            float64 // at the start; the whole engine stands at it
	ChargeFrac          float64 // of the battery
}

// cylinderEvents bounds the queues of charges on their way.
const cylinderEvents = 64

// charge is one cylinder's filling.
type charge struct {
	airKg, fuelKg, burnKg float64 // fuel: all of it, and what is vapour
	pa, speed             float64
}

// state is all that changes with time.
type state struct {
	timeS                            float64
	speed                            float64 // rad/s
	turnRad                          float64 // since the last intake event
	manifoldPa, upPa                 float64
	plate, plateRate                 float64
	phaser, exhaustPhaser            float64 // rad, earlier and later than parked
	headFrac                         float64 // of the air-con's head
	railVapour                       float64 // share of what the injectors meter
	ended                            figure.Ended
	filmKg                           float64
	coolantK, oilK, warmK            float64 // warmK: the intake valve above the coolant
	soc, alternator                  float64 // alternator: share of excitation
	busV                             float64
	railPa, builtPa, followPa        float64 // of the fuel above the atmosphere: by the pump, and by a regulator that follows the manifold
	roadMPerS                        float64
	events                           int
	latched                          [cylinderEvents]float64 // kg injected, by event
	charges                          [cylinderEvents]charge
	gross                            float64 // N·m, of the event that burns now
	burning                          charge
	exhaustK, flow                   float64
	fired                            int
	firstFireS                       float64
	knock, worstKnock                float64
	knockAt                          Knocked
	oilPa                            float64
	starterA, loadA, alternatorA     float64
	airKg, fuelKg, wasteKg, injected float64
	heatInJ, heatOutJ                float64
	throughKgPerS, idleFrac          float64
	accessoryNm, draughtFrac         float64
	restV, restOhm                   float64
	steps                            int
	grade, sin, cos, airDensity      float64
}

// Knocked is where the knock integral was greatest.
type Knocked struct {
	Count                              float64 // the integral
	SpeedRadPerS, ManifoldPa, SparkRad float64
	LambdaRatio, TimeS                 float64
}

// Plant is one engine in one car.
type Plant struct {
	e     Engine
	car   Car
	day   Day
	truth Truth
	maps  maps
	pipe  pipe
	sense sensors
	state
	Work Work
	// StarveFrac takes so much of the fuel's pressure away, as a clogged filter does.
	StarveFrac float64
	rng        *rand.Rand
}

// New puts an engine into a car.
func New(e Engine, c Car, d Day, seed uint64) (*Plant, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	if err := c.check(); err != nil {
		return nil, err
	}
	var err error
	p := &Plant{e: e, car: c, day: d, truth: e.Truth, maps: *e.maps, rng: rand.New(rand.NewPCG(seed, 0x5eed))}
	p.manifoldPa, p.upPa = d.AmbientPa, d.AmbientPa
	p.coolantK, p.oilK = d.CoolantK, d.CoolantK
	p.soc, p.busV = d.ChargeFrac, 12
	p.railVapour, p.ended.OK = d.soak(), true
	if p.restV, p.restOhm, err = p.rest(); err != nil {
		return nil, err
	}
	p.plate = restFrac
	p.exhaustK = d.AmbientK
	p.firstFireS, p.cos = -1, 1
	if e.Cable {
		p.plate = 0
	}
	p.pipe.reset()
	p.sense.reset(p)
	return p, nil
}

// CheckAmbient refuses air outside that is colder or hotter than a start is
// simulated in.
func CheckAmbient(ambientK float64) error {
	if !(ambientK >= 243.149 && ambientK <= 333.151) {
		return fmt.Errorf("outside temperature %.4g °C is outside -30 … 60 °C", ambientK-273.15)
	}
	return nil
}

func (d Day) check() error {
	switch {
	case !(d.AmbientPa >= 50e3 && d.AmbientPa <= 110e3):
		return fmt.Errorf("ambient pressure %.4g kPa is outside 50 … 110 kPa", d.AmbientPa/1e3)
	case CheckAmbient(d.AmbientK) != nil:
		return CheckAmbient(d.AmbientK)
	case !(d.CoolantK >= 243.149 && d.CoolantK <= 393.15):
		return fmt.Errorf("coolant temperature %.4g °C is outside -30 … 120 °C", d.CoolantK-273.15)
	case !(d.ChargeFrac >= 0.2 && d.ChargeFrac <= 1):
		return fmt.Errorf("state of charge %.3g is outside 0.2 … 1", d.ChargeFrac)
	}
	return nil
}

// Ended is how the run stands: not OK from the moment that it could not be
// computed any further, with the reason and the time; nothing moves from there.
func (p *Plant) Ended() figure.Ended { return p.ended }

// end stops the plant where it is.
func (p *Plant) end(why string) {
	if p.ended.OK {
		p.ended = figure.Ended{Steps: p.steps, Why: fmt.Sprintf("at %.2f s: %s", p.timeS, why)}
	}
}

// Step moves the plant on; one that has ended stands still.
func (p *Plant) Step(in *Inputs, dtS float64) {
	if !p.ended.OK {
		return
	}
	p.actuators(in, dtS)
	p.electrics(in, dtS)
	p.filling(dtS)
	drag := p.dragNm()
	turn := p.drive(in, p.gross-drag, dtS)
	p.turnRad += turn
	each := 4 * math.Pi / float64(p.e.Geometry.CylinderCount)
	for p.turnRad >= each {
		p.turnRad -= each
		p.event(in, each)
	}
	p.coast(dtS)
	p.heat(dtS, drag)
	p.timeS += dtS
	p.watch()
}

// watch ends a run that has lost its numbers.
func (p *Plant) watch() {
	for _, v := range [...]struct {
		name string
		v    float64
	}{
		{"crankshaft's speed", p.speed},
		{"manifold's pressure", p.manifoldPa},
		{"coolant's temperature", p.coolantK},
		{"battery's voltage", p.busV},
		{"road speed", p.roadMPerS},
		{"film on the port walls", p.filmKg},
	} {
		if math.IsNaN(v.v) || math.IsInf(v.v, 0) {
			p.end("the " + v.name + " is no number any more")
			return
		}
	}
}

// coast lets what the last event gave fade when the engine stands.
func (p *Plant) coast(dt float64) {
	if p.speed < 5 {
		p.gross -= p.gross * math.Min(1, dt/0.05)
	}
}

// event is one cylinder drawing in, one burning and one blowing out.
func (p *Plant) event(in *Inputs, eachRad float64) {
	n := p.e.Geometry.CylinderCount
	p.events++
	k := p.events
	injected := 0.0
	if in.FuelOn {
		injected = p.injectedKg(in.PulseS)
	}
	p.injected += injected
	p.latched[(k+(n+3)/4)%cylinderEvents] = injected
	speed := math.Max(p.speed, 5)
	c := p.draw(p.latched[k%cylinderEvents], eachRad/speed)
	p.latched[k%cylinderEvents] = 0
	p.charges[k%cylinderEvents] = c
	p.airKg += c.airKg
	p.fuelKg += c.fuelKg
	if k > (n+1)/2 {
		p.burn(in, p.charges[(k-(n+1)/2)%cylinderEvents])
	}
	if out := (3*n + 3) / 4; k > out {
		g := p.charges[(k-out)%cylinderEvents]
		p.pipe.push(g.airKg+g.fuelKg, g.fuelKg*p.e.Fuel.StoichRatio/math.Max(g.airKg, 1e-9))
		p.flow += ((g.airKg+g.fuelKg)*speed/eachRad - p.flow) * math.Min(1, 2/float64(n))
	}
}

// draw fills one cylinder: air by the manifold, fuel by the film.
func (p *Plant) draw(injectedKg, overS float64) charge {
	air := p.volEff() * p.manifoldPa * p.e.Geometry.SweptM3() / (airR * p.chargeK())
	t := p.coolantK + p.warmK
	x := math.Min(0.95, p.truth.FilmRatio*filmFrac(t))
	tau := p.truth.FilmTimeRatio * filmS(t)
	stays := math.Exp(-overS / tau)
	arrives := (1-x)*injectedKg + p.filmKg*(1-stays)
	p.filmKg = p.filmKg*stays + x*injectedKg
	vapour := p.truth.vapour(vapourFrac(t + vacuumK*math.Max(0, 1-p.manifoldPa/p.day.AmbientPa)))
	p.wasteKg += arrives * (1 - vapour)
	return charge{airKg: air, fuelKg: arrives, burnKg: arrives * vapour, pa: p.manifoldPa, speed: p.speed}
}

// burn turns one filling into work.
func (p *Plant) burn(in *Inputs, c charge) {
	p.burning = c
	p.gross, p.knock = 0, 0
	lambda := math.Inf(1)
	if c.burnKg > 0 {
		lambda = c.airKg / (c.burnKg * p.e.Fuel.StoichRatio)
	}
	share := burnsFrac(lambda)
	if !in.SparkOn || !p.sparks(in.DwellS) || share == 0 {
		p.burning.burnKg = 0
		p.exhaustK += 0.1 * (p.chargeK() + 60 - p.exhaustK)
		return
	}
	at := p.maps.at(c.speed, c.pa)
	best := at.of(p.maps.best) + p.truth.SparkRad
	work := at.of(p.maps.perAir) * c.airKg * p.truth.WorkRatio * workRatio(lambda) * sparkFrac(best-in.SparkRad) * share
	p.gross = work * float64(p.e.Geometry.CylinderCount) / (4 * math.Pi)
	p.burning.burnKg = math.Min(c.burnKg, c.airKg/p.e.Fuel.StoichRatio) * share
	late := math.Max(0, best-in.SparkRad)
	p.exhaustK += 0.1 * (at.of(p.maps.exhaust) + lateK*late - richK*math.Max(0, 1-lambda) - p.exhaustK)
	p.fired++
	if p.firstFireS < 0 && p.fired >= p.e.Geometry.CylinderCount {
		p.firstFireS = p.timeS
	}
	if p.e.Knock != nil && c.speed > 40 {
		p.knock = p.e.Knock.count(c.speed, c.pa, in.SparkRad, p.chargeK())
		if p.knock > p.worstKnock {
			p.worstKnock = p.knock
			p.knockAt = Knocked{p.knock, c.speed, c.pa, in.SparkRad, lambda, p.timeS}
		}
	}
}

// What a late spark and a rich mixture do to the exhaust: 4 K a degree, 60 K for
// a tenth of lambda (from memory, a quarter either way).
const lateK, richK = 229, 600

// starterNm is the starter's torque at the crankshaft and its current.
func (p *Plant) starterNm(on bool) (torqueNm, currentA float64) {
	if !on || p.e.Starter.Motor.Ohm == 0 {
		return 0, 0
	}
	s := &p.e.Starter
	currentA = s.Motor.CurrentA(p.restV, p.restOhm+s.LeadOhm, p.speed*s.GearRatio)
	return math.Max(0, s.GearRatio*meshFrac*s.Motor.TorqueNm(currentA)), currentA
}

const meshFrac = 0.90 // pinion to ring gear: common practice

// dragNm is friction, gas exchange and, while the engine is slow, what the
// compression strokes lose.
func (p *Plant) dragNm() float64 {
	if p.speed <= 0 {
		return p.truth.FrictionRatio * p.crankNm(0)
	}
	at := p.maps.at(p.speed, p.manifoldPa)
	warm := at.of(p.maps.drag)
	rubbing := p.maps.at(p.speed, p.day.AmbientPa).of(p.maps.drag)
	d := warm + (p.maps.coldRatio(p.speed, p.oilViscosity())-1)*rubbing
	if fade := math.Min(1, (60-p.speed)/30); fade > 0 { // the starter's law below idle
		d += fade * math.Max(0, p.crankNm(p.speed)-d)
	}
	return p.truth.FrictionRatio * d
}

func (p *Plant) crankNm(speed float64) float64 {
	return starter.LoadNm(p.e.Geometry.DisplacementM3(), p.oilViscosity(), math.Min(speed, 60))
}

// oilViscosity holds the oil's law at its ends; it is told for −30 … 150 °C.
func (p *Plant) oilViscosity() float64 {
	return p.maps.viscosity(p.oilK)
}
