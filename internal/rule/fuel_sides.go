package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/vehicle"
)

var fuelCold = Rule{
	ID: "fuel-cold", Title: "the fuel runs short on the coldest day",
	Why: "Cold air is dense, and a cold engine at full power burns more than a hot one: from 40 to −15 °C some 12 % more. " +
		"A pump that is just enough in summer lets the mixture turn lean in winter, where nobody looks for it.",
	Source: "ISO 1585, power with air temperature (exponent from memory)", Severity: diag.Fix, Page: "fuel",
	Bad: []buildfile.Edit{edit("4.3 bar", "fuel system", "rail pressure")}, Good: []buildfile.Edit{edit("3.8 bar", "fuel system", "rail pressure")},
	Check: func(c *Case) []Finding {
		s := c.Result.State(design.Full)
		if s == nil || !s.Ended.OK || s.Point.WantedKgPerS <= 0 {
			return nil
		}
		m, ok := c.margin(design.Full, "fuel pump", "FlowKgPerS")
		if !ok || m.Left() < 0 || m.Value >= c.Result.Vehicle.ColdKgPerS(s) {
			return nil // short on the hottest day too, or enough on both
		}
		pump := c.pump()
		brings := say("full/fuel pump/MostKgPerS", m.Value, "g/s")
		burns := say("full/fuel/ColdKgPerS", c.Result.Vehicle.ColdKgPerS(s), "g/s")
		f := Finding{Target: "fuel#pump", State: design.Full}
		f.Pos, f.Subject = pump.Pos, "fuel, coldest day"
		f.Msg = diag.Sayf("on the coldest day full power burns %v and the pump brings %v", burns, brings)
		f.Value, f.Limit = diag.Sayf("%v", brings), diag.Sayf("at least %v", burns)
		f.Hint = diag.Sayf("give the pump more volts, or fit one that brings %v at the rail's pressure", burns)
		f.Mends = exchange(c, pump, func(p *catalogue.Part) (float64, bool) {
			return p.Pump.Flow.SI, p.Pump.Flow.SI > pump.Part.Pump.Flow.SI
		})
		return []Finding{f}
	},
}

// leastOpenS is the shortest that an injector is open and meters evenly.
const leastOpenS = 0.5e-3 // common practice

var idleShort = Rule{
	ID: "idle-short", Title: "the injectors are too large for an even idle",
	Why: "An injector's needle takes some tenths of a millisecond to open and to shut. A pulse that is little longer passes what chance gives: " +
		"cylinders differ, the mixture wanders, and no table mends it.",
	Source: "common practice: half a millisecond of opening", Severity: diag.Fix, Page: "fuel",
	Bad: []buildfile.Edit{edit("huge injector", "devices", "injector", "part")}, Good: []buildfile.Edit{edit("injector 360 cc", "devices", "injector", "part")},
	Parts: map[string]string{"parts/huge injector.yaml": hugeInjector},
	Check: func(c *Case) []Finding {
		s := c.Result.State(design.Idle)
		if s == nil || !s.Ended.OK || s.Point.PulseS <= 0 {
			return nil
		}
		open := vehicle.OpenTimeS(s.Point.PulseS, s.Point.DeadS)
		if open >= leastOpenS || len(c.Design.OfKind("injector")) == 0 {
			return nil
		}
		in := c.Design.OfKind("injector")[0]
		is := say("idle/injector/OpenS", open, "ms")
		f := Finding{Target: "fuel#injector", State: design.Idle}
		f.Pos, f.Subject = c.Design.Place("devices", in.Written, "part"), in.Written
		f.Msg = diag.Sayf("at idle the injectors are open for %v, too short to meter evenly", is)
		f.Value, f.Limit = diag.Sayf("%v", is), diag.Sayf("at least half a millisecond")
		f.Hint = diag.Sayf("fit smaller injectors, or lower the rail's pressure as far as full power bears it")
		f.Mends = exchange(c, in, func(p *catalogue.Part) (float64, bool) {
			return -p.Injector.FlowKgPerS.SI, p.Injector.FlowKgPerS.SI < in.Part.Injector.FlowKgPerS.SI
		})
		return []Finding{f}
	},
}

const hugeInjector = `part: huge injector
kind: injector
is: very large port injector, for an example
source: invented for an example
terminals:
  1: {role: feed, feed: injection}
  2: {role: output, needs: injector driver}
loads:
  - {from: "1", to: "2", model: injector, resistance: 12 Ω ± 5 %, on: [key on, cranking, idle, wet night, cruise, full power, hot restart]}
injector:
  static flow: 24 g/s ± 4 %
  rated pressure: 3 bar ± 1 %
  dead time at 14 V: 0.85 ms ± 12 %
  dead time at 8 V: 2.2 ms ± 14 %
needs:
  voltage: 6 V ± 10 %
`

// creepFrac is how far a rail may creep above its setting before its fuel is off
// by more than four per cent.
const creepFrac = 0.08 // twice dataFrac: the root halves it

var railCreep = Rule{
	ID: "rail-creep", Title: "the return line can't carry what the regulator lets go at idle",
	Why: "At idle nearly all that the pump brings goes back. What the return line takes for that stands under the regulator's diaphragm and lifts the rail above its setting: " +
		"idle and cruise run rich, full power does not, and the trims chase it.",
	Source: "Darcy and Weisbach with Colebrook; Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-59", Severity: diag.Fix, Page: "fuel",
	Bad:  append(referenced(), edit("3 mm", "fuel system", "return line bore"), edit("5 m", "fuel system", "return line length")),
	Good: append(referenced(), edit("8 mm", "fuel system", "return line bore"), edit("5 m", "fuel system", "return line length")),
	Check: func(c *Case) []Finding {
		s := c.Result.State(design.Idle)
		if s == nil {
			return nil
		}
		drop, _, ok := c.Result.Vehicle.Return(s)
		if !ok || vehicle.CreepFrac(drop, s.Point.RailSetPa) <= creepFrac {
			return nil
		}
		creep := say("idle/return/CreepFrac", vehicle.CreepFrac(drop, s.Point.RailSetPa), "%")
		lost := say("idle/return/DropPa", drop, "kPa")
		f := Finding{Target: "fuel#return", State: design.Idle}
		f.Pos, f.Subject = c.Design.Place("fuel system", "return line bore"), "fuel system, return line"
		f.Msg = diag.Sayf("at idle the return line takes %v and the rail creeps %v above its setting", lost, creep)
		f.Value, f.Limit = diag.Sayf("%v", creep), diag.Sayf("at most eight per cent")
		f.Hint = diag.Sayf("lay a wider return line, or fit a pump that brings less at idle")
		return []Finding{f}
	},
}

var pumpSuction = Rule{
	ID: "pump-suction", Title: "fuel boils at the pump's inlet",
	Why: "A pump can push but hardly pull. What it has to lift, and what a strainer takes, comes off the air's pressure; below the fuel's vapour pressure the inlet fills with vapour, " +
		"the pump runs dry of fuel, gets hot and howls, and the rail falls.",
	Source: "hydrostatics; Clausius and Clapeyron through the Reid pressure (ASTM D323, slope from memory)", Severity: diag.Fix, Page: "fuel",
	Bad: []buildfile.Edit{edit("2.9 m", "tank", "suction head")}, Good: []buildfile.Edit{edit("0 m", "tank", "suction head")},
	Check: func(c *Case) []Finding {
		in, vapour, ok := c.Result.Vehicle.Inlet()
		if !ok || in >= vapour {
			return nil
		}
		has, boils := say("tank/inlet/PressurePa", in, "kPa"), say("tank/inlet/VapourPa", vapour, "kPa")
		f := Finding{Target: "fuel#tank"}
		f.Pos, f.Subject = c.Design.Place("tank", "suction head"), "tank, suction head"
		f.Msg = diag.Sayf("at the pump's inlet stand %v and the fuel boils below %v on the hottest day", has, boils)
		f.Value, f.Limit = diag.Sayf("%v", has), diag.Sayf("at least %v", boils)
		f.Hint = diag.Sayf("put the pump into the tank or below its lowest fuel, or feed it from a pot that a lift pump fills")
		return []Finding{f}
	},
}

var pumpPulse = Rule{
	ID: "pump-pulse", Title: "the pump is driven by pulse width and nothing tells the rail's pressure",
	Why: "A pump that gets a share of its volts brings a share of its flow. Whoever sets the share has to see the pressure: without a sensor in the rail the share is a guess, " +
		"and a guess that is low at full power burns pistons.",
	Source: "common practice", Severity: diag.Stop, Page: "fuel",
	Bad:  []buildfile.Edit{edit("pulse width", "fuel system", "pump drive"), {Path: []string{"devices", "fuel pressure"}, Delete: true}},
	Good: []buildfile.Edit{edit("pulse width", "fuel system", "pump drive")},
	Check: func(c *Case) []Finding {
		if c.Design.File.System.Drive != "pulse width" || slices.ContainsFunc(c.Design.Devices, func(it design.Item) bool { return it.Part.Name == "fuel pressure sensor" }) {
			return nil
		}
		f := Finding{Target: "fuel#pump"}
		f.Pos, f.Subject = c.Design.Place("fuel system", "pump drive"), "fuel system, pump drive"
		f.Msg = diag.Sayf("the pump is driven by pulse width and no sensor reads the rail's pressure")
		f.Value, f.Limit = diag.Sayf("none"), diag.Sayf("a fuel pressure sensor at the rail")
		f.Hint = diag.Sayf("fit a fuel pressure sensor at the rail, or drive the pump by its relay alone")
		return []Finding{f}
	},
}

var tankPickup = statement{
	id: "tank-pickup", title: "nothing keeps fuel over the pick-up", severity: diag.Fix, page: "fuel",
	why:    "Injection has no float chamber to live on. In a bend, on a slope or with little in the tank the fuel leaves a bare pick-up, the pump draws air, and the engine stumbles or leans out under load.",
	source: "common practice", path: []string{"tank", "pickup"}, bad: []string{"bare"}, good: "swirl pot",
	msg: "the pick-up stands bare in the tank and draws air in bends", hint: "fit a swirl pot that the return fills, or a baffle round the pick-up",
}.rule()

var tankStrainer = statement{
	id: "tank-strainer", title: "the pump has no strainer before it", severity: diag.Fix, page: "fuel",
	why:    "An old tank sheds rust and varnish. What gets into the pump wears its cells within hours, and the filter behind it guards only the injectors.",
	source: "common practice", path: []string{"tank", "strainer"}, bad: []string{"none"}, good: "fitted",
	msg: "nothing strains the fuel before the pump", hint: "fit a strainer to the pick-up, and clean or line an old tank",
}.rule()

var tankVent = statement{
	id: "tank-vent", title: "the tank's vent stays open when the vehicle lies on its roof", severity: diag.Stop, page: "fuel",
	why:    "A vehicle on its roof empties its tank through an open vent, over hot metal and over those who are in it.",
	source: "common practice: a roll-over valve in every vent; the law of the place rules", path: []string{"tank", "roll-over vent"}, bad: []string{"none"}, good: "fitted",
	msg: "the tank has no roll-over valve in its vent", hint: "fit a roll-over valve, and ask what the law of the place wants of tank and vent",
}.rule()

var tankVapour = statement{
	id: "tank-vapour", title: "the tank's vapour goes into the open", severity: diag.Note, page: "fuel",
	why:    "A tank breathes every day. What it breathes out burns, makes ill and is ruled by law in most places; a charcoal canister holds it and a purge valve lets the engine burn it.",
	source: "common practice; the law of the place rules", path: []string{"tank", "vapour"}, bad: []string{"into the open"}, good: "canister and purge valve",
	msg: "the tank breathes into the open", hint: "fit a canister and a purge valve that the controller opens once the engine is warm, and ask what the law of the place wants",
}.rule()
