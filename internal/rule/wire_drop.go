package rule

import (
	"math"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
	"fettle/internal/wire"
)

var wireDrop = Rule{
	ID:    "wire-drop",
	Title: "a wire loses more volts than its class of circuit allows",
	Why: "A wire's resistance takes a share of the supply in proportion to the current. What it takes, the device at its end does not get: " +
		"a pump turns slower and brings less fuel, a coil charges slower, a lamp dims with the cube of its voltage.",
	Source:   "IEC 60028 (copper); ISO 6722-1 (conductor resistance); permitted drop by class: common practice, 0.5 V for pumps and coils",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "wires", "fuel pump 1", "size"}, Text: "0.5 mm²"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "wires", "fuel pump 1", "size"}, Text: "4 mm²"}},
	Check:    checkWireDrop,
}

// slackRatio is how far a solved drop may pass the limit that the wire was sized
// to: sizing reckons at a nominal voltage, the solve at the real one.
const slackRatio = 1.15

func checkWireDrop(c *Case) []Finding {
	var out []Finding
	for i := range c.Loom.Wires {
		w := &c.Loom.Wires[i]
		if state, dropV, currentA := worstDrop(c, w); state != nil && dropV > slackRatio*w.LimitV {
			out = append(out, dropFinding(c, w, state, dropV, currentA))
		}
	}
	return out
}

// worstDrop is the state in which a wire loses most. Cranking is left out: then
// the starter's cables are judged by what reaches the devices.
func worstDrop(c *Case, w *loom.Wire) (worst *vehicle.State, dropV, currentA float64) {
	for i := range c.Result.States {
		s := &c.Result.States[i]
		if design.Cranks(s.Name) {
			continue
		}
		if v, a, ok := s.WireDropV(w.Number); ok && math.Abs(v) > dropV {
			worst, dropV, currentA = s, math.Abs(v), math.Abs(a)
		}
	}
	return worst, dropV, currentA
}

func dropFinding(c *Case, w *loom.Wire, s *vehicle.State, dropV, currentA float64) Finding {
	id := figure.ID(s.Key + "/" + vehicle.WireName(w.Number))
	f := Finding{Target: "power#" + vehicle.WireAnchor(w.Number), State: s.Name}
	f.Pos, f.Subject = w.Pos, "wire "+w.Name
	f.Value, f.Limit = diag.Sayf("%v", say(id+"/DropV", dropV, "V")), diag.Sayf("at most %v", say(vehicle.WireLimitID(w), w.LimitV, "V"))
	f.Msg = diag.Sayf("wire %d, %s, loses %v; its class allows %v", w.Number, w.Name, say(id+"/DropV", dropV, "V"), say(vehicle.WireLimitID(w), w.LimitV, "V"))
	f.Why = diag.Sayf("%v flow through %v of %v.", say(id+"/CurrentA", currentA, "A"), say(vehicle.WireLengthID(w), w.LengthM, "m"), input(w.Area))
	sizes := c.holdingSizes(w, currentA)
	if len(sizes) == 0 {
		f.Hint = diag.Sayf("run two wires side by side or shorten the route")
		return f
	}
	f.Hint = diag.Sayf("make it %s", sizes[0])
	f.Mends = sizeMends(c, w, sizes)
	return f
}

// sizeMends offers a wire's sizes.
func sizeMends(c *Case, w *loom.Wire, sizes []string) []Mend {
	out := make([]Mend, len(sizes))
	for i, size := range sizes {
		out[i] = Mend{
			Title: diag.Sayf("wire %d to %s", w.Number, size),
			Edits: []buildfile.Edit{{Path: sizePath(c, w), Text: size}},
		}
	}
	return out
}

// sizePath is where a wire's size is written, or would be.
func sizePath(c *Case, w *loom.Wire) []string {
	if n := c.Design.Tree.Find("loom", "wires", w.Name, "size"); n == nil {
		if c.Design.Tree.Find("loom", "feeds", w.Feed, "size") != nil && c.Loom.Heads(w) {
			return []string{"loom", "feeds", w.Feed, "size"}
		}
	}
	return []string{"loom", "wires", w.Name, "size"}
}

// mostSizes is how many sizes of wire are tried as a mend.
const mostSizes = 3

// holdingSizes are the smallest standard sizes that keep a wire's drop and heat.
func (c *Case) holdingSizes(w *loom.Wire, currentA float64) []string {
	var out []string
	for _, v := range c.Design.Cat.Cables.Sizes {
		ohm := wire.ResistanceOhm(w.LengthM, v.Value.OhmPerM.SI, w.HotK.SI)
		if v.Value.AreaM2.SI > w.Area.SI && currentA*ohm <= w.LimitV && w.WouldHold(&v.Value, currentA) {
			if out = append(out, quantity.Format(v.Value.AreaM2.SI, "mm²", 0)); len(out) == mostSizes {
				return out
			}
		}
	}
	return out
}
