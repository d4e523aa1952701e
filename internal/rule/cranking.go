package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
)

var resetCranking = Rule{
	ID:    "reset-cranking",
	Title: "the controller restarts while cranking",
	Why: "The starter pulls the battery down, most of all when it is cold. Below its reset voltage the controller starts anew, loses the crankshaft's position " +
		"and fires nothing; the engine turns and does not start.",
	Source:   "ISO 16750-2 starting profiles (from memory); the controller's own reset voltage",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"devices", "battery", "part"}, Text: "small battery"}},
	Good:     []buildfile.Edit{{Path: []string{"devices", "battery", "part"}, Text: "battery 95 Ah"}},
	Check: func(c *Case) []Finding {
		ctl := c.Design.One("controller")
		m, ok := c.margin(design.Cranking, ctl.Name, "VoltageV")
		if !short(m, ok) {
			return nil
		}
		f := finding(c.Design.One("battery").Pos, "controller", "power#battery", design.Cranking, m,
			diag.Sayf("the controller gets %v while cranking cold; it restarts below %v", value(m), limit(m)))
		f.Why = diag.Sayf("The starter pulls the battery down by its inner resistance and the cables'.")
		f.Hint = diag.Sayf("fit a battery with more cold cranking current, or thicker battery cables")
		return []Finding{f}
	},
}

var sparkCranking = Rule{
	ID:    "spark-cranking",
	Title: "the spark is too weak while cranking",
	Why: "A coil charges towards voltage over resistance. With the battery pulled down it may never reach the current that a cold, rich or damp mixture needs " +
		"to be lit.",
	Source:   "charge of an inductor; 30 to 50 mJ for conventional ignition: Heywood, Internal Combustion Engine Fundamentals, 1988, section 9.5 (from memory)",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "wires", "ignition trunk", "size"}, Text: "0.22 mm²"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "wires", "ignition trunk", "size"}, Text: "6 mm²"}},
	Check: func(c *Case) []Finding {
		m, ok := c.margin(design.Cranking, "coil", "EnergyJ")
		if !short(m, ok) {
			return nil
		}
		f := finding(c.Design.OfKind("coil")[0].Pos, "coils", "power#coils", design.Cranking, m,
			diag.Sayf("a coil holds %v while cranking cold; %v are wanted", value(m), limit(m)))
		f.Why = diag.Sayf("The coils get too few volts to reach their current in the time there is.")
		f.Hint = diag.Sayf("give the coils more volts while cranking: battery, cables, the ignition feed")
		return []Finding{f}
	},
}

var fuelCranking = Rule{
	ID:    "fuel-cranking",
	Title: "the pump does not hold the rail's pressure while cranking",
	Why: "A pump that gets too few volts stalls against the rail's pressure. The first injections then carry less than the controller meters, " +
		"and a cold engine, which needs most, does not fire.",
	Source:   "motor and displacement pump: torque falls with voltage, pressure does not; common practice",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "wires", "fuel pump 1", "size"}, Text: "0.2 mm²"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "wires", "fuel pump 1", "size"}, Text: "4 mm²"}},
	Check: func(c *Case) []Finding {
		m, ok := c.margin(design.Cranking, "fuel pump", "FlowKgPerS")
		if !short(m, ok) {
			return nil
		}
		f := finding(c.pump().Pos, "cranking fuel", "power#chain", design.Cranking, m,
			diag.Sayf("the pump brings %v at the set pressure while cranking cold; %v are wanted", value(m), limit(m)))
		f.Why = diag.Sayf("At the volts it gets it does not hold the rail's pressure.")
		f.Hint = diag.Sayf("give the pump more volts while cranking: battery, its relay, its wire and its ground")
		return []Finding{f}
	},
}
