package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

var fuelShort = Rule{
	ID:    "fuel-short",
	Title: "less fuel reaches the engine than it burns at full power",
	Why: "When the pump can't hold the rail's pressure, the injectors pass less than the controller meters. The mixture turns lean where the engine is hottest, " +
		"and pistons and valves pay for it within seconds.",
	Source:   "square-root law of the injector (incompressible orifice); lambda 0.85 to 0.90 at full power: common practice",
	Severity: diag.Stop,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"fuel system", "rail pressure"}, Text: "4.6 bar"}},
	Good:     []buildfile.Edit{{Path: []string{"fuel system", "rail pressure"}, Text: "4.0 bar"}},
	Check:    checkFuelShort,
}

// burnsRatio is the lambda beyond which a petrol engine no longer fires (from
// memory: misfire begins at 1.3 to 1.7).
const burnsRatio = 1.7

func checkFuelShort(c *Case) []Finding {
	m, ok := c.margin(design.Full, "fuel pump", "FlowKgPerS")
	if !short(m, ok) {
		return nil
	}
	s := c.Result.State(design.Full)
	k := figure.ID(s.Key)
	pump := c.pump()
	f := finding(pump.Pos, "fuel", "power#chain", design.Full, m,
		diag.Sayf("fuel runs short at full power: the pump brings %v at the set pressure, the engine burns %v", value(m), limit(m)))
	set, rail := input(c.Design.File.System.SetPa), say(k+"/rail/PressurePa", s.Point.RailPa, "kPa")
	if c.Design.File.System.Reference == "manifold" {
		set = say(k+"/rail/SetPa", s.Point.RailSetPa, "kPa")
	}
	f.Why = diag.Sayf("The rail sinks from %v to %v and lambda rises to %v.", set, rail, say(k+"/engine/LambdaRatio", s.Point.LambdaRatio, ""))
	if s.Point.LambdaRatio > burnsRatio {
		f.Why = diag.Sayf("The rail sinks from %v to %v: too lean to burn at all.", set, rail)
	}
	f.Hint = diag.Sayf("give the pump more volts, or fit one that brings %v at %v", limit(m), input(c.Design.File.System.SetPa))
	f.Mends = exchange(c, pump, func(p *catalogue.Part) (float64, bool) {
		return p.Pump.Flow.SI, p.Pump.Flow.SI > pump.Part.Pump.Flow.SI
	})
	return []Finding{f}
}

func (c *Case) pump() design.Item {
	if l := c.Design.OfKind("pump"); len(l) > 0 {
		return l[0]
	}
	return design.Item{Pos: c.Design.Place("devices"), Name: "fuel pump"}
}
