package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/vehicle"
)

var cruiseLoad = Rule{
	ID: "cruise-load", Title: "the engine has nothing left at the cruising speed",
	Why: "What holds the vehicle on the level is not enough on a flyover or against the wind. With the throttle all but open the engine also runs rich and hot for hours, " +
		"where its tables expect light load.",
	Source: "Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 4 (from memory); decided: one in a hundred is to be climbed without a change of gear", Severity: diag.Fix, Page: "driveline",
	Bad:  []buildfile.Edit{edit("1", "vehicle", "gear ratio at cruise"), edit("98 km/h", "vehicle", "cruise speed"), edit("4.5 m²", "vehicle", "drag area"), edit("3.95", "vehicle", "axle ratio")},
	Good: []buildfile.Edit{edit("1", "vehicle", "gear ratio at cruise"), edit("90 km/h", "vehicle", "cruise speed"), edit("4.5 m²", "vehicle", "drag area"), edit("3.95", "vehicle", "axle ratio")},
	Check: func(c *Case) []Finding {
		open, grade, ok := c.Result.CruiseGradeFrac()
		least := vehicle.CruiseLimit().LeastGradeFrac
		if !ok || grade >= least.SI {
			return nil
		}
		v := &c.Design.File.Vehicle
		s := c.Result.State(design.Cruise)
		f := Finding{Target: "driveline#cruise", State: design.Cruise}
		f.Pos, f.Subject = v.CruiseMPerS.Pos, "cruise"
		reserve := say("cruise/wheels/ReserveGradeFrac", grade, "%")
		f.Msg = diag.Sayf("at its cruising speed of %v the vehicle climbs a grade of %v and no more; %v are the least", input(v.CruiseMPerS), reserve, input(least))
		f.Value, f.Limit = diag.Sayf("%v", reserve), diag.Sayf("at least %v", input(least))
		f.Why = diag.Sayf("The level asks %v of the engine at %v, where it gives %v with the throttle open.",
			say("cruise/engine/TorqueNm", s.Point.TorqueNm, "Nm"), say("cruise/engine/SpeedRadPerS", s.Point.SpeedRadPerS, "rpm"), say("cruise/engine/OpenNm", open, "Nm"))
		f.Hint = diag.Sayf("cruise more slowly, or in a gear that lets the engine turn faster")
		return []Finding{f}
	},
}

var cruiseRevs = Rule{
	ID: "cruise-revs", Title: "the gearing does not suit the cruising speed",
	Why: "An engine that turns fast all day is loud, thirsty and hot, and wears with its speed. One that turns too slowly judders, and asks for full throttle on every hill. " +
		"Tyre, axle and longest gear together set where it turns; an engine from another kind of vehicle seldom suits the old axle.",
	Source: "rolling without slip; common practice: from 1400 rpm to 55 % of the full power speed", Severity: diag.Note, Page: "driveline",
	Bad:   []buildfile.Edit{edit("6.5", "vehicle", "axle ratio")},
	Good:  []buildfile.Edit{edit("4.1", "vehicle", "axle ratio")},
	Check: checkCruiseRevs,
}

func checkCruiseRevs(c *Case) []Finding {
	speed := c.Result.Vehicle.LongestRadPerS()
	v, e := &c.Design.File.Vehicle, &c.Design.File.Engine
	lim := vehicle.CruiseLimit()
	share := vehicle.SpeedShareFrac(speed, e.PeakRadPerS.SI)
	if s := c.Result.State(design.Cruise); s != nil && !s.Ended.OK {
		return nil // told already
	}
	if speed <= 0 || speed >= lim.LeastRadPerS.SI && share <= lim.MostFrac.SI {
		return nil
	}
	turns, of := say("cruise/longest/SpeedRadPerS", speed, "rpm"), say("cruise/longest/ShareFrac", share, "%")
	f := at(v.AxleRatio, "driveline", "gearing", nil, nil, nil, "take an axle ratio, or tyres, that suit the engine's speed")
	if v.AxleRatio.Assumed() {
		f.Pos = v.CruiseMPerS.Pos
	}
	if share > lim.MostFrac.SI {
		f.Msg = diag.Sayf("at %v in its longest gear the engine turns at %v, %v of its full power speed; %v are usual at most", input(v.CruiseMPerS), turns, of, input(lim.MostFrac))
		f.Value, f.Limit = diag.Sayf("%v", of), diag.Sayf("at most %v", input(lim.MostFrac))
	} else {
		f.Msg = diag.Sayf("at %v in its longest gear the engine turns at only %v; %v are usual at least", input(v.CruiseMPerS), turns, input(lim.LeastRadPerS))
		f.Value, f.Limit = diag.Sayf("%v", turns), diag.Sayf("at least %v", input(lim.LeastRadPerS))
	}
	f.Why = diag.Sayf("An axle of %v and a longest gear of %v on these tyres make it so.", input(v.AxleRatio), input(c.Result.Vehicle.LongestRatio()))
	return []Finding{f}
}
