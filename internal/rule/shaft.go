package rule

import (
	"math"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/vehicle"
)

var shaftCritical = Rule{
	ID: "shaft-critical", Title: "the propeller shaft nears its critical speed",
	Why:    "A shaft bows under its own weight and imbalance. At its critical speed the bow grows with every turn until the shaft leaves the vehicle, through the floor as like as not.",
	Source: "Euler–Bernoulli beam on pinned ends, first mode; at most 0.70 to 0.80 of it: machine design texts", Severity: diag.Stop, Page: "driveline",
	Bad:  append(append([]buildfile.Edit{}, shaftExample[1:]...), edit("1.9 m", "propeller shaft", "length")),
	Good: shaftExample,
	Check: func(c *Case) []Finding {
		speed, critical, ok := c.Result.Vehicle.ShaftRadPerS()
		if !ok || speed <= vehicle.ShaftMostFrac*critical {
			return nil
		}
		f := Finding{Target: "driveline#shaft"}
		f.Pos, f.Subject = c.Design.File.Shaft.LengthM.Pos, "propeller shaft"
		at, whirl := say("shaft/SpeedRadPerS", speed, "rpm"), say("shaft/CriticalRadPerS", critical, "rpm")
		f.Msg = diag.Sayf("the propeller shaft turns at up to %v; it whirls at %v and wants a quarter of that as room", at, whirl)
		f.Value, f.Limit = diag.Sayf("%v", at), diag.Sayf("three quarters of %v", whirl)
		f.Hint = diag.Sayf("divide the shaft with a centre bearing, take a wider tube, or lower the speed limit")
		return []Finding{f}
	},
}

// mostJointRad is the largest difference between a shaft's two joint angles
// (common practice: within half a degree to one degree of each other), and
// leastJointRad the angle below which a joint's needles do not roll.
const (
	mostJointRad  = 1 * math.Pi / 180
	leastJointRad = 0.5 * math.Pi / 180
)

var jointAngle = Rule{
	ID: "joint-angle", Title: "the propeller shaft's joint angles differ",
	Why: "A joint at an angle speeds its shaft up and slows it down twice a turn. The second joint takes that back only at the same angle; what is left shakes gearbox and axle, " +
		"and grows with the square of the angles.",
	Source: "Hooke's joint, U = sin β tan β; a resultant of 3° gives 0.0027 (driveline makers' design notes); common practice: within 1° of each other", Severity: diag.Fix, Page: "driveline",
	Bad:   append(append([]buildfile.Edit{}, shaftExample...), edit("1°", "propeller shaft", "front joint angle"), edit("5°", "propeller shaft", "rear joint angle")),
	Good:  append(append([]buildfile.Edit{}, shaftExample...), edit("2°", "propeller shaft", "front joint angle"), edit("2°", "propeller shaft", "rear joint angle")),
	Check: checkJointAngle,
}

func checkJointAngle(c *Case) []Finding {
	s := c.Design.File.Shaft
	if s == nil || s.FrontRad == nil || s.RearRad == nil {
		return nil
	}
	resultant, most, ok := c.Result.Vehicle.JointRad()
	over := ok && resultant > most.SI
	if !over && math.Abs(s.FrontRad.SI-s.RearRad.SI) <= mostJointRad+1e-9 {
		return nil
	}
	f := at(s.RearRad, "driveline", "propeller shaft, joint angles",
		diag.Sayf("the propeller shaft bends by %v in front and %v behind", input(s.FrontRad), input(s.RearRad)),
		diag.Sayf("%v and %v", input(s.FrontRad), input(s.RearRad)), diag.Sayf("within a degree of each other"),
		"shim gearbox or axle until both angles are equal, at one to three degrees")
	if over {
		left := say("shaft/joints/ResultantRad", resultant, "°")
		f.Msg = diag.Sayf("the propeller shaft bends by %v in front and %v behind, which together swing like one joint at %v", input(s.FrontRad), input(s.RearRad), left)
		f.Value, f.Limit = diag.Sayf("%v", left), diag.Sayf("at most %v", input(most))
	}
	return []Finding{f}
}

var jointStill = Rule{
	ID: "joint-still", Title: "a joint of the propeller shaft hardly bends",
	Why: "The needles of a joint roll only when it bends. In a joint that runs dead straight they stand and press their marks into the cross; " +
		"the joint wears out on those marks.",
	Source: "common practice: more than half a degree", Severity: diag.Note, Page: "driveline",
	Bad:  append(append([]buildfile.Edit{}, shaftExample...), edit("0.2°", "propeller shaft", "front joint angle"), edit("0.9°", "propeller shaft", "rear joint angle")),
	Good: append(append([]buildfile.Edit{}, shaftExample...), edit("0.9°", "propeller shaft", "front joint angle"), edit("0.9°", "propeller shaft", "rear joint angle")),
	Check: func(c *Case) []Finding {
		s := c.Design.File.Shaft
		if s == nil {
			return nil
		}
		for _, j := range []struct {
			in    *figure.Input
			where string
		}{{s.FrontRad, "front"}, {s.RearRad, "rear"}} {
			if j.in == nil || j.in.SI >= leastJointRad-1e-9 {
				continue
			}
			return []Finding{at(j.in, "driveline", "propeller shaft, "+j.where+" joint",
				diag.Sayf("the %s joint of the propeller shaft bends by only %v; its needles want half a degree to roll", j.where, input(j.in)),
				diag.Sayf("%v", input(j.in)), diag.Sayf("at least half a degree"), "give both joints the same one to three degrees")}
		}
		return nil
	},
}

var coolingShort = marginRule(Rule{
	ID: "cooling-short", Title: "the radiator does not shed the engine's heat",
	Why:    "About as much of the fuel's energy goes into the coolant as onto the road. What the radiator does not shed at the air's temperature boils the engine, on the first long hill of the hottest day.",
	Source: "heat balance: Heywood, Internal Combustion Engine Fundamentals, 1988, table 12.1 (from memory): 17 to 26 % of the fuel's energy", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{edit("25 kW", "cooling", "radiator"), edit("60 K", "cooling", "at")},
	Good: []buildfile.Edit{edit("95 kW", "cooling", "radiator"), edit("60 K", "cooling", "at")},
}, design.Full, "cooling", "HeatW", "full power puts %v into the coolant; the radiator sheds %v on the hottest day", "fit a larger radiator or more air through it",
	func(c *Case) diag.Pos { return c.Design.Place("cooling", "radiator") })
