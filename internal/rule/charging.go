package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/quantity"
)

// leastLampW is the smallest charge lamp that starts an alternator off (common
// practice: 2 to 3 W; an old regulator wants some 0.15 A).
const leastLampW = 2

var chargeLamp = Rule{
	ID: "charge-lamp", Title: "the charge lamp is too small to excite the alternator",
	Why: "The lamp's own current is what magnetises the rotor until the alternator feeds its field itself. A lamp of 1.2 W, or one with a diode that glows on milliamperes, passes too little: " +
		"the alternator does not begin to charge until the engine has been revved, or not at all.",
	Source: "common practice: a lamp of 2 to 3 W, or a resistor beside it", Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("lamp", "electrical", "alternator excited by"), edit("1.2 W", "electrical", "charge lamp")},
	Good: []buildfile.Edit{edit("lamp", "electrical", "alternator excited by"), edit("3 W", "electrical", "charge lamp")},
	Check: func(c *Case) []Finding {
		e := c.Design.File.Electrical
		if e == nil || e.LampW == nil || e.Excited != "" && e.Excited != "lamp" || e.LampW.SI >= leastLampW {
			return nil
		}
		lamp := shown{e.LampW.ID, quantity.Format(e.LampW.SI, "W", 2)}
		return []Finding{at(e.LampW, "power", "charge lamp", diag.Sayf("a charge lamp of %v passes too little to excite the alternator; two watts are the least", lamp),
			diag.Sayf("%v", lamp), diag.Sayf("at least two watts"), "fit a lamp of 2 to 3 W, or a resistor beside it")}
	},
}

// oldAmmeterA is what the ammeter of an old dash, and its cables, were made for
// (common practice: 30 A either way).
const oldAmmeterA = 30

var ammeterCable = Rule{
	ID: "ammeter-cable", Title: "the charging current goes through the dash ammeter",
	Why:    "The old ammeter and its cables to the dash were made for a dynamo's thirty amperes. An alternator's charge after a start heats them behind the dash, where a fire starts unseen.",
	Source: "common practice", Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("in the charging cable", "electrical", "dash ammeter")},
	Good: []buildfile.Edit{edit("by shunt", "electrical", "dash ammeter")},
	Check: func(c *Case) []Finding {
		e := c.Design.File.Electrical
		alt := c.Design.One("alternator").Part.Alternator
		if e == nil || e.Ammeter != "in the charging cable" || alt.RatedA.SI <= oldAmmeterA {
			return nil
		}
		f := Finding{Target: "power#electrical"}
		f.Pos, f.Subject = c.Design.Place("electrical", "dash ammeter"), "electrical, dash ammeter"
		f.Msg = diag.Sayf("up to %v of the alternator go through the dash ammeter, which was made for some thirty amperes", input(alt.RatedA))
		f.Value, f.Limit = diag.Sayf("%v", input(alt.RatedA)), diag.Sayf("thirty amperes")
		f.Hint = diag.Sayf("lay the charging cable straight to the battery and read the current by a shunt, or fit a voltmeter")
		return []Finding{f}
	},
}

var fanAbsent = Rule{
	ID: "fan-absent", Title: "the controller is to switch fans that are not there",
	Why: "At a standstill no air goes through the radiator but a fan's. A controller that switches no fan lets the engine boil in the first queue, " +
		"and one whose fans hang elsewhere does not raise the idle when they start.",
	Source: "common practice", Severity: diag.Fix, Page: "engine",
	Bad: []buildfile.Edit{
		{Path: []string{"devices", "left fan"}, Delete: true},
		{Path: []string{"devices", "right fan"}, Delete: true},
		{Path: []string{"loom", "feeds", "fans"}, Delete: true},
		edit("engine controller", "cooling", "fan switched by"),
	},
	Good: []buildfile.Edit{edit("engine controller", "cooling", "fan switched by")},
	Check: func(c *Case) []Finding {
		k := c.Design.File.Cooling
		if k == nil || k.FanSwitch != byEngine || c.hasFeed("fans") || c.hasFeed("large fan") {
			return nil
		}
		f := Finding{Target: "engine#cooling", State: design.Idle}
		f.Pos, f.Subject = c.Design.Place("cooling", "fan switched by"), "cooling, fan"
		f.Msg = diag.Sayf("the engine controller is to switch the radiator's fans, and no device is one")
		f.Value, f.Limit = diag.Sayf("no fan"), diag.Sayf("one at least")
		f.Hint = diag.Sayf("add the fan to the devices, or state the belt or the thermal switch that drives it")
		return []Finding{f}
	},
}
