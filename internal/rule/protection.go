package rule

import (
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
)

// leadMostM is how far from the battery's post its fuses may sit.
const leadMostM = 0.2 // common practice

var batteryLead = Rule{
	ID:    "battery-lead",
	Title: "the battery's fuses sit too far from its post",
	Why: "What lies between the post and the first fuse is guarded by nothing: a battery drives thousands of amperes into a short there, " +
		"and the cable burns until the battery is flat. The alternator's cable, which the battery feeds from its other end, is fused at the same place.",
	Source:   "common practice: within 200 mm of the post; the alternator's cable at its battery end",
	Severity: diag.Stop,
	Page:     "power",
	Bad:      []buildfile.Edit{edit("fuse box", "loom", "main fuses", "at")},
	Good:     []buildfile.Edit{edit("150 mm", "loom", "main fuses", "lead")},
	Check: func(c *Case) []Finding {
		w, ok := c.Loom.Wire(loom.BatteryLead)
		if !ok || w.LengthM <= leadMostM {
			return nil
		}
		f := Finding{Target: "power#" + vehicle.WireAnchor(w.Number)}
		f.Pos, f.Subject = c.Design.Place("loom", "main fuses"), "main fuses"
		for _, key := range []string{"at", "lead"} {
			if c.Design.Tree.Find("loom", "main fuses", key) != nil {
				f.Pos = c.Design.Place("loom", "main fuses", key)
			}
		}
		length := say(vehicle.WireLengthID(&w), w.LengthM, "m")
		f.Msg = diag.Sayf("%v of cable lie between the battery's post and its fuses, guarded by nothing; two hundred millimetres are the most", length)
		f.Value, f.Limit = diag.Sayf("%v", length), diag.Sayf("at most two hundred millimetres")
		f.Hint = diag.Sayf("put the fuses on the battery's post")
		f.Mends = []Mend{{Title: diag.Sayf("fuses on the battery's post"), Edits: []buildfile.Edit{{Path: []string{"loom", "main fuses"}, Delete: true}}}}
		return []Finding{f}
	},
}

var fuseGroup = Rule{
	ID:    "fuse-group",
	Title: "one blown fuse leaves the engine neither running nor stopped as it should",
	Why: "A fuse opens when it must, not when it suits. What hangs on it has to leave the engine running, or stopped with its fuel cut off: " +
		"a pump that runs on without a controller feeds a fire after a crash, and a cylinder without spark pumps petrol into a hot exhaust.",
	Source:   "common practice: the controller switches the pump and takes its supply away when the engine does not turn",
	Severity: diag.Stop,
	Page:     "power",
	Bad:      []buildfile.Edit{edit("stray coil", "devices", "sixth coil", "part"), edit("engine top", "devices", "sixth coil", "at")},
	Good:     []buildfile.Edit{edit("plug coil", "devices", "sixth coil", "part"), edit("engine top", "devices", "sixth coil", "at")},
	Parts:    map[string]string{"parts/stray coil.yaml": strayCoil},
	Check:    checkFuseGroup,
}

// An example's coil: it hangs on another group of supply than its sisters.
const strayCoil = `part: stray coil
kind: coil
is: invented coil that wants the supply of the engine's valves
source: invented for an example
terminals:
  15: {role: feed, feed: engine}
  31: {role: ground, ground: head}
  signal: {role: output, needs: coil driver}
loads:
  - {from: "15", to: "31", model: coil, on: [cranking, idle, wet night, cruise, full power, hot restart]}
coil:
  primary resistance: 0.55 Ω ± 15 %
  primary inductance: 3 mH ± 15 %
  charge current: 7.5 A ± 7 %
  least energy: 35 mJ ± 20 %
`

func checkFuseGroup(c *Case) []Finding {
	var out []Finding
	blown := map[string][]*loom.Fuse{}
	var devices []string
	var fewest *loom.Fuse
	for i := range c.Loom.Fuses {
		fu := &c.Loom.Fuses[i]
		if n := len(fu.Lost.Part); n > 0 && (fewest == nil || n < len(fewest.Lost.Part)) {
			fewest = fu
		}
		for _, d := range fu.Lost.StillOn {
			if !slices.Contains(devices, d) {
				devices = append(devices, d)
			}
			blown[d] = append(blown[d], fu)
		}
	}
	if fewest != nil {
		out = append(out, c.partFinding(fewest))
	}
	if len(checkPumpRunaway(c)) > 0 {
		return out // that rule says it
	}
	for _, d := range devices {
		out = append(out, c.stillOnFinding(d, blown[d]))
	}
	return out
}

// partFinding is about a device that hangs on another fuse than its sisters.
func (c *Case) partFinding(fu *loom.Fuse) Finding {
	device := fu.Lost.Part[0]
	f := Finding{Target: "power#fuse-" + fu.Name}
	f.Pos, f.Subject = c.Design.Place("devices"), device
	for _, it := range c.Design.Devices {
		if it.Name == device {
			f.Pos = it.Pos
		}
	}
	f.Msg = diag.Sayf("when fuse %s blows, %s is dead while its sisters on other fuses go on", fuseWords(fu), device)
	f.Value, f.Limit = diag.Sayf("a part of them"), diag.Sayf("all of them or none")
	f.Why = diag.Sayf("The engine runs on some of its cylinders.")
	f.Hint = diag.Sayf("give all of them the same group of supply")
	return f
}

// stillOnFinding is about a device that goes on when the engine has stopped.
func (c *Case) stillOnFinding(device string, blown []*loom.Fuse) Finding {
	var names []string
	for _, fu := range blown {
		names = append(names, fu.Name)
	}
	f := Finding{Target: "power#fuse-" + names[0]}
	f.Pos, f.Subject = c.Design.Place("devices"), device
	f.Msg = diag.Sayf("when %s blows the engine stops and %s runs on: nothing switches it off", orList(names), device)
	f.Value, f.Limit = diag.Sayf("runs on"), diag.Sayf("stops with the controller")
	f.Why = diag.Sayf("Its supply comes through no relay that the controller holds.")
	f.Hint = diag.Sayf("feed it through a relay that the controller switches")
	for i := range c.Loom.Wires {
		w := &c.Loom.Wires[i]
		if w.Kind != loom.Supply || w.Feed == "" || !slices.ContainsFunc(w.Served, func(s string) bool { return strings.HasPrefix(s, device+" ") }) {
			continue
		}
		f.Pos = c.Design.Place("loom", "feeds", w.Feed)
		if c.Design.Tree.Find("loom", "feeds", w.Feed, "from") != nil {
			f.Pos = c.Design.Place("loom", "feeds", w.Feed, "from")
		}
		if g := c.Design.Cat.Scheme.Feed(w.Feed); g != nil && g.Relay != "" {
			f.Mends = []Mend{{
				Title: diag.Sayf("feed the %s through its relay", w.Feed),
				Edits: []buildfile.Edit{{Path: []string{"loom", "feeds", w.Feed, "from"}, Delete: true}, {Path: []string{"loom", "feeds", w.Feed, "relay"}, Text: g.Relay}},
			}}
		}
		break
	}
	return f
}

// orList names alternatives.
func orList(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

var coilSuppression = Rule{
	ID:    "coil-suppression",
	Title: "nothing takes up the energy of a relay's coil",
	Why: "A coil that is switched off drives its current on, and its voltage rises until something gives: some hundred volts across the controller's driver, " +
		"which ages with every stroke, and a spike on the supply that sensors and the controller see. A resistor or a diode beside the coil takes it.",
	Source:   "common practice: 560 to 680 Ω or a diode beside the coil; ISO 7637-2 for the pulses of inductive loads",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{edit("large fan", "loom", "feeds", "fans", "relay")},
	Good:     []buildfile.Edit{edit("fans", "loom", "feeds", "fans", "relay")},
	Parts:    map[string]string{"parts/power relay.yaml": bareRelay},
	Check: func(c *Case) []Finding {
		var out []Finding
		for i := range c.Loom.Relays {
			r := &c.Loom.Relays[i]
			if s := r.Part.Relay.Suppressed; s == "resistor" || s == "diode" {
				continue
			}
			f := Finding{Target: "power#relay-" + r.Name}
			f.Pos, f.Subject = r.Pos, "relay "+r.Name
			f.Msg = diag.Sayf("the coil of relay %s, %s, of %v, has neither resistor nor diode beside it", r.Name, r.Group, input(r.Part.Relay.CoilOhm))
			f.Value, f.Limit = diag.Sayf("nothing"), diag.Sayf("a resistor or a diode")
			f.Hint = diag.Sayf("take a relay with a resistor beside its coil, and say so in its part")
			out = append(out, f)
		}
		return out
	},
}

// An example's relay: its coil has nothing beside it.
const bareRelay = `part: power relay
kind: relay
is: invented relay without suppression
source: invented for an example
terminals:
  30: {role: post}
  87: {role: post}
  85: {role: output, needs: low side}
  86: {role: post}
contacts:
  - {from: "30", to: "87", resistance: 1.2 mΩ ± 50 %}
loads:
  - {from: "86", to: "85", model: resistance, resistance: 75 Ω ± 10 %}
relay:
  coil resistance: 75 Ω ± 10 %
  contact resistance: 1.2 mΩ ± 50 %
  contact current: 50 A ± 8 %
  operate voltage: 7.5 V ± 7 %
  suppressed by: nothing
`
