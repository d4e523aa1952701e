package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/pipeflow"
)

var hoseClass = Rule{
	ID: "hose-class", Title: "the fuel hose is not made for the rail's pressure",
	Why:    "A hose for carburettors holds three bar when it is new and cold. On an injection system it bursts, over a hot exhaust as like as not.",
	Source: "SAE J30 (classes; pressures from memory)", Severity: diag.Stop, Page: "fuel",
	Bad: []buildfile.Edit{edit("R7", "fuel system", "hose class")}, Good: []buildfile.Edit{edit("R9", "fuel system", "hose class")},
	Check: func(c *Case) []Finding {
		s := &c.Design.File.System
		n := c.Design.Tree.Find("fuel system", "hose class")
		if n == nil {
			return nil
		}
		rated, err := pipeflow.HoseRatedPa(s.Hose, s.BoreM.SI)
		most, held := s.SetPa.SI, diag.Sayf("%v", input(s.SetPa))
		if full := c.Result.State(design.Full); full.Ended.OK && full.Point.RailSetPa > most {
			most = full.Point.RailSetPa // referred to the manifold, it rises with the boost
			held = diag.Sayf("%v", say("full/rail/SetPa", most, "kPa"))
		}
		if err == nil && rated >= most {
			return nil
		}
		f := Finding{Target: "fuel#hose"}
		f.Pos, f.Subject = n.Pos, "fuel system, hose class"
		f.Msg = diag.Sayf("hose class %s does not hold the rail's %v", s.Hose, held)
		f.Value, f.Limit = diag.Sayf("%s", s.Hose), diag.Sayf("a class for injection, R9")
		f.Hint = diag.Sayf("take R9 throughout, and R10 where it lies in fuel; relieve the pressure before any line is opened")
		return []Finding{f}
	},
}

var railBoiling = marginRule(Rule{
	ID: "rail-boiling", Title: "fuel boils in the rail on a hot restart",
	Why:    "A stood engine soaks its rail with heat. Where the pressure there is below the fuel's vapour pressure it boils, the injectors pass vapour, and the engine starts badly or not at all.",
	Source: "Clausius and Clapeyron through the Reid pressure (ASTM D323); EN 228 volatility classes (from memory)", Severity: diag.Fix, Page: "fuel",
	Bad:  []buildfile.Edit{edit("2.6 bar", "fuel system", "rail pressure"), edit("3500 m", "climate", "altitude"), edit("95 °C", "places", "engine top", "hot")},
	Good: []buildfile.Edit{edit("3.8 bar", "fuel system", "rail pressure"), edit("95 °C", "places", "engine top", "hot")},
}, design.HotRestart, "rail", "PressurePa", "the rail stands at %v after a hot stop and the fuel boils below %v", "shield the rail from heat, raise its pressure, or let the pump prime longer on a hot restart",
	func(c *Case) diag.Pos { return c.Design.Place("places", railPlace(c), "hot") })

func railPlace(c *Case) string {
	if l := c.Design.OfKind("injector"); len(l) > 0 {
		return l[0].At
	}
	return ""
}
