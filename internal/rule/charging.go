package rule

import (
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
)

var alternatorExcite = Rule{
	ID: "alternator-excite", Title: "nothing excites the alternator",
	Why: "A self-excited alternator needs a small current through terminal 61 until it makes its own field. Without the lamp or a resistor in its place, or a controller that commands its regulator, " +
		"it turns and never charges.",
	Source: "common practice: a lamp of 2 to 3 W, or a resistor of the like", Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("nothing", "electrical", "alternator excited by")},
	Good: []buildfile.Edit{edit("lamp", "electrical", "alternator excited by")},
	Check: func(c *Case) []Finding {
		e := c.Design.File.Electrical
		if e == nil || e.Excited != "nothing" {
			return nil
		}
		f := Finding{Target: "power#electrical", State: design.Idle}
		f.Pos, f.Subject = c.Design.Place("electrical", "alternator excited by"), "electrical, alternator excited by"
		f.Msg = diag.Sayf("nothing feeds the alternator's terminal 61, so it never begins to charge")
		f.Why = diag.Sayf("The battery alone carries what is switched on.")
		f.Value, f.Limit = diag.Sayf("nothing"), diag.Sayf("a lamp, a resistor or the controller")
		f.Hint = diag.Sayf("wire a charge lamp of 2 to 3 W, or a resistor, from terminal 15 to terminal 61")
		f.Mends = to("alternator excited by: lamp", "lamp", "electrical", "alternator excited by")
		return []Finding{f}
	},
}

var exciteWire = Rule{
	ID: "excite-wire", Title: "no wire of the loom leads to the alternator's terminal 61 to excite it",
	Why: "The current that begins an alternator's field comes through a lamp, or a resistor, between terminal 15 and terminal 61. A lamp that the controller lights only tells of the charge: " +
		"where nothing else goes to terminal 61, the loom as listed leaves the alternator without its field.",
	Source: "DIN 72552, terminal 61; common practice: a lamp of 2 to 3 W, or 68 Ω", Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("alternator 120 A", "devices", "alternator", "part"), edit("warning lamp", "devices", "charge lamp", "part")},
	Good: []buildfile.Edit{edit("alternator 120 A", "devices", "alternator", "part"), edit("charge lamp", "devices", "charge lamp", "part")},
	Check: func(c *Case) []Finding {
		alt := c.Design.One("alternator")
		e := c.Design.File.Electrical
		if alt.Part.Terminal("61") == nil || len(loom.Exciters(c.Design)) > 0 || e != nil && (e.Excited == "nothing" || e.Excited == "controller") {
			return nil
		}
		f := Finding{Target: "power#electrical", State: design.KeyOn}
		f.Pos, f.Subject = alt.Pos, alt.Name
		f.Msg = diag.Sayf("no device excites %s: nothing of the loom but a controller's input goes to its terminal 61", alt.Name)
		f.Value, f.Limit = diag.Sayf("nothing"), diag.Sayf("a charge lamp or a resistor")
		f.Hint = diag.Sayf("add a charge lamp to the devices, or state that the controller commands the regulator")
		at := alt.At
		for _, it := range c.Design.OfKind("switch") {
			if it.Part.Terminal("15") != nil {
				at = it.At
				break
			}
		}
		for _, part := range []string{"charge lamp", "excitation resistor"} {
			if c.Design.Cat.Parts[part] == nil {
				continue
			}
			name := part
			f.Mends = append(f.Mends, Mend{
				Title: diag.Sayf("a %s at the alternator's terminal 61", part),
				Edits: []buildfile.Edit{edit(part, "devices", name, "part"), edit(at, "devices", name, "at")},
			})
		}
		return []Finding{f}
	},
}

var chargeLamp = Rule{
	ID: "charge-lamp", Title: "the charge lamp is too small to excite the alternator",
	Why: "The lamp's own current is what magnetises the rotor until the alternator feeds its field itself. A lamp of 1.2 W, or one with a diode that glows on milliamperes, passes too little: " +
		"the alternator does not begin to charge until the engine has been revved, or not at all.",
	Source: "from memory: some 0.15 A at terminal 61; common practice: a lamp of 2 to 3 W, or a resistor beside it", Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("lamp", "electrical", "alternator excited by"), edit("1.2 W", "electrical", "charge lamp")},
	Good: []buildfile.Edit{edit("lamp", "electrical", "alternator excited by"), edit("3 W", "electrical", "charge lamp")},
	Check: func(c *Case) []Finding {
		m, ok := c.margin(design.KeyOn, "excitation", "CurrentA")
		e := c.Design.File.Electrical
		if !short(m, ok) || e == nil {
			return nil
		}
		pos := c.Design.Place("electrical", "charge lamp")
		f := finding(pos, "charge lamp", "power#electrical", design.KeyOn, m,
			diag.Sayf("with the key on %v flow through lamp and rotor; the alternator wants %v to begin charging", value(m), limit(m)))
		f.Hint = diag.Sayf("fit a lamp of 2 to 3 W, or a resistor beside it")
		if e.LampW != nil {
			f.Mends = to("charge lamp of 3 W", "3 W", "electrical", "charge lamp")
		}
		return []Finding{f}
	},
}

var backFeed = Rule{
	ID: "back-feed", Title: "the engine runs on with the key off",
	Why: "Terminal 61 of a charging alternator stands at its full voltage. With the key off it feeds back through the charge lamp into terminal 15, and where that holds the controller's switched supply up, " +
		"nothing shuts down: main relay, pump and spark stay on, and the key no longer stops the engine.",
	Source: "nodal analysis of the network with the key off; common practice: a diode in the lamp's wire", Severity: diag.Stop, Page: "power",
	Bad:  []buildfile.Edit{edit("lamp", "electrical", "alternator excited by"), edit("20 W", "electrical", "charge lamp")},
	Good: []buildfile.Edit{edit("lamp and diode", "electrical", "alternator excited by"), edit("20 W", "electrical", "charge lamp")},
	Check: func(c *Case) []Finding {
		k := c.Result.KeyOff
		if k == nil || !k.Ended.OK || !k.RunsOn {
			return nil
		}
		f := Finding{Target: "power#electrical"}
		f.Pos, f.Subject = c.Design.Place("electrical", "alternator excited by"), "electrical, alternator excited by"
		f.Value, f.Limit = diag.Sayf("%v", say("keyoff/switched supply/VoltageV", k.SwitchedV, "V")), diag.Sayf("below %v", input(k.OffIn))
		f.Msg = diag.Sayf("with the key off and the engine turning %v stay at the controller's switched supply; it shuts down below %v", f.Value, input(k.OffIn))
		f.Why = diag.Sayf("Terminal 61 feeds back through the charge lamp, and the relays %s stay in.", strings.Join(k.Held, ", "))
		f.Hint = diag.Sayf("put a diode into the lamp's wire, its cathode at terminal 61, or fit a lamp of 2 to 3 W")
		f.Mends = to("charge lamp with a diode", "lamp and diode", "electrical", "alternator excited by")
		return []Finding{f}
	},
}

var isolatorRun = Rule{
	ID: "isolator-run", Title: "the battery isolator leaves the alternator on the loom",
	Why: "An alternator that loses its battery while it charges throws its field's energy at whatever is left: tens of volts for a tenth of a second, enough to end a controller. " +
		"And an engine whose controller it feeds runs on, whoever opened the isolator and why.",
	Source: "ISO 16750-2, load dump (from memory: 79 to 101 V without suppression, 35 V with)", Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("leaves the alternator on", "electrical", "battery isolator")},
	Good: []buildfile.Edit{edit("stops the engine", "electrical", "battery isolator")},
	Check: func(c *Case) []Finding {
		i := c.Result.Isolated
		if i == nil || !i.Ended.OK || len(i.Fed) == 0 {
			return nil
		}
		f := Finding{Target: "power#electrical", State: design.Idle}
		f.Pos, f.Subject = c.Design.Place("electrical", "battery isolator"), "electrical, battery isolator"
		f.Value, f.Limit = diag.Sayf("%d devices at up to %v", len(i.Fed), say("isolated/alternator/VoltageV", i.PostV, "V")), diag.Sayf("none")
		f.Msg = diag.Sayf("with the isolator open under a running engine the alternator still feeds %d devices, the controller with %v", len(i.Fed), say("isolated/controller/VoltageV", i.ControllerV, "V"))
		f.Why = diag.Sayf("It charged a battery that is gone: all of them take the load dump, and the engine runs on.")
		f.Hint = diag.Sayf("wire the isolator so that it takes terminal 15 and the alternator off as well")
		return []Finding{f}
	},
}

var loadDump = Rule{
	ID: "load-dump", Title: "the battery isolator exposes a control unit to load dump",
	Why: "An isolator that opens at speed takes the battery from a charging alternator. The energy of its field has nowhere to go but into what is still joined to it: up to a hundred volts, " +
		"falling over some tenths of a second. Diodes in the alternator that clamp hold it to 35 V, which control units are built for; without them a unit on a permanent feed is lost.",
	Source: "ISO 16750-2:2012, 4.6.4: test A, 79 to 101 V behind 0.5 to 4 Ω; test B, 35 V with suppression in the alternator", Severity: diag.Fix, Page: "power",
	Bad:   []buildfile.Edit{edit("stops the engine", "electrical", "battery isolator"), edit("bare alternator", "devices", "alternator", "part")},
	Good:  []buildfile.Edit{edit("stops the engine", "electrical", "battery isolator"), edit("alternator 120 A", "devices", "alternator", "part")},
	Parts: map[string]string{"parts/bare alternator.yaml": bareAlternator},
	Check: func(c *Case) []Finding {
		d := c.Result.Dump
		if d == nil || !d.Isolator {
			return nil
		}
		lost := d.Unborne()
		if len(lost) == 0 {
			return nil
		}
		alt := c.Design.One("alternator")
		worst := &lost[0]
		at := say(vehicle.DumpID(worst.Name, "VoltageV"), worst.PeakV, "V")
		f := Finding{Target: "power#dump", State: design.Full}
		f.Pos, f.Subject = c.Design.Place("electrical", "battery isolator"), "electrical, battery isolator"
		f.Value, f.Limit = diag.Sayf("%v", at), diag.Sayf("at most %v", input(worst.Bears))
		f.Msg = diag.Sayf("when the isolator opens at full power %s gets up to %v from the alternator; it bears %v", worst.Name, at, input(worst.Bears))
		f.Why = diag.Sayf("Once its battery is gone the alternator would give up to %v with nothing joined, falling over %v.", say(vehicle.DumpID(alt.Name, "PeakV"), d.Pulse.PeakV, "V"),
			say(vehicle.DumpID(alt.Name, "LastsS"), d.Pulse.LastsS, "ms"))
		if n := len(lost) - 1; n > 0 {
			f.Why = append(f.Why, diag.Sayf(" %d more devices get more than they bear.", n)...)
		}
		f.Hint = diag.Sayf("fit an alternator whose diodes clamp at 35 V, or an isolator that takes the alternator off the loom as well")
		for _, part := range clampedAlternators(c, alt.Part) {
			f.Mends = append(f.Mends, Mend{
				Title: diag.Sayf("%s to %s", alt.Written, part),
				Edits: []buildfile.Edit{{Path: []string{"devices", alt.Written, "part"}, Text: part}},
			})
		}
		return []Finding{f}
	},
}

// clampedAlternators lists the catalogue's alternators of at least the fitted
// one's rating whose diodes clamp, smallest first.
func clampedAlternators(c *Case, now *catalogue.Part) []string {
	return alternators(c, now, func(p *catalogue.Part) bool {
		return p.Alternator.Dump == "clamped" && p.Alternator.RatedA.SI >= now.Alternator.RatedA.SI
	})
}

// An example's alternator: nothing holds what it gives without a battery.
const bareAlternator = `part: bare alternator
kind: alternator
is: invented alternator with plain diodes
source: invented for an example
terminals:
  30: {role: post}
  61: {role: input, needs: switch input}
  case: {role: case}
alternator:
  rated current: 120 A ± 5 %
  set voltage: 14.2 V ± 0.15 V
  regulation: 3 mΩ ± 40 %
  pulley ratio: 2.8 ± 0.12
  load dump: not clamped
`

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
