package rule

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
	"fettle/internal/wire"
)

var resetCranking = Rule{
	ID:    "reset-cranking",
	Title: "the controller restarts while cranking",
	Why: "The starter pulls the battery down, most of all when it is cold and in the moment before the engine turns. Below its reset voltage, for longer than it bridges, the controller starts anew, loses the crankshaft's position " +
		"and fires nothing; the engine turns and does not start.",
	Source:   "ISO 16750-2 starting profiles (from memory); the controller's own reset voltage",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"devices", "battery", "part"}, Text: "tired battery"}},
	Good:     []buildfile.Edit{{Path: []string{"devices", "battery", "part"}, Text: "battery 70 Ah"}},
	Parts:    map[string]string{"parts/tired battery.yaml": tiredBattery},
	Check:    checkResetCranking,
}

func checkResetCranking(c *Case) []Finding {
	ctl := c.Design.One("controller")
	m, ok := c.margin(design.Cranking, ctl.Name, "VoltageV")
	msg := diag.Sayf("the controller gets %v while cranking cold; it restarts below %v", value(m), limit(m))
	if !short(m, ok) {
		if m, ok = c.margin(design.Cranking, ctl.Name, "LastingV"); !short(m, ok) {
			return nil
		}
		start := c.Result.State(design.Cranking).Start
		msg = diag.Sayf("in the starter's inrush the controller gets %v, and less than %v for %v; it restarts", value(m), limit(m), say("crank/start/BelowS", start.BelowS, "ms"))
	}
	f := finding(c.Design.One("battery").Pos, "controller", "power#battery", design.Cranking, m, msg)
	f.Why = diag.Sayf("The starter pulls the battery down by its inner resistance and the cables'.")
	if s := c.Result.State(design.Cranking).Start; s != nil && s.Ended.OK {
		f.Why = diag.Sayf("The starter takes up to %v and pulls the battery down by its inner resistance and the cables'.", say("crank/start/InrushA", s.InrushA, "A"))
	}
	f.Hint = diag.Sayf("fit a battery with more cold cranking current, or thicker battery cables")
	f.Mends = strongerBatteries(c)
	return []Finding{f}
}

// An example's battery: what is left of an ordinary one after some winters.
const tiredBattery = `part: tired battery
kind: battery
is: invented battery that has seen too many winters
source: invented for an example
terminals:
  30: {role: post}
  31: {role: post}
battery:
  capacity: 40 A·h ± 5 %
  cold cranking current: 180 A ± 8 %
  state of charge: 75 % ± 10 %
`

// strongerBatteries offers the catalogue's batteries above the fitted one's
// cold cranking current, smallest first.
func strongerBatteries(c *Case) []Mend {
	bat := c.Design.One("battery")
	return exchange(c, bat, func(p *catalogue.Part) (float64, bool) {
		return p.Battery.ColdA.SI, p.Battery.ColdA.SI > bat.Part.Battery.ColdA.SI
	})
}

// exchange offers the catalogue's parts of a device's kind that take its place,
// those that fit, the least first.
func exchange(c *Case, it design.Item, fits func(*catalogue.Part) (order float64, ok bool)) []Mend {
	type offer struct {
		name string
		at   float64
	}
	var list []offer
	for name, p := range c.Design.Cat.Parts {
		if p.Kind != it.Part.Kind || name == it.Part.Name || !sameTerminals(p, it.Part) {
			continue
		}
		if at, ok := fits(p); ok {
			list = append(list, offer{name, at})
		}
	}
	slices.SortFunc(list, func(a, b offer) int {
		return cmp.Or(cmp.Compare(a.at, b.at), strings.Compare(a.name, b.name))
	})
	out := make([]Mend, len(list))
	for i, o := range list {
		out[i] = Mend{
			Title: diag.Sayf("%s to %s", it.Written, o.name),
			Edits: []buildfile.Edit{{Path: []string{"devices", it.Written, "part"}, Text: o.name}},
		}
	}
	return out
}

var slowCranking = Rule{
	ID:    "slow-cranking",
	Title: "the starter turns the engine too slowly to start it",
	Why: "Cold oil resists most when the battery can least. Below some 70 rpm the charge leaks past the rings and cools between its compression and its spark, " +
		"and the crankshaft sensor may see no signal at all.",
	Source:   "from memory: petrol engines start from 60 to 90 rpm",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "wires", "starter cable", "size"}, Text: "1.5 mm²"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "wires", "starter cable", "size"}, Text: "10 mm²"}},
	Check:    checkSlowCranking,
}

func checkSlowCranking(c *Case) []Finding {
	m, ok := c.margin(design.Cranking, "starter", "SpeedRadPerS")
	if !short(m, ok) {
		return nil
	}
	st := c.Design.One("starter")
	f := finding(st.Pos, "starter", "power#starter", design.Cranking, m,
		diag.Sayf("the starter turns the engine at %v when it is cold; it starts from %v", value(m), limit(m)))
	f.Hint = diag.Sayf("fit a stronger battery or starter, or thicker cables to them")
	s := c.Result.State(design.Cranking)
	for _, name := range []string{"starter cable", "engine strap"} {
		w, ok := c.Loom.Wire(name)
		dropV, currentA, known := s.WireDropV(w.Number)
		if !ok || !known || math.Abs(dropV) <= w.LimitV {
			continue
		}
		id := figure.ID(s.Key + "/" + vehicle.WireName(w.Number))
		f.Why = diag.Sayf("The %s takes %v of the battery's voltage at %v.", name, say(id+"/DropV", math.Abs(dropV), "V"), say(id+"/CurrentA", math.Abs(currentA), "A"))
		f.Mends = append(f.Mends, sizeMends(c, &w, thicker(c, &w, math.Abs(currentA)))...)
	}
	f.Mends = append(f.Mends, strongerBatteries(c)...)
	f.Mends = append(f.Mends, exchange(c, st, func(p *catalogue.Part) (float64, bool) {
		return p.Starter.StallA.SI, p.Starter.StallA.SI > st.Part.Starter.StallA.SI
	})...)
	return []Finding{f}
}

// thicker lists the smallest standard sizes above a wire's own that keep its
// drop at a current it carries for seconds only.
func thicker(c *Case, w *loom.Wire, currentA float64) []string {
	var out []string
	for _, v := range c.Design.Cat.Cables.Sizes {
		if v.Value.AreaM2.SI > w.Area.SI && currentA*wire.ResistanceOhm(w.LengthM, v.Value.OhmPerM.SI, w.HotK.SI) <= w.LimitV && len(out) < mostSizes {
			out = append(out, quantity.Format(v.Value.AreaM2.SI, "mm²", 0))
		}
	}
	return out
}

var sparkCranking = Rule{
	ID:    "spark-cranking",
	Title: "the spark is too weak while cranking",
	Why: "A coil charges towards voltage over resistance. With the battery pulled down it may never reach the current that a cold, rich or damp mixture needs " +
		"to be lit.",
	Source:   "charge of an inductor; 30 to 50 mJ for conventional ignition: Heywood, Internal Combustion Engine Fundamentals, 1988, section 9.5 (from memory)",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"devices", "coil", "part"}, Text: "old coil"}},
	Good:     []buildfile.Edit{{Path: []string{"devices", "coil", "part"}, Text: "plug coil"}},
	Parts:    map[string]string{"parts/old coil.yaml": oldCoil},
	Check: func(c *Case) []Finding {
		m, ok := c.margin(design.Cranking, "coil", "EnergyJ")
		if !short(m, ok) {
			return nil
		}
		f := finding(c.Design.OfKind("coil")[0].Pos, "coils", "power#coils", design.Cranking, m,
			diag.Sayf("a coil holds %v while cranking cold; %v are wanted", value(m), limit(m)))
		f.Why = diag.Sayf("The coils get too few volts to reach their current in the time there is.")
		f.Hint = diag.Sayf("give the coils more volts while cranking (battery, cables, the ignition feed), or fit some of less resistance")
		f.Mends = quickerCoils(c)
		return []Finding{f}
	},
}

// An example's coil: of the resistance that contact breakers asked for.
const oldCoil = `part: old coil
kind: coil
is: invented coil of high resistance, from before electronic ignition
source: invented for an example
terminals:
  15: {role: feed, feed: ignition}
  31: {role: ground, ground: head}
  signal: {role: output, needs: coil driver}
loads:
  - {from: "15", to: "31", model: coil, on: [cranking, idle, full power]}
coil:
  primary resistance: 3 Ω ± 5 %
  primary inductance: 6 mH ± 10 %
  charge current: 4 A ± 7 %
  least energy: 35 mJ ± 20 %
`

// quickerCoils offers the catalogue's coils of less resistance.
func quickerCoils(c *Case) []Mend {
	coil := c.Design.OfKind("coil")[0]
	return exchange(c, coil, func(p *catalogue.Part) (float64, bool) {
		return p.Coil.Ohm.SI, p.Coil.Ohm.SI < coil.Part.Coil.Ohm.SI
	})
}

// An example's pump: enough of it at full voltage, nothing when the battery sags.
const softPump = `part: soft pump
kind: pump
is: invented turbine pump, made for a lower pressure
source: invented for an example
terminals:
  1: {role: feed, feed: pump}
  2: {role: ground, ground: body}
loads:
  - {from: "1", to: "2", model: pump, on: [key on, cranking, idle, wet night, cruise, full power, hot restart]}
pump:
  rated voltage: 12 V ± 0.5 %
  rated pressure: 4 bar ± 1 %
  flow: 60 L/h ± 5 %
  free flow: 300 L/h ± 8 %
  current: 6 A ± 8 %
`

var fuelCranking = Rule{
	ID:    "fuel-cranking",
	Title: "the pump does not hold the rail's pressure while cranking",
	Why: "A pump that gets too few volts stalls against the rail's pressure. The first injections then carry less than the controller meters, " +
		"and a cold engine, which needs most, does not fire.",
	Source:   "motor and displacement pump: torque falls with voltage, pressure does not; common practice",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"devices", "fuel pump", "part"}, Text: "soft pump"}},
	Good:     []buildfile.Edit{{Path: []string{"devices", "fuel pump", "part"}, Text: "in-tank pump"}},
	Parts:    map[string]string{"parts/soft pump.yaml": softPump},
	Check: func(c *Case) []Finding {
		m, ok := c.margin(design.Cranking, "fuel pump", "FlowKgPerS")
		if !short(m, ok) {
			return nil
		}
		f := finding(c.pump().Pos, "cranking fuel", "power#chain", design.Cranking, m,
			diag.Sayf("the pump brings %v at the set pressure while cranking cold; %v are wanted", value(m), limit(m)))
		f.Why = diag.Sayf("At the volts it gets it does not hold the rail's pressure.")
		f.Hint = diag.Sayf("give the pump more volts while cranking: battery, its relay, its wire and its ground")
		f.Mends = strongerBatteries(c)
		return []Finding{f}
	},
}
