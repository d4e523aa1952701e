package rehearsal

import (
	"math"
	"slices"

	"fettle/internal/channel"
	"fettle/internal/control"
	"fettle/internal/plant"
)

// logger samples what the controller sees and does.
type logger struct {
	series []channel.Series
	every  int
	n      int
}

type source struct {
	kind channel.Kind
	of   func(r *Run, s *plant.Readings, c *control.Commands) float64
}

// sources are the channels of a log, in their order.
var sources = []source{
	{channel.EngineSpeed, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.SpeedRadPerS }},
	{channel.ManifoldPressure, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.ManifoldPa }},
	{channel.BoostPressure, func(r *Run, s *plant.Readings, _ *control.Commands) float64 {
		if r.setup.Settings.BoostPa == 0 {
			return math.NaN()
		}
		return s.UpPa
	}},
	{channel.ThrottleAngle, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.PlateFrac }},
	{channel.Pedal, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.PedalFrac }},
	{channel.Brake, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.BrakeFrac }},
	{channel.CoolantTemp, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.CoolantK }},
	{channel.OilTemp, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.OilK }},
	{channel.ChargeTemp, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.ChargeK }},
	{channel.AmbientPressure, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.AmbientPa }},
	{channel.Lambda, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 {
		if !s.LambdaReady {
			return math.NaN()
		}
		return s.LambdaRatio
	}},
	{channel.LambdaTarget, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 { return c.LambdaTargetRatio }},
	{channel.LambdaTrim, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 {
		if c.TrimRatio == 0 { // the key is off
			return math.NaN()
		}
		return c.TrimRatio - 1
	}},
	{channel.Pulse, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 {
		if !c.FuelOn {
			return 0
		}
		return c.PulseS
	}},
	{channel.Spark, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 { return c.SparkRad }},
	{channel.Dwell, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 { return c.DwellS }},
	{channel.KnockLevel, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.KnockCount }},
	{channel.KnockRetard, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 { return c.KnockRetardRad }},
	{channel.Battery, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.BatteryV }},
	{channel.OilPressure, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.OilPa }},
	{channel.FuelPressure, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.FuelPa }},
	{channel.IntakeCam, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.PhaserRad }},
	{channel.IntakeCamTarget, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 { return c.PhaserTargetRad }},
	{channel.ExhaustCam, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.ExhaustPhaserRad }},
	{channel.ExhaustCamTarget, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 { return c.ExhaustTargetRad }},
	{channel.IdleDuty, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 { return c.IdleFrac }},
	{channel.RoadSpeed, func(_ *Run, s *plant.Readings, _ *control.Commands) float64 { return s.RoadMPerS }},
	{channel.Gear, func(r *Run, _ *plant.Readings, _ *control.Commands) float64 { return float64(r.in.Gear) }},
	{channel.Status, func(_ *Run, _ *plant.Readings, c *control.Commands) float64 { return float64(c.Status) }},
}

func newLogger(hz float64) *logger {
	l := &logger{every: max(1, int(math.Round(1/(hz*control.PeriodS))))}
	for _, s := range sources {
		l.series = append(l.series, channel.New(s.kind))
	}
	return l
}

// sampled are the series that this vehicle has: none of a charger without one.
func (l *logger) sampled() []channel.Series {
	return slices.DeleteFunc(slices.Clone(l.series), func(s channel.Series) bool { return s.Kind == channel.BoostPressure && len(s.TimeS) == 0 })
}

func (l *logger) sample(r *Run, read plant.Readings) {
	l.n++
	if (l.n-1)%l.every != 0 {
		return
	}
	t := float64(l.n-1) / 100 // whole hundredths of a second, as written
	for i, s := range sources {
		if v := s.of(r, &read, &r.cmd); !math.IsNaN(v) {
			l.series[i].Add(t, v)
		}
	}
}
