package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/loom"
)

// unitCan reports whether some control unit has a pin that can do something.
func (c *Case) unitCan(needs string) bool {
	return slices.ContainsFunc(loom.Units(c.Design), func(u design.Item) bool { return partCan(u.Part, needs) })
}

func partCan(p *catalogue.Part, needs string) bool {
	return p.Controller != nil && slices.ContainsFunc(p.Controller.Pins, func(b catalogue.PinBank) bool { return slices.Contains(b.Can, needs) })
}

// wants lists the terminals of all devices that want a pin of a kind.
func (c *Case) wants(needs string) (ends []string) {
	for _, it := range c.Design.Devices {
		for _, t := range it.Part.Terminals {
			if t.Value.Needs == needs {
				ends = append(ends, it.Name+" "+t.Name)
			}
		}
	}
	return ends
}

// What a controller's pins can do that runs a direct injection.
const (
	directPump     = "direct pump driver"
	directInjector = "direct injector driver"
)

// What the two sides of an electronic throttle's driver can do.
const (
	bridge      = "motor bridge one"
	otherBridge = "motor bridge two"
)

var throttleDriver = Rule{
	ID: "throttle-driver", Title: "the controller can't move an electronic throttle",
	Why: "The throttle's motor is driven both ways, some 5 A, and corrected a thousand times a second against two tracks. That takes a bridge inside the controller and its own watch over it; " +
		"an ordinary output can do neither.",
	Source: "common practice", Severity: diag.Fix, Page: "engine",
	Bad:   []buildfile.Edit{edit("plain controller", "devices", "controller", "part"), edit("electronic", "engine", "throttle")},
	Good:  []buildfile.Edit{edit("electronic", "engine", "throttle")},
	Parts: map[string]string{"parts/plain controller.yaml": exampleController("plain controller")},
	Check: func(c *Case) []Finding {
		electronic := c.Design.File.Engine.Throttle == "electronic" || len(c.wants(bridge)) > 0
		if !electronic || c.unitCan(bridge) {
			return nil
		}
		ctl := c.Design.One("controller")
		f := Finding{Target: "loom#pins"}
		f.Pos, f.Subject = ctl.Pos, "controller"
		f.Msg = diag.Sayf("the throttle is electronic and %q has no bridge to move it", ctl.Part.Name)
		f.Value, f.Limit = diag.Sayf("no bridge"), diag.Sayf("one motor bridge")
		f.Hint = diag.Sayf("take a controller with a motor bridge, or fit a cable throttle with an idle valve")
		f.Mends = exchange(c, ctl, func(p *catalogue.Part) (float64, bool) {
			return float64(len(p.Controller.Pins)), partCan(p, bridge)
		})
		return []Finding{f}
	},
}

var idleValve = Rule{
	ID: "idle-valve", Title: "a cable throttle has no idle valve",
	Why:    "A shut cable throttle passes one fixed amount of air. A cold engine, a gear engaged or the alternator at full load need more, and without a valve past the throttle the engine stalls, or idles too fast the rest of the time.",
	Source: "common practice", Severity: diag.Fix, Page: "engine",
	Bad:  cableThrottle,
	Good: append(slices.Clone(cableThrottle), edit("idle valve", "devices", "idle valve", "part"), edit("engine top", "devices", "idle valve", "at")),
	Check: func(c *Case) []Finding {
		cable := c.Design.File.Engine.Throttle == "cable"
		if !cable || len(c.wants("idle output")) > 0 || len(c.wants("stepper output")) > 0 {
			return nil
		}
		f := Finding{Target: "engine#throttle"}
		f.Pos, f.Subject = c.Design.Place("engine", "throttle"), "idle valve"
		f.Msg = diag.Sayf("the throttle is moved by a cable and no device is an idle valve")
		f.Value, f.Limit = diag.Sayf("none"), diag.Sayf("one idle valve")
		f.Hint = diag.Sayf("add an idle valve, with pulses or by steps, as the controller can")
		at := c.Design.One("controller").At
		if l := c.Design.Telling("throttle angle"); len(l) > 0 {
			at = l[0].At
		}
		for _, part := range []string{"idle valve", "stepper idle valve"} {
			f.Mends = append(f.Mends, Mend{
				Title: diag.Sayf("add the %s", part),
				Edits: []buildfile.Edit{edit(part, "devices", "idle valve", "part"), edit(at, "devices", "idle valve", "at")},
			})
		}
		return []Finding{f}
	},
}

// cableThrottle makes the base vehicle's throttle one with a cable.
var cableThrottle = []buildfile.Edit{edit("cable", "engine", "throttle"), edit("cable throttle", "devices", "throttle", "part")}
