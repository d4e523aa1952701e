package rule

import (
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
)

// pumpOutput is what a controller's pin can do that switches the pump.
const pumpOutput = "pump output"

// pumpEnd is the terminal of a pump that hangs on the controller's pump output
// without a relay between.
func pumpEnd(it design.Item) string {
	for _, t := range it.Part.Terminals {
		if it.Part.Kind == "pump" && t.Value.Needs == pumpOutput {
			return it.Name + " " + t.Name
		}
	}
	return ""
}

var pumpOverDriver = Rule{
	ID: "pump-over-driver", Title: "the pump draws more than the controller's output carries",
	Why: "A controller that switches a pump itself does so within a limit, 15 A as a rule. Beyond it the output shuts itself off when it is hot and the rail is empty, or it burns through, " +
		"and the pump stands still or never stops. A pump relay, with that output on its coil, carries any pump.",
	Source: "common practice: 15 A is the common limit; a pump relay triggered by that output beyond it", Severity: diag.Fix, Page: "fuel",
	Bad:  []buildfile.Edit{edit("pump controller", "devices", "controller", "part"), edit("switched pump", "devices", "fuel pump", "part"), thickPumpWires[0], thickPumpWires[1]},
	Good: []buildfile.Edit{edit("pump controller", "devices", "controller", "part"), edit("small switched pump", "devices", "fuel pump", "part"), thickPumpWires[0], thickPumpWires[1]},
	Parts: map[string]string{
		"parts/pump controller.yaml": strings.NewReplacer(
			"pump output current: 1 A", "pump output current: 15 A",
			"can: [pump output], current: 1 A, resistance: 500 mΩ", "can: [pump output], resistance: 20 mΩ",
		).Replace(exampleController("pump controller",
			`{connector: C, ways: "1", can: [motor bridge one], current: 8 A, resistance: 250 mΩ}`,
			`{connector: C, ways: "2", can: [motor bridge two], current: 8 A, resistance: 250 mΩ}`)),
		"parts/switched pump.yaml":       switchedPump("switched pump", "16.5 A"),
		"parts/small switched pump.yaml": switchedPump("small switched pump", "9 A"),
	},
	Check: checkPumpOverDriver,
}

func checkPumpOverDriver(c *Case) []Finding {
	most := c.Design.One("controller").Part.Controller.MostA
	var out []Finding
	for _, it := range c.Design.Devices {
		if pumpEnd(it) == "" || it.Part.Pump == nil || most == nil || it.Part.Pump.CurrentA.SI <= most.SI {
			continue
		}
		draws := it.Part.Pump.CurrentA
		f := Finding{Target: "fuel#pump"}
		f.Pos, f.Subject = it.Pos, it.Name
		f.Msg = diag.Sayf("%q draws %v and hangs on the controller's pump output, which carries %v", it.Name, input(draws), input(most))
		f.Value, f.Limit = diag.Sayf("%v", input(draws)), diag.Sayf("at most %v", input(most))
		f.Hint = diag.Sayf("feed the pump from the pump relay, and let the output switch that relay's coil")
		out = append(out, f)
	}
	return out
}

// thickPumpWires give the examples' pump its volts.
var thickPumpWires = []buildfile.Edit{edit("25 mm²", "loom", "wires", "fuel pump 1", "size"), edit("25 mm²", "loom", "wires", "fuel pump 2", "size")}

// switchedPump is an example's pump, fed all the time and switched in its return.
func switchedPump(name, draws string) string {
	return strings.NewReplacer("NAME", name, "DRAWS", draws).Replace(`part: NAME
kind: pump
is: invented pump that is fed by the main relay and switched in its return
source: invented for an example
terminals:
  1: {role: feed, feed: engine}
  2: {role: output, needs: pump output}
loads:
  - {from: "1", to: "2", model: pump, on: [key on, cranking, idle, wet night, cruise, full power, hot restart]}
pump:
  rated voltage: 12 V
  rated pressure: 4 bar
  flow: 150 L/h
  free flow: 260 L/h
  current: DRAWS
`)
}

var pumpRunaway = Rule{
	ID: "pump-runaway", Title: "the fuel pump runs whatever the engine does",
	Why: "A pump on the key runs on when the engine has stopped: after a stall, after a crash, with a line torn off. " +
		"The controller stops it within two seconds of losing the crankshaft's signal, if it is the one that switches it.",
	Source: "common practice: prime of 2 to 3 s, running only with a crank signal, stopped within 2 s of losing it", Severity: diag.Stop, Page: "power",
	Bad:   []buildfile.Edit{edit("15", "loom", "feeds", "pump", "from")},
	Good:  []buildfile.Edit{edit("pump", "loom", "feeds", "pump", "relay")},
	Check: checkPumpRunaway,
}

func checkPumpRunaway(c *Case) []Finding {
	scheme := &c.Design.Cat.Scheme
	var own string // the relay that the pump output switches
	for _, r := range scheme.Relays {
		if r.Value.Needs == pumpOutput {
			own = r.Name
		}
	}
	i := slices.IndexFunc(c.Design.File.Loom.Feeds, func(v buildfile.Named[design.FeedFix]) bool { return v.Name == "pump" })
	if i < 0 || !c.hasFeed("pump") {
		return nil
	}
	v := c.Design.File.Loom.Feeds[i].Value
	f := Finding{Target: "power#feed-pump"}
	f.Subject = "feed pump"
	r := scheme.Relay(v.Relay)
	switch {
	case v.Relay != "" && r != nil && r.Needs != pumpOutput:
		f.Pos = c.Design.Place("loom", "feeds", "pump", "relay")
		f.Msg = diag.Sayf("the fuel pump hangs on the %s relay and runs with the engine stopped", v.Relay)
		f.Value = diag.Sayf("%s relay", v.Relay)
	case v.Relay == "" && v.From != "":
		f.Pos = c.Design.Place("loom", "feeds", "pump", "from")
		f.Msg = diag.Sayf("the fuel pump hangs on terminal %s and runs with the engine stopped", v.From)
		f.Value = diag.Sayf("terminal %s", v.From)
	default:
		return nil
	}
	f.Limit = diag.Sayf("the relay that the controller's pump output switches")
	f.Hint = diag.Sayf("let the controller switch it by a relay of its own")
	if own != "" {
		f.Mends = c.ontoRelay("pump", own)
	}
	return []Finding{f}
}

// hasFeed reports whether a device hangs on a feed group.
func (c *Case) hasFeed(feed string) bool {
	for _, it := range c.Design.Devices {
		for _, t := range it.Part.Terminals {
			if t.Value.Role == "feed" && t.Value.Feed == feed {
				return true
			}
		}
	}
	return false
}
