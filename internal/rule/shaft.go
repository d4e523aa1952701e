package rule

import (
	"math"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
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
// (common practice: within half a degree to one degree of each other).
const mostJointRad = 1 * math.Pi / 180

var jointAngle = Rule{
	ID: "joint-angle", Title: "the propeller shaft's joint angles differ",
	Why:    "A joint at an angle speeds its shaft up and slows it down twice a turn. The second joint takes that back only at the same angle; what is left shakes gearbox and axle.",
	Source: "Hooke's joint, U = sin β tan β; a resultant of 3° gives 0.0027 (driveline makers' design notes); common practice: within 1° of each other", Severity: diag.Fix, Page: "driveline",
	Bad:  append(append([]buildfile.Edit{}, shaftExample...), edit("1°", "propeller shaft", "front joint angle"), edit("5°", "propeller shaft", "rear joint angle")),
	Good: append(append([]buildfile.Edit{}, shaftExample...), edit("2°", "propeller shaft", "front joint angle"), edit("2°", "propeller shaft", "rear joint angle")),
	Check: func(c *Case) []Finding {
		s := c.Design.File.Shaft
		if s == nil || s.FrontRad == nil || s.RearRad == nil || math.Abs(s.FrontRad.SI-s.RearRad.SI) <= mostJointRad+1e-9 {
			return nil
		}
		return []Finding{at(s.RearRad, "driveline", "propeller shaft, joint angles",
			diag.Sayf("the propeller shaft bends by %v in front and %v behind", input(s.FrontRad), input(s.RearRad)),
			diag.Sayf("%v and %v", input(s.FrontRad), input(s.RearRad)), diag.Sayf("within a degree of each other"),
			"shim gearbox or axle until both angles are equal, at one to three degrees")}
	},
}

var coolingShort = Rule{
	ID: "cooling-short", Title: "the radiator does not shed the engine's heat",
	Why:    "About as much of the fuel's energy goes into the coolant as onto the road. What the radiator does not shed at the air's temperature boils the engine, on the first long hill of the hottest day.",
	Source: "heat balance: Heywood, Internal Combustion Engine Fundamentals, 1988, table 12.1 (from memory): 17 to 26 % of the fuel's energy", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{edit("25 kW", "cooling", "radiator"), edit("60 K", "cooling", "at")},
	Good: []buildfile.Edit{edit("95 kW", "cooling", "radiator"), edit("60 K", "cooling", "at")},
	Check: func(c *Case) []Finding {
		k := c.Design.File.Cooling
		s := c.Result.State(design.Full)
		if k == nil || k.RadiatorW == nil || k.AtK == nil || !s.Ended.OK {
			return nil
		}
		sheds := c.Result.Vehicle.RadiatorW()
		if s.Point.CoolantW <= sheds {
			return nil
		}
		heat, can := say("full/engine/CoolantW", s.Point.CoolantW, "kW"), say("cooling/RadiatorW", sheds, "kW")
		f := Finding{Target: "engine#cooling", State: design.Full}
		f.Pos, f.Subject = k.RadiatorW.Pos, "cooling"
		f.Msg = diag.Sayf("full power puts %v into the coolant; the radiator sheds %v on the hottest day", heat, can)
		f.Value, f.Limit = diag.Sayf("%v", heat), diag.Sayf("at most %v", can)
		f.Hint = diag.Sayf("fit a larger radiator or more air through it")
		return []Finding{f}
	},
}
