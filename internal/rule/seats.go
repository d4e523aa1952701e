package rule

import (
	"math"
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
)

// Seats of sensors (common practice).
const (
	leastTiltRad = 10 * math.Pi / 180
	knockLeastNm = 15
	knockMostNm  = 25
)

var lambdaTilt = Rule{
	ID: "lambda-tilt", Title: "the lambda sensor lies too flat",
	Why:    "Condensed water runs to the lowest place. A sensor that lies flat or hangs collects it, and cracks when it is heated.",
	Source: "common practice: at least 10° above horizontal", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{edit("2°", "fitting", "lambda sensor", "above horizontal")},
	Good: []buildfile.Edit{edit("15°", "fitting", "lambda sensor", "above horizontal")},
	Check: func(c *Case) []Finding {
		if c.Design.File.Fitting == nil || c.Design.File.Fitting.Lambda == nil || c.Design.File.Fitting.Lambda.TiltRad == nil {
			return nil
		}
		in := c.Design.File.Fitting.Lambda.TiltRad
		if in.SI >= leastTiltRad-1e-9 {
			return nil
		}
		return []Finding{at(in, "engine", "lambda sensor, above horizontal", diag.Sayf("the lambda sensor stands %v above horizontal; ten degrees are the least", input(in)),
			diag.Sayf("%v", input(in)), diag.Sayf("at least ten degrees"), "turn its boss so that the plug end stands at least ten degrees up")}
	},
}

var knockTorque = Rule{
	ID: "knock-torque", Title: "the knock sensor is not at its torque",
	Why:    "Too loose, the sensor rattles on its boss; too tight, its ceramic ring is strained and its answer falls.",
	Source: "common practice: 20 ± 5 N·m", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{edit("45 Nm", "fitting", "knock sensor", "torque")},
	Good: []buildfile.Edit{edit("20 Nm", "fitting", "knock sensor", "torque")},
	Check: func(c *Case) []Finding {
		if c.Design.File.Fitting == nil || c.Design.File.Fitting.Knock == nil || c.Design.File.Fitting.Knock.TorqueNm == nil {
			return nil
		}
		in := c.Design.File.Fitting.Knock.TorqueNm
		if in.SI >= knockLeastNm && in.SI <= knockMostNm {
			return nil
		}
		f := at(in, "engine", "knock sensor, torque", diag.Sayf("the knock sensor is tightened to %v; 20 newton metres, five more or less, are usual", input(in)),
			diag.Sayf("%v", input(in)), diag.Sayf("20 newton metres, five more or less"), "loosen it and tighten it to its torque with a wrench that shows it")
		return []Finding{f}
	},
}

var pedalTracks = Rule{
	ID: "pedal-tracks", Title: "the electronic throttle has no two-track pedal",
	Why:    "An electronic throttle does what the pedal's voltage says. One track can't tell a broken wire from a driver's foot; two that must agree can, and the engine falls back to idle instead of running away.",
	Source: "common practice: two pedal tracks with a plausibility check", Severity: diag.Stop, Page: "engine",
	Bad:  []buildfile.Edit{{Path: []string{"devices", "pedal"}, Delete: true}, edit("electronic", "engine", "throttle")},
	Good: []buildfile.Edit{edit("electronic", "engine", "throttle")},
	Check: func(c *Case) []Finding {
		if c.Design.File.Engine.Throttle != "electronic" || c.hasPedal() {
			return nil
		}
		f := Finding{Target: "engine#throttle"}
		f.Pos, f.Subject = c.Design.Place("engine", "throttle"), "pedal"
		f.Msg = diag.Sayf("the throttle is electronic and no device is a pedal with two tracks")
		f.Value, f.Limit = diag.Sayf("no pedal"), diag.Sayf("two tracks")
		f.Hint = diag.Sayf("add the pedal that belongs to the throttle; its part is called two-track pedal")
		return []Finding{f}
	},
}

// hasPedal reports whether some device reads the pedal on two tracks.
func (c *Case) hasPedal() bool {
	return slices.ContainsFunc(c.Design.Telling("pedal angle"), func(it design.Item) bool {
		n := 0
		for _, t := range it.Part.Terminals {
			if t.Value.Needs == "analogue" {
				n++
			}
		}
		return n >= 2
	})
}

var crankSensor = Rule{
	ID: "crank-sensor", Title: "no device tells the controller where the crankshaft is",
	Why:    "Spark and fuel are timed by the crankshaft. Without its sensor a controller fires nothing, and must not run the pump.",
	Source: "common practice", Severity: diag.Fix, Page: "engine",
	Bad: []buildfile.Edit{{Path: []string{"devices", "crank sensor"}, Delete: true}}, Good: []buildfile.Edit{edit("crank sensor", "devices", "crank sensor", "part")},
	Check: func(c *Case) []Finding {
		if c.tells("crank angle") {
			return nil
		}
		f := Finding{Target: "engine#sensors"}
		f.Pos, f.Subject = c.Design.Place("devices"), "crank sensor"
		f.Msg = diag.Sayf("no device is a crankshaft sensor, so nothing can be timed")
		f.Value, f.Limit = diag.Sayf("none"), diag.Sayf("one")
		f.Hint = diag.Sayf("add the sensor that reads the crank wheel%s", c.orSay("crank angle"))
		return []Finding{f}
	},
}
