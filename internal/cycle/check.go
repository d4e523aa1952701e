package cycle

import (
	"fmt"
	"math"

	"fettle/internal/quantity"
)

func within(name string, v, low, high float64, unit string) error {
	if v >= low && v <= high {
		return nil
	}
	if unit == "rad" { // read in degrees
		number := func(v float64) string { return quantity.Number(v, "°", 3) }
		return fmt.Errorf("%s %s° is outside %s … %s°", name, number(v), number(low), number(high))
	}
	if unit != "" {
		unit = " " + unit
	}
	return fmt.Errorf("%s %g%s is outside %g … %g%s", name, v, unit, low, high, unit)
}

type span struct {
	name, unit   string
	v, low, high float64
}

func first(spans []span) error {
	for _, s := range spans {
		if err := within(s.name, s.v, s.low, s.high, s.unit); err != nil {
			return err
		}
	}
	return nil
}

// Check returns the first value that can't be.
func (e *Engine) Check() error {
	g := e.Geometry
	if err := g.Check(); err != nil {
		return err
	}
	if err := first([]span{
		{"compression ratio", "", g.CompressionRatio, 5, 20},
		{"pin offset", "m", math.Abs(e.PinOffsetM), 0, 0.2 * g.StrokeM},
	}); err != nil {
		return err
	}
	if least := g.StrokeM/2 + math.Abs(e.PinOffsetM); g.RodM < 1.2*least {
		return fmt.Errorf("rod length %g m is outside %.4g … 2 m, 1.2 of the throw with the pin's offset and more", g.RodM, 1.2*least)
	}
	for _, v := range []struct {
		name string
		v    *Valve
	}{{"intake", &e.Intake}, {"exhaust", &e.Exhaust}} {
		if err := v.v.check(v.name, g.BoreM); err != nil {
			return err
		}
	}
	if err := e.checkTimes(); err != nil {
		return err
	}
	return first([]span{
		{"intake runner length", "m", e.IntakeRunner.LengthM, 0.05, 1.5},
		{"intake runner bore", "m", e.IntakeRunner.BoreM, 0.1 * g.BoreM, g.BoreM},
		{"exhaust runner length", "m", e.ExhaustRunner.LengthM, 0.05, 2},
		{"exhaust runner bore", "m", e.ExhaustRunner.BoreM, 0.1 * g.BoreM, g.BoreM},
		{"plenum volume", "m³", e.PlenumM3, 0.2 * g.DisplacementM3(), 10 * g.DisplacementM3()},
		{"effective throttle area", "m²", e.ThrottleM2, 2e-5, 0.05},
		{"exhaust pressure loss", "Pa", e.ExhaustDropPa, 0, 200e3},
		{"mass flow of the exhaust pressure loss", "kg/s", e.ExhaustDropKgPerS, 1e-3, 5},
		{"exhaust collector volume", "m³", e.CollectorM3, 0, 5 * g.DisplacementM3()},
		{"charger efficiency", "", e.ChargerFrac, 0, 0.75},
		{"back pressure of the turbine over boost", "", e.TurbineRatio, 0, 3},
		{"burn ratio", "", e.BurnRatio, 0.5, 2},
		{"coolant temperature", "K", e.CoolantK, 230, 420},
	})
}

func (v *Valve) check(side string, bore float64) error {
	if v.Count < 1 || v.Count > 4 {
		return fmt.Errorf("%s valves per cylinder %d is outside 1 … 4", side, v.Count)
	}
	if err := first([]span{
		{side + " valve diameter", "m", v.HeadM, 0.15 * bore, 0.65 * bore},
		{side + " valve lift", "m", v.LiftM, 0.05 * v.HeadM, 0.5 * v.HeadM},
		{side + " valve opening, seat to seat", "rad", v.DurationRad, 2.5, 6.5},
		{side + " phaser range", "rad", v.PhaserRad, 0, 2},
	}); err != nil {
		return err
	}
	if share := float64(v.Count) * v.HeadM * v.HeadM / (bore * bore); share > 0.75 {
		return fmt.Errorf("%d %s valves of %g m cover %.3g of a bore of %g m, more than 0.75", v.Count, side, v.HeadM, share, bore)
	}
	return nil
}

// checkTimes holds the four valve events, over the phasers' whole travel.
func (e *Engine) checkTimes() error {
	opens, closes := e.Intake.times(e.Intake.CentrelineRad)
	exOpens, exCloses := e.Exhaust.times(-e.Exhaust.CentrelineRad)
	return first([]span{
		{"intake opening after top dead centre, phaser parked", "rad", opens, -1.2, 1.5},
		{"intake opening after top dead centre, phaser at its end", "rad", opens - e.Intake.PhaserRad, -1.7, 1.5},
		{"intake closing after bottom dead centre, phaser parked", "rad", closes - math.Pi, -1, 2.2},
		{"intake closing after bottom dead centre, phaser at its end", "rad", closes - math.Pi - e.Intake.PhaserRad, -1, 2.2},
		{"exhaust opening before bottom dead centre, phaser parked", "rad", -math.Pi - exOpens, -0.2, 1.6},
		{"exhaust opening before bottom dead centre, phaser at its end", "rad", -math.Pi - exOpens - e.Exhaust.PhaserRad, -1, 1.6},
		{"exhaust closing after top dead centre, phaser parked", "rad", exCloses, -1, 1.2},
		{"exhaust closing after top dead centre, phaser at its end", "rad", exCloses + e.Exhaust.PhaserRad, -1, 1.7},
	})
}

func (v *Valve) times(centre float64) (opens, closes float64) {
	return centre - v.DurationRad/2, centre + v.DurationRad/2
}

// check holds the operating state against the engine.
func (o *Operating) check(e *Engine) error {
	err := first([]span{
		{"engine speed", "rad/s", o.SpeedRadPerS, 15, 1500},
		{"ambient pressure", "Pa", o.AmbientPa, 50e3, 110e3},
		{"pressure before the throttle", "Pa", o.UpstreamPa, 0.7 * o.AmbientPa, 400e3},
		{"charge temperature", "K", o.ChargeK, 230, 420},
		{"lambda", "", o.LambdaRatio, richest, leanest},
		{"intake cam advance", "rad", o.IntakeAdvanceRad, 0, e.Intake.PhaserRad},
		{"exhaust cam retard", "rad", o.ExhaustRetardRad, 0, e.Exhaust.PhaserRad},
		{"ratio of oil viscosity to that of warm oil", "", o.OilViscosityRatio, 0.3, 100},
	})
	if err != nil {
		return err
	}
	if !o.WideOpen {
		err = within("manifold pressure", o.ManifoldPa, 12e3, 0.995*o.UpstreamPa, "Pa")
	}
	if err != nil {
		return err
	}
	switch o.Spark {
	case SparkGiven:
		return within("spark advance", o.SparkRad, latestSpark, earliestSpark, "rad")
	case SparkBest:
		return nil
	case SparkUnderTest:
		return within("knock integral allowed", o.MostKnockCount, 0.1, 10, "")
	}
	return fmt.Errorf("spark mode %d is none of given, best, short of knock", o.Spark)
}

// The range of spark advance that is searched and accepted.
const (
	latestSpark   = -25 * math.Pi / 180
	earliestSpark = 70 * math.Pi / 180
)
