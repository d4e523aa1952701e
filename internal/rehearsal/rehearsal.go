// Package rehearsal starts and drives a vehicle before it exists: it puts a
// plant, a controller with the starting tables and a driver together, lets them
// run, and keeps the log and what came of it. This is the virtual start. It is a
// simulation: an engine that runs here has shown that tables and parts fit each
// other, no more.
//
// Conventions: SI. The plant's truth is drawn by a seed and hidden from the
// controller. Plant and throttle motor go in steps of 2 ms, controller and driver
// in steps of 10 ms; the log is sampled from the controller's side. Start reading
// at [Of], then [Setup.Begin].
package rehearsal

import (
	"fmt"
	"math"

	"fettle/internal/channel"
	"fettle/internal/control"
	"fettle/internal/driver"
	"fettle/internal/plant"
)

// StepS is the plant's step.
const StepS = 0.002

// Setup is a vehicle ready to be started.
type Setup struct {
	Name        string
	Calibration string // which tables, for the log
	Engine      plant.Engine
	Car         plant.Car
	Tables      control.Tables
	Settings    control.Settings
	Driver      driver.Car
	AmbientPa   float64
	Notes       []string // what had to be assumed
}

// Wishes are what one run is asked for.
type Wishes struct {
	AmbientK   float64
	CoolantK   float64 // at the start; 0 takes the outside air's
	Seed       uint64  // of the truth and the noise
	Nominal    bool    // no hidden truth: the engine does what was computed
	ChargeFrac float64 // of the battery; 0 takes 0.85
	Route      driver.Route
	Manner     driver.Manner
	EndS       float64 // stop here; 0 goes on to the end of the route
	LogHz      float64 // samples a second; 0 keeps no log
	StepS      float64 // 0 takes StepS
	Learned    bool    // the tables have been borne out: no load cap
	AirConS    float64 // from when the driver has the air-con on; 0 never
	// Brake, if given, is a test on a brake dynamometer: the speed that it holds
	// and the pedal at a time; 0 lets the engine go.
	Brake func(timeS float64) (speedRadPerS, pedalFrac float64)
	// CrankPedal, if given, holds the pedal while the engine does not run yet.
	CrankPedal func(timeS float64) (pedalFrac float64, holds bool)
	// TrimRatio is what an earlier run has learned.
	TrimRatio []float64
}

// Run is a vehicle being run.
type Run struct {
	Plant   *plant.Plant
	Control *control.Controller
	Driver  *driver.Driver
	Truth   plant.Truth

	setup  *Setup
	wishes Wishes
	in     plant.Inputs
	sense  control.Sensors
	cmd    control.Commands
	act    driver.Does
	per    int
	step   float64
	log    *logger
	judge  judge
	foot   float64
}

// Begin makes a run.
func (s *Setup) Begin(w Wishes) (*Run, error) {
	if w.CoolantK == 0 {
		w.CoolantK = w.AmbientK
	}
	if w.ChargeFrac == 0 {
		w.ChargeFrac = 0.85
	}
	if w.StepS == 0 {
		w.StepS = StepS
	}
	per := int(math.Round(control.PeriodS / w.StepS))
	if per < 1 || math.Abs(float64(per)*w.StepS-control.PeriodS) > 1e-9 {
		return nil, fmt.Errorf("step %g ms is not a whole part of %g ms", w.StepS*1e3, control.PeriodS*1e3)
	}
	e := s.Engine
	e.Truth = plant.Nominal()
	if !w.Nominal {
		e.Truth = plant.Draw(w.Seed)
	}
	p, err := plant.New(e, s.Car, plant.Day{AmbientPa: s.AmbientPa, AmbientK: w.AmbientK, CoolantK: w.CoolantK, ChargeFrac: w.ChargeFrac}, w.Seed)
	if err != nil {
		return nil, err
	}
	set := s.Settings
	set.Learned = w.Learned
	c, err := control.New(s.Tables, set)
	if err != nil {
		return nil, err
	}
	if w.TrimRatio != nil {
		if len(w.TrimRatio) != len(c.Trims.Z) {
			return nil, fmt.Errorf("%d trims for a table of %d cells", len(w.TrimRatio), len(c.Trims.Z))
		}
		copy(c.Trims.Z, w.TrimRatio)
	}
	r := &Run{
		Plant: p, Control: c, Driver: driver.New(s.Driver, w.Route, w.Manner), Truth: e.Truth,
		setup: s, wishes: w, per: per, step: w.StepS,
	}
	if w.LogHz > 0 {
		r.log = newLogger(w.LogHz)
	}
	r.judge.reset()
	return r, nil
}

// TimeS is the time since the run began.
func (r *Run) TimeS() float64 { return r.Plant.True().TimeS }

// Step lets driver, controller and plant go on by one period of the controller.
func (r *Run) Step() {
	read := r.Plant.Read(&r.in, control.PeriodS)
	r.act = r.Driver.Step(driver.Sees{TimeS: read.TimeS, RoadMPerS: read.RoadMPerS, SpeedRadPerS: read.SpeedRadPerS, EaseOff: r.cmd.EaseOff})
	if r.wishes.CrankPedal != nil && r.judge.s.RanAfterS < 0 {
		if p, holds := r.wishes.CrankPedal(read.TimeS); holds {
			r.act.PedalFrac = p
		}
	}
	r.sense = control.Sensors{
		KeyOn: r.act.KeyOn, StartKey: r.act.StartKey, SpeedRadPerS: read.SpeedRadPerS, TurnRad: read.TurnRad,
		ManifoldPa: read.ManifoldPa, UpPa: read.UpPa, AmbientPa: read.AmbientPa, PlateFrac: read.PlateFrac,
		PedalFrac: r.act.PedalFrac, PedalTwoFrac: r.act.PedalFrac / 2, BrakeFrac: r.act.BrakeFrac,
		CoolantK: read.CoolantK, ChargeK: read.ChargeK, LambdaRatio: read.LambdaRatio, LambdaReady: read.LambdaReady,
		BatteryV: read.BatteryV, RoadMPerS: read.RoadMPerS, KnockCount: read.KnockCount, OilPa: read.OilPa, OilK: read.OilK, PhaserRad: read.PhaserRad, ExhaustPhaserRad: read.ExhaustPhaserRad,
		AirConOn: r.wishes.AirConS > 0 && read.TimeS >= r.wishes.AirConS,
		Gear:     r.act.Gear, ClutchFrac: r.act.ClutchFrac,
	}
	hold := r.brake(read.TimeS)
	r.cmd = r.Control.Step(r.sense)
	r.apply()
	r.in.HoldRadPerS = hold
	if r.cmd.PrimePulseS > 0 {
		r.Plant.Prime(r.cmd.PrimePulseS)
	}
	for range r.per {
		t := r.Plant.True()
		r.in.ThrottleFrac = r.Control.MotorFrac(t.PlateFrac, read.BatteryV, r.step)
		r.Plant.Step(&r.in, r.step)
	}
	r.judge.look(r)
	if r.log != nil {
		r.log.sample(r, read)
	}
}

// brake sets the pedal of a test on the brake; a foot that is asked to ease off does.
func (r *Run) brake(timeS float64) (holdRadPerS float64) {
	if r.wishes.Brake == nil {
		return 0
	}
	hold, pedal := r.wishes.Brake(timeS)
	if hold == 0 {
		return 0
	}
	if r.cmd.EaseOff {
		r.foot = math.Max(0.02, r.foot-0.5*control.PeriodS)
	} else {
		r.foot += 0.15 * control.PeriodS
	}
	r.foot = math.Min(r.foot, pedal)
	if !r.setup.Engine.Cable || r.Control.HasLearned() {
		r.foot = pedal
	}
	r.act.PedalFrac, r.act.BrakeFrac, r.act.Gear, r.act.ClutchFrac = r.foot, 0, 0, 1
	r.sense.PedalFrac, r.sense.PedalTwoFrac, r.sense.BrakeFrac, r.sense.Gear, r.sense.ClutchFrac = r.foot, r.foot/2, 0, 0, 1
	return hold
}

// apply hands the commands to the actuators.
func (r *Run) apply() {
	gear := r.cmd.Gear
	if r.act.Gear == 0 {
		gear = 0
	}
	r.in = plant.Inputs{
		StarterOn: r.cmd.StarterOn, PumpOn: r.cmd.PumpOn, FanOn: r.cmd.FanOn, FuelOn: r.cmd.FuelOn, SparkOn: r.cmd.SparkOn,
		AirConOn: r.cmd.AirConOn, ExhaustPhaserFrac: r.cmd.ExhaustPhaserFrac, PulseS: r.cmd.PulseS, SparkRad: r.cmd.SparkRad, DwellS: r.cmd.DwellS, IdleFrac: r.cmd.IdleFrac, PhaserFrac: r.cmd.PhaserFrac,
		WastegateFrac: r.cmd.WastegateFrac, PedalFrac: r.act.PedalFrac, BrakeFrac: r.act.BrakeFrac, ClutchFrac: r.act.ClutchFrac,
		Gear: gear, LockUp: r.cmd.LockUp, GradeFrac: r.act.GradeFrac,
	}
}

// Over reports that the run has come to its end: its time is up, the route is
// driven, or the engine did not start.
func (r *Run) Over() bool {
	t := r.TimeS()
	if !r.Plant.Ended().OK {
		return true
	}
	if r.wishes.EndS > 0 {
		return t >= r.wishes.EndS
	}
	if r.Driver.GaveUp() && t > r.wishes.Manner.StartS+r.wishes.Manner.MostCrankS+1 {
		return true
	}
	begins := r.Driver.BeginsS()
	return begins >= 0 && t > begins+r.wishes.Route.EndS()+2
}

// longestS ends a run that comes to no end.
const longestS = 24 * 3600

// Finish goes on to the end; every so often progress is told how far, 0 … 1, and
// may ask to stop by an error.
func (r *Run) Finish(progress func(frac float64) error) error {
	total := r.wishes.EndS
	if total == 0 {
		total = r.wishes.Manner.StartS + r.wishes.Manner.IdleS + r.wishes.Route.EndS() + 5
	}
	for n := 0; !r.Over(); n++ {
		if n%1000 == 0 {
			if progress != nil {
				if err := progress(math.Min(1, r.TimeS()/total)); err != nil {
					return err
				}
			}
			if r.TimeS() > longestS {
				return fmt.Errorf("the run came to no end within %d h", longestS/3600)
			}
		}
		r.Step()
	}
	if e := r.Plant.Ended(); !e.OK {
		return fmt.Errorf("the simulation ended %s; nothing of it is shown", e.Why)
	}
	return nil
}

// Now is what the controller sees and does, and the driver.
func (r *Run) Now() (control.Sensors, control.Commands, driver.Does) { return r.sense, r.cmd, r.act }

// Log is what was recorded; empty when none was asked for.
func (r *Run) Log() channel.Log {
	if r.log == nil {
		return channel.Log{}
	}
	return channel.Log{Notes: r.notes(), Series: r.log.sampled()}
}

func (r *Run) notes() []channel.Note {
	out := []channel.Note{
		{Key: "vehicle", Text: r.setup.Name},
		{Key: "origin", Text: "a simulation, no engine has run: a virtual start"},
		{Key: "calibration", Text: r.setup.Calibration},
		{Key: "seed", Text: fmt.Sprint(r.wishes.Seed)},
		{Key: "outside", Text: fmt.Sprintf("%.1f °C, %.1f kPa", r.wishes.AmbientK-273.15, r.setup.AmbientPa/1e3)},
	}
	if r.wishes.Route.Name != "" {
		out = append(out, channel.Note{Key: "route", Text: r.wishes.Route.Name})
	}
	return out
}
