package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
)

var relayPullIn = Rule{
	ID:    "relay-pull-in",
	Title: "a relay does not close again while its coil is hot",
	Why: "A relay closes by its coil's ampere-turns. Hot copper lets less current through at the same volts, so that straight after a drive the relay wants a third more " +
		"volts than its data say at 20 °C; in a hot place, or with volts lost on the way to its coil, it stays open until it has cooled.",
	Source:   "IEC 60028, copper's resistance against temperature; heat of a coil from memory, 40 to 70 K/W for a cube relay",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{edit("large fan", "loom", "feeds", "fans", "relay")},
	Good:     []buildfile.Edit{edit("fans", "loom", "feeds", "fans", "relay")},
	Parts:    map[string]string{"parts/power relay.yaml": lorryRelay},
	Check: func(c *Case) []Finding {
		var out []Finding
		for i := range c.Loom.Relays {
			r := &c.Loom.Relays[i]
			for _, state := range []string{design.KeyOn, design.Idle, design.WetNight, design.Cruise, design.Full} {
				m, ok := c.margin(state, r.Name, "PullInV")
				if !short(m, ok) {
					continue
				}
				f := finding(r.Pos, "relay "+r.Name, "power#relay-"+r.Name, state, m,
					diag.Sayf("relay %s, %s, gets %v at its coil; hot, it closes at %v", r.Name, r.Group, value(m), limit(m)))
				f.Why = diag.Sayf("By its data it operates at %v with a cold coil; its own current and the heat at %s warm it.", input(r.Part.Relay.OperateV), c.Loom.Box)
				f.Hint = diag.Sayf("fit a relay with a lower operate voltage, for 12 V; or put the fuse box in a cooler place")
				out = append(out, f)
			}
		}
		return out
	},
}

// An example's relay: from a lorry with 24 volts.
const lorryRelay = `part: power relay
kind: relay
is: invented relay for 24 V
source: invented for an example
terminals:
  30: {role: post}
  87: {role: post}
  85: {role: output, needs: low side}
  86: {role: post}
contacts:
  - {from: "30", to: "87", resistance: 1.2 mΩ ± 50 %}
loads:
  - {from: "86", to: "85", model: resistance, resistance: 300 Ω ± 10 %}
relay:
  coil resistance: 300 Ω ± 10 %
  contact resistance: 1.2 mΩ ± 50 %
  contact current: 50 A ± 8 %
  operate voltage: 16 V ± 7 %
  suppressed by: resistor
  suppression resistance: 2.2 kΩ ± 10 %
`
