// Package control is a controller as one stands in a car: it reads sensors and
// runs tables, and knows neither the engine nor the car behind them.
//
// It meters by speed and density, gives the film on the port walls its due,
// closes the loop on lambda and learns from it, cranks, warms up, holds idle,
// moves throttle, phaser and wastegate to their targets, shifts an automatic,
// cuts fuel on the over-run, and protects: load cap until it has learned, lean
// cut, knock, rev limit, oil pressure, heat, disagreeing pedal tracks.
//
// Conventions: tables are in the units that are read off an engine (rpm, kPa,
// °C, V, °, ms), everything else is coherent SI. It is called every [PeriodS];
// the throttle's motor more often. A table holds its edge beyond its axes, as
// tables of controllers do. Start reading at [Controller.Step].
package control

import (
	"fmt"
	"math"

	"fettle/internal/table"
)

// PeriodS is the time between two steps.
const PeriodS = 0.01

// Sensors is what the controller is told.
type Sensors struct {
	KeyOn, StartKey         bool
	SpeedRadPerS, TurnRad   float64
	ManifoldPa, UpPa        float64
	AmbientPa               float64
	PlateFrac               float64
	PedalFrac, PedalTwoFrac float64 // the second track gives half of the first
	BrakeFrac               float64
	CoolantK, ChargeK       float64
	LambdaRatio             float64
	LambdaReady             bool
	BatteryV                float64
	RoadMPerS               float64
	KnockCount              float64
	OilPa, OilK             float64
	PhaserRad               float64
	ExhaustPhaserRad        float64
	AirConOn                bool // the driver's switch
	Gear                    int  // of a gearbox that the driver shifts
	ClutchFrac              float64
}

// Commands is what it does.
type Commands struct {
	PumpOn, FanOn, StarterOn, FuelOn, SparkOn bool
	AirConOn                                  bool // the compressor's clutch
	PulseS, SparkRad, DwellS                  float64
	PrimePulseS                               float64 // once, before the engine turns
	PlateFrac                                 float64 // target of a motor throttle
	IdleFrac, PhaserFrac, WastegateFrac       float64
	ExhaustPhaserFrac                         float64
	Gear                                      int
	LockUp                                    bool
	EaseOff                                   bool // lamp: the driver is asked to press less
	LambdaTargetRatio, TrimRatio              float64
	PhaserTargetRad, KnockRetardRad           float64
	ExhaustTargetRad                          float64
	Status                                    Status
}

// Status is what the controller is doing.
type Status int

// The states.
const (
	Off Status = iota
	Priming
	Cranking
	Warming
	Running
	OverRun
	LeanCut
	SpeedCut
	PressureCut
	FloodClear
	Stopped // by its protection, until the key goes off
)

// String is the state in words.
func (s Status) String() string {
	words := [...]string{"off", "priming", "cranking", "warming", "running", "over-run", "lean cut", "speed limit", "pressure cut", "flood clear", "stopped"}
	if int(s) < len(words) {
		return words[s]
	}
	return fmt.Sprintf("state %d", int(s))
}

// Controller runs the tables.
type Controller struct {
	t   Tables
	s   Settings
	in  Sensors // filtered
	cmd Commands

	clockS, keyS, noCrankS, runS float64
	speed, pa, paRate, paFast    float64
	synced, crankSeen            bool
	syncRad                      float64
	everRan                      bool
	stopped                      string

	film        float64 // kg, as modelled
	afterStart  float64
	trim        float64 // quick lambda trim, a share
	Trims       table.Grid
	delay       []float64 // past lambda targets in 1/λ, a ring of steps
	delayAt     int
	idleSum     float64
	overrun     bool
	overrunS    float64
	leanS, cutS float64
	steadyS     float64 // since the manifold's pressure last moved quickly
	fuelledS    float64 // since fuel came back
	aimedRatio  float64 // lambda aimed at when the gas at the sensor was metered
	LeanCuts    int
	knockRetard float64
	knockQuietS float64
	plateTarget float64
	plateSum    float64
	plateBefore float64
	paBefore    [12]float64 // the newest first
	thrownForS  float64
	capSum      float64
	wasteSum    float64
	phaserSum   float64
	exhaustSum  float64
	airConS     float64 // since its air was given
	hot         float64 // what a hot restart adds, a share
	shiftS      float64
	pedalBadS   float64
	noOilS      float64
	fan         bool
	speedCut    bool
	sparkCut    bool
	pressureCut bool
	boostCut    bool
	boostCutS   float64
	BoostCuts   int
	camOffS     float64
	camsLost    bool
	brakedS     float64
	plateOffS   float64
	plateLost   bool
	pressureS   float64
	idleTarget  float64
	idling      bool
	primed      bool
	learned     bool
}

// New makes a controller.
func New(t Tables, s Settings) (*Controller, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if err := t.check(&s); err != nil {
		return nil, err
	}
	c := &Controller{t: t, s: s, delay: make([]float64, 200)}
	c.Trims = t.VolEff.Clone()
	c.Trims.Spread = nil
	for k := range c.Trims.Z {
		c.Trims.Z[k] = 1
	}
	c.Trims.Support = make([]int, len(c.Trims.Z))
	c.learned = s.Learned
	return c, nil
}

const (
	toRpm  = 30 / math.Pi
	degree = math.Pi / 180
	kelvin = 273.15
	airR   = 287.05287
)

func look(g *table.Grid, x, y float64) float64 {
	z, _ := g.Clamped(x, y)
	return z
}

// StopReason is why protection stopped the engine; empty while it has not.
func (c *Controller) StopReason() string { return c.stopped }

// Learned lifts the load cap and what is added until learned, as the user does
// when logs have borne the tables out.
func (c *Controller) Learned() { c.learned = true }

// HasLearned reports whether the cap is lifted.
func (c *Controller) HasLearned() bool { return c.learned }

// Step reads the sensors and gives new commands.
func (c *Controller) Step(in Sensors) Commands {
	c.clockS += PeriodS
	c.in = in
	if !in.KeyOn {
		c.off()
		return c.cmd
	}
	c.keyS += PeriodS
	c.speed += (in.SpeedRadPerS - c.speed) * 0.5
	c.rate(in)
	c.crankSignal(in)
	c.cmd.StarterOn = in.StartKey && (c.speed < c.runSpeed()*0.9 || !c.everRan)
	c.protect(in)
	running := c.synced && c.speed > c.runSpeed() && c.stopped == ""
	if running {
		c.runS += PeriodS
		c.everRan = true
	} else if c.speed < stalledFrac*c.runSpeed() { // standing, or a stalled engine on its starter
		c.runS, c.everRan = 0, false
		c.afterStart = look(&c.t.AfterStart, in.CoolantK-kelvin, 0) - 1
		if c.hot = 0; in.CoolantK > hotK {
			c.hot = c.s.Rules.HotFuelRatio - 1
		}
	}
	c.airCon(in, running)
	c.idle(in, running)
	c.fuel(in, running)
	c.spark(in, running)
	c.cams(in, running)
	c.charge(in)
	c.gears(in)
	c.fans(in)
	c.cmd.Status = c.status(in, running)
	return c.cmd
}

// stalledFrac of where cranking ends is more than a starter turns an engine
// (common practice: 150 to 280 rpm).
const stalledFrac = 0.6

// hotK is the coolant from where an engine is started hot, with vapour in its rail
// (common practice).
const hotK = kelvin + 80

func (c *Controller) off() {
	trims, learned, clock := c.Trims, c.learned, c.clockS
	*c = Controller{t: c.t, s: c.s, delay: make([]float64, len(c.delay)), LeanCuts: c.LeanCuts, BoostCuts: c.BoostCuts}
	c.Trims, c.learned, c.clockS = trims, learned, clock
}

// rate follows the manifold's pressure a little ahead, which makes good for the
// time between metering and drawing in.
func (c *Controller) rate(in Sensors) {
	was := c.pa
	if was == 0 {
		was = in.ManifoldPa
	}
	c.pa = was + (in.ManifoldPa-was)*filterFrac
	now := (c.pa - was) / PeriodS
	c.paRate += (now - c.paRate) * 0.3
	c.paFast += (now - c.paFast) * 0.7
}

// filterFrac is how much of a new reading of the manifold's pressure is taken.
const filterFrac = 0.6

// runSpeed is where cranking ends.
func (c *Controller) runSpeed() float64 { return c.s.Rules.RunRadPerS }

// crankSignal counts the crankshaft's teeth: where the cylinders stand is known
// after a turn and a half, the pump runs only while teeth come.
func (c *Controller) crankSignal(in Sensors) {
	if in.SpeedRadPerS > 4 {
		c.noCrankS, c.crankSeen = 0, true
		if c.syncRad == 0 {
			c.syncRad = in.TurnRad + 1e-9
		}
		c.synced = in.TurnRad-c.syncRad > 3*math.Pi
	} else {
		c.noCrankS += PeriodS
		if c.noCrankS > 0.5 {
			c.synced, c.syncRad = false, 0
		}
	}
	prime := c.keyS < c.s.Rules.PrimeS
	c.cmd.PrimePulseS = 0
	if !c.primed && !c.s.FireClosed && c.keyS > 1 && c.syncRad == 0 && len(c.t.Prime.Z) > 0 { // the rail has its pressure by then
		c.primed = true
		c.film += 1e-3 * look(&c.t.Prime, in.CoolantK-kelvin, 0) * c.s.FlowKgPerS * float64(c.s.Cylinders)
		c.cmd.PrimePulseS = 1e-3 * (look(&c.t.Prime, in.CoolantK-kelvin, 0) + 1e3*c.deadS(in, c.s.SetPa))
	}
	c.cmd.PumpOn = c.stopped == "" && (prime || (c.noCrankS < c.s.Rules.PumpStopS && c.crankSeen))
}

func (c *Controller) status(in Sensors, running bool) Status {
	switch {
	case c.stopped != "":
		return Stopped
	case !running && c.speed > 4 && in.PedalFrac > c.s.Rules.FloodPedalFrac:
		return FloodClear
	case !running && c.speed > 4:
		return Cranking
	case !running:
		return Priming
	case c.cutS > 0:
		return LeanCut
	case c.speedCut || c.sparkCut:
		return SpeedCut
	case c.pressureCut || c.boostCut:
		return PressureCut
	case c.overrun:
		return OverRun
	case in.CoolantK-kelvin < 60:
		return Warming
	}
	return Running
}
