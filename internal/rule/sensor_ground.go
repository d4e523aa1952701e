package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
)

var sensorGround = Rule{
	ID:    "sensor-ground",
	Title: "the sensors' ground is shared with power ground",
	Why: "A sensor's voltage is read against the controller's own ground. Where its return shares a wire with injectors and coils, " +
		"their current lifts it, and every reading moves with the load: a shut throttle reads open, a cold engine reads warm.",
	Source:   "common practice: sensor return only to the controller's sensor ground pin",
	Severity: diag.Stop,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "grounds", "sensor", "joins"}, Text: "power"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "grounds", "sensor", "joins"}, Text: "controller"}},
	Check:    checkSensorGround,
}

// isPin reports whether a node is a pin of the controller.
func (c *Case) isPin(node string) bool {
	return slices.ContainsFunc(c.Loom.Pins, func(p loom.Pin) bool { return p.Node == node })
}

func checkSensorGround(c *Case) []Finding {
	w, ok := c.Loom.Wire("sensor ground")
	if !ok || c.isPin(w.To.Node) {
		return nil
	}
	f := Finding{Target: "power#" + vehicle.WireAnchor(w.Number)}
	f.Pos, f.Subject = w.Pos, "sensor ground"
	f.Msg = diag.Sayf("sensor ground joins power ground at %s instead of the controller", w.To.Place)
	f.Value, f.Limit = diag.Sayf("shared"), diag.Sayf("its own return to the controller")
	f.Hint = diag.Sayf("give the sensors their own return to the controller's sensor ground")
	f.Why = diag.Sayf("Power current moves the sensors' ground against the controller's.")
	for _, state := range []string{design.Full, design.Idle} {
		if m, ok := c.margin(state, "sensor ground", "VoltageV"); ok && c.Result.State(state).Ended.OK {
			f.State, f.Margin = state, string(m.ID)
			f.Value = diag.Sayf("%v off", value(m))
			f.Why = diag.Sayf("In the state %s it stands %v off the controller's own ground; %v is the most that a reading of %v takes.",
				state, value(m), limit(m), say(figure.ID("model/sensor supply"), 5, "V"))
			break
		}
	}
	f.Mends = []Mend{{
		Title: diag.Sayf("sensor ground to the controller's own pin"),
		Edits: []buildfile.Edit{{Path: []string{"loom", "grounds", "sensor", "joins"}, Text: "controller"}},
	}}
	return []Finding{f}
}
