package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/vehicle"
)

var boostMapRange = Rule{
	ID: "boost-map-range", Title: "the manifold pressure sensor does not reach the boost",
	Why: "A sensor for an unboosted engine ends a little above the atmosphere. Beyond it the reading stands still: the controller meters fuel and spark for the end of its range while the engine breathes more, " +
		"and no over-pressure cut can see it.",
	Source: "definition of gauge pressure; common practice: range above the highest boost", Severity: diag.Stop, Page: "engine",
	Bad: boostedTo("0.2 bar", "manifold pressure sensor"), Good: boostedTo("0.2 bar", "manifold pressure sensor 2.5 bar"),
	Check: func(c *Case) []Finding {
		b := c.Design.File.Boost
		if b == nil {
			return nil
		}
		most := vehicle.BoostedPa(c.Result.Vehicle.AmbientPa(), b.GaugePa.SI)
		var out []Finding
		for _, it := range c.Design.Telling("manifold pressure") {
			s := it.Part.Sensor
			if s == nil || s.Gauge || s.HighPa == nil || s.HighPa.SI >= most {
				continue
			}
			top := say("boost/manifold/MostPa", most, "kPa")
			f := at(s.HighPa, "engine", it.Name, diag.Sayf("%q reads up to %v; the manifold of this engine reaches %v", it.Name, input(s.HighPa), top),
				diag.Sayf("up to %v", input(s.HighPa)), diag.Sayf("at least %v", top), "fit a manifold pressure sensor whose range ends above the highest boost, and enter its curve")
			f.Pos = c.Design.Place("devices", it.Written, "part")
			f.Mends = exchange(c, it, func(p *catalogue.Part) (float64, bool) {
				ok := slices.Contains(p.Reads, "manifold pressure") && p.Sensor != nil && !p.Sensor.Gauge && p.Sensor.HighPa != nil && p.Sensor.HighPa.SI >= most
				if !ok {
					return 0, false
				}
				return p.Sensor.HighPa.SI, true
			})
			out = append(out, f)
		}
		return out
	},
}

// hotChargeK is how hot a charge may be at full power before the spark has to
// give way for it (from memory: 60 to 80 °C on road engines).
const hotChargeK = 273.15 + 80

var chargeHot = Rule{
	ID: "charge-hot", Title: "the charge of a boosted engine arrives hot",
	Why: "Pressing air together heats it. Hot air is thin, so that less of the boost reaches the engine, and it brings the end of the charge closer to burning by itself: " +
		"the spark has to be laid later, and the exhaust gets hotter.",
	Source: "isentropic compression of an ideal gas; 80 °C from memory", Severity: diag.Note, Page: "engine",
	Bad:  append(boostedTo("0.25 bar", "manifold pressure sensor 2.5 bar"), edit("no", "boost", "charge cooler"), edit("42 °C", "climate", "hottest")),
	Good: append(boostedTo("0.25 bar", "manifold pressure sensor 2.5 bar"), edit("42 °C", "climate", "hottest")),
	Check: func(c *Case) []Finding {
		s := c.Result.State(design.Full)
		kelvin, ok := s.Charge()
		if !ok || kelvin <= hotChargeK {
			return nil
		}
		temp := say("full/engine/ChargeK", kelvin, "°C")
		f := at(c.Design.File.Boost.GaugePa, "engine", "charge", diag.Sayf("the charge reaches the engine at %v on the hottest day at full power", temp),
			diag.Sayf("%v", temp), diag.Sayf("at most 80 degrees Celsius"), "fit a charge cooler, or a larger one, and enter spark and boost tables that give way with the charge's temperature")
		f.State, f.Pos = design.Full, c.Design.Place("boost", "charge cooler")
		return []Finding{f}
	},
}

// boostedTo are the edits of a boosted example with a given sensor.
func boostedTo(pressure, sensor string) []buildfile.Edit {
	return []buildfile.Edit{
		edit(pressure, "boost", "pressure"), edit("yes", "boost", "charge cooler"), edit("fuel", "boost", "over-pressure cut"),
		edit("manifold", "fuel system", "regulator reference"), edit("at the rail", "fuel system", "return"),
		edit(sensor, "devices", "manifold pressure", "part"), edit("injector 360 cc", "devices", "injector", "part"),
		edit("middle in-tank pump", "devices", "fuel pump", "part"),
	}
}

// highIdleFrac is how much more fuel than metered an idle takes without notice
// (common practice: the 4 % by which the nearest data may be off).
const highIdleFrac = 0.04

var railHighIdle = Rule{
	ID: "rail-high-idle", Title: "an unreferenced rail feeds more at idle than its data say",
	Why: "The manifold of an idling engine sucks at the injectors. Against a rail that is held above the atmosphere the pressure across them is higher than their data are for: " +
		"at 35 kPa a rail of 4.0 bar passes 8.0 % more. A controller that does not correct for it idles rich, and its trims learn to hide it.",
	Source: "square-root law of the injector: √((400 + 101.3 − 35)/400) = 1.080", Severity: diag.Note, Page: "fuel",
	Bad:  unreferenced,
	Good: append(slices.Clone(unreferenced), edit("yes", "injector data", "controller corrects")),
	Check: func(c *Case) []Finding {
		d := c.Design.File.Data
		if d == nil || d.Corrects || c.Design.File.System.Reference != "atmosphere" {
			return nil
		}
		s := c.Result.State(design.Idle)
		off := vehicle.OffFrac(vehicle.AtRatedRatio(s.Point.AcrossPa, c.Design.File.System.SetPa.SI))
		if !s.Ended.OK || !(off > highIdleFrac) {
			return nil
		}
		more := say("idle/injector/FlowOffFrac", off, "%")
		across := say("idle/injector/AcrossPa", s.Point.AcrossPa, "kPa")
		f := Finding{Target: "fuel#injector", State: design.Idle}
		f.Pos, f.Subject = c.Design.Place("fuel system", "regulator reference"), "fuel system, regulator reference"
		f.Msg = diag.Sayf("at idle the injectors pass %v more than their data say: the rail is referred to the atmosphere and the manifold sucks", more)
		f.Value, f.Limit = diag.Sayf("%v more", more), diag.Sayf("about as the data say")
		f.Why = diag.Sayf("At idle %v stand across the injectors, against the %v of the regulator.", across, input(c.Design.File.System.SetPa))
		f.Hint = diag.Sayf("have the controller correct for the pressure across the injector, or lower the idle part of its table by as much")
		f.Mends = to("controller corrects: yes", "yes", "injector data", "controller corrects")
		return []Finding{f}
	},
}

// unreferenced is a rail referred to the atmosphere whose data nobody corrects.
var unreferenced = []buildfile.Edit{edit("atmosphere", "fuel system", "regulator reference"), edit("4 bar", "injector data", "entered for")}

// ethanolFrac is the share of ethanol above which an old hose is not trusted
// (common practice: 10 to 15 % is what pumps have sold as petrol).
const ethanolFrac = 0.15

var ethanolHose = Rule{
	ID: "ethanol-hose", Title: "the fuel hose is of an old class and the fuel is rich in ethanol",
	Why:    "Ethanol swells and leaches the rubber that hoses for carburettors were made of. They soften, weep through, harden and crack, and what comes off blocks filter and injectors.",
	Source: "common practice; SAE J30 (classes)", Severity: diag.Fix, Page: "fuel",
	Bad:  []buildfile.Edit{edit("20 %", "fuel", "ethanol"), edit("R7", "fuel system", "hose class"), edit("3.4 bar", "fuel system", "rail pressure"), edit("76 °C", "places", "engine top", "hot")},
	Good: []buildfile.Edit{edit("20 %", "fuel", "ethanol"), edit("R9", "fuel system", "hose class"), edit("3.4 bar", "fuel system", "rail pressure"), edit("76 °C", "places", "engine top", "hot")},
	Check: func(c *Case) []Finding {
		e, hose := c.Design.File.Fuel.EthanolFrac, c.Design.File.System.Hose
		if e.SI <= ethanolFrac || !slices.Contains([]string{"R6", "R7", "R8"}, hose) {
			return nil
		}
		f := Finding{Target: "fuel#hose"}
		f.Pos, f.Subject = c.Design.Place("fuel system", "hose class"), "fuel system, hose class"
		f.Msg = diag.Sayf("hose class %s with %v of ethanol in the fuel", hose, input(e))
		f.Value, f.Limit = diag.Sayf("%s", hose), diag.Sayf("R9, or R10 where it lies in fuel")
		f.Hint = diag.Sayf("take R9 throughout; relieve the pressure before any line is opened")
		return []Finding{f}
	},
}

var octaneCompression = Rule{
	ID: "octane-compression", Title: "the compression ratio asks much of the fuel's octane",
	Why: "The end of the charge burns by itself when it is pressed and heated enough before the flame arrives. More compression brings it closer, more octane holds it off. " +
		"Past what the fuel bears, the spark has to be laid late at full load: the engine bears it so, and gives less than its compression promises.",
	Source: "from memory, ± 1 of the ratio: 10.5 on 95 octane, 0.2 more for each octane", Severity: diag.Note, Page: "engine",
	Bad: []buildfile.Edit{edit("12.5", "engine", "compression ratio")}, Good: []buildfile.Edit{edit("10.5", "engine", "compression ratio")},
	Check: func(c *Case) []Finding {
		in := c.Design.File.Engine.CompressionRatio
		bears := c.Result.Vehicle.OctaneBearsRatio()
		if c.Design.File.Boost != nil || in.SI <= bears || c.Result.Vehicle.Response().Knocks > 0 {
			return nil // knock-past-spark says the last of these more sharply
		}
		limit := say("engine/compression/OctaneRatio", bears, "")
		f := at(in, "engine", "compression ratio", diag.Sayf("a compression ratio of %v on a fuel that bears about %v", input(in), limit),
			diag.Sayf("%v", input(in)), diag.Sayf("about %v, one more or less", limit), "start with late spark at full load and listen for knock, or state a fuel with more octane")
		f.Pos = c.Design.Place("engine", "compression ratio")
		return []Finding{f}
	},
}

var knockPastSpark = Rule{
	ID: "knock-past-spark", Title: "no spark late enough keeps the engine from knocking",
	Why: "Knock is held off by a later spark, as far as 10° after the top, 15° under boost and below idle speed; later still, the charge burns into the exhaust and melts valves and turbine. " +
		"Where the end of the charge burns by itself even then, pistons and ring lands break within minutes, whatever the spark table holds.",
	Source: "knock integral of Douaud, Eyzat, SAE 780080, 1978, on the crank-angle cycle; bounds of the spark from memory", Severity: diag.Stop, Page: "engine",
	Bad: []buildfile.Edit{edit("18", "engine", "compression ratio")}, Good: []buildfile.Edit{edit("10.5", "engine", "compression ratio")},
	Check: func(c *Case) []Finding {
		r := c.Result.Vehicle.Response()
		if r.Knocks == 0 {
			return nil
		}
		in := c.Design.File.Engine.CompressionRatio
		from := say("engine/knock/KnockPa", r.KnockPa, "kPa")
		f := at(in, "engine", "compression ratio", diag.Sayf("%v cells of the engine's spark knock at the latest that it may stand, from %v in the manifold at %v on, with a compression ratio of %v",
			say("engine/knock/CellCount", float64(r.Knocks), ""), from, say("engine/knock/KnockRadPerS", r.KnockRadPerS, "rpm"), input(in)),
			diag.Sayf("%v in the manifold", from), diag.Sayf("a knock integral below 1 everywhere"), "lower the compression ratio or the boost, cool the charge further, or state a fuel with more octane")
		f.Pos = c.Design.Place("engine", "compression ratio")
		return []Finding{f}
	},
}
